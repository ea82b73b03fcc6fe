"""What a conflict has to say of a rating: by how many kilograms, and what would carry it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.catalogue.model import VEHICLE, Catalogue, Choice
from configurator.catalogue.units import ON_FLOOR
from configurator.engine.constraint import ConstraintId, Explanation, Grounds, Held
from configurator.engine.joint_fit import layouts_of
from configurator.engine.loaded_rooms import excess
from configurator.engine.sums import Key
from configurator.engine.weighing import AXLES, Bar, Fixed
from configurator.errors import SearchLimit
from configurator.fit.rooms import Room
from configurator.fit.search import arrange
from configurator.mass.axles import overhang_limit
from configurator.mass.demands import LIFTING, Demand, demands
from configurator.selection.resolved import Resolved
from configurator.words import Text, left, text, used

if TYPE_CHECKING:
    from configurator.engine.rating import Ratings

_PLAIN = {
    "people": text("more are to travel than there are seats"),
    "tow-ball": text("the tow ball would carry more than vehicle and tow bar are rated for"),
}
_STATES = {
    "delivered": text("as delivered"),
    "full": text("travelling full"),
    "towing": text("full with a trailer"),
}
_LOADS = {
    "gvm": text("the vehicle would weigh"),
    "front-axle": text("the front axle would carry"),
    "rear-axle": text("the rear axle would carry"),
    "gcm": text("vehicle and trailer would weigh"),
}


RATING_OF = dict.fromkeys(AXLES, "axles") | {"gvm": "gvm", "gcm": "gcm"}
"""Which rating a bar is of; both axles, and that the front wheels stay on the ground, are one."""


@frozen
class Exceeded:
    """A load over its rating, kg.

    Attributes:
        bar: which load.
        load: the least that it comes to.
        rating: the highest that it may come to.
    """

    bar: Bar
    load: Fraction
    rating: Fraction

    @property
    def over(self) -> Fraction:
        """By how much."""
        return self.load - self.rating


@frozen
class RatingExplained(Explanation):
    """What a conflict has to say of a rating: by how many kilograms, and what would carry it.

    Attributes:
        subject: which rating.
        found: what it comes to at least, as far as the picks of the conflict tell. They are just
            enough to exceed it, and so may exceed it by very little.
        every: what all picks come to, where that is more.
        by_layout: it rests on how units stand in each other's way.
        overhang: how far behind the rear axle something may end, mm, where that is known.
        upgrades: what would carry the load and is available, with its rating.
        covers: the fit of all units in a space.
    """

    subject: str
    found: Exceeded | None = None
    every: Exceeded | None = None
    by_layout: bool = False
    overhang: Fraction | None = None
    upgrades: tuple[tuple[str, Fraction], ...] = ()
    covers: frozenset[ConstraintId] = frozenset()

    @property
    def sentence(self) -> str:
        """The least load, by how much it is too much, and the rating."""
        if self.subject in _PLAIN:
            return _PLAIN[self.subject]
        if self.subject == "overhang":
            if self.overhang is None:
                return text("tray or canopy would end too far behind the rear axle")
            most = Decimal(self.overhang.numerator) / Decimal(self.overhang.denominator)
            return text(
                "tray or canopy would end too far behind the rear axle: at most {most} mm are "
                "allowed",
                most=most,
            )
        told = self._told()
        if self.by_layout:
            return text("{load}, however the units are placed", load=told)
        return told

    def _told(self) -> Text:
        if self.found is None and self.subject == "gcm":
            return text("the trailer is heavier than the ratings of vehicle and tow bar allow")
        if self.found is None and self.subject == "axles":
            return text(
                "an axle would carry more than it is rated for, with what has to go with it"
            )
        if self.found is None:
            return text(
                "the vehicle would carry more than it is rated for, with what has to go with it"
            )
        state = _STATES[self.found.bar.state]
        if self.found.bar.subject == LIFTING:
            return text("{state}, the front wheels would leave the ground", state=state)
        return text(
            "{state}, {load} at least {kg} kg, {over} kg more than the {rating} kg it is rated for",
            state=state,
            load=_LOADS[self.found.bar.subject],
            kg=used(self.found.load),
            over=used(self.found.over),
            rating=left(self.found.rating),
        )

    @property
    def more(self) -> str:
        """What all that is picked comes to, where that is more."""
        every, found = self.every, self.found
        if every is None or found is None or LIFTING in (found.bar.subject, every.bar.subject):
            return ""
        bar = every.bar
        known = {"kg": used(every.load), "over": used(every.over)}
        if (bar.subject, bar.state) == (found.bar.subject, found.bar.state):
            return text("(with all that is picked, at least {kg} kg, {over} kg more)", **known)
        return text(
            "(with all that is picked, {state}, {load} at least {kg} kg, {over} kg more)",
            state=_STATES[bar.state],
            load=_LOADS[bar.subject],
            **known,
        )

    @property
    def hint(self) -> str:
        """The upgrade that would carry it, or else what to do."""
        if self.found is None:
            return ""
        if self.found.bar.subject == LIFTING:
            return text("Choose lighter parts, or carry less behind the rear axle.")
        for title, rating in self.upgrades[:1]:
            known = {"title": title, "rating": left(rating)}
            return text("{title} would rate it at {rating} kg, once certified.", **known)
        return text("Choose lighter parts, or a vehicle that carries more.")


def explained(ratings: Ratings, subject: str, grounds: Grounds) -> RatingExplained:
    """What a conflict has to say of the rating."""
    if subject in _PLAIN:
        return RatingExplained(subject)
    if subject == "overhang":
        vehicle = next((option for choice, option in grounds.held if choice == VEHICLE), None)
        if vehicle is None:
            return RatingExplained(subject)
        wheelbase = ratings.weighing.vehicles[vehicle].wheelbase
        return RatingExplained(subject, overhang=overhang_limit(wheelbase))
    least = _Least(ratings, grounds, grounds.held)
    found = least.worst(subject)
    by_layout = subject == "axles" and least.by_layout
    covers = layouts_of(ratings.layouts) if subject == "axles" else frozenset()
    if found is None or found.bar.subject == LIFTING:
        return RatingExplained(subject, found, by_layout=by_layout, covers=covers)
    every = _Least(ratings, grounds, grounds.held | grounds.every).worst(subject)
    return RatingExplained(
        subject,
        found,
        every if every is not None and every.over > found.over else None,
        by_layout,
        upgrades=tuple(least.upgrades(found)),
        covers=covers,
    )


class _Least:
    """The least loads that the picks and rules of a conflict leave."""

    def __init__(self, ratings: Ratings, grounds: Grounds, held: Held) -> None:
        self.ratings, self.grounds, self.weighing = ratings, grounds, ratings.weighing
        self.catalogue, self.encoding = ratings.catalogue, ratings.encoding
        self.held = dict(held)
        self._literals = [self.encoding.at_least(*key, n) for key, n in sorted(held.items())]
        self._may: dict[Key, bool] = {}
        self.by_layout = bool(layouts_of(ratings.layouts) & grounds.members)
        self.held |= dict.fromkeys(self._left(), 1)

    def _left(self) -> list[Key]:
        """Of choices that shape something, the only answer that picks and rules leave."""
        answered = {choice for choice, _ in self.held}
        shaping = {
            *self.weighing.fixing,
            *(c for on in self.ratings.layouts.others.values() for c, _ in on),
        }
        found = []
        for name in sorted(shaping - answered):
            choice = self.catalogue.by_id[name]
            left = [key for o in choice.options if self.may(key := (name, o.id))]
            if choice.pick == "one" and len(left) == 1:
                found += left
        return found

    def may(self, key: Key) -> bool:
        """Whether picks and rules of the conflict leave the option."""
        if key not in self._may:
            literals = [*self._literals, self.encoding.at_least(*key)]
            self._may[key] = self.grounds.possible(literals, self.grounds.rules)
        return self._may[key]

    def worst(self, subject: str) -> Exceeded | None:
        """The bar exceeded most on every vehicle there may be, its least load and its rating."""
        found = []
        for vehicle in self.weighing.bars:
            if not self.may((VEHICLE, vehicle)):
                continue
            over = list(self._over(vehicle, subject))
            if not over:
                return None
            found.append(max(over, key=lambda one: (one.over, one.bar.subject, one.bar.state)))
        return min(found, key=lambda one: (one.over, one.bar.subject), default=None)

    def _over(self, vehicle: str, subject: str) -> Iterator[Exceeded]:
        subjects = AXLES if subject == "axles" else (subject,)
        fixed = self._fixed()
        for index, bar in enumerate(self.weighing.bars[vehicle]):
            hitched = any(key in self.held for key in self.weighing.hitches)
            passed = bar.subject in self.ratings.journey.passed
            if bar.subject not in subjects or passed or (bar.hitched and not hitched):
                continue
            rating = self._rating(bar)
            load = self._load(vehicle, fixed, index) + self._crowded(vehicle, bar)
            if rating is not None and bar.over(load, rating):
                yield Exceeded(bar, load, rating)

    def _crowded(self, vehicle: str, bar: Bar) -> Fraction:
        """What the units picked add because they stand in each other's way, where that is known.

        Nothing is counted where some of them might stand on something that is not picked.
        """
        if not self.by_layout or bar.subject not in AXLES:
            return Fraction(0)
        catalogue, layouts = self.catalogue, self.ratings.layouts
        held = self.held | {(VEHICLE, vehicle): 1}
        units = [unit for key in held if (unit := catalogue.option(*key).unit) is not None]
        if any(unit.stands_on != (ON_FLOOR,) for unit in units):
            return Fraction(0)
        rooms = [room for s in layouts.others if (room := layouts.room(s, held))]
        selection = self.ratings.journey.on(self.encoding.selection(held))
        asked = demands(Resolved(catalogue, selection), [room.space for room in rooms], passed=True)
        total = Fraction(0)
        for demand in asked:
            if (demand.subject, demand.state) == (bar.subject, bar.state):
                total += sum((_excess(catalogue, room, demand) for room in rooms), Fraction(0))
        return total

    def _fixed(self) -> Fixed:
        """Choices that masses and places depend on and that are picked."""
        catalogue = self.catalogue
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
        for choice in self.encoding.choices:
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

    def upgrades(self, found: Exceeded) -> Iterator[tuple[str, Fraction]]:
        """Upgrades that would carry the load and are available with the vehicle."""
        literals = [
            self.encoding.at_least(*key, n)
            for key, n in sorted(self.held.items())
            if key[0] == VEHICLE
        ]
        for key, ratings in self.weighing.upgrades:
            rating = ratings.get(found.bar.subject)
            if rating is None or found.bar.over(found.load, rating):
                continue
            if self.grounds.possible([*literals, self.encoding.at_least(*key)], None):
                yield self.catalogue.option(*key).title, rating


def _excess(catalogue: Catalogue, room: Room, demand: Demand) -> Fraction:
    """What the units of the room add; nothing where that cannot be told."""
    try:
        return Fraction(0) if arrange(room) is None else excess(catalogue, room, demand)
    except SearchLimit:
        return Fraction(0)
