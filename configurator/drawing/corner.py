"""The package from a corner above: what is where, doors open, slides out, and the roof left off.

Seen from behind and the left, or the right, or both where both have units; every line that a wall
or a unit hides is left out. Names lie on the faces that are seen. A unit whose name has no room has
its number, which is explained under the picture.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil, lcm, sqrt
from typing import TypeAlias

from attrs import frozen

from configurator.drawing.canvas import SIZE, Canvas, Rect, clear_part, text_width, wrapped
from configurator.drawing.hidden_faces import Eye, Part, Point, Scene, Seen, Spot, corners, faces_of
from configurator.drawing.layouts import LETTERS
from configurator.drawing.names import lines_within, shorter
from configurator.drawing.package import Package, Place, Solid
from configurator.fit.layout import Layout, Placement, UnitName
from configurator.mass.places import places_of
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE, Speech, text

_EYE = Eye(4, 2, 3)
"""Mostly from the side, a little from behind, 31 degrees from above."""

_FILLS = {
    "unit": ("#c3d0da", "#dfe7ed", "#f1f5f8"),
    "other": ("#d6d2c6", "#eae7de", "#f6f4ee"),
    "wall": ("#dadddf", "#e6e8ea", "#f5f6f6"),
    "floor": ("#bcc2c6", "#c8cdd1", "#eceeef"),
    "thing": ("#d6d2c6", "#e6e2d8", "#f3f1ea"),
}
"""Of each kind of body: its faces towards the rear, the side and the sky."""

_PENS = {
    "open": ("#7d7d7d", 0.18, "1.8 1.1"),
    "shell": ("#333", 0.24, ""),
    "unit": ("#111", 0.3, ""),
}
_LINE, _ROW = 2.7, 3.3
"""From one line to the next: of a name on a face, and elsewhere; mm as the canvas counts them."""

_INSET = 3
"""Of the lines of an entry of the key below its first, mm as the canvas counts them."""

_Flat: TypeAlias = tuple[float, float]


def corner_sides(build: Resolved, layout: Layout) -> tuple[str, ...]:
    """The sides that units work from, left first; the kerb side where none does."""
    working = {p.side for p in layout.placements}
    found = tuple(side for side in ("left", "right") if side in working)
    return found or (build.catalogue.shop.kerb_side,)


def corner_svg(
    build: Resolved,
    layout: Layout,
    sides: Sequence[str] = (),
    prefix: str = "corner-",
    paper: tuple[float, float] = (174.0, 92.0),
    speech: Speech = SOURCE,
    key: bool = True,
) -> str:
    """The package from behind and above, once from each side, as large as the paper lets it be.

    Args:
        build: what is picked.
        layout: where the units sit; numbered in the order of its placements.
        sides: ``left``, ``right`` or both; by default those that units work from.
        prefix: begins the ids in the drawing, so that several can be in one page.
        paper: the most it may take, mm; it is no larger than it has to be.
        speech: the language that it is drawn in.
        key: name or number the units; where one is only numbered, all are told under the picture.

    Returns:
        The drawing; empty while no vehicle is picked or the size of no space is known.
    """
    places = places_of(build)
    if places is None or not places.sizes:
        return ""
    numbers = layout.numbers
    views = [
        _CornerView(Package(build, places, layout, side), numbers)
        for side in sides or corner_sides(build, layout)
    ]
    room, high = paper[0] / LETTERS - 3, paper[1] / LETTERS
    wide, tall = (max(view.size[i] for view in views) for i in (0, 1))
    count = len(views)
    beside = max(wide * count / (room - 4 * (count - 1)), tall / (high - 4 * _ROW))
    below = max(wide / room, tall * count / (high - (count + 3) * _ROW))
    canvas = Canvas(min(beside, below), LETTERS, speech)
    s = canvas.scale
    numbered = False
    x, foot = 1.0, 0.0
    for view in views:
        top = 0.0 if beside <= below else foot
        numbered |= view.draw(canvas, (x * s, (top + _ROW + 1) * s), key)
        foot = max(foot, top + _ROW + 2 + view.size[1] / s)
        if beside <= below:
            x += wide / s + 4
    across = x - 4 if beside <= below else x + wide / s
    titles = {numbers[p.name]: canvas.say(p.title) for p in layout.placements}
    # all of them: a key with gaps would be searched in vain for the others
    foot = _key(canvas, titles if numbered else {}, paper[0] / LETTERS - 1, foot)
    title = text(
        "{title} from a corner above: doors open, slides out, without the roof",
        title=build.selection.title or build.catalogue.title,
    )
    named = "; ".join(f"{number} {title}" for number, title in titles.items())
    words = min(canvas.ends[1] / s + 0.5, paper[0] / LETTERS)
    return canvas.svg(max(across + 1, words), foot, title, prefix, named)


def _key(canvas: Canvas, told: dict[int, str], room: float, foot: float) -> float:
    """The numbers that stand for names; answers where it ends, mm as the canvas counts them."""
    s, alike = canvas.scale, dict[str, list[int]]()
    for number, title in sorted(told.items()):
        alike.setdefault(title, []).append(number)
    if not alike:
        return foot
    named = [
        [f"{', '.join(map(str, numbers))} {words}" for words in shorter(title)]
        for title, numbers in alike.items()
    ]
    half = (room - 3) / 2
    least = max(min(text_width(words, SIZE) for words in forms) for forms in named)
    most = half if least <= half else room - 1
    entries = [_key_entry(forms, most) for forms in named]
    lines = [(words, rank) for entry in entries for rank, words in enumerate(entry)]
    wide = max(text_width(words, SIZE) + bool(rank) * _INSET for words, rank in lines) + 3
    columns = max(1, int((room + 3) / wide)) if len(lines) == len(entries) else 1
    rows = ceil(len(lines) / columns)
    for index, (words, rank) in enumerate(lines):
        column, row = divmod(index, rows)
        x, level = column * wide + 1 + bool(rank) * _INSET, foot + (row + 1) * _ROW - 0.9
        canvas.text(x * s, level * s, words, SIZE, "start")
    return foot + rows * _ROW


def _key_entry(forms: Sequence[str], room: float) -> list[str]:
    """The longest form with room in a line; else the shortest, whole, in as many as it takes."""
    for words in forms:
        if text_width(words, SIZE) <= room:
            return [words]
    return wrapped(forms[-1], room - _INSET, SIZE, bold=False)


class _CornerView:
    """A package as it is seen from one side.

    Attributes:
        size: width and height of what is drawn, real mm.
    """

    def __init__(self, package: Package, numbers: dict[UnitName, int]) -> None:
        self.package, self.numbers = package, numbers
        self.turn = -1 if package.side == "left" else 1
        places = [place for solid in package.solids for place in (solid.low, solid.high)]
        places += [place for lines in package.lines.values() for line in lines for place in line]
        self.fine = lcm(*(part.denominator for place in places for part in place))
        faces = [
            face
            for solid in package.solids
            for face in faces_of(self._whole(solid.low), self._whole(solid.high))
        ]
        self.scene = Scene(_EYE, faces)
        x, y, z = (1 / part for part in (_EYE.a, _EYE.b, _EYE.c))
        far, flat = sqrt(x * x + y * y + z * z), sqrt(x * x + y * y)
        rise = flat / far
        self._right = (-self.turn * y / flat, self.turn * x / flat, 0.0)
        self._down = (x * z / far / flat, y * z / far / flat, -rise)
        spots = [self.flat(place) for place in places]
        self._left, self._top = (min(spot[i] for spot in spots) for i in (0, 1))
        self.size = tuple(
            max(spot[i] for spot in spots) - low for i, low in ((0, self._left), (1, self._top))
        )

    def _whole(self, place: Place) -> Point:
        x, y, z = (part.numerator * (self.fine // part.denominator) for part in place)
        return x, y, z

    def flat(self, place: Sequence[Fraction | float]) -> _Flat:
        """Where a place, or a way, lies on the sheet, real mm."""
        x, y, z = map(float, place)
        (a, b, c), (d, e, f) = self._right, self._down
        return a * x + b * y + c * z, d * x + e * y + f * z

    def _at(self, spot: Spot) -> _Flat:
        """Where a spot of the scene lies on the sheet: that of its point on the tray floor."""
        p, q = spot
        return self.on_sheet(self.flat((p / _EYE.a / self.fine, q / _EYE.b / self.fine, 0.0)))

    def on_sheet(self, flat: _Flat) -> _Flat:
        """The same from the corner of the sheet."""
        return flat[0] - self._left + self._origin[0], flat[1] - self._top + self._origin[1]

    def draw(self, canvas: Canvas, corner: _Flat, named: bool) -> bool:
        """Draw it with its upper left corner at a place; answers whether one has but a number."""
        self._origin = corner
        s, package = canvas.scale, self.package
        heading = {
            "left": text("From behind and the left"),
            "right": text("From behind and the right"),
        }[package.side]
        canvas.text(corner[0], corner[1] - 1.6 * s, heading, SIZE, "start", bold=True)
        fills: dict[str, list[list[_Flat]]] = {}
        labels: dict[UnitName, list[tuple[Solid, Seen]]] = {}
        for index, seen in enumerate(self.scene.seen()):
            solid = package.solids[index // 3]
            paths = fills.setdefault(_FILLS[solid.kind][seen.face.axis], [])
            paths += ([self._at(spot) for spot in corners(part)] for part in seen.parts)
            if solid.unit is not None and seen.parts:
                labels.setdefault(solid.unit.name, []).append((solid, seen))
        for fill, paths in fills.items():
            canvas.areas(paths, fill)
        for kind in ("shell", "unit"):
            self._lines(canvas, kind, ())
        canvas.flush()
        numbered, written = False, list[_Label]()
        for p in package.layout.placements:
            found = labels.get(p.name, [])[::-1]
            if named and found and not self._named(canvas, p, found, written):
                numbered = True
        self._lines(canvas, "open", written)
        return numbered

    def _lines(self, canvas: Canvas, kind: str, labels: Sequence[_Label]) -> None:
        """What is seen of the lines of a kind, and not where there are labels."""
        pen, thick, dash = _PENS[kind]
        whole = ((self._whole(start), self._whole(end)) for start, end in self.package.lines[kind])
        for start, end in self.scene.visible(whole):
            pieces = [(self._at(start), self._at(end))]
            for label in labels:
                pieces = [left for piece in pieces for left in label.outside(*piece)]
            for one, other in pieces:
                canvas.line(*one, *other, pen, thick, dash)

    def _named(
        self,
        canvas: Canvas,
        p: Placement,
        found: list[tuple[Solid, Seen]],
        written: list[_Label],
    ) -> bool:
        """Put number and name on a face of a unit, or its number; answers whether the name is."""
        s, number = canvas.scale, self.numbers[p.name]
        working = 0 if p.side == "rear" else 1
        found.sort(key=lambda one: (working, 2, 1 - working).index(one[1].face.axis))
        planes = [_Plane(self, solid, seen) for solid, seen in found]
        parts = [(plane, plane.free()) for plane in planes]
        for plane, part in parts:
            if part is not None:
                words = f"{number} {canvas.say(p.title)}"
                lines = lines_within(words, part[2] / s - 1, part[3] / s - 0.5, SIZE, _LINE)
                if lines:
                    written.append(plane.write(canvas, part, lines))
                    return True
        for plane, part in parts:
            wide = (text_width(str(number), SIZE, True) + 0.5) * s
            if part is not None and part[2] >= wide and part[3] >= 2.0 * s:
                written.append(plane.write(canvas, part, [str(number)]))
                return False
        return False


class _Plane:
    """A face of a unit as a sheet to write on: right and down as they look, real mm there."""

    def __init__(self, view: _CornerView, solid: Solid, seen: Seen) -> None:
        self.view, self.seen, self.axis = view, seen, seen.face.axis
        self.along, self.up = ((1, 2), (0, 2), (0, 1))[self.axis]
        right, down = (self._way(view, axis) for axis in (self.along, self.up))
        self.signs = 1 if right[0] > 0 else -1, 1 if down[1] > 0 else -1
        self.long, self.high = (sqrt(way[0] ** 2 + way[1] ** 2) for way in (right, down))
        one, other = self.signs[0] / self.long, self.signs[1] / self.high
        self.right, self.down = (right[0] * one, right[1] * one), (down[0] * other, down[1] * other)
        self.at = solid.high[self.axis]
        self.whole = self._rect(solid.low, solid.high)

    @staticmethod
    def _way(view: _CornerView, axis: int) -> _Flat:
        return view.flat([float(i == axis) for i in range(3)])

    def _rect(self, low: Sequence[Fraction | float], high: Sequence[Fraction | float]) -> Rect:
        """A part of the face between two corners of it."""
        ends = []
        for axis, sign, long in (
            (self.along, self.signs[0], self.long),
            (self.up, self.signs[1], self.high),
        ):
            start, end = sorted((sign * float(low[axis]) * long, sign * float(high[axis]) * long))
            ends.append((start, end - start))
        return ends[0][0], ends[1][0], ends[0][1], ends[1][1]

    def free(self) -> Rect | None:
        """The largest part of it that is seen."""
        return clear_part(self.whole, [self._rect(*self._corners(p)) for p in self.seen.hidden])

    def _corners(self, part: Part) -> tuple[list[float], list[float]]:
        """The corners of what lies about a hidden part."""
        p0, p1, q0, q1, r0, r1 = part
        a, b, c = _EYE.a, _EYE.b, _EYE.c
        fine = self.view.fine
        at = float(self.at * fine)
        match self.axis:
            case 0:
                low, high = (at, a * at - r1, a * at - p1), (at, a * at - r0, a * at - p0)
            case 1:
                low, high = (r0 + b * at, at, b * at - q1), (r1 + b * at, at, b * at - q0)
            case _:
                low, high = (p0 + c * at, q0 + c * at, at), (p1 + c * at, q1 + c * at, at)
        by = [1.0 if i == self.axis else float((a, b, c)[i]) for i in range(3)]
        return (
            [one / part / fine for one, part in zip(low, by, strict=True)],
            [one / part / fine for one, part in zip(high, by, strict=True)],
        )

    def write(self, canvas: Canvas, part: Rect, lines: Sequence[str]) -> _Label:
        """Lines of text in the middle of a part of the face, lying in it."""
        s = canvas.scale
        place = [0.0, 0.0, 0.0]
        place[self.axis] = float(self.at)
        place[self.along] = (part[0] + part[2] / 2) * self.signs[0] / self.long
        place[self.up] = (part[1] + part[3] / 2) * self.signs[1] / self.high
        left, top = self.view.on_sheet(self.view.flat(place))
        for index, words in enumerate(lines):
            foot = ((index - len(lines) / 2) * _LINE + 2.1) * s
            spot = left + foot * self.down[0], top + foot * self.down[1]
            plane = (*self.right, *self.down)
            canvas.text(*spot, words, SIZE, bold=words.isdigit(), plane=plane)
        wide = max(text_width(words, SIZE, bold=True) for words in lines) + 1
        return _Label((left, top), self.right, self.down, (wide * s, len(lines) * _LINE * s))


@frozen
class _Label:
    """Where a label lies on the sheet: its middle, its ways right and down, and its size."""

    middle: _Flat
    right: _Flat
    down: _Flat
    size: _Flat

    def outside(self, start: _Flat, end: _Flat) -> Iterator[tuple[_Flat, _Flat]]:
        """What is left of a line beside the label."""
        low, high = 0.0, 1.0
        turn = self.right[0] * self.down[1] - self.right[1] * self.down[0]
        for (way_x, way_y), size in (
            ((self.down[1], -self.down[0]), self.size[0]),
            ((-self.right[1], self.right[0]), self.size[1]),
        ):
            one, other = (
                ((x - self.middle[0]) * way_x + (y - self.middle[1]) * way_y) / turn
                for x, y in (start, end)
            )
            if one == other:
                if abs(one) >= size / 2:
                    low, high = 1.0, 0.0
                continue
            cuts = sorted(((side * size / 2 - one) / (other - one)) for side in (-1, 1))
            low, high = max(low, cuts[0]), min(high, cuts[1])
        if low >= high:
            yield start, end
            return
        if low > 0:
            yield start, _between(start, end, low)
        if high < 1:
            yield _between(start, end, high), end


def _between(start: _Flat, end: _Flat, part: float) -> _Flat:
    return start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
