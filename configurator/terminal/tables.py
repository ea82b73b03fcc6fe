"""Tables that never cut a figure, however narrow the terminal.

Text gives way first: it is folded into more lines. Where even that leaves no room, each row is
written as lines of its own, text first and each figure below it after the head of its column.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

__all__ = ["new_bars", "new_grid", "new_table"]

_LEAST = 12
"""Columns that a text is given at least, where it is not shorter."""

_LABEL = 34
"""Columns that what stands before a bar is given at most; it is folded."""

_SHORTEST_BAR = 8

_EASY = 40
"""Columns in which a text is read with ease; a longer one is given no more room than that."""

_WIDE = 10_000
"""A width in which every table has room."""

_FIGURE = re.compile(r"\S*[0-9]\.[0-9]\S*")


class _Figures(Table):
    """A table whose last columns, ``figures`` of them, are figures."""

    figures = 0

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table as it is where there is room; narrower, or as lines, where there is not."""
        natural = Measurement.get(console, options.update(max_width=_WIDE), self).maximum
        if natural <= options.max_width:
            yield from super().__rich_console__(console, options)
            return
        wanted = [
            min(
                max(self._longest(index, str.splitlines), column.min_width or 0),
                column.max_width or _WIDE,
            )
            for index, column in enumerate(self.columns)
        ]
        widths = self._shared(wanted, options.max_width - natural + sum(wanted))
        if widths is None:
            yield from self._as_lines()
            return
        for column, width in zip(self.columns, widths, strict=True):
            column.width, column.min_width, column.no_wrap = width, None, False
        yield from super().__rich_console__(console, options)

    def _shared(self, wanted: Sequence[int], room: int) -> list[int] | None:
        """The width of each column; None where not even what may not be cut has room."""
        widths = [self._least(index, most) for index, most in enumerate(wanted)]
        left = room - sum(widths)
        if left < 0:
            return None
        while left:
            short = [index for index, most in enumerate(wanted) if widths[index] < most]
            if not short:
                break
            widths[max(short, key=lambda index: min(wanted[index], _EASY) / widths[index])] += 1
            left -= 1
        return widths

    def _least(self, index: int, wanted: int) -> int:
        """The fewest columns in which nothing is cut that may not be."""
        if index >= len(self.columns) - self.figures:
            words = self._longest(index, str.split, heads_only=True)
            return max(words, self._longest(index, str.splitlines, cells_only=True))
        return max(min(wanted, _LEAST), self._longest(index, _FIGURE.findall, cells_only=True))

    def _longest(
        self, index: int, parts: Any, heads_only: bool = False, cells_only: bool = False
    ) -> int:
        """The length of the longest part of the texts of a column."""
        head = [] if cells_only or not self.show_header else [self.columns[index].header]
        cells = [] if heads_only else list(self.columns[index].cells)
        texts = [_plain(text) for text in (*head, *cells)]
        return max((cell_len(part) for text in texts for part in parts(text)), default=0)

    def _as_lines(self) -> Iterator[Any]:
        first = len(self.columns) - self.figures
        heads = [_plain(column.header) if self.show_header else "" for column in self.columns]
        cells = [list(column.cells) for column in self.columns]
        if heads[0] and first:
            yield Text(heads[0])
        for row in zip(*cells, strict=True):
            for index, (head, cell) in enumerate(zip(heads, row, strict=True)):
                for line in _plain(cell).splitlines():
                    told = f"{head}: {line}" if head and index else line
                    beside = 4 if index else 0
                    yield Padding(Text(told, style=_style(cell)), (0, 0, 0, beside), expand=False)


def new_table(*columns: str, numbers: int = 0) -> Table:
    """A table whose last ``numbers`` columns are numbers."""
    table = _Figures(box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
    table.figures = numbers
    for index, column in enumerate(columns):
        is_number = index >= len(columns) - numbers
        table.add_column(
            column, justify="right" if is_number else "left", no_wrap=is_number, overflow="fold"
        )
    return table


def new_grid(texts: int, figures: int, least: int = 0) -> Table:
    """Rows without heads or lines, as wide as the terminal: texts, then figures.

    Args:
        texts: how many columns of text; the last of them takes what room there is.
        figures: how many columns of figures.
        least: width of each other column at least, so that grids below each other line up.
    """
    grid = _Figures(box=None, show_header=False, pad_edge=False, expand=True)
    grid.figures = figures
    for index in range(texts + figures):
        if index == texts - 1:
            grid.add_column(ratio=1, overflow="fold")
        else:
            justify: Any = "left" if index < texts else "right"
            grid.add_column(justify=justify, no_wrap=True, min_width=least or None)
    return grid


def new_bars(rows: Sequence[tuple[str, ...]], room: int, widest: int) -> tuple[Table, int]:
    """A table of bars between texts and amounts, to be filled in, and how long a bar may be.

    Args:
        rows: what stands beside each bar: texts, then an amount.
        room: columns of the terminal.
        widest: the length of a bar where there is room for it; a bar of 0 is left out.
    """
    table = _Figures(box=None, show_header=False, pad_edge=False)
    table.figures = 2
    beside = [
        max((cell_len(row[index]) for row in rows), default=0) for index in range(len(rows[0]))
    ]
    label = min(beside[0], _LABEL)
    table.add_column(max_width=label, overflow="fold")
    for _ in beside[1:-1]:
        table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(justify="right", no_wrap=True)
    length = min(widest, room - label - sum(beside[1:]) - len(beside))
    return table, length if length >= _SHORTEST_BAR else 0


def _plain(text: Any) -> str:
    return text.plain if isinstance(text, Text) else str(text)


def _style(text: Any) -> Any:
    return text.style if isinstance(text, Text) else ""
