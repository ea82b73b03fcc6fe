"""Whether a catalogue has changed: the times and sizes of its files."""

from __future__ import annotations

import contextlib
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from configurator.errors import FileError

Stamps: TypeAlias = tuple[tuple[str, int, int], ...]


def stamps_of(file: str | None) -> Stamps:
    """What is another once a file of the catalogue is; of the shipped one, which has none, nothing.

    Args:
        file: the catalogue's file or folder.
    """
    if file is None:
        return ()
    from configurator.catalogue.folder import opening_file

    try:
        opening = opening_file(Path(file))
    except FileError:
        return ()
    first = _stamps([opening])
    return first + _stamps(_parts(opening, first))


def _stamps(files: list[Path]) -> Stamps:
    found = []
    for one in files:
        with contextlib.suppress(OSError):
            told = one.stat()
            found.append((str(one), told.st_mtime_ns, told.st_size))
    return tuple(found)


@lru_cache(maxsize=4)
def _parts(opening: Path, _: Stamps) -> list[Path]:
    """The other files that the one that opens the catalogue names, as it is now."""
    import yaml

    from configurator.catalogue.folder import named_parts

    try:
        read = yaml.compose(opening.read_text("utf-8"), yaml.CSafeLoader)
    except (OSError, ValueError, yaml.YAMLError):
        return []
    return [opening.parent / name.value for name in named_parts(read)] if read else []
