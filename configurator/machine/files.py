"""Files written whole: a file is replaced only when the new one is complete.

A symbolic link is followed, so that what it points to is replaced and the link stays. Read-only
files, folders, devices and pipes are never replaced.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterable, Mapping
from errno import EACCES, EISDIR, ELOOP, ENOENT, ENOTDIR, EPERM, EROFS
from pathlib import Path

from configurator.errors import ConfiguratorError, FileError
from configurator.words import joined, text

_READ_ONLY = "it is read-only; make it writable, or give another name"


def make_folder(path: Path) -> None:
    """Make the folder, and those above it, where they are missing.

    Raises:
        FileError: it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        told = f"{path}: cannot make the folder: {error.strerror}; name another folder"
        raise FileError(told) from None


def require_writable(paths: Iterable[Path]) -> None:
    """Find out whether the files can be written, before the work of making them; change nothing.

    Raises:
        FileError: one cannot be written.
    """
    for path in paths:
        try:
            folder = _target(path).parent
            while not folder.exists() and folder != folder.parent:
                folder = folder.parent
        except OSError as error:
            raise _unwritable(path, error) from None
        if not folder.is_dir():
            raise _unwritable(path, f"{folder} is no folder")
        if not os.access(folder, os.W_OK | os.X_OK):
            raise _unwritable(path, f"nothing can be written into the folder {folder}")


def required_kind(path: Path, kinds: Iterable[str]) -> str:
    """Which of the kinds the ending of the file's name asks for.

    Raises:
        ConfiguratorError: none of them.
    """
    kind, known = path.suffix.lower(), list(kinds)
    if kind not in known:
        told = text(
            "{path}: the file's name must end in {kinds}",
            path=str(path),
            kinds=joined(known, text(" or ")),
        )
        raise ConfiguratorError(told)
    return kind


def different_file(contents: Mapping[Path, bytes]) -> Path | None:
    """The first of the files that is there already with another content; None where none is.

    Raises:
        FileError: one that is there cannot be read.
    """
    for path, content in contents.items():
        try:
            if path.exists() and path.read_bytes() != content:
                return path
        except OSError as error:
            raise _unwritable(path, error) from None
    return None


def replace_file(path: Path, content: bytes) -> None:
    """Write the file whole or not at all; see :func:`replace_files`."""
    replace_files({path: content})


def replace_files(contents: Mapping[Path, bytes | Iterable[bytes]]) -> None:
    """Write files whole: all of them beside their places first, then each into its place.

    What can fail, fails before the first is in its place: a full disk, a folder that cannot be
    written. Each file is at any moment wholly the old one or wholly the new one. No file system
    moves several files at once: where the process is killed between two moves, some are new and
    some still old, and a hidden file beside those remains; writing them again mends both.

    Folders that are missing are made. What is given in pieces is written piece by piece.

    Raises:
        FileError: one cannot be written; what stood there is untouched.
    """
    made: list[tuple[Path, Path]] = []
    path = Path()
    try:
        try:
            for path, content in contents.items():
                target = _target(path)
                make_folder(path.parent)
                handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{path.name[:100]}.")
                made.append((Path(name), target))
                with os.fdopen(handle, "wb") as file:
                    file.writelines([content] if isinstance(content, bytes) else content)
                mask = os.umask(0)
                os.umask(mask)
                mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~mask
                Path(name).chmod(mode)
            for beside, target in made:
                beside.replace(target)
        except BaseException:
            for beside, _ in made:
                beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _unwritable(path, error) from None


def _target(path: Path) -> Path:
    """The file that is written, links followed.

    Raises:
        FileError: what is there must not be replaced.
        OSError: it cannot be looked at.
    """
    target = Path(os.path.realpath(path))
    if target.is_symlink():
        raise OSError(ELOOP, os.strerror(ELOOP))
    try:
        there = target.stat()
    except FileNotFoundError:
        return target
    if stat.S_ISDIR(there.st_mode):
        raise IsADirectoryError(EISDIR, os.strerror(EISDIR))
    if not stat.S_ISREG(there.st_mode):
        raise _unwritable(path, "it is a device or a pipe, not a file")
    if not there.st_mode & 0o222 or not os.access(target, os.W_OK):
        raise _unwritable(path, _READ_ONLY)
    return target


_NO_PLACE = (EACCES, ENOENT, ENOTDIR, EPERM, EROFS)
"""What the system says of a folder in which no file can be made."""


def _unwritable(path: Path, reason: str | OSError) -> FileError:
    if isinstance(reason, OSError):
        hint = "; name another folder" if reason.errno in _NO_PLACE else ""
        reason = f"{reason.strerror}{hint}"
    return FileError(f"{path}: cannot write it: {reason}")
