"""Places that the customer wishes for or the catalogue prefers, as narrower rooms.

A place at a side, behind a door or at an end is about every unit of its option; ``towards`` is kept
where the middle of each lies in that half of the space. An exact position is about one of them, the
first. All that the customer wishes for comes before anything that the catalogue prefers.

A good arrangement rather than any: balanced, low, forward, and with one large space left open.

The search looks at the lighter side first and puts everything as far forward as it goes. From
there single changes are tried, heaviest unit first: a unit to another side, or to the front end of
where it may be. A change is kept when the whole comes out better; tries are counted and limited,
so the result is good and always the same, but not proven to be the best there is.

The largest clear box of a side begins at that side, inside one of its clear openings, and holds no
body, no clearance, nothing that another unit sweeps or is reached through, and no gear of a door.
In an open space it stands on the floor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.errors import SearchLimit
from configurator.fit.conflict import least_unfit
from configurator.fit.layout import OpenBox, UnitName, Unkept
from configurator.fit.openings import ClearOpening
from configurator.fit.rooms import Item, Room, Spot
from configurator.fit.search import arrange
from configurator.fit.shapes import Block, Range, Shape
from configurator.selection.picks import Wish

_OPINIONS = 12


@frozen
class Place:
    """Where the units of an option are asked to be; what is empty or None is not asked.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        side: the side that they work from.
        towards: the end that they are at.
        x: of the first of them, mm; and likewise
        y: and
        z.
        doors: they work through any of these.
        preferred: the catalogue prefers it; otherwise the customer wishes for it.
    """

    choice: str
    option: str
    side: str = ""
    towards: str = ""
    x: int | None = None
    y: int | None = None
    z: int | None = None
    doors: tuple[ClearOpening, ...] = ()
    preferred: bool = False

    @property
    def unit(self) -> tuple[str, str]:
        """Ids of its choice and its option."""
        return self.choice, self.option

    def unkept(
        self,
        in_the_way: tuple[UnitName, ...] = (),
        overloads: bool = False,
        unsettled: bool = False,
    ) -> Unkept:
        """What a layout says of it where it is not kept."""
        return Unkept(
            self.choice,
            self.option,
            self.side,
            self.towards,
            self.x,
            self.y,
            self.z,
            in_the_way=in_the_way,
            overloads=overloads,
            unsettled=unsettled,
            preferred=self.preferred,
            doors=tuple(dict.fromkeys(door.side for door in self.doors)),
        )


def places_asked(catalogue: Catalogue, wishes: Sequence[Wish], room: Room) -> tuple[Place, ...]:
    """The places that are asked for the room's units, in the order in which they are tried.

    A door that prefers a unit is asked for beside a wish about it; what the unit itself prefers
    only where neither a door nor the customer says anything: first its side, where that has a door
    at all, then its end.
    """
    units = {(item.choice, item.option): None for item in room.items}
    asked = [
        Place(w.choice, w.option, w.side, w.towards, w.x, w.y, w.z)
        for w in sorted(wishes, key=_key)
        if (w.choice, w.option) in units
    ]
    wished = {place.unit for place in asked}
    for choice, option in sorted(units):
        doors = tuple(
            door
            for door in room.openings
            if any(named.covers(choice, option) for named in door.prefers)
        )
        unit = catalogue.option(choice, option).unit
        if doors:
            asked.append(Place(choice, option, doors=doors, preferred=True))
        elif unit is not None and unit.prefers is not None and (choice, option) not in wished:
            side, towards = unit.prefers.side, unit.prefers.towards
            if side and any(door.side == side for door in room.openings):
                asked.append(Place(choice, option, side=side, preferred=True))
            if towards:
                asked.append(Place(choice, option, towards=towards, preferred=True))
    return tuple(asked)


def keeping(
    room: Room, asked: Sequence[Place]
) -> tuple[Room, tuple[Place, ...], tuple[Unkept, ...]]:
    """The room narrowed to the places that can be kept, those places, and the others with why.

    Places are taken in order, each kept if it can be beside those before it. A place that the
    search cannot settle is not kept. The room itself has to fit.
    """
    if _settled(room, asked):
        return narrowed(room, asked), tuple(asked), ()
    kept: list[Place] = []
    unkept = []
    for place in asked:
        fits = _settled(room, [*kept, place])
        if fits:
            kept.append(place)
        elif fits is None:
            unkept.append(place.unkept(unsettled=True))
        else:
            unkept.append(place.unkept(tuple(_in_the_way(narrowed(room, [*kept, place]), place))))
    return narrowed(room, kept), tuple(kept), tuple(unkept)


def _settled(room: Room, places: Sequence[Place]) -> bool | None:
    """Whether the places can be kept together; None where the search stops without an answer."""
    try:
        return arrange(narrowed(room, places)) is not None
    except SearchLimit:
        return None


def _key(wish: Wish) -> tuple[object, ...]:
    place = tuple(-1 if at is None else at for at in (wish.x, wish.y, wish.z))
    return wish.choice, wish.option, wish.side, wish.towards, place


def _in_the_way(narrow: Room, place: Place) -> Iterator[UnitName]:
    """Units that the ones asked about do not go in beside, of which none can be spared."""
    wished = frozenset(
        index for index, item in enumerate(narrow.items) if (item.choice, item.option) == place.unit
    )
    for index in least_unfit(narrow, wished, opinions=_OPINIONS):
        if index not in wished:
            yield narrow.items[index].name


def narrowed(room: Room, places: Sequence[Place]) -> Room:
    """The room with the places as conditions."""
    items = room.items
    for place in places:
        items = tuple(_narrowed(item, place, room) for item in items)
    return evolve(room, items=items)


def _narrowed(item: Item, place: Place, room: Room) -> Item:
    if (item.choice, item.option) != place.unit:
        return item
    shapes = item.shapes
    if place.side:
        shapes = tuple(shape for shape in shapes if shape.side == place.side)
    if place.doors:
        shapes = tuple(s for s in shapes if any(_through(s, door) for door in place.doors))
    if place.towards:
        length = room.inside.length
        ends = [
            (0, (length - shape.size[0]) // 2)
            if place.towards == "front"
            else (-((shape.size[0] - length) // 2), length)
            for shape in shapes
        ]
        pairs = zip(shapes, ends, strict=True)
        shapes = tuple(evolve(shape, x=_within(shape.x, end)) for shape, end in pairs)
    item = evolve(item, shapes=tuple(filter(_possible, shapes)))
    if (place.x, place.y, place.z) != (None, None, None) and item.number == 1:
        return held_at(item, place.x, place.y, place.z)
    return item


def _through(shape: Shape, door: ClearOpening) -> bool:
    """Whether its working face lies in the clear opening of the door, or in a part of it."""
    if shape.side != door.side or shape.window is None:
        return False
    start, end, sill, top = shape.window
    return door.start <= start and end <= door.end and door.sill <= sill and top <= door.top


def held_at(item: Item, x: int | None, y: int | None, z: int | None) -> Item:
    """The item with its corner there, so far as that is said; it changes places with no other."""
    shapes = (
        evolve(shape, x=_at(shape.x, x), y=_at(shape.y, y), z=_at(shape.z, z))
        for shape in item.shapes
    )
    kind = f"{item.kind}#{item.number}"
    return evolve(item, kind=kind, shapes=tuple(filter(_possible, shapes)))


def _within(one: Range, other: Range) -> Range:
    return max(one[0], other[0]), min(one[1], other[1])


def _at(one: Range, at: int | None) -> Range:
    return one if at is None else _within(one, (at, at))


def _possible(shape: Shape) -> bool:
    return all(low <= high for low, high in (shape.x, shape.y, shape.z))


TRIES = 60
"""Changes tried for one space."""

FEW = 150
"""Guesses spent on one change; what is harder to settle is not worth trying."""

OPEN = 150
"""What a litre of the largest open box is worth, kg mm."""


def cost(room: Room, spots: Sequence[Spot]) -> Decimal:
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
    return (abs(across) * 2 + up + along) / 2 - Decimal(OPEN * largest) / 10**6


@lru_cache(maxsize=1024)
def best_of(room: Room, start: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """The best arrangement met within :data:`TRIES` changes of the one given; it is remembered."""
    best, least, tries = start, cost(room, start), 0
    heavy = sorted(range(len(room.items)), key=lambda i: (-room.items[i].laden, i))
    improved = True
    while improved:
        improved = False
        for index in heavy:
            for change in _changes(index, best[index]):
                if tries == TRIES:
                    return best
                tries += 1
                changed = change(room)
                found = _arranged(changed)
                if found is None:
                    continue
                reached = cost(room, found)
                if reached < least:
                    room, best, least, improved = changed, found, reached, True
                    break
    return best


def _arranged(room: Room) -> tuple[Spot, ...] | None:
    try:
        return arrange(room, hard=False, guesses=FEW)
    except SearchLimit:
        return None


def _changes(index: int, spot: Spot) -> Iterator[Callable[[Room], Room]]:
    for side in ("left", "right", "rear"):
        if spot.shape.side and side != spot.shape.side:
            yield lambda room, side=side: _to_side(room, index, side)  # type: ignore[misc]
    if spot.x > spot.shape.x[0]:
        yield lambda room: _to_front(room, index)


def _to_side(room: Room, index: int, side: str) -> Room:
    item = room.items[index]
    shapes = tuple(shape for shape in item.shapes if shape.side == side)
    return _with(room, index, evolve(item, shapes=shapes, kind=f"{item.kind} {index}"))


def _to_front(room: Room, index: int) -> Room:
    item = room.items[index]
    shapes = tuple(evolve(shape, x=(shape.x[0], shape.x[0])) for shape in item.shapes)
    return _with(room, index, evolve(item, shapes=shapes, kind=f"{item.kind} {index}"))


def _with(room: Room, index: int, item: Item) -> Room:
    items = tuple(item if i == index else other for i, other in enumerate(room.items))
    return evolve(room, items=items)


Flat: TypeAlias = tuple[int, int, int, int, int]
"""An obstacle as its range along the side, its range up, and how far behind the side it begins."""


def open_boxes(room: Room, spots: Sequence[Spot]) -> tuple[OpenBox, ...]:
    """The largest clear box of each side that has an opening, in the order left, right, rear."""
    inside = room.inside
    kept = (_moved(block, spot) for spot in spots for block in spot.shape.keeps)
    taken = [block for block in (_inside(room, block) for block in kept) if block is not None]
    taken += room.gear
    if not room.openings:
        whole = (0, inside.length, 0, inside.width)
        flat = [(*block[:4], block[4]) for block in taken]
        found = _largest(whole, inside.height, flat)
        return tuple(_as_box(room, "", box) for box in [found] if box)
    boxes = []
    for side in ("left", "right", "rear"):
        best: tuple[int, Flat] | None = None
        for window, depth in _windows(room, side):
            found = _largest(window, depth, [_seen(room, side, block) for block in taken])
            if found and (best is None or found[0] > best[0]):
                best = found
        if best is not None:
            boxes.append(_as_box(room, side, best))
    return tuple(boxes)


def _moved(block: Block, spot: Spot) -> Block:
    return (
        block[0] + spot.x,
        block[1] + spot.x,
        block[2] + spot.y,
        block[3] + spot.y,
        block[4] + spot.z,
        block[5] + spot.z,
    )


def _inside(room: Room, block: Block) -> Block | None:
    """What of the block lies in the space; None where nothing does."""
    x0, x1 = max(block[0], 0), min(block[1], room.inside.length)
    y0, y1 = max(block[2], 0), min(block[3], room.inside.width)
    return (x0, x1, y0, y1, block[4], block[5]) if x0 < x1 and y0 < y1 else None


def _windows(room: Room, side: str) -> Iterator[tuple[tuple[int, int, int, int], int]]:
    """Clear rectangles of the side, and how far it is from there to the opposite wall."""
    for opening in room.openings:
        if opening.side != side:
            continue
        if side == "rear":
            for left, right in room.cells:
                start, end = max(opening.start, left), min(opening.end, right)
                if start < end:
                    yield (start, end, opening.sill, opening.top), room.inside.length
        else:
            cell = room.cells[0 if side == "left" else -1]
            yield (opening.start, opening.end, opening.sill, opening.top), cell[1] - cell[0]


def _seen(room: Room, side: str, block: Block) -> Flat:
    x0, x1, y0, y1, z0, z1 = block
    match side:
        case "left":
            return (x0, x1, z0, z1, y0)
        case "right":
            return (x0, x1, z0, z1, room.inside.width - y1)
        case _:
            return (y0, y1, z0, z1, room.inside.length - x1)


def _largest(
    window: tuple[int, int, int, int], depth: int, taken: Sequence[Flat]
) -> tuple[int, Flat] | None:
    """Volume of the largest box and its place, or None when nothing is clear."""
    left, right, low, high = window
    near = [b for b in taken if b[0] < right and left < b[1] and b[2] < high and low < b[3]]
    starts = sorted({left, *(b[1] for b in near if left < b[1] < right)})
    ends = sorted({right, *(b[0] for b in near if left < b[0] < right)}, reverse=True)
    depths = sorted({depth, *(b[4] for b in near if 0 < b[4] < depth)}, reverse=True)
    best: tuple[int, Flat] | None = None
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


def _gap(low: int, high: int, taken: Sequence[Flat]) -> tuple[int, int]:
    """The widest clear range between low and high, the lowest of the widest."""
    best, at = (low, low), low
    for block in sorted(taken, key=lambda b: b[2]):
        if block[2] - at > best[1] - best[0]:
            best = (at, block[2])
        at = max(at, block[3])
    return (at, high) if high - at > best[1] - best[0] else best


def _as_box(room: Room, side: str, found: tuple[int, Flat]) -> OpenBox:
    start, end, low, high, deep = found[1]
    length, width = room.inside.length, room.inside.width
    match side:
        case "left":
            place = (start, 0, low, end - start, deep, high - low)
        case "right":
            place = (start, width - deep, low, end - start, deep, high - low)
        case "rear":
            place = (length - deep, start, low, deep, end - start, high - low)
        case _:
            place = (start, low, 0, end - start, high - low, deep)
    return OpenBox(room.space, side, *place)
