"""New figures put into the text of a catalogue in place of the old ones; no other byte changes.

A value knows the line and column at which it was written. That place, the keys that lead on from it
and the figure that has to be there say which characters are replaced. Whatever does not look as
expected is refused: nothing is guessed.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from contextlib import suppress
from decimal import Decimal
from typing import Any

import yaml
from attrs import frozen

from configurator.catalogue.nodes import joined_pairs
from configurator.errors import CatalogueError, Location, Problem
from configurator.suppliers.amounts import Steps

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?(?=[\s,\]}]|$)")
_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")
"""What ends a line for the YAML reader."""

_SHARED = "it is shared with other places by an anchor or an alias"
_NEAR = 4_000
"""Characters within which most parts end."""

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@frozen
class Edit:
    """A new figure for an old one.

    Attributes:
        at: where it was written: the figure itself, or the group of keys that has it.
        keys: that lead to it from there, unless it is there itself.
        old: the figure that has to be there.
        new: the figure to be written.
        decimals: as many as an amount with a fraction has at least.
    """

    at: Location
    keys: Steps
    old: Decimal
    new: Decimal
    decimals: int


class _Elsewhere(Exception):
    """What was looked for is not where it should be; the message says what is there."""


class _TextPlaces:
    """Lines and columns of a text as places in it, as the YAML reader counts them."""

    def __init__(self, text: str) -> None:
        self.mark = "\ufeff" * text.startswith("\ufeff")
        self.text, self.pairs = joined_pairs(text.removeprefix(self.mark))
        self.lines = [0, *(found.end() for found in _BREAK.finditer(self.text))]

    def index(self, at: Location) -> int:
        if not 0 < at.line <= len(self.lines):
            raise _Elsewhere("there is no such line")
        return self.lines[at.line - 1] + at.column - 1

    def in_file(self, index: int) -> int:
        """The place in the text as it is in the file."""
        return len(self.mark) + index + 2 * bisect_right(self.pairs, index)

    def figure(self, edit: Edit) -> tuple[int, int]:
        """From where to where the figure goes."""
        start = self.index(edit.at)
        found = _NUMBER.match(self.text, start)
        if found is None and self.text.startswith("&", start):
            raise _Elsewhere(_SHARED)
        if found is None:
            found = _NUMBER.match(self.text, start + self._within(start, edit))
        if found is None or Decimal(found.group()) != edit.old:
            raise _Elsewhere(f"the figure {edit.old} is not there as such")
        return found.span()

    def _within(self, start: int, edit: Edit) -> int:
        """How far behind the beginning of a group of keys its figure is."""
        indent = " " * (edit.at.column - 1)
        for most in (_NEAR, len(self.text)):
            loader = _LOADER(indent + self.text[start : start + most])
            with suppress(yaml.YAMLError, StopIteration):
                return _find(_events(loader), edit.keys) - len(indent)
        raise _Elsewhere("it cannot be read by itself")


def _events(loader: Any) -> Iterator[Any]:
    while loader.check_event():
        event = loader.get_event()
        if not isinstance(event, yaml.StreamStartEvent | yaml.DocumentStartEvent):
            yield event


def _find(events: Iterator[Any], keys: Steps) -> int:
    """The place of the figure under these keys."""
    event = next(events)
    if getattr(event, "anchor", None) is not None:
        raise _Elsewhere(_SHARED)
    if not keys:
        if not isinstance(event, yaml.ScalarEvent) or event.style:
            raise _Elsewhere("it is no plain figure")
        place: int = event.start_mark.index  # type: ignore[union-attr]
        return place
    first, *others = keys
    if isinstance(first, int):
        for _ in range(first):
            _pass_over(events, next(events))
        return _find(events, tuple(others))
    while isinstance(key := next(events), yaml.ScalarEvent):
        if key.value == first:
            return _find(events, tuple(others))
        _pass_over(events, next(events))
    raise _Elsewhere(f'it has no "{first}"')


def _pass_over(events: Iterator[Any], event: Any) -> None:
    """Go past a value, however much is in it."""
    depth = _depth(event)
    while depth:
        depth += _depth(next(events))


def _depth(event: Any) -> int:
    if isinstance(event, yaml.CollectionStartEvent):
        return 1
    return -isinstance(event, yaml.CollectionEndEvent)


def patched(text: str, edits: Iterable[Edit]) -> str:
    """The text of one file with its new figures.

    Args:
        text: as it is in the file, with its byte order mark and its ends of lines.
        edits: each for a place in this file; the same one may be there twice.

    Raises:
        CatalogueError: a figure is not where it was read, or shared with other places.
    """
    places, problems = _TextPlaces(text), []
    spans: dict[tuple[int, int], str] = {}
    for edit in edits:
        try:
            start, end = places.figure(edit)
            new = _as_written(edit.new, places.text[start:end], edit.decimals)
            if spans.setdefault((start, end), new) != new:
                raise _Elsewhere("it is shared by options that are to differ")
        except _Elsewhere as error:
            hint = "change it by hand, or write it out as a figure of its own"
            said = f"this amount cannot be replaced: {error}"
            problems.append(Problem(edit.at, said, "not-replaced", hint))
    if problems:
        raise CatalogueError(problems)
    parts, done = [], 0
    for (start, end), new in sorted(spans.items()):
        begin = places.in_file(start)
        parts += [text[done:begin], new]
        done = begin + end - start
    return "".join([*parts, text[done:]])


def _as_written(number: Decimal, old: str, decimals: int) -> str:
    """A figure as its neighbour was written: with as many decimals, or more where it needs them.

    Args:
        number: the figure.
        old: what it takes the place of.
        decimals: as many as an amount with a fraction has at least.
    """
    plain = number.normalize()
    needed = max(0, -int(plain.as_tuple().exponent))
    kept = len(old.partition(".")[2])
    return f"{plain:.{max(needed, kept, decimals if needed else 0)}f}"
