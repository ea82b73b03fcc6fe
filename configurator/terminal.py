"""Answers as a terminal shows them: plain sentences and tables, readable without colour."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from configurator.pricing import Line, Price, option_price
from configurator.selection import Selection
from configurator.words import amount, amount_with_currency, plain, signed_amount

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue, Choice, Option
    from configurator.check import Check, Finding
    from configurator.compare import Comparison
    from configurator.demo import DemoPaper
    from configurator.suggestions import Suggestion
    from configurator.totals import LimitState

__all__ = [
    "show_check",
    "show_choices",
    "show_comparison",
    "show_demo",
    "show_options",
    "show_price",
]

_WIDEST = 100
_STYLES = {"stop": "bold red", "caution": "yellow", "note": "dim"}


def _console() -> Console:
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _WIDEST
    return Console(width=width, highlight=False, soft_wrap=False)


def _table(*columns: str, numbers: int = 0) -> Table:
    """A table whose last ``numbers`` columns are numbers."""
    table = Table(box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for index, column in enumerate(columns):
        is_number = index >= len(columns) - numbers
        table.add_column(
            column, justify="right" if is_number else "left", no_wrap=is_number, overflow="fold"
        )
    return table


def show_check(checked: Check) -> None:
    """The findings, then how the limits stand."""
    console = _console()
    stops = len(checked.stops)
    if stops:
        console.print(
            f"{stops} finding{'s' if stops > 1 else ''} stop{'' if stops > 1 else 's'} a quote"
        )
    else:
        console.print("Nothing stops a quote.")
    for finding in checked.findings:
        _show_finding(console, finding)
    if checked.limits:
        table = _table("Limit", "used", "there", "left", "", numbers=4)
        table.columns[-1].justify = "left"
        for state in checked.limits:
            table.add_row(
                state.limit.title,
                plain(state.used),
                plain(state.given),
                plain(state.left),
                state.limit.unit,
            )
        console.print()
        console.print(table)


def _show_finding(console: Console, finding: Finding) -> None:
    console.print()
    line = Text(f"{finding.level}: ", style=_STYLES[finding.level])
    line.append(finding.sentence + "." * (not finding.sentence.endswith(".")), style="default")
    console.print(line)
    if finding.reason:
        console.print(Padding(Text(finding.reason), (0, 0, 0, 4), expand=False))
    if finding.hint:
        console.print(Padding(Text(f"hint: {finding.hint}"), (0, 0, 0, 4), expand=False))


def show_price(priced: Price, suggested: Sequence[Suggestion], catalogue: Catalogue) -> None:
    """The lines by group, what is taken off or put on, tax and total; suggestions apart."""
    console = _console()
    tax = f"{'incl.' if priced.tax_included else 'excl.'} {priced.tax_name}"
    table = _table("Package", "", f"{priced.currency} {tax}", numbers=2)
    for group in priced.groups:
        table.add_row(Text(group.title, style="bold"), "", "")
        for line in group.lines:
            table.add_row(f"  {_line_title(line)}", "", amount(line.amount))
        table.add_row("", "", Text(amount(group.subtotal), style="bold"), end_section=True)
    for deal in priced.deals:
        table.add_row(f"Package deal: {deal.title}", "", amount(-deal.saving))
    for adjustment in priced.adjustments:
        table.add_row(f"{adjustment.title} ({adjustment.reason})", "", amount(adjustment.amount))
    if not priced.tax_included:
        table.add_row("Before tax", "", amount(priced.tax.before))
        table.add_row(priced.tax_name, "", amount(priced.tax.tax))
    start = "From, including" if priced.is_from else "Total including"
    table.add_row(
        Text(f"{start} {priced.tax_name}", style="bold"),
        "",
        Text(amount(priced.total), style="bold"),
    )
    if priced.tax_included:
        table.add_row(f"of which {priced.tax_name}", "", amount(priced.tax.tax))
    console.print(table)
    for title in priced.open:
        console.print(f"Still without a price: {title}")
    if priced.undecided:
        titles = ", ".join(catalogue.by_id[choice].title for choice in priced.undecided)
        console.print(f"Still to be chosen: {titles}")
    if suggested:
        console.print()
        extras = _table("Suggested besides, not in the total", "why", priced.currency, numbers=1)
        for s in suggested:
            extras.add_row(s.line.title, s.because, amount(s.line.each))
        console.print(extras)


def _line_title(line: Line) -> str:
    many = f"{line.quantity} x " if line.quantity > 1 else ""
    told = [line.why_open] if line.why_open else list(line.notes)
    return f"{many}{line.title}" + (f" ({'; '.join(told)})" if told else "")


def show_comparison(comparison: Comparison) -> None:
    """Differences first, then groups, then totals."""
    console = _console()
    columns = comparison.columns
    table = _table("", *(column.title for column in columns))
    for row in comparison.choices:
        if row.differs:
            cells = [
                f"{', '.join(has) or '-'}\n{amount(money)}" if has else "-"
                for has, money in zip(row.has, row.amounts, strict=True)
            ]
            table.add_row(row.title, *cells, end_section=True)
    console.print(table)
    same = [row.title for row in comparison.choices if not row.differs]
    if same:
        console.print(f"The same in all: {', '.join(same)}")
    console.print()
    currency = columns[0].price.currency
    sums = _table(currency, *(column.title for column in columns), numbers=len(columns))
    for title, amounts in comparison.groups:
        sums.add_row(title, *map(amount, amounts))
    if any(comparison.deals):
        sums.add_row("Package deals", *map(amount, comparison.deals))
    if any(comparison.adjustments):
        sums.add_row("Adjustments", *map(amount, comparison.adjustments))
    sums.add_section()
    totals = [f"{'from ' * c.price.is_from}{amount(c.price.total)}" for c in columns]
    sums.add_row(Text(f"Total including {columns[0].price.tax_name}"), *totals)
    sums.add_row("Difference", *map(signed_amount, comparison.differences))
    masses = ["open" if c.mass is None else f"{plain(c.mass)} kg" for c in columns]
    sums.add_row("Mass of the package", *masses)
    for title, lefts in _limits_left(comparison):
        sums.add_row(title, *lefts)
    console.print(sums)
    for column in columns:
        for sentence in column.stops:
            console.print(f"{column.title} cannot be quoted: {sentence}")


def _limits_left(comparison: Comparison) -> Iterable[tuple[str, list[str]]]:
    known: dict[str, LimitState] = {}
    for column in comparison.columns:
        for state in column.limits:
            if state.used:
                known.setdefault(state.limit.id, state)
    for limit_id, state in known.items():
        by_column = [{s.limit.id: s for s in c.limits} for c in comparison.columns]
        lefts = [plain(s[limit_id].left) if limit_id in s else "open" for s in by_column]
        yield f"{state.limit.title} left, {state.limit.unit}", lefts


def show_choices(choices: Sequence[Choice]) -> None:
    """The choices with their ids."""
    table = _table("id", "choice", "pick", "options", numbers=1)
    for choice in choices:
        table.add_row(
            choice.id, choice.title, choice.pick.replace("-", " "), str(len(choice.options))
        )
    _console().print(table)


def show_options(catalogue: Catalogue, choices: Sequence[Choice]) -> None:
    """The options of choices with their ids and prices."""
    nothing = Selection(catalogue.id)
    for choice in choices:
        table = _table("pick as", choice.title, catalogue.currency, numbers=1)
        for option in choice.options:
            line = option_price(catalogue, nothing, choice, option)
            shown = amount(line.each) if option.price else ""
            table.add_row(f"{choice.id}={option.id}", _titled(option), shown)
        _console().print(table)


def _titled(option: Option) -> str:
    return f"{option.title}: {option.text}" if option.text else option.title


def show_demo(papers: Sequence[DemoPaper]) -> None:
    """What the demo did and where."""
    console = _console()
    for paper in papers:
        if paper.file is None:
            console.print(f"{paper.title}: no quote", style="bold")
        elif paper.price is None:
            console.print(f"{paper.file}: {paper.title}")
        else:
            console.print(f"{paper.file}: {paper.title}, {amount_with_currency(paper.price)}")
        for sentence in paper.told:
            console.print(Padding(Text(sentence), (0, 0, 0, 4), expand=False))
