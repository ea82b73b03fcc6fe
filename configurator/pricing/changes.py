"""What changes the lines of a price: package deals, adjustments, and rounding to a round amount.

Package deals are found where they help the customer, the best of them, no pick used twice. A deal
counts once for each set of its picks that is there, or once in all where it says so. What it saves
is taken off the lines of its sets only, shared out in proportion to what each of them brings to the
set: see :func:`shared_out`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cache

from attrs import frozen

from configurator.catalogue.model import (
    ADD_ON,
    FREE_LINE,
    Catalogue,
    Choice,
    Option,
    PackageDeal,
)
from configurator.catalogue.shop import Rounding
from configurator.money import Money, exponent, round_to, round_to_steps
from configurator.pricing.lines import Key, Line
from configurator.selection.picks import Adjustment
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import Text, several, text


@form(hidden="text", keys={"id": "deal"})
@frozen(repr=False)
class DealApplied:
    """A package deal that the picks fulfil.

    Attributes:
        id: of the deal.
        title: what the customer reads.
        text: a sentence more, or empty.
        times: how many sets of its picks get it.
        listed: what those sets cost listed, all together.
        price: what they cost as deals, all together.
        saving: the one less the other.
    """

    id: str
    title: str
    text: str
    times: int
    listed: Money
    price: Money
    saving: Money

    @property
    def name(self) -> str:
        """The title, with how many sets get it where that is more than one."""
        return several(self.times, self.title)


@form()
@frozen(repr=False)
class DealChange:
    """A package deal that a change begins or ends, or has more or fewer sets of.

    Attributes:
        title: what the customer reads.
        saving: what it saves more than before; below zero where it saves less.
    """

    title: str
    saving: Money

    @property
    def brief(self) -> Text:
        """The same where room is scarce."""
        if self.saving.amount > 0:
            return text("with {deal}", deal=self.title)
        return text("without {deal}", deal=self.title)

    @property
    def told(self) -> Text:
        """The deal beside a figure that it is in."""
        if self.saving.amount > 0:
            return text(
                "with the package deal {title}, which saves {saving}",
                title=self.title,
                saving=self.saving,
            )
        return text(
            "without the package deal {title}, which saves {saving}",
            title=self.title,
            saving=-self.saving,
        )


def deal_changes(
    before: Iterable[DealApplied], after: Iterable[DealApplied]
) -> tuple[DealChange, ...]:
    """What a change does to package deals, those that end before those that begin."""
    old, new = ({deal.id: deal for deal in deals} for deals in (before, after))
    found = []
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name), new.get(name)
        if was is None or now is None or was.times != now.times:
            one = now or was
            assert one is not None
            zero = Money.zero(one.saving.currency)
            saving = (now.saving if now else zero) - (was.saving if was else zero)
            found.append(DealChange(one.title, saving))
    return tuple(sorted(found, key=lambda one: one.saving.amount > 0))


@frozen(eq=False, repr=False)
class _Worth:
    """A deal that saves something here: what its set costs listed, and how many sets there are."""

    deal: PackageDeal
    listed: Money
    saving: Money
    most: int


def best_deals(
    catalogue: Catalogue, lines: Sequence[Line]
) -> list[tuple[PackageDeal, DealApplied]]:
    """The package deals that together save most; no pick is used by two sets.

    Ties go to the deals that come first by id, so the order in the file means nothing.
    """
    each = {line.key: line.each for line in lines}
    held = {line.key: line.quantity for line in lines if isinstance(line.quantity, int)}
    worth: list[_Worth] = []
    for deal in sorted(catalogue.package_deals, key=lambda deal: deal.id):
        most = min(held.get((p.choice, p.option), 0) // p.quantity for p in deal.picks)
        prices = [(each.get((p.choice, p.option)), p.quantity) for p in deal.picks]
        if not most or any(price is None for price, _ in prices):
            continue
        listed = Money.total((p * n for p, n in prices if p is not None), catalogue.currency)
        saving = listed - Money(deal.price, catalogue.currency)
        if saving.amount > 0:
            worth.append(_Worth(deal, listed, saving, most if deal.times == "each" else 1))
    return [
        (one.deal, _applied(one, times))
        for one, times in zip(worth, _best(worth, held), strict=True)
        if times
    ]


def open_deals(catalogue: Catalogue, lines: Iterable[Line]) -> dict[str, int]:
    """How many sets there are of each deal whose saving is open, by the id of the deal."""
    held = {line.key: line for line in lines}
    found: dict[str, int] = {}
    for deal in catalogue.package_deals:
        some = [(held.get(pick.key), pick.quantity) for pick in deal.picks]
        if any(line is not None and line.amount is None for line, _ in some):
            sets = min(0 if line is None else int(line.quantity) // n for line, n in some)
            found[deal.id] = min(sets, most_times(catalogue, deal))
    return {name: times for name, times in found.items() if times}


def most_times(catalogue: Catalogue, deal: PackageDeal) -> int:
    """How often the deal can count at most, whatever is picked."""
    if deal.times == "once":
        return 1
    sets = []
    for pick in deal.picks:
        choice = catalogue.by_id[pick.choice]
        most = choice.by_id[pick.option].most if choice.pick == "several" else 1
        if choice.at_most is not None:
            most = min(most, choice.at_most)
        sets.append(most // pick.quantity)
    return min(sets)


def _applied(one: _Worth, times: int) -> DealApplied:
    deal = one.deal
    listed, saving = one.listed * times, one.saving * times
    return DealApplied(deal.id, deal.title, deal.text, times, listed, listed - saving, saving)


def _best(worth: Sequence[_Worth], held: Mapping[Key, int]) -> tuple[int, ...]:
    """How often each of the deals counts: the most saved, then the first of them most often.

    Each deal is counted as often as can be, or less often; what is best for those after it hangs
    on nothing but what is left of the picks that they use.
    """
    uses = [{(p.choice, p.option): p.quantity for p in one.deal.picks} for one in worth]
    after: list[tuple[Key, ...]] = [()]
    for some in reversed(uses):
        after.append(tuple(sorted({*after[-1], *some})))
    after.reverse()

    @cache
    def best(index: int, left: tuple[int, ...]) -> tuple[Decimal, tuple[int, ...]]:
        if index == len(worth):
            return Decimal(0), ()
        there = dict(zip(after[index], left, strict=True))
        most = min(there[key] // n for key, n in uses[index].items())
        found: tuple[Decimal, tuple[int, ...]] | None = None
        for times in range(min(most, worth[index].most), -1, -1):
            rest = tuple(there[key] - times * uses[index].get(key, 0) for key in after[index + 1])
            saved, counts = best(index + 1, rest)
            saved += times * worth[index].saving.amount
            if found is None or saved > found[0]:
                found = saved, (times, *counts)
        assert found is not None
        return found

    return best(0, tuple(held[key] for key in after[0]))[1]


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
    adjustment: Adjustment,
    left: Mapping[Key, Money],
    groups: Mapping[Key, str],
    rates: Mapping[Key, str],
) -> dict[Key, Money]:
    """The lines an adjustment is on, with what is left of each, by their groups and rates."""
    return {
        key: amount
        for key, amount in left.items()
        if (not adjustment.line or key == adjustment.line.key)
        and adjustment.group in ("", groups[key])
        and adjustment.tax in ("", rates[key])
    }


def adjustment_amount(adjustment: Adjustment, base: Money) -> Money:
    """What the adjustment comes to, rounded half up to the currency's smallest unit."""
    if adjustment.percent is not None:
        return (base * (adjustment.percent / 100)).rounded()
    assert adjustment.amount is not None
    return Money(adjustment.amount, base.currency).rounded()


def rounding_amount(rounding: Rounding | None, whole: Money) -> Money:
    """What brings the whole to a round amount, as the catalogue says; zero when it says none."""
    if rounding is None:
        return Money.zero(whole.currency)
    mode = {"nearest": "half-up"}.get(rounding.mode, rounding.mode)
    to = round_to_steps(whole.amount, rounding.to, mode)
    return (Money(to, whole.currency) - whole).rounded()


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
    not make room for them. Exactly at the limit is allowed; a limit in per cent is rounded as a
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
