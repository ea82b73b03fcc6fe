"""Lengths on stock bars, so that the bars used come to the least length: cutting stock, exact.

Every way to cut one bar into which no more would go is a pattern; CP-SAT says how many bars of each
pattern. Where there are too many patterns, or that is not settled within a counted effort, the
longest piece goes first into the first bar that has room (first fit decreasing).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import frozen

from configurator.errors import SearchLimit
from configurator.machine.solvers import solve, unsettled
from configurator.words import text

_PATTERNS = 20_000
"""The most patterns that are weighed."""

_QUESTION = text("how the bars are cut")

_WORK = 4.0


@frozen
class CutBar:
    """Bars that are cut alike.

    Attributes:
        count: how many.
        stock: index of the stock length.
        pieces: indexes of the lengths cut from it, the longest first.
    """

    count: int
    stock: int
    pieces: tuple[int, ...]


@frozen
class CutBars:
    """How bars are cut; ``least`` says that it is proved that no shorter total would do."""

    bars: tuple[CutBar, ...]
    least: bool


def cut_bars(pieces: Sequence[tuple[int, int]], stock: Sequence[int], cut: int = 0) -> CutBars:
    """Cut bars into pieces.

    Args:
        pieces: length and how many of each; each fits one of the bars.
        stock: the lengths of bars there are, of each as many as are asked for.
        cut: what each cut between two pieces takes.
    """
    wanted = [(length + cut, count) for length, count in pieces]
    bars = [length + cut for length in stock]
    if not pieces:
        return CutBars((), least=True)
    patterns: list[tuple[int, tuple[int, ...]]] = []
    for index, bar in enumerate(bars):
        for pattern in _patterns(wanted, bar):
            patterns.append((index, pattern))
            if len(patterns) > _PATTERNS:
                return CutBars(_grouped(_first_fit(wanted, bars), wanted), least=False)
    try:
        chosen, best = _chosen(wanted, stock, patterns)
    except SearchLimit:
        return CutBars(_grouped(_first_fit(wanted, bars), wanted), least=False)
    return CutBars(_grouped(_needed(chosen, wanted), wanted), best)


def _patterns(wanted: Sequence[tuple[int, int]], bar: int) -> Iterator[tuple[int, ...]]:
    """How many of each length are cut from one bar, so that no more would go into it."""
    order = sorted(range(len(wanted)), key=lambda i: -wanted[i][0])
    counts = [0] * len(wanted)

    def fill(place: int, room: int) -> Iterator[tuple[int, ...]]:
        if place == len(order):
            full = all(counts[i] >= wanted[i][1] or wanted[i][0] > room for i in range(len(wanted)))
            if full and any(counts):
                yield tuple(counts)
            return
        index = order[place]
        length, most = wanted[index]
        for count in range(min(most, room // length), -1, -1):
            counts[index] = count
            yield from fill(place + 1, room - count * length)
        counts[index] = 0

    yield from fill(0, bar)


@unsettled(_QUESTION)
def _chosen(
    wanted: Sequence[tuple[int, int]],
    stock: Sequence[int],
    patterns: Sequence[tuple[int, tuple[int, ...]]],
) -> tuple[list[tuple[int, tuple[int, ...]]], bool]:
    """Bars by pattern, one for each; of the least total, the fewest bars.

    Raises:
        SearchLimit: none was found within the work allowed.
    """
    from configurator.machine.cp_sat import cp_model

    model = cp_model.CpModel()
    most = sum(count for _, count in wanted)
    times = [model.new_int_var(0, most, "") for _ in patterns]
    for index, (_, count) in enumerate(wanted):
        cut = [
            pattern[index] * n for n, (_, pattern) in zip(times, patterns, strict=True)
            if pattern[index]
        ]  # fmt: skip
        model.add(sum(cut) >= count)
    total = sum(stock[bar] * n for n, (bar, _) in zip(times, patterns, strict=True))
    model.minimize((most + 1) * total + sum(times))
    solved = solve(model, _QUESTION, _WORK)
    assert solved is not None
    bars = [
        one for n, one in zip(times, patterns, strict=True) for _ in range(solved.solver.value(n))
    ]
    return bars, solved.best


def _needed(
    bars: Sequence[tuple[int, tuple[int, ...]]], wanted: Sequence[tuple[int, int]]
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """The bars without what is cut beyond what is asked for."""
    left = [count for _, count in wanted]
    for bar, pattern in bars:
        kept = tuple(map(min, pattern, left))
        left = [have - taken for have, taken in zip(left, kept, strict=True)]
        yield bar, kept


def _first_fit(
    wanted: Sequence[tuple[int, int]], bars: Sequence[int]
) -> Iterator[tuple[int, tuple[int, ...]]]:
    longest = max(range(len(bars)), key=lambda i: bars[i])
    rooms: list[int] = []
    counts: list[list[int]] = []
    for index in sorted(range(len(wanted)), key=lambda i: -wanted[i][0]):
        length, count = wanted[index]
        for _ in range(count):
            place = next((n for n, room in enumerate(rooms) if room >= length), len(rooms))
            if place == len(rooms):
                rooms.append(bars[longest])
                counts.append([0] * len(wanted))
            rooms[place] -= length
            counts[place][index] += 1
    for room, cut in zip(rooms, counts, strict=True):
        used = bars[longest] - room
        shortest = min((n for n in range(len(bars)) if bars[n] >= used), key=lambda n: bars[n])
        yield shortest, tuple(cut)


def _grouped(
    bars: Iterator[tuple[int, tuple[int, ...]]], wanted: Sequence[tuple[int, int]]
) -> tuple[CutBar, ...]:
    found: Mapping[tuple[int, tuple[int, ...]], int]
    found = {}
    for one in bars:
        if any(one[1]):
            found[one] = found.get(one, 0) + 1
    order = sorted(range(len(wanted)), key=lambda i: (-wanted[i][0], i))
    return tuple(
        CutBar(count, bar, tuple(index for index in order for _ in range(cut[index])))
        for (bar, cut), count in sorted(
            found.items(), key=lambda item: (item[0][0], *(-n for n in item[0][1]))
        )
    )
