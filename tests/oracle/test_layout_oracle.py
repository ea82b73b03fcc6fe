"""Fit or not, decided by the package and by trying every place: no disagreement either way."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from unittest.mock import patch

import pytest
from attrs import evolve

from configurator import Catalogue, Layout, Selection
from configurator.fit.carriers import only
from configurator.fit.conflict import least_unfit, unfit_whatever_carries
from configurator.fit.model import WORK, arrange_hard
from configurator.fit.rooms import FREE, Room, rooms_of
from configurator.fit.search import arrange
from configurator.layout.answers import lay_out
from configurator.selection.resolved import Resolved
from tests.support.edge_rooms import edge
from tests.support.layout_oracle import TooMany, faults, possible
from tests.support.tiny_rooms import case, reaching, stacked


def agrees(
    seed: int, case: Callable[[int], tuple[Catalogue, Selection]] = case, second: bool = False
) -> bool | None:
    """The package's answer, compared; None where too many layouts would have to be tried."""
    catalogue, selection = case(seed)
    try:
        plain = possible(Resolved(catalogue, selection), most=4_000)
    except TooMany:
        return None
    answer = lay_out(Resolved(catalogue, selection))
    fits = isinstance(answer, Layout)
    assert fits == plain, f"seed {seed}: the package says {fits}"
    if isinstance(answer, Layout):
        wrong = faults(Resolved(catalogue, selection), answer.placements)
        assert not wrong, f"seed {seed}: {wrong}"
    if second:
        rooms = rooms_of(Resolved(catalogue, selection))[0]
        assert all(arrange_hard(room) for room in rooms) == plain, f"seed {seed}"
    return fits


@pytest.mark.parametrize("start", range(0, 240, 120))
def test_package_and_plain_search_agree(start: int) -> None:
    found = [agrees(seed) for seed in range(start, start + 120)]
    assert found.count(True) > 15
    assert found.count(False) > 15


def test_package_and_plain_search_agree_on_what_is_within_reach() -> None:
    found = [agrees(seed, reaching, seed % 4 == 0) for seed in range(100)]
    assert found.count(True) > 20
    assert found.count(False) > 20


def test_second_opinion_agrees_on_the_same_cases() -> None:
    asked = 0
    for seed in range(2000, 2040):
        catalogue, selection = case(seed)
        try:
            plain = possible(Resolved(catalogue, selection), most=4_000)
        except TooMany:
            continue
        for room in rooms_of(Resolved(catalogue, selection))[0]:
            assert (arrange_hard(room) is not None) == plain, f"seed {seed}"
            asked += 1
    assert asked > 15


def test_what_crosses_one_plane_changes_no_answer_of_the_second_opinion() -> None:
    outcomes = []
    for seed in range(30):
        room = edge(seed, 5 + seed % 6)
        told = arrange_hard(room) is not None
        with patch("configurator.fit.model.crossings", return_value=()):
            assert (arrange_hard(room) is not None) == told, f"seed {seed}"
        outcomes.append(told)
    assert min(outcomes.count(True), outcomes.count(False)) > 3


def test_units_go_in_beside_optional_carriers_where_they_do_beside_some_of_them() -> None:
    """Every choice of the others is tried, each as a room of units that all have to go in."""
    outcomes, spared = [], 0
    for seed in range(5000, 5060):
        catalogue, selection = case(seed)
        for room in rooms_of(Resolved(catalogue, selection))[0]:
            count = range(len(room.items))
            for kept in (set(k) for n in (1, 2) for k in combinations(count, n)):
                plain = _beside_some(room, kept)
                part = only(room, kept)
                assert (arrange(part) is not None) == plain, f"seed {seed}: {kept}"
                assert (arrange_hard(part) is not None) == plain, f"seed {seed}: {kept}"
                few = unfit_whatever_carries(part, WORK)
                assert (few is None) == plain, f"seed {seed}: {kept}"
                if few is not None:
                    assert arrange(only(part, few)) is None, f"seed {seed}: {kept}"
                    spared += len(few) < len(kept)
                on = {s.on for index in kept for s in room.items[index].supports}
                outcomes.append((plain, on - kept > {FREE}))
    assert all(
        outcomes.count((fits, more)) > 10 for fits in (False, True) for more in (False, True)
    ), outcomes
    assert spared > 10


def test_units_of_a_tight_space_do_without_a_stack_only_where_none_would_get_them_in() -> None:
    """Each seed named by itself fails where a check is left out.

    Whether a unit may be as low as the floor, sweeps a strut there, leaves room beside it on a bed,
    is wider than its stack, or stands on one that begins above the floor.
    """
    outcomes = []
    for seed in (*range(300), 445, 15309, 802, 1460, 464, 827):
        catalogue, selection = stacked(seed)
        for room in rooms_of(Resolved(catalogue, selection))[0]:
            count = range(len(room.items))
            for kept in (set(k) for n in (1, 2, 3) for k in combinations(count, n)):
                plain = _beside_some(room, kept)
                part = only(room, kept)
                assert (arrange(part) is not None) == plain, f"seed {seed}: {kept}"
                if seed < 4:
                    assert (arrange_hard(part) is not None) == plain, f"seed {seed}: {kept}"
                outcomes.append(plain)
    assert min(outcomes.count(True), outcomes.count(False)) > 500, outcomes


def _beside_some(room: Room, kept: set[int]) -> bool:
    """Whether these units go in together with some choice of the others."""
    others = [index for index in range(len(room.items)) if index not in kept]
    return any(
        arrange(_alone(room, kept | set(some))) is not None
        for n in range(len(others) + 1)
        for some in combinations(others, n)
    )


def _alone(room: Room, kept: set[int]) -> Room:
    """The room with only these units."""
    place = {index: new for new, index in enumerate(sorted(kept))} | {FREE: FREE}
    items = []
    for index in sorted(kept):
        item = room.items[index]
        supports = [evolve(s, on=place[s.on]) for s in item.supports if s.on in place]
        items.append(evolve(item, supports=tuple(supports)))
    return evolve(room, items=tuple(items))


@pytest.mark.parametrize("seed", [1000, 1001, 1004])
def test_crowded_room_of_25_units_is_decided(seed: int) -> None:
    """Pairs of units alone do not settle two of these within the work allowed."""
    assert (arrange(edge(seed, 25)) is not None) == (seed == 1001)


@pytest.mark.parametrize("seed", [201, 204, 207, 213])
def test_none_of_the_units_of_a_refusal_can_be_spared(seed: int) -> None:
    room = edge(seed, 12)
    kept, least = least_unfit(room, opinions=12)
    assert least
    assert arrange(only(room, kept)) is None
    for index in kept:
        assert arrange(only(room, set(kept) - {index})) is not None
