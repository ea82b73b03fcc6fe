"""Stock sheets with what is cut from them, to scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import ceil

from attrs import frozen

from configurator.drawing.canvas import Canvas, Rect, clear_part, edges, text_width
from configurator.drawing.layouts import LETTERS, SCALES
from configurator.drawing.names import lines_within
from configurator.drawing.views import SMALL, TEXT
from configurator.report.cut_tables import sheet_title
from configurator.report.cuts import CutList, CutOut, CutPanel, CutSheet, PlacedPanel
from configurator.words import SOURCE, Speech, text

_LINE = 2.8
"""Height of a line of a label, mm as the canvas counts."""

_CUT = "#b03a2e"


@frozen
class SheetPicture:
    """A stock sheet: what stands over it, its scale, the drawing and how wide that is, mm."""

    title: str
    scale: int
    width: int
    svg: str


def sheet_pictures(
    cuts: CutList, wide: float, tall: float, speech: Speech = SOURCE
) -> Iterator[SheetPicture]:
    """Every sheet that is cut, all to the one largest usual scale at which they fit, mm."""
    if not cuts.sheets:
        return
    length = max(sheet.length for sheet in cuts.sheets)
    width = max(sheet.width for sheet in cuts.sheets)
    scale = next(
        (s for s in SCALES if length / s <= wide - 1 and width / s <= tall - 1), SCALES[-1]
    )
    panels = {panel.number: panel for panel in cuts.panels}
    for number, sheet in enumerate(cuts.sheets):
        canvas = Canvas(scale, LETTERS, speech)
        _draw(canvas, sheet, panels)
        across, down = ((size / scale + 1) / LETTERS for size in (sheet.length, sheet.width))
        title = text("{sheet}, scale 1 to {scale}", sheet=sheet_title(sheet), scale=scale)
        svg = canvas.svg(across, down, title, f"sheet-{number}-")
        yield SheetPicture(sheet_title(sheet), scale, ceil(across * LETTERS), svg)


def _draw(canvas: Canvas, sheet: CutSheet, panels: Mapping[int, CutPanel]) -> None:
    edge = 0.5 * canvas.scale / LETTERS
    canvas.rect(edge, edge, sheet.length, sheet.width, "#f0f0f0", thick=0.4)
    for one in sheet.panels:
        x, y = edge + float(one.x), edge + sheet.width - float(one.y) - float(one.width)
        canvas.rect(x, y, float(one.length), float(one.width), "#ffffff", thick=0.25)
        panel, holes = panels[one.panel], list[Rect]()
        for hole in panel.cut_outs:
            holes += edges(_hole(canvas, hole, one, panel, (x, y + float(one.width))), canvas.scale)
        clear = clear_part((x, y, float(one.length), float(one.width)), holes)
        if clear is not None:
            _label(canvas, one, panel, clear)


def _hole(
    canvas: Canvas, hole: CutOut, on: PlacedPanel, panel: CutPanel, corner: tuple[float, float]
) -> Rect:
    """A hole of a panel, turned with it by a quarter to the left; answers where it lies."""
    x, y = float(hole.x), float(hole.y)
    size = float(hole.length or 0), float(hole.width or 0)
    if on.turned:
        x, y, size = float(panel.width) - y, x, (size[1], size[0])
    middle = corner[0] + x, corner[1] - y
    if hole.diameter is not None:
        radius = max(float(hole.diameter) / 2, 0.5 * canvas.scale)
        canvas.circle(*middle, radius, pen=_CUT, thick=0.2)
        return middle[0] - radius, middle[1] - radius, 2 * radius, 2 * radius
    rect = (middle[0] - size[0] / 2, middle[1] - size[1] / 2, *size)
    canvas.rect(*rect, pen=_CUT, thick=0.2, dash="2 1")
    return rect


def _label(canvas: Canvas, one: PlacedPanel, panel: CutPanel, clear: Rect) -> None:
    """Number and title, size, and where its corner lies, as far as there is room."""
    scale = canvas.scale
    x, y, wide, tall = clear
    along = wide >= tall or text_width(str(one.panel), TEXT, True) * scale < wide / 3
    across, up = (wide, tall) if along else (tall, wide)
    room = across / scale - 1.5
    say = canvas.say
    title = f"{one.panel} {say(panel.title)}"
    size = say(text("{length} x {width}", length=one.length, width=one.width))
    at = say(text("at {x} / {y}", x=one.x, y=one.y))
    named = lines_within(title, room, max(1.0, up / scale / _LINE - 2) * _LINE, TEXT, _LINE)
    lines: Sequence[str] = [*(named or [str(one.panel)]), size, at]
    # whether there is room for the figures does not depend on the language
    longest = max(text_width(f"{figures}    ", SMALL) for figures in (size, f"{one.x} / {one.y}"))
    if up / scale < 3 * _LINE or longest > room:
        lines = [str(one.panel)]
        if text_width(lines[0], TEXT, True) > room or up / scale + 0.6 < _LINE:
            return
    middle = x + wide / 2, y + tall / 2
    for index, line in enumerate(lines):
        off = ((index + 1) * _LINE - 0.7 - len(lines) * _LINE / 2) * scale
        place = (middle[0], middle[1] + off) if along else (middle[0] + off, middle[1])
        bold = index < len(lines) - 2 or len(lines) == 1
        canvas.text(*place, line, TEXT if bold else SMALL, bold=bold, turn=not along)
