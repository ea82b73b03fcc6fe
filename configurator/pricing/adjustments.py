"""Discounts and surcharges: what each is on, what it comes to, and whose word it needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import ADD_ON, FREE_LINE, Catalogue, Choice, Option
from configurator.forms import form
from configurator.money import Money, exponent, round_to, round_to_steps
from configurator.selection.picks import Adjustment
from configurator.selection.resolved import Resolved

Key = tuple[str, str]


@form()
@frozen(repr=False)
class Adjusted:
    """An adjustment and what it came to.

    Attributes:
        title: what the customer reads.
        reason: why.
        amount: what it came to; negative for a discount.
    """

    title: str
    reason: str
    amount: Money


def group_of(catalogue: Catalogue, choice: Choice, option: Option) -> str:
    """Id of the group that the option is priced in; a vehicle's own price is in the first."""
    own = choice.id if choice.id in (ADD_ON, FREE_LINE) else catalogue.groups[0].id
    return option.group or choice.group or own


def adjusted_lines(
    adjustment: Adjustment, left: Mapping[Key, Money], groups: Mapping[Key, str]
) -> dict[Key, Money]:
    """The lines an adjustment is on, with what is left of each; the group of each is known."""
    if adjustment.line:
        return {k: v for k, v in left.items() if k == adjustment.line.key}
    if adjustment.group:
        return {k: v for k, v in left.items() if groups[k] == adjustment.group}
    return dict(left)


def adjustment_amount(adjustment: Adjustment, base: Money) -> Money:
    """What the adjustment comes to, rounded half up to the currency's smallest unit."""
    if adjustment.percent is not None:
        return (base * (adjustment.percent / 100)).rounded()
    assert adjustment.amount is not None
    return Money(adjustment.amount, base.currency).rounded()


def rounding_amount(catalogue: Catalogue, package: Money) -> Money:
    """What brings the package to a round amount, as the catalogue says; zero when it says none."""
    if catalogue.rounding is None:
        return Money.zero(package.currency)
    mode = {"nearest": "half-up"}.get(catalogue.rounding.mode, catalogue.rounding.mode)
    to = round_to_steps(package.amount, catalogue.rounding.to, mode)
    return (Money(to, package.currency) - package).rounded()


def shared_out(amount: Money, over: Mapping[Key, Money]) -> dict[Key, Money]:
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


def unapproved(
    build: Resolved, package: Money, adjusted: Sequence[Adjusted]
) -> tuple[Money, Money] | None:
    """Discounts without an approver's name, and how far they may go, when they go further.

    Discounts are counted together, so that none is split to pass below the limit; surcharges do
    not make room for them. Exactly at the limit is allowed; a limit in percent is rounded as a
    discount of that percent is.

    Args:
        build: what is picked, from which catalogue.
        package: the lines after package deals.
        adjusted: what the adjustments came to, in the same order.
    """
    if build.catalogue.approval is None:
        return None
    given = zip(build.selection.adjustments, adjusted, strict=True)
    off = Money.total(
        (-a.amount for said, a in given if a.amount.amount < 0 and not said.approver),
        package.currency,
    )
    allowed = []
    if build.catalogue.approval.percent is not None:
        share = max(package.amount, Decimal(0)) * build.catalogue.approval.percent / 100
        allowed.append(Money(share, package.currency).rounded())
    if build.catalogue.approval.amount is not None:
        allowed.append(Money(build.catalogue.approval.amount, package.currency))
    may = min(allowed, key=lambda money: money.amount)
    return (off, may) if off > may else None
