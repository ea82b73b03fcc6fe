"""Boxes seen from a corner above: which parts of their faces and edges nothing hides, exactly.

A point is seen at ``P = a x - c z`` and ``Q = b y - c z`` for whole numbers a, b and c, so that the
eye is far away towards ``(1/a, 1/b, 1/c)``. Edges of boxes then lie along three families of lines:
P stays the same, or Q does, or R, which is P less Q. A face is what lies between two lines of one
family and two of another, and where two faces are equally near is a line of a family too. So what
is hidden is a set of polygons with whole corners, and nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import TypeAlias

from attrs import frozen

Point: TypeAlias = tuple[int, int, int]
"""x, y and z."""

Spot: TypeAlias = tuple[int, int]
"""P and Q."""

Segment: TypeAlias = tuple[Point, Point]
"""A line along one of the axes, from its lower end."""

Part: TypeAlias = tuple[int, int, int, int, int, int]
"""Least and greatest P, Q and R of a convex part of the picture, each of them reached."""

_Nearness: TypeAlias = tuple[int, int, int]
"""c times the height of what is seen of a plane: a number, and what P and Q each count in it."""

_Span: TypeAlias = tuple[int, int]


@frozen
class Eye:
    """Where the picture is seen from: whole numbers above zero, see above."""

    a: int
    b: int
    c: int

    def seen(self, point: Point) -> Spot:
        """Where a point is in the picture."""
        x, y, z = point
        return self.a * x - self.c * z, self.b * y - self.c * z


@frozen
class BoxFace:
    """One of the three faces of a box that are towards the eye.

    Attributes:
        low: the corner of the box that is farthest from the eye.
        high: the one that is nearest to it.
        axis: which of x, y and z is the same all over the face.
    """

    low: Point
    high: Point
    axis: int


@frozen
class Seen:
    """A face, the parts of it that are seen, and those that something hides where any is seen."""

    face: BoxFace
    parts: tuple[Part, ...]
    hidden: tuple[Part, ...]


def faces_of(low: Point, high: Point) -> tuple[BoxFace, BoxFace, BoxFace]:
    """The faces of a box that are towards the eye."""
    return BoxFace(low, high, 0), BoxFace(low, high, 1), BoxFace(low, high, 2)


class Scene:
    """Solid boxes before an eye, by their faces."""

    def __init__(self, eye: Eye, faces: Sequence[BoxFace]) -> None:
        self.eye, self.faces = eye, faces
        self._flat = [(self._whole(face), self._nearness(face)) for face in faces]

    def _whole(self, face: BoxFace) -> Part:
        (x0, y0, z0), (x1, y1, z1) = face.low, face.high
        x0, y0, z0 = ((x1, y0, z0), (x0, y1, z0), (x0, y0, z1))[face.axis]
        (p0, q0), (p1, q1) = self.eye.seen((x0, y0, z1)), self.eye.seen((x1, y1, z0))
        return p0, p1, q0, q1, self.eye.a * x0 - self.eye.b * y1, self.eye.a * x1 - self.eye.b * y0

    def _nearness(self, face: BoxFace) -> _Nearness:
        x, y, z = face.high
        on_axis = (self.eye.a * x, -1, 0), (self.eye.b * y, 0, -1), (self.eye.c * z, 0, 0)
        return on_axis[face.axis]

    def seen(self) -> Iterator[Seen]:
        """Every face, in their order."""
        for face, (whole, depth) in zip(self.faces, self._flat, strict=True):
            parts, hidden = [whole], []
            for other, nearness in self._flat:
                if (cut := _common(whole, other)) and (cut := _nearer(cut, nearness, depth)):
                    hidden.append(cut)
                    parts = [rest for part in parts for rest in _without(part, cut)]
                    if not parts:
                        break
            yield Seen(face, tuple(parts), tuple(hidden))

    def visible(self, segments: Iterable[Segment]) -> Iterator[tuple[Spot, Spot]]:
        """What nothing hides of the lines, each stretch of the picture once.

        A stretch is hidden where something nearer covers the picture on both sides of it.
        """
        lines: dict[tuple[int, int], list[tuple[Point, _Span]]] = {}
        for start, end in segments:
            if start != end:
                axis = next(i for i in range(3) if start[i] != end[i])
                (p, q), (p1, q1) = self.eye.seen(start), self.eye.seen(end)
                along = sorted((q, q1) if axis == 1 else (p, p1))
                found = lines.setdefault((axis, (q, p, p - q)[axis]), [])
                found.append((start, (along[0], along[1])))
        for (axis, line), found in lines.items():
            least, most = ((2, 3), (0, 1), (4, 5))[axis]
            before = [one for one in self._flat if one[0][least] <= line <= one[0][most]]
            shown = (self._shown(axis, line, *segment, before) for segment in found)
            for low, high in _joined(chain.from_iterable(shown)):
                yield _spot(axis, line, low), _spot(axis, line, high)

    def _shown(
        self,
        axis: int,
        line: int,
        start: Point,
        span: _Span,
        before: Sequence[tuple[Part, _Nearness]],
    ) -> Iterator[_Span]:
        """The stretches of a line that are not hidden on both sides by what may be before it."""
        at, rises = (self.eye.a * start[0], -1) if axis == 2 else (self.eye.c * start[2], 0)
        sides: tuple[list[_Span], list[_Span]] = [], []
        first = 2 if axis == 1 else 0
        for part, (more, by_p, by_q) in before:
            if part[first] >= span[1] or part[first + 1] <= span[0]:
                continue
            p0, p1, q0, q1, r0, r1 = part
            match axis:
                case 0:
                    across, low, high = (q0, q1), max(p0, r0 + line), min(p1, r1 + line)
                    near, by = more + by_q * line - at, by_p
                case 1:
                    across, low, high = (p0, p1), max(q0, line - r1), min(q1, line - r0)
                    near, by = more + by_p * line - at, by_q
                case _:
                    across, low, high = (r0, r1), max(p0, q0 + line), min(p1, q1 + line)
                    near, by = more - by_q * line - at, by_p + by_q - rises
            low, high = max(low, span[0]), min(high, span[1])
            if by > 0:
                low = max(low, -near)
            elif by < 0:
                high = min(high, near)
            elif near <= 0:
                continue
            if low < high:
                if across[0] <= line < across[1]:
                    sides[0].append((low, high))
                if across[0] < line <= across[1]:
                    sides[1].append((low, high))
        for covered in sides:
            at = span[0]
            for low, high in _joined(covered):
                if at < low:
                    yield at, low
                at = high
            if at < span[1]:
                yield at, span[1]


def corners(part: Part) -> list[Spot]:
    """The corners of a part of the picture in their order, each once."""
    p0, p1, q0, q1, r0, r1 = part
    around = [(p0, min(q1, p0 - r0)), (max(p0, q1 + r0), q1), (min(p1, q1 + r1), q1)]
    around += [(p1, max(q0, p1 - r1)), (min(p1, q0 + r1), q0), (max(p0, q0 + r0), q0)]
    return list(dict.fromkeys(around))


def _spot(axis: int, line: int, along: int) -> Spot:
    return ((along, line), (line, along), (along, along - line))[axis]


def _joined(spans: Iterable[_Span]) -> Iterator[_Span]:
    """The spans, those that touch as one."""
    now: _Span | None = None
    for low, high in sorted(spans):
        if now is not None and low <= now[1]:
            now = now[0], max(now[1], high)
        else:
            if now is not None:
                yield now
            now = low, high
    if now is not None:
        yield now


def _tight(p0: int, p1: int, q0: int, q1: int, r0: int, r1: int) -> Part | None:
    """The part between those lines, or None where there is nothing between them."""
    part = (
        max(p0, q0 + r0), min(p1, q1 + r1), max(q0, p0 - r1),
        min(q1, p1 - r0), max(r0, p0 - q1), min(r1, p1 - q0),
    )  # fmt: skip
    return part if part[0] < part[1] and part[2] < part[3] and part[4] < part[5] else None


def _common(one: Part, other: Part) -> Part | None:
    """What two parts have in common."""
    if one[0] >= other[1] or other[0] >= one[1] or one[2] >= other[3] or other[2] >= one[3]:
        return None
    if one[4] >= other[5] or other[4] >= one[5]:
        return None
    p0, p1 = max(one[0], other[0]), min(one[1], other[1])
    q0, q1 = max(one[2], other[2]), min(one[3], other[3])
    return _tight(p0, p1, q0, q1, max(one[4], other[4]), min(one[5], other[5]))


def _nearer(part: Part, one: _Nearness, other: _Nearness) -> Part | None:
    """Where, in a part, the one plane is nearer to the eye than the other."""
    near, by_p, by_q = (a - b for a, b in zip(one, other, strict=True))
    p0, p1, q0, q1, r0, r1 = part
    match by_p, by_q:
        case 0, 0:
            return part if near > 0 else None
        case 1, 0:
            p0 = max(p0, -near)
        case -1, 0:
            p1 = min(p1, near)
        case 0, 1:
            q0 = max(q0, -near)
        case 0, -1:
            q1 = min(q1, near)
        case 1, -1:
            r0 = max(r0, -near)
        case _:
            r1 = min(r1, near)
    return _tight(p0, p1, q0, q1, r0, r1)


def _without(part: Part, cut: Part) -> Iterator[Part]:
    """What is left of a part once another is cut out of it."""
    if _common(part, cut) is None:
        yield part
        return
    rest = part
    for side in range(6):
        bound, lower = cut[side], side % 2 == 0
        if bound > rest[side] if lower else bound < rest[side]:
            outer, inner = list(rest), list(rest)
            outer[side + 1 if lower else side - 1] = inner[side] = bound
            apart, kept = _tight(*outer), _tight(*inner)
            if apart is not None:
                yield apart
            assert kept is not None
            rest = kept
