"""Where every unit sits in its space, as values; and why a set of units cannot go in together.

Positions are whole millimetres from the inside of the space: x rearward from its front wall, y to
the right from its left wall, z up from its floor. Masses, papers and drawings use these values
without asking the search again.
"""

from __future__ import annotations

from typing import NamedTuple

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.fit.openings import ClearOpening
from configurator.selection.picks import Wish
from configurator.selection.totals import Interior
from configurator.shapes.forms import form

FLOOR, HUNG = "floor", "hung"


class UnitName(NamedTuple):
    """One of the units of an option: which of them, from 1."""

    choice: str
    option: str
    number: int = 1

    @property
    def key(self) -> tuple[str, str]:
        """Its choice and option."""
        return self.choice, self.option

    def __str__(self) -> str:
        """``choice=option``, with ``#2`` for the second of its option and so on."""
        return str(Pick(*self.key)) + (f"#{self.number}" if self.number > 1 else "")


@form(hidden="choice option", also="unit", shown={"unit": str, "on": str})
@frozen(repr=False)
class Placement:
    """One unit in its place.

    Attributes:
        choice: id of its choice.
        option: id of its option.
        number: which of several of the same option, from 1 to its quantity.
        space: id of the space it is in.
        x: front of the body behind the inside of the front wall, mm.
        y: left of the body from the inside of the left wall, mm.
        z: underside of the body above the floor, mm.
        length: of the body along x, mm.
        width: of the body along y, mm.
        height: of the body along z, mm.
        side: ``left``, ``right`` or ``rear``, where it works from, or empty.
        on: ``floor``, ``hung``, or the carrier as ``choice=option``, with ``#2`` and so on for a
            carrier that is not the first of its option.
        title: title of the unit.
    """

    choice: str
    option: str
    number: int
    space: str
    x: int
    y: int
    z: int
    length: int
    width: int
    height: int
    side: str
    on: UnitName | str
    title: str = ""

    @property
    def unit(self) -> Pick:
        """The unit as ``choice=option``."""
        return Pick(self.choice, self.option)

    @property
    def name(self) -> UnitName:
        """How ``on`` of another placement names this one."""
        return UnitName(self.choice, self.option, self.number)


@form(also="litres")
@frozen(repr=False)
class OpenBox:
    """A clear box with nothing in it, reached from one side of a space, mm.

    Attributes:
        space: id of the space.
        side: the side it is reached from; empty in an open space.
        x: front of the box behind the inside of the front wall.
        y: left of the box from the inside of the left wall.
        z: underside of the box above the floor.
        length: along x.
        width: along y.
        height: along z.
    """

    space: str
    side: str
    x: int
    y: int
    z: int
    length: int
    width: int
    height: int

    @property
    def volume(self) -> int:
        """Its volume in cubic mm; a million of them are a litre."""
        return self.length * self.width * self.height

    @property
    def litres(self) -> int:
        """Its volume in whole litres."""
        return self.volume // 10**6


@form(hidden="openings divider used", also="litres used_litres", inline="interior")
@frozen(repr=False)
class SpaceLayout:
    """One space, and how full it is.

    Attributes:
        space: its id.
        title: its title.
        interior: its clear inside.
        openings: its clear openings.
        divider: left face and right face of its centre divider, mm from the left wall, or None.
        used: volume of the bodies in it, cubic mm.
    """

    space: str
    title: str
    interior: Interior
    openings: tuple[ClearOpening, ...]
    divider: tuple[int, int] | None
    used: int

    @property
    def volume(self) -> int:
        """Volume of the inside, cubic mm."""
        return self.interior.length * self.interior.width * self.interior.height

    @property
    def litres(self) -> int:
        """Volume of the inside in whole litres."""
        return self.volume // 10**6

    @property
    def used_litres(self) -> int:
        """Volume of the bodies in it in whole litres, rounded up."""
        return -(-self.used // 10**6)


@frozen(repr=False)
class Place:
    """Where the units of an option are asked to be.

    A side, a door or an end is about every unit of the option, an exact position about the first.

    Attributes:
        wish: the option, and the side, end or position; what is empty or None is not asked.
        doors: they work through any of these.
        preferred: the catalogue prefers it; otherwise the customer wishes for it.
    """

    wish: Wish
    doors: tuple[ClearOpening, ...] = ()
    preferred: bool = False

    @property
    def key(self) -> tuple[str, str]:
        """Its choice and option."""
        return self.wish.choice, self.wish.option


@frozen(repr=False)
class Unkept:
    """A place that the layout does not keep, and why.

    Attributes:
        place: where the units were asked to be.
        in_the_way: names of the units that keep it from being kept; empty when the unit cannot be
            there even on its own.
        overloads: it could be kept, but then an axle would carry more than it is rated for.
        unsettled: whether it could be kept is not known; the search stopped without an answer.
    """

    place: Place
    in_the_way: tuple[UnitName, ...] = ()
    overloads: bool = False
    unsettled: bool = False


@form(hidden="unkept ratings", keys={"unknown": "unknown-spaces"})
@frozen(repr=False, cache_hash=True)
class Layout:
    """Every unit in its place, proven to hold together.

    Attributes:
        placements: every unit, in the catalogue's order.
        spaces: every space that holds a unit, in the catalogue's order.
        open_boxes: the largest clear box per space and side.
        unkept: wishes and preferred places that this layout does not keep.
        unknown: ids of spaces whose size the picks do not tell yet; their units are not placed.
        ratings: ``kept`` where the layout keeps the axle ratings, ``exceeded`` where it is proven
            that none does, ``unknown`` where that could not be settled. Ratings that a choice still
            open could bring count.
    """

    placements: tuple[Placement, ...]
    spaces: tuple[SpaceLayout, ...] = ()
    open_boxes: tuple[OpenBox, ...] = ()
    unkept: tuple[Unkept, ...] = ()
    unknown: tuple[str, ...] = ()
    ratings: str = "kept"

    @property
    def numbers(self) -> dict[UnitName, int]:
        """The number of each unit, the same on every drawing and paper."""
        return {p.name: number for number, p in enumerate(self.placements, 1)}


@frozen(repr=False)
class Missing:
    """How much is missing for the units of a reason to go in together.

    Attributes:
        what: ``length``, ``width`` or ``height`` of the space.
        needs: the least that would do, mm.
        has: what is there, mm.
    """

    what: str
    needs: int
    has: int


@frozen(repr=False)
class NoLayout:
    """Proof that units cannot go in together.

    Attributes:
        space: id of the space.
        units: names of units that by themselves cannot go in.
        least: none of them can be spared; otherwise one or more may be too many to name.
        picks: the picks that prove it, ``(choice, option)``: the units, and whatever makes their
            space, its openings and their carriers.
        missing: what is missing where that can be told in mm.
    """

    space: str
    units: tuple[UnitName, ...]
    least: bool
    picks: tuple[tuple[str, str], ...]
    missing: Missing | None = None
