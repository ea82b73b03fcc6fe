"""The commands that check, price, quote and compare selections."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import Any

import click

from configurator.cli.changes import change_title, changed
from configurator.cli.common import (
    FINDINGS,
    FINE,
    Asked,
    AskedLook,
    build_command,
    catalogue_option,
    date_option,
    day_from,
    json_option,
    look_options,
    place_option,
    places_given,
    print_json,
    problems_as_json,
    the_builds,
    the_shop,
)
from configurator.cli.outputs import NAME, Output, output_option
from configurator.cli.places import placed_where_picked
from configurator.cli.register import register_option, seller_option
from configurator.errors import ConfiguratorError


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


_ISSUING = ("issue", "series", "replaces", "draft", "register_address", "seller")


class _QuoteCommand(click.Command):
    """The command ``quote``: of one selection, or with ``--batch`` of a folder of them."""

    def invoke(self, ctx: click.Context) -> Any:
        """Quote one selection, or each of the folder."""
        given = ctx.params
        folder, output = given.pop("batch"), given["output"]
        issuing = {name: given.pop(name) for name in _ISSUING}
        if issuing.pop("issue"):
            if folder is not None or given.pop("number") is not None:
                raise click.UsageError(
                    "with --issue the register draws the number: leave out --number and --batch"
                )
            from configurator.cli.register import issue_quote

            assert issue_quote.callback is not None
            return issue_quote.callback(**given, **issuing)
        if folder is None:
            if given["number"] is None:
                given["number"] = "DRAFT"
            return super().invoke(ctx)
        if given["selection_file"] or given["picks"] or given["drops"] or places_given():
            raise click.UsageError(
                "give --batch alone, without SELECTION, --pick, --drop and --place"
            )
        if output.path is None:
            raise click.UsageError("say in which folder to write the quotes with -o DIR")
        from configurator.cli.batch import quote_folder

        return quote_folder(
            folder,
            output.path,
            given["number"] or "",
            given["day"],
            given["look"],
            given["catalogue_file"],
            given["as_json"],
        )


def _named_after_number(output: Output, number: str, as_json: bool) -> Output:
    if not number.strip():
        raise ConfiguratorError("a quote needs a number: give one that is not empty")
    if output.path is not None or as_json:
        return output
    return output.named(f"{number}.pdf")


@build_command(on_paper=True, kind=_QuoteCommand, named=_named_after_number)
@output_option(
    "FILE|DIR",
    "FILE.pdf, .html or .json, by default the number as .pdf; with --batch the folder for the "
    "quotes.",
    ".pdf .html .json",
)
@click.option(
    "--number",
    help="The quote's number. Default: DRAFT. With --batch: what stands before the file's name.",
)
@click.option(
    "--batch",
    metavar="DIR",
    type=NAME,
    help="Quote every selection in DIR, each numbered by its file's name, on all cores.",
)
@date_option("Day of issue.")
@click.option("--issue", is_flag=True, help="Issue it: the register draws the number and keeps it.")
@click.option(
    "--series", default="", help="What stands before the number. Default: as the catalogue says."
)
@click.option("--replaces", metavar="NUMBER", default="", help="The quote that it replaces.")
@click.option("--draft", metavar="NAME", default="", help="The kept draft that it comes from.")
@register_option
@seller_option
@look_options
def quote(asked: Asked, number: str, day: dt.date) -> None:
    r"""Write the quote as PDF, HTML or JSON, unless something stops it.

    \b
    Examples:
      configurator quote touring.yaml -o quote.pdf --number Q-2041
      configurator quote --batch wishes -o quotes --number Q-
    """
    from configurator.report.price import written_quote

    made = asked.build.quote(number, day)
    asked.write(made)
    said = written_quote(str(asked.output.path), number, made.price)
    if asked.as_json:
        print_json(made)
    else:
        click.echo(said)


@click.command()
@click.argument("selection_files", metavar="SELECTION [SELECTION]...", nargs=-1, type=NAME)
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHOICE=OPTION[,CHOICE=OPTION]",
    help="One more column: the first selection with this changed; CHOICE= leaves a choice out. "
    "Repeatable.",
)
@place_option
@output_option("FILE", "FILE.pdf, .html or .json instead of a table.", ".pdf .html .json")
@date_option("Use the prices of this day.")
@look_options
@catalogue_option
@json_option
def compare(
    selection_files: tuple[str, ...],
    changes: tuple[str, ...],
    output: Output,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Lay selections side by side on price and mass, differences first.

    \b
    Examples:
      configurator compare touring.yaml contractor.yaml -o comparison.pdf
      configurator compare touring.yaml --change inverter=,mains-charger=
    """
    from configurator.report.comparison_tables import comparison_report

    if len(selection_files) + len(changes) < 2 or not selection_files:
        raise click.UsageError("give at least two selections to compare, or one and a --change")
    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day, output.on_paper)
        builds = the_builds(shop, selection_files)
        output.require_writable(shop.catalogue, selection_files, look.templates)
        named = zip(builds, selection_files, strict=True)
        titles = [build.selection.title or Path(file).stem for build, file in named]
        for change in changes:
            builds.append(changed(builds[0], change))
            titles.append(f"A {change_title(shop.catalogue, change)}")
        builds = placed_where_picked(builds, places_given())
        found = shop.compare(*builds, titles=titles)
        asked = Asked(shop, builds[0], output, look, as_json)
        asked.write(found)
    if output.path is not None:
        click.echo(f"{output.path}: {' and '.join(titles)} compared")
    else:
        asked.print(found, lambda: comparison_report(found))


@click.command()
@click.argument("folder", metavar="[DIR]", default="quotes", type=NAME)
@date_option("Day of issue.")
@catalogue_option
def demo(folder: str, day: str | None, catalogue_file: str | None) -> None:
    """Write the shipped selections' quotes and a comparison into DIR, and say what was done."""
    from configurator.demo import demo_report, run_demo
    from configurator.render.text import show

    show(demo_report(run_demo(the_shop(catalogue_file), Path(folder), day_from(day))))
