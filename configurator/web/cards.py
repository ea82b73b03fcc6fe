"""The choices of a page: every option with its state, price, mass and size."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from attrs import frozen

from configurator.build_changes import resolved
from configurator.catalogue.model import Choice, Option
from configurator.catalogue.units import Box
from configurator.engine.availability import OptionAnswer
from configurator.money import Money
from configurator.pricing.lines import UNPRICED
from configurator.report.options import deals_told
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, mass_of
from configurator.shop import Shop
from configurator.web.counter import ChoiceStates
from configurator.web.views import PackageView
from configurator.words import Text, shown_unit, text, used

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
        option: as the catalogue has it.
        state: as in :data:`STATES`.
        label: the state in words, or empty.
        quantity: how many are picked.
        amount: how much there is, or would be, of what is measured off.
        price: of one, or what it does to the total in place of a pick; None where it is open.
        waits: what stands in the place of a price that is not known yet; else empty.
        instead: the price is a difference.
        mass: of one, kg; None where it depends on what is still to be chosen.
        deals: which package deals end or begin with it.
    """

    option: Option
    state: str
    label: str
    quantity: int
    amount: Decimal
    price: Money | None
    waits: str
    instead: bool
    mass: Decimal | None
    deals: tuple[Text, ...]

    @property
    def unit(self) -> str:
        """What it is measured in, or empty."""
        return "" if self.option.sold_by is None else shown_unit(self.option.sold_by.unit)

    @property
    def body(self) -> Box | None:
        """Of a unit, mm; None for what is none."""
        return None if self.option.unit is None else self.option.unit.body


@frozen
class ChoiceCard:
    """A choice with its options.

    Attributes:
        choice: as the catalogue has it.
        needed: it still has to be made.
        settled: it is said that none of it is wanted.
        rows: its options.
    """

    choice: Choice
    needed: bool
    settled: bool
    rows: tuple[OptionRow, ...]


def card_of(view: PackageView, choice: Choice, settled: ChoiceStates | None) -> ChoiceCard:
    """A choice with its options; where something is looked for, those whose titles have the words.

    The states of the options are None where nothing is known of them yet.
    """
    words, selection = view.state.words, view.build.selection
    by_option = {} if settled is None else {one.option: one for one in settled.states}
    rows = tuple(
        _row(view, choice, option, by_option.get(option.id), settled)
        for option in choice.options
        if not words or found_in(words, choice.title) or found_in(words, option.title)
    )
    return ChoiceCard(choice, choice.id in view.needed, choice.id in selection.empty, rows)


def _row(
    view: PackageView,
    choice: Choice,
    option: Option,
    found: OptionAnswer | None,
    settled: ChoiceStates | None,
) -> OptionRow:
    build = resolved(view.build)
    quantity = view.build.selection.quantity(choice.id, option.id)
    state = "picked" if quantity else "undecided" if found is None else found.state
    label = STATES[state] if settled or quantity else ""
    if state == "undecided" and settled and settled.final:
        label = text("could not be settled")
    difference = None if found is None else found.difference
    price = _prices(view.shop, choice.id).get(option.id) if difference is None else difference
    waits = ""
    if found is not None and (found.awaits or found.unpriced):
        price, waits = None, UNPRICED[found.open_by] or text("price not known yet")
    elif found is not None and price is None and option.sold_by is None:
        price = found.price
    return OptionRow(
        option,
        state,
        label,
        quantity,
        build.catalogue.option(choice.id, option.id).how_much,
        price,
        waits,
        difference is not None,
        _mass(build, option),
        () if found is None else deals_told(build, found),
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
    """What each option costs that has a price of its own; 0.15 ms, for each choice of a page."""
    offered = shop.list(choice).choices[0]
    return {one.option: one.price for one in offered.options if one.priced}
