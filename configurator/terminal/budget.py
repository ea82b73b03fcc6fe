"""A build budget as a terminal shows it: the build-up against the limit, and what would help."""

from __future__ import annotations

from decimal import Decimal

from rich.console import Console
from rich.table import Table
from rich.text import Text

from configurator.budget.build import BudgetGroup, BudgetLine, Reckoning
from configurator.budget.savings import LeastRegret
from configurator.money import Money
from configurator.report.budget import MOST_SHOWN, BudgetPaper, build_up
from configurator.terminal.common import new_console
from configurator.terminal.tables import new_bars, new_table
from configurator.words import amount, amount_with_currency, plain

__all__ = ["show_budget"]

_BAR = 45


def show_budget(paper: BudgetPaper) -> None:
    """What the build comes to, how that stands against the limit, and what would help."""
    out = new_console()
    reckoning = paper.reckoning
    table = new_table("The whole build", "who", "", reckoning.currency, "limit, over", numbers=2)
    _rows(table, "To the shop, tax and all", reckoning.shop)
    for group in reckoning.elsewhere:
        _rows(table, group.title, (group,))
    if reckoning.sales:
        table.add_row(Text("Less what is sold", style="bold"), "", "", "", "")
        for sale in reckoning.sales:
            _row(table, sale)
    if reckoning.contingency:
        percent = f"{plain(reckoning.contingency_percent)} % of what is not yet spent"
        table.add_row("Contingency", "", percent, amount(reckoning.contingency), "")
    table.add_section()
    start = "From" if reckoning.price.is_from else "Together"
    table.add_row(Text(start, style="bold"), "", "", Text(amount(reckoning.total), "bold"), "")
    if reckoning.limit is not None:
        table.add_row("Limit", "", "", amount(reckoning.limit), "")
    table.add_row("of it already spent", "", "", amount(reckoning.spent), "")
    table.add_row("of it guessed", "", "", amount(reckoning.guessed), "")
    out.print(table)
    if reckoning.over is not None:
        out.print(Text(_standing(reckoning), style="bold"))
    out.print()
    _show_build_up(out, reckoning)
    _show_help(out, paper)


def _lowest(found: LeastRegret, total: Money) -> str:
    count = len(found.changes)
    changes = "one change that saves" if count == 1 else f"{count} changes that save"
    return (
        f"The lowest that it can be brought to is {amount_with_currency(total)}, by {changes} "
        f"{amount_with_currency(found.amount)}; --json lists them."
    )


def _standing(reckoning: Reckoning) -> str:
    assert reckoning.over is not None
    share = f"{abs(reckoning.share or 0)} percent"
    over = reckoning.over
    if over.amount > 0:
        return f"{amount_with_currency(over)} over the limit, {share}."
    return f"{amount_with_currency(-over)} under the limit, {share}."


def _rows(table: Table, title: str, groups: tuple[BudgetGroup, ...]) -> None:
    table.add_row(Text(title, style="bold"), "", "", "", "")
    for group in groups:
        for line in group.lines:
            alone = len(group.lines) == 1
            _row(table, line, _against(group) if alone else "")
        if len(group.lines) > 1:
            table.add_row("", "", "", Text(amount(group.amount), style="bold"), _against(group))


def _row(table: Table, line: BudgetLine, against: str = "") -> None:
    told = ", ".join(
        word for word, holds in (("guessed", line.guessed), ("spent", line.spent)) if holds
    )
    table.add_row(f"  {line.title}", line.who, told, amount(line.amount), against)


def _against(group: BudgetGroup) -> str:
    if group.over is None:
        return ""
    sign = "+" if group.over.amount > 0 else ""
    return f"{amount(group.limit)}, {sign}{group.share} %"


def _show_build_up(out: Console, reckoning: Reckoning) -> None:
    """Each amount as a bar that begins where the last ended; the limit is a line."""
    steps = build_up(reckoning)
    reached, highest = Decimal(0), Decimal(0)
    for step in steps:
        reached += step.amount.amount
        highest = max(highest, reached)
    limit = reckoning.limit
    highest = max(highest, limit.amount if limit is not None else Decimal(0))
    if highest <= 0:
        return
    out.print(Text("The build-up", style="bold"))
    told = [(step.label, amount(step.amount)) for step in steps]
    ending = [] if limit is None else [("", f"limit {amount(limit)}")]
    rows, length = new_bars([*told, *ending], out.width, _BAR)
    last = max(length - 1, 0)
    mark = int(last * limit.amount / highest) if limit is not None and length else None
    at = Decimal(0)
    for step, (label, shown) in zip(steps, told, strict=True):
        after = at + step.amount.amount
        low, high = (max(int(last * p / highest), 0) for p in (min(at, after), max(at, after)))
        fill = "░" if step.amount.amount < 0 or not step.firm else "█"
        cells = [fill if low <= n < max(high, low + 1) else " " for n in range(length)]
        if mark is not None and cells[mark] == " ":
            cells[mark] = "│"
        rows.add_row(label, "".join(cells), shown)
        at = after
    for label, shown in ending:
        rows.add_row(label, "" if mark is None else f"{'┴':>{mark + 1}}", shown)
    out.print(rows)
    if length:
        out.print("Hollow bars are guesses, or come in.")
    out.print()


def _show_help(out: Console, paper: BudgetPaper) -> None:
    if paper.helps is None:
        return
    reckoning = paper.reckoning
    kept = f" (kept: {', '.join(paper.kept_titles)})" if paper.kept else ""
    if paper.plan is not None and paper.plan.changes:
        count = len(paper.plan.changes)
        what = "One change brings" if count == 1 else f"{count} changes bring"
        out.print(Text(f"{what} it under the limit{kept}:", style="bold"))
        for change in paper.plan.changes:
            out.print(f"  {change.words}")
        assert paper.plan_total is not None
        saved = amount_with_currency(paper.plan.amount)
        out.print(f"They save {saved}; the build then comes to {amount(paper.plan_total)}.")
        fewer = "No single change does." if count > 1 else ""
        fewer = f"Fewer than {count} changes do not." if count > 2 else fewer
        out.print(f"{fewer} Of the sets of {count} it gives up least money.".strip())
        out.print()
    elif paper.hopeless:
        out.print(
            Text(
                f"No set of changes to what is picked brings it under the limit{kept}.",
                style="bold",
            )
        )
        if paper.lowest is not None and paper.lowest_total is not None:
            out.print(_lowest(paper.lowest, paper.lowest_total))
        out.print()
    elif paper.gave_up:
        out.print(f"{paper.gave_up[:1].upper()}{paper.gave_up[1:]}.")
        out.print()
    if not paper.helps:
        out.print("No single change saves anything and stays sound.")
        return
    table = new_table("Single changes that save", "saves", "the build then", "", numbers=3)
    for help_ in paper.helps[:MOST_SHOWN]:
        under = {True: "under", False: "", None: ""}[help_.under]
        table.add_row(
            help_.saving.change.words, amount(help_.saving.amount), amount(help_.total), under
        )
    out.print(table)
    if len(paper.helps) > MOST_SHOWN:
        out.print(f"{len(paper.helps) - MOST_SHOWN} more save less; --json has them all.")
    to_pay = amount_with_currency(reckoning.price.to_pay)
    out.print(f"Savings are on the {to_pay} to the shop, prices of {paper.day}.")
