"""What the whole build costs: the quote, what others supply, what is sold, and contingency.

The build budget is the customer's: it counts what the shop will be paid beside everything else
that the vehicle takes, against the customer's own limit. Builds often end 10 to 15 per cent over
the first figure (common practice, no source): a contingency shows it in a line of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.money import Money, round_to
from configurator.pricing.price import Price, price
from configurator.selection.picks import ELSEWHERE, Budget
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import text


@form()
@frozen(repr=False)
class BudgetLine:
    """One amount of the build.

    Attributes:
        title: what.
        amount: what the customer spends; below zero for what comes in.
        who: who supplies, does or buys it; empty for the shop.
        guessed: the amount is a guess.
        spent: it has been paid, or received.
    """

    title: str
    amount: Money
    who: str = ""
    guessed: bool = False
    spent: bool = False


@form(also="over share", keys={"id": "group", "share": "over-percent"})
@frozen(repr=False)
class BudgetGroup:
    """Lines under one heading and the limit for them, if there is one.

    Attributes:
        id: of a group of the quote, or the heading of others.
        title: what it is called.
        lines: its amounts.
        amount: what they come to.
        limit: the most that it may come to; None for none.
    """

    id: str
    title: str
    lines: tuple[BudgetLine, ...]
    amount: Money
    limit: Money | None

    @property
    def over(self) -> Money | None:
        """How far it is over its limit; below zero when there is room."""
        return None if self.limit is None else self.amount - self.limit

    @property
    def share(self) -> Decimal | None:
        """The same in per cent of the limit, to a tenth."""
        return _share(self.over, self.limit)


@form(
    hidden="price",
    also="currency to_pay is_from open undecided total over share spent guessed guessed_sales",
    keys={"is_from": "from", "share": "over-percent"},
)
@frozen(repr=False)
class Reckoning:
    """How the build stands against the budget.

    Attributes:
        price: the quote's price.
        shop: groups of the quote, after deals, adjustments and rounding, with their tax; they add
            up to what is to be paid to the shop.
        elsewhere: what others supply or do, by heading.
        sales: what the customer sells, below zero.
        contingency: what may come on top.
        contingency_percent: per cent of what is not yet spent.
        limit: the customer's limit; None for none.
    """

    price: Price
    shop: tuple[BudgetGroup, ...]
    elsewhere: tuple[BudgetGroup, ...]
    sales: tuple[BudgetLine, ...]
    contingency: Money
    contingency_percent: Decimal
    limit: Money | None

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.price.currency

    @property
    def to_pay(self) -> Money:
        """What is to be paid to the shop."""
        return self.price.to_pay

    @property
    def is_from(self) -> bool:
        """Whether what is to be paid leaves something open."""
        return self.price.is_from

    @property
    def open(self) -> tuple[str, ...]:
        """Titles of what has no price yet."""
        return self.price.open

    @property
    def undecided(self) -> tuple[str, ...]:
        """Ids of choices that must still be made."""
        return self.price.undecided

    @property
    def lines(self) -> tuple[BudgetLine, ...]:
        """Every line, but for the contingency."""
        groups = (*self.shop, *self.elsewhere)
        return (*(line for group in groups for line in group.lines), *self.sales)

    @property
    def total(self) -> Money:
        """What the build comes to."""
        return Money.total((line.amount for line in self.lines), self.currency) + self.contingency

    @property
    def over(self) -> Money | None:
        """How far it is over the limit; below zero when there is room."""
        return None if self.limit is None else self.total - self.limit

    @property
    def share(self) -> Decimal | None:
        """The same in per cent of the limit, to a tenth."""
        return _share(self.over, self.limit)

    @property
    def spent(self) -> Money:
        """What has been paid, less what has been received."""
        paid = (line.amount for line in self.lines if line.spent)
        return Money.total(paid, self.currency)

    @property
    def guessed(self) -> Money:
        """How much of the costs is a guess; the contingency is one."""
        costs = (line.amount for group in self.elsewhere for line in group.lines if line.guessed)
        return Money.total(costs, self.currency) + self.contingency

    @property
    def guessed_sales(self) -> Money:
        """How much of what the customer sells is a guess."""
        return -Money.total((sale.amount for sale in self.sales if sale.guessed), self.currency)


def _share(over: Money | None, limit: Money | None) -> Decimal | None:
    if over is None or limit is None or not limit:
        return None
    return round_to(over.amount * 100 / limit.amount, 1)


def reckon(build: Resolved) -> Reckoning:
    """How the build of a selection stands against its budget; without one, without a limit.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    priced = price(build)
    budget = build.selection.budget or Budget()
    limits = {name: Money(amount, build.catalogue.currency) for name, amount in budget.limits}
    shop = tuple(_shop(build, priced, limits))
    elsewhere = tuple(_elsewhere(build.catalogue, budget, limits))
    sales = tuple(
        BudgetLine(
            s.title, -Money(s.amount, build.catalogue.currency), s.who, s.guessed, s.received
        )
        for s in budget.sales
    )
    limit = None if budget.limit is None else Money(budget.limit, build.catalogue.currency)
    return Reckoning(
        price=priced,
        shop=shop,
        elsewhere=elsewhere,
        sales=sales,
        contingency=_contingency(build.catalogue, budget, priced.to_pay),
        contingency_percent=budget.contingency,
        limit=limit,
    )


def reckoned(catalogue: Catalogue, budget: Budget, to_pay: Money) -> Money:
    """What the build comes to when so much is to be paid to the shop; rises with it."""
    entries = sum((entry.amount for entry in budget.entries), Decimal(0))
    sales = sum((sale.amount for sale in budget.sales), Decimal(0))
    others = Money(entries - sales, catalogue.currency)
    return to_pay + others + _contingency(catalogue, budget, to_pay)


def _contingency(catalogue: Catalogue, budget: Budget, to_pay: Money) -> Money:
    """Per cent of what is to be paid to the shop and of entries not yet spent, half up."""
    unspent = sum((e.amount for e in budget.entries if not e.spent), Decimal(0))
    base = to_pay + Money(unspent, catalogue.currency)
    if base.amount <= 0:
        return Money.zero(catalogue.currency)
    return (base * (budget.contingency / 100)).rounded()


def _shop(build: Resolved, priced: Price, limits: dict[str, Money]) -> Iterator[BudgetGroup]:
    """The quote by group; what falls on no line, and the trade-ins, stand last."""
    zero = Money.zero(build.catalogue.currency)
    left: dict[str, Money] = {}
    for traced in priced.traced:
        left[traced.group] = left.get(traced.group, zero) + (traced.left or zero)
    if not priced.tax_included:
        left = _with_tax(build, priced, left)
    for group in priced.groups:
        amount = left[group.title]
        lines = (BudgetLine(group.title, amount),)
        yield BudgetGroup(group.id, group.title, lines, amount, limits.get(group.id))
    beside = priced.total - Money.total(left.values(), build.catalogue.currency)
    taken = [BudgetLine(title, -amount) for title, _, amount in priced.trade_ins]
    if priced.payable_rounding:
        taken.append(BudgetLine(text("Rounding"), priced.payable_rounding))
    lines = (*((BudgetLine(text("Adjustments"), beside),) if beside else ()), *taken)
    if lines:
        amount = Money.total((line.amount for line in lines), build.catalogue.currency)
        title = text("Trade-ins") if not beside else text("Adjustments and trade-ins")
        yield BudgetGroup("trade-ins", title, lines, amount, None)


def _with_tax(build: Resolved, priced: Price, left: dict[str, Money]) -> dict[str, Money]:
    """The groups with their tax, half up; the largest takes what rounding leaves."""
    tax: dict[str, Money] = dict.fromkeys(left, Money.zero(build.catalogue.currency))
    for traced in priced.traced:
        if traced.left is not None:
            tax[traced.group] += traced.left * (traced.percent / 100)
    with_tax = {name: (amount + tax[name]).rounded() for name, amount in left.items()}
    if with_tax:
        largest = max(with_tax, key=lambda name: (with_tax[name].amount, name))
        rest = priced.total - Money.total(with_tax.values(), build.catalogue.currency)
        changes = [one.amount for one in priced.adjustments] + [priced.rounding]
        changes += [-deal.saving for deal in priced.deals]
        entered = (change.amount for line in priced.traced for change in line.changes)
        on_lines = sum(m.amount for m in changes) == sum(m.amount for m in entered)
        with_tax[largest] += rest if on_lines else Money.zero(build.catalogue.currency)
    return with_tax


def _elsewhere(
    catalogue: Catalogue, budget: Budget, limits: dict[str, Money]
) -> Iterator[BudgetGroup]:
    headings: dict[str, list[BudgetLine]] = {}
    for entry in budget.entries:
        amount = Money(entry.amount, catalogue.currency)
        line = BudgetLine(entry.title, amount, entry.who, entry.guessed, entry.spent)
        headings.setdefault(entry.group or ELSEWHERE, []).append(line)
    for heading, lines in headings.items():
        amount = Money.total((line.amount for line in lines), catalogue.currency)
        yield BudgetGroup(heading, heading, tuple(lines), amount, limits.get(heading))
