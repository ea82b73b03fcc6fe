"""A register as a whole: copied while others write, moved, checked, listed for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

import attrs
import sqlalchemy as sa

from configurator.answers.data import to_data
from configurator.answers.register import QuoteEntry
from configurator.errors import FileError, RegisterError
from configurator.register.database import Database
from configurator.register.opening import open_database
from configurator.register.rows import Row, content_digest, name_of, row_digest
from configurator.register.tables import CHAIN, PAPERS, QUOTES, REVISIONS, TABLES, TRAIL

_AT_ONCE = 200


def backup(database: Database, path: Path) -> None:
    """Copy the register, as it is at one moment, into a new file; others may go on writing.

    Raises:
        FileError: the file is there already or cannot be written, or the copy does not fit.
    """
    if path.exists():
        raise FileError(f"{path}: it is there already, and a backup is never overwritten")
    try:
        copy = open_database(str(path))
        try:
            _copied(database, copy)
            with copy.engine.connect() as connection:
                connection.exec_driver_sql("COMMIT")
                connection.exec_driver_sql("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
    except BaseException:
        for ending in ("", "-wal", "-shm"):
            with suppress(OSError):
                Path(f"{path}{ending}").unlink(missing_ok=True)
        raise


def move(database: Database, address: str) -> str:
    """Copy the register to another address, which has none yet, and tell how it is called.

    Raises:
        ConfiguratorError: the address is of another kind.
        RegisterError: there are quotes already.
        FileError: one of them cannot be read or written.
    """
    other = open_database(address)
    try:
        _copied(database, other)
    finally:
        other.close()
    return other.name


def _copied(database: Database, other: Database) -> None:
    """Copy every row, and see that the copy is whole."""
    with database.reading() as at, other.writing() as to:
        if to.execute(sa.select(sa.func.count()).select_from(QUOTES)).scalar_one():
            raise RegisterError(f"{other.name}: there are quotes already; name another place")
        for table in TABLES.sorted_tables:
            if table is CHAIN:
                to.execute(table.delete())
            for some in at.execute(sa.select(table)).mappings().partitions(_AT_ONCE):
                to.execute(table.insert(), [dict(row) for row in some])
    wrong = check(other)
    if wrong:
        raise FileError(f"{other.name}: the copy is not whole: {wrong[0]}")


def check(database: Database) -> tuple[str, ...]:
    """What in the register is not what was written: the first of it, and nothing where all fits.

    The trail is followed from its first row; then what it says of each revision, of the content
    that is kept, and of where each quote stands.

    Raises:
        FileError: it cannot be read.
    """
    with database.reading() as at:
        return tuple(found for found in [next(_wrong(at), "")] if found)


def _wrong(at: sa.Connection) -> Iterator[str]:
    quotes: dict[int, Row] = {row["id"]: row for row in at.execute(sa.select(QUOTES)).mappings()}
    steps: list[Row] = []
    yield from _wrong_in_trail(at, quotes, steps)
    last = {step["quote"]: step for step in steps}
    for where, row in quotes.items():
        told = last.get(where)
        if told is None:
            yield f"quote {_name(row)}: the trail does not have it"
        elif (row["status"], row["revision"]) != (told["after"], told["revision"]):
            yield (
                f"quote {_name(row)}: it is {row['status']}, revision {row['revision']}; the trail "
                f"says {told['after']}, revision {told['revision']}"
            )
    yield from _wrong_in_revisions(at, quotes, steps)


def _wrong_in_trail(at: sa.Connection, quotes: dict[int, Row], steps: list[Row]) -> Iterator[str]:
    previous = ""
    for row in at.execute(sa.select(TRAIL).order_by(TRAIL.c.id)).mappings():
        steps.append(row)
        called = f"trail, row {row['id']} (quote {_name(quotes.get(row['quote']))}, {row['event']})"
        if row["id"] != len(steps):
            yield f"trail: row {len(steps)} is missing"
        if row["previous"] != previous:
            yield f"{called}: it does not follow on the row before"
        if row["digest"] != row_digest(row, TRAIL):
            yield f"{called}: it is not what was written"
        previous = row["digest"]
    chain = at.execute(sa.select(CHAIN)).mappings().one()
    if (chain["rows"], chain["digest"]) != (len(steps), previous):
        yield f"trail: it ends at row {len(steps)}, and {chain['rows']} were written"


def _wrong_in_revisions(
    at: sa.Connection, quotes: dict[int, Row], steps: list[Row]
) -> Iterator[str]:
    issued = {(s["quote"], s["revision"]): s["content"] for s in steps if s["content"]}
    deleted = {step["quote"] for step in steps if step["event"] == "deleted"}
    for row in at.execute(sa.select(REVISIONS)).mappings().all():
        where, revision = row["quote"], row["revision"]
        quote = quotes.get(where)
        called = f"quote {_name(quote)}, revision {revision}"
        if issued.pop((where, revision), None) != row_digest(row, REVISIONS):
            yield f"{called}: it is not what was issued"
        if quote is not None and quote["revision"] == revision and quote["total"] != row["total"]:
            yield f"{called}: the list says {quote['total']}, issued was {row['total']}"
        kept = sa.select(PAPERS).where(PAPERS.c.quote == where, PAPERS.c.revision == revision)
        paper = at.execute(kept).mappings().first()
        if paper is None:
            yield f"{called}: its content is missing"
        elif paper["deleted"] != (where in deleted):
            yield f"{called}: the trail says otherwise of whether its content was deleted"
        elif not paper["deleted"]:
            for name in ("selection", "answer", "pdf"):
                content = paper[name] if name == "pdf" else paper[name].encode()
                if content_digest(content) != row[f"{name}_digest"]:
                    yield f"{called}: its {name} is not what was kept"
    for where, revision in issued:
        yield f"quote {_name(quotes.get(where))}, revision {revision}: it is missing"


def _name(row: Row | None) -> str:
    return "unknown" if row is None else name_of(row)


def as_csv(entries: Sequence[QuoteEntry]) -> str:
    """Quotes as a table that a spreadsheet opens; no cell of it is taken for a formula.

    A text that begins as a formula does gets an apostrophe before it, which spreadsheets hide.
    """
    written = io.StringIO()
    table = csv.writer(written)
    names = [field.name for field in attrs.fields(QuoteEntry)]
    table.writerow([*(name.replace("_", "-") for name in names), "currency"])
    for entry in entries:
        data = to_data(entry)
        row = [str(data[name.replace("_", "-")]) for name in names]
        table.writerow([_plain(cell) for cell in (*row, entry.total.currency)])
    return written.getvalue()


def _plain(cell: str) -> str:
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell
