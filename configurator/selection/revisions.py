"""The history of a quote: which revision a selection is, and what changed from one to the next."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated

from attrs import frozen

from configurator.catalogue.fields import Day, written_at
from configurator.errors import Location
from configurator.forms import form
from configurator.shapes import asks, up_to

if TYPE_CHECKING:
    from configurator.selection.picks import Selection

__all__ = ["Revision", "revision_problems"]


@form(hidden="at")
@frozen
class Revision:
    """One issue of a quote."""

    revision: Annotated[
        int, "Its number, at most the one that this is.", asks(minimum=1, maximum=999)
    ]
    date: Annotated[Day, "Day of issue, YYYY-MM-DD."]
    what: Annotated[str, "What changed, as part of a sentence.", up_to(300)]
    at: Location = written_at()


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
