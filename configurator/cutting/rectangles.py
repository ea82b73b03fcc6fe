"""Rectangles on sheets, so that the sheets used come to the least area.

Few rectangles are settled exactly: sets of sheets are tried by rising area, and CP-SAT finds an
arrangement or proves that there is none, within a counted effort. Beyond that, and as a bound from
above, free rectangles are kept as in J. Jylänki, A Thousand Ways to Pack the Bin (2010): MAXRECTS,
best short side fit, over several orders.

Whole units; the cut between two rectangles is taken once. Edges of the sheets need none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import gcd
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.errors import SearchLimit
from configurator.machine.solvers import solve, unsettled
from configurator.words import text

EXACT = 12
"""The most rectangles that are settled exactly."""

_QUESTION = text("whether the panels fit the sheets")

_WORK = 0.1
"""Work allowed for one set of sheets."""

_UNSETTLED = 1
"""Sets of sheets that may stay unsettled before no other is tried."""

_Free: TypeAlias = tuple[int, int, int, int]
"""x, y, length and width of a free rectangle."""


@frozen
class Rectangle:
    """A rectangle to be cut; ``turns`` says whether it may lie either way."""

    length: int
    width: int
    turns: bool = True

    @property
    def ways(self) -> tuple[tuple[int, int, bool], ...]:
        """Length and width as it may lie, and whether it is turned."""
        straight = (self.length, self.width, False)
        if not self.turns or self.length == self.width:
            return (straight,)
        return straight, (self.width, self.length, True)


@frozen
class Area:
    """What of a sheet may be used, and how much it counts."""

    length: int
    width: int
    cost: int


@frozen
class NestedRectangle:
    """A rectangle on its sheet: its index, its corner, and whether it is turned."""

    index: int
    x: int
    y: int
    turned: bool


@frozen
class Nesting:
    """Rectangles on sheets.

    Attributes:
        sheets: of each sheet used the index of its area, and what lies on it.
        least: it is proved that no set of sheets that counts less would do.
    """

    sheets: tuple[tuple[int, tuple[NestedRectangle, ...]], ...]
    least: bool


def fits(one: Rectangle, areas: Iterable[Area]) -> bool:
    """Whether any of the sheets is large enough for it."""
    return any(
        length <= area.length and width <= area.width
        for area in areas
        for length, width, _ in one.ways
    )


def nest(pieces: Sequence[Rectangle], areas: Sequence[Area], cut: int = 0) -> Nesting:
    """Lay rectangles on sheets.

    Args:
        pieces: each of which fits one of the sheets.
        areas: the sheets there are, of each as many as are asked for.
        cut: the least gap between two rectangles.
    """
    # the solver is the quicker, the fewer places there are: count in the largest common unit
    every: tuple[Rectangle | Area, ...] = (*pieces, *areas)
    unit = gcd(cut, *(n for one in every for n in (one.length, one.width))) or 1
    grown = [Rectangle((p.length + cut) // unit, (p.width + cut) // unit, p.turns) for p in pieces]
    rooms = [Area((a.length + cut) // unit, (a.width + cut) // unit, a.cost) for a in areas]
    if not grown:
        return Nesting((), least=True)
    found = min(_packed(grown, rooms), key=lambda sheets: _cost(sheets, rooms))
    unsettled = 0
    for chosen in _cheaper(grown, rooms, _cost(found, rooms)):
        if len(pieces) > EXACT or unsettled == _UNSETTLED:
            unsettled += 1
            break
        try:
            laid = _settled(grown, [rooms[index] for index in chosen])
        except SearchLimit:
            unsettled += 1
            continue
        if laid is not None:
            found = [(index, on) for index, on in zip(chosen, laid, strict=True) if on]
            break
    sheets = (
        (index, tuple(evolve(one, x=one.x * unit, y=one.y * unit) for one in on))
        for index, on in found
    )
    return Nesting(tuple(sheets), not unsettled)


_Sheets: TypeAlias = list[tuple[int, list[NestedRectangle]]]


def _cost(sheets: _Sheets, areas: Sequence[Area]) -> int:
    return sum(areas[index].cost for index, _ in sheets)


def _packed(pieces: Sequence[Rectangle], areas: Sequence[Area]) -> Iterator[_Sheets]:
    """Packings by several orders, of sheets of one size and of all."""
    orders: tuple[Callable[[Rectangle], tuple[int, int]], ...] = (
        lambda p: (p.length * p.width, max(p.length, p.width)),
        lambda p: (max(p.length, p.width), p.length * p.width),
        lambda p: (min(p.length, p.width), p.length * p.width),
        lambda p: (p.length + p.width, p.length * p.width),
    )
    every = range(len(areas))
    for order in orders:
        ranked = sorted(range(len(pieces)), key=lambda i: order(pieces[i]), reverse=True)
        for use in (every, *((index,) for index in every)):
            if all(fits(one, [areas[index] for index in use]) for one in pieces):
                yield _filled(pieces, ranked, areas, use)


def _filled(
    pieces: Sequence[Rectangle], ranked: Sequence[int], areas: Sequence[Area], use: Iterable[int]
) -> _Sheets:
    """Sheet after sheet, each of the size that is best filled."""
    left, sheets = list(ranked), []
    while left:
        best: tuple[float, int, list[NestedRectangle]] | None = None
        for index in use:
            laid = _one_sheet(pieces, left, areas[index])
            taken = sum(pieces[one.index].length * pieces[one.index].width for one in laid)
            share = taken / areas[index].cost
            if laid and (best is None or share > best[0]):
                best = share, index, laid
        assert best is not None
        sheets.append(best[1:])
        done = {one.index for one in best[2]}
        left = [index for index in left if index not in done]
    return sheets


def _one_sheet(
    pieces: Sequence[Rectangle], left: Iterable[int], area: Area
) -> list[NestedRectangle]:
    free: list[_Free] = [(0, 0, area.length, area.width)]
    laid: list[NestedRectangle] = []
    for index in left:
        places = [
            (min(room[2] - length, room[3] - width), max(room[2] - length, room[3] - width),
             room[0], room[1], length, width, turned)
            for room in free
            for length, width, turned in pieces[index].ways
            if length <= room[2] and width <= room[3]
        ]  # fmt: skip
        if not places:
            continue
        _, _, x, y, length, width, turned = min(places)
        laid.append(NestedRectangle(index, x, y, turned))
        free = _without(free, (x, y, length, width))
    return laid


def _without(free: Iterable[_Free], taken: _Free) -> list[_Free]:
    """The free rectangles without what is taken, none of them within another."""
    x, y, length, width = taken
    parts: set[_Free] = set()
    for fx, fy, flength, fwidth in free:
        if x >= fx + flength or x + length <= fx or y >= fy + fwidth or y + width <= fy:
            parts.add((fx, fy, flength, fwidth))
            continue
        if x > fx:
            parts.add((fx, fy, x - fx, fwidth))
        if x + length < fx + flength:
            parts.add((x + length, fy, fx + flength - x - length, fwidth))
        if y > fy:
            parts.add((fx, fy, flength, y - fy))
        if y + width < fy + fwidth:
            parts.add((fx, y + width, flength, fy + fwidth - y - width))
    return sorted(p for p in parts if not any(p != other and _within(p, other) for other in parts))


def _within(one: _Free, other: _Free) -> bool:
    return (
        other[0] <= one[0]
        and other[1] <= one[1]
        and one[0] + one[2] <= other[0] + other[2]
        and one[1] + one[3] <= other[1] + other[3]
    )


def _cheaper(
    pieces: Sequence[Rectangle], areas: Sequence[Area], most: int
) -> Iterator[tuple[int, ...]]:
    """Sets of sheets that count less and have enough area, those that count least first."""
    needed = sum(one.length * one.width for one in pieces)
    counts: list[tuple[int, ...]] = [()]
    sets: set[tuple[int, ...]] = set()
    while counts:
        chosen = counts.pop()
        cost = sum(areas[index].cost for index in chosen)
        if sum(areas[index].length * areas[index].width for index in chosen) >= needed:
            sets.add(chosen)
            continue
        for index in range(chosen[-1] if chosen else 0, len(areas)):
            if cost + areas[index].cost < most:
                counts.append((*chosen, index))
    usable = (s for s in sets if all(fits(one, [areas[i] for i in s]) for one in pieces))
    yield from sorted(usable, key=lambda s: (sum(areas[i].cost for i in s), len(s), s))


@unsettled(_QUESTION)
def _settled(
    pieces: Sequence[Rectangle], sheets: Sequence[Area]
) -> list[list[NestedRectangle]] | None:
    """All pieces on these sheets, or None where that cannot be.

    Raises:
        SearchLimit: neither was found within the work allowed.
    """
    from configurator.machine.cp_sat import cp_model

    model = cp_model.CpModel()
    tall = max(sheet.width for sheet in sheets)
    starts = [sum(sheet.length for sheet in sheets[:n]) for n in range(len(sheets))]
    along: list[cp_model.IntervalVar] = []
    across: list[cp_model.IntervalVar] = []
    sizes: list[tuple[int, int]] = []
    for start, sheet in zip(starts, sheets, strict=True):
        if sheet.width < tall:
            along.append(model.new_fixed_size_interval_var(start, sheet.length, ""))
            across.append(model.new_fixed_size_interval_var(sheet.width, tall - sheet.width, ""))
            sizes.append((sheet.length, tall - sheet.width))
    variables = []
    for piece in pieces:
        x = model.new_int_var(0, starts[-1] + sheets[-1].length, "")
        y = model.new_int_var(0, tall, "")
        lies = []
        for length, width, turned in piece.ways:
            here = model.new_bool_var("")
            lies.append((here, turned))
            spans = [
                [start, start + sheet.length - length]
                for start, sheet in zip(starts, sheets, strict=True)
                if length <= sheet.length and width <= sheet.width
            ]
            if not spans:
                model.add(here == 0)
                continue
            domain = cp_model.Domain.from_intervals(spans)
            model.add_linear_expression_in_domain(x, domain).only_enforce_if(here)
            model.add(y <= tall - width).only_enforce_if(here)
            along.append(model.new_optional_fixed_size_interval_var(x, length, here, ""))
            across.append(model.new_optional_fixed_size_interval_var(y, width, here, ""))
            sizes.append((length, width))
        model.add_exactly_one(here for here, _ in lies)
        variables.append((x, y, lies))
    model.add_no_overlap_2d(along, across)
    # what the packing says already, said again where the solver counts areas better
    model.add_cumulative(along, [width for _, width in sizes], tall)
    model.add_cumulative(across, [length for length, _ in sizes], starts[-1] + sheets[-1].length)
    for one, other in _alike(pieces):
        model.add(variables[one][0] <= variables[other][0])
    solved = solve(model, _QUESTION, _WORK)
    if solved is None:
        return None
    laid: list[list[NestedRectangle]] = [[] for _ in sheets]
    for index, (x, y, lies) in enumerate(variables):
        at = solved.solver.value(x)
        on = max(n for n, start in enumerate(starts) if start <= at)
        turned = next(turned for here, turned in lies if solved.solver.value(here))
        laid[on].append(NestedRectangle(index, at - starts[on], solved.solver.value(y), turned))
    return laid


def _alike(pieces: Sequence[Rectangle]) -> Iterator[tuple[int, int]]:
    """Each piece and the next one of its size, which may as well lie further on."""
    last: dict[Rectangle, int] = {}
    for index, piece in enumerate(pieces):
        if piece in last:
            yield last[piece], index
        last[piece] = index
