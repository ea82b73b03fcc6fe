"""The catalogue as values: what a shop offers, frozen.

Sizes are whole or decimal millimetres, masses kilograms, amounts Decimal in the catalogue's
currency with tax in or out as :attr:`Tax.prices` says. Every record remembers in ``at`` where it
was written, which takes no part in equality. A catalogue's JSON Schema is derived from these.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import Annotated, Any

from attrs import evolve, field, fields, frozen

from configurator.catalogue.cutting import Cutting, Extrusion, Panel
from configurator.catalogue.fields import (
    Amount,
    Condition,
    Count,
    ForPeople,
    Id,
    NotNegative,
    PartName,
    Pick,
    PicksByChoice,
    Record,
    Share,
    Text,
    Words,
    Written,
)
from configurator.catalogue.parts import CostParts, FixedPrice, MassParts, PriceParts, SoldBy
from configurator.catalogue.power import Power, PowerSettings
from configurator.catalogue.shop import Approval, QuoteTerms, Rounding, ShopDetails, Tax, Validity
from configurator.catalogue.units import Opening, Position, SpacePart, Unit, Work
from configurator.catalogue.vehicles import Hitch, MassSettings, Ratings, TrayPart, Vehicle
from configurator.errors import Location
from configurator.shapes.schema import As, Or, asks, one_of, up_to
from configurator.words import in_unit, several, text

VEHICLE = "vehicle"
"""Id of the choice that the vehicles make."""

ADD_ON = "add-on"
"""Id of the choice that the add-ons make."""

FREE_LINE = "free-line"
"""Id of the choice that the free lines of a selection make."""


@frozen(repr=False, cache_hash=True)
class Option(Written):
    """One answer to a choice, with whatever it brings.

    Vehicles and add-ons are options too; only they have ``vehicle``, ``suggest`` and ``because``.
    Only free lines have a ``group`` other than that of their choice. ``amount`` is how much a
    selection picks of what is ``sold_by`` measure.
    An option is part of many answers and papers, so what it costs the shop is not in it: see
    :class:`Trade`.
    """

    id: Annotated[Id, "Short name in rules and selections; unique within its choice."]
    title: Annotated[str, "Name as the customer reads it.", ForPeople(120)]
    text: Annotated[Words, "A sentence or two for the quote."] = ""
    price: Annotated[
        tuple[PriceParts, ...],
        "An amount, or a list of parts that are added up. 0 says that there is no charge.",
        Or(Amount),
        asks(minItems=1),
    ] = ()
    tax: Annotated[Id, "Which of the tax rates applies. Default: the first."] = ""
    mass: Annotated[
        tuple[MassParts, ...],
        "Kg, or a list of parts that are added up; empty, without contents.",
        Or(NotNegative),
        asks(minItems=1),
    ] = ()
    position: Annotated[Position | None, "Where its mass sits."] = None
    space: Annotated[
        tuple[tuple[Id, SpacePart], ...],
        "What it says of spaces, by space id.",
        asks(minProperties=1),
    ] = ()
    openings: Annotated[tuple[Opening, ...], "Doors that it brings.", asks(minItems=1)] = ()
    unit: Annotated[Unit | None, "The thing to place."] = None
    power: Annotated[Power | None, "Its part in the 12 V system."] = None
    work: Annotated[
        tuple[Work, ...], "What the workshop does for it: cuts, holes, fixings.", asks(minItems=1)
    ] = ()
    panels: Annotated[
        tuple[Panel, ...], "Panels that are cut for it, on the cut list.", asks(minItems=1)
    ] = ()
    extrusions: Annotated[
        tuple[Extrusion, ...], "Extrusions that are cut for it.", asks(minItems=1)
    ] = ()
    cut_from: Annotated[
        Id, "The stock sheet that panels are cut from whose stock-of names this option's choice."
    ] = ""
    gives: Annotated[
        tuple[tuple[Id, Annotated[NotNegative, "Amount, in the limit's unit."]], ...],
        "What it adds to limits, by limit id.",
    ] = ()
    uses: Annotated[
        tuple[tuple[Id, Annotated[NotNegative, "Amount, in the limit's unit."]], ...],
        "What it takes of limits, by limit id.",
    ] = ()
    contents: Annotated[
        NotNegative,
        "Allowance for what is kept in it when travelling, kg, for what is no unit (a box under "
        "the tray).",
    ] = Decimal(0)
    tray: Annotated[TrayPart | None, "What it says of the tray's size.", asks(minProperties=1)] = (
        None
    )
    ratings: Annotated[
        Ratings | None, "Its ratings. Of several, the last listed counts.", asks(minProperties=1)
    ] = None
    hitch: Annotated[
        Hitch | None, "Its ratings and place as a tow bar. Of several, the first tows."
    ] = None
    most: Annotated[Count, "The largest quantity, in a choice of several. Default 1."] = 1
    sold_by: Annotated[
        SoldBy | None,
        "How it is measured off, such as hose by the metre. Left out: it is sold by the piece.",
    ] = None
    vehicle: Annotated[Vehicle | None, "Maker's figures."] = None
    suggest: Annotated[Condition | None, "When to suggest it; left out: never of itself."] = None
    because: Annotated[Words, "Why it is suggested, a sentence that the customer reads."] = ""
    group: str = ""
    amount: Decimal | None = None

    @property
    def how_much(self) -> Decimal:
        """How much there is of it each time it is picked; one, unless it is measured off."""
        if self.sold_by is None:
            return Decimal(1)
        return self.sold_by.usual if self.amount is None else self.amount

    @property
    def measured(self) -> Decimal | None:
        """The same where it is measured off; None where it is sold by the piece."""
        return None if self.sold_by is None else self.how_much

    def times(self, many: int | Decimal) -> str:
        """The title, with how many of it where it is more than one, or how much."""
        if self.sold_by is None:
            return several(int(many), self.title)
        much = in_unit(many, self.sold_by.unit)
        return text("{title}, {much}", title=self.title, much=much)

    def given(self, limit: str) -> Decimal:
        """What it adds to a limit each time it is picked."""
        return self._amount(self.gives, limit)

    def used(self, limit: str) -> Decimal:
        """What it takes of a limit each time it is picked."""
        return self._amount(self.uses, limit)

    def _amount(self, each: Iterable[tuple[str, Decimal]], limit: str) -> Decimal:
        for identity, amount in each:
            if identity == limit:
                return amount * self.how_much
        return Decimal(0)


@frozen(repr=False, eq=False)
class Trade(Record):
    """What one option costs the shop and who supplies it: for the shop's eyes only.

    Attributes:
        choice: id of the option's choice.
        option: id of the option.
        cost: parts of what one costs the shop, without tax.
        bought: for each markup in its price, the supplier's price without tax, as a fixed part
            that counts on the same days.
        supplier: who supplies it, or empty.
        supplier_code: the supplier's own part number, or empty.
    """

    choice: str
    option: str
    cost: Annotated[
        tuple[CostParts, ...],
        "What the shop pays, without tax: an amount, or a list of parts that are added up; "
        "supplier's prices in a markup come on top of themselves. For the shop's eyes only; "
        "never on a customer's paper.",
        Or(Amount),
        asks(minItems=1),
    ] = ()
    bought: tuple[FixedPrice, ...] = ()
    supplier: Annotated[Text, "Who supplies it. For the shop's eyes only."] = ""
    supplier_code: Annotated[Text, "The supplier's own part number. For the shop's eyes only."] = ""


@frozen(repr=False, eq=False)
class Choice(Written):
    """One thing to be decided."""

    id: Annotated[Id, "Short name in rules and selections; not vehicle, add-on, all, any or none."]
    title: Annotated[str, "What is decided, as the customer reads it.", ForPeople(80)]
    group: Annotated[Id, "The group of the quote that it belongs to."]
    pick: Annotated[
        str,
        "one: exactly one option. at-most-one: one option or nothing. several: any number of "
        "options, with quantities.",
        one_of("one", "at-most-one", "several"),
    ]
    options: Annotated[
        tuple[Option, ...], "The answers, in the order in which they are offered.", asks(minItems=1)
    ]
    text: Annotated[Words, "A sentence of advice for whoever decides."] = ""
    at_most: Annotated[Count | None, "several: the largest total quantity."] = None

    @cached_property
    def by_id(self) -> Mapping[str, Option]:
        """The options by their ids."""
        return MappingProxyType({option.id: option for option in self.options})

    @cached_property
    def order(self) -> Mapping[str, int]:
        """The place of each option in the catalogue's order."""
        return MappingProxyType({option.id: index for index, option in enumerate(self.options)})


@frozen(repr=False, eq=False)
class Rule(Written):
    """A stated compatibility. When it applies, what it needs must hold, what it rules out must not.

    Exactly one of ``needs`` and ``rules_out`` is given; ``when`` None means always.
    """

    id: Annotated[Id, "Short name."]
    because: Annotated[Words, "The reason, a sentence that a customer may read."]
    when: Annotated[Condition | None, "When the rule applies; left out: always."] = None
    needs: Annotated[Condition | None, "What must hold then."] = None
    rules_out: Annotated[Condition | None, "What must not hold then."] = None
    hint: Annotated[Words, "What to do about it."] = ""


@frozen(repr=False, eq=False)
class Limit(Written):
    """A total that may not exceed what is there."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Name as the customer reads it.", ForPeople(80)]
    unit: Annotated[str, "Unit of measure, such as kg, cm2, Ah, W.", up_to(12)]
    because: Annotated[Words, "Why it matters, a sentence that a customer may read."]
    counts: Annotated[
        str,
        "mass: every picked option's mass counts, and the vehicle gives its GVM less its kerb "
        "mass. mass-and-people: the same, less those who travel and their luggage, as many as the "
        "selection names and as heavy as the catalogue's mass settings say.",
        one_of("mass", "mass-and-people"),
    ] = ""
    reserve: Annotated[NotNegative, "Kept free of what is given, in the limit's unit."] = Decimal(0)
    caution_at: Annotated[Share, "Say so when this share is used. Default 0.9."] = Decimal("0.9")
    hint: Annotated[Words, "What to do about it."] = ""

    @property
    def of_mass(self) -> bool:
        """Whether it counts mass, with or without those who travel."""
        return self.counts in ("mass", "mass-and-people")


@frozen(repr=False, eq=False)
class Caution(Written):
    """A caution that stands on a quote when its condition holds."""

    id: Annotated[Id, "Short name."]
    when: Annotated[Condition, "When it stands on the quote."]
    text: Annotated[Words, "The caution, a sentence or two."]


@frozen(repr=False, eq=False)
class PackageDeal(Written):
    """A named set of picks sold at one price; extras come on top.

    ``times`` is ``each`` where every set that is picked gets it, ``once`` where only one does.
    """

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Name as the customer reads it.", ForPeople(80)]
    picks: Annotated[
        tuple[Pick, ...],
        As(PicksByChoice),
        "Picks by choice id: an option id, a list of option ids, or quantities by option id.",
        asks(minProperties=1),
    ]
    price: Annotated[Amount, "What the set costs."]
    text: Annotated[Words, "A sentence for the quote."] = ""
    times: Annotated[
        str,
        "How often it counts where several sets are picked: each set gets it, or only one. "
        "Default each.",
        one_of("each", "once"),
    ] = "each"


@frozen(repr=False, eq=False)
class Group(Record):
    """A group of lines of a quote."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Heading.", ForPeople(60)]


@frozen(repr=False, eq=False)
class Space(Record):
    """A box-shaped volume that units go into; its sizes come from the options picked."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Name in a sentence, such as canopy.", ForPeople(60)]


@frozen(repr=False, eq=False)
class Catalogue(Record):
    """Everything a shop offers.

    ``choices`` starts with the choice called vehicle; ``add_ons`` is the choice called add-on.
    Prices are those of ``day``, an ISO date; empty means the first day on which they hold.
    ``trade`` and ``text`` hold what the shop pays: no answer and no paper of a customer's may
    have the catalogue itself in it.
    """

    id: Annotated[Id, "Short name; selections name the catalogue by it."]
    title: Annotated[str, "Name of the catalogue.", ForPeople(120)]
    currency: Annotated[
        str, "ISO 4217 code of every amount in the catalogue.", asks(format="currency")
    ]
    valid: Annotated[Validity, "The days on which its prices may be quoted, both included."]
    shop: Annotated[ShopDetails, "The shop, as its papers show it."]
    tax: Annotated[Tax, "How tax is worked out."]
    quote: Annotated[QuoteTerms, "What the shop's quotes say."]
    groups: Annotated[tuple[Group, ...], "Groups of the quote, in order.", asks(minItems=1)]
    choices: Annotated[
        tuple[Choice, ...], "What there is to decide, in the order of a sale.", asks(minItems=1)
    ]
    add_ons: Annotated[
        Choice, "Extras; they make the choice called add-on, of which any may be accepted."
    ]
    labour: Annotated[
        tuple[
            tuple[
                Id,
                Annotated[
                    Decimal,
                    "An hour's price, 0 or more; what is taken off a price is a fixed part of it "
                    "below zero.",
                    asks(format="money", maximum=10_000_000_000),
                ],
            ],
            ...,
        ],
        "Labour rates by trade, an hour each.",
    ] = ()
    spaces: Annotated[tuple[Space, ...], "Volumes that units go into."] = ()
    rules: Annotated[tuple[Rule, ...], "Compatibilities."] = ()
    limits: Annotated[tuple[Limit, ...], "Totals that may not be exceeded."] = ()
    cautions: Annotated[
        tuple[Caution, ...], "Cautions that stand on a quote when their condition holds."
    ] = ()
    mass: Annotated[MassSettings, "Settings of the mass picture."] = MassSettings()
    power: Annotated[PowerSettings, "Settings of the power picture."] = PowerSettings()
    cutting: Annotated[Cutting, "Stock sheets and bars, for the cut list."] = Cutting()
    package_deals: Annotated[tuple[PackageDeal, ...], "Named sets of picks sold at one price."] = ()
    rounding: Annotated[
        Rounding | None,
        "What the package comes to is rounded to a round amount, in a line of its own.",
    ] = None
    payable_rounding: Annotated[
        Rounding | None,
        "What is to be paid, after tax and trade-ins, is rounded to a round amount, in a line of "
        "its own; total and tax stay as they are.",
    ] = None
    approval: Annotated[
        Approval | None,
        "How far discounts may go before each further one names who approved it. Both together "
        "where both are given.",
        asks(minProperties=1),
    ] = None
    parts: Annotated[
        tuple[PartName, ...],
        "Other files of the catalogue, in the order of a sale, each by its path from this one. "
        "Their lists follow those in this file; any other section is in one file only.",
        asks(minItems=1, maxItems=100, uniqueItems=True),
    ] = field(default=(), eq=False)
    trade: tuple[Trade, ...] = field(default=(), repr=False)
    day: str = ""
    source: str = field(default="", eq=False)
    text: str = field(default="", eq=False, repr=False)

    @property
    def digest(self) -> str:
        """SHA-256 digest of the texts it was read from: another one after any change."""
        from hashlib import sha256

        return sha256(self.text.encode()).hexdigest()

    def on(self, day: date) -> "Catalogue":
        """The catalogue with the prices of that day."""
        iso = day.isoformat()
        return self if iso == self.day else evolve(self, day=iso)

    def for_customers(self) -> "Catalogue":
        """The catalogue without what the shop pays, and to whom, and where it lies."""
        return evolve(self, trade=(), text="", source=Location(self.source, 0, 0).file)

    def __reduce__(self) -> tuple[object, ...]:
        """Where the logo lies goes with a whole catalogue, and not with what customers may have."""
        folder = self.shop.logo_folder if Location(self.source, 0, 0).folder else ""
        return _unpickled, (folder, *(getattr(self, one.name) for one in fields(Catalogue)))

    def unpriced_on(self, day: date) -> str:
        """Why nothing is priced on that day, as a sentence; empty where the prices hold."""
        first, until = self.valid.first, self.valid.until
        if first <= day.isoformat() <= until:
            return ""
        return text(
            "the catalogue's prices hold from {first} to {until}, not on {day}",
            first=date.fromisoformat(first),
            until=date.fromisoformat(until),
            day=day,
        )

    @property
    def price_day(self) -> str:
        """The day whose prices count, as an ISO date."""
        return self.day or self.valid.first

    @cached_property
    def by_id(self) -> Mapping[str, Choice]:
        """Every choice by its id, the add-ons included."""
        return MappingProxyType({choice.id: choice for choice in (*self.choices, self.add_ons)})

    def picked(self, choice: str, option: str, quantity: int = 1) -> Pick:
        """The option picked this often, with the amount that the catalogue has of it."""
        return Pick(choice, option, quantity, self.option(choice, option).measured)

    @cached_property
    def measured_off(self) -> frozenset[tuple[str, str]]:
        """Choice and option of everything that is sold by measure."""
        every = ((choice.id, option) for choice in self.by_id.values() for option in choice.options)
        return frozenset((choice, o.id) for choice, o in every if o.sold_by is not None)

    @cached_property
    def with_amounts(self) -> dict[tuple[object, ...], "Catalogue"]:
        """The catalogues that :func:`configurator.selection.resolved.measuring` made of it."""
        return {}

    @cached_property
    def priced_on(self) -> dict[tuple[str, str], Mapping[str, tuple[str, ...]]]:
        """What :func:`configurator.catalogue.dependence.price_determiners` found so far."""
        return {}

    @cached_property
    def closed_spaces(self) -> frozenset[str]:
        """Spaces that some option gives an opening; any other space is open."""
        return frozenset(
            opening.space
            for choice in self.by_id.values()
            for option in choice.options
            for opening in option.openings
        )

    @cached_property
    def space_parts(self) -> tuple[tuple[str, str, str, SpacePart], ...]:
        """What options say of spaces: choice, option, space, and part, in the catalogue's order."""
        return tuple(
            (choice.id, option.id, space, part)
            for choice in self.by_id.values()
            for option in choice.options
            for space, part in option.space
        )

    def option(self, choice: str, option: str) -> Option:
        """The option of that choice.

        Raises:
            KeyError: there is no such choice or option.
        """
        return self.by_id[choice].by_id[option]

    @cached_property
    def _trade_by_option(self) -> dict[tuple[str, str], Trade]:
        return {(trade.choice, trade.option): trade for trade in self.trade}

    def trade_of(self, choice: str, option: str) -> Trade:
        """What the option costs the shop and who supplies it; empty where nothing is stated."""
        return self._trade_by_option.get((choice, option)) or Trade(choice, option)

    def space_title(self, space: str) -> str:
        """What a sentence calls the space."""
        return next((s.title for s in self.spaces if s.id == space), space)


def _unpickled(folder: str, *values: Any) -> Catalogue:
    made = Catalogue(*values)
    return evolve(made, shop=made.shop.logo_from(folder)) if folder else made
