"""Papers as HTML: the parts of reports poured into templates, which decide nothing but the look.

Every page needs no other file. Without a look it has the one that the shop's catalogue says.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from configurator.answers.requote import RequoteAnswer
from configurator.catalogue.shop import Shop
from configurator.drawing.charts import bars_svg, charge_svg
from configurator.drawing.layouts import layout_svg
from configurator.fit.layout import Layout
from configurator.render.look import Look, look_of
from configurator.render.templates import filled
from configurator.report.budget import (
    BudgetPaper,
    budget_sums,
    budget_table,
    build_up,
    plan_parts,
    savings_table,
    smaller_savings,
    standing,
)
from configurator.report.checks import limit_facts
from configurator.report.comparison import Comparison
from configurator.report.comparison_tables import (
    besides_told,
    compared_table,
    differing_table,
    figures_table,
    money_chart,
    money_table,
)
from configurator.report.extras import extras_table
from configurator.report.layout import DATUM, layout_table, space_told
from configurator.report.mass import mass_facts, mass_table
from configurator.report.model import Bar, Chart
from configurator.report.power import power_facts, season_of
from configurator.report.price import payments_table, price_sums, price_table
from configurator.report.quote import Quote
from configurator.report.requote import (
    causes_table,
    more_quotes,
    outcomes_table,
    quotes_table,
    requote_headline,
)
from configurator.selection.resolved import Resolved
from configurator.words import Speech, shown, text

Paper: TypeAlias = Quote | Comparison | BudgetPaper | RequoteAnswer

_PORTRAIT = 3
"""The most columns of a comparison that stand side by side on an upright page."""

_GAP = 8
"""Between two pictures side by side, mm."""

_LABEL, _LONG_LABEL = 20, 62
"""Room before bars, mm: for letters of columns, and for titles."""

_LEAST_BAR = 200
"""Groups without a bar of at least one in this many of the longest have no picture."""

_CURVE = 80
"""Width of the charge over a stay, beside the table of power, mm."""

_SAVINGS = 10
"""The most single savings that the budget paper lists."""

_BESIDE = 39.0
"""Height of the sheet that the picture of a layout leaves to its heading, mm."""

_LETTERS = 1.15
"""How many times larger than usual its letters are: larger ones would leave less to the picture."""


def paper_html(paper: Paper, look: Look | None = None) -> str:
    """The paper as one HTML page."""
    match paper:
        case Quote():
            return quote_html(paper, look)
        case Comparison():
            return comparison_html(paper, look)
        case RequoteAnswer():
            return requote_html(paper, look)
        case _:
            return budget_html(paper, look)


def quote_html(quote: Quote, look: Look | None = None) -> str:
    """The quote as one HTML page."""
    look = look or look_of(quote.shop)
    speech, power = look.language, quote.power
    curve = charge_svg(power, _CURVE, speech) if power.curves and power.capacity else ""
    return filled(
        "quote.html",
        quote.shop,
        look,
        quote=quote,
        curve=curve,
        drawing=None if quote.layout is None else quote.layout.drawing(speech),
        package=price_table(quote.price, brief=True),
        sums=price_sums(quote.price),
        payments=payments_table(quote.price),
        extras=extras_table(quote.extras, quote.price),
        loads=mass_table(quote.mass, all_states=False),
        sizes=mass_facts(quote.mass, for_customer=True),
        limits=limit_facts(quote.shown_limits),
        energy=power_facts(quote.power, for_customer=True),
        power=shown(quote.power),
        season=season_of(quote.power),
        datum=DATUM,
    )


def comparison_html(comparison: Comparison, look: Look | None = None) -> str:
    """The comparison as one HTML page."""
    shop = comparison.shop
    look = look or look_of(shop)
    wide = len(comparison.columns) > _PORTRAIT
    chart = money_chart(comparison)
    width = ((look.sheet.wide if wide else look.sheet.width) - _GAP) // 2
    return filled(
        "comparison.html",
        shop,
        look,
        comparison=comparison,
        wide=wide,
        compared=compared_table(comparison),
        differing=differing_table(comparison),
        besides=tuple(besides_told(comparison)),
        money=money_table(comparison),
        figures=figures_table(comparison),
        chart=chart,
        pictures=_pictures(chart, width, shop, look.language),
    )


def _pictures(chart: Chart, width: int, shop: Shop, speech: Speech) -> list[tuple[str, str]]:
    """A picture for each group of bars that is long enough to be seen."""
    return [
        (title, bars_svg(chart, bars, _named(title, bars), width, _LABEL, shop.accent, speech))
        for title, bars in chart.groups
        if chart.longest and max(bar.high for bar in bars) * _LEAST_BAR >= chart.longest
    ]


def _named(title: str, bars: Sequence[Bar]) -> str:
    return text("{title}, {currency}", title=title, currency=bars[0].amount.currency)


def budget_html(paper: BudgetPaper, look: Look | None = None) -> str:
    """The build budget as one HTML page."""
    look = look or look_of(paper.shop)
    chart = build_up(paper.reckoning)
    ((_, bars),) = chart.groups
    accent, width = paper.shop.accent, look.sheet.width
    return filled(
        "budget.html",
        paper.shop,
        look,
        paper=paper,
        standing=standing(paper.reckoning),
        amounts=budget_table(paper),
        sums=budget_sums(paper, brief=True),
        chart=chart,
        picture=bars_svg(chart, bars, chart.title, width, _LONG_LABEL, accent, look.language),
        plan=plan_parts(paper),
        savings=savings_table(paper, _SAVINGS),
        smaller=smaller_savings(paper, _SAVINGS),
    )


def requote_html(answer: RequoteAnswer, look: Look | None = None) -> str:
    """What became of all open quotes as one HTML page, with those that matter most."""
    listed = len(answer.quotes)
    return filled(
        "requote.html",
        answer.shop,
        look or look_of(answer.shop),
        answer=answer,
        headline=requote_headline(answer),
        outcomes=outcomes_table(answer),
        causes=causes_table(answer),
        quotes=quotes_table(answer, listed),
        more=more_quotes(answer, listed),
    )


def layout_html(
    build: Resolved,
    layout: Layout,
    look: Look | None = None,
    unkept: Sequence[str] = (),
) -> str:
    """The layout as one HTML page, with sentences about places that could not be kept."""
    catalogue = build.catalogue
    look = look or look_of(catalogue.shop)
    room = (float(look.sheet.width), look.sheet.height - _BESIDE)
    return filled(
        "layout.html",
        catalogue.shop,
        look,
        title=build.selection.title or catalogue.title,
        picture=layout_svg(build, layout, paper=room, letters=_LETTERS, speech=look.language),
        units=layout_table(layout),
        datum=DATUM,
        unkept=unkept,
        spaces=[sentence for space in layout.spaces for sentence in space_told(layout, space)],
    )
