"""The command ``quote --batch``: every selection of a folder quoted into another one."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from operator import length_hint
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from configurator.cli.common import (
    FINDINGS,
    FINE,
    AskedLook,
    day_from,
    print_json,
    problems_as_json,
    the_shop,
)

if TYPE_CHECKING:
    from configurator.report.batch import Quoted


def quote_folder(
    folder: str,
    output: Path,
    prefix: str,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> NoReturn:
    """Quote every selection of the folder; what fails is reported, and the others go on.

    Args:
        folder: with the selections.
        output: the folder for the quotes.
        prefix: what stands before a file's name in its quote's number.
        day: day of issue, or None for today.
        look: how the quotes look.
        catalogue_file: the catalogue, or None for the shipped one.
        as_json: whether to answer as JSON.

    Raises:
        ConfiguratorError: nothing can be quoted at all.
    """
    from configurator.render.text import progress

    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day, on_paper=True)
    quotes = shop.batch(folder, output, day_from(day), prefix, **look.given)
    results = []
    with progress(length_hint(quotes)) as advance:
        for quoted in quotes:
            results.append(quoted)
            advance()
    results.sort(key=lambda quoted: Path(quoted.selection))
    if as_json:
        from configurator.report.batch import BatchAnswer

        print_json(BatchAnswer(tuple(results)))
    else:
        _show(results)
    sys.exit(FINDINGS if any(quoted.problem for quoted in results) else FINE)


def _show(results: Sequence[Quoted]) -> None:
    """Each quote written, and on standard error each selection that has none, with the reason."""
    from configurator.report.price import written_quote

    for quoted in results:
        if quoted.price is not None:
            click.echo(written_quote(quoted.job.output, quoted.job.number, quoted.price))
    failed = [quoted for quoted in results if quoted.problem]
    for quoted in failed:
        name = quoted.job.selection
        told = quoted.problem if quoted.problem.startswith(name) else f"{name}: {quoted.problem}"
        click.echo(told, err=True)
    if failed:
        click.echo(f"{len(failed)} of {len(results)} selections have no quote", err=True)
