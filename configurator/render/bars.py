"""Bar pictures of money as SVG: one user unit is one mm on paper.

Plain rectangles and text with attributes, as papers need them (no style sheet, no pattern). What a
picture says stands in a table beside it as well, because an SVG is not read out.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from attrs import frozen
from markupsafe import Markup, escape

from configurator.money import Money
from configurator.render.language import Language
from configurator.words import text

__all__ = ["Bar", "BuildUp", "bar_picture", "build_up_picture"]

_TEXT = Decimal("3.0")
_INK, _SOFT = "#1a1a1a", "#888888"


@frozen
class Bar:
    """One bar: its label and its amount; an amount below zero is drawn hollow."""

    label: str
    amount: Money


@frozen
class BuildUp:
    """One step of a build-up: what it adds, or takes off when it is below zero.

    Attributes:
        label: what it is.
        amount: what it adds.
        firm: known rather than guessed; what is guessed is drawn hollow.
    """

    label: str
    amount: Money
    firm: bool = True


def bar_picture(
    title: str,
    bars: Sequence[Bar],
    largest: Decimal,
    width: int,
    fill: str,
    language: Language,
) -> Markup:
    """Bars under each other, all pictures with the same ``largest`` to the same scale.

    Args:
        title: what the picture shows; read out in its place.
        bars: from the top.
        largest: the amount that takes the whole length.
        width: of the picture, mm.
        fill: colour of a bar.
        language: that the paper speaks.
    """
    label, number, row = 20, 30, 5
    room = width - label - number
    parts = []
    for index, bar in enumerate(bars):
        top = index * row
        size = _length(abs(bar.amount.amount), largest, room)
        parts.append(_words(0, top + Decimal("3.5"), bar.label))
        parts.append(_rectangle(Decimal(label), top + 1, size, fill, bar.amount.amount < 0))
        parts.append(_words(label + size + 2, top + Decimal("3.5"), language.amount(bar.amount)))
    return _picture(title, width, len(bars) * row, parts)


def build_up_picture(
    title: str,
    steps: Sequence[BuildUp],
    limit: Money | None,
    width: int,
    fill: str,
    language: Language,
) -> Markup:
    """Steps that build up to a total, each beginning where the last ended, against the limit."""
    label, number, row = 62, 26, 5
    reached = high = Decimal(0)
    for step in steps:
        reached += step.amount.amount
        high = max(high, reached)
    high = max(high, limit.amount if limit is not None else Decimal(0))
    room = width - label - number
    parts = []
    at = Decimal(0)
    for index, step in enumerate(steps):
        top = index * row
        after = at + step.amount.amount
        start = _length(max(min(at, after), Decimal(0)), high, room)
        end = _length(max(at, after, Decimal(0)), high, room)
        hollow = step.amount.amount < 0 or not step.firm
        parts.append(_words(0, top + Decimal("3.5"), _short(step.label)))
        parts.append(_rectangle(label + start, top + 1, end - start, fill, hollow))
        shown = language.amount(step.amount)
        parts.append(_words(width, top + Decimal("3.5"), shown, anchor="end"))
        at = after
    tall = len(steps) * row
    if limit is not None:
        place = _mm(label + _length(limit.amount, high, room))
        parts.append(
            Markup(
                '<line x1="{x}" y1="0" x2="{x}" y2="{y}" stroke="{ink}" stroke-width="0.6"/>'
            ).format(x=place, y=tall, ink=_INK)
        )
        limited = language.say(text("limit {amount}", amount=language.amount(limit)))
        parts.append(_words(Decimal(place), tall + Decimal("3.5"), limited, anchor="middle"))
        tall += row
    return _picture(title, width, tall, parts)


def _length(part: Decimal, whole: Decimal, room: int) -> Decimal:
    return part * room / whole if whole > 0 else Decimal(0)


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"


def _mm(size: Decimal | int) -> str:
    return f"{Decimal(size):.2f}"


def _words(x: Decimal | int, y: Decimal, text: str, anchor: str = "start") -> Markup:
    return Markup(
        '<text x="{x}" y="{y}" font-family="Paper, sans-serif" font-size="{size}" fill="{ink}"'
        ' text-anchor="{anchor}">{text}</text>'
    ).format(x=_mm(x), y=_mm(y), size=_TEXT, ink=_INK, anchor=anchor, text=text)


def _rectangle(x: Decimal, y: Decimal | int, width: Decimal, fill: str, hollow: bool) -> Markup:
    return Markup(
        '<rect x="{x}" y="{y}" width="{width}" height="3.00" fill="{fill}" stroke="{edge}"'
        ' stroke-width="0.20"/>'
    ).format(
        x=_mm(x),
        y=_mm(y),
        width=_mm(max(width, Decimal("0.1"))),
        fill="#ffffff" if hollow else fill,
        edge=_SOFT if hollow else fill,
    )


def _picture(title: str, width: int, height: int, parts: Sequence[Markup]) -> Markup:
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{w}mm" height="{h}mm"'
        ' viewBox="0 0 {w} {h}"><title>{title}</title>{parts}</svg>'
    ).format(w=width, h=height, title=escape(title), parts=Markup("").join(parts))
