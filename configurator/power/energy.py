"""Battery and solar sums as sizing guides state them: Ah, Wh, A, W, V, hours and days.

Every function is exact Decimal arithmetic but for Peukert's law, which has a power in it. Shares
(of discharge, of efficiency) are above 0 and at most 1; anything else is refused.

How full the battery is, hour by hour, over a stay: it starts at six in the evening with a full
battery. What runs all day draws evenly; what runs less is centred on seven in the evening. The sun
follows a half sine from six to six, driving is centred on eleven in the morning. A habit, not a
promise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.shapes.forms import form
from configurator.words import Text, listed, text

START = 18
"""Hour of the day at which the curve starts."""

_EVENING, _MORNING = Decimal(19), Decimal(11)
_SUNRISE, _SUNSET = 6, 18
_FULL_DAY = 24

_STANDARD_CELL = 25
"""Cell temperature at which panels are rated, degrees Celsius."""


def _share(name: str, value: Decimal) -> Decimal:
    if not 0 < value <= 1:
        raise ValueError(f"{name} of {value} is no share: it must be above 0 and at most 1")
    return value


def amp_hours(amps: Decimal, duty: Decimal, hours: Decimal, factor: Decimal) -> Decimal:
    """Daily draw of what runs on the battery: running amps, share of the hours, season factor."""
    return amps * duty * hours * factor


def mains_amp_hours(
    watts: Decimal, hours: Decimal, volts: Decimal, efficiency: Decimal = Decimal(1)
) -> Decimal:
    """Daily draw from the battery of watts that run through an inverter, or of plain watts."""
    return watts * hours / (volts * _share("efficiency", efficiency))


def usable(capacity: Decimal, depth: Decimal) -> Decimal:
    """What may be taken from a battery: its capacity times the depth of discharge."""
    return capacity * _share("depth of discharge", depth)


def required_output(energy: Decimal, days: Decimal, volts: Decimal) -> Decimal:
    """Ah that a battery must give over this many days at this many Wh a day."""
    return energy * days / volts


def rated_capacity(output: Decimal, depth: Decimal, derate: Decimal = Decimal(1)) -> Decimal:
    """Rated Ah for an output, by depth of discharge and derating for cold and fast discharge."""
    return output / (_share("depth of discharge", depth) * _share("derating", derate))


def discharge_rate(hours: Decimal, days: Decimal, depth: Decimal) -> Decimal:
    """The average discharge rate: over how many hours of running the whole capacity would go."""
    return hours * days / _share("depth of discharge", depth)


def discharge_time(
    capacity: Decimal, rated_hours: Decimal, amps: Decimal, exponent: Decimal
) -> Decimal:
    """Hours that a battery lasts at a current, by Peukert's law corrected for the rated hours."""
    return rated_hours * (capacity / (amps * rated_hours)) ** exponent


def days_of_stay(available: Decimal, used: Decimal, gained: Decimal) -> Decimal | None:
    """Days until the battery is empty at these Ah used and gained a day; None when unlimited."""
    return None if gained >= used else available / (used - gained)


def solar_amp_hours(
    watts: Decimal, sun: Decimal, derate: Decimal, volts: Decimal, charging: Decimal = Decimal(1)
) -> Decimal:
    """Ah a day that a battery keeps from panels.

    Args:
        watts: rated W.
        sun: peak sun hours.
        derate: the share that reaches the battery.
        volts: nominal voltage.
        charging: the share of a charge that the battery keeps.
    """
    return watts * sun * derate * _share("charging", charging) / volts


def solar_watts(
    amp_hours_a_day: Decimal,
    volts: Decimal,
    sun: Decimal,
    derate: Decimal,
    charging: Decimal = Decimal(1),
) -> Decimal:
    """Rated W of panels of which a battery keeps this many Ah a day."""
    kept = _share("derating", derate) * _share("charging", charging)
    return amp_hours_a_day * volts / (sun * kept)


def array_current(energy: Decimal, efficiency: Decimal, volts: Decimal, sun: Decimal) -> Decimal:
    """Current that panels must give in full sun for this many Wh a day."""
    return energy / (_share("efficiency", efficiency) * volts * sun)


def panel_current(array: Decimal, soiling: Decimal) -> Decimal:
    """Rated current of the panels for an array current, by the share that dirt leaves."""
    return array / _share("soiling", soiling)


def hot_volts(volts: Decimal, coefficient: Decimal, hottest: Decimal) -> Decimal:
    """A panel's voltage with hot cells, from the one it is rated at (25 degrees).

    The linear temperature step of sizing chapters for stand-alone systems.

    Args:
        volts: rated voltage.
        coefficient: change of the voltage per degree, as a share; negative.
        hottest: cell temperature, degrees Celsius.
    """
    return volts + volts * coefficient * (hottest - _STANDARD_CELL)


def panel_volts(
    charge_volts: Decimal, headroom: Decimal, coefficient: Decimal, hottest: Decimal
) -> Decimal | None:
    """Least rated voltage of panels at maximum power, so that they still charge when hot.

    With hot cells a panel must bring the voltage that the battery is charged to and what the
    regulator needs above it. None when no panel does: at that heat nothing is left.

    Args:
        charge_volts: that the charger is set to, as the battery's maker states.
        headroom: that the regulator needs above it, V.
        coefficient: change of the panels' voltage per degree, as a share; negative.
        hottest: cell temperature, degrees Celsius.
    """
    left = hot_volts(Decimal(1), coefficient, hottest)
    return (charge_volts + headroom) / left if left > 0 else None


def inverter_current(watts: Decimal, volts: Decimal, efficiency: Decimal) -> Decimal:
    """Current that an inverter draws from the battery."""
    return watts / (volts * _share("efficiency", efficiency))


def recharge_hours(drawn: Decimal, amps: Decimal, charging: Decimal) -> Decimal:
    """Hours to put this many Ah back; lead-acid batteries take hours more for the last part."""
    return drawn / (amps * _share("charging", charging))


def surge_needed(loads: Iterable[tuple[Decimal, Decimal]]) -> Decimal:
    """W that an inverter must stand when the worst of its loads starts while the others run.

    Args:
        loads: running W and starting W of each.
    """
    listed = list(loads)
    running = sum((watts for watts, _ in listed), Decimal(0))
    return running + max((surge - watts for watts, surge in listed), default=Decimal(0))


@form()
@frozen(repr=False)
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
    """An amount a day as 24 hourly amounts, over this many hours around a time of day."""
    if hours <= 0:
        return (Decimal(0),) * _FULL_DAY
    if hours >= _FULL_DAY:
        return (amount / _FULL_DAY,) * _FULL_DAY
    start, end = centre - hours / 2, centre + hours / 2
    amounts = [Decimal(0)] * _FULL_DAY
    for hour in range(math.floor(start), math.ceil(end)):
        overlap = min(Decimal(hour + 1), end) - max(Decimal(hour), start)
        amounts[hour % _FULL_DAY] += amount * overlap / hours
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
) -> Curve:
    """The charge over three days from full, hour by hour; it stays between the floor and full.

    Args:
        title: what charges.
        capacity: Ah when full.
        floor: Ah that must stay in it.
        drawn: Ah drawn in each hour of the day, from midnight.
        given: Ah put back in each.
    """
    charge = [capacity]
    empty_after = None
    for step in range(3 * _FULL_DAY):
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
