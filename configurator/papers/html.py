"""Papers as HTML: values poured into the templates, which decide nothing but the look."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Any

import jinja2

from configurator.catalogue.model import Shop
from configurator.catalogue.reading import read_text, shipped
from configurator.compare import Comparison
from configurator.papers.quote import Quote
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = ["comparison_html", "quote_html", "style"]


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
    environment.filters["with_currency"] = amount_with_currency
    environment.filters["plain"] = plain
    environment.filters["day"] = lambda day: f"{day.day} {day:%B %Y}"
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
    return _page("comparison.html", shop, comparison=comparison, limits=_limits_left(comparison))


def _limits_left(comparison: Comparison) -> list[tuple[str, list[Decimal | None]]]:
    """What is left of each limit in each selection that uses it."""
    titles = {
        state.limit.id: f"{state.limit.title} left, {state.limit.unit}"
        for column in comparison.columns
        for state in column.limits
        if state.used
    }
    by_column = [{s.limit.id: s.left for s in column.limits} for column in comparison.columns]
    return [(title, [left.get(limit) for left in by_column]) for limit, title in titles.items()]


def _page(template: str, shop: Shop, **values: Any) -> str:
    return _templates().get_template(template).render(shop=shop, style=style(), **values)
