r"""The one place where text leaves for a terminal: control characters are made visible.

File names, arguments and what a customer's file says may hold sequences that move the cursor,
rename the window or hide text. What leaves the program shows such a character as ``\u001b``, as
JSON escapes it, so that an answer in JSON stays what it was.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import Any, TextIO, cast

_CONTROL = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]"
)
"""Controls other than tab and line feed, and marks that turn the direction of reading."""


def visible(text: str) -> str:
    """The text with each control character written as its code."""
    return _CONTROL.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


@contextmanager
def visible_streams() -> Iterator[None]:
    """Standard output and standard error, showing control characters, until the end of it."""
    out, err = (
        stream and cast("TextIO", _Visible(stream))  # None where it is closed
        for stream in (sys.stdout, sys.stderr)
    )
    with redirect_stdout(out), redirect_stderr(err):
        yield


class _Visible:
    """A stream that shows control characters; in all else the stream that it is made of.

    Attributes:
        rich_proxied_file: where Rich writes in its place: its own sequences set colours, and its
            console (:mod:`configurator.render.text`) shows those of others.
    """

    def __init__(self, stream: TextIO) -> None:
        self.rich_proxied_file = stream

    def write(self, text: str) -> int:
        return self.rich_proxied_file.write(visible(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self.rich_proxied_file, name)
