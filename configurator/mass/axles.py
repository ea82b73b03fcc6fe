"""Axle loads by moments, exactly: what a mass at a place puts on each axle.

x counts rearward from the front axle, mm; masses in kg. Everything is a Fraction, so that a load
that equals a rating to the gram equals it here too. A mass at x puts ``mass * x / wheelbase`` on
the rear axle and the rest on the front one, as body builders' manuals for trucks and vans state
it; behind the rear axle the rest is negative, and the front axle is relieved.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from math import lcm
from typing import TypeAlias

from attrs import frozen

from configurator.shapes.forms import form
from configurator.words import used

Number: TypeAlias = int | Decimal | Fraction

_LONGEST_OVERHANG = 3700
"""Longest rear overhang of a rigid vehicle in Australia, mm, however long its wheelbase."""

_OVERHANG_SHARE = Fraction(3, 5)


@form(shown={"front": used, "rear": used})
@frozen(repr=False)
class AxleLoads:
    """What stands on the two axles, kg; a negative front load cannot stand on the road.

    Attributes:
        front: on the front axle.
        rear: on the rear axle.
    """

    front: Fraction
    rear: Fraction

    @property
    def total(self) -> Fraction:
        """Both axles together."""
        return self.front + self.rear

    @property
    def lifted(self) -> bool:
        """Whether the front axle carries nothing: the vehicle cannot be driven, or tips."""
        return self.front <= 0

    @property
    def standing(self) -> AxleLoads:
        """What the axles carry on the road: the rear one has it all when the front is lifted."""
        return AxleLoads(Fraction(0), self.total) if self.lifted else self

    @property
    def front_share(self) -> Fraction:
        """Share of the total on the front axle; 0 when it is lifted, or there is no mass at all."""
        return self.standing.front / self.total if self.total else Fraction(0)

    def __add__(self, other: AxleLoads) -> AxleLoads:
        return AxleLoads(self.front + other.front, self.rear + other.rear)

    def __sub__(self, other: AxleLoads) -> AxleLoads:
        return AxleLoads(self.front - other.front, self.rear - other.rear)


def share(mass: Number, x: Number, wheelbase: Number) -> AxleLoads:
    """What one mass puts on each axle.

    Raises:
        ValueError: the wheelbase is not above zero.
    """
    if wheelbase <= 0:
        raise ValueError(f"a wheelbase of {wheelbase} mm has no two axles")
    rear = Fraction(mass) * Fraction(x) / Fraction(wheelbase)
    return AxleLoads(Fraction(mass) - rear, rear)


def on_axles(
    front: Number, rear: Number, wheelbase: Number, masses: Iterable[tuple[Number, Number]]
) -> AxleLoads:
    """The axle loads with masses added to what stands on the axles already.

    Args:
        front: on the front axle without them, kg.
        rear: on the rear axle without them, kg.
        wheelbase: mm.
        masses: each mass and its x.

    Raises:
        ValueError: the wheelbase is not above zero.
    """
    mass, moment = summed(masses)
    on_rear = share(1, moment, wheelbase).rear
    return AxleLoads(Fraction(front) + mass - on_rear, Fraction(rear) + on_rear)


def summed(masses: Iterable[tuple[Number, Number]]) -> tuple[Fraction, Fraction]:
    """All the masses together, and their moment about the origin of their places.

    Over common denominators, in whole numbers: a fraction is reduced once, not at every step.
    """
    pairs = [(mass.as_integer_ratio(), place.as_integer_ratio()) for mass, place in masses]
    scale = lcm(*(below for (_, below), _ in pairs))
    length = lcm(*(below for _, (_, below) in pairs))
    total = moment = 0
    for (mass, of_mass), (place, of_place) in pairs:
        whole = mass * (scale // of_mass)
        total += whole
        moment += whole * place * (length // of_place)
    return Fraction(total, scale), Fraction(moment, scale * length)


def overhang_limit(wheelbase: Number) -> Fraction:
    """Longest rear overhang of a rigid vehicle with one rear axle, from that axle, mm.

    The lesser of 60 % of the wheelbase and 3.7 m, as Australian states and the national heavy
    vehicle regulator publish it; a vehicle exactly at the limit is within it.
    """
    return min(Fraction(_LONGEST_OVERHANG), _OVERHANG_SHARE * Fraction(wheelbase))
