"""What the fixings of a unit must hold, where its maker states them.

Loads on a vehicle must withstand 0.8 of their weight forward, 0.5 rearward and sideways, and 0.2
upward (load restraint standard of Australian model law, as the Northern Territory publishes it);
that covers driving and hard braking, not crashes. A battery's fixings must hold twice its weight in
any direction (ISO 10133:2012, 5.2).
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.units import ON_FLOOR
from configurator.findings import Finding, Saying
from configurator.fit.layout import Layout, Placement
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import MissingPicks, contents_of, mass_of
from configurator.words import listed, text

_GRAVITY = Decimal("9.80665")
"""Standard gravity, m/s2."""

_FORWARD, _BATTERY = Decimal("0.8"), Decimal(2)
"""What has to hold, in weights: a load forward, a battery in any direction."""

_ALONE = Saying(
    "stop",
    (
        "{title} weighs {laden} kg laden and needs fixings for {needed} N; 1 of {each} N holds "
        "{holds} N",
        "{title} weighs {laden} kg laden and needs fixings for {needed} N; {n} of {each} N hold "
        "{holds} N",
    ),
    "use more or stronger fixings, as the unit's maker asks",
)
_LADEN = Saying(
    "stop",
    (
        "{title} weighs {laden} kg laden with {standing} on it and needs fixings for {needed} N; "
        "1 of {each} N holds {holds} N",
        "{title} weighs {laden} kg laden with {standing} on it and needs fixings for {needed} N; "
        "{n} of {each} N hold {holds} N",
    ),
    "use more or stronger fixings, as the unit's maker asks",
)
_BATTERY_REASON = text("A battery's fixings must hold twice its weight.")
_FORWARD_REASON = text("Fixings must hold 0.8 of the weight under braking.")


def holding_force(mass: Decimal, battery: bool) -> Decimal:
    """What must hold a mass in kg, N: a battery in any direction, anything else forward."""
    return (_BATTERY if battery else _FORWARD) * mass * _GRAVITY


@frozen(repr=False)
class MountLoad:
    """What the fixings of a unit must hold: the unit, and whatever stands on it.

    Attributes:
        laden: what all of it weighs laden, kg.
        needed: what must hold it, N: in any direction for a battery, forward for the rest.
        standing: titles of what stands on the unit, and on that.
        moveable: whether some of that could stand elsewhere.
    """

    laden: Decimal
    needed: Decimal
    standing: tuple[str, ...] = ()
    moveable: bool = False


@once
def mount_load(
    build: Resolved,
    option: Option,
    layout: Layout | None = None,
    placement: Placement | None = None,
) -> MountLoad:
    """What the fixings of a unit must hold.

    Without a layout the unit counts alone.

    Raises:
        MissingPicks: a mass depends on a choice that is still open.
    """
    laden = mass_of(build, option) + contents_of(option)
    needed = holding_force(laden, _is_battery(option))
    titles: list[str] = []
    moveable = False
    if layout is not None and placement is not None:
        for upper in layout.placements:
            if upper.on != placement.name:
                continue
            standing = build.catalogue.option(upper.choice, upper.option)
            more = mount_load(build, standing, layout, upper)
            laden, needed = laden + more.laden, needed + more.needed
            titles += [standing.title, *more.standing]
            moveable |= more.moveable or _stands_elsewhere(build.selection, standing, placement)
    return MountLoad(laden, needed, tuple(titles), moveable)


def mount_findings(build: Resolved, layout: Layout | None) -> Iterator[Finding]:
    """A finding for every unit whose stated fixings hold less than they must.

    What stands on it counts. It stops a quote where nothing of that could stand elsewhere.
    """
    for choice, option, _ in build.picks:
        unit = option.unit
        if unit is None or unit.fixings is None:
            continue
        try:
            load = _heaviest(build, layout, choice.id, option)
            alone = mount_load(build, option)
        except MissingPicks:
            continue
        there = unit.fixings.count * unit.fixings.each
        if there >= load.needed:
            continue
        known = {
            "title": option.title,
            "laden": load.laden,
            "needed": load.needed,
            "each": unit.fixings.each,
            "holds": there,
            "n": unit.fixings.count,
            "standing": listed(load.standing),
        }
        yield (_LADEN if load.standing else _ALONE).finding(
            "mount",
            Pick(choice.id, option.id),
            known,
            (("needs", load.needed), ("has", there)),
            level="caution" if load.moveable and alone.needed <= there else "stop",
            reason=_BATTERY_REASON if _is_battery(option) else _FORWARD_REASON,
            at=option.at,
        )


def _heaviest(
    build: Resolved,
    layout: Layout | None,
    choice: str,
    option: Option,
) -> MountLoad:
    """Of all units of the option, the one that its fixings must hold most for."""
    placed = layout.placements if layout is not None else ()
    here = [p for p in placed if (p.choice, p.option) == (choice, option.id)]
    loads = [mount_load(build, option), *(mount_load(build, option, layout, p) for p in here)]
    return max(loads, key=lambda load: (load.needed, load.standing))


def _stands_elsewhere(selection: Selection, option: Option, carrier: Placement) -> bool:
    """Whether the unit may stand on the floor, or on something else that is picked."""
    unit = option.unit
    if unit is None:
        return False
    carriers = [n for key, n in selection.quantities.items() if unit.may_stand_on(*key)]
    own = selection.quantity(carrier.choice, carrier.option)
    return ON_FLOOR in unit.stands_on or sum(carriers) > own


def _is_battery(option: Option) -> bool:
    return option.power is not None and option.power.battery is not None
