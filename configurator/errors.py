"""What can be wrong, as values with a place, and the exceptions that carry them.

    ConfiguratorError
    ├── DataError           a catalogue or selection is wrong: fix the data
    │   ├── CatalogueError
    │   ├── SelectionError
    │   └── SheetError      a price list, or the map that says how to read it
    ├── MoneyError          an amount or a currency that cannot be used as asked
    ├── WrongArgument       an argument of a wrong kind; a TypeError too
    ├── FileError           a file that cannot be read or written
    ├── SearchLimit         a search stopped without an answer, which proves nothing
    ├── RegisterError       no such quote in the register, or it cannot go where it was sent
    ├── QuoteRefused        findings stop the quote (in findings.py): fix the selection
    └── MissingLibrary      the machine lacks what the PDF renderer needs

Rules for this module: it imports nothing of the package, and a problem is a value;
exceptions are only for "cannot go on".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

from attrs import field, frozen


def _brief(kind: object, text: str) -> str:
    """A value or an error by its class and what it says, in at most 200 characters."""
    return cut(f"{type(kind).__name__}({text!r})")


def cut(text: str) -> str:
    """What a value is shown as, in at most 200 characters."""
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 4]}...)"


def whole(number: int) -> str:
    """A whole number; of one that is too long to be read, how long it is."""
    bits = number.bit_length()
    return str(number) if bits <= _MOST_BITS else f"<a number of {bits} bits>"


def as_given(value: object) -> str:
    """A value that was given, for a message, in about 60 characters."""
    try:
        text = whole(value) if type(value) is int else repr(value)
    except (RecursionError, ValueError):  # such as a list of a number of too many digits
        text = "<too long to show>"
    return f"the {type(value).__name__} {text if len(text) <= 60 else text[:57] + '...'}"


_LONGEST, _MOST_BITS = 200, 300


class _InFolder:
    """Room for the folder of a place, which is no part of its value."""

    __slots__ = ("_folder",)


@frozen(order=True, repr=False)
class Location(_InFolder):
    """A place in a file; line and column count from 1.

    Line 0 is no line: ``file`` then names what was given instead, such as ``--pick a=b``. Column 0
    is no column: the whole line is meant.

    Of a file that was named from the root of the machine, ``file`` is the name alone, or what
    stands after ``//`` in it. Its folder is known to this process, which tells it in messages; it
    goes with nothing that is written or pickled.
    """

    file: str
    line: int
    column: int

    def __attrs_post_init__(self) -> None:
        folder, name = _from_the_root(self.file)
        object.__setattr__(self, "_folder", folder)
        if folder:
            object.__setattr__(self, "file", name)

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._known == other._known

    def __hash__(self) -> int:
        return hash(self._known)

    @property
    def _known(self) -> tuple[str, str, int, int]:
        return self.folder, self.file, self.line, self.column

    @property
    def folder(self) -> str:
        """The folder that the file was named in from the root, as far as this process knows."""
        return getattr(self, "_folder", "")

    @property
    def path(self) -> str:
        """The file as it was named, as far as this process knows."""
        return f"{self.folder}{self.file}"

    @property
    def told(self) -> str:
        """The place as a message has it."""
        return f"{self.folder}{self}"

    def __str__(self) -> str:
        parts = (self.file, self.line and whole(self.line), self.column and whole(self.column))
        return ":".join(part for part in parts if part)

    def __repr__(self) -> str:
        return _brief(self, str(self))


@lru_cache(maxsize=1_000)
def _from_the_root(file: str) -> tuple[str, str]:
    """The folder of a file that is named from the root of a machine, and the file's name."""
    folder, mark, name = file.partition("//")
    if folder and mark:
        return f"{folder}/", name
    found = re.fullmatch(r"((?:[A-Za-z]:)?[/\\](?:.*[/\\])?)(.*)", file, re.DOTALL)
    return (found[1], found[2]) if found else ("", file)


NOWHERE = Location("", 0, 0)
"""The place of a value that was made in Python and never stood in a file."""


@frozen(repr=False)
class Problem:
    """One thing wrong with a catalogue or selection.

    Attributes:
        at: where it stands.
        sentence: what is wrong, in one sentence without a full stop.
        code: a short stable name, for tests and for looking it up.
        hint: what to do about it, or empty.
        level: ``error`` (the file cannot be used) or ``caution`` (it can).
        is_on_yaml: whether the hint is on how YAML is written, and of no use to who sent JSON.
    """

    at: Location
    sentence: str
    code: str
    hint: str = ""
    level: str = "error"
    is_on_yaml: bool = field(default=False, repr=False)

    def __str__(self) -> str:
        return self._as_text(self.at.told)

    def __repr__(self) -> str:
        return _brief(self, self._as_text(str(self.at)))

    def _as_text(self, at: str) -> str:
        line = f"{at}: {self.level}: {self.sentence} ({self.code})"
        return f"{line}\n    hint: {self.hint}" if self.hint else line


def by_place(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems in reading order, each once."""
    each = dict.fromkeys(problems)
    return tuple(
        sorted(each, key=lambda p: (p.at.path, p.at.line, p.at.column, p.code, p.sentence))
    )


def listed(problems: Sequence[Problem]) -> str:
    """The problems as text, a line or two for each; past the hundredth they are only counted."""
    lines = [str(problem) for problem in problems[:_MOST_LISTED]]
    more = len(problems) - len(lines)
    if more:
        lines.append(f"and {more} more {'problem' if more == 1 else 'problems'}: fix these first")
    return "\n".join(lines)


_MOST_LISTED = 100


class ConfiguratorError(Exception):
    """Root of everything this package raises on purpose."""

    def __repr__(self) -> str:
        return _brief(self, str(self))


class DataError(ConfiguratorError):
    """A catalogue or selection is wrong.

    Attributes:
        problems: every problem found, sorted by place.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = by_place(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        return listed(self.problems)


class CatalogueError(DataError):
    """The catalogue cannot be used as it is."""


class SelectionError(DataError):
    """The selection cannot be used as it is."""


class SheetError(DataError):
    """A price list, or the map that says how to read it, cannot be used as it is."""


class MoneyError(ConfiguratorError):
    """Two currencies in one sum, an unknown currency, or an amount it cannot hold."""


class WrongArgument(ConfiguratorError, TypeError):
    """An argument is of a wrong kind; the message names it, what it is, and what to give."""


class FileError(ConfiguratorError):
    """A file cannot be read or written; the message says which and why."""


def unreadable_folder(folder: object, error: OSError) -> FileError:
    """What is said of a folder that cannot be read."""
    if isinstance(error, NotADirectoryError):
        return FileError(f"{folder}: it is a file; give the folder that holds it")
    told = f"{folder}: cannot read the folder: {error.strerror}"
    return FileError(f"{told}; check its name and who may read it")


class NoRegister(FileError):
    """There is no register yet."""


class RegisterError(ConfiguratorError):
    """The register has no such quote, or the quote cannot go where it was sent."""


class NoSuchQuote(RegisterError):
    """The register has no such quote, or no such revision of it."""


class AlreadyIssued(RegisterError):
    """A quote was issued for the request before, and it was another package or has changed since.

    Attributes:
        number: of that quote.
    """

    def __init__(self, told: str, number: str) -> None:
        self.number = number
        super().__init__(told)


class NoCustomer(RegisterError):
    """A quote that is to be issued names no customer."""


class SearchLimit(ConfiguratorError):
    """A search stopped before it had an answer; nothing follows from that.

    Attributes:
        advice: what to ask instead, where somebody knows; else empty.
    """

    advice: str = ""


class MissingLibrary(ConfiguratorError):
    """The PDF renderer lacks system libraries; the message names the line that installs them."""


_LONGEST_WORD, _LONGEST_LINE = 300, 2_000


def shortened(text: str) -> str:
    """A message with what nobody reads cut out of it: words and lines that do not end."""
    text = re.sub(rf"\S{{{_LONGEST_WORD},}}", lambda word: f"{word.group()[:60]}...", text)
    lines = (
        line if len(line) <= _LONGEST_LINE else f"{line[:_LONGEST_LINE]}..."
        for line in text.split("\n")
    )
    return "\n".join(lines)
