"""The command that writes what the shop works from: job, wiring and orders."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from configurator.cli.common import (
    FINDINGS,
    Asked,
    build_command,
    date_option,
    look_options,
    print_json,
)
from configurator.cli.outputs import Output, output_option
from configurator.errors import QuoteRefused

if TYPE_CHECKING:
    from configurator.answers.shop import Sheets

_NAMES = ("job", "wiring", "orders")


def _written(output: Output, _: str, as_json: bool) -> Output:
    if output.path is None and not as_json:
        raise click.UsageError("say in which folder to write the sheets with -o DIR, or --json")
    return output


def _files(as_kind: str, **_: object) -> list[str]:
    return [f"{name}.{as_kind}" for name in _NAMES]


@build_command(on_paper=True, names=_files, named=_written)
@output_option("DIR", "The folder for the sheets.")
@click.option(
    "--as",
    "as_kind",
    type=click.Choice(["pdf", "html", "json"]),
    default="pdf",
    show_default=True,
    help="Kind of the files.",
)
@click.option("--cost", is_flag=True, help="Order list with cost: for the shop's eyes only.")
@click.option("--number", default="DRAFT", show_default=True, help="The job's number.")
@date_option("Day of issue.")
@look_options
def sheets(asked: Asked, as_kind: str, cost: bool, number: str, day: dt.date) -> None:
    r"""Write the sheets that the shop works from: job, wiring, orders; unless something stops it.

    The job sheet is for the workshop, the wiring sheet for the electrician, the order list for
    whoever buys. None has a price; the order list has cost only with --cost.

    \b
    Example:
      configurator sheets touring.yaml -o sheets --number Q-2041
    """
    try:
        made = asked.build.sheets(number, day, cost=cost)
    except QuoteRefused as error:
        if asked.as_json:
            raise
        told = "\n".join(["no sheets:", *(f"  {said}" for said in error.sentences)])
        click.echo(told, err=True)
        sys.exit(FINDINGS)
    folder = asked.output.path
    if folder is not None:
        asked.shop.write_sheets(made, folder, as_kind, **asked.look.given)
    if asked.as_json:
        print_json(made)
    elif folder is not None:
        for name, said in _said(made):
            click.echo(f"{folder / name}.{as_kind}: {said}")
        if made.wiring is None:
            click.echo("no wiring sheet: nothing that is picked has to be wired")
            old = folder / f"wiring.{as_kind}"
            if old.exists():
                click.echo(f"{old}: from before, it does not belong to this job", err=True)


def _said(made: Sheets) -> Iterator[tuple[str, str]]:
    """What is said of each sheet, by its name."""
    number = made.job.head.number
    yield "job", f"job sheet {number}, {_count(len(made.job.units), 'unit')}"
    if made.wiring is not None:
        circuits = _count(len(made.wiring.circuits), "circuit")
        yield "wiring", f"wiring sheet {number}, {circuits}"
    suppliers = sum(bool(group.supplier) for group in made.orders.groups)
    costs = ", with cost: for the shop's eyes only" if made.orders.with_cost else ""
    yield "orders", f"order list {number}, {_count(suppliers, 'supplier')}{costs}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
