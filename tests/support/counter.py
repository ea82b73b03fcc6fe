"""The page answered in this process: no workers to start, and any clock."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator
from concurrent.futures import ThreadPoolExecutor

from configurator.web.answers import answered
from configurator.web.counter import Counter
from configurator.web.messages import Answer, PageRequest

_THREAD = ThreadPoolExecutor(1)
"""Where all pages of these tests are answered: a shop has an engine for each thread."""


class Here:
    """Answers in one thread with one engine."""

    remarks: tuple[str, ...] = ()

    def __init__(self, counter: Counter) -> None:
        self.counter = counter

    async def ask(
        self, asked: PageRequest, patient: bool, seat: str
    ) -> AsyncGenerator[Answer | bytes, None]:
        """The answer in pieces."""
        del patient, seat
        work, loop = answered(self.counter, asked), asyncio.get_running_loop()
        try:
            while True:
                piece = await loop.run_in_executor(_THREAD, next, work, None)
                if piece is None:
                    return
                if piece.of is not None:
                    yield piece.of
        finally:
            await loop.run_in_executor(_THREAD, work.close)
