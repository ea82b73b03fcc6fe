"""What jsonschema finds, in our own sentences, each at its place in the file."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, TypeAlias

import jsonschema
from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.validators import extend

from configurator.catalogue.nodes import Path, Schema, Tree
from configurator.errors import Location, MoneyError, Problem, near_miss
from configurator.money import currencies, exponent

__all__ = ["schema_problems", "thing"]

_RECORDS = {
    "vehicles": "vehicle",
    "choices": "choice",
    "options": "option",
    "rules": "rule",
    "limits": "limit",
    "cautions": "caution",
    "add-ons": "add-on",
    "package-deals": "package deal",
    "groups": "group",
    "spaces": "space",
}
_KINDS = {
    "number": "a number",
    "integer": "a whole number",
    "string": "text",
    "boolean": "true or false",
    "array": "a list",
    "object": "a group of keys",
}


@cache
def _validator_class() -> Any:
    checker = Draft202012Validator.TYPE_CHECKER.redefine(
        "number", lambda _, value: isinstance(value, int | Decimal) and not isinstance(value, bool)
    ).redefine("integer", lambda _, value: type(value) is int)
    usual = Draft202012Validator.VALIDATORS
    eager = {
        "properties": _passing_over(usual["properties"], lambda asked, value: asked),
        "additionalProperties": _passing_over(
            usual["additionalProperties"], lambda asked, value: dict.fromkeys(value, asked)
        ),
        "items": _items_passing_over(usual["items"]),
        "propertyNames": _names_passing_over(usual["propertyNames"]),
    }
    return extend(Draft202012Validator, validators=eager, type_checker=checker)  # type: ignore[no-untyped-call]


_Keyword: TypeAlias = Callable[[Any, Any, Any, Any], Iterator[Any]]


def _passing_over(
    keyword: _Keyword, shapes: Callable[[Any, Mapping[str, Any]], Mapping[str, Any]]
) -> _Keyword:
    """The keyword without the cost of descending into scalars that are plainly right.

    Only values that :func:`_plainly_right` vouches for are taken out before jsonschema sees them;
    whatever else there is, and every error, is jsonschema's own.
    """

    def check(validator: Any, asked: Any, value: Any, schema: Any) -> Iterator[Any]:
        if isinstance(value, dict) and isinstance(asked, dict):
            known = shapes(asked, value)
            value = {
                key: inner
                for key, inner in value.items()
                if key not in known or not _plainly_right(validator, inner, known[key])
            }
        return keyword(validator, asked, value, schema)

    return check


def _items_passing_over(keyword: _Keyword) -> _Keyword:
    """The same for the entries of a list: it is passed over when all of them are right."""

    def check(validator: Any, asked: Any, value: Any, schema: Any) -> Iterator[Any]:
        if isinstance(value, list) and all(_plainly_right(validator, v, asked) for v in value):
            return iter(())
        return keyword(validator, asked, value, schema)

    return check


def _names_passing_over(keyword: _Keyword) -> _Keyword:
    """The same for the keys of a mapping."""

    def check(validator: Any, asked: Any, value: Any, schema: Any) -> Iterator[Any]:
        if isinstance(value, dict):
            value = {k: v for k, v in value.items() if not _plainly_right(validator, k, asked)}
        return keyword(validator, asked, value, schema)

    return check


_SCALAR = {
    "description",
    "type",
    "enum",
    "format",
    "pattern",
    "minLength",
    "maxLength",
    "minimum",
    "exclusiveMinimum",
    "maximum",
}
_NOT_SCALAR = {
    "items",
    "minItems",
    "uniqueItems",
    "properties",
    "additionalProperties",
    "required",
    "minProperties",
    "propertyNames",
}
_UNDERSTOOD = _SCALAR | _NOT_SCALAR


def _plainly_right(validator: Any, value: Any, schema: Mapping[str, Any]) -> bool:
    """Whether a scalar satisfies a schema; False also where that takes more than a plain look."""
    kind, asked = type(value), schema.get("type", ())
    if kind is not str and kind is not Decimal and kind is not int:
        return False
    if not schema.keys() <= _UNDERSTOOD:
        return False
    if "format" in schema and not validator.format_checker.conforms(value, schema["format"]):
        return False
    kinds = (asked,) if isinstance(asked, str) else asked
    if kind is str:
        least, most = schema.get("minLength", 0), schema.get("maxLength", len(value))
        pattern = schema.get("pattern")
        return (
            "string" in kinds
            and least <= len(value) <= most
            and value in schema.get("enum", (value,))
            and (pattern is None or re.search(pattern, value) is not None)
        )
    low, high = schema.get("minimum", value), schema.get("maximum", value)
    above = "exclusiveMinimum" not in schema or value > schema["exclusiveMinimum"]
    number = "number" in kinds or (kind is int and "integer" in kinds)
    return number and "enum" not in schema and bool(low <= value <= high) and above


def _formats(currency: str) -> FormatChecker:
    checker = FormatChecker(formats=())
    try:
        digits = exponent(currency)
    except MoneyError:
        digits = None

    def is_money(value: object) -> bool:
        if digits is None or not isinstance(value, Decimal):
            return True
        places = value.as_tuple().exponent
        return isinstance(places, int) and -places <= digits

    def is_date(value: object) -> bool:
        if not isinstance(value, str):
            return True
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", value):
            return False
        try:
            date.fromisoformat(value)
        except ValueError:
            return False
        return True

    checker.checks("money")(is_money)
    checker.checks("date")(is_date)
    checker.checks("currency")(lambda value: not isinstance(value, str) or value in currencies())
    return checker


def schema_problems(tree: Tree, schema: Schema, currency: str) -> Iterator[Problem]:
    """Everything in the tree that the schema refuses.

    Args:
        tree: the data and its places.
        schema: a JSON Schema, draft 2020-12.
        currency: code whose decimals amounts may have.
    """
    validator = _validator_class()(schema, format_checker=_formats(currency))
    for error in validator.iter_errors(tree.data):
        yield from _problems(error, tree, currency)


def thing(tree: Tree, path: Path) -> str:
    """What the value at the path belongs to, such as ``option "h850" of choice "height"``."""
    names = []
    for depth in range(2, len(path) + 1):
        name, index = path[depth - 2], path[depth - 1]
        if not isinstance(index, int) or name not in _RECORDS:
            continue
        record = _value(tree.data, path[:depth])
        identity = record.get("id") if isinstance(record, Mapping) else None
        kind = _RECORDS[str(name)]
        names.append(f'{kind} "{identity}"' if isinstance(identity, str) else f"{kind} {index + 1}")
    return " of ".join(reversed(names))


def _value(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def _problems(error: jsonschema.ValidationError, tree: Tree, currency: str) -> Iterator[Problem]:
    path: Path = tuple(error.absolute_path)
    word = str(error.validator)
    value: Any = error.instance
    asked: Any = error.validator_value
    shape: Any = error.schema
    name = next((str(step) for step in reversed(path) if isinstance(step, str)), "the file")
    if path and isinstance(path[-1], int):
        name = f"entry {path[-1] + 1} of {name}"
    owner = thing(tree, path)
    of = f" of {owner}" if owner and not (path and isinstance(path[-1], int)) else ""
    at = tree.at(path)

    def say(sentence: str, code: str, hint: str = "", place: Location | None = None) -> Problem:
        return Problem(place or at, sentence, code, hint)

    match word:
        case "required":
            missing = next(key for key in asked if f"'{key}'" in error.message.split(" is a ")[0])
            yield say(f'{owner or name} has no "{missing}"', "missing-key", f'add "{missing}: ..."')
        case "additionalProperties":
            known = shape.get("properties", {})
            for key in value:
                if key not in known:
                    hint = near_miss(key, known) or "known here: " + ", ".join(known)
                    place = tree.key_at((*path, key))
                    sentence = f'{owner or name} has the unknown key "{key}"'
                    yield say(sentence, "unknown-key", hint, place)
        case "type":
            sentence = f"{name}{of} {_mistyped(value, asked)}"
            yield say(sentence, "wrong-type", _type_hint(value, asked))
        case "enum" | "const":
            choices = [str(a) for a in (asked if word == "enum" else [asked])]
            hint = near_miss(str(value), choices)
            yield say(
                f'{name}{of} is "{value}"; it must be {" or ".join(choices)}', "unknown-word", hint
            )
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            bound = {
                "minimum": "at least",
                "exclusiveMinimum": "more than",
                "maximum": "at most",
                "exclusiveMaximum": "less than",
            }[word]
            yield say(f"{name}{of} is {value}; it must be {bound} {asked}", "out-of-range")
        case "pattern" if asked.startswith("^[a-z0-9]"):
            place = tree.key_at((*path, value))
            yield say(
                f'"{value}" is no short name',
                "bad-name",
                "use lower-case letters, digits and single hyphens",
                place,
            )
        case "pattern":
            link = asked.startswith("^https")
            wanted = "a link that starts with https://" if link else "a colour like #1f4e5f"
            yield say(f'{name}{of} is "{value}"; it must be {wanted}', "bad-text")
        case "format":
            yield say(f"{name}{of} is {value}; {_format_wants(asked, currency)}", f"bad-{asked}")
        case "minItems" | "minProperties" | "minLength":
            yield say(f"{name}{of} is empty", "empty", "fill it in or leave the key out")
        case "maxLength":
            yield say(
                f"{name}{of} has {len(value)} characters; it may have at most {asked}", "too-long"
            )
        case "uniqueItems":
            yield say(f"{name}{of} says the same thing twice", "repeated-entry")
        case _:
            yield say(f"{name}{of}: {error.message}", "schema")


def _mistyped(value: Any, asked: str | list[str]) -> str:
    wanted = " or ".join(_KINDS[kind] for kind in ([asked] if isinstance(asked, str) else asked))
    if value is None:
        return f"has nothing after it; it must be {wanted}"
    if isinstance(value, str):
        return f'is the text "{value}"; it must be {wanted}'
    if isinstance(value, Mapping):
        return f"is a group of keys; it must be {wanted}"
    if isinstance(value, list):
        return f"is a list; it must be {wanted}"
    return f"is {value}; it must be {wanted}"


def _type_hint(value: Any, asked: str | list[str]) -> str:
    kinds = {asked} if isinstance(asked, str) else set(asked)
    if not isinstance(value, str) or not {"number", "integer"} & kinds:
        return ""
    bare = value.replace(",", "").replace("_", "").replace(" ", "").lstrip("$+")
    if bare == value and re.fullmatch(r"-?(0|[1-9]\d*)(\.\d+)?", value):
        return f"write {value} without quotes"
    if re.fullmatch(r"-?\d+(\.\d+)?", bare):
        whole = bare.lstrip("0") or "0"
        return f"write {'0' + whole if whole.startswith('.') else whole}"
    return "write digits, with a point before decimals, and nothing else"


def _format_wants(asked: str, currency: str) -> str:
    if asked == "money":
        digits = exponent(currency)
        return f"{currency} has {digits} decimal{'' if digits == 1 else 's'}"
    return {
        "date": "it must be a day written YYYY-MM-DD",
        "currency": "it must be an ISO 4217 currency code such as AUD",
    }[asked]
