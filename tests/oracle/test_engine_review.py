"""The deep look at a catalogue: its words, and its findings against listing everything.

A folder under ``cases/deep`` holds ``catalogue.yaml`` and ``expected.txt``; adding a case is adding
a folder.
"""

from __future__ import annotations

import os
import re
from collections import Counter
from pathlib import Path

import pytest

from configurator import Catalogue, Problem
from configurator.catalogue.reading import parse_catalogue
from configurator.engine.review import review
from configurator.engine.search import Search
from configurator.render.language import language
from tests.support import building as b
from tests.support.building import Raw
from tests.support.commands import Run
from tests.support.engine_cases import cases
from tests.support.engine_oracle import Oracle, wants
from tests.support.paths import CASES
from tests.support.random_catalogues import kind_of
from tests.support.rules_oracle import true

DEEP = CASES / "deep"
SEEDS = int(os.environ.get("ENGINE_SEEDS", "100"))


@pytest.mark.parametrize("case", sorted(DEEP.iterdir()), ids=lambda path: str(path.name))
def test_a_deep_look_says_just_this(case: Path) -> None:
    catalogue, problems = parse_catalogue(
        (case / "catalogue.yaml").read_text("utf-8"), "catalogue.yaml"
    )
    assert catalogue is not None
    assert not problems
    found = "\n".join(map(str, review(Search(catalogue)))) + "\n"
    if os.environ.get("UPDATE_GOLDEN") == "1":
        (case / "expected.txt").write_text(found, "utf-8")
    assert found == (case / "expected.txt").read_text("utf-8")


@pytest.mark.parametrize("case", sorted(DEEP.iterdir()), ids=lambda path: str(path.name))
def test_what_a_deep_look_finds_can_be_said_in_german(case: Path) -> None:
    catalogue, _ = parse_catalogue((case / "catalogue.yaml").read_text("utf-8"), "catalogue.yaml")
    assert catalogue is not None
    english = re.compile(r"\b(never|available|applies|matters|rules|the fit|limit|leave|change)\b")
    for problem in review(Search(catalogue)):
        for told in (problem.sentence, problem.hint):
            german = language("de").say(told)
            assert german != told
            assert not english.search(german), german


def test_the_shipped_catalogue_has_nothing_odd_about_it(quandong: Catalogue) -> None:
    assert review(Search(quandong)) == ()


def test_a_deep_look_is_asked_for_by_name(run: Run) -> None:
    file = str(DEEP / "contradiction" / "catalogue.yaml")
    shallow, deep = run("catalogue", "check", file), run("catalogue", "check", "--deep", file)
    assert "no problems found" in shallow.out
    assert deep.out.count("no package is possible at all") == 3
    assert (shallow.code, deep.code) == (0, 0)


@pytest.mark.parametrize("many", [2, 3])
def test_of_rules_that_say_the_same_one_may_stay(many: int) -> None:
    choices = [
        b.choice("box", [b.option("low"), b.option("high")]),
        b.choice("lock", [b.option("key"), b.option("code")]),
    ]
    same = [b.rule(f"r{n}", when={"box": "low"}, needs={"lock": "key"}) for n in range(many)]
    found = review(Search(b.catalogue(choices, rules=same)))
    assert [problem.sentence for problem in found] == [
        f'rules "r0" and "r{n}" say the same' for n in range(1, many)
    ]
    assert {(problem.code, problem.hint) for problem in found} == {
        ("rules-say-the-same", "leave one of these two out")
    }


def test_what_a_deep_look_finds_is_just_what_listing_finds() -> None:
    seen: Counter[str] = Counter()
    for seed, this in cases(range(SEEDS)):
        found = told(review(Search(this.shop)))
        assert found == expected(this.data, this.oracle), seed
        seen.update(code for code, _ in found)
    assert len(seen) == 9, seen
    assert all(count > 2 for count in seen.values()), seen


def told(problems: tuple[Problem, ...]) -> set[tuple[str, str]]:
    """Code and first name of each finding; a table's hole with all names."""
    found = set()
    for problem in problems:
        assert problem.level == "caution"
        assert problem.at.line > 0
        names = re.findall(r'"([^"]*)"', problem.sentence)
        if problem.code == "table-hole":
            found.add((problem.code, " ".join(names)))
        elif problem.code == "no-package":
            found.add((problem.code, ""))
        elif problem.code == "never-selected":
            found.add((problem.code, f"{names[1]}={names[0]}"))
        else:
            found.add((problem.code, names[0]))
    return found


def expected(data: Raw, oracle: Oracle) -> set[tuple[str, str]]:
    if not oracle.sound({}):
        return {("no-package", "")}
    found = set()
    states = oracle.states({})
    for (name, one), state in states.items():
        if state == "ruled-out":
            found.add(("never-selected", f"{name}={one}"))
        single = kind_of(data, name) != "several" and len(oracle.offers[name]) > 1
        if state == "implied" and single:
            found.add(("one-answer", name))
    limits_and_rules = {fact for fact in oracle.facts if fact[0] in ("rule", "limit")}
    for rule in data["rules"]:
        fact = ("rule", rule["id"])
        left = oracle.sound({}, limits_and_rules - {fact})
        when = rule.get("when", {})
        if not any(true(when, w.counts) for w in left):
            found.add(("rule-never-applies", rule["id"]))
        elif not any(fact in w.broken for w in left):
            found.add(("rule-never-matters", rule["id"]))
        elif not any(true(when, w.counts) for w in oracle.sound({})):
            without = oracle.sound({}, oracle.facts - {fact})
            if any(true(when, w.counts) for w in without):
                found.add(("rule-contradicts", rule["id"]))
    for deal in data["package-deals"]:
        if not oracle.sound(wants(deal)):
            found.add(("deal-not-sound", deal["id"]))
    for one in data["add-ons"]:
        with_it = oracle.sound({("add-on", one["id"]): 1})
        if with_it and not any(true(one["suggest"], w.counts) for w in with_it):
            found.add(("never-suggested", one["id"]))
    return found | holes(oracle)


def holes(oracle: Oracle) -> set[tuple[str, str]]:
    found = set()
    weighed_or_not = {fact for fact in oracle.facts if fact[0] != "not-weighed"}
    for (name, one), option in oracle.options.items():
        for facet in ("price", "mass"):
            parts = option.get(facet)
            for part in parts if isinstance(parts, list) else []:
                for world in oracle.sound({(name, one): 1}, weighed_or_not) if "by" in part else []:
                    cell, names = part["rows"], []
                    for by in part["by"]:
                        answer = next(o for c, o in world.counts if c == by)
                        names.append(f"{by}={answer}")
                        cell = cell.get(answer) if isinstance(cell, dict) else cell
                    if cell is None:
                        found.add(("table-hole", " ".join([one, name, *names])))
    return found
