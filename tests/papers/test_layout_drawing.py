"""The drawing and the command: measurable, complete, numbers apart, and said in text."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from configurator import Catalogue, Layout, Pick
from configurator.catalogue.reading import shipped
from configurator.cli import cli
from configurator.drawing.canvas import GAP, SIZE, placed, text_width
from configurator.drawing.layouts import SCALES, layout_svg
from configurator.drawing.views import views_of
from configurator.layout.answers import lay_out
from configurator.render.html import layout_html
from configurator.render.look import look_of
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE
from tests.support import building as b
from tests.support.holds import SELECTIONS, crowded, door, hold, space, unit
from tests.support.layout_oracle import faults
from tests.support.made_papers import shipped_selection
from tests.support.paths import CASES
from tests.support.pdfs import Pages, measure
from tests.support.rendered import pdf_from
from tests.support.shipped import read_catalogue

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def quandong() -> Catalogue:
    return read_catalogue(shipped("catalogues") / "quandong.yaml")


def drawn(build: Resolved) -> tuple[Layout, ET.Element]:
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    assert not faults(build, layout.placements)
    return layout, ET.fromstring(layout_svg(build, layout, "p-"))


@pytest.mark.parametrize("name", ["touring", "contractor", "crowded"])
def test_one_unit_of_the_drawing_is_a_millimetre_at_a_round_scale(
    quandong: Catalogue, name: str
) -> None:
    selection = (
        crowded(quandong) if name == "crowded" else read_selection(str(SELECTIONS / f"{name}.yaml"))
    )
    layout, svg = drawn(Resolved(quandong, selection))
    width, height = (float(svg.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    _, _, across, down = map(float, svg.attrib["viewBox"].split())
    assert round(across / width, 6) in SCALES
    assert down / height == pytest.approx(across / width, rel=1e-3)
    assert (width, height) <= (180, 258)
    inside = layout.spaces[0].interior
    rects = [(r.attrib["width"], r.attrib["height"]) for r in svg.iter(f"{SVG}rect")]
    assert rects.count((str(inside.length), str(inside.height))) == 2
    assert (str(inside.length), str(inside.width)) in rects
    for p in layout.placements:
        if p.side in ("left", "right"):
            assert (str(p.length), str(p.height)) in rects


def test_every_unit_is_in_the_key_and_the_drawing_has_its_title_first(quandong: Catalogue) -> None:
    selection = crowded(quandong)
    layout, svg = drawn(Resolved(quandong, selection))
    assert len(layout.placements) == 13
    assert svg[0].tag == f"{SVG}title"
    assert svg[0].text == "Layout of Trade, low canopy with drawers, scale 1 to 30"
    words = [t.text for t in svg.iter(f"{SVG}text")]
    found = [re.match(r"([\d, ]+): (?!\d+$)\S", word or "") for word in words]
    keyed = [number for match in found if match for number in match[1].split(", ")]
    assert sorted(map(int, keyed)) == list(range(1, 14))
    for p in layout.placements:
        assert f"{p.length} × {p.width} × {p.height}" in words
    assert words.count("front") == 3


def headings(layout: Layout, svg: ET.Element) -> set[str]:
    """Titles of the views, by their starting with the title of a space."""
    spaces = tuple(space.space.capitalize() for space in layout.spaces)
    words = [t.text or "" for t in svg.iter(f"{SVG}text")]
    return {word for word in words if word.startswith(tuple(f"{s} from" for s in spaces))}


@pytest.mark.parametrize("sides", [["rear"], ["left"], []], ids=["rear", "left", "none"])
def test_view_from_behind_is_there_exactly_when_something_works_from_the_rear(
    sides: list[str],
) -> None:
    bin_ = unit("bin", (300, 400, 200), works_from=sides, travel=390 if sides else 0)
    doors = [door("left"), door("rear")]
    layout, svg = drawn(Resolved(*hold(space((900, 700, 400), doors), [bin_])))
    assert {p.side for p in layout.placements} == set(sides or [""])
    titles = headings(layout, svg)
    assert ("Hold from behind, door open" in titles) == (sides == ["rear"])
    assert {"Hold from above", "Hold from the left, doors open"} <= titles


def test_shipped_selections_have_a_view_from_behind_only_with_the_long_drawer(
    quandong: Catalogue,
) -> None:
    selection = read_selection(str(SELECTIONS / "contractor.yaml"))
    layout, svg = drawn(Resolved(quandong, selection))
    assert not any("from behind" in title for title in headings(layout, svg))
    for pick in (
        Pick("drawers", "wide-220", 0),
        Pick("drawers", "wide-300", 0),
        Pick("drawers", "rear-long"),
        Pick("door-layout", "kerb-and-rear"),
    ):
        selection = Resolved(quandong, selection).picking(pick)
    layout, svg = drawn(Resolved(quandong, selection))
    assert "Canopy from behind, door open" in headings(layout, svg)


def test_open_rack_is_drawn_without_doors_and_only_from_where_something_is_seen() -> None:
    size = {"length": 1800, "width": 1300, "height": 350}
    rack = b.option("rack", space={"rack": size})
    can = {"width": 350, "depth": 170, "height": 300}
    tank = b.option("can", mass=20, unit={"space": "rack", "body": can})
    catalogue = b.catalogue(
        [b.choice("shell", [rack]), b.several("units", [tank])],
        spaces=[{"id": "rack", "title": "rack"}],
    )
    layout, svg = drawn(Resolved(catalogue, b.selection({"shell": "rack", "units": ["can"]})))
    assert len(headings(layout, svg)) == 2
    assert not any("open" in title for title in headings(layout, svg))


def test_what_hangs_above_splits_no_unit_on_the_floor(quandong: Catalogue) -> None:
    """A shelf ends over a battery, whose 240 mm stay in one piece; so does the drawer's 620."""
    layout = lay_out(Resolved(quandong, shipped_selection("touring")))
    assert isinstance(layout, Layout)
    (view,) = (v for v in views_of(layout, layout.spaces[0], SOURCE) if v.name == "right")
    assert [high - low for low, high in pairwise(view.chains[0])] == [50, 800, 620, 240, 240, 379]


@pytest.mark.parametrize("scale", SCALES)
def test_numbers_of_a_chain_never_touch(scale: int) -> None:
    chains = [
        (0, 5, 10, 15, 20, 25, 1745),
        (0, 50, 52, 800, 801, 803, 2000, 2300),
        tuple(range(0, 400, 20)),
        (0, 1000),
    ]
    for marks in chains:
        found = placed(marks, scale)
        assert sorted(number for number, *_ in found) == sorted(b - a for a, b in pairwise(marks))
        outside = sorted((own, str(n)) for n, _, own, out in found if out)
        for (left, first), (right, second) in pairwise(outside):
            halves = (text_width(first, SIZE) + text_width(second, SIZE)) / 2
            assert right - left >= halves * scale
        assert all(text_width(str(n), SIZE) + GAP <= n / scale for n, _, _, out in found if not out)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["layout", *arguments])


def test_command_prints_where_everything_sits() -> None:
    answer = run(str(SELECTIONS / "contractor.yaml"))
    assert answer.exit_code == 0
    assert "1745 mm long, 1725 mm wide and 664 mm high inside" in " ".join(answer.output.split())
    assert "Largest open box from the left" in answer.output
    told = json.loads(run(str(SELECTIONS / "contractor.yaml"), "--json").output)
    assert told["fits"]
    assert len(told["placements"]) == 8


def test_command_says_what_does_not_fit_and_what_would() -> None:
    answer = run(str(SELECTIONS / "wish.yaml"))
    assert answer.exit_code == 1
    words = re.sub(r"\s+", " ", answer.output)
    assert "56 mm short" in words
    assert "the lowest canopy that takes it is Canopy height: Tall, 1000 mm" in words


@pytest.mark.parametrize("kind", ["svg", "html", "json"])
def test_command_writes_the_same_file_for_the_same_selection(tmp_path: Path, kind: str) -> None:
    files = [tmp_path / f"{name}.{kind}" for name in "ab"]
    for file in files:
        assert run(str(SELECTIONS / "touring.yaml"), "-o", str(file)).exit_code == 0
    assert files[0].read_bytes() == files[1].read_bytes()


def test_command_refuses_to_draw_what_does_not_fit(tmp_path: Path) -> None:
    file = tmp_path / "no.svg"
    answer = run(str(SELECTIONS / "wish.yaml"), "-o", str(file))
    assert answer.exit_code == 1
    assert "not written, because there is no layout to draw" in answer.output
    assert not file.exists()


def test_taller_canopy_of_the_larger_vehicle_takes_the_next_upright() -> None:
    """Common practice, no source: a little more height is what lets the next size in."""
    selection = read_selection(str(SELECTIONS / "wish.yaml"))
    low = run(str(SELECTIONS / "wish.yaml"), "--json")
    high = run(str(SELECTIONS / "wish.yaml"), "--pick", "canopy-height=1000mm", "--json")
    assert selection.one("canopy-height") == "850mm"
    assert not json.loads(low.output)["fits"]
    assert json.loads(high.output)["fits"]


@pytest.mark.parametrize("view", ["vehicle", "corner", "left", "right", "above"])
def test_command_draws_each_picture_by_its_name(tmp_path: Path, view: str) -> None:
    files = [tmp_path / f"{name}.svg" for name in "ab"]
    for file in files:
        answer = run(str(SELECTIONS / "touring.yaml"), "-o", str(file), "--view", view)
        assert answer.exit_code == 0, answer.output
    assert files[0].read_bytes() == files[1].read_bytes()
    drawn = ET.fromstring(files[0].read_text("utf-8"))
    assert drawn[0].tag == f"{SVG}title"
    assert "Touring, tall canopy with kitchen" in (drawn[0].text or "")


def test_command_draws_the_vehicle_of_what_does_not_fit_and_no_empty_picture(
    tmp_path: Path,
) -> None:
    file = tmp_path / "x.svg"
    asked = (str(SELECTIONS / "wish.yaml"), "-o", str(file), "--view")
    assert "not written" in run(*asked, "corner").output
    assert not file.exists()
    answer = run(*asked, "vehicle")
    assert answer.exit_code == 1
    assert file.exists()
    bare = run("--pick", "vehicle=mid-dual", "-o", str(tmp_path / "y.svg"), "--view", "left")
    assert "nothing is seen from the left" in str(bare.exception)
    assert "--view goes with -o FILE.svg" in run(*asked[:1], "--view", "left").output


@pytest.mark.parametrize("tag", ["en-AU", "de"])
@pytest.mark.parametrize("sheet", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["touring", "contractor", "family"])
def test_the_paper_of_a_layout_is_one_page(
    name: str, sheet: str, tag: str, quandong: Catalogue
) -> None:
    file = CASES / "packages" / f"{name}.yaml"
    chosen = read_selection(file) if file.exists() else shipped_selection(name)
    build = Resolved(quandong, chosen)
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    look = look_of(build.catalogue.shop, sheet, tag)
    pages = Pages(pdf_from(layout_html(build, layout, look)))
    assert len(pages.texts) == 1
    for p in layout.placements:
        place = f"{p.length} × {p.width} × {p.height} mm; x {p.x}, y {p.y}, z {p.z}"
        assert pages.has(place), p.name
    if sheet == "A4":
        measure(pages)
