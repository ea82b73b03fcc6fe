"""A room with fewer units, and the smallest set of units that cannot go in together.

A unit that is left out stays possible as something to stand on: where a sill is above the floor, a
unit may only be in reach on top of another one, so leaving that one out must not take its height
away. Whatever stands on a unit that is left out is therefore held to its height, not to its place;
but under it, less what may stand over a bed's edge, no other unit has room. So the units of a
reason cannot go in together in whatever company, as long as nothing else comes that could carry
them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import product

from attrs import evolve, frozen

from configurator.arrangement.crossing import nested
from configurator.arrangement.rooms import FREE, Foot, Item, Room, Shape, Support
from configurator.arrangement.search import GUESSES, MOST_ITEMS, arrange, crammed, may_bear
from configurator.errors import SearchLimit

__all__ = ["least_unfit", "only", "unfit"]


_MOST_UNSETTLED = 5

_MOST_CASES = 16
_LITTLE_WORK = 0.5
_FEW = 30


def only(room: Room, kept: Iterable[int]) -> Room:
    """The room with only these items, the others still possible to stand on."""
    order = sorted(kept)
    place = {index: new for new, index in enumerate(order)}
    items = tuple(
        evolve(room.items[index], supports=_supports(room, index, place)) for index in order
    )
    return evolve(room, items=items)


def _supports(room: Room, index: int, place: dict[int, int]) -> tuple[Support, ...]:
    """What it may stand on, carriers that are left out replaced by what they stand on.

    Of those there are taken to be as many as it likes; of several ways to one height, what all of
    them ask is asked.
    """
    found: dict[tuple[int, int], Support] = {}
    steps: dict[tuple[str, int], _Step] = {}
    waiting = [_Step(index)]
    while waiting:
        step = waiting.pop()
        item = room.items[step.item]
        for link in item.supports:
            rise = step.rise + link.rise
            if rise > room.inside.height or link.on == index:
                continue
            bound = link.bound and step.item == index
            feet = step.feet + tuple(
                (low - step.rise, high - step.rise, step.inset + inset)
                for low, high, inset in link.feet
            )
            if link.on == FREE:
                _admit(found, Support(FREE, rise, bound, feet))
                continue
            carrier = room.items[link.on]
            if link.bound and not may_bear(carrier, item):
                continue
            if link.on in place:
                _admit(found, Support(place[link.on], rise, bound, feet))
                continue
            inset = step.inset + item.overhang + _beyond(carrier)
            if link.bound:
                top = min(carrier.shapes[0].size[2] - rise, item.shapes[0].clear[4] - step.rise)
                feet = _joined(feet, (-rise, top, inset))
            below = _Step(link.on, rise, inset, feet)
            known = steps.get((carrier.kind, rise))
            if known is not None:
                shared = tuple(_shared(known.feet, feet))
                below = _Step(known.item, rise, max(known.inset, inset), shared)
            if below != known:
                steps[carrier.kind, rise] = below
                waiting.append(below)
    return tuple(found[key] for key in sorted(found))


def _admit(found: dict[tuple[int, int], Support], support: Support) -> None:
    known = found.get((support.on, support.rise))
    if known is not None:
        bound, feet = known.bound and support.bound, tuple(_shared(known.feet, support.feet))
        support = Support(support.on, support.rise, bound, feet)
    found[support.on, support.rise] = support


@frozen
class _Step:
    """On the way down from a unit, by carriers that are left out of the room.

    Attributes:
        item: the unit, or the last carrier.
        rise: how far its underside is below the unit's, mm.
        inset: how far inside the unit's footprint the carriers certainly reach.
        feet: what they fill.
    """

    item: int
    rise: int = 0
    inset: int = 0
    feet: tuple[Foot, ...] = ()


def _shared(one: Sequence[Foot], other: Sequence[Foot]) -> Iterator[Foot]:
    """What is filled either way."""
    for (low, high, inset), (its_low, its_high, its_inset) in product(one, other):
        if max(low, its_low) < min(high, its_high):
            yield max(low, its_low), min(high, its_high), max(inset, its_inset)


def _joined(feet: tuple[Foot, ...], below: Foot) -> tuple[Foot, ...]:
    """What is filled with one more carrier below."""
    if feet and feet[-1][0] <= below[1]:
        return (*feet[:-1], (below[0], feet[-1][1], below[2]))
    return (*feet, below)


def _beyond(carrier: Item) -> int:
    """How far its bed reaches beyond its body, mm."""
    reach = 0
    for shape in carrier.shapes:
        assert shape.bed is not None
        x_low, x_high, y_low, y_high = shape.bed
        reach = max(reach, -x_low, x_high - shape.size[0], -y_low, y_high - shape.size[1])
    return reach


def unfit(room: Room, guesses: int = GUESSES) -> bool:
    """Whether the units of a room with fewer units cannot go in together.

    Raises:
        SearchLimit: not settled within so many guesses.
    """
    try:
        if all(arrange(flat, hard=False, guesses=guesses) is None for flat in _flat(room)):
            return True
    except SearchLimit:
        pass
    return arrange(room, hard=False, guesses=guesses) is None


def _flat(room: Room) -> Iterator[Room]:
    """Rooms that ask less, one of which has an arrangement wherever the room itself has one.

    A unit at one of many heights has carriers under it down to the floor. Two such units never
    share a place on the floor, whatever their heights; so what is lowest of each, at the heights
    that all ways have in common, is enough for a proof that most rooms without room do not fit.
    Units that may stand on others of the room as well are told apart by whether they do.
    """
    grounded = {index for index, item in enumerate(room.items) if _one_height(item)}
    ways: list[tuple[Item | None, ...]] = []
    cases = 1
    for index, item in enumerate(room.items):
        free = tuple(support for support in item.supports if support.on == FREE)
        carried = tuple(support for support in item.supports if support.on != FREE)
        found: list[Item | None] = []
        if index in grounded:
            found.append(item)
        elif free:
            found.append(_lowest(evolve(item, supports=free)))
        if carried and all(support.on in grounded for support in carried):
            found.append(evolve(item, supports=carried))
        elif carried or not item.supports:
            found.append(None)
        if None in found or cases * len(found) > _MOST_CASES:
            found = [None]
        cases *= len(found)
        ways.append(tuple(found))
    for case in product(*ways):
        yield _without_gaps(room, case)


def _one_height(item: Item) -> bool:
    return len(item.supports) == 1 and item.supports[0].on == FREE


def _without_gaps(room: Room, case: Sequence[Item | None]) -> Room:
    """The room with what is left of its items, carriers under their new numbers."""
    there = [index for index, item in enumerate(case) if item is not None]
    place = {index: new for new, index in enumerate(there)} | {FREE: FREE}
    items = (item for item in case if item is not None)
    return evolve(
        room,
        items=tuple(
            evolve(item, supports=tuple(evolve(s, on=place[s.on]) for s in item.supports))
            for item in items
        ),
    )


def _lowest(item: Item) -> Item | None:
    """What is lowest of the item at all of its heights, or None where nothing is."""
    height = item.shapes[0].size[2] if item.shapes else 0
    solids = [
        min((s.rise + low, s.rise + high, inset) for low, high, inset in (*s.feet, (0, height, 0)))
        for s in item.supports
    ]
    start, end = max(low for low, _, _ in solids), min(high for _, high, _ in solids)
    inset = max(inset for _, _, inset in solids)
    if start >= end:
        return None
    shapes = tuple(
        _solid(shape, inset, end - start)
        for shape in item.shapes
        if any(shape.z[0] <= support.rise <= shape.z[1] for support in item.supports)
    )
    if any(shape is None for shape in shapes):
        return None
    found = tuple(dict.fromkeys(shape for shape in shapes if shape is not None))
    return evolve(item, shapes=found, supports=(Support(FREE, start),), volume=0)


def _solid(shape: Shape, inset: int, height: int) -> Shape | None:
    """Of a shape, what is so far inside its footprint and so high; None where nothing is."""
    length, width = shape.size[0] - 2 * inset, shape.size[1] - 2 * inset
    if length <= 0 or width <= 0:
        return None
    body = (0, length, 0, width, 0, height)
    return Shape(
        side=shape.side,
        size=(length, width, height),
        x=(shape.x[0] + inset, shape.x[1] + inset),
        y=(shape.y[0] + inset, shape.y[1] + inset),
        z=(0, 10**6),
        keeps=(body,),
        sweeps=(body,),
        clear=body,
    )


def least_unfit(
    room: Room,
    must: frozenset[int] = frozenset(),
    asked: Set[tuple[str, str]] = frozenset(),
    opinions: int = 0,
) -> tuple[int, ...]:
    """Items that cannot go in together, none of which can be spared; the room itself does not fit.

    Units nobody asked for are let go first, and small ones before large ones. A set that is not
    settled within the search's own budget counts as one that may fit, and after a few of those the
    rest is kept; of a set too large to search only the volume is asked. So the answer is always a
    proof, though then perhaps with a unit too many.

    Args:
        room: does not fit.
        must: items that stay in any case.
        asked: choice and option of units that were asked for.
        opinions: how many sets OR-Tools is asked about that the search does not settle.
    """
    kept = set(range(len(room.items)))

    def ease(index: int) -> tuple[bool, tuple[int, str, int]]:
        item = room.items[index]
        return (item.choice, item.option) in asked, _size(item)

    order = sorted(kept - must, key=ease)
    step, unsettled = len(order), 0
    apart = not nested(room)
    while step:
        for start in range(0, len(order), step):
            part = set(order[start : start + step]) & kept
            if not part or not kept - part:
                continue
            if len(kept - part) > MOST_ITEMS:
                if apart and crammed(room, (room.items[i] for i in kept - part)):
                    kept -= part
                continue
            rest = only(room, kept - part)
            try:
                unfit = arrange(rest, hard=False) is None
            except SearchLimit:
                few = len(rest.items) <= _FEW
                unfit = few and opinions > 0 and _unfit_by_model(rest)
                opinions -= few
                unsettled += opinions < 0 or not few
                if unsettled == _MOST_UNSETTLED:
                    return tuple(sorted(kept))
            if unfit:
                kept -= part
        step //= 2
    return tuple(sorted(kept))


def _unfit_by_model(room: Room) -> bool:
    """Whether OR-Tools proves within a little work that the room does not fit."""
    from configurator.arrangement.hard import arrange_hard

    try:
        return arrange_hard(room, _LITTLE_WORK) is None
    except SearchLimit:
        return False


def _size(item: Item) -> tuple[int, str, int]:
    return item.volume, item.kind, -item.number
