"""Answers as JSON: plain data in the shapes that ``schemas/answers.schema.json`` documents.

Amounts and other exact numbers are text, so that no reader turns them into floats. Nothing here
reads what is for the shop's eyes only.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configurator.answers.data import amount_text, selection_data, to_data
from configurator.answers.layout import box_answer, placement_answer, space_answer
from configurator.answers.ratings import mass_answer, power_answer
from configurator.checking.check import Finding
from configurator.pricing.whole import Price
from configurator.report.comparison import Comparison
from configurator.report.extras import Extra
from configurator.report.placed import DrawnLayout
from configurator.report.quote import Quote
from configurator.words import plain, used

__all__ = [
    "comparison_answer",
    "quote_answer",
]


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
        "price": to_data(quote.price),
        "can-be-accepted": quote.can_be_accepted,
        "revision": quote.revision,
        "revisions": to_data(quote.history),
        "added": quote.added,
        "layout": None if quote.layout is None else _layout(quote.layout),
        "mass": mass_answer(quote.mass, _of_codes(quote.findings, "rating", "lifting", "seats")),
        "power": power_answer(quote.power, _of_codes(quote.findings, "power")),
        "limits": [to_data(state) for state in quote.limits],
        "suggestions": [_extra(extra) for extra in quote.extras],
        "cautions": list(quote.cautions),
        "notes": list(quote.notes),
        "not-included": list(quote.not_included),
        "terms": list(quote.terms),
        "selection": selection_data(quote.selection),
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
                "limits": [to_data(state) for state in column.limits],
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


def _tax(priced: Price) -> dict[str, Any]:
    return {
        "before-tax": amount_text(priced.tax.before),
        "tax": amount_text(priced.tax.tax),
        "tax-by-rate": [
            {"rate": n, "percent": plain(p), "before-tax": amount_text(b), "tax": amount_text(t)}
            for n, p, b, t in priced.tax.by_rate
        ],
    }


def _extra(extra: Extra) -> dict[str, Any]:
    takes, power = extra.takes, extra.power
    return {
        **to_data(extra.suggestion),
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
