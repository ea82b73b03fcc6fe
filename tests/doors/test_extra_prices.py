"""A suggested extra has one price at every door: what it alone adds, with the deals named in it."""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from collections import Counter
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from configurator import Adjustment, Build, Shop, open_shop
from configurator.catalogue.reading import shipped
from configurator.report.price import suggested_cost
from tests.support.building import Raw, limit, option, raw_catalogue, read, selection, several, tax
from tests.support.commands import Run
from tests.support.paths import ROOT

DAY = dt.date(2026, 8, 3)
SELECTIONS = ROOT / "catalogues" / "selections"


@pytest.fixture(scope="module")
def quandong() -> Shop:
    return open_shop(shipped("catalogues") / "quandong.yaml")


def require_true(build: Build, seen: Counter[str]) -> None:
    """Every extra must add what it says, by the deals that it names."""
    before = build.price()
    known = {deal.title: deal.saving for deal in before.deals}
    for extra in build.suggestions():
        after = build.pick("add-on", extra.option).price()
        assert after.total - before.total == extra.difference, extra.option
        if before.tax_included:
            assert extra.cost == extra.difference
        else:
            assert extra.cost == after.tax.before - before.tax.before
        now = {deal.title: deal.saving for deal in after.deals}
        for change in extra.deals:
            assert bool(now.get(change.title)) or bool(known.get(change.title))
        told = sum(change.saving.amount for change in extra.deals)
        assert told == sum(d.amount for d in now.values()) - sum(d.amount for d in known.values())
        others = [line for line in after.lines if line.option != extra.option]
        seen["all"] += 1
        seen["begins"] += any(change.saving.amount > 0 for change in extra.deals)
        seen["ends"] += any(change.saving.amount < 0 for change in extra.deals)
        seen["rounded"] += before.rounding != after.rounding
        seen["discount"] += bool(before.adjustments)
        seen["tax on top"] += not before.tax_included
        seen["changes other prices"] += tuple(others) != before.lines


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_figure_of_an_extra_is_the_same_on_paper_terminal_and_in_data(
    name: str, quandong: Shop, run: Run
) -> None:
    file = SELECTIONS / f"{name}.yaml"
    build = quandong.build(file)
    seen: Counter[str] = Counter()
    require_true(build, seen)
    assert seen["rounded"]
    assert seen["begins"] or name != "touring"
    extras = {extra.suggestion.option: extra for extra in build.quote("Q-1", DAY).extras}
    priced = json.loads(run("price", str(file), f"--date={DAY}", "--json").out)
    told = run("price", str(file), f"--date={DAY}").out
    run("quote", str(file), "--number", "Q-1", f"--date={DAY}", "-o", "quote.html", "--all-extras")
    paper = html.unescape(Path("quote.html").read_text("utf-8")).replace("\N{NO-BREAK SPACE}", " ")
    rows = re.findall(r"<tr>.*?</tr>", paper, re.DOTALL)
    assert {one["option"] for one in priced["suggestions"]} == set(extras)
    for one in priced["suggestions"]:
        extra = extras[one["option"]]
        cost = extra.suggestion.cost
        assert cost is not None
        assert Decimal(one["difference"]) == Decimal(one["added"]) == cost.amount
        title = extra.suggestion.title
        found = [row for row in rows if re.search(f"</span>{re.escape(title)}\\s", row)]
        assert len(found) == 1, (title, len(rows), rows[-1:])
        (row,) = found
        assert re.findall(r"([^>]*)</td></tr>", row) == [f"{cost.amount:,.2f}"]
        assert all(deal.title in row for deal in extra.suggestion.deals)
        start = " ".join(title.split()[:3])
        lines = told.partition("Optional extras")[2].splitlines()
        ends = [line.split()[-1] for line in lines if line.strip().startswith(start)]
        assert f"{cost.amount:,.2f}" in ends, (title, ends)
        for deal in extra.suggestion.deals:
            assert all(word in told.split() or f"{word})" in told for word in deal.title.split())


def test_the_deal_that_makes_an_extra_cheap_is_named_beside_it(
    quandong: Shop, run: Run, tmp_path: Path
) -> None:
    file = SELECTIONS / "touring.yaml"
    (wall,) = (one for one in quandong.build(file).suggestions() if one.option == "awning-wall")
    assert (str(wall.price), str(wall.cost)) == ("AUD 320.00", "AUD 10.00")
    (deal,) = wall.deals
    assert deal.told == "with the package deal Touring roof package, which saves AUD 310.00"
    paper = tmp_path / "quote.html"
    run("quote", str(file), "--number", "Q-1", f"--date={DAY}", "-o", str(paper))
    told = " ".join(re.sub("<[^>]*>", " ", paper.read_text("utf-8")).split())
    assert "with Touring roof package" in told


def small_shop(dice: Random) -> Raw:
    """Deals over add-ons, a price measured by what one gives, a round total, tax in or on top."""
    extras = [
        option(f"extra-{n}", dice.randint(1, 90), because="It helps.", suggest={"load": "box"})
        for n in range(4)
    ]
    extras[0] |= {"gives": {"water": 20}}
    measured = [{"kind": "measure", "of": "water", "rate": dice.randint(1, 3)}]
    loads = [option("box", dice.randint(5, 60)), option("tank", measured, gives={"water": 30})]
    deals = [
        {
            "id": f"deal-{n}",
            "title": f"Deal {n}",
            "text": "Together.",
            "picks": {
                "load": "box",
                "add-on": dict.fromkeys(
                    dice.sample([one["id"] for one in extras], dice.randint(1, 2)), 1
                ),
            },
            "price": dice.randint(1, 60),
        }
        for n in range(3)
    ]
    rounded: Raw = {"rounding": {"to": 5}} if dice.random() < 0.5 else {}
    return raw_catalogue(
        [several("load", loads)],
        add_ons=extras,
        limits=[limit("water", "L")],
        package_deals=deals,
        tax=tax(10, dice.choice(["include", "exclude"])),
        **rounded,
    )


def test_what_an_extra_is_said_to_add_is_what_it_adds() -> None:
    seen: Counter[str] = Counter()
    for seed in range(60):
        dice = Random(seed)
        shop = Shop(read(small_shop(dice), cautions=True))
        picks: dict[str, object] = {"load": ["box", "tank"]}
        accepted = [f"extra-{n}" for n in range(4) if dice.random() < 0.3]
        picks |= {"add-on": accepted} if accepted else {}
        changes = [Adjustment("Less", "A test.", Decimal(-7), None)] if dice.random() < 0.4 else []
        require_true(shop.build(selection(picks, changes)), seen)  # type: ignore[arg-type]
    assert not {kind: n for kind, n in seen.items() if n < seen["all"] / 60}, seen
    assert len(seen) == 7, seen


def test_an_extra_that_a_deal_makes_cost_nothing_says_so() -> None:
    """It is in no package yet, so that "included" would not be true of it."""
    deal = {
        "id": "both",
        "title": "Both",
        "text": "Together.",
        "picks": {"load": "box", "add-on": {"mat": 1}},
        "price": 40,
    }
    mat = option("mat", 20, because="It helps.", suggest={"load": "box"})
    data = raw_catalogue(
        [several("load", [option("box", 40)])], add_ons=[mat], package_deals=[deal]
    )
    build = Shop(read(data, cautions=True)).build(selection({"load": ["box"]}))
    (extra,) = build.suggestions()
    assert str(suggested_cost(extra)) == "AUD 0.00"
