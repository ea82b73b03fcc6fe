"""The facet of options that the workshop reads: what is cut, drilled and fitted, and where; mm."""

from __future__ import annotations

from attrs import field, frozen

from configurator.catalogue.record import Record
from configurator.errors import NOWHERE, Location

__all__ = ["Corners", "Hole", "OnUnit", "Work"]


@frozen(repr=False)
class Hole(Record):
    """Size of a hole, mm: its diameter, or its width and height."""

    diameter: int | None = None
    width: int | None = None
    height: int | None = None


@frozen(repr=False)
class OnUnit(Record):
    """The middle of a hole or fixing on a unit, mm, as seen facing the unit.

    Attributes:
        across: from the left edge of the working face.
        behind: behind the working face.
        up: above the underside.
    """

    across: int
    behind: int = 0
    up: int = 0


@frozen(repr=False)
class Corners(Record):
    """The four corners of a unit's footprint, mm.

    Attributes:
        across: how far in from its left and its right edge.
        behind: how far in from its working face and from its back.
    """

    across: int
    behind: int

    def places(self, width: int, depth: int) -> tuple[OnUnit, ...]:
        """The four places on a body of that width and depth."""
        return tuple(
            OnUnit(across, behind)
            for across in (self.across, width - self.across)
            for behind in (self.behind, depth - self.behind)
        )


@frozen(repr=False)
class Work(Record):
    """One thing that the workshop does for an option.

    Attributes:
        do: ``cut``, ``drill``, ``fit``, ``seal`` or ``weld``.
        text: what it is for.
        where: in what and where, in words, or empty.
        on: the unit of another option that it is done on, a choice id or ``choice=option``, or
            empty.
        hole: size of the hole, if it is one.
        count: how many for each one picked; None for as many as there are places.
        places: where on the unit, when the catalogue says.
        corners: the same, at the corners of the unit.
    """

    do: str
    text: str
    where: str = ""
    on: str = ""
    hole: Hole | None = None
    count: int | None = None
    places: tuple[OnUnit, ...] = ()
    corners: Corners | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)

    @property
    def times(self) -> int:
        """How many for each one picked, where the catalogue does not say where on the unit."""
        return 1 if self.count is None else self.count

    def on_unit(self, width: int, depth: int) -> tuple[OnUnit, ...]:
        """Where on a unit whose body has that width and depth; empty where nothing says."""
        return self.corners.places(width, depth) if self.corners else self.places
