"""What is seen of a vehicle from its kerb side, as far as the catalogue and the picks say.

x behind the front axle and z above the tray floor, mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.vehicles import Outline, Vehicle
from configurator.drawing.bodies import Body, Tray, fittings, shells, tray_of
from configurator.fit.layout import Layout
from configurator.fit.openings import clear_openings
from configurator.mass.axles import summed
from configurator.mass.picture import mass_picture
from configurator.mass.places import Places
from configurator.mass.states import MassPicture
from configurator.selection.resolved import Resolved

Point: TypeAlias = tuple[float, float]

Door: TypeAlias = tuple[float, float, float, float]
"""x, z, length and height."""


@frozen
class SideView:
    """What is seen, x behind the front axle and z above the tray floor, mm.

    Attributes:
        side: the side that it is seen from.
        vehicle: the class of vehicle.
        outline: how its cab and wheels look; None where too little is known for that.
        tray: the tray, as far as it is known.
        shells: the outsides of the spaces.
        doors: clear openings on that side, and how their doors move.
        things: what is on them, under them and beside them.
        picture: masses and loads.
    """

    side: str
    vehicle: Vehicle
    outline: Outline | None
    tray: Tray | None
    shells: Sequence[Body]
    doors: Sequence[tuple[Door, str]]
    things: Sequence[Body]
    picture: MassPicture | None

    @property
    def bodies(self) -> tuple[Body, ...]:
        """All boxes."""
        return (*self.shells, *self.things)

    @property
    def front(self) -> int:
        """Where the vehicle begins."""
        begins = [0 if self.outline is None else -self.outline.front]
        return min(begins + ([] if self.tray is None else [self.tray.front]))

    @property
    def rear(self) -> int:
        """Where all that is drawn ends."""
        wheel = 0 if self.outline is None else self.outline.tyre // 2
        return max([self.vehicle.wheelbase + wheel, *self.ends])

    @property
    def ends(self) -> list[int]:
        """Where the tray, and what is on and behind it, end."""
        ends = [int(body.rear) for body in self.bodies]
        return ends + ([] if self.tray is None else [self.tray.rear])

    @property
    def ground(self) -> int:
        """The ground, below the tray floor; or the lowest of all where that is not known."""
        if self.vehicle.tray_floor is not None:
            return -self.vehicle.tray_floor
        depth = self.tray.depth if self.tray is not None and self.tray.depth else 0
        return min([-depth, *(int(body.z) for body in self.bodies)])

    @property
    def centre(self) -> Point | None:
        """The centre of the mass that is added; None while there is none."""
        if self.picture is None or self.picture.added_height is None:
            return None
        kinds = ("part", "contents", "fluid")
        items = (item for item in self.picture.state("full").items if item.kind in kinds)
        added, moment = summed((item.mass, item.x) for item in items)
        return float(moment / added), float(self.picture.added_height)

    @property
    def top(self) -> int:
        """The highest of all, which is as high as the mass picture says."""
        stated = self.picture.size.height if self.picture is not None else None
        if stated is not None:
            return stated + self.ground
        tops = [0, *(int(body.top) for body in self.bodies)]
        if self.outline is not None and self.vehicle.cab_height is not None:
            tops.append(self.vehicle.cab_height + self.ground)
        if self.tray is not None:
            tops += [size for size in (self.tray.sides, self.tray.headboard) if size]
        return max(tops)


def side_of(build: Resolved, places: Places, layout: Layout | None) -> SideView:
    """The side that has doors; the kerb side where both have, or none."""
    bodies, found = shells(build, places), dict[str, list[tuple[Door, str]]]()
    for space, body in bodies.items():
        size = places.sizes[space]
        inside, floor = float(places.inside_front(space)), float(body.z) + float(size.floor)
        for opening in clear_openings(build, space, size.interior):
            door = (inside + opening.start, floor + opening.sill, opening.width, opening.height)
            found.setdefault(opening.side, []).append((door, opening.moves))
    kerb = build.catalogue.shop.kerb_side
    other = "right" if kerb == "left" else "left"
    side = other if other in found and kerb not in found else kerb
    vehicle = places.vehicle
    whole = vehicle.tray_floor is not None and vehicle.cab_height is not None
    sign = -1 if side == "left" else 1
    near = [
        thing
        for thing in fittings(build, places)
        if sign * (2 * thing.y + thing.width) > -thing.width
    ]
    return SideView(
        side=side,
        vehicle=vehicle,
        outline=vehicle.outline if whole else None,
        tray=tray_of(build, places),
        shells=tuple(bodies.values()),
        doors=tuple(found.get(side, ())),
        things=tuple(sorted(near, key=lambda thing: sign * (2 * thing.y + thing.width))),
        picture=mass_picture(build, layout),
    )
