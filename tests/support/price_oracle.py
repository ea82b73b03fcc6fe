"""Prices by a second, plain calculation that shares no code with the first.

The clerk reads the same catalogue as plain data and works with fractions, like a patient person
with a spreadsheet: every set of package deals is tried, nothing is clever. Small catalogues and
selections for both are drawn from a seed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from itertools import product
from random import Random
from typing import Any, TypeAlias

from attrs import evolve, frozen
from hypothesis import strategies as st

from configurator import FreeLine, NamedPrice, Pick, Price, Selection, TradeIn
from configurator.errors import NOWHERE
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved
from tests.support.building import (
    Raw,
    amount,
    choice,
    option,
    percent,
    raw_catalogue,
    read,
    selection,
    several,
    vehicle,
)

Key: TypeAlias = tuple[str, str]
Sums: TypeAlias = dict[Key, Fraction]
Many: TypeAlias = int | Decimal


DIGITS = {"AUD": 2, "JPY": 0, "KWD": 3}
DAYS = dt.date(2026, 3, 1), dt.date(2026, 9, 1)
"""One before and one after the day on which some prices change."""


@frozen
class Sheet:
    """What the clerk finds."""

    lines: dict[Key, Fraction | None]
    deals: tuple[tuple[str, int], ...]
    savings: Fraction
    adjustments: tuple[Fraction, ...]
    rounding: Fraction
    before: Fraction
    tax: Fraction
    total: Fraction
    to_pay: Fraction
    by_rate: dict[str, Fraction]
    payments: tuple[Fraction, ...]
    undecided: tuple[str, ...]


def rounded(value: Fraction, digits: int, mode: str = "half-up") -> Fraction:
    """To so many decimals; negative values mirror positive ones."""
    size = abs(value) * 10**digits
    down = math.floor(size)
    rest = size - down
    half = Fraction(1, 2)
    up = {
        "half-up": rest >= half,
        "half-down": rest > half,
        "half-even": rest > half or (rest == half and down % 2 == 1),
        "down": False,
    }[mode]
    return Fraction((down + up) * (-1 if value < 0 else 1), 10**digits)


def number(value: Any) -> Fraction:
    return Fraction(Decimal(value))


class Clerk:
    """Works out one case."""

    def __init__(self, case: Case) -> None:
        self.case, self.data, self.quantities = case, case.data, case.quantities
        data = case.data
        self.digits = DIGITS[data["currency"]]
        self.choices = {"vehicle": data["vehicles"], "add-on": data.get("add-ons", [])}
        self.group = {"vehicle": data["groups"][0]["id"], "add-on": "add-on"}
        for listed in data["choices"]:
            self.choices[listed["id"]] = listed["options"]
            self.group[listed["id"]] = listed["group"]
        self.options = {
            (name, one["id"]): one for name, options in self.choices.items() for one in options
        }
        self.groups = {key: self.group[key[0]] for key in self.options}
        for line in case.free:
            key = "free-line", line["id"]
            self.options[key] = line
            self.groups[key] = line.get("group", "free-line")
        self.picked = [(self.options[key], n) for key, n in self.quantities.items()]

    def one(self, name: str) -> str | None:
        return next((o for c, o in self.quantities if c == name), None)

    def size(self, what: str) -> Fraction | None:
        """A measure, or None while an answer is missing."""
        if what == "water":
            given = (number(n) * number(o.get("gives", {}).get("water", 0)) for o, n in self.picked)
            return sum(given, Fraction(0))
        parts = [o["space"]["canopy"] for o, _ in self.picked if "canopy" in o.get("space", {})]
        sides = {}
        for side in ("length", "width", "height"):
            given_sides = [number(part[side]) / 1000 for part in parts if side in part]
            if not given_sides:
                return None
            sides[side] = min(given_sides)
        long, wide, high = sides["length"], sides["width"], sides["height"]
        lost = {
            name: sum((number(part.get(name, 0)) for part in parts), Fraction(0)) / 1000
            for name in ("wall", "roof", "floor")
        }
        inside = [
            max(0, math.floor(1000 * clear))
            for clear in (
                long - 2 * lost["wall"],
                wide - 2 * lost["wall"],
                high - lost["roof"] - lost["floor"],
            )
        ]
        walls = 2 * long * high + 2 * wide * high
        return {
            "canopy.length": long,
            "canopy.width": wide,
            "canopy.height": high,
            "canopy.skin": walls + long * wide,
            "canopy.shell": walls + 2 * long * wide,
            "canopy.volume": Fraction(math.prod(inside), 10**9),
        }[what]

    def part(self, part: Raw, key: Key, quantity: Many) -> Fraction | None:
        kind = part["kind"]
        if kind == "fixed":
            return number(part["amount"])
        if kind == "labour":
            worth = number(part["hours"]) * number(self.data["labour"][part["trade"]])
            return max(worth, number(part.get("minimum", 0)))
        if kind == "measure":
            size = self.size(part["of"])
            return None if size is None else number(part["rate"]) * size
        if kind == "table":
            cell: Any = part["rows"]
            for name in part["by"]:
                cell = cell.get(self.one(name)) if cell is not None else None
            return None if cell is None else number(cell)
        if kind == "breaks":
            least = max(quantity, 1)
            return number([s["each"] for s in part["steps"] if s["from"] <= least][-1])
        if kind == "markup":
            marked = number(part["cost"]) * (100 + number(part["percent"])) / 100
            if self.data["tax"]["prices"] == "exclude":
                return marked
            rates = self.data["tax"]["rates"]
            rate = rates[self.options[key].get("tax", next(iter(rates)))]
            return marked * (100 + number(rate)) / 100
        if kind == "credit":
            chosen, _, one = part["replaces"].partition("=")
            other = self.each((chosen, one), quantity)
            return None if other is None else -other * number(part.get("percent", 100)) / 100
        assert kind == "on-application"
        return self.case.named.get("=".join(key))

    def parts(self, key: Key) -> list[Raw]:
        """What its price is made of on the day."""
        option = self.options[key]
        if "per" in option:
            return [{"kind": "unit-price", "price": option["price"], "per": option["per"]}]
        written = option["price"]
        parts = written if isinstance(written, list) else [{"kind": "fixed", "amount": written}]
        day = self.case.day.isoformat()
        return [p for p in parts if p.get("from", "0000") <= day <= p.get("until", "9999")]

    def line(self, key: Key, quantity: Many) -> Fraction | None:
        """What so many of it come to; a unit price is multiplied first and rounded once."""
        parts = self.parts(key)
        if [part["kind"] for part in parts] == ["unit-price"]:
            (part,) = parts
            exact = number(part["price"]) * number(quantity) / part.get("per", 1)
            return rounded(exact, self.digits)
        each = self.each(key, quantity)
        return None if each is None else rounded(each * number(quantity), self.digits)

    def each(self, key: Key, quantity: Many) -> Fraction | None:
        parts = self.parts(key)
        if any(part["kind"] == "unit-price" for part in parts):
            return None
        found = [self.part(part, key, quantity) for part in parts]
        known = [value for value in found if value is not None]
        if not parts or len(known) != len(found):
            return None
        return rounded(sum(known, Fraction(0)), self.digits)

    def deals(
        self, prices: Mapping[Key, Fraction | None]
    ) -> tuple[tuple[tuple[str, int], ...], Sums]:
        """How often each deal counts at best, all ways tried; and what they take off each line."""
        worth = {}
        for deal in self.data.get("package-deals", []):
            listed = {key: prices.get(key) for key in wanted(deal)}
            known = {key: value for key, value in listed.items() if value is not None}
            if len(known) == len(listed):
                sums = sum((n * known[key] for key, n in wanted(deal).items()), Fraction(0))
                if sums > number(deal["price"]):
                    worth[deal["id"]] = (deal, sums - number(deal["price"]))
        names = sorted(worth)
        most = [
            1
            if worth[name][0].get("times") == "once"
            else max(int(self.quantities.get(k, 0)) // n for k, n in wanted(worth[name][0]).items())
            for name in names
        ]
        best: tuple[Fraction, tuple[int, ...]] = (Fraction(0), (0,) * len(names))
        for counts in product(*(range(n + 1) for n in most)):
            uses: Counter[Key] = Counter()
            for name, times in zip(names, counts, strict=True):
                uses.update({key: n * times for key, n in wanted(worth[name][0]).items()})
            if all(n <= self.quantities.get(key, 0) for key, n in uses.items()):
                taken = zip(names, counts, strict=True)
                saving = sum((worth[name][1] * times for name, times in taken), Fraction(0))
                best = max(best, (saving, counts))
        off: Sums = {}
        found = tuple((n, times) for n, times in zip(names, best[1], strict=True) if times)
        for name, times in found:
            deal, saving = worth[name]
            in_sets = {k: n * times * (prices[k] or Fraction(0)) for k, n in wanted(deal).items()}
            for key, share in self.shared(-saving * times, in_sets).items():
                off[key] = off.get(key, Fraction(0)) + share
        return found, off

    def shared(self, whole: Fraction, over: Mapping[Key, Fraction]) -> Sums:
        """In proportion to the lines above zero, in smallest units; the largest takes the rest."""
        some = {key: value for key, value in over.items() if value > 0} or dict(over)
        weight = sum(some.values(), Fraction(0))
        if not weight:
            return {min(some): whole} if some else {}
        shares = {k: rounded(whole * value / weight, self.digits) for k, value in some.items()}
        largest = max(some, key=lambda key: (some[key], key))
        shares[largest] += whole - sum(shares.values(), Fraction(0))
        return shares

    def round_amount(self, package: Fraction, which: str = "rounding") -> Fraction:
        """What rounding the package, or what is to be paid, to a round amount adds."""
        terms = self.data.get(which)
        if terms is None:
            return Fraction(0)
        to = number(terms["to"])
        steps = abs(package) / to
        whole = {
            "down": math.floor(steps),
            "up": math.ceil(steps),
            "nearest": math.floor(steps + Fraction(1, 2)),
        }[terms.get("mode", "nearest")]
        return (whole * to if package >= 0 else -whole * to) - package

    def sheet(self) -> Sheet:
        lines: dict[Key, Fraction | None] = {}
        prices: dict[Key, Fraction | None] = {}
        for key, quantity in self.quantities.items():
            if "price" in self.options[key]:
                prices[key] = self.each(key, quantity)
                lines[key] = self.line(key, quantity)
        left = {key: value for key, value in lines.items() if value is not None}
        deals, off = self.deals(prices)
        for key, share in off.items():
            left[key] += share
        beside: list[tuple[str, Fraction]] = []
        usual = next(iter(self.data["tax"]["rates"]))

        def enter(come: Fraction, on: Mapping[Key, Fraction], rate: str = usual) -> None:
            if not on:
                beside.append((rate, come))
            for key, share in self.shared(come, on).items():
                left[key] += share

        adjustments = []
        for change in self.case.changes:
            on = {
                key: value
                for key, value in left.items()
                if change.get("line", "=".join(key)) == "=".join(key)
                and change.get("group", self.groups[key]) == self.groups[key]
                and change.get("tax") in (None, self.options[key].get("tax", usual))
            }
            if "percent" in change:
                base = sum(on.values(), Fraction(0))
                come = rounded(base * number(change["percent"]) / 100, self.digits)
            else:
                come = number(change["amount"])
            adjustments.append(come)
            enter(come, on, change.get("tax", usual))
        package = sum(left.values(), Fraction(0)) + sum((v for _, v in beside), Fraction(0))
        rounding = self.round_amount(package)
        if rounding:
            enter(rounding, dict(left))
        amounts = [(self.options[k].get("tax", usual), value) for k, value in left.items()]
        tax, shares = self.tax([*amounts, *beside])
        listed = package + rounding
        total = listed if self.data["tax"]["prices"] == "include" else listed + tax
        due = total - sum(map(Fraction, self.case.trade_ins), Fraction(0))
        to_pay = due + self.round_amount(due, "payable-rounding")
        stages = [number(stage["percent"]) for stage in self.data["quote"]["payments"]]
        payments = [rounded(to_pay * stage / 100, self.digits) for stage in stages[:-1]]
        return Sheet(
            lines=lines,
            deals=deals,
            savings=-sum(off.values(), Fraction(0)),
            adjustments=tuple(adjustments),
            rounding=rounding,
            before=total - tax,
            tax=tax,
            total=total,
            to_pay=to_pay,
            by_rate=shares,
            payments=(*payments, to_pay - sum(payments, Fraction(0))),
            undecided=tuple(
                name
                for name, pick in [("vehicle", "one")]
                + [(c["id"], c["pick"]) for c in self.data["choices"]]
                if pick == "one" and self.one(name) is None
            ),
        )

    def tax(self, amounts: list[tuple[str, Fraction]]) -> tuple[Fraction, dict[str, Fraction]]:
        """The tax, and what falls to each rate before the document is rounded."""
        terms = self.data["tax"]
        basis, mode = terms.get("basis", "document"), terms.get("mode", "half-up")
        shares: dict[str, Fraction] = {}
        for name, value in amounts:
            rate = number(terms["rates"][name])
            share = value * rate / (100 + rate if terms["prices"] == "include" else 100)
            if basis == "line":
                share = rounded(share, terms.get("line-decimals", self.digits), mode)
            shares[name] = shares.get(name, Fraction(0)) + share
        if basis == "category":
            shares = {name: rounded(share, self.digits, mode) for name, share in shares.items()}
        return rounded(sum(shares.values(), Fraction(0)), self.digits, mode), shares


def wanted(deal: Raw) -> dict[Key, int]:
    """The quantities that a deal asks for."""
    found = {}
    for name, answer in deal["picks"].items():
        listed = [answer] if isinstance(answer, str) else answer
        for one in listed:
            found[name, one] = listed[one] if isinstance(listed, dict) else 1
    return found


@frozen
class Case:
    """A catalogue as plain data, and a selection of it, priced on a day."""

    data: Raw
    quantities: dict[Key, Many]
    changes: list[Raw]
    free: list[Raw]
    day: dt.date
    named: dict[str, Fraction]
    trade_ins: tuple[Decimal, ...]

    def expected(self) -> Sheet:
        return Clerk(self).sheet()

    def selection(self) -> Selection:
        adjustments = []
        for change in self.changes:
            where = change.get("group", ""), change.get("line", "")
            if "percent" in change:
                made = percent(change["percent"], *where)
            else:
                made = amount(change["amount"], *where)
            adjustments.append(evolve(made, tax=change.get("tax", "")))
        picks = tuple(Pick.counting(*key, n, NOWHERE) for key, n in self.quantities.items())
        free = tuple(
            FreeLine(
                f["id"],
                "Sold",
                f["price"],
                Decimal(3),
                f.get("tax", ""),
                f.get("group", ""),
                per=f.get("per"),
                unit=f.get("unit", ""),
            )
            for f in self.free
        )
        named = tuple(
            NamedPrice(line, Decimal(value.numerator) / Decimal(value.denominator), "the shop")
            for line, value in self.named.items()
        )
        return evolve(
            selection({}, adjustments),
            picks=picks,
            free_lines=free,
            named_prices=named,
            trade_ins=tuple(TradeIn("Old tray", "Worn.", value) for value in self.trade_ins),
        )

    def price(self) -> Price:
        return price(Resolved(read(self.data, cautions=True), self.selection()), self.day)


HALF, CENT = Decimal("0.5"), Decimal("0.01")
_MEASURES = [f"canopy.{m}" for m in ("length", "width", "height", "skin", "shell", "volume")]


_RATES: list[Raw] = [
    {"usual": 10},
    {"usual": 10, "zero": 0},
    {"usual": Decimal("12.5"), "low": 7, "zero": 0},
    {"usual": 25, "low": Decimal("0.3"), "high": 100},
]


DICE = st.integers(0, 10**9).map(Random)


def cases() -> st.SearchStrategy[Case]:
    """A small catalogue and a selection, drawn from a seed: a third of the work."""
    return st.integers(0, 10**9).map(drawn)


def drawn(seed: int) -> Case:
    """The case of a seed; every sixteenth figure is an end of its range, or nought."""
    dice = Random(seed)

    def whole(low: int, high: int) -> int:
        if dice.random() < 1 / 16:
            return dice.choice([low, high, min(max(0, low), high)])
        return dice.randint(low, high)

    def maybe() -> bool:
        return dice.random() < 0.5

    currency = dice.choice(["AUD", "AUD", "AUD", "JPY", "KWD"])
    rates = dice.choice(_RATES)
    digits = DIGITS[currency]

    def money(low: int = 0, high: int = 99_999) -> Decimal:
        return Decimal(whole(low, high)).scaleb(-digits)

    def table() -> Raw:
        rows: Raw = {"short": money()}
        if dice.randint(0, 3):
            rows["long"] = money()
        if maybe():
            return {"kind": "table", "by": ["size"], "rows": rows}
        return {"kind": "table", "by": ["vehicle", "size"], "rows": {"ute": rows, "truck": rows}}

    def part() -> Raw:
        kind = dice.choice(["fixed", "table", "measure", "labour", "fixed", "measure"])
        if kind == "fixed":
            return {"kind": kind, "amount": money(-9_999)}
        if kind == "table":
            return table()
        if kind == "labour":
            hours = Decimal(whole(1, 1999)) / 1000
            return {"kind": kind, "trade": "fitter", "hours": hours}
        of = dice.choice([*_MEASURES, "water"])
        return {"kind": kind, "of": of, "rate": money(0, 9_999)}

    def steps() -> list[Raw]:
        starts = sorted(dice.sample(range(2, 6), dice.randint(1, 3)))
        return [{"from": start, "each": money()} for start in (1, *starts)]

    def shaped(name: str) -> list[Raw]:
        """The less plain shapes of a price."""
        kind = dice.choice(["breaks", "markup", "credit", "labour", "dated", "open"])
        if kind == "breaks":
            return [{"kind": kind, "steps": steps()}]
        if kind == "markup":
            share = Decimal(whole(1, 999)) / 4
            return [{"kind": kind, "cost": money(), "percent": share}]
        if kind == "credit" and name != "short":
            off: Raw = dice.choice([{}, {"percent": 50}, {"percent": Decimal("33.3")}])
            credit: Raw = {"kind": "credit", "replaces": "size=short", **off}
            return [{"kind": "fixed", "amount": money()}, credit]
        if kind == "dated":
            return [
                {"kind": "fixed", "amount": money(), "until": "2026-06-30"},
                {"kind": "fixed", "amount": money(), "from": "2026-07-01"},
            ]
        if kind == "open":
            return [{"kind": "on-application"}, {"kind": "fixed", "amount": money(0, 999)}]
        hours = Decimal(whole(1, 99)) / 10
        return [{"kind": "labour", "trade": "fitter", "hours": hours, "minimum": money(0, 9_999)}]

    def unit_price() -> list[Raw]:
        """A price finer than the currency, or for many."""
        finer = money().scaleb(-dice.randint(0, 3))
        per = dice.choice([{}, {"per": 12}, {"per": 100}])
        return [{"kind": "unit-price", "price": finer, **per}]

    plain = maybe()

    def cost(name: str) -> Any:
        if not plain and maybe():
            return shaped(name)
        kind = dice.randint(0, 13)
        if kind < 8:
            return money(-9_999 if kind == 0 else 0)
        if kind == 13:
            return [{"kind": "on-application"}]
        return [part() for _ in range(dice.randint(1, 3))]

    def offer(name: str, **more: Any) -> Raw:
        rate = dice.choice(["", *rates])
        return option(name, cost(name), **({"tax": rate} if rate else {}), **more)

    def sizes(long: int) -> Raw:
        height = dice.choice([850, 1001])
        return {"canopy": {"length": long, "width": 1780, "height": height, "wall": 30}}

    thick = Decimal(whole(1, 99)) / 2
    choices = [
        choice("size", [offer("short", space=sizes(1200)), offer("long", space=sizes(2401))]),
        choice(
            "lining",
            [offer("felt", space={"canopy": {"wall": thick, "roof": 20, "floor": 3}})],
            "at-most-one",
            group="extras",
        ),
        several(
            "tanks",
            [
                offer("small", gives={"water": 40}, most=3),
                offer("large", gives={"water": Decimal("62.5")}, most=2),
            ],
            group="extras",
        ),
        several("parts", [offer(name, most=4) for name in "abcd"]),
        several(
            "loose",
            [
                {**offer("rivet", most=999), "price": unit_price()},
                offer("hose", sold_by={"unit": "m", "step": HALF}, gives={"water": HALF}),
                {**offer("cord", sold_by={"unit": "kg", "step": CENT}), "price": unit_price()},
            ],
        ),
    ]
    options: dict[str, tuple[str, dict[str, int]]] = {
        "size": ("one", {"short": 1, "long": 1}),
        "lining": ("at-most-one", {"felt": 1}),
        "tanks": ("several", {"small": 3, "large": 2}),
        "parts": ("several", dict.fromkeys("abcd", 4)),
        "add-on": ("several", dict.fromkeys("xy", 2)),
        "vehicle": ("one", {"ute": 1, "truck": 1}),
    }
    quantities: dict[Key, Many] = {}
    for name, (pick, listed) in options.items():
        if pick == "several":
            for one, most in listed.items():
                if maybe():
                    quantities[name, one] = whole(1, most)
        elif dice.randint(0, 5):
            quantities[name, dice.choice(sorted(listed))] = 1
    # deals over what is picked, mostly
    keys = [(name, one) for name, (_, listed) in options.items() for one in listed]
    keys += 3 * list(quantities)
    keys += 6 * [key for key, n in quantities.items() if n > 1]

    def deal(name: str) -> Raw:
        picks: dict[str, Any] = {}
        for chosen, one in dice.choices(keys, k=dice.randint(1, 2)):
            if options[chosen][0] == "several":
                picks.setdefault(chosen, {})[one] = dice.choice([1, 1, 2])
            else:
                picks[chosen] = one
        return {
            "id": name,
            "title": name,
            "picks": picks,
            "price": money(0, dice.choice([999, 9_999, 99_999])),
            **({"times": "once"} if name == "deal-1" else {}),
        }

    tax: Raw = {
        "name": "GST",
        "prices": dice.choice(["include", "exclude"]),
        "rates": rates,
        "basis": dice.choice(["document", "category", "line"]),
        "mode": dice.choice(["half-up", "half-down", "half-even", "down"]),
    }
    if maybe():
        tax["line-decimals"] = dice.randint(0, 4)
    more: Raw = {}
    if not plain and maybe():
        tax["cash-increment"] = Decimal(5).scaleb(-digits)
    if not plain and maybe():
        mode = dice.choice(["nearest", "down", "up"])
        more["rounding"] = {"to": dice.choice([5, 10, 1]), "mode": mode}
    if not plain and maybe():
        mode = dice.choice(["nearest", "down", "up"])
        more["payable-rounding"] = {"to": dice.choice([1, 5]), "mode": mode}
    stages: list[Any] = dice.choice(
        [[100], [30, 70], ["33.3", "33.3", "33.4"], ["12.5", 50, "37.5"]]
    )
    data = raw_catalogue(
        choices,
        currency=currency,
        tax=tax,
        groups=[{"id": "build", "title": "The build"}, {"id": "extras", "title": "Extras"}],
        quote={
            "valid-days": 30,
            "payments": [{"title": "Stage", "percent": Decimal(share)} for share in stages],
        },
        labour={"fitter": money()},
        spaces=[{"id": "canopy", "title": "Canopy"}],
        limits=[{"id": "water", "title": "Water", "unit": "l", "because": "Tanks hold so much."}],
        vehicles=[vehicle(), vehicle("truck", price=cost("truck"))],
        add_ons=[offer(name, most=2, because="It helps.") for name in "xy"],
        package_deals=[deal(f"deal-{n}") for n in range(dice.choice([0, 1, 2, 3, 4, 4]))],
        **more,
    )
    loose: dict[str, Callable[[], Many]] = {
        "rivet": lambda: whole(1, 999),
        "hose": lambda: whole(1, 60) * HALF,
        "cord": lambda: whole(10, 9_999) * CENT,
    }
    for name, many in loose.items():
        if dice.randint(0, 2) == 0:
            quantities["loose", name] = many()
    changes: list[Raw] = []
    for _ in range(dice.randint(0, 3)):
        change: Raw = {}
        if maybe():
            change["percent"] = Decimal(whole(-200, 200)) / 8
        else:
            change["amount"] = money(-9_999, 9_999)
        where = dice.randint(0, 3)
        if where == 1:
            change["group"] = dice.choice(["build", "extras", "add-on"])
        elif where == 2 and quantities:
            change["line"] = "=".join(dice.choice(sorted(quantities)))
        elif where == 3:
            change["tax"] = dice.choice([*rates])
        changes.append(change)
    free: list[Raw] = []
    for n in range(dice.choice([0, 0, 1, 2])):
        line: Raw = {"id": f"own-{n}", "price": money()}
        for key, known in (("tax", ["", *rates]), ("group", ["", "build", "extras"])):
            if name := dice.choice(known):
                line[key] = name
        free.append(line)
        if maybe():
            line |= {"price": line["price"].scaleb(-2), "per": dice.choice([1, 12])}
        if maybe():
            line["unit"] = "m"
        quantities["free-line", line["id"]] = loose["cord"]() if maybe() else whole(1, 3)
        on = dice.choice([{}, {"line": f"free-line=own-{n}"}, {"group": "free-line"}])
        if on:
            changes.append({"amount": money(-9_999, 9_999), **on})
    offered: dict[Key, Raw] = {(c["id"], o["id"]): o for c in data["choices"] for o in c["options"]}
    prices = {"=".join(key): offered[key]["price"] for key in quantities if key in offered}
    named = {
        line: Fraction(money())
        for line, parts in prices.items()
        if isinstance(parts, list) and parts[0]["kind"] == "on-application"
        if dice.randint(0, 3)
    }
    trade_ins = () if plain else tuple(money(1, 9_999) for _ in range(dice.randint(0, 2)))
    return Case(data, quantities, changes, free, dice.choice(DAYS), named, trade_ins)
