"""Whether one unit fits a space on its own: inside, at its opening, on its carrier, and in.

A space that no option of the catalogue gives an opening is open (a roof rack): nothing is asked
of openings there.

Whole millimetres throughout, compared exactly; whatever needs a square root is compared by its
square. Zero to spare fits, one millimetre short does not. What several units do to each other is
not asked here; how a unit is brought in stands in :mod:`configurator.fit.openings`.

What stands on a carrier lies on its bed and out of the top clearance that the carrier keeps for
itself: it begins above that, or ends below it within the carrier's own body. What slides out
passes the opening whole: of a unit with travel no part of the face may stay behind the frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from decimal import Decimal

from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Option
from configurator.catalogue.units import ON_FLOOR, Unit
from configurator.fit.openings import (
    Bay,
    ClearOpening,
    Misfit,
    cells_of,
    clear_openings,
    divider_of,
    lacking,
    open_deciders,
)
from configurator.fit.shapes import Range, Stance, both, stances
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import (
    Interior,
    MissingPicks,
    mass_of,
    most_inside,
    space_sizes,
)
from configurator.shapes.forms import form
from configurator.words import Text, listed, text

_NO_WAY = 10**6
_SIDES = ("length", "width", "height")
_OF_ENTRIES = frozenset(("entry", "stand-up", "right-up", "turn-in"))
_OF_OPENINGS = _OF_ENTRIES | {"no-opening", "opening-width", "opening-height", "sill"}
_OF_BEDS = frozenset(("bed-width", "bed-depth", "bed-mass", "bed-clear", "support", "below"))


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


@once
def inside_so_far(build: Resolved, space: str) -> Interior:
    """The most that the inside of a space may still be; what nobody knows of it is huge."""
    known = dict.fromkeys(_SIDES, _NO_WAY)
    for side in _SIDES:
        with suppress(MissingPicks):
            known[side] = most_inside(build, space, side)
    return Interior(**known)


@once
def never_fits(build: Resolved, choice: str, option: Option) -> UnitFit | None:
    """How the unit misses a space that is not determined yet, whatever is still chosen.

    Only the sizes that are known by now count, which nothing chosen later makes larger: a size that
    is not known is large enough, nothing divides the space, and the unit is as low as it can be.
    None where it could fit so.
    """
    unit = option.unit
    assert unit is not None
    inside = inside_so_far(build, unit.space)
    low = Base(0 if unit.hangs_at is None else unit.hangs_at - unit.clearance.bottom)
    ways = [
        (at, tuple(misfit for misfit in misfits if misfit.what in _SIDES))
        for at, misfits in ways_in(build, option, (Bay(0, inside.width, inside, ()),), [low])
    ]
    if not all(misfits for _, misfits in ways):
        return None
    at, misfits = min(ways, key=lambda way: (badness(way[1]), way[0]))
    return UnitFit(choice, option, inside, at, misfits)


def may_yet_fit(build: Resolved, fit: UnitFit) -> bool:
    """Whether more picks may still mend how a unit misses its space: a carrier, or an opening.

    Not where the sizes alone are too small for it.
    """
    unit = fit.option.unit
    assert unit is not None
    carriers = _carriers(build.catalogue, unit)
    for choice in build.catalogue.by_id.values():
        opens = (o.space == unit.space for option in choice.options for o in option.openings)
        if build.takes_more(choice) and (choice.id in carriers or any(opens)):
            return never_fits(build, fit.choice, fit.option) is None
    return False


def _carriers(catalogue: Catalogue, unit: Unit) -> set[str]:
    """Choices of what it may stand on, directly or through one another."""
    found: set[str] = set()
    asked = [carrier.choice for carrier in unit.stands_on]
    while asked:
        name = asked.pop()
        if name not in found and name in catalogue.by_id:
            found.add(name)
            units = (option.unit for option in catalogue.by_id[name].options)
            asked += [one.choice for below in units if below for one in below.stands_on]
    return found


def _open_deciders(build: Resolved, unit: Unit) -> dict[str, frozenset[str]]:
    """Choices of one still open that could yet mend misfits, and which kinds of misfit."""
    found = dict.fromkeys(open_deciders(build, unit.space), _OF_OPENINGS)
    names = {carrier.choice for carrier in unit.stands_on}
    for choice in build.catalogue.choices:
        if choice.pick == "one" and choice.id in names and choice.id not in build.selection.chosen:
            found[choice.id] = _OF_OPENINGS | _OF_BEDS
    return found


def ways_in(
    build: Resolved,
    option: Option,
    cells: tuple[Bay, ...],
    bases: Sequence[Base],
) -> Iterator[tuple[str, Iterator[Misfit]]]:
    """Every way the unit may stand in the cells: the side it works from, and its misfits there."""
    assert option.unit is not None
    for stance in stances(option.unit):
        for base in bases:
            for cell in {"left": cells[:1], "right": cells[-1:]}.get(stance.side, cells):
                yield stance.side, _misfits(build, option, stance, base, cell)


def badness(misfits: tuple[Misfit, ...]) -> int | Decimal:
    """How much is missing in all; what no size could mend counts more than any size."""
    return sum((_NO_WAY if m.hopeless else m.missing for m in misfits), start=Decimal(0))


@frozen(repr=False)
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
    build: Resolved, option: Option, stance: Stance, base: Base, cell: Bay
) -> Iterator[Misfit]:
    unit, inside = stance.unit, cell.inside
    x, y, z = stance.free(inside)
    underside = base.height + unit.clearance.bottom
    ways = [("length", x, inside.length), ("width", y, inside.width)]
    if stance.side == "rear":
        ways.reverse()
    along = ways[0][1]
    for what, (low, high), has in (*ways, ("height", (underside, z[1]), inside.height)):
        if low > high:
            yield Misfit(what, has + low - high, has)
    if not base.known:
        yield Misfit("support", 1, 0)
    if base.height < 0:
        yield Misfit("below", unit.clearance.bottom, underside)
    if base.carrier is not None:
        yield from _on_carrier(build, option, stance, base.carrier)
    if unit.space not in build.catalogue.closed_spaces:
        return
    here = [
        tuple(_at_opening(stance, underside, along, opening))
        for opening in cell.openings
        if opening.side == stance.side
    ]
    if here:
        yield from min(here, key=badness)
    elif stance.side or not (unit.built_in or cell.openings):
        yield Misfit("no-opening", 1, 0, stance.side)
    if cell.openings and not unit.built_in:
        lack = lacking(stance.size, cell)
        if lack is not None:
            yield lack


def _on_carrier(
    build: Resolved, option: Option, stance: Stance, carrier: Option
) -> Iterator[Misfit]:
    unit, under = stance.unit, carrier.unit
    assert under is not None
    bed = under.carries
    assert bed is not None

    def misfits(size: tuple[int, int]) -> Iterator[Misfit]:
        axes = ((1, "bed-width"), (0, "bed-depth"))
        for axis, what in axes if stance.side == "rear" else ((0, "bed-width"), (1, "bed-depth")):
            needs = stance.size[axis]
            has = size[axis] + 2 * min(unit.overhang, needs // 2)
            if needs > has:
                yield Misfit(what, needs, has, carrier.title)

    beds = dict.fromkeys(below.turned(bed.width, bed.depth) for below in stances(under))
    yield from min((tuple(misfits(size)) for size in beds), key=badness)
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
    """Whether a unit so many mm above a carrier's underside keeps out of its top clearance."""
    top, end = carrier.body.height, carrier.body.height + carrier.clearance.top
    low, high = rise, rise + unit.body.height
    if carrier.clearance_exclusive or unit.clearance_exclusive:
        low, high = low - unit.clearance.bottom, high + unit.clearance.top
    return top == end or high <= top or end <= low


def _at_opening(
    stance: Stance, underside: int, along: Range, opening: ClearOpening
) -> Iterator[Misfit]:
    """What keeps the working face from lying in the opening."""
    face, up = stance.bare()
    first, last = both(along, (opening.start - face[0], opening.end - face[1]))
    if first > last:
        needs = opening.width + first - last
        yield Misfit("opening-width", needs, opening.width, opening.side)
    if underside + up[0] < opening.sill:
        yield Misfit("sill", opening.sill, underside + up[0], opening.side)
    if underside + up[1] > opening.top:
        yield Misfit("opening-height", underside + up[1], opening.top, opening.side)


SIDES = {
    "front": text("front"),
    "left": text("left"),
    "rear": text("rear"),
    "right": text("right"),
}
"""Sides of a space, and ends that a unit is to be near."""

_EXTENTS = {"length": text("length"), "width": text("width"), "depth": text("depth")}

_TURNS = {
    "stand-up": (text("to stand it up"), text("in height and behind the opening")),
    "right-up": (text("to right it"), text("in height and along the opening")),
    "turn-in": (text("to turn it"), text("along the opening and behind it")),
}


def misfit_words(catalogue: Catalogue, fit: UnitFit, misfit: Misfit) -> Text:
    """What one misfit says, with its numbers."""
    unit = fit.option.unit
    assert unit is not None
    what = misfit.what
    carriers = (
        catalogue.option(*one.key).title if one.option else catalogue.by_id[one.choice].title
        for one in unit.stands_on
        if one != ON_FLOOR
    )
    known = {
        "needs": misfit.needs,
        "has": misfit.has,
        "short": misfit.missing,
        "space": catalogue.space_title(unit.space),
        "where": SIDES.get(misfit.where, misfit.where),
        "parts": _height_parts(fit, misfit) if what == "height" else "",
        "side": _EXTENTS.get(what.removeprefix("bed-"), ""),
        "names": listed(carriers, alternatives=True),
    }
    match what:
        case "height":
            said = text(
                "it needs {needs} mm of height ({parts}), but the {space} has {has} mm inside: "
                "{short} mm short",
                **known,
            )
        case "length" | "width":
            said = text(
                "it needs {needs} mm along the {side} of the {space} with its clearances, {has} "
                "mm are available: {short} mm short",
                **known,
            )
        case "opening-height":
            said = text(
                "its face reaches up to {needs} mm, the clear opening of the {where} side to "
                "{has} mm: {short} mm short",
                **known,
            )
        case "opening-width":
            said = text(
                "its face needs {needs} mm of clear opening width on the {where} side, {has} mm "
                "are available: {short} mm short",
                **known,
            )
        case "sill":
            said = text(
                "its face starts at {has} mm, below the sill of the {where} side at {needs} mm: "
                "{short} mm short",
                **known,
            )
        case "no-opening" if misfit.where:
            said = text("there is no door on the {where} side to reach it through", **known)
        case "no-opening":
            said = text("there is no door to reach it through")
        case "entry":
            said = text(
                "it cannot be brought in, upright or tilted: {needs} mm of it must pass {has} mm "
                "of clear opening on the {where} side",
                **known,
            )
        case "stand-up" | "right-up" | "turn-in":
            said = text(
                "it cannot be brought in: it passes the {where} opening, but {turn} inside takes "
                "{needs} mm, its diagonal, {directions}; {has} mm are available: {short} mm short",
                turn=_TURNS[what][0],
                directions=_TURNS[what][1],
                **known,
            )
        case "bed-clear":
            said = text(
                "{where} needs {needs} mm kept clear above it, {has} mm stay clear below it: "
                "{short} mm short",
                **known,
            )
        case "bed-mass":
            said = text(
                "laden it weighs {needs} kg, {where} carries {has} kg: {short} kg too much", **known
            )
        case "bed-width" | "bed-depth":
            said = text(
                "it needs {needs} mm of bed {side}, but {where} has {has} mm: {short} mm short",
                **known,
            )
        case "below":
            said = text(
                "it hangs {has} mm above the floor and needs {needs} mm clear below it: {short} "
                "mm short",
                **known,
            )
        case _:
            said = text("it needs something to stand on ({names}), and none is picked", **known)
    return said


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
