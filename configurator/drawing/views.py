"""The views of one space: from the left, from the right, from above, and from behind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

from attrs import frozen

from configurator.drawing.canvas import (
    ROW,
    Canvas,
    Rect,
    chain,
    clear_part,
    edges,
    rows_needed,
    spill,
    spread,
    text_width,
    touch,
)
from configurator.drawing.names import lines_within
from configurator.fit.layout import HUNG, Layout, OpenBox, Placement, SpaceLayout, UnitName
from configurator.words import Speech, Text, text

TITLE, ARROW, HEAD, TEXT, SMALL, FLAT = 7.0, 7.0, 2.6, 2.3, 2.2, 2.2
"""Room for a view's title and for a slide's arrow; letters; the least height of a label; mm."""

LINE = 2.7
"""From one line of a label to the next, mm."""

Travels: TypeAlias = Mapping[UnitName, int]
"""How far each unit that slides out does, mm."""

UNIT, OTHER, OPEN, SLIDE = "#e9eef2", "#f7f5f0", "#eef6ea", "#1f4e79"


@frozen
class View:
    """One view of a space.

    Attributes:
        layout: where every unit sits.
        space: the space.
        name: ``left``, ``right``, ``plan`` or ``rear``.
        title: its heading.
        across: extent to the right of the sheet, real mm.
        up: extent up the sheet, real mm.
        chains: marks of its dimension chains: across, and up.
        arrows: whether something may slide out above or below it on the sheet.
        behind: whether something may slide out to the right of it.
    """

    layout: Layout
    space: SpaceLayout
    name: str
    title: str
    across: int
    up: int
    chains: tuple[tuple[int, ...], tuple[int, ...]]
    arrows: bool = False
    behind: bool = False

    @property
    def here(self) -> list[Placement]:
        """The units in the space."""
        return [p for p in self.layout.placements if p.space == self.space.space]

    @property
    def open_boxes(self) -> list[OpenBox]:
        """The open boxes that it shows."""
        boxes = self.layout.open_boxes
        return [b for b in boxes if (b.space, b.side) == (self.space.space, self.name)]

    def below(self, scale: float) -> float:
        """Room under the view for dimensions, mm of paper."""
        rows = rows_needed(self.chains[0], scale) * ROW + ROW
        return 3 + rows + 3 + self.margin + self.spill(scale)[0]

    def beside(self, scale: float) -> float:
        """Room left of the view for dimensions, mm of paper."""
        return 3 + rows_needed(self.chains[1], scale) * ROW + ROW + 2

    def spill(self, scale: float) -> tuple[float, float]:
        """How far numbers beside it reach below and above it, mm of paper."""
        both = [spill(marks, scale) for marks in (self.chains[1], (0, self.up))]
        return max(low for low, _ in both), max(high for _, high in both)

    @property
    def margin(self) -> float:
        """Room for arrows above and below it, mm of paper."""
        return ARROW + 2 if self.arrows else 0

    def above(self, scale: float) -> float:
        """Room over the view for its title, mm of paper."""
        return TITLE + self.margin + max(0.0, self.spill(scale)[1] - 1)

    def height(self, scale: float) -> float:
        """All of it, mm of paper."""
        return self.above(scale) + self.up / scale + self.below(scale)


def views_of(layout: Layout, space: SpaceLayout, speech: Speech) -> Iterator[View]:
    """The views that a space needs.

    From a side where it has a door or where something is seen, from above, and from behind where
    something works from there.
    """
    inside, title, say = space.interior, space.title, speech.say
    here = [p for p in layout.placements if p.space == space.space]
    doors = {opening.side for opening in space.openings}
    for side in ("left", "right"):
        seen = [p for p in here if _seen_from(p, side, inside.width)]
        if not seen and side not in doors:
            continue
        xs = _marks_below(inside.length, seen)
        zs = _marks(inside.height, ((p.z, p.z + p.height) for p in seen))
        heading = _heading(title, side, side in doors)
        yield View(layout, space, side, say(heading), inside.length, inside.height, (xs, zs))
    xs = _marks(inside.length, ((p.x, p.x + p.length) for p in here if not p.side))
    ys = _marks(inside.width, ((p.y, p.y + p.width) for p in here))
    above = say(text("{space:capital} from above", space=title))
    arrows = any(p.side in ("left", "right") for p in here)
    behind = any(p.side == "rear" for p in here)
    size = inside.length, inside.width
    yield View(layout, space, "plan", above, *size, (xs, ys), arrows, behind)
    if behind:
        seen = [p for p in here if p.side == "rear"]
        ys = _marks(inside.width, ((p.y, p.y + p.width) for p in seen))
        zs = _marks(inside.height, ((p.z, p.z + p.height) for p in seen))
        heading = _heading(title, "rear", "rear" in doors)
        size = inside.width, inside.height
        yield View(layout, space, "rear", say(heading), *size, (ys, zs))


def _heading(space: str, side: str, doors: bool) -> Text:
    return {
        ("left", False): text("{space:capital} from the left", space=space),
        ("left", True): text("{space:capital} from the left, doors open", space=space),
        ("right", False): text("{space:capital} from the right", space=space),
        ("right", True): text("{space:capital} from the right, doors open", space=space),
        ("rear", False): text("{space:capital} from behind", space=space),
        ("rear", True): text("{space:capital} from behind, door open", space=space),
    }[side, doors]


def _marks(end: int, spans: Iterator[tuple[int, int]]) -> tuple[int, ...]:
    return tuple(sorted({0, end, *(mark for span in spans for mark in span)}))


def _marks_below(end: int, seen: Sequence[Placement]) -> tuple[int, ...]:
    """Marks along the floor: what is above it splits no unit that stands on it."""
    standing = [(p.x, p.x + p.length) for p in seen if p.z == 0]
    marks = {0, end, *(mark for span in standing for mark in span)}
    above = {mark for p in seen if p.z for mark in (p.x, p.x + p.length)}
    split = {mark for mark in above for low, high in standing if low < mark < high}
    return tuple(sorted(marks | (above - split)))


def _seen_from(p: Placement, side: str, width: int) -> bool:
    """Whether it works from the side, or works from none and sits nearer to it."""
    if p.side:
        return p.side == side
    nearer = "left" if 2 * p.y + p.width <= width else "right"
    return nearer == side


def draw(canvas: Canvas, view: View, travels: Travels, corner: tuple[float, float]) -> None:
    """Draw the view with its upper left corner at a place on the sheet, real mm."""
    scale = canvas.scale
    x = corner[0] + view.beside(scale) * scale
    y = corner[1] + view.above(scale) * scale + view.up
    sheet = _SheetView(canvas, view, travels, x, y)
    canvas.text(corner[0], corner[1] + 3.6 * scale, view.title, HEAD, "start", bold=True)
    canvas.rect(x, y - view.up, view.across, view.up, "#ffffff", thick=0.5)
    for box in view.open_boxes:
        sheet.open_box(box)
    sheet.units()
    if view.name == "plan":
        sheet.divider()
        sheet.slides()
    else:
        for rect in sheet.openings():
            canvas.rect(*rect, pen="#b03a2e", thick=0.25, dash="2 1")
    sheet.front()
    sheet.extensions()
    first = (view.margin + view.spill(scale)[0] + 3) * scale
    rows = rows_needed(view.chains[0], scale) * ROW * scale
    chain(canvas, view.chains[0], (x, y + first), flipped=view.name == "right")
    if view.chains[0] != (0, view.across):
        chain(canvas, (0, view.across), (x, y + first + rows + 1.2 * scale))
    columns = rows_needed(view.chains[1], scale) * ROW * scale
    chain(canvas, view.chains[1], (x - 2.5 * scale, y), upright=True)
    if view.chains[1] != (0, view.up):
        chain(canvas, (0, view.up), (x - 3 * scale - columns, y), upright=True)


@frozen
class _SheetView:
    """A view on the sheet; ``x`` and ``y`` are where its lower left corner lies, real mm.

    Seen from above, the left of the vehicle lies at the foot of the sheet.
    """

    canvas: Canvas
    view: View
    travels: Travels
    x: float
    y: float

    def box(self, of: Placement | OpenBox) -> Rect:
        """x, y, width and height on the sheet of a body."""
        match self.view.name:
            case "left":
                at, size = (of.x, of.z), (of.length, of.height)
            case "right":
                at = (self.view.across - of.x - of.length, of.z)
                size = (of.length, of.height)
            case "plan":
                at, size = (of.x, of.y), (of.length, of.width)
            case _:
                at, size = (of.y, of.z), (of.width, of.height)
        return self.x + at[0], self.y - at[1] - size[1], size[0], size[1]

    def openings(self) -> list[Rect]:
        """The clear openings on the side that the view shows."""
        across = self.view.across
        return [
            (
                self.x + (across - opening.end if opening.side == "right" else opening.start),
                self.y - opening.top,
                opening.width,
                opening.height,
            )
            for opening in self.view.space.openings
            if opening.side == self.view.name
        ]

    def open_box(self, box: OpenBox) -> None:
        """An open box with its size, as far as there is room for it."""
        x, y, width, height = self.box(box)
        canvas, scale = self.canvas, self.canvas.scale
        canvas.rect(x, y, width, height, OPEN, "#6a9a5b", 0.2, "0.6 0.6")
        along, deep = (box.width, box.length) if box.side == "rear" else (box.length, box.width)
        known = {"length": along, "width": deep, "height": box.height}
        litres = box.volume // 10**6
        covers = [self.box(p) for p in self.view.here if self._shown(p)]
        covers += [edge for door in self.openings() for edge in edges(door, 0.4 * scale)]
        part = clear_part((x, y, width, height), covers)
        if part is None:
            return
        for words in (
            text("open {length} × {width} × {height}, {litres} L", litres=litres, **known),
            text("open, {litres} L", litres=litres),
            text("left open"),
        ):
            said, turned = canvas.say(words), part[2] < part[3] / 2
            room, high = (part[3], part[2]) if turned else (part[2], part[3])
            lines = lines_within(
                said, room / scale - 0.8, high / scale - 0.4, SMALL, LINE, whole=True
            )
            for index, line in enumerate(lines):
                foot = ((index - len(lines) / 2) * LINE + 2.0) * scale
                across = (foot, 0.0) if turned else (0.0, foot)
                middle = part[0] + part[2] / 2 + across[0], part[1] + part[3] / 2 + across[1]
                canvas.text(*middle, line, SMALL, turn=turned, fill="#2f5a22")
            if lines:
                return

    def units(self) -> None:
        """The units that the view shows, each with its label where nothing covers it.

        Labels keep clear of the outlines of the doors, as of each other.
        """
        canvas, scale, plan = self.canvas, self.canvas.scale, self.view.name == "plan"
        numbers = self.view.layout.numbers
        seen = sorted(filter(self._shown, self.view.here), key=self._order)
        rects = [self.box(p) for p in seen]
        hung = [plan and p.on == HUNG for p in seen]
        labels = [edge for door in self.openings() for edge in edges(door, 0.25 * scale)]
        for p, rect, overhead in zip(seen, rects, hung, strict=True):
            fill = "none" if overhead else UNIT if p.side else OTHER
            canvas.rect(*rect, fill, dash="1.2 0.8" if overhead else "")
        outlines = [edge for rect in rects for edge in edges(rect, 0.4 * scale)]
        for p, rect, overhead in zip(seen, rects, hung, strict=True):
            if overhead:
                part = clear_part(rect, [*outlines, *labels])
                labels += edges(rect, 0.4 * scale)
                taken = _label(canvas, part, numbers[p.name], "", "")
                labels += [taken] if taken is not None else []
        opens = [self.box(box) for box in self.view.open_boxes]
        bodies = [(p, rect) for p, rect, over in zip(seen, rects, hung, strict=True) if not over]
        for index, (p, rect) in enumerate(bodies, 1):
            number = numbers[p.name]
            if rect[3] < FLAT * scale and not plan:
                view = (self.x, self.y - self.view.up, self.view.across, self.view.up)
                taken = _beside(canvas, view, rect, str(number), [*rects, *labels, *opens])
                labels += [taken] if taken is not None else []
                continue
            part = clear_part(rect, [*(cover for _, cover in bodies[index:]), *labels])
            across = p.width if self.view.name == "rear" else p.length
            _label(
                canvas,
                part,
                number,
                canvas.say(p.title),
                f"{across} × {p.width if plan else p.height}",
            )

    def _shown(self, p: Placement) -> bool:
        if self.view.name in ("plan", "rear"):
            return self.view.name == "plan" or p.side == "rear"
        return _seen_from(p, self.view.name, self.view.space.interior.width)

    def _order(self, p: Placement) -> tuple[int, UnitName]:
        """What is farther from the eye is drawn first."""
        match self.view.name:
            case "left":
                return -p.y, p.name
            case "right":
                return p.y + p.width, p.name
            case "plan":
                return p.z + p.height, p.name
            case _:
                return p.x + p.length, p.name

    def extensions(self) -> None:
        """Thin lines from the edges of the view to the chains that measure them."""
        canvas, s, view = self.canvas, self.canvas.scale, self.view
        for mark in view.chains[0] if not view.arrows else ():
            x = self.x + (view.across - mark if view.name == "right" else mark)
            foot = self.y + (2.2 + view.spill(s)[0]) * s
            canvas.line(x, self.y + 0.6 * s, x, foot, "#999", 0.1)
        for mark in view.chains[1]:
            canvas.line(
                self.x - 0.6 * s, self.y - mark, self.x - 1.8 * s, self.y - mark, "#999", 0.1
            )

    def divider(self) -> None:
        """The centre divider, from above."""
        if self.view.space.divider is not None:
            left, right = self.view.space.divider
            across = self.view.across
            self.canvas.rect(self.x, self.y - right, across, right - left, "#999999", thick=0.1)

    def slides(self) -> None:
        """An arrow for each unit that slides out, with its number and how far."""
        ways: dict[str, list[tuple[float, str]]] = {}
        numbers = self.view.layout.numbers
        for p in self.view.here:
            travel = self.travels.get(p.name, 0)
            if travel and p.side:
                middle = p.y + p.width / 2 if p.side == "rear" else p.x + p.length / 2
                ways.setdefault(p.side, []).append((middle, f"{numbers[p.name]}: {travel}"))
        for side, outs in sorted(ways.items()):
            outs.sort()
            apart = spread(
                [(n, middle, 3.7 * self.canvas.scale) for n, (middle, _) in enumerate(outs)]
            )
            for index, _, own, _ in apart:
                self._way_out(side, own, outs[index][1])

    def _way_out(self, side: str, middle: float, words: str) -> None:
        canvas, scale = self.canvas, self.canvas.scale
        if side == "rear":
            x, y = self.x + self.view.across, self.y - middle
            canvas.arrow(x, y, ARROW, 0, SLIDE)
            canvas.text(x + ARROW / 2 * scale, y - 0.9 * scale, words, SMALL, fill=SLIDE)
            return
        x = self.x + middle - 0.8 * scale
        y, down = (self.y, ARROW) if side == "left" else (self.y - self.view.up, -ARROW)
        canvas.arrow(x, y, 0, down, SLIDE)
        foot = x + 2.6 * scale, y + (0.5 if side == "left" else -0.5) * scale
        anchor = "end" if side == "left" else "start"
        canvas.text(*foot, words, SMALL, anchor, turn=True, fill=SLIDE)

    def front(self) -> None:
        """Where the front of the vehicle is, or from behind its left and right."""
        canvas, view, scale = self.canvas, self.view, self.canvas.scale
        y = self.y - view.up - (1.5 + view.margin) * scale
        foot, right = y + 0.8 * scale, self.x + view.across
        if view.name in ("left", "plan"):
            canvas.arrow(self.x + 12 * scale, y, -5, 0)
            canvas.text(self.x + 13 * scale, foot, text("front"), TEXT, "start")
        elif view.name == "right":
            canvas.arrow(right - 12 * scale, y, 5, 0)
            canvas.text(right - 13 * scale, foot, text("front"), TEXT, "end")
        else:
            canvas.text(self.x, foot, text("left"), TEXT, "start")
            canvas.text(right, foot, text("right"), TEXT, "end")


def _beside(
    canvas: Canvas, view: Rect, rect: Rect, words: str, taken: Sequence[Rect]
) -> Rect | None:
    """The number of a unit too flat for it: as near as there is room, with a line to it."""
    x, y, width, height = rect
    s = canvas.scale
    wide, high = (text_width(words, SMALL, True) + 0.4) * s, 2.0 * s
    steps = [step * wide for step in range(int(width / wide) + 1)]
    along = [x + width / 2 - wide / 2, *(x + step for step in steps)]
    level = y + height / 2 - high / 2
    places = [(x + width, level, 0.0), (x - wide, level, 0.0)]
    for far in (0.0, 1.0, 2.0, 3.5, 5.0, 7.0, 9.0):
        for up in (y - high - far * s, y + height + far * s):
            places += ((left, up, far) for left in along)
    places.sort(key=lambda place: place[2])
    for left, top, far in places:
        spot = (left, top, wide, high)
        start, end = (top + high, y) if top < y else (y + height, top)
        line = (left + wide / 2, start, 0.0, end - start) if far else spot
        inside = view[0] <= left and left + wide <= view[0] + view[2]
        inside = inside and view[1] <= top and top + high <= view[1] + view[3]
        if inside and not any(touch(spot, t) or touch(line, t) for t in taken if t != rect):
            if touch(spot, rect):
                continue
            if far:
                canvas.line(left + wide / 2, start, left + wide / 2, end, "#777", 0.12)
            canvas.text(left + wide / 2, top + high - 0.3 * s, words, SMALL, bold=True)
            return spot
    return None


def _label(canvas: Canvas, part: Rect | None, number: int, title: str, size: str) -> Rect | None:
    """Number, name and size, as much as there is room for; answers the room that it takes.

    A name that has no room is shortened before the size is left out. A unit that is covered by
    others has no label at all; the key has its number.
    """
    if part is None:
        return None
    x, y, width, height = part
    s = canvas.scale
    lines, turned = list[str](), False
    for across, up in ((width, height), (height, width)) if title else ():
        turned, room, high = across != width, across / s - 1.0, up / s - 0.5
        if text_width(size, TEXT, True) <= room:
            lines = lines_within(f"{number} {title}", room, high - LINE, TEXT, LINE)
            lines += [size] if lines else []
        lines = lines or lines_within(f"{number} {title}", room, high, TEXT, LINE)
        if lines or height < width:
            break
    wide = max(text_width(line, TEXT, True) for line in lines or [str(number)]) * s
    if not lines:
        if height < 2.2 * s or wide > width - s:
            return None
        lines, turned = [str(number)], False
    middle, level, tall = x + width / 2, y + height / 2, LINE * len(lines) * s
    for index, line in enumerate(lines):
        foot = ((index - len(lines) / 2) * LINE + 2.1) * s
        spot = (middle + foot, level) if turned else (middle, level + foot)
        canvas.text(*spot, line, TEXT, turn=turned, bold=index == 0)
    wide, tall = (tall, wide) if turned else (wide, tall)
    return middle - wide / 2, level - tall / 2, wide, tall
