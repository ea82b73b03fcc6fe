"""What a conflict says of a rating: by how many kilograms, and what would carry it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.catalogue.model import VEHICLE
from configurator.catalogue.units import ON_FLOOR
from configurator.engine.constraint import ConstraintId, Explanation, Grounds, Held
from configurator.engine.joint_fit import layouts_of
from configurator.engine.limits import Key, Load
from configurator.engine.loaded_rooms import known_excess
from configurator.engine.weighing import Bar, Loads
from configurator.mass.axles import overhang_limit
from configurator.mass.demands import LIFTING, demands
from configurator.mass.states import STATES, lifted_words, load_words, over_words, upgrade_words
from configurator.selection.resolved import Resolved
from configurator.words import Text, text, used

if TYPE_CHECKING:
    from configurator.engine.rating import RatingConstraint

_PLAIN = {
    "people": text("more are to travel than there are seats"),
    "tow-ball": text("the tow ball would carry more than vehicle and tow bar are rated for"),
}

_MORE_THAN_RATED = {
    "gcm": text("the trailer is heavier than the ratings of vehicle and tow bar allow"),
    "axles": text("an axle would carry more than it is rated for, with what has to go with it"),
    "gvm": text("the vehicle would carry more than it is rated for, with what has to go with it"),
}
"""What is said where nobody can tell by how much."""

RATING_OF = {"gvm": "gvm", "gcm": "gcm"}
RATING_OF |= dict.fromkeys(("front-axle", "rear-axle", LIFTING), "axles")
"""Which rating a bar is of; both axles, and that the front wheels stay on the ground, are one."""


@frozen
class Exceeded:
    """A load over its rating, kg.

    Attributes:
        subject: which load.
        state: id of the state that it is in.
        load: the least that it comes to.
        rating: the highest that it may come to.
    """

    subject: str
    state: str
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
        by_layout: it rests on how units are in each other's way.
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
        if self.found is None:
            return _MORE_THAN_RATED[self.subject]
        found, state = self.found, STATES[self.found.state]
        if found.subject == LIFTING:
            return lifted_words(state)
        return over_words(found.subject, state, found.load, found.rating, at_least=True)

    @property
    def more(self) -> str:
        """What all that is picked comes to, where that is more."""
        every, found = self.every, self.found
        if every is None or found is None or LIFTING in (found.subject, every.subject):
            return ""
        load: Text = text("at least {kg}", kg=used(every.load))
        if (every.subject, every.state) != (found.subject, found.state):
            load = load_words(every.subject, STATES[every.state], load)
        else:
            load = text("{load} kg", load=load)
        return text(
            "(with all that is picked, {load}, {over} kg more)", load=load, over=used(every.over)
        )

    @property
    def hint(self) -> str:
        """The upgrade that would carry it, or else what to do."""
        if self.found is None:
            return ""
        if self.found.subject == LIFTING:
            return text("Choose lighter parts, or carry less behind the rear axle.")
        for title, rating in self.upgrades[:1]:
            return text("{told}.", told=upgrade_words(title, rating))
        return text("Choose lighter parts, or a vehicle that carries more.")


def explained(rating: RatingConstraint, grounds: Grounds) -> RatingExplained:
    """What a conflict has to say of the rating."""
    subject, weighing = rating.subject, rating.weighing
    if subject in _PLAIN:
        return RatingExplained(subject)
    if subject == "overhang":
        vehicles = [option for choice, option in grounds.held if choice == VEHICLE]
        limits = [overhang_limit(weighing.vehicles[vehicle].wheelbase) for vehicle in vehicles]
        return RatingExplained(subject, overhang=limits[0] if limits else None)
    least = _Least(rating, grounds, grounds.held)
    found = least.worst()
    covers = layouts_of(rating.layouts) if subject == "axles" else frozenset()
    if found is None or found.subject == LIFTING:
        return RatingExplained(subject, found, by_layout=least.by_layout, covers=covers)
    every = _Least(rating, grounds, grounds.held | grounds.every).worst()
    return RatingExplained(
        subject,
        found,
        every if every is not None and every.over > found.over else None,
        least.by_layout,
        upgrades=tuple(least.upgrades(found)),
        covers=covers,
    )


class _Least:
    """The least loads that the picks and rules of a conflict leave."""

    def __init__(self, rating: RatingConstraint, grounds: Grounds, held: Held) -> None:
        self.rating, self.grounds, self.weighing = rating, grounds, rating.weighing
        self.catalogue, self.encoding = rating.catalogue, rating.encoding
        self.held = dict(held)
        self._literals = [self.encoding.at_least(*key, n) for key, n in sorted(held.items())]
        self._may: dict[Key, bool] = {}
        axles = rating.subject == "axles"
        self.by_layout = axles and bool(layouts_of(rating.layouts) & grounds.members)
        self.held |= dict.fromkeys(self._left(), 1)

    def _left(self) -> list[Key]:
        """Of choices that shape something, the only answer that picks and rules leave."""
        shaping = {*self.weighing.fixing}
        shaping |= {c for on in self.rating.layouts.others.values() for c, _ in on}
        found = []
        for name in sorted(shaping - {choice for choice, _ in self.held}):
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

    def worst(self) -> Exceeded | None:
        """The bar exceeded most on every vehicle there may be, its least load and its rating."""
        found = []
        for vehicle in self.weighing.bars:
            if self.may((VEHICLE, vehicle)):
                over = list(self._over(vehicle))
                if not over:
                    return None
                found.append(max(over, key=lambda one: (one.over, one.subject, one.state)))
        return min(found, key=lambda one: (one.over, one.subject), default=None)

    def _over(self, vehicle: str) -> Iterator[Exceeded]:
        single = {c for c, _ in self.held if self.catalogue.by_id[c].pick != "several"}
        names = [name for name in self.weighing.fixing if name in single]
        loads = self.weighing.loads(vehicle, self.weighing.fixed(self.held, names))
        hitched = any(key in self.held for key in self.weighing.hitches)
        for index, bar in self.rating.bars(vehicle):
            if bar.hitched and not hitched:
                continue
            ratings: list[Load] = [] if bar.rating is None else [bar.rating]
            ratings += [kg for key, kg in self.rating.upgrades(bar) if self.may(key)]
            load = self._load(vehicle, loads, index) + self._crowded(vehicle, bar) * bar.parts
            if ratings and bar.over(load, max(ratings)):
                yield Exceeded(bar.subject, bar.state, bar.kg(load), bar.kg(max(ratings)))

    def _crowded(self, vehicle: str, bar: Bar) -> Fraction:
        """What the units picked add because they are in each other's way, where that is known.

        Nothing is counted where some of them might stand on something that is not picked.
        """
        catalogue, layouts = self.catalogue, self.rating.layouts
        held = self.held | {(VEHICLE, vehicle): 1}
        units = [unit for key in held if (unit := catalogue.option(*key).unit) is not None]
        if not self.by_layout or any(unit.stands_on != (ON_FLOOR,) for unit in units):
            return Fraction(0)
        rooms = [room for s in layouts.others if (room := layouts.room(s, held))]
        selection = self.rating.journey.on(self.encoding.selection(held))
        asked = demands(Resolved(catalogue, selection), [room.space for room in rooms], passed=True)
        return sum(
            (
                (known_excess(catalogue, room, demand) or Fraction(0))
                for demand in asked
                if (demand.subject, demand.state) == (bar.subject, bar.state)
                for room in rooms
            ),
            Fraction(0),
        )

    def _load(self, vehicle: str, loads: Loads, index: int) -> int:
        """The least load over all that picks and rules of the conflict leave."""
        total = self.weighing.bars[vehicle][index].base
        for choice in self.encoding.choices:
            each = {o.id: loads.of((choice.id, o.id))[index][0] for o in choice.options}
            held = {o: n for (c, o), n in self.held.items() if c == choice.id}
            if choice.id == VEHICLE:
                total += each[vehicle]
            elif choice.pick == "several":
                for option, kg in each.items():
                    if kg > 0:
                        total += held.get(option, 0) * kg
                    elif kg and self.may((choice.id, option)):
                        total += choice.by_id[option].most * kg
            elif held:
                total += each[next(iter(held))]
            elif choice.pick == "one" or min(each.values()) < 0:
                rising = sorted(each, key=lambda option: (each[option], option))
                least = next((each[o] for o in rising if self.may((choice.id, o))), 0)
                total += least if choice.pick == "one" else min(least, 0)
        return total

    def upgrades(self, found: Exceeded) -> Iterator[tuple[str, Fraction]]:
        """Upgrades that would carry the load and are available with the vehicle."""
        literals = [
            self.encoding.at_least(*key, n)
            for key, n in sorted(self.held.items())
            if key[0] == VEHICLE
        ]
        for key, ratings in self.weighing.upgrades:
            if ratings.get(found.subject, 0) >= found.load and self.grounds.possible(
                [*literals, self.encoding.at_least(*key)], None
            ):
                yield self.catalogue.option(*key).title, ratings[found.subject]
