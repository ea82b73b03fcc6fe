"""What the catalogue does not tell of the picks is said, and nothing is taken for nothing."""

from __future__ import annotations

import json
from collections import Counter
from itertools import product
from pathlib import Path
from random import Random

import pytest

from configurator import Finding, Pick, Selection
from configurator.checking.check import check
from configurator.checking.stops import stopping
from configurator.engine.availability import options
from configurator.engine.search import Search
from configurator.selection.resolved import Resolved
from configurator.selection.totals import total_mass
from tests.support.building import Raw, choice, option, raw_catalogue, read, selection, written
from tests.support.commands import Run
from tests.support.engine_oracle import Oracle
from tests.support.layout_oracle import TooMany
from tests.support.paths import CASES
from tests.support.random_catalogues import Maker

SMALL = (CASES / "small.yaml").read_text("utf-8")
NO_WIDTH = SMALL.replace("height: 850, width: 1780, wall: 32.5", "height: 850, wall: 32.5")
NEW_HEIGHT = SMALL.replace(
    "- id: fridge\n",
    "  - {id: 950, title: 950 mm, price: 0.00, mass: 5}\n- id: fridge\n",
    1,
)
BARE = ["--pick", "vehicle=single-cab", "--pick", "length=1500", "--catalogue", "shop.yaml"]


def checked(text: str, **picks: str) -> tuple[Finding, ...]:
    shop = read(text)
    return check(
        Resolved(shop, Selection(shop.id, selection(picks, vehicle="single-cab").picks))
    ).findings


def test_a_mass_whose_size_nothing_brings_stops_a_quote_and_the_sheets(run: Run) -> None:
    Path("shop.yaml").write_text(NO_WIDTH, "utf-8")
    ran = run("check", *BARE, "--pick", "height=850")
    told = " ".join(ran.out.split())
    assert ran.code == 1
    assert (
        "1 finding stops a quote stop: 850 mm is left out of the mass: the width of the canopy is "
        "not known. Nothing that is picked or still open gives this figure. hint: ask the shop "
        "to complete the catalogue" in told
    )
    kept = ["--pick", "height=850", "--number", "Q-1", "--date", "2026-08-03", "-o"]
    for command in (["quote", *BARE, *kept, "q.json"], ["sheets", *BARE, *kept, "out"]):
        ran = run(*command)
        assert ran.code == 1
        assert "850 mm is left out of the mass: the width of the canopy is not known" in (
            ran.out + ran.err
        )
        assert "Traceback" not in ran.err


def test_the_mass_is_known_where_the_size_is() -> None:
    assert not [f for f in checked(SMALL, length="1500", height="850") if f.level == "stop"]
    shop = read(SMALL)
    picks = selection({"length": "1500", "height": "850"}, vehicle="single-cab").picks
    assert total_mass(Resolved(shop, Selection(shop.id, picks))) is not None


def test_a_mass_that_an_open_choice_will_tell_is_no_finding_of_its_own() -> None:
    codes = {f.code for f in checked(SMALL, height="850")}
    assert "undecided" in codes
    assert "not-weighed" not in codes


def test_an_order_of_what_is_bought_by_a_measure_that_nobody_knows(run: Run) -> None:
    text = NO_WIDTH.replace(
        "mass: [{kind: measure, of: canopy.shell, rate: 6.5}]",
        "mass: 9\n    cost: [{kind: measure, of: canopy.shell, rate: 6.5}]",
    )
    Path("shop.yaml").write_text(text, "utf-8")
    picks = [*BARE, "--pick", "height=850", "--number", "Q-1", "--date", "2026-08-03"]
    ran = run("sheets", *picks, "--cost", "-o", "out")
    assert (ran.code, ran.err) == (0, "")
    assert "Traceback" not in ran.out


def test_a_unit_in_a_space_without_a_size_stops_a_quote(run: Run) -> None:
    Path("shop.yaml").write_text(NEW_HEIGHT, "utf-8")
    ran = run("check", *BARE, "--pick", "height=950", "--pick", "fridge=chest")
    told = " ".join(ran.out.split())
    assert ran.code == 1
    assert (
        "stop: Chest fridge, 60 litres has not been fitted: the width of the canopy is not known. "
        "Nothing that is picked or still open gives this figure. hint: choose another option of "
        "Canopy height, or ask the shop to complete the catalogue" in told
    )
    assert "choose Canopy height" not in told


def test_a_unit_waits_for_the_size_that_an_open_choice_brings() -> None:
    (found,) = [f for f in checked(SMALL, length="1500", fridge="chest") if f.code == "not-checked"]
    assert (found.level, found.hint) == ("note", "choose Canopy height")


def test_a_unit_whose_space_need_not_be_picked_stops_a_quote_until_it_is() -> None:
    text = SMALL.replace("group: canopy\n  pick: one", "group: canopy\n  pick: at-most-one")
    text = text.replace("- {kind: table, by: [length], rows: {1500: 400.00, 1800: 450.00}}\n", "")
    (found,) = [f for f in checked(text, fridge="chest") if f.code == "not-checked"]
    assert (found.level, found.hint, found.may_come) == ("stop", "choose Canopy length", True)


def test_what_the_price_leaves_out_is_a_caution_on_the_quote(run: Run) -> None:
    text = SMALL.replace("rows: {1500: 400.00, 1800: 450.00}", "rows: {1800: 450.00}")
    Path("shop.yaml").write_text(text, "utf-8")
    picks = [*BARE, "--pick", "height=850"]
    found = json.loads(run("check", *picks, "--json").out)["findings"]
    assert [one["level"] for one in found if one["code"] == "not-priced"] == ["caution"]
    told = " ".join(run("check", *picks).out.split())
    assert (
        "caution: 850 mm is left out of the price: the row of a table for 1 500 mm is not known."
        in told
    )
    ran = run("quote", *picks, "--number", "Q-1", "--date", "2026-08-03", "-o", "q.html")
    assert ran.code == 0
    assert "850\N{NO-BREAK SPACE}mm is left out of the price" in Path("q.html").read_text("utf-8")


def test_a_new_height_without_a_size_is_said_by_the_check_of_the_catalogue(run: Run) -> None:
    more = "  - {id: 950, title: 950 mm, price: 0.00, mass: 5}\n"
    two = NEW_HEIGHT.replace(
        more,
        "  - {id: 900, title: 900 mm, price: 9.00, mass: 5, space: {canopy: {height: 900}}}\n"
        + more,
    )
    Path("shop.yaml").write_text(two, "utf-8")
    ran = run("catalogue", "check", "shop.yaml")
    line = two[: two.index("{id: 950")].count("\n") + 1
    assert f"shop.yaml:{line}:5: caution: " in ran.out
    assert (
        "brings no height of the canopy; all 2 others of the choice do (850 to 900 mm)" in ran.out
    )


@pytest.fixture
def crate_shop(run: Run) -> list[str]:  # noqa: ARG001  # it makes the folder
    """A shop with a canopy of known size and one of none, and a crate; how a command names it."""
    sizes = [
        option("whole", 900, space={"canopy": {"length": 900, "width": 900, "height": 900}}),
        option("bare", 0),
    ]
    unit = {"space": "canopy", "body": {"width": 300, "depth": 300, "height": 300}}
    box = choice("box", [option("crate", 100, mass=9, unit=unit)], "at-most-one")
    data = raw_catalogue(
        [choice("canopy", sizes), box], spaces=[{"id": "canopy", "title": "canopy"}]
    )
    Path("shop.json").write_text(written(data), "utf-8")
    return ["--catalogue", "shop.json", "--pick", "vehicle=ute"]


def test_what_cannot_be_fitted_is_no_way_to_save(run: Run, crate_shop: list[str]) -> None:
    """Changes that would leave a unit unfitted stop something new, so they are never offered."""
    whole = ["budget", *crate_shop, "--pick", "canopy=whole"]
    assert "Bare instead of Whole" in run(*whole, "--limit", "500").out
    crate = ["--pick", "box=crate", "--keep", "box"]
    assert "Bare instead of Whole" not in run(*whole, *crate, "--limit", "500").out


def test_what_cannot_be_fitted_is_not_offered(run: Run, crate_shop: list[str]) -> None:
    ran = run("options", *crate_shop, "--pick", "canopy=bare", "--choice", "box")
    assert "Crate has no canopy of a known size to go into" in " ".join(ran.out.split())
    ran = run("complete", *crate_shop, "--pick", "box=crate", "-o", "whole.yaml")
    assert ran.code == 0
    assert "canopy: whole" in Path("whole.yaml").read_text("utf-8")
    assert run("check", "whole.yaml", "--catalogue", "shop.json").code == 0


def test_the_sizes_known_so_far_refuse_what_is_larger_whatever_the_others_will_be(run: Run) -> None:
    sizes = [
        option("long", 10, space={"canopy": {"length": 1500, "width": 1200}}),
        option("bare", 0),
    ]
    heights = [option(name, 0, space={"canopy": {"height": n}}) for name, n in HEIGHTS.items()]
    fridge = {"space": "canopy", "body": {"width": 400, "depth": 400, "height": 750}}
    data = raw_catalogue(
        [
            choice("canopy", sizes, "at-most-one"),
            choice("height", heights),
            choice("fridge", [option("tall", 33, mass=28, unit=fridge)], "at-most-one"),
        ],
        spaces=[{"id": "canopy", "title": "canopy"}],
    )
    Path("shop.json").write_text(written(data), "utf-8")
    shop = ["--catalogue", "shop.json", "--pick", "vehicle=ute", "--pick", "fridge=tall"]
    for name, height in HEIGHTS.items():
        fits = height >= 750
        picks = [*shop, "--pick", f"height={name}"]
        told = " ".join(run("check", *picks).out.split())
        never = "Tall does not fit, whatever is still chosen: it needs 750 mm of height"
        assert ((never in told), "choose Canopy" in told) == (not fits, fits), name
        told = " ".join(run("explain", *picks).out.split())
        assert told.startswith("These picks can be completed.") == fits, name
        assert (f"but the canopy has {height} mm inside: {750 - height} mm short" in told) != fits
        told = " ".join(run("explain", *picks, "--none", "canopy").out.split())
        assert "Tall has no canopy of a known size to go into" in told, name
        assert run("check", *picks, "--none", "canopy").code == 1, name
    run("complete", *shop, "-o", "whole.yaml")
    assert "canopy: long" in Path("whole.yaml").read_text("utf-8")
    assert run("check", "whole.yaml", "--catalogue", "shop.json").code == 0
    search = Search(read(data))
    states = {s.option: s.state for s in options(search, selection({"fridge": "tall"})).options}
    assert [states[name] for name in HEIGHTS] == ["ruled-out", "ruled-out", "open", "open"]


@pytest.mark.parametrize("reserve", [0, 80])
def test_people_who_are_too_much_for_a_payload_alone_stop_a_quote(run: Run, reserve: int) -> None:
    payload = {"title": "Payload", "unit": "kg", "because": "No more.", "counts": "mass-and-people"}
    data = raw_catalogue(
        [choice("colour", [option("red", 1)], "at-most-one")],
        limits=[{"id": "pay", **payload, "reserve": reserve}],
        mass={"people": 2, "person": 75},
    )
    (ute,) = data["vehicles"]
    kerb = ute["vehicle"]["kerb"]
    gvm = kerb["front"] + kerb["rear"] + reserve + 120
    data["vehicles"] = [{**ute, "vehicle": {**ute["vehicle"], "gvm": gvm}}]
    Path("shop.json").write_text(written(data), "utf-8")
    shop = ["--catalogue", "shop.json", "--pick", "vehicle=ute"]
    told = " ".join(run("check", *shop).out.split())
    assert "Payload: over the limit by 30 kg, 150 of 120 kg used" in told
    assert "hint: choose a vehicle that carries more" in told
    told = run("explain", *shop).out
    assert "Payload: at least 30 kg over the limit" in told
    assert run("complete", *shop).code == run("fixes", *shop).code == 1


HEIGHTS = {"lowest": 500, "low": 749, "high": 750, "highest": 900}


def test_a_unit_whose_mass_more_to_stand_on_leaves_untold_is_no_traceback(run: Run) -> None:
    space = {"width": 1200, "height": 700}
    sizes = [
        option(name, 0, space={"box": {"length": length, **space}})
        for name, length in (("short", 900), ("long", 1500))
    ]
    carries = {"mass": 80, "width": 600, "depth": 600}
    drawer = {"space": "box", "body": {"width": 600, "depth": 600, "height": 150}}
    chest = {"space": "box", "body": {"width": 600, "depth": 600, "height": 600}}
    chest |= {"stands-on": ["bed", "floor"]}
    mass = [{"kind": "table", "by": ["size"], "rows": {"long": 79}}]
    data = raw_catalogue(
        [
            choice("size", sizes),
            choice(
                "bed",
                [option("drawer", 0, mass=20, unit={**drawer, "carries": carries})],
                "at-most-one",
            ),
            choice("unit", [option("chest", 0, most=3, mass=mass, unit=chest)], "several"),
        ],
        spaces=[{"id": "box", "title": "box"}],
    )
    Path("shop.json").write_text(written(data), "utf-8")
    picks = ["--pick", "vehicle=ute", "--pick", "size=short", "--pick", "unit=chest:3"]
    ran = run("check", "--catalogue", "shop.json", *picks)
    told = " ".join(ran.out.split())
    assert (ran.code, ran.err) == (1, "")
    assert "the length inside would have to be 1200 mm, but is 900 mm: 300 mm short" in told
    assert "Something more to stand on, or another opening, may still help." in told


def test_a_unit_on_one_that_does_not_fit_is_no_traceback(run: Run) -> None:
    """One of the beds is needed, and the tin stands on whichever it is."""
    carries = {"mass": 50, "width": 300, "depth": 300}
    beds = [
        option(name, 0, mass=5, unit={"space": "box", "body": body, "carries": carries})
        for name, body in (
            ("wide", {"width": 600, "depth": 300, "height": 100}),
            ("slim", {"width": 300, "depth": 300, "height": 100}),
        )
    ]
    tin = {"space": "box", "body": dict.fromkeys(("width", "depth", "height"), 200)}
    data = raw_catalogue(
        [
            choice(
                "size",
                [
                    option(
                        "cube", 0, space={"box": dict.fromkeys(("length", "width", "height"), 500)}
                    )
                ],
            ),
            choice("bed", beds),
            choice(
                "tin", [option("tin", 0, mass=5, unit={**tin, "stands-on": ["bed"]})], "several"
            ),
        ],
        spaces=[{"id": "box", "title": "box"}],
    )
    Path("shop.json").write_text(written(data), "utf-8")
    picks = ["vehicle=ute", "size=cube", "bed=wide", "tin=tin"]
    shop = ["--catalogue", "shop.json", *(word for pick in picks for word in ("--pick", pick))]
    for command in (["check", *shop], ["quote", *shop, "--number", "Q-1"]):
        ran = run(*command)
        assert ran.code == 1
        assert "600 mm" in (told := " ".join((ran.out + ran.err).split()))
        assert "500 mm are available: 100 mm short" in told
    other = [word.replace("bed=wide", "bed=slim") for word in shop]
    assert run("check", *other).code == 0


def test_what_has_no_mass_in_the_catalogue_is_refused_with_that_reason(run: Run) -> None:
    rows = {"short": {"low": 40, "high": 44}, "long": {"low": 52}}
    data = raw_catalogue(
        [
            choice("length", [option("short", 100), option("long", 200)]),
            choice("height", [option("low", 10), option("high", 20)]),
            choice(
                "sheet",
                [
                    option("plain", 50, mass=30),
                    option(
                        "thick",
                        5,
                        mass=[{"kind": "table", "by": ["length", "height"], "rows": rows}],
                    ),
                ],
            ),
        ]
    )
    Path("shop.json").write_text(written(data), "utf-8")
    shop = ["--catalogue", "shop.json", "--pick", "vehicle=ute"]
    for length, height, sheet in product(("short", "long"), ("low", "high"), ("plain", "thick")):
        picks = [f"--pick=length={length}", f"--pick=height={height}", f"--pick=sheet={sheet}"]
        unweighed = (length, height, sheet) == ("long", "high", "thick")
        assert run("check", *shop, *picks).code == unweighed
        told = " ".join(run("explain", *shop, *picks).out.split())
        assert ("the catalogue has no mass of Thick with High and Long" in told) == unweighed
    ran = run(
        "complete", *shop, "--pick", "length=long", "--pick", "height=high", "-o", "whole.yaml"
    )
    assert ran.code == 0
    assert "sheet: plain" in Path("whole.yaml").read_text("utf-8")
    told = run("catalogue", "check", "shop.json", "--deep").out
    assert 'has no cell for "length=long" and "height=high"' in " ".join(told.split())


def with_gaps(seed: int) -> Raw:
    """A random catalogue in which some options of the choice of sizes lack some sizes."""
    dice = Random(seed)
    data = Maker(seed).catalogue()
    for one in data["choices"]:
        for made in one["options"]:
            space = made.get("space", {}).get("canopy", {})
            for side in ("length", "width", "height"):
                if side in space and dice.random() < 0.3:
                    del space[side]
            if "space" in made and not space:
                del made["space"]
    return data


AT_MOST_ONE_SIZE = (9087, 9088, 9111, 9129, 9137, 9208, 9213, 9327)
"""Here the sizes are a choice that need not be made."""


def test_the_engine_and_the_check_refuse_just_what_listing_finds_without_a_size() -> None:
    seen: Counter[str] = Counter()
    for seed in (*range(9000, 9020), *AT_MOST_ONE_SIZE):
        data = with_gaps(seed)
        try:
            oracle = Oracle(data)
        except TooMany:
            continue
        shop = read(data, cautions=True)
        found = options(Search(shop), Selection("test", ()))
        states = {(s.choice, s.option): s.state for s in found.options}
        assert states == oracle.states({}, oracle.facts), seed
        for world in oracle.worlds[:: len(oracle.worlds) // 40 + 1]:
            picks = tuple(Pick(*key, n) for key, n in world.counts.items())
            bare = stopping(Resolved(shop, Selection("test", picks)))
            told = {subject for code, subject in bare if code in ("fit", "not-checked")}
            assert told == {name for code, name in world.broken if code == "fit"}, (seed, picks)
            told = {subject for code, subject in bare if code == "not-weighed"}
            assert told == {s for code, s in world.broken if code == "not-weighed"}, (seed, picks)
            findings = check(Resolved(shop, Selection("test", picks))).findings
            stops = {f.code for f in findings if f.level == "stop"} & {"fit", "not-checked"}
            assert stops == {code for code, _ in bare if code in ("fit", "not-checked")}, seed
            seen.update(f"{f.code} {f.level}" for f in findings)
    assert seen["not-checked stop"] > 10, seen
    assert seen["not-weighed stop"] > 5, seen


def test_what_lacks_the_same_size_is_said_once(run: Run) -> None:
    Path("shop.yaml").write_text(NEW_HEIGHT, "utf-8")
    picks = ["--pick", "height=950", "--pick", "fridge=chest", "--pick", "slide=short"]
    told = " ".join(run("check", *BARE, *picks).out.split())
    assert told.count("is not known") == 1
    assert (
        "stop: Chest fridge, 60 litres; Short slide have not been fitted: "
        "the width of the canopy is not known." in told
    )
