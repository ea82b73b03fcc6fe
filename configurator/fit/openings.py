"""The openings of a space, its cells on each side of a centre divider, and the way into a cell.

A unit stands in one cell and is brought in through an opening of that one. The way in is asked of
the empty cell with its doors open. The unit may be held in any attitude with its edges parallel to
those of the space. In one of them it passes the clear opening: straight, or at a slant about the
way in. Inside it is righted, if it came at a slant, and brought by quarter turns to how it will
stand: stood up (its ends change from behind the opening to up), rolled (from along the opening to
up) or turned about the vertical. On the way in every unit may be turned, whether or not it may
stand turned.

Each turn is made with all of the unit inside: what stuck out of the open door meanwhile would have
to pass the opening at every angle. At some angle of a quarter turn a rectangle takes its diagonal
in both directions, and never more, so the diagonal of what is turned must clear the inside in both
of them; to right what came at a slant is asked no less. So every way that is granted is possible.

Whole millimetres, compared exactly: a diagonal is rounded up.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import permutations, product
from math import isqrt
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.units import Gear, Opening
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import Interior
from configurator.shapes.forms import brief


@frozen(repr=False)
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

    __repr__ = brief

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
    rear, width = opening.rear, opening.width or 0
    start = along - (rear or 0) - width if opening.front is None else opening.front
    return ClearOpening(
        opening.side,
        max(0, start),
        min(start + width if rear is None else along - rear, along),
        opening.sill,
        interior.height - opening.header,
        opening.gear,
        opening.moves,
        opening.prefers,
    )


@frozen(cache_hash=True)
class Bay:
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
) -> tuple[Bay, ...]:
    """The cells of a space from left to right."""
    ends = [(0, interior.width)]
    if divider is not None:
        ends = [(0, divider[0]), (divider[1], interior.width)]
    return tuple(
        Bay(
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
    at_wall = {"left": left == 0, "right": right == interior.width}
    for opening in openings:
        start, end = max(opening.start, left), min(opening.end, right)
        if opening.side == "rear" and start < end:
            yield evolve(opening, start=start - left, end=end - left)
        elif at_wall.get(opening.side):
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


@frozen(repr=False)
class Misfit:
    """One reason why a unit does not fit.

    Attributes:
        what: ``length``, ``width``, ``height`` (of the inside), ``opening-width``,
            ``opening-height``, ``sill``, ``no-opening``; ``entry`` (the opening is too small to
            bring it in), or what there is no room inside for its diagonal to do: ``stand-up``
            (height and behind the opening), ``right-up`` (height and along the opening),
            ``turn-in`` (along and behind the opening); ``bed-width``, ``bed-depth``, ``bed-mass``,
            ``bed-clear`` (top clearance of the carrier), ``below`` (room under a hanging unit) or
            ``support``.
        needs: what the unit needs, mm (kg for ``bed-mass``).
        has: what is there, mm (kg).
        where: the side of the opening, or the title of the carrier.
    """

    what: str
    needs: int | Decimal
    has: int | Decimal
    where: str = ""

    __repr__ = brief

    @property
    def missing(self) -> int | Decimal:
        """How much is missing, mm (kg); nothing unless it is above zero."""
        return self.needs - self.has

    @property
    def hopeless(self) -> bool:
        """Whether no size could mend it: there is no opening, or nothing to stand on."""
        return self.what in ("no-opening", "support")

    @property
    def numbers(self) -> tuple[tuple[str, int | Decimal], ...]:
        """What it needs and what there is, by name; none where there is nothing to measure."""
        if self.hopeless:
            return ()
        return (f"{self.what}-needs", self.needs), (f"{self.what}-has", self.has)


_Size: TypeAlias = tuple[int, int, int]

_TURNS = ((0, 2, "right-up"), (1, 2, "stand-up"), (0, 1, "turn-in"))
"""Quarter turns: which extents of the unit change places, along the opening, behind it, and up."""


def lacking(size: _Size, cell: Bay) -> Misfit | None:
    """The most that is missing on the way in that lacks least; None where the unit gets in.

    Args:
        size: the unit's body as it will stand, along the vehicle, across it, and up.
        cell: the cell that it stands in, which has an opening.
    """
    tries = []
    for opening in cell.openings:
        worst = _worst(size, opening, cell.inside)
        if worst.missing <= 0:
            return None
        tries.append(worst)
    return min(tries, key=lambda misfit: (misfit.missing, misfit.where))


def _worst(size: _Size, opening: ClearOpening, inside: Interior) -> Misfit:
    """The most that is missing on the way through the opening that lacks least."""
    stands, room = size, (inside.length, inside.width, inside.height)
    if opening.side == "rear":
        stands, room = _turned(stands, 0, 1), _turned(room, 0, 1)
    as_it_stands = _passing(stands, opening, room)
    if as_it_stands.missing <= 0:
        return as_it_stands
    held_so = [(a, b, c) for a, b, c in permutations(stands)]
    best = {held: _passing(held, opening, room) for held in held_so}
    changed = True
    while changed:
        changed = False
        for (held, so_far), (one, other, turn) in product(list(best.items()), _TURNS):
            taken = _diagonal(held[one], held[other])
            need = Misfit(turn, taken, min(room[one], room[other]), opening.side)
            worst = max(so_far, need, key=lambda misfit: misfit.missing)
            turned = _turned(held, one, other)
            if worst.missing < best[turned].missing:
                best[turned], changed = worst, True
    return best[stands]


def _passing(held: _Size, opening: ClearOpening, room: _Size) -> Misfit:
    """What is missing for the unit to pass so held, straight or at a slant."""
    across, _, high = held
    needs = ((across, opening.width), (high, opening.height))
    tries = [Misfit("entry", need, has, opening.side) for need, has in needs]
    straight = max(tries, key=lambda misfit: misfit.missing)
    if straight.missing <= 0 or not passes((across, high), (opening.width, opening.height)):
        return straight
    righted = Misfit("right-up", _diagonal(across, high), min(room[0], room[2]), opening.side)
    return min(straight, righted, key=lambda misfit: misfit.missing)


def _turned(size: _Size, one: int, other: int) -> _Size:
    found = list(size)
    found[one], found[other] = found[other], found[one]
    return found[0], found[1], found[2]


def _diagonal(one: int, other: int) -> int:
    """Of a rectangle, mm, rounded up."""
    return isqrt(one**2 + other**2 - 1) + 1


def passes(inner: tuple[int, int], outer: tuple[int, int]) -> bool:
    """Whether a rectangle fits into another one, turned as it may be; exact for whole numbers.

    With p >= q inside a >= b: p <= a and q <= b, or p > a, q <= b and
    b >= (2pqa + (p2 - q2) sqrt(p2 + q2 - a2)) / (p2 + q2). J. E. Wetzel, "Rectangles in
    Rectangles", Mathematics Magazine 73 (2000) 204-211.
    """
    q, p = sorted(inner)
    b, a = sorted(outer)
    if q > b:
        return False
    if p <= a:
        return True
    square = p * p + q * q
    left = b * square - 2 * p * q * a
    return left >= 0 and left * left >= (p * p - q * q) ** 2 * (square - a * a)
