"""What a conflict has to say of a rating: by how many kilograms, and what would carry it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

import attrs

from configurator.arrangement.rooms import Room
from configurator.arrangement.search import arrange
from configurator.catalogue.model import VEHICLE, Catalogue, Choice, Pick
from configurator.engine.conflicts import Conflict
from configurator.engine.loaded_rooms import excess
from configurator.engine.search import Search
from configurator.engine.weighing import AXLES, Bar, Fixed, Key
from configurator.errors import SearchLimit
from configurator.mass.axles import overhang_limit
from configurator.mass.demands import LIFTING, Demand, demands
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.words import left, plain, used

__all__ = ["rating_hint", "rating_words"]

_STATES = {
    "delivered": "as delivered",
    "full": "travelling full",
    "towing": "full with a trailer",
}
_TITLES = {
    "gvm": "the vehicle would weigh",
    "front-axle": "the front axle would carry",
    "rear-axle": "the rear axle would carry",
    "gcm": "vehicle and trailer would weigh",
}


def rating_words(
    search: Search, conflict: Conflict, subject: str, selection: Selection | None = None
) -> str:
    """The rating with its numbers: what it comes to at least, as far as these picks tell.

    A conflict names just enough picks to exceed a rating, and so may exceed it by very little. With
    the selection that it is about, what all of its picks come to is said too.
    """
    if subject == "people":
        return "more are to travel than there are seats"
    if subject == "tow-ball":
        return "more is to stand on the tow ball than vehicle and tow bar are rated for"
    if subject == "overhang":
        return _overhang_words(search, conflict)
    least = _Least(search, conflict)
    found = least.worst(subject)
    wherever = ", however the units are placed" if subject == "axles" and least.by_layout else ""
    if found is None and subject == "gcm":
        return "the trailer is heavier than the ratings of vehicle and tow bar leave room for"
    if found is None:
        title = "an axle" if subject == "axles" else "the vehicle"
        return (
            f"{title} would carry more than it is rated for, with what has to go with it{wherever}"
        )
    bar, load, rating = found
    if bar.subject == LIFTING:
        return f"{_STATES[bar.state]}, the front wheels would leave the ground"
    return (
        f"{_STATES[bar.state]}, {_TITLES[bar.subject]} at least {_kg(load, up=True)} kg, "
        f"{_kg(load - rating, up=True)} kg more than the {_kg(rating, up=False)} kg it is rated for"
        f"{wherever}{_with_all(search, conflict, subject, found, selection)}"
    )


def _with_all(
    search: Search,
    conflict: Conflict,
    subject: str,
    found: tuple[Bar, Fraction, Fraction],
    selection: Selection | None,
) -> str:
    """What all picks of the selection come to, where that is more than the conflict's own."""
    if selection is None:
        return ""
    picks = tuple(Pick(c, o, n) for (c, o), n in selection.quantities.items())
    if conflict.wanted is not None:
        picks = tuple(p for p in picks if str(p) != str(conflict.wanted))
    every = _Least(search, attrs.evolve(conflict, picks=picks)).worst(subject)
    if every is None or every[0].subject == LIFTING:
        return ""
    bar, load, rating = every
    if load - rating <= found[1] - found[2]:
        return ""
    same = (bar.subject, bar.state) == (found[0].subject, found[0].state)
    which = "" if same else f"{_STATES[bar.state]}, {_TITLES[bar.subject]} "
    return (
        f" (with all that is picked, {which}at least {_kg(load, up=True)} kg, "
        f"{_kg(load - rating, up=True)} kg more)"
    )


def rating_hint(search: Search, conflict: Conflict, subject: str) -> str:
    """The upgrades that would carry it on this vehicle, if any can be had; or else what to do."""
    least = _Least(search, conflict)
    found = least.worst(subject) if subject in ("axles", "gvm", "gcm") else None
    if found is None or found[0].subject == LIFTING:
        return "Choose lighter parts, or carry less behind the rear axle." if found else ""
    bar, load, _ = found
    told = [
        f"{search.catalogue.option(*key).title} would rate it at {_kg(rating, up=False)} kg"
        for key, rating in least.upgrades(bar, load)
    ]
    if told:
        return f"{told[0]}, once certified."
    return "Choose lighter parts, or a vehicle that carries more."


class _Least:
    """The least loads that the picks and rules of a conflict leave."""

    def __init__(self, search: Search, conflict: Conflict) -> None:
        self.search, self.weighing = search, search.ratings.weighing
        picks = [*conflict.picks, *([conflict.wanted] if conflict.wanted else [])]
        self.held = {(pick.choice, pick.option): pick.quantity for pick in picks}
        self._rules = frozenset(fact for fact in conflict.facts if fact.kind == "rule")
        self._literals = [search.encoding.at_least(*k, n) for k, n in sorted(self.held.items())]
        self._may: dict[Key, bool] = {}
        self.by_layout = any(fact.kind == "layout" for fact in conflict.facts)
        self.held |= dict.fromkeys(self._left(), 1)

    def _left(self) -> list[Key]:
        """Of choices that shape something, the only answer that picks and rules leave."""
        answered = {choice for choice, _ in self.held}
        shaping = {
            *self.weighing.fixing,
            *(c for on in self.search.layouts.others.values() for c, _ in on),
        }
        found = []
        for name in sorted(shaping - answered):
            choice = self.search.catalogue.by_id[name]
            left = [key for o in choice.options if self.may(key := (name, o.id))]
            if choice.pick == "one" and len(left) == 1:
                found += left
        return found

    def may(self, key: Key) -> bool:
        """Whether picks and rules of the conflict leave the option."""
        if key not in self._may:
            literals = [*self._literals, self.search.encoding.at_least(*key)]
            self._may[key] = self.search.sound(literals, self._rules) is not None
        return self._may[key]

    def worst(self, subject: str) -> tuple[Bar, Fraction, Fraction] | None:
        """The bar exceeded most on every vehicle there may be, its least load and its rating."""
        found = []
        for vehicle in self.weighing.bars:
            if not self.may((VEHICLE, vehicle)):
                continue
            over = list(self._over(vehicle, subject))
            if not over:
                return None
            found.append(max(over, key=lambda one: (one[1] - one[2], one[0].subject, one[0].state)))
        return min(found, key=lambda one: (one[1] - one[2], one[0].subject), default=None)

    def _over(self, vehicle: str, subject: str) -> Iterator[tuple[Bar, Fraction, Fraction]]:
        subjects = AXLES if subject == "axles" else (subject,)
        fixed = self._fixed()
        for index, bar in enumerate(self.weighing.bars[vehicle]):
            hitched = any(key in self.held for key in self.weighing.hitches)
            passed = bar.subject in self.search.ratings.journey.passed
            if bar.subject not in subjects or passed or (bar.hitched and not hitched):
                continue
            rating = self._rating(bar)
            load = self._load(vehicle, fixed, index) + self._crowded(vehicle, bar)
            if rating is not None and bar.over(load, rating):
                yield bar, load, rating

    def _crowded(self, vehicle: str, bar: Bar) -> Fraction:
        """What the units picked add because they stand in each other's way, where that is known.

        Nothing is counted where some of them might stand on something that is not picked.
        """
        if not self.by_layout or bar.subject not in AXLES:
            return Fraction(0)
        catalogue, search = self.search.catalogue, self.search
        held = self.held | {(VEHICLE, vehicle): 1}
        units = [unit for key in held if (unit := catalogue.option(*key).unit) is not None]
        if any(unit.stands_on != ("floor",) for unit in units):
            return Fraction(0)
        rooms = [room for s in search.layouts.others if (room := search.layouts.room(s, held))]
        selection = search.ratings.journey.on(search.encoding.selection(held))
        asked = demands(Resolved(catalogue, selection), [room.space for room in rooms], passed=True)
        total = Fraction(0)
        for demand in asked:
            if (demand.subject, demand.state) == (bar.subject, bar.state):
                total += sum((_excess(catalogue, room, demand) for room in rooms), Fraction(0))
        return total

    def _fixed(self) -> Fixed:
        """Choices that masses and places hang on and that are picked."""
        catalogue = self.search.catalogue
        single = {c for c, _ in self.held if catalogue.by_id[c].pick != "several"}
        return self.weighing.fixed(
            self.held, [name for name in self.weighing.fixing if name in single]
        )

    def _rating(self, bar: Bar) -> Fraction | None:
        """The highest rating that is not ruled out at once; the vehicle's own among them."""
        ratings = [] if bar.rating is None else [bar.rating]
        ratings += [
            ratings[bar.subject]
            for key, ratings in self.weighing.upgrades
            if bar.subject in ratings and self.may(key)
        ]
        return max(ratings, default=None)

    def _load(self, vehicle: str, fixed: Fixed, index: int) -> Fraction:
        """The least load over all that picks and rules of the conflict leave."""
        total = self.weighing.bars[vehicle][index].base
        weights = self.weighing.weights(vehicle, fixed)
        for choice in self.search.encoding.choices:
            each = {o.id: weights.spans((choice.id, o.id))[index][0] for o in choice.options}
            held = {o: n for (c, o), n in self.held.items() if c == choice.id}
            if choice.id == VEHICLE:
                total += each[vehicle]
            elif choice.pick == "several":
                for option, kg in each.items():
                    if kg > 0:
                        total += held.get(option, 0) * kg
                    elif self.may((choice.id, option)):
                        total += choice.by_id[option].most * kg
            elif held:
                total += each[next(iter(held))]
            else:
                total += self._least(choice, each)
        return total

    def _least(self, choice: Choice, each: dict[str, Fraction]) -> Fraction:
        """The least that an open choice of one adds."""
        if choice.pick == "at-most-one" and min(each.values()) >= 0:
            return Fraction(0)
        rising = sorted(each, key=lambda option: (each[option], option))
        least = next((each[o] for o in rising if self.may((choice.id, o))), Fraction(0))
        return min(least, Fraction(0)) if choice.pick == "at-most-one" else least

    def upgrades(self, bar: Bar, load: Fraction) -> Iterator[tuple[Key, Fraction]]:
        """Upgrades that would carry the load and can be had with the vehicle."""
        literals = [
            self.search.encoding.at_least(*key, n)
            for key, n in sorted(self.held.items())
            if key[0] == VEHICLE
        ]
        for key, ratings in self.weighing.upgrades:
            rating = ratings.get(bar.subject)
            if rating is not None and not bar.over(load, rating):
                wanted = self.search.encoding.at_least(*key)
                if self.search.sound([*literals, wanted]) is not None:
                    yield key, rating


def _excess(catalogue: Catalogue, room: Room, demand: Demand) -> Fraction:
    """What the units of the room add; nothing where that cannot be told."""
    try:
        return Fraction(0) if arrange(room) is None else excess(catalogue, room, demand)
    except SearchLimit:
        return Fraction(0)


def _overhang_words(search: Search, conflict: Conflict) -> str:
    picked = [
        pick.option
        for pick in (*conflict.picks, conflict.wanted)
        if pick and pick.choice == VEHICLE
    ]
    told = "tray or canopy would end too far behind the rear axle"
    if not picked:
        return told
    vehicle = search.ratings.weighing.vehicles[picked[0]]
    return f"{told}: at most {plain(_mm(overhang_limit(vehicle.wheelbase)))} mm are allowed"


def _mm(length: Fraction) -> Decimal:
    return Decimal(length.numerator) / Decimal(length.denominator)


def _kg(mass: Fraction, up: bool) -> str:
    return plain(used(mass) if up else left(mass))
