"""The views of a layout as pictures of their own, each as large as a page allows.

For the workshop: letters can be read at arm's length, and under each view lies a bar whose length
on paper tells whether the printer kept to the scale.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.drawing import SCALES
from configurator.drawing.canvas import Canvas
from configurator.drawing.views import View, draw, views_of
from configurator.fit.layout import Layout

__all__ = ["BAR", "ViewPicture", "view_pictures"]

BAR = 500
"""Real length of the bar, mm."""

_LETTERS = 1.6
"""How many times larger than in the drawing of all views letters are."""

_FOOT = 5.0
"""Room for the bar under a view, mm as the canvas counts them."""

_BESIDE = 66.0
"""Room that a key takes beside a view, mm."""

_RIGHT = 1.5
"""Room right of a view, mm as the canvas counts them."""


@frozen
class ViewPicture:
    """One view.

    Attributes:
        name: ``left``, ``right``, ``plan`` or ``rear``.
        space: title of the space that it shows.
        scale: one to so many.
        svg: the picture.
        beside: there is room for a key beside it.
        numbers: of the units in its space, as in the layout's table.
    """

    name: str
    space: str
    scale: int
    svg: str
    beside: bool
    numbers: tuple[int, ...]

    @property
    def bar(self) -> Decimal:
        """Length of the bar on paper, mm."""
        return Decimal(BAR) / self.scale


def view_pictures(
    catalogue: Catalogue, layout: Layout, width: float, height: float
) -> tuple[ViewPicture, ...]:
    """Every view of every space with units, each to the largest usual scale at which it fits.

    Args:
        catalogue: the shop's catalogue.
        layout: where everything sits.
        width: most width of a picture, mm of paper.
        height: most height of a picture, mm of paper.
    """
    bare = evolve(layout, open_boxes=())
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    pictures: list[ViewPicture] = []
    for space in layout.spaces:
        inside = tuple(numbers[p.name] for p in layout.placements if p.space == space.space)
        named = catalogue.space_title(space.space)
        for view in views_of(layout, space, named):
            scale = next((s for s in SCALES if _fits(view, s, width, height)), SCALES[-1])
            canvas = Canvas(scale, _LETTERS)
            untitled = evolve(view, title="")
            draw(canvas, catalogue, bare, space, untitled, numbers, (0.0, 0.0))
            wide, high = _size(view, scale)
            _bar(canvas, view, high / _LETTERS)
            title = f"{view.title}, scale 1 to {scale}"
            svg = canvas.svg(wide / _LETTERS, high / _LETTERS, title, f"view-{len(pictures)}-")
            beside = wide + _BESIDE <= width
            pictures.append(ViewPicture(view.name, named, scale, svg, beside, inside))
    return tuple(pictures)


def _size(view: View, scale: int) -> tuple[float, float]:
    """Width and height of a view with its numbers and its bar, mm of paper."""
    drawn = scale * _LETTERS
    wide = view.beside(drawn) + view.across / drawn + _RIGHT
    return wide * _LETTERS, (view.height(drawn) + _FOOT) * _LETTERS


def _fits(view: View, scale: int, width: float, height: float) -> bool:
    wide, high = _size(view, scale)
    return wide <= width and high <= height


def _bar(canvas: Canvas, view: View, foot: float) -> None:
    """The bar, its lower edge at a height of the picture, mm as the canvas counts them."""
    scale = canvas.scale
    x, y = view.beside(scale) * scale, (foot - 2.0) * scale
    for end in (x, x + BAR):
        canvas.line(end, y - 1.2 * scale, end, y + 1.2 * scale, "#222", 0.3)
    canvas.line(x, y, x + BAR, y, "#222", 0.5)
    canvas.text(x + BAR + 2 * scale, y + 0.8 * scale, f"{BAR} mm", 2.3, "start")
