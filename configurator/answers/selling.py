"""Answers as JSON: plain data in the shapes that ``schemas/answers.schema.json`` documents.

Amounts and other exact numbers are text, so that no reader turns them into floats. Nothing here
reads what is for the shop's eyes only.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from configurator.answers.findings import finding_answer
from configurator.answers.layout import box_answer, placement_answer, space_answer
from configurator.answers.ratings import mass_answer, power_answer
from configurator.answers.selection import revisions_answer, selection_answer
from configurator.checking.check import Check, Finding
from configurator.errors import Problem
from configurator.money import Money, exponent, round_to
from configurator.pricing.trace import TracedLine
from configurator.pricing.whole import Line, Price
from configurator.report.comparison import Comparison
from configurator.report.extras import Extra
from configurator.report.placed import DrawnLayout
from configurator.report.quote import Quote
from configurator.suggested import Suggestion
from configurator.totals import LimitState
from configurator.words import plain, used

__all__ = [
    "amount_text",
    "check_answer",
    "comparison_answer",
    "price_answer",
    "problems_answer",
    "quote_answer",
    "refused_answer",
    "to_json",
    "trace_answer",
]


def to_json(answer: dict[str, Any]) -> str:
    """The answer as text, the same for the same answer, with every digit of its numbers."""
    return _written(answer, "\n") + "\n"


def _written(value: Any, line: str) -> str:
    """A value as JSON; ``line`` begins a new line as deep as the value stands.

    The standard library writes no Decimal, and some floats with an exponent.
    """
    if isinstance(value, dict) and value:
        parts = [f"{_written(k, '')}: {_written(v, line + '  ')}" for k, v in value.items()]
        return f"{{{line}  {f',{line}  '.join(parts)}{line}}}"
    if isinstance(value, list | tuple) and value:
        parts = [_written(inner, line + "  ") for inner in value]
        return f"[{line}  {f',{line}  '.join(parts)}{line}]"
    return f"{value:f}" if isinstance(value, Decimal) else json.dumps(value, ensure_ascii=False)


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


def refused_answer(sentences: Iterable[str]) -> dict[str, Any]:
    """Why there is no quote, or why there are no sheets."""
    return {"answer": "refused", "stops": list(sentences)}


def check_answer(checked: Check) -> dict[str, Any]:
    """What a check has to say."""
    return {
        "answer": "check",
        "can-quote": not checked.stops,
        "findings": [finding_answer(finding) for finding in checked.findings],
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
        "cautions": list(checked.beside),
    }


def price_answer(priced: Price, suggested: Sequence[Suggestion] = ()) -> dict[str, Any]:
    """A price, and the add-ons suggested besides it."""
    return {"answer": "price", **_price(priced), "suggestions": _suggestions(suggested)}


def trace_answer(traced: Sequence[TracedLine], priced: Price) -> dict[str, Any]:
    """Where every figure of a price comes from."""
    return {
        "answer": "trace",
        "currency": priced.currency,
        "day": priced.day,
        "lines": [
            {
                **_line(t.line),
                "group": t.group,
                "at": str(t.line.at) if t.line.at.line else "",
                "parts": [
                    {
                        "at": str(part.at) if part.at.line else "",
                        "words": part.words,
                        "amount": f"{part.amount.amount:f}",
                    }
                    for part in t.parts
                ],
                "changes": [
                    {"title": title, "amount": amount_text(amount)} for title, amount in t.changes
                ],
                "left": None if t.left is None else amount_text(t.left),
                "percent": plain(t.percent),
            }
            for t in traced
        ],
        "before-tax": amount_text(priced.tax.before),
        "tax": amount_text(priced.tax.tax),
        "total": amount_text(priced.total),
    }


def quote_answer(quote: Quote) -> dict[str, Any]:
    """A quote, with the selection that it is of."""
    shop, customer = quote.shop, quote.customer
    return {
        "answer": "quote",
        "number": quote.number,
        "date": quote.date.isoformat(),
        "valid-until": quote.valid_until.isoformat(),
        "catalogue": quote.catalogue,
        "catalogue-digest": quote.catalogue_digest,
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
        "can-be-accepted": quote.can_be_accepted,
        "revision": quote.revision,
        "revisions": revisions_answer(quote.history),
        "added": quote.added,
        "layout": None if quote.layout is None else _layout(quote.layout),
        "mass": mass_answer(quote.mass, _of_codes(quote.findings, "rating", "lifting", "seats")),
        "power": power_answer(quote.power, _of_codes(quote.findings, "power")),
        "limits": [_limit(state) for state in quote.limits],
        "suggestions": [_extra(extra) for extra in quote.extras],
        "cautions": list(quote.cautions),
        "notes": list(quote.notes),
        "not-included": list(quote.not_included),
        "terms": list(quote.terms),
        "selection": selection_answer(quote.selection),
    }


def comparison_answer(comparison: Comparison) -> dict[str, Any]:
    """Selections side by side."""
    return {
        "answer": "comparison",
        "currency": comparison.columns[0].price.currency,
        "columns": [
            {
                "title": column.title,
                **_tax(column.price),
                "total": amount_text(column.price.total),
                "difference": amount_text(difference),
                "from": column.price.is_from,
                "mass": None if column.mass is None else plain(used(column.mass)),
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
                "amounts": [None if a is None else amount_text(a) for a in row.amounts],
                "differences": [None if d is None else amount_text(d) for d in row.differences],
            }
            for row in comparison.choices
        ],
        "groups": [
            {"title": title, "amounts": [amount_text(amount) for amount in amounts]}
            for title, amounts in comparison.groups
        ],
        "package-deals": [amount_text(amount) for amount in comparison.deals],
        "adjustments": [amount_text(amount) for amount in comparison.adjustments],
        "roundings": [amount_text(amount) for amount in comparison.roundings],
        "figures": [
            {
                "figure": figure.id,
                "title": figure.title,
                "unit": figure.unit,
                "values": [None if v is None else plain(v) for v in figure.values],
                "differences": [None if d is None else plain(d) for d in figure.differences],
            }
            for figure in comparison.figures
        ],
        "besides": [
            {"has": list(besides.has), "lacks": list(besides.lacks)}
            for besides in comparison.besides
        ],
    }


def amount_text(money: Money) -> str:
    """An amount as text, with the currency's decimals."""
    return str(round_to(money.amount, exponent(money.currency)))


def _limit(state: LimitState) -> dict[str, Any]:
    taken, there, left = state.shown
    return {
        "limit": state.limit.id,
        "title": state.limit.title,
        "unit": state.limit.unit,
        "there": plain(there),
        "used": plain(taken),
        "left": plain(left),
    }


def _line(line: Line) -> dict[str, Any]:
    return {
        "choice": line.choice,
        "option": line.option,
        "title": line.title,
        "text": line.text,
        "quantity": line.quantity,
        "each": None if line.each is None else amount_text(line.each),
        "amount": None if line.amount is None else amount_text(line.amount),
        "tax-rate": line.rate,
        "why-open": line.why_open,
        "notes": list(line.notes),
    }


def _price(priced: Price) -> dict[str, Any]:
    return {
        "currency": priced.currency,
        "day": priced.day,
        "tax-name": priced.tax_name,
        "tax-included": priced.tax_included,
        "groups": [
            {
                "group": group.id,
                "title": group.title,
                "lines": [_line(line) for line in group.lines],
                "subtotal": amount_text(group.subtotal),
            }
            for group in priced.groups
        ],
        "package-deals": [
            {
                "deal": deal.id,
                "title": deal.title,
                "times": deal.times,
                "listed": amount_text(deal.listed),
                "price": amount_text(deal.price),
                "saving": amount_text(deal.saving),
            }
            for deal in priced.deals
        ],
        "adjustments": [
            {"title": a.title, "reason": a.reason, "amount": amount_text(a.amount)}
            for a in priced.adjustments
        ],
        "rounding": amount_text(priced.rounding),
        **_tax(priced),
        "total": amount_text(priced.total),
        "trade-ins": [
            {"title": title, "reason": reason, "amount": amount_text(amount)}
            for title, reason, amount in priced.trade_ins
        ],
        "to-pay": amount_text(priced.to_pay),
        "cash": None if priced.cash is None else amount_text(priced.cash),
        "from": priced.is_from,
        "open": list(priced.open),
        "undecided": list(priced.undecided),
        "payments": [
            {"title": title, "percent": plain(percent), "amount": amount_text(amount)}
            for title, percent, amount in priced.payments
        ],
    }


def _tax(priced: Price) -> dict[str, Any]:
    return {
        "before-tax": amount_text(priced.tax.before),
        "tax": amount_text(priced.tax.tax),
        "tax-by-rate": [
            {"rate": n, "percent": plain(p), "before-tax": amount_text(b), "tax": amount_text(t)}
            for n, p, b, t in priced.tax.by_rate
        ],
    }


def _suggestions(suggested: Sequence[Suggestion]) -> list[dict[str, Any]]:
    return [
        {
            "option": s.line.option,
            "title": s.line.title,
            "because": s.because,
            "price": None if s.line.each is None else amount_text(s.line.each),
            "mass": plain(used(s.mass)),
        }
        for s in suggested
    ]


def _extra(extra: Extra) -> dict[str, Any]:
    takes, power = extra.takes, extra.power
    return {
        **_suggestions([extra.suggestion])[0],
        "adds": plain(extra.adds_kg),
        "payload-left": None if extra.left_kg is None else plain(extra.left_kg),
        "takes": None
        if takes is None
        else {
            "space": takes.space,
            "width": takes.body.width,
            "depth": takes.body.depth,
            "height": takes.body.height,
            "litres": plain(takes.litres),
            "litres-left": None if takes.left is None else plain(takes.left),
        },
        "inside": [
            {"space": title, "length": s.length, "width": s.width, "height": s.height}
            for title, s in extra.inside
        ],
        "on-roof": extra.outside,
        "limits": [
            {
                "title": limit.title,
                "unit": limit.unit,
                "uses": plain(limit.uses),
                "gives": plain(limit.gives),
                "left": plain(limit.left),
            }
            for limit in extra.limits
        ],
        "power": None
        if power is None
        else {
            "daily": plain(power.daily),
            "solar": plain(power.solar),
            "days": None if power.days is None else plain(power.days),
        },
    }


def _layout(drawn: DrawnLayout) -> dict[str, Any]:
    layout = drawn.layout
    placed = zip(drawn.rows, layout.placements, strict=True)
    return {
        "scale": drawn.drawing.scale,
        "placements": [placement_answer(row.title, p) for row, p in placed],
        "spaces": [space_answer(*pair) for pair in zip(drawn.spaces, layout.spaces, strict=True)],
        "open-boxes": [box_answer(box) for box in layout.open_boxes],
    }


def _of_codes(findings: Iterable[Finding], *codes: str) -> list[Finding]:
    return [finding for finding in findings if finding.code in codes]
