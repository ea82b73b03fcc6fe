"""Where a question was not settled, the answer names the command that asks next."""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from attrs import evolve

from configurator import Build, ExplainAnswer, Pick, SearchLimit
from configurator.answers import facts
from configurator.cli.waiting import waiting
from configurator.engine import conflicts
from configurator.engine.effort import nearly_full
from configurator.engine.within import RefusedWish
from configurator.words import text
from tests.support.answers import valid
from tests.support.commands import Run
from tests.support.programs import opened

FULL = """\
format: 1
catalogue: quandong
picks:
  vehicle: mid-dual
  upright-fridge: upright-85
  drawers: {deep-150: 2}
"""


@pytest.fixture(autouse=True)
def file(run: Run) -> str:  # noqa: ARG001  # it makes the folder
    Path("a wish.yaml").write_text(FULL, "utf-8")
    return "'a wish.yaml'"


def given_up(*_: Any, **__: Any) -> Any:
    raise SearchLimit(nearly_full(opened().catalogue, "canopy"))


@pytest.mark.parametrize(
    ("name", "asked", "left", "again"),
    [
        (
            "explain",
            "oven=oven-small --none table",
            "Upright fridge, 85 L",
            "oven=oven-small --none table --drop upright-fridge",
        ),
        (
            "complete",
            "--drop upright-fridge --prefer mass -o b.yaml",
            "Drawer, 500 wide, 150 high",
            "--drop upright-fridge --prefer mass -o b.yaml --drop drawers=deep-150",
        ),
        (
            "complete",
            "--pick kitchen=gas-sink --pick pantry=pantry-540 --drop upright-fridge",
            "Slide-out kitchen, two gas burners and sink",
            "--pick pantry=pantry-540 --drop upright-fridge",
        ),
        (
            "explain",
            "upright-fridge=upright-130",
            "Drawer, 500 wide, 150 high",
            "upright-fridge=upright-130 --drop drawers=deep-150",
        ),
    ],
)
def test_no_answer_names_the_same_command_with_less_asked_of_it(
    run: Run,
    monkeypatch: pytest.MonkeyPatch,
    file: str,
    name: str,
    asked: str,
    left: str,
    again: str,
) -> None:
    monkeypatch.setattr(Build, name, given_up)
    ran = run(name, "a wish.yaml", *asked.split())
    assert (ran.code, ran.out) == (1, "")
    advice = f"choose a larger canopy, or leave out {left}:\n    configurator {name} {file} {again}"
    assert ran.err == f"no answer: the canopy is nearly full\n    hint: {advice}\n"
    if "-o" not in asked:
        said = valid(run(name, "a wish.yaml", *asked.split(), "--json"))
        assert said["detail"] == "the canopy is nearly full"
        assert said["advice"].replace(" --json", "") == advice


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        (SearchLimit, "hint: leave out a pick, or look longer with: configurator explain"),
        (conflicts.Unexplained, "hint: to find out why: configurator explain"),
    ],
)
def test_a_check_that_leaves_it_open_whether_the_picks_go_together_names_what_tells_more(
    run: Run, monkeypatch: pytest.MonkeyPatch, limit: type[SearchLimit], told: str
) -> None:
    def find_conflict(*_: Any, **__: Any) -> Any:
        raise limit(nearly_full(opened().catalogue, "canopy"))

    monkeypatch.setattr(facts, "find_conflict", find_conflict, raising=False)
    monkeypatch.setattr(conflicts, "find_conflict", find_conflict)
    ran = run("check", "a wish.yaml", "--none", "oven")
    assert f"{told} 'a wish.yaml' --none oven " in " ".join(ran.out.split())
    best = "For the best ways to fix this:\n    configurator fixes 'a wish.yaml' --none oven\n"
    assert ran.out.endswith(best) == (limit is conflicts.Unexplained)


def test_what_cannot_be_completed_for_reasons_not_told_names_explain(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    unexplained = ExplainAnswer(None, None, False, None, None)
    monkeypatch.setattr(Build, "complete", lambda *_: unexplained)
    assert run("complete", "a wish.yaml", "--place", "drawers=left").out == (
        "These picks cannot be completed. Why takes longer to find:\n"
        "    configurator explain 'a wish.yaml' --place drawers=left\n"
    )
    monkeypatch.setattr(Build, "explain", lambda *_: unexplained)
    assert run("explain", "a wish.yaml").out == (
        "These picks cannot be completed; the reason was not settled.\n"
        "For the best ways to fix this:\n"
        "    configurator fixes 'a wish.yaml'\n"
    )


@pytest.mark.parametrize(
    ("state", "why"),
    [
        (
            "too-dear",
            "no package within the budget has it; whether one has it at a higher price was not "
            "settled",
        ),
        ("undecided", "whether the budget allows it was not settled"),
    ],
)
def test_a_wish_that_is_not_settled_says_how_to_ask_for_it(
    run: Run, monkeypatch: pytest.MonkeyPatch, state: str, why: str
) -> None:
    wished = ("within", "a wish.yaml", "--budget", "90000", "--wish", "oven=oven-small")
    answered = Build.within

    def within(self: Build, *asked: Any) -> Any:
        found = answered(self, *asked)
        left = RefusedWish(Pick("oven", "oven-small"), state)
        return evolve(found, granted=(), left_out=(left,))

    monkeypatch.setattr(Build, "within", within)
    flat = " ".join(run(*wished).out.split())
    asks = "configurator explain 'a wish.yaml' oven=oven-small"
    assert f"Left out: Travel oven, 12 V, 10 A: {why} hint: to ask whether" in flat
    assert f"at any price: {asks} " in flat


def test_an_available_option_says_what_of_it_is_not_settled_and_not_why_others_are_not(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered = Build.options
    later = text("not settled yet: {cause}; ask for this one alone", cause="it is full")

    def options(self: Build, *choices: str) -> Any:
        found = answered(self, *choices)
        first, second, *others = found.options
        left = (evolve(first, state="undecided", reason=later), evolve(second, reason=later))
        assert second.state == "open"
        return evolve(found, options=(*left, *others))

    monkeypatch.setattr(Build, "options", options)
    out = " ".join(run("options", "--choice", "chest-fridge").out.split())
    assert out.count("for the same reason as") == 0
    assert out.count("not settled yet: it is full; ask for this one alone") == 1
    assert out.count("perhaps part of every package: not settled yet") == 1


def test_what_only_lacks_picks_names_complete_and_what_does_not_fit_names_fixes(run: Run) -> None:
    rest = "To choose the rest in the cheapest way:\n    configurator complete 'a wish.yaml'{}\n"
    best = "For the best ways to fix this:\n    configurator fixes 'a wish.yaml'{}\n"
    for command in ("quote", "sheets"):
        ran = run(command, "a wish.yaml", "--none", "oven")
        assert (ran.code, ran.out) == (1, "")
        assert ran.err.endswith(rest.format(" --none oven"))
        assert max(map(len, ran.err.splitlines())) <= 100
    pick = ("--pick", "canopy-height=850mm", "--pick", "upright-fridge=upright-130")
    assert run("quote", "a wish.yaml", *pick).err.endswith(best.format(" " + " ".join(pick)))
    assert run("complete", "a wish.yaml", *pick).out.endswith(best.format(" " + " ".join(pick)))
    fine = "These picks go together: nothing needs fixing.\n"
    assert run("fixes", "a wish.yaml").out == fine + rest.format("")
    more = rest.format(" --pick oven=oven-small")
    assert run("fixes", "a wish.yaml", "oven=oven-small").out == fine + more
    assert run("fixes", "touring.yaml").out == fine


def test_where_nothing_fixes_it_the_command_that_says_why_is_named(run: Run) -> None:
    keep = [f"--keep={name}" for name in ("upright-fridge", "canopy-height")]
    pick = ("--pick", "canopy-height=850mm")
    ran = run("fixes", "a wish.yaml", "upright-fridge=upright-130", *pick, *keep)
    asks = "configurator explain 'a wish.yaml' upright-fridge=upright-130"
    assert ran.code == 1
    assert ran.out.endswith(f"To find out why:\n    {asks} {' '.join(pick)}\n")


def test_a_short_reason_is_the_one_that_names_a_pick(run: Run) -> None:
    out = " ".join(run("options", "--pick", "vehicle=mid-dual").out.split())
    room = "Behind a mid-size dual cab there is room for a tray of 1650 or 1800 mm"
    assert f"not available: 2100mm, 2400mm, 2550mm: {room}" in out
    assert "here 1650 mm" not in out


class _Terminal(StringIO):
    """A standard error that is a terminal, and tells when something was written."""

    def __init__(self) -> None:
        super().__init__()
        self.told = Event()

    def isatty(self) -> bool:
        return True

    def write(self, text: str) -> int:
        count = super().write(text)
        if "Still" in self.getvalue():
            self.told.set()
        return count


def test_who_waits_at_a_terminal_is_told_that_it_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("configurator.cli.waiting._SOON", 0.01)
    terminal, pipe = _Terminal(), StringIO()
    monkeypatch.setattr(sys, "stderr", terminal)
    with waiting():
        assert terminal.told.wait(60)
    assert "Still working on it. Ctrl+C stops it.\n" in terminal.getvalue()
    monkeypatch.setattr("configurator.cli.waiting._SOON", 3600)
    terminal.seek(0)
    terminal.truncate()
    with waiting():
        pass
    monkeypatch.setattr(sys, "stderr", pipe)
    with waiting():
        pass
    assert "Still working" not in terminal.getvalue() + pipe.getvalue()


def test_advice_leaves_out_nothing_that_is_kept(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Build, "fixes_one_by_one", given_up)
    ran = run("fixes", "a wish.yaml", "--keep", "upright-fridge", "--keep", "kitchen")
    hint = ran.err.partition("hint: ")[2]
    assert "--drop" in hint
    assert "--drop upright-fridge" not in hint
    assert "--drop kitchen" not in hint
