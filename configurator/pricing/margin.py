"""What the shop earns on a selection: cost and margin by line and in total, without tax.

For the shop's eyes only. No paper and no other answer imports this module; a test reads the
imports to keep it so.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import FREE_LINE, Option
from configurator.catalogue.parts import UnitPrice
from configurator.money import Money, round_to
from configurator.pricing.lines import Line
from configurator.pricing.price import price
from configurator.pricing.tax import TaxedAmount, without_tax
from configurator.selection.picks import FREE_LINES
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, part_total
from configurator.shapes.forms import form


@form(inline="line", also="margin percent")
@frozen(repr=False)
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
        """The margin in per cent of what it brings, to a tenth; None where that means nothing."""
        return _percent(self.margin, self.net)


@form("margin", also="currency margin percent")
@frozen(repr=False)
class Margin:
    """What a selection earns, every amount without tax.

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
        """The margin in per cent of what they bring, to a tenth."""
        return _percent(self.margin, self.net)


def _percent(part: Money | None, of: Money | None) -> Decimal | None:
    if part is None or of is None or of.amount <= 0:
        return None
    return round_to(part.amount * 100 / of.amount, 1)


def margin(build: Resolved) -> Margin:
    """What the shop earns on the price of the selection.

    An option without any price and without a cost costs nothing. Amounts without tax add up to what
    the price says that the lines come to before tax.
    """
    catalogue, traced = build.catalogue, price(build).traced
    left = [(line, line.left) for line in traced]
    taxed = [TaxedAmount(amount, t.line.rate) for t, amount in left if amount is not None]
    nets = iter(without_tax(catalogue.tax, taxed, catalogue.currency))
    lines = tuple(
        _line(build, t.line, None if amount is None else next(nets)) for t, amount in left
    )
    counted = [line for line in lines if line.margin is not None]
    return Margin(
        lines,
        Money.total((line.net for line in counted if line.net), catalogue.currency),
        Money.total((line.cost for line in counted if line.cost), catalogue.currency),
        tuple(line.line.title for line in lines if line.margin is None),
    )


def _line(build: Resolved, line: Line, net: Money | None) -> MarginLine:
    option = build.choices[line.choice].by_id[line.option]
    each = cost_of(build, option, line)
    cost = None if each is None else (each * line.quantity).rounded()
    trade = build.catalogue.trade_of(line.choice, line.option)
    supplier = " ".join(filter(None, (trade.supplier, trade.supplier_code)))
    return MarginLine(line, FREE_LINES if line.choice == FREE_LINE else supplier, net, cost)


def cost_of(build: Resolved, option: Option, line: Line) -> Money | None:
    """What one costs the shop: its cost and the suppliers' prices in its price.

    It is rounded half up, unless one of these is a unit price, which may be finer.
    """
    day = build.catalogue.price_day
    trade = build.catalogue.trade_of(line.choice, line.option)
    bought = [p for p in trade.bought if p.counts_on(day)]
    others = [p for p in option.price if p.kind != "markup" and p.counts_on(day)]
    free = line.each is not None and not line.each and not bought
    if not trade.cost and others and not free:
        return None
    currency = build.catalogue.currency
    try:
        parts = [Money(part_total(build, part), currency) for part in (*trade.cost, *bought)]
    except MissingPicks:
        return None
    each = Money.total(parts, currency)
    finer = any(isinstance(part, UnitPrice) for part in (*trade.cost, *bought))
    return each if finer else each.rounded()
