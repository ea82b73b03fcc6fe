"""A line for who waits at a terminal for an answer that takes long."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Timer

import click

_SOON = 2.0
"""Seconds after which somebody at a terminal is told that it goes on."""


@contextmanager
def waiting() -> Iterator[None]:
    """Say on standard error, if that is a terminal, that what takes long goes on."""
    if not sys.stderr.isatty():
        yield
        return
    told = Timer(_SOON, click.echo, ["Still working on it. Ctrl+C stops it."], {"err": True})
    told.daemon = True
    told.start()
    try:
        yield
    finally:
        told.cancel()
