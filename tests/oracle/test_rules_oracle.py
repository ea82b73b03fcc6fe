"""Rules and limits against plain evaluation, and against puzzles whose answers are known.

The oracle reads the same catalogue as plain data and knows only true and false. A partial
selection is judged by trying every answer to every choice of one that is still open: what a check
reports must hold however those choices are answered.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import combinations, product
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from configurator import Catalogue, Pick, Selection, Travel
from configurator.checking.check import check
from configurator.selection.resolved import Resolved
from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    catalogue,
    choice,
    limit,
    option,
    raw_catalogue,
    read,
    rule,
    selection,
    several,
    vehicle,
)
from tests.support.puzzles import (
    COMPLETE_4,
    CYCLE_5,
    OCTAHEDRON,
    coloured,
    dimacs,
    from_dimacs,
    pigeons,
    queens,
)
from tests.support.rules_oracle import Counts, broken, number
from tests.support.steady import STEADY as EVERY

STEADY = settings(EVERY, max_examples=120)

# The oracle


class Store:
    """What the picks give and use, from plain data."""

    def __init__(self, data: Raw, counts: Counts, people: int | None = None) -> None:
        self.data, self.counts, self.people = data, counts, people
        lists = [("vehicle", data["vehicles"]), ("add-on", data.get("add-ons", []))]
        options: dict[tuple[str, str], Raw] = {}
        for name, listed in [*lists, *((c["id"], c["options"]) for c in data["choices"])]:
            options |= {(name, one["id"]): one for one in listed}
        self.picked = [(options[key], n) for key, n in counts.items()]

    def given(self, name: str) -> Fraction:
        return sum(
            (n * number(o.get("gives", {}).get(name, 0)) for o, n in self.picked), Fraction()
        )

    def used(self, name: str) -> Fraction:
        return sum((n * number(o.get("uses", {}).get(name, 0)) for o, n in self.picked), Fraction())

    def mass(self, one: Raw) -> Fraction:
        written = one.get("mass", 0)
        parts = written if isinstance(written, list) else [{"kind": "fixed", "amount": written}]
        total = number(one.get("unit", {}).get("contents", 0))
        for part in parts:
            if part["kind"] == "fixed":
                total += number(part["amount"])
            elif part["kind"] == "table":
                answer = next(o for c, o in self.counts if c == part["by"][0])
                total += number(part["rows"][answer])
            elif part["of"] == "water":
                total += number(part["rate"]) * self.given("water")
            else:
                total += number(part["rate"]) * self.size(part["of"])
        return total

    def size(self, what: str) -> Fraction:
        parts = [o["space"]["canopy"] for o, _ in self.picked if "space" in o]
        long, wide, high = (
            next(number(p[side]) for p in parts if side in p)
            for side in ("length", "width", "height")
        )
        if what == "canopy.shell":
            return 2 * (long * wide + long * high + wide * high) / 10**6
        wall = sum((number(p.get("wall", 0)) for p in parts), Fraction())
        inside = [max(0, math.floor(side - 2 * wall)) for side in (long, wide)]
        return Fraction(inside[0] * inside[1], 10**9) * math.floor(high)

    def stands(self, written: Raw) -> str:
        """``exceeded``, ``close`` or ``fine``: nothing used exceeds nothing."""
        given = self.given(written["id"]) - number(written.get("reserve", 0))
        used = self.used(written["id"])
        if "counts" in written:
            used += sum((n * self.mass(one) for one, n in self.picked), Fraction())
            for one, _ in self.picked:
                if "vehicle" in one:
                    kerb = one["vehicle"]["kerb"]
                    given += number(one["vehicle"]["gvm"]) - kerb["front"] - kerb["rear"]
                    if written["counts"] == "mass-and-people":
                        used += self.aboard(one["vehicle"])
        if not used:
            return "fine"
        if used > given:
            return "exceeded"
        return "close" if used >= number(written.get("caution-at", "0.9")) * given else "fine"

    def aboard(self, figures: Raw) -> Fraction:
        """Those who travel and their luggage: as many as are named, or as the catalogue counts."""
        settings = {"people": 2, "person": 75, "luggage": 0, **self.data.get("mass", {})}
        seats = sum(row["count"] for row in figures["seats"])
        each = number(settings["person"]) + number(settings["luggage"])
        return (self.people or min(settings["people"], seats)) * each


def completions(data: Raw, counts: Counts) -> Iterator[Counts]:
    """The picks with every answer to every choice of one that is open."""
    listed = {"vehicle": [one["id"] for one in data["vehicles"]]}
    listed |= {
        c["id"]: [one["id"] for one in c["options"]] for c in data["choices"] if c["pick"] == "one"
    }
    left = [name for name in listed if name not in {c for c, _ in counts}]
    for answers in product(*(listed[name] for name in left)):
        yield {**counts, **dict.fromkeys(zip(left, answers, strict=True), 1)}


def reported(
    shop: Catalogue, counts: Counts, code: str, level: str = "stop", people: int | None = None
) -> set[str]:
    """What the check says of these picks: ids of rules or limits."""
    picks = tuple(Pick(*key, n) for key, n in counts.items())
    chosen = Selection("test", picks, travel=Travel(people=people))
    found = check(Resolved(shop, chosen)).findings
    return {f.subject for f in found if (f.code, f.level) == (code, level)}


# What hypothesis makes

OPTIONS = {
    "vehicle": ["ute", "truck"],
    "size": ["short", "long"],
    "colour": ["red", "green", "blue"],
    "lining": ["felt", "foam"],
    "extra": ["light"],
    "tools": ["jack", "rope", "shovel"],
    "add-on": ["flag", "mat"],
}
OF_ONE = ("vehicle", "size", "colour", "lining")


@st.composite
def conditions(draw: st.DrawFn, depth: int = 2) -> Raw:
    kind = draw(st.sampled_from(["test", "test", "both", "all", "any", "none"]))
    if depth == 0 or kind == "test":
        return draw(questions())
    if kind == "both":
        return draw(questions()) | draw(questions())
    return {kind: draw(st.lists(conditions(depth - 1), min_size=1, max_size=3))}


@st.composite
def questions(draw: st.DrawFn) -> Raw:
    name = draw(st.sampled_from([*OPTIONS, *OF_ONE]))
    listed = st.sampled_from(OPTIONS[name])
    kind = draw(st.sampled_from(["one", "one", "list", "counted", "counted all"]))
    if kind == "one":
        return {name: draw(listed)}
    if kind == "list":
        return {name: draw(st.lists(listed, min_size=1, max_size=3))}
    low = draw(st.integers(0, 2))
    every: list[Raw] = [{"at-least": low}, {"at-most": low}, {"at-least": low, "at-most": low + 1}]
    bounds = draw(st.sampled_from(every))
    return {name: bounds | ({"option": draw(listed)} if kind == "counted" else {})}


@st.composite
def rules(draw: st.DrawFn, identity: str) -> Raw:
    consequence = draw(st.sampled_from(["needs", "rules_out"]))
    when = draw(st.one_of(st.none(), conditions()))
    then = draw(conditions().filter(lambda found: found != when))
    return rule(identity, **({"when": when} if when else {}), **{consequence: then})


@st.composite
def partial_picks(draw: st.DrawFn, complete: bool = False) -> Counts:
    counts: dict[tuple[str, str], int] = {}
    decided = draw(st.integers(1, 4))
    for name, listed in OPTIONS.items():
        if name in ("tools", "add-on"):
            for one in listed:
                if quantity := draw(st.integers(0, 3 if name == "tools" else 1)):
                    counts[name, one] = quantity
        elif (name in OF_ONE and complete) or draw(st.integers(0, decided)):
            counts[name, draw(st.sampled_from(listed))] = 1
    return counts


@st.composite
def shops(draw: st.DrawFn, bare: bool = False) -> Raw:
    """A catalogue with options that give and use; with ``bare``, options that only are."""

    def facets(name: str) -> Raw:
        found: Raw = {}
        if bare:
            return found
        for key in ("gives", "uses"):
            amounts = {
                limit_id: draw(st.integers(1, 60))
                for limit_id in ("charge", "water")
                if draw(st.integers(0, 2)) == 0
            }
            if amounts:
                found[key] = amounts
        kind = draw(st.integers(0, 5))
        if kind < 3:
            found["mass"] = Decimal(draw(st.integers(1, 1500))) / 10
        elif kind == 3 and name != "colour":
            rows = {one: draw(st.integers(0, 200)) for one in OPTIONS["colour"]}
            found["mass"] = [{"kind": "table", "by": ["colour"], "rows": rows}]
        elif kind == 4:
            of = draw(st.sampled_from(["canopy.shell", "canopy.volume", "water"]))
            found["mass"] = [{"kind": "measure", "of": of, "rate": draw(st.integers(0, 9))}]
        if name == "size":
            found["space"] = {
                "canopy": {"length": draw(st.integers(900, 2400)), "width": 1780, "height": 850}
            }
        if name == "lining":
            found["space"] = {"canopy": {"wall": Decimal(draw(st.integers(1, 899))) / 2}}
        return found

    def offers(name: str, **more: Any) -> list[Raw]:
        return [option(one, **facets(name), **more) for one in OPTIONS[name]]

    box = {"width": 1, "depth": 1, "height": 1}
    loaded = {"space": "roof", "body": box, "contents": draw(st.integers(0, 50))}
    contents = {} if bare else {"unit": loaded}
    return raw_catalogue(
        [
            choice("size", offers("size")),
            choice("colour", offers("colour")),
            choice("lining", offers("lining")),
            choice("extra", offers("extra", **contents), "at-most-one"),
            several("tools", offers("tools", most=3)),
        ],
        vehicles=[
            vehicle("ute", **facets("vehicle")),
            {**vehicle("truck"), "vehicle": {**VEHICLE_FIGURES, "gvm": 2500}},
        ],
        add_ons=[option(one, because="It helps.") for one in OPTIONS["add-on"]],
        spaces=[{"id": one, "title": one.title()} for one in ("canopy", "roof")],
        limits=[
            limit(
                "payload",
                counts=draw(st.sampled_from(["mass", "mass-and-people"])),
                reserve=draw(st.integers(0, 300)),
            ),
            limit("charge", "A", caution_at=Decimal("0.75")),
            limit("water", "l", reserve=draw(st.integers(0, 20))),
        ],
        mass={"people": draw(st.integers(1, 3)), "luggage": draw(st.integers(0, 40))},
    )


@st.composite
def ruled(draw: st.DrawFn) -> Raw:
    data = draw(shops(bare=True))
    data["rules"] = [draw(rules(f"rule-{n}")) for n in range(draw(st.integers(1, 4)))]
    return data


# Rules


@STEADY
@given(ruled(), partial_picks(complete=True))
def test_a_complete_selection_breaks_just_the_rules_that_plain_logic_says(
    data: Raw, counts: Counts
) -> None:
    shop = read(data, cautions=True)
    expected = {r["id"] for r in data["rules"] if broken(r, counts)}
    assert reported(shop, counts, "rule") == expected


def asked(condition: Raw) -> Iterator[str]:
    """The choices that a condition asks about, as often as it does."""
    for key, inner in condition.items():
        if key in ("all", "any", "none"):
            for part in inner:
                yield from asked(part)
        else:
            yield key


def test_a_rule_reported_on_a_partial_selection_is_broken_however_it_is_completed() -> None:
    seen: Counter[str] = Counter()

    @STEADY
    @given(ruled(), partial_picks())
    def compare(data: Raw, counts: Counts) -> None:
        found = reported(read(data, cautions=True), counts, "rule")
        every = list(completions(data, counts))
        verdicts = {r["id"]: {broken(r, each) for each in every} for r in data["rules"]}
        always = {name for name, told in verdicts.items() if told == {True}}
        assert found <= always
        # and the other way round where no open choice is asked about twice: Kleene's logic forgets
        # that two tests of one choice hang together
        left = {name for name in OF_ONE if name not in {c for c, _ in counts}}
        for written in data["rules"]:
            conditions = [written[key] for key in ("when", "needs", "rules-out") if key in written]
            names = Counter(name for condition in conditions for name in asked(condition))
            if all(names[name] <= 1 for name in left):
                assert (written["id"] in found) == (written["id"] in always)
                seen["not forgotten"] += bool(left)
        seen.update("both" if len(told) == 2 else str(told) for told in verdicts.values())
        seen["complete"] += len(every) == 1
        seen["wide open"] += len(every) > 6

    compare()
    kinds = ("both", "{True}", "{False}", "complete", "wide open", "not forgotten")
    assert min(seen[kind] for kind in kinds) >= 5, seen


def test_a_rule_broken_by_every_answer_may_go_unreported_until_one_is_given() -> None:
    # strong Kleene logic: "red and not red" is unknown while the colour is
    colours = choice("colour", [option("red"), option("blue")])
    impossible = {"all": [{"colour": "red"}, {"none": [{"colour": "red"}]}]}
    shop = catalogue([colours], rules=[rule("never", needs=impossible)])
    assert reported(shop, {}, "rule") == set()
    for answer in ("red", "blue"):
        assert reported(shop, {("colour", answer): 1}, "rule") == {"never"}


@pytest.mark.parametrize("named", [["red"], ["red", "red"], ["red", "blue", "red"]])
def test_naming_an_option_twice_says_no_more_than_naming_it_once(named: list[str]) -> None:
    colours = choice("colour", [option("red"), option("blue")])
    shop = catalogue([colours], rules=[rule("none", rules_out={"colour": named})])
    assert reported(shop, {}, "rule") == ({"none"} if "blue" in named else set())


# Limits


@STEADY
@given(shops(), partial_picks(complete=True), st.none() | st.integers(1, 5))
def test_the_limits_of_a_complete_selection_stand_as_plain_sums_say(
    data: Raw, counts: Counts, people: int | None
) -> None:
    shop, store = read(data, cautions=True), Store(data, counts, people)
    stands = {written["id"]: store.stands(written) for written in data["limits"]}
    for level, word in (("stop", "exceeded"), ("caution", "close")):
        expected = {name for name, stand in stands.items() if stand == word}
        assert reported(shop, counts, "limit", level, people) == expected


def test_a_limit_reported_on_a_partial_selection_is_exceeded_however_it_is_completed() -> None:
    seen: Counter[str] = Counter()

    # which cases are drawn depends on what modules other tests have loaded: enough for every kind
    @settings(EVERY, max_examples=300)
    @given(shops(), partial_picks())
    def compare(data: Raw, counts: Counts) -> None:
        found = reported(read(data, cautions=True), counts, "limit")
        every = [Store(data, each) for each in completions(data, counts)]
        verdicts = {
            written["id"]: {store.stands(written) == "exceeded" for store in every}
            for written in data["limits"]
        }
        always = {name for name, told in verdicts.items() if told == {True}}
        assert found <= always
        # and the other way round where nothing that is open uses any of it
        left = [c for c in data["choices"] if c["pick"] == "one" and not _picked(c["id"], counts)]
        if _picked("vehicle", counts):
            for name in ("charge", "water"):
                idle = not any(name in o.get("uses", {}) for c in left for o in c["options"])
                if idle and every[0].used(name):
                    assert (name in found) == (name in always)
        seen.update(
            f"{name} {'both' if len(told) == 2 else told}" for name, told in verdicts.items()
        )

    compare()
    kinds = (f"{n} {told}" for n in ("payload", "charge", "water") for told in TOLD)
    assert min(seen[kind] for kind in kinds) >= 5, seen


TOLD = ("both", {True}, {False})


def _picked(name: str, counts: Counts) -> bool:
    return any(choice_id == name for choice_id, _ in counts)


def test_a_mass_by_volume_waits_for_the_lining_that_makes_the_volume_smaller() -> None:
    # a cubic metre of foam at 1000 kg is too much for a payload of 999 kg, but not once 50 mm of
    # lining is chosen: while the lining is open, nothing is said
    box = {"canopy": {"length": 1000, "width": 1000, "height": 1000}}
    shop = catalogue(
        [
            choice("size", [option("cube", space=box)]),
            choice("lining", [option("thick", space={"canopy": {"wall": 50}}), option("bare")]),
            several(
                "fill",
                [option("foam", mass=[{"kind": "measure", "of": "canopy.volume", "rate": 1000}])],
            ),
        ],
        spaces=[{"id": "canopy", "title": "Canopy"}],
        limits=[limit("payload", counts="mass", reserve=101)],
    )
    counts = {("vehicle", "ute"): 1, ("size", "cube"): 1, ("fill", "foam"): 1}
    assert reported(shop, counts, "limit") == set()
    assert reported(shop, {**counts, ("lining", "thick"): 1}, "limit") == set()
    assert reported(shop, {**counts, ("lining", "bare"): 1}, "limit") == {"payload"}


# Puzzles


def models(shop: Catalogue) -> int:
    """How many complete selections have nothing that stops a quote.

    While only choices of one are open, a broken rule stays broken however they are answered.
    """
    answers: list[list[Pick | None]] = []
    for each in sorted(shop.choices[1:], key=lambda found: found.pick):
        picks: list[Pick | None] = [Pick(each.id, one.id) for one in each.options]
        answers.append(picks if each.pick == "one" else [None, *picks])
    loose = sum(picks[0] is None for picks in answers)

    def below(picks: tuple[Pick, ...], depth: int) -> int:
        if depth >= loose:
            stops = check(Resolved(shop, Selection("test", picks))).stops
            if depth == len(answers):
                return not stops
            if "rule" in {found.code for found in stops}:
                return 0
        return sum(
            below(picks if answer is None else (*picks, answer), depth + 1)
            for answer in answers[depth]
        )

    return below(selection({}).picks, 0)


@pytest.mark.parametrize(("birds", "holes", "ways"), [(3, 2, 0), (2, 2, 2), (2, 3, 12), (1, 3, 7)])
def test_pigeons_need_as_many_holes(birds: int, holes: int, ways: int) -> None:
    # Cook and Reckhow, "The relative efficiency of propositional proof systems", J. Symbolic Logic
    # 44 (1979): n + 1 pigeons do not go into n holes (from memory). The counts by hand: one pigeon
    # may take several holes, so two in n holes have 3^n - 2 * 2^n + 1 ways, and one has 2^n - 1.
    assert models(read(from_dimacs(pigeons(birds, holes)))) == ways


@pytest.mark.parametrize(
    ("edges", "vertices", "colours", "ways"),
    [
        (CYCLE_5, 5, 3, 2**5 - 2),
        (CYCLE_5, 5, 2, 0),
        (COMPLETE_4, 4, 4, 24),
        (COMPLETE_4, 4, 3, 0),
        (OCTAHEDRON, 6, 3, 6),
        (CYCLE_5[:4], 5, 3, 3 * 2**4),
    ],
)
def test_graphs_have_as_many_colourings_as_their_chromatic_polynomial_says(
    edges: list[tuple[int, int]], vertices: int, colours: int, ways: int
) -> None:
    # Chromatic polynomials after G. D. Birkhoff (1912), from memory: cycle (k-1)^n + (-1)^n (k-1),
    # complete graph k!/(k-n)!, tree k (k-1)^(n-1); the octahedron has three parts, one a colour.
    assert models(read(coloured(edges, vertices, colours))) == ways


def test_a_triangle_written_as_a_formula_has_its_six_colourings() -> None:
    # complete graph of three with three colours: 3! (chromatic polynomial), as a CNF
    has = {(v, c): 3 * v + c + 1 for v in range(3) for c in range(3)}
    clauses = [[has[v, c] for c in range(3)] for v in range(3)]
    for v in range(3):
        clauses += [[-has[v, a], -has[v, b]] for a, b in combinations(range(3), 2)]
        clauses += [[-has[v, c], -has[(v + 1) % 3, c]] for c in range(3)]
    assert models(read(from_dimacs(dimacs(9, clauses)))) == 6


@pytest.mark.parametrize(("size", "ways"), [(3, 0), (4, 2), (5, 10)])
def test_queens_stand_in_as_many_ways_as_is_known(size: int, ways: int) -> None:
    # OEIS A000170, from memory
    assert models(read(queens(size))) == ways


@pytest.mark.parametrize("seed", range(12))
def test_a_random_formula_has_as_many_models_as_plain_counting_finds(seed: int) -> None:
    dice = Random(seed)
    variables = dice.randint(3, 6)
    clauses = [
        [dice.choice((-1, 1)) * n for n in dice.sample(range(1, variables + 1), dice.randint(1, 3))]
        for _ in range(dice.randint(2, 12))
    ]
    expected = sum(
        all(any(bits[abs(n) - 1] == (n > 0) for n in clause) for clause in clauses)
        for bits in product([False, True], repeat=variables)
    )
    assert models(read(from_dimacs(dimacs(variables, clauses)))) == expected
