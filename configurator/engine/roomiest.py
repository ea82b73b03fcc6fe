"""The roomiest way to finish a selection, and of those the cheapest.

Room is what is clear inside, less the bodies of units.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod
from typing import Any

from configurator.engine.constraint import Held
from configurator.engine.figures import Side
from configurator.engine.optimum import Optimum
from configurator.engine.search import Search


def roomiest(search: Search, literals: Sequence[int]) -> Held | None:
    """The sound selection with the literals that leaves most room, or None where there is none.

    Of several the cheapest, then the one with fewest picks.

    Raises:
        SearchLimit: it stopped without an answer, which proves nothing.
    """
    optimum = Optimum(search)
    for literal in literals:
        optimum.require([literal])
    bodies = optimum.sum(optimum.body_terms())
    spaces = [list(search.insides.sides(space.id).values()) for space in search.catalogue.spaces]
    volumes = [_volume(optimum, sides) for sides in spaces if all(side.steps for side in sides)]
    return optimum.best(bodies - sum(volumes), optimum.sum(optimum.price_terms()))


def _volume(optimum: Optimum, sides: Sequence[Side]) -> Any:
    """The volume inside, mm3; nothing where the space has no size."""
    most = prod(side.steps[-1] for side in sides)
    volume = optimum.model.new_int_var(0, most, "volume")
    sizes = []
    for side in sides:
        rises = zip((0, *side.steps), side.steps, strict=False)
        terms = [(step - before, side.at_least(step)) for before, step in rises]
        size = optimum.model.new_int_var(0, side.steps[-1], "size")
        optimum.model.add(size == optimum.sum(terms))
        sizes.append(size)
    optimum.model.add_multiplication_equality(volume, sizes)
    return volume
