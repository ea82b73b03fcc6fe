"""Reports as a terminal shows them: plain sentences and tables, readable without colour.

Tables never cut a figure, however narrow the terminal. Text gives way first: it is folded into more
lines. Where even that leaves no room, each row is written as lines of its own, text first and each
figure below it after the head of its column.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.segment import Segment
from rich.table import Table as Grid
from rich.text import Text

from configurator.findings import Finding
from configurator.money import Money
from configurator.render.control import visible
from configurator.report.model import (
    ALARM,
    FAINT,
    STRONG,
    Block,
    Cell,
    Chart,
    Column,
    Paragraph,
    Report,
    Table,
    Value,
)
from configurator.words import amount, plain

_WIDEST = 100
_INDENT = 4
_INSIDE = (0, 0, 0, 2)
"""Room around the first cell of a row below a title: every line of it is indented."""

_STYLES = {
    "stop": "bold red",
    "caution": "yellow",
    "note": "dim",
    STRONG: "bold",
    FAINT: "dim",
    ALARM: "bold red",
    "": "",
}
_LEAST = 12
"""Columns that a text is given at least, where it is not shorter."""

_EASY = 40
"""Columns in which a text is read with ease; a longer one is given no more room than that."""

_WIDE = 10_000
"""A width in which every table has room."""

_FIGURE = re.compile(r"\S*[0-9]\.[0-9]\S*")

_APART = 12
"""Width of the columns of tables without heads at least, so that those below each other line up."""

_LABEL, _BAR, _SHORTEST_BAR = 34, 45, 8
"""Columns that what stands before a bar is given at most, and that a bar is given."""


class _Plain(Console):
    """A console that shows words as they are, and says when nobody reads them."""

    def render_str(self, text: str, **more: Any) -> Text:
        """Words whose control characters are made visible before a table is measured."""
        return super().render_str(visible(text), **more)

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterator[Segment]:
        """Parts of lines; here too the control characters of words are made visible."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else segment._replace(text=visible(segment.text))

    def on_broken_pipe(self) -> None:
        """Leave it to the command line how to end."""
        raise BrokenPipeError


def show(report: Report) -> None:
    """Write a report to standard output: as wide as the terminal, or 100 columns where none is."""
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _WIDEST
    out = _Plain(width=width, highlight=False, soft_wrap=False, markup=False, emoji=False)
    begun = False
    for parts in report:
        if parts and begun:
            out.print()
        begun = begun or bool(parts)
        for part in parts:
            for line in _rendered(part, out.width):
                out.print(line)


@contextmanager
def progress(count: int) -> Iterator[Callable[[], None]]:
    """A bar on standard error while jobs are done, where that is a terminal; call it after each."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("Quotes", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True, auto_refresh=False)
    with bar:
        task = bar.add_task("", total=count)
        yield lambda: bar.update(task, advance=1, refresh=True)


def _rendered(part: Block, width: int) -> Iterator[RenderableType]:
    match part:
        case Table():
            yield _table(part)
        case Paragraph():
            text = Text(visible(part.words), style=_STYLES[part.look])
            indent = _INDENT * part.depth
            yield Padding(text, (0, 0, 0, indent), expand=False) if indent else text
        case Finding():
            sentence = part.sentence + "." * (not part.sentence.endswith("."))
            yield Text(f"{part.level}: ", style=_STYLES[part.level]).append(
                sentence, style="default"
            )
            for more in (part.reason, part.hint and f"hint: {part.hint}"):
                if more:
                    yield Padding(Text(more), (0, 0, 0, _INDENT), expand=False)
        case Chart():
            yield from _chart(part, width)


def _written(value: Value) -> str:
    match value:
        case None:
            return ""
        case str():
            return value
        case Money():
            return amount(value)
        case _:
            return plain(value)


def _table(table: Table) -> Grid:
    """The table, without what only paper has; how many of a thing are before it, how much after."""
    counts = [n for n, column in enumerate(table.columns) if column.kind == "count"]
    shown = [n for n, c in enumerate(table.columns) if n not in counts and not c.on_paper]
    columns = [table.columns[n] for n in shown]
    grid = _Figures(
        box=None if table.wide else SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
        show_header=table.heads,
        expand=table.wide,
    )
    for column in columns:
        grid.add(
            column, table.wide and column is columns[sum(c.kind != "figure" for c in columns) - 1]
        )
    named = shown.index(table.naming)
    for body in table.bodies:
        if body.title:
            grid.add_row(Text(visible(body.title), style="bold"), *[""] * (len(columns) - 1))
        for row in body.rows:
            many = [row.cells[n].value for n in counts]
            cells = [
                _cell(row.cells[n], row.kind, many if place == named else ())
                for place, n in enumerate(shown)
            ]
            first = Padding(cells[0], _INSIDE) if body.title and not row.kind else cells[0]
            grid.add_row(first, *cells[1:], end_section=table.apart)
        grid.add_section()
    return grid


def _cell(cell: Cell, kind: str, many: Iterable[Value] = ()) -> Text:
    words = _written(cell.value)
    for one in many:
        if one and isinstance(one, str):
            words = f"{words}, {one}"
        elif isinstance(one, int | Decimal) and one > 1:
            words = f"{plain(one)} x {words}"
    if cell.more:
        words += f" ({'; '.join(cell.more)})"
    words = visible("\n".join((words, *cell.below)))
    style = _STYLES[cell.look or (STRONG if kind else "")]
    return Text(words, style=style)


class _Figures(Grid):
    """A table whose last columns, ``figures`` of them, are figures."""

    figures = 0

    def add(self, column: Column, widest: bool) -> None:
        """Another column; the widest takes what room there is."""
        is_figure = column.kind == "figure"
        self.figures += is_figure
        self.add_column(
            column.title,
            justify="right" if is_figure else "left",
            no_wrap=is_figure or (self.expand and not widest),
            overflow="fold",
            ratio=1 if widest else None,
            min_width=_APART if self.expand and not widest else None,
        )

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
                    words = told.lstrip()
                    beside = _INDENT if index else len(told) - len(words)
                    yield Padding(Text(words, style=_style(cell)), (0, 0, 0, beside), expand=False)


def _chart(chart: Chart, width: int) -> Iterator[RenderableType]:
    """Bars from where they begin to where they end; the limit is a line across them."""
    if chart.longest <= 0:
        return
    grouped = any(title for title, _ in chart.groups)
    rows = [
        (("" if n else title,) if grouped else (), bar)
        for title, bars in chart.groups
        for n, bar in enumerate(bars)
    ]
    beside = [(*first, bar.label, amount(bar.amount)) for first, bar in rows]
    limit = chart.limit
    below = [] if limit is None else [("", f"limit {amount(limit)}")]
    grid, most = _bars([*beside, *below], width)
    last = max(most - 1, 0)

    def place(reached: Decimal) -> int:
        return max(int(last * reached / chart.longest), 0)

    mark = place(limit.amount) if limit is not None and most else None
    yield Text(chart.title, style="bold")
    for (_, bar), told in zip(rows, beside, strict=True):
        low, high = place(bar.low), place(bar.high)
        fill = "░" if bar.hollow else "█"
        cells = [fill if bar.amount and low <= n < max(high, low + 1) else " " for n in range(most)]
        if mark is not None and cells[mark] == " ":
            cells[mark] = "│"
        grid.add_row(*told[:-1], "".join(cells), told[-1])
    for label, told_limit in below:
        grid.add_row(label, "" if mark is None else f"{'┴':>{mark + 1}}", told_limit)
    yield grid
    if most and chart.note:
        yield Text(chart.note)


def _bars(rows: Sequence[tuple[str, ...]], room: int) -> tuple[Grid, int]:
    """A table of bars between texts and amounts, to be filled in, and how long a bar may be.

    Args:
        rows: what is next to each bar: texts, then an amount.
        room: columns of the terminal; where they leave too little, a bar has the length 0.
    """
    grid = _Figures(box=None, show_header=False, pad_edge=False)
    grid.figures = 2
    beside = [max(cell_len(row[n]) for row in rows) for n in range(len(rows[0]))]
    label = min(beside[0], _LABEL)
    grid.add_column(max_width=label, overflow="fold")
    for _ in beside[1:]:
        grid.add_column(no_wrap=True)
    grid.add_column(justify="right", no_wrap=True)
    length = min(_BAR, room - label - sum(beside[1:]) - len(beside))
    return grid, length if length >= _SHORTEST_BAR else 0


def _plain(text: Any) -> str:
    if isinstance(text, Padding):
        return "\n".join(" " * text.left + line for line in _plain(text.renderable).splitlines())
    return text.plain if isinstance(text, Text) else str(text)


def _style(text: Any) -> Any:
    text = text.renderable if isinstance(text, Padding) else text
    return text.style if isinstance(text, Text) else ""
