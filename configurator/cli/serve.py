"""The commands of the page at the counter: it is served, and sellers get passwords for it."""

from __future__ import annotations

from pathlib import Path

import click

from configurator.cli.arguments import option
from configurator.cli.common import SPOKEN, catalogue_option, the_shop
from configurator.cli.register import register_option

_SELLERS_VARIABLE = "CONFIGURATOR_SELLERS"


sellers_option = option(
    "--sellers",
    "The file of the sellers. Default: one in the user's data folder.",
    "FILE",
    to="sellers_file",
    envvar=_SELLERS_VARIABLE,
)
"""The option that names the file of the sellers."""


def _the_sellers_file(file: str | None) -> Path:
    """The file of the sellers."""
    from configurator.web.sellers import usual_file

    return usual_file() if file is None else Path(file)


@click.command()
@click.argument("name", required=False)
@option("--remove", "Stop the seller from signing in.")
@sellers_option
def sellers(name: str | None, remove: bool, sellers_file: str | None) -> None:
    r"""Name a seller and set their password, for `serve --host`. Without a name, list them.

    It asks for the password, and keeps it so that it cannot be read back. Anyone signed in with
    an older password has to sign in again.

    \b
    Example:
      configurator sellers Ann
    """
    from configurator.web.sellers import read_sellers, write_sellers

    file = _the_sellers_file(sellers_file)
    known = read_sellers(file)
    if name is None:
        for one in sorted(known.passwords):
            click.echo(one)
        return
    if remove:
        write_sellers(file, known.without(name))
        click.echo(f"{name} may not sign in any more")
        return
    password = click.prompt("Password", hide_input=True, confirmation_prompt="The same again")
    write_sellers(file, known.with_seller(name, password))
    click.echo(f"{name} may sign in")


@click.command()
@option("--port", "0 for any.", type=click.IntRange(0, 65535), default=8080, show_default=True)
@option("--open", "Open it in the browser.", to="open_browser")
@option(
    "--language",
    "Of the page, such as en-AU or de. Default: the catalogue's.",
    "LANGUAGE",
    type=SPOKEN,
)
@option(
    "--host",
    "The address to answer at. On any other than this machine's own, sellers sign in.",
    "ADDRESS",
    default="127.0.0.1",
    show_default=True,
)
@option("--name", "Another name that browsers reach it by, such as a proxy's.", "NAME", to="names")
@option("--certificate", "A certificate, for https.", "FILE")
@option("--key", "The key of the certificate.", "FILE")
@sellers_option
@catalogue_option
@register_option
def serve(
    port: int,
    open_browser: bool,
    language: str | None,
    host: str,
    names: tuple[str, ...],
    certificate: str | None,
    key: str | None,
    sellers_file: str | None,
    catalogue_file: str | None,
    register_address: str | None,
) -> None:
    r"""Serve the page at the counter: packages built by tapping, quotes issued and found again.

    Stop it with Ctrl-C. The page works without JavaScript and follows changes in the catalogue.
    It can be opened on this machine only or, with --host, by sellers who have a password.

    \b
    Example:
      configurator serve --open
      configurator serve --host 192.0.2.7 --certificate shop.pem --key shop.key
    """
    from configurator.web.crew import Crew, prepare, stamps_of

    prepare()
    from configurator.render.look import look_of
    from configurator.web.guard import Seats
    from configurator.web.messages import Posting, for_sellers
    from configurator.web.serve import Door, serve as serve_page

    door = Door(host, port, names, certificate, key)
    seats = Seats(_the_sellers_file(sellers_file) if door.outside else None)
    if door.outside and not seats.sellers.passwords:
        raise click.UsageError(
            "others can reach this page, and whoever opens it sells in the shop's name: give each "
            "seller a password first, with: configurator sellers NAME"
        )
    if door.outside and not certificate:
        click.echo(
            "note: passwords and customers' data can be read on their way: give --certificate and "
            "--key, or let a proxy that has a certificate stand before this page",
            err=True,
        )
    known = stamps_of(catalogue_file)
    shop = the_shop(catalogue_file)
    look_of(shop.catalogue.shop, None, language)
    posting = Posting(for_sellers(shop), register_address, language)
    serve_page(
        Crew(posting, catalogue_file, known),
        door,
        seats,
        lambda address: click.echo(f"the page is at {address}"),
        open_browser,
    )
