"""What the shop earns on a selection: cost and margin by line and in total, without tax.

For the shop's eyes only. No paper and no other answer imports this module; a test reads the
imports to keep it so.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import FREE_LINE, Catalogue, Option, Part
from configurator.forms import form
from configurator.money import Money, round_to
from configurator.pricing.tax import TaxedAmount, without_tax
from configurator.pricing.trace import trace
from configurator.pricing.whole import Line, Price
from configurator.selection.free_lines import FREE_LINES
from configurator.selection.resolved import Resolved
from configurator.totals import MissingPicks, measure, table_cell

__all__ = ["Margin", "MarginLine", "margin"]


@form(inline="line", also="margin percent")
@frozen
class MarginLine:
    """What one line brings and costs, without tax.

    Attributes:
        line: the priced line.
        supplier: who supplies it, with their part number, or empty; of a free line, that it is one.
        net: what is left of it after deals, adjustments and rounding; None while it is open.
        cost: what the shop pays for all of it; None while nobody has said.
    """

    line: Line
    supplier: str
    net: Money | None
    cost: Money | None

    @property
    def margin(self) -> Money | None:
        """What it earns; None unless both are known."""
        return None if self.net is None or self.cost is None else self.net - self.cost

    @property
    def percent(self) -> Decimal | None:
        """The margin in percent of what it brings, to a tenth; None where that means nothing."""
        return _percent(self.margin, self.net)


@form("margin", also="currency margin percent")
@frozen
class Margin:
    """What a selection earns.

    Attributes:
        lines: every line.
        net: what the lines with a known cost bring together.
        cost: what they cost.
        unknown: titles of what has no cost or no price, and is in neither.
    """

    lines: tuple[MarginLine, ...]
    net: Money
    cost: Money
    unknown: tuple[str, ...]

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.net.currency

    @property
    def margin(self) -> Money:
        """What they earn."""
        return self.net - self.cost

    @property
    def percent(self) -> Decimal | None:
        """The margin in percent of what they bring, to a tenth."""
        return _percent(self.margin, self.net)


def _percent(part: Money | None, of: Money | None) -> Decimal | None:
    if part is None or of is None or of.amount <= 0:
        return None
    return round_to(part.amount * 100 / of.amount, 1)


def margin(build: Resolved, priced: Price) -> Margin:
    """What the shop earns on the price of the selection.

    An option without any price and without a cost costs nothing. Amounts without tax add up to what
    the price says that the lines come to before tax.
    """
    traced = trace(build, priced)
    taxed = [TaxedAmount(t.left, t.line.rate) for t in traced if t.left is not None]
    nets = iter(without_tax(build.catalogue.tax, taxed, build.catalogue.currency))
    lines = tuple(_line(build, t.line, None if t.left is None else next(nets)) for t in traced)
    counted = [line for line in lines if line.margin is not None]
    return Margin(
        lines,
        _sum(build.catalogue, (line.net for line in counted)),
        _sum(build.catalogue, (line.cost for line in counted)),
        tuple(line.line.title for line in lines if line.margin is None),
    )


def _sum(catalogue: Catalogue, amounts: Iterable[Money | None]) -> Money:
    known = (amount for amount in amounts if amount is not None)
    return Money.total(known, catalogue.currency)


def _line(build: Resolved, line: Line, net: Money | None) -> MarginLine:
    option = build.choices[line.choice].by_id[line.option]
    each = cost_of(build, option, line)
    cost = None if each is None else each.rounded() * line.quantity
    trade = build.catalogue.trade_of(line.choice, line.option)
    supplier = " ".join(filter(None, (trade.supplier, trade.supplier_code)))
    if line.choice == FREE_LINE:
        supplier = FREE_LINES
    return MarginLine(line, supplier, net, cost)


def cost_of(build: Resolved, option: Option, line: Line) -> Money | None:
    """What one costs the shop: its cost and the suppliers' prices in its price."""
    day = build.catalogue.price_day
    trade = build.catalogue.trade_of(line.choice, line.option)
    bought = [p for p in trade.bought if p.counts_on(day)]
    others = [p for p in option.price if p.kind != "markup" and p.counts_on(day)]
    free = line.each is not None and not line.each and not bought
    if not trade.cost and others and not free:
        return None
    total = Money.zero(build.catalogue.currency)
    try:
        for part in (*trade.cost, *bought):
            total += Money(_cost_part(build, part), build.catalogue.currency)
    except MissingPicks:
        return None
    return total


def _cost_part(build: Resolved, part: Part) -> Decimal:
    if part.kind == "table":
        return table_cell(build, part)
    if part.kind == "measure":
        assert part.rate is not None
        return part.rate * measure(build, part.of)[0]
    assert part.amount is not None
    return part.amount
