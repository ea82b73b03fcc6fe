"""Quotes and orders as open-standard documents: OASIS's schemas, and the sums of EN 16931.

The schemas are those of UBL 2.1; the rules are BR-CO-10 to BR-CO-17 of EN 16931, to the last unit.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from attrs import evolve
from click.testing import CliRunner
from hypothesis import given, settings, strategies as st

from configurator import (
    Adjustment,
    Build,
    Customer,
    Money,
    Quote,
    Register,
    RegisterError,
    Shop,
    open_shop,
)
from configurator.catalogue.reading import shipped
from configurator.cli import cli
from configurator.exchange.nets import spread_out
from configurator.exchange.quotation import quotation_xml
from configurator.money import exponent
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


# Orders


def morning() -> dt.datetime:
    return dt.datetime.combine(DAY, dt.time(9), dt.UTC)


@pytest.fixture
def register(shop: Shop, tmp_path: Path) -> Iterator[Register]:
    """A register with the touring package as Q-1; its papers are blank."""
    address = str(tmp_path / "quotes.sqlite")
    opened = evolve(shop.register(address), paper=lambda _: b"", clock=morning)
    with opened:
        opened.issue(shipped_build(shop, "touring.yaml").quote("DRAFT", DAY), seller="Ann")
        yield opened


@pytest.mark.parametrize("cost", [False, True])
def test_an_accepted_quote_is_ordered_from_each_supplier(
    shop: Shop, register: Register, cost: bool, tmp_path: Path
) -> None:
    sheets = shipped_build(shop, "touring.yaml").sheets("Q-1", DAY, cost=cost)
    folder = tmp_path / "orders"
    with pytest.raises(RegisterError, match="Q-1 is issued, and nothing is ordered for it"):
        register.order("Q-1", sheets, folder)
    assert not folder.exists()
    register.accept("Q-1", seller="Ann", reason="signed")
    names = register.order("Q-1", sheets, folder)
    suppliers = [group for group in sheets.orders.groups if group.supplier]
    assert len(names) == len(suppliers) == len({*names}) > 3
    assert sorted(path.name for path in folder.iterdir()) == sorted(names)
    for name, bought in zip(names, suppliers, strict=True):
        content = (folder / name).read_bytes()
        root = read("Order", content)
        assert texts(root, "cac:SellerSupplierParty/cac:Party/cac:PartyName/cbc:Name") == [
            bought.supplier
        ]
        line = "cac:OrderLine/cac:LineItem/"
        codes = texts(root, f"{line}cac:Item/cac:SellersItemIdentification/cbc:ID")
        assert codes == [row.code for row in bought.rows if row.code]
        quantities = texts(root, f"{line}cbc:Quantity")
        assert quantities == [str(row.quantity) for row in bought.rows]
        amounts = [Decimal(one) for one in texts(root, f"{line}cbc:LineExtensionAmount")]
        whole = number(root, "cac:AnticipatedMonetaryTotal/cbc:PayableAmount")
        assert sum(amounts) == whole
        if cost and not bought.unknown:
            assert bought.cost is not None
            assert whole == bought.cost.amount > 0
        else:
            assert not amounts
        text = content.decode()
        assert "Overbeck" not in text, "the customer is nobody else's business"
        others = [group.supplier for group in suppliers if group is not bought]
        assert not [other for other in others if other in text]


def test_sheets_of_another_job_are_not_ordered(
    shop: Shop, register: Register, tmp_path: Path
) -> None:
    register.accept("Q-1", seller="Ann", reason="signed")
    sheets = shipped_build(shop, "touring.yaml").sheets("Q-9", DAY)
    with pytest.raises(RegisterError, match="the sheets are of job Q-9"):
        register.order("Q-1", sheets, tmp_path)


def test_orders_are_one_command(register: Register, tmp_path: Path) -> None:
    register.accept("Q-1", seller="Ann", reason="signed")
    where = ["--register", str(tmp_path / "quotes.sqlite"), "--date", DAY.isoformat()]
    folder = tmp_path / "bought"
    ran = CliRunner().invoke(cli, ["register", "order", "Q-1", "-o", str(folder), *where])
    assert ran.exit_code == 0, ran.output
    assert ran.output.count("order for quote Q-1") == len(list(folder.iterdir())) > 3


def test_orders_are_not_overwritten_by_others_unless_asked(
    register: Register, tmp_path: Path
) -> None:
    register.accept("Q-1", seller="Ann", reason="signed")
    where = ["--register", str(tmp_path / "quotes.sqlite")]
    folder = tmp_path / "bought"

    def order(*more: str) -> tuple[int, str]:
        ran = CliRunner().invoke(
            cli, ["register", "order", "Q-1", "-o", str(folder), *where, *more]
        )
        return ran.exit_code, str(ran.exception or ran.output)

    first = order("--date", "2026-08-03")
    written = {path: path.read_bytes() for path in folder.iterdir()}
    assert order("--date", "2026-08-03") == first
    code, said = order("--date", "2026-08-04")
    assert code != 0
    assert "another order is there already and may have been sent" in said
    assert "--replace" in said
    assert {path: path.read_bytes() for path in folder.iterdir()} == written
    assert order("--date", "2026-08-04", "--replace") == first
    assert all(path.read_bytes() != content for path, content in written.items())
