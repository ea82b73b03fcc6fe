"""How much is tried for one question, in counts."""

from __future__ import annotations

from attrs import define

QUICK, LONG = 500, 4_000
"""Guesses of a quick and of a patient question for a proof that no carrier helps."""

PROOF = 0.5
"""Work that OR-Tools may do for it where the guesses were not enough."""

MOST_PROOFS = 1
"""How often a patient question asks it to.

With 12 proofs of twice as much work, and no end of searches, the worst step of a crowded sale took
42 CPU s in place of 10, and left no fewer options.
"""

QUICK_PROOFS = 4
"""How often a quick question looks for fewer units that do not go in.

Of 20 461 options of crowded sales 205 are left; with 2 tries 464, and 95 of 100 steps take 0.23 CPU
s in place of 0.33.
"""

_SEARCHES = 8
_CROWDS = 30
"""A quick step that met 100 of them took 1.3 CPU s in place of 0.5."""

_NO_END = 10**9


@define
class Effort:
    """What may still be tried; no end of it by default, but for proofs.

    Attributes:
        proofs: how often OR-Tools may be asked whether any carrier helps; in a quick question, how
            often fewer units are looked for that do not go in.
        searches: how often a long search for such a carrier may fail.
        crowds: of how many crowded rooms a reason may be looked for; one that is looked for in vain
            counts as three.
    """

    proofs: int = MOST_PROOFS
    searches: int = _NO_END
    crowds: int = _NO_END


def of_states(quick: bool) -> Effort:
    """For the states of the options of one selection, all together."""
    return Effort(QUICK_PROOFS if quick else MOST_PROOFS, _SEARCHES, _CROWDS)
