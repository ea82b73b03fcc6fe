"""Some units of a room, and the carriers that may come in for them to stand on.

No layout needs a carrier that bears nothing. What has to go in stands on one chain of carriers, and
those of one kind in a chain are at different heights: so a few of each kind are enough, and of
those only what gets a unit to a height where it may be. A unit that goes on the floor wherever it
goes on a stack of its own does without the stack.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import TypeAlias, TypeVar

from attrs import evolve

from configurator.fit.rooms import FREE, Room, Support, UnitToPlace
from configurator.fit.shapes import Shape

_T = TypeVar("_T")

_FLOOR = ""

_At: TypeAlias = tuple[str, int]
"""A kind of item or the floor, and a height: above the floor, or of what stands on it, mm."""

_Rests: TypeAlias = Mapping[str, set[_At]]
"""By kind of item, on what it may stand, and how far above that."""


def only(room: Room, kept: Iterable[int]) -> Room:
    """The room with only these items, and what is worth having to stand on, optional.

    Of 19 optional carriers of a crowded canopy 6 are left: the search proves in 0.01 to 0.05 s that
    they do not help, for which OR-Tools took 1.0 to 2.0 s. Stacks of one unit alone stay out: 2 327
    steps of 60 sales then take 283 CPU s in place of 390, and leave 517 options in place of 942.
    """
    kept = set(kept)
    there = reached(kept, lambda i: {s.on for s in room.items[i].supports} - {FREE})
    items = {
        index: evolve(room.items[index], optional=index not in kept or room.items[index].optional)
        for index in sorted(there)
    }
    items = _without_stacks(room, items)
    rests, enough = _worth_having(room, list(items.values()))
    place, count = {FREE: FREE}, Counter[str]()
    for index, item in items.items():
        count[item.kind] += item.optional
        if not item.optional or count[item.kind] <= enough[item.kind]:
            place[index] = len(place) - 1
    return evolve(
        room,
        items=tuple(
            evolve(
                item,
                supports=tuple(
                    Support(place[s.on], s.rise)
                    for s in item.supports
                    if s.on in place and _rest(room, s) in rests[item.kind]
                ),
            )
            for index, item in items.items()
            if index in place
        ),
    )


def first_of(room: Room, units: Mapping[tuple[str, str], int]) -> tuple[int, ...]:
    """The items of the room that are so many of these options, the first of each."""
    left, kept = dict(units), []
    for index, item in enumerate(room.items):
        if left.get((item.choice, item.option), 0):
            left[item.choice, item.option] -= 1
            kept.append(index)
    return tuple(kept)


def any_of(
    room: Room, kept: Sequence[int], places: Iterable[Sequence[tuple[str, str]]]
) -> tuple[Room, tuple[int, ...]]:
    """The room with one unit in each place, that stands as any of its options might; what is kept.

    It is no larger and no heavier than the least of them, so what does not go in with it does not
    with any of them. None of them carries anything, and all that are kept of these options are in
    it: its kind, which is the first one's, is no other item's.
    """
    items, left = list(room.items), list(kept)
    for place in places:
        at = [index for index in left if (items[index].choice, items[index].option) in place]
        some = [items[index] for index in at]
        items[at[0]] = evolve(
            some[0],
            shapes=tuple(dict.fromkeys(shape for item in some for shape in item.shapes)),
            supports=tuple(dict.fromkeys(way for item in some for way in item.supports)),
            laden=min(item.laden for item in some),
            overhang=max(item.overhang for item in some),
            volume=min(item.volume for item in some),
        )
        left = [index for index in left if index not in at[1:]]
    return evolve(room, items=tuple(items)), tuple(left)


def _without_stacks(room: Room, items: Mapping[int, UnitToPlace]) -> dict[int, UnitToPlace]:
    """The items, none of which stands on a stack of its own for nothing."""
    stacks = _Stacks(room, items)
    found = dict(items)
    for index, item in items.items():
        if needless := stacks.needless(index):
            supports = tuple(s for s in item.supports if s.on not in needless)
            found[index] = evolve(item, supports=supports)
    must = [index for index, item in items.items() if not item.optional]
    there = reached(must, lambda i: {s.on for s in found[i].supports} & items.keys())
    return {index: item for index, item in found.items() if index in there}


class _Stacks:
    """Stacks of optional carriers that a unit does without wherever it goes with them.

    On none of the carriers can anything else stand as well that is of help to another unit. Where
    the unit may stand on the floor, sweeping nothing in the room, and the stack is never narrower
    than it is, the column of both has room for the unit at the floor. That leaves a layout of the
    same room, so one unit after another may be moved.
    """

    def __init__(self, room: Room, items: Mapping[int, UnitToPlace]) -> None:
        self.room, self.items = room, items
        self.on = {i: {s.on for s in item.supports} & items.keys() for i, item in items.items()}
        self.helped: dict[int, set[int]] = {index: set() for index in items}
        for index, item in items.items():
            if not item.optional:
                for under in reached([index], self.on.__getitem__):
                    self.helped[under].add(index)
        self.alike = {index: (item.kind, item.optional) for index, item in items.items()}
        self.carrying = {carrier for index in items for carrier in self.on[index]}

    def needless(self, index: int) -> set[int]:
        """Carriers on which the item need not stand."""
        item, on = self.items[index], self.on
        if item.optional or index in self.carrying or not on[index]:
            return set()
        bare = self._on_the_floor(item)
        if bare is None:
            return set()
        one_of_each = {self.alike[carrier]: carrier for carrier in sorted(on[index])}
        spared = {
            like for like, carrier in one_of_each.items() if self._spared(index, carrier, bare)
        }
        return {carrier for carrier in on[index] if self.alike[carrier] in spared}

    def _spared(self, index: int, carrier: int, bare: int) -> bool:
        """Whether the item need not stand on the carrier, since it may be as low as that."""
        stack = reached([carrier], self.on.__getitem__)
        links = [(index, carrier), *((at, under) for at in stack for under in self.on[at])]
        one_of_each = {(self.alike[at], self.alike[under]): (at, under) for at, under in links}
        return all(self._alone(*link, index) for link in one_of_each.values()) and all(
            self._covers(at, support, bare)
            for at in (index, *{self.alike[at]: at for at in stack}.values())
            for support in self.items[at].supports
        )

    def _on_the_floor(self, item: UnitToPlace) -> int | None:
        """The height at which it may be on the floor whichever way it stands.

        None where it may not, or sweeps something in the room.
        """
        ends = self.room.inside.length, self.room.inside.width
        for shape in item.shapes:
            for block in (*shape.keeps[1:], *shape.sweeps[1:]):
                spans = zip((shape.x, shape.y), (block[:2], block[2:4]), ends, strict=True)
                if all(most + b > 0 and least + a < end for (least, most), (a, b), end in spans):
                    return None
        rises = [support.rise for support in item.supports if support.on == FREE]
        fits = (z for z in rises if all(s.z[0] <= z <= s.z[1] for s in item.shapes))
        return next(fits, None)

    def _alone(self, at: int, carrier: int, index: int) -> bool:
        """Whether nothing helps others than one unit that may stand there as well as this."""
        others = (
            other
            for other in self.items
            if other != at and carrier in self.on[other] and self.helped[other] - {index}
        )
        return self.items[carrier].optional and not any(
            self._stand_both(carrier, at, other) for other in others
        )

    def _stand_both(self, carrier: int, at: int, beside: int) -> bool:
        """Whether two may both stand on a carrier, beside or above each other."""
        under, one, other = self.items[carrier], self.items[at], self.items[beside]
        rises = [{s.rise for s in item.supports if s.on == carrier} for item in (one, other)]
        beds = {shape.bed for shape in under.shapes if shape.bed is not None}
        sizes = [{shape.size for shape in item.shapes} for item in (one, other)]
        return any(
            _beside(mine, its, one.overhang, other.overhang, bed)
            or any(z + its[2] <= rise or rise + mine[2] <= z for rise, z in product(*rises))
            for (mine, its), bed in product(product(*sizes), beds)
        )

    def _covers(self, at: int, support: Support, bare: int) -> bool:
        """Whether what an item stands on takes all that is below it down to the floor."""
        item = self.items[at]
        if support.on == FREE:
            return support.rise <= bare or not item.optional
        under = self.items[support.on]
        return support.rise >= bare and all(
            _takes_all_below(item, shape, below, support.rise)
            for shape, below in product(item.shapes, under.shapes)
        )


def _beside(
    mine: tuple[int, ...], its: tuple[int, ...], over: int, its_over: int, bed: tuple[int, ...]
) -> bool:
    """Whether two bodies of these sizes go on a bed beside or behind each other."""
    for axis in (0, 1):
        most = max(min(over, mine[axis] // 2), min(its_over, its[axis] // 2))
        if mine[axis] + its[axis] <= bed[2 * axis + 1] - bed[2 * axis] + 2 * most:
            return True
    return False


def _takes_all_below(item: UnitToPlace, shape: Shape, under: Shape, rise: int) -> bool:
    """Whether what is under an item takes all that is right below it, wherever it stands there."""
    bed = item.on_bed(shape, under)
    if bed is None:
        return True
    if rise > under.size[2] or rise + shape.clear[4] > under.clear[5]:
        return False
    if shape.exclusive and not under.exclusive:
        return False
    pairs = ((shape.body, under.body), (shape.clear, under.clear))
    return all(
        its[2 * axis] <= bed[axis][0] + mine[2 * axis]
        and bed[axis][1] + mine[2 * axis + 1] <= its[2 * axis + 1]
        for mine, its in pairs
        for axis in (0, 1)
    )


def _worth_having(room: Room, items: Sequence[UnitToPlace]) -> tuple[_Rests, Mapping[str, int]]:
    """What gets items to useful heights, and how many optional ones of a kind are enough."""
    kinds = {item.kind: item for item in items}
    must = [item.kind for item in items if not item.optional]
    rests = {kind: {_rest(room, s) for s in bearing(room, item)} for kind, item in kinds.items()}

    def above(at: _At) -> Iterator[_At]:
        for kind, item in kinds.items():
            for z in (at[1] + rise for on, rise in rests[kind] if on == at[0]):
                if any(shape.z[0] <= z <= shape.z[1] for shape in item.shapes):
                    yield kind, z

    possible = reached([(_FLOOR, 0)], above)

    def below(at: _At) -> set[_At]:
        return {(on, at[1] - rise) for on, rise in rests.get(at[0], ())} & possible

    useful = reached([at for at in possible if at[0] in must], below)
    heights = {kind: {z for its, z in useful if its == kind} for kind in kinds}
    rests = {
        kind: {at for at in its if any((at[0], z - at[1]) in useful for z in heights[kind])}
        for kind, its in rests.items()
    }

    def under(kind: str) -> set[str]:
        return {on for on, _ in rests.get(kind, ())}

    beneath = {kind: reached(under(kind), under) for kind in kinds}
    rising = all(rise > 0 for its in rests.values() for on, rise in its if on != _FLOOR)
    in_chain = {
        kind: 1 if kind not in beneath[kind] else len(heights[kind]) if rising else len(items)
        for kind in kinds
    }
    users = Counter(kind for user in must for kind in beneath[user])
    return rests, {kind: users[kind] * in_chain[kind] for kind in kinds}


def bearing(room: Room, item: UnitToPlace) -> Iterator[Support]:
    """What the item may stand on, without carriers too small, too weak or too high for it."""
    for support in item.supports:
        lowest = highest = support.rise
        if support.on != FREE:
            carrier = room.items[support.on]
            if carrier.carries is not None and item.laden > carrier.carries:
                continue
            if not any(_bears(item, s, under) for s in item.shapes for under in carrier.shapes):
                continue
            lowest += min(shape.z[0] for shape in carrier.shapes)
            highest += max(shape.z[1] for shape in carrier.shapes)
        if any(shape.z[0] <= highest and lowest <= shape.z[1] for shape in item.shapes):
            yield support


def heights(room: Room, supports: Sequence[Sequence[Support]]) -> list[set[int]]:
    """At which heights each item may stand, whatever it takes to get there."""

    def above(at: tuple[int, int]) -> Iterator[tuple[int, int]]:
        for index, item in enumerate(room.items):
            for z in {at[1] + support.rise for support in supports[index] if support.on == at[0]}:
                if any(shape.z[0] <= z <= shape.z[1] for shape in item.shapes):
                    yield index, z

    found: list[set[int]] = [set() for _ in room.items]
    for index, z in reached({(FREE, 0)}, above) - {(FREE, 0)}:
        found[index].add(z)
    return found


def _bears(item: UnitToPlace, shape: Shape, under: Shape) -> bool:
    """Whether the bed takes the footprint in some place that both may have."""
    bed = item.on_bed(shape, under)
    places = ((shape.x, under.x), (shape.y, under.y))
    return bed is not None and all(
        first <= mine[1] - its[0] and mine[0] - its[1] <= last
        for (mine, its), (first, last) in zip(places, bed, strict=True)
    )


def _rest(room: Room, support: Support) -> _At:
    return _FLOOR if support.on == FREE else room.items[support.on].kind, support.rise


def reached(start: Iterable[_T], further: Callable[[_T], Iterable[_T]]) -> set[_T]:
    """All that is reached from the start."""
    reached = set(start)
    waiting = list(reached)
    while waiting:
        more = set(further(waiting.pop())) - reached
        reached |= more
        waiting += more
    return reached
