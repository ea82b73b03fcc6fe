"""The power of a selection as a value: use, storage, charging and circuits.

Ah at the nominal voltage of the system, A, W, V, hours and days; exact. Each field says how it is
rounded for people: see :func:`configurator.words.shown`.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.power import PowerSettings
from configurator.power.cables import INSULATION, PAIR
from configurator.power.circuits import CHARGER_DRAW, FEED, PANELS, USE, CircuitRow
from configurator.power.energy import Curve
from configurator.shapes.forms import form
from configurator.words import DOWN, SHARE, UP, text, used


@form(hidden="surge", shown={"pick": str})
@frozen(repr=False)
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

    pick: Pick
    title: str
    count: int
    amps: Decimal = field(metadata=UP)
    watts: Decimal | None
    surge: Decimal | None
    hours: Decimal
    daily: Decimal = field(metadata=UP)


@form(keys={"nominal": "nominal-amps", "low": "low-amps"})
@frozen(repr=False)
class InverterState:
    """The inverter against its loads and the battery.

    Attributes:
        title: its title.
        watts: continuous.
        surge: at the start, or None.
        load: W of everything on 230 V at once.
        largest: W of the largest single load.
        surge_needed: W when the worst of them starts while the others run.
        nominal: A from the battery at full power and nominal voltage.
        low: A at full power and low voltage.
    """

    title: str
    watts: Decimal
    surge: Decimal | None
    load: Decimal = field(metadata=UP)
    largest: Decimal = field(metadata=UP)
    surge_needed: Decimal = field(metadata=UP)
    nominal: Decimal = field(metadata=UP)
    low: Decimal = field(metadata=UP)


@form()
@frozen(repr=False)
class PanelState:
    """A kind of panel against the battery that it charges.

    Attributes:
        title: its title.
        volts: rated voltage at maximum power.
        hot: the same with hot cells.
        needed: that it must bring when hot: the voltage to charge to and the regulator's
            headroom.
    """

    title: str
    volts: Decimal
    hot: Decimal = field(metadata=DOWN)
    needed: Decimal = field(metadata=UP)


@form(
    hidden="settings lithium",
    keys={"idle": "inverter-idle", "full": "full-amps"},
    values={"season": ("summer", "winter", "year")},
)
@frozen(repr=False)
class PowerPicture:
    """Power of a selection.

    Attributes:
        settings: the shop's figures that it counts with.
        volts: nominal voltage.
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
        days_sun: days with the sun only; None when that is unlimited.
        days_driving: days with driving only; None when that is unlimited.
        recharge_driving: hours of driving from used up to full; None without.
        recharge_mains: hours on mains power from used up to full; None without.
        inverter: the inverter, if any.
        worst: A from the batteries with all loads on at once, those on 230 V through the inverter,
            at nominal voltage.
        worst_low: the same, those on 230 V counted at low voltage.
        worst_hours: hours that what may be used lasts with all loads on at once; None without.
        battery_needed: rated Ah of the same kind for the days that the shop aims at; 0 without use.
        solar_needed: W that cover the day, or None without sun.
        array_amps: A that those panels give in full sun; None without sun.
        charge_volts: that chargers are set to, the highest of the batteries'; None where no
            battery's maker states it.
        panel_volts: least rated voltage of panels that still charge when hot; None where the
            voltage to charge to is not known.
        panels: the panels whose maker states their voltage, when hot.
        regulated: a charger or regulator looks after the panels, or there are none.
        full: A from the batteries with all loads on that are not on 230 V, and the inverter at
            full power at low voltage; the drop in the batteries' cables is counted with it.
        isolator: A that the main isolator carries for long at least: the fuses of all batteries
            together; None where one is not known.
        lithium: picks of batteries that are lithium.
        short_circuit: A that all batteries together give into a short circuit; None where one of
            their makers does not say, and without a battery.
        curves: courses of charge over three days; none without a battery.
        circuits: the electrician's table.
        cautions: what is next to the figures wherever they are shown.
    """

    settings: PowerSettings
    volts: Decimal
    place: str
    sun: Decimal | None
    sun_source: str
    season: str
    driving: Decimal
    consumers: tuple[Consumer, ...]
    idle: Decimal = field(metadata=UP)
    daily: Decimal = field(metadata=UP)
    average_rate: Decimal | None = field(metadata=DOWN)
    batteries: tuple[str, ...]
    capacity: Decimal = field(metadata=DOWN)
    usable: Decimal = field(metadata=DOWN)
    discharge: Decimal = field(metadata=DOWN)
    peak: Decimal = field(metadata=DOWN)
    charge_limit: Decimal = field(metadata=DOWN)
    solar: Decimal
    solar_daily: Decimal = field(metadata=DOWN)
    solar_share: Decimal | None = field(metadata=SHARE)
    vehicle_amps: Decimal = field(metadata=DOWN)
    vehicle_daily: Decimal = field(metadata=DOWN)
    mains_amps: Decimal = field(metadata=DOWN)
    days_alone: Decimal | None = field(metadata=DOWN)
    days_sun: Decimal | None = field(metadata=DOWN)
    days_driving: Decimal | None = field(metadata=DOWN)
    recharge_driving: Decimal | None = field(metadata=UP)
    recharge_mains: Decimal | None = field(metadata=UP)
    inverter: InverterState | None
    worst: Decimal = field(metadata=UP)
    worst_low: Decimal = field(metadata=UP)
    worst_hours: Decimal | None = field(metadata=DOWN)
    battery_needed: Decimal = field(metadata=UP)
    solar_needed: Decimal | None = field(metadata=UP)
    array_amps: Decimal | None = field(metadata=UP)
    charge_volts: Decimal | None
    panel_volts: Decimal | None = field(metadata=UP)
    panels: tuple[PanelState, ...]
    regulated: bool
    full: Decimal = field(metadata=UP)
    isolator: Decimal | None = field(metadata=UP)
    lithium: tuple[Pick, ...]
    short_circuit: Decimal | None
    curves: tuple[Curve, ...]
    circuits: tuple[CircuitRow, ...]
    cautions: tuple[str, ...]


def basis(picture: PowerPicture) -> tuple[str, ...]:
    """What stands behind the figures of a picture's circuits; empty where it has none."""
    return tuple(_sentences(picture.settings, picture)) if picture.circuits else ()


def _sentences(settings: PowerSettings, picture: PowerPicture) -> Iterator[str]:
    rows = picture.circuits
    yield text(
        "Cable: flexible class 5 copper (IEC 60228 table 3), single-core, insulation for "
        "{insulation} °C, clipped direct; what it carries is BS 7671 table 4E1A, method C, two "
        "cables d.c. A cable with other insulation, such as for 75 °C, carries less: these "
        "figures do not hold for it.",
        insulation=INSULATION,
    )
    yield text(
        "Heat: cables run at {ambient} °C unless their circuit says otherwise; they carry less by "
        "the square root of what remains up to {insulation} °C. The drop counts copper at "
        "{conductor} °C, or at the heat around it where that is more (IEC 60287-1-1).",
        ambient=settings.ambient,
        insulation=INSULATION,
        conductor=settings.conductor,
    )
    yield text(
        "Bundles: {grouped} loaded cables run together unless their circuit says otherwise; a "
        "circuit alone has {pair}, out and back. Of what a cable carries alone, 0.70 remains with "
        "3 in a bundle, 0.60 with 4 to 6, 0.50 with 7 to 24 (ABYC E-11).",
        grouped=settings.grouped,
        pair=PAIR,
    )
    if any(row.cable is not None and row.cable.count > 1 for row in rows):
        yield text(
            "Cables in parallel: all of them count in the bundle unless they run apart. They are "
            "of one length and one size, and each has a fuse of its own at the end that feeds it."
        )
    if any(row.part == FEED for row in rows):
        yield text(
            "A charger from the vehicle draws {charger_draw} times what it gives (common "
            "practice). Its cable from the starter battery is counted at {engine_bay} °C for the "
            "engine bay unless its circuit says otherwise; near the exhaust it is hotter.",
            charger_draw=CHARGER_DRAW,
            engine_bay=settings.engine_bay,
        )
    if picture.inverter is not None:
        yield text(
            "An inverter is counted at full power at {low_volts} V, where it draws most.",
            low_volts=settings.low_volts,
        )
    if any(row.part == PANELS for row in rows):
        yield text("Panels are counted with their rated W at {volts} V.", volts=settings.volts)
    if any(row.kind == USE and row.total is not None for row in rows):
        yield text(
            "From battery to load: the drop in the cables of battery, fuse panel and load "
            "together, with all {volts} V loads on{inverter} ({amps} A); at most {drop} per cent "
            "(AS/NZS 3000, extra-low voltage).",
            volts=settings.volts,
            inverter=text(" and the inverter at full power") if picture.inverter else "",
            amps=used(picture.full),
            drop=settings.drop,
        )
    if picture.panel_volts is not None and any(row.part == PANELS for row in rows):
        yield text(
            "Volts of a panel: with cells at {hot_cells} °C it must give {volts} V, which is what "
            "the battery is charged to and {headroom} V for the regulator; that is {rated} V as "
            "rated at 25 °C, at maximum power.",
            hot_cells=settings.hot_cells,
            volts=(picture.charge_volts or 0) + settings.headroom,
            headroom=settings.headroom,
            rated=used(picture.panel_volts),
        )
