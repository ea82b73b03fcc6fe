"""A register as a whole: backed up while others write, moved, checked, exported."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

import attrs
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from configurator.answers.data import to_data
from configurator.answers.register import DELETED, QuoteEntry
from configurator.errors import ConfiguratorError, FileError, RegisterError
from configurator.register.database import Database
from configurator.register.opening import open_database
from configurator.register.rows import Row, altered_parts, name_of, row_digest
from configurator.register.tables import CHAIN, PAPERS, QUOTES, REVISIONS, SERIES, TABLES, TRAIL
from configurator.words import plain_cell, text

_AT_ONCE = 200


def backup(database: Database, path: Path) -> None:
    """Copy the register into a new file; see :meth:`.reading.ReadRegister.backup`."""
    if re.match(r"\w{2,}:/", path.as_posix()):
        raise ConfiguratorError(f"{path}: a backup is a file; register move copies to a server")
    if path.exists():
        raise FileError(f"{path}: it is there already, and a backup is never overwritten")
    try:
        copy = open_database(str(path))
        try:
            with database.reading() as at:
                _copied(at, copy)
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
    """Move the register to another address; see :meth:`.reading.ReadRegister.move`."""
    other = open_database(address)
    try:
        if other.engine.url == database.engine.url:
            raise RegisterError(f"{other.name}: that is where it is; name another place")
        with database.writing() as at:  # nobody issues a quote that the copy would not have
            where = other.path.absolute() if other.path else other.name
            _refuse_writing(at, f"it was moved to {where}: use that one")
            _copied(at, other)
    finally:
        other.close()
    return other.name


def _refuse_writing(at: sa.Connection, reason: str) -> None:
    """Whatever writes adds to the trail, which is refused in this database from now on.

    Raises:
        RegisterError: it is refused already.
    """
    said = reason.replace("'", "''").replace(":", r"\:")
    does = f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
    try:
        if at.dialect.name != "sqlite":
            at.execute(
                sa.text(
                    "CREATE FUNCTION refuse_moved() RETURNS trigger LANGUAGE plpgsql AS $moved$ "
                    f"BEGIN RAISE EXCEPTION USING MESSAGE = '{said}'; END $moved$"
                )
            )
            does = "FOR EACH ROW EXECUTE FUNCTION refuse_moved()"
        at.execute(sa.text(f"CREATE TRIGGER trail_moved BEFORE INSERT ON trail {does}"))
    except DBAPIError:
        raise RegisterError(
            text("this register was moved before: use the one it was moved to")
        ) from None


def _copied(at: sa.Connection, other: Database) -> None:
    """Copy every row, and see that the copy is whole."""
    with other.writing() as to:
        if to.execute(sa.select(sa.func.count()).select_from(QUOTES)).scalar_one():
            raise RegisterError(f"{other.name}: there are quotes already; name another place")
        for table in TABLES.sorted_tables:
            if table is CHAIN:
                to.execute(table.delete())
            rows = at.execute(sa.select(table), execution_options={"yield_per": _AT_ONCE})
            for some in rows.mappings().partitions():
                to.execute(table.insert(), [dict(row) for row in some])
        if other.path is None:  # a server that does not know its rows yet searches all of them
            to.exec_driver_sql("ANALYZE quotes")
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
    for where in sorted(last.keys() - quotes.keys()):
        yield f"quote {where} of the trail is missing from the list"
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
    yield from _wrong_in_numbers(at, quotes.values())


def _wrong_in_numbers(at: sa.Connection, quotes: Iterable[Row]) -> Iterator[str]:
    """Numbers that were drawn and are not there, and the other way round."""
    held = {row["number"] for row in quotes if row["number"] is not None}
    for row in at.execute(sa.select(SERIES)).mappings():
        for number in (f"{row['prefix']}{n + 1}" for n in range(row["last"])):
            if number not in held:
                yield f"quote {number}: the number was drawn, and there is no such quote"
            held.discard(number)
    for number in sorted(held):
        yield f"quote {number}: its number was not drawn from a series"


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
    chain = at.execute(sa.select(CHAIN)).mappings().first() or {"rows": 0, "digest": None}
    if (chain["rows"], chain["digest"]) != (len(steps), previous):
        yield f"trail: it ends at row {len(steps)}, and {chain['rows']} were written"


def _wrong_in_revisions(
    at: sa.Connection, quotes: dict[int, Row], steps: list[Row]
) -> Iterator[str]:
    issued = {(s["quote"], s["revision"]): s["content"] for s in steps if s["content"]}
    deleted = {step["quote"]: step["revision"] for step in steps if step["event"] == DELETED}
    for row in at.execute(sa.select(REVISIONS)).mappings().all():
        where, revision = row["quote"], row["revision"]
        quote = quotes.get(where)
        called = f"quote {_name(quote)}, revision {revision}"
        if issued.pop((where, revision), None) != row_digest(row, REVISIONS):
            yield f"{called}: it is not what was issued"
        kept = sa.select(PAPERS).where(PAPERS.c.quote == where, PAPERS.c.revision == revision)
        paper = at.execute(kept).mappings().first()
        if paper is None:
            yield f"{called}: its content is missing"
            continue
        if paper["deleted"] != (revision <= deleted.get(where, -1)):
            yield f"{called}: the trail says otherwise of whether its content was deleted"
        if not paper["deleted"]:
            for part in altered_parts(paper, row):
                yield f"{called}: its {part} is not what was kept"
        if quote is not None and quote["revision"] == revision:
            yield from _wrong_in_list(quote, row, paper)
    for where, revision in issued:
        yield f"quote {_name(quotes.get(where))}, revision {revision}: it is missing"


def _wrong_in_list(quote: Row, revision: Row, paper: Row) -> Iterator[str]:
    """Where the list of quotes does not say what the latest revision says."""
    issued = {name: revision[name] for name in ("seller", "currency", "total", "valid_until")}
    issued["issued"] = revision["day"]
    if paper["deleted"]:
        issued |= dict.fromkeys(("customer", "phone", "email", "title"), "")
    else:
        answer, selection = json.loads(paper["answer"]), json.loads(paper["selection"])
        customer = selection.get("customer", {})
        issued |= {name: customer.get(name, "") for name in ("phone", "email")}
        issued |= {"customer": customer.get("name", ""), "number": answer["number"]}
        issued |= {name: answer[name] for name in ("title", "vehicle")}
    for name, said in issued.items():
        listed = name_of(quote) if name == "number" else quote[name]
        if listed != said:
            called = name.replace("_", " ")
            yield f"quote {_name(quote)}: {called} is {listed!r} in the list, and was {said!r}"


def _name(row: Row | None) -> str:
    return "unknown" if row is None else name_of(row)


def as_csv(entries: Sequence[QuoteEntry]) -> str:
    """Quotes as a table that a spreadsheet opens; no cell of it is taken for a formula."""
    written = io.StringIO()
    table = csv.writer(written)
    names = [field.name for field in attrs.fields(QuoteEntry)]
    table.writerow([*(name.replace("_", "-") for name in names), "currency"])
    for entry in entries:
        data = to_data(entry)
        row = [str(data[name.replace("_", "-")]) for name in names]
        table.writerow([plain_cell(cell) for cell in (*row, entry.total.currency)])
    return written.getvalue()
