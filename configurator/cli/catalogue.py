"""The commands that look after the catalogue."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from configurator.cli.common import (
    CATALOGUE_VARIABLE,
    FINDINGS,
    FINE,
    Commands,
    catalogue_option,
    date_option,
    json_option,
    print_json,
    problems_as_json,
    require_choices,
    the_shop,
)
from configurator.cli.outputs import NAME, Output, output_option
from configurator.errors import listed, shortened
from configurator.words import text


@click.group(cls=Commands)
def catalogue() -> None:
    """Look after the catalogue."""


@catalogue.command("check")
@click.argument("file", metavar="[FILE]", required=False, type=NAME, envvar=CATALOGUE_VARIABLE)
@click.option(
    "--deep",
    is_flag=True,
    help="Also find what nobody can pick and what has no effect. Takes a while.",
)
@json_option
def catalogue_check(file: str | None, deep: bool, as_json: bool) -> None:
    """Report everything wrong with a catalogue, each with its line, and what to do about it."""
    from configurator.answers.values import Problems
    from configurator.shop import check_catalogue

    path = Path(file) if file is not None else None
    shop, problems = check_catalogue(path, deep=deep)
    if as_json:
        print_json(Problems(problems))
    elif shop is None or problems:
        click.echo(shortened(listed(problems)))
    else:
        read = shop.catalogue
        counts = (
            text("{n} vehicle", "{n} vehicles", n=len(read.choices[0].options)),
            text("{n} choice", "{n} choices", n=len(read.choices) - 1),
            text(
                "{n} option",
                "{n} options",
                n=sum(len(choice.options) for choice in read.choices[1:]),
            ),
            text("{n} rule", "{n} rules", n=len(read.rules)),
            text("{n} add-on", "{n} add-ons", n=len(read.add_ons.options)),
            text("{n} package deal", "{n} package deals", n=len(read.package_deals)),
        )
        click.echo(f"{read.source}: no problems found: {', '.join(counts)}")
    usable = shop is not None and all(problem.level != "error" for problem in problems)
    sys.exit(FINE if usable else FINDINGS)


@catalogue.command("list")
@click.argument("choice_ids", metavar="[CHOICE]...", nargs=-1)
@catalogue_option
@json_option
def catalogue_list(choice_ids: tuple[str, ...], catalogue_file: str | None, as_json: bool) -> None:
    """List the choices, or the options of some of them, with the ids that --pick takes."""
    with problems_as_json(as_json):
        shop = the_shop(catalogue_file)
    require_choices(shop, choice_ids)
    found = shop.list(*choice_ids)
    if as_json:
        print_json(found)
        return
    from configurator.render.text import show
    from configurator.report.checks import choices_report, options_report

    if choice_ids:
        show(options_report(found))
    else:
        show(choices_report(found))


@catalogue.command("prices")
@click.argument("sheet", metavar="SHEET", type=NAME)
@click.option(
    "--supplier",
    metavar="MAP",
    type=NAME,
    help="How to read this supplier's lists; without it, SHEET comes from catalogue export.",
)
@click.option(
    "--write",
    is_flag=True,
    help="Write the new figures into the catalogue that --catalogue names.",
)
@click.option(
    "--accept-large",
    is_flag=True,
    help="With --write: also write changes larger than the map allows.",
)
@catalogue_option
@date_option("Show and set the figures in force on this day.")
@json_option
def catalogue_prices(
    sheet: str,
    supplier: str | None,
    write: bool,
    accept_large: bool,
    catalogue_file: str | None,
    day: str | None,
    as_json: bool,
) -> None:
    r"""Show what a supplier's price list (.xlsx, .ods, .csv) changes; --write makes the changes.

    Only the figures change in the catalogue's file: all of them, or none. For the shop's eyes only.

    \b
    Example: look first; then the same with --write.
      configurator catalogue prices list.xlsx --supplier map.yaml \
        --catalogue ours.yaml
    """
    if write and catalogue_file is None:
        raise click.UsageError("name the catalogue to write into with --catalogue FILE")
    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day)
        found = shop.prices(sheet, supplier, write=write, accept_large=accept_large)
    if as_json:
        print_json(found)
    else:
        from configurator.render.text import show
        from configurator.report.price_list import price_list_report

        show(price_list_report(found))
    sys.exit(FINDINGS if found.refused or (write and not found.written) else FINE)


@catalogue.command("export")
@output_option("FILE", "FILE.xlsx or FILE.csv.", ".xlsx .csv", reads=False)
@catalogue_option
def catalogue_export(output: Output, catalogue_file: str | None) -> None:
    """Write all prices and costs as a spreadsheet, to change and read back with catalogue prices.

    For the shop's eyes only.
    """
    if output.path is None:
        raise click.UsageError("say where to write with -o FILE.xlsx or FILE.csv")
    shop = the_shop(catalogue_file)
    output.require_writable(shop.catalogue, ())
    count = shop.export(output.path)
    click.echo(f"{output.path}: {count} prices and costs")
