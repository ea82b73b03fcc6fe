"""The drawing of a layout as a page of its own, with the same numbers as a table."""

from __future__ import annotations

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.drawing import layout_svg
from configurator.fit.layout import FLOOR, HUNG, Layout
from configurator.papers.html import page
from configurator.selection.picks import Selection

__all__ = ["Row", "layout_html", "rows_of"]


@frozen
class Row:
    """One line of the table: the unit, where it works from, what it stands on, and its numbers."""

    number: int
    title: str
    side: str
    on: str
    figures: tuple[int, ...]


def rows_of(catalogue: Catalogue, layout: Layout) -> tuple[Row, ...]:
    """The table of a layout, numbered as in its drawing."""
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    return tuple(
        Row(
            numbers[p.name],
            catalogue.option(p.choice, p.option).title,
            p.side,
            p.on if p.on in (FLOOR, HUNG) else f"number {numbers[p.on]}",
            (p.x, p.y, p.z, p.length, p.width, p.height),
        )
        for p in layout.placements
    )


def layout_html(catalogue: Catalogue, selection: Selection, layout: Layout) -> str:
    """The layout as one HTML page that needs no other file."""
    return page(
        "layout.html",
        catalogue.shop,
        title=selection.title or catalogue.title,
        picture=layout_svg(catalogue, selection, layout, paper=(174.0, 225.0)),
        rows=rows_of(catalogue, layout),
        layout=layout,
        spaces={space.id: space.title for space in catalogue.spaces},
    )
