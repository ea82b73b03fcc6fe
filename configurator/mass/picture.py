"""The masses of a selection put together.

Units stand where the layout has them. Without a layout a unit is taken to be in the middle of its
space; a part whose place nobody states is in the middle of the canopy, or of the tray for parts
of the group ``tray``. The picture says which places were assumed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import attrs

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Option
from configurator.catalogue.parts import MassParts, Measured
from configurator.catalogue.vehicles import Hitch, Ratings, Vehicle, people_aboard
from configurator.mass.axles import AxleLoads, on_axles, overhang_limit, share, summed
from configurator.mass.places import Places, places_of
from configurator.mass.states import (
    NO_PICK,
    STATES,
    TOWING,
    LoadCase,
    MassPicture,
    PlacedMass,
    RatedLoad,
    Size,
    Trailer,
)
from configurator.selection.picks import marked_title
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import MissingPicks, contents_of, mass_of, part_total
from configurator.words import capital, left, listed, text

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

CAUTION = text(
    "Estimate from catalogue figures. Confirm on a weighbridge, loaded as you travel; the maker's "
    "ratings, local rules and a licensed certifier decide."
)

WIDEST, HIGHEST = 2500, 4300
"""Widest and highest that a light vehicle may be in Australia, mm."""


@once
def mass_picture(build: Resolved, layout: Layout | None) -> MassPicture | None:
    """The mass picture, or None while no vehicle is picked.

    Without a layout the places of units are assumed.
    """
    places = places_of(build)
    return None if places is None else _MassDraft(build, places, layout).made()


@once
def _items(build: Resolved, layout: Layout | None, index: int) -> tuple[PlacedMass, ...]:
    """What a pick weighs, by its place in the picks, where it is.

    Raises:
        MissingPicks: its mass depends on a choice that is still open.
    """
    choice, option, quantity = build.picks[index]
    places, liquid = places_of(build), _fluid(option)
    assert places is not None
    whole, fluid = Fraction(mass_of(build, option)), Fraction(0)
    for part in liquid:
        fluid += Fraction(part_total(build, part) * option.how_much)
    contents = Fraction(contents_of(option))
    masses = (
        ("part", whole - fluid if liquid else whole),
        ("fluid", fluid),
        ("contents", contents),
    )
    kinds = [(kind, mass) for kind, mass in masses if mass]
    title, pick = marked_title(choice.id, option), Pick(choice.id, option.id)
    return tuple(
        PlacedMass(kind, title, pick, mass, *spot, known)
        for spot, known in places.spots(choice, option, quantity, layout)
        for kind, mass in kinds
    )


class _MassDraft:
    """The picture in the making."""

    def __init__(self, build: Resolved, places: Places, layout: Layout | None) -> None:
        self.build, self.places, self.vehicle = build, places, places.vehicle
        self.settings, self.travel = build.catalogue.mass, build.selection.travel
        self.unknown: list[str] = []
        self.items: list[PlacedMass] = []
        for index, (_, option, _) in enumerate(build.picks):
            try:
                self.items += _items(build, layout if option.unit else None, index)
            except MissingPicks:
                self.unknown.append(option.title)
        kerb = self.vehicle.kerb
        self.kerb = AxleLoads(Fraction(kerb.front), Fraction(kerb.rear))
        self.ratings, self.upgrades = _ratings(self.vehicle, [o for _, o, _ in build.picks])

    def made(self) -> MassPicture:
        """The finished picture."""
        people, seats = people_aboard(self.vehicle, self.travel.people, self.settings)
        parts = [item for item in self.items if item.kind == "part"]
        delivered = [*parts, *self._fuel(self.settings.fuel_delivered)]
        full = [*self.items, *self._fuel(None), *self._people(people)]
        states = [self._state("delivered", delivered), self._state("full", full)]
        trailer = self._trailer(states[1].loads)
        if trailer is not None:
            states.append(self._towing(full, trailer))
        heights = [(item.mass, item.z) for item in self.items]
        added, moment = summed(heights)
        empty = self.kerb.total + Fraction(self.vehicle.fuel_to_fill)
        assumed = dict.fromkeys(item.title for item in self.items if not item.placed)
        return MassPicture(
            vehicle=self.build.choices[VEHICLE].by_id[str(self.build.selection.one(VEHICLE))].title,
            wheelbase=self.vehicle.wheelbase,
            kerb=self.kerb,
            ratings=self.ratings,
            upgrades=self.upgrades,
            states=tuple(states),
            added=added,
            added_height=moment / added if added else None,
            size=self._size(),
            trailer=trailer,
            payload=_kg(self.ratings.gvm) - empty,
            payload_used=states[1].loads.total - empty,
            people=people,
            seats=seats,
            assumed=tuple(assumed),
            unknown=tuple(self.unknown),
            convention=self._convention(people),
            cautions=tuple(self._cautions()),
        )

    def _fuel(self, litres: Decimal | None) -> Iterator[PlacedMass]:
        """The step from the fuel in the kerb mass to this many litres; None for a full tank."""
        fuel = self.vehicle.fuel
        if fuel is None:
            return
        there = fuel.litres if self.vehicle.kerb.fuel is None else self.vehicle.kerb.fuel
        wanted = fuel.litres if litres is None else min(litres, fuel.litres)
        step = Fraction((wanted - there) * fuel.density)
        if step:
            title = text("Fuel, {litres:signed} L", litres=wanted - there)
            yield _on_board("fuel", title, step, fuel.x)

    def _people(self, people: int) -> Iterator[PlacedMass]:
        """The front seats first; who finds no seat is counted in the last row."""
        each = Fraction(self.settings.each)
        left = people
        for index, row in enumerate(self.vehicle.seats):
            last = index == len(self.vehicle.seats) - 1
            here = left if last else min(left, row.count)
            left -= here
            if here and each:
                title = text(
                    "1 person in seat row {row}",
                    "{n} people in seat row {row}",
                    n=here,
                    row=index + 1,
                )
                yield _on_board("person", title, here * each, row.x)

    def _state(
        self,
        identity: str,
        items: list[PlacedMass],
        more: Iterable[RatedLoad] = (),
        title: str = "",
    ) -> LoadCase:
        masses = [(item.mass, item.x) for item in items]
        loads = on_axles(self.kerb.front, self.kerb.rear, self.vehicle.wheelbase, masses)
        rated = self.ratings
        bars = [
            RatedLoad("gvm", loads.total, _kg(rated.gvm)),
            RatedLoad("front-axle", loads.front, _kg(rated.front_axle)),
            RatedLoad("rear-axle", loads.standing.rear, _kg(rated.rear_axle)),
        ]
        sides = [(item.mass, item.y) for item in items if item.y]
        return LoadCase(
            id=identity,
            title=title or capital(STATES[identity]),
            loads=loads,
            bars=(*bars, *more),
            items=tuple(items),
            offset=summed(sides)[1] / loads.total,
            left=summed((mass, y) for mass, y in sides if y < 0)[0],
            right=summed((mass, y) for mass, y in sides if y > 0)[0],
        )

    def _trailer(self, full: AxleLoads) -> Trailer | None:
        hitches = [option.hitch for _, option, _ in self.build.picks if option.hitch is not None]
        if not hitches:
            return None
        hitch = hitches[0]
        rated = Fraction(rated_download(self.vehicle, hitch))
        wheelbase = self.vehicle.wheelbase
        one = share(1, wheelbase + hitch.behind, wheelbase)
        room = [_kg(self.ratings.gvm) - full.total, rated]
        if one.rear > 0:
            room.append((_kg(self.ratings.rear_axle) - full.rear) / one.rear)
        if one.front < 0:
            room.append(full.front / -one.front)
        most = max(Fraction(0), Fraction(left(min(room), 0)))
        stated = self.travel.tow_ball is not None
        trailers = [Fraction(rated_towing(self.vehicle, hitch))]
        if self.ratings.gcm is not None:
            trailers.append(_kg(self.ratings.gcm) - full.total)
        return Trailer(
            download=Fraction(self.travel.tow_ball) if self.travel.tow_ball is not None else most,
            stated=stated,
            most_download=most,
            rated_download=rated,
            heaviest=max(Fraction(0), min(trailers)),
            behind=hitch.behind,
        )

    def _towing(self, full: list[PlacedMass], trailer: Trailer) -> LoadCase:
        x, kg = self.vehicle.wheelbase + trailer.behind, trailer.download
        items = [*full, _on_board("tow-ball", text("Tow-ball download"), kg, x)] if kg else full
        bars = [RatedLoad("tow-ball", kg, trailer.rated_download)]
        if self.ratings.gcm is not None and self.travel.trailer is not None:
            alone = self.kerb.total + sum((item.mass for item in full), Fraction(0))
            together = alone + Fraction(self.travel.trailer)
            bars.append(RatedLoad("gcm", together, _kg(self.ratings.gcm)))
        title = "" if trailer.stated else text("Fully loaded, with the most on the tow ball")
        return self._state(TOWING, items, bars, title)

    def _size(self) -> Size:
        vehicle, places = self.vehicle, self.places
        trays = [option.tray.width for _, option, _ in self.build.picks if option.tray is not None]
        widths = [size.width for size in places.sizes.values()]
        widths += [width for width in (*trays, vehicle.overall_width) if width is not None]
        heights = [] if vehicle.cab_height is None else [vehicle.cab_height]
        tops = [
            p.top + (places.roof if p.above == "roof" else 0)
            for _, option, _ in self.build.picks
            if (p := option.position) is not None and p.top is not None
        ]
        top = max([places.roof, *tops])
        if vehicle.tray_floor is not None:
            heights.append(vehicle.tray_floor + top)
        behind = (places.rear[1] or Fraction(0)) - vehicle.wheelbase
        width, height = max(widths, default=None), max(heights, default=None)
        stated = vehicle.cab_height is not None and (vehicle.tray_floor is not None or not top)
        return Size(
            overhang=behind if behind > 0 else None,
            overhang_limit=overhang_limit(vehicle.wheelbase),
            width=None if vehicle.overall_width is None else width,
            height=height if stated else None,
            least_width=width,
            least_height=height,
        )

    def _convention(self, people: int) -> str:
        settings = self.settings
        known = {"people": people, "kg": settings.person, "source": settings.source}
        if settings.luggage:
            return text(
                "{people} aboard, {kg} kg each at the seat and {luggage} kg of luggage each "
                "({source})",
                luggage=settings.luggage,
                **known,
            )
        return text("{people} aboard, {kg} kg each at the seat ({source})", **known)

    def _cautions(self) -> Iterator[str]:
        yield CAUTION
        if self.upgrades:
            yield text(
                "Counted with the higher ratings of an upgrade, which apply only once certified "
                "and recorded for this vehicle: {titles}.",
                titles=listed(self.upgrades),
            )
        if any(not item.placed for item in self.items if item.kind == "part"):
            yield text("Where no position is given, the middle of the canopy or tray is assumed.")


def _ratings(vehicle: Vehicle, options: list[Option]) -> tuple[Ratings, tuple[str, ...]]:
    """The ratings with upgrades in place, and the titles of what upgrades them."""
    rated = Ratings(vehicle.gvm, vehicle.front_axle, vehicle.rear_axle, vehicle.gcm)
    upgrades = []
    for option in options:
        if option.ratings is not None:
            given = attrs.asdict(option.ratings)
            changes = {name: kg for name, kg in given.items() if kg is not None}
            rated = attrs.evolve(rated, **changes)
            upgrades.append(option.title)
    return rated, tuple(upgrades)


def _fluid(option: Option) -> tuple[MassParts, ...]:
    """Those parts of its mass that come by the litre of a limit."""
    return tuple(part for part in option.mass if isinstance(part, Measured) and "." not in part.of)


def rated_download(vehicle: Vehicle, hitch: Hitch) -> Decimal:
    """The lower rating of the tow ball, of vehicle and tow bar, kg."""
    return min(filter(None, (hitch.download, vehicle.tow_ball)))


def rated_towing(vehicle: Vehicle, hitch: Hitch) -> Decimal:
    """The lower rating of a trailer, of vehicle and tow bar, kg."""
    return min(filter(None, (hitch.towing, vehicle.towing)))


def only_fluid(option: Option) -> Option:
    """The option with only those parts of its mass that come by the litre of a limit."""
    return attrs.evolve(option, mass=_fluid(option))


def _on_board(kind: str, title: str, mass: Fraction, x: int) -> PlacedMass:
    """A mass that is no pick, in the middle of the vehicle."""
    return PlacedMass(kind, title, NO_PICK, mass, Fraction(x), Fraction(0), Fraction(0))


def _kg(rating: Decimal | None) -> Fraction:
    assert rating is not None
    return Fraction(rating)
