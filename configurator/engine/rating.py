"""Mass and axle ratings as constraints, exactly as a check counts them.

Three cases. With every unit in its worst place within every rating, nothing is exceeded. With
every unit in its best place over one, no layout helps: the reason names the picks whose masses
count. In between the layout decides: where no layout that fits keeps the axle ratings, the reason
rests on the fit of those rooms as well, names their units and what makes them, and holds for the
least that the axle can carry, which is found exactly (:mod:`configurator.engine.loaded_rooms`).

A reason starts with nothing fixed but the vehicle; only where that is not enough, choices that
masses and places depend on are fixed, as few as do. Then picks that add least are dropped while the
rest is still too much. It names upgrades that would do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cached_property

from configurator.catalogue.model import VEHICLE
from configurator.catalogue.units import ON_FLOOR
from configurator.catalogue.vehicles import people_aboard
from configurator.engine.constraint import (
    AXLES,
    RATING,
    Compiled,
    Constraint,
    Explanation,
    Grounds,
    Sums,
    Terms,
)
from configurator.engine.excess import PLAIN, Exceeded, all_words, least_words, overhang_words
from configurator.engine.joint_fit import layouts_of
from configurator.engine.least_sums import least_sums
from configurator.engine.limits import Fixed, Key, Load, elsewhere, fewest, lifted, slots
from configurator.engine.loaded_rooms import LoadedRooms, known_excess, loaded_rooms
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.engine.weighing import Journey, Loads, WeighedLoad, Weighing
from configurator.mass.axles import overhang_limit
from configurator.mass.demands import LIFTING, demands
from configurator.mass.picture import rated_download, rated_towing
from configurator.mass.states import upgrade_words
from configurator.selection.resolved import Resolved
from configurator.words import text

_RATINGS = ("axles", "gcm", "gvm", "overhang", "people", "tow-ball")
"""Subjects of the facts; both axles, and that the front wheels stay on the ground, are one."""

_RATING_OF = {"gvm": "gvm", "gcm": "gcm"}
_RATING_OF |= dict.fromkeys(("front-axle", "rear-axle", LIFTING), "axles")
"""Which rating a bar is of."""


class RatingConstraint(Constraint):
    """One rating on one journey: kept by some layout that fits.

    Args:
        search: of the catalogue.
        weighing: what picks put on the vehicle, on the journey.
        subject: which rating.
    """

    lighter = True

    def __init__(self, search: Compiled, weighing: Weighing, subject: str) -> None:
        self.encoding, self.catalogue, self.layouts = (
            search.encoding,
            search.catalogue,
            search.layouts,
        )
        self.weighing, self.journey, self.subject = weighing, weighing.journey, subject
        self.id = ConstraintId("rating", subject)
        self.name = text('the rating of "{subject}"', subject=subject)
        self.at = self.catalogue.choices[0].at
        self.rank = AXLES if subject == "axles" else RATING
        if subject == "axles":
            self.rests_on = layouts_of(self.layouts)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The vehicle, and of loads everything, of overhang what makes the tray and its spaces."""
        choices: Iterable[str] = self.catalogue.by_id
        if self.subject == "overhang":
            choices = {VEHICLE, *self.weighing.fixing}
        if self.subject in ("people", "tow-ball"):
            choices = {VEHICLE, *(choice for choice, _ in self.weighing.hitches)}
        for choice in choices:
            yield choice, tuple(self.catalogue.by_id[choice].by_id)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:
        """Lifted ones if the rating is exceeded."""
        vehicle = next((option for choice, option in held if choice == VEHICLE), None)
        if vehicle not in self.weighing.bars:
            return
        told = [Violation(self.id, clause) for clause in self._plain(vehicle, held)]
        loads, near = self._near(vehicle, held)
        least = loads.least(held) if near else ()
        for index, bar, rating in near:
            if bar.over(least[index], rating):
                told.append(self._reason(vehicle, held, index))
        if told or not near:
            yield from dict.fromkeys(told)
            return
        if active.issuperset(layouts_of(self.layouts)):
            most = loads.most(held, self.layouts.middles(held))
            if not any(bar.over(most[i], kg) for i, bar, kg in near):
                return
        rooms = loaded_rooms(self.layouts, self.journey, held, active)
        if rooms is not None:
            asked = rooms.demand and (rooms.demand.subject, rooms.demand.state)
            for index, bar in enumerate(self.weighing.bars[vehicle]):
                if (bar.subject, bar.state) == asked:
                    yield self._reason(vehicle, held, index, rooms)
            if not asked:
                yield Violation(self.id, rooms.clause, rooms.facts)

    def _near(self, vehicle: str, held: Held) -> tuple[Loads, list[tuple[int, WeighedLoad, Load]]]:
        """Bars that count, and that the worst places of everything exceed; with their ratings."""
        hitched = self.weighing.hitch(held) is not None
        near = [
            (index, bar, rating)
            for index, bar in self.bars(vehicle)
            if (hitched or not bar.hitched) and (rating := self._rating(bar, held)) is not None
        ]
        loads = self.weighing.loads(vehicle)
        most = loads.most(held)
        near = [(i, bar, kg) for i, bar, kg in near if bar.over(most[i], kg)]
        if near:
            loads = self.weighing.loads(vehicle, self.weighing.fixed(held))
            most = loads.most(held)
            near = [(i, bar, kg) for i, bar, kg in near if bar.over(most[i], kg)]
        return loads, near

    def bars(self, vehicle: str) -> Iterator[tuple[int, WeighedLoad]]:
        """Those of the rating that nobody overrides."""
        for index, bar in enumerate(self.weighing.bars[vehicle]):
            if _RATING_OF[bar.subject] == self.subject and bar.subject not in self.journey.passed:
                yield index, bar

    def _rating(self, bar: WeighedLoad, held: Held) -> Load | None:
        """What the load may come to where so much is held."""
        for key, ratings in reversed(self.weighing.upgrades):
            if key in held and bar.subject in ratings:
                return ratings[bar.subject] * bar.parts
        return bar.rating

    def _may_break(self) -> bool:
        """Whether some selection may exceed the rating at all."""
        vehicles = self.weighing.vehicles
        if self.subject != "axles" and self.subject in self.journey.passed:
            return False
        if self.subject == "people":
            return any(map(self._too_many, vehicles))
        if self.subject == "overhang":
            ends = {name: self.weighing.extents(name, ()).rear[1] for name in vehicles}
            return any(end is not None and end > self._last(name) for name, end in ends.items())
        if self.subject == "tow-ball":
            return self.journey.tow_ball is not None
        if self.subject == "gcm":
            return bool(self.journey.trailer)
        return any(True for _ in self._breakable(1))

    def _breakable(self, end: int) -> Iterator[tuple[str, int, WeighedLoad]]:
        """By vehicle, the bars that picks may bring over, in best places or, with 1, in worst."""
        for vehicle in self.weighing.vehicles:
            loads = self.weighing.loads(vehicle)
            for index, bar in self.bars(vehicle):
                known = [rating for _, rating in self.weighing.upgrades_of(bar)]
                known += [] if bar.rating is None else [bar.rating]
                if bar.over(loads.worst(index, end), min(known, default=None)):
                    yield vehicle, index, bar

    def linear(self, optimum: Sums) -> None:
        """What picks add at least, whatever else is picked and however units are placed."""
        for terms, bound, only_if in self._sums:
            optimum.at_most(terms, bound, only_if)

    @cached_property
    def _sums(self) -> list[tuple[Terms, int, list[int]]]:
        return list(least_sums(self.weighing, self._breakable(0)))

    def explain(self, grounds: Grounds) -> Explanation:
        """By how many kilograms it is exceeded, and what would carry it."""
        subject, weighing = self.subject, self.weighing
        if subject in PLAIN:
            return Explanation(PLAIN[subject])
        if subject == "overhang":
            vehicles = [option for choice, option in grounds.held if choice == VEHICLE]
            limits = [overhang_limit(weighing.vehicles[vehicle].wheelbase) for vehicle in vehicles]
            return Explanation(overhang_words(limits[0] if limits else None))
        least = _Least(self, grounds, grounds.held)
        found = least.worst()
        covers = layouts_of(self.layouts) if subject == "axles" else frozenset()
        hint, more = "", ""
        numbers = () if found is None else found.numbers
        if found is not None and found.subject == LIFTING:
            hint = text("Choose lighter parts, or carry less behind the rear axle.")
        elif found is not None:
            hint = text("Choose lighter parts, or a vehicle that carries more.")
            for title, rating in least.upgrades(found):
                hint = text("{told}.", told=upgrade_words(title, rating))
                break
            every = _Least(self, grounds, grounds.held | grounds.every).worst()
            if every is not None and every.over > found.over and every.subject != LIFTING:
                more, numbers = all_words(every, found), (*numbers, *every.of_all)
        told = least_words(subject, found, least.by_layout)
        return Explanation(told, hint, more, covers, numbers=numbers)

    # What depends on few picks

    def _plain(self, vehicle: str, held: Held) -> Iterator[tuple[int, ...]]:
        """Clauses about seats, tow ball, trailer and overhang."""
        one, hitch = self.weighing.vehicles[vehicle], self.weighing.hitch(held)
        without = -self.encoding.at_least(VEHICLE, vehicle)
        if self.subject == "people" and self._too_many(vehicle):
            yield (without,)
        if self.subject == "overhang" and self._hangs_over(
            vehicle, fixed := self.weighing.fixed(held)
        ):
            fixed = fewest(fixed, lambda fewer: self._hangs_over(vehicle, fewer))
            yield (without, *elsewhere(self.encoding, fixed))
        for subject, asked, rated in (
            ("tow-ball", self.journey.tow_ball, rated_download),
            ("gcm", self.journey.trailer, rated_towing),
        ):
            if subject == self.subject and hitch is not None and asked is not None:
                bar = self.catalogue.option(*hitch).hitch
                assert bar is not None
                if asked > rated(one, bar):
                    yield (without, *self.weighing.unhitched(hitch))

    def _too_many(self, vehicle: str) -> bool:
        one = self.weighing.vehicles[vehicle]
        people, seats = people_aboard(one, self.journey.people, self.catalogue.mass)
        return people > seats

    def _hangs_over(self, vehicle: str, fixed: Fixed) -> bool:
        """Whether tray or a space ends too far back, as short as it can be."""
        end, _ = self.weighing.extents(vehicle, fixed).rear
        return end is not None and end > self._last(vehicle)

    def _last(self, vehicle: str) -> Fraction:
        """Where tray and spaces have to end, behind the front axle."""
        wheelbase = self.weighing.vehicles[vehicle].wheelbase
        return wheelbase + overhang_limit(wheelbase)

    # Reasons

    def _reason(
        self, vehicle: str, held: Held, index: int, rooms: LoadedRooms | None = None
    ) -> Violation:
        """Why the load is too much, with as few choices fixed and as few picks as will do."""
        bar, weighing = self.weighing.bars[vehicle][index], self.weighing
        rating = self._rating(bar, held)
        hitch = weighing.hitch(held) if bar.hitched else None
        units = {} if rooms is None else rooms.units
        more = 0 if rooms is None else rooms.more * bar.parts

        def load(fixed: Fixed) -> Load:
            return weighing.loads(vehicle, fixed).least(held)[index] + more

        clause, least = lifted(
            self.encoding,
            held,
            () if bar.over(load(()), rating) else weighing.fixed(held),
            lambda load: bar.over(load, rating),
            load,
            lambda fixed: slots(
                self.encoding.choices, lambda key: weighing.loads(vehicle, fixed).of(key)[index][0]
            ),
            certain={VEHICLE},
            taken=lambda key: max(units.get(key, 0), int(key == hitch)),
        )
        literals = [
            -self.encoding.at_least(VEHICLE, vehicle),
            *self._raised(held, bar, least),
            *(self.weighing.unhitched(hitch) if hitch is not None else ()),
            *clause,
            *(rooms.clause if rooms is not None else ()),
        ]
        known = dict.fromkeys(literal for literal in literals if literal != -self.encoding.true)
        return Violation(self.id, tuple(known), rooms.facts if rooms is not None else ())

    def _raised(self, held: Held, bar: WeighedLoad, load: Load) -> Iterator[int]:
        """Literals of which one is true where the rating may be one that allows the load.

        The last upgrade that is picked counts: one after it has to come, or it has to go.
        """
        upgrades = self.weighing.upgrades_of(bar)
        enough = [not bar.over(load, rating) for _, rating in upgrades]
        counts = max((n for n, (key, _) in enumerate(upgrades) if key in held), default=-1)
        later = range(counts + 1, len(upgrades))
        yield from (self.encoding.at_least(*upgrades[n][0]) for n in later if enough[n])
        if counts >= 0 and (any(enough[:counts]) or not bar.over(load, bar.rating)):
            yield -self.encoding.at_least(*upgrades[counts][0])


class _Least:
    """The least loads that the picks and rules of a conflict leave."""

    def __init__(self, rating: RatingConstraint, grounds: Grounds, held: Held) -> None:
        self.rating, self.grounds, self.weighing = rating, grounds, rating.weighing
        self.catalogue, self.encoding = rating.catalogue, rating.encoding
        self.held = dict(held)
        self._literals = [self.encoding.at_least(*key, n) for key, n in sorted(held.items())]
        # reasons of six packages that tow take 7.0 s for 7.8
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
            ratings += [kg for key, kg in self.weighing.upgrades_of(bar) if self.may(key)]
            load = self._load(vehicle, loads, index) + self._crowded(vehicle, bar) * bar.parts
            if ratings and bar.over(load, max(ratings)):
                yield Exceeded(bar.subject, bar.state, bar.kg(load), bar.kg(max(ratings)))

    def _crowded(self, vehicle: str, bar: WeighedLoad) -> Fraction:
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
                known_excess(catalogue, room, demand)
                for demand in asked
                if (demand.subject, demand.state) == (bar.subject, bar.state)
                for room in rooms
            ),
            Fraction(0),
        )

    def _load(self, vehicle: str, loads: Loads, index: int) -> Load:
        """The least load over all that picks and rules of the conflict leave."""
        held = self.held | {(VEHICLE, vehicle): 1}
        each = slots(self.encoding.choices, lambda key: loads.of(key)[index][0])
        base: Load = self.weighing.bars[vehicle][index].base
        if self.weighing.bars[vehicle][index].hitched:
            base += min(self.weighing.pull(vehicle, key)[index] for key in self._hitches())
        return sum((slot.least(held, self.may) for slot in each), base)

    def _hitches(self) -> Iterator[Key]:
        """The tow bars that the trailer may hang on."""
        for key in self.weighing.hitches:
            if key in self.held or self.may(key):
                yield key
            if key in self.held:
                return

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


def ratings(search: Compiled, journey: Journey) -> Iterator[RatingConstraint]:
    """One for each rating that some selection may exceed on the journey."""
    weighing = Weighing(search.encoding, search.mass, journey)
    for subject in _RATINGS:
        one = RatingConstraint(search, weighing, subject)
        if one._may_break():
            yield one
