"""What a command run within a test leaves behind, and the day on which it runs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TypeAlias

from attrs import frozen


@frozen
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str


Run: TypeAlias = Callable[..., Ran]
SameAs: TypeAlias = Callable[[str, str], None]

TODAY = dt.date(2026, 8, 3)
"""The day on which commands run within this process."""
