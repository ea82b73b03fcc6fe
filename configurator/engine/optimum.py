"""The best sound selection by price, mass or space: a model for OR-Tools CP-SAT.

The same clauses and learned reasons as the search; limits natively as sums; fit lazily, by asking
the same theories about each proposal. Figures that depend on other choices become one variable for
each of their cases. Ties are broken by a second solve, first by fewest picks and then by a fixed
weight of each option's name, so the answer is the same whatever the order of the file. OR-Tools is
imported only when a best answer is asked for.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from itertools import islice, product
from math import prod
from typing import Any, TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Choice, Option, PackageDeal
from configurator.engine.constraint import Terms
from configurator.engine.encoding import State
from configurator.engine.figures import Determiners, Figure, InsideSize, scale_of, whole
from configurator.engine.search import MOST_CROWDED, Search
from configurator.engine.violation import ConstraintId, Held
from configurator.errors import SearchLimit
from configurator.machine.solvers import Solved, solve
from configurator.money import exponent
from configurator.pricing.changes import most_times
from configurator.words import text

Saved: TypeAlias = list[tuple[int, int]]
"""What a package deal saves, in the currency's smallest unit, each with where it does."""

Family: TypeAlias = list[tuple[PackageDeal, Saved]]
"""Package deals that compete for picks, each with what it saves."""

Stands: TypeAlias = "Callable[[Held], bool]"
"""Whether a selection may stand."""

_MOST_ROUNDS = 2_000
_MOST_SETS = 1_000
_LIGHT_WORK, _MOST_WORK = 0.4, 60.0
"""Deterministic time of CP-SAT, which no machine's speed changes."""

QUESTION = text("which package is best")
"""What is asked of it, for where it is not settled."""

_OWN = 1 << 32
"""Variables of a model alone have larger numbers than this, those of the search smaller ones."""

_MOST_SUM = 1 << 60
"""The largest sum that is put to CP-SAT, whose whole numbers have 64 bits, with room to add."""


def _always(_: Held) -> bool:
    return True


class Optimum:
    """One search's clauses as an optimisation model, with the literals that are asked for.

    Args:
        search: has the clauses.
        asked: literals that must be true.
        active: constraints to respect; all of them by default.

    Attributes:
        solver: has the value of every variable in the selection found last.
        work: deterministic work that one solve may take.
        patience: crowded proposals that are refused for one question.
    """

    def __init__(
        self,
        search: Search,
        asked: Iterable[int] = (),
        active: frozenset[ConstraintId] | None = None,
    ) -> None:
        from configurator.machine.cp_sat import cp_model

        self.search, self.encoding, self.catalogue = search, search.encoding, search.catalogue
        self.model = cp_model.CpModel()
        self.solver: Any = None
        self._easy, self.work, self.patience = True, _MOST_WORK, MOST_CROWDED
        self._variables: dict[int, Any] = {0: self.model.new_constant(1)}
        # the best three fixes take 0.75 s for 0.87
        self._told: dict[tuple[int, Determiners], dict[tuple[State, ...], int]] = {}
        self._clauses = self._learned = self._counted = 0
        self._refresh()
        self._active = search.active if active is None else active
        for constraint in sorted(self._active):
            self.require([self.encoding.guards[constraint]])
            search.constraints[constraint].linear(self)
        self._refresh()
        for literal in asked:
            self.require([literal])

    def require(self, clause: Iterable[int]) -> None:
        """One of these literals must be true."""
        self.model.add_bool_or([self.literal(literal) for literal in clause])

    def at_most(self, terms: Terms, bound: int, only_if: Sequence[int] = ()) -> None:
        """The sum may not exceed the bound, where all of ``only_if`` are true."""
        where = [self.literal(literal) for literal in only_if]
        self.model.add(self.sum(terms, bound) <= bound).only_enforce_if(where)

    def literal(self, literal: int) -> Any:
        """The model's variable, or its negation."""
        variable = self._variables.get(abs(literal))
        if variable is None:
            variable = self._variables[abs(literal)] = self.model.new_bool_var("")
        return variable if literal >= 0 else variable.negated()

    def _new(self) -> int:
        """A variable of the model alone, which the search knows nothing of."""
        made = _OWN + len(self._variables)
        self.literal(made)
        return made

    def any_of(self, cases: Iterable[Sequence[int]]) -> int:
        """A literal that is true where all of some case are; otherwise it may be either."""
        made = self._new()
        for case in cases:
            self.require([*(-literal for literal in case), made])
        return made

    def distance(self, terms: Terms, value: int) -> Any:
        """How far the sum is from the value."""
        total = self.sum(terms, value)
        most = abs(value) + sum(abs(weight) for weight, _ in terms)
        far = self.model.new_int_var(0, most, "distance")
        self.model.add(far >= total - value)
        self.model.add(far >= value - total)
        return far

    def sum(self, terms: Terms, beside: int = 0) -> Any:
        """The terms as an expression, which is compared with a number beside it.

        Raises:
            SearchLimit: the numbers are too large for the optimiser, or have too many decimals.
        """
        if abs(beside) + sum(abs(weight) for weight, _ in terms) > _MOST_SUM:
            raise SearchLimit(
                text(
                    "{question} was not settled: a figure is too large or has too many decimals "
                    "to be added exactly",
                    question=QUESTION,
                )
            )
        return sum(weight * self.literal(literal) for weight, literal in terms)

    def best(self, *objectives: Any, stands: Stands = _always) -> Held | None:
        """The sound selection with the smallest objectives, the first counting most, or None.

        Ties are broken for good: by fewest picks, then by their names. What the last objective
        proposes may have to stand.

        Raises:
            SearchLimit: it stopped without an answer, which proves nothing.
        """
        for place, objective in enumerate(objectives, 1):
            if self.smallest(objective, stands if place == len(objectives) else _always) is None:
                return None
            self.model.add(objective <= self.solver.value(objective))
        return self.smallest(self.sum(self._tie_break()), stands)

    def smallest(self, objective: Any, stands: Stands = _always) -> Held | None:
        """A sound selection with the smallest objective, or None where there is none.

        One that does not stand is asked for no more: what says so has told the model why.

        Raises:
            SearchLimit: it stopped without an answer, which proves nothing.
        """
        self._refresh()
        self.model.minimize(objective)
        crowded = 0
        for _ in range(_MOST_ROUNDS):
            self._refresh()
            found = self._solved()
            if found is None:
                return None
            self.solver = found.solver
            held = self._held(found.solver)
            self._hint(found.solver)
            violations = self.search.violations(held, self._active)
            if not violations and stands(held):
                return held
            self.search.learn(violations)
            crowded += bool(violations) and self.search.crowded(violations)
            if crowded > self.patience:
                break
        raise SearchLimit(
            text("{question} was not settled: too many packages were tried", question=QUESTION)
        )

    def _solved(self) -> Solved | None:
        """The best solution of the model as it is, by search alone while that soon settles it."""
        if self._easy:
            with suppress(SearchLimit):
                found = solve(self.model, QUESTION, _LIGHT_WORK, light=True)
                if found is None or found.best:
                    return found
            self._easy = False
        found = solve(self.model, QUESTION, self.work, sums=True)
        if found is not None and not found.best:
            raise SearchLimit(
                text("{question} was not settled within the work allowed", question=QUESTION)
            )
        return found

    def _hint(self, solver: Any) -> None:
        """Let the next solve start from this one.

        Without it the least regret of a shop with breaks and deals is not settled by 40 CPU s in
        place of 1, for half of the orders in which sets may be gone through.
        """
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for variable in self.encoding.level_of:
            here = self.literal(variable)
            self.model.add_hint(here, solver.boolean_value(here))

    def _held(self, solver: Any) -> Held:
        found: Held = {}
        for variable, (choice, option, quantity) in self.encoding.level_of.items():
            if solver.boolean_value(self.literal(variable)):
                found[choice, option] = max(quantity, found.get((choice, option), 0))
        return found

    def _refresh(self) -> None:
        """Take over the clauses that the encoding and the search got since."""
        for clause in self.encoding.clauses[self._clauses :]:
            self.require(clause)
        self._clauses = len(self.encoding.clauses)
        for clause in self.search.learned[self._learned :]:
            self.require(clause)
        self._learned = len(self.search.learned)
        # the cheapest 54 of 60 options take 0.4 CPU s with counts as sums, 15 from clauses alone
        for inputs, outputs in islice(self.encoding.sums.items(), self._counted, None):
            self.model.add(sum(map(self.literal, inputs)) == sum(map(self.literal, outputs)))
        self._counted = len(self.encoding.sums)

    def _tie_break(self) -> Terms:
        """Fewest picks, then a weight of each name; so heavy that two sums hardly ever agree."""
        terms = []
        for variable, key in self.encoding.level_of.items():
            digest = hashlib.sha256("|".join(map(str, key)).encode()).digest()
            terms.append(((1 << 40) + int.from_bytes(digest[:4], "big"), variable))
        return terms

    def alike(self, held: Held, where: Callable[[str, str], bool]) -> list[Any]:
        """Literals that are true together only where as many as here of those options are held."""
        return [
            self.literal(level if quantity <= held.get((choice, option), 0) else -level)
            for (choice, option, quantity), level in self.encoding.levels.items()
            if where(choice, option)
        ]

    def figure_terms(self, literal: int, figure: Figure, scale: int) -> Terms:
        """What the figure adds where the literal is true; an open figure adds nothing."""
        if not figure.on:
            value = figure.at({})
            return [(whole(value, scale), literal)] if value else []
        amounts = {states: whole(value, scale) for states, value in figure.cases.items()}
        cases = self._cases(literal, figure.on, list(amounts))
        return [(amounts[states], case) for states, case in cases.items() if amounts[states]]

    def _cases(
        self, literal: int, on: Determiners, every: Sequence[tuple[State, ...]]
    ) -> dict[tuple[State, ...], int]:
        """A literal for each case of the answers, of which one is true where ``literal`` is.

        Told by what each answer leaves possible: a definition of each case by itself would be
        6 900 clauses of the 9 300 on the shipped catalogue, which every solve reads.
        """
        if (literal, on) in self._told:
            return self._told[literal, on]
        own = self.encoding.level_of.get(literal)
        cases = {}
        for states in every:
            if own is None or _leaves(own, on, states):
                cases[states] = self._new()
        self._told[literal, on] = cases
        self.model.add_exactly_one(map(self.literal, (-literal, *cases.values())))
        for place, (choice, options) in enumerate(on):
            by_state: dict[State, list[int]] = {}
            for states, case in cases.items():
                by_state.setdefault(states[place], []).append(case)
            for state, some in by_state.items():
                for other in self.encoding.differs(choice, options, state):
                    self.model.add_at_most_one(map(self.literal, (other, *some)))
        return cases

    def mass_terms(self) -> Terms:
        """Empty mass of everything picked, in a unit that makes every mass a whole number."""
        figures = {
            (choice.id, option.id): self.search.mass(choice, option)
            for choice in self.encoding.choices
            for option in choice.options
        }
        scale = scale_of(value for f in figures.values() for value in f.cases.values())
        return [
            term
            for (choice, option, _), variable in self.encoding.levels.items()
            for term in self.figure_terms(variable, figures[choice, option], scale)
        ]

    def body_terms(self) -> Terms:
        """Volume of the bodies of all units, mm3."""
        return [
            (unit.body.volume, variable)
            for (choice, option, _), variable in self.encoding.levels.items()
            if (unit := self.catalogue.option(choice, option).unit) is not None
        ]

    def volume(self, sides: Sequence[InsideSize]) -> Any:
        """The volume inside a space of these sides, mm3; nothing where it has no size."""
        volume = self.model.new_int_var(0, prod(side.steps[-1] for side in sides), "volume")
        sizes = []
        for side in sides:
            cases = self._cases(self.encoding.true, side.on, list(side.sizes))
            size = self.model.new_int_var(0, side.steps[-1], "size")
            known = [(side.sizes[states] or 0, case) for states, case in cases.items()]
            self.model.add(size == self.sum(known))
            sizes.append(size)
        self.model.add_multiplication_equality(volume, sizes)
        return volume

    def price_terms(self, skip: frozenset[str] = frozenset()) -> Terms:
        """List price less package deals, in the currency's smallest unit.

        Choices that are skipped count nothing, nor does whatever depends on them.
        """
        every = (*self.line_terms(skip), *self.deal_terms(skip))
        return [term for _, terms in every for term in terms]

    def line_terms(
        self, skip: frozenset[str] = frozenset()
    ) -> Iterator[tuple[tuple[str, str], Terms]]:
        """List price of each option, in the currency's smallest unit."""
        scale, rising = 10 ** exponent(self.catalogue.currency), self.encoding.quantities
        for choice in self.encoding.choices:
            for option in choice.options:
                if not option.price or self._skipped(skip, choice, option):
                    continue
                terms: Terms = []
                for quantity, variable in enumerate(rising[choice.id, option.id], 1):
                    figure = self.search.price(choice, option, quantity)
                    terms += self.figure_terms(variable, figure, scale)
                    if quantity > 1:
                        before = self.search.price(choice, option, quantity - 1)
                        terms += [(-w, v) for w, v in self.figure_terms(variable, before, scale)]
                yield (choice.id, option.id), terms

    def _skipped(self, skip: frozenset[str], choice: Choice, option: Option) -> bool:
        hanging = (self.search.priced_by.get(name, ()) for name in skip)
        return choice.id in skip or any((choice.id, option.id) in some for some in hanging)

    def deal_terms(
        self, skip: frozenset[str] = frozenset()
    ) -> Iterator[tuple[frozenset[tuple[str, str]], Terms]]:
        """What package deals save, below zero: the best set of each family, with its picks."""
        scale = 10 ** exponent(self.catalogue.currency)
        worth = [
            (deal, saved)
            for deal in sorted(self.catalogue.package_deals, key=lambda deal: deal.id)
            if (saved := self._saved(deal, scale, skip))
        ]
        for family in _families(worth):
            keys = frozenset((p.choice, p.option) for deal, _ in family for p in deal.picks)
            yield keys, list(self._best_set(family))

    def _saved(self, deal: PackageDeal, scale: int, skip: frozenset[str]) -> Saved:
        """What the deal saves, with a literal for each amount, of which one at most is true.

        Raises:
            SearchLimit: it depends on too many combinations.
        """
        listed = [self._listed(pick, scale, skip) for pick in deal.picks]
        if prod(map(len, listed)) > _MOST_SETS:
            told = text("what {deal} saves depends on too many combinations", deal=deal.title)
            raise SearchLimit(told)
        where: dict[int, list[int]] = {}
        for combination in product(*(each.items() for each in listed)):
            saving = sum(amount for amount, _ in combination) - whole(deal.price, scale)
            if saving > 0:
                literal = self.encoding.all_of(literal for _, literal in combination)
                where.setdefault(saving, []).append(literal)
        return [(saving, self.encoding.any_of(some)) for saving, some in sorted(where.items())]

    def _listed(self, pick: Pick, scale: int, skip: frozenset[str]) -> dict[int, int]:
        """List prices of a deal's share of one option, each with a literal for where it holds."""
        choice = self.catalogue.by_id[pick.choice]
        option = choice.by_id[pick.option]
        if self._skipped(skip, choice, option) or (choice.id == VEHICLE and not option.price):
            return {}
        where: dict[int, list[int]] = {}
        for quantity, variable in enumerate(self.encoding.quantities[choice.id, option.id], 1):
            if quantity < pick.quantity:
                continue
            more = self.encoding.at_least(choice.id, option.id, quantity + 1)
            exactly = self.encoding.all_of([variable, -more])
            figure = self.search.price(choice, option, quantity)
            for states, value in figure.cases.items():
                if value is not None:
                    amount = whole(value, scale) // quantity * pick.quantity
                    literal = self.encoding.case(exactly, figure.on, states)
                    where.setdefault(amount, []).append(literal)
        return {amount: self.encoding.any_of(some) for amount, some in sorted(where.items())}

    def _best_set(self, family: Family) -> Iterator[tuple[int, int]]:
        """One term for each set of the deals, true where it is the best that can be applied.

        Raises:
            SearchLimit: more compete than can be told apart.
        """
        if len(family) == 1:
            yield from self._as_often_as_held(*family[0])
            return
        sets: list[tuple[int, int]] = []
        for some, held in self._together(family):
            for saved in product(*(family[index][1] for index in some)):
                literal = self.encoding.all_of([*held, *(where for _, where in saved)])
                savings = zip(some.values(), saved, strict=True)
                sets.append((sum(times * saving for times, (saving, _) in savings), literal))
                if len(sets) > _MOST_SETS:
                    raise SearchLimit(
                        text(
                            "{n} package deals compete for the same picks in too many ways",
                            n=len(family),
                        )
                    )
        sets.sort(key=lambda each: -each[0])
        better: list[int] = []
        for saving, literal in sets:
            yield -saving, self.encoding.all_of([literal, *(-other for other in better)])
            better.append(literal)

    def _as_often_as_held(self, deal: PackageDeal, saved: Saved) -> Iterator[tuple[int, int]]:
        """One term for each set of a deal that competes with no other, true where it is there."""
        for times in range(1, most_times(self.catalogue, deal) + 1):
            held = [
                self.encoding.at_least(pick.choice, pick.option, times * pick.quantity)
                for pick in deal.picks
            ]
            for saving, literal in saved:
                yield -saving, self.encoding.all_of([*held, literal])

    def _together(self, family: Family) -> Iterator[tuple[dict[int, int], list[int]]]:
        """How often each of the deals may count together, by its place, with literals for that."""
        most = [most_times(self.catalogue, deal) for deal, _ in family]
        waiting: list[dict[int, int]] = [{}]
        for some in waiting:
            for index in range(max(some, default=0), len(family)):
                more = some | {index: some.get(index, 0) + 1}
                if more[index] > most[index]:
                    continue
                needs: Counter[tuple[str, str]] = Counter()
                for place, times in more.items():
                    for pick in family[place][0].picks:
                        needs[pick.choice, pick.option] += times * pick.quantity
                held = [self.encoding.at_least(*key, quantity) for key, quantity in needs.items()]
                if -self.encoding.true not in held:
                    waiting.append(more)
                    yield more, held


def _leaves(own: tuple[str, str, int], on: Determiners, states: Sequence[State]) -> bool:
    """Whether so many of the option can be picked where the choices have those answers."""
    choice, option, quantity = own
    return all(
        dict(state).get(option, 0) >= quantity
        for (name, options), state in zip(on, states, strict=True)
        if name == choice and option in options
    )


def _families(worth: Family) -> list[Family]:
    """Deals that share a pick, or share one with a deal that does, together."""
    families: list[Family] = []
    for deal, saved in worth:
        keys = {(pick.choice, pick.option) for pick in deal.picks}
        joined = [(deal, saved)]
        apart = []
        for family in families:
            shares = any(keys & {(p.choice, p.option) for p in d.picks} for d, _ in family)
            if shares:
                joined += family
            else:
                apart.append(family)
        families = [*apart, joined]
    return families
