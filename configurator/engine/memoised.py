"""A constraint that is asked only what it was not asked before.

Two selections that agree in what a constraint depends on both keep it or both break it.
"""

from __future__ import annotations

from collections.abc import Iterator

from configurator.engine.constraint import Constraint, ConstraintId, Held, Violation
from configurator.engine.encoding import Encoding, as_bits

_MOST_KEPT = 1_000


class Memoised:
    """A constraint, and the answers to what it depends on with which it was kept."""

    def __init__(self, encoding: Encoding, constraint: Constraint) -> None:
        self.constraint, self.id = constraint, constraint.id
        keys = {(c, o) for c, options in constraint.depends_on() for o in options}
        self._mask = as_bits(v for key in keys for v in encoding.quantities[key])
        self._kept: set[int] = set()

    def violations(
        self, held: Held, bits: int, active: frozenset[ConstraintId]
    ) -> Iterator[Violation]:
        """What it has against a selection that is also told as bits."""
        here = bits & self._mask
        if here in self._kept or self.id not in active:
            return
        broken = False
        for violation in self.constraint.violations(held, active):
            broken = True
            yield violation
        if not broken and self.constraint.rests_on <= active:
            if len(self._kept) >= _MOST_KEPT:
                self._kept.clear()
            self._kept.add(here)
