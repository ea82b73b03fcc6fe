"""A room with fewer units, and the smallest set of units that cannot go in together.

A unit that is left out stays possible as something to stand on: where a sill is above the floor, a
unit may only be in reach on top of another one, so leaving that one out must not take its height
away. Whatever stands on a unit that is left out is therefore held to its height alone, not to its
bed. So the units of a reason cannot go in together in whatever company, as long as nothing else
comes that could carry them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve

from configurator.arrangement.rooms import FREE, Item, Room, Support
from configurator.arrangement.search import arrange
from configurator.errors import SearchLimit

__all__ = ["least_unfit", "only"]


_MOST_UNSETTLED = 5


def only(room: Room, kept: Iterable[int]) -> Room:
    """The room with only these items, the others still possible to stand on."""
    order = sorted(kept)
    place = {index: new for new, index in enumerate(order)}
    items = tuple(
        evolve(room.items[index], supports=_supports(room, index, place)) for index in order
    )
    return evolve(room, items=items)


def _supports(room: Room, index: int, place: dict[int, int]) -> tuple[Support, ...]:
    found: dict[tuple[int, int], bool] = {}
    for support in _through(room, room.items[index].supports, place, frozenset([index])):
        key = (support.on, support.rise)
        found[key] = found.get(key, True) and support.bound
    return tuple(Support(on, rise, bound) for (on, rise), bound in sorted(found.items()))


def _through(
    room: Room, supports: Sequence[Support], place: dict[int, int], used: frozenset[int]
) -> Iterator[Support]:
    """The supports, those that are left out replaced by what they themselves stand on."""
    seen = set()
    stack = [(support, used, True) for support in supports]
    while stack:
        support, above, bound = stack.pop()
        if support.on in above or support.rise > room.inside.height:
            continue
        if support.on == FREE:
            yield Support(FREE, support.rise)
        elif support.on in place:
            yield Support(place[support.on], support.rise, bound)
        else:
            kinds = tuple(sorted(room.items[index].kind for index in above))
            way = (room.items[support.on].kind, support.rise, kinds)
            if way in seen:
                continue
            seen.add(way)
            stack += [
                (Support(under.on, under.rise + support.rise), above | {support.on}, False)
                for under in room.items[support.on].supports
            ]


def least_unfit(room: Room, must: frozenset[int] = frozenset()) -> tuple[int, ...]:
    """Items that cannot go in together, none of which can be spared; the room itself does not fit.

    Small units are let go first. A set that is not settled within the search's own budget counts
    as one that may fit, and after a few of those the rest is kept, so the answer is always a
    proof, though then perhaps not without a unit too many.

    Args:
        room: does not fit.
        must: items that stay in any case.
    """
    kept = set(range(len(room.items)))
    order = sorted(kept - must, key=lambda index: _size(room.items[index]))
    step, unsettled = len(order), 0
    while step:
        for start in range(0, len(order), step):
            part = set(order[start : start + step]) & kept
            if not part or not kept - part:
                continue
            try:
                if arrange(only(room, kept - part), hard=False) is None:
                    kept -= part
            except SearchLimit:
                unsettled += 1
                if unsettled == _MOST_UNSETTLED:
                    return tuple(sorted(kept))
        step //= 2
    return tuple(sorted(kept))


def _size(item: Item) -> tuple[int, str, int]:
    return item.volume, item.kind, -item.number
