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

import attrs
from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.catalogue.shop import Shop
from configurator.errors import ConfiguratorError, FileError, MissingLibrary
from configurator.render import renderer
from configurator.render.files import replace_file
from configurator.render.look import Look
from configurator.render.writing import paper_pdf
from configurator.report.batch import Job, Quoted, of_one_name
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection, selections_in
from configurator.selection.resolved import Resolved
from configurator.workers import cores, in_order


@frozen
class _Made:
    """A job's result as a worker hands it over, not written yet."""

    quoted: Quoted
    pdf: bytes = b""


@frozen
class _Maker:
    """Makes quotes of one catalogue and one day, with one look."""

    catalogue: Catalogue
    day: dt.date
    look: Look | None

    def make(self, job: Job) -> _Made:
        """The quote, or why there is none.

        Raises:
            MissingLibrary: no quote can be made on this machine.
        """
        try:
            selection = read_selection(job.selection)
            quote = make_quote(Resolved(self.catalogue, selection), job.number, self.day)
            pdf = paper_pdf(quote, self.look)
        except MissingLibrary:
            raise
        except ConfiguratorError as error:
            return _Made(Quoted(job, problem=str(error)))
        except Exception as error:  # a fault of ours in one quote must not cost the others
            fault = f"a fault of this program: {type(error).__name__}: {error}"
            return _Made(Quoted(job, problem=fault))
        return _Made(Quoted(job, quote.price), pdf)


LookFor = Callable[[Shop], Look | None]


def _usual_look(_: Shop) -> None:
    """What the shop's catalogue says."""


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
        raise FileError(f"{output}: cannot read the folder: {error.strerror}") from None
    if same:
        raise ConfiguratorError(
            f"{output}: quotes would lie among the selections, and be taken for selections the "
            "next time; name another folder with -o"
        )
    return tuple(Job(str(f), f"{prefix}{f.stem}", str(output / f"{f.stem}.pdf")) for f in files)


class Batch(Iterator[Quoted]):
    """Quotes in the order of their jobs; ``length_hint`` tells how many are to come."""

    def __init__(self, jobs: Sequence[Job], quotes: Iterator[Quoted]) -> None:
        self._left, self._quotes = len(jobs), quotes

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
    look_for: LookFor = _usual_look,
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
        CatalogueError: the shop's logo or language cannot be used.
    """
    doubtful = of_one_name(jobs)
    yield from doubtful
    sure = [job for job in jobs if job not in {quoted.job for quoted in doubtful}]
    look_for(catalogue.shop)  # what cannot be used is said once, not of each quote
    count = min(processes or cores(), len(sure))
    ended = "the process that made it ended without a word, perhaps for want of memory"
    for job, made in in_order(
        partial(_maker, catalogue, day, look_for), sure, count, renderer.fonts
    ):
        yield _written(made or _Made(Quoted(job, problem=ended)))


def _maker(catalogue: Catalogue, day: dt.date, look_for: LookFor) -> Callable[[Job], _Made]:
    return _Maker(catalogue, day, look_for(catalogue.shop)).make


def _written(made: _Made) -> Quoted:
    if made.quoted.price is None:
        return made.quoted
    try:
        replace_file(Path(made.quoted.job.output), made.pdf)
    except FileError as error:
        return attrs.evolve(made.quoted, price=None, problem=str(error))
    return made.quoted
