"""Wishes about position, as narrower rooms; and which of them can be kept together.

A wish about a side or an end is about every unit of its option; ``towards`` is kept where the
middle of each lies in that half of the space. An exact position is about one of them, the first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve

from configurator.arrangement.reduced import least_unfit
from configurator.arrangement.rooms import Item, Range, Room, Shape
from configurator.arrangement.search import arrange
from configurator.errors import SearchLimit
from configurator.fit.layout import Unkept, named
from configurator.selection.picks import Wish

__all__ = ["held_at", "keeping", "narrowed", "sorted_wishes"]

_OPINIONS = 12


def keeping(room: Room, wishes: Sequence[Wish]) -> tuple[Room, tuple[Unkept, ...]]:
    """The room narrowed to the wishes that can be kept, and the others with what is in their way.

    Wishes are taken in the order of what they are about, each kept if it can be beside those
    before it. A wish that the search cannot settle is not kept. The room itself has to fit.
    """
    names = {(item.choice, item.option) for item in room.items}
    kept: list[Wish] = []
    unkept = []
    for wish in sorted_wishes(wishes):
        if (wish.choice, wish.option) not in names:
            continue
        narrow = narrowed(room, [*kept, wish])
        try:
            fits, settled = arrange(narrow) is not None, True
        except SearchLimit:
            fits, settled = False, False
        if fits:
            kept.append(wish)
            continue
        unkept.append(
            Unkept(
                wish.choice,
                wish.option,
                wish.side,
                wish.towards,
                wish.x,
                wish.y,
                wish.z,
                in_the_way=tuple(_in_the_way(narrow, wish)) if settled else (),
                unsettled=not settled,
            )
        )
    return narrowed(room, kept), tuple(unkept)


def sorted_wishes(wishes: Sequence[Wish]) -> list[Wish]:
    """Wishes in the order in which they are tried, whatever their order in the selection."""
    return sorted(wishes, key=_key)


def _key(wish: Wish) -> tuple[object, ...]:
    place = tuple(-1 if at is None else at for at in (wish.x, wish.y, wish.z))
    return wish.choice, wish.option, wish.side, wish.towards, place


def _in_the_way(narrow: Room, wish: Wish) -> Iterator[str]:
    """Units that the wished ones do not go in beside, of which none can be spared."""
    wished = frozenset(
        index
        for index, item in enumerate(narrow.items)
        if (item.choice, item.option) == (wish.choice, wish.option)
    )
    for index in least_unfit(narrow, wished, opinions=_OPINIONS):
        if index not in wished:
            item = narrow.items[index]
            yield named(item.choice, item.option, item.number)


def narrowed(room: Room, wishes: Sequence[Wish]) -> Room:
    """The room with the wishes as conditions."""
    items = room.items
    for wish in wishes:
        items = tuple(_narrowed(item, wish, room) for item in items)
    return evolve(room, items=items)


def _narrowed(item: Item, wish: Wish, room: Room) -> Item:
    if (item.choice, item.option) != (wish.choice, wish.option):
        return item
    shapes = item.shapes
    if wish.side:
        shapes = tuple(shape for shape in shapes if shape.side == wish.side)
    if wish.towards:
        length = room.inside.length
        ends = [
            (0, (length - shape.size[0]) // 2)
            if wish.towards == "front"
            else (-((shape.size[0] - length) // 2), length)
            for shape in shapes
        ]
        pairs = zip(shapes, ends, strict=True)
        shapes = tuple(evolve(shape, x=_within(shape.x, end)) for shape, end in pairs)
    item = evolve(item, shapes=tuple(filter(_possible, shapes)))
    if (wish.x, wish.y, wish.z) != (None, None, None) and item.number == 1:
        return held_at(item, wish.x, wish.y, wish.z)
    return item


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
