"""Whether some sound selection has what is asked: the search says, or else the optimiser.

Where sums are hard, the search refuses one proposal after the other and stops; CP-SAT, which
knows limits and ratings as sums, then settles in a second what the search would not in a day. Where
rooms are, proofs that no carrier gets their units in end the proposals: full canopies at which the
search stopped after 5 to 11 CPU s are refused in 2 to 5.
"""

from __future__ import annotations

from collections.abc import Sequence

from configurator.engine.effort import Effort, of_states, whole_rooms
from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.errors import SearchLimit
from configurator.machine.solvers import unsettled

_PATIENCE = 12
"""Crowded proposals that each of them refuses before the next is asked."""


def decide(
    search: Search,
    literals: Sequence[int],
    active: frozenset[ConstraintId] | None = None,
    quick: bool = False,
    effort: Effort | None = None,
) -> int | None:
    """As :meth:`Search.sound`; where that stops, whole rooms are refused, then the optimiser asked.

    A quick question does without. What they say is kept for later questions.

    Args:
        search: what is asked.
        literals: what must be true.
        active: constraints to respect; all of them by default.
        quick: give up at a proposal that is hard to refuse.
        effort: what is tried before whole rooms are refused; one long search by default.

    Raises:
        SearchLimit: none of them settled it, which proves nothing.
    """
    for tried in (effort or Effort(searches=1), whole_rooms()):
        try:
            with search.layouts.trying(tried):
                return search.sound(literals, active, _PATIENCE, quick)
        except SearchLimit:
            if quick:
                raise
    return second_opinion(search, literals, active)


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
