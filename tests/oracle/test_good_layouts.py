"""Layouts that a fitter would build: packages of different people, each at its doors.

Where units must be is read here from the catalogue's own text and from the places that the
``layout`` command answers with, by code that shares nothing with the search. That whatever is
operated, serviced, filled, drained or read stands at a door is common practice, no source.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any, TypeAlias

import attrs
import pytest
import yaml

from configurator import Layout, Wish
from configurator.catalogue.reading import shipped
from configurator.checking.check import check
from configurator.layout.answers import lay_out
from configurator.selection.resolved import Resolved
from tests.support.commands import Run
from tests.support.holds import door, hold, space, unit
from tests.support.layout_oracle import faults
from tests.support.paths import CASES
from tests.support.shipped import shipped_in_one

Raw: TypeAlias = dict[str, Any]

PACKAGES = CASES / "packages"
SHIPPED = shipped("catalogues") / "selections"

INTENDED = {
    "photographer": [
        "Medium 12 V cupboard is not towards the front, where it is preferred: on its side there "
        "is no room for it there, even with nothing else beside it"
    ]
}
"""Its narrow doors are 620 mm wide and forward, the cupboard is 650 mm wide."""

EVERY = [
    ("touring", SHIPPED / "touring.yaml", ()),
    ("contractor", SHIPPED / "contractor.yaml", ()),
    ("wish", SHIPPED / "wish.yaml", ("--pick", "canopy-height=1000mm")),
    *((path.stem, path, ()) for path in sorted(PACKAGES.glob("*.yaml"))),
]


@cache
def text_of_the_shop() -> Raw:
    read: Raw = yaml.safe_load(shipped_in_one())
    return read


def option(choice_id: str, option_id: str) -> Raw:
    (choice,) = [c for c in text_of_the_shop()["choices"] if c["id"] == choice_id]
    (found,) = [o for o in choice["options"] if o["id"] == option_id]
    return dict(found)


def doors(layout_id: str, inside: Raw) -> Iterator[tuple[str, int, int, int, Raw]]:
    """Side, start, end and top of each clear opening, mm, and what the catalogue says of it."""
    for opening in option("door-layout", layout_id)["openings"]:
        along = inside["width"] if opening["side"] == "rear" else inside["length"]
        end = opening["front"] + opening["width"] if "width" in opening else along - opening["rear"]
        assert opening.get("sill", 0) == 0
        yield opening["side"], opening["front"], end, inside["height"] - opening["header"], opening


def behind(place: Raw, inside: Raw, layout_id: str) -> list[Raw]:
    """The doors that bare the unit's working face, which is flush with that side."""
    choice_id, _, option_id = place["unit"].partition("=")
    body = option(choice_id, option_id)["unit"]
    hidden = body.get("behind-frame", {})
    assert set(hidden) <= {"left", "right"}
    found = []
    for side, start, end, top, opening in doors(layout_id, inside):
        low, long = ("y", "width") if side == "rear" else ("x", "length")
        ahead = body.get("clearance", {}).get("front", 0)
        face = {
            "left": place["y"],
            "right": inside["width"] - place["y"] - place["width"],
            "rear": inside["length"] - place["x"] - place["length"],
        }[side]
        within = (
            place[low] + hidden.get("left", 0) >= start
            and place[low] + place[long] - hidden.get("right", 0) <= end
        )
        if (
            place["side"] == side
            and face == ahead
            and within
            and place["z"] + place["height"] <= top
        ):
            found.append(opening)
    return found


def laid(run: Run, path: Path, more: tuple[str, ...]) -> Raw:
    ran = run("layout", str(path), *more, "--json")
    assert ran.code == 0, ran.out
    read: Raw = json.loads(ran.out)
    assert read["fits"]
    return read


def door_layout(path: Path) -> str:
    picks = yaml.safe_load(path.read_text("utf-8"))["picks"]
    return str(picks["door-layout"])


@pytest.mark.parametrize(("name", "path", "more"), EVERY, ids=[name for name, *_ in EVERY])
def test_a_package_is_laid_out_as_a_fitter_would(
    run: Run, name: str, path: Path, more: tuple[str, ...]
) -> None:
    answer = laid(run, path, more)
    (inside,) = answer["spaces"]
    assert len(answer["placements"]) >= 5
    for place in answer["placements"]:
        at = behind(place, inside, door_layout(path))
        assert at, place
        meant = [
            opening
            for *_, opening in doors(door_layout(path), inside)
            if place["unit"].partition("=")[0] in opening.get("prefers", ())
        ]
        assert not meant or any(opening in at for opening in meant), place
    notes = [f["sentence"] for f in answer["findings"]]
    assert notes == INTENDED.get(name, [])
    checked = json.loads(run("check", str(path), *more, "--json").out)
    assert [f for f in checked["findings"] if f["level"] == "stop"] == []


def test_these_packages_have_every_kind_of_cab_and_of_fridge_door() -> None:
    picks = [yaml.safe_load(path.read_text("utf-8"))["picks"] for _, path, _ in EVERY]
    cabs = {picked["vehicle"] for picked in picks}
    assert {"mid-single", "mid-extra", "mid-dual", "light-truck", "full-size-dual"} <= cabs
    fridges = [p for p in picks if p["door-layout"] == "kitchen-kerb" and "upright-fridge" in p]
    assert len(fridges) == 2
    assert {p["door-layout"] for p in picks} >= {"split-both", "kerb-and-rear", "long-both-barn"}


def test_every_unit_of_the_shipped_catalogue_works_from_a_side() -> None:
    units = {
        f"{choice['id']}={o['id']}": o["unit"]
        for choice in text_of_the_shop()["choices"]
        for o in choice["options"]
        if "unit" in o
    }
    assert len(units) > 40
    assert [name for name, facts in units.items() if not facts.get("works-from")] == []


@pytest.mark.parametrize("layout_id", ["kitchen-kerb", "kitchen-kerb-barn"])
def test_a_fridge_stands_behind_the_fridge_door_without_a_wish(
    run: Run, layout_id: str, tmp_path: Path
) -> None:
    read = yaml.safe_load((PACKAGES / "family.yaml").read_text("utf-8"))
    read["picks"]["door-layout"] = layout_id
    assert "wishes" not in read
    path = tmp_path / "sale.yaml"
    path.write_text(yaml.safe_dump(read), "utf-8")
    answer = laid(run, path, ())
    (fridge,) = [p for p in answer["placements"] if p["unit"].startswith("upright-fridge=")]
    assert fridge["side"] == "left"
    assert 50 <= fridge["x"] <= fridge["x"] + fridge["length"] <= 50 + 620
    (kitchen,) = [p for p in answer["placements"] if p["unit"].startswith("kitchen=")]
    assert (kitchen["side"], kitchen["x"] >= 730) == ("left", True)


# Preferred places, in spaces that leave no doubt

TWO_DOORS = [
    door("left", rear=600, prefers=["units=b"]),
    door("left", front=600),
    door("right"),
]


def test_doors_come_before_what_a_unit_prefers_and_wishes_before_doors() -> None:
    shell = space((1200, 900, 400), [{**d} for d in TWO_DOORS])
    b_unit = unit("b", (500, 400, 300), works_from=["left", "right"], prefers={"side": "right"})
    a_unit = unit("a", (500, 400, 300), works_from=["left", "right"], prefers={"towards": "rear"})
    catalogue, selection = hold(shell, [a_unit, b_unit])
    answer = lay_out(Resolved(catalogue, selection))
    assert isinstance(answer, Layout)
    assert not faults(Resolved(catalogue, selection), answer.placements)
    a, b = (next(p for p in answer.placements if p.option == name) for name in "ab")
    assert (b.side, b.x + b.length <= 600) == ("left", True)
    assert 2 * a.x + a.length >= 1200
    assert answer.unkept == ()

    wished = attrs.evolve(selection, wishes=(Wish("units", "b", side="right"),))
    answer = lay_out(Resolved(catalogue, wished))
    assert isinstance(answer, Layout)
    assert next(p for p in answer.placements if p.option == "b").side == "right"
    (note,) = [f for f in check(Resolved(catalogue, wished)).findings if f.code == "place"]
    assert (note.level, note.subject) == ("note", "units=b")
    assert note.sentence == (
        "B is not behind the door that is meant for it, on the left: the selection wishes for "
        "another place"
    )


def test_a_preferred_place_never_makes_anything_impossible_and_says_what_is_in_its_way() -> None:
    shell = space((1000, 900, 400), [door("left", prefers=["units=b"]), door("right")])
    pinned = unit("a", (600, 400, 300), works_from=["left"])
    other = unit("b", (600, 400, 300), works_from=["left", "right"])
    catalogue, selection = hold(shell, [pinned, other])
    answer = lay_out(Resolved(catalogue, selection))
    assert isinstance(answer, Layout)
    assert not faults(Resolved(catalogue, selection), answer.placements)
    assert next(p for p in answer.placements if p.option == "b").side == "right"
    checked = check(Resolved(catalogue, selection))
    assert [f.sentence for f in checked.findings if f.code == "place"] == [
        "B is not behind the door that is meant for it, on the left: blocked by A"
    ]
    assert not [f for f in checked.stops if f.code in ("layout", "fit")]


def test_a_door_too_small_for_what_it_is_meant_for_is_told() -> None:
    shell = space((1500, 900, 400), [door("left", rear=1100, prefers=["units"]), door("right")])
    catalogue, selection = hold(shell, [unit("a", (600, 400, 300), works_from=["left", "right"])])
    answer = lay_out(Resolved(catalogue, selection))
    assert isinstance(answer, Layout)
    assert [p.side for p in answer.placements] == ["right"]
    assert [
        f.sentence for f in check(Resolved(catalogue, selection)).findings if f.code == "place"
    ] == [
        "A is not behind the door that is meant for it, on the left: it would not fit there even "
        "with nothing else beside it"
    ]


def test_a_side_without_a_door_is_not_preferred() -> None:
    plain = unit("a", (600, 400, 300), works_from=["left", "right"], prefers={"side": "right"})
    catalogue, selection = hold(space((1500, 900, 400), [door("left")]), [plain])
    answer = lay_out(Resolved(catalogue, selection))
    assert isinstance(answer, Layout)
    assert ([p.side for p in answer.placements], answer.unkept) == (["left"], ())


# Places on the command line


def side_of(run: Run, unit_id: str, *arguments: str) -> tuple[str, int]:
    answer = json.loads(run("layout", "touring.yaml", *arguments, "--json").out)
    (place,) = [p for p in answer["placements"] if p["unit"] == unit_id]
    return place["side"], 2 * place["x"] + place["length"]


def test_place_takes_the_place_of_a_wish_in_the_file(run: Run) -> None:
    assert side_of(run, "kitchen=gas-sink")[0] == "left"
    assert side_of(run, "kitchen=gas-sink", "--place", "kitchen=right")[0] == "right"
    side, middle = side_of(run, "kitchen=gas-sink", "--place", "kitchen=gas-sink=left,towards:rear")
    assert (side, middle >= 2329) == ("left", True)
    assert side_of(run, "pantry=pantry-860", "--place", "pantry=x:1500") == ("left", 3300)


def test_every_command_that_takes_picks_takes_places(run: Run) -> None:
    for command in (
        ("check", "contractor.yaml"),
        ("price", "contractor.yaml"),
        ("layout", "contractor.yaml"),
        ("mass", "contractor.yaml"),
        ("power", "contractor.yaml"),
        ("budget", "contractor.yaml", "--limit", "90000"),
        ("quote", "contractor.yaml", "--date", "2026-08-03", "--json"),
        ("sheets", "contractor.yaml", "-o", "sheets", "--as", "html", "--date", "2026-08-03"),
        ("compare", "contractor.yaml", "touring.yaml"),
        ("fixes", "contractor.yaml"),
    ):
        ran = run(*command, "--place", "power-cupboard=left")
        assert ran.code == 0, (command, ran.out, ran.err)
        ran = run(*command, "--place", "power-cubpoard=left")
        assert ran.code == 1, command
        said = (ran.out + ran.err).replace('\\"', '"')
        assert '"power-cubpoard" is not picked' in said, command
        assert 'did you mean "power-cupboard"?' in said, command


@pytest.mark.parametrize(
    ("place", "code", "said"),
    [
        ("kitchen=lift", 2, 'kitchen=lift: "lift" is not a side; did you mean "left"?'),
        ("kitchen=towards:fron", 2, '"fron" is not an end; did you mean "front"?'),
        ("kitchen=tword:front", 2, '"tword" is not known; did you mean "towards"?'),
        ("kitchen=x:1e3", 2, "x must be a whole number of mm, 0 or more."),
        ("kitchen=x:123456", 2, "x may be 100000 mm at most."),
        ("kitchen=left,right", 2, "it says side twice."),
        ("kitchen", 2, "Write it as UNIT=SIDE, such as kitchen=left"),
        ("=left", 2, "Write it as UNIT=SIDE, such as kitchen=left"),
        ("kitchen=gas-snik=left", 1, '"kitchen=gas-snik" is not picked (not-picked)'),
        ("oven=left", 1, '"oven" is not picked (not-picked)'),
        ("kitchen=rear", 1, "works from left or right, not rear (wish-side)"),
        ("tray-length=left", 1, "2400 mm tray is not something to place (wish-no-unit)"),
    ],
)
def test_a_place_that_cannot_be_understood_is_told(
    run: Run, place: str, code: int, said: str
) -> None:
    ran = run("layout", "touring.yaml", "--place", place)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert f"--place {place}" in ran.err


def test_a_batch_takes_no_places(run: Run) -> None:
    ran = run("quote", "--batch", ".", "-o", "quotes", "--place", "kitchen=left")
    assert ran.code == 2
    assert "--place" in ran.err


def test_the_layout_says_on_paper_too_what_it_could_not_keep(run: Run) -> None:
    asked = ("layout", "touring.yaml", "--place", "upright-fridge=right")
    found = json.loads(run(*asked, "--json").out)["findings"]
    told = [f["sentence"] for f in found if f["code"] in ("wish", "place")]
    assert len(told) == 2
    assert run(*asked, "-o", "l.html").code == 0
    page = unescape(Path("l.html").read_text("utf-8")).replace("\N{NO-BREAK SPACE}", " ")
    assert all(f"<li>{sentence}.</li>" in page for sentence in told)
    assert run("layout", "touring.yaml", "-o", "kept.html").code == 0
    assert "could not be kept" not in Path("kept.html").read_text("utf-8")
