"""Which arrangement is preferred: places wished for as narrower rooms, then balance and open space.

All that the customer wishes for comes before anything that the catalogue prefers. ``towards`` is
kept where the middle of each unit lies in that half of the space.

A good arrangement is balanced, low, forward, and leaves one large space open. The search looks at
the lighter side first and puts everything as far forward as it goes. From there single changes are
tried, heaviest unit first: a unit to another side, or to the front end of where it may be. A change
is kept when the whole comes out better; tries are counted and limited, so the result is good and
always the same, but not proven to be the best there is.

The largest clear box of a side begins at that side, inside one of its clear openings, and holds no
body, no clearance, nothing that another unit sweeps or is reached through, and no gear of a door.
In an open space it stands on the floor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import TypeAlias, TypeVar

from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.errors import SearchLimit
from configurator.fit.conflict import least_unfit
from configurator.fit.layout import OpenBox, Place, Unkept
from configurator.fit.openings import ClearOpening
from configurator.fit.rooms import Room, Spot, UnitToPlace
from configurator.fit.search import arrange
from configurator.fit.shapes import Block, Shape, both
from configurator.selection.picks import Wish

T = TypeVar("T")

_TRIES = 60
"""Changes tried for one space."""

_FEW = 150
"""Guesses spent on one change; what is harder to settle is not worth trying."""

_OPEN = 150
"""What a litre of the largest open box is worth, kg mm."""

_OPINIONS = 12


def places_asked(catalogue: Catalogue, wishes: Sequence[Wish], room: Room) -> tuple[Place, ...]:
    """The places that are asked for the room's units, in the order in which they are tried.

    A door that prefers a unit is asked for beside a wish about it; what the unit itself prefers
    only where neither a door nor the customer says anything: first its side, where that has a door
    at all, then its end.
    """
    units = {item.name.key for item in room.items}
    wished = [Place(w) for w in sorted(wishes, key=_rank) if (w.choice, w.option) in units]
    asked, spoken_for = list(wished), {place.key for place in wished}
    for choice, option in sorted(units):
        doors = tuple(
            door for door in room.openings if any(p.covers(choice, option) for p in door.prefers)
        )
        unit = catalogue.option(choice, option).unit
        if doors:
            asked.append(Place(Wish(choice, option), doors, preferred=True))
        elif unit is not None and unit.prefers is not None and (choice, option) not in spoken_for:
            side, towards = unit.prefers.side, unit.prefers.towards
            if side and any(door.side == side for door in room.openings):
                asked.append(Place(Wish(choice, option, side=side), preferred=True))
            if towards:
                asked.append(Place(Wish(choice, option, towards=towards), preferred=True))
    return tuple(asked)


def _rank(wish: Wish) -> tuple[object, ...]:
    place = tuple(-1 if at is None else at for at in (wish.x, wish.y, wish.z))
    return wish.choice, wish.option, wish.side, wish.towards, place


def kept_in_order(
    asked: Sequence[Place],
    settle: Callable[[Sequence[Place]], T | None],
    why: Callable[[Sequence[Place]], Unkept],
) -> tuple[list[Place], T | None, list[Unkept]]:
    """The places that can be kept, what they settle to (None for none), and the others with why.

    Places are taken in order, each kept if it can be beside those before it. A place that the
    search cannot settle is not kept. ``why`` tells why the last of several cannot be.
    """
    try:
        if asked and (whole := settle(asked)) is not None:
            return list(asked), whole, []
    except SearchLimit:
        pass
    kept: list[Place] = []
    found, unkept = None, []
    for place in asked:
        try:
            beside = settle([*kept, place])
        except SearchLimit:
            unkept.append(Unkept(place, unsettled=True))
            continue
        if beside is None:
            unkept.append(why([*kept, place]))
        else:
            kept, found = [*kept, place], beside
    return kept, found, unkept


def in_the_way(room: Room, places: Sequence[Place]) -> Unkept:
    """The last place, and the units beside which it cannot be kept; none can be spared."""
    narrow, place = narrowed(room, places), places[-1]
    mine = {i for i, item in enumerate(narrow.items) if item.name.key == place.key}
    kept, _ = least_unfit(narrow, frozenset(mine), opinions=_OPINIONS)
    return Unkept(place, tuple(narrow.items[index].name for index in kept if index not in mine))


def narrowed(room: Room, places: Sequence[Place]) -> Room:
    """The room with the places as conditions."""
    items = room.items
    for place in places:
        key, length = place.key, room.inside.length
        items = tuple(_narrowed(i, place, length) if i.name.key == key else i for i in items)
    return evolve(room, items=items)


def _narrowed(item: UnitToPlace, place: Place, length: int) -> UnitToPlace:
    wish = place.wish
    exact = item.number == 1 and (wish.x, wish.y, wish.z) != (None, None, None)
    shapes = []
    for shape in item.shapes:
        if wish.side not in ("", shape.side):
            continue
        if place.doors and not any(_through(shape, door) for door in place.doors):
            continue
        x, y, z, far = shape.x, shape.y, shape.z, length - shape.size[0]
        if wish.towards:
            x = both(x, (0, far // 2) if wish.towards == "front" else (far - far // 2, length))
        if exact:
            held = zip((x, y, z), (wish.x, wish.y, wish.z), strict=True)
            x, y, z = (one if at is None else both(one, (at, at)) for one, at in held)
        if all(low <= high for low, high in (x, y, z)):
            shapes.append(evolve(shape, x=x, y=y, z=z))
    kind = f"{item.kind}#{item.number}" if exact else item.kind
    return evolve(item, shapes=tuple(shapes), kind=kind)


def _through(shape: Shape, door: ClearOpening) -> bool:
    """Whether its working face lies in the clear opening of the door, or in a part of it."""
    if shape.side != door.side or shape.window is None:
        return False
    start, end, sill, top = shape.window
    return door.start <= start and end <= door.end and door.sill <= sill and top <= door.top


def _cost(room: Room, spots: Sequence[Spot]) -> Decimal:
    """How good an arrangement is, kg mm; less is better.

    The mass moment sideways from the middle, the moments above the floor and behind the front
    wall, less a worth of each litre of the largest open box.
    """
    across = up = along = Decimal(0)
    for item, spot in zip(room.items, spots, strict=True):
        length, width, height = spot.shape.size
        across += item.laden * (2 * spot.y + width - room.inside.width)
        up += item.laden * (2 * spot.z + height)
        along += item.laden * (2 * spot.x + length)
    largest = max((box.volume for box in open_boxes(room, spots)), default=0)
    return (abs(across) * 2 + up + along) / 2 - Decimal(_OPEN * largest) / 10**6


@lru_cache(maxsize=1024)
def best_of(room: Room, start: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """The best arrangement met within a few changes of the one given.

    It is remembered: to lay out a shipped package once more takes 3 ms for 7.
    """
    best, least, tries = start, _cost(room, start), 0
    heavy = sorted(range(len(room.items)), key=lambda i: (-room.items[i].laden, i))
    improved = True
    while improved:
        improved = False
        for index in heavy:
            for changed in _changes(room, index, best[index]):
                if tries == _TRIES:
                    return best
                tries += 1
                try:
                    found = arrange(changed, hard=False, guesses=_FEW)
                except SearchLimit:
                    continue
                reached = least if found is None else _cost(room, found)
                if found is not None and reached < least:
                    room, best, least, improved = changed, found, reached, True
                    break
    return best


def _changes(room: Room, index: int, spot: Spot) -> Iterator[Room]:
    """The room with the unit at each other side, and at the front end of where it may be."""
    item = room.items[index]
    ways = [
        tuple(shape for shape in item.shapes if shape.side == side)
        for side in ("left", "right", "rear")
        if spot.shape.side not in ("", side)
    ]
    if spot.x > spot.shape.x[0]:
        ways.append(tuple(evolve(shape, x=(shape.x[0], shape.x[0])) for shape in item.shapes))
    for shapes in ways:
        there = evolve(item, shapes=shapes, kind=f"{item.kind} {index}")
        yield evolve(room, items=(*room.items[:index], there, *room.items[index + 1 :]))


_Flat: TypeAlias = tuple[int, int, int, int, int]
"""A block as its range along the side, its range up, and how far behind the side it begins."""


def open_boxes(room: Room, spots: Sequence[Spot]) -> tuple[OpenBox, ...]:
    """The largest clear box of each side that has an opening, in the order left, right, rear."""
    taken = list(room.gear)
    for spot in spots:
        for x0, x1, y0, y1, z0, z1 in spot.shape.keeps:
            x, y = (max(x0 + spot.x, 0), x1 + spot.x), (max(y0 + spot.y, 0), y1 + spot.y)
            x, y = both(x, (0, room.inside.length)), both(y, (0, room.inside.width))
            if x[0] < x[1] and y[0] < y[1]:
                taken.append((*x, *y, z0 + spot.z, z1 + spot.z))
    best: dict[str, tuple[int, _Flat]] = {}
    for side, window, depth in _windows(room):
        found = _largest(window, depth, [_seen(room, side, block) for block in taken])
        if found and (side not in best or found[0] > best[side][0]):
            best[side] = found
    return tuple(_as_box(room, side, found) for side, (_, found) in best.items())


def _windows(room: Room) -> Iterator[tuple[str, tuple[int, int, int, int], int]]:
    """Clear rectangles of each side, and how far it is from there to the opposite wall."""
    inside = room.inside
    if not room.openings:
        yield "", (0, inside.length, 0, inside.width), inside.height
    for opening in sorted(room.openings, key=lambda o: ("left", "right", "rear").index(o.side)):
        up = opening.sill, opening.top
        if opening.side == "rear":
            for cell in room.cells:
                start, end = both((opening.start, opening.end), cell)
                if start < end:
                    yield "rear", (start, end, *up), inside.length
        else:
            left, right = room.cells[0 if opening.side == "left" else -1]
            yield opening.side, (opening.start, opening.end, *up), right - left


def _seen(room: Room, side: str, block: Block) -> _Flat:
    x0, x1, y0, y1, z0, z1 = block
    return {
        "": (x0, x1, y0, y1, z0),
        "left": (x0, x1, z0, z1, y0),
        "right": (x0, x1, z0, z1, room.inside.width - y1),
        "rear": (y0, y1, z0, z1, room.inside.length - x1),
    }[side]


def _largest(
    window: tuple[int, int, int, int], depth: int, taken: Sequence[_Flat]
) -> tuple[int, _Flat] | None:
    """Volume of the largest box and its place, or None when nothing is clear."""
    left, right, low, high = window
    near = [b for b in taken if b[0] < right and left < b[1] and b[2] < high and low < b[3]]
    near.sort(key=lambda block: block[2])
    starts = sorted({left, *(b[1] for b in near if left < b[1] < right)})
    ends = sorted({right, *(b[0] for b in near if left < b[0] < right)}, reverse=True)
    depths = sorted({depth, *(b[4] for b in near if 0 < b[4] < depth)}, reverse=True)
    best: tuple[int, _Flat] | None = None
    for start in starts:
        for end in ends:
            if end <= start or (best and (end - start) * depth * (high - low) <= best[0]):
                break
            across = [b for b in near if b[0] < end and start < b[1]]
            for deep in depths:
                area = (end - start) * deep
                if best and area * (high - low) <= best[0]:
                    break
                gap = _gap(low, high, [b for b in across if b[4] < deep])
                volume = area * (gap[1] - gap[0])
                if volume > (best[0] if best else 0):
                    best = (volume, (start, end, gap[0], gap[1], deep))
    return best


def _gap(low: int, high: int, taken: Sequence[_Flat]) -> tuple[int, int]:
    """The widest clear range between low and high beside blocks from the lowest up.

    Of several as wide it is the lowest.
    """
    best, widest, at = (low, low), 0, low
    for _, _, below, above, _ in taken:
        if below - at > widest:
            best, widest = (at, below), below - at
        if above > at:
            at = above
    return (at, high) if high - at > widest else best


def _as_box(room: Room, side: str, found: _Flat) -> OpenBox:
    start, end, low, high, deep = found
    wide, tall = end - start, high - low
    place = {
        "": (start, low, 0, wide, tall, deep),
        "left": (start, 0, low, wide, deep, tall),
        "right": (start, room.inside.width - deep, low, wide, deep, tall),
        "rear": (room.inside.length - deep, start, low, deep, wide, tall),
    }[side]
    return OpenBox(room.space, side, *place)
