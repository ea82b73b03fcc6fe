"""The build budget as a value for paper, screen and JSON: the reckoning and what would fix it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from decimal import Decimal

from attrs import evolve, frozen

from configurator.budget.build import BudgetGroup, BudgetLine, Reckoning, reckon, reckoned
from configurator.budget.savings import (
    LeastRegret,
    Saving,
    least_regret,
    lowest,
    single_savings,
)
from configurator.catalogue.fields import Pick
from configurator.catalogue.shop import ShopDetails
from configurator.errors import SearchLimit
from configurator.money import Money
from configurator.report.model import (
    Block,
    Cell,
    Chart,
    ChartBar,
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
)
from configurator.report.price import NOT_CHECKED, group_amount, still_open
from configurator.selection.picks import Budget, Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import as_texts, form
from configurator.words import joined, listed, text


@form(
    "budget",
    hidden="shop kept_titles still selection",
    inline="reckoning",
    shown={"kept": as_texts},
    keys={"hopeless": "no-set-of-changes-does-it"},
)
@frozen(repr=False)
class BudgetPaper:
    """Everything that is on a build budget.

    Attributes:
        title: name of the selection.
        customer: name of the customer, or empty.
        shop: who quotes.
        day: whose prices, as an ISO date.
        reckoning: what it comes to.
        savings: single changes that save and stay sound, the largest first; None when not asked
            for.
        gave_up: why the least-regret set is not known, or empty.
        hopeless: whether no set of changes comes under the limit.
        kept: what is not to be touched, as choice ids or ``choice=option``.
        plan: the least-regret set of changes that comes under the limit; None without a limit,
            where nothing needs to be saved, or where no set of changes does it.
        lowest: the set that brings it lowest, where none comes under the limit and that is known.
        kept_titles: what is not to be touched, as a customer reads it.
        still: what has no price yet and what is still to be chosen, in sentences.
        selection: what was added up, with the budget that counted.
    """

    title: str
    customer: str
    shop: ShopDetails
    day: str
    reckoning: Reckoning
    savings: tuple[Saving, ...] | None
    gave_up: str
    hopeless: bool
    kept: tuple[Pick, ...]
    plan: LeastRegret | None
    lowest: LeastRegret | None
    kept_titles: tuple[str, ...]
    still: tuple[str, ...]
    selection: Selection

    @property
    def stopped(self) -> bool:
        """Whether the build is over its limit."""
        over = self.reckoning.over
        return over is not None and over.amount > 0


def budget_paper(
    build: Resolved,
    limit: Budget | None = None,
    with_savings: bool = True,
) -> BudgetPaper:
    """Add up the build and look for savings.

    Args:
        build: what is picked, from which catalogue.
        limit: a budget to take in place of the selection's.
        with_savings: whether to look for savings, which takes longer.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    catalogue, budget = build.catalogue, limit or build.selection.budget or Budget()
    budget = evolve(budget, keep=tuple(dict.fromkeys(budget.keep)))
    build = Resolved(catalogue, evolve(build.selection, budget=budget))
    reckoning = reckon(build)
    most = reckoning.limit

    def enough(to_pay: Money) -> bool:
        return most is None or reckoned(catalogue, budget, to_pay) <= most

    plan = best = None
    hopeless, gave_up = False, ""
    if with_savings and not enough(reckoning.to_pay):
        try:
            plan = least_regret(build, enough, budget.keep)
            hopeless = plan is None
        except SearchLimit as reason:
            gave_up = reason.args[0]
        if hopeless:
            with suppress(SearchLimit):
                best = lowest(build, budget.keep)
    customer = build.selection.customer
    return BudgetPaper(
        title=build.selection.title,
        customer=customer.name if customer else "",
        shop=catalogue.shop,
        day=catalogue.price_day,
        reckoning=reckoning,
        savings=single_savings(build, budget.keep) if with_savings else None,
        gave_up=gave_up,
        hopeless=hopeless,
        kept=budget.keep,
        plan=plan,
        lowest=best,
        kept_titles=tuple(build.title_of(kept) for kept in budget.keep),
        still=still_open(reckoning.price, catalogue),
        selection=build.selection,
    )


_MOST_SHOWN = 20
"""Single changes that a terminal shows; JSON has them all."""


def budget_report(paper: BudgetPaper) -> Report:
    """What the build comes to, how that stands against the limit, and what would fix it."""
    reckoning = paper.reckoning
    groups, sums = budget_table(paper), budget_sums(paper)
    none = (None, None, None)
    closing = (Row((row.cells[0], *none[:2], row.cells[1], None), row.kind) for row in sums.rows)
    said, shared = standing(reckoning), shared_out(reckoning)
    return (
        (
            evolve(groups, bodies=(*groups.bodies, RowGroup(closing))),
            *((Paragraph(shared, "faint"),) if shared else ()),
            *((Paragraph(said, "strong"),) if said else ()),
            *map(Paragraph, paper.still),
            Paragraph(NOT_CHECKED, "faint"),
        ),
        (build_up(reckoning),),
        plan_parts(paper),
        _savings_parts(paper),
    )


def budget_table(paper: BudgetPaper) -> Table:
    """Every amount of the build under its heading, with who supplies it and its limit."""
    reckoning = paper.reckoning
    columns = (
        Column(text("The whole build")),
        Column(text("Who"), name="who"),
        Column(text("State"), name="state"),
        Column(reckoning.currency, "figure", name="number"),
        Column(text("Limit"), "figure", name="number"),
    )
    return Table(columns, tuple(_bodies(paper.shop.name, reckoning)), name="lines")


def _bodies(shop: str, reckoning: Reckoning) -> Iterator[RowGroup]:
    start = text("To be paid to the shop")
    if reckoning.price.so_far:
        start = text("To be paid to the shop, so far")
    elif reckoning.price.is_from:
        start = text("To be paid to the shop, from")
    nothing = reckoning.price.is_from and not reckoning.price.total
    to_pay = _sum(start, text("no price yet") if nothing else reckoning.price.to_pay)
    rows = [
        _row(line, group, amount)
        for group, amount in _shop_groups(reckoning)
        for line in group.lines
    ]
    yield RowGroup(
        (*rows, to_pay), text("{shop}, including {tax}", shop=shop, tax=reckoning.price.tax_name)
    )
    for group in reckoning.elsewhere:
        rows = [_row(line, group) for line in group.lines]
        if len(rows) > 1:
            title = text("Total, {group:inside}", group=group.title)
            rows.append(_sum(title, group.amount, _against(group)))
        yield RowGroup(rows, group.title)
    if reckoning.sales:
        yield RowGroup((_row(sale) for sale in reckoning.sales), text("Less what is sold"))
    if reckoning.contingency:
        share = text("{share} % of what is not yet spent", share=reckoning.contingency_percent)
        note = text(
            "Builds often cost more than first planned; this amount is not part of any price."
        )
        row = (Cell(share, note=note), None, text("estimate"), reckoning.contingency, None)
        yield RowGroup((Row(row),), text("Contingency"))


def _shop_groups(reckoning: Reckoning) -> Iterator[tuple[BudgetGroup, Money | str]]:
    """The shop's groups, with what is said of an amount that is open in full or in part."""
    priced = reckoning.price.groups  # what falls on no line, and the trade-ins, stand behind them
    for index, group in enumerate(reckoning.shop):
        told: Money | str = ""
        if index < len(priced):
            told = group_amount(priced[index], group.amount)
        yield group, told


def _row(line: BudgetLine, group: BudgetGroup | None = None, amount: Money | str = "") -> Row:
    states = ((text("estimate"), line.guessed), (text("spent"), line.spent))
    told = [word for word, holds in states if holds]
    against = _against(group) if group is not None and len(group.lines) == 1 else None
    return Row(
        (line.title, line.who, joined(told) if told else None, amount or line.amount, against)
    )


def _sum(title: str, amount: Money | str, against: Cell | None = None) -> Row:
    return Row((title, None, None, amount, against), "subtotal")


def _against(group: BudgetGroup) -> Cell | None:
    if group.share is None:
        return None
    return Cell(group.limit, more=(text("{share:signed} %", share=group.share),))


def budget_sums(paper: BudgetPaper, brief: bool = False) -> Table:
    """What all of it comes to, against the limit; if not brief, how much is spent and guessed."""
    reckoning = paper.reckoning
    start = text("From") if reckoning.price.is_from else text("Total")
    if reckoning.price.so_far:
        start = text("So far")
    rows = [Row((start, reckoning.total), "grand")]
    if reckoning.limit is not None and reckoning.over is not None:
        over = reckoning.over
        rows.append(Row((text("Limit"), reckoning.limit)))
        rest = (text("Over"), over) if over.amount > 0 else (text("Remaining"), -over)
        rows.append(Row(rest))
    if not brief:
        rows.append(Row((text("Already spent"), reckoning.spent)))
        rows.append(Row((text("Estimated costs"), reckoning.guessed)))
        if reckoning.guessed_sales:
            rows.append(Row((text("Estimated sales"), reckoning.guessed_sales)))
    columns = (Column(), Column(reckoning.currency, "figure", name="number"))
    return Table(columns, (RowGroup(rows),), heads=False, name="sums")


def standing(reckoning: Reckoning) -> str:
    """How the build stands against the limit; empty without one."""
    over, limit = reckoning.over, reckoning.limit
    if over is None or limit is None:
        return ""
    known = {"limit": limit, "share": abs(reckoning.share or Decimal(0))}
    if over.amount > 0:
        return text("{over} over the limit of {limit}, {share} per cent of it.", over=over, **known)
    if reckoning.is_from:
        return text(
            "{room} of the limit of {limit} is left for what is still open.",
            room=-over,
            limit=limit,
        )
    return text("{room} under the limit of {limit}, {share} per cent of it.", room=-over, **known)


def certainty(reckoning: Reckoning) -> str:
    """How much of it is spent, and how much of costs and sales is guessed."""
    known = {"spent": reckoning.spent, "costs": reckoning.guessed}
    if not reckoning.guessed_sales:
        return text("{spent} of it is spent. Of the costs, {costs} is estimated.", **known)
    return text(
        "{spent} of it is spent. Of the costs, {costs} is estimated; of the sales, {sales}.",
        sales=reckoning.guessed_sales,
        **known,
    )


def shared_out(reckoning: Reckoning) -> str:
    """Why groups of the shop may differ from those of the quote; empty where they do not."""
    if not any(traced.changes for traced in reckoning.price.traced):
        return ""
    return text(
        "Package deals, adjustments and rounding are shared out among the shop's groups, so these"
        " can differ from the quote's."
    )


def build_up(reckoning: Reckoning) -> Chart:
    """The amounts that the total is built up of, each a bar that begins where the last one ends."""
    steps = [
        (group.title, group.amount, True)
        for group, told in _shop_groups(reckoning)
        if group.amount or not isinstance(told, str)
    ]
    for group in reckoning.elsewhere:
        steps += [(line.title, line.amount, not line.guessed) for line in group.lines]
    for sale in reckoning.sales:
        steps.append((text("Less {what}", what=sale.title), sale.amount, not sale.guessed))
    if reckoning.contingency:
        steps.append((text("Contingency"), reckoning.contingency, False))
    bars, at = [], Decimal(0)
    for label, amount, firm in steps:
        after = at + amount.amount
        low, high = (max(end, Decimal(0)) for end in (min(at, after), max(at, after)))
        bars.append(ChartBar(label, amount, low, high, not firm or amount.amount < 0))
        at = after
    return Chart(
        title=text("How the build comes to {total}", total=reckoning.total),
        groups=(("", tuple(bars)),),
        limit=reckoning.limit,
        note=text(
            "Each bar begins where the last one ends. Hollow bars are estimates, or money that"
            " comes in."
        ),
    )


def plan_parts(paper: BudgetPaper) -> tuple[Paragraph, ...]:
    """What would bring the build under its limit; nothing where nothing has to."""
    heading = Paragraph(text("What would bring it under the limit"), "strong")
    kept = listed(paper.kept_titles)
    if paper.plan is not None and paper.plan.changes:
        count = len(paper.plan.changes)
        saved = {"amount": paper.plan.amount, "total": paper.plan.total}
        told = text(
            "It saves {amount}; the build then comes to {total}.",
            "They save {amount}; the build then comes to {total}.",
            n=count,
            **saved,
        )
        if paper.reckoning.contingency_percent:
            told = joined((told, text("The contingency falls too.")), " ")
        if count > 1:
            smallest = text(
                "No smaller set of changes is enough, and no other set of this size gives up less."
            )
            told = joined((told, smallest), " ")
        if paper.kept:
            told = joined((told, text("Kept as they are: {kept}.", kept=kept)), " ")
        changes = (Paragraph(change.words, depth=1) for change in paper.plan.changes)
        return (heading, *changes, Paragraph(told))
    if paper.gave_up:
        why = text(
            "What would bring it under the limit is not known: {reason}.", reason=paper.gave_up
        )
        return (Paragraph(why),)
    if not paper.hopeless:
        return ()
    if paper.kept:
        told = text("No changes to the picks are enough while these are kept: {kept}.", kept=kept)
    else:
        told = text("No changes to the picks are enough.")
    if paper.lowest is not None:
        least = text(
            "The lowest total that changes can reach is {total}, a saving of {amount}.",
            total=paper.lowest.total,
            amount=paper.lowest.amount,
        )
        told = joined((told, least), " ")
    return (heading, Paragraph(told))


def savings_table(paper: BudgetPaper, most: int) -> Table | None:
    """Single changes that save, a number of them, the largest first; None where there is none."""
    if not paper.savings:
        return None
    told = paper.savings[:most]
    rows = [
        Row((one.change.words, one.amount, one.total, text("under") if one.under else None))
        for one in told
    ]
    columns = [
        Column(text("Single changes that save")),
        Column(text("Saves"), "figure", name="number"),
        Column(text("The build then"), "figure", name="number"),
        Column(text("Limit"), "figure", name="state"),
    ]
    if not any(one.under for one in told):
        rows = [Row(row.cells[:3]) for row in rows]
        columns = columns[:3]
    return Table(tuple(columns), (RowGroup(rows),), name="lines")


def smaller_savings(paper: BudgetPaper, most: int) -> str:
    """How many savings are not shown where this many are; empty where all are."""
    more = len(paper.savings or ()) - most
    if more <= 0:
        return ""
    return text("{n} smaller saving not shown.", "{n} smaller savings not shown.", n=more)


def _savings_parts(paper: BudgetPaper) -> tuple[Block, ...]:
    table, more = savings_table(paper, _MOST_SHOWN), smaller_savings(paper, _MOST_SHOWN)
    if paper.savings is None:
        return ()
    if table is None:
        return (
            Paragraph(
                text("No single change saves money and leaves a package that goes together.")
            ),
        )
    known = {"amount": paper.reckoning.price.to_pay, "day": str(paper.day)}
    return (
        table,
        *((Paragraph(text("{more} --json has them all.", more=more)),) if more else ()),
        Paragraph(
            text("Savings are on the {amount} to pay to the shop, at prices of {day}.", **known)
        ),
    )
