"""A layout as a report: where every unit sits, how full each space is, and its pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import frozen

from configurator.answers.facts import FilledSpace, PlacedUnit
from configurator.catalogue.model import Catalogue
from configurator.drawing.layouts import CompactDrawing, compact_drawing
from configurator.findings import Finding
from configurator.fit.layout import FLOOR, HUNG, Layout, OpenBox, Placement, UnitName
from configurator.forms import form
from configurator.report.model import FAINT, Block, Body, Column, Paragraph, Report, Row, Table
from configurator.words import text

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


@form(
    hidden="layout titles spaces table drawing",
    also="scale placements filled_spaces open_boxes",
    keys={"filled_spaces": "spaces"},
)
@frozen
class DrawnLayout:
    """A layout with its pictures.

    Attributes:
        layout: where every unit sits.
        titles: of the units, in the order of the placements and numbered so in the pictures.
        spaces: title of each space, in the order of the layout's spaces.
        table: where every unit sits.
        drawing: its pictures.
    """

    layout: Layout
    titles: tuple[str, ...]
    spaces: tuple[str, ...]
    table: Table
    drawing: CompactDrawing

    @property
    def scale(self) -> int:
        """The scale of the pictures, as this many mm to one."""
        return self.drawing.scale

    @property
    def placements(self) -> tuple[PlacedUnit, ...]:
        """Every unit in its place, by title."""
        return tuple(map(PlacedUnit, self.titles, self.layout.placements))

    @property
    def filled_spaces(self) -> tuple[FilledSpace, ...]:
        """Every space with a unit, by title."""
        return tuple(map(FilledSpace, self.spaces, self.layout.spaces))

    @property
    def open_boxes(self) -> tuple[OpenBox, ...]:
        """The largest clear box for each space and side."""
        return self.layout.open_boxes


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
        layout=layout,
        titles=tuple(catalogue.option(p.choice, p.option).title for p in layout.placements),
        spaces=tuple(catalogue.space_title(space.space) for space in layout.spaces),
        table=layout_table(catalogue, layout, brief=True),
        drawing=compact_drawing(catalogue, layout, named, _WIDTH, _HEIGHT),
    )


def layout_table(
    catalogue: Catalogue, layout: Layout, space: str = "", brief: bool = False
) -> Table:
    """Where every unit sits, numbered as in the drawing.

    Args:
        catalogue: the shop's catalogue.
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
    rows = (
        Row(
            (
                str(numbers[p.name]),
                catalogue.option(p.choice, p.option).title,
                *(() if brief else (_SIDES.get(p.side, ""), _stands_on(p, numbers))),
                *(p.x, p.y, p.z, p.length, p.width, p.height),
            )
        )
        for p in layout.placements
        if space in ("", p.space)
    )
    return Table(columns, (Body(rows),), name="places" if brief else "units")


def _stands_on(p: Placement, numbers: Mapping[UnitName, int]) -> str:
    if isinstance(p.on, UnitName):
        return text("number {number}", number=numbers[p.on])
    return _STANDS[p.on]


def space_told(catalogue: Catalogue, layout: Layout, space: str) -> str:
    """How large a space is inside, and how full."""
    one = next(one for one in layout.spaces if one.space == space)
    return text(
        "The {space} is {length} mm long, {width} mm wide and {height} mm high inside; {used} of"
        " {volume} L are taken by the units in it.",
        space=catalogue.space_title(space),
        length=one.interior.length,
        width=one.interior.width,
        height=one.interior.height,
        used=one.used // 10**6,
        volume=one.volume // 10**6,
    )


def open_boxes(layout: Layout, space: str) -> Iterator[str]:
    """The largest open box from each side of a space."""
    for box in layout.open_boxes:
        if box.space == space:
            yield text(
                "{from_side}: {length} mm long, {width} mm wide, {height} mm high, {litres} L, at"
                " x {x}, y {y}, z {z}.",
                from_side=_LARGEST[box.side],
                length=box.length,
                width=box.width,
                height=box.height,
                litres=box.volume // 10**6,
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
        places += (_in_space(catalogue, layout, space.space) for space in layout.spaces)
    places += ((finding,) for finding in findings)
    if layout is not None and layout.unknown:
        titles = " and ".join(catalogue.space_title(space) for space in layout.unknown)
        told = f"Not laid out, because choices are open that make it: the {titles}"
        places.append((Paragraph(told),))
    if more is not None:
        fits = "; ".join(more) or "nothing in the catalogue"
        places.append((Paragraph(f"Would fit too, one at a time: {fits}"),))
    return tuple(places)


def _in_space(catalogue: Catalogue, layout: Layout, space: str) -> tuple[Block, ...]:
    return (
        Paragraph(space_told(catalogue, layout, space)),
        layout_table(catalogue, layout, space),
        Paragraph(DATUM, FAINT),
        *map(Paragraph, open_boxes(layout, space)),
    )
