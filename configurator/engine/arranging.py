"""Arrangement as a theory: all units of a space go in together.

A reason names the units that cannot go in together, the doors and what else they hang on, and,
as for one unit, the largest inside with which they still cannot: a larger inside never makes a
fitting set unfit.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TypeAlias

from attrs import evolve

from configurator.arrangement.answers import FitReason, room_reason
from configurator.arrangement.reduced import only
from configurator.arrangement.rooms import Room, rooms_of
from configurator.arrangement.search import arrange
from configurator.catalogue.model import Option, Part
from configurator.engine.encoding import Encoding, Fact, Held, State
from configurator.engine.figures import (
    Determiners,
    determiners_of,
    held_where,
    states_in,
    states_of,
)
from configurator.engine.fitting import FitTheory, listed
from configurator.engine.theories import Reason
from configurator.errors import SearchLimit
from configurator.totals import Interior

__all__ = ["LayoutTheory"]

Units: TypeAlias = tuple[tuple[tuple[str, str], int], ...]

_ANY_SIZE = 10**5
_FEW_GUESSES = 60
"""What is hard to settle is not worth lifting a reason for."""

_MOST_WIDENING = 40


class LayoutTheory:
    """All units of each space go in together. Answers are remembered by what they hang on.

    Attributes:
        patient: whether a room that is hard to settle is settled all the same, and why units do not
            go in is found; where not, :class:`~configurator.errors.SearchLimit` is raised for it.
    """

    def __init__(self, encoding: Encoding, alone: FitTheory) -> None:
        self.encoding, self.alone = encoding, alone
        self.catalogue = encoding.catalogue
        self.others = {space.id: self._others(space.id) for space in self.catalogue.spaces}
        for space in sorted(self.others):
            encoding.fact(Fact("layout", space))
        self.patient = True
        self._known: dict[tuple[str, Interior, tuple[State, ...], Units], bool] = {}
        self._reasons: dict[tuple[str, Interior, tuple[State, ...], Units], Reason] = {}

    def facts(self) -> tuple[Fact, ...]:
        """One for each space."""
        return tuple(Fact("layout", space) for space in sorted(self.others))

    def refuse(self, held: Held, active: frozenset[Fact]) -> Iterator[Reason]:
        """A lifted reason for each space whose units do not go in together."""
        for space in sorted(self.others):
            fact = Fact("layout", space)
            units = self._units_in(space, held)
            if fact not in active or not units:
                continue
            inside = self.alone.inside(units[0][0], held)
            if inside is None:
                continue
            key = space, inside, states_in(held, self.others[space]), units
            if key not in self._known:
                room = self._room(space, held)
                self._known[key] = room is None or arrange(room, hard=self.patient) is not None
            if not self._known[key]:
                if key not in self._reasons:
                    if not self.patient:
                        raise SearchLimit(f"why the units of {space} do not go in is not asked")
                    room = self._room(space, held)
                    assert room is not None
                    self._reasons[key] = self._reason(fact, held, inside, room)
                yield self._reasons[key]

    def _units_in(self, space: str, held: Held) -> Units:
        return tuple(
            (unit, held[unit])
            for unit in sorted(held)
            if (body := self.catalogue.option(*unit).unit) is not None and body.space == space
        )

    def _others(self, space: str) -> Determiners:
        """What an arrangement hangs on besides units and inside: doors, divider, masses."""
        found: dict[str, set[str]] = {}
        parts: list[Part] = []
        for choice in self.encoding.choices:
            for option in choice.options:
                if option.unit is not None and option.unit.space == space:
                    parts += option.mass
                if self._opens(space, option):
                    found.setdefault(choice.id, set()).add(option.id)
        for choice_id, options in determiners_of(self.catalogue, parts).items():
            found.setdefault(choice_id, set()).update(options)
        return listed(found)

    def _opens(self, space: str, option: Option) -> bool:
        shape = dict(option.space).get(space)
        divides = shape is not None and bool(shape.divider)
        return divides or any(opening.space == space for opening in option.openings)

    def _room(self, space: str, held: Held, add: tuple[int, int, int] = (0, 0, 0)) -> Room | None:
        """The space as numbers, or None while the picks do not tell all of it."""
        selection = self.encoding.selection(held)
        rooms, _ = rooms_of(self.catalogue, selection, (space, add))
        return next((room for room in rooms if room.space == space), None)

    def _reason(self, fact: Fact, held: Held, inside: Interior, room: Room) -> Reason:
        space = room.space
        found = room_reason(self.catalogue, self.encoding.selection(held), room)
        literals = [
            -self.encoding.at_least(pick.choice, pick.option, pick.quantity)
            for pick in found.picks
            if (pick.choice, pick.option) in dict(self._units_in(space, held))
        ]
        held, mending = self._most_carriers(held, found, inside)
        literals += mending
        grown = inside
        for name, side in self.alone.sides(space).items():
            size = self._largest_failing(held, found, grown, name, side.steps)
            grown = evolve(grown, **{name: size})
            literals += side.above(size)
        literals += self._outside(held, found, grown)
        return Reason(fact, tuple(dict.fromkeys(literals)))

    def _most_carriers(
        self, held: Held, found: FitReason, inside: Interior
    ) -> tuple[Held, list[int]]:
        """What is held with all that could carry but mends nothing, and literals of what might.

        Of what is only there to stand on, nothing but its bed is asked for, so a set of units that
        cannot go in even so cannot go in with it.
        """
        mending = []
        for pick in found.unless:
            option = self.catalogue.option(pick.choice, pick.option)
            if option.unit is not None and option.unit.carries is not None:
                more = {**held, (pick.choice, pick.option): option.most}
                if not self._go_in(more, found, inside):
                    held = more
                    continue
            literal = self.encoding.at_least(pick.choice, pick.option, pick.quantity)
            mending += [literal] if literal > 0 else []
        return held, mending

    def _go_in(self, held: Held, found: FitReason, grown: Interior) -> bool:
        """Whether the units named may go in where so much is held and the inside is that large."""
        space = found.space
        units = self._units_in(space, held)
        inside = self.alone.inside(units[0][0], held) if units else None
        if inside is None:
            return True
        add = (
            grown.length - inside.length,
            grown.width - inside.width,
            grown.height - inside.height,
        )
        room = self._room(space, held, add)
        try:
            if room is None:
                return True
            smaller = only(room, _kept(room, found))
            return arrange(smaller, hard=False, guesses=_FEW_GUESSES) is not None
        except SearchLimit:
            return True

    def _largest_failing(
        self,
        held: Held,
        found: FitReason,
        grown: Interior,
        name: str,
        steps: list[int],
    ) -> int:
        """The largest size with which, the rest being so, they still do not go in."""

        def fails(size: int) -> bool:
            return not self._go_in(held, found, evolve(grown, **{name: size}))

        if fails(_ANY_SIZE):
            return _ANY_SIZE
        low, high = steps.index(getattr(grown, name)), len(steps)
        while low + 1 < high:
            middle = (low + high) // 2
            if fails(steps[middle]):
                low = middle
            else:
                high = middle
        return steps[low]

    def _outside(self, held: Held, found: FitReason, grown: Interior) -> list[int]:
        """Literals of which one is true where a door, or what else counts, is another.

        Answers with which they do not go in either are refused with the one at hand.
        """
        space, others = found.space, self.others[found.space]
        units = self._units_in(space, held)
        sets = [[state] for state in states_in(held, others)]
        for index, (choice_id, options) in enumerate(others):
            choice = self.catalogue.by_id[choice_id]
            if choice.pick == "several":
                continue
            answers = [s for s in states_of(choice, options) if s not in sets[index]]
            rest = list(product(*sets[:index], *sets[index + 1 :]))
            if len(rest) * len(answers) > _MOST_WIDENING:
                continue
            for state in answers:
                ways = [self._with(space, held, (*r[:index], state, *r[index:])) for r in rest]
                if all(self._units_in(space, way) == units for way in ways) and not any(
                    self._go_in(way, found, grown) for way in ways
                ):
                    sets[index].append(state)
        return [
            literal
            for (choice_id, options), allowed in zip(others, sets, strict=True)
            for literal in self.encoding.not_among(choice_id, options, allowed)
        ]

    def _with(self, space: str, held: Held, states: tuple[State, ...]) -> Held:
        """What is held, with other answers to what an arrangement hangs on."""
        others = dict(self.others[space])
        kept = {key: n for key, n in held.items() if key[1] not in others.get(key[0], ())}
        for (choice_id, _), state in zip(self.others[space], states, strict=True):
            if state and self.catalogue.by_id[choice_id].pick != "several":
                kept = {key: n for key, n in kept.items() if key[0] != choice_id}
        answered = {choice_id for choice_id, _ in kept}
        given = held_where(self.catalogue, self.others[space], states)
        stands_in = {key for key in given if key[1] not in others[key[0]] and key[0] in answered}
        return kept | {key: n for key, n in given.items() if key not in stands_in}


def _kept(room: Room, found: FitReason) -> tuple[int, ...]:
    """The items of the room that the reason names, the first of each kind."""
    left = {(pick.choice, pick.option): pick.quantity for pick in found.picks}
    kept = []
    for index, item in enumerate(room.items):
        if left.get((item.choice, item.option), 0):
            left[item.choice, item.option] -= 1
            kept.append(index)
    return tuple(kept)
