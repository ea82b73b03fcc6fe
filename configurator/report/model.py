"""The parts that every report is made of; a terminal, a page and a PDF render the same ones.

Words that the program says are messages of :mod:`configurator.words`, so that a page can say them
in another language. Figures are rounded already, by :mod:`configurator.words` or where their
subject is shown, so that all renderings write the same one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Literal, TypeAlias, TypeVar

from attrs import field, frozen

from configurator.findings import Finding
from configurator.money import Money
from configurator.words import shown_unit, text

T = TypeVar("T")

Value: TypeAlias = str | Money | Decimal | int | None
"""What a cell says: words, an amount of money without its currency, a figure, or nothing."""

Emphasis: TypeAlias = Literal["", "strong", "faint", "alarm"]
"""Of a paragraph or a cell: as it is, to be seen at once, less important than others, wrong."""

DASH = "\N{EN DASH}"
"""In place of a figure that there is none of."""


def with_unit(title: str, unit: str) -> str:
    """A title and the unit of its figures, unless it names that itself."""
    if unit in title.lower().split():
        return title
    return text("{title}, {unit}", title=title, unit=shown_unit(unit))


@frozen(eq=False, repr=False)
class Column:
    """A column of a table.

    Attributes:
        title: its head.
        kind: ``text``, the first of which names the row; ``number`` or code of a thing;
            ``figure`` (never cut, its decimals one below the other); ``count`` (how many of what
            the row names; a terminal writes it before the name). Only on paper: ``box`` to be
            ticked where its cell is None, ``share`` of a rating in per cent, drawn as a bar.
        digits: decimals that figures are aligned to on paper.
        name: what the paper's style sheet calls it.
    """

    title: str = ""
    kind: Literal["text", "number", "figure", "count", "box", "share"] = "text"
    digits: int | None = None
    name: str = ""

    @property
    def on_paper(self) -> bool:
        """Whether only a page has it."""
        return self.kind in ("box", "share")


def figure_column(title: str) -> Column:
    """A column of counts or amounts."""
    return Column(title, "figure", name="number")


@frozen(eq=False, repr=False)
class Cell:
    """What is in one place of a table.

    Attributes:
        value: see :data:`Value`.
        more: said of it as well, in smaller letters; in a terminal after it, in brackets.
        below: lines below it.
        note: said of it in addition to where there is room, which is on paper only.
        look: how it stands out.
    """

    value: Value
    more: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    note: str = ""
    look: Emphasis = ""


def _cells(given: Iterable[Cell | Value]) -> tuple[Cell, ...]:
    return tuple(one if isinstance(one, Cell) else Cell(one) for one in given)


@frozen(eq=False, repr=False)
class Row:
    """A row of a table, with a cell for each column.

    Attributes:
        cells: values too, which become cells.
        kind: ``subtotal`` is the sum of a group, ``grand`` of all; empty for any other.
    """

    cells: tuple[Cell, ...] = field(converter=_cells)
    kind: Literal["", "subtotal", "grand"] = ""


@frozen(eq=False, repr=False)
class RowGroup:
    """Rows that belong together, under a title if they have one.

    Attributes:
        rows: from the top.
        title: what they have in common.
        total: what they come to, beside the title in place of a row of its own.
    """

    rows: tuple[Row, ...] = field(converter=tuple[Row, ...])
    title: str = ""
    total: Value = None


@frozen(eq=False, repr=False)
class Table:
    """A table.

    Attributes:
        columns: from the left.
        bodies: from the top.
        heads: whether the columns have heads; without them, a row is a name and its figure.
        name: what the paper's style sheet calls it.
        apart: whether each row stands apart from the next.
        wide: as wide as there is room, so that tables below each other line up.
    """

    columns: tuple[Column, ...]
    bodies: tuple[RowGroup, ...]
    heads: bool = True
    name: str = ""
    apart: bool = False
    wide: bool = False

    @property
    def naming(self) -> int:
        """The place of the column whose cells name their rows."""
        return next((n for n, column in enumerate(self.columns) if column.kind == "text"), 0)

    @property
    def rows(self) -> tuple[Row, ...]:
        """Every row."""
        return tuple(row for body in self.bodies for row in body.rows)


Told: TypeAlias = tuple[Column, Callable[[T], Cell | Value]]
"""A column, and what it says of the thing that a row is about."""


def table_of(
    things: Iterable[T], *columns: Told[T], name: str = "", unknown: Value = None
) -> Table:
    """A table with a row for each thing; ``unknown`` is in place of what is None."""
    return grouped_table([("", things)], *columns, name=name, unknown=unknown)


def grouped_table(
    groups: Iterable[tuple[str, Iterable[T]]],
    *columns: Told[T],
    name: str = "",
    unknown: Value = None,
) -> Table:
    """The same, with the things of each group below its title."""

    def row(thing: T) -> Row:
        told = ((column, tell(thing)) for column, tell in columns)
        return Row(
            unknown if value is None and column.kind != "box" else value for column, value in told
        )

    bodies = tuple(RowGroup(map(row, things), title) for title, things in groups)
    return Table(tuple(column for column, _ in columns), bodies, name=name)


def facts_table(facts: Iterable[Iterable[Value]]) -> Table:
    """What is told, each with its figure."""
    columns = (Column(), Column(kind="figure"))
    return Table(columns, (RowGroup(map(Row, facts)),), heads=False, name="facts")


@frozen(eq=False, repr=False)
class Paragraph:
    """Some sentences.

    Attributes:
        words: what it says.
        look: how it stands out.
        depth: how many times it is indented.
    """

    words: str
    look: Emphasis = ""
    depth: int = 0


@frozen(eq=False, repr=False)
class ChartBar:
    """One bar of a chart.

    Attributes:
        label: what stands before it.
        amount: what it shows, written after it.
        low: where it begins, and
        high: where it ends.
        hollow: not firm, or taken off.
    """

    label: str
    amount: Money
    low: Decimal
    high: Decimal
    hollow: bool = False


@frozen(eq=False, repr=False)
class Chart:
    """Bars of money to one scale.

    Attributes:
        title: what it shows.
        groups: bars under each other, with what they have in common.
        limit: an amount that is marked across all bars.
        note: what is said below it.
    """

    title: str
    groups: tuple[tuple[str, tuple[ChartBar, ...]], ...]
    limit: Money | None = None
    note: str = ""

    @property
    def longest(self) -> Decimal:
        """The amount that takes the whole length."""
        ends = [bar.high for _, bars in self.groups for bar in bars]
        return max(*ends, Decimal(0) if self.limit is None else self.limit.amount, Decimal(0))


Block: TypeAlias = Table | Paragraph | Finding | Chart
Report: TypeAlias = tuple[tuple[Block, ...], ...]
"""Sections, each of which a terminal sets apart by an empty line."""

Command: TypeAlias = Callable[..., str]
"""Writes the command line of a command about what was asked, by its name and what more it gets."""


def command_about_any(name: str, *more: str) -> str:
    """A command about a selection of which nobody knows the file."""
    return " ".join(["configurator", name, "SELECTION", *more])


def to_fix(command: Command, *more: str) -> tuple[Block, ...]:
    """How to ask for fixes."""
    return (
        Paragraph(text("For the best ways to fix this:")),
        Paragraph(command("fixes", *more), depth=1),
    )
