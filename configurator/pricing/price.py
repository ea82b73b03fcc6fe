"""What a selection costs: lines, package deals, adjustments, rounding, tax, total, to pay.

Amounts are in the catalogue's currency, with tax in or out as its header says. The order is fixed:

1. list prices by line (:mod:`configurator.pricing.lines`),
2. package deals (:mod:`configurator.pricing.changes`),
3. adjustments in the order given,
4. rounding of the package to a round amount, where the catalogue asks for it,
5. tax on what is left of each line (:mod:`configurator.pricing.tax`): the total,
6. trade-ins, which leave the tax alone, and rounding to a round amount where the catalogue asks
   for it: what is to be paid,
7. stages of payment, and cash rounded to what coins there are.

Rounding happens at named points: a line, an adjustment, the package, the tax, what is to be paid, a
stage, cash.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from attrs import frozen

from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Catalogue
from configurator.errors import Location
from configurator.money import Money, round_to_steps
from configurator.pricing.changes import (
    Adjusted,
    DealApplied,
    adjusted_lines,
    adjustment_amount,
    best_deals,
    group_of,
    rounding_amount,
    shared_out,
    unapproved,
)
from configurator.pricing.lines import Key, Line, PricedPart, as_told, option_price
from configurator.pricing.tax import TaxedAmount, TaxTotal, tax_total
from configurator.selection.picks import FREE_LINES
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import undecided
from configurator.selection.validate import require_known
from configurator.selection.values import require_kind
from configurator.shapes.forms import Unpacked, brief, form
from configurator.words import text

ACCEPTED = ADD_ON
"""Id of the group that accepted add-ons are priced in."""


@form(keys={"id": "group"})
@frozen(repr=False)
class PriceGroup:
    """Lines under one heading.

    Attributes:
        id: id of the group.
        title: title of the group.
        lines: its lines.
        subtotal: what those of them come to that have a price.
    """

    id: str
    title: str
    lines: tuple[Line, ...]
    subtotal: Money


@form()
@frozen(repr=False)
class TradedIn(Unpacked):
    """What is taken in payment, after tax.

    Attributes:
        title: what it is.
        reason: why.
        amount: what it takes off what is to be paid.
    """

    title: str
    reason: str
    amount: Money


@form()
@frozen(repr=False)
class Payment(Unpacked):
    """One stage of payment.

    Attributes:
        title: what the customer reads.
        percent: its share of what is to be paid.
        amount: what it comes to.
    """

    title: str
    percent: Decimal
    amount: Money


@form()
@frozen(repr=False)
class LineChange(Unpacked):
    """What a deal, an adjustment or rounding did to a line.

    Attributes:
        title: its title.
        amount: what it added to the line.
    """

    title: str
    amount: Money


@form(inline="line", also="parts left at")
@frozen(repr=False)
class TracedLine:
    """How one line came about.

    Attributes:
        line: the line, with its parts; its ``at`` is where the catalogue has the option.
        group: title of its group.
        changes: title and amount of what deals, adjustments and rounding did to it.
        percent: its tax rate.
    """

    line: Line
    group: str
    changes: tuple[LineChange, ...]
    percent: Decimal

    @property
    def left(self) -> Money | None:
        """What is left of it after the changes, which is what its tax is calculated on."""
        start = self.line.amount
        return None if start is None else sum((change.amount for change in self.changes), start)

    @property
    def parts(self) -> tuple[PricedPart, ...]:
        """What each is made of, exact; each is their sum, rounded half up."""
        return self.line.parts

    @property
    def at(self) -> Location:
        """Where the catalogue has the option."""
        return self.line.at


@form(
    hidden="traced unapproved entered",
    also="total is_from",
    inline="tax",
    keys={"deals": "package-deals", "is_from": "from"},
)
@frozen(repr=False)
class Price:
    """What a selection comes to.

    Attributes:
        currency: ISO 4217 code of every amount.
        day: the day whose prices these are, as an ISO date.
        groups: lines by group, in the catalogue's order; then accepted add-ons, then free lines
            that name no group.
        deals: package deals applied.
        adjustments: adjustments applied, in order.
        rounding: what rounding the package to a round amount added.
        traced: every line with what these did to it, in the order of the groups.
        tax: amounts before tax, tax, and total.
        tax_name: such as GST.
        tax_included: whether the lines have the tax in them.
        trade_ins: title, reason and amount of what is taken in payment, after tax.
        to_pay: the total less the trade-ins, rounded where the catalogue asks for it.
        payable_rounding: what that rounding added; None where the catalogue asks for none.
        entered: deals, adjustments and rounding with what they put on at which tax rate.
        cash: what is to pay in cash, where the catalogue says that cash is rounded.
        payments: title, percent and amount of each stage; they add up to what is to pay.
        open: titles of what has no price yet; the total then is a "from" price.
        undecided: ids of choices that must still be made.
        unapproved: what the discounts without an approver's name come to, and how far they may
            go, where they go further; None where they do not. No paper or JSON has it.
    """

    currency: str
    day: str
    groups: tuple[PriceGroup, ...]
    deals: tuple[DealApplied, ...]
    adjustments: tuple[Adjusted, ...]
    rounding: Money
    traced: tuple[TracedLine, ...]
    tax: TaxTotal
    tax_name: str
    tax_included: bool
    trade_ins: tuple[TradedIn, ...]
    to_pay: Money
    cash: Money | None
    payments: tuple[Payment, ...]
    open: tuple[str, ...]
    undecided: tuple[str, ...]
    unapproved: tuple[Money, Money] | None = None
    payable_rounding: Money | None = None
    entered: tuple[Entered, ...] = ()

    @property
    def total(self) -> Money:
        """The price with tax."""
        return self.tax.total

    @property
    def is_from(self) -> bool:
        """Whether the total leaves something open."""
        return bool(self.open or self.undecided)

    @property
    def so_far(self) -> bool:
        """Whether choices are still to be made, so that the total may still rise or fall."""
        return bool(self.undecided)

    def own_percent(self, line: Line) -> Decimal | None:
        """The percent of a line's tax, where lines have several and it is not the first of them.

        The first in the catalogue's order is the usual one.
        """
        others = {name: percent for name, percent, _, _ in self.tax.by_rate[1:]}
        return others.get(line.rate)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every line, in the order of the groups."""
        return tuple(line for group in self.groups for line in group.lines)


@frozen(repr=False)
class Entered:
    """A deal, an adjustment or rounding as it was entered: how much of it at which tax rate.

    Attributes:
        title: its title.
        reason: why, or empty.
        shares: what it put on, by the rate that this is taxed at.
    """

    title: str
    reason: str
    shares: tuple[TaxedAmount, ...]

    __repr__ = brief


class _Ledger:
    """What is left of each line while deals, adjustments and rounding are entered.

    Attributes:
        left: what is left by choice and option.
        changes: what was entered on each line, in order.
        on_nothing: amounts that fell on no line, each with the rate it is taxed at.
        entered: what was entered, in order.
    """

    def __init__(self, lines: list[Line], currency: str, usual: str) -> None:
        self.left = {line.key: line.amount for line in lines if line.amount is not None}
        self.changes: dict[Key, list[LineChange]] = {line.key: [] for line in lines}
        self.on_nothing: list[TaxedAmount] = []
        self.entered: list[Entered] = []
        self.rates = {line.key: line.rate for line in lines}
        self.currency, self.usual = currency, usual

    @property
    def package(self) -> Money:
        """Everything together."""
        beside = (one.amount for one in self.on_nothing)
        return Money.total((*self.left.values(), *beside), self.currency)

    def enter(
        self, title: str, amount: Money, over: dict[Key, Money], rate: str = "", reason: str = ""
    ) -> None:
        """Share the amount out over those lines; without any it is taxed at the rate."""
        if not over:
            self.on_nothing.append(TaxedAmount(amount, rate or self.usual))
        by_rate: dict[str, Money] = {} if over else {rate or self.usual: amount}
        for key, share in shared_out(amount, over).items():
            self.left[key] += share
            self.changes[key].append(LineChange(title, share))
            zero = Money.zero(self.currency)
            by_rate[self.rates[key]] = by_rate.get(self.rates[key], zero) + share
        shares = tuple(TaxedAmount(share, rate) for rate, share in by_rate.items())
        self.entered.append(Entered(title, reason, shares))

    def taxed(self) -> Iterator[TaxedAmount]:
        """What is left, each amount at its rate."""
        yield from (TaxedAmount(amount, self.rates[key]) for key, amount in self.left.items())
        yield from self.on_nothing


@frozen(eq=False, repr=False)
class _Settled:
    """What is left of the lines in the end, and how that came about."""

    ledger: _Ledger
    deals: tuple[DealApplied, ...]
    after_deals: Money
    adjusted: tuple[Adjusted, ...]
    rounding: Money
    tax: TaxTotal


def price(build: Resolved, day: date | None = None) -> Price:
    """The price of a selection, complete or partial.

    Args:
        build: what is picked, from which catalogue.
        day: whose prices count; None for the catalogue's own ``day``.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_kind("catalogue", build.catalogue, Catalogue)
    if day is not None:
        require_kind("day", day, date)
        build = build.on(day)
    require_known(build)
    return priced(build)


def total(build: Resolved, known: Mapping[Key, Line]) -> Money:
    """The total of a selection that is known to be understood, and no more of its price.

    Args:
        build: what is picked, from which catalogue.
        known: lines that are in its price if their options are picked.
    """
    return outcome(build, known)[0].total


def outcome(build: Resolved, known: Mapping[Key, Line]) -> tuple[TaxTotal, tuple[DealApplied, ...]]:
    """The same with what is before tax, and the package deals in it."""
    settled = _settled(build, _lines_by_group(build, known))
    return settled.tax, settled.deals


def list_price(build: Resolved) -> Money:
    """Lines less package deals."""
    known = priced(build)
    saved = Money.total((deal.saving for deal in known.deals), known.currency)
    return Money.total((line.amount for line in known.lines if line.amount), known.currency) - saved


@once
def priced(build: Resolved) -> Price:
    """The price of a selection that is known to be understood."""
    catalogue, currency = build.catalogue, build.catalogue.currency
    by_group = _lines_by_group(build)
    settled = _settled(build, by_group)
    told = {group: [as_told(build, line) for line in lines] for group, lines in by_group.items()}
    groups = tuple(_groups(catalogue, told))
    lines = [line for group in groups for line in group.lines]
    ledger, tax = settled.ledger, settled.tax
    percents = dict(catalogue.tax.rates)
    trade_ins = tuple(
        TradedIn(t.title, t.reason, Money(t.amount, currency).rounded())
        for t in build.selection.trade_ins
    )
    due = tax.total - Money.total((amount for _, _, amount in trade_ins), currency)
    payable = rounding_amount(catalogue.payable_rounding, due)
    to_pay = due + payable
    return Price(
        currency=currency,
        day=catalogue.price_day,
        groups=groups,
        deals=settled.deals,
        adjustments=settled.adjusted,
        rounding=settled.rounding,
        traced=tuple(
            TracedLine(line, group.title, tuple(ledger.changes[line.key]), percents[line.rate])
            for group in groups
            for line in group.lines
        ),
        tax=tax,
        tax_name=catalogue.tax.name,
        tax_included=catalogue.tax.included,
        trade_ins=trade_ins,
        to_pay=to_pay,
        cash=_cash(catalogue, to_pay),
        payments=tuple(_payments(catalogue, to_pay)),
        open=tuple(line.title for line in lines if line.amount is None),
        undecided=undecided(build),
        unapproved=unapproved(build, settled.after_deals, settled.adjusted),
        payable_rounding=None if catalogue.payable_rounding is None else payable,
        entered=tuple(ledger.entered),
    )


def _settled(build: Resolved, by_group: Mapping[str, Sequence[Line]]) -> _Settled:
    """Package deals, adjustments, rounding and tax on the lines."""
    catalogue, currency = build.catalogue, build.catalogue.currency
    lines = [line for members in by_group.values() for line in members]
    group_ids = {line.key: group for group, members in by_group.items() for line in members}
    ledger = _Ledger(lines, currency, catalogue.tax.rates[0][0])
    each = {line.key: line.each for line in lines if line.each is not None}
    deals = best_deals(catalogue, lines)
    for deal, applied in deals:
        keys = (((pick.choice, pick.option), pick.quantity) for pick in deal.picks)
        in_sets = {key: each[key] * quantity * applied.times for key, quantity in keys}
        ledger.enter(f"Package deal: {applied.name}", -applied.saving, in_sets)
    after_deals = ledger.package
    adjusted = []
    for adjustment in build.selection.adjustments:
        on = adjusted_lines(adjustment, ledger.left, group_ids, ledger.rates)
        amount = adjustment_amount(adjustment, Money.total(on.values(), currency))
        adjusted.append(Adjusted(adjustment.title, adjustment.reason, amount))
        ledger.enter(adjustment.title, amount, on, adjustment.tax, adjustment.reason)
    rounding = rounding_amount(catalogue.rounding, ledger.package)
    if rounding:
        ledger.enter("Rounding", rounding, dict(ledger.left))
    tax = tax_total(catalogue.tax, tuple(ledger.taxed()), currency)
    counted = tuple(applied for _, applied in deals)
    return _Settled(ledger, counted, after_deals, tuple(adjusted), rounding, tax)


def lines_by_key(build: Resolved) -> dict[Key, Line]:
    """Each option's line by its choice and option, as it is priced by itself."""
    return {line.key: line for lines in _lines_by_group(build).values() for line in lines}


def _lines_by_group(
    build: Resolved, known: Mapping[Key, Line] = MappingProxyType({})
) -> dict[str, list[Line]]:
    """Each option's line, by its group; a group may have none."""
    lines: dict[str, list[Line]] = {group.id: [] for group in build.catalogue.groups}
    lines[ACCEPTED], lines[FREE_LINE] = [], []
    for choice, option, quantity in build.picks:
        if choice.id == VEHICLE and not option.price:
            continue
        line = known.get((choice.id, option.id))
        if line is None:
            line = option_price(build, choice, option, quantity)
        lines[group_of(build.catalogue, choice, option)].append(line)
    return lines


def _groups(catalogue: Catalogue, lines: Mapping[str, Sequence[Line]]) -> Iterator[PriceGroup]:
    titles = {group.id: group.title for group in catalogue.groups}
    titles |= {ACCEPTED: text("Accepted extras"), FREE_LINE: FREE_LINES}
    for group_id, members in lines.items():
        if members:
            amounts = (line.amount for line in members if line.amount is not None)
            subtotal = Money.total(amounts, catalogue.currency)
            yield PriceGroup(group_id, titles[group_id], tuple(members), subtotal)


def _cash(catalogue: Catalogue, to_pay: Money) -> Money | None:
    """What is to pay in coins and notes; None where the catalogue does not round cash."""
    step = catalogue.tax.cash_increment
    if step is None:
        return None
    rounded = round_to_steps(to_pay.amount, step, catalogue.tax.cash_mode)
    return Money(rounded, to_pay.currency).rounded()


def _payments(catalogue: Catalogue, to_pay: Money) -> Iterator[Payment]:
    """Stages of payment, each rounded half up; the last takes what rounding leaves."""
    left = to_pay
    *stages, last = catalogue.quote.payments
    for stage in stages:
        amount = (to_pay * (stage.percent / 100)).rounded()
        left -= amount
        yield Payment(stage.title, stage.percent, amount)
    yield Payment(last.title, last.percent, left)
