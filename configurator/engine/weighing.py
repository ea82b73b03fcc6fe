"""What picks put on the vehicle and its axles, as intervals while some choices are still open.

A bar is one load in one state against one rating. What each pick adds to it is its mass times a
factor that is linear in its place, so that least and greatest follow from the intervals of mass and
place. What does not depend on picks comes from the mass picture of the vehicle alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from math import ceil, floor
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Choice, Option
from configurator.catalogue.vehicles import Vehicle
from configurator.engine.constraint import Held
from configurator.engine.encoding import Encoding, State
from configurator.engine.extents import Extents, Span, shaping_choices
from configurator.engine.figures import Figure, masses, states_in
from configurator.engine.journey import Journey
from configurator.engine.sums import Key
from configurator.mass.axles import share
from configurator.mass.demands import LIFTING, rated
from configurator.mass.picture import mass_picture, only_fluid
from configurator.mass.states import NO_PICK
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved

Fixed: TypeAlias = tuple[tuple[str, State], ...]
"""Choices that are fixed, each with its answer."""

AXLES = ("front-axle", "rear-axle", LIFTING)
"""Subjects whose load depends on where things sit."""

QUICK = ("gvm", "front-axle", "rear-axle", LIFTING)
"""Subjects of the quick look; what is towed is counted with the first."""

_FACTORS = {
    "gvm": (0, 1),
    "gcm": (0, 1),
    "front-axle": (-1, 1),
    "rear-axle": (1, 0),
    LIFTING: (1, -1),
}
"""Load of one kg by subject: so much times its x over the wheelbase, plus so much."""

_DELIVERED, _FULL, _TOWING = "delivered", "full", "towing"


@frozen
class Bar:
    """A load in one state against its rating, kg.

    Attributes:
        subject: of the rating; the load of :data:`LIFTING` is that of the front axle with its sign
            changed, and has to stay below nothing.
        state: id of the state.
        base: the load of the vehicle alone.
        rating: the vehicle's own; None where it has none.
        hitched: it counts only with a tow bar.
    """

    subject: str
    state: str
    base: Fraction
    rating: Fraction | None
    hitched: bool

    def over(self, load: Fraction, rating: Fraction | None) -> bool:
        """Whether the load is more than the rating allows."""
        if rating is None:
            return False
        return load >= rating if self.subject == LIFTING else load > rating


class Weighing:
    """Loads of one catalogue on one journey.

    Attributes:
        bars: by vehicle.
        upgrades: picks that put a rating in place of the vehicle's, the later counting more; each
            with what it rates, by subject.
        hitches: tow bars, of which the first counts.
        fixing: choices that a mass or a place depends on.
    """

    def __init__(
        self, encoding: Encoding, mass: Callable[[Choice, Option], Figure], journey: Journey
    ) -> None:
        self.encoding, self.catalogue, self.journey = encoding, encoding.catalogue, journey
        self._mass = mass
        self._fluid: dict[Key, Figure] = {}
        every = [(c, o) for c in self.catalogue.by_id.values() for o in c.options]
        self.upgrades: list[tuple[Key, dict[str, Fraction]]] = [
            ((choice.id, option.id), ratings)
            for choice, option in every
            if (ratings := _ratings(option))
        ]
        self.hitches = [(c.id, o.id) for c, o in every if o.hitch is not None]
        self.vehicles = {
            o.id: o.vehicle for o in self.catalogue.by_id[VEHICLE].options if o.vehicle is not None
        }
        self.bars = {name: tuple(self._bars(name, one)) for name, one in self.vehicles.items()}
        hanging = {c for choice, o in every for c, _ in mass(choice, o).on}
        self._shaping = shaping_choices(encoding)
        self.fixing = tuple(sorted(hanging | self._shaping))
        self._weights: dict[tuple[str, Fixed], Weights] = {}
        self._spans: dict[tuple[str, Key, tuple[Span, Span], Span], tuple[Span, ...]] = {}
        self._spans_at: dict[tuple[str, Key, tuple[Span, Span], Span, int], Span] = {}
        self._known_masses: dict[tuple[Fixed, Key], tuple[Span, Span]] = {}
        self._most: dict[tuple[str, Key], tuple[int, ...]] = {}
        self._heavy: dict[Key, float] = {}
        self._extents: dict[tuple[str, Fixed], Extents] = {}

    def _bars(self, name: str, vehicle: Vehicle) -> Iterator[Bar]:
        alone = Selection(self.catalogue.id, (Pick(VEHICLE, name),), travel=self.journey.travel)
        picture = mass_picture(Resolved(self.catalogue, alone), None)
        assert picture is not None
        bases = {}
        for state in picture.states:
            own = [item for item in state.items if item.pick != NO_PICK]
            off = [share(item.mass, item.x, vehicle.wheelbase) for item in own]
            front = state.loads.front - sum((load.front for load in off), Fraction(0))
            rear = state.loads.rear - sum((load.rear for load in off), Fraction(0))
            bases[state.id] = front, rear
        if self.journey.tow_ball is not None:
            bases[_TOWING] = bases[_FULL]
        for state_id, (front, rear) in bases.items():
            hitched = state_id == _TOWING
            yield Bar("gvm", state_id, front + rear, Fraction(vehicle.gvm), hitched)
            yield Bar("front-axle", state_id, front, Fraction(vehicle.front_axle), hitched)
            yield Bar("rear-axle", state_id, rear, Fraction(vehicle.rear_axle), hitched)
            yield Bar(LIFTING, state_id, -front, Fraction(0), hitched)
        if self.journey.trailer:
            gcm = None if vehicle.gcm is None else Fraction(vehicle.gcm)
            base = sum(bases[_FULL], Fraction(self.journey.trailer))
            yield Bar("gcm", _FULL, base, gcm, hitched=True)

    def fixed(self, held: Held, choices: Sequence[str] | None = None) -> Fixed:
        """Those choices, by default all that a mass or place depends on, fixed as they are held."""
        names = self.fixing if choices is None else choices
        on = tuple((name, tuple(sorted(self.catalogue.by_id[name].by_id))) for name in names)
        return tuple(zip(names, states_in(held, on), strict=True))

    def grams(self, vehicle: str, key: Key) -> tuple[int, ...]:
        """No less than one of the option can add in any state, by :data:`QUICK`, g.

        This is the quick look: it is calculated in floating point and rounded up by a gram.
        """
        found = self._most.get((vehicle, key))
        if found is None:
            choice = self.catalogue.by_id[key[0]]
            option = choice.by_id[key[1]]
            heavy = self._heaviest(choice, option)
            wheelbase = self.vehicles[vehicle].wheelbase
            place = self.extents(vehicle, ()).of(choice, option)
            first, last = float(place[0]) / wheelbase, float(place[1]) / wheelbase
            most = [heavy * max(0.0, factor) for factor in (1, 1 - first, last, last - 1)]
            if option.hitch is not None and self.journey.tow_ball:
                pull, back = float(self.journey.tow_ball), option.hitch.behind / wheelbase
                most = [
                    kg + pull * (factor + back)
                    for kg, factor in zip(most, (1, 0, 1, 0), strict=True)
                ]
            found = tuple(ceil(kg * 1000) + 1 for kg in most)
            self._most[vehicle, key] = found
        return found

    @cached_property
    def heaviest(self) -> float:
        """No less than all that can be picked together weighs travelling full, kg."""
        total = 0.0
        for choice in self.encoding.choices:
            several = choice.pick == "several"
            each = [(o.most if several else 1) * self._heaviest(choice, o) for o in choice.options]
            total += sum(each) if several else max(each, default=0.0)
        return total

    def _heaviest(self, choice: Choice, option: Option) -> float:
        """The most that one of the option weighs travelling full."""
        key = choice.id, option.id
        if key not in self._heavy:
            known = [kg for kg in self._mass(choice, option).cases.values() if kg is not None]
            contents = option.unit.contents if option.unit else option.contents
            self._heavy[key] = float(max(known) + contents) if known else 0.0
        return self._heavy[key]

    def weights(self, vehicle: str, fixed: Fixed) -> Weights:
        """What options add to the vehicle where those choices are fixed."""
        known = self._weights.get((vehicle, fixed))
        if known is None:
            known = self._weights[vehicle, fixed] = Weights(self, vehicle, fixed)
        return known

    def weigh(self, vehicle: str, fixed: Fixed, key: Key) -> tuple[Span, ...]:
        """What one of the option adds to each bar of the vehicle, at least and at most."""
        option = self.catalogue.option(*key)
        place = self.extents(vehicle, fixed).of(self.catalogue.by_id[key[0]], option)
        masses = self._masses_of(fixed, key)
        known = vehicle, key, masses, place
        if known not in self._spans:
            self._spans[known] = tuple(
                self._on(bar, vehicle, option, masses, place) for bar in self.bars[vehicle]
            )
        return self._spans[known]

    def weigh_at(self, vehicle: str, fixed: Fixed, key: Key, index: int, middle: Fraction) -> Span:
        """What one unit adds to a bar with its middle so far behind the inside front, mm."""
        option = self.catalogue.option(*key)
        assert option.unit is not None
        place = self.extents(vehicle, fixed).at(option.unit, middle)
        masses = self._masses_of(fixed, key)
        known = vehicle, key, masses, place, index
        if known not in self._spans_at:
            bar = self.bars[vehicle][index]
            self._spans_at[known] = self._on(bar, vehicle, option, masses, place)
        return self._spans_at[known]

    def _on(
        self, bar: Bar, vehicle: str, option: Option, masses: tuple[Span, Span], place: Span
    ) -> Span:
        """What the option adds to the bar with its masses, delivered and full, in that place."""
        wheelbase = self.vehicles[vehicle].wheelbase
        slope, level = _FACTORS[bar.subject]
        factors = [slope * x / wheelbase + level for x in dict.fromkeys(place)]
        mass = masses[0] if bar.state == _DELIVERED else masses[1]
        products = [kg * factor for kg in dict.fromkeys(mass) for factor in factors]
        low, high = min(products), max(products)
        if bar.state == _TOWING and option.hitch is not None:
            x = Fraction(wheelbase + option.hitch.behind)
            pull = Fraction(self.journey.tow_ball or 0) * (slope * x / wheelbase + level)
            return low + pull, high + pull
        return low, high

    def _masses_of(self, fixed: Fixed, key: Key) -> tuple[Span, Span]:
        choice = self.catalogue.by_id[key[0]]
        option = choice.by_id[key[1]]
        figures = self._mass(choice, option), self._fluid_of(choice, option)
        hanging = {name for figure in figures for name, _ in figure.on}
        matters = tuple(pair for pair in fixed if pair[0] in hanging)
        if (matters, key) not in self._known_masses:
            self._known_masses[matters, key] = self._masses(choice, option, dict(matters))
        return self._known_masses[matters, key]

    def extents(self, vehicle: str, fixed: Fixed) -> Extents:
        """Where things may sit on the vehicle."""
        key = vehicle, tuple(pair for pair in fixed if pair[0] in self._shaping)
        if key not in self._extents:
            answers = {choice: frozenset(o for o, _ in state) for choice, state in key[1]}
            self._extents[key] = Extents(self.encoding, self.vehicles[vehicle], answers)
        return self._extents[key]

    def _masses(self, choice: Choice, option: Option, fixed: dict[str, State]) -> tuple[Span, Span]:
        """Least and greatest mass of one, as delivered and travelling full."""
        contents = Fraction(option.unit.contents if option.unit else option.contents)
        whole, known = _span(self._mass(choice, option), fixed)
        if whole is None:
            return (Fraction(0), Fraction(0)), (Fraction(0), Fraction(0))
        fluid, _ = _span(self._fluid_of(choice, option), fixed)
        least, most = fluid or (Fraction(0), Fraction(0))
        empty = whole[0] - most, whole[1] - least
        full = whole[0] + contents, whole[1] + contents
        if not known:
            return (min(Fraction(0), empty[0]), empty[1]), (min(Fraction(0), full[0]), full[1])
        return empty, full

    def _fluid_of(self, choice: Choice, option: Option) -> Figure:
        key = choice.id, option.id
        if key not in self._fluid:
            self._fluid[key] = masses(self.catalogue, choice, only_fluid(option))
        return self._fluid[key]


def total(grams: Iterable[tuple[int, Sequence[int]]]) -> list[int]:
    """The sums, place by place, of this many times those grams."""
    each = (one if n == 1 else [n * g for g in one] for n, one in grams)
    return [*map(sum, zip(*each, strict=True))]


class Weights:
    """What one of each option adds to the bars of a vehicle, each calculated once."""

    def __init__(self, weighing: Weighing, vehicle: str, fixed: Fixed) -> None:
        self._weighing, self._vehicle, self._fixed = weighing, vehicle, fixed
        self._spans: dict[Key, tuple[Span, ...]] = {}
        self._grams: dict[Key, tuple[tuple[int, ...], tuple[int, ...]]] = {}
        self._there: dict[tuple[Key, int, Fraction], Span] = {}

    def spans(self, key: Key) -> tuple[Span, ...]:
        """To each bar, at least and at most, kg."""
        if key not in self._spans:
            self._spans[key] = self._weighing.weigh(self._vehicle, self._fixed, key)
        return self._spans[key]

    def grams(self, key: Key) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """What it adds to each bar in whole grams: no more than at least, no less than at most."""
        if key not in self._grams:
            spans = self.spans(key)
            self._grams[key] = (
                tuple(floor(low * 1000) for low, _ in spans),
                tuple(ceil(high * 1000) for _, high in spans),
            )
        return self._grams[key]

    def there(self, key: Key, index: int, middle: Fraction) -> Span:
        """To one bar with its middle so far behind the inside front, mm."""
        known = key, index, middle
        if known not in self._there:
            self._there[known] = self._weighing.weigh_at(
                self._vehicle, self._fixed, key, index, middle
            )
        return self._there[known]


def _span(figure: Figure, fixed: dict[str, State]) -> tuple[Span | None, bool]:
    """Least and greatest of a figure; None where it is never known; and whether it always is."""
    if not figure.on:
        value = figure.cases[()]
        return (None, False) if value is None else ((Fraction(value), Fraction(value)), True)
    values = figure.where(fixed)
    known = [Fraction(value) for value in values if value is not None]
    if not known:
        return None, False
    return (min(known), max(known)), len(known) == len(values)


def _ratings(option: Option) -> dict[str, Fraction]:
    """What an upgrade rates, by subject."""
    subjects = ("gvm", "front-axle", "rear-axle", "gcm")
    found = {subject: rated(option.ratings, subject) for subject in subjects}
    return {subject: Fraction(kg) for subject, kg in found.items() if kg is not None}
