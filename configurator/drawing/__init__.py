"""The drawing of a layout: every space from its sides and from above, to scale, as SVG.

One unit of the drawing is one real millimetre and its size is given in millimetres of paper, so a
print without scaling can be measured. Nothing is said by colour alone; the key beside the views
has every unit's number, name and size, and the table of the layout the same numbers in text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

from configurator.catalogue.model import Catalogue
from configurator.drawing.canvas import Canvas, text_width
from configurator.drawing.views import HEAD, View, draw, views_of, wrapped
from configurator.fit.layout import HUNG, Layout, SpaceLayout
from configurator.selection.resolved import Resolved

__all__ = ["SCALES", "layout_svg"]

SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100)
"""Scales that are used, one to so many."""

_KEY = 49.0
"""Width of the key, mm."""

_Seen: TypeAlias = tuple[SpaceLayout, View]

_SIGNS = {
    "door": "clear opening of a door",
    "hung": "hangs overhead, seen from above",
    "open": "largest open box on that side",
    "slide": "slides out so far; arrow not to scale",
}


def layout_svg(
    build: Resolved,
    layout: Layout,
    prefix: str = "layout-",
    paper: tuple[float, float] = (180.0, 258.0),
    letters: float = 1.0,
) -> str:
    """The drawing as one SVG element; empty spaces are not drawn.

    Args:
        build: what is picked, from which catalogue.
        layout: where everything sits.
        prefix: of the ids in it, so that several drawings can stand in one page.
        paper: most width and height it may take, mm; the largest scale that fits is used.
        letters: how many times larger than usual letters and pens are.
    """
    views = [
        (space, view)
        for space in layout.spaces
        for view in views_of(layout, space, build.catalogue.space_title(space.space))
    ]
    wide, high = paper[0] / letters, paper[1] / letters
    room = (wide - _KEY, high)
    said = next((s for s in SCALES if _fits(views, s * letters, room)), SCALES[-1])
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    canvas = Canvas(said, letters)
    scale = canvas.scale
    y = 0.0
    for row in _rows(views, scale, room[0]):
        x = 0.0
        for space, view in row:
            draw(canvas, build.catalogue, layout, space, view, numbers, (x * scale, y * scale))
            x += _wide(view, scale)
        y += max(view.height(scale) for _, view in row)
    signs = tuple(_signs(build.catalogue, layout))
    key = _key(canvas, build.catalogue, layout, room[0], signs)
    title = f"Layout of {build.selection.title or build.catalogue.title}, scale 1 to {said}"
    return canvas.svg(wide, max(y, key), title, prefix)


def _fits(views: Sequence[_Seen], scale: float, room: tuple[float, float]) -> bool:
    wide = max((_wide(view, scale) for _, view in views), default=0.0)
    rows = _rows(views, scale, room[0])
    high = sum(max(view.height(scale) for _, view in row) for row in rows)
    return wide <= room[0] and high <= room[1]


def _wide(view: View, scale: float) -> float:
    """Room that a view takes along the sheet, mm of paper: what is drawn, or its title."""
    title = text_width(view.title, HEAD, bold=True)
    right = 8 if view.name == "plan" else 4
    return max(view.beside(scale) + view.across / scale + right, title + 2)


def _rows(views: Sequence[_Seen], scale: float, width: float) -> list[list[_Seen]]:
    """The views beside each other as far as there is room, in their order."""
    rows: list[list[_Seen]] = []
    left = 0.0
    for space, view in views:
        wide = _wide(view, scale)
        if not rows or wide > left:
            rows.append([])
            left = width
        rows[-1].append((space, view))
        left -= wide
    return rows


def _key(
    canvas: Canvas, catalogue: Catalogue, layout: Layout, left: float, signs: Sequence[str]
) -> float:
    """The numbers with names and sizes; answers how far down it reaches, mm of paper."""
    scale = canvas.scale
    y = 3.6
    told = f"Scale 1 : {scale / canvas.letters:g}, sizes in mm"
    canvas.text(left * scale, y * scale, told, 2.6, "start", bold=True)
    y += 3.4
    canvas.text(left * scale, y * scale, "length x width x height", 2.2, "start", fill="#444")
    y += 4.5
    for words, size in _alike(catalogue, layout):
        for index, line in enumerate(wrapped(words, _KEY - 4, 2.2)):
            canvas.text((left + (0 if index == 0 else 3)) * scale, y * scale, line, 2.2, "start")
            y += 2.9
        canvas.text((left + 3) * scale, y * scale, size, 2.2, "start", fill="#444")
        y += 3.6
    y += 2
    for sign in signs:
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
        canvas.text(x + 10 * scale, y * scale, _SIGNS[sign], 2.2, "start")
        y += 3.8
    return y


def _alike(catalogue: Catalogue, layout: Layout) -> Iterator[tuple[str, str]]:
    """Numbers and name, and size; units of one option that lie one way together."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for number, p in enumerate(layout.placements, 1):
        size = f"{p.length} x {p.width} x {p.height}"
        found.setdefault((p.choice, p.option, size), []).append(str(number))
    for (choice, option, size), numbers in found.items():
        yield f"{', '.join(numbers)}: {catalogue.option(choice, option).title}", size


def _signs(catalogue: Catalogue, layout: Layout) -> Iterator[str]:
    """The signs that the drawing has."""
    if any(space.openings for space in layout.spaces):
        yield "door"
    if any(p.on == HUNG for p in layout.placements):
        yield "hung"
    if any(box.side for box in layout.open_boxes):
        yield "open"
    units = ((p, catalogue.option(p.choice, p.option).unit) for p in layout.placements)
    if any(p.side and unit is not None and unit.travel for p, unit in units):
        yield "slide"
