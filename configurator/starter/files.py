"""A shop's first catalogue, written from a few answers: complete, commented, ready to quote."""

from __future__ import annotations

import datetime as dt
import os
import re
import time
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from configurator.catalogue.reading import open_catalogue
from configurator.errors import CatalogueError, ConfiguratorError, FileError, Location, Problem
from configurator.money import exponent, round_to
from configurator.selection.values import require_each, require_kind
from configurator.starter import VEHICLES

_TRAYS = {"single-cab": (2100, 2400), "extra-cab": (1800, 2100), "dual-cab": (1800,)}
_LENGTHS = {1800: (4490, 92), 2100: (4890, 107), 2400: (5290, 122)}
"""Price and mass of a tray of each length, mm."""

_CANOPIES = {
    700: ("Low", {1800: 7330, 2100: 7900, 2400: 8470}),
    850: ("Standard", {1800: 7970, 2100: 8600, 2400: 9230}),
    1000: ("Tall", {1800: 8620, 2100: 9300, 2400: 9980}),
}
"""Name of each height, mm, and its price on a tray of each length."""

_FRIDGES = (
    (65, 1590, 21, 450, 490, 540, 170, 20, "3.6"),
    (110, 2090, 29, 515, 550, 760, 220, 33, "4.4"),
    (130, 2390, 32, 525, 550, 820, 240, 40, "4.8"),
)
_BATTERIES = ((100, 890, "12.5", 172, 330, 100, 50, 3000, 125),
              (200, 1640, "23", 240, 520, 150, 100, 5000, 200))  # fmt: skip
_SET = 390 + 890 + 440 + 240
"""What the parts of the package deal cost, but for the labour in them."""


def write_first(
    folder: Path,
    name: str,
    address: Sequence[str],
    *,
    email: str,
    phone: str,
    kerb_side: str,
    currency: str,
    tax_name: str,
    tax_rate: Decimal | int,
    prices: str,
    labour: Decimal | int,
    vehicles: Sequence[str],
    first: dt.date | None,
) -> None:
    """Write the files; see ``Shop.new``."""
    first = first or dt.date(*time.localtime()[:3])
    require_kind("first", first, dt.date)
    texts = {"name": name, "email": email, "phone": phone, "tax_name": tax_name}
    for answer, text in (texts | {"kerb_side": kerb_side, "prices": prices}).items():
        require_kind(answer, text, str)
    for answer, figure in (("tax_rate", tax_rate), ("labour", labour)):
        if not isinstance(figure, int):
            require_kind(answer, figure, Decimal)
        if not Decimal(figure).is_finite():
            raise ConfiguratorError(f"{answer} is {figure}; give a number")
    require_each("address", address, str)
    require_classes(vehicles)
    known = [one for one in VEHICLES if one in vehicles]
    lengths = sorted({length for one in known for length in _TRAYS[one]})

    digits = exponent(currency)

    def price(amount: Decimal | int) -> Decimal:
        return round_to(amount, digits)

    values = {
        "folder": " ".join(folder.as_posix().split()),
        "shop": " ".join(name.split()),
        "id": _id_of(name),
        "title": _quoted(f"{name}, trays and canopies {first.year}"),
        "name": _quoted(name),
        "address": f"[{', '.join(map(_quoted, address))}]",
        "email": email and _quoted(email),
        "phone": phone and _quoted(phone),
        "kerb_side": _quoted(kerb_side),
        "currency": currency,
        "first": first,
        "until": _year_after(first),
        "tax_name": _quoted(tax_name),
        "tax_rate": tax_rate,
        "prices": _quoted(prices),
        "labour": labour,
        "deal": price(_SET - 100 + Decimal(labour) * 5 / 2),
        "price": price,
        "vehicles": known,
        "length": _TRAYS[known[0]][0],
        "trays": [(length, *_LENGTHS[length]) for length in lengths],
        "canopies": [
            (height, title, {length: rows[length] for length in lengths})
            for height, (title, rows) in _CANOPIES.items()
        ],
        "rows": lambda amounts: ", ".join(f"{k}mm: {price(v)}" for k, v in amounts.items()),
        "fridges": _FRIDGES,
        "batteries": _BATTERIES,
    }
    _written(folder, values)


def require_classes(vehicles: Sequence[str]) -> None:
    """Make sure that there are these classes of vehicle, and one at least.

    Raises:
        ConfiguratorError: there are not.
    """
    unknown = [repr(one) for one in vehicles if one not in VEHICLES]
    if unknown or not vehicles:
        told = f"there is no vehicle class {unknown[0]}" if unknown else "name a vehicle class"
        raise ConfiguratorError(f"{told}; known: {', '.join(VEHICLES)}")


def require_new(folder: Path) -> None:
    """Make sure that nothing is in the folder yet.

    Raises:
        FileError: something is, or it cannot be looked at.
    """
    try:
        used = folder.exists() and not (folder.is_dir() and not any(folder.iterdir()))
    except OSError as error:
        raise FileError(f"{folder}: cannot read it: {error.strerror}") from None
    if used:
        raise FileError(f"{folder}: something is there already; name a new folder")


def _quoted(answer: str) -> str:
    """The answer as a text in YAML, whatever is in it."""
    import json

    return json.dumps(answer, ensure_ascii=False)


def _id_of(name: str) -> str:
    import unicodedata

    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:60].strip("-") or "our-shop"


def _year_after(day: dt.date) -> dt.date:
    """The last day of the year that begins on that day."""
    return day + dt.timedelta(days=364)


def _written(folder: Path, values: Mapping[str, Any]) -> None:
    """Write the files into the folder, all of them or none.

    Raises:
        CatalogueError: what is written could not be read.
        FileError: it cannot be written.
    """
    import shutil
    import tempfile

    from configurator.machine.files import make_folder

    try:
        require_new(folder)
        home = folder.absolute().parent
        make_folder(folder.parent)
        beside = Path(tempfile.mkdtemp(dir=home, prefix=f".{folder.name[:100]}."))
        try:
            for name, text in _filled(values):
                path = beside / name
                path.parent.mkdir(exist_ok=True)
                path.write_text(text, "utf-8")
            _require_readable(beside)
            mask = os.umask(0)
            os.umask(mask)
            beside.chmod(0o777 & ~mask)
            if folder.exists():
                folder.rmdir()
            beside.rename(folder)
        except BaseException:
            shutil.rmtree(beside, ignore_errors=True)
            raise
    except OSError as error:
        raise FileError(f"{folder}: cannot write it: {error.strerror}") from None


def _filled(values: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """The files, by their paths from the folder, with the answers in them."""
    import jinja2

    home = Path(__file__).parent
    templates = jinja2.Environment(
        loader=jinja2.FileSystemLoader(home),
        variable_start_string="<<",
        variable_end_string=">>",
        line_statement_prefix="%%",
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    for path in sorted(home.rglob("*.yaml")):
        name = path.relative_to(home)
        text = templates.get_template(name.as_posix()).render(values)
        yield name, text.rstrip("\n") + "\n"


def _require_readable(folder: Path) -> None:
    """Make sure that the answers are right in a catalogue.

    Raises:
        CatalogueError: with what is wrong with them.
    """
    catalogue, problems = open_catalogue(folder)
    if catalogue is None:
        at = Location("the answers", 0, 0)
        raise CatalogueError(Problem(at, one.sentence, one.code, one.hint) for one in problems)
