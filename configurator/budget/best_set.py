"""Sets of changes of one selection, proposed by the optimiser.

The engine's clauses say what is sound; OR-Tools CP-SAT minds what everything costs, in whole cents.
Every change is a variable; what is picked follows from which of them are made. What the optimiser
answers is a proposal: whoever asked prices it and checks it as any other selection, and has it
refused for good, or for one question, where it is not what was asked for.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from attrs import evolve

from configurator.budget.to_pay import ToPay
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import FixedPrice, OnApplication
from configurator.engine.constraint import ConstraintId, Held
from configurator.engine.optimum import Optimum, Terms
from configurator.engine.search import Search
from configurator.selection.changes import Change
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import undecided

_BLOCK = 40
"""Changes that are put into the alphabet's order at once, by powers of two."""


class BestSet:
    """Asks for sets of changes of one selection.

    Attributes:
        clauses: what every proposal satisfies, in addition to the catalogue's facts.
    """

    def __init__(
        self,
        build: Resolved,
        changes: Sequence[Change],
        to_pay: ToPay,
        rank: int,
        standing: Collection[tuple[str, str]],
        more_open: int,
    ) -> None:
        """Compile the catalogue for the selection.

        Args:
            build: what is picked, from which catalogue.
            changes: every change that may be made, in the alphabet's order.
            to_pay: what is to be paid after them.
            rank: up to which constraints are respected; the judge minds the others.
            standing: code and subject of what stops the selection now and may go on to.
            more_open: how many lines may be without a price.
        """
        self.selection, self.changes, self.to_pay = build.selection, changes, to_pay
        offered = _with_named_prices(Resolved(build.offering, build.selection))
        self.search = Search(_as_it_is(Resolved(offered, build.selection)))
        self.search.travel(build.selection)
        respected = [one.id for one in self.search.constraints.values() if one.rank <= rank]
        self.search.active = frozenset(respected) - {ConstraintId(*one) for one in standing}
        self.encoding = self.search.encoding
        self.made = {change: self.encoding.new() for change in changes}
        self.clauses = list(self._clauses())
        self.open = more_open

    def ask(
        self,
        *wanted: str,
        low: int | None = None,
        high: int | None = None,
        size: int | None = None,
        refused: Iterable[Selection] = (),
    ) -> tuple[Change, ...] | None:
        """The best set of changes, or None where there is none.

        Args:
            wanted: what makes it best, the first counting most: ``fewest`` changes, the ``least``
                or ``most`` measure of what is to be paid, the first by the ``alphabet``.
            low: the least that the measure may be.
            high: the most that it may be.
            size: how many changes.
            refused: selections that it may not lead to.

        Raises:
            SearchLimit: the search stopped without an answer, which proves nothing.
        """
        optimum = Optimum(self.search)
        for clause in (*self.clauses, *map(self.other_than, refused)):
            optimum.require(clause)
        unpriced = list(self._unpriced())
        if unpriced:
            optimum.at_most(unpriced, self.open)
        measure = self.to_pay.measure(optimum)
        if low is not None:
            optimum.model.add(measure >= low)
        if high is not None:
            optimum.model.add(measure <= high)
        made = list(self.made.values())
        count = optimum.sum([(1, literal) for literal in made])
        if size is not None:
            optimum.model.add(count == size)
        objectives: list[Any] = []
        for word in wanted:
            match word:
                case "fewest":
                    objectives.append(count)
                case "alphabet":
                    objectives += map(optimum.sum, _alphabet(made))
                case _:
                    objectives.append(measure if word == "least" else -measure)
        held = optimum.best(*objectives, ties=False)
        return None if held is None else self._changes(held)

    def other_than(self, selection: Selection, choices: Collection[str] = ()) -> list[int]:
        """A clause: some of the choices, all of them by default, are not answered as here."""
        return [
            -level if quantity <= selection.quantity(choice, option) else level
            for (choice, option, quantity), level in self.encoding.levels.items()
            if not choices or choice in choices
        ]

    def _clauses(self) -> Iterator[list[int]]:
        """What is picked follows from the changes: one at most for each pick, none meets another.

        This many of an option are picked exactly where some change put them there, or where they
        stood there and none took them away.
        """
        by_slot: dict[tuple[str, str], list[int]] = {}
        by_target: dict[tuple[str, str], list[int]] = {}
        puts: dict[tuple[str, str, int], list[int]] = {}
        for change, literal in self.made.items():
            by_slot.setdefault(change.slot, []).append(literal)
            if change.to:
                by_target.setdefault((change.choice, change.to), []).append(literal)
                for quantity in range(1, change.quantity + 1):
                    puts.setdefault((change.choice, change.to, quantity), []).append(literal)
        for rivals in (*by_slot.values(), *by_target.values()):
            yield from ([-a, -b] for n, a in enumerate(rivals) for b in rivals[:n])
        for key, level in self.encoding.levels.items():
            choice, option, quantity = key
            why = list(puts.get(key, ()))
            if quantity <= self.selection.quantity(choice, option):
                touched = by_slot.get((choice, option), [])
                stays = -self.encoding.any_of(touched) if touched else self.encoding.true
                why.append(stays)
            yield [-level, *why]
            yield from ([-reason, level] for reason in why)

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

    def _changes(self, held: Held) -> tuple[Change, ...]:
        """The changes that lead there, the first in the alphabet where several sets do."""
        by_slot: dict[tuple[str, str], list[Change]] = {}
        for change in self.changes:
            now = held.get(change.slot, 0)
            there = held.get((change.choice, change.to), 0) if change.to else 0
            fewer = change.to == change.option and now == change.quantity
            moved = change.to != change.option and not now and there == change.quantity
            if fewer or moved:
                by_slot.setdefault(change.slot, []).append(change)
        touched = sorted(
            slot for slot in by_slot if held.get(slot, 0) != self.selection.quantity(*slot)
        )
        wanted = {key for key in held if not self.selection.quantity(*key)}

        def assign(index: int, taken: tuple[Change, ...]) -> tuple[Change, ...] | None:
            if index == len(touched):
                put = {(change.choice, change.to) for change in taken}
                return taken if wanted <= put else None
            for change in by_slot[touched[index]]:
                if change.to and any((c.choice, c.to) == (change.choice, change.to) for c in taken):
                    continue
                found = assign(index + 1, (*taken, change))
                if found is not None:
                    return found
            return None

        found = assign(0, ())
        assert found is not None, "the model leads nowhere that no change leads to"
        return found


def _alphabet(literals: Sequence[int]) -> Iterator[Terms]:
    """Objectives, the first counting most, that are least where the first literals are true."""
    for start in range(0, len(literals), _BLOCK):
        block = literals[start : start + _BLOCK]
        yield [(-(1 << (len(block) - 1 - n)), literal) for n, literal in enumerate(block)]


def _with_named_prices(build: Resolved) -> Catalogue:
    """The catalogue with the prices that the selection names for what is priced on application."""
    named = {price.line: price.amount for price in build.selection.named_prices}

    def option(choice: Choice, known: Option) -> Option:
        line = Pick(choice.id, known.id)
        if line not in named:
            return known
        rest = [part for part in known.price if not isinstance(part, OnApplication)]
        return evolve(known, price=(*rest, FixedPrice(named[line])))

    def with_prices(choice: Choice) -> Choice:
        return evolve(choice, options=tuple(option(choice, known) for known in choice.options))

    if not named:
        return build.catalogue
    return evolve(
        build.catalogue,
        choices=tuple(map(with_prices, build.catalogue.choices)),
        add_ons=with_prices(build.catalogue.add_ons),
    )


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
