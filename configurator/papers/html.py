"""Papers as HTML: values poured into the templates, which decide nothing but the look."""

from __future__ import annotations

from functools import cache
from typing import Any

import jinja2

from configurator.catalogue.model import Shop
from configurator.catalogue.reading import read_text, shipped
from configurator.comparing.comparison import Comparison, bars_of
from configurator.papers.bars import Bar, bar_picture, build_up_picture
from configurator.papers.budget import MOST_SHOWN, BudgetPaper, build_up
from configurator.papers.quote import Quote
from configurator.words import (
    amount,
    amount_with_currency,
    letter,
    plain,
    signed_amount,
    signed_plain,
)

__all__ = ["budget_html", "comparison_html", "page", "quote_html", "style"]

_PORTRAIT = 3
"""The most columns of a comparison that stand side by side on an upright page."""

_NARROW, _WIDE = 174, 261
"""Width of what is printed on an upright A4 page and on one that lies, mm."""

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""In the papers' own language, whatever the locale of the program that makes them."""


@cache
def _templates() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(shipped("templates")),
        undefined=jinja2.StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["amount"] = amount
    environment.filters["signed"] = signed_amount
    environment.filters["signed_plain"] = signed_plain
    environment.filters["with_currency"] = amount_with_currency
    environment.filters["plain"] = plain
    environment.filters["day"] = lambda day: f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
    return environment


@cache
def style() -> str:
    """The style sheet of every paper."""
    return read_text(shipped("templates") / "paper.css")


def quote_html(quote: Quote) -> str:
    """The quote as one HTML page that needs no other file."""
    return _page("quote.html", quote.shop, quote=quote)


def comparison_html(comparison: Comparison, shop: Shop) -> str:
    """The comparison as one HTML page that needs no other file."""
    wide = len(comparison.columns) > _PORTRAIT
    money = comparison.money
    largest = max(abs(amount.amount) for _, amounts in money for amount in amounts)
    letters = [letter(index) for index in range(len(comparison.columns))]
    pictures = [
        (
            title,
            bar_picture(
                f"{title}, {amounts[0].currency}",
                [Bar(names, amount) for names, amount in bars_of(amounts)],
                largest,
                _WIDE if wide else _NARROW,
                shop.accent,
            ),
        )
        for title, amounts in money
        if any(amounts)
    ]
    return _page(
        "comparison.html",
        shop,
        comparison=comparison,
        letters=letters,
        wide=wide,
        pictures=pictures,
    )


def budget_html(paper: BudgetPaper) -> str:
    """The build budget as one HTML page that needs no other file."""
    picture = build_up_picture(
        f"How the build comes to {amount_with_currency(paper.reckoning.total)}",
        build_up(paper.reckoning),
        paper.reckoning.limit,
        _NARROW,
        paper.shop.accent,
    )
    return _page("budget.html", paper.shop, paper=paper, picture=picture, most=MOST_SHOWN)


def _page(template: str, shop: Shop, **values: Any) -> str:
    return _templates().get_template(template).render(shop=shop, style=style(), **values)


def page(template: str, shop: Shop, **values: Any) -> str:
    """A page of the shop from one of its templates, for papers made in other modules."""
    return _page(template, shop, **values)
