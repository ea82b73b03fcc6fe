"""What units add to an axle load because they are in one another's way.

Each unit alone could have its best place; together they cannot. How much more the axle carries
at least is found exactly, and rests on all units of the room, on what else they might stand on, and
on everything that makes the room.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction

from attrs import field, frozen

from configurator.catalogue.model import Catalogue
from configurator.engine.figures import differing, states_in
from configurator.engine.joint_fit import layout_of
from configurator.engine.layouts import Layouts
from configurator.engine.limits import Key
from configurator.engine.violation import ConstraintId, Held
from configurator.engine.weighing import Journey
from configurator.errors import SearchLimit
from configurator.fit.rooms import Room
from configurator.fit.search import arrange
from configurator.layout.answers import mending
from configurator.layout.loads import least_sum, spots_within
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved
from configurator.words import text


def _excess(catalogue: Catalogue, room: Room, demand: Demand) -> Fraction:
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


def known_excess(catalogue: Catalogue, room: Room, demand: Demand) -> Fraction:
    """The same of a room that need not hold its units; nothing where it does not, or may not."""
    try:
        return Fraction(0) if arrange(room) is None else _excess(catalogue, room, demand)
    except SearchLimit:
        return Fraction(0)


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
        if layout_of(space) in active
        if (room := layouts.room(space, held)) is not None and room.items
    )
    if not rooms:
        return None
    if not layouts.patient:
        raise SearchLimit(text("an axle is loaded nearly to its rating"))
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
        return _reason(layouts, held, demand, over, rooms)
    on = tuple((c.id, tuple(sorted(c.by_id))) for c in layouts.encoding.choices)
    whole = differing(layouts.encoding, on, states_in(held, on))
    return LoadedRooms(None, tuple(whole), tuple(map(layout_of, spaces)))


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


def _reason(
    layouts: Layouts, held: Held, demand: Demand, over: Fraction, rooms: Sequence[Room]
) -> LoadedRooms:
    """Which of the rooms are enough for the demand to be exceeded, by so many kg with all of them.

    Each is named as it is: to look for fewer of its units, or a larger inside, with which as much
    is added, spared no proposal (1 410 refused in sales with a tow ball, and 1 355 without).
    """
    encoding, catalogue = layouts.encoding, layouts.catalogue
    selection = Resolved(catalogue, encoding.selection(held))
    units: dict[Key, int] = {}
    literals: list[int] = []
    facts, more = [], Fraction(0)
    for room in rooms:
        added = _excess(catalogue, room, demand)
        if added < over or not added:
            over -= added
            continue
        more += added
        taken = Counter((item.choice, item.option) for item in room.items)
        units |= taken
        literals += [-encoding.at_least(*key, count) for key, count in taken.items()]
        for pick in mending(selection, room.space, [catalogue.option(*key) for key in taken]):
            literals.append(encoding.at_least(pick.choice, pick.option, pick.quantity))
        for side in layouts.insides.sides(room.space).values():
            literals += differing(encoding, side.on, states_in(held, side.on))
        on = layouts.others[room.space]
        literals += differing(encoding, on, states_in(held, on))
        facts.append(layout_of(room.space))
    return LoadedRooms(demand, tuple(literals), tuple(facts), more, units)
