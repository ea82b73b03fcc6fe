"""The JSON body of a request, read strictly: figures exact, each key once, each value's pointer."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import yaml

from configurator.catalogue.nodes import document, place_of
from configurator.errors import ConfiguratorError, Location

MOST_BYTES = 1_000_000
"""Largest body."""

_DEEPEST = 40
_DEEP = f"the body holds values more than {_DEEPEST} deep"
_FIGURE = re.compile(r"-?[0-9]{1,40}(\.[0-9]{1,40})?([eE][+-]?[0-9]{1,2})?")


class NotJson(ConfiguratorError):
    """The body cannot be read.

    Attributes:
        pointer: to the value that keeps it from being read (RFC 6901).
    """

    def __init__(self, sentence: str, pointer: str = "") -> None:
        super().__init__(sentence)
        self.pointer = pointer


class _Pairs(list[tuple[str, Any]]):
    """An object, with its keys as they were sent."""


class _SentNumber(str):
    """A number, with its digits as they were sent."""

    __slots__ = ()


def read_body(content: bytes) -> dict[str, Any]:
    """The object that is sent, with int and Decimal for its numbers.

    Raises:
        NotJson: it is none.
    """
    try:
        data = json.loads(
            content.decode(),
            parse_float=_SentNumber,
            parse_int=_SentNumber,
            parse_constant=_SentNumber,
            object_pairs_hook=_Pairs,
        )
    except UnicodeDecodeError as error:
        raise NotJson(f"the body is not UTF-8 text (byte {error.start})") from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        what = error.msg.removesuffix(" at").removesuffix(" starting")
        raise NotJson(f"the body is not JSON: {what} at {where}") from None
    except RecursionError:
        raise NotJson(_DEEP) from None
    read = _plain(data, "", 0)
    if not isinstance(read, dict):
        raise NotJson("the body is no object: send one, such as {}")
    return read


def _plain(value: Any, pointer: str, depth: int) -> Any:
    """The value as dicts, lists, texts and exact numbers."""
    if depth > _DEEPEST:
        raise NotJson(_DEEP, pointer)
    if isinstance(value, _Pairs):
        found: dict[str, Any] = {}
        for key, held in value:
            inside = joined_pointer(pointer, key)
            if key in found:
                raise NotJson(f'the key "{_text(key, inside)[:60]}" is here twice', inside)
            found[_text(key, inside)] = _plain(held, inside, depth + 1)
        return found
    if isinstance(value, list):
        return [_plain(one, f"{pointer}/{n}", depth + 1) for n, one in enumerate(value)]
    if isinstance(value, _SentNumber):
        if not _FIGURE.fullmatch(value):
            raise NotJson(f"{value[:60]} is no number that is read here", pointer)
        return int(value) if value.lstrip("-").isdigit() else Decimal(value)
    return _text(value, pointer) if isinstance(value, str) else value


def _text(value: str, pointer: str) -> str:
    if any("\ud800" <= one <= "\udfff" for one in value):
        raise NotJson("half of a pair of escapes stands alone in a text", _seen(pointer))
    return value


def _seen(text: str) -> str:
    return text.encode(errors="replace").decode()


def joined_pointer(pointer: str, step: str | int) -> str:
    """The pointer to what is inside."""
    return f"{pointer}/{str(step).replace('~', '~0').replace('/', '~1')}"


class Pointers:
    """Where in a body the places are that problems name.

    Texts made of parts of the body are read as files; each is named by the pointer to its part.
    """

    def __init__(self) -> None:
        self._texts: dict[str, tuple[str, str]] = {}
        self._known: dict[str, Mapping[tuple[int, int], str]] = {}

    def of(self, name: str, text: str, wrapped: str = "") -> None:
        """Know a text by the pointer to what it holds.

        Args:
            name: the pointer.
            text: JSON, with a line for each value.
            wrapped: where in the text that part stands.
        """
        self._texts[name] = text, wrapped

    def to(self, at: Location) -> str:
        """The pointer to a place; empty, which is the whole body, where it is not known."""
        if at.line and at.path in self._texts:
            inside = self._places(at.path).get((at.line, at.column), "")
            return at.path + inside.removeprefix(self._texts[at.path][1])
        return at.path if at.path.startswith("/") else ""

    def _places(self, name: str) -> Mapping[tuple[int, int], str]:
        if name not in self._known:
            self._known[name] = _places(self._texts[name][0])
        return self._known[name]


def _places(text: str) -> Mapping[tuple[int, int], str]:
    """The pointer of every value, and of its key, by line and column."""
    found: dict[tuple[int, int], str] = {}

    def look(node: yaml.Node, pointer: str, *names: yaml.Node) -> None:
        for one in (*names, node):
            at = place_of(one)
            found[at.line, at.column] = pointer
        if isinstance(node, yaml.MappingNode):
            for key, held in node.value:
                look(held, joined_pointer(pointer, key.value), key)
        elif isinstance(node, yaml.SequenceNode):
            for number, one in enumerate(node.value):
                look(one, f"{pointer}/{number}")

    root = document(text, "")
    if isinstance(root, yaml.Node):
        look(root, "")
    return found
