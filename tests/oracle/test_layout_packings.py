"""Published packings that upright units can express: exact fits, and a millimetre more is none.

What the units cannot express: bricks that choose by themselves which side lies down. A unit turns
about the vertical only, so each brick is given the height, and the level at which it hangs, that it
has in the published packing; where it goes in plan and how it is turned is left to the search. The
impossibility of 27 bricks of 1 x 2 x 4 in a cube of 6 and of 250 rods of 1 x 1 x 4 in a cube of 10
is over every way of laying them down and so is no question to the search; what they come to in one
layer is.
"""

from __future__ import annotations

import pytest

from tests.support.holds import Raw, fits, goes_in, space, unit
from tests.support.packings import (
    CONWAY,
    HOFFMAN,
    ORDER_21,
    SIX_AND_THREE,
    TWENTY_SIX,
    Brick,
    bricks,
)

ORDER_9 = {
    (33, 32): [(0, 0, 18), (18, 0, 15), (18, 15, 7), (25, 15, 8), (0, 18, 14), (14, 18, 4),
               (14, 22, 10), (24, 22, 1), (24, 23, 9)],
    (69, 61): [(0, 0, 36), (36, 0, 33), (36, 33, 5), (41, 33, 28), (0, 36, 25), (25, 36, 9),
               (34, 36, 2), (34, 38, 7), (25, 45, 16)],
}  # fmt: skip
"""Squared rectangles of order 9: x, y, side. Z. Moron 1925 (33 x 32); squaring.net (69 x 61)."""

ORDER_22 = [
    (0, 0, 60), (60, 0, 50), (60, 50, 23), (83, 50, 27), (0, 60, 24), (24, 60, 22), (46, 60, 14),
    (60, 73, 7), (67, 73, 16), (46, 74, 8), (54, 74, 6), (83, 77, 12), (95, 77, 15), (54, 80, 13),
    (24, 82, 2), (26, 82, 28), (0, 84, 26), (67, 89, 4), (71, 89, 21), (92, 89, 3), (92, 92, 18),
    (54, 93, 17),
]  # fmt: skip
"""Simple perfect squared square of order 22, 110 x 110: community.wolfram.com, m/t/2044450."""

ORDER_23 = [
    (0, 0, 44), (44, 0, 29), (73, 0, 37), (44, 29, 21), (65, 29, 8), (65, 37, 13), (78, 37, 32),
    (0, 44, 28), (28, 44, 16), (44, 50, 15), (59, 50, 19), (28, 60, 12), (40, 60, 4), (40, 64, 3),
    (43, 64, 1), (43, 65, 2), (45, 65, 14), (40, 67, 5), (59, 69, 10), (69, 69, 41), (0, 72, 38),
    (38, 72, 7), (38, 79, 31),
]  # fmt: skip
"""Simple perfect squared square of order 23, 110 x 110: community.wolfram.com, m/t/2044450."""

ORDER_24 = [
    (0, 0, 47), (47, 0, 32), (79, 0, 41), (47, 32, 15), (62, 32, 17), (79, 41, 8), (87, 41, 33),
    (0, 47, 19), (19, 47, 20), (39, 47, 23), (62, 49, 25), (0, 66, 14), (14, 66, 5), (19, 67, 4),
    (23, 67, 13), (36, 67, 3), (36, 70, 10), (46, 70, 16), (14, 71, 9), (62, 74, 12),
    (74, 74, 46), (0, 80, 40), (40, 80, 6), (40, 86, 34),
]  # fmt: skip
"""Simple perfect squared square of order 24, 120 x 120: community.wolfram.com, m/t/2044450."""


def squares(pieces: list[tuple[int, int, int]], depth: int, grown: int | None = None) -> list[Raw]:
    """Squares as units of full depth on the left side, each hung at its own height."""
    return [
        unit(
            f"s{index}",
            (side + (index == grown), depth, side),
            works_from=["left"],
            hangs_at=up,
            built_in=True,
        )
        for index, (_, up, side) in enumerate(pieces)
    ]


@pytest.mark.parametrize(("size", "pieces"), ORDER_9.items())
def test_squared_rectangle_fits_on_one_side_with_nothing_to_spare(
    size: tuple[int, int], pieces: list[tuple[int, int, int]]
) -> None:
    shell = (size[0], 10, size[1])
    assert fits(space(shell), squares(pieces, 10))
    for index in range(len(pieces)):
        assert not fits(space(shell), squares(pieces, 10, grown=index))


@pytest.mark.parametrize(
    ("side", "pieces"),
    [(112, ORDER_21), (110, ORDER_22), (110, ORDER_23), (120, ORDER_24)],
    ids=["21", "22", "23", "24"],
)
def test_squared_square_fits_and_one_millimetre_more_does_not(
    side: int, pieces: list[tuple[int, int, int]]
) -> None:
    shell = (side, 10, side)
    assert fits(space(shell), squares(pieces, 10))
    for index in range(len(pieces)):
        assert not goes_in(space(shell), squares(pieces, 10, grown=index))


@pytest.mark.parametrize("size", ORDER_9)
def test_squared_rectangle_fits_as_units_free_to_stand_anywhere(size: tuple[int, int]) -> None:
    pieces = [
        unit(f"s{index}", (side, side, 5), built_in=True)
        for index, (_, _, side) in enumerate(ORDER_9[size])
    ]
    assert fits(space((*size, 5)), pieces)
    assert not fits(space((size[0] - 1, size[1], 5)), pieces)


def test_five_bricks_fit_only_with_some_of_them_turned() -> None:
    """1x5x6 from five 1x2x3, only with mixed orientation: N. G. de Bruijn 1969."""
    turned = unit("brick", (2, 3, 1), most=5, turns=True, built_in=True)
    straight = unit("brick", (2, 3, 1), most=5, built_in=True)
    assert fits(space((5, 6, 1)), [turned], brick=5)
    assert not fits(space((5, 6, 1)), [straight], brick=5)


@pytest.mark.parametrize(
    ("side", "packing"),
    [(3, SIX_AND_THREE), (5, CONWAY), (6, TWENTY_SIX)],
    ids=["3", "5", "6"],
)
def test_packing_of_a_cube_is_found(side: int, packing: list[Brick]) -> None:
    assert fits(space((side, side, side)), bricks(packing))


def test_packing_of_27_bricks_with_hardly_room_to_spare_is_said_to_fit() -> None:
    assert goes_in(space((30, 30, 30)), bricks(HOFFMAN))


@pytest.mark.parametrize(("side", "packing"), [(3, SIX_AND_THREE), (5, CONWAY)], ids=["3", "5"])
def test_full_cube_has_no_room_for_a_brick_one_millimetre_longer(
    side: int, packing: list[Brick]
) -> None:
    for index in range(len(packing)):
        for by in ((1, 0), (0, 1)):
            assert not goes_in(space((side, side, side)), bricks(packing, index, by))


def test_two_bricks_cannot_lie_flat_in_one_layer_of_the_cube_of_three() -> None:
    flat = unit("flat", (2, 2, 1), most=2, built_in=True)
    assert not fits(space((3, 3, 1)), [flat], flat=2)
    assert fits(space((3, 4, 1)), [flat], flat=2)


def test_nine_rods_do_not_fill_a_square_of_six_though_the_area_is_equal() -> None:
    """Rods of 1 x 4 fill a rectangle only where 4 divides a side: de Bruijn 1969, in the plane."""
    rod = unit("rod", (4, 1, 1), most=9, turns=True, built_in=True)
    assert not fits(space((6, 6, 1)), [rod], rod=9)
    assert fits(space((6, 6, 1)), [rod], rod=8)
    assert fits(space((9, 4, 1)), [rod], rod=9)


def fills(sides: tuple[int, int], brick: tuple[int, int]) -> bool:
    """Whether bricks of p x q, coprime, fill the rectangle: D. A. Klarner, J. Combin. Theory 7
    (1969) 107-115, from memory: p and q each divide a side, each side is a sum of p's and q's."""
    p, q = brick
    divided = all(any(side % n == 0 for side in sides) for n in brick)
    summed = all(any((side - n) % q == 0 for n in range(0, side + 1, p)) for side in sides)
    return divided and summed


@pytest.mark.parametrize(
    ("count", "brick", "sides", "filled"),
    [
        (11, (4, 5), (11, 20), False),
        (21, (4, 5), (15, 28), True),
        (26, (3, 4), (8, 39), True),
        (9, (2, 3), (6, 9), True),
        (7, (2, 3), (1, 42), False),
        (40, (3, 5), (20, 30), True),
    ],
)
def test_equal_units_that_turn_fill_a_floor_where_the_theorem_says_so(
    count: int, brick: tuple[int, int], sides: tuple[int, int], filled: bool
) -> None:
    assert count * brick[0] * brick[1] == sides[0] * sides[1]
    assert fills(sides, brick) == filled
    turned = unit("brick", (*brick, 1), most=count + 1, turns=True, built_in=True)
    assert fits(space((*sides, 1)), [turned], brick=count) == filled
    assert not fits(space((*sides, 1)), [turned], brick=count + 1)
