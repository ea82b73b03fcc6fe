"""Tax on a set of amounts: rate, in or out of the price, and where it is rounded.

Sources: A New Tax System (Goods and Services Tax) Act 1999 s 9-90 for the document and line
bases with half a cent rounded up; EN 16931 BR-CO-17 for the category basis.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.catalogue.shop import Tax
from configurator.money import Money, exponent, round_to
from configurator.shapes.forms import Unpacked, form


@frozen
class TaxedAmount:
    """An amount as the catalogue prices it (tax in or out), and the rate it is taxed at."""

    amount: Money
    rate: str


@form(keys={"before": "before-tax"})
@frozen(repr=False)
class TaxShare(Unpacked):
    """Tax at one rate.

    Attributes:
        rate: name of the rate.
        percent: its percent.
        before: what is taxed at it, without the tax.
        tax: the tax.
    """

    rate: str
    percent: Decimal
    before: Money
    tax: Money


@form(hidden="total", keys={"before": "before-tax", "by_rate": "tax-by-rate"})
@frozen(repr=False)
class TaxTotal:
    """Tax in a set of amounts, rounded as the catalogue says.

    Attributes:
        before: the amounts without tax.
        tax: the tax, to the currency's smallest unit.
        total: with tax; ``before + tax`` exactly.
        by_rate: rate name, percent, amount before tax and tax of it. On the document basis only
            the total is rounded by law; the shares are rounded so that they add up to it.
    """

    before: Money
    tax: Money
    total: Money
    by_rate: tuple[TaxShare, ...]


def tax_total(tax: Tax, amounts: Sequence[TaxedAmount], currency: str) -> TaxTotal:
    """Tax on the amounts. Rounds at named points only: see ``Tax.basis``.

    Exact fractions until then: a tenth in a price of eleven tenths has no finite decimals.
    """
    percents = dict(tax.rates)
    digits = exponent(currency)
    line_digits = digits if tax.line_decimals is None else tax.line_decimals
    exact: dict[str, Fraction] = {}
    gross: dict[str, Money] = {}
    by_rate: dict[str, list[Money]] = {}
    for item in amounts:
        by_rate.setdefault(item.rate, []).append(item.amount)
    for rate, taxed in by_rate.items():
        percent = percents[rate]
        gross[rate] = Money.total(taxed, currency)
        exact[rate] = (
            sum(
                (
                    Fraction(
                        round_to(_exact_tax(one, percent, tax.included), line_digits, tax.mode)
                    )
                    for one in taxed
                ),
                Fraction(0),
            )
            if tax.basis == "line"
            else _exact_tax(gross[rate], percent, tax.included)
        )
    if tax.basis == "category":
        exact = {name: Fraction(round_to(s, digits, tax.mode)) for name, s in exact.items()}
    whole = Money(round_to(sum(exact.values(), Fraction(0)), digits, tax.mode), currency)
    listed = Money.total(gross.values(), currency).rounded(tax.mode)
    before, total = (listed - whole, listed) if tax.included else (listed, listed + whole)
    return TaxTotal(before, whole, total, _shares(tax, exact, gross, whole, listed))


def with_tax(tax: Tax, amount: Money) -> Money:
    """The total of an amount, all of it at the first rate and its tax rounded on the whole."""
    listed = amount.rounded(tax.mode)
    if tax.included:
        return listed
    exact = _exact_tax(amount, tax.rates[0][1], included=False)
    return listed + Money(round_to(exact, exponent(amount.currency), tax.mode), amount.currency)


def without_tax(tax: Tax, amounts: Sequence[TaxedAmount], currency: str) -> list[Money]:
    """Each amount without its tax, half up to the smallest unit; they add up to ``before``.

    What rounding leaves goes to the largest amount of its rate, as in :class:`TaxTotal`.
    """
    if not tax.included:
        return [item.amount.rounded() for item in amounts]
    digits, percents = exponent(currency), dict(tax.rates)
    nets = []
    for item in amounts:
        exact = Fraction(item.amount.amount)
        exact -= _exact_tax(item.amount, percents[item.rate], included=True)
        nets.append(Money(round_to(exact, digits, "half-up"), currency))
    for rate, _, before, _ in tax_total(tax, amounts, currency).by_rate:
        places = [place for place, item in enumerate(amounts) if item.rate == rate]
        largest = max(places, key=lambda place: (abs(amounts[place].amount.amount), -place))
        nets[largest] += before - Money.total((nets[place] for place in places), currency)
    return nets


def _exact_tax(amount: Money, percent: Decimal, included: bool) -> Fraction:
    base, rate = Fraction(amount.amount), Fraction(percent)
    return base * rate / (100 + rate) if included else base * rate / 100


def _shares(
    tax: Tax,
    exact: dict[str, Fraction],
    gross: dict[str, Money],
    whole: Money,
    listed: Money,
) -> tuple[TaxShare, ...]:
    currency, digits = whole.currency, exponent(whole.currency)
    names = [name for name, _ in tax.rates if name in exact]
    rounded = {n: Money(round_to(exact[n], digits, tax.mode), currency) for n in names}
    amounts = {n: gross[n].rounded(tax.mode) for n in names}
    if names:
        largest = max(names, key=lambda name: (abs(gross[name].amount), name))
        rounded[largest] += whole - Money.total(rounded.values(), currency)
        amounts[largest] += listed - Money.total(amounts.values(), currency)
    percents = dict(tax.rates)
    return tuple(
        TaxShare(
            n, percents[n], amounts[n] - rounded[n] if tax.included else amounts[n], rounded[n]
        )
        for n in names
    )
