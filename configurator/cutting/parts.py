"""The panels and extrusions of one selection, with their sizes from the catalogue's formulas."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from decimal import ROUND_CEILING, Decimal

from attrs import frozen

from configurator.catalogue.cutting import CONSTANT, Extrusion, Face, Formula, Panel
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import MissingPicks, space_sizes
from configurator.shapes.forms import Unpacked, form
from configurator.words import nearest, text


@frozen
class Piece:
    """A panel or an extrusion of a size.

    Attributes:
        title: what it is.
        of: title of the option that it is for.
        count: how many.
        length: mm, to a tenth.
        width: of a panel, mm; None of an extrusion.
        stock: id of the stock that it is cut from; empty where no pick says.
        grain: side of a panel that lies along the grain, ``length`` or ``width``, or empty.
        face: the face of a space that a panel closes, or None.
    """

    title: str
    of: str
    count: int
    length: Decimal
    width: Decimal | None
    stock: str
    grain: str = ""
    face: Face | None = None


@form()
@frozen
class TraySize(Unpacked):
    """Size of the tray, mm; None for what nothing says.

    Attributes:
        length: along the vehicle.
        width: across it.
    """

    length: int | None
    width: int | None


@once
def tray_size(build: Resolved) -> TraySize:
    """How large the tray is, by the first pick that says so."""
    trays = [option.tray for _, option, _ in build.picks if option.tray is not None]
    return TraySize(
        next((t.length for t in trays if t.length is not None), None),
        next((t.width for t in trays if t.width is not None), None),
    )


def pieces(build: Resolved) -> Iterator[Piece]:
    """Everything that is cut, in the catalogue's order.

    What depends on a size that the picks do not give is left out.
    """
    for _, option, quantity in build.picks:
        parts: tuple[Panel | Extrusion, ...] = (*option.panels, *option.extrusions)
        for part in parts:
            with suppress(MissingPicks):
                yield _piece(build, part, option.title, quantity)


def _piece(build: Resolved, part: Panel | Extrusion, of: str, quantity: int) -> Piece:
    length = _size(build, part.length)
    if isinstance(part, Extrusion):
        places = 1
        if part.spaced is not None:
            gaps = _size(build, part.spaced.along) / part.spaced.apart
            places = 1 + max(1, int(gaps.to_integral_value(ROUND_CEILING)))
        return Piece(part.title, of, part.count * places * quantity, length, None, part.stock)
    stock = part.stock or next(
        (option.cut_from for choice, option, _ in build.picks if choice.id == part.stock_of), ""
    )
    count, width = part.count * quantity, _size(build, part.width)
    return Piece(part.title, of, count, length, width, stock, part.grain, part.face)


def _size(build: Resolved, formula: Formula) -> Decimal:
    """What the formula comes to, mm to a tenth.

    Raises:
        MissingPicks: the picks do not determine it yet.
    """
    return nearest(sum((n * _measure(build, name) for name, n in formula), Decimal(0)), 1)


def _measure(build: Resolved, name: str) -> int:
    if name == CONSTANT:
        return 1
    of, _, which = name.partition(".")
    if of == "tray":
        size: int | None = getattr(tray_size(build), which)
        if size is None:
            raise MissingPicks(text("the size of the tray"))
        return size
    outside = space_sizes(build, of)
    inside = which.startswith("inside-")
    of_space = outside.interior if inside else outside
    found: int = getattr(of_space, which.removeprefix("inside-"))
    return found
