"""The commands that answer about one build: check, price, budget, layout, mass, power."""

from __future__ import annotations

import sys
from decimal import Decimal

import attrs
import click

from configurator.build_changes import resolved
from configurator.cli.again import command
from configurator.cli.arguments import (
    budget_given,
    kept_from,
    number_from,
    number_to,
    option,
    output_option,
)
from configurator.cli.common import (
    FINDINGS,
    FINE,
    CommandRequest,
    build_command,
    date_option,
    look_options,
    require_paper,
)
from configurator.selection.picks import Budget


@build_command()
def check(asked: CommandRequest) -> None:
    r"""Report every finding about a selection, most serious first.

    \b
    Example: does the 130 L upright fit under the 850 mm canopy?
      configurator check wish.yaml
    """
    from configurator.report.checks import check_report

    found = asked.build.check(hints=True)
    asked.answer(found, lambda: check_report(found, command), found.stops)


@build_command()
@option("--trace", "Show where every figure comes from.")
@option("--shop", "Show cost and margin: for the shop's eyes only.")
@date_option("Use the prices of this day.")
def price(asked: CommandRequest, trace: bool, shop: bool) -> None:
    r"""Price a selection, complete or not, with suggested add-ons apart from the total.

    \b
    Example: what would powder coat cost instead?
      configurator price touring.yaml --pick finish=powder-standard
    """
    if trace and shop:
        raise click.UsageError("give --trace or --shop, not both")
    found = asked.build.price()
    if shop:
        from configurator.report.shop import margin_report

        earned = asked.build.margin()
        asked.print(earned, lambda: margin_report(earned))
    elif trace:
        from configurator.report.price import TraceAnswer, trace_report

        asked.print(TraceAnswer(found), lambda: trace_report(found))
    else:
        from configurator.report.price import PriceAnswer, price_report

        suggested = asked.build.suggestions()
        asked.print(
            PriceAnswer(found, suggested),
            lambda: price_report(found, suggested, asked.shop.catalogue),
        )


@build_command()
@output_option("FILE", "FILE.svg, .html, .pdf or .json instead of a list.", ".svg .html .pdf .json")
@option(
    "--view",
    "The picture in FILE.svg: the whole vehicle, the package from a corner above, or the "
    "spaces from the left, the right or above. Default: all, every view of the spaces.",
    "VIEW",
    type=click.Choice(["all", "vehicle", "corner", "left", "right", "above"]),
    default="all",
)
@option("--more", "Also show what else would fit.")
@look_options
def layout(asked: CommandRequest, more: bool, view: str) -> None:
    r"""Show where everything goes, or what does not fit together and what would fix it.

    \b
    Examples:
      configurator layout touring.yaml -o layout.svg
      configurator layout touring.yaml -o vehicle.svg --view vehicle
    """
    from configurator.report.layout import layout_report

    path = asked.output.path
    if view != "all" and (path is None or path.suffix != ".svg"):
        raise click.UsageError("--view goes with -o FILE.svg")
    require_paper(asked.output, asked.look)
    found = asked.build.layout(more, view)
    drawn = found.layout is not None or view == "vehicle"
    written = drawn or (path is not None and path.suffix == ".json")
    if path is not None and not written:
        click.echo(f"{path}: not written, because there is no layout to draw", err=True)
    asked.answer(
        found,
        lambda: layout_report(
            resolved(asked.build), found.layout, found.findings, found.would_fit_too
        ),
        found.stopped,
        "the layout" if written else "",
    )


_KG, _HOURS = number_to(100_000), number_to(24)


@build_command()
@option("--people", "How many travel.", type=click.IntRange(1, 20))
@option("--tow-ball", "Download on the tow ball.", "KG", callback=_KG)
@option("--trailer", "Mass of the loaded trailer.", "KG", callback=_KG)
@option("--items", "Show every mass and its assumed position.")
@output_option("FILE.svg", "A picture of masses and axle loads instead of tables.", ".svg")
def mass(
    asked: CommandRequest,
    people: int | None,
    tow_ball: Decimal | None,
    trailer: Decimal | None,
    items: bool,
) -> None:
    r"""Estimate mass and axle loads against the ratings: delivered, full, and with a trailer.

    \b
    Example: four people and 150 kg on the tow ball
      configurator mass contractor.yaml --people 4 --tow-ball 150
    """
    from configurator.report.mass import mass_report

    build = asked.build.travel(people=people, tow_ball=tow_ball, trailer=trailer)
    found = build.mass()
    if found is None:
        raise click.UsageError("pick a vehicle: without one there are no axles to load")
    asked.answer(
        found,
        lambda: mass_report(found.picture, found.findings, items),
        found.stopped,
        "masses and axle loads",
    )


@build_command()
@option("--sun", "The place whose sunshine counts: one of the catalogue's.", "PLACE", to="place")
@option("--season", "When.", type=click.Choice(("summer", "winter", "year")))
@option("--driving", "Hours driven a day.", "HOURS", callback=_HOURS)
@output_option("FILE.svg", "A picture of the batteries' charge instead of tables.", ".svg")
def power(
    asked: CommandRequest, place: str | None, season: str | None, driving: Decimal | None
) -> None:
    r"""Estimate daily energy use, how long the battery lasts, and the size of every cable.

    \b
    Example: will the fridge stay cold in winter without driving?
      configurator power touring.yaml --season winter --driving 0
    """
    from configurator.report.power import power_report

    found = asked.build.travel(place=place, season=season, driving=driving).power()
    asked.answer(
        found,
        lambda: power_report(found.picture, found.findings),
        found.stopped,
        "the batteries' charge",
    )


@build_command()
@option("--limit", "The limit, in place of the selection's.", "AMOUNT")
@option("--contingency", "The contingency, in place of the selection's.", "PERCENT")
@option("--keep", "Leave this as it is when looking for savings. Repeatable.", "CHOICE[=OPTION]")
@option("--no-savings", "Total only; do not look for savings.")
@output_option("FILE", "FILE.pdf, .html or .json instead of a table.", ".pdf .html .json")
@date_option("Use the prices of this day.")
@look_options
def budget(
    asked: CommandRequest,
    limit: str | None,
    contingency: str | None,
    keep: tuple[str, ...],
    no_savings: bool,
) -> None:
    r"""Total the whole build against the customer's budget, and find what would bring it under.

    A change replaces a pick, takes fewer of it or leaves it out; nothing is added, and no
    change causes a new stop. The least-regret set has the fewest changes and, of those, takes
    off the least money.

    \b
    Example: would powder coat instead of full paint do it?
      configurator budget touring.yaml --pick finish=powder-standard
    """
    from configurator.report.budget import budget_report

    require_paper(asked.output, asked.look)
    wanted = asked.build.selection.budget or Budget()
    if limit is not None:
        currency = asked.shop.catalogue.currency
        wanted = attrs.evolve(wanted, limit=budget_given(limit, currency, "--limit"))
    if contingency is not None:
        wanted = attrs.evolve(wanted, contingency=_contingency(contingency))
    wanted = attrs.evolve(wanted, keep=tuple(dict.fromkeys((*wanted.keep, *kept_from(keep)))))
    found = asked.build.budget(wanted, savings=not no_savings)
    asked.write(found)
    if asked.output.path is not None:
        click.echo(f"{asked.output.path}: build budget")
    else:
        asked.print(found, lambda: budget_report(found))
    sys.exit(FINDINGS if found.stopped else FINE)


def _contingency(text: str) -> Decimal:
    number = number_from(text, 100)
    if number is None:
        raise click.UsageError(f"--contingency {text}: write per cent from 0 to 100, such as 12.5")
    return number
