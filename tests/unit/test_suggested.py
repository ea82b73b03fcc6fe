"""Add-ons are suggested exactly where they bring nothing that stops the package."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from random import Random

import attrs
import pytest

from configurator import Catalogue, Override, Pick, Selection, SelectionError, Travel
from configurator.catalogue.model import ADD_ON
from configurator.checking.stops import stopping
from configurator.checking.suggestions import carried_with_ease, suggestions
from configurator.selection.resolved import Resolved
from configurator.selection.rules import holds
from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    catalogue,
    limit,
    option,
    rule,
    selection,
    several,
    vehicle,
)

SEEDS = range(120)


def chance(random: Random, share: float, **keys: object) -> Raw:
    return keys if random.random() < share else {}


def add_on(random: Random, number: int) -> Raw:
    """One that weighs, uses, gives, fills or changes something, or nothing of all that."""
    place = {"from": random.choice(["front-axle", "tray-front"]), "x": random.randrange(-900, 4200)}
    body = {"width": 300, "depth": 300, "height": random.choice([300, 700])}
    tank: list[Raw] = [
        {"kind": "fixed", "amount": random.randrange(30)},
        {"kind": "measure", "of": "water", "rate": 1},
    ]
    facets: Raw = {
        **chance(random, 0.7, mass=random.choice([0, 5, 40, 150, 400])),
        **chance(random, 0.1, mass=tank),
        **chance(random, 0.3, uses={"ways": random.randrange(1, 4)}),
        **chance(random, 0.1, gives={"ways": 2, "water": 20}),
        **chance(random, 0.08, ratings={"gvm": 3700, "rear-axle": 2600}),
        **chance(random, 0.08, hitch={"behind": 1100, "towing": 2000, "download": 200}),
    }
    if random.random() < 0.15:
        facets["unit"] = {"space": "box", "body": body}
    else:
        facets |= chance(random, 0.4, position=place)
        facets |= chance(random, 0.2, contents=random.choice([20, 100]))
    suggest = {"load": random.choice(["brick", "brick", "brick", "bar"])}
    return option(f"extra-{number}", because="It helps.", suggest=suggest, **facets)


def shop(random: Random) -> Catalogue:
    figures = {
        **VEHICLE_FIGURES,
        "gvm": random.choice([2900, 3100, 3300]),
        "front-axle": random.choice([1300, 1700]),
        "rear-axle": random.choice([1700, 1900, 2300]),
        "gcm": 5600,
    }
    loads = [
        option(
            "brick", mass=random.choice([200, 500, 700]), position=_at(random), gives={"ways": 3}
        ),
        option("barrel", mass=[{"kind": "measure", "of": "water", "rate": 1}], gives={"water": 50}),
        option("bar", mass=30, hitch={"behind": 1200, "towing": 3000, "download": 300}),
        option("shell", space={"box": {"length": 1500, "width": 1700, "height": 600}}),
    ]
    return catalogue(
        [several("load", loads)],
        vehicles=[{**vehicle(), "vehicle": figures}],
        spaces=[{"id": "box", "title": "box"}],
        limits=[
            limit("payload", counts="mass"),
            limit("ways", "ways"),
            limit("water", "L"),
        ],
        rules=[rule("no-first", when={ADD_ON: "extra-0"}, rules_out={"load": "barrel"})],
        add_ons=[add_on(random, number) for number in range(6)],
        mass={"people": 1, "person": 80, "luggage": 10},
    )


def _at(random: Random) -> Raw:
    return {"from": "front-axle", "x": random.randrange(1500, 4300)}


def package(random: Random) -> Selection:
    picks = ["brick", *(name for name in ("barrel", "bar", "shell") if random.random() < 0.5)]
    accepted = [f"extra-{number}" for number in range(6) if random.random() < 0.1]
    towing = random.random() < 0.3
    ball, trailer = Decimal(random.choice([0, 120, 290])), Decimal(random.choice([1000, 2400]))
    override = Override(random.choice(["gvm", "rear-axle", "payload"]), "Ida Example", "A reason")
    return attrs.evolve(
        selection({"load": picks, **({ADD_ON: accepted} if accepted else {})}),
        travel=Travel(tow_ball=ball, trailer=trailer) if towing else Travel(),
        overrides=(override,) if random.random() < 0.2 else (),
    )


def stops_nothing_new(shop_: Catalogue, chosen: Selection, name: str) -> bool:
    with_it = Resolved(shop_, chosen).picking(Pick(ADD_ON, name))
    return stopping(Resolved(shop_, with_it)) <= stopping(Resolved(shop_, chosen))


@pytest.mark.parametrize("seed", SEEDS)
def test_suggested_is_what_stops_nothing_new(seed: int) -> None:
    random = Random(seed)
    here = shop(random)
    chosen = package(random)
    wanted = [
        extra.id
        for extra in here.add_ons.options
        if not chosen.quantity(ADD_ON, extra.id)
        and holds(Resolved(here, chosen), extra.suggest)
        and stops_nothing_new(here, chosen, extra.id)
    ]
    assert [s.line.option for s in suggestions(Resolved(here, chosen))] == wanted


def test_every_way_to_an_answer_is_taken_often() -> None:
    ways: Counter[tuple[bool, bool]] = Counter()
    for seed in SEEDS:
        random = Random(seed)
        here = shop(random)
        chosen = package(random)
        left = [o for o in here.add_ons.options if not chosen.quantity(ADD_ON, o.id)]
        easy = carried_with_ease(Resolved(here, chosen), left)
        ways.update((o.id in easy, stops_nothing_new(here, chosen, o.id)) for o in left)
    assert min(ways[True, True], ways[False, True], ways[False, False]) > 80


def test_a_pick_that_the_catalogue_does_not_have_is_told_and_not_looked_up(
    quandong: Catalogue, touring: Selection
) -> None:
    for unknown in ("", "nonsense"):
        picks = tuple(pick for pick in touring.picks if pick.choice != "tray-style")
        wrong = attrs.evolve(touring, picks=(*picks, Pick("tray-style", unknown)))
        with pytest.raises(SelectionError, match="unknown-option"):
            suggestions(Resolved(quandong, wrong))
