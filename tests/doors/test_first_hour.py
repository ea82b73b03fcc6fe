"""A shop's first hour: a catalogue of its own, from nothing to a quote, and what may go wrong.

That the sessions of README's second page print what they say is asked with all others of README.
"""

from __future__ import annotations

import datetime as dt
import os
import pty
import re
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from pypdf import PdfReader

from configurator import Completion, ConfiguratorError, Shop, check_catalogue
from configurator.starter import VEHICLES
from tests.support.commands import Run
from tests.support.paths import ROOT

DAY = dt.date(2026, 8, 3)
NAMED = ("--name", "Wattle Trays", "--address", "1 Example Lane, Wattle Creek")
HERE = ("--catalogue", "wattle")
FIRST = "wattle/selections/first.yaml"


def started(**answers: Any) -> Shop:
    return Shop.new("wattle", "Wattle Trays", ["1 Example Lane"], first=DAY, **answers)


def test_the_first_hour_ends_with_a_quote_of_one_s_own(run: Run, tmp_path: Path) -> None:
    ran = run("catalogue", "new", "wattle", *NAMED)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == (
        "wattle: a catalogue of 10 files, ready to quote from\n"
        f"begin with: configurator check {FIRST} --catalogue wattle\n"
    )
    ran = run("catalogue", "check", "wattle", "--deep")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("wattle/catalogue.yaml: no problems found: 3 vehicles, ")
    ran = run("check", FIRST, *HERE)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("Nothing stops a quote.\n")
    for command in ("layout", "mass", "power", "price"):
        ran = run(command, FIRST, *HERE)
        assert (ran.code, ran.err) == (0, ""), command
    ran = run("quote", FIRST, *HERE, "-o", "first.pdf", "--number", "Q-1")
    assert ran.code == 0
    pages = [page.extract_text() for page in PdfReader("first.pdf").pages]
    page = pages[0]
    assert len(pages) == 2, "the package beside its picture, and all else with the signature"
    assert "Counted for the shop's area" in " ".join(pages[1].split())
    assert "Wattle Trays" in page
    assert "Wattle Creek" in page
    assert run("sheets", FIRST, *HERE, "-o", "sheets", "--as", "html", "--number", "J-1").code == 0
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_name_that_is_empty_is_told_by_its_option(run: Run) -> None:
    ran = run("catalogue", "new", "wattle", "--name", " ", "--address", "1 Example Lane")
    assert (ran.code, "'--name': it is empty: fill it in" in ran.err) == (2, True)


def test_every_file_says_what_to_change_and_can_be_read_by_anyone_who_may_read(
    run: Run,
) -> None:
    assert run("catalogue", "new", "wattle", *NAMED).code == 0
    files = sorted(Path("wattle").rglob("*.yaml"))
    assert len(files) == 11
    mask = os.umask(0)
    os.umask(mask)
    for file in files:
        assert file.read_text("utf-8").startswith("# "), file
        assert not re.search("<<|>>|%%", file.read_text("utf-8")), file
        assert file.stat().st_mode & 0o777 == 0o666 & ~mask
    assert Path("wattle").stat().st_mode & 0o777 == 0o777 & ~mask


def test_a_mistake_in_it_is_reported_as_readme_says(run: Run) -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    (told,) = re.findall(r"^wattle/catalogue/vehicles\.yaml:.*\n.*\n", readme, re.MULTILINE)
    assert run("catalogue", "new", "wattle", *NAMED, "--vehicles", "single-cab,dual-cab").code == 0
    file = Path("wattle/catalogue/vehicles.yaml")
    text = file.read_text("utf-8")
    wrong = "needs: {tray-length: [2100mm, 2400mn]}"
    file.write_text(text.replace(wrong.replace("mn", "mm"), wrong), "utf-8")
    ran = run("catalogue", "check", "wattle")
    assert (ran.code, ran.out) == (1, told)


@pytest.mark.parametrize(
    "answers",
    [
        {"vehicles": ["dual-cab"]},
        {"vehicles": ["extra-cab", "single-cab"], "kerb_side": "right", "currency": "NZD"},
        {"prices": "exclude", "tax_name": "VAT", "tax_rate": Decimal("8.1"), "currency": "JPY"},
        {"labour": Decimal("0"), "tax_rate": 0},
        {"labour": 999_999, "email": 'a"b\\@example.com', "phone": "(08) 5550 0100: ask"},
    ],
    ids="-".join,
)
def test_whatever_is_answered_it_checks_clean_and_its_selection_is_sound(
    answers: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shop = started(**answers)
    _, problems = check_catalogue("wattle", deep=True)
    assert [str(problem) for problem in problems] == []
    assert not shop.build(FIRST).check().findings
    written = shop.catalogue
    assert written.currency == answers.get("currency", "AUD")
    assert written.tax.rates == (("standard", Decimal(answers.get("tax_rate", 10))),)
    assert written.shop.kerb_side == answers.get("kerb_side", "left")
    assert written.shop.email == answers.get("email", "")
    assert written.shop.phone == answers.get("phone", "")
    classes = {option.id for option in written.choices[0].options}
    assert classes == {*answers.get("vehicles", VEHICLES)}
    assert (written.valid.first, written.valid.until) == ("2026-08-03", "2027-08-02")


def test_each_class_of_vehicle_can_have_its_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shop = started()
    first = shop.build(FIRST)
    for vehicle in VEHICLES:
        build = shop.build().pick("vehicle", vehicle)
        for pick in first.selection.picks:
            if pick.choice not in ("vehicle", "tray-length"):
                build = build.pick(*pick.key, pick.quantity)
        done = build.complete()
        assert isinstance(done, Completion)
        assert not shop.build(done.selection).check().stops


@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (("--name", " "), 2, "Invalid value for '--name': it is empty: fill it in"),
        (("--address", ","), 1, "the answers: error: address in shop has nothing in it (empty)"),
        (("--tax-rate", "101"), 1, "the answers: error: standard in rates is 101; it must be at"),
        (("--name", "a\u202eb"), 1, "the answers: error: this text holds the invisible character"),
        (("--currency", "AUX"), 2, '"AUX" is no ISO 4217 currency code in use'),
        (("--vehicles", "single-cab,truck"), 2, "there is no vehicle class 'truck'; known: single"),
        (("--vehicles", " , "), 2, "name a vehicle class; known: single-cab, extra-cab, dual-cab"),
        (("--labour", "-1"), 2, "'-1' is no number of zero or more; write it as in 126.50"),
        (("--prices", "both"), 2, "'both' is not one of 'include', 'exclude'"),
    ],
)
def test_an_answer_that_cannot_be_used_is_said_and_nothing_is_written(
    options: tuple[str, ...], code: int, told: str, run: Run, tmp_path: Path
) -> None:
    before = sorted(tmp_path.rglob("*"))
    ran = run("catalogue", "new", "wattle", *NAMED, *options)
    assert (ran.code, ran.out) == (code, "")
    assert told in ran.err
    assert sorted(tmp_path.rglob("*")) == before


def test_without_a_terminal_what_is_needed_and_not_given_is_named(run: Run) -> None:
    ran = run("catalogue", "new", "wattle", *NAMED[:2])
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.endswith("Error: Missing option '--address'.\n")
    assert not Path("wattle").exists()


def test_a_folder_with_anything_in_it_is_left_as_it_is(run: Run) -> None:
    Path("wattle").mkdir()
    assert run("catalogue", "new", "wattle", *NAMED).code == 0, "an empty one is filled"
    Path("one-file").write_text("mine")
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    for name in ("wattle", "one-file"):
        ran = run("catalogue", "new", name, *NAMED)
        assert (ran.code, ran.out) == (3, "")
        assert ran.err == f"{name}: something is there already; name a new folder\n"
    ran = run("catalogue", "new", "one-file/below", *NAMED)
    assert (ran.code, ran.out) == (3, "")
    assert ran.err == "one-file: cannot make the folder: File exists; name another folder\n"
    assert {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()} == before


def test_the_library_refuses_what_the_command_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for answers, told in (
        ({"currency": "AUX"}, "no ISO 4217"),
        ({"vehicles": []}, "name a vehicle class"),
        ({"tax_rate": Decimal("NaN")}, "tax_rate is NaN; give a number"),
        ({"kerb_side": "top"}, "kerb-side"),
    ):
        with pytest.raises(ConfiguratorError, match=told):
            started(**answers)
    with pytest.raises(TypeError, match=r"labour is the float 1\.5; give a Decimal"):
        started(labour=1.5)
    assert not [*tmp_path.iterdir()]


def test_in_a_terminal_it_asks_for_what_no_option_says(tmp_path: Path) -> None:
    answers = (
        'Wattle "Creek" Trays', "1 Example Lane, Wattle Creek", "", "AUX", "NZD", "abc", "15",
        "exclude", "130.50", "", "truck", "dual-cab",
    )  # fmt: skip
    command = Path(sys.executable).with_name("configurator")
    process, terminal = pty.fork()
    if process == 0:
        os.chdir(tmp_path)
        os.execv(command, [str(command), "catalogue", "new", "wattle", "--tax-name", "GST"])
    os.write(terminal, "".join(f"{answer}\n" for answer in answers).encode())
    shown = b""
    while True:
        try:
            read = os.read(terminal, 10_000)
        except OSError:
            break
        if not read:
            break
        shown += read
    os.close(terminal)
    assert os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) == 0, shown.decode()
    text = shown.decode()
    assert "Name of the shop: " in text
    assert "Name of the tax" not in text
    assert 'Error: "AUX" is no ISO 4217 currency code in use' in text
    assert "Error: 'abc' is no number of zero or more; write it as in 126.50" in text
    assert "Error: there is no vehicle class 'truck'" in text
    head = yaml.safe_load((tmp_path / "wattle" / "catalogue.yaml").read_text("utf-8"))
    prices = yaml.safe_load((tmp_path / "wattle/catalogue/prices.yaml").read_text("utf-8"))
    assert head["id"] == "wattle-creek-trays"
    assert head["shop"]["name"] == 'Wattle "Creek" Trays'
    assert head["shop"]["address"] == ["1 Example Lane", "Wattle Creek"]
    assert head["currency"] == "NZD"
    assert (prices["tax"]["rates"], prices["tax"]["prices"]) == ({"standard": 15}, "exclude")
    assert prices["labour"] == {"electrical": 130.5}
