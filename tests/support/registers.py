"""What a register is given in tests: a day, a clock that they set, papers that take no time."""

from __future__ import annotations

import datetime as dt

from configurator import Quote

DAY = dt.date(2026, 8, 3)


class Clock:
    """Tells the time that a test sets."""

    def __init__(self) -> None:
        self.now = dt.datetime(2026, 8, 3, 9, 30, tzinfo=dt.UTC)

    def __call__(self) -> dt.datetime:
        return self.now


def plain_paper(quote: Quote) -> bytes:
    """What stands for a PDF where its making is not the matter."""
    return f"%PDF quote {quote.number}, revision {quote.revision}".encode()
