"""The page's server asked by other programs: its documents, and every answer the library's own."""

from __future__ import annotations

import inspect
import json
import random
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from openapi_spec_validator import OpenAPIV31SpecValidator
from starlette.testclient import TestClient

from configurator import (
    Adjustment,
    Build,
    FreeLine,
    Override,
    Pick,
    QuoteRefused,
    Selection,
    Shop,
    TradeIn,
    to_json,
)
from configurator.answers.data import selection_file_data
from configurator.render.html import paper_html
from configurator.render.writing import paper_pdf
from configurator.report.price import PriceAnswer
from configurator.web.methods import CHANGES, LEFT_OUT, NAMES, QUESTIONS, asked, body_schema
from tests.support.commands import Run
from tests.support.programs import (
    DAY,
    DOCUMENTS,
    Promised,
    ask,
    program,
    promised,
    selection as shipped,
)

CHOSEN = ("touring", "wish")


QUESTIONED: dict[str, dict[str, Any]] = {
    "check": {"hints": True},
    "price": {},
    "options": {"choices": ["canopy-height", "finish"]},
    "explain": {"choice": "upright-fridge", "option": "upright-170"},
    "fixes": {"count": 1, "keep": ["vehicle"]},
    "complete": {},
    "within": {"budget": 60000, "wishes": ["solar=panel-200", {"pick": "finish=powder-doors"}]},
    "layout": {"more": True},
    "mass": {},
    "power": {},
    "budget": {"savings": False},
    "compare": {"others": [shipped("contractor")]},
    "quote": {"number": "Q-2041"},
    "sheets": {"number": "Q-2041", "sheet": "job"},
    "selection": {},
}
"""A question of each name that there is."""


def test_every_method_of_a_build_is_asked_for_or_left_out_for_a_reason() -> None:
    methods = {
        name
        for name, _ in inspect.getmembers(Build, inspect.isfunction)
        if not name.startswith("_")
    }
    assert methods == {*QUESTIONS, *CHANGES, *LEFT_OUT}
    assert len(methods) == len(QUESTIONS) + len(CHANGES) + len(LEFT_OUT)
    assert all(LEFT_OUT.values())
    assert {*QUESTIONED} == {*QUESTIONS, "selection"}


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_takes_what_its_method_takes(name: str) -> None:
    question, given = asked(name)
    taken = {*inspect.signature(getattr(Build, name)).parameters} - {"self", "day"}
    assert {one.name for one in given} == taken - {*question.without}
    keys = [one.key for one in given]
    others = {*body_schema(name)["properties"]} - {*keys}
    assert not {*keys} & {*question.besides, "selection", "changes", "day", "as", "page"}
    assert others >= {"selection", "changes", "day"}
    assert all(one.schema["description"] for one in given)


def test_the_document_is_of_openapi_and_each_reference_leads_somewhere(
    client: TestClient, promises: Promised, tmp_path: Path
) -> None:
    """Held to the schema of OpenAPI 3.1.0 published by the OpenAPI Initiative."""
    for name in DOCUMENTS:
        (tmp_path / name).write_bytes(client.get(f"/api/v1/{name}").content)
    base = (tmp_path / "openapi.json").as_uri()
    OpenAPIV31SpecValidator(promises.document, base_uri=base).validate()
    resolver = promises.registry.resolver("http://testserver/api/v1/openapi.json")
    found = {*re.findall(r'"\$ref": "([^"]+)"', json.dumps(promises.document))}
    assert len(found) > 30
    for reference in found:
        assert resolver.lookup(reference).contents
    addresses = {path.removeprefix("/api/v1/") for path in promises.document["paths"]}
    assert addresses == {*NAMES, *DOCUMENTS}
    schemas = Path(__file__).parents[2] / "configurator" / "schemas"
    for name in DOCUMENTS[1:]:
        assert (tmp_path / name).read_bytes() == (schemas / name).read_bytes()


@pytest.mark.parametrize("chosen", CHOSEN)
def test_every_answer_has_the_shape_that_the_document_promises(
    client: TestClient, promises: Promised, chosen: str
) -> None:
    for name, given in QUESTIONED.items():
        response = ask(client, name, selection=shipped(chosen), **given)
        refused = chosen == "wish" and name in ("quote", "sheets")
        assert response.status_code == (422 if refused else 200), response.text
        answer = promises.keeps(name, response)
        if refused:
            assert answer["code"] == "refused"
            assert answer["findings"][0]["numbers"]
            assert answer["stops"] == [one["sentence"] for one in answer["findings"]]
    response = client.get("/api/v1/catalogue")
    assert response.json()["answer"] == "choices"


COMMANDS = {
    "check": ("check", "touring.yaml"),
    "price": ("price", "touring.yaml"),
    "options": ("options", "touring.yaml", "--choice", "canopy-height", "--choice", "finish"),
    "explain": ("explain", "touring.yaml", "upright-fridge=upright-170"),
    "fixes": ("fixes", "touring.yaml", "--count", "1", "--keep", "vehicle"),
    "complete": ("complete", "touring.yaml"),
    "within": (
        *("within", "touring.yaml", "--budget", "60000"),
        *("--wish", "solar=panel-200", "--wish", "finish=powder-doors"),
    ),
    "layout": ("layout", "touring.yaml", "--more"),
    "mass": ("mass", "touring.yaml"),
    "power": ("power", "touring.yaml"),
    "budget": ("budget", "touring.yaml", "--no-savings"),
    "compare": ("compare", "touring.yaml", "contractor.yaml"),
    "quote": ("quote", "touring.yaml", "--number", "Q-2041"),
}
"""The command that says the same."""


@pytest.mark.parametrize("name", COMMANDS)
def test_an_answer_is_what_the_command_says_byte_for_byte(
    client: TestClient, run: Run, name: str
) -> None:
    response = ask(client, name, selection=shipped("touring"), **QUESTIONED[name])
    assert response.text == run(*COMMANDS[name], "--json").out


def test_sheets_are_what_the_command_writes(client: TestClient, run: Run) -> None:
    run("sheets", "touring.yaml", "-o", "sheets", "--as", "json", "--number", "J-1")
    for sheet in ("job", "wiring", "cuts"):
        given = {"number": "J-1", "sheet": sheet}
        response = ask(client, "sheets", selection=shipped("touring"), **given)
        assert response.text == Path(f"sheets/{sheet}.json").read_text("utf-8")


def random_build(shop: Shop, chance: random.Random) -> Build:
    """Some options of some choices, whether they go together or not."""
    build = shop.build().change(title="Seeded", travel=shop.build().selection.travel)
    for choice in shop.catalogue.by_id.values():
        if choice.id == "vehicle" or chance.random() < 0.6:
            option = chance.choice(choice.options)
            build = build.pick(choice.id, option.id, 1)
    return build


@pytest.mark.parametrize("seed", range(12))
def test_answers_to_seeded_selections_are_the_library_s(
    shop: Shop, client: TestClient, seed: int
) -> None:
    chance = random.Random(seed)
    build = random_build(shop, chance)
    chosen = json.loads(to_json(selection_file_data(build.selection)))
    names = [*shop.catalogue.by_id]
    choices = chance.sample(names, 2)
    wanted: dict[str, Callable[[], Any]] = {
        "check": build.check,
        "price": lambda: PriceAnswer(build.price(), build.suggestions()),
        "mass": build.mass,
        "power": build.power,
        "options": lambda: build.options(*choices, effort="quick"),
        "quote": lambda: build.quote("Q-9", DAY),
    }
    given: dict[str, Any] = {
        "options": {"choices": choices, "effort": "quick"},
        "quote": {"number": "Q-9"},
    }
    for name, answer in wanted.items():
        response = ask(client, name, selection=chosen, **given.get(name, {}))
        stops = stopped(answer) if name == "quote" else None
        if stops is None:
            assert response.text == to_json(answer()), name
        else:
            assert response.status_code == 422
            assert response.json()["stops"] == stops


def stopped(ask_for: Callable[[], object]) -> list[str] | None:
    """What stops a quote; None where nothing does."""
    try:
        ask_for()
    except QuoteRefused as refused:
        return [*refused.sentences]
    return None


def test_every_change_is_the_method_s(shop: Shop, client: TestClient) -> None:
    line = {"title": "Mirrors", "price": 180, "mass": 3}
    off = {"title": "Show price", "reason": "Show.", "amount": -5}
    old = {"title": "Old tray", "reason": "Worn.", "amount": 600}
    plated = {"subject": "gvm", "name": "Ida", "reason": "Plated higher."}
    fridge = "upright-fridge"
    changes: list[dict[str, Any]] = [
        {"pick": {"choice": "canopy-height", "option": "1000mm"}},
        {"pick": {"choice": "solar", "option": "panel-200", "quantity": 2}},
        {"place": {"choice": fridge, "side": "left", "towards": "front"}},
        {"travel": {"people": 4, "tow-ball": 150, "season": "winter", "driving": 1.5}},
        {"for-customer": {"name": "Ida Moorwell"}},
        {"add": {"line": line, "quantity": 2}},
        {"adjust": {"adjustment": off}},
        {"trade-in": {"trade-in": old}},
        {"override": {"override": plated}},
        {"drop": {"choice": "lights"}},
        {"without": {"choice": "oven"}},
        {"tidied": {}},
    ]
    assert {key.replace("-", "_") for one in changes for key in one} == {*CHANGES}
    build = shop.build(shipped("wish")).pick("lights", "flood-rear")
    changes.insert(0, {"pick": {"choice": "lights", "option": "flood-rear"}})
    build = (
        build.pick("canopy-height", "1000mm")
        .pick("solar", "panel-200", 2)
        .place(fridge, side="left", towards="front")
        .travel(people=4, tow_ball=Decimal(150), season="winter", driving=Decimal("1.5"))
        .for_customer("Ida Moorwell")
        .add(FreeLine("1", "Mirrors", Decimal(180), Decimal(3)), 2)
        .adjust(Adjustment("Show price", "Show.", amount=Decimal(-5)))
        .trade_in(TradeIn("Old tray", "Worn.", Decimal(600)))
        .override(Override("gvm", "Ida", "Plated higher."))
        .drop("lights")
        .without("oven")
        .tidied()
    )
    response = ask(client, "selection", selection=shipped("wish"), changes=changes)
    assert response.text == to_json(selection_file_data(build.selection))
    priced = ask(client, "price", selection=shipped("wish"), changes=changes)
    assert priced.text == to_json(PriceAnswer(build.price(), build.suggestions()))
    assert ask(client, "price", selection=response.json()).text == priced.text


def test_figures_keep_every_digit(client: TestClient) -> None:
    figures = ["0.10", "1234567.89", "100000000", "0.000001", "33.333333", "2", "1e2", "7.50"]
    for figure in figures:
        line = f'{{"title": "Line", "price": {figure}, "per": 100, "mass": 0.001}}'
        body = f'{{"changes": [{{"add": {{"line": {line}, "quantity": 3.25}}}}]}}'
        response = client.post(
            "/api/v1/selection", content=body, headers={"content-type": "application/json"}
        )
        assert response.status_code == 200, response.text
        (told,) = json.loads(response.text, parse_float=Decimal)["free-lines"]
        assert (told["price"], told["mass"]) == (Decimal(figure), Decimal("0.001"))
        assert told["quantity"] == Decimal("3.25")


def test_papers_and_pictures_are_the_library_s(shop: Shop, client: TestClient) -> None:
    build = shop.build(shipped("contractor"))
    quote = build.quote("Q-2041", DAY)
    given = {"selection": shipped("contractor"), "number": "Q-2041"}
    pdf = ask(client, "quote", **given, **{"as": "pdf"})
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content == paper_pdf(quote)
    page = ask(client, "quote", **given, **{"as": "html"})
    assert page.text == paper_html(quote)
    assert "default-src 'none'" in page.headers["content-security-policy"]
    german = ask(client, "quote", **given, **{"as": "html", "language": "de", "page": "Letter"})
    assert "Angebot" in german.text
    for name, kind, start in (
        ("quote", "xml", "<?xml"),
        ("quote", "ics", "BEGIN:VCALENDAR"),
        ("mass", "svg", "<svg"),
        ("power", "svg", "<svg"),
        ("layout", "svg", "<svg"),
        ("compare", "html", "<!DOCTYPE html>"),
        ("budget", "html", "<!DOCTYPE html>"),
        ("sheets", "dxf", "  0\nSECTION"),
    ):
        more = {**QUESTIONED[name], "as": kind} | ({"sheet": "cuts"} if kind == "dxf" else {})
        response = ask(client, name, selection=shipped("contractor"), **more)
        assert response.status_code == 200, response.text
        assert response.text.startswith(start), name


def test_a_quote_is_issued_into_the_register(shop: Shop, tmp_path: Path) -> None:
    with program(shop, tmp_path) as client:
        keeps = promised(client)
        given = {"selection": shipped("contractor"), "seller": "Ann"}
        issued = ask(client, "issue", **given)
        assert issued.status_code == 201
        number = keeps.keeps("issue", issued)["number"]
        again = ask(client, "issue", **given, number=number, reason="as agreed")
        assert again.json()["number"] == number
        unknown = ask(client, "issue", **given, number="Q-99", reason="as agreed")
        assert keeps.keeps("issue", unknown)["code"] == "register"
        assert unknown.status_code == 409
        nobody = ask(client, "issue", selection=shipped("contractor"))
        assert (nobody.status_code, nobody.json()["code"]) == (422, "not-possible")
        refused = ask(client, "issue", selection=shipped("wish"), seller="Ann")
        assert (refused.status_code, refused.json()["code"]) == (422, "refused")
        with shop.register(str(tmp_path / "r.sqlite")) as register:
            assert [one.number for one in register.list().quotes] == [number]
            assert issued.text == to_json(dict(register.open(number, 1).answer))
            assert register.open(number, 1).pdf.startswith(b"%PDF")
        other = ask(client, "quote", selection=shipped("touring"), number=number)
        assert (other.status_code, keeps.keeps("quote", other)["code"]) == (409, "register")
        assert other.json()["detail"].startswith(f"{number} is the number of another quote")
        free = ask(client, "quote", selection=shipped("touring"), number="Q-2041")
        assert free.json()["number"] == "Q-2041"
        with shop.register(str(tmp_path / "r.sqlite")) as register:
            assert len(register.show(number).revisions) == 2


def test_a_quote_is_issued_once_however_often_it_is_asked_for(shop: Shop, tmp_path: Path) -> None:
    """Under an Idempotency-Key: draft-ietf-httpapi-idempotency-key-header, from memory."""
    with program(shop, tmp_path) as client:
        keeps = promised(client)

        def issue(key: str, **given: Any) -> Any:
            body = {"selection": shipped("contractor"), "seller": "Ann"} | given
            return client.post("/api/v1/issue", json=body, headers={"idempotency-key": key})

        first = issue('"one"')
        assert first.status_code == 201
        assert (issue("one").status_code, issue("one").text) == (201, first.text)
        assert issue("two").json()["number"] != first.json()["number"]
        assert issue("one", seller="Bea").json()["number"] not in (first.json()["number"], "Q-2")
        other = issue("one", selection=shipped("touring"))
        assert (other.status_code, keeps.keeps("issue", other)["code"]) == (409, "register")
        assert issue("x" * 201).status_code == 400
        found = client.get("/api/v1/quotes")
        keeps.at(
            "/paths/~1api~1v1~1quotes/get/responses/200/content/application~1json/schema"
        ).validate(found.json())
        assert [one["number"] for one in found.json()["quotes"]] == ["Q-3", "Q-2", "Q-1"]
        assert [
            one["seller"] for one in client.get("/api/v1/quotes?words=bea").json()["quotes"]
        ] == ["Bea"]
        assert client.get("/api/v1/quotes?status=accepted").json()["quotes"] == []
        for wrong in ("status=sold", "lapses=soon", "name=Ann"):
            refused = client.get(f"/api/v1/quotes?{wrong}")
            assert (refused.status_code, refused.json()["code"]) == (422, "not-possible"), wrong


def test_a_revision_for_another_customer_with_the_same_telephone_is_asked_about(
    shop: Shop, tmp_path: Path
) -> None:
    with program(shop, tmp_path) as client:
        keeps = promised(client)
        told = {"name": "Jorun Hallam", "phone": "(08) 5550 0142"}
        given = {"selection": shipped("contractor") | {"customer": told}, "seller": "Ann"}
        number = ask(client, "issue", **given).json()["number"]
        given["selection"] |= {"customer": told | {"name": "Runa Castellane"}}
        more = {"number": number, "reason": "as agreed"}
        refused = ask(client, "issue", **given, **more)
        assert refused.status_code == 409
        assert keeps.keeps("issue", refused)["code"] == "contact"
        assert "still those of Jorun Hallam" in refused.json()["detail"]
        assert ask(client, "issue", **given, **more, **{"same-contact": True}).status_code == 201


def test_nothing_that_the_shop_pays_or_to_whom_reaches_a_program(
    shop: Shop, tmp_path: Path
) -> None:
    """Every supplier and every code is a word that stands nowhere else; no cost is answered."""
    trade = [
        evolve(one, supplier=f"Sentinelsupplier{n}", supplier_code=f"SENTINEL-{n}")
        for n, one in enumerate(shop.catalogue.trade)
    ]
    assert trade
    told = Shop(evolve(shop.catalogue, trade=tuple(trade)))
    asked_of = 0
    with program(told, tmp_path) as client:
        texts = [client.get(f"/api/v1/{name}").text for name in ("catalogue", *DOCUMENTS)]
        for name, given in QUESTIONED.items():
            question, _ = asked(name)
            for kind in question.kinds:
                if kind in ("pdf", "dxf"):
                    continue  # made of what html and json say
                more = {"as": kind} if len(question.kinds) > 1 else {}
                sheets = ("job", "wiring", "cuts") if name == "sheets" else ("",)
                for sheet in sheets:
                    wanted = given | ({"sheet": sheet} if sheet else {})
                    response = ask(client, name, selection=shipped("contractor"), **wanted, **more)
                    assert response.status_code == 200, response.text
                    texts.append(response.text)
                    if kind == "json":
                        assert "cost" not in keys_of(response.json()), name
                    asked_of += 1
        for text in texts:
            assert "sentinel" not in text.lower()
        for name, given in (("sheets", {"cost": True}), ("margin", {})):
            wanted = {**QUESTIONED.get(name, {}), **given}
            response = ask(client, name, selection=shipped("contractor"), **wanted)
            assert response.status_code in (400, 404)
    assert asked_of > 25


def keys_of(value: Any) -> set[str]:
    """Every key in an answer."""
    if isinstance(value, dict):
        return {*value}.union(*map(keys_of, value.values()))
    return set[str]().union(*map(keys_of, value)) if isinstance(value, list) else set()


def test_the_prices_of_another_day_are_asked_for_with_it(shop: Shop, client: TestClient) -> None:
    """The catalogue has prices from another day on."""
    last = shop.catalogue.valid.until
    response = ask(client, "price", selection=shipped("touring"), day=last)
    assert response.json()["day"] == last
    quoted = ask(client, "quote", selection=shipped("contractor"), number="Q-1", day=last)
    assert quoted.json()["date"] == last
    past = ask(client, "price", selection=shipped("touring"), day="2001-01-01")
    assert past.status_code == 422
    assert past.json()["problems"][0]["pointer"] == "/day"


def test_nothing_has_to_be_picked_to_begin(shop: Shop, client: TestClient) -> None:
    begun = ask(client, "selection").json()
    assert begun == {"format": 1, "catalogue": shop.catalogue.id, "picks": {}}
    picked = ask(
        client,
        "selection",
        selection=begun,
        changes=[{"pick": {"choice": "vehicle", "option": "mid-dual"}}],
    )
    assert picked.json()["picks"] == {"vehicle": "mid-dual"}
    chosen = Selection(shop.catalogue.id, (Pick("vehicle", "mid-dual"),))
    answer = shop.build(chosen).complete()
    assert ask(client, "complete", selection=picked.json()).text == to_json(answer)
