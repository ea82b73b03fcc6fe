"""The shipped JSON Schemas, the package's own data, and what they refuse.

They are derived; ``python -m configurator.schemas`` writes them anew.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cache, partial
from operator import contains, eq, ge, le, lt
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from configurator.shapes import Schema

if TYPE_CHECKING:
    from jsonschema import TypeChecker, ValidationError
    from jsonschema.protocols import Validator


@cache
def schema(name: str) -> Schema:
    """The shipped JSON Schema ``catalogue``, ``selection`` or ``answers``, as it is published."""
    return json.loads(schema_text(name))  # type: ignore[no-any-return]


@cache
def linked(name: str) -> Schema:
    """The same with what each reference refers to in its place, so that it may hold itself.

    Following a reference for each of thousands of values is most of what validating would cost.
    """
    references: list[dict[str, Any]] = []

    def collected(part: dict[str, Any]) -> dict[str, Any]:
        if "$ref" in part:
            references.append(part)
        return part

    loaded = json.loads(schema_text(name), object_hook=collected, parse_float=Decimal)
    for part in references:
        while "$ref" in part:
            target = loaded["$defs"][part.pop("$ref").removeprefix("#/$defs/")]
            for key, value in target.items():
                part.setdefault(key, value)
    return loaded  # type: ignore[no-any-return]


def schema_text(name: str) -> str:
    """The text of a shipped schema."""
    return Path(__file__).with_name(f"{name}.schema.json").read_text("utf-8")


_Test: TypeAlias = Callable[[Any], object]


_TYPES: Mapping[type, frozenset[str]] = {
    str: frozenset(("string",)),
    int: frozenset(("integer", "number")),
    Decimal: frozenset(("number",)),
    bool: frozenset(("boolean",)),
    dict: frozenset(("object",)),
    list: frozenset(("array",)),
    type(None): frozenset(("null",)),
}
"""The types of JSON Schema that a value of Python has; 1.0 is no whole number here."""


def _is_a(kind: str, _: TypeChecker, value: object) -> bool:
    return kind in _TYPES.get(type(value), ())


def _pattern(asked: str) -> _Test:
    """Looks for the pattern, in which ``$`` is the end, and not a newline before it."""
    return re.compile(re.sub(r"\$$", r"\\Z", asked)).search


def _pattern_errors(
    _: Validator, asked: str, value: object, __: Schema
) -> Iterator[ValidationError]:
    from jsonschema import ValidationError

    if isinstance(value, str) and not _pattern(asked)(value):
        yield ValidationError(f"{value!r} does not match {asked!r}")


def _unique(value: list[Any]) -> bool:
    marked = [(type(one) is bool, one) for one in value]
    return all(marked.count(one) == 1 for one in marked)


_EVERY: dict[str, Callable[[Any], _Test]] = {
    "enum": lambda asked: partial(contains, asked),
    "const": lambda asked: partial(eq, asked),
}
_NUMBER: dict[str, Callable[[Any], _Test]] = {
    "minimum": lambda asked: partial(le, asked),
    "maximum": lambda asked: partial(ge, asked),
    "exclusiveMinimum": lambda asked: partial(lt, asked),
}
_TESTS: dict[str, dict[str, Callable[[Any], _Test]]] = {
    "string": {"maxLength": lambda most: lambda value: len(value) <= most, "pattern": _pattern},
    "integer": _NUMBER,
    "number": _NUMBER,
    "object": {
        "minProperties": lambda least: lambda value: len(value) >= least,
        "required": lambda asked: lambda value: value.keys() >= set(asked),
    },
    "array": {
        "minItems": lambda least: lambda value: len(value) >= least,
        "maxItems": lambda most: lambda value: len(value) <= most,
        "uniqueItems": lambda _: _unique,
    },
}
"""What each keyword asks of a value, by the value's type."""


class SchemaChecker:
    """Finds what the shipped schemas refuse: jsonschema does, for what is not plainly right.

    Nearly every file is right, and jsonschema takes 60 to 75 ms for the shipped catalogue and
    60 ms to load, so the keywords that the schemas have are first tried by functions made once
    (6 ms). Tests hold their verdict to that of jsonschema.

    Args:
        formats: what the formats named in schemas ask of a value.
    """

    def __init__(self, formats: Mapping[str, _Test]) -> None:
        self._formats = formats
        self._known: dict[int, tuple[Schema, _Test]] = {}

    def errors(self, value: Any, schema: Schema) -> list[ValidationError]:
        """Everything in the value that the schema refuses; empty where it is right."""
        return [] if self._test(schema)(value) else [*self._judge(schema).iter_errors(value)]

    def _judge(self, schema: Schema) -> Validator:
        from jsonschema import Draft202012Validator, FormatChecker, validators

        formats, types = FormatChecker(formats=()), Draft202012Validator.TYPE_CHECKER
        for name, holds in self._formats.items():
            formats.checks(name)(holds)  # type: ignore[type-var]
        for kind in ("integer", "number"):
            types = types.redefine(kind, partial(_is_a, kind))
        judge: type[Validator] = validators.extend(  # type: ignore[no-untyped-call]
            Draft202012Validator, {"pattern": _pattern_errors}, type_checker=types
        )
        return judge(schema, format_checker=formats)

    def _test(self, schema: Schema) -> _Test:
        """What tries the schema, made when it is first asked for: a schema may hold itself."""
        known = self._known.get(id(schema))
        if known is None:
            known = self._known[id(schema)] = schema, self._made(schema)
        return known[1]

    def _tests(self, kinds: frozenset[str], schema: Schema) -> list[_Test]:
        """What the schema asks of values of these types."""
        made = dict(_EVERY)
        for kind in kinds:
            made |= _TESTS.get(kind, {})
        tests = [made[word](asked) for word, asked in schema.items() if word in made]
        if schema.get("format") in self._formats:
            tests.append(self._formats[schema["format"]])
        items = schema.get("items", True)
        if "array" in kinds and items is not True:
            tests.append(self._each(items))
        if "object" not in kinds:
            return tests
        known, other = schema.get("properties", {}), schema.get("additionalProperties", True)
        names = schema.get("propertyNames")
        if other is False:
            tests.append(lambda value: value.keys() <= known.keys())
        if names is not None:
            tests.append(self._each(names))
        test = self._test

        def holds(value: Any) -> bool:
            for key, one in value.items():
                shape = known.get(key, other)
                if type(shape) is dict and not test(shape)(one):
                    return False
            return True

        return [*tests, holds]

    def _each(self, schema: Schema) -> _Test:
        return lambda value: all(map(self._test(schema), value))

    def _made(self, schema: Schema) -> _Test:
        asked = schema.get("type", sorted(set().union(*_TYPES.values())))
        kinds = {asked} if isinstance(asked, str) else {*asked}
        tests = {
            of: self._tests(names, schema)
            for of, names in _TYPES.items()
            if not kinds.isdisjoint(names)
        }

        def right(value: Any) -> bool:
            asked = tests.get(type(value))
            if asked is None:
                asked = tests.get(dict) if isinstance(value, dict) else None
                if asked is None:
                    return False
            for holds in asked:  # noqa: SIM110  # a generator takes twice as long
                if not holds(value):
                    return False
            return True

        return right
