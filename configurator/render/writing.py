"""Papers to files, in the format that the file name asks for, and what a PDF carries.

A PDF carries its selection in the shape of a selection file, and what it says in the shape of its
answer as JSON, so that it can be opened again, revised and compared. Neither knows what is for the
shop's eyes only.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from configurator.answers.data import (
    selection_data,
    selection_file_data,
    selection_yaml,
    to_data,
    to_json,
)
from configurator.answers.facts import LayoutAnswer, MassAnswer, PowerAnswer
from configurator.answers.requote import RequoteAnswer
from configurator.drawing.charts import charge_svg, mass_svg
from configurator.drawing.pictures import picture_svg
from configurator.exchange.quotation import quotation_xml
from configurator.fit.layout import Layout
from configurator.machine.files import replace_file, required_kind
from configurator.render.calendar import quote_calendar
from configurator.render.html import Paper, layout_html, layout_room, paper_html
from configurator.render.look import Look, look_of
from configurator.render.pdf import html_to_pdf
from configurator.render.safeguard import require_spared
from configurator.report.budget import BudgetPaper
from configurator.report.comparison import Comparison
from configurator.report.quote import Quote
from configurator.selection.attachments import QUOTATION, QUOTE, Attachment, Carried, selection_name
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.words import letter


def write(answer: Any, path: Path, look: Callable[[], Look]) -> None:
    """Write any answer in the way that the ending of the file's name asks for.

    Args:
        answer: a paper; a layout, mass or power answer, which have pictures; or anything else that
            :func:`~configurator.answers.data.to_data` knows, as .json.
        path: the file.
        look: gives the look of a paper; asked only where one is made.

    Raises:
        ConfiguratorError: the name asks for something that the answer cannot be.
        FileError: it cannot be written.
        MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
    """
    write_as(path, kinds_of(answer, look))


def kinds_of(answer: Any, look: Callable[[], Look]) -> dict[str, Callable[[], bytes]]:
    """What makes each kind of file that an answer can be, by its ending; as for :func:`write`."""
    kinds: dict[str, Callable[[], bytes]] = {".json": lambda: to_json(answer).encode()}
    if isinstance(answer, Quote):
        kinds[".xml"] = lambda: quotation_xml(answer, look().language.say)
        kinds[".ics"] = lambda: quote_calendar(to_data(answer), look().language)
    match answer:
        case Quote() | Comparison() | BudgetPaper() | RequoteAnswer():
            kinds[".html"] = lambda: paper_html(answer, look()).encode()
            kinds[".pdf"] = lambda: paper_pdf(answer, look())
        case LayoutAnswer():
            build, drawn = answer.build, answer.layout or Layout(())
            unkept = [f.sentence for f in answer.findings if f.code in ("wish", "place")]
            carried = carrying(build.selection, build.catalogue.valid.first)

            def page() -> str:
                return layout_html(build, drawn, look(), unkept)

            kinds[".html"] = lambda: page().encode()
            kinds[".pdf"] = lambda: html_to_pdf(page(), carried)
            kinds[".svg"] = lambda: picture_svg(
                build, answer.layout, answer.view, look().language, layout_room(look())
            ).encode()
        case MassAnswer():
            kinds[".svg"] = lambda: mass_svg(answer.picture, look().language).encode()
        case PowerAnswer():
            kinds[".svg"] = lambda: charge_svg(answer.picture, speech=look().language).encode()
    return kinds


def paper_pdf(paper: Paper, look: Look | None = None) -> bytes:
    """The paper as PDF, with what it carries."""
    return html_to_pdf(paper_html(paper, look), carried_by(paper, look))


def carried_by(paper: Paper, look: Look | None = None) -> Carried | None:
    """What a paper carries: its selections, and a quote or comparison itself; None for nothing.

    A quote is there as an open-standard quotation as well, said in the paper's language.
    """
    match paper:
        case RequoteAnswer():
            return None
        case Quote():
            priced = _file(QUOTE, paper, "The quote, with every price", "Data")
            carried = [priced, _selection(paper.selection)]
            if paper.price.lines:
                xml = quotation_xml(paper, (look or look_of(paper.shop)).language.say)
                told = "The quote as an open-standard quotation (UBL 2.1)"
                carried.insert(1, Attachment(QUOTATION, xml, told, "Alternative"))
            return Carried(tuple(carried), paper.date)
        case Comparison():
            columns = paper.columns
            selections = [_selection(c.selection, letter(n)) for n, c in enumerate(columns)]
            compared = _file("comparison.json", paper, "The comparison", "Data")
            day = dt.date.fromisoformat(columns[0].price.day)
            return Carried((compared, *selections), day)
        case _:
            return carrying(paper.selection, paper.day)


def carrying(selection: Selection, day: str) -> Carried:
    """What any other paper about one selection carries; the day as an ISO date."""
    return Carried((_selection(selection),), dt.date.fromisoformat(day))


def _selection(selection: Selection, letter: str = "") -> Attachment:
    which = f"Selection {letter}" if letter else "The selection"
    return _file(selection_name(letter), selection_data(selection), which, "Source")


def _file(name: str, answer: object, description: str, relationship: str) -> Attachment:
    return Attachment(name, to_json(answer).encode(), description, relationship)


def write_selection(build: Resolved, path: Path) -> None:
    """Write the selection as a file that can be changed and used again, .yaml or .json.

    Raises:
        ConfiguratorError: the name asks for something else, or is that of a catalogue.
        FileError: it cannot be written.
    """
    require_spared(build.catalogue, [path])
    write_as(
        path,
        {
            ".yaml": lambda: selection_yaml(build.selection).encode(),
            ".json": lambda: to_json(selection_file_data(build.selection)).encode(),
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
