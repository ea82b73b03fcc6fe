"""The single-line diagram of a 12 V system: batteries, fuses, isolator, bus bar, every circuit.

Loads behind a fuse panel are on its own bar; what feeds a charger is drawn below the bus, apart
from it. Both poles are drawn as one line. One unit of the drawing is one mm of paper. What it says
is in the table of circuits as well, under the same numbers; nothing is said by colour.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from configurator.drawing.canvas import Canvas, arrow_head
from configurator.drawing.names import fitted
from configurator.words import SOURCE, Speech

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


@frozen
class Store:
    """Batteries of one kind, with what is in their box and on their fuse."""

    title: str
    lines: tuple[str, ...]
    fuse: str


@frozen
class Branch:
    """One circuit.

    Attributes:
        number: as in the table of circuits.
        title: what it feeds, or what feeds the batteries through it.
        fuse: what is on its fuse.
        cable: what is on its cable.
        gives: it feeds the batteries.
        panel: it is a fuse panel, which feeds the branches after it that are behind it.
        behind: it is fed through the fuse panel before it.
        origin: what feeds it instead of the bus, or empty.
    """

    number: int
    title: str
    fuse: str
    cable: str
    gives: bool
    panel: bool = False
    behind: bool = False
    origin: str = ""


def single_line(
    stores: Sequence[Store],
    branches: Sequence[Branch],
    elsewhere: Store,
    isolator: str,
    title: str,
    width: float,
    height: float,
    speech: Speech = SOURCE,
) -> tuple[str, ...]:
    """The diagram as SVG, one picture of at most this height, mm, for each page that it takes.

    ``elsewhere`` takes the place of the batteries where there are none, and on further pages;
    ``isolator`` is what stands at the main isolator, empty for none.
    """
    apart = _ROW * sum(bool(branch.origin) for branch in branches)
    rows, boxes = max(1, int((height - 2) / _ROW)), max(1, int((height - 2 - apart) / _STORE))
    left, right = list(stores), list(branches)
    pictures: list[str] = []
    while left or right or not pictures:
        part, left = left[:boxes], left[boxes:]
        some, right = right[:rows], right[rows:]
        switch = isolator if part else ""
        prefix = f"single-line-{len(pictures)}-"
        pictures.append(_picture(part or [elsewhere], some, switch, title, prefix, width, speech))
    return tuple(pictures)


def _picture(
    stores: Sequence[Store],
    branches: Sequence[Branch],
    isolator: str,
    title: str,
    prefix: str,
    width: float,
    speech: Speech,
) -> str:
    canvas = Canvas(speech=speech)
    tops = _tops(len(stores), branches)
    height = max(len(stores) * _STORE + 1, max(tops, default=0) + _ROW) + 1
    for rank, store in enumerate(stores):
        _store(canvas, store, 1 + rank * _STORE)
    for top, branch in zip(tops, branches, strict=True):
        _branch(canvas, branch, top, width)
    joined = [1 + _STORE * (rank + 0.5) for rank in range(len(stores))]
    rows = [top + _ROW / 2 for top in tops]
    fed = [y for y, b in zip(rows, branches, strict=True) if not b.behind and not b.origin]
    _isolator(canvas, joined, isolator)
    on_bus = [*joined[:1], *fed]
    canvas.line(_BUS, min(on_bus), _BUS, max(on_bus), "#111", 1.4)
    _panel_bus(canvas, branches, rows)
    return canvas.svg(width, height, title, prefix)


def _tops(stores: int, branches: Sequence[Branch]) -> list[float]:
    """Where each row of a picture begins; what is not on the bus begins below the batteries."""
    tops: list[float] = []
    for rank, branch in enumerate(branches):
        above = tops[-1] + _ROW if tops else 1
        first = branch.origin and not (rank and branches[rank - 1].origin)
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


def _panel_bus(canvas: Canvas, branches: Sequence[Branch], rows: Sequence[float]) -> None:
    """The bar of a fuse panel, from its box to every branch behind it."""
    behind = [y for y, branch in zip(rows, branches, strict=True) if branch.behind]
    if not behind:
        return
    panels = [y for y, branch in zip(rows, branches, strict=True) if branch.panel]
    top = behind[0]
    if panels:
        top = panels[-1] + _ROW / 2
        canvas.line(_END + 12, top - 0.7, _END + 12, top, "#111", 0.5)
        canvas.line(_PANEL_BUS, top, _END + 12, top, "#111", 0.5)
    canvas.line(_PANEL_BUS, top, _PANEL_BUS, max(behind), "#111", 1.0)


def _store(canvas: Canvas, store: Store, top: float) -> None:
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


def _branch(canvas: Canvas, branch: Branch, top: float, width: float) -> None:
    middle = top + _ROW / 2
    begin = _PANEL_BUS if branch.behind else _BUS
    canvas.line(begin, middle, _END, middle, "#111", 0.4)
    if branch.origin:
        left = _JOIN - _BOX / 2
        canvas.rect(left, top + 0.7, _BUS - left, _ROW - 1.4, "#ffffff", "#111", 0.4)
        lines = fitted(canvas.say(branch.origin), _BUS - left - 2, _SMALL, 2)
        foot = middle - len(lines) * 4.2 / 2 + 3.1
        for rank, line in enumerate(lines):
            canvas.text((left + _BUS) / 2, foot + rank * 4.2, line, _SMALL)
    at = _PANEL_FUSE_AT if branch.behind else _BRANCH_AT
    _fuse(canvas, at, _BRANCH, middle, branch.fuse)
    start = at + _BRANCH
    canvas.text((start + _END) / 2, middle - 1.2, branch.cable, _SMALL)
    if branch.gives:
        canvas.polygon(arrow_head(start, middle, (2.6, 0), 1.1), "#111")
    else:
        canvas.polygon(arrow_head(_END, middle, (-2.6, 0), 1.1), "#111")
    canvas.rect(_END, top + 0.7, width - _END - 0.4, _ROW - 1.4, "#ffffff", "#111", 0.4)
    canvas.text(_END + 6.5, middle + 1.1, str(branch.number), _SMALL, "end", bold=True)
    lines = fitted(canvas.say(branch.title), width - _END - _NUMBER - 2, _SMALL, 2)
    foot = middle - len(lines) * 4.2 / 2 + 3.1
    for rank, line in enumerate(lines):
        canvas.text(_END + _NUMBER, foot + rank * 4.2, line, _SMALL, "start")


def _fuse(canvas: Canvas, x: float, width: float, middle: float, words: str) -> None:
    canvas.rect(x, middle - 3.2, width, 6.4, "#ffffff", "#111", 0.4)
    canvas.text(x + width / 2, middle + 1.1, words, _SMALL, bold=True)
