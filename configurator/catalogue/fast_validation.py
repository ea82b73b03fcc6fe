"""Fast validation: whether a value satisfies a JSON Schema, as long as that is plain.

Nearly everything in a catalogue is right. A schema is turned into functions once, which tell so in
a small part of the time that jsonschema takes to load and to look; what they do not vouch for may
be right or wrong, and that is for jsonschema to say.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from configurator.catalogue.nodes import Placed
from configurator.shapes import Schema

_Test: TypeAlias = Callable[[Any], bool]

_UNDERSTOOD = {
    *("description", "type", "enum", "const", "format", "pattern", "maxLength", "title"),
    *("minimum", "exclusiveMinimum", "maximum", "items", "minItems", "maxItems", "uniqueItems"),
    *("properties", "additionalProperties", "required", "minProperties", "propertyNames"),
    *("$schema", "$id", "$defs"),
}


def matcher(pattern: str) -> Callable[[str], object]:
    """Looks for a pattern of a schema, in which ``$`` is the end and no newline before it."""
    return re.compile(re.sub(r"\$$", r"\\Z", pattern)).search


def _always(_: Any) -> bool:
    return True


def _never(_: Any) -> bool:
    return False


class FastValidator:
    """Validates values by schemas in which references have been replaced.

    Args:
        formats: what the formats named in schemas ask of a value.
    """

    def __init__(self, formats: Mapping[str, _Test]) -> None:
        self._formats = formats
        self._known: dict[int, tuple[Schema, _Test]] = {}

    def is_valid(self, value: Any, schema: Schema) -> bool:
        """Whether the value satisfies the schema; False also where that takes more to tell."""
        return self._test(schema)(value)

    def _test(self, schema: Schema) -> _Test:
        known = self._known.get(id(schema))
        if known is None:
            known = self._known[id(schema)] = schema, self._made(schema)
        return known[1]

    def _made(self, schema: Schema) -> _Test:
        if not schema.keys() <= _UNDERSTOOD:
            return _never
        asked = schema.get("type", ())
        kinds = {asked} if isinstance(asked, str) else {*asked}
        tests: dict[type, _Test] = {}
        if "string" in kinds:
            tests[str] = self._scalar(schema, _text(schema))
        if kinds & {"integer", "number"}:
            tests[int] = self._scalar(schema, _number(schema))
        if "number" in kinds:
            tests[Decimal] = tests[int]
        if "boolean" in kinds:
            tests[bool] = _always
        if not schema.keys() & {"enum", "const"}:
            if "object" in kinds:
                tests[dict] = tests[Placed] = self._object(schema)
            if "array" in kinds:
                tests[list] = self._array(schema)
        test_for = tests.get
        return lambda value: test_for(type(value), _never)(value)

    def _scalar(self, schema: Schema, test: _Test) -> _Test:
        if "const" in schema or "enum" in schema:
            words = {schema["const"]} if "const" in schema else {*schema["enum"]}
            plain, test = test, lambda value: value in words and plain(value)
        conforms = self._formats.get(schema.get("format", ""))
        return test if conforms is None else lambda value: conforms(value) and test(value)

    def _object(self, schema: Schema) -> _Test:
        least, required = schema.get("minProperties", 0), set(schema.get("required", ()))
        known, other = schema.get("properties", {}), schema.get("additionalProperties", True)
        names = schema.get("propertyNames")
        tests: dict[str, _Test] = {}

        def test_of(key: str) -> _Test:
            shape = known.get(key, other)
            if isinstance(shape, bool):
                return _always if shape else _never
            test = self._test(shape)
            if key in known:
                tests[key] = test
            return test

        def test(value: Mapping[str, Any]) -> bool:
            if len(value) < least or not value.keys() >= required:
                return False
            if names is not None and not all(map(self._test(names), value)):
                return False
            return all((tests.get(key) or test_of(key))(inner) for key, inner in value.items())

        return test

    def _array(self, schema: Schema) -> _Test:
        least, most = schema.get("minItems", 0), schema.get("maxItems")
        items, unique = schema.get("items", {}), schema.get("uniqueItems")

        def test(value: list[Any]) -> bool:
            if len(value) < least or (most is not None and len(value) > most):
                return False
            if unique and len({one for one in value if type(one) is str}) != len(value):
                return False
            return all(map(self._test(items), value))

        return test


def _text(schema: Schema) -> _Test:
    most = schema.get("maxLength", float("inf"))
    if "pattern" not in schema:
        return lambda value: len(value) <= most
    matches = matcher(schema["pattern"])
    return lambda value: len(value) <= most and matches(value) is not None


def _number(schema: Schema) -> _Test:
    low, high = schema.get("minimum"), schema.get("maximum")
    above = schema.get("exclusiveMinimum")
    return lambda value: (
        (low is None or value >= low)
        and (high is None or value <= high)
        and (above is None or value > above)
    )
