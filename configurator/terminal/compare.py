"""A comparison as a terminal shows it: up to six selections in a hundred columns."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from configurator.money import Money
from configurator.report.comparison import Comparison, bars_of
from configurator.terminal.common import new_console
from configurator.terminal.tables import new_bars, new_grid, new_table
from configurator.words import amount, letter, plain, signed_amount, signed_plain

__all__ = ["show_comparison"]

_SIDE_BY_SIDE = 3
"""With more columns than these, what they have is listed answer by answer."""


def show_comparison(comparison: Comparison) -> None:
    """Who is who, then differences, then where the money goes."""
    out = new_console()
    columns = comparison.columns
    currency = columns[0].price.currency
    heads = new_table("", f"{currency} including {columns[0].price.tax_name}", "", numbers=2)
    for index, (column, difference) in enumerate(zip(columns, comparison.differences, strict=True)):
        total = f"{'from ' * column.price.is_from}{amount(column.price.total)}"
        told = signed_amount(difference) if index else ""
        stopped = "\n   cannot be quoted as it is" if column.stops else ""
        heads.add_row(f"{letter(index)}  {column.title}{stopped}", total, told)
    out.print(heads)
    out.print()
    _show_stops(out, comparison)
    _show_choices(out, comparison)
    _show_besides(out, comparison)
    _show_sums(out, comparison, currency)
    _show_bars(out, comparison, currency)


def _show_stops(out: Console, comparison: Comparison) -> None:
    """Why a selection cannot be quoted, before anything that may be read as an offer."""
    for index, column in enumerate(comparison.columns):
        for sentence in column.stops:
            out.print(f"{letter(index)} cannot be quoted: {sentence}.")
    if any(column.stops for column in comparison.columns):
        out.print()


def _show_choices(out: Console, comparison: Comparison) -> None:
    letters = [letter(index) for index in range(len(comparison.columns))]
    differing = [row for row in comparison.choices if row.differs]
    same = [row.title for row in comparison.choices if not row.differs]
    if not differing:
        out.print("They have the same.")
    elif len(letters) <= _SIDE_BY_SIDE:
        table = new_table("Where they differ", *letters)
        for group, rows in comparison.differing:
            table.add_row(Text(group, style="bold"), *("" for _ in letters))
            for row in rows:
                cells = [
                    f"{', '.join(has)}\n{amount(money)}" if has else "-"
                    for has, money in zip(row.has, row.amounts, strict=True)
                ]
                table.add_row(f"  {row.title}", *cells, end_section=True)
        out.print(table)
    else:
        out.print(Text("Where they differ", style="bold"))
        for row in differing:
            out.print(f"{row.group}: {row.title}" if row.group != row.title else row.title)
            out.print(Padding(_answers(row.answers, row.amounts[0]), (0, 0, 1, 2)))
    if same:
        out.print(f"The same in all: {', '.join(same)}")
    out.print()


def _answers(
    answers: Sequence[tuple[tuple[int, ...], tuple[str, ...], Money | None]], first: Money | None
) -> Table:
    """Each different answer with who gives it, what it costs, and the difference to A."""
    rows = new_grid(texts=2, figures=2, least=12)
    for who, has, money in answers:
        difference = ""
        if first is not None and money is not None and 0 not in who:
            difference = signed_amount(money - first)
        shown = amount(money) if has else ""
        letters = " ".join(letter(index) for index in who)
        rows.add_row(letters, ", ".join(has) or "nothing", shown, difference)
    return rows


def _show_besides(out: Console, comparison: Comparison) -> None:
    for index, besides in enumerate(comparison.besides):
        if not index:
            continue
        for word, titles in (("has besides A", besides.has), ("lacks of A", besides.lacks)):
            if titles:
                out.print(f"{letter(index)} {word}: {', '.join(titles)}")
    out.print()


def _show_sums(out: Console, comparison: Comparison, currency: str) -> None:
    columns = comparison.columns
    letters = [letter(index) for index in range(len(columns))]
    sums = new_table(currency, *letters, numbers=len(columns))
    for title, amounts in comparison.money:
        sums.add_row(title, *map(amount, amounts))
    sums.add_section()
    totals = [amount(column.price.total) for column in columns]
    name = f"{'From, ' if any(c.price.is_from for c in columns) else 'Total '}including "
    sums.add_row(Text(f"{name}{columns[0].price.tax_name}", style="bold"), *totals)
    sums.add_row("Difference to A", "", *map(signed_amount, comparison.differences[1:]))
    sums.add_section()
    for figure in comparison.figures:
        cells = [
            _figure(value, difference, index)
            for index, (value, difference) in enumerate(
                zip(figure.values, figure.differences, strict=True)
            )
        ]
        sums.add_row(f"{figure.title}, {figure.unit}", *cells)
    out.print(sums)
    out.print()


def _figure(value: Decimal | None, difference: Decimal | None, index: int) -> str:
    if value is None:
        return "-"
    told = f"\n{signed_plain(difference)}" if index and difference else ""
    return plain(value) + told


def _show_bars(out: Console, comparison: Comparison, currency: str) -> None:
    """Where the money goes: a bar for each group and each amount that some selection has in it."""
    money = comparison.money
    largest = max((abs(a.amount) for _, amounts in money for a in amounts), default=Decimal(0))
    if not largest:
        return
    out.print(Text(f"Where the money goes, {currency}", style="bold"))
    shown = [
        ("" if index else title, letters, amount(one), one.amount)
        for title, amounts in money
        for index, (letters, one) in enumerate(bars_of(amounts))
    ]
    rows, most = new_bars([row[:3] for row in shown], out.width, 48)
    for title, letters, told, number in shown:
        length = int(most * abs(number) / largest)
        bar = ("░" if number < 0 else "█") * length or ("▏" if number and most else "")
        rows.add_row(title, letters, bar, told)
    out.print(rows)
    if most and any(a.amount < 0 for _, amounts in money for a in amounts):
        out.print("Hollow bars are taken off.")
