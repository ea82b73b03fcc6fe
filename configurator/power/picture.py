"""The power picture as a value: what a selection draws, stores and is given, and its circuits.

Ah at the nominal potential of the system, A, W, V, hours and days; exact, see
:mod:`configurator.power.shown` for the figures that people read.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import frozen

from configurator.catalogue.settings import PowerSettings
from configurator.forms import form
from configurator.power.charge_curve import Curve
from configurator.power.circuits import CircuitRow

__all__ = ["Consumer", "InverterState", "PanelState", "PowerPicture"]


@form(hidden="surge")
@frozen
class Consumer:
    """What draws power.

    Attributes:
        pick: ``choice=option``.
        title: its title.
        count: how many.
        amps: from the battery while it runs, all of them, A.
        watts: of one while it runs, where it runs on 230 V; else None.
        surge: starting W of one on 230 V.
        hours: hours a day that it is on.
        daily: Ah a day, all of them.
    """

    pick: str
    title: str
    count: int
    amps: Decimal
    watts: Decimal | None
    surge: Decimal | None
    hours: Decimal
    daily: Decimal


@form(keys={"nominal": "nominal-amps", "low": "low-amps"})
@frozen
class InverterState:
    """The inverter against its loads and the battery.

    Attributes:
        title: its title.
        watts: continuous.
        surge: at the start, or None.
        load: W of everything on 230 V at once.
        largest: W of the largest single load.
        surge_needed: W when the worst of them starts while the others run.
        nominal: A from the battery at full power and nominal potential.
        low: A at full power and low potential.
    """

    title: str
    watts: Decimal
    surge: Decimal | None
    load: Decimal
    largest: Decimal
    surge_needed: Decimal
    nominal: Decimal
    low: Decimal


@form()
@frozen
class PanelState:
    """A kind of panel against the battery that it charges.

    Attributes:
        title: its title.
        volts: rated potential at maximum power.
        hot: the same with hot cells.
        needed: that it must bring when hot: the potential to charge to and the regulator's
            headroom.
    """

    title: str
    volts: Decimal
    hot: Decimal
    needed: Decimal


@form(
    hidden="settings lithium",
    keys={"idle": "inverter-idle", "full": "full-amps"},
    values={"season": ("summer", "winter", "year")},
)
@frozen
class PowerPicture:
    """Power of a selection.

    Attributes:
        settings: the shop's figures that it counts with.
        volts: nominal potential.
        place: title of the place whose sun counts, or empty.
        sun: peak sun hours a day there; None when the catalogue has no place.
        sun_source: where that figure comes from.
        season: ``summer``, ``winter`` or ``year``.
        driving: hours driven a day.
        consumers: what draws, in the catalogue's order.
        idle: Ah a day that the inverter itself draws while something on 230 V runs.
        daily: Ah a day in all.
        average_rate: over how many hours the batteries would go at this use; None without.
        batteries: titles of the batteries with their number.
        capacity: rated Ah.
        usable: Ah that may be used.
        discharge: continuous A, and
        peak: A at the most, of all batteries; 0 without.
        charge_limit: A that the batteries take.
        solar: rated W.
        solar_daily: Ah a day from the sun.
        solar_share: of the daily use, or None when nothing is used.
        vehicle_amps: A of the vehicle's charger into the batteries.
        vehicle_daily: Ah a day from driving.
        mains_amps: A of the mains charger into the batteries.
        days_alone: days without any charging; None without a battery or a draw.
        days_sun: days with the sun only; None when that has no end.
        days_driving: days with driving only; None when that has no end.
        recharge_driving: hours of driving from used up to full; None without.
        recharge_mains: hours on mains power from used up to full; None without.
        inverter: the inverter, if any.
        worst: A from the batteries with everything on at once, at nominal potential.
        worst_low: the same with the inverter's share at low potential.
        worst_hours: hours that what may be used lasts then; None without.
        battery_needed: rated Ah of the same kind for the days that the shop aims at; 0 without use.
        solar_needed: W that cover the day, or None without sun.
        array_amps: A that those panels give in full sun; None without sun.
        charge_volts: that chargers are set to, the highest of the batteries'; None where no
            battery's maker states it.
        panel_volts: least rated potential of panels that still charge when hot; None where the
            potential to charge to is not known.
        panels: the panels whose maker states their potential, when hot.
        regulated: a charger or regulator looks after the panels, or there are none.
        full: A from the batteries with everything on and the inverter at full power at low
            potential; the drop in the batteries' cables is counted with it.
        isolator: A that the main isolator carries for long at least: the fuses of all batteries
            together; None where one is not known.
        lithium: picks of batteries that are lithium.
        short_circuit: A that all batteries together give into a short circuit; None where one of
            their makers does not say, and without a battery.
        curves: courses of charge over three days; none without a battery.
        circuits: the electrician's table.
        cautions: what stands beside the figures wherever they are shown.
    """

    settings: PowerSettings
    volts: Decimal
    place: str
    sun: Decimal | None
    sun_source: str
    season: str
    driving: Decimal
    consumers: tuple[Consumer, ...]
    idle: Decimal
    daily: Decimal
    average_rate: Decimal | None
    batteries: tuple[str, ...]
    capacity: Decimal
    usable: Decimal
    discharge: Decimal
    peak: Decimal
    charge_limit: Decimal
    solar: Decimal
    solar_daily: Decimal
    solar_share: Decimal | None
    vehicle_amps: Decimal
    vehicle_daily: Decimal
    mains_amps: Decimal
    days_alone: Decimal | None
    days_sun: Decimal | None
    days_driving: Decimal | None
    recharge_driving: Decimal | None
    recharge_mains: Decimal | None
    inverter: InverterState | None
    worst: Decimal
    worst_low: Decimal
    worst_hours: Decimal | None
    battery_needed: Decimal
    solar_needed: Decimal | None
    array_amps: Decimal | None
    charge_volts: Decimal | None
    panel_volts: Decimal | None
    panels: tuple[PanelState, ...]
    regulated: bool
    full: Decimal
    isolator: Decimal | None
    lithium: frozenset[str]
    short_circuit: Decimal | None
    curves: tuple[Curve, ...]
    circuits: tuple[CircuitRow, ...]
    cautions: tuple[str, ...]
