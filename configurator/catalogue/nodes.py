"""YAML or JSON text to nodes, each of which knows its place and still is what was typed.

The reader's own words on syntax errors mention tokens and nodes. Each of them is known here by a
piece of its text, with a plain sentence that says what to do; whatever is not known gets the one
sentence that is always true.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from operator import is_
from typing import Any, TypeAlias

import yaml

from configurator.errors import Location, Problem
from configurator.words import Text, text

ALLOWED_DEPTH = 60
"""How deep lists and groups of keys may stand inside each other."""

DEEP = text("it is nested more than {most} levels deep", most=ALLOWED_DEPTH)
DEEP_HINT = text("look for brackets that are never closed")

_NO_TEXT = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
"""What no text file may hold; made ready where it is looked for, which takes 4 ms."""


_Said: TypeAlias = tuple[Text, Text]
"""A sentence, and what to do."""

_MET = {name: f"{{{name}}}" for name in ("char", "word", "line")}
"""What a sentence may name, before it is known."""

_SAYINGS = {
    ("", "tab character"): (
        text("there is a tab where only spaces are allowed"),
        text("write spaces instead of tabs"),
    ),
    ("", "cannot start any token"): (
        text('text may not begin with "{char}" here', **_MET),
        text("put the whole text in quotation marks"),
    ),
    ("", "mapping values are not allowed"): (
        text("the line above has its value already, so no key can begin here"),
        text("line it up with the key above, or put text of several lines in quotation marks"),
    ),
    ("", "mapping keys are not allowed"): (
        text('a "?" is where no key can be'),
        text("leave it out"),
    ),
    ("", "block sequence entries are not allowed"): (
        text("a list begins where none can be"),
        text("begin the list in the next line, or put the text in quotation marks"),
    ),
    ("quoted scalar", "found unexpected"): (
        text("the quotation mark that opens here is never closed"),
        text("close it where the text ends"),
    ),
    ("quoted scalar", "found unknown escape"): (
        text('the backslash in "..." does not go with what follows it'),
        text("write two backslashes, or use single quotation marks: '...'"),
    ),
    ("quoted scalar", ""): (
        text("the code after the backslash is not a character"),
        text("type the character itself"),
    ),
    ("flow sequence", ""): (
        text('the list that opens with "[" in line {line} lacks a comma or its "]" here', **_MET),
        text("separate its entries with commas and close it"),
    ),
    ("flow mapping", ""): (
        text(
            'the group that opens with "{{" in line {line} lacks a comma or its "}}" here', **_MET
        ),
        text("separate its keys with commas and close it"),
    ),
    ("", "found undefined alias"): (
        text("{word} points to nothing in this file", **_MET),
        text('put text that begins with "*" in quotation marks'),
    ),
    ("scanning an alias", ""): (
        text('text may not begin with "*"'),
        text("put the whole text in quotation marks"),
    ),
    ("scanning an anchor", ""): (
        text('text may not begin with "&"'),
        text("put the whole text in quotation marks"),
    ),
    ("scanning a tag", ""): (
        text('text may not begin with "!"'),
        text("put the whole text in quotation marks"),
    ),
    ("parsing a", "undefined tag"): (
        text('text may not begin with "!"'),
        text("put the whole text in quotation marks"),
    ),
    ("duplicate anchor", ""): (
        text("{word} is given to a second value, first in line {line}", **_MET),
        text("take another name for one of them"),
    ),
    ("simple key", ""): (
        text("this line is neither a key with its value nor an entry of a list"),
        text('write "key: value", or begin it with "- "'),
    ),
    ("", "expected '-' indicator"): (
        text("this line is among the entries of a list but is not one"),
        text('begin it with "- ", or move it left to the key that it belongs to'),
    ),
    ("", "expected node content"): (
        text("a value is missing here"),
        text("write it, or leave the key out"),
    ),
    ("", "maximum nesting depth"): (DEEP, DEEP_HINT),
    ("block scalar", ""): (
        text('text may not follow "|" or ">" in its line'),
        text("begin the text in the next line, or put it in quotation marks"),
    ),
    ("single document", ""): (
        text("a second document starts here"),
        text('keep one document in a file, and leave the "---" line out'),
    ),
    ("directive", ""): (
        text('a line may not begin with "%"'),
        text("put the text in quotation marks, or leave the line out"),
    ),
    ("", "YAML document"): (
        text("a file may not ask for this version of YAML"),
        text("leave the line out"),
    ),
    ("", "directive"): (text('a line may not begin with "%"'), text("leave the line out")),
    ("", "<document start>"): (
        text("there is more text after the end of the document"),
        text("look for a bracket that closes too early, or a first line that is set in too far"),
    ),
}
"""What is said, and what to do, when the reader's context and problem hold these pieces of text.

A sentence may name the character met as ``{char}``, the word met as ``{word}``, and the line where
the matter began as ``{line}``. The first that fits is said.
"""
_OPENED = {
    ("quoted scalar", "found unexpected"),
    ("scanning an alias", ""),
    ("scanning an anchor", ""),
    ("scanning a tag", ""),
    ("simple key", ""),
    ("directive", ""),
}
"""Of these, the place to show is where the matter began."""

_COLON = (
    text('there is a second ": " in one value'),
    text("put the whole text in quotation marks"),
)
_NOTHING_OPEN = (text('the "{char}" here closes nothing', **_MET), text("take it out"))
_MISALIGNED = (
    text("this line does not line up with the keys above it"),
    text("begin it exactly below the key that it goes with"),
)
_AFTERWARDS = (
    text("there is more text after the value has ended"),
    text("put the whole text in one pair of quotation marks, or a comma between two values"),
)
_ANYTHING = (
    text("it cannot be understood from here on"),
    text("look for a missing quotation mark, bracket, colon or comma just before"),
)


def _syntax_problem(error: Exception, given: str, file: str) -> Problem:
    """The reader's refusal in our own words, at its place."""
    mark: Any = getattr(error, "problem_mark", None)
    opened: Any = getattr(error, "context_mark", None) or mark
    if isinstance(error, RecursionError):
        return Problem(Location(file, 1, 1), DEEP, "syntax", DEEP_HINT)
    if mark is None:
        return _no_text(given, file)
    lines = given.splitlines()
    line = lines[mark.line] if mark.line < len(lines) else ""
    before, after = line[: mark.column], line[mark.column :]
    context, told = (str(getattr(error, part, None) or "") for part in ("context", "problem"))
    (sentence, hint), at_opening = _said(context, told, before, after)
    word = re.match(r"[^\s,\]}]*", after)
    met = {"char": after[:1], "word": word.group() if word else "", "line": opened.line + 1}
    at = opened if at_opening else mark
    place = Location(file, at.line + 1, at.column + 1)
    return Problem(place, Text(sentence.message, "", {**sentence.values, **met}), "syntax", hint)


def _said(context: str, problem: str, before: str, after: str) -> tuple[_Said, bool]:
    """What to say, and whether the place is where the matter began."""
    begins_line = not before.strip(" \t-")
    if "\t" in before + after[:1] and begins_line and "flow" not in context:
        return _SAYINGS["", "tab character"], False
    if "mapping values" in problem and ": " in before:
        return _COLON, False
    if after[:1] in ("]", "}") and "flow" not in context:
        return _NOTHING_OPEN, False
    if "did not find expected key" in problem:
        return (_MISALIGNED if begins_line else _AFTERWARDS), False
    for pieces, said in _SAYINGS.items():
        if pieces[0] in context and pieces[1] in problem:
            return said, pieces in _OPENED
    return _ANYTHING, False


def _no_text(given: str, file: str) -> Problem:
    """The first character that no text file may hold."""
    found = re.search(_NO_TEXT, given)
    position = found.start() if found else 0
    before = given[:position]
    place = Location(file, before.count("\n") + 1, position - before.rfind("\n"))
    if found is None:
        return Problem(place, _ANYTHING[0], "syntax", _ANYTHING[1])
    code = f"U+{ord(found.group()):04X}"
    sentence = text("there is an invisible character here, {code}", code=code)
    return Problem(place, sentence, "invisible-character", text("delete it"))


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


def first_at(first: Location, second: Location) -> Text:
    """How a sentence at the second place names the first."""
    if first.path == second.path:
        return text("line {line}", line=first.line)
    return text("line {line} of {file}", line=first.line, file=str(first.path))


class _Named:
    """A text for the reader, with the name that the marks of its nodes get."""

    def __init__(self, text: str, name: str) -> None:
        self.name, self._content, self._at = name, text.encode(), 0

    def read(self, most: int = 0, /) -> bytes:
        """The next bytes of it, no more than that."""
        start, self._at = self._at, self._at + most
        return self._content[start : self._at]


_EMPTY = text("fill it in, or start from a copy of another such file")


def document(given: str, file: str) -> yaml.Node | Problem:
    """The text as nodes, each of which knows its file, or what keeps it from being read."""
    try:
        node = yaml.compose(_Named(joined_pairs(given)[0], file), Loader=_LOADER)
    except (yaml.YAMLError, UnicodeEncodeError, RecursionError) as error:
        return _syntax_problem(error, given, file)
    if node is None or (node.tag == UNTAGGED and node.value in NOTHING):
        at = Location(file, 1, 1) if node is None else place_of(node)
        return Problem(at, text("the file is empty"), "syntax", _EMPTY)
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
            hint = text("write it out without the alias")
            raise Unbounded(node, text("this holds an alias of itself"), hint)
        if node not in self.sizes:
            self.sizes[node] = 0
            self.written += 1
            inner = node.value
            if isinstance(node, yaml.MappingNode):
                inner = [part for pair in inner for part in pair]
            self.sizes[node] = 1 + sum([self.size(part, depth + 1) for part in inner])
            if self.sizes[node] - self.written > _MOST_REPEATED:
                sentence = text(
                    "its aliases, written out, stand for {count} values", count=self.sizes[node]
                )
                hint = text("keep it to {most}, or leave aliases out", most=_MOST_REPEATED)
                raise Unbounded(node, sentence, hint)
        return self.sizes[node]
