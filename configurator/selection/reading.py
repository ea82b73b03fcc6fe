"""Selection files to selections: YAML, JSON, or a PDF of ours that carries one."""

from __future__ import annotations

from codecs import getincrementaldecoder
from pathlib import Path
from typing import Any

import attrs
from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, Catalogue
from configurator.catalogue.nodes import Placed
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import (
    MOST_BYTES_OF_PDF,
    as_text,
    picks_from,
    read_bytes,
    structured,
)
from configurator.catalogue.schema_errors import schema_problems
from configurator.errors import (
    ConfiguratorError,
    FileError,
    Location,
    SelectionError,
    unreadable_folder,
)
from configurator.selection.picks import Selection
from configurator.shapes.shipped import linked
from configurator.words import text

_PDF = b"%PDF-"
"""How a PDF begins, whatever its name."""

_PDF_END = b"%%EOF"
"""What stands at a PDF's end."""

_LOOKED_AT = 1_024
"""Bytes within which a PDF may begin: something else before it does not keep it from being read."""


@frozen(eq=False, repr=False)
class OpenedSelection:
    """A selection file as it was read, once: a pipe can be read no second time.

    Attributes:
        path: what was asked for, with the letter of a selection where one was named.
        content: what is in the file.
    """

    path: str
    content: bytes = field(repr=False)

    def selection(self) -> Selection:
        """The selection; see :func:`read_selection`.

        Raises:
            SelectionError: with every error of shape found; or the PDF carries no selection, or
                not the one named, or one that was altered.
            FileError: it is no text, or no PDF that can be read.
        """
        if not self._is_pdf:
            try:
                return parse_selection(as_text(self.content, self.path), self.path)
            except ConfiguratorError:
                if not file_and_letter(self.path)[0].lower().endswith(".pdf"):
                    raise
            raise FileError(
                text(
                    "{path}: it is not a PDF, despite its name; choose the PDF itself, or a "
                    "selection file",
                    path=self.path,
                )
            )
        from configurator.selection.attachments import read_carried

        written, file = read_carried(self.content, *file_and_letter(self.path))
        return attrs.evolve(parse_selection(written, file), source=Location(self.path, 0, 0).file)

    def told_by_paper(self, catalogue: Catalogue) -> str:
        """What to say of a quote opened again that was made with another text of the catalogue.

        Returns:
            A sentence, or nothing where the text is the same or the file is no quote.

        Raises:
            FileError: the PDF cannot be read.
        """
        if not self._is_pdf:
            return ""
        from configurator.selection.attachments import read_issued

        issued = read_issued(self.content, file_and_letter(self.path)[0])
        if issued is None or issued.catalogue_digest == catalogue.digest:
            return ""
        return text(
            "{path}: note: the catalogue has changed since quote {number} of {day}; prices and "
            "answers here are today's, not those on that paper",
            path=self.path,
            number=issued.number,
            day=issued.date,
        )

    def quoted(self) -> Any:
        """The quote that a PDF carries, in the shape of its JSON; None where there is none.

        Raises:
            FileError: the PDF cannot be read.
        """
        if not self._is_pdf:
            return None
        from configurator.selection.attachments import read_quoted

        return read_quoted(self.content, file_and_letter(self.path)[0])

    @property
    def _is_pdf(self) -> bool:
        # one whose beginning is lost is a damaged PDF, not a text in another encoding
        start, end = self.content[:_LOOKED_AT], self.content[-_LOOKED_AT:]
        return _begins_a_pdf(start) or (_PDF_END in end and b"\0" in self.content)


def open_selection(path: Path | str) -> OpenedSelection:
    """Read a selection file, as :func:`read_selection` does, without saying yet what is in it.

    Raises:
        FileError: the file cannot be read.
    """
    file, _ = file_and_letter(str(path))
    return OpenedSelection(str(path), read_bytes(file, MOST_BYTES_OF_PDF))


def read_selection(path: Path | str) -> Selection:
    """Read a selection file; whether its names mean anything is asked against a catalogue later.

    A PDF that this program has made is a selection file too. Where it carries several selections,
    as a comparison does, the path names one by its letter: ``comparison.pdf#B``.

    Raises:
        SelectionError: with every error of shape found; or the PDF carries no selection, or not
            the one named, or one that was altered.
        FileError: the file cannot be read.
    """
    return open_selection(path).selection()


def selections_in(folder: Path) -> tuple[Path, ...]:
    """The files of a folder that may hold a selection, in the order of their names.

    Raises:
        ConfiguratorError: there is none.
        FileError: the folder cannot be read.
    """
    try:
        files = sorted(f for f in folder.iterdir() if f.is_file())
    except OSError as error:
        raise unreadable_folder(folder, error) from None
    files = [f for f in files if f.suffix.lower() in _KINDS and not f.name.startswith(".")]
    if not files:
        raise ConfiguratorError(f"{folder}: there is no selection in it ({', '.join(_KINDS)})")
    return tuple(files)


_KINDS = (".yaml", ".yml", ".json", ".pdf")


def file_and_letter(path: str) -> tuple[str, str]:
    """The file, and the letter behind its ``#`` where no file has that in its name."""
    file, mark, letter = path.rpartition("#")
    return (file, letter) if mark and not Path(path).exists() else (path, "")


def _begins_a_pdf(start: bytes) -> bool:
    """Whether these first bytes are of a PDF and not of a text that mentions one."""
    try:
        getincrementaldecoder("utf-8")().decode(start)
    except UnicodeDecodeError:
        return _PDF in start
    return start.startswith(_PDF)


def parse_selection(text: str, file: str) -> Selection:
    """A selection from its text.

    Raises:
        SelectionError: with every error of shape found.
    """
    tree = read_tree(text, file, linked("selection"))
    problems = [*tree.problems, *schema_problems(tree)]
    if problems:
        raise SelectionError(problems)
    data: Placed = tree.data
    del data["format"]
    picks = picks_from(data.pop("picks")) if "picks" in data else ()
    if "add-ons" in data:
        add_ons = data.like({ADD_ON: data.pop("add-ons")})
        add_ons.inner = {ADD_ON: data.inner["add-ons"]}
        picks += picks_from(add_ons)
    for number, line in enumerate(data.get("free-lines", ()), 1):
        line.setdefault("id", str(number))
        picks += (Pick.counting(FREE_LINE, line["id"], line.pop("quantity", 1), line.at),)
    data["picks"] = picks
    if "none" in data:
        data["none"] = tuple(Pick(choice, at=data.place("none")) for choice in data["none"])
    data["source"] = Location(file, 0, 0).file
    named_at = data.place("catalogue")
    return attrs.evolve(structured(data, Selection), at=named_at)
