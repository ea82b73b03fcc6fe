"""When Python's cycle collector runs: neither within short-lived work nor while somebody waits."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

_USUAL = 10
"""Runs of the collector over the younger half, after which Python makes a full one."""


@contextmanager
def nothing_collected() -> Iterator[None]:
    """Pause the collector: it goes through all there is each time it looks for cycles.

    Reading a catalogue takes longer per option the larger it is with it, and does not without it;
    open quotes are priced and checked anew 14 % quicker, a quote is drawn 10 % quicker.
    """
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def collect_between() -> None:
    """Leave full runs of the collector to `collect_if_due`.

    A full run takes 0.15 to 0.3 s in a worker of the page once it has made some sales; somebody
    who waits for an answer should not wait for that too. One comes by itself only after ten times
    as much has been made as usual.
    """
    young, middle, _ = gc.get_threshold()
    gc.set_threshold(young, middle, 10 * _USUAL)


def collect_if_due() -> None:
    """Run the collector in full where it would have run by itself, but for `collect_between`."""
    if gc.get_count()[2] > _USUAL:
        gc.collect()
