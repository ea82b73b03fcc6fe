"""Ratings in the engine, the check and the layout: one answer, by moments about the other axle.

Whether options are open, conflicts irreducible and completions best where axles matter is told by
``test_engine`` and its neighbours, whose random catalogues have a flavour about axles; here it is
counted that all cases are met, and the layout, the check and the engine are held to one another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import product
from typing import Any

import pytest
from attrs import evolve

from configurator import Catalogue, Layout, Override, Pick, Selection, Travel, to_data
from configurator.catalogue.reading import shipped
from configurator.checking.check import check
from configurator.checking.stops import stopping
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.layout.answers import lay_out
from configurator.mass.picture import mass_picture
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.axle_oracle import Centres
from tests.support.building import (
    VEHICLE_FIGURES,
    Raw,
    catalogue,
    choice,
    limit,
    option,
    read,
    selection,
    several,
    vehicle,
)
from tests.support.engine_cases import conflicts_in, irreducible, selected
from tests.support.engine_oracle import Oracle, World
from tests.support.layout_oracle import TooMany
from tests.support.random_catalogues import Maker, shuffled

SEEDS = range(9015, 9030)


@cache
def oracle(seed: int) -> Oracle | None:
    try:
        return Oracle(Maker(seed, "axles").catalogue())
    except TooMany:
        return None


def oracles() -> Iterator[tuple[int, Oracle, Catalogue]]:
    for seed in SEEDS:
        found = oracle(seed)
        if found is not None:
            yield seed, found, read(found.data, cautions=True)


# All cases are met


def test_the_catalogues_about_axles_have_all_three_cases_often() -> None:
    seen: Counter[str] = Counter()
    for seed, this, shop in oracles():
        maker = Maker(seed, "axles")
        data = maker.catalogue()
        for world in this.worlds:
            laid = ("layout", "canopy") not in world.broken
            seen["kept"] += world.keeps(this.facts)
            seen["in no place of any unit"] += ("rating", "axles") in world.broken
            seen["in no layout that fits"] += bool(world.clashes)
            seen["in some layouts only"] += laid and not world.broken and mixed(this, world)
        search = Search(shop)
        crowded = [w for w in this.worlds if w.clashes and not w.broken][:8]
        for picks in [*(w.counts for w in crowded), *(maker.picks(data, s) for s in (0.2, 0.6))]:
            chosen = selected(picks)
            for conflict in conflicts_in(options(search, chosen)):
                irreducible(this, conflict, (seed, picks))
                kinds = {fact.kind for fact in conflict.facts}
                seen["explained by a rating"] += "rating" in kinds
                seen["explained by a rating and a fit"] += {"rating", "layout"} <= kinds
    assert min(seen.values()) > 4, seen
    for case in ("kept", "in no place of any unit", "in no layout that fits"):
        assert seen[case] > 25, seen
    assert seen["in some layouts only"] > 20, seen


def test_a_check_calls_impossible_only_what_no_more_picks_can_mend() -> None:
    """An upgrade or a mass on the other side of an axle may, where one can still be picked."""
    seen: Counter[str] = Counter()
    for seed, this, shop in oracles():
        for world in this.worlds[:: len(this.worlds) // 20 + 1]:
            for dropped in (None, *world.counts):
                picks = {key: n for key, n in world.counts.items() if key != dropped}
                found = check(Resolved(shop, selected(picks)))
                lasting = {one.code for one in found.impossible} - {"limit"}
                assert not (lasting and this.sound(picks)), (seed, picks, lasting)
                seen.update(lasting)
                seen["may come"] += any(
                    one.code in ("rating", "lifting") and one.may_come for one in found.stops
                )
    assert seen["rating"] > 50, seen
    assert seen["may come"] > 50, seen


def mixed(this: Oracle, world: World) -> bool:
    """Whether some layouts that fit keep the axle ratings and others do not."""
    loads = this.loads(world.counts)
    kept = {loads.keeps(centres) for centres in this.middles(world.counts)}
    return kept == {True, False}


# Layout, check and engine agree


def test_the_layout_keeps_every_axle_rating_wherever_one_does() -> None:
    seen: Counter[bool] = Counter()
    for seed, this, shop in oracles():
        for world in this.worlds[::3]:
            if ("layout", "canopy") in world.broken or not world.counts.keys() & this.units:
                continue
            laid = lay_out(Resolved(shop, selected(world.counts)))
            assert isinstance(laid, Layout)
            if laid.unknown:
                continue
            can = not world.clashes and ("rating", "axles") not in world.broken
            assert laid.ratings == ("kept" if can else "exceeded"), (seed, world)
            loads = this.loads(world.counts)
            assert loads.keeps(centres_of(laid)) == can, (seed, world)
            seen[can] += 1
    assert min(seen.values()) > 25, seen


def centres_of(laid: Layout) -> Centres:
    return tuple(((p.choice, p.option), p.x + Fraction(p.length, 2)) for p in laid.placements)


def test_a_check_stops_for_a_rating_just_where_the_engine_refuses() -> None:
    seen: Counter[tuple[str, bool]] = Counter()
    for seed, this, shop in oracles():
        search = Search(shop)
        for world in this.worlds[::5]:
            unfit = any(kind in ("fit", "layout") for kind, _ in world.broken)
            if unfit:
                continue
            told = {s for kind, s in world.broken if kind == "rating"}
            told |= {"axles"} if world.clashes else set()
            chosen = selected(world.counts)
            stops = {
                "axles" if f.subject.endswith("axle") else f.subject
                for f in check(Resolved(shop, chosen)).stops
                if f.code in ("rating", "lifting")
            }
            assert stops == told, (seed, world.counts)
            quick = {
                subject for code, subject in stopping(Resolved(shop, chosen)) if code == "rating"
            }
            assert quick == told, (seed, world.counts)
            reasons = search.violations(dict(world.counts), search.active)
            refused = {reason.fact.subject for reason in reasons if reason.fact.kind == "rating"}
            assert refused <= told, (seed, world.counts)
            if all(kind == "rating" for kind, _ in world.broken):
                assert bool(refused) == bool(told), (seed, world.counts)
            seen.update((subject, subject in told) for subject in ("axles", "gvm", "overhang"))
    assert len(seen) == 6, seen
    assert min(seen.values()) > 10, seen


def test_moments_about_either_axle_and_the_sum_of_both_balance() -> None:
    # statics: the sum of moments about any point of a body at rest is nothing
    for _, this, shop in oracles():
        for world in this.worlds[::40]:
            picture = mass_picture(Resolved(shop, selected(world.counts)), None)
            assert picture is not None
            for state in picture.states:
                kerb, items = picture.kerb, state.items
                assert state.loads.total == kerb.total + sum(item.mass for item in items)
                about_front = sum(item.mass * item.x for item in items)
                assert (state.loads.rear - kerb.rear) * picture.wheelbase == about_front
                about_rear = sum(item.mass * (picture.wheelbase - item.x) for item in items)
                assert (state.loads.front - kerb.front) * picture.wheelbase == about_rear


# Laws


def possible(shop: Catalogue, chosen: Selection) -> set[tuple[str, str]]:
    found = options(Search(shop), chosen, reasons=False).options
    return {(s.choice, s.option) for s in found if s.state != "ruled-out"}


def with_rating(data: Raw, name: str, less: int) -> Raw:
    vehicles = [
        {**v, "vehicle": {**v["vehicle"], name: v["vehicle"][name] - less}}
        for v in data["vehicles"]
    ]
    return {**data, "vehicles": vehicles}


@pytest.mark.parametrize(("name", "less"), [("gvm", 80), ("front-axle", 4), ("rear-axle", 30)])
def test_a_lower_rating_never_opens_an_option(name: str, less: int) -> None:
    closed = 0
    for seed, this, shop in oracles():
        try:
            lower = read(with_rating(this.data, name, less), cautions=True)
        except AssertionError:  # below what stands on the axle already: the catalogue is refused
            continue
        for share in (0.0, 0.4):
            maker = Maker(seed, "axles")
            picks = selected(maker.picks(maker.catalogue(), share))
            before, after = possible(shop, picks), possible(lower, picks)
            assert after <= before, (seed, name)
            closed += after < before
    assert closed


def test_less_mass_never_closes_an_option_that_only_the_gross_vehicle_mass_limits() -> None:
    # a mass behind the rear axle relieves the front one, so of axles this is not true
    opened = 0
    for seed, this, _ in oracles():
        data = this.data
        for name in ("front-axle", "rear-axle"):
            data = with_rating(data, name, -5000)
        light = [
            {
                **c,
                "options": [{**o, "mass": o.get("mass", 0) * Decimal("0.5")} for o in c["options"]],
            }
            for c in data["choices"]
        ]
        maker = Maker(seed, "axles")
        picks = selected(maker.picks(maker.catalogue(), 0.6))
        before = possible(read(data, cautions=True), picks)
        after = possible(read({**data, "choices": light}, cautions=True), picks)
        assert before <= after, seed
        opened += before < after
    assert opened


def test_the_order_of_the_file_changes_neither_states_nor_words() -> None:
    for seed, this, shop in list(oracles())[:12]:
        maker = Maker(seed, "axles")
        picks = selected(maker.picks(maker.catalogue(), 0.4))
        told = []
        for one in (shop, read(shuffled(this.data, seed), cautions=True)):
            search = Search(one)
            found = options(search, picks)
            states = {(s.choice, s.option): s for s in found.options}
            told.append(
                [
                    (
                        key,
                        state.state,
                        state.conflict and state.conflict.line,
                    )
                    for key, state in sorted(states.items())
                ]
            )
        assert told[0] == told[1], seed


# How it travels, and what is let pass


def towing_shop(**more: Any) -> Catalogue:
    """A short tray with room for two boxes behind one another, and a tow bar."""
    sizes = {"length": 2000, "width": 1000, "height": 900}
    box: Raw = {
        "space": "canopy",
        "body": {"width": 800, "depth": 900, "height": 800},
        "works-from": ["left"],
    }
    boxes = [option(f"box-{kg}", mass=kg, unit=box) for kg in (50, 400, 500)]
    raised = option("springs", mass=20, position={"from": "rear-axle", "x": 0})
    raised["ratings"] = {"rear-axle": 2000}
    bar = option("bar", hitch={"behind": 1200, "towing": 2500, "download": 300})
    figures = VEHICLE_FIGURES | {"gvm": 5000, "rear-axle": 1800, "tray-front": 2200} | more
    return catalogue(
        [
            choice("size", [option("short", space={"canopy": sizes})]),
            several("box", boxes),
            choice("bar", [bar], "at-most-one"),
            choice("springs", [raised], "at-most-one"),
        ],
        vehicles=[{**vehicle(), "vehicle": figures}],
        spaces=[{"id": "canopy", "title": "Canopy"}],
        mass={"people": 1, "person": 0},
    )


def test_an_option_that_no_layout_can_carry_is_ruled_out_with_the_kilograms() -> None:
    # two boxes at 400 and 1200 mm behind 2200: 500 kg at 2600 and 400 kg at 3400 put
    # 500 * 2600 / 3200 + 400 * 3400 / 3200 = 831.25 kg on the rear axle, the other way round more
    shop = towing_shop()
    search = Search(shop)
    chosen = selection({"size": "short", "box": ["box-500"], "springs": []})
    conflict = find_conflict(search, chosen, ("box", "box-400"))
    assert conflict is None, "springs would carry it"
    stiff = evolve(shop, choices=tuple(c for c in shop.choices if c.id != "springs"))
    search = Search(stiff)
    chosen = selection({"size": "short", "box": ["box-500"]})
    conflict = find_conflict(search, chosen, ("box", "box-400"))
    assert conflict is not None
    kinds = [(fact.kind, fact.subject) for fact in conflict.facts]
    assert kinds == [("layout", "canopy"), ("rating", "axles")]
    told = str(conflict)
    assert told == (
        "Because Box-500, and fully loaded, the rear axle would carry at least 1831.3 kg, "
        "31.3 kg more than the 1800 kg it is rated for, however the units are placed, so Box-400 "
        "is not available. Choose lighter parts, or a vehicle that carries more."
    )
    laid = check(
        Resolved(
            stiff,
            evolve(chosen, picks=selection({"size": "short", "box": ["box-500", "box-400"]}).picks),
        ),
    )
    (stop,) = laid.stops
    assert "the rear axle would carry 1831.3 kg, 31.3 kg more than the 1800 kg" in stop.sentence
    assert "no layout that fits stays within every axle rating" in stop.sentence


def test_what_an_upgrade_carries_is_open_and_what_is_too_much_even_for_it_is_not() -> None:
    search = Search(towing_shop())
    chosen = selection({"size": "short", "box": ["box-500", "box-400"]})
    none = evolve(chosen, travel=Travel(tow_ball=Decimal(100)))
    conflict = find_conflict(search, none, ("bar", "bar"))
    assert conflict is None
    heavy = evolve(chosen, travel=Travel(tow_ball=Decimal(200)))
    conflict = find_conflict(search, heavy, ("bar", "bar"))
    assert conflict is not None
    # 200 kg at 4400 mm are 275 kg on the rear axle, and each box as far forward as it goes 731.25
    told = str(conflict)
    assert "fully loaded with a trailer, the rear axle would carry at least 2006.3 kg" in told
    assert "6.3 kg more than the 2000 kg it is rated for" in told
    light = evolve(selection({"size": "short", "box": ["box-500"]}), travel=heavy.travel)
    stiff = evolve(light, picks=(*light.picks, *selection({"bar": "bar"}, vehicle=None).picks))
    left = options(search, stiff, [search.catalogue.by_id["springs"]])
    assert [s.state for s in left.options] == ["open"]


def test_of_several_tow_bars_the_first_tows_and_the_ball_pulls_once() -> None:
    near = option("near", mass=20, hitch={"behind": 900, "towing": 2000, "download": 160})
    far = option("far", mass=30, most=2, hitch={"behind": 1900, "towing": 3000, "download": 300})
    spare = option("spare", mass=10, hitch={"behind": 1200, "towing": 2500, "download": 200})
    at_axle = {"from": "rear-axle", "x": 0}
    loads = [option(f"load-{kg}", mass=kg, position=at_axle) for kg in (0, 60, 120, 200, 340)]
    shop = catalogue(
        [
            several("bar", [near, far]),
            choice("other", [spare], "at-most-one"),
            choice("load", loads),
        ],
        vehicles=[{**vehicle(), "vehicle": VEHICLE_FIGURES | {"gvm": 2900, "rear-axle": 1500}}],
        mass={"people": 1, "person": 0},
    )
    search, seen = Search(shop), Counter[tuple[bool, int]]()
    for travel in (Travel(tow_ball=Decimal(150)), Travel(tow_ball=Decimal(250))):
        stopped = {}
        for *bars, kg in product((0, 1), (0, 1, 2), (0, 1), (0, 60, 120, 200, 340)):
            keys = ("bar", "near"), ("bar", "far"), ("other", "spare"), ("load", f"load-{kg}")
            picks = {key: n for key, n in zip(keys, [*bars, 1], strict=True) if n}
            build = Resolved(
                shop, evolve(selected({("vehicle", "ute"): 1, **picks}), travel=travel)
            )
            stopped[tuple(bars), kg] = bool(check(build).stops)
            seen[stopped[tuple(bars), kg], sum(bars)] += 1
            picture = mass_picture(build, None)
            assert picture is not None
            assert picture.trailer is None or picture.trailer.rated_download == (
                160 if bars[0] else 300 if bars[1] else 200
            )
        for having, kg in stopped:
            more = [
                stopped[others, kg]
                for others in product((0, 1), (0, 1, 2), (0, 1))
                if all(n >= m for n, m in zip(others, having, strict=True))
            ]
            picks = {key: n for key, n in zip(keys, [*having, 0], strict=True) if n}
            asked = evolve(selected({("vehicle", "ute"): 1, **picks}), travel=travel)
            found = options(search, asked, [shop.by_id["load"]]).options
            state = next(one for one in found if one.option == f"load-{kg}")
            assert (state.state == "ruled-out") == all(more), (travel, having, kg)
            asked = evolve(asked, picks=(*asked.picks, Pick("load", f"load-{kg}")))
            finished = complete(search, asked)
            assert (finished is None) == all(more), (travel, having, kg)
            assert finished is None or not check(Resolved(shop, finished)).stops
    assert min(seen[stop, n] for stop in (True, False) for n in (1, 2, 3)) > 3, seen


def test_one_search_answers_for_each_journey_as_a_new_one_does() -> None:
    shop = towing_shop()
    warm = Search(shop)
    chosen = selection({"size": "short", "box": ["box-400"], "bar": "bar"})
    journeys = [Travel(), Travel(tow_ball=Decimal(250)), Travel(people=3), Travel(people=2)]
    states = []
    for _ in range(2):
        for travel in journeys:
            asked = evolve(chosen, travel=travel)
            found = options(warm, asked)
            assert found == options(Search(shop), asked)
            states.append([s.state for s in found.options])
    assert states[: len(journeys)] == states[len(journeys) :]
    assert states[0] != states[1]
    seats = options(warm, evolve(chosen, travel=Travel(people=3))).conflict
    assert seats is not None
    assert [(f.kind, f.subject) for f in seats.facts] == [("rating", "people")]


def test_a_limit_that_counts_people_leaves_for_parts_what_they_do_not_weigh() -> None:
    # with a reserve it is exceeded before the gross vehicle mass, which counts the people too
    figures = VEHICLE_FIGURES | {"seats": [{"x": 1400, "count": 2}, {"x": 2000, "count": 3}]}
    masses = range(100, 951, 50)
    shop = catalogue(
        [choice("part", [option(f"part-{kg}", mass=kg) for kg in masses], "at-most-one")],
        vehicles=[{**vehicle(), "vehicle": figures | {"rear-axle": 9000, "front-axle": 9000}}],
        limits=[limit("payload", counts="mass-and-people", reserve=200)],
        mass={"people": 4, "person": 80, "luggage": 20},
    )
    warm = Search(shop)
    for people in (None, 1, 2, 3, 5, 2, None):
        chosen = evolve(selection({}), travel=Travel(people=people))
        found = options(warm, chosen, [shop.by_id["part"]])
        room = 3300 - 1200 - 1000 - 200 - (people or 4) * (80 + 20)
        may = [f"part-{kg}" for kg in masses if kg <= room]
        assert [one.option for one in found.options if one.state == "open"] == may
        refused = next(one for one in found.options if one.conflict)
        assert refused.conflict is not None
        assert [(f.kind, f.subject) for f in refused.conflict.facts] == [("limit", "payload")]
        over = min(kg for kg in masses if kg > room) - room
        assert f"Payload: at least {over} kg over the limit" in str(refused.conflict)
        for kg in masses:
            part = evolve(selection({"part": f"part-{kg}"}), travel=chosen.travel)
            assert (complete(warm, part) is None) == (kg > room)
            stops = check(Resolved(shop, part)).stops
            assert ("limit" in {one.code for one in stops}) == (kg > room)


def test_a_rating_let_pass_by_name_constrains_nothing_and_the_others_still_do() -> None:
    shop = towing_shop()
    chosen = selection({"size": "short", "box": ["box-500", "box-400", "box-50"]})
    two = selection({"size": "short", "box": ["box-500", "box-400"]})
    search = Search(evolve(shop, choices=tuple(c for c in shop.choices if c.id != "springs")))
    assert complete(search, two) is None
    passed = Override("rear-axle", "Ida Example", "A reason.")
    finished = complete(search, evolve(two, overrides=(passed,)))
    assert finished is not None
    assert not check(Resolved(search.catalogue, finished)).stops
    assert complete(search, evolve(two, overrides=(evolve(passed, subject="gvm"),))) is None
    # three boxes do not go in, whoever answers for the axle
    assert complete(search, evolve(chosen, overrides=(passed,))) is None


def test_completions_take_the_upgrade_where_it_is_needed_and_fixes_are_sound() -> None:
    search = Search(towing_shop())
    chosen = selection({"size": "short", "box": ["box-500", "box-400"]})
    lightest = complete(search, chosen, "mass")
    assert lightest is not None
    assert lightest.one("springs") == "springs"
    one = complete(search, selection({"size": "short", "box": ["box-500"]}), "mass")
    assert one is not None
    assert one.one("springs") is None
    stiff = Search(evolve(towing_shop(), choices=search.catalogue.choices[:-1]))
    assert "springs" not in stiff.catalogue.by_id
    towing = selection({"size": "short", "box": ["box-500"], "bar": "bar"})
    heavy = evolve(towing, travel=Travel(tow_ball=Decimal(300)))
    found = fixes(stiff, heavy).fixes
    assert {fix.count for fix in found} == {1}
    for fix in found:
        assert not check(Resolved(stiff.catalogue, fix.selection)).stops


def test_the_contractors_layout_keeps_the_rear_axle_within_its_rating_when_he_tows(
    quandong: Catalogue,
) -> None:
    contractor = read_selection(shipped("catalogues") / "selections" / "contractor.yaml")
    # with every drawer in the middle of the canopy, 330 kg on the ball would be 27 kg too many
    towing = evolve(contractor, travel=Travel(tow_ball=Decimal(330)))
    middle = mass_picture(Resolved(quandong, towing), None)
    assert middle is not None
    assert middle.state("towing").bar("rear-axle").left < 0
    laid = lay_out(Resolved(quandong, towing))
    assert isinstance(laid, Layout)
    picture = mass_picture(Resolved(quandong, towing), laid)
    assert picture is not None
    kept = picture.state("towing").bar("rear-axle").left >= 0
    assert laid.ratings == ("kept" if kept else "exceeded")
    assert bool(check(Resolved(quandong, towing)).stops) == (not kept)


def test_a_conflict_that_exceeds_a_rating_by_little_says_what_all_picks_come_to() -> None:
    # worked by hand: 20 boxes of 50 kg over the rear axle, 3 200 mm behind the front one, are 50 kg
    # on the rear axle each: 16 of them bring 1 000 kg to the 1 800 kg it is rated for, 20 to 2 000
    names = [f"box-{n:02}" for n in range(20)]
    shop = catalogue(
        [
            choice("size", [option("short", space={"canopy": {"length": 2000}})]),
            several(
                "box",
                [option(n, mass=50, position={"from": "front-axle", "x": 3200}) for n in names],
            ),
        ],
        vehicles=[{**vehicle(), "vehicle": {**VEHICLE_FIGURES, "rear-axle": 1790, "gvm": 9000}}],
        spaces=[{"id": "canopy", "title": "Canopy"}],
        mass={"people": 1, "person": 0},
    )
    search = Search(shop)
    chosen = selection({"size": "short", "box": names})
    conflict = find_conflict(search, chosen)
    assert conflict is not None
    assert len(conflict.picks) == 16
    told = str(conflict)
    least = (
        "the rear axle would carry at least 1800 kg, 10 kg more than the 1790 kg it is rated for"
    )
    assert least in conflict.line
    assert "with all that is picked" not in conflict.line
    assert f"{least} (with all that is picked, at least 2000 kg, 210 kg more)" in told
    (rating,) = to_data(conflict)["facts"]
    assert (rating["kind"], rating["subject"]) == ("rating", "axles")
    numbers = {"load": "1800", "rating": "1790", "over": "10"}
    assert rating["numbers"] == numbers | {"load-of-all": "2000", "over-of-all": "210"}
    few = selection({"size": "short", "box": names[:16]})
    just_enough = find_conflict(search, few)
    assert just_enough is not None
    assert "with all that is picked" not in str(just_enough)


def test_the_optimiser_counts_a_trailer_only_where_a_tow_bar_is_picked() -> None:
    # 2200 kg of vehicle and 2500 of trailer are more than the combination may weigh
    search = Search(towing_shop(gcm=4000))
    chosen = evolve(selection({"size": "short"}), travel=Travel(trailer=Decimal(2500)))
    found = complete(search, chosen)
    assert found is not None
    assert found.one("bar") is None
    assert not check(Resolved(search.catalogue, found)).stops
    bar = selection({"bar": "bar"}, vehicle=None).picks
    assert complete(search, evolve(chosen, picks=(*chosen.picks, *bar))) is None
