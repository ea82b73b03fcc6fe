"""Layouts and reasons for a selection."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import product
from math import prod

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.parts import Measured, Table
from configurator.errors import SearchLimit
from configurator.fit.carriers import first_of, only
from configurator.fit.conflict import least_unfit
from configurator.fit.layout import (
    FLOOR,
    HUNG,
    Layout,
    Missing,
    NoLayout,
    OpenBox,
    Place,
    Placement,
    SpaceLayout,
    UnitName,
    Unkept,
)
from configurator.fit.preferences import (
    best_of,
    in_the_way,
    kept_in_order,
    narrowed,
    open_boxes,
    places_asked,
)
from configurator.fit.rooms import FREE, Room, Spot, rooms_of
from configurator.fit.search import GUESSES, MOST_ITEMS, SHORT_WORK, arrange, handed_over, searched
from configurator.fit.units import inside_so_far
from configurator.layout.loads import overloaded, rated_spots
from configurator.selection.resolved import Resolved, once, trial
from configurator.selection.totals import space_sizes
from configurator.words import Text

_MOST_LONGER = 4096
_OPINIONS = 4
_MOST_CARRIED = 16
"""Combinations of carriers that are tried; of more, nothing is proved."""


@once
def lay_out(build: Resolved) -> Layout | NoLayout:
    """Every unit in its place, or the smallest reason why they cannot go in together.

    The layout is proven to hold (what that means: :mod:`configurator.fit.rooms`); among those that
    do, one that keeps the axle ratings is chosen wherever there is one
    (:mod:`configurator.layout.loads`), and one that keeps wishes and then the places that the
    catalogue prefers, is balanced, low and forward and leaves a large space open is preferred
    (:mod:`configurator.fit.preferences`). Spaces whose size or openings the picks do not tell yet
    are named in the answer and nothing is said of their units.

    Raises:
        SearchLimit: a space could not be settled; nothing follows from that.
    """
    rooms, unknown = rooms_of(build)
    for room in rooms:
        if arrange(room) is None:
            return _refusal(build, room)
    liked: list[tuple[Spot, ...]] = []
    unkept: list[Unkept] = []
    together: list[Place] = []
    for room in rooms:
        kept, start, broken = kept_in_order(
            places_asked(build.catalogue, build.selection.wishes, room),
            lambda places, room=room: arrange(narrowed(room, places)),  # type: ignore[misc]
            lambda places, room=room: in_the_way(room, places),  # type: ignore[misc]
        )
        start = arrange(room) if start is None else start
        assert start is not None
        liked.append(best_of(narrowed(room, kept), start))
        together += kept
        unkept += broken
    rated = rated_spots(build, rooms, together, tuple(liked))
    placements: list[Placement] = []
    spaces: list[SpaceLayout] = []
    boxes: list[OpenBox] = []
    for room, spots in zip(rooms, rated.spots, strict=True):
        placements += _placements(build, room, spots)
        title, used = build.catalogue.space_title(room.space), sum(i.volume for i in room.items)
        spaces.append(
            SpaceLayout(room.space, title, room.inside, room.openings, room.divider, used)
        )
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


def _placements(build: Resolved, room: Room, spots: Sequence[Spot]) -> Iterator[Placement]:
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
            build.catalogue.option(item.choice, item.option).title,
        )


@once
def not_together(build: Resolved, patient: bool = True) -> tuple[str, ...]:
    """Ids of the spaces whose units cannot all go in together; a patient one settles hard spaces.

    Raises:
        SearchLimit: a space could not be settled.
    """
    rooms, _ = rooms_of(build)
    return tuple(room.space for room in rooms if arrange(room, hard=patient) is None)


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


def _refusal(build: Resolved, room: Room) -> NoLayout:
    kept, least = least_unfit(room, opinions=_OPINIONS)
    items = [room.items[index] for index in kept]
    return NoLayout(
        room.space,
        tuple(item.name for item in items),
        least,
        tuple(_grounds(build, room.space, {item.name.key for item in items})),
        _missing(build, room, kept),
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
    offered = [(c, o) for c in build.catalogue.by_id.values() for o in c.options]
    carriers: set[tuple[str, str]] = set()
    before = -1
    while before < len(carriers):
        before = len(carriers)
        for choice, option in offered:
            unit = option.unit
            if unit is None or unit.carries is None or unit.space != space:
                continue
            if any(named.covers(choice.id, option.id) for named in wanted):
                carriers.add((choice.id, option.id))
                wanted |= set(unit.stands_on)
    for choice, option in offered:
        chosen = build.selection.chosen.get(choice.id, ())
        opens = any(opening.space == space for opening in option.openings)
        more = build.selection.quantity(choice.id, option.id) + 1
        if opens and option.id not in chosen and (choice.pick == "several" or not chosen):
            yield Pick(choice.id, option.id)
        elif (choice.id, option.id) in carriers and more <= option.most:
            yield Pick(choice.id, option.id, more)


def may_yet_go_in(build: Resolved, refused: NoLayout) -> bool:
    """Whether more picks may still get the units in: a carrier, an opening, or a larger inside.

    False is a proof that nothing picked besides does. Carriers in a choice of one are tried one
    after the other, as only one of them can be picked.
    """
    space, catalogue = refused.space, build.catalogue
    units = [catalogue.option(*name.key) for name in refused.units]
    each: dict[str, list[Pick]] = {}
    every = build
    for pick in mending(build, space, units):
        choice, option = catalogue.by_id[pick.choice], catalogue.option(pick.choice, pick.option)
        if build.takes_more(choice):
            if any(opening.space == space for opening in option.openings):
                return True
            if choice.pick != "several":
                each.setdefault(choice.id, []).append(pick)
                continue
            every = trial(every, every.picking(Pick(pick.choice, pick.option, option.most)))
    if prod(map(len, each.values())) > _MOST_CARRIED:
        return True
    return any(_go_in(every, build, refused, besides) for besides in product(*each.values()))


def _go_in(every: Resolved, build: Resolved, refused: NoLayout, besides: Iterable[Pick]) -> bool:
    """Whether the units may go in with all of these carriers, in the largest inside there may be.

    True as well where that is not settled soon.
    """
    space = refused.space
    for pick in besides:
        every = trial(every, every.picking(pick))
    now, most = space_sizes(build, space).interior, inside_so_far(build, space)
    add = (most.length - now.length, most.width - now.width, most.height - now.height)
    rooms, _ = rooms_of(every, (space, add))
    room = next((room for room in rooms if room.space == space), None)
    if room is None:  # with more to stand on, the mass of a unit is not told
        return True
    crowd = only(room, first_of(room, Counter(name.key for name in refused.units)))
    found = searched(crowd, GUESSES)
    if isinstance(found, Text):
        found = handed_over(crowd, SHORT_WORK)
    return found is not None


def _missing(build: Resolved, room: Room, kept: Sequence[int]) -> Missing | None:
    """The least that the space would have to be longer, higher or wider for them to go in."""
    inside, found = room.inside, []
    if len(kept) <= MOST_ITEMS:
        for what, axis in (("length", 0), ("height", 2), ("width", 1)):
            more = _least_more(build, room.space, kept, axis)
            if more is not None:
                has = (inside.length, inside.width, inside.height)[axis]
                found.append((more, Missing(what, has + more, has)))
    return min(found, key=lambda one: one[0])[1] if found else None


def _least_more(build: Resolved, space: str, kept: Sequence[int], axis: int) -> int | None:
    """The least that one size must grow by, mm; None when growing does not help."""

    def fits(more: int) -> bool:
        add = (more * (axis == 0), more * (axis == 1), more * (axis == 2))
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
