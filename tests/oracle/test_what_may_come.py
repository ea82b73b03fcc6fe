"""A check calls impossible only what no further pick mends: worked by hand, case by case.

The engine, which looks at whole packages, must say the same of each.
"""

from __future__ import annotations

from itertools import chain, combinations, permutations
from typing import Any

import pytest

from configurator import Build, open_shop
from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    choice,
    option,
    raw_catalogue,
    several,
    vehicle,
)


def build(data: Raw, travel: Raw | None = None, **picks: Any) -> Build:
    selection = {"format": 1, "catalogue": "test", "picks": {"vehicle": "ute", **picks}}
    return open_shop(data).build({**selection, "travel": travel} if travel else selection)


def rated(**figures: Any) -> list[Raw]:
    return [vehicle(vehicle=VEHICLE_FIGURES | {k.replace("_", "-"): v for k, v in figures.items()})]


def said(asked: Build, mendable: bool) -> None:
    """The check and the engine say so; what is wrong now is a stop all the same."""
    found = asked.check(hints=True)
    assert found.stops
    assert asked.explain().possible == mendable
    assert bool(found.impossible) != mendable


@pytest.mark.parametrize("pick", ["one", "at-most-one", "several"])
@pytest.mark.parametrize("gcm", [3500, 6000])
def test_a_combined_rating_that_an_upgrade_may_still_raise(pick: str, gcm: int) -> None:
    """The ute weighs 2 200 kg and more, its trailer 2 500; the bar tows 3 000."""
    bar = option("bar", mass=20, hitch={"behind": 1000, "towing": 3000, "download": 150})
    upgrade = option("upgrade", ratings={"gcm": gcm})
    data = raw_catalogue(
        [choice("bar", [bar], "at-most-one"), choice("up", [upgrade, option("as-made")], pick)],
        vehicles=rated(gcm=3500),
    )
    said(build(data, {"trailer": 2500}, bar="bar"), gcm == 6000)
    said(build(data, {"trailer": 3001}, bar="bar"), False)


@pytest.mark.parametrize("pick", ["at-most-one", "several"])
@pytest.mark.parametrize("travel", [{"trailer": 1500}, {"tow-ball": 120}])
def test_a_trailer_that_another_bar_would_take(pick: str, travel: Raw) -> None:
    """Of two bars the first of the catalogue counts; where one is the most, it has to go first."""
    bars = [
        option("strong", mass=20, hitch={"behind": 900, "towing": 3000, "download": 300}),
        option("weak", mass=20, hitch={"behind": 900, "towing": 400, "download": 40}),
    ]
    data = raw_catalogue([choice("bar", bars, pick)], vehicles=rated(gcm=7000))
    said(build(data, travel, bar=["weak"] if pick == "several" else "weak"), pick == "several")


@pytest.mark.parametrize("names", [*permutations(("low", "high", "higher"))])
def test_of_carriers_in_a_choice_of_one_each_is_tried(names: tuple[str, ...]) -> None:
    """Tins 250 mm high, one above the other in 600 mm: only under the lowest shelf there is room
    for one, and above it for the other."""
    tray = {"space": "box", "body": {"width": 450, "depth": 450, "height": 20}}
    tray |= {"carries": {"mass": 50, "width": 450, "depth": 450}}
    shelves = {
        name: option(name, mass=5, unit={**tray, "hangs-at": at})
        for name, at in (("low", 300), ("high", 400), ("higher", 500))
    }
    tin = {"space": "box", "body": {"width": 400, "depth": 400, "height": 250}}
    tin |= {"stands-on": ["floor", "shelf"]}
    size = option("size", space={"box": {"length": 500, "width": 500, "height": 600}})

    def asked(*offered: str) -> Build:
        data = raw_catalogue(
            [
                choice("size", [size]),
                several("tin", [option("tin", mass=5, most=2, unit=tin)]),
                choice("shelf", [shelves[name] for name in offered], "at-most-one"),
            ],
            spaces=[{"id": "box", "title": "box"}],
        )
        return build(data, size="size", tin={"tin": 2})

    said(asked(*names), True)
    said(asked(*(name for name in names if name != "low")), False)


@pytest.mark.parametrize("rises", [60, 40])
def test_what_carries_the_carrier_may_still_come(rises: int) -> None:
    """A sill at 150 mm, a bed 100 mm high: what stands on it reaches out with a riser below it."""
    bed = {"space": "box", "body": {"width": 300, "depth": 300, "height": 100}}
    bed |= {"carries": {"mass": 50, "width": 300, "depth": 300}, "stands-on": ["floor", "riser"]}
    riser = {"space": "box", "body": {"width": 400, "depth": 400, "height": rises}}
    riser |= {"carries": {"mass": 100, "width": 400, "depth": 400}}
    tin = {"space": "box", "body": dict.fromkeys(("width", "depth", "height"), 200)}
    tin |= {"stands-on": ["bed"], "works-from": ["left"]}
    door = {"space": "box", "side": "left", "front": 0, "rear": 0, "sill": 150}
    high = {"box": {"length": 500, "width": 500, "height": 800}}
    data = raw_catalogue(
        [
            choice("size", [option("size", space=high)]),
            choice("door", [option("door", openings=[door])]),
            choice("riser", [option("riser", mass=3, unit=riser)], "at-most-one"),
            choice("bed", [option("bed", mass=5, unit=bed)], "at-most-one"),
            several("tin", [option("tin", mass=5, unit=tin)]),
        ],
        spaces=[{"id": "box", "title": "box"}],
    )
    asked = build(data, size="size", door="door", bed="bed", tin={"tin": 1})
    assert asked.check().stops
    assert asked.explain().possible == (rises == 60)
    if rises == 60:
        assert not asked.check(hints=True).impossible


BOX = {"box": {"length": 500, "width": 500, "height": 500}}
SMALL = {"space": "box", "body": {"width": 50, "depth": 50, "height": 50}}
ADDED: dict[str, tuple[Raw, Raw, Raw]] = {
    "size": ({"box": {"length": 500, "width": 500}}, {}, {"space": {"box": {"height": 500}}}),
    "door": (
        BOX,
        {"works-from": ["left"]},
        {"openings": [{"space": "box", "side": "left", "front": 0, "rear": 0}]},
    ),
    "bed": (
        BOX,
        {"stands-on": ["add-on"]},
        {
            "unit": {
                "space": "box",
                "body": {"width": 100, "depth": 100, "height": 50},
                "carries": {"mass": 50, "width": 100, "depth": 100},
            }
        },
    ),
}
"""A space, what is asked of a small unit in it, and the add-on that brings what is missing."""


@pytest.mark.parametrize("missing", ADDED)
@pytest.mark.parametrize("brings", [True, False])
def test_what_an_add_on_may_still_bring(missing: str, brings: bool) -> None:
    space, asks, facets = ADDED[missing]
    rear = {"space": "box", "side": "rear", "front": 0, "rear": 0}
    parts = [
        choice("size", [option("size", space=space)]),
        choice("door", [option("door", **({"openings": [rear]} if missing == "door" else {}))]),
        several("unit", [option("unit", mass=1, unit={**SMALL, **asks})]),
    ]
    add_on = option("more", because="It helps.", **(facets if brings or missing == "bed" else {}))
    if missing == "bed" and not brings:  # too narrow a bed
        add_on["unit"]["carries"] |= {"width": 40}
    data = raw_catalogue(parts, add_ons=[add_on], spaces=[{"id": "box", "title": "box"}])
    said(build(data, size="size", door="door", unit={"unit": 1}), brings)


@pytest.mark.parametrize("order", [*permutations((2400, 3000, 3300))])
def test_of_upgrades_of_a_rating_the_last_of_the_catalogue_counts(order: tuple[int, ...]) -> None:
    """2 200 kg and a person of 80 kg, with 350 kg more that may be picked."""
    ups = [option(f"to-{kg}", ratings={"gvm": kg}) for kg in order]
    data = raw_catalogue(
        [several("load", [option("load", mass=350)]), several("up", ups)],
        vehicles=rated(gvm=2500, front_axle=2000, rear_axle=3000),
        mass={"people": 1, "person": 80},
    )
    for some in chain.from_iterable(combinations(range(len(order)), n) for n in range(4)):
        for load in (0, 350):
            picks: dict[str, Any] = {"up": [f"to-{order[n]}" for n in some]} if some else {}
            picks |= {"load": ["load"]} if load else {}

            def kept(more: tuple[int, ...] = (), load: int = load, some: Any = some) -> bool:
                last = max((*some, *more), default=None)
                return 2280 + load <= (2500 if last is None else order[last])

            found = build(data, **picks)
            others = [n for n in range(len(order)) if n not in some]
            every = [*chain.from_iterable(combinations(others, n) for n in range(4))]
            assert found.explain().possible == any(map(kept, every))
            states = {(one.choice, one.option): one.state for one in found.options().options}
            for n in others:
                can = any(kept(more) for more in every if n in more)
                assert (states["up", f"to-{order[n]}"] in ("open", "implied")) == can
