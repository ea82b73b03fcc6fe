"""The commands that answer about one build: check, price, layout, mass, power."""

from __future__ import annotations

import sys
from decimal import Decimal

import click

from configurator.cli.arguments import number_to
from configurator.cli.common import (
    FINDINGS,
    FINE,
    Asked,
    build_command,
    date_option,
    look_options,
)
from configurator.cli.outputs import output_option


@build_command()
def check(asked: Asked) -> None:
    r"""Say everything there is to say about a selection, most serious first.

    \b
    Example: does the 130 L upright fit under the 850 mm canopy?
      configurator check wish.yaml
    """
    from configurator.report.checks import check_report

    found = asked.build.check(hints=True)
    asked.print(found, lambda: check_report(found))
    sys.exit(FINDINGS if found.stops else FINE)


@build_command()
@click.option("--trace", is_flag=True, help="Show where every figure comes from.")
@click.option("--shop", is_flag=True, help="Show cost and margin: for the shop's eyes only.")
@date_option("Use the prices of this day.")
def price(asked: Asked, trace: bool, shop: bool) -> None:
    r"""Price a selection, complete or not, with suggested add-ons apart from the total.

    \b
    Example: what would powder coat come to instead?
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
@output_option("FILE", "Write FILE.svg, .html, .pdf or .json too.", ".svg .html .pdf .json")
@click.option(
    "--view",
    metavar="VIEW",
    type=click.Choice(["all", "vehicle", "corner", "left", "right", "above"]),
    default="all",
    help="The picture in FILE.svg: the whole vehicle, the package from a corner above, or the "
    "spaces from the left, the right or above. Default: all, every view of the spaces.",
)
@click.option("--more", is_flag=True, help="Try what else would fit too.")
@look_options
def layout(asked: Asked, more: bool, view: str) -> None:
    r"""Say where everything sits, or what does not go in together and what would fix it.

    \b
    Examples:
      configurator layout touring.yaml -o layout.svg
      configurator layout touring.yaml -o vehicle.svg --view vehicle
    """
    from configurator.report.layout import layout_report

    path = asked.output.path
    if view != "all" and (path is None or path.suffix != ".svg"):
        raise click.UsageError("--view goes with -o FILE.svg")
    found = asked.build.layout(more, view)
    drawn = found.layout is not None or view == "vehicle"
    written = path is not None and (drawn or path.suffix == ".json")
    if written:
        asked.write(found)
    asked.print(
        found,
        lambda: layout_report(
            asked.shop.catalogue, found.layout, found.findings, found.would_fit_too
        ),
    )
    if written:
        _say_written(asked, "the layout")
    if path is not None and not written:
        click.echo(f"{path}: not written, because there is no layout to draw", err=True)
    sys.exit(FINDINGS if found.stopped else FINE)


_KG, _HOURS = number_to(100_000), number_to(24)


@build_command()
@click.option("--people", type=click.IntRange(1, 20), help="How many travel.")
@click.option("--tow-ball", callback=_KG, metavar="KG", help="Download on the tow ball.")
@click.option("--trailer", callback=_KG, metavar="KG", help="Mass of the laden trailer.")
@click.option("--items", is_flag=True, help="Show every mass and where it is taken to be.")
@output_option("FILE.svg", "Write the picture of the bars too.", ".svg")
def mass(
    asked: Asked,
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
    asked.write(found)
    asked.print(found, lambda: mass_report(found.picture, found.findings, items))
    _say_written(asked, "the picture of the bars")
    sys.exit(FINDINGS if found.stopped else FINE)


@build_command()
@click.option("--sun", "place", metavar="PLACE", help="Whose sun: one of the catalogue's places.")
@click.option("--season", type=click.Choice(("summer", "winter", "year")), help="When.")
@click.option("--driving", callback=_HOURS, metavar="HOURS", help="Hours driven a day.")
@output_option("FILE.svg", "Write the picture of the charge too.", ".svg")
def power(asked: Asked, place: str | None, season: str | None, driving: Decimal | None) -> None:
    r"""Estimate what is drawn a day, how long the battery lasts, and the size of every cable.

    \b
    Example: will the fridge stay cold in winter without driving?
      configurator power touring.yaml --season winter --driving 0
    """
    from configurator.report.power import power_report

    found = asked.build.travel(place=place, season=season, driving=driving).power()
    asked.write(found)
    asked.print(found, lambda: power_report(found.picture, found.findings))
    _say_written(asked, "the picture of the charge")
    sys.exit(FINDINGS if found.stopped else FINE)


def _say_written(asked: Asked, what: str) -> None:
    if asked.output.path is not None and not asked.as_json:
        click.echo(f"{asked.output.path}: {what}")
