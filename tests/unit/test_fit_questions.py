"""The ordinary questions of fit, asked through the engine on the shipped catalogue."""

from __future__ import annotations

import json
from typing import Any

from click.testing import CliRunner

from configurator.catalogue.reading import shipped
from configurator.cli import cli


def ask(*arguments: str) -> Any:
    result = CliRunner().invoke(cli, [*arguments, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def states(*arguments: str) -> dict[str, str]:
    return {row["option"]: row["state"] for row in ask("options", *arguments)["options"]}


def test_the_largest_upright_for_a_canopy() -> None:
    uprights = states("--pick", "canopy-height=850mm", "--choice", "upright-fridge")
    assert [name for name, state in uprights.items() if state == "open"] == [
        "upright-45",
        "upright-65",
        "upright-85",
        "upright-110",
    ]


def test_the_lowest_canopy_for_a_fridge() -> None:
    heights = states("--pick", "upright-fridge=upright-130", "--choice", "canopy-height")
    assert next(name for name, state in heights.items() if state != "ruled-out") == "1000mm"


def test_which_door_layouts_take_it() -> None:
    doors = states("--pick", "upright-fridge=upright-130", "--choice", "door-layout")
    assert {"open", "ruled-out"} >= set(doors.values())
    assert doors["kitchen-kerb"] == "open"


def test_what_must_go_to_make_room() -> None:
    touring = str(shipped("catalogues") / "selections" / "touring.yaml")
    fixes = ask("fixes", touring, "upright-fridge=upright-170", "--count", "1")["fixes"]
    assert [(change["choice"], change["after"]) for change in fixes[0]["changes"]] == [
        ("upright-fridge", {"upright-170": 1}),
        ("canopy-height", {"1200mm": 1}),
    ]
