"""What would bring a build under its limit: single changes, and the least-regret set of them.

Changes are those of :mod:`configurator.selection.changes`. A change counts only where the selection
after it is as sound as before: whatever stops it then, stopped it already.

The least-regret set is the one with the fewest changes; among those, the one that takes off least
money, that is, which ends closest under the limit; ties go to the alphabet.

Each question is one model for OR-Tools CP-SAT: the engine's clauses say what is sound, every change
is a variable, what is picked follows from which of them are made, and what everything costs is a
sum in whole cents. What the optimiser answers is a proposal. It is priced and checked like any
other selection; where it does not stand, or its price is no sum and not what the model says, the
model is told so and asked again. So the answer is exact, or the search says that it stopped without
one.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from attrs import evolve, frozen

from configurator.budget.build import reckoned
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.checking.stops import stopping
from configurator.engine.constraint import AXLES, LIMIT, RULE, Terms
from configurator.engine.figures import TooManyCases
from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import Search
from configurator.engine.to_pay import ToPay, with_named_prices
from configurator.engine.violation import ConstraintId, Held
from configurator.errors import SearchLimit
from configurator.machine.solvers import unsettled
from configurator.money import Money
from configurator.pricing.price import price
from configurator.selection.changes import Change, applied, possible_changes
from configurator.selection.picks import Budget, Selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import undecided
from configurator.shapes.forms import form
from configurator.words import text

MOST_REFUSALS = 1_000
"""How many proposals are priced and checked in vain before the search stops without an answer."""

_BLOCK = 40
"""Changes that are put into the alphabet's order at once, by powers of two."""


@form(hidden="to_pay", inline="change", keys={"amount": "saves"})
@frozen(repr=False)
class Saving:
    """A single change, and what it saves.

    Attributes:
        change: the change.
        amount: what is to be paid before it less after it.
        to_pay: what is to be paid to the shop after it.
        total: the whole build after it, contingency and all.
        under: whether that is under the limit; None without one.
    """

    change: Change
    amount: Money
    to_pay: Money
    total: Money
    under: bool | None


@form(hidden="selection to_pay", keys={"amount": "saves"})
@frozen(repr=False)
class LeastRegret:
    """A set of changes, and what it saves.

    Attributes:
        changes: in the alphabet's order.
        selection: the selection with them made.
        amount: what they save together.
        to_pay: what is to be paid to the shop after them.
        total: the whole build after them, contingency and all.
    """

    changes: tuple[Change, ...]
    selection: Selection
    amount: Money
    to_pay: Money
    total: Money


def single_savings(build: Resolved, keep: Sequence[Pick] = ()) -> tuple[Saving, ...]:
    """Every single change that saves money and stays sound, the largest saving first.

    A change to something whose price is open is left out: nobody knows what it saves.
    """
    before, budget = price(build), build.selection.budget or Budget()
    limit, found = budget.limit, []
    for change in possible_changes(build, keep):
        after = applied(build.selection, [change])
        then = price(build.having(after))
        if len(then.open) > len(before.open) or then.to_pay >= before.to_pay:
            continue
        if _as_sound(build, after):
            total = reckoned(build.catalogue, budget, then.to_pay)
            under = None if limit is None else total.amount <= limit
            saves = before.to_pay - then.to_pay
            found.append(Saving(change, saves, then.to_pay, total, under))
    found.sort(key=lambda saving: (-saving.amount.amount, saving.change.key))
    return tuple(found)


def least_regret(
    build: Resolved, enough: Callable[[Money], bool], keep: Sequence[Pick] = ()
) -> LeastRegret | None:
    """The least-regret set of changes after which what is to be paid is ``enough``.

    What is enough must be enough of every smaller amount too. None when no set of changes does it;
    no changes when nothing needs to be saved.

    Raises:
        SearchLimit: it could not be settled.
    """
    if enough(price(build).to_pay):
        return _made(build, ())
    most = ToPay(build).most(enough)
    if most is None:
        return None

    def ask(sets: _Sets) -> LeastRegret | None:
        sets.at_most(most)
        if not sets.least(sets.count) or not sets.least(-sets.measure, fixed=False):
            return None
        return sets.first(sets.value(sets.measure))

    return _settled(build, keep, ask)


def lowest(build: Resolved, keep: Sequence[Pick] = ()) -> LeastRegret | None:
    """The set of changes after which least is to be paid; of those, the one with fewest changes.

    None when no change saves anything.

    Raises:
        SearchLimit: it could not be settled.
    """
    before = price(build).to_pay

    def ask(sets: _Sets) -> LeastRegret | None:
        if not sets.least(sets.measure, fixed=False):
            return None
        found, measure = sets.found(), sets.value(sets.measure)
        if found.to_pay >= before:
            return None
        most = sets.to_pay.most(lambda to_pay: to_pay <= found.to_pay)
        sets.at_most(measure if most is None else most)
        sets.least(sets.count)
        return sets.first(measure)

    return _settled(build, keep, ask)


def _as_sound(build: Resolved, after: Selection) -> bool:
    """Whether nothing stops the selection that does not stop the build's own already."""
    standing, then = stopping(build), build.having(after)
    cheap = stopping(then, with_fit=False, with_ratings=False)
    return cheap <= standing and stopping(then) <= standing


def _settled(
    build: Resolved, keep: Sequence[Pick], ask: Callable[[_Sets], LeastRegret | None]
) -> LeastRegret | None:
    """The answer, asked with as many facts as can be settled.

    Raises:
        SearchLimit: it could not be settled at all.
    """
    why = ""
    try:
        offered = with_named_prices(Resolved(build.offering, build.selection))
        search = Search(_as_it_is(Resolved(offered, build.selection)))
        search.travel(build.selection)
        ranks = _ranks(build, search)
    except (SearchLimit, TooManyCases) as limit:
        ranks, why = (), limit.args[0]
    for rank in ranks:
        try:
            with unsettled(QUESTION):
                return ask(_Sets(build, possible_changes(build, keep), search, rank))
        except (SearchLimit, TooManyCases) as limit:
            why = why or limit.args[0]
    raise SearchLimit(
        text(
            "the search for the least-regret set of changes stopped without an answer: {why}",
            why=why,
        )
    )


def _ranks(build: Resolved, search: Search) -> Sequence[int]:
    """Up to which rank constraints are told to the optimiser, in the order to try.

    The engine knows complete selections; where something is open, every proposal is judged by
    itself. Where more stops the selection than what a catalogue states in plain words, what is
    harder to read is left to the check of proposals too.
    """
    if any(undecided(build)):
        return (RULE - 1,)
    if all(_is_stated(search, stop) for stop in stopping(build)):
        return (AXLES, LIMIT, RULE - 1)
    return (LIMIT, RULE - 1)


def _is_stated(search: Search, stop: tuple[str, str]) -> bool:
    """Whether what stops a selection is a constraint that a catalogue states in plain words."""
    one = search.constraints.get(ConstraintId(*stop))
    return one is not None and one.rank <= LIMIT


def _made(build: Resolved, changes: tuple[Change, ...]) -> LeastRegret:
    """The changes and what they come to."""
    after = applied(build.selection, changes)
    then = price(build.having(after)).to_pay
    total = reckoned(build.catalogue, build.selection.budget or Budget(), then)
    return LeastRegret(changes, after, price(build).to_pay - then, then, total)


class _Sets:
    """Sets of changes of one selection as a model for the optimiser.

    Attributes:
        to_pay: what is to be paid after them, and
        measure: what stands for it in the model.
        count: how many changes are made.
    """

    def __init__(
        self, build: Resolved, changes: Sequence[Change], search: Search, rank: int
    ) -> None:
        """Constraints above the rank are left to the check of proposals."""
        self.build, self.before, self.to_pay = build, price(build), ToPay(build)
        self.standing = stopping(build)
        respected = [one.id for one in search.constraints.values() if one.rank <= rank]
        search.active = frozenset(respected) - {ConstraintId(*one) for one in self.standing}
        self.search, self.encoding, self.optimum = search, search.encoding, Optimum(search)
        self.model = self.optimum.model
        self.made = {change: self.model.new_bool_var("") for change in changes}
        self.open = {change.choice for change in changes}
        self._link()
        unpriced = self._unpriced()
        if unpriced:
            self.optimum.at_most(unpriced, len(self.before.open))
        self.count = sum(self.made.values())
        self.measure = self.to_pay.measure(self.optimum)
        self.refusals = 0

    def at_most(self, measure: int) -> None:
        """No more than this may be to pay."""
        self.model.add(self.measure <= measure)

    def least(self, objective: Any, *, fixed: bool = True) -> bool:
        """Whether there is a set, the one with the least of the objective; if fixed, for good.

        Raises:
            SearchLimit: the search stopped without an answer, which proves nothing.
        """
        there = self.optimum.smallest(objective, self._stands) is not None
        if there and fixed:
            self.model.add(objective == self.value(objective))
        return there

    def value(self, expression: Any) -> int:
        """What an expression comes to in the set found last."""
        return int(self.optimum.solver.value(expression))

    def first(self, measure: int) -> LeastRegret:
        """Of the sets with as much to pay as after so much, the first in the alphabet."""
        self.model.add(self.measure >= self.to_pay.least_alike(measure))
        made = list(self.made.values())
        for start in range(0, len(made), _BLOCK):
            block = made[start : start + _BLOCK]
            self.least(-sum(one * (1 << place) for place, one in enumerate(reversed(block))))
        return self.found()

    def found(self) -> LeastRegret:
        """The set found last."""
        made = self.made.items()
        return _made(self.build, tuple(change for change, it in made if self.value(it)))

    def _link(self) -> None:
        """What is picked follows from the changes: one at most for each pick, none meets another.

        This many of an option are picked exactly where some change put them there, or where they
        stood there and none took them away.
        """
        by_slot: dict[tuple[str, str], list[Any]] = {}
        by_target: dict[tuple[str, str], list[Any]] = {}
        puts: dict[tuple[str, str, int], list[Any]] = {}
        for change, made in self.made.items():
            by_slot.setdefault(change.slot, []).append(made)
            if change.to:
                by_target.setdefault((change.choice, change.to), []).append(made)
            for quantity in range(1, change.quantity + 1):
                puts.setdefault((change.choice, change.to, quantity), []).append(made)
        stays = {slot: ~self._any(rivals) for slot, rivals in by_slot.items()}
        for rivals in (*by_slot.values(), *by_target.values()):
            self.model.add_at_most_one(rivals)
        for key, level in self.encoding.levels.items():
            why, slot = puts.get(key, []), key[:2]
            if key[2] <= self.build.selection.quantity(*slot):
                why = [*why, stays.get(slot, True)]
            there = self.optimum.literal(level)
            self.model.add_bool_or([~there, *why])
            for reason in why:
                self.model.add_implication(reason, there)

    def _any(self, literals: Sequence[Any]) -> Any:
        literal = self.model.new_bool_var("")
        self.model.add_max_equality(literal, literals)
        return literal

    def _unpriced(self) -> Terms:
        """A term for each line that has no price, true where it is picked."""
        terms: Terms = []
        for choice in self.encoding.choices:
            for option in choice.options:
                figure = self.search.price(choice, option, 1)
                picked = self.encoding.at_least(choice.id, option.id)
                if option.price:
                    terms += [
                        (1, self.encoding.case(picked, figure.on, states))
                        for states, value in figure.cases.items()
                        if value is None
                    ]
        return terms

    def _stands(self, held: Held) -> bool:
        """Whether what is proposed may stand; where not, the model is told what is wrong.

        Raises:
            SearchLimit: too many were refused.
        """
        after = self.found().selection
        then = price(self.build.having(after))
        if not _as_sound(self.build, after):
            for choices in self._in_the_way(after):
                self.model.add_bool_or([~one for one in self._as_in(held, choices)])
        elif len(then.open) > len(self.before.open):
            self.model.add_bool_or([~one for one in self._as_in(held, self.open)])
        elif self.to_pay.exact or self.value(self.measure) == self.to_pay.units(then.to_pay):
            return True
        else:
            known = self.model.add(self.measure == self.to_pay.units(then.to_pay))
            known.only_enforce_if(self._as_in(held, self.open))
        self.refusals += 1
        if self.refusals > MOST_REFUSALS:
            raise SearchLimit(
                text(
                    "{n} sets of changes that come close were priced and checked without settling "
                    "it; keep more picks as they are",
                    n=MOST_REFUSALS,
                )
            )
        return False

    def _in_the_way(self, after: Selection) -> Sequence[Collection[str]]:
        """The choices on which each stated constraint depends that newly stops the selection.

        Whether it is kept depends only on these, so every selection with the same answers there is
        refused with it. Where there is none, all that a change can touch.
        """
        new = stopping(self.build.having(after)) - self.standing
        return [
            {choice for choice, _ in self.search.constraints[ConstraintId(*stop)].depends_on()}
            for stop in sorted(new)
            if _is_stated(self.search, stop)
        ] or [self.open]

    def _as_in(self, held: Held, choices: Collection[str]) -> list[Any]:
        """Literals that are true together only where the choices are answered as here."""
        return self.optimum.alike(held, lambda choice, _: choice in choices)


def _as_it_is(build: Resolved) -> Catalogue:
    """The catalogue with choices of one that are still open left open."""
    still_open = set(undecided(build))
    if not still_open:
        return build.catalogue
    return evolve(
        build.catalogue,
        choices=tuple(
            evolve(choice, pick="at-most-one") if choice.id in still_open else choice
            for choice in build.catalogue.choices
        ),
    )
