"""What a customer wants so far: a value, and what can be wrong with it before any rule is asked.

A selection is changed by making another one (:meth:`Selection.picking`, :meth:`Selection.without`,
``attrs.evolve``). It may be partial everywhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import Annotated, TypeAlias

import attrs
from attrs import field, frozen

from configurator.catalogue.fields import ONE_LINE, Hours, Id, Mm, NotNegative, Text, written_at
from configurator.catalogue.model import FREE_LINE, Pick
from configurator.errors import Location
from configurator.forms import form
from configurator.selection.free_lines import FreeLine
from configurator.selection.money import Adjustment, Budget, BudgetEntry, NamedPrice, Sale, TradeIn
from configurator.selection.revisions import Revision
from configurator.shapes import Ref, asks, one_of, up_to

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

    name: Annotated[str, "Name.", up_to(120)]
    address: Annotated[
        tuple[Annotated[str, "A line.", up_to(120)], ...], "Lines of the address."
    ] = ()
    email: Annotated[str, "E-mail address.", up_to(120, ONE_LINE)] = ""
    phone: Annotated[str, "Telephone number.", up_to(40, ONE_LINE)] = ""
    vehicle: Annotated[str, "The customer's own vehicle, as they describe it.", up_to(200)] = ""


@frozen
class Wish:
    """Where a unit is wanted: a side, an end, or an exact position in mm."""

    choice: Annotated[Id, "The choice."]
    option: Annotated[Id, "The unit picked in it."]
    side: Annotated[
        str, "The side of the vehicle that it works from.", one_of("left", "right", "rear")
    ] = ""
    towards: Annotated[str, "Which end it is wanted at.", one_of("front", "rear")] = ""
    x: Annotated[Mm | None, "Exact position: its front end behind the inside front wall, mm."] = (
        None
    )
    y: Annotated[Mm | None, "Exact position: its left flank from the inside left wall, mm."] = None
    z: Annotated[Mm | None, "Exact position: its underside above the inside floor, mm."] = None
    at: Location = written_at()


@frozen
class Override:
    """A rating let pass by someone who answers for it; printed wherever the finding is."""

    subject: Annotated[
        Id,
        "gvm, front-axle, rear-axle, gcm, tow-ball, overhang, or the id of a limit that counts "
        "mass.",
    ]
    name: Annotated[str, "Who decided it.", up_to(120)]
    reason: Annotated[str, "Why.", up_to(300)]
    at: Location = written_at()


@frozen
class Travel:
    """How the vehicle will be used; whatever is None or empty is the catalogue's setting."""

    people: Annotated[int | None, "How many travel.", asks(minimum=1, maximum=20)] = None
    tow_ball: Annotated[NotNegative | None, "Download on the tow ball, kg."] = None
    trailer: Annotated[NotNegative | None, "Mass of the laden trailer, kg."] = None
    place: Annotated[Id, "The place whose sun counts, one of the catalogue's."] = ""
    season: Annotated[
        str, "The season for draw and sun; year is the mean.", one_of("summer", "winter", "year")
    ] = ""
    driving: Annotated[Hours | None, "Hours driven a day."] = None
    at: Location = written_at()


@form()
@frozen
class Selection:
    """Options picked per choice, with quantities; add-ons accepted; wishes and adjustments.

    Accepted add-ons are picks of the choice called add-on, free lines of the one called free-line:
    :meth:`adding` puts one in. The order of picks means nothing.
    ``at`` is where its catalogue is named. ``revision`` counts the issues of its quote, and
    ``revisions`` tell what changed in them.
    """

    catalogue: Annotated[Id, "Id of the catalogue that the picks belong to."]
    picks: Annotated[tuple[Pick, ...], Ref("picks"), "Options picked, by choice id."] = ()
    title: Annotated[str, "A name for this selection, where several are compared.", up_to(80)] = ""
    customer: Annotated[Customer | None, "Who it is for."] = None
    free_lines: Annotated[
        tuple[FreeLine, ...],
        "Free lines: what is sold with the package and is not in the catalogue. Priced, weighed "
        "and shown like the rest, and marked as not from the catalogue.",
    ] = ()
    wishes: Annotated[tuple[Wish, ...], "Wishes about position."] = ()
    adjustments: Annotated[
        tuple[Adjustment, ...], "Discounts and surcharges, in the order in which they are applied."
    ] = ()
    trade_ins: Annotated[
        tuple[TradeIn, ...],
        "What is taken in payment after tax: trade-ins, credits, money paid before.",
    ] = ()
    named_prices: Annotated[
        tuple[NamedPrice, ...], "Prices that the shop names for options priced on application."
    ] = ()
    budget: Annotated[
        Budget | None, "The customer's budget for the whole vehicle.", asks(minProperties=1)
    ] = None
    notes: Annotated[
        tuple[Annotated[Text, "A paragraph."], ...], "Notes for the customer, printed on the quote."
    ] = ()
    travel: Annotated[
        Travel,
        "How the vehicle will be used; what is left out is the catalogue's setting.",
        asks(minProperties=1),
    ] = Travel()
    overrides: Annotated[
        tuple[Override, ...],
        "Ratings let pass by someone who answers for it; printed on the quote.",
    ] = ()
    revision: Annotated[
        int | None,
        "Which revision of its quote this is, from 1; printed with the quote's number. Default: "
        "the number alone.",
        asks(minimum=1, maximum=999),
    ] = None
    revisions: Annotated[
        tuple[Revision, ...],
        "What changed in each revision, the first one first; printed on the quote.",
    ] = ()
    source: str = field(default="", eq=False)
    at: Location = written_at()

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
