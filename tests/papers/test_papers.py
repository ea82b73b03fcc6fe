"""Papers, read back by independent readers (PDFium and pdfplumber).

What stands on the pages must be what the values say; how the pages look is kept by measuring
where words lie. Whatever WeasyPrint has to say fails a test: it speaks of missing glyphs, of what
it could not fetch, and of faults that keep a page from being accessible.
"""

from __future__ import annotations

import io
import re
import socket
from decimal import Decimal
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NoReturn

import attrs
import pdfplumber
import pytest
from attrs import evolve

from configurator import Adjustment, Budget, BudgetEntry, Customer, Money, Selection
from configurator.catalogue.reading import shipped
from configurator.errors import DataError
from configurator.pricing.lines import Line
from configurator.render.html import budget_html, comparison_html, quote_html
from configurator.render.look import look_of
from configurator.render.pdf import html_to_pdf
from configurator.render.sheets import orders_html
from configurator.report.budget import budget_paper
from configurator.report.comparison import compare
from configurator.report.quote import make_quote
from configurator.report.sheet_head import sheet_head
from configurator.report.shop import order_list
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.words import amount, itemised
from tests.support.building import (
    Raw,
    catalogue,
    choice,
    option,
    raw_catalogue,
    selection,
    several,
    written,
)
from tests.support.commands import Run
from tests.support.made_papers import DAY, pdf_of, quandong
from tests.support.paths import CASES
from tests.support.pdfs import BOTTOM, TOP, Pages, measure, squeezed
from tests.support.quotes import generated, shipped_quote
from tests.support.rendered import pdf_from

pytestmark = pytest.mark.usefixtures("nothing_logged")

DATED = ("--date", "2026-08-03")
NAMES = (
    "Ιωάννης Παπαδόπουλος & Υἱοί",
    "Nguyễn Thị Hồng Đào",
    "Zażółć Gęślą Jaźń-Świętosławska",
    'Seán O\'Brien <b>& Sons</b> "Pty"',
    "Þórður Ægisson, Ђорђе, Örkény",
)


def pages_of(html: str) -> Pages:
    return Pages(pdf_from(html))


@cache
def shipped_pages(name: str) -> Pages:
    return Pages(pdf_of(f"quote of {name}"))


# What stands on a quote


def simply_included(line: Line) -> bool:
    """In two columns, which have no room for what the catalogue says of a thing."""
    free = line.amount is not None and not line.amount
    return free and line.quantity == 1 and not line.notes


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_every_name_and_every_price_of_the_quote_is_on_its_pages(name: str) -> None:
    quote, pages = shipped_quote(name), shipped_pages(name)
    for group in quote.price.groups:
        assert pages.has(group.title)
        bare = [line for line in group.lines if simply_included(line)]
        if len(bare) > 1:
            assert pages.has("; ".join(line.title for line in bare) + "included")
        for line in group.lines:
            if len(bare) > 1 and line in bare:
                continue
            shown = amount(line.amount) if line.amount is None or line.amount else "included"
            title = f"{line.quantity} × {line.title}" if line.quantity > 1 else line.title
            notes = (note for note in line.notes if "m²" not in note)
            assert pages.has("".join((title, *notes, shown))), line
        assert pages.has(f"{group.title}{amount(group.subtotal)}")
    for deal in quote.price.deals:
        assert pages.has(f"Package deal: {deal.title}")
        assert pages.has(amount(-deal.saving))
    for extra in quote.shown_extras:
        deals = ", ".join(deal.brief for deal in extra.suggestion.deals)
        named = f"{extra.suggestion.title} ({deals})" if deals else extra.suggestion.title
        assert pages.has(f"{named}{extra.suggestion.because}")
        assert pages.has(amount(extra.difference))
    for title, percent, money in quote.price.payments:
        assert pages.has(f"{title}{percent} %{amount(money)}")
    for sentence in (*quote.cautions, *quote.notes, *quote.not_included, *quote.terms):
        assert pages.has(sentence)


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_a_quote_says_whose_it_is_for_whom_and_until_when(name: str) -> None:
    quote, pages = shipped_quote(name), shipped_pages(name)
    first = pages.texts[0]
    assert quote.customer is not None
    wanted = [
        *(quote.shop.name, *quote.shop.address, quote.shop.email, quote.shop.phone),
        *(quote.customer.name, *quote.customer.address, quote.customer.email),
        *(quote.customer.phone, quote.customer.vehicle, quote.vehicle, quote.title),
        "Quote Q-2041",
        "3 August 2026, valid until 2 September 2026",
    ]
    for text in wanted:
        assert squeezed(text) in first, text
    assert pages.has("I accept quote Q-2041 of 3 August 2026")
    assert pages.metadata["Title"] == "Quote Q-2041, Quandong Flat Fabrication"


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_total_is_the_decimal_one_and_the_largest_figure(name: str) -> None:
    quote, pages = shipped_quote(name), shipped_pages(name)
    total = quote.price.total
    for pattern in (r"TotalincludingGSTAUD([\d,.]+)", r"TotalincludingGST,AUD([\d,]+\.\d\d)"):
        found = re.findall(pattern, pages.text)
        assert [Decimal(text.replace(",", "")) for text in found] == [total.amount]
    figures = [w for w in pages.words[0] if re.fullmatch(r"[\d,]+\.\d\d", w["text"])]
    largest = max(figures, key=lambda word: word["bottom"] - word["top"])
    assert Decimal(largest["text"].replace(",", "")) == total.amount


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_printed_figures_add_up(name: str) -> None:
    """Read from the page alone: subtotals, deals and rounding make the total; payments share it."""
    text = shipped_pages(name).text
    number = r"(-?[\d,]+\.\d\d)"

    def read(pattern: str) -> Decimal:
        return sum((Decimal(n.replace(",", "")) for n in re.findall(pattern, text)), Decimal(0))

    quote = shipped_quote(name)
    titles = "|".join(re.escape(squeezed(group.title)) for group in quote.price.groups)
    parts = read(rf"(?:{titles}){number}(?!\.)(?=[A-Z0-9])")
    listed = sum((g.subtotal.amount for g in quote.price.groups), Decimal(0))
    assert parts == listed
    savings = sum((d.saving.amount for d in quote.price.deals), Decimal(0))
    stages = read(rf"(?:order|vehicle|finishing|collection)\d+%{number}")
    assert stages == quote.price.total.amount
    assert parts - savings <= quote.price.total.amount + Decimal(5)


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_pages_are_numbered_and_of_the_right_size(name: str) -> None:
    pages = shipped_pages(name)
    assert pages.sizes == {(210, 297)}
    for number, text in enumerate(pages.texts, 1):
        assert f"Page{number}of{len(pages.texts)}" in text
        assert squeezed("Quandong Flat Fabrication, quote Q-2041") in text
    assert len(pages.texts) <= 5


def test_a_comparison_has_every_total_and_every_difference_of_its_selections() -> None:
    folder = shipped("catalogues") / "selections"
    chosen = [read_selection(folder / f"{n}.yaml") for n in ("touring", "contractor", "wish")]
    titles = [c.title for c in chosen]
    compared = compare([Resolved(quandong(), one) for one in chosen], titles)
    pages = pages_of(comparison_html(compared))
    for column in compared.columns:
        assert pages.has(column.title)
        assert pages.has(amount(column.price.total))
        for stop in column.stops:
            assert pages.has(stop)
    for row in compared.choices:
        if row.differs:
            first = (row.has[0], row.amounts[0])
            for place, (titles_there, money) in enumerate(zip(row.has, row.amounts, strict=True)):
                if not titles_there:
                    continue
                told = str(itemised(titles_there))
                if money is None or money.amount:
                    told += amount(money)
                elif row.choice != "vehicle":
                    told += "included"
                assert pages.has("as A" if place and (titles_there, money) == first else told)
    measure(pages)


MONEY = {"en-AU": "Where the money goes", "de": "Wofür das Geld ist"}
SHORT = [
    ("touring", "contractor"),
    ("touring", "contractor", "family", "farmer", "wish", "touring"),
]


@pytest.mark.parametrize(("sheet", "tag"), [("A4", "en-AU"), ("Letter", "de")])
@pytest.mark.parametrize("names", SHORT, ids=len)
def test_a_comparison_is_short_and_its_first_page_says_what_matters(
    names: tuple[str, ...], sheet: str, tag: str
) -> None:
    """Two packages on three pages, six on six, each with its picture or why there is none."""
    folders = (shipped("catalogues") / "selections", CASES / "packages")
    files = [next(f for d in folders if (f := d / f"{name}.yaml").exists()) for name in names]
    chosen = [read_selection(file) for file in files]
    compared = compare([Resolved(quandong(), one) for one in chosen], [one.title for one in chosen])
    html = comparison_html(compared, look_of(compared.shop, sheet, tag))
    pages = pages_of(html)
    assert len(pages.texts) <= {2: 3, 6: 6}[len(names)]
    stopped = sum(bool(column.stops) for column in compared.columns)
    assert html.count("<svg") == len(names) - stopped
    assert html.count('class="unbuilt"') == stopped == names.count("wish")
    for column in compared.columns:
        assert squeezed(column.title) in pages.texts[0]
    said = ("Can be built as it is", "Largest open space", "Power without charging")
    for words in said if tag == "en-AU" else ("So zu bauen", "Größter freier Raum"):
        assert squeezed(words) in pages.texts[0]
    total = "Total including GST" if tag == "en-AU" else "Summe einschließlich GST"
    money = pages.lines[pages.page_of(MONEY[tag])]
    row = next(line for line in reversed(money.splitlines()) if line.startswith(total))
    language = look_of(compared.shop, sheet, tag).language
    for column in compared.columns:
        assert language.amount(column.price.total) in row, "the totals are on one line"


def test_where_the_money_goes_adds_up_on_paper_too(run: Run, tmp_path: Path) -> None:
    """What all have alike is a part of the total like any other."""
    asked = ("wish.yaml", "--change", "canopy-height=1000mm", "-o", "c.html")
    assert run("compare", *asked).code == 0
    page = (tmp_path / "c.html").read_text()
    section = page.split("<h2>Where the money goes</h2>", 1)[1].split("</table>", 1)[0]
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", section.split("</thead>", 1)[1], re.S)
    read = [
        [
            Decimal(re.sub(r'<div class="more">.*?</div>|<span.*?</span>|[^-0-9.]', "", cell))
            for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.S)
        ]
        for row in rows
    ]
    *parts, total = read
    assert len(parts) > 3
    assert [sum(column) for column in zip(*parts, strict=True)] == total
    assert any(len(set(part)) == 1 for part in parts), "some part is the same in both"


def test_selections_that_differ_in_places_only_say_so_and_show_it() -> None:
    chosen = read_selection(shipped("catalogues") / "selections" / "contractor.yaml")
    other = evolve(chosen, wishes=(evolve(chosen.wishes[0], towards="rear"),))
    compared = compare([Resolved(quandong(), one) for one in (chosen, other)], ["front", "rear"])
    pages = pages_of(comparison_html(compared))
    assert pages.has("They have the same things, in different places.")
    assert len(pages.texts) <= 2
    assert len(set(re.findall(r"\d+mmbehindthefrontwall", pages.text))) > 1


@pytest.mark.parametrize("picks", ["{}", "{vehicle: ute}", "{tray: flat}"])
def test_selections_without_a_priced_line_are_compared_on_paper(
    run: Run, tmp_path: Path, picks: str
) -> None:
    (tmp_path / "c.json").write_text(written(raw_catalogue([choice("tray", [option("flat")])])))
    for name in "ab":
        head = f"format: 1\ncatalogue: test\ntitle: Wish {name}\n"
        (tmp_path / f"{name}.yaml").write_text(f"{head}picks: {picks}\n")
    for paper in ("paper.pdf", "paper.html"):
        ran = run("compare", "a.yaml", "b.yaml", "--catalogue", "c.json", "-o", paper)
        assert ran.code == 0
    assert "Bars are to one scale" not in (tmp_path / "paper.html").read_text()
    pages = Pages((tmp_path / "paper.pdf").read_bytes())
    assert pages.has("Wish b")
    assert pages.has("Total including GST")
    measure(pages)


# What must never stand on a customer's paper


SECRETS = ("98765", "SECRETSUPPLIER", "SECRETCODE")


def test_what_a_part_costs_the_shop_reaches_no_answer_and_no_paper(
    run: Run, tmp_path: Path
) -> None:
    hidden = {
        "cost": Decimal("98765.43"),
        "supplier": "SECRETSUPPLIER",
        "supplier_code": "SECRETCODE",
    }
    raw = raw_catalogue(
        [
            choice("tray", [option("flat", 1200, mass=40, **hidden)]),
            several("box", [option("left", 300, **hidden), option("right", 310, **hidden)]),
        ],
        add_ons=[option("mat", 45, suggest={"tray": "flat"}, because="It protects.", **hidden)],
    )
    (tmp_path / "c.json").write_text(written(raw))
    picks = "format: 1\ncatalogue: test\npicks: {{vehicle: ute, tray: flat{}}}\n"
    (tmp_path / "a.yaml").write_text(picks.format(""))
    (tmp_path / "b.yaml").write_text(picks.format(", box: [left]"))
    texts = []
    shop = ("--catalogue", "c.json")
    for command in (
        ["check", "a.yaml"],
        ["price", "a.yaml"],
        ["compare", "a.yaml", "b.yaml"],
    ):
        for more in ([], ["--json"]):
            ran = run(*command, *more, *shop)
            assert ran.code == 0, ran.err
            texts.append(ran.out)
    texts.append(run("catalogue", "list", "tray", "box", *shop).out)
    for kind in ("json", "html", "pdf"):
        for command in (
            ["quote", "a.yaml", "--date", "2026-08-03"],
            ["compare", "a.yaml", "b.yaml"],
        ):
            file = tmp_path / f"{command[0]}.{kind}"
            ran = run(*command, "-o", str(file), *shop)
            assert ran.code == 0, ran.err
            content = file.read_bytes()
            assert not any(secret.encode() in content for secret in SECRETS)
            texts.append(Pages(content).text if kind == "pdf" else content.decode())
    assert len(texts) == 13
    for text in texts:
        assert not any(secret in text.replace(",", "") for secret in SECRETS)


# Letters


@pytest.mark.parametrize("name", NAMES)
def test_names_are_printed_as_they_are_written(name: str) -> None:
    c = catalogue([choice("tray", [option("flat", 1200, title=name)])], shop=shop(name))
    chosen = evolve(
        selection({"tray": "flat"}),
        customer=Customer(name, (name,), vehicle=name),
        notes=(f"{name} “quoted”, 5 m² at ± 3 °C, ≤ 4 €…",),
        title=name,
    )
    quote = make_quote(Resolved(c, chosen), "Q-1", DAY)
    html = quote_html(quote)
    pages = pages_of(html)
    assert pages.text.count(squeezed(name)) >= 6
    assert pages.has("“quoted”, 5 m² at ± 3 °C, ≤ 4 €…")
    assert all("+Paper" in font for font in pages.fonts)


def shop(name: str) -> Raw:
    return {"name": name, "address": [name], "kerb-side": "left"}


def test_a_letter_that_the_typeface_lacks_is_told_not_printed_as_a_box(
    run: Run, tmp_path: Path
) -> None:
    with pytest.raises(DataError) as caught:
        html_to_pdf("<p>山田 \u200f</p>")
    assert str(caught.value) == (
        'PDF: error: the typeface of the papers has no U+200F, "山", "田" (no-glyph)\n'
        "    hint: write it with Latin, Greek or Cyrillic letters, or ask for .html"
    )
    text = (tmp_path / "touring.yaml").read_text()
    (tmp_path / "other.yaml").write_text(text.replace("Maren and Tilo Overbeck", "山田"))
    ran = run("quote", "other.yaml", "-o", "q.pdf", "--date", "2026-08-03")
    assert (ran.code, ran.out, (tmp_path / "q.pdf").exists()) == (1, "", False)
    assert run("quote", "other.yaml", "-o", "q.html", "--date", "2026-08-03").code == 0
    assert "山田" in (tmp_path / "q.html").read_text("utf-8")


class Tags(HTMLParser):
    """The elements of a page, its text, and what it refers to."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.text = ""
        self.refers: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.refers += [f"{k}={v}" for k, v in attributes if k in ("src", "href", "data", "style")]
        assert not any(name.startswith("on") for name, _ in attributes)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_whatever_is_written_in_a_name_stays_text_in_html() -> None:
    nasty = "</p><script>alert('1')</script><img src=x onerror=y> & &amp; \"'"
    plain = "Nothing odd"

    def page(name: str) -> str:
        c = catalogue(
            [choice("tray", [option("flat", 1200, title=name[:100], text=name)])], shop=shop(name)
        )
        chosen = evolve(
            selection({"tray": "flat"}, [Adjustment(name, name, Decimal(-1))]),
            customer=Customer(name, (name,), name, name[:40], name),
            notes=(name,),
            title=name,
        )
        return quote_html(make_quote(Resolved(c, chosen), "Q-1", DAY))

    odd, even = Tags(page(nasty)), Tags(page(plain))
    assert odd.tags == even.tags
    assert odd.text.count(nasty) >= 10
    assert odd.refers == even.refers


def test_a_page_needs_no_other_file() -> None:
    html = quote_html(shipped_quote("touring"))
    tags = Tags(html)
    assert [
        ref for ref in tags.refers if not ref.startswith(("style=", "href=#", "src=data:"))
    ] == []
    assert "url(" not in html
    assert "@import" not in html
    assert shipped_pages("touring").links == []


@pytest.mark.parametrize(
    "html",
    [
        '<img alt="" src="{}">',
        '<link rel="stylesheet" href="{}">',
        '<link rel="attachment" href="{}">',
        "<style>@import url({})</style>",
        "<style>p {{ background: url({}) }}</style><p>x</p>",
        "<style>@font-face {{ font-family: X; src: url({}) }} p {{ font-family: X }}</style><p>x",
        '<object data="{}"></object>',
        '<svg width="9" height="9"><title>x</title><image href="{}" width="9" height="9"/></svg>',
    ],
)
@pytest.mark.parametrize("where", ["file:///etc/hostname", "http://127.0.0.1:9/x", "ftp://a.b/c"])
def test_nothing_is_fetched_from_file_or_network(
    html: str, where: str, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> NoReturn:
        raise AssertionError("a connection was made")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    opened = []
    real = io.open

    def watched(file: Any, *arguments: Any, **more: Any) -> Any:
        opened.append(str(file))
        return real(file, *arguments, **more)

    monkeypatch.setattr("builtins.open", watched)
    page = f'<!DOCTYPE html><html lang="en"><title>x</title><body>{html.format(where)}'
    with pytest.raises(DataError, match=r"the page would lack something: .*load") as caught:
        html_to_pdf(page)
    assert "/etc/hostname" not in opened
    assert {problem.code for problem in caught.value.problems} == {"left-out"}
    caplog.clear()


def test_a_picture_that_a_template_names_by_its_file_is_told(
    run: Run, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Nothing is fetched: a page without its picture would be sent without anybody knowing."""
    (tmp_path / "own").mkdir()
    (tmp_path / "c.json").write_text(written(raw_catalogue([choice("tray", [option("flat", 9)])])))
    flat = ("--catalogue", "c.json", "--pick", "vehicle=ute", "--pick", "tray=flat")
    head = '{% extends "shipped/page.html" %}{% block letterhead %}'
    for source in ("logo.png", "data:image/png;base64,AAAA", "data:image/svg+xml,%3Csvg/%3E"):
        picture = f'<img alt="Ours" src="{source}">'
        (tmp_path / "own" / "page.html").write_text(f"{head}{picture}{{% endblock %}}")
        ran = run("quote", *flat, "-o", "q.pdf", "--templates", "own", *DATED)
        assert ran.code == 1
        assert re.search("would lack something|drawing in a template", ran.err)
        assert not (tmp_path / "q.pdf").exists()
    caplog.clear()


# Where things lie


EXTREMES = [
    (1, 20, 0, True),
    (1, 60, 60, True),
    (40, 60, 0, True),
    (40, 60, 7, True),
    (40, 80, 60, True),
    (33, 80, 3, False),
]


@pytest.mark.parametrize(("lines", "length", "add_ons", "spaces"), EXTREMES)
def test_pages_hold_short_and_long_quotes(
    lines: int, length: int, add_ons: int, spaces: bool
) -> None:
    quote = generated(lines, length, add_ons, spaces)
    pages = pages_of(quote_html(quote))
    measure(pages)
    assert len(quote.suggestions) == add_ons
    assert pages.has("Optional extras") is bool(add_ons)
    for group in quote.price.groups:
        heading = pages.page_of(f"{group.title}{amount(group.subtotal)}")
        first = group.lines[0].title
        assert heading == pages.page_of(f"{group.title}{amount(group.subtotal)}{first}")
    for suggestion in (extra.suggestion for extra in quote.shown_extras):
        pages.page_of(f"{suggestion.line.title}{suggestion.because}")
    grand = f"Total including GST, AUD{amount(quote.price.total)}"
    assert pages.page_of(grand) == pages.page_of(f"of which GST{amount(quote.price.tax.tax)}")
    assert pages.page_of("I accept quote") == pages.page_of("NameSignatureDate")


@pytest.mark.parametrize("lines", range(14, 30, 3))
def test_no_heading_and_no_row_stands_alone(lines: int) -> None:
    """With so many lines, the list of suggestions starts all the way down a page."""
    quote = generated(lines, 60, 12)
    pages = pages_of(quote_html(quote))
    shown = [extra.suggestion for extra in quote.shown_extras]
    first, second = shown[:2]
    start = pages.page_of("Optional extras (not included in the total)")
    assert start == pages.page_of(first.line.title + first.because)
    assert start == pages.page_of(second.line.title + second.because)
    before, last = shown[-2:]
    assert pages.page_of(before.line.title + before.because) == pages.page_of(
        last.line.title + last.because
    )
    sizes: dict[int, set[int]] = {}
    for number, words in enumerate(pages.words):
        sizes.setdefault(number, set()).update(
            round(w["top"]) for w in words if TOP + 20 < w["top"] < BOTTOM - 30
        )
    assert all(len(tops) >= 3 for tops in sizes.values()), "a page with next to nothing on it"


def test_large_amounts_stay_on_one_line() -> None:
    c = catalogue([choice("tray", [option("flat", Decimal("9876543.21"), title="Gold tray")])])
    quote = make_quote(Resolved(c, selection({"tray": "flat"})), "Q-1", DAY)
    pages = pages_of(quote_html(quote))
    words = [word["text"] for page in pages.words for word in page]
    assert words.count("9,876,543.21") >= 4
    measure(pages)


@pytest.mark.parametrize("tag", ["en-AU", "de"])
def test_amounts_of_ten_figures_stay_on_every_page(tag: str) -> None:
    """About 10^12 of a currency's smallest units: the most that a price may be."""
    priced = [option("flat", 9876543210, cost=8765432109), option("high", 9765432109)]
    c = catalogue([choice("tray", priced)], currency="IDR")
    chosen = [selection({"tray": one}) for one in ("flat", "high")]
    builds = [Resolved(c, one) for one in chosen]
    look = look_of(c.shop, tag=tag)
    head, _ = sheet_head(builds[0], "Q-1", DAY)
    limit = Budget(Decimal(9_000_000_000), entries=(BudgetEntry("Cab", Decimal(8_000_000_000)),))
    papers = (
        quote_html(make_quote(builds[0], "Q-1", DAY), look),
        comparison_html(compare([Resolved(c, one) for one in chosen], ["one", "other"]), look),
        budget_html(budget_paper(builds[0], limit), look),
        orders_html(order_list(builds[0], head, with_cost=True), look),
    )
    for html in papers:
        pages = pages_of(html)
        price = "8,765,432,109.00" if html is papers[-1] else "9,876,543,210.00"
        shown = price if tag == "en-AU" else price.translate(str.maketrans(",.", ".,"))
        assert shown in {word["text"] for page in pages.words for word in page}
        if html is not papers[-1]:
            measure(pages)


def test_the_list_of_open_quotes_has_room_for_their_names() -> None:
    lines = "".join(Pages(pdf_of("open quotes")).lines)
    assert "contractor gone" in lines
    assert "at the prices of 3 August 2026" in lines


@pytest.mark.parametrize(("currency", "shown"), [("JPY", "1,235"), ("KWD", "1,234.568")])
def test_amounts_have_the_decimals_of_their_currency(currency: str, shown: str) -> None:
    price = Money(Decimal(shown.replace(",", "")), currency).amount
    c = catalogue([choice("tray", [option("flat", price)])], currency=currency)
    quote = make_quote(Resolved(c, selection({"tray": "flat"})), "Q-1", DAY)
    assert pages_of(quote_html(quote)).has(f"Total including GST{currency} {shown}")


# The same every time


def test_the_order_of_picks_changes_nothing(touring: Selection) -> None:
    turned = attrs.evolve(touring, picks=touring.picks[::-1])
    quotes = [make_quote(Resolved(quandong(), chosen), "Q-1", DAY) for chosen in (touring, turned)]
    assert quote_html(quotes[0]) == quote_html(quotes[1])


def test_pages_are_tagged_and_carry_their_fonts() -> None:
    pdf = pdf_of("quote of contractor")
    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        catalog = opened.doc.catalog
        assert catalog["Lang"] in (b"en-AU", "en-AU")
        assert catalog["MarkInfo"]["Marked"] is True
        assert "StructTreeRoot" in catalog
        assert b"pdfuaid" in catalog["Metadata"].resolve().get_data()
    for font in shipped_pages("contractor").fonts:
        assert re.match(r"[A-Z]{6}\+Paper", font), font
