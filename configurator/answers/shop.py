"""Answers as JSON that are for the shop's eyes only; nothing that makes papers imports this."""

from __future__ import annotations

from typing import Any

from configurator.money import Money, exponent, round_to
from configurator.pricing.margin import Margin

__all__ = ["margin_answer"]


def margin_answer(found: Margin) -> dict[str, Any]:
    """What the shop earns on a price, without tax."""
    return {
        "answer": "margin",
        "currency": found.net.currency,
        "lines": [
            {
                "choice": line.line.choice,
                "option": line.line.option,
                "title": line.line.title,
                "quantity": line.line.quantity,
                "supplier": line.supplier,
                "net": _amount(line.net),
                "cost": _amount(line.cost),
                "margin": _amount(line.margin),
                "percent": None if line.percent is None else str(line.percent),
            }
            for line in found.lines
        ],
        "net": _amount(found.net),
        "cost": _amount(found.cost),
        "margin": _amount(found.margin),
        "percent": None if found.percent is None else str(found.percent),
        "unknown": list(found.unknown),
    }


def _amount(money: Money | None) -> str | None:
    return None if money is None else str(round_to(money.amount, exponent(money.currency)))
