"""The pictures of the shop's sheets, to scale: views of a space with holes, the tray, stock sheets.

A bar under each view shows whether the printer kept to the scale. Holes and fixings are drawn where
the job sheet has them, with the letter that they have there: those in a floor from above, those in
the face of a unit from the side that it works from.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from math import ceil

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.catalogue.units import Hole
from configurator.drawing.canvas import (
    ROW,
    Canvas,
    Rect,
    chain,
    clear_part,
    edges,
    rows_needed,
    text_width,
    touch,
)
from configurator.drawing.layouts import LETTERS, SCALES, travels_of
from configurator.drawing.names import lines_within
from configurator.drawing.views import SMALL, TEXT, View, draw, views_of
from configurator.fit.layout import Layout
from configurator.report.cut_tables import sheet_title
from configurator.report.cuts import CutList, CutOut, CutPanel, CutSheet, PlacedPanel
from configurator.report.job import WorkRow
from configurator.words import SOURCE, Speech, text

BAR = 500
"""Real length of the bar under a view, mm."""

_BAR_ROOM = 1.5
"""Room for the bar under a view, more than the view leaves there, mm as the canvas counts them."""

_NO_TITLE = 3.2
"""How much a view leaves at its head for a title that it does not have."""

_LEAST_HOLE = 0.8
"""Half of the smallest hole that is drawn, mm of paper."""

_HOLE = "#b03a2e"


@frozen
class ViewPicture:
    """One view.

    Attributes:
        space: id of the space that it shows.
        name: ``left``, ``right``, ``plan`` or ``rear``.
        title: its heading.
        scale: one to as many.
        svg: the picture.
    """

    space: str
    name: str
    title: str
    scale: int
    svg: str

    @property
    def bar(self) -> Decimal:
        """Length of the bar on paper, mm."""
        return Decimal(BAR) / self.scale


def shop_views(
    catalogue: Catalogue,
    layout: Layout,
    works: Iterable[WorkRow],
    room: tuple[float, float],
    plan_room: tuple[float, float],
    speech: Speech = SOURCE,
) -> tuple[ViewPicture, ...]:
    """Every view of every space with units, those of one space to one scale but the plan.

    Args:
        catalogue: the shop's catalogue.
        layout: where every unit sits.
        works: what is drilled, cut and fixed.
        room: width and height that a view from a side may take, mm of paper.
        plan_room: the same of a view from above.
        speech: the language of the drawings.
    """
    laid = evolve(layout, open_boxes=())
    travels = travels_of(catalogue, layout)
    marked = [work for work in works if work.unit is not None and work.spots]
    pictures: list[ViewPicture] = []
    for space in layout.spaces:
        views = tuple(views_of(laid, space, speech))
        sides = [view for view in views if view.name != "plan"]
        for view in views:
            alike, (wide, tall) = ([view], plan_room) if view.name == "plan" else (sides, room)
            scale = _scale(alike, wide, tall)
            drawn, bare = scale * LETTERS, evolve(view, title="")
            canvas = Canvas(scale, LETTERS, speech)
            draw(canvas, bare, travels, (0, -_NO_TITLE * drawn))
            _Marks(canvas, bare).draw(marked)
            foot = _down(view, drawn)
            _bar(canvas, view.beside(drawn), foot - 1.5)
            title = text("{title}, scale 1 to {scale}", title=view.title, scale=scale)
            svg = canvas.svg(_across(view, drawn), foot, title, f"view-{len(pictures)}-")
            pictures.append(ViewPicture(space.space, view.name, view.title, scale, svg))
    return tuple(pictures)


def _scale(views: Iterable[View], wide: float, tall: float) -> int:
    """The largest usual scale to which all of them have room."""
    for scale in SCALES:
        drawn = scale * LETTERS
        if all(
            _across(view, drawn) * LETTERS <= wide and _down(view, drawn) * LETTERS <= tall
            for view in views
        ):
            break
    return scale


def _across(view: View, drawn: float) -> float:
    return view.beside(drawn) + view.across / drawn + (8 if view.behind else 1.5)


def _down(view: View, drawn: float) -> float:
    return view.height(drawn) - _NO_TITLE + _BAR_ROOM


def _bar(canvas: Canvas, left: float, foot: float) -> None:
    """The bar that shows the scale, at a place in mm as the canvas counts them."""
    scale = canvas.scale
    x, y = left * scale, foot * scale
    for end in (x, x + BAR):
        canvas.line(end, y - 1.2 * scale, end, y + 1.2 * scale, "#222", 0.3)
    canvas.line(x, y, x + BAR, y, "#222", 0.5)
    canvas.text(x + BAR + 2 * scale, y + 0.8 * scale, f"{BAR} mm", TEXT, "start")


class _Marks:
    """What is drilled, cut and fixed, on one view."""

    def __init__(self, canvas: Canvas, view: View) -> None:
        self.canvas, self.view = canvas, view
        scale = canvas.scale
        self.x = view.beside(scale) * scale
        self.y = (view.above(scale) - _NO_TITLE) * scale + view.up

    def draw(self, works: Iterable[WorkRow]) -> None:
        """Every mark that the view shows; its letter stands where no text is."""
        seen = [(work, [*self._seen(work)]) for work in works]
        for work, places in seen:
            for place in places:
                self._hole(work.hole, *place)
        letters: dict[tuple[tuple[float, float], ...], list[str]] = {}
        for work, places in seen:
            if places:
                letters.setdefault(tuple(places), []).append(work.mark)
        for spots, named in letters.items():
            self._letter(spots, ", ".join(named))

    def _seen(self, work: WorkRow) -> Iterator[tuple[float, float]]:
        assert work.unit is not None
        unit, space = self.view.layout.placements[work.unit - 1], self.view.space
        if unit.space != space.space:
            return
        for x, y, z in work.spots:
            face = "plan" if z == unit.z else unit.side
            if face == self.view.name:
                across = {"right": space.interior.length - x, "rear": y}.get(face, x)
                yield self.x + across, self.y - (y if face == "plan" else z)

    def _hole(self, sized: Hole | None, x: float, y: float) -> None:
        canvas, least = self.canvas, _LEAST_HOLE * self.canvas.scale
        hole = sized or Hole()
        wide = max((hole.diameter or hole.width or 0) / 2, least)
        tall = max((hole.diameter or hole.height or 0) / 2, least)
        if hole.width is not None:
            canvas.rect(x - wide, y - tall, 2 * wide, 2 * tall, pen=_HOLE, thick=0.2)
        elif sized is not None:
            canvas.circle(x, y, wide, pen=_HOLE, thick=0.2)
        reach = 1.5 * max(wide, tall)
        canvas.taken.append((x - reach, y - reach, 2 * reach, 2 * reach))
        for dx, dy in ((1, 0), (0, 1)):
            canvas.line(x - dx * reach, y - dy * reach, x + dx * reach, y + dy * reach, _HOLE, 0.12)

    def _letter(self, places: tuple[tuple[float, float], ...], words: str) -> None:
        scale = self.canvas.scale
        wide, tall = text_width(words, SMALL, True) * scale, 1.7 * scale
        spots = [
            (x + (gap if right else -gap - wide), y + (gap + tall if below else -gap))
            for gap in (1.3 * scale, 2.5 * scale, 4 * scale)
            for x, y in places
            for right in (True, False)
            for below in (False, True)
        ]
        boxes = [(x, y - tall, wide, tall) for x, y in spots]
        right, top = self.x + self.view.across - wide, self.y - self.view.up
        inside = [b for b in boxes if self.x <= b[0] <= right and top <= b[1] <= self.y - tall]
        canvas = self.canvas
        best = min(
            inside or boxes,
            key=lambda box: (
                any(touch(box, other) for other in canvas.taken),
                any(touch(box, other) for other in canvas.outlines),
            ),
        )
        self.canvas.text(best[0], best[1] + tall, words, SMALL, "start", fill=_HOLE, bold=True)


def standing_picture(
    tray: tuple[int, int],
    space: tuple[int, int],
    front: int,
    titles: tuple[str, str],
    room: tuple[float, float],
    prefix: str,
    speech: Speech = SOURCE,
) -> tuple[str, int]:
    """The tray from above with a space on it, dimensioned, and its scale.

    Args:
        tray: its length and width, mm.
        space: outside length and width of the space, mm, in the middle of the tray's width.
        front: front of the space behind the front end of the tray, mm.
        titles: of the tray and of the space.
        room: width and height for the drawing, mm of paper.
        prefix: begins the ids in the drawing.
        speech: the language of the drawing.
    """
    low, high = min(0, front), max(tray[0], front + space[0])
    side = (tray[1] - space[1]) / 2
    under, over = min(0, round(side)), max(tray[1], round(tray[1] - side))
    along = sorted({0, front, front + space[0], tray[0]})
    across = sorted({0, round(side), round(tray[1] - side), tray[1]})
    along, across = [mark - low for mark in along], [mark - under for mark in across]
    margin = 4.5
    for scale in SCALES[3:]:
        drawn = scale * LETTERS
        left = 3 + rows_needed(across, drawn) * ROW + ROW
        foot = 3 + rows_needed(along, drawn) * ROW + 1
        wide = (left + (high - low) / drawn + margin) * LETTERS
        tall = (margin + (over - under) / drawn + foot) * LETTERS
        if wide <= room[0] and tall <= room[1]:
            break
    canvas = Canvas(scale, LETTERS, speech)
    x, y = left * drawn - low, margin * drawn + over
    canvas.rect(x, y - tray[1], tray[0], tray[1], "#f7f5f0", thick=0.3)
    canvas.rect(x + front, y - tray[1] + side, space[0], space[1], "#e9eef2", thick=0.5)
    middle = x + front + space[0] / 2
    canvas.text(middle, y - tray[1] / 2, titles[1], TEXT, bold=True)
    canvas.text(middle, y - tray[1] / 2 + 3 * drawn, f"{space[0]} × {space[1]}", SMALL)
    canvas.arrow(x + low + 8 * drawn, y - over - 1.8 * drawn, -5, 0)
    canvas.text(x + low + 9 * drawn, y - over - drawn, text("front"), TEXT, "start")
    canvas.flush()
    chain(canvas, along, (x + low, y - under + 2 * drawn))
    chain(canvas, across, (x + low - 2 * drawn, y - under), upright=True)
    named = {"space": titles[1], "tray": titles[0], "scale": scale}
    said = text("{space:capital} on the {tray}, scale 1 to {scale}", **named)
    return canvas.svg(wide / LETTERS, tall / LETTERS, said, prefix), scale


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
    size = say(text("{length} × {width}", length=one.length, width=one.width))
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
