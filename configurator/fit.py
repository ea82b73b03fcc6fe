"""Whether one unit fits a space on its own: inside, at its opening, on its carrier, and in.

A space that no option of the catalogue gives an opening is open (a roof rack): nothing is asked
of openings there.

Whole millimetres throughout, compared exactly; whatever needs a square root is compared by its
square. Zero to spare fits, one millimetre short does not. What several units do to each other is
not asked here.

How a unit may be got in, each tried at every opening of the space:

* straight, moved without turning: its cross-section passes the clear opening;
* laid back: it lies on its back, its width by depth passes, and it stands up inside, for which
  the diagonal of depth and height must clear both the inside height and the reach behind the
  opening;
* rolled sideways: its width by height passes at a slant, and it is righted inside, for which the
  diagonal of width and height must clear the inside height and the inside along the opening.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Box, Catalogue, Opening, Option, Unit
from configurator.selection import Selection, known_picks
from configurator.totals import Interior, mass_of, space_sizes

__all__ = ["ClearOpening", "Misfit", "UnitFit", "clear_openings", "fit_unit", "passes"]

_NO_WAY = 10**6


@frozen
class Misfit:
    """One reason why a unit does not fit.

    Attributes:
        what: ``length``, ``width``, ``height`` (of the inside), ``opening-width``,
            ``opening-height``, ``sill``, ``no-opening``, ``entry``, ``bed-width``, ``bed-depth``,
            ``bed-mass`` or ``support``.
        needs: what the unit needs, mm (kg for ``bed-mass``).
        has: what is there, mm (kg).
        where: the side of the opening, or the title of the carrier.
    """

    what: str
    needs: int | Decimal
    has: int | Decimal
    where: str = ""

    @property
    def missing(self) -> int | Decimal:
        """How much is missing, mm (kg)."""
        return self.needs - self.has


@frozen
class UnitFit:
    """How one unit fits its space on its own.

    Attributes:
        choice: id of its choice.
        option: the unit's option.
        interior: clear inside of the space.
        side: the side it would work from, or empty.
        misfits: why it does not fit in its best way; empty when it fits.
    """

    choice: str
    option: Option
    interior: Interior
    side: str
    misfits: tuple[Misfit, ...]

    @property
    def fits(self) -> bool:
        """Whether it fits on its own."""
        return not self.misfits


@frozen
class ClearOpening:
    """A clear rectangle in one side of a space, mm from the inside's front or left, and floor."""

    side: str
    start: int
    end: int
    sill: int
    top: int

    @property
    def width(self) -> int:
        """Clear width, mm."""
        return self.end - self.start

    @property
    def height(self) -> int:
        """Clear height, mm."""
        return self.top - self.sill


def clear_openings(
    catalogue: Catalogue, selection: Selection, space: str, interior: Interior
) -> tuple[ClearOpening, ...]:
    """The clear openings that the picks give the space; those with nothing clear are left out."""
    found = (
        _clear(opening, interior)
        for _, option, _ in known_picks(catalogue, selection)
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
    return ClearOpening(opening.side, max(0, start), min(end, along), opening.sill, top)


def fit_unit(
    catalogue: Catalogue, selection: Selection, choice: str, option: Option, side: str = ""
) -> UnitFit:
    """Whether the unit fits on its own, in its best way among sides, turns and carriers.

    Args:
        catalogue: the shop's catalogue.
        selection: the picks that make the space; the unit itself need not be among them.
        choice: id of the unit's choice.
        option: an option with a unit.
        side: only this one of the sides it may work from; empty for any.

    Raises:
        MissingPicks: the picks do not determine the space yet.
    """
    unit = option.unit
    if unit is None:
        raise ValueError(f"{option.title} is no unit")
    interior = space_sizes(catalogue, selection, unit.space).interior
    openings = clear_openings(catalogue, selection, unit.space, interior)
    ways = [
        (at, tuple(_misfits(catalogue, selection, option, unit, box, at, base, interior, openings)))
        for at, box in _stances(unit)
        for base in _bases(catalogue, selection, unit)
        if side in ("", at)
    ]
    at, misfits = min(ways, key=lambda way: (len(way[1]) > 0, _badness(way[1]), way[0]))
    return UnitFit(choice, option, interior, at, misfits)


def _badness(misfits: tuple[Misfit, ...]) -> int | Decimal:
    hopeless = ("no-opening", "support")
    return sum((_NO_WAY if m.what in hopeless else m.missing for m in misfits), start=Decimal(0))


def _stances(unit: Unit) -> Iterator[tuple[str, Box]]:
    """The sides it may work from, or for a unit that needs no opening, the ways it may stand."""
    for side in unit.works_from:
        yield side, unit.body
    if not unit.works_from:
        yield "", unit.body
        if unit.turns:
            yield "", Box(unit.body.depth, unit.body.width, unit.body.height)


@frozen
class _Base:
    """What a unit stands on: the height of its top, and the bed if it is another unit."""

    height: int
    carrier: Option | None = None
    known: bool = True


def _bases(
    catalogue: Catalogue, selection: Selection, unit: Unit, below: tuple[str, ...] = ()
) -> list[_Base]:
    if unit.hangs_at is not None:
        return [_Base(unit.hangs_at)]
    found = [_Base(0)] if "floor" in unit.stands_on else []
    for choice, option, _ in known_picks(catalogue, selection):
        name = f"{choice.id}={option.id}"
        carrier = option.unit
        if carrier is None or carrier.carries is None or name in below:
            continue
        if choice.id not in unit.stands_on and name not in unit.stands_on:
            continue
        bed = carrier.body.height if carrier.carries.at is None else carrier.carries.at
        for base in _bases(catalogue, selection, carrier, (*below, name)):
            if base.known:
                height = base.height + carrier.clearance.bottom + bed
                found.append(_Base(height, option))
    return found or [_Base(0, known=False)]


def _misfits(
    catalogue: Catalogue,
    selection: Selection,
    option: Option,
    unit: Unit,
    box: Box,
    side: str,
    base: _Base,
    interior: Interior,
    openings: tuple[ClearOpening, ...],
) -> Iterator[Misfit]:
    clear = unit.clearance
    along, across = interior.length, interior.width
    names = ("length", "width")
    if side == "rear":
        along, across, names = across, along, ("width", "length")
    underside = base.height + clear.bottom
    for what, needs, has in (
        (names[0], clear.left + box.width + clear.right, along),
        (names[1], clear.front + box.depth + clear.rear, across),
        ("height", underside + box.height + clear.top, interior.height),
    ):
        if needs > has:
            yield Misfit(what, needs, has)
    if not base.known:
        yield Misfit("support", 1, 0)
    if base.carrier is not None:
        yield from _on_carrier(catalogue, selection, option, unit, box, base.carrier)
    if unit.space not in catalogue.closed_spaces:
        return
    if side:
        yield from _at_opening(unit, box, side, underside, along, openings)
    if not unit.built_in and not any(
        _gets_in(box, side, opening, interior) for opening in openings
    ):
        if not openings:
            if not side:
                yield Misfit("no-opening", 1, 0)
        else:
            yield _best_entry(box, side, openings)


def _on_carrier(
    catalogue: Catalogue,
    selection: Selection,
    option: Option,
    unit: Unit,
    box: Box,
    carrier: Option,
) -> Iterator[Misfit]:
    bed = carrier.unit.carries if carrier.unit else None
    if bed is None:
        return
    for what, needs, has in (
        ("bed-width", box.width, bed.width + 2 * unit.overhang),
        ("bed-depth", box.depth, bed.depth + 2 * unit.overhang),
    ):
        if needs > has:
            yield Misfit(what, needs, has, carrier.title)
    laden = mass_of(catalogue, selection, option) + unit.contents
    if laden > bed.mass:
        yield Misfit("bed-mass", laden, bed.mass, carrier.title)


def _at_opening(
    unit: Unit, box: Box, side: str, underside: int, along: int, openings: tuple[ClearOpening, ...]
) -> Iterator[Misfit]:
    """What keeps the working face from lying in the best opening of the side."""
    here = [opening for opening in openings if opening.side == side]
    if not here:
        yield Misfit("no-opening", 1, 0, side)
        return
    hidden, clear = unit.behind_frame, unit.clearance
    low, high = (hidden.left, hidden.right), (clear.left, clear.right)
    if side == "right":
        low, high = low[::-1], high[::-1]

    def misfits(opening: ClearOpening) -> list[Misfit]:
        first = max(opening.start - low[0], high[0])
        last = min(opening.end + low[1], along - high[1]) - box.width
        bottom = underside + hidden.bottom
        top = underside + box.height - hidden.top
        found = []
        if first > last:
            short = first - last
            found.append(Misfit("opening-width", opening.width + short, opening.width, side))
        if bottom < opening.sill:
            found.append(Misfit("sill", opening.sill, bottom, side))
        if top > opening.top:
            found.append(Misfit("opening-height", top, opening.top, side))
        return found

    yield from min(map(misfits, here), key=lambda found: _badness(tuple(found)))


def _gets_in(box: Box, side: str, opening: ClearOpening, interior: Interior) -> bool:
    across, inward = _seen_from(box, side, opening)
    along, reach = interior.length, interior.width
    if opening.side == "rear":
        along, reach = reach, along
    clear, high = (opening.width, opening.height), interior.height
    if across <= clear[0] and box.height <= clear[1]:
        return True
    laid = inward**2 + box.height**2
    if passes((across, inward), clear) and laid <= min(high, reach) ** 2:
        return True
    rolled = across**2 + box.height**2
    return passes((across, box.height), clear) and rolled <= min(high, along) ** 2


def _seen_from(box: Box, side: str, opening: ClearOpening) -> tuple[int, int]:
    """The unit's extent along the opening and behind it, standing as it will stand."""
    ends = (side == "rear") != (opening.side == "rear")
    return (box.depth, box.width) if ends else (box.width, box.depth)


def _best_entry(box: Box, side: str, openings: tuple[ClearOpening, ...]) -> Misfit:
    """The least that the best opening lacks for the unit to be moved straight in."""

    def lacking(opening: ClearOpening) -> Misfit:
        across, _ = _seen_from(box, side, opening)
        width = Misfit("entry", across, opening.width, opening.side)
        height = Misfit("entry", box.height, opening.height, opening.side)
        return max(width, height, key=lambda misfit: misfit.missing)

    return min(map(lacking, openings), key=lambda misfit: (misfit.missing, misfit.where))


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
