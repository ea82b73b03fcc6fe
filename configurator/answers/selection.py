"""A selection as plain data in the shape of a selection file, numbers with all their digits."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from configurator.catalogue.model import ADD_ON, FREE_LINE
from configurator.selection.picks import Budget, BudgetEntry, FreeLine, Revision, Sale, Selection

__all__ = ["revisions_answer", "selection_answer"]


def selection_answer(selection: Selection) -> dict[str, Any]:
    """The selection in the shape of a selection file, so that the quote can be opened again."""
    picks: dict[str, dict[str, int]] = {}
    for (choice, option), quantity in selection.quantities.items():
        picks.setdefault(choice, {})[option] = quantity
    add_ons, free = picks.pop(ADD_ON, {}), picks.pop(FREE_LINE, {})
    data: dict[str, Any] = {"format": 1, "catalogue": selection.catalogue, "picks": picks}
    if selection.title:
        data["title"] = selection.title
    if selection.customer is not None:
        given = {
            "name": selection.customer.name,
            "address": list(selection.customer.address),
            "email": selection.customer.email,
            "phone": selection.customer.phone,
            "vehicle": selection.customer.vehicle,
        }
        data["customer"] = {key: value for key, value in given.items() if value}
    if add_ons:
        data["add-ons"] = add_ons
    if selection.free_lines:
        data["free-lines"] = [
            _free_line(line, free.get(line.id, 1)) for line in selection.free_lines
        ]
    if selection.wishes:
        data["wishes"] = [
            {
                key: value
                for key in ("choice", "option", "side", "towards", "x", "y", "z")
                if (value := getattr(wish, key)) not in ("", None)
            }
            for wish in selection.wishes
        ]
    if selection.adjustments:
        data["adjustments"] = [
            {
                key: _number(value) if isinstance(value, Decimal) else value
                for key in ("title", "reason", "percent", "amount", "group", "line", "approver")
                if (value := getattr(adjustment, key)) not in ("", None)
            }
            for adjustment in selection.adjustments
        ]
    if selection.trade_ins:
        data["trade-ins"] = [
            {"title": t.title, "reason": t.reason, "amount": _number(t.amount)}
            for t in selection.trade_ins
        ]
    if selection.named_prices:
        data["named-prices"] = [
            {"line": n.line, "amount": _number(n.amount), **({"by": n.by} if n.by else {})}
            for n in selection.named_prices
        ]
    if selection.budget is not None and (budget := _budget_section(selection.budget)):
        data["budget"] = budget
    travel = {
        "people": selection.travel.people,
        "tow-ball": selection.travel.tow_ball,
        "trailer": selection.travel.trailer,
        "place": selection.travel.place,
        "season": selection.travel.season,
        "driving": selection.travel.driving,
    }
    said = {
        key: _number(value) if isinstance(value, Decimal) else value
        for key, value in travel.items()
        if value not in ("", None)
    }
    if said:
        data["travel"] = said
    if selection.overrides:
        data["overrides"] = [
            {"subject": o.subject, "name": o.name, "reason": o.reason} for o in selection.overrides
        ]
    if selection.revision is not None:
        data["revision"] = selection.revision
    if selection.revisions:
        data["revisions"] = revisions_answer(selection.revisions)
    if selection.notes:
        data["notes"] = list(selection.notes)
    return data


def _free_line(line: FreeLine, quantity: int) -> dict[str, Any]:
    position = line.position
    given = {
        "id": line.id,
        "title": line.title,
        "price": _number(line.price),
        "tax": line.tax,
        "quantity": quantity,
        "mass": _number(line.mass),
        "group": line.group,
        "position": position
        and {
            "from": position.origin,
            "x": position.x,
            "y": position.y,
            "z": position.z,
            "above": position.above,
            **({} if position.top is None else {"top": position.top}),
        },
        "note": line.note,
    }
    return {key: value for key, value in given.items() if value not in ("", None)}


def _budget_section(budget: Budget) -> dict[str, Any]:
    """The budget in the shape of a selection file; what is nothing is left out."""

    def written(entry: BudgetEntry | Sale) -> dict[str, Any]:
        keys = ("title", "amount", "who", "group", "guessed", "spent", "received")
        given = {key: getattr(entry, key, "") for key in keys}
        return {
            key: _number(value) if isinstance(value, Decimal) else value
            for key, value in given.items()
            if value or key == "amount"
        }

    data = {
        "limit": None if budget.limit is None else _number(budget.limit),
        "limits": {name: _number(amount) for name, amount in budget.limits},
        "contingency": _number(budget.contingency),
        "entries": [written(entry) for entry in budget.entries],
        "sales": [written(sale) for sale in budget.sales],
        "keep": list(budget.keep),
    }
    return {key: value for key, value in data.items() if value}


def _number(value: Decimal) -> int | Decimal:
    """A JSON number with the Decimal's digits."""
    return int(value) if value == value.to_integral_value() else value


def revisions_answer(history: Iterable[Revision]) -> list[dict[str, Any]]:
    """What changed in each revision."""
    return [{"revision": r.revision, "date": r.date, "what": r.what} for r in history]
