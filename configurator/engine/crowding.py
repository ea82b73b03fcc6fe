"""Why units do not go in together, as the widest clause that is still proven.

The clause names the units; whatever could help them by carrying them; the largest inside with which
they still cannot go in; and doors with which they can or might. It is widened in steps, each
proven by the same search that refused the proposal:

* All that could carry them is let in, as something that may stand in the room with all of its body;
  what helps by that is named.
* A larger inside never makes a fitting set unfit, so each size grows while they still cannot.
* Another option of the same choice in a unit's place, and other doors, are refused along with the
  ones at hand where they fail just so; not where the one at hand was asked for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence, Set
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

from attrs import evolve

from configurator.arrangement.answers import mending
from configurator.arrangement.conflict import least_unfit, only, unfit
from configurator.arrangement.rooms import Room
from configurator.engine.constraint import Held
from configurator.engine.encoding import State
from configurator.engine.figures import states_in, states_of
from configurator.engine.fitting import Side
from configurator.errors import SearchLimit
from configurator.totals import Interior

if TYPE_CHECKING:
    from configurator.engine.arranging import LayoutTheory

__all__ = ["Crowd"]

Key: TypeAlias = tuple[str, str]
"""Ids of a choice and an option."""

_GUESSES = 400
_FEW_GUESSES = 120
"""What is hard to settle is not worth lifting a reason for."""

_MOST_WIDENING = 40


class Crowd:
    """Units that do not go in together, and how far that holds.

    Args:
        theory: asks for rooms, and knows what they hang on.
        held: the proposal refused.
        room: does not hold its units.
        inside: its clear inside.
        asked: options that were asked for; nobody needs to know of others in their place.
    """

    def __init__(
        self, theory: LayoutTheory, held: Held, room: Room, inside: Interior, asked: Set[Key]
    ) -> None:
        self.theory, self.encoding = theory, theory.encoding
        self.catalogue, self.space = theory.catalogue, room.space
        self.asked, self.grown = asked, inside
        self.decided = {
            choice for choice, _ in asked if self.catalogue.by_id[choice].pick != "several"
        }
        kept = least_unfit(room, asked=asked, guesses=_GUESSES)
        self.units = Counter((room.items[i].choice, room.items[i].option) for i in kept)
        self.places: list[list[Key]] = [[key] for key in self.units]
        present = dict(theory.units_in(self.space, held))
        self.rest = {key: count for key, count in held.items() if key not in present}
        self.may: dict[Key, int] = {key: n for key, n in present.items() if self._carries(key)}
        self.mending: list[int] = []
        self.fixed = {choice_id for choice_id, _ in theory.others[self.space]}
        for side in theory.alone.sides(self.space).values():
            self.fixed |= {choice_id for choice_id, _ in side.on}
        self._let_carriers_in(held)
        self._grow()
        self._put_others_in_place()

    def clause(self) -> tuple[int, ...]:
        """Literals of which one is true in every sound selection."""
        literals = [
            self._none_of([self.encoding.at_least(*key, self.units[first]) for key in place])
            for first, place in zip(self.units, self.places, strict=True)
        ]
        literals += self.mending
        for name, side in self.theory.alone.sides(self.space).items():
            literals += side.above(getattr(self.grown, name))
        literals += self._outside()
        return tuple(dict.fromkeys(literals))

    def _carries(self, key: Key) -> bool:
        unit = self.catalogue.option(*key).unit
        return unit is not None and unit.carries is not None

    def _none_of(self, literals: Sequence[int]) -> int:
        """A literal that is true only where none of these is."""
        if len(literals) == 1:
            return -literals[0]
        none = self.encoding.new()
        self.encoding.clauses += [[-none, -literal] for literal in literals]
        return none

    def _let_carriers_in(self, held: Held) -> None:
        """Allow all that could carry the units, but for what helps by it."""
        units = [self.catalogue.option(*key) for key in self.units]
        selection = self.encoding.selection(held)
        helping = {}
        for pick in mending(self.theory.resolved(selection), self.space, units):
            key = pick.choice, pick.option
            if self._carries(key) and key[0] not in self.fixed | self.decided:
                helping[key] = self.catalogue.option(*key).most
            else:
                self._unless(key, pick.quantity)
        if helping and self._go_in(self.units, {**self.may, **helping}):
            for key, most in helping.items():
                if self._go_in(self.units, {**self.may, key: most}):
                    self._unless(key, self.may.get(key, 0) + 1)
                else:
                    self.may[key] = most
        else:
            self.may |= helping

    def _unless(self, key: Key, quantity: int) -> None:
        literal = self.encoding.at_least(*key, quantity)
        self.mending += [literal] if literal > 0 else []

    def _go_in(
        self,
        bodies: Mapping[Key, int],
        may: Mapping[Key, int],
        grown: Interior | None = None,
        rest: Held | None = None,
    ) -> bool:
        """Whether the bodies may go in, where so much may carry and the inside is that large."""
        grown = self.grown if grown is None else grown
        held = {**(self.rest if rest is None else rest), **may}
        for key, count in bodies.items():
            held[key] = max(held.get(key, 0), count)
        inside = self.theory.alone.inside(next(iter(bodies)), held)
        if inside is None:
            return True
        add = (
            grown.length - inside.length,
            grown.width - inside.width,
            grown.height - inside.height,
        )
        room = self.theory.room(self.space, held, add)
        if room is None:
            return True
        try:
            return not unfit(only(room, _kept(room, bodies)), _FEW_GUESSES)
        except SearchLimit:
            return True

    def _grow(self) -> None:
        """Let each inside size grow as far as they still fail."""
        for name, side in self.theory.alone.sides(self.space).items():
            low, *steps = self._steps(side, getattr(self.grown, name))
            if steps and not self._go_in(
                self.units, self.may, evolve(self.grown, **{name: steps[-1]})
            ):
                low, steps = steps[-1], []
            while steps:
                middle = len(steps) // 2
                there = evolve(self.grown, **{name: steps[middle]})
                if self._go_in(self.units, self.may, there):
                    steps = steps[:middle]
                else:
                    low, steps = steps[middle], steps[middle + 1 :]
            self.grown = evolve(self.grown, **{name: low})

    def _steps(self, side: Side, size: int) -> list[int]:
        """The size, and those above it that the answers asked for leave open."""
        now = states_in(self.rest, side.on)
        found = {
            larger
            for states, larger in side.sizes.items()
            if larger is not None
            and larger > size
            and all(
                choice not in self.decided or state == at
                for (choice, _), state, at in zip(side.on, states, now, strict=True)
            )
        }
        return [size, *sorted(found)]

    def _put_others_in_place(self) -> None:
        """Other options of a unit's choice with which they fail just so."""
        for index, (first, count) in enumerate(self.units.items()):
            if first in self.asked or first[0] in self.fixed:
                continue
            for option in self.catalogue.by_id[first[0]].options:
                key = first[0], option.id
                here = option.unit is not None and option.unit.space == self.space
                if not here or key in self.units or option.most < count:
                    continue
                ways = list(product(*self.places[:index], [key], *self.places[index + 1 :]))
                if len(ways) > _MOST_WIDENING:
                    break
                if not any(self._go_in(self._instead(way), self.may) for way in ways):
                    self.places[index].append(key)

    def _instead(self, way: Sequence[Key]) -> Mapping[Key, int]:
        """The bodies with these units in the places of the first ones."""
        bodies: Counter[Key] = Counter()
        for key, count in zip(way, self.units.values(), strict=True):
            bodies[key] = max(bodies[key], count)
        return bodies

    def _outside(self) -> Iterator[int]:
        """Literals of which one is true where a door, or what else counts, is another.

        Answers with which they do not go in either are refused with the one at hand.
        """
        others = self.theory.others[self.space]
        now = states_in(self.rest | self.may | self.units, others)
        sets = [[state] for state in now]
        units = list(product(*self.places))
        for index, (choice_id, options) in enumerate(others):
            choice = self.catalogue.by_id[choice_id]
            if choice.pick == "several" or choice_id in self.decided:
                continue
            answers = [s for s in states_of(choice, options) if s not in sets[index]]
            rest = list(product(*sets[:index], *sets[index + 1 :]))
            if len(rest) * len(answers) > _MOST_WIDENING:
                continue
            for state in answers:
                if not any(
                    self._may(way, (*r[:index], state, *r[index:])) for r in rest for way in units
                ):
                    sets[index].append(state)
        for (choice_id, options), allowed in zip(others, sets, strict=True):
            yield from self.encoding.not_among(choice_id, options, allowed)

    def _may(self, way: Sequence[Key], states: tuple[State, ...]) -> bool:
        """Whether these units may go in where an arrangement hangs on these other answers."""
        bodies = self._instead(way)
        held = {**self.rest, **self.may, **bodies}
        answered = self.theory.with_answers(self.space, held, states)
        units = self.theory.units_in(self.space, held)
        if self.theory.units_in(self.space, answered) != units:
            return True
        mine = {key for key, _ in units}
        rest = {key: count for key, count in answered.items() if key not in mine}
        return self._go_in(bodies, self.may, rest=rest)


def _kept(room: Room, bodies: Mapping[Key, int]) -> tuple[int, ...]:
    """The items of the room that are the bodies, the first of each kind."""
    left = dict(bodies)
    kept = []
    for index, item in enumerate(room.items):
        if left.get((item.choice, item.option), 0):
            left[item.choice, item.option] -= 1
            kept.append(index)
    return tuple(kept)
