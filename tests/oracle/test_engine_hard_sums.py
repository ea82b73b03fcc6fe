"""Where sums are hard: each load goes on one of two sides that hold all of them just so.

Proposals refused one by one settle nothing there. What is possible is counted here by sums that
some of the loads reach, which shares no code with the package.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import pytest

from configurator import Completion, Shop, open_shop
from configurator.engine import conflicts, search
from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    choice,
    limit,
    option,
    raw_catalogue,
    rule,
    several,
    vehicle,
)
from tests.support.commands import Run

LOADS = (983, 969, 157, 193, 186, 469, 955, 273, 853, 928, 785, 974, 415, 357, 720, 317, 721, 136)
ALL = (*LOADS, 695, 797)
"""Drawn at random; half of the sum is reached, by few sets of them."""

GROSS = 2200 + 80
"""What the vehicle of tests weighs with its driver, kg."""

BIG = 5000
"""One more load, for the first side only."""


def sides(loads: Sequence[int], odd: bool) -> Raw:
    """A shop in which each load is on one of two sides; if odd, they cannot hold them by one."""
    total = sum(loads)
    first = total // 2
    second = total - first - odd
    choices = [
        choice(
            f"load-{n:02}",
            [option("a", 1, uses={"first": load}), option("b", 2, uses={"second": load})],
        )
        for n, load in enumerate(loads)
    ]
    whole = choice("whole", [option("yes", 10, uses={"first": BIG}), option("no", 20)])
    return raw_catalogue(
        [*choices, whole],
        vehicles=[vehicle(gives={"first": first, "second": second})],
        limits=[limit("first", "W"), limit("second", "W")],
    )


def reached(loads: Sequence[int]) -> set[int]:
    """Every sum of some of them."""
    found = {0}
    for load in loads:
        found |= {known + load for known in found}
    return found


def opened(data: Raw) -> Shop:
    return open_shop(data)


def test_what_is_possible_is_settled_for_every_question() -> None:
    first = sum(ALL) // 2
    build = opened(sides(ALL, odd=False)).build().pick("vehicle", "ute")
    found = build.options()
    assert found.possible
    for one in found.options:
        assert one.state != "undecided", one
        if one.choice.startswith("load"):
            number = int(one.choice[-2:])
            others = reached([load for n, load in enumerate(ALL) if n != number])
            can = first - ALL[number] in others if one.option == "a" else first in others
            assert (one.state != "ruled-out") == can, one
    by_key = {(one.choice, one.option): one.state for one in found.options}
    assert first - BIG not in reached(ALL)
    assert (by_key["whole", "yes"], by_key["whole", "no"]) == ("ruled-out", "implied")
    assert build.fixes().nothing_to_mend
    assert build.explain().possible
    finished = build.complete()
    assert isinstance(finished, Completion)
    on_first = [load for n, load in enumerate(ALL) if finished.selection.one(f"load-{n:02}") == "a"]
    assert sum(on_first) == first
    cheapest = max(len(some) for some in sets_reaching(ALL, first))
    assert finished.total.amount == 20 + 2 * len(ALL) - cheapest


def sets_reaching(loads: Sequence[int], total: int) -> list[frozenset[int]]:
    """Largest sets of the loads with that sum."""
    most: dict[int, frozenset[int]] = {0: frozenset()}
    for place, load in enumerate(loads):
        for known, some in list(most.items()):
            more = some | {place}
            if len(more) > len(most.get(known + load, ())):
                most[known + load] = more
    return [most[total]]


def test_the_cheapest_package_under_a_gross_vehicle_mass_is_found_from_its_sum() -> None:
    saved = [7 * load % 90 for load in ALL]
    tenths = sum(ALL) // 2
    choices = [
        choice(f"load-{n:02}", [option("a", 10, mass=load / 10), option("b", 10 + more)])
        for n, (load, more) in enumerate(zip(ALL, saved, strict=True))
    ]
    gross, driver = GROSS + tenths / 10, {"people": 1, "person": 80}
    figures = VEHICLE_FIGURES | {"gvm": gross, "front-axle": 5000, "rear-axle": 5000}
    shop = opened(raw_catalogue(choices, vehicles=[vehicle(vehicle=figures)], mass=driver))
    finished = shop.build().pick("vehicle", "ute").complete()
    assert isinstance(finished, Completion)
    most = {0: 0}  # saved at most with loads of so many tenths of a kilogram in all
    for load, more in zip(ALL, saved, strict=True):
        for mass, so_far in list(most.items()):
            if mass + load <= tenths:
                most[mass + load] = max(most.get(mass + load, 0), so_far + more)
    assert finished.total.amount == sum(10 + more for more in saved) - max(most.values())


@pytest.mark.parametrize("odd", [False, True])
def test_what_a_reason_took_is_known_to_the_next_quick_question(
    monkeypatch: pytest.MonkeyPatch, odd: bool
) -> None:
    monkeypatch.setattr(search, "_MOST_ROUNDS", 0)  # only the optimiser settles what is asked
    loads = (5, 4, 3, 2, 1, 1)
    build = opened(sides(loads, odd)).build().pick("vehicle", "ute")

    def state() -> str:
        found = build.options("load-00", effort="quick").options
        return {one.option: one.state for one in found}["a"]

    assert state() == "undecided"
    possible = build.explain("load-00", "a").possible
    assert possible == (sum(loads) // 2 - 5 in reached(loads[1:]) and not odd)
    assert state() == ("open" if possible else "ruled-out")


@pytest.fixture(scope="module")
def impossible(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("sums") / "catalogue.json"
    file.write_text(json.dumps(sides(LOADS, odd=True)), "utf-8")
    return file


def test_what_is_impossible_is_proved_and_told(run: Run, impossible: Path) -> None:
    asked = ("--catalogue", impossible, "--pick", "vehicle=ute")
    ran = run("options", *asked)
    assert (ran.code, ran.err) == (1, "")
    told = " ".join(ran.out.split())
    assert told.startswith("These picks cannot be completed. Because Vehicle: Ute, and First:")
    ran = run("fixes", *asked)
    assert (ran.code, ran.err) == (1, "")
    assert "No change of picks fixes it" in ran.out
    ran = run("within", *asked, "--budget", "1000")
    assert (ran.code, ran.err) == (1, "")
    assert "cannot be completed at any price" in ran.out


def test_a_proof_whose_reason_is_not_settled_is_an_answer_all_the_same(
    run: Run, impossible: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(conflicts, "_MOST_TOLD", 0)
    new = tmp_path / "new.json"  # nothing has been asked about it yet
    new.write_text(impossible.read_text("utf-8") + "\n", "utf-8")
    asked = ("--catalogue", new, "--pick", "vehicle=ute")
    ran = run("complete", *asked)
    told = "These picks cannot be completed. Why takes longer to find: configurator explain "
    assert (ran.code, ran.err) == (1, "")
    assert " ".join(ran.out.split()).startswith(f"{told}--pick vehicle=ute --catalogue")
    found = json.loads(run("options", *asked, "--json").out)
    assert (found["possible"], found["conflict"]) == (False, None)
    ran = run("explain", *asked, "load-00=a")
    assert ran.code == 0
    assert "so Load-00: A is not available." in " ".join(ran.out.split())


@pytest.mark.parametrize(("times", "tray"), [("once", "alloy"), ("each", "steel")])
def test_a_deal_that_counts_once_is_not_counted_for_every_set(times: str, tray: str) -> None:
    # worked by hand: steel with two boxes is 2000, less 300 once is 1700, twice 1400; alloy is 1600
    deal = {"id": "deal", "title": "Deal", "picks": {"box": {"box": 1}}, "price": 200}
    build = opened(
        raw_catalogue(
            [
                choice("tray", [option("steel", 1000), option("alloy", 1600)]),
                several("box", [option("box", 500, most=2)]),
            ],
            rules=[rule("steel", when={"tray": "steel"}, needs={"box": {"at-least": 2}})],
            package_deals=[{**deal, "times": times}],
        )
    ).build()
    found = build.pick("vehicle", "ute").complete()
    assert isinstance(found, Completion)
    assert tray in {pick.option for pick in found.selection.picks}
