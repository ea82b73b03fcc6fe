"""What is refused of a file is what jsonschema refuses of the same data."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from jsonschema.validators import extend

from configurator.catalogue.plain_data import Tree, read_tree
from configurator.shapes.shipped import schema

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


def written(one: Any) -> str:
    """The value as JSON, with the digits of a Decimal as they are."""
    if isinstance(one, dict):
        return "{" + ", ".join(f"{json.dumps(k)}: {written(v)}" for k, v in one.items()) + "}"
    if isinstance(one, list):
        return "[" + ", ".join(map(written, one)) + "]"
    return str(one) if isinstance(one, Decimal) else json.dumps(one)


def reference() -> Any:
    checker = Draft202012Validator.TYPE_CHECKER.redefine(
        "number", lambda _, value: isinstance(value, int | Decimal) and not isinstance(value, bool)
    ).redefine("integer", lambda _, value: type(value) is int)
    return extend(Draft202012Validator, type_checker=checker)  # type: ignore[no-untyped-call]


def first_faults(tree: Tree) -> dict[tuple[Any, ...], str]:
    """The keyword that refuses each value, or a key of it."""
    return {
        (fault.path, fault.value if fault.is_key else None): fault.word for fault in tree.faults
    }


def first_errors(judge: Any, data: Any) -> dict[tuple[Any, ...], str]:
    """The keyword that counts most of those that refuse each value, or its keys."""
    found: dict[tuple[Any, ...], list[str]] = {}
    for error in judge.iter_errors(data):
        key = error.instance if "propertyNames" in error.absolute_schema_path else None
        found.setdefault((tuple(error.absolute_path), key), []).append(str(error.validator))
    return {
        path: "type"
        if "type" in words
        else "keys"
        if {"required", "additionalProperties"} & {*words}
        else words[0]
        for path, words in found.items()
    }


@pytest.mark.parametrize("name", SHAPES)
def test_the_same_is_refused(name: str) -> None:
    random, shape, right, wrong = Random(name), SHAPES[name], 0, 0
    judge = reference()(shape)
    for _ in range(2000):
        text = written(value(random))
        if text in ("null", '""'):  # an empty file
            continue
        tree = read_tree(text, "", shape)
        assert first_faults(tree) == first_errors(judge, tree.data), text
        right, wrong = right + (not tree.faults), wrong + bool(tree.faults)
    assert right >= 5
    assert wrong > 10 or name == "nothing asked"


@pytest.mark.parametrize(
    ("shape", "right", "wrong"),
    [
        ({"type": "number", "format": "money"}, "1.25", "1.255"),
        ({"type": "string", "format": "date"}, "2026-02-28", "2026-02-29"),
        ({"type": "string", "format": "currency"}, "AUD", "AUX"),
        ({"type": ["string", "object"], "format": "languages"}, "{de: Tisch}", "{fr: table}"),
    ],
)
def test_formats_are_asked(shape: dict[str, Any], right: str, wrong: str) -> None:
    assert [bool(read_tree(text, "", shape, "AUD", "de").faults) for text in (right, wrong)] == [
        False,
        True,
    ]


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
