"""Price lists, from .xlsx, .ods or .csv, and their maps; broken or endless ones are refused."""

from __future__ import annotations

import csv
import io
import re
import zipfile
import zlib
from collections.abc import Mapping
from itertools import islice
from pathlib import Path
from xml.parsers import expat

from configurator.catalogue.nodes import Placed
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import MOST_BYTES, as_text, read_bytes, read_text, structured
from configurator.catalogue.schema_errors import schema_problems
from configurator.errors import Location, Problem, SheetError
from configurator.shapes.shipped import linked
from configurator.suppliers.amounts import PRICE
from configurator.suppliers.cells import Worksheet, column_of, refused
from configurator.suppliers.mapping import SupplierMap
from configurator.words import near_miss

_MOST_UNPACKED = 300_000_000
MOST_ROWS, _MOST_CELLS = 200_000, 5_000_000
_BROKEN = (
    *(zipfile.BadZipFile, zlib.error, expat.ExpatError),
    *(ValueError, LookupError, OSError, RuntimeError, EOFError),
)
"""What unpacking and reading what is broken raises."""

_NO_WORKBOOK = "it is no workbook, or one that is broken or locked"

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
        raise Unsound(_NO_WORKBOOK) from None


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


KINDS = (".xlsx", ".ods", ".csv")
"""What the name of a price list may end in."""

_OLDER = b"\xd0\xcf\x11\xe0"
"""How workbooks begin that are locked, or older than .xlsx."""


def read_sheet(path: Path, name: str = "") -> list[Worksheet]:
    """The sheet asked for; of a .csv a reading for each separator that it may have.

    Args:
        path: of the list.
        name: of the sheet; empty for the first.

    Raises:
        SheetError: it is no such list, or has no such sheet.
        FileError: it cannot be read.
    """
    here, kind = Location(str(path), 0, 0), path.suffix.lower()
    if kind not in KINDS:
        hint = "save it from a spreadsheet program as .xlsx, .ods or .csv (UTF-8)"
        raise refused(here, "a price list ends in .xlsx, .ods or .csv", "no-sheet", hint)
    content = read_bytes(path, MOST_BYTES)
    if kind != ".csv":
        return [_of_workbook(content, path, name)]
    text = as_text(content, path)
    try:
        tables = [
            list(islice(csv.reader(io.StringIO(text), delimiter=one), MOST_ROWS + 1))
            for one in ",;\t"
        ]
    except csv.Error as error:
        hint = "save it from a spreadsheet program as .csv (UTF-8)"
        raise refused(here, f"it is no table: {error}", "no-sheet", hint) from None
    if len(tables[0]) > MOST_ROWS:
        raise refused(here, f"it has more than {MOST_ROWS} rows", "no-sheet", _SHORTER)
    return [Worksheet(str(path), rows) for rows in tables]


_SHORTER = "keep the rows with prices alone"


def _of_workbook(content: bytes, path: Path, name: str) -> Worksheet:
    from python_calamine import CalamineError, load_workbook

    here = Location(str(path), 0, 0)
    hint = "open it in a spreadsheet program and save it anew"
    if content.startswith(_OLDER):
        said = "it is locked with a password, or of an older kind"
        raise refused(here, said, "no-sheet", hint)
    try:
        require_sound(content)
        book = load_workbook(io.BytesIO(content))
        known = book.sheet_names
        if name and name not in known:
            told = ", ".join(f'"{one}"' for one in known[:10])
            near = near_miss(name, known) or "put the right name into the map"
            raise refused(here, f'it has no sheet "{name}"; it has {told}', "no-sheet", near)
        if not known:
            raise Unsound("there is no sheet in it")
        rows = book.get_sheet_by_name(name or known[0]).to_python(skip_empty_area=False)
    except Unsound as error:
        raise refused(here, str(error), "no-sheet", hint) from None
    except (CalamineError, ValueError, OSError):
        raise refused(here, _NO_WORKBOOK, "no-sheet", hint) from None
    return Worksheet(f"{path}:{name or known[0]}", rows)


def read_map(path: Path | str, currency: str) -> SupplierMap:
    """Read the map of a supplier's lists.

    Args:
        path: of its file.
        currency: of the catalogue.

    Raises:
        SheetError: with every error found.
        FileError: it cannot be read.
    """
    tree = read_tree(read_text(path), str(path), linked("supplier-map"), currency)
    problems = [*tree.problems, *schema_problems(tree)]
    if not problems:
        problems += _contradictions(tree.data)
    if problems:
        raise SheetError(problems)
    data = tree.data.like({key: value for key, value in tree.data.items() if key != "format"})
    return structured(data, SupplierMap)


def _contradictions(data: Placed) -> list[Problem]:
    """What the schema cannot see."""
    found = []
    prices = PRICE in data["sets"]
    if prices and "mark-up" not in data:
        said = "the list is to set prices, and no mark-up says how"
        found.append(Problem(data.at, said, "no-mark-up", 'add "mark-up", in per cent; 0 for none'))
    for key in ("mark-up", "rounding"):
        if key in data and not prices:
            said = f'"{key}" makes prices, and the list sets none'
            hint = f'add "price" to "sets", or leave "{key}" out'
            found.append(Problem(data.place(key), said, "unused", hint))
    if ("units" in data) != ("unit" in data["columns"]):
        key = "units" if "units" in data else "columns"
        said = "a column of units and the words in it come together; one of them is missing"
        hint = 'add "unit" to "columns" and "units: {each: 1, ...}", or leave both out'
        found.append(Problem(data.place(key), said, "unused", hint))
    return found
