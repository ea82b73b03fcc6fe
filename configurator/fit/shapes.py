"""The ways in which one unit may stand in a space, as boxes; and what two of them may not share.

What holds of them stands in :mod:`configurator.fit.rooms`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.units import Box, Unit
from configurator.fit.openings import Cell, ClearOpening, gets_in
from configurator.fit.units import behind_frame
from configurator.totals import Interior

Block: TypeAlias = tuple[int, int, int, int, int, int]
"""A box as x0, x1, y0, y1, z0, z1, mm; of a shape, from the corner of its body."""

Range: TypeAlias = tuple[int, int]


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


@lru_cache(maxsize=65536)
def pairs(one: Shape, other: Shape) -> tuple[tuple[Block, Block], ...]:
    """Blocks of two shapes that may not overlap, none of them implied by another pair."""
    found: dict[tuple[Block, Block], None] = {}
    if one.exclusive or other.exclusive:
        found[one.clear, other.clear] = None
    else:
        found[one.clear, other.body] = None
        if other.clear != other.body:
            found[one.body, other.clear] = None
            if one.clear == one.body:
                del found[one.clear, other.body]
    for block in one.keeps[1:]:
        found[block, other.body] = None
    for block in other.keeps[1:]:
        found[one.body, block] = None
    return tuple(found)


def kept_out(under: Shape, shape: Shape, at: int = 0) -> range:
    """Heights that a unit may not have above one it stands on: in that one's top clearance.

    Args:
        under: how the lower unit stands.
        shape: how the upper unit stands.
        at: the lower unit's height, mm.
    """
    block = shape.clear if under.exclusive or shape.exclusive else shape.body
    top, end = at + under.size[2], at + under.clear[5]
    return range(top - block[5] + 1, end - block[4]) if top < end else range(0)


def along(block: Block, way: tuple[int, int]) -> Block:
    """The block with everything it sweeps on its way."""
    return (
        block[0] + min(0, way[0]),
        block[1] + max(0, way[0]),
        block[2] + min(0, way[1]),
        block[3] + max(0, way[1]),
        block[4],
        block[5],
    )


def passing(shape: Shape, under: Shape) -> Iterator[tuple[int, int, int]]:
    """What keeps a unit that slides out with its carrier within the carrier's opening.

    Yields:
        An axis, and the least and greatest that the unit's corner may be along it, mm.
    """
    if under.window is not None:
        start, end, sill, top = under.window
        axis = 1 if under.side == "rear" else 0
        yield axis, start, end - shape.size[axis]
        yield 2, sill, top - shape.size[2]


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
def shapes_of(
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
        y = both(y, (y[0] + first, y[0] + last))
    elif stance.side == "right":
        y = both(y, (y[1] - last, y[1] - first))
    elif stance.side == "rear":
        x = both(x, (x[1] - last, x[1] - first))
    rear = stance.side == "rear"
    window = None
    if opening is not None:
        shift = cell.left if rear else 0
        window = (opening.start + shift, opening.end + shift, opening.sill, opening.top)
        for along, up in _faces(unit, stance):
            held = (window[0] - along[0], window[1] - along[1])
            x, y = (x, both(y, held)) if rear else (both(x, held), y)
            z = both(z, (window[2] - up[0], window[3] - up[1]))
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


def both(one: Range, other: Range) -> Range:
    """What two ranges have in common; its end is before its start where that is nothing."""
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
