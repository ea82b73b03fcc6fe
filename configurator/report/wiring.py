"""The wiring sheet as a value: what the electrician works from, and what only they decide.

A planning aid. Currents A at nominal voltage, voltages V, lengths m, cable sizes mm².
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.power import Battery, Power, PowerSettings
from configurator.checking.power import power_findings
from configurator.fit.layout import Layout
from configurator.power.cables import size_for_drop, size_for_fuse
from configurator.power.circuits import FEED, PANEL, SOURCE, STORE, USE, CircuitRow
from configurator.power.picture import Consumer, InverterState, PowerPicture, basis
from configurator.power.summary import power_picture
from configurator.report.sheet_head import SheetHead
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import shown, text, used

_EARTHING = text(
    "230 V: sockets, inlet, inverter output, safety switch and protective earth, and how they and "
    "the vehicle's body are bonded together, are designed, connected and tested by a licensed "
    "electrician under local rules. Nothing on this sheet sizes or settles any of it."
)
_RETURN = text(
    "Every length counts the way out and back in cable: no current is planned to return through "
    "the body of the canopy. Where and how the body is joined to the battery's negative pole is "
    "for the electrician."
)
_FUSES = text(
    "A fuse protects its cable and sits as close as possible to its supply. Never fit a larger "
    "fuse than is stated here without a larger cable."
)

_STARTER = text(
    "The cable from the starter battery has a fuse of its own at that battery, as near to it as "
    "the auxiliary battery's fuse is to its own. Keep the cable off the exhaust and off sharp "
    "edges; where it is hotter than counted here, it carries less."
)
_BREAKING = text(
    "Every fuse must break what the batteries give into a short circuit, as direct current at "
    "their voltage. Where no breaking capacity stands here, the electrician settles it with the "
    "makers of battery and fuse."
)
_ISOLATOR = text(
    "A main isolator switches off all the batteries by hand; it sits beside them, within reach. "
    "No other part on this sheet replaces it."
)
_BEHIND_IT = text(
    "The conductors between isolator and bus bar, the bus bar itself and the common negative carry "
    "all batteries together: size them for the fuses of all, not for one battery's cable. With the "
    "isolator open the bus bar may still be live from the sun, the alternator or shore power."
)


@form(inline="circuit", keys={"drop": "drop-volts"})
@frozen
class CircuitLine:
    """One circuit.

    Attributes:
        number: in the order of the sheet, as on the diagram.
        circuit: what is known of it, its figures as people read them.
        both_ways: length out and back, m; None when the run is not known.
        by_drop: smallest single cable for the drop; None when none in the table will do.
        by_fuse: smallest single cable that the fuse protects; None likewise.
        drop: V with the chosen cable, or None.
    """

    number: int
    circuit: CircuitRow
    both_ways: Decimal | None
    by_drop: Decimal | None
    by_fuse: Decimal | None
    drop: Decimal | None


@form(inline="battery")
@frozen
class BatteryRow:
    """Batteries of one kind.

    Attributes:
        title: its title.
        count: how many.
        battery: the maker's figures of one.
        fuse: A of its fuse; None when none is known.
        fuse_type: class or pattern of the fuse, or empty.
        breaks: A that the fuse breaks; None where nobody says.
    """

    title: str
    count: int
    battery: Battery
    fuse: Decimal | None
    fuse_type: str
    breaks: Decimal | None


@form(values={"kind": ("vehicle", "mains", "regulator", "solar")})
@frozen
class ChargerRow:
    """What charges the batteries.

    Attributes:
        kind: ``vehicle``, ``mains``, ``regulator`` or ``solar``.
        title: its title.
        count: how many.
        amps: that one gives; of panels, in full sun at nominal voltage.
        watts: of one panel; else None.
        limit: A that it is set to at the most, so that the batteries take it; None for panels.
    """

    kind: str
    title: str
    count: int
    amps: Decimal
    watts: Decimal | None
    limit: Decimal | None


@form(inline="state")
@frozen
class InverterRow:
    """The inverter on its 12 V side.

    Attributes:
        state: what it gives and draws.
        fuse: A; None when none is known.
        cable: size of one conductor, mm²; None where there is no cable.
        in_parallel: how many cables run in parallel on each pole.
    """

    state: InverterState
    fuse: Decimal | None
    cable: Decimal | None
    in_parallel: int | None


@form("wiring", hidden="settings regulators", also="volts low_volts", inline="head")
@frozen
class WiringSheet:
    """Everything that is on a wiring sheet.

    Attributes:
        head: number, date, vehicle, customer.
        settings: the shop's figures that the sums use.
        circuits: batteries, sources, fuse panels, then what draws, in the catalogue's order.
        batteries: by kind.
        charge_limit: A that all batteries take together.
        chargers: what charges them.
        inverter: if any.
        mains: what runs on 230 V.
        worst: A with all loads on at once; those on 230 V through the inverter at low voltage.
        full: A with all loads on that are not on 230 V, and the inverter at full power at low
            voltage.
        isolator: A that the main isolator carries for long at least; None where a battery's fuse
            is not known.
        short_circuit: A that all batteries give into a short circuit, or None.
        regulators: titles of what regulates the panels.
        basis: what the sums count with.
        findings: what the check of the power has to say of it.
        cautions: what is next to all this.
    """

    head: SheetHead
    settings: PowerSettings
    circuits: tuple[CircuitLine, ...]
    batteries: tuple[BatteryRow, ...]
    charge_limit: Decimal
    chargers: tuple[ChargerRow, ...]
    inverter: InverterRow | None
    mains: tuple[Consumer, ...]
    worst: Decimal
    full: Decimal
    isolator: Decimal | None
    short_circuit: Decimal | None
    regulators: tuple[str, ...]
    basis: tuple[str, ...]
    findings: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def volts(self) -> Decimal:
        """Nominal voltage of the system."""
        return self.settings.volts

    @property
    def low_volts(self) -> Decimal:
        """The voltage that an inverter's current is counted at, when the battery is low."""
        return self.settings.low_volts


def wiring_sheet(build: Resolved, head: SheetHead, layout: Layout) -> WiringSheet | None:
    """The wiring sheet, None where nothing is wired; head and layout are of ``sheet_head``."""
    geared = [
        (Pick(choice.id, option.id), option, option.power, quantity)
        for choice, option, quantity in build.picks
        if option.power is not None
    ]
    if not geared:
        return None
    exact = power_picture(build, layout)
    findings = power_findings(build, layout)
    picture = shown(exact)
    rows = {row.pick: row for row in picture.circuits if row.kind in (STORE, USE)}
    return WiringSheet(
        head=head,
        settings=build.catalogue.power,
        circuits=tuple(_circuits(exact)),
        batteries=tuple(_batteries(geared, rows)),
        charge_limit=picture.charge_limit,
        chargers=tuple(_chargers(geared, picture.charge_limit, build.catalogue.power.volts)),
        inverter=_inverter(geared, rows, picture.inverter),
        mains=tuple(c for c in picture.consumers if c.watts is not None),
        worst=picture.worst_low,
        full=picture.full,
        isolator=picture.isolator,
        short_circuit=picture.short_circuit,
        regulators=tuple(_regulators(geared)),
        basis=basis(exact),
        findings=tuple(f"{f.sentence}." for f in findings),
        cautions=(*picture.cautions, _EARTHING, _RETURN, _FUSES, *_more_cautions(picture)),
    )


_Geared = list[tuple[Pick, Option, Power, int]]


def _more_cautions(picture: PowerPicture) -> Iterator[str]:
    if picture.batteries:
        yield _BREAKING
        yield _ISOLATOR
        yield _BEHIND_IT
    if any(row.part == FEED for row in picture.circuits):
        yield _STARTER


def _circuits(picture: PowerPicture) -> Iterator[CircuitLine]:
    settings = picture.settings
    order = (STORE, SOURCE, PANEL, USE)
    rows = sorted(picture.circuits, key=lambda row: order.index(row.kind))
    for number, row in enumerate(rows, 1):
        conductor, said = max(settings.conductor, row.ambient), shown(row)
        by_drop = None
        if row.run is not None:
            by_drop = size_for_drop(row.amps, row.run, settings.volts, row.limit, conductor)
        yield CircuitLine(
            number=number,
            circuit=said,
            both_ways=None if said.run is None else 2 * said.run,
            by_drop=by_drop,
            by_fuse=None if row.fuse is None else size_for_fuse(row.fuse, row.ambient, row.bundle),
            drop=None if said.cable is None else said.cable.drop,
        )


def _regulators(geared: _Geared) -> Iterator[str]:
    for _, option, power, _ in geared:
        charger = power.vehicle_charger
        if power.regulator is not None or (charger is not None and charger.regulates):
            yield option.title


def _batteries(geared: _Geared, rows: dict[Pick, CircuitRow]) -> Iterator[BatteryRow]:
    for pick, option, power, quantity in geared:
        if power.battery is not None:
            row = rows.get(pick)
            fuse = (row.fuse, row.fuse_type, row.breaks) if row else (None, "", None)
            yield BatteryRow(option.title, quantity, power.battery, *fuse)


def _chargers(geared: _Geared, limit: Decimal, volts: Decimal) -> Iterator[ChargerRow]:
    for _, option, power, quantity in geared:
        for kind, charger in (
            ("vehicle", power.vehicle_charger),
            ("mains", power.mains_charger),
            ("regulator", power.regulator),
        ):
            if charger is not None:
                most = min(charger.amps, limit)
                yield ChargerRow(kind, option.title, quantity, charger.amps, None, most)
        if power.solar is not None:
            watts = power.solar.watts
            yield ChargerRow("solar", option.title, quantity, used(watts / volts), watts, None)


def _inverter(
    geared: _Geared, rows: dict[Pick, CircuitRow], state: InverterState | None
) -> InverterRow | None:
    if state is None:
        return None
    row = next(
        rows.get(pick)
        for pick, option, power, _ in geared
        if power.inverter is not None and option.title == state.title
    )
    if row is None:
        return InverterRow(state, None, None, None)
    return InverterRow(state, row.fuse, row.cable_size, row.in_parallel)
