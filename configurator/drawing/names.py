"""Names in boxes: a title, made shorter by fixed rules where it has no room."""

from __future__ import annotations

import re
from collections.abc import Iterator

from configurator.drawing.canvas import text_width, wrapped

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
