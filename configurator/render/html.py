"""Papers as HTML: report parts filled into templates, which decide only the look.

Every page needs no other file. Without a look it has the one that the shop's catalogue says.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from configurator.answers.requote import RequoteAnswer
from configurator.drawing.charts import bars_svg
from configurator.drawing.corner import corner_sides, corner_svg
from configurator.drawing.layouts import layout_svg
from configurator.drawing.vehicle import vehicle_svg
from configurator.fit.layout import Layout
from configurator.render.look import Look, look_of
from configurator.render.templates import filled
from configurator.report.budget import (
    BudgetPaper,
    budget_sums,
    budget_table,
    build_up,
    certainty,
    plan_parts,
    savings_table,
    shared_out,
    smaller_savings,
    standing,
)
from configurator.report.comparison import Comparison
from configurator.report.comparison_tables import (
    differing_figures,
    differing_table,
    glance_table,
    money_table,
    places_table,
)
from configurator.report.extras import extras_table
from configurator.report.layout import DATUM, PictureSource, layout_list, space_told
from configurator.report.power import charging_facts, season_of
from configurator.report.price import payments_table, price_sums
from configurator.report.quote import Quote
from configurator.report.quote_tables import (
    dates_table,
    facts_told,
    in_brief,
    package_columns,
    standing_table,
)
from configurator.report.requote import (
    causes_table,
    more_quotes,
    outcomes_table,
    quotes_table,
    requote_headline,
)
from configurator.selection.resolved import Resolved
from configurator.words import Speech, letter, shown

Paper: TypeAlias = Quote | Comparison | BudgetPaper | RequoteAnswer

_PORTRAIT = 3
"""The most columns of a comparison that stand side by side on an upright page."""

_LONG = 5_000
"""Letters of cautions or terms that do not stand in two columns."""

_GAP = 6
"""Between two pictures side by side, mm."""

_ABREAST, _COMPARED = 6, 64.0
"""The most pictures of a comparison side by side, and their height, mm."""

_LONG_LABEL = 62
"""Room before bars, mm, for titles."""

_SAVINGS = 10
"""The most single savings that the budget paper lists."""

_BESIDE = {"A4": 20.0, "letter": 16.0}
"""Height that the picture of a layout leaves to its heading, mm; Letter has narrower margins."""

_LIST = 66
"""Width of the list of units beside that picture, mm."""


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
    amounts = [amount for _, _, amount in quote.price.payments] + [quote.price.total]
    return filled(
        "quote.html",
        quote.shop,
        look,
        quote=quote,
        brief=in_brief(quote).rows,
        pictures=_quote_pictures(quote, look),
        package=package_columns(quote.price, look.language),
        sums=price_sums(quote.price),
        payments=payments_table(quote.price),
        dates=dates_table(quote, look.language.day) if quote.selection.dates else None,
        extras=extras_table(quote.shown_extras, quote.price),
        more_extras=len(quote.extras) - len(quote.shown_extras),
        standing=standing_table(quote.mass, quote.power),
        charging=facts_told(charging_facts(quote.power)),
        power=shown(quote.power),
        season=season_of(quote.power),
        amounts=max(len(look.language.amount(amount)) for amount in amounts),
        cautions=_halves(quote.cautions),
        terms=_halves(quote.terms),
    )


def _quote_pictures(quote: Quote, look: Look) -> tuple[str, str]:
    """The vehicle and the package as pictures of the first page."""
    drawn, speech = quote.drawn, look.language
    layout = drawn.layout
    vehicle = vehicle_svg(drawn.build, layout, speech=speech)
    if layout is None or not layout.placements:
        return vehicle, ""
    return vehicle, corner_svg(drawn.build, layout, speech=speech)


def _halves(told: Sequence[str]) -> tuple[Sequence[str], Sequence[str]]:
    """What stands in two columns, about as much in one as in the other; or in one, if it is long.

    Pages would part columns that are long, and be read in the wrong order.
    """
    if sum(map(len, told)) > _LONG:
        return told, ()
    total, so_far, count = sum(map(len, told)), 0, 0
    while count < len(told) and so_far + len(told[count]) / 2 <= total / 2:
        so_far += len(told[count])
        count += 1
    return told[:count], told[count:]


def comparison_html(comparison: Comparison, look: Look | None = None) -> str:
    """The comparison as one HTML page."""
    shop = comparison.shop
    look = look or look_of(shop)
    wide = len(comparison.columns) > _PORTRAIT
    count = min(len(comparison.columns), _ABREAST)
    width = ((look.sheet.wide if wide else look.sheet.width) - _GAP * (count - 1)) / count
    differing = differing_table(comparison)
    drawn = [column.drawn for column in comparison.columns]
    # one kind of picture for all: of the units where each has them placed, else of the vehicle
    placed = all(one.layout and one.layout.placements for one in drawn) or width <= _COMPARED
    return filled(
        "comparison.html",
        shop,
        look,
        comparison=comparison,
        wide=wide,
        pictures=[
            (
                letter(index),
                _side_by_side(column.drawn, width, look.language, placed),
                bool(column.stops),
            )
            for index, column in enumerate(comparison.columns)
        ],
        abreast=count,
        glance=glance_table(comparison),
        differing=differing,
        places=None if differing.rows else places_table(comparison),
        money=money_table(comparison),
        figures=differing_figures(comparison),
    )


def _side_by_side(drawn: PictureSource, width: float, speech: Speech, placed: bool) -> str:
    """The package from a corner above, or the vehicle; of a narrow one, only what is placed."""
    build, layout, room = drawn.build, drawn.layout, (width, _COMPARED)
    if not placed:
        return vehicle_svg(build, layout, paper=room, speech=speech)
    if layout is None or not layout.placements:
        return ""
    sides = corner_sides(build, layout)[:1]
    return corner_svg(build, layout, sides, paper=room, speech=speech, key=width > _COMPARED)


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
        certainty=certainty(paper.reckoning),
        shared=shared_out(paper.reckoning),
        digits=len(look.language.amount(paper.reckoning.total)),
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
    listed, look = len(answer.quotes), look or look_of(answer.shop)
    return filled(
        "requote.html",
        answer.shop,
        look,
        answer=answer,
        headline=requote_headline(answer, look.language.day),
        outcomes=outcomes_table(answer),
        causes=causes_table(answer),
        quotes=quotes_table(answer, listed),
        more=more_quotes(answer, listed),
    )


def layout_room(look: Look) -> tuple[float, float]:
    """The room that the views have on the paper of a layout, mm."""
    return float(look.sheet.width - _LIST), look.sheet.height - _BESIDE[look.sheet.name]


def layout_html(
    build: Resolved,
    layout: Layout,
    look: Look | None = None,
    unkept: Sequence[str] = (),
) -> str:
    """The layout as one HTML page, with sentences about places that could not be kept."""
    catalogue = build.catalogue
    look = look or look_of(catalogue.shop)
    picture = layout_svg(build, layout, paper=layout_room(look), speech=look.language, listed=False)
    return filled(
        "layout.html",
        catalogue.shop,
        look,
        title=build.selection.title or catalogue.title,
        picture=picture,
        list_width=_LIST,
        units=layout_list(layout),
        datum=DATUM,
        unkept=unkept,
        spaces=[sentence for space in layout.spaces for sentence in space_told(layout, space)],
    )
