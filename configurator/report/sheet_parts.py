"""What the tables of the shop's sheets have in common: columns to tick and count by, and sizes."""

from __future__ import annotations

from decimal import Decimal

from configurator.report.model import Column, Told
from configurator.words import Text, joined, text

DONE: Told[object] = (Column(text("Done"), "box", name="done"), lambda _: None)
NUMBER = Column(text("No."), "number", name="no big")
QUANTITY = Column(text("Qty"), "count", name="qty")


def sizes(*each: Decimal | int) -> Text:
    """Sizes with a sign of multiplication between them."""
    return joined((text("{n}", n=size) for size in each), " \N{MULTIPLICATION SIGN} ")
