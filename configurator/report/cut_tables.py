"""The tables and sentences of the cut list, for a terminal and for paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import groupby

from attrs import asdict, frozen

from configurator.report.cuts import CutBarRow, CutList, CutOut, CutSheet
from configurator.report.model import (
    DASH,
    Cell,
    Column,
    Paragraph,
    Report,
    Table,
    grouped_table,
    table_of,
)
from configurator.report.sheet_head import DONE, NUMBER, QUANTITY, sizes
from configurator.words import Text, in_unit, joined, text

MEASURE = text(
    "Sizes are the catalogue's sums of outside measures, before folding: measure the first of each "
    "before cutting the rest. Wear what protects eyes, ears and hands."
)

_GRAIN = {
    "length": text("along length"),
    "width": text("along width"),
    "": text("either way"),
}


def stock_table(cuts: CutList) -> Table:
    """All that is used, by stock, with the waste."""
    return table_of(
        cuts.stock,
        (Column(text("Stock")), lambda one: one.stock),
        (Column(text("Sheets or bars"), "figure", name="mm"), lambda one: one.count),
        (Column(text("In all"), "figure", name="size"), lambda one: in_unit(one.amount, one.unit)),
        (
            Column(text("Waste"), "figure", name="mm"),
            lambda one: text("{share} %", share=one.waste),
        ),
        (
            Column(text("Least possible"), name="size"),
            lambda one: text("yes, proved") if one.least else text("not proved"),
        ),
        name="stock",
    )


def panels_table(cuts: CutList) -> Table:
    """What is cut from sheets."""
    return table_of(
        cuts.panels,
        DONE,
        (NUMBER, lambda one: one.number),
        (QUANTITY, lambda one: one.count),
        (
            Column(text("Panel")),
            lambda one: Cell(one.title, below=tuple(map(_told, _alike(one.cut_outs)))),
        ),
        (Column(text("For")), lambda one: one.part),
        (
            Column(text("Long × wide"), "figure", name="size"),
            lambda one: Cell(sizes(one.length, one.width), look="strong"),
        ),
        (Column(text("Grain"), name="on"), lambda one: _GRAIN[one.grain]),
        (Column(text("Cut from"), name="from"), lambda one: one.stock or DASH),
        name="panels",
    )


@frozen
class _Holes:
    """Holes of one size in one face that are for one thing: how many, their size and places."""

    count: int
    size: Text
    places: Text
    what: str


def _alike(cut_outs: Iterable[CutOut]) -> Iterator[_Holes]:
    """The holes of a face, those of one size that are for one thing together."""
    found: dict[tuple[Decimal | None, ...], dict[str, list[CutOut]]] = {}
    for one in cut_outs:
        alike = found.setdefault((one.diameter, one.length, one.width), {})
        alike.setdefault(one.text, []).append(one)
    for (diameter, length, width), kinds in found.items():
        size: Text = text("Ø {size}", size=diameter)
        if length is not None and width is not None:
            size = sizes(length, width)
        for what, holes in kinds.items():
            middles = sorted((one.x, one.y) for one in holes)
            places = (joined((text("{n}", n=x), text("{n}", n=y)), " / ") for x, y in middles)
            yield _Holes(len(holes), size, joined(places, "; "), what)


def _told(holes: _Holes) -> Text:
    return text("{size} centred at {places}: {what}", **asdict(holes))


def lengths_table(cuts: CutList) -> Table:
    """What is cut from bars."""
    return table_of(
        cuts.extrusions,
        DONE,
        (NUMBER, lambda one: one.number),
        (QUANTITY, lambda one: one.count),
        (Column(text("Extrusion")), lambda one: one.title),
        (Column(text("For")), lambda one: one.part),
        (Column(text("Long"), "figure", name="mm"), lambda one: Cell(one.length, look="strong")),
        (Column(text("Cut from"), name="from"), lambda one: one.stock),
        name="extrusions",
    )


def _piece(length: Decimal, number: int, times: int) -> Text:
    one = text("{size} (no. {number})", size=length, number=number)
    return one if times == 1 else joined((str(times), one), " × ")


def bars_table(cuts: CutList) -> Table:
    """How bars are cut."""
    lengths = {one.number: one.length for one in cuts.extrusions}

    def cut(bar: CutBarRow) -> Text:
        pieces = ((number, len(tuple(each))) for number, each in groupby(bar.pieces))
        return joined((_piece(lengths[number], number, times) for number, times in pieces), " + ")

    return table_of(
        cuts.bars,
        DONE,
        (QUANTITY, lambda bar: bar.count),
        (
            Column(text("Bar")),
            lambda bar: text("{stock}, {length}", stock=bar.stock, length=bar.length),
        ),
        (Column(text("Cut into"), name="pieces"), cut),
        (Column(text("Left over"), "figure", name="mm"), lambda bar: bar.left),
        name="bars",
    )


def faces_table(cuts: CutList) -> Table:
    """The holes that are drilled when fitting, in what is not cut from a sheet."""
    return grouped_table(
        (
            (joined((face.title, sizes(face.length, face.width))), _alike(face.cut_outs))
            for face in cuts.faces
        ),
        DONE,
        (QUANTITY, lambda holes: holes.count),
        (Column(text("Hole"), name="hole"), lambda holes: holes.size),
        (Column(text("Centre, x / y"), name="places"), lambda holes: holes.places),
        (Column(text("For")), lambda holes: holes.what),
        name="faces",
    )


def sheet_title(sheet: CutSheet) -> Text:
    """What stands over the drawing of a sheet."""
    return text(
        "{count} × {stock}, {size}: {waste} % waste",
        count=sheet.count,
        stock=sheet.stock,
        size=sizes(sheet.length, sheet.width),
        waste=sheet.waste,
    )


def cuts_told(cuts: CutList) -> Iterator[Text]:
    """What the list counts with."""
    cutting = cuts.cutting
    yield text(
        "All in mm. Panels lie {kerf} apart for the cut, {trim} in from the edges of a sheet; a "
        "cut through a bar takes {bar_kerf}, each of its ends {bar_trim}.",
        kerf=cutting.kerf,
        trim=cutting.trim,
        bar_kerf=cutting.bar_kerf,
        bar_trim=cutting.bar_trim,
    )
    yield text(
        "Places are from the lower left corner: of a panel seen from outside, of a floor from "
        "above with the front at the left hand, of a sheet with its grain along its length. Holes "
        "and openings are placed by their centre."
    )


def _placed_table(sheet: CutSheet) -> Table:
    return table_of(
        sheet.panels,
        (
            Column(sheet_title(sheet)),
            lambda one: Cell(
                text("number {number}", number=one.panel), more=(sizes(one.length, one.width),)
            ),
        ),
        (Column("x", "figure"), lambda one: one.x),
        (Column("y", "figure"), lambda one: one.y),
    )


def cuts_report(cuts: CutList) -> Report:
    """The cut list for a terminal, with places in place of drawings."""
    head = text("Cut list {number}", number=cuts.head.number)
    return (
        (Paragraph(head, "strong"), *map(Paragraph, cuts_told(cuts)), Paragraph(MEASURE, "faint")),
        (stock_table(cuts),) if cuts.stock else (),
        tuple(Paragraph(note, "strong") for note in cuts.notes),
        (panels_table(cuts),) if cuts.panels else (),
        *((_placed_table(sheet),) for sheet in cuts.sheets),
        (lengths_table(cuts),) if cuts.extrusions else (),
        (bars_table(cuts),) if cuts.bars else (),
        (faces_table(cuts),) if cuts.faces else (),
    )
