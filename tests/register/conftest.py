from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from configurator import Build, Quote, Shop, open_shop
from configurator.register.opening import open_database
from configurator.register.register import Register
from tests.support.databases import MISSING, has_server, new_database, shared_server
from tests.support.paths import ROOT

DAY = dt.date(2026, 8, 3)


@pytest.fixture(scope="session")
def shop() -> Shop:
    return open_shop(ROOT / "catalogues" / "quandong.yaml", DAY)


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


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a register that is not there yet, in each kind of database."""
    if request.param == "file":
        return str(tmp_path / "register.sqlite")
    return new_database(request.getfixturevalue("cluster"))


class Clock:
    """Tells the time that a test sets."""

    def __init__(self) -> None:
        self.now = dt.datetime(2026, 8, 3, 9, 30, tzinfo=dt.UTC)

    def __call__(self) -> dt.datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def plain_paper(quote: Quote) -> bytes:
    """What stands for a PDF where its making is not the matter."""
    return f"%PDF quote {quote.number}, revision {quote.revision}".encode()


@pytest.fixture
def open_again(address: str, clock: Clock) -> Callable[[], Register]:
    return lambda: Register(open_database(address), plain_paper, clock)


@pytest.fixture
def register(open_again: Callable[[], Register]) -> Iterator[Register]:
    with open_again() as register:
        yield register
