"""A new kind of constraint is one new file and one more entry in the list of kinds.

Search, optimiser, words and review then know it: none of them asks for a kind by its name.
"""

from __future__ import annotations

import ast
import inspect
import pickle
from itertools import product
from pathlib import Path
from textwrap import dedent

import pytest

import configurator.engine
from configurator import Catalogue, Conflict, Pick, Selection
from configurator.checking.stops import stopping
from configurator.engine.availability import options
from configurator.engine.conflicts import find_conflict
from configurator.engine.constraint import Constraint, Explanation
from configurator.engine.review import review
from configurator.engine.search import KINDS, Search
from configurator.engine.ways_out import complete, fixes
from configurator.selection.resolved import Resolved
from tests.support.building import choice, limit, option, raw_catalogue, read, rule
from tests.support.noise import LOUDNESS, MOST, noises
from tests.support.random_catalogues import Maker

VEHICLE = ("vehicle", "ute")


def shop(**more: object) -> Catalogue:
    data = raw_catalogue(
        [
            choice("pump", [option("cheap", 10), option("quiet", 90)]),
            choice("fan", [option("large", 20), option("small", 50)]),
        ],
        **{"rules": [], "add_ons": [], "limits": [], "package_deals": []} | more,
    )
    return read(data)


def picked(catalogue: Catalogue, *keys: tuple[str, str]) -> Selection:
    return Selection(catalogue.id, tuple(Pick(*key) for key in (VEHICLE, *keys)))


def test_a_new_kind_is_one_file_and_one_line() -> None:
    catalogue = shop()
    search = Search(catalogue, kinds=(*KINDS, noises))
    by_choice = [[key for key in LOUDNESS if key[0] == name] for name in ("pump", "fan")]
    sound = [pair for pair in product(*by_choice) if sum(LOUDNESS[key] for key in pair) <= MOST]
    assert 0 < len(sound) < 4
    for key in LOUDNESS:
        found = options(search, picked(catalogue, key))
        expected = {other for pair in sound if key in pair for other in pair} - {key}
        available = {(s.choice, s.option) for s in found.options if s.state in ("open", "implied")}
        assert available == expected, key
    told = find_conflict(search, picked(catalogue, ("pump", "cheap")), ("fan", "large"))
    assert told is not None
    assert [(one.kind, one.subject) for one in told.facts] == [("noise", "night")]
    assert "at 70 it would be 25 louder than allowed" in str(told)
    assert told.hint == "Choose something quieter."
    cheapest = complete(search, picked(catalogue))
    assert cheapest is not None
    assert {("pump", "cheap"), ("fan", "small")} <= cheapest.quantities.keys()
    (first, *_) = fixes(search, picked(catalogue, ("pump", "cheap"), ("fan", "large"))).fixes
    assert first.selection.quantities.keys() in [{VEHICLE, *pair} for pair in sound]


def test_the_review_names_a_new_kind() -> None:
    loud = {"when": {"vehicle": "ute"}, "needs": {"pump": "cheap"}}
    also = {"when": {"vehicle": "ute"}, "needs": {"fan": "large"}}
    catalogue = shop(rules=[rule("a", **loud), rule("b", **also)])
    assert not any("noise" in problem.sentence for problem in review(Search(catalogue)))
    found = review(Search(catalogue, kinds=(*KINDS, noises)))
    assert any("the noise at night" in problem.sentence for problem in found)


@pytest.mark.parametrize(
    "name", ["conflicts", "availability", "ways_out", "review", "search", "optimum"]
)
def test_nothing_asks_for_a_kind_by_its_name(name: str) -> None:
    folder = Path(next(iter(configurator.engine.__path__)))
    tree = ast.parse((folder / f"{name}.py").read_text("utf-8"))
    asked = [node for node in ast.walk(tree) if isinstance(node, ast.Attribute)]
    assert not [node for node in asked if node.attr == "kind"]
    assert not {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)} & {
        kind.__name__ for kind in Constraint.__subclasses__()
    }
    words = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)}
    assert not words & {"rule", "limit", "fit", "layout", "rating"}


@pytest.mark.parametrize("told", [Conflict, Explanation])
def test_words_need_no_search(told: type) -> None:
    tree = ast.parse(dedent(inspect.getsource(told)))
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    assert not names & {"Search", "Optimum", "ClauseSolver"}


def test_a_limit_on_mass_counts_what_an_option_holds_that_is_no_unit() -> None:
    boxes = [option("small", mass=10, contents=40), option("large", mass=10, contents=60)]
    payload = limit("payload", counts="mass", reserve=1040)
    catalogue = read(raw_catalogue([choice("box", boxes)], limits=[payload]))
    found = options(Search(catalogue), picked(catalogue))
    states = {s.option: s.state for s in found.options if s.choice == "box"}
    for box, state in states.items():
        build = Resolved(catalogue, picked(catalogue, ("box", box)))
        stops = {code for code, _ in stopping(build)}
        assert state == ("ruled-out" if "limit" in stops else "implied"), box
    assert set(states.values()) == {"ruled-out", "implied"}


def test_why_a_carried_unit_does_not_fit_is_told_while_its_mass_is_open() -> None:
    # a seeded catalogue whose bed carries U1; its mass is in a table over a choice without a pick
    catalogue = read(Maker(9052, "everything").catalogue(), cautions=True)
    keys = [("vehicle", "v0"), ("extra", "e0"), ("colour", "c0")]
    picks = Selection(catalogue.id, tuple(Pick(*key) for key in keys))
    told = find_conflict(Search(catalogue), picks, ("bed", "b0"))
    assert told is not None
    assert "U1 does not fit any Canopy" in str(told)
    # what it says is in its numbers: nothing of the search is needed for that
    assert str(pickle.loads(pickle.dumps(told))) == str(told)
