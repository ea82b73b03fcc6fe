"""The command line: arguments in, answers out, exit codes. No decision of the trade is made here.

Results go to standard output, everything else to standard error. Slow libraries are imported by
the command that needs them.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from typing import NoReturn

import click

from configurator.cli.again import NoPaper
from configurator.cli.common import (
    FINDINGS,
    FINE,
    NO_FILE,
    UNREAD,
    USAGE,
    AnswerLost,
    Commands,
    tell_refusal,
)
from configurator.errors import (
    ConfiguratorError,
    DataError,
    FileError,
    MissingLibrary,
    RegisterError,
    SearchLimit,
    shortened,
)
from configurator.render.control import visible_streams

STOPPED = "stopped; nothing half done was left behind"
"""What is said when somebody interrupts a command."""

_EXIT_CODES = (
    "Exit codes: 0 fine; 1 something stops the quote, the data cannot be used, or there is no "
    "answer; 2 wrong usage; 3 a file cannot be read or written."
)

_MODULES = {
    "facts": "check price budget layout mass power",
    "engine": "options explain fixes complete within",
    "papers": "quote compare sheets demo",
    "catalogue": "catalogue",
    "register": "register",
    "requote": "requote",
    "serve": "serve sellers",
}
"""The commands by the modules that have them, loaded when they are asked for."""


@click.group(
    cls=Commands,
    later=_MODULES,
    epilog=_EXIT_CODES,
    context_settings={"max_content_width": 100},
)
@click.version_option(package_name="tray-canopy-configurator")
def cli() -> None:
    """Quotes for trays and canopies: what goes together, what fits, what it costs.

    A SELECTION is a YAML or JSON file with what the customer wants so far, or a PDF made by
    this program, which carries its own. Picks given with --pick are added to it, or used alone
    without a file.
    """


def main() -> None:
    """Run the command line and leave with its exit code."""
    _open_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    with visible_streams():
        try:
            sys.exit(_run())
        except click.Abort:
            _complain(STOPPED)
            sys.exit(130)
        except AnswerLost as error:
            _lost(error)
        except OSError as error:
            _lost(AnswerLost(error))


def _run() -> int:
    """Run the command line, say what was wrong, and tell the exit code.

    Raises:
        OSError: standard output or standard error takes no more.
        AnswerLost: the same.
        click.Abort: it was interrupted.
    """
    if sys.stdout is None:
        _complain("the answer cannot be written: standard output is closed")
        return NO_FILE
    try:
        cli(prog_name="configurator", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as error:
        told = io.StringIO()
        error.show(told)
        _complain(told.getvalue().removesuffix("\n"))
        return USAGE
    except (DataError, RegisterError) as error:
        _complain(str(error))
        return FINDINGS
    except SearchLimit as error:
        advice = f"\n    hint: {error.advice}" if error.advice else ""
        _complain(f"no answer: {error}{advice}")
        return FINDINGS
    except NoPaper as error:
        tell_refusal(error)
        return FINDINGS
    except AnswerLost:
        raise
    except (FileError, MissingLibrary) as error:
        _complain(str(error))
        return NO_FILE
    except ConfiguratorError as error:
        _complain(str(error))
        return USAGE
    return FINE


def _open_closed_streams() -> None:
    """Give the standard streams that were closed to nothing, lest a file be opened as one."""
    for descriptor in (0, 1, 2):
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if sys.stderr is None:
        sys.stderr = os.fdopen(2, "w", closefd=False)


def _lost(error: AnswerLost) -> NoReturn:
    """Leave without the rest of the answer, which Python would try to write once more.

    Where nobody reads any more, that is no fault, and no answer either: the exit code is that of
    any program whose reader has gone.
    """
    nothing = os.open(os.devnull, os.O_WRONLY)
    if not error.unread:
        with contextlib.suppress(OSError):
            _complain(str(error))
    for descriptor in (1, 2):
        os.dup2(nothing, descriptor)
    sys.exit(UNREAD if error.unread else NO_FILE)


def _complain(text: str) -> None:
    click.echo(shortened(text), err=True)
