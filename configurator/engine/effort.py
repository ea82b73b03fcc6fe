"""How much is tried for one question, in counts."""

from __future__ import annotations

from attrs import define

from configurator.catalogue.model import Catalogue
from configurator.fit.search import SHORT_WORK
from configurator.words import Text, text

QUICK, LONG = 250, 4_000
"""Guesses of a quick and of a patient question for a proof that no carrier helps.

With 500 for quick ones, the worst of 79 crowded steps took 0.53 CPU s in place of 0.47.

OR-Tools is not asked where they are not enough: once a question, that took four crowded steps of
sales 24 CPU s in place of 16, and left 46 options in place of 48.
"""

_QUICK_TRIES = 4
"""How often a quick question looks for fewer units that do not go in.

Of 20 461 options of crowded sales 205 are left; with 2 tries 464, and 95 of 100 steps take 0.23 CPU
s in place of 0.33.
"""

_SEARCHES = 2
"""How often a question about many options looks in vain for a proof that no carrier helps.

With 8, 2 327 steps of 60 sales take 420 CPU s in place of 397, and leave 1 152 options undecided in
place of 1 120; quick questions take as long with either.
"""

_PROOFS = 6
"""Proofs of OR-Tools that a full room's units do not go in whatever carries them; one in vain
counts as three.

Where it is in vain, the option is left at once: three crowded sales of 119 steps take 113 CPU s in
place of 301, and leave 248 options in place of 224.
"""

_WORK_OF_ONE = 3.0
"""Deterministic work of such a proof for a question that is asked alone.

A full canopy of the demo is refused so in 4 CPU s, and not settled with that of many.
"""

CORE = 1.0
"""Deterministic work for which of a full room's units do not go in whatever carries them.

For three fixes of a touring package on a smaller vehicle it is asked 26 times, 0.2 CPU s each
and 0.7 at most.
"""

BEFORE_PROOF = 1
"""How many crowded rooms are refused for one option before that is asked."""

_CROWDS, _QUICK_CROWDS = 20, 5
"""Crowded rooms of which a question about many options looks for a reason.

With 20 for quick ones, 95 of 100 take 0.19 CPU s in place of 0.13, and 0.8 % of the options are
left in place of 1.2 %; with 5 for patient ones, 0.48 % are left in place of 0.13.
"""

_NO_END = 10**9


@define
class Effort:
    """What may still be tried; without limit by default, but for a quick question's tries.

    Attributes:
        tries: how often a quick question looks for fewer units that do not go in.
        searches: how often a long search for such a carrier may fail.
        crowds: of how many crowded rooms a reason may be looked for; one that is looked for in vain
            counts as three.
        proofs: how often OR-Tools may be asked whether anything could carry all units of a room.
        crowded: crowded proposals refused for all of them.
        refused: crowded rooms refused for the option that is asked about now.
        few: whether OR-Tools is asked of a hard room which units do not go in whatever carries
            them, before it is asked whether all do. With many packages to refuse, one of which
            differs little from the next, that takes three fixes of a touring package from 32 CPU s
            to 10.
        whole: whether an option is left undecided where that is not proved.
        work: deterministic work of one proof.
    """

    tries: int = _QUICK_TRIES
    searches: int = _NO_END
    crowds: int = _NO_END
    proofs: int = 0
    crowded: int = 0
    refused: int = 0
    few: bool = False
    whole: bool = False
    work: float = SHORT_WORK


def of_states(quick: bool = False) -> Effort:
    """For the states of the options of one selection, all together."""
    crowds = _QUICK_CROWDS if quick else _CROWDS
    return Effort(searches=_SEARCHES, crowds=crowds, proofs=_PROOFS)


def whole_rooms() -> Effort:
    """For one question whose crowded rooms are refused as wholes."""
    return Effort(searches=1, proofs=_PROOFS, whole=True, work=_WORK_OF_ONE)


def nearly_full(catalogue: Catalogue, space: str) -> Text:
    """Why a question about the space is not settled."""
    return text("the {space} is nearly full", space=catalogue.space_title(space))
