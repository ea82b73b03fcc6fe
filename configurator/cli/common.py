"""What the commands share: reading their arguments, answering as JSON, exit codes."""

from __future__ import annotations

import datetime as dt
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import frozen

from configurator.catalogue.model import Catalogue, Pick
from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.cli.outputs import NAME
from configurator.cli.places import placed
from configurator.errors import (
    CatalogueError,
    DataError,
    FileError,
    Location,
    Problem,
    QuoteRefused,
    SelectionError,
    near_miss,
)
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.render.look import Look

_PLACES = "configurator.places"

__all__ = [
    "CATALOGUE_VARIABLE",
    "FINDINGS",
    "FINE",
    "NO_FILE",
    "USAGE",
    "AnswerLost",
    "AskedLook",
    "Commands",
    "catalogue_option",
    "change_options",
    "day_from",
    "json_option",
    "look_options",
    "number_from",
    "pick_from",
    "place_option",
    "places_given",
    "priced_catalogue",
    "print_json",
    "problems_as_json",
    "quantity_from",
    "read_selections",
    "selection_arguments",
    "the_catalogue",
    "the_look",
    "the_selection",
    "today",
]

FINE, FINDINGS, USAGE, NO_FILE = 0, 1, 2, 3
"""Exit codes: fine; findings that stop a quote; wrong usage; cannot read or write."""

CATALOGUE_VARIABLE = "CONFIGURATOR_CATALOGUE"
"""Environment variable that names the shop's catalogue file."""


_MOST_OF_ONE = 1000
"""The largest quantity, as in a selection."""

_DIGITS = 4_000
"""Most digits, leading zeros and all, that are read as a quantity."""

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def number_from(text: str, most: int) -> Decimal | None:
    """The number from 0 to ``most`` that the text writes out in digits; None where it does not.

    Commas may part thousands, as they do on our papers.
    """
    if re.fullmatch(r"[0-9][0-9,]{0,14}(\.[0-9]{1,6})?", text) is None:
        return None
    number = Decimal(text.replace(",", ""))
    return number if number <= most else None


class AnswerLost(FileError):
    """Standard output takes no more.

    Attributes:
        unread: nobody reads any more, as with ``| head``, which is no fault of anyone.
    """

    def __init__(self, error: OSError) -> None:
        self.unread = isinstance(error, BrokenPipeError)
        super().__init__(f"the answer cannot be written: {error.strerror or error}")


class Commands(click.Group):
    """A group of commands: near misses for mistyped ones, whole sentences in its list."""

    def add_command(self, cmd: click.Command, name: str | None = None) -> None:
        r"""Add a command; a ``\b`` typed in its raw docstring keeps the lines after it as typed."""
        if cmd.help:
            cmd.help = cmd.help.replace(r"\b", "\b")
        super().add_command(cmd, name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands, each with the whole first sentence of its help."""
        found = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        with formatter.section("Commands"):
            formatter.write_dl(
                [(name, c.get_short_help_str(limit=1000)) for name, c in found if c is not None]
            )

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command.

        Raises:
            AnswerLost: the answer cannot be written to standard output.
        """
        try:
            return super().invoke(ctx)
        except OSError as error:
            raise AnswerLost(error) from None

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
        type=NAME,
        envvar=CATALOGUE_VARIABLE,
        show_envvar=True,
        help="The shop's catalogue. Default: the shipped one.",
    )(command)


def json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that asks for JSON."""
    return click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")(command)


@frozen
class AskedLook:
    """What the options of a command say about the look of a paper; None where they do not."""

    page: str | None = None
    language: str | None = None
    templates: str | None = None


def look_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say how a paper looks; the command gets them together, as ``look``."""

    @wraps(command)
    def with_look(
        *given: Any, page: str | None, language: str | None, templates: str | None, **named: Any
    ) -> Any:
        return command(*given, look=AskedLook(page, language, templates), **named)

    wrapped: Callable[..., Any] = with_look
    for decorate in (
        click.option(
            "--templates",
            metavar="DIR",
            type=NAME,
            help="A folder with templates of your own, used in place of those of the same name.",
        ),
        click.option(
            "--language",
            metavar="LANGUAGE",
            help="Language of the paper, such as en-AU or de. Default: the catalogue's.",
        ),
        click.option(
            "--page",
            type=click.Choice(["A4", "Letter"], case_sensitive=False),
            metavar="A4|Letter",
            help="Size of the sheet. Default: the catalogue's.",
        ),
    ):
        wrapped = decorate(wrapped)
    return wrapped


def the_look(catalogue: Catalogue, asked: AskedLook) -> Look:
    """The look asked for with :func:`look_options`; what is not, the catalogue says.

    Raises:
        ConfiguratorError: the language or a template cannot be used.
    """
    from configurator.render.look import look_of

    folder = Path(asked.templates) if asked.templates is not None else None
    return look_of(catalogue.shop, asked.page, asked.language, folder)


def selection_arguments(command: Callable[..., Any]) -> Callable[..., Any]:
    """The selection file and the changes to it, the same for every command that takes one."""
    command = change_options(command)
    return click.argument("selection_file", metavar="[SELECTION]", required=False, type=NAME)(
        command
    )


def place_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that places units; what is given is kept for :func:`places_given`."""

    def keep(ctx: click.Context, _: click.Parameter, given: tuple[str, ...]) -> None:
        ctx.meta[_PLACES] = given

    return click.option(
        "--place",
        "unit_places",
        multiple=True,
        metavar="UNIT=SIDE",
        expose_value=False,
        callback=keep,
        help="Place this unit at the left, right or rear if it can be; or towards:front, "
        "towards:rear, x:MM, y:MM, z:MM, with commas between them. Repeatable.",
    )(command)


def places_given() -> tuple[str, ...]:
    """What was given with ``--place``."""
    ctx = click.get_current_context(silent=True)
    given: tuple[str, ...] = ctx.meta.get(_PLACES, ()) if ctx is not None else ()
    return given


def change_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that change a selection; :func:`the_selection` finds ``--place`` by itself."""
    for decorate in (
        place_option,
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
    ):
        command = decorate(command)
    return command


def the_catalogue(file: str | None) -> Catalogue:
    """The catalogue named, or the shipped one, with today's prices.

    Where it has none for today it is that of the nearest day that it has prices for, and that is
    said on standard error: enough for a first look, never for a paper.

    Raises:
        CatalogueError: with every error found.
        FileError: it cannot be read.
    """
    catalogue, day = _read_catalogue(file), today()
    nearest = _nearest_day(catalogue, day)
    if nearest != day:
        click.echo(
            f"{catalogue.source}: note: {catalogue.unpriced_on(day)}; "
            f"shown are those of {nearest.isoformat()}",
            err=True,
        )
    return catalogue.on(nearest)


def priced_catalogue(file: str | None, day: str | None, on_paper: bool = False) -> Catalogue:
    """The catalogue named, or the shipped one, with the prices of a day.

    Args:
        file: the catalogue.
        day: the day asked for; None for today, or else as :func:`the_catalogue` has it.
        on_paper: whether a paper is made of it, for which today must have prices.

    Raises:
        CatalogueError: with every error found.
        SelectionError: the catalogue has no prices for that day.
        FileError: it cannot be read.
        click.UsageError: it is no day.
    """
    if day is None and not on_paper:
        return the_catalogue(file)
    catalogue, asked = _read_catalogue(file), day_from(day)
    unpriced = catalogue.unpriced_on(asked)
    if unpriced:
        where = Location("today" if day is None else f"--date {day}", 0, 0)
        hint = "give a day on which they hold with --date, or bring the catalogue up to date"
        raise SelectionError([Problem(where, unpriced, "day-without-prices", hint)])
    return catalogue.on(asked)


def _read_catalogue(file: str | None) -> Catalogue:
    path = shipped("catalogues") / "quandong.yaml" if file is None else Path(file)
    catalogue, problems = parse_catalogue(read_text(path), str(path))
    if catalogue is None:
        raise CatalogueError(problems)
    return catalogue


def _nearest_day(catalogue: Catalogue, day: dt.date) -> dt.date:
    """The day, or the nearest for which the catalogue has prices."""
    first, until = map(dt.date.fromisoformat, (catalogue.valid.first, catalogue.valid.until))
    return min(max(day, first), until)


def the_selection(
    catalogue: Catalogue,
    file: str | None,
    picks: Iterable[str],
    drops: Iterable[str],
    needed: bool = True,
) -> Selection:
    """The selection in the file, if any, without the drops, with the picks and the places given.

    Where it is not ``needed``, nothing at all is a selection too.

    Raises:
        SelectionError: the file, a drop or a place cannot be understood.
        FileError: the file cannot be read.
        click.UsageError: there is nothing to go by, or a pick or a place is not written as one.
    """
    if needed and file is None and not picks:
        raise click.UsageError("give a SELECTION file, or picks with --pick")
    files = [] if file is None else [file]
    (selection,) = read_selections(catalogue, files) or [Selection(catalogue.id)]
    for text in drops:
        selection = _dropped(Resolved(catalogue, selection), text)
    for text in picks:
        selection = Resolved(catalogue, selection).picking(pick_from(text, "--pick "))
    for text in places_given():
        selection = placed(Resolved(catalogue, selection), text)
    return selection


def read_selections(catalogue: Catalogue, files: Iterable[str]) -> list[Selection]:
    """The selections in the files.

    Of a quote that was made with another text of the catalogue it is said on standard error.

    Raises:
        SelectionError: a file cannot be understood.
        FileError: a file cannot be read.
    """
    from configurator.selection.reading import open_selection

    selections = []
    for file in files:
        opened = open_selection(file)
        selections.append(opened.selection())
        told = opened.told_by_paper(catalogue.digest)
        if told:
            click.echo(told, err=True)
    return selections


def _dropped(build: Resolved, text: str) -> Selection:
    choice, _, option = text.partition("=")
    picked = build.selection.chosen.get(choice, ())
    if not picked or option not in ("", *picked):
        known = picked or (() if choice in build.catalogue.by_id else tuple(build.catalogue.by_id))
        hint = near_miss(option if picked else choice, known)
        where = Location(f"--drop {text}", 0, 0)
        raise SelectionError([Problem(where, "it is not picked", "not-picked", hint)])
    return build.selection.without(choice, option).tidied()


def pick_from(text: str, option_name: str = "") -> Pick:
    """The pick written as CHOICE=OPTION or CHOICE=OPTION:QUANTITY.

    Args:
        text: what was written.
        option_name: what it was written after, such as ``--pick``, for messages.

    Raises:
        click.UsageError: it is not written so.
    """
    choice, equals, rest = text.partition("=")
    option, colon, number = rest.partition(":")
    if not (choice and equals and option) or (colon and not number.isascii()):
        raise click.UsageError(
            f"{option_name}{text}: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY"
        )
    quantity = quantity_from(number) if colon else 1
    if quantity is None:
        raise click.UsageError(
            f"{option_name}{text}: the quantity must be a whole number, 1 or more"
        )
    where = Location(f"{option_name}{text}", 0, 0)
    return Pick(choice, option, quantity, at=where)


def quantity_from(text: str) -> int | None:
    """The quantity that the text writes out in digits; None where it does not.

    Raises:
        click.UsageError: it is more than a selection may have.
    """
    if not (text.isascii() and text.isdigit()):
        return None
    if len(text) > _DIGITS or int(text) > _MOST_OF_ONE:
        raise click.UsageError(f"the quantity {text} is too large; give at most {_MOST_OF_ONE}")
    return int(text)


def print_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON."""
    from configurator.answers.selling import to_json

    click.echo(to_json(answer), nl=False)


@contextmanager
def problems_as_json(as_json: bool) -> Iterator[None]:
    """Answer what is wrong with the data, or stops a paper, as JSON where JSON was asked for."""
    try:
        yield
    except (DataError, QuoteRefused) as error:
        if not as_json:
            raise
        from configurator.answers.selling import problems_answer, refused_answer

        if isinstance(error, QuoteRefused):
            print_json(refused_answer(error.sentences))
        else:
            print_json(problems_answer(error.problems))
        sys.exit(FINDINGS)


def day_from(text: str | None) -> dt.date:
    """The day given as YYYY-MM-DD, or today.

    Raises:
        click.UsageError: it is no such day.
    """
    if text is None:
        return today()
    try:
        if _DAY.fullmatch(text):
            return dt.date.fromisoformat(text)
    except ValueError:
        pass
    raise click.UsageError(f"--date {text}: write a day as YYYY-MM-DD")


def today() -> dt.date:
    """The day it is here."""
    return dt.date(*time.localtime()[:3])
