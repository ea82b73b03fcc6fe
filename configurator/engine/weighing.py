"""Least and greatest axle loads of picks, as intervals while choices are open.

A bar is one load in one state against one rating. What each pick adds to it is its mass times a
factor that is linear in its place, so that least and greatest follow from the intervals of mass and
place. What does not depend on picks comes from the mass picture of the vehicle alone.

Loads are exact, in whole parts of a kilogram: as many as make every load on the vehicle whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache, partial
from math import lcm
from types import MappingProxyType
from typing import TypeAlias

from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Choice, Option
from configurator.catalogue.vehicles import Vehicle
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import (
    NO_FIGURE,
    Answers,
    Determiners,
    Figure,
    masses,
    states_in,
)
from configurator.engine.layouts import Middles
from configurator.engine.limits import Fixed, Key, Load
from configurator.engine.violation import Held
from configurator.mass.axles import share
from configurator.mass.demands import LIFTING, let_pass, rated
from configurator.mass.picture import mass_picture, only_fluid
from configurator.mass.places import Extents
from configurator.mass.states import NO_PICK
from configurator.selection.picks import Override, Selection, Travel
from configurator.selection.resolved import Resolved
from configurator.selection.totals import contents_of

Ends: TypeAlias = tuple[int, int]
"""Least and greatest, in parts of a kilogram or a millimetre."""

_ANYWHERE: Middles = MappingProxyType({})

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
class Journey:
    """How selections travel, and what they override; None is the catalogue's setting.

    Ratings depend on that in addition to the picks, so a search answers for one journey at a time.

    Attributes:
        people: how many travel.
        tow_ball: download on the tow ball, kg.
        trailer: mass of the laden trailer, kg.
        passed: subjects of ratings and limits that are overridden by name; they constrain nothing.
    """

    people: int | None = None
    tow_ball: Decimal | None = None
    trailer: Decimal | None = None
    passed: frozenset[str] = field(default=frozenset())

    @property
    def travel(self) -> Travel:
        """As a selection says it."""
        return Travel(people=self.people, tow_ball=self.tow_ball, trailer=self.trailer)

    def on(self, selection: Selection) -> Selection:
        """The selection with the journey made, and what it overrides."""
        passed = tuple(Override(subject, "", "") for subject in sorted(self.passed))
        return evolve(selection, travel=self.travel, overrides=passed)


def journey_of(build: Resolved) -> Journey:
    """The journey that a selection is for."""
    travel, passed = build.selection.travel, build.selection.overrides
    return Journey(
        travel.people, travel.tow_ball, travel.trailer, let_pass(build.catalogue, passed)
    )


@frozen
class WeighedLoad:
    """A load in one state against its rating, in parts of a kilogram.

    Attributes:
        subject: of the rating; the load of :data:`LIFTING` is that of the front axle with its sign
            changed, and has to stay below nothing.
        state: id of the state.
        base: the load of the vehicle alone.
        rating: the vehicle's own; None where it has none.
        hitched: it counts only with a tow bar.
        parts: how many make one kilogram.
    """

    subject: str
    state: str
    base: int
    rating: int | None
    hitched: bool
    parts: int

    def over(self, load: Load, rating: Load | None) -> bool:
        """Whether the load is more than the rating allows."""
        if rating is None:
            return False
        return load >= rating if self.subject == LIFTING else load > rating

    def kg(self, load: Load) -> Fraction:
        """A load on it in kilograms."""
        return Fraction(load) / self.parts


class Weighing:
    """Loads of one catalogue on one journey.

    Attributes:
        vehicles: by id.
        bars: by vehicle.
        upgrades: picks that put a rating in place of the vehicle's, the later counting more; each
            with what it rates, by subject, kg.
        hitches: tow bars; the trailer hangs on the first that is picked.
        fixing: choices that a mass or place depends on.
        loads: what options add to a vehicle, where some choices are fixed.
    """

    def __init__(
        self, encoding: Encoding, mass: Callable[[Choice, Option], Figure], journey: Journey
    ) -> None:
        self.encoding, self.catalogue, self.journey = encoding, encoding.catalogue, journey
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
        answers = Answers(self.catalogue)
        self._figures: dict[Key, tuple[Figure, Figure]] = {}
        for choice, option in every:
            liquid = only_fluid(option)
            fluid = masses(answers, choice, liquid) if liquid.mass else NO_FIGURE
            self._figures[choice.id, option.id] = mass(choice, option), fluid
        shapes = ((c.id, o.space or (o.tray and o.tray.length)) for c, o in every)
        self._shaping = frozenset(choice for choice, shape in shapes if shape)
        hanging = {c for figure, _ in self._figures.values() for c, _ in figure.on}
        self.fixing = tuple(sorted(hanging | self._shaping))
        self._fixing = self._options_of(self.fixing)
        contents = {Fraction(contents_of(o)) for _, o in every}
        known = {v for both in self._figures.values() for f in both for v in f.cases.values() if v}
        pull = Fraction(self.journey.tow_ball or 0)
        self._mass_parts = _common([*contents, *map(Fraction, known), pull])
        walls = {Fraction(part.wall) for *_, part in self.catalogue.space_parts}
        self._place_parts = 2 * _common(walls)
        self._parts: dict[str, int] = {}
        self.bars = {name: self._bars(name, one) for name, one in self.vehicles.items()}
        # quick steps of two sales take 2.9 s: 4.9, 3.3 and 3.1 without one of these
        self.loads = cache(partial(Loads, self))
        self._masses: dict[tuple[Key, Fixed], tuple[Ends, Ends]] = {}
        self._extents: dict[tuple[str, Fixed], Extents] = {}

    def _bars(self, name: str, vehicle: Vehicle) -> tuple[WeighedLoad, ...]:
        alone = Selection(self.catalogue.id, (Pick(VEHICLE, name),), travel=self.journey.travel)
        picture = mass_picture(Resolved(self.catalogue, alone), None)
        assert picture is not None
        found: list[tuple[str, str, Fraction, Decimal | None, bool]] = []
        bases = {}
        for state in picture.states:
            own = [item for item in state.items if item.pick != NO_PICK]
            off = [share(item.mass, item.x, vehicle.wheelbase) for item in own]
            bases[state.id] = (
                state.loads.front - sum(load.front for load in off),
                state.loads.rear - sum(load.rear for load in off),
            )
        if self.journey.tow_ball is not None:
            bases[_TOWING] = bases[_FULL]
        for state_id, (front, rear) in bases.items():
            hitched = state_id == _TOWING
            found += [
                ("gvm", state_id, front + rear, vehicle.gvm, hitched),
                ("front-axle", state_id, front, vehicle.front_axle, hitched),
                ("rear-axle", state_id, rear, vehicle.rear_axle, hitched),
                (LIFTING, state_id, -front, Decimal(0), hitched),
            ]
        if self.journey.trailer:
            found.append(
                ("gcm", _FULL, sum(bases[_FULL], Fraction(self.journey.trailer)), vehicle.gcm, True)
            )
        ratings = [Fraction(rating or 0) for *_, rating, _ in found]
        ratings += [kg for _, rates in self.upgrades for kg in rates.values()]
        parts = lcm(
            self._mass_parts * self._place_parts * vehicle.wheelbase,
            _common([*ratings, *(base for _, _, base, _, _ in found)]),
        )
        self._parts[name] = parts // (self._mass_parts * self._place_parts * vehicle.wheelbase)
        return tuple(
            WeighedLoad(
                subject,
                state,
                _whole(base, parts),
                None if rating is None else _whole(Fraction(rating), parts),
                hitched,
                parts,
            )
            for subject, state, base, rating, hitched in found
        )

    def fixed(self, held: Held, choices: Sequence[str] | None = None) -> Fixed:
        """Those choices, by default all that a mass or place depends on, fixed as they are held."""
        on = self._fixing if choices is None else self._options_of(choices)
        return tuple(zip((name for name, _ in on), states_in(held, on), strict=True))

    def upgrades_of(self, bar: WeighedLoad) -> list[tuple[Key, Load]]:
        """Picks that change the rating of a bar, and to what."""
        of = self.upgrades
        return [(key, r[bar.subject] * bar.parts) for key, r in of if bar.subject in r]

    def _options_of(self, choices: Iterable[str]) -> Determiners:
        return tuple((name, tuple(sorted(self.catalogue.by_id[name].by_id))) for name in choices)

    def extents(self, vehicle: str, fixed: Fixed) -> Extents:
        """Where things may sit on the vehicle."""
        key = vehicle, tuple(pair for pair in fixed if pair[0] in self._shaping)
        if key not in self._extents:
            answers = {choice: frozenset(o for o, _ in state) for choice, state in key[1]}
            self._extents[key] = Extents(self.catalogue, self.vehicles[vehicle], answers)
        return self._extents[key]

    def added(
        self, vehicle: str, fixed: Fixed, key: Key, middle: Fraction | None = None
    ) -> tuple[Ends, ...]:
        """What one of the option adds to each bar of the vehicle; of a unit, with its middle there.

        That is behind the inside front of its space, mm.
        """
        bars, option = self.bars[vehicle], self.catalogue.option(*key)
        masses = self._masses_of(fixed, key)
        if masses == ((0, 0), (0, 0)):
            return ((0, 0),) * len(bars)
        extents, parts = self.extents(vehicle, fixed), self._place_parts
        if middle is None or option.unit is None:
            place = extents.where(self.catalogue.by_id[key[0]], option)
        else:
            place = extents.placed(option.unit, middle)
        ends = {_whole(x, parts) for x in place}
        length, times = self.vehicles[vehicle].wheelbase * parts, self._parts[vehicle]
        found = []
        for bar in bars:
            slope, level = _FACTORS[bar.subject]
            factors = [times * (slope * x + level * length) for x in ends]
            products = [kg * factor for kg in masses[bar.state != _DELIVERED] for factor in factors]
            found.append((min(products), max(products)))
        return tuple(found)

    def hitch(self, held: Held) -> Key | None:
        """The tow bar that the trailer hangs on."""
        return next((key for key in self.hitches if key in held), None)

    def unhitched(self, hitch: Key) -> Iterator[int]:
        """Literals of which one is true where the trailer hangs on another tow bar, or none."""
        yield -self.encoding.at_least(*hitch)
        for earlier in self.hitches[: self.hitches.index(hitch)]:
            yield self.encoding.at_least(*earlier)

    def pull(self, vehicle: str, hitch: Key | None) -> Sequence[int]:
        """What the download on a tow bar adds to each bar of the vehicle."""
        bars = self.bars[vehicle]
        if hitch is None or not self.journey.tow_ball:
            return [0] * len(bars)
        behind = self.catalogue.option(*hitch).hitch
        assert behind is not None
        length = self.vehicles[vehicle].wheelbase * self._place_parts
        ball = length + behind.behind * self._place_parts
        kg = _whole(Fraction(self.journey.tow_ball), self._mass_parts * self._parts[vehicle])
        factors = (_FACTORS[bar.subject] if bar.state == _TOWING else (0, 0) for bar in bars)
        return [kg * (slope * ball + level * length) for slope, level in factors]

    def _masses_of(self, fixed: Fixed, key: Key) -> tuple[Ends, Ends]:
        """Least and greatest mass of one, as delivered and fully loaded."""
        whole, fluid = self._figures[key]
        matters = {name for figure in (whole, fluid) for name, _ in figure.on}
        known = key, tuple(pair for pair in fixed if pair[0] in matters)
        if known not in self._masses:
            self._masses[known] = self._calculated(key, whole, fluid, dict(known[1]))
        return self._masses[known]

    def _calculated(
        self, key: Key, whole: Figure, fluid: Figure, fixed: Mapping[str, State]
    ) -> tuple[Ends, Ends]:
        option, parts = self.catalogue.option(*key), self._mass_parts
        values = whole.where(fixed)
        empty = [_whole(Fraction(value), parts) for value in values if value is not None]
        if not empty:
            return (0, 0), (0, 0)
        full = _whole(Fraction(contents_of(option)), parts)
        of_fluid = [_whole(Fraction(v), parts) for v in fluid.where(fixed) if v is not None] or [0]
        low, high = min(empty), max(empty)
        unknown = len(empty) < len(values)
        delivered, laden = low - max(of_fluid), low + full
        if unknown:
            delivered, laden = min(0, delivered), min(0, laden)
        return (delivered, high - min(of_fluid)), (laden, high + full)


class Loads:
    """What picks add to the bars of a vehicle with some choices fixed, each calculated once.

    Args:
        weighing: of the catalogue.
        vehicle: its id.
        fixed: the choices.
    """

    def __init__(self, weighing: Weighing, vehicle: str, fixed: Fixed = ()) -> None:
        self._weighing, self._vehicle, self._fixed = weighing, vehicle, fixed
        self._bases = tuple(bar.base for bar in weighing.bars[vehicle])
        # reasons of two sales take 0.58 s for 0.74; completing seeded catalogues 0.36 for 0.52
        self._rows: tuple[dict[tuple[Key, int], list[int]], ...] = {}, {}
        self._added: dict[tuple[Key, Fraction | None], tuple[Ends, ...]] = {}

    def of(self, key: Key, middle: Fraction | None = None) -> tuple[Ends, ...]:
        """To each bar, at least and at most; of a unit that is placed, with its middle there."""
        if (key, middle) not in self._added:
            self._added[key, middle] = self._weighing.added(self._vehicle, self._fixed, key, middle)
        return self._added[key, middle]

    def least(self, held: Held) -> list[int]:
        """What comes to each bar with every unit in its best place."""
        return self._loads(held, 0)

    def most(self, held: Held, middles: Middles = _ANYWHERE) -> list[int]:
        """The same with every unit in its worst place, but those whose middles are reported."""
        if not middles:
            return self._loads(held, 1)
        placed = [[most for _, most in self.of(key, x)] for key, xs in middles.items() for x in xs]
        rest = {key: count - len(middles.get(key, ())) for key, count in held.items()}
        return self._loads(rest, 1, placed)

    def _loads(self, held: Held, end: int, more: Sequence[Sequence[int]] = ()) -> list[int]:
        rows, known = list(more), self._rows[end]
        for pick in held.items():
            if pick not in known:
                known[pick] = [pick[1] * ends[end] for ends in self.of(pick[0])]
            rows.append(known[pick])
        pull = self._weighing.pull(self._vehicle, self._weighing.hitch(held))
        return [sum(column) for column in zip(self._bases, pull, *rows, strict=True)]

    def worst(self, index: int, end: int = 1) -> int:
        """No less than any picks bring to a bar in their worst places; with 0, in their best."""
        load = self._bases[index]
        for choice in self._weighing.encoding.choices:
            several = choice.pick == "several"
            each = [
                max(
                    0, (option.most if several else 1) * self.of((choice.id, option.id))[index][end]
                )
                for option in choice.options
                if choice.id != VEHICLE or option.id == self._vehicle
            ]
            load += sum(each) if several else max(each)
        pulls = (self._weighing.pull(self._vehicle, key) for key in self._weighing.hitches)
        return load + max((pull[index] for pull in pulls), default=0)


def _ratings(option: Option) -> dict[str, Fraction]:
    """What an upgrade rates, by subject."""
    subjects = ("gvm", "front-axle", "rear-axle", "gcm")
    found = {subject: rated(option.ratings, subject) for subject in subjects}
    return {subject: Fraction(kg) for subject, kg in found.items() if kg is not None}


def _common(values: Iterable[Fraction]) -> int:
    """How many parts of one make all of the values whole."""
    return lcm(*(value.denominator for value in values))


def _whole(value: Fraction, parts: int) -> int:
    """The value in parts, of which it is a whole number."""
    return value.numerator * (parts // value.denominator)
