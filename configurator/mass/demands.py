"""Sums that a layout must keep so that the axle ratings hold.

An axle load is linear in the places of the masses, so each rating in each state that counts is one
sum of unit masses times places, with a bound made of everything whose place is certain.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.catalogue.vehicles import Ratings
from configurator.mass.axles import AxleLoads, share
from configurator.mass.picture import mass_picture
from configurator.mass.places import Places, places_of, reach_of
from configurator.mass.states import LoadCase, RatedLoad
from configurator.selection.picks import Override
from configurator.selection.resolved import Resolved, once

LIFTING = "lifting"
"""Subject of the demand that something stands on the front axle; nobody can let it pass."""


@frozen(eq=False, repr=False)
class Demand:
    """A sum over units that a layout keeps: weight times the middle of each, kg mm.

    Middles count from the inside front of the space that the unit is in.

    Attributes:
        subject: ``front-axle``, ``rear-axle`` or :data:`LIFTING`.
        state: id of the state it is about.
        weights: of one of each unit, by choice and option; negative where further back is better.
        most: what the sum may come to.
        strict: it has to stay below that.
        wheelbase: mm.
    """

    subject: str
    state: str
    weights: tuple[tuple[tuple[str, str], Fraction], ...]
    most: Fraction
    strict: bool
    wheelbase: int

    def total(self, middles: Iterable[tuple[tuple[str, str], Fraction]]) -> Fraction:
        """The sum where the middles of the units are there."""
        weights = dict(self.weights)
        return sum((weights[unit] * x for unit, x in middles if unit in weights), Fraction(0))

    def keeps(self, total: Fraction) -> bool:
        """Whether a sum is within the bound."""
        return total < self.most if self.strict else total <= self.most

    def over(self, total: Fraction) -> Fraction:
        """How many kg too many stand on the axle where the sum comes to that."""
        return (total - self.most) / self.wheelbase


def demands(
    build: Resolved,
    spaces: Collection[str],
    highest: bool = False,
    passed: bool = False,
) -> tuple[Demand, ...]:
    """What is asked of the units in those spaces, whose sizes are known.

    Units elsewhere stay where the mass picture takes them to be.

    Args:
        build: what is picked, from which catalogue.
        spaces: ids of the spaces that are laid out.
        highest: count the highest ratings that choices still open could bring.
        passed: leave out what the selection overrides.
    """
    picture, places = mass_picture(build, None), places_of(build)
    if picture is None or places is None:
        return ()
    left_out = let_pass(build.catalogue, build.selection.overrides) if passed else frozenset()
    found = []
    for state in picture.counted:
        weights, moment = _units(places, state, spaces)
        bars = [(LIFTING, state.loads.front)]
        for bar in state.bars:
            if bar.subject in ("front-axle", "rear-axle") and bar.subject not in left_out:
                rating = highest_rating(build, bar) if highest else bar.rating
                bars.append((bar.subject, rating - bar.load))
        for subject, room in bars:
            sign = -1 if subject == "front-axle" else 1  # what moves rearward goes to the rear one
            signed = tuple((unit, sign * mass) for unit, mass in sorted(weights.items()))
            most = sign * moment + room * picture.wheelbase
            strict = subject == LIFTING
            found.append(Demand(subject, state.id, signed, most, strict, picture.wheelbase))
    return tuple(found)


def _units(
    places: Places, state: LoadCase, spaces: Collection[str]
) -> tuple[dict[tuple[str, str], Fraction], Fraction]:
    """Mass of one of each unit to be placed, and the moment of all where the picture has them."""
    weights: dict[tuple[str, str], Fraction] = {}
    moment = Fraction(0)
    for item in state.items:
        unit, quantity = places.units.get(item.pick.key, (None, 0))
        if unit is None or unit.space not in spaces:
            continue
        each = item.mass / quantity
        weights[item.pick.key] = weights.get(item.pick.key, Fraction(0)) + each
        moment += item.mass * (item.x - places.inside_front(unit.space))
    return weights, moment


def let_pass(catalogue: Catalogue, overrides: Iterable[Override]) -> frozenset[str]:
    """Subjects of ratings and limits that do not stop, because somebody answers for them by name.

    Whoever lets the gross vehicle mass pass lets every limit that counts mass pass, and the other
    way round: they say the same of the same rating.
    """
    subjects = frozenset(override.subject for override in overrides)
    whole = {"gvm", *(limit.id for limit in catalogue.limits if limit.of_mass)}
    return subjects | whole if subjects & whole else subjects


def highest_rating(build: Resolved, bar: RatedLoad, more: bool = False) -> Fraction:
    """The highest rating that a choice of one which is still open could bring.

    With ``more``, that anything could bring which may still be picked.
    """
    asked = (c for c in build.catalogue.by_id.values() if more or c.pick == "one")
    still_open = (choice for choice in asked if build.takes_more(choice))
    ratings = (rated(o.ratings, bar.subject) for choice in still_open for o in choice.options)
    return max([bar.rating, *(Fraction(kg) for kg in ratings if kg is not None)])


def rated(ratings: Ratings | None, subject: str) -> Decimal | None:
    """The rating of that subject among those of a vehicle or an upgrade, kg."""
    found: Decimal | None = getattr(ratings, subject.replace("-", "_"), None)
    return found


@once
def axle_bounds(
    build: Resolved, state: str = "full", more: bool = False
) -> tuple[AxleLoads, AxleLoads] | None:
    """Axle loads in a state with every unit as far forward, and as far back, as can be.

    Whatever the layout, the rear axle carries at least the rear load of the first and the front
    axle at least the front load of the second: what exceeds a rating there no layout can carry.
    With ``more``, as far as everything may be moved by what can still be picked. None while no
    vehicle is picked.

    Raises:
        KeyError: the selection has no such state.
    """
    picture, places = mass_picture(build, None), places_of(build)
    if picture is None or places is None:
        return None
    there = picture.state(state)
    forward = backward = there.loads
    reach = reach_of(build, places.vehicle) if more else places
    for item in there.items:
        choice = build.choices.get(item.pick.choice)
        option = choice and choice.by_id[item.pick.option]
        if choice and option and (more or option.unit is not None):
            first, last = reach.where(choice, option)
            here = share(item.mass, item.x, picture.wheelbase)
            forward += share(item.mass, first, picture.wheelbase) - here
            backward += share(item.mass, last, picture.wheelbase) - here
    return forward, backward
