"""Panels and drilled faces of a cut list as a DXF drawing, through ezdxf; mm.

Each stands in a row of its own from the foot up, its lower left corner at the left edge, with its
name below it. Layers: ``cut`` for outlines and openings, ``holes`` for what is drilled, ``text``.
The same cut list gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from configurator.report.cuts import CutList, CutOut
from configurator.words import SOURCE, Speech, joined, text

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

_LETTERS = 25.0
_BETWEEN = 150.0
"""Height of letters, and room between two pieces, mm."""

_LAYERS = {"cut": 1, "holes": 5, "text": 7}
"""Layers with their colours, by the numbers that every DXF has: red, blue, black or white."""


def cuts_dxf(cuts: CutList, speech: Speech = SOURCE) -> bytes:
    """The drawing as a file's content."""
    import ezdxf
    from ezdxf import units

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no clock, no random identity
    try:
        document = ezdxf.new("R2010", units=units.MM)
        for name, colour in _LAYERS.items():
            document.layers.add(name, color=colour)
        space, foot = document.modelspace(), 0.0
        for named, length, width, holes in _pieces(cuts):
            _piece(space, foot, float(length), float(width), holes)
            below = foot - 1.6 * _LETTERS
            attributes = {"layer": "text", "insert": (0.0, below)}
            space.add_text(speech.say(named), height=_LETTERS, dxfattribs=attributes)
            foot += float(width) + _BETWEEN
        for name in sorted(document.entitydb.dxf_types_in_use()):  # a set, which ezdxf goes through
            document.classes.add_class(name)
        written = io.StringIO()
        document.write(written)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return written.getvalue().encode(document.output_encoding, "dxfreplace")


def _pieces(cuts: CutList) -> Iterator[tuple[str, Decimal, Decimal, tuple[CutOut, ...]]]:
    for panel in cuts.panels:
        size = text("{length} × {width}", length=panel.length, width=panel.width)
        count = text("{n} pieces", n=panel.count) if panel.count > 1 else text("1 piece")
        named = joined((joined((str(panel.number), panel.title), " "), size, count, panel.stock))
        yield named, panel.length, panel.width, panel.cut_outs
    for face in cuts.faces:
        yield face.title, face.length, face.width, face.cut_outs


def _piece(
    space: Modelspace, foot: float, length: float, width: float, holes: tuple[CutOut, ...]
) -> None:
    _rectangle(space, 0, foot, length, width, "cut")
    for hole in holes:
        x, y = float(hole.x), foot + float(hole.y)
        if hole.diameter is not None:
            space.add_circle((x, y), float(hole.diameter) / 2, dxfattribs={"layer": "holes"})
        else:
            long, wide = float(hole.length or 0), float(hole.width or 0)
            _rectangle(space, x - long / 2, y - wide / 2, long, wide, "cut")


def _rectangle(
    space: Modelspace, x: float, y: float, length: float, width: float, layer: str
) -> None:
    corners = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
