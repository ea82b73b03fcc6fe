"""What each paper carries inside, so that it can be opened again, revised and compared.

The selection stands in the shape of a selection file; what the paper says, in the shape of its
answer as JSON. Neither knows what is for the shop's eyes only.
"""

from __future__ import annotations

import datetime as dt

from configurator.answers.data import selection_data, to_json
from configurator.report.budget import BudgetPaper
from configurator.report.comparison import Comparison
from configurator.report.quote import Quote
from configurator.selection.carried import QUOTE, Attachment, Carried, selection_name
from configurator.selection.picks import Selection
from configurator.words import letter

__all__ = ["by_budget", "by_comparison", "by_quote", "by_selection"]


def by_quote(quote: Quote) -> Carried:
    """What a quote carries: its selection, and the quote itself with every price."""
    priced = _file(QUOTE, (quote), "The quote, with every price", "Data")
    return Carried((priced, _selection(quote.selection)), quote.date)


def by_comparison(comparison: Comparison) -> Carried:
    """What a comparison carries: every selection by its letter, and the comparison itself."""
    columns = comparison.columns
    selections = [_selection(c.selection, letter(index)) for index, c in enumerate(columns)]
    compared = _file("comparison.json", (comparison), "The comparison", "Data")
    return Carried((compared, *selections), dt.date.fromisoformat(columns[0].price.day))


def by_budget(paper: BudgetPaper) -> Carried:
    """What a build budget carries: its selection, with the budget in it."""
    return by_selection(paper.selection, paper.day)


def by_selection(selection: Selection, day: str) -> Carried:
    """What any other paper about one selection carries; the day as an ISO date."""
    return Carried((_selection(selection),), dt.date.fromisoformat(day))


def _selection(selection: Selection, letter: str = "") -> Attachment:
    which = f"Selection {letter}" if letter else "The selection"
    return _file(selection_name(letter), selection_data(selection), which, "Source")


def _file(name: str, answer: object, description: str, relationship: str) -> Attachment:
    return Attachment(name, to_json(answer).encode(), description, relationship)
