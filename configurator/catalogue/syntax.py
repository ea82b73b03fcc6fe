"""YAML syntax errors in plain sentences that say what to do.

The reader's own words mention tokens and nodes. Each of them is known here by a piece of its
text; whatever is not known gets the one sentence that is always true.
"""

from __future__ import annotations

import re
from typing import Any

from configurator.errors import Location, Problem

ALLOWED_DEPTH = 60
"""How deep lists and groups of keys may stand inside each other."""

DEEP = f"it is nested more than {ALLOWED_DEPTH} levels deep"
DEEP_HINT = "look for brackets that are never closed"

_NO_TEXT = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
"""What no text file may hold; made ready where it is looked for, which takes 4 ms."""


_QUOTE = "put the whole text in quotation marks"
_SAYINGS = {
    ("", "tab character"): (
        "there is a tab where only spaces are allowed",
        "write spaces instead of tabs",
    ),
    ("", "cannot start any token"): ('text may not begin with "{char}" here', _QUOTE),
    ("", "mapping values are not allowed"): (
        "the line above has its value already, so no key can begin here",
        "line it up with the key above, or put text of several lines in quotation marks",
    ),
    ("", "mapping keys are not allowed"): ('a "?" is where no key can be', "leave it out"),
    ("", "block sequence entries are not allowed"): (
        "a list begins where none can be",
        "begin the list in the next line, or put the text in quotation marks",
    ),
    ("quoted scalar", "found unexpected"): (
        "the quotation mark that opens here is never closed",
        "close it where the text ends",
    ),
    ("quoted scalar", "found unknown escape"): (
        'the backslash in "..." does not go with what follows it',
        "write two backslashes, or use single quotation marks: '...'",
    ),
    ("quoted scalar", ""): (
        "the code after the backslash is not a character",
        "type the character itself",
    ),
    ("flow sequence", ""): (
        'the list that opens with "[" in line {line} lacks a comma or its "]" here',
        "separate its entries with commas and close it",
    ),
    ("flow mapping", ""): (
        'the group that opens with "{{" in line {line} lacks a comma or its "}}" here',
        "separate its keys with commas and close it",
    ),
    ("", "found undefined alias"): (
        "{word} points to nothing in this file",
        'put text that begins with "*" in quotation marks',
    ),
    ("scanning an alias", ""): ('text may not begin with "*"', _QUOTE),
    ("scanning an anchor", ""): ('text may not begin with "&"', _QUOTE),
    ("scanning a tag", ""): ('text may not begin with "!"', _QUOTE),
    ("parsing a", "undefined tag"): ('text may not begin with "!"', _QUOTE),
    ("duplicate anchor", ""): (
        "{word} is given to a second value, first in line {line}",
        "take another name for one of them",
    ),
    ("simple key", ""): (
        "this line is neither a key with its value nor an entry of a list",
        'write "key: value", or begin it with "- "',
    ),
    ("", "expected '-' indicator"): (
        "this line is among the entries of a list but is not one",
        'begin it with "- ", or move it left to the key that it belongs to',
    ),
    ("", "expected node content"): ("a value is missing here", "write it, or leave the key out"),
    ("", "maximum nesting depth"): (DEEP, DEEP_HINT),
    ("block scalar", ""): (
        'text may not follow "|" or ">" in its line',
        "begin the text in the next line, or put it in quotation marks",
    ),
    ("single document", ""): (
        "a second document starts here",
        'keep one document in a file, and leave the "---" line out',
    ),
    ("directive", ""): (
        'a line may not begin with "%"',
        "put the text in quotation marks, or leave the line out",
    ),
    ("", "YAML document"): ("a file may not ask for this version of YAML", "leave the line out"),
    ("", "directive"): ('a line may not begin with "%"', "leave the line out"),
    ("", "<document start>"): (
        "there is more text after the end of the document",
        "look for a bracket that closes too early, or a first line that is set in too far",
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

_COLON = ('there is a second ": " in one value', _QUOTE)
_NOTHING_OPEN = ('the "{char}" here closes nothing', "take it out")
_MISALIGNED = (
    "this line does not line up with the keys above it",
    "begin it exactly below the key that it goes with",
)
_AFTERWARDS = (
    "there is more text after the value has ended",
    "put the whole text in one pair of quotation marks, or a comma between two values",
)
_ANYTHING = (
    "it cannot be understood from here on",
    "look for a missing quotation mark, bracket, colon or comma just before",
)


def syntax_problem(error: Exception, text: str, file: str) -> Problem:
    """The reader's refusal in our own words, at its place."""
    mark: Any = getattr(error, "problem_mark", None)
    opened: Any = getattr(error, "context_mark", None) or mark
    if isinstance(error, RecursionError):
        return Problem(Location(file, 1, 1), DEEP, "syntax", DEEP_HINT)
    if mark is None:
        return _no_text(text, file)
    line = text.splitlines()[mark.line] if mark.line < len(text.splitlines()) else ""
    before, after = line[: mark.column], line[mark.column :]
    context, told = (str(getattr(error, part, None) or "") for part in ("context", "problem"))
    (sentence, hint), at_opening = _said(context, told, before, after)
    word = re.match(r"[^\s,\]}]*", after)
    sentence = sentence.format(
        char=after[:1], word=word.group() if word else "", line=opened.line + 1
    )
    at = opened if at_opening else mark
    return Problem(Location(file, at.line + 1, at.column + 1), sentence, "syntax", hint)


def _said(context: str, problem: str, before: str, after: str) -> tuple[tuple[str, str], bool]:
    """Sentence and hint, and whether the place is where the matter began."""
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


def _no_text(text: str, file: str) -> Problem:
    """The first character that no text file may hold."""
    found = re.search(_NO_TEXT, text)
    position = found.start() if found else 0
    before = text[:position]
    place = Location(file, before.count("\n") + 1, position - before.rfind("\n"))
    if found is None:
        return Problem(place, _ANYTHING[0], "syntax", _ANYTHING[1])
    sentence = f"there is an invisible character here, U+{ord(found.group()):04X}"
    return Problem(place, sentence, "invisible-character", "delete it")
