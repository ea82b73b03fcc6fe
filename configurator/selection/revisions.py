"""The history of a quote: which revision a selection is, and what changed from one to the next."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING

from attrs import field, frozen

from configurator.errors import NOWHERE, Location
from configurator.forms import form

if TYPE_CHECKING:
    from configurator.selection.picks import Selection

__all__ = ["Revision", "revision_problems"]


@form(hidden="at")
@frozen
class Revision:
    """One issue of a quote.

    Attributes:
        revision: its number, from 1.
        date: day of issue, an ISO date.
        what: what changed, as part of a sentence.
    """

    revision: int
    date: str
    what: str
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


def revision_problems(selection: Selection, say: Callable[..., None]) -> None:
    """Say what is wrong with the history: numbers and days that do not rise, or go too far.

    Args:
        selection: what is wanted, with its revisions.
        say: takes a place, what stands there, a sentence, a code and a hint.
    """
    history = selection.revisions
    for before, after in pairwise(history):
        where = f"revision {after.revision}"
        if after.revision <= before.revision:
            sentence = f"revision {after.revision} is told after revision {before.revision}"
            say(after.at, where, sentence, "revision-order", "write each once, the first one first")
        elif after.date < before.date:
            sentence = (
                f"revision {after.revision} is of {after.date}, before revision "
                f"{before.revision} of {before.date}"
            )
            say(after.at, where, sentence, "revision-order", "give the days of issue")
    if not history:
        return
    last = max(history, key=lambda entry: entry.revision)
    where = f"revision {last.revision}"
    if selection.revision is None:
        sentence = "revisions are told, but not which revision this is"
        hint = f"write revision: {last.revision}"
        say(last.at, where, sentence, "revision-missing", hint)
    elif last.revision > selection.revision:
        sentence = f"this is revision {selection.revision}, but revision {last.revision} is told"
        hint = f"write revision: {last.revision}, or leave the entry out"
        say(last.at, where, sentence, "revision-missing", hint)
