"""Whether everything in a room goes in together: a complete search, exact in whole millimetres.

Depth first over how each unit stands and on what; heights follow from that, and what is left are
distances along and across (:mod:`configurator.fit.search`). A branch is cut when more
bodies cross one line than are long enough for it. Units of one kind may change places, so they are
kept in one order: by how many carriers they stand above, then by how they stand, then by carrier,
then rearward. Numbering the units again level by level shows that every solution has a twin in
that order.

The budget is counted in guesses, never in seconds. When it is spent, OR-Tools' CP-SAT takes the
room over (:mod:`configurator.fit.model`); when that stops without an answer too,
:class:`SearchLimit` is raised, from which nothing follows.

Positions held apart: difference constraints, and choices between them, over bounded integers.

A literal ``(u, v, gap)`` says that variable v is at least gap more than variable u. An order is a
literal that holds; a choice is a set of literals of which one must hold. Bounds are narrowed until
nothing changes; when every choice is settled, the lower bounds themselves are a solution, because
difference constraints are closed under the least of two solutions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import TypeAlias

from configurator.errors import SearchLimit
from configurator.fit.rooms import FREE, Item, Room, Spot, Support, in_plane, nested, sums
from configurator.fit.shapes import Block, Shape, along, kept_out, pairs
from configurator.words import text

Literal: TypeAlias = tuple[int, int, int]
"""``(u, v, gap)``: v is at least gap more than u."""


class Distances:
    """Variables with their bounds, orders among them, and choices still to be made."""

    __slots__ = ("choices", "high", "low", "orders")

    def __init__(self, low: list[int], high: list[int]) -> None:
        self.low, self.high = low, high
        self.orders: list[Literal] = []
        self.choices: list[Sequence[Literal]] = []

    def copy(self) -> Distances:
        """Another one that can be changed without changing this one."""
        other = Distances(self.low.copy(), self.high.copy())
        other.orders, other.choices = self.orders.copy(), self.choices.copy()
        return other

    def settle(self) -> bool:
        """Narrow the bounds and take every choice that is forced; False when nothing is left."""
        low, high, orders = self.low, self.high, self.orders
        changed = True
        while changed:
            changed = False
            for u, v, gap in orders:
                if low[u] + gap > low[v]:
                    low[v] = low[u] + gap
                    if low[v] > high[v]:
                        return False
                    changed = True
                if high[v] - gap < high[u]:
                    high[u] = high[v] - gap
                    if low[u] > high[u]:
                        return False
                    changed = True
            if not changed:
                kept: list[Sequence[Literal]] = []
                for choice in self.choices:
                    live = []
                    for literal in choice:
                        u, v, gap = literal
                        if high[u] + gap <= low[v]:
                            break
                        if low[u] + gap <= high[v]:
                            live.append(literal)
                    else:
                        if not live:
                            return False
                        if len(live) == 1:
                            orders.append(live[0])
                            changed = True
                        else:
                            kept.append(live)
                self.choices = kept
        return True

    def solve(self, spend: Callable[[], None]) -> list[int] | None:
        """The least value of each variable in some solution, or None when there is none.

        Args:
            spend: called once for each guess; it may raise to give up.
        """
        if not self.settle():
            return None
        if not self.choices:
            return self.low
        spend()
        low, high = self.low, self.high
        tight = min(
            self.choices,
            key=lambda choice: (len(choice), max(high[v] - low[u] - g for u, v, g in choice)),
        )
        for literal in sorted(tight, key=lambda one: low[one[0]] + one[2] - high[one[1]]):
            guess = self.copy()
            guess.choices.remove(tight)
            guess.orders.append(literal)
            found = guess.solve(spend)
            if found is not None:
                return found
        return None


GUESSES = 1500
"""Guesses before a room is handed over."""

MOST_ITEMS = 60
"""Units in one space that are still searched; more are refused as too many to search."""

_FEW_FLAT = 6
"""Units on one level that are always searched; of more, OR-Tools knows better very soon."""


class _Spent(Exception):
    """The budget of guesses is spent."""


@lru_cache(maxsize=4096)
def arrange(room: Room, hard: bool = True, guesses: int = GUESSES) -> tuple[Spot, ...] | None:
    """A spot for every item that has to go in, or None, which is a proof that there is none.

    The same room always gets the same answer; answers are remembered.

    Args:
        room: what has to be arranged.
        hard: hand the room over when the budget is spent, instead of giving up.
        guesses: the budget.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    if _overfull(room):
        return None
    if len(room.items) > MOST_ITEMS:
        raise SearchLimit(
            text(
                "{n} units in one space are too many to search: more than {most} are never tried",
                n=len(room.items),
                most=MOST_ITEMS,
            )
        )
    few = len(room.items) > _FEW_FLAT and in_plane(room)
    search = _Search(room, guesses // 10 if few else guesses)
    try:
        return search.run()
    except _Spent:
        if not hard:
            raise SearchLimit(text("no answer within {n} guesses", n=guesses)) from None
        from configurator.fit.model import arrange_hard

        return arrange_hard(room)


def _overfull(room: Room) -> bool:
    """Whether a unit cannot stand in any way, or all of them are more than the room holds."""
    if any(not item.shapes or not item.supports for item in room.must):
        return True
    return any(sum(amounts.values()) > most for amounts, most in sums(room))


def _bearing(room: Room, index: int) -> Iterator[Support]:
    """What the item may stand on, without carriers too small, too weak or too high for it."""
    item = room.items[index]
    tops = [shape.z for shape in item.shapes]
    for support in item.supports:
        if support.on == FREE:
            if any(low <= support.rise <= high for low, high in tops):
                yield support
            continue
        carrier = room.items[support.on]
        lowest = min((shape.z[0] for shape in carrier.shapes), default=0) + support.rise
        if lowest > max((high for _, high in tops), default=-1):
            continue
        if carrier.carries is not None and item.laden > carrier.carries:
            continue
        if may_bear(carrier, item):
            yield support


def may_bear(carrier: Item, item: Item) -> bool:
    """Whether the carrier is strong enough for the item, and its bed takes it in some place."""
    if carrier.carries is not None and item.laden > carrier.carries:
        return False
    return any(_holds(item, shape, under) for shape in item.shapes for under in carrier.shapes)


def _holds(item: Item, shape: Shape, under: Shape) -> bool:
    """Whether the bed takes the footprint in some place that both may have."""
    if under.bed is None:
        return False
    for axis, mine, its in ((0, shape.x, under.x), (1, shape.y, under.y)):
        size = shape.size[axis]
        over = item.over(size)
        first, last = under.bed[2 * axis] - over, under.bed[2 * axis + 1] + over - size
        if size > under.bed_size[axis] + 2 * over:
            return False
        if mine[1] < its[0] + first or its[1] + last < mine[0]:
            return False
    return True


def _literals(i: int, j: int, a: Block, b: Block) -> tuple[Literal, ...]:
    """The ways in which block a of item i and block b of item j lie apart along and across."""
    return (
        (2 * i, 2 * j, a[1] - b[0]),
        (2 * j, 2 * i, b[1] - a[0]),
        (2 * i + 1, 2 * j + 1, a[3] - b[2]),
        (2 * j + 1, 2 * i + 1, b[3] - a[2]),
    )


class _Search:
    """One search through one room."""

    def __init__(self, room: Room, guesses: int) -> None:
        self.room, self.items = room, room.items
        self.count = len(room.items)
        self.origin = 2 * self.count
        self.guesses, self.spent = guesses, 0
        self.shape: list[Shape | None] = [None] * self.count
        self.support: list[Support | None] = [None] * self.count
        self.place = [0] * self.count
        self.z: list[int | None] = [None] * self.count
        self.chain: list[tuple[int, ...]] = [()] * self.count
        self.keys: list[tuple[int, ...]] = [()] * self.count
        self.load = [Decimal(0)] * self.count
        self.settled: list[int] = []
        self.beside = {"left": Decimal(0), "right": Decimal(0)}
        self.nested = nested(room)
        self.supports = [tuple(_bearing(room, i)) for i in range(self.count)]
        self.rank = sorted(
            range(self.count),
            key=lambda i: (any(s.on != FREE for s in self.supports[i]), -self.items[i].volume, i),
        )

    def spend(self) -> None:
        """Count one guess."""
        self.spent += 1
        if self.spent > self.guesses:
            raise _Spent

    def run(self) -> tuple[Spot, ...] | None:
        """A spot for every item, or None."""
        size = 2 * self.count + 1
        start = Distances([0] * size, [0] * size)
        return self._place(start)

    def _place(self, distances: Distances) -> tuple[Spot, ...] | None:
        index = self._next()
        if index is None:
            return self._spots(distances)
        for place, shape, support in self._ways(index):
            self.spend()
            self.shape[index], self.support[index] = shape, support
            self.place[index] = place
            before = len(self.settled)
            extended = self._settle(index, distances)
            if extended is not None:
                if shape.side in self.beside:
                    self.beside[shape.side] += self.items[index].laden
                found = self._place(extended)
                if found is not None:
                    return found
                if shape.side in self.beside:
                    self.beside[shape.side] -= self.items[index].laden
            self._undo(before)
            self.shape[index], self.support[index] = None, None
        return None

    def _next(self) -> int | None:
        """A carrier that something waits for, or the largest unit left that has to go in."""
        for index in self.rank:
            support = self.support[index]
            if support is not None and support.on != FREE and self.shape[support.on] is None:
                return support.on
        for index in self.rank:
            if self.shape[index] is None and not self.items[index].optional:
                return index
        return None

    def _ways(self, index: int) -> Iterator[tuple[int, Shape, Support]]:
        """How the unit may stand: the lighter side first, what is on the floor first.

        Each shape comes after its place among the shapes of the unit.
        """
        item = self.items[index]
        order = {side: rank for rank, side in enumerate(sorted(self.beside, key=self._weight))}
        shapes = sorted(
            enumerate(item.shapes), key=lambda one: (order.get(one[1].side, -1), one[0])
        )
        supports = sorted(
            self.supports[index],
            key=lambda s: (s.on != FREE, s.on != FREE and self.z[s.on] is None, s.rise, s.on),
        )
        for support in supports:
            if support.on != FREE and not self._may_stand(index, support.on):
                continue
            for place, shape in shapes:
                yield place, shape, support

    def _weight(self, side: str) -> tuple[Decimal, str]:
        return self.beside[side], side

    def _may_stand(self, index: int, carrier: int) -> bool:
        """Whether the carrier does not stand on the item, and is the next of its kind to be used.

        Optional carriers of one kind may change places: they come in one by one.
        """
        used = {s.on for s in self.support if s is not None}
        if self.items[carrier].optional and carrier not in used:
            kind = self.items[carrier].kind
            for other in range(carrier):
                kin = self.items[other].optional and self.items[other].kind == kind
                if kin and other not in used:
                    return False
        at: int = carrier
        while True:
            if at == index:
                return False
            support = self.support[at]
            if support is None or support.on == FREE:
                return True
            at = support.on

    def _settle(self, index: int, distances: Distances) -> Distances | None:
        """Add what follows from the item's way to stand; None when that cannot be."""
        extended = distances.copy()
        waiting = [index]
        while waiting:
            now = waiting.pop()
            support = self.support[now]
            if support is None or (support.on != FREE and self.z[support.on] is None):
                continue
            if not self._add(now, extended):
                return None
            waiting += [
                i
                for i in range(self.count)
                if self.z[i] is None and (above := self.support[i]) is not None and above.on == now
            ]
        if not extended.settle() or self._crowded(extended):
            return None
        return extended

    def _undo(self, before: int) -> None:
        for index in self.settled[before:]:
            for carrier in self.chain[index]:
                self.load[carrier] -= self.items[index].laden
            self.z[index], self.chain[index], self.keys[index] = None, (), ()
        del self.settled[before:]

    def _add(self, index: int, distances: Distances) -> bool:
        """Fix the item's height and add what keeps it where it may be."""
        shape, support = self.shape[index], self.support[index]
        assert shape is not None
        assert support is not None
        z = support.rise
        chain: tuple[int, ...] = ()
        if support.on != FREE:
            under = self.z[support.on]
            assert under is not None
            z, chain = under + support.rise, (support.on, *self.chain[support.on])
        if not shape.z[0] <= z <= shape.z[1]:
            return False
        self.z[index], self.chain[index] = z, chain
        self.keys[index] = (len(chain), self.place[index], support.on, support.rise)
        self.settled.append(index)
        overloaded = False
        for carrier in chain:
            self.load[carrier] += self.items[index].laden
            most = self.items[carrier].carries
            overloaded = overloaded or (most is not None and self.load[carrier] > most)
        if overloaded:
            return False
        low, high = distances.low, distances.high
        low[2 * index], high[2 * index] = shape.x
        low[2 * index + 1], high[2 * index + 1] = shape.y
        if support.on != FREE and not self._on_bed(index, support.on, distances):
            return False
        for block in shape.sweeps:
            self._avoid_gear(index, block, z, distances)
        return self._goes_along(index, distances) and all(
            self._keep(index, other, distances) for other in self.settled[:-1]
        )

    def _on_bed(self, index: int, carrier: int, distances: Distances) -> bool:
        shape, under = self.shape[index], self.shape[carrier]
        assert shape is not None
        assert under is not None
        if under.bed is None:
            return False
        for axis in (0, 1):
            size = shape.size[axis]
            over = self.items[index].over(size)
            if size > under.bed_size[axis] + 2 * over:
                return False
            first, last = under.bed[2 * axis], under.bed[2 * axis + 1]
            here, there = 2 * index + axis, 2 * carrier + axis
            distances.orders += [(there, here, first - over), (here, there, size - last - over)]
        return True

    def _avoid_gear(self, index: int, block: Block, z: int, distances: Distances) -> None:
        for gear in self.room.gear:
            if z + block[4] < gear[5] and gear[4] < z + block[5]:
                here, origin = 2 * index, self.origin
                distances.choices.append(
                    (
                        (here, origin, block[1] - gear[0]),
                        (origin, here, gear[1] - block[0]),
                        (here + 1, origin, block[3] - gear[2]),
                        (origin, here + 1, gear[3] - block[2]),
                    )
                )

    def _goes_along(self, index: int, distances: Distances) -> bool:
        """What stands on a sliding bed passes the carrier's opening."""
        shape, z = self.shape[index], self.z[index]
        assert shape is not None
        assert z is not None
        for carrier, block in self._sliding(index):
            under = self.shape[carrier]
            assert under is not None
            self._avoid_gear(index, block, z, distances)
            if under.window is None:
                continue
            start, end, sill, top = under.window
            axis = 1 if under.side == "rear" else 0
            if z < sill or z + shape.size[2] > top:
                return False
            here = 2 * index + axis
            distances.orders += [
                (self.origin, here, start),
                (here, self.origin, shape.size[axis] - end),
            ]
        return True

    def _sliding(self, index: int) -> Iterator[tuple[int, Block]]:
        """Sliding carriers under the item, and what its body sweeps with each."""
        shape = self.shape[index]
        assert shape is not None
        for carrier in self.chain[index]:
            under = self.shape[carrier]
            if under is not None and under.way is not None:
                yield carrier, along(shape.body, under.way)

    def _keep(self, one: int, other: int, distances: Distances) -> bool:
        """Keep two units apart, and what is alike in order."""
        first, second = self.shape[one], self.shape[other]
        z_one, z_other = self.z[one], self.z[other]
        assert first is not None
        assert second is not None
        assert z_one is not None
        assert z_other is not None
        alike = self.items[one].kind == self.items[other].kind
        if alike and not (self.items[one].optional or self.items[other].optional):
            low, high = min(one, other), max(one, other)
            if self.keys[low] > self.keys[high]:
                return False
            if self.keys[low] == self.keys[high]:
                distances.orders.append((2 * low, 2 * high, 0))
        if other in self.chain[one]:
            return z_one not in kept_out(second, first, z_other)
        if one in self.chain[other]:
            return z_other not in kept_out(first, second, z_one)
        blocks = list(pairs(first, second))
        for carrier, block in self._sliding(one):
            if self._stays(other, carrier):
                blocks.append((block, second.body))
        for carrier, block in self._sliding(other):
            if self._stays(one, carrier):
                blocks.append((first.body, block))
        for a, b in blocks:
            if z_one + a[4] < z_other + b[5] and z_other + b[4] < z_one + a[5]:
                distances.choices.append(_literals(one, other, a, b))
        return True

    def _stays(self, index: int, carrier: int) -> bool:
        """Whether the item neither slides with the carrier nor carries it."""
        return (
            index != carrier
            and carrier not in self.chain[index]
            and index not in self.chain[carrier]
        )

    def _crowded(self, distances: Distances) -> bool:
        """Whether more bodies cross a line along the space than it is long enough for."""
        low, high = distances.low, distances.high
        bodies = []
        for index in self.settled:
            shape, z = self.shape[index], self.z[index]
            assert shape is not None
            assert z is not None
            first, last = high[2 * index + 1], low[2 * index + 1] + shape.size[1]
            if first < last and not (self.nested and self.chain[index]):
                bodies.append((index, first, last, z, z + shape.size[2], shape.size[0]))
        for y in {body[1] for body in bodies}:
            row = [body for body in bodies if body[1] <= y < body[2]]
            if len(row) < 3:
                continue
            for z in {body[3] for body in row}:
                cut = [(b[0], b[5]) for b in row if b[3] <= z < b[4]]
                if len(cut) > 2 and self._too_long(cut, low, high):
                    return True
        return False

    def _too_long(self, cut: list[tuple[int, int]], low: list[int], high: list[int]) -> bool:
        spans = [(low[2 * i], high[2 * i] + size, size) for i, size in cut]
        for start in {span[0] for span in spans}:
            inside = sorted((end, size) for first, end, size in spans if first >= start)
            total = 0
            for end, size in inside:
                total += size
                if total > end - start:
                    return True
        return False

    def _spots(self, distances: Distances) -> tuple[Spot, ...] | None:
        found = distances.copy().solve(self.spend)
        if found is None:
            return None
        spots = []
        for index, item in enumerate(self.items):
            if item.optional:
                continue
            shape, support, z = self.shape[index], self.support[index], self.z[index]
            assert shape is not None
            assert support is not None
            assert z is not None
            spots.append(Spot(shape, support, found[2 * index], found[2 * index + 1], z))
        return tuple(spots)
