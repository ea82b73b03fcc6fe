"""What a selection costs: lines, package deals, adjustments, tax, total.

Amounts are in the catalogue's currency, with tax in or out as its header says. The order is
fixed: list prices by line, then package deals, then adjustments in the order given, then tax on
what is left, then payments out of the total. Rounding happens at four named points: a line, an
adjustment, the tax (:mod:`configurator.tax`) and a payment.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import (
    ADD_ON,
    VEHICLE,
    Catalogue,
    Choice,
    Option,
    PackageDeal,
    Part,
)
from configurator.money import Money, exponent, round_to
from configurator.selection import Adjustment, Selection, known_picks, require_known
from configurator.tax import TaxedAmount, TaxTotal, tax_total
from configurator.totals import MissingPicks, measure, table_cell

__all__ = ["DealApplied", "Line", "Price", "PriceGroup", "option_price", "price"]

ACCEPTED = ADD_ON
"""Id of the group that accepted add-ons are priced in."""


@frozen
class Line:
    """One priced option.

    Attributes:
        choice: id of its choice.
        option: id of the option.
        title: what the customer reads.
        text: a sentence more, or empty.
        quantity: how many.
        each: price of one, to the currency's smallest unit; None while it is open.
        amount: price of all; None while it is open.
        rate: name of its tax rate.
        why_open: why there is no price yet, as a sentence, or empty.
        notes: words about how the price came about.
    """

    choice: str
    option: str
    title: str
    text: str
    quantity: int
    each: Money | None
    amount: Money | None
    rate: str
    why_open: str = ""
    notes: tuple[str, ...] = ()


@frozen
class PriceGroup:
    """Lines under one heading, and what those of them come to that have a price."""

    id: str
    title: str
    lines: tuple[Line, ...]
    subtotal: Money


@frozen
class DealApplied:
    """A package deal that the picks fulfil: what its set costs listed, and what it saves."""

    id: str
    title: str
    text: str
    listed: Money
    price: Money
    saving: Money


@frozen
class Adjusted:
    """An adjustment and what it came to."""

    title: str
    reason: str
    amount: Money


@frozen
class Price:
    """What a selection comes to.

    Attributes:
        currency: ISO 4217 code of every amount.
        groups: lines by group, in the catalogue's order; accepted add-ons last.
        deals: package deals applied.
        adjustments: adjustments applied, in order.
        tax: amounts before tax, tax, and total.
        tax_name: such as GST.
        tax_included: whether the lines have the tax in them.
        payments: title, percent and amount of each stage; they add up to the total.
        open: titles of what has no price yet; the total then is a "from" price.
        undecided: ids of choices that must still be made.
    """

    currency: str
    groups: tuple[PriceGroup, ...]
    deals: tuple[DealApplied, ...]
    adjustments: tuple[Adjusted, ...]
    tax: TaxTotal
    tax_name: str
    tax_included: bool
    payments: tuple[tuple[str, Decimal, Money], ...]
    open: tuple[str, ...]
    undecided: tuple[str, ...]

    @property
    def total(self) -> Money:
        """The price with tax."""
        return self.tax.total

    @property
    def is_from(self) -> bool:
        """Whether the total leaves something open."""
        return bool(self.open or self.undecided)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every line, in the order of the groups."""
        return tuple(line for group in self.groups for line in group.lines)


def price(catalogue: Catalogue, selection: Selection) -> Price:
    """The price of a selection, complete or partial.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(catalogue, selection)
    currency = catalogue.currency
    groups = tuple(_groups(catalogue, selection))
    lines = [line for group in groups for line in group.lines]
    amounts = {(line.choice, line.option): line.amount for line in lines if line.amount is not None}
    rates = {(line.choice, line.option): line.rate for line in lines}
    each = {(line.choice, line.option): line.each for line in lines if line.each is not None}
    deals = _deals(catalogue, lines)
    left = dict(amounts)
    for deal, applied in deals:
        in_set = {(p.choice, p.option): each[p.choice, p.option] * p.quantity for p in deal.picks}
        for key, share in _spread(-applied.saving, in_set).items():
            left[key] += share
    adjustments, on_nothing = [], []
    for adjustment in selection.adjustments:
        on = _adjusted_lines(catalogue, adjustment, left)
        amount = _adjustment(adjustment, Money.total(on.values(), currency))
        adjustments.append(Adjusted(adjustment.title, adjustment.reason, amount))
        if not on:
            on_nothing.append(TaxedAmount(amount, catalogue.tax.rates[0][0]))
        for key, share in _spread(amount, on).items():
            left[key] += share
    taxed = [TaxedAmount(amount, rates[key]) for key, amount in left.items()]
    total = tax_total(catalogue.tax, (*taxed, *on_nothing), currency)
    return Price(
        currency=currency,
        groups=groups,
        deals=tuple(applied for _, applied in deals),
        adjustments=tuple(adjustments),
        tax=total,
        tax_name=catalogue.tax.name,
        tax_included=catalogue.tax.included,
        payments=tuple(_payments(catalogue, total.total)),
        open=tuple(line.title for line in lines if line.amount is None),
        undecided=tuple(undecided(catalogue, selection)),
    )


def undecided(catalogue: Catalogue, selection: Selection) -> Iterator[str]:
    """Ids of the choices of one that have no pick, in the catalogue's order."""
    for choice in catalogue.choices:
        if choice.pick == "one" and choice.id not in selection.chosen:
            yield choice.id


def option_price(
    catalogue: Catalogue, selection: Selection, choice: Choice, option: Option, quantity: int = 1
) -> Line:
    """The option as a line, priced as it would be within the selection.

    Each is rounded half up to the currency's smallest unit before it is multiplied.
    """
    amount: Money | None = Money.zero(catalogue.currency)
    notes: list[str] = []
    why_open = ""
    for part in option.price:
        try:
            value, note = _part(catalogue, selection, part)
        except MissingPicks as missing:
            titles = [catalogue.by_id[c].title for c in missing.choices]
            why_open = f"hangs on {' and '.join(titles)}" if titles else str(missing)
            amount = None
            break
        if value is None:
            why_open, amount = part.note or "price on application", None
            break
        assert amount is not None
        amount += value
        notes += [note] if note else []
    each = amount.rounded() if amount is not None else None
    return Line(
        choice=choice.id,
        option=option.id,
        title=option.title,
        text=option.text,
        quantity=quantity,
        each=each,
        amount=each * quantity if each is not None else None,
        rate=option.tax or catalogue.tax.rates[0][0],
        why_open=why_open,
        notes=tuple(notes) if amount is not None else (),
    )


def _part(catalogue: Catalogue, selection: Selection, part: Part) -> tuple[Money | None, str]:
    currency = catalogue.currency
    match part.kind:
        case "fixed":
            assert part.amount is not None
            return Money(part.amount, currency), part.note
        case "table":
            return Money(table_cell(catalogue, selection, part), currency), part.note
        case "measure":
            assert part.rate is not None
            size, unit = measure(catalogue, selection, part.of)
            note = part.note or f"{round_to(size, 2)} {unit} at {part.rate}"
            return Money(part.rate, currency) * size, note
        case "labour":
            assert part.hours is not None
            rate = dict(catalogue.labour)[part.trade]
            return Money(rate, currency) * part.hours, part.note or f"{part.hours} h {part.trade}"
        case _:
            return None, part.note


def _groups(catalogue: Catalogue, selection: Selection) -> Iterator[PriceGroup]:
    lines: dict[str, list[Line]] = {group.id: [] for group in catalogue.groups}
    lines[ACCEPTED] = []
    for choice, option, quantity in known_picks(catalogue, selection):
        if choice.id == VEHICLE and not option.price:
            continue
        line = option_price(catalogue, selection, choice, option, quantity)
        lines[_group_of(catalogue, choice)].append(line)
    titles = {group.id: group.title for group in catalogue.groups} | {ACCEPTED: "Accepted extras"}
    for group_id, members in lines.items():
        if members:
            amounts = (line.amount for line in members if line.amount is not None)
            subtotal = Money.total(amounts, catalogue.currency)
            yield PriceGroup(group_id, titles[group_id], tuple(members), subtotal)


def _group_of(catalogue: Catalogue, choice: Choice) -> str:
    """Id of the group that the choice is priced in; a vehicle's own price stands in the first."""
    return ACCEPTED if choice.id == ADD_ON else choice.group or catalogue.groups[0].id


def _deals(catalogue: Catalogue, lines: Sequence[Line]) -> list[tuple[PackageDeal, DealApplied]]:
    """The package deals that together save most; no pick is used by two of them.

    Ties go to the deals that come first by id, so the order in the file means nothing.
    """
    each = {(line.choice, line.option): line.each for line in lines}
    held = {(line.choice, line.option): line.quantity for line in lines}
    worth: list[tuple[PackageDeal, DealApplied]] = []
    for deal in sorted(catalogue.package_deals, key=lambda deal: deal.id):
        prices = [(each.get((p.choice, p.option)), p.quantity) for p in deal.picks]
        if any(price is None for price, _ in prices) or any(
            held.get((p.choice, p.option), 0) < p.quantity for p in deal.picks
        ):
            continue
        listed = Money.total((p * n for p, n in prices if p is not None), catalogue.currency)
        cost = Money(deal.price, catalogue.currency)
        if cost < listed:
            saving = listed - cost
            worth.append((deal, DealApplied(deal.id, deal.title, deal.text, listed, cost, saving)))
    chosen = _best_deals(worth, held)
    return [pair for pair in worth if pair in chosen]


def _best_deals(
    worth: Sequence[tuple[PackageDeal, DealApplied]], held: Mapping[tuple[str, str], int]
) -> list[tuple[PackageDeal, DealApplied]]:
    """Branch and bound over the deals: take the next one or leave it."""
    best: list[tuple[PackageDeal, DealApplied]] = []
    best_saving = Decimal(0)
    rest = [Decimal(0)]
    for _, applied in reversed(worth):
        rest.append(rest[-1] + applied.saving.amount)
    rest.reverse()

    def visit(
        index: int,
        left: dict[tuple[str, str], int],
        taken: list[tuple[PackageDeal, DealApplied]],
        saving: Decimal,
    ) -> None:
        nonlocal best, best_saving
        if saving > best_saving:
            best, best_saving = list(taken), saving
        if index == len(worth) or saving + rest[index] <= best_saving:
            return
        deal, applied = worth[index]
        after = dict(left)
        for pick in deal.picks:
            after[pick.choice, pick.option] -= pick.quantity
        if min(after.values()) >= 0:
            visit(index + 1, after, [*taken, worth[index]], saving + applied.saving.amount)
        visit(index + 1, left, taken, saving)

    visit(0, dict(held), [], Decimal(0))
    return best


def _adjusted_lines(
    catalogue: Catalogue, adjustment: Adjustment, left: Mapping[tuple[str, str], Money]
) -> dict[tuple[str, str], Money]:
    """The lines an adjustment is on, with what is left of each."""

    def group_of(choice: str) -> str:
        return _group_of(catalogue, catalogue.by_id[choice])

    if adjustment.line:
        choice, _, option = adjustment.line.partition("=")
        return {k: v for k, v in left.items() if k == (choice, option)}
    if adjustment.group:
        return {k: v for k, v in left.items() if group_of(k[0]) == adjustment.group}
    return dict(left)


def _adjustment(adjustment: Adjustment, base: Money) -> Money:
    """What the adjustment comes to, rounded half up to the currency's smallest unit."""
    if adjustment.percent is not None:
        return (base * (adjustment.percent / 100)).rounded()
    assert adjustment.amount is not None
    return Money(adjustment.amount, base.currency).rounded()


def _spread(amount: Money, over: Mapping[tuple[str, str], Money]) -> dict[tuple[str, str], Money]:
    """The amount shared out over lines in proportion, to the smallest unit; the shares add up.

    Shares decide which tax rate an amount falls under. Credits take none beside lines above zero:
    where they nearly cancel those, shares would grow out of all proportion. What rounding leaves
    goes to the largest line.
    """
    over = {key: line for key, line in over.items() if line.amount > 0} or over
    whole = Money.total(over.values(), amount.currency)
    keys = sorted(over)
    if not keys:
        return {}
    if not whole:
        return {keys[0]: amount}
    shares = {}
    digits = exponent(amount.currency)
    for key in keys:
        part = amount.amount * over[key].amount / whole.amount
        shares[key] = Money(round_to(part, digits), amount.currency)
    largest = max(keys, key=lambda key: (over[key].amount, key))
    shares[largest] += amount - Money.total(shares.values(), amount.currency)
    return shares


def _payments(catalogue: Catalogue, total: Money) -> Iterator[tuple[str, Decimal, Money]]:
    """Stages of payment, each rounded half up; the last takes what rounding leaves."""
    left = total
    *stages, last = catalogue.quote.payments
    for stage in stages:
        amount = (total * (stage.percent / 100)).rounded()
        left -= amount
        yield stage.title, stage.percent, amount
    yield last.title, last.percent, left
