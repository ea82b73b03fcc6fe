"""Free lines: what a selection carries that is not in the catalogue, such as a customer's dog box.

A free line is priced, weighed and shown like an option of a choice of its own, and marked as not
from the catalogue wherever it stands. It brings a price, a mass and a position, and nothing else:
no rule can name it, it gives nothing of a limit, and it takes no room in a space.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from attrs import evolve, field, frozen

from configurator.catalogue.model import FREE_LINE, Catalogue, Choice, Option, Part, Position
from configurator.errors import NOWHERE, Location, near_miss
from configurator.money import exponent

if TYPE_CHECKING:
    from configurator.selection.money import Said
    from configurator.selection.picks import Selection

__all__ = [
    "FREE_LINES",
    "FreeLine",
    "free_choice",
    "free_line_problems",
    "marked_title",
    "offered",
    "offering",
]

FREE_LINES = "Not from the catalogue"
"""Title of the choice and of the group of those that name no other, and note of their lines."""


def marked_title(choice: str, option: Option) -> str:
    """The title of an option, marked where it is a free line, for lists without notes."""
    return f"{option.title} (not from the catalogue)" if choice == FREE_LINE else option.title


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


def offered(catalogue: Catalogue, selection: Selection) -> Mapping[str, Choice]:
    """Every choice that the selection's picks can be of, by its id."""
    free = free_choice(selection)
    if free is None or FREE_LINE in catalogue.by_id:
        return catalogue.by_id
    return {**catalogue.by_id, FREE_LINE: free}


def offering(catalogue: Catalogue, selection: Selection) -> Catalogue:
    """The catalogue with the selection's free lines in it, for a search that goes over options."""
    free = free_choice(selection)
    if free is None or FREE_LINE in catalogue.by_id:
        return catalogue
    return evolve(catalogue, choices=(*catalogue.choices, free))


def free_line_problems(catalogue: Catalogue, selection: Selection) -> Iterator[Said]:
    """Everything wrong with the free lines of a selection."""
    seen: set[str] = set()
    for line in selection.free_lines:
        at, where = line.at, f'free line "{line.title}"'
        if line.id in seen:
            sentence = f'{where} has the id "{line.id}" of another free line'
            yield at, where, sentence, "repeated-id", "give each an id of its own"
        seen.add(line.id)
        if not selection.quantity(FREE_LINE, line.id):
            hint = f"pick {FREE_LINE}={line.id}, or leave the free line out"
            yield at, where, f"{where} has no quantity", "quantity", hint
        yield from _figures(catalogue, line)
        rates = [name for name, _ in catalogue.tax.rates]
        if line.tax and line.tax not in rates:
            hint = near_miss(line.tax, rates) or "known: " + ", ".join(rates)
            yield at, where, f'there is no tax rate "{line.tax}"', "unknown-tax-rate", hint
        groups = [group.id for group in catalogue.groups]
        if line.group and line.group not in groups:
            hint = near_miss(line.group, groups) or "known: " + ", ".join(groups)
            yield at, where, f'there is no group "{line.group}"', "unknown-group", hint


def _figures(catalogue: Catalogue, line: FreeLine) -> Iterator[Said]:
    at, where = line.at, f'free line "{line.title}"'
    if line.price < 0:
        sentence = f"{where} has the price {line.price}; it must be at least 0"
        hint = "write what is taken off as an adjustment, with its reason"
        yield at, where, sentence, "out-of-range", hint
    digits, places = exponent(catalogue.currency), line.price.as_tuple().exponent
    if isinstance(places, int) and -places > digits:
        sentence = f"price {line.price} has more decimals than {catalogue.currency}: {digits}"
        yield at, where, sentence, "bad-money", f"round it to {digits} decimals"
    if line.mass < 0:
        sentence = f"{where} has the mass {line.mass} kg; it must be at least 0"
        hint = "a free line cannot make the vehicle lighter: leave out the pick that goes"
        yield at, where, sentence, "out-of-range", hint
    grams = line.mass.as_tuple().exponent
    if isinstance(grams, int) and grams < -3:
        sentence = f"mass {line.mass} of {where} is finer than a gram"
        yield at, where, sentence, "out-of-range", "round it to 3 decimals"
