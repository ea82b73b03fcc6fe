"""The engine on published puzzles, when it must give up, and on catalogues out of order."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest

from configurator import Catalogue, Money, Pick, SearchLimit, Selection
from configurator.catalogue.reading import parse_catalogue
from configurator.engine import availability, optimum, search as searching
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.engine.within import within
from tests.support.building import (
    Raw,
    catalogue,
    choice,
    limit,
    option,
    raw_catalogue,
    read,
    rule,
    several,
)
from tests.support.commands import Run
from tests.support.engine_cases import selected
from tests.support.paths import CASES
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
from tests.support.random_catalogues import LargeMaker, Maker, shuffled

NOTHING = Selection("test")


def count(search: Search, picks: tuple[Pick, ...] = ()) -> int:
    """How many complete sound selections hold the picks, deciding one choice after another."""
    answered = {pick.choice for pick in picks}
    left = next((c for c in search.catalogue.choices if c.id not in answered), None)
    found = options(search, Selection("test", picks), [left] if left else [], reasons=False)
    if found.conflict is not None:
        return 0
    if left is None:
        return 1
    can = [state.option for state in found.options if state.state != "ruled-out"]
    return sum(count(search, (*picks, Pick(left.id, one))) for one in can)


def yes_and_no(formula: str) -> Catalogue:
    """A formula's catalogue with a choice of yes or no for each variable."""
    data = from_dimacs(formula)
    for one in data["choices"]:
        one["pick"] = "one"
        one["options"].append(option("false"))
    return read(data)


# Published instances


@pytest.mark.parametrize("holes", range(1, 7))
def test_one_pigeon_too_many_has_no_hole(holes: int) -> None:
    # Cook and Reckhow, "The relative efficiency of propositional proof systems", J. Symbolic Logic
    # 44 (1979), from memory: n + 1 pigeons do not go into n holes; n do, in n! ways if each takes
    # one
    shop = yes_and_no(pigeons(holes + 1, holes))
    found = options(Search(shop), NOTHING)
    assert found.conflict is not None
    # the whole formula is needed: without any one clause there is a way (minimal unsatisfiability)
    assert len(found.conflict.facts) == len(shop.rules)
    assert options(Search(yes_and_no(pigeons(holes, holes))), NOTHING).conflict is None


@pytest.mark.parametrize(("birds", "holes", "ways"), [(2, 2, 2), (2, 3, 12), (1, 3, 7), (3, 3, 6)])
def test_pigeons_have_as_many_ways_as_counting_by_hand_finds(
    birds: int, holes: int, ways: int
) -> None:
    # one pigeon may take several holes: two in n holes have 3^n - 2 * 2^n + 1 ways, one has
    # 2^n - 1; three in three have one each, so 3!
    assert count(Search(yes_and_no(pigeons(birds, holes)))) == ways


PETERSEN = [
    *((n, (n + 1) % 5) for n in range(5)),
    *((n, n + 5) for n in range(5)),
    *((5 + n, 5 + (n + 2) % 5) for n in range(5)),
]


@pytest.mark.parametrize(
    ("edges", "vertices", "colours", "ways"),
    [
        (CYCLE_5, 5, 3, 30),
        (CYCLE_5, 5, 2, 0),
        (COMPLETE_4, 4, 4, 24),
        (COMPLETE_4, 4, 3, 0),
        (OCTAHEDRON, 6, 3, 6),
        (PETERSEN, 10, 3, 120),
        (PETERSEN, 10, 2, 0),
    ],
)
def test_graphs_have_as_many_colourings_as_their_chromatic_polynomial_says(
    edges: list[tuple[int, int]], vertices: int, colours: int, ways: int
) -> None:
    # chromatic polynomials after G. D. Birkhoff (1912), from memory: cycle (k-1)^n + (-1)^n (k-1),
    # complete graph k!/(k-n)!; the Petersen graph has 120 colourings with three colours (from
    # memory: its chromatic polynomial at 3)
    assert count(Search(read(coloured(edges, vertices, colours)))) == ways


@pytest.mark.parametrize(("size", "ways"), [(3, 0), (4, 2), (5, 10), (6, 4)])
def test_queens_stand_in_as_many_ways_as_is_known(size: int, ways: int) -> None:
    # OEIS A000170, from memory
    assert count(Search(read(queens(size)))) == ways


def test_a_published_feature_tree_has_its_published_number_of_products() -> None:
    # D. Benavides, S. Segura, A. Ruiz-Cortes, "Automated analysis of feature models 20 years later:
    # a literature review", Information Systems 35 (2010) 615-636: the phone of figure 1 and its 14
    # products (tree and number from memory; 2 * (1 + 2) + 2 * 4 by hand)
    yes = [option("yes"), option("no")]
    phone = [
        choice("calls", [option("yes")]),
        choice("gps", yes),
        choice("screen", [option("basic"), option("colour"), option("high-resolution")]),
        choice("media", yes),
        choice("camera", yes),
        choice("player", yes),
    ]
    parts = [{"camera": "yes"}, {"player": "yes"}]
    rules = [
        rule("media-is-some", when={"media": "yes"}, needs={"any": parts}),
        rule("camera-is-media", when={"camera": "yes"}, needs={"media": "yes"}),
        rule("player-is-media", when={"player": "yes"}, needs={"media": "yes"}),
        rule("camera-requires", when={"camera": "yes"}, needs={"screen": "high-resolution"}),
        rule("gps-excludes", when={"gps": "yes"}, rules_out={"screen": "basic"}),
    ]
    assert count(Search(catalogue(phone, rules=rules))) == 14


def test_a_small_feature_tree_has_as_many_products_as_arithmetic_says() -> None:
    # no source: a tree in the manner of K. Kang et al., "Feature-Oriented Domain Analysis" (1990),
    # counted by the product rule: a mandatory alternative of 3, an "or" group of 3 (2^3 - 1), an
    # optional one of 2 alternatives (1 + 2), an optional leaf; one exclusion and one requirement
    yes = [option("yes"), option("no")]
    names = ("one", "two", "three")
    choices = [
        choice("core", [option(name) for name in names]),
        *(choice(f"part-{name}", yes) for name in names),
        choice("extra", [option("small"), option("large"), option("none")]),
        choice("leaf", yes),
    ]
    some = rule("some-part", needs={"any": [{f"part-{name}": "yes"} for name in names]})
    assert count(Search(catalogue(choices, rules=[some]))) == 3 * 7 * 3 * 2
    # core "one" excludes part "one": 4 of the 7 sets have that part, so 4 * 3 * 2 go;
    excludes = rule("excludes", when={"core": "one"}, rules_out={"part-one": "yes"})
    assert count(Search(catalogue(choices, rules=[some, excludes]))) == 126 - 24
    # a large extra requires the leaf: of each core and set, one of six goes
    requires = rule("requires", when={"extra": "large"}, needs={"leaf": "yes"})
    both = [some, excludes, requires]
    assert count(Search(catalogue(choices, rules=both))) == (3 * 7 - 4) * 5


def test_a_formula_of_random_clauses_has_as_many_models_as_plain_counting_finds() -> None:
    from random import Random

    for seed in range(12):
        dice = Random(seed)
        size = dice.randint(3, 8)
        clauses = [
            [dice.choice((-1, 1)) * n for n in dice.sample(range(1, size + 1), 3)]
            for _ in range(dice.randint(4, 34))
        ]
        expected = sum(
            all(any(bits[abs(n) - 1] == (n > 0) for n in clause) for clause in clauses)
            for bits in product([False, True], repeat=size)
        )
        assert count(Search(yes_and_no(dimacs(size, clauses)))) == expected


# Giving up


def tight() -> Catalogue:
    return read(LargeMaker("S", 0).catalogue(), cautions=True)


def test_a_search_that_gives_up_says_so_and_never_that_it_is_impossible(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shop = tight()
    possible = options(Search(shop), NOTHING)
    assert possible.conflict is None
    gave_up = 0
    monkeypatch.setattr(optimum, "_MOST_ROUNDS", 0)
    for most in range(1, 12):
        monkeypatch.setattr(searching, "_MOST_ROUNDS", most)
        try:
            told = options(Search(shop), NOTHING)
        except SearchLimit:
            gave_up += 1
        else:
            assert told.conflict is None
            for state, known in zip(told.options, possible.options, strict=True):
                if state.reason and state.conflict is None:
                    gave_up += 1
                    assert "not settled yet" in state.reason or "takes longer" in state.reason
                    assert (state.choice, state.option) == (known.choice, known.option)
                    unproved = {"implied": "open"}.get(known.state, known.state)
                    assert state.state in ("undecided", unproved)
                elif state.conflict is None or state.conflict.irreducible:
                    assert state == known
                else:
                    assert state.state == known.state
        try:
            assert find_conflict(Search(shop), NOTHING) is None
        except SearchLimit:
            gave_up += 1
    assert gave_up > 2


def test_an_option_too_hard_to_settle_is_told_as_undecided_and_the_others_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []
    for seed in range(100):
        maker = Maker(seed, "crowd")
        data = maker.catalogue()
        asked.append((read(data, cautions=True), selected(maker.picks(data, 0.3))))
    settled = [options(Search(shop), picks) for shop, picks in asked]
    monkeypatch.setattr(availability, "MOST_CROWDED", 0)
    monkeypatch.setattr(availability, "_LEAST_PATIENCE", 0)
    undecided = others = 0
    for (shop, picks), known in zip(asked, settled, strict=True):
        for state, full in zip(options(Search(shop), picks).options, known.options, strict=True):
            if state.state == "undecided":
                undecided += 1
                assert "is nearly full; ask for this one alone" in state.reason
            elif "takes longer" not in state.reason:
                others += 1
                assert state.state == full.state
                if state.conflict is None or state.conflict.irreducible:
                    assert state.conflict == full.conflict
    assert undecided > 5
    assert others > 100


@pytest.mark.parametrize(
    ("least", "prefer"),
    [
        ({"_MOST_ROUNDS": 0}, "price"),
        ({"_LIGHT_WORK": 1e-9, "_MOST_WORK": 1e-9}, "price"),
        ({"_MOST_ROUNDS": 0}, "space"),
    ],
    ids=["rounds", "work", "rounds-of-space"],
)
def test_a_best_answer_that_is_not_proved_is_not_given(
    monkeypatch: pytest.MonkeyPatch, least: dict[str, float], prefer: str
) -> None:
    for name, value in least.items():
        monkeypatch.setattr(optimum, name, value)
    shop = tight()
    with pytest.raises(SearchLimit, match="best was not settled"):
        complete(Search(shop), NOTHING, prefer)


def test_masses_too_fine_for_the_optimiser_are_no_answer_and_no_fault() -> None:
    small = (CASES / "small.yaml").read_text("utf-8")
    coarse = "{kind: measure, of: canopy.shell, rate: 6.5}"
    assert coarse in small
    fine = "{kind: sheet, of: canopy.shell, thickness: 1.123457, density: 2700.123457}"
    shop, problems = parse_catalogue(small.replace(coarse, fine), "small.yaml")
    assert shop is not None, problems
    with pytest.raises(SearchLimit, match="too many decimals to be added exactly"):
        complete(Search(shop), Selection("small"), "mass")


def test_package_deals_that_compete_in_too_many_ways_are_refused_clearly() -> None:
    shop = catalogue(
        [several("extra", [option(f"e{n}", 20, most=14) for n in range(3)])],
        package_deals=[
            {
                "id": f"d{n}",
                "title": f"Deal {n}",
                "picks": {"extra": {"e0": 1, f"e{1 + n % 2}": 1}},
                "price": n + 1,
            }
            for n in range(14)
        ],
    )
    with pytest.raises(SearchLimit, match="compete for the same picks"):
        complete(Search(shop), NOTHING)


def test_the_command_says_that_it_gave_up(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(searching, "_MOST_ROUNDS", 0)
    monkeypatch.setattr(optimum, "_MOST_ROUNDS", 0)
    new = tmp_path / "new.yaml"  # nothing has been asked about it yet
    new.write_text((CASES / "small.yaml").read_text("utf-8") + "# new\n", "utf-8")
    ran = run("options", "--catalogue", new)
    assert ran.code == 1
    assert ran.err == (
        "no answer: which package is best was not settled: too many packages were tried\n"
        "    hint: pick more first, such as the vehicle, and ask again\n"
    )


# Out of order


def test_a_contradictory_catalogue_is_told_as_one_conflict() -> None:
    colours = choice("colour", [option("red"), option("blue")])
    shop = catalogue(
        [colours],
        rules=[
            rule("no-red", rules_out={"colour": "red"}),
            rule("no-blue", rules_out={"colour": "blue"}),
        ],
    )
    search = Search(shop)
    found = options(search, NOTHING)
    assert found.conflict is not None
    assert [fact.subject for fact in found.conflict.facts] == ["no-blue", "no-red"]
    assert found.conflict.picks == ()
    assert complete(search, NOTHING) is None
    assert fixes(search, NOTHING).stopped
    kept = within(search, NOTHING, Money(Decimal(1000), "AUD"), [Pick("colour", "red")])
    assert kept.selection is None


def test_a_choice_whose_options_are_all_impossible_is_told_with_its_reason() -> None:
    shop = catalogue(
        [
            choice("battery", [option(f"b{n}", uses={"space": 5 + n}) for n in range(3)]),
            choice("box", [option("small", gives={"space": 4})]),
        ],
        limits=[limit("space", "l")],
    )
    found = options(Search(shop), NOTHING)
    assert found.conflict is not None
    assert [(fact.kind, fact.subject) for fact in found.conflict.facts] == [("limit", "space")]


def test_more_of_an_option_than_allowed_cannot_be_had() -> None:
    shop = catalogue([several("extra", [option("lamp", most=2)])])
    search = Search(shop)
    assert options(search, selected({("extra", "lamp"): 2})).conflict is None
    assert options(search, selected({("extra", "lamp"): 3})).conflict is not None


def test_a_rule_over_fifty_options_is_one_rule() -> None:
    names = [f"o{n:02}" for n in range(60)]
    shop = catalogue(
        [
            choice("one", [option(name) for name in names]),
            several("some", [option(name) for name in names], at_most=55),
        ],
        rules=[
            rule("many", when={"one": names[:50]}, needs={"some": {"at-least": 54}}),
            rule("few", when={"one": names[50:]}, rules_out={"some": names[:50]}),
        ],
    )
    search = Search(shop)
    assert complete(search, selected({("one", "o00"): 1})) is not None
    states = options(search, selected({("one", "o55"): 1})).options
    ruled_out = [s.option for s in states if s.choice == "some" and s.state == "ruled-out"]
    assert ruled_out == names[:50]
    picks = {("one", "o00"): 1, **{("some", name): 1 for name in names[:54]}}
    left = {
        s.option: s.state for s in options(search, selected(picks)).options if s.choice == "some"
    }
    assert left["o54"] == "open"
    picks["some", "o54"] = 1
    left = {
        s.option: s.state for s in options(search, selected(picks)).options if s.choice == "some"
    }
    assert left["o55"] == "ruled-out"


def chain() -> Iterator[Raw]:
    """Ten thousand rules over three hundred choices: each option needs the like of the next."""
    for n in range(299):
        for one in range(4):
            yield rule(f"r{n}-{one}", when={f"c{n}": f"o{one}"}, needs={f"c{n + 1}": f"o{one}"})
            for far in (2, 3, 5, 7, 11, 13, 17, 19):
                if n + far < 300:
                    others = [f"o{other}" for other in range(4) if other != one]
                    yield rule(
                        f"r{n}-{one}-{far}",
                        when={f"c{n}": f"o{one}"},
                        rules_out={f"c{n + far}": others},
                    )


def test_ten_thousand_rules_and_three_hundred_choices_are_answered_within_bounds() -> None:
    choices = [
        choice(f"c{n}", [option(f"o{one}", one + 1) for one in range(4)]) for n in range(300)
    ]
    shop = read(raw_catalogue(choices, rules=list(chain())), cautions=True)
    assert len(shop.rules) > 10_000
    tracemalloc.start()
    search = Search(shop)
    asked = [shop.by_id["c299"]]
    found = options(search, selected({("c0", "o2"): 1}), asked, reasons=False)
    assert [state.state for state in found.options] == [
        "ruled-out",
        "ruled-out",
        "implied",
        "ruled-out",
    ]
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 200 * 2**20
    assert search.counts.solves < 50


def test_a_large_catalogue_in_another_order_gives_the_same_answers() -> None:
    maker = LargeMaker("S", 3)
    data = maker.catalogue()
    searches = [Search(read(d, cautions=True)) for d in (data, shuffled(data, 1))]
    for share in (0.2, 0.6):
        picks = selected(maker.picks(share))
        found = [options(search, picks) for search in searches]
        assert set(found[0].options) == set(found[1].options)
        assert len({complete(search, picks) for search in searches}) == 1
        wanted = next(s for s in found[0].options if s.conflict is not None)
        key = wanted.choice, wanted.option
        offered = [fixes(search, picks, key) for search in searches]
        assert offered[0] == offered[1]


def test_names_mean_nothing_but_themselves() -> None:
    # renaming every option turns the answers into the same ones with other names
    for seed in range(6):
        maker = LargeMaker("S", seed)
        data = maker.catalogue()
        for key in ("package-deals",):
            data[key] = []
        picks = maker.picks(0.4)
        renamed = _renamed(data)
        found = [
            {
                (s.choice, s.option): s.state
                for s in options(Search(read(d, cautions=True)), p).options
            }
            for d, p in (
                (data, selected(picks)),
                (renamed, selected({(c, _name(c, o)): n for (c, o), n in picks.items()})),
            )
        ]
        assert {(c, _name(c, o)): state for (c, o), state in found[0].items()} == found[1]


def _name(choice_id: str, option_id: str) -> str:
    """Another name, which sorts the other way round."""
    turned = "".join(chr(ord("a") + ord("z") - ord(c)) if c.isalpha() else c for c in option_id)
    return option_id if choice_id == "vehicle" else f"n{turned}"


def _renamed(data: Raw) -> Raw:
    def condition(asked: Raw) -> Raw:
        found: Raw = {}
        for key, value in asked.items():
            if key in ("all", "any", "none"):
                found[key] = [condition(part) for part in value]
            elif isinstance(value, str):
                found[key] = _name(key, value)
            else:
                found[key] = [_name(key, one) for one in value]
        return found

    rules = [
        {k: condition(v) if k in ("when", "needs", "rules-out") else v for k, v in one.items()}
        for one in data["rules"]
    ]
    choices = [
        {**c, "options": [{**o, "id": _name(c["id"], o["id"])} for o in c["options"]]}
        for c in data["choices"]
    ]
    return {**data, "rules": rules, "choices": choices}
