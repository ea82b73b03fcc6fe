"""A price list read, compared with the catalogue, and its figures written into the catalogue.

The new text is read again before it takes the place of the old: it has to be the same catalogue but
for the figures named. All files of a catalogue are written, or none.
"""

from __future__ import annotations

from pathlib import Path

from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.catalogue.reading import (
    MOST_BYTES,
    as_text,
    open_catalogue,
    read_bytes,
)
from configurator.errors import CatalogueError, FileError, Location, Problem
from configurator.machine.collector import nothing_collected
from configurator.machine.files import replace_files, require_writable
from configurator.suppliers.amounts import with_amounts
from configurator.suppliers.export import own_update
from configurator.suppliers.mapping import listed_rows
from configurator.suppliers.patch import patched
from configurator.suppliers.reading import read_map, read_sheet
from configurator.suppliers.update import PriceUpdate, price_update


@nothing_collected()
def update_prices(
    catalogue: Catalogue, sheet: Path, supplier: Path | None, write: bool, accept_large: bool
) -> PriceUpdate:
    """What a list changes; see :meth:`configurator.shop.Shop.prices`."""
    if supplier is None:
        found = own_update(catalogue, read_sheet(sheet))
    else:
        asked = read_map(supplier, catalogue.currency)
        readings = read_sheet(sheet, asked.sheet)
        found = price_update(catalogue, *listed_rows(readings, asked), asked)
    found = evolve(found, accepted=accept_large)
    if not write or found.held:
        return found
    if found.changes:
        _write(catalogue, found)
    return evolve(found, written=True)


def _write(catalogue: Catalogue, update: PriceUpdate) -> None:
    """Write the new figures into the files that have the old ones.

    Raises:
        CatalogueError: a figure cannot be replaced, or something else would change with it.
        FileError: a file cannot be read or written.
    """
    files = {Path(file): edits for file, edits in update.edits().items()}
    if not all(file.is_file() for file in files):
        raise FileError(f"{catalogue.source}: new prices can only be written into a file")
    require_writable(files)
    before = {file: read_bytes(file, MOST_BYTES) for file in files}
    after = {}
    for file, edits in files.items():
        as_text(before[file], file)
        after[file] = patched(before[file].decode(), edits).encode()
    _require_same_otherwise(catalogue, update, after)
    if any(read_bytes(file, MOST_BYTES) != content for file, content in before.items()):
        raise FileError(f"{catalogue.source}: somebody else has just changed it; try again")
    replace_files(after)


def _require_same_otherwise(
    catalogue: Catalogue, update: PriceUpdate, after: dict[Path, bytes]
) -> None:
    """Read the new texts, and refuse them where more than the figures named would be new."""
    reread, problems = open_catalogue(catalogue.source, after)
    if reread is None:
        raise CatalogueError(problems)
    wanted = with_amounts(catalogue, update.wanted, reread)
    if evolve(reread, day=catalogue.day) != wanted:
        said = "the new prices would change something else too, so nothing is written"
        hint = (
            "the catalogue has changed since it was opened, or options share a figure by an alias: "
            "open it again, and write such a figure out for each"
        )
        at = Location(catalogue.source, 0, 0)
        raise CatalogueError([Problem(at, said, "not-replaced", hint)])
