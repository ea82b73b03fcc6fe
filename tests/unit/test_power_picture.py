"""The power picture and what it has to say, through catalogues that have been read."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from decimal import Decimal
from typing import Any

import attrs
import pytest
from hypothesis import given, settings, strategies as st

from configurator import Catalogue, Finding, Layout, PowerPicture, Selection, Travel
from configurator.checking.check import check
from configurator.checking.power import power_findings
from configurator.drawing.charts import charge_svg, mass_svg
from configurator.fit.layout import Placement
from configurator.mass.mounts import holding_force, mount_findings
from configurator.mass.picture import mass_picture
from configurator.power.circuits import CircuitRow
from configurator.power.energy import START, charge_curve, evening, morning, spread, sunlight
from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved
from configurator.selection.validate import selection_problems
from tests.support.building import (
    Raw,
    catalogue,
    option,
    problems_of,
    raw_catalogue,
    selection,
    several,
)

D = Decimal

LFP: Raw = {
    "chemistry": "lfp",
    "capacity": 100,
    "volts": 12.8,
    "usable": 0.8,
    "discharge": 100,
    "charge": 50,
}
LFP = {key: D(str(value)) if isinstance(value, float) else value for key, value in LFP.items()}


def place(identity: str, year: str, summer: str = "7", winter: str = "2") -> Raw:
    hours = {"year": D(year), "summer": D(summer), "winter": D(winter)}
    return {"id": identity, "title": identity.title(), **hours}


def load(identity: str, **more: Any) -> Raw:
    return option(identity, power={"load": more})


def shop(options: list[Raw], **power: Any) -> Catalogue:
    given_ = {key.replace("_", "-"): value for key, value in power.items()}
    return catalogue([several("part", options)], **({"power": given_} if given_ else {}))


def picked(*parts: str, **travel: Any) -> Selection:
    return attrs.evolve(selection({"part": parts}), travel=Travel(**travel))


def shown(here: Catalogue, *parts: str, **travel: Any) -> PowerPicture:
    return power_picture(Resolved(here, picked(*parts, **travel)), None)


def said(here: Catalogue, *parts: str, **travel: Any) -> dict[str, Finding]:
    found = power_findings(Resolved(here, picked(*parts, **travel)), None)
    return {finding.subject: finding for finding in found}


def battery(identity: str = "battery", **more: Any) -> Raw:
    facts = {**LFP, **{key.replace("_", "-"): value for key, value in more.items()}}
    return option(identity, most=4, power={"battery": facts})


E1 = [
    load("fridge", amps=5, duty=D("0.40")),
    load("lights", amps=2, hours=4),
    load("kettle", watts=1000, mains=True, hours=D("0.25")),
    load("usb", amps=3, hours=3),
    option("inverter", power={"inverter": {"watts": 1200, "efficiency": D("0.9"), "idle": 0}}),
]
E1_PARTS = ("fridge", "lights", "kettle", "usb", "inverter")


def panel(watts: int, derate: str = "0.70") -> Raw:
    return option("panel", power={"solar": {"watts": watts, "derate": D(derate)}})


@pytest.mark.parametrize(("sun", "watts"), [("4.2", "359.8"), ("3.6", "419.8")])
def test_e_1_energy_of_a_day(sun: str, watts: str) -> None:
    # constructed: fridge 48, lights 8, inverter 23.148, USB 9 Ah a day; two days at 0.8; derate 0.7
    here = shop([*E1, battery(), panel(100)], places=[place("here", sun)], days=2, charging=1)
    picture = shown(here, *E1_PARTS, "battery", "panel")
    daily = [consumer.daily.quantize(D("0.001")) for consumer in picture.consumers]
    assert daily == [D("48.000"), D("8.000"), D("23.148"), D("9.000")]
    assert picture.daily.quantize(D("0.001")) == D("88.148")
    assert picture.battery_needed.quantize(D("0.01")) == D("220.37")
    assert picture.solar_needed is not None
    assert picture.solar_needed.quantize(D("0.1")) == D(watts)


def test_the_inverter_draws_by_itself_while_something_runs() -> None:
    inverter = {"inverter": {"watts": 1200, "efficiency": D("0.9"), "idle": D("1.5")}}
    here = shop([E1[2], option("inverter", power=inverter)])
    assert shown(here, "kettle", "inverter").idle == D("0.375")
    assert shown(here, "inverter").idle == 0
    # two that run for 20 h each leave it on for all of a day, and no longer: 24 x 1.5
    long = [load(name, watts=100, mains=True, hours=20) for name in ("heater", "pump")]
    here = shop([*long, option("inverter", power=inverter)])
    assert shown(here, "heater", "inverter").idle == 30
    assert shown(here, "heater", "pump", "inverter").idle == 36


def test_seasons_change_the_draw_and_the_sun() -> None:
    fridge = load("fridge", amps=5, duty=D("0.4"), summer=D("1.25"), winter=D("0.75"))
    here = shop([fridge, battery(), panel(100)], places=[place("here", "4.8", "7.0", "2.4")])
    draws = [shown(here, "fridge", season=s).daily for s in ("winter", "year", "summer")]
    assert draws == [36, 48, 60]
    suns = [shown(here, "panel", season=s).sun for s in ("winter", "year", "summer")]
    assert suns == [D("2.4"), D("4.8"), D("7.0")]


def test_darwin_has_the_most_sun_and_hobart_the_least(quandong: Catalogue) -> None:
    # Bureau of Meteorology means for flat panels, and a second source, agree on the order
    suns = {place_.id: place_.year for place_ in quandong.power.places}
    assert max(suns, key=suns.__getitem__) == "darwin"
    assert min(suns, key=suns.__getitem__) == "hobart"


def test_days_without_charging_with_sun_and_with_driving() -> None:
    fridge = load("fridge", amps=2)
    charger = option("charger", power={"vehicle-charger": {"amps": 80}})
    here = shop([fridge, battery(), panel(60, "1"), charger], places=[place("here", "4")])
    here = attrs.evolve(here, power=attrs.evolve(here.power, charging=D(1)))
    picture = shown(here, "fridge", "battery", "panel", "charger", driving=D("0.5"))
    # 48 Ah a day, 80 Ah to use, 20 Ah from the sun, 50 A (the battery's limit) for half an hour
    assert picture.days_alone == D(80) / 48
    assert picture.days_sun == D(80) / 28
    assert picture.days_driving == D(80) / 23
    assert picture.solar_share == D(20) / 48
    assert picture.recharge_driving == D("1.6")
    assert shown(here, "fridge", "battery", "charger", driving=D(1)).days_driving is None


def test_lead_acid_gives_less_when_it_is_drawn_fast() -> None:
    heater = load("heater", amps=20)
    agm = battery(chemistry="agm", usable=1, peukert=D("1.2"))
    here = shop([heater, agm])
    # rate-corrected Peukert, 100 Ah over 20 h, exponent 1.2: 20 A give 75.786 Ah
    assert shown(here, "heater", "battery").usable.quantize(D("0.001")) == D("75.786")
    slow = shop([load("lamp", amps=5), agm])
    assert shown(slow, "lamp", "battery").usable == 100


def test_inverter_current_against_the_battery() -> None:
    inverter: Raw = {"watts": 2000, "efficiency": D("0.9"), "idle": 0}
    here = shop([option("inverter", power={"inverter": inverter}), battery()])
    state = shown(here, "inverter", "battery").inverter
    assert state is not None
    assert state.nominal.quantize(D("0.001")) == D("185.185")
    assert state.low.quantize(D("0.001")) == D("211.640")
    finding = said(here, "inverter", "battery")["inverter-current"]
    assert finding.level == "caution"
    assert "draws 185.2 A (211.7 A at low voltage); the batteries supply 100 A" in finding.sentence
    assert "2 × Battery would do" in finding.hint


def test_two_chargers_charge_as_two() -> None:
    # 2 x 20 A into a battery that takes 50 A; half an hour of driving gives 20 Ah of the 96 drawn
    charger = option("charger", most=2, power={"vehicle-charger": {"amps": 20}})
    here = shop([load("heater", amps=4), battery(), charger])
    here = attrs.evolve(here, power=attrs.evolve(here.power, charging=D(1)))
    two = selection({"part": {"heater": 1, "battery": 1, "charger": 2}})
    picture = power_picture(
        Resolved(here, attrs.evolve(two, travel=Travel(driving=D("0.5")))), None
    )
    assert (picture.vehicle_amps, picture.vehicle_daily) == (D(40), D(20))


def test_of_two_inverters_the_larger_is_counted_and_that_is_said() -> None:
    small, large = (
        option(name, power={"inverter": {"watts": watts, "efficiency": 1, "idle": 0}})
        for name, watts in (("a-small", 300), ("large", 1200))
    )
    here = shop([E1[2], small, large, battery()])
    picture = shown(here, "kettle", "a-small", "large", "battery")
    assert picture.inverter is not None
    assert picture.inverter.title == "Large"
    told = said(here, "kettle", "a-small", "large", "battery")["inverters"]
    assert told.sentence.startswith("2 inverters are picked, but only one is counted, Large")
    assert "inverters" not in said(here, "kettle", "large", "battery")


def test_an_inverter_without_a_battery_stops() -> None:
    here = shop(E1)
    finding = said(here, "inverter")["battery"]
    assert finding.level == "stop"
    assert "has no battery to draw from: at full power it draws 111.2 A" in finding.sentence


def test_what_runs_on_230_v_without_an_inverter_stops() -> None:
    finding = said(shop(E1), "kettle")["inverter"]
    assert (finding.level, finding.sentence) == (
        "stop",
        "Kettle runs on 230 V, and no inverter is picked",
    )


def test_loads_at_night_with_panels_only_stop() -> None:
    here = shop([load("fridge", amps=2), panel(200)], places=[place("here", "5")])
    finding = said(here, "fridge", "panel")["battery"]
    assert finding.level == "stop"
    assert "200 W of panels have no battery to charge: at night nothing" in finding.sentence


def test_loads_without_any_battery_draw_on_the_vehicles_own() -> None:
    finding = said(shop([load("fridge", amps=2)]), "fridge")["battery"]
    assert finding.level == "caution"
    assert "48 Ah a day are drawn from the vehicle's own battery" in finding.sentence


def test_a_short_stay_names_the_next_battery_that_would_do() -> None:
    here = shop([load("fridge", amps=2), battery(), battery("large", capacity=150)], days=2)
    finding = said(here, "fridge", "battery")["stay"]
    assert "lasts 1.6 days, not 2: 80 Ah is usable, 48 Ah is drawn a day" in finding.sentence
    assert finding.hint == "Large would do, if there is room"
    larger = power_picture(Resolved(here, picked("fridge", "large")), None)
    assert larger.days_alone is not None
    assert larger.days_alone >= 2
    short = said(shop([load("fridge", amps=20), battery()], days=9), "fridge", "battery")["stay"]
    assert short.hint == "5400 Ah of the same kind would do"


def test_a_battery_that_does_not_last_the_night_is_said() -> None:
    heater = load("heater", amps=25, hours=10)
    here = shop([heater, battery(), panel(2000, "1")], places=[place("here", "5")], days=D("0.1"))
    finding = said(here, "heater", "battery", "panel")["sun"]
    assert finding.level == "caution"
    assert "the battery does not last the night" in finding.sentence
    assert "would do" in finding.hint


def test_too_little_sun_says_how_many_watts_would_do() -> None:
    here = shop([load("fridge", amps=2), battery(), panel(70)], places=[place("here", "4.8")])
    finding = said(here, "fridge", "battery", "panel")["sun"]
    assert finding.level == "note"
    assert finding.sentence == (
        "The sun gives 38 % of what is drawn in Here over the year: 18.6 of 48 Ah a day"
    )
    # 48 Ah x 12 V / (4.8 h x 0.7 x 0.95)
    assert finding.hint == "180.5 W of panels would cover it"


@pytest.mark.parametrize(("more", "subjects"), [(0, set()), (1, {"inverter", "inverter-surge"})])
def test_an_inverter_of_exactly_what_runs_and_starts_is_enough(
    more: int, subjects: set[str]
) -> None:
    # worked by hand: 500 and 700 W run on 1200 W; the pump starts with 900 more, on 2100 W
    inverter = {"watts": 1200, "surge": 2100, "efficiency": 1, "idle": 0}
    heater = load("heater", watts=500 + more, mains=True, hours=1)
    pump = load("pump", watts=700, mains=True, hours=1, surge=1600)
    own = option("inverter", power={"inverter": inverter})
    found = said(
        shop([heater, pump, own, battery(discharge=500)]), "heater", "pump", "inverter", "battery"
    )
    assert {"inverter", "inverter-surge"} & set(found) == subjects


@pytest.mark.parametrize("more", [0, 1])
def test_a_battery_may_give_take_and_last_exactly_what_is_asked(more: int) -> None:
    # worked by hand: 100 A drawn of 100 A; 50 A charged of 50 A; 48 Ah a day for 2 days of 96 Ah
    winch = load("winch", amps=100 + more, hours=D("0.1"))
    assert ("discharge" in said(shop([winch, battery()]), "winch", "battery")) == bool(more)
    charger = option("charger", power={"vehicle-charger": {"amps": 50 + more}})
    assert ("charge" in said(shop([charger, battery()]), "charger", "battery")) == bool(more)
    here = shop([load("fridge", amps=2), battery(capacity=120 - more)], days=2)
    assert ("stay" in said(here, "fridge", "battery")) == bool(more)


def test_an_inverter_that_is_too_small_is_said_load_by_load() -> None:
    small = option("small", power={"inverter": {"watts": 900, "efficiency": D("0.9"), "idle": 0}})
    lamp = load("lamp", watts=400, mains=True, hours=1, surge=1600)
    here = shop([*E1, small, lamp, battery(discharge=500)])
    assert said(here, "kettle", "small", "battery")["inverter"].level == "stop"
    together = said(here, "kettle", "lamp", "inverter", "battery")
    assert together["inverter"].level == "caution"
    assert "together draws 1400 W" in together["inverter"].sentence
    assert "2600 W is needed; Inverter can surge to 1200 W" in together["inverter-surge"].sentence


def test_too_much_charge_and_too_much_at_once_are_said() -> None:
    charger = option("charger", power={"vehicle-charger": {"amps": 60}})
    winch = load("winch", amps=120, hours=D("0.1"))
    here = shop([charger, winch, battery(), battery("large", discharge=150)])
    found = said(here, "charger", "winch", "battery")
    assert "gives 60 A, but the batteries take at most 50 A" in found["charge"].sentence
    assert "the draw is 120 A; the batteries supply 100 A" in found["discharge"].sentence
    assert found["discharge"].hint.endswith("Large would do, if there is room")


def circuit(amps: int | Decimal, **more: Any) -> Catalogue:
    facts = {key.replace("_", "-"): value for key, value in more.items()}
    part = option("part", power={"load": {"amps": amps}, "circuit": facts})
    return shop([part], ambient=30, conductor=20, grouped=2)


def row(here: Catalogue, *parts: str) -> CircuitRow:
    (found,) = shown(here, *(parts or ("part",))).circuits
    return found


def test_a_circuit_gets_its_cable_and_fuse() -> None:
    # constructed: 10 A over 5 m one way at 3 % want 6 mm2 of class 5 (drop 0.33 V, 2.75 %); copper
    # is as warm as the 30 degrees around it, 3.93 % more than at 20
    found = row(circuit(10, run=5))
    assert found.cable is not None
    assert [found.cable.size, found.fuse, found.percent] == [6, 15, D("2.75") * D("1.0393")]
    assert not found.faults
    wider = row(circuit(10, run=5, drop=5))
    assert wider.cable is not None
    assert wider.cable.size == 4


@pytest.mark.parametrize(
    ("amps", "facts", "fault", "words"),
    [
        (10, {"run": 1, "fuse": 5}, "fuse-below-load", "which would blow its 5 A fuse"),
        (10, {"run": 5, "cable": D("2.5")}, "drop", "loses 6.92 % on 2.5 mm² over 5 m"),
        (10, {"run": 1, "fuse": 50, "cable": D("2.5")}, "cable-below-fuse", "carries 34 A"),
        (10, {"run": 1, "cable": 7}, "unknown-cable", "is not in the table"),
        (250, {"run": 30}, "no-cable", "needs more cable than the largest in the table"),
        (450, {"run": 1}, "no-fuse", "more than any usual fuse"),
        (10, {"drop": 3}, "no-run", "has no length of cable"),
        (10, {"run": 1, "fuse-at": 201}, "fuse-too-far", "farther from the battery than the 200"),
    ],
)
def test_what_is_wrong_with_a_circuit_is_said(
    amps: int, facts: Raw, fault: str, words: str
) -> None:
    here = circuit(amps, **facts)
    assert fault in row(here).faults
    sentences = [f.sentence for f in power_findings(Resolved(here, picked("part")), None)]
    assert any(words in sentence for sentence in sentences)


def test_a_fuse_may_sit_just_as_far_from_the_battery_as_is_allowed() -> None:
    # a summary of AS/NZS 3001.2:2022: 200 mm
    assert not row(circuit(10, run=1, fuse_at=200)).faults
    assert row(circuit(10, run=1, fuse_at=201)).faults == ("fuse-too-far",)


def test_a_fuse_may_be_all_that_its_cable_carries_and_no_more() -> None:
    # load, at most fuse, at most cable; 10 mm2 alone carries 81 A and 16 mm2 109 A (BS 7671 4E1A)
    assert "cable-below-fuse" not in row(circuit(70, run=1, fuse=80, cable=10)).faults
    assert "cable-below-fuse" in row(circuit(70, run=1, fuse=100, cable=10)).faults


def test_a_cable_that_is_too_thin_names_the_next_that_will_do() -> None:
    here = circuit(10, run=5, cable=4)
    (finding,) = [
        f for f in power_findings(Resolved(here, picked("part")), None) if f.subject == "part=part"
    ]
    assert finding.hint == "the next cable that will do is 6 mm²"


def test_a_run_is_measured_on_the_layout() -> None:
    facts: Raw = {"load": {"amps": 5}, "circuit": {"drop": 3}}
    unit = {
        "space": "canopy",
        "body": {"width": 400, "depth": 400, "height": 400},
        "works-from": [],
    }
    here = catalogue(
        [
            several(
                "part",
                [
                    option("fridge", power=facts, unit=unit),
                    option("battery", power={"battery": LFP}, unit=unit),
                ],
            )
        ],
        spaces=[{"id": "canopy", "title": "canopy"}],
    )
    units = (
        Placement("part", "fridge", 1, "canopy", 0, 0, 0, 400, 400, 400, "", "floor"),
        Placement("part", "battery", 1, "canopy", 1500, 900, 200, 300, 200, 200, "", "floor"),
    )
    found = power_picture(Resolved(here, picked("fridge", "battery")), Layout(units)).circuits[0]
    # 1450 along, 800 across, 100 up, and a metre of slack
    assert found.run == D("3.35")
    assert power_picture(Resolved(here, picked("fridge", "battery")), None).circuits[0].run is None


def test_the_shipped_selections_have_no_circuit_without_a_cable(
    quandong: Catalogue, touring: Selection
) -> None:
    picture = power_picture(Resolved(quandong, touring), None)
    assert len(picture.circuits) >= 10
    for found in picture.circuits:
        assert found.cable is not None
        assert found.fuse is not None
        assert found.amps <= found.fuse <= found.cable.carries
        assert found.percent is not None
        assert found.percent <= found.limit


@pytest.mark.parametrize(
    ("load_", "words"),
    [
        ({"amps": 5, "duty": D("-0.1")}, "duty"),
        ({"amps": 5, "duty": D("1.1")}, "duty"),
        ({"amps": 5, "hours": 25}, "hours"),
    ],
)
def test_wrong_loads_are_located(load_: Raw, words: str) -> None:
    (problem,) = problems_of(raw_catalogue([several("part", [load("part", **load_)])]))
    assert words in problem.sentence
    assert problem.at.line


@pytest.mark.parametrize("usable", ["1.01", "0"])
def test_a_depth_of_discharge_that_is_no_share_is_located(usable: str) -> None:
    (problem,) = problems_of(raw_catalogue([several("part", [battery(usable=D(usable))])]))
    assert "usable" in problem.sentence
    assert problem.at.line


def test_unknown_places_are_located_in_catalogue_and_selection() -> None:
    power = {"places": [place("adelaide", "4.8"), place("adelaide", "4.8")], "place": "adelade"}
    problems = problems_of(raw_catalogue(power=power))
    assert [p.code for p in problems] == ["repeated-id", "unknown-place"]
    assert problems[1].hint == 'did you mean "adelaide"?'
    here = shop([load("fridge", amps=2)], places=[place("adelaide", "4.8")])
    (problem,) = selection_problems(Resolved(here, picked("fridge", place="adelade")))
    assert (problem.code, problem.hint) == ("unknown-place", 'did you mean "adelaide"?')


def test_a_low_potential_above_the_nominal_is_refused() -> None:
    (problem,) = problems_of(raw_catalogue(power={"volts": 12, "low-volts": 13}))
    assert problem.code == "low-volts"


# the course of charge


LAW = settings(derandomize=True, max_examples=150, deadline=None)
AMOUNTS = st.decimals("0", "400", places=1)


@LAW
@given(AMOUNTS, st.decimals("0.1", "24", places=1))
def test_what_is_spread_over_a_day_comes_to_the_whole(amount: Decimal, hours: Decimal) -> None:
    for course in (evening(amount, hours), morning(amount, hours), sunlight(amount)):
        assert len(course) == 24
        assert min(course) >= 0
        assert abs(sum(course) - amount) < D("1e-15")
    assert sum(spread(amount, D(0), D(12))) == 0


def test_the_sun_shines_from_six_to_six_and_most_at_noon() -> None:
    course = sunlight(D(100))
    assert all(course[hour] == 0 for hour in (*range(6), *range(18, 24)))
    assert course[11] == course[12] == max(course)


@LAW
@given(AMOUNTS, AMOUNTS, st.decimals("10", "500", places=0))
def test_the_charge_stays_between_the_floor_and_full(
    drawn: Decimal, given_: Decimal, capacity: Decimal
) -> None:
    floor = capacity / 5
    curve = charge_curve("", capacity, floor, evening(drawn, D(5)), sunlight(given_))
    assert len(curve.charge) == 73
    assert all(floor <= charge <= capacity for charge in curve.charge)
    if curve.empty_after is None:
        assert all(
            after >= before - drawn
            for before, after in zip(curve.charge, curve.charge[1:], strict=False)
        )


def test_an_even_draw_empties_the_battery_when_the_days_say() -> None:
    picture = shown(shop([load("fridge", amps=2), battery()]), "fridge", "battery")
    (curve,) = picture.curves
    assert picture.days_alone == D(80) / 48
    assert curve.empty_after == 41
    assert curve.charge[24] == 52
    assert START == 18


def test_numpy_finds_the_same_course_by_adding_up() -> None:
    # an independent route while neither floor nor full is touched
    numpy = pytest.importorskip("numpy")
    draws = evening(D(20), D(6))
    curve = charge_curve("", D(100), D(0), draws, [D(0)] * 24)
    hours = [float(draws[(START + step) % 24]) for step in range(72)]
    assert [float(c) for c in curve.charge[1:]] == pytest.approx(list(100 - numpy.cumsum(hours)))


# mounts


@pytest.mark.parametrize(
    ("mass", "forward", "twice"),
    [
        # 0.8 of the weight: load restraint standard as the Northern Territory publishes it; twice
        # a battery's weight: ISO 10133:2012, 5.2
        (30, "235.4", "588.4"),
        (80, "627.6", "1569.1"),
        (100, "784.5", "1961.3"),
        (250, "1961.3", "4903.3"),
    ],
)
def test_the_force_that_fixings_hold(mass: int, forward: str, twice: str) -> None:
    tenth = D("0.1")
    assert holding_force(D(mass), battery=False).quantize(tenth) == D(forward)
    assert holding_force(D(mass), battery=True).quantize(tenth) == D(twice)


@pytest.mark.parametrize(("each", "stops"), [(197, False), (196, True)])
def test_fixings_that_hold_too_little_stop(each: int, stops: bool) -> None:
    # 100 kg laden need 784.5 N; four fixings
    unit = {
        "space": "canopy",
        "body": {"width": 1, "depth": 1, "height": 1},
        "contents": 40,
        "fixings": {"count": 4, "each": each},
    }
    here = catalogue(
        [several("part", [option("box", mass=60, unit=unit)])],
        spaces=[{"id": "canopy", "title": "canopy"}],
    )
    findings = list(mount_findings(Resolved(here, picked("box")), None))
    assert [f.level for f in findings] == ["stop"] * stops
    if stops:
        assert "needs fixings for 784.53 N; 4 of 196 N hold 784 N" in findings[0].sentence


def test_every_stated_fixing_in_the_shipped_catalogue_holds(quandong: Catalogue) -> None:
    for choice in quandong.choices:
        for part in choice.options:
            if part.unit is not None and part.unit.fixings is not None:
                chosen = attrs.evolve(selection({choice.id: part.id}), catalogue="quandong")
                assert not list(mount_findings(Resolved(quandong, chosen), None)), part.id


# pictures


def texts(svg: str) -> list[str]:
    root = ET.fromstring(svg)
    assert root[0].tag.endswith("title")
    return [element.text or "" for element in root.iter() if element.tag.endswith("}text")]


def test_the_picture_of_loads_says_every_number(quandong: Catalogue, touring: Selection) -> None:
    picture = mass_picture(Resolved(quandong, touring), None)
    assert picture is not None
    said_ = texts(mass_svg(picture))
    assert said_.count("Rear axle") == len(picture.states)
    assert any(text.startswith("2895.2 of 3900 kg") for text in said_)
    assert mass_svg(picture) == mass_svg(picture)


def test_the_picture_of_charge_names_every_curve(quandong: Catalogue, touring: Selection) -> None:
    picture = power_picture(Resolved(quandong, touring), None)
    said_ = texts(charge_svg(picture))
    for curve in picture.curves:
        assert any(text.startswith(f"{curve.title}: ") for text in said_)
    assert "No battery is picked." in texts(
        charge_svg(power_picture(Resolved(quandong, Selection("quandong")), None))
    )


def test_every_curve_of_charge_lies_within_the_picture(
    quandong: Catalogue, touring: Selection
) -> None:
    picture = power_picture(Resolved(quandong, touring), None)
    root = ET.fromstring(charge_svg(picture))
    width = float(root.attrib["viewBox"].split()[2])
    lines = [e for e in root.iter() if e.tag.endswith("polyline")]
    assert len(lines) == len(picture.curves)
    for line in lines:
        assert all(0 <= float(p.split(",")[0]) <= width for p in line.attrib["points"].split())


def test_nothing_drawn_beyond_the_picture(quandong: Catalogue, touring: Selection) -> None:
    picture = mass_picture(Resolved(quandong, touring), None)
    assert picture is not None
    for svg in (mass_svg(picture), charge_svg(power_picture(Resolved(quandong, touring), None))):
        root = ET.fromstring(svg)
        width, height = map(float, root.attrib["viewBox"].split()[2:])
        for element in root.iter():
            if element.tag.endswith("rect"):
                x, y, w, h = (float(element.attrib[k]) for k in ("x", "y", "width", "height"))
                assert x >= 0
                assert y >= 0
                assert x + w <= width
                assert y + h <= height
            if element.tag.endswith("}text"):
                assert 0 <= float(element.attrib["y"]) <= height


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_shipped_selections_are_stopped_by_no_figure(quandong: Catalogue, name: str) -> None:
    from configurator.catalogue.reading import shipped
    from configurator.selection.reading import read_selection

    chosen = read_selection(shipped("catalogues") / "selections" / f"{name}.yaml")
    assert not [
        f for f in check(Resolved(quandong, chosen)).stops if f.code in ("rating", "power", "mount")
    ]
