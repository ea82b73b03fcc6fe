"""What prices, costs and masses are made of: one class for each kind of part.

Amounts are in the catalogue's currency, masses kg. Each kind says how one is calculated:
:func:`configurator.selection.totals.part_total` and :mod:`configurator.pricing.lines` do it.
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, TypeAlias

import attrs
from attrs import field, frozen

from configurator.catalogue.fields import (
    MOST_MONEY,
    Amount,
    AmountFrom0,
    Count,
    Day,
    Id,
    NotNegative,
    Pick,
    Positive,
    Record,
    Text,
    UpTo1000,
    Words,
    Written,
)
from configurator.shapes.schema import As, Defined, Or, Ref, asks, one_of, up_to

_PER_CUBIC_MM = Decimal(1000)

LookedUp: TypeAlias = Annotated[
    tuple[Annotated[Id, "A choice with exactly one answer."], ...],
    "The choices whose picked options are looked up, outermost first.",
    asks(minItems=1),
]
_CELL = "A cell, or one more level of the table, keyed by option id."
PriceCells: TypeAlias = Annotated[
    Amount, _CELL, Or(Mapping[str, Annotated[Any, Ref("price-cells")]]), Defined("price-cells")
]
MassCells: TypeAlias = Annotated[
    NotNegative, _CELL, Or(Mapping[str, Annotated[Any, Ref("mass-cells")]]), Defined("mass-cells")
]
MassMeasure: TypeAlias = Annotated[
    Text, "What is measured, such as canopy.shell (m2) or canopy.length (m)."
]
Thickness: TypeAlias = Annotated[UpTo1000, "Thickness of the sheet or wall, mm."]
Density: TypeAlias = Annotated[Positive, "Kg per m3, such as 2680 for 5052, 2700 for 6061."]
Rows: TypeAlias = tuple[tuple[tuple[str, ...], Decimal], ...]
"""The cells of a table by option ids, one for each choice that it looks up."""


UNITS_OF_SALE = ("m", "m2", "m3", "L", "kg", "h")
"""Units that things are sold by; without one they are sold by the piece."""


@frozen(repr=False, eq=False)
class SoldBy(Record):
    """How something is sold that is measured off, such as hose.

    Price, mass, contents, ``gives`` and ``uses`` of the option are then for one unit of it.
    """

    unit: Annotated[
        str, "What one is. Left out: a piece, which may be cut.", one_of(*UNITS_OF_SALE)
    ] = ""
    step: Annotated[UpTo1000, "What every amount is a multiple of. Default 0.1."] = Decimal("0.1")
    least: Annotated[Positive, "The smallest amount. Default: one step."] = field(
        default=attrs.Factory(lambda self: self.step, takes_self=True)
    )
    most: Annotated[Positive, "The largest amount. Default 1000."] = Decimal(1000)

    @property
    def usual(self) -> Decimal:
        """How much it is where nobody says: one, or the nearest to it that there is."""
        return min(max(Decimal(1), self.least), self.most)

    def allows(self, amount: Decimal) -> bool:
        """Whether so much of it can be had."""
        return self.least <= amount <= self.most and not amount % self.step


@frozen(repr=False, eq=False)
class Part(Written):
    """One part of a price, a cost or a mass."""


@frozen(repr=False, eq=False)
class PricePart(Part):
    """One part of a price or cost, on the days on which it counts."""

    first: Annotated[Day, "First day on which this part counts. Default: the catalogue's."] = field(
        default="", kw_only=True
    )
    until: Annotated[Day, "Last day on which this part counts. Default: the catalogue's."] = field(
        default="", kw_only=True
    )
    note: Annotated[Words, "What this part is, where the customer should read it."] = field(
        default="", kw_only=True
    )

    def counts_on(self, day: str) -> bool:
        """Whether it counts on the day, an ISO date."""
        return (not self.first or self.first <= day) and (not self.until or day <= self.until)


@frozen(repr=False, eq=False)
class Step(Record):
    """An amount each from a quantity on."""

    first: Annotated[Count, "Smallest quantity that it is for."]
    each: Annotated[Amount, "The amount for one."]


@frozen(repr=False, eq=False)
class FixedPrice(PricePart):
    """An amount."""

    kind: ClassVar = "fixed"
    amount: Annotated[Amount, "The amount."]


@frozen(repr=False, eq=False)
class UnitPrice(PricePart):
    """An amount for so many, with as many decimals as it takes; rounded once, on the line."""

    kind: ClassVar = "unit-price"
    price: Annotated[
        Decimal,
        "The amount for this many, which may be finer than the currency, such as 0.0088.",
        asks(minimum=-MOST_MONEY, maximum=MOST_MONEY),
    ]
    per: Annotated[
        int, "How many the amount is for, such as 100. Default 1.", asks(minimum=1, maximum=100_000)
    ] = 1


@frozen(repr=False, eq=False)
class PriceTable(PricePart):
    """An amount looked up over other choices."""

    kind: ClassVar = "table"
    by: LookedUp
    rows: Annotated[Rows, As(PriceCells), "Amounts by option id, one level for each choice in by."]

    @cached_property
    def cells(self) -> Mapping[tuple[str, ...], Decimal]:
        """The table's cells by option ids."""
        return MappingProxyType(dict(self.rows))


@frozen(repr=False, eq=False)
class MeasuredPrice(PricePart):
    """A rate per m², m, m3 or litre of something the selection determines."""

    kind: ClassVar = "measure"
    of: Annotated[
        Text,
        "What is measured, such as canopy.skin (m2), canopy.length (m), canopy.volume (m3), or "
        "a limit whose given amount counts (such as water, in litres).",
    ]
    rate: Annotated[Amount, "The amount for one unit of it."]


@frozen(repr=False, eq=False)
class Labour(PricePart):
    """Hours of work at a trade's rate."""

    kind: ClassVar = "labour"
    hours: Annotated[Positive, "Hours of work."]
    trade: Annotated[Id, "Which of the labour rates."]
    minimum: Annotated[AmountFrom0 | None, "The least that this work is charged for one."] = None


@frozen(repr=False, eq=False)
class Breaks(PricePart):
    """An amount each that falls with the quantity."""

    kind: ClassVar = "breaks"
    steps: Annotated[
        tuple[Step, ...],
        "The amount each from a quantity on, for all of them; the first is from 1.",
        asks(minItems=1),
    ]


@frozen(repr=False, eq=False)
class Markup(PricePart):
    """A supplier's price and what the shop adds to it, as a file states it: for the shop's eyes."""

    kind: ClassVar = "markup"
    cost: Annotated[AmountFrom0, "The supplier's price without tax. For the shop's eyes only."]
    percent: Annotated[
        UpTo1000,
        "What the shop adds, in per cent of the supplier's price; tax comes on top where prices "
        "include it. For the shop's eyes only.",
    ]


@frozen(repr=False, eq=False)
class MarkedUp(PricePart):
    """A supplier's price with the shop's markup, without tax."""

    kind: ClassVar = "markup"
    amount: Decimal


@frozen(repr=False, eq=False)
class Credit(PricePart):
    """Less what another option would cost here."""

    kind: ClassVar = "credit"
    replaces: Annotated[Pick, "What this one replaces, as CHOICE=OPTION.", up_to(130)]
    percent: Annotated[
        Decimal | None,
        "How much of the other option's price is taken off. Default: 100.",
        asks(exclusiveMinimum=0, maximum=100),
    ] = None


@frozen(repr=False, eq=False)
class OnApplication(PricePart):
    """The shop names a price for each customer."""

    kind: ClassVar = "on-application"


@frozen(repr=False, eq=False)
class FixedMass(Part):
    """Kilograms."""

    kind: ClassVar = "fixed"
    amount: Annotated[NotNegative, "The mass, kg."]


@frozen(repr=False, eq=False)
class MassTable(Part):
    """Kilograms looked up over other choices."""

    kind: ClassVar = "table"
    by: LookedUp
    rows: Annotated[Rows, As(MassCells), "Kg by option id, one level for each choice in by."]

    @cached_property
    def cells(self) -> Mapping[tuple[str, ...], Decimal]:
        """The table's cells by option ids."""
        return MappingProxyType(dict(self.rows))


@frozen(repr=False, eq=False)
class MeasuredMass(Part):
    """Kilograms per m², m, m3 or litre of something the selection determines."""

    kind: ClassVar = "measure"
    of: MassMeasure
    rate: Annotated[NotNegative, "Kg for one unit of it."]


@frozen(repr=False, eq=False)
class SheetMass(Part):
    """Plain sheet over an area that the selection determines."""

    kind: ClassVar = "sheet"
    of: MassMeasure
    thickness: Thickness
    density: Density

    @property
    def rate(self) -> Decimal:
        """Kg per m²."""
        return self.thickness * self.density / _PER_CUBIC_MM


@frozen(repr=False, eq=False)
class SectionMass(Part):
    """Lengths of rectangular hollow section, each as long as something the selection determines.

    Corners count as sharp, so that a real section, whose corners are round, is up to 2 % lighter.
    """

    kind: ClassVar = "section"
    of: MassMeasure
    width: Annotated[Decimal, "Outside width, mm.", asks(exclusiveMinimum=0, maximum=10000)]
    height: Annotated[Decimal, "Outside height, mm.", asks(exclusiveMinimum=0, maximum=10000)]
    thickness: Thickness
    density: Density
    lengths: Annotated[int, "How many lengths. Default 1.", asks(minimum=1, maximum=10000)] = 1

    @property
    def rate(self) -> Decimal:
        """Kg per m of all lengths."""
        inside = (self.width - 2 * self.thickness) * (self.height - 2 * self.thickness)
        area = self.width * self.height - inside
        return self.lengths * area * self.density / _PER_CUBIC_MM / _PER_CUBIC_MM


CostParts: TypeAlias = Annotated[
    FixedPrice | UnitPrice | PriceTable | MeasuredPrice, Ref("cost-part")
]
PricedParts: TypeAlias = (
    FixedPrice | UnitPrice | PriceTable | MeasuredPrice | Labour | Breaks | MarkedUp | Credit
)
PriceParts: TypeAlias = Annotated[
    PricedParts | OnApplication,
    "One part of a price. Its kind says which of the other keys it has.",
    Defined("price-part"),
]
MassParts: TypeAlias = Annotated[
    FixedMass | MassTable | MeasuredMass | SheetMass | SectionMass,
    "One part of a mass. Its kind says which of the other keys it has.",
    Defined("mass-part"),
]
Table: TypeAlias = PriceTable | MassTable
Measured: TypeAlias = MeasuredPrice | MeasuredMass | SheetMass | SectionMass
