"""Papers to files. A file is replaced only when the new one is complete."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from configurator.answers import comparison_answer, quote_answer, to_json
from configurator.answers_budget import budget_answer
from configurator.catalogue.model import Shop
from configurator.compare import Comparison
from configurator.errors import ConfiguratorError, FileError
from configurator.papers.budget import BudgetPaper
from configurator.papers.html import budget_html, comparison_html, quote_html
from configurator.papers.pdf import html_to_pdf
from configurator.papers.quote import Quote

__all__ = ["make_folder", "replace_file", "write_budget", "write_comparison", "write_quote"]


def write_quote(quote: Quote, path: Path) -> None:
    """Write the quote as .pdf, .html or .json, whichever the file's name asks for.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    _write(
        path,
        {
            ".pdf": lambda: html_to_pdf(quote_html(quote)),
            ".html": lambda: quote_html(quote).encode(),
            ".json": lambda: to_json(quote_answer(quote)).encode(),
        },
    )


def write_comparison(comparison: Comparison, shop: Shop, path: Path) -> None:
    """Write the comparison as .pdf, .html or .json, whichever the file's name asks for.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    _write(
        path,
        {
            ".pdf": lambda: html_to_pdf(comparison_html(comparison, shop)),
            ".html": lambda: comparison_html(comparison, shop).encode(),
            ".json": lambda: to_json(comparison_answer(comparison)).encode(),
        },
    )


def write_budget(paper: BudgetPaper, path: Path) -> None:
    """Write the build budget as .pdf, .html or .json, whichever the file's name asks for.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    _write(
        path,
        {
            ".pdf": lambda: html_to_pdf(budget_html(paper)),
            ".html": lambda: budget_html(paper).encode(),
            ".json": lambda: to_json(budget_answer(paper)).encode(),
        },
    )


def _write(path: Path, kinds: Mapping[str, Callable[[], bytes]]) -> None:
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
