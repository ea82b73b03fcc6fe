"""Whether some sound selection has what is asked: the search says, or else the optimiser.

Where sums are hard, the search refuses one proposal after the other and stops; CP-SAT, which
knows limits as sums, then settles in a second what the search would not in a day.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import MOST_CROWDED, OutOfProposals, Search
from configurator.engine.violation import ConstraintId
from configurator.machine.solvers import unsettled


def decide(
    search: Search,
    literals: Sequence[int],
    active: frozenset[ConstraintId] | None = None,
    patience: int = MOST_CROWDED,
    quick: bool = False,
    hopes: Iterable[int] = (),
) -> int | None:
    """As :meth:`Search.sound`; where that runs out of proposals, the optimiser is asked.

    A quick question does not ask it. What it says is kept for later questions.

    Raises:
        SearchLimit: neither settled it, which proves nothing.
    """
    try:
        return search.sound(literals, active, patience, quick, hopes)
    except OutOfProposals:
        if quick:
            raise
    return second_opinion(search, literals, active)


@unsettled(QUESTION)
def second_opinion(
    search: Search, literals: Sequence[int], active: frozenset[ConstraintId] | None = None
) -> int | None:
    """What the optimiser says of a question of which the search ran out of proposals.

    Raises:
        SearchLimit: it did not settle it either.
    """
    return search.take(literals, active, Optimum(search, literals, active).smallest(0))
