"""Positions held apart: difference constraints, and choices between them, over whole numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

Literal: TypeAlias = tuple[int, int, int]
"""``(u, v, gap)``: variable v is at least gap more than variable u."""


class Distances:
    """Bounds of positions, and what they have to keep.

    An order is a literal that holds; a choice is a set of literals of which one must hold. Bounds
    are narrowed until nothing changes; when every choice is settled, the lower bounds themselves
    are a solution, because difference constraints are closed under the least of two solutions.
    """

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
                    if any(high[u] + gap <= low[v] for u, v, gap in choice):
                        continue
                    live = [one for one in choice if low[one[0]] + one[2] <= high[one[1]]]
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
