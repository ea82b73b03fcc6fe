"""What ``catalogue check`` says of figures that can be read and are hardly meant.

Each test first has the catalogue without the mistake, of which nothing is said.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    choice,
    limit,
    option,
    raw_catalogue,
    rule,
    several,
    tax,
    vehicle,
    written,
)
from tests.support.commands import Run

SPACES = [{"id": "canopy", "title": "canopy"}]


def said(run: Run, choices: list[Raw], **more: Any) -> str:
    """What the command prints of a catalogue with those choices; it is never an error."""
    Path("shop.json").write_text(written(raw_catalogue(choices, **more)), "utf-8")
    ran = run("catalogue", "check", "shop.json")
    assert (ran.code, ran.err) == (0, "")
    return " ".join(ran.out.split())


def heights(*sizes: int | None, **more: Any) -> Raw:
    """A choice of canopy heights; None brings none."""
    made = [
        option(f"h{n}", space={"canopy": {"height": size} if size else {"roof": 20}})
        for n, size in enumerate(sizes)
    ]
    return choice("height", made, **more)


def test_an_option_that_brings_no_size_where_all_others_do(run: Run) -> None:
    assert "no problems found" in said(run, [heights(700, 850, 900)], spaces=SPACES)
    told = said(run, [heights(700, 850, None)], spaces=SPACES)
    assert "shop.json:1:" in told
    assert (
        'caution: option "h2" of choice "height" brings no height of the canopy; all 2 others of '
        "the choice do (700 to 850 mm) (no-size)" in told
    )
    assert "no problems found" in said(run, [heights(700, None, None)], spaces=SPACES)


def test_an_option_that_a_rule_names_may_bring_no_size(run: Run) -> None:
    rules = [rule("open", when={"height": "h2"}, rules_out={"lid": "yes"})]
    lid = choice("lid", [option("yes"), option("no")])
    assert "no problems" in said(run, [heights(700, 850, None), lid], spaces=SPACES, rules=rules)


def test_an_option_without_a_row_where_all_others_have_one(run: Run) -> None:
    def priced(*rows: str) -> list[Raw]:
        table = {"kind": "table", "by": ["height"], "rows": dict.fromkeys(rows, 5)}
        return [heights(700, 850, 900), choice("canopy", [option("full", [table], mass=[table])])]

    assert "no problems found" in said(run, priced("h0", "h1", "h2"), spaces=SPACES)
    told = said(run, priced("h0", "h1"), spaces=SPACES)
    assert (
        'caution: option "h2" of choice "height" has no row in a table where all 2 others of the '
        'choice have one: the price of option "full" of choice "canopy" (line 1), the mass of '
        'option "full" of choice "canopy" (line 1) (no-row)' in told
    )


def test_a_vehicle_that_no_rule_names_where_all_others_have_one(run: Run) -> None:
    lid = choice("lid", [option("yes"), option("no")])

    def ruled(*names: str) -> str:
        rules = [rule("r", when={"vehicle": list(names)}, needs={"lid": "yes"})]
        three = [vehicle(name) for name in ("small", "large", "new")]
        return said(run, [lid], vehicles=three, rules=rules)

    assert "no problems found" in ruled("small", "large", "new")
    assert 'no rule names vehicle "new"; rules name all 2 others (no-rule)' in ruled(
        "small", "large"
    )
    assert "no problems found" in ruled("small")


@pytest.mark.parametrize(
    ("prices", "price", "net"), [("include", "54.99", "49.99"), ("exclude", "49.99", "49.99")]
)
def test_a_price_below_cost(run: Run, prices: str, price: str, net: str) -> None:
    def shop(amount: str) -> str:
        made = [option("rack", Decimal(amount), cost=50), option("free", 0, cost=9)]
        return said(run, [choice("rack", made)], tax=tax(10, prices))

    assert "no problems found" in shop("55.00" if prices == "include" else "50.00")
    assert (
        f'caution: option "rack" of choice "rack" is sold for {net} without tax, 0.01 below its '
        "cost of 50.00 (below-cost)" in shop(price)
    )


def test_a_price_below_cost_in_one_cell_of_a_table(run: Run) -> None:
    sizes = choice("size", [option("small"), option("large")])

    costs = {"kind": "table", "by": ["size"], "rows": {"small": 9, "large": 100}}

    def shop(large: int) -> str:
        prices = {"kind": "table", "by": ["size"], "rows": {"small": 110, "large": large}}
        lid = choice("lid", [option("lid", [prices], cost=[costs])])
        return said(run, [sizes, lid], tax=tax(0))

    assert "no problems found" in shop(100)
    assert (
        "sold for 90.00 without tax, 10.00 below its cost of 100.00, with size=large (below-cost)"
        in shop(90)
    )


def test_a_price_that_depends_on_very_many_answers_is_passed_over(run: Run) -> None:
    tanks = [option(f"tank{n}", gives={"water": 40}, most=9) for n in range(9)]
    part = {"kind": "measure", "of": "water", "rate": -1}
    choices = [several("tanks", tanks), choice("pump", [option("pump", [part])])]
    assert "no problems found" in said(run, choices, limits=[limit("water", unit="L")])
    told = said(run, [several("tanks", tanks[:2]), choices[1]], limits=[limit("water", unit="L")])
    assert 'the price of option "pump" of choice "pump" is -720.00, below zero' in told


def test_a_price_below_zero(run: Run) -> None:
    def shop(amount: int) -> str:
        return said(run, [choice("lid", [option("yes", 200), option("no", amount)])])

    assert "no problems found" in shop(0)
    assert 'the price of option "no" of choice "lid" is -20.00, below zero (negative-price)' in (
        shop(-20)
    )


def test_a_deal_that_costs_no_less_than_its_parts(run: Run) -> None:
    parts = [choice("lid", [option("lid", 120)]), choice("lock", [option("lock", 80)])]

    def shop(amount: int) -> str:
        picks = {"lid": "lid", "lock": "lock"}
        deal = {"id": "both", "title": "Both", "picks": picks, "price": amount}
        return said(run, parts, package_deals=[deal])

    assert "no problems found" in shop(199)
    for amount in (200, 260):
        assert (
            f'package deal "both" costs {amount}.00; its parts come to 200.00, so it never saves '
            "anything (deal-saves-nothing)" in shop(amount)
        )


def test_a_package_rounded_to_more_than_an_option_costs(run: Run) -> None:
    lid = choice("lid", [option("lid", 120)])
    assert "no problems found" in said(run, [lid], rounding={"to": 5})
    told = said(run, [lid], rounding={"to": 100000, "mode": "down"})
    assert (
        "packages are rounded to 100000; the most expensive option costs 120.00 (rounding-step)"
        in told
    )


FULL = choice(
    "canopy", [option("full", space={"canopy": {"length": 1500, "height": 850, "width": 1700}})]
)


def fridge(**more: Any) -> list[Raw]:
    unit = {"space": "canopy", "body": {"width": 720, "depth": 420, "height": 480}}
    unit |= more.pop("unit", {})
    return [choice("fridge", [option("chest", unit=unit, **more)])]


def test_a_size_that_no_option_brings(run: Run) -> None:
    sized = {"canopy": {"length": 1500, "height": 850, "width": 1700}}
    assert "no problems found" in said(
        run, [choice("canopy", [option("full", space=sized)]), *fridge(mass=9)], spaces=SPACES
    )
    del sized["canopy"]["width"]
    told = said(
        run, [choice("canopy", [option("full", space=sized)]), *fridge(mass=9)], spaces=SPACES
    )
    assert (
        'no option brings a width of the canopy, on which option "chest" of choice "fridge" '
        "depends: a quote with it is stopped (no-size)" in told
    )
    assert told.count("caution") == 1
    part = {"kind": "measure", "of": "canopy.shell", "rate": 6}
    full = option("full", space=sized, mass=[part])
    told = said(run, [choice("canopy", [full]), *fridge(mass=9)], spaces=SPACES)
    assert 'on which option "full" of choice "canopy" and 1 more depend:' in told


def test_a_body_that_cannot_hold_its_litres(run: Run) -> None:
    fits = [FULL, *fridge(mass=24, unit={"litres": 60})]
    assert "no problems found" in said(run, fits, spaces=SPACES)
    body = {"width": 72, "depth": 42, "height": 48}
    told = said(run, fridge(mass=24, unit={"litres": 60, "body": body}), spaces=SPACES)
    assert (
        'caution: option "chest" of choice "fridge" states 60 litres; its body of 72 × 42 × 48 mm '
        "holds 0.15 (litres)" in told
    )


def test_a_unit_without_a_mass(run: Run) -> None:
    assert "no problems found" in said(run, [FULL, *fridge(mass=0)], spaces=SPACES)
    told = said(run, fridge(), spaces=SPACES)
    assert (
        'option "chest" of choice "fridge" is a unit without a mass: it counts as 0 kg (no-mass)'
        in told
    )


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"wheelbase": 1}, 'the wheelbase of vehicle "ute" is 1 mm; 1500 to 8000 is usual'),
        (
            {"cab-back": 100000, "tray-front": 100000},
            'the cab of vehicle "ute" ends 100000 mm behind the front axle, behind the rear axle '
            "at 3200 mm",
        ),
        (
            {"tray-front": 1899},
            'the tray of vehicle "ute" begins 1899 mm behind the front axle, before the cab ends '
            "at 1900 mm",
        ),
        (
            {"front-axle": 1300, "rear-axle": 1100},
            'the axle ratings of vehicle "ute" come to 2400 kg (1300 and 1100), less than its '
            "gvm of 3300 kg",
        ),
        ({"gcm": 1}, 'the gcm of vehicle "ute" is 1 kg, less than its gvm of 3300 kg'),
    ],
)
def test_a_vehicle_with_figures_that_none_has(run: Run, changed: Raw, told: str) -> None:
    assert "no problems found" in said(run, [])
    figures = {**VEHICLE_FIGURES, **changed}
    assert f"caution: {told} (vehicle-figure)" in said(run, [], vehicles=[vehicle(vehicle=figures)])


def canopy(wall: int = 30, **frame: int) -> list[Raw]:
    opening = {"space": "canopy", "side": "left", "sill": 60, "front": 80, "rear": 80, **frame}
    space = {"canopy": {"length": 1500, "width": 1780, "height": 850, "wall": wall}}
    return [choice("canopy", [option("full", space=space, openings=[opening])])]


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (
            canopy(wall=900),
            'the walls of option "full" of choice "canopy" take 1800 mm of the width of the '
            "canopy, which is 1780 mm outside: nothing is left (no-inside)",
        ),
        (
            canopy(sill=850),
            'sill and header of an opening of option "full" of choice "canopy" come to 850 mm; '
            "the canopy has at most 850 mm of height (no-clear-opening)",
        ),
        (
            canopy(front=1400, rear=100),
            'front, rear and width of an opening of option "full" of choice "canopy" come to 1500 '
            "mm; the canopy has at most 1500 mm of length (no-clear-opening)",
        ),
    ],
)
def test_walls_and_frames_that_leave_nothing(run: Run, made: list[Raw], told: str) -> None:
    assert "no problems found" in said(run, canopy(), spaces=SPACES)
    assert told in said(run, made, spaces=SPACES)


def test_the_shipped_catalogue_has_no_caution(run: Run) -> None:
    assert "quandong.yaml: no problems found: " in run("catalogue", "check").out
