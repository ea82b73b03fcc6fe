"""The money side of a selection: adjustments, trade-ins, prices named for it, the build budget.

Values, and what can be wrong with them before any price is worked out. Amounts are in the
catalogue's currency.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, TypeAlias

from attrs import frozen

from configurator.catalogue.fields import Amount, AmountFrom0, Id, Percent, written_at
from configurator.errors import Location
from configurator.shapes import asks, up_to

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
    """A discount or surcharge, applied in the order given."""

    title: Annotated[str, "What the customer reads.", up_to(80)]
    reason: Annotated[str, "Why; kept with the quote.", up_to(200)]
    percent: Annotated[
        Decimal | None,
        "Percent of what it is on; negative for a discount.",
        asks(minimum=-100, maximum=100),
    ] = None
    amount: Annotated[Amount | None, "Amount; negative for a discount."] = None
    group: Annotated[Id, "Only the lines of this group; left out: the whole package."] = ""
    line: Annotated[str, "Only this line, as CHOICE=OPTION.", up_to(130)] = ""
    approver: Annotated[str, "Who approved it, where the catalogue asks for that.", up_to(80)] = ""
    at: Location = written_at()


@frozen
class TradeIn:
    """Something taken in payment after tax: a trade-in, a credit, money paid before."""

    title: Annotated[str, "What the customer reads.", up_to(80)]
    reason: Annotated[str, "What it is, or why.", up_to(200)]
    amount: Annotated[
        Decimal,
        "What it takes off what is to be paid.",
        asks(format="money", maximum=100000000, exclusiveMinimum=0),
    ]
    at: Location = written_at()


@frozen
class NamedPrice:
    """The price that the shop names for an option priced on application."""

    line: Annotated[str, "The line that it is for, as CHOICE=OPTION.", up_to(130)]
    amount: Annotated[AmountFrom0, "For one, with tax in or out as in the catalogue."]
    by: Annotated[str, "Who named it.", up_to(80)] = ""
    at: Location = written_at()


@frozen
class BudgetEntry:
    """What somebody else supplies or does for the build."""

    title: Annotated[str, "What.", up_to(120)]
    amount: Annotated[AmountFrom0, "What it costs the customer, tax and all."]
    who: Annotated[str, "Who supplies or does it.", up_to(120)] = ""
    group: Annotated[str, "Heading it stands under. Default: Elsewhere.", up_to(60)] = ""
    guessed: Annotated[bool, "Whether the amount is a guess. Default: it is known."] = False
    spent: Annotated[bool, "Whether it has been paid. Default: it has not."] = False
    at: Location = written_at()


@frozen
class Sale:
    """Something the customer sells towards the build; received when it has been paid."""

    title: Annotated[str, "What.", up_to(120)]
    amount: Annotated[AmountFrom0, "What it brings."]
    who: Annotated[str, "Who buys it.", up_to(120)] = ""
    guessed: Annotated[bool, "Whether the amount is a guess. Default: it is known."] = False
    received: Annotated[bool, "Whether it has been paid. Default: it has not."] = False
    at: Location = written_at()


@frozen
class Budget:
    """The customer's limit for the whole vehicle, and what others have a part in."""

    limit: Annotated[
        Decimal | None,
        "For everything.",
        asks(format="money", maximum=100000000, exclusiveMinimum=0),
    ] = None
    limits: Annotated[
        tuple[
            tuple[
                str,
                Annotated[
                    Decimal,
                    "The limit.",
                    asks(format="money", maximum=100000000, exclusiveMinimum=0),
                ],
            ],
            ...,
        ],
        "For one group of the quote, by its id, or one heading of the entries.",
        asks(minProperties=1),
    ] = ()
    contingency: Annotated[
        Percent, "Percent of what is not yet spent, for what always comes on top. Default: 0."
    ] = Decimal(0)
    entries: Annotated[
        tuple[BudgetEntry, ...], "What others supply or do, and the customer's own work."
    ] = ()
    sales: Annotated[tuple[Sale, ...], "What the customer sells towards the build."] = ()
    keep: Annotated[
        tuple[Annotated[str, "A choice, or CHOICE=OPTION.", up_to(130)], ...],
        "What is not to be touched when saving: choices, or CHOICE=OPTION.",
    ] = ()
    at: Location = written_at()
