"""A build budget as JSON, in the shape that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from typing import Any

from configurator.budget.build import BudgetGroup, BudgetLine
from configurator.budget.savings import LeastRegret
from configurator.money import Money, exponent, round_to
from configurator.report.budget import BudgetPaper
from configurator.selection.changes import Change
from configurator.words import plain

__all__ = ["budget_answer"]


def budget_answer(paper: BudgetPaper) -> dict[str, Any]:
    """What the whole build comes to, and what would bring it under the limit."""
    reckoning = paper.reckoning
    return {
        "answer": "budget",
        "title": paper.title,
        "customer": paper.customer,
        "day": paper.day,
        "currency": reckoning.currency,
        "shop": [_group(group) for group in reckoning.shop],
        "elsewhere": [_group(group) for group in reckoning.elsewhere],
        "sales": [_line(line) for line in reckoning.sales],
        "contingency": _amount(reckoning.contingency),
        "contingency-percent": plain(reckoning.contingency_percent),
        "to-pay": _amount(reckoning.price.to_pay),
        "from": reckoning.price.is_from,
        "total": _amount(reckoning.total),
        "limit": _amount(reckoning.limit),
        "over": _amount(reckoning.over),
        "over-percent": None if reckoning.share is None else str(reckoning.share),
        "spent": _amount(reckoning.spent),
        "guessed": _amount(reckoning.guessed),
        "kept": list(paper.kept),
        "savings": None
        if paper.helps is None
        else [
            {
                **_change(help_.saving.change),
                "saves": _amount(help_.saving.amount),
                "total": _amount(help_.total),
                "under": help_.under,
            }
            for help_ in paper.helps
        ],
        "plan": _set(paper.plan, paper.plan_total),
        "gave-up": paper.gave_up,
        "no-set-of-changes-does-it": paper.hopeless,
        "lowest": _set(paper.lowest, paper.lowest_total),
    }


def _set(found: LeastRegret | None, total: Money | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "changes": [_change(change) for change in found.changes],
        "saves": _amount(found.amount),
        "total": _amount(total),
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "choice": change.choice,
        "option": change.option,
        "to": change.to,
        "quantity": change.quantity,
        "words": change.words,
    }


def _group(group: BudgetGroup) -> dict[str, Any]:
    return {
        "group": group.id,
        "title": group.title,
        "lines": [_line(line) for line in group.lines],
        "amount": _amount(group.amount),
        "limit": _amount(group.limit),
        "over": _amount(group.over),
        "over-percent": None if group.share is None else str(group.share),
    }


def _line(line: BudgetLine) -> dict[str, Any]:
    return {
        "title": line.title,
        "who": line.who,
        "amount": _amount(line.amount),
        "guessed": line.guessed,
        "spent": line.spent,
    }


def _amount(money: Money | None) -> str | None:
    return None if money is None else str(round_to(money.amount, exponent(money.currency)))
