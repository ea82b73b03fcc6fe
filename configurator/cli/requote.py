"""The command that prices and checks every open quote anew."""

from __future__ import annotations

import gc
import sys
from operator import length_hint
from typing import Any

import click

from configurator.cli.arguments import NAME, Output, option, output_option
from configurator.cli.common import (
    FINDINGS,
    FINE,
    catalogue_option,
    date_option,
    json_option,
    look_from,
    look_options,
    problems_as_json,
    require_paper,
    the_shop,
)
from configurator.cli.register import register_option


@click.command()
@click.argument("folder", metavar="[DIR]", required=False, type=NAME)
@output_option(
    "FILE",
    "FILE.csv, .json, .pdf or .html instead of a table.",
    ".csv .json .pdf .html",
    reads=False,
)
@option(
    "--cluster",
    "Do the work on this dask.distributed cluster, such as tcp://server:8786. Its workers "
    "receive the whole catalogue, including costs and suppliers.",
    "ADDRESS",
)
@date_option("Use the prices of this day.")
@register_option
@look_options
@catalogue_option
@json_option
def requote(
    folder: str | None,
    output: Output,
    cluster: str,
    day: str | None,
    register_address: str | None,
    catalogue_file: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    r"""Price and check every open quote under the current catalogue: what changed, and why.

    Without DIR, it takes the open quotes in the register; with DIR, the selection files and
    PDFs of quotes in that folder. Finished work is kept in a file beside the report: if the run
    is stopped, the same command continues from there.

    \b
    Examples:
      configurator requote -o open.csv
      configurator requote quotes --catalogue next-year.yaml
    """
    from configurator.render.text import progress, show
    from configurator.report.requote import requote_headline, requote_report

    if as_json and output.path is not None:
        raise click.UsageError("give --json or -o FILE, not both")
    look = look_from(given)
    require_paper(output, look)
    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day, on_paper=True)
        output.require_writable(shop.catalogue, [], look["templates"])
        quotes = shop.requote(
            folder, output.path, register=register_address, cluster=cluster, **look
        )
    gc.enable()  # which a command has off, as most live briefly
    count = length_hint(quotes)
    try:
        with progress(count) as advance:
            for _ in quotes:
                advance()
    except KeyboardInterrupt:
        done = count - length_hint(quotes)
        told = "; the same command goes on from there" if output.path is not None else ""
        click.echo(f"stopped after {done} of {count}{told}", err=True)
        sys.exit(130)
    answer = quotes.answer
    if as_json:
        for piece in quotes.json():
            click.echo(piece, nl=False)
    elif output.path is None:
        show(requote_report(answer))
    else:
        click.echo(f"{output.path}: {requote_headline(answer)}")
        if quotes.done_before:
            click.echo(f"{quotes.done_before} of them were done before")
        if answer.changed:
            click.echo(f"{answer.changed} of them now at another price")
        if answer.of_another_catalogue:
            click.echo(f"{answer.of_another_catalogue} of them of another catalogue, left out")
        stopped = answer.stopped + answer.not_understood + answer.unreadable
        if stopped:
            click.echo(f"{stopped} of them cannot be issued as picked: the report says why")
    sys.exit(FINE if answer.all_go else FINDINGS)
