"""The database behind a register: a file of SQLite's, or PostgreSQL by its address.

Whatever the database raises becomes one sentence that says which register, and what is the matter.
A transaction that writes locks the register first, so that those of several desks follow one
another; reading never waits for it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from attrs import field, frozen
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from configurator.errors import ConfiguratorError, FileError
from configurator.words import Text, text

_WRITING = "writing"

_LOCK = 4_207_193
"""What those who write to one database of PostgreSQL's lock; any number would do."""


@frozen(eq=False)
class Database:
    """A register's database, opened and of the newest schema.

    Attributes:
        name: what messages call it: its path, or its address without the password.
        engine: SQLAlchemy's.
        path: the file; None for a server.
        wait: seconds that a desk waits for the others to have written.
    """

    name: str
    engine: sa.Engine = field(repr=False)
    path: Path | None
    wait: int

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A transaction that sees one state and changes nothing.

        Raises:
            FileError: the database cannot be read.
        """
        options = {} if self.path else {"isolation_level": "REPEATABLE READ"}
        engine = self.engine.execution_options(**options)
        with self._told(), engine.begin() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A transaction that no other one writes beside; all of it is kept, or nothing.

        Raises:
            FileError: the database cannot be written.
        """
        engine = self.engine.execution_options(**{_WRITING: True})
        with self._told(), engine.begin() as connection:
            if self.path is None:
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{self.wait}s'")
                connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
            yield connection

    def settle(self) -> None:
        """Empty the log of what was written, so that nothing deleted is left in it.

        Raises:
            FileError: the database cannot be written.
        """
        if self.path is not None:
            with self._told(), self.engine.connect() as connection:
                connection.exec_driver_sql("COMMIT")
                connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)").all()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Turns what the database raises into one sentence."""
        try:
            yield
        except DBAPIError as error:
            why = _reason(error, self.wait)
            raise FileError(text("{name}: {why}", name=self.name, why=why)) from None

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def any_database(address: str, wait: int = 60) -> Database:
    """The database at an address, whatever its schema.

    Raises:
        ConfiguratorError: the address is of another kind.
        FileError: there cannot be one.
    """
    return _server(address, wait) if "://" in address else file_database(Path(address), wait)


def has_other_tables(connection: sa.Connection) -> bool:
    """Whether a database without a version of ours has tables all the same."""
    return bool(sa.inspect(connection).get_table_names())


def version_of(connection: sa.Connection) -> str:
    """The version of the schema; empty for a new database."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return ""
    found: str | None = connection.execute(
        sa.text("SELECT version_num FROM alembic_version")
    ).scalar()
    return found or ""


def _server(address: str, wait: int) -> Database:
    try:
        url = sa.make_url(address)
        address.encode()
        (url.host or "").encode("idna")
    except (SQLAlchemyError, ValueError):  # the address is not told: a password may be in it
        raise ConfiguratorError(
            "that is no address of a register: give a file, or postgresql://user@host/name"
        ) from None
    secret = [key for key in url.query if "password" in key]
    name = url.difference_update_query(secret).render_as_string()
    if url.get_backend_name() != "postgresql":
        raise ConfiguratorError(
            f"{name}: a register is in a file or in PostgreSQL: give a file, or "
            "postgresql://user@host/name"
        )
    try:
        engine = sa.create_engine(
            url.set(drivername="postgresql+psycopg"), pool_pre_ping=True, hide_parameters=True
        )
    except ModuleNotFoundError:
        raise ConfiguratorError(
            f"{name}: the library for PostgreSQL is missing: "
            "pip install tray-canopy-configurator[postgresql]"
        ) from None
    return Database(name, engine, None, wait)


def file_database(path: Path, wait: int = 60) -> Database:
    """The database in a file, whatever its schema.

    Raises:
        FileError: there cannot be one.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path}: cannot make its folder: {error.strerror}") from None
    if path.is_dir():
        raise FileError(f"{path}: it is a folder; name a file for the register")
    url = sa.URL.create("sqlite", database=os.fspath(path.absolute()))
    engine = sa.create_engine(url, hide_parameters=True)

    def connected(connection: Any, _: object) -> None:
        """Leave transactions to us, and make what is committed safe against a power cut."""
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout = {wait * 1000}")
        for pragma in _PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")

    sa.event.listen(engine, "connect", connected)
    sa.event.listen(engine, "begin", _begun)
    return Database(str(path), engine, path, wait)


_PRAGMAS = (
    "journal_mode = WAL",
    "synchronous = FULL",
    "foreign_keys = ON",
    "secure_delete = ON",  # what is deleted on request is not left in the file
)


def _begun(connection: sa.Connection) -> None:
    """Lock at once where something is written: a lock asked for later may not be had."""
    immediate = connection.get_execution_options().get(_WRITING)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")


def _reason(error: DBAPIError, wait: int) -> Text | str:
    """What is the matter, for somebody who sells."""
    raised = error.orig
    if isinstance(raised, sqlite3.Error):
        code = getattr(raised, "sqlite_errorname", "").split("_")
        known = {
            "FULL": text("the disk is full; nothing was written"),
            "BUSY": text(
                "another program has locked it for more than {wait} s; try again", wait=wait
            ),
            "READONLY": text("it is read-only; make it writable, or give another one"),
            "CANTOPEN": text("it cannot be opened: look at its folder and who may write there"),
            "NOTADB": text("it is not a register"),
            "CORRUPT": text("it is damaged; go back to a backup"),
            "IOERR": text("the disk reports an error; nothing was written"),
        }
        with suppress(IndexError, KeyError):
            return known[code[1]]
    if type(raised).__name__ == "LockNotAvailable":
        return text("another desk has locked it for more than {wait} s; try again", wait=wait)
    if error.connection_invalidated or type(raised).__name__ in (
        "OperationalError",
        "AdminShutdown",
    ):
        told = str(raised).strip().splitlines()
        why = told[0] if told else text("no reason given")
        return text("the server cannot be reached: {why}", why=why)
    return str(raised).strip().splitlines()[0]
