"""Fast validation passes no value that jsonschema refuses, and nearly all that it takes."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from jsonschema.validators import extend

from configurator.catalogue.fast_validation import FastValidator

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
    "one of": {"oneOf": [{"type": "string"}, {"type": "integer"}]},
}
"""Every keyword that fast validation understands, and some that it does not."""

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
def test_what_is_vouched_for_is_valid(name: str) -> None:
    random, shape = Random(name), SHAPES[name]
    look, judge = FastValidator({}), reference()(shape)
    found: Counter[tuple[bool, bool]] = Counter()
    for _ in range(2000):
        one = value(random)
        found[look.is_valid(one, shape), judge.is_valid(one)] += 1
    assert found[True, False] == 0
    if name in ("nothing asked", "one of"):
        assert found[True, True] == 0
    else:
        assert found[True, True] >= 5
        assert found[False, False] > 10
    if name not in ("nothing asked", "one of", "any key", "open"):
        assert found[False, True] == 0, "right, and not vouched for"


def test_formats_are_asked() -> None:
    look = FastValidator({"even": lambda value: not isinstance(value, int) or value % 2 == 0})
    shape = {"type": ["integer", "string"], "format": "even"}
    assert [look.is_valid(one, shape) for one in (2, 3, "x")] == [True, False, True]
