"""The shop's sheets as HTML: values poured into the templates, which decide only the look."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from configurator.answers.data import to_json
from configurator.answers.shop import Sheets
from configurator.catalogue.model import Catalogue
from configurator.drawing.layouts import BAR, view_pictures
from configurator.drawing.single_line import Branch, Store, single_line
from configurator.power.cables import Cable
from configurator.power.circuits import FEED, PANEL, PANELS, SOURCE, STORE
from configurator.render.files import replace_files
from configurator.render.language import Language
from configurator.render.look import Look, look_of
from configurator.render.pdf import html_to_pdf
from configurator.render.templates import filled
from configurator.report.job import RESTRAINT, JobSheet
from configurator.report.shop import OrderList
from configurator.report.wiring import BatteryRow, CircuitLine, WiringSheet
from configurator.words import text

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
        views=view_pictures(catalogue, job.layout, look.sheet.wide, _DRAWN),
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
    speak = look.language
    batteries = [line for line in sheet.circuits if line.circuit.kind == STORE]
    by_title = {line.circuit.title: line for line in batteries}
    stores = [_store(row, by_title.get(row.title), speak) for row in sheet.batteries]
    if stores:
        elsewhere = Store(speak.say(text("Batteries: see the first diagram")), (), "")
    else:
        decides = speak.say(text("feed and fuse as the electrician decides"))
        elsewhere = Store(
            speak.say(text("The vehicle's own battery")), (decides,), _fuse(None, speak)
        )
    amps = "?" if sheet.isolator is None else speak.number(sheet.isolator)
    isolator = speak.say(text("Main isolator, {amps} A or more", amps=amps))
    title = speak.say(
        text("Single-line diagram of the 12 V system; the table of circuits says the same")
    )
    return single_line(
        stores, _branches(sheet, speak), elsewhere, isolator, title, look.sheet.wide, _DIAGRAM
    )


def _branches(sheet: WiringSheet, speak: Language) -> list[Branch]:
    """What is on the bus, what is behind a fuse panel, and last what feeds the chargers."""
    lines = [line for line in sheet.circuits if line.circuit.kind != STORE]
    panels = [line for line in lines if line.circuit.kind == PANEL]
    feeds = [line for line in lines if line.circuit.part in (FEED, PANELS)]
    behind = [line for line in lines if panels and line.circuit.behind]
    bus = [line for line in lines if line not in (*panels, *feeds, *behind)]
    return [
        *(_branch(line, sheet, speak) for line in bus),
        *(_branch(line, sheet, speak) for line in panels),
        *(_branch(line, sheet, speak, behind=True) for line in behind),
        *(_branch(line, sheet, speak) for line in feeds),
    ]


def _store(row: BatteryRow, line: CircuitLine | None, speak: Language) -> Store:
    size = speak.say(
        text(
            "{capacity} Ah, {volts} V",
            capacity=speak.number(row.battery.capacity),
            volts=speak.number(row.battery.volts),
        )
    )
    lines = [size]
    if line is not None and line.circuit.cable is not None:
        lines.append(_run(line, speak))
    fuse = f"{_times(row.count)}{_fuse(row.fuse, speak)}"
    return Store(f"{_times(row.count)}{row.title}", tuple(lines), fuse)


def _branch(line: CircuitLine, sheet: WiringSheet, speak: Language, behind: bool = False) -> Branch:
    circuit = line.circuit
    title, origin = f"{_times(circuit.count)}{circuit.title}", ""
    if circuit.part == FEED:
        origin = speak.say(text("Starter battery"))
    elif circuit.part == PANELS:
        origin, title = (
            title,
            ", ".join(sheet.regulators) or speak.say(text("Regulator of the panels")),
        )
    return Branch(
        number=line.number,
        title=title,
        fuse=f"{_times(circuit.count)}{_fuse(circuit.fuse, speak)}",
        cable=_run(line, speak),
        gives=circuit.kind == SOURCE and not origin,
        panel=circuit.kind == PANEL,
        behind=behind,
        origin=origin,
    )


def _fuse(amps: Decimal | None, speak: Language) -> str:
    """What is on a fuse; one that is not known is drawn too, so that nobody leaves it out."""
    return "?" if amps is None else f"{speak.number(amps)} A"


def _run(line: CircuitLine, speak: Language) -> str:
    cable = line.circuit.cable
    size = "?" if cable is None else _cable(cable, speak)
    run = line.circuit.run
    size = size if run is None else f"{size}, {speak.number(run)} m"
    if cable is None or cable.own_fuse is None:
        return size
    return speak.say(text("{cable}, each {fuse} A", cable=size, fuse=speak.number(cable.own_fuse)))


def _cable(cable: Cable, speak: Language) -> str:
    return f"{_times(cable.count)}{speak.number(cable.size)} mm²"


def _times(count: int) -> str:
    return f"{count} \N{MULTIPLICATION SIGN} " if count > 1 else ""
