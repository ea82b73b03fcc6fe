"""What can still be had and why not: the engine against listing every complete selection.

The catalogues are small and made at random, with something of everything; the oracle shares no
code with the engine. Set ENGINE_SEEDS to try more of them than usual.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from functools import cache
from threading import Thread

import pytest
from attrs import evolve

from configurator import Catalogue, OptionsAnswer, Pick, Selection
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from tests.support.building import read
from tests.support.engine_cases import Facts, case, cases, conflicts_in, irreducible, selected
from tests.support.engine_oracle import World
from tests.support.random_catalogues import FLAVOURS, Counts, shuffled

SEEDS = int(os.environ.get("ENGINE_SEEDS", "125"))
BLOCK = 125
BLOCKS = [range(first, first + BLOCK) for first in range(0, SEEDS, BLOCK)]
SOME = [range(50)]


@cache
def answers(seed: int) -> list[tuple[Facts, Counts, OptionsAnswer]]:
    """What the engine says, one search for all picks of a catalogue."""
    this = case(seed)
    assert this is not None
    found = []
    for shop, facts in this.shops:
        search = Search(shop)
        found += [(facts, picks, options(search, selected(picks))) for picks in this.picks]
    return found


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_an_option_is_open_just_where_listing_finds_a_sound_selection_with_it(seeds: range) -> None:
    seen: Counter[tuple[str, str]] = Counter()
    tried = 0
    for seed, this in cases(seeds):
        tried += 1
        flavour = FLAVOURS[seed % len(FLAVOURS)]
        seen.update((flavour, fact[0]) for w in this.oracle.worlds for fact in w.broken)
        for facts, picks, found in answers(seed):
            states = {(s.choice, s.option): s.state for s in found.options}
            assert states == this.oracle.states(picks, facts), (seed, picks, facts)
            sound = bool(this.oracle.sound(picks, facts))
            assert (found.conflict is None) == sound, (seed, picks, facts)
            seen[flavour, "sound" if sound else "contradictory"] += 1
            seen.update((flavour, state) for state in (states.values() if sound else ()))
            for conflict in conflicts_in(found):
                seen.update((flavour, f"by {fact.kind}") for fact in conflict.facts)
    assert tried > len(seeds) * 0.85
    assert not {kind: seen[kind] for kind, least in COMMON.items() if seen[kind] < least}


COMMON = {
    (flavour, kind): 5
    for flavour in FLAVOURS
    for kind in ("sound", "contradictory", "open", "implied", "ruled-out", "picked")
}
"""How often each kind of case has to be met in a block, and below, what conflicts are about."""
for flavour, kinds in {
    "rules": ("rule",),
    "limits": ("limit",),
    "fit": ("fit",),
    "crowd": ("layout",),
    "everything": ("rule", "limit", "fit"),
}.items():
    for kind in kinds:
        # a conflict names the layout only where no unit fails alone
        COMMON |= {(flavour, kind): 800, (flavour, f"by {kind}"): 1 if kind == "layout" else 8}


@pytest.mark.parametrize("seeds", BLOCKS[:2], ids=str)
def test_what_a_quick_answer_settles_is_what_listing_finds(seeds: range) -> None:
    asked = left = 0
    for seed, this in cases(seeds):
        search = Search(this.shop)
        for picks in this.picks:
            known = this.oracle.states(picks)
            for one in options(search, selected(picks), reasons=False, quick=True).options:
                asked += 1
                if one.state == "undecided":
                    left += 1
                    assert one.reason
                elif one.state == "open" and one.reason:
                    assert known[one.choice, one.option] in ("open", "implied"), (seed, picks)
                else:
                    assert one.state == known[one.choice, one.option], (seed, picks, one)
    assert left < asked / 20


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_a_conflict_is_enough_and_none_of_it_is_too_much(seeds: range) -> None:
    left = found_reasons = 0
    for seed, this in cases(seeds):
        for facts, picks, found in answers(seed):
            for state in found.options:
                single = this.shop.by_id[state.choice].pick != "several"
                aside = single and any(c == state.choice for c, _ in picks)
                told = state.state == "ruled-out" and (found.conflict is None or aside)
                slow = told and "takes longer" in state.reason
                assert (state.conflict is not None) == (told and not slow), (seed, picks, state)
                left += slow
                found_reasons += told
                if state.conflict is not None and aside:
                    assert state.choice not in {p.choice for p in state.conflict.picks}, seed
            for conflict in conflicts_in(found):
                irreducible(this.oracle, conflict, (seed, picks, facts))
                left += not conflict.irreducible
    assert left < found_reasons / 50, "reasons of crowded rooms that take too long"


@pytest.mark.parametrize("seeds", SOME, ids=str)
def test_what_was_asked_before_and_the_order_of_the_file_change_nothing(seeds: range) -> None:
    for seed, this in cases(seeds):
        warm = Search(this.shop)
        mixed = Search(read(shuffled(this.data, seed), cautions=True))
        for picks in this.picks:
            answers = [options(search, selected(picks)) for search in (warm, Search(this.shop))]
            assert answers[0] == answers[1], (seed, picks)
            other = options(mixed, selected(dict(reversed(list(picks.items())))))
            assert set(other.options) == set(answers[0].options), (seed, picks)
            assert other.conflict == answers[0].conflict, (seed, picks)


@pytest.mark.parametrize("seeds", SOME, ids=str)
def test_one_more_pick_opens_nothing_and_one_rule_or_limit_less_closes_nothing(
    seeds: range,
) -> None:
    for seed, this in cases(seeds):
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
    return {(s.choice, s.option) for s in found.options if s.state != "ruled-out"}


# Threads


def test_a_search_answers_in_the_thread_that_made_it_and_refuses_any_other() -> None:
    _, this = next(iter(cases(range(1))))
    search, picks = Search(this.shop), selected(this.picks[0])
    refused: list[str] = []

    def ask() -> None:
        questions: tuple[Callable[[Search, Selection], object], ...] = (options, complete, fixes)
        for question in questions:
            try:
                question(search, picks)
            except RuntimeError as error:
                refused.append(str(error))

    thread = Thread(target=ask)
    thread.start()
    thread.join()
    assert refused == ["a Search belongs to the thread that made it; make one for each thread"] * 3
    assert options(search, picks) == options(Search(this.shop), picks)


@pytest.mark.parametrize("seeds", SOME, ids=str)
def test_a_choice_of_which_none_is_wanted_stays_empty(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed, this in cases(seeds):
        oracle, search = this.oracle, Search(this.shop)
        for picks in this.picks:
            empty = [
                choice.id
                for choice in this.shop.by_id.values()
                if choice.pick != "one" and not any(name == choice.id for name, _ in picks)
            ]
            none = tuple(sorted(empty))[: 1 + seed % 2]
            selection = evolve(selected(picks), none=tuple(map(Pick, none)))

            sound = without(oracle.sound(picks), none)
            for one in options(search, selection).options:
                key = one.choice, one.option
                seen[one.state] += 1
                if key in picks:
                    assert one.state == "picked"
                elif one.choice in none:
                    rest = tuple(name for name in none if name != one.choice)
                    can = bool(without(oracle.sound({**picks, key: 1}), rest))
                    assert one.state == ("instead" if can else "ruled-out"), (seed, picks, one)
                elif one.state != "instead" and key[0] not in {name for name, _ in picks}:
                    having = sum(key in world.counts for world in sound)
                    known = "implied" if having == len(sound) else "open"
                    assert one.state == (known if having else "ruled-out"), (seed, picks, one)
            finished = complete(search, selection)
            assert (finished is None) == (not sound), (seed, picks)
            if finished is not None:
                assert not set(none) & set(finished.chosen)
                assert finished.empty == {*none}
                cheapest = min(oracle.price(world) for world in sound)
                assert oracle.price_of(dict(finished.quantities)) == cheapest
            else:
                for fix in fixes(search, selection).fixes:
                    left = oracle.sound(dict(fix.selection.quantities))
                    assert without(left, tuple(fix.selection.empty)), (seed, picks, fix)
                    seen["fix"] += 1
    known_kinds = ("open", "implied", "ruled-out", "instead", "fix")
    assert not {kind for kind in known_kinds if seen[kind] < 5}


def without(worlds: list[World], none: tuple[str, ...]) -> list[World]:
    """Those in which nothing is picked in the choices of which none is wanted."""
    return [world for world in worlds if not any(name in none for name, _ in world.counts)]
