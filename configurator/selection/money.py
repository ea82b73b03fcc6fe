"""The money side of a selection: adjustments, trade-ins, prices named for it, the build budget.

Values, and what can be wrong with them before any price is worked out. Amounts are in the
catalogue's currency.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TypeAlias

from attrs import field, frozen

from configurator.errors import NOWHERE, Location

__all__ = [
    "ELSEWHERE",
    "Adjustment",
    "Budget",
    "BudgetEntry",
    "NamedPrice",
    "Sale",
    "TradeIn",
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
