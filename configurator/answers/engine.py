"""The engine's answers as JSON, in the shapes that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from configurator.answers.data import amount_text, selection_data
from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options, OptionState
from configurator.engine.conflicts import Conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import Fix, Within
from configurator.engine.wording import argument, fix_words, one_line
from configurator.money import Money
from configurator.pricing.whole import Price
from configurator.selection.picks import Selection
from configurator.words import plain

__all__ = [
    "completion_answer",
    "fixes_answer",
    "options_answer",
    "reason_for",
    "why_answer",
    "within_answer",
]


def options_answer(search: Search, found: Options, selection: Selection) -> dict[str, Any]:
    """The state of every option asked about."""
    return {
        "answer": "options",
        "conflict": None
        if found.conflict is None
        else _conflict(search.catalogue, found.conflict, whole=True),
        "options": [
            {
                "choice": state.choice,
                "option": state.option,
                "title": search.catalogue.option(state.choice, state.option).title,
                "state": state.state,
                "difference": None if state.difference is None else amount_text(state.difference),
                "reason": reason_for(search, state),
            }
            for state in found.states
        ],
    }


def reason_for(search: Search, state: OptionState) -> str:
    """Why an option is ruled out, or what could not be settled about it, in one line."""
    if state.gave_up:
        return state.gave_up
    return "" if state.conflict is None else one_line(search.catalogue, state.conflict)


def why_answer(
    search: Search,
    wanted: Pick | None,
    conflict: Conflict | None,
    selection: Selection,
    replaced: Pick | None = None,
    difference: Money | None = None,
) -> dict[str, Any]:
    """Why an option, or without one the picks, is not available; or that it is.

    Args:
        search: the catalogue's search.
        wanted: the option asked about.
        conflict: why not, if so.
        selection: what the conflict was found in.
        replaced: the pick of the same choice that was set aside for the question, if any.
        difference: what the option in its place would do to the total, where it is available.
    """
    return {
        "answer": "why",
        "wanted": "" if wanted is None else str(wanted),
        "instead-of": "" if replaced is None else str(replaced),
        "possible": conflict is None,
        "difference": None if difference is None else amount_text(difference),
        "conflict": None if conflict is None else _conflict(search.catalogue, conflict, whole=True),
    }


def fixes_answer(catalogue: Catalogue, found: Sequence[Fix]) -> dict[str, Any]:
    """The best few changes."""
    return {
        "answer": "fixes",
        "currency": catalogue.currency,
        "fixes": [
            {
                "words": fix_words(catalogue, fix),
                "changes": [
                    {
                        "choice": change.choice,
                        "before": dict(change.before),
                        "after": dict(change.after),
                    }
                    for change in fix.changes
                ],
                "count": fix.count,
                "difference": amount_text(fix.difference),
                "selection": selection_data(fix.selection),
            }
            for fix in found
        ],
    }


def completion_answer(
    prefer: str, selection: Selection, priced: Price, added: Sequence[Pick], mass: Any
) -> dict[str, Any]:
    """The best complete selection."""
    return {
        "answer": "completion",
        "prefer": prefer,
        "currency": priced.currency,
        "total": amount_text(priced.total),
        "mass": None if mass is None else plain(mass),
        "added": [{"pick": str(pick), "quantity": pick.quantity} for pick in added],
        "selection": selection_data(selection),
    }


def within_answer(search: Search, currency: str, found: Within) -> dict[str, Any]:
    """The most of a wish list that a budget allows."""
    return {
        "answer": "within",
        "currency": currency,
        "total": None if found.total is None else amount_text(found.total),
        "granted": [str(wish) for wish in found.granted],
        "left-out": [
            {
                "wish": str(left.wish),
                "over": None if left.over is None else amount_text(left.over),
                "conflict": None
                if left.conflict is None
                else _conflict(search.catalogue, left.conflict),
            }
            for left in found.left_out
        ],
        "added": [{"pick": str(pick), "quantity": pick.quantity} for pick in found.added],
        "selection": None if found.selection is None else selection_data(found.selection),
    }


def _conflict(catalogue: Catalogue, conflict: Conflict, whole: bool = False) -> dict[str, Any]:
    told = argument(catalogue, conflict, whole)
    return {
        "picks": [{"pick": str(pick), "quantity": pick.quantity} for pick in conflict.picks],
        "facts": [{"kind": fact.kind, "subject": fact.subject} for fact in conflict.facts],
        "premises": list(told.premises),
        "conclusion": told.conclusion,
        "hint": told.hint,
    }
