"""The best ways on: fixes, completions and wishes within a budget, against listing everything.

The same small catalogues and the same oracle as for what can be had. Set ENGINE_SEEDS to try more.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import partial
from random import Random
from typing import Any, TypeAlias

import pytest

from configurator import Catalogue, Fixes, Money, Pick, ProposedFix
from configurator.catalogue.model import VEHICLE
from configurator.checking.check import check
from configurator.engine.completion import complete
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.engine.within import within
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved
from tests.support.building import (
    Raw,
    choice,
    option,
    raw_catalogue,
    read,
    rule,
    several,
    vehicle,
)
from tests.support.engine_cases import Case, cases, selected
from tests.support.engine_oracle import Oracle, World
from tests.support.random_catalogues import Counts, kind_of

SEEDS = int(os.environ.get("ENGINE_SEEDS", "40"))
BLOCK = 40
BLOCKS = [range(first, first + BLOCK) for first in range(0, SEEDS, BLOCK)]
"""Every run has the first of them, which has to hold every kind of case; others may lack one."""

Key: TypeAlias = tuple[str, str]
Made: TypeAlias = dict[Any, Any]


def held(found: Any) -> Counts:
    return dict(found.quantities)


# Completions


def room_then_price(oracle: Oracle, world: World) -> tuple[int, int, int]:
    """What is least for the roomiest, of those the cheapest, of those the one of fewest picks."""
    return oracle.taken(world), oracle.price(world), sum(world.counts.values())


@pytest.mark.parametrize("prefer", ["price", "mass", "space"])
@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_no_sound_selection_is_cheaper_lighter_or_roomier_then_cheaper_than_the_completion(
    seeds: range, prefer: str
) -> None:
    differ = deals = mended = 0
    for seed, this in cases(seeds):
        search, oracle = Search(this.shop), this.oracle
        figures: dict[str, Callable[[World], Any]] = {
            "price": oracle.price,
            "mass": oracle.mass,
            "space": partial(room_then_price, oracle),
        }
        figure = figures[prefer]
        for picks in this.picks:
            found = complete(search, selected(picks), prefer)
            sound = oracle.sound(picks)
            assert (found is None) == (not sound), (seed, picks)
            differ += len(set(map(figure, sound))) > 3
            deals += len({oracle.saved(w) for w in sound}) > 2
            mended += not sound
            if found is not None:
                world = next(w for w in sound if w.counts == held(found))
                assert figure(world) == min(map(figure, sound)), (seed, picks, found)
    if seeds == BLOCKS[0]:
        assert min(differ, deals, mended) > 3, "too few cases to prove something"


@pytest.mark.parametrize("seeds", BLOCKS[:1], ids=str)
def test_a_completion_does_not_hang_on_what_was_asked_before(seeds: range) -> None:
    for seed, this in cases(seeds):
        warm = Search(this.shop)
        for prefer in ("mass", "price"):
            for picks in this.picks:
                here = complete(warm, selected(picks), prefer)
                assert here == complete(Search(this.shop), selected(picks), prefer), (seed, picks)


# Fixes


def wishes_for(this: Case, seed: int) -> Iterator[tuple[Counts, Key | None]]:
    """Picks and an option wanted besides, or none."""
    dice = Random(seed)
    for picks in this.picks:
        yield picks, None
        some = [key for key in sorted(this.oracle.options) if key not in picks]
        if some:
            yield picks, dice.choice(some)


def possible_with(oracle: Oracle, picks: Counts, wanted: Key | None) -> bool:
    """Whether picks and the option wanted can be had together."""
    single = {c for c, _ in picks if kind_of(oracle.data, c) != "several"}
    if wanted is not None and wanted[0] in single:
        return False
    return bool(oracle.sound({**picks, **({wanted: 1} if wanted else {})}))


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_no_fix_changes_fewer_picks_is_more_varied_nor_comes_nearer_in_price_than_those_offered(
    seeds: range,
) -> None:
    seen: Counter[tuple[bool, bool]] = Counter()
    for seed, this in cases(seeds):
        search = Search(this.shop)
        for picks, wanted in wishes_for(this, seed):
            told = (seed, picks, wanted)
            answer = fixes(search, selected(picks), wanted)
            together = possible_with(this.oracle, picks, wanted)
            assert answer.go_together == together, told
            assert answer.nothing_to_mend == lacks_nothing(this.oracle, picks, wanted), told
            if answer.nothing_to_mend:
                assert not answer.fixes, told
            else:
                require_best(this.shop, this.oracle, picks, wanted, answer)
            seen[together, bool(answer.fixes)] += 1
    if seeds == BLOCKS[0]:
        assert min(seen[True, True], seen[True, False], seen[False, True]) > 3, seen


def lacks_nothing(oracle: Oracle, picks: Counts, wanted: Key | None) -> bool:
    """Whether just the picks and the option wanted can be had, with open choices of one filled."""
    if not possible_with(oracle, picks, wanted):
        return False
    free = set() if wanted is None else {wanted, wanted[0]}
    sound = oracle.sound({**picks, **({wanted: 1} if wanted else {})})
    return any(oracle.changes(picks, wanted, world).keys() <= free for world in sound)


PICKS = {("vehicle", "ute"): 1, ("roof", "r0"): 1, ("rack", "k0"): 1, ("lamps", "l0"): 1}


def clashing(seed: int, roofs: int) -> Raw:
    """A shop in which a roof, a rack and a lamp of ``PICKS`` do not go together."""
    dice = Random(seed)
    return raw_catalogue(
        [
            choice("roof", [option(f"r{n}", dice.randint(0, 90)) for n in range(roofs)]),
            choice("rack", [option(f"k{n}", dice.randint(0, 90)) for n in range(3)]),
            several("lamps", [option(f"l{n}", dice.randint(0, 90), most=2) for n in range(2)]),
        ],
        rules=[rule("clash", when={"roof": "r0", "lamps": "l0"}, rules_out={"rack": "k0"})],
        add_ons=[],
        limits=[],
        package_deals=[],
    )


def test_other_picks_change_before_the_same_ones_change_again() -> None:
    varied = 0
    for seed in range(20):
        data = clashing(seed, 4)
        shop, oracle = read(data), Oracle(data)
        found = fixes(Search(shop), selected(PICKS))
        varied += require_best(shop, oracle, PICKS, None, found)
        assert len({frozenset(changes_of(oracle, fix)) for fix in found.fixes}) == 3, seed
        assert {fix.count for fix in found.fixes} == {1}
    assert varied > 5


def test_leaving_out_is_another_kind_than_replacing() -> None:
    fridges = [option(f"f{n}", 50 + n) for n in range(5)]
    data = raw_catalogue(
        [
            choice("fridge", fridges, "at-most-one"),
            choice("roof", [option("low", 10), option("high", 30)]),
        ],
        rules=[rule("high", when={"fridge": "f0"}, needs={"roof": "high"})],
        add_ons=[],
        limits=[],
        package_deals=[],
    )
    picks = {("vehicle", "ute"): 1, ("fridge", "f0"): 1, ("roof", "low"): 1}
    shop, oracle = read(data), Oracle(data)
    found = fixes(Search(shop), selected(picks))
    passed_over = require_best(shop, oracle, picks, None, found)
    assert passed_over == 2
    assert [changes_of(oracle, fix) for fix in found.fixes] == [
        {"fridge": "f1"},
        {"roof": "high"},
        {"fridge": None},
    ]


def too_short(names: str, vehicles: Sequence[Raw] = (vehicle(),)) -> Catalogue:
    """A box too short for its unit, of which longer ones cost the same; they are listed by size."""
    sizes = [
        option(name, 100, space={"box": {"length": 500 * n, "width": 900, "height": 900}})
        for n, name in enumerate(names, start=1)
    ]
    unit = {"space": "box", "body": {"width": 800, "depth": 800, "height": 800}}
    data = raw_catalogue(
        [choice("size", sizes), choice("unit", [option("chest", 50, unit=unit)], "at-most-one")],
        spaces=[{"id": "box", "title": "box"}],
        vehicles=list(vehicles),
    )
    return read(data)


@pytest.mark.parametrize("names", ["abcde", "edcba", "bdaec"])
def test_of_fixes_at_the_same_price_the_next_size_comes_first(names: str) -> None:
    shop = too_short(names)
    asked = selected({(VEHICLE, "ute"): 1, ("size", names[0]): 1, ("unit", "chest"): 1})
    first = fixes(Search(shop), asked, count=1, keep=[Pick("unit", "")]).fixes[0]
    assert [change.after for change in first.changes] == [((names[1], 1),)]


def test_the_vehicle_stays_where_as_few_other_changes_do() -> None:
    shop = read(
        raw_catalogue(
            [choice("colour", [option("red"), option("blue", 900)])],
            rules=[rule("r", when={"vehicle": "ute"}, rules_out={"colour": "red"})],
            vehicles=[vehicle(), vehicle("other")],
        )
    )
    asked = selected({(VEHICLE, "ute"): 1, ("colour", "red"): 1})
    found = fixes(Search(shop), asked).fixes
    assert [[one.choice for one in fix.changes] for fix in found] == [["colour"], [VEHICLE]]


def test_what_is_kept_does_not_change_and_what_is_left_is_in_the_same_order() -> None:
    held_back = 0
    for seed in range(12):
        data = clashing(seed, 3)
        shop = read(data)
        every = fixes(Search(shop), selected(PICKS), count=20).fixes
        for keep in ("rack", "rack=k0", "lamps=l0", "roof"):
            found = fixes(Search(shop), selected(PICKS), count=20, keep=[Pick.named(keep)]).fixes
            name, _, only = keep.partition("=")
            for fix in found:
                for one, n in PICKS.items():
                    if one[0] == name and only in ("", one[1]):
                        assert fix.selection.quantity(*one) == n, (seed, keep)
            single = [fix for fix in every if fix.count == 1]
            allowed = [f for f in single if f.changes[0].choice != name]
            offered = [f for f in found if f.count == 1]
            assert {f.changes for f in offered} >= {f.changes for f in allowed}, (seed, keep)
            held_back += len(single) - len(allowed)
        assert not fixes(
            Search(shop), selected(PICKS), keep=[Pick("roof"), Pick("rack"), Pick("lamps")]
        ).fixes
    assert held_back > 20


def require_best(
    shop: Catalogue, oracle: Oracle, picks: Counts, wanted: Key | None, answer: Fixes
) -> int:
    """Each fix must be the best of those left; how often one as short came nearer in price."""
    told = (picks, wanted)
    before = oracle.price_of(picks)
    left = [
        (w, oracle.changes(picks, wanted, w)) for w in oracle.sound({wanted: 1} if wanted else {})
    ]

    kinds: list[set[tuple[Any, bool]]] = []
    passed_over = 0
    for fix in answer.fixes:
        ranked = [
            (
                len(made),
                kind(made) in kinds,
                pieces_too_many(made, picks),
                oracle.price_is_open(picks, wanted, w),
                abs(oracle.decided_price(picks, wanted, w) - before),
            )
            for w, made in left
        ]
        best = min(ranked)
        passed_over += best[-1] > min(far for many, *_, far in ranked if many == best[0])
        off = (
            price(Resolved(shop, fix.selection)).total
            - price(Resolved(shop, selected(picks))).total
        )
        assert fix.difference in (None, off), told
        assert (fix.difference is None) == bool(fix.awaits or fix.unpriced), told
        made = changes_of(oracle, fix)
        pieces = pieces_too_many(made, picks)
        offered = fix.count, kind(made) in kinds, pieces, fix.difference is None, abs(off.amount)
        assert offered == (*best[:4], Decimal(best[4]) / 100), told
        kinds.append(kind(made))
        assert any(made == other for _, other in left), told
        left = [(w, other) for w, other in left if not holds_all(other, made, picks)]
    assert len(answer.fixes) == 3 or not left, told
    return passed_over


def pieces_too_many(made: Made, picks: Counts) -> int:
    """How many pieces more than one are added of options that several may be had of."""
    added = (n - picks.get(key, 0) for key, n in made.items() if isinstance(key, tuple))
    return sum(max(0, more - 1) for more in added)


def holds_all(changes: Made, of: Made, picks: Counts) -> bool:
    """Whether those changes are all among these; what is added beside others may be any option."""
    picked = {key for key in of if key in picks or any(key == name for name, _ in picks)}
    return all(
        key in changes
        and (changes[key] == after or bool(picked and key not in picked and changes[key] and after))
        for key, after in of.items()
    )


def test_what_is_added_beside_a_change_makes_no_other_fix() -> None:
    """A lower roof in place of the higher one needs a colour, which may be any."""
    data = raw_catalogue(
        [
            choice("roof", [option("high", 30), option("low", 10), option("flat", 0)]),
            choice("paint", [option(n, 5) for n in ("red", "blue", "grey")], "at-most-one"),
            choice("door", [option("wide", 9), option("slim", 9)]),
        ],
        rules=[
            rule("tall", when={"roof": "high"}, rules_out={"door": "wide"}),
            rule("painted", when={"door": "wide"}, needs={"paint": ["red", "blue", "grey"]}),
            rule("slim", when={"door": "slim"}, rules_out={"roof": ["high", "low", "flat"]}),
        ],
        add_ons=[],
        limits=[],
        package_deals=[],
    )
    picks = {("vehicle", "ute"): 1, ("roof", "high"): 1, ("door", "wide"): 1}
    shop, oracle = read(data), Oracle(data)
    found = fixes(Search(shop), selected(picks), count=5)
    assert [set(changes_of(oracle, fix)) for fix in found.fixes] == [{"roof", "paint"}] * 2
    assert {changes_of(oracle, fix)["roof"] for fix in found.fixes} == {"low", "flat"}


def kind(made: Made) -> set[tuple[Any, bool]]:
    """What changes, and whether anything of it is left."""
    return {(key, bool(after)) for key, after in made.items()}


def changes_of(oracle: Oracle, fix: ProposedFix) -> dict[Any, Any]:
    """A fix's changes as the oracle tells them."""
    found: dict[Any, Any] = {}
    for change in fix.changes:
        before, after = dict(change.before), dict(change.after)
        if kind_of(oracle.data, change.choice) == "several":
            for option in before.keys() | after.keys():
                if before.get(option, 0) != after.get(option, 0):
                    found[change.choice, option] = after.get(option, 0)
        else:
            found[change.choice] = next(iter(after), None)
    return found


@pytest.mark.parametrize("seeds", BLOCKS[:2], ids=str)
def test_a_fix_applied_can_be_finished_and_then_nothing_of_the_catalogue_stops_it(
    seeds: range,
) -> None:
    for seed, this in cases(seeds):
        search = Search(this.shop)
        for picks, wanted in wishes_for(this, seed):
            for fix in fixes(search, selected(picks), wanted).fixes:
                assert wanted is None or fix.selection.quantity(*wanted)
                finished = complete(search, fix.selection)
                assert finished is not None, (seed, picks, wanted)
                stops = {f.code for f in check(Resolved(this.shop, finished)).stops}
                assert not stops & {"rule", "limit", "fit", "layout", "undecided"}, (seed, picks)


# Budgets

KINDS = ("nothing", "granted", "left", "over", "added", "instead")


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_the_wishes_granted_are_the_most_in_order_that_the_budget_allows(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed, this in cases(seeds):
        search, oracle, dice = Search(this.shop), this.oracle, Random(seed)
        picks = this.picks[1]
        wishes = []
        for key in dice.sample(sorted(oracle.options), 4):
            most = oracle.options[key].get("most", 1)
            wishes.append(Pick(*key, dice.randint(1, most)))
        sound = oracle.sound(picks)
        least = min(map(oracle.price, sound), default=1000)
        cents = max(1, least + dice.choice([-500, 0, 500, 1500, 4000, 20000]))
        budget = Money(Decimal(cents) / 100, "AUD")
        found = within(search, selected(picks), budget, wishes)
        told = (seed, picks, wishes, cents)

        def cheapest(wanted: Counts, o: Oracle = oracle) -> int | None:
            return min(map(o.price, o.sound(wanted)), default=None)

        start, granted = cheapest(picks), dict(picks)
        asked_with: dict[str, dict[Key, int]] = {}
        if start is None or start > cents:
            seen["nothing"] += 1
            assert found.selection is None, told
            assert found.granted == found.added == (), told
            asked_with = {str(wish): with_wish(granted, wish) for wish in wishes}
        else:
            names = []
            for wish in wishes:
                asked_with[str(wish)] = tried = with_wish(granted, wish)
                cost = cheapest(tried) if understood(oracle, tried) else None
                if cost is not None and cost <= cents:
                    granted = tried
                    names.append(wish)
            seen["granted"] += len(names)
            seen["left"] += len(wishes) - len(names)
            assert [*map(str, found.granted)] == [*map(str, names)], told
            assert found.selection is not None
            assert found.to_pay is not None
            assert 100 * found.to_pay.amount == cheapest(granted), told
            assert price(Resolved(this.shop, found.selection)).to_pay == found.to_pay
            every = held(found.selection).items()
            more = {key: n - granted.get(key, 0) for key, n in every if n > granted.get(key, 0)}
            assert {(p.choice, p.option): p.quantity for p in found.added} == more, told
            seen["added"] += len(more)
        for left in found.left_out:
            tried = asked_with[str(left.wish)]
            cost = cheapest(tried) if understood(oracle, tried) else None
            if left.instead_of is not None:
                rival = left.instead_of.key
                assert rival in tried, told
                assert rival[0] == left.wish.choice, told
                assert rival[1] != left.wish.option, told
                possible = bool(oracle.sound({k: n for k, n in tried.items() if k != rival}))
                assert left.state == ("instead" if possible else "ruled-out"), told
                assert (left.conflict is None) == possible, told
                seen["instead"] += possible
            elif cost is None:
                assert understood(oracle, tried), told
                assert (left.state, left.over) == ("ruled-out", None), told
                assert left.conflict is not None, told
            else:
                assert left.state == "too-dear", told
                assert left.over is not None, told
                assert 100 * left.over.amount == cost - cents, told
                seen["over"] += 1
    if seeds == BLOCKS[0]:
        assert min(seen[word] for word in KINDS) > 0, seen


def with_wish(picks: Counts, wish: Pick) -> dict[Key, int]:
    """The picks and at least so many of the wish."""
    key = wish.choice, wish.option
    return {**picks, key: max(picks.get(key, 0), wish.quantity)}


def understood(oracle: Oracle, picks: Counts) -> bool:
    """Whether no choice of one has two answers."""
    single = [c for c, _ in picks if kind_of(oracle.data, c) != "several"]
    return len(single) == len(set(single))
