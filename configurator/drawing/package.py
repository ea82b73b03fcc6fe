"""The package as solid boxes before an eye: tray, spaces without their roofs, units, slides out.

x counts from the front axle rearward, y from the centre line towards the eye, z from the tray floor
up, mm, exact. The eye is behind and above, on one side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise, product
from typing import TypeAlias

from attrs import frozen

from configurator.drawing.bodies import Tray, fittings, shells, tray_of
from configurator.fit.layout import Layout, Placement, SpaceLayout, UnitName
from configurator.fit.openings import ClearOpening
from configurator.mass.places import Places
from configurator.selection.resolved import Resolved

Place: TypeAlias = tuple[Fraction, Fraction, Fraction]

_Line: TypeAlias = tuple[Place, Place]
_Pane: TypeAlias = tuple[Fraction, Fraction, Fraction, Fraction]
"""Of a wall: its ends along it, and its lower and upper end."""


@frozen
class Solid:
    """A box by its farthest and nearest corner, what kind of thing it is, and of which unit."""

    low: Place
    high: Place
    kind: str
    unit: Placement | None = None


@frozen
class _DrawnSpace:
    """A space: the inside from its corner on the floor, and the outside."""

    inner: Place
    within: Place
    low: Place
    high: Place


class Package:
    """What is drawn of a package from one side.

    Attributes:
        side: the side that the eye is on.
        solids: what hides what is behind it; of a kind ``unit``, ``other``, ``wall``, ``floor`` or
            ``thing``.
        lines: edges along the axes: of each ``unit``, of the ``shell``, and of what is ``open``.
    """

    def __init__(self, build: Resolved, places: Places, layout: Layout, side: str) -> None:
        self.build, self.places, self.layout, self.side = build, places, layout, side
        self.solids: list[Solid] = []
        self.lines: dict[str, list[_Line]] = {"open": [], "shell": [], "unit": []}
        tray = tray_of(build, places)
        if tray is not None and tray.width is not None:
            half = Fraction(tray.width, 2)
            low = Fraction(tray.front), -half, -Fraction(tray.depth or 0)
            self._add(low, (Fraction(tray.rear), half, Fraction(0)), "floor", "shell")
            self._sides(tray, half)
        for body in fittings(build, places):
            if body.z < 0 and (tray is None or (tray.front <= body.x and body.rear <= tray.rear)):
                far, near = self._across(body.y, body.y + body.width)
                self._add((body.x, far, body.z), (body.rear, near, body.top), "thing", "shell")
        known = {space.space: space for space in layout.spaces}
        for space in shells(build, places):
            self._shell(space, known.get(space))

    def _across(self, one: Fraction, other: Fraction) -> tuple[Fraction, Fraction]:
        """Two places across the vehicle as they lie towards the eye."""
        return (-other, -one) if self.side == "left" else (one, other)

    def _add(
        self, low: Place, high: Place, kind: str, pen: str, unit: Placement | None = None
    ) -> None:
        self.solids.append(Solid(low, high, kind, unit))
        self.lines[pen] += _edges(low, high)

    def _sides(self, tray: Tray, half: Fraction) -> None:
        """The sides of the tray around its open part, and its headboard, as thin sheets."""
        zero, front, rear = Fraction(0), Fraction(tray.front), Fraction(tray.rear)
        behind = (body.rear for body in shells(self.build, self.places).values())
        start = max([front, *behind])
        if tray.sides and start < rear:
            top = Fraction(tray.sides)
            for low, high in (
                ((start, -half, zero), (rear, -half, top)),
                ((start, half, zero), (rear, half, top)),
                ((rear, -half, zero), (rear, half, top)),
            ):
                self._add(low, high, "wall", "shell")
        if tray.headboard:
            board = (front, -half, zero), (front, half, Fraction(tray.headboard))
            self._add(*board, "wall", "shell")

    def _shell(self, space: str, known: SpaceLayout | None) -> None:
        """A space: its floor and walls, its open doors, and what is in it."""
        size, (x, _, z) = self.places.sizes[space], self.places.corner(space)
        wall, half = Fraction(size.wall), Fraction(size.width, 2)
        room = _DrawnSpace(
            inner=(x + wall, wall - half, z + Fraction(size.floor)),
            within=(x + size.length - wall, half - wall, z + size.height),
            low=(x, -half, z),
            high=(x + size.length, half, z + size.height),
        )
        self.lines["shell"] += [*_edges(room.low, room.high), *_edges(room.inner, room.within)]
        self.solids.append(Solid(room.low, (*room.high[:2], room.inner[2]), "floor"))
        openings = known.openings if known is not None else ()
        if wall:
            other = "right" if self.side == "left" else "left"
            self.solids.append(Solid(room.low, (room.inner[0], *room.high[1:]), "wall"))
            for axis, start, end, side in (
                (1, room.within[1], room.high[1], self.side),
                (1, room.low[1], room.inner[1], other),
                (0, room.within[0], room.high[0], "rear"),
            ):
                holes = [self._pane(room, o) for o in openings if o.side == side]
                self._wall(axis, start, end, room, holes)
        for opening in openings:
            self._leaf(room, opening)
        moved = self._moved()
        for p in self.layout.placements:
            if p.space == space:
                self._unit(p, room, moved.get(p.name, 0))

    def _pane(self, room: _DrawnSpace, opening: ClearOpening) -> _Pane:
        """The clear opening in its wall."""
        ends = room.inner[0] + opening.start, room.inner[0] + opening.end
        if opening.side == "rear":
            half = room.within[1]
            ends = self._across(opening.start - half, opening.end - half)
        return *ends, room.inner[2] + opening.sill, room.inner[2] + opening.top

    def _wall(
        self, axis: int, start: Fraction, end: Fraction, room: _DrawnSpace, holes: Sequence[_Pane]
    ) -> None:
        """A wall across an axis, with the holes in it."""
        ends = (room.low[0], room.high[0]) if axis == 1 else (room.inner[1], room.within[1])
        for pane in _around((*ends, room.low[2], room.high[2]), holes):
            self.solids.append(Solid(*_slab(axis, start, end, pane), "wall"))
        for hole in holes:
            self.lines["shell"] += _edges(*_slab(axis, start, end, hole))

    def _leaf(self, room: _DrawnSpace, opening: ClearOpening) -> None:
        """An open door as a bare outline, where it is known how it moves."""
        if opening.side not in (self.side, "rear") or opening.moves not in ("lifts", "folds-down"):
            return
        axis = 0 if opening.side == "rear" else 1
        start, end, sill, top = self._pane(room, opening)
        face = room.high[axis]
        if opening.moves == "lifts":
            slab = _slab(axis, face, face + opening.height, (start, end, top, top))
        else:
            slab = _slab(axis, face, face, (start, end, sill - opening.height, sill))
        self.lines["open"] += _edges(*slab)

    def _moved(self) -> dict[UnitName, int]:
        """How far each unit is moved out by what it stands on."""
        by_name = {p.name: p for p in self.layout.placements}
        moved: dict[UnitName, int] = {}

        def out(p: Placement) -> int:
            if p.name not in moved:
                carrier = by_name.get(p.on) if isinstance(p.on, UnitName) else None
                moved[p.name] = 0
                if carrier is not None:
                    unit = self.build.catalogue.option(carrier.choice, carrier.option).unit
                    slides = unit is not None and unit.carries is not None and unit.carries.slides
                    own = unit.travel if unit is not None and slides and self._shows(carrier) else 0
                    moved[p.name] = out(carrier) + own
            return moved[p.name]

        for p in self.layout.placements:
            out(p)
        return moved

    def _shows(self, p: Placement) -> bool:
        """Whether what slides out of it does so towards the eye."""
        return p.side in (self.side, "rear")

    def _unit(self, p: Placement, room: _DrawnSpace, moved: int) -> None:
        """A unit where it stands, moved out so far, and what slides out of it."""
        half, (x, _, z) = room.within[1], room.inner
        far, near = self._across(p.y - half, p.y + p.width - half)
        low, high = (x + p.x, far, z + p.z), (x + p.x + p.length, near, z + p.z + p.height)
        axis = 0 if p.side == "rear" else 1
        if moved:
            low, high = _pushed(low, axis, moved), _pushed(high, axis, moved)
        self._add(low, high, "unit" if p.side else "other", "unit", p)
        unit = self.build.catalogue.option(p.choice, p.option).unit
        if unit is not None and unit.travel and self._shows(p):
            start = list(low)
            start[axis] = high[axis]
            end = _pushed(high, axis, unit.travel)
            self._add((start[0], start[1], start[2]), end, "unit", "unit", p)


def _pushed(place: Place, axis: int, far: int) -> Place:
    x, y, z = place
    return (x + far, y, z) if axis == 0 else (x, y + far, z)


def _slab(axis: int, start: Fraction, end: Fraction, pane: _Pane) -> _Line:
    """A part of a wall across an axis as a box, by its corners."""
    one, other, low, top = pane
    if axis == 1:
        return (one, start, low), (other, end, top)
    return (start, one, low), (end, other, top)


def _edges(low: Place, high: Place) -> Iterator[_Line]:
    """The edges of a box; those that are points and those drawn twice are left out."""
    for axis in range(3):
        if low[axis] == high[axis]:
            continue
        first, second = (i for i in range(3) if i != axis)
        spots = product({low[first], high[first]}, {low[second], high[second]})
        for one, other in sorted(spots):
            start, end = list(low), list(high)
            start[first] = end[first] = one
            start[second] = end[second] = other
            yield (start[0], start[1], start[2]), (end[0], end[1], end[2])


def _around(whole: _Pane, holes: Sequence[_Pane]) -> Iterator[_Pane]:
    """What is left of a wall around its holes: panes side by side, each as high as it goes."""
    start, end, low, high = whole
    marks = sorted({start, end, *(m for hole in holes for m in hole[:2] if start < m < end)})
    for one, other in pairwise(marks):
        at = low
        for _, _, sill, top in sorted(
            (h for h in holes if h[0] < other and one < h[1]), key=lambda h: h[2]
        ):
            if at < sill:
                yield one, other, at, sill
            at = max(at, top)
        if at < high:
            yield one, other, at, high
