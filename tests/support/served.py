"""The page as the command serves it: a server with its processes, and how to end some of them."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2 as httpx
from attrs import frozen

_HEADERS = {"sec-fetch-site": "same-origin"}


@frozen
class Served:
    """A server that runs.

    Attributes:
        process: the command.
        address: of the page.
        log: what the command says.
    """

    process: subprocess.Popen[bytes]
    address: str
    log: Path

    def client(self) -> httpx.Client:
        """A browser without JavaScript."""
        return httpx.Client(base_url=self.address, headers=_HEADERS, timeout=60)

    def processes(self) -> list[int]:
        """Every process that the command has started, and theirs."""
        return descendants(self.process.pid)

    def workers(self) -> list[int]:
        """The processes that answer: started by the one that has the modules loaded."""
        own = children(self.process.pid)
        return [worker for one in own for worker in children(one)]


def children(pid: int) -> list[int]:
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            state, parent = (folder / "stat").read_text().rpartition(")")[2].split()[:2]
            if int(parent) == pid and state != "Z":
                found.append(int(folder.name))
    return found


def descendants(pid: int) -> list[int]:
    return [one for child in children(pid) for one in (child, *descendants(child))]


def gone(pids: list[int]) -> bool:
    """None of the processes runs any more."""
    for pid in pids:
        with contextlib.suppress(OSError):
            told = Path(f"/proc/{pid}/stat").read_text()
            if told.rpartition(")")[2].split()[0] != "Z":
                return False
    return True


def waited(seconds: float, happened: object, *given: object, every: float = 0.02) -> bool:
    """Whether something happens within so many seconds."""
    assert callable(happened)
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if happened(*given):
            return True
        time.sleep(every)
    return False


@contextlib.contextmanager
def served(folder: Path, *options: str) -> Iterator[Served]:
    """The command with these options, ended at the end."""
    command = [sys.executable, "-m", "configurator", "serve", "--port", "0"]
    command += ["--register", str(folder / "register.sqlite"), *options]
    log = folder / "served.log"
    with log.open("wb") as told:
        process = subprocess.Popen(command, stdout=told, stderr=told, cwd=folder)
    try:
        assert waited(60, lambda: "http" in log.read_text() or process.poll() is not None)
        found = re.search(r"https?://\S+", log.read_text())
        assert found is not None, log.read_text()
        yield Served(process, found.group(0), log)
    finally:
        if process.poll() is None:
            left = descendants(process.pid)
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
            for one in left:
                with contextlib.suppress(OSError):
                    os.kill(one, signal.SIGKILL)
