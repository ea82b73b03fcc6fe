"""Sheets and bars cut for the least area and length, against published figures and an oracle.

The oracle knows nothing of how a nesting was found: it looks at where every piece lies.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations

import pytest
from hypothesis import given, settings, strategies as st

from configurator.cutting.bars import cut_bars
from configurator.cutting.rectangles import EXACT, Area, Nesting, Rectangle, fits, nest


def require_sound(
    nesting: Nesting, pieces: Sequence[Rectangle], areas: Sequence[Area], cut: int
) -> None:
    """Every piece once, inside its sheet, the cut between any two, none turned that may not be."""
    laid = [one for _, on in nesting.sheets for one in on]
    assert sorted(one.index for one in laid) == list(range(len(pieces)))
    for index, on in nesting.sheets:
        sheet, boxes = areas[index], []
        for one in on:
            piece = pieces[one.index]
            assert piece.turns or not one.turned
            sides = (piece.width, piece.length) if one.turned else (piece.length, piece.width)
            assert 0 <= one.x <= sheet.length - sides[0]
            assert 0 <= one.y <= sheet.width - sides[1]
            boxes.append((one.x, one.y, one.x + sides[0], one.y + sides[1]))
        for a, b in combinations(boxes, 2):
            assert max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3]) >= cut, (a, b)


def cost(nesting: Nesting, areas: Sequence[Area]) -> int:
    return sum(areas[index].cost for index, _ in nesting.sheets)


# Rectangles dissected into squares that are all different: they fill their sheet without a gap.
# Z. Moron, Przeglad Mat.-Fiz. 3 (1925) 152-153, the two of nine squares.
MORON = {
    (33, 32): (18, 15, 7, 8, 14, 4, 10, 1, 9),
    (69, 61): (36, 33, 5, 28, 25, 9, 2, 7, 16),
}


@pytest.mark.parametrize("sheet", MORON)
@pytest.mark.parametrize("cut", [0, 3])
def test_a_rectangle_of_nine_different_squares_is_cut_from_one_sheet(
    sheet: tuple[int, int], cut: int
) -> None:
    # with a cut, squares are the narrower by it, and so is the sheet
    grown = [10 * side - cut for side in MORON[sheet]]
    pieces = [Rectangle(side, side) for side in grown]
    length, width = (10 * side - cut for side in sheet)
    areas = [Area(length, width, length * width)]
    found = nest(pieces, areas, cut)
    assert (len(found.sheets), found.least) == (1, True)
    require_sound(found, pieces, areas, cut)


# The least rectangles that hold the squares of 1 to n: R. E. Korf, Optimal Rectangle Packing:
# Initial Results, ICAPS 2003, table 1, from memory.
KORF = {6: (11, 9), 7: (14, 11), 8: (15, 14), 9: (20, 15)}


@pytest.mark.parametrize("count", KORF)
def test_squares_fit_the_least_rectangle_that_is_published_and_none_smaller(count: int) -> None:
    pieces = [Rectangle(side, side) for side in range(1, count + 1)]
    length, width = KORF[count]
    for less in (0, 1):
        areas = [Area(length, width - less, length * (width - less))]
        found = nest(pieces, areas)
        assert (len(found.sheets), found.least) == (1 + less, True)
        require_sound(found, pieces, areas, 0)


# The first simple perfect squared square of least order: A. J. W. Duijvestijn, J. Combin. Theory B
# 25 (1978) 240-243. Its 21 squares are more than are settled exactly.
DUIJVESTIJN = (*(50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33),)


def test_more_rectangles_than_are_settled_are_packed_without_a_proof() -> None:
    assert len(DUIJVESTIJN) > EXACT
    assert sum(side**2 for side in DUIJVESTIJN) == 112**2
    pieces = [Rectangle(side, side) for side in DUIJVESTIJN]
    areas = [Area(112, 112, 112**2)]
    found = nest(pieces, areas)
    require_sound(found, pieces, areas, 0)
    assert len(found.sheets) == 2
    assert not found.least


def test_a_grain_costs_sheets_that_turning_would_save() -> None:
    # worked by hand: five of 60 x 20 fill 100 x 60 when they stand; along the grain, three lie one
    # above the other and none goes beside them
    areas = [Area(100, 60, 6000)]
    for turns, sheets in ((True, 1), (False, 2)):
        pieces = [Rectangle(60, 20, turns)] * 5
        found = nest(pieces, areas)
        require_sound(found, pieces, areas, 0)
        assert (len(found.sheets), found.least) == (sheets, True)


def test_the_sheets_that_count_least_are_taken_of_several_sizes() -> None:
    # worked by hand: two of 90 x 90 take two small sheets (200) or one large one (250)
    areas = [Area(100, 100, 100), Area(200, 100, 250)]
    found = nest([Rectangle(90, 90)] * 2, areas, 10)
    assert [index for index, _ in found.sheets] == [0, 0]
    found = nest([Rectangle(90, 90)] * 2, [areas[0], Area(200, 100, 150)], 10)
    assert [index for index, _ in found.sheets] == [1]
    assert found.least


SIDES = st.integers(5, 60)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.builds(Rectangle, SIDES, SIDES, st.booleans()), min_size=1, max_size=16),
    st.lists(st.builds(Area, st.integers(40, 120), st.integers(40, 90), st.just(0)), max_size=2),
    st.integers(0, 5),
)
def test_every_nesting_is_sound_and_no_less_than_its_area(
    pieces: list[Rectangle], more: list[Area], cut: int
) -> None:
    areas = [Area(a.length, a.width, a.length * a.width) for a in (Area(90, 70, 0), *more)]
    kept = [piece for piece in pieces if fits(piece, areas)]
    found = nest(kept, areas, cut)
    require_sound(found, kept, areas, cut)
    assert cost(found, areas) >= sum(piece.length * piece.width for piece in kept)
    again = nest(kept[::-1], areas, cut)
    if found.least and again.least:
        assert cost(found, areas) == cost(again, areas)
    for area in areas:
        if found.least and all(fits(piece, [area]) for piece in kept):
            assert cost(found, areas) <= cost(nest(kept, [area], cut), [area])


# Bars


def require_cut(
    wanted: Sequence[tuple[int, int]], stock: Sequence[int], cut: int, bars: object
) -> int:
    """Every length as often as asked for, no bar too short; answers the total of all bars."""
    made: Counter[int] = Counter()
    total = 0
    for bar in bars.bars:  # type: ignore[attr-defined]
        lengths = [wanted[index][0] for index in bar.pieces]
        assert sum(lengths) + cut * (len(lengths) - 1) <= stock[bar.stock]
        total += bar.count * stock[bar.stock]
        for index in bar.pieces:
            made[index] += bar.count
    assert made == Counter({index: count for index, (_, count) in enumerate(wanted)})
    return total


def test_rolls_of_a_textbook_are_cut_as_few_as_it_says() -> None:
    # V. Chvatal, Linear Programming (1983), chapter 13, from memory: rolls of 100 in. into these
    # widths take 453
    wanted = [(45, 97), (36, 610), (31, 395), (14, 211)]
    found = cut_bars(wanted, [100])
    assert require_cut(wanted, [100], 0, found) == 453 * 100
    assert found.least


def test_master_rolls_of_5600_mm_are_cut_as_few_as_is_published() -> None:
    # the example of the article Cutting stock problem in Wikipedia: 73 rolls, waste 0.401 %
    wanted = [
        (1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20),
        (2000, 10), (2050, 12), (2100, 14), (2140, 16), (2150, 18), (2200, 20),
    ]  # fmt: skip
    found = cut_bars(wanted, [5600])
    total = require_cut(wanted, [5600], 0, found)
    assert (total // 5600, found.least) == (73, True)
    used = sum(length * count for length, count in wanted)
    assert round(100 * (1 - used / total), 3) == 0.401


def test_a_saw_cut_too_many_takes_another_bar() -> None:
    # worked by hand: three of 2000 fill 6000 without a cut; two cuts of 3 take 6 more
    for bar, bars in ((6000, 2), (6006, 1)):
        found = cut_bars([(2000, 3)], [bar], 3)
        assert require_cut([(2000, 3)], [bar], 3, found) == bars * bar
        assert found.least


def test_where_there_are_too_many_ways_each_bar_is_the_shortest_that_holds_its_pieces() -> None:
    # worked by hand, the longest first: ten of 221 to 212 take 2165 of 2200, ten of 211 to 202
    # take 2065, and what is left goes on a bar of 1000
    wanted = [(length, 1) for length in range(201, 222)]
    found = cut_bars(wanted, [2200, 1000])
    assert not found.least, "that many ways are not weighed"
    assert require_cut(wanted, [2200, 1000], 0, found) == 2 * 2200 + 1000


def brute(wanted: Sequence[tuple[int, int]], stock: Sequence[int]) -> int:
    """The least total by trying every bar for the longest piece that is left."""
    pieces = sorted((length for length, count in wanted for _ in range(count)), reverse=True)
    best = [sum(max(stock) for _ in pieces)]

    def lay(index: int, rooms: tuple[int, ...], total: int) -> None:
        if total >= best[0]:
            return
        if index == len(pieces):
            best[0] = total
            return
        for place, room in enumerate(rooms):
            if room >= pieces[index] and room not in rooms[:place]:
                lay(index + 1, (*rooms[:place], room - pieces[index], *rooms[place + 1 :]), total)
        for bar in stock:
            if bar >= pieces[index]:
                lay(index + 1, (*rooms, bar - pieces[index]), total + bar)

    lay(0, (), 0)
    return best[0]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(10, 60), st.integers(1, 3)), min_size=1, max_size=3),
    st.lists(st.integers(60, 130), min_size=1, max_size=2, unique=True),
)
def test_no_other_way_to_cut_takes_less(wanted: list[tuple[int, int]], stock: list[int]) -> None:
    found = cut_bars(wanted, stock)
    assert require_cut(wanted, stock, 0, found) == brute(wanted, stock)
    assert found.least
