"""The openings of a space, and the cells that a centre divider makes of it.

A unit stands in one cell and gets in through the openings of that one.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.units import Gear, Opening
from configurator.selection.resolved import Resolved, once
from configurator.totals import Interior


@frozen
class ClearOpening:
    """A clear rectangle in one side of a space, mm from the inside's front or left, and floor.

    ``gear`` is what its struts and hinges sweep, ``moves`` how its door moves, or empty;
    ``prefers`` the units meant for it, each a choice id or ``choice=option``.
    """

    side: str
    start: int
    end: int
    sill: int
    top: int
    gear: Gear | None = None
    moves: str = ""
    prefers: tuple[Pick, ...] = ()

    @property
    def width(self) -> int:
        """Clear width, mm."""
        return self.end - self.start

    @property
    def height(self) -> int:
        """Clear height, mm."""
        return self.top - self.sill


@once
def clear_openings(build: Resolved, space: str, interior: Interior) -> tuple[ClearOpening, ...]:
    """The clear openings that the picks give the space; those with nothing clear are left out."""
    found = (
        _clear(opening, interior)
        for _, option, _ in build.picks
        for opening in option.openings
        if opening.space == space
    )
    return tuple(o for o in found if o.width > 0 and o.height > 0)


def _clear(opening: Opening, interior: Interior) -> ClearOpening:
    along = interior.width if opening.side == "rear" else interior.length
    start, rear, width = opening.front, opening.rear, opening.width
    if start is None:
        start = along - (rear or 0) - (width or 0)
    end = along - rear if rear is not None else start + (width or 0)
    top = interior.height - opening.header
    return ClearOpening(
        opening.side,
        max(0, start),
        min(end, along),
        opening.sill,
        top,
        opening.gear,
        opening.moves,
        opening.prefers,
    )


@frozen(cache_hash=True)
class Cell:
    """A part of a space that a unit stands in: all of it, or what is on one side of its divider.

    Attributes:
        left: its left end, mm from the inside of the left wall of the space.
        right: its right end.
        inside: its clear size.
        openings: the openings that lead into it, mm from its own front or left.
    """

    left: int
    right: int
    inside: Interior
    openings: tuple[ClearOpening, ...]


@once
def divider_of(build: Resolved, space: str, interior: Interior) -> tuple[int, int] | None:
    """Left and right face of the centre divider, whole mm from the left wall, or None.

    A divider on a part of a millimetre takes the whole of it.
    """
    parts = [
        part
        for _, option, _ in build.picks
        for name, part in option.space
        if name == space and part.divider
    ]
    if not parts:
        return None
    at = min((p.divider_at for p in parts if p.divider_at is not None), default=None)
    middle = Decimal(interior.width) / 2 if at is None else Decimal(at)
    half = sum((part.divider for part in parts), Decimal(0)) / 2
    left = int((middle - half).to_integral_value(ROUND_FLOOR))
    right = int((middle + half).to_integral_value(ROUND_CEILING))
    return max(0, min(left, interior.width)), max(0, min(right, interior.width))


def cells_of(
    interior: Interior, openings: tuple[ClearOpening, ...], divider: tuple[int, int] | None
) -> tuple[Cell, ...]:
    """The cells of a space from left to right."""
    ends = [(0, interior.width)]
    if divider is not None:
        ends = [(0, divider[0]), (divider[1], interior.width)]
    return tuple(
        Cell(
            left,
            right,
            Interior(interior.length, right - left, interior.height),
            tuple(_openings_into(left, right, interior, openings)),
        )
        for left, right in ends
    )


def _openings_into(
    left: int, right: int, interior: Interior, openings: tuple[ClearOpening, ...]
) -> Iterator[ClearOpening]:
    for opening in openings:
        if opening.side == "rear":
            start, end = max(opening.start, left), min(opening.end, right)
            if start < end:
                yield evolve(opening, start=start - left, end=end - left)
        elif (opening.side == "left" and left == 0) or (
            opening.side == "right" and right == interior.width
        ):
            yield opening


@once
def open_deciders(build: Resolved, space: str) -> tuple[str, ...]:
    """Choices of one still open that can give the space an opening."""
    return tuple(
        choice.id
        for choice in build.catalogue.choices
        if choice.pick == "one"
        and choice.id not in build.selection.chosen
        and any(o.space == space for option in choice.options for o in option.openings)
    )
