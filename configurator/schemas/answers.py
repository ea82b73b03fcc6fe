"""The JSON Schema of every answer, derived from the classes that the answers are written from."""

from __future__ import annotations

import datetime as dt
import inspect
import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Annotated, Any, get_args, get_origin, get_type_hints as hints_of

from attrs import frozen

from configurator.answers import facts, register, requote, values
from configurator.checking import check
from configurator.engine import availability, completion, ways_out, within
from configurator.errors import Location
from configurator.money import Money
from configurator.pricing import margin
from configurator.report import batch, budget, comparison, price, quote, sheets as shop
from configurator.selection.picks import Selection
from configurator.shapes.forms import answers, entries_of, form_of
from configurator.shapes.schema import Schema, Schemas, bare, meaning_of
from configurator.suppliers import update
from configurator.words import capital

ANSWERS = (
    availability,
    completion,
    ways_out,
    within,
    facts,
    register,
    requote,
    shop,
    values,
    check,
    margin,
    batch,
    budget,
    comparison,
    price,
    quote,
    update,
)
"""The modules that have answers; those that have their parts are loaded by them."""

_AMOUNT, _NUMBER = r"^-?[0-9]+(\.[0-9]+)?$", r"^-?[0-9]+(\.[0-9]{1,2})?$"
_NUMBERS = {"$ref": "#/$defs/number"}
_LEAVES: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    Decimal: _NUMBERS,
    Fraction: _NUMBERS,
    Money: {"$ref": "#/$defs/amount"},
    dt.date: {"$ref": "#/$defs/day"},
    Location: {"$ref": "#/$defs/place"},
    Selection: {"$ref": "#/$defs/selection"},
}
_TEXTS = {
    "amount": ("An exact amount, with as many decimals as the currency has.", _AMOUNT),
    "number": ("An exact number, to two decimals at most.", _NUMBER),
    "day": ("A day, YYYY-MM-DD.", r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"),
    "place": ("A place in a file, as file:line:column, or empty.", ""),
}


def answers_schema() -> Schema:
    """The schema: one definition for each answer, under its name, and one for each part."""
    schemas = _AnswerSchemas()
    named = {name: schemas.record(cls) for name, cls in answers().items()}
    definitions: dict[str, Schema] = {
        name: {"type": "string", "description": meaning, **({"pattern": p} if p else {})}
        for name, (meaning, p) in _TEXTS.items()
    }
    definitions["selection"] = {
        "type": "object",
        "description": "A selection, in the shape of a selection file.",
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "https://quotes.example.com/answers.schema.json",
        "title": "Answers",
        "description": "What the command line prints with --json, and what it writes to .json "
        'files. Every answer names itself in "answer", and $defs has its shape under that name. '
        "Amounts and other exact numbers are text, so that no reader makes them inexact.",
        "type": "object",
        "required": ["answer"],
        "oneOf": [{"$ref": f"#/$defs/{name}"} for name in sorted(named)],
        "$defs": dict(sorted({**definitions, **schemas.definitions, **named}.items())),
    }


@frozen
class _OneOfWords:
    """The words of which a text of an answer is one."""

    words: tuple[str, ...]

    def altered(self, schema: Schema, _: Schemas, /) -> Schema:
        """The schema of such a text."""
        return {**schema, "enum": list(self.words)}


class _AnswerSchemas(Schemas):
    """Writes the schemas of classes as :mod:`configurator.answers.data` writes their values."""

    def __init__(self) -> None:
        super().__init__(_LEAVES, nullable=True)
        self._owners: dict[str, type] = {}

    def of(self, kind: Any) -> Schema:
        """The schema of a value of the type; a tuple is a list, whatever is in it."""
        if get_origin(kind) is tuple and get_args(kind)[1:] == (...,):
            return {"type": "array", "items": self.of(get_args(kind)[0])}
        return super().of(kind)

    def _annotated(self, kind: Any) -> Schema:
        """Only what a field means counts: what is asked of a file is no promise about answers."""
        told = [one for one in kind.__metadata__ if isinstance(one, str | _OneOfWords)]
        plain = kind.__origin__
        return super()._annotated(Annotated[plain, *told]) if told else self.of(plain)

    def record(self, cls: type, **asked: Any) -> Schema:
        """The schema of a class; an answer says which it is."""
        said = form_of(cls)
        if said.instead:
            return self.of(_returned(cls, said.instead))
        shape = super().record(cls, **asked)
        if not said.answer:
            return shape
        tag = {"const": said.answer, "description": "Which answer this is."}
        return {
            **shape,
            "required": ["answer", *shape["required"]],
            "properties": {"answer": tag, **shape["properties"]},
        }

    def _reference(self, cls: type) -> Schema:
        said = form_of(cls)
        if said.answer:
            return {"$ref": f"#/$defs/{said.answer}"}
        if said.instead:
            return self.of(_returned(cls, said.instead))
        name = re.sub(r"(?<=.)(?=[A-Z])", "-", cls.__name__).lower()
        name += "-parts" if name in answers() else ""
        if self._owners.setdefault(name, cls) is not cls:
            raise TypeError(f"two classes of answers are called {cls.__name__}")
        if name not in self.definitions:
            self.definitions[name] = {}
            self.definitions[name] = self.record(cls)
        return {"$ref": f"#/$defs/{name}"}

    def _entries(self, cls: type) -> Iterator[tuple[str, Any, bool]]:
        """The key and the type, with its meaning, of all that is written of a class."""
        said, hints, meanings = form_of(cls), hints_of(cls, include_extras=True), _meanings(cls)
        for entry in entries_of(cls):
            kind = hints.get(entry.name) or _returned(cls, entry.name)
            if entry.inline:
                yield from self._entries(bare(kind))
                continue
            if entry.shown is not None:
                nothing = type(None) in get_args(kind)
                kind = _returned(cls, entry.shown)
                kind = kind | None if nothing else kind
            if entry.name in said.values:
                kind = Annotated[kind, _OneOfWords(said.values[entry.name])]
            if entry.name in meanings:
                kind = Annotated[kind, meanings[entry.name]]
            elif not any(isinstance(one, str) for one in getattr(kind, "__metadata__", ())):
                kind = Annotated[kind, meaning_of(cls)]
            yield entry.key, kind, True


def _returned(cls: type, function: Any) -> Any:
    """The type that a property of the class, or a function, gives."""
    if isinstance(function, type):
        return function
    if isinstance(function, str):
        function = inspect.getattr_static(cls, function).fget
    return hints_of(getattr(function, "func", function), include_extras=True)["return"]


@cache
def _meanings(cls: type) -> dict[str, str]:
    """What the docstrings of a class and of its properties say that each of them means."""
    told = inspect.cleandoc(cls.__doc__ or "").partition("Attributes:\n")[2]
    fields = re.findall(r"^    (\w+): (.*(?:\n {5,}.*)*)", told, re.MULTILINE)
    found = {name: " ".join(meaning.split()) for name, meaning in fields}
    for entry in entries_of(cls):
        own = inspect.getattr_static(cls, entry.name, None)
        if isinstance(own, property):
            found[entry.name] = (own.__doc__ or "").partition("\n\n")[0]
    return {name: _sentence(meaning) for name, meaning in found.items()}


def _sentence(meaning: str) -> str:
    plain = re.sub(r"``|:(?:\w+:)?`[~.]?([^`]*)`", r"\1", " ".join(meaning.split()))
    plain = re.sub(r"\bNone\b", "null", plain).rstrip(".;")
    return f"{plain if meaning.startswith(('``', 'kg')) else capital(plain)}."
