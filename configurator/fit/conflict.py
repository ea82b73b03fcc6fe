"""A room with fewer units, and a minimal set of units that cannot go in together.

A unit that is left out may still come in as something to stand on, with all of its body: where a
sill is above the floor, a unit may only be in reach on top of another one. So the units of a reason
cannot go in together in whatever company, as long as nothing else comes that could carry them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from itertools import product
from math import prod

from attrs import evolve

from configurator.errors import SearchLimit
from configurator.fit.rooms import FREE, Item, Room, Support, nested, sums
from configurator.fit.search import GUESSES, MOST_ITEMS, arrange, may_bear
from configurator.fit.shapes import Shape

_MOST_UNSETTLED = 5
"""Sets of units that are not settled before the rest is kept as it is."""

_MOST_CASES = 16
_LITTLE_WORK = 0.5
_FEW = 30


def only(room: Room, kept: Iterable[int]) -> Room:
    """The room with only these items, and what they could stand on, directly or not, optional."""
    kept = set(kept)
    there, waiting = set(kept), list(kept)
    while waiting:
        item = room.items[waiting.pop()]
        more = {support.on for support in item.supports} - there - {FREE}
        there |= more
        waiting += more
    place = {index: new for new, index in enumerate(sorted(there))} | {FREE: FREE}
    return evolve(
        room,
        items=tuple(
            evolve(
                room.items[index],
                supports=tuple(
                    Support(place[support.on], support.rise)
                    for support in room.items[index].supports
                ),
                optional=index not in kept or room.items[index].optional,
            )
            for index in sorted(there)
        ),
    )


def unfit(room: Room, guesses: int = GUESSES) -> bool:
    """Whether the units of a room with optional carriers cannot go in together.

    Raises:
        SearchLimit: not settled within this many guesses.
    """
    if any(item.optional for item in room.items) and not nested(room):
        try:
            if all(arrange(flat, hard=False, guesses=guesses) is None for flat in _flat(room)):
                return True
        except SearchLimit:
            pass
    return arrange(room, hard=False, guesses=guesses) is None


def _flat(room: Room) -> Iterator[Room]:
    """Rooms that ask less, one of which has an arrangement wherever the room itself has one.

    Under a unit that stands on carriers there are carriers down to the floor. Two such units never
    share a place on the floor; so what the ways in which a unit may stand have in common, from the
    floor up, is enough for a proof that most rooms without room do not fit. Units that may stand on
    others that have to go in are told apart by whether they do.
    """
    ways: list[tuple[Item | None, ...]] = []
    for index, item in enumerate(room.items):
        if item.optional:
            continue
        carried, solids = _columns(room, index)
        found: list[Item | None] = [_solid(item, solids)] if solids else []
        found += [None] if carried else []
        several = prod(len(way) for way in ways) * len(found) > _MOST_CASES
        ways.append((None,) if several else tuple(found))
    for case in product(*ways):
        yield evolve(room, items=tuple(item for item in case if item is not None))


def _columns(room: Room, index: int) -> tuple[bool, list[tuple[int, int, int]]]:
    """Whether the item may stand on others that have to go in; else, what is filled.

    Filled from where to where above the floor, and how far inside its footprint, for each kind of
    carrier that may be lowest; of several ways to stand on one, what all of them fill.
    """
    solids, carried = [], False
    height = room.items[index].shapes[0].size[2] if room.items[index].shapes else 0
    known = {room.items[index].kind: (height, 0)}
    waiting = [index]
    while waiting:
        item = room.items[waiting.pop()]
        filled, inset = known[item.kind]
        for support in item.supports:
            if support.on == FREE:
                solids.append((support.rise, support.rise + filled, inset))
                continue
            carrier = room.items[support.on]
            if not carrier.optional:
                carried = carried or support.on != index
                continue
            if not may_bear(carrier, item):
                continue
            top = carrier.shapes[0].size[2]
            column = (
                support.rise + filled if support.rise <= top else top,
                inset + item.overhang + _beyond(carrier),
            )
            before = known.get(carrier.kind, column)
            worst = min(before[0], column[0]), max(before[1], column[1])
            if carrier.kind not in known or (worst != before and worst[1] <= room.inside.length):
                known[carrier.kind] = worst
                waiting.append(support.on)
    return carried, solids


def _beyond(carrier: Item) -> int:
    """How far its bed reaches beyond its body, mm."""
    reach = 0
    for shape in carrier.shapes:
        assert shape.bed is not None
        x_low, x_high, y_low, y_high = shape.bed
        reach = max(reach, -x_low, x_high - shape.size[0], -y_low, y_high - shape.size[1])
    return reach


def _solid(item: Item, solids: list[tuple[int, int, int]]) -> Item | None:
    """What all of these have in common, as a unit that stands at one height; None for nothing."""
    low, high = max(solid[0] for solid in solids), min(solid[1] for solid in solids)
    inset = max(solid[2] for solid in solids)
    if len(item.supports) == 1 and item.supports[0].on == FREE:
        return evolve(item, carries=None)
    found: dict[Shape, None] = {}
    for shape in item.shapes:
        length, width = shape.size[0] - 2 * inset, shape.size[1] - 2 * inset
        if length <= 0 or width <= 0 or low >= high:
            return None
        body = (0, length, 0, width, 0, high - low)
        solid = Shape(
            side=shape.side,
            size=(length, width, high - low),
            x=(shape.x[0] + inset, shape.x[1] + inset),
            y=(shape.y[0] + inset, shape.y[1] + inset),
            z=(0, 10**6),
            keeps=(body,),
            sweeps=(body,),
            clear=body,
        )
        found[solid] = None
    return evolve(item, shapes=tuple(found), supports=(Support(FREE, low),), volume=0, carries=None)


def least_unfit(
    room: Room,
    must: frozenset[int] = frozenset(),
    asked: Set[tuple[str, str]] = frozenset(),
    opinions: int = 0,
    guesses: int = GUESSES,
) -> tuple[int, ...]:
    """Items that cannot go in together, none of which can be spared; the room itself does not fit.

    Where a sum alone refuses the room, it starts from the units that the sum takes. Units nobody
    asked for are let go first, and small ones before large ones. A set that is not settled within
    the search's own budget counts as one that may fit, and after a few of those the rest is kept.
    So the answer is always a proof, though then perhaps with a unit too many.

    Args:
        room: does not fit.
        must: items that stay in any case.
        asked: choice and option of units that were asked for.
        opinions: how many sets OR-Tools is asked about that the search does not settle.
        guesses: the search's budget for one set.
    """

    def ease(index: int) -> tuple[bool, tuple[int, str, int]]:
        item = room.items[index]
        return (item.choice, item.option) in asked, _size(item)

    order = sorted(set(range(len(room.items))) - must, key=ease)
    kept = _by_sums(room, order) if not must else set(range(len(room.items)))
    order = [index for index in order if index in kept]
    step, unsettled = len(order), 0
    needed: set[str] = set()
    while step:
        for start in range(0, len(order), step):
            part = set(order[start : start + step]) & kept
            kinds = {room.items[index].kind for index in part}
            if not part or not kept - part or kinds & needed or len(kept - part) > MOST_ITEMS:
                continue
            rest = only(room, kept - part)
            try:
                unfit = arrange(rest, hard=False, guesses=guesses) is None
            except SearchLimit:
                few = len(rest.items) <= _FEW
                unfit = few and opinions > 0 and _unfit_by_model(rest)
                opinions -= few
                unsettled += opinions < 0 or not few
                if unsettled == _MOST_UNSETTLED:
                    return tuple(sorted(kept))
            if unfit:
                kept -= part
            elif len(part) == 1:
                needed |= kinds
        step //= 2
    return tuple(sorted(kept))


def _by_sums(room: Room, order: list[int]) -> set[int]:
    """The fewest units that some sum refuses, let go in this order; all where none does."""
    found = [set(range(len(room.items)))]
    for amounts, most in sums(room):
        over = sum(amounts.values()) - most
        if over <= 0:
            continue
        taken = set(amounts)
        for index in order:
            if index in taken and amounts[index] < over:
                over -= amounts[index]
                taken.discard(index)
        found.append(taken)
    return min(found, key=lambda taken: (len(taken), sorted(taken)))


def _unfit_by_model(room: Room) -> bool:
    """Whether OR-Tools proves within a little work that the room does not fit."""
    from configurator.fit.model import arrange_hard

    try:
        return arrange_hard(room, _LITTLE_WORK) is None
    except SearchLimit:
        return False


def _size(item: Item) -> tuple[int, str, int]:
    return item.volume, item.kind, -item.number
