"""YAML or JSON text to plain data, with the place of every key and value.

The text is read through its nodes, so every scalar still is the text that was typed; what it
means is decided by the schema's type for its place. Where a number is asked for, ``850`` becomes
one and goes straight to int or Decimal, while ``"850"`` stays text for the schema to refuse.
Where text is asked for, ``no``, ``1.10``, ``12:30`` and ``0750`` mean what was typed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, TypeAlias

import yaml
from attrs import Factory, frozen

from configurator.errors import Location, Problem

__all__ = ["Path", "Placed", "Schema", "Tree", "read_tree"]

Path: TypeAlias = tuple[str | int, ...]
Schema: TypeAlias = Mapping[str, Any]

_NUMBER = re.compile(r"-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,15})?")
_UNSEEN = re.compile(
    "[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
_NOTHING = ("", "~", "null")
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MOST_NODES = 2_000_000
_DEEPEST = 60


class Placed(dict[str, Any]):
    """A mapping that knows where it stood, and where the value of each key stood."""

    at: Location
    places: dict[str, Location]


@frozen
class Tree:
    """Data, where its keys and values stand, and what could not be read.

    Attributes:
        data: dicts, lists, str, int, Decimal, bool and None; None when there was no reading it.
        values: place of each value by its path.
        keys: place of each mapping key by the path of its value.
        problems: syntax errors, repeated keys and the like.
    """

    data: Any
    file: str
    values: dict[Path, Location] = Factory(dict)
    keys: dict[Path, Location] = Factory(dict)
    problems: list[Problem] = Factory(list)

    def at(self, path: Path) -> Location:
        """The place of the value at the path, or of the nearest one around it."""
        while path not in self.values and path:
            path = path[:-1]
        return self.values.get(path, Location(self.file, 1, 1))

    def key_at(self, path: Path) -> Location:
        """The place of the key whose value is at the path, else of the value."""
        return self.keys.get(path) or self.at(path)


def read_tree(text: str, file: str, schema: Schema) -> Tree:
    """Read one YAML 1.2 or JSON document, typing scalars as the schema asks.

    Never raises for anything in the text: what is wrong is in ``Tree.problems``.
    """
    problems: list[Problem] = []
    try:
        node = yaml.compose(text, Loader=_LOADER)
    except yaml.YAMLError as error:
        problems.append(_syntax(error, text, file))
        return Tree(None, file, problems=problems)
    except RecursionError:
        problems.append(Problem(Location(file, 1, 1), "it is nested too deeply", "syntax"))
        return Tree(None, file, problems=problems)
    if node is None:
        problems.append(Problem(Location(file, 1, 1), "the file is empty", "syntax"))
        return Tree(None, file, problems=problems)
    builder = _Builder(file, schema, problems)
    try:
        data = builder.build(node, schema, ())
    except _Unbounded as error:
        problems.append(Problem(error.place, str(error), "syntax", "write it out without aliases"))
        data = None
    return Tree(data, file, builder.values, builder.keys, problems)


class _Unbounded(Exception):
    def __init__(self, place: Location, sentence: str) -> None:
        super().__init__(sentence)
        self.place = place


class _Builder:
    def __init__(self, file: str, root: Schema, problems: list[Problem]) -> None:
        self.file, self.root, self.problems = file, root, problems
        self.values: dict[Path, Location] = {}
        self.keys: dict[Path, Location] = {}

    def build(self, node: yaml.Node, schema: Schema, path: Path) -> Any:
        place = self._place(node)
        self.values[path] = place
        if len(path) > _DEEPEST:
            raise _Unbounded(place, "it is nested too deeply, or an alias stands inside itself")
        if len(self.values) > _MOST_NODES:
            raise _Unbounded(place, f"it holds more than {_MOST_NODES} values")
        if not node.tag.startswith("tag:yaml.org,2002:"):
            self._say(place, f'the tag "{node.tag}" means nothing here', "syntax", "leave it out")
        schema = self._resolve(schema)
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, schema, path)
        if isinstance(node, yaml.SequenceNode):
            items = schema.get("items", {})
            return [self.build(n, items, (*path, i)) for i, n in enumerate(node.value)]
        assert isinstance(node, yaml.ScalarNode)
        return self._scalar(node, schema, place)

    def _mapping(self, node: yaml.MappingNode, schema: Schema, path: Path) -> Placed:
        known = schema.get("properties", {})
        other = schema.get("additionalProperties", {})
        data = Placed()
        data.at, data.places = self.values[path], {}
        for key_node, value_node in node.value:
            place = self._place(key_node)
            if not isinstance(key_node, yaml.ScalarNode):
                self._say(place, "a key must be a single word", "syntax")
                continue
            key = self._text(key_node.value, place)
            inside = (*path, key)
            if key in data:
                first = self.keys[inside]
                self._say(
                    place,
                    f'the key "{key}" stands here twice, first in line {first.line}',
                    "repeated-key",
                    "keep one of the two",
                )
                continue
            self.keys[inside] = place
            data[key] = self.build(value_node, known.get(key, other or {}), inside)
            data.places[key] = self.values[inside]
        return data

    def _scalar(self, node: yaml.ScalarNode, schema: Schema, place: Location) -> Any:
        text = self._text(node.value, place)
        kind = schema.get("type", ())
        kinds = (kind,) if isinstance(kind, str) else kind
        if node.style not in (None, ""):
            return text
        if text in _NOTHING:
            return None
        if "boolean" in kinds and text in ("true", "false"):
            return text == "true"
        if ("number" in kinds or "integer" in kinds) and _NUMBER.fullmatch(text):
            return int(text) if "integer" in kinds and "." not in text else Decimal(text)
        return text

    def _text(self, text: str, place: Location) -> str:
        unseen = _UNSEEN.search(text)
        if unseen:
            self._say(
                place,
                f"it holds the invisible character U+{ord(unseen.group()):04X}",
                "invisible-character",
                "type the text again without it",
            )
            return _UNSEEN.sub("", text)
        return text

    def _resolve(self, schema: Schema) -> Schema:
        while "$ref" in schema:
            target: Schema = self.root
            for step in schema["$ref"].removeprefix("#/").split("/"):
                target = target[step]
            schema = {**target, **{k: v for k, v in schema.items() if k != "$ref"}}
        return schema

    def _place(self, node: yaml.Node) -> Location:
        return Location(self.file, node.start_mark.line + 1, node.start_mark.column + 1)

    def _say(self, at: Location, sentence: str, code: str, hint: str = "") -> None:
        self.problems.append(Problem(at, sentence, code, hint))


def _syntax(error: yaml.YAMLError, text: str, file: str) -> Problem:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is None:
        position = getattr(error, "position", 0)
        before = text[:position]
        line, column = before.count("\n") + 1, position - (before.rfind("\n") + 1) + 1
        return Problem(
            Location(file, line, column), "this character may not stand in a text file", "syntax"
        )
    what = getattr(error, "problem", None) or "it cannot be read"
    if "expected a single document" in (getattr(error, "context", None) or ""):
        what = "a second document starts here"
    hint = "write spaces instead of tabs" if "\\t" in what or "'\t'" in what else ""
    return Problem(Location(file, mark.line + 1, mark.column + 1), what, "syntax", hint)
