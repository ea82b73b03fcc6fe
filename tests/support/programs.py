"""The page's server as another program asks it, with what its documents promise."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import yaml
from attrs import frozen
from jsonschema import Draft202012Validator
from referencing import Registry
from referencing.jsonschema import DRAFT202012
from starlette.testclient import TestClient

from configurator import Shop
from configurator.web.app import counter_app
from configurator.web.counter import Counter
from configurator.web.guard import Seats
from tests.support.counter import Here
from tests.support.paths import ROOT
from tests.support.reading import shop_once

DAY = dt.date(2026, 8, 3)
DOCUMENTS = ("openapi.json", "answers.schema.json", "selection.schema.json")
BASE = "http://testserver/api/v1/"


def opened() -> Shop:
    """The shipped shop, with one engine for all tests in a thread; its builds are known."""
    return shop_once(ROOT / "catalogues" / "quandong.yaml", DAY)


def selection(name: str) -> Any:
    """A shipped selection, as a program holds it."""
    file = ROOT / "catalogues" / "selections" / f"{name}.yaml"
    return yaml.safe_load(file.read_text("utf-8"))


def program(
    shop: Shop, folder: Path, seats: Seats | None = None, here: Callable[..., Here] = Here
) -> TestClient:
    """A program on this machine, or on another where sellers have seats."""
    counter = Counter(shop, lambda: shop.register(str(folder / "r.sqlite")), lambda: DAY)
    app = counter_app(here(counter), ["testserver"], seats)
    return TestClient(app, raise_server_exceptions=False)


def ask(client: TestClient, question: str, **body: Any) -> Any:
    """The response to a question, its figures sent with all their digits."""
    return sent(client, question, json.dumps(body, default=float))


def sent(client: TestClient, question: str, body: str | bytes) -> Any:
    headers = {"content-type": "application/json"}
    return client.post(f"/api/v1/{question}", content=body, headers=headers)


@frozen
class Promised:
    """What the documents of a server promise.

    Attributes:
        document: of OpenAPI.
        registry: all of them, by their addresses.
    """

    document: Any
    registry: Registry[Any]

    def at(self, pointer: str) -> Draft202012Validator:
        """What holds values to a schema of the document."""
        return Draft202012Validator(
            {"$ref": f"{BASE}openapi.json#{pointer}"}, registry=self.registry
        )

    def keeps(self, question: str, response: Any) -> Any:
        """The answer, once it is of the shape that is promised for its status."""
        path = f"/paths/~1api~1v1~1{question}/post"
        content = "application~1json/schema"
        if response.status_code >= 400:
            assert response.headers["content-type"] == "application/problem+json", response.text
            validator = self.at("/components/schemas/problem")
        else:
            assert response.headers["content-type"] == "application/json"
            validator = self.at(f"{path}/responses/{response.status_code}/content/{content}")
        answer = json.loads(response.content, parse_float=Decimal)
        validator.validate(json.loads(response.content))
        return answer


def promised(client: TestClient) -> Promised:
    """What a server's own documents promise, each fetched from it."""
    held = {name: client.get(f"/api/v1/{name}").json() for name in DOCUMENTS}
    named = [(f"{BASE}{name}", DRAFT202012.create_resource(one)) for name, one in held.items()]
    return Promised(held["openapi.json"], Registry().with_resources(named).crawl())
