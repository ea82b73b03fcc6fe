"""What can still be had and why not: the engine against listing every complete selection.

The catalogues are small and made at random, with something of everything; the oracle shares no
code with the engine. Set ENGINE_SEEDS to try more of them than usual.
"""

from __future__ import annotations

import os
from collections import Counter
from functools import lru_cache
from itertools import chain

import pytest
from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options, options
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.search import Search
from configurator.selection import Selection
from tests.building import Raw, read
from tests.engine_oracle import Oracle
from tests.random_catalogues import FLAVOURS, Counts, Maker, shuffled

SEEDS = int(os.environ.get("ENGINE_SEEDS", "960"))
BLOCK = 60
BLOCKS = [range(first, first + BLOCK) for first in range(0, SEEDS, BLOCK)]


@frozen
class Case:
    """A catalogue as plain data and as read, what is true of it, and a few picks."""

    data: Raw
    shop: Catalogue
    oracle: Oracle
    picks: tuple[Counts, ...]


@lru_cache(maxsize=2 * BLOCK)
def case(seed: int) -> Case:
    maker = Maker(seed)
    data = maker.catalogue()
    some = tuple(maker.picks(data, share) for share in (0.0, 0.3, 0.6))
    return Case(data, read(data, cautions=True), Oracle(data), some)


def selected(picks: Counts) -> Selection:
    return Selection("test", tuple(Pick(*key, n) for key, n in picks.items()))


def conflicts_in(found: Options) -> list[Conflict]:
    every = chain([found.conflict], (state.conflict for state in found.states))
    return [conflict for conflict in every if conflict is not None]


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_an_option_is_open_just_where_listing_finds_a_sound_selection_with_it(seeds: range) -> None:
    for seed in seeds:
        this = case(seed)
        search = Search(this.shop)
        for picks in this.picks:
            found = options(search, selected(picks))
            states = {(s.choice, s.option): s.state for s in found.states}
            assert states == this.oracle.states(picks), (seed, picks)
            assert (found.conflict is None) == bool(this.oracle.sound(picks)), (seed, picks)


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_a_conflict_is_enough_and_none_of_it_is_too_much(seeds: range) -> None:
    for seed in seeds:
        this = case(seed)
        search = Search(this.shop)
        for picks in this.picks:
            for conflict in conflicts_in(options(search, selected(picks))):
                irreducible(this.oracle, conflict, (seed, picks))


def irreducible(oracle: Oracle, conflict: Conflict, told: object) -> None:
    wanted = {(conflict.wanted.choice, conflict.wanted.option): 1} if conflict.wanted else {}
    picks = {(pick.choice, pick.option): pick.quantity for pick in conflict.picks}
    facts = {(fact.kind, fact.subject) for fact in conflict.facts}
    assert not oracle.sound(picks | wanted, facts), (told, conflict)
    for key in picks:
        fewer = {other: n for other, n in picks.items() if other != key}
        assert oracle.sound(fewer | wanted, facts), (told, conflict, key)
    for fact in facts:
        assert oracle.sound(picks | wanted, facts - {fact}), (told, conflict, fact)


@pytest.mark.parametrize("seeds", BLOCKS[: len(BLOCKS) // 2], ids=str)
def test_what_was_asked_before_and_the_order_of_the_file_change_nothing(seeds: range) -> None:
    for seed in seeds:
        this = case(seed)
        warm = Search(this.shop)
        mixed = Search(read(shuffled(this.data, seed), cautions=True))
        for picks in this.picks:
            answers = [options(search, selected(picks)) for search in (warm, Search(this.shop))]
            assert answers[0] == answers[1], (seed, picks)
            other = options(mixed, selected(dict(reversed(picks.items()))))
            assert set(other.states) == set(answers[0].states), (seed, picks)
            assert other.conflict == answers[0].conflict, (seed, picks)


@pytest.mark.parametrize("seeds", BLOCKS[: len(BLOCKS) // 2], ids=str)
def test_one_more_pick_opens_nothing_and_one_rule_or_limit_less_closes_nothing(
    seeds: range,
) -> None:
    for seed in seeds:
        this = case(seed)
        picks = this.picks[1]
        before = can_be_had(this.shop, picks)
        answered = {name for name, _ in picks if this.shop.by_id[name].pick != "several"}
        for key in sorted(this.oracle.options)[seed % 3 :: 3]:
            if key not in picks and key[0] not in answered:
                assert can_be_had(this.shop, {**picks, key: 1}) <= before, (seed, key)
        shop = this.shop
        for index in range(2):
            rules, limits = list(shop.rules), list(shop.limits)
            del rules[index : index + 1], limits[index : index + 1]
            for fewer in (evolve(shop, rules=tuple(rules)), evolve(shop, limits=tuple(limits))):
                assert before <= can_be_had(fewer, picks), (seed, index)


def can_be_had(shop: Catalogue, picks: Counts) -> set[tuple[str, str]]:
    """The options that some complete sound selection has besides the picks."""
    found = options(Search(shop), selected(picks))
    if found.conflict is not None:
        return set()
    return {(s.choice, s.option) for s in found.states if s.state != "ruled-out"}


def test_the_catalogues_are_varied() -> None:
    seen: Counter[tuple[str, str]] = Counter()
    for seed in range(120):
        this = case(seed)
        flavour = FLAVOURS[seed % len(FLAVOURS)]
        seen.update((flavour, fact[0]) for w in this.oracle.worlds for fact in w.broken)
        for picks in this.picks:
            sound = bool(this.oracle.sound(picks))
            seen[flavour, "sound" if sound else "contradictory"] += 1
            if sound:
                seen.update((flavour, state) for state in this.oracle.states(picks).values())
                found = options(Search(this.shop), selected(picks))
                for conflict in conflicts_in(found):
                    seen.update((flavour, f"by {fact.kind}") for fact in conflict.facts)
    words = ("sound", "contradictory", "open", "implied", "ruled-out", "picked")
    rare = {key: seen[key] for key in ((f, w) for f in FLAVOURS for w in words) if seen[key] < 15}
    assert not rare
    facts = {"rules": ["rule"], "limits": ["limit"], "fit": ["fit"]}
    facts["everything"] = ["rule", "limit", "fit"]
    for flavour, kinds in facts.items():
        for kind in kinds:
            assert seen[flavour, kind] > 1000
            assert seen[flavour, f"by {kind}"] > 15, (flavour, kind, seen[flavour, f"by {kind}"])
