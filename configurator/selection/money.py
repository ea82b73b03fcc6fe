"""The money side of a selection: adjustments, trade-ins, prices named for it, the build budget.

Values, and what can be wrong with them before any price is worked out. Amounts are in the
catalogue's currency.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, TypeAlias

from attrs import field, frozen

from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Catalogue
from configurator.errors import NOWHERE, Location, near_miss
from configurator.money import exponent

if TYPE_CHECKING:
    from configurator.selection.picks import Selection

__all__ = [
    "ELSEWHERE",
    "Adjustment",
    "Budget",
    "BudgetEntry",
    "NamedPrice",
    "Sale",
    "TradeIn",
    "money_problems",
]

ELSEWHERE = "Elsewhere"
"""Heading of budget entries that name none."""

Said: TypeAlias = tuple[Location, str, str, str, str]
"""Place, what stands there, sentence, code, hint."""


@frozen
class Adjustment:
    """A discount or surcharge, applied in the order given.

    Attributes:
        title: what the customer reads.
        reason: why.
        percent: of what it is on, negative for a discount; or
        amount: in the catalogue's currency, with tax in or out as its prices are.
        group: only the lines of this group.
        line: only the line of this ``choice=option``.
        approver: who approved it, where the catalogue asks for that; or empty.
    """

    title: str
    reason: str
    percent: Decimal | None = None
    amount: Decimal | None = None
    group: str = ""
    line: str = ""
    approver: str = ""
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class TradeIn:
    """Something taken in payment after tax: a trade-in, a credit, money paid before.

    Attributes:
        title: what the customer reads.
        reason: why, or what it is.
        amount: what it takes off what is to be paid; above zero.
    """

    title: str
    reason: str
    amount: Decimal
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class NamedPrice:
    """The price that the shop names for an option priced on application.

    Attributes:
        line: its ``choice=option``.
        amount: for one, with tax in or out as the catalogue's prices are.
        by: who named it.
    """

    line: str
    amount: Decimal
    by: str = ""
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class BudgetEntry:
    """What somebody else supplies or does for the build.

    Attributes:
        title: what.
        amount: what it costs the customer, tax and all.
        who: who supplies or does it.
        group: heading it stands under; empty for the common one.
        guessed: the amount is a guess.
        spent: it has been paid.
    """

    title: str
    amount: Decimal
    who: str = ""
    group: str = ""
    guessed: bool = False
    spent: bool = False
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Sale:
    """Something the customer sells towards the build; received when it has been paid."""

    title: str
    amount: Decimal
    who: str = ""
    guessed: bool = False
    received: bool = False
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Budget:
    """The customer's limit for the whole vehicle, and what others have a part in.

    Attributes:
        limit: for everything; None while there is none.
        limits: for one group of the quote or one heading of the entries.
        contingency: percent of what is not yet spent, for what always comes on top.
        entries: what others supply or do.
        sales: what the customer sells.
        keep: choices or ``choice=option`` that are not to be touched when saving.
    """

    limit: Decimal | None = None
    limits: tuple[tuple[str, Decimal], ...] = ()
    contingency: Decimal = Decimal(0)
    entries: tuple[BudgetEntry, ...] = ()
    sales: tuple[Sale, ...] = ()
    keep: tuple[str, ...] = ()
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


def money_problems(catalogue: Catalogue, selection: Selection, say: Callable[..., None]) -> None:
    """Say everything wrong with the money side of a selection.

    Args:
        catalogue: what the selection is of.
        selection: what is wanted.
        say: takes a place, what stands there, a sentence, a code and a hint.
    """
    for adjustment in selection.adjustments:
        for said in _adjustment(catalogue, selection, adjustment):
            say(*said)
    for said in (*_trade_ins(catalogue, selection), *_named(catalogue, selection)):
        say(*said)
    if selection.budget is not None:
        for said in _budget(catalogue, selection, selection.budget):
            say(*said)


def _decimals(catalogue: Catalogue, at: Location, where: str, amount: Decimal) -> Iterator[Said]:
    digits = exponent(catalogue.currency)
    places = amount.as_tuple().exponent
    if isinstance(places, int) and -places > digits:
        sentence = f"amount {amount} has more decimals than {catalogue.currency}: {digits}"
        hint = f"round it to {digits} decimals" if digits else "round it to a whole number"
        yield at, where, sentence, "bad-money", hint


def _some(known: Iterable[str]) -> str:
    names = list(known)
    return "known: " + ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")


def _adjustment(
    catalogue: Catalogue, selection: Selection, adjustment: Adjustment
) -> Iterator[Said]:
    at, where = adjustment.at, f'adjustment "{adjustment.title}"'
    if (adjustment.percent is None) == (adjustment.amount is None):
        yield at, where, f"{where} needs either a percent or an amount", "adjustment", ""
    elif adjustment.amount is not None:
        yield from _decimals(catalogue, at, where, adjustment.amount)
    if adjustment.group and adjustment.line:
        yield at, where, f"{where} is on a group and on a line at once", "adjustment", ""
    groups = [group.id for group in catalogue.groups] + [ADD_ON, FREE_LINE]
    if adjustment.group and adjustment.group not in groups:
        hint = near_miss(adjustment.group, groups) or _some(groups)
        yield at, where, f'there is no group "{adjustment.group}"', "unknown-group", hint
    choice, _, option = adjustment.line.partition("=")
    if adjustment.line and not selection.quantity(choice, option):
        sentence = f'{where} is on "{adjustment.line}", which is not picked'
        yield at, where, sentence, "adjustment-not-picked", "write the line as CHOICE=OPTION"


def _trade_ins(catalogue: Catalogue, selection: Selection) -> Iterator[Said]:
    for trade_in in selection.trade_ins:
        where = f'trade-in "{trade_in.title}"'
        if trade_in.amount <= 0:
            sentence = f"{where} is {trade_in.amount}; it must be more than 0"
            yield trade_in.at, where, sentence, "out-of-range", "write what it takes off"
        yield from _decimals(catalogue, trade_in.at, where, trade_in.amount)


def _named(catalogue: Catalogue, selection: Selection) -> Iterator[Said]:
    seen: set[str] = set()
    for named in selection.named_prices:
        where = f'named price of "{named.line}"'
        choice_id, _, option_id = named.line.partition("=")
        if not selection.quantity(choice_id, option_id):
            sentence = f'the price named is for "{named.line}", which is not picked'
            yield named.at, where, sentence, "price-not-picked", "write the line as CHOICE=OPTION"
            continue
        choice = catalogue.by_id.get(choice_id)
        option = choice.by_id.get(option_id) if choice else None
        if option and all(part.kind != "on-application" for part in option.price):
            sentence = f"{option.title} has a price in the catalogue"
            hint = "change it by an adjustment with a reason"
            yield named.at, where, sentence, "price-not-open", hint
        if named.line in seen:
            sentence = f'"{named.line}" has a second named price'
            yield named.at, where, sentence, "repeated-price", "keep one of them"
        seen.add(named.line)
        yield from _decimals(catalogue, named.at, where, named.amount)


def _budget(catalogue: Catalogue, selection: Selection, budget: Budget) -> Iterator[Said]:
    entries: tuple[BudgetEntry | Sale, ...] = (*budget.entries, *budget.sales)
    for entry in entries:
        where = f'budget entry "{entry.title}"'
        if entry.amount < 0:
            sentence = f"{where} is {entry.amount}; it must be at least 0"
            hint = "what the customer sells stands in sales, above zero"
            yield entry.at, where, sentence, "out-of-range", hint
        yield from _decimals(catalogue, entry.at, where, entry.amount)
    for name, amount in (("", budget.limit), *budget.limits):
        where = f"budget limit {name}".strip()
        if amount is not None:
            yield from _decimals(catalogue, budget.at, where, amount)
    headings = [group.id for group in catalogue.groups] + [ADD_ON, FREE_LINE]
    headings += [entry.group or ELSEWHERE for entry in budget.entries]
    for name, _ in budget.limits:
        if name not in headings:
            hint = near_miss(name, headings) or _some(dict.fromkeys(headings))
            sentence = f'there is no group "{name}" to set a budget limit for'
            yield budget.at, f"budget limit {name}", sentence, "unknown-group", hint
    yield from _kept(catalogue, selection, budget)


def _kept(catalogue: Catalogue, selection: Selection, budget: Budget) -> Iterator[Said]:
    for kept in budget.keep:
        where = f'budget keep "{kept}"'
        choice_id, equals, option = kept.partition("=")
        choice = catalogue.by_id.get(choice_id)
        if choice is None:
            hint = near_miss(choice_id, catalogue.by_id) or _some(catalogue.by_id)
            yield budget.at, where, f'there is no choice "{choice_id}"', "unknown-choice", hint
        elif choice_id != VEHICLE and not (
            selection.quantity(choice_id, option) if equals else choice_id in selection.chosen
        ):
            sentence = f'"{kept}" is to be kept, but is not picked'
            picked = selection.chosen.get(choice_id, ())
            hint = f"picked: {', '.join(sorted(picked))}" if picked else "pick it, or leave it out"
            yield budget.at, where, sentence, "keep-not-picked", hint
