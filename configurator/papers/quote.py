"""The quote as a value: a numbered, dated statement of a selection and its price."""

from __future__ import annotations

import datetime as dt

from attrs import frozen

from configurator.catalogue.model import VEHICLE, Catalogue, Shop
from configurator.checking.check import Finding, check
from configurator.errors import ConfiguratorError, QuoteRefused
from configurator.pricing.whole import Price, price
from configurator.rules import holds
from configurator.selection.picks import Customer, Selection
from configurator.suggested import Suggestion, suggestions
from configurator.totals import LimitState, total_mass

__all__ = ["Quote", "make_quote"]

_LONGEST_NUMBER = 40


@frozen
class Quote:
    """Everything that stands on a quote; never changed once issued.

    Attributes:
        number: given by the caller.
        date: day of issue.
        valid_until: last day on which it stands.
        catalogue: id of the catalogue.
        title: name of the selection, or empty.
        shop: who quotes.
        customer: who it is for.
        vehicle: title of the class of vehicle.
        price: the package by group, deals, adjustments, tax, total and payments.
        mass: kg that the package adds to the vehicle, as text of the catalogue's figures.
        limits: how the limits stand.
        suggestions: add-ons suggested besides; never in the total.
        cautions: the shop's cautions, those of the picks, and those of the check.
        notes: notes of the selection.
        not_included: what the price does not include.
        terms: paragraphs.
        selection: what was quoted.
    """

    number: str
    date: dt.date
    valid_until: dt.date
    catalogue: str
    title: str
    shop: Shop
    customer: Customer
    vehicle: str
    price: Price
    mass: str
    limits: tuple[LimitState, ...]
    suggestions: tuple[Suggestion, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    not_included: tuple[str, ...]
    terms: tuple[str, ...]
    selection: Selection

    @property
    def can_be_accepted(self) -> bool:
        """Whether every price is known; with an open one there is nothing to agree to."""
        return not self.price.is_from


def make_quote(catalogue: Catalogue, selection: Selection, number: str, day: dt.date) -> Quote:
    """Quote a selection.

    Args:
        catalogue: the shop's catalogue.
        selection: a complete and sound selection.
        number: the quote's number, such as ``Q-2041``.
        day: day of issue.

    Raises:
        QuoteRefused: findings stop it, or the catalogue's prices do not hold on that day.
        SelectionError: the selection cannot be understood.
        ConfiguratorError: the number is empty, or cannot stand on one line.
    """
    if not number.strip():
        raise ConfiguratorError("a quote needs a number: give one that is not empty")
    if len(number) > _LONGEST_NUMBER or not number.isprintable():
        raise ConfiguratorError(
            f"a quote's number is one line of at most {_LONGEST_NUMBER} characters"
        )
    catalogue = catalogue.on(day)
    checked = check(catalogue, selection)
    stops = [finding.sentence for finding in checked.stops]
    first, until = catalogue.valid.first, catalogue.valid.until
    if not first <= day.isoformat() <= until:
        stops.append(
            f"the catalogue's prices hold from {first} to {until}, not on {day.isoformat()}"
        )
    if stops:
        raise QuoteRefused(stops)
    chosen = selection.one(VEHICLE)
    mass = total_mass(catalogue, selection)
    return Quote(
        number=number,
        date=day,
        valid_until=day + dt.timedelta(days=catalogue.quote.valid_days),
        catalogue=catalogue.id,
        title=selection.title,
        shop=catalogue.shop,
        customer=selection.customer or Customer("To whom it may concern"),
        vehicle=catalogue.option(VEHICLE, str(chosen)).title,
        price=price(catalogue, selection),
        mass="" if mass is None else f"{mass:.0f}",
        limits=checked.limits,
        suggestions=suggestions(catalogue, selection),
        cautions=tuple(_cautions(catalogue, selection, checked.cautions)),
        notes=selection.notes,
        not_included=catalogue.quote.not_included,
        terms=catalogue.quote.terms,
        selection=selection,
    )


def _cautions(
    catalogue: Catalogue, selection: Selection, findings: tuple[Finding, ...]
) -> list[str]:
    said = [f"{finding.sentence}. {finding.reason}".strip() for finding in findings]
    said += [c.text for c in catalogue.cautions if holds(catalogue, selection, c.when)]
    return [*said, *catalogue.quote.cautions]
