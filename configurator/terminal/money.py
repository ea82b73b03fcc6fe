"""Money as a terminal shows it: the trace of a price, and what the shop earns."""

from __future__ import annotations

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from configurator.money import Money, exponent
from configurator.pricing.lines import PricedPart
from configurator.pricing.margin import Margin
from configurator.pricing.whole import Price, TracedLine
from configurator.terminal.common import new_console
from configurator.terminal.tables import new_grid, new_table
from configurator.words import amount, plain

__all__ = ["show_margin", "show_trace"]


def show_trace(priced: Price) -> None:
    """Each line with its place in the catalogue, its arithmetic, and what changed it."""
    out = new_console()
    out.print(f"Prices of {priced.day}, {priced.currency}")
    group = ""
    for line in priced.traced:
        if line.group != group:
            group = line.group
            out.print()
            out.print(Text(group, style="bold"))
        at = line.line.at
        place = f"{at.file}:{at.line}" if at.line else "not in a file"
        out.print(Text(f"  {line.line.title}  [{place}]"))
        out.print(Padding(_rows(line), (0, 0, 0, 4)))
    out.print()
    sums = new_table("", priced.currency, numbers=1)
    sums.add_row(f"Before {priced.tax_name}", amount(priced.tax.before))
    for name, percent, before, share in priced.tax.by_rate:
        sums.add_row(
            f"{priced.tax_name} {name}, {plain(percent)} % on {amount(before)}", amount(share)
        )
    sums.add_row(Text(f"Total including {priced.tax_name}", style="bold"), amount(priced.total))
    out.print(sums)


def _rows(traced: TracedLine) -> Table:
    line = traced.line
    rows = new_grid(texts=2, figures=1, least=10)
    for part in traced.parts:
        rows.add_row(Text(_line_of(part), style="dim"), part.words, _exact(part.amount))
    if line.each is None or line.amount is None:
        rows.add_row("", line.why_open, "open")
        return rows
    if line.quantity > 1 or len(traced.parts) > 1:
        many = f"{line.quantity} x {amount(line.each)}" if line.quantity > 1 else "together"
        rows.add_row("", many, amount(line.amount))
    for title, change in traced.changes:
        rows.add_row("", title, amount(change))
    left = f"left, taxed at {plain(traced.percent)} %" if traced.changes else ""
    if left:
        rows.add_row("", left, amount(traced.left))
    return rows


def _line_of(part: PricedPart) -> str:
    return f"line {part.at.line}" if part.at.line else ""


def _exact(money: Money) -> str:
    """The amount with every decimal it has, at least those of its currency."""
    places = money.amount.normalize().as_tuple().exponent
    digits = max(exponent(money.currency), -places if isinstance(places, int) else 0)
    return f"{money.amount:,.{digits}f}"


def show_margin(found: Margin) -> None:
    """Cost and margin by line and in total, without tax; for the shop's eyes."""
    out = new_console()
    out.print(Text("For the shop's eyes only", style="bold"))
    rows = new_table("Line", "supplier", "brings", "costs", "margin", "%", numbers=4)
    for line in found.lines:
        many = f"{line.line.quantity} x " if line.line.quantity > 1 else ""
        percent = "" if line.percent is None else f"{line.percent}"
        cost = "unknown" if line.cost is None else amount(line.cost)
        earned = "" if line.margin is None else amount(line.margin)
        rows.add_row(
            f"{many}{line.line.title}", line.supplier, amount(line.net), cost, earned, percent
        )
    rows.add_section()
    percent = "" if found.percent is None else f"{found.percent}"
    rows.add_row(
        Text("Together, without tax", style="bold"),
        "",
        amount(found.net),
        amount(found.cost),
        Text(amount(found.margin), style="bold"),
        percent,
    )
    out.print(rows)
    if found.unknown:
        out.print(f"Not counted, for want of a cost or a price: {', '.join(found.unknown)}")
