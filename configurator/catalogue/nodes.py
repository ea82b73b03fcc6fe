"""YAML or JSON text to plain data, with the place of every key and value.

The text is read through its nodes, so every scalar still is the text that was typed; what it
means is decided by the schema's type for its place. Where a number is asked for, ``850`` becomes
one and goes straight to int or Decimal, while ``"850"`` stays text for the schema to refuse.
Where text is asked for, ``no``, ``1.10``, ``12:30`` and ``0750`` mean what was typed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeAlias

import yaml
from attrs import Factory, frozen

from configurator.catalogue.syntax import ALLOWED_DEPTH, DEEP, DEEP_HINT, syntax_problem
from configurator.errors import Location, Problem
from configurator.shapes import Schema

Path: TypeAlias = tuple[str | int, ...]

MOST_DIGITS, MOST_DECIMALS = 12, 6
"""How many digits a figure may have before the point, and after it; noughts at the end are free."""

_NUMBER = re.compile(
    rf"-?(0|[1-9][0-9]{{0,{MOST_DIGITS - 1}}})(\.[0-9]{{1,{MOST_DECIMALS}}}0{{0,40}})?"
)
_LAST_NOUGHTS = re.compile(r"(\.[0-9]{2}(?:[0-9]*[1-9])?)0+$")
"""Noughts at the end of a figure, beyond two decimals."""

_UNSEEN = re.compile(
    "[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff\u200b\u2028\u2029"
    "\u00ad\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180e\u2060-\u2065\u206a-\u206f\u2800\u3164\uffa0"
    "\ufff0-\ufffb\U0001d173-\U0001d17a\U000e0000-\U000e007f]"
)
_PAIR = re.compile(
    r"(?<!\\)((?:\\\\)*)\\u(d[89ab][0-9a-f]{2})\\u(d[c-f][0-9a-f]{2})", re.IGNORECASE
)
_NOTHING = ("", "~", "null")
_MOST_REPEATED = 100_000
_CORE = "tag:yaml.org,2002:"
_UNTAGGED = "untagged"
_TEXT = f"{_CORE}str"


def _tag(_: Any, kind: type, __: str | None, plain: Any) -> str:
    if kind is yaml.ScalarNode:
        return _UNTAGGED if plain[0] else _TEXT
    return f"{_CORE}{'map' if kind is yaml.MappingNode else 'seq'}"


def _nothing(*_: Any) -> None:
    """Nothing depends on where in the document a node is."""


_LOADER: Any = type(
    "_Loader",
    (getattr(yaml, "CSafeLoader", yaml.SafeLoader),),
    {"resolve": _tag, "descend_resolver": _nothing, "ascend_resolver": _nothing},
)
"""The reader, leaving it to the schema what an unquoted word means."""

_TAGS = (_UNTAGGED, _TEXT, f"{_CORE}seq", f"{_CORE}map")


class Placed(dict[str, Any]):
    """A mapping that knows where it and the value of each of its keys stood."""

    def __init__(self, items: Mapping[str, Any], node: yaml.Node) -> None:
        super().__init__(items)
        self.node = node
        self.inner: dict[str, tuple[yaml.Node, yaml.Node]] = {}

    @property
    def at(self) -> Location:
        """Where it stood."""
        return place_of(self.node)

    def place(self, key: str) -> Location:
        """Where the value of the key stood; the mapping's own place for a key made up later."""
        return place_of(self.inner[key][1]) if key in self.inner else self.at

    def like(self, items: Mapping[str, Any]) -> Placed:
        """Another mapping, standing at the same place."""
        other = Placed(items, self.node)
        other.inner = self.inner
        return other


@frozen
class Tree:
    """Data, where they stand, and what could not be read.

    Attributes:
        data: dicts, lists, str, int, Decimal, bool and None; None when there was no reading it.
        file: name of the file, or of that which names the others.
        root: the document, for looking up places.
        problems: syntax errors, repeated keys and the like.
        refused: places of values that were found wrong, so that each is spoken of once.
        whole: False when names may be missing, because a part was left out as a repetition.
    """

    data: Any
    file: str
    root: yaml.Node | None = None
    problems: list[Problem] = Factory(list)
    refused: set[Location] = Factory(set)
    whole: bool = True

    def at(self, path: Path) -> Location:
        """The place of the value at the path, or of the nearest one around it."""
        return self._place(self._nodes(path)[1])

    def key_at(self, path: Path) -> Location:
        """The place of the key whose value is at the path, or of the nearest value around it."""
        key, value = self._nodes(path)
        return self._place(key or value)

    def _place(self, node: yaml.Node | None) -> Location:
        return Location(self.file, 1, 1) if node is None else place_of(node)

    def _nodes(self, path: Path) -> tuple[yaml.Node | None, yaml.Node | None]:
        key, node, data = None, self.root, self.data
        for step in path:
            if isinstance(data, Placed) and step in data.inner:
                (key, node), data = data.inner[str(step)], data[str(step)]
            elif isinstance(data, list) and isinstance(step, int) and node is not None:
                key, node, data = None, node.value[step], data[step]
            else:
                return None, node
        return key, node


def place_of(node: yaml.Node) -> Location:
    """Where the node stands."""
    mark = node.start_mark
    return Location(mark.name, mark.line + 1, mark.column + 1)


def first_at(first: Location, second: Location) -> str:
    """How a sentence at the second place names the first."""
    line = f"line {first.line}"
    return line if first.file == second.file else f"{line} of {first.file}"


class _Named:
    """A text for the reader, with the name that the marks of its nodes get."""

    def __init__(self, text: str, name: str) -> None:
        self.name, self._content, self._at = name, text.encode(), 0

    def read(self, most: int = 0, /) -> bytes:
        """The next bytes of it, no more than that."""
        start, self._at = self._at, self._at + most
        return self._content[start : self._at]


def read_tree(text: str, file: str, schema: Schema) -> Tree:
    """Read one YAML 1.2 or JSON document, typing scalars as the schema asks.

    Never raises for anything in the text: what is wrong is in ``Tree.problems``.
    """
    root = document(text, file)
    if isinstance(root, Problem):
        return Tree(None, file, problems=[root])
    return typed(root, schema, [text])


def document(text: str, file: str) -> yaml.Node | Problem:
    """The text as nodes, each of which knows its file, or what keeps it from being read."""
    try:
        node = yaml.compose(_Named(joined_pairs(text)[0], file), Loader=_LOADER)
    except (yaml.YAMLError, UnicodeEncodeError, RecursionError) as error:
        return syntax_problem(error, text, file)
    if node is None or (node.tag == _UNTAGGED and node.value in _NOTHING):
        at = Location(file, 1, 1) if node is None else place_of(node)
        return Problem(at, "the file is empty", "syntax", "fill it in")
    return node


def typed(root: yaml.Node, schema: Schema, texts: Sequence[str]) -> Tree:
    """A document as data, typing scalars as the schema asks.

    Args:
        root: the document.
        schema: a JSON Schema.
        texts: those that it was read from.
    """
    file = root.start_mark.name
    try:
        if any("*" in text for text in texts):
            _Measure().size(root)
        builder = _Builder(any("\\" in text or _has_unseen(text) for text in texts))
        data = builder.build(root, schema, 0)
    except _Unbounded as error:
        problem = Problem(place_of(error.node), error.sentence, "syntax", error.hint)
        return Tree(None, file, root, [problem])
    return Tree(data, file, root, builder.problems, builder.refused, builder.whole)


def joined_pairs(text: str) -> tuple[str, list[int]]:
    """The text, with each pair of escapes that JSON writes for one character joined to one.

    Returns:
        The text as the reader takes it, and where in it each joined escape ends: up to there it has
        two characters less.
    """
    ends: list[int] = []
    if not text.lstrip().startswith("{"):
        return text, ends

    def join(pair: re.Match[str]) -> str:
        high, low = int(pair[2], 16), int(pair[3], 16)
        ends.append(pair.end() - 2 * (len(ends) + 1))
        return f"{pair[1]}\\U{0x10000 + (high - 0xD800) * 0x400 + low - 0xDC00:08X}"

    return _PAIR.sub(join, text), ends


def _has_unseen(text: str) -> bool:
    return _UNSEEN.search(text.replace("\r\n", "\n")) is not None


class _Unbounded(Exception):
    def __init__(self, node: yaml.Node, sentence: str, hint: str) -> None:
        super().__init__(sentence)
        self.node, self.sentence, self.hint = node, sentence, hint


class _Measure:
    """Counts values with their aliases written out, without writing them out.

    Attributes:
        sizes: of each list and group of keys met, 0 while it is being counted.
        written: how many values stand in the file itself, as far as it was counted.
    """

    def __init__(self) -> None:
        self.sizes: dict[yaml.Node, int] = {}
        self.written = 0

    def size(self, node: yaml.Node, depth: int = 0) -> int:
        if isinstance(node, yaml.ScalarNode):
            self.written += 1
            return 1
        if depth > ALLOWED_DEPTH:
            raise _Unbounded(node, DEEP, DEEP_HINT)
        if self.sizes.get(node) == 0:
            hint = "write it out without the alias"
            raise _Unbounded(node, "this holds an alias of itself", hint)
        if node not in self.sizes:
            self.sizes[node] = 0
            self.written += 1
            inner = node.value
            if isinstance(node, yaml.MappingNode):
                inner = [part for pair in inner for part in pair]
            self.sizes[node] = 1 + sum([self.size(part, depth + 1) for part in inner])
            if self.sizes[node] - self.written > _MOST_REPEATED:
                sentence = f"its aliases, written out, stand for {self.sizes[node]} values"
                hint = f"keep it to {_MOST_REPEATED}, or leave aliases out"
                raise _Unbounded(node, sentence, hint)
        return self.sizes[node]


class _Builder:
    def __init__(self, unseen: bool) -> None:
        self.unseen = unseen
        self.problems: list[Problem] = []
        self.refused: set[Location] = set()
        self.whole = True

    def build(self, node: yaml.Node, schema: Schema, depth: int) -> Any:
        if depth > ALLOWED_DEPTH:
            raise _Unbounded(node, DEEP, DEEP_HINT)
        if node.tag not in _TAGS:
            self._tagged(node)
        if isinstance(node, yaml.ScalarNode):
            return self._scalar(node, schema)
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, schema, depth)
        assert isinstance(node, yaml.SequenceNode)
        items = schema.get("items", {})
        return [self.build(inner, items, depth + 1) for inner in node.value]

    def _mapping(self, node: yaml.MappingNode, schema: Schema, depth: int) -> Placed:
        known = schema.get("properties", {})
        other = schema.get("additionalProperties") or {}
        data = Placed({}, node)
        places = data.inner
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                sentence = "a list or a group of keys is where a key should be"
                hint = "put text with brackets or braces in quotation marks"
                self._say(node, sentence, "syntax", hint)
                self.refused.add(place_of(node))
                self.whole = False
                continue
            if key_node.tag not in _TAGS:
                self._tagged(key_node)
            key = self._text(key_node) if self.unseen else key_node.value
            if key in data:
                first = first_at(place_of(places[key][0]), place_of(key_node))
                sentence = f'the key "{key}" is here twice, first in {first}'
                self._say(key_node, sentence, "repeated-key", "keep one of the two")
                self.whole = self.whole and isinstance(value_node, yaml.ScalarNode)
                continue
            places[key] = key_node, value_node
            data[key] = self.build(value_node, known.get(key, other), depth + 1)
        return data

    def _scalar(self, node: yaml.ScalarNode, schema: Schema) -> Any:
        text = self._text(node) if self.unseen else node.value
        if node.style or node.tag == _TEXT:
            return text
        if text in _NOTHING:
            return None
        kind = schema.get("type", ())
        if kind == "string":
            return text
        kinds = (kind,) if isinstance(kind, str) else kind
        if "boolean" in kinds and text in ("true", "false"):
            return text == "true"
        if ("number" in kinds or "integer" in kinds) and _NUMBER.fullmatch(text):
            if "integer" in kinds and "." not in text:
                return int(text)
            return Decimal(_LAST_NOUGHTS.sub(r"\1", text))
        return text

    def _tagged(self, node: yaml.Node) -> None:
        tag = node.tag.replace(_CORE, "!!")
        hint = 'leave it out, or put text that begins with "!" in quotation marks'
        self._say(node, f'the tag "{tag}" means nothing here', "syntax", hint)

    def _text(self, node: yaml.ScalarNode) -> str:
        text: str = node.value
        found = _UNSEEN.search(text)
        if found:
            self._say(
                node,
                f"this text holds the invisible character U+{ord(found.group()):04X}",
                "invisible-character",
                "type the text again without it",
            )
            return _UNSEEN.sub("", text)
        return text

    def _say(self, node: yaml.Node, sentence: str, code: str, hint: str = "") -> None:
        self.problems.append(Problem(place_of(node), sentence, code, hint))
