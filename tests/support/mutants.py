"""Files as nobody would write them: a good one with one to three things wrong, drawn by a seed.

The text is changed, not its meaning, so that every way in which a file can be wrong is met: lines
and blocks that are gone, doubled, swapped, cut or set in; figures that are huge, tiny, negative or
no figures; names of something else; values of another kind; letters that no keyboard has.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from random import Random
from typing import TypeAlias

__all__ = ["mutant"]

Way: TypeAlias = Callable[[list[str], Random], None]
"""Spoils lines in place; does nothing where it finds nothing to spoil."""

_FIGURE = re.compile(r"(?<![\w.-])-?[0-9]+(?:\.[0-9]+)?(?![\w.-])")
_WORD = re.compile(r"(?<![\w-])[a-z][a-z0-9]*(?:-[a-z0-9]+)*(?![\w-])")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_KEY = re.compile(r"[\w-]+: ")

_FIGURES = (
    "0", "-1", "1", "2", "3", "7", "999", "1000000", "100000000", "999999999999999", "-0.5", "0.5",
    "0.01", "0.001", "0.000000000000001", "24.1111111111111", "99999.999999999999", "1e9", ".inf",
    "NaN", "1" * 400, "0x10", "1,000", "-999999999999999", "100", "3.3", "-100", "20", "50000",
)  # fmt: skip
DAYS = ("0001-01-01", "9999-12-31", "2026-02-29", "2026-08-03", "2031-01-01", "1999-12-31", "now")
VALUES = ("[]", "{}", "null", "~", '""', "true", "[[]]", "{a: b}", "'text'", "-1", "[1, 2]", "&a b")
LETTERS = ("\u202e", "\u00ad", "\u3164", "\U000e0041", "e\u0301" * 40, "\0", "\x1b[2J",
           "\U0001f69a", "\ufeff", "\u2028", "\ud7ff", "x" * 3000, '"', "'", "{", "]", ": ",
           "#", "*a", "!!set ", "\t", "%", "|", "<b>", "{{ 1 }}")  # fmt: skip


def mutant(text: str, random: Random) -> str:
    """The text with one to three things changed."""
    lines = text.splitlines(keepends=True)
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        if lines:
            random.choice(_WAYS)(lines, random)
    return "".join(lines)


def _block(lines: list[str], random: Random) -> tuple[int, int]:
    """A line and those that are set in deeper below it, from and up to."""
    start = random.randrange(len(lines))
    indent = _indent(lines[start])
    end = start + 1
    while end < len(lines) and _indent(lines[end]) > indent:
        end += 1
    return start, end


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _drop(lines: list[str], random: Random) -> None:
    start, end = _block(lines, random)
    if end - start < len(lines) // 2:
        del lines[start:end]


def _repeat(lines: list[str], random: Random) -> None:
    start, end = _block(lines, random)
    lines[end:end] = lines[start:end]


def _move(lines: list[str], random: Random) -> None:
    start, end = _block(lines, random)
    block = lines[start:end]
    del lines[start:end]
    where = random.randrange(len(lines) + 1)
    lines[where:where] = block


def _cut_line(lines: list[str], random: Random) -> None:
    index = random.randrange(len(lines))
    lines[index] = lines[index][: random.randrange(len(lines[index]))] + "\n"


def _cut_file(lines: list[str], random: Random) -> None:
    del lines[random.randrange(len(lines) // 2, len(lines)) :]


def _set_in(lines: list[str], random: Random) -> None:
    index = random.randrange(len(lines))
    lines[index] = " " * random.randrange(1, 4) + lines[index]


def _letter(lines: list[str], random: Random) -> None:
    index = random.randrange(len(lines))
    at = random.randrange(len(lines[index]))
    lines[index] = lines[index][:at] + random.choice(LETTERS) + lines[index][at:]


def _replace(
    pattern: re.Pattern[str], new: Callable[[str, list[str], Random], str]
) -> Callable[[list[str], Random], None]:
    """The way that puts something else in the place of one match of the pattern."""

    def way(lines: list[str], random: Random) -> None:
        for _ in range(200):
            index = random.randrange(len(lines))
            found = list(pattern.finditer(lines[index]))
            if found:
                one = random.choice(found)
                line = lines[index]
                text = new(one.group(), lines, random)
                lines[index] = line[: one.start()] + text + line[one.end() :]
                return

    return way


def _figure(old: str, _: list[str], random: Random) -> str:
    bare, whole = old.strip("-"), int(Decimal(old))
    scaled = (old + "0", old + "000", "0.00" + bare.replace(".", ""), "-" + bare)
    near = (str(whole + 1), str(whole - 1), str(whole // 2))
    return random.choice((random.choice(_FIGURES), random.choice(scaled), random.choice(near)))


def _word(_: str, lines: list[str], random: Random) -> str:
    """Another word of the file, or one that it does not know."""
    for _try in range(50):
        found = _WORD.findall(random.choice(lines))
        if found and random.random() < 0.8:
            return str(random.choice(found))
    return "nobody-knows"


def _value(lines: list[str], random: Random) -> None:
    """Another kind of value behind a key; what was set in below it goes."""
    for _ in range(200):
        start, end = _block(lines, random)
        found = _KEY.search(lines[start])
        if found:
            lines[start:end] = [lines[start][: found.end()] + random.choice(VALUES) + "\n"]
            return


def _key(lines: list[str], random: Random) -> None:
    """A key and its short value taken out of a line, as braces hold them."""
    _replace(re.compile(r"[\w-]+: [^,{}\[\]]*(, |(?=\}))"), lambda *_: "")(lines, random)


_WAYS: tuple[Way, ...] = (
    *(_replace(_FIGURE, _figure),) * 8,
    *(_replace(_WORD, _word),) * 4,
    *(_replace(_DAY, lambda _, __, random: random.choice(DAYS)),),
    *(_drop,) * 3,
    *(_value, _key) * 2,
    _repeat,
    _move,
    _cut_line,
    _cut_file,
    _set_in,
    _letter,
    _letter,
)
