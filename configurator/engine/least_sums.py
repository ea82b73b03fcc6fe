"""Ratings as sums, for the optimiser: what picks add at least to each load on a vehicle.

Each pick counts with its least mass in its best place, in whole grams rounded down, so that a sum
is never more than the load. Without them it meets a rating one refused package after the other: the
cheapest of 18 choices of two under a GVM takes 14.6 CPU s for 0.5.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TypeAlias

from configurator.catalogue.model import VEHICLE
from configurator.engine.constraint import Terms
from configurator.engine.limits import Load
from configurator.engine.weighing import WeighedLoad, Weighing

_Row: TypeAlias = tuple[int, WeighedLoad, Sequence[int]]
"""A load with its index, and what each pick adds to it at least."""


def least_sums(
    weighing: Weighing, bars: Iterable[tuple[str, int, WeighedLoad]]
) -> Iterator[tuple[Terms, int, list[int]]]:
    """Sums, what each may come to, and literals that are all true where it counts.

    A rating that an upgrade raises counts as the vehicle's own, with what is picked for more.

    Args:
        weighing: what picks put on the vehicles.
        bars: by vehicle, with their indices.
    """
    encoding = weighing.encoding
    for vehicle, some in groupby(bars, key=lambda one: one[0]):
        loads, there = weighing.loads(vehicle), encoding.at_least(VEHICLE, vehicle)
        others = {(VEHICLE, name) for name in weighing.vehicles if name != vehicle}
        keys = [key for key in encoding.quantities if key not in others]
        rows = [(i, bar, [loads.of(key)[i][0] for key in keys]) for _, i, bar in some]
        for index, bar, least in rows:
            if bar.rating is None or any(_more(other, (index, bar, least)) for other in rows):
                continue
            terms = [
                (_grams(bar.rating - rating, bar), encoding.at_least(*key))
                for key, rating in weighing.upgrades_of(bar)
                if rating > bar.rating
            ]
            for key, load in zip(keys, least, strict=True):
                terms += [(_grams(load, bar), level) for level in encoding.quantities[key] if load]
            bound = _grams(bar.rating, bar) - _grams(bar.base, bar)
            if not bar.hitched:
                yield terms, bound, [there]
                continue
            for hitch in weighing.hitches:
                pull = weighing.pull(vehicle, hitch)[index]
                if pull >= 0:  # a load that it makes less is told by the sum without a trailer
                    hitched = [-literal for literal in weighing.unhitched(hitch)]
                    yield terms, bound - _grams(pull, bar), [there, *hitched]


def _more(one: _Row, other: _Row) -> bool:
    """Whether every pick adds more to the one than to the other, which then tells nothing new."""
    (_, bar, least), (_, over, less) = one, other
    return (
        (bar.subject, bar.rating, bar.hitched) == (over.subject, over.rating, False)
        and (bar.base, *least) > (over.base, *less)
        and all(a >= b for a, b in zip((bar.base, *least), (over.base, *less), strict=True))
    )


def _grams(load: Load, bar: WeighedLoad) -> int:
    """A load in whole grams, rounded down."""
    return int(load * 1000 // bar.parts)
