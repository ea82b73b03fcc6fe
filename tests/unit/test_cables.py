"""Voltage drop, what cables carry, and fuses, against published tables and worked examples."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings, strategies as st

from configurator.power.cables import (
    AMPACITY,
    FUSES,
    RESISTANCE,
    Laying,
    ampacity,
    cable_of,
    conductor_drop,
    fuse_at_least,
    grouping_factor,
    own_fuse,
    smallest_cable,
    two_way_drop,
    warm_resistance,
)

D = Decimal
IACS = D("17.241")
"""Ohm mm2 per km of annealed copper at 20 degrees (IEC 60028; five figures from memory)."""


def test_class_5_resistances() -> None:
    # IEC 60228:2004 table 3, flexible plain copper, two independent reproductions
    published = ["13.3", "7.98", "4.95", "3.30", "1.91", "1.21", "0.780", "0.554", "0.386"]
    sizes = ["1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70"]
    assert {D(s): D(r) for s, r in zip(sizes, [*published, "0.272"], strict=True)} == RESISTANCE


def test_class_5_falls_with_size_and_stays_above_ideal_copper() -> None:
    ohms = list(RESISTANCE.values())
    assert ohms == sorted(ohms, reverse=True)
    for size, resistance in RESISTANCE.items():
        assert D("1.10") <= resistance * size / IACS <= D("1.16")


def test_class_5_at_50_mm2_is_below_class_2() -> None:
    # IEC 60228:2004: 0.386 flexible, 0.387 stranded; both reproductions have it
    assert RESISTANCE[D(50)] < D("0.387")


@pytest.mark.parametrize(
    ("name", "feet", "ohms_per_foot", "volts", "printed"),
    [
        # FAA AC 43.13-1B (Change 1, 2001) tables 11-7 and 11-8, total conductor length, 20 A
        ("VD-1", "107", "0.00044", "0.9416", "0.942"),
        ("VD-2", "90", "0.00028", "0.5040", "0.504"),
        ("VD-4", "100", "0.00306", "6.1200", "6.12"),
        ("VD-5", "39", "0.00126", "0.9828", "0.98"),
        ("VD-7", "156", "0.00126", "3.9312", "3.93"),
        ("VD-8", "273", "0.00126", "6.8796", "6.88"),
    ],
)
def test_faa_voltage_drops(
    name: str, feet: str, ohms_per_foot: str, volts: str, printed: str
) -> None:
    found = conductor_drop(D(20), D(feet), D(ohms_per_foot))
    assert found == D(volts), name
    assert found.quantize(D(printed)) == D(printed)


def test_vd_9_the_faa_choice_of_size() -> None:
    # FAA AC 43.13-1B p. 11-26, example 1: 50 ft with the ground wire, 20 A, 1 V allowed: No. 8
    assert conductor_drop(D(20), D(50), D("0.00126")) == D("1.26")
    assert conductor_drop(D(20), D(50), D("0.00070")) == D("0.70")


GRID = [
    ("10", "5", "2.5", "0.7980", "6.650"),
    ("10", "5", "4", "0.4950", "4.125"),
    ("10", "5", "6", "0.3300", "2.750"),
    ("40", "6", "16", "0.5808", "4.840"),
    ("40", "6", "25", "0.3744", "3.120"),
    ("40", "6", "35", "0.2659", "2.216"),
    ("185.185", "1.5", "50", "0.2144", "1.787"),
    ("185.185", "1.5", "70", "0.1511", "1.259"),
]


@pytest.mark.parametrize(("amps", "metres", "size", "drop", "percent"), GRID)
def test_the_class_5_grid(amps: str, metres: str, size: str, drop: str, percent: str) -> None:
    # constructed from IEC 60228 class 5, 12 V, one way, 20 degrees
    found = two_way_drop(D(amps), D(metres), D(size))
    assert found.quantize(D("0.0001")) == D(drop)
    assert (100 * found / 12).quantize(D("0.001")) == D(percent)


@pytest.mark.parametrize(
    ("amps", "metres", "percent", "size"),
    [(10, 5, 3, "6"), (10, 5, 5, "4"), (40, 6, 3, "35"), (40, 6, 5, "16")],
)
def test_the_smallest_cable_by_voltage_drop(
    amps: int, metres: int, percent: int, size: str
) -> None:
    # constructed, from the same grid
    cable = smallest_cable(D(amps), D(metres), D(amps), D(12), D(percent))
    assert cable is not None
    assert (cable.size, cable.count) == (D(size), 1)


@pytest.mark.parametrize(("percent", "size"), [("2.75", 6), ("2.74", 10)])
def test_a_drop_of_exactly_what_is_allowed_is_allowed(percent: str, size: int) -> None:
    # worked by hand, IEC 60228:2004 table 3: 10 A x 2 x 5 m x 3.30 ohm/km is 0.33 V, 2.75 % of 12 V
    cable = smallest_cable(D(10), D(5), D(10), D(12), D(percent))
    assert cable is not None
    assert cable.size == size


@pytest.mark.parametrize(("fuse", "size"), [(25, "1.5"), (26, "2.5")])
def test_a_fuse_of_exactly_what_a_cable_carries_protects_it(fuse: int, size: str) -> None:
    # load, at most fuse, at most cable: AS/NZS 3000 clause 2.5.3, from memory; 25 A and 34 A are of
    # BS 7671 table 4E1A
    cable = smallest_cable(D(20), D(1), D(fuse), D(12), D(10))
    assert cable is not None
    assert cable.size == D(size)


def test_warm_copper_resists_more() -> None:
    # IEC 60287-1-1 table 1: 0.00393 a degree; 60 degrees make 1.1572
    assert warm_resistance(D(1), 60) == D("1.1572")
    assert warm_resistance(D(1), 20) == 1


def test_what_cables_carry() -> None:
    # BS 7671 table 4E1A, reference method C, two cables d.c., 30 degrees
    published = [25, 34, 46, 59, 81, 109, 143, 176, 228, 293]
    assert [int(amps) for amps in AMPACITY.values()] == published
    assert ampacity(D(50)) == 228


def test_heat_and_bundles_take_from_what_a_cable_carries() -> None:
    assert [grouping_factor(n) for n in (1, 3, 4, 6, 7, 24, 25)] == [
        # ABYC E-11 as printed by a cable maker: 14 AWG 35 A, 24.5, 21, 17.5; 25 from memory
        *map(D, ("1", "0.70", "0.60", "0.60", "0.50", "0.50", "0.40"))
    ]
    assert D(35) * grouping_factor(3) == D("24.5")
    assert D(35) * grouping_factor(5) == 21
    assert D(80) * grouping_factor(6) * D("0.85") == D("40.8")
    assert ampacity(D(6), 40) < ampacity(D(6))
    assert ampacity(D(6), 90) == 0
    assert ampacity(D(6), 45, 3) == ampacity(D(6), 45) * D("0.70")


TABLE_5 = {
    # 33 CFR 183.425 table 5: AWG, A at 60, 75, 80, 90, 105, 125 and 200 degrees
    "18": (10, 10, 15, 20, 20, 25, 25),
    "16": (15, 15, 20, 25, 25, 30, 35),
    "14": (20, 20, 25, 30, 35, 40, 45),
    "12": (25, 25, 35, 40, 45, 50, 55),
    "10": (40, 40, 50, 55, 60, 70, 70),
    "8": (55, 65, 70, 70, 80, 90, 100),
    "6": (80, 95, 100, 100, 120, 125, 135),
    "4": (105, 125, 130, 135, 160, 170, 180),
    "3": (120, 145, 150, 155, 180, 195, 210),
    "2": (140, 170, 175, 180, 210, 225, 240),
    "1": (165, 195, 210, 210, 245, 265, 280),
    "0": (195, 230, 245, 245, 285, 305, 325),
    "00": (225, 265, 285, 285, 330, 355, 370),
    "000": (260, 310, 330, 330, 385, 410, 430),
    "0000": (300, 360, 385, 385, 445, 475, 510),
}
AWG_AREA = {"14": "2.081", "12": "3.309", "10": "5.261", "8": "8.366", "6": "13.302", "4": "21.151"}
AWG_AREA |= {"2": "33.631", "0": "53.475"}
"""mm2 by the formula of ASTM B258-02."""


@pytest.mark.parametrize("gauge", sorted(AWG_AREA))
def test_our_ampacity_is_more_cautious_than_the_coast_guards(gauge: str) -> None:
    # 33 CFR 183.425 table 5 at 90 degrees insulation and 30 degrees ambient, against the largest
    # metric size that is no larger than the gauge
    size = max(size for size in RESISTANCE if size <= D(AWG_AREA[gauge]))
    assert ampacity(size) <= TABLE_5[gauge][3]


def test_fuses_to_be_had() -> None:
    assert fuse_at_least(D("7.6")) == 10
    assert fuse_at_least(D(10)) == 10
    assert fuse_at_least(D(501)) is None
    assert list(FUSES) == sorted(FUSES)


def test_two_cables_are_tried_before_giving_up() -> None:
    # two of 70 mm2 are four loaded cables: 2 x 293 x 0.60 by the tables of BS 7671 and ABYC E-11
    heavy = smallest_cable(D(300), D("1.5"), D(350), D(12), D(3))
    assert heavy is not None
    assert (heavy.size, heavy.count, heavy.loaded) == (D(70), 2, 4)
    assert heavy.carries == D("351.6")
    assert heavy.own_fuse == 175
    assert smallest_cable(D(300), D("1.5"), D(400), D(12), D(3)) is None


def test_cables_in_parallel_count_in_the_bundle() -> None:
    # ABYC E-11: four loaded cables keep 0.60, eight keep 0.50; BS 7671 table 4E1A: 50 mm2 228 A
    for grouped, share in ((2, "0.60"), (6, "0.50")):
        pair = cable_of(D(50), 2, D(300), D("1.5"), Laying(grouped=grouped))
        assert pair.carries == 2 * 228 * D(share)
        assert (pair.loaded, grouping_factor(pair.loaded)) == (grouped + 2, D(share))
    # pairs that run apart are bundles of their own (BS 7671 table 4C1, note; from memory)
    apart = cable_of(D(50), 2, D(300), D("1.5"), Laying(apart=True))
    assert apart.loaded == 2
    assert apart.carries == 456


def test_two_of_50_mm2_do_not_carry_a_fuse_of_400_a() -> None:
    # 2 x 228 A x 0.60 x the square root of 50/60 left at 40 degrees: 249.7 A
    pair = cable_of(D(50), 2, D(300), D("1.5"), Laying(ambient=40), D(400))
    assert pair.carries.quantize(D("0.1")) == D("249.8")
    assert pair.own_fuse is None
    assert smallest_cable(D(300), D("1.5"), D(400), D(12), D(3), Laying(ambient=40)) is None


@pytest.mark.parametrize(
    ("fuse", "amps", "each", "own"),
    [
        (400, 300, "208", 200),  # half of the circuit's fuse
        (400, 300, "199", 175),  # 200 A is more than it carries
        (400, 320, "160", None),  # 160 A need a fuse of 175, more than it carries
        (400, 300, "150", 150),
        (3, 1, "1", None),
    ],
)
def test_each_cable_in_parallel_has_its_own_fuse_that_it_carries(
    fuse: int, amps: int, each: str, own: int | None
) -> None:
    # load, at most fuse, at most cable (AS/NZS 3000 clause 2.5.3, from memory), for each of two
    assert own_fuse(D(fuse), D(amps), 2, D(each)) == own


@settings(derandomize=True, max_examples=200, deadline=None)
@given(
    st.decimals("0.1", "250", places=1),
    st.decimals("0.2", "15", places=1),
    st.integers(1, 10),
    st.integers(20, 60),
    st.integers(2, 8),
    st.booleans(),
)
def test_the_cable_chosen_obeys_every_rule_and_no_smaller_one_does(
    amps: Decimal, metres: Decimal, percent: int, ambient: int, grouped: int, apart: bool
) -> None:
    fuse = fuse_at_least(amps)
    assert fuse is not None

    def will_do(size: Decimal, count: int) -> bool:
        # written out again, from the formulas alone
        ohms = float(RESISTANCE[size]) / 1000 * (1 + 0.00393 * (ambient - 20)) / count
        drop = 2 * float(metres) * float(amps) * ohms
        loaded = grouped + (2 if count == 2 and not apart else 0)
        share = 1 if loaded < 3 else 0.7 if loaded == 3 else 0.6 if loaded < 7 else 0.5
        each = float(AMPACITY[size]) * ((90 - ambient) / 60) ** 0.5 * share
        own = any(float(amps) / 2 <= float(usual) <= each + 1e-9 for usual in FUSES)
        protected = float(fuse or 0) <= count * each + 1e-9 and (count == 1 or own)
        return drop * 100 <= percent * 12 + 1e-9 and protected

    ways = [(count, size) for count in (1, 2) for size in sorted(RESISTANCE)]
    expected = next((way for way in ways if will_do(way[1], way[0])), None)
    found = smallest_cable(
        amps,
        metres,
        fuse,
        D(12),
        D(percent),
        Laying(ambient, ambient, grouped, apart),
    )
    if found is not None and found.count == 2:
        assert found.own_fuse is not None
        assert amps / 2 <= found.own_fuse <= found.carries / 2
    assert (None if found is None else (found.count, found.size)) == expected
