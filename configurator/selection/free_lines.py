"""Free lines: what a selection carries that is not in the catalogue, such as a customer's dog box.

A free line is priced, weighed and shown like an option of a choice of its own, and marked as not
from the catalogue wherever it stands. It brings a price, a mass and a position, and nothing else:
no rule can name it, it gives nothing of a limit, and it takes no room in a space.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from attrs import evolve, field, frozen

from configurator.catalogue.model import FREE_LINE, Choice, Option, Part, Position
from configurator.errors import NOWHERE, Location
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
    """Something sold that the catalogue does not have; how many is a pick of ``free-line``.

    Attributes:
        id: short name, unique among the selection's free lines.
        title: what the customer reads.
        price: of one, with tax in or out as the catalogue's prices are; 0 or more.
        mass: of one, kg; 0 or more.
        tax: name of one of the catalogue's tax rates; empty for the usual one.
        group: group of the quote that it stands in; empty for one of their own.
        position: where its mass sits on the vehicle; None where nobody knows: it is then assumed
            as for any part without a position, and the papers say so.
        note: a sentence more for the customer, or empty.
    """

    id: str
    title: str
    price: Decimal
    mass: Decimal
    tax: str = ""
    group: str = ""
    position: Position | None = None
    note: str = ""
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)

    @cached_property
    def option(self) -> Option:
        """It as an option of the choice called free-line."""
        return Option(
            id=self.id,
            title=self.title,
            text=self.note,
            price=(Part("fixed", amount=self.price, note=FREE_LINES, at=self.at),),
            tax=self.tax,
            mass=(Part("fixed", amount=self.mass, at=self.at),) if self.mass else (),
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
