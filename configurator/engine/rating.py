"""Mass and axle ratings as constraints, exactly as a check counts them.

Three cases. With every unit in its worst place within every rating, there is nothing to say. With
every unit in its best place over one, no layout helps: the reason names the picks whose masses
count. In between the layout decides: where no layout that fits keeps the axle ratings, the reason
rests on the fit of those rooms as well, names their units and what makes them, and holds for the
least that the axle can carry, which is found exactly (:mod:`configurator.fit.loads`).

A reason starts with nothing fixed but the vehicle; only where that is not enough, choices that
masses and places depend on are fixed, as few as do. Then picks that add least are dropped while the
rest is still too much. It names upgrades that would do as a way out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING

from configurator.catalogue.model import VEHICLE, Choice, Option
from configurator.engine.constraint import (
    AXLES,
    RATING,
    Constraint,
    ConstraintId,
    Grounds,
    Held,
    Violation,
)
from configurator.engine.encoding import Encoding
from configurator.engine.figures import Figure
from configurator.engine.joint_fit import Layouts, layouts_of
from configurator.engine.journey import Journey
from configurator.engine.loaded_rooms import LoadedRooms, least_of
from configurator.engine.loading import Loading
from configurator.engine.rating_words import RATING_OF, RatingExplained, explained
from configurator.engine.sums import Key, lifted
from configurator.engine.weighing import QUICK, Bar, Fixed, Weighing, total
from configurator.errors import SearchLimit
from configurator.fit.loads import spots_within
from configurator.fit.rooms import Room
from configurator.mass.axles import overhang_limit
from configurator.mass.demands import Demand, demands
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.engine.search import Search

RATINGS = ("axles", "gcm", "gvm", "overhang", "people", "tow-ball")
"""Subjects of the facts; both axles, and that the front wheels stay on the ground, are one."""


class Ratings:
    """Whether ratings are kept by some layout that fits, and why not.

    Args:
        encoding: the catalogue's.
        mass: the mass of an option.
        journey: how the selections travel, and what they override.
        layouts: what knows of rooms.
    """

    def __init__(
        self,
        encoding: Encoding,
        mass: Callable[[Choice, Option], Figure],
        journey: Journey,
        layouts: Layouts,
    ) -> None:
        self.encoding, self.catalogue, self.journey = encoding, encoding.catalogue, journey
        self.layouts = layouts
        self.weighing = Weighing(encoding, mass, journey)
        self._rooms: dict[str, tuple[int, ...]] = {}
        self._worsts: dict[str, list[int]] = {}

    def depends_on(self, subject: str) -> Iterator[tuple[str, Sequence[str]]]:
        """The vehicle, and of loads everything, of overhang what makes the tray and its spaces."""
        choices: Iterable[str] = self.catalogue.by_id
        if subject == "overhang":
            choices = {VEHICLE, *self.weighing.fixing}
        if subject in ("people", "tow-ball"):
            choices = {VEHICLE, *(choice for choice, _ in self.weighing.hitches)}
        for choice in choices:
            yield choice, tuple(self.catalogue.by_id[choice].by_id)

    def violations(
        self, subject: str, held: Held, active: frozenset[ConstraintId]
    ) -> Iterator[Violation]:
        """Lifted ones if the rating is exceeded."""
        vehicle = next((option for choice, option in held if choice == VEHICLE), None)
        if vehicle not in self.weighing.bars:
            return
        told = [*self._plain(vehicle, held, subject)]
        unsettled: list[tuple[int, Fraction]] = []
        near = [
            (i, bar) for i, bar in self._heavy(vehicle, held) if RATING_OF[bar.subject] == subject
        ]
        fixed = self.weighing.fixed(held) if near else ()
        loads = Loading(self.weighing.bars[vehicle], self.weighing.weights(vehicle, fixed), held)
        for index, bar in near:
            if (bar.hitched and not self._hitch(held)) or bar.subject in self.journey.passed:
                continue
            rating = self.rating(vehicle, held, bar.subject)
            if rating is None or not loads.may_be_over(index, rating):
                continue
            if loads.must_be_over(index, rating):
                told.append(self._reason(vehicle, held, index))
            else:
                unsettled.append((index, rating))
        if told or not unsettled:
            yield from dict.fromkeys(told)
            return
        if active.issuperset(layouts_of(self.layouts)):
            middles = self.layouts.middles(held)
            if not any(loads.may_be_over(index, rating, middles) for index, rating in unsettled):
                return
        yield from self._laid_out(vehicle, held, active)

    def rating(self, vehicle: str, held: Held, subject: str) -> Fraction | None:
        """What the load may come to where so much is held."""
        found = next((b.rating for b in self.weighing.bars[vehicle] if b.subject == subject), None)
        for key, ratings in self.weighing.upgrades:
            if key in held and subject in ratings:
                found = ratings[subject]
        return found

    # What depends on few picks

    def _plain(self, vehicle: str, held: Held, asked: str) -> Iterator[Violation]:
        """Seats, tow ball, trailer and overhang."""
        one = self.weighing.vehicles[vehicle]
        without = -self.encoding.at_least(VEHICLE, vehicle)
        if asked == "people" and self._too_many(vehicle):
            yield Violation(ConstraintId("rating", "people"), (without,))
        hitch = self._hitch(held)
        if hitch is not None:
            clause = (without, *self._not_hitched(hitch))
            option = self.catalogue.option(*hitch)
            assert option.hitch is not None
            pull, trailer = self.journey.tow_ball, self.journey.trailer
            rated = [option.hitch.download, *filter(None, [one.tow_ball])]
            if asked == "tow-ball" and pull is not None and pull > min(rated):
                yield Violation(ConstraintId("rating", "tow-ball"), clause)
            towed = [option.hitch.towing, *filter(None, [one.towing])]
            if asked == "gcm" and trailer is not None and trailer > min(towed):
                yield Violation(ConstraintId("rating", "gcm"), clause)
        if asked == "overhang" and self._may_hang_over(vehicle):
            yield from self._overhang(vehicle, held)

    def _too_many(self, vehicle: str) -> bool:
        seats = sum(row.count for row in self.weighing.vehicles[vehicle].seats)
        people = self.journey.people or min(self.catalogue.mass.people, seats)
        return people > seats

    def _overhang(self, vehicle: str, held: Held) -> Iterator[Violation]:
        fixed = self.weighing.fixed(held)
        if not self._hangs_over(vehicle, fixed):
            return
        kept = list(fixed)
        for pair in fixed:
            fewer = tuple(other for other in kept if other != pair)
            if self._hangs_over(vehicle, fewer):
                kept.remove(pair)
        literals = (-self.encoding.at_least(VEHICLE, vehicle), *self._others(tuple(kept)))
        yield Violation(ConstraintId("rating", "overhang"), literals)

    def _hangs_over(self, vehicle: str, fixed: Fixed) -> bool:
        """Whether tray or a space ends too far back, as short as it can be."""
        wheelbase = self.weighing.vehicles[vehicle].wheelbase
        end, _ = self.weighing.extents(vehicle, fixed).rear
        return end is not None and end > wheelbase + overhang_limit(wheelbase)

    def _hitch(self, held: Held) -> Key | None:
        return next((key for key in self.weighing.hitches if key in held), None)

    def _not_hitched(self, hitch: Key) -> Iterator[int]:
        """Literals of which one is true where another tow bar counts, or none."""
        yield -self.encoding.at_least(*hitch)
        for earlier in self.weighing.hitches[: self.weighing.hitches.index(hitch)]:
            yield self.encoding.at_least(*earlier)

    # Loads

    def _heavy(self, vehicle: str, held: Held) -> Iterator[tuple[int, Bar]]:
        """Bars that the worst places of everything might exceed, by a quick look."""
        totals = total((n, self.weighing.grams(vehicle, key)) for key, n in held.items())
        room = self._room(vehicle)
        near = {subject for place, subject in enumerate(QUICK) if totals[place] > room[place]}
        near |= {"gcm"} if "gvm" in near or self.journey.trailer else set()
        for index, bar in enumerate(self.weighing.bars[vehicle]):
            if bar.subject in near:
                yield index, bar

    def _room(self, vehicle: str) -> tuple[int, ...]:
        """Grams that may come to the vehicle in every state under the lowest rating, less one."""
        if vehicle not in self._rooms:
            self._rooms[vehicle] = tuple(self._least_room(vehicle, subject) for subject in QUICK)
        return self._rooms[vehicle]

    def _least_room(self, vehicle: str, subject: str) -> int:
        bars = [bar for bar in self.weighing.bars[vehicle] if bar.subject == subject]
        ratings = [r[subject] for _, r in self.weighing.upgrades if subject in r]
        ratings += [bar.rating for bar in bars if bar.rating is not None]
        return min(floor((min(ratings) - bar.base) * 1000) - 1 for bar in bars)

    def may_break(self, subject: str) -> bool:
        """Whether some selection may exceed a rating of that subject at all."""
        passed = self.journey.passed
        if subject != "axles" and subject in passed:
            return False
        if subject == "people":
            return any(map(self._too_many, self.weighing.vehicles))
        if subject == "overhang":
            return any(map(self._may_hang_over, self.weighing.vehicles))
        if subject == "tow-ball":
            return self.journey.tow_ball is not None
        if subject == "gcm" and self.journey.trailer:
            return True
        for vehicle in self.weighing.bars:
            if self._ample(vehicle):
                continue
            worst, room = self._worst(vehicle), self._room(vehicle)
            for place, quick in enumerate(QUICK):
                counts = RATING_OF[quick] == subject and quick not in passed
                if counts and worst[place] > room[place]:
                    return True
        return False

    def _ample(self, vehicle: str) -> bool:
        """Whether all together, all in one worst place, would still be within every rating."""
        if self.journey.tow_ball:
            return False
        wheelbase = self.weighing.vehicles[vehicle].wheelbase
        first, last = (float(x) / wheelbase for x in self.weighing.extents(vehicle, ()).reach)
        grams = self.weighing.heaviest * 1000 + 1
        factors = (1, 1 - first, last, last - 1)
        room = self._room(vehicle)
        return all(grams * max(0.0, f) < kg for f, kg in zip(factors, room, strict=True))

    def _may_hang_over(self, vehicle: str) -> bool:
        wheelbase = self.weighing.vehicles[vehicle].wheelbase
        _, end = self.weighing.extents(vehicle, ()).rear
        return end is not None and end > wheelbase + overhang_limit(wheelbase)

    def _worst(self, vehicle: str) -> list[int]:
        """The most grams that all choices together can add, by :data:`QUICK`."""
        if vehicle in self._worsts:
            return self._worsts[vehicle]
        totals = [0] * len(QUICK)
        for choice in self.encoding.choices:
            each = []
            for option in choice.options:
                if choice.id != VEHICLE or option.id == vehicle:
                    grams = self.weighing.grams(vehicle, (choice.id, option.id))
                    most = option.most if choice.pick == "several" else 1
                    each.append([max(0, most * one) for one in grams])
            for index, here in enumerate(zip(*each, strict=True)):
                totals[index] += sum(here) if choice.pick == "several" else max(here)
        self._worsts[vehicle] = totals
        return totals

    # Reasons

    def _reason(
        self, vehicle: str, held: Held, index: int, rooms: LoadedRooms | None = None
    ) -> Violation:
        """Why the load is too much, with as few choices fixed and as few picks as will do."""
        bar = self.weighing.bars[vehicle][index]
        rating = self.rating(vehicle, held, bar.subject)
        hitch = self._hitch(held) if bar.hitched else None
        units = {} if rooms is None else rooms.units

        def load(fixed: Fixed) -> Fraction:
            weights = self.weighing.weights(vehicle, fixed)
            loads = (n * weights.spans(key)[index][0] for key, n in held.items())
            return sum(loads, bar.base + (0 if rooms is None else rooms.more))

        fixed = self.weighing.fixed(held)
        if bar.over(load(()), rating):
            fixed = ()
        for pair in fixed:
            fewer = tuple(other for other in fixed if other != pair)
            if bar.over(load(fewer), rating):
                fixed = fewer
        weights = self.weighing.weights(vehicle, fixed)
        found = lifted(
            self.encoding,
            held,
            load(fixed),
            lambda load: bar.over(load, rating),
            lambda key: weights.spans(key)[index][0],
            certain={VEHICLE, *(choice for choice, _ in fixed)},
            taken=lambda key: max(units.get(key, 0), int(key == hitch)),
        )
        literals = [-self.encoding.at_least(VEHICLE, vehicle)]
        literals += self._raised(held, bar, found.load)
        literals += self._others(fixed)
        if hitch is not None:
            literals += self._not_hitched(hitch)
        literals += found.literals
        if rooms is not None:
            literals += rooms.clause
        return Violation(
            ConstraintId("rating", RATING_OF[bar.subject]),
            tuple(dict.fromkeys(literal for literal in literals if literal != -self.encoding.true)),
            rooms.facts if rooms is not None else (),
        )

    def _raised(self, held: Held, bar: Bar, load: Fraction) -> Iterator[int]:
        """Literals of which one is true where the rating may be one that allows the load."""
        for key, ratings in self.weighing.upgrades:
            if bar.subject in ratings and not bar.over(load, ratings[bar.subject]):
                yield self.encoding.at_least(*key)
        if not bar.over(load, bar.rating):
            yield from (
                -self.encoding.at_least(*key)
                for key, ratings in self.weighing.upgrades
                if key in held and bar.subject in ratings
            )

    def _others(self, fixed: Fixed) -> Iterator[int]:
        """Literals of which one is true where a fixed choice has another answer."""
        for choice, state in fixed:
            options = sorted(self.catalogue.by_id[choice].by_id)
            yield from self.encoding.differs(choice, options, state)

    # Layouts

    def _laid_out(
        self, vehicle: str, held: Held, active: frozenset[ConstraintId]
    ) -> Iterator[Violation]:
        """A reason where no layout of the rooms that have to fit keeps every axle rating."""
        rooms = tuple(
            room
            for space in sorted(self.layouts.others)
            if ConstraintId("layout", space) in active
            if (room := self.layouts.room(space, held)) is not None and room.items
        )
        if not rooms:
            return
        if not self.layouts.patient:
            raise SearchLimit("whether a layout keeps the axle ratings is not asked")
        selection = self.journey.on(self.encoding.selection(held))
        spaces = [room.space for room in rooms]
        asked = demands(Resolved(self.catalogue, selection), spaces, passed=True)
        if spots_within(rooms, asked) is None:
            yield self._reason_of_rooms(vehicle, held, rooms, asked)

    def _reason_of_rooms(
        self,
        vehicle: str,
        held: Held,
        rooms: tuple[Room, ...],
        asked: Sequence[Demand],
    ) -> Violation:
        """The reason of the demand that is exceeded most; of all where each alone can be kept."""
        most: tuple[Fraction, str, str, Demand] | None = None
        for demand in asked:
            least = sum((least_of(room, demand) for room in rooms), Fraction(0))
            if not demand.keeps(least):
                found = demand.over(least), demand.subject, demand.state, demand
                most = found if most is None or found[:3] > most[:3] else most
        if most is None:
            return self._whole(held, rooms)
        over, subject, state, demand = most
        bars = self.weighing.bars[vehicle]
        index = next(i for i, b in enumerate(bars) if (b.subject, b.state) == (subject, state))
        return self._reason(
            vehicle, held, index, LoadedRooms(self.layouts, held, demand, over, rooms)
        )

    def _whole(self, held: Held, rooms: Sequence[Room]) -> Violation:
        """Refuses no more than what is held."""
        literals = [
            literal
            for choice in self.encoding.choices
            for literal in self.encoding.differs(
                choice.id,
                sorted(choice.by_id),
                tuple(
                    (o, held[choice.id, o]) for o in sorted(choice.by_id) if (choice.id, o) in held
                ),
            )
        ]
        facts = tuple(ConstraintId("layout", room.space) for room in rooms)
        return Violation(ConstraintId("rating", "axles"), tuple(literals), facts)


class RatingConstraint(Constraint):
    """One rating on one journey."""

    lighter = True

    def __init__(self, ratings: Ratings, subject: str) -> None:
        self.ratings, self.subject = ratings, subject
        self.id, self.name = ConstraintId("rating", subject), f'the rating of "{subject}"'
        self.at = ratings.catalogue.choices[0].at
        self.rank = AXLES if subject == "axles" else RATING
        if subject == "axles":
            self.rests_on = layouts_of(ratings.layouts)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The vehicle, and of loads everything, of overhang what makes the tray and its spaces."""
        return self.ratings.depends_on(self.subject)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:
        """Lifted ones if the rating is exceeded."""
        return self.ratings.violations(self.subject, held, active)

    def explain(self, grounds: Grounds) -> RatingExplained:
        """By how many kilograms it is exceeded, and what would carry it."""
        return explained(self.ratings, self.subject, grounds)


def ratings(search: Search) -> Iterator[RatingConstraint]:
    """One for each rating that some selection may exceed on the journey."""
    made = Ratings(search.encoding, search.mass, search.journey, search.layouts)
    for subject in RATINGS:
        if made.may_break(subject):
            yield RatingConstraint(made, subject)
