"""Selection files to selections: YAML, JSON, or a PDF of ours that carries one."""

from __future__ import annotations

from pathlib import Path

import attrs

from configurator.catalogue.model import ADD_ON, FREE_LINE, Pick
from configurator.catalogue.nodes import Placed, read_tree
from configurator.catalogue.reading import picks_from, read_text, schema, structured
from configurator.catalogue.wrong import schema_problems
from configurator.errors import SelectionError
from configurator.selection.picks import Selection

__all__ = ["parse_selection", "read_selection", "told_by_paper"]


_PDF = b"%PDF-"
"""How a PDF begins, whatever its name."""


def read_selection(path: Path | str) -> Selection:
    """Read a selection file; whether its names mean anything is asked against a catalogue later.

    A PDF that this program has made is a selection file too. Where it carries several selections,
    as a comparison does, the path names one by its letter: ``comparison.pdf#B``.

    Raises:
        SelectionError: with every error of shape found; or the PDF carries no selection, or not
            the one named, or one that was altered.
        FileError: the file cannot be read.
    """
    file, letter = _file_and_letter(str(path))
    if not _is_pdf(file):
        return parse_selection(read_text(path), str(path))
    from configurator.selection.from_pdf import read_carried

    return attrs.evolve(parse_selection(*read_carried(file, letter)), source=str(path))


def told_by_paper(path: Path | str, digest: str) -> str:
    """What to say of a quote opened again that was made with another text of the catalogue.

    Args:
        path: of the selection; one that is no PDF has nothing to say.
        digest: of the catalogue's text now.

    Returns:
        A sentence, or nothing where the text is the same or the paper is no quote.

    Raises:
        FileError: the file cannot be read.
    """
    file, _ = _file_and_letter(str(path))
    if not _is_pdf(file):
        return ""
    from configurator.selection.from_pdf import read_issued

    issued = read_issued(file)
    if issued is None or issued.catalogue_digest == digest:
        return ""
    return (
        f"{path}: note: the catalogue has changed since quote {issued.number} of {issued.date}; "
        "prices and answers here are today's, not those on that paper"
    )


def _file_and_letter(path: str) -> tuple[str, str]:
    """The file, and the letter behind its ``#`` where no file has that in its name."""
    file, mark, letter = path.rpartition("#")
    return (file, letter) if mark and not Path(path).exists() else (path, "")


def _is_pdf(file: str) -> bool:
    try:
        with Path(file).open("rb") as opened:
            return opened.read(len(_PDF)) == _PDF
    except (OSError, ValueError):
        return False


def parse_selection(text: str, file: str) -> Selection:
    """A selection from its text.

    Raises:
        SelectionError: with every error of shape found.
    """
    shape = schema("selection")
    tree = read_tree(text, file, shape)
    problems = list(tree.problems)
    if tree.data is not None:
        problems += schema_problems(tree, shape, currency="")
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
        picks += (Pick(FREE_LINE, line["id"], line.pop("quantity", 1), at=line.at),)
    data["picks"] = picks
    data["source"] = file
    named_at = data.place("catalogue")
    return attrs.evolve(structured(data, Selection), at=named_at)
