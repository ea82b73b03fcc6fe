"""The solution pool: sound selections already found, by the bits of their variables."""

from __future__ import annotations

from collections.abc import Iterable

from configurator.engine.encoding import as_bits


class SolutionPool:
    """The latest sound selections found, up to a number of them."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._every: dict[int, None] = {}

    def keep(self, bits: int) -> None:
        """Keep one more."""
        self._every[bits] = None
        if len(self._every) > self._most:
            del self._every[next(iter(self._every))]

    def having(self, literals: Iterable[int]) -> int | None:
        """The latest in which all these variables are true."""
        mask = as_bits(literals)
        return next((bits for bits in reversed(self._every) if bits & mask == mask), None)

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
