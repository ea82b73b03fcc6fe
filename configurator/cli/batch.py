"""The command ``quote --batch``: every selection of a folder quoted into another one."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NoReturn

from configurator.cli.common import (
    FINDINGS,
    FINE,
    AskedLook,
    day_from,
    print_json,
    problems_as_json,
    the_shop,
)

__all__ = ["quote_folder"]


def quote_folder(
    folder: str,
    output: Path,
    prefix: str,
    day: str | None,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> NoReturn:
    """Quote every selection of the folder; what fails is told, and the others go on.

    Args:
        folder: with the selections.
        output: the folder for the quotes.
        prefix: what stands before a file's name in its quote's number.
        day: day of issue, or None for today.
        look: how the quotes look.
        catalogue_file: the catalogue, or None for the shipped one.
        as_json: whether to answer as JSON.

    Raises:
        ConfiguratorError: nothing can be quoted at all.
    """
    from configurator.render.batch import jobs_of
    from configurator.terminal.batch import progress, show_batch

    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day, on_paper=True)
    jobs = jobs_of(Path(folder), output, prefix)
    found = {}
    with progress(len(jobs)) as advance:
        for quoted in shop.batch(
            folder,
            output,
            day_from(day),
            prefix,
            page=look.page,
            language=look.language,
            templates=look.templates,
        ):
            found[quoted.job] = quoted
            advance()
    results = [found[job] for job in jobs]
    if as_json:
        from configurator.answers.values import BatchAnswer

        print_json(BatchAnswer(tuple(results)))
    else:
        show_batch(results)
    sys.exit(FINDINGS if any(quoted.problem for quoted in results) else FINE)
