"""The cut list, its DXF, and how many pages the job sheet takes.

Sizes are worked by hand from the catalogue's formulas; DXF is read back by ezdxf's own auditor.
"""

from __future__ import annotations

import io
import json
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import yaml
from ezdxf.entities.lwpolyline import LWPolyline

from tests.support.answers import valid
from tests.support.building import choice, option, raw_catalogue, written
from tests.support.commands import Run
from tests.support.pdfs import Pages, squeezed
from tests.support.rendered import pdf_from

D = Decimal
DAY = ("--date", "2026-08-03")
BY = "×"

FOUR = {
    "format": 1,
    "catalogue": "quandong",
    "title": "Cold box and battery",
    "picks": {
        "vehicle": "mid-dual", "tray-style": "standard", "tray-width": "1780mm",
        "tray-length": "1800mm", "tray-floor": "plain", "tray-sides": "no-sides",
        "headboard": "no-headboard", "mudguards": "folded", "tail-lights": "led-standard",
        "canopy-style": "full-fixed", "canopy-length": "1800mm", "canopy-height": "850mm",
        "sheet": "2-5mm", "door-layout": "long-both", "door-locks": "compression",
        "lining": "bare", "vents": {"louvre-pair": 1}, "chest-fridge": "chest-60",
        "fridge-slide": "straight-middle", "power-cupboard": "cupboard-small",
        "battery": {"lfp-100": 1}, "vehicle-charger": "dc-25-solar", "monitor": "shunt",
        "fuse-panel": "ways-6", "lights": ["strip-inside", "flood-rear"],
        "finish": "powder-doors", "colour": "white", "suspension": "as-delivered",
    },
}  # fmt: skip
"""An ordinary package with four units."""

MOST_PAGES = {"touring.yaml": 5, "contractor.yaml": 4, "four.yaml": 4}
"""Pages of a job sheet: half of 11, of 9 and of 8, which they once took."""


def pages_of(run: Run, file: str, page: str, *names: str) -> list[list[str]]:
    """The pages of some sheets in German, whose words are the longer ones."""
    look = ("--page", page, "--language", "de")
    ran = run("sheets", file, "-o", "s", *look, "--as", "html", *DAY)
    assert (ran.code, ran.err) == (0, "")
    made = [pdf_from(Path(f"s/{name}.html").read_text("utf-8")) for name in names]
    return [Pages(pdf).texts for pdf in made]


@pytest.mark.parametrize(
    ("file", "page"), [("touring.yaml", "A4"), ("contractor.yaml", "Letter"), ("four.yaml", "A4")]
)
def test_a_job_sheet_takes_half_the_pages_that_it_once_took(file: str, page: str, run: Run) -> None:
    Path("four.yaml").write_text(yaml.safe_dump(FOUR))
    (job,) = pages_of(run, file, page, "job")
    assert len(job) <= MOST_PAGES[file]
    assert max(text.count("Maßstab1:") for text in job) >= 3, "several drawings on one page"


def test_the_other_sheets_of_a_large_package_take_few_pages_of_the_narrower_paper(run: Run) -> None:
    wiring, cuts = pages_of(run, "touring.yaml", "Letter", "wiring", "cuts")
    assert (len(wiring) <= 4, len(cuts) <= 3) == (True, True), (len(wiring), len(cuts))


def cuts_of(run: Run, file: str) -> dict[str, Any]:
    ran = run("sheets", file, "-o", "j", "--as", "json", *DAY)
    assert (ran.code, ran.err) == (0, "")
    found: dict[str, Any] = valid(Path("j/cuts.json").read_text("utf-8"))
    return found


def test_panels_and_extrusions_have_the_sizes_of_the_catalogues_sums(run: Run) -> None:
    # worked by hand for the contractor: tray 1800 x 1780, canopy 1800 x 1780 x 700 outside and
    # 1745 x 1725 x 664 inside, one long door each side
    cuts = cuts_of(run, "contractor.yaml")
    panels = {p["title"]: (p["count"], p["length"], p["width"], p["stock"]) for p in cuts["panels"]}
    thin, thick = "5052 plain, 2.5 mm", "5052 plain, 3.0 mm"
    assert panels == {
        "Floor plate": (2, "1720", "850", thick),
        "Left wall": (1, "1800", "700", thin),
        "Right wall": (1, "1800", "700", thin),
        "Front wall": (1, "1780", "700", thin),
        "Rear wall": (1, "1780", "700", thin),
        "Roof, half, with fold and lap": (2, "1840", "925", thin),
        "Floor, half": (2, "1790", "885", thick),
        "Long door skin": (2, "1695", "654", thin),
    }
    lengths = {p["title"]: (p["count"], p["length"]) for p in cuts["extrusions"]}
    assert lengths == {
        "Rail": (2, "1800"), "Side edge": (2, "1800"), "End edge": (2, "1700"),
        "Cross-member": (5, "1700"),  # 1680 / 450 is 3.7: four gaps
        "Post": (4, "692"), "Long rail": (4, "1742"), "Cross rail": (4, "1722"),
        "Roof bow": (3, "1722"),  # 1200 / 600 is 2
    }  # fmt: skip
    # the left wall stands 27.5 over the inside at each end: the door of 1645 x 619 is in its middle
    left = next(p for p in cuts["panels"] if p["title"] == "Left wall")
    (door,) = left["cut-outs"]
    assert [door[key] for key in ("x", "y", "length", "width")] == ["900", "312.5", "1645", "619"]


@pytest.mark.parametrize("file", ["touring.yaml", "contractor.yaml"])
def test_every_panel_lies_once_on_a_sheet_clear_of_its_edges_and_of_the_others(
    file: str, run: Run
) -> None:
    cuts = cuts_of(run, file)
    kerf, trim = D(4), D(6)
    panels = {panel["number"]: panel for panel in cuts["panels"]}
    laid = dict.fromkeys(panels, 0)
    for sheet in cuts["sheets"]:
        boxes = []
        for one in sheet["panels"]:
            panel = panels[one["panel"]]
            laid[one["panel"]] += sheet["count"]
            assert panel["stock"] == sheet["stock"]
            sides = [D(panel["length"]), D(panel["width"])]
            size = [D(one["length"]), D(one["width"])]
            assert size == (sides[::-1] if one["turned"] else sides)
            along = {"length": not one["turned"], "width": one["turned"]}
            assert along.get(panel["grain"], True), "the grain is kept"
            x, y = D(one["x"]), D(one["y"])
            assert trim <= x <= sheet["length"] - trim - size[0]
            assert trim <= y <= sheet["width"] - trim - size[1]
            boxes.append((x, y, x + size[0], y + size[1]))
        for a, b in combinations(boxes, 2):
            assert max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3]) >= kerf
        area = D(sheet["length"] * sheet["width"])
        used = sum((c - a) * (d - b) for a, b, c, d in boxes)
        assert D(sheet["waste"]) == round(100 * (area - used) / area, 1)
    assert laid == {number: panel["count"] for number, panel in panels.items()}
    for stock in cuts["stock"]:
        mine = [s for s in cuts["sheets"] if s["stock"] == stock["stock"]]
        if mine:
            assert stock["count"] == sum(sheet["count"] for sheet in mine)
            square = sum(s["count"] * s["length"] * s["width"] for s in mine)
            assert D(stock["amount"]) == round(D(square) / 10**6, 2)


def test_every_extrusion_is_cut_from_a_bar_that_is_long_enough(run: Run) -> None:
    cuts = cuts_of(run, "touring.yaml")
    lengths = {one["number"]: one for one in cuts["extrusions"]}
    made = dict.fromkeys(lengths, 0)
    for bar in cuts["bars"]:
        used = sum(D(lengths[number]["length"]) for number in bar["pieces"])
        for number in bar["pieces"]:
            made[number] += bar["count"]
            assert lengths[number]["stock"] == bar["stock"]
        assert used + 3 * (len(bar["pieces"]) - 1) + 2 * 10 <= bar["length"]
    assert made == {number: one["count"] for number, one in lengths.items()}


def test_the_paper_has_every_panel_bar_and_sheet_with_its_waste(run: Run) -> None:
    cuts = cuts_of(run, "touring.yaml")
    assert run("sheets", "touring.yaml", "-o", "s", *DAY).code == 0
    pages = Pages(Path("s/cuts.pdf").read_bytes())
    text = pages.text
    for panel in cuts["panels"]:
        size = f"{panel['length']}{BY}{panel['width']}"
        assert squeezed(f"{panel['number']}{panel['count']}{panel['title']}") in text
        assert size in text
    for sheet in cuts["sheets"]:
        size = f"{sheet['length']}{BY}{sheet['width']}"
        assert (
            squeezed(f"{sheet['count']}{BY}{sheet['stock']},{size}:{sheet['waste']}%waste") in text
        )
    for bar in cuts["bars"]:
        assert squeezed(f"{bar['stock']}, {bar['length']}") in text
    assert "measurethefirstofeachbeforecuttingtherest" in text
    assert len(pages.texts) == 3, "with the signing lines on the last"
    for face in cuts["faces"]:
        for size, what in {(hole["diameter"], hole["text"]) for hole in face["cut-outs"]}:
            places = sorted(
                (D(hole["x"]), D(hole["y"]))
                for hole in face["cut-outs"]
                if (hole["diameter"], hole["text"]) == (size, what)
            )
            told = ";".join(f"{x}/{y}" for x, y in places)
            assert squeezed(f"{len(places)}Ø{size}{told}{what}") in text, "once, with every place"


def test_the_dxf_has_every_outline_opening_and_hole_where_the_lists_have_them(run: Run) -> None:
    cuts = cuts_of(run, "touring.yaml")
    for folder in ("d", "e"):
        ran = run("sheets", "touring.yaml", "-o", folder, "--as", "dxf", *DAY)
        assert ran.out == f"{folder}/cuts.dxf: cut list DRAFT, 6 sheets, 12 bars\n"
        assert [path.name for path in Path(folder).iterdir()] == ["cuts.dxf"]
    drawn = Path("d/cuts.dxf").read_bytes()
    assert drawn == Path("e/cuts.dxf").read_bytes()
    document = ezdxf.read(io.StringIO(drawn.decode()))
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.header["$INSUNITS"] == 4, "millimetres"
    space = document.modelspace()
    assert {e.dxf.layer for e in space} == {"cut", "holes", "text"}
    pieces = [*cuts["panels"], *cuts["faces"]]
    boxes, circles, foot = set(), set(), 0.0
    for piece in pieces:
        length, width = float(piece["length"]), float(piece["width"])
        boxes.add((0.0, foot, length, foot + width))
        for hole in piece["cut-outs"]:
            x, y = float(hole["x"]), foot + float(hole["y"])
            if hole["diameter"] is None:
                half = float(hole["length"]) / 2, float(hole["width"]) / 2
                boxes.add((x - half[0], y - half[1], x + half[0], y + half[1]))
            else:
                circles.add((x, y, float(hole["diameter"]) / 2))
        foot += width + 150
    outlines = set()
    for line in space.query("LWPOLYLINE"):
        assert isinstance(line, LWPolyline)
        assert line.closed
        xs, ys = zip(*((x, y) for x, y, *_ in line.get_points()), strict=True)
        outlines.add((min(xs), min(ys), max(xs), max(ys)))
    assert outlines == boxes
    found = {(*e.dxf.center.vec2, e.dxf.radius) for e in space.query("CIRCLE")}
    assert found == circles
    assert len(circles) > 20
    texts = [e.dxf.text for e in space.query("TEXT")]
    assert len(texts) == len(pieces)
    assert texts[0] == "1 Floor plate, 2320 × 880, 2 pieces, 5052 plain, 3.0 mm"


def test_holes_of_the_floor_are_where_the_job_sheet_has_them(run: Run) -> None:
    cuts = cuts_of(run, "touring.yaml")
    job = json.loads(Path("j/job.json").read_text("utf-8"))
    floor = next(face for face in cuts["faces"] if face["title"].startswith("Floor"))
    units = {unit["number"]: unit for unit in job["units"]}
    works = [w for group in job["groups"] for part in group["parts"] for w in part["work"]]
    spots = {
        (str(spot["x"]), str(spot["y"]))
        for work in works
        if work["hole"] and work["spots"] and units[work["unit"]]["on"] == "floor"
        for spot in work["spots"]
        if spot["z"] == units[work["unit"]]["z"]
    }
    assert {(hole["x"], hole["y"]) for hole in floor["cut-outs"]} == spots
    assert len(spots) > 20


def test_a_catalogue_without_panels_has_no_cut_list(run: Run) -> None:
    Path("shop.json").write_text(written(raw_catalogue([choice("tray", [option("flat", 900)])])))
    picks = ["--catalogue", "shop.json", "--pick", "vehicle=ute", "--pick", "tray=flat"]
    ran = run("sheets", *picks, "-o", "s", "--as", "html", "--date", "2026-05-05")
    assert ran.code == 0
    told = "no cut list: the catalogue says nothing of panels and extrusions of what is picked"
    assert told in ran.out
    assert not Path("s/cuts.html").exists()
    ran = run("sheets", *picks, "-o", "s", "--as", "dxf", "--date", "2026-05-05")
    assert (ran.code, ran.err.strip()) == (2, told)


def test_a_panel_that_no_sheet_is_large_enough_for_is_told(run: Run) -> None:
    panel = {"title": "Side", "length": {"mm": 2500}, "width": {"mm": 900}, "stock": "thin"}
    bar = {"title": "Post", "length": {"mm": 7000}, "stock": "tube"}
    flat = option("flat", 900, panels=[panel], extrusions=[bar])
    sheet: dict[str, Any] = {"id": "thin", "title": "Thin", "thickness": 2}
    sheet["sizes"] = [{"length": 2400, "width": 1200}]
    stock = {"sheets": [sheet], "bars": [{"id": "tube", "title": "Tube", "lengths": [6500]}]}
    raw = raw_catalogue([choice("tray", [flat])], cutting=stock)
    Path("shop.json").write_text(written(raw))
    picks = ["--catalogue", "shop.json", "--pick", "vehicle=ute", "--pick", "tray=flat"]
    ran = run("sheets", *picks, "-o", "j", "--as", "json", "--date", "2026-05-05")
    assert ran.code == 0, ran.err
    cuts = json.loads(Path("j/cuts.json").read_text("utf-8"))
    assert cuts["notes"] == [
        "Side: no stock sheet is large enough for it",
        "Post: no stock bar is long enough for it",
    ]
    assert (cuts["sheets"], cuts["bars"], cuts["stock"]) == ([], [], [])


def test_the_terminal_shows_the_sheets(run: Run) -> None:
    ran = run("sheets", "contractor.yaml", "--number", "J-7", *DAY)
    assert (ran.code, ran.err) == (0, "")
    heads = ["Job sheet J-7", "Wiring sheet J-7", "Cut list J-7", "Order list J-7"]
    assert [line for line in ran.out.splitlines() if line in heads] == heads
