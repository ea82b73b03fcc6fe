"""The commands that look after the catalogue."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from configurator.catalogue.model import ADD_ON
from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.cli.common import (
    CATALOGUE_VARIABLE,
    FINDINGS,
    FINE,
    Commands,
    catalogue_option,
    json_option,
    print_json,
    problems_as_json,
    the_catalogue,
)
from configurator.cli.outputs import NAME
from configurator.errors import by_place, listed, near_miss, shortened

__all__ = ["catalogue"]


@click.group(cls=Commands)
def catalogue() -> None:
    """Look after the catalogue."""


@catalogue.command("check")
@click.argument("file", metavar="[FILE]", required=False, type=NAME, envvar=CATALOGUE_VARIABLE)
@click.option(
    "--deep",
    is_flag=True,
    help="Search it too: what nobody can have, and what has no effect. Takes a while.",
)
@json_option
def catalogue_check(file: str | None, deep: bool, as_json: bool) -> None:
    """Report everything wrong with a catalogue, each with its line, and what to do about it."""
    from configurator.answers.selling import problems_answer
    from configurator.checking.catalogue import catalogue_cautions
    from configurator.render.look import look_problems

    path = shipped("catalogues") / "quandong.yaml" if file is None else Path(file)
    read, problems = parse_catalogue(read_text(path), str(path))
    if read is not None:
        more = (*catalogue_cautions(read), *look_problems(read.shop))
        problems = by_place((*problems, *more))
    if deep and read is not None:
        from configurator.engine.review import review
        from configurator.engine.search import Search

        problems = by_place((*problems, *review(Search(read))))
    if as_json:
        print_json(problems_answer(problems))
    elif read is None or problems:
        click.echo(shortened(listed(problems)))
    else:
        options = sum(len(choice.options) for choice in read.choices[1:])
        click.echo(
            f"{path}: nothing to say: {len(read.choices[0].options)} vehicles, "
            f"{len(read.choices) - 1} choices, {options} options, {len(read.rules)} rules, "
            f"{len(read.add_ons.options)} add-ons, {len(read.package_deals)} package deals"
        )
    usable = read is not None and all(problem.level != "error" for problem in problems)
    sys.exit(FINE if usable else FINDINGS)


@catalogue.command("list")
@click.argument("choice_ids", metavar="[CHOICE]...", nargs=-1)
@catalogue_option
@json_option
def catalogue_list(choice_ids: tuple[str, ...], catalogue_file: str | None, as_json: bool) -> None:
    """List the choices, or the options of some of them, with the ids that --pick takes."""
    with problems_as_json(as_json):
        read = the_catalogue(catalogue_file)
    for choice_id in choice_ids:
        if choice_id not in read.by_id:
            hint = near_miss(choice_id, read.by_id)
            raise click.UsageError(f"there is no choice {choice_id!r}. {hint}".strip())
    chosen = [read.by_id[choice_id] for choice_id in choice_ids]
    every = [*read.choices, read.by_id[ADD_ON]]
    if as_json:
        from configurator.answers.offer import choices_answer

        print_json(choices_answer(read, chosen or every))
        return
    from configurator.terminal import common as terminal

    if chosen:
        terminal.show_options(read, chosen)
    else:
        terminal.show_choices(every)
