"""What proposals start from: whole selections near sound ones, so that few of them are refused.

A start is a set of variables, as the bits of a whole number. It needs not be sound: a proposal has
it true where it can. Options hoped for are put into it where the limits allow it, counted
quickly; rules are left to the solver, which with the theories has the last word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from configurator.engine.constraint import ConstraintId
from configurator.engine.encoding import Encoding, as_bits, variables
from configurator.engine.limits import LimitConstraint

__all__ = ["Starts"]

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
        self._none = [-rising[0] for rising in several]
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
        for choice, empty in self._encoding.empty.items():
            found.append(-empty if bits & self._answers[choice] else empty)
        return found

    def hoping(self, bits: int, literals: Iterable[int], hopes: Iterable[int], most: int) -> int:
        """Those bits with so many of the hopes, of choices that no literal is of."""
        levels = self._encoding.level_of
        asked = {levels[v][0] for v in map(abs, literals) if v in levels}
        taken = {choice for choice in asked if self._one[choice]}
        net = self._net(bits)
        for hope in hopes:
            if not most:
                break
            choice = levels[hope][0]
            found = None if choice in taken else self._with(bits, net, hope)
            if found is not None:
                bits, net = found
                if self._one[choice]:
                    taken.add(choice)
                most -= 1
        return bits

    def _with(self, bits: int, net: list[float], hope: int) -> tuple[int, list[float]] | None:
        """The bits with the hope, and what the limits then come to; None if they forbid it."""
        choice = self._encoding.level_of[hope][0]
        gone = self._others(choice, bits)
        bits = bits & ~gone | 1 << hope
        most = self._encoding.catalogue.by_id[choice].at_most
        if most is not None and (bits & self._answers[choice]).bit_count() > most:
            return None
        after = net.copy()
        for variable in variables(gone):
            for n, share in self._shares[variable]:
                after[n] -= share
        for n, share in self._shares[hope]:
            after[n] += share
        if any(new > 0 and new > old for new, old in zip(after, net, strict=True)):
            return None
        return bits, after

    def _others(self, choice: str, bits: int) -> int:
        """Which of the bits another answer to the choice takes away."""
        return bits & self._answers[choice] if self._one[choice] else 0

    def _net(self, bits: int) -> list[float]:
        """What the limits come to: more than nothing is too much."""
        net = [float(one.limit.reserve) for one in self._limits]
        for variable in variables(bits):
            for n, share in self._shares[variable]:
                net[n] += share
        return net
