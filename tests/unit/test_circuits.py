"""What an electrician reads of circuits: cables that carry their fuses, and what protects them.

Sums are worked again here from the published tables alone: ohm per km of IEC 60228:2004 table 3
(class 5), A of BS 7671 table 4E1A (method C, 30 degrees), bundles of ABYC E-11 as a cable maker
prints them, and 0.00393 a degree of IEC 60287-1-1. Where no source is named, the figures are
constructed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pytest

from configurator import Catalogue, Finding, Layout, PowerPicture, Selection
from configurator.catalogue.model import Option
from configurator.checking.power import power_findings
from configurator.fit.layout import Placement
from configurator.power.circuits import CircuitRow
from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved
from tests.support.answers import valid
from tests.support.building import (
    Raw,
    catalogue,
    option,
    problems_of,
    raw_catalogue,
    selection,
    several,
)
from tests.support.commands import Run

D = Decimal

OHMS = {1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.78, 35: 0.554}
OHMS |= {50: 0.386, 70: 0.272}
CARRIES = {1.5: 25, 2.5: 34, 4: 46, 6: 59, 10: 81, 16: 109, 25: 143, 35: 176, 50: 228, 70: 293}


def left_in_bundle(cables: int) -> float:
    steps = ((2, 1.0), (3, 0.70), (6, 0.60), (24, 0.50))
    return next((share for most, share in steps if cables <= most), 0.40)


def each_carries(row: CircuitRow) -> float:
    """A of one cable of a circuit, from the tables alone."""
    assert row.cable is not None
    loaded = row.bundle
    if row.cable.count > 1 and not row.apart:
        loaded += 2 * (row.cable.count - 1)
    heat = max(0, 90 - row.ambient) / 60
    return float(CARRIES[float(row.cable.size)] * math.sqrt(heat) * left_in_bundle(loaded))


def powered(here: Catalogue) -> Iterator[tuple[str, Option]]:
    for choice in here.by_id.values():
        for part in choice.options:
            if part.power is not None and (part.power.circuit or part.power.vehicle_charger):
                yield choice.id, part


def rows_of(here: Catalogue, picks: dict[str, Any]) -> tuple[CircuitRow, ...]:
    chosen = attrs.evolve(selection(picks, vehicle=None), catalogue=here.id)
    return power_picture(Resolved(here, chosen), None).circuits


def test_no_shipped_circuit_has_a_fuse_above_what_its_cable_carries(quandong: Catalogue) -> None:
    count = 0
    for choice, part in powered(quandong):
        for row in rows_of(quandong, {choice: part.id}):
            count += 1
            assert not row.faults, (part.id, row.faults)
            assert row.cable is not None
            assert row.fuse is not None
            each = each_carries(row)
            assert row.amps <= row.fuse <= row.cable.count * each, part.id
            assert float(row.cable.carries) == pytest.approx(row.cable.count * each)
            if row.cable.count > 1:
                assert row.cable.own_fuse is not None
                assert row.amps / row.cable.count <= row.cable.own_fuse <= each
    assert count > 45


def test_the_bundle_of_a_circuit_that_says_nothing_is_six(quandong: Catalogue) -> None:
    (row,) = rows_of(quandong, {"water-pump": "pump-11"})
    assert (row.bundle, quandong.power.grouped) == (6, 6)
    (row,) = rows_of(catalogue([several("part", [load("part", 10)])]), {"part": "part"})
    assert row.bundle == 6


def load(identity: str, amps: int | Decimal, **circuit: Any) -> Raw:
    facts = {key.replace("_", "-"): value for key, value in {"run": 1, **circuit}.items()}
    return option(identity, most=3, power={"load": {"amps": amps}, "circuit": facts})


LFP: Raw = {
    "chemistry": "lfp",
    "capacity": 100,
    "volts": D("12.8"),
    "usable": D("0.8"),
    "discharge": 100,
    "charge": 50,
    "charge-volts": D("14.2"),
}


def battery(identity: str = "battery", circuit: Raw | None = None, **more: Any) -> Raw:
    facts = {**LFP, **{key.replace("_", "-"): value for key, value in more.items()}}
    power: Raw = {"battery": facts}
    if circuit is not None:
        power["circuit"] = circuit
    return option(identity, most=3, power=power)


def shop(options: list[Raw], **power: Any) -> Catalogue:
    settings = {key.replace("_", "-"): value for key, value in power.items()}
    return catalogue([several("part", options)], **({"power": settings} if settings else {}))


def picked(*parts: str, **counts: int) -> Selection:
    return selection({"part": {**dict.fromkeys(parts, 1), **counts}})


def shown(here: Catalogue, chosen: Selection) -> PowerPicture:
    return power_picture(Resolved(here, chosen), None)


def said(here: Catalogue, chosen: Selection) -> list[Finding]:
    return list(power_findings(Resolved(here, chosen), None))


# Parallel


def inverter(**circuit: Any) -> Raw:
    facts = {key.replace("_", "-"): value for key, value in circuit.items()}
    part = {"watts": 3000, "efficiency": D("0.9"), "idle": 1}
    return option("inverter", power={"inverter": part, "circuit": {"run": D("1.5"), **facts}})


def test_a_fuse_of_400_a_has_no_cable_and_the_reason_is_in_numbers() -> None:
    # 2 x 293 A x 0.60 x the square root of 50/60 is 320.9 A for four loaded cables of 70 mm2
    here = shop([inverter(fuse=400, bundle=2)])
    (row,) = shown(here, picked("inverter")).circuits
    assert (row.cable, row.faults) == (None, ("no-cable",))
    finding = next(f for f in said(here, picked("inverter")) if f.subject == "part=inverter")
    assert "2 × 70 mm², 4 loaded cables in the bundle at 40 °C, carry 320.9 A" in finding.sentence
    assert "its fuse is rated 400 A" in finding.sentence


def test_pairs_that_run_apart_are_said_to_and_each_cable_gets_its_fuse(run: Run) -> None:
    arguments = ("touring.yaml", "--pick", "inverter=inverter-3000")
    found = valid(run("power", *arguments, "--json"))
    (row,) = [row for row in found["circuits"] if row["pick"] == "inverter=inverter-3000"]
    # 2 x 228 A x the square root of 50/60 is 416.2 A, each pair by itself
    assert [row[k] for k in ("cable", "in-parallel", "own-fuse", "carries", "loaded")] == [
        "50", 2, "200", "416.2", 2,
    ]  # fmt: skip
    assert row["apart"] is True
    told = " ".join(run("power", *arguments).out.split())
    assert (
        "2 × 50 mm² on each pole, each pair apart from the other; each of them has a fuse of its "
        "own, 200 A."
    ) in told


# Bundles and heat


def test_the_engine_bay_is_counted_on_the_cable_from_the_starter_battery() -> None:
    charger: Raw = {"amps": 40, "output": {"run": D("1.5"), "fuse": 50}}
    part = option("c", power={"vehicle-charger": charger, "circuit": {"run": 2, "bundle": 2}})
    rows = shown(shop([part]), picked("c")).circuits
    assert [(r.part, r.ambient) for r in rows] == [("feed", 60), ("output", 40)]
    feed, output = rows
    # 40 A x 1.25 is drawn, 62.5 A at a quarter more: a fuse of 70 A; at 60 degrees the square root
    # of 30/60 is left: 81 A of 10 mm2 are 57.3 A, 109 A of 16 mm2 are 77.1 A
    assert [feed.amps, feed.fuse] == [50, 70]
    assert feed.cable is not None
    assert (feed.cable.size, feed.cable.carries.quantize(D("0.1"))) == (D(16), D("77.1"))
    # copper is as warm as the bay: 2 x 2 m x 50 A x 1.21 ohm a km x 1.1572
    assert feed.cable.drop.quantize(D("0.0001")) == D("0.2800")
    assert [output.amps, output.fuse] == [40, 50]
    hotter = shown(shop([part], engine_bay=80), picked("c")).circuits[0]
    assert hotter.cable is not None
    assert (hotter.ambient, hotter.cable.size) == (80, D(35))


def test_a_charger_without_an_output_cable_shows_the_circuit_as_unknown() -> None:
    part = option("c", power={"vehicle-charger": {"amps": 40}, "circuit": {"run": 2}})
    here = shop([part])
    feed, output = shown(here, picked("c")).circuits
    assert (feed.part, output.part, output.cable) == ("feed", "output", None)
    assert output.faults == ("no-run",)


def test_the_way_to_the_starter_battery_is_never_measured_on_the_layout() -> None:
    charger: Raw = {"amps": 40, "output": {"drop": 3}}
    unit = {
        "space": "canopy",
        "body": {"width": 400, "depth": 400, "height": 400},
        "works-from": [],
    }
    parts = [
        option("c", unit=unit, power={"vehicle-charger": charger, "circuit": {"drop": 5}}),
        option("battery", unit=unit, power={"battery": LFP}),
    ]
    here = catalogue([several("part", parts)], spaces=[{"id": "canopy", "title": "canopy"}])
    units = tuple(
        Placement("part", name, 1, "canopy", x, 0, 0, 400, 400, 400, "", "floor")
        for name, x in (("c", 0), ("battery", 1500))
    )
    feed, output = power_picture(Resolved(here, picked("c", "battery")), Layout(units)).circuits
    assert (feed.run, feed.cable, feed.faults) == (None, None, ("no-run",))
    assert output.run == D("2.5")


@pytest.mark.parametrize(
    ("rating", "fuse", "amps", "fault"),
    [(60, 60, 50, False), (60, 80, 50, True), (40, 60, 50, True), (50, 50, 50, False)],
)
def test_a_fuse_panel_carries_its_fuse_and_its_loads(
    rating: int, fuse: int, amps: int, fault: bool
) -> None:
    circuit = {"run": 1, "fuse": fuse, "bundle": 2}
    power = {"distribution": {"amps": rating}, "circuit": circuit}
    here = shop([option("panel", power=power), load("heater", amps)])
    found = [f for f in said(here, picked("panel", "heater")) if f.subject == "part=panel"]
    assert bool(found) == fault
    for finding in found:
        words = f"carries {rating} A; what it feeds draws {amps} A, through a fuse of {fuse} A"
        assert words in finding.sentence


def test_a_bundle_of_one_cable_is_refused() -> None:
    (problem,) = problems_of(raw_catalogue(power={"grouped": 1}))
    assert "grouped" in problem.sentence
    assert problem.at.line


# From battery to load


def test_the_drop_from_battery_to_load_is_the_sum_of_the_cables_on_the_way() -> None:
    here = shop(
        [
            battery(circuit={"run": D("1.5"), "fuse": 100, "bundle": 2}),
            option(
                "panel",
                power={"distribution": {"amps": 60}, "circuit": {"run": 1, "drop": 1, "fuse": 60}},
            ),
            load("fridge", 5, run=4),
            load("winch", 45, run=3, direct=True),
            inverter(fuse=350, bundle=2),
        ],
    )
    rows = {
        str(r.pick): r
        for r in shown(here, picked("panel", "fridge", "winch", "inverter", battery=2)).circuits
    }

    def percent(size: float, amps: float, metres: float) -> float:
        return amps * 2 * metres / 1000 * OHMS[size] * (1 + 0.00393 * 20) * 100 / 12

    size = {pick: float(r.cable.size) for pick, r in rows.items() if r.cable is not None}
    full = 5 + 45 + 3000 / 10.5 / 0.9
    own_battery = percent(size["part=battery"], full / 2, 1.5)
    panel = percent(size["part=panel"], 5, 1)
    fridge = percent(size["part=fridge"], 5, 4)
    winch = percent(size["part=winch"], 45, 3)
    assert float(rows["part=fridge"].total or 0) == pytest.approx(own_battery + panel + fridge)
    assert float(rows["part=winch"].total or 0) == pytest.approx(own_battery + winch)
    assert rows["part=panel"].amps == 5
    assert [rows[f"part={x}"].total for x in ("battery", "panel")] == [None, None]


def test_touring_adds_the_battery_cables_drop_to_that_of_the_fridge(
    quandong: Catalogue, touring: Selection
) -> None:
    # 227.4 A of everything and the inverter, half in each 50 mm2 of 1.5 m: 1.183 %; 4.8 A over 4 m
    # of 2.5 mm2: 2.754 %; 15.7 A over 1 m of 25 mm2: 0.221 %
    rows = {str(row.pick): row for row in power_picture(Resolved(quandong, touring), None).circuits}
    total = rows["upright-fridge=upright-130"].total
    assert total is not None
    assert total.quantize(D("0.01")) == D("4.16")


def test_too_much_drop_on_the_whole_way_is_a_caution() -> None:
    store = battery(circuit={"run": D("1.5"), "fuse": 100, "bundle": 2})
    here = shop([store, load("fridge", 5, run=4)], drop=2)
    (finding,) = [f for f in said(here, picked("battery", "fridge")) if f.subject == "part=fridge"]
    assert finding.level == "caution"
    assert "% from the battery, the cables of battery and fuse panel counted" in finding.sentence
    assert "more than the 2 % allowed" in finding.sentence


@pytest.mark.parametrize(("less", "said_so"), [(D(0), False), (D("1e-9"), True)])
def test_a_drop_on_the_whole_way_of_exactly_what_is_allowed_is_allowed(
    less: Decimal, said_so: bool
) -> None:
    store = battery(circuit={"run": D("1.5"), "fuse": 100, "bundle": 2})
    here = shop([store, load("fridge", 5, run=4)])
    chosen = picked("battery", "fridge")
    (total,) = [r.total for r in shown(here, chosen).circuits if r.total is not None]
    here = attrs.evolve(here, power=attrs.evolve(here.power, drop=total - less))
    found = [f for f in said(here, chosen) if "the cables of battery" in f.sentence]
    assert bool(found) is said_so


def test_without_the_batterys_cable_nobody_claims_a_total() -> None:
    here = shop([battery(), load("fridge", 5)])
    (row,) = shown(here, picked("battery", "fridge")).circuits
    assert row.total is None


# Short circuits and isolator


@pytest.mark.parametrize(
    ("circuit", "short", "count", "words"),
    [
        ({}, 5000, 1, "the breaking capacity of its fuse is not stated"),
        ({"breaks": 10000}, None, 1, "short-circuit current of the batteries is not stated"),
        ({"breaks": 10000}, 5000, 3, "breaks 10000 A; the batteries deliver 15000 A"),
        ({"breaks": 10000}, 5000, 2, ""),
    ],
)
def test_the_fuse_of_a_lithium_battery_must_break_its_short_circuit(
    circuit: Raw, short: int | None, count: int, words: str
) -> None:
    more: Raw = {} if short is None else {"short_circuit": short}
    part = battery(circuit={"run": D("1.5"), "fuse": 100, "bundle": 2, **circuit}, **more)
    found = [f for f in said(shop([part]), picked(battery=count)) if f.subject == "part=battery"]
    assert [f.level for f in found] == (["caution"] if words else [])
    assert all(words in f.sentence for f in found)


def test_a_lead_battery_is_not_asked_for_a_breaking_capacity() -> None:
    part = battery(circuit={"run": 1, "fuse": 100, "bundle": 2}, chemistry="agm")
    assert not [f for f in said(shop([part]), picked("battery")) if f.subject == "part=battery"]


def test_every_shipped_lithium_battery_states_fuse_breaking_capacity_and_short_circuit(
    quandong: Catalogue,
) -> None:
    kinds = set()
    for _, part in powered(quandong):
        store = part.power.battery if part.power else None
        if store is not None and part.power is not None and part.power.circuit is not None:
            kinds.add(store.chemistry)
            if store.chemistry == "lfp":
                breaks = part.power.circuit.breaks
                assert breaks is not None
                assert store.short_circuit is not None
                assert part.most * store.short_circuit <= breaks
                assert part.power.circuit.fuse_type
            else:
                # Peukert's law: lead-acid gives less when drawn faster than its rated hours
                assert store.peukert > 1
                assert store.rated_hours == 20
    assert kinds == {"lfp", "agm"}


def test_the_main_isolator_carries_the_fuses_of_all_batteries() -> None:
    part = battery(circuit={"run": 1, "fuse": 125, "bundle": 2})
    assert shown(shop([part]), picked(battery=3)).isolator == 375
    assert shown(shop([battery()]), picked("battery")).isolator is None


@pytest.mark.parametrize(("count", "blows"), [(3, True), (4, False)])
def test_fuses_of_batteries_that_would_blow_are_said(count: int, blows: bool) -> None:
    # 3000 W at 90 % and 10.5 V are 317.5 A; each battery has a fuse of 100 A
    store = battery(circuit={"run": 1, "fuse": 100, "bundle": 2})
    store["most"] = 4
    here = shop([store, inverter(fuse=350)])
    found = [
        f for f in said(here, picked("inverter", battery=count)) if f.subject == "battery-fuses"
    ]
    assert bool(found) == blows
    for finding in found:
        assert "the draw at low voltage is 317.5 A" in finding.sentence
        assert "carry 300 A and would blow" in finding.sentence


# Sun


def panel(**solar: Any) -> Raw:
    facts = {"watts": 200, "derate": D("0.68"), **solar}
    return option("panel", power={"solar": facts, "circuit": {"run": 4, "fuse": 20}})


PLACES = [{"id": "here", "title": "Here", "year": 5, "summer": 7, "winter": 2}]


def test_the_battery_keeps_as_much_of_the_sun_as_of_driving_and_mains() -> None:
    charger = option("charger", power={"vehicle-charger": {"amps": 40, "regulates": True}})
    here = shop([battery(), panel(), charger], places=PLACES, driving=1, charging=D("0.9"))
    picture = shown(here, picked("battery", "panel", "charger"))
    # 200 W x 5 h x 0.68 / 12 V x 0.9 and 40 A x 1 h x 0.9
    assert (picture.solar_daily, picture.vehicle_daily) == (D(51), D(36))
    lossless = attrs.evolve(here, power=attrs.evolve(here.power, charging=D(1)))
    whole = shown(lossless, picked("battery", "panel", "charger"))
    assert picture.solar_daily == D("0.9") * whole.solar_daily


def test_panels_without_a_regulator_are_said() -> None:
    here = shop([battery(), panel()], places=PLACES)
    (finding,) = [f for f in said(here, picked("battery", "panel")) if f.subject == "solar"]
    assert "200 W of panels have no regulator" in finding.sentence
    regulator = option("regulator", power={"regulator": {"amps": 20}, "circuit": {"run": 1}})
    here = shop([battery(), panel(), regulator], places=PLACES)
    chosen = picked("battery", "panel", "regulator")
    assert "solar" not in {f.subject for f in said(here, chosen)}
    rows = {str(r.pick): r for r in shown(here, chosen).circuits}
    assert rows["part=regulator"].part == "output"
    assert rows["part=regulator"].amps == 20


@pytest.mark.parametrize(("volts", "enough"), [("18.5", False), ("18.6", True)])
def test_a_panel_that_cannot_charge_when_hot_is_said(volts: str, enough: bool) -> None:
    # 14.2 V and 1 V for the regulator, 45 degrees above its rating at 0.4 %: 15.2 / 0.82 = 18.54 V
    here = shop([battery(), panel(volts=D(volts))], places=PLACES)
    chosen = picked("battery", "panel")
    assert (shown(here, chosen).panel_volts or D(0)).quantize(D("0.01")) == D("18.54")
    found = [f for f in said(here, chosen) if f.subject == "panel-volts"]
    assert bool(found) != enough
    if found:
        assert "gives 15.1 V with its cells at 70 °C" in found[0].sentence
        assert "must give 15.2 V" in found[0].sentence


def test_of_several_panels_the_one_that_loses_most_in_the_heat_decides() -> None:
    # as above; at 0.5 % a degree 15.2 / 0.775 is 19.61 V, at 0.3 % 15.2 / 0.865 would be 17.57 V
    lost = {"cool": D("-0.3"), "hot": D("-0.5")}
    kinds = [{**panel(coefficient=each), "id": name} for name, each in lost.items()]
    here = shop([battery(), *kinds], places=PLACES)
    volts = shown(here, picked("battery", "cool", "hot")).panel_volts
    assert (volts or D(0)).quantize(D("0.01")) == D("19.61")


def test_shipped_panels_charge_every_shipped_battery_when_hot(quandong: Catalogue) -> None:
    batteries = [p.power.battery for _, p in powered(quandong) if p.power and p.power.battery]
    hardest = max(b.charge_volts or D(0) for b in batteries)
    panels = [p.power.solar for _, p in powered(quandong) if p.power and p.power.solar]
    assert len(panels) >= 4
    for one in panels:
        assert one.volts is not None
        assert one.volts * (1 + one.coefficient / 100 * 45) >= hardest + 1


# What the figures count with


def test_terminal_json_and_sheet_say_what_cable_and_tables_the_figures_are_for(run: Run) -> None:
    found = valid(run("power", "touring.yaml", "--json"))
    told = "".join(run("power", "touring.yaml").out.split())
    assert (
        run("sheets", "touring.yaml", "-o", "s", "--date", "2026-08-03", "--as", "html").code == 0
    )
    sheet = "".join(Path("s/wiring.html").read_text("utf-8").split())
    assert len(found["basis"]) == 8
    for sentence in found["basis"]:
        assert "".join(sentence.split()) in told
        assert "".join(sentence.split()) in sheet
    basis = " ".join(found["basis"])
    for words in (
        "class 5 copper (IEC 60228", "insulation for 90 °C", "clipped direct", "BS 7671 table 4E1A",
        "run at 40 °C", "6 loaded cables", "ABYC E-11", "1.25 times", "60 °C", "10.5 V",
    ):  # fmt: skip
        assert words in basis
    for words in ("fuse of its own at that battery", "main isolator switches off", "must break"):
        assert "".join(words.split()) in sheet


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_sheet_says_what_carries_all_batteries_and_what_stays_live(name: str, run: Run) -> None:
    assert run("sheets", f"{name}.yaml", "-o", "s", "--as", "json").code == 0
    cautions = " ".join(json.loads(Path("s/wiring.json").read_text("utf-8"))["cautions"])
    assert "the common negative carry all batteries together" in cautions
    assert "the bus bar may still be live" in cautions
