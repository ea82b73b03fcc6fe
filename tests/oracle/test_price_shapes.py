"""The less plain shapes of a price, against figures worked by hand.

Breaks, least charges for labour, markups, credits, prices by date, prices on application, round
amounts, trade-ins and cash.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, strategies as st

from configurator import Adjustment, Money, NamedPrice, Price, SelectionError, TradeIn
from configurator.catalogue.reading import parse_catalogue
from configurator.checking.check import check
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved
from tests.support.building import (
    Raw,
    amount,
    catalogue,
    choice,
    option,
    percent,
    problems_of,
    raw_catalogue,
    read,
    selection,
    several,
    tax,
    vehicle,
)
from tests.support.paths import CASES
from tests.support.steady import STEADY

D = Decimal
FIRST, SECOND = dt.date(2026, 3, 1), dt.date(2026, 9, 1)


@pytest.mark.parametrize("now", [{}, {"until": "2026-12-31"}])
def test_a_price_entered_ahead_leaves_today_s_as_it_is(now: Raw) -> None:
    ahead = {"kind": "fixed", "amount": 530, "from": "2027-02-01"}
    data = raw_catalogue(
        [several("parts", [option("a", [{"kind": "fixed", "amount": 510, **now}, ahead])])]
    )
    told = problems_of(data)
    assert [(problem.code, problem.level) for problem in told] == [("never-valid", "caution")]
    assert "starts on 2027-02-01, after the catalogue ends on" in told[0].sentence
    found = price(Resolved(read(data, cautions=True), selection({"parts": "a"})))
    assert found.total.amount == 510


def test_a_catalogue_that_holds_for_ever_is_read() -> None:
    valid = {"from": "0001-01-01", "until": "9999-12-31"}
    data = raw_catalogue([several("parts", [option("a", 5)])], valid=valid)
    assert price(Resolved(read(data), selection({"parts": "a"}))).total.amount == 5


# Each shape by hand


def one_part(part: Raw | list[Raw], quantity: int = 1, **more: Any) -> Price:
    parts = part if isinstance(part, list) else [part]
    shop = catalogue([several("parts", [option("a", parts, most=99)])], **more)
    return price(Resolved(shop, selection({"parts": {"a": quantity}})))


def shown(*amounts: Money) -> str:
    """Amounts as whole text, without needless zeros."""
    return " ".join(f"{a.amount.normalize() + 0:f}" for a in amounts)


STEPS = {"kind": "breaks", "steps": [{"from": 1, "each": 45}, {"from": 5, "each": 41}]}


@pytest.mark.parametrize(("quantity", "total"), [(1, 45), (4, 180), (5, 205), (9, 369)])
def test_a_break_is_for_all_of_them(quantity: int, total: int) -> None:
    # worked by hand
    assert one_part(STEPS, quantity).total.amount == total


@pytest.mark.parametrize(("hours", "total"), [("0.25", "80.00"), ("0.8", "95.04"), ("2", "237.60")])
def test_labour_is_charged_at_its_least_or_by_the_hour(hours: str, total: str) -> None:
    # worked by hand: 118.80 an hour
    part = {"kind": "labour", "trade": "fitting", "hours": D(hours), "minimum": 80}
    assert one_part(part, labour={"fitting": D("118.80")}).total.amount == D(total)


def test_a_markup_is_on_the_price_without_tax_and_tax_comes_on_top() -> None:
    # worked by hand: 200 and a quarter of it is 250; with 10 % GST in it, 275
    part = {"kind": "markup", "cost": 200, "percent": 25}
    assert one_part(part).total.amount == 275
    added = one_part(part, tax=tax(10, "exclude"))
    assert shown(added.tax.before, added.total) == "250 275"


def test_a_credit_takes_off_what_the_replaced_option_would_cost_here() -> None:
    # worked by hand: doors by length are 480 or 620; gull doors at 1 500 less those
    doors = choice(
        "doors",
        [
            option(
                "plain",
                [{"kind": "table", "by": ["length"], "rows": {"short": 480, "long": 620}}],
            ),
            option(
                "gull",
                [
                    {"kind": "fixed", "amount": 1500},
                    {"kind": "credit", "replaces": "doors=plain"},
                ],
            ),
        ],
    )
    shop = catalogue([choice("length", [option("short"), option("long")]), doors])
    for length, total in (("short", 1020), ("long", 880)):
        found = price(Resolved(shop, selection({"length": length, "doors": "gull"})))
        assert found.total.amount == total
        assert found.lines[1].notes == ("less Plain",)
    open_length = price(Resolved(shop, selection({"doors": "gull"})))
    assert open_length.lines[0].why_open == "Plain, which it replaces, depends on Length"


def test_a_price_that_starts_next_month_leaves_this_months_quote_alone() -> None:
    part = [
        {"kind": "fixed", "amount": 100, "until": "2026-06-30"},
        {"kind": "fixed", "amount": 110, "from": "2026-07-01"},
    ]
    shop = catalogue([several("parts", [option("a", part)])])
    picked = selection({"parts": "a"})
    days = {dt.date(2026, 6, 30): 100, dt.date(2026, 7, 1): 110, dt.date(2026, 12, 31): 110}
    assert {day: price(Resolved(shop, picked), day).total.amount for day in days} == days
    assert price(Resolved(shop, picked)).total.amount == 100  # the first day of the catalogue
    assert price(Resolved(shop.on(dt.date(2026, 8, 1)), picked)).total.amount == 110
    beyond = price(Resolved(shop, picked), dt.date(2027, 1, 1))
    assert beyond.total.amount == 110  # until its end is written, a price goes on


def test_a_price_on_application_is_named_in_the_selection() -> None:
    part = [{"kind": "on-application"}, {"kind": "fixed", "amount": 30}]
    shop = catalogue([several("parts", [option("a", part, most=2), option("b", 50)])])
    picked = selection({"parts": {"a": 2, "b": 1}})
    waiting = price(Resolved(shop, picked))
    assert (shown(waiting.total), waiting.is_from, waiting.open) == ("50", True, ("A",))
    named = evolve(picked, named_prices=(NamedPrice("parts=a", D(200), "Ilka"),))
    found = price(Resolved(shop, named))
    assert (shown(found.total), found.is_from, found.open) == ("510", False, ())


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("parts=b", "B has a price in the catalogue"),
        ("parts=c", 'the price named is for "parts=c", which is not picked'),
    ],
)
def test_a_price_is_named_only_for_what_is_picked_and_open(line: str, said: str) -> None:
    options = [option("a", [{"kind": "on-application"}]), option("b", 50)]
    shop = catalogue([several("parts", options)])
    picked = evolve(selection({"parts": ["a", "b"]}), named_prices=(NamedPrice(line, D(1)),))
    with pytest.raises(SelectionError, match=said):
        price(Resolved(shop, picked))


@pytest.mark.parametrize(
    ("mode", "added"), [("nearest", "-2.34"), ("down", "-2.34"), ("up", "2.66")]
)
def test_a_package_is_rounded_to_five_in_a_line_of_its_own(mode: str, added: str) -> None:
    # worked by hand: 1 237.34 lies between 1 235 and 1 240
    rounding = {"to": 5, "mode": mode}
    found = one_part({"kind": "fixed", "amount": D("1237.34")}, rounding=rounding)
    assert (found.rounding.amount, found.total.amount) == (D(added), D("1237.34") + D(added))
    assert found.lines[0].amount is not None
    assert found.lines[0].amount.amount == D("1237.34")


def test_rounding_comes_after_discounts_and_before_tax_is_added() -> None:
    # worked by hand: 999 less 10 % is 899.10; to tens 900; 10 % tax is 90
    shop = catalogue(
        [several("parts", [option("a", 999)])], rounding={"to": 10}, tax=tax(10, "exclude")
    )
    found = price(Resolved(shop, selection({"parts": "a"}, [percent(-10)])))
    assert [str(m.amount) for m in (found.rounding, found.tax.before, found.total)] == [
        "0.90",
        "900.00",
        "990.00",
    ]


def test_the_order_is_deals_then_adjustments_as_given_then_rounding_then_tax_then_trade_ins() -> (
    None
):
    # worked by hand: 1 000 + 500 listed; the set for 1 400; 10 % off is 140 and 100 on is 1 360;
    # the other way about, 1 500 less 150 is 1 350; to tens; 10 % on; 300 taken in
    parts = [option("a", 1000), option("b", 500)]
    data = raw_catalogue(
        [several("parts", parts)],
        tax=tax(10, "exclude"),
        rounding={"to": 100},
        package_deals=[
            {"id": "set", "title": "Set", "picks": {"parts": ["a", "b"]}, "price": 1400}
        ],
    )
    picked = selection({"parts": ["a", "b"]}, [percent(-10), amount(100)])
    picked = evolve(picked, trade_ins=(TradeIn("Old tray", "Worn.", D(300)),))
    found = price(Resolved(read(data), picked))
    assert [a.amount.amount for a in found.adjustments] == [-140, 100]
    assert shown(found.rounding, found.tax.before, found.tax.tax) == "40 1400 140"
    assert shown(found.total, found.to_pay) == "1540 1240"
    turned = evolve(picked, adjustments=(amount(100), percent(-10)))
    assert [a.amount.amount for a in price(Resolved(read(data), turned)).adjustments] == [100, -150]


def test_a_trade_in_leaves_the_tax_alone() -> None:
    found = price(
        Resolved(
            catalogue([several("parts", [option("a", 1100)])]),
            evolve(selection({"parts": "a"}), trade_ins=(TradeIn("Old tray", "Worn.", D(600)),)),
        ),
    )
    assert shown(found.tax.tax, found.total, found.to_pay) == "100 1100 500"


def test_an_order_with_allowance_charge_prepayment_and_cash_comes_to_24_40() -> None:
    # A-NZ Peppol BIS 3.0 message examples, AU Order Agreement: 15 x (1.70 - 0.20) and 10.00, 10 %
    # off, 2.00 on, GST 3.13, incl. 34.38, prepaid 10.00, rounding 0.02, payable 24.40.
    lines = [option("a", D("1.50"), most=15), option("b", D("10.00"))]
    shop = catalogue([several("lines", lines)], tax=tax(10, "exclude", cash_increment=D("0.05")))
    picked = selection({"lines": {"a": 15, "b": 1}}, [percent(-10), amount("2.00")])
    picked = evolve(picked, trade_ins=(TradeIn("Prepaid", "With the order.", D("10.00")),))
    found = price(Resolved(shop, picked))
    assert [str(m.amount) for m in (found.tax.before, found.tax.tax, found.total)] == [
        "31.25",
        "3.13",
        "34.38",
    ]
    assert found.to_pay.amount == D("24.38")
    assert found.cash is not None
    assert str(found.cash.amount) == "24.40"


@pytest.mark.parametrize(
    ("currency", "step", "mode", "price_of", "cash"),
    [
        # a till maker's manual, p. 87: Australian five cents
        ("AUD", "0.05", "half-up", "96.11", "96.10"),
        ("AUD", "0.05", "half-up", "96.13", "96.15"),
        ("AUD", "0.05", "half-up", "96.02", "96.00"),
        ("AUD", "0.05", "half-up", "96.07", "96.05"),
        ("AUD", "0.05", "half-up", "96.08", "96.10"),
        # the same: New Zealand ten cents, five goes either way
        ("NZD", "0.10", "half-down", "96.15", "96.10"),
        ("NZD", "0.10", "half-up", "96.15", "96.20"),
    ],
)
def test_cash_is_rounded_to_the_coins_there_are(
    currency: str, step: str, mode: str, price_of: str, cash: str
) -> None:
    found = one_part(
        {"kind": "fixed", "amount": D(price_of)},
        currency=currency,
        tax=tax(10, cash_increment=D(step), cash_mode=mode),
    )
    assert found.cash is not None
    assert (str(found.total.amount), str(found.cash.amount)) == (price_of, cash)


# Approval


def approved(discounts: list[Adjustment], listed: Any = 1000, **limit: Any) -> list[str]:
    shop = catalogue([several("parts", [option("a", listed)])], approval=limit)
    found = check(Resolved(shop, selection({"parts": "a"}, discounts)))
    return [f.code for f in found.stops]


def test_a_discount_above_the_limit_needs_an_approvers_name() -> None:
    assert approved([percent(-5)], percent=5) == []
    assert approved([percent(-6)], percent=5) == ["approval"]
    # 5 % of 1000.30 is 50.015, which is 50.02 for the discount and for the limit alike
    assert approved([percent(-5)], listed=D("1000.30"), percent=5) == []
    assert approved([amount(D("-50.03"))], listed=D("1000.30"), percent=5) == ["approval"]
    assert approved([evolve(percent(-6), approver="Ilka")], percent=5) == []
    assert approved([amount(-51)], amount=50) == ["approval"]
    assert approved([amount(-50)], amount=50) == []


def test_discounts_are_counted_together_and_surcharges_make_no_room() -> None:
    assert approved([percent(-3), percent(-3)], percent=5) == ["approval"]
    assert approved([amount(200), percent(-6)], percent=5) == ["approval"]
    assert approved([percent(-3), evolve(percent(-9), approver="Ilka")], percent=5) == []


def test_the_smaller_of_two_limits_holds() -> None:
    assert approved([amount(-45)], percent=5, amount=40) == ["approval"]
    assert approved([amount(-45)], percent=5, amount=60) == []


def test_a_payment_below_zero_is_refused() -> None:
    shop = catalogue([several("parts", [option("a", 100)])])
    picked = evolve(selection({"parts": "a"}), trade_ins=(TradeIn("Tray", "Old.", D(101)),))
    (stop,) = check(Resolved(shop, picked)).stops
    assert stop.code == "price"
    assert stop.sentence == "The trade-ins bring the amount to pay below zero, to AUD -1.00"


# What a catalogue may not say


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        ([{"kind": "breaks", "steps": [{"from": 2, "each": 1}]}], "breaks"),
        (
            [{"kind": "breaks", "steps": [{"from": 1, "each": 2}, {"from": 1, "each": 1}]}],
            "breaks",
        ),
        ([{"kind": "breaks"}], "missing-key"),
        ([{"kind": "markup", "cost": 5}], "missing-key"),
        ([{"kind": "fixed", "amount": 5, "cost": 5}], "unknown-key"),
        ([{"kind": "credit", "replaces": "parts=a"}], "cyclic-credit"),
        ([{"kind": "credit", "replaces": "parts=b"}], "cyclic-credit"),
        ([{"kind": "credit", "replaces": "parts=x"}], "unknown-option"),
        ([{"kind": "credit", "replaces": "x=a"}], "unknown-choice"),
        ([{"kind": "credit", "replaces": "parts=c", "percent": 101}], "out-of-range"),
        ([{"kind": "fixed", "amount": 5, "from": "2026-05-01"}], "uncovered-days"),
        (
            [
                {"kind": "fixed", "amount": 5},
                {"kind": "fixed", "amount": 5, "from": "2026-06-01", "until": "2026-05-01"},
            ],
            "never-valid",
        ),
        (
            [
                {"kind": "fixed", "amount": 5},
                {"kind": "fixed", "amount": 5, "from": "2027-06-01"},
            ],
            "never-valid",
        ),
        (
            [
                {"kind": "fixed", "amount": 5, "until": "2026-07-01"},
                {"kind": "fixed", "amount": 6, "from": "2026-07-01"},
            ],
            "overlapping-days",
        ),
    ],
)
def test_a_price_that_contradicts_itself_is_told_where(parts: list[Raw], code: str) -> None:
    others = [
        option("b", [{"kind": "credit", "replaces": "parts=a"}]),
        option("c", 100),
    ]
    data = raw_catalogue([several("parts", [option("a", parts), *others])])
    problems = problems_of(data)
    assert code in [problem.code for problem in problems], problems
    assert all(problem.at.line for problem in problems)


# Laws


@STEADY
@given(st.lists(st.integers(0, 99_999), min_size=1, max_size=4), st.integers(1, 40))
def test_a_price_never_falls_with_the_quantity_unless_a_break_says_so(
    units: list[int], most: int
) -> None:
    steps = [{"from": 1 + 4 * n, "each": D(value) / 100} for n, value in enumerate(units)]
    for part, may_fall in ((STEPS, True), ({"kind": "fixed", "amount": D(units[0]) / 100}, False)):
        shaped = {"kind": "breaks", "steps": steps} if may_fall else part
        shop = catalogue([several("parts", [option("a", [shaped], most=99)])])
        totals = [
            price(Resolved(shop, selection({"parts": {"a": n}}))).total.amount
            for n in range(1, most + 1)
        ]
        starts = {step["from"] for step in steps} if may_fall else set()
        for n, (fewer, more) in enumerate(pairwise(totals), 2):
            assert more >= fewer or n in starts


@STEADY
@given(
    st.lists(st.tuples(st.integers(0, 99_999), st.sampled_from("xy")), min_size=1, max_size=8),
    st.sampled_from(["include", "exclude"]),
    st.sampled_from(["document", "category", "line"]),
    st.sampled_from([None, "nearest", "down", "up"]),
)
def test_a_quote_split_in_two_by_group_differs_by_no_more_than_its_rounding(
    lines: list[tuple[int, str]], prices: str, basis: str, mode: str | None
) -> None:
    # each document may round its tax by half a cent, and its package by as much as it is told to
    options = [option(f"l{n}", D(value) / 100) for n, (value, _) in enumerate(lines)]
    groups = {
        name: [o for o, (_, g) in zip(options, lines, strict=True) if g == name] for name in "xy"
    }
    data = raw_catalogue(
        [several(name, found, group=name) for name, found in groups.items() if found],
        groups=[{"id": name, "title": name} for name in "xy"],
        tax=tax(10, prices, basis=basis),
        **({"rounding": {"to": 5, "mode": mode}} if mode else {}),
    )
    shop = read(data)
    picks = {name: [o["id"] for o in found] for name, found in groups.items() if found}
    whole = price(Resolved(shop, selection(picks))).total.amount
    apart = [
        price(Resolved(shop, selection({name: found}))).total.amount
        for name, found in picks.items()
    ]
    each = {None: D(0), "nearest": D("2.5"), "down": D(5), "up": D(5)}[mode]
    stated = (len(apart) + 1) * (each * D("1.1") + D("0.005"))
    assert abs(whole - sum(apart)) <= stated


def test_a_catalogue_of_another_country_needs_nothing_but_its_header() -> None:
    # New Zealand: 115.00 holds 15.00 (Inland Revenue); United Kingdom: 0.198 rounded down to 0.19
    # (HMRC VATREC12010); a US sales tax added on, 0.0855 up to 0.09 (Streamlined Agreement s 324,
    # figure worked by hand).
    headers: list[tuple[str, Raw, str, str]] = [
        ("NZD", tax(15, mode="half-down"), "115.00", "15.00"),
        ("GBP", tax(20, "exclude", mode="down"), "0.99", "0.19"),
        ("USD", tax(D("7.5"), "exclude"), "1.14", "0.09"),
    ]
    for currency, header, listed, levied in headers:
        shop = catalogue(
            [several("parts", [option("a", D(listed))])],
            currency=currency,
            tax=header,
            vehicles=[vehicle()],
        )
        assert str(price(Resolved(shop, selection({"parts": "a"}))).tax.tax.amount) == levied


# Deals that count more than once


def boxes(times: str) -> Raw:
    deal: Raw = {
        "id": "set",
        "title": "Box with lock",
        "picks": {"parts": ["a", "b"]},
        "price": 120,
    }
    parts = [option("a", 100, most=4), option("b", 50, tax="free", most=4)]
    return raw_catalogue(
        [several("parts", parts)],
        tax={"name": "GST", "prices": "include", "rates": {"usual": 10, "free": 0}},
        package_deals=[deal | ({"times": times} if times else {})],
    )


@pytest.mark.parametrize(
    ("times", "counted", "total"), [("", 2, 340), ("each", 2, 340), ("once", 1, 370)]
)
def test_a_deal_counts_for_each_set_or_once_as_the_catalogue_says(
    times: str, counted: int, total: int
) -> None:
    # by hand: three boxes at 100 and two locks at 50 are 400; a set of both saves 30
    found = price(Resolved(read(boxes(times)), selection({"parts": {"a": 3, "b": 2}})))
    (deal,) = found.deals
    assert (deal.times, found.total.amount) == (counted, D(total))
    assert deal.name == ("2 × Box with lock" if counted == 2 else "Box with lock")
    assert (deal.listed.amount, deal.price.amount) == (D(150 * counted), D(120 * counted))


def test_what_deals_save_is_shared_over_tax_rates_by_what_each_pick_brings_to_the_sets() -> None:
    # by hand: two sets save 60, two thirds of it off the boxes: 300 - 40 = 260 taxed at 10 %
    # included, 260 / 11 = 23.64; 100 - 20 = 80 free of tax
    found = price(Resolved(read(boxes("each")), selection({"parts": {"a": 3, "b": 2}})))
    shares = {name: (before.amount, part.amount) for name, _, before, part in found.tax.by_rate}
    assert shares == {"usual": (D("236.36"), D("23.64")), "free": (D(80), D(0))}


SMALL = CASES / "small.yaml"
VALID = "valid: {from: 2026-01-01, until: 2026-12-31}"
FOR_EVER = "valid: {from: 0001-01-01, until: 9999-12-31}"


def test_a_catalogue_may_be_valid_from_the_first_day_there_is_to_the_last() -> None:
    written = SMALL.read_text("utf-8").replace(VALID, FOR_EVER)
    assert FOR_EVER in written
    read, problems = parse_catalogue(written, "small.yaml")
    assert problems == ()
    assert read is not None
    assert (read.valid.first, read.valid.until) == ("0001-01-01", "9999-12-31")


def test_days_without_a_price_are_named_up_to_the_last_day_there_is() -> None:
    dated = "[{kind: fixed, amount: 1450.00, from: 0001-01-03, until: 9999-12-29}]"
    written = SMALL.read_text("utf-8").replace(VALID, FOR_EVER).replace("1450.00", dated, 1)
    assert dated in written
    _, problems = parse_catalogue(written, "small.yaml")
    assert [problem.sentence.partition("no price ")[2] for problem in problems] == [
        "from 0001-01-01 to 0001-01-02",
        "from 9999-12-30 to 9999-12-31",
    ]
