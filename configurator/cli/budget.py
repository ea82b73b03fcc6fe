"""The command `budget`: what the whole build costs, and what would bring it under its limit."""

from __future__ import annotations

import sys
from decimal import Decimal

import attrs
import click

from configurator.cli.arguments import number_from
from configurator.cli.common import (
    FINDINGS,
    FINE,
    Asked,
    build_command,
    date_option,
    look_options,
)
from configurator.cli.outputs import output_option
from configurator.selection.picks import Budget


@build_command()
@click.option("--limit", metavar="AMOUNT", help="The limit, in place of the selection's.")
@click.option("--contingency", metavar="PERCENT", help="In place of the selection's.")
@click.option(
    "--keep",
    "keep",
    multiple=True,
    metavar="CHOICE[=OPTION]",
    help="Do not touch this when saving. Repeatable.",
)
@click.option("--no-savings", is_flag=True, help="Total only; do not look for savings.")
@output_option("FILE", "FILE.pdf, .html or .json instead of a table.", ".pdf .html .json")
@date_option("Use the prices of this day.")
@look_options
def budget(
    asked: Asked,
    limit: str | None,
    contingency: str | None,
    keep: tuple[str, ...],
    no_savings: bool,
) -> None:
    r"""Total the whole build against the customer's budget, and find what would bring it under.

    A change replaces a pick, takes fewer of it or leaves it out; nothing is added, and no
    change causes a new stop. The least-regret set has the fewest changes and, of those, takes
    off the least money.

    \b
    Example: would powder coat instead of full paint do it?
      configurator budget touring.yaml --pick finish=powder-standard
    """
    from configurator.report.budget import budget_report

    wanted = asked.build.selection.budget or Budget()
    if limit is not None:
        wanted = attrs.evolve(wanted, limit=_limit(limit))
    if contingency is not None:
        wanted = attrs.evolve(wanted, contingency=_contingency(contingency))
    wanted = attrs.evolve(wanted, keep=tuple(dict.fromkeys((*wanted.keep, *keep))))
    found = asked.build.budget(wanted, savings=not no_savings)
    asked.write(found)
    if asked.output.path is not None:
        click.echo(f"{asked.output.path}: build budget")
    else:
        asked.print(found, lambda: budget_report(found))
    sys.exit(FINDINGS if found.stopped else FINE)


_MOST = 10_000_000_000
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
