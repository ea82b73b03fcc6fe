"""Where the masses of a selection sit on its vehicle.

x behind the front axle, y to the right of the centre line, z above the tray floor, mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from configurator.catalogue.model import VEHICLE, Choice, Option
from configurator.catalogue.units import Position, SpacePart, Unit
from configurator.selection.resolved import Resolved, once
from configurator.totals import MissingPicks, Outside, space_sizes

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

Spot: TypeAlias = tuple[Fraction, Fraction, Fraction]
"""A place: x, y and z."""


@once
def places_of(build: Resolved) -> Places | None:
    """Where things are; None while no vehicle is picked."""
    option = build.catalogue.by_id[VEHICLE].by_id.get(build.selection.one(VEHICLE) or "")
    return None if option is None or option.vehicle is None else Places(build, option)


class Places:
    """Where things are on the vehicle of a selection.

    Attributes:
        title: of the vehicle.
        vehicle: the vehicle.
        units: what is to be placed and how many of it, by choice and option.
        sizes: outside sizes of the spaces that the picks determine.
        tray_length: mm, or None where nothing picked says it.
        tray_width: the same across.
    """

    def __init__(self, build: Resolved, option: Option) -> None:
        assert option.vehicle is not None
        self.title, self.vehicle = option.title, option.vehicle
        self.units = {(c.id, o.id): (o.unit, n) for c, o, n in build.picks if o.unit}
        self.sizes: dict[str, Outside] = {}
        for space in build.catalogue.spaces:
            try:
                self.sizes[space.id] = space_sizes(build, space.id)
            except MissingPicks:
                continue
        self._parts: dict[str, list[SpacePart]] = {}
        for _, option, _ in build.picks:
            for name, part in option.space:
                self._parts.setdefault(name, []).append(part)
        trays = [option.tray for _, option, _ in build.picks if option.tray is not None]
        lengths = [tray.length for tray in trays if tray.length is not None]
        widths = [tray.width for tray in trays if tray.width is not None]
        self.tray_length = max(lengths, default=None)
        self.tray_width = max(widths, default=None)
        bases = (self.base(space) + size.height for space, size in self.sizes.items())
        self.roof = max(bases, default=0)
        """The highest roof of the spaces above the tray floor."""
        x = Fraction(self.vehicle.wheelbase)
        if self.tray_length is not None:
            x = self.vehicle.tray_front + Fraction(self.tray_length, 2)
        self._middle_of_tray = x, Fraction(0), Fraction(0)
        """The middle of the tray; over the rear axle where its length is not known."""
        self._middles = {space: self._middle(space) for space in self.sizes}
        self._usual = next(iter(self._middles.values()), self._middle_of_tray)

    def front(self, space: str) -> int:
        """Outside front of the space behind the front axle."""
        return self.vehicle.tray_front + sum(part.x or 0 for part in self._parts.get(space, ()))

    def base(self, space: str) -> int:
        """Underside of the space above the tray floor."""
        return sum(part.z or 0 for part in self._parts.get(space, ()))

    def of(
        self, choice: Choice, option: Option, quantity: int, layout: Layout | None
    ) -> list[tuple[Spot, bool]]:
        """Where each of this many of the option is, and whether that is stated, not assumed.

        Units are where the layout has them; without one their places are assumed.
        """
        unit, known = option.unit, list[Spot]()
        if unit is not None:
            known = [*self._in_layout(layout, choice.id, option.id)][:quantity]
        elif option.position is not None:
            known = [self._stated(option.position)] * quantity
        if len(known) == quantity:
            return [(spot, True) for spot in known]
        if unit is not None:
            where = self._middles.get(unit.space, self._middle_of_tray)
        else:
            on_tray = (option.group or choice.group) == "tray"
            where = self._middle_of_tray if on_tray else self._usual
        return [(spot, True) for spot in known] + [(where, False)] * (quantity - len(known))

    def _stated(self, position: Position) -> Spot:
        origins = {
            "front-axle": 0,
            "tray-front": self.vehicle.tray_front,
            "rear-axle": self.vehicle.wheelbase,
        }
        up = position.z + (self.roof if position.above == "roof" else 0)
        return Fraction(origins[position.origin] + position.x), Fraction(position.y), Fraction(up)

    def _middle(self, space: str) -> Spot:
        size = self.sizes[space]
        x = self.front(space) + Fraction(size.length, 2)
        return x, Fraction(0), self.base(space) + Fraction(size.height, 2)

    def inside_front(self, space: str) -> Fraction:
        """Inside front of the space behind the front axle; its size has to be known."""
        return self.front(space) + Fraction(self.sizes[space].wall)

    def span(self, unit: Unit) -> tuple[Fraction, Fraction] | None:
        """How far forward and how far back the middle of the unit may be, whatever the layout.

        It only keeps the unit's shorter side between front and rear wall. None where the size of
        its space is not known.
        """
        size = self.sizes.get(unit.space)
        if size is None:
            return None
        half = Fraction(min(unit.body.width, unit.body.depth), 2)
        first = self.inside_front(unit.space) + half
        return first, first + max(Fraction(0), size.interior.length - 2 * half)

    def _in_layout(self, layout: Layout | None, choice: str, option: str) -> Iterator[Spot]:
        """Where the layout has the units of the option: the middle of each body."""
        for unit in layout.placements if layout else ():
            size = self.sizes.get(unit.space)
            if (unit.choice, unit.option) != (choice, option) or size is None:
                continue
            x = self.inside_front(unit.space) + unit.x + Fraction(unit.length, 2)
            y = unit.y + Fraction(unit.width, 2) - Fraction(size.interior.width, 2)
            up = self.base(unit.space) + Fraction(size.floor) + unit.z + Fraction(unit.height, 2)
            yield x, y, up
