"""The map of one supplier's price lists: where codes and prices are, and what becomes of them."""

from decimal import Decimal
from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import Positive, Record, Text, Written
from configurator.catalogue.shop import Rounding
from configurator.shapes.schema import asks, one_of
from configurator.suppliers.amounts import COST, PRICE
from configurator.suppliers.cells import COMMA, POINT

_HEAD = "A column's head as it is written in the list, or its letter"


@frozen(repr=False, eq=False)
class Columns(Record):
    """Which columns of the list have what, each by its head as it is written, or by its letter."""

    code: Annotated[Text, f"{_HEAD}: the supplier's part numbers."]
    price: Annotated[Text, f"{_HEAD}: the prices."]
    title: Annotated[str, f"{_HEAD}: what is sold, to be shown beside codes."] = ""
    unit: Annotated[str, f"{_HEAD}: what a price is for, in the words of units."] = ""


@frozen(repr=False, eq=False)
class PriceCautions(Record):
    """What is pointed out, in percent."""

    change: Annotated[
        Decimal | None,
        "Changes by more than this are pointed out, and written only when they are accepted.",
        asks(exclusiveMinimum=0, maximum=100000),
    ] = None
    margin: Annotated[
        Decimal | None,
        "Margins below this are pointed out.",
        asks(exclusiveMinimum=0, maximum=100),
    ] = None


@frozen(repr=False, eq=False)
class SupplierMap(Written):
    """How one supplier's price lists are read, and what they set in the catalogue."""

    supplier: Annotated[Text, "The supplier, as the catalogue names it."]
    columns: Annotated[Columns, "Where codes and prices are."]
    tax: Annotated[
        str,
        "Whether the list's prices have tax in them; it is taken out by the option's own rate.",
        one_of("include", "exclude"),
    ]
    sets: Annotated[
        tuple[Annotated[str, one_of(COST, PRICE)], ...],
        "What the list sets. cost: what the shop pays, without tax. price: what the customer pays, "
        "from the same figure by mark-up and rounding.",
        asks(minItems=1, uniqueItems=True),
    ]
    sheet: Annotated[str, "The sheet's name. Default: the first sheet."] = ""
    header_row: Annotated[
        int,
        "The row with the heads of the columns; 0 where there is none and columns are named by "
        "letters. Default 1.",
        asks(minimum=0, maximum=1000),
    ] = 1
    decimal: Annotated[
        str,
        "How prices that are text write decimals. Default point.",
        one_of(POINT, COMMA),
    ] = POINT
    code_digits: Annotated[
        int | None,
        "Digits that a code has at least, where a spreadsheet has made a number of it and dropped "
        "the noughts before it.",
        asks(minimum=1, maximum=30),
    ] = None
    per: Annotated[
        Positive, "How many a price is for, such as 100 where it is for 100. Default 1."
    ] = Decimal(1)
    units: Annotated[
        tuple[tuple[Text, Annotated[Positive, "How many of what the catalogue sells it is."]], ...],
        "The words in the column of units, and how many each is: {each: 1, box: 10}.",
        asks(minProperties=1),
    ] = ()
    factor: Annotated[
        Positive, "What prices are multiplied by, such as 0.6 for 40 percent off. Default 1."
    ] = Decimal(1)
    mark_up: Annotated[
        Decimal | None,
        "What the shop adds to the cost to make the price, in percent; tax comes on top where the "
        "catalogue's prices include it.",
        asks(minimum=0, maximum=1000),
    ] = None
    rounding: Annotated[
        Rounding | None, "What prices are rounded to. Default: the currency's smallest unit."
    ] = None
    caution: Annotated[PriceCautions, "What is pointed out, in percent.", asks(minProperties=1)] = (
        PriceCautions()
    )
