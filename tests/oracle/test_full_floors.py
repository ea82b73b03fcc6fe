"""Floors that units fill: against brute force, a published packing, and a refusal by hand."""

from __future__ import annotations

import random
from collections import Counter
from itertools import product
from typing import Any

import pytest
from attrs import evolve

from configurator.fit.full_floors import filled
from configurator.fit.layout import Layout
from configurator.fit.rooms import Room, rooms_of
from configurator.fit.search import arrange
from configurator.layout.answers import lay_out
from configurator.selection.resolved import Resolved
from configurator.words import Text
from tests.support.holds import hold, space, unit
from tests.support.layout_oracle import faults
from tests.support.packings import ORDER_21

Piece = tuple[int, int, bool]
"""The sides of a piece, and whether it may turn."""

SEVENTEEN = [
    (8, 11), (10, 9), (20, 5), (31, 4), (9, 15), (15, 9), (16, 9), (12, 15), (21, 9), (20, 10),
    (32, 7), (16, 15), (23, 11), (32, 8), (29, 9), (29, 6), (29, 3),
]  # fmt: skip
"""The pieces of a strip of 60 x 48, cut at random."""


def floor(sides: tuple[int, int], pieces: list[Piece], divider: int = 0, **more: Any) -> Resolved:
    """A floor of these sides and pieces on it; their fronts are along the floor."""
    units = [
        unit(f"p{at}", (long, wide, 1), built_in=True, turns=turns, **more)
        for at, (long, wide, turns) in enumerate(pieces)
    ]
    return Resolved(*hold(space((*sides, 1), divider=divider), units))


def room_of(sides: tuple[int, int], pieces: list[Piece]) -> Room:
    return rooms_of(floor(sides, pieces))[0][0]


def covers(sides: tuple[int, int], pieces: list[Piece]) -> bool:
    """Whether pieces cover the floor: each in every way on the first bare square, in turn."""

    def cover(bare: frozenset[tuple[int, int]], left: Counter[Piece]) -> bool:
        if not bare:
            return True
        x, y = min(bare)
        for long, wide, turns in [piece for piece, count in left.items() if count]:
            for a, b in {(long, wide), (wide, long) if turns else (long, wide)}:
                squares = frozenset(product(range(x, x + a), range(y, y + b)))
                if squares <= bare:
                    others = left - Counter([(long, wide, turns)])
                    if cover(bare - squares, others):
                        return True
        return False

    return cover(frozenset(product(range(sides[0]), range(sides[1]))), Counter(pieces))


def some_floor(seed: int) -> tuple[tuple[int, int], list[Piece]]:
    """A small floor and pieces of its area, of which some floors can be covered and some not."""
    rng = random.Random(seed)
    sides = (rng.randint(4, 7), rng.randint(4, 7))
    while True:
        pieces, area = [], sides[0] * sides[1]
        while area > 0:
            long, wide = rng.randint(1, 4), rng.randint(1, 4)
            pieces.append((long, wide, rng.random() < 0.5))
            area -= long * wide
        if not area and len(pieces) < 9:
            return sides, pieces


def test_full_floors_are_found_and_refused_as_by_trying_every_place() -> None:
    seen: Counter[bool] = Counter()
    for seed in range(150):
        sides, pieces = some_floor(seed)
        found = filled(room_of(sides, pieces))
        assert not isinstance(found, Text)
        assert (found is not None) == covers(sides, pieces), seed
        seen[found is not None] += 1
        if found is not None and seed < 40:
            build = floor(sides, pieces)
            layout = lay_out(build)
            assert isinstance(layout, Layout)
            assert not faults(build, layout.placements)
    assert min(seen[True], seen[False]) > 30


@pytest.mark.parametrize("turned", [False, True])
def test_squared_square_of_order_21_is_found_on_a_floor(turned: bool) -> None:
    """Squares, so no piece has another way to lie: 112 x 112."""
    pieces = [(side, side, turned) for _, _, side in ORDER_21]
    room = room_of((112, 112), pieces)
    found = filled(room)
    assert isinstance(found, tuple)
    squares = {
        (x, y)
        for spot in found
        for x in range(spot.x, spot.x + spot.shape.size[0])
        for y in range(spot.y, spot.y + spot.shape.size[1])
    }
    assert len(squares) == 112 * 112
    assert max(x for x, _ in squares) == max(y for _, y in squares) == 111


@pytest.mark.parametrize("sides", [(11, 20), (20, 11)])
def test_no_bricks_fill_a_floor_of_which_a_side_is_no_sum_of_theirs(sides: tuple[int, int]) -> None:
    """Bricks of 4 x 5 lie along a wall of 11, which is no sum of fours and fives."""
    assert filled(room_of(sides, [(4, 5, True)] * 11)) is None


@pytest.mark.parametrize("sides", [(60, 48), (48, 60)])
def test_strip_of_distinct_pieces_is_laid_out_whichever_way_it_lies(sides: tuple[int, int]) -> None:
    """A strip cut at random into 17 pieces, with nothing to spare."""
    build = floor(sides, [(long, wide, True) for long, wide in SEVENTEEN])
    room = rooms_of(build)[0][0]
    found = arrange(room)
    assert found == filled(room)
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    assert not faults(build, layout.placements)


def test_a_floor_is_given_up_when_the_guesses_are_spent() -> None:
    room = room_of((60, 48), [(long, wide, True) for long, wide in SEVENTEEN])
    assert str(filled(room, most=50)) == "no answer within 50 guesses"


def test_nothing_is_guessed_about_a_floor_that_is_no_such_one() -> None:
    whole = [(2, 2, True)] * 4
    room = room_of((4, 4), whole)
    assert isinstance(filled(room), tuple)
    others = {
        "waste": room_of((4, 5), whole),
        "a divider": rooms_of(floor((4, 5), whole, divider=1))[0][0],
        "clearance": rooms_of(floor((4, 4), whole, clearance={"left": 1}))[0][0],
        "gear": evolve(room, gear=((0, 1, 0, 1, 0, 1),)),
        "a side to work from": rooms_of(floor((4, 4), whole, works_from=["left"]))[0][0],
    }
    for why, other in others.items():
        assert str(filled(other)) == "no answer within 0 guesses", why
