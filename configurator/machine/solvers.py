"""The one door to the solver libraries: OR-Tools CP-SAT for best answers, python-sat for clauses.

Whatever a library raises proves nothing, so it becomes :class:`SearchLimit`, as giving up does.
Effort is counted in CP-SAT's own deterministic unit (about a second on a fast machine) and never
in seconds; one worker and a fixed seed give the same answer again. Which of several good packages a
solver proposes first may hang on the machine, so that what is not settled may, too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from attrs import frozen

from configurator.errors import ConfiguratorError, SearchLimit
from configurator.words import text

if TYPE_CHECKING:
    from configurator.machine.cp_sat import cp_model


@frozen(eq=False, repr=False)
class Solved:
    """A solution of a CP-SAT model.

    Attributes:
        solver: has the value of every variable.
        best: it is proved to be the best one.
    """

    solver: cp_model.CpSolver
    best: bool


@contextmanager
def unsettled(question: str) -> Iterator[None]:
    """Turn whatever a solver library raises inside into an answer that was not found.

    It goes round the whole use of a model, from its first variable to the last value read, or
    before a function that is nothing else.

    Args:
        question: what was asked, as the start of a sentence: "whether they fit".

    Raises:
        SearchLimit: something was raised.
    """
    try:
        yield
    except (ConfiguratorError, AssertionError, MemoryError):
        raise
    except Exception as error:
        raise SearchLimit(
            text(
                "{question} was not settled: the solver failed ({error})",
                question=question,
                error=type(error).__name__,
            )
        ) from error


def _solver(work: float, seed: int, light: bool) -> cp_model.CpSolver:
    from configurator.machine.cp_sat import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    # OR-Tools 9.15 fails on some packing models when it looks for symmetries
    solver.parameters.symmetry_level = 0
    if light:
        solver.parameters.max_presolve_iterations = 1
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.inprocessing_probing_dtime = 0
        solver.parameters.merge_at_most_one_work_limit = 0
        solver.parameters.linearization_level = 0
    return solver


def _settled(solver: cp_model.CpSolver, model: cp_model.CpModel, question: str) -> Any:
    """Whether the model is infeasible, or how well it is solved, as a status of CP-SAT.

    Raises:
        SearchLimit: no answer within the work allowed, or the library failed.
    """
    from configurator.machine.cp_sat import cp_model

    with unsettled(question):
        status = solver.solve(model)
    if status not in (cp_model.INFEASIBLE, cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise SearchLimit(
            text("{question} was not settled within the work allowed", question=question)
        )
    return status


def solve(
    model: cp_model.CpModel,
    question: str,
    work: float,
    seed: int = 1,
    light: bool = False,
    sums: bool = False,
) -> Solved | None:
    """A solution of the model, or None, which is a proof that there is none.

    Args:
        model: what has to hold, and what is to be least.
        question: what is asked, as the start of a sentence: "whether they fit".
        work: deterministic work allowed.
        seed: of the solver's random choices.
        light: search at once, with next to no work on the model before; what is easy then takes a
            quarter of the time, what is not may never end.
        sums: the model is made of sums, of which the linear relaxation tells most: a budget of
            rounded shares takes 40 ms in place of 21 s with it, others as long as without.

    Raises:
        SearchLimit: no answer within the work allowed, or the library failed.
    """
    from configurator.machine.cp_sat import cp_model

    solver = _solver(work, seed, light)
    if sums:
        solver.parameters.linearization_level = 2
    status = _settled(solver, model, question)
    if status == cp_model.INFEASIBLE:
        return None
    return Solved(solver, status == cp_model.OPTIMAL)


def not_together(
    model: cp_model.CpModel,
    assumed: Sequence[cp_model.IntVar],
    question: str,
    work: float,
    seed: int = 1,
) -> tuple[int, ...] | None:
    """Places of assumed literals that cannot all be true; None where all of them can.

    Args:
        model: what has to hold.
        assumed: literals to be true.
        question: what is asked, as the start of a sentence: "whether they fit".
        work: deterministic work allowed.
        seed: of the solver's random choices.

    Raises:
        SearchLimit: no answer within the work allowed, or the library failed.
    """
    from configurator.machine.cp_sat import cp_model

    solver = _solver(work, seed, light=True)
    with unsettled(question):
        model.clear_assumptions()
        model.add_assumptions(assumed)
        if _settled(solver, model, question) != cp_model.INFEASIBLE:
            return None
        core = {*solver.sufficient_assumptions_for_infeasibility()}
        return tuple(at for at, literal in enumerate(assumed) if literal.index in core)


_CLAUSES = text("what the rules allow")
_PAIRWISE = 16


def at_most_one(literals: list[int], top: int) -> tuple[list[list[int]], int]:
    """Clauses of which all hold just where at most one literal does, and the last variable then.

    Pairwise for few; for many a chain that remembers whether one came before.
    """
    from pysat.card import CardEnc, EncType  # type: ignore[import-untyped]

    kind = EncType.pairwise if len(literals) <= _PAIRWISE else EncType.seqcounter
    with unsettled(_CLAUSES):
        found = CardEnc.atmost(literals, 1, top, encoding=kind)
        return found.clauses, max(top, found.nv)


class ClauseSolver:
    """Glucose, asked about clauses under assumptions; clauses can be added at any time."""

    def __init__(self) -> None:
        from pysat.solvers import Glucose4  # type: ignore[import-untyped]

        with unsettled(_CLAUSES):
            self._glucose = Glucose4()

    def add_clause(self, clause: list[int]) -> None:
        """One of these literals must be true."""
        with unsettled(_CLAUSES):
            self._glucose.add_clause(clause)

    def propagate(self, assumptions: list[int]) -> tuple[bool, list[int]]:
        """Whether reading clauses alone meets no contradiction, and what follows that way."""
        with unsettled(_CLAUSES):
            agreed, literals = self._glucose.propagate(assumptions=assumptions)
        return bool(agreed), literals

    def prefer(self, literals: list[int]) -> None:
        """Have the next model make these literals true where it can."""
        with unsettled(_CLAUSES):
            self._glucose.set_phases(literals)

    def solve(self, assumptions: list[int]) -> bool:
        """Whether all clauses can hold together with the assumptions."""
        with unsettled(_CLAUSES):
            answer = self._glucose.solve(assumptions=assumptions)
        if answer is None:
            raise SearchLimit(text("{question} was not settled", question=_CLAUSES))
        return bool(answer)

    def model(self) -> list[int]:
        """What the last solve found: a literal for each variable, in the variables' order."""
        with unsettled(_CLAUSES):
            return self._glucose.get_model()  # type: ignore[no-any-return]

    def core(self) -> frozenset[int]:
        """The assumptions that the last refusal rests on."""
        with unsettled(_CLAUSES):
            return frozenset(self._glucose.get_core() or ())
