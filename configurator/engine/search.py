"""The search: proposals from a SAT solver, until one pleases every theory or none is left.

Every reason that a theory gives is kept as a clause, so nothing is refused twice. Sound selections
that were met are remembered, and proposals start from them, so that few rounds are needed.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from attrs import frozen

from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.engine.arranging import LayoutTheory
from configurator.engine.encoding import Encoding, Fact, Held, as_bits, variables
from configurator.engine.figures import Figure, masses, prices
from configurator.engine.fitting import FitTheory
from configurator.engine.journey import Journey, journey_of
from configurator.engine.known import Known
from configurator.engine.rating import RatingTheory
from configurator.engine.recall import Recall
from configurator.engine.starts import Starts
from configurator.engine.theories import LimitTheory, Reason, Theory
from configurator.errors import SearchLimit
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.solving import ClauseSolver

__all__ = ["MOST_CROWDED", "Counts", "Search"]

_MOST_ROUNDS = 3_000
_MOST_KNOWN = 400

MOST_CROWDED = 40
"""Proposals whose units do not go in together, each dear to refuse, before a search gives up."""


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
class _Trip:
    """What a search keeps apart for each journey.

    Attributes:
        ratings: the theory of ratings.
        recall: with what it had nothing against.
        facts: what holds; nothing that is let pass.
        guards: of the facts about ratings.
        every: a variable that is true only where the guards of all facts are.
        sound: selections met that are sound.
    """

    ratings: RatingTheory
    recall: Recall
    facts: frozenset[Fact]
    guards: dict[Fact, int]
    every: int
    sound: Known


class Search:
    """One catalogue, compiled, with everything learned about it so far.

    Answers are for one journey at a time: :meth:`travel` sets out on that of a selection, and every
    question does so by itself. Without it, selections travel as the catalogue says.

    It belongs to the thread that made it, since a question changes it while it is answered: make
    one for each thread. Asked from another thread it raises a RuntimeError.

    Attributes:
        encoding: its variables and clauses.
        facts: what holds on the journey.
        spare: bits of the variables of the units that a selection need not have.
        core: after a refusal, literals, and guards of facts that were named, that it rests on.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._owner = threading.get_ident()
        self.catalogue = catalogue
        self.encoding = Encoding(catalogue)
        self._masses: dict[tuple[str, str], Figure] = {}
        self._prices: dict[tuple[str, str, int], Figure] = {}
        self.fit = FitTheory(self.encoding)
        limits = [
            LimitTheory(self.encoding, limit, self.mass)
            for limit in sorted(catalogue.limits, key=lambda limit: limit.id)
        ]
        self.limits = {theory.limit.id: theory for theory in limits}
        self.layouts = LayoutTheory(self.encoding, self.fit)
        plain: list[Theory] = [*limits, self.fit, self.layouts]
        self._plain = [Recall(self.encoding, theory) for theory in plain]
        self._plain_facts = dict(self.encoding.facts)
        self._most_known = max(_MOST_KNOWN, 2 * len(self.encoding.level_of))
        self._journeys: dict[Journey, _Trip] = {}
        self._solver = ClauseSolver()
        self._loaded = 0
        self._set_out(Journey())
        self.learned: list[list[int]] = []
        self._load()
        self.starts = Starts(self.encoding, limits)
        self.spare = as_bits(
            variable
            for variable, (choice, option, _) in self.encoding.level_of.items()
            if (choice, option) in self.fit.units and catalogue.by_id[choice].pick != "one"
        )
        self._refuted: list[frozenset[int]] = []
        self._solves = self._rounds = self._crowded = 0
        self.core: frozenset[int] = frozenset()

    @property
    def counts(self) -> Counts:
        """Work done since the search was made."""
        return Counts(self._solves, self._rounds, self._crowded)

    def travel(self, selection: Selection) -> None:
        """Answer from now on for how this selection travels and what it lets pass.

        Raises:
            RuntimeError: another thread made the search.
        """
        self._require_owner()
        self._set_out(journey_of(Resolved(self.catalogue, selection)))

    def _set_out(self, journey: Journey) -> None:
        if journey not in self._journeys:
            ratings = RatingTheory(self.encoding, self.mass, journey, self.layouts)
            guards = {fact: self.encoding.new() for fact in ratings.facts()}
            held = [
                f for f in self._plain_facts if f.kind != "limit" or f.subject not in journey.passed
            ]
            facts = frozenset([*held, *guards])
            recall = Recall(self.encoding, ratings, self.layouts.facts())
            every, known = self.encoding.new(), Known(self._most_known)
            for guard in (*guards.values(), *map(self._plain_facts.__getitem__, held)):
                self._solver.add_clause([-every, guard])
            self._journeys[journey] = _Trip(ratings, recall, facts, guards, every, known)
        trip = self._journeys[journey]
        self.ratings, self.facts, self._known = trip.ratings, trip.facts, trip.sound
        self.encoding.facts = self._plain_facts | trip.guards
        self._theories = [*self._plain, trip.recall]
        self._every = trip.every

    def _require_owner(self) -> None:
        if threading.get_ident() != self._owner:
            raise RuntimeError(
                "a Search belongs to the thread that made it; make one for each thread"
            )

    def mass(self, choice: Choice, option: Option) -> Figure:
        """The mass of one of the option, worked out once."""
        key = choice.id, option.id
        if key not in self._masses:
            self._masses[key] = masses(self.catalogue, choice, option)
        return self._masses[key]

    def price(self, choice: Choice, option: Option, quantity: int) -> Figure:
        """The price of so many of the option, worked out once."""
        key = choice.id, option.id, quantity
        if key not in self._prices:
            self._prices[key] = prices(self.catalogue, choice, option, quantity)
        return self._prices[key]

    def seen(self, literals: Iterable[int]) -> tuple[int, int]:
        """What some, and what all, of the sound selections met before with these variables have.

        Both have the bit of each variable set; all bits are where none was met.
        """
        return self._known.seen(literals)

    def near(self, literals: Sequence[int], wanted: int = 0) -> int:
        """What proposals start from, as bits: what is asked, in place of answers of a sound one.

        That one shares most with what is asked. Of several, it is the one with fewest units that
        nobody asked for, which leaves most room; each variable that is wanted makes good for one of
        them. Where no sound selection was met, it is what is lightest.

        Args:
            literals: what is asked.
            wanted: bits of variables.
        """
        found = self._known.nearest(literals, self.spare, wanted)
        return self.starts.over(self.starts.lightest() if found is None else found, literals)

    def at_once(self, literals: Sequence[int]) -> frozenset[int]:
        """What follows from the literals and all facts by reading clauses alone, no search."""
        self._load()
        assumptions = [*literals, self._every]
        return frozenset(self._solver.propagate(assumptions=assumptions)[1])

    def sound(
        self,
        literals: Sequence[int],
        active: frozenset[Fact] | None = None,
        start: Callable[[Sequence[int]], int] | None = None,
        patience: int = MOST_CROWDED,
        quick: bool = False,
    ) -> int | None:
        """A complete selection that satisfies the literals and every active fact, as bits, or None.

        None is a proof that there is none; :attr:`core` then tells which literals it rests on, and
        which facts where these were named. Proposals do without units that are neither asked for
        nor in their start, as far as that goes: more to stand on could always be the way out of a
        crowded room, but seldom is.

        Args:
            literals: what must be true.
            active: facts to respect; all of them by default.
            start: makes of the literals what the first proposal starts from, as bits, if not from
                what is :meth:`near`; given up as soon as that one is refused or hard to settle.
            patience: how many crowded proposals it refuses before it gives up.
            quick: give up at the first one, rather than find out which units it is crowded by.

        Raises:
            SearchLimit: it gave up, which proves nothing.
            RuntimeError: another thread made the search.
        """
        self._require_owner()
        guards = [self._every] if active is None else self._guards(active)
        active = self.facts if active is None else active
        if all(literal > 0 for literal in literals):
            met = self._known.having(literals)
            if met is not None:
                return met
        self._load()
        assumptions = [*literals, *guards]
        asked = frozenset(assumptions)
        for core in self._refuted:
            if core <= asked:
                self.core = core
                return None
        hoping = start is not None
        first = self.near(literals) if start is None else start(literals)
        phases, without = self._begun(first, asked)
        levels = self.encoding.level_of
        self.layouts.asked = frozenset(levels[v][:2] for v in literals if v in levels)
        before, crowded = self._solves, 0
        over: Counter[str] = Counter()
        for _ in range(_MOST_ROUNDS):
            self._solver.prefer(phases)
            self._solves += 1
            if not self._solver.solve(assumptions=[*assumptions, *sorted(without)]):
                self.core = self._solver.core()
                if self.core & without:
                    without -= self.core
                    continue
                self._refute(self.core)
                return None
            true = [variable for variable in self._solver.model()[: len(levels)] if variable > 0]
            bits, held = as_bits(true), self.encoding.held(true)
            self.layouts.patient = not hoping and not quick
            try:
                reasons = self._reasons(held, bits, active)
            except SearchLimit:
                if not hoping:
                    raise
                hoping = False
                phases, without = self._begun(self.near(literals), asked)
                continue
            finally:
                self.layouts.patient = True
            if not reasons:
                if active == self.facts:
                    self._known.keep(bits)
                return bits
            self._rounds += 1
            self.learn(reasons)
            if reasons[0].fact.kind in ("limit", "rating"):
                lightest = self.starts.lightest(over)
                over.update(r.fact.subject for r in reasons if r.fact.kind == "limit")
                phases = self._phases(self.starts.over(lightest, literals))
            elif hoping:
                phases, without = self._begun(self.near(literals), asked)
            hoping = False
            if reasons[0].fact.kind == "layout" or reasons[0].besides:
                crowded += 1
                self._crowded += 1
                if crowded > patience:
                    break
        tried = self._solves - before
        raise SearchLimit(
            f"the search gave up after {tried} proposals, {crowded} of them too crowded; "
            "that proves nothing"
        )

    def reasons(self, held: Held, active: frozenset[Fact]) -> list[Reason]:
        """What the theories have against the selection; a dearer one is asked only if it must."""
        return self._reasons(held, self.encoding.bits(held), active)

    def _reasons(self, held: Held, bits: int, active: frozenset[Fact]) -> list[Reason]:
        for theory in self._theories:
            found = list(theory.refuse(held, bits, active))
            if found:
                return found
        return []

    def learn(self, reasons: Iterable[Reason]) -> None:
        """Keep reasons as clauses, for this question and all that follow."""
        self._require_owner()
        self._load()
        for reason in reasons:
            guards = (-self.encoding.facts[fact] for fact in (reason.fact, *reason.besides))
            clause = [*guards, *reason.clause]
            self.learned.append(clause)
            self._solver.add_clause(clause)

    def _guards(self, active: frozenset[Fact]) -> list[int]:
        """The guards of those facts, in a fixed order."""
        return sorted(self.encoding.facts[fact] for fact in active)

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

    def _begun(self, bits: int, asked: frozenset[int]) -> tuple[list[int], set[int]]:
        """The phases of a start, and what keeps units out that are neither in it nor asked for."""
        return self._phases(bits), {-v for v in variables(self.spare & ~bits)} - asked

    def _refute(self, core: frozenset[int]) -> None:
        """Remember what cannot hold together, the latest first."""
        self._refuted = [core, *(other for other in self._refuted if not core <= other)]
        del self._refuted[self._most_known :]
