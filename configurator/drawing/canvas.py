"""A sheet to draw on: one unit is one real millimetre, pens and letters are millimetres of paper.

Only what browsers and the PDF renderer draw alike is used: lines, rectangles, polygons and text
with plain attributes. Lines of one pen are merged into one path. Whatever is said in a picture is
said in the language that it is drawn in.

Chains of dimensions are drawn here too: no number touches another; one without room goes outside.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape
from itertools import combinations, pairwise
from typing import TypeAlias

from configurator.words import SOURCE, Speech

Rect: TypeAlias = tuple[float, float, float, float]
"""x, y, width and height on the sheet, real mm."""


def clear_part(rect: Rect, covers: Sequence[Rect]) -> Rect | None:
    """The largest part of a rectangle that nothing covers."""
    x, y, width, height = rect
    right, foot = x + width, y + height
    near = [cover for cover in covers if touch(rect, cover)]
    xs = sorted({x, right, *(max(x, c[0]) for c in near), *(min(right, c[0] + c[2]) for c in near)})
    ys = sorted({y, foot, *(max(y, c[1]) for c in near), *(min(foot, c[1] + c[3]) for c in near)})
    best: Rect | None = None
    for x0, x1 in combinations(xs, 2):
        if best is not None and (x1 - x0) * height <= best[2] * best[3]:
            continue
        column = [c for c in near if c[0] < x1 and x0 < c[0] + c[2]]
        for y0, y1 in combinations(ys, 2):
            if best is not None and (x1 - x0) * (y1 - y0) <= best[2] * best[3]:
                continue
            if not any(c[1] < y1 and y0 < c[1] + c[3] for c in column):
                best = (x0, y0, x1 - x0, y1 - y0)
    return best


def touch(one: Rect, other: Rect) -> bool:
    """Whether two rectangles have room in common."""
    across = one[0] < other[0] + other[2] and other[0] < one[0] + one[2]
    return across and one[1] < other[1] + other[3] and other[1] < one[1] + one[3]


def edges(rect: Rect, thick: float) -> list[Rect]:
    """The outline of a rectangle as four narrow ones, so that no label is put across it."""
    x, y, width, height = rect
    half = thick / 2
    return [
        (x - half, y, thick, height),
        (x + width - half, y, thick, height),
        (x, y - half, width, thick),
        (x, y + height - half, width, thick),
    ]


FONT = "Paper, Source Sans Pro, Arial, sans-serif"
INK = "#111"
"""The colour that most text has; said once for the whole drawing, as is its anchor."""

SIZE, ROW, GAP = 2.2, 3.4, 0.9
"""Height of the numbers, of a row of them, and the least between two, mm of paper."""

_ANCHOR = "middle"
_WIDE = dict.fromkeys(" .,:;il|!'", 0.36) | dict.fromkeys("fjrt-/()", 0.43)
_WIDE |= dict.fromkeys("ckszv", 0.59) | dict.fromkeys("mwMW", 0.86)
"""How wide letters are, of their size; others at most 0.63."""

_MEASURE = re.compile(r"(?<=\d) (?=[A-Za-z]{1,2}\b|×)")
"""The space between a number and its unit, or the sign of what it is multiplied by."""


def text_width(text: str, size: float, bold: bool = False) -> float:
    """A width that the text does not exceed in any usual sans serif face, in the unit of size."""
    width = sum(_WIDE.get(c, 0.63) for c in text)
    return width * size * (1.08 if bold else 1.0)


def wrapped(words: str, room: float, size: float, bold: bool = True) -> list[str]:
    """The words in lines that fit the room, mm.

    A number and the unit behind it stay together. A word too long for a line is broken after its
    hyphens; one without any has a line of its own.
    """
    lines: list[str] = []
    for piece in _MEASURE.sub("\u00a0", words).split(" "):
        word, space = piece.replace("\u00a0", " "), " "
        too_long = text_width(word, size, bold) > room
        for part in re.findall("[^-]*-+|[^-]+", word) if too_long else [word]:
            if lines and text_width(f"{lines[-1]}{space}{part}", size, bold) <= room:
                lines[-1] += space + part
            else:
                lines.append(part)
            space = ""
    return lines


def arrow_head(
    x: float, y: float, back: tuple[float, float], half: float
) -> list[tuple[float, float]]:
    """The three points of an arrow's head: its tip, and two ``half`` beside the end of its back."""
    bx, by = back
    length = abs(bx) + abs(by)  # it lies along an axis
    ux, uy = bx / length * half, by / length * half
    return [(x, y), (x + bx - uy, y + by + ux), (x + bx + uy, y + by - ux)]


class Canvas:
    """What has been drawn; positions in real mm, ``scale`` real mm to one mm of paper.

    Where letters and pens are larger than usual, by ``letters``, the paper is counted in mm that
    are as much larger: a drawing keeps its scale and proportions, and whoever draws need not know.

    Attributes:
        ends: how far to the left and to the right the words go that are not turned, real mm.
        taken: where words are, and
        outlines: where the edges of rectangles are, so that a label can keep clear of them.
    """

    def __init__(self, scale: float = 1, letters: float = 1.0, speech: Speech = SOURCE) -> None:
        self.scale, self.letters, self.say = scale * letters, letters, speech.say
        self._parts: list[str] = []
        self._lines: dict[tuple[str, float, str], list[str]] = {}
        self.ends = 0.0, 0.0
        self.taken: list[Rect] = []
        self.outlines: list[Rect] = []

    def line(
        self, x1: float, y1: float, x2: float, y2: float, pen: str = "#333", thick: float = 0.18,
        dash: str = "",
    ) -> None:  # fmt: skip
        """A line; ``thick`` and the lengths in ``dash`` in mm of paper."""
        path = f"M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}"
        self._lines.setdefault((pen, thick, dash), []).append(path)

    def course(
        self, points: Sequence[tuple[float, float]], pen: str, thick: float, dash: str = ""
    ) -> None:
        """A line through points, over what has been drawn."""
        self.flush()
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._parts.append(
            f'<polyline points="{where}" fill="none" stroke="{pen}" '
            f'stroke-width="{_n(thick * self.scale)}"{self._dashes(dash)}/>'
        )

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str = "none",
        pen: str = "#222", thick: float = 0.3, dash: str = "",
    ) -> None:  # fmt: skip
        """A rectangle."""
        self.flush()
        self.outlines += edges((x, y, width, height), thick * self.scale)
        self._parts.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" '
            f'fill="{fill}" stroke="{pen}" stroke-width="{_n(thick * self.scale)}"'
            f"{self._dashes(dash)}/>"
        )

    def polygon(self, points: list[tuple[float, float]], fill: str = "#333") -> None:
        """A filled polygon."""
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._parts.append(f'<polygon points="{where}" fill="{fill}"/>')

    def shape(
        self, points: Sequence[tuple[float, float]], fill: str = "none", pen: str = "#222",
        thick: float = 0.3,
    ) -> None:  # fmt: skip
        """A polygon with its outline."""
        self.flush()
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._parts.append(
            f'<polygon points="{where}" fill="{fill}" stroke="{pen}" stroke-linejoin="round" '
            f'stroke-width="{_n(thick * self.scale)}"/>'
        )

    def areas(self, polygons: Iterable[Sequence[tuple[float, float]]], fill: str) -> None:
        """Polygons of one colour, without a line between those that touch."""
        self.flush()
        path = "".join(
            f"M{'L'.join(f'{_n(x)} {_n(y)}' for x, y in points)}Z" for points in polygons
        )
        if path:
            self._parts.append(
                f'<path d="{path}" fill="{fill}" stroke="{fill}" '
                f'stroke-width="{_n(0.1 * self.scale)}"/>'
            )

    def circle(
        self, x: float, y: float, radius: float, fill: str = "none", pen: str = "#222",
        thick: float = 0.3,
    ) -> None:  # fmt: skip
        """A circle about a place."""
        self.flush()
        self._parts.append(
            f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}" stroke="{pen}" '
            f'stroke-width="{_n(thick * self.scale)}"/>'
        )

    def text(
        self, x: float, y: float, words: str, size: float = 2.4, anchor: str = _ANCHOR,
        turn: bool = False, fill: str = INK, bold: bool = False,
        plane: Sequence[float] = (),
    ) -> None:  # fmt: skip
        """Text with its foot at a place, ``size`` in mm of paper; turned to be read from the right.

        ``anchor`` is ``start``, ``middle`` or ``end``. ``plane`` are the ways right and down of a
        plane that it lies in, x and y of each.
        """
        if not (words := self.say(words)):
            return
        wide, tall = text_width(words, size, bold) * self.scale, size * self.scale
        before = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        if turn:
            self.taken.append((x - tall, y + before - wide, tall, wide))
        elif not plane:
            self.taken.append((x - before, y - tall, wide, tall))
            self.ends = min(self.ends[0], x - before), max(self.ends[1], x - before + wide)
        held = f' text-anchor="{anchor}"' if anchor != _ANCHOR else ""
        ink = f' fill="{fill}"' if fill != INK else ""
        weight = ' font-weight="700"' if bold else ""
        turned = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if turn else ""
        place = f'x="{_n(x)}" y="{_n(y)}"'
        if plane:
            ways = " ".join(f"{part:.4f}" for part in plane)
            place = f'transform="matrix({ways} {_n(x)} {_n(y)})"'
        self._parts.append(
            f'<text {place} font-size="{_n(size * self.scale)}"'
            f"{held}{ink}{weight}{turned}>{escape(words)}</text>"
        )

    def arrow(self, x: float, y: float, dx: float, dy: float, pen: str = "#333") -> None:
        """An arrow of a length on paper along an axis, its head at the far end."""
        s = self.scale
        x2, y2 = x + dx * s, y + dy * s
        self.line(x, y, x2, y2, pen, 0.3)
        length = max(abs(dx), abs(dy))
        back = (-dx / length * 1.6 * s, -dy / length * 1.6 * s)
        self.polygon(arrow_head(x2, y2, back, 0.7 * s), pen)

    def flush(self) -> None:
        """Put the lines drawn so far under what comes next."""
        for (pen, thick, dash), paths in self._lines.items():
            self._parts.append(
                f'<path d="{"".join(paths)}" fill="none" stroke="{pen}" '
                f'stroke-width="{_n(thick * self.scale)}"{self._dashes(dash)}/>'
            )
        self._lines.clear()

    def _dashes(self, dash: str) -> str:
        if not dash:
            return ""
        lengths = " ".join(_n(float(n) * self.scale) for n in dash.split())
        return f' stroke-dasharray="{lengths}"'

    def svg(
        self, width: float, height: float, title: str, prefix: str = "", told: str = "",
        left: float = 0.0,
    ) -> str:  # fmt: skip
        """The drawing, ``width`` by ``height`` mm of paper as counted here, from ``left`` on.

        The title is read out in its place, then what is ``told`` of it. A prefix begins its ids,
        so that several drawings can be in one page; without one it has none.
        """
        self.flush()
        label, named = f' id="{prefix}title"', f' aria-labelledby="{prefix}title"'
        desc = ""
        if told:
            named += f' aria-describedby="{prefix}desc"'
            desc = f'<desc id="{prefix}desc">{escape(self.say(told))}</desc>'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img"{named if prefix else ""} '
            f'font-family="{FONT}" text-anchor="{_ANCHOR}" fill="{INK}" '
            f'width="{_n(width * self.letters)}mm" height="{_n(height * self.letters)}mm" '
            f'viewBox="{_n(left * self.scale)} 0 {_n(width * self.scale)} '
            f'{_n(height * self.scale)}">'
            f"<title{label if prefix else ''}>{escape(self.say(title))}</title>{desc}"
            + "\n".join(self._parts)
            + "</svg>\n"
        )


def _n(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


def placed(marks: Sequence[int], scale: float) -> list[tuple[int, float, float, bool]]:
    """Each number, the middle of what it measures, its own middle, and whether it is outside.

    Numbers without room between their marks are in one row outside, in the same order and
    pushed apart; middles in real mm.
    """
    inside, outside = [], []
    for start, end in pairwise(marks):
        number, middle = end - start, (start + end) / 2
        room = text_width(str(number), SIZE) + GAP
        if room <= number / scale:
            inside.append((number, middle, middle, False))
        else:
            outside.append((number, middle, room * scale))
    return inside + spread(outside)


def spread(wanted: list[tuple[int, float, float]]) -> list[tuple[int, float, float, bool]]:
    """Push numbers apart, each group staying around where it wants to be.

    Each comes with the middle of what it is about and the room that it takes, and goes with that
    middle, its own, and that it is outside.
    """
    groups: list[tuple[list[tuple[int, float, float]], float, float]] = []
    for one in wanted:
        members, low, width = [one], one[1] - one[2] / 2, one[2]
        while groups and groups[-1][1] + groups[-1][2] > low:
            before = groups.pop()
            members = [*before[0], *members]
            width += before[2]
            low = sum(member[1] for member in members) / len(members) - width / 2
        groups.append((members, low, width))
    spread = []
    for members, low, _ in groups:
        at = low
        for number, middle, room in members:
            spread.append((number, middle, at + room / 2, True))
            at += room
    return spread


def spill(marks: Sequence[int], scale: float) -> tuple[float, float]:
    """How far numbers stand out beyond the first and beyond the last mark, mm of paper."""
    spans = [
        (own / scale - text_width(str(number), SIZE) / 2, text_width(str(number), SIZE))
        for number, _, own, outside in placed(marks, scale)
        if outside
    ]
    before = max((marks[0] / scale - start for start, _ in spans), default=0.0)
    behind = max((start + width - marks[-1] / scale for start, width in spans), default=0.0)
    return max(before, 0.0), max(behind, 0.0)


def rows_needed(marks: Sequence[int], scale: float) -> int:
    """How many rows of numbers a chain takes."""
    return 2 if any(outside for *_, outside in placed(marks, scale)) else 1


def chain(
    canvas: Canvas,
    marks: Sequence[int],
    base: tuple[float, float],
    upright: bool = False,
    flipped: bool = False,
    over: bool = False,
) -> None:
    """A chain of dimensions along rising marks, real mm, drawn away from the view.

    It runs right from its base on the sheet, its numbers below it or ``over`` it, or up with its
    numbers to the left; ``flipped`` says that the marks run the other way from the far end. A
    number over it covers what runs through it.
    """
    if len(marks) < 2:
        return
    scale, (x, y), away = canvas.scale, base, -1 if over else 1
    if flipped:
        marks = sorted(marks[-1] - mark for mark in marks)

    def at(along: float, off: float) -> tuple[float, float]:
        return (x - off * scale, y - along) if upright else (x + along, y + away * off * scale)

    canvas.line(*at(marks[0], 0), *at(marks[-1], 0))
    for mark in marks:
        (left, low), tick = at(mark, 0), 0.8 * scale
        canvas.line(left - tick, low + tick, left + tick, low - tick, thick=0.22)
    for number, middle, own, outside in placed(marks, scale):
        off = 0.6 + (ROW if outside else 0)
        if outside:
            knee = 0.6 + ROW - 1.1
            canvas.line(*at(middle, 0), *at(middle, knee), thick=0.1, pen="#777")
            canvas.line(*at(middle, knee), *at(own, off - 0.1), thick=0.1, pen="#777")
        foot = at(own, off if upright or over else off + SIZE * 0.78)
        if over:
            wide = text_width(str(number), SIZE) * scale
            plate = foot[0] - wide / 2, foot[1] - SIZE * 0.75 * scale, wide, SIZE * 0.8 * scale
            canvas.rect(*plate, "#ffffff", "none")
        canvas.text(*foot, str(number), SIZE, turn=upright)
