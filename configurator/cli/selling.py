"""The commands of a sale: check, price, quote, compare, and the demo."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from configurator.cli.changes import change_title, changed
from configurator.cli.common import (
    FINDINGS,
    FINE,
    AskedLook,
    catalogue_option,
    day_from,
    json_option,
    look_options,
    place_option,
    places_given,
    priced_catalogue,
    print_json,
    problems_as_json,
    read_selections,
    selection_arguments,
    the_catalogue,
    the_look,
    the_selection,
)
from configurator.cli.outputs import NAME, Output, output_option
from configurator.cli.places import placed_where_picked
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.pricing.whole import Price

__all__ = ["check", "compare", "demo", "price", "quote"]


@click.command()
@selection_arguments
@catalogue_option
@json_option
def check(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Say everything there is to say about a selection, most serious first.

    \b
    Example: does the 130 L upright fit under the 850 mm canopy?
      configurator check wish.yaml
    """
    from configurator.checking.check import check as check_selection
    from configurator.render.text import show
    from configurator.report.checks import check_report

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        checked = check_selection(Resolved(catalogue, selection))
    if as_json:
        print_json(checked)
    else:
        show(check_report(checked))
    sys.exit(FINDINGS if checked.stops else FINE)


@click.command()
@selection_arguments
@click.option("--trace", is_flag=True, help="Show where every figure comes from.")
@click.option("--shop", is_flag=True, help="Show cost and margin: for the shop's eyes only.")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Whose prices. Default: today.")
@catalogue_option
@json_option
def price(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    trace: bool,
    shop: bool,
    day: str | None,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Price a selection, complete or not, with suggested add-ons apart from the total.

    \b
    Example: what would powder coat come to instead?
      configurator price touring.yaml --pick finish=powder-standard
    """
    if trace and shop:
        raise click.UsageError("give --trace or --shop, not both")
    from configurator.pricing.whole import price as price_selection
    from configurator.render.text import show
    from configurator.report.price import price_report
    from configurator.suggested import suggestions

    with problems_as_json(as_json):
        catalogue = priced_catalogue(catalogue_file, day)
        selection = the_selection(catalogue, selection_file, picks, drops)
        build = Resolved(catalogue, selection)
        priced = price_selection(build)
    if trace or shop:
        _show_how(build, priced, shop, as_json)
        return
    suggested = suggestions(build)
    if as_json:
        from configurator.answers.values import PriceAnswer

        print_json(PriceAnswer(priced, suggested))
    else:
        show(price_report(priced, suggested, catalogue))


def _show_how(build: Resolved, priced: Price, shop: bool, as_json: bool) -> None:
    """The trace of a price, or what the shop earns on it."""
    if shop:
        from configurator.pricing.margin import margin

        earned = margin(build)
        if as_json:
            print_json(earned)
        else:
            from configurator.render.text import show
            from configurator.report.shop import margin_report

            show(margin_report(earned))
        return
    if as_json:
        from configurator.answers.values import TraceAnswer

        print_json(TraceAnswer(priced))
    else:
        from configurator.render.text import show
        from configurator.report.price import trace_report

        show(trace_report(priced))


@click.command()
@selection_arguments
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
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Day of issue. Default: today.")
@look_options
@catalogue_option
@json_option
def quote(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    output: Output,
    number: str | None,
    batch: str | None,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Write the quote as PDF, HTML or JSON, unless something stops it.

    \b
    Examples:
      configurator quote touring.yaml -o quote.pdf --number Q-2041
      configurator quote --batch wishes -o quotes --number Q-
    """
    if batch is not None:
        from configurator.cli.batch import quote_folder

        if selection_file or picks or drops or places_given():
            raise click.UsageError(
                "give --batch alone, without SELECTION, --pick, --drop and --place"
            )
        if output.path is None:
            raise click.UsageError("say in which folder to write the quotes with -o DIR")
        quote_folder(batch, output.path, number or "", day, look, catalogue_file, as_json)
    number = "DRAFT" if number is None else number
    if output.path is None and not as_json:
        output = output.named(f"{number}.pdf")
    from configurator.report.quote import make_quote

    with problems_as_json(as_json):
        catalogue = priced_catalogue(catalogue_file, day, on_paper=True)
        selection = the_selection(catalogue, selection_file, picks, drops)
        output.require_writable(catalogue, [selection_file], look.templates)
        made = make_quote(Resolved(catalogue, selection), number, day_from(day))
    if output.path is not None:
        from configurator.render.writing import write_paper

        write_paper(made, output.path, the_look(catalogue, look))
    if as_json:
        print_json(made)
    else:
        from configurator.report.price import written_quote

        click.echo(written_quote(str(output.path), number, made.price))


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
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Whose prices. Default: today.")
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
    from configurator.report.comparison import compare as compare_selections

    if len(selection_files) + len(changes) < 2 or not selection_files:
        raise click.UsageError("give at least two selections to compare, or one and a --change")
    with problems_as_json(as_json):
        catalogue = priced_catalogue(catalogue_file, day, on_paper=output.path is not None)
        selections = read_selections(catalogue, selection_files)
        output.require_writable(catalogue, selection_files, look.templates)
        titles = [s.title or Path(f).stem for s, f in zip(selections, selection_files, strict=True)]
        for change in changes:
            selections.append(changed(Resolved(catalogue, selections[0]), change))
            titles.append(f"A {change_title(catalogue, change)}")
        selections = placed_where_picked(catalogue, selections, places_given())
        comparison = compare_selections(catalogue, selections, titles)
    if output.path is not None:
        from configurator.render.writing import write_paper

        write_paper(comparison, output.path, the_look(catalogue, look))
        click.echo(f"{output.path}: {' and '.join(titles)} compared")
    elif as_json:
        print_json(comparison)
    else:
        from configurator.render.text import show
        from configurator.report.comparison_tables import comparison_report

        show(comparison_report(comparison))


@click.command()
@click.argument("folder", metavar="[DIR]", default="quotes", type=NAME)
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Day of issue. Default: today.")
@catalogue_option
def demo(folder: str, day: str | None, catalogue_file: str | None) -> None:
    """Write the shipped selections' quotes and a comparison into DIR, and say what was done."""
    from configurator.demo import demo_report, run_demo
    from configurator.render.text import show

    catalogue = the_catalogue(catalogue_file)
    show(demo_report(run_demo(catalogue, Path(folder), day_from(day))))
