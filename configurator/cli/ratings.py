"""The commands about mass and power: will it stay within its ratings, and how long it lasts."""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs
import click

from configurator.cli.common import (
    FINDINGS,
    FINE,
    catalogue_option,
    json_option,
    number_from,
    print_json,
    problems_as_json,
    selection_arguments,
    the_catalogue,
    the_selection,
)
from configurator.cli.outputs import Output, output_option
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.fit.layout import Layout
    from configurator.selection.picks import Selection

__all__ = ["mass", "power"]


def _number(most: int) -> Callable[[click.Context, click.Parameter, str | None], Decimal | None]:
    """Reads a number from zero to so much, digit by digit."""

    def read(_: click.Context, __: click.Parameter, value: str | None) -> Decimal | None:
        number = None if value is None else number_from(value, most)
        if value is not None and number is None:
            raise click.BadParameter(f"{value!r} is no number of zero or more, at most {most}")
        return number

    return read


_KG = _number(100_000)
_HOURS = _number(24)


@click.command()
@selection_arguments
@click.option("--people", type=click.IntRange(1, 20), help="How many travel.")
@click.option("--tow-ball", callback=_KG, metavar="KG", help="Download on the tow ball.")
@click.option("--trailer", callback=_KG, metavar="KG", help="Mass of the laden trailer.")
@click.option("--items", is_flag=True, help="Show every mass and where it is taken to be.")
@output_option("FILE.svg", "Write the picture of the bars too.", ".svg")
@catalogue_option
@json_option
def mass(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    people: int | None,
    tow_ball: Decimal | None,
    trailer: Decimal | None,
    items: bool,
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Estimate mass and axle loads against the ratings: delivered, full, and with a trailer.

    \b
    Example: four people and 150 kg on the tow ball
      configurator mass contractor.yaml --people 4 --tow-ball 150
    """
    from configurator.checking.ratings import rating_findings, with_overrides
    from configurator.mass.picture import mass_picture

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        said = {"people": people, "tow_ball": tow_ball, "trailer": trailer}
        selection = _travelling(Resolved(catalogue, selection), said)
        output.require_writable(catalogue, [selection_file])
    layout = _layout(Resolved(catalogue, selection))
    picture = mass_picture(Resolved(catalogue, selection), layout)
    if picture is None:
        raise click.UsageError("pick a vehicle: without one there are no axles to load")
    found = rating_findings(Resolved(catalogue, selection), layout)
    findings = with_overrides(Resolved(catalogue, selection), found)
    if output.path is not None:
        from configurator.drawing.charts import mass_svg

        _write(output.path, mass_svg(picture))
    if as_json:
        from configurator.answers.values import MassAnswer

        print_json(MassAnswer(picture, tuple(findings)))
    else:
        from configurator.render.text import show
        from configurator.report.mass import mass_report

        show(mass_report(picture, findings, items))
    sys.exit(FINDINGS if any(finding.level == "stop" for finding in findings) else FINE)


@click.command()
@selection_arguments
@click.option("--sun", "place", metavar="PLACE", help="Whose sun: one of the catalogue's places.")
@click.option("--season", type=click.Choice(("summer", "winter", "year")), help="When.")
@click.option("--driving", callback=_HOURS, metavar="HOURS", help="Hours driven a day.")
@output_option("FILE.svg", "Write the picture of the charge too.", ".svg")
@catalogue_option
@json_option
def power(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    place: str | None,
    season: str | None,
    driving: Decimal | None,
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Estimate what is drawn a day, how long the battery lasts, and the size of every cable.

    \b
    Example: will the fridge stay cold in winter without driving?
      configurator power touring.yaml --season winter --driving 0
    """
    from configurator.checking.power import power_findings
    from configurator.power.summary import power_picture

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        said = {"place": place, "season": season, "driving": driving}
        selection = _travelling(Resolved(catalogue, selection), said)
        output.require_writable(catalogue, [selection_file])
    layout = _layout(Resolved(catalogue, selection))
    picture = power_picture(Resolved(catalogue, selection), layout)
    findings = power_findings(Resolved(catalogue, selection), layout)
    if output.path is not None:
        from configurator.drawing.charts import charge_svg

        _write(output.path, charge_svg(picture))
    if as_json:
        from configurator.answers.values import PowerAnswer

        print_json(PowerAnswer.of(picture, findings))
    else:
        from configurator.render.text import show
        from configurator.report.power import power_report

        show(power_report(picture, findings))
    sys.exit(FINDINGS if any(finding.level == "stop" for finding in findings) else FINE)


def _travelling(build: Resolved, said: dict[str, Any]) -> Selection:
    """The selection with what the command line says of its use.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    from configurator.selection.validate import require_known

    given = {name: value for name, value in said.items() if value is not None}
    changed = attrs.evolve(build.selection, travel=attrs.evolve(build.selection.travel, **given))
    require_known(build.having(changed))
    return changed


def _layout(build: Resolved) -> Layout | None:
    """Where the units sit, when that is proven."""
    from configurator.arrangement import lay_out
    from configurator.errors import SearchLimit
    from configurator.fit.layout import Layout

    try:
        laid = lay_out(build)
    except SearchLimit:
        return None
    return laid if isinstance(laid, Layout) else None


def _write(path: Path, picture: str) -> None:
    from configurator.render.writing import write_as

    write_as(path, {".svg": picture.encode})
