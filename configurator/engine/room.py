"""The roomiest way to finish a selection, and of those the cheapest.

Room is what is clear inside, less the bodies of units.

Inside sizes come in steps. Combinations of steps are tried from the largest volume down, each by
asking the search whether a sound selection is at least that large; the first that is has the
largest volume. It goes on until no smaller volume could leave as much room, since units may have to
be traded against volume, and since sizes that leave the same room may differ in price.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from math import prod

from configurator.engine.constraint import Held
from configurator.engine.fitting import Side
from configurator.engine.optimum import Optimum
from configurator.engine.search import Search
from configurator.errors import SearchLimit

__all__ = ["roomiest"]

_MOST_TRIED = 50_000


def roomiest(search: Search, literals: Sequence[int]) -> Held | None:
    """The sound selection with the literals that leaves most room, or None where there is none.

    Of several the cheapest, then the one with fewest picks.

    Raises:
        SearchLimit: it gave up, which proves nothing.
    """
    if search.sound(literals) is None:
        return None
    spaces = [list(search.fit.sides(space.id).values()) for space in search.catalogue.spaces]
    sides = [side for space in spaces for side in space if side.steps]
    spaces_of = [index for index, space in enumerate(spaces) for side in space if side.steps]
    tops = tuple(_highest(search, literals, side) for side in sides)

    def volume(steps: tuple[int, ...]) -> int:
        sizes = iter(
            side.steps[step] if step >= 0 else 0 for side, step in zip(sides, steps, strict=True)
        )
        return sum(prod(next(sizes) for _ in range(3)) for space in spaces if space[0].steps)

    least_bodies = _least_bodies(search, literals)
    most: int | None = None
    best: list[tuple[list[int], int]] = []
    waiting, seen = [(-volume(tops), tops)], {tops}
    for _ in range(_MOST_TRIED):
        if not waiting:
            break
        negative, steps = heapq.heappop(waiting)
        if most is not None and -negative - least_bodies < most:
            break
        asked = [*literals, *_at_least(sides, steps)]
        if search.sound(asked) is not None:
            bodies = _least_bodies(search, asked)
            if most is None or -negative - bodies > most:
                most, best = -negative - bodies, []
            if -negative - bodies == most:
                best.append((asked, bodies))
        for lower in _lower(steps, spaces_of):
            if lower not in seen:
                seen.add(lower)
                heapq.heappush(waiting, (-volume(lower), lower))
    else:
        raise SearchLimit(f"no roomiest selection after {_MOST_TRIED} sizes; that proves nothing")
    found = []
    for asked, bodies in best:
        optimum = _with(search, asked)
        optimum.at_most(optimum.body_terms(), bodies)
        held = optimum.best(optimum.sum(optimum.price_terms()))
        assert held is not None
        found.append((optimum.values, held))
    return min(found, key=lambda each: each[0])[1]


def _lower(steps: tuple[int, ...], spaces_of: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """The steps with one side a step lower; a space that loses a side loses all of them."""
    for index, step in enumerate(steps):
        if step > 0:
            yield (*steps[:index], step - 1, *steps[index + 1 :])
        elif step == 0:
            yield tuple(
                -1 if space == spaces_of[index] else other
                for other, space in zip(steps, spaces_of, strict=True)
            )


def _at_least(sides: Sequence[Side], steps: Sequence[int]) -> list[int]:
    """Literals that say that every side is at least as large as its step; -1 asks nothing."""
    return [
        side.at_least(side.steps[step])
        for side, step in zip(sides, steps, strict=True)
        if step >= 0
    ]


def _highest(search: Search, literals: Sequence[int], side: Side) -> int:
    """The highest step that some sound selection reaches, the other sides aside; -1 for none."""
    low, high = -1, len(side.steps)
    while low + 1 < high:
        middle = (low + high) // 2
        if search.sound([*literals, side.at_least(side.steps[middle])]) is None:
            high = middle
        else:
            low = middle
    return low


def _least_bodies(search: Search, literals: Sequence[int]) -> int:
    """The least volume of the bodies of units that a sound selection with the literals has, mm3."""
    optimum = _with(search, literals)
    held = optimum.best(optimum.sum(optimum.body_terms()))
    assert held is not None
    return optimum.values[0]


def _with(search: Search, literals: Sequence[int]) -> Optimum:
    optimum = Optimum(search)
    for literal in literals:
        optimum.require([literal])
    return optimum
