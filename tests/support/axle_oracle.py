"""Axle loads of one complete selection, worked out again from the catalogue as plain data.

Moments are taken about the rear axle, where the package takes them about the front one; nothing is
shared with it. All in kg and mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple, TypeAlias

from tests.support.building import Raw

Key: TypeAlias = tuple[str, str]

Centres: TypeAlias = tuple[tuple[Key, Fraction], ...]
"""Each unit, and its middle behind the inside front of the canopy."""


class Mass(NamedTuple):
    """A mass as delivered, the same fully loaded, and its x; none for a unit to be placed."""

    key: Key
    bare: Fraction
    full: Fraction
    x: Fraction | None


class State(NamedTuple):
    """Delivered or fully loaded: the mass and its moment without the units to be placed."""

    total: Fraction
    about_rear: Fraction
    placed: list[tuple[Key, Fraction]]


class Loads:
    """What a selection puts on its axles.

    Args:
        data: the catalogue.
        picked: each pick with its option and quantity.
        mass: the empty mass of one, or None where a table has none.
        inside: clear length of the canopy, or None where it is not known.
    """

    def __init__(
        self,
        data: Raw,
        picked: list[tuple[Key, Raw, int]],
        mass: Callable[[Raw], Decimal | None],
        inside: int | None,
    ) -> None:
        self.data, self.picked, self.inside = data, picked, inside
        self.vehicle: Raw = next(o["vehicle"] for (c, _), o, _ in picked if c == "vehicle")
        self.wheelbase = self.vehicle["wheelbase"]
        self.settings: Raw = data.get("mass", {})
        self.masses = [m for key, o, n in picked for m in self._of(key, o, n, mass(o))]
        self.ratings = {one: self._rating(one) for one in ("gvm", "front-axle", "rear-axle")}
        self.states = [self._state(full, more) for full, more in self._states()]

    def _of(self, key: Key, one: Raw, n: int, mass: Decimal | None) -> Iterator[Mass]:
        if mass is None:
            return
        contents = Fraction(one.get("unit", one).get("contents", 0))
        placed = "unit" in one and self.inside is not None
        x = None if placed else self._place(one)
        for _ in range(n):
            yield Mass(key, Fraction(mass), Fraction(mass) + contents, x)

    def _parts(self) -> list[Raw]:
        return [o["space"]["canopy"] for _, o, _ in self.picked if "space" in o]

    @cached_property
    def front(self) -> Fraction:
        """Inside front of the canopy."""
        parts = self._parts()
        wall = sum((Fraction(p.get("wall", 0)) for p in parts), Fraction(0))
        return Fraction(self.vehicle["tray-front"] + sum(p.get("x", 0) for p in parts)) + wall

    def _place(self, one: Raw) -> Fraction:
        at = one.get("position")
        if at is not None:
            origin = {
                "front-axle": 0,
                "tray-front": self.vehicle["tray-front"],
                "rear-axle": self.wheelbase,
            }
            return Fraction(origin[at["from"]] + at["x"])
        parts = self._parts()
        sized = all(any(side in p for p in parts) for side in ("length", "width", "height"))
        if sized and "unit" not in one:
            outer = min(p["length"] for p in parts if "length" in p)
            shift = sum(p.get("x", 0) for p in parts)
            return Fraction(self.vehicle["tray-front"] + shift) + Fraction(outer, 2)
        trays = [o["tray"]["length"] for _, o, _ in self.picked if "length" in o.get("tray", {})]
        if trays:
            return Fraction(self.vehicle["tray-front"]) + Fraction(max(trays), 2)
        return Fraction(self.wheelbase)

    def _rating(self, name: str) -> Fraction:
        found = self.vehicle[name]
        for choice in [c["id"] for c in self.data["choices"]]:
            for (c, _), one, _ in self.picked:
                if c == choice and name in one.get("ratings", {}):
                    found = one["ratings"][name]
        return Fraction(found)

    def _states(self) -> Iterator[tuple[bool, list[tuple[Fraction, Fraction]]]]:
        """Whether it is fully loaded, and the masses that are no picks, each with its x."""
        fuel = self.vehicle.get("fuel")
        there = Decimal(self.vehicle["kerb"].get("fuel", fuel["litres"] if fuel else 0))
        people = self.settings["people"]
        for full in (False, True):
            more = []
            if fuel:
                litres = fuel["litres"]
                wanted = litres if full else min(litres, self.settings["fuel-delivered"])
                step = (wanted - there) * Decimal(fuel["density"])
                more.append((Fraction(step), Fraction(fuel["x"])))
            if full:
                (row,) = self.vehicle["seats"]
                more.append((Fraction(people * self.settings["person"]), Fraction(row["x"])))
            yield full, more

    def _state(self, full: bool, more: list[tuple[Fraction, Fraction]]) -> State:
        """What is the same wherever the units are."""
        kerb = self.vehicle["kerb"]
        total = Fraction(kerb["front"] + kerb["rear"])
        about_rear = Fraction(kerb["front"] * self.wheelbase)
        placed: list[tuple[Key, Fraction]] = []
        for one in self.masses:
            mass = one.full if full else one.bare
            if one.x is None:
                placed.append((one.key, mass))
            else:
                more = [*more, (mass, one.x)]
        for mass, x in more:
            total += mass
            about_rear += mass * (self.wheelbase - x)
        return State(total, about_rear, placed)

    def heavy(self) -> bool:
        """Whether it is more than the gross vehicle mass allows, in any state."""
        return any(
            state.total + sum((mass for _, mass in state.placed), Fraction(0)) > self.ratings["gvm"]
            for state in self.states
        )

    def _kept(self, state: State, centres: Centres) -> list[bool]:
        """Rear rating, front rating, and that the front wheels stand on something."""
        waiting: dict[Key, list[Fraction]] = {}
        for key, x in centres:
            waiting.setdefault(key, []).append(self.front + x)
        total, about_rear = state.total, state.about_rear
        for key, mass in state.placed:
            total += mass
            about_rear += mass * (self.wheelbase - waiting[key].pop())
        front = about_rear / self.wheelbase
        rear = total - front
        return [rear <= self.ratings["rear-axle"], front <= self.ratings["front-axle"], front > 0]

    def keeps(self, centres: Centres) -> bool:
        """Whether with the units there every axle rating is kept, in every state."""
        return all(all(self._kept(state, centres)) for state in self.states)

    def hopeless(self) -> bool:
        """Whether some axle rating is exceeded however far forward or back each unit could be."""
        units = [(m.key, self.options[m.key]) for m in self.masses if m.x is None]
        ends = []
        for last in (False, True):
            centres = []
            for key, one in units:
                half = Fraction(min(one["unit"]["body"]["width"], one["unit"]["body"]["depth"]), 2)
                assert self.inside is not None
                free = max(Fraction(0), self.inside - 2 * half)
                centres.append((key, half + (free if last else 0)))
            ends.append(tuple(centres))
        return any(
            not any(either)
            for state in self.states
            for either in zip(*(self._kept(state, centres) for centres in ends), strict=True)
        )

    @property
    def options(self) -> Mapping[Key, Raw]:
        return {key: one for key, one, _ in self.picked}

    def hangs_over(self) -> bool:
        """Whether tray or canopy ends too far behind the rear axle."""
        parts = self._parts()
        ends = [
            self.vehicle["tray-front"] + o["tray"]["length"]
            for _, o, _ in self.picked
            if "tray" in o
        ]
        if all(any(side in p for p in parts) for side in ("length", "width", "height")):
            outer = min(p["length"] for p in parts if "length" in p)
            ends.append(self.vehicle["tray-front"] + sum(p.get("x", 0) for p in parts) + outer)
        most = min(Fraction(3700), Fraction(6, 10) * self.wheelbase)
        return bool(ends) and max(ends) - self.wheelbase > most
