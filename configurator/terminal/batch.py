"""Quotes written, as a terminal tells of them, and how far a batch has come."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

import click

from configurator.pricing.whole import Price
from configurator.report.batch import Quoted
from configurator.words import amount_with_currency

__all__ = ["progress", "show_batch", "written_quote"]


def written_quote(file: str, number: str, price: Price) -> str:
    """What is said of a quote that has been written."""
    start = "from " if price.is_from else ""
    total = f"{start}{amount_with_currency(price.total)} including {price.tax_name}"
    return f"{file}: quote {number}, {total}"


@contextmanager
def progress(count: int) -> Iterator[Callable[[], None]]:
    """A bar on standard error while jobs are done, where that is a terminal; call it after each."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("Quotes", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=count)
        yield lambda: bar.advance(task)


def show_batch(results: Sequence[Quoted]) -> None:
    """Each quote written, and on standard error each selection that has none, with the reason."""
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
