"""The shop's sheets as HTML: values poured into the templates, which decide only the look."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from configurator.answers.data import to_json
from configurator.answers.shop import Sheets
from configurator.catalogue.model import Catalogue
from configurator.drawing.layouts import BAR, view_pictures
from configurator.drawing.single_line import Branch, Store, single_line
from configurator.power.circuits import FEED, PANEL, PANELS, SOURCE, STORE
from configurator.render.files import replace_files
from configurator.render.look import Look, look_of
from configurator.render.pdf import html_to_pdf
from configurator.render.templates import filled
from configurator.report.job import RESTRAINT, JobSheet
from configurator.report.shop import OrderList
from configurator.report.wiring import BatteryRow, CircuitLine, WiringSheet
from configurator.words import in_unit, joined, text

_DRAWN = 160.0
"""Height of a sheet that lies which its heading leaves to a drawing, mm."""

_DIAGRAM = 148.0
"""The same for a diagram under a sentence."""


def write_sheets(sheets: Sheets, folder: Path, kind: str, look: Look) -> None:
    """Write the sheets into the folder as ``pdf``, ``html`` or ``json``, all of them or none.

    Raises:
        FileError: they cannot be written.
        MissingLibrary: PDFs are asked for and the renderer's libraries are missing.
    """
    if kind == "json":
        named = {"job": sheets.job, "wiring": sheets.wiring, "orders": sheets.orders}
        made = {n: to_json(sheet).encode() for n, sheet in named.items() if sheet is not None}
    else:
        pages = {"job": job_html(sheets.catalogue, sheets.job, look)}
        if sheets.wiring is not None:
            pages["wiring"] = wiring_html(sheets.wiring, look)
        pages["orders"] = orders_html(sheets.orders, look)
        render = html_to_pdf if kind == "pdf" else str.encode
        made = {name: render(page) for name, page in pages.items()}
    replace_files({folder / f"{name}.{kind}": content for name, content in made.items()})


def job_html(catalogue: Catalogue, job: JobSheet, look: Look | None = None) -> str:
    """The job sheet as one HTML page."""
    look = look or look_of(job.head.shop)
    return filled(
        "job.html",
        job.head.shop,
        look,
        head=job.head,
        job=job,
        views=view_pictures(catalogue, job.layout, look.sheet.wide, _DRAWN, look.language),
        titles={unit.number: unit.title for unit in job.units},
        bar=BAR,
        restraint=RESTRAINT,
    )


def wiring_html(sheet: WiringSheet, look: Look | None = None) -> str:
    """The wiring sheet as one HTML page."""
    look = look or look_of(sheet.head.shop)
    return filled(
        "wiring.html",
        sheet.head.shop,
        look,
        head=sheet.head,
        wiring=sheet,
        diagrams=_diagrams(sheet, look),
    )


def orders_html(orders: OrderList, look: Look | None = None) -> str:
    """The order list as one HTML page."""
    return filled("orders.html", orders.head.shop, look, head=orders.head, orders=orders)


def _diagrams(sheet: WiringSheet, look: Look) -> tuple[str, ...]:
    batteries = {line.circuit.title: line for line in sheet.circuits if line.circuit.kind == STORE}
    stores = [_store(row, batteries.get(row.title)) for row in sheet.batteries]
    elsewhere = Store(text("Batteries: see the first diagram"), (), "")
    if not stores:
        decides = text("feed and fuse as the electrician decides")
        elsewhere = Store(text("The vehicle's own battery"), (decides,), _fuse(None))
    isolator = text("Main isolator, {amps} A or more", amps=sheet.isolator or "?")
    title = text("Single-line diagram of the 12 V system; the table of circuits says the same")
    size = (look.sheet.wide, _DIAGRAM)
    branches = list(_branches(sheet))
    return single_line(stores, branches, elsewhere, isolator, title, *size, look.language)


def _branches(sheet: WiringSheet) -> Iterator[Branch]:
    """What is on the bus, fuse panels, what is behind them, and last what feeds the chargers."""
    lines = [line for line in sheet.circuits if line.circuit.kind != STORE]
    panels = any(line.circuit.kind == PANEL for line in lines)

    def place(line: CircuitLine) -> int:
        circuit = line.circuit
        if circuit.kind == PANEL:
            return 1
        if circuit.part in (FEED, PANELS):
            return 3
        return 2 if panels and circuit.behind else 0

    for line in sorted(lines, key=place):
        yield _branch(line, sheet, behind=place(line) == 2)


def _store(row: BatteryRow, line: CircuitLine | None) -> Store:
    battery = row.battery
    lines: list[str] = [joined((in_unit(battery.capacity, "Ah"), in_unit(battery.volts, "V")))]
    if line is not None and line.circuit.cable is not None:
        lines.append(_run(line))
    fuse = _several(row.count, _fuse(row.fuse))
    return Store(_several(row.count, row.title), tuple(lines), fuse)


def _branch(line: CircuitLine, sheet: WiringSheet, behind: bool) -> Branch:
    circuit = line.circuit
    title, origin = _several(circuit.count, circuit.title), ""
    if circuit.part == FEED:
        origin = text("Starter battery")
    elif circuit.part == PANELS:
        regulators = sheet.regulators or (text("Regulator of the panels"),)
        origin, title = title, joined(regulators)
    return Branch(
        number=line.number,
        title=title,
        fuse=_several(circuit.count, _fuse(circuit.fuse)),
        cable=_run(line),
        gives=circuit.kind == SOURCE and not origin,
        panel=circuit.kind == PANEL,
        behind=behind,
        origin=origin,
    )


def _fuse(amps: Decimal | None) -> str:
    """What is on a fuse; one that is not known is drawn too, so that nobody leaves it out."""
    return "?" if amps is None else in_unit(amps, "A")


def _run(line: CircuitLine) -> str:
    cable, run = line.circuit.cable, line.circuit.run
    size = "?"
    if cable is not None:
        size = _several(cable.count, joined((text("{n}", n=cable.size), "mm²"), " "))
    size = size if run is None else joined((size, in_unit(run, "m")))
    if cable is None or cable.own_fuse is None:
        return size
    return text("{cable}, each {fuse} A", cable=size, fuse=cable.own_fuse)


def _several(count: int, words: str) -> str:
    return joined((f"{count} \N{MULTIPLICATION SIGN}", words), " ") if count > 1 else words
