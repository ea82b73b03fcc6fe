"""A worker process: the shop, one warm engine, one thread.

A worker does a little for each request in turn, what is most urgent first, and looks between two
pieces whether there is another request or whether one has been given up. It tells of every piece,
even where there is nothing to show of it.
"""

from __future__ import annotations

import datetime as dt
import os
import pickle
import sys
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

from attrs import evolve, field, mutable

from configurator.catalogue.model import Catalogue
from configurator.errors import CatalogueError, ConfiguratorError
from configurator.machine.collector import collect_between, collect_if_due
from configurator.machine.workers import end_with_parent
from configurator.register.register import Register
from configurator.render.look import look_of, look_problems
from configurator.shop import Shop, open_shop
from configurator.web.answers import answered
from configurator.web.counter import Counter
from configurator.web.messages import (
    FACTS,
    FAILED,
    READY,
    SHARED,
    PageRequest,
    Pieces,
    Posting,
    for_sellers,
)
from configurator.words import joined

_PAUSE = 0.2
"""Seconds in which nothing is asked, after which a worker has time to tidy up its memory."""


def read_again(link: Connection, file: str, posting: Posting) -> None:
    """Read a catalogue that has changed, and send it, or its errors line by line.

    It is sent when its first page could be made.
    """
    try:
        shop = open_shop(Path(file), today=_today())
        _require_look(shop, posting.language)
        read = evolve(posting, catalogue=for_sellers(shop))
        _warm(_counters(read)(), patient=False)
        link.send(read.catalogue)
    except CatalogueError as error:
        link.send(tuple(joined([one.at.told, one.sentence], ": ") for one in error.problems))
    except ConfiguratorError as error:
        link.send((str(error),))


def _require_look(shop: Shop, language: str | None) -> None:
    problems = [one for one in look_problems(shop.catalogue.shop) if one.level == "error"]
    if problems:
        raise CatalogueError(problems)
    look_of(shop.catalogue.shop, None, language)


def work(link: Connection, posting: Posting) -> None:
    """Answer what comes through the link until its other end is gone."""
    end_with_parent()
    counter = _counters(posting)
    _warm(counter(), posting.patient)
    collect_between()
    desk = _Desk(link, counter)
    link.send((READY, None))
    try:
        while True:
            desk.receive()
            desk.advance()
    except (EOFError, OSError):
        return


def _today() -> dt.date:
    return dt.date.today()  # noqa: DTZ011 (the day it is where the shop is)


def _counters(posting: Posting) -> Callable[[], Counter]:
    """The shop with the prices of the day it is: another one after midnight."""
    catalogue: Catalogue = pickle.loads(posting.catalogue)
    known: dict[dt.date, Counter] = {}

    def counter() -> Counter:
        day = _today()
        if day not in known:
            shop = Shop(catalogue).on_nearest(day)

            def register() -> Register:
                return shop.register(posting.register, language=posting.language)

            known.clear()
            known[day] = Counter(shop, register, _today, posting.language)
        return known[day]

    return counter


def _warm(counter: Counter, patient: bool) -> None:
    """What the first seller would have to wait for."""
    for one in (PageRequest("start"), PageRequest("step", form={"state": _beginning(counter)})):
        for _ in answered(counter, one):
            pass
    if patient:
        import configurator.register.opening
        import configurator.render.pdf  # noqa: F401

        if hasattr(os, "nice"):
            os.nice(5)


def _beginning(counter: Counter) -> str:
    from configurator.web.state import FormState, written

    return FormState(written(counter.shop.build().selection)).packed()


@mutable
class _WorkerJob:
    """A request in work."""

    number: int
    pieces: Pieces
    next: int = FACTS


@mutable
class _Desk:
    """The requests in work, in the order in which they came."""

    link: Connection
    counter: Callable[[], Counter]
    jobs: dict[int, _WorkerJob] = field(factory=dict)

    def receive(self) -> None:
        """Take what has come; wait for it where there is nothing to do."""
        if not self.jobs and not self.link.poll(_PAUSE):
            collect_if_due()
        while self.link.poll(0 if self.jobs else None):
            number, asked = self.link.recv()
            if number == SHARED:
                self.counter().learn(asked)
            elif asked is None:
                given_up = self.jobs.pop(number, None)
                if given_up is not None:
                    given_up.pieces.close()
                    self.link.send((number, None))
            else:
                self.jobs[number] = _WorkerJob(number, answered(self.counter(), asked))

    def advance(self) -> None:
        """Do one piece of the most urgent request, the newest first among equals."""
        job = min(self.jobs.values(), key=lambda job: (job.next, -job.number))
        try:
            piece = next(job.pieces, None)
        except Exception:
            traceback.print_exc(file=sys.stderr)
            del self.jobs[job.number]
            self.link.send((job.number, FAILED))
            return
        if piece is None:
            del self.jobs[job.number]
            self.link.send((job.number, None))
            return
        job.next = piece.next
        if shared := self.counter().shared():
            self.link.send((SHARED, shared))
        self.link.send((job.number, b"" if piece.of is None else piece.of))
