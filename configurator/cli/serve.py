"""The command that serves the page at the counter."""

from __future__ import annotations

import click

from configurator.cli.common import catalogue_option, the_shop
from configurator.cli.register import register_option
from configurator.cli.sellers import sellers_option, the_sellers_file


@click.command()
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8080, show_default=True, help="0 for any."
)
@click.option("--open", "open_browser", is_flag=True, help="Open it in the browser.")
@click.option(
    "--language",
    metavar="LANGUAGE",
    help="Of the page, such as en-AU or de. Default: the catalogue's.",
)
@click.option(
    "--host",
    metavar="ADDRESS",
    default="127.0.0.1",
    show_default=True,
    help="The address to answer at. On any other than this machine's own, sellers sign in.",
)
@click.option(
    "--name",
    "names",
    metavar="NAME",
    multiple=True,
    help="Another name that browsers reach it by, such as a proxy's.",
)
@click.option("--certificate", metavar="FILE", help="A certificate, for https.")
@click.option("--key", metavar="FILE", help="The key of the certificate.")
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
    from configurator.web.crew import Crew, prepare

    prepare()
    from configurator.render.look import look_of
    from configurator.web.posting import Posting, for_sellers
    from configurator.web.seats import Seats
    from configurator.web.serve import Door
    from configurator.web.serve import serve as serve_page
    from configurator.web.stamps import stamps_of

    door = Door(host, port, names, certificate, key)
    seats = Seats(the_sellers_file(sellers_file) if door.outside else None)
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
