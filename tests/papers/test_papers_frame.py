"""How papers look: sheet, language, logo, colours, and a shop's own templates.

Papers are made by the command line and read back by independent readers (PDFium, pdfplumber).
"""

from __future__ import annotations

import base64
import io
import os
import re
import struct
import zlib
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from PIL import Image

from configurator import CatalogueError
from configurator.catalogue.reading import shipped
from configurator.catalogue.validate_figures import LEAST_CONTRAST, PANEL, WHITE, contrast
from configurator.render import templates
from configurator.render.look import look_of, template_names
from configurator.render.pictures import MOST_BYTES, MOST_PIXELS
from tests.support.browsers import MISSING, WIDTHS, browser, chromium
from tests.support.building import choice, option, raw_catalogue, written
from tests.support.commands import Ran, Run
from tests.support.made_papers import PAPERS, page_of
from tests.support.pdfs import Pages, found_by_page_validation, found_by_pdfua
from tests.support.shipped import read_catalogue

pytestmark = pytest.mark.usefixtures("nothing_logged")

DATED = ("--date", "2026-08-03")
TEMPLATES = shipped("templates")
A4, LETTER = (210, 297), (216, 279)


def text_of(path: Path) -> str:
    return "".join(Pages(path).lines)


def small_shop(folder: Path, **papers: Any) -> None:
    """A small catalogue whose shop has these settings for its papers, and a selection."""
    raw = raw_catalogue([choice("tray", [option("flat", 1200)])])
    raw["shop"]["papers"] = papers
    (folder / "c.json").write_text(written(raw))
    (folder / "s.yaml").write_text("format: 1\ncatalogue: test\npicks: {vehicle: ute, tray: flat}")


def small_quote(run: Run, *more: str) -> Ran:
    return run("quote", "s.yaml", "--catalogue", "c.json", *DATED, *more)


# Sheet and language


@pytest.mark.parametrize(
    "command",
    [
        ("quote", "contractor.yaml", *DATED),
        ("compare", "touring.yaml", "contractor.yaml", *DATED),
        ("budget", "touring.yaml", "--no-savings", *DATED),
        ("layout", "touring.yaml"),
    ],
    ids=lambda command: command[0],
)
def test_every_paper_comes_on_letter_and_in_german(
    command: tuple[str, ...], run: Run, tmp_path: Path
) -> None:
    run(*command, "-o", "one.pdf", "--page", "letter", "--language", "de")
    read = Pages(tmp_path / "one.pdf")
    assert read.sizes == {LETTER}
    for number, text in enumerate(read.texts, 1):
        assert f"Seite{number}von{len(read.texts)}" in text
        for word in read.words[number - 1]:
            assert 0 < word["x0"] < word["x1"] < 612 - 12
            assert 0 < word["top"] < word["bottom"] < 792


@pytest.mark.usefixtures("rendered_anew")
def test_the_same_paper_with_the_same_look_has_the_same_bytes(run: Run, tmp_path: Path) -> None:
    (tmp_path / "l.png").write_bytes(png())
    small_shop(tmp_path, logo={"file": "l.png"}, page="Letter")
    for file in ("one.pdf", "two.pdf"):
        assert small_quote(run, "-o", file, "--language", "de").code == 0
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


def test_the_catalogue_says_how_papers_look_until_something_else_is_asked_for(
    run: Run, tmp_path: Path
) -> None:
    small_shop(tmp_path, page="Letter", language="en-US")
    assert small_quote(run, "-o", "q.pdf").code == 0
    assert Pages(tmp_path / "q.pdf").sizes == {LETTER}
    assert "August 3, 2026" in text_of(tmp_path / "q.pdf")
    asked = ("--page", "A4", "--language", "en-AU")
    assert small_quote(run, "-o", "a.pdf", *asked).code == 0
    assert Pages(tmp_path / "a.pdf").sizes == {A4}
    assert "3 August 2026" in text_of(tmp_path / "a.pdf")


def test_a_language_in_the_catalogue_that_papers_do_not_speak_is_told_with_its_place(
    run: Run, tmp_path: Path
) -> None:
    small_shop(tmp_path, language="dee")
    for ran in (small_quote(run, "-o", "q.html"), run("catalogue", "check", "c.json")):
        assert ran.code == 1
        said = ran.err + ran.out
        assert re.match(r'c\.json:\d+:\d+: error: no papers in "dee" yet; available: de', said)
        assert 'did you mean "de"' in said
        assert "(unknown-language)" in said
    assert not (tmp_path / "q.html").exists()


# The logo


def png(size: tuple[int, int] = (40, 20)) -> bytes:
    file = io.BytesIO()
    Image.radial_gradient("L").resize(size).save(file, "PNG")
    return file.getvalue()


def huge_png() -> bytes:
    """A PNG that says of itself that it has ten thousand million pixels."""
    head = b"IHDR" + struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)
    chunk = struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))
    return b"\x89PNG\r\n\x1a\n" + chunk + struct.pack(">I", 9) + b"IDAT" + bytes(9)


def svg(inside: str, attributes: str = 'viewBox="0 0 40 20"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inside}</svg>'.encode()


def repeated(gradient: str, size: str, spread: str) -> str:
    """A rectangle filled with a gradient."""
    stops = '<stop offset="0"/><stop offset="1" stop-color="red"/>'
    attributes = f'{size} spreadMethod="{spread}"'.replace('spreadMethod="pad"', "")
    fill = f'<{gradient} id="g" {attributes}>{stops}</{gradient}>'
    return f'{fill}<rect width="40" height="20" fill="url(#g)"/>'


def copies(levels: int, times: int = 10) -> str:
    """A shape drawn so many times, drawn so many times, and so on."""
    made = '<g id="c0"><rect width="1" height="1"/></g>'
    for level in range(1, levels + 1):
        made += f'<g id="c{level}">' + f'<use href="#c{level - 1}"/>' * times + "</g>"
    return f'<defs>{made}</defs><use href="#c{levels}"/>'


def jpeg(mode: str) -> bytes:
    file = io.BytesIO()
    Image.new(mode, (40, 20)).save(file, "JPEG")
    return file.getvalue()


def png_of(mode: str) -> bytes:
    file = io.BytesIO()
    Image.new(mode, (40, 20)).save(file, "PNG")
    return file.getvalue()


def test_the_logo_stands_in_the_page_itself_with_what_it_shows(run: Run, tmp_path: Path) -> None:
    for name, content in (("l.png", png()), ("l.svg", svg('<rect width="9" height="9"/>'))):
        (tmp_path / name).write_bytes(content)
        small_shop(tmp_path, logo={"file": name, "text": 'A "yard" & a <gate>'})
        assert small_quote(run, "-o", "q.html").code == 0
        html = (tmp_path / "q.html").read_text("utf-8")
        found = re.search(r'<img class="logo" src="data:image/([^;]+);base64,([^"]+)" alt="', html)
        assert found is not None
        assert base64.b64decode(found[2]) == content
        assert 'alt="A &#34;yard&#34; &amp; a &lt;gate&gt;"' in html
        assert small_quote(run, "-o", "q.pdf").code == 0
        assert 'A "yard" & a <gate>' in alternatives(tmp_path / "q.pdf")


def test_without_a_text_the_logo_is_called_by_the_shops_name(tmp_path: Path) -> None:
    (tmp_path / "l.png").write_bytes(png())
    small_shop(tmp_path, logo={"file": "l.png"})
    look = look_of(read_catalogue(tmp_path / "c.json").shop)
    assert look.logo is not None
    assert look.logo.text == read_catalogue(tmp_path / "c.json").shop.name


def alternatives(path: Path) -> list[str]:
    """Every alternative text in a PDF's tree of tags."""
    with pdfplumber.open(path) as opened:
        left = list(opened.structure_tree)
        found = []
        while left:
            element = left.pop()
            left += element.get("children", [])
            found += [element["alt_text"]] if element.get("alt_text") else []
    return found


def test_the_demo_shop_has_a_logo_of_its_own(run: Run, tmp_path: Path) -> None:
    assert run("quote", "touring.yaml", "-o", "q.html", *DATED).code == 0
    html = (tmp_path / "q.html").read_text("utf-8")
    assert 'alt="A round fruit with its leaf under the canopy of a ute"' in html


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("l.png", None, "l.png cannot be read: No such file or directory"),
        ("l.png", b"", "l.png is no PNG image that can be read"),
        ("l.png", png((200, 100))[:300], "l.png is no PNG image that can be read"),
        ("l.jpg", png(), "l.jpg is no JPEG image that can be read"),
        ("l.png", png() + b"\0" * MOST_BYTES, f"l.png has more than {MOST_BYTES} bytes"),
        (
            "l.png",
            png((MOST_PIXELS + 1, 3)),
            f"l.png is 2001 × 3 pixels; it may have at most {MOST_PIXELS} × {MOST_PIXELS}",
        ),
        ("l.png", huge_png(), "l.png has too many pixels; it may have at most 2000 × 2000"),
        (
            "l.svg",
            b"no picture",
            "l.svg is no SVG that can be read (syntax error: line 1, column 0)",
        ),
        ("l.svg", b"<html/>", "l.svg is no SVG"),
        ("l.svg", svg("", ""), "l.svg does not say how large it is"),
        ("l.svg", svg("<script>1</script>"), "l.svg has a script in it, and may only draw"),
        ("l.svg", svg("<text>Yard</text>"), "l.svg has a text in it, and may only draw"),
        ("l.svg", svg('<image href="x.png"/>'), "l.svg has a image in it, and may only draw"),
        ("l.svg", svg('<use href="a.svg#b"/>'), "l.svg refers to something outside or runs a"),
        ("l.svg", svg('<g onclick="x()"/>'), "l.svg refers to something outside or runs a"),
        ("l.svg", svg('<g fill="url(http://a/b)"/>'), "l.svg takes something from another file"),
        ("l.svg", b'<!DOCTYPE x [<!ENTITY a "b">]>' + svg(""), "l.svg has a document type of"),
        ("l.svg", svg("", 'viewBox="a"'), 'l.svg has the viewBox "a"'),
        ("l.svg", svg("", 'viewBox="0 0 0 0"'), 'l.svg has the viewBox "0 0 0 0"'),
        ("l.svg", svg("", 'viewBox="0 0 -4 2"'), 'l.svg has the viewBox "0 0 -4 2"'),
        ("l.svg", svg("", 'viewBox="0 0 4"'), 'l.svg has the viewBox "0 0 4"'),
        ("l.svg", svg("", 'viewBox="0 0 nan 4"'), 'l.svg has the viewBox "0 0 nan 4"'),
        (
            "l.svg",
            svg("", 'viewBox="0 0 4 4" width="0"'),
            'l.svg has the width "0", which is no size',
        ),
        (
            "l.svg",
            svg('<rect width="nan" height="2"/>'),
            'l.svg has a width that cannot be drawn ("nan")',
        ),
        (
            "l.svg",
            svg(repeated("radialGradient", 'r="0.0000001"', "repeat")),
            "l.svg has a gradient that is repeated",
        ),
        (
            "l.svg",
            svg(repeated("linearGradient", 'x2="0.0000001"', "reflect")),
            "l.svg has a gradient that is repeated",
        ),
        (
            "l.svg",
            svg(f'<g spreadMethod="repeat">{repeated("linearGradient", "", "pad")}</g>'),
            "l.svg has a gradient that is repeated",
        ),
        ("l.svg", svg(copies(6)), "l.svg draws as much as 3222223 shapes; it may draw 20000"),
        ("l.svg", svg(copies(60, 1)), "l.svg has 124 elements inside each other; it may have 16"),
        (
            "l.svg",
            svg("<g>" * 5_000 + "</g>" * 5_000),
            "l.svg has 5001 elements inside each other; it may have 16",
        ),
        ("l.svg", svg('<g id="a"><use href="#a"/></g>'), "l.svg has a shape that refers to itself"),
        ("l.svg", svg('<g style="href: #a"/>'), "l.svg sets a href by its style"),
        (
            "l.svg",
            svg(f'<path d="M0 0{" 1 1" * 30_000}"/>'),
            "l.svg has a d of 120004 characters; it may have 100000",
        ),
        (
            "l.svg",
            svg("".join(f'<g id="i{n}"/><use href="#i{n}"/>' for n in range(2_000))),
            "l.svg refers to 2000 of its 4001 elements by name; it may refer to 249",
        ),
        ("l.jpg", jpeg("CMYK"), "l.jpg has CMYK colours"),
        ("l.png", png_of("I;16"), "l.png has I;16 colours"),
    ],
)
def test_a_logo_that_papers_cannot_show_is_told_with_its_place_in_the_catalogue(
    name: str, content: bytes | None, told: str, run: Run, tmp_path: Path
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    small_shop(tmp_path, logo={"file": name})
    for ran in (small_quote(run, "-o", "q.pdf"), run("catalogue", "check", "c.json")):
        assert ran.code == 1
        said = ran.err + ran.out
        assert re.match(r"c\.json:\d+:\d+: error: the logo ", said)
        assert told in said
        assert "hint: " in said
    assert not (tmp_path / "q.pdf").exists()
    assert run("price", "s.yaml", "--catalogue", "c.json").code == 0


DRAWN = {
    "shape.svg": svg('<rect width="9" height="9"/>'),
    "sized.svg": svg("<g/>", 'viewBox="-1,-1 4e1 20.5" width="12.5mm" height="2em"'),
    "plain.svg": svg(repeated("radialGradient", 'r="0.4"', "pad")),
    "copied.svg": svg(copies(3)),
    "masked.svg": svg(
        '<mask id="m"><circle r="5"/></mask><clipPath id="c"><circle r="4"/></clipPath>'
        '<rect width="9" height="9" mask="url(#m)" style="clip-path: url(#c); fill: #1e1000"/>'
    ),
    "used.svg": svg(copies(6, 1)),
    "deep.svg": svg("<g>" * 14 + '<rect width="9" height="9"/>' + "</g>" * 14),
    "long.svg": svg(f'<path d="M0 0{" 1 1" * 24_000}"/>'),
    **{f"{mode.lower()}.png": png_of(mode) for mode in ("1", "L", "LA", "P", "RGB", "RGBA")},
    **{f"{mode.lower()}.jpg": jpeg(mode) for mode in ("L", "RGB")},
}


@pytest.mark.parametrize("name", DRAWN)
def test_two_checkers_find_nothing_in_a_paper_with_a_logo(
    name: str, run: Run, tmp_path: Path
) -> None:
    (tmp_path / name).write_bytes(DRAWN[name])
    small_shop(tmp_path, logo={"file": name})
    assert run("catalogue", "check", "c.json").code == 0
    ran = small_quote(run, "-o", "q.pdf")
    assert (ran.code, ran.err) == (0, "")
    pdf = (tmp_path / "q.pdf").read_bytes()
    assert found_by_page_validation(pdf) == []
    assert found_by_pdfua(pdf) == []


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_logo_that_is_no_ordinary_file_is_refused(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "l.png")
    small_shop(tmp_path, logo={"file": "l.png"})
    ran = small_quote(run, "-o", "q.html")
    assert ran.code == 1
    assert "the logo l.png cannot be read: it is no ordinary file (logo)" in ran.err


def test_a_logo_is_looked_for_beside_the_catalogue_wherever_that_is(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    small_shop(tmp_path / "deep", logo={"file": "l.png"})
    shop = read_catalogue(tmp_path / "deep" / "c.json").shop
    with pytest.raises(CatalogueError, match=r"l\.png cannot be read"):
        look_of(shop)
    (tmp_path / "deep" / "l.png").write_bytes(png())
    assert look_of(shop).logo is not None


# Own templates


def own(folder: Path, **files: str) -> None:
    (folder / "mine").mkdir()
    for name, text in files.items():
        (folder / "mine" / name.replace("_", ".")).write_text(text)


def test_a_template_or_style_of_the_shops_own_is_used_in_place_of_the_shipped_one(
    run: Run, tmp_path: Path
) -> None:
    small_shop(tmp_path)
    own(
        tmp_path,
        paper_css='{% include "shipped/paper.css" %}\nh1 { letter-spacing: 1px }',
        page_html='{% extends "shipped/page.html" %}\n'
        "{% block letterhead %}<p>Our own head, {{ shop.name }}</p>{% endblock %}",
    )
    (tmp_path / "mine" / ".hidden").write_text("{{")
    assert small_quote(run, "-o", "q.html", "--templates", "mine").code == 0
    html = (tmp_path / "q.html").read_text("utf-8")
    assert "<p>Our own head, " in html
    assert "h1 { letter-spacing: 1px }" in html
    assert ".total-panel" in html
    assert "<address>" not in html
    assert small_quote(run, "-o", "q.pdf", "--templates", "mine").code == 0
    assert "Our own head" in text_of(tmp_path / "q.pdf")
    assert small_quote(run, "-o", "q.html").code == 0
    assert "Our own head" not in (tmp_path / "q.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("template", "told"),
    [
        (
            "{{ shop.__class__ }}",
            "access to attribute '__class__' of 'ShopDetails' object is unsafe",
        ),
        ("{{ ''.__class__.__mro__[1].__subclasses__() }}", "is unsafe"),
        ("{{ cycler.__init__.__globals__ }}", "is unsafe"),
        ("{{ self._TemplateReference__context }}", "is unsafe"),
        ("{{ '{0.__class__}'.format(shop) }}", "is unsafe"),
        ("{% include '../../../../etc/hostname' %}", 'no template "../../../../etc/hostname"'),
        ("{% include '/etc/hostname' %}", 'there is no template "/etc/hostname"'),
        ("{% import 'os' as os %}", 'there is no template "os"'),
        ("{{ open('/etc/hostname') }}", "'open' is undefined"),
        ("{% for x in range(10 ** 9) %}{% endfor %}", "range"),
        ("{{ shop.nmae }}", "has no attribute 'nmae'"),
        ("{{ 1 // 0 }}", "it cannot be filled in: integer division or modulo by zero"),
        ("{{ shop.name }", "unexpected '}'"),
        ("{% block x %}", "Unexpected end of template"),
        ("{{ _('%(a)s') }}", "it cannot be filled in: 'a'"),
        ("{% extends 'page.html' %}", "it cannot be filled in: maximum recursion depth exceeded"),
    ],
)
def test_a_template_that_is_broken_or_reaches_too_far_is_told_at_its_line(
    template: str, told: str, run: Run, tmp_path: Path
) -> None:
    small_shop(tmp_path)
    own(tmp_path, page_html=f"<html lang='en'>\n\n<p>{template}")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert (ran.code, ran.out) == (1, "")
    assert re.match(r"mine/page\.html:[13]: error: ", ran.err), ran.err
    assert told in ran.err
    assert "Traceback" not in ran.err
    assert "/etc/hostname" not in ran.err or "no template" in ran.err or "open" in ran.err
    assert not (tmp_path / "q.html").exists()


def test_names_that_no_template_has_are_told_all_together(run: Run, tmp_path: Path) -> None:
    small_shop(tmp_path)
    own(tmp_path, papers_css="", qoute_html="", readme_txt="")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert ran.code == 1
    assert ran.err.count("no template has this name (unknown-template)") == 3
    assert "mine/papers.css: error: no template" in ran.err
    assert 'hint: did you mean "paper.css"' in ran.err
    assert 'hint: did you mean "quote.html"' in ran.err
    assert f"hint: known: {', '.join(template_names())}" in ran.err


def test_a_file_that_leads_out_of_the_folder_is_refused(run: Run, tmp_path: Path) -> None:
    small_shop(tmp_path)
    own(tmp_path)
    (tmp_path / "elsewhere.css").write_text("h1 { color: red }")
    (tmp_path / "mine" / "paper.css").symlink_to(tmp_path / "elsewhere.css")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert ran.code == 1
    assert (
        "mine/paper.css: error: it leads to a file outside the folder (template-outside)" in ran.err
    )


def test_a_folder_or_file_that_cannot_be_read_is_told(run: Run, tmp_path: Path) -> None:
    small_shop(tmp_path)
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    told = "mine: cannot read the folder: No such file or directory; check its name and who may"
    assert (ran.code, ran.err) == (3, f"{told} read it\n")
    own(tmp_path)
    (tmp_path / "mine" / "paper.css").write_bytes(b"\xff\xfe")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert (ran.code, ran.err) == (
        3,
        "mine/paper.css: it is not UTF-8 text (byte 0); save it as UTF-8\n",
    )


# Colours


def test_the_contrast_of_two_colours_is_that_of_wcag() -> None:
    """WCAG 2.2 says 21 to 1 for black on white; #767676 is the lightest grey that passes AA."""
    assert contrast("#000", WHITE) == pytest.approx(21)
    assert contrast("#fff", WHITE) == 1
    assert contrast("#767676", WHITE) >= LEAST_CONTRAST > contrast("#777777", WHITE)
    assert contrast("#123456", "#fedcba") == contrast("#fedcba", "#123456")


COLOUR = re.compile(r"#(?:[0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b")


def declared(name: str) -> set[str]:
    """The colours that the templates and styles give to a property."""
    found = set()
    for path in TEMPLATES.iterdir():
        text = path.read_text("utf-8")
        for value in re.findall(rf"(?<![\w-]){name}:\s*([^;}}]+)", text):
            found |= set(COLOUR.findall(value)) | ({"accent"} if "accent" in value else set())
    return found


def test_every_colour_of_words_can_be_read_on_every_ground_that_words_stand_on() -> None:
    accent = read_catalogue(shipped("catalogues") / "quandong.yaml").shop.accent
    inks = {accent if ink == "accent" else ink for ink in declared("color")}
    grounds = {WHITE, PANEL, *(declared("background") - {"accent"})}
    assert PANEL in declared("background")
    assert len(inks) >= 4
    for ink, ground in product(inks, grounds):
        assert contrast(ink, ground) >= LEAST_CONTRAST, (ink, ground)


def test_every_colour_of_words_in_a_picture_can_be_read(run: Run, tmp_path: Path) -> None:
    """On white and on every light shape; words do not stand on dark ones."""
    run("quote", "touring.yaml", "-o", "q.html", *DATED)
    drawn = run("layout", "touring.yaml", "-o", "l.html")
    assert drawn.out.splitlines()[-1] == "l.html: the layout"
    run("budget", "touring.yaml", "-o", "b.html", "--no-savings", *DATED)
    html = "".join((tmp_path / f).read_text("utf-8") for f in ("q.html", "l.html", "b.html"))
    inks = set(re.findall(r'<text\b[^>]* fill="(#\w+)"', html))
    shapes = set(re.findall(r'<rect\b[^>]* fill="(#\w+)"', html))
    light = {shape for shape in shapes if contrast(shape, WHITE) < 1.5}
    assert len(inks) >= 3
    assert len(light) >= 3
    for ink, ground in product(inks, {WHITE, *light}):
        assert contrast(ink, ground) >= LEAST_CONTRAST, (ink, ground)


def test_nothing_is_said_by_colour_alone() -> None:
    """Printed grey, everything is still there: no style tells two things apart by colour only."""
    style = "".join(path.read_text("utf-8") for path in TEMPLATES.iterdir())
    style = re.sub(r"/\*.*?\*/", "", style, flags=re.DOTALL)
    for mark in ("alarm", "bar.over"):
        rules = re.findall(rf"\.{re.escape(mark)}\s*\{{([^}}]*)\}}", style)
        assert rules
        assert any(re.search(r"font-weight|border(?!-color)", rule) for rule in rules)
    hues = {"accent"} | declared("color") | declared("background")
    tinted = {hue for hue in hues - {"accent"} if len(set(_channels(hue))) > 1}
    assert {hue for hue in tinted if max(_channels(hue)) - min(_channels(hue)) > 16} == set()


def _channels(colour: str) -> list[int]:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    return [int(digits[i : i + 2], 16) for i in (0, 2, 4)]


# A narrow screen


def test_on_a_phone_no_width_in_mm_is_left_that_is_wider_than_the_screen() -> None:
    """95 mm are 360 pixels of a style sheet; a wider thing stands where it scrolls by itself."""
    phone = (TEMPLATES / "phone.css").read_text("utf-8")
    page = (TEMPLATES / "page.html").read_text("utf-8")
    assert '<style media="screen and (max-width: 640px)">' in page
    assert page.index('"paper.css"') < page.index("block look") < page.index('"phone.css"')
    widths = re.findall(r"([^{}]*)\{[^{}]*min-width:\s*(\d+)mm", phone)
    assert all(".scroll" in selector for selector, width in widths if int(width) > 90)
    scrolling = re.search(r"([^{}]*)\{\s*display: block;\s*overflow-x: auto;\s*\}", phone)
    assert scrolling is not None
    assert {".scroll", ".picture", "main table"} <= {
        part.strip() for part in scrolling[1].split(",")
    }


@pytest.mark.skipif(chromium() is None, reason=MISSING)
def test_no_paper_scrolls_sideways_on_a_phone() -> None:
    wide = WIDTHS["phone"][0]
    with browser() as started:
        page = started.new_page(viewport={"width": wide, "height": 740})
        for name in PAPERS:
            page.set_content(page_of(name))
            assert page.evaluate("document.documentElement.scrollWidth") <= wide, name


ENDLESS = [
    "{% for a in range(99999) %}{% for b in range(99999) %}{% endfor %}{% endfor %}",
    "{% for a in 'x' * 999999999999 %}{% endfor %}",
    "{{ '%1000000000d' % 1 }}",
    "{{ '%*d' % (1000000000, 1) }}",
    "{{ '%1000000000d'|format(1) }}",
    "{{ '{:1000000000}'.format(1) }}",
    "{{ 'x'.ljust(1000000000) }}",
    "{{ 'x'|center(1000000000) }}",
    "{{ [1]|batch(1000000000, 'x')|list }}",
    "{{ 9 ** 9 ** 9 ** 9 }}",
    "{{ [0] * 9999999999 }}",
    "{% set n = namespace(x='x') %}{% for a in range(99) %}{% set n.x = n.x ~ n.x %}{% endfor %}",
    "{% set n = namespace(x='x') %}{% for a in range(99) %}{% set n.x = n.x + n.x %}{% endfor %}",
    "{% set n = namespace(x=9) %}{% for a in range(99) %}{% set n.x = n.x * n.x %}{% endfor %}",
    "{% set n = namespace(x='xx') %}{% for a in range(99) %}"
    "{% set n.x = n.x.replace('x', n.x) %}{% endfor %}",
    "{% set n = namespace(x='xx') %}{% for a in range(99) %}"
    "{% set n.x = n.x|replace('x', n.x) %}{% endfor %}",
    "{% set n = namespace(x=['x']) %}{% for a in range(99) %}{% set n.x = n.x + n.x %}{% endfor %}",
    "{% macro m(n) %}{{ m(n - 1) if n }}{{ m(n - 1) if n }}{% endmacro %}{{ m(60) }}",
    "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
    "{% include 'page.html' %}",
    "{% for a in range(99999) %}{{ range(99999)|sum }}{% endfor %}",
    "{% for a in range(99999) %}{{ 'x' * 9999 }}{% endfor %}",
]


@pytest.mark.parametrize("text", ENDLESS)
def test_a_template_that_would_never_end_is_stopped_at_its_line(
    text: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Within so many turns, and before anything much larger than is allowed is made."""
    made = [0]

    def noted(value: Any, sized: Callable[[Any], Any] = templates._sized) -> Any:
        made.append(len(value) if isinstance(value, str | list) else 0)
        return sized(value)

    monkeypatch.setattr(templates, "_sized", noted)
    monkeypatch.setattr(templates, "MOST_WORK", 120_000)
    small_shop(tmp_path)
    own(tmp_path, page_html=f"\n{text}\n")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert (ran.code, ran.out) == (1, "")
    assert "mine/page.html:2: error: " in ran.err or "mine: error: they make a page" in ran.err
    assert len(ran.err) < 1_000
    assert max(made) <= 2 * templates.MOST_TEXT
    assert not (tmp_path / "q.html").exists()


@pytest.mark.parametrize(
    "command",
    [
        ("quote", "touring.yaml", "--date", "2026-08-03"),
        ("compare", "touring.yaml", "contractor.yaml", "--date", "2026-08-03"),
        ("budget", "touring.yaml", "--no-savings", "--date", "2026-08-03"),
    ],
    ids=lambda command: command[0],
)
def test_the_shipped_templates_used_as_the_shops_own_make_the_same_page(
    command: tuple[str, ...], run: Run, tmp_path: Path
) -> None:
    """What is counted for a shop's own templates changes no page."""
    (tmp_path / "mine").mkdir()
    for name in template_names():
        (tmp_path / "mine" / name).write_text((TEMPLATES / name).read_text("utf-8"), "utf-8")
    shipped_ones = run(*command, "-o", "a.html")
    own_ones = run(*command, "-o", "b.html", "--templates", "mine")
    assert (own_ones.code, own_ones.err) == (shipped_ones.code, shipped_ones.err)
    assert Path("a.html").read_bytes() == Path("b.html").read_bytes()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_template_that_is_no_ordinary_file_is_refused(run: Run, tmp_path: Path) -> None:
    small_shop(tmp_path)
    own(tmp_path)
    os.mkfifo(tmp_path / "mine" / "page.html")
    ran = small_quote(run, "-o", "q.html", "--templates", "mine")
    assert (ran.code, ran.out) == (1, "")
    assert "mine/page.html: error: it is no ordinary file (template-no-file)" in ran.err
