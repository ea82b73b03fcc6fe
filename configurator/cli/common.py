"""What the commands share: reading their arguments, answering as JSON, exit codes."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import attrs
import click

from configurator.catalogue.model import Catalogue, Pick
from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.errors import (
    CatalogueError,
    DataError,
    Location,
    Problem,
    SelectionError,
    near_miss,
)
from configurator.selection import Selection

__all__ = [
    "CATALOGUE_VARIABLE",
    "FINDINGS",
    "FINE",
    "NO_FILE",
    "USAGE",
    "Commands",
    "catalogue_option",
    "day_from",
    "json_option",
    "print_json",
    "problems_as_json",
    "selection_arguments",
    "the_catalogue",
    "the_selection",
]

FINE, FINDINGS, USAGE, NO_FILE = 0, 1, 2, 3
"""Exit codes: fine; findings that stop a quote; wrong usage; cannot read or write."""

CATALOGUE_VARIABLE = "CONFIGURATOR_CATALOGUE"
"""Environment variable that names the shop's catalogue file."""


class Commands(click.Group):
    """A group that suggests the nearest command for a mistyped one."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or fail with the nearest name."""
        if args and self.get_command(ctx, args[0]) is None:
            hint = near_miss(args[0], self.list_commands(ctx))
            ctx.fail(f"there is no command {args[0]!r}. {hint}".strip())
        return super().resolve_command(ctx, args)


def catalogue_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names the catalogue."""
    return click.option(
        "--catalogue",
        "catalogue_file",
        metavar="FILE",
        envvar=CATALOGUE_VARIABLE,
        show_envvar=True,
        help="The shop's catalogue. Default: the shipped one.",
    )(command)


def json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that asks for JSON."""
    return click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")(command)


def selection_arguments(command: Callable[..., Any]) -> Callable[..., Any]:
    """The selection file and the changes to it, the same for every command that takes one."""
    for decorate in (
        click.option(
            "--drop",
            "drops",
            multiple=True,
            metavar="CHOICE[=OPTION]",
            help="Leave this pick out. Repeatable.",
        ),
        click.option(
            "--pick",
            "picks",
            multiple=True,
            metavar="CHOICE=OPTION[:QUANTITY]",
            help="Pick this too; in a choice of one it replaces the pick. Repeatable.",
        ),
        click.argument("selection_file", metavar="[SELECTION]", required=False),
    ):
        command = decorate(command)
    return command


def the_catalogue(file: str | None) -> Catalogue:
    """The catalogue named, or the shipped one.

    Raises:
        CatalogueError: with every error found.
        FileError: it cannot be read.
    """
    path = Path(file) if file else shipped("catalogues") / "quandong.yaml"
    catalogue, problems = parse_catalogue(read_text(path), str(path))
    if catalogue is None:
        raise CatalogueError(problems)
    return catalogue


def the_selection(
    catalogue: Catalogue, file: str | None, picks: Iterable[str], drops: Iterable[str]
) -> Selection:
    """The selection in the file, if any, without the drops and with the picks.

    Raises:
        SelectionError: the file or a drop cannot be understood.
        FileError: the file cannot be read.
        click.UsageError: there is nothing to go by, or a pick is not written as one.
    """
    from configurator.selection_reading import read_selection

    if file is None and not picks:
        raise click.UsageError("give a SELECTION file, or picks with --pick")
    selection = read_selection(file) if file else Selection(catalogue.id)
    for text in drops:
        selection = _dropped(catalogue, selection, text)
    for text in picks:
        selection = selection.picking(catalogue, _pick(text))
    return selection


def _dropped(catalogue: Catalogue, selection: Selection, text: str) -> Selection:
    choice, _, option = text.partition("=")
    picked = selection.chosen.get(choice, ())
    if not picked or option not in ("", *picked):
        hint = near_miss(choice, catalogue.by_id) if choice not in catalogue.by_id else ""
        where = Location(f"--drop {text}", 0, 0)
        raise SelectionError([Problem(where, "it is not picked", "not-picked", hint)])
    changed = selection.without(choice, option)
    about = {(wish.choice, wish.option) for wish in changed.wishes}
    gone = {key for key in about if not changed.quantity(*key)}
    kept = tuple(w for w in changed.wishes if (w.choice, w.option) not in gone)
    return attrs.evolve(changed, wishes=kept)


def _pick(text: str) -> Pick:
    choice, equals, rest = text.partition("=")
    option, colon, number = rest.partition(":")
    if not (choice and equals and option) or (colon and not number.isascii()):
        raise click.UsageError(
            f"--pick {text}: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY"
        )
    if colon and not number.isdigit():
        raise click.UsageError(f"--pick {text}: the quantity must be a whole number")
    where = Location(f"--pick {text}", 0, 0)
    return Pick(choice, option, int(number) if colon else 1, at=where)


def print_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON."""
    from configurator.answers import to_json

    click.echo(to_json(answer), nl=False)


@contextmanager
def problems_as_json(as_json: bool) -> Iterator[None]:
    """Answer what is wrong with the data as JSON too, where JSON was asked for."""
    try:
        yield
    except DataError as error:
        if not as_json:
            raise
        from configurator.answers import problems_answer

        print_json(problems_answer(error.problems))
        sys.exit(FINDINGS)


def day_from(text: str | None) -> dt.date:
    """The day given as YYYY-MM-DD, or today.

    Raises:
        click.UsageError: it is no such day.
    """
    if text is None:
        return dt.datetime.now(tz=dt.UTC).astimezone().date()
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise click.UsageError(f"--date {text}: write a day as YYYY-MM-DD") from None
