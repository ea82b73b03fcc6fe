"""Layouts through the public door: exact fits, refusals with their millimetres, laws, bad input.

Published packings have a module of their own; the enclosure is constructed, and the dimensions of
canopies are common practice without a source.
"""

from __future__ import annotations

import json
import random

import attrs
import pytest

from configurator import Layout, Pick, SearchLimit, Selection
from configurator.checking.check import check
from configurator.fit.layout import NoLayout, UnitName
from configurator.fit.openings import passes
from configurator.layout.answers import lay_out, mending
from configurator.selection.resolved import Resolved
from tests.support import building as b
from tests.support.holds import Raw, door, fits, goes_in, hold, space, unit


def refusal(shell: Raw, units: list[Raw], **counts: int) -> NoLayout:
    answer = lay_out(Resolved(*hold(shell, units, **counts)))
    assert isinstance(answer, NoLayout)
    return answer


@pytest.mark.parametrize(
    ("body", "short"),
    [((475, 500, 650), 0), ((525, 545, 820), 53), ((525, 545, 767), 0), ((525, 545, 768), 1)],
)
def test_enclosure_takes_a_fridge_to_the_millimetre(body: tuple[int, int, int], short: int) -> None:
    """Constructed: 1800 x 1780 x 850 outside, 30 mm frame, 3 mm floor; 50 mm above and behind."""
    shell = space((1800, 1780, 850), wall=30, roof=30, floor=3)
    fridge = unit("fridge", body, works_from=["left"], clearance={"rear": 50, "top": 50})
    if not short:
        assert fits(shell, [fridge])
        return
    missing = refusal(shell, [fridge]).missing
    assert missing is not None
    assert (missing.what, missing.needs - missing.has, missing.has) == ("height", short, 817)


def test_slides_back_to_back_take_the_width_exactly() -> None:
    """From the same enclosure: 1720 mm inside, so 860 mm each."""
    shell = space((600, 1720, 500))
    pair = [unit(s, (600, 860, 300), works_from=[s], travel=850) for s in ("left", "right")]
    longer = [pair[0], unit("right", (600, 861, 300), works_from=["right"], travel=850)]
    assert fits(shell, pair)
    missing = refusal(shell, longer).missing
    assert missing is not None
    assert (missing.what, missing.needs, missing.has) == ("width", 1721, 1720)


@pytest.mark.parametrize(
    ("inner", "outer", "through"),
    [
        ((140, 1), (100, 100), True),
        ((3, 230), (100, 100), False),
        ((99, 9), (10, 100), True),
        ((3, 910), (170, 900), True),
        ((1000, 7), (170, 900), False),
        ((12, 102), (90, 90), True),
        ((97, 108), (100, 100), False),
        ((1100, 200), (1000, 820), True),
        ((1100, 200), (1000, 819), False),
    ],
)
def test_rectangle_passes_through_rectangle(
    inner: tuple[int, int], outer: tuple[int, int], through: bool
) -> None:
    """Programming-contest cases; J. E. Wetzel, Math. Magazine 73 (2000) 204-211."""
    assert passes(inner, outer) is through


def test_divider_takes_its_width_and_a_thicker_one_leaves_too_little() -> None:
    drawer = [unit("drawer", (500, 500, 300), works_from=["left"])]
    assert fits(space((600, 1010, 400), divider=10), drawer)
    assert not fits(space((600, 1010, 400), divider=11), drawer)
    assert fits(space((600, 1010, 400), divider=11, divider_at=506), drawer)


def test_gear_of_a_door_keeps_its_corners_free() -> None:
    struts = door("left", gear={"width": 40, "height": 100, "depth": 60})
    flush = unit("box", (600, 300, 450), works_from=["left"])
    low = unit("box", (600, 300, 400), works_from=["left"])
    narrow = unit("box", (520, 300, 450), works_from=["left"])
    shell = space((600, 800, 500), [struts])
    assert [fits(shell, [u]) for u in (flush, low, narrow)] == [False, True, True]


def test_gear_of_a_door_that_folds_down_is_at_the_bottom_corners() -> None:
    stays = door("left", moves="folds-down", gear={"width": 40, "height": 100, "depth": 60})
    flush = unit("box", (600, 300, 400), works_from=["left"])
    narrow = unit("box", (520, 300, 400), works_from=["left"])
    raised = unit("box", (600, 300, 400), works_from=["left"], hangs_at=100, built_in=True)
    lower = unit("box", (600, 300, 400), works_from=["left"], hangs_at=99, built_in=True)
    shell = space((600, 800, 500), [stays])
    assert [fits(shell, [u]) for u in (flush, narrow, raised, lower)] == [False, True, True, False]


@pytest.mark.parametrize("moves", ["lifts", "folds-down", "swings"])
def test_slides_come_out_beside_an_open_door_of_the_same_side(moves: str) -> None:
    """A door stands open beside its opening, so it blocks neither its own slides nor others."""
    doors = [door("left", rear=630, moves=moves), door("left", front=630, moves="swings")]
    slide = unit("slide", (600, 700, 300), most=2, works_from=["left"], travel=690)
    assert fits(space((1230, 700, 300), doors), [slide], slide=2)
    assert not fits(space((1229, 700, 300), doors), [slide], slide=2)


def test_what_stands_on_a_sliding_bed_needs_its_way_out() -> None:
    def with_bed(slides: bool) -> list[Raw]:
        bed = {"mass": 50, "width": 400, "depth": 700, "slides": slides}
        return [
            unit("slide", (400, 700, 50), works_from=["left"], travel=600, carries=bed),
            unit("crate", (400, 300, 300), stands_on=["units=slide"], turns=False),
            unit("shelf", (400, 350, 100), works_from=["left"], hangs_at=200, built_in=True),
        ]

    shell = space((400, 800, 400))
    assert fits(shell, with_bed(slides=False))
    assert not fits(shell, with_bed(slides=True))


def test_carriers_carry_what_they_are_rated_for_and_not_a_kilogram_more() -> None:
    def stack(mass: int) -> list[Raw]:
        bed = {"mass": 20, "width": 300, "depth": 300}
        return [
            unit("base", (300, 300, 100), works_from=["left"], carries=bed),
            unit("top", (300, 300, 100), most=2, mass=mass, stands_on=["units"], carries=bed),
        ]

    shell = space((300, 400, 300))
    assert fits(shell, stack(10), top=2)
    assert not fits(shell, stack(11), top=2)


def test_oven_below_the_sill_reaches_its_door_on_a_drawer_only() -> None:
    """A reason may not say that the oven never fits: a carrier could still come."""
    bed = {"mass": 50, "width": 400, "depth": 400}
    oven = unit("oven", (400, 400, 200), works_from=["left"], stands_on=["floor", "units"])
    drawer = unit("drawer", (400, 400, 200), carries=bed, built_in=True)
    both = hold(space((400, 400, 500), [door("left", sill=200)]), [oven, drawer])
    assert isinstance(lay_out(Resolved(*both)), Layout)
    alone = attrs.evolve(both[1], picks=tuple(p for p in both[1].picks if p.option != "drawer"))
    answer = lay_out(Resolved(both[0], alone))
    assert isinstance(answer, NoLayout)
    assert answer.picks == (("shell", "box"), ("units", "oven"))
    helping = mending(Resolved(both[0], alone), "hold", [both[0].option("units", "oven")])
    assert [(str(pick), pick.quantity) for pick in helping] == [("units=drawer", 1)]


def test_reason_names_only_what_cannot_be_spared_and_the_millimetres_missing() -> None:
    wide = [unit(f"wide{i}", (400, 600, 100), works_from=["left"], travel=500) for i in range(3)]
    small = [unit(f"small{i}", (50, 50, 50), built_in=True) for i in range(4)]
    answer = refusal(space((1150, 900, 150)), wide + small)
    assert answer.units == tuple(UnitName("units", f"wide{i}") for i in range(3))
    assert answer.missing is not None
    assert (answer.missing.what, answer.missing.needs, answer.missing.has) == ("length", 1200, 1150)


def random_hold(seed: int) -> tuple[Raw, list[Raw]]:
    rng = random.Random(seed)
    shell = space((rng.randrange(800, 1500, 50), 1600, rng.randrange(600, 900, 50)))
    units = [
        unit(
            f"u{index}",
            (rng.randrange(200, 650, 50), rng.randrange(300, 820, 20), rng.randrange(150, 650, 50)),
            mass=rng.randint(5, 40),
            works_from=rng.choice([["left"], ["right"], ["left", "right"]]),
            clearance={"left": rng.choice([0, 0, 20]), "top": rng.choice([0, 50])},
            stands_on=["floor", "units"],
            carries={"mass": 100, "width": 200, "depth": 300},
        )
        for index in range(rng.randint(3, 7))
    ]
    return shell, units


SEEDS = range(40)


def test_laws_are_tried_on_both_outcomes() -> None:
    outcomes = [goes_in(*random_hold(seed)) for seed in SEEDS]
    assert 8 < sum(outcomes) < 32


@pytest.mark.parametrize("side", ["length", "width", "height"])
def test_larger_space_never_makes_a_fitting_set_unfit(side: str) -> None:
    for seed in SEEDS:
        shell, units = random_hold(seed)
        if goes_in(shell, units):
            shell["space"]["hold"][side] += 37
            assert goes_in(shell, units), seed


def test_leaving_out_what_carries_nothing_never_makes_the_rest_unfit() -> None:
    for seed in SEEDS:
        shell, units = random_hold(seed)
        answer = lay_out(Resolved(*hold(shell, units)))
        if isinstance(answer, Layout):
            carrying = {p.on.option for p in answer.placements if isinstance(p.on, UnitName)}
            spare = next(u for u in units if u["id"] not in carrying)
            assert goes_in(shell, [u for u in units if u is not spare]), seed


def test_mirroring_left_and_right_mirrors_the_answer() -> None:
    other = {"left": "right", "right": "left"}
    for seed in SEEDS:
        shell, units = random_hold(seed)
        mirrored = json.loads(b.written(units))
        for u in mirrored:
            u["unit"]["works-from"] = [other[s] for s in u["unit"]["works-from"]]
            clear = u["unit"]["clearance"]
            u["unit"]["clearance"] = {other.get(face, face): mm for face, mm in clear.items()}
        assert goes_in(shell, units) == goes_in(shell, mirrored), seed


def test_order_and_names_change_nothing() -> None:
    for seed in SEEDS:
        shell, units = random_hold(seed)
        renamed = [{**u, "id": f"z{9 - i}", "title": f"Z{i}"} for i, u in enumerate(units)]
        if seed < 10:
            catalogue, selection = hold(shell, units)
            shuffled = attrs.evolve(selection, picks=selection.picks[::-1])
            assert lay_out(Resolved(catalogue, selection)) == lay_out(Resolved(catalogue, shuffled))
        assert goes_in(shell, renamed[::-1]) == goes_in(shell, units), seed


def test_units_that_do_not_go_together_stop_a_quote_with_the_millimetres() -> None:
    wide = [unit(name, (400, 600, 300), works_from=["left"]) for name in ("a", "b", "c")]
    catalogue, selection = hold(space((1165, 700, 400)), wide)
    build = Resolved(catalogue, selection)
    (finding,) = [f for f in check(build, hints=True).findings if f.code == "layout"]
    assert (finding.level, finding.sentence) == (
        "stop",
        "A, B and C do not all fit in the hold together: the length inside would have to be "
        "1200 mm, but is 1165 mm: 35 mm short",
    )
    assert finding.hint == "leave out one of A, B, C"


@pytest.mark.parametrize("body", [(99_999, 10, 10), (10, 99_999, 10), (10, 10, 99_999)])
def test_unit_larger_than_any_space_is_refused_alone(body: tuple[int, int, int]) -> None:
    answer = refusal(space((500, 500, 500)), [unit("huge", body), unit("small", (10, 10, 10))])
    assert answer.units == (UnitName("units", "huge"),)


def test_clearance_that_swallows_the_inside_is_refused_alone() -> None:
    clear = dict.fromkeys(("front", "rear", "left", "right", "top", "bottom"), 300)
    answer = refusal(space((500, 500, 500)), [unit("shy", (10, 10, 10), clearance=clear)])
    assert answer.units == (UnitName("units", "shy"),)


def test_five_hundred_units_get_an_answer_or_an_error_that_says_so() -> None:
    many = unit("crate", (10, 10, 10), most=500, built_in=True)
    with pytest.raises(SearchLimit, match="500 units in one space are too many to search"):
        lay_out(Resolved(*hold(space((5000, 500, 500)), [many], crate=500)))
    assert not fits(space((40, 40, 40)), [many], crate=500)
    bed = {"mass": 100, "width": 300, "depth": 300}
    stacked = unit("crate", (300, 300, 200), most=500, stands_on=["floor", "units"], carries=bed)
    answer = refusal(space((5000, 1700, 900)), [stacked], crate=500)
    assert len(answer.units) == 5000 * 1700 * 900 // (300 * 300 * 200) + 1


def test_unknown_space_is_named_and_nothing_is_said_of_its_units() -> None:
    catalogue, selection = hold(space((500, 500, 500)), [unit("box", (10, 10, 10))])
    partial = attrs.evolve(
        selection, picks=tuple(p for p in selection.picks if p.choice != "shell")
    )
    assert lay_out(Resolved(catalogue, partial)) == Layout((), unknown=("hold",))


def test_reason_holds_for_every_selection_that_has_its_picks() -> None:
    """Whatever else is picked beside a reason, it still does not fit."""
    rng = random.Random(3)
    tried = 0
    for seed in SEEDS:
        shell, units = random_hold(seed)
        catalogue, selection = hold(shell, units)
        build = Resolved(catalogue, selection)
        answer = lay_out(build)
        if isinstance(answer, Layout):
            continue
        refused = [catalogue.option(*key) for key in answer.picks if key[0] == "units"]
        helping = {pick.option for pick in mending(build, answer.space, refused)}
        named = {option.id for option in refused} | helping
        others = [u["id"] for u in units if u["id"] not in named]
        extra = [Pick("units", o) for o in others if rng.random() < 0.5]
        kept = [Pick(*key) for key in answer.picks]
        picks = (Pick("vehicle", "ute"), *kept, *extra)
        assert isinstance(lay_out(Resolved(catalogue, Selection("test", picks))), NoLayout), seed
        tried += 1
    assert tried > 10
