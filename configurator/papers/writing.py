"""Papers to files. A file is replaced only when the new one is complete."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from errno import EISDIR
from pathlib import Path
from typing import Any

from configurator.answers.budget import budget_answer
from configurator.answers.selection_file import selection_data, selection_yaml
from configurator.answers.selling import comparison_answer, quote_answer, to_json
from configurator.catalogue.model import Catalogue, Shop
from configurator.comparing.comparison import Comparison
from configurator.errors import ConfiguratorError, FileError
from configurator.papers.budget import BudgetPaper
from configurator.papers.carrying import by_budget, by_comparison, by_quote
from configurator.papers.html import budget_html, comparison_html, quote_html
from configurator.papers.look import Look
from configurator.papers.pdf import html_to_pdf
from configurator.papers.quote import Quote
from configurator.selection.carried import Carried
from configurator.selection.picks import Selection

__all__ = [
    "make_folder",
    "replace_file",
    "replace_files",
    "write_as",
    "write_budget",
    "write_comparison",
    "write_paper",
    "write_quote",
    "write_selection",
]


def write_quote(quote: Quote, path: Path, look: Look | None = None) -> None:
    """Write the quote; see :func:`write_paper`."""
    write_paper(
        path,
        lambda: quote_html(quote, look),
        lambda: quote_answer(quote),
        lambda: by_quote(quote),
    )


def write_comparison(
    comparison: Comparison, shop: Shop, path: Path, look: Look | None = None
) -> None:
    """Write the comparison; see :func:`write_paper`."""
    write_paper(
        path,
        lambda: comparison_html(comparison, shop, look),
        lambda: comparison_answer(comparison),
        lambda: by_comparison(comparison),
    )


def write_budget(paper: BudgetPaper, path: Path, look: Look | None = None) -> None:
    """Write the build budget; see :func:`write_paper`."""
    write_paper(
        path,
        lambda: budget_html(paper, look),
        lambda: budget_answer(paper),
        lambda: by_budget(paper),
    )


def write_selection(catalogue: Catalogue, selection: Selection, path: Path) -> None:
    """Write the selection as a file that can be changed and used again, .yaml or .json.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
    """
    write_as(
        path,
        {
            ".yaml": lambda: selection_yaml(catalogue, selection).encode(),
            ".json": lambda: to_json(selection_data(catalogue, selection)).encode(),
        },
    )


def write_paper(
    path: Path,
    page: Callable[[], str],
    answer: Callable[[], dict[str, Any]],
    carried: Callable[[], Carried | None] = lambda: None,
) -> None:
    """Write a paper as .pdf, .html or .json, whichever the file's name asks for.

    Args:
        path: the file.
        page: makes it as HTML.
        answer: makes it as JSON.
        carried: makes what its PDF carries inside.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    write_as(
        path,
        {
            ".pdf": lambda: html_to_pdf(page(), carried()),
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
    """Write the file whole or not at all; see :func:`replace_files`."""
    replace_files({path: content})


def replace_files(contents: Mapping[Path, bytes]) -> None:
    """Write files whole: all of them beside their places first, then each into its place.

    What can fail, fails before the first is in its place: a full disk, a folder that cannot be
    written. Each file is at any moment wholly the old one or wholly the new one. No file system
    moves several files at once: where the process is killed between two moves, some are new and
    some still old, and a hidden file beside those remains; writing them again mends both.

    Raises:
        FileError: one cannot be written; what stood there is untouched.
    """
    made: list[tuple[Path, Path]] = []
    path = Path()
    try:
        try:
            for path, content in contents.items():
                if path.is_dir():
                    raise IsADirectoryError(EISDIR, os.strerror(EISDIR))
                handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
                made.append((Path(name), path))
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                mask = os.umask(0)
                os.umask(mask)
                Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~mask)
            for beside, path in made:
                beside.replace(path)
        except BaseException:
            for beside, _ in made:
                beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileError(f"{path}: cannot write it: {error.strerror}") from None
