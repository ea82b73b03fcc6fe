"""A check of a few picks says what cannot be already, whatever is still to be chosen, and first."""

from __future__ import annotations

import json
import re
from pathlib import Path
from random import Random

import pytest

from configurator import Build, Pick, Shop, open_shop
from tests.support.commands import Run

LOW = ("--pick", "canopy-height=850mm", "--pick", "upright-fridge=upright-130")
HINT = (
    "the lowest canopy that may take it is Canopy height: Tall, 1000 mm (965 mm inside at most); "
    "the largest one that may fit is Upright fridge with freezer, 110 L"
)

DAY = ("--date", "2026-08-03")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


def picking(shop: Shop, *picks: str) -> Build:
    build = shop.build()
    for pick in picks:
        choice, _, option = pick.partition("=")
        build = build.pick(choice, option)
    return build


def test_the_command_says_first_that_the_fridge_does_not_fit(run: Run) -> None:
    told = " ".join(run("check", *LOW).out.split())
    stops = told.split("stop: ")[1:]
    assert stops[0].startswith(
        "Upright fridge with freezer, 130 L does not fit, whatever is still chosen: it needs 870 "
        "mm of height (820 mm body and 50 mm clearance), but the canopy has 815 mm inside: 55 mm "
        f"short. hint: {HINT}"
    )
    *others, last = stops
    still_open = last.removeprefix("Still to be chosen: ").partition(".")[0].split(", ")
    also = told.count("also: ")
    assert len(still_open) > 10
    assert told.startswith(
        f"{len(others) + also + len(still_open)} findings stop a quote; "
        f"{len(still_open)} of them are choices still to be made; "
        "1 of them stays, whatever is still chosen"
    )
    assert "has not been fitted" not in told
    assert "55 mm short" in " ".join(run("explain", *LOW).out.split())


def test_what_is_still_to_be_chosen_is_one_line_of_text_and_a_finding_each_as_json(
    shop: Shop, run: Run
) -> None:
    check = picking(shop, "vehicle=mid-dual").check()
    titles = ", ".join(shop.catalogue.by_id[f.subject].title for f in check.to_choose)
    told = " ".join(run("check", "--pick", "vehicle=mid-dual").out.split())
    first = f"{len(check.stops)} findings stop a quote; each is a choice still to be made"
    assert told.startswith(f"{first} stop: Still to be chosen: {titles}.")
    assert told.count("till to be chosen") == 1
    findings = json.loads(run("check", "--pick", "vehicle=mid-dual", "--json").out)["findings"]
    assert len([one for one in findings if one["code"] == "undecided"]) == len(check.to_choose)
    refused = run("quote", "--pick", "vehicle=mid-dual", *DAY, "-o", "q.pdf")
    asks = "configurator complete --pick vehicle=mid-dual"
    rest = f"To choose the rest in the cheapest way: {asks}"
    assert " ".join(refused.err.split()) == f"no quote: Still to be chosen: {titles} {rest}"
    one = run("check", "touring.yaml", "--drop", "sheet").out
    assert one.startswith("1 finding stops a quote; it is a choice still to be made\n")


def test_a_need_that_several_findings_have_is_told_once(run: Run) -> None:
    """A fridge, a charger, an inverter and panels all lack a battery, and nothing else does."""
    asked = ("touring.yaml", "--drop", "battery")
    findings = json.loads(run("check", *asked, "--json").out)["findings"]
    stops = [one for one in findings if one["level"] == "stop"]
    assert len(stops) == 5
    told = " ".join(run("check", *asked).out.split())
    assert told.startswith("5 findings stop a quote stop: Upright fridge must come with")
    assert (told.count("stop: "), told.count("also: ")) == (1, 4)
    assert told.count(" must come with Auxiliary battery.") == 1
    assert told.count("Choose an auxiliary battery.") == 1
    for stop in stops:
        assert f"{stop['sentence']}." in told
    refused = run("quote", *asked, *DAY, "-o", "q.pdf").err
    assert (refused.count("hint: "), refused.count("also: ")) == (1, 4)


def test_needs_that_only_resemble_each_other_are_told_apart(run: Run) -> None:
    """A fuse panel has fused ways; a battery needs it as well as a monitor, which has none."""
    told = run("check", "touring.yaml", "--drop", "fuse-panel", "--drop", "monitor").out
    stops = [one.partition("\n\n")[0] for one in told.split("stop: ")[1:]]
    assert [one.count("also: ") for one in stops] == [1, 0]
    assert "also: Fused ways: 5 used and 0 available so far" in stops[0]


def test_programs_are_told_the_same_first(run: Run) -> None:
    first, *rest = json.loads(run("check", *LOW, "--json").out)["findings"]
    assert (first["level"], first["code"]) == ("stop", "fit")
    assert first["subject"] == "upright-fridge=upright-130"
    assert first["numbers"] == {"height-needs": "870", "height-has": "815"}
    codes = [one["code"] for one in rest if one["level"] == "stop"]
    assert codes.index("undecided") == len(codes) - codes.count("undecided")


def test_the_fact_waits_for_no_engine(shop: Shop) -> None:
    """The page shows facts at once; what would mend it is a second question."""
    build = picking(shop, "canopy-height=850mm", "upright-fridge=upright-130")
    (fact,) = build.check().impossible
    assert "815 mm inside: 55 mm short" in fact.sentence
    assert not fact.hint
    assert not build.pick("canopy-height", "1000mm").check().impossible


def test_a_lining_that_is_picked_counts(shop: Shop) -> None:
    """What the picked option takes of the inside counts in place of what the thinnest would."""
    build = picking(shop, "canopy-height=850mm", "upright-fridge=upright-130")
    had = []
    for choice in ("sheet", "lining"):
        for option in shop.catalogue.by_id[choice].options:
            (fact,) = build.pick(choice, option.id).check().impossible
            had.append(dict(fact.numbers)["height-has"])
    assert max(had) == 815
    assert min(had) < 815


def test_what_only_the_engine_knows_is_said_first_too(run: Run) -> None:
    picks = ("--pick", "battery=agm-130", "--pick", "oven=oven-large")
    told = " ".join(run("check", *picks).out.split())
    first = told.split("stop: ")[1]
    assert first.startswith("These picks do not go together, whatever is still chosen: ")
    assert "AGM and lithium batteries are charged differently" in first
    answer = json.loads(run("check", *picks, "--json").out)
    assert [answer["findings"][0][key] for key in ("code", "subject")] == ["conflict", "picks"]


def test_a_check_and_the_engine_agree_on_what_cannot_be(shop: Shop) -> None:
    """A few picks of the shipped catalogue, drawn by seed: facts first, then the engine."""
    keys = [Pick(c.id, o.id) for c in shop.catalogue.choices for o in c.options]
    draw, by_fact, by_engine, fine = Random(6), 0, 0, 0
    for _ in range(250):
        picks = {pick.choice: pick for pick in draw.sample(keys, draw.choice([2, 3, 4]))}
        build = shop.build()
        for pick in picks.values():
            build = build.pick(pick.choice, pick.option)
        facts = build.check().impossible
        checked = build.check(hints=True)
        possible = build.explain().possible
        if facts:
            assert not possible, picks
        assert bool(checked.impossible) is not possible, picks
        if not possible:
            assert checked.stops[0] in checked.impossible
        by_fact, by_engine = by_fact + bool(facts), by_engine + (not facts and not possible)
        fine += possible
    assert by_fact
    assert by_engine
    assert fine > 100


def test_what_is_still_to_be_chosen_is_not_over_the_limit(run: Run) -> None:
    told = " ".join(run("check", *LOW).out.split())
    assert "over the limit" not in told
    assert (
        "stop: Vent area: 240 cm² used and 0 cm² available so far; 240 cm² more still to be chosen."
    ) in told
    assert "Vent area, cm² 240 0 still to be chosen" in told
    assert "Fused ways 1 0 still to be chosen" in told
    limits = json.loads(run("check", *LOW, "--json").out)["limits"]
    assert [(one["limit"], one["left"], one["may-come"]) for one in limits] == [
        ("vent", "-240", True),
        ("outlets", "-1", True),
    ]


def test_none_wanted_is_not_still_to_be_chosen(shop: Shop) -> None:
    """Once the customer wants no vents, what the fridge lacks of them cannot come."""
    build = picking(shop, "upright-fridge=upright-130")
    vents = [c.id for c in shop.catalogue.choices if any(o.given("vent") for o in c.options)]
    for choice in vents:
        build = build.without(choice)
    (vent,) = [one for one in build.check().stops if one.subject == "vent"]
    assert vent in build.check().impossible
    assert vent.sentence == "Vent area: over the limit by 240 cm², 240 of 0 cm² used"


@pytest.mark.parametrize(
    ("unit", "rule", "none"),
    [
        (
            "upright-fridge=upright-130",
            "Upright fridge must come with Auxiliary battery",
            "battery",
        ),
        ("chest-fridge=chest-38", "Chest fridge must come with Fridge slide", "fridge-slide"),
    ],
)
def test_what_a_rule_needs_cannot_come_once_none_of_it_is_wanted(
    unit: str, rule: str, none: str, shop: Shop
) -> None:
    """Of a choice of several and of one that may stay empty."""
    build = picking(shop, unit)
    for changed, may_come in ((build, True), (build.without(none), False)):
        (found,) = [one for one in changed.check().stops if one.sentence == rule]
        assert found.may_come == may_come
        assert (found in changed.check().impossible) == (not may_come)


@pytest.mark.parametrize(
    ("place", "axis", "ends"),
    [("x:5000", "x", (5, 1799)), ("y:1300", "y", (0, 1219)), ("z:200", "z", (0, 86))],
)
def test_a_place_outside_the_space_is_told_with_its_ends(
    place: str, axis: str, ends: tuple[int, int], run: Run
) -> None:
    """By hand: 2329 mm of length, 1769 of width and 956 of height for 525 x 550 x 820 mm.

    It keeps 5 mm clear on either side and 50 mm above. No wish about a place stops a quote, which
    the package is fit for without it.
    """
    asked = ("touring.yaml", "--place", f"upright-fridge={place}")
    for command in ("check", "layout"):
        ran = run(command, *asked)
        assert ran.code == 0
        said = f"outside the space; inside it is {axis} {ends[0]} to {ends[1]} mm at most"
        assert f"as wished: {said}" in " ".join(ran.out.split())
    (told,) = (
        one
        for one in json.loads(run("check", *asked, "--json").out)["findings"]
        if one["code"] == "wish"
    )
    numbers = {axis: place.partition(":")[2], "least": str(ends[0]), "most": str(ends[1])}
    assert (told["level"], told["numbers"]) == ("caution", numbers)
    assert told["hint"] == _ELSEWHERE


_ELSEWHERE = "it has been placed elsewhere; drop the wish or try another place"


@pytest.mark.parametrize("place", ["x:6", "z:40"])
def test_nothing_is_in_its_way_where_the_unit_does_not_fit_alone(place: str, run: Run) -> None:
    """Inside the space, but no fridge can be there: it stands on the floor, clear of the wall."""
    asked = ("touring.yaml", "--place", f"upright-fridge={place}", "--json")
    (told,) = (
        one for one in json.loads(run("check", *asked).out)["findings"] if one["code"] == "wish"
    )
    assert told["sentence"].endswith("it would not fit there even with nothing else beside it")
    assert told["hint"] == _ELSEWHERE


def test_whoever_writes_a_quote_reads_its_cautions(run: Run, tmp_path: Path) -> None:
    """They are on the customer's paper: whoever sends it has to have seen them first."""
    asked = ("touring.yaml", "--place", "upright-fridge=x:99999")
    found = json.loads(run("check", *asked, "--json").out)["findings"]
    told = {f"caution: {one['sentence']}" for one in found if one["level"] == "caution"}
    assert len(told) == 2
    register = ("--register", str(tmp_path / "quotes.sqlite"), "--seller", "Ann")
    for more in ((), ("--issue", *register)):
        ran = run("quote", *asked, *DAY, *more, "-o", "quote.pdf")
        assert (ran.code, ran.out.partition(":")[0], ran.out.count("\n")) == (0, "quote.pdf", 1)
        cautions = re.split(r"\.\n(?=caution|$)", ran.err)
        assert {" ".join(one.split()) for one in cautions} == {*told, ""}


@pytest.mark.parametrize("end", ["x:5", "x:1799"])
def test_a_place_at_the_very_end_is_not_outside(end: str, run: Run) -> None:
    ran = run("check", "touring.yaml", "--place", f"upright-fridge={end}")
    assert "outside the space" not in ran.out


SIZES = ("canopy-length=1800mm", "canopy-height=1200mm", "tray-width=1780mm")


def test_what_a_unit_stands_on_may_still_come(shop: Shop, run: Run) -> None:
    """Every unit in a canopy whose sizes are picked, alone: the check says as the engine does."""
    units = [(c.id, o) for c in shop.catalogue.choices for o in c.options if o.unit is not None]
    waiting = 0
    for choice, option in units:
        build = picking(shop, *SIZES, f"{choice}={option.id}")
        possible = build.explain().possible
        assert bool(build.check(hints=True).impossible) is not possible, option.id
        waiting += possible and any(one.code == "fit" for one in build.check().stops)
    assert waiting > 5
    picks = [word for pick in (*SIZES, "oven=oven-large") for word in ("--pick", pick)]
    told = " ".join(run("check", *picks).out.split())
    assert "whatever is still chosen" not in told
    assert "needs something to stand on (Shelf with heat shield" in told
    assert "no height of the canopy" not in told


def test_what_the_roof_still_has_to_be_given_is_said(shop: Shop) -> None:
    """A choice of one that is open may give it: no stop, but no bare figure below zero either."""
    build = picking(shop, "add-on=awning-wrap")
    (state,) = (one for one in build.check().limits if one.limit.id == "roof-load")
    assert state.left < 0
    assert state.lacking
    (note,) = (one for one in build.check().findings if one.subject == "roof-load")
    assert note.level in ("note", "stop")
    assert "more still to be chosen" in note.sentence
    assert note.may_come


def test_a_fix_whose_price_waits_for_other_choices_says_so(run: Run) -> None:
    """The price of the canopy depends on its height; with the canopy picked it is known."""
    last = run("fixes", *LOW).out.split("3. ")[1]
    assert "price not known yet (depends on Canopy, Canopy sheet" in " ".join(last.split())
    fixes = json.loads(run("fixes", *LOW, "--json").out)["fixes"]
    assert [bool(one["awaits"]) for one in fixes] == [False, False, True]
    assert [one["difference"] is None for one in fixes] == [False, False, True]
    assert "canopy-style" in fixes[2]["awaits"]
    whole = json.loads(run("fixes", "wish.yaml", "--json").out)["fixes"]
    assert [one["awaits"] for one in whole] == [[], [], []]


def test_what_costs_nothing_itself_is_not_included_before_the_price_that_counts_it(
    run: Run,
) -> None:
    """A height has no price of its own: that of the canopy is looked up by it."""
    told = " ".join(run("price", *LOW).out.split())
    assert "Standard, 850 mm (depends on Canopy, Canopy sheet" in told
    assert "included" not in told.partition("Optional")[0]
    assert "So far, including GST, AUD 2,390.00" in told
    alone = " ".join(run("price", "--pick", "canopy-height=850mm").out.split())
    assert "So far, including GST, AUD no price yet" in alone
    (line,) = json.loads(run("price", "--pick", "canopy-height=850mm", "--json").out)["groups"][0][
        "lines"
    ]
    assert (line["amount"], line["awaits"][0]) == (None, "canopy-style")
    counted = ("--pick", "canopy-style=full-fixed", "--pick", "canopy-length=1800mm")
    assert "Standard, 850 mm included" in " ".join(run("price", *LOW, *counted).out.split())


def test_what_another_option_does_to_the_total_is_said_only_once_it_is_known(run: Run) -> None:
    picked = ("--pick", "canopy-height=850mm")
    asked = json.loads(run("options", *picked, "--choice", "canopy-height", "--json").out)
    for one in asked["options"]:
        if one["state"] == "instead":
            assert one["difference"] is None
            assert "canopy-style" in one["awaits"]
    told = " ".join(run("explain", "canopy-height=1000mm", *picked).out.split())
    assert "instead of Standard, 850 mm: price not known yet (depends on Canopy," in told


def test_an_option_that_decides_a_price_still_to_be_chosen_has_no_figure(run: Run) -> None:
    """As `price` says of the same pick: "no price yet", with what it depends on."""
    for picked in ((), ("--pick", "canopy-height=850mm")):
        asked = ("options", *picked, "--choice", "canopy-height")
        out = run(*asked).out
        told = " ".join(out.split())
        assert " 0.00" not in told
        assert "no price yet depends on Canopy, Canopy sheet" in told or (
            picked and "picked no price yet" in told
        )
        for one in json.loads(run(*asked, "--json").out)["options"]:
            assert (one["price"], one["difference"]) == (None, None)
            assert bool(one["awaits"]) == (one["state"] != "ruled-out")
    finishes = run("options", "--choice", "finish").out
    assert finishes.count("depends on Canopy length") == 1
    assert finishes.count("no price yet") == 5
    assert json.loads(run("options", "--choice", "finish", "--json").out)["options"][1][
        "awaits"
    ] == ["canopy-length"]
