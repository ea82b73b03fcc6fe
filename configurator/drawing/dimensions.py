"""Chains of dimensions in which no number touches another: one without room goes outside."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from configurator.drawing.canvas import Canvas, text_width

SIZE, ROW, GAP = 2.2, 3.4, 0.9
"""Height of the numbers, of a row of them, and the least between two, mm of paper."""


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
    return inside + _spread(outside)


def _spread(wanted: list[tuple[int, float, float]]) -> list[tuple[int, float, float, bool]]:
    """Push numbers apart, each group staying around where it wants to be."""
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
) -> None:
    """A chain of dimensions along marks, drawn away from the view.

    Args:
        canvas: where to draw.
        marks: positions along the chain from its origin, rising, real mm.
        base: where its line begins, on the sheet; it runs right, or up when upright.
        upright: runs up, numbers to its left.
        flipped: the marks run the other way from the far end.
    """
    if len(marks) < 2:
        return
    scale, (x, y) = canvas.scale, base
    if flipped:
        marks = sorted(marks[-1] - mark for mark in marks)

    def at(along: float, off: float) -> tuple[float, float]:
        return (x - off * scale, y - along) if upright else (x + along, y + off * scale)

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
        foot = at(own, off if upright else off + SIZE * 0.78)
        canvas.text(*foot, str(number), SIZE, turn=upright)
