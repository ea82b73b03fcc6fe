"""No table cuts a figure: at any width, and piped, each amount stands there whole."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.building import choice, option, raw_catalogue, rule, several, written
from tests.support.commands import Run

WIDTHS = (40, 60, 80, 100)
AMOUNT = re.compile(r"[+-]?[0-9][0-9,]*\.[0-9]+(?![0-9])")
COMMANDS = {
    "check": ("check", "wish.yaml"),
    "price": ("price", "touring.yaml"),
    "price --trace": ("price", "touring.yaml", "--trace"),
    "price --shop": ("price", "touring.yaml", "--shop"),
    "compare two": ("compare", "touring.yaml", "contractor.yaml"),
    "compare three": ("compare", "touring.yaml", "contractor.yaml", "wish.yaml"),
    "compare six": (
        *("compare", "touring.yaml", "contractor.yaml", "wish.yaml"),
        *("--change", "inverter=", "--change", "finish=two-pack", "--change", "solar="),
    ),
    "options": ("options", "touring.yaml", "--choice", "upright-fridge"),
    "options in full": ("options", "touring.yaml", "--choice", "tray-style", "--all"),
    "explain": ("explain", "touring.yaml", "canopy-height=850mm"),
    "complete": ("complete", "--pick", "vehicle=mid-dual"),
    "layout": ("layout", "touring.yaml"),
    "mass": ("mass", "touring.yaml", "--items"),
    "power": ("power", "touring.yaml"),
    "budget": ("budget", "contractor.yaml", "--limit", "30000"),
    "catalogue list": ("catalogue", "list"),
    "catalogue list choices": ("catalogue", "list", "drawers", "canopy-length", "inverter"),
    "quote": ("quote", "touring.yaml", "-o", "q.html"),
    "sheets": ("sheets", "touring.yaml", "--cost"),
}
HUGE = {
    "price": ("price", "huge.yaml"),
    "price --trace": ("price", "huge.yaml", "--trace"),
    "price --shop": ("price", "huge.yaml", "--shop"),
    "compare": ("compare", "huge.yaml", "--change", "box=", "--change", "box=left:2"),
    "compare four": (
        *("compare", "huge.yaml", "--change", "box=", "--change", "box=left:2"),
        *("--change", "box=left:3"),
    ),
    "budget": ("budget", "huge.yaml", "--limit", "99999999.00"),
    "complete": ("complete", "huge.yaml", "--pick", "box=left:4"),
    "fixes": ("fixes", "huge.yaml", "--pick", "lid=off"),
    "within": ("within", "--budget", "99999999", "--wish", "box=left", "--wish", "lid=on"),
    "catalogue list": ("catalogue", "list", "box"),
}


def figures(text: str) -> Counter[str]:
    return Counter(AMOUNT.findall(text))


def at_every_width(
    arguments: tuple[str, ...], run: Run, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[int, str]]:
    """What is shown at each width; at last where no width is known, as in a pipe."""
    for width in WIDTHS:
        monkeypatch.setenv("COLUMNS", str(width))
        yield width, run(*arguments).out
    monkeypatch.delenv("COLUMNS")
    yield 100, run(*arguments).out


def whole(arguments: tuple[str, ...], run: Run, monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """The figures of a command, the same at every width."""
    monkeypatch.setenv("COLUMNS", "400")
    there = figures(run(*arguments).out)
    for width, shown in at_every_width(arguments, run, monkeypatch):
        assert figures(shown) == there, width
        assert "…" not in shown
        if arguments[0] != "quote":
            assert max(map(len, shown.splitlines())) <= width
    return there


@pytest.mark.parametrize("name", COMMANDS)
def test_figures_are_whole_at_every_width(
    name: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = whole(COMMANDS[name], run, monkeypatch)
    without = ("options", "explain", "layout", "catalogue list", "sheets")
    assert bool(there) or name in without


@pytest.mark.parametrize("more", [(), ("--all",)], ids=["short", "in full"])
def test_prices_of_options_end_one_below_the_other(
    more: tuple[str, ...], run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ("options", "touring.yaml", "--choice", "tray-style", "--choice", "finish", *more)
    for width, shown in at_every_width(asked, run, monkeypatch):
        lines = [line for line in map(str.rstrip, shown.splitlines()) if AMOUNT.search(line)]
        lengths = {len(amount) for line in lines for amount in AMOUNT.findall(line[-9:])}
        assert len(lengths) > 1, "amounts of several lengths are met"
        assert len(set(map(len, lines))) == 1 or width == 40, width


@pytest.mark.parametrize("name", HUGE)
def test_amounts_of_nine_digits_are_whole_at_every_width(
    name: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = option("left", 99_999_999, cost=90_000_000, most=9, title="The left box of all boxes")
    lid = choice("lid", [option("on", 99_999_999), option("off")])
    lidded = rule("lidded", when={"box": "left"}, needs={"lid": "on"})
    raw = raw_catalogue([several("box", [left]), lid], rules=[lidded])
    (tmp_path / "huge.json").write_text(written(raw))
    (tmp_path / "huge.yaml").write_text(
        "format: 1\ncatalogue: test\npicks: {vehicle: ute, box: {left: 9}, lid: on}\n"
    )
    monkeypatch.setenv("CONFIGURATOR_CATALOGUE", "huge.json")
    there = whole(HUGE[name], run, monkeypatch)
    assert any(len(amount) >= len("99,999,999.00") for amount in there)
