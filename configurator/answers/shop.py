"""Answers as JSON for the shop's eyes only; nothing that makes a customer's papers imports this."""

from __future__ import annotations

from typing import Any

from configurator.answers.sheets import head_answer
from configurator.money import Money, exponent, round_to
from configurator.pricing.margin import Margin
from configurator.report.orders import OrderGroup, OrderList
from configurator.words import plain

__all__ = ["margin_answer", "orders_answer"]


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


def orders_answer(orders: OrderList) -> dict[str, Any]:
    """The order list; its costs are null where they are not asked for."""
    return {
        "answer": "orders",
        **head_answer(orders.head),
        "with-cost": orders.with_cost,
        "currency": orders.currency,
        "groups": [_group(group) for group in orders.groups],
        "bare": list(orders.bare),
        "cost": _amount(orders.cost),
        "unknown": list(orders.unknown),
    }


def _group(group: OrderGroup) -> dict[str, Any]:
    return {
        "supplier": group.supplier,
        "from-catalogue": group.listed,
        "parts": [
            {
                "code": row.code,
                "titles": list(row.titles),
                "picks": list(row.picks),
                "quantity": row.quantity,
                "measures": [{"size": plain(size), "unit": unit} for size, unit in row.measures],
                "cost": _amount(row.cost),
            }
            for row in group.rows
        ],
        "cost": _amount(group.cost),
        "unknown": list(group.unknown),
    }


def _amount(money: Money | None) -> str | None:
    return None if money is None else str(round_to(money.amount, exponent(money.currency)))
