"""The engine's answers as JSON, in the shapes that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from configurator.answers.selling import amount_text, selection_answer
from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options, OptionState
from configurator.engine.conflicts import Conflict, set_aside
from configurator.engine.search import Search
from configurator.engine.ways_out import Fix, Within
from configurator.engine.wording import argument, fix_words, one_line
from configurator.money import Money
from configurator.pricing.whole import Price, price
from configurator.selection.picks import Selection
from configurator.words import plain

__all__ = [
    "completion_answer",
    "fixes_answer",
    "instead_difference",
    "options_answer",
    "reason_for",
    "replaced",
    "why_answer",
    "within_answer",
]


def options_answer(search: Search, found: Options, selection: Selection) -> dict[str, Any]:
    """The state of every option asked about."""
    return {
        "answer": "options",
        "conflict": None
        if found.conflict is None
        else _conflict(search, found.conflict, selection),
        "options": [
            {
                "choice": state.choice,
                "option": state.option,
                "title": search.catalogue.option(state.choice, state.option).title,
                "state": state.state,
                "difference": _amount(instead_difference(search.catalogue, selection, state)),
                "reason": "" if found.conflict else reason_for(search, state),
            }
            for state in found.states
        ],
    }


def reason_for(search: Search, state: OptionState) -> str:
    """Why an option is ruled out, or what could not be settled about it, in one line."""
    if state.gave_up:
        return state.gave_up
    if state.conflict is not None:
        return one_line(search, state.conflict)
    return ""


def instead_difference(
    catalogue: Catalogue, selection: Selection, state: OptionState
) -> Money | None:
    """Price with the option less price with the present pick; None unless it is available instead.

    What depended on the present pick, such as a wish for its place, goes with it.
    """
    if state.state != "instead":
        return None
    other = selection.picking(catalogue, Pick(state.choice, state.option)).tidied()
    return price(catalogue, other).total - price(catalogue, selection).total


def why_answer(
    search: Search,
    wanted: Pick | None,
    conflict: Conflict | None,
    selection: Selection,
    instead: OptionState | None = None,
) -> dict[str, Any]:
    """Why an option, or without one the picks, is not available; or that they are.

    Args:
        search: the catalogue's search.
        wanted: the option asked about.
        conflict: why it is not available.
        selection: the picks.
        instead: the option, where it is available in place of the present pick.
    """
    present = "" if wanted is None else replaced(search.catalogue, selection, wanted)
    difference = None
    if instead is not None:
        difference = instead_difference(search.catalogue, selection, instead)
    return {
        "answer": "why",
        "wanted": "" if wanted is None else str(wanted),
        "possible": conflict is None,
        "instead-of": present,
        "difference": _amount(difference),
        "conflict": None if conflict is None else _conflict(search, conflict, selection),
    }


def replaced(catalogue: Catalogue, selection: Selection, wanted: Pick) -> str:
    """The present pick that the option would replace, as ``choice=option``, or empty."""
    kept = set_aside(catalogue, selection, wanted.choice, wanted.option)
    gone = selection.quantities.keys() - kept.quantities.keys()
    return "".join(f"{choice}={option}" for choice, option in gone)


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
                "selection": selection_answer(fix.selection),
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
        "selection": selection_answer(selection),
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
                "conflict": None if left.conflict is None else _conflict(search, left.conflict),
            }
            for left in found.left_out
        ],
        "selection": None if found.selection is None else selection_answer(found.selection),
    }


def _amount(money: Money | None) -> str | None:
    return None if money is None else amount_text(money)


def _conflict(
    search: Search, conflict: Conflict, selection: Selection | None = None
) -> dict[str, Any]:
    told = argument(search, conflict, selection)
    return {
        "picks": [{"pick": str(pick), "quantity": pick.quantity} for pick in conflict.picks],
        "facts": [{"kind": fact.kind, "subject": fact.subject} for fact in conflict.facts],
        "premises": list(told.premises),
        "conclusion": told.conclusion,
        "hint": told.hint,
    }
