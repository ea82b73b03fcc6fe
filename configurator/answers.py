"""Answers as JSON: plain data in the shapes that ``schemas/answers.schema.json`` documents.

Amounts and other exact numbers are text, so that no reader turns them into floats. Nothing here
reads what is for the shop's eyes only.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from configurator.catalogue.model import ADD_ON
from configurator.check import Check, Finding
from configurator.compare import Comparison
from configurator.errors import Problem
from configurator.money import Money, exponent, round_to
from configurator.papers.quote import Quote
from configurator.pricing import Line, Price
from configurator.selection import Selection
from configurator.suggestions import Suggestion
from configurator.totals import LimitState
from configurator.words import plain

__all__ = [
    "check_answer",
    "comparison_answer",
    "price_answer",
    "problems_answer",
    "quote_answer",
    "to_json",
]


def to_json(answer: dict[str, Any]) -> str:
    """The answer as text, the same for the same answer."""
    return json.dumps(answer, indent=2, ensure_ascii=False) + "\n"


def problems_answer(problems: Iterable[Problem]) -> dict[str, Any]:
    """What is wrong with a catalogue or selection."""
    return {
        "answer": "problems",
        "problems": [
            {
                "file": p.at.file,
                "line": p.at.line,
                "column": p.at.column,
                "level": p.level,
                "code": p.code,
                "sentence": p.sentence,
                "hint": p.hint,
            }
            for p in problems
        ],
    }


def check_answer(checked: Check) -> dict[str, Any]:
    """What a check has to say."""
    return {
        "answer": "check",
        "can-quote": not checked.stops,
        "findings": [_finding(finding) for finding in checked.findings],
        "limits": [_limit(state) for state in checked.limits],
        "units": [
            {
                "unit": f"{fit.choice}={fit.option.id}",
                "title": fit.option.title,
                "fits": fit.fits,
                "side": fit.side,
                "interior": {
                    "length": fit.interior.length,
                    "width": fit.interior.width,
                    "height": fit.interior.height,
                },
            }
            for fit in checked.fits
        ],
    }


def price_answer(priced: Price, suggested: Sequence[Suggestion] = ()) -> dict[str, Any]:
    """A price, and the add-ons suggested besides it."""
    return {"answer": "price", **_price(priced), "suggestions": _suggestions(suggested)}


def quote_answer(quote: Quote) -> dict[str, Any]:
    """A quote, with the selection that it is of."""
    shop, customer = quote.shop, quote.customer
    return {
        "answer": "quote",
        "number": quote.number,
        "date": quote.date.isoformat(),
        "valid-until": quote.valid_until.isoformat(),
        "catalogue": quote.catalogue,
        "title": quote.title,
        "shop": {
            "name": shop.name,
            "address": list(shop.address),
            "email": shop.email,
            "phone": shop.phone,
            "web": shop.web,
            "registration": shop.registration,
        },
        "customer": {
            "name": customer.name,
            "address": list(customer.address),
            "email": customer.email,
            "phone": customer.phone,
            "vehicle": customer.vehicle,
        },
        "vehicle": quote.vehicle,
        "price": _price(quote.price),
        "mass": quote.mass,
        "limits": [_limit(state) for state in quote.limits],
        "suggestions": _suggestions(quote.suggestions),
        "cautions": list(quote.cautions),
        "notes": list(quote.notes),
        "not-included": list(quote.not_included),
        "terms": list(quote.terms),
        "selection": _selection(quote.selection),
    }


def comparison_answer(comparison: Comparison) -> dict[str, Any]:
    """Selections side by side."""
    return {
        "answer": "comparison",
        "currency": comparison.columns[0].price.currency,
        "columns": [
            {
                "title": column.title,
                "total": _amount(column.price.total),
                "difference": _amount(difference),
                "from": column.price.is_from,
                "mass": None if column.mass is None else plain(column.mass),
                "limits": [_limit(state) for state in column.limits],
                "stops": list(column.stops),
            }
            for column, difference in zip(comparison.columns, comparison.differences, strict=True)
        ],
        "choices": [
            {
                "choice": row.choice,
                "title": row.title,
                "group": row.group,
                "differs": row.differs,
                "has": [list(titles) for titles in row.has],
                "amounts": [None if amount is None else _amount(amount) for amount in row.amounts],
            }
            for row in comparison.choices
        ],
        "groups": [
            {"title": title, "amounts": [_amount(amount) for amount in amounts]}
            for title, amounts in comparison.groups
        ],
        "package-deals": [_amount(amount) for amount in comparison.deals],
        "adjustments": [_amount(amount) for amount in comparison.adjustments],
    }


def _amount(money: Money) -> str:
    return str(round_to(money.amount, exponent(money.currency)))


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "level": finding.level,
        "code": finding.code,
        "subject": finding.subject,
        "sentence": finding.sentence,
        "reason": finding.reason,
        "hint": finding.hint,
        "numbers": {name: plain(number) for name, number in finding.numbers},
        "at": str(finding.at) if finding.at.line else "",
    }


def _limit(state: LimitState) -> dict[str, Any]:
    return {
        "limit": state.limit.id,
        "title": state.limit.title,
        "unit": state.limit.unit,
        "there": plain(state.given),
        "used": plain(state.used),
        "left": plain(state.left),
    }


def _line(line: Line) -> dict[str, Any]:
    return {
        "choice": line.choice,
        "option": line.option,
        "title": line.title,
        "text": line.text,
        "quantity": line.quantity,
        "each": None if line.each is None else _amount(line.each),
        "amount": None if line.amount is None else _amount(line.amount),
        "tax-rate": line.rate,
        "why-open": line.why_open,
        "notes": list(line.notes),
    }


def _price(priced: Price) -> dict[str, Any]:
    return {
        "currency": priced.currency,
        "tax-name": priced.tax_name,
        "tax-included": priced.tax_included,
        "groups": [
            {
                "group": group.id,
                "title": group.title,
                "lines": [_line(line) for line in group.lines],
                "subtotal": _amount(group.subtotal),
            }
            for group in priced.groups
        ],
        "package-deals": [
            {
                "deal": deal.id,
                "title": deal.title,
                "listed": _amount(deal.listed),
                "price": _amount(deal.price),
                "saving": _amount(deal.saving),
            }
            for deal in priced.deals
        ],
        "adjustments": [
            {"title": a.title, "reason": a.reason, "amount": _amount(a.amount)}
            for a in priced.adjustments
        ],
        "before-tax": _amount(priced.tax.before),
        "tax": _amount(priced.tax.tax),
        "tax-by-rate": [
            {"rate": n, "percent": plain(p), "before-tax": _amount(b), "tax": _amount(t)}
            for n, p, b, t in priced.tax.by_rate
        ],
        "total": _amount(priced.total),
        "from": priced.is_from,
        "open": list(priced.open),
        "undecided": list(priced.undecided),
        "payments": [
            {"title": title, "percent": plain(percent), "amount": _amount(amount)}
            for title, percent, amount in priced.payments
        ],
    }


def _suggestions(suggested: Sequence[Suggestion]) -> list[dict[str, Any]]:
    return [
        {
            "option": s.line.option,
            "title": s.line.title,
            "because": s.because,
            "price": None if s.line.each is None else _amount(s.line.each),
            "mass": plain(s.mass),
        }
        for s in suggested
    ]


def _selection(selection: Selection) -> dict[str, Any]:
    """The selection in the shape of a selection file, so that the quote can be opened again."""
    picks: dict[str, dict[str, int]] = {}
    for (choice, option), quantity in selection.quantities.items():
        picks.setdefault(choice, {})[option] = quantity
    add_ons = picks.pop(ADD_ON, {})
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
                for key in ("title", "reason", "percent", "amount", "group", "line")
                if (value := getattr(adjustment, key)) not in ("", None)
            }
            for adjustment in selection.adjustments
        ]
    if selection.notes:
        data["notes"] = list(selection.notes)
    return data


def _number(value: Decimal) -> int | float:
    """A JSON number with the Decimal's digits; reading takes no more than a float holds exactly."""
    return int(value) if value == value.to_integral_value() else float(value)
