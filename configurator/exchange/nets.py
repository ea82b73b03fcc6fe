"""A price with every amount net of tax, to the cent, as documents with tax apart need it.

Our prices may hold their tax. The cents that this leaves are spread by largest remainder, once for
each tax rate, so that lines, allowances and charges of a rate add up to what is taxed at it. The
tax of a rate is then the rate of that sum (EN 16931, BR-CO-17), rounded half up. Where a price
holds its tax, that may be a cent beside the tax of the quote: no two amounts of whole cents would
do then. The payable amount is the quote's all the same: the cent is in its rounding.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from math import floor

from attrs import frozen

from configurator.money import Money, exponent, round_to
from configurator.pricing.lines import Line
from configurator.pricing.price import Price


@frozen
class NetLine:
    """A line without tax.

    Attributes:
        line: the priced line.
        net: what all of it comes to; None while its price is open.
        percent: its tax rate.
    """

    line: Line
    net: Money | None
    percent: Decimal


@frozen
class NetChange:
    """An allowance, or a charge, on the whole document at one tax rate.

    Attributes:
        title: what the customer reads, with the reason.
        net: what it adds, without tax; below zero for an allowance.
        percent: the tax rate.
    """

    title: str
    net: Money
    percent: Decimal


@frozen
class NetRate:
    """What is taxed at one rate, and the tax."""

    percent: Decimal
    taxable: Money
    tax: Money


@frozen
class NetPrice:
    """A price with its amounts without tax; they add up as EN 16931 has it (BR-CO-10 to 17).

    Attributes:
        lines: in the order of the quote.
        changes: deals, adjustments and rounding, in the order in which they were entered.
        rates: what is taxed at each rate.
        prepaid: what has been taken in payment.
        rounding: what brings the rest to what is payable.
        payable: what is to be paid.
    """

    lines: tuple[NetLine, ...]
    changes: tuple[NetChange, ...]
    rates: tuple[NetRate, ...]
    prepaid: Money
    rounding: Money
    payable: Money

    @property
    def on_lines(self) -> Money:
        """The sum of the lines."""
        return self._sum(line.net for line in self.lines if line.net is not None)

    @property
    def allowances(self) -> Money:
        """What comes off them; zero or more."""
        return self._sum(-one.net for one in self.changes if one.net.amount < 0)

    @property
    def charges(self) -> Money:
        """What is put on them."""
        return self._sum(one.net for one in self.changes if one.net.amount > 0)

    @property
    def before_tax(self) -> Money:
        """All of it without tax."""
        return self._sum(rate.taxable for rate in self.rates)

    @property
    def tax(self) -> Money:
        """The tax."""
        return self._sum(rate.tax for rate in self.rates)

    def _sum(self, amounts: Iterator[Money]) -> Money:
        return Money.total(amounts, self.payable.currency)


def net_price(price: Price) -> NetPrice:
    """The price with its amounts without tax."""
    currency, lines = price.currency, price.lines
    percents = {share.rate: share.percent for share in price.tax.by_rate}
    shares = [(one, share) for one in price.entered for share in one.shares]
    listed = [(line.rate, line.amount) for line in lines if line.amount is not None]
    listed += [(share.rate, share.amount) for _, share in shares]
    nets: list[Money] = [Money.zero(currency)] * len(listed)
    taxables: dict[Decimal, Money] = {}
    for _, percent, taxable, _ in price.tax.by_rate:
        taxables[percent] = taxables.get(percent, Money.zero(currency)) + taxable
    rates = []
    for percent, taxable in taxables.items():
        places = [place for place, (name, _) in enumerate(listed) if percents[name] == percent]
        factor = 100 / (100 + Fraction(percent)) if price.tax_included else Fraction(1)
        exact = [Fraction(listed[place][1].amount) * factor for place in places]
        spread = spread_out(taxable, exact)
        for place, net in zip(places, spread, strict=True):
            nets[place] = net
        tax = round_to(Fraction(taxable.amount) * Fraction(percent) / 100, exponent(currency))
        rates.append(NetRate(percent, taxable, Money(tax, currency)))
    of_lines = iter(nets)
    found = tuple(
        NetLine(
            line,
            None if line.amount is None else next(of_lines),
            percents.get(line.rate, Decimal(0)),
        )
        for line in lines
    )
    changes = tuple(
        NetChange(f"{one.title}: {one.reason}" if one.reason else one.title, net, percents[s.rate])
        for (one, s), net in zip(shares, of_lines, strict=True)
        if net
    )
    prepaid = Money.total((taken.amount for taken in price.trade_ins), currency)
    total = Money.total((m for rate in rates for m in (rate.taxable, rate.tax)), currency)
    rounding = price.to_pay - (total - prepaid)
    return NetPrice(found, changes, tuple(rates), prepaid, rounding, price.to_pay)


def spread_out(whole: Money, exact: Sequence[Fraction]) -> list[Money]:
    """Amounts of whole cents near the exact ones, which add up to the whole: largest remainder.

    What is nothing stays nothing, unless there is nothing else.
    """
    digits = exponent(whole.currency)
    units = [one * 10**digits for one in exact]
    floors = [floor(one) for one in units]
    rest = int(whole.amount.scaleb(digits)) - sum(floors)
    order = sorted(range(len(units)), key=lambda n: (floors[n] - units[n], n))
    order = [n for n in order if units[n]] or order
    if rest < 0:
        order.reverse()
    for turn in range(abs(rest)):
        floors[order[turn % len(order)]] += 1 if rest > 0 else -1
    return [Money(Decimal(one).scaleb(-digits), whole.currency) for one in floors]
