"""Many quotes at once: every selection of a folder, on all processor cores.

Worker processes make the pages and hand them over as bytes; only this process writes files, so
whatever stops the work leaves whole files or none. Each quote is made as if it were the only one,
so it is the same to the byte however many processes share the work.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor, as_completed
from multiprocessing import get_context, parent_process
from pathlib import Path

import attrs
from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.catalogue.shop import Shop
from configurator.errors import ConfiguratorError, FileError, MissingLibrary
from configurator.render.files import replace_file
from configurator.render.look import Look
from configurator.render.writing import paper_pdf
from configurator.report.batch import Job, Quoted, of_one_name
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved

_KINDS = (".yaml", ".yml", ".json", ".pdf")


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


def cores() -> int:
    """How many processor cores this process may use."""
    with contextlib.suppress(AttributeError):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def jobs_of(folder: Path, output: Path, prefix: str = "") -> tuple[Job, ...]:
    """A job for each selection of the folder, in the order of their names.

    A quote's number is the name of the selection's file, without its ending and after the prefix;
    the quote's file has the same name as the selection's.

    Raises:
        ConfiguratorError: the folder holds no selection, or quotes would be written into it.
        FileError: the folder cannot be read.
    """
    try:
        files = sorted(f for f in folder.iterdir() if f.is_file())
        same = output.exists() and output.samefile(folder)
    except OSError as error:
        raise FileError(f"{folder}: cannot read the folder: {error.strerror}") from None
    files = [f for f in files if f.suffix.lower() in _KINDS and not f.name.startswith(".")]
    if not files:
        raise ConfiguratorError(f"{folder}: there is no selection in it ({', '.join(_KINDS)})")
    if same:
        raise ConfiguratorError(
            f"{output}: quotes would lie among the selections, and be taken for selections the "
            "next time; name another folder with -o"
        )
    return tuple(Job(str(f), f"{prefix}{f.stem}", str(output / f"{f.stem}.pdf")) for f in files)


class Batch(Iterator[Quoted]):
    """Quotes given out as soon as they are there; ``length_hint`` tells how many are to come."""

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
    """Make and write the quotes; each result is given out as soon as it is there.

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
    count = min(processes or cores(), len(sure))
    look = look_for(catalogue.shop)
    if count > 1:
        made = _made_by_several(catalogue, sure, day, count, look_for)
    else:
        made = map(_Maker(catalogue, day, look).make, sure)
    for one in made:
        yield _written(one)


def _written(made: _Made) -> Quoted:
    if made.quoted.price is None:
        return made.quoted
    try:
        replace_file(Path(made.quoted.job.output), made.pdf)
    except FileError as error:
        return attrs.evolve(made.quoted, price=None, problem=str(error))
    return made.quoted


_here: list[_Maker] = []
"""What makes quotes in a worker process."""


def _begin(catalogue: Catalogue, day: dt.date, look_for: LookFor) -> None:
    """Make ready, once in each worker; and end with the process that started it, come what may."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _here[:] = [_Maker(catalogue, day, look_for(catalogue.shop))]


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _make_here(job: Job) -> _Made:
    return _here[0].make(job)


def _made_by_several(
    catalogue: Catalogue, jobs: Sequence[Job], day: dt.date, count: int, look_for: LookFor
) -> Iterator[_Made]:
    """The results as they come.

    Where a worker dies, all its fellows go with it and nobody knows whose job it was: what was not
    finished is then done again, one at a time.
    """

    def workers(number: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(number, get_context("spawn"), _begin, (catalogue, day, look_for))

    left = dict.fromkeys(jobs)
    try:
        with _stopping(workers(count)) as several:
            with _interrupts_ignored():
                futures = [several.submit(_make_here, job) for job in jobs]
            for future in as_completed(futures):
                made = future.result()
                del left[made.quoted.job]
                yield made
        return
    except BrokenExecutor:
        pass
    for job in left:
        with _stopping(workers(1)) as one:
            with _interrupts_ignored():
                alone: Future[_Made] = one.submit(_make_here, job)
            try:
                yield alone.result()
            except BrokenExecutor:
                ended = "the process that made it ended without a word, perhaps for want of memory"
                yield _Made(Quoted(job, problem=ended))


@contextlib.contextmanager
def _stopping(workers: ProcessPoolExecutor) -> Iterator[ProcessPoolExecutor]:
    """Leave no worker behind: what has not begun is dropped, what has begun is waited for."""
    try:
        yield workers
    finally:
        workers.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def _interrupts_ignored() -> Iterator[None]:
    """While workers are started, so that they start out without minding Ctrl-C.

    Only this process is to be stopped by it: it drops what is left, and they end in good order.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
