"""The whole vehicle from the side, to scale: cab, wheels, tray, canopy, and what they carry.

Drawn from the catalogue's own figures for the class; what it does not state is left out. Around the
view stand the sizes on the road and, where the picks tell them, the axle loads at the axles and the
centre of the mass that is added.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from typing import TypeAlias

from configurator.catalogue.vehicles import Outline
from configurator.drawing.bodies import Body, Tray
from configurator.drawing.canvas import (
    ROW,
    SIZE,
    Canvas,
    Rect,
    chain,
    clear_part,
    edges,
    placed,
    rows_needed,
    text_width,
    touch,
    wrapped,
)
from configurator.drawing.layouts import LETTERS
from configurator.drawing.names import Note, lines_within, notes_above, rows_of
from configurator.drawing.side import SideView, side_of
from configurator.fit.layout import Layout
from configurator.mass.places import places_of
from configurator.mass.states import MassPicture
from configurator.report.mass import LOADS
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE, Speech, joined, left, text, used

_Point: TypeAlias = tuple[float, float]


_SOFT, _FAINT, _OVER = "#666", "#aaa", "#9c1c1c"
_CAB, _GLASS, _METAL, _SHELL, _DOOR = "#e6e9eb", "#fafbfb", "#c9ced2", "#f4f5f6", "#ffffff"
_THING = "#efece4"
_LINE = 3.1
"""From one line of text to the next, mm as the canvas counts them."""

_SCALES = (*range(20, 100, 5), *range(100, 201, 10))
"""Scales that a vehicle is drawn to, one to as many."""

_REACH = 250
"""How far the ground goes on before and behind the vehicle, real mm."""


def vehicle_svg(
    build: Resolved,
    layout: Layout | None,
    prefix: str = "vehicle-",
    paper: tuple[float, float] = (110.0, 88.0),
    speech: Speech = SOURCE,
) -> str:
    """The vehicle from the kerb side, to the largest scale that fits the paper.

    Args:
        build: what is picked, complete or not.
        layout: where the units sit, for the loads; None where that is not known.
        prefix: begins the ids in the drawing, so that several can be in one page.
        paper: the most it may take, mm; it is no larger than it has to be.
        speech: the language that it is drawn in.

    Returns:
        The drawing; empty while no vehicle is picked.
    """
    places = places_of(build)
    if places is None:
        return ""
    scene = side_of(build, places, layout)
    for scale in _SCALES:
        sheet = _VehicleSheet(Canvas(scale, LETTERS, speech), scene, paper[0] / LETTERS)
        if scale != _SCALES[-1] and sheet.wide * LETTERS > paper[0]:
            continue
        sheet.draw()
        left, right = (end / sheet.canvas.scale for end in sheet.canvas.ends)
        wide = max(sheet.wide, right + 0.5) - left
        if wide * LETTERS <= paper[0] and sheet.tall * LETTERS <= paper[1]:
            break
    title = text(
        "{title}, the whole vehicle from the side, scale 1 to {scale}",
        title=build.selection.title or build.catalogue.title,
        scale=scale,
    )
    return sheet.canvas.svg(wide, sheet.tall, title, prefix, _told(scene), left)


class _VehicleSheet:
    """The sheet in the making: how much room it takes, and then what is on it."""

    def __init__(self, canvas: Canvas, scene: SideView, widest: float) -> None:
        self.canvas, self.scene = canvas, scene
        self.taken: list[Rect] = []
        self.words: list[Rect] = []
        self.doors: list[Rect] = []
        s = canvas.scale
        tray, vehicle = scene.tray, scene.vehicle
        end = max([vehicle.wheelbase, *scene.ends])
        ends = {scene.front, 0, vehicle.wheelbase, end}
        behind = [int(body.rear) for body in scene.shells] + ([tray.rear] if tray else [])
        ends.add(max([vehicle.wheelbase, *behind]))
        self.below = [sorted(ends)]
        if scene.ends and scene.front < 0:
            self.below.append([scene.front, end])
        self.above: list[int] = []
        if tray is not None and scene.shells:
            self.above = _lengths(tray, scene.shells)
        levels = {scene.ground, scene.top}
        if vehicle.tray_floor is not None:
            levels.add(0)
        levels |= {int(body.top) for body in scene.shells}
        self.levels = [level - scene.ground for level in sorted(levels)]
        self.overall = scene.top - scene.ground if scene.outline is not None else None
        beside = rows_needed(self.levels, s) * ROW + 4
        half = max((text_width(w, SIZE, True) for _, w, _ in self.loads_told()), default=0.0) / 2
        near, far = -scene.front / s, (scene.rear - vehicle.wheelbase) / s
        if scene.side != "left":
            near, far = far, near
        self.left = max((ROW + 4 if self.overall else 3.0) + _REACH / s, half - near)
        self.right = self.left + (scene.rear - scene.front + _REACH) / s
        self.wide = self.right + max(beside, half - far)
        self.notes = self._notes(max(self.wide, widest - 0.5))
        self.upper = rows_of(self.notes) * _LINE + (
            rows_needed(self.above, s) * ROW + 3 if self.above else 1.5
        )
        self.high = self.upper + (scene.top - scene.ground) / s
        self.loads = 4 + 2 * _LINE if scene.picture else 2.0
        self.tall = self.high + self.loads + sum(rows_needed(m, s) * ROW + 1.2 for m in self.below)

    def _notes(self, widest: float) -> list[Note]:
        """The names of what is above the tray, and where they stand, on a sheet that wide."""
        canvas, s, scene = self.canvas, self.canvas.scale, self.scene
        roof = min(1, max([0, *(int(body.top) for body in scene.shells)]))
        numbers = [
            (self.above[0] + own, (text_width(str(number), SIZE) / 2 + 0.8) * s)
            for number, _, own, _ in placed(_from(self.above), s)
        ]
        things = []
        for thing in scene.things:
            if thing.z >= roof:
                name = canvas.say(thing.title)
                things.append((thing, name if thing.count == 1 else f"{thing.count} × {name}"))
        return notes_above(things, numbers, s, (self.x, widest * s))

    # Places on the sheet

    def x(self, along: float) -> float:
        """A place along the vehicle on the sheet; the front is at the right from the right."""
        scene, start = self.scene, self.left * self.canvas.scale
        return start + (along - scene.front if scene.side == "left" else scene.rear - along)

    def y(self, up: float) -> float:
        """A height on the sheet."""
        return self.high * self.canvas.scale - (up - self.scene.ground)

    def rect(self, x: float, z: float, length: float, height: float) -> Rect:
        """A rectangle on the sheet."""
        return min(self.x(x), self.x(x + length)), self.y(z + height), length, height

    def box(self, rect: Rect, fill: str, thick: float = 0.3) -> None:
        """Draw a rectangle, which no label may be put across."""
        self.canvas.rect(*rect, fill, thick=thick)
        self.taken += edges(rect, thick * self.canvas.scale)

    def draw(self) -> None:
        """All of it."""
        scene, canvas, s = self.scene, self.canvas, self.canvas.scale
        self.taken.append((self.right * s, 0, (self.wide - self.right) * s, self.tall * s))
        if scene.outline is not None:
            self.frame(scene.outline)
            self.cab_and_bonnet(scene.outline)
        if scene.tray is not None:
            self.tray(scene.tray)
        for body in scene.shells:
            rect = self.rect(float(body.x), float(body.z), body.length, body.height)
            self.box(rect, _SHELL, 0.5)
        for door, moves in scene.doors:
            self.door(self.rect(*door), moves)
        for thing in scene.things:
            rect = self.rect(float(thing.x), float(thing.z), thing.length, thing.height)
            self.box(rect, _THING, 0.3)
        self.ground_and_wheels()
        for thing in scene.things:
            self.name_inside(thing)
        self.name_outside()
        if scene.picture is not None:
            self.axle_loads()
            self.centre(scene.picture)
        self.chains()
        canvas.flush()

    def frame(self, look: Outline) -> None:
        """The frame behind the cab, as a bar under the tray."""
        back, tray = self.scene.vehicle.cab_back, self.scene.tray
        upper = -((tray.depth if tray is not None else None) or 0)
        lower = (upper + self.scene.ground + look.sill) / 2
        if look.frame is None or lower >= upper:
            return
        end = max(self.scene.vehicle.wheelbase + look.tyre // 2, tray.rear if tray else 0)
        long = min(look.frame, end) - back
        if long > 0:
            self.box(self.rect(back, lower, long, upper - lower), _METAL)

    def cab_and_bonnet(self, look: Outline) -> None:
        """Cab, bonnet, doors and glass as plain lines."""
        scene, canvas, base = self.scene, self.canvas, self.scene.ground
        back, roof = scene.vehicle.cab_back, float(scene.vehicle.cab_height or 0)
        points = [
            (-look.front, look.sill),
            (-look.front, look.nose),
            (look.windscreen, look.bonnet),
            (look.roof, roof),
            (back, roof),
            (back, look.sill),
        ]
        canvas.shape([(self.x(x), self.y(base + z)) for x, z in points], _CAB, thick=0.5)
        slope = (look.roof - look.windscreen) / max(1.0, roof - look.bonnet)
        low, high = look.bonnet + 40.0, roof - 90.0
        for one, other in pairwise(look.doors):
            start = max(one + 50.0, look.windscreen + slope * (low - look.bonnet) + 90)
            slant = max(one + 50.0, look.windscreen + slope * (high - look.bonnet) + 90)
            pane = [(start, low), (slant, high), (other - 50.0, high), (other - 50.0, low)]
            canvas.shape([(self.x(x), self.y(base + z)) for x, z in pane], _GLASS, _SOFT, 0.2)
        for joint in look.doors:
            upper = min(roof, look.bonnet + max(0.0, (joint - look.windscreen) / max(slope, 0.01)))
            self.line((joint, base + look.sill), (joint, base + upper), _SOFT, 0.18)
        cab = look.windscreen, base + look.sill, back - look.windscreen, roof - look.sill
        nose = -look.front, base + look.sill, look.front + look.windscreen, look.bonnet - look.sill
        self.taken += [self.rect(*cab), self.rect(*nose)]

    def line(self, start: _Point, end: _Point, pen: str, thick: float, dash: str = "") -> None:
        """A line between two places, x and z."""
        (x1, z1), (x2, z2) = start, end
        self.canvas.line(self.x(x1), self.y(z1), self.x(x2), self.y(z2), pen, thick, dash)

    def tray(self, tray: Tray) -> None:
        """The tray with its sides and headboard."""
        depth = tray.depth or 0
        if depth:
            self.box(self.rect(tray.front, -depth, tray.length, depth), _METAL, 0.4)
        else:
            self.line((tray.front, 0), (tray.rear, 0), "#222", 0.6)
        free = max([tray.front, *(int(b.rear) for b in self.scene.shells)])
        if tray.sides and free < tray.rear:
            self.box(self.rect(free, 0, tray.rear - free, tray.sides), _SHELL)
        if tray.headboard:
            self.line((tray.front, 0), (tray.front, tray.headboard), "#222", 0.6)

    def door(self, rect: Rect, moves: str) -> None:
        """A door, shut, with its handle where it opens."""
        canvas, s = self.canvas, self.canvas.scale
        self.canvas.rect(*rect, _DOOR, "#222", 0.25)
        self.doors += edges(rect, 0.25 * s)
        x, y, width, height = rect
        level = y + height - 1.3 * s if moves == "lifts" else y + 1.3 * s
        handle = x + width / 2 - s, level - s / 2, 2 * s, s
        centre = self.scene.centre
        mark = centre and (self.x(centre[0]) - 2 * s, self.y(centre[1]) - 2 * s, 4 * s, 4 * s)
        if moves in ("lifts", "folds-down") and not (mark and touch(mark, handle)):
            canvas.line(handle[0], level, handle[0] + 2 * s, level, "#222", 0.5)
            canvas.flush()
            self.doors.append(handle)

    def ground_and_wheels(self) -> None:
        """The ground, and the wheels on it, or only where the axles are."""
        scene, canvas, s = self.scene, self.canvas, self.canvas.scale
        base, look = scene.ground, scene.outline
        for axle in (0, scene.vehicle.wheelbase):
            if look is None:
                top = max(0, base + 400)
                self.line((axle, base), (axle, top), _SOFT, 0.2, "3 1 0.6 1")
                self.taken.append((self.x(axle) - s / 4, self.y(top), s / 2, top - base))
                continue
            radius = look.tyre / 2
            middle = self.x(axle), self.y(base + radius)
            canvas.circle(*middle, radius, "#ffffff", "#222", 0.5)
            canvas.circle(*middle, radius * 0.58, _METAL, "#222", 0.25)
            self.taken.append((middle[0] - radius, middle[1] - radius, look.tyre, look.tyre))
        if scene.vehicle.tray_floor is not None:
            start, end = scene.front - _REACH, scene.rear + _REACH
            self.line((start, base), (end, base), "#222", 0.35)
            canvas.flush()
        self.taken.append((0, self.y(base) - s / 4, 10**6, s / 2))

    # Words

    def name_inside(self, thing: Body) -> None:
        """The name of a thing beside or under the tray, in its box."""
        if thing.z >= 0:
            return
        canvas, s = self.canvas, self.canvas.scale
        rect = self.rect(float(thing.x), float(thing.z), thing.length, thing.height)
        part = clear_part(rect, [t for t in self.taken if t not in edges(rect, 0.3 * s)])
        if part is None:
            return
        x, y, width, height = part
        lines = lines_within(canvas.say(thing.title), width / s - 0.8, height / s - 0.6, SIZE, 2.6)
        for index, words in enumerate(lines):
            foot = y + height / 2 + ((index - len(lines) / 2) * 2.6 + 2.0) * s
            self.words.append((x, foot - 2.2 * s, width, 2.6 * s))
            canvas.text(x + width / 2, foot, words, SIZE)

    def name_outside(self) -> None:
        """The names of what is on the roof, above the view, each with a line to it."""
        canvas, s = self.canvas, self.canvas.scale
        for note in self.notes:
            x, y = self.x(note.x), self.y(note.z)
            feet = [((note.row + n) * _LINE - 0.8) * s for n in range(1, len(note.words) + 1)]
            foot = feet[-1]
            canvas.line(x, foot + 0.5 * s, x, y, _FAINT, 0.15)
            self.taken.append((x - 0.2 * s, foot, 0.4 * s, y - foot))
            canvas.circle(x, y, 0.4 * s, _SOFT, "none")
            for words, level in zip(note.words, feet, strict=True):
                canvas.text(x, level, words, SIZE, note.anchor)

    def loads_told(self) -> Iterator[tuple[str, str, bool]]:
        """What stands on each axle that is told, fully loaded, and whether it is too much."""
        if self.scene.picture is None:
            return
        full = self.scene.picture.state("full")
        for subject in ("front-axle", "rear-axle"):
            bar = full.bar(subject)
            load = text("lifted") if bar.load < 0 else used(bar.load)
            words = text("{load} of {rating} kg", load=load, rating=left(bar.rating))
            yield subject, self.canvas.say(words), bar.left < 0

    def axle_loads(self) -> None:
        """What stands on the axles, under them."""
        canvas, s, base = self.canvas, self.canvas.scale, self.y(self.scene.ground)
        places = (0, self.scene.vehicle.wheelbase)
        for (subject, words, over), axle in zip(self.loads_told(), places, strict=True):
            x = self.x(axle)
            canvas.flush()
            head = [
                (x, base + 0.3 * s),
                (x - 1.1 * s, base + 2.2 * s),
                (x + 1.1 * s, base + 2.2 * s),
            ]
            canvas.polygon(head, "#222")
            wide = max(text_width(w, SIZE, True) for w in (canvas.say(LOADS[subject]), words)) * s
            self.taken.append((x - 1.1 * s, base, 2.2 * s, 2.4 * s))
            self.taken.append((x - wide / 2, base + 2.4 * s, wide, 2 * _LINE * s))
            canvas.text(x, base + (2.8 + SIZE * 0.8) * s, LOADS[subject], SIZE, fill=_SOFT)
            fill = _OVER if over else "#111"
            canvas.text(x, base + (2.8 + SIZE * 0.8 + _LINE) * s, words, SIZE, fill=fill, bold=True)

    def centre(self, picture: MassPicture) -> None:
        """The centre of the mass that is added, with what it comes to."""
        centre, canvas, s = self.scene.centre, self.canvas, self.canvas.scale
        if centre is None:
            return
        x, y, radius = self.x(centre[0]), self.y(centre[1]), 1.5 * s
        canvas.circle(x, y, radius, "#ffffff", "#222", 0.3)
        for turn in (1, -1):
            around = [(x, y), (x + turn * radius, y), (x, y + turn * radius)]
            canvas.polygon([around[0], around[1], *_arc(x, y, radius, turn), around[2]], "#222")
        self.taken.append((x - radius, y - radius, 2 * radius, 2 * radius))
        words = canvas.say(text("{kg} kg added when full, centred here", kg=used(picture.added)))
        brief = canvas.say(text("{kg} kg full", kg=used(picture.added)))
        forms = (
            [words],
            wrapped(words, text_width(words, SIZE, True) * 0.65, SIZE),
            [brief],
            wrapped(brief, text_width(brief, SIZE, True) * 0.8, SIZE),
        )
        for lines, doors in product(forms, (self.doors, ())):
            wide, high = (max(text_width(w, SIZE) for w in lines) + 0.6) * s, 2.7 * len(lines) * s
            found = self._free((x, y), radius, (wide, high), [*self.taken, *doors])
            if found is not None:
                if not doors and any(touch((*found, wide, high), door) for door in self.doors):
                    canvas.rect(*found, wide, high, _DOOR, "none")
                break
        else:
            found = self._apart((x, y), wide, high)
            if found is None:
                return
            end = self._near((x, y), found, wide, high)
            canvas.line(x, y, *end, _SOFT, 0.15)
        for index, line in enumerate(lines):
            canvas.text(found[0] + wide / 2, found[1] + (index * 2.7 + 2.1) * s, line, SIZE)

    def _free(
        self, at: _Point, radius: float, size: _Point, taken: Sequence[Rect]
    ) -> _Point | None:
        """A place for a label beside a mark that nothing takes: its upper left corner."""
        (x, y), (wide, high), gap = at, size, 0.6 * self.canvas.scale
        spots = [(x + radius + gap, y - high / 2), (x - radius - gap - wide, y - high / 2)]
        for level in (y - radius - gap - high, y + radius + gap):
            spots += ((x - wide * share, level) for share in (0.5, 0.25, 0.75, 0.0, 1.0))
        free = (spot for spot in spots if not any(touch((*spot, wide, high), t) for t in taken))
        return next(free, None)

    def _apart(self, at: _Point, wide: float, high: float) -> _Point | None:
        """The nearest such place farther off, which a line from the mark reaches past all words."""
        (x, y), s = at, self.canvas.scale
        top, foot, right = int(self.upper), int(self.high - high / s), int(self.right - wide / s)
        spots = [
            (across * s, level / 2 * s)
            for level in range(2 * top, 2 * foot)
            for across in range(int(self.left), right)
        ]

        def far(spot: _Point) -> float:
            end = self._near(at, spot, wide, high)
            return (end[0] - x) ** 2 + (end[1] - y) ** 2

        for spot in sorted(spots, key=far):
            if not any(
                touch((*spot, wide, high), t) for t in (*self.taken, *self.doors, *self.words)
            ):
                end = self._near(at, spot, wide, high)
                way = [(x + (end[0] - x) * n / 30, y + (end[1] - y) * n / 30) for n in range(30)]
                if not any(touch((*place, 1, 1), word) for place in way for word in self.words):
                    return spot
        return None

    @staticmethod
    def _near(at: _Point, spot: _Point, wide: float, high: float) -> _Point:
        """Where the line from a mark to a label ends."""
        across = min(max(at[0], spot[0]), spot[0] + wide)
        return across, min(max(at[1], spot[1]), spot[1] + high)

    def chains(self) -> None:
        """Lengths under the ground and above the canopy, the overall height before, all behind."""
        scene, canvas, s = self.scene, self.canvas, self.canvas.scale
        flipped = scene.side == "right"
        y = (self.high + self.loads) * s
        for marks in self.below:
            ends = sorted(self.x(mark) for mark in (marks[0], marks[-1]))
            chain(canvas, _from(marks), (ends[0], y), flipped=flipped)
            y += (rows_needed(marks, s) * ROW + 1.2) * s
        if self.above:
            y = self.y(scene.top) - 1.5 * s
            start = min(self.x(self.above[0]), self.x(self.above[-1]))
            chain(canvas, _from(self.above), (start, y), flipped=flipped, over=True)
        foot, before = self.y(scene.ground), min(self.x(scene.front), self.x(scene.rear))
        if self.overall:
            base = before - _REACH - 0.5 * s, foot
            chain(canvas, [0, self.overall], base, upright=True)
        chain(canvas, self.levels, (self.wide * s - 0.9 * s, foot), upright=True)


def _lengths(tray: Tray, shells: Sequence[Body]) -> list[int]:
    """The ends of the tray and of what stands on it; none of the tray within what stands over it.

    So each canopy has its own length in one figure.
    """
    bodies = [(int(body.x), int(body.rear)) for body in shells]
    own = {end for end in (tray.front, tray.rear) if not any(a < end < b for a, b in bodies)}
    return sorted(own.union(*bodies))


def _from(marks: Sequence[int]) -> list[int]:
    return [mark - marks[0] for mark in marks]


def _arc(x: float, y: float, radius: float, turn: int) -> Iterator[_Point]:
    """Points of a quarter circle between its ends."""
    for step in (0.924, 0.383), (0.707, 0.707), (0.383, 0.924):
        yield x + turn * radius * step[0], y + turn * radius * step[1]


def _told(scene: SideView) -> str:
    """Length, height and loads in sentences, for those who do not see the picture."""
    words = [
        text("Overall length {length} mm.", length=scene.rear - scene.front)
        if scene.outline is not None
        else "",
        text("Overall height {height} mm.", height=scene.top - scene.ground)
        if scene.vehicle.tray_floor is not None
        else "",
    ]
    if scene.picture is not None:
        full = scene.picture.state("full")
        words.append(
            text(
                "Fully loaded, the front axle carries {front} kg and the rear axle {rear} kg.",
                front=used(full.loads.standing.front),
                rear=used(full.rear),
            )
        )
    return joined(filter(None, words), " ")
