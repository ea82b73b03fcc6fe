"""What a customer wants so far: a value, and what can be wrong with it before any rule is asked.

A selection is changed by making another one (:meth:`Selection.picking`, :meth:`Selection.without`,
``attrs.evolve``). It may be partial everywhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import TypeAlias

import attrs
from attrs import field, frozen

from configurator.catalogue.model import FREE_LINE, Pick
from configurator.errors import NOWHERE, Location
from configurator.forms import form
from configurator.selection.free_lines import FreeLine
from configurator.selection.money import Adjustment, Budget, BudgetEntry, NamedPrice, Sale, TradeIn
from configurator.selection.revisions import Revision

__all__ = [
    "Adjustment",
    "Budget",
    "BudgetEntry",
    "Customer",
    "FreeLine",
    "NamedPrice",
    "Override",
    "Revision",
    "Sale",
    "Selection",
    "TradeIn",
    "Travel",
    "Wish",
]

Say: TypeAlias = Callable[..., None]


@frozen
class Customer:
    """Who the quote is for."""

    name: str
    address: tuple[str, ...] = ()
    email: str = ""
    phone: str = ""
    vehicle: str = ""


@frozen
class Wish:
    """Where a unit is wanted: a side, an end, or an exact position in mm."""

    choice: str
    option: str
    side: str = ""
    towards: str = ""
    x: int | None = None
    y: int | None = None
    z: int | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Override:
    """A rating let pass by someone who answers for it; printed wherever the finding is.

    Attributes:
        subject: ``gvm``, ``front-axle``, ``rear-axle``, ``gcm``, ``tow-ball``,
            ``overhang``, or the id of a limit on mass.
        name: who decided it.
        reason: why.
    """

    subject: str
    name: str
    reason: str
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Travel:
    """How the vehicle will be used; whatever is None or empty is the catalogue's setting.

    Attributes:
        people: how many travel.
        tow_ball: download on the tow ball, kg.
        trailer: mass of the laden trailer, kg.
        place: id of the place whose sun counts.
        season: ``summer``, ``winter`` or ``year``.
        driving: hours driven a day.
    """

    people: int | None = None
    tow_ball: Decimal | None = None
    trailer: Decimal | None = None
    place: str = ""
    season: str = ""
    driving: Decimal | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@form()
@frozen
class Selection:
    """Options picked per choice, with quantities; add-ons accepted; wishes and adjustments.

    Accepted add-ons are picks of the choice called add-on, free lines of the one called free-line:
    :meth:`adding` puts one in. The order of picks means nothing.
    ``at`` is where its catalogue is named. ``revision`` counts the issues of its quote, and
    ``revisions`` tell what changed in them.
    """

    catalogue: str
    picks: tuple[Pick, ...] = ()
    title: str = ""
    customer: Customer | None = None
    free_lines: tuple[FreeLine, ...] = ()
    wishes: tuple[Wish, ...] = ()
    adjustments: tuple[Adjustment, ...] = ()
    trade_ins: tuple[TradeIn, ...] = ()
    named_prices: tuple[NamedPrice, ...] = ()
    budget: Budget | None = None
    notes: tuple[str, ...] = ()
    travel: Travel = Travel()
    overrides: tuple[Override, ...] = ()
    revision: int | None = None
    revisions: tuple[Revision, ...] = ()
    source: str = field(default="", eq=False)
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)

    @cached_property
    def quantities(self) -> Mapping[tuple[str, str], int]:
        """Quantity of each picked ``(choice, option)``."""
        counted: Counter[tuple[str, str]] = Counter()
        for pick in self.picks:
            counted[pick.choice, pick.option] += pick.quantity
        return MappingProxyType(dict(counted))

    @cached_property
    def chosen(self) -> Mapping[str, tuple[str, ...]]:
        """The option ids picked in each choice."""
        found: dict[str, tuple[str, ...]] = {}
        for choice, option in self.quantities:
            found[choice] = (*found.get(choice, ()), option)
        return MappingProxyType(found)

    def quantity(self, choice: str, option: str) -> int:
        """How many of the option are picked."""
        return self.quantities.get((choice, option), 0)

    def one(self, choice: str) -> str | None:
        """The id picked in a choice of one, or None while nothing is."""
        return next(iter(self.chosen.get(choice, ())), None)

    def adding(self, line: FreeLine, quantity: int = 1) -> Selection:
        """The selection with so many of a free line added."""
        pick = Pick(FREE_LINE, line.id, quantity, at=line.at)
        return attrs.evolve(self, picks=(*self.picks, pick), free_lines=(*self.free_lines, line))

    def without(self, choice: str, option: str = "") -> Selection:
        """The selection without the option, or without any pick in the choice."""
        kept = (p for p in self.picks if p.choice != choice or option not in ("", p.option))
        return attrs.evolve(self, picks=tuple(kept))

    def tidied(self) -> Selection:
        """The selection without whatever is about no pick any more.

        Those are free lines, wishes, adjustments and prices.
        """

        def held(line: str) -> bool:
            choice, equals, option = line.partition("=")
            return bool(self.quantity(choice, option)) if equals else choice in self.chosen

        budget = self.budget
        if budget is not None:
            budget = attrs.evolve(budget, keep=tuple(filter(held, budget.keep)))
        return attrs.evolve(
            self,
            free_lines=tuple(f for f in self.free_lines if self.quantity(FREE_LINE, f.id)),
            wishes=tuple(w for w in self.wishes if self.quantity(w.choice, w.option)),
            adjustments=tuple(a for a in self.adjustments if not a.line or held(a.line)),
            named_prices=tuple(n for n in self.named_prices if held(n.line)),
            budget=budget,
        )
