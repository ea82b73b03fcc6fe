"""The commands of the register: find, show, reopen, revise and follow up issued quotes."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs
import click

from configurator.cli.arguments import NAME, Output, day_from, option, output_option
from configurator.cli.common import (
    FINDINGS,
    Commands,
    catalogue_option,
    day_or_today,
    json_option,
    print_answer,
    print_json,
    problems_as_json,
    the_shop,
)
from configurator.errors import FileError, SelectionError
from configurator.words import SOURCE

if TYPE_CHECKING:
    from configurator.answers.register import KeptQuote, QuoteList
    from configurator.register.register import Register

REGISTER_VARIABLE, SELLER_VARIABLE = "CONFIGURATOR_REGISTER", "CONFIGURATOR_SELLER"


register_option = option(
    "--register",
    "The register: a file, or postgresql://USER@HOST/NAME. Default: a file in the user's data "
    "folder.",
    "ADDRESS",
    to="register_address",
    envvar=REGISTER_VARIABLE,
)
"""The option that names the register."""

seller_option = option(
    "--seller",
    "Who does this; kept with the quote. Default: your login name.",
    "NAME",
    envvar=SELLER_VARIABLE,
)
"""The option that names who sells."""


def the_seller(name: str | None) -> str:
    """Who does this: as given, or the name of whoever is logged in."""
    if name is not None:
        return name
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        raise click.UsageError("say who does this with --seller NAME") from None


def _most_option(most: int) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return option(
        "--most",
        "At most this many quotes.",
        "COUNT",
        type=click.IntRange(1),
        default=most,
        show_default=True,
    )


@click.group(cls=Commands, later={"issuing": "keep revise accept decline withdraw forget"})
def register() -> None:
    """Look after issued quotes: find, reopen, revise and follow them up."""


def register_command(ask: Callable[..., None]) -> Callable[..., Any]:
    """A command that needs a register and nothing else; it gets it opened, for a while."""

    @wraps(ask)
    def command(register_address: str | None, **given: Any) -> None:
        from configurator.shop import open_register

        with open_register(register_address) as opened:
            ask(opened, **given)

    return register_option(command)


def _days(_: click.Context, __: click.Parameter, value: str | None) -> int | None:
    if value is not None and not (value.isdecimal() and len(value) < 5 and int(value) <= 3660):
        raise click.BadParameter(f"{value!r} is no whole number of days from 0 to 3660")
    return None if value is None else int(value)


@register.command("list")
@option("--status", "Only these, such as issued or lapsed.", "STATUS", type=NAME)
@option("--by", "Only this seller's quotes.", "SELLER")
@option(
    "--lapses-within",
    "Only issued quotes that lapse within this many days, to follow up.",
    "DAYS",
    callback=_days,
)
@_most_option(1000)
@json_option
@register_command
def register_list(
    opened: Register,
    status: str | None,
    by: str,
    lapses_within: int | None,
    most: int,
    as_json: bool,
) -> None:
    r"""List the quotes, newest first.

    \b
    Example: which quotes lapse this week?
      configurator register list --lapses-within 7
    """
    found = opened.list(status=status or "", seller=by, lapses_within=lapses_within, most=most + 1)
    _print_entries(found, most, as_json, lapses_within)


@register.command("find")
@click.argument("words", metavar="WORD [WORD]...", nargs=-1, required=True)
@_most_option(50)
@json_option
@register_command
def register_find(opened: Register, words: tuple[str, ...], most: int, as_json: bool) -> None:
    r"""Find quotes by number, customer, phone, e-mail, title, vehicle or seller.

    The first letters of each word are enough; capitals and accents do not matter.

    \b
    Example:
      configurator register find brandgrove
    """
    found = opened.find(" ".join(words), most=most + 1)
    _print_entries(found, most, as_json)


def _print_entries(
    found: QuoteList, most: int, as_json: bool, lapses_within: int | None = None
) -> None:
    from configurator.report.register import entries_report

    more = len(found.quotes) > most
    found = attrs.evolve(found, quotes=found.quotes[:most])
    print_answer(found, as_json, lambda: entries_report(found, lapses_within))
    if more:
        click.echo("there are more: see --most", err=True)


@register.command("show")
@click.argument("number")
@option("--revision", "Which revision -o writes.", type=click.IntRange(1, 999))
@output_option(
    "FILE",
    "Write the PDF exactly as it was issued to FILE.pdf, or its days for a calendar to FILE.ics.",
    ".pdf .ics",
    reads=False,
)
@json_option
@register_command
def register_show(
    opened: Register, number: str, revision: int | None, output: Output, as_json: bool
) -> None:
    """Show a quote, its revisions and its history, or write its PDF as it was issued."""
    from configurator.report.register import record_report

    if revision is not None and output.path is None:
        raise click.UsageError("--revision goes with -o FILE.pdf; all revisions are shown without")
    record = opened.show(number)
    if output.path is not None:
        from configurator.machine.files import required_kind

        required_kind(output.path, output.kinds)
        kept = opened.open(number, revision)
        told = "as it was issued"
        if output.path.suffix.lower() == ".ics":
            from configurator.machine.files import replace_file
            from configurator.render.calendar import quote_calendar

            replace_file(output.path, quote_calendar(kept.answer, SOURCE))
            told = "its days"
        else:
            write_kept(kept, output.path)
        click.echo(f"{output.path}: quote {number}, {told}")
    if as_json or output.path is None:
        print_answer(record, as_json, lambda: record_report(record, dt.datetime.astimezone))


def write_kept(kept: KeptQuote, path: Path) -> None:
    """Write the PDF that is kept, and say so.

    Raises:
        FileError: it is a draft's, or the file cannot be written.
    """
    from configurator.machine.files import replace_file, required_kind

    required_kind(path, (".pdf",))
    if not kept.pdf:
        raise FileError(f"{kept.number} is a draft and has no PDF: issue it first")
    replace_file(path, kept.pdf)


@register.command("open")
@click.argument("number")
@option("--revision", "Which one. Default: the latest.", type=click.IntRange(0, 999))
@output_option(
    "FILE", "Write the selection to FILE.yaml or .json, to change it.", ".yaml .json", reads=False
)
@catalogue_option
@json_option
@register_command
def register_open(
    opened: Register,
    number: str,
    revision: int | None,
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Reopen a quote: its price then, its price now, and its selection as a file.

    \b
    Example:
      configurator register open Q-2041 -o again.yaml
    """
    from configurator.render.text import show
    from configurator.report.register import reopened_report, standing

    shop = the_shop(catalogue_file)
    kept = opened.open(number, revision)
    build = shop.build(kept.selection)
    if output.path is not None:
        output.require_writable(shop.catalogue, [])
        build.change(revision=kept.revision or None).save(output.path)
    gone = None
    with problems_as_json(as_json):
        try:
            reopened = kept.priced(build.price())
        except SelectionError as error:
            if as_json:
                raise
            gone = error
    if as_json:
        print_json(reopened)
        return
    if gone is None:
        show(reopened_report(reopened))
    else:
        click.echo(f"{number}: was {kept.total}, and has no price now:\n{gone}", err=True)
        for said in standing(kept):
            click.echo(said, err=True)
    if output.path is not None:
        click.echo(f"{output.path}: the selection, to change and quote again")
    if gone is not None:
        sys.exit(FINDINGS)


@register.command("order")
@click.argument("number")
@output_option("DIR", "The folder for the orders.", "", reads=False)
@option("--cost", "Include what the shop pays, which is the supplier's own price.")
@option("--date", "Day of the orders. Default: today.", "YYYY-MM-DD", to="day")
@option("--replace", "Let -o overwrite other orders that are in the folder.")
@catalogue_option
@register_command
def order(
    opened: Register,
    number: str,
    output: Output,
    cost: bool,
    day: str | None,
    replace: bool,
    catalogue_file: str | None,
) -> None:
    r"""Write an order for each supplier of an accepted quote, as open-standard XML.

    They are UBL 2.1 Orders for the job, without the customer.

    \b
    Example:
      configurator register order Q-2041 -o orders
    """
    if output.path is None:
        raise click.UsageError("say in which folder to write the orders with -o DIR")
    shop = the_shop(catalogue_file, day, on_paper=True)
    build = shop.build(opened.open(number).selection)
    sheets = build.sheets(number, day_or_today(day), cost=cost)
    for name in opened.order(number, sheets, output.path, replace=replace):
        click.echo(f"{output.path / name}: order for quote {number}")


@register.command("results")
@option("--first", "The first day that counts.", "YYYY-MM-DD")
@option("--last", "The last day that counts.", "YYYY-MM-DD")
@option("--currency", "Only quotes in it.", default="AUD", show_default=True)
@output_option("FILE", "Draw it as FILE.svg.", ".svg", reads=False)
@json_option
@register_command
def results(
    opened: Register,
    first: str | None,
    last: str | None,
    currency: str,
    output: Output,
    as_json: bool,
) -> None:
    """Show what was won, lost and withdrawn, by month and by reason."""
    from configurator.machine.files import replace_file, required_kind
    from configurator.report.register import results_chart, results_report

    if output.path is not None:
        required_kind(output.path, output.kinds)
    found = opened.results(
        currency,
        first=None if first is None else day_from(first, "--first"),
        last=None if last is None else day_from(last, "--last"),
    )
    print_answer(found, as_json, lambda: results_report(found))
    if output.path is not None:
        from configurator.drawing.charts import results_svg

        replace_file(output.path, results_svg(results_chart(found)).encode())
        if not as_json:
            click.echo(f"{output.path}: the same as a picture")


@register.command("export")
@output_option("FILE", "FILE.csv or FILE.json.", ".csv .json", reads=False)
@register_command
def export(opened: Register, output: Output) -> None:
    """Write the list of all quotes, for a spreadsheet or as JSON."""
    if output.path is None:
        raise click.UsageError("say where to write with -o FILE.csv or FILE.json")
    count = opened.export(output.path)
    click.echo(f"{output.path}: {count} {'quote' if count == 1 else 'quotes'}")


@register.command("backup")
@click.argument("file", type=NAME)
@register_command
def backup(opened: Register, file: str) -> None:
    """Copy the register into a new file and check the copy; others can keep working."""
    opened.backup(Path(file))
    click.echo(f"{file}: a complete copy of {opened.database.name}")


@register.command("check")
@json_option
@register_command
def check(opened: Register, as_json: bool) -> None:
    """Check that nothing was altered or lost, and name the first thing found."""
    found = opened.check()
    if as_json:
        print_json(found)
    else:
        whole = f"{found.register}: everything is as it was written"
        click.echo(found.wrong[0] if found.wrong else whole)
    if found.wrong:
        sys.exit(FINDINGS)


@register.command("move")
@click.argument("address", type=NAME)
@register_command
def move(opened: Register, address: str) -> None:
    """Move the register to a new place, such as a server.

    The old register can still be read, but issues no more quotes.
    """
    other = opened.move(address)
    click.echo(f"{other}: the register is here now; give it with --register from now on")
