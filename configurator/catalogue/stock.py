"""Sheet and hollow sections: what a mass part of kind ``sheet`` or ``section`` weighs.

A catalogue states thickness and density, and these become the rate of a measure: kg for each m2
of sheet, or for each m of section.
"""

from __future__ import annotations

from decimal import Decimal

__all__ = ["hollow", "section_rate", "sheet_rate"]

_PER_CUBIC_MM = Decimal(1000)


def sheet_rate(thickness: Decimal, density: Decimal) -> Decimal:
    """Kg per m2 of plain sheet: mm, and kg per m3."""
    return thickness * density / _PER_CUBIC_MM


def hollow(width: Decimal, height: Decimal, thickness: Decimal) -> bool:
    """Whether walls of that thickness leave a hollow inside a section of that size."""
    return 2 * thickness < min(width, height)


def section_rate(
    width: Decimal, height: Decimal, thickness: Decimal, density: Decimal, lengths: int = 1
) -> Decimal:
    """Kg per m of so many lengths of a rectangular hollow section: mm, and kg per m3.

    Corners count as sharp, so that a real section, whose corners are round, is up to 2 % lighter.

    Raises:
        ValueError: the walls leave no hollow.
    """
    if not hollow(width, height, thickness):
        raise ValueError(f"walls of {thickness} mm leave no hollow in {width} x {height} mm")
    area = width * height - (width - 2 * thickness) * (height - 2 * thickness)
    return lengths * area * density / _PER_CUBIC_MM / _PER_CUBIC_MM
