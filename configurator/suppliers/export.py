"""All amounts of a catalogue as a sheet of our own, for whoever prefers a spreadsheet, and back."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from decimal import Decimal

from configurator.catalogue.model import Catalogue
from configurator.errors import SheetError
from configurator.money import exponent
from configurator.suppliers.amounts import PRICE, PricedItem, StatedAmount, items
from configurator.suppliers.cells import (
    COMMA,
    POINT,
    SIGNIFICANT,
    SheetCell,
    Unreadable,
    Value,
    Worksheet,
    amount_in,
    near_codes,
    refused,
    words_in,
)
from configurator.suppliers.update import (
    PriceChange,
    PriceUpdate,
    RefusedRow,
    UnknownCode,
    change_of,
    lacked,
)
from configurator.words import plain_cell

_NAMES = ("Item", "Part")
_COST, _PRICE = 6, 7
"""The columns of cost and price, counted from 1."""

_WIDTHS = (34, 30, 44, 30, 18, 22, 22)


def _heads(catalogue: Catalogue) -> tuple[str, ...]:
    tax = "with" if catalogue.tax.prices == "include" else "without"
    return (
        *_NAMES,
        "Title",
        "Supplier",
        "Code",
        f"Cost, {catalogue.currency} without {catalogue.tax.name}",
        f"Price, {catalogue.currency} {tax} {catalogue.tax.name}",
    )


_Row = tuple[PricedItem, tuple[str, ...], StatedAmount | None, StatedAmount | None]
"""What is sold; item, part, title, supplier and code; its cost and its price."""


def _rows(catalogue: Catalogue) -> Iterator[_Row]:
    """A row for each item and part: its cost and its price side by side."""
    for item in items(catalogue):
        parts: dict[str, list[StatedAmount | None]] = {}
        for amount in item.amounts:
            parts.setdefault(amount.part, [None, None])[amount.kind == PRICE] = amount
        for part, (cost, price) in parts.items():
            yield item, (item.name, part, item.title, item.supplier, item.code), cost, price


def count(catalogue: Catalogue) -> int:
    """How many amounts the sheet has."""
    return sum(len(item.amounts) for item in items(catalogue))


def as_csv(catalogue: Catalogue) -> bytes:
    """The sheet as text; no cell of it is taken for a formula."""
    written = io.StringIO()
    table = csv.writer(written)
    digits = exponent(catalogue.currency)
    table.writerow(_heads(catalogue))
    for _, named, cost, price in _rows(catalogue):
        figures = ("" if one is None else _figure(one.value, digits) for one in (cost, price))
        table.writerow([*map(plain_cell, named), *figures])
    return written.getvalue().encode("utf-8-sig")


def _figure(value: Decimal, digits: int) -> str:
    return f"{value:.{max(digits, -int(value.as_tuple().exponent))}f}"


def as_workbook(catalogue: Catalogue) -> bytes:
    """The sheet as .xlsx: heads that stay in sight, columns to filter by, amounts as numbers."""
    import xlsxwriter

    written = io.BytesIO()
    heads, digits = _heads(catalogue), exponent(catalogue.currency)
    with xlsxwriter.Workbook(written, {"in_memory": True}) as book:
        book.set_properties({"title": f"Prices of {catalogue.id}"})
        sheet = book.add_worksheet("Prices")
        bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        money = book.add_format({"num_format": "#,##0." + "0" * digits if digits else "#,##0"})
        for column, (head, width) in enumerate(zip(heads, _WIDTHS, strict=True)):
            sheet.set_column(column, column, width)
            sheet.write_string(0, column, head, bold)
        row = 0
        for row, (_, named, cost, price) in enumerate(_rows(catalogue), 1):
            for column, words in enumerate(named):
                sheet.write_string(row, column, words)
            for column, amount in enumerate((cost, price), _COST - 1):
                if amount is None:
                    continue
                figure = _figure(amount.value, digits)
                if len(figure.replace(".", "").lstrip("-0")) > SIGNIFICANT:
                    sheet.write_string(row, column, figure)
                else:
                    sheet.write_number(row, column, float(amount.value), money)
        sheet.freeze_panes(1, 1)
        sheet.autofilter(0, 0, row, len(heads) - 1)
    return written.getvalue()


def own_update(catalogue: Catalogue, readings: Sequence[Worksheet]) -> PriceUpdate:
    """What a sheet that was exported here, and changed since, changes in the catalogue.

    Raises:
        SheetError: it is no such sheet.
    """
    heads = _heads(catalogue)
    for number, sheet in enumerate(readings):
        first = [words_in(value) for value in sheet.rows[0]] if sheet.rows else []
        if tuple(first[: len(heads)]) == heads:
            return _compared(catalogue, sheet, COMMA if number else POINT)
    raise _no_sheet_of_ours(readings[0], heads)


def _no_sheet_of_ours(sheet: Worksheet, heads: Sequence[str]) -> SheetError:
    found = [words_in(value) for value in sheet.rows[0]] if sheet.rows else []
    column = next(
        (n for n, head in enumerate(heads) if n >= len(found) or found[n] != head), len(heads)
    )
    said = f'a sheet that "catalogue export" wrote has "{heads[column]}" here'
    hint = "name the map of this supplier's lists with --supplier"
    return refused(sheet.at(1, column + 1), said, "no-map", hint)


def _compared(catalogue: Catalogue, sheet: Worksheet, mark: str) -> PriceUpdate:
    known = {row[1][:2]: row for row in _rows(catalogue)}
    met: dict[tuple[str, str], SheetCell] = {}
    changes: list[PriceChange] = []
    refusals: list[RefusedRow] = []
    unknown: list[tuple[SheetCell, str, str]] = []
    unchanged = 0
    for number, _ in enumerate(sheet.rows[1:], 2):
        name, part, title = (words_in(sheet.value(number, column)) for column in (1, 2, 3))
        at = sheet.at(number, 1)
        if not name:
            continue
        if (name, part) not in known:
            unknown.append((at, f"{name} {part}".strip(), title))
            continue
        if (name, part) in met:
            said = f"this item and part are in row {met[name, part].line} already"
            refusals.append(RefusedRow(at.name, name, said, "keep one of the two rows"))
            continue
        met[name, part] = at
        item, _, cost, price = known[name, part]
        for column, amount in ((_COST, cost), (_PRICE, price)):
            cell = sheet.at(number, column)
            try:
                new = _read(sheet.value(number, column), amount, mark, catalogue)
            except Unreadable as error:
                refusals.append(RefusedRow(cell.name, name, str(error), error.hint))
                continue
            if amount is None:
                continue
            if new == amount.value:
                unchanged += 1
            else:
                changes.append(change_of(item, amount, new, catalogue.currency, cell))
    missing = {row[0].name: row[0] for named, row in known.items() if named not in met}
    called = [f"{name} {part}".strip() for name, part in known if (name, part) not in met]
    near = near_codes((name for _, name, _ in unknown), called)
    return PriceUpdate(
        "",
        sheet.name,
        len(met) + len(unknown),
        tuple(changes),
        unchanged,
        tuple(refusals),
        tuple(UnknownCode(at.name, n, title, near.get(n, ())) for at, n, title in unknown),
        lacked(missing.values()),
    )


def _read(value: Value, amount: StatedAmount | None, mark: str, catalogue: Catalogue) -> Decimal:
    """The amount in a cell; nothing counts as nothing where the catalogue has nothing."""
    if amount is None:
        if value == "":
            return Decimal(0)
        hint = "empty the cell, or write the amount into the catalogue's file first"
        raise Unreadable("the catalogue has no amount here", hint)
    found = amount_in(value, mark, catalogue.currency, any_sign=True)
    digits = amount.digits(catalogue.currency)
    if -int(found.normalize().as_tuple().exponent) > digits:
        hint = f"round it to {digits} decimals"
        raise Unreadable(f"{found:f} has more than {digits} decimals", hint)
    return found
