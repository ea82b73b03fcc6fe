"""Whether all units of a space go in together, and where they stand then."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from fractions import Fraction
from typing import TypeAlias

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.parts import Part
from configurator.engine.effort import Effort
from configurator.engine.encoding import State
from configurator.engine.figures import (
    Determiners,
    Insides,
    Unit,
    listed,
    only_divides,
    opens,
    states_in,
)
from configurator.engine.violation import Held
from configurator.fit.rooms import Room, rooms_of
from configurator.fit.search import arrange
from configurator.layout.loads import middles
from configurator.selection.resolved import Resolved
from configurator.selection.totals import Interior

Units: TypeAlias = tuple[tuple[Unit, int], ...]

Middles: TypeAlias = Mapping[Unit, Sequence[Fraction]]
"""By unit, the middle of each one of it behind the inside front of its space, mm."""

Key: TypeAlias = tuple[str, Interior, tuple[State, ...], Units]
"""All that an arrangement depends on."""


class Layouts:
    """Whether the units of each space go in together, remembered by what that depends on.

    Attributes:
        patient: whether a room that is hard to settle is settled all the same, and why units do not
            go in is widened; where not, :class:`~configurator.errors.SearchLimit` is raised for a
            hard room, and where what carries might help.
        asked: how many of each unit were asked for; reasons that have to do with them go first.
        follows: says which literals follow from what was asked.
        dividers: options that do nothing to what fits but divide closed spaces.
        effort: what may still be tried for the question that is answered.
        known: by what it depends on, where some layout has the units; None where there is none.
            States of random sales take 2 % longer where a layout is looked for each time.
    """

    def __init__(self, insides: Insides) -> None:
        self.encoding, self.insides = insides.encoding, insides
        self.catalogue = insides.catalogue
        self.dividers: set[Unit] = set()
        self.others = {space.id: self._others(space.id) for space in self.catalogue.spaces}
        self.patient, self.effort = True, Effort()
        self.asked: Mapping[Unit, int] = {}
        self.follows: Callable[[], frozenset[int]] = frozenset
        self.known: dict[Key, Middles | None] = {}

    @contextmanager
    def trying(self, effort: Effort) -> Iterator[None]:
        """Try no more than that inside."""
        self.effort, before = effort, self.effort
        try:
            yield
        finally:
            self.effort = before

    def depends_on(self, space: str) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        for (choice, option), its in self.insides.units.items():
            if its == space:
                yield choice, (option,)
        yield from self.others[space]
        for side in self.insides.sides(space).values():
            yield from side.on

    def key(self, space: str, held: Held) -> Key | None:
        """What the arrangement of the units depends on.

        None where there are no units, and while the inside is not known.
        """
        units = self.units_in(space, held)
        inside = self.insides.at(space, held) if units else None
        if inside is None:
            return None
        return space, inside, states_in(held, self.others[space]), units

    def arranged(self, room: Room | None) -> Middles | None:
        """Where some layout has the units; none where the room is not known.

        Raises:
            SearchLimit: the room is hard to settle, and that is not asked for.
        """
        if room is None:
            return {}
        spots = arrange(room, hard=self.patient)
        if spots is None:
            return None
        found: dict[Unit, list[Fraction]] = {}
        for item, (_, middle) in zip(room.items, middles(room, spots), strict=True):
            found.setdefault((item.choice, item.option), []).append(middle)
        return found

    def middles(self, held: Held) -> Middles:
        """Where the middles of units are in a layout of a selection that was not refused."""
        found: dict[Unit, Sequence[Fraction]] = {}
        for space in sorted(self.others):
            key = self.key(space, held)
            found.update((self.known.get(key) or {}) if key is not None else {})
        return found

    def units_in(self, space: str, held: Held) -> Units:
        """How many of each unit of the space are held."""
        units = self.insides.units
        return tuple((unit, held[unit]) for unit in sorted(held) if units.get(unit) == space)

    def _others(self, space: str) -> Determiners:
        """What an arrangement depends on besides units and inside: doors, divider, masses."""
        found: dict[str, set[str]] = {}
        parts: list[Part] = []
        for choice in self.encoding.choices:
            for option in choice.options:
                if option.unit is not None and option.unit.space == space:
                    parts += option.mass
                if opens(space, option):
                    found.setdefault(choice.id, set()).add(option.id)
        weighing = determiners_of(self.catalogue, parts)
        self.dividers |= {
            (choice_id, option)
            for choice_id, options in found.items()
            if choice_id not in weighing and self.catalogue.by_id[choice_id].pick != "several"
            for option in options
            if only_divides(self.catalogue, self.catalogue.option(choice_id, option))
        }
        for choice_id, options in weighing.items():
            found.setdefault(choice_id, set()).update(options)
        return listed(found)

    def room(self, space: str, held: Held, add: tuple[int, int, int] = (0, 0, 0)) -> Room | None:
        """The space as numbers, or None while the picks do not tell all of it."""
        selection = self.encoding.selection(held)
        rooms, _ = rooms_of(Resolved(self.catalogue, selection), (space, add))
        return next((room for room in rooms if room.space == space), None)
