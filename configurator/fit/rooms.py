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
* It gets into its cell through an opening (:mod:`~configurator.fit.openings`), or is built in.
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

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TypeAlias

from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option
from configurator.catalogue.units import ON_FLOOR
from configurator.fit.layout import UnitName
from configurator.fit.openings import (
    ClearOpening,
    cells_of,
    clear_openings,
    divider_of,
    open_deciders,
)
from configurator.fit.shapes import Block, Range, Shape, shapes_of
from configurator.fit.units import leaves_clear
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import Interior, MissingPicks, mass_of, space_sizes
from configurator.words import text

Longer: TypeAlias = tuple[str, tuple[int, int, int]]
"""A space, and how much is added to its inside length, width and height, mm."""

FREE = -1
"""Stands on no item: on the floor, or hung."""


@frozen(repr=False)
class Support:
    """What a unit may stand on.

    Attributes:
        on: index of the carrier in the room, or :data:`FREE`.
        rise: height of the underside above the carrier's underside, or above the floor, mm.
    """

    on: int
    rise: int


@frozen(cache_hash=True, repr=False)
class UnitToPlace:
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

    @property
    def name(self) -> UnitName:
        """Which unit it is."""
        return UnitName(self.choice, self.option, self.number)

    def on_bed(self, shape: Shape, under: Shape) -> tuple[Range, Range] | None:
        """How far its corner may be from its carrier's along x and y; None where no bed takes it.

        It may stand over the bed's edge as long as its middle stays above the bed.
        """
        if under.bed is None:
            return None
        found = []
        for axis in (0, 1):
            size = shape.size[axis]
            over = min(self.overhang, size // 2)
            if size > under.bed_size[axis] + 2 * over:
                return None
            found.append((under.bed[2 * axis] - over, under.bed[2 * axis + 1] + over - size))
        return found[0], found[1]


@frozen(repr=False)
class Spot:
    """Where an item went: its way to stand, what it stands on, and the corner of its body, mm."""

    shape: Shape
    support: Support
    x: int
    y: int
    z: int


@frozen(cache_hash=True, repr=False)
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
    items: tuple[UnitToPlace, ...] = field(default=())

    @property
    def must(self) -> tuple[UnitToPlace, ...]:
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
    """The rooms that the picks make and fill, one made larger; ids of spaces not told of yet."""
    found, unknown = [], []
    for name in (space.id for space in build.catalogue.spaces):
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
    divider = divider_of(build, space, inside)
    cells = cells_of(inside, openings, divider)
    closed = space in build.catalogue.closed_spaces
    items = []
    for index, (choice, option, number) in enumerate(units):
        unit, supports = option.unit, tuple(_supports(units, index))
        assert unit is not None
        weighs = unit.carries is not None or any(support.on != FREE for support in supports)
        try:
            laden = mass_of(build, option) + unit.contents
        except MissingPicks:
            if weighs:
                raise
            laden = unit.contents
        item = UnitToPlace(
            choice.id,
            option.id,
            number,
            str(Pick(choice.id, option.id)),
            shapes_of(unit, cells, closed),
            supports,
            laden,
            unit.carries.mass if unit.carries else None,
            unit.overhang,
            unit.hangs_at is not None,
            unit.body.volume,
        )
        items.append(item)
    gear = tuple(block for opening in openings for block in _corners(opening, inside))
    return Room(space, inside, openings, divider, gear, tuple(items))


def _supports(units: list[tuple[Choice, Option, int]], index: int) -> Iterator[Support]:
    unit = units[index][1].unit
    assert unit is not None
    if unit.hangs_at is not None:
        yield Support(FREE, unit.hangs_at)
        return
    if ON_FLOOR in unit.stands_on:
        yield Support(FREE, unit.clearance.bottom)
    if unit.stands_on == (ON_FLOOR,):
        return
    for other, (choice, option, _) in enumerate(units):
        carrier = option.unit
        if other == index or carrier is None or carrier.carries is None:
            continue
        if unit.may_stand_on(choice.id, option.id):
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


Crossing: TypeAlias = tuple[int, tuple[tuple[int, int], ...]]
"""An axis, and the items with the place of the shape in which they cross a plane square to it."""

Sum: TypeAlias = tuple[Mapping[int, int], int]
"""What each item takes at least, by its index, and how much all may take."""


def sums(room: Room) -> Iterator[Sum]:
    """What units take for certain of volume, of each plane, and of walls and lines along them."""
    if nested(room):
        return
    ground = sum(right - left for left, right in room.cells)
    inside = room.inside
    ends = (inside.length, ground, inside.height)
    must = [(index, item) for index, item in enumerate(room.items) if not item.optional]
    yield {index: item.volume for index, item in must}, inside.length * ground * inside.height
    for axis in (0, 2):
        spans = {index: _always(item, axis) for index, item in must}
        one, other = (a for a in (0, 1, 2) if a != axis)
        for plane in {span[0] for span in spans.values() if span[0] < span[1]}:
            yield (
                {
                    index: min(shape.size[one] * shape.size[other] for shape in item.shapes)
                    for index, item in must
                    if spans[index][0] <= plane < spans[index][1]
                },
                ends[one] * ends[other],
            )
    yield from _along_walls(room, must)


def _along_walls(room: Room, must: list[tuple[int, UnitToPlace]]) -> Iterator[Sum]:
    """Of the walls that units work from: their areas, and their lengths at each height.

    Patient states of five sales leave 59 options with them, and 75 without.
    """
    inside = room.inside
    ends = (inside.length, inside.width, inside.height)
    front = {
        min(shape.y[1], inside.width - shape.y[0] - shape.size[1])
        for _, item in must
        for shape in item.shapes
        if shape.side in ("left", "right")
    }
    for behind in sorted({0, *(most for most in front if most >= 0)})[:2]:
        walls = ((1, behind), (1, inside.width - 1 - behind), (0, inside.length - 1 - behind))
        used, least = set(), {}
        for index, item in must:
            along = [
                [(s.size[1 - axis], (axis, at)) for axis, at in walls if _crosses(s, axis, at)]
                for s in item.shapes
            ]
            if along and all(along):
                used |= {wall for there in along for _, wall in there}
                least[index] = min(size for there in along for size, _ in there)
        length = sum(ends[1 - axis] for axis, _ in used)
        high = {i: min(s.size[2] for s in room.items[i].shapes) for i in least}
        yield {index: least[index] * high[index] for index in least}, length * inside.height
        spans = {index: _always(room.items[index], 2) for index in least}
        for level in {low for low, high in spans.values() if low < high}:
            across = [index for index, (low, high) in spans.items() if low <= level < high]
            yield {index: least[index] for index in across}, length


def _crosses(shape: Shape, axis: int, plane: int) -> bool:
    """Whether the body crosses an upright plane wherever it stands in this way."""
    low, high = (shape.x, shape.y)[axis]
    return high <= plane < low + shape.size[axis]


def _always(item: UnitToPlace, axis: int) -> Range:
    """What of the axis its body covers however it stands; empty where nothing."""
    spans = [_covered(item, shape, axis) for shape in item.shapes]
    if not spans or any(size <= 0 for shape in item.shapes for size in shape.size):
        return 0, 0
    return max(low for low, _ in spans), min(high for _, high in spans)


def _covered(item: UnitToPlace, shape: Shape, axis: int) -> Range:
    """What of the axis the body covers wherever it stands in this way; may be empty."""
    low, high = (shape.x, shape.y, shape.z)[axis]
    if axis == 2 and item.supports and all(support.on == FREE for support in item.supports):
        rises = [support.rise for support in item.supports]
        low, high = max(low, min(rises)), min(high, max(rises))
    return high, low + shape.size[axis]


def crossings(room: Room) -> Iterator[Crossing]:
    """What crosses the planes square to each axis, without what another plane of it says too.

    Planes that fewer than three units can cross are left out: the pairs say it all.
    """
    if nested(room):
        return
    for axis in (0, 1, 2):
        spans = [
            ((index, place), span)
            for index, item in enumerate(room.items)
            for place, shape in enumerate(item.shapes)
            if (span := _covered(item, shape, axis))[0] < span[1]
            and all(size > 0 for size in shape.size)
        ]
        found = {
            tuple(who for who, (low, high) in spans if low <= plane < high)
            for plane in {low for _, (low, _) in spans}
        }
        most = [set(crossing) for crossing in found]
        for crossing in sorted(found):
            alone = not any(set(crossing) < other for other in most)
            if alone and len({index for index, _ in crossing}) > 2:
                yield axis, crossing


def in_plane(room: Room) -> bool:
    """Whether all is a question of the plane: bodies alone, all of which cross one level."""
    if nested(room):
        return False
    spans = [_always(item, 2) for item in room.items]
    bare = all(shape.clear == shape.body for item in room.items for shape in item.shapes)
    return bare and max(low for low, _ in spans) < min(high for _, high in spans)


def nested(room: Room) -> bool:
    """Whether a bed lies below the top of its carrier, so that bodies may lie in one another."""
    tops = [min((shape.size[2] for shape in item.shapes), default=0) for item in room.items]
    return any(
        support.on != FREE and support.rise < tops[support.on]
        for item in room.items
        for support in item.supports
    )
