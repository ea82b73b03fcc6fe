"""Units that do not go in together, and how far that holds: a wide reason for one refusal.

Where they do not, the violation is a wide clause that is still proven. It names the units; whatever
could help them by carrying them; the largest inside with which they still cannot go in; and the
doors. It is widened in steps, each proven by the same search that refused the proposal:

* All that could carry them is let in, as something that may stand in the room with all of its body;
  what helps by that is named.
* A larger inside never makes a fitting set unfit, so each size grows while they still cannot.
* A divider of a closed space only takes room away, so what does not go in without one does not
  with one either.
* Another option of the same choice in a unit's place is refused along with the one at hand where it
  fails just so; not where the one at hand was asked for.

Of 38 591 options of crowded sales all are settled; 8 are not where the inside is not widened, and
30 where the units are not. To refuse other doors along with the ones at hand settles no more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import reduce
from itertools import product
from operator import or_

from attrs import evolve

from configurator.engine.effort import BEFORE_PROOF, CORE, LONG, QUICK, nearly_full
from configurator.engine.figures import InsideSize, Unit, carries, states_in
from configurator.engine.layouts import Layouts
from configurator.engine.violation import Held
from configurator.errors import SearchLimit
from configurator.fit.carriers import any_of, first_of, only
from configurator.fit.conflict import least_unfit, unfit_whatever_carries
from configurator.fit.rooms import Room
from configurator.fit.search import GUESSES, arrange, handed_over, searched
from configurator.layout.answers import mending
from configurator.selection.resolved import Resolved
from configurator.selection.totals import Interior
from configurator.words import Text

_SPARING_GUESSES = 400
_FEW_GUESSES = 120
"""What is hard to settle is not worth lifting a violation for."""

_MOST_WAYS = 40
"""Ways to put other units in the places of those that do not go in that are tried for one unit.

With 1, patient questions leave 0.06 % of the options of 369 steps of sales in place of 0.01.
"""


class Crowd:
    """Units that do not go in together, and how far that holds.

    Args:
        layouts: asks for rooms, knows what they depend on and which units were asked for: nobody
            needs to know of others in their place.
        held: the proposal refused.
        room: does not hold its units.
        inside: its clear inside.
    """

    def __init__(self, layouts: Layouts, held: Held, room: Room, inside: Interior) -> None:
        self.layouts, self.encoding = layouts, layouts.encoding
        self.catalogue, self.space = layouts.catalogue, room.space
        self.option = self.catalogue.option
        self.held, self.room = held, room
        self.asked, self.grown = layouts.asked, inside
        self.decided = {
            choice for choice, _ in self.asked if self.catalogue.by_id[choice].pick != "several"
        }
        self.earnest = layouts.patient or layouts.effort.tries > 0
        self.present = dict(layouts.units_in(self.space, held))
        self.rest = {key: count for key, count in held.items() if key not in self.present}
        self.may = {k: n for k, n in self.present.items() if carries(self.option(*k))}
        self.mending: list[int] = []
        self.fixed = {choice_id for choice_id, _ in layouts.others[self.space]}
        for side in layouts.insides.sides(self.space).values():
            self.fixed |= {choice_id for choice_id, _ in side.on}

    def lifted(self) -> Crowd:
        """With units that do not go in together, and how far that holds."""
        layouts, held, room = self.layouts, self.held, self.room
        if self._refused_whatever_carries():
            return self
        kept: Sequence[int] = range(len(room.items))
        if self.earnest:
            few = _SPARING_GUESSES if layouts.patient else _FEW_GUESSES
            kept, _ = least_unfit(room, asked=self.asked.keys(), guesses=few)
            layouts.effort.tries -= not layouts.patient
        self.units = Counter((room.items[i].choice, room.items[i].option) for i in kept)
        self.places: list[list[Unit]] = [[key] for key in self.units]
        helping = self._helping(held)
        self._let_carriers_in(helping)
        if layouts.patient:
            self._grow()
            self._put_others_in_place()
        return self

    def _refused_whatever_carries(self) -> bool:
        """Whether it is proved of all units at once, so that no carrier is tried after the other.

        Of what was not asked for, all options of its choice that what is asked leaves open are
        refused with it, in the largest inside that it leaves open; else in the present one.

        Raises:
            SearchLimit: that was tried, and not proved.
        """
        effort = self.layouts.effort
        if not (self.layouts.patient and effort.whole) or effort.refused <= BEFORE_PROOF:
            return False
        present = self.present
        wanted = {k: min(n, present[k]) for k, n in self.asked.items() if k in present}
        self.follows = self.layouts.follows()
        others = [key for key in present if key not in self.may and key not in wanted]
        self.places = [[key] for key in wanted]
        for first in others:
            if all(first not in place for place in self.places):
                self.places.append(self._alternatives(first))
        self.units = Counter({place[0]: wanted.get(place[0], 1) for place in self.places})
        for key, most in self._helping(self.held).items():
            left = self._most(key, most)
            self._unless(key, left + 1)
            if left:
                self.may[key] = left
        largest = {
            name: max(getattr(self.grown, name), side.largest_left(self.follows))
            for name, side in self.layouts.insides.sides(self.space).items()
        }
        for grown in dict.fromkeys((evolve(self.grown, **largest), self.grown)):
            if self._proved_hard(grown):
                self.grown = grown
                return True
        raise SearchLimit(nearly_full(self.catalogue, self.space))

    def refused_by_few(self) -> bool:
        """Whether OR-Tools proves of some of the units that nothing gets them in."""
        self.units = Counter(self.present)
        self.may |= self._helping(self.held)
        room = self._room(self.units, self.may, self.grown)
        core = None if room is None else unfit_whatever_carries(room, CORE)
        if room is not None and core is not None:
            self.units = Counter((room.items[i].choice, room.items[i].option) for i in core)
            self.places = [[key] for key in self.units]
        return core is not None

    def _alternatives(self, first: Unit) -> list[Unit]:
        """The unit, and the other options of its choice that would be in the same space."""
        if first[0] in self.fixed:
            return [first]
        units = self.layouts.insides.units
        options = ((first[0], option.id) for option in self.catalogue.by_id[first[0]].options)
        there = (k for k in options if k != first and units.get(k) == self.space)
        return [first, *(k for k in there if self._most(k, 1) and not carries(self.option(*k)))]

    def _most(self, key: Unit, most: int) -> int:
        """How many of it the picks leave open, up to so many."""
        levels = (self.encoding.at_least(*key, n) for n in range(1, most + 1))
        return sum(-level not in self.follows for level in levels)

    def _proved_hard(self, grown: Interior) -> bool:
        """Whether it is proved that no choice of the bodies goes in; OR-Tools is asked at need."""
        effort = self.layouts.effort
        every = {key: self.units[place[0]] for place in self.places for key in place}
        room = self._room(every, self.may, grown, [place for place in self.places if place[1:]])
        if room is None:
            return False
        found = searched(room, GUESSES)
        if isinstance(found, Text) and effort.proofs > 0:
            found = handed_over(room, effort.work)
            effort.proofs -= 3 if isinstance(found, Text) else 1
        return found is None

    def clause(self) -> tuple[int, ...]:
        """Literals of which one is true in every sound selection."""
        literals = [
            self._none_of([self.encoding.at_least(*key, self.units[first]) for key in place])
            for first, place in zip(self.units, self.places, strict=True)
        ]
        literals += self.mending
        for name, side in self.layouts.insides.sides(self.space).items():
            literals += side.above(getattr(self.grown, name))
        literals += self._outside()
        return tuple(dict.fromkeys(literals))

    def _none_of(self, literals: Sequence[int]) -> int:
        """A literal that is true only where none of these is."""
        if len(literals) == 1:
            return -literals[0]
        none = self.encoding.new()
        self.encoding.clauses += [[-none, -literal] for literal in literals]
        return none

    def _helping(self, held: Held) -> dict[Unit, int]:
        """How much of each carrier could come; what else could help is left out of the clause."""
        units = [self.option(*key) for key in self.units]
        selection = self.encoding.selection(held)
        helping = {}
        for pick in mending(Resolved(self.catalogue, selection), self.space, units):
            key = pick.choice, pick.option
            if carries(self.option(*key)) and key[0] not in self.fixed | self.decided:
                helping[key] = self.option(*key).most
            else:
                self._unless(key, pick.quantity)
        return helping

    def _let_carriers_in(self, helping: Mapping[Unit, int]) -> None:
        """Allow all that could carry the units, but for what helps by it."""
        every = {**self.may, **helping}
        if helping and self._go_in(self.units, every) and not self._proved(every):
            if not self.layouts.patient:
                raise SearchLimit(nearly_full(self.layouts.catalogue, self.space))
            for key, most in helping.items():
                if self._go_in(self.units, {**self.may, key: most}):
                    self._unless(key, self.may.get(key, 0) + 1)
                else:
                    self.may[key] = most
        else:
            self.may |= helping

    def _proved(self, may: Mapping[Unit, int]) -> bool:
        """Whether it is proved that not even all that could carry gets the units in.

        Without that, every carrier in turn is proposed and refused.
        """
        if not self.earnest or not self.layouts.effort.searches:
            return False
        guesses = LONG if self.layouts.patient else QUICK
        if not self._go_in(self.units, may, guesses=guesses):
            return True
        self.layouts.effort.searches -= 1
        return False

    def _unless(self, key: Unit, quantity: int) -> None:
        literal = self.encoding.at_least(*key, quantity)
        self.mending += [literal] if literal > 0 else []

    def _room(
        self,
        bodies: Mapping[Unit, int],
        may: Mapping[Unit, int],
        grown: Interior,
        places: Sequence[Sequence[Unit]] = (),
    ) -> Room | None:
        """The bodies, one of each place, and what may carry them; None where it is unknown."""
        held = Counter({**self.rest, **may}) | Counter(bodies)
        inside = self.layouts.insides.at(self.space, held)
        if inside is None:
            return None
        add = (
            grown.length - inside.length,
            grown.width - inside.width,
            grown.height - inside.height,
        )
        room = self.layouts.room(self.space, held, add)
        return None if room is None else only(*any_of(room, first_of(room, bodies), places))

    def _go_in(
        self,
        bodies: Mapping[Unit, int],
        may: Mapping[Unit, int],
        grown: Interior | None = None,
        guesses: int = _FEW_GUESSES,
    ) -> bool:
        """Whether the bodies may go in, where so much may carry and the inside is that large."""
        room = self._room(bodies, may, self.grown if grown is None else grown)
        try:
            return room is None or arrange(room, hard=False, guesses=guesses) is not None
        except SearchLimit:
            return True

    def _grow(self) -> None:
        """Let each inside size grow as far as they still fail."""
        for name, side in self.layouts.insides.sides(self.space).items():
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

    def _steps(self, side: InsideSize, size: int) -> list[int]:
        """The size, and those above it that the answers asked for leave open."""
        now = states_in(self.rest, side.on)
        found = {
            larger or 0
            for states, larger in side.sizes.items()
            if (larger or 0) > size
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
                if len(ways) > _MOST_WAYS:
                    break
                if not any(self._go_in(self._instead(way), self.may) for way in ways):
                    self.places[index].append(key)

    def _instead(self, way: Sequence[Unit]) -> Mapping[Unit, int]:
        """The bodies with these units in the places of the first ones."""
        one_by_one = zip(way, self.units.values(), strict=True)
        return reduce(or_, (Counter({key: count}) for key, count in one_by_one))

    def _outside(self) -> Iterator[int]:
        """Literals of which one is true where a door, or what else counts, is another."""
        on = self.layouts.others[self.space]
        now = states_in({**self.rest, **self.may, **self.units}, on)
        for (choice_id, options), state in zip(on, now, strict=True):
            dividing = [((o, 1),) for o in options if (choice_id, o) in self.layouts.dividers]
            allowed = [state, *(() if state else dividing)]
            yield from self.encoding.not_among(choice_id, options, allowed)
