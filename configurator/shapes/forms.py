"""How a value is written as data: which of its fields and properties, under which keys.

A class that says nothing is written with all its fields, each under its own name with ``-`` for
``_``. What differs is said once, by :func:`form` above the class; JSON and JSON Schema follow it.
What each field means is said by the docstring of its class.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, TypeVar

import attrs
from attrs import field, frozen

from configurator.errors import cut, whole

C = TypeVar("C", bound=type)

_LONGEST_PART = 40


def _names(given: str) -> tuple[str, ...]:
    return tuple(given.split())


@frozen(eq=False, repr=False)
class form:  # noqa: N801  # it is written above classes
    """How the values of the class below are written; names are given with spaces between.

    The class also gets a short ``repr``: what such a value holds is often a whole package.

    Attributes:
        answer: what the answer is called, under ``answer``; empty for a part of answers.
        also: properties that are written after the fields.
        hidden: fields that are not written.
        keys: keys of fields and properties that have another than their name.
        shown: what is written of a field or property, such as its figure as it is rounded; a field
            may say so by its metadata too.
        inline: fields whose own fields are in their place.
        instead: a property, or a function of the value, that is written in place of it all.
        values: what a field of text may be.
    """

    answer: str = ""
    also: tuple[str, ...] = field(default="", converter=_names, kw_only=True)
    hidden: tuple[str, ...] = field(default="", converter=_names, kw_only=True)
    keys: Mapping[str, str] = field(factory=dict, kw_only=True)
    shown: Mapping[str, Callable[[Any], Any]] = field(factory=dict, kw_only=True)
    inline: tuple[str, ...] = field(default="", converter=_names, kw_only=True)
    instead: str | Callable[[Any], Any] = field(default="", kw_only=True)
    values: Mapping[str, tuple[str, ...]] = field(factory=dict, kw_only=True)

    def __call__(self, cls: C) -> C:
        """Say it of the class.

        Raises:
            TypeError: the class has no such field or property.
        """
        fields = set(_fields(cls))
        wrong = {*self.hidden} - fields
        wrong |= {name for name in self.also if not isinstance(getattr(cls, name, None), property)}
        wrong |= {*self.keys, *self.shown, *self.values, *self.inline} - fields - {*self.also}
        if wrong:
            raise TypeError(f"{cls.__name__} has no {', '.join(sorted(wrong))}")
        _FORMS[cls] = self
        cls.__repr__ = brief  # type: ignore[assignment]
        return cls


@frozen(eq=False, repr=False)
class Entry:
    """One field or property as it is written: its name, its key, what is shown of it."""

    name: str
    key: str
    shown: Callable[[Any], Any] | None
    inline: bool


class Unpacked:
    """A value of few fields, which unpacks into them as a row of a table does."""

    __slots__ = ()

    def __iter__(self) -> Iterator[Any]:
        return (getattr(self, name) for name in _fields(type(self)))


_FORMS: dict[type, form] = {}
_PLAIN = form()


def by_name(pairs: Iterable[tuple[str, Decimal | int]]) -> dict[str, Decimal]:
    """Numbers that are held as pairs of a name and a number, by name."""
    return {name: Decimal(number) for name, number in pairs}


def as_texts(values: Iterable[object]) -> list[str]:
    """Values that are written as text, such as names."""
    return [str(value) for value in values]


def form_of(cls: type) -> form:
    """How values of the class are written."""
    return _FORMS.get(cls, _PLAIN)


def entries_of(cls: type) -> tuple[Entry, ...]:
    """What is written of a value of the class, in order."""
    said = form_of(cls)
    names = [name for name in _fields(cls) if name not in said.hidden]
    rounded = {field.name: field.metadata.get("shown") for field in attrs.fields(cls)}
    return tuple(
        Entry(
            name,
            said.keys.get(name, name.replace("_", "-")),
            said.shown.get(name) or rounded.get(name),
            name in said.inline,
        )
        for name in (*names, *said.also)
    )


def answers() -> dict[str, type]:
    """The classes of answers that have been loaded, by the answer's name."""
    return {said.answer: cls for cls, said in _FORMS.items() if said.answer}


def _fields(cls: type) -> tuple[str, ...]:
    """The fields of an attrs class, in their order."""
    return tuple(field.name for field in attrs.fields(cls))


def brief(value: Any) -> str:
    """A value in at most 200 characters: what is short in it as it is, of lists how long they are.

    Nothing that a value holds is shown by its own ``repr``.
    """
    parts = []
    for one in attrs.fields(type(value)):
        if not one.repr:
            continue
        held = getattr(value, one.name)
        if isinstance(held, tuple | list | dict | frozenset):
            told = f"<{len(held)}>"
        elif held is None or isinstance(held, bool):
            told = repr(held)
        elif isinstance(held, int):
            told = whole(held)
        elif attrs.has(type(held)):
            told = str(held) if "__str__" in vars(type(held)) else "<...>"
        else:
            told = str(held)
            if isinstance(held, str):
                told = repr(told if len(told) <= _LONGEST_PART else f"{told[:_LONGEST_PART]}...")
        parts.append(f"{one.name}={told}")
    return cut(f"{type(value).__qualname__}({', '.join(parts)})")
