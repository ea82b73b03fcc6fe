"""The command that serves the page at the counter."""

from __future__ import annotations

import click

from configurator.cli.common import catalogue_option, the_shop
from configurator.cli.register import register_option


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
@catalogue_option
@register_option
def serve(
    port: int,
    open_browser: bool,
    language: str | None,
    catalogue_file: str | None,
    register_address: str | None,
) -> None:
    r"""Serve the page at the counter: packages built by tapping, quotes issued and found again.

    It can be opened on this machine only, and ends with Ctrl-C. It works without JavaScript.

    \b
    Example:
      configurator serve --open
    """
    from configurator.web.crew import Crew, prepare

    prepare()
    from configurator.render.look import look_of
    from configurator.web.posting import Posting, for_sellers
    from configurator.web.serve import HOST
    from configurator.web.serve import serve as serve_page

    shop = the_shop(catalogue_file)
    look_of(shop.catalogue.shop, None, language)
    posting = Posting(for_sellers(shop), register_address, language)
    serve_page(
        Crew(posting, catalogue_file),
        HOST,
        port,
        lambda address: click.echo(f"the page is at {address}"),
        open_browser,
    )
