"""The map of a supplier's price lists, and the rows that are found by it."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import Positive, Record, Text, Written
from configurator.catalogue.shop import Rounding
from configurator.errors import SheetError
from configurator.shapes.schema import asks, one_of
from configurator.suppliers.amounts import COST, PRICE
from configurator.suppliers.cells import (
    COMMA,
    POINT,
    SheetCell,
    Value,
    Worksheet,
    code_in,
    column_of,
    refused,
    words_in,
)
from configurator.words import letter, near_miss

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
    """What is pointed out, in per cent."""

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
        Positive, "What prices are multiplied by, such as 0.6 for 40 per cent off. Default 1."
    ] = Decimal(1)
    mark_up: Annotated[
        Decimal | None,
        "What the shop adds to the cost to make the price, in per cent; tax comes on top where the "
        "catalogue's prices include it.",
        asks(minimum=0, maximum=1000),
    ] = None
    rounding: Annotated[
        Rounding | None, "What prices are rounded to. Default: the currency's smallest unit."
    ] = None
    caution: Annotated[
        PriceCautions, "What is pointed out, in per cent.", asks(minProperties=1)
    ] = PriceCautions()


@frozen
class ListedRow:
    """A row of a list that has a code.

    Attributes:
        code: the supplier's part number.
        title: what is sold, where the map names a column for it.
        price: what is in the cell of the price.
        unit: what the price is for, where the map names a column for it.
        code_at: the cell of the code.
        price_at: the cell of the price.
        unit_at: the cell of the unit.
    """

    code: str
    title: str
    price: Value
    unit: str
    code_at: SheetCell
    price_at: SheetCell
    unit_at: SheetCell


def listed_rows(
    readings: Sequence[Worksheet], asked: SupplierMap
) -> tuple[Worksheet, list[ListedRow]]:
    """The rows with a code, of the first reading of the list that has the columns of the map.

    Raises:
        SheetError: no reading has them, or no row has a code.
    """
    errors = []
    for sheet in sorted(readings, key=lambda one: -_width(one, asked.header_row)):
        try:
            columns = _columns(sheet, asked)
        except SheetError as error:
            errors.append(error)
            continue
        rows = list(_rows(sheet, asked, columns))
        if not rows:
            at = sheet.at(asked.header_row + 1, columns["code"])
            hint = "check the sheet, the row of heads and the column of codes in the map"
            raise refused(at, "there is no code in this column from here on", "no-codes", hint)
        return sheet, rows
    raise errors[0]


def _width(sheet: Worksheet, row: int) -> int:
    cells = sheet.rows[max(row, 1) - 1] if max(row, 1) <= len(sheet.rows) else ()
    return len(cells)


def _columns(sheet: Worksheet, asked: SupplierMap) -> dict[str, int]:
    """The place of each column that the map names."""
    row = asked.header_row
    if row > len(sheet.rows):
        said = f"the sheet has {len(sheet.rows)} rows, and the map says that heads are in row {row}"
        raise refused(sheet.at(row, 1), said, "no-column", 'correct "header-row" in the map')
    heads: dict[str, list[int]] = {}
    for column, value in enumerate(sheet.rows[row - 1] if row else (), 1):
        heads.setdefault(words_in(value).casefold(), []).append(column)
    names = asked.columns
    wanted = {"code": names.code, "price": names.price, "title": names.title, "unit": names.unit}
    return {name: _column(sheet, row, head, heads) for name, head in wanted.items() if head.strip()}


def _column(sheet: Worksheet, row: int, head: str, heads: dict[str, list[int]]) -> int:
    found = heads.get(words_in(head).casefold(), [])
    if len(found) == 1:
        return found[0]
    if found:
        first, second = (sheet.at(row, column) for column in found[:2])
        said = f'two columns are called "{head}": {first.name} and {second.name}'
        hint = f'name it by its letter in the map, such as "{letter(first.column - 1)}"'
        raise refused(second, said, "no-column", hint)
    lettered = column_of(head)
    if lettered is not None:
        return lettered
    known = [words_in(value) for value in sheet.rows[row - 1]] if row else []
    told = ", ".join(f'"{one}"' for one in known if one) or "nothing"
    elsewhere = next(
        (
            number
            for number, cells in enumerate(sheet.rows[:100], 1)
            if any(words_in(value).casefold() == words_in(head).casefold() for value in cells)
        ),
        None,
    )
    hint = near_miss(head, known) or "correct the map: a column's head as it is written here"
    if elsewhere is not None:
        hint = f"row {elsewhere} has it: correct the row of heads in the map"
    said = f'no column here is called "{head}"; there is {told}'
    raise refused(sheet.at(max(row, 1), 1), said, "no-column", hint)


def _rows(sheet: Worksheet, asked: SupplierMap, columns: dict[str, int]) -> Iterator[ListedRow]:
    code_column, price_column = columns["code"], columns["price"]
    title, unit = columns.get("title"), columns.get("unit")
    for row in range(asked.header_row + 1, len(sheet.rows) + 1):
        code = code_in(sheet.value(row, code_column), asked.code_digits)
        if code:
            yield ListedRow(
                code,
                words_in(sheet.value(row, title)) if title else "",
                sheet.value(row, price_column),
                words_in(sheet.value(row, unit)) if unit else "",
                sheet.at(row, code_column),
                sheet.at(row, price_column),
                sheet.at(row, unit or code_column),
            )
