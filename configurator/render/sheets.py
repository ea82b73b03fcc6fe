"""The shop's sheets as HTML: values filled into templates, which decide only the look."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import groupby
from operator import attrgetter
from pathlib import Path

from configurator.answers.data import to_json
from configurator.catalogue.model import Catalogue
from configurator.cutting.parts import TraySize
from configurator.drawing.single_line import single_line
from configurator.drawing.workshop import (
    BAR,
    ViewPicture,
    sheet_pictures,
    shop_views,
    standing_picture,
)
from configurator.errors import ConfiguratorError
from configurator.machine.files import replace_files
from configurator.render.dxf import cuts_dxf
from configurator.render.look import Look, look_of
from configurator.render.pdf import html_to_pdf
from configurator.render.safeguard import require_spared
from configurator.render.templates import filled
from configurator.report import cut_tables, job_tables, wiring_tables
from configurator.report.cuts import CutList
from configurator.report.job import JobSheet, SpaceRow
from configurator.report.sheets import Sheets
from configurator.report.shop import (
    STOCK,
    SUPPLIED,
    OrderList,
    orders_sum,
    orders_table,
    stock_order,
)
from configurator.report.wiring import WiringSheet
from configurator.words import text

NO_CUTS = "no cut list: the catalogue says nothing of panels and extrusions of what is picked"
"""Why there is none."""

KINDS = ("pdf", "html", "json", "dxf")
"""What the sheets of a job can be written as."""

_GAP = 5.0
"""Between two things side by side, mm."""

_SIDE, _PLAN, _STANDING = 70.0, 148.0, (70.0, 54.0)
"""Height of a view from a side and from above; room for a space on its tray; mm."""

_SHEET = 150.0
"""Height that a stock sheet may take, mm."""

_DIAGRAM = 148.0
"""The same for a diagram under a sentence."""


def write_sheets(
    shop: Catalogue,
    sheets: Sheets,
    folder: Path,
    kind: str,
    look: Look,
    templates: Path | None = None,
) -> None:
    """Write the sheets into the folder as ``pdf``, ``html`` or ``json``, all of them or none.

    As ``dxf``, only panels and drilled faces of the cut list.

    Raises:
        ConfiguratorError: there is no such kind, no cut list to draw, or a file is a catalogue's or
            one of the templates.
        FileError: they cannot be written.
        MissingLibrary: PDFs are asked for and the renderer's libraries are missing.
    """
    if kind not in KINDS:
        raise ConfiguratorError(f'no sheets as "{kind}"; give {" or ".join(KINDS)}')
    if kind == "dxf":
        if sheets.cuts is None:
            raise ConfiguratorError(NO_CUTS)
        made: dict[str, Callable[[], bytes]] = {
            "cuts": partial(cuts_dxf, sheets.cuts, look.language)
        }
    elif kind == "json":
        named = ("job", sheets.job), ("wiring", sheets.wiring), ("cuts", sheets.cuts)
        every = (*named, ("orders", sheets.orders))
        made = {name: partial(_json, sheet) for name, sheet in every if sheet is not None}
    else:
        render = html_to_pdf if kind == "pdf" else str.encode
        pages = sheet_pages(sheets, look).items()
        made = {name: partial(_rendered, render, page) for name, page in pages}
    files = {folder / f"{name}.{kind}": content for name, content in made.items()}
    require_spared(shop, files, templates)
    replace_files({file: content() for file, content in files.items()})


def _json(sheet: object) -> bytes:
    return to_json(sheet).encode()


def _rendered(render: Callable[[str], bytes], page: Callable[[], str]) -> bytes:
    return render(page())


def sheet_pages(sheets: Sheets, look: Look) -> dict[str, Callable[[], str]]:
    """What makes each of the sheets that there are an HTML page, by its name."""
    pages: dict[str, Callable[[], str]] = {
        "job": partial(job_html, sheets.catalogue, sheets.job, look),
        "orders": partial(orders_html, sheets.orders, look),
    }
    if sheets.wiring is not None:
        pages["wiring"] = partial(wiring_html, sheets.wiring, look)
    if sheets.cuts is not None:
        pages["cuts"] = partial(cuts_html, sheets.cuts, look)
    return pages


def job_html(catalogue: Catalogue, job: JobSheet, look: Look | None = None) -> str:
    """The job sheet as one HTML page."""
    look = look or look_of(job.head.shop)
    half = (look.sheet.wide - _GAP) / 2
    works = (work for group in job.groups for part in group.parts for work in part.work)
    pictures = shop_views(catalogue, job.layout, works, (half, _SIDE), (half, _PLAN), look.language)
    return filled(
        "job.html",
        job.head.shop,
        look,
        head=job.head,
        job=job,
        datum=job_tables.DATUM,
        standing=list(job_tables.standing_told(job)),
        stands=list(_standing(job, look)),
        standing_width=_STANDING[0],
        spaces=job_tables.spaces_table(job),
        spaces_note=job_tables.SPACES,
        doors=job_tables.doors_table(job),
        doors_note=job_tables.DOORS,
        units=job_tables.units_table(job),
        views=list(_arranged(pictures)),
        gap=_GAP,
        bar=BAR,
        made=job_tables.parts_table(job),
        absent=job_tables.absent_told(job),
        mounts=job_tables.mounts_table(job),
        mounts_note=job_tables.mounts_note(job),
        cautions=list(job_tables.job_cautions(job)),
    )


def _arranged(pictures: Iterable[ViewPicture]) -> Iterator[list[list[ViewPicture]]]:
    """The views in rows: of each space first two sides, one below the other, beside the plan."""
    for _, group in groupby(pictures, key=attrgetter("space")):
        views = list(group)
        plans = [view for view in views if view.name == "plan"]
        sides = [view for view in views if view.name != "plan"]
        yield [column for column in (sides[:2], plans) if column]
        if sides[2:]:
            yield [[view] for view in sides[2:]]


def _standing(job: JobSheet, look: Look) -> Iterator[tuple[str, int]]:
    for number, space in enumerate(job.spaces):
        match job.tray, space:
            case TraySize(int(length), int(width)), SpaceRow(stands=stands) if stands is not None:
                outside = (space.outside.length, space.outside.width)
                titles, prefix = (text("tray"), space.title), f"stands-{number}-"
                yield standing_picture(
                    (length, width), outside, stands.front, titles, _STANDING, prefix, look.language
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
        planning_aid=wiring_tables.PLANNING_AID,
        sums=wiring_tables.sums_told(sheet),
        circuits=wiring_tables.circuits_table(sheet),
        circuits_note=wiring_tables.CIRCUITS,
        diagrams=single_line(sheet, look.sheet.wide, _DIAGRAM, look.language),
        diagram_note=wiring_tables.DIAGRAM,
        batteries=wiring_tables.batteries_table(sheet),
        isolator=wiring_tables.isolator_told(sheet),
        stored=list(wiring_tables.batteries_told(sheet)),
        chargers=wiring_tables.chargers_table(sheet),
        chargers_note=wiring_tables.CHARGERS,
        inverter=sheet.inverter and wiring_tables.inverter_table(sheet, sheet.inverter),
        mains=wiring_tables.mains_table(sheet),
    )


def cuts_html(cuts: CutList, look: Look | None = None) -> str:
    """The cut list as one HTML page."""
    look = look or look_of(cuts.head.shop)
    half = (look.sheet.wide - _GAP) / 2
    return filled(
        "cuts.html",
        cuts.head.shop,
        look,
        head=cuts.head,
        cuts=cuts,
        told=list(cut_tables.cuts_told(cuts)),
        measure=cut_tables.MEASURE,
        stock=cut_tables.stock_table(cuts),
        panels=cut_tables.panels_table(cuts),
        pictures=list(sheet_pictures(cuts, half, _SHEET, look.language)),
        extrusions=cut_tables.lengths_table(cuts),
        bars=cut_tables.bars_table(cuts),
        faces=cut_tables.faces_table(cuts),
    )


def orders_html(orders: OrderList, look: Look | None = None) -> str:
    """The order list as one HTML page."""
    return filled(
        "orders.html",
        orders.head.shop,
        look,
        head=orders.head,
        orders=orders,
        supplied=SUPPLIED,
        ordered=orders_table(orders),
        sums=orders_sum(orders),
        stock=stock_order(orders),
        stock_note=STOCK,
    )
