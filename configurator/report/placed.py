"""A layout as it stands on paper: a table of the units with their numbers, and its pictures."""

from __future__ import annotations

from attrs import frozen

from configurator.answers.values import FilledSpace, PlacedUnit
from configurator.catalogue.model import Catalogue
from configurator.drawing.compact import CompactDrawing, compact_drawing
from configurator.fit.layout import FLOOR, HUNG, Layout, OpenBox
from configurator.forms import form

__all__ = ["DrawnLayout", "Row", "drawn_layout", "rows_of"]

_WIDTH, _HEIGHT = 174.0, 165.0
"""Of the pictures at most, mm: as wide as what is printed on the narrower of the usual sheets."""


@frozen
class Row:
    """One line of the table: the unit, where it works from, what it stands on, and its numbers.

    Attributes:
        number: of the unit, as in the drawing.
        title: its title.
        side: where it works from, or empty.
        on: ``floor`` or ``hung``; empty where it stands on another unit.
        carrier: the number of what it stands on, or None.
        figures: x, y, z, length, width and height, mm.
    """

    number: int
    title: str
    side: str
    on: str
    carrier: int | None
    figures: tuple[int, ...]


@form(
    hidden="layout rows spaces drawing",
    also="scale placements filled_spaces open_boxes",
    keys={"filled_spaces": "spaces"},
)
@frozen
class DrawnLayout:
    """A layout with everything that is shown of it.

    Attributes:
        layout: where every unit sits.
        rows: its table, numbered as in the pictures.
        spaces: title of each space, in the order of the layout's spaces.
        drawing: its pictures.
    """

    layout: Layout
    rows: tuple[Row, ...]
    spaces: tuple[str, ...]
    drawing: CompactDrawing

    @property
    def scale(self) -> int:
        """The scale of the pictures, as so many mm to one."""
        return self.drawing.scale

    @property
    def placements(self) -> tuple[PlacedUnit, ...]:
        """Every unit in its place, by title."""
        placed = zip(self.rows, self.layout.placements, strict=True)
        return tuple(PlacedUnit(row.title, placement) for row, placement in placed)

    @property
    def filled_spaces(self) -> tuple[FilledSpace, ...]:
        """Every space with a unit, by title."""
        return tuple(map(FilledSpace, self.spaces, self.layout.spaces))

    @property
    def open_boxes(self) -> tuple[OpenBox, ...]:
        """The largest clear box for each space and side."""
        return self.layout.open_boxes


def rows_of(catalogue: Catalogue, layout: Layout) -> tuple[Row, ...]:
    """The table of a layout, numbered as in its drawing."""
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    return tuple(
        Row(
            numbers[p.name],
            catalogue.option(p.choice, p.option).title,
            p.side,
            p.on if p.on in (FLOOR, HUNG) else "",
            numbers.get(p.on),
            (p.x, p.y, p.z, p.length, p.width, p.height),
        )
        for p in layout.placements
    )


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
        rows=rows_of(catalogue, layout),
        spaces=tuple(catalogue.space_title(space.space) for space in layout.spaces),
        drawing=compact_drawing(catalogue, layout, named, _WIDTH, _HEIGHT),
    )
