"""Papers as HTML: values poured into the templates, which decide nothing but the look."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from configurator.catalogue.model import Shop
from configurator.drawing.pictures import charge_svg
from configurator.render.bars import Bar, bar_picture, build_up_picture
from configurator.render.look import Look, look_of
from configurator.render.phrases import spoken
from configurator.render.templates import filled
from configurator.report.budget import BudgetPaper, build_up
from configurator.report.comparison import Comparison, bars_of
from configurator.report.quote import Quote
from configurator.words import letter, text

__all__ = ["budget_html", "comparison_html", "page", "quote_html"]

_PORTRAIT = 3
"""The most columns of a comparison that stand side by side on an upright page."""

_GAP = 8
"""Between two pictures side by side, mm."""

_LEAST_BAR = 200
"""Groups without a bar of at least one in so many of the longest have no picture."""

_CURVE = 80
"""Width of the charge over a stay, beside the table of power, mm."""

_SAVINGS = 10
"""The most single savings that the budget paper lists."""


def quote_html(quote: Quote, look: Look | None = None) -> str:
    """The quote as one HTML page that needs no other file; see :func:`page` for its look."""
    curve = charge_svg(quote.power, _CURVE) if quote.power.curves and quote.power.capacity else ""
    return page("quote.html", quote.shop, look, quote=quote, curve=curve)


def comparison_html(comparison: Comparison, look: Look | None = None) -> str:
    """The comparison as one HTML page that needs no other file; see :func:`page` for its look."""
    shop = comparison.shop
    look = look or look_of(shop)
    wide = len(comparison.columns) > _PORTRAIT
    money = comparison.money
    largest = max((abs(one.amount) for _, amounts in money for one in amounts), default=Decimal(0))
    pictures = [
        (
            spoken(title, look.language),
            bar_picture(
                f"{spoken(title, look.language)}, {amounts[0].currency}",
                [Bar(names, amount) for names, amount in bars_of(amounts)],
                largest,
                ((look.sheet.wide if wide else look.sheet.width) - _GAP) // 2,
                shop.accent,
                look.language,
            ),
        )
        for title, amounts in money
        if largest and max(abs(amount.amount) for amount in amounts) * _LEAST_BAR >= largest
    ]
    return page(
        "comparison.html",
        shop,
        look,
        comparison=comparison,
        letters=[letter(index) for index in range(len(comparison.columns))],
        wide=wide,
        pictures=pictures,
    )


def budget_html(paper: BudgetPaper, look: Look | None = None) -> str:
    """The build budget as one HTML page that needs no other file; see :func:`page`."""
    look = look or look_of(paper.shop)
    speak = look.language
    total = speak.amount_with_currency(paper.reckoning.total)
    picture = build_up_picture(
        speak.say(text("How the build comes to {total}", total=total)),
        build_up(paper.reckoning, speak),
        paper.reckoning.limit,
        look.sheet.width,
        paper.shop.accent,
        speak,
    )
    return page("budget.html", paper.shop, look, paper=paper, picture=picture, most=_SAVINGS)


def page(template: str, shop: Shop, look: Look | None = None, **values: Any) -> str:
    """A page of the shop from one of its templates.

    Args:
        template: name of the template.
        shop: whose paper it is.
        look: how it looks; None for what the shop's catalogue says.
        values: what the template sees.

    Raises:
        CatalogueError: the shop's logo or language cannot be used.
        DataError: a template of the shop's own cannot be filled in.
    """
    return filled(template, shop, look or look_of(shop), **values)
