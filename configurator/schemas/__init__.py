"""The shipped JSON Schemas, the package's own data, and what they refuse.

They are derived; ``python -m configurator.schemas`` writes them anew.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import cache, partial
from operator import contains, eq, ge, le, lt
from pathlib import Path
from typing import Any, TypeAlias

from attrs import evolve, frozen

from configurator.shapes import Schema

Steps: TypeAlias = tuple[str | int, ...]


@cache
def schema(name: str) -> Schema:
    """The shipped JSON Schema ``catalogue``, ``selection`` or ``answers``, as it is published."""
    return json.loads(_text(name))  # type: ignore[no-any-return]


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

    loaded = json.loads(_text(name), object_hook=collected, parse_float=Decimal)
    for part in references:
        while "$ref" in part:
            target = loaded["$defs"][part.pop("$ref").removeprefix("#/$defs/")]
            for key, value in target.items():
                part.setdefault(key, value)
    return loaded  # type: ignore[no-any-return]


def _text(name: str) -> str:
    return Path(__file__).with_name(f"{name}.schema.json").read_text("utf-8")


@frozen
class Wrong:
    """What a schema refuses.

    Attributes:
        path: of the value, from the one that was checked.
        word: the keyword that refuses it.
        asked: what the keyword asks.
        value: what is refused; a key where the keyword is about the name of one.
        schema: of the value.
        of_key: a key is refused; the path is that of the group that has it.
    """

    path: Steps
    word: str
    asked: Any
    value: Any
    schema: Schema
    of_key: bool = False


_Test: TypeAlias = Callable[[Any], object]
_Check: TypeAlias = Callable[[Any], list[Wrong]]

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


def _pattern(asked: str) -> _Test:
    """Looks for the pattern, in which ``$`` is the end, and not a newline before it."""
    return re.compile(re.sub(r"\$$", r"\\Z", asked)).search


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
    """Finds what the shipped schemas refuse, in the keywords that they have.

    A schema is turned into functions once. That, and that nothing else is loaded, keeps reading a
    right file as short as it is; tests hold the answers to those of jsonschema.

    Args:
        formats: what the formats named in schemas ask of a value.
    """

    def __init__(self, formats: Mapping[str, _Test]) -> None:
        self._formats = formats
        self._known: dict[int, tuple[Schema, _Check]] = {}

    def check(self, value: Any, schema: Schema) -> list[Wrong]:
        """Everything in the value that the schema refuses; empty where it is right."""
        known = self._known.get(id(schema))
        if known is None:
            known = self._known[id(schema)] = schema, self._made(schema)
        return known[1](value)

    def _tests(self, kinds: frozenset[str], schema: Schema) -> list[tuple[str, _Test]]:
        """What the keywords ask of values of these types, in their order."""
        made = dict(_EVERY)
        for kind in kinds:
            made |= _TESTS.get(kind, {})
        tests = [(word, made[word](asked)) for word, asked in schema.items() if word in made]
        if schema.get("format") in self._formats:
            tests.append(("format", self._formats[schema["format"]]))
        if "object" in kinds and schema.get("additionalProperties") is False:
            known = schema.get("properties", {}).keys()
            tests.append(("additionalProperties", lambda value: value.keys() <= known))
        return tests

    def _made(self, schema: Schema) -> _Check:
        asked = schema.get("type", sorted(set().union(*_TYPES.values())))
        kinds = {asked} if isinstance(asked, str) else {*asked}
        known, other = schema.get("properties", {}), schema.get("additionalProperties", True)
        names, items = schema.get("propertyNames"), schema.get("items", True)
        tests = {
            of: self._tests(names, schema)
            for of, names in _TYPES.items()
            if not kinds.isdisjoint(names)
        }

        def check(value: Any) -> list[Wrong]:
            of = dict if isinstance(value, dict) else type(value)
            if of not in tests:
                return [Wrong((), "type", asked, value, schema)]
            found = []
            for word, holds in tests[of]:
                if not holds(value):
                    found.append(Wrong((), word, schema[word], value, schema))
            if of is list and items is not True:
                for index, inner in enumerate(value):
                    if wrongs := self.check(inner, items):
                        found += _inside(index, wrongs)
            elif of is dict:
                for key, inner in value.items():
                    if names is not None:
                        found += [evolve(one, of_key=True) for one in self.check(key, names)]
                    shape = known.get(key, other)
                    if type(shape) is dict and (wrongs := self.check(inner, shape)):
                        found += _inside(key, wrongs)
            return found

        return check


def _inside(step: str | int, found: list[Wrong]) -> list[Wrong]:
    return [evolve(one, path=(step, *one.path)) for one in found]
