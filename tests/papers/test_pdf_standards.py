"""Every paper is PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) in one file.

Two checkers that share no code with the renderer or with each other say so: page-validation, and
pdfua, which stands on pikepdf. The tags are read by a third, pdfplumber. Whatever the renderer
logs fails a test, as it logs what keeps a page from being accessible.
"""

from __future__ import annotations

import base64
import io
import re
import zlib
from collections.abc import Iterator
from functools import cache
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pikepdf
import pytest
from PIL import Image

from configurator import ConfiguratorError
from configurator.errors import DataError
from configurator.render.pdf import MOST_CHARACTERS, MOST_ROWS, ends_are_plain, html_to_pdf
from tests.support.commands import Run
from tests.support.made_papers import HOSTILE, PAPERS, page_of, pdf_of
from tests.support.pdfs import (
    Pages,
    found_by_page_validation,
    found_by_pdfua,
    opened_pdf,
    squeezed,
)

pytestmark = pytest.mark.usefixtures("nothing_logged")

BASE = '<!DOCTYPE html><html lang="en"><title>x</title><body style="font-family: Paper"><h1>x</h1>'


# The two checkers


@pytest.mark.parametrize("name", PAPERS)
def test_two_checkers_find_nothing_in_any_paper(name: str) -> None:
    assert found_by_page_validation(pdf_of(name)) == []
    assert found_by_pdfua(pdf_of(name)) == []


def test_the_checkers_see_what_is_wrong() -> None:
    """A table without headings, an image without words, a heading left out, no claim at all."""
    headless = html_to_pdf(BASE + "<table><tr><td>1</td><td>2</td></tr></table>")
    assert any("no header cell" in said for said in found_by_pdfua(headless))
    damaged = pdf_of("quote of touring").replace(b'pdfuaid:part="1"', b'pdfuaid:part="7"')
    assert found_by_page_validation(damaged)


def test_both_claims_stand_in_the_one_packet_and_can_be_read_without_unpacking() -> None:
    pdf = pdf_of("quote of touring")
    assert pdf.count(b"<rdf:RDF") == pdf.count(b"</rdf:RDF>") == 1
    assert b'pdfaid:part="3"' in pdf
    assert b'pdfaid:conformance="A"' in pdf
    assert b'pdfuaid:part="1"' in pdf
    with pikepdf.open(io.BytesIO(pdf)) as opened, opened.open_metadata() as metadata:
        assert metadata.pdfa_status == "3A"
        assert metadata["{http://www.aiim.org/pdfua/ns/id/}part"] == "1"
        assert metadata["dc:title"] == "Quote Q-2041, Quandong Flat Fabrication"


@pytest.mark.parametrize("name", PAPERS)
def test_no_stream_ends_so_that_its_length_could_be_doubted(name: str) -> None:
    """A stream whose last byte is CR, before the LF that ends it: ISO 19005-3, 6.1.7.1."""
    assert ends_are_plain(pdf_of(name))


def test_streams_that_would_end_with_a_carriage_return_are_written_another_way() -> None:
    """The page's own content is made to hit it: zlib's data end with the checksum's last byte."""
    hits = 0
    for number in range(260):
        pdf = html_to_pdf(f"{BASE}<p>{number}")
        assert ends_are_plain(pdf)
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            content = opened.pages[0].Contents
            ends = zlib.adler32(content.read_bytes()) & 0xFF == 13
            assert ends is ("/Filter" not in content)
            hits += ends
        if hits:
            break
    assert hits


# Tags


Tag = dict[str, Any]


@cache
def tags_of(pdf: bytes) -> tuple[list[Tag], dict[tuple[int, int], str]]:
    """The tree of tags, and the text of each piece of content that it refers to."""
    texts: dict[tuple[int, int], str] = {}
    opened = opened_pdf(pdf)
    tree: list[Tag] = list(opened.structure_tree)
    for number, page in enumerate(opened.pages, 1):
        for char in page.chars:
            if char["mcid"] is not None:
                key = number, char["mcid"]
                texts[key] = texts.get(key, "") + char["text"]
    return tree, texts


def walk(tags: list[Tag]) -> Iterator[Tag]:
    for tag in tags:
        yield tag
        yield from walk(tag.get("children", []))


def text_of(tag: Tag, texts: dict[tuple[int, int], str]) -> str:
    own = [texts.get((tag.get("page_number", 1), m), "") for m in tag.get("mcids", [])]
    return "".join([*own, *(text_of(child, texts) for child in tag.get("children", []))])


class Pieces(HTMLParser):
    """The pieces of text of a page, in the order in which they are written."""

    UNREAD = ("style", "title", "svg", "head")
    EMPTY = ("br", "meta", "img", "link", "col", "hr", "input")

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.inside: list[str] = []
        self.headings: list[str] = []
        self.pieces: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag not in self.EMPTY:
            aside = ("class", "paper-name") in attributes
            self.inside.append("head" if aside else tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.EMPTY:
            self.inside.pop()

    def handle_data(self, data: str) -> None:
        text = squeezed(data)
        if text and not set(self.inside) & set(self.UNREAD):
            self.pieces.append(text)
            if self.inside[-1] in ("h1", "h2", "h3", "h4"):
                self.headings.append(self.inside[-1].upper())


@pytest.mark.parametrize("name", PAPERS)
def test_a_screen_reader_hears_the_paper_in_the_order_of_its_page(name: str) -> None:
    tree, texts = tags_of(pdf_of(name))
    heard = squeezed("".join(text_of(tag, texts) for tag in tree))
    pieces = Pieces(page_of(name)).pieces
    assert len(pieces) > 20
    place = 0
    for piece in pieces:
        found = heard.find(piece, place)
        assert found >= 0, f"{piece!r} is not heard after {heard[max(0, place - 60) : place]!r}"
        place = found + len(piece)


@pytest.mark.parametrize("name", PAPERS)
def test_headings_start_at_one_and_skip_no_level(name: str) -> None:
    tree, _ = tags_of(pdf_of(name))
    levels = [int(tag["type"][1]) for tag in walk(tree) if re.fullmatch("H[1-6]", tag["type"])]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert [f"H{level}" for level in levels] == Pieces(page_of(name)).headings


def kinds(tag: Any, kind: str) -> Iterator[Any]:
    """The parts of a kind at and below a tag, empty ones too, as pikepdf reads them."""
    if not isinstance(tag, pikepdf.Dictionary):
        return
    if tag.get("/S") == kind:
        yield tag
    kids = tag.get("/K", ())
    for kid in kids if isinstance(kids, pikepdf.Array) else (kids,):
        yield from kinds(kid, kind)


@pytest.mark.parametrize("name", PAPERS)
def test_every_table_is_rectangular_and_every_heading_in_it_says_what_it_heads(name: str) -> None:
    """Cells name the headings that speak of them: each name is one that some heading has."""
    with pikepdf.open(io.BytesIO(pdf_of(name))) as opened:
        tables = list(kinds(opened.Root.StructTreeRoot.K[0], "/Table"))
        assert tables
        for table in tables:
            rows = [list(row.K) for row in kinds(table, "/TR")]
            wide = {sum(int(cell.A.get("/ColSpan", 1)) for cell in row) for row in rows}
            assert len(wide) == 1, wide
            headings = [cell for row in rows for cell in row if cell.S == "/TH"]
            assert headings
            assert {str(cell.A.Scope) for cell in headings} <= {"/Row", "/Column"}
            known = {str(cell.ID) for cell in headings}
            for cell in (cell for row in rows for cell in row if cell.S == "/TD"):
                assert "/RowSpan" not in cell.A
                assert {str(heading) for heading in cell.A.get("/Headers", ())} <= known


def test_a_heading_of_a_row_has_the_scope_of_a_row_and_one_of_a_column_that_of_a_column() -> None:
    head = '<thead><tr><th scope="col">A</th><th scope="col">B</th></tr></thead>'
    group = '<tr><th scope="colgroup" colspan="2">C</th></tr>'
    row = '<tr><th scope="row">D</th><td>E</td></tr>'
    tree, texts = tags_of(html_to_pdf(f"{BASE}<table>{head}<tbody>{group}{row}</tbody></table>"))
    scopes = {
        text_of(tag, texts): tag["attributes"]["Scope"] for tag in walk(tree) if tag["type"] == "TH"
    }
    assert scopes == {"A": "Column", "B": "Column", "C": "Column", "D": "Row"}


@pytest.mark.parametrize("name", PAPERS)
def test_every_picture_has_words_for_those_who_cannot_see_it(name: str) -> None:
    tree, _ = tags_of(pdf_of(name))
    words = [tag.get("alt_text", "") for tag in walk(tree) if tag["type"] == "Figure"]
    assert len(words) == page_of(name).count("<svg") + page_of(name).count("<img")
    assert all(len(alternative.strip()) > 5 for alternative in words)


# What a page may not do


@pytest.mark.parametrize(
    "target", ["http://example.com/", "ftp://example.com/x", "file:///etc/hostname",
               "javascript:alert(1)", "data:text/html,x", "HTTP://EXAMPLE.COM"],
)  # fmt: skip
def test_a_link_to_anything_but_the_web_a_letter_or_a_call_is_refused(target: str) -> None:
    with pytest.raises(ConfiguratorError) as caught:
        html_to_pdf(f'{BASE}<p><a href="{target}">there</a></p>')
    assert str(caught.value) == (
        f'the paper has a link to "{target}": only https, mailto and tel may be linked to'
    )


@pytest.mark.parametrize("target", ["https://example.com/", "mailto:a@example.com", "tel:+6185550"])
def test_the_web_letters_and_calls_may_be_linked_to(target: str) -> None:
    pdf = html_to_pdf(f'{BASE}<p><a href="{target}">there</a></p>')
    assert Pages(pdf).links == [target]
    assert found_by_page_validation(pdf) == []


@pytest.mark.parametrize("name", PAPERS)
def test_papers_link_to_nothing_else(name: str) -> None:
    assert all(link.startswith(("https:", "mailto:", "tel:")) for link in Pages(pdf_of(name)).links)


def test_hostile_text_comes_out_as_it_was_written() -> None:
    pdf = pdf_of("quote with hostile text")
    opened = opened_pdf(pdf)
    text = squeezed("".join(c["text"] for page in opened.pages for c in page.chars))
    assert text.count(squeezed(HOSTILE)) >= 7
    assert b"/JavaScript" not in pdf
    assert b"/Launch" not in pdf


@pytest.mark.parametrize(
    ("html", "said"),
    [
        ("<p>" + "word " * 201_000, f"the paper would hold 1005093 characters of text and tags, "
         f"and {MOST_CHARACTERS} are the most"),
        ("<table>" + "<tr><td>1" * 5_001, f"the paper would hold 5001 rows of tables, "
         f"and {MOST_ROWS} are the most"),
    ],
    ids=["text", "rows"],
)  # fmt: skip
def test_what_would_keep_the_renderer_busy_without_end_is_refused(html: str, said: str) -> None:
    with pytest.raises(DataError) as caught:
        html_to_pdf(BASE + html)
    (problem,) = caught.value.problems
    assert (problem.sentence, problem.code) == (said, "paper-too-large")


@pytest.mark.parametrize(
    "word", ["m" * 1_001, "e\u0301" * 501, "&amp;" * 1_001, "a\u00a0" * 501, "&#105;" * 1_001]
)
def test_characters_without_end_and_without_a_space_are_refused(word: str) -> None:
    with pytest.raises(DataError) as caught:
        html_to_pdf(f"{BASE}<p>One {word} two")
    (problem,) = caught.value.problems
    begins = unescape(word)[:30]
    assert problem.sentence == (
        f'the text that begins with "{begins}" has {len(unescape(word))} characters without a '
        "space, and 1000 are the most"
    )
    assert problem.code == "paper-too-large"
    assert html_to_pdf(f"{BASE}<p>One {unescape(word)[:1_000]} two")


def test_a_text_that_looks_like_a_picture_counts_as_text() -> None:
    looks = "data:image/x," + ",".join(["a"] * (MOST_CHARACTERS // 2))
    for text in (looks, f"url({looks})", f"src={looks}"):
        with pytest.raises(DataError, match="characters of text and tags"):
            html_to_pdf(f"{BASE}<p>{text}")


def test_a_word_without_end_is_told_with_its_beginning(run: Run) -> None:
    """Through the command: what a customer wrote stops the PDF, and is no burden for a page."""
    text = Path("contractor.yaml").read_text("utf-8")
    Path("long.yaml").write_text(f"{text}\nnotes:\n- Mind the {'y' * 100_000}\n", "utf-8")
    ran = run("quote", "long.yaml", "-o", "q.pdf", "--date", "2026-08-03")
    assert (ran.code, ran.out) == (1, "")
    assert 'the text that begins with "yyyyyyyyyyyyyyyyyyyyyyyyyyyyyy" has 100000' in ran.err
    assert not Path("q.pdf").exists()
    assert run("quote", "long.yaml", "-o", "q.html", "--date", "2026-08-03").code == 0


def test_a_drawing_in_a_template_is_bounded_as_a_logo_is() -> None:
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><radialGradient id="g" '
        'r="0.0000001" spreadMethod="repeat"><stop offset="0"/><stop offset="1"/></radialGradient>'
        '<rect width="9" height="9" fill="url(#g)"/></svg>'
    )
    encoded = base64.b64encode(drawing.encode()).decode()
    for address in (f"base64,{encoded}", f"utf8,{quote(drawing)}"):
        with pytest.raises(DataError, match="a drawing in a template has a gradient that is"):
            html_to_pdf(f'{BASE}<img alt="words" src="data:image/svg+xml;{address}">')


def test_a_picture_with_colours_of_print_is_refused() -> None:
    file = io.BytesIO()
    Image.new("CMYK", (9, 9)).save(file, "JPEG")
    address = f"data:image/jpeg;base64,{base64.b64encode(file.getvalue()).decode()}"
    with pytest.raises(DataError, match="a picture has CMYK colours, which an archive cannot"):
        html_to_pdf(f'{BASE}<img alt="words" src="{address}">')


def picture(wide: int, high: int) -> str:
    """A PNG of one colour, as an address: some kilobytes, however large it is."""
    file = io.BytesIO()
    Image.new("1", (wide, high)).save(file, "PNG", compress_level=1)
    return f"data:image/png;base64,{base64.b64encode(file.getvalue()).decode()}"


@pytest.mark.parametrize(("wide", "high"), [(4_001, 4_000), (12_000, 12_000), (30_000, 15_000)])
def test_a_picture_of_too_many_dots_is_refused_before_it_is_unpacked(wide: int, high: int) -> None:
    with pytest.raises(DataError, match="pixels in one picture, and 16000000 are the most"):
        html_to_pdf(f'{BASE}<img alt="words" src="{picture(wide, high)}">')


def test_a_picture_within_the_bounds_is_drawn() -> None:
    pdf = html_to_pdf(f'{BASE}<img alt="words" width="20" src="{picture(400, 300)}">')
    opened = opened_pdf(pdf)
    assert len(opened.pages[0].images) == 1


def test_boxes_without_end_inside_each_other_are_refused() -> None:
    with pytest.raises(DataError, match="too many boxes inside each other") as raised:
        html_to_pdf(BASE + "<div>" * 400)
    assert [problem.code for problem in raised.value.problems] == ["paper-too-deep"]


def test_a_text_of_many_characters_is_told_on_one_line(run: Run) -> None:
    """Through the command: a note no paper could hold stops the quote with one message."""
    text = Path("contractor.yaml").read_text("utf-8")
    Path("long.yaml").write_text(f"{text}\nnotes:\n- {'word ' * 220_000}\n", "utf-8")
    ran = run("quote", "long.yaml", "-o", "q.pdf", "--date", "2026-08-03")
    assert (ran.code, ran.out) == (1, "")
    assert "characters" in ran.err
    assert len(ran.err.splitlines()) <= 4
