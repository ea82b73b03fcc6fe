"""The drawing of a layout: every space from its sides and from above, to scale, as SVG.

One unit of the drawing is one real millimetre and its size is given in millimetres of paper, so a
print without scaling can be measured. Nothing is said by colour alone; the key beside the views
has every unit's number, name and size, and the table of the layout the same numbers in text.
"""

from __future__ import annotations

from configurator.catalogue.model import Catalogue
from configurator.drawing.canvas import Canvas
from configurator.drawing.views import View, draw, views_of, wrapped
from configurator.fit.layout import Layout
from configurator.selection.picks import Selection

__all__ = ["SCALES", "layout_svg"]

SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100)
"""Scales that are used, one to so many."""

_KEY = 58.0
"""Width of the key, mm."""


def layout_svg(
    catalogue: Catalogue,
    selection: Selection,
    layout: Layout,
    prefix: str = "layout-",
    paper: tuple[float, float] = (180.0, 258.0),
) -> str:
    """The drawing as one SVG element; empty spaces are not drawn.

    Args:
        catalogue: the shop's catalogue.
        selection: what was laid out.
        layout: where everything sits.
        prefix: of the ids in it, so that several drawings can stand in one page.
        paper: most width and height it may take, mm; the largest scale that fits is used.
    """
    spaces = [
        (space, tuple(views_of(layout, space, catalogue.space_title(space.space))))
        for space in layout.spaces
    ]
    views = [view for _, seen in spaces for view in seen]
    scale = next((s for s in SCALES if _fits(views, s, paper)), SCALES[-1])
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    canvas = Canvas(scale)
    y = 0.0
    for space, seen in spaces:
        for view in seen:
            draw(canvas, catalogue, layout, space, view, numbers, (0.0, y * scale))
            y += view.height(scale)
    key = _key(canvas, catalogue, layout, paper[0] - _KEY)
    title = f"Layout of {selection.title or catalogue.title}, scale 1 to {scale}"
    return canvas.svg(paper[0], max(y, key), title, prefix)


def _fits(views: list[View], scale: int, paper: tuple[float, float]) -> bool:
    wide = max((v.beside(scale) + v.across / scale + 8 for v in views), default=0.0)
    high = sum(view.height(scale) for view in views)
    return wide <= paper[0] - _KEY and high <= paper[1]


def _key(canvas: Canvas, catalogue: Catalogue, layout: Layout, left: float) -> float:
    """The numbers with names and sizes; answers how far down it reaches, mm of paper."""
    scale = canvas.scale
    y = 3.6
    canvas.text(left * scale, y * scale, f"Scale 1 : {scale}, sizes in mm", 2.6, "start", bold=True)
    y += 4.5
    for number, p in enumerate(layout.placements, 1):
        title = catalogue.option(p.choice, p.option).title
        for index, line in enumerate(wrapped(f"{number}  {title}", _KEY - 4, 2.2)):
            canvas.text((left + (0 if index == 0 else 3)) * scale, y * scale, line, 2.2, "start")
            y += 2.9
        along = f"{p.length} long, {p.width} wide, {p.height} high"
        canvas.text((left + 3) * scale, y * scale, along, 2.1, "start", fill="#444")
        y += 3.6
    y += 2
    for sign, words in (
        ("door", "clear opening of a door"),
        ("hung", "hangs overhead, seen from above"),
        ("open", "largest open box on that side"),
        ("slide", "slides out so far; arrow not to scale"),
    ):
        x = left * scale
        row = (y - 0.8) * scale
        match sign:
            case "door":
                canvas.line(x, row, x + 8 * scale, row, "#b03a2e", 0.25, "2 1")
            case "hung":
                canvas.line(x, row, x + 8 * scale, row, "#222", 0.3, "1.2 0.8")
            case "open":
                canvas.rect(x, row - 1.2 * scale, 8 * scale, 2.2 * scale, "#eef6ea", "#6a9a5b", 0.2)
            case _:
                canvas.arrow(x, row, 8, 0, "#1f4e79")
        canvas.text(x + 10 * scale, y * scale, words, 2.2, "start")
        y += 3.8
    return y
