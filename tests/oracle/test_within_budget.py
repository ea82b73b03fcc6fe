"""Wishes within a budget, to the cent, against pricing every package of a small catalogue.

Tax of several rates in or on top of prices, adjustments on the whole, a group, a rate or a line,
package deals, round amounts and trade-ins: what is to be paid is then no sum of list prices. Every
package is listed, judged by the plain rules and priced by the clerk, who share no code with the
engine. Set WITHIN_SEEDS to try more.
"""

from __future__ import annotations

import datetime as dt
import os
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import product
from random import Random

import pytest
from attrs import evolve, frozen

from configurator import (
    Adjustment,
    Catalogue,
    Money,
    NamedPrice,
    Pick,
    SearchLimit,
    Selection,
)
from configurator.engine.completion import complete
from configurator.engine.search import Search
from configurator.engine.within import RefusedWish, within
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved
from tests.support.building import (
    Raw,
    amount,
    catalogue,
    choice,
    option,
    percent,
    raw_catalogue,
    read,
    rule,
    selection,
    several,
    tax,
)
from tests.support.price_oracle import Case, Key
from tests.support.random_catalogues import Counts, every_package, kind_of, offers
from tests.support.rules_oracle import broken

SEEDS = int(os.environ.get("WITHIN_SEEDS", "30"))
DAY = dt.date(2026, 3, 1)
NAMED = NamedPrice(Pick("rack", "bar"), Decimal(180), "the shop")


@frozen
class Listing:
    """A catalogue, what is asked of it, and every package there is with what is to be paid."""

    data: Raw
    base: Selection
    changes: list[Raw]
    packages: list[tuple[dict[Key, int], Fraction]]

    def least(self, wanted: Counts) -> Fraction | None:
        """The least to pay with at least so many of each."""
        return min(
            (paid for held, paid in self.packages if has(held, wanted)),
            default=None,
        )


def has(held: Counts, wanted: Counts) -> bool:
    return all(held.get(key, 0) >= n for key, n in wanted.items())


def shop_of(dice: Random) -> Raw:
    """A small shop whose prices are close to each other, some of them alike."""

    def cost() -> Decimal:
        return dice.choice(
            [Decimal(dice.randint(0, 40)) * 5, Decimal(dice.randint(0, 20000)) / 100]
        )

    def offered(name: str, **more: object) -> Raw:
        rated = {"tax": dice.choice(["low", "zero"])} if dice.random() < 0.5 else {}
        return option(name, cost(), **rated, **more)

    def group() -> str:
        return dice.choice(["build", "inside"])

    choices = [
        choice("tray", [offered("steel"), offered("alloy"), offered("long")], group=group()),
        choice("floor", [offered("plain"), offered("tread")], group=group()),
        choice("rack", [offered("bar"), offered("roof")], "at-most-one", group=group()),
        several("drawer", [offered("wide", most=2), offered("slim")], group=group()),
    ]
    conditions: list[Raw] = [
        {"tray": "steel"},
        {"floor": "tread"},
        {"rack": {"at-least": 1}},
        {"drawer": {"at-least": 2}},
    ]
    rules = []
    for n in range(dice.randint(0, 2)):
        when, then = dice.sample(conditions, 2)
        rules.append(rule(f"r{n}", when=when, **{dice.choice(["needs", "rules_out"]): then}))
    deals = [
        {"id": "set", "title": "Set", "picks": {"tray": "alloy", "drawer": {"wide": 1}}}
        | {"price": Decimal(dice.randint(0, 300))}
    ]
    rounded = {"to": dice.choice([1, 5, Decimal("0.05")])}
    rounding = {"rounding": rounded | {"mode": dice.choice(["nearest", "up", "down"])}}
    payable = {"payable_rounding": {"to": dice.choice([1, Decimal("0.05")]), "mode": "down"}}
    rates = {"usual": dice.choice([10, 20]), "low": Decimal("5.5"), "zero": 0}
    basis = dice.choice(["document", "document", "category", "line"])
    return raw_catalogue(
        choices,
        groups=[{"id": "build", "title": "Build"}, {"id": "inside", "title": "Inside"}],
        rules=rules,
        package_deals=deals if dice.random() < 0.3 else [],
        tax=tax(rates, dice.choice(["include", "exclude", "exclude"]), basis=basis),
        **(rounding if dice.random() < 0.3 else {}),
        **(payable if dice.random() < 0.2 else {}),
    )


WAYS: list[Raw] = [
    {"percent": Decimal(-50), "group": "build"},
    {"percent": Decimal("7.5"), "group": "inside"},
    {"amount": Decimal(-30), "group": "inside"},
    {"amount": Decimal("12.05"), "group": "build"},
    {"percent": Decimal(-10), "tax": "usual"},
    {"percent": Decimal(-3)},
    {"amount": Decimal("-20.05")},
]


def packages(
    data: Raw, changes: list[Raw], trade_ins: tuple[Decimal, ...]
) -> Iterator[tuple[dict[Key, int], Fraction]]:
    """Every package that keeps the rules, with what the clerk asks for it."""
    for held in every_package(data):
        if not any(broken(written, held) for written in data.get("rules", [])):
            case = Case(data, {**held}, changes, [], DAY, {}, trade_ins)
            yield held, case.expected().to_pay


@cache
def listing(seed: int) -> Listing:
    dice = Random(seed)
    data = shop_of(dice)
    changes = dice.sample(WAYS, dice.choice([0, 1, 1, 2]))
    taken = (Decimal("15.50"),) if dice.random() < 0.2 else ()
    base = Case(data, {("vehicle", "ute"): 1}, changes, [], DAY, {}, taken).selection()
    return Listing(data, base, changes, list(packages(data, changes, taken)))


def kinds(there: Listing) -> Iterator[object]:
    """What its prices are made of, besides list prices."""
    data = there.data
    yield data["tax"]["prices"], data["tax"]["basis"]
    yield "rounding", data.get("rounding", {}).get("mode")
    yield "payable rounding", "payable-rounding" in data
    yield "deals", bool(data["package-deals"])
    yield "trade-in", bool(there.base.trade_ins)
    yield from map(str, there.changes)


KINDS = {
    *product(["include", "exclude"], ["document", "category", "line"]),
    *product(["rounding"], [None, "nearest", "up", "down"]),
    *product(["payable rounding", "deals", "trade-in"], [True, False]),
    *map(str, WAYS),
}


def test_every_kind_of_price_is_among_the_listed() -> None:
    assert {kind for seed in range(SEEDS) for kind in kinds(listing(seed))} == KINDS


def with_wish(wanted: dict[Key, int], wish: Pick) -> dict[Key, int]:
    return {**wanted, wish.key: max(wanted.get(wish.key, 0), wish.quantity)}


def cents(money: Money | None) -> Fraction:
    assert money is not None
    return Fraction(money.amount)


def test_what_is_granted_and_what_it_costs_is_what_pricing_every_package_says() -> None:
    seen: Counter[str] = Counter()
    for seed in range(SEEDS):
        dice, there = Random(-seed - 1), listing(seed)
        search = Search(read(there.data, cautions=True))
        offered = offers(there.data)
        picks = dice.choice([{}, {("floor", "plain"): 1}, {("tray", "long"): 1}])
        asked = evolve(
            there.base,
            picks=(*there.base.picks, *(Pick(*key, n) for key, n in picks.items())),
        )
        wanted: dict[Key, int] = {("vehicle", "ute"): 1, **picks}
        keys = [(name, one) for name in offered if name != "vehicle" for one in offered[name]]
        wishes = [
            Pick(*key, offered[key[0]][key[1]].get("most", 1)) for key in dice.sample(keys, 4)
        ]
        least = there.least(wanted)
        off = dice.choice([-1, 0, 1, 3000, 9000, 20000])
        budget = Money(max(Decimal("0.01"), decimal(least or 0) + Decimal(off) / 100), "AUD")
        told = (seed, picks, wishes, budget)
        seen["asked"] += 1
        try:
            found = within(search, asked, budget, wishes)
        except SearchLimit:
            seen["not settled"] += 1
            continue
        if found.selection is not None:
            assert (dict(found.selection.quantities), cents(found.to_pay)) in there.packages, told
        if not all((found.settled, *map(is_settled, found.left_out))):
            seen["not settled"] += 1
            continue
        assert (found.to_pay is None) == (least is None), told
        left = {str(one.wish): one for one in found.left_out}
        if least is None or least > cents(budget):
            seen["nothing"] += 1
            assert (found.selection, found.granted, found.added) == (None, (), ()), told
            assert least is None or cents(found.to_pay) == least, told
            for wish in wishes:
                require_refused(there, wanted, wish, budget, left[str(wish)], seen)
            continue
        granted = []
        for wish in wishes:
            cost = there.least(with_wish(wanted, wish))
            if cost is not None and cost <= cents(budget):
                granted.append(wish)
                wanted = with_wish(wanted, wish)
            else:
                require_refused(there, wanted, wish, budget, left[str(wish)], seen)
        assert [*map(str, found.granted)] == [*map(str, granted)], told
        assert cents(found.to_pay) == there.least(wanted), told
        seen["granted"] += len(granted)
    assert seen["not settled"] <= SEEDS // 10, seen
    assert min(seen[word] for word in ("nothing", "granted", "dear", "instead", "out")) > 0, seen


def is_settled(left: RefusedWish) -> bool:
    return left.state != "undecided" and (left.state != "too-dear" or left.over is not None)


def decimal(value: Fraction | int) -> Decimal:
    return Decimal(Fraction(value).numerator) / Decimal(Fraction(value).denominator)


def require_refused(
    there: Listing,
    wanted: dict[Key, int],
    wish: Pick,
    budget: Money,
    left: RefusedWish,
    seen: Counter[str],
) -> None:
    """The wish is refused for the reason that the listing gives, by the amount that it gives."""
    single = kind_of(there.data, wish.choice) != "several"
    rivals = [key for key in wanted if key[0] == wish.choice and key != wish.key]
    if single and rivals:
        assert left.instead_of is not None
        assert left.instead_of.key == rivals[0]
        rest = {key: n for key, n in wanted.items() if key != rivals[0]}
        possible = there.least(with_wish(rest, wish)) is not None
        assert left.state == ("instead" if possible else "ruled-out")
        assert (left.conflict is None) == possible
        seen["instead"] += possible
        return
    cost = there.least(with_wish(wanted, wish))
    if cost is None:
        assert (left.state, left.over) == ("ruled-out", None)
        assert left.conflict is not None
        seen["out"] += 1
    else:
        assert (left.state, cents(left.over)) == ("too-dear", cost - cents(budget)), wish
        seen["dear"] += 1


def test_the_cheapest_completion_is_the_least_to_pay_of_every_package() -> None:
    no_sum = not_settled = 0
    for seed in range(2 * SEEDS):  # the least list prices are seldom not the cheapest
        there = listing(seed)
        shop = read(there.data, cautions=True)
        try:
            found = complete(Search(shop), there.base)
        except SearchLimit:
            not_settled += 1
            continue
        least = there.least({})
        assert (found is None) == (least is None), seed
        if found is None:
            continue
        assert cents(price(Resolved(shop, found)).to_pay) == least, seed
        cheap = [listed(there.data, held) for held, paid in there.packages if paid == least]
        no_sum += min(cheap) > min(listed(there.data, held) for held, _ in there.packages)
    assert not_settled <= 2 * SEEDS // 10
    assert no_sum > 0, "in none is the cheapest another than the one with the least list prices"


def listed(data: Raw, held: Counts) -> Decimal:
    known = offers(data)
    return sum((n * known[c][o].get("price", Decimal(0)) for (c, o), n in held.items()), Decimal(0))


def two_rates() -> Catalogue:
    offered = [option("hi", 100), option("lo", 105, tax="zero")]
    return catalogue(
        [choice("box", offered)],
        tax=tax({"usual": 20, "zero": 0}, "exclude"),
    )


def test_the_dearer_by_list_price_is_granted_where_less_tax_makes_it_the_cheaper() -> None:
    wish = Pick("box", "lo")
    found = within(Search(two_rates()), selection({}), Money(Decimal(110), "AUD"), [wish])
    assert ([*map(str, found.granted)], found.to_pay) == ([str(wish)], Money(Decimal(105), "AUD"))


@pytest.mark.parametrize("adjustment", [percent(-50), amount(-50)], ids=["percent", "amount"])
def test_an_adjustment_may_name_the_only_rate(adjustment: Adjustment) -> None:
    shop = catalogue([choice("box", [option("plain", 100), option("lined", 200)])], tax=tax(10))
    asked = selection({}, [evolve(adjustment, tax="usual")])
    found = within(Search(shop), asked, Money(Decimal(60), "AUD"), [])
    assert found.to_pay == Money(Decimal(50), "AUD")
    assert complete(Search(shop), asked) == found.selection


def test_the_dearer_by_list_price_is_cheapest_where_its_group_has_a_discount() -> None:
    shop = catalogue(
        [
            choice("box", [option("plain", 150), option("lined", 160)], "at-most-one", group="in"),
            choice("top", [option("cover", 50)], "at-most-one"),
        ],
        groups=[{"id": "build", "title": "Build"}, {"id": "in", "title": "Inside"}],
        rules=[
            rule("some", needs={"any": [{"box": ["plain", "lined"]}, {"top": "cover"}]}),
        ],
        tax=tax(10),
    )
    off = evolve(percent(-80, group="in"), title="Runout")
    found = within(Search(shop), selection({}, [off]), Money(Decimal(40), "AUD"), [])
    assert found.to_pay == Money(Decimal(30), "AUD")


@pytest.mark.parametrize("pick", ["one", "at-most-one"])
def test_a_percentage_leaves_an_amount_on_no_line_alone(pick: str) -> None:
    shop = catalogue([choice("box", [option("a", 10)], pick)])
    adjusted = selection({}, [amount(100), percent(-50)])
    found = complete(Search(shop), adjusted)
    assert found is not None
    # no box: 100, of which the percentage takes nothing; with it: (10 + 100) x 0.5
    assert price(Resolved(shop, found)).to_pay == Money(Decimal(55), "AUD")


def test_a_price_that_was_named_counts_in_the_cheapest() -> None:
    on_application = [{"kind": "on-application"}]
    shop = catalogue(
        [
            choice("box", [option("plain", 100), option("lined", 140, tax="zero")]),
            choice("rack", [option("bar", on_application)], "at-most-one"),
        ],
        tax=tax({"usual": 20, "zero": 0}, "exclude"),
    )
    asked = evolve(selection({"rack": "bar"}, [percent(-10)]), named_prices=(NAMED,))
    found = within(Search(shop), asked, Money(Decimal(500), "AUD"), [])
    # plain: (100 + 180) x 0.9 x 1.2 = 302.40; lined: 140 x 0.9 + 180 x 0.9 x 1.2 = 320.40
    assert found.to_pay == Money(Decimal("302.40"), "AUD")


def test_where_which_is_cheapest_is_not_settled_no_number_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No proposal may be refused: what the model says is not taken for what is to be paid."""
    monkeypatch.setattr("configurator.engine.cheapest.MOST_REFUSALS", 0)
    picks = {"box": "a", "lid": "on"}
    shop = catalogue(
        [
            choice("box", [option("a", 80, tax="zero"), option("b", 120)]),
            choice("lid", [option("on", 40)]),
        ],
        tax=tax({"usual": 20, "zero": 0}, "exclude"),
        package_deals=[{"id": "set", "title": "Set", "picks": picks, "price": 75}],
    )
    search = Search(shop)
    # 75, of which a third is for the lid and taxed at 20 %: 80.00
    for budget in (80, 100):
        found = within(search, selection({}), Money(Decimal(budget), "AUD"), [])
        assert (found.to_pay, found.settled) == (Money(Decimal(80), "AUD"), False)
    with pytest.raises(SearchLimit, match="without settling"):
        within(search, selection({}), Money(Decimal(79), "AUD"), [])
