"""What has to be arranged, as plain numbers: one room per space, one item per unit.

This is the one place where a catalogue's words about a unit become boxes. Everything is whole
millimetres in the space's own coordinates: x rearward from the inside front, y to the right from
the inside left, z up from the floor. What holds of a good arrangement:

* The clearance of a unit lies in its cell (the space, or one side of its divider), and no other
  body lies in it. Two clearances may share room unless one of the units keeps its own to itself.
* A unit that works from a side has its working face there, set in by its front clearance only, or
  within its reach behind that side, where no body stands between the face and the side, nor sweeps
  any gear. In a closed space the face, less what may stay behind the frame, lies in one clear
  opening of that side. A unit that works from no side may face any way along the vehicle, and
  across it too if it turns.
* It gets into its cell through an opening (:func:`configurator.fit.entry.gets_in`) or is built in.
  The way in is asked of the empty cell: the shop chooses the order.
* It hangs at its height, or stands on the floor, or on one carrier: with its footprint on the
  bed, or over the bed's edge by no more than its overhang and by no more than half its own size.
  The bed begins at the carrier's working face and lies in the middle of its width. All that
  stands on a carrier, laden, weighs no more than it may carry. A unit keeps out of the top
  clearance of what it stands on, all the way down: it begins above that, or ends below it. In all
  else they do not keep clear of each other.
* Whatever slides out of it, and its own door, sweep no body that is inside, and no gear of the
  space's doors; the open door passes the jambs. What stands on a sliding bed goes along: it
  passes the carrier's opening, and its way out to that side is free of what stays.
* No body lies where struts and hinges of the space's doors sweep: in the top corners of the
  opening, or in the bottom corners where the door folds down. Outside, travel is free: a door
  stands open beside its clear opening (over it, under it, or square to it at its jambs), and what
  comes out does so within the clear opening, one door at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from itertools import product
from typing import TypeAlias

from attrs import evolve, field, frozen

from configurator.catalogue.model import Box, Choice, Option, Unit
from configurator.fit.entry import gets_in
from configurator.fit.openings import (
    Cell,
    ClearOpening,
    cells_of,
    clear_openings,
    divider_of,
    open_deciders,
)
from configurator.fit.units import behind_frame, leaves_clear
from configurator.selection.resolved import Resolved, once
from configurator.totals import Interior, MissingPicks, mass_of, space_sizes
from configurator.words import text

__all__ = ["FREE", "Block", "Item", "Room", "Shape", "Support", "rooms_of"]

Block: TypeAlias = tuple[int, int, int, int, int, int]
"""A box as x0, x1, y0, y1, z0, z1, mm; of a shape, from the corner of its body."""

Range: TypeAlias = tuple[int, int]

Longer: TypeAlias = tuple[str, tuple[int, int, int]]
"""A space, and how much is added to its inside length, width and height, mm."""

FREE = -1
"""Stands on no item: on the floor, or hung."""


@frozen(cache_hash=True)
class Shape:
    """One way in which a unit may stand.

    Attributes:
        side: the side it works from, or empty.
        size: of its body along x, y and z.
        x: least and greatest x of its corner; and likewise
        y: and
        z.
        keeps: blocks that no other body may be in: its clearance, what it sweeps, and what an arm
            reaches through; it may go on beyond the side.
        sweeps: blocks that no gear may be in: its body, what it sweeps, and what an arm reaches
            through.
        clear: its clearance, which holds its body.
        exclusive: whether another clearance may not share ``clear``.
        bed: x0, x1, y0, y1 of its bed, from its corner; rounded outwards.
        bed_size: of its bed along x and y.
        way: how far its bed slides along x and y, or None.
        window: clear opening that its face lies in: lowest and highest x (y at the rear), sill,
            top; or None.
    """

    side: str
    size: tuple[int, int, int]
    x: Range
    y: Range
    z: Range
    keeps: tuple[Block, ...]
    sweeps: tuple[Block, ...]
    clear: Block
    exclusive: bool = False
    bed: tuple[int, int, int, int] | None = None
    bed_size: tuple[int, int] = (0, 0)
    way: tuple[int, int] | None = None
    window: tuple[int, int, int, int] | None = None

    @property
    def body(self) -> Block:
        """Its body from its own corner."""
        return (0, self.size[0], 0, self.size[1], 0, self.size[2])


@frozen
class Support:
    """What a unit may stand on.

    Attributes:
        on: index of the carrier in the room, or :data:`FREE`.
        rise: height of the underside above the carrier's underside, or above the floor, mm.
    """

    on: int
    rise: int


@frozen(cache_hash=True)
class Item:
    """One unit to be placed.

    Attributes:
        choice: id of its choice.
        option: id of its option.
        number: which of several of the same option, from 1.
        kind: items of one kind may change places.
        shapes: ways it may stand.
        supports: what it may stand on.
        laden: its own mass with contents, kg.
        carries: the most that may stand on it, kg, or None when it is no carrier.
        overhang: how far it may stand over the edge of a bed, mm.
        hung: whether it hangs.
        volume: of its body, cubic mm.
        optional: it need not go in, and does only where something stands on it.
    """

    choice: str
    option: str
    number: int
    kind: str
    shapes: tuple[Shape, ...]
    supports: tuple[Support, ...]
    laden: Decimal = Decimal(0)
    carries: Decimal | None = None
    overhang: int = 0
    hung: bool = False
    volume: int = 0
    optional: bool = False


@frozen(cache_hash=True)
class Room:
    """A space and what has to go into it.

    Attributes:
        space: its id.
        inside: its clear size.
        openings: its clear openings.
        divider: left and right face of its divider, or None.
        gear: blocks that the gear of its doors sweeps.
        items: what has to go in.
    """

    space: str
    inside: Interior
    openings: tuple[ClearOpening, ...]
    divider: tuple[int, int] | None
    gear: tuple[Block, ...]
    items: tuple[Item, ...] = field(default=())

    @property
    def must(self) -> tuple[Item, ...]:
        """The items that have to go in."""
        return tuple(item for item in self.items if not item.optional)

    @property
    def must_at(self) -> tuple[int, ...]:
        """Where those are among all items."""
        return tuple(index for index, item in enumerate(self.items) if not item.optional)

    @property
    def cells(self) -> tuple[Range, ...]:
        """Left and right end of each cell."""
        if self.divider is None:
            return ((0, self.inside.width),)
        return ((0, self.divider[0]), (self.divider[1], self.inside.width))


@once
def rooms_of(
    build: Resolved, longer: Longer = ("", (0, 0, 0))
) -> tuple[tuple[Room, ...], tuple[str, ...]]:
    """The rooms that the picks make and fill, and the ids of spaces that they do not tell yet.

    Args:
        build: what is picked, from which catalogue.
        longer: a space that is to be larger than it is.
    """
    names = [space.id for space in build.catalogue.spaces]
    found, unknown = [], []
    for name in names:
        units = [
            (choice, option, number)
            for choice, option, quantity in build.picks
            if option.unit is not None and option.unit.space == name
            for number in range(1, quantity + 1)
        ]
        if not units:
            continue
        try:
            if open_deciders(build, name):
                raise MissingPicks(text("the openings"))
            add = longer[1] if longer[0] == name else (0, 0, 0)
            found.append(_room(build, name, units, add))
        except MissingPicks:
            unknown.append(name)
    return tuple(found), tuple(unknown)


def _room(
    build: Resolved,
    space: str,
    units: list[tuple[Choice, Option, int]],
    add: tuple[int, int, int],
) -> Room:
    bare = space_sizes(build, space).interior
    inside = Interior(bare.length + add[0], bare.width + add[1], bare.height + add[2])
    openings = clear_openings(build, space, inside)
    room = Room(
        space,
        inside,
        openings,
        divider_of(build, space, inside),
        tuple(block for opening in openings for block in _corners(opening, inside)),
    )
    closed = space in build.catalogue.closed_spaces
    cells = cells_of(inside, openings, room.divider)
    shapes = {
        (choice.id, option.id): _shapes(option.unit, cells, inside, closed)
        for choice, option, _ in units
        if option.unit is not None
    }
    items = [
        _item(build, units, index, shapes[choice.id, option.id])
        for index, (choice, option, _) in enumerate(units)
    ]
    return evolve(room, items=tuple(items))


def _item(
    build: Resolved,
    units: list[tuple[Choice, Option, int]],
    index: int,
    shapes: tuple[Shape, ...],
) -> Item:
    choice, option, number = units[index]
    unit = option.unit
    assert unit is not None
    supports = tuple(_supports(units, index))
    weighs = unit.carries is not None or any(support.on != FREE for support in supports)
    return Item(
        choice.id,
        option.id,
        number,
        f"{choice.id}={option.id}",
        shapes,
        supports,
        mass_of(build, option) + unit.contents if weighs else _mass_or_none(build, option),
        unit.carries.mass if unit.carries else None,
        unit.overhang,
        unit.hangs_at is not None,
        unit.body.width * unit.body.depth * unit.body.height,
    )


def _mass_or_none(build: Resolved, option: Option) -> Decimal:
    """Its mass for weighing one arrangement against another; nothing while it is not known."""
    assert option.unit is not None
    try:
        return mass_of(build, option) + option.unit.contents
    except MissingPicks:
        return option.unit.contents


def _supports(units: list[tuple[Choice, Option, int]], index: int) -> Iterator[Support]:
    unit = units[index][1].unit
    assert unit is not None
    if unit.hangs_at is not None:
        yield Support(FREE, unit.hangs_at)
        return
    if "floor" in unit.stands_on:
        yield Support(FREE, unit.clearance.bottom)
    if unit.stands_on == ("floor",):
        return
    for other, (choice, option, _) in enumerate(units):
        carrier = option.unit
        if other == index or carrier is None or carrier.carries is None:
            continue
        if choice.id in unit.stands_on or f"{choice.id}={option.id}" in unit.stands_on:
            bed = carrier.body.height if carrier.carries.at is None else carrier.carries.at
            rise = bed + unit.clearance.bottom
            if leaves_clear(carrier, unit, rise):
                yield Support(other, rise)


def _corners(clear: ClearOpening, inside: Interior) -> Iterator[Block]:
    """What the gear of a door sweeps: top corners of its opening, or bottom ones (folds down)."""
    gear = clear.gear
    if gear is None or not (gear.width and gear.height and gear.depth):
        return
    low, high = max(clear.sill, clear.top - gear.height), clear.top
    if clear.moves == "folds-down":
        low, high = clear.sill, min(clear.top, clear.sill + gear.height)
    for start, end in (
        (clear.start, min(clear.end, clear.start + gear.width)),
        (max(clear.start, clear.end - gear.width), clear.end),
    ):
        match clear.side:
            case "left":
                yield (start, end, 0, gear.depth, low, high)
            case "right":
                yield (start, end, inside.width - gear.depth, inside.width, low, high)
            case _:
                yield (inside.length - gear.depth, inside.length, start, end, low, high)


@frozen
class _Stance:
    """A unit turned as it will stand: margins of its clearance, and where its front points.

    Attributes:
        side: the side it works from, or empty.
        front: ``left``, ``right``, ``rear`` or ``front``, where its working face points.
        size: of its body along x, y and z.
        margins: of its clearance: x low, x high, y low, y high.
    """

    side: str
    front: str
    size: tuple[int, int, int]
    margins: tuple[int, int, int, int]


def _stances(unit: Unit) -> Iterator[_Stance]:
    fronts = [(side, side) for side in unit.works_from]
    if not fronts:
        turned = ("rear", "front") if unit.turns else ()
        fronts = [("", front) for front in ("left", "right", *turned)]
    body, clear = unit.body, unit.clearance
    for side, front in fronts:
        ahead, behind, left, right = clear.front, clear.rear, clear.left, clear.right
        margins = {
            "left": (left, right, ahead, behind),
            "right": (right, left, behind, ahead),
            "rear": (behind, ahead, left, right),
            "front": (ahead, behind, right, left),
        }[front]
        along = front in ("left", "right")
        size = (body.width, body.depth) if along else (body.depth, body.width)
        yield _Stance(side, front, (*size, body.height), margins)


@lru_cache(maxsize=4096)
def _shapes(
    unit: Unit, cells: tuple[Cell, ...], inside: Interior, closed: bool
) -> tuple[Shape, ...]:
    """The ways in which a unit may stand; the same question gets the very same values."""
    found: dict[Shape, None] = {}
    for stance in _stances(unit):
        for cell in {"left": cells[:1], "right": cells[-1:]}.get(stance.side, cells):
            if closed and not unit.built_in:
                box = Box(stance.size[0], stance.size[1], stance.size[2])
                if stance.side == "rear":
                    box = Box(stance.size[1], stance.size[0], stance.size[2])
                if not gets_in(box, stance.side, cell):
                    continue
            here = [o for o in cell.openings if o.side == stance.side]
            ways = here if closed and stance.side else [None]
            for opening, set_back in product(ways, (False, True) if unit.reach else (False,)):
                shape = _shape(unit, stance, cell, inside, opening, set_back)
                if shape is not None:
                    found[shape] = None
    return tuple(found)


def _shape(
    unit: Unit,
    stance: _Stance,
    cell: Cell,
    inside: Interior,
    opening: ClearOpening | None,
    set_back: bool,
) -> Shape | None:
    """The shape at its side, or set back behind it; None where there is no room even alone."""
    length, width, height = stance.size
    low_x, high_x, low_y, high_y = stance.margins
    x = (low_x, inside.length - high_x - length)
    y = (cell.left + low_y, cell.right - high_y - width)
    z = (unit.clearance.bottom, inside.height - unit.clearance.top - height)
    if set_back and not stance.side:
        return None
    first, last = (1, unit.reach - unit.clearance.front) if set_back else (0, 0)
    if stance.side == "left":
        y = _both(y, (y[0] + first, y[0] + last))
    elif stance.side == "right":
        y = _both(y, (y[1] - last, y[1] - first))
    elif stance.side == "rear":
        x = _both(x, (x[1] - last, x[1] - first))
    rear = stance.side == "rear"
    window = None
    if opening is not None:
        shift = cell.left if rear else 0
        window = (opening.start + shift, opening.end + shift, opening.sill, opening.top)
        for along, up in _faces(unit, stance):
            held = (window[0] - along[0], window[1] - along[1])
            x, y = (x, _both(y, held)) if rear else (_both(x, held), y)
            z = _both(z, (window[2] - up[0], window[3] - up[1]))
    if x[0] > x[1] or y[0] > y[1] or z[0] > z[1]:
        return None
    clear = (
        -low_x,
        length + high_x,
        -low_y,
        width + high_y,
        -unit.clearance.bottom,
        height + unit.clearance.top,
    )
    ahead = [_before(stance, unit.reach, *_bare(unit, stance))] if set_back else []
    swept = tuple(block for block in (*_swept(unit, stance), *ahead) if _solid(block))
    body = (0, length, 0, width, 0, height)
    carries = unit.carries
    return Shape(
        stance.side,
        stance.size,
        x,
        y,
        z,
        (clear, *swept),
        (body, *swept),
        clear,
        unit.clearance_exclusive,
        _bed(unit, stance) if carries else None,
        _across(stance, carries.width, carries.depth) if carries else (0, 0),
        _way(unit, stance) if carries and carries.slides else None,
        window,
    )


def _both(one: Range, other: Range) -> Range:
    return max(one[0], other[0]), min(one[1], other[1])


def _solid(block: Block) -> bool:
    return block[0] < block[1] and block[2] < block[3] and block[4] < block[5]


def _bare(unit: Unit, stance: _Stance) -> tuple[Range, Range]:
    """The part of the working face that the frame leaves bare: along the side, and up."""
    hidden = behind_frame(unit)
    low, high = hidden.left, hidden.right
    if stance.side == "right":
        low, high = high, low
    return (low, unit.body.width - high), (hidden.bottom, unit.body.height - hidden.top)


def _faces(unit: Unit, stance: _Stance) -> Iterator[tuple[Range, Range]]:
    """What has to lie in the clear opening: the bare face, and the unit's own door beside it."""
    yield _bare(unit, stance)
    if unit.swing is not None:
        yield _door(unit, stance)


def _door(unit: Unit, stance: _Stance) -> tuple[Range, Range]:
    """What the unit's own door covers of the face's plane: along the side, and up."""
    along, up = _bare(unit, stance)
    assert unit.swing is not None
    reach, hinge = unit.swing.reach, unit.swing.hinge
    if hinge == "top":
        return along, (up[1] - reach, up[1])
    if hinge == "bottom":
        return along, (up[0], up[0] + reach)
    if (hinge == "left") != (stance.side == "right"):
        return (along[0], along[0] + reach), up
    return (along[1] - reach, along[1]), up


def _swept(unit: Unit, stance: _Stance) -> Iterator[Block]:
    """What slides out of the unit, and its door, sweep before its working face."""
    if not stance.side:
        return
    if unit.travel:
        yield _before(stance, unit.travel, *_bare(unit, stance))
    if unit.swing is not None:
        yield _before(stance, unit.swing.reach, *_door(unit, stance))


def _before(stance: _Stance, reach: int, along: Range, up: Range) -> Block:
    length, width, _ = stance.size
    match stance.front:
        case "left":
            return (*along, -reach, 0, *up)
        case "right":
            return (*along, width, width + reach, *up)
        case _:
            return (length, length + reach, *along, *up)


def _across(stance: _Stance, width: int, depth: int) -> tuple[int, int]:
    return (width, depth) if stance.front in ("left", "right") else (depth, width)


def _bed(unit: Unit, stance: _Stance) -> tuple[int, int, int, int]:
    """The bed from the body's corner; half a millimetre at its flanks counts as a whole one."""
    carries = unit.carries
    assert carries is not None
    beside = unit.body.width - carries.width
    flanks = (beside // 2, unit.body.width - beside // 2)
    match stance.front:
        case "left":
            return (*flanks, 0, carries.depth)
        case "right":
            return (*flanks, stance.size[1] - carries.depth, stance.size[1])
        case "rear":
            return (stance.size[0] - carries.depth, stance.size[0], *flanks)
        case _:
            return (0, carries.depth, *flanks)


def _way(unit: Unit, stance: _Stance) -> tuple[int, int] | None:
    return {
        "left": (0, -unit.travel),
        "right": (0, unit.travel),
        "rear": (unit.travel, 0),
    }.get(stance.side)
