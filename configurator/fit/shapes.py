"""The ways in which one unit may stand in a space, as boxes; and what two of them may not share.

What holds of them stands in :mod:`configurator.fit.rooms`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.catalogue.units import Edges, Unit
from configurator.fit.openings import Bay, ClearOpening, lacking
from configurator.selection.totals import Interior

Block: TypeAlias = tuple[int, int, int, int, int, int]
"""A box as x0, x1, y0, y1, z0, z1, mm; of a shape, from the corner of its body."""

Range: TypeAlias = tuple[int, int]

Clash: TypeAlias = tuple[int, int, tuple[tuple[int, int], ...]]
"""Between which two heights of one above the other, and by how much corners then lie apart, mm:
which goes first along x (0 the one, 1 the other), or along y (2 and 3)."""


@frozen(cache_hash=True, repr=False)
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


def mirrored(shape: Shape, across: int) -> Shape:
    """The shape with left and right of a space so wide changed over."""
    wide, (least, most), bed, window = shape.size[1], shape.y, shape.bed, shape.window

    def block(one: Block) -> Block:
        x0, x1, y0, y1, z0, z1 = one
        return x0, x1, wide - y1, wide - y0, z0, z1

    if window is not None and shape.side == "rear":
        window = across - window[1], across - window[0], window[2], window[3]
    return evolve(
        shape,
        side={"left": "right", "right": "left"}.get(shape.side, shape.side),
        y=(across - wide - most, across - wide - least),
        keeps=tuple(block(one) for one in shape.keeps),
        sweeps=tuple(block(one) for one in shape.sweeps),
        clear=block(shape.clear),
        bed=None if bed is None else (bed[0], bed[1], wide - bed[3], wide - bed[2]),
        way=None if shape.way is None else (shape.way[0], -shape.way[1]),
        window=window,
    )


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


@lru_cache(maxsize=65536)
def clashes(one: Shape, other: Shape) -> tuple[Clash, ...]:
    """When two shapes may not overlap, and the ways apart that their places leave.

    What they always keep is left out: the search of 1 118 rooms of a sale takes 1.3 s for 1.6.
    They are remembered: the states of all options, cold, take 3.1 s for 3.5.
    """
    found = []
    for a, b in pairs(one, other):
        gaps = (a[1] - b[0], b[1] - a[0], a[3] - b[2], b[3] - a[2])
        ways = []
        for way, gap in enumerate(gaps):
            ends = ((one.x, one.y)[way // 2], (other.x, other.y)[way // 2])
            (low, high), (least, most) = ends[::-1] if way % 2 else ends
            if high + gap <= least:
                break
            if low + gap <= most:
                ways.append((way, gap))
        else:
            found.append((b[4] - a[5], b[5] - a[4], tuple(ways)))
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


@frozen(repr=False)
class Stance:
    """A unit turned as it will stand: which way its front points, and what follows from that.

    Attributes:
        unit: the unit.
        side: the side it works from, or empty.
        front: ``left``, ``right``, ``rear`` or ``front``, where its working face points.
        size: of its body along x, y and z.
        clear: its clearance, from the corner of its body.
    """

    unit: Unit
    side: str
    front: str
    size: tuple[int, int, int]
    clear: Block

    def free(self, inside: Interior) -> tuple[Range, Range, Range]:
        """Where its corner may be in a cell for its clearance to lie in it; no room is no range."""
        x0, x1, y0, y1, z0, z1 = self.clear
        return (-x0, inside.length - x1), (-y0, inside.width - y1), (-z0, inside.height - z1)

    def turned(self, wide: int, deep: int) -> tuple[int, int]:
        """A width and a depth of the unit, as seen facing it, along x and along y."""
        return (wide, deep) if self.front in ("left", "right") else (deep, wide)

    def bare(self) -> tuple[Range, Range]:
        """The part of the working face that the frame leaves bare: along the side, and up."""
        hidden, body = behind_frame(self.unit), self.unit.body
        low, high = hidden.left, hidden.right
        if self.side == "right":
            low, high = high, low
        return (low, body.width - high), (hidden.bottom, body.height - hidden.top)


def behind_frame(unit: Unit) -> Edges:
    """How much of its working face may stay behind the frame, mm: nothing of what slides out."""
    return Edges() if unit.travel else unit.behind_frame


def stances(unit: Unit) -> Iterator[Stance]:
    """Every side that it may work from, or, where it needs no opening, every way it may stand."""
    fronts = [(side, side) for side in unit.works_from]
    if not fronts:
        turned = ("rear", "front") if unit.turns else ()
        fronts = [("", front) for front in ("left", "right", *turned)]
    body, clear = unit.body, unit.clearance
    for side, front in fronts:
        ahead, behind, left, right = clear.front, clear.rear, clear.left, clear.right
        x0, x1, y0, y1 = {
            "left": (left, right, ahead, behind),
            "right": (right, left, behind, ahead),
            "rear": (behind, ahead, left, right),
            "front": (ahead, behind, right, left),
        }[front]
        along = front in ("left", "right")
        long, wide = (body.width, body.depth) if along else (body.depth, body.width)
        around = (-x0, long + x1, -y0, wide + y1, -clear.bottom, body.height + clear.top)
        yield Stance(unit, side, front, (long, wide, body.height), around)


@lru_cache(maxsize=4096)
def shapes_of(unit: Unit, cells: tuple[Bay, ...], closed: bool) -> tuple[Shape, ...]:
    """The ways in which a unit may stand; remembered: quick steps of two sales, 3.4 s for 4.0."""
    found: dict[Shape, None] = {}
    for stance in stances(unit):
        for cell in {"left": cells[:1], "right": cells[-1:]}.get(stance.side, cells):
            shut = not cell.openings or lacking(stance.size, cell) is not None
            if closed and not unit.built_in and shut:
                continue
            here = [o for o in cell.openings if o.side == stance.side]
            back = (False, True) if unit.reach and stance.side else (False,)
            for opening, set_back in product(here if closed and stance.side else [None], back):
                shape = _shape(stance, cell, opening, set_back)
                if all(low <= high for low, high in (shape.x, shape.y, shape.z)):
                    found[shape] = None
    return tuple(found)


def _shape(stance: Stance, cell: Bay, opening: ClearOpening | None, set_back: bool) -> Shape:
    """The shape at its side, or set back behind it; its ranges are empty where there is no room."""
    unit, side = stance.unit, stance.side
    x, y, z = stance.free(cell.inside)
    y = (cell.left + y[0], cell.left + y[1])
    first, last = (1, unit.reach - unit.clearance.front) if set_back else (0, 0)
    if side == "left":
        y = both(y, (y[0] + first, y[0] + last))
    elif side == "right":
        y = both(y, (y[1] - last, y[1] - first))
    elif side == "rear":
        x = both(x, (x[1] - last, x[1] - first))
    window = None
    bare = stance.bare()
    door = _door(stance, *bare)
    if opening is not None:
        shift = cell.left if side == "rear" else 0
        window = (opening.start + shift, opening.end + shift, opening.sill, opening.top)
        for along, up in (bare, door) if door else (bare,):
            held = (window[0] - along[0], window[1] - along[1])
            x, y = (x, both(y, held)) if side == "rear" else (both(x, held), y)
            z = both(z, (window[2] - up[0], window[3] - up[1]))
    swept = [_before(stance, unit.travel, *bare)] if side else []
    if side and door and unit.swing:
        swept.append(_before(stance, unit.swing.reach, *door))
    if set_back:
        swept.append(_before(stance, unit.reach, *bare))
    solid = tuple(b for b in swept if b[0] < b[1] and b[2] < b[3] and b[4] < b[5])
    length, width, height = stance.size
    carries = unit.carries
    slides = {"left": (0, -unit.travel), "right": (0, unit.travel), "rear": (unit.travel, 0)}
    return Shape(
        side,
        stance.size,
        x,
        y,
        z,
        (stance.clear, *solid),
        ((0, length, 0, width, 0, height), *solid),
        stance.clear,
        unit.clearance_exclusive,
        _bed(stance) if carries else None,
        stance.turned(carries.width, carries.depth) if carries else (0, 0),
        slides.get(side) if carries and carries.slides else None,
        window,
    )


def both(one: Range, other: Range) -> Range:
    """What two ranges have in common; its end is before its start where that is nothing."""
    return max(one[0], other[0]), min(one[1], other[1])


def _door(stance: Stance, along: Range, up: Range) -> tuple[Range, Range] | None:
    """What the unit's own door covers of the bare face: along the side, and up; None without."""
    if stance.unit.swing is None:
        return None
    reach, hinge = stance.unit.swing.reach, stance.unit.swing.hinge
    if hinge == "top":
        return along, (up[1] - reach, up[1])
    if hinge == "bottom":
        return along, (up[0], up[0] + reach)
    if (hinge == "left") != (stance.side == "right"):
        return (along[0], along[0] + reach), up
    return (along[1] - reach, along[1]), up


def _before(stance: Stance, reach: int, along: Range, up: Range) -> Block:
    """What something of that extent sweeps that comes so far out of the working face."""
    length, width, _ = stance.size
    match stance.front:
        case "left":
            return (*along, -reach, 0, *up)
        case "right":
            return (*along, width, width + reach, *up)
        case _:
            return (length, length + reach, *along, *up)


def _bed(stance: Stance) -> tuple[int, int, int, int]:
    """The bed from the body's corner; half a millimetre at its flanks counts as a whole one."""
    carries, width = stance.unit.carries, stance.unit.body.width
    assert carries is not None
    beside = (width - carries.width) // 2
    flanks, deep = (beside, width - beside), carries.depth
    return {
        "left": (*flanks, 0, deep),
        "right": (*flanks, stance.size[1] - deep, stance.size[1]),
        "rear": (stance.size[0] - deep, stance.size[0], *flanks),
        "front": (0, deep, *flanks),
    }[stance.front]
