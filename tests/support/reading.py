"""Catalogues read once for all tests that do not ask how they are read."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from configurator import open_shop
from configurator.catalogue.folder import Part, opening_file, read_parts
from configurator.catalogue.model import Catalogue
from configurator.catalogue.nodes import document
from configurator.catalogue.reading import MOST_BYTES, open_catalogue, parse_catalogue, read_text
from configurator.cli import common
from configurator.errors import Problem

Read: TypeAlias = tuple[Catalogue | None, tuple[Problem, ...]]

read_once = lru_cache(maxsize=8)(parse_catalogue)
"""The same text of the same file is the same catalogue, which nothing can change."""


def opened_once(path: Path | str) -> Read:
    """The same for what is at a path: read again where one of its files has another text."""
    file = opening_file(Path(path))
    text = read_text(file)
    opening: Any = _composed(text, str(file))
    parts, problems = ([], []) if isinstance(opening, Problem) else _parts(opening, file)
    if not parts and not problems:
        return read_once(text, str(file))
    return _opened_once(str(path), text, tuple(parts), tuple(problems))


_composed = lru_cache(maxsize=8)(document)


def _parts(opening: Any, file: Path) -> tuple[list[Part], list[Problem]]:
    return read_parts(opening, file, read_text, MOST_BYTES)


@lru_cache(maxsize=8)
def _opened_once(path: str, *_: Any) -> Read:
    return open_catalogue(path)


@contextmanager
def one_shop() -> Iterator[None]:
    """Commands within this process ask one shop, and so one engine; its files may not change."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(common, "open_shop", lru_cache(maxsize=4)(open_shop))
        yield
