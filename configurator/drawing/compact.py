"""The drawing of a layout for a page that has other things on it: small, with large letters.

Views stand beside each other as far as there is room, without a key: the table beside them has the
numbers, names and sizes. Of marks too near each other for a number, a chain of dimensions has only
the first; what it measures stays exact, and the table has every place. The view from above is a
picture of its own where only one space is drawn, so that the table can stand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.drawing.canvas import Canvas, text_width
from configurator.drawing.dimensions import GAP, SIZE
from configurator.drawing.views import View, draw, views_of
from configurator.fit.layout import Layout, SpaceLayout

__all__ = ["LETTERS", "CompactDrawing", "compact_drawing"]

LETTERS = 1.3
"""How many times larger than in the large drawing letters are: none is smaller than 8 pt."""

_SCALES = (10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)
_GAP = 2.0
_TITLES = {
    "left": "from the left",
    "right": "from the right",
    "plan": "from above",
    "rear": "from behind",
}


@frozen
class CompactDrawing:
    """The pictures of a layout.

    Attributes:
        scale: both are to scale, one to so many.
        views: SVG of the views from the sides, and whatever else is drawn.
        plan: SVG of the view from above; empty where it is among the others.
        plan_width: its width, mm of paper.
    """

    scale: int
    views: str
    plan: str
    plan_width: float


def compact_drawing(
    catalogue: Catalogue, layout: Layout, named: str, width: float, height: float
) -> CompactDrawing:
    """Draw a layout to the largest scale of the usual ones at which it fits.

    Args:
        catalogue: the shop's catalogue.
        layout: where everything sits; at least one unit.
        named: what is laid out, for those who have it read out.
        width: most width, mm of paper.
        height: most height of all of it, mm of paper.
    """
    whole = [
        (space, evolve(view, title=f"{title.capitalize()} {_TITLES[view.name]}"))
        for space in layout.spaces
        for title in [catalogue.space_title(space.space)]
        for view in views_of(layout, space, title)
    ]
    for scale in _SCALES:
        views = [(space, _thinned(view, scale * LETTERS)) for space, view in whole]
        plans = [pair for pair in views if pair[1].name == "plan"]
        apart = plans if len(plans) == 1 else []
        rest = [pair for pair in views if pair not in apart]
        shelves = _shelves(rest, scale, width)
        needed = _height(shelves, scale) + sum(_size(view, scale)[1] for _, view in apart)
        if needed <= height and all(_size(view, scale)[0] <= width for _, view in views):
            break
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    told = f"{named}, scale 1 to {scale}"

    def picture(shelves: list[list[tuple[SpaceLayout, View]]], wide: float, name: str) -> str:
        canvas = Canvas(scale, LETTERS)
        y = 0.0
        for shelf in shelves:
            x = 0.0
            for space, view in shelf:
                corner = (x * scale, y * scale)
                draw(canvas, catalogue, layout, space, view, numbers, corner)
                x += _size(view, scale)[0] + _GAP
            y += max(_size(view, scale)[1] for _, view in shelf)
        return canvas.svg(wide / LETTERS, y / LETTERS, told, f"{name}-")

    plan_width = max((_size(view, scale)[0] for _, view in apart), default=0.0)
    return CompactDrawing(
        scale=scale,
        views=picture(shelves, width, "views"),
        plan=picture([apart], plan_width, "plan") if apart else "",
        plan_width=plan_width,
    )


def _thinned(view: View, drawn: float) -> View:
    """The view with only those marks whose numbers have room between them."""
    chains = []
    for marks in view.chains:
        kept, end = [marks[0]], marks[-1]
        for mark in marks[1:-1]:
            if min(_spare(mark - kept[-1], drawn), _spare(end - mark, drawn)) >= 0:
                kept.append(mark)
        chains.append((*kept, end))
    return evolve(view, chains=(chains[0], chains[1]))


def _spare(gap: int, drawn: float) -> float:
    """Room left beside the number of a gap, real mm; negative where it has none."""
    return gap - (text_width(str(gap), SIZE) + GAP) * drawn


def _size(view: View, scale: int) -> tuple[float, float]:
    """Width and height of a view with its numbers, mm of paper."""
    drawn = scale * LETTERS
    heading = text_width(view.title, 3.0, bold=True) * LETTERS
    wide = max(view.beside(drawn) * LETTERS + view.across / scale + 4, heading)
    return wide, view.height(drawn) * LETTERS


def _shelves(
    views: Sequence[tuple[SpaceLayout, View]], scale: int, width: float
) -> list[list[tuple[SpaceLayout, View]]]:
    """The views in rows, each as long as there is room for another."""
    shelves: list[list[tuple[SpaceLayout, View]]] = []
    left = 0.0
    for space, view in views:
        wide = _size(view, scale)[0]
        if shelves and wide <= left:
            shelves[-1].append((space, view))
        else:
            shelves.append([(space, view)])
            left = width
        left -= wide + _GAP
    return shelves


def _height(shelves: Sequence[Sequence[tuple[SpaceLayout, View]]], scale: int) -> float:
    return sum(max(_size(view, scale)[1] for _, view in shelf) for shelf in shelves)
