"""The commands that ask the engine: options, explain, fixes, complete, within."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from configurator.build_changes import resolved
from configurator.catalogue.fields import Pick
from configurator.cli.again import command
from configurator.cli.arguments import (
    NAME,
    budget_given,
    kept_from,
    option,
    output_option,
    pick_from,
)
from configurator.cli.common import (
    CommandRequest,
    build_command,
)
from configurator.selection.asked import asked_about, require_choices
from configurator.selection.resolved import Resolved
from configurator.selection.totals import undecided

_FOUND = "the selection, to be quoted or changed"
"""What is written of an answer that has a selection."""

_output_option = output_option(
    "FILE",
    "Also write the selection found, as .yaml or .json, to quote or change.",
    ".yaml .json",
)


@build_command(needed=False)
@option("--choice", "Only this choice.", "ID", to="choice_ids")
@option("--all", "Everything, with reasons in full.", to="whole")
def options(asked: CommandRequest, choice_ids: tuple[str, ...], whole: bool) -> None:
    """Show for every option whether it is available, and if not, why.

    An option is available exactly when some complete, sound selection includes it and all the
    picks. In a decided choice of one, what is available instead of the pick is shown with the
    difference in price; all other picks are kept.

    Without --choice it is at a glance: what is to be chosen by id with prices and short reasons,
    then what may be added with the lowest price, then what is decided.
    """
    from configurator.report.options import states_report

    require_choices(asked.shop.catalogue, choice_ids, "--choice ")
    found = asked.build.options(*choice_ids)
    build = Resolved(asked.shop.catalogue, asked.build.selection)
    whole = whole or bool(choice_ids)
    asked.answer(found, lambda: states_report(build, found, whole, command), found.stopped)


class _WithPick(click.Command):
    """A command whose SELECTION and CHOICE=OPTION may be given in either order."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the pick, which has an ``=`` and is no file, behind the selection."""
        rest = super().parse_args(ctx, args)
        given = [t for t in (ctx.params["selection_file"], *ctx.params.pop("more")) if t]
        picks = [text for text in given if "=" in text and not Path(text).exists()]
        files = [text for text in given if text not in picks]
        if len(picks) > 1 or len(files) > 1:
            raise click.UsageError("give one SELECTION and one CHOICE=OPTION", ctx)
        ctx.params["selection_file"] = next(iter(files), None)
        ctx.params["wanted"] = next(iter(picks), None)
        return rest


def _with_pick(metavar: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    return click.argument("more", metavar=metavar, nargs=-1, type=NAME)


def _named(asked: CommandRequest, wanted: str | None) -> Pick:
    """The option asked about; without names where the picks alone are.

    Raises:
        SelectionError: the catalogue does not have it.
    """
    if wanted is None:
        return Pick("", "")
    pick = pick_from(wanted, "CHOICE=OPTION ")
    asked_about(resolved(asked.build), pick)
    return pick


@build_command(needed=False, kind=_WithPick)
@_with_pick("[CHOICE=OPTION]")
def explain(asked: CommandRequest, wanted: str | None) -> None:
    r"""Explain why an option is not available, or the picks do not go together, in a few steps.

    If another option of a choice of one is picked, that pick is set aside first: the answer is
    what stands against the change. Without CHOICE=OPTION, it is about the picks alone.

    \b
    Example:
      configurator explain touring.yaml canopy-height=850mm
    """
    from configurator.report.engine import explanation_report

    pick = _named(asked, wanted)
    found = asked.build.explain(pick.choice, pick.option, pick.many)
    asked.answer(found, lambda: explanation_report(asked.shop.catalogue, found, command))


@build_command(kind=_WithPick)
@_with_pick("[CHOICE=OPTION]")
@option("--count", "How many.", default=3, show_default=True, type=click.IntRange(1, 20))
@option("--keep", "Leave this as it is. Repeatable.", "CHOICE[=OPTION]")
def fixes(asked: CommandRequest, wanted: str | None, count: int, keep: tuple[str, ...]) -> None:
    """List the best fixes for a conflict or for what is missing.

    Fixes that change the fewest picks come first, then those unlike the fixes above them (they
    change different picks, or leave one out instead of replacing it), then those that keep the
    vehicle, then those that add no more pieces than it takes, then those nearest in price. While
    choices of which one option must be picked are open, what is not picked yet is not counted. Each
    is proven: the selection with its changes is sound. Each is shown as soon as it is found; the
    later ones may take longer. What has to be added beside a change, such as a colour, makes no
    other fix. With CHOICE=OPTION, that option is part of it. Nearest in price is by list prices
    after package deals, before adjustments and tax; the difference shown is that of the totals.
    """
    from configurator.render.text import show
    from configurator.report.engine import fixes_report

    pick, told, kept = _named(asked, wanted), 0, kept_from(keep)
    for found in asked.build.fixes_one_by_one(pick.choice, pick.option, count=count, keep=kept):
        if found.looking and not asked.as_json:
            show(fixes_report(found, told))
            told = len(found.fixes)
    build = resolved(asked.build)
    titles = [build.title_of(one) for one in kept]
    follows = ""
    if not found.nothing_to_mend:
        follows = command("explain", *([] if wanted is None else [pick.name]))
    elif undecided(build):
        follows = command("complete", *([] if wanted is None else ["--pick", str(pick)]))
    asked.answer(found, lambda: fixes_report(found, told, titles, follows), found.stopped)


@build_command()
@option(
    "--prefer",
    "Cheapest, lightest or roomiest.",
    type=click.Choice(["price", "mass", "space"]),
    default="price",
    show_default=True,
)
@_output_option
def complete(asked: CommandRequest, prefer: str) -> None:
    r"""Complete a selection in the cheapest, lightest or roomiest way.

    Cheapest is by what is to be paid, with deals, adjustments and tax; a price on application
    is not counted.

    \b
    Example: everything else for a fridge on that vehicle, kept as a file
      configurator complete --pick vehicle=mid-dual \
        --pick upright-fridge=upright-110 -o runa.yaml
    """
    from configurator.engine.availability import ExplainAnswer
    from configurator.report.engine import completion_report, contradiction_report

    found = asked.build.complete(prefer)
    if isinstance(found, ExplainAnswer):
        asked.answer(found, lambda: contradiction_report(found.conflict, command), stopped=True)
    asked.answer(
        found,
        lambda: completion_report(asked.shop.catalogue, found),
        written=_FOUND,
        file=asked.shop.build(found.selection),
    )


@build_command(needed=False)
@option("--budget", "The most that may be to pay.", "AMOUNT", required=True)
@option(
    "--wish",
    "A wish; the most important first. Repeatable.",
    "CHOICE=OPTION[:QUANTITY]",
    to="wishes",
)
@_output_option
def within(asked: CommandRequest, budget: str, wishes: tuple[str, ...]) -> None:
    r"""Grant as much of an ordered wish list as a budget allows, and say what the rest would take.

    What is to be paid counts against the budget, with deals, adjustments and tax. The rest of the
    package is the one with the least to pay, and is listed as added. Your picks are kept. If a
    wish competes with a pick, the answer says what the wish would change.

    \b
    Example: a fridge first, then solar, then an oven
      configurator within --pick vehicle=mid-dual --budget 20000 \
        --wish upright-fridge=upright-110 --wish solar=panel-200:2 \
        --wish oven=oven-small
    """
    from configurator.report.engine import within_report

    limit = budget_given(budget, asked.shop.catalogue.currency, "--budget")
    found = asked.build.within(limit, [pick_from(wish, "--wish ") for wish in wishes])
    asked.answer(
        found,
        lambda: within_report(asked.shop.catalogue, found, command),
        found.stopped,
        "" if found.selection is None else _FOUND,
        asked.shop.build(found.selection),
    )
