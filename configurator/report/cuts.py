"""The cut list as a value: what is cut from which stock, where it lies on it, and the waste.

Coordinates are mm from the lower left corner of a panel, seen from outside (of a floor: from above,
the front at the left hand), and of a stock sheet, whose length lies along its grain.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from operator import itemgetter

from attrs import frozen

from configurator.catalogue.cutting import Cutting, StockBar, StockSheet
from configurator.catalogue.units import Hole
from configurator.cutting.bars import cut_bars
from configurator.cutting.parts import Piece, pieces
from configurator.cutting.rectangles import Area, NestedRectangle, Rectangle, fits, nest
from configurator.fit.layout import FLOOR
from configurator.fit.openings import clear_openings
from configurator.report.job import FixingPoint, JobSheet, WorkRow
from configurator.report.sheet_head import SheetHead
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, space_sizes
from configurator.shapes.forms import Unpacked, form
from configurator.words import Text, nearest, text

_TENTH = 10
"""Sheets and bars are counted in tenths of a millimetre."""


@form()
@frozen
class CutOut(Unpacked):
    """A hole or an opening in a panel.

    Attributes:
        text: what it is for.
        x: of its middle, and
        y: the same.
        diameter: of a round one; else None.
        length: of a rectangular one along x, else None; and
        width: the same along y.
    """

    text: str
    x: Decimal
    y: Decimal
    diameter: Decimal | None
    length: Decimal | None
    width: Decimal | None


@form()
@frozen
class CutPanel:
    """Panels of one kind.

    Attributes:
        number: as on the drawings.
        title: what it is.
        part: title of the option that it is for.
        count: how many.
        length: mm.
        width: mm.
        grain: its side that lies along the grain, ``length`` or ``width``, or empty.
        stock: title of the stock sheet that it is cut from, or empty.
        cut_outs: what is cut and drilled in it.
    """

    number: int
    title: str
    part: str
    count: int
    length: Decimal
    width: Decimal
    grain: str
    stock: str
    cut_outs: tuple[CutOut, ...]


@form()
@frozen
class PlacedPanel:
    """A panel on a stock sheet.

    Attributes:
        panel: its number.
        x: of its lower left corner, and
        y: the same.
        length: that it takes along the sheet, and
        width: across it.
        turned: whether its length lies across the sheet.
    """

    panel: int
    x: Decimal
    y: Decimal
    length: Decimal
    width: Decimal
    turned: bool


@form()
@frozen
class CutSheet:
    """Stock sheets that are cut alike.

    Attributes:
        stock: title of the stock.
        count: how many.
        length: of the sheet, mm.
        width: of the sheet, mm.
        panels: what is cut from it.
        waste: share of it that is left, per cent.
    """

    stock: str
    count: int
    length: int
    width: int
    panels: tuple[PlacedPanel, ...]
    waste: Decimal


@form()
@frozen
class CutLength:
    """Extrusions of one kind and length.

    Attributes:
        number: as in the list of bars.
        title: what it is.
        part: title of the option that it is for.
        count: how many.
        length: mm.
        stock: title of the stock bar.
    """

    number: int
    title: str
    part: str
    count: int
    length: Decimal
    stock: str


@form()
@frozen
class CutBarRow:
    """Stock bars that are cut alike.

    Attributes:
        stock: title of the stock.
        count: how many.
        length: of the bar, mm.
        pieces: numbers of the extrusions cut from one of them, in order.
        left: what is left of it, cuts and ends not counted, mm.
    """

    stock: str
    count: int
    length: int
    pieces: tuple[int, ...]
    left: Decimal


@form()
@frozen
class StockSum:
    """All that is cut from one stock.

    Attributes:
        stock: its title.
        count: sheets or bars.
        amount: m² of sheets, or m of bars.
        unit: ``m2`` or ``m``.
        waste: share of it that is left, per cent.
        least: it is proved that no less of it would do.
    """

    stock: str
    count: int
    amount: Decimal
    unit: str
    waste: Decimal
    least: bool


@form()
@frozen
class DrilledFace:
    """A face that is drilled when fitting: it is no panel of the list.

    Attributes:
        title: what it is.
        length: mm.
        width: mm.
        cut_outs: what is cut and drilled in it.
    """

    title: str
    length: Decimal
    width: Decimal
    cut_outs: tuple[CutOut, ...]


@form("cuts", inline="head", hidden="cutting")
@frozen
class CutList:
    """Everything on a cut list.

    Attributes:
        head: number, date, vehicle, customer.
        cutting: the shop's stock, and what cutting takes of it.
        panels: what is cut from sheets.
        sheets: how it lies on them.
        extrusions: what is cut from bars.
        bars: how they are cut.
        stock: all that is used, by stock.
        faces: what is drilled when fitting, since no panel of the list is it.
        notes: what is not on stock, and why.
    """

    head: SheetHead
    cutting: Cutting
    panels: tuple[CutPanel, ...]
    sheets: tuple[CutSheet, ...]
    extrusions: tuple[CutLength, ...]
    bars: tuple[CutBarRow, ...]
    stock: tuple[StockSum, ...]
    faces: tuple[DrilledFace, ...]
    notes: tuple[str, ...]


def cut_list(build: Resolved, head: SheetHead, job: JobSheet) -> CutList | None:
    """The cut list of a job; None where the catalogue says nothing of panels and extrusions."""
    found = list(pieces(build))
    if not found:
        return None
    return _Cuts(build, job, found).list(head)


class _Cuts:
    """A cut list in the making."""

    def __init__(self, build: Resolved, job: JobSheet, found: Sequence[Piece]) -> None:
        self.build, self.job, self.found = build, job, found
        self.cutting = build.catalogue.cutting
        self.notes: list[Text] = []
        self.sums: list[StockSum] = []
        self.drilled: set[str] = set()

    def list(self, head: SheetHead) -> CutList:
        """The list."""
        sheets = {sheet.id: sheet for sheet in self.cutting.sheets}
        flat = [piece for piece in self.found if piece.width is not None]
        long = [piece for piece in self.found if piece.width is None]
        panels = tuple(
            CutPanel(
                number, piece.title, piece.of, piece.count, piece.length,
                piece.width or Decimal(0), piece.grain,
                sheets[piece.stock].title if piece.stock in sheets else "",
                tuple(self._cut_outs(piece)),
            )
            for number, piece in enumerate(flat, 1)
        )  # fmt: skip
        for panel, piece in zip(panels, flat, strict=True):
            if not piece.stock:
                self._note(panel.title, text("no pick says what it is cut from"))
        return CutList(
            head=head,
            cutting=self.cutting,
            panels=panels,
            sheets=tuple(
                one
                for sheet in self.cutting.sheets
                for one in self._nested(sheet, [p for p in panels if p.stock == sheet.title])
            ),
            extrusions=(lengths := tuple(self._lengths(long))),
            bars=tuple(
                one
                for bar in self.cutting.bars
                for one in self._cut(bar, [p for p in lengths if p.stock == bar.title])
            ),
            stock=tuple(self.sums),
            faces=tuple(self._faces()),
            notes=tuple(self.notes),
        )

    def _note(self, title: str, why: Text) -> None:
        self.notes.append(text("{title}: {why}", title=title, why=why))

    def _nested(self, stock: StockSheet, panels: Sequence[CutPanel]) -> Iterator[CutSheet]:
        trim, cut = self.cutting.trim, int(self.cutting.kerf * _TENTH)
        areas = [
            Area(
                int((size.length - 2 * trim) * _TENTH),
                int((size.width - 2 * trim) * _TENTH),
                size.length * size.width,
            )
            for size in stock.sizes
        ]
        wanted: list[tuple[CutPanel, Rectangle]] = []
        for panel in panels:
            one = _rectangle(panel)
            if min(one.length, one.width) <= 0 or not fits(one, areas):
                self._note(panel.title, text("no stock sheet is large enough for it"))
            else:
                wanted += [(panel, one)] * panel.count
        if not wanted:
            return
        nesting = nest([one for _, one in wanted], areas, cut)
        made = [
            (
                index,
                tuple(
                    sorted(
                        (self._placed(wanted[one.index][0], one) for one in laid),
                        key=lambda p: (p.x, p.y),
                    )
                ),
            )
            for index, laid in nesting.sheets
        ]
        alike: dict[tuple[int, tuple[PlacedPanel, ...]], int] = {}
        for sheet in made:
            alike[sheet] = alike.get(sheet, 0) + 1
        for (index, placed), count in alike.items():
            size = stock.sizes[index]
            area = Decimal(size.length * size.width)
            used = sum((p.length * p.width for p in placed), Decimal(0))
            waste = _percent(area - used, area)
            yield CutSheet(stock.title, count, size.length, size.width, placed, waste)
        total = Decimal(sum(areas[index].cost for index, _ in made))
        used = sum((p.length * p.width for p, _ in wanted), Decimal(0))
        waste, square = _percent(total - used, total), nearest(total / 10**6, 2)
        self.sums.append(StockSum(stock.title, len(made), square, "m2", waste, nesting.least))

    def _placed(self, panel: CutPanel, laid: NestedRectangle) -> PlacedPanel:
        # of a panel whose width lies along the grain, the rectangle has its sides swapped
        turned = laid.turned != (panel.grain == "width")
        length, width = (panel.width, panel.length) if turned else (panel.length, panel.width)
        x, y = (self.cutting.trim + Decimal(at) / _TENTH for at in (laid.x, laid.y))
        return PlacedPanel(panel.number, x, y, length, width, turned)

    def _lengths(self, long: Iterable[Piece]) -> Iterator[CutLength]:
        bars = {bar.id: bar for bar in self.cutting.bars}
        for number, piece in enumerate(long, 1):
            title = bars[piece.stock].title
            yield CutLength(number, piece.title, piece.of, piece.count, piece.length, title)

    def _cut(self, stock: StockBar, lengths: Sequence[CutLength]) -> Iterator[CutBarRow]:
        trim, cut = self.cutting.bar_trim, self.cutting.bar_kerf
        usable = [int((length - 2 * trim) * _TENTH) for length in stock.lengths]
        wanted = []
        for one in lengths:
            if 0 < one.length * _TENTH <= max(usable):
                wanted.append(one)
            else:
                self._note(one.title, text("no stock bar is long enough for it"))
        if not wanted:
            return
        pairs = [(int(one.length * _TENTH), one.count) for one in wanted]
        made = cut_bars(pairs, usable, int(cut * _TENTH))
        for bar in made.bars:
            length = stock.lengths[bar.stock]
            used = sum((wanted[index].length for index in bar.pieces), Decimal(0))
            left = max(length - 2 * trim - used - cut * len(bar.pieces), Decimal(0))
            numbers = tuple(wanted[index].number for index in bar.pieces)
            yield CutBarRow(stock.title, bar.count, length, numbers, left)
        total = Decimal(sum(bar.count * stock.lengths[bar.stock] for bar in made.bars))
        used = sum((one.count * one.length for one in wanted), Decimal(0))
        count, metres = sum(bar.count for bar in made.bars), nearest(total / 1000, 2)
        waste = _percent(total - used, total)
        self.sums.append(StockSum(stock.title, count, metres, "m", waste, made.least))

    def _cut_outs(self, piece: Piece) -> Iterator[CutOut]:
        """What is cut and drilled in a panel that closes a face of a space."""
        if piece.face is None or piece.width is None:
            return
        space, side = piece.face.space, piece.face.side
        try:
            outside = space_sizes(self.build, space)
        except MissingPicks:
            return
        along = outside.width if side == "rear" else outside.length
        up = outside.width if side == "floor" else outside.height
        over = (piece.length - along) / 2, (piece.width - up) / 2
        if side == "floor":
            self.drilled.add(space)
            for work, spot in self._in_floor(space):
                wall = outside.wall
                yield _hole(work, over[0] + wall + spot.x, over[1] + wall + spot.y)
            return
        for opening in clear_openings(self.build, space, outside.interior):
            if opening.side == side:
                start = opening.start
                if side == "right":
                    start = outside.interior.length - opening.end
                middle = over[0] + outside.wall + start + Decimal(opening.width) / 2
                height = over[1] + outside.floor + opening.sill + Decimal(opening.height) / 2
                size = Decimal(opening.width), Decimal(opening.height)
                yield CutOut(text("Door opening"), middle, height, None, *size)

    def _in_floor(self, space: str) -> Iterator[tuple[WorkRow, FixingPoint]]:
        """What is drilled and cut in the floor of a space."""
        for work in self._works():
            assert work.unit is not None
            unit = self.job.layout.placements[work.unit - 1]
            if unit.space == space and unit.on == FLOOR:
                yield from ((work, spot) for spot in work.spots if spot.z == unit.z)

    def _works(self) -> Iterator[WorkRow]:
        works = (w for group in self.job.groups for part in group.parts for w in part.work)
        return (work for work in works if work.spots and work.hole and work.do in ("cut", "drill"))

    def _faces(self) -> Iterator[DrilledFace]:
        """Floors that no panel closes, and bases and fronts of units, where they are drilled."""
        for space in self.job.layout.spaces:
            holes = tuple(
                _hole(work, Decimal(spot.x), Decimal(spot.y))
                for work, spot in self._in_floor(space.space)
            )
            if holes and space.space not in self.drilled:
                title = text("Floor of the {space}, inside", space=space.title)
                inside = space.interior
                yield DrilledFace(title, Decimal(inside.length), Decimal(inside.width), holes)
        found: list[tuple[tuple[int, bool], CutOut]] = []
        for work in self._works():
            assert work.unit is not None
            unit = self.job.layout.placements[work.unit - 1]
            for spot in work.spots:
                base = spot.z == unit.z
                if base and unit.on == FLOOR:
                    continue
                x, y = spot.x - unit.x, spot.y - unit.y if base else spot.z - unit.z
                if not base and unit.side == "right":
                    x = unit.length - x
                elif not base and unit.side == "rear":
                    x = spot.y - unit.y
                found.append(((work.unit, base), _hole(work, Decimal(x), Decimal(y))))
        found.sort(key=itemgetter(0))
        for (number, base), several in groupby(found, key=itemgetter(0)):
            unit = self.job.layout.placements[number - 1]
            known = {"number": number, "title": unit.title}
            along = unit.width if not base and unit.side == "rear" else unit.length
            up = unit.width if base else unit.height
            title = (
                text("Base of number {number}, {title}", **known)
                if base
                else text("Front of number {number}, {title}", **known)
            )
            holes = tuple(hole for _, hole in several)
            yield DrilledFace(title, Decimal(along), Decimal(up), holes)


def _rectangle(panel: CutPanel) -> Rectangle:
    """The panel as it may lie on a sheet: with a grain, its side along it comes first."""
    length, width = int(panel.length * _TENTH), int(panel.width * _TENTH)
    if panel.grain == "width":
        length, width = width, length
    return Rectangle(length, width, turns=not panel.grain)


def _hole(work: WorkRow, x: Decimal, y: Decimal) -> CutOut:
    hole = work.hole or Hole()
    sizes = (hole.diameter, hole.width, hole.height)
    return CutOut(work.text, x, y, *(None if size is None else Decimal(size) for size in sizes))


def _percent(part: Decimal, whole: Decimal) -> Decimal:
    return nearest(100 * part / whole, 1)
