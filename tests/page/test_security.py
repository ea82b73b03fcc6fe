"""Who may ask what: sellers with passwords, markup shown as text, and the shop's costs."""

from __future__ import annotations

import datetime as dt
import html
import re
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from attrs import evolve
from click.testing import CliRunner
from starlette.testclient import TestClient

from configurator import Shop
from configurator.cli import cli
from configurator.web.app import counter_app
from configurator.web.counter import Counter
from configurator.web.guard import Seats
from configurator.web.sellers import Sellers, read_sellers, write_sellers
from tests.support.counter import Here
from tests.support.programs import opened
from tests.support.served import served

DAY = dt.date(2026, 8, 3)
OWN = {"sec-fetch-site": "same-origin"}
RIGHT = {"name": "Ann", "password": "wattle and saltbush"}


@pytest.fixture(scope="module")
def shop() -> Shop:
    return opened()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "sellers.json"
    write_sellers(path, Sellers().with_seller(RIGHT["name"], RIGHT["password"]))
    return path


@pytest.fixture
def seat(shop: Shop, tmp_path: Path, file: Path) -> Iterator[TestClient]:
    """A browser on another machine."""
    counter = Counter(shop, lambda: shop.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    app = counter_app(Here(counter), ["testserver"], Seats(file))
    with TestClient(app, headers=OWN, follow_redirects=True) as client:
        yield client


def test_nobody_gets_past_the_door_without_a_password(seat: TestClient) -> None:
    for path in ("/", "/package", "/quotes", "/quotes/Q-1", "/results", "/quotes/Q-1/paper/1"):
        answer = seat.get(path)
        assert (answer.status_code, "Password" in answer.text) == (401, True), path
    for path in ("/package", "/open", "/paper/quote", "/issue", "/quotes/Q-1/accept"):
        answer = seat.post(path, data={"seller": "Ann", "state": ""})
        assert answer.status_code == 401, path
        assert "sign-in" in answer.text
    wrong = seat.post("/sign-in", data={**RIGHT, "password": "wattle and bluebush"})
    assert "do not match" in wrong.text
    assert seat.get("/").status_code == 401


def test_whoever_has_signed_in_sells_under_that_name_only(seat: TestClient, file: Path) -> None:
    page = seat.post("/sign-in", data=RIGHT).text
    assert "Start with the vehicle" in page
    assert "Sign out: Ann" in html.unescape(page)
    found = re.search(r'value="([^"]+)">\s*<button name="tap" value="">Trade', page)
    assert found is not None
    sent = {"state": found.group(1), "seller": "Bea", "customer": "Jorun Hallam"}
    issued = seat.post("/issue", data=sent)
    assert re.search(r"<td[^>]*>Ann</td>", issued.text)
    assert "Bea" not in issued.text
    write_sellers(file, read_sellers(file).with_seller("Ann", "another one altogether"))
    assert seat.get("/").status_code == 401


def test_signing_out_ends_it(seat: TestClient) -> None:
    seat.post("/sign-in", data=RIGHT)
    assert seat.get("/").status_code == 200
    seat.post("/sign-out", data={})
    assert seat.get("/").status_code == 401


def test_signed_names_cannot_be_made_or_kept_for_ever(file: Path) -> None:
    sellers = read_sellers(file)
    signed = sellers.signed("Ann", 1_000_000.0)
    assert sellers.seller(signed, 1_000_100.0) == "Ann"
    assert sellers.seller(signed, 1_000_000.0 + 13 * 3600) == ""
    name, until, signature = signed.split(".")
    for forged in (
        f"{name}.{int(until) + 9}.{signature}",
        f"{name}.{until}.{signature[:-1]}x",
        f"QmVh.{until}.{signature}",
        "",
        "...",
        "é.1.x",
    ):
        assert sellers.seller(forged, 1_000_100.0) == "", forged
    assert evolve(sellers, key="00" * 32).seller(signed, 1_000_100.0) == ""


def test_passwords_are_kept_as_scrypt_and_for_nobody_else(file: Path) -> None:
    kept = file.read_text("utf-8")
    assert RIGHT["password"] not in kept
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    other = Sellers().with_seller("Ann", RIGHT["password"])
    assert other.passwords != read_sellers(file).passwords


def test_the_command_names_sellers_and_refuses_bad_passwords(tmp_path: Path) -> None:
    run = CliRunner().invoke
    options = ["--sellers", str(tmp_path / "sellers.json")]
    word = "saltbush and wattle"
    done = run(cli, ["sellers", "Ann", *options], input=f"{word}\n{word}\n")
    assert done.output.splitlines()[-1] == "Ann may sign in"
    assert word not in done.output
    assert run(cli, ["sellers", *options]).output == "Ann\n"
    assert read_sellers(tmp_path / "sellers.json").knows("Ann", word)
    short = run(cli, ["sellers", "Bea", *options], input="short\nshort\n")
    assert "10 to 200 letters" in str(short.exception)
    assert run(cli, ["sellers", "Ann", "--remove", *options]).exit_code == 0
    assert run(cli, ["sellers", *options]).output == ""


def test_other_machines_are_answered_only_with_sellers(tmp_path: Path) -> None:
    command = ["serve", "--sellers", str(tmp_path / "none.json"), "--port", "0"]
    for outside in (["--host", "192.0.2.7"], ["--host", "0.0.0.0"], ["--name", "shop.example"]):
        refused = CliRunner().invoke(cli, [*command, *outside])
        assert refused.exit_code == 2
        assert "give each seller a password first" in refused.output


def test_behind_a_proxy_cookies_are_secure(tmp_path: Path, file: Path) -> None:
    """A proxy on this machine says in X-Forwarded-Proto how the browser asked."""
    options = ("--sellers", str(file), "--name", "counter.example")
    with served(tmp_path, *options) as server, server.client() as client:
        assert "proxy that has a certificate" in server.log.read_text()
        proxied = {"host": "counter.example", "x-forwarded-proto": "https"}
        for headers, secure in ((proxied, True), ({"host": "counter.example"}, False)):
            assert client.get("/", headers=headers).status_code == 401
            answer = client.post("/sign-in", data=RIGHT, headers=headers)
            cookie = answer.headers["set-cookie"]
            assert ("Secure" in cookie, "HttpOnly" in cookie) == (secure, True)
            assert "samesite=strict" in cookie.lower()
        foreign = client.get("/", headers={"host": "elsewhere.example"})
        assert foreign.status_code == 400


def every_page(client: TestClient) -> Iterator[tuple[str, str]]:
    """What a seller's seat is sent: every kind of answer, of each ready package."""
    start = client.get("/").text
    yield "/", start
    for state in re.findall(r'name="state" value="([^"]+)"', start):
        page = client.post("/package", data={"state": state, "tap": ""}).text
        yield "package", page
        for look in re.findall(r'value="(look:[^"]+)"', page):
            data = {"state": state, "tap": look}
            yield look, client.post("/package", data=data).text
        stream = {"hx-request": "true"}
        yield "step", client.post("/package", data={"state": state, "tap": ""}, headers=stream).text
        yield "file", client.post("/paper/selection", data={"state": state}).text
    yield "problem", client.post("/package", data={"state": state, "tap": "pick:a:b"}).text


def test_nothing_that_the_shop_pays_or_to_whom_reaches_a_seat(shop: Shop, tmp_path: Path) -> None:
    """Every cost and every supplier is a word that stands nowhere else."""
    trade = [
        evolve(one, supplier=f"Sentinelsupplier{n}", supplier_code=f"SENTINEL-{n}")
        for n, one in enumerate(shop.catalogue.trade)
    ]
    assert trade
    told = Shop(evolve(shop.catalogue, trade=tuple(trade)))
    counter = Counter(told, lambda: told.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=OWN) as client:
        pages = 0
        for name, text in every_page(client):
            pages += 1
            assert "sentinel" not in text.lower(), name
    assert pages > 20


def test_markup_in_names_is_shown_as_text(seat: TestClient) -> None:
    page = seat.post("/sign-in", data=RIGHT).text
    found = re.search(r'name="state" value="([^"]+)"', page)
    assert found is not None
    evil = '"><script>alert(1)</script><img src=x onerror=alert(1)>'
    data = {"state": found.group(1), "tap": "", "customer": evil, "title": evil, "vehicle": evil}
    for headers in ({}, {"hx-request": "true"}):
        text = seat.post("/package", data=data, headers=headers).text
        assert "<script>alert" not in text
        assert "<img" not in text
        assert "&lt;script&gt;" in text
    for path in ("/quotes", "/quotes/x"):
        assert "<script>a" not in seat.get(path, params={"words": evil, "language": evil}).text


@pytest.mark.parametrize("typed", ["12-V-Schrank, 30 kg", "30-t-x 2-Ah-y 5 % 4-KQ-z"])
def test_fields_hold_what_was_typed_and_not_how_a_paper_would_set_it(
    seat: TestClient, typed: str
) -> None:
    page = seat.post("/sign-in", data=RIGHT).text
    found = re.search(r'name="state" value="([^"]+)"', page)
    assert found is not None
    data = {"state": found.group(1), "tap": "", "customer": typed, "title": typed}
    shown = seat.post("/package", data=data).text
    for name in ("customer", "title"):
        assert f'name="{name}" value="{typed}"' in shown
    assert "<" not in "".join(re.findall(r'="([^"]*)"', shown))


def test_every_answer_says_how_it_may_be_used(seat: TestClient) -> None:
    for path in ("/sign-in", "/static/counter.js", "/favicon.ico"):
        headers = seat.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    policy = seat.get("/sign-in").headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "script-src 'self';" in policy
