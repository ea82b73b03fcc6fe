"""Whether all units of a space go in together, and a wide reason why not.

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
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from fractions import Fraction
from functools import reduce
from itertools import product
from operator import or_
from typing import TypeAlias

from attrs import evolve

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.parts import Part
from configurator.engine.effort import BEFORE_PROOF, CORE, LONG, QUICK, Effort, nearly_full
from configurator.engine.encoding import State
from configurator.engine.figures import (
    Determiners,
    Insides,
    InsideSize,
    Unit,
    carries,
    listed,
    only_divides,
    opens,
    states_in,
)
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.errors import SearchLimit
from configurator.fit.carriers import any_of, first_of, only
from configurator.fit.conflict import least_unfit, unfit_whatever_carries
from configurator.fit.rooms import Room, rooms_of
from configurator.fit.search import GUESSES, arrange, handed_over, searched
from configurator.layout.answers import mending
from configurator.layout.loads import middles
from configurator.selection.resolved import Resolved
from configurator.selection.totals import Interior
from configurator.words import Text

Units: TypeAlias = tuple[tuple[Unit, int], ...]

Middles: TypeAlias = Mapping[Unit, Sequence[Fraction]]
"""By unit, the middle of each one of it behind the inside front of its space, mm."""

_Key: TypeAlias = tuple[str, Interior, tuple[State, ...], Units]

_GUESSES = 400
_FEW_GUESSES = 120
"""What is hard to settle is not worth lifting a violation for."""

_MOST_WIDENING = 40


class Layouts:
    """Whether the units of each space go in together, remembered by what that depends on.

    Attributes:
        patient: whether a room that is hard to settle is settled all the same, and why units do not
            go in is widened; where not, :class:`~configurator.errors.SearchLimit` is raised for a
            hard room, and where what carries might help.
        asked: how many of each unit were asked for; reasons that have to do with them go first.
        follows: says which literals follow from what was asked.
        dividers: options that do nothing to what fits but divide closed spaces.
        effort: what may still be tried for the question that is answered.
    """

    def __init__(self, insides: Insides) -> None:
        self.encoding, self.insides = insides.encoding, insides
        self.catalogue = insides.catalogue
        self.dividers: set[Unit] = set()
        self.others = {space.id: self._others(space.id) for space in self.catalogue.spaces}
        self.patient, self.effort = True, Effort()
        self.asked: Mapping[Unit, int] = {}
        self.follows: Callable[[], frozenset[int]] = frozenset
        self._known: dict[_Key, Middles | None] = {}
        self._reasons: dict[_Key, Violation] = {}

    @contextmanager
    def trying(self, effort: Effort) -> Iterator[None]:
        """Try no more than that inside."""
        self.effort, before = effort, self.effort
        try:
            yield
        finally:
            self.effort = before

    def depends_on(self, space: str) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        for (choice, option), its in self.insides.units.items():
            if its == space:
                yield choice, (option,)
        yield from self.others[space]
        for side in self.insides.sides(space).values():
            yield from side.on

    def violations(self, fact: ConstraintId, space: str, held: Held) -> Iterator[Violation]:
        """A lifted one if the units of the space do not go in together."""
        units = self.units_in(space, held)
        key = self._key(space, held, units) if units else None
        if key is None:
            return
        if key not in self._known:
            room = self.room(space, held)
            crowd = None if room is None else self._refused_by_few(key, held, room)
            self._known[key] = self._arranged(room) if crowd is None else None
            if crowd is not None:
                self._reasons[key] = Violation(fact, crowd.clause())
        if self._known[key] is None:
            reason = self._reasons.get(key)
            if reason is None:
                reason = Violation(fact, self._crowd(key, held).clause())
                if self.patient:
                    self._reasons[key] = reason
            yield reason

    def _refused_by_few(self, key: _Key, held: Held, room: Room) -> _Crowd | None:
        """A hard room of which OR-Tools proves at once that nothing gets some of its units in."""
        asked = self.effort.few and self.patient
        if not asked or not isinstance(searched(room, GUESSES), Text):
            return None
        crowd = _Crowd(self, held, room, key[1], self.asked)
        return crowd if crowd.refused_by_few() else None

    def _crowd(self, key: _Key, held: Held) -> _Crowd:
        """The units that do not go in, and how far that holds."""
        if self.effort.crowds <= 0:
            raise SearchLimit(nearly_full(self.catalogue, key[0]))
        self.effort.crowds -= 1
        self.effort.refused += 1
        room = self.room(key[0], held)
        assert room is not None
        try:
            return _Crowd(self, held, room, key[1], self.asked).lifted()
        except SearchLimit:
            self.effort.crowds -= 2
            raise

    def _key(self, space: str, held: Held, units: Units) -> _Key | None:
        """What the arrangement of the units depends on; None while the inside is not known."""
        inside = self.insides.at(space, held)
        if inside is None:
            return None
        return space, inside, states_in(held, self.others[space]), units

    def _arranged(self, room: Room | None) -> Middles | None:
        """Where some layout has the units; none where the room is not known."""
        if room is None:
            return {}
        spots = arrange(room, hard=self.patient)
        if spots is None:
            return None
        found: dict[Unit, list[Fraction]] = {}
        for item, (_, middle) in zip(room.items, middles(room, spots), strict=True):
            found.setdefault((item.choice, item.option), []).append(middle)
        return found

    def middles(self, held: Held) -> Middles:
        """Where the middles of units are in a layout of a selection that was not refused."""
        found: dict[Unit, Sequence[Fraction]] = {}
        for space in sorted(self.others):
            units = self.units_in(space, held)
            key = self._key(space, held, units) if units else None
            found.update((self._known.get(key) or {}) if key is not None else {})
        return found

    def units_in(self, space: str, held: Held) -> Units:
        """How many of each unit of the space are held."""
        units = self.insides.units
        return tuple((unit, held[unit]) for unit in sorted(held) if units.get(unit) == space)

    def _others(self, space: str) -> Determiners:
        """What an arrangement depends on besides units and inside: doors, divider, masses."""
        found: dict[str, set[str]] = {}
        parts: list[Part] = []
        for choice in self.encoding.choices:
            for option in choice.options:
                if option.unit is not None and option.unit.space == space:
                    parts += option.mass
                if opens(space, option):
                    found.setdefault(choice.id, set()).add(option.id)
        weighing = determiners_of(self.catalogue, parts)
        self.dividers |= {
            (choice_id, option)
            for choice_id, options in found.items()
            if choice_id not in weighing and self.catalogue.by_id[choice_id].pick != "several"
            for option in options
            if only_divides(self.catalogue, self.catalogue.option(choice_id, option))
        }
        for choice_id, options in weighing.items():
            found.setdefault(choice_id, set()).update(options)
        return listed(found)

    def room(self, space: str, held: Held, add: tuple[int, int, int] = (0, 0, 0)) -> Room | None:
        """The space as numbers, or None while the picks do not tell all of it."""
        selection = self.encoding.selection(held)
        rooms, _ = rooms_of(Resolved(self.catalogue, selection), (space, add))
        return next((room for room in rooms if room.space == space), None)


class _Crowd:
    """Units that do not go in together, and how far that holds.

    Args:
        layouts: asks for rooms, and knows what they depend on.
        held: the proposal refused.
        room: does not hold its units.
        inside: its clear inside.
        asked: how many of each were asked for; nobody needs to know of others in their place.
    """

    def __init__(
        self, layouts: Layouts, held: Held, room: Room, inside: Interior, asked: Mapping[Unit, int]
    ) -> None:
        self.layouts, self.encoding = layouts, layouts.encoding
        self.catalogue, self.space = layouts.catalogue, room.space
        self.option = self.catalogue.option
        self.held, self.room = held, room
        self.asked, self.grown = asked, inside
        self.decided = {
            choice for choice, _ in asked if self.catalogue.by_id[choice].pick != "several"
        }
        self.earnest = layouts.patient or layouts.effort.tries > 0
        self.present = dict(layouts.units_in(self.space, held))
        self.rest = {key: count for key, count in held.items() if key not in self.present}
        self.may = {k: n for k, n in self.present.items() if carries(self.option(*k))}
        self.mending: list[int] = []
        self.fixed = {choice_id for choice_id, _ in layouts.others[self.space]}
        for side in layouts.insides.sides(self.space).values():
            self.fixed |= {choice_id for choice_id, _ in side.on}

    def lifted(self) -> _Crowd:
        """With units that do not go in together, and how far that holds."""
        layouts, held, room = self.layouts, self.held, self.room
        if self._refused_whatever_carries():
            return self
        kept: Sequence[int] = range(len(room.items))
        if self.earnest:
            few = _GUESSES if layouts.patient else _FEW_GUESSES
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
            name: max(getattr(self.grown, name), side.largest(lambda one: -one not in self.follows))
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
        found = searched(room, _GUESSES)
        if isinstance(found, Text) and effort.proofs > 0:
            found = handed_over(room, short=True)
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
                if len(ways) > _MOST_WIDENING:
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
