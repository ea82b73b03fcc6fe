"""The electrician's circuit table: per circuit its current, run, fuse, cable and voltage drop.

A planning aid: a licensed electrician decides. Each circuit obeys load, at most fuse, at most
cable, with the cable derated for heat and bundling, and its drop out and back within the limit.
What a charger gives leaves it by a circuit of its own, beside the one that feeds it.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import attrs
from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.power import Circuit, Power, PowerSettings
from configurator.fit.layout import Layout, Placement
from configurator.power.cables import (
    MOST_IN_PARALLEL,
    RESISTANCE,
    Cable,
    Laying,
    cable_of,
    fuse_at_least,
    smallest_cable,
)
from configurator.power.energy import inverter_current
from configurator.selection.resolved import Resolved, once
from configurator.shapes.forms import form
from configurator.words import LOSS, UP, left

_HEADROOM = Decimal("1.25")
"""A fuse that nobody states is chosen a quarter above the current (common practice, no source)."""

CHARGER_DRAW = Decimal("1.25")
"""A charger draws about a quarter more than it gives (common practice, no source)."""

_SLACK = Decimal(1)
"""Metres that a run measured on the layout gets for bends and connections."""

STORE, SOURCE, PANEL, USE = "battery", "source", "distribution", "use"
"""Kinds of circuit: the battery's own, what charges it, what feeds a fuse panel, what draws."""

FEED, OUTPUT, PANELS = "feed", "output", "panels"
"""Parts of a source: from the starter battery, from a charger's output, from the panels."""


@form(
    hidden="rating bundle behind cable better most",
    also="cable_size in_parallel own_fuse carries loaded better_cable",
    keys={"percent": "drop", "total": "total-drop", "cable_size": "cable"},
    shown={"pick": str, "carries": left},
    values={
        "kind": (STORE, SOURCE, PANEL, USE),
        "part": ("", FEED, OUTPUT, PANELS),
    },
)
@frozen(repr=False)
class CircuitRow:
    """One circuit.

    Attributes:
        pick: ``choice=option`` that it feeds.
        title: its title.
        kind: ``battery``, ``source``, ``distribution`` or ``use``.
        part: of a source: ``feed`` from the starter battery (its fuse sits there), ``output`` to
            the battery (its fuse sits there) or ``panels`` to their regulator; else empty.
        count: how many such circuits.
        amps: current in use, A.
        run: one way, m; None where neither the catalogue nor the layout tells. The layout knows
            nothing of the way to the starter battery.
        limit: largest drop, per cent.
        rating: A that a fuse panel carries; None for any other part.
        fuse: A; None when no fuse available carries it.
        fuse_stated: its maker asks for that fuse.
        fuse_type: class or pattern of the fuse, or empty.
        breaks: direct current that the fuse breaks safely, A; None where nobody says.
        bundle: loaded cables in its bundle, its own pair counted.
        apart: pairs in parallel run apart from each other.
        ambient: degrees Celsius at the hottest part of its run.
        behind: a load that a fuse panel, where there is one, feeds.
        cable: the cable; None when it is not known or none in the table will do.
        cable_stated: it comes with that cable.
        better: the smallest cable that will do, where the stated one will not.
        most: the most cable in the table, where not even that will do.
        percent: drop of the nominal voltage with the cable, or None.
        total: drop from the battery to the load, the cables of battery and fuse panel counted,
            per cent; None for what is no load, and where one of them is not known.
        faults: what is wrong, of ``fuse-below-load``, ``cable-below-fuse``, ``drop``,
            ``no-cable``, ``no-fuse``, ``unknown-cable``, ``no-run``, ``panel-too-small`` and
            ``fuse-too-far``.
    """

    pick: Pick
    title: str
    kind: str
    part: str
    count: int
    amps: Decimal = field(metadata=UP)
    run: Decimal | None = field(metadata=LOSS)
    limit: Decimal
    rating: Decimal | None
    fuse: Decimal | None
    fuse_stated: bool
    fuse_type: str
    breaks: Decimal | None
    bundle: int
    apart: bool
    ambient: int
    behind: bool
    cable: Cable | None
    cable_stated: bool
    better: Cable | None
    most: Cable | None
    percent: Decimal | None = field(metadata=LOSS)
    total: Decimal | None = field(metadata=LOSS)
    faults: tuple[str, ...]

    @property
    def cable_size(self) -> Decimal | None:
        """Size of one conductor, mm²; None where there is no cable."""
        return None if self.cable is None else self.cable.size

    @property
    def in_parallel(self) -> int | None:
        """How many cables run in parallel on each pole."""
        return None if self.cable is None else self.cable.count

    @property
    def own_fuse(self) -> Decimal | None:
        """A of the fuse that each of several in parallel needs; None for a single one."""
        return None if self.cable is None else self.cable.own_fuse

    @property
    def carries(self) -> Decimal | None:
        """A that the cable carries after derating, all in parallel together."""
        return None if self.cable is None else self.cable.carries

    @property
    def loaded(self) -> int:
        """Loaded cables in its bundle."""
        return self.bundle if self.cable is None else self.cable.loaded

    @property
    def better_cable(self) -> Decimal | None:
        """The smallest size that will do, where the stated one will not, mm²."""
        return None if self.better is None else self.better.size


def circuits(build: Resolved, layout: Layout | None) -> tuple[CircuitRow, ...]:
    """Every circuit of the picks, in the catalogue's order."""
    settings = build.catalogue.power
    rows = []
    for choice, option, quantity in build.picks:
        power = option.power
        if power is None:
            continue
        measured = _measured(build, layout, choice.id, option.id)
        pick = Pick(choice.id, option.id)
        for wanted in _wanted(power, build):
            run = wanted.circuit.run
            if run is None and wanted.part != FEED:
                run = measured
            rows.append(_row(settings, pick, option.title, quantity, wanted, run))
    return tuple(_with_totals(build, rows))


@once
def full_current(build: Resolved) -> Decimal:
    """A from the batteries with all loads on but those on 230 V, and inverters at full power."""
    amps = (
        (_current(option.power, build.catalogue.power), n)
        for _, option, n in build.picks
        if option.power is not None and _kind(option.power) == (USE, "")
    )
    return sum((n * a for a, n in amps if a is not None), Decimal(0))


def _run_between(one: Placement, other: Placement) -> Decimal:
    """Metres of cable from the middle of one unit to the middle of another, along the walls."""
    steps = (
        (one.x, one.length, other.x, other.length),
        (one.y, one.width, other.y, other.width),
        (one.z, one.height, other.z, other.height),
    )
    twice = sum(abs(2 * a + size - 2 * b - other_size) for a, size, b, other_size in steps)
    return Decimal(twice) / 2000


def _measured(build: Resolved, layout: Layout | None, choice: str, option: str) -> Decimal | None:
    """The longest run from a battery to a unit of the option, with slack."""
    batteries = {
        (c.id, o.id)
        for c, o, _ in build.picks
        if o.power is not None and o.power.battery is not None
    }
    placed = layout.placements if layout is not None else ()
    runs = [
        _run_between(unit, battery) + _SLACK
        for unit in placed
        for battery in placed
        if (unit.choice, unit.option) == (choice, option)
        and (battery.choice, battery.option) in batteries
    ]
    return max(runs, default=None)


@frozen(eq=False, repr=False)
class _Wanted:
    """A circuit that a part asks for: as stated, its kind, part and current in use.

    The rating is what a fuse panel carries, A.
    """

    circuit: Circuit
    kind: str
    part: str
    amps: Decimal
    behind: bool = False
    rating: Decimal | None = None


def _wanted(power: Power, build: Resolved) -> Iterator[_Wanted]:
    """The circuits of a part."""
    charger = power.vehicle_charger
    kind, part = _kind(power)
    through = _through_panel(build) if kind == PANEL else None
    amps = through if through is not None else _current(power, build.catalogue.power)
    if power.circuit is not None and amps is not None:
        rating = power.distribution.amps if power.distribution is not None else None
        yield _Wanted(power.circuit, kind, part, amps, _behind_panel(power), rating)
    if charger is not None and (power.circuit is not None or charger.output is not None):
        yield _Wanted(charger.output or Circuit(), SOURCE, OUTPUT, charger.amps)


def _kind(power: Power) -> tuple[str, str]:
    if power.battery is not None:
        return STORE, ""
    if power.distribution is not None:
        return PANEL, ""
    if power.inverter is not None:
        return USE, ""
    if power.vehicle_charger is not None:
        return SOURCE, FEED
    if power.mains_charger is not None or power.regulator is not None:
        return SOURCE, OUTPUT
    return (SOURCE, PANELS) if power.solar is not None else (USE, "")


def _current(power: Power, settings: PowerSettings) -> Decimal | None:
    """The current that a part's circuit carries in use; None for what runs on 230 V."""
    if power.battery is not None:
        return power.battery.discharge
    if power.inverter is not None:
        inverter = power.inverter
        return inverter_current(inverter.watts, settings.low_volts, inverter.efficiency)
    if power.vehicle_charger is not None:
        return power.vehicle_charger.amps * CHARGER_DRAW
    charger = power.mains_charger or power.regulator
    if charger is not None:
        return charger.amps
    if power.solar is not None:
        return power.solar.watts / settings.volts
    load = power.load
    if load is None or load.mains:
        return None
    return load.amps if load.amps is not None else (load.watts or Decimal(0)) / settings.volts


def _through_panel(build: Resolved) -> Decimal:
    """A of everything that a fuse panel feeds, on at once."""
    amps = (
        n * (_current(option.power, build.catalogue.power) or Decimal(0))
        for _, option, n in build.picks
        if option.power is not None and _behind_panel(option.power)
    )
    return sum(amps, Decimal(0))


def _behind_panel(power: Power) -> bool:
    """Whether it is a load that a fuse panel feeds; an inverter never is."""
    load = _kind(power) == (USE, "") and power.inverter is None
    return load and not (power.circuit is not None and power.circuit.direct)


def _row(
    settings: PowerSettings,
    pick: Pick,
    title: str,
    count: int,
    wanted: _Wanted,
    run: Decimal | None,
) -> CircuitRow:
    circuit, amps = wanted.circuit, wanted.amps
    fuse = circuit.fuse if circuit.fuse is not None else fuse_at_least(amps * _HEADROOM)
    usual = settings.engine_bay if wanted.part == FEED else settings.ambient
    ambient = circuit.ambient if circuit.ambient is not None else usual
    bundle = circuit.bundle if circuit.bundle is not None else settings.grouped
    laid = Laying(ambient, max(settings.conductor, ambient), bundle, circuit.apart)
    best = most = None
    if run is not None and fuse is not None:
        best = smallest_cable(amps, run, fuse, settings.volts, circuit.drop, laid)
        if best is None:
            most = cable_of(max(RESISTANCE), MOST_IN_PARALLEL, amps, run, laid, fuse)
    stated, cable = circuit.cable, best
    if stated is not None:
        known = stated in RESISTANCE and run is not None
        cable = cable_of(stated, 1, amps, run, laid, fuse) if known and run is not None else None
    percent = 100 * cable.drop / settings.volts if cable is not None else None
    faults = tuple(_faults(settings, wanted, run, fuse, cable, percent))
    return CircuitRow(
        pick=pick,
        title=title,
        kind=wanted.kind,
        part=wanted.part,
        count=count,
        amps=amps,
        run=run,
        limit=circuit.drop,
        rating=wanted.rating,
        fuse=fuse,
        fuse_stated=circuit.fuse is not None,
        fuse_type=circuit.fuse_type,
        breaks=circuit.breaks,
        bundle=bundle,
        apart=circuit.apart,
        ambient=ambient,
        behind=wanted.behind,
        cable=cable,
        cable_stated=stated is not None,
        better=best if stated is not None and {"drop", "cable-below-fuse"} & set(faults) else None,
        most=most,
        percent=percent,
        total=None,
        faults=faults,
    )


def _with_totals(build: Resolved, rows: list[CircuitRow]) -> Iterator[CircuitRow]:
    """The rows with the drop from the battery to each load.

    The batteries' cables are counted with all other loads on and the inverter at full power,
    which each battery gives its share of by its capacity; a fuse panel's with all that it feeds.
    """
    battery = _battery_percent(build, rows)
    panels = [row.percent for row in rows if row.kind == PANEL]
    for row in rows:
        parts = [battery, *(panels if row.behind else []), row.percent]
        known = [part for part in parts if part is not None]
        total = sum(known, Decimal(0)) if len(known) == len(parts) else None
        yield attrs.evolve(row, total=total) if row.kind == USE else row


def _battery_percent(build: Resolved, rows: list[CircuitRow]) -> Decimal | None:
    """The largest drop of a battery's own cable, per cent; None where one is not known."""
    batteries = [
        (Pick(choice.id, option.id), option.power.battery, n)
        for choice, option, n in build.picks
        if option.power is not None and option.power.battery is not None
    ]
    capacity = sum((n * battery.capacity for _, battery, n in batteries), Decimal(0))
    amps = full_current(build)
    known = {row.pick: row for row in rows if row.kind == STORE}
    drops = []
    for pick, battery, _ in batteries:
        row = known.get(pick)
        if row is None or row.percent is None:
            return None
        drops.append(row.percent * amps * battery.capacity / capacity / row.amps)
    return max(drops, default=None)


def _faults(
    settings: PowerSettings,
    wanted: _Wanted,
    run: Decimal | None,
    fuse: Decimal | None,
    cable: Cable | None,
    percent: Decimal | None,
) -> Iterator[str]:
    circuit, amps = wanted.circuit, wanted.amps
    if wanted.rating is not None and max(fuse or amps, amps) > wanted.rating:
        yield "panel-too-small"
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
    if cable is not None and fuse is not None and fuse > cable.carries:
        yield "cable-below-fuse"
    if percent is not None and percent > circuit.drop:
        yield "drop"
    if circuit.fuse_at is not None and circuit.fuse_at > settings.fuse_within:
        yield "fuse-too-far"
