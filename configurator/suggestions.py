"""Add-ons worth suggesting for a selection, each with its reason and its own price."""

from __future__ import annotations

from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import ADD_ON, Catalogue, Pick
from configurator.check import stopping
from configurator.pricing import Line, option_price
from configurator.rules import holds
from configurator.selection import Selection
from configurator.totals import mass_of

__all__ = ["Suggestion", "suggestions"]


@frozen
class Suggestion:
    """An add-on that is not in the package.

    Attributes:
        line: it and its price, as it would be within the package.
        because: why it is suggested.
        mass: kg it would add.
    """

    line: Line
    because: str
    mass: Decimal


def suggestions(catalogue: Catalogue, selection: Selection) -> tuple[Suggestion, ...]:
    """The add-ons whose condition holds and which could be had, in the catalogue's order.

    One that is accepted already, or whose rules or limits the package would break, is left out.
    """
    standing = stopping(catalogue, selection)
    found = []
    for option in catalogue.add_ons.options:
        if option.suggest is None or selection.quantity(ADD_ON, option.id):
            continue
        if not holds(catalogue, selection, option.suggest):
            continue
        with_it = selection.picking(catalogue, Pick(ADD_ON, option.id))
        shapes = bool(option.unit or option.space or option.openings)
        if stopping(catalogue, with_it, with_fit=shapes) <= standing:
            line = option_price(catalogue, with_it, catalogue.add_ons, option)
            found.append(Suggestion(line, option.because, mass_of(catalogue, with_it, option)))
    return tuple(found)
