"""Changes to a selection as they are written on the command line: ``finish=two-pack,inverter=``."""

from __future__ import annotations

from collections.abc import Iterator

import click

from configurator.build import Build
from configurator.catalogue.model import Catalogue
from configurator.cli.common import quantity_from
from configurator.errors import Location


def changed(build: Build, text: str) -> Build:
    """The build with the changes made; what depended on a pick that is gone goes with it.

    Raises:
        click.UsageError: the text is not written as changes.
    """
    for choice, option, quantity in _changes(text):
        if option:
            where = Location(f"--change {text}", 0, 0)
            build = build.pick(choice, option, quantity, at=where)
        elif choice not in build.selection.chosen:
            raise click.UsageError(f"--change {text}: nothing is picked in {choice}")
        else:
            build = build.drop(choice)
    return build.tidied()


def change_title(catalogue: Catalogue, text: str) -> str:
    """What a column with the changes is called."""
    told = []
    for choice_id, option_id, quantity in _changes(text):
        choice = catalogue.by_id.get(choice_id)
        option = choice.by_id.get(option_id) if choice else None
        if choice is not None and not option_id:
            told.append(f"without {choice.title}")
        elif option is not None:
            told.append(
                f"with {quantity} x {option.title}" if quantity > 1 else f"with {option.title}"
            )
        else:
            told.append(f"with {choice_id}={option_id}")
    return ", ".join(told)


def _changes(text: str) -> Iterator[tuple[str, str, int]]:
    for change in text.split(","):
        choice, equals, rest = change.strip().partition("=")
        option, colon, number = rest.partition(":")
        quantity = quantity_from(number) if colon else 1
        if not choice or not equals or quantity is None or (colon and not option):
            raise click.UsageError(
                f"--change {text}: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY, or as "
                "CHOICE= to leave the choice out; commas between changes that go together"
            )
        yield choice, option, quantity
