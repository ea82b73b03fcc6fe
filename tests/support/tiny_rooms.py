"""Tiny spaces with a few units, at random, with every kind of constraint now and then."""

from __future__ import annotations

import random
from decimal import Decimal
from typing import Any

from configurator import Catalogue, Selection
from tests.support import building as b


def case(seed: int) -> tuple[Catalogue, Selection]:
    """A tiny space with two to four units, and every kind of constraint now and then."""
    rng = random.Random(seed)
    size = (rng.randint(3, 6), rng.randint(3, 5), rng.randint(2, 4))
    closed = rng.random() < 0.8
    part: dict[str, Any] = dict(zip(("length", "width", "height"), size, strict=True))
    if rng.random() < 0.25:
        part["divider"] = rng.choice([1, Decimal("0.5"), 2])
        if rng.random() < 0.5:
            part["divider-at"] = rng.randint(1, max(1, size[1] - 1))
    shell = b.option("box", space={"hold": part})
    if closed:
        shell["openings"] = [_opening(rng, size) for _ in range(rng.randint(1, 4))]
    kinds = [_unit(rng, index, size) for index in range(rng.randint(1, 3))]
    quantities = {kind["id"]: rng.choice([1, 1, 2]) for kind in kinds}
    while sum(quantities.values()) > 4:
        quantities[max(quantities, key=lambda k: quantities[k])] -= 1
    if not any("carries" in kind["unit"] for kind in kinds):
        for kind in kinds:
            kind["unit"].pop("stands-on", None)
    choices = [b.choice("shell", [shell]), b.several("units", kinds)]
    catalogue = b.catalogue(choices, spaces=[{"id": "hold", "title": "hold"}])
    picks: dict[str, Any] = {"shell": "box", "units": quantities}
    return catalogue, b.selection(picks)


def _opening(rng: random.Random, size: tuple[int, int, int]) -> dict[str, Any]:
    side = rng.choice(["left", "right", "rear", "left", "right"])
    opening: dict[str, Any] = {
        "space": "hold",
        "side": side,
        "sill": rng.choice([0, 0, 0, 0, 1]),
        "header": rng.choice([0, 0, 0, 1]),
        "front": rng.choice([0, 0, 1]),
        "rear": rng.choice([0, 0, 1]),
    }
    if rng.random() < 0.3:
        opening["width"] = rng.randint(1, size[1] if side == "rear" else size[0])
        del opening[rng.choice(["front", "rear"])]
    if rng.random() < 0.3:
        opening["gear"] = {"width": 1, "height": 1, "depth": rng.choice([1, 2])}
    if rng.random() < 0.6:
        opening["moves"] = rng.choice(["lifts", "folds-down", "swings"])
    return opening


def _unit(rng: random.Random, index: int, size: tuple[int, int, int]) -> dict[str, Any]:
    most = max(1, size[0] // 2 + 1), max(1, size[1] // 2 + 1), max(1, size[2] // 2 + 1)
    unit: dict[str, Any] = {
        "space": "hold",
        "body": {
            name: rng.randint(1, top)
            for name, top in zip(("width", "depth", "height"), most, strict=True)
        },
        "built-in": rng.random() < 0.7,
        "turns": rng.random() < 0.4,
    }
    if rng.random() < 0.6:
        sides = rng.choice([["left"], ["right"], ["left", "right"], ["rear"], ["left", "rear"]])
        unit["works-from"] = sides
        if rng.random() < 0.3:
            unit["travel"] = rng.randint(1, 3)
        if rng.random() < 0.3:
            hinge = rng.choice(["left", "right", "top", "bottom"])
            unit["swing"] = {"hinge": hinge, "reach": rng.randint(1, 2)}
        if rng.random() < 0.3:
            unit["reach"] = rng.randint(1, 3)
        if rng.random() < 0.2:
            face = rng.choice(["left", "right", "top", "bottom"])
            unit["behind-frame"] = {face: 1}
    if rng.random() < 0.35:
        faces = ["front", "rear", "left", "right", "top", "bottom"]
        unit["clearance"] = {rng.choice(faces): 1 for _ in range(rng.randint(1, 2))}
        unit["clearance-exclusive"] = rng.random() < 0.3
    if rng.random() < 0.2:
        unit["hangs-at"] = rng.randint(0, 2)
    elif rng.random() < 0.5:
        unit["stands-on"] = rng.choice([["floor", "units"], ["units"], ["floor", "units"]])
    if rng.random() < 0.6:
        unit["carries"] = {
            "mass": rng.choice([2, 5, 20]),
            "width": max(1, unit["body"]["width"] - rng.choice([0, 0, 1])),
            "depth": max(1, unit["body"]["depth"] - rng.choice([0, 0, 1])),
        }
        if rng.random() < 0.2:
            unit["carries"]["at"] = rng.randint(0, 2)
        if rng.random() < 0.4:
            unit["carries"]["slides"] = True
    if rng.random() < 0.2:
        unit["overhang"] = rng.randint(1, 2)
    return b.option(f"u{index}", most=2, mass=rng.choice([1, 2, 4]), unit=unit)


def reaching(seed: int) -> tuple[Catalogue, Selection]:
    """A short space with a door on some sides and units of which some are behind others."""
    rng = random.Random(seed)
    size = (rng.randint(1, 4), rng.randint(3, 6), rng.randint(2, 3))
    part = dict(zip(("length", "width", "height"), size, strict=True))
    doors = [
        {"space": "hold", "side": side, "sill": rng.choice([0, 0, 0, 1]), "front": 0, "rear": 0}
        for side in rng.choice([["left"], ["right"], ["left", "right"], ["left", "rear"]])
    ]
    if rng.random() < 0.3:
        doors[0]["gear"] = {"width": 1, "height": 1, "depth": 1}
    units = []
    for index in range(rng.randint(2, 3)):
        body = {"width": rng.randint(1, 2), "depth": rng.randint(1, 2), "height": rng.randint(1, 2)}
        unit: dict[str, Any] = {"space": "hold", "body": body, "built-in": True}
        if rng.random() < 0.8:
            unit["works-from"] = [door["side"] for door in doors if rng.random() < 0.7] or ["left"]
            unit["reach"] = rng.randint(0, 4)
            unit["clearance"] = {"front": rng.choice([0, 0, 0, 1])}
        if index and rng.random() < 0.4:
            unit["stands-on"] = ["floor", "units"]
        elif rng.random() < 0.4:
            unit["carries"] = {"mass": 9, "width": body["width"], "depth": body["depth"]}
        units.append(b.option(f"u{index}", mass=1, unit=unit))
    if not any("carries" in unit["unit"] for unit in units):
        units[0]["unit"]["carries"] = {"mass": 9, "width": 1, "depth": 1}
    shell = b.option("box", space={"hold": part}, openings=doors)
    choices = [b.choice("shell", [shell]), b.several("units", units)]
    catalogue = b.catalogue(choices, spaces=[{"id": "hold", "title": "hold"}])
    picks: dict[str, Any] = {"shell": "box", "units": [unit["id"] for unit in units]}
    return catalogue, b.selection(picks)


def stacked(seed: int) -> tuple[Catalogue, Selection]:
    """A tight space with units that go on the floor, on carriers, or on carriers on carriers."""
    rng = random.Random(seed)
    size = (rng.randint(2, 4), rng.randint(1, 3), rng.randint(2, 5))
    part = dict(zip(("length", "width", "height"), size, strict=True))
    sides = rng.choice([["left"], ["left"], ["left", "right"], ["left", "rear"]])
    doors = [
        {"space": "hold", "side": side, "sill": rng.choice([0, 0, 0, 1]), "front": 0, "rear": 0}
        for side in sides
    ]
    if rng.random() < 0.4:
        doors[0] |= {
            "moves": rng.choice(["lifts", "folds-down", "folds-down"]),
            "gear": {"width": 1, "height": rng.randint(1, 2), "depth": 1},
        }
    units = []
    for index in range(rng.randint(3, 4)):
        carrier = index == 0 or (index == 1 and rng.random() < 0.5)
        body = {
            "width": rng.randint(1, 3 if carrier else 2),
            "depth": rng.randint(1, size[1]),
            "height": rng.randint(1, 2),
        }
        unit: dict[str, Any] = {"space": "hold", "body": body, "built-in": True}
        if rng.random() < 0.6:
            unit["works-from"] = sides
            if rng.random() < 0.4:
                unit["travel"] = rng.randint(1, 3)
            if rng.random() < 0.3:
                unit["swing"] = {"hinge": rng.choice(["left", "top", "bottom"]), "reach": 1}
            if rng.random() < 0.2:
                unit["reach"] = rng.randint(1, 2)
        if rng.random() < 0.5:
            faces = ["front", "front", "rear", "left", "right", "top", "bottom", "bottom"]
            unit["clearance"] = {rng.choice(faces): 1 for _ in range(rng.randint(1, 2))}
            unit["clearance-exclusive"] = rng.random() < 0.4
        if not carrier or rng.random() < 0.5:
            unit["stands-on"] = rng.choice([["floor", "units"], ["floor", "units"], ["units"]])
        if carrier or rng.random() < 0.2:
            unit["carries"] = {
                "mass": rng.choice([4, 20]),
                "width": max(1, body["width"] - rng.choice([0, 0, 1])),
                "depth": max(1, body["depth"] - rng.choice([0, 0, 1])),
            }
            if rng.random() < 0.2:
                unit["carries"]["at"] = rng.randint(0, 1)
        if rng.random() < 0.2:
            unit["overhang"] = 1
        units.append(b.option(f"u{index}", most=2, mass=rng.choice([1, 2, 4]), unit=unit))
    shell = b.option("box", space={"hold": part}, openings=doors)
    choices = [b.choice("shell", [shell]), b.several("units", units)]
    catalogue = b.catalogue(choices, spaces=[{"id": "hold", "title": "hold"}])
    picks: dict[str, Any] = {"shell": "box", "units": [unit["id"] for unit in units]}
    return catalogue, b.selection(picks)
