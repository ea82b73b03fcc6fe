"""A register of 20 000 quotes: issuing one without its PDF, and finding it; both databases.

Each in milliseconds of wall time, with the file flushed to the disk as a shop's is. A plain INSERT
of the same bytes in a transaction of its own stands beside it, as a measure of the machine.
"""

from __future__ import annotations

import datetime as dt
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import attrs
import sqlalchemy as sa

from configurator import Quote, open_shop
from configurator.register.opening import open_database
from configurator.register.register import Register
from configurator.register.tables import QUOTES
from configurator.register.words import words_of
from configurator.selection.picks import Customer
from tests.support.databases import MISSING, has_server, shared_server
from tests.support.paths import ROOT

HELD, ISSUED, ASKED = 20_000, 100, 100
DAY = dt.date(2026, 8, 3)


def main() -> None:
    """Measure both databases."""
    shop = open_shop(ROOT / "catalogues" / "quandong.yaml", DAY)
    touring = shop.build(ROOT / "catalogues" / "selections" / "touring.yaml").quote("DRAFT", DAY)
    with tempfile.TemporaryDirectory() as folder:
        print(f"{'plain insert, SQLite':34}{spread(plain_inserts(Path(folder) / 'plain'))}")
        measure("file", str(Path(folder) / "register.sqlite"), touring)
        if has_server():
            with shared_server(Path(folder)) as address:
                measure("server", address, touring)
        else:
            print(f"server: {MISSING}")


def measure(name: str, address: str, quote: Quote) -> None:
    with Register(open_database(address), lambda _: b"%PDF" * 20_000, now) as register:
        register.issue(quote, seller="Ann")
        fill(register)
        print(f"{name + ': issue, without its PDF':34}{spread(issued(register, quote))}")
        for query in ("q-15000", "brandgrove 15000", "ottilie"):
            found = spread(timed(ASKED, lambda query=query: register.find(query)))  # type: ignore[misc]
            print(f"{name + ': find ' + query:34}{found}")


def fill(register: Register) -> None:
    """Rows of quotes as they stand, with names that nobody has."""
    with register.database.writing() as to:
        row = dict(to.execute(sa.select(QUOTES)).mappings().one())
        rows = []
        for number in range(2, HELD + 2):
            customer = f"{('Ottilie', 'Jorun', 'Maren', 'Tilo')[number % 4]} Brandgrove {number}"
            words = words_of(f"Q-{number}", customer, row["title"], row["vehicle"])
            name = f"F-{number}"
            rows.append({**row, "id": number, "number": name, "customer": customer, "words": words})
        to.execute(QUOTES.insert(), rows)
        if register.database.path is None:  # which the server does by itself within a minute
            to.exec_driver_sql("ANALYZE quotes")


def issued(register: Register, quote: Quote) -> list[float]:
    customer = Customer("Ottilie Brandgrove", phone="0491 570 006")
    selection = attrs.evolve(quote.selection, customer=customer)
    quote = attrs.evolve(quote, selection=selection)
    return timed(ISSUED, lambda: register.issue(quote, seller="Ann", series="N-"))


def plain_inserts(path: Path) -> list[float]:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("CREATE TABLE kept (content BLOB)")
    content = b"%PDF" * 20_000
    taken = timed(
        ISSUED, lambda: connection.execute("INSERT INTO kept VALUES (?)", (content,)).fetchall()
    )
    connection.close()
    return taken


def timed(times: int, ask: Callable[[], object]) -> list[float]:
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        ask()
        taken.append((time.perf_counter() - began) * 1000)
    return sorted(taken)


def spread(taken: list[float]) -> str:
    high = taken[round(0.95 * (len(taken) - 1))]
    return f"median {statistics.median(taken):6.1f} ms   p95 {high:6.1f} ms"


def now() -> dt.datetime:
    return dt.datetime(2026, 8, 3, 9, tzinfo=dt.UTC)


if __name__ == "__main__":
    main()
