"""Nodes to plain data as a schema asks, and all that it refuses of them, in one walk.

Every scalar is the text that was typed; what it means is decided by the schema's type for its
place. Where a number is asked for, ``850`` becomes one and goes straight to int or Decimal, while
``"850"`` stays text and is refused. Where text is asked for, ``no``, ``1.10``, ``12:30`` and
``0750`` mean what was typed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache, partial
from operator import contains, eq, ge, le, lt
from typing import Any, TypeAlias

import yaml
from attrs import Factory, frozen

from configurator.catalogue.nodes import (
    ALLOWED_DEPTH,
    CORE,
    DEEP,
    DEEP_HINT,
    NOTHING,
    QUOTED,
    UNTAGGED,
    Placed,
    Unbounded,
    document,
    first_at,
    place_of,
    require_bounded,
)
from configurator.errors import Location, MoneyError, Problem
from configurator.money import currencies, exponent
from configurator.shapes.schema import Schema
from configurator.words import spoken, text

Path: TypeAlias = tuple[str | int, ...]
_Test: TypeAlias = Callable[[Any], object]

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
_TAGS = (UNTAGGED, QUOTED, f"{CORE}seq", f"{CORE}map")


DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
"""How a day is written."""


@frozen(eq=False, repr=False)
class Fault:
    """What a schema refuses.

    Attributes:
        path: of the value, or of the mapping whose key it is.
        word: the keyword of the schema; ``keys`` for keys that are missing or unknown.
        asked: what stands there under the keyword; the whole schema for ``keys``.
        value: what was read.
        is_key: it is a key.
    """

    path: Path
    word: str
    asked: Any
    value: Any
    is_key: bool = False


_FILE = text("the file")


@frozen(eq=False, repr=False)
class Tree:
    """Data, where they stand, and what could not be read.

    Attributes:
        data: dicts, lists, str, int, Decimal, bool and None; None when there was no reading it.
        file: name of the file, or of that which names the others.
        root: the document, for looking up places.
        problems: syntax errors, repeated keys and the like.
        refused: places of values that were found wrong, so that each is spoken of once.
        whole: False when names may be missing, because a part was left out as a repetition.
        faults: what the schema refuses.
        currency: code whose decimals amounts may have.
        language: of the catalogue's papers, in which every text has to be.
        called: what a sentence calls the whole of it.
    """

    data: Any
    file: str
    root: yaml.Node | None = None
    problems: list[Problem] = Factory(list)
    refused: set[Location] = Factory(set)
    whole: bool = True
    faults: Sequence[Fault] = ()
    currency: str = ""
    language: str = ""
    called: str = _FILE

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


def read_tree(text: str, file: str, schema: Schema, currency: str = "", language: str = "") -> Tree:
    """Read one YAML 1.2 or JSON document as a schema asks.

    Never raises for anything in the text: what is wrong is in ``problems`` and ``faults``.
    """
    root = document(text, file)
    if isinstance(root, Problem):
        return Tree(None, file, problems=[root])
    return typed(root, schema, [text], currency, language)


def typed(
    root: yaml.Node, schema: Schema, texts: Sequence[str], currency: str = "", language: str = ""
) -> Tree:
    """A document as data.

    Args:
        root: the document.
        schema: a JSON Schema whose references are linked.
        texts: those that it was read from.
        currency: code whose decimals amounts may have.
        language: of the catalogue's papers, in which every text has to be.
    """
    file = root.start_mark.name
    try:
        if any("*" in text for text in texts):
            require_bounded(root)
        unseen = any("\\" in text or _has_unseen(text) for text in texts)
        builder = _Builder(unseen, _formats(currency, language))
        data = builder.build(root, _shape(schema), 0)
    except Unbounded as error:
        problem = Problem(place_of(error.node), error.sentence, "syntax", error.hint)
        return Tree(None, file, root, [problem])
    return Tree(
        data,
        file,
        root,
        builder.problems,
        builder.refused,
        builder.whole,
        builder.faults,
        currency,
        language,
    )


def _has_unseen(text: str) -> bool:
    return _UNSEEN.search(text.replace("\r\n", "\n")) is not None


@lru_cache(maxsize=8)
def _formats(currency: str, language: str) -> Mapping[str, _Test]:
    """What the formats that schemas name ask of a value of their type."""
    try:
        digits = exponent(currency)
    except MoneyError:
        digits = None

    def is_money(value: Decimal) -> bool:
        places = value.as_tuple().exponent
        return digits is None or not isinstance(places, int) or -places <= digits

    def is_in_language(value: Mapping[str, str]) -> bool:
        return bool(spoken(value, language))

    return {
        "money": is_money,
        "date": _is_date,
        "currency": currencies().__contains__,
        "languages": is_in_language,
    }


def _is_date(value: str) -> bool:
    try:
        return bool(DAY.fullmatch(value) and date.fromisoformat(value))
    except ValueError:
        return False


def _is_unique(value: list[Any]) -> bool:
    marked = [(type(one) is bool, one) for one in value]
    return all(marked.count(one) == 1 for one in marked)


_EVERY: dict[str, Callable[[Any], _Test]] = {
    "enum": lambda asked: partial(contains, asked),
    "const": lambda asked: partial(eq, asked),
}
_NUMBER_TESTS: dict[str, Callable[[Any], _Test]] = {
    **_EVERY,
    "minimum": lambda asked: partial(le, asked),
    "maximum": lambda asked: partial(ge, asked),
    "exclusiveMinimum": lambda asked: partial(lt, asked),
}
_KINDS: dict[type, tuple[frozenset[str], dict[str, Callable[[Any], _Test]]]] = {
    str: (
        frozenset(("string",)),
        {
            **_EVERY,
            "maxLength": lambda most: lambda value: len(value) <= most,
            # $ is the end, and not a newline before it
            "pattern": lambda asked: re.compile(re.sub(r"\$$", r"\\Z", asked)).search,
        },
    ),
    int: (frozenset(("integer", "number")), _NUMBER_TESTS),
    Decimal: (frozenset(("number",)), _NUMBER_TESTS),
    bool: (frozenset(("boolean",)), _EVERY),
    Placed: (
        frozenset(("object",)),
        {**_EVERY, "minProperties": lambda least: lambda value: len(value) >= least},
    ),
    list: (
        frozenset(("array",)),
        {
            **_EVERY,
            "minItems": lambda least: lambda value: len(value) >= least,
            "maxItems": lambda most: lambda value: len(value) <= most,
            "uniqueItems": lambda _: _is_unique,
        },
    ),
    type(None): (frozenset(("null",)), _EVERY),
}
"""The types of JSON Schema that a value has, 1.0 being no whole number here, and what may be asked
of it by each keyword."""

_FORMATS = {"money": Decimal, "date": str, "currency": str, "languages": Placed}
"""The type of the values of which each format asks something."""

_TEXT_ALONE = frozenset(("string",))


class _ReadyShape:
    """A schema made ready to read by.

    Attributes:
        schema: the schema.
        kinds: the types that it allows; empty for any.
        known: the schemas of the values of known keys.
        other: that of any other key's.
        closed: no other key is known.
        names: the schema of keys.
        needed: keys that must be there.
        items: the schema of entries.
        below: the shapes of the values of known keys that were met.
        tests: what is asked of a value of each allowed type: keyword, what it asks, and its test,
            which is None for a format.
    """

    def __init__(self, schema: Schema) -> None:
        asked = schema.get("type", ())
        self.schema, self.kinds = schema, frozenset((asked,) if isinstance(asked, str) else asked)
        self.known, self.items = schema.get("properties", {}), schema.get("items", _ANY)
        other = schema.get("additionalProperties", True)
        self.closed, self.other = other is False, other if isinstance(other, dict) else _ANY
        self.names, self.needed = schema.get("propertyNames"), frozenset(schema.get("required", ()))
        self.below: dict[str, _ReadyShape] = {}
        self.tests = {
            of: [
                (word, asked, words[word](asked) if word in words else None)
                for word, asked in schema.items()
                if word in words or (word == "format" and _FORMATS.get(asked) is of)
            ]
            for of, (names, words) in _KINDS.items()
            if not self.kinds or not self.kinds.isdisjoint(names)
        }

    def inner(self, key: str) -> _ReadyShape:
        """The shape of the value of a key."""
        if key not in self.known:
            return _shape(self.other)
        return self.below.setdefault(key, _shape(self.known[key]))


_ANY: Schema = {}
_SHAPES: dict[int, _ReadyShape] = {}
"""Shapes by the identity of their schemas, which they keep alive: a schema may hold itself."""


def _shape(schema: Schema) -> _ReadyShape:
    return _SHAPES.get(id(schema)) or _SHAPES.setdefault(id(schema), _ReadyShape(schema))


class _Builder:
    def __init__(self, unseen: bool, formats: Mapping[str, _Test]) -> None:
        self.unseen, self.formats = unseen, formats
        self.path: list[str | int] = []
        self.faults: list[Fault] = []
        self.problems: list[Problem] = []
        self.refused: set[Location] = set()
        self.whole = True

    def build(self, node: yaml.Node, shape: _ReadyShape, depth: int) -> Any:
        if depth > ALLOWED_DEPTH:
            raise Unbounded(node, DEEP, DEEP_HINT)
        if node.tag not in _TAGS:
            self._tagged(node)
        value: Any
        if type(node) is yaml.ScalarNode:
            value = self._scalar(node, shape)
        elif type(node) is yaml.MappingNode:
            return self._mapping(node, shape, depth)
        else:
            value, items = [], _shape(shape.items)
            for index, inner in enumerate(node.value):
                self.path.append(index)
                value.append(self.build(inner, items, depth + 1))
                self.path.pop()
        if shape.tests.get(type(value)) != []:
            self._test(value, shape)
        return value

    def _test(self, value: Any, shape: _ReadyShape, is_key: bool = False) -> None:
        """Note what the schema refuses of a value, and that alone which counts most."""
        tests = shape.tests.get(type(value))
        if tests is None:
            self._refuse("type", shape.schema["type"], value, is_key)
            return
        for word, asked, test in tests:
            holds = self.formats[asked] if test is None else test
            if not holds(value):
                self._refuse(word, asked, value, is_key)
                return

    def _refuse(self, word: str, asked: Any, value: Any, is_key: bool = False) -> None:
        self.faults.append(Fault(tuple(self.path), word, asked, value, is_key))

    def _mapping(self, node: yaml.MappingNode, shape: _ReadyShape, depth: int) -> Placed:
        known, below = shape.known, shape.below
        data = Placed({}, node)
        places = data.inner
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                sentence = text("a key must be plain text, not a list or a group of keys")
                hint = text("put text with brackets or braces in quotation marks")
                self._say(node, sentence, "syntax", hint)
                self.refused.add(place_of(node))
                self.whole = False
                continue
            if key_node.tag not in _TAGS:
                self._tagged(key_node)
            key = self._text(key_node) if self.unseen else key_node.value
            if key in data:
                first = first_at(place_of(places[key][0]), place_of(key_node))
                sentence = text(
                    'the key "{key}" is here twice, first in {first}', key=key, first=first
                )
                self._say(key_node, sentence, "repeated-key", text("keep one of the two"))
                self.whole = self.whole and isinstance(value_node, yaml.ScalarNode)
                continue
            places[key] = key_node, value_node
            self.path.append(key)
            data[key] = self.build(value_node, below.get(key) or shape.inner(key), depth + 1)
            self.path.pop()
        if shape.names is not None:
            for key in data:
                self._test(key, _shape(shape.names), is_key=True)
        if not shape.needed <= data.keys() or (shape.closed and not data.keys() <= known.keys()):
            self._refuse("keys", shape.schema, data)
        else:
            self._test(data, shape)
        return data

    def _scalar(self, node: yaml.ScalarNode, shape: _ReadyShape) -> Any:
        text = self._text(node) if self.unseen else node.value
        if node.style or node.tag == QUOTED:
            return text
        if text in NOTHING:
            return None
        kinds = shape.kinds
        if kinds == _TEXT_ALONE:
            return text
        if "boolean" in kinds and text in ("true", "false"):
            return text == "true"
        if ("number" in kinds or "integer" in kinds) and _NUMBER.fullmatch(text):
            if "." not in text:
                return int(text) if "integer" in kinds else Decimal(text)
            return Decimal(_LAST_NOUGHTS.sub(r"\1", text))
        return text

    def _tagged(self, node: yaml.Node) -> None:
        tag = node.tag.replace(CORE, "!!")
        hint = text('leave it out, or put text that begins with "!" in quotation marks')
        self._say(node, text('the tag "{tag}" means nothing here', tag=tag), "syntax", hint)

    def _text(self, node: yaml.ScalarNode) -> str:
        typed: str = node.value
        found = _UNSEEN.search(typed)
        if found:
            self._say(
                node,
                text(
                    "this text holds the invisible character {code}",
                    code=f"U+{ord(found.group()):04X}",
                ),
                "invisible-character",
                text("type the text again without it"),
            )
            seen = _UNSEEN.sub("", typed)
            if not seen.strip():
                self.refused.add(place_of(node))  # it is not told to be empty as well
            return seen
        return typed

    def _say(self, node: yaml.Node, sentence: str, code: str, hint: str = "") -> None:
        self.problems.append(Problem(place_of(node), sentence, code, hint))
