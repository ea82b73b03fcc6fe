"""The command that writes what workshop, electrician and buyer work from."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from configurator.cli.common import (
    FINDINGS,
    AskedLook,
    catalogue_option,
    day_from,
    json_option,
    look_options,
    priced_catalogue,
    print_json,
    problems_as_json,
    selection_arguments,
    the_look,
    the_selection,
)
from configurator.cli.outputs import Output, output_option
from configurator.errors import QuoteRefused
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.fit.layout import Layout
    from configurator.render.look import Look
    from configurator.report.sheet_head import SheetHead

__all__ = ["sheets"]

_Sheet = tuple[str, Callable[["Look"], str], dict[str, Any]]
"""What it is said to be, how it is made as HTML, and it as JSON."""


@click.command()
@selection_arguments
@output_option("DIR", "The folder for the sheets.")
@click.option(
    "--as",
    "kind",
    type=click.Choice(["pdf", "html", "json"]),
    default="pdf",
    show_default=True,
    help="Kind of the files.",
)
@click.option("--cost", is_flag=True, help="Order list with cost: for the shop's eyes only.")
@click.option("--number", default="DRAFT", show_default=True, help="The job's number.")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Day of issue. Default: today.")
@look_options
@catalogue_option
@json_option
def sheets(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    output: Output,
    kind: str,
    cost: bool,
    number: str,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Write the sheets that the shop works from: job, wiring, orders; unless something stops it.

    The job sheet is for the workshop, the wiring sheet for the electrician, the order list for
    whoever buys. None has a price; the order list has cost only with --cost.

    \b
    Example:
      configurator sheets touring.yaml -o sheets --number Q-2041
    """
    if output.path is None and not as_json:
        raise click.UsageError("say in which folder to write the sheets with -o DIR, or --json")
    from configurator.report.sheet_head import sheet_head

    with problems_as_json(as_json):
        catalogue = priced_catalogue(catalogue_file, day, on_paper=True)
        selection = the_selection(catalogue, selection_file, picks, drops)
        names = [f"{name}.{kind}" for name in _NAMES]
        output.require_writable(catalogue, [selection_file], look.templates, names)
        try:
            head, layout = sheet_head(Resolved(catalogue, selection), number, day_from(day))
        except QuoteRefused as error:
            if as_json:
                raise
            refused = "\n".join(["no sheets:", *(f"  {said}" for said in error.sentences)])
            click.echo(refused, err=True)
            sys.exit(FINDINGS)
    made = _made(Resolved(catalogue, selection), head, layout, cost)
    if output.path is not None:
        look_asked = the_look(catalogue, look)
        _write(output.path, kind, made, look_asked, said=not as_json)
    if as_json:
        answers = {name: made[name][2] if name in made else None for name in _NAMES}
        print_json({"answer": "sheets", **answers})


_NAMES = ("job", "wiring", "orders")


def _made(build: Resolved, head: SheetHead, layout: Layout, cost: bool) -> Mapping[str, _Sheet]:
    """The sheets by the names of their files; without a wiring sheet where nothing is to wire."""
    from configurator.answers.sheets import job_answer, wiring_answer
    from configurator.answers.shop import orders_answer
    from configurator.render.sheets import job_html, orders_html, wiring_html
    from configurator.report.job import job_sheet
    from configurator.report.orders import order_list
    from configurator.report.wiring import wiring_sheet

    job = job_sheet(build, head, layout)
    wiring = wiring_sheet(build, head, layout)
    orders = order_list(build, head, cost)
    suppliers = sum(bool(group.supplier) for group in orders.groups)
    made: dict[str, _Sheet] = {
        "job": (
            f"job sheet {head.number}, {_count(len(job.units), 'unit')}",
            lambda look: job_html(build.catalogue, job, look),
            job_answer(job),
        )
    }
    if wiring is not None:
        made["wiring"] = (
            f"wiring sheet {head.number}, {_count(len(wiring.circuits), 'circuit')}",
            lambda look: wiring_html(wiring, look),
            wiring_answer(wiring),
        )
    costs = ", with cost: for the shop's eyes only" if cost else ""
    made["orders"] = (
        f"order list {head.number}, {_count(suppliers, 'supplier')}{costs}",
        lambda look: orders_html(orders, look),
        orders_answer(orders),
    )
    return made


def _write(folder: Path, kind: str, made: Mapping[str, _Sheet], look: Look, said: bool) -> None:
    """Write the sheets, all of them or none, and say so."""
    from configurator.answers.selling import to_json
    from configurator.render.files import replace_files
    from configurator.render.pdf import html_to_pdf

    kinds: dict[str, Callable[[_Sheet], bytes]] = {
        "pdf": lambda sheet: html_to_pdf(sheet[1](look)),
        "html": lambda sheet: sheet[1](look).encode(),
        "json": lambda sheet: to_json(sheet[2]).encode(),
    }
    files = {folder / f"{name}.{kind}": kinds[kind](sheet) for name, sheet in made.items()}
    replace_files(files)
    if not said:
        return
    for path, sheet in zip(files, made.values(), strict=True):
        click.echo(f"{path}: {sheet[0]}")
    if "wiring" not in made:
        click.echo("no wiring sheet: nothing that is picked has to be wired")
        old = folder / f"wiring.{kind}"
        if old.exists():
            click.echo(f"{old}: from before, it does not belong to this job", err=True)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
