"""Every figure of power is the same wherever it is read: terminal, JSON, quote, sheets, comparison.

Papers are read back by an independent reader (PDFium); the terminal's table as it is printed.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from configurator.words import left, used
from tests.support.answers import valid
from tests.support.commands import Run
from tests.support.pdfs import Pages, squeezed

NAMES = ("touring", "contractor")
DATE = ("--date", "2026-08-03")
ISSUED = ("--number", "Q-1", *DATE)

FACTS = {
    "daily": ("Drawn a day", "Ah"),
    "usable": ("Usable in the battery", "Ah"),
    "days-alone": ("Days without charging", ""),
    "days-sun": ("Days with the sun only", ""),
    "days-driving": ("Days with driving only", ""),
    "solar-daily": ("From the sun a day", "Ah"),
    "vehicle-daily": ("From driving a day", "Ah"),
    "recharge-driving": ("Driving time to recharge from empty", "h"),
    "recharge-mains": ("Mains time to recharge from empty", "h"),
}
"""What the quote calls each figure, and its unit."""

STAY = {
    "days-alone": "Days without charging",
    "days-driving": "Days with driving only",
    "recharge-driving": "Driving time to recharge from empty",
    "recharge-mains": "Mains time to recharge from empty",
    "worst-hours": "Lasts with all loads on at once",
    "solar-daily": "From the sun a day",
    "vehicle-daily": "From driving a day",
    "discharge": "Continuous discharge",
    "isolator": "Main isolator, continuous, at least",
    "short-circuit": "Batteries into a short circuit",
    "panel-volts": "Panels need, rated at maximum power",
}
"""What the terminal calls each."""


def as_told(key: str, figure: str | None) -> str:
    """A figure as people read it: days have an end at a month, and no end has words."""
    if figure is None:
        return "no limit"
    return "over 30" if key.startswith("days") and Decimal(figure) > 30 else figure


def pdf_text(file: str) -> str:
    return Pages(Path(file)).text


def answers(run: Run, name: str) -> tuple[dict[str, Any], dict[str, Any], list[str]]:
    """The power picture as JSON by itself and on the quote, and the lines of the terminal."""
    power = valid(run("power", f"{name}.yaml", "--json"))
    quoted = valid(
        run("quote", f"{name}.yaml", "--number", "Q-1", "--date", "2026-08-03", "--json")
    )
    lines = [" ".join(line.split()) for line in run("power", f"{name}.yaml").out.splitlines()]
    return power, quoted["power"], lines


@pytest.mark.parametrize("name", NAMES)
def test_the_quotes_answer_has_the_figures_of_the_power_answer(name: str, run: Run) -> None:
    power, quoted, _ = answers(run, name)
    different = {key for key in power if key != "findings" and power[key] != quoted[key]}
    assert not different


@pytest.mark.parametrize("name", NAMES)
def test_the_terminal_prints_the_figures_of_the_answer(name: str, run: Run) -> None:
    power, _, lines = answers(run, name)
    found = 0
    for key, title in STAY.items():
        for line in lines:
            if line.startswith(f"{title} "):
                told = re.escape(as_told(key, power[key]))
                assert re.match(rf"{re.escape(title)} {told}( |$)", line), key
                found += 1
    assert found >= 7
    assert f"Total {power['worst']} {power['daily']}" in lines
    for consumer in power["consumers"]:
        many = f"{consumer['count']} x " if consumer["count"] > 1 else ""
        volts = f", {consumer['watts']} W on 230 V" if consumer["watts"] else ""
        row = f"{many}{consumer['title']}{volts} {consumer['amps']} {consumer['daily']}"
        assert row in lines
    for row in power["circuits"]:
        size = row["cable"] if row["in-parallel"] == 1 else f"{row['in-parallel']} × {row['cable']}"
        sized = f" {row['amps']} {row['run']} {row['fuse']} {size} mm²"
        drop = f"{row['drop']} of {row['limit']} {row['total-drop'] or ''}".strip()
        for figures in (sized, f" {row['carries']} {row['loaded']} {drop}"):
            assert any(line.endswith(figures) for line in lines), row


@pytest.mark.parametrize("name", NAMES)
def test_the_quote_prints_the_figures_of_the_answer(name: str, run: Run) -> None:
    power, _, _ = answers(run, name)
    ran = run("quote", f"{name}.yaml", *ISSUED, "-o", "q.pdf")
    assert ran.code == 0
    text = pdf_text("q.pdf")
    found = 0
    for key, (title, unit) in FACTS.items():
        if squeezed(title) in text and power[key] != "0":
            found += 1
            told = squeezed(as_told(key, power[key]))
            assert f"{squeezed(title)}{told}{unit}" in text.replace(":", ""), key
    assert found >= 3, "beside the battery, which has a row of its own"


@pytest.mark.parametrize("name", NAMES)
def test_the_wiring_sheet_prints_the_figures_of_the_answer(name: str, run: Run) -> None:
    power, _, _ = answers(run, name)
    assert run("sheets", f"{name}.yaml", "-o", "s", *DATE).code == 0
    assert run("sheets", f"{name}.yaml", "-o", "j", *DATE, "--as", "json").code == 0
    text = pdf_text("s/wiring.pdf")
    sheet = json.loads(Path("j/wiring.json").read_text("utf-8"))
    same = ("amps", "run", "carries", "drop", "total-drop", "fuse", "cable", "own-fuse", "loaded")
    by_key = {(c["pick"], c["part"]): c for c in power["circuits"]}
    assert len(by_key) == len(sheet["circuits"])
    for circuit in sheet["circuits"]:
        there = by_key[circuit["pick"], circuit["part"]]
        assert {key: circuit[key] for key in same} == {key: there[key] for key in same}
    assert (sheet["isolator"], sheet["short-circuit"]) == (
        power["isolator"],
        power["short-circuit"],
    )
    assert (sheet["worst"], sheet["full"]) == (power["worst-low"], power["full-amps"])
    assert f"Mainisolator:{power['isolator']}Acontinuousormore" in text
    if power["inverter"] is not None:
        both = ("nominal-amps", "low-amps")
        assert [sheet["inverter"][k] for k in both] == [power["inverter"][k] for k in both]
        assert "".join(power["inverter"][k] for k in both) in text


@pytest.mark.parametrize("name", NAMES)
def test_findings_and_comparison_say_the_same_days(name: str, run: Run) -> None:
    power, _, _ = answers(run, name)
    compared = valid(run("compare", f"{name}.yaml", "wish.yaml", "--json"))
    days = [str(row["values"][0]) for row in compared["figures"] if row["unit"] == "days"]
    assert days == [power["days-alone"]]


def test_a_figure_that_two_roundings_would_tell_differently_is_told_once() -> None:
    # 44.35 Ah a day: half up 44.4, half even 44.4, down 44.3; what is drawn is rounded up
    assert [str(used(Decimal(n))) for n in ("44.35", "44.31", "44.3")] == ["44.4", "44.4", "44.3"]
    assert [str(left(Decimal(n))) for n in ("44.35", "44.39")] == ["44.3", "44.3"]
