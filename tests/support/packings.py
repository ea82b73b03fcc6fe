"""Published packings of a cube, and their bricks as units; and one of a square."""

from __future__ import annotations

from tests.support.holds import Raw, unit

Brick = tuple[int, int, int, int, int, int]

SIX_AND_THREE = [
    (0, 0, 0, 1, 2, 2), (0, 0, 2, 2, 2, 1), (0, 2, 0, 1, 1, 1), (0, 2, 1, 2, 1, 2),
    (1, 0, 0, 2, 1, 2), (1, 1, 0, 2, 2, 1), (1, 1, 1, 1, 1, 1), (2, 0, 2, 1, 1, 1),
    (2, 1, 1, 1, 2, 2),
]  # fmt: skip
"""The packing of Slothouber and Graatsma: six 1 x 2 x 2 and three unit cubes in a cube of 3, unique
but for symmetry. x, y, z and the sizes along them."""

CONWAY = [
    (0, 0, 0, 3, 1, 1), (3, 1, 1, 1, 3, 1), (4, 4, 2, 1, 1, 3), (0, 0, 1, 1, 2, 4),
    (0, 1, 0, 2, 4, 1), (0, 2, 1, 1, 2, 4), (0, 4, 1, 2, 1, 4), (1, 0, 1, 1, 2, 4),
    (1, 2, 1, 1, 2, 4), (2, 0, 1, 1, 2, 4), (2, 1, 0, 2, 4, 1), (2, 2, 1, 1, 2, 4),
    (2, 4, 1, 2, 1, 4), (3, 0, 0, 2, 1, 4), (3, 0, 4, 2, 4, 1), (3, 1, 2, 2, 2, 2),
    (3, 3, 2, 2, 1, 2), (4, 1, 0, 1, 4, 2),
]  # fmt: skip
"""J. H. Conway's packing of a cube of 5. R. Honsberger, Mathematical Gems II (1976) 77-80."""

TWENTY_SIX = [
    (0, 0, 2, 1, 2, 4), (0, 2, 0, 1, 2, 4), (0, 2, 4, 1, 4, 2), (0, 4, 0, 1, 2, 4),
    (1, 0, 2, 1, 2, 4), (1, 2, 0, 1, 2, 4), (1, 2, 4, 1, 4, 2), (1, 4, 0, 1, 2, 4),
    (2, 0, 0, 1, 2, 4), (2, 0, 4, 1, 4, 2), (2, 2, 0, 1, 2, 4), (2, 4, 0, 1, 2, 4),
    (2, 4, 4, 4, 1, 2), (2, 5, 4, 4, 1, 2), (3, 0, 0, 1, 2, 4), (3, 0, 4, 1, 4, 2),
    (3, 2, 0, 1, 2, 4), (3, 4, 0, 1, 2, 4), (4, 0, 0, 1, 2, 4), (4, 0, 4, 1, 4, 2),
    (4, 2, 0, 1, 2, 4), (4, 4, 0, 1, 2, 4), (5, 0, 0, 1, 2, 4), (5, 0, 4, 1, 4, 2),
    (5, 2, 0, 1, 2, 4), (5, 4, 0, 1, 2, 4),
]  # fmt: skip
"""As many bricks of 1 x 2 x 4 as go into a cube of 6. N. G. de Bruijn, Amer. Math. Monthly 76
(1969) 37-40."""

HOFFMAN = [
    (0, 0, 0, 9, 10, 11), (0, 0, 11, 9, 11, 10), (0, 0, 21, 10, 11, 9), (0, 10, 0, 9, 11, 10),
    (0, 11, 10, 10, 9, 11), (0, 11, 21, 11, 10, 9), (0, 21, 0, 10, 9, 11), (0, 20, 11, 11, 10, 9),
    (0, 21, 20, 11, 9, 10), (9, 0, 0, 10, 9, 11), (9, 0, 11, 11, 9, 10), (10, 0, 21, 11, 10, 9),
    (9, 9, 0, 10, 11, 9), (10, 9, 9, 9, 10, 11), (11, 10, 20, 9, 11, 10), (10, 20, 0, 11, 10, 9),
    (11, 19, 9, 9, 11, 10), (11, 21, 19, 10, 9, 11), (19, 0, 0, 11, 10, 9), (20, 0, 9, 10, 9, 11),
    (21, 0, 20, 9, 11, 10), (19, 10, 0, 11, 9, 10), (19, 9, 10, 11, 10, 9),
    (20, 11, 19, 10, 9, 11), (21, 19, 0, 9, 11, 10), (20, 19, 10, 10, 11, 9),
    (21, 20, 19, 9, 10, 11),
]  # fmt: skip
"""27 bricks of 9 x 10 x 11 in a cube of 30. D. G. Hoffman in The Mathematical Gardner (1981)."""

ORDER_21 = [
    (0, 0, 50), (50, 0, 35), (85, 0, 27), (85, 27, 8), (93, 27, 19), (50, 35, 15), (65, 35, 17),
    (82, 35, 11), (82, 46, 6), (88, 46, 24), (0, 50, 29), (29, 50, 25), (54, 50, 9), (63, 50, 2),
    (63, 52, 7), (70, 52, 18), (54, 59, 16), (70, 70, 42), (29, 75, 4), (33, 75, 37), (0, 79, 33),
]  # fmt: skip
"""The simple perfect squared square of lowest order, 112 x 112; x, y, side. A. J. W.
Duijvestijn, J. Combin. Theory B 25 (1978) 240-243."""


def bricks(
    packing: list[Brick], grown: int | None = None, by: tuple[int, int] = (0, 0)
) -> list[Raw]:
    """Bricks as units that may turn, each hung at the level that it has in the packing."""
    return [
        unit(
            f"b{index}",
            (length + by[0] * (index == grown), width + by[1] * (index == grown), height),
            hangs_at=z,
            built_in=True,
            turns=True,
        )
        for index, (_, _, z, length, width, height) in enumerate(packing)
    ]
