"""Papers to files. A file is replaced only when the new one is complete."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from configurator.answers.budget import budget_answer
from configurator.answers.selling import comparison_answer, quote_answer, to_json
from configurator.catalogue.model import Shop
from configurator.comparing.comparison import Comparison
from configurator.errors import ConfiguratorError, FileError
from configurator.papers.budget import BudgetPaper
from configurator.papers.html import budget_html, comparison_html, quote_html
from configurator.papers.pdf import html_to_pdf
from configurator.papers.quote import Quote

__all__ = [
    "make_folder",
    "replace_file",
    "write_as",
    "write_budget",
    "write_comparison",
    "write_paper",
    "write_quote",
]


def write_quote(quote: Quote, path: Path) -> None:
    """Write the quote; see :func:`write_paper`."""
    write_paper(path, lambda: quote_html(quote), lambda: quote_answer(quote))


def write_comparison(comparison: Comparison, shop: Shop, path: Path) -> None:
    """Write the comparison; see :func:`write_paper`."""
    write_paper(
        path, lambda: comparison_html(comparison, shop), lambda: comparison_answer(comparison)
    )


def write_budget(paper: BudgetPaper, path: Path) -> None:
    """Write the build budget; see :func:`write_paper`."""
    write_paper(path, lambda: budget_html(paper), lambda: budget_answer(paper))


def write_paper(path: Path, page: Callable[[], str], answer: Callable[[], dict[str, Any]]) -> None:
    """Write a paper as .pdf, .html or .json, whichever the file's name asks for.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    write_as(
        path,
        {
            ".pdf": lambda: html_to_pdf(page()),
            ".html": lambda: page().encode(),
            ".json": lambda: to_json(answer()).encode(),
        },
    )


def write_as(path: Path, kinds: Mapping[str, Callable[[], bytes]]) -> None:
    """Write the file in the way that the ending of its name asks for; only that one is made.

    Raises:
        ConfiguratorError: no way goes with its ending.
        FileError: it cannot be written.
    """
    make = kinds.get(path.suffix.lower())
    if make is None:
        raise ConfiguratorError(f"{path}: the file's name must end in {' or '.join(kinds)}")
    replace_file(path, make())


def make_folder(path: Path) -> None:
    """Make the folder, and those above it, where they are missing.

    Raises:
        FileError: it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path}: cannot make the folder: {error.strerror}") from None


def replace_file(path: Path, content: bytes) -> None:
    """Write the file whole or not at all: beside it first, then in its place.

    Raises:
        FileError: it cannot be written; what stood there is untouched.
    """
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            mask = os.umask(0)
            os.umask(mask)
            beside.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~mask)
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileError(f"{path}: cannot write it: {error.strerror}") from None
