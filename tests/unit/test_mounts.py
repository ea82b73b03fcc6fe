"""What stands on a unit is held by the fixings of that unit, and counts where they are checked."""

from __future__ import annotations

from decimal import Decimal

import pytest

from configurator import Finding
from configurator.checking.check import check
from configurator.selection.resolved import Resolved
from tests.support.building import (
    Raw,
    choice,
    option,
    raw_catalogue,
    read,
    selection,
    several,
    vehicle,
)

D = Decimal
OPEN = [{"space": "box", "side": "left", "front": 0, "rear": 0}]


def unit(identity: str, size: tuple[int, int, int], mass: int, **more: object) -> Raw:
    """A unit that works from the left."""
    width, depth, height = size
    body = {"width": width, "depth": depth, "height": height}
    inner = {"space": "box", "body": body, "works-from": ["left"], "built-in": True, **more}
    return option(identity, 100, mass=mass, unit=inner)


def found(each: int | Decimal, stands_on: list[str], battery: bool = False) -> list[Finding]:
    """What is said of a slide of 10 kg whose four fixings hold so much, under a box of 40 kg.

    There is no room for them side by side.
    """
    slide = unit(
        "slide",
        (500, 700, 80),
        10,
        fixings={"count": 4, "each": each},
        carries={"mass": 90, "width": 500, "depth": 700},
    )
    chest = unit("chest", (400, 600, 400), 10, contents=30, **{"stands-on": stands_on})
    if battery:
        stored = {"chemistry": "lfp", "capacity": 100, "volts": 12, "usable": 1}
        chest["power"] = {"battery": {**stored, "discharge": 100, "charge": 50}}
    body = option("body", space={"box": {"length": 600, "width": 1700, "height": 1000}})
    shop = read(
        raw_catalogue(
            [choice("body", [{**body, "openings": OPEN}]), several("units", [slide, chest])],
            spaces=[{"id": "box", "title": "box"}],
            vehicles=[vehicle()],
        ),
        cautions=True,
    )
    picked = selection({"body": "body", "units": ("slide", "chest")})
    return [f for f in check(Resolved(shop, picked)).findings if f.code == "mount"]


@pytest.mark.parametrize(("each", "stops"), [(99, 0), (98, 1)])
def test_fixings_of_a_slide_hold_what_can_stand_nowhere_else(each: int, stops: int) -> None:
    # 0.8 of the weight forward, load restraint standard as the Northern Territory publishes it:
    # 0.8 x 50 kg x 9.80665 is 392.27 N; the slide alone would need 78.5 N. Worked by hand.
    told = found(each, ["units=slide"])
    assert [f.level for f in told] == ["stop"] * stops
    for finding in told:
        assert finding.sentence == (
            "Slide weighs 50 kg laden with Chest on it and needs fixings for 392.27 N; 4 of 98 N "
            "hold 392 N"
        )


def test_fixings_that_hold_exactly_what_they_must_are_enough() -> None:
    # worked by hand: 0.8 x 50 kg x 9.80665 is 392.266 N, and a quarter of it 98.0665 N
    assert not found(D("98.0665"), ["units=slide"])
    assert found(D("98.0664"), ["units=slide"])


def test_what_could_stand_elsewhere_is_a_caution_where_it_is_laid_out_on_the_slide() -> None:
    # the fixings hold the slide and not the box; whether it stands there the layout decides
    (finding,) = found(50, ["floor", "units=slide"])
    assert finding.level == "caution"
    assert [f.level for f in found(10, ["floor", "units=slide"])] == ["stop"]


def test_a_battery_on_a_slide_counts_by_twice_its_weight() -> None:
    # ISO 10133:2012, 5.2: 2 x 40 kg x 9.80665 is 784.532 N, and 78.4532 N for the slide
    (finding,) = found(215, ["units=slide"], battery=True)
    assert dict(finding.numbers)["needs"] == D("862.9852")
    assert not found(216, ["units=slide"], battery=True)
