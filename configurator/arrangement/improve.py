"""A good arrangement rather than any: balanced, low, forward, and with one large space left open.

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

from attrs import evolve

from configurator.arrangement.rooms import Item, Room, Spot
from configurator.arrangement.search import arrange
from configurator.arrangement.shapes import Block
from configurator.errors import SearchLimit
from configurator.fit.layout import OpenBox

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
