"""The tables and sentences of the cut list, for a terminal and for paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import groupby

from attrs import asdict, frozen

from configurator.report.cuts import CutList, CutOut, CutSheet, DrilledFace
from configurator.report.model import (
    DASH,
    FAINT,
    STRONG,
    Body,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    Table,
    Value,
)
from configurator.report.sheet_parts import DONE, NUMBER, QUANTITY, sizes
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
    columns = (
        Column(text("Stock")),
        Column(text("Sheets or bars"), "figure", name="mm"),
        Column(text("In all"), "figure", name="size"),
        Column(text("Waste"), "figure", name="mm"),
        Column(text("Least possible"), name="size"),
    )
    rows = (
        Row(
            (
                one.stock,
                one.count,
                in_unit(one.amount, one.unit),
                text("{share} %", share=one.waste),
                text("yes, proved") if one.least else text("not proved"),
            )
        )
        for one in cuts.stock
    )
    return Table(columns, (Body(rows),), name="stock")


def panels_table(cuts: CutList) -> Table:
    """What is cut from sheets."""
    columns = (
        DONE,
        NUMBER,
        QUANTITY,
        Column(text("Panel")),
        Column(text("For")),
        Column(text("Long \N{MULTIPLICATION SIGN} wide"), "figure", name="size"),
        Column(text("Grain"), name="on"),
        Column(text("Cut from"), name="from"),
    )
    rows = (
        Row(
            (
                None,
                one.number,
                one.count,
                Cell(one.title, below=tuple(map(_told, _alike(one.cut_outs)))),
                one.part,
                Cell(sizes(one.length, one.width), look=STRONG),
                _GRAIN[one.grain],
                one.stock or DASH,
            )
        )
        for one in cuts.panels
    )
    return Table(columns, (Body(rows),), name="panels")


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
    return text("{size} at {places}: {what}", **asdict(holes))


def lengths_table(cuts: CutList) -> Table:
    """What is cut from bars."""
    columns = (
        DONE,
        NUMBER,
        QUANTITY,
        Column(text("Extrusion")),
        Column(text("For")),
        Column(text("Long"), "figure", name="mm"),
        Column(text("Cut from"), name="from"),
    )
    rows = (
        Row(
            (None, one.number, one.count, one.title, one.part,
             Cell(one.length, look=STRONG), one.stock)
        )
        for one in cuts.extrusions
    )  # fmt: skip
    return Table(columns, (Body(rows),), name="extrusions")


def _piece(length: Decimal, number: int, times: int) -> Text:
    one = text("{size} (no. {number})", size=length, number=number)
    return one if times == 1 else joined((str(times), one), " \N{MULTIPLICATION SIGN} ")


def bars_table(cuts: CutList) -> Table:
    """How bars are cut."""
    columns = (
        DONE,
        QUANTITY,
        Column(text("Bar")),
        Column(text("Cut into"), name="pieces"),
        Column(text("Left over"), "figure", name="mm"),
    )
    lengths = {one.number: one.length for one in cuts.extrusions}
    rows = []
    for bar in cuts.bars:
        pieces = ((number, len(tuple(each))) for number, each in groupby(bar.pieces))
        cut = joined((_piece(lengths[number], number, times) for number, times in pieces), " + ")
        title = text("{stock}, {length}", stock=bar.stock, length=bar.length)
        rows.append(Row((None, bar.count, title, cut, bar.left)))
    return Table(columns, (Body(rows),), name="bars")


def faces_table(cuts: CutList) -> Table:
    """The holes of drilled faces that are no panels."""
    columns = (
        DONE,
        QUANTITY,
        Column(text("Hole"), name="hole"),
        Column(text("Where, x / y"), name="places"),
        Column(text("For")),
    )

    def holes(face: DrilledFace) -> Body:
        title = joined((face.title, sizes(face.length, face.width)))
        return Body(
            (
                Row((None, one.count, one.size, one.places, one.what))
                for one in _alike(face.cut_outs)
            ),
            title,
        )

    return Table(columns, tuple(map(holes, cuts.faces)), name="faces")


def sheet_title(sheet: CutSheet) -> Text:
    """What stands over the drawing of a sheet."""
    return text(
        "{count} \N{MULTIPLICATION SIGN} {stock}, {size}: {waste} % waste",
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
        "above with the front at the left hand, of a sheet with its grain along its length."
    )


def _placed_table(sheet: CutSheet) -> Table:
    columns = (Column(sheet_title(sheet)), *(Column(t, "figure") for t in ("x", "y")))
    rows: list[Row] = []
    for one in sheet.panels:
        named = text("number {number}", number=one.panel)
        size: Value = sizes(one.length, one.width)
        rows.append(Row((Cell(named, more=(str(size),)), one.x, one.y)))
    return Table(columns, (Body(rows),))


def cuts_report(cuts: CutList) -> Report:
    """The cut list for a terminal, with places in place of drawings."""
    head = text("Cut list {number}", number=cuts.head.number)
    return (
        (Paragraph(head, STRONG), *map(Paragraph, cuts_told(cuts)), Paragraph(MEASURE, FAINT)),
        (stock_table(cuts),) if cuts.stock else (),
        tuple(Paragraph(note, STRONG) for note in cuts.notes),
        (panels_table(cuts),) if cuts.panels else (),
        *((_placed_table(sheet),) for sheet in cuts.sheets),
        (lengths_table(cuts),) if cuts.extrusions else (),
        (bars_table(cuts),) if cuts.bars else (),
        (faces_table(cuts),) if cuts.faces else (),
    )
