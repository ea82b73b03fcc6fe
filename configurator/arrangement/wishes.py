"""Places that the customer wishes for or the catalogue prefers, as narrower rooms.

A place at a side, behind a door or at an end is about every unit of its option; ``towards`` is kept
where the middle of each lies in that half of the space. An exact position is about one of them, the
first. All that the customer wishes for comes before anything that the catalogue prefers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve, frozen

from configurator.arrangement.conflict import least_unfit
from configurator.arrangement.rooms import Item, Room
from configurator.arrangement.search import arrange
from configurator.arrangement.shapes import Range, Shape
from configurator.catalogue.model import Catalogue
from configurator.errors import SearchLimit
from configurator.fit.layout import UnitName, Unkept
from configurator.fit.openings import ClearOpening
from configurator.selection.picks import Wish

_OPINIONS = 12


@frozen
class Place:
    """Where the units of an option are asked to be; what is empty or None is not asked.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        side: the side that they work from.
        towards: the end that they are at.
        x: of the first of them, mm; and likewise
        y: and
        z.
        doors: they work through any of these.
        preferred: the catalogue prefers it; otherwise the customer wishes for it.
    """

    choice: str
    option: str
    side: str = ""
    towards: str = ""
    x: int | None = None
    y: int | None = None
    z: int | None = None
    doors: tuple[ClearOpening, ...] = ()
    preferred: bool = False

    @property
    def unit(self) -> tuple[str, str]:
        """Ids of its choice and its option."""
        return self.choice, self.option

    def unkept(
        self,
        in_the_way: tuple[UnitName, ...] = (),
        overloads: bool = False,
        unsettled: bool = False,
    ) -> Unkept:
        """What a layout says of it where it is not kept."""
        return Unkept(
            self.choice,
            self.option,
            self.side,
            self.towards,
            self.x,
            self.y,
            self.z,
            in_the_way=in_the_way,
            overloads=overloads,
            unsettled=unsettled,
            preferred=self.preferred,
            doors=tuple(dict.fromkeys(door.side for door in self.doors)),
        )


def places_asked(catalogue: Catalogue, wishes: Sequence[Wish], room: Room) -> tuple[Place, ...]:
    """The places that are asked for the room's units, in the order in which they are tried.

    A door that prefers a unit is asked for beside a wish about it; what the unit itself prefers
    only where neither a door nor the customer says anything: first its side, where that has a door
    at all, then its end.
    """
    units = {(item.choice, item.option): None for item in room.items}
    asked = [
        Place(w.choice, w.option, w.side, w.towards, w.x, w.y, w.z)
        for w in sorted(wishes, key=_key)
        if (w.choice, w.option) in units
    ]
    wished = {place.unit for place in asked}
    for choice, option in sorted(units):
        doors = tuple(
            door
            for door in room.openings
            if any(named.covers(choice, option) for named in door.prefers)
        )
        unit = catalogue.option(choice, option).unit
        if doors:
            asked.append(Place(choice, option, doors=doors, preferred=True))
        elif unit is not None and unit.prefers is not None and (choice, option) not in wished:
            side, towards = unit.prefers.side, unit.prefers.towards
            if side and any(door.side == side for door in room.openings):
                asked.append(Place(choice, option, side=side, preferred=True))
            if towards:
                asked.append(Place(choice, option, towards=towards, preferred=True))
    return tuple(asked)


def keeping(
    room: Room, asked: Sequence[Place]
) -> tuple[Room, tuple[Place, ...], tuple[Unkept, ...]]:
    """The room narrowed to the places that can be kept, those places, and the others with why.

    Places are taken in order, each kept if it can be beside those before it. A place that the
    search cannot settle is not kept. The room itself has to fit.
    """
    if _settled(room, asked):
        return narrowed(room, asked), tuple(asked), ()
    kept: list[Place] = []
    unkept = []
    for place in asked:
        fits = _settled(room, [*kept, place])
        if fits:
            kept.append(place)
        elif fits is None:
            unkept.append(place.unkept(unsettled=True))
        else:
            unkept.append(place.unkept(tuple(_in_the_way(narrowed(room, [*kept, place]), place))))
    return narrowed(room, kept), tuple(kept), tuple(unkept)


def _settled(room: Room, places: Sequence[Place]) -> bool | None:
    """Whether the places can be kept together; None where the search stops without an answer."""
    try:
        return arrange(narrowed(room, places)) is not None
    except SearchLimit:
        return None


def _key(wish: Wish) -> tuple[object, ...]:
    place = tuple(-1 if at is None else at for at in (wish.x, wish.y, wish.z))
    return wish.choice, wish.option, wish.side, wish.towards, place


def _in_the_way(narrow: Room, place: Place) -> Iterator[UnitName]:
    """Units that the ones asked about do not go in beside, of which none can be spared."""
    wished = frozenset(
        index for index, item in enumerate(narrow.items) if (item.choice, item.option) == place.unit
    )
    for index in least_unfit(narrow, wished, opinions=_OPINIONS):
        if index not in wished:
            yield narrow.items[index].name


def narrowed(room: Room, places: Sequence[Place]) -> Room:
    """The room with the places as conditions."""
    items = room.items
    for place in places:
        items = tuple(_narrowed(item, place, room) for item in items)
    return evolve(room, items=items)


def _narrowed(item: Item, place: Place, room: Room) -> Item:
    if (item.choice, item.option) != place.unit:
        return item
    shapes = item.shapes
    if place.side:
        shapes = tuple(shape for shape in shapes if shape.side == place.side)
    if place.doors:
        shapes = tuple(s for s in shapes if any(_through(s, door) for door in place.doors))
    if place.towards:
        length = room.inside.length
        ends = [
            (0, (length - shape.size[0]) // 2)
            if place.towards == "front"
            else (-((shape.size[0] - length) // 2), length)
            for shape in shapes
        ]
        pairs = zip(shapes, ends, strict=True)
        shapes = tuple(evolve(shape, x=_within(shape.x, end)) for shape, end in pairs)
    item = evolve(item, shapes=tuple(filter(_possible, shapes)))
    if (place.x, place.y, place.z) != (None, None, None) and item.number == 1:
        return held_at(item, place.x, place.y, place.z)
    return item


def _through(shape: Shape, door: ClearOpening) -> bool:
    """Whether its working face lies in the clear opening of the door, or in a part of it."""
    if shape.side != door.side or shape.window is None:
        return False
    start, end, sill, top = shape.window
    return door.start <= start and end <= door.end and door.sill <= sill and top <= door.top


def held_at(item: Item, x: int | None, y: int | None, z: int | None) -> Item:
    """The item with its corner there, so far as that is said; it changes places with no other."""
    shapes = (
        evolve(shape, x=_at(shape.x, x), y=_at(shape.y, y), z=_at(shape.z, z))
        for shape in item.shapes
    )
    kind = f"{item.kind}#{item.number}"
    return evolve(item, kind=kind, shapes=tuple(filter(_possible, shapes)))


def _within(one: Range, other: Range) -> Range:
    return max(one[0], other[0]), min(one[1], other[1])


def _at(one: Range, at: int | None) -> Range:
    return one if at is None else _within(one, (at, at))


def _possible(shape: Shape) -> bool:
    return all(low <= high for low, high in (shape.x, shape.y, shape.z))
