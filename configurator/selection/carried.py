"""What a PDF of ours carries, so that it can be opened again: agreed by its writer and its reader.

Files are attached as PDF/A-3 has it. Their SHA-256 digests are next to them, where a PDF keeps the
data of the program that made it (ISO 32000-1, 14.5, page-piece dictionaries). They tell a file that
was changed by accident from one that was not; they are no seal, as whoever changes a file on
purpose can write a new digest too.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping

from attrs import frozen

MOST_BYTES = 30_000_000
"""Largest PDF that is opened; papers have about a hundredth of that."""

OWNER = "TrayCanopyConfigurator"
"""Whose data they are."""

DIGESTS = "Digests"
"""Key under which file names and digests are in turn."""

SELECTION = "selection"
"""What the file name of an attached selection begins with."""


QUOTE = "quote.json"
"""The file name of an attached quote."""


@frozen
class Attachment:
    """A file inside a PDF.

    Attributes:
        name: its file name.
        content: its bytes.
        description: what a reader of the PDF reads about it.
        relationship: ``Source`` for what the paper was made from, ``Data`` for what it shows
            (ISO 19005-3, annex E).
    """

    name: str
    content: bytes
    description: str
    relationship: str


@frozen
class Carried:
    """The files inside a PDF, in the order of their names, and the day on which they were made."""

    files: tuple[Attachment, ...]
    day: dt.date


def selection_name(letter: str = "") -> str:
    """The file name of the only selection attached, or of the one with that letter."""
    return f"{SELECTION}-{letter}.json" if letter else f"{SELECTION}.json"


def is_selection(name: str) -> bool:
    """Whether the attached file of that name is a selection."""
    return name == selection_name() or name.startswith(f"{SELECTION}-")


def digest(content: bytes) -> str:
    """The SHA-256 digest, in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def altered(found: Mapping[str, bytes], digests: Mapping[str, str]) -> tuple[str, ...]:
    """Names of attached files that are missing or not what was attached, in their order."""
    return tuple(
        name for name, written in digests.items() if digest(found.get(name, b"")) != written
    )
