"""Warm starts for proposals: selections that use little of the limits, and sound ones found before.

A start is a set of variables, as the bits of a whole number. It needs not be sound: a proposal has
it true where it can. Rules are left to the solver, which with the constraints has the last word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from configurator.engine.constraint import Constraint
from configurator.engine.encoding import Encoding, as_bits, variables
from configurator.engine.violation import ConstraintId

_MOST_OVER = 10


class Starts:
    """Starts of one catalogue."""

    def __init__(self, encoding: Encoding, limits: Sequence[Constraint], units: int) -> None:
        self._encoding, self._limits, self._units = encoding, limits, units
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
                as far as that helps: all options of seeded catalogues of 60 choices take 1.2 CPU s
                in place of 1.4. The same counts come again and again: what they lead to is kept,
                as the states of random sales take 5 % longer where it is not.
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

    def hoped(self, asked: int, hopes: Iterable[int], most: int) -> list[int]:
        """So many of the hopes to go with what is asked: of a choice of one only one, no unit.

        Rooms with a unit more are dear to settle.
        """
        levels, found = self._encoding.level_of, [asked]
        taken = {levels[asked][0]}
        for hope in hopes:
            if len(found) > most:
                break
            choice = levels[hope][0]
            if not self._units >> hope & 1 and not (choice in taken and self._one[choice]):
                taken.add(choice)
                found.append(hope)
        return found[1:]

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
    """The latest sound selections found, up to a number of them, each in a place of its own.

    Kept as columns: for each variable, the places of those that have it, as bits. So what some or
    all of them have is told without looking at each: 2 microseconds a question, where going
    through 600 took 340.
    """

    def __init__(self, most: int, count: int) -> None:
        self._most, self._next, self._used = most, 0, 0
        self._places: list[int] = [0] * most
        self._columns = [0] * (count + 1)

    def keep(self, bits: int) -> None:
        """Keep one more, in the place of the oldest."""
        place = 1 << self._next
        for variable in variables(self._places[self._next] & ~bits):
            self._columns[variable] ^= place
        for variable in variables(bits & ~self._places[self._next]):
            self._columns[variable] ^= place
        self._places[self._next] = bits
        self._used |= place
        self._next = (self._next + 1) % self._most

    def having(self, literals: Iterable[int]) -> int:
        """The places of those in which all these literals of quantities are true, as bits."""
        found, columns = self._used, self._columns
        for literal in literals:
            if abs(literal) >= len(columns):
                return 0
            found &= columns[literal] if literal > 0 else ~columns[-literal]
        return found

    def at(self, places: int) -> int:
        """The bits of one in these places."""
        return self._places[places.bit_length() - 1]
