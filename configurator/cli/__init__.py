"""The command line: arguments in, answers out, exit codes. No decision of the trade is made here.

Results go to standard output, everything else to standard error. Slow libraries are imported by
the command that needs them.
"""

from __future__ import annotations

import os
import sys
from typing import NoReturn

import click

from configurator.cli.budget import budget
from configurator.cli.catalogue import catalogue
from configurator.cli.common import FINDINGS, NO_FILE, USAGE, AnswerLost, Commands
from configurator.cli.engine import complete, fixes, options, why, within
from configurator.cli.layout import layout
from configurator.cli.ratings import mass, power
from configurator.cli.selling import check, compare, demo, price, quote
from configurator.cli.sheets import sheets
from configurator.errors import (
    ConfiguratorError,
    DataError,
    FileError,
    MissingLibrary,
    QuoteRefused,
    SearchLimit,
)

__all__ = ["cli", "main"]

_EXIT_CODES = (
    "Exit codes: 0 fine; 1 findings that stop a quote, or data that cannot be used; "
    "2 wrong usage; 3 a file cannot be read or written."
)


@click.group(cls=Commands, epilog=_EXIT_CODES, context_settings={"max_content_width": 100})
@click.version_option(package_name="tray-canopy-configurator")
def cli() -> None:
    """Quotes for trays and canopies: what goes together, what fits, what it costs.

    A SELECTION is a YAML or JSON file with what the customer wants so far, or a PDF made here,
    which carries its own. Picks given with --pick are added to it, or stand alone without any file.
    """


_SALE = (check, price, quote, compare, budget, sheets)
_ENGINE = (options, why, fixes, complete, within)
_FACTS = (layout, mass, power)
for command in (*_SALE, *_ENGINE, *_FACTS, demo, catalogue):
    cli.add_command(command)


def main() -> None:
    """Run the command line and leave with its exit code."""
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
    except AnswerLost as error:
        _lost(error)
    except OSError as error:
        _lost(AnswerLost(error))
    except (FileError, MissingLibrary) as error:
        _complain(str(error))
        sys.exit(NO_FILE)
    except SearchLimit as error:
        _complain(f"no answer: {error}")
        sys.exit(FINDINGS)
    except ConfiguratorError as error:
        _complain(str(error))
        sys.exit(USAGE)


def _lost(error: AnswerLost) -> NoReturn:
    """Leave without the rest of the answer, which Python would try to write once more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if not error.unread:
        _complain(str(error))
    sys.exit(NO_FILE)


def _complain(text: str) -> None:
    click.echo(text, err=True)
