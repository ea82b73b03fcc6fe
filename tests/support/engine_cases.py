"""Random catalogues with what is true of them, for every test of the engine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import chain
from random import Random

from attrs import evolve, frozen

from configurator import Catalogue, Conflict, OptionsAnswer, Pick, Selection
from tests.support.building import Raw, read
from tests.support.engine_oracle import Oracle
from tests.support.layout_oracle import TooMany
from tests.support.random_catalogues import Counts, Maker

Facts = frozenset[tuple[str, str]]


@frozen
class Case:
    """A catalogue as plain data, what is true of it, and a few picks.

    Attributes:
        shops: the catalogue as read, and again with only some of its rules and limits; each with
            the facts that hold in it.
    """

    data: Raw
    oracle: Oracle
    shops: tuple[tuple[Catalogue, Facts], ...]
    picks: tuple[Counts, ...]

    @property
    def shop(self) -> Catalogue:
        return self.shops[0][0]


@cache
def case(seed: int) -> Case | None:
    maker = Maker(seed)
    data = maker.catalogue()
    some = tuple(maker.picks(data, share) for share in (0.0, 0.3, 0.6))
    try:
        oracle = Oracle(data)
    except TooMany:
        return None
    shop = read(data, cautions=True)
    return Case(data, oracle, tuple(_with_less(shop, oracle.facts, Random(seed))), some)


def _with_less(shop: Catalogue, facts: Facts, dice: Random) -> Iterator[tuple[Catalogue, Facts]]:
    yield shop, facts
    for _ in range(3):
        rules = tuple(rule for rule in shop.rules if dice.random() < 0.6)
        limits = tuple(limit for limit in shop.limits if dice.random() < 0.6)
        left = {("rule", rule.id) for rule in rules} | {("limit", limit.id) for limit in limits}
        kept = {fact for fact in facts if fact[0] not in ("rule", "limit") or fact in left}
        if len(kept) < len(facts):
            yield evolve(shop, rules=rules, limits=limits), frozenset(kept)


def cases(seeds: Iterable[int]) -> Iterator[tuple[int, Case]]:
    """The cases of those seeds, but for the few with more layouts than can be listed."""
    for seed in seeds:
        this = case(seed)
        if this is not None:
            yield seed, this


def selected(picks: Counts) -> Selection:
    return Selection("test", tuple(Pick(*key, n) for key, n in picks.items()))


def conflicts_in(found: OptionsAnswer) -> list[Conflict]:
    every = chain([found.conflict], (state.conflict for state in found.options))
    return [conflict for conflict in every if conflict is not None]


def irreducible(oracle: Oracle, conflict: Conflict, told: object) -> None:
    wanted = {(conflict.wanted.choice, conflict.wanted.option): 1} if conflict.wanted else {}
    picks = {(pick.choice, pick.option): pick.quantity for pick in conflict.picks}
    facts = {(fact.kind, fact.subject) for fact in conflict.facts}
    assert not oracle.sound(picks | wanted, facts), (told, conflict)
    if not conflict.irreducible:
        assert "Some of these may not be part" in str(conflict)
        return
    for key in picks:
        fewer = {other: n for other, n in picks.items() if other != key}
        assert oracle.sound(fewer | wanted, facts), (told, conflict, key)
    for fact in facts:
        assert oracle.sound(picks | wanted, facts - {fact}), (told, conflict, fact)
