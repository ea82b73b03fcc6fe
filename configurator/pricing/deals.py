"""Package deals: found where they help the customer, the best set of them, no pick used twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue, PackageDeal
from configurator.money import Money
from configurator.pricing.lines import Line

__all__ = ["DealApplied", "best_deals"]


@frozen
class DealApplied:
    """A package deal that the picks fulfil: what its set costs listed, and what it saves."""

    id: str
    title: str
    text: str
    listed: Money
    price: Money
    saving: Money


def best_deals(
    catalogue: Catalogue, lines: Sequence[Line]
) -> list[tuple[PackageDeal, DealApplied]]:
    """The package deals that together save most; no pick is used by two of them.

    Ties go to the deals that come first by id, so the order in the file means nothing.
    """
    each = {line.key: line.each for line in lines}
    held = {line.key: line.quantity for line in lines}
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
    chosen = _best(worth, held)
    return [pair for pair in worth if pair in chosen]


def _best(
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
