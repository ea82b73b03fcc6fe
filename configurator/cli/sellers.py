"""The command that names sellers and sets their passwords, for a page that others can reach."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

SELLERS_VARIABLE = "CONFIGURATOR_SELLERS"


def sellers_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names the file of the sellers."""
    return click.option(
        "--sellers",
        "sellers_file",
        metavar="FILE",
        envvar=SELLERS_VARIABLE,
        show_envvar=True,
        help="The file of the sellers. Default: one in the user's data folder.",
    )(command)


def the_sellers_file(file: str | None) -> Path:
    """The file of the sellers."""
    from configurator.web.sellers import usual_file

    return usual_file() if file is None else Path(file)


@click.command()
@click.argument("name", required=False)
@click.option("--remove", is_flag=True, help="Stop the seller from signing in.")
@sellers_option
def sellers(name: str | None, remove: bool, sellers_file: str | None) -> None:
    r"""Name a seller and set their password, for `serve --host`. Without a name, list them.

    It asks for the password, and keeps it so that it cannot be read back. Anyone signed in with
    an older password has to sign in again.

    \b
    Example:
      configurator sellers Ann
    """
    from configurator.web.sellers import read_sellers, write_sellers

    file = the_sellers_file(sellers_file)
    known = read_sellers(file)
    if name is None:
        for one in sorted(known.passwords):
            click.echo(one)
        return
    if remove:
        write_sellers(file, known.without(name))
        click.echo(f"{name} may not sign in any more")
        return
    password = click.prompt("Password", hide_input=True, confirmation_prompt="The same again")
    write_sellers(file, known.with_seller(name, password))
    click.echo(f"{name} may sign in")
