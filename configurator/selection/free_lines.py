"""Free lines: what a selection carries that is not in the catalogue, such as a customer's dog box.

A free line is priced, weighed and shown like an option of a choice of its own, and marked as not
from the catalogue wherever it stands. It brings a price, a mass and a position, and nothing else:
no rule can name it, it gives nothing of a limit, and it takes no room in a space.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Annotated

from attrs import evolve, frozen

from configurator.catalogue.fields import Id, written_at
from configurator.catalogue.model import FREE_LINE, Choice, Option
from configurator.catalogue.parts import FixedMass, FixedPrice
from configurator.catalogue.units import Position
from configurator.errors import Location
from configurator.shapes import asks, up_to
from configurator.words import text

if TYPE_CHECKING:
    from configurator.selection.picks import Selection

__all__ = [
    "FREE_LINES",
    "FreeLine",
    "free_choice",
    "marked_title",
]

FREE_LINES = text("Not from the catalogue")
"""Title of the choice and of the group of those that name no other, and note of their lines."""


def marked_title(choice: str, option: Option) -> str:
    """The title of an option, marked where it is a free line, for lists without notes."""
    if choice != FREE_LINE:
        return option.title
    return text("{title} (not from the catalogue)", title=option.title)


@frozen
class FreeLine:
    """Something sold that the catalogue does not have.

    How many of it is a pick of the choice called free-line.
    """

    id: Annotated[
        Id,
        "A name for it, for adjustments on the line free-line=ID. Default: its number in this "
        "list, from 1.",
    ]
    title: Annotated[str, "What the customer reads.", up_to(80)]
    price: Annotated[
        Decimal,
        "Price of one, with tax in or out as in the catalogue; 0 or more. What is taken off is "
        "an adjustment.",
        asks(format="money", maximum=100000000),
    ]
    mass: Annotated[
        Decimal,
        "Mass of one, kg, with whatever is in it, to the gram; 0 for what weighs nothing, such "
        "as freight.",
        asks(maximum=100000),
    ]
    tax: Annotated[Id, "Name of one of the catalogue's tax rates. Default: its first."] = ""
    group: Annotated[
        Id, "Group of the quote that it stands in. Default: one for free lines, after all others."
    ] = ""
    position: Annotated[
        Position | None,
        "Where the middle of its mass sits on the vehicle. Left out: nobody knows; the middle "
        "of the canopy or, in the group tray, of the tray is assumed and said so.",
    ] = None
    note: Annotated[str, "A sentence more for the customer.", up_to(200)] = ""
    at: Location = written_at()

    @cached_property
    def option(self) -> Option:
        """It as an option of the choice called free-line."""
        return Option(
            id=self.id,
            title=self.title,
            text=self.note,
            price=(FixedPrice(self.price, note=FREE_LINES, at=self.at),),
            tax=self.tax,
            mass=(FixedMass(self.mass, at=self.at),) if self.mass else (),
            position=self.position,
            group=self.group,
            at=self.at,
        )


def free_choice(selection: Selection) -> Choice | None:
    """The choice whose options are the selection's free lines; None where it has none."""
    lines = selection.free_lines
    if not lines:
        return None
    options = (
        evolve(line.option, most=max(1, selection.quantity(FREE_LINE, line.id))) for line in lines
    )
    return Choice(FREE_LINE, FREE_LINES, "", "several", tuple(options))
