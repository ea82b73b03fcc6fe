"""A layout that keeps the axle ratings wherever there is one, and the places that go with that."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve, frozen

from configurator.arrangement.loads import Spots, kept_by, spots_within
from configurator.arrangement.rooms import Room
from configurator.arrangement.wishes import Place, narrowed
from configurator.errors import SearchLimit
from configurator.fit.layout import Unkept
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved

__all__ = ["Rated", "overloaded", "rated_spots"]


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
    the selection does not let pass; where none keeps those either, it stays with the one liked
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

    Ratings that choices still open could bring count; those that the selection lets pass do not.
    """
    spaces = [room.space for room in rooms]
    asked = demands(build, spaces, highest=True, passed=True)
    try:
        return spots_within(rooms, asked) is None
    except SearchLimit:
        return False
