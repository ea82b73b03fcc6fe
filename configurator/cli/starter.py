"""The command that starts a catalogue: in a terminal, it asks for what was not given."""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from configurator.cli.arguments import number_from
from configurator.cli.common import day_or_today
from configurator.cli.outputs import NAME
from configurator.errors import ConfiguratorError
from configurator.money import exponent
from configurator.starter import VEHICLES
from configurator.starter.files import require_classes, require_new


class _Question(click.Option):
    """An option that is asked for in a terminal; elsewhere it has its default, or is missing."""

    def prompt_for_value(self, ctx: click.Context) -> Any:
        """The answer, asked for again while it cannot be used."""
        if sys.stdin is not None and sys.stdin.isatty():
            return super().prompt_for_value(ctx)
        return self.get_default(ctx)


class _Answer(click.ParamType[Any]):
    """What an answer is read as; one that cannot be used is asked for again."""

    name = "answer"

    def __init__(self, made: Callable[[str], Any]) -> None:
        self.made = made

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value, which may have been read already.

        Raises:
            click.BadParameter: it cannot be used.
        """
        try:
            return self.made(value) if isinstance(value, str) else value
        except ConfiguratorError as error:
            self.fail(str(error), param, ctx)


def _currency(answer: str) -> str:
    exponent(answer)
    return answer


def _number(answer: str) -> Decimal:
    number = number_from(answer, 1_000_000)
    if number is None:
        raise ConfiguratorError(f"{answer!r} is no number of zero or more; write it as in 126.50")
    return number


def _filled(answer: str) -> str:
    if not answer.strip():
        raise ConfiguratorError("it is empty: fill it in")
    return answer


def _lines(answer: str) -> list[str]:
    return [part.strip() for part in answer.split(",") if part.strip()]


def _classes(answer: str) -> list[str]:
    require_classes(_lines(answer))
    return _lines(answer)


def _question(
    name: str, words: str, meaning: str, usual: str | None = None, **more: Any
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    if usual is not None:
        more["default"] = usual
        meaning = f"{meaning} Default: {usual or 'none'}."
    needed = usual is None
    return click.option(name, cls=_Question, prompt=words, required=needed, help=meaning, **more)


def _new(_: click.Context, __: click.Parameter, folder: str) -> str:
    require_new(Path(folder))
    return folder


@click.command("new")
@click.argument("folder", type=NAME, callback=_new)
@_question("--name", "Name of the shop", "Name of the shop.", metavar="NAME", type=_Answer(_filled))
@_question(
    "--address",
    "Address, with commas between its lines",
    "Its address, with commas between lines.",
    metavar="LINES",
    type=_Answer(_lines),
)
@_question("--email", "E-mail, Enter for none", "Its e-mail address.", "", metavar="ADDRESS")
@click.option("--phone", metavar="NUMBER", default="", help="Its telephone number. Default: none.")
@_question(
    "--currency", "Currency", "Of all prices.", "AUD", metavar="CODE", type=_Answer(_currency)
)
@_question("--tax-name", "Name of the tax", "Such as GST or VAT.", "GST", metavar="NAME")
@_question(
    "--tax-rate",
    "Its rate in percent",
    "In percent.",
    "10",
    metavar="PERCENT",
    type=_Answer(_number),
)
@_question(
    "--prices",
    "Do your prices have it in them",
    "Whether prices have the tax in them.",
    "include",
    type=click.Choice(["include", "exclude"]),
)
@_question(
    "--labour",
    "What an hour of electrical work costs",
    "An hour of electrical work.",
    "120",
    metavar="AMOUNT",
    type=_Answer(_number),
)
@_question(
    "--kerb-side",
    "Side of the kerb, facing forward",
    "Seen facing forward.",
    "left",
    type=click.Choice(["left", "right"]),
)
@_question(
    "--vehicles",
    "Vehicles you build for",
    "Those you build for, with commas between.",
    ",".join(VEHICLES),
    metavar="CLASSES",
    type=_Answer(_classes),
)
def catalogue_new(folder: str, name: str, address: list[str], **given: Any) -> None:
    r"""Start a catalogue of your own in a new FOLDER: small, complete, and ready to quote from.

    In a terminal it asks for what the options leave out; elsewhere give --name and --address.
    Its figures are invented, and every file says what to change.

    \b
    Example:
      configurator catalogue new wattle --name "Wattle" --address "1 Example Lane"
    """
    from configurator.shop import Shop

    shop = Shop.new(folder, name, address, first=day_or_today(None), **given)
    count = len(shop.catalogue.parts) + 1
    click.echo(f"{folder}: a catalogue of {count} files, ready to quote from")
    selection = Path(folder, "selections", "first.yaml")
    click.echo(f"begin with: configurator check {selection} --catalogue {folder}")
