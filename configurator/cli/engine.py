"""The commands that ask the option engine: what can be had, why not, and the best way on."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from configurator.catalogue.model import Pick
from configurator.cli.common import (
    FINDINGS,
    FINE,
    catalogue_option,
    change_options,
    json_option,
    number_from,
    pick_from,
    print_json,
    problems_as_json,
    selection_arguments,
    the_catalogue,
    the_selection,
)
from configurator.cli.outputs import NAME, Output, output_option
from configurator.errors import SelectionError, near_miss
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_known, selection_problems

__all__ = ["complete", "fixes", "options", "why", "within"]

_MOST = 100_000_000
"""The largest budget, as in a selection."""


_output_option = output_option(
    "FILE",
    "Write the selection found too, as .yaml or .json, to be quoted or changed.",
    ".yaml .json",
)


def _write_found(build: Resolved, output: Output) -> None:
    """Write the selection found, where a file is asked for."""
    if output.path is not None:
        from configurator.render.writing import write_selection

        write_selection(build, output.path)


def _tell_written(output: Output) -> None:
    """Say that the selection was written, after the answer."""
    if output.path is not None:
        click.echo(f"{output.path}: the selection, to be quoted or changed")


@click.command()
@selection_arguments
@click.option("--choice", "choice_ids", multiple=True, metavar="ID", help="Only this choice.")
@catalogue_option
@json_option
def options(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    choice_ids: tuple[str, ...],
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    """Say for every option whether it is available, and if not, why.

    An option is open exactly when some complete, sound selection holds the picks and it. In a
    decided choice of one, what is available instead of the pick is shown with the difference in
    price; all other picks are kept.
    """
    from configurator.answers.engine import OptionsAnswer
    from configurator.engine.availability import options as states
    from configurator.engine.search import Search
    from configurator.render.text import show
    from configurator.report import engine as reports

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops, needed=False)
        require_known(Resolved(catalogue, selection))
    for choice_id in choice_ids:
        if choice_id not in catalogue.by_id:
            hint = near_miss(choice_id, catalogue.by_id)
            raise click.UsageError(f"there is no choice {choice_id!r}. {hint}".strip())
    asked = [catalogue.by_id[i] for i in choice_ids] or list(catalogue.by_id.values())
    search = Search(Resolved(catalogue, selection).offering)
    found = states(search, selection, asked)
    if as_json:
        print_json(OptionsAnswer.of(search, found))
    else:
        show(reports.states_report(search, found))
    sys.exit(FINE if found.conflict is None else FINDINGS)


@click.command()
@click.argument("arguments", metavar="[SELECTION] CHOICE=OPTION", nargs=-1, type=NAME)
@change_options
@catalogue_option
@json_option
def why(
    arguments: tuple[str, ...],
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Say why an option is not available, as a short argument.

    Where another option of a choice of one is picked, that pick is set aside first: the question is
    what speaks against the change.

    \b
    Example:
      configurator why touring.yaml canopy-height=850mm
    """
    from configurator.answers.engine import Why
    from configurator.engine.availability import price_of_change
    from configurator.engine.conflicts import find_conflict
    from configurator.engine.search import Search
    from configurator.render.text import show
    from configurator.report import engine as reports

    with problems_as_json(as_json):
        selection_file, pick = _file_and_pick(arguments)
        if pick is None:
            raise click.UsageError("name the option, as CHOICE=OPTION")
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops, needed=False)
        wanted = _wanted(Resolved(catalogue, selection), pick)
    replaced = difference = None
    asked = selection
    picked = selection.one(wanted.choice)
    if catalogue.by_id[wanted.choice].pick != "several" and picked not in (None, wanted.option):
        replaced = Pick(wanted.choice, str(picked))
        selection = selection.without(wanted.choice)
    catalogue = Resolved(catalogue, selection).offering
    search = Search(catalogue)
    conflict = find_conflict(search, selection, (wanted.choice, wanted.option))
    if replaced is not None and conflict is None:
        difference = price_of_change(Resolved(catalogue, asked), wanted)
    if as_json:
        print_json(Why.of(search, wanted, conflict, replaced, difference))
    else:
        show(reports.why_report(search, wanted, conflict, replaced, difference))


@click.command()
@click.argument("arguments", metavar="SELECTION [CHOICE=OPTION]", nargs=-1, type=NAME)
@change_options
@click.option("--count", default=3, show_default=True, type=click.IntRange(1, 20), help="How many.")
@catalogue_option
@json_option
def fixes(
    arguments: tuple[str, ...],
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    count: int,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    """Offer the best ways out of a conflict: fewest picks changed, then the nearest price.

    Of fixes that change as few picks, one that changes other picks than the fixes above it comes
    before one that changes the same picks again, whatever the price.

    Each is proved: the selection with its changes can be had. With CHOICE=OPTION, that option
    is had too. Nearest counts list prices after package deals, before adjustments and tax; the
    difference shown is that of the totals.
    """
    from configurator.answers.engine import Fixes
    from configurator.engine.search import Search
    from configurator.engine.ways_out import fixes as best_fixes
    from configurator.render.text import show
    from configurator.report import engine as reports

    with problems_as_json(as_json):
        selection_file, pick = _file_and_pick(arguments)
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        require_known(Resolved(catalogue, selection))
        wanted = None if pick is None else _wanted(Resolved(catalogue, selection), pick)
    catalogue = Resolved(catalogue, selection).offering
    search = Search(catalogue)
    key = None if wanted is None else (wanted.choice, wanted.option)
    found = best_fixes(search, selection, key, count)
    held = search.encoding.picks(selection) | (
        {} if key is None else {key: search.encoding.at_least(*key)}
    )
    sound = not found and search.sound(list(held.values())) is not None
    if as_json:
        print_json(Fixes.of(catalogue, found))
    else:
        show(reports.fixes_report(catalogue, found, nothing_to_mend=sound))
    sys.exit(FINE if found or sound else FINDINGS)


@click.command()
@selection_arguments
@click.option(
    "--prefer",
    type=click.Choice(["price", "mass", "space"]),
    default="price",
    show_default=True,
    help="Cheapest, lightest or roomiest.",
)
@_output_option
@catalogue_option
@json_option
def complete(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    prefer: str,
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Finish a half-made selection the cheapest, lightest or roomiest way.

    Cheapest counts list prices after package deals, before adjustments and tax; a price on
    application counts nothing.

    \b
    Example: everything else for a fridge on that vehicle, kept as a file
      configurator complete --pick vehicle=mid-dual \
        --pick upright-fridge=upright-110 -o runa.yaml
    """
    from configurator.answers.engine import Completion, Why
    from configurator.engine.conflicts import find_conflict
    from configurator.engine.search import Search
    from configurator.engine.ways_out import added
    from configurator.engine.ways_out import complete as finish
    from configurator.pricing.whole import price
    from configurator.render.text import show
    from configurator.report import engine as reports
    from configurator.totals import total_mass

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        require_known(Resolved(catalogue, selection))
        output.require_writable(catalogue, [selection_file])
    catalogue = Resolved(catalogue, selection).offering
    search = Search(catalogue)
    finished = finish(search, selection, prefer)
    if finished is None:
        conflict = find_conflict(search, selection)
        if as_json:
            print_json(Why.of(search, None, conflict))
        else:
            show(reports.contradiction_report(search, conflict))
        sys.exit(FINDINGS)
    more = added(Resolved(catalogue, selection), finished)
    _write_found(Resolved(catalogue, finished), output)
    priced, mass = price(Resolved(catalogue, finished)), total_mass(Resolved(catalogue, finished))
    if as_json:
        print_json(Completion(prefer, priced, mass, more, finished))
    else:
        show(reports.completion_report(catalogue, priced, more, mass))
        _tell_written(output)


@click.command()
@selection_arguments
@click.option("--budget", required=True, metavar="AMOUNT", help="The most the package may cost.")
@click.option(
    "--wish",
    "wishes",
    multiple=True,
    metavar="CHOICE=OPTION[:QUANTITY]",
    help="A wish; the dearest to the customer first. Repeatable.",
)
@_output_option
@catalogue_option
@json_option
def within(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    budget: str,
    wishes: tuple[str, ...],
    output: Output,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Tell the most of an ordered wish list that a budget allows, and what the rest would take.

    The rest of the package is the cheapest by list prices after package deals, and is listed as
    added; its total, with adjustments and tax, is held against the budget.

    \b
    Example: a fridge, then sun, then an oven
      configurator within --pick vehicle=mid-dual --budget 20000 \
        --wish upright-fridge=upright-110 --wish solar=panel-200:2 \
        --wish oven=oven-small
    """
    from configurator.answers.engine import WithinAnswer
    from configurator.engine.search import Search
    from configurator.engine.ways_out import within as keep_within
    from configurator.money import Money, exponent
    from configurator.render.text import show
    from configurator.report import engine as reports

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops, needed=False)
        output.require_writable(catalogue, [selection_file])
        wished = [_wanted(Resolved(catalogue, selection), wish) for wish in wishes]
    limit = number_from(budget, _MOST)
    if not limit or -int(limit.as_tuple().exponent) > exponent(catalogue.currency):
        raise click.UsageError(f"--budget {budget}: write an amount such as 45000 or 45000.00")
    catalogue = Resolved(catalogue, selection).offering
    search = Search(catalogue)
    found = keep_within(search, selection, Money(limit, catalogue.currency), wished)
    if found.selection is not None:
        _write_found(Resolved(catalogue, found.selection), output)
    if as_json:
        print_json(WithinAnswer.of(search, found))
    else:
        show(reports.within_report(search, found, Money(limit, catalogue.currency)))
        if found.selection is not None:
            _tell_written(output)
    sys.exit(FINE if found.selection is not None else FINDINGS)


def _file_and_pick(arguments: tuple[str, ...]) -> tuple[str | None, str | None]:
    """The selection file and the pick among the arguments: the pick is the one with an ``=``."""
    picks = [text for text in arguments if "=" in text and not Path(text).exists()]
    files = [text for text in arguments if text not in picks]
    if len(picks) > 1 or len(files) > 1:
        raise click.UsageError("give one SELECTION and one CHOICE=OPTION")
    return next(iter(files), None), next(iter(picks), None)


def _wanted(build: Resolved, text: str) -> Pick:
    """The pick named, if the catalogue has it.

    Raises:
        SelectionError: the selection or the pick cannot be understood.
    """
    require_known(build)
    wanted = pick_from(text)
    alone = Selection(build.catalogue.id, (wanted,))
    problems = selection_problems(build.having(alone))
    if problems:
        raise SelectionError(problems)
    return wanted
