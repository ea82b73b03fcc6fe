"""The commands that look after the catalogue, and start one: in a terminal, that one asks."""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from configurator.cli.arguments import NAME, Output, number_from, option, output_option
from configurator.cli.common import (
    CATALOGUE_VARIABLE,
    FINDINGS,
    FINE,
    Commands,
    catalogue_option,
    date_option,
    day_or_today,
    json_option,
    print_answer,
    print_json,
    problems_as_json,
    the_shop,
)
from configurator.errors import ConfiguratorError, listed, shortened
from configurator.money import exponent
from configurator.selection.asked import require_choices
from configurator.starter import VEHICLES
from configurator.starter.files import require_classes, require_new
from configurator.words import text


@click.group(cls=Commands)
def catalogue() -> None:
    """Look after the catalogue."""


@catalogue.command("check")
@click.argument("file", metavar="[FILE]", required=False, type=NAME, envvar=CATALOGUE_VARIABLE)
@option("--deep", "Also find what nobody can pick and what has no effect. Takes a while.")
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
        require_choices(shop.catalogue, choice_ids, "CHOICE ")
    from configurator.report.checks import choices_report, options_report

    found, report = shop.list(*choice_ids), options_report if choice_ids else choices_report
    print_answer(found, as_json, lambda: report(found))


@catalogue.command("prices")
@click.argument("sheet", metavar="SHEET", type=NAME)
@option(
    "--supplier",
    "How to read this supplier's lists; without it, SHEET comes from catalogue export.",
    "MAP",
    type=NAME,
)
@option("--write", "Write the new figures into the catalogue that --catalogue names.")
@option("--accept-large", "With --write: also write changes larger than the map allows.")
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
    from configurator.report.price_list import price_list_report

    print_answer(found, as_json, lambda: price_list_report(found))
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


class _AskedOption(click.Option):
    """An option that is asked for in a terminal; elsewhere it has its default, or is missing."""

    def prompt_for_value(self, ctx: click.Context) -> Any:
        """The answer, asked for again while it cannot be used."""
        if sys.stdin is not None and sys.stdin.isatty():
            return super().prompt_for_value(ctx)
        return self.get_default(ctx)


class _TypedAnswer(click.ParamType[Any]):
    """What an answer is read as; one that cannot be used is asked for again."""

    name = "answer"

    def __init__(self, made: Callable[[str], Any]) -> None:
        self.made = made

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value, which may have been read already.

        Raises:
            click.BadParameter: it cannot be used.
        """
        try:
            return self.made(value) if isinstance(value, str) else value
        except ConfiguratorError as error:
            self.fail(str(error), param, ctx)


def _currency(answer: str) -> str:
    exponent(answer)
    return answer


def _number(answer: str) -> Decimal:
    number = number_from(answer, 1_000_000)
    if number is None:
        raise ConfiguratorError(f"{answer!r} is no number of zero or more; write it as in 126.50")
    return number


def _filled(answer: str) -> str:
    if not answer.strip():
        raise ConfiguratorError("it is empty: fill it in")
    return answer


def _lines(answer: str) -> list[str]:
    return [part.strip() for part in answer.split(",") if part.strip()]


def _classes(answer: str) -> list[str]:
    require_classes(_lines(answer))
    return _lines(answer)


def _question(
    name: str, words: str, meaning: str, usual: str | None = None, **more: Any
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    if usual is not None:
        more["default"] = usual
        meaning = f"{meaning} Default: {usual or 'none'}."
    needed = usual is None
    return click.option(name, cls=_AskedOption, prompt=words, required=needed, help=meaning, **more)


def _new(_: click.Context, __: click.Parameter, folder: str) -> str:
    require_new(Path(folder))
    return folder


@catalogue.command("new")
@click.argument("folder", type=NAME, callback=_new)
@_question(
    "--name", "Name of the shop", "Name of the shop.", metavar="NAME", type=_TypedAnswer(_filled)
)
@_question(
    "--address",
    "Address, with commas between its lines",
    "Its address, the lines separated by commas.",
    metavar="LINES",
    type=_TypedAnswer(_lines),
)
@_question("--email", "E-mail, Enter for none", "Its e-mail address.", "", metavar="ADDRESS")
@option("--phone", "Its telephone number. Default: none.", "NUMBER", default="")
@_question(
    "--currency", "Currency", "Of all prices.", "AUD", metavar="CODE", type=_TypedAnswer(_currency)
)
@_question("--tax-name", "Name of the tax", "Such as GST or VAT.", "GST", metavar="NAME")
@_question(
    "--tax-rate",
    "Its rate in per cent",
    "In per cent.",
    "10",
    metavar="PERCENT",
    type=_TypedAnswer(_number),
)
@_question(
    "--prices",
    "Do your prices have it in them",
    "Whether prices have the tax in them.",
    "include",
    type=click.Choice(["include", "exclude"]),
)
@_question(
    "--labour",
    "What an hour of electrical work costs",
    "Price of an hour of electrical work.",
    "120",
    metavar="AMOUNT",
    type=_TypedAnswer(_number),
)
@_question(
    "--kerb-side",
    "Side of the kerb, facing forward",
    "Seen facing forward.",
    "left",
    type=click.Choice(["left", "right"]),
)
@_question(
    "--vehicles",
    "Vehicles you build for",
    "Those you build for, separated by commas.",
    ",".join(VEHICLES),
    metavar="CLASSES",
    type=_TypedAnswer(_classes),
)
def catalogue_new(folder: str, name: str, address: list[str], **given: Any) -> None:
    r"""Start a catalogue of your own in a new FOLDER: small, complete, and ready to quote from.

    In a terminal it asks for what the options leave out; elsewhere give --name and --address.
    Its figures are invented, and every file says what to change.

    \b
    Example:
      configurator catalogue new wattle --name "Wattle" --address "1 Example Lane"
    """
    from configurator.shop import Shop

    shop = Shop.new(folder, name, address, first=day_or_today(None), **given)
    count = len(shop.catalogue.parts) + 1
    click.echo(f"{folder}: a catalogue of {count} files, ready to quote from")
    selection = Path(folder, "selections", "first.yaml")
    click.echo(f"begin with: configurator check {selection} --catalogue {folder}")
