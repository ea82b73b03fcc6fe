"""What units add to an axle load because they are in one another's way.

Each unit alone could have its best place; together they cannot. How much more the axle carries
at least is found exactly for a few of them, and rests on those units, on what else they might stand
on, and on everything that makes the room.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from attrs import field, frozen

from configurator.catalogue.model import Catalogue
from configurator.engine.constraint import ConstraintId, Held
from configurator.engine.figures import Determiners, differing, states_in
from configurator.engine.layouts import Layouts
from configurator.engine.limits import Key
from configurator.engine.weighing import Journey
from configurator.errors import SearchLimit
from configurator.fit.answers import mending
from configurator.fit.carriers import only
from configurator.fit.loads import least_sum, spots_within
from configurator.fit.rooms import Room
from configurator.fit.search import arrange
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved

_MOST_DROPPED = 6
"""Units that are tried to do without, in one room."""

_ANY_SIZE = 10**4
"""More than any space is wider or higher, mm."""


def excess(catalogue: Catalogue, room: Room, demand: Demand) -> Fraction:
    """What the units of a room add to the demand's load beyond each in its best place, kg."""
    weights = dict(demand.weights)
    alone = Fraction(0)
    for item in room.must:
        unit = catalogue.option(item.choice, item.option).unit
        assert unit is not None
        half = Fraction(min(unit.body.width, unit.body.depth), 2)
        weight = weights.get(item.name.key, Fraction(0))
        last = half + max(Fraction(0), room.inside.length - 2 * half)
        alone += min(weight * half, weight * last)
    return max(Fraction(0), least_sum(room, demand.weights)[0] - alone) / demand.wheelbase


def known_excess(
    catalogue: Catalogue, room: Room, demand: Demand, hard: bool = True
) -> Fraction | None:
    """The same of a room that need not hold its units; None where it does not, or nobody can tell.

    What takes long is settled only if it is to be.
    """
    try:
        return None if arrange(room, hard=hard) is None else excess(catalogue, room, demand)
    except SearchLimit:
        return None


def loaded_rooms(
    layouts: Layouts, journey: Journey, held: Held, active: frozenset[ConstraintId]
) -> LoadedRooms | None:
    """Why no layout of the rooms that have to fit keeps every axle rating; None where one does.

    Of the demands that no layout keeps it is the one exceeded most.

    Raises:
        SearchLimit: it is not settled.
    """
    rooms = tuple(
        room
        for space in sorted(layouts.others)
        if ConstraintId("layout", space) in active
        if (room := layouts.room(space, held)) is not None and room.items
    )
    if not rooms:
        return None
    if not layouts.patient:
        raise SearchLimit("whether a layout keeps the axle ratings is not asked")
    selection = journey.on(layouts.encoding.selection(held))
    spaces = [room.space for room in rooms]
    asked = demands(Resolved(layouts.catalogue, selection), spaces, passed=True)
    if spots_within(rooms, asked) is not None:
        return None
    exceeded = []
    for demand in asked:
        least = sum((least_sum(room, demand.weights)[0] for room in rooms), Fraction(0))
        if not demand.keeps(least):
            exceeded.append((demand.over(least), demand.subject, demand.state, demand))
    if exceeded:
        over, *_, demand = max(exceeded, key=lambda one: one[:3])
        return _Narrowed(layouts, held, demand, over).of(rooms)
    on = tuple((c.id, tuple(sorted(c.by_id))) for c in layouts.encoding.choices)
    whole = differing(layouts.encoding, on, states_in(held, on))
    return LoadedRooms(None, tuple(whole), tuple(ConstraintId("layout", space) for space in spaces))


@frozen
class LoadedRooms:
    """The part of what is held that is enough for an axle to be over its rating in any layout.

    Attributes:
        demand: what no layout keeps; None where each alone can be kept, but not all.
        clause: literals of which one is true where the units or the rooms are others.
        facts: the fit of the rooms.
        more: what standing in each other's way adds beyond each unit in its best place, kg.
        units: how many of each unit it takes.
    """

    demand: Demand | None
    clause: tuple[int, ...]
    facts: tuple[ConstraintId, ...]
    more: Fraction = Fraction(0)
    units: Mapping[Key, int] = field(factory=dict)


class _Narrowed:
    """What is enough of the rooms for one demand to be exceeded by so many kg at least."""

    def __init__(self, layouts: Layouts, held: Held, demand: Demand, over: Fraction) -> None:
        self.layouts, self.held, self.demand = layouts, held, demand
        self.spare, self.more = over, Fraction(0)

    def of(self, rooms: Sequence[Room]) -> LoadedRooms:
        units: dict[Key, int] = {}
        literals: list[int] = []
        facts = []
        for room in rooms:
            kept = self._kept(room)
            if kept:
                taken = Counter((room.items[i].choice, room.items[i].option) for i in kept)
                units |= taken
                literals += self._clause(room, kept, taken)
                facts.append(ConstraintId("layout", room.space))
        clause = tuple(dict.fromkeys(literals))
        return LoadedRooms(self.demand, clause, tuple(facts), self.more, units)

    def _excess(self, part: Room) -> Fraction:
        return excess(self.layouts.catalogue, part, self.demand)

    def _kept(self, room: Room) -> tuple[int, ...]:
        """Units that are enough, the lightest let go first; none where best places are enough."""
        weights = dict(self.demand.weights)
        whole = self._excess(room)
        if self._spared(whole):
            return ()
        kept = list(range(len(room.items)))
        names = [item.name.key for item in room.items]
        order = sorted(kept, key=lambda i: (abs(weights.get(names[i], Fraction(0))), names[i], i))
        for index in order[:_MOST_DROPPED]:
            fewer = [other for other in kept if other != index]
            try:
                less = self._excess(only(room, fewer)) if fewer else Fraction(0)
            except SearchLimit:
                continue
            if self._spared(whole - less):
                kept, whole = fewer, less
        return tuple(kept)

    def _spared(self, kilograms: Fraction) -> bool:
        """Whether the load is over without so much; if so, it is counted off."""
        if kilograms and kilograms >= self.spare:
            return False
        self.spare -= max(Fraction(0), kilograms)
        return True

    def _clause(self, room: Room, kept: tuple[int, ...], taken: Counter[Key]) -> Iterator[int]:
        """Literals of which one is true where other units, or another room, are there."""
        encoding, space = self.layouts.encoding, room.space
        catalogue = self.layouts.catalogue
        for key, count in taken.items():
            yield -encoding.at_least(*key, count)
        units = [catalogue.option(*key) for key in taken]
        for pick in mending(Resolved(catalogue, encoding.selection(self.held)), space, units):
            literal = encoding.at_least(pick.choice, pick.option, pick.quantity)
            if literal != -encoding.true:
                yield literal
        yield from self._others(self.layouts.others[space])
        yield from self._sizes(room, kept)

    def _others(self, on: Determiners) -> Iterator[int]:
        """Literals of which one is true where those choices have other answers."""
        for (choice, options), state in zip(on, states_in(self.held, on), strict=True):
            yield from self.layouts.encoding.not_among(choice, options, [state])

    def _sizes(self, room: Room, kept: tuple[int, ...]) -> Iterator[int]:
        """Literals of which one is true where the inside is another; larger ones are tried too."""
        space = room.space
        excess, add = self._excess(only(room, kept)), [0, 0, 0]
        for place, (name, side) in enumerate(self.layouts.insides.sides(space).items()):
            more = [*add[:place], _ANY_SIZE, *add[place + 1 :]]
            grown = more[0], more[1], more[2]
            larger = self.layouts.room(space, self.held, grown) if name != "length" else None
            there = None
            if larger is not None:
                part = only(larger, kept)
                there = known_excess(self.layouts.catalogue, part, self.demand, hard=False)
            if there is not None and self._spared(excess - there):
                add, excess = more, there
                continue
            yield from self._others(side.on)
        self.more += excess
