"""Selections made in Python, held to the same bounds as those in a file.

What is of a wrong type is a mistake in the program, and raises WrongArgument; what a file could say
too is written out as one and asked of the same schema, so that the words are the same.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache, lru_cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import attrs

from configurator.catalogue.fields import Pick, Written, as_picks
from configurator.catalogue.model import Catalogue, Choice
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.schema_errors import schema_problems
from configurator.errors import (
    ConfiguratorError,
    Location,
    Problem,
    WrongArgument,
    as_given,
    whole,
)
from configurator.shapes.schema import key_of
from configurator.shapes.shipped import linked
from configurator.words import capital, near_miss, text

SELECTIONS = "a path, the text or bytes of a file, data or a Selection"
"""What a selection is given as, for people."""


def require_kind(name: str, value: object, kind: type, wanted: str = "") -> None:
    """Raise unless an argument is of its type; ``wanted`` says what to give, if not only that.

    Raises:
        WrongArgument: naming the argument, what it is, and what it should be.
    """
    if not _is_one(value, kind):
        raise WrongArgument(f"{name} is {as_given(value)}; give {wanted or _with_article(kind)}")


def _is_one(value: object, kind: type) -> bool:
    """Whether a value is of the type; a truth is no number, and a moment is no day."""
    apart = {int: bool, dt.date: dt.datetime}.get(kind, ())
    return isinstance(value, kind) and not isinstance(value, apart)


_MOST_DIGITS = 30
"""Digits before the point that a figure of a selection may have."""

_TOO_LARGE = 10**_MOST_DIGITS


def require_figure(name: str, value: object) -> None:
    """Raise unless an argument is a finite number of exact digits.

    Raises:
        WrongArgument: naming the argument, what it is, and what it should be.
    """
    if not isinstance(value, int | Decimal) or isinstance(value, bool):
        raise WrongArgument(f"{name} is {as_given(value)}; give an int or a Decimal")
    if isinstance(value, Decimal) and not value.is_finite():
        raise WrongArgument(f"{name} is {value}; give a finite Decimal")
    if abs(value) >= _TOO_LARGE:
        raise WrongArgument(
            f"{name} is {as_given(value)}; give a figure of {_MOST_DIGITS} digits at most"
        )


def require_count(name: str, value: int, least: int = 1) -> None:
    """Raise unless an argument is a whole number, and large enough.

    Raises:
        ConfiguratorError: it is too small.
        WrongArgument: naming the argument, what it is, and what it should be.
    """
    require_kind(name, value, int)
    if value < least:
        known = {"name": name, "value": whole(value), "least": least}
        raise ConfiguratorError(text("{name} is {value}; give {least} or more", **known))


def require_each(name: str, values: object, kind: type) -> None:
    """Raise unless an argument is a list of values of the type, and no text.

    Raises:
        WrongArgument: naming the argument, what it is, and what it should be.
    """
    if isinstance(values, str) or not isinstance(values, Sequence):
        raise WrongArgument(f"{name} is {as_given(values)}; give a list")
    for n, one in enumerate(values):
        require_kind(f"{name}[{n}]", one, kind)


def require_answer(value: object) -> None:
    """Raise unless an argument is what a question is answered with.

    Raises:
        WrongArgument: it is not.
    """
    if not attrs.has(type(value)) and not isinstance(value, tuple | list | Mapping):
        raise WrongArgument(f"answer is {as_given(value)}; give what a method such as check() gave")


def picks_of(name: str, given: object) -> tuple[Pick, ...]:
    """An argument that is several picks, each of them or its ``choice=option``.

    Raises:
        WrongArgument: naming the argument, what it is, and what it should be.
    """
    if isinstance(given, str | Pick) or not isinstance(given, Iterable):
        raise WrongArgument(
            f'{name} is {as_given(given)}; give a list, such as ["tray=alloy-1800"]'
        )
    found = as_picks(tuple(given))
    for n, one in enumerate(found):
        require_fields(f"{name}[{n}]", one, Pick)
    return found


def require_fields(name: str, value: object, kind: type[attrs.AttrsInstance]) -> None:
    """Raise unless a record, and every field inside it, is of its type.

    Raises:
        WrongArgument: naming the field, what it is, and what it should be.
    """
    _require(value, kind, name)


@attrs.frozen(repr=False, eq=False)
class Stated(Written):
    """A record that programs make too: a field of a wrong type is refused at once."""

    def __attrs_post_init__(self) -> None:
        require_fields(type(self).__name__, self, type(self))


@cache
def _kinds(cls: type[attrs.AttrsInstance]) -> tuple[tuple[str, Any], ...]:
    kinds = get_type_hints(cls)
    return tuple(
        (f.name, kinds[f.name]) for f in attrs.fields(cls) if f.name not in ("at", "source")
    )


def _with_article(kind: type) -> str:
    return f"{'an' if kind.__name__[0].lower() in 'aeio' else 'a'} {kind.__name__}"


def _require(value: Any, kind: Any, where: str) -> None:
    if type(value) is kind and kind in (str, bool):
        return
    if get_origin(kind) in (Union, UnionType):
        if value is None:
            return
        (kind,) = (one for one in get_args(kind) if one is not type(None))
    if get_origin(kind) is tuple:
        inner = get_args(kind)
        if type(value) is not tuple:
            raise WrongArgument(f"{where} is {as_given(value)}; give a tuple")
        several = inner[1:] == (...,)
        if not several and len(value) != len(inner):
            raise WrongArgument(f"{where} has {len(value)} entries; give {len(inner)}")
        for n, one in enumerate(value):
            _require(one, inner[0] if several else inner[n], f"{where}[{n}]")
        return
    require_kind(where, value, kind)
    if kind is int and abs(value) >= _TOO_LARGE:
        require_figure(where, value)
    if kind is Decimal and not value.is_finite():
        raise WrongArgument(f"{where} is {value}; give a finite Decimal")
    if attrs.has(kind):
        for name, inner in _kinds(kind):
            _require(getattr(value, name), inner, f"{where}.{name}")


def value_problems(selection: Any) -> tuple[Problem, ...]:
    """What a file with the selection's values would be refused for; its picks are asked apart."""
    return _of_values(attrs.evolve(selection, picks=()))


@lru_cache(maxsize=64)
def _of_values(selection: Any) -> tuple[Problem, ...]:
    """The same of one without picks; 0.5 ms, asked again with every other pick of a package."""
    written = _text({"format": 1, **dict(_written(selection))})
    tree = read_tree(written, "selection", linked("selection"))
    found = (*tree.problems, *schema_problems(tree))
    return tuple(attrs.evolve(one, at=Location("selection", 0, 0)) for one in found)


def _written(record: Any) -> Iterator[tuple[str, Any]]:
    """The record's fields that say anything, by their keys in a file."""
    cls: type[attrs.AttrsInstance] = type(record)
    for name, _ in _kinds(cls):
        value = getattr(record, name)
        if value is None or (isinstance(value, str | tuple) and not value):
            continue
        if name == "limits":
            value = dict(value)
        elif isinstance(value, tuple):
            value = [_one(inner) for inner in value]
        else:
            value = _one(value)
            if value == {} and name == "travel":
                continue
        yield key_of(name), value


def _one(value: Any) -> Any:
    if isinstance(value, Pick):
        return str(value)
    return dict(_written(value)) if attrs.has(type(value)) else value


def _text(value: Any) -> str:
    """JSON, with the digits of a Decimal as they are."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)}: {_text(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_text, value)) + "]"
    return format(value, "f") if isinstance(value, Decimal) else json.dumps(value)


_FEW = 12
"""Ids that a sentence can list."""


def choice_of(catalogue: Catalogue, choice: str) -> Choice:
    """The choice by its id.

    Raises:
        ConfiguratorError: there is no such choice.
    """
    require_kind("choice", choice, str)
    if choice not in catalogue.by_id:
        known = '"configurator catalogue list" lists all of them'
        if len(catalogue.by_id) <= _FEW:
            known = f"known here: {', '.join(catalogue.by_id)}"
        hint = capital(near_miss(choice, catalogue.by_id) or known)
        raise ConfiguratorError(f'there is no choice "{choice}". {hint}')
    return catalogue.by_id[choice]
