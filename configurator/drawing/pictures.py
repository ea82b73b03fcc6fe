"""The two small pictures: loads as bars against their ratings, and the charge over a stay.

SVG text, one user unit one millimetre on paper. Colour never says anything alone: what is exceeded
is hatched, curves differ by their dashes, and every number stands beside its bar in words.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from html import escape

from configurator.checking.ratings import kilograms
from configurator.mass.states import Bar, MassPicture
from configurator.power.charge_curve import START, Curve
from configurator.power.summary import PowerPicture
from configurator.words import plain

__all__ = ["charge_svg", "mass_svg"]

_INK, _SOFT, _FILL, _OVER = "#222222", "#767676", "#1f4e5f", "#9c1c1c"
_FONT = "Source Sans Pro, Arial, sans-serif"
_WIDTH = 170
_LABEL, _TRACK = 24, 76
_MOST = Fraction(5, 4)
"""How far a bar may stand out over its rating before it is cut, as a share of the rating."""

_LABELS = {
    "front-axle": "Front axle",
    "rear-axle": "Rear axle",
    "gvm": "Vehicle",
    "tow-ball": "Tow ball",
    "gcm": "With trailer",
}


def mass_svg(picture: MassPicture) -> str:
    """Every load against its rating, by state. The line at the end of each track is the rating."""
    parts: list[str] = []
    y = 4.0
    for state in picture.states:
        parts.append(_text(0, y, state.title, 3.4, weight="bold"))
        y += 2.4
        for bar in state.bars:
            parts += _bar(y, bar)
            y += 6.2
        y += 4.6
    title = f"Loads against ratings, {picture.vehicle}"
    return _svg(title, y - 4, "\n".join(parts))


def _bar(y: float, bar: Bar) -> Iterator[str]:
    track = _TRACK / float(_MOST)
    share = max(Fraction(0), min(bar.load / bar.rating if bar.rating else _MOST, _MOST))
    whole = min(share, Fraction(1))
    length, over = float(whole) * track, float(share - whole) * track
    yield _text(0, y + 3.3, _LABELS.get(bar.subject, bar.subject), 3.0)
    yield _box(_LABEL, y, track, 4.2, "none", _SOFT)
    if length:
        yield _box(_LABEL, y, length, 4.2, _FILL if not over else _OVER, "none")
    if over:
        yield _box(_LABEL + track, y, over, 4.2, "none", _OVER)
        yield _hatch(_LABEL + track, y, over, 4.2)
    yield _line(_LABEL + track, y - 0.7, _LABEL + track, y + 4.9, _INK, 0.5)
    load = "lifted" if bar.load < 0 else kilograms(bar.load)
    rest = f"{kilograms(bar.left)} kg left"
    if bar.left < 0:
        rest = f"{kilograms(-bar.left, up=True)} kg too much"
    words = f"{load} of {kilograms(bar.rating)} kg, {rest}"
    colour, weight = (_OVER, "bold") if bar.left < 0 else (_INK, "normal")
    yield _text(_LABEL + _TRACK + 3, y + 3.3, words, 2.9, colour=colour, weight=weight)


def _hatch(x: float, y: float, width: float, height: float) -> str:
    """Slanted lines within a box, as one path."""
    step, lines = 1.4, []
    at = -height
    while at < width:
        low, high = max(0.0, at), min(width, at + height)
        lines.append(f"M{_n(x + low)} {_n(y + low - at)}L{_n(x + high)} {_n(y + high - at)}")
        at += step
    return f'<path d="{"".join(lines)}" stroke="{_OVER}" stroke-width="0.35" fill="none"/>'


_LEFT, _TOP, _RIGHT, _PLOT = 14.0, 6.0, 4.0, 52.0
_DASHES = ("", "3 1.5", "0.8 1.2", "5 1.2 0.8 1.2")
_STEPS = (5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)


def charge_svg(picture: PowerPicture) -> str:
    """The charge over three days, with and without what charges; the floor is what must stay."""
    if not picture.curves or not picture.capacity:
        return _svg("Charge of the battery", 8, _text(0, 5, "No battery is picked.", 3.4))
    hours = len(picture.curves[0].charge) - 1
    parts = [
        *_nights(hours),
        *_scale(picture.capacity),
        *_days(hours),
        *_floor(picture, hours),
        *(_curve(curve, i, picture.capacity) for i, curve in enumerate(picture.curves)),
        *_legend(picture.curves),
    ]
    height = _TOP + _PLOT + 8 + 5 * len(picture.curves) + 1
    return _svg("Charge of the battery over three days", height, "\n".join(parts))


def _x(hour: float, hours: int) -> float:
    return _LEFT + (_WIDTH - _LEFT - _RIGHT) * hour / hours


def _y(charge: Decimal, capacity: Decimal) -> float:
    return _TOP + _PLOT * (1 - float(charge / capacity))


def _nights(hours: int) -> Iterator[str]:
    for hour in range(-24, hours + 1):
        if (START + hour) % 24 == START:
            begin, end = max(0, hour), min(hours, hour + 12)
            if begin < end:
                x = _x(begin, hours)
                yield _box(x, _TOP, _x(end, hours) - x, _PLOT, "#ececec", "none")


def _scale(capacity: Decimal) -> Iterator[str]:
    step = next((s for s in _STEPS if capacity / s <= 6), _STEPS[-1])
    for charge in range(0, int(capacity) + 1, step):
        y = _y(Decimal(charge), capacity)
        yield _line(_LEFT, y, _WIDTH - _RIGHT, y, "#c4c4c4", 0.15)
        yield _text(_LEFT - 1.5, y + 1, str(charge), 2.8, anchor="end")
    yield _text(_LEFT - 1.5, _TOP - 2.2, "Ah", 2.8, anchor="end")


def _days(hours: int) -> Iterator[str]:
    for hour in range(0, hours + 1, 6):
        time = (START + hour) % 24
        x = _x(hour, hours)
        if time in (0, 6, 12, 18):
            yield _line(x, _TOP + _PLOT, x, _TOP + _PLOT + 1, _SOFT, 0.25)
            if time in (6, 18):
                yield _text(x, _TOP + _PLOT + 4, f"{time:02}:00", 2.6, anchor="middle")
    yield _line(_LEFT, _TOP + _PLOT, _WIDTH - _RIGHT, _TOP + _PLOT, _INK, 0.3)


def _floor(picture: PowerPicture, hours: int) -> Iterator[str]:
    y = _y(picture.capacity - picture.usable, picture.capacity)
    yield _line(_LEFT, y, _x(hours, hours), y, _OVER, 0.4)
    words = "what must stay in the battery"
    yield _text(_WIDTH - _RIGHT - 1, y + 3.2, words, 2.6, anchor="end", colour=_OVER)


def _curve(curve: Curve, index: int, capacity: Decimal) -> str:
    hours = len(curve.charge) - 1
    points = " ".join(
        f"{_n(_x(hour, hours))},{_n(_y(charge, capacity))}"
        for hour, charge in enumerate(curve.charge)
    )
    return f'<polyline points="{points}" fill="none" {_pen(index)}/>'


def _pen(index: int) -> str:
    dash = _DASHES[index % len(_DASHES)]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'stroke="{_FILL}" stroke-width="0.7"{dashes}'


def _legend(curves: tuple[Curve, ...]) -> Iterator[str]:
    for index, curve in enumerate(curves):
        y = _TOP + _PLOT + 9 + 5 * index
        said = f"used up after {_span(curve.empty_after)}" if curve.empty_after else "lasts"
        yield f'<path d="M{_n(_LEFT)} {_n(y - 1)}H{_n(_LEFT + 12)}" fill="none" {_pen(index)}/>'
        yield _text(_LEFT + 14, y, f"{curve.title}: {said}", 2.9)


def _span(hours: int) -> str:
    parts = [(hours // 24, "day"), (hours % 24, "hour")]
    return " and ".join(f"{n} {word}{'s' if n > 1 else ''}" for n, word in parts if n)


def _svg(title: str, height: float, body: str) -> str:
    size = f'width="{_WIDTH}mm" height="{_n(height)}mm" viewBox="0 0 {_WIDTH} {_n(height)}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {size}>\n'
        f"<title>{escape(title)}</title>\n{body}\n</svg>\n"
    )


def _text(
    x: float,
    y: float,
    words: str,
    size: float,
    anchor: str = "start",
    colour: str = _INK,
    weight: str = "normal",
) -> str:
    bold = ' font-weight="bold"' if weight == "bold" else ""
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-family="{_FONT}" font-size="{_n(size)}" '
        f'text-anchor="{anchor}" fill="{colour}"{bold}>{escape(words)}</text>'
    )


def _box(x: float, y: float, width: float, height: float, fill: str, stroke: str) -> str:
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" '
        f'fill="{fill}" stroke="{stroke}" stroke-width="0.2"/>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, stroke: str, width: float) -> str:
    return (
        f'<path d="M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}" fill="none" stroke="{stroke}" '
        f'stroke-width="{_n(width)}"/>'
    )


def _n(number: float) -> str:
    return plain(Decimal(repr(round(number, 2))))
