"""Rectangles on a sheet: which part of one is free for a label."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

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
