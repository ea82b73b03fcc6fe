"""A sheet to draw on: one unit is one real millimetre, pens and letters are millimetres of paper.

Only what browsers and the PDF renderer draw alike is used: lines, rectangles, polygons and text
with plain attributes. Lines of one pen are merged into one path.
"""

from __future__ import annotations

from html import escape

__all__ = ["FONT", "Canvas", "text_width"]

FONT = "Paper, sans-serif"

_ANCHOR, _INK = "middle", "#111"
"""What most text has; said once for the whole drawing."""


def text_width(text: str, size: float, bold: bool = False) -> float:
    """A width that the text does not exceed in any usual sans serif face, in the unit of size."""
    width = sum(0.36 if c in " .,:;il|!'" else 0.86 if c in "mwMW" else 0.63 for c in text)
    return width * size * (1.08 if bold else 1.0)


class Canvas:
    """What has been drawn; positions in real mm, ``scale`` real mm to one mm of paper.

    Where letters and pens are to be larger than usual, the paper is counted in mm that are as much
    larger: a drawing keeps its scale and its proportions, and whoever draws need not know.

    Args:
        scale: real mm to one mm of paper.
        letters: how many times larger than usual letters and pens are.
    """

    def __init__(self, scale: float, letters: float = 1.0) -> None:
        self.scale, self.letters = scale * letters, letters
        self._parts: list[str] = []
        self._lines: dict[tuple[str, float, str], list[str]] = {}

    def line(
        self, x1: float, y1: float, x2: float, y2: float, pen: str = "#333", thick: float = 0.18,
        dash: str = "",
    ) -> None:  # fmt: skip
        """A line; ``thick`` and the lengths in ``dash`` in mm of paper."""
        path = f"M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}"
        self._lines.setdefault((pen, thick, dash), []).append(path)

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str = "none",
        pen: str = "#222", thick: float = 0.3, dash: str = "",
    ) -> None:  # fmt: skip
        """A rectangle."""
        self.flush()
        self._parts.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" '
            f'fill="{fill}" stroke="{pen}" stroke-width="{_n(thick * self.scale)}"'
            f"{self._dashes(dash)}/>"
        )

    def polygon(self, points: list[tuple[float, float]], fill: str = "#333") -> None:
        """A filled polygon."""
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._parts.append(f'<polygon points="{where}" fill="{fill}"/>')

    def text(
        self, x: float, y: float, words: str, size: float = 2.4, anchor: str = _ANCHOR,
        turn: bool = False, fill: str = _INK, bold: bool = False,
    ) -> None:  # fmt: skip
        """Text with its foot at a place, ``size`` in mm of paper; turned to be read from the right.

        ``anchor`` is ``start``, ``middle`` or ``end``.
        """
        held = f' text-anchor="{anchor}"' if anchor != _ANCHOR else ""
        ink = f' fill="{fill}"' if fill != _INK else ""
        weight = ' font-weight="700"' if bold else ""
        turned = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if turn else ""
        self._parts.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size * self.scale)}"'
            f"{held}{ink}{weight}{turned}>{escape(words)}</text>"
        )

    def arrow(self, x: float, y: float, dx: float, dy: float, pen: str = "#333") -> None:
        """An arrow of a length on paper, its head at the far end."""
        s = self.scale
        x2, y2 = x + dx * s, y + dy * s
        self.line(x, y, x2, y2, pen, 0.3)
        length = max(abs(dx), abs(dy))
        ux, uy = dx / length, dy / length
        back, wide = 1.6 * s, 0.7 * s
        self.polygon(
            [
                (x2, y2),
                (x2 - ux * back - uy * wide, y2 - uy * back + ux * wide),
                (x2 - ux * back + uy * wide, y2 - uy * back - ux * wide),
            ],
            pen,
        )

    def flush(self) -> None:
        """Put the lines drawn so far under what comes next."""
        for (pen, thick, dash), paths in self._lines.items():
            self._parts.append(
                f'<path d="{"".join(paths)}" fill="none" stroke="{pen}" '
                f'stroke-width="{_n(thick * self.scale)}"{self._dashes(dash)}/>'
            )
        self._lines.clear()

    def _dashes(self, dash: str) -> str:
        if not dash:
            return ""
        lengths = " ".join(_n(float(n) * self.scale) for n in dash.split())
        return f' stroke-dasharray="{lengths}"'

    def svg(self, width: float, height: float, title: str, prefix: str) -> str:
        """The drawing, ``width`` by ``height`` mm of paper as counted here."""
        self.flush()
        label = f"{prefix}title"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{label}" '
            f'font-family="{FONT}" text-anchor="{_ANCHOR}" fill="{_INK}" '
            f'width="{_n(width * self.letters)}mm" height="{_n(height * self.letters)}mm" '
            f'viewBox="0 0 {_n(width * self.scale)} {_n(height * self.scale)}">'
            f'<title id="{label}">{escape(title)}</title>' + "\n".join(self._parts) + "</svg>\n"
        )


def _n(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
