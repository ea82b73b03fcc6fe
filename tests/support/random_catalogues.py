"""Seeded makers of catalogues: small ones for proofs, large ones for the benchmark.

Small ones have few complete selections, so that all of them can be listed, and something of
everything: rules of every form, limits (of amounts and of mass), quantities, tables with holes,
package deals that compete, and boxes of a few millimetres with doors, linings and carriers.

Large ones have the sizes of a real shop and beyond: S, M, L and XL.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product
from math import prod
from random import Random
from typing import Any, TypeAlias

from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    choice,
    limit,
    option,
    raw_catalogue,
    rule,
    several,
    vehicle,
)

Counts: TypeAlias = Mapping[tuple[str, str], int]

FLAVOURS = ("rules", "limits", "fit", "crowd", "everything", "axles")
"""What a small catalogue is mostly about; the seed says which."""

_MOST_WORLDS = 300

_SPARE = 1000
"""Payload that ratings allow beyond what limits on mass leave, so that they never matter, kg."""


class Maker:
    """Makes one small catalogue and picks of it.

    Args:
        seed: the same seed, the same catalogue and the same picks.
        flavour: what it is mostly about; by the seed when it is not said.
    """

    def __init__(self, seed: int, flavour: str = "") -> None:
        self.dice = Random(seed)
        self.flavour = flavour or FLAVOURS[seed % len(FLAVOURS)]
        self.limited = self.flavour in ("limits", "everything")
        self.crowded = self.flavour == "crowd"
        self.fitted = self.crowded or self.flavour in ("fit", "everything")
        self.names: list[str] = []

    def chance(self, share: float) -> bool:
        return self.dice.random() < share

    # The catalogue

    def catalogue(self) -> Raw:
        """A whole catalogue as plain data."""
        choices = self._axles() if self.flavour == "axles" else self._choices()
        vehicles = self._vehicles()
        add_ons = [
            option(f"a{n}", self._price("add-on"), because="It helps.", **self._facets("add-on"))
            for n in range(self.dice.choice([0, 0, 1, 2]))
        ]
        kept = ("unit", "size") if self.crowded or self.flavour == "axles" else ()
        while _worlds(choices) * len(vehicles) * 2 ** len(add_ons) > _MOST_WORLDS:
            droppable = [c for c in choices if c["id"] not in kept]
            if not droppable:
                break
            choices.remove(max(droppable, key=lambda c: (_answers(c), c["id"])))
        self.dice.shuffle(choices)
        self._mend(choices, [*vehicles, *add_ons])
        data = raw_catalogue(
            choices,
            vehicles=vehicles,
            add_ons=add_ons,
            spaces=[{"id": "canopy", "title": "Canopy"}],
            limits=[
                self._payload(self.dice.randint(0, 60)),
                limit("charge", "A", reserve=self.dice.choice([0, 0, 1, 2])),
            ]
            if self.limited
            else [],
        )
        offered = {name: list(by) for name, by in offers(data).items() if by}
        few = 2 if self.flavour in ("limits", "fit", "crowd", "axles") else 6
        data["rules"] = [self._rule(n, offered) for n in range(self.dice.randint(0, few))]
        data["package-deals"] = self._deals(data)
        if self.flavour == "axles":
            data["mass"] = {"people": self.dice.choice([1, 2]), "person": 10, "fuel-delivered": 5}
        for one in add_ons:
            others = {name: by for name, by in offered.items() if name != "add-on"}
            one["suggest"] = self._condition(others, 1)
        return data

    def _payload(self, more: int) -> Raw:
        """A limit on mass, every other one of which counts the two people, of 75 kg each."""
        if more % 2:
            return limit("payload", counts="mass-and-people", reserve=_SPARE - 150 + more)
        return limit("payload", counts="mass", reserve=_SPARE + more)

    def _vehicles(self) -> list[Raw]:
        found = []
        for n in range(self.dice.choice([1, 1, 2])):
            if self.flavour == "axles":
                found.append(self._tight(f"v{n}"))
                continue
            kerb = {"front": 1200, "rear": 1000}
            figures = VEHICLE_FIGURES | {"kerb": kerb, "gvm": 2200 + _SPARE}
            figures["gvm"] += self.dice.randint(20, 160)
            made = vehicle(f"v{n}", **self._facets("vehicle"))
            found.append({**made, "vehicle": figures, "price": self._price("vehicle")})
        return found

    def _tight(self, name: str) -> Raw:
        """A vehicle so short that millimetres matter, its ratings near what picks come to."""
        dice = self.dice
        kerb: Raw = {"front": dice.randint(60, 120), "rear": dice.randint(40, 80)}
        figures: Raw = VEHICLE_FIGURES | {
            "kerb": kerb,
            "wheelbase": 20,
            "gvm": sum(kerb.values()) + dice.choice([dice.randint(120, 260), 900]),
            "front-axle": kerb["front"] + dice.choice([dice.randint(5, 60), 900]),
            "rear-axle": kerb["rear"]
            + dice.choice([dice.randint(60, 200), dice.randint(60, 200), 900]),
            "cab-back": 8,
            "tray-front": dice.randint(12, 16),
            "seats": [{"x": 7, "count": 2}],
        }
        if self.chance(0.4):
            figures["fuel"] = {"litres": 20, "density": 1, "x": 10}
            kerb["fuel"] = dice.choice([5, 20])
        return {**vehicle(name), "vehicle": figures, "price": self._price("vehicle")}

    def _axles(self) -> list[Raw]:
        """Choices about masses and where they sit."""
        dice = self.dice
        self.names = ["colour", "size"]

        def kilograms(most: int) -> Decimal:
            return Decimal(dice.randint(4, 4 * most)) / 4

        def part(name: str, heaviest: int, **more: Any) -> Raw:
            facets: Raw = {"mass": kilograms(heaviest)}
            if self.chance(0.7):
                origin = dice.choice(["front-axle", "tray-front", "rear-axle"])
                facets["position"] = {"from": origin, "x": dice.randint(-2, 12)}
            if self.chance(0.3):
                facets["contents"] = dice.randint(1, 12)
            return option(name, self._price("extra"), **facets, **more)

        def unit(name: str, **more: Any) -> Raw:
            body = {"width": dice.randint(1, 3), "depth": dice.choice([1, 2, 2]), "height": 1}
            made: Raw = {"space": "canopy", "body": body, "contents": dice.choice([0, 0, 9, 30])}
            if self.chance(0.85):
                made["works-from"] = dice.sample(["left", "left", "right", "rear"], 1)
            elif self.chance(0.3):
                made["turns"] = True
            if self.chance(0.3):
                made["clearance"] = {"rear": 1}
            return option(name, self._price("unit"), mass=kilograms(70), unit=made, **more)

        def size(name: str) -> Raw:
            space = {"length": dice.randint(5, 9), "width": 2, "height": 1}
            if self.chance(0.4):
                space["x"] = dice.randint(-2, 3)
            return option(name, self._price("size"), mass=kilograms(20), space={"canopy": space})

        raised = dice.choice(["rear-axle", "front-axle", "gvm"])
        to = dice.randint(210, 500) if raised == "gvm" else dice.randint(125, 300)
        upgrade = part("more", 8, ratings={raised: to})
        tray = option("tray", mass=kilograms(9), tray={"length": dice.randint(6, 24)})
        found = [
            choice("colour", [option("c0"), option("c1")]),
            choice(
                "size",
                [size(f"s{n}") for n in range(2)],
                dice.choice(["one", "one", "at-most-one"]),
            ),
            several("unit", [unit("u0", most=2), unit("u1")]),
            choice("upgrade", [upgrade, part("other", 8)], "at-most-one"),
            several("extra", [part("e0", 40, most=dice.choice([2, 3])), part("e1", 90)]),
        ]
        if self.chance(0.4):
            found.append(choice("tray", [tray, part("none", 5)]))
        return found

    def _choices(self) -> list[Raw]:
        dice = self.dice
        sizes = dice.randint(2, 3)
        self.names = ["colour", "size"]
        found = [
            choice("colour", [self._option("colour", f"c{n}") for n in range(2)]),
            choice(
                "size",
                [self._option("size", f"s{n}", space=self._space()) for n in range(sizes)],
                dice.choice(["one", "one", "one", "at-most-one"]),
            ),
        ]
        if self.fitted or self.chance(0.4):
            linings = [self._option("lining", f"l{n}", space=self._lining()) for n in range(2)]
            found.append(choice("lining", linings, dice.choice(["one", "at-most-one", "several"])))
        if self.fitted:
            found += self._fitted()
        if not self.fitted or self.chance(0.5):
            pick = dice.choice(["one", "at-most-one"])
            plain = [self._option("plain", f"p{n}") for n in range(dice.randint(1, 4))]
            found.append(choice("plain", plain, pick))
        extras = [
            self._option("extra", f"e{n}", most=dice.choice([1, 2, 3]))
            for n in range(dice.randint(1, 3))
        ]
        found.append(several("extra", extras, **self._at_most()))
        return found

    def _at_most(self) -> Raw:
        return {"at_most": self.dice.randint(1, 3)} if self.chance(0.4) else {}

    def _fitted(self) -> list[Raw]:
        dice = self.dice
        doors = [
            self._option("door", f"d{n}", openings=[self._opening()])
            for n in range(dice.randint(1, 2))
        ]
        bed_pick = dice.choice(["at-most-one", "several", "several"])
        beds = [
            self._option(
                "bed",
                f"b{n}",
                unit=self._carrier(),
                most=dice.choice([1, 1, 2]) if bed_pick == "several" else 1,
            )
            for n in range(dice.randint(1, 2))
        ]
        grounds = (
            [["floor"]] * 4
            if self.crowded
            else [["floor"], ["floor"], ["floor"], ["bed"], ["bed=b0"], ["floor", "bed"]]
        )
        pick = "several" if self.crowded else dice.choice(["one", "at-most-one", "several"])
        units = [
            self._option(
                "unit",
                f"u{n}",
                unit=self._unit(dice.choice(grounds)),
                most=2 if self.crowded and n == 0 else 1,
            )
            for n in range(dice.choice([2, 3, 3]))
        ]
        return [
            choice("door", doors, dice.choice(["one", "at-most-one", "several"])),
            choice("bed", beds, bed_pick),
            choice("unit", units, pick),
        ]

    def _option(self, name: str, identity: str, **more: Any) -> Raw:
        most = more.pop("most", 1)
        if most > 1:
            more["most"] = most
        return option(identity, self._price(name), **self._facets(name), **more)

    def _facets(self, name: str) -> Raw:
        found: Raw = {}
        if self.limited:
            for key, most in (("gives", 9), ("uses", 9)):
                if self.chance(0.3):
                    found[key] = {"charge": self.dice.randint(1, most)}
        if self.limited or self.fitted:
            mass = self._mass(name)
            if mass is not None:
                found["mass"] = mass
        return found

    def _mass(self, name: str) -> Any:
        dice, kind = self.dice, self.dice.random()
        if kind < 0.5:
            return Decimal(dice.randint(1, 120)) / 4
        if kind < 0.7 and name not in ("size", "colour", "vehicle"):
            # what a unit weighs must be known wherever it may stand on another
            return [self._table(name, 60) | {"holes": name not in ("unit", "bed")}]
        if kind < 0.8 and name not in ("size", "lining", "vehicle"):
            return [{"kind": "measure", "of": "canopy.shell", "rate": dice.randint(1, 9) * 10**4}]
        return None

    def _table(self, name: str, most: int) -> Raw:
        """A table over one or two choices, now and then with a hole."""
        by = self.dice.choice([["colour"], ["size"], ["colour", "size"]])
        by = [one for one in by if one != name] or ["colour"]
        return {"kind": "table", "by": by, "most": most, "holes": True}

    def _price(self, name: str) -> Any:
        dice, kind = self.dice, self.dice.random()
        if kind < 0.6:
            return dice.randint(0, 30)
        if kind < 0.75 and name not in ("size", "colour", "vehicle"):
            return [self._table(name, 30)]
        if kind < 0.82 and name not in ("size", "lining", "vehicle"):
            of = dice.choice(["canopy.shell", "canopy.volume", "canopy.length"])
            return [{"kind": "measure", "of": of, "rate": dice.randint(1, 9) * 10**4}]
        if kind < 0.9 and name == "extra":
            first, second = dice.randint(5, 20), dice.randint(1, 20)
            steps = [{"from": 1, "each": first}, {"from": 2, "each": second}]
            return [{"kind": "breaks", "steps": steps}]
        if kind < 0.93:
            return [{"kind": "on-application"}]
        return dice.randint(0, 30)

    def _mend(self, choices: list[Raw], others: list[Raw]) -> None:
        """Fill the tables in, now that it is known which choices are there."""
        answers = {c["id"]: [one["id"] for one in c["options"]] for c in choices}
        single = {c["id"] for c in choices if c["pick"] == "one"}
        sized = "size" in answers
        for one in (o for c in choices for o in c["options"] if "unit" in o):
            if "bed" not in answers:
                one["unit"]["stands-on"] = ["floor"]
        for one in [*others, *(one for c in choices for one in c["options"])]:
            for facet in ("price", "mass"):
                parts = one.get(facet)
                if not isinstance(parts, list):
                    continue
                for part in parts:
                    if part["kind"] == "table":
                        by = [name for name in part["by"] if name in single]
                        if not by:
                            one[facet] = self.dice.randint(1, 20)
                            continue
                        part["by"], most, holes = by, part.pop("most"), part.pop("holes")
                        part["rows"] = self._rows([answers[name] for name in by], most, holes)
                    elif part["kind"] == "measure" and not sized:
                        one[facet] = self.dice.randint(1, 20)

    def _rows(self, answers: Sequence[Sequence[str]], most: int, holes: bool) -> Raw:
        first, *rest = answers
        hole = None
        if holes and self.chance(0.1) and len(first) > 1:
            hole = self.dice.choice(list(first))
        return {
            name: self._rows(rest, most, holes) if rest else self.dice.randint(0, most)
            for name in first
            if name != hole
        }

    def _space(self) -> Raw:
        return {
            "canopy": {
                s: self.dice.randint(3, 4 if self.crowded else 5)
                for s in ("length", "width", "height")
            }
        }

    def _lining(self) -> Raw:
        dice = self.dice
        part: Raw = {
            key: Decimal(dice.randint(1, 3)) / 2
            for key in ("wall", "roof", "floor", "divider")
            if self.chance(0.3)
        }
        if "divider" in part and self.chance(0.5):
            part["divider-at"] = dice.randint(1, 3)
        if self.chance(0.15):
            part["height"] = dice.randint(3, 6)
        return {"canopy": part or {"floor": Decimal("0.5")}}

    def _opening(self) -> Raw:
        dice = self.dice
        found: Raw = {"space": "canopy", "side": dice.choice(["left", "left", "right", "rear"])}
        found |= {key: dice.randint(0, 2) for key in ("sill", "header") if self.chance(0.3)}
        for key in dice.sample(["front", "rear", "width"], 2):
            found[key] = dice.randint(2, 6) if key == "width" else dice.randint(0, 2)
        return found

    def _unit(self, stands_on: list[str]) -> Raw:
        dice = self.dice
        sizes = [2, 2, 2, 3] if self.crowded else [1, 2, 2, 3]
        body = {side: dice.choice(sizes) for side in ("width", "depth", "height")}
        found: Raw = {"space": "canopy", "body": body, "stands-on": stands_on}
        sides = ("front", "rear", "left", "right", "top", "bottom")
        found["clearance"] = {side: 1 for side in sides if self.chance(0.15)}
        if self.chance(0.3 if self.crowded else 0.5):
            found["works-from"] = dice.sample(["left", "right", "rear"], dice.randint(1, 2))
        for key, share in (("turns", 0.25), ("built-in", 0.9 if self.crowded else 0.5)):
            if self.chance(share):
                found[key] = True
        if self.chance(0.05 if self.crowded else 0.12):
            found["hangs-at"] = dice.randint(0, 3)
        if self.chance(0.3):
            found["overhang"] = dice.randint(0, 2)
        if self.chance(0.3):
            found["contents"] = dice.randint(1, 9)
        return found

    def _carrier(self) -> Raw:
        dice = self.dice
        made = self._unit(dice.choice([["floor"], ["floor"], ["floor", "bed"]]))
        made["body"]["height"] = dice.randint(1, 2)
        made["carries"] = {
            "mass": dice.randint(4, 40),
            "width": dice.randint(2, 5),
            "depth": dice.randint(2, 5),
        }
        if self.chance(0.3):
            made["carries"]["at"] = dice.randint(0, 2)
        made.pop("hangs-at", None)
        return made

    def _deals(self, data: Raw) -> list[Raw]:
        found = []
        for n in range(self.dice.choice([0, 0, 1, 2, 3, 4])):
            options = offers(data)
            names = [name for name, by in options.items() if by and name != "vehicle"]
            chosen = self.dice.sample(names, min(len(names), self.dice.randint(1, 3)))
            picks = {}
            for name in chosen:
                one = self.dice.choice(list(options[name]))
                most = min(options[name][one].get("most", 1), most_of(data, name))
                picks[name] = {one: self.dice.randint(1, most)} if most > 1 else one
            price = self.dice.randint(0, 12 * len(picks))
            made = {"id": f"deal{n}", "title": f"Deal {n}", "picks": picks, "price": price}
            found.append(made | ({"times": "once"} if n % 2 else {}))
        return found

    # Rules

    def _rule(self, number: int, offered: Mapping[str, Sequence[str]]) -> Raw:
        consequence = self.dice.choice(["needs", "rules_out"])
        then = self._condition(offered, 2)
        when = None if self.chance(0.1) else self._condition(offered, 2)
        if when in (None, then):
            return rule(f"r{number}", **{consequence: then})
        return rule(f"r{number}", when=when, **{consequence: then})

    def _condition(self, offered: Mapping[str, Sequence[str]], depth: int) -> Raw:
        kind = self.dice.choice(["test", "test", "test", "both", "all", "any", "none"])
        if depth == 0 or kind == "test":
            return self._test(offered)
        if kind == "both":
            return self._test(offered) | self._test(offered)
        parts = [self._condition(offered, depth - 1) for _ in range(self.dice.randint(1, 3))]
        return {kind: parts}

    def _test(self, offered: Mapping[str, Sequence[str]]) -> Raw:
        dice = self.dice
        name = dice.choice(list(offered))
        listed = list(offered[name])
        kind = dice.choice(["one", "one", "list", "counted", "counted all"])
        if kind == "one":
            return {name: dice.choice(listed)}
        if kind == "list":
            return {name: dice.sample(listed, dice.randint(1, len(listed)))}
        low = dice.randint(0, 2)
        bounds: Raw = dice.choice(
            [{"at-least": low}, {"at-most": low}, {"at-least": low, "at-most": low + 1}]
        )
        return {name: bounds | ({"option": dice.choice(listed)} if kind == "counted" else {})}

    # Picks

    def picks(self, data: Raw, share: float = 0.4) -> Counts:
        """Some picks that the catalogue can understand; sound or not."""
        dice = self.dice
        found: dict[tuple[str, str], int] = {}
        for name, by in offers(data).items():
            if not by or not self.chance(share):
                continue
            if kind_of(data, name) != "several":
                found[name, dice.choice(list(by))] = 1
                continue
            left = most_of(data, name)
            for one in dice.sample(list(by), len(by)):
                quantity = min(left, dice.randint(0, by[one].get("most", 1)))
                if quantity:
                    found[name, one] = quantity
                    left -= quantity
        return found


def offers(data: Raw) -> dict[str, dict[str, Raw]]:
    """Every option as plain data, by choice and option."""
    lists = {"vehicle": data["vehicles"]} | {c["id"]: c["options"] for c in data["choices"]}
    lists["add-on"] = data.get("add-ons", [])
    return {name: {one["id"]: one for one in listed} for name, listed in lists.items()}


def kind_of(data: Raw, name: str) -> str:
    """How many a choice takes: ``one``, ``at-most-one`` or ``several``."""
    known = {"vehicle": "one", "add-on": "several"}
    return known.get(name) or next(c["pick"] for c in data["choices"] if c["id"] == name)


def most_of(data: Raw, name: str) -> int:
    """The largest total quantity of a choice."""
    if kind_of(data, name) != "several":
        return 1
    for one in data["choices"]:
        if one["id"] == name and "at-most" in one:
            most: int = one["at-most"]
            return most
    return 10**6


def every_package(data: Raw) -> Iterator[dict[tuple[str, str], int]]:
    """Every complete selection, whatever the rules say."""
    per_choice = [list(_answers_to(data, name, by)) for name, by in offers(data).items()]
    for answers in product(*per_choice):
        yield {key: n for answer in answers for key, n in answer.items()}


def _answers_to(data: Raw, name: str, options: dict[str, Raw]) -> Iterator[Counts]:
    listed, kind = list(options), kind_of(data, name)
    if kind != "several":
        if kind == "at-most-one":
            yield {}
        yield from ({(name, one): 1} for one in listed)
        return
    ranges = [range(options[one].get("most", 1) + 1) for one in listed]
    for counts in product(*ranges):
        if sum(counts) <= most_of(data, name):
            yield {(name, one): n for one, n in zip(listed, counts, strict=True) if n}


def shuffled(data: Raw, seed: int) -> Raw:
    """The same catalogue with everything in another order, where order means nothing."""
    dice = Random(seed)

    def mixed(items: Iterable[Raw]) -> list[Raw]:
        listed = list(items)
        dice.shuffle(listed)
        return listed

    found = dict(data)
    for key in ("vehicles", "add-ons", "rules", "limits", "package-deals"):
        found[key] = mixed(data.get(key, []))
    found["choices"] = mixed({**c, "options": mixed(c["options"])} for c in data["choices"])
    return found


def _answers(one: Raw) -> int:
    options = one["options"]
    if one["pick"] != "several":
        return len(options) + int(one["pick"] == "at-most-one")
    return int(prod(o.get("most", 1) + 1 for o in options))


def _worlds(choices: Iterable[Raw]) -> int:
    return prod(map(_answers, choices))


# Large ones, for the benchmark

SIZES: dict[str, tuple[int, int, int]] = {
    "S": (12, 65, 45),
    "M": (25, 118, 110),
    "L": (60, 500, 320),
    "XL": (150, 1900, 1100),
}
"""Choices, options and rules of a large catalogue."""

_BOXES = 12


class LargeMaker:
    """Makes a catalogue the size of a shop, around one selection that is known to be sound.

    Rules are true of that selection; the sums of six limits leave it little room; up to twelve
    units go into one canopy.
    """

    def __init__(self, size: str, seed: int) -> None:
        self.choices, self.options, self.rules = SIZES[size]
        self.dice = Random(f"{size} {seed}")
        self.known: dict[tuple[str, str], int] = {}

    def catalogue(self) -> Raw:
        """The catalogue as plain data; :attr:`known` then is a sound selection of it."""
        choices = [self._sizes(), self._doors(), *self._units()]
        left = self.choices - 1 - len(choices)
        offered = self.options - sum(len(one["options"]) for one in choices) - 2
        for n in range(left):
            share = max(2, offered // (left - n) + self.dice.randint(-1, 1))
            choices.append(self._plain(n, share))
            offered -= share
        for one in choices:
            self._know(one)
        self.known["vehicle", "truck"] = 1
        rated = VEHICLE_FIGURES | {"front-axle": 9000, "rear-axle": 9000}
        figures = rated | {"gvm": 2200 + _SPARE + round(self._known_mass(choices) * 11 / 10)}
        lesser = rated | {"gvm": 2200 + _SPARE + round(self._known_mass(choices) * 9 / 10)}
        data = raw_catalogue(
            choices,
            vehicles=[
                {**vehicle("truck"), "vehicle": figures, "price": 0},
                {**vehicle("ute"), "vehicle": lesser, "price": 0},
            ],
            spaces=[{"id": "canopy", "title": "Canopy"}],
            limits=[
                limit("payload", counts="mass", reserve=_SPARE),
                *(self._limit(n, choices) for n in range(5)),
            ],
        )
        data["rules"] = [self._rule(n, choices) for n in range(self.rules)]
        data["package-deals"] = [self._deal(n, choices) for n in range(6)]
        return data

    def picks(self, share: float) -> Counts:
        """So much of the known sound selection."""
        keys = sorted(self.known)
        chosen = self.dice.sample(keys, round(share * len(keys)))
        return {key: self.known[key] for key in chosen}

    def _option(self, identity: str, **more: Any) -> Raw:
        mass = Decimal(self.dice.randint(0, 400)) / 10
        return option(identity, self.dice.randint(5, 900), mass=mass, **more)

    def _sizes(self) -> Raw:
        options = [
            self._option(
                f"l{length}-h{height}",
                space={"canopy": {"length": length, "width": 1780, "height": height, "wall": 30}},
            )
            for length in (1800, 2400)
            for height in (850, 1000, 1200)
        ]
        return choice("canopy", options)

    def _doors(self) -> Raw:
        def opening(side: str, sill: int) -> Raw:
            return {"space": "canopy", "side": side, "sill": sill, "front": 60, "rear": 60}

        return choice(
            "doors",
            [
                self._option("both", openings=[opening("left", 40), opening("right", 40)]),
                self._option("left", openings=[opening("left", 40)]),
                self._option("high", openings=[opening("left", 120), opening("right", 120)]),
            ],
        )

    def _units(self) -> list[Raw]:
        dice = self.dice
        units = []
        for n in range(_BOXES):
            body = {
                "width": dice.randint(300, 700),
                "depth": dice.randint(300, 650),
                "height": dice.randint(200, 760),
            }
            sides = [["left", "right"], ["left"], ["right"]][min(2, dice.randint(0, 4))]
            made = {"space": "canopy", "body": body, "works-from": sides, "built-in": True}
            made["behind-frame"] = {"bottom": 60, "top": 60}
            units.append(self._option(f"u{n}", unit=made))
        return [
            choice("fridge", units[:4], "at-most-one"),
            choice("kitchen", units[4:7], "at-most-one"),
            several("storage", units[7:], at_most=3),
        ]

    def _plain(self, number: int, options: int) -> Raw:
        dice = self.dice
        pick = dice.choice(["one", "one", "at-most-one", "several"])
        made = []
        for n in range(options):
            more: Raw = {}
            for limit_number in range(5):
                if dice.random() < 0.15:
                    more.setdefault("uses", {})[f"limit{limit_number}"] = dice.randint(1, 40)
                elif dice.random() < 0.05:
                    more.setdefault("gives", {})[f"limit{limit_number}"] = dice.randint(10, 60)
            if pick == "several" and dice.random() < 0.3:
                more["most"] = dice.randint(2, 4)
            made.append(self._option(f"o{n}", **more))
        return choice(f"choice{number}", made, pick)

    def _know(self, one: Raw) -> None:
        """Add an answer to the choice to the selection that is to be sound."""
        name, dice = one["id"], self.dice
        listed = [o["id"] for o in one["options"]]
        if name == "canopy":
            self.known[name, "l2400-h1200"] = 1
        elif name == "doors":
            self.known[name, "both"] = 1
        elif name in ("fridge", "kitchen"):
            self.known[name, listed[0]] = 1
        elif one["pick"] == "one" or (one["pick"] == "at-most-one" and dice.random() < 0.5):
            self.known[name, dice.choice(listed)] = 1
        elif one["pick"] == "several" and name != "storage":
            for picked in dice.sample(listed, min(2, len(listed))):
                self.known[name, picked] = 1

    def _known_mass(self, choices: Sequence[Raw]) -> Decimal:
        masses = {(c["id"], o["id"]): o["mass"] for c in choices for o in c["options"]}
        return sum((masses[key] * n for key, n in self.known.items() if key in masses), Decimal(0))

    def _limit(self, number: int, choices: Sequence[Raw]) -> Raw:
        """A limit that the known selection just keeps: what it lacks comes with the doors."""
        name = f"limit{number}"
        options = {(c["id"], o["id"]): o for c in choices for o in c["options"]}
        net = 0
        for key, n in self.known.items():
            written = options.get(key, {})
            net += n * written.get("uses", {}).get(name, 0)
            net -= n * written.get("gives", {}).get(name, 0)
        for one in next(c for c in choices if c["id"] == "doors")["options"]:
            one.setdefault("gives", {})[name] = max(1, net) + self.dice.randint(5, 30)
        return limit(name, "A")

    def _test(self, choices: Sequence[Raw], among: Sequence[tuple[str, str]] = ()) -> Raw:
        if among:
            name, one = self.dice.choice(list(among))
            return {name: one}
        plain = self.dice.choice(choices)
        listed = [o["id"] for o in plain["options"]]
        return {plain["id"]: self.dice.sample(listed, min(len(listed), self.dice.randint(1, 3)))}

    def _rule(self, number: int, choices: Sequence[Raw]) -> Raw:
        """A rule that is true of the known selection."""
        dice = self.dice
        while True:
            when = self._test(choices)
            then = self._test(choices)
            if list(when) == list(then):
                continue
            kind = dice.choice(["needs", "rules_out", "needs"])
            if kind == "needs" and dice.random() < 0.7:
                then = {"any": [then, self._test(choices, sorted(self.known))]}
            if not self._holds(when) or self._holds(then) == (kind == "needs"):
                return rule(f"r{number}", when=when, **{kind: then})

    def _holds(self, condition: Raw) -> bool:
        if "any" in condition:
            return any(map(self._holds, condition["any"]))
        name, asked = next(iter(condition.items()))
        return any(
            (name, one) in self.known for one in ([asked] if isinstance(asked, str) else asked)
        )

    def _deal(self, number: int, choices: Sequence[Raw]) -> Raw:
        some = self.dice.sample([c for c in choices if c["id"].startswith("choice")], 2)
        picks = {c["id"]: self.dice.choice(c["options"])["id"] for c in some}
        return {"id": f"deal{number}", "title": "Deal", "picks": picks, "price": 50}
