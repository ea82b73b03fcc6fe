"""Answers as a terminal shows them: plain sentences and tables, readable without colour."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console, ConsoleOptions, RenderableType
from rich.padding import Padding
from rich.segment import Segment
from rich.text import Text

from configurator.answers.values import Choices
from configurator.pricing.whole import Line, Price
from configurator.terminal.control import visible
from configurator.terminal.tables import new_table
from configurator.words import amount, amount_with_currency, plain

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue
    from configurator.checking.check import Check, Finding
    from configurator.demo import DemoPaper
    from configurator.suggested import Suggestion

__all__ = [
    "new_console",
    "show_cautions",
    "show_check",
    "show_choices",
    "show_demo",
    "show_finding",
    "show_options",
    "show_price",
]

_WIDEST = 100
_STYLES = {"stop": "bold red", "caution": "yellow", "note": "dim"}


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


def new_console() -> Console:
    """A console as wide as the terminal, or 100 columns where there is none."""
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _WIDEST
    return _Plain(width=width, highlight=False, soft_wrap=False, markup=False, emoji=False)


def show_check(checked: Check) -> None:
    """The findings, then how the limits stand, then what is to be said of all such figures."""
    console = new_console()
    stops = len(checked.stops)
    if stops:
        console.print(
            f"{stops} finding{'s' if stops > 1 else ''} stop{'' if stops > 1 else 's'} a quote"
        )
    else:
        console.print("Nothing stops a quote.")
    for finding in checked.findings:
        show_finding(console, finding)
    if checked.limits:
        table = new_table("Limit", "used", "there", "left", "", numbers=4)
        table.columns[-1].justify = "left"
        for state in checked.limits:
            table.add_row(state.limit.title, *map(plain, state.shown), state.limit.unit)
        console.print()
        console.print(table)
    if checked.beside:
        show_cautions(console, checked.beside)


def show_cautions(console: Console, cautions: Iterable[str]) -> None:
    """What stands beside figures, after an empty line."""
    console.print()
    for caution in cautions:
        console.print(Padding(Text(caution, style="dim"), (0, 0, 0, 0), expand=False))


def show_finding(console: Console, finding: Finding) -> None:
    """A finding with its reason and hint, after an empty line."""
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
    console = new_console()
    tax = f"{'incl.' if priced.tax_included else 'excl.'} {priced.tax_name}"
    table = new_table("Package", f"{priced.currency} {tax}", numbers=1)
    for group in priced.groups:
        table.add_row(Text(group.title, style="bold"), "")
        for line in group.lines:
            table.add_row(f"  {_line_title(priced, line)}", amount(line.amount))
        table.add_row("", Text(amount(group.subtotal), style="bold"), end_section=True)
    for deal in priced.deals:
        table.add_row(f"Package deal: {deal.name}", amount(-deal.saving))
    for adjustment in priced.adjustments:
        table.add_row(f"{adjustment.title} ({adjustment.reason})", amount(adjustment.amount))
    if priced.rounding:
        table.add_row("Rounding", amount(priced.rounding))
    if not priced.tax_included:
        table.add_row("Before tax", amount(priced.tax.before))
        table.add_row(priced.tax_name, amount(priced.tax.tax))
    start = "From, including" if priced.is_from else "Total including"
    table.add_row(
        Text(f"{start} {priced.tax_name}", style="bold"),
        Text(amount(priced.total), style="bold"),
    )
    if priced.tax_included:
        table.add_row(f"of which {priced.tax_name}", amount(priced.tax.tax))
    if len(priced.tax.by_rate) > 1:
        for _, percent, before, part in priced.tax.by_rate:
            words = f"  {priced.tax_name} at {plain(percent)} % on {amount(before)}"
            table.add_row(words, amount(part))
    for title, reason, taken in priced.trade_ins:
        table.add_row(f"Less {title} ({reason})", amount(-taken))
    if priced.trade_ins:
        table.add_row(Text("To pay", style="bold"), Text(amount(priced.to_pay), style="bold"))
    if priced.cash is not None and priced.cash != priced.to_pay:
        table.add_row("To pay where all of it is paid in cash", amount(priced.cash))
    console.print(table)
    for title in priced.open:
        console.print(f"Still without a price: {title}")
    if priced.undecided:
        titles = ", ".join(catalogue.by_id[choice].title for choice in priced.undecided)
        console.print(f"Still to be chosen: {titles}")
    if suggested:
        console.print()
        extras = new_table("Suggested besides, not in the total", "why", priced.currency, numbers=1)
        for s in suggested:
            extras.add_row(s.line.title, s.because, amount(s.line.each))
        console.print(extras)


def _line_title(priced: Price, line: Line) -> str:
    many = f"{line.quantity} x " if line.quantity > 1 else ""
    told = [line.why_open] if line.why_open else list(line.notes)
    percent = priced.own_percent(line)
    if percent is not None:
        told.append(f"{priced.tax_name} at {plain(percent)} %")
    return f"{many}{line.title}" + (f" ({'; '.join(told)})" if told else "")


def show_choices(found: Choices) -> None:
    """The choices with their ids."""
    table = new_table("id", "choice", "pick", "options", numbers=1)
    for choice in found.choices:
        pick, count = choice.pick.replace("-", " "), str(len(choice.options))
        table.add_row(choice.choice, choice.title, pick, count)
    new_console().print(table)


def show_options(found: Choices) -> None:
    """The options of choices with their ids and prices."""
    for choice in found.choices:
        table = new_table("pick as", choice.title, found.currency, numbers=1)
        for option in choice.options:
            title = f"{option.title}: {option.text}" if option.text else option.title
            shown = amount(option.price) if option.priced else ""
            table.add_row(f"{choice.choice}={option.option}", title, shown)
        new_console().print(table)


def show_demo(papers: Sequence[DemoPaper]) -> None:
    """What the demo did and where."""
    console = new_console()
    for paper in papers:
        if paper.file is None:
            console.print(f"{paper.title}: no quote", style="bold")
        elif paper.price is None:
            console.print(f"{paper.file}: {paper.title}")
        else:
            console.print(f"{paper.file}: {paper.title}, {amount_with_currency(paper.price)}")
        for sentence in paper.told:
            console.print(Padding(Text(sentence), (0, 0, 0, 4), expand=False))
