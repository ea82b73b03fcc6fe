"""Hidden lines against ray casting: what is drawn is what a ray from the eye meets first.

The oracle knows boxes and rays only. It shares nothing with the drawing but the definition of how a
point is seen, P = a x - c z and Q = b y - c z.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import product
from typing import TypeAlias

import pytest

from configurator import Layout
from configurator.drawing.corner import corner_sides
from configurator.drawing.hidden_faces import Eye, Part, Point, Scene, Segment, faces_of
from configurator.drawing.package import Package
from configurator.layout.answers import lay_out
from configurator.mass.places import places_of
from configurator.selection.resolved import Resolved
from tests.support.made_papers import quandong, shipped_selection

Box: TypeAlias = tuple[Point, Point]
Ray: TypeAlias = tuple[Fraction, Fraction]

TINY, GAP = Fraction(1, 10**6), Fraction(1, 1000)


def edges_of(low: Point, high: Point) -> Iterator[Segment]:
    """The nine edges of those faces."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    for y, z in ((y1, z0), (y1, z1), (y0, z1)):
        yield (x0, y, z), (x1, y, z)
    for x, z in ((x1, z0), (x1, z1), (x0, z1)):
        yield (x, y0, z), (x, y1, z)
    for x, y in ((x1, y0), (x1, y1), (x0, y1)):
        yield (x, y, z0), (x, y, z1)


def met(box: Box, eye: Eye, ray: Ray) -> tuple[Fraction, int] | None:
    """Where a ray meets a box first: the height, and the axis of the face."""
    (p, q), (low, high) = ray, box
    least = max((eye.a * low[0] - p) / eye.c, (eye.b * low[1] - q) / eye.c, Fraction(low[2]))
    ends = ((eye.a * high[0] - p) / eye.c, (eye.b * high[1] - q) / eye.c, Fraction(high[2]))
    most = min(ends)
    return (most, ends.index(most)) if least <= most else None


def boxes_at_random(seed: int) -> list[Box]:
    """Boxes that have no room in common; some touch."""
    dice = random.Random(seed)
    boxes: list[Box] = []
    for _ in range(40):
        low = (dice.randrange(12), dice.randrange(12), dice.randrange(12))
        size = (dice.randint(0, 6), dice.randint(1, 6), dice.randint(1, 6))
        high = (low[0] + size[0], low[1] + size[1], low[2] + size[2])
        if all(any(high[i] <= o[0][i] or o[1][i] <= low[i] for i in range(3)) for o in boxes):
            boxes.append((low, high))
    return boxes


def within(part: Part, ray: Ray) -> bool:
    p, q = ray
    return part[0] < p < part[1] and part[2] < q < part[3] and part[4] < p - q < part[5]


def check_faces(boxes: list[Box], eye: Eye, rays: list[Ray]) -> int:
    """Every ray meets first what is drawn there; answers how many meet any."""
    scene = Scene(eye, [face for box in boxes for face in faces_of(*box)])
    seen = list(scene.seen())
    count = 0
    for ray in rays:
        drawn = {
            (index // 3, one.face.axis)
            for index, one in enumerate(seen)
            for part in one.parts
            if within(part, ray)
        }
        hits = {n: hit for n, box in enumerate(boxes) if (hit := met(box, eye, ray))}
        first = max((z for z, _ in hits.values()), default=None)
        wanted = {(n, axis) for n, (z, axis) in hits.items() if z == first}
        assert drawn == wanted, ray
        count += bool(wanted)
    return count


def check_edges(boxes: list[Box], eye: Eye, dice: random.Random, samples: int) -> tuple[int, int]:
    """Points of edges are drawn where nothing nearer covers both sides; how many are, are not."""
    scene = Scene(eye, [face for box in boxes for face in faces_of(*box)])
    edges = [edge for box in boxes for edge in edges_of(*box) if edge[0] != edge[1]]
    drawn = defaultdict(list)
    for (p0, q0), (p1, q1) in scene.visible(edges):
        axis = 0 if q0 == q1 else 1 if p0 == p1 else 2
        drawn[axis, (q0, p0, p0 - q0)[axis]].append(sorted((q0, q1) if axis == 1 else (p0, p1)))
    sides = (((0, 1), (0, -1)), ((1, 0), (-1, 0)), ((1, 0), (-1, 0)))
    shown = hidden = 0
    lines = defaultdict(list)
    for start, end in edges:
        axis = next(i for i in range(3) if start[i] != end[i])
        (p, q), (p1, q1) = eye.seen(start), eye.seen(end)
        along = (q, q1) if axis == 1 else (p, p1)
        lines[axis, (q, p, p - q)[axis]].append((start, end, along))
    for (axis, line), members in lines.items():
        for _, _, (first, last) in members:
            for _ in range(samples):
                part = Fraction(dice.randrange(1, 997), 997)
                at = first + (last - first) * part
                ray = ((at, Fraction(line)), (Fraction(line), at), (at, at - line))[axis]
                visible = False
                for start, _, (one, other) in members:
                    if not min(one, other) < at < max(one, other):
                        continue
                    height = (eye.a * start[0] - ray[0]) / eye.c if axis == 2 else start[2]
                    covers = [
                        any(
                            hit is not None and hit[0] > height + GAP
                            for box in boxes
                            for hit in [met(box, eye, (ray[0] + x * TINY, ray[1] + y * TINY))]
                        )
                        for x, y in sides[axis]
                    ]
                    visible |= not all(covers)
                is_drawn = any(low < at < high for low, high in drawn[axis, line])
                assert is_drawn == visible, (axis, line, at)
                shown, hidden = shown + visible, hidden + (not visible)
    return shown, hidden


@pytest.mark.parametrize("seed", range(6))
def test_random_boxes_are_drawn_as_rays_meet_them(seed: int) -> None:
    boxes, dice = boxes_at_random(seed), random.Random(seed)
    assert len(boxes) >= 8
    eye = (Eye(4, 2, 3), Eye(1, 1, 1), Eye(2, 3, 5))[seed % 3]
    spots = [eye.seen((x, y, z)) for box in boxes for x, y, z in product(*zip(*box, strict=True))]
    lows, highs = (tuple(end(s[i] for s in spots) for i in (0, 1)) for end in (min, max))
    rays = [
        (
            dice.randrange(lows[0], highs[0]) + Fraction(1, 3),
            dice.randrange(lows[1], highs[1]) + Fraction(1, 7),
        )
        for _ in range(60)
    ]
    assert check_faces(boxes, eye, rays) > 10
    shown, hidden = check_edges(boxes, eye, dice, 1)
    assert shown > 30
    assert hidden > 5


def test_a_box_behind_the_seam_of_two_others_is_hidden() -> None:
    eye = Eye(1, 1, 1)
    front: list[Box] = [((10, 10, 10), (12, 11, 14)), ((10, 11, 10), (12, 12, 14))]
    behind: Box = ((5, 5, 7), (6, 6, 8))
    seam = {eye.seen((12, 11, z))[0] - eye.seen((12, 11, z))[1] for z in (10, 14)}
    assert seam == {1}
    scene = Scene(eye, [face for box in (*front, behind) for face in faces_of(*box)])
    assert not [one for one in list(scene.seen())[6:] if one.parts]
    assert list(scene.visible(edges_of(*behind))) == []


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_package_is_drawn_as_rays_meet_it(name: str) -> None:
    build = Resolved(quandong(), shipped_selection(name))
    layout, places = lay_out(build), places_of(build)
    assert isinstance(layout, Layout)
    assert places is not None
    for side in corner_sides(build, layout):
        package = Package(build, places, layout, side)
        fine = [
            [tuple(int(part * 10) for part in end) for end in (solid.low, solid.high)]
            for solid in package.solids
        ]
        boxes: list[Box] = [((a[0], a[1], a[2]), (b[0], b[1], b[2])) for a, b in fine]
        eye, dice = Eye(4, 2, 3), random.Random(name)
        rays = []
        for _ in range(100):
            low, high = dice.choice(boxes)
            point = [dice.randint(one, other) for one, other in zip(low, high, strict=True)]
            p, q = eye.seen((point[0], point[1], point[2]))
            rays.append((p + Fraction(1, 3), q + Fraction(1, 7)))
        assert check_faces(boxes, eye, rays) > 90
