"""The command for the whole build: what it comes to, and what would bring it under the limit."""

from __future__ import annotations

from decimal import Decimal

import click

from configurator.cli.common import (
    FINDINGS,
    FINE,
    AskedLook,
    catalogue_option,
    json_option,
    look_options,
    number_from,
    priced_catalogue,
    print_json,
    problems_as_json,
    selection_arguments,
    the_look,
    the_selection,
)
from configurator.cli.outputs import Output, output_option
from configurator.selection.resolved import Resolved

__all__ = ["budget"]


@click.command()
@selection_arguments
@click.option("--limit", metavar="AMOUNT", help="The limit, in place of the selection's.")
@click.option("--contingency", metavar="PERCENT", help="In place of the selection's.")
@click.option(
    "--keep",
    "keep",
    multiple=True,
    metavar="CHOICE[=OPTION]",
    help="Do not touch this when saving. Repeatable.",
)
@click.option("--no-savings", is_flag=True, help="Only reckon; do not look for savings.")
@output_option("FILE", "FILE.pdf, .html or .json instead of a table.", ".pdf .html .json")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Whose prices. Default: today.")
@look_options
@catalogue_option
@json_option
def budget(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    limit: str | None,
    contingency: str | None,
    keep: tuple[str, ...],
    no_savings: bool,
    output: Output,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Reckon the whole build against its limit, and find what would bring it under.

    A change replaces what is picked, takes fewer of it or leaves it out; nothing is added, and
    what stops a quote afterwards stopped it before. The least-regret set has the fewest changes,
    and of those gives up least money.

    \b
    Example: would powder coat instead of full paint do it?
      configurator budget touring.yaml --pick finish=powder-standard
    """
    import sys

    import attrs

    from configurator.report.budget import budget_paper
    from configurator.selection.picks import Budget
    from configurator.selection.validate import require_known

    with problems_as_json(as_json):
        catalogue = priced_catalogue(catalogue_file, day, on_paper=output.path is not None)
        selection = the_selection(catalogue, selection_file, picks, drops).tidied()
        wanted = selection.budget or Budget()
        if limit is not None:
            wanted = attrs.evolve(wanted, limit=_limit(limit))
        if contingency is not None:
            wanted = attrs.evolve(wanted, contingency=_contingency(contingency))
        wanted = attrs.evolve(wanted, keep=tuple(dict.fromkeys((*wanted.keep, *keep))))
        require_known(Resolved(catalogue, attrs.evolve(selection, budget=wanted)))
        output.require_writable(catalogue, [selection_file], look.templates)
        paper = budget_paper(Resolved(catalogue, selection), wanted, with_savings=not no_savings)
    if output.path is not None:
        from configurator.render.writing import write_paper

        write_paper(paper, output.path, the_look(catalogue, look))
        click.echo(f"{output.path}: build budget")
    elif as_json:
        print_json(paper)
    else:
        from configurator.render.text import show
        from configurator.report.budget import budget_report

        show(budget_report(paper))
    over = paper.reckoning.over
    sys.exit(FINDINGS if over is not None and over.amount > 0 else FINE)


_MOST = 100_000_000
"""The largest limit, as in a selection."""


def _limit(text: str) -> Decimal:
    number = number_from(text, _MOST)
    if not number:
        raise click.UsageError(
            f"--limit {text}: write a number such as 65000, more than 0 and at most {_MOST}"
        )
    return number


def _contingency(text: str) -> Decimal:
    number = number_from(text, 100)
    if number is None:
        raise click.UsageError(f"--contingency {text}: write percent from 0 to 100, such as 12.5")
    return number
