"""A layout as a report: where every unit sits, how full each space is, and its pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.drawing.layouts import CompactDrawing, compact_drawing, travels_of
from configurator.drawing.views import Travels
from configurator.findings import Finding
from configurator.fit.layout import FLOOR, HUNG, Layout, SpaceLayout, UnitName
from configurator.forms import form
from configurator.report.model import FAINT, Block, Body, Column, Paragraph, Report, Row, Table
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE, Speech, listed, text

DATUM = text(
    "All in mm: x behind the inside of the front wall, y from the inside of the left wall, z above"
    " the floor."
)

_WIDTH, _HEIGHT = 174.0, 165.0
"""Of the pictures at most, mm: as wide as what is printed on the narrower of the usual sheets."""

_SIDES = {"left": text("left"), "right": text("right"), "rear": text("rear")}
_STANDS = {FLOOR: text("floor"), HUNG: text("hung")}
_LARGEST = {
    "": text("Largest open box"),
    "left": text("Largest open box from the left"),
    "right": text("Largest open box from the right"),
    "rear": text("Largest open box from the rear"),
}


@frozen(repr=False)
class Drawn:
    """What pictures of a package are drawn from.

    Attributes:
        build: what is picked, without what the shop pays.
        layout: where the units sit; None where that is not known.
    """

    build: Resolved
    layout: Layout | None


def drawn_of(build: Resolved, layout: Layout | None) -> Drawn:
    """What a customer's pictures are drawn from."""
    return Drawn(Resolved(evolve(build.catalogue, trade=(), text=""), build.selection), layout)


@form(hidden="table travels named", also="scale", inline="layout")
@frozen
class DrawnLayout:
    """A layout with its pictures.

    Attributes:
        layout: where every unit sits; numbered in the pictures in the order of the placements.
        table: where every unit sits.
        travels: how far units slide out.
        named: what the picture is of, for those who have it read out.
    """

    layout: Layout
    table: Table
    travels: Travels
    named: str

    @property
    def scale(self) -> int:
        """The scale of the pictures, as this many mm to one."""
        return self.drawing(SOURCE).scale

    def drawing(
        self, speech: Speech, room: tuple[float, float] = (_WIDTH, _HEIGHT)
    ) -> CompactDrawing:
        """Its pictures in a language, in as much room, mm."""
        return compact_drawing(self.layout, self.travels, self.named, *room, speech)


def drawn_layout(catalogue: Catalogue, layout: Layout | None, named: str) -> DrawnLayout | None:
    """The layout with its table and pictures, or None where there is nothing to show.

    Args:
        catalogue: the shop's catalogue.
        layout: where the units sit, if that is known.
        named: what the picture is of, for those who have it read out.
    """
    if layout is None or not layout.placements:
        return None
    return DrawnLayout(
        layout, layout_table(layout, brief=True), travels_of(catalogue, layout), named
    )


def layout_table(layout: Layout, space: str = "", brief: bool = False) -> Table:
    """Where every unit sits, numbered as in the drawing.

    Args:
        layout: of all spaces.
        space: only the units in this one; empty for all.
        brief: leave out what the pictures beside the table show: sides, and what stands on what.
    """
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    ways = () if brief else (Column(text("Works from"), name="side"), Column(text("On"), name="on"))
    figures = ("x", "y", "z", text("Long"), text("Wide"), text("High"))
    columns = (
        Column(text("No."), "number", name="short"),
        Column(text("Unit"), name="unit"),
        *ways,
        *(Column(title, "figure", name="mm") for title in figures),
    )
    rows = []
    for p in layout.placements:
        if space in ("", p.space):
            on = _STANDS.get(str(p.on), "")
            if isinstance(p.on, UnitName):
                on = text("number {number}", number=numbers[p.on])
            stands = () if brief else (_SIDES.get(p.side, ""), on)
            figures_of = (p.x, p.y, p.z, p.length, p.width, p.height)
            rows.append(Row((str(numbers[p.name]), p.title, *stands, *figures_of)))
    return Table(columns, (Body(rows),), name="places" if brief else "units")


def space_told(layout: Layout, space: SpaceLayout) -> Iterator[str]:
    """How large a space is inside and how full, and the largest open box from each side."""
    yield text(
        "The {space} is {length} mm long, {width} mm wide and {height} mm high inside; {used} of"
        " {volume} L are taken by the units in it.",
        space=space.title,
        length=space.interior.length,
        width=space.interior.width,
        height=space.interior.height,
        used=space.used_litres,
        volume=space.litres,
    )
    for box in layout.open_boxes:
        if box.space == space.space:
            yield text(
                "{from_side}: {length} mm long, {width} mm wide, {height} mm high, {litres} L, at"
                " x {x}, y {y}, z {z}.",
                from_side=_LARGEST[box.side],
                length=box.length,
                width=box.width,
                height=box.height,
                litres=box.litres,
                x=box.x,
                y=box.y,
                z=box.z,
            )


def layout_report(
    catalogue: Catalogue,
    layout: Layout | None,
    findings: Sequence[Finding],
    more: Sequence[str] | None,
) -> Report:
    """The places, the open boxes, and the findings about them.

    Args:
        catalogue: the shop's catalogue.
        layout: where everything sits, if that is known.
        findings: what a check says of it.
        more: what would fit too, one at a time; None when that is not asked for.
    """
    places: list[tuple[Block, ...]] = []
    if layout is not None and not layout.placements:
        places.append((Paragraph("There is nothing to place."),))
    elif layout is not None:
        places += (_in_space(layout, space) for space in layout.spaces)
    places += ((finding,) for finding in findings)
    if layout is not None and layout.unknown:
        titles = listed(catalogue.space_title(space) for space in layout.unknown)
        told = f"Not laid out, because choices are open that make it: the {titles}"
        places.append((Paragraph(told),))
    if more is not None:
        fits = "; ".join(more) or "nothing in the catalogue"
        places.append((Paragraph(f"Would fit too, one at a time: {fits}"),))
    return tuple(places)


def _in_space(layout: Layout, space: SpaceLayout) -> tuple[Block, ...]:
    size, *boxes = map(Paragraph, space_told(layout, space))
    return size, layout_table(layout, space.space), Paragraph(DATUM, FAINT), *boxes
