"""Quotes as open-standard quotations: OASIS's schema, EN 16931's sums, nothing for the shop's eyes.

The schema is that of UBL 2.1; the rules are BR-CO-10 to BR-CO-17 of EN 16931, to the last unit.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from configurator import Shop, open_shop
from configurator.build import Build
from configurator.catalogue.reading import shipped
from configurator.exchange.nets import spread_out
from configurator.exchange.quotation import quotation_xml
from configurator.money import Money, exponent
from configurator.report.quote import Quote
from configurator.selection.picks import Adjustment, Customer
from tests.support.price_oracle import Case, cases
from tests.support.steady import STEADY
from tests.support.ubl import broken_rules, number, read, texts

DAY = dt.date(2026, 8, 3)
SHIPPED = sorted(
    path.name for path in Path(str(shipped("catalogues") / "selections")).glob("*.yaml")
)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop(None, DAY)


def shipped_build(shop: Shop, name: str) -> Build:
    build = shop.build(str(shipped("catalogues") / "selections" / name))
    return build.pick("canopy-height", "1000mm") if build.check().stops else build


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_quote_is_a_valid_quotation_whose_sums_hold(shop: Shop, name: str) -> None:
    quote = shipped_build(shop, name).quote("Q-2041", DAY)
    root = read("Quotation", quotation_xml(quote))
    assert list(broken_rules(root, 2)) == []
    total = "cac:QuotedMonetaryTotal/cbc:"
    assert number(root, f"{total}PayableAmount") == quote.price.to_pay.amount
    assert number(root, f"{total}TaxExclusiveAmount") == quote.price.tax.before.amount
    assert texts(root, "cac:QuotationLine/cac:LineItem/cac:Item/cbc:Name") == [
        line.title for line in quote.price.lines
    ]
    assert texts(root, "cac:ValidityPeriod/cbc:EndDate") == [quote.valid_until.isoformat()]
    assert texts(root, "cac:SellerSupplierParty/cac:Party/cac:PartyName/cbc:Name") == [
        quote.shop.name
    ]


def test_two_hundred_random_quotes_are_valid_and_their_sums_hold(shop: Shop) -> None:
    base = shipped_build(shop, "contractor.yaml").quote("Q-1", DAY)
    seen: Counter[str] = Counter()

    @settings(STEADY, max_examples=200)
    @given(cases(), st.text(min_size=1, max_size=30), st.text(max_size=30))
    def told(case: Case, name: str, note: str) -> None:
        price = case.price()
        if not price.lines:
            return
        quote = evolve(base, price=price, customer=Customer(f"N{name}"), notes=(note,))
        content = quotation_xml(quote)
        assert content == quotation_xml(quote)
        root = read("Quotation", content)
        assert list(broken_rules(root, exponent(price.currency))) == []
        total = "cac:QuotedMonetaryTotal/cbc:"
        assert number(root, f"{total}PayableAmount") == price.to_pay.amount
        assert number(root, f"{total}TaxExclusiveAmount") == price.tax.before.amount
        rates = len(price.tax.by_rate)
        at_most = Decimal(max(1, rates)).scaleb(-exponent(price.currency))
        if case.data["tax"].get("basis") != "line":
            tax = number(root, "cac:TaxTotal/cbc:TaxAmount")
            assert abs(tax - price.tax.tax.amount) <= at_most
        seen.update(
            {
                "included": price.tax_included,
                "added": not price.tax_included,
                "several rates": rates > 1,
                "charges": number(root, f"{total}ChargeTotalAmount") > 0,
                "allowances": number(root, f"{total}AllowanceTotalAmount") > 0,
                "prepaid": number(root, f"{total}PrepaidAmount") > 0,
                "open": bool(price.open),
            }
        )

    told()
    assert min(seen.values()) >= 10, seen


@given(st.lists(st.integers(-10_000, 10_000), min_size=1), st.integers(0, 30))
def test_cents_are_spread_by_largest_remainder(cents: list[int], percent: int) -> None:
    exact = [Fraction(one, 100 + percent) for one in cents]
    whole = Money(Decimal(round(sum(exact) * 100)).scaleb(-2), "AUD")
    found = spread_out(whole, exact)
    assert Money.total(found, "AUD") == whole
    for net, near in zip(found, exact, strict=True):
        assert abs(Fraction(net.amount) - near) < Fraction(1, 100)
        assert near or not net.amount


def test_cents_go_where_the_remainders_are_largest() -> None:
    # worked by hand: three elevenths of a dollar are 27.27 cents; 82 cents are 28, 27 and 27
    thirds = spread_out(Money(Decimal("0.82"), "AUD"), [Fraction(3, 11)] * 3)
    assert [str(one.amount) for one in thirds] == ["0.28", "0.27", "0.27"]


def test_a_deal_and_a_discount_are_allowances_with_their_reason(shop: Shop) -> None:
    build = shipped_build(shop, "touring.yaml")
    off = Adjustment("Show price", "Ordered at the field day", amount=Decimal(-110))
    quote: Quote = build.adjust(off).quote("Q-2", DAY)
    root = read("Quotation", quotation_xml(quote))
    reasons = texts(root, "cac:AllowanceCharge/cbc:AllowanceChargeReason")
    deals = [f"Package deal: {deal.name}" for deal in quote.price.deals]
    assert reasons == [*deals, "Show price: Ordered at the field day", "Rounding"]
    assert texts(root, "cac:AllowanceCharge/cbc:Amount")[len(deals)] == "100.00"
