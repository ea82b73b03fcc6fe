"""Paths as a caller gives them: what can name no file is refused."""

from __future__ import annotations

import re
from pathlib import Path, PurePath

from configurator.errors import WrongArgument, as_given

_UNPAIRED = re.compile("[\ud800-\udc7f\udd00-\udfff]")
"""Halves of characters; those between stand for bytes of a name that is not UTF-8."""


def path_of(name: str, value: object) -> Path:
    """An argument that is a path.

    Raises:
        WrongArgument: it is no path, or no file can have the name.
    """
    if not isinstance(value, str | PurePath):
        raise WrongArgument(f"{name} is {as_given(value)}; give a path, as a str or a Path")
    written = str(value)
    if "\0" in written or _UNPAIRED.search(written):
        told = f"{name} is {as_given(value)}, which no file can be called; give another name"
        raise WrongArgument(told)
    return Path(value)


def path_or_none(name: str, value: object) -> Path | None:
    """An argument that is a path, or is left out.

    Raises:
        WrongArgument: it is no path, or no file can have the name.
    """
    return None if value is None else path_of(name, value)
