"""Every paper as PDF, made once for all the tests that look at them."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from functools import cache

from attrs import evolve

from configurator import (
    Adjustment,
    Catalogue,
    Comparison,
    Customer,
    Layout,
    RequoteAnswer,
    Selection,
    to_data,
    to_json,
)
from configurator.answers.data import selection_data
from configurator.answers.requote import Tally
from configurator.catalogue.reading import shipped
from configurator.layout.answers import lay_out
from configurator.render.html import (
    budget_html,
    comparison_html,
    layout_html,
    quote_html,
    requote_html,
)
from configurator.render.sheets import cuts_html, job_html, orders_html, wiring_html
from configurator.render.writing import carried_by, carrying
from configurator.report.budget import budget_paper
from configurator.report.comparison import compare
from configurator.report.cuts import cut_list
from configurator.report.job import job_sheet
from configurator.report.quote import make_quote
from configurator.report.sheet_head import sheet_head
from configurator.report.shop import order_list
from configurator.report.wiring import wiring_sheet
from configurator.requoting.quotes import OpenQuote, requoted
from configurator.selection.attachments import Carried
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.building import catalogue, choice, option, percent, selection
from tests.support.rendered import kept, pdf_from, said
from tests.support.shipped import read_catalogue

DAY = dt.date(2026, 8, 3)

HOSTILE = "</td></table><script>alert(1)</script> ]]> &amp; & \"'` \\(x\\) %PDF {{ 7*7 }}"
"""What might mean something to HTML, XML, PDF, or a template, in one text."""


@cache
def quandong() -> Catalogue:
    """The shipped catalogue."""
    return read_catalogue(shipped("catalogues") / "quandong.yaml")


@cache
def shipped_selection(name: str) -> Selection:
    """One of the shipped selections."""
    return read_selection(shipped("catalogues") / "selections" / f"{name}.yaml")


def hostile() -> tuple[Catalogue, Selection]:
    """A catalogue and a selection with hostile text wherever text may stand."""
    options = [option("flat", 1200, title=HOSTILE, text=HOSTILE, mass=40)]
    c = catalogue(
        [choice("tray", options, title=HOSTILE[:60])],
        shop={"name": HOSTILE, "address": [HOSTILE], "kerb-side": "left", "phone": "08 5550 0100"},
        add_ons=[option("mat", 45, title=HOSTILE, suggest={"tray": "flat"}, because=HOSTILE)],
    )
    chosen = evolve(
        selection({"tray": "flat"}, [Adjustment(HOSTILE[:80], HOSTILE, percent(-5).percent)]),
        customer=Customer(HOSTILE, (HOSTILE,), HOSTILE, HOSTILE[:40], HOSTILE),
        notes=(HOSTILE,),
        title=HOSTILE[:80],
    )
    return c, chosen


def _compared() -> Comparison:
    chosen = [shipped_selection(name) for name in ("touring", "contractor", "wish")]
    return compare([Resolved(quandong(), one) for one in chosen], [one.title for one in chosen])


def _requoted() -> RequoteAnswer:
    """Quotes of every fate, under a catalogue in which a pick of the last one is gone."""
    now, tally = quandong().on(DAY), Tally(quandong().on(DAY), 200)
    for name in ("touring", "contractor", "wish"):
        chosen = shipped_selection(name)
        content = to_json(selection_data(chosen)).encode()
        answer = ""
        if name != "wish":
            told = to_data(make_quote(Resolved(now, chosen), name, DAY))
            for price in (told["price"], told["price"]["groups"][0]["lines"][1]):
                key = "total" if "total" in price else "amount"
                price[key] = str(Decimal(price[key]) - 100)
            answer = to_json(told)
        gone = content.replace(b"flood-rear", b"flood-front")
        some = (OpenQuote(name, content, answer), OpenQuote(f"{name} gone", gone, answer))
        for one in requoted(now, some):
            tally.add(one)
    return tally.answer()


@cache
def page_of(name: str) -> str:
    """The HTML of a paper, by its name."""
    return _page_and_carried(name)[0]


@cache
def pdf_of(name: str) -> bytes:
    """The PDF of a paper, by its name; WeasyPrint has nothing to say about it."""
    with said() as heard:
        made = pdf_from(*_page_and_carried(name))
    assert heard == []
    return made


PAPERS = (
    "quote of touring",
    "quote of contractor",
    "quote with hostile text",
    "comparison",
    "budget",
    "open quotes",
    "layout of touring",
    "layout of contractor",
    "job sheet of touring",
    "wiring sheet of touring",
    "order list of touring",
    "cut list of touring",
)


@cache
def _page_and_carried(name: str) -> tuple[str, Carried | None]:
    """Made for all workers: what would save money in a budget takes 2 CPU seconds to find."""
    return kept("paper", name.encode(), lambda: _made(name))


def _made(name: str) -> tuple[str, Carried | None]:
    kind, _, of = name.partition(" of ")
    match kind:
        case "quote":
            quote = make_quote(Resolved(quandong(), shipped_selection(of)), "Q-2041", DAY)
            return quote_html(quote), carried_by(quote)
        case "quote with hostile text":
            quote = make_quote(Resolved(*hostile()), "Q-2041", DAY)
            return quote_html(quote), carried_by(quote)
        case "comparison":
            compared = _compared()
            return comparison_html(compared), carried_by(compared)
        case "budget":
            paper = budget_paper(Resolved(quandong().on(DAY), shipped_selection("touring")))
            return budget_html(paper), carried_by(paper)
        case "open quotes":
            return requote_html(_requoted()), None
        case "layout":
            chosen = shipped_selection(of)
            laid = lay_out(Resolved(quandong(), chosen))
            assert isinstance(laid, Layout)
            page = layout_html(Resolved(quandong(), chosen), laid)
            return page, carrying(chosen, DAY.isoformat())
        case "job sheet" | "wiring sheet" | "order list" | "cut list":
            return _sheet(kind, shipped_selection(of)), None
        case _:
            raise ValueError(name)


def _sheet(kind: str, chosen: Selection) -> str:
    head, laid = sheet_head(Resolved(quandong(), chosen), "DRAFT", DAY)
    match kind:
        case "cut list":
            build = Resolved(quandong(), chosen)
            cuts = cut_list(build, head, job_sheet(build, head, laid))
            assert cuts is not None
            return cuts_html(cuts)
        case "job sheet":
            return job_html(quandong(), job_sheet(Resolved(quandong(), chosen), head, laid))
        case "wiring sheet":
            wiring = wiring_sheet(Resolved(quandong(), chosen), head, laid)
            assert wiring is not None
            return wiring_html(wiring)
        case _:
            return orders_html(order_list(Resolved(quandong(), chosen), head, with_cost=True))
