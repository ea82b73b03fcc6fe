"""A good arrangement rather than any: balanced, low, forward, and with one large space left open.

The search looks at the lighter side first and puts everything as far forward as it goes. From
there single changes are tried, heaviest unit first: a unit to another side, or to the front end of
where it may be. A change is kept when the whole comes out better; tries are counted and limited,
so the result is good and always the same, but not proven to be the best there is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache

from attrs import evolve

from configurator.arrangement.open_boxes import open_boxes
from configurator.arrangement.rooms import Item, Room
from configurator.arrangement.search import arrange
from configurator.arrangement.spots import Spot
from configurator.errors import SearchLimit

__all__ = ["TRIES", "best_of", "cost"]

TRIES = 60
"""Changes tried for one space."""

FEW = 150
"""Guesses spent on one change; what is harder to settle is not worth trying."""

OPEN = 150
"""What a litre of the largest open box is worth, kg mm."""


def cost(room: Room, spots: Sequence[Spot]) -> Decimal:
    """How good an arrangement is, kg mm; less is better.

    The mass moment sideways from the middle, the moments above the floor and behind the front
    wall, less a worth of each litre of the largest open box.
    """
    across = up = along = Decimal(0)
    for item, spot in zip(room.items, spots, strict=True):
        length, width, height = spot.shape.size
        across += item.laden * (2 * spot.y + width - room.inside.width)
        up += item.laden * (2 * spot.z + height)
        along += item.laden * (2 * spot.x + length)
    largest = max((box.volume for box in open_boxes(room, spots)), default=0)
    return (abs(across) * 2 + up + along) / 2 - Decimal(OPEN * largest) / 10**6


@lru_cache(maxsize=1024)
def best_of(room: Room, start: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """The best arrangement met within :data:`TRIES` changes of the one given; it is remembered."""
    best, least, tries = start, cost(room, start), 0
    heavy = sorted(range(len(room.items)), key=lambda i: (-room.items[i].laden, i))
    improved = True
    while improved:
        improved = False
        for index in heavy:
            for change in _changes(index, best[index]):
                if tries == TRIES:
                    return best
                tries += 1
                changed = change(room)
                found = _arranged(changed)
                if found is None:
                    continue
                reached = cost(room, found)
                if reached < least:
                    room, best, least, improved = changed, found, reached, True
                    break
    return best


def _arranged(room: Room) -> tuple[Spot, ...] | None:
    try:
        return arrange(room, hard=False, guesses=FEW)
    except SearchLimit:
        return None


def _changes(index: int, spot: Spot) -> Iterator[Callable[[Room], Room]]:
    for side in ("left", "right", "rear"):
        if spot.shape.side and side != spot.shape.side:
            yield lambda room, side=side: _to_side(room, index, side)  # type: ignore[misc]
    if spot.x > spot.shape.x[0]:
        yield lambda room: _to_front(room, index)


def _to_side(room: Room, index: int, side: str) -> Room:
    item = room.items[index]
    shapes = tuple(shape for shape in item.shapes if shape.side == side)
    return _with(room, index, evolve(item, shapes=shapes, kind=f"{item.kind} {index}"))


def _to_front(room: Room, index: int) -> Room:
    item = room.items[index]
    shapes = tuple(evolve(shape, x=(shape.x[0], shape.x[0])) for shape in item.shapes)
    return _with(room, index, evolve(item, shapes=shapes, kind=f"{item.kind} {index}"))


def _with(room: Room, index: int, item: Item) -> Room:
    items = tuple(item if i == index else other for i, other in enumerate(room.items))
    return evolve(room, items=items)
