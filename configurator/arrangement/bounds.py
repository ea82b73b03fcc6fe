"""What certainly crosses one plane of a room: sums that refuse a room before it is searched.

Bodies that cross one plane are rectangles in it that may not overlap, so their areas are no more
than the plane's, and along each line of it their extents are no more than it is long. That follows
from what holds of the pairs; told outright it settles crowded rooms that pairs alone do not. Where
bodies may lie in one another there is no such plane.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeAlias

from configurator.arrangement.rooms import FREE, Item, Room
from configurator.arrangement.shapes import Range, Shape

Crossing: TypeAlias = tuple[int, tuple[tuple[int, int], ...]]
"""An axis, and the items with the place of the shape in which they cross a plane square to it."""

Sum: TypeAlias = tuple[Mapping[int, int], int]
"""What each item takes at least, by its index, and how much all may take."""

_Wall: TypeAlias = tuple[int, int]
"""An axis, and where a plane square to it is, mm."""


def sums(room: Room) -> Iterator[Sum]:
    """What units take for certain of volume, of each plane, and of walls and lines along them."""
    if nested(room):
        return
    ground = sum(right - left for left, right in room.cells)
    inside = room.inside
    ends = (inside.length, ground, inside.height)
    must = [(index, item) for index, item in enumerate(room.items) if not item.optional]
    yield {index: item.volume for index, item in must}, inside.length * ground * inside.height
    for axis in (0, 2):
        spans = {index: _always(item, axis) for index, item in must}
        one, other = (a for a in (0, 1, 2) if a != axis)
        for plane in {span[0] for span in spans.values() if span[0] < span[1]}:
            yield (
                {
                    index: min(shape.size[one] * shape.size[other] for shape in item.shapes)
                    for index, item in must
                    if spans[index][0] <= plane < spans[index][1]
                },
                ends[one] * ends[other],
            )
    yield from _along_walls(room, must)


def _along_walls(room: Room, must: list[tuple[int, Item]]) -> Iterator[Sum]:
    """Of the walls that units work from: their areas, and their lengths at each height."""
    inside = room.inside
    ends = (inside.length, inside.width, inside.height)
    front = {
        min(shape.y[1], inside.width - shape.y[0] - shape.size[1])
        for _, item in must
        for shape in item.shapes
        if shape.side in ("left", "right")
    }
    for behind in sorted({0, *(most for most in front if most >= 0)})[:2]:
        walls = ((1, behind), (1, inside.width - 1 - behind), (0, inside.length - 1 - behind))
        touching = {
            index: sides
            for index, item in must
            if item.shapes and all(sides := [_walls(shape, walls) for shape in item.shapes])
        }
        used = {wall for sides in touching.values() for there in sides for wall in there}
        length = sum(ends[1 - axis] for axis, _ in used)
        faces = {i: _least(room.items[i], sides) for i, sides in touching.items()}
        yield {i: face * high for i, (face, high) in faces.items()}, length * inside.height
        spans = {index: _always(room.items[index], 2) for index in touching}
        for level in {low for low, high in spans.values() if low < high}:
            across = {i for i, (low, high) in spans.items() if low <= level < high}
            yield {i: faces[i][0] for i in sorted(across)}, length


def _walls(shape: Shape, walls: tuple[_Wall, ...]) -> list[_Wall]:
    """The walls that the body crosses in any case."""
    found = []
    for axis, plane in walls:
        low, high = (shape.x, shape.y)[axis]
        if high <= plane < low + shape.size[axis]:
            found.append((axis, plane))
    return found


def _least(item: Item, sides: list[list[_Wall]]) -> tuple[int, int]:
    """The least that the item takes along a wall, and its height."""
    along = (
        min(shape.size[1 - axis] for axis, _ in there)
        for shape, there in zip(item.shapes, sides, strict=True)
    )
    return min(along), item.shapes[0].size[2]


def _always(item: Item, axis: int) -> Range:
    """What of the axis its body covers however it stands; empty where nothing."""
    spans = [_covered(item, shape, axis) for shape in item.shapes]
    if not spans or any(size <= 0 for shape in item.shapes for size in shape.size):
        return 0, 0
    return max(low for low, _ in spans), min(high for _, high in spans)


def _covered(item: Item, shape: Shape, axis: int) -> Range:
    """What of the axis the body covers wherever it stands in this way; may be empty."""
    low, high = (shape.x, shape.y, shape.z)[axis]
    if axis == 2 and item.supports and all(support.on == FREE for support in item.supports):
        rises = [support.rise for support in item.supports]
        low, high = max(low, min(rises)), min(high, max(rises))
    return high, low + shape.size[axis]


def crossings(room: Room) -> Iterator[Crossing]:
    """What crosses the planes square to each axis, without what another plane of it says too.

    Planes that fewer than three units can cross are left out: the pairs say it all.
    """
    if nested(room):
        return
    for axis in (0, 1, 2):
        spans = [
            ((index, place), span)
            for index, item in enumerate(room.items)
            for place, shape in enumerate(item.shapes)
            if (span := _covered(item, shape, axis))[0] < span[1]
            and all(size > 0 for size in shape.size)
        ]
        found = {
            tuple(who for who, (low, high) in spans if low <= plane < high)
            for plane in {low for _, (low, _) in spans}
        }
        most = [set(crossing) for crossing in found]
        for crossing in sorted(found):
            alone = not any(set(crossing) < other for other in most)
            if alone and len({index for index, _ in crossing}) > 2:
                yield axis, crossing


def in_plane(room: Room) -> bool:
    """Whether all is a question of the plane: bodies alone, all of which cross one level."""
    if nested(room):
        return False
    spans = [_always(item, 2) for item in room.items]
    bare = all(shape.clear == shape.body for item in room.items for shape in item.shapes)
    return bare and max(low for low, _ in spans) < min(high for _, high in spans)


def nested(room: Room) -> bool:
    """Whether a bed lies below the top of its carrier, so that bodies may lie in one another."""
    tops = [min((shape.size[2] for shape in item.shapes), default=0) for item in room.items]
    return any(
        support.on != FREE and support.rise < tops[support.on]
        for item in room.items
        for support in item.supports
    )
