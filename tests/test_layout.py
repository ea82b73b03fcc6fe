"""Layouts through the public door: exact fits, refusals with their millimetres, laws, bad input.

Published packings are in Bouwkamp's and Moron's squared rectangles; the enclosure is constructed,
and the dimensions of canopies are common practice without a source.
"""

from __future__ import annotations

import json
import random
from typing import Any

import attrs
import pytest

from configurator.arrangement import fit_reason, lay_out, not_together
from configurator.catalogue.model import Catalogue, Pick
from configurator.checking.check import check
from configurator.errors import SearchLimit
from configurator.fit.layout import Layout, NoLayout
from configurator.fit.units import passes
from configurator.selection.picks import Selection, Wish
from tests import building as b
from tests.layout_oracle import faults

Raw = dict[str, Any]

ORDER_9 = {
    (33, 32): [(0, 0, 18), (18, 0, 15), (18, 15, 7), (25, 15, 8), (0, 18, 14), (14, 18, 4),
               (14, 22, 10), (24, 22, 1), (24, 23, 9)],
    (69, 61): [(0, 0, 36), (36, 0, 33), (36, 33, 5), (41, 33, 28), (0, 36, 25), (25, 36, 9),
               (34, 36, 2), (34, 38, 7), (25, 45, 16)],
}  # fmt: skip
"""Squared rectangles of order 9: x, y, side. Z. Moron 1925 (33 x 32); squaring.net (69 x 61)."""

ORDER_21 = [
    (0, 0, 50), (50, 0, 35), (85, 0, 27), (85, 27, 8), (93, 27, 19), (50, 35, 15), (65, 35, 17),
    (82, 35, 11), (82, 46, 6), (88, 46, 24), (0, 50, 29), (29, 50, 25), (54, 50, 9), (63, 50, 2),
    (63, 52, 7), (70, 52, 18), (54, 59, 16), (70, 70, 42), (29, 75, 4), (33, 75, 37), (0, 79, 33),
]  # fmt: skip
"""The simple perfect squared square of lowest order, 112 x 112. A. J. W. Duijvestijn, J. Combin.
Theory B 25 (1978) 240-243."""


def door(side: str, **more: Any) -> Raw:
    """A bare opening over all of one side."""
    return {"space": "hold", "side": side, "front": 0, "rear": 0, **more}


def space(size: tuple[int, int, int], openings: list[Raw] | None = None, **part: Any) -> Raw:
    """An option that makes the hold, by default with one bare opening on each long side."""
    bare = [door("left"), door("right")]
    sizes = dict(zip(("length", "width", "height"), size, strict=True))
    return b.option(
        "box",
        space={"hold": {**sizes, **{key.replace("_", "-"): mm for key, mm in part.items()}}},
        openings=bare if openings is None else openings,
    )


def unit(
    identity: str, body: tuple[int, int, int], most: int = 1, mass: int = 1, **more: Any
) -> Raw:
    """A unit of the hold; width, depth and height."""
    box = dict(zip(("width", "depth", "height"), body, strict=True))
    facets = {key.replace("_", "-"): value for key, value in more.items()}
    return b.option(identity, most=most, mass=mass, unit={"space": "hold", "body": box, **facets})


def hold(shell: Raw, units: list[Raw], **counts: int) -> tuple[Catalogue, Selection]:
    """The hold with these units, all picked."""
    choices = [b.choice("shell", [shell]), b.several("units", units)]
    catalogue = b.catalogue(choices, spaces=[{"id": "hold", "title": "hold"}])
    quantities = {u["id"]: counts.get(u["id"], 1) for u in units}
    return catalogue, b.selection({"shell": "box", "units": quantities})


def fits(shell: Raw, units: list[Raw], **counts: int) -> bool:
    catalogue, selection = hold(shell, units, **counts)
    answer = lay_out(catalogue, selection)
    if isinstance(answer, Layout):
        assert not faults(catalogue, selection, answer.placements)
    return isinstance(answer, Layout)


def goes_in(shell: Raw, units: list[Raw]) -> bool:
    """The same, without a layout."""
    return not not_together(*hold(shell, units))


def refusal(shell: Raw, units: list[Raw], **counts: int) -> NoLayout:
    answer = lay_out(*hold(shell, units, **counts))
    assert isinstance(answer, NoLayout)
    return answer


def squares(pieces: list[tuple[int, int, int]], depth: int, grown: int | None = None) -> list[Raw]:
    """Squares as units of full depth on the left side, each hung at its own height."""
    return [
        unit(
            f"s{index}",
            (side + (index == grown), depth, side),
            works_from=["left"],
            hangs_at=up,
            built_in=True,
        )
        for index, (_, up, side) in enumerate(pieces)
    ]


@pytest.mark.parametrize(("size", "pieces"), ORDER_9.items())
def test_squared_rectangle_fits_on_one_side_with_nothing_to_spare(
    size: tuple[int, int], pieces: list[tuple[int, int, int]]
) -> None:
    shell = (size[0], 10, size[1])
    assert fits(space(shell), squares(pieces, 10))
    for index in range(len(pieces)):
        assert not fits(space(shell), squares(pieces, 10, grown=index))


def test_squared_square_of_order_21_fits_and_one_millimetre_more_does_not() -> None:
    assert fits(space((112, 10, 112)), squares(ORDER_21, 10))
    for index in (0, 7, 13, 20):
        assert not fits(space((112, 10, 112)), squares(ORDER_21, 10, grown=index))


@pytest.mark.parametrize("size", ORDER_9)
def test_squared_rectangle_fits_as_units_free_to_stand_anywhere(size: tuple[int, int]) -> None:
    pieces = [
        unit(f"s{index}", (side, side, 5), built_in=True)
        for index, (_, _, side) in enumerate(ORDER_9[size])
    ]
    assert fits(space((*size, 5)), pieces)
    assert not fits(space((size[0] - 1, size[1], 5)), pieces)


def test_five_bricks_fit_only_with_some_of_them_turned() -> None:
    """1x5x6 from five 1x2x3, only with mixed orientation: N. G. de Bruijn 1969."""
    turned = unit("brick", (2, 3, 1), most=5, turns=True, built_in=True)
    straight = unit("brick", (2, 3, 1), most=5, built_in=True)
    assert fits(space((5, 6, 1)), [turned], brick=5)
    assert not fits(space((5, 6, 1)), [straight], brick=5)


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
    assert isinstance(lay_out(*both), Layout)
    alone = attrs.evolve(both[1], picks=tuple(p for p in both[1].picks if p.option != "drawer"))
    assert isinstance(lay_out(both[0], alone), NoLayout)
    (reason,) = fit_reason(both[0], alone)
    assert [str(pick) for pick in reason.picks] == ["shell=box", "units=oven"]
    assert [(str(pick), pick.quantity) for pick in reason.unless] == [("units=drawer", 1)]


def test_reason_names_only_what_cannot_be_spared_and_the_millimetres_missing() -> None:
    wide = [unit(f"wide{i}", (400, 600, 100), works_from=["left"], travel=500) for i in range(3)]
    small = [unit(f"small{i}", (50, 50, 50), built_in=True) for i in range(4)]
    answer = refusal(space((1150, 900, 150)), wide + small)
    assert answer.units == ("units=wide0", "units=wide1", "units=wide2")
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
        answer = lay_out(*hold(shell, units))
        if isinstance(answer, Layout):
            carrying = {p.on.partition("=")[2] for p in answer.placements}
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
            assert lay_out(catalogue, selection) == lay_out(catalogue, shuffled)
        assert goes_in(shell, renamed[::-1]) == goes_in(shell, units), seed


def wished(wish: Wish) -> tuple[Catalogue, Selection, Layout]:
    wide = [unit(name, (400, 600, 300), works_from=["left", "right"]) for name in ("a", "b")]
    pinned = unit("c", (500, 600, 300), works_from=["left"])
    catalogue, selection = hold(space((900, 1300, 400)), [*wide, pinned])
    selection = attrs.evolve(selection, wishes=(wish,))
    answer = lay_out(catalogue, selection)
    assert isinstance(answer, Layout)
    assert not faults(catalogue, selection, answer.placements)
    return catalogue, selection, answer


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("towards", ["front", "rear"])
def test_wishes_are_kept_where_they_can_be(side: str, towards: str) -> None:
    *_, answer = wished(Wish("units", "a", side=side, towards=towards))
    place = next(p for p in answer.placements if p.option == "a")
    assert place.side == side
    assert (2 * place.x + place.length <= 900) == (towards == "front")
    assert answer.unkept == ()


def test_wish_that_cannot_be_kept_says_what_is_in_its_way() -> None:
    catalogue, selection, answer = wished(Wish("units", "a", side="left", x=300))
    assert [u.in_the_way for u in answer.unkept] == [("units=c",)]
    (finding,) = [f for f in check(catalogue, selection).findings if f.code == "wish"]
    assert finding.sentence == (
        "A cannot work from the left and sit at x 300 mm as wished: in the way of that is C"
    )


def test_wish_outside_the_space_is_a_finding() -> None:
    catalogue, selection, answer = wished(Wish("units", "a", x=99_999))
    assert [u.in_the_way for u in answer.unkept] == [()]
    assert any(f.code == "wish" for f in check(catalogue, selection).findings)


def test_units_that_do_not_go_together_stop_a_quote_with_the_millimetres() -> None:
    wide = [unit(name, (400, 600, 300), works_from=["left"]) for name in ("a", "b", "c")]
    catalogue, selection = hold(space((1165, 700, 400)), wide)
    (finding,) = [f for f in check(catalogue, selection).findings if f.code == "layout"]
    assert (finding.level, finding.sentence) == (
        "stop",
        "A, B and C do not all go together into the hold: 35 mm of length are missing "
        "(1200 mm inside would do, 1165 mm are there)",
    )
    assert finding.hint == "leave out one of A, B, C"


@pytest.mark.parametrize("body", [(99_999, 10, 10), (10, 99_999, 10), (10, 10, 99_999)])
def test_unit_larger_than_any_space_is_refused_alone(body: tuple[int, int, int]) -> None:
    answer = refusal(space((500, 500, 500)), [unit("huge", body), unit("small", (10, 10, 10))])
    assert answer.units == ("units=huge",)


def test_clearance_that_swallows_the_inside_is_refused_alone() -> None:
    clear = dict.fromkeys(("front", "rear", "left", "right", "top", "bottom"), 300)
    answer = refusal(space((500, 500, 500)), [unit("shy", (10, 10, 10), clearance=clear)])
    assert answer.units == ("units=shy",)


def test_five_hundred_units_get_an_answer_or_an_error_that_says_so() -> None:
    many = unit("crate", (10, 10, 10), most=500, built_in=True)
    with pytest.raises(SearchLimit, match="500 units in one space are too many to search"):
        lay_out(*hold(space((5000, 500, 500)), [many], crate=500))
    assert not fits(space((40, 40, 40)), [many], crate=500)


def test_unknown_space_is_named_and_nothing_is_said_of_its_units() -> None:
    catalogue, selection = hold(space((500, 500, 500)), [unit("box", (10, 10, 10))])
    partial = attrs.evolve(
        selection, picks=tuple(p for p in selection.picks if p.choice != "shell")
    )
    assert lay_out(catalogue, partial) == Layout((), unknown=("hold",))


def test_reason_holds_for_every_selection_that_has_its_picks() -> None:
    """Whatever else is picked beside a reason, it still does not fit."""
    rng = random.Random(3)
    tried = 0
    for seed in SEEDS:
        shell, units = random_hold(seed)
        catalogue, selection = hold(shell, units)
        for reason in fit_reason(catalogue, selection):
            named = {pick.option for pick in reason.picks} | {p.option for p in reason.unless}
            others = [u["id"] for u in units if u["id"] not in named]
            extra = [Pick("units", o) for o in others if rng.random() < 0.5]
            picks = (Pick("vehicle", "ute"), *reason.picks, *extra)
            assert isinstance(lay_out(catalogue, Selection("test", picks)), NoLayout), seed
            tried += 1
    assert tried > 10
