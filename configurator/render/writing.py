"""Papers to files, each in the way that the ending of its name asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from configurator.answers.data import selection_file_data, selection_yaml, to_json
from configurator.answers.values import LayoutAnswer, MassAnswer, PowerAnswer
from configurator.drawing.charts import charge_svg, mass_svg
from configurator.drawing.layouts import layout_svg
from configurator.fit.layout import Layout
from configurator.render.carrying import by_budget, by_comparison, by_quote, by_selection
from configurator.render.files import replace_file, required_kind
from configurator.render.html import budget_html, comparison_html, layout_html, quote_html
from configurator.render.look import Look
from configurator.render.pdf import html_to_pdf
from configurator.report.budget import BudgetPaper
from configurator.report.comparison import Comparison
from configurator.report.quote import Quote
from configurator.selection.carried import Carried
from configurator.selection.resolved import Resolved

__all__ = ["write", "write_as", "write_selection"]


def write(answer: Any, path: Path, look: Callable[[], Look]) -> None:
    """Write an answer in the way that the ending of the file's name asks for.

    Args:
        answer: a quote, comparison, build budget, layout, mass or power answer, or anything else
            that :func:`~configurator.answers.data.to_data` knows.
        path: the file.
        look: gives the look of a paper; asked only where one is made.

    Raises:
        ConfiguratorError: the name asks for something that the answer cannot be.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    kinds: dict[str, Callable[[], bytes]] = {".json": lambda: to_json(answer).encode()}
    match answer:
        case Quote():
            kinds |= _paper(lambda: quote_html(answer, look()), lambda: by_quote(answer))
        case Comparison():
            kinds |= _paper(lambda: comparison_html(answer, look()), lambda: by_comparison(answer))
        case BudgetPaper():
            kinds |= _paper(lambda: budget_html(answer, look()), lambda: by_budget(answer))
        case LayoutAnswer():
            build, drawn = answer.build, answer.layout or Layout(())
            unkept = [f.sentence for f in answer.findings if f.code in ("wish", "place")]
            day = build.catalogue.valid.first
            kinds |= _paper(
                lambda: layout_html(build, drawn, look(), unkept),
                lambda: by_selection(build.selection, day),
            )
            kinds[".svg"] = lambda: look().language.say(layout_svg(build, drawn)).encode()
        case MassAnswer():
            kinds[".svg"] = lambda: mass_svg(answer.picture).encode()
        case PowerAnswer():
            kinds[".svg"] = lambda: charge_svg(answer.picture).encode()
    write_as(path, kinds)


def _paper(
    page: Callable[[], str], carried: Callable[[], Carried | None]
) -> dict[str, Callable[[], bytes]]:
    return {
        ".html": lambda: page().encode(),
        ".pdf": lambda: html_to_pdf(page(), carried()),
    }


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
            ".json": lambda: to_json(selection_file_data(build)).encode(),
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
