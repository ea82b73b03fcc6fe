"""Positions held apart: difference constraints, and choices between them, over whole numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from configurator.fit.shapes import Range

Literal: TypeAlias = tuple[int, int, int]
"""``(u, v, gap)``: variable v is at least gap more than variable u."""

Choice: TypeAlias = tuple[int, Sequence[Literal]]
"""The bits of all variables of the literals, and those of which one must hold."""


class Distances:
    """Bounds of positions, and what they have to keep.

    An order is a literal that holds; a choice is a set of literals of which one must hold. Bounds
    are narrowed until nothing changes; when every choice is settled, the lower bounds themselves
    are a solution, because difference constraints are closed under the least of two solutions.

    Attributes:
        moved: bits of the variables whose bounds changed since all choices were looked at.
    """

    __slots__ = ("choices", "high", "low", "moved", "orders")

    def __init__(self, low: list[int], high: list[int]) -> None:
        self.low, self.high = low, high
        self.orders: list[Literal] = []
        self.choices: list[Choice] = []
        self.moved = 0

    def copy(self) -> Distances:
        """Another one that can be changed without changing this one."""
        other = Distances(self.low.copy(), self.high.copy())
        other.orders, other.choices = self.orders.copy(), self.choices.copy()
        other.moved = self.moved
        return other

    def between(self, corner: int, x: Range, y: Range) -> None:
        """Set the bounds of a corner's two variables, of which this is the first."""
        self.low[corner], self.high[corner] = x
        self.low[corner + 1], self.high[corner + 1] = y
        self.moved |= 3 << corner

    def choose(self, one: int, other: int, ways: Sequence[Literal]) -> None:
        """Have one of the ways hold, which are about two corners, each told by its first variable.

        One of them has been given its bounds since all choices were looked at.
        """
        self.choices.append((3 << one | 3 << other, ways))

    def settle(self) -> bool:
        """Narrow the bounds and take every choice that is forced.

        False when nothing is left; the bounds are of no use then.
        """
        low, high, orders, moved = self.low, self.high, self.orders, self.moved
        changed = True
        while changed:
            changed = False
            for u, v, gap in orders:
                if low[u] + gap > low[v]:
                    low[v] = low[u] + gap
                    if low[v] > high[v]:
                        return False
                    changed = True
                    moved |= 1 << v
                if high[v] - gap < high[u]:
                    high[u] = high[v] - gap
                    if low[u] > high[u]:
                        return False
                    changed = True
                    moved |= 1 << u
            if not changed:
                kept: list[Choice] = []
                for choice in self.choices:
                    if not choice[0] & moved:
                        kept.append(choice)
                        continue
                    live = []
                    for one in choice[1]:
                        u, v, gap = one
                        if high[u] + gap <= low[v]:
                            break
                        if low[u] + gap <= high[v]:
                            live.append(one)
                    else:
                        if not live:
                            return False
                        if len(live) == 1:
                            orders.append(live[0])
                            changed = True
                        else:
                            kept.append((choice[0], live))
                self.choices, moved = kept, 0
        self.moved = 0
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
            key=lambda one: (len(one[1]), max(high[v] - low[u] - g for u, v, g in one[1])),
        )
        for literal in sorted(tight[1], key=lambda one: low[one[0]] + one[2] - high[one[1]]):
            guess = self.copy()
            guess.choices.remove(tight)
            guess.orders.append(literal)
            found = guess.solve(spend)
            if found is not None:
                return found
        return None
