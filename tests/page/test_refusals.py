"""What the page says of a register that it cannot use, in the language of the page."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from configurator import Register, Shop
from configurator.register.opening import open_database
from configurator.web.app import counter_app
from configurator.web.counter import Counter
from tests.support.counter import Here
from tests.support.programs import opened

DAY = dt.date(2026, 8, 3)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return opened()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "r.sqlite"


@pytest.fixture
def seat(shop: Shop, file: Path) -> Iterator[TestClient]:
    def register() -> Register:
        clock = dt.datetime.combine(DAY, dt.time(9), dt.UTC)
        return Register(open_database(str(file), wait=1), lambda _: b"%PDF", lambda: clock)

    counter = Counter(shop, register, lambda: DAY, "de")
    own = {"sec-fetch-site": "same-origin"}
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=own) as client:
        yield client


def test_a_number_that_no_quote_has_is_not_found(seat: TestClient) -> None:
    for path in ("/quotes/Q-999", "/quotes/Q-999/paper/1"):
        answer = seat.get(path)
        assert answer.status_code == 404
        assert "es gibt kein Angebot Q-999" in answer.text


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"%PDF-1.7 cut short", "angebot-2.pdf: nicht zu lesen: die PDF-Datei ist beschädigt oder"),
        (b"Dear shop,\n: a tray", "angebot-2.pdf: das ist keine PDF-Datei, auch wenn sie so heißt"),
    ],
)
def test_a_file_that_cannot_be_opened_is_named(content: bytes, told: str, seat: TestClient) -> None:
    answer = seat.post("/open", files={"file": ("angebot#2.pdf", content)})
    assert answer.status_code == 400
    assert told in answer.text


def test_a_file_that_is_no_register_is_said_to_be_none(seat: TestClient, file: Path) -> None:
    file.write_text("format: 1\n" * 500)
    answer = seat.get("/quotes")
    assert answer.status_code == 400
    assert "das ist kein Register" in answer.text


def test_a_database_of_another_program_is_not_taken(seat: TestClient, file: Path) -> None:
    with sqlite3.connect(file) as other:
        other.execute("CREATE TABLE theirs (x)")
    other.close()
    assert "die Datenbank eines anderen Programms" in seat.get("/quotes").text


def test_a_register_that_another_program_has_locked_is_said_to_be(
    seat: TestClient, file: Path
) -> None:
    assert seat.get("/quotes").status_code == 200
    other = sqlite3.connect(file, isolation_level=None)
    other.execute("PRAGMA locking_mode = EXCLUSIVE")
    other.execute("PRAGMA journal_mode = DELETE")
    other.execute("BEGIN EXCLUSIVE")
    try:
        assert "ein anderes Programm hält es seit mehr als 1 s gesperrt" in seat.get("/quotes").text
    finally:
        other.close()
