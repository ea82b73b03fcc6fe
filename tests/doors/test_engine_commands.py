"""The engine's commands, on the shipped catalogue: words, JSON shapes, exit codes."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from inspect import unwrap
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from click.testing import CliRunner

from configurator import (
    Build,
    Completion,
    ExplainAnswer,
    SearchLimit,
    SelectionError,
    Shop,
    open_shop,
    to_data,
    to_json,
)
from configurator.catalogue.reading import shipped
from configurator.cli import cli
from configurator.engine.optimum import Optimum
from tests.support.answers import valid
from tests.support.building import choice, option, raw_catalogue, read, selection
from tests.support.shipped import shipped_in_one

SELECTIONS = shipped("catalogues") / "selections"
WISH, CONTRACTOR = str(SELECTIONS / "wish.yaml"), str(SELECTIONS / "contractor.yaml")
TOURING = str(SELECTIONS / "touring.yaml")
FRIDGE = "upright-fridge=upright-130"


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(cli, list(arguments))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def answer(*arguments: str) -> tuple[int, Any]:
    code, output = run(*arguments, "--json")
    return code, valid(output)


def test_why_argues_with_numbers_and_names_only_what_takes_part() -> None:
    code, data = answer("explain", WISH, FRIDGE)
    assert code == 0
    assert [fact["subject"] for fact in data["conflict"]["facts"]] == [FRIDGE]
    assert [pick["pick"] for pick in data["conflict"]["picks"]] == ["canopy-height=850mm"]
    _, words = run("explain", WISH, FRIDGE)
    flat = " ".join(words.split())
    assert flat.startswith("Because Canopy height: Standard, 850 mm, and Upright fridge with")
    assert "870 mm of height" in flat
    figure = "the canopy has 814 mm inside: 56 mm short"
    assert figure in flat
    assert figure in " ".join(run("check", WISH)[1].split()), "one figure, whoever says it"
    assert flat.endswith("130 L is not available.")


def test_why_says_so_when_the_option_can_be_had() -> None:
    code, data = answer("explain", FRIDGE)
    assert (code, data["possible"], data["conflict"]) == (0, True, None)


def test_every_fix_of_the_wish_can_be_quoted_and_a_taller_canopy_comes_before_more_fridges(
    tmp_path: Path,
) -> None:
    code, data = answer("fixes", WISH)
    assert code == 0
    assert [fix["count"] for fix in data["fixes"]] == [1, 1, 1]
    choices = [fix["changes"][0]["choice"] for fix in data["fixes"]]
    assert choices == ["upright-fridge", "canopy-height", "upright-fridge"]
    first, _, third = (abs(float(fix["difference"])) for fix in data["fixes"])
    assert first < third
    for fix in data["fixes"]:
        file = tmp_path / "fixed.json"
        file.write_text(json.dumps(fix["selection"]))
        assert run("check", str(file))[0] == 0


def test_a_sound_selection_needs_no_fix() -> None:
    assert run("fixes", CONTRACTOR) == (0, "These picks go together: nothing needs fixing.\n")


def test_a_fix_can_bring_in_a_wanted_option() -> None:
    _, data = answer("fixes", CONTRACTOR, "upright-fridge=upright-110", "--count", "1")
    assert data["fixes"][0]["selection"]["picks"]["upright-fridge"] == {"upright-110": 1}


def test_options_tells_the_state_of_each_and_why() -> None:
    code, data = answer("options", CONTRACTOR, "--choice", "upright-fridge")
    assert code == 0
    states = {row["option"]: row for row in data["options"]}
    assert states["upright-45"]["state"] == "open"
    assert states["upright-110"]["state"] == "ruled-out"
    assert "short" in states["upright-110"]["reason"]
    assert all(bool(row["reason"]) == (row["state"] == "ruled-out") for row in states.values())


def test_a_decided_choice_says_what_is_available_instead_and_for_how_much() -> None:
    """The differences are those of two prices, as another command works them out."""
    code, data = answer("options", TOURING, "--choice", "upright-fridge", "--choice", "finish")
    assert code == 0
    rows = {f"{row['choice']}={row['option']}": row for row in data["options"]}
    instead = {pick: row for pick, row in rows.items() if row["state"] == "instead"}
    assert {"upright-fridge=upright-110", "finish=powder-doors"} <= instead.keys()
    for pick, row in instead.items():
        _, compared = answer("compare", TOURING, "--change", pick)
        assert row["difference"] == compared["columns"][1]["difference"], pick
        _, asked = answer("explain", TOURING, pick)
        assert (asked["possible"], asked["difference"]) == (True, row["difference"])
        assert asked["instead-of"].split("=")[0] == pick.split("=")[0]
    refused = rows["upright-fridge=upright-170"]
    assert (refused["state"], refused["difference"]) == ("ruled-out", None)
    assert "194 mm short" in refused["reason"]
    assert not [row for row in rows.values() if row["reason"].endswith("is picked")]


def test_why_sets_the_present_pick_aside() -> None:
    _, data = answer("explain", TOURING, "upright-fridge=upright-170")
    assert data["instead-of"] == "upright-fridge=upright-130"
    assert "upright-fridge=upright-130" not in {pick["pick"] for pick in data["conflict"]["picks"]}
    _, words = run("explain", TOURING, "upright-fridge=upright-110")
    start = "Upright fridge with freezer, 110 L is available instead of Upright fridge with"
    assert " ".join(words.split()).startswith(start)
    assert " ".join(words.split()).endswith("AUD -300.00")


def test_what_has_to_go_with_an_option_instead_is_named_where_it_is_not_there_yet() -> None:
    picks = ["vehicle=large-dual", "canopy-length=1400mm", "canopy-style=part-tray"]
    asked = [word for pick in (*picks, "table=door-table") for word in ("--pick", pick)]
    also = "AUD +100.00; it also needs a pick from Drawers"
    code, told = run("explain", *asked, "table=stow-small")
    assert (code, also in " ".join(told.split())) == (0, True)
    code, told = run("within", *asked, "--budget", "60000", "--wish", "table=stow-small")
    also = "AUD +100.00 for that alone; it also needs a pick from Drawers"
    assert (code, also in " ".join(told.split())) == (0, True)
    _, found = answer("options", *asked, "--choice", "table")
    needs = {one["option"]: one["needs"] for one in found["options"]}
    assert needs == {"stow-small": ["drawers"], "stow-large": ["drawers"], "door-table": []}
    _, found = answer("explain", *asked, "--pick", "drawers=wide-220", "table=stow-small")
    assert found["needs"] == []


def test_of_picks_that_contradict_each_other_it_says_what_would_go_instead() -> None:
    code, data = answer("options", WISH, "--choice", "canopy-height")
    assert code == 1
    rows = {row["option"]: (row["state"], row["difference"]) for row in data["options"]}
    assert rows["1000mm"] == ("instead", "815.00")
    assert rows["900mm"] == ("ruled-out", None)


def test_what_could_stand_instead_of_a_pick_is_told_with_its_difference() -> None:
    code, data = answer("options", CONTRACTOR, "--choice", "canopy-height")
    assert code == 0
    states = {row["option"]: row for row in data["options"]}
    assert "picked" in {row["state"] for row in states.values()}
    instead = [row for row in states.values() if row["state"] == "instead"]
    assert instead
    for row in instead:
        pick = f"canopy-height={row['option']}"
        _, told = answer("explain", CONTRACTOR, pick)
        assert told["possible"]
        assert told["instead-of"].startswith("canopy-height=")
        assert told["difference"] == row["difference"]
        before, after = (
            answer("price", CONTRACTOR, *more)[1]["total"] for more in ((), ("--pick", pick))
        )
        assert Decimal(after) - Decimal(before) == Decimal(row["difference"])
        words = " ".join(run("explain", CONTRACTOR, pick)[1].split())
        assert "is available instead of" in words
    for row in states.values():
        assert "is picked" not in row["reason"]
        assert bool(row["reason"]) == (row["state"] == "ruled-out")


def test_why_an_alternative_is_not_available_names_other_picks_than_the_present_one() -> None:
    _, data = answer("options", CONTRACTOR, "--choice", "vehicle")
    refused = [row for row in data["options"] if row["state"] == "ruled-out"]
    assert refused
    _, told = answer("explain", CONTRACTOR, f"vehicle={refused[0]['option']}")
    assert not told["possible"]
    assert told["conflict"]["facts"]
    assert not [p for p in told["conflict"]["picks"] if p["pick"].startswith("vehicle=")]


def test_options_of_a_contradiction_explains_the_picks() -> None:
    code, data = answer("options", WISH, "--choice", "kitchen")
    assert code == 1
    assert data["conflict"]["conclusion"] == "so these picks do not go together"


def test_the_roomiest_package_says_how_much_room_stays_and_every_answer_says_the_same(
    tmp_path: Path,
) -> None:
    made = str(tmp_path / "roomy.yaml")
    code, words = run("complete", WISH, "--drop", "upright-fridge", "--prefer", "space", "-o", made)
    assert code == 0
    free = re.search(r"Free volume of the canopy: (\d+) L\.", words)
    assert free is not None
    taken = re.search(r"(\d+) of (\d+) L are taken", " ".join(run("layout", made)[1].split()))
    assert taken is not None
    assert int(free[1]) == int(taken[2]) - int(taken[1])
    compared = run("compare", made, made)[1]
    assert re.search(rf"Free volume of the canopy, L +{free[1]} ", compared)
    assert "Free volume" not in run("complete", WISH, "--drop", "upright-fridge")[1]


@pytest.mark.parametrize("prefer", ["price", "mass", "space"])
def test_a_completion_holds_the_picks_and_can_be_quoted(prefer: str, tmp_path: Path) -> None:
    arguments = ("--pick", "vehicle=mid-dual", "--pick", "upright-fridge=upright-85")
    code, data = answer("complete", *arguments, "--prefer", prefer)
    assert code == 0
    assert data["selection"]["picks"]["upright-fridge"] == {"upright-85": 1}
    file = tmp_path / "complete.json"
    file.write_text(json.dumps(data["selection"]))
    assert run("check", str(file))[0] == 0


@pytest.mark.parametrize("name", ["complete.yaml", "complete.json"])
def test_a_completion_is_kept_as_a_file_that_holds_what_was_told(name: str, tmp_path: Path) -> None:
    arguments = ("--pick", "vehicle=mid-dual", "--pick", "upright-fridge=upright-85")
    file = tmp_path / name
    code, data = answer("complete", *arguments, "-o", str(file))
    assert code == 0
    code, priced = answer("price", str(file))
    assert (code, priced["total"]) == (0, data["total"])


def test_what_a_budget_allows_is_kept_as_a_file(tmp_path: Path) -> None:
    file = tmp_path / "within.yaml"
    wish = ("--pick", "vehicle=mid-dual", "--budget", "20000", "--wish", "solar=panel-200:2")
    code, data = answer("within", *wish, "-o", str(file))
    assert (code, granted(data)) == (0, ["solar=panel-200"])
    assert "  solar:\n    panel-200: 2\n" in file.read_text("utf-8")
    assert answer("price", str(file))[1]["to-pay"] == data["to-pay"]


def test_where_nothing_is_found_no_file_is_written(tmp_path: Path) -> None:
    file = tmp_path / "none.yaml"
    assert run("complete", WISH, "-o", str(file))[0] == 1
    assert not file.exists()


def test_what_cannot_be_completed_is_explained() -> None:
    code, words = run("complete", WISH)
    assert code == 1
    assert words.startswith("These picks cannot be completed.\nBecause Canopy height")


def test_what_cannot_be_completed_wants_no_option() -> None:
    code, data = answer("complete", WISH)
    assert (code, data["answer"], data["wanted"], data["possible"]) == (1, "explain", None, False)


def test_a_program_is_told_by_the_same_call_why_picks_cannot_be_completed() -> None:
    catalogue = shipped("catalogues") / "quandong.yaml"
    build = open_shop(catalogue).build(WISH)
    found = build.complete()
    assert isinstance(found, ExplainAnswer)
    assert to_data(found)["conflict"] == answer("complete", WISH)[1]["conflict"]
    assert to_json(found) == to_json(build.explain())


def test_a_fix_may_change_what_the_budget_would_keep(tmp_path: Path) -> None:
    file = tmp_path / "kept.yaml"
    file.write_text(
        "format: 1\n"
        "catalogue: quandong\n"
        "picks: {vehicle: mid-dual, canopy-height: 850mm, upright-fridge: upright-85}\n"
        "budget: {limit: 100000.00, keep: [upright-fridge=upright-85]}\n"
    )
    code, data = answer("fixes", str(file), "canopy-height=700mm", "--count", "1")
    assert code == 0
    fix = data["fixes"][0]
    assert [(change["choice"], change["after"]) for change in fix["changes"]] == [
        ("canopy-height", {"700mm": 1}),
        ("upright-fridge", {"upright-65": 1}),
    ]
    assert "keep" not in fix["selection"]["budget"]


def test_an_earlier_wish_is_never_given_up_for_a_later_one() -> None:
    wishes = ("--wish", "upright-fridge=upright-130", "--wish", "upright-fridge=upright-45")
    code, data = answer("within", "--pick", "vehicle=mid-dual", "--budget", "20000", *wishes)
    assert code == 0
    assert granted(data) == ["upright-fridge=upright-130"]
    left = data["left-out"][0]
    assert (left["state"], left["over"], left["conflict"]) == ("instead", None, None)
    assert left["instead-of"] == "upright-fridge=upright-130"
    words = run("within", "--pick", "vehicle=mid-dual", "--budget", "20000", *wishes)[1]
    assert "hint: wish for it before that" in words


def test_a_wish_for_another_option_of_a_pick_says_what_it_does_instead() -> None:
    wish = ("within", TOURING, "--budget", "60000", "--wish", "tray-floor=tread")
    code, data = answer(*wish)
    left = data["left-out"][0]
    assert (code, left["state"], left["instead-of"]) == (0, "instead", "tray-floor=plain")
    assert left["difference"] == answer("explain", TOURING, "tray-floor=tread")[1]["difference"]
    words = " ".join(run(*wish)[1].split())
    assert "available instead of Plain 3 mm plate: AUD +340.00" in words
    assert "to have it for certain, pick it with --pick tray-floor=tread" in words
    for change in ("--pick=tray-floor=tread", "--drop=tray-floor"):
        assert granted(answer(*wish, change)[1]) == ["tray-floor=tread"]


def test_a_wish_over_the_budget_says_by_how_much() -> None:
    wish = ("--wish", "finish=two-pack")
    _, data = answer("within", "--pick", "vehicle=mid-dual", "--budget", "13000", *wish)
    assert data["granted"] == []
    assert float(data["left-out"][0]["over"]) > 0


def test_whatever_else_was_chosen_within_a_budget_is_listed_with_its_price() -> None:
    wishes = ("--wish", "upright-fridge=upright-110", "--wish", "solar=panel-200:2")
    asked = ("within", "--pick", "vehicle=mid-dual", "--budget", "20000", *wishes)
    _, data = answer(*asked)
    picks = {
        f"{choice}={option}": quantity
        for choice, options in data["selection"]["picks"].items()
        for option, quantity in quantities(options).items()
    }
    told = {one["pick"]: one["quantity"] for one in data["added"]}
    for name, quantity in quantities(data["selection"].get("add-ons", {})).items():
        picks[f"add-on={name}"] = quantity
    assert told
    wished = {"vehicle=mid-dual": 1, "upright-fridge=upright-110": 1, "solar=panel-200": 2}
    assert picks == told | wished
    assert set(granted(data)) == wished.keys() - {"vehicle=mid-dual"}
    _, words = run(*asked)
    shop = read(shipped_in_one())
    for pick, quantity in told.items():
        choice, option = pick.split("=")
        many = f"{quantity} x " if quantity > 1 else ""
        start = f"{many}{shop.option(choice, option).title}"[:20]
        title = shop.by_id[choice].title
        rows = map(str.strip, words.splitlines())
        assert any(row.startswith(title[:20]) and start in row for row in rows), pick


def granted(data: Any) -> list[str]:
    return [one["pick"] for one in data["granted"]]


def quantities(options: Any) -> dict[str, int]:
    """Quantities by option id, however a selection's picks of a choice are written."""
    if isinstance(options, str):
        return {options: 1}
    return dict(options) if isinstance(options, dict) else dict.fromkeys(options, 1)


def test_a_pick_that_is_kept_is_in_every_fix() -> None:
    _, data = answer("fixes", WISH, "--keep", "upright-fridge")
    assert data["fixes"]
    for fix in data["fixes"]:
        assert "upright-fridge" not in {change["choice"] for change in fix["changes"]}
    refused = CliRunner().invoke(cli, ["fixes", WISH, "--keep", "upright-frige"]).exception
    assert isinstance(refused, SelectionError)
    assert '--keep upright-frige: error: there is no choice "upright-frige"' in str(refused)


def test_why_a_wish_is_ruled_out_is_told_a_premise_on_each_line() -> None:
    asked = ("--pick", "vehicle=mid-dual", "--budget", "20000", "--wish", "tray-length=2400mm")
    lines = [line.strip() for line in run("within", *asked)[1].splitlines()]
    at = lines.index("Left out: 2400 mm tray.")
    assert lines[at + 1].startswith("Because Vehicle: Mid-size dual-cab 4x4 can only go with")
    assert "Vehicle: Mid-size" not in " ".join(lines[at + 2 :])


def test_the_same_reason_is_told_for_one_wish_and_named_for_the_others() -> None:
    wishes = ("--wish", "tray-length=2400mm", "--wish", "tray-length=3000mm")
    _, words = run("within", "--pick", "vehicle=mid-dual", "--budget", "20000", *wishes)
    told = " ".join(words.split())
    assert told.count("can only go with Tray length: 1650 mm tray or 1800 mm tray") == 1
    assert "Left out: 3000 mm tray: for the same reason as 2400 mm tray" in words


def test_what_an_open_choice_gives_is_no_reason_to_choose_something_smaller() -> None:
    picks = ("--pick", "vehicle=mid-dual", "--pick", "water-tank=side-90")
    _, data = answer("check", *picks)
    (lack,) = (one for one in data["findings"] if one["subject"] == "under-right")
    assert lack["level"] == "note"
    assert lack["hint"] == "choose Tray length"
    _, data = answer("check", *picks, "--pick", "tray-length=1650mm")
    (over,) = (one for one in data["findings"] if one["subject"] == "under-right")
    assert over["level"] == "stop"
    assert over["hint"].startswith("Choose a shorter box")


def test_picks_that_cannot_be_completed_are_told_once_however_many_wishes() -> None:
    contrary = ("--pick", "vehicle=mid-dual", "--pick", "tray-length=2550mm")
    wishes = ("--wish", "oven=oven-small", "--wish", "solar=panel-200:2")
    code, words = run("within", *contrary, "--budget", "20000", *wishes)
    assert code == 1
    assert words.count("Because ") == 1
    assert "Left out" not in words
    fixing = run("complete", *contrary)[1].partition("For the best ways to fix this:")
    assert words.endswith("".join(fixing[1:]))


def test_a_reason_says_no_name_twice() -> None:
    _, words = run("explain", "tow-bar=tow-4500", "--pick", "vehicle=mid-dual")
    assert "and Tow bar rated 4500 kg can only go with Vehicle: Full-size" in words
    picked = ("--pick", "vehicle=mid-dual", "--pick", "battery=lfp-200")
    _, words = run("explain", "battery=agm-100", *picked)
    told = " ".join(words.split())
    assert '"AGM battery, 130 Ah" cannot go with "Lithium iron phosphate battery, 100' in told


def test_titles_with_commas_are_set_off_in_a_rule_that_names_several() -> None:
    _, words = run("explain", CONTRACTOR, "tray-length=2100mm")
    assert (
        'Tray length: 2100 mm tray and either "Full canopy, fixed to the tray", "Full canopy on '
        'legs, lifts off" or "Tool canopy, plain and strong" together can only go with Canopy '
        "length: 2100 mm canopy (A full canopy"
    ) in " ".join(words.split())


def test_no_reason_among_all_options_is_cut_in_mid_sentence() -> None:
    for picks in ((TOURING,), ("--pick", "vehicle=mid-dual")):
        _, words = run("options", *picks)
        assert "not available: " in words
        assert "\N{HORIZONTAL ELLIPSIS}" not in words


@pytest.mark.parametrize(
    ("pick", "wanted", "why"),
    [
        (
            "canopy-height=700mm",
            "pantry=pantry-640",
            r"its face reaches up to 640 mm, the clear opening of the \w+ side to 6\d\d mm: \d\d",
        ),
        (
            "canopy-height=700mm",
            "oven=oven-small",
            r"it needs \d+ mm of height \(.*\), but the canopy has 6\d\d mm inside: \d+ mm short",
        ),
        (
            "door-layout=long-both",
            "drawers=rear-long",
            "there is no door on the rear side to reach it through",
        ),
    ],
)
def test_what_fits_no_canopy_says_by_how_much_with_the_best_doors_and_carriers(
    pick: str, wanted: str, why: str
) -> None:
    _, words = run("explain", "--pick", pick, wanted)
    flat = " ".join(words.split())
    where = "does not fit the (largest )?canopy( available)?(, whatever you pick from Doors.*?)?"
    assert re.search(f"{where}: {why}", flat), flat


def test_what_is_not_settled_among_many_names_the_command_that_asks_for_it_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    command = "configurator explain {file} {pick}"
    assert "configurator explain" not in run("options", CONTRACTOR)[1]
    answered = Build.options

    def options(self: Build, *choices: str) -> Any:
        found = answered(self, *choices)
        left = [
            evolve(one, state="undecided", reason="not settled yet") if one.state == "open" else one
            for one in found.options
        ]
        return evolve(found, options=tuple(left))

    monkeypatch.setattr(Build, "options", options)
    for arguments in ((), ("--choice", "upright-fridge"), ("--all",)):
        _, words = run("options", CONTRACTOR, *arguments)
        assert words.count("configurator explain") == 1
        asks = command.format(file=re.escape(CONTRACTOR), pick=r"(\S+=\S+)")
        pick = re.search(asks, " ".join(words.split()))
        assert pick is not None
        assert run("explain", CONTRACTOR, pick[1])[0] == 0


def test_without_an_option_the_picks_alone_are_explained() -> None:
    code, words = run("explain", WISH)
    assert code == 0
    assert words.startswith("These picks cannot be completed.\nBecause ")
    assert words.endswith(f"For the best ways to fix this:\n    configurator fixes {WISH}\n")
    assert run("explain", TOURING) == (0, "These picks can be completed.\n")


@pytest.mark.parametrize("budget", ["20 000", "20,000", "$20,000", "20.000,00", "AUD 20000"])
def test_a_budget_is_read_as_people_write_it(budget: str) -> None:
    picks = ("--pick", "vehicle=mid-dual", "--wish", "solar=panel-200", "--json", "--budget")
    assert run("within", *picks, budget) == run("within", *picks, "20000")


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("within", WISH, "--budget", "cheap"), "write an amount such as 45000"),
        (("within", WISH, "--budget", "9" * 60), "write an amount such as 45000"),
        (("within", WISH, "--budget", "EUR 20,000"), "no budget in AUD; write an amount such as"),
        (("within", WISH, "--budget", "2,00,00"), "write an amount such as 45000"),
        (("within", WISH, "--budget", "0"), "write an amount such as 45000"),
        (("fixes",), "give a SELECTION file, or picks with --pick"),
        (("explain", WISH, "a=b", "c=d"), "give one SELECTION and one CHOICE=OPTION"),
    ],
)
def test_wrong_usage_is_one_message(arguments: tuple[str, ...], sentence: str) -> None:
    code, words = run(*arguments)
    assert code == 2
    assert sentence in words


def test_a_budget_too_small_for_the_picks_alone_is_told_with_what_they_cost() -> None:
    code, words = run("within", "--pick", "vehicle=mid-dual", "--budget", "100")
    assert code == 1
    total = Decimal(answer("complete", "--pick", "vehicle=mid-dual")[1]["total"])
    assert f"AUD {total:,}, AUD {total - 100:,} over." in " ".join(words.split())
    _, data = answer("within", "--pick", "vehicle=mid-dual", "--budget", "100")
    assert (Decimal(data["to-pay"]), data["added"], data["selection"]) == (total, [], None)


def test_picks_that_contradict_are_not_said_to_be_over_the_budget() -> None:
    code, words = run("within", WISH, "--budget", "30000")
    assert code == 1
    told = "These picks cannot be completed at any price.\nBecause Canopy height"
    assert words.startswith(told)


@pytest.mark.parametrize(
    ("chosen", "asked"),
    [(CONTRACTOR, "upright-fridge=upright-170"), (TOURING, "vehicle=mid-single")],
)
def test_the_change_that_was_asked_for_comes_first(chosen: str, asked: str) -> None:
    _, data = answer("fixes", chosen, asked, "--count", "1")
    choices = [change["choice"] for change in data["fixes"][0]["changes"]]
    assert choices[0] == asked.partition("=")[0]
    assert len(choices) > 2
    assert choices != sorted(choices)
    assert choices[1:] == sorted(choices[1:])


@pytest.mark.parametrize(
    ("chosen", "change"),
    [
        (TOURING, ("--drop", "water-tank")),
        (TOURING, ("--pick", "battery=lfp-200:1")),
        (TOURING, ("--drop", "vents=filter-fan", "--drop", "vents=louvre-pair")),
        (CONTRACTOR, ("--drop", "battery")),
    ],
)
def test_what_is_missing_is_mended_so_that_nothing_stops_a_quote(
    chosen: str, change: tuple[str, ...]
) -> None:
    shop = open_shop(shipped("catalogues") / "quandong.yaml")
    code, data = answer("check", chosen, *change)
    assert code == 1
    code, words = run("fixes", chosen, *change)
    assert code == 0
    assert words.startswith("These picks go together, but something is missing.")
    _, data = answer("fixes", chosen, *change)
    assert len(data["fixes"]) == 3
    for fix in data["fixes"]:
        assert fix["count"] == 1
        assert not shop.build(fix["selection"]).check().stops


def test_each_fix_is_printed_before_the_next_is_looked_for(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shown: list[str] = []
    look_for = Optimum.best

    def looked_for(*asked: Any) -> Any:
        shown.append(capsys.readouterr().out)
        return look_for(*asked)

    monkeypatch.setattr(Build, "fixes_one_by_one", unwrap(Build.fixes_one_by_one))
    monkeypatch.setattr(Optimum, "best", looked_for)
    with pytest.raises(SystemExit):
        cli.main(["fixes", WISH])
    shown.append(capsys.readouterr().out)
    assert [re.findall(r"^\d(?=\. )", text, re.M) for text in shown] == [[], ["1"], ["2"], ["3"]]
    monkeypatch.setattr(Optimum, "best", look_for)
    assert run("fixes", WISH) == (0, "".join(shown))


CROWDED = """format: 1
catalogue: quandong
picks:
  vehicle: mid-dual
  canopy-length: 1200mm
  canopy-height: 1000mm
  upright-fridge: upright-130
  kitchen: gas-sink
  pantry: pantry-860
  drawers: {wide-300: 2, wide-220: 2}
"""
"""A canopy that is too short for what is asked of it, its sheet and doors still open."""


def test_while_a_package_is_begun_only_what_is_picked_counts_as_a_change() -> None:
    shop = open_shop(shipped("catalogues") / "quandong.yaml")
    begun = shop.build(CROWDED)
    (first,) = begun.fixes(count=1).fixes
    (change,) = first.changes
    assert change.before, "what is picked already"
    assert isinstance(shop.build(first.selection).complete(), Completion)
    assert begun.pick("canopy-length", "1650mm").fixes().nothing_to_mend


NEARLY_FULL = """format: 1
catalogue: quandong
picks:
  vehicle: mid-dual
  canopy-style: part-tray
  canopy-length: 1400mm
  upright-fridge: upright-45
  kitchen: bench-slim
  table: stow-large
  pantry: pantry-540
"""
"""They go into a canopy of 1200 mm too, but few of the packages that a solver tries first do."""


def unsettled(*_: Any) -> Any:
    raise SearchLimit("too many packages were tried")


def the_best_is_not_settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """The optimiser gives up at once; what is looked for then is looked for long enough.

    Which packages a solver tries first hangs on the machine, so that a few tries may not do.
    """
    monkeypatch.setattr(Optimum, "smallest", unsettled)
    monkeypatch.setattr("configurator.engine.ways_out._SOON", 20)


def test_a_fix_stands_where_only_its_price_is_not_settled(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = ("fixes", WISH, "--count", "2", "--keep", "upright-fridge")
    settled = answer(*asked)
    monkeypatch.setattr(Optimum, "best", unsettled)
    code, data = answer(*asked)
    assert code == settled[0] == 0
    assert [fix["count"] for fix in data["fixes"]] == [fix["count"] for fix in settled[1]["fixes"]]
    shop = open_shop(shipped("catalogues") / "quandong.yaml")
    for fix in data["fixes"]:
        assert "upright-fridge" not in {change["choice"] for change in fix["changes"]}
        assert not shop.build(fix["selection"]).check().impossible


def test_what_is_wanted_alone_is_a_fix_where_the_optimiser_gives_up_on_a_crowded_room(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    the_best_is_not_settled(monkeypatch)
    file = tmp_path / "nearly-full.yaml"
    file.write_text(NEARLY_FULL)
    wanted = ("fixes", str(file), "canopy-length=1200mm", "--count", "1")
    code, data = answer(*wanted, "--keep", "upright-fridge", "--keep", "kitchen")
    assert code == 0
    (fix,) = data["fixes"]
    assert (fix["count"], [one["choice"] for one in fix["changes"]]) == (1, ["canopy-length"])
    monkeypatch.undo()
    refused = CliRunner().invoke(cli, [*wanted, "--keep", "canopy-length"])
    assert refused.output.startswith("No change of picks fixes it and keeps Canopy length.\n")


FULL = (
    "vehicle=mid-single canopy-length=1400mm water-tank=bulkhead-90 pantry=pantry-540 "
    "table=stow-large chest-fridge=chest-38 upright-fridge=upright-110 kitchen=bench-slim"
)
"""Units of which one has to stay out."""


def test_a_pick_left_out_is_a_fix_where_the_best_is_not_settled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    the_best_is_not_settled(monkeypatch)
    asked = [word for pick in FULL.split() for word in ("--pick", pick)]
    code, data = answer("fixes", *asked)
    assert code == 0
    shop = open_shop(shipped("catalogues") / "quandong.yaml")
    changed = [
        [(one["choice"], bool(one["after"])) for one in fix["changes"]] for fix in data["fixes"]
    ]
    assert [len(one) for one in changed] == [1, 1, 1]
    assert len({one for (one,) in changed}) == 3, "other picks, or leaving out one replaced before"
    assert all(shop.build(fix["selection"]).explain().possible for fix in data["fixes"])


def test_a_completion_tells_how_many_more_it_adds() -> None:
    _, data = answer("complete", TOURING, "--pick", "battery=lfp-200:1")
    assert [(one["pick"], one["quantity"]) for one in data["added"]] == [("battery=lfp-200", 1)]
    _, words = run("complete", TOURING, "--pick", "battery=lfp-200:1")
    assert "Lithium iron phosphate battery, 200 Ah" in words
    assert "1,640.00" in words
    assert "3,280.00" not in words


def test_the_lightest_package_is_found_where_masses_have_many_decimals() -> None:
    """By listing every package; the figures are more than a float can hold."""
    sizes = [
        option(size, space={"canopy": {"length": 1783, "width": 1667, "height": 853}}, mass=mass)
        for size, mass in (("s0", Decimal("40.123457")), ("s1", Decimal("40.123459")))
    ]
    rates = ("m0", Decimal("9.123457")), ("m1", Decimal("9.123459"))
    by_volume = [
        option(sheet, 5, mass=[{"kind": "measure", "of": "canopy.volume", "rate": rate}])
        for sheet, rate in rates
    ]
    shop = Shop(
        read(
            raw_catalogue(
                [choice("size", sizes), choice("sheet", by_volume)],
                spaces=[{"id": "canopy", "title": "Canopy"}],
            ),
            cautions=True,
        )
    )
    masses = [
        found.mass
        for size in ("s0", "s1")
        for sheet in ("m0", "m1")
        if isinstance(
            found := shop.build(selection({"size": size, "sheet": sheet})).complete(), Completion
        )
        and found.mass is not None
    ]
    lightest = shop.build(selection({})).complete("mass")
    assert isinstance(lightest, Completion)
    assert lightest.mass == min(masses)


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> str:
    file = tmp_path_factory.mktemp("crowded") / "crowded.yaml"
    file.write_text(CROWDED)
    return str(file)


def test_a_long_refusal_has_a_premise_on_each_line_and_advises_nothing_that_was_tried(
    crowded: str,
) -> None:
    code, words = run("complete", crowded)
    assert code == 1
    first, *premises, conclusion, doubt = re.split(r"\n(?=Because|and |so |Some of)", words)
    assert first == "These picks cannot be completed."
    assert len(premises) > 3
    assert conclusion == "so these picks do not go together."
    assert doubt.startswith("Some of these may not be part of the conflict.")
    subjects = [one["subject"] for one in answer("complete", crowded)[1]["conflict"]["facts"]]
    assert "thin-sheet-height" in subjects, "a rule that advises another sheet, which is open"
    advice = ["Leave out a unit, or choose a longer or taller canopy."]
    assert re.findall("hint: (.*)", words) == advice
    _, words = run("complete", "--pick", "canopy-height=1000mm", "--pick", "sheet=2mm")
    assert "    hint: Take 2.5 mm sheet." in words


def test_a_full_canopy_names_its_units_and_advises_what_helps() -> None:
    picks = "vehicle=mid-dual canopy-length=1200mm upright-fridge=upright-110 kitchen=gas-sink"
    given = [f"--pick={pick}" for pick in picks.split()]
    _, words = run("explain", *given, "--pick", "pantry=pantry-640", "chest-fridge=chest-95")
    flat = " ".join(words.split())
    # which of them are named hangs on how far it is settled that fewer are too many
    assert "Chest fridge with two zones, 95 L" in flat
    assert "do not all fit in the canopy together" in flat
    assert flat.endswith("hint: Leave out a unit, or choose a longer canopy.")


def test_what_a_limit_leaves_is_counted_with_the_rules_that_take_part() -> None:
    _, words = run("explain", "--pick", "vehicle=mid-dual", "box-left=left-900")
    assert "at least 130 mm over the limit" in " ".join(words.split())


def test_a_reason_is_given_once_in_a_choice(crowded: str) -> None:
    asked = ("options", crowded, "--choice", "canopy-length")
    _, words = run(*asked)
    reasons = [one["reason"] for one in answer(*asked)[1]["options"] if one["reason"]]
    flat = " ".join(words.split())
    longest = "Behind a mid-size dual cab there is room for a tray of 1650 or 1800 mm"
    assert sum(longest in reason for reason in reasons) > 1
    assert flat.count(longest) == 1
    assert flat.count("for the same reason as 2100 mm canopy") == 2


def test_a_layout_of_open_choices_names_them(crowded: str) -> None:
    code, words = run("layout", crowded)
    flat = " ".join(words.split())
    assert code == 0
    assert "nothing to place" not in flat
    asked = "Tray and canopy width, Canopy, Canopy sheet, Doors and Lining and insulation."
    assert flat == (
        "Not laid out yet: the canopy. Its size and openings depend on choices still open: " + asked
    )


def test_a_package_deal_that_another_option_ends_is_named() -> None:
    _, words = run("options", TOURING, "--choice", "inverter")
    deals = {deal["title"]: deal for deal in answer("price", TOURING)[1]["package-deals"]}
    (title,) = (title for title in deals if title.startswith("12 V package"))
    smaller = answer("price", TOURING, "--pick", "inverter=inverter-600")[1]["package-deals"]
    assert title not in {deal["title"] for deal in smaller}
    saving = deals[title]["saving"]
    told = rf"without the package deal {title}, which saves AUD {saving}"
    assert re.search(rf"600 W inverter \(inverter-600\).*{told}", " ".join(words.split()))
    _, words = run("options", TOURING, "--pick", "inverter=inverter-600", "--choice", "inverter")
    assert f"with the package deal {title}, which saves AUD {saving}" in " ".join(words.split())
    glance = " ".join(run("options", TOURING)[1].split())
    assert re.search(r"inverter-600 -[0-9.]+\*", glance)
    assert "* This also changes a package deal." in glance


def test_options_at_a_glance_are_read_on_a_screen_or_two(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    for file, most in (((), 90), ((CONTRACTOR,), 125), ((TOURING,), 135)):
        _, words = run("options", *file)
        assert words.count("\n") <= most, file
        offered = {one["choice"] for one in answer("options", *file)[1]["options"]}
        assert all(f"({choice})" in words.replace("\n", " ") for choice in offered)
    _, words = run("options", "--pick", "vehicle=mid-dual", "--pick", "drawers=wide-220:2")
    flat = " ".join(words.split())
    assert flat.index("To choose") < flat.index("If wanted") < flat.index("Decided")
    assert "(tray-length) 1650mm 4,290.00; 1800mm 4,490.00 not available: 2100mm, 2400mm," in flat
    assert "3000mm: Behind a mid-size dual cab there is room for a tray of 1650 or 1800 mm" in flat
    assert re.search(r"\(oven\) 2 of 2, from [0-9.]+ ", flat)
    assert re.search(
        r"\(drawers\) 2 × Wide drawer, 620 wide, 220 high \d more, from [0-9.]+ ", flat
    )
    given = "--pick vehicle=mid-dual --pick drawers=wide-220:2"
    assert words.endswith(
        "One choice with titles, states and reasons in full, or all of them:\n"
        f"    configurator options --choice CHOICE {given}\n"
        f"    configurator options --all {given}\n"
    )


def test_a_fix_adds_no_more_pieces_than_it_takes() -> None:
    """A second drawer would come nearer to the price of what is left out."""
    picks = "vehicle=mid-dual canopy-style=part-tray canopy-length=1200mm canopy-height=850mm "
    units = "upright-fridge=upright-85 kitchen=bench-slim table=stow-small pantry=pantry-640"
    asked = [word for pick in (picks + units).split() for word in ("--pick", pick)]
    _, told = run("fixes", *asked, "drawers=wide-220")
    assert told.count("Drawers: add Wide drawer, 620 wide, 220 high\n") == 3


def test_a_fix_leaves_empty_what_the_customer_wants_none_of() -> None:
    """A charger needs a battery: it is left out, though to add a battery is less to change."""
    code, told = run("fixes", CONTRACTOR, "--none", "battery")
    assert code == 0
    assert told.count("Charger from the vehicle: leave out ") == 2
    assert "Auxiliary battery" not in told
