"""YAML or JSON text to nodes, each of which knows its place and still is what was typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from operator import is_
from typing import Any, TypeAlias

import yaml

from configurator.catalogue.syntax import ALLOWED_DEPTH, DEEP, DEEP_HINT, syntax_problem
from configurator.errors import Location, Problem

Path: TypeAlias = tuple[str | int, ...]

_PAIR = re.compile(
    r"(?<!\\)((?:\\\\)*)\\u(d[89ab][0-9a-f]{2})\\u(d[c-f][0-9a-f]{2})", re.IGNORECASE
)
NOTHING = ("", "~", "null")
_MOST_REPEATED = 100_000
CORE = "tag:yaml.org,2002:"
UNTAGGED = "untagged"
QUOTED = f"{CORE}str"


def _tag(_: Any, kind: type, __: str | None, plain: Any) -> str:
    if kind is yaml.ScalarNode:
        return UNTAGGED if plain[0] else QUOTED
    return f"{CORE}{'map' if kind is yaml.MappingNode else 'seq'}"


_LOADER: Any = type(
    "_Loader",
    (getattr(yaml, "CSafeLoader", yaml.SafeLoader),),
    {"resolve": _tag, "descend_resolver": is_, "ascend_resolver": bool},
)
"""The reader, leaving it to the schema what an unquoted word means.

Nothing depends on where in the document a node is, so what is called at each is anything built in:
35 000 calls of a function of ours are a hundredth of a cold ``price``.
"""


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


def place_of(node: yaml.Node) -> Location:
    """Where the node stands."""
    mark = node.start_mark
    return Location(mark.name, mark.line + 1, mark.column + 1)


def text_at(root: yaml.Node, *keys: str) -> str:
    """The text that stands below these keys, one in another; empty where there is none."""
    for key in keys:
        pairs = root.value if isinstance(root, yaml.MappingNode) else ()
        found = next((inner for name, inner in pairs if name.value == key), None)
        if found is None:
            return ""
        root = found
    plain = isinstance(root, yaml.ScalarNode) and root.value not in NOTHING
    return str(root.value) if plain else ""


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


def document(text: str, file: str) -> yaml.Node | Problem:
    """The text as nodes, each of which knows its file, or what keeps it from being read."""
    try:
        node = yaml.compose(_Named(joined_pairs(text)[0], file), Loader=_LOADER)
    except (yaml.YAMLError, UnicodeEncodeError, RecursionError) as error:
        return syntax_problem(error, text, file)
    if node is None or (node.tag == UNTAGGED and node.value in NOTHING):
        at = Location(file, 1, 1) if node is None else place_of(node)
        return Problem(at, "the file is empty", "syntax", "fill it in")
    return node


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


class Unbounded(Exception):
    """A document that goes on for ever, or nearly: where, what, and what to do."""

    def __init__(self, node: yaml.Node, sentence: str, hint: str) -> None:
        super().__init__(sentence)
        self.node, self.sentence, self.hint = node, sentence, hint


def require_bounded(root: yaml.Node) -> None:
    """Make sure that the document with its aliases written out is no larger than may be.

    Raises:
        Unbounded: it is.
    """
    _Measure().size(root)


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
            raise Unbounded(node, DEEP, DEEP_HINT)
        if self.sizes.get(node) == 0:
            hint = "write it out without the alias"
            raise Unbounded(node, "this holds an alias of itself", hint)
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
                raise Unbounded(node, sentence, hint)
        return self.sizes[node]
