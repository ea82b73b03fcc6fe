"""The shop's sheets: what workshop, electrician and buyer read is what the other answers say.

The PDF files are read back by independent readers (PDFium, pdfplumber). Positions, circuits and
picks come from other commands or from the files themselves; sums are worked by hand or by a second
formula.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from decimal import Decimal
from functools import cache
from html import unescape
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import yaml
from attrs import evolve

from configurator.drawing.single_line import single_line
from configurator.render.look import look_of
from configurator.render.sheets import job_html, wiring_html
from configurator.report.job import JobSheet, job_sheet
from configurator.report.sheet_head import sheet_head
from configurator.report.shop import order_list
from configurator.report.wiring import WiringSheet, wiring_sheet
from configurator.selection.resolved import Resolved
from tests.support.answers import valid
from tests.support.building import (
    Raw,
    choice,
    option,
    raw_catalogue,
    selection,
    several,
    vehicle,
    written,
)
from tests.support.commands import Run
from tests.support.made_papers import DAY, page_of
from tests.support.pdfs import Pages, opened_pdf, squeezed
from tests.support.rendered import pdf_from
from tests.support.shipped import shipped_in_one

D = Decimal
MM = 72 / 25.4
NAMES = ("touring", "contractor")
BY = "×"


def read(pdf: bytes) -> str:
    """The text of a PDF in the order of its content."""
    return Pages(pdf).text


_MADE: dict[tuple[str, ...], dict[str, bytes]] = {}
"""Sheets that have been made already; the same arguments give the same files."""


def made(run: Run, name: str, *more: str) -> dict[str, bytes]:
    """The sheets of a shipped selection, written by the command, by the names of their files."""
    key = (name, *more)
    if key not in _MADE:
        folder = Path("-".join(key))
        ran = run("sheets", f"{name}.yaml", "-o", str(folder), "--date", "2026-08-03", *more)
        assert (ran.code, ran.err) == (0, ""), ran.err
        _MADE[key] = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    return _MADE[key]


def answered(run: Run, *arguments: str) -> dict[str, Any]:
    return valid(run(*arguments, "--json"))


# The job sheet


@pytest.mark.parametrize("name", NAMES)
def test_every_unit_stands_on_the_job_sheet_where_the_layout_has_it(name: str, run: Run) -> None:
    laid = answered(run, "layout", f"{name}.yaml")
    text = read(made(run, name)["job.pdf"])
    numbers = {}
    for number, unit in enumerate(laid["placements"], 1):
        more = f"#{unit['number']}" if unit["number"] > 1 else ""
        numbers[unit["unit"] + more] = number
    inside = {space["space"]: space for space in laid["spaces"]}
    assert len(laid["placements"]) >= 8
    for number, unit in enumerate(laid["placements"], 1):
        room = inside[unit["space"]]
        on = unit["on"] if unit["on"] in ("floor", "hung") else f"number{numbers[unit['on']]}"
        sizes = BY.join(str(unit[size]) for size in ("length", "width", "height"))
        rest = [
            room["length"] - unit["x"] - unit["length"],
            room["width"] - unit["y"] - unit["width"],
            room["height"] - unit["z"] - unit["height"],
        ]
        figures = f"{unit['x']}{unit['y']}{unit['z']}{sizes}" + "".join(map(str, rest))
        assert f"{unit['side'] or 'anyway'}{on}{figures}" in text, unit
        assert f"{number}{squeezed(unit['title'])}" in text


@pytest.mark.parametrize("name", NAMES)
def test_every_pick_can_be_ticked_off_with_its_quantity_and_its_work(name: str, run: Run) -> None:
    wanted = yaml.safe_load(Path(f"{name}.yaml").read_text("utf-8"))
    job = json.loads(made(run, name, "--as", "json")["job.json"])
    parts = {p["pick"]: p for group in job["groups"] for p in group["parts"]}
    assert {pick: p["quantity"] for pick, p in parts.items()} == picked(wanted)
    text = read(made(run, name)["job.pdf"])
    verbs = 0
    for part in parts.values():
        if part["absent"]:
            continue
        assert f"{part['quantity']}{squeezed(part['title'])}" in text
        for work in part["work"]:
            verbs += 1
            hole = work["hole"] or {}
            size = f"Ø{hole['diameter']}" if "diameter" in hole else ""
            size = size or (BY.join(str(hole[k]) for k in ("width", "height")) if hole else "")
            assert squeezed(f"{work['count']}{work['do'].title()}{size}: {work['text']}") in text
    assert verbs > 15


@pytest.mark.parametrize("name", NAMES)
def test_the_absence_of_a_part_is_told_above_the_list_and_is_no_part(name: str, run: Run) -> None:
    job = json.loads(made(run, name, "--as", "json")["job.json"])
    page = made(run, name, "--as", "html")["job.html"].decode()
    table = page[page.index('<table class="parts"') :]
    parts = [part for group in job["groups"] for part in group["parts"]]
    absent = {part["pick"] for part in parts if part["absent"]}
    assert {"tray-sides=no-sides", "headboard=no-headboard"} <= absent
    assert not [pick for pick in absent if pick.startswith(("colour=", "canopy-height="))]
    rows = [squeezed(unescape(row)) for row in re.findall(r"<tr>.*?</tr>", table, flags=re.S)]
    above = page[: page.index('<table class="parts"')]
    told = squeezed(unescape(above[above.rindex("<h2") :]))
    for part in parts:
        row = [row for row in rows if f">{squeezed(part['title'])}<" in row]
        assert bool(row) == (not part["absent"]), part["title"]
        assert all(squeezed('class="box"') in one for one in row)
        assert not part["absent"] or squeezed(part["title"]) in told


def picked(wanted: dict[str, Any]) -> dict[str, int]:
    """Quantities by pick, from a selection file read with another YAML reader; no vehicle."""
    found = {f"add-on={name}": 1 for name in wanted.get("add-ons", [])}
    for choice_id, answer in wanted["picks"].items():
        match answer:
            case dict():
                found |= {f"{choice_id}={option_id}": n for option_id, n in answer.items()}
            case list():
                found |= {f"{choice_id}={option_id}": 1 for option_id in answer}
            case _:
                found[f"{choice_id}={answer}"] = 1
    return {pick: n for pick, n in found.items() if not pick.startswith("vehicle=")}


def test_doors_are_where_the_catalogue_puts_them_from_inside_and_from_the_sheets_edges(
    run: Run,
) -> None:
    # worked by hand for the contractor: 1800 x 1780 x 700 outside; walls 25 and 2.5 of sheet, roof
    # 30 and 2.5, floor 3; doors leave 50 at both ends and 45 under the roof, whose inside is at 664
    job = json.loads(made(run, "contractor", "--as", "json")["job.json"])
    (canopy,) = job["spaces"]
    assert (canopy["wall"], canopy["floor"], canopy["roof"]) == ("27.5", "3", "32.5")
    assert canopy["inside"] == {"length": 1745, "width": 1725, "height": 664}
    left, right = job["doors"]
    assert (left["side"], right["side"]) == ("left", "right")
    assert [left[k] for k in ("start", "end", "sill", "top", "width", "height")] == [
        50, 1695, 0, 619, 1645, 619,
    ]  # fmt: skip
    assert [left[f"edge-{k}"] for k in ("start", "end", "sill", "top")] == [
        "77.5", "77.5", "3", "78",
    ]  # fmt: skip
    assert f"1645{BY}6195016950619" + "77.577.5378" in read(made(run, "contractor")["job.pdf"])


BOX = {"box": {"length": 2000, "width": 1800, "height": 1000}}
OPEN = [{"space": "box", "side": side, "front": 0, "rear": 0} for side in ("left", "right", "rear")]


def boxed(units: list[Raw], **more: Any) -> Raw:
    """A catalogue with one space, open on three sides, and units in it."""
    body = option("body", space=BOX, openings=OPEN)
    return raw_catalogue(
        [choice("body", [body]), several("units", units, at_most=60)],
        spaces=[{"id": "box", "title": "box"}],
        vehicles=[vehicle()],
        **more,
    )


def unit(identity: str, side: str, size: tuple[int, int, int], **more: Any) -> Raw:
    """A unit of a width, depth and height, that works from one side."""
    width, depth, height = size
    body = {"width": width, "depth": depth, "height": height}
    inner = {"space": "box", "body": body, "works-from": [side], "built-in": True, **more}
    return option(identity, 100, mass=10, unit=inner)


def job_of(raw: Raw, picks: Any) -> JobSheet:
    c, s = catalogue_of(raw), selection(picks)
    head, layout = sheet_head(Resolved(c, s), "J-1", DAY)
    return job_sheet(Resolved(c, s), head, layout)


def catalogue_of(raw: Raw) -> Any:
    from tests.support.building import read as read_catalogue

    return read_catalogue(raw)


@pytest.mark.parametrize("side", ["left", "right", "rear"])
def test_a_hole_is_counted_from_the_left_edge_of_the_unit_as_seen_facing_it(side: str) -> None:
    # facing the left side of a vehicle its front is at one's left hand, facing the right side at
    # one's right hand; facing its rear one's left hand is its left
    body = unit("a", side, (300, 400, 200))
    body["work"] = [
        {"do": "drill", "text": "Bolts", "places": [{"across": 40, "behind": 70, "up": 25}]},
        {"do": "drill", "text": "Feet", "corners": {"across": 40, "behind": 70}},
    ]
    job = job_of(boxed([body]), {"body": "body", "units": "a"})
    (row,) = job.units
    work, feet = [work for group in job.groups for part in group.parts for work in part.work]
    (spot,) = work.spots
    along, across = (400, 300) if side == "rear" else (300, 400)
    assert (row.length, row.width, row.side) == (along, across, side)
    expected = {
        "left": (row.x + 40, row.y + 70),
        "right": (row.x + 300 - 40, row.y + 400 - 70),
        "rear": (row.x + 400 - 70, row.y + 40),
    }
    assert (spot.x, spot.y, spot.z) == (*expected[side], row.z + 25)
    flush = {"left": row.y == 0, "right": row.right == 0, "rear": row.rear == 0}
    assert flush[side]
    assert (work.unit, work.count, feet.count) == (1, 1, 4)
    lengthwise, crosswise = (70, 40) if side == "rear" else (40, 70)
    assert {(foot.x, foot.y, foot.z) for foot in feet.spots} == {
        (x, y, row.z)
        for x in (row.x + lengthwise, row.x + along - lengthwise)
        for y in (row.y + crosswise, row.y + across - crosswise)
    }


@pytest.mark.parametrize("name", NAMES)
def test_no_hole_of_a_unit_lies_outside_it(name: str, run: Run) -> None:
    job = json.loads(made(run, name, "--as", "json")["job.json"])
    units = {row["number"]: row for row in job["units"]}
    works = [w for group in job["groups"] for part in group["parts"] for w in part["work"]]
    placed = [work for work in works if work["spots"]]
    assert len(placed) >= 5
    for work in placed:
        row = units[work["unit"]]
        assert work["count"] == len(work["spots"])
        for spot in work["spots"]:
            for axis, size in (("x", "length"), ("y", "width"), ("z", "height")):
                assert row[axis] <= spot[axis] <= row[axis] + row[size]


def test_what_holds_a_slide_holds_what_stands_on_it_too() -> None:
    # a slide of 10 kg under a box of 10 kg with 30 kg in it: 0.8 x 50 kg x 9.80665 is 392.3 N
    slide = unit("slide", "left", (500, 700, 80), travel=600)
    slide["unit"] |= {
        "carries": {"mass": 90, "width": 500, "depth": 700},
        "fixings": {"count": 4, "each": 500},
    }
    box = unit("chest", "left", (400, 600, 400), contents=30)
    box["unit"]["stands-on"] = ["units=slide"]
    job = job_of(boxed([slide, box]), {"body": "body", "units": ("slide", "chest")})
    on_slide, below = sorted(job.mounts, key=lambda row: row.title)
    assert (below.title, below.laden, below.needed) == ("Slide", D(50), D(393))
    assert (below.count, below.each) == (4, D(500))
    assert (on_slide.laden, on_slide.needed, on_slide.count) == (D(40), D(314), None)


@pytest.mark.parametrize("name", NAMES)
def test_the_drawings_are_to_the_scale_that_stands_over_them(name: str, run: Run) -> None:
    html = made(run, name, "--as", "html")["job.html"].decode()
    views = re.findall(
        r'Scale 1 : (\d+).*?<svg[^>]*width="([\d.]+)mm" height="([\d.]+)mm" '
        r'viewBox="0 0 ([\d.]+) ([\d.]+)"',
        html,
        re.DOTALL,
    )
    assert len(views) == 3
    for scale, width, height, across, up in views:
        assert float(across) / float(width) == pytest.approx(int(scale), rel=0.001)
        assert float(up) / float(height) == pytest.approx(int(scale), rel=0.001)
        assert float(width) <= 261
        assert float(height) <= 160


# The wiring sheet

# ohm per km at 20 degrees and A, by mm2: IEC 60228:2004 table 3 (class 5) and BS 7671 table 4E1A
OHMS = {1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.78, 35: 0.554}
OHMS |= {50: 0.386, 70: 0.272}
CARRIES = {1.5: 25, 2.5: 34, 4: 46, 6: 59, 10: 81, 16: 109, 25: 143, 35: 176, 50: 228, 70: 293}


def drop_of(size: float, amps: float, run_metres: float) -> float:
    """V out and back, with conductors at 40 degrees (0.393 % a degree)."""
    return amps * 2 * run_metres / 1000 * OHMS[size] * (1 + 0.00393 * 20)


BUNDLED = {2: 1.0, 4: 0.60, 6: 0.60, 8: 0.50}
"""What is left of each cable by loaded cables in a bundle: ABYC E-11."""


def up(number: float, digits: int) -> str:
    """A number rounded up to so many decimals, without needless zeros."""
    return f"{math.ceil(number * 10**digits - 1e-9) / 10**digits:g}"


def down(number: float) -> str:
    """A number rounded down to a tenth."""
    return f"{math.floor(number * 10 + 1e-9) / 10:g}"


@pytest.mark.parametrize("name", NAMES)
def test_every_circuit_stands_on_the_wiring_sheet_as_the_power_answer_has_it(
    name: str, run: Run
) -> None:
    power = answered(run, "power", f"{name}.yaml")
    text = read(made(run, name)["wiring.pdf"])
    assert len(power["circuits"]) >= 5
    for row in power["circuits"]:
        amps, metres, warm = float(row["amps"]), float(row["run"]), row["ambient"]
        warmer = (1 + 0.00393 * (warm - 20)) / (1 + 0.00393 * 20)
        share = BUNDLED[row["loaded"]] * ((90 - warm) / 60) ** 0.5
        most = float(row["limit"]) * 12 / 100
        by_drop = next(s for s in OHMS if warmer * drop_of(s, amps, metres) <= most)
        by_fuse = next(s for s in CARRIES if float(row["fuse"]) <= CARRIES[s] * share)
        assert row["cable"] == f"{max(by_drop, by_fuse):g}"
        assert row["carries"] == down(CARRIES[float(row["cable"])] * share)
        times = f"{row['count']}{BY}" if row["count"] > 1 else ""
        drop = warmer * drop_of(float(row["cable"]), amps, metres)
        assert float(row["drop"]) == pytest.approx(100 * drop / 12, abs=0.011)
        figures = [
            row["amps"], row["run"], f"{by_drop:g}", f"{by_fuse:g}", row["cable"],
            str(row["loaded"]), str(warm), row["carries"], up(drop, 2), row["drop"], row["limit"],
            row["total-drop"] or "\N{EN DASH}", times + row["fuse"],
        ]  # fmt: skip
        part = squeezed(PARTS[row["part"]])
        assert squeezed(times + row["title"]) + part + "".join(figures) in text, row


PARTS = {
    "": "",
    "feed": "From the starter battery; its fuse sits at that battery.",
    "output": "From its output to the bus bar; its fuse sits at the bus bar.",
    "panels": "From the panels to their regulator.",
}


def test_charger_and_inverter_settings_are_those_of_the_catalogue(run: Run) -> None:
    # worked by hand for touring: two batteries take 200 A; 2000 W at 90 % are 185.19 A at 12 V and
    # 211.64 A at 10.5 V, rounded up
    sheet = json.loads(made(run, "touring", "--as", "json")["wiring.json"])
    (battery,) = sheet["batteries"]
    assert (battery["count"], battery["charge-volts"], battery["float-volts"]) == (
        2,
        "14.2",
        "13.5",
    )
    assert sheet["charge-limit"] == "200"
    set_to = {charger["kind"]: charger["limit"] for charger in sheet["chargers"]}
    assert set_to == {"vehicle": "50", "mains": "30", "solar": None}
    inverter = sheet["inverter"]
    assert (inverter["nominal-amps"], inverter["low-amps"]) == ("185.2", "211.7")
    assert (inverter["cable"], inverter["fuse"]) == ("70", "250")
    text = read(made(run, "touring")["wiring.pdf"])
    assert "2000" + "4000" + "185.2211.770250" in text


@pytest.mark.parametrize("name", NAMES)
def test_every_page_of_the_wiring_sheet_says_that_an_electrician_decides(
    name: str, run: Run
) -> None:
    pages = Pages(made(run, name)["wiring.pdf"]).letters
    assert len(pages) >= 2
    said = squeezed("planning aid for a licensed electrician")
    first, *others = pages
    assert squeezed("".join(letter["text"] for letter in first)).count(said) == 1
    for page in others:
        top = "".join(letter["text"] for letter in page if letter["bottom"] < 15 * MM)
        assert said in squeezed(top)


def test_the_diagram_has_every_circuit_with_its_fuse_and_its_cable(run: Run) -> None:
    sheet = json.loads(made(run, "touring", "--as", "json")["wiring.json"])
    html = made(run, "touring", "--as", "html")["wiring.html"].decode()
    diagram = " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", html))
    for circuit in sheet["circuits"]:
        times = f"{circuit['count']} {BY} " if circuit["count"] > 1 else ""
        assert f"{times}{circuit['fuse']} A" in diagram
        assert f"{circuit['cable']} mm², {circuit['run']} m" in diagram
        assert squeezed(circuit["title"])[:20] in squeezed(diagram)


def test_what_feeds_a_charger_is_drawn_below_the_batteries() -> None:
    raw, picks = large()
    build = Resolved(catalogue_of(raw), selection(picks))
    wiring = wiring_sheet(build, *sheet_head(build, "J-1", DAY))
    assert wiring is not None
    *_, line = wiring.circuits
    output, feed = (
        evolve(line, circuit=evolve(line.circuit, kind="source", part=part, count=1))
        for part in ("output", "feed")
    )
    two = evolve(wiring, batteries=wiring.batteries[:1] * 2, circuits=(output, feed))
    (svg,) = single_line(two, 267, 148)
    boxes = [
        tuple(float(found) for found in box)
        for box in re.findall(
            r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg
        )
    ]
    assert len(boxes) == 2 * 2 + 2 + 3
    for one, other in combinations(boxes, 2):
        apart = (
            one[0] + one[2] <= other[0]
            or other[0] + other[2] <= one[0]
            or one[1] + one[3] <= other[1]
            or other[1] + other[3] <= one[1]
        )
        assert apart, (one, other)
    height = float(re.findall(r'viewBox="0 0 [\d.]+ ([\d.]+)"', svg)[0])
    assert max(y + tall for _, y, _, tall in boxes) <= height <= 148


# The order list


@pytest.mark.parametrize("name", NAMES)
def test_the_order_list_has_every_pick_once_with_its_quantity(name: str, run: Run) -> None:
    wanted = yaml.safe_load(Path(f"{name}.yaml").read_text("utf-8"))
    raw = yaml.safe_load(shipped_in_one())
    options = {f"{c['id']}={o['id']}": o for c in raw["choices"] for o in c["options"]} | {
        f"add-on={o['id']}": o for o in raw["add-ons"]
    }
    orders = json.loads(made(run, name, "--as", "json")["orders.json"])
    rows = [(group["supplier"], row) for group in orders["groups"] for row in group["parts"]]
    told = {pick: row["quantity"] for _, row in rows for pick in row["picks"]}
    asked = picked(wanted)
    bare = {pick for pick in asked if english(options[pick]["title"]) in orders["bare"]}
    assert told == {pick: n for pick, n in asked.items() if pick not in bare}
    assert all("cost" not in options[pick] and "supplier" not in options[pick] for pick in bare)
    text = read(made(run, name)["orders.pdf"])
    for supplier, row in rows:
        (pick,) = row["picks"]
        assert options[pick].get("supplier", "") == supplier
        assert options[pick].get("supplier-code", "") == row["code"]
        assert squeezed(f"{row['code']}{row['quantity']}{row['titles'][0]}") in text
    assert [group["supplier"] for group in orders["groups"]][-1] == ""


def english(given: str | dict[str, str]) -> str:
    """A text of the catalogue, which may be given in several languages."""
    return given if isinstance(given, str) else given["en"]


@pytest.mark.parametrize("name", NAMES)
def test_the_order_list_has_every_sheet_and_bar_that_the_saw_takes(name: str, run: Run) -> None:
    answers = made(run, name, "--as", "json")
    cuts, orders = (json.loads(answers[f"{one}.json"]) for one in ("cuts", "orders"))
    taken: Counter[tuple[str, int, int | None]] = Counter()
    for sheet in cuts["sheets"]:
        taken[sheet["stock"], sheet["length"], sheet["width"]] += sheet["count"]
    for bar in cuts["bars"]:
        taken[bar["stock"], bar["length"], None] += bar["count"]
    rows = {(r["stock"], r["length"], r["width"]): r["count"] for r in orders["stock"]}
    assert rows == taken
    assert len(rows) == len(orders["stock"]) > 1
    text = read(made(run, name)["orders.pdf"])
    for (stock, length, width), count in taken.items():
        size = f"{length}{BY}{width}" if width else str(length)
        assert f"{count}{squeezed(stock)}{size}" in text


def parts_shop(turned: bool = False) -> Raw:
    """Two choices that ask for the same bought part, one for a part nobody has the cost of."""
    bought = {"supplier": "Example Bolts", "supplier-code": "B-8", "mass": 1}
    choices = [
        several("front", [option("bolts", 10, cost=4, most=9, **bought)]),
        several("rear", [option("bolts", 12, cost=5, most=9, title="Long bolts", **bought)]),
        several("side", [option("plate", 30, mass=2), option("hook", 8, supplier="Example Bolts")]),
    ]
    return raw_catalogue(choices[::-1] if turned else choices)


@pytest.mark.parametrize("turned", [False, True])
def test_the_same_part_asked_for_twice_is_one_row(turned: bool) -> None:
    # worked by hand: 3 at 4.00 and 2 at 5.00 are 22.00
    c = catalogue_of(parts_shop(turned))
    s = selection({"front": {"bolts": 3}, "rear": {"bolts": 2}, "side": ("plate", "hook")})
    orders = order_list(Resolved(c, s), sheet_head(Resolved(c, s), "J-1", DAY)[0], with_cost=True)
    bolts, made_here = orders.groups
    assert bolts.supplier == "Example Bolts"
    hook, row = bolts.rows
    assert (row.code, row.quantity, row.titles) == ("B-8", 5, ("Bolts", "Long bolts"))
    assert row.picks == ("front=bolts", "rear=bolts")
    assert row.cost is not None
    assert row.cost.amount == 22
    assert (hook.titles, hook.cost, bolts.unknown) == (("Hook",), None, ("Hook",))
    assert bolts.cost is not None
    assert bolts.cost.amount == 22
    assert (made_here.supplier, made_here.unknown) == ("", ("Plate",))


def test_a_total_cost_names_the_parts_that_it_does_not_count(run: Run) -> None:
    raw = raw_catalogue(
        [
            several("front", [option("bolts", 10, cost=4, most=1000, supplier="Example Bolts")]),
            several("side", [option("plate", 30, mass=D("0.01"), most=1000, title="Side plate")]),
        ]
    )
    Path("shop.json").write_text(written(raw))
    picks = [f"--pick={pick}" for pick in ("vehicle=ute", "front=bolts:3", "side=plate:1000")]
    ran = run("sheets", "--catalogue", "shop.json", *picks, "--cost", "-o", "s", "--as", "json")
    assert (ran.code, ran.err) == (0, "")
    orders = json.loads(Path("s/orders.json").read_text())
    assert (orders["cost"], orders["unknown"]) == ("12.00", ["Side plate"])
    assert run("sheets", "--catalogue", "shop.json", *picks, "--cost", "-o", "s").code == 0
    text = "\n".join(Pages(Path("s/orders.pdf")).lines)
    assert "not counting parts of unknown cost: Side plate" in text
    assert re.search(r"^Total: Make, or take from stock not known$", text, re.M)
    assert re.search(r"^1000 Side plate not known$", text, re.M), "a quantity stands on one line"


# No prices


@pytest.mark.parametrize("name", NAMES)
def test_no_amount_of_the_quote_and_no_currency_stands_on_any_sheet(name: str, run: Run) -> None:
    run("quote", f"{name}.yaml", "-o", "q.json", "--date", "2026-08-03")
    quote = json.loads(Path("q.json").read_text("utf-8"))
    amounts = {f"{D(a):,.2f}" for a in amounts_in(quote["price"])} - {"0.00"}
    assert len(amounts) > 40
    for file, pdf in made(run, name).items():
        text = read(pdf)
        assert "AUD" not in text, file
        assert "$" not in text, file
        assert not {amount for amount in amounts if amount in text}, file
    for file, answer in made(run, name, "--as", "json").items():
        if file.endswith(".json"):
            text = answer.decode().replace('"currency": "AUD"', "")
            assert "AUD" not in text
            assert not {a for a in amounts if f'"{a.replace(",", "")}"' in text}, file


def amounts_in(value: Any) -> list[str]:
    """Every text that is an amount, at any depth."""
    match value:
        case dict():
            return [a for inner in value.values() for a in amounts_in(inner)]
        case list():
            return [a for inner in value for a in amounts_in(inner)]
        case str() if re.fullmatch(r"-?\d+\.\d\d", value):
            return [value]
        case _:
            return []


# Pages


LONG = "A title of eighty characters, as long as one that a shop would write for a part "


def large() -> tuple[Raw, dict[str, Any]]:
    """Fourteen units and forty circuits, all of them with long titles."""
    units = []
    for number in range(14):
        side = "left" if number % 2 else "right"
        one = unit(f"u{number}", side, (260, 500, 300), clearance={"rear": 20, "top": 30})
        one["title"] = f"{LONG}{number}"[-80:]
        one["unit"]["travel"] = 0 if number % 3 else 450
        one["work"] = [
            {
                "do": "drill",
                "text": LONG,
                "places": [{"across": 10}, {"across": 250, "behind": 400}],
            }
        ]
        units.append(one)
    gear = [
        option(
            f"c{number}",
            50,
            title=f"{LONG}{number}"[-80:],
            power={"load": {"amps": 2 + number}, "circuit": {"run": D("4.5"), "fuse": 60}},
            supplier=LONG,
            supplier_code=f"X-{number:04}",
        )
        for number in range(39)
    ]
    battery = {"chemistry": "agm", "capacity": 900, "volts": 12, "usable": D("0.5")}
    battery |= {"discharge": 2000, "charge": 90}
    gear.append(option("store", 900, title=LONG, power={"battery": battery, "circuit": {"run": 1}}))
    raw = boxed(units, cautions=[{"id": "c", "when": {"body": "body"}, "text": LONG * 4}])
    raw["choices"].append(several("gear", gear))
    raw["choices"][0]["options"][0]["space"] = {
        "box": {"length": 2400, "width": 1800, "height": 1000}
    }
    picks = {
        "body": "body",
        "units": tuple(one["id"] for one in units),
        "gear": tuple(one["id"] for one in gear),
    }
    return raw, picks


@cache
def large_sheet(sheet: str) -> tuple[str, int]:
    """The page of a sheet of the large job, and how many units or circuits are on it."""
    raw, picks = large()
    c, s = catalogue_of(raw), selection(picks)
    look = look_of(c.shop, page="Letter")
    head, layout = sheet_head(Resolved(c, s), "J-1", DAY)
    if sheet == "job":
        job = job_sheet(Resolved(c, s), head, layout)
        return job_html(c, job, look), len(job.units)
    wiring = wiring_sheet(Resolved(c, s), head, layout)
    assert wiring is not None
    return wiring_html(wiring, look), len(wiring.circuits)


@pytest.mark.parametrize(("sheet", "count"), [("job", 14), ("wiring", 40)])
def test_fourteen_units_and_forty_circuits_stay_within_the_margins(sheet: str, count: int) -> None:
    html, told = large_sheet(sheet)
    assert told == count
    assert len(re.findall(r"<text", html)) > count
    opened = opened_pdf(pdf_from(html))
    assert len(opened.pages) > 3
    for page in opened.pages:
        assert page.width > page.height
        left, right = 18 * MM - 0.5, page.width - 18 * MM + 0.5
        for word in page.extract_words():
            assert left <= word["x0"], word
            assert word["x1"] <= right, word
            assert word["top"] >= 4 * MM, word
            assert word["bottom"] <= page.height - 4 * MM, word
        for drawn in (*page.rects, *page.lines, *page.curves):
            assert left - MM <= drawn["x0"], drawn
            assert drawn["x1"] <= right + MM, drawn


def test_no_text_of_the_diagram_lies_on_another() -> None:
    opened = opened_pdf(pdf_from(large_sheet("wiring")[0]))
    pages = [p for p in opened.pages if "Single-line diagram" in p.extract_text()]
    assert len(pages) >= 3
    for page in pages:
        lines = [w for w in page.extract_words(keep_blank_chars=True) if w["text"].strip()]
        assert len(lines) > 20
        for one, other in combinations(lines, 2):
            across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
            up = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
            # two lines of text may touch by what lies below one and above the other
            assert across < 0.5 or up < 3, (one["text"], other["text"])


def test_a_sheet_is_the_same_whatever_made_it(run: Run) -> None:
    """Through the command and through the functions: the same page."""
    by_command = made(run, "touring", "--as", "html")["job.html"]
    assert by_command.decode() == page_of("job sheet of touring")


def test_the_sheets_speak_another_language_with_the_same_figures(run: Run) -> None:
    english = made(run, "contractor", "--as", "html")
    german = made(run, "contractor", "--as", "html", "--language", "de")
    for name in english:
        pages = [unescape(sheets[name].decode()) for sheets in (english, german)]
        left_out = re.compile(r"<style\b.*?</style>|<svg\b.*?</svg>", re.DOTALL)
        shown = [left_out.sub("", page) for page in pages]  # names in drawings as they have room
        digits = [sorted(re.findall(r"\d+", page)) for page in shown]
        assert len(digits[0]) > 50
        assert digits[0] == digits[1]
    assert "Werkstattblatt" in german["job.html"].decode()
    assert "Done" not in german["orders.html"].decode()


# What keeps sheets from being made


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["wish.yaml"], "Upright fridge with freezer, 130 L does not fit"),
        (["contractor.yaml", "--drop", "door-layout"], "Doors"),
        (["contractor.yaml", "--pick", "tray-length=2550mm"], "tray"),
    ],
    ids=["unsound", "incomplete", "against-a-rule"],
)
def test_what_could_not_be_quoted_does_not_reach_the_workshop(
    arguments: list[str], said: str, run: Run
) -> None:
    ran = run("sheets", *arguments, "-o", "sheets")
    assert (ran.code, ran.out) == (1, "")
    assert ran.err.startswith("no sheets:\n  ")
    assert said in ran.err
    assert not Path("sheets").exists()
    quoted = run("quote", *arguments, "-o", "q.html", "--date", "2026-08-03")
    assert quoted.err.splitlines()[1:] == ran.err.splitlines()[1:]


def test_there_are_no_sheets_of_a_day_without_prices(run: Run) -> None:
    ran = run("sheets", "contractor.yaml", "-o", "s", "--date", "2028-02-01", "--as", "html")
    assert (ran.code, ran.out) == (1, "")
    assert "prices hold from 2026-07-01 to 2027-06-30, not on 2028-02-01" in ran.err
    assert not Path("s").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["-o", "s", "--number", " "], "a job needs a number: give one that is not empty"),
        (["-o", "s", "--number", "x" * 41], "a job's number is one line of at most 40 characters"),
        (["-o", "s", "--as", "svg"], "'svg' is not one of 'pdf', 'html', 'json', 'dxf'"),
    ],
)
def test_wrong_usage_is_told_in_one_sentence(arguments: list[str], said: str, run: Run) -> None:
    ran = run("sheets", "contractor.yaml", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert not Path("s").exists()


def test_all_sheets_are_written_or_none(run: Run) -> None:
    folder = Path("s")
    run("sheets", "contractor.yaml", "-o", "s", "--as", "html")
    before = (folder / "job.html").read_bytes()
    (folder / "orders.html").unlink()
    (folder / "orders.html").mkdir()
    ran = run("sheets", "touring.yaml", "-o", str(folder), "--as", "html")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err == f"{folder}/orders.html: cannot write it: Is a directory\n"
    assert (folder / "job.html").read_bytes() == before
    assert len(list(folder.iterdir())) == 4
    Path("file").write_text("")
    assert run("sheets", "touring.yaml", "-o", "file", "--as", "html").code == 3


def test_where_nothing_is_to_be_wired_there_is_no_wiring_sheet(run: Run, tmp_path: Path) -> None:
    shelf = unit("shelf", "left", (600, 300, 40))
    (tmp_path / "c.json").write_text(written(boxed([shelf])))
    picks = ["--pick", "vehicle=ute", "--pick", "body=body", "--pick", "units=shelf"]
    arguments = ["sheets", "--catalogue", "c.json", *picks, "--date", "2026-05-05"]
    ran = run(*arguments, "-o", "s", "--as", "html")
    assert ran.code == 0
    assert ran.out.splitlines() == [
        "s/job.html: job sheet DRAFT, 1 unit",
        "s/orders.html: order list DRAFT, 0 suppliers",
        "no wiring sheet: nothing that is picked has to be wired",
        "no cut list: the catalogue says nothing of panels and extrusions of what is picked",
    ]
    assert sorted(path.name for path in Path("s").iterdir()) == ["job.html", "orders.html"]
    assert valid(run(*arguments, "--json"))["wiring"] is None
    Path("s/wiring.html").write_text("of another job")
    ran = run(*arguments, "-o", "s", "--as", "html")
    assert ran.err == "s/wiring.html: from before, it does not belong to this job\n"


def test_without_a_battery_the_diagram_starts_at_the_vehicles_own() -> None:
    lamp = option("lamp", 50, power={"load": {"amps": 3}, "circuit": {"run": 2}})
    sheet = wiring_of(raw_catalogue([several("lamps", [lamp])]), {"lamps": "lamp"})
    html = wiring_html(sheet)
    (diagram,) = re.findall(r"<svg.*?</svg>", html, re.DOTALL)
    said = [unescape(words) for words in re.findall(r"<text[^>]*>([^<]*)</text>", diagram)]
    assert "The vehicle's own battery" in said
    assert "?" in said
    assert "5 A" in said
    assert sheet.batteries == ()
    assert any("vehicle's own battery" in finding for finding in sheet.findings)
    assert pdf_from(html).startswith(b"%PDF")


def test_a_battery_whose_fuse_nobody_knows_is_drawn_with_one_all_the_same() -> None:
    raw, picks = large()
    (store,) = wiring_of(raw, picks).batteries
    assert store.fuse is None
    diagrams = re.findall(r"<svg.*?</svg>", large_sheet("wiring")[0], re.DOTALL)
    assert [diagram.count(">?</text>") for diagram in diagrams] == [1, 0, 0]


def wiring_of(raw: Raw, picks: Any) -> WiringSheet:
    c, s = catalogue_of(raw), selection(picks)
    head, layout = sheet_head(Resolved(c, s), "J-1", DAY)
    sheet = wiring_sheet(Resolved(c, s), head, layout)
    assert sheet is not None
    return sheet


@pytest.mark.parametrize("name", NAMES)
def test_the_sheets_as_json_have_their_shape(name: str, run: Run) -> None:
    for cost in ([], ["--cost"]):
        answer = valid(run("sheets", f"{name}.yaml", "--json", "--date", "2026-08-03", *cost))
        assert answer["orders"]["with-cost"] is bool(cost)
        files = made(run, name, "--as", "json", *cost)
        for sheet in ("job", "wiring", "cuts", "orders"):
            assert valid(files[f"{sheet}.json"].decode()) == answer[sheet]
