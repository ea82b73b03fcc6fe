"""The commands that write to the register: issue, revise, accept, decline, withdraw, forget."""

from __future__ import annotations

import datetime as dt
import re
import shlex
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from configurator.catalogue.model import ADD_ON
from configurator.cli.arguments import Output, option, output_option
from configurator.cli.common import (
    CommandRequest,
    build_command,
    catalogue_option,
    customer_option,
    date_option,
    look_options,
    print_json,
    tell_cautions,
    the_shop,
    today,
)
from configurator.errors import FileError, NoCustomer, NoRegister
from configurator.findings import Finding, QuoteRefused

if TYPE_CHECKING:
    from configurator.answers.register import KeptQuote
    from configurator.register.register import Register
    from configurator.report.quote import Quote
    from configurator.selection.picks import Selection

from configurator.cli.register import (
    register_command,
    register_option,
    seller_option,
    the_seller,
    write_kept,
)


def _reason_option(
    example: str, says: str = "Why", printed: str = ""
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return option(
        "--reason",
        f"{says}, such as {example!r}. It is {printed}kept for good, so name no customer.",
        required=True,
        cls=_Reason,
        example=f'say {says[0].lower()}{says[1:]} with --reason, such as --reason "{example}"',
    )


class _Reason(click.Option):
    """The option that says why; where it is missing, an example is given."""

    def __init__(self, *given: Any, example: str, **more: Any) -> None:
        super().__init__(*given, **more)
        self._example = example

    def process_value(self, ctx: click.Context, value: Any) -> Any:
        """The reason.

        Raises:
            click.UsageError: there is none.
        """
        try:
            return super().process_value(ctx, value)
        except click.MissingParameter:
            raise click.UsageError(self._example, ctx) from None


def issue_quote(
    asked: CommandRequest,
    quote: Quote,
    register_address: str | None,
    seller: str | None,
    series: str,
    draft: str,
    replaces: str,
) -> None:
    """Issue a quote and write its PDF: what ``quote --issue`` does."""
    with _opened(asked, register_address) as opened:
        kept = opened.issue(
            quote, seller=the_seller(seller), series=series, draft=draft, replaces=replaces
        )
    _write_issued(asked, kept)
    if not asked.as_json:
        tell_cautions(quote.findings)


def for_nobody(selection: Selection, error: QuoteRefused) -> QuoteRefused:
    """What refuses a quote that is to be issued, and besides, that nobody is there to sign it."""
    from configurator.register.register import require_customer

    try:
        require_customer(selection)
    except NoCustomer as nobody:
        return QuoteRefused(
            (*error.findings, Finding("stop", "no-customer", "customer", *nobody.args))
        )
    return error


def require_free(address: str | None, quotes: Mapping[str, Quote | None]) -> None:
    """See that no number is another quote's in the register that ``--issue`` would use.

    There may be none in the usual place yet, and none is made. One that was named and is not there,
    or that cannot be read, keeps no paper from being made: that the numbers were not looked up is
    said on standard error.

    Args:
        address: of the register.
        quotes: what the paper of each number says, where that is known.

    Raises:
        RegisterError: a number is another quote's.
    """
    from configurator.shop import open_register

    try:
        with open_register(address) as opened:
            for number, quote in quotes.items():
                opened.require_free(number, quote)
    except FileError as error:
        if isinstance(error, NoRegister) and address is None:
            return
        numbers = ", ".join(quotes)
        click.echo(f"note: {numbers} not looked up in the register: {error}", err=True)


@build_command(on_paper=True)
@customer_option
@register_option
@seller_option
@date_option("Day of its prices.")
def keep(
    asked: CommandRequest, day: dt.date, register_address: str | None, seller: str | None
) -> None:
    """Keep a selection as a draft, without a number, to issue later."""
    quote = asked.build.quote("DRAFT", day)
    with _opened(asked, register_address) as opened:
        kept = opened.keep(quote, seller=the_seller(seller))
    _say(
        asked,
        kept,
        f"{kept.number} is kept; issue it with: configurator quote SELECTION --issue --draft "
        f"{kept.number}",
    )


@build_command(on_paper=True)
@customer_option
@option("--number", "The quote's number.", required=True)
@_reason_option("with the taller canopy", "What changed", "printed on the quote and ")
@output_option("FILE", "FILE.pdf for the customer.", ".pdf")
@date_option("Day of issue.")
@register_option
@seller_option
@look_options
def revise(
    asked: CommandRequest,
    number: str,
    reason: str,
    day: dt.date,
    register_address: str | None,
    seller: str | None,
) -> None:
    r"""Issue the next revision of a quote, under the same number.

    \b
    Example:
      configurator register revise again.yaml --number Q-41 --reason "more height"
    """
    quote = asked.build.quote(number, day)
    with _opened(asked, register_address) as opened:
        kept = opened.revise(number, quote, seller=the_seller(seller), reason=reason)
    if kept.reopened:
        told = f"quote {number} was accepted: it is open again until this revision is accepted"
        click.echo(told, err=True)
    _write_issued(asked, kept)
    if not asked.as_json:
        tell_cautions(quote.findings)


@click.command()
@click.argument("number")
@_reason_option("signed at the counter", "How it was accepted")
@option("--add-on", "An add-on accepted too. Repeatable.", "ID", to="add_ons")
@output_option("FILE", "Write the PDF of what was accepted to FILE.pdf.", ".pdf", reads=False)
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
    r"""Record that the customer has accepted a quote, with any add-ons they ticked.

    Add-ons make a new revision. Everything else must cost what was quoted. The
    total with them is shown: have the customer confirm it.

    \b
    Example:
      configurator register accept Q-2041 --reason "signed at the counter"
    """
    from configurator.shop import open_register

    quote, said = None, f"quote {number}: accepted"
    shop = the_shop(catalogue_file, on_paper=True) if add_ons else None
    with shop.register(register_address) if shop else open_register(register_address) as opened:
        if shop is not None:
            build = shop.build(opened.open(number).selection)
            for add_on in add_ons:
                build = build.pick(ADD_ON, add_on)
            quote = build.quote(number, today())
            quoted = opened.show(number).entry.total
            said = f"{said}, {quote.price.total} with what was added (quoted: {quoted})"
        opened.accept(number, seller=the_seller(seller), reason=reason, quote=quote)
        click.echo(said)
        if output.path is not None:
            write_kept(opened.open(number), output.path)


def _move(status: str, help_text: str, example: str) -> click.Command:
    @click.command(status, help=help_text)
    @click.argument("number")
    @_reason_option(example)
    @seller_option
    @register_command
    def command(opened: Register, number: str, reason: str, seller: str | None) -> None:
        from configurator.answers.register import ACCEPTED

        accepted = opened.show(number).entry.status == ACCEPTED
        getattr(opened, status)(number, seller=the_seller(seller), reason=reason)
        click.echo(f"quote {number}: {'declined' if status == 'decline' else 'withdrawn'}")
        if accepted:
            told = f"quote {number} was accepted: cancel what was ordered from suppliers for it"
            click.echo(told, err=True)

    return command


@click.command()
@click.argument("number")
@_reason_option("asked for by letter")
@seller_option
@register_command
def forget(opened: Register, number: str, reason: str, seller: str | None) -> None:
    """Delete the customer's data from a quote on request; its number and prices are kept.

    Earlier backups, exports and a register that was moved from still hold it. So do the reasons
    in its history if one names the customer: they cannot be changed afterwards.
    """
    opened.forget(number, seller=the_seller(seller), reason=reason)
    click.echo(
        f"quote {number}: customer's data deleted; number, prices and history with its reasons kept"
    )


decline = _move("decline", "Record that the customer has declined a quote.", "bought elsewhere")
withdraw = _move("withdraw", "Withdraw a quote.", "no longer made")


def _opened(asked: CommandRequest, address: str | None) -> AbstractContextManager[Register]:
    return asked.shop.register(address, **asked.look)


def _write_issued(asked: CommandRequest, kept: KeptQuote) -> None:
    """Write the PDF of what was issued; it is kept in any case."""
    path = asked.output.path or Path(re.sub(r"[^\w .+-]", "-", f"{kept.number}.pdf"))
    if asked.output.path is None and path.exists():
        _say(
            asked,
            kept,
            f"quote {kept.number} is issued; {path} is there already: write it with: "
            f"{_shown_with(kept)}",
        )
        return
    try:
        write_kept(kept, path)
    except FileError as error:
        raise FileError(
            f"quote {kept.number} is issued and kept, and its PDF was not written: {error}; write "
            f"it with: {_shown_with(kept)}"
        ) from None
    revision = f", revision {kept.revision}" if kept.revision > 1 else ""
    tax = kept.answer["price"]["tax-name"]
    total = f"{kept.total} including {tax}"
    _say(asked, kept, f"{path}: quote {kept.number}{revision}, {total}")


def _shown_with(kept: KeptQuote) -> str:
    return f"configurator register show {shlex.quote(kept.number)} -o FILE.pdf"


def _say(asked: CommandRequest, kept: KeptQuote, sentence: str) -> None:
    if asked.as_json:
        print_json(kept.answer)
    else:
        click.echo(sentence)
