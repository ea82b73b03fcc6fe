"""What a customer wants so far, as values.

A selection is changed by making another one (:meth:`Selection.without`, ``attrs.evolve``). It may
be partial everywhere. Amounts are in the catalogue's currency. The JSON Schema of a selection is
derived from these classes.

A free line is what the catalogue does not have, such as a customer's dog box. It is priced, weighed
and shown like an option of a choice of its own, and marked as not from the catalogue wherever it
stands. It brings a price, a mass and a position, and nothing else: no rule can name it, it gives
nothing of a limit, and it takes no room in a space.
"""

from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import Annotated

import attrs
from attrs import evolve, field, frozen

from configurator.catalogue.fields import (
    MOST_MONEY,
    ONE_LINE,
    Amount,
    AmountFrom0,
    Hours,
    Id,
    Mm,
    NotNegative,
    Percent,
    Pick,
    PicksByChoice,
    Record,
    Text,
    Written,
    as_pick,
    as_picks,
)
from configurator.catalogue.model import ADD_ON, FREE_LINE, Choice, Option
from configurator.catalogue.parts import (
    UNITS_OF_SALE,
    FixedMass,
    FixedPrice,
    SoldBy,
    UnitPrice,
)
from configurator.catalogue.units import Position
from configurator.selection.dates import PlannedDate, Revision
from configurator.selection.values import Stated
from configurator.shapes.forms import form
from configurator.shapes.schema import As, asks, one_of, up_to
from configurator.words import text

FREE_LINES = text("Not from the catalogue")
"""Title of the choice and of the group of those that name no other, and note of their lines."""


def grouped(picks: tuple[Pick, ...]) -> tuple[Pick, ...]:
    """The picks as a file has them: each option once, by choice, add-ons and free lines last."""
    if not isinstance(picks, tuple) or not all(isinstance(pick, Pick) for pick in picks):
        return picks  # refused by whoever asks what is in them
    choices: dict[str, dict[str, Pick]] = {}
    for pick in picks:
        held = choices.setdefault(pick.choice, {})
        one = held.get(pick.option)
        many = None if one is None else one.many + pick.many
        held[pick.option] = pick if many is None else Pick.counting(*pick.key, many, pick.at)
    last = [choices.pop(choice, {}) for choice in (ADD_ON, FREE_LINE)]
    return tuple(pick for held in (*choices.values(), *last) for pick in held.values())


def marked_title(choice: str, option: Option) -> str:
    """The title of an option, marked where it is a free line, for lists without notes."""
    if choice != FREE_LINE:
        return option.title
    return text("{title} (not from the catalogue)", title=option.title)


ELSEWHERE = text("Elsewhere")
"""Heading of budget entries that name none."""


@frozen(repr=False, eq=False)
class Customer(Record):
    """Who the quote is for."""

    name: Annotated[str, "Name.", up_to(120)]
    address: Annotated[
        tuple[Annotated[str, "A line.", up_to(120)], ...], "Lines of the address."
    ] = ()
    email: Annotated[str, "E-mail address.", up_to(120, ONE_LINE)] = ""
    phone: Annotated[str, "Telephone number.", up_to(40, ONE_LINE)] = ""
    vehicle: Annotated[str, "The customer's own vehicle, as they describe it.", up_to(200)] = ""


@frozen(repr=False, eq=False)
class Wish(Stated):
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


@frozen(repr=False, eq=False)
class Override(Stated):
    """A rating overridden by someone who answers for it; printed wherever the finding is."""

    subject: Annotated[
        Id,
        "gvm, front-axle, rear-axle, gcm, tow-ball, overhang, or the id of a limit that counts "
        "mass.",
    ]
    name: Annotated[str, "Who decided it.", up_to(120)]
    reason: Annotated[str, "Why.", up_to(300)]


@frozen(repr=False, eq=False)
class Travel(Stated):
    """How the vehicle will be used; whatever is None or empty is the catalogue's setting."""

    people: Annotated[int | None, "How many travel.", asks(minimum=1, maximum=20)] = None
    tow_ball: Annotated[NotNegative | None, "Download on the tow ball, kg."] = None
    trailer: Annotated[NotNegative | None, "Mass of the laden trailer, kg."] = None
    place: Annotated[Id, "The place whose sun counts, one of the catalogue's."] = ""
    season: Annotated[
        str, "The season for draw and sun; year is the mean.", one_of("summer", "winter", "year")
    ] = ""
    driving: Annotated[Hours | None, "Hours driven a day."] = None


@frozen(repr=False, eq=False)
class FreeLine(Stated):
    """Something sold that the catalogue does not have.

    How many of it is a pick of the choice called free-line.
    """

    id: Annotated[
        Id,
        "A name for it, for adjustments on the line free-line=ID. Default: its number in this "
        "list, from 1.",
    ]
    title: Annotated[str, "What the customer reads.", up_to(80)]
    price: Annotated[
        Decimal,
        "Price of one, with tax in or out as in the catalogue; 0 or more. What is taken off is "
        "an adjustment.",
        asks(maximum=MOST_MONEY),
    ]
    mass: Annotated[
        Decimal,
        "Mass of one, kg, with whatever is in it, to the gram; 0 for what weighs nothing, such "
        "as freight.",
        asks(maximum=100000),
    ]
    tax: Annotated[Id, "Name of one of the catalogue's tax rates. Default: its first."] = ""
    group: Annotated[
        Id, "Group of the quote that it stands in. Default: one for free lines, after all others."
    ] = ""
    position: Annotated[
        Position | None,
        "Where the middle of its mass sits on the vehicle. Left out: nobody knows; the middle "
        "of the canopy or, in the group tray, of the tray is assumed and said so.",
    ] = None
    note: Annotated[str, "A sentence more for the customer.", up_to(200)] = ""
    per: Annotated[
        int | None,
        "How many the price is for, such as 100; it may then be finer than the currency, and is "
        "rounded once, on the line. Left out: the price is for one.",
        asks(minimum=1, maximum=100000),
    ] = None
    unit: Annotated[
        str,
        "What it is measured in, where it is; its price and mass are then for one unit.",
        one_of(*UNITS_OF_SALE),
    ] = ""

    @cached_property
    def option(self) -> Option:
        """It as an option of the choice called free-line."""
        price = FixedPrice(self.price, note=FREE_LINES, at=self.at)
        return Option(
            id=self.id,
            title=self.title,
            text=self.note,
            price=(price if self.per is None else self._finer,),
            tax=self.tax,
            mass=(FixedMass(self.mass, at=self.at),) if self.mass else (),
            position=self.position,
            group=self.group,
            at=self.at,
        )

    @property
    def _finer(self) -> UnitPrice:
        return UnitPrice(self.price, self.per or 1, note=FREE_LINES, at=self.at)


@frozen(repr=False, eq=False)
class Adjustment(Stated):
    """A discount or surcharge, applied in the order given."""

    title: Annotated[str, "What the customer reads.", up_to(80)]
    reason: Annotated[str, "Why; kept with the quote.", up_to(200)]
    percent: Annotated[
        Decimal | None,
        "Per cent of what it is on; negative for a discount.",
        asks(minimum=-100, maximum=100),
    ] = None
    amount: Annotated[Amount | None, "Amount; negative for a discount."] = None
    group: Annotated[Id, "Only the lines of this group; left out: the whole package."] = ""
    line: Annotated[Pick | None, "Only this line, as CHOICE=OPTION.", up_to(130)] = field(
        default=None, converter=as_pick
    )
    tax: Annotated[
        Id,
        "Only what is taxed at this rate, by the rate's name: a percent is of those lines, and the "
        "amount is taxed at it even where there are none.",
    ] = ""
    approver: Annotated[str, "Who approved it, where the catalogue asks for that.", up_to(80)] = ""


@frozen(repr=False, eq=False)
class TradeIn(Stated):
    """Something taken in payment after tax: a trade-in, a credit, money paid before."""

    title: Annotated[str, "What the customer reads.", up_to(80)]
    reason: Annotated[str, "What it is, or why.", up_to(200)]
    amount: Annotated[
        Decimal,
        "What it takes off what is to be paid.",
        asks(format="money", maximum=MOST_MONEY, exclusiveMinimum=0),
    ]


@frozen(repr=False, eq=False)
class NamedPrice(Stated):
    """The price that the shop names for an option priced on application."""

    line: Annotated[Pick, "The line that it is for, as CHOICE=OPTION.", up_to(130)] = field(
        converter=as_pick
    )
    amount: Annotated[AmountFrom0, "For one, with tax in or out as in the catalogue."]
    by: Annotated[str, "Who named it.", up_to(80)] = ""


@frozen(repr=False, eq=False)
class BudgetEntry(Stated):
    """What somebody else supplies or does for the build."""

    title: Annotated[str, "What.", up_to(120)]
    amount: Annotated[AmountFrom0, "What it costs the customer, including tax."]
    who: Annotated[str, "Who supplies or does it.", up_to(120)] = ""
    group: Annotated[str, "Heading it stands under. Default: Elsewhere.", up_to(60)] = ""
    guessed: Annotated[bool, "Whether the amount is a guess. Default: it is known."] = False
    spent: Annotated[bool, "Whether it has been paid. Default: it has not."] = False


@frozen(repr=False, eq=False)
class Sale(Stated):
    """Something the customer sells towards the build; received when it has been paid."""

    title: Annotated[str, "What.", up_to(120)]
    amount: Annotated[AmountFrom0, "What it brings."]
    who: Annotated[str, "Who buys it.", up_to(120)] = ""
    guessed: Annotated[bool, "Whether the amount is a guess. Default: it is known."] = False
    received: Annotated[bool, "Whether it has been paid. Default: it has not."] = False


@frozen(repr=False, eq=False)
class Budget(Stated):
    """The customer's limit for the whole vehicle, and what others have a part in."""

    limit: Annotated[
        Decimal | None,
        "For everything.",
        asks(format="money", maximum=MOST_MONEY, exclusiveMinimum=0),
    ] = None
    limits: Annotated[
        tuple[
            tuple[
                str,
                Annotated[
                    Decimal,
                    "The limit.",
                    asks(format="money", maximum=MOST_MONEY, exclusiveMinimum=0),
                ],
            ],
            ...,
        ],
        "For one group of the quote, by its id, or one heading of the entries.",
        asks(minProperties=1),
    ] = ()
    contingency: Annotated[
        Percent, "Per cent of what is not yet spent, for what always comes on top. Default: 0."
    ] = Decimal(0)
    entries: Annotated[
        tuple[BudgetEntry, ...], "What others supply or do, and the customer's own work."
    ] = ()
    sales: Annotated[tuple[Sale, ...], "What the customer sells towards the build."] = ()
    keep: Annotated[
        tuple[Annotated[Pick, "A choice, or CHOICE=OPTION.", up_to(130)], ...],
        "What is not to be touched when saving: choices, or CHOICE=OPTION.",
    ] = field(default=(), converter=as_picks)


@form()
@frozen(repr=False, eq=False)
class Selection(Written):
    """Options picked per choice, with quantities; add-ons accepted; wishes and adjustments.

    Accepted add-ons are picks of the choice called add-on, free lines of the one called free-line:
    :meth:`adding` puts one in. The order of picks means nothing; it is that of a file.
    ``at`` is where its catalogue is named. ``revision`` counts the issues of its quote, and
    ``revisions`` say what changed in them.
    """

    catalogue: Annotated[Id, "Id of the catalogue that the picks belong to."]
    picks: Annotated[tuple[Pick, ...], As(PicksByChoice), "Options picked, by choice id."] = field(
        default=(), converter=grouped
    )
    none: Annotated[
        tuple[Annotated[Pick, "The choice."], ...],
        "Choices of at most one or several that are settled: none of their options is wanted. "
        "Nothing is added to them when the package is completed or fixed.",
    ] = ()
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
    dates: Annotated[
        tuple[PlannedDate, ...],
        "Days that are agreed, such as payments, the build and the collection; they are in the "
        "calendar file of the quote.",
    ] = ()
    source: str = field(default="", eq=False)

    @cached_property
    def quantities(self) -> Mapping[tuple[str, str], int]:
        """Quantity of each picked ``(choice, option)``."""
        counted: Counter[tuple[str, str]] = Counter()
        for pick in self.picks:
            counted[pick.choice, pick.option] += pick.quantity
        return MappingProxyType(dict(counted))

    @cached_property
    def amounts(self) -> Mapping[tuple[str, str], Decimal]:
        """How much of each ``(choice, option)`` that is picked by measure."""
        found: dict[tuple[str, str], Decimal] = {}
        for pick in self.picks:
            if pick.amount is not None:
                found[pick.key] = found.get(pick.key, Decimal(0)) + Decimal(pick.many)
        return MappingProxyType(found)

    def measuring(self, measured: frozenset[tuple[str, str]]) -> "Selection":
        """The selection with one pick, and its amount, of each of these that is picked."""
        off = [pick for pick in self.picks if pick.key in measured]
        once = len({pick.key for pick in off}) == len(off)
        if once and all(pick.quantity == 1 and pick.amount is not None for pick in off):
            return self
        first = {pick.key: pick for pick in reversed(off)}
        for key, pick in first.items():
            amount = sum((Decimal(p.many) for p in off if p.key == key), Decimal(0))
            first[key] = evolve(pick, quantity=1, amount=amount)
        kept = (first.pop(p.key, None) if p.key in measured else p for p in self.picks)
        return evolve(self, picks=tuple(pick for pick in kept if pick is not None))

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

    @cached_property
    def empty(self) -> frozenset[str]:
        """Ids of the choices of which none is wanted."""
        return frozenset(pick.choice for pick in self.none)

    def one(self, choice: str) -> str | None:
        """The id picked in a choice of one, or None while nothing is."""
        return next(iter(self.chosen.get(choice, ())), None)

    def adding(self, line: FreeLine, quantity: int | Decimal = 1) -> "Selection":
        """The selection with this many, or this much, of a free line added."""
        pick = Pick.counting(FREE_LINE, line.id, quantity, line.at)
        return attrs.evolve(self, picks=(*self.picks, pick), free_lines=(*self.free_lines, line))

    def without(self, choice: str, option: str = "") -> "Selection":
        """The selection without the option, or without any pick in the choice.

        Without an option, the choice is not settled as one of which none is wanted either.
        """
        kept = (p for p in self.picks if p.choice != choice or option not in ("", p.option))
        open_again = self if option else self.wanting(choice)
        return attrs.evolve(open_again, picks=tuple(kept))

    def wanting(self, choice: str) -> "Selection":
        """The selection without it being said that none of the choice is wanted."""
        return attrs.evolve(self, none=tuple(one for one in self.none if one.choice != choice))

    def tidied(self, choice: str = "") -> "Selection":
        """The selection without whatever is about no pick any more; of one choice, where named.

        Those are free lines, wishes, adjustments and prices.
        """

        def held(line: Pick) -> bool:
            if choice and line.choice != choice:
                return True
            return bool(self.quantity(*line.key)) if line.option else line.choice in self.chosen

        budget = self.budget
        if budget is not None:
            budget = attrs.evolve(budget, keep=tuple(kept for kept in budget.keep if held(kept)))
        return attrs.evolve(
            self,
            none=tuple(
                one
                for one in self.none
                if one.choice not in self.chosen or (choice and one.choice != choice)
            ),
            free_lines=tuple(f for f in self.free_lines if held(Pick(FREE_LINE, f.id))),
            wishes=tuple(w for w in self.wishes if held(Pick(w.choice, w.option))),
            adjustments=tuple(a for a in self.adjustments if not a.line or held(a.line)),
            named_prices=tuple(n for n in self.named_prices if held(n.line)),
            budget=budget,
        )


def free_choice(selection: Selection) -> Choice | None:
    """The choice whose options are the selection's free lines; None where it has none."""
    lines = selection.free_lines
    if not lines:
        return None
    options = []
    for line in lines:
        key = FREE_LINE, line.id
        amount = selection.amounts.get(key)
        measure = SoldBy(line.unit) if line.unit or amount is not None else None
        many = max(1, selection.quantity(*key))
        options.append(evolve(line.option, most=many, sold_by=measure, amount=amount))
    return Choice(FREE_LINE, FREE_LINES, "", "several", tuple(options))
