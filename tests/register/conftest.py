from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from configurator import Build, Quote, Register, Shop
from configurator.register.opening import open_database
from tests.support.databases import MISSING, has_server, new_database, shared_server
from tests.support.paths import ROOT
from tests.support.programs import opened
from tests.support.registers import DAY, Clock, plain_paper


@pytest.fixture(scope="session")
def shop() -> Shop:
    return opened()


@pytest.fixture(scope="session")
def build(shop: Shop) -> Build:
    return shop.build(ROOT / "catalogues" / "selections" / "contractor.yaml")


@pytest.fixture(scope="session")
def quote(build: Build) -> Quote:
    return build.quote("DRAFT", DAY)


@pytest.fixture(scope="session")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    if not has_server():
        pytest.skip(MISSING)
    base = tmp_path_factory.getbasetemp()
    with shared_server(base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) as address:
        yield address


@pytest.fixture(scope="session")
def made_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A register without quotes."""
    file = tmp_path_factory.mktemp("made") / "register.sqlite"
    open_database(str(file)).close()
    return file


@pytest.fixture(scope="session")
def made_database(cluster: str) -> str:
    """The same on the server."""
    address = new_database(cluster)
    open_database(address).close()
    return address


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a register in each kind of database.

    It is not there yet, unless the test asks for a ``register``: then it is a copy of one.
    """
    copied = "register" in request.fixturenames
    if request.param == "file":
        file = tmp_path / "register.sqlite"
        if copied:
            shutil.copy(request.getfixturevalue("made_file"), file)
        return str(file)
    like = request.getfixturevalue("made_database") if copied else ""
    return new_database(request.getfixturevalue("cluster"), like)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def open_again(address: str, clock: Clock) -> Callable[[], Register]:
    return lambda: Register(open_database(address), plain_paper, clock)


@pytest.fixture
def register(open_again: Callable[[], Register]) -> Iterator[Register]:
    with open_again() as register:
        yield register
