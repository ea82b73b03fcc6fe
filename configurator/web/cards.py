"""The choices of a page: every option with its state, price, mass and size."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from attrs import frozen

from configurator.catalogue.model import Choice, Option
from configurator.catalogue.units import Box
from configurator.engine.availability import OptionAnswer
from configurator.money import Money
from configurator.picked import resolved
from configurator.selection.resolved import Resolved
from configurator.shop import Shop
from configurator.totals import MissingPicks, mass_of
from configurator.web.views import PackageView
from configurator.words import shown_unit, text, used

STATES = {
    "picked": text("picked"),
    "open": text("available"),
    "implied": text("the only one left"),
    "instead": text("available instead"),
    "ruled-out": text("not available"),
    "undecided": text("not settled yet"),
}
"""What the page calls the states of an option."""


@frozen
class OptionRow:
    """An option as a button.

    Attributes:
        id: id of the option.
        title: its title.
        text: more about it, or empty.
        state: as in :data:`STATES`.
        label: the state in words.
        quantity: how many are picked.
        most: how many may be picked.
        sold_by: it is measured off.
        unit: what it is measured in, or empty.
        amount: how much of it there is, or would be, as a field shows it.
        price: of one, or what it does to the total in place of a pick; None where it is open.
        instead: the price is a difference.
        mass: of one, kg; None where it depends on what is still to be chosen.
        body: of a unit, mm; None for what is none.
    """

    id: str
    title: str
    text: str
    state: str
    label: str
    quantity: int
    most: int
    sold_by: bool
    unit: str
    amount: Decimal
    price: Money | None
    instead: bool
    mass: Decimal | None
    body: Box | None


@frozen
class ChoiceCard:
    """A choice with its options.

    Attributes:
        id: id of the choice.
        title: its title.
        text: more about it, or empty.
        pick: ``one``, ``at-most-one`` or ``several``.
        needed: it still has to be made.
        settled: it is said that none of it is wanted.
        options: its options.
    """

    id: str
    title: str
    text: str
    pick: str
    needed: bool
    settled: bool
    options: tuple[OptionRow, ...]


def card_of(
    shop: Shop, view: PackageView, choice: Choice, states: tuple[OptionAnswer, ...] | None
) -> ChoiceCard:
    """A choice with its options; where something is looked for, those whose titles have the words.

    Args:
        shop: the shop.
        view: the facts.
        choice: the choice.
        states: of its options; None where they are not settled yet.
    """
    words, known = view.state.words, resolved(view.build)
    by_option = {one.option: one for one in states or ()}
    prices = _prices(shop, choice.id)
    rows = []
    for option in choice.options:
        if words and not (found_in(words, choice.title) or found_in(words, option.title)):
            continue
        found = by_option.get(option.id)
        quantity = view.build.selection.quantity(choice.id, option.id)
        state = _state(found, quantity)
        difference = found.difference if found is not None else None
        rows.append(
            OptionRow(
                id=option.id,
                title=option.title,
                text=option.text,
                state=state,
                label=STATES[state] if states is not None or quantity else "",
                quantity=quantity,
                most=option.most,
                sold_by=option.sold_by is not None,
                unit="" if option.sold_by is None else shown_unit(option.sold_by.unit),
                amount=known.catalogue.option(choice.id, option.id).how_much,
                price=prices.get(option.id) if difference is None else difference,
                instead=difference is not None,
                mass=_mass(known, option),
                body=None if option.unit is None else option.unit.body,
            )
        )
    needed = any(finding.subject == choice.id for finding in view.check.to_choose)
    settled = choice.id in view.build.selection.empty
    return ChoiceCard(
        choice.id, choice.title, choice.text, choice.pick, needed, settled, tuple(rows)
    )


def found_in(words: str, title: str) -> bool:
    """Whether a title has all the words looked for, whatever their case and order."""
    return all(word in title.casefold() for word in words.casefold().split())


def _mass(build: Resolved, option: Option) -> Decimal | None:
    try:
        return used(mass_of(build, option)) or None
    except MissingPicks:
        return None


@lru_cache(maxsize=500)
def _prices(shop: Shop, choice: str) -> Mapping[str, Money | None]:
    """What each option costs that has a price of its own."""
    offered = shop.list(choice).choices[0]
    return {one.option: one.price for one in offered.options if one.priced}


def _state(found: OptionAnswer | None, quantity: int) -> str:
    if quantity:
        return "picked"
    return "undecided" if found is None else found.state
