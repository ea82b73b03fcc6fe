"""Work shared among processes of this machine; results come in the order of the jobs.

Jobs are taken from their source only as fast as they are done, so that the memory in use does not
grow with their number. Each process makes ready once, and then does one job after another.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

J = TypeVar("J")
R = TypeVar("R")

Prepare: TypeAlias = Callable[[], Callable[[J], R]]
"""Makes a process ready, and gives what does a job; it is sent to other processes."""

_AHEAD = 4
"""Jobs for each process that are begun or done before their turn has come."""


def cores() -> int:
    """How many processor cores this process may use."""
    with contextlib.suppress(AttributeError):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_order(
    prepare: Prepare[J, R],
    jobs: Iterable[J],
    processes: int,
    load: Callable[[], object] | None = None,
) -> Iterator[tuple[J, R | None]]:
    """Each job with its result, in the order of the jobs, or with None where its process died.

    Args:
        prepare: gives what does a job.
        jobs: what is to be done.
        processes: how many work at once; with one, the work is done here.
        load: loads what takes long and all jobs need. Then the other processes are copies of this
            one, for which it is loaded once, where this one has a single thread; else they load it.
            What is open here is open in a copy too: without this there are no copies.
    """
    if processes < 2:
        do = prepare()
        yield from ((job, do(job)) for job in jobs)
        return
    waiting = iter(jobs)
    while True:
        begun: deque[tuple[J, Future[R | None]]] = deque()
        try:
            with _workers(prepare, processes, load) as several:
                for job in waiting:
                    begun.append((job, Future()))  # not lost where no worker takes it any more
                    begun[-1] = (job, _submitted(several, job))
                    if len(begun) >= processes * _AHEAD:
                        yield _first(begun)
                while begun:
                    yield _first(begun)
            return
        except BrokenExecutor:
            # one that dies takes all its fellows with it, and nobody knows whose job it was
            yield from apart(prepare, [job for job, _ in begun], load)


def apart(
    prepare: Prepare[J, R], jobs: Iterable[J], load: Callable[[], object] | None = None
) -> Iterator[tuple[J, R | None]]:
    """As :func:`in_order`, one job at a time in a process that may die of it."""
    waiting = deque(jobs)
    while waiting:
        with _workers(prepare, 1, load) as one:
            while waiting:
                job = waiting.popleft()
                try:
                    result: R = _submitted(one, job).result()
                except BrokenExecutor:
                    yield job, None
                    break
                yield job, result


def _first(begun: deque[tuple[J, Future[R]]]) -> tuple[J, R]:
    """The first job with its result, taken out once that is there."""
    job, future = begun[0]
    result = future.result()
    begun.popleft()
    return job, result


_here: list[Callable[[Any], Any]] = []
"""What does the jobs in a worker process."""


def _begin(prepare: Prepare[Any, Any]) -> None:
    """Make ready, once in each worker; and end with the process that started it, come what may."""
    end_with_parent()
    _here[:] = [prepare()]


def end_with_parent() -> None:
    """Have this process end with the one that started it, and leave Ctrl-C to that one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()

    def wait() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


def _done_here(job: Any) -> Any:
    return _here[0](job)


@contextlib.contextmanager
def _workers(
    prepare: Prepare[J, R], count: int, load: Callable[[], object] | None
) -> Iterator[ProcessPoolExecutor]:
    """Leave none behind: what has not begun is dropped, what has begun is waited for."""
    copies = load is not None and _has_one_thread()
    if load is not None and copies:
        load()
    context = get_context("fork" if copies else "spawn")
    workers = ProcessPoolExecutor(count, context, _begin, (prepare,))
    try:
        yield workers
    finally:
        workers.shutdown(wait=True, cancel_futures=True)


def _has_one_thread() -> bool:
    """Whether this process is known to have one thread only, libraries' own counted."""
    try:
        return len([*Path("/proc/self/task").iterdir()]) == 1
    except OSError:
        return False


def _submitted(workers: ProcessPoolExecutor, job: Any) -> Future[Any]:
    """Hand a job over, for which a worker may be started.

    It starts out without minding Ctrl-C. Only this process is to be stopped by it, once the job is
    handed over: it drops what is left, and the workers end in good order.

    Raises:
        BrokenExecutor: a worker has died.
    """
    if sys.platform == "win32":
        return workers.submit(_done_here, job)
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return workers.submit(_done_here, job)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
