"""Opening a register: a new one is made, an older one brought up to date, or left as it was.

Alembic is slow to import, and only a register that is new or older needs it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

if TYPE_CHECKING:
    from alembic.config import Config

from configurator.errors import ConfiguratorError, FileError, NoRegister, cut
from configurator.machine.paths import path_of
from configurator.register.database import (
    Database,
    any_database,
    file_database,
    has_other_tables,
    version_of,
)
from configurator.register.tables import NEWEST
from configurator.words import text

_FOLDER = Path(__file__).parent / "migrations"


def usual_address() -> str:
    """Where a register is unless something else is said: a file in the user's data folder."""
    from platformdirs import user_data_path

    return str(user_data_path("configurator", appauthor=False) / "register.sqlite")


def open_database(address: str | Path | None, *, wait: int = 60, make: bool = True) -> Database:
    """Open the database at an address, bring its schema up to date, and make it where it is new.

    Args:
        address: a file's path, or ``postgresql://user@host/name``; None for the usual file.
        wait: seconds to wait for others to have written.
        make: whether a new one is made where there is none.

    Raises:
        ConfiguratorError: the address is of another kind, or a newer program wrote the register.
        FileError: it cannot be opened; as NoRegister, where there is none.
    """
    if address is None:
        address = usual_address()
    if not isinstance(address, str) or "://" not in address:
        path = path_of("address", address)
        address = str(path)
        if not _is_there(path) and not make:
            raise _missing(address)
    database = any_database(address, wait)
    try:
        with database.reading() as connection:
            version = version_of(connection)
            if not version and database.path is not None and has_other_tables(connection):
                told = text("{name}: it is a database of another program's", name=database.name)
                raise FileError(told)
        if not version and not make:
            raise _missing(database.name)
        if version != NEWEST:
            upgrade(database, version)
    except BaseException:
        database.close()
        raise
    return database


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError as error:
        told = f"{cut(str(path))}: it cannot be opened: {error.strerror}; give another file"
        raise FileError(told) from None


def _missing(name: str) -> NoRegister:
    return NoRegister(
        text("{name}: there is no register yet; the first quote that is issued makes it", name=name)
    )


def upgrade(database: Database, version: str, to: str = "head") -> None:
    """Bring the schema up to date.

    A register that holds something is upgraded on a copy first: of a file, a copy beside it that
    goes again; of a server's, a transaction that is undone.

    Raises:
        ConfiguratorError: a newer program wrote it, or the trial went wrong; it is as it was.
        FileError: it cannot be written.
    """
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(_FOLDER))
    config.set_main_option("path_separator", "os")
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if version and version not in known:
        raise ConfiguratorError(
            f"{database.name}: it has version {version} of the schema, which a newer program "
            "wrote: bring this program up to date"
        )
    with database.writing() as connection:
        if version_of(connection) != version:
            return  # another desk was quicker
        if version:
            _try_out(config, database, version, to)
        _run(config, connection, to)


def _try_out(config: Config, database: Database, version: str, to: str) -> None:
    """Upgrade a copy; nobody else does so meanwhile, since who upgrades has locked the register."""
    try:
        with _copy(database) as connection:
            _run(config, connection, to)
    except Exception as error:  # whatever it is, the register itself has not been touched
        reason = str(error).splitlines()[0]
        raise ConfiguratorError(
            f"{database.name}: its schema, version {version}, cannot be brought up to date: "
            f"{reason}; it is as it was"
        ) from None


def _run(config: Config, connection: sa.Connection, to: str) -> None:
    from alembic import command

    config.attributes["connection"] = connection
    command.upgrade(config, to)


@contextmanager
def _copy(database: Database) -> Iterator[sa.Connection]:
    """A copy of the register to try things on, gone afterwards."""
    if database.path is None:
        with database.engine.connect() as connection:
            yield connection
            connection.rollback()
        return
    trial = database.path.with_name(f"{database.path.name}.trial")
    trial.unlink(missing_ok=True)
    try:
        with database.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("VACUUM INTO ?", (str(trial),))
            connection.exec_driver_sql("BEGIN")
        copied = file_database(trial)
        with copied.writing() as connection:
            yield connection
        copied.close()
    finally:
        for ending in ("", "-wal", "-shm"):
            Path(f"{trial}{ending}").unlink(missing_ok=True)
