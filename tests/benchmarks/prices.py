"""A price list of 10 000 rows against a catalogue of 10 000 options: read, compared, written.

Cost and price of nine options in ten change, each with its margin; one row in ten is of nothing in
the catalogue and one letter from something. CPU time, the least of a few runs; written means that
the new text was also read again. The catalogue is opened before.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import xlsxwriter

from configurator import PriceUpdate, open_shop
from tests.benchmarks.reading import HEAD, PER_CHOICE

COUNT, RUNS = 10_000, 3
MAP = """\
format: 1
supplier: Example Supply
columns: {code: Code, price: Price}
tax: exclude
sets: [cost, price]
mark-up: 40
caution: {margin: 20}
"""


def catalogue() -> str:
    """A catalogue with so many options of one supplier."""
    lines = [HEAD.rstrip("\n")]
    for number in range(COUNT):
        choice, place = divmod(number, PER_CHOICE)
        if not place:
            lines.append(f"- id: c{choice}\n  title: Choice {choice}\n  group: build")
            lines.append("  pick: several\n  options:")
        lines.append(f"  - id: o{place}\n    title: Option {place} of choice {choice}")
        lines.append(f"    price: {place + 10}.95\n    cost: {place + 5}.10")
        lines.append(f"    supplier: Example Supply\n    supplier-code: S-{number:05}")
    return "\n".join(lines) + "\n"


def price_list(file: Path) -> None:
    """A list for it, of which nine rows in ten are for something in the catalogue."""
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ("Code", "Price"))
        for number in range(COUNT):
            letter = "S" if number % 10 else "T"
            sheet.write_row(number + 1, 0, (f"{letter}-{number:05}", number % PER_CHOICE + 6.2))


def measured(folder: Path, write: bool) -> float:
    """CPU seconds that the list takes."""
    best = float("inf")
    for _ in range(RUNS):
        (folder / "catalogue.yaml").write_text(catalogue(), "utf-8")
        shop = open_shop(folder / "catalogue.yaml")
        start = time.process_time()
        found: PriceUpdate = shop.prices(folder / "list.xlsx", folder / "map.yaml", write=write)
        best = min(best, time.process_time() - start)
        counted = len(found.changes), len(found.unknown), len(found.lacking)
        assert counted == (COUNT * 18 // 10, COUNT // 10, COUNT // 10), counted
        assert all(one.near for one in found.unknown)
        assert found.written == write
    return best


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "map.yaml").write_text(MAP, "utf-8")
        price_list(folder / "list.xlsx")
        print(f"{COUNT} rows, {COUNT} options, {COUNT * 18 // 10} figures change")
        print(f"compared: {measured(folder, write=False):.2f} s")
        print(f"compared, written and read again: {measured(folder, write=True):.2f} s")
        print("wanted: at most 2")


if __name__ == "__main__":
    main()
