"""Places for a register: a file, and a PostgreSQL cluster made for the tests where it can be."""

from __future__ import annotations

import fcntl
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from uuid import uuid4

MISSING = (
    "left out, since there is no PostgreSQL here: on Debian and Ubuntu, "
    "apt-get install postgresql postgresql-common"
)

_SAY = 'echo "$PGUSER $PGPASSWORD $PGHOST $PGPORT $PGDATABASE"; read wait'


def has_server() -> bool:
    return shutil.which("pg_virtualenv") is not None


@contextmanager
def shared_server(folder: Path) -> Iterator[str]:
    """The address of a cluster that all workers of a run share; it goes when the last has done."""
    with ExitStack() as stack:
        in_use = stack.enter_context((folder / "postgresql.lock").open("w"))
        told = folder / "postgresql"
        with (folder / "postgresql.start").open("w") as starting:
            fcntl.flock(starting, fcntl.LOCK_EX)
            if not told.exists():
                told.write_text(stack.enter_context(_server()))
                stack.callback(fcntl.flock, in_use, fcntl.LOCK_EX)
        users = stack.enter_context((folder / "postgresql.lock").open("w"))
        fcntl.flock(users, fcntl.LOCK_SH)
        yield told.read_text()
        fcntl.flock(users, fcntl.LOCK_UN)


@contextmanager
def _server() -> Iterator[str]:
    command = ["pg_virtualenv", "-o", "fsync=off", "sh", "-c", _SAY]
    if os.geteuid() == 0:  # as an ordinary user, a cluster is in a folder of its own
        command = ["runuser", "-u", "postgres", "--", *command]
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        cwd="/",
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        said = ""
        try:
            for line in process.stdout:
                said += line
                parts = line.split()
                if len(parts) == 5 and parts[3].isdigit():
                    user, password, host, port, name = parts
                    yield f"postgresql://{user}:{password}@{host}:{port}/{name}"
                    break
            else:
                raise AssertionError(f"the cluster did not start: {said}")
        finally:
            process.stdin.close()
            process.stdout.read()


def new_database(address: str, like: str = "") -> str:
    """The address of a database in the cluster: empty, or a copy of the one at another address."""
    import psycopg

    name = f"r{uuid4().hex}"
    copied = f" TEMPLATE {like.rpartition('/')[2]}" if like else ""
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}{copied}".encode())
    return f"{address.rpartition('/')[0]}/{name}"
