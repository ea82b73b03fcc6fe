"""Colours and whether they can be told apart: the contrast ratio of WCAG 2.2."""

from __future__ import annotations

LEAST_CONTRAST = 4.5
"""Least contrast of text with what is behind it: WCAG 2.2, success criterion 1.4.3, level AA."""

WHITE, PANEL = "#ffffff", "#f2f4f4"
"""What text of a paper stands on: the sheet, and a panel."""


def contrast(one: str, other: str) -> float:
    """How far two colours stand apart in lightness, from 1 (the same) to 21 (black and white).

    They are written ``#rrggbb`` or ``#rgb``.

    The formula is that of "contrast ratio" and "relative luminance" in WCAG 2.2.
    """
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    red, green, blue = (_linear(int(digits[i : i + 2], 16) / 255) for i in (0, 2, 4))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
