"""Whatever a solver library raises ends as an answer that was not found, and is said so."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle
from pathlib import Path
from typing import Any, NoReturn

import pytest
from ortools.sat.python import cp_model

from configurator import Catalogue, SearchLimit, Selection, open_shop
from configurator.catalogue.reading import shipped
from configurator.engine.completion import complete
from configurator.engine.search import Search
from configurator.fit.search import handed_over, searched
from configurator.machine.solvers import solve, unsettled
from configurator.words import text
from tests.support.answers import valid
from tests.support.building import catalogue, choice, option
from tests.support.commands import Ran, Run
from tests.support.crowded import HARD
from tests.support.paths import CASES, PACKAGE

CROWDED = """
vehicle=large-dual tray-style=heavy tray-width=1780mm tray-length=1800mm canopy-style=part-tray
canopy-length=1400mm canopy-height=1000mm sheet=tread-2-5mm door-layout=long-both-barn
lining=carpet kitchen=gas-sink-long drawers=wide-220:3 drawers=wide-300:3 shelves=crate-rack
shelves=chair-slot shelves=oven-shelf
"""
"""Another such room, and less to look through for what would mend it."""


def failing(*_: Any, **__: Any) -> NoReturn:
    raise IndexError("raw_hash_map::at")


def shop() -> Catalogue:
    return catalogue([choice("tray", [option("steel", 4000), option("alloy", 6000)])])


def test_a_room_on_which_the_packing_model_failed_gets_its_findings(run: Run) -> None:
    found = run("check", *(f"--pick={pick}" for pick in CROWDED.split()))
    assert (found.code, found.err) == (1, "")
    assert "do not all fit in the canopy together" in " ".join(found.out.split())
    assert "not settled" not in found.out


def test_what_the_optimiser_raises_is_told_as_not_settled(
    monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    monkeypatch.setattr(cp_model.CpSolver, "solve", failing)
    with pytest.raises(SearchLimit, match=r"not settled: the solver failed \(IndexError\)"):
        complete(Search(shop()), Selection("shop"))
    found = run("complete", "--pick", "vehicle=mid-single")
    assert (found.code, found.out) == (1, "")
    assert found.err.startswith("no answer: which package is best was not settled")
    as_json = run("complete", "--pick", "vehicle=mid-single", "--json")
    assert (as_json.code, as_json.err) == (1, "")
    answer = valid(as_json)
    told, hint, *_ = found.err.splitlines()
    assert (answer["answer"], f"no answer: {answer['detail']}") == ("not-settled", told)
    assert hint.startswith("    hint: leave out ")


def test_what_the_packing_model_raises_is_told_by_a_check(
    monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    monkeypatch.setattr(cp_model.CpSolver, "solve", failing)
    # our own search would soon know the answer
    monkeypatch.setattr("configurator.fit.search.searched", lambda room, _: searched(room, 60))
    handed_over.cache_clear()
    found = run("check", *(f"--pick={pick}" for pick in HARD.split()))
    assert (found.code, found.err) == (0, "")
    assert "was not settled: the solver failed (IndexError)" in " ".join(found.out.split())
    answer = json.loads(run("check", *(f"--pick={pick}" for pick in HARD.split()), "--json").out)
    assert "arrangement-not-proven" in {one["code"] for one in answer["findings"]}
    handed_over.cache_clear()  # that it failed is remembered


def test_what_the_clause_solver_raises_is_told_as_not_settled(
    monkeypatch: pytest.MonkeyPatch, run: Run, tmp_path: Path
) -> None:
    monkeypatch.setattr("pysat.solvers.Glucose4.solve", failing)
    new = tmp_path / "new.yaml"  # nothing has been asked about it yet
    new.write_text((CASES / "small.yaml").read_text("utf-8") + "# new\n", "utf-8")
    asked = ("options", "--all", "--catalogue", new)
    found = run(*asked)  # the optimiser finds that the picks can be completed
    assert (found.code, found.err) == (0, "")
    assert "not settled yet: what the rules allow was not settled" in " ".join(found.out.split())
    monkeypatch.setattr("ortools.sat.python.cp_model.CpSolver.solve", failing)
    new.write_text(new.read_text("utf-8") + "# newer\n", "utf-8")
    found = run(*asked)
    assert (found.code, found.out) == (1, "")
    assert found.err.startswith("no answer: which package is best was not settled")


GLUCOSE = ("", ".add_clause", ".propagate", ".set_phases", ".solve", ".get_model", ".get_core")
MODEL = ("CpModel", "CpModel.new_bool_var", "CpModel.new_int_var", "CpModel.add_bool_or")
SUMS = ("CpModel.add", "CpModel.minimize", "CpModel.add_multiplication_equality")
SOLVER = ("CpSolver", "CpSolver.solve", "CpSolver.value", "CpSolver.boolean_value")
OR_TOOLS = "ortools.sat.python.cp_model"
ENTRIES = (
    *(f"pysat.solvers.Glucose4{name}" for name in GLUCOSE),
    "pysat.card.CardEnc.atmost",
    *(f"{OR_TOOLS}.{name}" for name in (*MODEL, *SUMS, *SOLVER)),
)
"""Where the libraries are entered."""

SMALL = ("--pick", "vehicle=single-cab", "--pick", "length=1500")
QUESTIONS = (
    ("options", *SMALL, "--all"),
    ("explain", *SMALL, "slide=long"),
    ("fixes", *SMALL, "slide=long"),
    ("complete", *SMALL, "--prefer", "space"),
    ("within", *SMALL, "--budget", "20000", "--wish", "slide=short"),
)
FAILED = "was not settled: the solver failed ("
DOUBTS = (
    FAILED, "the reason was not settled", "Some of these may not be part", "takes longer",
    "Whether a cheaper package has them was not settled",
)  # fmt: skip


def breaking(monkeypatch: pytest.MonkeyPatch, entry: str) -> Callable[[], int]:
    """Make an entry raise one thing after the other; how often it did."""
    kinds = cycle([IndexError, RuntimeError, ValueError])
    raised = []

    def broken(*_: Any, **__: Any) -> NoReturn:
        raised.append(next(kinds)("raised inside"))
        raise raised[-1]

    monkeypatch.setattr(entry, broken)
    return lambda: len(raised)


@pytest.mark.parametrize("entry", ENTRIES)
def test_wherever_a_library_fails_an_answer_is_the_usual_one_or_not_settled(
    monkeypatch: pytest.MonkeyPatch, run: Run, tmp_path: Path, entry: str
) -> None:
    def ask(name: str) -> list[Ran]:
        """Every question about a catalogue of which nothing has been asked yet."""
        found = []
        for question in QUESTIONS:
            new = tmp_path / f"{name}-{question[0]}.yaml"
            new.write_text((CASES / "small.yaml").read_text("utf-8") + f"# {new}\n", "utf-8")
            found.append(run(*question, "--catalogue", str(new)))
        return found

    usual = ask("usual")
    assert [ran.err for ran in usual] == [""] * len(QUESTIONS)
    raised = breaking(monkeypatch, entry)
    for before, after in zip(usual, ask("broken"), strict=True):
        told = " ".join((after.out + after.err).split())
        assert after == before or any(doubt in told for doubt in DOUBTS), told
        assert after.code in (before.code, 1)
        assert "Traceback" not in told
    assert raised()


@pytest.mark.parametrize("name", [*MODEL, *SOLVER])
def test_wherever_the_packing_model_fails_a_layout_is_not_settled(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    raised = breaking(monkeypatch, f"{OR_TOOLS}.{name}")
    # our own search would know the answer at once
    monkeypatch.setattr("configurator.fit.search.searched", lambda *_: text("not asked"))
    handed_over.cache_clear()
    build = open_shop().build(shipped("catalogues") / "selections" / "contractor.yaml")
    assert [one.sentence for one in build.check().findings if FAILED in one.sentence]
    assert build.layout().findings
    assert raised()
    handed_over.cache_clear()  # that it failed is remembered


def test_our_own_mistakes_are_not_taken_for_the_solver_s() -> None:
    with pytest.raises(AssertionError), unsettled("whether this stands"):
        raise AssertionError


def test_giving_up_is_no_answer() -> None:
    model = cp_model.CpModel()
    cells = [[model.new_bool_var("") for _ in range(7)] for _ in range(8)]
    for row in cells:
        model.add_bool_or(row)
    for column in zip(*cells, strict=True):
        model.add(sum(column) <= 1)
    model.minimize(0)
    with pytest.raises(SearchLimit, match="eight in seven was not settled within the work allowed"):
        solve(model, "eight in seven", 0.0)
    assert solve(model, "eight in seven", 600.0) is None


def test_every_solver_is_asked_through_one_door() -> None:
    asking = {
        path.name
        for path in PACKAGE.rglob("*.py")
        if any(word in path.read_text("utf-8") for word in ("CpSolver()", "pysat"))
    }
    assert asking == {"solvers.py"}


def test_a_search_belongs_to_the_thread_that_made_it() -> None:
    search = Search(shop())
    assert complete(search, Selection("shop")) is not None
    with ThreadPoolExecutor(2) as threads:
        asked = [threads.submit(complete, search, Selection("shop")) for _ in range(2)]
        for answer in asked:
            with pytest.raises(RuntimeError, match="make one for each"):
                answer.result()
        own = [threads.submit(lambda: complete(Search(shop()), Selection("shop"))) for _ in "ab"]
        assert own[0].result() == own[1].result() == complete(search, Selection("shop"))


def test_of_the_roomiest_packages_the_cheapest_with_fewest_picks_is_taken(run: Run) -> None:
    arguments = ("--pick", "vehicle=mid-dual", "--pick", "upright-fridge=upright-85")
    found = run("complete", *arguments, "--prefer", "space")
    assert found.code == 0
    for word in ("spring", "latch", "tread plate"):
        assert word not in found.out.lower()
