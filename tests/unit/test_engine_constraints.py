"""A new kind of constraint is one new file and one more entry in the list of kinds.

Search, optimiser, words, review, checks, quotes and budgets then know it: no module of the engine
or of budgets asks for a kind by its name.
"""

from __future__ import annotations

import ast
import inspect
import pickle
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product
from textwrap import dedent

import pytest

from configurator import (
    Budget,
    Build,
    Catalogue,
    Conflict,
    Pick,
    QuoteRefused,
    Selection,
    Shop,
    open_shop,
    to_data,
)
from configurator.catalogue.reading import shipped
from configurator.checking.stops import stopping
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.constraint import RULE, Compiled, Constraint, Explanation, Grounds
from configurator.engine.review import review
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.engine.ways_out import fixes
from configurator.errors import SearchLimit
from configurator.selection.resolved import Resolved
from tests.support import source
from tests.support.building import Raw, choice, limit, option, raw_catalogue, read, rule
from tests.support.noise import LOUDNESS, MOST, Noise, noises
from tests.support.random_catalogues import Maker

VEHICLE = ("vehicle", "ute")


def shop(*others: Raw, **more: object) -> Catalogue:
    data = raw_catalogue(
        [
            choice("pump", [option("cheap", 10), option("quiet", 90)]),
            choice("fan", [option("large", 20), option("small", 50)]),
            *others,
        ],
        **{"rules": [], "add_ons": [], "limits": [], "package_deals": []} | more,
    )
    return read(data)


def picked(catalogue: Catalogue, *keys: tuple[str, str]) -> Selection:
    return Selection(catalogue.id, tuple(Pick(*key) for key in (VEHICLE, *keys)))


LOUD = (("pump", "cheap"), ("fan", "large"))


class _FromTheStart(Noise):
    """The same as a clause from the start: a search need not ask it, a check has to."""

    rank = RULE

    def __init__(self, search: Compiled) -> None:
        super().__init__(search)
        guard = search.encoding.guard(self.id)
        search.encoding.clauses.append([-guard, *(-self.encoding.at_least(*key) for key in LOUD)])


def _from_the_start(search: Compiled) -> Iterator[Noise]:
    yield _FromTheStart(search)


@pytest.fixture(params=[noises, _from_the_start])
def noisy(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """The one line by which the program knows a kind of constraint."""
    monkeypatch.setattr("configurator.engine.kinds.MORE", (request.param,))


def build(*keys: tuple[str, str], others: Sequence[Raw] = ()) -> Build:
    catalogue = shop(*others)
    return Shop(catalogue).build(picked(catalogue, *keys))


def sound_pairs() -> list[tuple[tuple[str, str], ...]]:
    by_choice = [[key for key in LOUDNESS if key[0] == name] for name in ("pump", "fan")]
    sound = [pair for pair in product(*by_choice) if sum(LOUDNESS[key] for key in pair) <= MOST]
    assert 0 < len(sound) < 4
    return sound


@pytest.mark.usefixtures("noisy")
def test_search_and_words_know_a_new_kind() -> None:
    search, sound = Search(shop()), sound_pairs()
    for key in LOUDNESS:
        found = options(search, picked(search.catalogue, key))
        expected = {other for pair in sound if key in pair for other in pair} - {key}
        available = {(s.choice, s.option) for s in found.options if s.state in ("open", "implied")}
        assert available == expected, key
    told = find_conflict(search, picked(search.catalogue, ("pump", "cheap")), ("fan", "large"))
    assert told is not None
    assert [(one.kind, one.subject) for one in told.facts] == [("noise", "night")]
    assert "at 70 it would be 25 louder than allowed" in str(told)
    assert told.hint == "Choose something quieter."
    noise = {"kind": "noise", "subject": "night", "numbers": {"over": "25"}}
    assert to_data(told)["facts"] == [noise]
    cheapest = complete(search, picked(search.catalogue))
    assert cheapest is not None
    assert {("pump", "cheap"), ("fan", "small")} <= cheapest.quantities.keys()
    (first, *_) = fixes(search, picked(search.catalogue, *LOUD)).fixes
    assert first.selection.quantities.keys() in [{VEHICLE, *pair} for pair in sound]


@pytest.mark.usefixtures("noisy")
@pytest.mark.parametrize("hints", [False, True])
def test_check_and_engine_agree_about_a_new_kind(hints: bool) -> None:
    for pair in product(*([k for k in LOUDNESS if k[0] == name] for name in ("pump", "fan"))):
        asked = build(*pair)
        sound = pair in sound_pairs()
        assert asked.check(hints).can_quote == asked.explain().possible == sound, pair
    (stop,) = build(*LOUD).check(hints).stops
    assert (stop.code, stop.subject, stop.may_come) == ("noise", "night", False)
    assert stop.sentence == "At 70 it would be 25 louder than allowed"
    assert stop.hint == "Choose something quieter."
    assert stop.numbers == (("over", 25),)
    assert stop.at == shop().choices[0].at
    assert stop in build(*LOUD).check(hints).impossible


@pytest.mark.usefixtures("noisy")
def test_a_quote_is_refused_for_a_new_kind_and_a_fix_is_quoted() -> None:
    loud = build(*LOUD)
    day = Shop(loud.catalogue).day
    with pytest.raises(QuoteRefused) as refused:
        loud.quote("Q-1", day)
    assert [finding.code for finding in refused.value.findings] == ["noise"]
    mended = loud.fixes().fixes
    assert mended
    for fix in mended:
        quiet = Shop(loud.catalogue).build(fix.selection)
        assert quiet.quote("Q-1", day).number == "Q-1"


@pytest.mark.usefixtures("noisy")
@pytest.mark.parametrize("others", [[], [choice("colour", [option("red", 5)])]])
def test_savings_keep_a_new_kind(others: Sequence[Raw]) -> None:
    # the cheap pump and the large fan would each save money, but not together with the other
    cheapest = min(
        (build(*pair).price().to_pay for pair in sound_pairs()), key=lambda paid: paid.amount
    )
    for keys in ((("pump", "quiet"), ("fan", "small")), (("pump", "quiet"), ("fan", "large"))):
        asked = build(*keys, others=others)
        found = asked.budget(Budget(limit=Decimal(1)))
        assert found.lowest is not None
        assert found.lowest.to_pay == cheapest
        after = Shop(asked.catalogue).build(found.lowest.selection)
        assert {one.code for one in after.check().stops} == ({"undecided"} if others else set())
        for change in (saving.change for saving in found.savings or ()):
            assert not set(LOUD) <= {*keys, (change.choice, change.to)} - {change.slot}


class _Hushed(Noise):
    """The small fan has to be picked; of the quiet pump nobody knows."""

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        if ("pump", "quiet") in held:
            raise SearchLimit("nobody has listened")
        if ("fan", "small") not in held:
            yield Violation(self.id, (self.encoding.at_least("fan", "small"),))

    def explain(self, grounds: Grounds) -> Explanation:
        small = grounds.possible([self.encoding.at_least("fan", "small")], None)
        return Explanation("it hums" if small else "it roars", more="all night")


def test_a_check_says_whether_more_picks_may_mend_it_and_what_is_not_settled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("configurator.engine.kinds.MORE", (lambda search: [_Hushed(search)],))

    def found(*keys: tuple[str, str]) -> list[tuple[str, bool]]:
        said = build(*keys).check().findings
        return [(one.sentence, one.may_come) for one in said if one.code == "noise"]

    assert found(("pump", "cheap")) == [("It roars all night", True)]
    assert found(("pump", "cheap"), ("fan", "large")) == [("It roars all night", False)]
    assert found(("pump", "cheap"), ("fan", "small")) == []
    unsettled = "The noise at night is not settled: nobody has listened"
    assert found(("pump", "quiet")) == [(unsettled, True)]


@pytest.mark.parametrize("noisy", [noises], indirect=True)
@pytest.mark.usefixtures("noisy")
def test_the_review_names_a_new_kind(monkeypatch: pytest.MonkeyPatch) -> None:
    loud = {"when": {"vehicle": "ute"}, "needs": {"pump": "cheap"}}
    also = {"when": {"vehicle": "ute"}, "needs": {"fan": "large"}}
    catalogue = shop(rules=[rule("a", **loud), rule("b", **also)])
    found = review(Search(catalogue))
    assert any("the noise at night" in problem.sentence for problem in found)
    monkeypatch.undo()
    assert not any("noise" in problem.sentence for problem in review(Search(catalogue)))


KINDS_OF_OURS = {"rules", "limits", "unit_fit", "joint_fit", "known_mass", "rating", "excess"}


@pytest.mark.parametrize(
    "module",
    [
        name
        for name in source.MODULES
        if name.split(".")[0] in ("engine", "budget") and name.split(".")[-1] not in KINDS_OF_OURS
    ],
)
def test_nothing_asks_for_a_kind_by_its_name(module: str) -> None:
    """But the kinds themselves, and the order of ids, which goes by the kind's name.

    ``excess`` has the words of ratings, and a number called rating.
    """
    nodes = list(ast.walk(source.tree(module)))
    if module != "engine.violation":
        assert not [n for n in nodes if isinstance(n, ast.Attribute) and n.attr == "kind"]
    named = {node.id for node in nodes if isinstance(node, ast.Name)}
    assert not named & {kind.__name__ for kind in Constraint.__subclasses__()}
    words = {node.value for node in nodes if isinstance(node, ast.Constant)}
    assert not words & {"rule", "limit", "fit", "layout", "rating"}


def test_a_check_of_the_shipped_catalogue_compiles_nothing() -> None:
    wish = shipped("catalogues") / "selections" / "wish.yaml"
    run = (
        "import sys; from configurator import open_shop\n"
        f"open_shop().build({str(wish)!r}).check()\n"
        "slow = {'ortools', 'pysat', 'configurator.engine.constraint'}\n"
        "assert not slow & set(sys.modules), slow & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", run], check=True)


def test_the_numbers_of_a_conflict_are_those_of_its_sentences() -> None:
    seen = Counter[tuple[str, str]]()
    shipped_shop = open_shop()
    for name in ("contractor", "touring"):
        asked = shipped_shop.build(shipped("catalogues") / "selections" / f"{name}.yaml")
        for one in asked.options(effort="quick").options:
            if one.conflict is None:
                continue
            for fact, premise in zip(one.conflict.told, one.conflict.explanations, strict=True):
                said = re.findall(r"\d+(?:\.\d+)?", str(premise.sentence).replace(",", ""))
                seen.update((fact.id.kind, number) for number, _ in fact.numbers)
                assert {Decimal(n) for _, n in fact.numbers} <= set(map(Decimal, said)), premise
    assert {("fit", "height-needs"), ("limit", "over"), ("limit", "left")} <= seen.keys()


def test_a_conflict_and_a_check_give_a_number_the_same_name() -> None:
    wish = open_shop().build(shipped("catalogues") / "selections" / "wish.yaml")
    conflict = wish.explain("upright-fridge", "upright-130").conflict
    assert conflict is not None
    (finding,), (fact,) = wish.check().stops, conflict.told
    assert (fact.id.kind, fact.id.subject) == (finding.code, finding.subject)
    assert fact.numbers == finding.numbers[:2] == (("height-needs", 870), ("height-has", 814))


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
    assert "U1 does not fit every Canopy" in str(told)
    # what it says is in its numbers: nothing of the search is needed for that
    assert str(pickle.loads(pickle.dumps(told))) == str(told)
