"""Layouts within the axle ratings: whether there is one, and the least that an axle carries.

What a rating asks is a sum over the middles of the units (:class:`Demand`). Rooms depend on each
other only through such sums, so the least of one sum is found room by room; whether several sums
can be kept at once is one question about all rooms. Layouts that are known already are tried first;
OR-Tools' CP-SAT settles the rest, in bounded work, with sums of whole numbers.

A weight that is no multiple of a milligram counts, for CP-SAT, as the next lower one: the
sum it sees is never more than the true one, so a proof holds, and what it finds is looked at with
the true weights before it is believed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import Any, TypeAlias

from attrs import frozen

from configurator.errors import SearchLimit
from configurator.fit.layout import Place, Unkept
from configurator.fit.model import SEED, WORK, RoomModel
from configurator.fit.preferences import kept_in_order, narrowed
from configurator.fit.rooms import Room, Spot
from configurator.fit.search import arrange
from configurator.machine.solvers import solve, unsettled
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved
from configurator.words import text

Spots: TypeAlias = tuple[Spot, ...]

Key: TypeAlias = tuple[str, str]

Weights: TypeAlias = tuple[tuple[Key, Fraction], ...]

_QUESTION = text("whether a layout keeps the axle ratings")

_PARTS = 10**6
"""Parts of a kilogram that CP-SAT counts."""


def middles(room: Room, spots: Sequence[Spot]) -> Iterator[tuple[Key, Fraction]]:
    """Each unit by choice and option, and its middle behind the inside front of the space, mm."""
    for item, spot in zip(room.must, spots, strict=True):
        yield item.name.key, spot.x + Fraction(spot.shape.size[0], 2)


def _sum(weights: Weights, rooms: Sequence[Room], found: Sequence[Spots]) -> Fraction:
    by = dict(weights)
    every = (one for pair in zip(rooms, found, strict=True) for one in middles(*pair))
    return sum((by.get(unit, Fraction(0)) * x for unit, x in every), Fraction(0))


def _kept(asked: Iterable[Demand], rooms: Sequence[Room], found: Sequence[Spots]) -> bool:
    at = [one for pair in zip(rooms, found, strict=True) for one in middles(*pair)]
    return all(demand.keeps(demand.total(at)) for demand in asked)


def _ends(rooms: Sequence[Room], weights: Weights) -> tuple[Fraction, Fraction]:
    """Least and greatest that the sum can be, each unit alone in its room, which holds it."""
    by = dict(weights)
    least = greatest = Fraction(0)
    for item in (item for room in rooms for item in room.must):
        weight, half = by.get(item.name.key, Fraction(0)), Fraction(1, 2)
        first = min((shape.x[0] + half * shape.size[0] for shape in item.shapes), default=half * 0)
        last = max((shape.x[1] + half * shape.size[0] for shape in item.shapes), default=half * 0)
        least += min(first * weight, last * weight)
        greatest += max(first * weight, last * weight)
    return least, greatest


def spots_within(rooms: tuple[Room, ...], demands: tuple[Demand, ...]) -> tuple[Spots, ...] | None:
    """Spots for all rooms that keep every demand, or None, which is a proof that there are none.

    Raises:
        SearchLimit: it could not be settled.
    """
    first = tuple(spots for room in rooms if (spots := arrange(room)) is not None)
    if len(first) < len(rooms):
        return None
    ends = [(demand, *_ends(rooms, demand.weights)) for demand in demands]
    hard = tuple(demand for demand, _, greatest in ends if not demand.keeps(greatest))
    if _kept(hard, rooms, first):
        return first
    if not all(demand.keeps(least) for demand, least, _ in ends):
        return None
    for demand in hard:
        if _kept([demand], rooms, first):
            continue
        least, found = zip(*(least_sum(room, demand.weights) for room in rooms), strict=True)
        if not demand.keeps(sum(least, Fraction(0))):
            return None
        if _kept(hard, rooms, found):
            return found
    return _together(rooms, hard)


@lru_cache(maxsize=2048)
def least_sum(room: Room, weights: Weights) -> tuple[Fraction, Spots]:
    """A proven lower bound of the sum over every layout of the room, and the best layout met.

    The bound is the sum of that layout, but where a weight is no whole number of parts or the work
    allowed did not do. The room has to hold its units. It is remembered: patient states of five
    sales with a trailer take 55 CPU s in place of 153.

    Raises:
        SearchLimit: not even a layout was found.
    """
    by = dict(weights)
    least, _ = _ends([room], weights)
    start = arrange(room)
    assert start is not None
    if _sum(weights, [room], [start]) == least or not by.keys() & {i.name.key for i in room.must}:
        return least, start
    question = text("how far forward the units of {space} can sit", space=room.space)
    with unsettled(question):
        model = RoomModel(room)
        model.model.minimize(_scaled(model, by))
        for index, spot in zip(room.must_at, start, strict=True):
            model.model.add_hint(model.corner[index][0], spot.x)
        found = solve(model.model, question, WORK, SEED)
        if found is None:
            raise SearchLimit(text("{question} was not settled", question=question))
        spots = model.spots(found.solver)
    reached = _sum(weights, [room], [spots])
    if found.best and all((weight * _PARTS).denominator == 1 for weight in by.values()):
        return reached, spots
    bound = Fraction(floor(found.solver.best_objective_bound), 2 * _PARTS)
    return max(least, min(bound, reached)), spots


@unsettled(_QUESTION)
def _together(rooms: tuple[Room, ...], demands: tuple[Demand, ...]) -> tuple[Spots, ...] | None:
    """One question about all rooms and all demands."""
    from configurator.machine.cp_sat import cp_model

    shared = cp_model.CpModel()
    models = [RoomModel(room, shared) for room in rooms]
    for demand in demands:
        total = sum(_scaled(model, dict(demand.weights)) for model in models)
        bound = 2 * _PARTS * demand.most
        shared.add(total <= (ceil(bound) - 1 if demand.strict else floor(bound)))
    solved = solve(shared, _QUESTION, WORK, SEED)
    if solved is None:
        return None
    found = tuple(model.spots(solved.solver) for model in models)
    if _kept(demands, rooms, found):
        return found
    raise SearchLimit(text("{question} was not settled", question=_QUESTION))


def _scaled(model: RoomModel, weights: dict[Key, Fraction]) -> Any:
    """The sum in whole numbers, in half parts of a kilogram times mm; never more than it is."""
    return sum(
        floor(weights.get(item.name.key, Fraction(0)) * _PARTS) * model.twice_middle(index)
        for index, item in enumerate(model.room.items)
        if not item.optional
    )


@frozen(repr=False)
class Rated:
    """Spots chosen with a view to the axle ratings.

    Attributes:
        spots: for each room.
        ratings: ``kept``; ``exceeded``, which is a proof that no layout keeps them; or ``unknown``
            where that could not be settled.
        unkept: places asked for that cannot be kept beside the ratings.
    """

    spots: tuple[Spots, ...]
    ratings: str
    unkept: tuple[Unkept, ...] = ()


def rated_spots(
    build: Resolved,
    rooms: tuple[Room, ...],
    places: Sequence[Place],
    liked: tuple[Spots, ...],
) -> Rated:
    """The layout liked best where it keeps the ratings, or else one that does.

    Where none does, the ratings that choices still open could bring are tried, then those that
    the selection does not override; where none keeps those either, it stays with the one liked
    best. The places are those asked for, in order, that go together where ratings do not matter.
    """
    asked, found, verdict = demands(build, _spaces(rooms)), None, "kept"
    if _kept(asked, rooms, liked):
        return Rated(liked, "kept")
    try:
        found = spots_within(rooms, asked)
        for passed in (False, True):
            if found is None:
                verdict = "exceeded" if passed else "kept"
                asked = demands(build, _spaces(rooms), highest=True, passed=passed)
                found = spots_within(rooms, asked)
    except SearchLimit:
        return Rated(liked, "unknown")
    if found is None or _kept(asked, rooms, liked):
        return Rated(liked, verdict)
    _, beside, unkept = kept_in_order(
        places,
        lambda kept: spots_within(tuple(narrowed(room, kept) for room in rooms), asked),
        lambda kept: Unkept(kept[-1], overloads=True),
    )
    return Rated(found if beside is None else beside, verdict, tuple(unkept))


def overloaded(build: Resolved, rooms: tuple[Room, ...]) -> bool:
    """Whether it is proven that no layout of the rooms, which hold their units, keeps the ratings.

    Ratings that choices still open could bring count; those that the selection overrides do not.
    """
    try:
        asked = demands(build, _spaces(rooms), highest=True, passed=True)
        return spots_within(rooms, asked) is None
    except SearchLimit:
        return False


def _spaces(rooms: Sequence[Room]) -> list[str]:
    return [room.space for room in rooms]
