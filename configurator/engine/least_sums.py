"""Ratings as sums, for the optimiser: what picks add at least to each load on a vehicle.

Each pick counts with its least mass in its best place, in whole grams rounded down, so that a sum
is never more than the load. Without them it meets a rating one refused package after the other: the
cheapest of 18 choices of two under a GVM takes 14.6 CPU s for 0.5.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from configurator.catalogue.model import VEHICLE
from configurator.engine.constraint import Terms
from configurator.engine.limits import Load
from configurator.engine.weighing import WeighedLoad, Weighing


def least_sums(
    weighing: Weighing, bars: Iterable[tuple[str, int, WeighedLoad]]
) -> Iterator[tuple[Terms, int, list[int]]]:
    """Sums, what each may come to, and literals that are all true where it counts.

    A rating that an upgrade raises counts as the vehicle's own, with what is picked for more.

    Args:
        weighing: what picks put on the vehicles.
        bars: each with its vehicle and index.
    """
    encoding = weighing.encoding
    for vehicle, index, bar in bars:
        if bar.rating is None:
            continue
        loads, there = weighing.loads(vehicle), encoding.at_least(VEHICLE, vehicle)
        terms = [
            (_grams(bar.rating - rating, bar), encoding.at_least(*key))
            for key, rating in weighing.upgrades_of(bar)
            if rating > bar.rating
        ]
        for key, levels in encoding.quantities.items():
            if key[0] != VEHICLE or key[1] == vehicle:
                least = _grams(loads.of(key)[index][0], bar)
                terms += [(least, level) for level in levels if least]
        bound = _grams(bar.rating, bar) - _grams(bar.base, bar)
        if not bar.hitched:
            yield terms, bound, [there]
            continue
        for hitch in weighing.hitches:
            pull = weighing.pull(vehicle, hitch)[index]
            if pull >= 0:  # a load that it makes less is told by the sum without a trailer
                hitched = [-literal for literal in weighing.unhitched(hitch)]
                yield terms, bound - _grams(pull, bar), [there, *hitched]


def _grams(load: Load, bar: WeighedLoad) -> int:
    """A load in whole grams, rounded down."""
    return int(load * 1000 // bar.parts)
