"""The same work on a cluster that is already running, by its address (dask.distributed).

What is needed to do it, the catalogue above all, goes to each worker once, also to one that comes
later. A worker that dies costs nothing but time: its jobs are done by another one.
"""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from importlib.metadata import version
from typing import Any
from uuid import uuid4

from configurator.errors import FileError, MissingLibrary
from configurator.machine.workers import Prepare
from configurator.requoting.run import Done, Part, Share

try:
    from distributed import Client, Future, KilledWorker, WorkerPlugin, get_worker
except ModuleNotFoundError:
    raise MissingLibrary(
        "the library for clusters is missing: pip install tray-canopy-configurator[cluster]"
    ) from None

_PATIENCE = 10
"""Seconds in which a scheduler has to answer, and one of its workers has to be there."""

_AHEAD = 4
"""Jobs for each thread of the cluster that are begun or done before their turn has come."""

_PACKAGE = "tray-canopy-configurator"


class _Client(Client):
    """One that is closed where it is used, and leaves a failed beginning behind in silence."""

    def __del__(self) -> None:
        pass


class _Ready(WorkerPlugin):
    """Makes a worker ready."""

    def __init__(self, prepare: Prepare[Part, Done]) -> None:
        self.name = f"requote-{uuid4().hex}"
        self._prepare = prepare
        self.do: Callable[[Part], Done] | None = None

    def setup(self, worker: Any) -> None:  # noqa: ARG002
        """Make ready, once in each worker."""
        self.do = self._prepare()


def _done(name: str, part: Part) -> Done:
    ready = get_worker().plugins[name]
    assert isinstance(ready, _Ready)
    assert ready.do is not None
    return ready.do(part)


def on_cluster(address: str) -> Share:
    """Shares the work among the workers of a cluster.

    Raises:
        FileError: nobody answers there, there are no workers, or they have another version.
    """
    with _told(address):
        kind: Any = _Client  # it has no types
        client = kind(address, timeout=_PATIENCE, set_as_default=False)
    try:
        with _told(address):
            if not client.scheduler_info(n_workers=-1)["workers"]:
                client.wait_for_workers(1, timeout=_PATIENCE)
            versions = client.run(version, _PACKAGE)
    except BaseException:
        client.close()
        raise
    for worker, has in versions.items():
        if has != version(_PACKAGE):
            client.close()
            own = version(_PACKAGE)
            raise FileError(
                f"{address}: worker {worker} has version {has} of {_PACKAGE}, not {own}"
            )
    return partial(_shared, client, address)


def _shared(
    client: Any, address: str, prepare: Prepare[Part, Done], parts: Iterable[Part]
) -> Iterator[tuple[Part, Done | None]]:
    ready = _Ready(prepare)
    begun: deque[tuple[Part, Future[Done]]] = deque()

    def first() -> tuple[Part, Done | None]:
        part, future = begun.popleft()
        try:
            with _told(address):
                return part, future.result()
        except KilledWorker:
            return part, None

    quiet = ExitStack()
    quiet.enter_context(_quiet())
    try:
        with _told(address):
            client.register_plugin(ready)
            workers = client.scheduler_info(n_workers=-1)["workers"].values()
        most = _AHEAD * max(1, sum(worker["nthreads"] for worker in workers))
        for part in parts:
            with _told(address):
                begun.append((part, client.submit(_done, ready.name, part, pure=False)))
            if len(begun) >= most:
                yield first()
        while begun:
            yield first()
        with _told(address):
            client.unregister_worker_plugin(ready.name)
    finally:
        client.close()
        quiet.close()


@contextmanager
def _told(address: str) -> Iterator[None]:
    """Turns what the cluster raises into one sentence."""
    try:
        with _quiet():
            yield
    except KilledWorker:
        raise
    except (ModuleNotFoundError, AttributeError) as error:
        raise FileError(
            f"{address}: its workers cannot do it: {error}; install {_PACKAGE} there too"
        ) from None
    except Exception as error:  # what goes wrong with a network has no common type
        said = str(error).strip().splitlines() or [type(error).__name__]
        raise FileError(f"{address}: the cluster does not answer: {said[0]}") from None


@contextmanager
def _quiet() -> Iterator[None]:
    """Keeps the library from writing on standard error what is said as a sentence, or mended."""
    logs = [logging.getLogger(name) for name in list(logging.root.manager.loggerDict)]
    loud = [log for log in logs if log.name.startswith("distributed") and not log.disabled]
    try:
        for log in loud:
            log.disabled = True
        yield
    finally:
        for log in loud:
            log.disabled = False
