"""A quick look at whether a value plainly satisfies a JSON Schema.

Nearly everything in a catalogue is right. Each schema is turned into a function once, which vouches
for values at a fraction of what jsonschema takes to; what it does not vouch for may be right or
wrong, and that is for jsonschema to say.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from configurator.catalogue.nodes import Placed, Schema

__all__ = ["PlainLook", "matcher"]

_Look: TypeAlias = Callable[[Any], bool]

_UNDERSTOOD = {
    *("description", "type", "enum", "format", "pattern", "minLength", "maxLength"),
    *("minimum", "exclusiveMinimum", "maximum"),
    *("items", "minItems", "uniqueItems"),
    *("properties", "additionalProperties", "required", "minProperties", "propertyNames"),
}


def matcher(pattern: str) -> Callable[[str], object]:
    """Looks for a pattern of a schema, in which ``$`` is the end and no newline before it."""
    return re.compile(re.sub(r"\$$", r"\\Z", pattern)).search


def _always(_: Any) -> bool:
    return True


def _never(_: Any) -> bool:
    return False


class PlainLook:
    """Looks at values by schemas.

    Args:
        formats: what the formats named in schemas ask of a value.
    """

    def __init__(self, formats: Mapping[str, _Look]) -> None:
        self._formats = formats
        self._known: dict[int, tuple[Schema, _Look]] = {}

    def is_right(self, value: Any, schema: Schema) -> bool:
        """Whether the value satisfies the schema; False also where that takes more to tell."""
        return self._look(schema)(value)

    def _look(self, schema: Schema) -> _Look:
        known = self._known.get(id(schema))
        if known is None:
            known = self._known[id(schema)] = schema, self._made(schema)
        return known[1]

    def _made(self, schema: Schema) -> _Look:
        if not schema.keys() <= _UNDERSTOOD:
            return _never
        asked = schema.get("type", ())
        kinds = (asked,) if isinstance(asked, str) else asked
        looks: dict[type, _Look] = {}
        if "object" in kinds and "enum" not in schema:
            looks[dict] = looks[Placed] = self._object(schema)
        if "array" in kinds and "enum" not in schema:
            looks[list] = self._array(schema)
        if "boolean" in kinds and "enum" not in schema:
            looks[bool] = _always
        if "string" in kinds:
            looks[str] = self._of_format(schema, _text(schema))
        if ("integer" in kinds or "number" in kinds) and "enum" not in schema:
            looks[int] = self._of_format(schema, _number(schema))
        if "number" in kinds and "enum" not in schema:
            looks[Decimal] = looks[int]
        look_for = looks.get

        def look(value: Any) -> bool:
            return look_for(type(value), _never)(value)

        return look

    def _of_format(self, schema: Schema, look: _Look) -> _Look:
        conforms = self._formats.get(schema.get("format", ""))
        if conforms is None:
            return look
        asked = conforms
        return lambda value: asked(value) and look(value)

    def _object(self, schema: Schema) -> _Look:
        least, required = schema.get("minProperties", 0), set(schema.get("required", ()))
        known, other = schema.get("properties", {}), schema.get("additionalProperties", True)
        names = schema.get("propertyNames")
        inside: dict[str, _Look] = {}

        def look_inside(key: str) -> _Look:
            shape = known.get(key, other)
            if isinstance(shape, bool):
                return _always if shape else _never
            look = self._look(shape)
            if key in known:
                inside[key] = look
            return look

        def look(value: Mapping[str, Any]) -> bool:
            if len(value) < least or not value.keys() >= required:
                return False
            if names is not None and not all(map(self._look(names), value)):
                return False
            for key, inner in value.items():  # a loop is faster here than a generator
                fine = (inside.get(key) or look_inside(key))(inner)
                if not fine:
                    return False
            return True

        return look

    def _array(self, schema: Schema) -> _Look:
        least, unique = schema.get("minItems", 0), schema.get("uniqueItems")
        items: Schema = schema.get("items", {})

        def look(value: list[Any]) -> bool:
            if len(value) < least:
                return False
            if unique and len({one for one in value if type(one) is str}) != len(value):
                return False
            return all(map(self._look(items), value))

        return look


def _text(schema: Schema) -> _Look:
    least, most = schema.get("minLength", 0), schema.get("maxLength")
    words = schema.get("enum")
    matches = matcher(schema["pattern"]) if "pattern" in schema else _always
    if not least and most is None and words is None and matches is _always:
        return _always

    def look(value: str) -> bool:
        return (
            (not least or least <= len(value.strip()))
            and (most is None or len(value) <= most)
            and (words is None or value in words)
            and bool(matches(value))
        )

    return look


def _number(schema: Schema) -> _Look:
    low, high = schema.get("minimum"), schema.get("maximum")
    above = schema.get("exclusiveMinimum")

    def look(value: int | Decimal) -> bool:
        return (
            (low is None or value >= low)
            and (high is None or value <= high)
            and (above is None or value > above)
        )

    return look
