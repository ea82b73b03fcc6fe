"""Workbooks checked before a library reads them: broken or endless ones are refused."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Mapping
from xml.parsers import expat

from configurator.suppliers.cells import column_of

_MOST_UNPACKED = 300_000_000
MOST_ROWS, _MOST_CELLS = 200_000, 5_000_000
_BROKEN = (
    *(zipfile.BadZipFile, zlib.error, expat.ExpatError),
    *(ValueError, LookupError, OSError, RuntimeError, EOFError),
)
"""What unpacking and reading what is broken raises."""

NO_WORKBOOK = "it is no workbook, or one that is broken or locked"

_REFERENCE = re.compile("([A-Z]{1,3})([0-9]{1,7})")


class Unsound(Exception):
    """Why a workbook is not read."""


def require_sound(content: bytes) -> None:
    """Look over a workbook.

    Raises:
        Unsound: it is broken, or would be too large.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            if sum(one.file_size for one in packed.infolist()) > _MOST_UNPACKED:
                raise Unsound("unpacked, it is too large for a price list")
            for name in packed.namelist():
                if name.endswith(".xml"):
                    _SheetExtent().read(packed.read(name))
    except _BROKEN:
        raise Unsound(NO_WORKBOOK) from None


class _SheetExtent:
    """Counts how far the cells of a sheet with something in them reach."""

    def __init__(self) -> None:
        self.row = self.column = 0
        self.last_row = self.last_column = 0
        self.filled = False
        self.rows_repeated = 1

    def read(self, content: bytes) -> None:
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.Parse(content, True)

    def _begin(self, tag: str, given: Mapping[str, str]) -> None:
        match tag.rpartition(":")[2]:
            case "c":  # a cell of .xlsx, which names its place
                found = _REFERENCE.fullmatch(given.get("r", ""))
                self.column = (column_of(found[1]) or 0) if found else self.column + 1
                self.row = int(found[2]) if found else self.row
            case "v" | "is":
                self._fill(self.row, self.column)
            case "table":
                self.row = 0
            case "table-row":  # of .ods, which counts
                self.rows_repeated = int(given.get("table:number-rows-repeated", 1))
                self.column, self.filled = 0, False
            case "table-cell" | "covered-table-cell":
                self.column += int(given.get("table:number-columns-repeated", 1))
                if "office:value-type" in given or "table:formula" in given:
                    self.filled = True
                    self._fill(self.row, self.column)

    def _end(self, tag: str) -> None:
        if tag.endswith(":table-row"):
            self.row += self.rows_repeated
            if self.filled:
                self._fill(self.row, 0)

    def _fill(self, row: int, column: int) -> None:
        self.last_row = max(self.last_row, row)
        self.last_column = max(self.last_column, column)
        if self.last_row > MOST_ROWS or self.last_row * self.last_column > _MOST_CELLS:
            said = f"a sheet of it has {self.last_row} rows and {self.last_column} columns"
            raise Unsound(said)
