"""Bars of money as SVG: one user unit is one mm on paper.

Plain rectangles and text with attributes, as papers need them (no style sheet, no pattern). What a
picture says stands in a table beside it as well, because an SVG is not read out.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from markupsafe import Markup, escape

from configurator.render.language import Language
from configurator.report.model import Bar, Chart
from configurator.words import text

__all__ = ["bars_svg"]

_INK, _SOFT = "#1a1a1a", "#888888"
_NUMBER, _ROW, _BASE = 28, 5, Decimal("3.5")
_LONGEST = 40


def bars_svg(
    chart: Chart,
    bars: Sequence[Bar],
    title: str,
    width: int,
    label: int,
    fill: str,
    language: Language,
) -> Markup:
    """Bars under each other, to the scale of their chart; its limit is a line across them.

    Args:
        chart: that they are of.
        bars: from the top.
        title: what the picture shows; read out in its place.
        width: of the picture, mm.
        label: room for what stands before a bar, mm.
        fill: colour of a bar.
        language: of the paper.
    """
    room, longest, limit = width - label - _NUMBER, chart.longest, chart.limit

    def place(amount: Decimal) -> Decimal:
        return label + (amount * room / longest if longest > 0 else Decimal(0))

    parts = []
    for index, bar in enumerate(bars):
        top = index * _ROW
        low, high = place(bar.low), place(bar.high)
        words = language.say(bar.label)
        parts.append(_words(0, top + _BASE, _short(words)))
        parts.append(_rectangle(low, top + 1, high - low, fill, bar.hollow))
        parts.append(_words(width, top + _BASE, language.amount(bar.amount), "end"))
    tall = len(bars) * _ROW
    if limit is not None:
        at = place(limit.amount)
        line = '<line x1="{x}" y1="0" x2="{x}" y2="{y}" stroke="{ink}" stroke-width="0.6"/>'
        parts.append(Markup(line).format(x=_mm(at), y=tall, ink=_INK))
        words = language.say(text("limit {amount:amount}", amount=limit))
        parts.append(_words(at, tall + _BASE, words, "middle"))
        tall += _ROW
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{w}mm" height="{h}mm"'
        ' viewBox="0 0 {w} {h}"><title>{title}</title>{parts}</svg>'
    ).format(w=width, h=tall, title=escape(title), parts=Markup("").join(parts))


def _short(words: str) -> str:
    return words if len(words) <= _LONGEST else words[: _LONGEST - 1] + "…"


def _mm(size: Decimal | int) -> str:
    return f"{Decimal(size):.2f}"


def _words(x: Decimal | int, y: Decimal, words: str, anchor: str = "start") -> Markup:
    return Markup(
        '<text x="{x}" y="{y}" font-family="Paper, sans-serif" font-size="3.0" fill="{ink}"'
        ' text-anchor="{anchor}">{words}</text>'
    ).format(x=_mm(x), y=_mm(y), ink=_INK, anchor=anchor, words=words)


def _rectangle(x: Decimal, y: int, width: Decimal, fill: str, hollow: bool) -> Markup:
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
