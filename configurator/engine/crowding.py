"""Why units do not go in together, as the widest clause that is still proven.

The clause names the units; whatever could help them by carrying them; the largest inside with which
they still cannot go in; and doors with which they can or might. It is widened in steps, each
proven by the same search that refused the proposal:

* What only carries is let into the room as something to stand on, without taking any of its room.
  Where that helps, it comes with its body: where that is too much, it does not help after all.
* A larger inside never makes a fitting set unfit, so each size grows while they still cannot.
* Another option of the same choice in a unit's place, and other doors, are refused along with the
  ones at hand where they fail just so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

from attrs import evolve, frozen

from configurator.arrangement.answers import FitReason
from configurator.arrangement.reduced import only, unfit
from configurator.arrangement.rooms import Room
from configurator.engine.constraint import Held
from configurator.engine.encoding import State
from configurator.engine.figures import states_in, states_of
from configurator.errors import SearchLimit
from configurator.totals import Interior

if TYPE_CHECKING:
    from configurator.engine.arranging import LayoutTheory

__all__ = ["Crowd"]

Key: TypeAlias = tuple[str, str]
"""Ids of a choice and an option."""

_FEW_GUESSES = 120
"""What is hard to settle is not worth lifting a reason for."""

_MOST_WIDENING = 40


@frozen
class _Company:
    """A company in which the units are asked to go in.

    Attributes:
        bodies: how many of each unit must stand in the room.
        held: all that is held; of units besides the bodies, only their beds count.
    """

    bodies: Mapping[Key, int]
    held: Held


class Crowd:
    """Units that do not go in together, and the companies that have been proven not to help.

    Args:
        theory: asks for rooms, and knows what they hang on.
        held: the proposal refused.
        found: the smallest reason against it.
        inside: the clear inside of the space.
        asked: units that were asked for; nobody needs to know of others in their place.
    """

    def __init__(
        self,
        theory: LayoutTheory,
        held: Held,
        found: FitReason,
        inside: Interior,
        asked: Set[Key],
    ) -> None:
        self.theory, self.encoding = theory, theory.encoding
        self.catalogue = theory.catalogue
        self.space, self.inside, self.grown = found.space, inside, inside
        present = set(theory.units_in(found.space, held))
        self.units = {
            (pick.choice, pick.option): pick.quantity
            for pick in found.picks
            if (pick.choice, pick.option) in {key for key, _ in present}
        }
        self.places: list[list[Key]] = [[key] for key in self.units]
        self.held = {
            key: count
            for key, count in held.items()
            if key in self.units or not self._in_space(key) or self._carries(key)
        }
        self.companies = [_Company(self.units, self.held)]
        self.mending: list[int] = []
        self.fixed = {choice_id for choice_id, _ in theory.others[found.space]}
        for side in theory.alone.sides(found.space).values():
            self.fixed |= {choice_id for choice_id, _ in side.on}
        self.free_to_swap = True
        self._let_carriers_in(found)
        self._grow()
        self._put_others_in_place(asked)

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

    def _in_space(self, key: Key) -> bool:
        unit = self.catalogue.option(*key).unit
        return unit is not None and unit.space == self.space

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

    def _let_carriers_in(self, found: FitReason) -> None:
        """All that could carry is held from here on, but for what helps by it."""
        helping: dict[Key, int] = {}
        may_help = {(pick.choice, pick.option): pick.quantity for pick in found.unless}
        for key in self._carriers():
            more = {**self.held, key: self.catalogue.option(*key).most}
            if key[0] in self.fixed:
                self.free_to_swap = False
            elif key not in may_help or not self._go_in(_Company(self.units, more)):
                self.held = more
                may_help.pop(key, None)
            else:
                helping[key] = may_help.pop(key)
        self.companies = [_Company(self.units, self.held)]
        self._let_bodies_in(helping)
        for key, quantity in may_help.items():
            self._unless(key, quantity)

    def _carriers(self) -> Iterator[Key]:
        """All that could carry in the space."""
        for choice in self.catalogue.by_id.values():
            for option in choice.options:
                if self._in_space((choice.id, option.id)) and self._carries((choice.id, option.id)):
                    yield choice.id, option.id

    def _unless(self, key: Key, quantity: int) -> None:
        literal = self.encoding.at_least(*key, quantity)
        self.mending += [literal] if literal > 0 else []

    def _let_bodies_in(self, helping: dict[Key, int]) -> None:
        """What would help as a mere bed, but does not go in itself, helps nothing."""
        helpless = dict(helping)
        settled = False
        while not settled:
            settled = True
            loose = {**self.held, **{k: self.catalogue.option(*k).most for k in helpless}}
            for key in list(helpless):
                bodies = {**self.units, key: max(self.units.get(key, 0), helpless[key])}
                if self._go_in(_Company(bodies, loose)):
                    self._unless(key, helpless.pop(key))
                    settled = False
                    break
        loose = {**self.held, **{k: self.catalogue.option(*k).most for k in helpless}}
        self.companies += [
            _Company({**self.units, key: max(self.units.get(key, 0), quantity)}, loose)
            for key, quantity in helpless.items()
        ]

    def _go_in(self, company: _Company, grown: Interior | None = None) -> bool:
        """Whether the bodies may go in where so much is held and the inside is that large."""
        grown = self.grown if grown is None else grown
        held = dict(company.held)
        for key, count in company.bodies.items():
            held[key] = max(held.get(key, 0), count)
        inside = self.theory.alone.inside(next(iter(company.bodies)), held)
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
            return not unfit(only(room, _kept(room, company.bodies)), _FEW_GUESSES)
        except SearchLimit:
            return True

    def _fail(self, grown: Interior) -> bool:
        """Whether they fail in every company where the inside is that large."""
        return not any(self._go_in(company, grown) for company in self.companies)

    def _grow(self) -> None:
        """Let each inside size grow as far as they still fail."""
        for name, side in self.theory.alone.sides(self.space).items():
            steps = side.steps
            low, high = steps.index(getattr(self.grown, name)), len(steps)
            if self._fail(evolve(self.grown, **{name: steps[-1]})):
                low = len(steps) - 1
            while low + 1 < high:
                middle = (low + high) // 2
                if self._fail(evolve(self.grown, **{name: steps[middle]})):
                    low = middle
                else:
                    high = middle
            self.grown = evolve(self.grown, **{name: steps[low]})

    def _put_others_in_place(self, asked: Set[Key]) -> None:
        """Other options of a unit's choice with which they fail just so."""
        for index, (first, count) in enumerate(self.units.items()):
            if first in asked or first[0] in self.fixed or not self.free_to_swap:
                continue
            choice = self.catalogue.by_id[first[0]]
            for option in choice.options:
                key = choice.id, option.id
                if key in self.units or not self._in_space(key) or option.most < count:
                    continue
                rest = [*self.places[:index], [key], *self.places[index + 1 :]]
                ways = list(product(*rest))
                if len(ways) * len(self.companies) > _MOST_WIDENING:
                    break
                if not any(
                    self._go_in(self._instead(company, way))
                    for way in ways
                    for company in self.companies
                ):
                    self.places[index].append(key)

    def _instead(self, company: _Company, way: Sequence[Key]) -> _Company:
        """The company with these units in the places of the first ones."""
        bodies, held = dict(company.bodies), dict(company.held)
        for first, key in zip(self.units, way, strict=True):
            if key == first:
                continue
            count = self.units[first]
            extra = bodies.pop(first) - count
            if extra:
                bodies[first] = extra
            if not self._carries(first) or self.catalogue.by_id[first[0]].pick != "several":
                held.pop(first, None)
            bodies[key] = max(bodies.get(key, 0), count)
        return _Company(bodies, held)

    def _outside(self) -> Iterator[int]:
        """Literals of which one is true where a door, or what else counts, is another.

        Answers with which they do not go in either are refused with the one at hand.
        """
        others = self.theory.others[self.space]
        sets = [[state] for state in states_in(self.held, others)]
        units = list(product(*self.places))
        for index, (choice_id, options) in enumerate(others):
            choice = self.catalogue.by_id[choice_id]
            if choice.pick == "several":
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
        for company in self.companies:
            instead = self._instead(company, way)
            held = {**instead.held, **instead.bodies}
            answered = self.theory.with_answers(self.space, held, states)
            units = self.theory.units_in(self.space, held)
            if self.theory.units_in(self.space, answered) != units:
                return True
            if self._go_in(_Company(instead.bodies, answered)):
                return True
        return False


def _kept(room: Room, bodies: Mapping[Key, int]) -> tuple[int, ...]:
    """The items of the room that are the bodies, the first of each kind."""
    left = dict(bodies)
    kept = []
    for index, item in enumerate(room.items):
        if left.get((item.choice, item.option), 0):
            left[item.choice, item.option] -= 1
            kept.append(index)
    return tuple(kept)
