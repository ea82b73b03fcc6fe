"""The one way in which OR-Tools' CP-SAT is asked.

On one worker, with a fixed seed, and with an effort that is counted rather than timed, so that the
answer is the same on every machine. Whatever the library raises is no answer: it ends as
:class:`SearchLimit`, like an effort used up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from configurator.errors import SearchLimit

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Solved", "solve"]


class Solved(NamedTuple):
    """A solution.

    Attributes:
        solver: with the values of every variable.
        optimal: whether nothing better exists.
    """

    solver: cp_model.CpSolver
    optimal: bool


def solve(
    model: cp_model.CpModel, work: float, seed: int, unsettled: str, symmetry: bool = True
) -> Solved | None:
    """A solution of the model, or None, which is a proof that there is none.

    Args:
        model: what is asked.
        work: the deterministic work allowed, in CP-SAT's own unit (about a second of a fast
            machine).
        seed: of the solver's random choices.
        unsettled: what to say where there is no answer.
        symmetry: whether to look for symmetries. OR-Tools 9.15 fails with an IndexError on some
            packing models where it does, and none is slower without.

    Raises:
        SearchLimit: no answer within the work allowed, or the library failed.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    if not symmetry:
        solver.parameters.symmetry_level = 0
    try:
        status = solver.solve(model)
    except Exception:  # what the library raises has no common type
        raise SearchLimit(unsettled) from None
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise SearchLimit(unsettled)
    return Solved(solver, status == cp_model.OPTIMAL)
