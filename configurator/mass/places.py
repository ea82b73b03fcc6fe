"""Where masses sit on a vehicle: as intervals while choices are open, and of a selection exactly.

x behind the front axle, y to the right of the centre line, z above the tray floor, mm. Where every
choice that has a say is answered, the interval of x of all but a unit is one point, and that of a
unit is where it may be between front and rear wall.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING, TypeAlias

from attrs import frozen

from configurator.catalogue.model import VEHICLE, Catalogue, Choice, Option
from configurator.catalogue.units import Position, Unit
from configurator.catalogue.vehicles import Vehicle
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import MissingPicks, Outside, space_sizes

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

Span: TypeAlias = tuple[Fraction, Fraction]

Spot: TypeAlias = tuple[Fraction, Fraction, Fraction]
"""A place: x, y and z."""

Answers: TypeAlias = Mapping[str, frozenset[str]]
"""The options picked of each choice that is answered; any other is open."""

_Part: TypeAlias = tuple[str, str, int | Decimal]
"""Choice, option, and what it says of a figure."""

_Total: TypeAlias = tuple[Callable[[list[Fraction]], Fraction], Fraction]
"""How what several options say comes together, and what it is where none says anything."""

_NEVER = Fraction(10**9)
"""Stands for a size that nothing gives: larger than any."""

_SMALLEST: _Total = (min, _NEVER)
_LARGEST: _Total = (max, -_NEVER)
_ALL: _Total = (lambda sizes: sum(sizes, Fraction(0)), Fraction(0))


@frozen(eq=False, repr=False)
class _SpaceReach:
    """How far a space may reach.

    Attributes:
        inside: its inside front.
        end: its outside rear.
        interior: its greatest inside length.
        middle: of its outside.
        certain: its size is known in any case.
    """

    inside: Span
    end: Span
    interior: int
    middle: Span
    certain: bool


class Extents:
    """Intervals of places on one vehicle.

    Attributes:
        tray: the middle of the tray; the rear axle where its length is not known.
        spaces: by id; None for one whose size is never known.
        rear: where the rear of tray and spaces is at least, and at most; None while nothing says.
    """

    def __init__(self, catalogue: Catalogue, vehicle: Vehicle, answers: Answers) -> None:
        self.catalogue, self.vehicle, self._answers = catalogue, vehicle, answers
        self._usuals: dict[str, Span] = {}
        self.spaces = {space.id: self._space(space.id) for space in catalogue.spaces}
        axle = Fraction(vehicle.wheelbase)
        self.tray = axle, axle
        lengths = [
            (choice.id, option.id, option.tray.length)
            for choice in catalogue.by_id.values()
            for option in choice.options
            if option.tray is not None and option.tray.length is not None
        ]
        shortest, longest = self._span(_LARGEST, lengths)
        certain, front = shortest != -_NEVER, vehicle.tray_front
        spaces = [space for space in self.spaces.values() if space is not None]
        least = [space.end[0] for space in spaces if space.certain]
        most = [space.end[1] for space in spaces]
        if longest != -_NEVER:
            if not certain:
                shortest = Fraction(min(length for _, _, length in lengths))
            middle = front + shortest / 2, front + longest / 2
            self.tray = middle if certain else _hull(middle, self.tray)
            least += [front + shortest] if certain else []
            most.append(front + longest)
        self.rear = max(least, default=None), max(most, default=None)

    def where(self, choice: Choice, option: Option) -> Span:
        """Where one of the option may sit."""
        if option.unit is not None:
            return self.unit(option.unit)
        if option.position is not None:
            x = Fraction(self._stated(option.position))
            return x, x
        return self.usual(option.group or choice.group)

    def unit(self, unit: Unit) -> Span:
        """Where the middle of the unit may be, whatever the layout.

        It only keeps the unit's shorter side between front and rear wall.
        """
        space = self.spaces[unit.space]
        if space is None:
            return self.tray
        half = Fraction(min(unit.body.width, unit.body.depth), 2)
        free = max(Fraction(0), space.interior - 2 * half)
        span = space.inside[0] + half, space.inside[1] + half + free
        return span if space.certain else _hull(span, self.tray)

    def placed(self, unit: Unit, middle: Fraction) -> Span:
        """Where a unit sits with its middle so far behind the inside front of its space."""
        space = self.spaces[unit.space]
        if space is None or not space.certain:
            return self.unit(unit)
        return space.inside[0] + middle, space.inside[1] + middle

    def usual(self, group: str) -> Span:
        """Where parts of the group are taken to be that state no place."""
        if group not in self._usuals:
            spans = [*self._usual(group)]
            self._usuals[group] = min(s[0] for s in spans), max(s[1] for s in spans)
        return self._usuals[group]

    def _usual(self, group: str) -> Iterator[Span]:
        """The middle of the first space whose size is known, or that of the tray."""
        for space in self.spaces.values() if group != "tray" else ():
            if space is not None:
                yield space.middle
                if space.certain:
                    return
        yield self.tray

    def _stated(self, position: Position) -> int:
        origins = {"tray-front": self.vehicle.tray_front, "rear-axle": self.vehicle.wheelbase}
        return origins.get(position.origin, 0) + position.x

    def _space(self, space: str) -> _SpaceReach | None:
        lengths = [*self._parts(space, "length")]
        shortest, longest = self._span(_SMALLEST, lengths)
        width, height = (self._span(_SMALLEST, self._parts(space, w)) for w in ("width", "height"))
        if _NEVER in (shortest, width[0], height[0]):
            return None
        certain = _NEVER not in (longest, width[1], height[1])
        if longest == _NEVER:
            longest = Fraction(max(length for _, _, length in lengths))
        shift, wall = (self._span(_ALL, self._parts(space, what)) for what in ("x", "wall"))
        front = self.vehicle.tray_front + shift[0], self.vehicle.tray_front + shift[1]
        return _SpaceReach(
            inside=(front[0] + wall[0], front[1] + wall[1]),
            end=(front[0] + shortest, front[1] + longest),
            interior=max(0, floor(longest - 2 * wall[0])),
            middle=(front[0] + shortest / 2, front[1] + longest / 2),
            certain=certain,
        )

    def _parts(self, space: str, what: str) -> Iterator[_Part]:
        """What options say of one figure of the space, where they say anything."""
        for choice, option, name, part in self.catalogue.space_parts:
            if name == space and (said := getattr(part, what)):
                yield choice, option, said

    def _span(self, total: _Total, parts: Iterable[_Part]) -> Span:
        """Least and greatest that what is said may come to."""
        found: dict[str, dict[str, int | Decimal]] = {}
        for choice, option, size in parts:
            found.setdefault(choice, {})[option] = size
        join, nothing = total
        spans = [self._of_choice(self.catalogue.by_id[c], by, total) for c, by in found.items()]
        return join([nothing, *(s[0] for s in spans)]), join([nothing, *(s[1] for s in spans)])

    def _of_choice(self, choice: Choice, by: Mapping[str, int | Decimal], total: _Total) -> Span:
        """The same of one choice, by what its options say."""
        join, nothing = total
        picked = self._answers.get(choice.id)
        if picked is not None:
            said = [Fraction(size) for option, size in by.items() if option in picked]
            one = join([nothing, *said])
            return one, one
        sizes = [*map(Fraction, by.values())]
        if choice.pick == "several":
            less, more = [s for s in sizes if s < nothing], [s for s in sizes if s > nothing]
            return join([nothing, *less]), join([nothing, *more])
        if choice.pick != "one" or len(by) < len(choice.by_id):
            sizes.append(nothing)
        return min(sizes), max(sizes)


@once
def places_of(build: Resolved) -> Places | None:
    """Where things are; None while no vehicle is picked."""
    option = build.catalogue.by_id[VEHICLE].by_id.get(build.selection.one(VEHICLE) or "")
    return None if option is None or option.vehicle is None else Places(build, option.vehicle)


class Places(Extents):
    """Where things are on the vehicle of a selection.

    Attributes:
        units: what is to be placed and how many of it, by choice and option.
        sizes: outside sizes of the spaces that the picks determine.
        roof: the highest roof of the spaces above the tray floor.
    """

    def __init__(self, build: Resolved, vehicle: Vehicle) -> None:
        chosen = build.selection.chosen
        answers = {choice: frozenset(chosen.get(choice, ())) for choice in build.catalogue.by_id}
        super().__init__(build.catalogue, vehicle, answers)
        self.units = {(c.id, o.id): (o.unit, n) for c, o, n in build.picks if o.unit}
        self.sizes: dict[str, Outside] = {}
        for space in build.catalogue.spaces:
            try:
                self.sizes[space.id] = space_sizes(build, space.id)
            except MissingPicks:
                continue
        self._bases = {space: self._span(_ALL, self._parts(space, "z"))[0] for space in self.sizes}
        self._on_tray = self.tray[0], Fraction(0), Fraction(0)
        self._middles = dict[str, Spot]()
        roofs = []
        for name, size in self.sizes.items():
            reach, base = self.spaces[name], self._bases[name]
            assert reach is not None
            self._middles[name] = reach.middle[0], Fraction(0), base + Fraction(size.height, 2)
            roofs.append(base + size.height)
        self.roof = int(max(roofs, default=0))

    def spots(
        self, choice: Choice, option: Option, quantity: int, layout: Layout | None
    ) -> list[tuple[Spot, bool]]:
        """Where each of this many of the option is, and whether that is stated, not assumed.

        Units are where the layout has them; without one their places are assumed.
        """
        unit, position, known = option.unit, option.position, list[Spot]()
        where = self._on_tray
        if unit is not None:
            known = [*self._in_layout(layout, choice.id, option.id)][:quantity]
            where = self._middles.get(unit.space, where)
        elif position is not None:
            known = [self.spot(position)] * quantity
        elif (option.group or choice.group) != "tray":
            where = next(iter(self._middles.values()), where)
        return [(spot, True) for spot in known] + [(where, False)] * (quantity - len(known))

    def spot(self, position: Position) -> Spot:
        """Where a stated place is."""
        up = position.z + (self.roof if position.above == "roof" else 0)
        return Fraction(self._stated(position)), Fraction(position.y), Fraction(up)

    def inside_front(self, space: str) -> Fraction:
        """Inside front of the space behind the front axle; its size has to be known."""
        there = self.spaces[space]
        assert there is not None
        return there.inside[0]

    def corner(self, space: str) -> Spot:
        """The front lower left corner of the outside of a space; its size has to be known."""
        there, size = self.spaces[space], self.sizes[space]
        assert there is not None
        return there.end[0] - size.length, -Fraction(size.width, 2), self._bases[space]

    def _in_layout(self, layout: Layout | None, choice: str, option: str) -> Iterator[Spot]:
        """Where the layout has the units of the option: the middle of each body."""
        for unit in layout.placements if layout else ():
            size = self.sizes.get(unit.space)
            if (unit.choice, unit.option) != (choice, option) or size is None:
                continue
            x = self.inside_front(unit.space) + unit.x + Fraction(unit.length, 2)
            y = unit.y + Fraction(unit.width, 2) - Fraction(size.interior.width, 2)
            up = self._bases[unit.space] + Fraction(size.floor) + unit.z + Fraction(unit.height, 2)
            yield x, y, up


def _hull(one: Span, other: Span) -> Span:
    return min(one[0], other[0]), max(one[1], other[1])


@once
def reach_of(build: Resolved, vehicle: Vehicle) -> Extents:
    """Where things may be on the vehicle, whatever can still be picked."""
    closed = (choice for choice in build.catalogue.by_id.values() if not build.takes_more(choice))
    chosen = build.selection.chosen
    answers = {choice.id: frozenset(chosen.get(choice.id, ())) for choice in closed}
    return Extents(build.catalogue, vehicle, answers)
