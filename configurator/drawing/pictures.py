"""The two small pictures: loads as bars against their ratings, and the charge over a stay.

SVG text, one user unit one millimetre on paper. Colour never says anything alone: what is exceeded
is hatched, curves differ by their dashes, and every number stands beside its bar in words.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from html import escape

from attrs import frozen

from configurator.checking.ratings import kilograms, loaded
from configurator.mass.states import Bar, MassPicture
from configurator.power.energy import START, Curve
from configurator.power.summary import PowerPicture
from configurator.report.mass import LOADS
from configurator.words import plain

__all__ = ["charge_svg", "mass_svg"]

_INK, _SOFT, _FILL, _OVER = "#222222", "#767676", "#1f4e5f", "#9c1c1c"
_FONT = "Source Sans Pro, Arial, sans-serif"
_WIDTH = 170
_LABEL, _TRACK = 24, 76
_MOST = Fraction(5, 4)
"""How far a bar may stand out over its rating before it is cut, as a share of the rating."""


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
    yield _text(0, y + 3.3, LOADS[bar.subject], 3.0)
    yield _box(_LABEL, y, track, 4.2, "none", _SOFT)
    if length:
        yield _box(_LABEL, y, length, 4.2, _FILL if not over else _OVER, "none")
    if over:
        yield _box(_LABEL + track, y, over, 4.2, "none", _OVER)
        yield _hatch(_LABEL + track, y, over, 4.2)
    yield _line(_LABEL + track, y - 0.7, _LABEL + track, y + 4.9, _INK, 0.5)
    load = "lifted" if bar.load < 0 else loaded(bar.load)
    rest = f"{kilograms(bar.left)} kg left"
    if bar.left < 0:
        rest = f"{loaded(-bar.left)} kg too much"
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


_LEFT, _TOP, _RIGHT = 14.0, 6.0, 4.0
_SMALL = 2.85
"""The smallest letters of the charge, mm: 8 pt."""
_DASHES = ("", "3 1.5", "0.8 1.2", "5 1.2 0.8 1.2")
_STEPS = (5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)


@frozen
class _Plot:
    """The room that the curves are drawn in.

    Attributes:
        width: of the whole picture, mm.
        height: of the room of the curves, mm.
        hours: that it shows.
        capacity: charge at its upper edge, Ah.
    """

    width: float
    height: float
    hours: int
    capacity: Decimal

    @property
    def right(self) -> float:
        """Where the room ends, mm."""
        return self.width - _RIGHT

    @property
    def foot(self) -> float:
        """Where no charge is, mm."""
        return _TOP + self.height

    def x(self, hour: float) -> float:
        """Where an hour is, mm."""
        return _LEFT + (self.right - _LEFT) * hour / self.hours

    def y(self, charge: Decimal) -> float:
        """Where a charge is, mm."""
        return self.foot - self.height * float(charge / self.capacity)


def charge_svg(picture: PowerPicture, width: int = _WIDTH) -> str:
    """The charge over three days, with and without what charges; the floor is what must stay.

    Args:
        picture: what is drawn and what charges.
        width: of the picture, mm; a narrow one has the names of the curves without their spans,
            for a page that tells them beside it.
    """
    if not picture.curves or not picture.capacity:
        return _svg("Charge of the battery", 8, _text(0, 5, "No battery is picked.", 3.4))
    narrow = width < _WIDTH
    hours = len(picture.curves[0].charge) - 1
    plot = _Plot(width, 24 if narrow else 52, hours, picture.capacity)
    lines = (len(picture.curves) + 1) // 2 if narrow else len(picture.curves)
    parts = [
        *_nights(plot),
        *_scale(plot),
        *_days(plot),
        *_floor(plot, picture),
        *(_curve(plot, curve, index) for index, curve in enumerate(picture.curves)),
        *(_names if narrow else _legend)(plot, picture.curves),
    ]
    height = plot.foot + (5.5 if narrow else 9) + 5 * lines
    return _svg("Charge of the battery over three days", height, "\n".join(parts), width)


def _nights(plot: _Plot) -> Iterator[str]:
    for hour in range(-24, plot.hours + 1):
        if (START + hour) % 24 == START:
            begin, end = max(0, hour), min(plot.hours, hour + 12)
            if begin < end:
                x = plot.x(begin)
                yield _box(x, _TOP, plot.x(end) - x, plot.height, "#ececec", "none")


def _scale(plot: _Plot) -> Iterator[str]:
    step = next((s for s in _STEPS if plot.capacity / s <= 6), _STEPS[-1])
    for charge in range(0, int(plot.capacity) + 1, step):
        y = plot.y(Decimal(charge))
        yield _line(_LEFT, y, plot.right, y, "#c4c4c4", 0.15)
        yield _text(_LEFT - 1.5, y + 1, str(charge), _SMALL, anchor="end")
    yield _text(_LEFT - 1.5, _TOP - 2.2, "Ah", _SMALL, anchor="end")


def _days(plot: _Plot) -> Iterator[str]:
    for hour in range(0, plot.hours + 1, 6):
        time = (START + hour) % 24
        x = plot.x(hour)
        if time in (0, 6, 12, 18):
            yield _line(x, plot.foot, x, plot.foot + 1, _SOFT, 0.25)
            if time in (6, 18):
                yield _text(x, plot.foot + 4, f"{time:02}:00", _SMALL, anchor="middle")
    yield _line(_LEFT, plot.foot, plot.right, plot.foot, _INK, 0.3)


def _floor(plot: _Plot, picture: PowerPicture) -> Iterator[str]:
    y = plot.y(picture.capacity - picture.usable)
    yield _line(_LEFT, y, plot.x(plot.hours), y, _OVER, 0.4)
    words = "what must stay in the battery"
    yield _text(plot.right - 1, y + 3.2, words, _SMALL, anchor="end", colour=_OVER)


def _curve(plot: _Plot, curve: Curve, index: int) -> str:
    points = " ".join(
        f"{_n(plot.x(hour))},{_n(plot.y(charge))}" for hour, charge in enumerate(curve.charge)
    )
    return f'<polyline points="{points}" fill="none" {_pen(index)}/>'


def _pen(index: int) -> str:
    dash = _DASHES[index % len(_DASHES)]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'stroke="{_FILL}" stroke-width="0.7"{dashes}'


def _legend(plot: _Plot, curves: tuple[Curve, ...]) -> Iterator[str]:
    for index, curve in enumerate(curves):
        y = plot.foot + 9 + 5 * index
        said = "not used up in three days"
        if curve.empty_after:
            said = f"used up after {_span(curve.empty_after)}"
        yield f'<path d="M{_n(_LEFT)} {_n(y - 1)}H{_n(_LEFT + 12)}" fill="none" {_pen(index)}/>'
        yield _text(_LEFT + 14, y, f"{curve.title}: {said}", 2.9)


def _names(plot: _Plot, curves: tuple[Curve, ...]) -> Iterator[str]:
    """The names of the curves, two on a line."""
    for index, curve in enumerate(curves):
        x, y = plot.width / 2 * (index % 2), plot.foot + 9 + 5 * (index // 2)
        yield f'<path d="M{_n(x)} {_n(y - 1)}H{_n(x + 9)}" fill="none" {_pen(index)}/>'
        yield _text(x + 10.5, y, curve.title, _SMALL)


def _span(hours: int) -> str:
    parts = [(hours // 24, "day"), (hours % 24, "hour")]
    return " and ".join(f"{n} {word}{'s' if n > 1 else ''}" for n, word in parts if n)


def _svg(title: str, height: float, body: str, width: int = _WIDTH) -> str:
    size = f'width="{width}mm" height="{_n(height)}mm" viewBox="0 0 {width} {_n(height)}"'
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
