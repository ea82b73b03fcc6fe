"""The roomiest way to finish a selection: the most clear inside, less the bodies of units.

Inside sizes come in steps. Combinations of steps are tried from the largest volume down, each by
asking the search whether a sound selection is at least that large; the first that is has the
largest volume. Where units must be traded against room, it goes on until no smaller volume could
win any more. Of the roomiest selections it is the cheapest, then the one with fewest picks.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from math import prod

from configurator.engine.encoding import Held
from configurator.engine.fitting import Side
from configurator.engine.optimum import Optimum
from configurator.engine.search import Search
from configurator.errors import SearchLimit

__all__ = ["roomiest"]

_MOST_TRIED = 50_000


def roomiest(search: Search, literals: Sequence[int]) -> Held | None:
    """The sound selection with the literals that leaves most room, or None where there is none.

    Raises:
        SearchLimit: it gave up, which proves nothing.
    """
    if search.sound(literals) is None:
        return None
    spaces = [list(search.fit.sides(space.id).values()) for space in search.catalogue.spaces]
    sides = [side for space in spaces for side in space if side.steps]
    tops = tuple(_highest(search, literals, side) for side in sides)

    def volume(steps: tuple[int, ...]) -> int:
        sizes = iter(
            side.steps[step] if step >= 0 else 0 for side, step in zip(sides, steps, strict=True)
        )
        return sum(prod(next(sizes) for _ in range(3)) for space in spaces if space[0].steps)

    least_bodies, _ = _least_bodies(search, literals)
    best = -1 << 62
    roomiest_ones: list[tuple[list[int], int]] = []
    waiting, seen = [(-volume(tops), tops)], {tops}
    for _ in range(_MOST_TRIED):
        if not waiting:
            break
        negative, steps = heapq.heappop(waiting)
        if -negative - least_bodies < best:
            break
        asked = [*literals, *_at_least(sides, steps)]
        if search.sound(asked) is not None:
            bodies, _ = _least_bodies(search, asked)
            if -negative - bodies > best:
                best, roomiest_ones = -negative - bodies, []
            if -negative - bodies == best:
                roomiest_ones.append((asked, bodies))
        for index, step in enumerate(steps):
            lower = (*steps[:index], step - 1, *steps[index + 1 :])
            if step >= 0 and lower not in seen:
                seen.add(lower)
                heapq.heappush(waiting, (-volume(lower), lower))
    else:
        raise SearchLimit(f"no roomiest selection after {_MOST_TRIED} sizes; that proves nothing")
    found = [_cheapest(search, *one) for one in roomiest_ones]
    return min(found, key=lambda one: one[:2])[2]


def _cheapest(search: Search, literals: Sequence[int], bodies: int) -> tuple[int, int, Held]:
    """Price, number of picks, and the cheapest selection with so much of bodies at most."""
    optimum = _with(search, literals)
    optimum.at_most(optimum.body_terms(), bodies)
    prices = optimum.price_terms()
    held = optimum.best(optimum.sum(prices))
    assert held is not None
    return optimum.value_of(prices), sum(held.values()), held


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


def _least_bodies(search: Search, literals: Sequence[int]) -> tuple[int, Held]:
    optimum = _with(search, literals)
    terms = optimum.body_terms()
    held = optimum.best(optimum.sum(terms))
    assert held is not None
    weights = {variable: weight for weight, variable in terms}
    levels = search.encoding.levels
    total = sum(
        weights.get(levels[choice, option, level], 0)
        for (choice, option), quantity in held.items()
        for level in range(1, quantity + 1)
    )
    return total, held


def _with(search: Search, literals: Sequence[int]) -> Optimum:
    optimum = Optimum(search)
    for literal in literals:
        optimum.require([literal])
    return optimum
