"""Arrangement as a theory: all units of a space go in together.

Reasons are found by :mod:`configurator.engine.crowding`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from attrs import frozen

from configurator.arrangement.loads import middles
from configurator.arrangement.rooms import Room, rooms_of
from configurator.arrangement.search import arrange
from configurator.catalogue.model import Option
from configurator.catalogue.parts import Part
from configurator.engine.constraint import (
    TOGETHER,
    Constraint,
    ConstraintId,
    Explanation,
    Grounds,
    Held,
    Violation,
)
from configurator.engine.crowding import Crowd
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import (
    Determiners,
    determiners_of,
    held_where,
    states_in,
)
from configurator.engine.fitting import FitTheory, listed
from configurator.errors import SearchLimit
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import Interior
from configurator.words import text

if TYPE_CHECKING:
    from configurator.engine.search import Search

__all__ = ["JointFit", "LayoutTheory", "Middles", "joint_fits", "layouts_of"]

Units: TypeAlias = tuple[tuple[tuple[str, str], int], ...]

Middles: TypeAlias = Mapping[tuple[str, str], Sequence[Fraction]]
"""By unit, the middle of each one of it behind the inside front of its space, mm."""

_Key: TypeAlias = tuple[str, Interior, tuple[State, ...], Units]


class LayoutTheory:
    """All units of each space go in together. Answers are remembered by what they hang on.

    Attributes:
        patient: whether a room that is hard to settle is settled all the same, and why units do not
            go in is found; where not, :class:`~configurator.errors.SearchLimit` is raised for it.
        asked: units that were asked for; reasons are preferred that have to do with them.
    """

    def __init__(self, encoding: Encoding, alone: FitTheory) -> None:
        self.encoding, self.alone = encoding, alone
        self.catalogue = encoding.catalogue
        self.others = {space.id: self._others(space.id) for space in self.catalogue.spaces}
        self.patient = True
        self.asked: frozenset[tuple[str, str]] = frozenset()
        self._known: dict[_Key, Middles | None] = {}
        self._reasons: dict[_Key, Violation] = {}

    def depends_on(self, space: str) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        for choice, option in self.alone.units:
            unit = self.catalogue.option(choice, option).unit
            if unit is not None and unit.space == space:
                yield choice, (option,)
        yield from self.others[space]
        for side in self.alone.sides(space).values():
            yield from side.on

    def violations(self, fact: ConstraintId, space: str, held: Held) -> Iterator[Violation]:
        """A lifted one if the units of the space do not go in together."""
        units = self.units_in(space, held)
        key = self._key(space, held, units) if units else None
        if key is None:
            return
        if key not in self._known:
            self._known[key] = self._arranged(space, held)
        if self._known[key] is None:
            if key not in self._reasons:
                if not self.patient:
                    raise SearchLimit(f"why the units of {space} do not go in is not asked")
                room = self.room(space, held)
                assert room is not None
                self._reasons[key] = self._reason(fact, held, key[1], room)
            yield self._reasons[key]

    def _key(self, space: str, held: Held, units: Units) -> _Key | None:
        """What the arrangement of the units hangs on; None while the inside is not known."""
        inside = self.alone.inside(units[0][0], held)
        if inside is None:
            return None
        return space, inside, states_in(held, self.others[space]), units

    def _arranged(self, space: str, held: Held) -> Middles | None:
        """Where some layout has the units; none where the room is not known."""
        room = self.room(space, held)
        if room is None:
            return {}
        spots = arrange(room, hard=self.patient)
        if spots is None:
            return None
        found: dict[tuple[str, str], list[Fraction]] = {}
        for item, (_, middle) in zip(room.items, middles(room, spots), strict=True):
            found.setdefault((item.choice, item.option), []).append(middle)
        return found

    def middles(self, held: Held) -> Middles:
        """Where the middles of units are in a layout of a selection that was not refused."""
        found: dict[tuple[str, str], Sequence[Fraction]] = {}
        for space in sorted(self.others):
            units = self.units_in(space, held)
            key = self._key(space, held, units) if units else None
            found.update((self._known.get(key) or {}) if key is not None else {})
        return found

    def units_in(self, space: str, held: Held) -> Units:
        """How many of each unit of the space are held."""
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

    def room(self, space: str, held: Held, add: tuple[int, int, int] = (0, 0, 0)) -> Room | None:
        """The space as numbers, or None while the picks do not tell all of it."""
        selection = self.encoding.selection(held)
        rooms, _ = rooms_of(Resolved(self.catalogue, selection), (space, add))
        return next((room for room in rooms if room.space == space), None)

    def resolved(self, selection: Selection) -> Resolved:
        """The selection with the catalogue."""
        return Resolved(self.catalogue, selection)

    def _reason(self, fact: ConstraintId, held: Held, inside: Interior, room: Room) -> Violation:
        return Violation(fact, Crowd(self, held, room, inside, self.asked).clause())

    def with_answers(self, space: str, held: Held, states: tuple[State, ...]) -> Held:
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


@frozen
class _Explained(Explanation):
    space: str

    @property
    def sentence(self) -> str:
        return text("these units do not all go into the {space} together", space=self.space)


class JointFit(Constraint):
    """All units of one space go in together."""

    rank = TOGETHER

    def __init__(self, layouts: LayoutTheory, space: str) -> None:
        self.layouts, self.space = layouts, space
        self.id = ConstraintId("layout", space)
        self.name = f'the fit of all units in "{space}"'
        self.at = layouts.catalogue.choices[0].at

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        return self.layouts.depends_on(self.space)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the units do not go in together."""
        return self.layouts.violations(self.id, self.space, held)

    def explain(self, grounds: Grounds) -> _Explained:  # noqa: ARG002 - the picks say it all
        """What the space is called."""
        return _Explained(self.layouts.catalogue.space_title(self.space))


def joint_fits(search: Search) -> Iterator[JointFit]:
    """One for each space."""
    for space in sorted(search.layouts.others):
        yield JointFit(search.layouts, space)


def layouts_of(layouts: LayoutTheory) -> frozenset[ConstraintId]:
    """The ids of all of them."""
    return frozenset(ConstraintId("layout", space) for space in layouts.others)
