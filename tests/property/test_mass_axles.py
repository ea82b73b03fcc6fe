"""Axle loads by moments, against published examples, and the laws that moments obey.

Sources are named beside each example; "constructed" ones can be checked by hand.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings, strategies as st

from configurator.mass.axles import (
    AxleLoads,
    on_axles,
    overhang_limit,
    share,
    summed,
)

D = Decimal

C1_ITEMS: tuple[tuple[int, int], ...] = (
    (150, 1350),
    (165, 2900),
    (140, 2750),
    (62, 2450),
    (48, 2380),
    (31, 2050),
    (60, 2600),
    (120, 2700),
    (32, 4050),
)
"""People, tray, canopy, drawer, fridge on slide, battery, water, tools, rear spare: constructed."""


def near(found: Fraction, expected: str, within: str = "0.005") -> bool:
    return abs(found - Fraction(expected)) <= Fraction(within)


def test_a1_a_car_with_its_centre_behind_the_front_axle() -> None:
    # NCERT Physics XI, exercise on rotational motion: 1800 kg, 1.8 m, centre 1.05 m behind
    # the front axle; 375 kg (3675 N) on each front wheel, 525 kg (5145 N) on each rear wheel.
    loads = share(1800, 1050, 1800)
    assert [loads.front / 2, loads.rear / 2] == [375, 525]
    gravity = Fraction("9.8")
    assert [loads.front / 2 * gravity, loads.rear / 2 * gravity] == [3675, 5145]
    assert loads.total * gravity == 17_640


def test_a2_front_and_rear_of_one_load_come_to_the_load() -> None:
    # a truck maker's body-builder manual, App. B p. 77; its printed front load is a misprint,
    # so only the rear load and the sum are asked for
    loads = share(100, 133, 214)
    assert near(loads.rear, "62.15", "0.01")
    assert loads.total == 100


def test_a3_a_load_spread_evenly_over_a_body() -> None:
    # the same manual, p. 81: 14,500 lb on a body of 168 in that starts 72 in behind the axle
    loads = share(14500, 72 + Fraction(168, 2), 214)
    assert near(loads.rear, "10570", "0.5")
    assert near(loads.front, "3929.9", "0.05")


@pytest.mark.parametrize(
    ("mass", "behind", "wheelbase", "rear", "front"),
    [(100, 450, 325, "138.5", "-38.5"), (50, 250, 325, "38.5", "11.5")],
)
def test_a4_a_load_behind_the_rear_axle_relieves_the_front_one(
    mass: int, behind: int, wheelbase: int, rear: str, front: str
) -> None:
    # a motor-caravan maker's instruction manual, 3.3.3 (A from the front axle, R the wheelbase)
    loads = share(mass, behind, wheelbase)
    assert near(loads.rear, rear, "0.05")
    assert near(loads.front, front, "0.05")


def test_a5_a_tow_ball_loads_the_rear_axle_with_more_than_its_own() -> None:
    # a weighed rig in a trade article: 270 kg on the ball take 147 kg off the front axle, and the
    # rear axle goes from 1233 to 1650 kg
    loads = share(270, 3000 + Fraction(147, 270) * 3000, 3000)
    assert loads == AxleLoads(Fraction(-147), Fraction(417))
    assert 1233 + loads.rear == 1650


def test_a6_the_common_centre_of_six_loads() -> None:
    # German insurers' load-securing handbook (GDV), 6.2.5 table 2
    loads = [("5.80", "0.60"), ("5.76", "2.40"), ("3.00", "4.25")]
    loads += [("7.99", "6.65"), ("5.40", "9.60"), ("4.80", "12.00")]
    masses = [(D(mass), D(place)) for mass, place in loads]
    assert sum(mass for mass, _ in masses) == D("32.75")
    total, moment = summed(masses)
    assert near(moment / total, "5.882", "0.0005")


def test_a7_kerb_loads_and_one_load() -> None:
    # a web calculator's example: 4,000 and 3,000 lb, wheelbase 150 in, 10,000 lb at 120 in
    assert on_axles(4000, 3000, 150, [(10000, 120)]) == AxleLoads(Fraction(6000), Fraction(11000))


@pytest.mark.parametrize("wheelbase", [200, 290, 325])
def test_a8_moments_about_the_other_axle_say_the_same(wheelbase: int) -> None:
    # codingace.net, front axle weight: masses by their distance before the rear axle; the sum of
    # moments is 292,650 kg cm whatever the wheelbase
    rows = [(1800, 135), (160, 205), (250, 60), (50, 145), (90, -60)]
    loads = on_axles(0, 0, wheelbase, [(mass, wheelbase - ahead) for mass, ahead in rows])
    assert loads.front * wheelbase == 292_650
    assert loads.total == 2350


def test_c1_a_whole_build() -> None:
    # constructed
    loads = on_axles(1060, 760, 3130, C1_ITEMS)
    assert near(loads.front, "1227.3323", "0.00005")
    assert near(loads.rear, "1400.6677", "0.00005")
    assert loads.total == 2628
    assert near(loads.rear * 3130 / loads.total, "1668.2230", "0.00005")


def test_c2_the_same_build_with_a_trailer() -> None:
    # constructed
    change = share(300, 3130 + 1250, 3130)
    assert near(change.front, "-119.8083", "0.00005")
    assert near(change.rear, "419.8083", "0.00005")
    loads = on_axles(1060, 760, 3130, C1_ITEMS) + change
    assert near(loads.front, "1107.5240", "0.00005")
    assert near(loads.rear, "1820.4760", "0.00005")


@pytest.mark.parametrize(
    ("x", "front", "rear"),
    [(0, 1200, 800), (1500, 1100, 900), (3000, 1000, 1000), (4500, 900, 1100), (-600, 1240, 760)],
)
def test_c3_one_load_at_five_places(x: int, front: int, rear: int) -> None:
    # constructed
    assert on_axles(1000, 800, 3000, [(200, x)]) == AxleLoads(Fraction(front), Fraction(rear))


def test_c4_a_load_that_lifts_the_front_axle_is_said() -> None:
    # constructed: 2000 kg at 4500 mm take exactly all of 1000 kg off the front axle
    assert on_axles(1000, 800, 3000, [(2000, 4500)]).lifted
    assert not on_axles(1000, 800, 3000, [(1999, 4500)]).lifted
    assert on_axles(1000, 800, 3000, [(2001, 4500)]).lifted


@pytest.mark.parametrize(
    ("wheelbase", "limit"),
    [
        (3000, 1800),  # gov.uk, "Extending a vehicle's length behind its rear axle", 2010
        (3085, 1851),
        (3130, 1878),
        (3220, 1932),
        (3300, 1980),
        (6500, 3700),  # the cap of 3.7 m, national heavy vehicle regulator and WA Transport
    ],
)
def test_rear_overhang_is_the_lesser_of_a_share_and_a_cap(wheelbase: int, limit: int) -> None:
    assert overhang_limit(wheelbase) == limit


def test_the_cap_on_overhang_takes_over_between_two_wheelbases() -> None:
    assert overhang_limit(6166) < 3700
    assert overhang_limit(6167) == 3700


@pytest.mark.parametrize("wheelbase", [0, -3000])
def test_no_wheelbase_is_refused(wheelbase: int) -> None:
    with pytest.raises(ValueError, match="wheelbase"):
        share(100, 1000, wheelbase)


MASSES = st.fractions(0, 3000, max_denominator=100)
PLACES = st.integers(-2000, 9000)
LOADS = st.lists(st.tuples(MASSES, PLACES), max_size=8)
WHEELBASES = st.integers(1500, 6000)
LAW = settings(derandomize=True, max_examples=60, deadline=None)


@LAW
@given(LOADS, WHEELBASES)
def test_front_and_rear_come_to_the_sum(loads: list[tuple[Fraction, int]], wheelbase: int) -> None:
    found = on_axles(1000, 800, wheelbase, loads)
    assert found.total == 1800 + sum(mass for mass, _ in loads)


@LAW
@given(LOADS, WHEELBASES, st.fractions(0, 5, max_denominator=20))
def test_loads_grow_in_proportion_to_masses(
    loads: list[tuple[Fraction, int]], wheelbase: int, factor: Fraction
) -> None:
    once = on_axles(0, 0, wheelbase, loads)
    more = on_axles(0, 0, wheelbase, [(factor * mass, x) for mass, x in loads])
    assert more == AxleLoads(factor * once.front, factor * once.rear)


@LAW
@given(LOADS, WHEELBASES, st.data())
def test_the_order_of_masses_means_nothing(
    loads: list[tuple[Fraction, int]], wheelbase: int, data: st.DataObject
) -> None:
    shuffled = data.draw(st.permutations(loads))
    assert on_axles(1, 2, wheelbase, shuffled) == on_axles(1, 2, wheelbase, loads)


@LAW
@given(MASSES, PLACES, WHEELBASES)
def test_a_mass_in_two_halves_weighs_the_same(mass: Fraction, x: int, wheelbase: int) -> None:
    halves = [(mass / 3, x), (2 * mass / 3, x)]
    assert on_axles(0, 0, wheelbase, halves) == share(mass, x, wheelbase)


@LAW
@given(LOADS, WHEELBASES, st.integers(-3000, 3000))
def test_counting_from_elsewhere_changes_nothing(
    loads: list[tuple[Fraction, int]], wheelbase: int, shift: int
) -> None:
    total = sum((mass for mass, _ in loads), Fraction(0))
    moment = sum((mass * (x + shift) for mass, x in loads), Fraction(0))
    rear = on_axles(0, 0, wheelbase, loads).rear
    assert rear * wheelbase == moment - shift * total


@LAW
@given(LOADS, WHEELBASES, st.integers(1, 50))
def test_in_other_units_of_length_the_loads_are_the_same(
    loads: list[tuple[Fraction, int]], wheelbase: int, scale: int
) -> None:
    scaled = [(mass, x * scale) for mass, x in loads]
    assert on_axles(5, 7, wheelbase * scale, scaled) == on_axles(5, 7, wheelbase, loads)


@LAW
@given(LOADS, WHEELBASES)
def test_moments_about_the_rear_axle_give_the_front_load(
    loads: list[tuple[Fraction, int]], wheelbase: int
) -> None:
    about_rear = sum((mass * (wheelbase - x) for mass, x in loads), Fraction(0))
    assert on_axles(0, 0, wheelbase, loads).front == about_rear / wheelbase


def test_numpy_finds_the_same_loads_by_solving_two_equations() -> None:
    # an independent route: force and moment balance as a linear system
    numpy = pytest.importorskip("numpy")
    total = 1820 + sum(mass for mass, _ in C1_ITEMS)
    moment = 760 * 3130 + sum(mass * x for mass, x in C1_ITEMS)
    front, rear = numpy.linalg.solve([[1.0, 1.0], [0.0, 3130.0]], [total, moment])
    loads = on_axles(1060, 760, 3130, C1_ITEMS)
    assert float(loads.front) == pytest.approx(front)
    assert float(loads.rear) == pytest.approx(rear)
