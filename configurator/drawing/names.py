"""Names in boxes, made shorter where they have no room, and above a view, with lines to things."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.drawing.bodies import Body
from configurator.drawing.canvas import SIZE, text_width, wrapped

_MOST = 4
"""The most lines of a name."""

_ASIDE = re.compile(r"\s*\([^()]*\)")


def shorter(title: str) -> Iterator[str]:
    """The title, then without what is in brackets, then without what follows each comma."""
    yield title
    plain = _ASIDE.sub("", title)
    if plain != title:
        yield plain
    pieces = re.split(r",\s+", plain)
    for count in range(len(pieces) - 1, 0, -1):
        yield ", ".join(pieces[:count])


def lines_within(
    title: str, room: float, high: float, size: float, line: float, whole: bool = False
) -> list[str]:
    """The longest form of the title that fits, in lines; empty where none does.

    Args:
        title: what is to be named, in its language.
        room: width, mm.
        high: height, mm.
        size: of the letters, mm.
        line: from one line to the next, mm.
        whole: it may not be shortened.
    """
    for words in [title] if whole else shorter(title):
        lines = wrapped(words, room, size)
        if (
            len(lines) <= _MOST
            and len(lines) * line <= high
            and all(text_width(one, size, True) <= room for one in lines)
        ):
            return lines
    return []


def fitted(title: str, room: float, size: float, most: int = 1, bold: bool = False) -> list[str]:
    """The longest form of the title that fits in so many lines.

    Only one whose shortest form has no room is cut, and ends in an ellipsis.
    """
    lines: list[str] = []
    for words in shorter(title):
        lines = wrapped(words, room, size, bold)
        if len(lines) <= most and all(text_width(one, size, bold) <= room for one in lines):
            return lines
    lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [_cut(line, room, size, bold) for line in lines]


def _cut(line: str, room: float, size: float, bold: bool) -> str:
    if text_width(line, size, bold) <= room:
        return line
    while line and text_width(f"{line}…", size, bold) > room:
        line = line[:-1]
    return f"{line.rstrip()}…"


_PARTS = (8, 4, 12, 2, 14, 6, 10, 1, 15, 3, 13, 5, 11, 7, 9)
"""Where on a thing its line may end, sixteenths of its length, best first."""

_End: TypeAlias = tuple[float, float, str]
"""Where the line to a thing ends, x and z, and its name."""


@frozen
class Note:
    """A name: where its line ends, real mm, its lines of words, their anchor, and its first row.

    Rows count from the top.
    """

    x: float
    z: float
    words: Sequence[str]
    anchor: str
    row: int


def notes_above(
    named: Sequence[tuple[Body, str]],
    numbers: Sequence[tuple[float, float]],
    scale: float,
    sheet: tuple[Callable[[float], float], float],
) -> list[Note]:
    """Place the names of things.

    Names left of a place end at their line and names right of it begin there. So the lines to what
    is nearer to the place pass beside the names that are farther from it. It is in the middle, or
    where names take the fewest rows if one of them has no room in one line.

    Args:
        named: things and their names.
        numbers: middles and half widths of numbers over the view, which no line should cross.
        scale: real mm to one mm as the canvas counts them.
        sheet: where a place along the vehicle lies on the sheet, and how wide that may be, real mm.
    """
    across, _ = sheet
    ends: list[_End] = []
    for thing, words in sorted(named, key=lambda one: -one[0].top):
        x = _end(thing, [x for x, *_ in ends], [other for other, _ in named], numbers, scale)
        ends.append((x, float(thing.z) + thing.height / 2, words))
    ends.sort(key=lambda end: across(end[0]))
    half = len(ends) // 2
    notes = _stacked(ends, half, scale, sheet)
    if all(len(note.words) == 1 and not _is_cut(note) for note in notes):
        return notes
    splits = sorted(range(len(ends) + 1), key=lambda split: abs(split - half))
    every = (_stacked(ends, split, scale, sheet) for split in splits)
    return min(every, key=lambda notes: (sum(map(_is_cut, notes)), rows_of(notes)))


def rows_of(notes: Sequence[Note]) -> int:
    """How many rows they take."""
    return max((note.row + len(note.words) for note in notes), default=0)


def _is_cut(note: Note) -> bool:
    return note.words[-1].endswith("…")


def _stacked(
    ends: Sequence[_End],
    split: int,
    scale: float,
    sheet: tuple[Callable[[float], float], float],
) -> list[Note]:
    """The names, of which so many end at their lines."""
    across, wide = sheet
    placed: list[Note] = []
    for group, anchor in ((ends[:split], "end"), (ends[split:][::-1], "start")):
        rows: list[tuple[float, int]] = []
        for x, z, title in group:
            room = (across(x) if anchor == "end" else wide - across(x)) / scale
            words = fitted(title, room, SIZE)
            words = fitted(title, room, SIZE, 2) if words[0].endswith("…") else words
            long = (max(text_width(line, SIZE) for line in words) + 1.5) * scale
            row = max((upper for other, upper in rows if abs(x - other) < long), default=0)
            row += len(words)
            rows.append((x, row))
            placed.append(Note(x, z, words, anchor, row))
    highest = max((note.row for note in placed), default=0)
    return [evolve(note, row=highest - note.row) for note in placed]


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
