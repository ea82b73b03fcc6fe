"""The parts of a package as boxes in their places on the vehicle, for its pictures.

x behind the front axle, y to the right of the centre line, z above the tray floor, mm, exact.
A thing whose size or place is not known is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from attrs import frozen

from configurator.mass.places import Places
from configurator.selection.resolved import Resolved


@frozen
class Body:
    """A box: its front lower left corner, its size, what it is, and how many lie there alike."""

    x: Fraction
    y: Fraction
    z: Fraction
    length: int
    width: int
    height: int
    title: str = ""
    count: int = 1

    @property
    def rear(self) -> Fraction:
        """Its rear end."""
        return self.x + self.length

    @property
    def top(self) -> Fraction:
        """Its upper end."""
        return self.z + self.height


@frozen
class Tray:
    """The tray as far as the picks tell it, mm; None for what they do not."""

    front: int
    length: int
    width: int | None
    depth: int | None
    sides: int | None
    headboard: int | None

    @property
    def rear(self) -> int:
        """Its rear end behind the front axle."""
        return self.front + self.length


def tray_of(build: Resolved, places: Places) -> Tray | None:
    """The tray, or None while its length is not known."""
    parts = [option.tray for _, option, _ in build.picks if option.tray is not None]

    def said(name: str) -> int | None:
        return next((size for part in parts if (size := getattr(part, name))), None)

    length = said("length")
    if length is None:
        return None
    others = (said(name) for name in ("width", "depth", "sides", "headboard"))
    return Tray(places.vehicle.tray_front, length, *others)


def shells(build: Resolved, places: Places) -> dict[str, Body]:
    """The outsides of the spaces whose size is known, by id."""
    return {
        space: Body(
            *places.corner(space),
            size.length,
            size.width,
            size.height,
            build.catalogue.space_title(space),
        )
        for space, size in places.sizes.items()
    }


def fittings(build: Resolved, places: Places) -> Iterator[Body]:
    """What is on the roof, on the tray and under it, as far as its size is stated."""
    for _, option, quantity in build.picks:
        position = option.position
        if position is None or position.size is None:
            continue
        x, y, z = places.spot(position)
        size = position.size
        low = z - Fraction(size.height, 2)
        if position.top is not None:
            low = z - position.z + position.top - size.height
        corner = x - Fraction(size.length, 2), y - Fraction(size.width, 2), low
        yield Body(*corner, size.length, size.width, size.height, option.title, quantity)
