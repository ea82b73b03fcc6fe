"""Every amount of money that a catalogue states for what it sells: its name, value and place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Option, Trade
from configurator.catalogue.parts import (
    Breaks,
    FixedPrice,
    Labour,
    MeasuredPrice,
    PricePart,
    PriceTable,
    UnitPrice,
)
from configurator.catalogue.plain_data import MOST_DECIMALS
from configurator.errors import Location
from configurator.money import exponent

PRICE, COST, BOUGHT = "price", "cost", "bought"
"""What an amount is: a price, a cost, or the supplier's price that a price is marked up from."""

DEAL = "package deal "
"""What the names of package deals begin with here; no pick has a space in it."""

Steps: TypeAlias = tuple[str | int, ...]
Slot: TypeAlias = tuple[str, int, Steps]
"""Where an amount is in its item: which kind, in which part, and the keys within that part."""


@frozen
class StatedAmount:
    """An amount as the catalogue states it.

    Attributes:
        item: ``choice=option``, or a package deal.
        slot: where it is in the item.
        part: what tells it from others of its item and kind; empty for a plain amount.
        value: the amount.
        at: where it was written: the figure itself, or the group of keys that has it.
        of: the part that it is of; None for a package deal.
    """

    item: str
    slot: Slot
    part: str
    value: Decimal
    at: Location
    of: PricePart | None = None

    @property
    def kind(self) -> str:
        """Price, cost, or bought."""
        return self.slot[0]

    def digits(self, currency: str) -> int:
        """How many decimals it may have: the currency's, unless it is finer already."""
        if isinstance(self.of, UnitPrice):
            return MOST_DECIMALS
        return max(exponent(currency), -int(self.value.as_tuple().exponent))

    @property
    def keys(self) -> Steps:
        """The keys that lead to it from its place."""
        return self.slot[2]


@frozen
class PricedItem:
    """What has amounts.

    Attributes:
        name: ``choice=option``, or a package deal.
        title: as the customer reads it.
        supplier: who supplies it, or empty.
        code: the supplier's part number, or empty.
        at: where it is written.
        amounts: all that are stated for it.
        pick: its choice and option; None for a package deal.
        tax: which tax rate applies; empty for the first.
    """

    name: str
    title: str
    supplier: str
    code: str
    at: Location
    amounts: tuple[StatedAmount, ...]
    pick: tuple[str, str] | None
    tax: str = ""


def items(catalogue: Catalogue) -> Iterator[PricedItem]:
    """Everything that has amounts, in the catalogue's order: options, then package deals."""
    for choice in catalogue.by_id.values():
        for option in choice.options:
            trade = catalogue.trade_of(choice.id, option.id)
            name = str(Pick(choice.id, option.id))
            found = _named(name, _of(option, trade))
            yield PricedItem(
                name,
                option.title,
                trade.supplier,
                trade.supplier_code,
                option.at,
                found,
                (choice.id, option.id),
                option.tax,
            )
    for deal in catalogue.package_deals:
        name = DEAL + deal.id
        one = StatedAmount(name, (PRICE, 0, ("price",)), "", deal.price, deal.at)
        yield PricedItem(name, deal.title, "", "", deal.at, (one,), None)


_Found: TypeAlias = tuple[Slot, str, Decimal, PricePart]


def _of(option: Option, trade: Trade) -> Iterator[_Found]:
    for kind, parts in ((COST, trade.cost), (BOUGHT, trade.bought), (PRICE, option.price)):
        for index, part in enumerate(parts):
            dated = (("from", part.first), ("until", part.until))
            days = "".join(f" {word} {day}" for word, day in dated if day)
            if kind == BOUGHT and isinstance(part, FixedPrice):
                yield (kind, index, ("cost",)), f"marked up{days}", part.amount, part
            else:
                for keys, told, value in _amounts_of(part):
                    yield (kind, index, keys), (told + days).strip(), value, part


def _named(item: str, found: Iterable[_Found]) -> tuple[StatedAmount, ...]:
    """The amounts of one item, those that are called the same numbered."""
    met: Counter[tuple[str, str]] = Counter()
    named = []
    for slot, part, value, of in found:
        column = COST if slot[0] == BOUGHT else slot[0]
        met[column, part] += 1
        count = met[column, part]
        called = part if count == 1 else f"{part} ({count})".strip()
        named.append(StatedAmount(item, slot, called, value, of.at, of))
    return tuple(named)


def _amounts_of(part: PricePart) -> Iterator[tuple[Steps, str, Decimal]]:
    """The amounts of one part: the keys that lead to each, what it is for, and how much it is."""
    match part:
        case FixedPrice():
            yield ("amount",), "", part.amount
        case UnitPrice():
            yield ("price",), f"for {part.per}" if part.per != 1 else "", part.price
        case MeasuredPrice():
            yield ("rate",), f"each of {part.of}", part.rate
        case PriceTable():
            for names, value in part.rows:
                told = ", ".join(map("=".join, zip(part.by, names, strict=True)))
                yield ("rows", *names), told, value
        case Breaks():
            for index, step in enumerate(part.steps):
                yield ("steps", index, "each"), f"from {step.first} on", step.each
        case Labour() if part.minimum is not None:
            yield ("minimum",), f"least for {part.hours} h {part.trade}", part.minimum


def _with_amount(part: Any, keys: Steps, value: Decimal) -> Any:
    """The part with another amount under these keys."""
    match part:
        case PriceTable():
            rows = tuple((names, value if names == keys[1:] else v) for names, v in part.rows)
            return evolve(part, rows=rows)
        case Breaks():
            steps = tuple(
                evolve(step, each=value) if index == keys[1] else step
                for index, step in enumerate(part.steps)
            )
            return evolve(part, steps=steps)
    (key,) = keys
    name = "amount" if isinstance(part, FixedPrice) else str(key)  # of what a price is made from
    return evolve(part, **{name: value})


Wanted: TypeAlias = Mapping[str, Mapping[Slot, Decimal]]
"""New amounts by item and slot."""


def with_amounts(catalogue: Catalogue, wanted: Wanted, reread: Catalogue) -> Catalogue:
    """The catalogue with new amounts, in memory.

    What is marked up from a new cost is taken from the catalogue as it was read again.
    """

    def changed(kind: str, parts: Any, slots: Mapping[Slot, Decimal]) -> Any:
        made = list(parts)
        for (of, index, keys), value in slots.items():
            if of == kind:
                made[index] = _with_amount(made[index], keys, value)
        return tuple(made)

    def option_of(choice: str, option: Option) -> Option:
        slots = wanted.get(str(Pick(choice, option.id)))
        if slots is None:
            return option
        prices = changed(PRICE, option.price, slots)
        if any(kind == BOUGHT for kind, _, _ in slots):
            again = reread.option(choice, option.id).price
            prices = tuple(
                new if new.kind == "markup" else old for old, new in zip(prices, again, strict=True)
            )
        return evolve(option, price=prices)

    def trade_of(trade: Trade) -> Trade:
        slots = wanted.get(str(Pick(trade.choice, trade.option)))
        if slots is None:
            return trade
        cost, bought = changed(COST, trade.cost, slots), changed(BOUGHT, trade.bought, slots)
        return evolve(trade, cost=cost, bought=bought)

    *choices, add_ons = (
        evolve(choice, options=tuple(option_of(choice.id, option) for option in choice.options))
        for choice in (*catalogue.choices, catalogue.add_ons)
    )
    deals = tuple(
        evolve(deal, price=next(iter(wanted[DEAL + deal.id].values())))
        if DEAL + deal.id in wanted
        else deal
        for deal in catalogue.package_deals
    )
    return evolve(
        catalogue,
        choices=tuple(choices),
        add_ons=add_ons,
        trade=tuple(map(trade_of, catalogue.trade)),
        package_deals=deals,
    )
