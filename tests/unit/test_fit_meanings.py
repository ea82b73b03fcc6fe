"""What the figures of a unit mean, at the boundary: just so it fits, a millimetre more it does not.

Every case is by hand. Both searches decide it alike, and what is shown as going in is looked at
again by the oracle for layouts.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from configurator import Layout, Shop
from configurator.checking.check import check
from configurator.fit.layout import Placement
from configurator.fit.model import arrange_hard
from configurator.fit.rooms import rooms_of
from configurator.layout.answers import lay_out
from configurator.selection.resolved import Resolved
from tests.support import building as b
from tests.support.layout_oracle import faults

Raw = dict[str, Any]
Size = tuple[int, int, int]


def body(size: Size, **more: Any) -> Raw:
    """A unit of that width, depth and height in the hold."""
    width, depth, height = size
    keys = {key.replace("_", "-"): value for key, value in more.items()}
    return {"space": "hold", "body": {"width": width, "depth": depth, "height": height}, **keys}


def door(**more: Any) -> Raw:
    """An opening over all of the left side, but for what is said."""
    return {"space": "hold", "side": "left", "front": 0, "rear": 0, **more}


def told(inside: Size, doors: list[Raw], **units: Raw) -> tuple[list[str], dict[str, Placement]]:
    """Sentences that stop a quote for fit, and where the units stand when there are none."""
    length, width, height = inside
    space = {"hold": {"length": length, "width": width, "height": height}}
    listed = [b.option(name, mass=10, unit=unit) for name, unit in units.items()]
    shop = b.catalogue(
        [
            b.choice("shell", [b.option("shell", space=space, openings=doors)]),
            b.several("units", listed),
        ],
        spaces=[{"id": "hold", "title": "hold"}],
    )
    chosen = b.selection({"vehicle": "ute", "shell": "shell", "units": list(units)})
    stops = [f for f in check(Resolved(shop, chosen)).stops if f.code in ("fit", "layout")]
    answer = lay_out(Resolved(shop, chosen))
    assert isinstance(answer, Layout) == (not stops)
    second = [arrange_hard(room) is not None for room in rooms_of(Resolved(shop, chosen))[0]]
    assert all(second) == (not stops)
    if not isinstance(answer, Layout):
        return [f.sentence for f in stops], {}
    assert faults(Resolved(shop, chosen), answer.placements) == []
    return [], {p.option: p for p in answer.placements}


# What a carrier keeps clear above it


def test_what_stands_on_a_fridge_keeps_its_vent_gap() -> None:
    fridge = body(
        (600, 500, 800),
        clearance={"top": 50},
        works_from=["left"],
        carries={"mass": 40, "width": 600, "depth": 500},
    )

    def oven(bottom: int, **more: Any) -> Raw:
        return body((500, 400, 300), stands_on=["units"], clearance={"bottom": bottom}, **more)

    room = (1000, 900, 1200)
    assert told(room, [door()], fridge=fridge, oven=oven(50))[0] == []
    assert told(room, [door()], fridge=fridge, oven=oven(49))[0] == [
        "Oven does not fit: Fridge needs 50 mm kept clear above it, 49 mm stay clear below it: "
        "1 mm short"
    ]
    # neither clearance may share room with one that a unit keeps to itself
    alone = {**fridge, "clearance-exclusive": True}
    assert "1 mm short" not in told(room, [door()], fridge=alone, oven=oven(100))[0]
    assert told(room, [door()], fridge=alone, oven=oven(50))[0] != []


@pytest.mark.parametrize(("height", "fits"), [(400, True), (401, False)])
def test_what_stands_inside_its_carrier_ends_below_the_carriers_top_clearance(
    height: int, fits: bool
) -> None:
    rack = body(
        (600, 500, 500),
        clearance={"top": 30},
        carries={"mass": 40, "width": 600, "depth": 500, "at": 100},
    )
    crate = body((500, 400, height), stands_on=["units"])
    assert (told((1000, 900, 1200), [door()], rack=rack, crate=crate)[0] == []) is fits


@pytest.mark.parametrize(("height", "fits"), [(100, True), (101, False)])
def test_a_top_clearance_is_kept_by_all_that_stands_above(height: int, fits: bool) -> None:
    rack = body(
        (600, 500, 500),
        clearance={"top": 30},
        carries={"mass": 40, "width": 600, "depth": 500, "at": 100},
    )
    tray = body(
        (600, 500, 300), stands_on=["units=rack"], carries={"mass": 20, "width": 600, "depth": 500}
    )
    tin = body((500, 400, height), stands_on=["units=tray"])
    found = told((1000, 900, 1200), [door()], rack=rack, tray=tray, tin=tin)[0]
    assert (found == []) is fits


# What slides out


@pytest.mark.parametrize(("sill", "fits"), [(0, True), (1, False)])
def test_a_drawer_passes_the_opening_whole(sill: int, fits: bool) -> None:
    drawer = body(
        (600, 500, 300), works_from=["left"], travel=400, behind_frame={"bottom": 20}, built_in=True
    )
    sentences, _ = told((1000, 900, 600), [door(sill=sill)], drawer=drawer)
    assert sentences == (
        []
        if fits
        else [
            "Drawer does not fit: its face starts at 0 mm, below the sill of the left side at "
            "1 mm: 1 mm short"
        ]
    )
    # the same, but for the part that slides
    cupboard = {key: value for key, value in drawer.items() if key != "travel"}
    assert told((1000, 900, 600), [door(sill=20)], cupboard=cupboard)[0] == []
    assert told((1000, 900, 600), [door(sill=21)], cupboard=cupboard)[0] != []
    # what stays behind is stated as clearance
    plinth = {**drawer, "clearance": {"bottom": 20}}
    assert told((1000, 900, 600), [door(sill=20)], drawer=plinth)[0] == []


# The way in


CHEST = body((1000, 300, 500))


@pytest.mark.parametrize(
    ("length", "width", "sentence"),
    [
        (1045, 1045, ""),
        (
            1044,
            1045,
            "1045 mm, its diagonal, along the opening and behind it; 1044 mm are available",
        ),
        (
            1045,
            1044,
            "1045 mm, its diagonal, along the opening and behind it; 1044 mm are available",
        ),
    ],
)
def test_a_unit_comes_end_on_and_is_turned_where_its_diagonal_clears(
    length: int, width: int, sentence: str
) -> None:
    # the root of 1000^2 + 300^2 is 1044.03, by hand; height and slants are no help here
    opening = {"space": "hold", "side": "left", "front": 0, "width": 600}
    sentences, placed = told((length, width, 900), [{**opening, "header": 100}], chest=CHEST)
    if sentence:
        assert sentences == [
            "Chest does not fit: it cannot be brought in: it passes the left opening, but to turn "
            f"it inside takes {sentence}: 1 mm short"
        ]
    else:
        assert placed["chest"].length == 1000


@pytest.mark.parametrize(("width", "fits"), [(821, True), (820, False)])
def test_to_be_stood_up_a_unit_lies_inside_with_all_of_it(width: int, fits: bool) -> None:
    # the root of 500^2 + 650^2 is 820.06, by hand
    fridge = body((900, 500, 650))
    sentences, _ = told((900, width, 2000), [door(header=2000 - 520)], fridge=fridge)
    assert sentences == (
        []
        if fits
        else [
            "Fridge does not fit: it cannot be brought in: it passes the left opening, but to "
            "stand it up inside takes 821 mm, its diagonal, in height and behind the opening; 820 "
            "mm are available: 1 mm short"
        ]
    )


@pytest.mark.parametrize(("length", "fits"), [(103, True), (102, False)])
def test_what_is_laid_down_and_comes_at_a_slant_is_righted_inside(length: int, fits: bool) -> None:
    # 102 x 12 passes 90 x 90 at a slant only; its diagonal is 102.7, by hand
    board = body((102, 12, 150))
    sentences, _ = told((length, 400, 400), [door(rear=length - 90, header=310)], board=board)
    assert (sentences == []) is fits


# Within reach


STEP = body((300, 600, 50), works_from=["right"], carries={"mass": 20, "width": 300, "depth": 600})


def fuses(reach: int, **more: Any) -> Raw:
    return body((300, 100, 200), works_from=["left"], reach=reach, **more)


@pytest.mark.parametrize(("reach", "fits"), [(400, True), (399, False)])
def test_a_face_within_reach_may_stand_behind_the_side(reach: int, fits: bool) -> None:
    # the panel stands on a step that reaches from the other side to 400 mm behind this one
    opposite = {**door(), "side": "right"}
    sentences, placed = told(
        (300, 1000, 400), [door(), opposite], step=STEP, fuses=fuses(reach, stands_on=["units"])
    )
    assert (sentences == []) is fits
    if fits:
        assert placed["fuses"].y == 400


@pytest.mark.parametrize(
    ("width", "height", "fits"),
    [(700, 300, True), (701, 300, False), (1000, 50, True), (1000, 51, False)],
)
def test_nothing_stands_before_a_face_within_reach(width: int, height: int, fits: bool) -> None:
    # the panel is 300 mm wide, 50 mm up and 400 mm behind the side, the box 300 mm deep
    box = body((width, 300, height), works_from=["left"])
    doors = [door(), {**door(), "side": "right"}]
    panel = fuses(400, stands_on=["units"])
    found = told((1000, 1000, 400), doors, step=STEP, fuses=panel, box=box)[0]
    assert (found == []) is fits


@pytest.mark.parametrize(("front", "fits"), [(0, True), (1, False)])
def test_a_face_within_reach_lies_in_the_clear_opening(front: int, fits: bool) -> None:
    panel = fuses(400)
    found = told((300, 1000, 400), [door(front=front)], fuses=panel)[0]
    assert (found == []) is fits


def test_the_gear_of_a_door_stands_in_the_way_of_an_arm() -> None:
    # the bed is 400 mm behind the side; gear fills the top corners of the opening
    panel = fuses(400, stands_on=["units"])
    opposite = {**door(), "side": "right"}
    for height, fits in ((150, True), (151, False)):
        gear = {"width": 20, "height": height, "depth": 40}
        doors = [door(gear=gear), opposite]
        found = told((300, 1000, 400), doors, step=STEP, fuses=panel)[0]
        assert (found == []) is fits


# Words of the schema


def test_front_clearance_sets_the_face_back() -> None:
    fridge = body((600, 500, 400), works_from=["left"], clearance={"front": 30})
    _, placed = told((900, 530, 600), [door()], fridge=fridge)
    assert placed["fridge"].y == 30
    assert told((900, 529, 600), [door()], fridge=fridge)[0] != []


def test_bottom_clearance_lifts_a_unit_off_the_floor() -> None:
    tank = body((600, 500, 400), clearance={"bottom": 25})
    _, placed = told((900, 600, 425), [door()], tank=tank)
    assert placed["tank"].z == 25
    assert told((900, 600, 424), [door()], tank=tank)[0] != []


@pytest.mark.parametrize(("start", "fits"), [(250, True), (251, False)])
def test_a_smaller_bed_begins_at_the_face_in_the_middle_of_the_width(
    start: int, fits: bool
) -> None:
    # the carrier fills the space; a bed 300 mm wide lies from 250 to 550 of its 800 mm
    counter = body(
        (800, 600, 300), works_from=["left"], carries={"mass": 40, "width": 300, "depth": 200}
    )
    stove = body((300, 200, 100), works_from=["left"], stands_on=["units"])
    doors = [door(header=300), door(sill=300, front=start)]
    sentences, placed = told((800, 600, 600), doors, counter=counter, stove=stove)
    assert (sentences == []) is fits
    if fits:
        assert (placed["stove"].x, placed["stove"].y) == (250, 0)


def test_a_clearance_may_reach_into_door_gear_and_a_body_may_not() -> None:
    gear = {"width": 100, "height": 100, "depth": 100}
    fridge = body((600, 500, 500), works_from=["left"], clearance={"top": 100})
    assert told((600, 500, 600), [door(gear=gear)], fridge=fridge)[0] == []
    taller = body((600, 500, 501), works_from=["left"], clearance={"top": 99})
    assert told((600, 500, 600), [door(gear=gear)], fridge=taller)[0] != []


@pytest.mark.parametrize(("kilograms", "fits"), [("40", True), ("40.1", False)])
def test_contents_count_in_what_a_carrier_carries(kilograms: str, fits: bool) -> None:
    shelf = body((600, 500, 100), carries={"mass": 50, "width": 600, "depth": 500})
    crate = body((300, 300, 200), stands_on=["units"], contents=Decimal(kilograms))
    assert (told((900, 600, 600), [door()], shelf=shelf, crate=crate)[0] == []) is fits


# What may still come


@pytest.mark.parametrize(
    ("most", "length", "possible"), [(2, 1500, True), (2, 700, False), (1, 1500, False)]
)
def test_units_that_lack_a_carrier_together_may_still_get_it(
    most: int, length: int, possible: bool
) -> None:
    """One drawer carries one tin; the check says as the engine does whether another may come."""
    drawer = body(
        (500, 500, 200), works_from=["left"], carries={"mass": 40, "width": 500, "depth": 500}
    )
    tin = body((400, 400, 300), stands_on=["units=drawer"])
    shop = b.catalogue(
        [
            b.choice(
                "shell",
                [
                    b.option(
                        "shell",
                        space={"hold": {"length": length, "width": 900, "height": 600}},
                        openings=[door()],
                    )
                ],
            ),
            b.several(
                "units",
                [
                    b.option("drawer", mass=10, most=most, unit=drawer),
                    b.option("tin", mass=10, unit=tin),
                    b.option("can", mass=10, unit=tin),
                ],
            ),
        ],
        spaces=[{"id": "hold", "title": "hold"}],
    )
    picks = {"vehicle": "ute", "shell": "shell", "units": ["drawer", "tin", "can"]}
    build = Shop(shop).build(b.selection(picks))
    (stop,) = (f for f in build.check().stops if f.code == "layout")
    assert stop.may_come is possible
    assert (stop in build.check().impossible) is not possible
    assert build.explain().possible is possible
