"""Layouts within the axle ratings: whether there is one, and the least that an axle carries.

What a rating asks is a sum over the middles of the units (:class:`Demand`). Rooms hang together
only through such sums, so the least of one sum is found room by room; whether several sums can be
kept at once is one question about all rooms. Layouts that are known already are tried first;
OR-Tools' CP-SAT settles the rest, in bounded work, with sums of whole numbers.

A weight that is no multiple of a milligram counts, for CP-SAT, as the next lower one: the
sum it sees is never more than the true one, so a proof holds, and what it finds is looked at with
the true weights before it is believed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import Any, TypeAlias

from attrs import evolve, frozen

from configurator.errors import SearchLimit
from configurator.fit.layout import Unkept
from configurator.fit.model import SEED, WORK, RoomModel
from configurator.fit.preferences import Place, narrowed
from configurator.fit.rooms import Room, Spot
from configurator.fit.search import arrange
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved
from configurator.solving import solve
from configurator.words import text

Spots: TypeAlias = tuple[Spot, ...]

Key: TypeAlias = tuple[str, str]
Weights: TypeAlias = tuple[tuple[Key, Fraction], ...]

_LITTLE_WORK = 1.0
"""Deterministic time for a first try at all demands at once, before the least of each is sought."""

_PARTS = 10**6
"""Parts of a kilogram that CP-SAT counts."""


def middles(room: Room, spots: Sequence[Spot]) -> Iterator[tuple[Key, Fraction]]:
    """Each unit by choice and option, and its middle behind the inside front of the space, mm."""
    for item, spot in zip(room.must, spots, strict=True):
        yield item.name.key, spot.x + Fraction(spot.shape.size[0], 2)


def kept_by(demand: Demand, rooms: Sequence[Room], found: Sequence[Spots]) -> bool:
    """Whether the layout keeps the demand."""
    pairs = zip(rooms, found, strict=True)
    return demand.keeps(sum((demand.total(middles(*pair)) for pair in pairs), Fraction(0)))


def ends(room: Room, weights: Weights) -> tuple[Fraction, Fraction]:
    """Least and greatest that the sum can be, each unit alone in the room, which holds it."""
    by = dict(weights)
    least = greatest = Fraction(0)
    for item in room.must:
        weight = by.get(item.name.key, Fraction(0))
        half = [(shape.x, Fraction(shape.size[0], 2)) for shape in item.shapes]
        first = min((x[0] + mid for x, mid in half), default=Fraction(0)) * weight
        last = max((x[1] + mid for x, mid in half), default=Fraction(0)) * weight
        least, greatest = least + min(first, last), greatest + max(first, last)
    return least, greatest


def spots_within(rooms: tuple[Room, ...], demands: tuple[Demand, ...]) -> tuple[Spots, ...] | None:
    """Spots for all rooms that keep every demand, or None, which is a proof that there are none.

    Raises:
        SearchLimit: it could not be settled.
    """
    first = tuple(spots for room in rooms if (spots := arrange(room)) is not None)
    if len(first) < len(rooms):
        return None
    hard = tuple(d for d in demands if not _always(rooms, d))
    if all(kept_by(demand, rooms, first) for demand in hard):
        return first
    for demand in hard:
        if not demand.keeps(sum((ends(room, demand.weights)[0] for room in rooms), Fraction(0))):
            return None
    try:
        return _together(rooms, hard, _LITTLE_WORK)
    except SearchLimit:
        pass
    for demand in hard:
        if kept_by(demand, rooms, first):
            continue
        least = [least_sum(room, demand.weights) for room in rooms]
        if not demand.keeps(sum((low for low, _ in least), Fraction(0))):
            return None
        found = tuple(spots for _, spots in least)
        if all(kept_by(other, rooms, found) for other in hard):
            return found
    return _together(rooms, hard, WORK)


def _always(rooms: Sequence[Room], demand: Demand) -> bool:
    return demand.keeps(sum((ends(room, demand.weights)[1] for room in rooms), Fraction(0)))


@lru_cache(maxsize=2048)
def least_sum(room: Room, weights: Weights) -> tuple[Fraction, Spots]:
    """A proven lower bound of the sum over every layout of the room, and the best layout met.

    The bound is the sum of that layout, but where a weight is no whole number of parts or the work
    allowed did not do. The room has to hold its units.

    Raises:
        SearchLimit: not even a layout was found.
    """
    by = dict(weights)
    relevant = {item.name.key for item in room.must} & by.keys()
    least, _ = ends(room, weights)
    start = arrange(room)
    assert start is not None
    if not relevant or _sum(room, start, weights) == least:
        return least, start
    model = RoomModel(room)
    scaled = _scaled(model, by)
    model.model.minimize(scaled)
    for index, spot in zip(room.must_at, start, strict=True):
        model.model.add_hint(model.corner[index][0], spot.x)
    question = text("how far forward the units of {space} can sit", space=room.space)
    found = solve(model.model, question, WORK, SEED)
    if found is None:
        raise SearchLimit(text("{question} was not settled", question=question))
    spots = model.spots(found.solver)
    reached = _sum(room, spots, weights)
    exact = all((weight * _PARTS).denominator == 1 for weight in by.values())
    if found.best and exact:
        return reached, spots
    bound = Fraction(floor(found.solver.best_objective_bound), 2 * _PARTS)
    return max(least, min(bound, reached)), spots


def _sum(room: Room, spots: Spots, weights: Weights) -> Fraction:
    by = dict(weights)
    return sum((by.get(u, Fraction(0)) * x for u, x in middles(room, spots)), Fraction(0))


@lru_cache(maxsize=1024)
def _together(
    rooms: tuple[Room, ...], demands: tuple[Demand, ...], work: float
) -> tuple[Spots, ...] | None:
    """One question about all rooms and all demands."""
    from ortools.sat.python import cp_model

    shared = cp_model.CpModel()
    models = [RoomModel(room, shared) for room in rooms]
    for demand in demands:
        total = sum(_scaled(model, dict(demand.weights)) for model in models)
        bound = 2 * _PARTS * demand.most
        shared.add(total <= (ceil(bound) - 1 if demand.strict else floor(bound)))
    question = text("whether a layout keeps the axle ratings")
    solved = solve(shared, question, work, SEED)
    if solved is None:
        return None
    found = tuple(model.spots(solved.solver) for model in models)
    if all(kept_by(demand, rooms, found) for demand in demands):
        return found
    raise SearchLimit(text("{question} was not settled", question=question))


def _scaled(model: RoomModel, weights: dict[Key, Fraction]) -> Any:
    """The sum in whole numbers, in half parts of a kilogram times mm; never more than it is."""
    return sum(
        floor(weights.get(item.name.key, Fraction(0)) * _PARTS) * model.twice_middle(index)
        for index, item in enumerate(model.room.items)
        if not item.optional
    )


@frozen
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
    best.

    Args:
        build: what is picked, from which catalogue.
        rooms: each holds its units.
        places: those asked for that go together where ratings do not matter, in order.
        liked: spots that keep them.
    """
    spaces = [room.space for room in rooms]
    asked = demands(build, spaces)
    if all(kept_by(demand, rooms, liked) for demand in asked):
        return Rated(liked, "kept")
    try:
        found, verdict = spots_within(rooms, asked), "kept"
        if found is None:
            asked = demands(build, spaces, highest=True)
            found = spots_within(rooms, asked)
        if found is None:
            verdict = "exceeded"
            asked = demands(build, spaces, highest=True, passed=True)
            found = spots_within(rooms, asked)
    except SearchLimit:
        return Rated(liked, "unknown")
    if found is None or all(kept_by(demand, rooms, liked) for demand in asked):
        return Rated(liked, verdict)
    if not places:
        return Rated(found, verdict)
    return _with_places(rooms, asked, places, Rated(found, verdict))


def _with_places(
    rooms: tuple[Room, ...], asked: tuple[Demand, ...], places: Sequence[Place], found: Rated
) -> Rated:
    """Places are taken in order, each kept if it can be."""
    whole = _settled(rooms, asked, places)
    if whole is not None:
        return evolve(found, spots=whole)
    kept: list[Place] = []
    unkept = []
    for place in places:
        spots = _settled(rooms, asked, [*kept, place])
        if spots is None:
            unkept.append(place.unkept(overloads=True))
        else:
            kept.append(place)
            found = evolve(found, spots=spots)
    return evolve(found, unkept=tuple(unkept))


def _settled(
    rooms: tuple[Room, ...], asked: tuple[Demand, ...], places: Sequence[Place]
) -> tuple[Spots, ...] | None:
    """Spots that keep the demands and the places; None where none are found."""
    try:
        return spots_within(tuple(narrowed(room, places) for room in rooms), asked)
    except SearchLimit:
        return None


def overloaded(build: Resolved, rooms: tuple[Room, ...]) -> bool:
    """Whether it is proven that no layout of the rooms, which hold their units, keeps the ratings.

    Ratings that choices still open could bring count; those that the selection overrides do not.
    """
    spaces = [room.space for room in rooms]
    asked = demands(build, spaces, highest=True, passed=True)
    try:
        return spots_within(rooms, asked) is None
    except SearchLimit:
        return False
