"""Loads of what is held against ratings, in whole grams where those tell, exactly where not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from math import ceil
from types import MappingProxyType

from configurator.engine.constraint import Held
from configurator.engine.extents import Span
from configurator.engine.joint_fit import Middles
from configurator.engine.weighing import Bar, Weights, total

_ANYWHERE: Middles = MappingProxyType({})


class Loading:
    """Loads of a complete selection, with some choices fixed."""

    def __init__(self, bars: Sequence[Bar], weights: Weights, held: Held) -> None:
        self._bars, self._weights, self._held = bars, weights, held

    @cached_property
    def _least(self) -> Sequence[int]:
        """No more than comes to each bar with every unit in its best place, g."""
        return total((n, self._weights.grams(key)[0]) for key, n in self._held.items())

    @cached_property
    def _most(self) -> Sequence[int]:
        """No less than comes to each bar with every unit in its worst place, g."""
        return total((n, self._weights.grams(key)[1]) for key, n in self._held.items())

    def must_be_over(self, index: int, rating: Fraction) -> bool:
        """Whether the bar is over its rating with every unit in its best place."""
        least = self._least[index]
        room = self._room(index, rating)
        if least > room:
            return True
        if least + sum(self._held.values()) < room:
            return False
        spans = self._spans(index, _ANYWHERE)
        return self._over(index, rating, (n * low for n, (low, _) in spans))

    def may_be_over(self, index: int, rating: Fraction, middles: Middles = _ANYWHERE) -> bool:
        """Whether the bar is over its rating with every unit in its worst place.

        Units whose middles are reported are there, the others wherever they may be.
        """
        most = self._most[index]
        for key, places in middles.items():
            most -= len(places) * self._weights.grams(key)[1][index]
            most += sum(ceil(self._weights.there(key, index, x)[1] * 1000) for x in places)
        room = self._room(index, rating)
        if most < room:
            return False
        if most - sum(self._held.values()) > room:
            return True
        return self._over(index, rating, (n * high for n, (_, high) in self._spans(index, middles)))

    def _room(self, index: int, rating: Fraction) -> Fraction:
        """What may come to the vehicle, g."""
        return (rating - self._bars[index].base) * 1000

    def _over(self, index: int, rating: Fraction, loads: Iterator[Fraction]) -> bool:
        bar = self._bars[index]
        return bar.over(sum(loads, bar.base), rating)

    def _spans(self, index: int, middles: Middles) -> Iterator[tuple[int, Span]]:
        """How many add how much to the bar, exactly."""
        for key, quantity in self._held.items():
            placed = middles.get(key, ())
            yield quantity - len(placed), self._weights.spans(key)[index]
            yield from ((1, self._weights.there(key, index, x)) for x in placed)
