"""The single-line diagram of a 12 V system: batteries, fuses, isolator, bus bar, every circuit.

Loads behind a fuse panel are on its own bar; what feeds a charger is drawn below the bus, apart
from it. Both poles are drawn as one line. One unit of the drawing is one mm of paper. What it says
is in the table of circuits as well, under the same numbers; nothing is said by colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple, TypeAlias

from configurator.drawing.canvas import Canvas, arrow_head
from configurator.drawing.names import fitted
from configurator.power import circuits
from configurator.report.wiring import CircuitLine, WiringSheet
from configurator.words import SOURCE, Speech, in_unit, joined, text

_TEXT, _SMALL = 3.3, 3.1
_ROW, _STORE = 11.0, 26.0
_BOX = 64.0
"""Width of a battery's box."""

_FUSE_AT, _FUSE = 70.0, 24.0
_JOIN, _SWITCH, _BUS = 97.0, 99.0, 109.0
"""Where the batteries meet, where the isolator begins, and the bus bar."""

_BRANCH_AT, _BRANCH = 115.0, 24.0
_PANEL_BUS, _PANEL_FUSE_AT = 121.0, 126.0
"""The bar of a fuse panel, and the fuses on it."""

_END = 184.0
"""Where the boxes at the end of the circuits begin."""

_NUMBER = 9.0
"""Room for a circuit's number in its box."""


_ON_BUS, _IS_PANEL, _BEHIND, _APART = range(4)
"""How a circuit is fed: by the bus; so too, and it is a fuse panel; through that; apart from it."""

_Fed: TypeAlias = tuple[int, CircuitLine]


class _Store(NamedTuple):
    """Batteries of one kind, or what is in their place: what is in the box, and on the fuse."""

    title: str
    lines: tuple[str, ...] = ()
    fuse: str = ""


def single_line(
    sheet: WiringSheet, width: float, height: float, speech: Speech = SOURCE
) -> tuple[str, ...]:
    """The diagram as SVG, one picture of at most this height, mm, for each page that it takes.

    What is on the bus comes first, then fuse panels, what is behind them, and what feeds chargers.
    """
    panels = any(line.circuit.kind == circuits.PANEL for line in sheet.circuits)
    lines = [line for line in sheet.circuits if line.circuit.kind != circuits.STORE]
    fed = sorted(((_place(line, panels), line) for line in lines), key=lambda one: one[0])
    apart = _ROW * sum(place == _APART for place, _ in fed)
    rows, boxes = max(1, int((height - 2) / _ROW)), max(1, int((height - 2 - apart) / _STORE))
    left, elsewhere = _stores(sheet), _Store(text("Batteries: see the first diagram"))
    if not left:
        decides = text("feed and fuse as the electrician decides")
        elsewhere = _Store(text("The vehicle's own battery"), (decides,), _fuse_words(None))
    title = text("Single-line diagram of the 12 V system; the table of circuits says the same")
    pictures: list[str] = []
    while left or fed or not pictures:
        part, left = left[:boxes], left[boxes:]
        some, fed = fed[:rows], fed[rows:]
        canvas = Canvas(speech=speech)
        tall = _draw(canvas, sheet, part, elsewhere, some, width)
        pictures.append(canvas.svg(width, tall, title, f"single-line-{len(pictures)}-"))
    return tuple(pictures)


def _place(line: CircuitLine, panels: bool) -> int:
    circuit = line.circuit
    if circuit.kind == circuits.PANEL:
        return _IS_PANEL
    if circuit.part in (circuits.FEED, circuits.PANELS):
        return _APART
    return _BEHIND if panels and circuit.behind else _ON_BUS


def _stores(sheet: WiringSheet) -> list[_Store]:
    """The batteries by kind, each with its cable where that is known."""
    own = {
        line.circuit.title: line for line in sheet.circuits if line.circuit.kind == circuits.STORE
    }
    stores = []
    for row in sheet.batteries:
        battery, line = row.battery, own.get(row.title)
        lines: list[str] = [joined((in_unit(battery.capacity, "Ah"), in_unit(battery.volts, "V")))]
        if line is not None and line.circuit.cable is not None:
            lines.append(_run(line))
        fuse = _several(row.count, _fuse_words(row.fuse))
        stores.append(_Store(_several(row.count, row.title), tuple(lines), fuse))
    return stores


def _fuse_words(amps: Decimal | None) -> str:
    """What is on a fuse; one that is not known is drawn too, so that nobody leaves it out."""
    return "?" if amps is None else in_unit(amps, "A")


def _run(line: CircuitLine) -> str:
    """What is on a cable: its size, its length and the fuses of those in parallel."""
    circuit = line.circuit
    size = "?"
    if circuit.cable is not None:
        size = joined((text("{n}", n=circuit.cable.size), "mm²"), " ")
        size = _several(circuit.cable.count, size)
    size = size if circuit.run is None else joined((size, in_unit(circuit.run, "m")))
    if circuit.own_fuse is None:
        return size
    return text("{cable}, each {fuse} A", cable=size, fuse=circuit.own_fuse)


def _several(count: int, words: str) -> str:
    return joined((f"{count} ×", words), " ") if count > 1 else words


def _draw(
    canvas: Canvas,
    sheet: WiringSheet,
    stores: Sequence[_Store],
    elsewhere: _Store,
    fed: Sequence[_Fed],
    width: float,
) -> float:
    """One picture; without batteries, what stands ``elsewhere`` for them. Answers its height."""
    isolator = text("Main isolator, {amps} A or more", amps=sheet.isolator or "?") if stores else ""
    stores = stores or [elsewhere]
    tops = _tops(len(stores), fed)
    for rank, store in enumerate(stores):
        _store(canvas, store, 1 + rank * _STORE)
    for top, (place, line) in zip(tops, fed, strict=True):
        _branch(canvas, line, place, sheet.regulators, top, width)
    joined_at = [1 + _STORE * (rank + 0.5) for rank in range(len(stores))]
    rows = [(place, top + _ROW / 2) for top, (place, _) in zip(tops, fed, strict=True)]
    _isolator(canvas, joined_at, isolator)
    on_bus = [joined_at[0], *(y for place, y in rows if place in (_ON_BUS, _IS_PANEL))]
    canvas.line(_BUS, min(on_bus), _BUS, max(on_bus), "#111", 1.4)
    _panel_bus(canvas, rows)
    return max(len(stores) * _STORE + 1, max(tops, default=0) + _ROW) + 1


def _tops(stores: int, fed: Sequence[_Fed]) -> list[float]:
    """Where each row of a picture begins; what is not on the bus begins below the batteries."""
    tops: list[float] = []
    for rank, (place, _) in enumerate(fed):
        above = tops[-1] + _ROW if tops else 1
        first = place == _APART and not (rank and fed[rank - 1][0] == _APART)
        tops.append(max(above, 1 + stores * _STORE) if first else above)
    return tops


def _isolator(canvas: Canvas, joined: Sequence[float], words: str) -> None:
    """The batteries joined, and the switch between them and the bus; a plain line without one."""
    canvas.line(_JOIN, min(joined), _JOIN, max(joined), "#111", 0.5)
    y = joined[0]
    if not words:
        canvas.line(_JOIN, y, _BUS, y, "#111", 0.5)
        return
    canvas.line(_JOIN, y, _SWITCH, y, "#111", 0.5)
    canvas.line(_SWITCH, y, _BUS - 2.4, y - 4, "#111", 0.6)
    canvas.line(_BUS - 2.5, y, _BUS, y, "#111", 0.5)
    for rank, line in enumerate(fitted(canvas.say(words), _JOIN - _BOX - 3, _SMALL, 3, True)):
        canvas.text(_JOIN - 1.5, y + 7 + rank * 4, line, _SMALL, "end", bold=True)


def _panel_bus(canvas: Canvas, rows: Sequence[tuple[int, float]]) -> None:
    """The bar of a fuse panel, from its box to every branch behind it."""
    behind = [y for place, y in rows if place == _BEHIND]
    if not behind:
        return
    panels = [y for place, y in rows if place == _IS_PANEL]
    top = behind[0]
    if panels:
        top = panels[-1] + _ROW / 2
        canvas.line(_END + 12, top - 0.7, _END + 12, top, "#111", 0.5)
        canvas.line(_PANEL_BUS, top, _END + 12, top, "#111", 0.5)
    canvas.line(_PANEL_BUS, top, _PANEL_BUS, max(behind), "#111", 1.0)


def _store(canvas: Canvas, store: _Store, top: float) -> None:
    middle = top + _STORE / 2
    canvas.rect(0.4, top + 1, _BOX - 0.4, _STORE - 2, "#ffffff", "#111", 0.5)
    title = fitted(canvas.say(store.title), _BOX - 4, _TEXT, 3, True)
    lines = [*title, *store.lines]
    foot = middle - len(lines) * 4.6 / 2 + 3.4
    for rank, line in enumerate(lines):
        canvas.text(_BOX / 2, foot + rank * 4.6, line, _TEXT, bold=rank < len(title))
    canvas.line(_BOX, middle, _JOIN, middle, "#111", 0.5)
    if store.fuse:
        _fuse(canvas, _FUSE_AT, _FUSE, middle, store.fuse)


def _branch(
    canvas: Canvas,
    line: CircuitLine,
    place: int,
    regulators: Sequence[str],
    top: float,
    width: float,
) -> None:
    """A circuit from what feeds it to its box, which has its number and what it feeds."""
    circuit, middle = line.circuit, top + _ROW / 2
    title, origin = _several(circuit.count, circuit.title), ""
    if circuit.part == circuits.FEED:
        origin = text("Starter battery")
    elif circuit.part == circuits.PANELS:
        origin, title = title, joined(regulators or (text("Solar regulator"),))
    canvas.line(_PANEL_BUS if place == _BEHIND else _BUS, middle, _END, middle, "#111", 0.4)
    if origin:
        left = _JOIN - _BOX / 2
        _box(canvas, left, top, _BUS - left)
        lines = fitted(canvas.say(origin), _BUS - left - 2, _SMALL, 2)
        _lines(canvas, (left + _BUS) / 2, middle, lines)
    at = _PANEL_FUSE_AT if place == _BEHIND else _BRANCH_AT
    _fuse(canvas, at, _BRANCH, middle, _several(circuit.count, _fuse_words(circuit.fuse)))
    start = at + _BRANCH
    canvas.text((start + _END) / 2, middle - 1.2, _run(line), _SMALL)
    if circuit.kind == circuits.SOURCE and not origin:
        canvas.polygon(arrow_head(start, middle, (2.6, 0), 1.1), "#111")
    else:
        canvas.polygon(arrow_head(_END, middle, (-2.6, 0), 1.1), "#111")
    _box(canvas, _END, top, width - _END - 0.4)
    canvas.text(_END + 6.5, middle + 1.1, str(line.number), _SMALL, "end", bold=True)
    lines = fitted(canvas.say(title), width - _END - _NUMBER - 2, _SMALL, 2)
    _lines(canvas, _END + _NUMBER, middle, lines, "start")


def _box(canvas: Canvas, left: float, top: float, width: float) -> None:
    canvas.rect(left, top + 0.7, width, _ROW - 1.4, "#ffffff", "#111", 0.4)


def _lines(
    canvas: Canvas, x: float, middle: float, lines: Sequence[str], anchor: str = "middle"
) -> None:
    foot = middle - len(lines) * 4.2 / 2 + 3.1
    for rank, line in enumerate(lines):
        canvas.text(x, foot + rank * 4.2, line, _SMALL, anchor)


def _fuse(canvas: Canvas, x: float, width: float, middle: float, words: str) -> None:
    canvas.rect(x, middle - 3.2, width, 6.4, "#ffffff", "#111", 0.4)
    canvas.text(x + width / 2, middle + 1.1, words, _SMALL, bold=True)
