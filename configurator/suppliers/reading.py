"""Price lists, from .xlsx, .ods or .csv, and the maps that say how to read them."""

from __future__ import annotations

import csv
import io
from itertools import islice
from pathlib import Path

from configurator.catalogue.nodes import Placed
from configurator.catalogue.reading import MOST_BYTES, as_text, read_bytes, read_text, structured
from configurator.catalogue.schema_errors import schema_problems
from configurator.catalogue.typed import read_tree
from configurator.errors import Location, Problem, SheetError, near_miss
from configurator.shapes.shipped import linked
from configurator.suppliers.amounts import PRICE
from configurator.suppliers.cells import Worksheet, refused
from configurator.suppliers.mapping import SupplierMap
from configurator.suppliers.packed import MOST_ROWS, NO_WORKBOOK, Unsound, require_sound

KINDS = (".xlsx", ".ods", ".csv")
"""What the name of a price list may end in."""

_OLDER = b"\xd0\xcf\x11\xe0"
"""How workbooks begin that are locked, or older than .xlsx."""


def read_sheet(path: Path, name: str = "", separators: str = ",;\t") -> list[Worksheet]:
    """The sheet asked for, read in each way that it can be.

    Args:
        path: of the list.
        name: of the sheet; empty for the first.
        separators: what may be between the cells of a .csv; there is a reading for each.

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
            for one in separators
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
        raise refused(here, NO_WORKBOOK, "no-sheet", hint) from None
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
        found.append(Problem(data.at, said, "no-mark-up", 'add "mark-up", in percent; 0 for none'))
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
