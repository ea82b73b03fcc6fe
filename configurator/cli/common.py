"""What the commands share: their options, the build they ask, answers, exit codes."""

from __future__ import annotations

import datetime as dt
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import attrs
import click
from attrs import frozen

from configurator.build import Build
from configurator.catalogue.fields import Pick
from configurator.cli.again import NoPaper, advised
from configurator.cli.arguments import NAME, Output, day_from, option, picks_from, placed
from configurator.cli.waiting import waiting
from configurator.errors import ConfiguratorError, DataError, FileError, Location, SearchLimit
from configurator.findings import QuoteRefused
from configurator.shop import Shop, open_shop
from configurator.words import capital, near_miss

if TYPE_CHECKING:
    from configurator.findings import Finding
    from configurator.report.model import Report

FINE, FINDINGS, USAGE, NO_FILE, UNREAD = 0, 1, 2, 3, 141
"""Exit codes: fine; findings that stop a quote; wrong usage; cannot read or write; nobody reads
the answer any more (as a shell tells of any program that SIGPIPE ends)."""

CATALOGUE_VARIABLE = "CONFIGURATOR_CATALOGUE"
"""Environment variable that names the shop's catalogue file."""


class AnswerLost(FileError):
    """Standard output takes no more.

    Attributes:
        unread: nobody reads any more, as with ``| head``, which is no fault of anyone.
    """

    def __init__(self, error: OSError) -> None:
        self.unread = isinstance(error, BrokenPipeError)
        super().__init__(f"the answer cannot be written: {error.strerror or error}")


class Commands(click.Group):
    """A group of commands: near misses for mistyped ones, whole sentences in its list.

    Args:
        later: commands that are loaded when they are asked for, with spaces between, by the module
            beside this one that has them.
    """

    def __init__(self, *given: Any, later: Mapping[str, str] | None = None, **more: Any) -> None:
        super().__init__(*given, **more)
        self._later = {n: module for module, names in (later or {}).items() for n in names.split()}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of its commands, sorted."""
        return sorted({*super().list_commands(ctx), *self._later})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, which may have to be loaded."""
        module = self._later.pop(cmd_name, None)
        if module is not None:
            self.add_command(getattr(import_module(f"configurator.cli.{module}"), cmd_name))
        return super().get_command(ctx, cmd_name)

    def every(self) -> dict[str, click.Command]:
        """All of its commands by their names."""
        ctx = click.Context(self)
        for name in self.list_commands(ctx):
            self.get_command(ctx, name)
        return {name: self.commands[name] for name in sorted(self.commands)}

    def add_command(self, cmd: click.Command, name: str | None = None) -> None:
        r"""Add a command; a ``\b`` typed in its raw docstring keeps the lines after it as typed."""
        if cmd.help:
            cmd.help = cmd.help.replace(r"\b", "\b")
        super().add_command(cmd, name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands, each with the whole first sentence of its help."""
        found = self.every().items()
        with formatter.section("Commands"):
            formatter.write_dl([(name, c.get_short_help_str(limit=1000)) for name, c in found])

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
            hint = capital(near_miss(args[0], self.list_commands(ctx)))
            more = f". {hint}" if hint else f"; {ctx.command_path} --help lists them"
            ctx.fail(f'there is no command "{args[0]}"{more}')
        return super().resolve_command(ctx, args)


catalogue_option = option(
    "--catalogue",
    "The shop's catalogue: its file or folder. Default: the shipped one.",
    "FILE",
    to="catalogue_file",
    type=NAME,
    envvar=CATALOGUE_VARIABLE,
)
"""The option that names the catalogue."""

json_option = option("--json", "Answer as JSON.", to="as_json", is_flag=True)
"""The option that asks for JSON."""


class _PaperSizeName(click.Choice[str]):
    """A size of sheet in any letters; a refusal names them as people write them."""

    def get_invalid_choice_message(self, value: Any, ctx: object) -> str:  # noqa: ARG002
        """What else to write."""
        return f"{value!r} is no size of sheet: give {' or '.join(self.choices)}."


Look = dict[str, Any]
"""How a paper is to look, as arguments of methods that make papers; None for the catalogue's."""


class _Spoken(click.ParamType[str]):
    """A language that papers are available in."""

    name = "language"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        from configurator.render.language import language

        try:
            language(value)
        except ConfiguratorError as error:
            self.fail(str(error), param, ctx)
        return str(value)


SPOKEN = _Spoken()
"""The kind of an option that names a language."""


def look_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say how a paper looks: see :func:`look_from`."""
    for name, words, metavar, kind in (
        (
            "--templates",
            "A folder with templates of your own, used in place of those of the same name.",
            "DIR",
            NAME,
        ),
        (
            "--language",
            "Language of the paper, such as en-AU or de. Default: the catalogue's.",
            "LANGUAGE",
            SPOKEN,
        ),
        (
            "--page",
            "Size of the sheet. Default: the catalogue's.",
            "A4|Letter",
            _PaperSizeName(["A4", "Letter"], case_sensitive=False),
        ),
    ):
        command = option(name, words, metavar, type=kind)(command)
    return command


def look_from(given: dict[str, Any]) -> Look:
    """What the options of a command say about the look of a paper, taken out of them."""
    return {name: given.pop(name, None) for name in ("page", "language", "templates")}


def require_paper(output: Output, look: Look) -> None:
    """See that what is said of the look of a paper is said of one.

    Raises:
        click.UsageError: no paper is written.
    """
    asked = [f"--{name}" for name, value in look.items() if value is not None]
    if asked and output.path is None:
        raise click.UsageError(f"{asked[0]} is for a paper: add -o, or leave it out")


def date_option(words: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option that names a day; the command gets it as ``day``."""
    return option("--date", f"{words} Default: today.", "YYYY-MM-DD", to="day")


@frozen(eq=False, repr=False)
class CommandRequest:
    """What a command was asked: of which build, and how it is to answer.

    Attributes:
        shop: the shop that is asked.
        build: the selection with the changes given.
        output: where to write, if anywhere.
        look: how a paper is to look.
        as_json: whether to answer as JSON.
    """

    shop: Shop
    build: Build
    output: Output
    look: Look
    as_json: bool

    def write(self, answer: Any) -> None:
        """Write the answer to the file asked for, if any."""
        if self.output.path is not None:
            self.shop.write(answer, self.output.path, **self.look)

    def print(self, answer: Any, report: Callable[[], Report]) -> None:
        """Print the answer as JSON where that is asked for, or as its report."""
        print_answer(answer, self.as_json, report)

    def answer(
        self,
        answer: Any,
        report: Callable[[], Report],
        stopped: object = False,
        written: str = "",
        file: Any = None,
    ) -> NoReturn:
        """Write an answer or print it, and leave with its exit code.

        What is written is not printed as well, unless something stops it or JSON is asked for; a
        selection is no answer.

        Args:
            answer: the answer.
            report: makes it a report.
            stopped: whether something stops it.
            written: what is said to be in the file; empty where nothing is written.
            file: what is written in place of the answer.
        """
        if written:
            self.write(answer if file is None else file)
        if self.as_json or stopped or not written or file is not None or self.output.path is None:
            self.print(answer, report)
        if written and self.output.path is not None and not self.as_json:
            click.echo(f"{self.output.path}: {written}")
        sys.exit(FINDINGS if stopped else FINE)


def build_command(
    needed: bool = True,
    on_paper: bool = False,
    names: Callable[..., Iterable[str]] | None = None,
    kind: type[click.Command] = click.Command,
    before: Callable[[dict[str, Any]], None] | None = None,
) -> Callable[[Callable[..., None]], click.Command]:
    """A command that asks something of one build, which it gets as :class:`CommandRequest`.

    It takes a selection file, the changes to it, the catalogue and ``--json``. What is wrong with
    the data is answered as JSON where that is asked for.

    Args:
        needed: whether nothing picked at all is a mistake.
        on_paper: whether a paper is made in any case, for which its day must have prices; the
            command gets the day.
        names: what is written, where the output is a folder, by the command's other arguments.
        kind: the class of the command.
        before: looks over what was given, and may change it, before anything is read.
    """

    def decorate(ask: Callable[..., None]) -> click.Command:
        @wraps(ask)
        def command(**given: Any) -> None:
            if before is not None:
                before(given)
            output, look = given.pop("output", Output(None)), look_from(given)
            day: str | None = given.pop("day", None)
            as_json, file = given.pop("as_json"), given.pop("selection_file")
            with problems_as_json(as_json):
                shop = the_shop(given.pop("catalogue_file"), day, on_paper or output.on_paper)
                build = _the_build(shop, file, given, needed)
                folder = [] if names is None else names(**given)
                output.require_writable(shop.catalogue, [file], look["templates"], folder)
                if on_paper:
                    given["day"] = day_or_today(day)
                with advised(build), waiting():
                    ask(CommandRequest(shop, build, output, look, as_json), **given)

        own = vars(command).pop("__click_params__", [])
        catalogue_option(json_option(command))
        vars(command)["__click_params__"] += own
        for change in reversed(_CHANGES):
            change(command)
        argument = click.argument(
            "selection_file", metavar="[SELECTION]", required=False, type=NAME
        )
        return click.command(cls=kind)(argument(command))

    return decorate


place_option = option(
    "--place",
    "Place this unit at the left, right or rear if possible; or towards:front, towards:rear, "
    "x:MM, y:MM, z:MM, separated by commas. Repeatable.",
    "UNIT=SIDE",
    to="unit_places",
    multiple=True,
)

_CHANGES = (
    option(
        "--pick",
        "Also pick this; in a choice of one it replaces the pick and wishes about it. Repeatable.",
        "CHOICE=OPTION[:QUANTITY]",
        to="picks",
        multiple=True,
    ),
    option(
        "--drop",
        "Leave out this pick and wishes about it, before --pick picks. Repeatable.",
        "CHOICE[=OPTION]",
        to="drops",
        multiple=True,
    ),
    option(
        "--none",
        "The customer wants none of this choice: it stays empty. Repeatable.",
        "CHOICE",
        to="settled",
        multiple=True,
    ),
    place_option,
)
"""The options that change a selection."""

customer_option = option(
    "--customer", "Who the quote is for, instead of the SELECTION's customer.", "NAME"
)
"""The option that names the customer."""

CHANGES = ("picks", "drops", "settled", "unit_places")
"""Names of what they give."""


def the_shop(file: str | None, day: str | None = None, on_paper: bool = False) -> Shop:
    """The shop of the catalogue named, or the shipped one, with the prices of a day.

    Where it has none for today, they are those of the nearest day that has, and that is said on
    standard error: enough for a first look, never for a paper.

    Raises:
        CatalogueError: with every error found.
        FileError: it cannot be read.
        SelectionError: the catalogue has no prices for that day.
        click.UsageError: it is no day.
    """
    asked = day_or_today(day) if on_paper or day is not None else None
    where = Location("today" if day is None else f"--date {day}", 0, 0)
    catalogue = None if file is None else Path(file)
    shop = open_shop(catalogue, asked, today=today(), at=where)
    if shop.remark:
        click.echo(shop.remark, err=True)
    return shop


def the_builds(shop: Shop, files: Iterable[str]) -> list[Build]:
    """The selections in the files.

    Of a quote that was made with another text of the catalogue it is said on standard error.

    Raises:
        SelectionError: a file cannot be understood.
        FileError: a file cannot be read.
    """
    builds = [shop.build(Path(file)) for file in files]
    for build in builds:
        if build.remark:
            click.echo(build.remark, err=True)
    return builds


def _the_build(shop: Shop, file: str | None, given: dict[str, Any], needed: bool) -> Build:
    """The selection in the file, if any, with the changes given, which are taken out.

    Raises:
        ConfiguratorError: nobody can be called as the customer is.
        SelectionError: the file, a drop or a place cannot be understood.
        FileError: the file cannot be read.
        click.UsageError: there is nothing to go by, or a pick or a place is not written as one.
    """
    picks, drops, settled, places = (given.pop(name) for name in CHANGES)
    customer = given.pop("customer", None)
    if needed and file is None and not picks:
        raise click.UsageError("give a SELECTION file, or picks with --pick")
    build = shop.build() if file is None else the_builds(shop, [file])[0]
    for text in drops:
        build = build.drop(*Pick.named(text).key, at=Location(f"--drop {text}", 0, 0))
    for choice in settled:
        build = build.without(choice, at=Location(f"--none {choice}", 0, 0))
    for pick in picks_from(picks, shop.catalogue, settled):
        build = build.pick(*pick.key, pick.many, at=pick.at)
    for text in places:
        build = placed(build, text)
    if customer is None:
        return build
    try:
        return build.for_customer(customer)
    except ConfiguratorError as error:
        raise ConfiguratorError(f"--customer: {error}") from None


def print_answer(answer: Any, as_json: bool, report: Callable[[], Report]) -> None:
    """Print an answer as JSON where that is asked for, or as its report."""
    if as_json:
        print_json(answer)
    else:
        from configurator.render.text import show

        show(report())


def print_json(answer: Any) -> None:
    """Print an answer as JSON."""
    from configurator.answers.data import to_json

    click.echo(to_json(answer), nl=False)


def tell_cautions(found: Iterable[Finding]) -> None:
    """Say on standard error what a paper cautions of; ``check`` also says why and what helps."""
    from configurator.render.text import show

    show((tuple(attrs.evolve(finding, reason="", hint="") for finding in found),), err=True)


def tell_refusal(error: NoPaper) -> None:
    """Say on standard error what stops a paper, with hints, and which command helps."""
    from configurator.render.text import show
    from configurator.report.model import Paragraph

    told = [Paragraph(f"no {error.paper}:")]
    for finding, others in error.told:
        told.append(Paragraph(finding.sentence, depth=1))
        if finding.hint:
            told.append(Paragraph(f"hint: {finding.hint}", depth=2))
        told += (Paragraph(f"also: {other.sentence}", depth=2) for other in others)
    if error.advice:
        words, asks = error.advice
        told += Paragraph(words), Paragraph(asks, depth=1)
    show((tuple(told),), err=True)


@contextmanager
def problems_as_json(as_json: bool) -> Iterator[None]:
    """Answer what is wrong, stops a paper or is not settled as JSON where JSON was asked for."""
    try:
        yield
    except (DataError, QuoteRefused, SearchLimit) as error:
        if not as_json:
            raise
        from configurator.answers.values import NotSettled, Problems, Refused

        if isinstance(error, QuoteRefused):
            print_json(Refused.by(error))
        elif isinstance(error, DataError):
            print_json(Problems(error.problems))
        else:
            print_json(NotSettled(str(error), error.advice))
        sys.exit(FINDINGS)


def day_or_today(text: str | None) -> dt.date:
    """The day given as YYYY-MM-DD, or today.

    Raises:
        click.UsageError: it is no such day.
    """
    return today() if text is None else day_from(text)


def today() -> dt.date:
    """The day it is here."""
    return dt.date(*time.localtime()[:3])
