"""The engine's answers as JSON, in the shapes that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configurator.answers.data import amount_text, selection_data
from configurator.catalogue.model import Pick
from configurator.engine.answers import (
    Argument,
    Completion,
    Explanation,
    Fixes,
    OptionsAnswer,
    WithinAnswer,
)
from configurator.money import Money
from configurator.words import plain

__all__ = [
    "completion_answer",
    "explanation_answer",
    "fixes_answer",
    "options_answer",
    "within_answer",
]


def options_answer(found: OptionsAnswer) -> dict[str, Any]:
    """The state of every option asked about."""
    return {
        "answer": "options",
        "conflict": _conflict(found.conflict),
        "options": [
            {
                "choice": option.choice,
                "option": option.option,
                "title": option.title,
                "state": option.state,
                "difference": _amount(option.difference),
                "reason": option.reason,
            }
            for option in found.options
        ],
    }


def explanation_answer(found: Explanation) -> dict[str, Any]:
    """Why an option, or without one the picks, is not available; or that it is."""
    return {
        "answer": "explain",
        "wanted": "" if found.wanted is None else str(found.wanted),
        "instead-of": "" if found.instead_of is None else str(found.instead_of),
        "possible": found.possible,
        "difference": _amount(found.difference),
        "conflict": _conflict(found.conflict),
    }


def fixes_answer(found: Fixes) -> dict[str, Any]:
    """The best few changes."""
    return {
        "answer": "fixes",
        "currency": found.currency,
        "fixes": [
            {
                "words": fix.words,
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
            for fix in found.fixes
        ],
    }


def completion_answer(found: Completion) -> dict[str, Any]:
    """The best complete selection."""
    return {
        "answer": "completion",
        "prefer": found.prefer,
        "currency": found.price.currency,
        "total": amount_text(found.price.total),
        "mass": None if found.mass is None else plain(found.mass),
        "added": _picks(found.added),
        "selection": selection_data(found.selection),
    }


def within_answer(found: WithinAnswer) -> dict[str, Any]:
    """The most of a wish list that a budget allows."""
    return {
        "answer": "within",
        "currency": found.budget.currency,
        "total": _amount(found.total),
        "granted": [str(wish) for wish in found.granted],
        "left-out": [
            {
                "wish": str(left.wish),
                "over": _amount(left.over),
                "conflict": _conflict(left.conflict),
            }
            for left in found.left_out
        ],
        "added": _picks(found.added),
        "selection": None if found.selection is None else selection_data(found.selection),
    }


def _picks(picks: Iterable[Pick]) -> list[dict[str, Any]]:
    return [{"pick": str(pick), "quantity": pick.quantity} for pick in picks]


def _amount(money: Money | None) -> str | None:
    return None if money is None else amount_text(money)


def _conflict(told: Argument | None) -> dict[str, Any] | None:
    if told is None:
        return None
    return {
        "picks": _picks(told.picks),
        "facts": [{"kind": fact.kind, "subject": fact.subject} for fact in told.facts],
        "premises": list(told.premises),
        "conclusion": told.conclusion,
        "hint": told.hint,
    }
