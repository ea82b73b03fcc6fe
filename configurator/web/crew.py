"""The worker processes, as the server sees them: started, watched, replaced and ended.

Some answer quickly, all requests in turn. The patient ones answer one request at a time, which may
take long, and are ended when nobody waits for it any more. One of these is always kept free.
Whoever dies is replaced, and what it was asked is asked again of another: a page's form holds
everything.

A worker tells of every piece of its work. A quick one that is long over one lets others wait: what
it has not begun to answer is asked of a patient one that is free. Whoever has been silent for too
long is taken for hung, and ended.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import time
from collections.abc import AsyncGenerator
from contextlib import aclosing
from functools import lru_cache, partial
from itertools import count
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, TypeAlias

from attrs import evolve, field, frozen, mutable

from configurator.errors import FileError
from configurator.web.messages import FAILED, READY, SHARED, Answer, PageRequest, Posting

_MOST_PATIENT = 4
"""How many requests that may take long are answered at once."""

_WRITES = ("issue", "move", "api-issue")
"""What is not asked twice, and goes on when nobody waits."""

_LONGEST = ("ways", "settle")
"""What leaves a patient worker to others: a reason must not wait for the fixes of other sellers."""

_ATTEMPTS = 3
_LATE = 0.15
"""Seconds over one piece of work after which others do not wait for a quick worker."""

_LOOKS = 1.0
"""Seconds between two looks at the catalogue's files."""


Stamps: TypeAlias = tuple[tuple[str, int, int], ...]
"""The times and sizes of a catalogue's files."""


class Lost(Exception):
    """The worker has ended before it had answered."""


class _Late(Exception):
    """The worker is long over something else, and there is another one."""


def processes() -> Any:
    """How worker processes are started: from one that has all modules loaded, where there is."""
    try:
        context = multiprocessing.get_context("forkserver")
    except ValueError:
        return multiprocessing.get_context("spawn")
    context.set_forkserver_preload(["configurator.web.worker"])
    return context


def prepare() -> None:
    """Load the modules of the workers meanwhile."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        from multiprocessing import forkserver

        processes()
        forkserver.ensure_running()


def _work(link: Connection, posting: Posting) -> None:
    from configurator.web.worker import work

    work(link, posting)


def _read_again(link: Connection, file: str, posting: Posting) -> None:
    from configurator.web.worker import read_again

    read_again(link, file, posting)


@frozen
class _CrewJob:
    """A request in work: what comes of it, whether it writes, and how long a piece may take."""

    ready: asyncio.Queue[Any]
    writes: bool
    longest: float


@mutable(eq=False)
class _Hand:
    """A worker process.

    Attributes:
        heard: when it was started, last told of its work, or got some to do.
    """

    process: BaseProcess
    link: Connection
    posting: Posting
    ready: bool = False
    retired: bool = False
    ended: bool = False
    heard: float = field(factory=time.monotonic)
    jobs: dict[int, _CrewJob] = field(factory=dict)
    sending: asyncio.Lock = field(factory=asyncio.Lock)

    def silent(self, seconds: float) -> bool:
        """Whether it has told nothing of its work, or of its start, for longer."""
        at_work = bool(self.jobs) or not self.ready
        return at_work and time.monotonic() - self.heard > seconds

    async def send(self, message: tuple[int, PageRequest | None] | tuple[str, bytes]) -> None:
        """Send, without waiting for it here."""
        async with self.sending:
            try:
                await asyncio.get_running_loop().run_in_executor(None, self.link.send, message)
            except OSError:
                raise Lost from None


@mutable(eq=False)
class Crew:
    """The workers of a shop.

    Attributes:
        posting: what they are started with.
        file: the catalogue's file or folder; None for the shipped one.
        known: the stamps of its files before it was read.
        quick: how many answer all requests in turn.
        silence: seconds over one piece of a step after which a worker is taken for hung.
        patience: the same of what may take long, and of a worker that starts.
        remarks: the errors of a catalogue that has changed, line by line.
    """

    posting: Posting
    file: str | None = None
    known: Stamps = ()
    quick: int = 2
    silence: float = 20.0
    patience: float = 300.0
    remarks: tuple[str, ...] = ()
    _hands: list[_Hand] = field(factory=list)
    _numbers: Any = field(factory=lambda: count(1))
    _changed: asyncio.Event = field(factory=asyncio.Event)
    _tasks: set[asyncio.Task[None]] = field(factory=set)
    _early: int = 0
    _ended: bool = False

    async def start(self) -> None:
        """Start the workers, and watch the catalogue."""
        for _ in range(self.quick):
            self._start(self.posting)
        self._task(self._start_patient())
        self._task(self._end_hung())
        if self.file is not None:
            self._task(self._watch(self.file))

    async def _start_patient(self) -> None:
        while not any(hand.ready for hand in self._hands):
            self._changed.clear()
            await self._changed.wait()
        self._start(evolve(self.posting, patient=True))

    def leave(self) -> None:
        """Answer nothing more, but for what is being written."""
        self._ended = True
        for hand in self._hands:
            for job in hand.jobs.values():
                if not job.writes:
                    job.ready.put_nowait(Lost())

    def stop(self) -> None:
        """End every process now."""
        self._ended = True
        for task in tuple(self._tasks):
            task.cancel()
        for hand in self._hands:
            hand.process.kill()
        for hand in self._hands:
            hand.process.join(1)

    async def ask(
        self, asked: PageRequest, patient: bool, seat: str
    ) -> AsyncGenerator[Answer | bytes, None]:
        """The answer in pieces, of a worker that is free for it."""
        begun = False
        for _ in range(_ATTEMPTS):
            try:
                hand = await self._free(patient, seat, 2 if asked.what in _LONGEST else 1)
                async with aclosing(self._asked(hand, asked)) as pieces:
                    async for piece in pieces:
                        again = begun and isinstance(piece, Answer)
                        yield piece.content if again and isinstance(piece, Answer) else piece
                        begun = True
                return
            except _Late:
                patient = True
            except Lost:
                if asked.what in _WRITES or self._ended:
                    break
        if not begun and asked.what != "lost" and not self._ended:
            path = {"what": asked.what}
            async with aclosing(
                self.ask(evolve(asked, what="lost", path=path), False, seat)
            ) as pieces:
                async for piece in pieces:
                    yield piece
        elif not begun:
            yield Answer(b"no answer; try again", 503, "text/plain")

    async def _asked(self, hand: _Hand, asked: PageRequest) -> AsyncGenerator[Answer | bytes, None]:
        slow = hand.posting.patient and asked.what != "step"
        longest = self.patience if slow else self.silence
        number, job = next(self._numbers), _CrewJob(asyncio.Queue(), asked.what in _WRITES, longest)
        if not hand.jobs:
            hand.heard = time.monotonic()
        hand.jobs[number] = job
        done = begun = False
        try:
            await hand.send((number, asked))
            while (piece := await self._next(hand, job, begun)) is not None:
                if isinstance(piece, Lost):
                    raise piece
                yield piece
                begun = True
            done = True
        except Lost:
            done = True
            raise
        finally:
            if not (done or job.writes):
                if hand.posting.patient and not (begun and asked.what == "step"):
                    self._end(hand)
                else:
                    self._task(self._tell(hand, (number, None)))
            self._freed(hand)

    async def _next(self, hand: _Hand, job: _CrewJob, begun: bool) -> Any:
        """The next piece.

        Raises:
            _Late: another worker would answer sooner.
        """
        while not (begun or hand.posting.patient):
            with contextlib.suppress(TimeoutError):
                return await asyncio.wait_for(job.ready.get(), _LATE)
            spare = (one for one in self._at_work(patient=True) if one.ready and not one.jobs)
            if hand.silent(_LATE) and any(spare):
                raise _Late
        return await job.ready.get()

    def _share(self, by: _Hand, settled: bytes) -> None:
        """Tell the others of its catalogue what one of them has settled."""
        for hand in self._hands:
            alike = hand.posting.catalogue == by.posting.catalogue
            if alike and hand.ready and not hand.ended and hand is not by:
                self._task(self._tell(hand, (SHARED, settled)))

    async def _tell(self, hand: _Hand, message: tuple[int, None] | tuple[str, bytes]) -> None:
        with contextlib.suppress(Lost):
            await hand.send(message)

    async def _free(self, patient: bool, seat: str, spare: int) -> _Hand:
        """A worker that can take a request: of patient ones, when so many are free."""
        while True:
            mine = self._at_work(patient)
            able = [hand for hand in mine if hand.ready]
            if patient:
                able = [hand for hand in able if not hand.jobs]
                if len(able) < 2 and len(mine) < _MOST_PATIENT and all(one.ready for one in mine):
                    self._start(evolve(self.posting, patient=True))
                able = able if len(able) >= spare else []
            else:
                able = [hand for hand in able if not hand.silent(_LATE)] or able
            if able:
                least = min(len(hand.jobs) for hand in able)
                usual = able[hash(seat) % len(able)]
                return usual if len(usual.jobs) == least else min(able, key=lambda h: len(h.jobs))
            if self._early > _ATTEMPTS and not able:
                raise Lost
            self._changed.clear()
            await self._changed.wait()

    def _at_work(self, patient: bool) -> list[_Hand]:
        return [
            hand
            for hand in self._hands
            if hand.posting.patient == patient and not hand.retired and not hand.ended
        ]

    def _start(self, posting: Posting) -> None:
        context = processes()
        ours, theirs = context.Pipe()
        process = context.Process(target=_work, args=(theirs, posting), daemon=True)
        process.start()
        theirs.close()
        hand = _Hand(process, ours, posting)
        self._hands.append(hand)
        asyncio.get_running_loop().add_reader(ours.fileno(), partial(self._receive, hand))

    def _receive(self, hand: _Hand) -> None:
        try:
            number, piece = hand.link.recv()
        except (EOFError, OSError):
            self._died(hand)
            return
        if number == READY:
            hand.ready, self._early = True, 0
            self._changed.set()
            return
        hand.heard = time.monotonic()
        if number == SHARED:
            self._share(hand, piece)
        elif number in hand.jobs and piece != b"":
            hand.jobs[number].ready.put_nowait(Lost() if piece == FAILED else piece)
            if piece in (None, FAILED):
                hand.jobs.pop(number)
                self._freed(hand)

    def _freed(self, hand: _Hand) -> None:
        if hand.retired and not hand.jobs:
            self._end(hand)
        self._changed.set()

    def _end(self, hand: _Hand) -> None:
        hand.ended = True
        hand.process.kill()

    def _died(self, hand: _Hand) -> None:
        """Replace a worker, and tell those who wait for it."""
        asyncio.get_running_loop().remove_reader(hand.link.fileno())
        hand.link.close()
        hand.process.join(0)
        self._hands.remove(hand)
        for job in hand.jobs.values():
            job.ready.put_nowait(Lost())
        hand.jobs.clear()
        wanted = 1 if hand.posting.patient else self.quick
        short = len(self._at_work(hand.posting.patient)) < wanted
        if short and not self._ended and not hand.retired:
            if not hand.ready:
                self._early += 1
            self._task(self._replace(evolve(self.posting, patient=hand.posting.patient)))
        self._changed.set()

    async def _end_hung(self) -> None:
        """End whoever tells nothing for too long: it is replaced as if it had died."""
        while True:
            await asyncio.sleep(min(1.0, self.silence / 4))
            for hand in self._hands:
                longest = min((job.longest for job in hand.jobs.values()), default=self.patience)
                if not hand.ended and hand.silent(longest):
                    self._end(hand)

    async def _replace(self, posting: Posting) -> None:
        if self._early:
            await asyncio.sleep(min(5.0, 0.5 * self._early))
        self._start(posting)

    def _task(self, work: Any) -> None:
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _watch(self, file: str) -> None:
        """Read the catalogue again whenever a file of it has changed."""
        while True:
            await asyncio.sleep(_LOOKS)
            now = await asyncio.get_running_loop().run_in_executor(None, stamps_of, file)
            if now == self.known:
                continue
            self.known = now
            read = await self._read(file)
            if isinstance(read, bytes):
                self.remarks = ()
                self._change(evolve(self.posting, catalogue=read))
            else:
                self.remarks = read

    def _change(self, posting: Posting) -> None:
        """New workers with another catalogue; those before end when they have answered."""
        self.posting = posting
        older = [hand for hand in self._hands if not hand.retired]
        for hand in older:
            self._start(evolve(posting, patient=hand.posting.patient))
        newer = [hand for hand in self._hands if hand not in older]
        self._task(self._relieve(older, newer))

    async def _relieve(self, older: list[_Hand], newer: list[_Hand]) -> None:
        while any(hand in self._hands and not hand.ready for hand in newer):
            self._changed.clear()
            await self._changed.wait()
        for hand in older:
            hand.retired = True
            self._freed(hand)

    async def _read(self, file: str) -> bytes | tuple[str, ...]:
        context = processes()
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(
            target=_read_again, args=(theirs, file, self.posting), daemon=True
        )
        process.start()
        theirs.close()
        try:
            read: bytes | tuple[str, ...] = await asyncio.get_running_loop().run_in_executor(
                None, ours.recv
            )
            return read
        except EOFError:
            return (f"{file}: it could not be read",)
        finally:
            ours.close()
            process.join(1)


def stamps_of(file: str | None) -> Stamps:
    """What is another once a file of the catalogue is; of the shipped one, which has none, nothing.

    Args:
        file: the catalogue's file or folder.
    """
    if file is None:
        return ()
    from configurator.catalogue.folder import opening_file

    try:
        opening = opening_file(Path(file))
    except FileError:
        return ()
    first = _stamps([opening])
    return first + _stamps(_parts(opening, first))


def _stamps(files: list[Path]) -> Stamps:
    found = []
    for one in files:
        with contextlib.suppress(OSError):
            told = one.stat()
            found.append((str(one), told.st_mtime_ns, told.st_size))
    return tuple(found)


@lru_cache(maxsize=4)
def _parts(opening: Path, _: Stamps) -> list[Path]:
    """The other files that the one that opens the catalogue names, as it is now."""
    import yaml

    from configurator.catalogue.folder import named_parts

    try:
        read = yaml.compose(opening.read_text("utf-8"), yaml.CSafeLoader)
    except (OSError, ValueError, yaml.YAMLError):
        return []
    return [opening.parent / name.value for name in named_parts(read)] if read else []
