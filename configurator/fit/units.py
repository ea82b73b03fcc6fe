"""Whether one unit fits a space on its own: inside, at its opening, on its carrier, and in.

A space that no option of the catalogue gives an opening is open (a roof rack): nothing is asked
of openings there.

Whole millimetres throughout, compared exactly; whatever needs a square root is compared by its
square. Zero to spare fits, one millimetre short does not. What several units do to each other is
not asked here.

How a unit is brought in stands in :mod:`configurator.fit.openings`.

What stands on a carrier lies on its bed and out of the top clearance that the carrier keeps for
itself: it begins above that, or ends below it within the carrier's own body. What slides out
passes the opening whole: of a unit with travel no part of the face may stay behind the frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.units import ON_FLOOR, Box, Edges, Unit
from configurator.fit.openings import (
    Cell,
    ClearOpening,
    cells_of,
    clear_openings,
    divider_of,
    gets_in,
    least_lacking,
    open_deciders,
)
from configurator.forms import form
from configurator.selection.resolved import Resolved, once
from configurator.totals import Interior, MissingPicks, mass_of, space_sizes
from configurator.words import Text, listed, text

_NO_WAY = 10**6
_ENTRIES = frozenset({"entry", "stand-up", "right-up", "turn-in"})
_OF_OPENINGS = _ENTRIES | {"no-opening", "opening-width", "opening-height", "sill"}
_BEDS = frozenset({"bed-width", "bed-depth", "bed-mass", "bed-clear"})
_NOT_OF_INSIDE = _OF_OPENINGS | _BEDS | {"support", "below"}


@frozen
class Misfit:
    """One reason why a unit does not fit.

    Attributes:
        what: ``length``, ``width``, ``height`` (of the inside), ``opening-width``,
            ``opening-height``, ``sill``, ``no-opening``, ``entry``, ``stand-up``, ``right-up``,
            ``turn-in`` (see :class:`configurator.fit.openings.Lack`), ``bed-width``, ``bed-depth``,
            ``bed-mass``, ``bed-clear`` (top clearance of the carrier), ``below`` (room under a
            hanging unit) or ``support``.
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


@form(hidden="choice option misfits", also="unit title fits", shown={"unit": str})
@frozen(repr=False)
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
    def unit(self) -> Pick:
        """The unit as ``choice=option``."""
        return Pick(self.choice, self.option.id)

    @property
    def title(self) -> str:
        """Title of the unit."""
        return self.option.title

    @property
    def fits(self) -> bool:
        """Whether it fits on its own."""
        return not self.misfits


@once
def fit_unit(build: Resolved, choice: str, option: Option, side: str = "") -> UnitFit:
    """Whether the unit fits on its own, in its best way among sides, turns and carriers.

    Args:
        build: what is picked, from which catalogue.
        choice: id of the unit's choice.
        option: an option with a unit.
        side: only this one of the sides it may work from; empty for any.

    Raises:
        MissingPicks: the picks do not determine the space yet, or it does not fit and an open
            choice could still give an opening or a carrier that mends it.
    """
    unit = option.unit
    if unit is None:
        raise ValueError(f"{option.title} is not a unit")
    interior = space_sizes(build, unit.space).interior
    openings = clear_openings(build, unit.space, interior)
    cells = cells_of(interior, openings, divider_of(build, unit.space, interior))
    bases = bases_of(build, unit)
    ways = [
        (at, tuple(misfits))
        for at, misfits in ways_in(build, option, cells, bases)
        if side in ("", at)
    ]
    at, misfits = min(ways, key=lambda way: (len(way[1]) > 0, badness(way[1]), way[0]))
    deciders = _open_deciders(build, unit) if misfits else {}
    if deciders:
        still = frozenset().union(*deciders.values())
        certain = [(way, tuple(m for m in told if m.what not in still)) for way, told in ways]
        if not all(told for _, told in certain):
            title = build.catalogue.space_title(unit.space)
            what = text("what opens the {space} and what it holds", space=title)
            raise MissingPicks(what, tuple(deciders))
        at, misfits = min(certain, key=lambda way: (badness(way[1]), way[0]))
    return UnitFit(choice, option, interior, at, misfits)


def _open_deciders(build: Resolved, unit: Unit) -> dict[str, frozenset[str]]:
    """Choices of one still open that could yet mend misfits, and which kinds of misfit."""
    found = dict.fromkeys(open_deciders(build, unit.space), _OF_OPENINGS)
    names = {carrier.choice for carrier in unit.stands_on}
    for choice in build.catalogue.choices:
        if choice.pick == "one" and choice.id in names and choice.id not in build.selection.chosen:
            found[choice.id] = _NOT_OF_INSIDE
    return found


def ways_in(
    build: Resolved,
    option: Option,
    cells: tuple[Cell, ...],
    bases: Sequence[Base],
) -> Iterator[tuple[str, Iterator[Misfit]]]:
    """Every way the unit may stand in the cells: the side it works from, and its misfits there."""
    unit = option.unit
    assert unit is not None
    for at, stance in _stances(unit):
        for base in bases:
            for cell in {"left": cells[:1], "right": cells[-1:]}.get(at, cells):
                yield at, _misfits(build, option, stance, at, base, cell)


def badness(misfits: tuple[Misfit, ...]) -> int | Decimal:
    """How much is missing in all; what no size could mend counts more than any size."""
    hopeless = ("no-opening", "support")
    return sum((_NO_WAY if m.what in hopeless else m.missing for m in misfits), start=Decimal(0))


def _stances(unit: Unit) -> Iterator[tuple[str, Unit]]:
    """The sides it may work from, or for a unit that needs no opening, the ways it may stand."""
    for side in unit.works_from:
        yield side, unit
    if not unit.works_from:
        yield "", unit
        if unit.turns:
            body, clear = unit.body, unit.clearance
            yield (
                "",
                evolve(
                    unit,
                    body=Box(body.depth, body.width, body.height),
                    clearance=evolve(
                        clear,
                        left=clear.front,
                        right=clear.rear,
                        front=clear.left,
                        rear=clear.right,
                    ),
                ),
            )


@frozen
class Base:
    """What a unit stands on.

    Attributes:
        height: of its top, mm.
        on: choice and option of the carrier, or empty for the floor and for what hangs.
        carrier: the carrier itself.
        known: False where nothing picked may carry the unit.
    """

    height: int
    on: tuple[str, ...] = ()
    carrier: Option | None = field(default=None, eq=False)
    known: bool = True


@once
def bases_of(build: Resolved, unit: Unit) -> list[Base]:
    """What the unit can stand on, each carrier used no more often than it is picked.

    One of those picked is the unit itself, which does not stand on itself.
    """
    carriers = [
        (choice.id, option, quantity)
        for choice, option, quantity in build.picks
        if option.unit is not None
        and option.unit.carries is not None
        and option.unit.space == unit.space
    ]
    seen: dict[tuple[tuple[str, ...], tuple[int, ...]], set[Base]] = {}

    def below(here: Unit, left: tuple[int, ...], name: tuple[str, ...]) -> set[Base]:
        if here.hangs_at is not None:
            return {Base(here.hangs_at - here.clearance.bottom)}
        if (name, left) in seen:
            return seen[name, left]
        found = {Base(0)} if ON_FLOOR in here.stands_on else set()
        for index, (choice_id, option, _) in enumerate(carriers):
            key = (choice_id, option.id)
            carrier = option.unit
            if not left[index] or carrier is None or carrier.carries is None:
                continue
            if not here.may_stand_on(*key):
                continue
            bed = _bed_height(carrier)
            fewer = (*left[:index], left[index] - 1, *left[index + 1 :])
            for base in below(carrier, fewer, key):
                found.add(Base(base.height + carrier.clearance.bottom + bed, key, option))
        seen[name, left] = found
        return found

    others = tuple(quantity - (option.unit is unit) for _, option, quantity in carriers)
    found = below(unit, others, ())
    by_height = sorted(found, key=lambda base: (base.height, base.on))
    return by_height or [Base(0, known=False)]


def _misfits(
    build: Resolved,
    option: Option,
    unit: Unit,
    side: str,
    base: Base,
    cell: Cell,
) -> Iterator[Misfit]:
    interior, openings = cell.inside, cell.openings
    box, clear = unit.body, unit.clearance
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
    if base.height < 0:
        yield Misfit("below", clear.bottom, underside)
    if base.carrier is not None:
        yield from _on_carrier(build, option, unit, side, base.carrier)
    if unit.space not in build.catalogue.closed_spaces:
        return
    if side:
        yield from _at_opening(unit, box, side, underside, along, openings)
    if not unit.built_in and not gets_in(box, side, cell):
        if not openings:
            if not side:
                yield Misfit("no-opening", 1, 0)
        else:
            lack, where = least_lacking(box, side, cell)
            yield Misfit(lack.what, lack.needs, lack.has, where)


def _on_carrier(
    build: Resolved,
    option: Option,
    unit: Unit,
    side: str,
    carrier: Option,
) -> Iterator[Misfit]:
    under = carrier.unit
    bed = under.carries if under else None
    if under is None or bed is None:
        return
    box = unit.body
    beds = [
        (bed.width, bed.depth) if along == (side == "rear") else (bed.depth, bed.width)
        for along in _beds_across(under)
    ]

    def misfits(width: int, depth: int) -> list[Misfit]:
        needed = (("bed-width", box.width, width), ("bed-depth", box.depth, depth))
        return [
            Misfit(what, needs, has + 2 * min(unit.overhang, needs // 2), carrier.title)
            for what, needs, has in needed
            if needs > has + 2 * min(unit.overhang, needs // 2)
        ]

    yield from min((misfits(*bed) for bed in beds), key=lambda found: badness(tuple(found)))
    rise = _bed_height(under) + unit.clearance.bottom
    if not leaves_clear(under, unit, rise):
        gap = max(0, rise - under.body.height)
        yield Misfit("bed-clear", under.clearance.top, gap, carrier.title)
    laden = mass_of(build, option) + unit.contents
    if laden > bed.mass:
        yield Misfit("bed-mass", laden, bed.mass, carrier.title)


def _bed_height(carrier: Unit) -> int:
    """Height of its bed above its underside, mm."""
    at = carrier.carries.at if carrier.carries else None
    return carrier.body.height if at is None else at


def leaves_clear(carrier: Unit, unit: Unit, rise: int) -> bool:
    """Whether what stands on the carrier keeps out of the carrier's top clearance.

    Args:
        carrier: what carries, directly or not.
        unit: what stands on it.
        rise: the unit's underside above the carrier's, mm.
    """
    top, end = carrier.body.height, carrier.body.height + carrier.clearance.top
    low, high = rise, rise + unit.body.height
    if carrier.clearance_exclusive or unit.clearance_exclusive:
        low, high = low - unit.clearance.bottom, high + unit.clearance.top
    return top == end or high <= top or end <= low


def behind_frame(unit: Unit) -> Edges:
    """How much of its working face may stay behind the frame, mm: nothing of what slides out."""
    return Edges() if unit.travel else unit.behind_frame


def _beds_across(carrier: Unit) -> list[bool]:
    """Whether the width of its bed lies across the vehicle, in each way that the carrier stands."""
    if carrier.works_from:
        return sorted({side == "rear" for side in carrier.works_from})
    return [False, True] if carrier.turns else [False]


def _at_opening(
    unit: Unit, box: Box, side: str, underside: int, along: int, openings: tuple[ClearOpening, ...]
) -> Iterator[Misfit]:
    """What keeps the working face from lying in the best opening of the side."""
    here = [opening for opening in openings if opening.side == side]
    if not here:
        yield Misfit("no-opening", 1, 0, side)
        return
    hidden, clear = behind_frame(unit), unit.clearance
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

    yield from min(map(misfits, here), key=lambda found: badness(tuple(found)))


SIDES = {
    "front": text("front"),
    "left": text("left"),
    "rear": text("rear"),
    "right": text("right"),
}
"""Sides of a space, and ends that a unit is to be near."""

_BED = {"width": text("width"), "depth": text("depth")}
_ALONG = {"length": text("length"), "width": text("width")}


def misfit_words(fit: UnitFit, misfit: Misfit, space: str) -> Text:
    """What one misfit says, with its numbers; ``space`` is the title of the space."""
    unit = fit.option.unit
    assert unit is not None
    known = {
        "needs": misfit.needs,
        "has": misfit.has,
        "short": misfit.missing,
        "space": space,
        "where": SIDES.get(misfit.where, misfit.where),
    }
    match misfit.what:
        case "height":
            return text(
                "it needs {needs} mm of height ({parts}), the {space} has {has} mm inside: "
                "{short} mm short",
                parts=_height_parts(fit, misfit),
                **known,
            )
        case "length" | "width":
            return text(
                "it needs {needs} mm along the {side} of the {space} with its clearances, {has} "
                "mm are available: {short} mm short",
                side=_ALONG[misfit.what],
                **known,
            )
        case "opening-height":
            return text(
                "its face reaches up to {needs} mm, the clear opening of the {where} side to "
                "{has} mm: {short} mm short",
                **known,
            )
        case "opening-width":
            return text(
                "its face needs {needs} mm of clear opening width on the {where} side, {has} mm "
                "are available: {short} mm short",
                **known,
            )
        case "sill":
            return text(
                "its face starts at {has} mm, below the sill of the {where} side at {needs} mm: "
                "{short} mm short",
                **known,
            )
        case "no-opening" if misfit.where:
            return text("there is no door on the {where} side to reach it through", **known)
        case "no-opening":
            return text("there is no door to reach it through")
        case "entry":
            return text(
                "it cannot be brought in, upright or tilted: {needs} mm of it must pass {has} mm "
                "of clear opening on the {where} side",
                **known,
            )
        case "stand-up":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to stand it up "
                "inside takes {needs} mm, its diagonal, in height and behind the opening; {has} "
                "mm are available: {short} mm short",
                **known,
            )
        case "right-up":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to right it inside "
                "takes {needs} mm, its diagonal, in height and along the opening; {has} mm are "
                "available: {short} mm short",
                **known,
            )
        case "turn-in":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to turn it inside "
                "takes {needs} mm, its diagonal, along the opening and behind it; {has} mm are "
                "available: {short} mm short",
                **known,
            )
        case "bed-clear":
            return text(
                "{where} needs {needs} mm kept clear above it, {has} mm stay clear below it: "
                "{short} mm short",
                **known,
            )
        case "bed-mass":
            return text(
                "laden it weighs {needs} kg, {where} carries {has} kg: {short} kg too much", **known
            )
        case "bed-width" | "bed-depth":
            return text(
                "it needs {needs} mm of bed {side}, {where} has {has} mm: {short} mm short",
                side=_BED[misfit.what[4:]],
                **known,
            )
        case "below":
            return text(
                "it hangs {has} mm above the floor and needs {needs} mm clear below it: {short} "
                "mm short",
                **known,
            )
        case _:
            return text(
                "it needs something to stand on ({names}), and none is picked",
                names=listed(map(str, unit.stands_on), alternatives=True),
            )


def _height_parts(fit: UnitFit, misfit: Misfit) -> Text:
    """What the height that a unit needs is made of."""
    unit = fit.option.unit
    assert unit is not None
    body, over = unit.body.height, unit.clearance.top + unit.clearance.bottom
    base = int(misfit.needs) - over - body
    known = {"body": body, "over": over, "base": base}
    if over and base:
        return text("{body} mm body and {over} mm clearance, standing {base} mm up", **known)
    if over:
        return text("{body} mm body and {over} mm clearance", **known)
    if base:
        return text("{body} mm body, standing {base} mm up", **known)
    return text("{body} mm body", **known)
