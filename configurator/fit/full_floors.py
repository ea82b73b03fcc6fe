"""Floors that units fill to the last millimetre: an exact search along the edge of what lies there.

No piece of such a floor stays empty, so a niche of that edge is filled from wall to wall by units
that lie side by side in it: none whose width no sum of the sides left makes is worth a guess. Depth
first over the niche in which the fewest units can come next, in every way in which they may lie,
units of one size once. Which go first is drawn, and drawn anew after so many guesses, now from one
side of the floor and now from the other: a bad start costs little then.

Of 30 strips of 16 to 30 rectangles that fill their floor 28 are laid out so, none in more than 16
CPU s; of four CP-SAT alone settled none in 25.

Guesses are counted, never seconds, and what is drawn is the same on every machine. Only what a
start searches to its end is a proof; few floors of many units that cannot be filled are refused so.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from typing import TypeAlias

from configurator.fit.rooms import FREE, Room, Spot, UnitToPlace, in_plane
from configurator.fit.shapes import Shape
from configurator.words import Text, text

MOST_GUESSES = 1_700_000
"""Guesses before a floor is handed over."""

_AT_ONCE = 400
"""Guesses of the first start; each later one has a hundredth more of it than the one before."""

Size: TypeAlias = tuple[int, int]
"""Along the base and up from it."""

Kind: TypeAlias = tuple[Size, ...]
"""The sizes that a unit has in the ways in which it may lie; units of one kind change places."""

Unit: TypeAlias = tuple[int, int, int]
"""A kind by its place, and its sizes along the base and up from it."""

Niche: TypeAlias = tuple[int, int, int]
"""A stretch of the edge: from where, how wide, and how far from the base it lies."""


class _StartOver(Exception):
    """The guesses of one start are spent."""


@lru_cache(maxsize=1024)
def filled(room: Room, most: int = MOST_GUESSES) -> tuple[Spot, ...] | Text | None:
    """A spot for every item of a floor that they fill, None where none is; or what is said.

    Where the floor is not such a one, nothing is guessed. Answers are remembered.
    """
    guesses = start = 0
    while guesses < most and (start or _full(room)):
        at_once = min(_AT_ONCE + _AT_ONCE * start // 100, most - guesses)
        axis = (room.inside.length > room.inside.width) == (start % 2 == 0)
        floor = _Floor(room, int(axis), start, at_once)
        try:
            return floor.spots() if floor.fill([(0, floor.wide, 0)]) else None
        except _StartOver:
            guesses, start = guesses + at_once, start + 1
    return text("no answer within {n} guesses", n=guesses)


def _full(room: Room) -> bool:
    """Whether bodies alone, which may lie anywhere in the plane, are as large as the floor."""
    inside = room.inside
    if not in_plane(room) or room.gear or room.divider:
        return False
    for item in room.items:
        if item.optional or len(item.supports) != 1 or item.supports[0].on != FREE:
            return False
        for shape in item.shapes:
            ends = (0, inside.length - shape.size[0]), (0, inside.width - shape.size[1])
            bare = shape.keeps == shape.sweeps == (shape.body,)
            stands = shape.z[0] <= item.supports[0].rise <= shape.z[1]
            if not bare or not stands or (shape.x, shape.y) != ends:
                return False
    area = sum(item.shapes[0].size[0] * item.shapes[0].size[1] for item in room.items)
    return area == inside.length * inside.width


class _Floor:
    """One start: units are laid from the base, which is so wide, up to so high."""

    def __init__(self, room: Room, axis: int, start: int, guesses: int) -> None:
        self.room, self.start, self.guesses = room, start, guesses
        self.drawn = start
        self.axes = (axis, 1 - axis)
        ends = room.inside.length, room.inside.width
        self.wide, self.high = ends[axis], ends[1 - axis]
        count = Counter(self._kind(item) for item in room.items)
        self.kinds, self.left = sorted(count), [count[kind] for kind in sorted(count)]
        self.sides = [
            [sorted((kind[0][axis], kind[-1][axis])) for kind in self.kinds] for axis in (0, 1)
        ]
        self.laid: list[tuple[Kind, Size, Size]] = []

    def _size(self, shape: Shape) -> Size:
        return shape.size[self.axes[0]], shape.size[self.axes[1]]

    def _kind(self, item: UnitToPlace) -> Kind:
        return tuple(sorted({self._size(shape) for shape in item.shapes}))

    def spots(self) -> tuple[Spot, ...]:
        """Who lies where: of items of the same sizes, each takes a place of theirs."""
        found = []
        for item in self.room.items:
            at = next(at for at, laid in enumerate(self.laid) if laid[0] == self._kind(item))
            _, size, corner = self.laid.pop(at)
            shape = next(shape for shape in item.shapes if self._size(shape) == size)
            x, y = (corner[axis] for axis in self.axes)
            found.append(Spot(shape, item.supports[0], x, y, item.supports[0].rise))
        return tuple(found)

    def fill(self, edge: list[Niche]) -> bool:
        """Whether the units left fill what lies above the edge, from the left to the right."""
        if not any(self.left):
            return True
        self.guesses -= 1
        if self.guesses < 0:
            raise _StartOver
        at, units = self._next(edge)
        if not units:
            return False
        x, wide, low = edge[at]
        left = edge[at - 1][2] if at else self.high
        right = edge[at + 1][2] if at + 1 < len(edge) else self.high
        units.sort(key=lambda unit: self._rank(unit, wide, (left - low, right - low)))
        for kind, long, high in units:
            there = x if left >= right else x + wide - long
            self.left[kind] -= 1
            self.laid.append((self.kinds[kind], (long, high), (there, low)))
            if self.fill(_above(edge, at, there, long, low + high)):
                return True
            self.laid.pop()
            self.left[kind] += 1
        return False

    def _next(self, edge: list[Niche]) -> tuple[int, list[Unit]]:
        """The niche in which the fewest units can come next, and those; none where one stays."""
        across = self._sums(0)
        up = across if self.sides[0] == self.sides[1] else self._sums(1)
        walls = [self.high, *(low for _, _, low in edge), self.high]
        niches = [at for at in range(len(edge)) if walls[at] > walls[at + 1] < walls[at + 2]]
        best: tuple[int, list[Unit]] = niches[0], []
        for _, _, low in edge:
            if not up >> self.high - low & 1:
                return best
        for at in niches:
            if not across >> edge[at][1] & 1:
                return best
        for at in niches:
            _, wide, low = edge[at]
            room = self.high - low
            units = [
                (kind, long, high)
                for kind, count in enumerate(self.left)
                if count
                for long, high in self.kinds[kind]
                if long <= wide and high <= room
                if across >> wide - long & 1 and up >> room - high & 1
            ]
            if not units:
                return at, []
            if not best[1] or len(units) < len(best[1]):
                best = at, units
        return best

    def _sums(self, axis: int) -> int:
        """Which sums the sides of units left make along the axis, as bits."""
        sums = 1
        for (one, other), count in zip(self.sides[axis], self.left, strict=True):
            for _ in range(count):
                sums |= sums << one | sums << other
        return sums

    def _rank(self, unit: Unit, wide: int, walls: tuple[int, int]) -> tuple[int, float]:
        """First what is flush with walls, and what is large or wide, as it is drawn.

        What counts most changes from start to start, as no one way is good for all floors. Drawn by
        the generator of Numerical Recipes (from memory), which is the same in every Python.
        """
        _, long, high = unit
        flush = (long == wide) + (high in walls)
        self.drawn = (self.drawn * 1664525 + 1013904223) % 2**32
        drawn = 0.6 + 0.8 * self.drawn / 2**32
        if self.start % 6 < 2:
            return -flush, -long * high * drawn
        if self.start % 6 < 4:
            return -flush, -long * drawn
        return 0, -long * high * (1 + 3 * flush) * drawn


def _above(edge: list[Niche], at: int, x: int, long: int, high: int) -> list[Niche]:
    """The edge with a unit of that length in a niche, up to that height."""
    start, wide, low = edge[at]
    parts = [(start, x - start, low), (x, long, high), (x + long, start + wide - x - long, low)]
    found = edge[:at]
    for begin, width, level in (*parts, *edge[at + 1 :]):
        if found and found[-1][2] == level:
            found[-1] = found[-1][0], found[-1][1] + width, level
        elif width:
            found.append((begin, width, level))
    return found
