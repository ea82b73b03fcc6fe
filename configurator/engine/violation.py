"""Why a proposal is refused: what is picked, which constraint, and a clause that holds instead."""

from __future__ import annotations

from attrs import frozen

from configurator.shapes.forms import form

Held = dict[tuple[str, str], int]
"""Quantity of each picked option."""


@form()
@frozen
class ConstraintId:
    """Which constraint: what a conflict names in addition to picks.

    Attributes:
        kind: ``rule``, ``limit``, ``fit`` (one unit), ``layout`` (all units of a space),
            ``not-weighed`` (one option) or ``rating``; or a kind of one's own.
        subject: id of the rule, limit or space, ``choice=option`` of the unit or option, or which
            rating.
    """

    kind: str
    subject: str

    def __lt__(self, other: ConstraintId) -> bool:
        """By kind and subject; conflicts are put in order so often that this has to be quick."""
        return (self.kind, self.subject) < (other.kind, other.subject)


@frozen
class Violation:
    """Why a proposal is refused, as a clause that holds in every sound selection.

    Attributes:
        fact: the constraint that is violated.
        clause: literals, without the guard.
        besides: other constraints that it rests on.
    """

    fact: ConstraintId
    clause: tuple[int, ...]
    besides: tuple[ConstraintId, ...] = ()
