"""Whether some sound selection has what is asked: the search says, or else the optimiser.

Where sums are hard, the search refuses one proposal after the other and stops; CP-SAT, which
knows limits and ratings as sums, then settles in a second what the search would not in a day. Where
a room is, nothing but a proof that no carrier gets its units in ends the proposals.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

from configurator.engine.effort import of_states, whole_rooms
from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.errors import SearchLimit
from configurator.machine.solvers import unsettled

_PATIENCE = 12
"""Crowded proposals that either refuses before the next is asked."""


def decide(search: Search, literals: Sequence[int], quick: bool = False) -> int | None:
    """As :meth:`Search.sound`; where that stops, the optimiser is asked, then a proof looked for.

    A quick question does without. What they say is kept for later questions.

    Raises:
        SearchLimit: none of them settled it, which proves nothing.
    """
    try:
        return search.sound(literals, None, _PATIENCE, quick)
    except SearchLimit:
        if quick:
            raise
    with suppress(SearchLimit):
        return second_opinion(search, literals)
    with search.layouts.trying(whole_rooms()):
        return search.sound(literals)


@unsettled(QUESTION)
def second_opinion(
    search: Search, literals: Sequence[int], active: frozenset[ConstraintId] | None = None
) -> int | None:
    """What the optimiser says of a question at which the search stopped.

    It is asked for the package with least in its rooms: beside picks that fill a canopy it finds
    that in 0.6 CPU s, where it refuses 40 crowded ones in 4 s if any package will do.

    Raises:
        SearchLimit: it did not settle it either.
    """
    optimum = Optimum(search, literals, active)
    optimum.patience = _PATIENCE
    with search.layouts.trying(of_states()):
        emptiest = optimum.smallest(optimum.sum(optimum.body_terms()))
    return search.take(literals, active, emptiest)
