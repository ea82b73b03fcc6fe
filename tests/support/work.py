"""How much work something is, counted: the same on every machine."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any


def lines_run(what: Callable[[], object]) -> int:
    """How many lines of Python are run, turns of loops within a line counted each."""
    run = 0

    def trace(_frame: FrameType, event: str, _: Any) -> Any:
        nonlocal run
        run += event in ("line", "call")
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        what()
    finally:
        sys.settrace(before)
    return run
