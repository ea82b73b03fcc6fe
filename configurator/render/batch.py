"""Many quotes at once: every selection of a folder, on all processor cores.

Worker processes make the pages and hand them over as bytes; only this process writes files, so
whatever stops the work leaves whole files or none. Each quote is made as if it were the only one,
so it is the same to the byte however many processes share the work.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TypeAlias

from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.catalogue.shop import ShopDetails
from configurator.errors import (
    ConfiguratorError,
    DataError,
    FileError,
    MissingLibrary,
    unreadable_folder,
)
from configurator.machine.files import replace_file
from configurator.machine.workers import cores, in_order
from configurator.render import renderer
from configurator.render.look import Look, look_of
from configurator.render.writing import paper_pdf
from configurator.report.batch import Job, Quoted, of_one_name
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection, selections_in
from configurator.selection.resolved import Resolved

LookFor = Callable[[ShopDetails], Look | None]

_Made: TypeAlias = tuple[Quoted, bytes]
"""What became of a job, as a worker hands it over: its PDF is not written yet."""


def jobs_of(folder: Path, output: Path, prefix: str = "") -> tuple[Job, ...]:
    """A job for each selection of the folder, in the order of their names.

    A quote's number is the name of the selection's file, without its ending and after the prefix;
    the quote's file has the same name as the selection's.

    Raises:
        ConfiguratorError: the folder holds no selection, or quotes would be written into it.
        FileError: the folder cannot be read.
    """
    files = selections_in(folder)
    try:
        same = output.exists() and output.samefile(folder)
    except OSError as error:
        raise unreadable_folder(output, error) from None
    if same:
        raise ConfiguratorError(
            f"{output}: quotes would lie among the selections, and be taken for selections the "
            "next time; name another folder with -o"
        )
    return tuple(Job(str(f), f"{prefix}{f.stem}", str(output / f"{f.stem}.pdf")) for f in files)


class Batch(Iterator[Quoted]):
    """Quotes in the order of their jobs; ``length_hint`` tells how many are to come.

    Attributes:
        numbers: of all of them.
    """

    def __init__(self, jobs: Sequence[Job], quotes: Iterator[Quoted]) -> None:
        self._left, self._quotes = len(jobs), quotes
        self.numbers = tuple(job.number for job in jobs)

    def __repr__(self) -> str:
        return f"Batch({self._left} to come)"

    def __next__(self) -> Quoted:
        quoted = next(self._quotes)
        self._left -= 1
        return quoted

    def __length_hint__(self) -> int:
        return self._left


def quote_all(
    catalogue: Catalogue,
    jobs: Sequence[Job],
    day: dt.date,
    processes: int | None = None,
    look_for: LookFor = look_of,
) -> Iterator[Quoted]:
    """Make and write the quotes; each result is given out when its turn has come.

    Args:
        catalogue: the shop's catalogue.
        jobs: what is to be done.
        day: day of issue.
        processes: how many work at once; None for one on each core.
        look_for: gives the look of the shop's quotes; it is sent to other processes.

    Raises:
        MissingLibrary: the machine lacks the libraries that WeasyPrint loads.
    """
    doubtful = of_one_name(jobs)
    yield from doubtful
    sure = [job for job in jobs if job not in {quoted.job for quoted in doubtful}]
    count = min(processes or cores(), len(sure))
    ended = "the process that made it ended without a word, perhaps for want of memory"
    for job, made in in_order(
        partial(_maker, catalogue, day, look_for), sure, count, renderer.fonts
    ):
        yield _written(*(made or (Quoted(job, problem=ended), b"")))


def _maker(catalogue: Catalogue, day: dt.date, look_for: LookFor) -> Callable[[Job], _Made]:
    """What makes quotes of one catalogue and one day, with one look."""
    look = look_for(catalogue.shop)

    def make(job: Job) -> _Made:
        named = True  # while nothing but the file is asked about
        try:
            selection = read_selection(job.selection)
            named = False
            quote = make_quote(Resolved(catalogue, selection), job.number, day)
            return Quoted(job, quote.price, findings=quote.findings), paper_pdf(quote, look)
        except MissingLibrary:  # no quote can be made on this machine
            raise
        except DataError as error:
            problem, named = str(error), error.problems[0].at.path == job.selection
        except ConfiguratorError as error:
            problem = str(error)
        except Exception as error:  # a fault of ours in one quote must not cost the others
            named = False
            problem = f"a fault of this program: {type(error).__name__}: {error}"
        return Quoted(job, problem=problem, named=named), b""

    return make


def _written(quoted: Quoted, pdf: bytes) -> Quoted:
    if quoted.price is None:
        return quoted
    try:
        replace_file(Path(quoted.job.output), pdf)
    except FileError as error:
        return evolve(quoted, price=None, problem=str(error), findings=())
    return quoted
