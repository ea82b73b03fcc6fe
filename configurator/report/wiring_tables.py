"""The tables and sentences of the wiring sheet, for a terminal and for paper."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from configurator.power.circuits import CircuitRow
from configurator.report.model import DASH, Cell, Column, Paragraph, Report, Table, Value, table_of
from configurator.report.sheet_head import DONE, NUMBER
from configurator.report.wiring import CircuitLine, InverterRow, WiringSheet
from configurator.words import Text, joined, text

PLANNING_AID = text(
    "A planning aid for a licensed electrician, who decides with the makers' instructions and "
    "local rules."
)
DIAGRAM = text(
    "Both poles as one line; numbers as in the table of circuits. Boxes on the lines are fuses, "
    "the open switch is the main isolator, arrows show which way a circuit feeds."
)
CIRCUITS = text(
    "Where one option is picked several times, figures are of one circuit and each has its own "
    "fuse. By drop: the smallest single cable that keeps the drop; by fuse: the smallest that the "
    "fuse protects; the larger is chosen. In the bundle: loaded cables that run together, 2 for a "
    "circuit that runs alone. Carries: in that bundle and at that heat. From battery: the drop to "
    "the load through the cables of battery and fuse panel too. A dash: not known, or no cable in "
    "the table will do."
)
CHARGERS = text(
    "Set the kind of battery and its voltages on every charger before it is switched on. Panels: "
    "amperes at full sun and nominal voltage; whether in series or in parallel is decided by "
    "what their regulator takes."
)

_CHEMISTRIES = {"lfp": text("lithium iron phosphate"), "agm": text("absorbed glass mat")}
_SOURCES = {
    "vehicle": text("from the vehicle"),
    "mains": text("from 230 V"),
    "regulator": text("from the panels"),
    "solar": text("from the sun"),
}
_PARTS = {
    "feed": text("From the starter battery; its fuse sits at that battery."),
    "output": text("From its output to the bus bar; its fuse sits at the bus bar."),
    "panels": text("From the panels to their regulator."),
}


def _amps(title: str, digits: int | None = None) -> Column:
    return Column(title, "figure", digits, "amps")


def _cable(title: str, digits: int | None = None) -> Column:
    return Column(title, "figure", digits, "cable")


def _times(count: int | None, of: Value) -> Value:
    if count is None or count <= 1 or of is None:
        return of
    return joined((f"{count} ×", of if isinstance(of, str) else text("{n}", n=of)), " ")


def _known(figure: Value) -> Value:
    return DASH if figure is None else figure


def sums_told(sheet: WiringSheet) -> Text:
    """What the sums count with, in a sentence."""
    return text(
        "Sums at {volts} V nominal. Fuses within {near} mm of the battery that feeds them.",
        volts=sheet.settings.volts,
        near=sheet.settings.fuse_within,
    )


def circuits_table(sheet: WiringSheet) -> Table:
    """Every circuit with its load, cable and fuse."""
    return table_of(
        sheet.circuits,
        DONE,
        (NUMBER, lambda line: line.number),
        (Column(text("Circuit")), _named),
        (_amps(text("Load, A"), 1), lambda line: line.circuit.amps),
        (_amps(text("One way, m"), 2), lambda line: line.circuit.run),
        (_amps(text("By drop, mm²"), 1), lambda line: line.by_drop),
        (_amps(text("By fuse, mm²"), 1), lambda line: line.by_fuse),
        (
            _cable(text("Cable, mm²"), 1),
            lambda line: _times(line.circuit.in_parallel, line.circuit.cable_size),
        ),
        (_amps(text("In the bundle")), lambda line: line.circuit.loaded),
        (_amps(text("At °C")), lambda line: line.circuit.ambient),
        (
            _amps(text("Carries, A"), 1),
            lambda line: line.circuit.carries,
        ),
        (_amps(text("Drop, V"), 2), lambda line: line.drop),
        (_amps(text("Drop, %"), 2), lambda line: line.circuit.percent),
        (_amps(text("At most, %"), 1), lambda line: line.circuit.limit),
        (_amps(text("From battery, %"), 2), lambda line: line.circuit.total),
        (_cable(text("Fuse, A"), 1), lambda line: _fuse(line.circuit)),
        name="circuits",
        unknown=DASH,
    )


def _named(line: CircuitLine) -> Cell:
    title = _times(line.circuit.count, line.circuit.title)
    return Cell(title, below=tuple(_circuit_notes(line)))


def _fuse(circuit: CircuitRow) -> Cell:
    notes = _fuse_notes(circuit.fuse_type, circuit.breaks)
    return Cell(_times(circuit.count, _known(circuit.fuse)), below=tuple(notes))


def _fuse_notes(pattern: str, breaks: Decimal | None = None) -> Iterator[str]:
    if pattern:
        yield pattern
    if breaks is not None:
        yield text("breaks {kiloamps} kA", kiloamps=breaks / 1000)


def _circuit_notes(line: CircuitLine) -> Iterator[Text]:
    circuit = line.circuit
    cable = circuit.cable
    if circuit.part:
        yield _PARTS[circuit.part]
    if cable is not None and cable.count > 1:
        known = {"count": cable.count, "fuse": cable.own_fuse}
        if circuit.apart:
            yield text(
                "{count} cables in parallel on each pole, each with its own fuse of {fuse} A; pairs"
                " run apart, more than twice a cable's diameter from each other.",
                **known,
            )
        else:
            yield text(
                "{count} cables in parallel on each pole, each with its own fuse of {fuse} A.",
                **known,
            )
    if circuit.cable_stated:
        yield text("Comes with its cable.")
    if circuit.better:
        size = _times(circuit.better.count, circuit.better.size)
        yield text("Its cable is too small: {size} mm² would do.", size=size)


def batteries_table(sheet: WiringSheet) -> Table:
    """Batteries by kind."""
    return table_of(
        sheet.batteries,
        (Column(text("Battery")), lambda row: _times(row.count, row.title)),
        (Column(text("Kind"), name="kind"), lambda row: _CHEMISTRIES[row.battery.chemistry]),
        (_amps(text("Each, Ah")), lambda row: row.battery.capacity),
        (_amps(text("Over, h")), lambda row: row.battery.rated_hours),
        (
            _amps(text("Peukert")),
            lambda row: row.battery.peukert if row.battery.peukert > 1 else DASH,
        ),
        (_amps(text("Nominal, V"), 1), lambda row: row.battery.volts),
        (_amps(text("Usable, %")), lambda row: 100 * row.battery.usable),
        (_amps(text("Cont., A")), lambda row: row.battery.discharge),
        (_amps(text("Charge limit, A")), lambda row: row.battery.charge),
        (_amps(text("Charge voltage, V"), 1), lambda row: row.battery.charge_volts),
        (_amps(text("Float voltage, V"), 1), lambda row: row.battery.float_volts),
        (_amps(text("Short circuit, A")), lambda row: row.battery.short_circuit),
        (
            _cable(text("Fuse, A")),
            lambda row: Cell(
                _times(row.count, _known(row.fuse)), below=tuple(_fuse_notes(row.fuse_type))
            ),
        ),
        (_cable(text("Breaks, A")), lambda row: row.breaks),
        name="store",
        unknown=DASH,
    )


def isolator_told(sheet: WiringSheet) -> Text:
    """How large the main isolator has to be."""
    if sheet.isolator is None:
        return text(
            "Main isolator: as the electrician decides; the fuse of a battery is not known."
        )
    return text(
        "Main isolator: {amps} A continuous or more, the sum of the fuses of all batteries.",
        amps=sheet.isolator,
    )


def batteries_told(sheet: WiringSheet) -> Iterator[Text]:
    """What all batteries give and take."""
    if sheet.short_circuit is not None:
        yield text(
            "Together they deliver {amps} A into a short circuit: every fuse on the bus bar must "
            "be able to break that.",
            amps=sheet.short_circuit,
        )
    yield text("All together take {amps} A of charge.", amps=sheet.charge_limit)
    if any(one.watts for one in sheet.mains):
        yield text(
            "All loads on at once draw {worst} A, those on {mains} V through the inverter at low "
            "voltage.",
            worst=sheet.worst,
            mains=230,
        )
    else:
        yield text("All loads on at once draw {worst} A.", worst=sheet.worst)
    if sheet.inverter is not None:
        yield text(
            "All {volts} V loads and the inverter at full power draw {full} A at low voltage.",
            volts=sheet.volts,
            full=sheet.full,
        )
    yield text(
        "Capacity: over the hours that it is stated for; with an exponent of Peukert's law it "
        "falls when it is drawn faster. A dash: none, or as the battery's maker says."
    )


def chargers_table(sheet: WiringSheet) -> Table:
    """What charges the batteries, and what it is set to."""
    return table_of(
        sheet.chargers,
        (Column(text("Set"), "box", name="done"), lambda _: None),
        (Column(text("Charger")), lambda row: _times(row.count, row.title)),
        (Column(text("Charges"), name="source"), lambda row: _SOURCES[row.kind]),
        (_amps(text("Each, W")), lambda row: row.watts),
        (_amps(text("Each, A"), 2), lambda row: row.amps),
        (_cable(text("Current limit, A"), 1), lambda row: row.limit),
        unknown=DASH,
    )


def inverter_table(sheet: WiringSheet, inverter: InverterRow) -> Table:
    """The inverter on its 12 V side."""
    settings = sheet.settings
    return table_of(
        [inverter],
        (Column(text("Inverter, on its 12 V side")), lambda one: one.state.title),
        (_amps(text("Cont., W")), lambda one: one.state.watts),
        (_amps(text("Surge, W")), lambda one: one.state.surge),
        (_amps(text("A at {volts} V", volts=settings.volts), 2), lambda one: one.state.nominal),
        (_amps(text("A at {volts} V", volts=settings.low_volts), 2), lambda one: one.state.low),
        (_cable(text("Cable, mm²")), lambda one: _times(one.in_parallel, one.cable)),
        (_cable(text("Fuse, A")), lambda one: one.fuse),
        unknown=DASH,
    )


def mains_table(sheet: WiringSheet) -> Table:
    """What runs on 230 V."""
    return table_of(
        sheet.mains,
        (Column(text("On 230 V")), lambda row: _times(row.count, row.title)),
        (_amps(text("Each, W")), lambda row: row.watts),
        (_amps(text("Surge, W")), lambda row: row.surge),
        unknown=DASH,
    )


def wiring_report(sheet: WiringSheet) -> Report:
    """The wiring sheet for a terminal, without its diagram."""
    head = text("Wiring sheet {number}", number=sheet.head.number)
    stored = (isolator_told(sheet), *batteries_told(sheet))
    return (
        (Paragraph(head, "strong"), Paragraph(PLANNING_AID, "strong"), Paragraph(sums_told(sheet))),
        (circuits_table(sheet), Paragraph(CIRCUITS, "faint")) if sheet.circuits else (),
        tuple(Paragraph(one) for one in sheet.basis),
        (batteries_table(sheet), *map(Paragraph, stored)) if sheet.batteries else (),
        (chargers_table(sheet), Paragraph(CHARGERS, "faint")) if sheet.chargers else (),
        (inverter_table(sheet, sheet.inverter),) if sheet.inverter is not None else (),
        (mains_table(sheet),) if sheet.mains else (),
        tuple(Paragraph(finding, "strong") for finding in sheet.findings),
        tuple(Paragraph(caution, "faint") for caution in sheet.cautions),
    )
