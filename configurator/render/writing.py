"""Papers to files, each in the way that the ending of its name asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from configurator.answers.budget import budget_answer
from configurator.answers.selection_file import selection_data, selection_yaml
from configurator.answers.selling import comparison_answer, quote_answer, to_json
from configurator.catalogue.model import Shop
from configurator.render.carrying import by_budget, by_comparison, by_quote
from configurator.render.files import replace_file, required_kind
from configurator.render.html import budget_html, comparison_html, quote_html
from configurator.render.look import Look
from configurator.render.pdf import html_to_pdf
from configurator.report.budget import BudgetPaper
from configurator.report.comparison import Comparison
from configurator.report.quote import Quote
from configurator.selection.carried import Carried
from configurator.selection.resolved import Resolved

__all__ = [
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


def write_selection(build: Resolved, path: Path) -> None:
    """Write the selection as a file that can be changed and used again, .yaml or .json.

    Raises:
        ConfiguratorError: the name asks for something else.
        FileError: it cannot be written.
    """
    write_as(
        path,
        {
            ".yaml": lambda: selection_yaml(build).encode(),
            ".json": lambda: to_json(selection_data(build)).encode(),
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
    make = kinds[required_kind(path, kinds)]
    replace_file(path, make())
