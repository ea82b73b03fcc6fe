"""The electrician's circuit table: per circuit its current, run, fuse, cable and voltage drop.

A planning aid: a licensed electrician decides. Each circuit obeys load, at most fuse, at most
cable, with the cable derated for heat and bundling, and its drop out and back within the limit.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue, Circuit, Option
from configurator.catalogue.settings import PowerSettings
from configurator.fit.layout import Layout, Placement
from configurator.power.cables import (
    RESISTANCE,
    Cable,
    cable_of,
    fuse_at_least,
    fuse_ceiling,
    fuse_is_near,
    smallest_cable,
)
from configurator.power.energy import inverter_current
from configurator.selection.picks import Selection, known_picks

__all__ = ["CircuitRow", "circuits", "run_between"]

_HEADROOM = Decimal("1.25")
"""A fuse that nobody states is chosen a quarter above the current (common practice, no source)."""

_CHARGER_DRAW = Decimal("1.25")
"""A charger draws about a quarter more than it gives (common practice, no source)."""

_SLACK = Decimal(1)
"""Metres that a run measured on the layout gets for bends and connections."""


@frozen
class CircuitRow:
    """One circuit.

    Attributes:
        pick: ``choice=option`` that it feeds.
        title: its title.
        count: how many such circuits.
        amps: current in use, A.
        run: one way, m; None where neither the catalogue nor the layout tells.
        limit: largest drop, percent.
        fuse: A; None when no fuse to be had carries it.
        fuse_stated: its maker asks for that fuse.
        cable: the cable; None when it is not known or none in the table will do.
        cable_stated: it comes with that cable.
        better: the smallest cable that will do, where the stated one will not.
        percent: drop of the nominal potential with the cable, or None.
        faults: what is wrong, of ``fuse-below-load``, ``cable-below-fuse``, ``drop``,
            ``no-cable``, ``no-fuse``, ``unknown-cable``, ``no-run`` and ``fuse-too-far``.
    """

    pick: str
    title: str
    count: int
    amps: Decimal
    run: Decimal | None
    limit: Decimal
    fuse: Decimal | None
    fuse_stated: bool
    cable: Cable | None
    cable_stated: bool
    better: Cable | None
    percent: Decimal | None
    faults: tuple[str, ...]


def circuits(
    catalogue: Catalogue, selection: Selection, layout: Layout | None
) -> tuple[CircuitRow, ...]:
    """Every circuit of the picks, in the catalogue's order."""
    settings = catalogue.power
    rows = []
    for choice, option, quantity in known_picks(catalogue, selection):
        power = option.power
        if power is None or power.circuit is None:
            continue
        amps = _current(option, settings)
        if amps is None:
            continue
        run = power.circuit.run
        if run is None:
            run = _measured(catalogue, selection, layout, choice.id, option.id)
        rows.append(
            _row(settings, f"{choice.id}={option.id}", option, quantity, power.circuit, amps, run)
        )
    return tuple(rows)


def run_between(one: Placement, other: Placement) -> Decimal:
    """Metres of cable from the middle of one unit to the middle of another, along the walls."""
    steps = (
        (one.x, one.length, other.x, other.length),
        (one.y, one.width, other.y, other.width),
        (one.z, one.height, other.z, other.height),
    )
    twice = sum(abs(2 * a + size - 2 * b - other_size) for a, size, b, other_size in steps)
    return Decimal(twice) / 2000


def _measured(
    catalogue: Catalogue, selection: Selection, layout: Layout | None, choice: str, option: str
) -> Decimal | None:
    """The longest run from a battery to a unit of the option, with slack."""
    batteries = {
        (c.id, o.id)
        for c, o, _ in known_picks(catalogue, selection)
        if o.power is not None and o.power.battery is not None
    }
    placed = layout.placements if layout is not None else ()
    runs = [
        run_between(unit, battery) + _SLACK
        for unit in placed
        for battery in placed
        if (unit.choice, unit.option) == (choice, option)
        and (battery.choice, battery.option) in batteries
    ]
    return max(runs, default=None)


def _current(option: Option, settings: PowerSettings) -> Decimal | None:
    """The current that the option's circuit carries in use; None for what runs on 230 V."""
    power = option.power
    assert power is not None
    if power.battery is not None:
        return power.battery.discharge
    if power.inverter is not None:
        inverter = power.inverter
        return inverter_current(inverter.watts, settings.low_volts, inverter.efficiency)
    if power.vehicle_charger is not None:
        return power.vehicle_charger.amps * _CHARGER_DRAW
    if power.mains_charger is not None:
        return power.mains_charger.amps
    if power.solar is not None:
        return power.solar.watts / settings.volts
    load = power.load
    if load is None or load.mains:
        return None
    return load.amps if load.amps is not None else (load.watts or Decimal(0)) / settings.volts


def _row(
    settings: PowerSettings,
    pick: str,
    option: Option,
    count: int,
    circuit: Circuit,
    amps: Decimal,
    run: Decimal | None,
) -> CircuitRow:
    fuse = circuit.fuse if circuit.fuse is not None else fuse_at_least(amps * _HEADROOM)
    best = None
    if run is not None and fuse is not None:
        best = smallest_cable(
            amps,
            run,
            fuse,
            settings.volts,
            circuit.drop,
            settings.ambient,
            settings.conductor,
            settings.grouped,
        )
    stated = circuit.cable
    cable = best
    if stated is not None:
        known = stated in RESISTANCE and run is not None
        cable = _stated(settings, stated, amps, run) if known and run is not None else None
    percent = 100 * cable.drop / settings.volts if cable is not None else None
    faults = tuple(_faults(settings, circuit, amps, run, fuse, cable, percent))
    return CircuitRow(
        pick=pick,
        title=option.title,
        count=count,
        amps=amps,
        run=run,
        limit=circuit.drop,
        fuse=fuse,
        fuse_stated=circuit.fuse is not None,
        cable=cable,
        cable_stated=stated is not None,
        better=best if stated is not None and {"drop", "cable-below-fuse"} & set(faults) else None,
        percent=percent,
        faults=faults,
    )


def _stated(settings: PowerSettings, size: Decimal, amps: Decimal, run: Decimal) -> Cable:
    return cable_of(size, 1, amps, run, settings.ambient, settings.conductor, settings.grouped)


def _faults(
    settings: PowerSettings,
    circuit: Circuit,
    amps: Decimal,
    run: Decimal | None,
    fuse: Decimal | None,
    cable: Cable | None,
    percent: Decimal | None,
) -> Iterator[str]:
    if fuse is None:
        yield "no-fuse"
    elif fuse < amps:
        yield "fuse-below-load"
    if run is None:
        yield "no-run"
    elif circuit.cable is not None and circuit.cable not in RESISTANCE:
        yield "unknown-cable"
    elif cable is None and fuse is not None:
        yield "no-cable"
    if cable is not None and fuse is not None and fuse > fuse_ceiling(cable.carries):
        yield "cable-below-fuse"
    if percent is not None and percent > circuit.drop:
        yield "drop"
    if circuit.fuse_at is not None and not fuse_is_near(circuit.fuse_at, settings.fuse_within):
        yield "fuse-too-far"
