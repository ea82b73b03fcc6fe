"""Layouts met before, as the start of one for a room much like theirs.

Most rooms that a sale asks about differ in a unit or two. Where the units that were placed before
keep their places, or at least the way they stand, the rest is quickly found. Failing that, the room
is searched as any other: what was met before decides how soon a layout is found, never whether.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TypeAlias

from attrs import evolve, frozen

from configurator.arrangement.rooms import FREE, Item, Room, Shape, Support
from configurator.arrangement.search import arrange
from configurator.arrangement.spots import Spot
from configurator.arrangement.wishes import held_at
from configurator.errors import SearchLimit

__all__ = ["Met"]

_MOST = 200
"""Layouts kept for each space."""

_TRIED = 3
"""Layouts that a room is likened to."""

_MISSING = 4
"""Units that a layout may lack for a room to be likened to it."""

_GUESSES = 100

_Name: TypeAlias = tuple[str, str, int]


@frozen
class _Stood:
    """Where a unit stood, and the name of its carrier, if any."""

    spot: Spot
    on: _Name | None


_Layout: TypeAlias = Mapping[_Name, _Stood]


class Met:
    """The layouts met so far."""

    def __init__(self) -> None:
        self._layouts: dict[str, list[tuple[int, _Layout]]] = {}
        self._bits: dict[_Name, int] = {}

    def arrange(self, room: Room, hard: bool = True) -> tuple[Spot, ...] | None:
        """Some spot for every item of the room, or None, which is a proof that there is none.

        Args:
            room: what has to be arranged.
            hard: whether a room that is hard to settle is settled all the same.

        Raises:
            SearchLimit: the search gave up.
        """
        found = self._likened(room)
        if found is None:
            found = arrange(room, hard)
        if found is not None:
            self.keep(room, found)
        return found

    def _likened(self, room: Room) -> tuple[Spot, ...] | None:
        """Spots for every item, most of them as in a layout met before; None where that fails."""
        for layout in self._nearest(room):
            for tight in (True, False):
                try:
                    found = arrange(_like(room, layout, tight), hard=False, guesses=_GUESSES)
                except SearchLimit:
                    continue
                if found is not None:
                    return found
        return None

    def _nearest(self, room: Room) -> Iterator[_Layout]:
        """Layouts that lack few units of the room, fewest first, then the latest."""
        has = self._names(map(_name, room.items))
        layouts = self._layouts.get(room.space, [])
        lacking = [(has & ~names).bit_count() for names, _ in layouts]
        order = sorted(range(len(lacking) - 1, -1, -1), key=lacking.__getitem__)
        for age in order[:_TRIED]:
            if lacking[age] <= _MISSING:
                yield layouts[age][1]

    def _names(self, names: Iterable[_Name]) -> int:
        """The names as the bits of a number."""
        bits = 0
        for name in names:
            bits |= self._bits.setdefault(name, 1 << len(self._bits))
        return bits

    def keep(self, room: Room, spots: tuple[Spot, ...]) -> None:
        """Keep a layout for the rooms that follow, before those kept so far."""
        names = [_name(item) for item in room.items]
        layout = {
            name: _Stood(spot, None if spot.support.on == FREE else names[spot.support.on])
            for name, spot in zip(names, spots, strict=True)
        }
        kept = self._layouts.setdefault(room.space, [])
        new = self._names(names), layout
        kept[:] = [*(other for other in kept if other != new), new][-_MOST:]


def _name(item: Item) -> _Name:
    return item.choice, item.option, item.number


def _like(room: Room, layout: _Layout, tight: bool) -> Room:
    """The room with its units where they stood; where not tight, only the way they stood."""
    index = {_name(item): place for place, item in enumerate(room.items)}
    return evolve(
        room,
        items=tuple(_held_to(item, layout.get(_name(item)), index, tight) for item in room.items),
    )


def _held_to(item: Item, stood: _Stood | None, index: Mapping[_Name, int], tight: bool) -> Item:
    """The item as it stood, as far as it may stand so here."""
    if stood is None or (stood.on is not None and stood.on not in index):
        return item
    on = FREE if stood.on is None else index[stood.on]
    spot = stood.spot
    support = Support(on, spot.support.rise, spot.support.bound, spot.support.feet)
    shapes = tuple(shape for shape in item.shapes if _way(shape) == _way(spot.shape))
    x, y = (spot.x, spot.y) if tight else (None, None)
    held = held_at(evolve(item, shapes=shapes, supports=(support,)), x, y, None)
    return held if held.shapes and support in item.supports else item


def _way(shape: Shape) -> tuple[object, ...]:
    """How the unit stands, wherever that is."""
    return shape.side, shape.size, shape.keeps, shape.bed
