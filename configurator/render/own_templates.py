"""A shop's own templates: a folder whose files replace shipped ones of the same name."""

from __future__ import annotations

from pathlib import Path

from attrs import frozen

from configurator.catalogue.reading import read_text, shipped
from configurator.errors import DataError, FileError, Location, Problem, near_miss

__all__ = ["OwnTemplate", "own_templates", "template_names"]


@frozen
class OwnTemplate:
    """One file that replaces a shipped one: its name, where it lies, and its text."""

    name: str
    file: str
    text: str


def template_names() -> tuple[str, ...]:
    """The names of the shipped templates and styles, each of which can be replaced."""
    return tuple(sorted(path.name for path in shipped("templates").iterdir()))


def own_templates(folder: Path) -> tuple[OwnTemplate, ...]:
    """The templates of the folder by name; files whose names begin with a dot are left alone.

    Raises:
        DataError: a file has a name that no template has, or leads out of the folder.
        FileError: the folder or a file in it cannot be read.
    """
    names, problems, own = template_names(), [], []
    try:
        paths = sorted(p for p in folder.iterdir() if not p.name.startswith("."))
    except OSError as error:
        raise FileError(f"{folder}: cannot read the folder: {error.strerror}") from None
    home = folder.resolve()
    for path in paths:
        where = Location(str(path), 0, 0)
        if path.name not in names:
            hint = near_miss(path.name, names) or f"known: {', '.join(names)}"
            problems.append(Problem(where, "no template has this name", "unknown-template", hint))
        elif path.resolve() != home / path.name:
            sentence = "it leads to a file outside the folder"
            hint = "put the file itself here"
            problems.append(Problem(where, sentence, "template-outside", hint))
        elif not path.is_file():
            hint = "put a text file here"
            problems.append(Problem(where, "it is no ordinary file", "template-no-file", hint))
        else:
            own.append(OwnTemplate(path.name, str(path), read_text(path)))
    if problems:
        raise DataError(problems)
    return tuple(own)
