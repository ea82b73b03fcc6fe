"""The search: proposals from a SAT solver, until one keeps every constraint or none is left.

Every violation is kept as a clause, so nothing is refused twice. Sound selections
that were met are remembered; proposals start from what is light, so that few rounds are needed.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence, Set
from functools import cached_property, partial
from itertools import groupby
from typing import TypeVar

from attrs import frozen

from configurator.catalogue.dependence import priced_by
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.engine import kinds
from configurator.engine.constraint import RULE, TOGETHER, Constraint, Kind
from configurator.engine.effort import nearly_full
from configurator.engine.encoding import Encoding, as_bits, variables
from configurator.engine.figures import Figure, Insides, masses, prices
from configurator.engine.joint_fit import joint_fits
from configurator.engine.known_mass import known_masses
from configurator.engine.layouts import Layouts
from configurator.engine.limits import limits
from configurator.engine.rating import ratings
from configurator.engine.rules import rules
from configurator.engine.starts import SolutionPool, Starts
from configurator.engine.unit_fit import unit_fits
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.engine.weighing import Journey, journey_of
from configurator.errors import SearchLimit
from configurator.machine.solvers import ClauseSolver
from configurator.selection.picks import NamedPrice, Selection
from configurator.selection.resolved import Resolved
from configurator.words import Text, text

T = TypeVar("T")

_MOST_KEPT = 1_000
_MOST_ROUNDS = 3_000
_MOST_KNOWN = 400

_NEAR = 10
"""Proposals near a sound selection, before they are light again.

The reasons of a crowded package take 25 CPU s so, 34 where all are near it, 35 where the first is,
55 where none is.
"""

MOST_CROWDED = 40
"""Crowded proposals, each slow to refuse, that a search refuses before it stops unanswered."""


@frozen
class Counts:
    """How much work a search has done so far; no machine changes these numbers.

    Attributes:
        solves: proposals asked of the SAT solver.
        rounds: of these, how many were refused.
        crowded: of these, how many because the units do not go in together.
    """

    solves: int
    rounds: int
    crowded: int


@frozen
class OfOwner(Iterator[T]):
    """Answers that another thread is refused without an end of them for the search's owner."""

    search: Search
    answers: Generator[T, None, None]

    def __next__(self) -> T:
        self.search.require_owner()
        return next(self.answers)

    def close(self) -> None:
        """End them: no more is looked for.

        Raises:
            RuntimeError: another thread made the search.
        """
        self.search.require_owner()
        self.answers.close()


class OutOfProposals(SearchLimit):
    """The search stopped after so many proposals, nearly all of which some sum refused."""


_KINDS: tuple[Kind, ...] = (rules, limits, unit_fits, known_masses, joint_fits)
"""The kinds that checks tell in detail, but for ratings, all of which depend on how a selection
travels."""


class _Memoised:
    """A constraint that is asked only what it was not asked before.

    Two selections that agree in what it depends on both keep it or both break it. Quick steps of
    two sales take 2.9 s for 3.9.
    """

    def __init__(self, encoding: Encoding, constraint: Constraint) -> None:
        self.constraint, self.id = constraint, constraint.id
        keys = {(c, o) for c, options in constraint.depends_on() for o in options}
        self._mask = as_bits(v for key in keys for v in encoding.quantities[key])
        self._kept: set[int] = set()

    def violations(
        self, held: Held, bits: int, active: frozenset[ConstraintId]
    ) -> Iterator[Violation]:
        """What it has against a selection that is also told as bits."""
        here = bits & self._mask
        if here in self._kept or self.id not in active:
            return
        broken = False
        for violation in self.constraint.violations(held, active):
            broken = True
            yield violation
        if not broken and self.constraint.rests_on <= active:
            if len(self._kept) >= _MOST_KEPT:
                self._kept.clear()
            self._kept.add(here)


@frozen
class _Trip:
    """What a search keeps apart for each journey.

    Attributes:
        constraints: what holds; nothing that is overridden.
        guards: of all of them.
        stages: those that clauses do not say, the cheaper ones first.
        every: a variable that is true only where the guards of all of them are.
        sound: selections met that are sound.
    """

    constraints: Mapping[ConstraintId, Constraint]
    guards: dict[ConstraintId, int]
    stages: tuple[tuple[_Memoised, ...], ...]
    every: int
    sound: SolutionPool


class Search:
    """One catalogue, compiled, with everything learned about it so far.

    Answers are for one journey at a time: :meth:`travel` sets out on that of a selection, and every
    question does so by itself. Without it, selections travel as the catalogue says.

    It belongs to the thread that made it, since a question changes it while it is answered: make
    one for each thread. Asked from another thread it raises a RuntimeError.

    Args:
        catalogue: what is offered.

    Attributes:
        encoding: its variables and clauses.
        journey: how selections travel.
        constraints: what holds on the journey.
        active: which of them answers respect; all, unless it is set to fewer.
        spare: bits of the variables of the units that a selection need not have.
        freed: that such a unit stays out, where proposals for the same picks found that it cannot;
            half of the proposals of a sale are spared by not trying that each time.
        repriced: prices that a selection names, and the search of the catalogue with them.
        core: after a refusal, literals, and guards of constraints that were named, that it rests
            on.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._owner = threading.get_ident()
        self.catalogue = catalogue
        self.encoding = Encoding(catalogue)
        # the best three fixes take 0.75 s for 0.84
        self._prices: dict[tuple[str, str, int], Figure] = {}
        self.insides = Insides(self.encoding)
        self.layouts = Layouts(self.insides)
        self._plain = self._memoised(one for kind in (*_KINDS, *kinds.MORE) for one in kind(self))
        self._guards_of_plain = {one.id: self.encoding.guard(one.id) for one in self._plain}
        self._most_known = max(_MOST_KNOWN, 2 * len(self.encoding.level_of))
        self._journeys: dict[Journey, _Trip] = {}
        self.repriced: tuple[Sequence[NamedPrice], Search] | None = None
        self._solver = ClauseSolver()
        self._loaded = 0
        self.learned: list[list[int]] = []
        self._set_out(Journey())
        self._load()
        sums = [one for one in self.constraints.values() if one.room]
        self.spare = as_bits(
            variable
            for variable, (choice, option, _) in self.encoding.level_of.items()
            if (choice, option) in self.insides.units and catalogue.by_id[choice].pick != "one"
        )
        self.starts = Starts(self.encoding, sums, self.spare)
        self.freed: set[int] = set()
        self._refuted: list[frozenset[int]] = []
        self._solves = self._rounds = self._crowded = 0
        self.core: frozenset[int] = frozenset()

    @property
    def counts(self) -> Counts:
        """Work done since the search was made."""
        return Counts(self._solves, self._rounds, self._crowded)

    def travel(self, selection: Selection) -> None:
        """Answer from now on for how this selection travels and what it overrides.

        Raises:
            RuntimeError: another thread made the search.
        """
        self.require_owner()
        self._set_out(journey_of(Resolved(self.catalogue, selection)))

    def _memoised(self, made: Iterable[Constraint]) -> tuple[_Memoised, ...]:
        return tuple(_Memoised(self.encoding, one) for one in made)

    def _set_out(self, journey: Journey) -> None:
        self.journey = journey
        if journey not in self._journeys:
            self._journeys[journey] = self._trip(journey)
        trip = self._journeys[journey]
        self.constraints, self._stages, self._known = trip.constraints, trip.stages, trip.sound
        self.active = frozenset(self.constraints)
        self.encoding.guards = trip.guards
        self._every = trip.every

    def _trip(self, journey: Journey) -> _Trip:
        there = [(one, one.constraint.where(journey.people)) for one in self._plain]
        same = [one for one, here in there if here is one.constraint]
        others = (here for one, here in there if here is not one.constraint)
        own = self._memoised((*others, *ratings(self, journey)))
        guards = self._guards_of_plain | {one.id: self.encoding.new() for one in own}
        made = [
            one
            for one in (*same, *own)
            if not one.constraint.override or one.constraint.override not in journey.passed
        ]
        every = self.encoding.new()
        for one in made:
            self._solver.add_clause([-every, guards[one.id]])
        asked = sorted(
            (one for one in made if one.constraint.rank != RULE),
            key=lambda one: (one.constraint.rank, one.id),
        )
        return _Trip(
            {one.id: one.constraint for one in made},
            guards,
            tuple(tuple(g) for _, g in groupby(asked, key=lambda one: one.constraint.rank)),
            every,
            SolutionPool(self._most_known, len(self.encoding.level_of)),
        )

    def require_owner(self) -> None:
        """Refuse any thread but the one that made the search."""
        if threading.get_ident() != self._owner:
            raise RuntimeError(
                "a Search belongs to the thread that made it; make one for each thread"
            )

    def mass(self, choice: Choice, option: Option) -> Figure:
        """The mass of one of the option."""
        return masses(self.insides.answers, choice, option)

    def price(self, choice: Choice, option: Option, quantity: int) -> Figure:
        """The price of this many of the option, calculated once."""
        key = choice.id, option.id, quantity
        if key not in self._prices:
            self._prices[key] = prices(self.insides.answers, choice, option, quantity)
        return self._prices[key]

    @cached_property
    def priced_by(self) -> Mapping[str, Set[tuple[str, str]]]:
        """By choice, the options whose prices depend on its answer."""
        return priced_by(self.catalogue)

    def unmet(self, literals: Sequence[int], wanted: Iterable[int]) -> list[int]:
        """Which of the wanted no sound selection already found with the literals has."""
        places = self._known.having(literals)
        return [one for one in wanted if not self._known.having([one]) & places]

    def at_once(self, literals: Sequence[int]) -> frozenset[int]:
        """What follows from the literals and all constraints by reading clauses alone."""
        return frozenset(self._read(literals)[1])

    def contradicted(self, literals: Sequence[int]) -> bool:
        """Whether reading clauses alone shows that not all of the literals can hold."""
        return not self._read(literals)[0]

    def _read(self, literals: Sequence[int]) -> tuple[bool, list[int]]:
        """Whether clauses alone agree with the literals and all constraints, and what follows."""
        self._load()
        return self._solver.propagate([*literals, self._every])

    def sound(
        self,
        literals: Sequence[int],
        active: frozenset[ConstraintId] | None = None,
        patience: int = MOST_CROWDED,
        quick: bool = False,
        hopes: Iterable[int] = (),
        rounds: int | None = None,
        near: int | None = None,
    ) -> int | None:
        """A complete selection with the literals that keeps what is active, as bits, or None.

        None is a proof that there is none; :attr:`core` then says which literals it rests on, and
        which constraints where these were named. Proposals do without units that are neither
        asked for nor in their start, as far as that goes: more to stand on could always be the way
        out of a crowded room, but seldom is.

        Args:
            literals: what must be true.
            active: constraints to respect; all of them by default.
            patience: how many crowded proposals it refuses before it stops without an answer.
            quick: give up at one that is hard to refuse.
            hopes: variables of options that the first proposal is to have besides, where it can.
            rounds: how many proposals it makes before it stops; by default as many as ever.
            near: a sound selection, as bits, that the first proposals are to differ little from;
                by default they are light, as later ones are.

        Raises:
            OutOfProposals: it stopped after so many.
            SearchLimit: it stopped without an answer, which proves nothing.
            RuntimeError: another thread made the search.
        """
        self.require_owner()
        named = active is not None
        guards = [self._every] if active is None else self._guards(active)
        active = self.active if active is None else active
        if met := self._known.having(literals):
            return self._known.at(met)
        self._load()
        assumptions = [*literals, *guards]
        asked = frozenset(assumptions)
        if named:
            # clauses alone settle most of what a conflict asks: of 1 055 rules in 1.2 s for 2.1
            if not self._solver.solve(assumptions):
                self.core = self._solver.core()
                return None
            if not any(one.id in active for stage in self._stages for one in stage):
                return self._picked()
        elif self.refuted(literals):
            return None
        start = self.starts.lightest() if near is None else near
        begin = self.starts.over(start, [*literals, *hopes])
        phases, without = self._phases(begin), {-v for v in variables(self.spare & ~begin)}
        without -= asked | self.freed
        levels = self.encoding.level_of
        self.layouts.asked = {levels[v][:2]: levels[v][2] for v in literals if v in levels}
        self.layouts.follows = partial(self.at_once, literals)
        crowded = 0
        over: Counter[ConstraintId] = Counter()
        rounds = _MOST_ROUNDS if rounds is None else rounds
        for tried in range(rounds):
            self._solver.prefer(phases)
            self._solves += 1
            if not self._solver.solve(assumptions=[*assumptions, *sorted(without)]):
                self.core = self._solver.core()
                if self.core & without:
                    self.freed |= self.core & without
                    without -= self.core
                    continue
                self._refute(literals)
                return None
            bits = self._picked()
            held = self.encoding.held(variables(bits))
            self.layouts.patient = not quick
            try:
                violations = self._violations(held, bits, active)
            finally:
                self.layouts.patient = True
            if not violations:
                if active == self.active:
                    self._known.keep(bits)
                return bits
            self._rounds += 1
            self.learn(violations)
            first = self.constraints[violations[0].fact]
            if first.lighter or hopes:
                if near is None or tried >= _NEAR:
                    start = self.starts.lightest(over)
                hopes = ()
                over.update(violation.fact for violation in violations)
                phases = self._phases(self.starts.over(start, literals))
            if self.crowded(violations):
                crowded += 1
                self._crowded += 1
                if crowded > patience:
                    raise SearchLimit(self._too_crowded(violations[0]))
        raise OutOfProposals(text("none of the first {n} packages tried is possible", n=rounds))

    def _too_crowded(self, violation: Violation) -> Text:
        """Why it stops, as the last violation tells."""
        for one in (violation.fact, *violation.besides):
            if self.constraints[one].rank == TOGETHER:
                return nearly_full(self.catalogue, one.subject)
        return text("not every layout was tried")

    def refuted(self, literals: Sequence[int]) -> bool:
        """Whether it is proved already that no sound selection has the literals; then the core."""
        asked = {*literals, self._every}
        for core in self._refuted:
            if core <= asked:
                self.core = core
                return True
        return False

    def take(
        self,
        literals: Sequence[int],
        active: frozenset[ConstraintId] | None,
        held: Held | None,
    ) -> int | None:
        """What the optimiser says of the same question, as :meth:`sound` would, and kept like it.

        Args:
            literals: what must be true.
            active: constraints to respect; all of them by default.
            held: a sound selection, or None, which is a proof that there is none.
        """
        if held is None:
            guards = [self._every] if active is None else self._guards(active)
            self.core = frozenset([*literals, *guards])
            self._refute(literals)
            return None
        bits = self.encoding.bits(held)
        if active in (None, self.active):
            self._known.keep(bits)
        return bits

    def _picked(self) -> int:
        """What the model last found picks, as bits."""
        model = self._solver.model()[: len(self.encoding.level_of)]
        return as_bits(variable for variable in model if variable > 0)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> list[Violation]:
        """What is against the selection; a more expensive constraint is asked only if it must."""
        return self._violations(held, self.encoding.bits(held), active)

    def _violations(
        self, held: Held, bits: int, active: frozenset[ConstraintId]
    ) -> list[Violation]:
        for stage in self._stages:
            found = [v for one in stage for v in one.violations(held, bits, active)]
            if found:
                return found
        return []

    def crowded(self, violations: Sequence[Violation]) -> bool:
        """Whether the trouble is that units do not go in together, which is dear to find out."""
        first = violations[0]
        return self.constraints[first.fact].rank == TOGETHER or bool(first.besides)

    def learn(self, violations: Iterable[Violation]) -> None:
        """Keep violations as clauses, for this question and all that follow."""
        self.require_owner()
        self._load()
        for violation in violations:
            named = (violation.fact, *violation.besides)
            clause = [*(-self.encoding.guards[one] for one in named), *violation.clause]
            self.learned.append(clause)
            self._solver.add_clause(clause)

    def _guards(self, active: frozenset[ConstraintId]) -> list[int]:
        """The guards of those facts, in a fixed order."""
        return sorted(self.encoding.guards[one] for one in active)

    def _load(self) -> None:
        """Give the solver the clauses that the encoding got since."""
        for clause in self.encoding.clauses[self._loaded :]:
            self._solver.add_clause(clause)
        self._loaded = len(self.encoding.clauses)

    def _phases(self, bits: int) -> list[int]:
        """Literals that proposals are to have true where they can, of every variable.

        The solver forgets them as it searches, so it is told before each proposal.
        """
        phases = self.starts.literals(bits)
        agreed, whole = self._solver.propagate(assumptions=phases)
        return whole if agreed else phases

    def _refute(self, literals: Sequence[int]) -> None:
        """Remember which of them the last refutation rests on: beside all facts they cannot hold.

        The latest come first. Asked again, 2.8 ms for 5.3.
        """
        core = self.core.intersection(literals) | {self._every}
        self._refuted = [core, *(other for other in self._refuted if not core <= other)]
        del self._refuted[self._most_known :]
