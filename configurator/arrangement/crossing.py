"""What certainly crosses one plane of a room: a bound that the pairs of units do not show.

Bodies that cross one plane are rectangles in it that may not overlap, so their areas are no more
than the plane's, and along each line of it their extents are no more than it is long. That follows
from what holds of the pairs; told outright it settles crowded rooms that pairs alone do not.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from configurator.arrangement.rooms import FREE, Range, Room

__all__ = ["Crossing", "crossings", "nested"]

Crossing: TypeAlias = tuple[int, tuple[tuple[int, int], ...]]
"""An axis, and the items with the place of the shape in which they cross a plane square to it."""


def crossings(room: Room) -> Iterator[Crossing]:
    """What crosses the planes square to each axis, without what another plane of it says too.

    Planes that fewer than three units can cross are left out: the pairs say it all. Where bodies
    may lie in one another there is no such plane.
    """
    if nested(room):
        return
    for axis in (0, 1, 2):
        spans = [
            ((index, place), span)
            for index, item in enumerate(room.items)
            for place, shape in enumerate(item.shapes)
            if (span := _certain(room, index, place, axis)) and all(size > 0 for size in shape.size)
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


def _certain(room: Room, index: int, place: int, axis: int) -> Range | None:
    """What of the axis the body covers wherever it stands in this way, or None."""
    item = room.items[index]
    shape = item.shapes[place]
    low, high = (shape.x, shape.y, shape.z)[axis]
    if axis == 2 and item.supports and all(support.on == FREE for support in item.supports):
        rises = [support.rise for support in item.supports]
        low, high = max(low, min(rises)), min(high, max(rises))
    start, end = high, low + shape.size[axis]
    return (start, end) if start < end else None


def nested(room: Room) -> bool:
    """Whether a bed lies below the top of its carrier, so that bodies may lie in one another."""
    tops = [min((shape.size[2] for shape in item.shapes), default=0) for item in room.items]
    return any(
        support.on != FREE and support.rise < tops[support.on]
        for item in room.items
        for support in item.supports
    )
