"""What the checker of schemas takes for right at a glance, jsonschema takes for right, too."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from jsonschema.validators import extend

from configurator.schemas import SchemaChecker, schema

SHAPES: dict[str, dict[str, Any]] = {
    "name": {"type": "string", "pattern": "^[a-z]+$", "maxLength": 4},
    "one": {"type": "integer", "const": 1},
    "few": {"type": "array", "items": {"type": "integer"}, "maxItems": 1},
    "word": {"type": "string", "enum": ["ab", "abc"]},
    "whole": {"type": "integer", "minimum": 1, "maximum": 3},
    "number": {"type": "number", "exclusiveMinimum": 0, "maximum": 2.5},
    "either": {"type": ["string", "number", "boolean"]},
    "names": {"type": "array", "items": {"type": "string"}, "minItems": 1, "uniqueItems": True},
    "closed": {
        "type": "object",
        "properties": {
            "a": {"type": "integer"},
            "b": {"type": "array", "items": {"type": "number"}},
        },
        "required": ["a"],
        "additionalProperties": False,
    },
    "open": {
        "type": "object",
        "propertyNames": {"pattern": "^[a-c]$", "type": "string"},
        "additionalProperties": {"type": ["boolean", "array"], "items": {"enum": ["ab"]}},
        "minProperties": 1,
    },
    "any key": {"type": "object", "properties": {"a": {"type": "string"}}},
    "nothing asked": {},
}
"""Every keyword that the checker knows."""

SCALARS: tuple[Any, ...] = (
    *(None, True, False, 0, 1, 3, 4, -1),
    *(Decimal("0"), Decimal("2.5"), Decimal("2.6"), Decimal("1")),
    *("", "a", "ab", "abc", "abcde", "A1"),
)


def value(random: Random, depth: int = 0) -> Any:
    kind = random.random()
    if depth > 2 or kind < 0.4:
        return random.choice(SCALARS)
    if kind < 0.6:
        return [value(random, depth + 1) for _ in range(random.randrange(3))]
    keys = random.sample(["a", "b", "c", "d"], random.randrange(3))
    return {key: value(random, depth + 1) for key in keys}


def reference() -> Any:
    checker = Draft202012Validator.TYPE_CHECKER.redefine(
        "number", lambda _, value: isinstance(value, int | Decimal) and not isinstance(value, bool)
    ).redefine("integer", lambda _, value: type(value) is int)
    return extend(Draft202012Validator, type_checker=checker)  # type: ignore[no-untyped-call]


@pytest.mark.parametrize("name", SHAPES)
def test_the_same_is_refused(name: str) -> None:
    random, shape = Random(name), SHAPES[name]
    judge, checker, right, wrong = reference()(shape), SchemaChecker({}), 0, 0
    for _ in range(800):
        one = value(random)
        found = {(tuple(error.path), error.validator) for error in checker.errors(one, shape)}
        assert found == {(tuple(e.path), e.validator) for e in judge.iter_errors(one)}, one
        right, wrong = right + (not found), wrong + bool(found)
    assert right >= 3
    assert wrong > 10 or name == "nothing asked"


def test_formats_are_asked() -> None:
    checker = SchemaChecker({"even": lambda value: not isinstance(value, int) or value % 2 == 0})
    shape = {"type": ["integer", "string"], "format": "even"}
    assert [not checker.errors(one, shape) for one in (2, 3, "x")] == [True, False, True]


@pytest.mark.parametrize("name", ["catalogue", "selection"])
def test_the_schemas_of_files_have_no_other_keywords(name: str) -> None:
    known = {word for shape in SHAPES.values() for word in shape}
    notes = {"description", "title", "format", "$schema", "$id", "$defs", "$ref"}
    assert {word for shape in shapes_in(schema(name)) for word in shape} <= known | notes


def shapes_in(shape: Any) -> Iterator[dict[str, Any]]:
    """A schema and every schema inside it."""
    if isinstance(shape, dict):
        yield shape
        for inner in (*shape.get("properties", {}).values(), *shape.get("$defs", {}).values()):
            yield from shapes_in(inner)
        for word in ("items", "additionalProperties", "propertyNames"):
            yield from shapes_in(shape.get(word))
