"""A theory that is asked only what it was not asked before.

Two selections that agree in what a fact hangs on both keep it or both break it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import Factory, define

from configurator.engine.encoding import Encoding, Fact, Held, as_bits
from configurator.engine.theories import Reason, Theory

__all__ = ["Recall"]

_MOST_KEPT = 1_000


@define
class _Kept:
    """What is known of one fact.

    Attributes:
        mask: the bits of the variables that it hangs on.
        bits: with which of them it was kept.
    """

    mask: int
    bits: set[int] = Factory(set)


class Recall:
    """A theory, and with what each of its facts was kept.

    Args:
        encoding: the catalogue's.
        theory: what is asked.
        besides: facts of others that its reasons may rest on.
    """

    def __init__(self, encoding: Encoding, theory: Theory, besides: Iterable[Fact] = ()) -> None:
        self._theory, self._besides = theory, frozenset(besides)
        self._kept: dict[Fact, _Kept] = {}
        for fact in theory.facts():
            keys = {(c, o) for c, options in theory.hangs_on(fact) for o in options}
            self._kept[fact] = _Kept(as_bits(v for key in keys for v in encoding.quantities[key]))

    def refuse(self, held: Held, bits: int, active: frozenset[Fact]) -> Iterator[Reason]:
        """What the theory has against a selection that is also told as bits."""
        fresh = [
            fact
            for fact, kept in self._kept.items()
            if bits & kept.mask not in kept.bits and fact in active
        ]
        if not fresh:
            return
        refused = False
        for reason in self._theory.refuse(held, active & self._besides | frozenset(fresh)):
            refused = True
            yield reason
        if refused or not self._besides <= active:
            return
        for fact in fresh:
            kept = self._kept[fact]
            if len(kept.bits) >= _MOST_KEPT:
                kept.bits.clear()
            kept.bits.add(bits & kept.mask)
