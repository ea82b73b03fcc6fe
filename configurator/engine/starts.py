"""Warm starts for proposals: selections that use little of the limits, and sound ones found before.

A start is a set of variables, as the bits of a whole number. It needs not be sound: a proposal has
it true where it can. Rules are left to the solver, which with the constraints has the last word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from configurator.engine.constraint import ConstraintId
from configurator.engine.encoding import Encoding, as_bits, variables
from configurator.engine.limits import LimitConstraint

_MOST_OVER = 10


class Starts:
    """Starts of one catalogue."""

    def __init__(self, encoding: Encoding, limits: Sequence[LimitConstraint]) -> None:
        self._encoding, self._limits = encoding, limits
        self._one = {c.id: c.pick != "several" for c in encoding.choices}
        self._answers = dict.fromkeys(self._one, 0)
        self._shares: dict[int, list[tuple[int, float]]] = {}
        for variable, (choice, option, _) in encoding.level_of.items():
            self._answers[choice] |= 1 << variable
            most = [limit.most(choice, option) for limit in limits]
            self._shares[variable] = [(n, float(one)) for n, one in enumerate(most) if one]
        self._firsts = [
            [encoding.levels[choice.id, option, 1] for option in sorted(choice.by_id)]
            for choice in encoding.choices
            if choice.pick == "one"
        ]
        several = [
            rising for (choice, _), rising in encoding.quantities.items() if not self._one[choice]
        ]
        self._place = {rising[0]: place for place, rising in enumerate(several)}
        empty = encoding.empty
        self._none = [*(-rising[0] for rising in several), *empty.values()]
        at = {choice: place for place, choice in enumerate(empty, start=len(several))}
        self._emptied = {v: at[c] for v, (c, *_) in encoding.level_of.items() if c in at}
        self._next = {less: more for rising in several for less, more in pairwise(rising)}
        self._lightest: dict[tuple[int, ...], int] = {}

    def lightest(self, over: Mapping[ConstraintId, int] = MappingProxyType({})) -> int:
        """Of each choice of one, the option that takes least of what the limits give.

        Args:
            over: how often each limit was exceeded before; each time makes it count twice as much,
                as far as that helps.
        """
        key = tuple(min(over.get(one.id, 0), _MOST_OVER) for one in self._limits)
        if key not in self._lightest:
            scale = [2.0**often / one.room for often, one in zip(key, self._limits, strict=True)]

            def part(variable: int) -> float:
                return sum(scale[n] * share for n, share in self._shares[variable])

            self._lightest[key] = as_bits(min(options, key=part) for options in self._firsts)
        return self._lightest[key]

    def over(self, bits: int, literals: Iterable[int]) -> int:
        """Those bits with variables that are asked for in place of other answers."""
        levels = self._encoding.level_of
        for variable in literals:
            if variable in levels and not bits >> variable & 1:
                bits = bits & ~self._others(levels[variable][0], bits) | 1 << variable
        return bits

    def literals(self, bits: int) -> list[int]:
        """The bits as literals from which every quantity and empty answer follows.

        Of choices of one, those that are false by that are left out.
        """
        found = self._none.copy()
        for variable in variables(bits):
            place = self._place.get(variable)
            if place is None:
                found.append(variable)
            else:
                found[place] = variable
            more = self._next.get(variable)
            if more is not None and not bits >> more & 1:
                found.append(-more)
            place = self._emptied.get(variable)
            if place is not None:
                found[place] = -self._none[place]
        return found

    def _others(self, choice: str, bits: int) -> int:
        """Which of the bits another answer to the choice takes away."""
        return bits & self._answers[choice] if self._one[choice] else 0


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
