"""The page's server, and a program that asks it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from configurator import Shop
from tests.support.programs import Promised, opened, program, promised


@pytest.fixture(scope="module")
def shop() -> Shop:
    return opened()


@pytest.fixture(scope="module")
def client(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with program(shop, tmp_path_factory.mktemp("api")) as asking:
        yield asking


@pytest.fixture(scope="module")
def promises(client: TestClient) -> Promised:
    return promised(client)
