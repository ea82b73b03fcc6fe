"""Drawings of a layout, to scale: on a sheet of its own, beside other things, and view by view.

One unit of a drawing is one real millimetre and its size is given in millimetres of paper, so a
print without scaling can be measured. Nothing is said by colour alone; the key or the table beside
the views has every unit's number, name and size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.drawing.canvas import Canvas, rows_needed, text_width, wrapped
from configurator.drawing.views import HEAD, Travels, View, draw, views_of
from configurator.fit.layout import HUNG, Layout
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE, Speech, text

SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)
"""Scales that are used, one to as many."""

LETTERS = 1.3
"""How many times larger letters of a compact drawing are: none is smaller than 8 pt."""

_SMALLER = 1.15
"""The same of all views of a layout: larger letters would leave less to the views."""

ROOM = (108.0, 228.0)
"""Room for all views of a layout, mm."""

_KEY = 49.0
"""Width of the key, mm."""

_FOOT = 9.0
"""Height of the scale and the signs below a drawing without a key, mm."""

_SIGNS = {
    "door": text("clear opening of a door"),
    "hung": text("hangs overhead, seen from above"),
    "open": text("largest open box on that side"),
    "slide": text("slides out this far; not to scale"),
}


@frozen
class CompactDrawing:
    """The pictures of a layout for a page that has other things on it.

    Attributes:
        scale: both are to scale, one to as many.
        views: the views from the sides, and whatever else is drawn.
        plan: the view from above; empty where it is among the others.
    """

    scale: int
    views: str
    plan: str


def travels_of(catalogue: Catalogue, layout: Layout) -> Travels:
    """How far each unit slides out."""
    units = ((p.name, catalogue.option(p.choice, p.option).unit) for p in layout.placements)
    return {name: unit.travel for name, unit in units if unit is not None and unit.travel}


def layout_svg(
    build: Resolved,
    layout: Layout,
    prefix: str = "layout-",
    paper: tuple[float, float] = ROOM,
    speech: Speech = SOURCE,
    only: str = "",
    listed: bool = True,
) -> str:
    """The views with their key beside them, to the largest scale at which all views fit the paper.

    Empty spaces are not drawn. The ids in the drawing begin with ``prefix``, so that several can be
    in one page. ``only`` names the one view of each space that is drawn, as among the others; where
    no space has it, the drawing is empty. Where the units are not ``listed``, since a table beside
    the drawing does so, its signs stand below the views.
    """
    drawer = _Drawer(layout, travels_of(build.catalogue, layout), speech)
    room, high = paper[0] / _SMALLER, paper[1] / _SMALLER - _FOOT
    for scale in SCALES:
        drawn = scale * _SMALLER
        shelves = _shelves(drawer.views, drawn, room)
        tall = _tall(shelves, drawn)
        if tall <= high and all(_wide(view, drawn) <= room for view in drawer.views):
            break
    if only:
        shelves = _shelves([view for view in drawer.views if view.name == only], drawn, room)
        tall = _tall(shelves, drawn)
        if not shelves:
            return ""
    canvas = Canvas(scale, _SMALLER, speech)
    drawer.draw(canvas, shelves)
    key = drawer.key(canvas, room + 3) if listed else drawer.foot(canvas, tall, room)
    title = text(
        "Layout of {title}, scale 1 to {scale}",
        title=build.selection.title or build.catalogue.title,
        scale=scale,
    )
    return canvas.svg(room + (_KEY + 3) * listed, max(tall, key), title, prefix)


def compact_drawing(
    layout: Layout,
    travels: Travels,
    named: str,
    width: float,
    height: float,
    speech: Speech = SOURCE,
) -> CompactDrawing:
    """Draw a layout small, with large letters and without a key.

    A chain of dimensions without room for all its numbers is left out but for its whole length. The
    view from above is a picture of its own where only one space is drawn.
    All of it takes at most ``width`` and ``height``, mm; it is read out as ``named``.
    """
    drawer = _Drawer(layout, travels, speech)
    for scale in SCALES[1:]:
        drawn = scale * LETTERS
        views = [_thinned(view, drawn) for view in drawer.views]
        plans = [view for view in views if view.name == "plan"]
        apart = plans if len(plans) == 1 else []
        rest = [view for view in views if view not in apart]
        shelves = _shelves(rest, drawn, width / LETTERS)
        tall, plan_tall = _tall(shelves, drawn), _tall([apart], drawn)
        wide = max(_wide(view, drawn) for view in views)
        if (tall + plan_tall) * LETTERS <= height and wide * LETTERS <= width:
            break
    title = text("{title}, scale 1 to {scale}", title=named, scale=scale)

    def picture(rows: list[list[View]], across: float, down: float, prefix: str) -> str:
        canvas = Canvas(scale, LETTERS, speech)
        drawer.draw(canvas, rows)
        return canvas.svg(across, down, title, prefix)

    plan_wide = max((_wide(view, drawn) for view in apart), default=0.0)
    return CompactDrawing(
        scale=scale,
        views=picture(shelves, width / LETTERS, tall, "views-"),
        plan=picture([apart], plan_wide, plan_tall, "plan-") if apart else "",
    )


class _Drawer:
    """What is drawn of a layout, in which language: its views, with the numbers of its units."""

    def __init__(self, layout: Layout, travels: Travels, speech: Speech) -> None:
        self.layout, self.travels, self.speech = layout, travels, speech
        self.views = [view for space in layout.spaces for view in views_of(layout, space, speech)]

    def draw(self, canvas: Canvas, shelves: Sequence[Sequence[View]]) -> None:
        """Every view in its place."""
        scale, y = canvas.scale, 0.0
        for row in shelves:
            x = 0.0
            for view in row:
                draw(canvas, view, self.travels, (x * scale, y * scale))
                x += _wide(view, scale)
            y += max((view.height(scale) for view in row), default=0.0)

    def key(self, canvas: Canvas, left: float) -> float:
        """The numbers with names and sizes; answers how far down it reaches, mm of paper."""
        y = 3.6

        def say(words: str, indent: float = 0, size: float = 2.2, **look: bool | str) -> None:
            at = ((left + indent) * canvas.scale, y * canvas.scale)
            canvas.text(*at, words, size, "start", **look)  # type: ignore[arg-type]

        say(_scale_of(canvas), size=2.6, bold=True)
        y += 3.4
        say(text("length × width × height"), fill="#444")
        y += 4.5
        for words, size in self._alike():
            for index, line in enumerate(wrapped(words, _KEY - 4, 2.2)):
                say(line, 0 if index == 0 else 3)
                y += 2.9
            say(size, 3, fill="#444")
            y += 3.6
        y += 2
        for sign in self._signs():
            _explain(canvas, sign, left, y)
            y += 3.8
        return y

    def foot(self, canvas: Canvas, y: float, room: float) -> float:
        """The scale and the signs in rows; answers how far down they reach, mm of paper."""
        y += 2.5
        canvas.text(0, y * canvas.scale, _scale_of(canvas), 2.2, "start", bold=True)
        x = text_width(self.speech.say(_scale_of(canvas)), 2.2, bold=True) + 3
        for sign in self._signs():
            wide = 10 + text_width(self.speech.say(_SIGNS[sign]), 2.2)
            if x + wide > room:
                x, y = 0.0, y + 3.4
            _explain(canvas, sign, x, y)
            x += wide + 3
        return y + 1

    def _alike(self) -> Iterator[tuple[str, str]]:
        """Numbers and name, and size; units of one option that lie one way together."""
        numbers = self.layout.numbers
        found: dict[tuple[str, str, str, str], list[str]] = {}
        for p in self.layout.placements:
            kind = (p.choice, p.option, self.speech.say(p.title))
            size = f"{p.length} × {p.width} × {p.height}"
            found.setdefault((*kind, size), []).append(str(numbers[p.name]))
        for (_, _, title, size), alike in found.items():
            yield f"{', '.join(alike)}: {title}", size

    def _signs(self) -> Iterator[str]:
        """The signs that the drawing has."""
        layout = self.layout
        if any(space.openings for space in layout.spaces):
            yield "door"
        if any(p.on == HUNG for p in layout.placements):
            yield "hung"
        if any(box.side for box in layout.open_boxes):
            yield "open"
        if any(p.side and p.name in self.travels for p in layout.placements):
            yield "slide"


def _scale_of(canvas: Canvas) -> str:
    ratio = Decimal(f"{canvas.scale / canvas.letters:g}")
    return text("Scale 1 : {scale}, sizes in mm", scale=ratio)


def _explain(canvas: Canvas, sign: str, left: float, y: float) -> None:
    """One sign of the drawing and what it means, mm of paper."""
    scale = canvas.scale
    x, row = left * scale, (y - 0.8) * scale
    match sign:
        case "door":
            canvas.line(x, row, x + 8 * scale, row, "#b03a2e", 0.25, "2 1")
        case "hung":
            canvas.line(x, row, x + 8 * scale, row, "#222", 0.3, "1.2 0.8")
        case "open":
            size_of = (8 * scale, 2.2 * scale)
            canvas.rect(x, row - 1.2 * scale, *size_of, "#eef6ea", "#6a9a5b", 0.2)
        case _:
            canvas.arrow(x, row, 8, 0, "#1f4e79")
    canvas.text((left + 10) * scale, y * scale, _SIGNS[sign], 2.2, "start")


def _wide(view: View, drawn: float) -> float:
    """Room that a view, or its title, takes along the sheet, mm as the canvas counts."""
    title = text_width(view.title, HEAD, bold=True)
    right = 8 if view.behind else 4
    return max(view.beside(drawn) + view.across / drawn + right, title + 2)


def _shelves(views: Sequence[View], drawn: float, room: float) -> list[list[View]]:
    """The views beside each other as far as there is room, in their order."""
    shelves: list[list[View]] = []
    free = 0.0
    for view in views:
        wide = _wide(view, drawn)
        if not shelves or wide > free:
            shelves.append([])
            free = room
        shelves[-1].append(view)
        free -= wide
    return shelves


def _tall(shelves: Sequence[Sequence[View]], drawn: float) -> float:
    return sum(max((view.height(drawn) for view in row), default=0.0) for row in shelves)


def _thinned(view: View, drawn: float) -> View:
    """The view with chains whose numbers all have room, and otherwise with how large it is."""

    def kept(marks: tuple[int, ...]) -> tuple[int, ...]:
        return marks if rows_needed(marks, drawn) == 1 else (marks[0], marks[-1])

    return evolve(view, chains=(kept(view.chains[0]), kept(view.chains[1])))
