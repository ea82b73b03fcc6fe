"""What the fixings of a unit must hold, where its maker states them.

Loads on a vehicle must withstand 0.8 of their weight forward, 0.5 rearward and sideways, and 0.2
upward (load restraint standard of Australian model law, as the Northern Territory publishes it);
that covers driving and hard braking, not crashes. A battery must hold against twice its weight in
any direction (ISO 10133:2012, 5.2).
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue, Option
from configurator.findings import Finding
from configurator.selection.picks import Selection, known_picks
from configurator.totals import MissingPicks, mass_of
from configurator.words import plain

__all__ = [
    "GRAVITY",
    "Restraint",
    "battery_restraint",
    "mount_findings",
    "mount_load",
    "restraint",
]

GRAVITY = Decimal("9.80665")
"""Standard gravity, m/s2."""

_BATTERY = Decimal(2)


@frozen
class Restraint:
    """Forces that hold a mass in place, N."""

    forward: Decimal
    rearward: Decimal
    sideways: Decimal
    upward: Decimal


def restraint(mass: Decimal) -> Restraint:
    """What must hold a mass of so many kg while driving."""
    weight = mass * GRAVITY
    shares = (Decimal("0.8"), Decimal("0.5"), Decimal("0.5"), Decimal("0.2"))
    return Restraint(*(share * weight for share in shares))


def battery_restraint(mass: Decimal) -> Decimal:
    """What must hold a battery of so many kg in any direction, N."""
    return _BATTERY * mass * GRAVITY


def mount_load(
    catalogue: Catalogue, selection: Selection, option: Option
) -> tuple[Decimal, Decimal]:
    """What a unit weighs laden, kg, and what must hold it, N: in any direction for a battery.

    Raises:
        MissingPicks: its mass hangs on a choice that is still open.
    """
    contents = option.unit.contents if option.unit is not None else Decimal(0)
    laden = mass_of(catalogue, selection, option) + contents
    return laden, battery_restraint(laden) if _is_battery(option) else restraint(laden).forward


def mount_findings(catalogue: Catalogue, selection: Selection) -> Iterator[Finding]:
    """A finding for every unit whose stated fixings hold less than they must."""
    for choice, option, _ in known_picks(catalogue, selection):
        unit = option.unit
        if unit is None or unit.fixings is None:
            continue
        try:
            laden, needed = mount_load(catalogue, selection, option)
        except MissingPicks:
            continue
        there = unit.fixings.count * unit.fixings.each
        if there < needed:
            yield Finding(
                level="stop",
                code="mount",
                subject=f"{choice.id}={option.id}",
                sentence=(
                    f"{option.title} weighs {plain(laden)} kg laden and needs fixings for "
                    f"{plain(needed)} N; {unit.fixings.count} of {plain(unit.fixings.each)} N "
                    f"hold {plain(there)} N"
                ),
                reason=(
                    "A battery must hold against twice its weight."
                    if _is_battery(option)
                    else "What is carried must hold against 0.8 of its weight when braking."
                ),
                hint="use more or stronger fixings, as the unit's maker asks",
                numbers=(("needs", needed), ("has", there)),
                at=option.at,
            )


def _is_battery(option: Option) -> bool:
    return option.power is not None and option.power.battery is not None
