"""Sound selections met before: what is known to be possible, and what proposals start near.

A selection is told by the bits of its variables. The questions of one step of a sale differ in
their last literal alone, so what shares most with the others is worked out once for all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import define, field

from configurator.engine.encoding import as_bits

__all__ = ["Known"]

_LATEST = 64
"""How many of those that lack only the last literal are looked at."""


@define
class _Around:
    """The selections that share most with some literals.

    Attributes:
        literals: those literals.
        mask: the bits of those that are to be true.
        most: how many of them a selection has at most.
        full: selections that have so many, the latest last.
        almost: those that have one fewer.
    """

    literals: Sequence[int]
    mask: int
    most: int = -1
    full: list[int] = field(factory=list)
    almost: list[int] = field(factory=list)

    def add(self, bits: int) -> None:
        """Sort in a selection later than all others."""
        shared = (bits & self.mask).bit_count()
        if shared > self.most:
            self.almost = self.full if shared == self.most + 1 else []
            self.most, self.full = shared, [bits]
        elif shared == self.most:
            self.full.append(bits)
        elif shared == self.most - 1:
            self.almost.append(bits)

    def drop(self, bits: int) -> bool:
        """Forget a selection; whether that leaves something that shares most."""
        shared = (bits & self.mask).bit_count()
        if shared == self.most:
            self.full.remove(bits)
        elif shared == self.most - 1:
            self.almost.remove(bits)
        return bool(self.full)


class Known:
    """The latest so many sound selections met."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._every: dict[int, None] = {}
        self._around: _Around | None = None

    def keep(self, bits: int) -> None:
        """Keep one more."""
        if bits in self._every:
            return
        self._every[bits] = None
        if self._around is not None:
            self._around.add(bits)
        if len(self._every) > self._most:
            oldest = next(iter(self._every))
            del self._every[oldest]
            if self._around is not None and not self._around.drop(oldest):
                self._around = None

    def having(self, literals: Sequence[int]) -> int | None:
        """The latest in which all these variables are true."""
        around, last = self._split(literals)
        if around.most < around.mask.bit_count():
            return None
        return next((bits for bits in reversed(around.full) if bits & last == last), None)

    def seen(self, literals: Iterable[int]) -> tuple[int, int]:
        """What some, and what all, of those with these variables have.

        Both have the bit of each variable set; all bits are where there is none.
        """
        mask, some, every = as_bits(literals), 0, -1
        for bits in self._every:
            if bits & mask == mask:
                some |= bits
                every &= bits
        return some, every

    def nearest(self, literals: Sequence[int], spare: int, wanted: int = 0) -> int | None:
        """Of those that share most of the literals, the one that has least besides.

        Args:
            literals: what is asked; only what has to be true counts.
            spare: bits of which it is to have few.
            wanted: bits each of which makes good for one that is spare.
        """
        around, last = self._split(literals)
        both = [bits for bits in around.full if bits & last == last]
        if last and not both:
            both = [*around.full[-_LATEST:], *(bits for bits in around.almost if bits & last)]
        spare &= ~(around.mask | last)

        def score(bits: int) -> int:
            return (bits & spare).bit_count() - (bits & wanted).bit_count()

        return min(both, key=score, default=None)

    def _split(self, literals: Sequence[int]) -> tuple[_Around, int]:
        """What shares most with all the literals but the last, and the bit of that one."""
        others, last = literals[:-1], literals[-1] if literals else 0
        if self._around is None or self._around.literals != others:
            self._around = _Around(others, as_bits(literal for literal in others if literal > 0))
            for bits in self._every:
                self._around.add(bits)
        return self._around, 1 << last if last > 0 else 0
