"""The commands ``mass`` and ``power``, run as a person runs them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configurator import open_shop
from configurator.catalogue.reading import shipped
from configurator.shapes.shipped import schema
from tests.support.commands import Ran, Run
from tests.support.shipped import shipped_in_one

SELECTIONS = shipped("catalogues") / "selections"


def answer(ran: Ran, name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(ran.out)
    shapes = schema("answers")["$defs"]
    Draft202012Validator({"$ref": f"#/$defs/{name}", "$defs": shapes}).validate(found)
    return found


@pytest.mark.parametrize("name", ["touring", "contractor", "wish"])
def test_shipped_selections_have_both_pictures(name: str, run: Run) -> None:
    for command in ("mass", "power"):
        ran = run(command, f"{name}.yaml")
        assert ran.code == 0
        assert "Estimate from catalogue figures" in ran.out
        assert answer(run(command, f"{name}.yaml", "--json"), command)["answer"] == command


def test_more_people_and_a_trailer_stop_what_exceeds_a_rating(run: Run) -> None:
    arguments = ("contractor.yaml", "--people", "5", "--tow-ball", "330", "--trailer", "3300")
    ran = run("mass", *arguments)
    assert ran.code == 1
    assert "stop: Fully loaded with a trailer, the vehicle would weigh" in ran.out
    found = answer(run("mass", *arguments, "--json"), "mass")
    stops = {f["subject"] for f in found["findings"] if f["level"] == "stop"}
    assert stops == {"gvm", "rear-axle", "gcm"}
    towing = found["states"][-1]
    total = pytest.approx(float(towing["total"]), abs=0.02)
    assert float(towing["front"]) + float(towing["rear"]) == total


def test_every_mass_can_be_shown_with_its_place(run: Run) -> None:
    out = run("mass", "contractor.yaml", "--items").out
    assert "2 people in seat row 1" in out
    assert "Places in brackets are assumed." in out


def test_masses_in_the_answer_add_up(run: Run) -> None:
    found = answer(run("mass", "touring.yaml", "--json"), "mass")
    kerb = float(found["kerb"]["front"]) + float(found["kerb"]["rear"])
    for state in found["states"]:
        masses = sum(float(item["mass"]) for item in state["items"])
        assert kerb + masses == pytest.approx(float(state["total"]), abs=0.5)


def test_a_lifted_front_axle_is_no_number_in_the_answer(run: Run, tmp_path: Path) -> None:
    text = shipped_in_one()
    bare = "      - id: no-sides\n"
    assert text.count(bare) == 1
    far = f"{bare}        mass: 9000\n        position: {{from: rear-axle, x: 2000}}\n"
    heavy = text.replace(bare, far)
    (tmp_path / "heavy.yaml").write_text(heavy, "utf-8")
    ran = run("mass", "touring.yaml", "--catalogue", "heavy.yaml", "--json")
    found = answer(ran, "mass")
    assert ran.code == 1
    full = next(state for state in found["states"] if state["state"] == "full")
    assert (full["front"], full["front-share"], full["lifted"]) == (None, None, True)
    assert full["rear"] == full["total"]
    assert next(bar for bar in full["bars"] if bar["rating"] == "rear-axle")["load"] == full["rear"]
    assert "lifting" in {f["code"] for f in found["findings"]}
    assert "lifted" in run("mass", "touring.yaml", "--catalogue", "heavy.yaml").out


def test_winter_without_driving_changes_the_days(run: Run) -> None:
    usual = answer(run("power", "touring.yaml", "--json"), "power")
    arguments = ("touring.yaml", "--season", "winter", "--driving", "0", "--sun", "hobart")
    winter = answer(run("power", *arguments, "--json"), "power")
    assert float(winter["sun"]) < float(usual["sun"])
    assert (usual["days-sun"], winter["vehicle-daily"]) == (None, "0")
    assert float(winter["days-sun"]) > float(winter["days-alone"])
    assert (
        "Hobart, winter, 1.6 peak sun hours a day, 0 hours of driving"
        in run("power", *arguments).out
    )


@pytest.mark.parametrize("command", ["mass", "power"])
def test_the_picture_is_written_as_svg_only(command: str, run: Run, tmp_path: Path) -> None:
    assert run(command, "touring.yaml", "-o", "picture.svg").code == 0
    assert (tmp_path / "picture.svg").read_text("utf-8").startswith("<svg ")
    ran = run(command, "touring.yaml", "-o", "picture.png")
    assert (ran.code, ran.err) == (2, "picture.png: the file's name must end in .svg\n")
    assert not (tmp_path / "picture.png").exists()


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("mass", "--pick", "sheet=2mm"), 2, "pick a vehicle"),
        (("mass", "touring.yaml", "--tow-ball", "-3"), 2, "'-3' is no number of zero or more"),
        (("mass", "touring.yaml", "--trailer", "much"), 2, "'much' is no number of zero or more"),
        (("mass", "touring.yaml", "--trailer", "1e99"), 2, "'1e99' is no number of zero or more"),
        (("power", "touring.yaml", "--driving", "25"), 2, "zero or more, at most 24"),
        (("mass", "touring.yaml", "--people", "0"), 2, "0 is not in the range"),
        (("power", "touring.yaml", "--sun", "hobard"), 1, 'did you mean "hobart"?'),
        (("power", "touring.yaml", "--driving", "nan"), 2, "'nan' is no number of zero or more"),
        (("power", "nowhere.yaml"), 3, "nowhere.yaml"),
    ],
)
def test_wrong_usage_gets_one_clear_message(
    arguments: tuple[str, ...], code: int, words: str, run: Run
) -> None:
    ran = run(*arguments)
    assert ran.code == code
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_next_to_nothing_still_gets_a_picture(run: Run) -> None:
    found = answer(run("mass", "--pick", "vehicle=mid-dual", "--json"), "mass")
    assert found["states"][1]["total"] == "2160"
    bare = answer(run("power", "--pick", "vehicle=mid-dual", "--json"), "power")
    assert (bare["daily"], bare["days-alone"], bare["curves"]) == ("0", None, [])
    assert run("power", "--pick", "vehicle=mid-dual").code == 0


@pytest.mark.parametrize(("command", "said"), [("mass", "Vorderachse"), ("power", "ohne Laden")])
def test_the_picture_speaks_the_language_asked_for(command: str, said: str, tmp_path: Path) -> None:
    shop = open_shop(shipped("catalogues") / "quandong.yaml")
    build = shop.build(shipped("catalogues") / "selections" / "touring.yaml")
    shop.write(getattr(build, command)(), tmp_path / "picture.svg", language="de")
    assert said in (tmp_path / "picture.svg").read_text("utf-8")


@pytest.mark.parametrize("command", ["mass", "power", "layout"])
def test_what_is_written_is_not_printed_as_well(command: str, run: Run, tmp_path: Path) -> None:
    file = tmp_path / "picture.svg"
    asked = (command, str(SELECTIONS / "touring.yaml"), "-o", str(file))
    ran = run(*asked)
    assert ran.code == 0
    assert ran.out.startswith(f"{file}: ")
    assert ran.out.count("\n") == 1
    assert file.stat().st_size
    assert run(*asked, "--json").out.startswith("{")


def test_what_stops_a_package_is_printed_beside_its_picture(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "picture.svg"
    touring = str(SELECTIONS / "touring.yaml")
    ran = run("mass", touring, "--people", "20", "-o", str(file))
    assert ran.code == 1
    assert "stop: " in ran.out
    assert ran.out.endswith(f"{file}: masses and axle loads\n")


def test_a_layout_is_a_table_of_80_columns(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    told = run("layout", str(SELECTIONS / "touring.yaml")).out
    assert re.search(r"^No\. +Unit +x +y +z +Long +Wide +High$", told, re.MULTILINE)
    kitchen = r"^5 +Slide-out kitchen, two gas +730 +0 +0 +560 +820 +330\n +burners and sink *\n"
    assert re.search(rf"{kitchen} +works from: left; on: floor *$", told, re.MULTILINE)
