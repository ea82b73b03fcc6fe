"""The command that asks next, written so that it can be pasted into a terminal."""

from __future__ import annotations

import shlex
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import click
from click.core import ParameterSource

from configurator.build import Build
from configurator.build_changes import resolved
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.cli.arguments import Output
from configurator.errors import SearchLimit
from configurator.findings import Finding, QuoteRefused
from configurator.selection.changes import largest_unit
from configurator.words import Text

_CHANGES = ("catalogue_file", "picks", "drops", "settled", "unit_places")
"""Parameters that say which selection of which catalogue is asked about."""

_MENDED = {"rule", "limit", "fit", "layout", "rating", "lifting"}
"""Codes of what a change of picks can mend."""


class NoAnswer(SearchLimit):
    """A question about a build was not settled; its advice has the command that asks instead."""

    def __init__(self, limit: SearchLimit, advice: str) -> None:
        super().__init__(*limit.args)
        self.advice = advice


class NoPaper(QuoteRefused):
    """Findings stop a paper.

    Attributes:
        paper: the command that makes it.
        advice: what leads to it, and the command for that; None where no command does.
    """

    def __init__(self, error: QuoteRefused, paper: str, advice: tuple[str, str] | None) -> None:
        super().__init__(error.findings)
        self.paper, self.advice = paper, advice


def command(name: str, *more: str) -> str:
    """Another command about the same selection."""
    ctx = click.get_current_context()
    return _written(name, [*more, *_given(ctx, ctx.params, _CHANGES)])


@contextmanager
def advised(build: Build) -> Iterator[None]:
    """What stops inside advises which command to give next.

    Raises:
        NoAnswer: something was not settled.
        NoPaper: findings stop a paper.
    """
    try:
        yield
    except SearchLimit as limit:
        raise NoAnswer(limit, _advice(limit, build)) from limit
    except QuoteRefused as refused:
        paper = click.get_current_context().info_name or ""
        raise NoPaper(refused, paper, _way_on(refused.findings)) from None


def _way_on(findings: Collection[Finding]) -> tuple[str, str] | None:
    """What leads to a paper, and the command: fixes, or where choices are open, completing it."""
    missing = {one.code for one in findings if one.may_come}
    lasting = {one.code for one in findings if not one.may_come}
    if not lasting & _MENDED and "undecided" in lasting:
        return "To choose the rest in the cheapest way:", command("complete")
    if (missing | lasting) & _MENDED:
        return "For the best ways to fix this:", command("fixes")
    return None


def _advice(limit: SearchLimit, build: Build) -> str:
    """What to leave out: the largest unit picked in the full space, or in any; or else a pick."""
    ctx, catalogue = click.get_current_context(), build.catalogue
    wanted = Pick.named(ctx.params.get("wanted") or "").choice
    titles = [one.values.get("space") for one in limit.args if isinstance(one, Text)]
    spaces = {one.id: one.title for one in catalogue.spaces if one.title in titles}
    here = spaces or [one.id for one in catalogue.spaces]
    kept = {wanted, *(Pick.named(name).choice for name in ctx.params.get("keep", ()))}
    others = [pick for pick in build.selection.picks if pick.choice not in kept]
    left = largest_unit(resolved(build), here, kept) or (others[-1] if others else None)
    if left is None:
        return "pick more first, such as the vehicle, and ask again"
    larger = "".join(f"choose a larger {title}, or " for title in spaces.values())
    told = f"{larger}leave out {catalogue.option(*left.key).title}:"
    return f"{told}\n    {_without(ctx, left, catalogue)}"


def _without(ctx: click.Context, left: Pick, catalogue: Catalogue) -> str:
    """The command that was given, without a pick."""
    name = left.name if catalogue.by_id[left.choice].pick == "several" else left.choice
    picks = ctx.params["picks"]
    others = tuple(text for text in picks if text.partition(":")[0] != left.name)
    params = {**ctx.params, "picks": others}
    wanted = [ctx.params["wanted"]] if ctx.params.get("wanted") else []
    names = [one.name for one in ctx.command.params if isinstance(one, click.Option) and one.name]
    dropped = [] if len(others) < len(picks) else ["--drop", name]
    return _written(ctx.info_name or "", [*wanted, *_given(ctx, params, names), *dropped])


def _written(name: str, words: Collection[str]) -> str:
    """The command line of a command about the selection file that was given, if any."""
    file = click.get_current_context().params["selection_file"]
    return shlex.join(["configurator", name, *([file] if file else []), *words])


def _given(ctx: click.Context, params: Mapping[str, Any], names: Collection[str]) -> Iterator[str]:
    """Those options that were given, with these values, as they are typed."""
    for option in ctx.command.params:
        known = option.name is not None and option.name in names
        if not known or ctx.get_parameter_source(option.name or "") != ParameterSource.COMMANDLINE:
            continue
        value = params[option.name or ""]
        if isinstance(value, Output):
            yield from (option.opts[0], str(value.path), *(["--replace"] if value.replace else []))
        elif value is True:
            yield option.opts[0]
        else:
            for one in value if isinstance(value, tuple) else (value,):
                yield from (option.opts[0], str(one))
