"""Fit or not, decided by the package and by trying every place: no disagreement either way."""

from __future__ import annotations

import random
from collections.abc import Callable
from decimal import Decimal
from itertools import combinations
from typing import Any
from unittest.mock import patch

import pytest
from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.fit.answers import lay_out
from configurator.fit.conflict import least_unfit, only, unfit
from configurator.fit.layout import Layout
from configurator.fit.model import arrange_hard
from configurator.fit.rooms import FREE, Room, rooms_of
from configurator.fit.search import arrange
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from tests.support import building as b
from tests.support.edge_rooms import edge
from tests.support.layout_oracle import TooMany, faults, possible


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


def agrees(
    seed: int, case: Callable[[int], tuple[Catalogue, Selection]] = case, second: bool = False
) -> bool | None:
    """The package's answer, compared; None where too many layouts would have to be tried."""
    catalogue, selection = case(seed)
    try:
        plain = possible(Resolved(catalogue, selection), most=4_000)
    except TooMany:
        return None
    answer = lay_out(Resolved(catalogue, selection))
    fits = isinstance(answer, Layout)
    assert fits == plain, f"seed {seed}: the package says {fits}"
    if isinstance(answer, Layout):
        wrong = faults(Resolved(catalogue, selection), answer.placements)
        assert not wrong, f"seed {seed}: {wrong}"
    if second:
        rooms = rooms_of(Resolved(catalogue, selection))[0]
        assert all(arrange_hard(room) for room in rooms) == plain, f"seed {seed}"
    return fits


@pytest.mark.parametrize("start", range(0, 480, 120))
def test_package_and_plain_search_agree(start: int) -> None:
    found = [agrees(seed) for seed in range(start, start + 120)]
    assert found.count(True) > 15
    assert found.count(False) > 15


def test_package_and_plain_search_agree_on_what_is_within_reach() -> None:
    found = [agrees(seed, reaching, seed % 4 == 0) for seed in range(200)]
    assert found.count(True) > 40
    assert found.count(False) > 40


def test_second_opinion_agrees_on_the_same_cases() -> None:
    asked = 0
    for seed in range(2000, 2040):
        catalogue, selection = case(seed)
        try:
            plain = possible(Resolved(catalogue, selection), most=4_000)
        except TooMany:
            continue
        for room in rooms_of(Resolved(catalogue, selection))[0]:
            assert (arrange_hard(room) is not None) == plain, f"seed {seed}"
            asked += 1
    assert asked > 15


def test_what_crosses_one_plane_changes_no_answer_of_the_second_opinion() -> None:
    outcomes = []
    for seed in range(30):
        room = edge(seed, 5 + seed % 6)
        told = arrange_hard(room) is not None
        with patch("configurator.fit.model.crossings", return_value=()):
            assert (arrange_hard(room) is not None) == told, f"seed {seed}"
        outcomes.append(told)
    assert min(outcomes.count(True), outcomes.count(False)) > 3


def test_units_go_in_beside_optional_carriers_where_they_do_beside_some_of_them() -> None:
    """Every choice of the others is tried, each as a room of units that all have to go in."""
    outcomes = []
    for seed in range(5000, 5120):
        catalogue, selection = case(seed)
        for room in rooms_of(Resolved(catalogue, selection))[0]:
            count = range(len(room.items))
            for kept in (set(k) for n in (1, 2) for k in combinations(count, n)):
                others = [index for index in count if index not in kept]
                plain = any(
                    arrange(_alone(room, kept | set(some))) is not None
                    for n in range(len(others) + 1)
                    for some in combinations(others, n)
                )
                part = only(room, kept)
                assert (arrange(part) is not None) == plain, f"seed {seed}: {kept}"
                assert (arrange_hard(part) is not None) == plain, f"seed {seed}: {kept}"
                assert unfit(part) != plain, f"seed {seed}: {kept}"
                outcomes.append((plain, len(part.items) > len(kept)))
    assert all(
        outcomes.count((fits, more)) > 20 for fits in (False, True) for more in (False, True)
    ), outcomes


def _alone(room: Room, kept: set[int]) -> Room:
    """The room with only these units."""
    place = {index: new for new, index in enumerate(sorted(kept))} | {FREE: FREE}
    items = []
    for index in sorted(kept):
        item = room.items[index]
        supports = [evolve(s, on=place[s.on]) for s in item.supports if s.on in place]
        items.append(evolve(item, supports=tuple(supports)))
    return evolve(room, items=tuple(items))


@pytest.mark.parametrize("seed", [1000, 1001, 1002, 1004, 1007])
def test_crowded_room_of_25_units_is_decided(seed: int) -> None:
    """Pairs of units alone do not settle four of these within the work allowed."""
    assert (arrange(edge(seed, 25)) is not None) == (seed == 1001)


@pytest.mark.parametrize("seed", [201, 204, 207, 213])
def test_none_of_the_units_of_a_refusal_can_be_spared(seed: int) -> None:
    room = edge(seed, 12)
    kept = least_unfit(room, opinions=12)
    assert arrange(only(room, kept)) is None
    for index in kept:
        assert arrange(only(room, set(kept) - {index})) is not None
