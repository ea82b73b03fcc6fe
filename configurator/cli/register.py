"""The commands of the register: find, show, reopen, revise and follow up what was issued."""

from __future__ import annotations

import datetime as dt
import re
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from configurator.catalogue.model import ADD_ON
from configurator.cli.arguments import day_from
from configurator.cli.common import (
    FINDINGS,
    Asked,
    Commands,
    build_command,
    catalogue_option,
    date_option,
    json_option,
    look_options,
    print_json,
    the_shop,
    today,
)
from configurator.cli.outputs import NAME, Output, output_option
from configurator.errors import FileError

if TYPE_CHECKING:
    from configurator.answers.register import KeptQuote
    from configurator.register.register import Register

REGISTER_VARIABLE, SELLER_VARIABLE = "CONFIGURATOR_REGISTER", "CONFIGURATOR_SELLER"


def register_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names the register."""
    return click.option(
        "--register",
        "register_address",
        metavar="ADDRESS",
        envvar=REGISTER_VARIABLE,
        show_envvar=True,
        help="The register: a file, or postgresql://USER@HOST/NAME. Default: a file in the "
        "user's data folder.",
    )(command)


def seller_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names who sells."""
    return click.option(
        "--seller",
        metavar="NAME",
        envvar=SELLER_VARIABLE,
        show_envvar=True,
        help="Who does it; kept with the quote. Default: the name on this computer.",
    )(command)


def the_seller(name: str | None) -> str:
    """Who does it: as given, or the name of whoever is logged in."""
    if name is not None:
        return name
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        raise click.UsageError("say who does it with --seller NAME") from None


def _reason_option(example: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return click.option(
        "--reason", required=True, help=f"Why; kept with the quote, such as {example!r}."
    )


@click.group(cls=Commands)
def register() -> None:
    """Look after the quotes that were issued: find, reopen, revise, follow up."""


def _register_command(ask: Callable[..., None]) -> Callable[..., Any]:
    """A command that needs a register and nothing else; it gets it opened, for a while."""

    @wraps(ask)
    def command(register_address: str | None, **given: Any) -> None:
        from configurator.shop import open_register

        with open_register(register_address) as opened:
            ask(opened, **given)

    return register_option(command)


@register.command("list")
@click.option("--status", metavar="STATUS", help="Only those so, such as issued or lapsed.")
@click.option("--by", metavar="SELLER", default="", help="Only those of this seller.")
@click.option(
    "--lapses-within",
    metavar="DAYS",
    type=click.IntRange(0, 3660),
    help="Only those that stand no longer than so many days: to be followed up.",
)
@json_option
@_register_command
def register_list(
    opened: Register, status: str | None, by: str, lapses_within: int | None, as_json: bool
) -> None:
    r"""List the quotes, the newest first.

    \b
    Example: which quotes lapse this week?
      configurator register list --lapses-within 7
    """
    from configurator.answers.register import STATUSES, QuoteList

    if status is not None and status not in STATUSES:
        raise click.UsageError(f"--status {status}: give one of {', '.join(STATUSES)}")
    found = opened.list(status=status or "", seller=by, lapses_within=lapses_within)
    _print_entries(QuoteList(found), as_json)


@register.command("find")
@click.argument("words", metavar="WORD [WORD]...", nargs=-1, required=True)
@json_option
@_register_command
def register_find(opened: Register, words: tuple[str, ...], as_json: bool) -> None:
    r"""Find quotes by number, customer, telephone, e-mail, title or seller.

    Beginnings of words are enough; case and accents do not matter.

    \b
    Example:
      configurator register find brandgrove
    """
    from configurator.answers.register import QuoteList

    _print_entries(QuoteList(opened.find(" ".join(words))), as_json)


def _print_entries(found: Any, as_json: bool) -> None:
    from configurator.render.text import show
    from configurator.report.register import entries_report

    if as_json:
        print_json(found)
    else:
        show(entries_report(found))


@register.command("show")
@click.argument("number")
@click.option("--revision", type=click.IntRange(1, 999), help="Which revision -o writes.")
@output_option("FILE", "Write the very PDF that was issued as FILE.pdf.", ".pdf")
@json_option
@_register_command
def register_show(
    opened: Register, number: str, revision: int | None, output: Output, as_json: bool
) -> None:
    """Show a quote with its revisions and its trail, or write its PDF as it was issued."""
    from configurator.render.text import show
    from configurator.report.register import record_report

    record = opened.show(number)
    if output.path is not None:
        write_kept(opened.open(number, revision), output.path)
        click.echo(f"{output.path}: quote {number}, as it was issued")
    if as_json:
        print_json(record)
    elif output.path is None:
        show(record_report(record))


def write_kept(kept: KeptQuote, path: Path) -> None:
    """Write the PDF that is kept, and say so.

    Raises:
        FileError: it is a draft's, or the file cannot be written.
    """
    from configurator.render.files import replace_file, required_kind

    required_kind(path, (".pdf",))
    if not kept.pdf:
        raise FileError(f"{kept.number} is a draft and has no PDF: issue it first")
    replace_file(path, kept.pdf)


@register.command("open")
@click.argument("number")
@click.option("--revision", type=click.IntRange(0, 999), help="Which; default: the latest.")
@output_option("FILE", "Write the selection as FILE.yaml or .json, to be changed.", ".yaml .json")
@catalogue_option
@json_option
@_register_command
def register_open(
    opened: Register,
    number: str,
    revision: int | None,
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Open a quote again: what it was, what it comes to now, and its selection as a file.

    \b
    Example:
      configurator register open Q-2041 -o again.yaml
    """
    from configurator.render.text import show
    from configurator.report.register import reopened_report

    shop = the_shop(catalogue_file)
    kept = opened.open(number, revision)
    build = shop.build(kept.selection)
    if output.path is not None:
        output.require_writable(shop.catalogue, [])
        build.save(output.path)
    reopened = kept.priced(build.price())
    if as_json:
        print_json(reopened)
        return
    show(reopened_report(reopened))
    if output.path is not None:
        click.echo(f"{output.path}: the selection, to be changed and quoted")


@build_command(on_paper=True)
@output_option("FILE", "FILE.pdf for the customer; by default the quote's number.", ".pdf")
@date_option("Day of issue.")
@click.option("--series", default="", help="What stands before its number.")
@click.option("--replaces", metavar="NUMBER", default="", help="The quote that it replaces.")
@click.option("--draft", metavar="NAME", default="", help="The draft that it comes from.")
@register_option
@seller_option
@look_options
def issue_quote(
    asked: Asked,
    day: dt.date,
    series: str,
    replaces: str,
    draft: str,
    register_address: str | None,
    seller: str | None,
) -> None:
    """Issue a quote: behind ``quote --issue``."""
    quote = asked.build.quote("DRAFT", day)
    with _opened(asked, register_address) as opened:
        kept = opened.issue(
            quote, seller=the_seller(seller), series=series, draft=draft, replaces=replaces
        )
    _write_issued(asked, kept)


@build_command(on_paper=True)
@register_option
@seller_option
@date_option("Day of its prices.")
def keep(asked: Asked, day: dt.date, register_address: str | None, seller: str | None) -> None:
    """Keep a selection as a draft, without a number, to be issued later."""
    quote = asked.build.quote("DRAFT", day)
    with _opened(asked, register_address) as opened:
        kept = opened.keep(quote, seller=the_seller(seller))
    _say(asked, kept, f"{kept.number} is kept; issue it with quote --issue --draft {kept.number}")


@build_command(on_paper=True)
@click.option("--number", required=True, help="The quote's number.")
@_reason_option("with the taller canopy")
@output_option("FILE", "FILE.pdf for the customer.", ".pdf")
@date_option("Day of issue.")
@register_option
@seller_option
@look_options
def revise(
    asked: Asked,
    number: str,
    reason: str,
    day: dt.date,
    register_address: str | None,
    seller: str | None,
) -> None:
    r"""Issue a quote anew under its number, as its next revision.

    \b
    Example:
      configurator register revise again.yaml --number Q-41 --reason "more height"
    """
    quote = asked.build.quote(number, day)
    with _opened(asked, register_address) as opened:
        kept = opened.revise(number, quote, seller=the_seller(seller), reason=reason)
    _write_issued(asked, kept)


@register.command("accept")
@click.argument("number")
@_reason_option("signed at the counter")
@click.option(
    "--add-on", "add_ons", metavar="ID", multiple=True, help="An add-on taken up. Repeatable."
)
@output_option("FILE", "FILE.pdf, of the revision that the add-ons make.", ".pdf")
@catalogue_option
@seller_option
@register_option
def accept(
    number: str,
    reason: str,
    add_ons: tuple[str, ...],
    output: Output,
    catalogue_file: str | None,
    seller: str | None,
    register_address: str | None,
) -> None:
    r"""Keep that the customer has accepted a quote, with add-ons of the list if they took some.

    \b
    Example:
      configurator register accept Q-2041 --reason "signed at the counter"
    """
    from configurator.shop import open_register

    quote = None
    if not add_ons:
        with open_register(register_address) as opened:
            opened.accept(number, seller=the_seller(seller), reason=reason)
        click.echo(f"quote {number}: accepted")
        return
    shop = the_shop(catalogue_file, on_paper=True)
    with shop.register(register_address) as opened:
        build = shop.build(opened.open(number).selection)
        for add_on in add_ons:
            build = build.pick(ADD_ON, add_on)
        quote = build.quote(number, today())
        opened.accept(number, seller=the_seller(seller), reason=reason, quote=quote)
        click.echo(f"quote {number}: accepted, {quote.price.total}")
        if output.path is not None:
            write_kept(opened.open(number), output.path)


def _move(status: str, help_text: str, example: str) -> click.Command:
    @click.command(status, help=help_text)
    @click.argument("number")
    @_reason_option(example)
    @seller_option
    @_register_command
    def command(opened: Register, number: str, reason: str, seller: str | None) -> None:
        getattr(opened, status)(number, seller=the_seller(seller), reason=reason)
        click.echo(f"quote {number}: {'declined' if status == 'decline' else 'withdrawn'}")

    return command


@register.command("forget")
@click.argument("number")
@_reason_option("asked for by letter")
@seller_option
@_register_command
def forget(opened: Register, number: str, reason: str, seller: str | None) -> None:
    """Delete the customer's data from a quote on their request; number and sums are kept."""
    opened.forget(number, seller=the_seller(seller), reason=reason)
    click.echo(f"quote {number}: the customer's data is deleted; number, sums and trail are kept")


@register.command("results")
@click.option("--first", metavar="YYYY-MM-DD", help="The first day that counts.")
@click.option("--last", metavar="YYYY-MM-DD", help="The last day that counts.")
@click.option("--currency", default="AUD", show_default=True, help="Only quotes in it.")
@output_option("FILE", "Draw it as FILE.svg.", ".svg")
@json_option
@_register_command
def results(
    opened: Register,
    first: str | None,
    last: str | None,
    currency: str,
    output: Output,
    as_json: bool,
) -> None:
    """Tell what was won and lost, by month and by reason."""
    from configurator.render.files import replace_file, required_kind
    from configurator.render.text import show
    from configurator.report.register import results_chart, results_report

    found = opened.results(
        currency,
        first=None if first is None else day_from(first),
        last=None if last is None else day_from(last),
    )
    if as_json:
        print_json(found)
    else:
        show(results_report(found))
    if output.path is not None:
        from configurator.drawing.charts import results_svg

        required_kind(output.path, output.kinds)
        replace_file(output.path, results_svg(results_chart(found)).encode())


@register.command("export")
@output_option("FILE", "FILE.csv or FILE.json.", ".csv .json")
@_register_command
def export(opened: Register, output: Output) -> None:
    """Write the list of all quotes as a table for a spreadsheet, or as JSON."""
    if output.path is None:
        raise click.UsageError("say where to write with -o FILE.csv or FILE.json")
    click.echo(f"{output.path}: {opened.export(output.path)} quotes")


@register.command("backup")
@click.argument("file", type=NAME)
@_register_command
def backup(opened: Register, file: str) -> None:
    """Copy the register into a new file, while others go on; it is checked before it counts."""
    opened.backup(Path(file))
    click.echo(f"{file}: a whole copy of {opened.database.name}")


@register.command("check")
@_register_command
def check(opened: Register) -> None:
    """See that nothing was changed behind the register's back, and name the first that was."""
    wrong = opened.check()
    if wrong:
        click.echo(wrong[0])
        sys.exit(FINDINGS)
    click.echo(f"{opened.database.name}: everything is as it was written")


@register.command("move")
@click.argument("address", type=NAME)
@_register_command
def move(opened: Register, address: str) -> None:
    """Copy the register to another place, such as a server, where there is none yet."""
    other = opened.move(address)
    click.echo(f"{other}: a whole copy of {opened.database.name}; use it with --register from now")


register.add_command(keep, "keep")
register.add_command(revise, "revise")
register.add_command(
    _move("decline", "Keep that the customer has declined a quote.", "bought elsewhere")
)
register.add_command(_move("withdraw", "Withdraw a quote.", "no longer made"))


def _opened(asked: Asked, address: str | None) -> AbstractContextManager[Register]:
    return asked.shop.register(address, **asked.look)


def _write_issued(asked: Asked, kept: KeptQuote) -> None:
    """Write the PDF of what was issued; it is kept in any case."""
    path = asked.output.path or Path(re.sub(r"[^\w .+-]", "-", f"{kept.number}.pdf"))
    if asked.output.path is None and path.exists():
        _say(
            asked,
            kept,
            f"quote {kept.number} is issued; {path} is there already: write it with "
            f"register show {kept.number} -o FILE.pdf",
        )
        return
    try:
        write_kept(kept, path)
    except FileError as error:
        raise FileError(
            f"quote {kept.number} is issued and kept, and its PDF was not written: {error}; write "
            f"it with register show {kept.number} -o FILE.pdf"
        ) from None
    revision = f", revision {kept.revision}" if kept.revision > 1 else ""
    tax = kept.answer["price"]["tax-name"]
    total = f"{kept.total} including {tax}"
    _say(asked, kept, f"{path}: quote {kept.number}{revision}, {total}")


def _say(asked: Asked, kept: KeptQuote, sentence: str) -> None:
    if asked.as_json:
        print_json(kept.answer)
    else:
        click.echo(sentence)
