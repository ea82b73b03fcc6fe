"""Pictures of figures: loads against their ratings, the charge over a stay, and bars of money.

One unit is one millimetre of paper. Colour never says anything alone: what is exceeded is hatched,
what is below zero or guessed is hollow, curves differ by their dashes, and every number is written
beside its bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import attrs
from attrs import frozen

from configurator.drawing.canvas import INK, Canvas, Rect, spread, text_width
from configurator.drawing.names import fitted
from configurator.mass.states import MassPicture, RatedLoad
from configurator.power.energy import START, Curve, span_words
from configurator.power.picture import PowerPicture
from configurator.report import model
from configurator.report.mass import LOADS, added_across
from configurator.report.model import Chart
from configurator.words import SOURCE, Speech, left, letter, text, used

_SOFT, _FILL, _OVER = "#767676", "#1f4e5f", "#9c1c1c"
_WIDTH = 170
_LABEL, _TRACK = 24, 76
_MOST = Fraction(5, 4)
"""How far a bar may reach over its rating before it is cut, as a share of the rating."""


def mass_svg(picture: MassPicture, speech: Speech = SOURCE) -> str:
    """Every load against its rating, by state. The line at the end of each track is the rating."""
    canvas = Canvas(speech=speech)
    y = 4.0
    for state in picture.states:
        canvas.text(0, y, state.title, 3.4, "start", bold=True)
        y += 2.4
        for bar in state.bars:
            _load(canvas, y, bar)
            y += 6.2
        y += 4.6
    y = _across(canvas, y, picture)
    title = text("Loads against ratings, {vehicle}", vehicle=picture.vehicle)
    return canvas.svg(_WIDTH, y - 4, title)


def _load(canvas: Canvas, y: float, bar: RatedLoad) -> None:
    track = _TRACK / float(_MOST)
    share = max(Fraction(0), min(bar.load / bar.rating if bar.rating else _MOST, _MOST))
    whole = min(share, Fraction(1))
    length, over = float(whole) * track, float(share - whole) * track
    canvas.text(0, y + 3.3, LOADS[bar.subject], 3.0, "start")
    canvas.rect(_LABEL, y, track, 4.2, "none", _SOFT, 0.2)
    if length:
        canvas.rect(_LABEL, y, length, 4.2, _FILL if not over else _OVER, "none")
    if over:
        canvas.rect(_LABEL + track, y, over, 4.2, "none", _OVER, 0.2)
        _hatch(canvas, _LABEL + track, y, over, 4.2)
    canvas.line(_LABEL + track, y - 0.7, _LABEL + track, y + 4.9, "#222222", 0.5)
    known = {
        "load": text("lifted") if bar.load < 0 else used(bar.load),
        "rating": left(bar.rating),
    }
    if bar.left < 0:
        words = text("{load} of {rating} kg, {over} kg too much", over=used(-bar.left), **known)
    else:
        words = text("{load} of {rating} kg, {left} kg remaining", left=left(bar.left), **known)
    over_it = bar.left < 0
    fill = _OVER if over_it else INK
    canvas.text(_LABEL + _TRACK + 3, y + 3.3, words, 2.9, "start", fill=fill, bold=over_it)


def _across(canvas: Canvas, y: float, picture: MassPicture) -> float:
    """How the added mass lies across the vehicle: the parts of one bar; answers where it ends."""
    parts, whole = added_across(picture), used(picture.added)
    if not whole:
        return y
    heading = text("Added mass across the vehicle, fully loaded: {kg} kg", kg=whole)
    canvas.text(0, y, heading, 3.4, "start", bold=True)
    y, x = y + 2.4, 0.0
    words = {
        "left": text("{kg} kg left", kg=parts["left"]),
        "middle": text("{kg} kg on the centre line", kg=parts["middle"]),
        "right": text("{kg} kg right", kg=parts["right"]),
    }
    for side, anchor, at in (
        ("left", "start", 0.0),
        ("middle", "middle", _WIDTH / 2),
        ("right", "end", float(_WIDTH)),
    ):
        wide = float(parts[side] / whole) * _WIDTH
        canvas.rect(x, y, wide, 4.2, "none" if side == "middle" else _FILL, _SOFT, 0.2)
        canvas.text(at, y + 8, words[side], 2.9, anchor)
        x += wide
    return y + 14


def _hatch(canvas: Canvas, x: float, y: float, width: float, height: float) -> None:
    """Slanted lines within a box."""
    at = -height
    while at < width:
        low, high = max(0.0, at), min(width, at + height)
        canvas.line(x + low, y + low - at, x + high, y + high - at, _OVER, 0.35)
        at += 1.4


_LEFT, _TOP, _RIGHT, _HEIGHT = 14.0, 6.0, 7.0, 52.0
_SMALL = 2.85
"""The smallest letters of the charge, mm: 8 pt."""
_DASHES = ("", "3 1.5", "0.8 1.2", "5 1.2 0.8 1.2")
_STEPS = (5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)


@frozen
class _Plot:
    """The room that the curves are drawn in: the hours it shows, Ah at its upper edge; mm."""

    hours: int
    capacity: Decimal

    @property
    def right(self) -> float:
        return _WIDTH - _RIGHT

    @property
    def foot(self) -> float:
        return _TOP + _HEIGHT

    def x(self, hour: float) -> float:
        return _LEFT + (self.right - _LEFT) * hour / self.hours

    def y(self, charge: Decimal) -> float:
        return self.foot - _HEIGHT * float(charge / self.capacity)


def charge_svg(picture: PowerPicture, speech: Speech = SOURCE) -> str:
    """The charge over three days, with and without what charges; the floor is what must stay."""
    canvas = Canvas(speech=speech)
    if not picture.curves or not picture.capacity:
        canvas.text(0, 5, text("No battery is picked."), 3.4, "start")
        return canvas.svg(_WIDTH, 8, text("Charge of the battery"))
    hours = len(picture.curves[0].charge) - 1
    plot = _Plot(hours, picture.capacity)
    floor, words = plot.y(picture.capacity - picture.usable), text("what must stay in the battery")
    level = floor + 3.2 if floor + 3.3 < plot.foot else floor - 1
    long = text_width(canvas.say(words), _SMALL) + 2
    _scales(canvas, plot, (plot.right - long, level - 2.3, long, 2.8))
    canvas.line(_LEFT, floor, plot.x(plot.hours), floor, _OVER, 0.4)
    canvas.text(plot.right - 1, level, words, _SMALL, "end", fill=_OVER)
    ends = [(n, plot.y(curve.charge[-1]), 3.4) for n, curve in enumerate(picture.curves)]
    for index, _, y, _ in spread(sorted(ends, key=lambda end: end[1])):
        canvas.text(plot.right + 1.5, y + 1, letter(index), _SMALL, "start", bold=True)
    for index, curve in enumerate(picture.curves):
        points = [(plot.x(hour), plot.y(charge)) for hour, charge in enumerate(curve.charge)]
        canvas.course(points, _FILL, 0.7, _DASHES[index % len(_DASHES)])
        _name(canvas, plot, curve, index)
    height = plot.foot + 9 + 5 * len(picture.curves)
    return canvas.svg(_WIDTH, height, text("Charge of the battery over three days"))


def _scales(canvas: Canvas, plot: _Plot, label: Rect) -> None:
    """The nights as shadows, the charge at the left, but not through a label, and the hours."""
    for hour in range(-24, plot.hours + 1):
        begin, end = max(0, hour), min(plot.hours, hour + 12)
        if (START + hour) % 24 == START and begin < end:
            x = plot.x(begin)
            canvas.rect(x, _TOP, plot.x(end) - x, _HEIGHT, "#ececec", "none")
    step = next((s for s in _STEPS if plot.capacity / s <= 6), _STEPS[-1])
    for charge in range(0, int(plot.capacity) + 1, step):
        y = plot.y(Decimal(charge))
        until = label[0] if label[1] < y < label[1] + label[3] else plot.right
        canvas.line(_LEFT, y, until, y, "#c4c4c4", 0.15)
        canvas.text(_LEFT - 1.5, y + 1, str(charge), _SMALL, "end")
    canvas.text(_LEFT - 1.5, _TOP - 2.2, "Ah", _SMALL, "end")
    for hour in range(0, plot.hours + 1, 6):
        time, x = (START + hour) % 24, plot.x(hour)
        if time in (0, 6, 12, 18):
            canvas.line(x, plot.foot, x, plot.foot + 1, _SOFT, 0.25)
        if time in (6, 18):
            canvas.text(x, plot.foot + 4, f"{time:02}:00", _SMALL)
    canvas.line(_LEFT, plot.foot, plot.right, plot.foot, "#222222", 0.3)


def _name(canvas: Canvas, plot: _Plot, curve: Curve, index: int) -> None:
    """The name of a curve behind its letter and a piece of its line, with how long it lasts."""
    x, y, length = _LEFT, plot.foot + 9 + 5 * index, 16
    if curve.empty_after:
        span = span_words(curve.empty_after)
        words = text("{curve}: used up after {span}", curve=curve.title, span=span)
    else:
        words = text("{curve}: not used up in three days", curve=curve.title)
    canvas.text(x, y, letter(index), _SMALL, "start", bold=True)
    canvas.line(x + 3, y - 1, x + length, y - 1, _FILL, 0.7, _DASHES[index % len(_DASHES)])
    canvas.text(x + length + 1.75, y, words, _SMALL, "start")


_ROW, _LINE, _NUMBER = 5, 3.4, 28
"""Of bars of money: height of one, and more for another line; room for its amount; mm."""


def bars_svg(
    chart: Chart,
    bars: Sequence[model.ChartBar],
    title: str,
    width: int,
    label: int,
    fill: str,
    speech: Speech = SOURCE,
) -> str:
    """Bars of money under each other, to the scale of their chart; its limit is a line across.

    ``width`` and the room for labels are in mm; ``title`` is read out in place of the picture.
    """
    canvas = Canvas(speech=speech)
    room, longest, limit = width - label - _NUMBER, chart.longest, chart.limit

    def place(amount: Decimal) -> float:
        return label + float(amount * room / longest if longest > 0 else 0)

    tall = 0.0
    for bar in bars:
        lines = fitted(canvas.say(bar.label), label - 1, 3, 2)
        for rank, words in enumerate(lines):
            canvas.text(0, tall + 3.5 + rank * _LINE, words, 3, "start")
        top, low, high = tall + (len(lines) - 1) * _LINE / 2, place(bar.low), place(bar.high)
        tall += _ROW + (len(lines) - 1) * _LINE
        pen = "#888888" if bar.hollow else fill
        inside = "#ffffff" if bar.hollow else fill
        canvas.rect(low, top + 1, max(high - low, 0.1), 3, inside, pen, 0.2)
        canvas.text(width, top + 3.5, text("{n:amount}", n=bar.amount), 3, "end")
    if limit is not None:
        at = place(limit.amount)
        canvas.line(at, 0, at, tall, "#1a1a1a", 0.6)
        canvas.text(at, tall + 3.5, text("limit {amount:amount}", amount=limit), 3)
        tall += _ROW
    return canvas.svg(width, tall, title)


def results_svg(chart: Chart, speech: Speech = SOURCE, colour: str = _FILL) -> str:
    """What was won (filled) and lost (hollow) in each month, to one scale."""
    bars = [
        attrs.evolve(bar, label=text("{of}, {what}", of=of, what=bar.label))
        for of, of_one in chart.groups
        for bar in of_one
    ]
    return bars_svg(chart, bars, chart.title, _WIDTH, 40, colour, speech)
