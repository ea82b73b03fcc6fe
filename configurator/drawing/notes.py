"""Names above a view, each with an upright line to its thing, in rows that no line crosses."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from attrs import frozen

from configurator.drawing.bodies import Body
from configurator.drawing.canvas import SIZE, text_width
from configurator.drawing.names import fitted

_PARTS = (8, 4, 12, 2, 14, 6, 10, 1, 15)
"""Where on a thing its line may end, sixteenths of its length, best first."""


@frozen
class Note:
    """A name: where its line ends, real mm, its words, their anchor, and its row from the top."""

    x: float
    z: float
    words: str
    anchor: str
    row: int


def notes_above(
    named: Sequence[tuple[Body, str]],
    numbers: Sequence[tuple[float, float]],
    scale: float,
    sheet: tuple[Callable[[float], float], float],
) -> list[Note]:
    """Place the names of things.

    Names left of the middle end at their line and names right of it begin there. So the lines to
    what is nearer to the middle pass beside the names that are farther from it.

    Args:
        named: things and their names.
        numbers: middles and half widths of numbers over the view, which no line should cross.
        scale: real mm to one mm as the canvas counts them.
        sheet: where a place along the vehicle lies on the sheet, and how wide that may be, real mm.
    """
    across, wide = sheet
    ends: list[tuple[float, float, str]] = []
    for thing, words in sorted(named, key=lambda one: -one[0].top):
        x = _end(thing, [x for x, *_ in ends], [other for other, _ in named], numbers, scale)
        ends.append((x, float(thing.z) + thing.height / 2, words))
    ends.sort(key=lambda end: across(end[0]))
    half = len(ends) // 2
    placed: list[tuple[float, float, str, str, int]] = []
    for group, anchor in ((ends[:half], "end"), (ends[half:][::-1], "start")):
        rows: list[tuple[float, int]] = []
        for x, z, title in group:
            room = (across(x) if anchor == "end" else wide - across(x)) / scale
            (words,) = fitted(title, room, SIZE)
            long = (text_width(words, SIZE) + 1.5) * scale
            row = max((row + 1 for other, row in rows if abs(x - other) < long), default=0)
            rows.append((x, row))
            placed.append((x, z, words, anchor, row))
    highest = max((row for *_, row in placed), default=0)
    return [Note(x, z, words, anchor, highest - row) for x, z, words, anchor, row in placed]


def _end(
    thing: Body,
    taken: Sequence[float],
    others: Sequence[Body],
    numbers: Sequence[tuple[float, float]],
    scale: float,
) -> float:
    """Where the line to a thing ends: apart from others, on no number, and behind no thing."""
    over = [other for other in others if other.z >= thing.top]

    def faults(x: float) -> tuple[bool, bool, bool]:
        return (
            any(abs(x - other) < 3 * scale for other in taken),
            any(abs(x - middle) < half for middle, half in numbers),
            any(other.x <= x <= other.rear for other in over),
        )

    return min((float(thing.x) + thing.length * part / 16 for part in _PARTS), key=faults)
