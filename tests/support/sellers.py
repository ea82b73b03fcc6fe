"""Sellers at several desks, each a process of its own, for tests of what they do to a register."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import time
from multiprocessing.process import BaseProcess
from pathlib import Path

from configurator import Quote, Register, open_shop
from configurator.register.opening import open_database
from tests.support.paths import CASES

_DAY = dt.date(2026, 8, 3)
_PICKS = {"vehicle": "single-cab", "length": "1500", "height": "850"}
_SELECTION = {
    "format": 1,
    "catalogue": "small",
    "title": "Two shelves",
    "customer": {"name": "Jorun"},
    "picks": _PICKS,
}
_QUOTE = open_shop(CASES / "small.yaml", _DAY).build(_SELECTION).quote("DRAFT", _DAY)
"""A small one: it is written down hundreds of times."""


def _slow_paper(quote: Quote) -> bytes:
    """A paper that takes long enough for a process to be killed while it is made."""
    time.sleep(0.004)
    return f"%PDF {quote.number}".encode()


def sell(address: str, name: str, most: int, told: str) -> None:
    """Issue quotes, and write down each number once it is issued."""
    register = Register(open_database(address), _slow_paper, lambda: dt.datetime.now(dt.UTC))
    with register, Path(told).open("a", buffering=1) as written:
        for _ in range(most):
            written.write(f"{register.issue(_QUOTE, seller=name).number}\n")


def seller(address: str, name: str, most: int, told: Path) -> BaseProcess:
    """A process that sells, ready to be started; all of them share what they import."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    return context.Process(target=sell, args=(address, name, most, str(told)), daemon=True)
