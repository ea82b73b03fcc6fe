"""Where the masses of a selection sit on its vehicle.

x behind the front axle, y to the right of the centre line, z above the tray floor, mm.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from configurator.catalogue.model import Position, Unit, Vehicle
from configurator.selection.resolved import Resolved
from configurator.totals import MissingPicks, Outside, space_sizes

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

__all__ = ["Places"]


class Places:
    """Where things are on the vehicle of a selection.

    Attributes:
        units: what is to be placed, by ``choice=option``.
        sizes: outside sizes of the spaces that the picks determine.
        tray_length: mm, or None where nothing picked says it.
        tray_width: the same across.
    """

    def __init__(self, build: Resolved, vehicle: Vehicle, layout: Layout | None) -> None:
        self.build, self.vehicle = build, vehicle
        self.layout = layout
        self.picks = list(build.picks)
        self.units = {
            f"{choice.id}={option.id}": option.unit
            for choice, option, _ in self.picks
            if option.unit is not None
        }
        self.sizes: dict[str, Outside] = {}
        for space in build.catalogue.spaces:
            try:
                self.sizes[space.id] = space_sizes(build, space.id)
            except MissingPicks:
                continue
        trays = [option.tray for _, option, _ in self.picks if option.tray is not None]
        lengths = [tray.length for tray in trays if tray.length is not None]
        widths = [tray.width for tray in trays if tray.width is not None]
        self.tray_length = max(lengths, default=None)
        self.tray_width = max(widths, default=None)

    def front(self, space: str) -> int:
        """Outside front of the space behind the front axle."""
        given = [dict(option.space).get(space) for _, option, _ in self.picks]
        return self.vehicle.tray_front + sum(p.x for p in given if p is not None and p.x)

    def base(self, space: str) -> int:
        """Underside of the space above the tray floor."""
        given = [dict(option.space).get(space) for _, option, _ in self.picks]
        return sum(p.z for p in given if p is not None and p.z)

    @property
    def roof(self) -> int:
        """The highest roof of the spaces above the tray floor."""
        return max((self.base(s) + size.height for s, size in self.sizes.items()), default=0)

    def stated(self, position: Position) -> tuple[Fraction, Fraction, Fraction]:
        """The place that a position states."""
        origins = {
            "front-axle": 0,
            "tray-front": self.vehicle.tray_front,
            "rear-axle": self.vehicle.wheelbase,
        }
        up = position.z + (self.roof if position.above == "roof" else 0)
        return Fraction(origins[position.origin] + position.x), Fraction(position.y), Fraction(up)

    def middle(self, space: str) -> tuple[Fraction, Fraction, Fraction]:
        """The middle of the space; of the tray where its size is not known."""
        size = self.sizes.get(space)
        if size is None:
            return self.middle_of_tray()
        x = self.front(space) + Fraction(size.length, 2)
        return x, Fraction(0), self.base(space) + Fraction(size.height, 2)

    def middle_of_tray(self) -> tuple[Fraction, Fraction, Fraction]:
        """The middle of the tray; over the rear axle where its length is not known."""
        x = Fraction(self.vehicle.wheelbase)
        if self.tray_length is not None:
            x = self.vehicle.tray_front + Fraction(self.tray_length, 2)
        return x, Fraction(0), Fraction(0)

    def usual(self, group: str) -> tuple[Fraction, Fraction, Fraction]:
        """Where a part is taken to be when nobody states its place."""
        spaces = [space.id for space in self.build.catalogue.spaces if space.id in self.sizes]
        return self.middle(spaces[0]) if spaces and group != "tray" else self.middle_of_tray()

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

    def in_layout(self, choice: str, option: str) -> list[tuple[Fraction, Fraction, Fraction]]:
        """Where the layout has the units of the option: the middle of each body."""
        found = []
        for unit in self.layout.placements if self.layout else ():
            size = self.sizes.get(unit.space)
            if (unit.choice, unit.option) != (choice, option) or size is None:
                continue
            x = self.inside_front(unit.space) + unit.x + Fraction(unit.length, 2)
            y = unit.y + Fraction(unit.width, 2) - Fraction(size.interior.width, 2)
            up = self.base(unit.space) + Fraction(size.floor) + unit.z + Fraction(unit.height, 2)
            found.append((x, y, up))
        return found
