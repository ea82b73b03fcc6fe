"""How full the battery is, hour by hour, over a stay: the curve behind the small picture.

The stay starts at six in the evening with a full battery. What runs all day draws evenly; what
runs less is centred on seven in the evening. The sun follows a half sine from six to six, driving
is centred on eleven in the morning. A habit, not a promise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from attrs import frozen

from configurator.words import Text, listed, text

__all__ = [
    "START",
    "Curve",
    "charge_curve",
    "evening",
    "morning",
    "span_words",
    "spread",
    "sunlight",
]

START = 18
"""Hour of the day at which the curve starts."""

_EVENING, _MORNING = Decimal(19), Decimal(11)
_SUNRISE, _SUNSET = 6, 18
_FULL_DAY = 24


@frozen
class Curve:
    """A course of charge.

    Attributes:
        title: what charges.
        charge: Ah in the battery at the start and after every hour.
        empty_after: hours until what may be used is used up; None when that does not happen.
    """

    title: str
    charge: tuple[Decimal, ...]
    empty_after: int | None


def spread(amount: Decimal, hours: Decimal, centre: Decimal) -> tuple[Decimal, ...]:
    """An amount a day as 24 hourly amounts, over so many hours around a time of day."""
    if hours <= 0:
        return (Decimal(0),) * _FULL_DAY
    if hours >= _FULL_DAY:
        return (amount / _FULL_DAY,) * _FULL_DAY
    start = centre - hours / 2
    amounts = [Decimal(0)] * _FULL_DAY
    for shift in (-_FULL_DAY, 0, _FULL_DAY):
        for hour in range(_FULL_DAY):
            begin, end = start + shift, start + shift + hours
            overlap = min(Decimal(hour + 1), end) - max(Decimal(hour), begin)
            if overlap > 0:
                amounts[hour] += amount * overlap / hours
    return tuple(amounts)


def sunlight(amount: Decimal) -> tuple[Decimal, ...]:
    """An amount a day as 24 hourly amounts, as the sun gives it."""
    length = _SUNSET - _SUNRISE
    shares = [
        Decimal(
            round(
                math.cos(math.pi * (hour - _SUNRISE) / length)
                - math.cos(math.pi * (hour + 1 - _SUNRISE) / length),
                9,
            )
        )
        / 2
        if _SUNRISE <= hour < _SUNSET
        else Decimal(0)
        for hour in range(_FULL_DAY)
    ]
    whole = sum(shares, Decimal(0))
    return tuple(amount * part / whole for part in shares)


def evening(amount: Decimal, hours: Decimal) -> tuple[Decimal, ...]:
    """What a load draws a day, as 24 hourly amounts."""
    return spread(amount, hours, _EVENING)


def morning(amount: Decimal, hours: Decimal) -> tuple[Decimal, ...]:
    """What the vehicle's charger gives a day, as 24 hourly amounts."""
    return spread(amount, hours, _MORNING)


def charge_curve(
    title: str,
    capacity: Decimal,
    floor: Decimal,
    drawn: Sequence[Decimal],
    given: Sequence[Decimal],
    days: int = 3,
) -> Curve:
    """The course of charge from full, hour by hour; it stays between the floor and full.

    Args:
        title: what charges.
        capacity: Ah when full.
        floor: Ah that must stay in it.
        drawn: Ah drawn in each hour of the day, from midnight.
        given: Ah put back in each.
        days: length of the stay.
    """
    charge = [capacity]
    empty_after = None
    for step in range(days * _FULL_DAY):
        hour = (START + step) % _FULL_DAY
        then = charge[-1] + given[hour] - drawn[hour]
        if then < floor and empty_after is None:
            empty_after = step + 1
        charge.append(min(capacity, max(floor, then)))
    return Curve(title, tuple(charge), empty_after)


def span_words(hours: int) -> Text:
    """A time of whole hours, such as ``1 day and 3 hours``."""
    days, rest = divmod(hours, 24)
    parts = []
    if days:
        parts.append(text("1 day", "{n} days", n=days))
    if rest or not days:
        parts.append(text("1 hour", "{n} hours", n=rest))
    return listed(parts)
