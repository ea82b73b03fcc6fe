"""Sums of battery and sun against published examples, and the laws they obey.

BT-1 to BT-5 and PV-1 to PV-4 are the unit tests of an open-source teaching project that follows a
textbook's sizing chapter for stand-alone photovoltaic systems.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings, strategies as st

from configurator.power import energy

D = Decimal


def rounded(number: Decimal, to: str) -> Decimal:
    return number.quantize(D(to))


def test_bt_1_output_over_four_days() -> None:
    assert energy.required_output(D(450), D(4), D(24)) == 75


def test_bt_2_average_discharge_rate() -> None:
    assert energy.discharge_rate(D(16), D(3), D("0.80")) == 60


def test_bt_3_rated_capacity_when_cold() -> None:
    assert rounded(energy.rated_capacity(D(500), D("0.75"), D("0.80")), "1") == 833


def test_bt_5_the_whole_chain() -> None:
    output = energy.required_output(D(6578), D(3), D(48))
    assert rounded(output, "1") == 411
    assert energy.discharge_rate(D("11.2"), D(3), D("0.80")) == 42
    assert rounded(energy.rated_capacity(output, D("0.80"), D("0.90")), "1") == 571


def test_bt_6_a_small_system() -> None:
    # an open-source project's power design note: 300 Wh a day, 2 days, 0.8, 12 V
    output = energy.required_output(D(300), D(2), D(12))
    assert energy.rated_capacity(output, D("0.8")) == D("62.5")


@pytest.mark.parametrize(
    ("amps", "hours", "delivered"),
    [
        (5, "20", "100"),
        (10, "8.7055", "87.055"),
        (20, "3.7893", "75.786"),
        (50, "1.2619", "63.096"),
    ],
)
def test_bt_10_peukert_corrected_for_the_rated_hours(amps: int, hours: str, delivered: str) -> None:
    # constructed from Peukert's law: 100 Ah over 20 h, exponent 1.2
    found = energy.discharge_time(D(100), D(20), D(amps), D("1.2"))
    assert rounded(found, "0.0001") == D(hours).quantize(D("0.0001"))
    assert rounded(found * amps, "0.001") == D(delivered).quantize(D("0.001"))


def test_pv_1_array_current() -> None:
    assert rounded(energy.array_current(D(1580), D("0.90"), D(24), D("4.9")), "0.1") == D("14.9")


def test_pv_2_panel_current_when_dirty() -> None:
    assert rounded(energy.panel_current(D(18), D("0.95")), "0.01") == D("18.95")


@pytest.mark.parametrize(("volts", "rated"), [(24, "25.9"), (48, "51.8")])
def test_pv_3_and_4_the_temperature_step(volts: int, rated: str) -> None:
    # their fifth on top is on the nominal voltage, which charges no battery: only the step is ours
    assert rounded(D("1.2") * energy.hot_volts(D(volts), D("-0.004"), D(50)), "0.1") == D(rated)


def test_a_panel_charges_when_hot() -> None:
    # constructed: charged to 14.2 V, 1 V for the regulator, 70 degrees are 45 above the rating
    least = energy.panel_volts(D("14.2"), D(1), D("-0.004"), D(70))
    assert least is not None
    assert rounded(least, "0.01") == D("18.54")
    assert rounded(energy.hot_volts(least, D("-0.004"), D(70)), "0.01") == D("15.20")
    assert energy.panel_volts(D("14.2"), D(1), D("-0.03"), D(70)) is None


def test_the_battery_keeps_its_share_of_the_sun_as_of_any_charge() -> None:
    # constructed: 200 W, 4.8 peak sun hours, 0.68 reaches the battery, 0.95 is kept
    kept = energy.solar_amp_hours(D(200), D("4.8"), D("0.68"), D(12), D("0.95"))
    assert kept == D("51.68")
    assert energy.solar_watts(kept, D(12), D("4.8"), D("0.68"), D("0.95")) == 200


@pytest.mark.parametrize(
    ("watts", "volts", "efficiency", "amps"),
    [
        # constructed; 95 % of nominal is IEEE 1013-2007, 5.2.2
        (1000, "12", "0.85", "98.039"),
        (2000, "12", "0.90", "185.185"),
        (2000, "12.8", "0.90", "173.611"),
        (2000, "10.5", "0.90", "211.640"),
        (2000, "11.4", "0.90", "194.932"),
        (3000, "12", "0.90", "277.778"),
    ],
)
def test_inverter_currents(watts: int, volts: str, efficiency: str, amps: str) -> None:
    found = energy.inverter_current(D(watts), D(volts), D(efficiency))
    assert rounded(found, "0.001") == D(amps)


@pytest.mark.parametrize(
    ("amps", "charging", "hours"), [(40, "1", "4.000"), (40, "0.95", "4.211"), (25, "1", "6.400")]
)
def test_recharge_hours(amps: int, charging: str, hours: str) -> None:
    # constructed: 200 Ah, 0.8 of them used
    drawn = energy.usable(D(200), D("0.8"))
    assert rounded(energy.recharge_hours(drawn, D(amps), D(charging)), "0.001") == D(hours)


def test_surge_is_the_running_load_and_the_worst_start() -> None:
    # common practice, no source
    loads = [(D(100), D(300)), (D(800), D(800)), (D(50), D(400))]
    assert energy.surge_needed(loads) == 950 + 350
    assert energy.surge_needed([]) == 0


@pytest.mark.parametrize("depth", ["0", "-0.1", "1.01"])
def test_a_depth_of_discharge_that_is_no_share_is_refused(depth: str) -> None:
    with pytest.raises(ValueError, match="no share"):
        energy.usable(D(100), D(depth))
    with pytest.raises(ValueError, match="no share"):
        energy.rated_capacity(D(100), D(depth))


LAW = settings(derandomize=True, max_examples=100, deadline=None)
AMOUNTS = st.decimals("0.1", "5000", places=1)
SHARES = st.decimals("0.05", "1", places=2)


@LAW
@given(AMOUNTS, st.integers(1, 20), SHARES)
def test_rated_capacity_is_linear_in_days_and_inverse_in_depth(
    amount: Decimal, days: int, depth: Decimal
) -> None:
    one = energy.rated_capacity(energy.required_output(amount, D(1), D(12)), depth)
    many = energy.rated_capacity(energy.required_output(amount, D(days), D(12)), depth)
    assert abs(many - days * one) < D("1e-15") * many
    assert abs(energy.rated_capacity(amount, depth) * depth - amount) < D("1e-20") * amount


@LAW
@given(AMOUNTS, st.decimals("0.5", "100", places=1))
def test_peukert_of_one_is_plain_ah(capacity: Decimal, amps: Decimal) -> None:
    hours = energy.discharge_time(capacity, D(20), amps, D(1))
    assert abs(hours * amps - capacity) < D("1e-20") * capacity


@LAW
@given(st.decimals("1", "2", places=2), st.decimals("5", "500", places=1))
def test_no_battery_gives_more_than_rated_when_drawn_fast(exponent: Decimal, amps: Decimal) -> None:
    delivered = amps * energy.discharge_time(D(100), D(20), amps, exponent)
    assert 0 < delivered <= 100 + D("1e-20")


@LAW
@given(AMOUNTS, AMOUNTS, AMOUNTS)
def test_days_end_only_when_more_is_used_than_gained(
    available: Decimal, used: Decimal, gained: Decimal
) -> None:
    days = energy.days_of_stay(available, used, gained)
    assert (days is None) == (gained >= used)
    assert days is None or days > 0
