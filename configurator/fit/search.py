"""Whether everything in a room goes in together: a complete search, exact in whole millimetres.

Depth first over how each unit stands and on what; heights follow from that, and what is left are
distances along and across (:mod:`configurator.fit.distances`). A branch is cut when more bodies
cross one line than are long enough for it. Units of one kind may change places, so they are kept in
one order: by how many carriers they stand above, then by how they stand, then by carrier, then
rearward. Numbering the units again level by level shows that every solution has a twin in that
order. Where both sides of the room are alike, every solution has a twin with left and right changed
over: the first unit that is the only one of its kind then has no need to be tried on both sides.

The budget is counted in guesses, never in seconds. When it is spent, a floor that units fill is
searched as such (:mod:`configurator.fit.full_floors`). Then OR-Tools' CP-SAT takes the room over
(:mod:`configurator.fit.model`); when that stops without an answer too, :class:`SearchLimit` is
raised, from which nothing follows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from configurator.errors import SearchLimit
from configurator.fit.carriers import bearing, heights
from configurator.fit.distances import Distances, Literal
from configurator.fit.full_floors import filled
from configurator.fit.rooms import FREE, Room, Spot, Support, in_plane, nested, sums
from configurator.fit.shapes import Block, Shape, along, clashes, kept_out, mirrored, passing
from configurator.words import Text, text

GUESSES = 1500
"""Guesses before a room is handed over."""

SHORT_WORK = 0.5
"""Deterministic work of OR-Tools for a short answer about a room, in CP-SAT's own unit.

Of 83 rooms of crowded sales 73 are settled so in 70 CPU s; with 10, all in 154.
"""

MOST_ITEMS = 60
"""Units in one space that are still searched; more are refused as too many to search."""

_FEW_FLAT = 6
"""Units on one level that are always searched; of more, OR-Tools knows better very soon.

Of 80 full floors one is settled in 2.2 CPU s of search so, and no more in 20.9.
"""


class _Spent(Exception):
    """The budget of guesses is spent."""


def arrange(room: Room, hard: bool = True, guesses: int = GUESSES) -> tuple[Spot, ...] | None:
    """A spot for every item that has to go in, or None, which is a proof that there is none.

    The same room always gets the same answer; it is remembered, also where none was found.

    Args:
        room: what has to be arranged.
        hard: hand the room over when the budget is spent, instead of giving up.
        guesses: the budget.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    found = searched(room, guesses)
    if isinstance(found, Text) and hard and len(room.items) <= MOST_ITEMS:
        found = filled(room)
        if isinstance(found, Text):
            found = handed_over(room)
    if isinstance(found, Text):
        raise SearchLimit(found)
    return found


@lru_cache(maxsize=4096)
def searched(room: Room, guesses: int) -> tuple[Spot, ...] | Text | None:
    """What the search alone finds; where the budget is spent, what is said of that.

    A quick question meets the same unsettled rooms with every option: 1.6 s without remembering
    them, 0.5 with.
    """
    if any(not item.shapes or not item.supports for item in room.must):
        return None
    if any(sum(amounts.values()) > most for amounts, most in sums(room)):
        return None
    if len(room.items) > MOST_ITEMS:
        return text(
            "{n} units in one space are too many to search: more than {most} are never tried",
            n=len(room.items),
            most=MOST_ITEMS,
        )
    few = len(room.items) > _FEW_FLAT and in_plane(room)
    search = _RoomSearch(room, guesses // 10 if few else guesses)
    size = 2 * len(room.items) + 2
    try:
        return search.place(Distances([0] * size, [0] * size))
    except _Spent:
        return text("no answer within {n} guesses", n=guesses)


@lru_cache(maxsize=1024)
def handed_over(room: Room, work: float | None = None) -> tuple[Spot, ...] | Text | None:
    """What OR-Tools finds, at once with so much work; where it finds nothing, what it says."""
    from configurator.fit.model import arrange_hard

    try:
        return arrange_hard(room) if work is None else arrange_hard(room, work, light=True)
    except SearchLimit as limit:
        said: Text = limit.args[0]
        return said


class _Way(NamedTuple):
    """How an item is to stand: its shape, after the place of it among its shapes, and on what."""

    place: int
    shape: Shape
    support: Support


class _Stood(NamedTuple):
    """An item whose height is known.

    Attributes:
        chain: all carriers under it.
        rank: among its kind.
        slides: those of the carriers that slide, and what its body sweeps with each.
    """

    shape: Shape
    z: int
    chain: tuple[int, ...] = ()
    rank: tuple[int, ...] = ()
    slides: tuple[tuple[int, Block], ...] = ()


class _RoomSearch:
    """One search. Variables 2i and 2i + 1 are x and y of item i of the room; two more are 0."""

    def __init__(self, room: Room, guesses: int) -> None:
        self.room, self.items = room, room.items
        self.origin = 2 * len(room.items)
        self.guesses = guesses
        self.ways: dict[int, _Way] = {}
        self.stood: dict[int, _Stood] = {}
        self.nested = nested(room)
        self.supports = [tuple(bearing(room, item)) for item in room.items]
        self._heights: list[set[int]] = []
        self.hoped: dict[int, set[int]] = {}
        self.order = sorted(
            range(len(room.items)),
            key=lambda i: (any(s.on != FREE for s in self.supports[i]), -self.items[i].volume, i),
        )
        self.shapes = [tuple(enumerate(item.shapes)) for item in room.items]
        kin: dict[str, set[int]] = {}
        for index, item in enumerate(room.items):
            if not item.optional:
                kin.setdefault(item.kind, set()).add(index)
        self.alike = [set() if item.optional else kin[item.kind] for item in room.items]
        if _alike_both_sides(room):
            self._take_one_side()

    def _take_one_side(self) -> None:
        """Of the first unit that is the only one of its kind, leave out what another mirrors.

        Patient states of five sales take 22 CPU s in place of 26, and leave 46 options for 61.
        """
        kinds, across = Counter(item.kind for item in self.items), self.room.inside.width
        only = (i for i in self.order if kinds[self.items[i].kind] == 1)
        first = next((i for i in only if not self.items[i].optional), None)
        if first is not None:
            tried: dict[Shape, int] = {}
            for place, shape in self.shapes[first]:
                if mirrored(shape, across) not in tried:
                    tried[shape] = place
            self.shapes[first] = tuple((place, shape) for shape, place in tried.items())

    def spend(self) -> None:
        """Count one guess."""
        self.guesses -= 1
        if self.guesses < 0:
            raise _Spent

    def place(self, distances: Distances) -> tuple[Spot, ...] | None:
        """A spot for every item, where some stand already as the distances have it; or None."""
        index = self._next()
        if index is None:
            return self._spots(distances)
        for way in self._ways(index):
            self.spend()
            before = len(self.stood)
            self.ways[index] = way
            extended = self._settle(index, distances)
            found = None if extended is None else self.place(extended)
            if found is not None:
                return found
            while len(self.stood) > before:
                self.stood.popitem()
            del self.ways[index]
        return None

    def _next(self) -> int | None:
        """A carrier that something waits for, or the largest unit left that has to go in."""
        for index in self.order:
            if index in self.ways:
                on = self.ways[index].support.on
                if on != FREE and on not in self.ways:
                    return on
        left = (i for i in self.order if i not in self.ways and not self.items[i].optional)
        return next(left, None)

    def _ways(self, index: int) -> Iterator[_Way]:
        """How the unit may stand: the lighter side first, what is on the floor first."""
        beside = {"left": Decimal(0), "right": Decimal(0)}
        for other, way in self.ways.items():
            if way.shape.side in beside:
                beside[way.shape.side] += self.items[other].laden
        rank = {side: at for at, side in enumerate(sorted(beside, key=lambda s: (beside[s], s)))}
        shapes = sorted(
            self.shapes[index],
            key=lambda one: (rank.get(one[1].side, -1), one[0]),
        )
        supports = sorted(
            self.supports[index],
            key=lambda s: (s.on != FREE, s.on != FREE and s.on not in self.stood, s.rise, s.on),
        )
        wanted = self._wanted(index)
        for support in supports:
            if support.on != FREE and not self._may_stand(index, support.on):
                continue
            levels = self._levels(support)
            if wanted is not None:
                levels = levels & wanted
            for place, shape in shapes:
                hoped = {z for z in levels if shape.z[0] <= z <= shape.z[1]}
                if hoped:
                    self.hoped[index] = hoped
                    yield _Way(place, shape, support)

    def _levels(self, support: Support) -> set[int]:
        """Heights to which the support may bring what stands on it."""
        if support.on == FREE:
            return {support.rise}
        if support.on in self.stood:
            return {self.stood[support.on].z + support.rise}
        if support.on in self.ways:
            return {z + support.rise for z in self.hoped[support.on]}
        self._heights = self._heights or heights(self.room, self.supports)
        return {z + support.rise for z in self._heights[support.on]}

    def _wanted(self, index: int) -> set[int] | None:
        """Heights at which what waits for the item to stand on may still go in; None for any.

        Patient states of five sales take 22 CPU s in place of 26, and leave 46 options for 55.
        """
        waiting = [
            {z - way.support.rise for z in self.hoped[other]}
            for other, way in self.ways.items()
            if way.support.on == index
        ]
        return set.intersection(*waiting) if waiting else None

    def _may_stand(self, index: int, carrier: int) -> bool:
        """Whether the carrier does not stand on the item, and is the next of its kind to be used.

        Optional carriers of one kind may change places: they come in one by one.
        """
        used = {way.support.on for way in self.ways.values()}
        if self.items[carrier].optional and carrier not in used:
            kind = self.items[carrier].kind
            kin = (i for i in range(carrier) if self.items[i].optional)
            if any(self.items[i].kind == kind and i not in used for i in kin):
                return False
        at = carrier
        while at != index:
            if at not in self.ways or self.ways[at].support.on == FREE:
                return True
            at = self.ways[at].support.on
        return False

    def _settle(self, index: int, distances: Distances) -> Distances | None:
        """Add what follows from the item's way to stand; None when that cannot be."""
        extended = distances.copy()
        waiting = [index]
        while waiting:
            now = waiting.pop()
            on = self.ways[now].support.on
            if on != FREE and on not in self.stood:
                continue
            if not self._add(now, extended):
                return None
            waiting += [
                i
                for i, w in sorted(self.ways.items())
                if w.support.on == now and i not in self.stood
            ]
        if not extended.settle() or self._crowded(extended):
            return None
        return extended

    def _add(self, index: int, distances: Distances) -> bool:
        """Fix the item's height and add what keeps it where it may be."""
        place, shape, support = self.ways[index]
        z, chain = support.rise, tuple[int, ...]()
        if support.on != FREE:
            under = self.stood[support.on]
            z, chain = under.z + support.rise, (support.on, *under.chain)
        if not shape.z[0] <= z <= shape.z[1]:
            return False
        rank = (len(chain), place, support.on, support.rise)
        ways = [(at, self.stood[at].shape.way) for at in chain]
        slides = tuple((at, along(shape.body, way)) for at, way in ways if way is not None)
        self.stood[index] = mine = _Stood(shape, z, chain, rank, slides)
        if any(self._overloaded(carrier) for carrier in chain):
            return False
        here = 2 * index
        distances.between(here, shape.x, shape.y)
        if support.on != FREE:
            bed = self.items[index].on_bed(shape, self.stood[support.on].shape)
            if bed is None:
                return False
            for axis, (first, last) in enumerate(bed):
                there = 2 * support.on + axis
                distances.orders += [(there, here + axis, first), (here + axis, there, -last)]
        for block in shape.sweeps:
            self._avoid_gear(index, block, z, distances)
        if not self._goes_along(index, mine, distances):
            return False
        for other, its in self.stood.items():
            if other != index and not self._keep(index, mine, other, its, distances):
                return False
        return True

    def _overloaded(self, carrier: int) -> bool:
        most = self.items[carrier].carries
        above = (self.items[i].laden for i, one in self.stood.items() if carrier in one.chain)
        return most is not None and sum(above) > most

    def _avoid_gear(self, index: int, block: Block, z: int, distances: Distances) -> None:
        for gear in self.room.gear:
            if z + block[4] < gear[5] and gear[4] < z + block[5]:
                ways = _apart(2 * index, self.origin, block, gear)
                distances.choose(2 * index, self.origin, ways)

    def _goes_along(self, index: int, mine: _Stood, distances: Distances) -> bool:
        """What stands on a sliding bed passes the carrier's opening."""
        for carrier, block in mine.slides:
            self._avoid_gear(index, block, mine.z, distances)
            for axis, first, last in passing(mine.shape, self.stood[carrier].shape):
                if axis == 2:
                    if not first <= mine.z <= last:
                        return False
                    continue
                here, origin = 2 * index + axis, self.origin + axis
                distances.orders += [(origin, here, first), (here, origin, -last)]
        return True

    def _keep(self, one: int, mine: _Stood, other: int, its: _Stood, distances: Distances) -> bool:
        """Keep two units apart, and what is alike in order."""
        if other in self.alike[one]:
            low, high = min(one, other), max(one, other)
            if self.stood[low].rank > self.stood[high].rank:
                return False
            if mine.rank == its.rank:
                distances.orders.append((2 * low, 2 * high, 0))
        if other in mine.chain:
            return mine.z not in kept_out(its.shape, mine.shape, its.z)
        if one in its.chain:
            return its.z not in kept_out(mine.shape, its.shape, mine.z)
        if not _clear(one, mine, other, its, distances):
            return False
        if not mine.slides and not its.slides:
            return True
        above, here, there = mine.z - its.z, 2 * one, 2 * other
        blocks = []
        for carrier, block in mine.slides:
            if self._stays(other, carrier):
                blocks.append((block, its.shape.body))
        for carrier, block in its.slides:
            if self._stays(one, carrier):
                blocks.append((mine.shape.body, block))
        for a, b in blocks:
            if b[4] - a[5] < above < b[5] - a[4]:
                distances.choose(here, there, _apart(here, there, a, b))
        return True

    def _stays(self, index: int, carrier: int) -> bool:
        """Whether the item neither slides with the carrier nor carries it."""
        mine, its = self.stood[index].chain, self.stood[carrier].chain
        return index != carrier and carrier not in mine and index not in its

    def _crowded(self, distances: Distances) -> bool:
        """Whether more bodies cross a line along the space than it is long enough for.

        Patient states of five sales take 22 CPU s in place of 27, and leave 46 options for 53.
        """
        low, high = distances.low, distances.high
        bodies = []
        for index, (shape, z, chain, _, _) in self.stood.items():
            first, last = high[2 * index + 1], low[2 * index + 1] + shape.size[1]
            if first < last and not (self.nested and chain):
                span = (low[2 * index], high[2 * index] + shape.size[0], shape.size[0])
                bodies.append((first, last, z, z + shape.size[2], span))
        for y in {body[0] for body in bodies}:
            row = [body for body in bodies if body[0] <= y < body[1]]
            if len(row) < 3:
                continue
            for z in {body[2] for body in row}:
                cut = [body[4] for body in row if body[2] <= z < body[3]]
                if len(cut) > 2 and _too_long(cut):
                    return True
        return False

    def _spots(self, distances: Distances) -> tuple[Spot, ...] | None:
        found = distances.copy().solve(self.spend)
        if found is None:
            return None
        return tuple(
            Spot(
                self.ways[index].shape,
                self.ways[index].support,
                found[2 * index],
                found[2 * index + 1],
                self.stood[index].z,
            )
            for index in self.room.must_at
        )


def _clear(one: int, mine: _Stood, other: int, its: _Stood, distances: Distances) -> bool:
    """Keep two units apart of which none stands on the other; False where that cannot be."""
    above = mine.z - its.z
    for lowest, highest, ways in clashes(mine.shape, its.shape):
        if lowest < above < highest:
            if not ways:
                return False
            here, there = 2 * one, 2 * other
            ends = ((here, there), (there, here), (here + 1, there + 1), (there + 1, here + 1))
            distances.choose(here, there, [(*ends[way], gap) for way, gap in ways])
    return True


def _alike_both_sides(room: Room) -> bool:
    """Whether everything may stand with left and right changed over just as it may without."""
    across = room.inside.width
    gear = {(x0, x1, across - y1, across - y0, z0, z1) for x0, x1, y0, y1, z0, z1 in room.gear}
    return gear == set(room.gear) and all(
        {mirrored(shape, across) for shape in item.shapes} == set(item.shapes)
        for item in room.items
    )


def _apart(here: int, there: int, a: Block, b: Block) -> tuple[Literal, ...]:
    """The ways in which two blocks lie apart along and across; 0 for what does not move."""
    return (
        (here, there, a[1] - b[0]),
        (there, here, b[1] - a[0]),
        (here + 1, there + 1, a[3] - b[2]),
        (there + 1, here + 1, b[3] - a[2]),
    )


def _too_long(spans: list[tuple[int, int, int]]) -> bool:
    """Whether bodies, each somewhere from a start to an end, are too long for where they may be."""
    for start in {span[0] for span in spans}:
        total = 0
        for end, size in sorted((end, size) for first, end, size in spans if first >= start):
            total += size
            if total > end - start:
                return True
    return False
