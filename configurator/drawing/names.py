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


def one_line(title: str, room: float, size: float) -> str:
    """The longest form of the title that fits in one line; the shortest where none does."""
    words = title
    for words in shorter(title):
        if text_width(words, size) <= room:
            break
    return words
