"""A journal of finished work, so that a run that was stopped can continue.

It is a small database beside the report, which goes once that is written. Whatever kills the
process, what was written down stays. What is read back becomes nothing but answers of ours.
"""

from __future__ import annotations

import io
import pickle
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from configurator.answers.requote import Requoted
from configurator.errors import FileError

_OURS = 0x7265_7175
"""How a file of ours is known from another database."""

_TABLES = """
CREATE TABLE IF NOT EXISTS done (key BLOB PRIMARY KEY, answer BLOB NOT NULL);
CREATE TABLE IF NOT EXISTS asked (place INTEGER PRIMARY KEY, key BLOB NOT NULL);
DELETE FROM asked;
"""


class Journal:
    """What is done, in the order in which it was asked for this time.

    Args:
        path: of the file; None where nothing is to be gone on with later.

    Raises:
        FileError: it cannot be written, another process writes it, or it is another file.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path
        with self._told():
            self._at = sqlite3.connect("" if path is None else path, timeout=1)
            self._at.execute("PRAGMA locking_mode = EXCLUSIVE")
            self._at.execute("PRAGMA synchronous = NORMAL")
            new = not self._at.execute("PRAGMA schema_version").fetchone()[0]
            if new:
                self._at.execute(f"PRAGMA application_id = {_OURS}")
            elif self._at.execute("PRAGMA application_id").fetchone()[0] != _OURS:
                raise FileError(f"{path}: it is no file of this program's: move it away")
            self._at.executescript(_TABLES)

    def known(self, key: bytes) -> Requoted | None:
        """What became of it, where that is written down."""
        with self._told():
            asked = "SELECT answer FROM done WHERE key = ?"
            found = self._at.execute(asked, (key,)).fetchone()
        return None if found is None else self._read(found[0])

    def write(self, keys: Sequence[bytes], done: Sequence[tuple[bytes, Requoted]]) -> None:
        """Write down that these were asked for next, and what is newly done."""
        answers = [(key, pickle.dumps(answer)) for key, answer in done]
        with self._told(), self._at:
            self._at.executemany("INSERT OR REPLACE INTO done VALUES (?, ?)", answers)
            self._at.executemany("INSERT INTO asked (key) VALUES (?)", [(key,) for key in keys])

    def answers(self) -> Iterator[Requoted]:
        """Everything that was asked for this time, in its order."""
        asked = "SELECT answer FROM asked JOIN done USING (key) ORDER BY place"
        with self._told():
            for (answer,) in self._at.execute(asked):
                yield self._read(answer)

    def close(self, *, finished: bool = False) -> None:
        """Let go of the file; where the work is finished, of what is in it too."""
        self._at.close()
        if finished and self.path is not None:
            self.path.unlink(missing_ok=True)

    def _read(self, content: bytes) -> Requoted:
        try:
            answer = _JournalReader(io.BytesIO(content)).load()
        except Exception:  # what is damaged can raise anything
            answer = None
        if not isinstance(answer, Requoted):
            raise FileError(f"{self.path}: {_SAID['CORRUPT']}")
        return answer

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Turns what the database raises into one sentence."""
        try:
            yield
        except sqlite3.Error as error:
            name = getattr(error, "sqlite_errorname", "").removeprefix("SQLITE_").split("_")[0]
            said = _SAID.get(name, str(error))
            raise FileError(f"{self.path or 'a temporary file'}: {said}") from None


_SAID = {
    "BUSY": "another process is at this report; wait for it, or name another file",
    "FULL": "the disk is full; the same command goes on from there when there is room",
    "CANTOPEN": "cannot write it: look at its folder and who may write there",
    "READONLY": "cannot write it: it is read-only",
    "NOTADB": "it is no file of this program's: move it away",
    "CORRUPT": "it is damaged: delete it and begin anew",
}


class _JournalReader(pickle.Unpickler):
    """Reads answers back, and nothing that does anything: a file can be anybody's."""

    def find_class(self, module: str, name: str) -> Any:
        """The class of a part of an answer.

        Raises:
            UnpicklingError: it is none.
        """
        if name not in _PARTS.get(module, ()):
            raise pickle.UnpicklingError(f"{module}.{name} is no part of an answer")
        return super().find_class(module, name)


_PARTS = {
    "configurator.answers.register": ("ChangedLine",),
    "configurator.answers.requote": ("Requoted",),
    "configurator.catalogue.fields": ("Pick",),
    "configurator.errors": ("Location", "Problem"),
    "configurator.findings": ("Finding",),
    "configurator.money": ("Money",),
    "configurator.words": ("InLanguages", "Text"),
    "datetime": ("date",),
    "decimal": ("Decimal",),
    "fractions": ("Fraction",),
}
"""What answers are made of."""
