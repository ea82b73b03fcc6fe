"""The rows of a supplier's list, found by its map."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from configurator.errors import SheetError, near_miss
from configurator.suppliers.cells import (
    SheetCell,
    Value,
    Worksheet,
    code_in,
    column_of,
    letters,
    refused,
    words_in,
)
from configurator.suppliers.mapping import SupplierMap


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
        hint = f'name it by its letter in the map, such as "{letters(first.column)}"'
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
