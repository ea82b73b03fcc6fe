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
from itertools import zip_longest
from typing import Any, NamedTuple

import click
from rich.cells import cell_len, chop_cells

from configurator.findings import Finding
from configurator.money import Money
from configurator.render.control import visible
from configurator.report.model import Block, Cell, Chart, Paragraph, Report, Table, Value
from configurator.words import amount, plain

_WIDEST = 100
_INDENT = 4
_INSIDE = 2
"""How far the first cell of a row below a title is set in."""

_STYLES: dict[str, dict[str, Any]] = {
    "stop": {"fg": "red", "bold": True},
    "caution": {"fg": "yellow"},
    "note": {"dim": True},
    "strong": {"bold": True},
    "faint": {"dim": True},
    "alarm": {"fg": "red", "bold": True},
    "": {},
}
_LEAST = 12
"""Columns that a text is given at least, where it is not shorter."""

_EASY = 40
"""Columns in which a text is read with ease; a longer one is given no more room than that."""

_WIDE = 10_000
"""Columns that nothing takes."""

_FIGURE = re.compile(r"\S*[0-9]\.[0-9]\S*")

_APART = 12
"""Width of the columns of tables without heads at least, so that those below each other line up."""

_LABEL, _BAR, _SHORTEST_BAR = 34, 45, 8
"""Columns that what stands before a bar is given at most, and that a bar is given."""


_WORD = re.compile("[^\\S\xa0]*[\\S\xa0]+[^\\S\xa0]*")
"""A word with the blanks around it; a no-break space is part of it."""


class _StyledWords(NamedTuple):
    """Words of one look, every line of them set in."""

    text: str
    look: str = ""
    inset: int = 0

    @property
    def lines(self) -> list[str]:
        """As they are, each line with the room before it."""
        return [" " * self.inset + line for line in self.text.splitlines()]

    def folded(self, room: int) -> list[str]:
        """Their lines in so many columns, folded where there is a blank, and none at their ends."""
        before, inside = " " * self.inset, room - self.inset
        parts = (part for line in self.text.split("\n") for part in _folded(line, inside))
        return [(before + part).rstrip() for part in parts]

    def written(self, room: int) -> Iterator[str]:
        """The same in their look."""
        return (_styled(line, self.look) for line in self.folded(room))


def _words(text: str, look: str = "", inset: int = 0) -> _StyledWords:
    """Words with their control characters made visible, before they are measured."""
    return _StyledWords(visible(text).expandtabs(8), look, inset)


def _folded(line: str, room: int) -> Iterator[str]:
    made, taken = "", 0
    for word in _WORD.findall(line) if cell_len(line) > room else ():
        if taken + (length := cell_len(word.rstrip())) <= room:
            made, taken = made + word, taken + cell_len(word)
            continue
        if made:
            yield made[: len(made) - max(taken - room, 0)]
        *whole, made = chop_cells(word, room) if length > room else [word]
        yield from whole
        taken = cell_len(made)
    yield made[: len(made) - max(taken - room, 0)] or line


def _styled(line: str, look: str, width: int = 0, right: bool = False) -> str:
    """A line in its look, filled up with blanks to a width."""
    room = " " * (width - cell_len(line))
    told = click.style(line, **_STYLES[look]) if look and line else line
    return room + told if right else told + room


def show(report: Report, err: bool = False) -> None:
    """Write a report: as wide as the terminal, or 100 columns where none is.

    Args:
        report: the report.
        err: whether to standard error, as what is said beside an answer is.
    """
    known = (sys.stderr if err else sys.stdout).isatty() or "COLUMNS" in os.environ
    width = _WIDEST
    if known:
        import shutil  # which takes 2 ms, and nobody needs it in a pipe

        width = shutil.get_terminal_size().columns
    sections = [
        "".join(f"{line}\n" for part in parts for line in _rendered(part, width))
        for parts in report
        if parts
    ]
    plainly = "NO_COLOR" in os.environ or os.environ.get("TERM") in ("dumb", "unknown")
    stream = getattr(sys.stdout, "rich_proxied_file", sys.stdout)
    file = None if err else stream
    click.echo("\n".join(sections), file, nl=False, err=err, color=False if plainly else None)


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


def _rendered(part: Block, room: int) -> Iterator[str]:
    match part:
        case Table():
            yield from _table(part).lines(room)
        case Paragraph():
            words = _words(part.words, part.look, _INDENT * part.depth)
            yield from words.written(room)
        case Finding():
            level, stop = f"{part.level}: ", "." * (not part.sentence.endswith("."))
            first, *others = _words(f"{level}{part.sentence}{stop}").folded(room)
            yield _styled(first[: len(level)], part.level) + first[len(level) :]
            yield from others
            for more in (part.reason, part.hint and f"hint: {part.hint}"):
                if more:
                    yield from _words(more, inset=_INDENT).written(room)
        case Chart():
            yield from _chart(part, room)


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


def _table(table: Table) -> _Grid:
    """The table, without what only paper has; how many of a thing are before it, how much after."""
    counts = [n for n, column in enumerate(table.columns) if column.kind == "count"]
    shown = [n for n, c in enumerate(table.columns) if n not in counts and not c.on_paper]
    columns = [table.columns[n] for n in shown]
    figures = sum(column.kind == "figure" for column in columns)
    grid = _Grid(
        [_TextColumn(visible(c.title), c.kind == "figure") for c in columns],
        figures,
        heads=table.heads,
        widest=len(columns) - figures - 1 if table.wide else None,
        ruled=not table.wide,
    )
    named = shown.index(table.naming)
    for body in table.bodies:
        if body.title:
            grid.add(_words(body.title, "strong"), *[_StyledWords("")] * (len(columns) - 1))
        for row in body.rows:
            many = [row.cells[n].value for n in counts]
            cells = [
                _cell(row.cells[n], row.kind, many if place == named else ())
                for place, n in enumerate(shown)
            ]
            if body.title and not row.kind:
                cells[0] = cells[0]._replace(inset=_INSIDE)
            grid.add(*cells)
            if table.apart:
                grid.end_section()
        grid.end_section()
    return grid


def _cell(cell: Cell, kind: str, many: Iterable[Value] = ()) -> _StyledWords:
    words = _written(cell.value)
    for one in many:
        if one and isinstance(one, str):
            words = f"{words}, {one}"
        elif isinstance(one, int | Decimal) and one > 1:
            words = f"{plain(one)} × {words}"
    if cell.more:
        words += f" ({'; '.join(cell.more)})"
    return _words("\n".join((words, *cell.below)), cell.look or ("strong" if kind else ""))


class _TextColumn(NamedTuple):
    """A column of a terminal's table.

    Attributes:
        title: its head.
        right: whether its cells end below each other.
        most: columns of the terminal that it is given at most.
    """

    title: str = ""
    right: bool = False
    most: int = _WIDE


class _Grid:
    """Rows of words in columns, the last of which, ``figures`` of them, are figures.

    Args:
        columns: from the left.
        figures: how many of them are figures.
        heads: whether they have heads.
        widest: the column that takes what room there is, if any.
        ruled: whether heads and sections are set apart from what follows.
    """

    def __init__(
        self,
        columns: Sequence[_TextColumn],
        figures: int,
        *,
        heads: bool = False,
        widest: int | None = None,
        ruled: bool = False,
    ) -> None:
        self.columns, self.figures, self.heads = columns, figures, heads
        self.widest, self.ruled, self.between = widest, ruled, " " * (3 if ruled else 2)
        self.rows: list[Sequence[_StyledWords]] = []
        self.ends: set[int] = set()

    def add(self, *cells: _StyledWords) -> None:
        """Another row."""
        self.rows.append(cells)

    def end_section(self) -> None:
        """Set what comes next apart from the last row."""
        self.ends.add(len(self.rows))

    def lines(self, room: int) -> Iterator[str]:
        """The table as it is where there is room; narrower, or as lines, where there is not."""
        wanted = [
            min(max(self._longest(n, str.splitlines), self._apart(n)), column.most)
            for n, column in enumerate(self.columns)
        ]
        room_inside = room - len(self.between) * (len(wanted) - 1)
        widths = wanted if sum(wanted) <= room_inside else self._shared(wanted, room_inside)
        if widths is None:
            yield from self._as_lines(room)
            return
        if self.widest is not None:
            widths[self.widest] += room_inside - sum(widths)
        whole = sum(widths) + room - room_inside
        if self.heads:
            pairs = zip(self.columns, widths, strict=True)
            heads = [_StyledWords(column.title).folded(width) for column, width in pairs]
            most = max(map(len, heads))
            lowered = ["\n" * (most - len(lines)) + "\n".join(lines) for lines in heads]
            yield from self._row([_StyledWords(lines, "strong") for lines in lowered], widths)
            if self.ruled:
                yield "─" * whole
        for n, cells in enumerate(self.rows, 1):
            yield from self._row(cells, widths)
            if self.ruled and n in self.ends and n < len(self.rows):
                yield ""

    def _apart(self, index: int) -> int:
        return 0 if self.widest in (None, index) else _APART

    def _row(self, cells: Sequence[_StyledWords], widths: Sequence[int]) -> Iterator[str]:
        folded = [cell.folded(width) for cell, width in zip(cells, widths, strict=True)]
        for parts in zip_longest(*folded, fillvalue=""):
            told = zip(parts, cells, widths, self.columns, strict=True)
            yield self.between.join(
                _styled(part, cell.look, width, column.right) for part, cell, width, column in told
            ).rstrip()

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
            words = self._longest(index, str.split, cells=False)
            return max(words, self._longest(index, str.splitlines, heads=False))
        return max(min(wanted, _LEAST), self._longest(index, _FIGURE.findall, heads=False))

    def _longest(
        self,
        index: int,
        parts: Callable[[str], Sequence[str]],
        heads: bool = True,
        cells: bool = True,
    ) -> int:
        """The length of the longest part of the texts of a column."""
        texts = [self.columns[index].title] if heads and self.heads else []
        if cells:
            texts += [line for row in self.rows for line in row[index].lines]
        return max((cell_len(part) for text in texts for part in parts(text)), default=0)

    def _as_lines(self, room: int) -> Iterator[str]:
        heads = [column.title if self.heads else "" for column in self.columns]
        if heads[0] and len(heads) > self.figures:
            yield from _StyledWords(heads[0]).written(room)
        for cells in self.rows:
            for index, (head, cell) in enumerate(zip(heads, cells, strict=True)):
                for line in cell.lines:
                    told = f"{head}: {line}" if head and index else line
                    words = told.lstrip()
                    beside = _INDENT if index else len(told) - len(words)
                    yield from _StyledWords(words, cell.look, beside).written(room)


def _chart(chart: Chart, room: int) -> Iterator[str]:
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
    below = [] if limit is None else [("", *[""] * grouped, f"limit {amount(limit)}")]
    most = _bar_length([*beside, *below], room)
    last = max(most - 1, 0)

    def place(reached: Decimal) -> int:
        return max(int(last * reached / chart.longest), 0)

    mark = place(limit.amount) if limit is not None and most else None
    drawn = []
    for _, bar in rows:
        low, high = place(bar.low), place(bar.high)
        fill = "░" if bar.hollow else "█"
        cells = [fill if bar.amount and low <= n < max(high, low + 1) else " " for n in range(most)]
        if mark is not None and cells[mark] == " ":
            cells[mark] = "│"
        drawn.append("".join(cells))
    drawn += ["" if mark is None else f"{'┴':>{mark + 1}}" for _ in below]
    grid = _Grid(
        [_TextColumn(most=_LABEL), *[_TextColumn()] * (1 + grouped), _TextColumn(right=True)], 2
    )
    for told, line in zip([*beside, *below], drawn, strict=True):
        grid.add(*map(_words, told[:-1]), _StyledWords(line), _words(told[-1]))
    yield from _words(chart.title, "strong").written(room)
    yield from grid.lines(room)
    if most and chart.note:
        yield from _words(chart.note).written(room)


def _bar_length(rows: Sequence[tuple[str, ...]], room: int) -> int:
    """How long a bar may be between texts and amounts; 0 where that is too little.

    Args:
        rows: what is next to each bar: texts, then an amount.
        room: columns of the terminal.
    """
    beside = [max(cell_len(row[n]) for row in rows) for n in range(len(rows[0]))]
    length = min(_BAR, room - min(beside[0], _LABEL) - sum(beside[1:]) - len(beside))
    return length if length >= _SHORTEST_BAR else 0
