"""Layouts and reasons, from a catalogue and a selection."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.parts import Measured, Table
from configurator.errors import SearchLimit
from configurator.fit.conflict import least_unfit, only
from configurator.fit.layout import (
    FLOOR,
    HUNG,
    Layout,
    Missing,
    NoLayout,
    OpenBox,
    Placement,
    SpaceLayout,
    UnitName,
    Unkept,
)
from configurator.fit.loads import overloaded, rated_spots
from configurator.fit.preferences import Place, best_of, keeping, open_boxes, places_asked
from configurator.fit.rooms import FREE, Room, Spot, rooms_of
from configurator.fit.search import MOST_ITEMS, arrange
from configurator.selection.resolved import Resolved, once

_MOST_LONGER = 4096
_OPINIONS = 12


@once
def lay_out(build: Resolved) -> Layout | NoLayout:
    """Every unit in its place, or the smallest reason why they cannot go in together.

    The layout is proven to hold (what that means: :mod:`configurator.fit.rooms`); among
    those that do, one that keeps the axle ratings is chosen wherever there is one
    (:mod:`configurator.fit.loads`), and one that keeps wishes and then the places that the
    catalogue prefers (:mod:`configurator.fit.preferences`), is balanced, low and forward
    and leaves a large space open is preferred (:mod:`configurator.fit.preferences`). Spaces
    whose size or openings the picks do not tell yet are named in the answer and nothing is said of
    their units.

    Raises:
        SearchLimit: a space could not be settled; nothing follows from that.
    """
    rooms, unknown = rooms_of(build)
    for room in rooms:
        if arrange(room) is None:
            return _refusal(build, room, unknown)
    liked: list[tuple[Spot, ...]] = []
    unkept: list[Unkept] = []
    together: list[Place] = []
    for room in rooms:
        asked = places_asked(build.catalogue, build.selection.wishes, room)
        narrow, kept, broken = keeping(room, asked)
        start = arrange(narrow)
        assert start is not None
        liked.append(best_of(narrow, start))
        together += kept
        unkept += broken
    rated = rated_spots(build, rooms, together, tuple(liked))
    placements: list[Placement] = []
    spaces: list[SpaceLayout] = []
    boxes: list[OpenBox] = []
    for room, spots in zip(rooms, rated.spots, strict=True):
        placements += _placements(room, spots)
        used = sum(item.volume for item in room.items)
        spaces.append(SpaceLayout(room.space, room.inside, room.openings, room.divider, used))
        boxes += open_boxes(room, spots)
    order = {(choice.id, option.id): rank for rank, (choice, option, _) in enumerate(build.picks)}
    placements.sort(key=lambda p: (order[p.choice, p.option], p.number))
    return Layout(
        placements=tuple(placements),
        spaces=tuple(spaces),
        open_boxes=tuple(boxes),
        unkept=(*unkept, *rated.unkept),
        unknown=unknown,
        ratings=rated.ratings,
    )


def _placements(room: Room, spots: Sequence[Spot]) -> Iterator[Placement]:
    for item, spot in zip(room.items, spots, strict=True):
        on: UnitName | str = HUNG if item.hung else FLOOR
        if spot.support.on != FREE:
            on = room.items[spot.support.on].name
        yield Placement(
            item.choice,
            item.option,
            item.number,
            room.space,
            spot.x,
            spot.y,
            spot.z,
            *spot.shape.size,
            spot.shape.side,
            on,
        )


@once
def not_together(build: Resolved) -> tuple[str, ...]:
    """Ids of the spaces whose units cannot all go in together; the quick question.

    Raises:
        SearchLimit: a space could not be settled.
    """
    return tuple(room.space for room in rooms_of(build)[0] if arrange(room) is None)


@once
def too_heavy(build: Resolved) -> bool:
    """Whether it is proven that units go in together, but in no way that keeps the axle ratings.

    Raises:
        SearchLimit: whether they go in could not be settled.
    """
    rooms, unknown = rooms_of(build)
    still_open = any(
        c.pick == "one" and c.id not in build.selection.chosen for c in build.catalogue.choices
    )
    if (unknown and still_open) or any(arrange(room) is None for room in rooms):
        return False
    return overloaded(build, rooms)


def _refusal(build: Resolved, room: Room, unknown: tuple[str, ...]) -> NoLayout:
    kept = least_unfit(room, opinions=_OPINIONS)
    items = [room.items[index] for index in kept]
    return NoLayout(
        room.space,
        tuple(item.name for item in items),
        tuple(_grounds(build, room.space, {item.name.key for item in items})),
        _missing(build, room, kept),
        unknown,
    )


def _grounds(build: Resolved, space: str, units: Set[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The units, and the picks that make their space, its openings and their masses."""
    parts = [part for key in units for part in build.catalogue.option(*key).mass]
    weighing = {choice for part in parts if isinstance(part, Table) for choice in part.by}
    measured = {part.of.partition(".")[0] for part in parts if isinstance(part, Measured)}
    for choice, option, _ in build.picks:
        shapes = dict(option.space)
        opens = any(opening.space == space for opening in option.openings)
        weighs = choice.id in weighing or any(
            measured & (dict(other.space).keys() | dict(other.gives).keys())
            for other in choice.options
        )
        if space in shapes or opens or weighs or (choice.id, option.id) in units:
            yield choice.id, option.id


def mending(build: Resolved, space: str, units: Sequence[Option]) -> Iterator[Pick]:
    """Other carriers, directly or through one another, and whatever gives an opening."""
    wanted = {name for unit in units if unit.unit for name in unit.unit.stands_on}
    carriers: set[tuple[str, str]] = set()
    grown = True
    while grown:
        grown = False
        for choice in build.catalogue.by_id.values():
            for option in choice.options:
                unit = option.unit
                key = (choice.id, option.id)
                if unit is None or unit.carries is None or unit.space != space or key in carriers:
                    continue
                if any(named.covers(*key) for named in wanted):
                    carriers.add(key)
                    wanted |= set(unit.stands_on)
                    grown = True
    for choice in build.catalogue.by_id.values():
        chosen = build.selection.chosen.get(choice.id, ())
        for option in choice.options:
            opens = any(opening.space == space for opening in option.openings)
            more = build.selection.quantity(choice.id, option.id) + 1
            if opens and option.id not in chosen and (choice.pick == "several" or not chosen):
                yield Pick(choice.id, option.id)
            elif (choice.id, option.id) in carriers and more <= option.most:
                yield Pick(choice.id, option.id, more)


def _missing(build: Resolved, room: Room, kept: Sequence[int]) -> Missing | None:
    """The least that the space would have to be longer, wider or higher for them to go in."""
    if len(kept) > MOST_ITEMS:
        return None
    inside = room.inside
    found = []
    for axis, (what, has) in enumerate(
        (("length", inside.length), ("height", inside.height), ("width", inside.width))
    ):
        more = _least_more(build, room.space, kept, "lhw"[axis])
        if more is not None:
            found.append((more, axis, Missing(what, has + more, has)))
    return min(found, key=lambda one: one[:2])[2] if found else None


def _least_more(build: Resolved, space: str, kept: Sequence[int], axis: str) -> int | None:
    """The least that one size must grow by, mm; None when growing does not help."""

    def fits(more: int) -> bool:
        add = (more * (axis == "l"), more * (axis == "w"), more * (axis == "h"))
        rooms, _ = rooms_of(build, (space, add))
        larger = next(room for room in rooms if room.space == space)
        return arrange(only(larger, kept), hard=False) is not None

    try:
        low, high = 0, 1
        while not fits(high):
            low, high = high, high * 4
            if low >= _MOST_LONGER:
                return None
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if fits(middle) else (middle, high)
    except SearchLimit:
        return None
    return high
