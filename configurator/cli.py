"""The command line: arguments in, answers out, exit codes. No decision of the trade is made here.

Results go to standard output, everything else to standard error. Slow libraries are imported by
the command that needs them.
"""

from __future__ import annotations

import datetime as dt
import gc
import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import attrs
import click

from configurator.catalogue.model import ADD_ON, Catalogue, Pick
from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.errors import (
    CatalogueError,
    ConfiguratorError,
    DataError,
    FileError,
    Location,
    MissingLibrary,
    Problem,
    QuoteRefused,
    SelectionError,
    near_miss,
)
from configurator.selection import Selection

if TYPE_CHECKING:
    from configurator.pricing import Price

__all__ = ["FINDINGS", "FINE", "NO_FILE", "USAGE", "main"]

FINE, FINDINGS, USAGE, NO_FILE = 0, 1, 2, 3
"""Exit codes: fine; findings that stop a quote; wrong usage; cannot read or write."""

_EXIT_CODES = (
    "Exit codes: 0 fine; 1 findings that stop a quote, or data that cannot be used; "
    "2 wrong usage; 3 a file cannot be read or written."
)
_CATALOGUE_VARIABLE = "CONFIGURATOR_CATALOGUE"


class _Commands(click.Group):
    """A group that suggests the nearest command for a mistyped one."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and self.get_command(ctx, args[0]) is None:
            hint = near_miss(args[0], self.list_commands(ctx))
            ctx.fail(f"there is no command {args[0]!r}. {hint}".strip())
        return super().resolve_command(ctx, args)


@click.group(cls=_Commands, epilog=_EXIT_CODES, context_settings={"max_content_width": 100})
@click.version_option(package_name="tray-canopy-configurator")
def cli() -> None:
    """Quotes for trays and canopies: what goes together, what fits, what it costs.

    A SELECTION is a YAML or JSON file with what the customer wants so far. Picks given with
    --pick are added to it, or stand alone without any file.
    """


def main() -> None:
    """Run the command line and leave with its exit code."""
    gc.disable()  # a short life: looking for cycles costs a tenth of it and frees nothing
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        cli(prog_name="configurator", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as error:
        error.show()
        sys.exit(USAGE)
    except click.Abort:
        _complain("stopped; nothing half done was left behind")
        sys.exit(130)
    except DataError as error:
        _complain(str(error))
        sys.exit(FINDINGS)
    except QuoteRefused as error:
        _complain("\n".join(["no quote:", *(f"  {sentence}" for sentence in error.sentences)]))
        sys.exit(FINDINGS)
    except (FileError, MissingLibrary) as error:
        _complain(str(error))
        sys.exit(NO_FILE)
    except ConfiguratorError as error:
        _complain(str(error))
        sys.exit(USAGE)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(NO_FILE)


def _complain(text: str) -> None:
    click.echo(text, err=True)


def _catalogue_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--catalogue",
        "catalogue_file",
        metavar="FILE",
        envvar=_CATALOGUE_VARIABLE,
        show_envvar=True,
        help="The shop's catalogue. Default: the shipped one.",
    )(command)


def _json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")(command)


def _selection_arguments(command: Callable[..., Any]) -> Callable[..., Any]:
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


def _read_catalogue(file: str | None) -> Catalogue:
    path = Path(file) if file else shipped("catalogues") / "quandong.yaml"
    catalogue, problems = parse_catalogue(read_text(path), str(path))
    if catalogue is None:
        raise CatalogueError(problems)
    return catalogue


def _read_selection(
    catalogue: Catalogue, file: str | None, picks: Iterable[str], drops: Iterable[str]
) -> Selection:
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


def _print_json(answer: dict[str, Any]) -> None:
    from configurator.answers import to_json

    click.echo(to_json(answer), nl=False)


def _refuse_as_json(error: DataError) -> NoReturn:
    from configurator.answers import problems_answer

    _print_json(problems_answer(error.problems))
    sys.exit(FINDINGS)


def _day(text: str | None) -> dt.date:
    if text is None:
        return dt.datetime.now(tz=dt.UTC).astimezone().date()
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise click.UsageError(f"--date {text}: write a day as YYYY-MM-DD") from None


@cli.command()
@_selection_arguments
@_catalogue_option
@_json_option
def check(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    """Say everything there is to say about a selection, most serious first.

    \b
    Example: does the 130 L upright fit under the 850 mm canopy?
      configurator check wish.yaml
    """
    from configurator import terminal
    from configurator.answers import check_answer
    from configurator.check import check as check_selection

    try:
        catalogue = _read_catalogue(catalogue_file)
        selection = _read_selection(catalogue, selection_file, picks, drops)
        checked = check_selection(catalogue, selection)
    except DataError as error:
        if as_json:
            _refuse_as_json(error)
        raise
    if as_json:
        _print_json(check_answer(checked))
    else:
        terminal.show_check(checked)
    sys.exit(FINDINGS if checked.stops else FINE)


@cli.command()
@_selection_arguments
@_catalogue_option
@_json_option
def price(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    """Price a selection, complete or not, with suggested add-ons apart from the total.

    \b
    Example: what would powder coat come to instead?
      configurator price touring.yaml --pick finish=powder-standard
    """
    from configurator import terminal
    from configurator.pricing import price as price_selection
    from configurator.suggestions import suggestions

    try:
        catalogue = _read_catalogue(catalogue_file)
        selection = _read_selection(catalogue, selection_file, picks, drops)
        priced = price_selection(catalogue, selection)
    except DataError as error:
        if as_json:
            _refuse_as_json(error)
        raise
    suggested = suggestions(catalogue, selection)
    if as_json:
        from configurator.answers import price_answer

        _print_json(price_answer(priced, suggested))
    else:
        terminal.show_price(priced, suggested, catalogue)


@cli.command()
@_selection_arguments
@click.option("-o", "--output", required=True, metavar="FILE", help="FILE.pdf, .html or .json.")
@click.option("--number", default="DRAFT", show_default=True, help="The quote's number.")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Day of issue. Default: today.")
@_catalogue_option
def quote(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    output: str,
    number: str,
    day: str | None,
    catalogue_file: str | None,
) -> None:
    """Write the quote as PDF, HTML or JSON, unless something stops it.

    \b
    Example:
      configurator quote touring.yaml -o quote.pdf --number Q-2041
    """
    from configurator.papers.quote import make_quote
    from configurator.papers.writing import write_quote

    catalogue = _read_catalogue(catalogue_file)
    selection = _read_selection(catalogue, selection_file, picks, drops)
    made = make_quote(catalogue, selection, number, _day(day))
    write_quote(made, Path(output))
    click.echo(f"{output}: quote {number}, {_total(made.price)}")


def _total(priced: Price) -> str:
    from configurator.words import amount_with_currency

    start = "from " if priced.is_from else ""
    return f"{start}{amount_with_currency(priced.total)} including {priced.tax_name}"


@cli.command()
@click.argument("selection_files", metavar="SELECTION SELECTION...", nargs=-1)
@click.option("-o", "--output", metavar="FILE", help="FILE.pdf, .html or .json instead of a table.")
@_catalogue_option
@_json_option
def compare(
    selection_files: tuple[str, ...],
    output: str | None,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    """Lay selections side by side on price and mass, differences first.

    \b
    Example:
      configurator compare touring.yaml contractor.yaml -o comparison.pdf
    """
    from configurator import terminal
    from configurator.answers import comparison_answer
    from configurator.compare import compare as compare_selections
    from configurator.selection_reading import read_selection

    if len(selection_files) < 2:
        raise click.UsageError("give at least two selections to compare")
    try:
        catalogue = _read_catalogue(catalogue_file)
        selections = [read_selection(file) for file in selection_files]
        titles = [s.title or Path(f).stem for s, f in zip(selections, selection_files, strict=True)]
        comparison = compare_selections(catalogue, selections, titles)
    except DataError as error:
        if as_json:
            _refuse_as_json(error)
        raise
    if output:
        from configurator.papers.writing import write_comparison

        write_comparison(comparison, catalogue.shop, Path(output))
        click.echo(f"{output}: {' and '.join(titles)} compared")
    elif as_json:
        _print_json(comparison_answer(comparison))
    else:
        terminal.show_comparison(comparison)


@cli.command()
@click.argument("folder", metavar="[DIR]", default="quotes")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="Day of issue. Default: today.")
@_catalogue_option
def demo(folder: str, day: str | None, catalogue_file: str | None) -> None:
    """Write the shipped selections' quotes and a comparison into DIR, and say what was done."""
    from configurator import terminal
    from configurator.demo import run_demo

    catalogue = _read_catalogue(catalogue_file)
    terminal.show_demo(run_demo(catalogue, Path(folder), _day(day)))


@cli.group(cls=_Commands)
def catalogue() -> None:
    """Look after the catalogue."""


@catalogue.command("check")
@click.argument("file", metavar="[FILE]", required=False, envvar=_CATALOGUE_VARIABLE)
@_json_option
def catalogue_check(file: str | None, as_json: bool) -> None:
    """Report everything wrong with a catalogue, each with its line, and what to do about it."""
    from configurator.answers import problems_answer

    path = Path(file) if file else shipped("catalogues") / "quandong.yaml"
    read, problems = parse_catalogue(read_text(path), str(path))
    if as_json:
        _print_json(problems_answer(problems))
    elif read is None or problems:
        click.echo("\n".join(map(str, problems)))
    else:
        options = sum(len(choice.options) for choice in read.choices[1:])
        click.echo(
            f"{path}: nothing to say: {len(read.choices[0].options)} vehicles, "
            f"{len(read.choices) - 1} choices, {options} options, {len(read.rules)} rules, "
            f"{len(read.add_ons.options)} add-ons, {len(read.package_deals)} package deals"
        )
    sys.exit(FINE if read is not None else FINDINGS)


@catalogue.command("list")
@click.argument("choice_ids", metavar="[CHOICE]...", nargs=-1)
@_catalogue_option
def catalogue_list(choice_ids: tuple[str, ...], catalogue_file: str | None) -> None:
    """List the choices, or the options of some of them, with the ids that --pick takes."""
    from configurator import terminal

    read = _read_catalogue(catalogue_file)
    for choice_id in choice_ids:
        if choice_id not in read.by_id:
            hint = near_miss(choice_id, read.by_id)
            raise click.UsageError(f"there is no choice {choice_id!r}. {hint}".strip())
    chosen = [read.by_id[choice_id] for choice_id in choice_ids]
    if chosen:
        terminal.show_options(read, chosen)
    else:
        terminal.show_choices([*read.choices, read.by_id[ADD_ON]])
