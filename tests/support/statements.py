"""What an answer states, read out of a terminal, a page and JSON: each figure with its label.

A terminal and a page are read as rows of tables, with the heads of their columns, and as
sentences. A row is about one object of the answer, the one that has its title; in every row of a
table the same column shows the same key of its object, digit by digit. A sentence is one of the
answer's own texts, or what a template of :mod:`tests.support.labels` makes of one of its objects.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, cached_property
from html.parser import HTMLParser
from typing import Any, TypeAlias

from attrs import evolve, field, frozen

from configurator.render.language import language

Scalar: TypeAlias = str | int
Places: TypeAlias = dict[tuple[str, str, int], set[str]]
"""For each figure of a row, by its head and what stands around it, the keys that it may be."""

_FIGURE = re.compile(r"(?<![\w.,])[-+\N{MINUS SIGN}]?\d[\d,]*(?:\.\d+)?(?!\d)")
_KIN = {"subtotal": "amount", "price": "each", "values": "amounts", "count": "quantity"}
"""What a column shows in the rows of groups, as it shows the other in those of lines."""
_LABEL = re.compile(r"(?<=\w)(?: [A-H])* -?[\d,]+\.\d\d(?= |$)")
_BARS = re.compile(r"[█░▒│┴]+")
RULE = re.compile(r"[─ ]*─{3}[─ ]*")
_NUMBER = re.compile(r"-?\d+(\.\d+)?")
_PLACE = re.compile(r"\{([^}]*)\}")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@frozen
class Statement:
    """A row of a table, or a text by itself.

    Attributes:
        cells: of a row, each with what is said below it; of a text it alone.
        heads: of each cell what stands above it; empty where nothing does.
        table: the number of its table; 0 of a text.
    """

    cells: tuple[tuple[str, ...], ...]
    heads: tuple[str, ...] = ()
    table: int = 0

    @property
    def words(self) -> str:
        """All of it in one line."""
        return plainly(" ".join(part for cell in self.cells for part in cell))

    def below(self, row: Statement) -> Statement:
        """The same, and what the row below it states."""
        return evolve(self, cells=self.cells + row.cells, heads=self.heads + row.heads)


def plainly(text: str) -> str:
    """The text with one blank between its words."""
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


# A terminal


def of_terminal(out: str) -> list[Statement]:
    """What a terminal states, as wide as needed for every row to be a line."""
    found: list[Statement] = []
    lines = out.splitlines()
    heads: list[tuple[int, int, str]] = []
    width = table = 0
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        if RULE.fullmatch(line):
            continue
        if RULE.fullmatch(following):
            heads, width, table = list(_parts(line)), len(following), table + 1
            continue
        cells = tuple(_parts(line))
        if len(line) > width or _is_below(cells, heads):
            heads, width = [], 0
        if cells and heads:
            above = tuple(_above(cell, heads) for cell in cells)
            row = Statement(tuple((cell[2],) for cell in cells), above, table)
            if _goes_on(row, heads[0][2]) and found and found[-1].table == table:
                row = evolve(
                    row, cells=found[-1].cells + row.cells, heads=found.pop().heads + above
                )
            found.append(row)
        elif cells and (said := plainly(_BARS.sub(" ", line))):
            while found and re.fullmatch(r"(?:[a-z]\w* )*[B-H] -?[\d,.]+", said):
                said = f"{found.pop().words} {said}"
            found.append(Statement(((said,),)))
    return found


def _is_below(cells: Sequence[tuple[int, int, str]], heads: Sequence[tuple[int, int, str]]) -> bool:
    """Whether it is a sentence below the table: its first words reach into the second column."""
    return bool(cells[:1] and heads[1:]) and cells[0][0] < heads[1][0] < cells[0][1]


def _goes_on(row: Statement, first: str) -> bool:
    """Whether it is below the row before: nothing names it."""
    words = re.compile(r"\b(?!included|open)[^\W\d]{3}")
    return first not in row.heads and not any(words.search(one) for one, *_ in row.cells)


def _parts(line: str) -> Iterator[tuple[int, int, str]]:
    """Where each cell begins and ends, and what it says."""
    for part in re.finditer(r"\S+(?: \S+)*", line):
        yield part.start(), part.end(), plainly(part[0])


def _above(cell: tuple[int, int, str], heads: Iterable[tuple[int, int, str]]) -> str:
    """The head that begins or ends where the cell does."""
    start, end, _ = cell
    at, said = min((min(abs(start - head[0]), abs(end - head[1])), head[2]) for head in heads)
    return said if at <= 2 else ""


# A page

_TEXTS = ("p", "li", "h1", "h2", "h3", "h4", "dt", "dd", "caption", "figcaption", "address", "br")
_BLOCKS = frozenset((*_TEXTS, "div", "section", "main", "header", "footer"))
_UNSEEN = frozenset(("style", "script", "svg", "head", "title"))


class _Page(HTMLParser):
    """Gathers rows and texts as they come."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Statement] = []
        self.words: list[str] = []
        self.cells: list[list[str]] | None = None
        self.spans: list[int] = []
        self.heads: list[str] = []
        self.unseen = self.tables = 0
        self.in_head = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _UNSEEN:
            self.unseen += 1
        elif tag == "table":
            self._end()
            self.tables, self.heads = self.tables + 1, []
        elif tag == "thead":
            self.in_head = True
        elif tag == "tr":
            self.cells, self.spans = [], []
        elif tag in ("td", "th") and self.cells is not None:
            self.cells.append([])
            self.spans.append(int(dict(attrs).get("colspan") or 1))
        elif tag in _BLOCKS:
            self._end()

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNSEEN:
            self.unseen -= 1
        elif tag == "thead":
            self.in_head = False
        elif tag == "tr" and self.cells is not None:
            self._row(self.cells)
            self.cells = None
        elif tag in _BLOCKS or tag in ("td", "th"):
            self._end()

    def handle_data(self, data: str) -> None:
        if not self.unseen:
            self.words.append(data)

    def _end(self) -> None:
        said, self.words = plainly("".join(self.words)), []
        if not said:
            return
        if self.cells is None:
            self.found.append(Statement(((said,),)))
        elif self.cells:
            self.cells[-1].append(said)

    def _row(self, cells: list[list[str]]) -> None:
        if self.in_head:
            self.heads = [
                " ".join(cell) for cell, n in zip(cells, self.spans, strict=True) for _ in range(n)
            ]
            return
        places = [sum(self.spans[:n]) for n in range(len(cells))]
        above = tuple(self.heads[at] if at < len(self.heads) else "" for at in places)
        self.found.append(Statement(tuple(map(tuple, cells)), above, self.tables))


def of_page(html: str) -> list[Statement]:
    """What a page states; not what its drawings do."""
    page = _Page()
    page.feed(html)
    page.close()
    return page.found


# An answer


def objects(answer: Any) -> Iterator[dict[str, Any]]:
    """Every object of an answer, at any depth."""
    if isinstance(answer, dict):
        yield answer
        for value in answer.values():
            yield from objects(value)
    elif isinstance(answer, list):
        for value in answer:
            yield from objects(value)


def flat(value: Any, path: str = "") -> Iterator[tuple[str, Scalar]]:
    """What an object says, with what has no words of its own inside it, by the path to it."""
    if isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool)):
        yield path, value
    elif isinstance(value, dict):
        for key, inside in value.items():
            yield from flat(inside, f"{path}.{key}".lstrip("."))
    elif isinstance(value, list):
        for n, inside in enumerate(value):
            if not (isinstance(inside, dict) and any(map(_is_worded, inside.values()))):
                yield from flat(inside, f"{path}.{n}".lstrip("."))


def _is_worded(value: object) -> bool:
    """Whether it is a text with words, more than a unit."""
    return isinstance(value, str) and bool(re.search(r"[^\W\d]{3}", value))


def _kin(key: str) -> str:
    first, dot, rest = key.partition(".")
    return _KIN.get(first, first) + dot + rest


def _is_number(value: object) -> bool:
    """Whether it is a number as answers write them."""
    return isinstance(value, int) or (isinstance(value, str) and bool(_NUMBER.fullmatch(value)))


def figures(text: str) -> list[str]:
    """The figures of a text as they are written, without what sets thousands apart."""
    return [found[0].replace(",", "").lstrip("+") for found in _FIGURE.finditer(text)]


def _longest_first(texts: Iterable[str]) -> tuple[str, ...]:
    """Those with a figure in them, the longest first."""
    with_figure = {one for one in texts if re.search(r"\d", one)}
    return tuple(sorted(with_figure, key=len, reverse=True))


def without(text: str, known: Iterable[str]) -> str:
    """What remains of a text without those that are known, in their order."""
    for one in known:
        if one in text:
            whole = rf"(?<![\w.,-]){re.escape(one)}(?![\w]|[.,]\d)"
            text = re.sub(whole, " \N{MIDDLE DOT} ", text)
    return text


@frozen
class Subject:
    """An object of an answer, as rows are about it.

    Attributes:
        said: its texts, for people and for programs.
        numbers: by path, its numbers as they are written.
    """

    said: frozenset[str]
    numbers: Mapping[str, str]

    @cached_property
    def _with_figure(self) -> tuple[str, ...]:
        """Its texts with a figure in them, the longest first."""
        return _longest_first(self.said)

    @cached_property
    def _folded(self) -> tuple[tuple[str, str], ...]:
        """Its texts, each as it is and without regard to case."""
        return tuple((one, one.casefold()) for one in self.said)

    def _named_in(self, cell: str) -> bool:
        """Whether the cell is its title, with something short before or after it."""
        cased, label, bare = _title(cell)
        found = [one for one, folded in self._folded if folded in cased]
        return (
            len(found) > 1
            or any(5 * len(one) >= 2 * bare for one in found)
            or (len(label) > 9 and any(one.startswith(label) for one in self.said))
        )

    def keys(self, statement: Statement, rest_of: Callable[[str], str]) -> Places | None:
        """Which of its numbers each figure of a row may be; None where one is none of them."""
        found: Places = {}
        heads = statement.heads or ("",) * len(statement.cells)
        for cell, head in zip(statement.cells, heads, strict=True):
            for text in cell:
                rest = rest_of(without(text, self._with_figure))
                shape = _FIGURE.sub("#", rest)
                for figure in figures(rest):
                    keys = {key for key, number in self.numbers.items() if number == figure}
                    if not keys:
                        return None
                    found[head, shape, sum(at[:2] == (head, shape) for at in found)] = keys
        return found


@cache
def _title(cell: str) -> tuple[str, str, int]:
    """A cell without regard to case, what in it may be a title, and how long that is by itself."""
    label = _LABEL.sub("", cell)
    return cell.casefold(), label, len(plainly(label.split(" (")[0]))


def _subject(thing: dict[str, Any], titles: Mapping[str, str]) -> Subject | None:
    told: dict[str, Scalar] = dict(flat(thing))
    for key in ("pick", "wish", "choice", "unit"):
        name = str(thing.get(key))
        told[f"title of {key}"] = titles.get(name, "")
        told[f"title of {key}'s option"] = titles.get(f"{name}={thing.get('option')}", "")
    said = frozenset(
        plainly(value)
        for value in told.values()
        if isinstance(value, str) and re.search(r"[^\W\d]", value) and len(value) > 2
    )
    numbers = {_kin(key): str(value) for key, value in told.items() if _is_number(value)}
    off = {f"-{key}": str(number).lstrip("-") for key, number in numbers.items()}
    for key, number in numbers.items():
        if not number.startswith("-"):
            off[f"-{key}"] = f"-{number}"
    return Subject(said, numbers | off) if said and numbers else None


@frozen
class Answer:
    """An answer as JSON, and what may be stated of it.

    Attributes:
        json: the answer.
        templates: sentences, with the keys of the object that they are about in their places.
        aside: what is stated without being in the answer.
        titles: of choices and of ``choice=option``, as the catalogue has them.
    """

    json: Any
    templates: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()
    titles: Mapping[str, str] = field(factory=dict, eq=False)
    objects: list[dict[str, Any]] = field(init=False, eq=False)

    @objects.default
    def _objects(self) -> list[dict[str, Any]]:
        return list(objects(self.json))

    @cached_property
    def subjects(self) -> list[Subject]:
        """What a row may be about."""
        return [one for thing in self.objects if (one := _subject(thing, self.titles)) is not None]

    @cached_property
    def texts(self) -> tuple[str, ...]:
        """Sentences with a figure: the answer's own, and those that templates make of it."""
        found = {plainly(title) for title in self.titles.values()}
        for thing in self.objects:
            for value in thing.values():
                for one in value if isinstance(value, list) else (value,):
                    if isinstance(one, str):
                        found |= _versions(one)
            told = dict(flat(thing))
            said = {made(template, told) for template in self.templates} - {""}
            found |= {one.replace("\t", apart) for one in said for apart in (" ", ": ")}
        return _longest_first(found)

    def unmatched(self, statements: Iterable[Statement]) -> list[str]:
        """Statements with a figure that is not the answer's, or is another in other rows."""
        wrong: list[str] = []
        places = defaultdict[tuple[object, ...], list[tuple[set[str], str]]](list)
        for one in statements:
            if not figures(self._rest(one.words)):
                continue
            keys = self._keys(one)
            if keys is None:
                wrong.append(" | ".join(" / ".join(cell) for cell in one.cells))
                continue
            for place, some in keys.items():
                places[one.table, *place].append((some, one.words))
        taken: dict[tuple[object, ...], set[str]] = {}
        for (table, head, shape, _), rows in places.items():
            shared = set.intersection(*(keys for keys, _ in rows))
            for other in taken.get((table, head, shape), ()) if len(shared) == 1 else ():
                if other in shared:
                    wrong.append(f"{head}: {other} stands twice in {rows[0][1]}")
            if len(shared) == 1:
                taken.setdefault((table, head, shape), set()).update(shared)
            if not shared:
                told = "; ".join(f"{words}: {sorted(keys)[:4]}" for keys, words in rows[:5])
                wrong.append(f"{head}: no key is in all rows: {told}")
        return wrong

    @cached_property
    def _rest(self) -> Callable[[str], str]:
        """What remains of words without all that is known; the same cell is asked about often."""

        @cache
        def rest(words: str) -> str:
            words = without(words, self.texts)
            for pattern in self.aside:
                words = re.sub(pattern, "", words)
            return words

        return rest

    def _keys(self, row: Statement) -> Places | None:
        """Which keys each figure of a row may be, of whatever it may be about."""
        found: Places | None = None
        cells = [part for cell in row.cells for part in cell]
        for subject in self.subjects:
            if not any(map(subject._named_in, cells)):
                continue
            keys = subject.keys(row, self._rest)
            if keys is not None:
                found = {at: some | (found or {}).get(at, set()) for at, some in keys.items()}
        return found


def _versions(said: str) -> set[str]:
    """A text as it is stated; a day also in words."""
    if _DAY.fullmatch(said):
        return {said, language("en-AU").day(dt.date.fromisoformat(said))}
    words = plainly(said)
    long = len(words) > 3 and re.search(r"[^\W\d]", words)
    return {words, words[:1].upper() + words[1:], words.rstrip(".")} if long else set()


def made(template: str, told: Mapping[str, Scalar]) -> str:
    """The template with an object's values in its places; empty where it lacks one.

    ``{a.b}`` is inside ``a``; ``{key:amount}`` sets thousands apart, ``{key:percent}`` is a share
    as percent, ``{key:off}`` what is taken off.
    """

    def put(place: re.Match[str]) -> str:
        key, _, form = place[1].partition(":")
        return _written(told[key], form)

    try:
        return _PLACE.sub(put, template) if _asked(template) <= told.keys() else ""
    except ValueError:
        return ""


@cache
def _asked(template: str) -> frozenset[str]:
    """The keys in its places."""
    return frozenset(place.partition(":")[0] for place in _PLACE.findall(template))


def _written(value: Scalar, form: str) -> str:
    if not form:
        return str(value)
    if form == "inside":
        return str(value)[:1].lower() + str(value)[1:]
    if form in ("percent", "thousand"):
        return f"{float(value) * (100 if form == 'percent' else 0.001):.10g}"
    whole, _, cents = str(value).lstrip("-").partition(".")
    if form == "signed":
        return "+" * (float(value) > 0) + _written(value, "amount")
    sign = "-" * (str(value).startswith("-") != (form == "off"))
    return f"{sign}{int(whole):,}" + (f".{cents}" if cents else "")
