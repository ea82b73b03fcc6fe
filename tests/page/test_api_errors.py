"""What other programs are refused: always one JSON object that says what, where and why."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import AsyncGenerator, Iterator
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from starlette.testclient import TestClient

from configurator import MissingLibrary, SearchLimit, Shop
from configurator.engine import ways_out
from configurator.report import budget
from configurator.web.guard import Seats
from configurator.web.messages import Answer, PageRequest
from configurator.web.methods import QUESTIONS, asked
from configurator.web.sellers import Sellers, write_sellers
from tests.support.counter import Here
from tests.support.programs import Promised, ask, program, selection as shipped, sent

CHANGE = '{"changes": [%s]}'
LINE = '{"add": {"line": {"title": "Box", "price": %s, "mass": 1}}}'


UNREAD: list[tuple[str, bytes | str, str | None, str]] = [
    ("empty", b"", "", "not JSON"),
    ("cut off", '{"day": "2026', "", "Unterminated string at line 1, column 9"),
    ("a comma too many", '{"day": "2026-08-03",}', "", "not JSON"),
    ("YAML", "day: 2026-08-03", "", "not JSON"),
    ("a list", "[]", "", "no object"),
    ("null", "null", "", "no object"),
    ("a number", "7", "", "no object"),
    ("NaN", CHANGE % (LINE % "NaN"), "/changes/0/add/line/price", "NaN is no number"),
    ("infinite", CHANGE % (LINE % "-Infinity"), "/changes/0/add/line/price", "no number"),
    ("huge", CHANGE % (LINE % "1e999999999"), "/changes/0/add/line/price", "no number"),
    ("tiny", CHANGE % (LINE % "1e-999999999"), "/changes/0/add/line/price", "no number"),
    ("long", CHANGE % (LINE % ("9" * 9_000)), "/changes/0/add/line/price", "no number"),
    ("fine", CHANGE % (LINE % ("0." + "1" * 9_000)), "/changes/0/add/line/price", "no number"),
    ("twice", '{"day": "2026-08-03", "day": "2026-08-04"}', "/day", "twice"),
    ("twice inside", '{"selection": {"picks": {"a/b": 1, "a/b": 2}}}',
     "/selection/picks/a~1b", "twice"),
    ("deep", '{"selection": ' + "[" * 200_000 + "]" * 200_000 + "}", "", "40 deep"),
    ("deep objects", '{"a":' * 100 + "1" + "}" * 100, None, "40 deep"),
    ("half a pair", r'{"selection": {"title": "\ud800"}}', "/selection/title", "half of a pair"),
    ("half a key", r'{"\udfff": 1}', "/?", "half of a pair"),
    ("not UTF-8", b'{"day": "\xff"}', "", "not UTF-8"),
    ("UTF-16", '{"day": "2026-08-03"}'.encode("utf-16"), "", "not UTF-8"),
    ("a mark first", b"\xef\xbb\xbf{}", "", "not JSON"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "pointer", "words"), [one[1:] for one in UNREAD],
                         ids=[one[0] for one in UNREAD])  # fmt: skip
def test_what_is_no_json_is_refused_with_its_place(
    client: TestClient, promises: Promised, body: bytes | str, pointer: str | None, words: str
) -> None:
    response = sent(client, "price", body)
    assert response.status_code == 400
    answer = promises.keeps("price", response)
    assert answer["code"] == "not-json"
    assert words in answer["detail"]
    (problem,) = answer["problems"]
    assert pointer is None or problem["pointer"] == pointer
    assert "\n" not in answer["detail"]


SHIPPED = shipped("wish")
WRONG: list[tuple[str, dict[str, Any], int, str, str]] = [
    ("check", {"selektion": {}}, 400, "/selektion", "unknown-key"),
    ("check", {"selection": {**SHIPPED, "pickz": 1}}, 400, "/selection/pickz", "unknown-key"),
    ("check", {"selection": {"picks": {}}}, 400, "/selection", "missing-key"),
    ("check", {"selection": []}, 400, "/selection", "wrong-type"),
    ("check", {"selection": None}, 400, "/selection", "wrong-type"),
    ("check", {"selection": {**SHIPPED, "title": "a\u0000b"}}, 400, "/selection/title",
     "invisible-character"),
    ("check", {"selection": {**SHIPPED, "title": "x" * 900}}, 400, "/selection/title", "too-long"),
    ("check", {"day": "3 August"}, 400, "/day", "bad-date"),
    ("check", {"day": "2026-02-30"}, 400, "/day", "bad-date"),
    ("check", {"changes": [{}]}, 400, "/changes/0", "empty"),
    ("check", {"changes": [{"drop": {"choice": "oven"}, "tidied": {}}]}, 400, "/changes/0",
     "several-changes"),
    ("check", {"changes": [{"tidied": {}}, {"margin": {}}]}, 400, "/changes/1/margin",
     "unknown-key"),
    ("check", {"changes": [{"pick": {"choice": "oven"}}]}, 400, "/changes/0/pick", "missing-key"),
    ("check", {"changes": [{"place": {"choice": "x", "side": "up"}}]}, 400,
     "/changes/0/place/side", "unknown-word"),
    ("fixes", {"count": 21}, 400, "/count", "out-of-range"),
    ("check", {"selection": {**SHIPPED, "title": 7}}, 400, "/selection/title", "wrong-type"),
    ("explain", {"choice": True}, 400, "/choice", "wrong-type"),
    ("fixes", {"count": "3"}, 400, "/count", "wrong-type"),
    ("options", {"choices": ["x"] * 1001}, 400, "/choices", "too-many-entries"),
    ("within", {}, 400, "", "missing-key"),
    ("within", {"budget": 1, "wishes": [{"quantity": 2}]}, 400, "/wishes/0", "missing-key"),
    ("quote", {"number": "Q-1", "as": "docx"}, 400, "/as", "unknown-word"),
    ("check", {"selection": {**SHIPPED, "catalogue": "other"}}, 422, "/selection/catalogue",
     "other-catalogue"),
    ("price", {"selection": {**SHIPPED, "picks": {"vehicle": "nothing"}}}, 422,
     "/selection/picks/vehicle", "unknown-option"),
    ("check", {"changes": [{"pick": {"choice": "x", "option": "y"}}]}, 422, "/changes/0/pick",
     "unknown-choice"),
    ("check", {"selection": SHIPPED, "changes": [{"drop": {"choice": "x"}}]}, 422,
     "/changes/0/drop", "not-picked"),
    ("fixes", {"selection": SHIPPED, "keep": ["x"]}, 422, "/keep/0", "unknown-choice"),
    ("fixes", {"selection": SHIPPED, "keep": ["finish", "vehicle=nope"]}, 422, "/keep/1",
     "unknown-option"),
    ("budget", {"selection": SHIPPED, "budget": {"keep": ["vehicle=nope"]}}, 422,
     "/budget", "unknown-option"),
    ("within", {"selection": SHIPPED, "budget": 1, "wishes": ["x=y"]}, 422, "/wishes/0",
     "unknown-choice"),
    ("compare", {"selection": SHIPPED, "others": [SHIPPED, {**SHIPPED, "none": ["x"]}]}, 422,
     "/others/1/none", "unknown-choice"),
    ("price", {"day": "2001-01-01"}, 422, "/day", "day-without-prices"),
]  # fmt: skip


@pytest.mark.parametrize(("question", "body", "status", "pointer", "code"), WRONG)
def test_what_is_wrong_is_said_with_a_pointer(
    client: TestClient,
    promises: Promised,
    question: str,
    body: dict[str, Any],
    status: int,
    pointer: str,
    code: str,
) -> None:
    response = ask(client, question, **body)
    assert response.status_code == status, response.text
    found = [
        (one["pointer"], one["code"]) for one in promises.keeps(question, response)["problems"]
    ]
    assert (pointer, code) in found


@pytest.mark.parametrize(
    ("body", "code", "hint"),
    [
        ({"selection": {"picks": {}}}, "missing-key", ""),
        ({"selection": []}, "wrong-type", ""),
        ({"selection": {**SHIPPED, "notes": "x"}}, "wrong-type", ""),
        ({"selection": {**SHIPPED, "title": ["x"]}}, "wrong-type", ""),
        ({"fixes": 1}, "unknown-key", "known here: selection, changes, hints, day"),
        ({"selection": {"changes": [], "name": "x"}}, "misplaced", ""),
        (
            {"selection": {**SHIPPED, "catalogue": "other"}},
            "other-catalogue",
            "send a selection of this catalogue, or change the id in it",
        ),
    ],
)
def test_no_hint_is_on_how_yaml_is_written(
    client: TestClient, body: dict[str, Any], code: str, hint: str
) -> None:
    (found,) = ask(client, "check", **body).json()["problems"]
    assert (found["code"], found["hint"]) == (code, hint)


@pytest.mark.parametrize(
    ("question", "body", "sentence", "hint"),
    [
        ("within", {"budget": "24000"}, "", "write 24000 without quotation marks"),
        ("check", {"selection": {**SHIPPED, "budget": 24000}}, "", "write budget: {limit: 24000}"),
        ("explain", {"choice": "kitchen"}, "no option of Kitchen is named", "known: bench-slim"),
    ],
)
def test_what_to_send_instead_is_said(
    client: TestClient, question: str, body: dict[str, Any], sentence: str, hint: str
) -> None:
    (found,) = ask(client, question, **{"selection": SHIPPED, **body}).json()["problems"]
    assert sentence in found["sentence"]
    assert found["hint"].startswith(hint)


IMPOSSIBLE: list[tuple[str, dict[str, Any], str]] = [
    ("mass", {}, "pick a vehicle"),
    ("options", {"choices": ["nothing"]}, "there is no choice"),
    ("compare", {"others": [SHIPPED], "titles": ["one"]}, "a title for each"),
    ("quote", {"selection": SHIPPED, "number": " "}, "number"),
    ("layout", {"selection": SHIPPED, "as": "svg"}, "no layout to draw"),
    ("budget", {"selection": SHIPPED, "as": "html", "language": "xx"}, "xx"),
    ("sheets", {"selection": shipped("contractor"), "number": "J", "sheet": "job", "as": "dxf"},
     "only the sheet cuts"),
]  # fmt: skip


@pytest.mark.parametrize(("question", "body", "words"), IMPOSSIBLE)
def test_what_cannot_be_answered_says_why(
    client: TestClient, promises: Promised, question: str, body: dict[str, Any], words: str
) -> None:
    response = ask(client, question, **body)
    assert response.status_code == 422
    answer = promises.keeps(question, response)
    assert answer["code"] == "not-possible"
    assert words in answer["detail"]


ODD: tuple[str, ...] = (
    "null", "true", "7", "-1", "0.5", "1e30", '""', '"x"', f'"{"y" * 3000}"', '"*a"', '"!!str x"',
    "[]", "[[]]", "[null]", "{}", '{"a": 1}', '{"pick": 7}', f'{{"{"k" * 2000}": 1}}', '"\\u0000"',
)  # fmt: skip
"""Values that may stand where they are not asked for."""


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_wrong_type_for_any_parameter_is_refused_where_it_is(
    client: TestClient, promises: Promised, question: str
) -> None:
    """The document's own schema says which values are wrong."""
    path = f"/paths/~1api~1v1~1{question}/post/requestBody/content/application~1json/schema"
    refused = 0
    for one in asked(question)[1]:
        holds = promises.at(f"{path}/properties/{one.key}")
        for odd in ODD:
            if holds.is_valid(json.loads(odd)):
                continue
            response = sent(client, question, f'{{"{one.key}": {odd}}}')
            answer = promises.keeps(question, response)
            assert response.status_code == 400, (one.key, odd)
            pointers = [problem["pointer"] for problem in answer["problems"]]
            assert any(pointer.startswith(f"/{one.key}") for pointer in pointers) or any(
                problem["code"] == "syntax" for problem in answer["problems"]
            ), (one.key, odd)
            refused += 1
    assert refused >= 8 * len(asked(question)[1])


def test_a_body_that_is_too_large_is_not_read(client: TestClient, promises: Promised) -> None:
    for size, words in ((1_100_000, "1 MB"), (10_000_000, "8 MB")):
        response = sent(client, "price", b'{"day": "' + b"x" * size)
        assert response.status_code == 413
        assert words in promises.keeps("price", response)["detail"]


def test_thousands_of_picks_and_changes_are_answered(client: TestClient) -> None:
    picks = {f"choice-{n}": f"option-{n}" for n in range(2_000)}
    response = ask(client, "check", selection={**SHIPPED, "picks": picks})
    assert response.status_code == 422
    assert len(response.json()["problems"]) == 100
    changes = [{"pick": {"choice": "oven", "option": "oven-small"}}] * 201
    assert ask(client, "check", changes=changes).status_code == 400


def test_addresses_and_ways_of_asking_that_are_not_there(client: TestClient) -> None:
    headers = {"content-type": "application/json"}
    for method, path, status, words in (
        ("POST", "/api/v1/prize", 404, '"price"'),
        ("GET", "/api/v1/prize", 404, '"price"'),
        ("GET", "/api/v2/price", 404, "/api/v2/price"),
        ("GET", "/api/v1/", 404, "openapi.json"),
        ("POST", "/api/v1/margin", 404, "there is no"),
        ("POST", "/api/v1/check/../margin", 404, "there is no"),
        ("GET", "/api/v1/price", 405, "POST"),
        ("PUT", "/api/v1/price", 405, "POST"),
        ("POST", "/api/v1/catalogue", 405, "GET"),
        ("GET", "/api/v1/catalogue?choice=x", 422, "query"),
    ):
        response = client.request(method, path, content=b"{}", headers=headers)
        assert response.headers["content-type"] == "application/problem+json"
        assert (response.status_code, response.json()["status"]) == (status, status), path
        assert words in response.json()["detail"]
    assert client.get("/api/v1/price").headers["allow"] == "POST"
    removing = client.delete("/api/v1/price")
    assert (removing.status_code, removing.headers["allow"]) == (405, "POST")
    assert removing.json()["detail"] == "/api/v1/price is asked with POST, not DELETE"
    assert "there is no page /elsewhere" in client.get("/elsewhere").text


def test_only_json_of_a_known_length_and_no_other_site_is_read(client: TestClient) -> None:
    def pieces() -> Iterator[bytes]:
        yield b"{}"

    told = {"content-type": "application/json"}
    form = {"content-type": "application/x-www-form-urlencoded"}
    for headers, content, status in (
        (form, b"{}", 415),
        ({}, b"{}", 415),
        ({"content-type": "text/json"}, b"{}", 415),
        (told, pieces(), 411),
        ({**told, "origin": "https://elsewhere.example"}, b"{}", 403),
        ({**told, "origin": "http://not-testserver"}, b"{}", 403),
        ({**told, "origin": "http://not.testserver"}, b"{}", 403),
        ({**told, "origin": "http://testserver.example"}, b"{}", 403),
        ({**told, "origin": "http://testserver:8080"}, b"{}", 403),
        ({**told, "origin": "http://testserver@elsewhere.example"}, b"{}", 403),
        ({**told, "origin": "http://[testserver"}, b"{}", 403),
        ({**told, "origin": "null"}, b"{}", 403),
        ({**told, "sec-fetch-site": "cross-site"}, b"{}", 403),
        ({**told, "sec-fetch-site": "same-site"}, b"{}", 403),
        ({**told, "host": "elsewhere.example"}, b"{}", 421),
        ({"content-type": "application/json; charset=utf-8"}, b"{}", 200),
        ({**told, "origin": "http://testserver"}, b"{}", 200),
    ):
        response = client.post("/api/v1/price", content=content, headers=headers)
        assert response.status_code == status, headers
        kind = "application/json" if status == 200 else "application/problem+json"
        assert response.headers["content-type"] == kind
        assert response.headers.get("x-content-type-options") == "nosniff" or status == 421
        assert response.headers["cache-control"] == "no-store"


RIGHT = ("Ann", "wattle and saltbush")


def test_on_another_machine_a_program_signs_in_as_a_seller(shop: Shop, tmp_path: Path) -> None:
    file = tmp_path / "sellers.json"
    write_sellers(file, Sellers().with_seller(*RIGHT))
    with program(shop, tmp_path, Seats(file)) as client:
        for path in ("catalogue", "openapi.json", "answers.schema.json"):
            response = client.get(f"/api/v1/{path}")
            assert response.status_code == 401
            assert response.headers["www-authenticate"].startswith("Basic ")
        assert sent(client, "price", "{}").status_code == 401
        assert sent(client, "issue", "not json").status_code == 401
        for wrong in ("Basic %", "Basic " + b64encode(b"Ann:x").decode(), "Bearer x"):
            refused = client.get("/api/v1/catalogue", headers={"authorization": wrong})
            assert refused.status_code == 401
            assert refused.json()["title"] == "Unauthorized"
        client.auth = RIGHT
        assert client.get("/api/v1/catalogue").status_code == 200
        issued = ask(client, "issue", selection=shipped("contractor"), seller="Bea")
        assert issued.status_code == 201
        with shop.register(str(tmp_path / "r.sqlite")) as register:
            steps = register.show(issued.json()["number"]).trail
        assert {step.seller for step in steps} == {"Ann"}


class Gone(Here):
    """A worker that ends again and again before it has answered."""

    async def ask(
        self, asked: PageRequest, patient: bool, seat: str
    ) -> AsyncGenerator[Answer | bytes, None]:
        lost = evolve(asked, what="lost", path={"what": asked.what})
        async for piece in super().ask(lost, patient, seat):
            yield piece


class Broken(Here):
    """A door with a fault in it."""

    def ask(self, *_: object, **__: object) -> AsyncGenerator[Answer | bytes, None]:
        raise RuntimeError("a fault")


def test_a_lost_answer_and_a_fault_are_said_in_json_too(shop: Shop, tmp_path: Path) -> None:
    with program(shop, tmp_path, here=Gone) as client:
        lost = sent(client, "price", "{}")
        assert (lost.status_code, lost.json()["code"]) == (503, "unavailable")
        assert "look for it" in sent(client, "issue", "{}").json()["detail"]
    with program(shop, tmp_path, here=Broken) as client:
        broken = sent(client, "price", "{}")
        assert (broken.status_code, broken.json()["status"]) == (500, 500)
        assert "fault" not in broken.text


def test_what_is_not_settled_and_what_is_missing_here_say_so(
    client: TestClient, promises: Promised, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_end(*_: object, **__: object) -> None:
        raise SearchLimit("the search stopped without an answer")

    def no_pango(*_: object, **__: object) -> None:
        raise MissingLibrary("Pango is missing: install libpango-1.0-0")

    monkeypatch.setattr(ways_out, "fixes", no_end)
    response = ask(client, "fixes", selection=SHIPPED)
    assert response.status_code == 422
    assert promises.keeps("fixes", response)["code"] == "not-settled"
    monkeypatch.setattr(budget, "budget_paper", no_pango)
    response = ask(client, "budget", selection=SHIPPED)
    assert response.status_code == 503
    assert promises.keeps("budget", response)["code"] == "unavailable"
