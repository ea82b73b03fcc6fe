"""No label of a picture lies on a line, an axis or another label, whatever is drawn.

The drawings are read back as SVG and their letters measured in the typeface of the papers.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from functools import cache

import pytest

from configurator import Layout, Pick, Selection
from configurator.answers.facts import PictureName
from configurator.drawing.charts import charge_svg, mass_svg
from configurator.drawing.corner import corner_svg
from configurator.drawing.layouts import compact_drawing, layout_svg, travels_of
from configurator.drawing.pictures import picture_svg
from configurator.drawing.vehicle import vehicle_svg
from configurator.layout.answers import lay_out
from configurator.mass.picture import mass_picture
from configurator.power.summary import power_picture
from configurator.render.html import budget_html, layout_html, layout_room, quote_html
from configurator.render.language import language
from configurator.render.look import look_of
from configurator.render.sheets import sheet_pages
from configurator.report.budget import budget_paper
from configurator.report.quote import make_quote
from configurator.report.sheets import make_sheets
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.words import Speech
from tests.support.building import (
    VEHICLE_FIGURES,
    catalogue,
    choice,
    option,
    selection as chosen,
    vehicle,
)
from tests.support.made_papers import DAY, quandong, shipped_selection
from tests.support.paths import CASES
from tests.support.svg_labels import SVG, faults, words_of

MORE = {
    "loaded": ("touring", "add-on=roof-tent add-on=recovery-boards add-on=shovel-holder "
    "box-left=left-600 tow-bar=tow-3500 spare-wheel=canopy-rear roof-rack=trade-rack"),
    "part canopy": ("farmer", "tray-sides=drop-sides headboard=mesh roof-rack=platform-short "
    "water-tank=side-60 box-left=left-900"),
    "bare": ("", "vehicle=mid-dual"),
    "tray only": ("", "vehicle=light-truck tray-style=heavy tray-length=3000mm tray-width=1840mm "
    "tray-sides=drop-sides headboard=ladder-rack"),
}  # fmt: skip
BOXES = {
    "wide box": (3000, 600, 700, 620, 0),
    "short box": (1200, 1780, 700, 500, 0),
    "low centre": (3000, 600, 700, 620, 30),
}
"""Where only axles are known: length, width and height, a unit's width, kilograms underneath."""

BUILDS = ("touring", "contractor", "wish", "farmer", "tradesperson", *MORE, *BOXES)


@cache
def build_of(name: str) -> Resolved:
    """A shipped selection, a package of the tests, or one of them with more picked."""
    if name in BOXES:
        return boxed(*BOXES[name])
    if name in MORE:
        base, picks = MORE[name]
        selection = build_of(base).selection if base else Selection("quandong", ())
        for pick in picks.split():
            choice, _, option = pick.partition("=")
            selection = Resolved(quandong(), selection).picking(Pick(choice, option))
        return Resolved(quandong(), selection)
    file = CASES / "packages" / f"{name}.yaml"
    return Resolved(quandong(), read_selection(file) if file.exists() else shipped_selection(name))


def boxed(length: int, width: int, height: int, across: int, underneath: int) -> Resolved:
    """One unit in a box whose doors leave it at the left."""
    door = {"space": "box", "side": "left", "sill": 0, "header": 30, "front": 40, "rear": 40}
    size = {"length": length, "width": width, "height": height, "wall": 20}
    body = {"width": across, "depth": 400, "height": 480}
    chest = {"space": "box", "body": body, "works-from": ["left"]}
    under = {"from": "rear-axle", "x": 0, "z": -500}
    made = catalogue(
        [
            choice("box", [option("high", 9, mass=47, space={"box": size}, openings=[door])]),
            choice("cold", [option("chest", 9, mass=19, unit=chest)]),
            choice("step", [option("rear", 9, mass=underneath, position=under)]),
        ],
        spaces=[{"id": "box", "title": "box"}],
        vehicles=[vehicle(vehicle={**VEHICLE_FIGURES, "wheelbase": 3700})],
    )
    return Resolved(made, chosen({"box": "high", "cold": "chest", "step": "rear"}))


@cache
def pictures(name: str, tag: str) -> dict[str, str]:
    """Every picture that there is of a build, by its name."""
    return {what: svg for what, svg in _pictures(build_of(name), language(tag)) if svg}


def _pictures(build: Resolved, speech: Speech) -> Iterator[tuple[str, str]]:
    found = lay_out(build)
    layout = found if isinstance(found, Layout) else None
    mass = mass_picture(build, layout)
    assert mass is not None
    yield "vehicle", vehicle_svg(build, layout, speech=speech)
    yield "mass", mass_svg(mass, speech)
    power = power_picture(build, layout)
    yield "charge", charge_svg(power, speech)
    if layout is not None and layout.placements:
        yield "corner", corner_svg(build, layout, speech=speech)
        yield "layout", layout_svg(build, layout, speech=speech)
        travels = travels_of(build.catalogue, layout)
        compact = compact_drawing(layout, travels, "layout", 174, 165, speech)
        yield "views", compact.views
        yield "plan", compact.plan


@pytest.mark.parametrize("tag", ["en-AU", "de"])
@pytest.mark.parametrize("name", BUILDS)
def test_no_label_lies_on_a_line_or_on_another_label(name: str, tag: str) -> None:
    found = pictures(name, tag)
    assert {what: wrong for what, svg in found.items() if (wrong := faulty(svg))} == {}
    assert len(found) >= 3


def faulty(svg: str) -> list[str]:
    """Words on lines and on words, and names that are cut."""
    return faults(svg) + [words for words, _ in words_of(svg) if words.endswith("…")]


@pytest.mark.parametrize(("page", "tag"), [("A4", "de"), ("Letter", "en-AU")])
@pytest.mark.parametrize("name", ["touring", "family", "photographer", "tradesperson"])
def test_no_label_of_a_sheet_lies_on_a_line_or_on_another_label(
    name: str, page: str, tag: str
) -> None:
    build = build_of(name)
    look = look_of(build.catalogue.shop, page, tag)
    pages = sheet_pages(make_sheets(build, "Q-1", DAY), look)
    drawn = {
        (kind, number): svg
        for kind, made in pages.items()
        for number, svg in enumerate(svgs_of(made()))
    }
    assert {what: wrong for what, svg in drawn.items() if (wrong := faulty(svg))} == {}
    assert {kind for kind, _ in drawn} == {"job", "wiring", "cuts"}


def test_names_beside_bars_take_a_second_line_before_they_are_shortened() -> None:
    build = build_of("touring")
    budget = budget_paper(build, with_savings=False)
    (drawn,) = svgs_of(budget_html(budget, look_of(build.catalogue.shop, None, "de")))
    words = [words for words, _ in words_of(drawn)]
    assert faulty(drawn) == []
    at = words.index("Auf der Pritsche, auf dem Dach und")
    assert words[at + 1] == "darunter"


@pytest.mark.parametrize("name", BUILDS)
def test_all_of_a_picture_is_on_its_sheet(name: str) -> None:
    for what, svg in pictures(name, "de").items():
        root = ET.fromstring(svg)
        _, _, wide, high = map(float, root.attrib["viewBox"].split())
        for text, corners in words_of(svg):
            inside = all(-1 <= x <= wide + 1 and -1 <= y <= high + 1 for x, y in corners)
            assert inside, (what, text)


@pytest.mark.parametrize(("page", "tag"), [("A4", "en-AU"), ("Letter", "de")])
@pytest.mark.parametrize("name", ["touring", "contractor", "family", "loaded"])
def test_a_picture_is_the_same_on_paper_and_in_a_file_of_its_own(
    name: str, page: str, tag: str
) -> None:
    build, look = build_of(name), look_of(build_of(name).catalogue.shop, page, tag)
    layout = lay_out(build)
    assert isinstance(layout, Layout)

    def own(view: PictureName) -> str:
        return picture_svg(build, layout, view, look.language, layout_room(look))

    quote = svgs_of(quote_html(make_quote(build, "Q-1", DAY), look))
    assert quote[:2] == [own("vehicle").strip(), own("corner").strip()]
    (paper,) = svgs_of(layout_html(build, layout, look))
    assert in_views(paper) == in_views(own("all"))
    singly = [in_views(own(view)) for view in ("left", "right", "above")]
    assert in_views(paper) == [word for words in singly for word in words]


def svgs_of(html: str) -> list[str]:
    """The drawings of a page."""
    return re.findall(r"<svg .*?</svg>", html, re.DOTALL)


def in_views(svg: str) -> list[str]:
    """The words of a layout, without its scale, its signs and its key."""
    words = [words for words, _ in words_of(svg)]
    return words[: next(index for index, said in enumerate(words) if " 1 : " in said)]


def test_a_small_picture_is_as_wide_as_its_heading() -> None:
    build = build_of("touring")
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    svg = corner_svg(build, layout, ("left",), paper=(44.0, 24.0), key=False)
    _, _, wide, _ = map(float, ET.fromstring(svg).attrib["viewBox"].split())
    ends = {text: max(x for x, _ in corners) for text, corners in words_of(svg)}
    assert ends["From behind and the left"] <= wide
    assert len(ends) == 1, "no number stands without a key"


def test_the_test_sees_a_label_on_a_line() -> None:
    line = '<path d="M0 5L100 5" fill="none" stroke="#222" stroke-width="1"/>'
    text = '<text x="50" y="8" font-size="10">word</text>'
    head = '<svg xmlns="http://www.w3.org/2000/svg" text-anchor="middle">'
    cover = '<rect x="0" y="0" width="100" height="10" fill="#fff" stroke="none"/>'
    assert faults(f"{head}{line}{text}</svg>") == ["'word' on a line from 0,5 to 100,5"]
    assert faults(f"{head}{line}{cover}{text}</svg>") == []
    assert faults(f"{head}{text}{text}</svg>") == ["'word' on 'word'"]


def test_the_vehicle_is_drawn_from_the_catalogues_figures() -> None:
    build = build_of("part canopy")
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    svg = vehicle_svg(build, layout)
    words = {words for words, _ in words_of(svg)}
    # wheelbase, front end, where the canopy stands on its tray, and how high it all is
    assert {"3140", "870", "60", "1400", "940", "880", "850", "1840"} <= words
    root = ET.fromstring(svg)
    circles = [float(c.attrib["r"]) for c in root.iter(f"{SVG}circle")]
    assert circles.count(385) == 2
    middles = sorted(
        float(c.attrib["cx"]) for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "385"
    )
    assert middles[1] - middles[0] == pytest.approx(3140, abs=0.02)
    mass = mass_picture(build, layout)
    assert mass is not None
    full = mass.state("full")
    assert any(
        word.startswith(f"{float(full.bar('rear-axle').load):.1f}".rstrip("0").rstrip("."))
        for word in words
    )
    told = root.find(f"{SVG}desc")
    assert told is not None
    assert "Overall length 4820 mm." in (told.text or "")


def test_a_canopy_that_reaches_past_its_tray_has_its_whole_length() -> None:
    """One of 1800 mm that stands 20 mm back on a tray of 1800 mm."""
    words = {words for words, _ in words_of(vehicle_svg(build_of("wish"), None))}
    assert {"1800", "20"} <= words
    assert "1780" not in words
