"""What is in the cells of a sheet: codes, amounts and words, each from whatever kind a cell has."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from attrs import field, frozen

from configurator.catalogue.plain_data import MOST_DIGITS
from configurator.errors import Location, Problem, SheetError
from configurator.money import currencies
from configurator.words import letter

Value: TypeAlias = object
"""A text, a float, a bool, a day or a time; an empty text for nothing, errors included."""

POINT, COMMA = "point", "comma"

SIGNIFICANT = 15
"""Digits that a number in a spreadsheet keeps; what comes after them is noise."""

_MARKS = {POINT: (".", ","), COMMA: (",", ".")}
_SIGNS = "$€£"


@frozen(order=True)
class SheetCell(Location):
    """A cell of a sheet; its line and column are its row and column."""

    def __str__(self) -> str:
        return f"{self.file}:{self.name}"

    @property
    def name(self) -> str:
        """Such as ``B17``."""
        return f"{letter(self.column - 1)}{self.line}"


def column_of(found: str) -> int | None:
    """The column with these letters, counted from 1; None where they are none."""
    if not re.fullmatch("[A-Z]{1,3}", found):
        return None
    column = 0
    for one in found:
        column = column * 26 + ord(one) - ord("A") + 1
    return column


@frozen
class Worksheet:
    """One sheet of a price list.

    Attributes:
        name: the file, and the sheet where the file has several kinds.
        rows: from the first row and the first column on.
    """

    name: str
    rows: Sequence[Sequence[Value]] = field(repr=False)

    def at(self, row: int, column: int) -> SheetCell:
        """The place of a cell, both counted from 1."""
        return SheetCell(self.name, row, column)

    def value(self, row: int, column: int) -> Value:
        """What is in a cell; an empty text where the row ends before it."""
        cells = self.rows[row - 1]
        return cells[column - 1] if column <= len(cells) else ""


def refused(at: Location, sentence: str, code: str, hint: str) -> SheetError:
    """The error of a list that cannot be read at all."""
    return SheetError([Problem(at, sentence, code, hint)])


class Unreadable(Exception):
    """A cell does not hold what it should.

    Attributes:
        hint: what to do about it.
        at: which cell; None for the one that was read.
    """

    def __init__(self, sentence: str, hint: str, at: SheetCell | None = None) -> None:
        super().__init__(sentence)
        self.hint, self.at = hint, at


def exact(number: float) -> Decimal:
    """The number that somebody typed into a spreadsheet, which keeps it in binary."""
    return Decimal(f"{number:.{SIGNIFICANT}g}")


def words_in(value: Value) -> str:
    """What a cell says, without spaces around it and in one line."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return " ".join(str(value).split())
    return f"{exact(value):f}"


def code_in(value: Value, digits: int | None) -> str:
    """A part number; one that the spreadsheet holds as a number gets noughts before it."""
    found = words_in(value)
    if digits is None or isinstance(value, bool | str) or not found.isdecimal():
        return found
    return found.zfill(digits)


def amount_in(value: Value, mark: str, currency: str, any_sign: bool = False) -> Decimal:
    """An amount, whether the cell holds a number or a text.

    Args:
        value: of the cell.
        mark: how a text writes decimals.
        currency: the only one that a text may name.
        any_sign: whether it may be nothing, or below.

    Raises:
        Unreadable: it holds none.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        amount = exact(value)
    elif isinstance(value, str):
        amount = _from_text(" ".join(value.split()), mark, currency)
    else:
        raise Unreadable(
            f"{_kind(value)} is where a price should be",
            "check the column; a spreadsheet may have turned the price into something else",
        )
    if not amount.is_finite() or (amount <= 0 and not any_sign):
        hint = "leave the row out of the list, or set this price by hand"
        raise Unreadable(f"the price is {amount:f}; it must be above 0", hint)
    if abs(amount) >= 10 ** (MOST_DIGITS - 3):
        raise Unreadable(f"the price {amount:f} is too large", "check the column")
    return amount


def _kind(value: Value) -> str:
    return "true or false" if isinstance(value, bool) else "a day or a time"


def _from_text(text: str, mark: str, currency: str) -> Decimal:
    if not text:
        raise Unreadable(
            "the price is empty: nothing, an error, or a formula without a result",
            "open the list in a spreadsheet program and save it, or fill the cell in",
        )
    bare = text.removeprefix(currency).removesuffix(currency).strip().lstrip(_SIGNS)
    bare = bare.rstrip(_SIGNS).strip()
    point, thousands = _MARKS[mark]
    grouped = rf"-?[0-9]{{1,3}}(?:(?:{re.escape(thousands)}|[ '])[0-9]{{3}})+"
    if re.fullmatch(rf"(?:-?[0-9]+|{grouped})(?:{re.escape(point)}[0-9]+)?", bare):
        return Decimal(re.sub(rf"[ '{re.escape(thousands)}]", "", bare).replace(point, "."))
    named = re.search(r"\b[A-Z]{3}\b", text)
    if named and named.group() in currencies():
        said = f"the price is in {named.group()}, and the catalogue's prices are in {currency}"
        raise Unreadable(said, "set this price by hand")
    other = COMMA if mark == POINT else POINT
    sign = _MARKS[other][0]
    if re.fullmatch(rf"-?[0-9]+{re.escape(sign)}[0-9]+", bare):
        hint = f'say "decimal: {other}" in the map if that is how this supplier writes prices'
    else:
        hint = "the row is left out; set this price by hand"
    told = text if len(text) <= 40 else f"{text[:40]}..."
    raise Unreadable(f'"{told}" is no price with a decimal {mark}', hint)


_ALIKE = str.maketrans("oil", "011")
_SHORTEST_CODE = 4
"""Letters that a code has at least, for one letter to be a slip and not another code."""

_MOST_NEAR = 2


def near_codes(asked: Iterable[str], known: Iterable[str]) -> Mapping[str, tuple[str, ...]]:
    """The known codes most like each of those asked about; none for most of them.

    It takes no longer than the codes are together: codes are not compared with each other.
    """
    by_key: dict[str, set[str]] = {}
    for code in known:
        for key in _keys(code):
            by_key.setdefault(key, set()).add(code)
    found = {}
    for code in asked:
        near = {other for key in _keys(code) for other in by_key.get(key, ())}
        same = {other for other in near if _plain_code(other) == _plain_code(code)}
        if near:
            found[code] = tuple(sorted(same or near)[:_MOST_NEAR])
    return found


def _plain_code(code: str) -> str:
    """The letters and digits of a code, those that look alike taken for the same."""
    bare = "".join(filter(str.isalnum, code.casefold())).translate(_ALIKE)
    return bare.lstrip("0") or bare


def _keys(code: str) -> Iterator[str]:
    """What two codes that are alike have in common: all of it, or all but one letter."""
    plain = _plain_code(code)
    yield plain
    if len(plain) >= _SHORTEST_CODE:
        yield from (plain[:place] + plain[place + 1 :] for place in range(len(plain)))
