"""What programs may ask, as a document of OpenAPI 3.1, which refers to the schema of answers."""

from __future__ import annotations

from functools import cache
from typing import Any

from configurator.build import Build
from configurator.shapes.schema import Schema
from configurator.web.messages import API, PROBLEM
from configurator.web.methods import LOOKED_FOR, MEDIA, QUESTIONS, asked, body_schema, meaning

_ANSWERS = "answers.schema.json#/$defs/"
_SAID = {
    "selection": "The selection after the changes, in the shape of a selection file.",
    "issue": "Issue the quote: it gets the next number, and is kept with its PDF in the register.",
}
_REFUSALS = {
    "400": "The body is not JSON, or not of this shape; problems say where.",
    "401": "Nobody has signed in.",
    "403": "The request comes from another site.",
    "409": "The register does not allow it.",
    "411": "The length of the body is not told.",
    "413": "The body is too large.",
    "415": "The body is not said to be application/json.",
    "421": "The server is not known under that name.",
    "422": "It was understood and cannot be answered so: names that the catalogue does not have, "
    "findings that stop a quote, a search that stopped without an answer.",
    "503": "No answer could be made; ask again.",
}
_OF_GET = ("401", "421", "503")

_KEY: Schema = {
    "name": "Idempotency-Key",
    "in": "header",
    "description": "A name of this request that no other of the seller has, such as a UUID. Asked "
    "again under it, a new quote is not issued twice: the answer is the quote issued before. Two "
    "revisions of one are refused where the selection says which revision it comes from.",
    "schema": {"type": "string", "maxLength": 202},
}

_FOUND: Schema = {
    "type": "object",
    "required": ["pointer", "sentence", "code", "hint"],
    "properties": {
        "pointer": {
            "type": "string",
            "description": "Where in the body (RFC 6901); empty for all of it.",
        },
        "sentence": {"type": "string", "description": "What is wrong."},
        "code": {"type": "string", "description": "A short stable name of the problem."},
        "hint": {"type": "string", "description": "What to do about it, or empty."},
    },
    "additionalProperties": False,
}
_PROBLEM: Schema = {
    "type": "object",
    "description": "What is wrong (RFC 9457).",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"const": "about:blank"},
        "title": {"type": "string", "description": "What the status means."},
        "status": {"type": "integer", "description": "The status of the answer."},
        "detail": {"type": "string", "description": "What is wrong, in a sentence."},
        "code": {
            "enum": [
                "not-json",
                "wrong",
                "refused",
                "register",
                "contact",
                "not-settled",
                "unavailable",
                "not-possible",
            ],
            "description": "not-json: the body cannot be read. wrong: problems say what is. "
            "refused: findings stop the quote. register: the quote cannot go there. contact: it "
            "has another customer's telephone and e-mail. not-settled: "
            "the search stopped without an answer, which proves nothing. unavailable: a file or "
            "a library is missing here. not-possible: detail says why.",
        },
        "problems": {"type": "array", "items": _FOUND, "description": "Each thing wrong."},
        "stops": {
            "type": "array",
            "items": {"type": "string"},
            "description": "A sentence for each finding that stops the quote.",
        },
        "findings": {
            "type": "array",
            "items": {"$ref": f"{_ANSWERS}finding"},
            "description": "The same with their numbers.",
        },
    },
    "additionalProperties": False,
}


@cache
def document() -> Schema:
    """The document."""
    paths: dict[str, Any] = {}
    for name in (*QUESTIONS, *_SAID):
        paths[f"{API}{name}"] = {"post": _asking(name)}
    offered = {"$ref": f"{_ANSWERS}choices"}
    paths[f"{API}catalogue"] = {
        "get": _operation("catalogue", "Choices and options, with prices and ids.", offered)
    }
    found = _operation("quotes", "Quotes of the register.", {"$ref": f"{_ANSWERS}register-list"})
    looked = [
        {"name": key, "in": "query", "description": told, "schema": {"type": "string"}}
        for key, told in LOOKED_FOR.items()
    ]
    responses = {**found["responses"], **_refused("422")}
    found = {**found, "parameters": looked, "responses": responses}
    paths[f"{API}quotes"] = {"get": found}
    paths[f"{API}issue"]["post"]["parameters"] = [_KEY]
    for file in ("openapi.json", "answers.schema.json", "selection.schema.json"):
        told = _operation(file.partition(".json")[0], "What describes the rest.", {})
        paths[f"{API}{file}"] = {"get": told}
    refusals = {
        code: {"description": told, "content": {PROBLEM: {"schema": _to("schemas/problem")}}}
        for code, told in _REFUSALS.items()
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Questions about a package",
            "version": "1",
            "description": "Every question of the library, answered as the command of the same "
            "name answers with --json. Amounts and exact numbers are text in answers, and JSON "
            "numbers with all their digits in what is sent. Signing in is asked for only where "
            "sellers have passwords.",
        },
        "security": [{"password": []}, {"seat": []}, {}],
        "paths": paths,
        "components": {
            "securitySchemes": {
                "password": {"type": "http", "scheme": "basic"},
                "seat": {"type": "apiKey", "in": "cookie", "name": "signed"},
            },
            "schemas": {"problem": _PROBLEM},
            "responses": refusals,
        },
    }


def _to(component: str) -> Schema:
    return {"$ref": f"#/components/{component}"}


def _refused(*codes: str) -> Schema:
    return {code: _to(f"responses/{code}") for code in codes}


def _operation(name: str, summary: str, shape: Schema) -> Schema:
    answered = {"description": summary, "content": {"application/json": {"schema": shape}}}
    responses = {"200": answered, **_refused(*_OF_GET)}
    return {"operationId": name, "summary": summary, "responses": responses}


def _asking(name: str) -> Schema:
    """A question, asked with a body."""
    question, _ = asked(name)
    summary = _SAID.get(name) or meaning(getattr(Build, name))
    of = "selection.schema.json" if name == "selection" else None
    shapes = [{"$ref": of or f"{_ANSWERS}{one}"} for one in question.answers]
    content: dict[str, Any] = {
        "application/json": {"schema": shapes[0] if len(shapes) == 1 else {"oneOf": shapes}}
    }
    others = (kind for kind in question.kinds if kind != "json")
    content |= {MEDIA[kind].partition(";")[0]: {} for kind in others}
    done = {"description": summary, "content": content}
    return {
        "operationId": name,
        "summary": summary,
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": body_schema(name)}},
        },
        "responses": {"201" if name == "issue" else "200": done, **_refused(*_REFUSALS)},
    }
