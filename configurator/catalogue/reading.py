"""Files to catalogues and selections: positions, then schema, then names, then values.

The only part of the core that opens files. Everything wrong is reported together, by place.
"""

from __future__ import annotations

import io
import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from errno import EACCES, EISDIR, ENOENT
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any, TypeAlias, TypeVar, get_args, get_origin

import attrs
import yaml

from configurator.catalogue import model
from configurator.catalogue.fields import (
    LANGUAGE,
    AllOf,
    AnyOf,
    Condition,
    NoneOf,
    Pick,
    Test,
    Written,
)
from configurator.catalogue.folder import (
    CatalogueFile,
    joined,
    named_parts,
    opening_file,
    read_parts,
)
from configurator.catalogue.nodes import Placed, document, place_of, text_at
from configurator.catalogue.parts import Rows
from configurator.catalogue.plain_data import typed
from configurator.catalogue.schema_errors import schema_problems
from configurator.catalogue.shop import PaperSettings
from configurator.catalogue.validate import reference_problems
from configurator.errors import FileError, Problem, by_place
from configurator.machine.collector import nothing_collected
from configurator.money import Money
from configurator.shapes.schema import bare, key_of, kind_of
from configurator.shapes.shipped import linked
from configurator.words import InLanguages, Text, text

T = TypeVar("T")
_Hook: TypeAlias = Callable[[Any], Any]

MOST_BYTES = 10_000_000
"""Most bytes of a catalogue, selection or template; the shipped catalogue has a sixtieth."""

MOST_BYTES_OF_PDF = 30_000_000
"""Largest PDF that is opened; papers have about a hundredth of that."""


def shipped(folder: str) -> FilePath:
    """The shipped folder ``catalogues`` or ``templates``.

    In an installed wheel it lies inside the package; in a checkout, beside it.
    """
    package = FilePath(__file__).parents[1]
    inside = package / folder
    return inside if inside.is_dir() else package.parent / folder


def read_bytes(path: FilePath | str, most: int) -> bytes:
    """What is in a file or a pipe, opened once.

    Raises:
        FileError: it cannot be read, or has more.
    """
    try:
        with FilePath(path).open("rb") as opened:
            content = opened.read(most + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        hint = _TO_DO.get(error.errno or 0) if isinstance(error, OSError) else None
        why = Text("{reason}; {hint}", "", {"reason": reason, "hint": hint}) if hint else reason
        raise FileError(text("{path}: cannot read it: {why}", path=str(path), why=why)) from None
    _require_size(content, path, most)
    return content


_TO_DO = {
    ENOENT: text("check its name and its folder"),
    EISDIR: text("name a file in it"),
    EACCES: text("ask who may read it"),
}
"""What to do about a file that cannot be opened, by what the system says of it."""


def _require_size(content: bytes, path: FilePath | str, most: int) -> None:
    if len(content) > most:
        sentence = text(
            "{path}: cannot read it: it has more than {most} MB; check that this is the right file",
            path=str(path),
            most=most // 1_000_000,
        )
        raise FileError(sentence)


def as_text(content: bytes, path: FilePath | str) -> str:
    """The content of a file as UTF-8 text, every end of line as one newline.

    Raises:
        FileError: it is not text, not UTF-8, or too large.
    """
    _require_size(content, path, MOST_BYTES)
    if b"\0" in content and not content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise FileError(
            text("{path}: it is not text; check that this is the right file", path=str(path))
        )
    try:
        return io.TextIOWrapper(io.BytesIO(content), "utf-8-sig").read()
    except UnicodeDecodeError as error:
        sentence = text(
            "{path}: it is not UTF-8 text (byte {n}); save it as UTF-8",
            path=str(path),
            n=str(error.start),
        )
        raise FileError(sentence) from None


def read_text(path: FilePath | str) -> str:
    """The text of a UTF-8 file.

    Raises:
        FileError: it cannot be read, is too large, or is not UTF-8.
    """
    return as_text(read_bytes(path, MOST_BYTES), path)


@nothing_collected()
def open_catalogue(
    path: FilePath | str, instead: Mapping[FilePath, bytes] | None = None
) -> tuple[model.Catalogue | None, tuple[Problem, ...]]:
    """A catalogue from its file, or from the file that opens its folder, with the parts it names.

    Args:
        path: of the file or folder.
        instead: what counts in place of what is in some files.

    Returns:
        As of :func:`parse_catalogue`.

    Raises:
        FileError: a file cannot be read.
    """
    opening, new = opening_file(FilePath(path)), instead or {}

    def read(file: FilePath) -> str:
        return as_text(new[file], file) if file in new else read_text(file)

    return _catalogue(read(opening), str(opening), opening, read)


@nothing_collected()
def parse_catalogue(source: str, file: str) -> tuple[model.Catalogue | None, tuple[Problem, ...]]:
    """A catalogue from its text, with every problem found, sorted by place.

    Returns:
        The catalogue, or None when any problem is an error; cautions leave it usable.
    """
    return _catalogue(source, file, None)


def _catalogue(
    source: str,
    file: str,
    opening: FilePath | None,
    read_part: Callable[[FilePath], str] = read_text,
) -> tuple[model.Catalogue | None, tuple[Problem, ...]]:
    """The same of a text that was read from a path, in whose folder its parts are."""
    shape = linked("catalogue")
    whole = document(source, file)
    if isinstance(whole, Problem):
        return None, (whole,)
    parts, problems = _parts(whole, opening, read_part)
    sections: list[yaml.MappingNode] = []
    for part in parts:
        read = document(part.text, part.file)
        if isinstance(read, Problem):
            problems.append(read)
        elif isinstance(read, yaml.MappingNode):
            sections.append(read)
        else:
            sentence = text("a part holds sections by name")
            hint = text('begin it with one, such as "choices:"')
            problems.append(Problem(place_of(read), sentence, "part-without-sections", hint))
    if problems:
        return None, by_place(problems)
    if sections:
        assert isinstance(whole, yaml.MappingNode)  # it names them
        whole, problems = joined([whole, *sections], shape)
    if problems:
        return None, by_place(problems)
    language = _language(whole)
    texts = [source, *(part.text for part in parts)]
    tree = typed(whole, shape, texts, text_at(whole, "currency"), language)
    problems = [*tree.problems, *schema_problems(tree), *reference_problems(tree)]
    if any(problem.level == "error" for problem in problems):
        return None, by_place(problems)
    tree.data["source"] = file
    tree.data["text"] = source + "".join(f"\0{part.name}\0{part.text}" for part in parts)
    return structured(_whole(tree.data), model.Catalogue, language), by_place(problems)


def _parts(
    opened: yaml.Node, opening: FilePath | None, read: Callable[[FilePath], str]
) -> tuple[list[CatalogueFile], list[Problem]]:
    """The parts that a catalogue names, where it was read from a path."""
    if opening is not None:
        return read_parts(opened, opening, read, MOST_BYTES)
    sentence = text("a catalogue that is given as text has no folder for parts to be in")
    hint = text("open it by its path, or put everything into the text")
    named = named_parts(opened)[:1]
    return [], [Problem(place_of(name), sentence, "parts-of-a-text", hint) for name in named]


def _language(whole: yaml.Node) -> str:
    """The language of the catalogue's papers, as far as it can be read."""
    found = text_at(whole, "shop", "papers", "language") or PaperSettings().language
    return found if re.match(LANGUAGE, found) else ""


_TITLES = {model.VEHICLE: text("Vehicle"), model.ADD_ON: text("Add-ons")}


def _whole(data: Placed) -> Placed:
    """What was read with vehicles and add-ons made into the choices that they are."""

    def choice(identity: str, pick: str, options: Any) -> Placed:
        made = {"id": identity, "title": _TITLES[identity], "group": "", "pick": pick}
        return data.like({**made, "options": options})

    whole = data.like(data)
    del whole["format"]
    vehicles = choice(model.VEHICLE, "one", whole.pop("vehicles"))
    add_ons = choice(model.ADD_ON, "several", whole.get("add-ons", []))
    parted = [_parted(one, whole["currency"]) for one in (vehicles, *whole["choices"], add_ons)]
    *whole["choices"], whole["add-ons"] = [offered for offered, _ in parted]
    whole["trade"] = [trade for _, known in parted for trade in known]
    return whole


_TRADE = ("cost", "supplier", "supplier-code")
"""Keys of an option that are for the shop's eyes only."""

_PARTS = ("price", "cost", "mass")
"""Keys of an option that stand for a list of parts, or for a single amount."""


def _parted(choice: Placed, currency: str) -> tuple[Placed, list[Placed]]:
    """The choice with what customers may know of its options, and what only the shop may."""
    options, known = [], []
    for option in choice["options"]:
        offered = option.like({key: option[key] for key in option if key not in _TRADE})
        trade = {key: option[key] for key in _TRADE if key in option}
        for key in _PARTS:
            for record in (offered, trade):
                if key in record and not isinstance(record[key], list):
                    record[key] = [_fixed(option, key)]
        price = offered.get("price", ())
        offered["price"] = [_marked_up(part, currency) for part in price]
        if bought := [_bought(part) for part in price if part["kind"] == "markup"]:
            trade["bought"] = bought
        if trade:
            names = {"choice": choice["id"], "option": option["id"]}
            known.append(option.like({**names, **trade}))
        options.append(offered)
    return choice.like({**choice, "options": options}), known


def _fixed(option: Placed, key: str) -> Placed:
    """An amount that stands alone, as the part that it is."""
    return Placed({"kind": "fixed", "amount": option[key]}, option.inner[key][1])


def _bought(part: Placed) -> Placed:
    """What the shop pays for a markup part, as a part of its own."""
    days = {key: part[key] for key in ("from", "until") if key in part}
    return part.like({"kind": "fixed", "amount": part["cost"], **days})


def _marked_up(part: Placed, currency: str) -> Placed:
    """A price part; a markup with its amount in place of what it is made from."""
    if part["kind"] != "markup":
        return part
    factor = 1 + Decimal(part["percent"]) / 100
    amount = Money(Decimal(part["cost"]), currency) * factor
    shown = {key: value for key, value in part.items() if key not in ("cost", "percent")}
    return part.like({**shown, "amount": amount.amount})


def structured(data: Any, shape: type[T], language: str = "") -> T:
    """The value that checked data stand for, each record with its place.

    Args:
        data: as read.
        shape: the class to make; its module, and those of the records in it, have annotations as
            types and not as texts, which would have to be read anew.
        language: the one that a text in several languages is equal to.
    """
    return _ValueReader(language).hook(shape)(data)  # type: ignore[no-any-return]


def picks_from(value: Any) -> tuple[Pick, ...]:
    """Picks from their mapping by choice id (an id, a list of ids, or quantities by id).

    A list has their names, as ``choice=option``.
    """
    if isinstance(value, list):
        return tuple(map(Pick.named, value))
    picks = []
    for choice, answer in value.items():
        at = value.place(choice)
        if isinstance(answer, Placed):
            picks += [
                Pick.counting(choice, option, quantity, answer.place(option))
                for option, quantity in answer.items()
            ]
        else:
            options = answer if isinstance(answer, list) else [answer]
            picks += [Pick(choice, option, at=at) for option in options]
    return tuple(picks)


def _condition(value: Placed) -> Condition:
    parts: list[Condition] = []
    for key, asked in value.items():
        at = value.place(key)
        if key in _GROUPING:
            parts.append(_GROUPING[key](tuple(map(_condition, asked))))
        elif isinstance(asked, Placed):
            options = (asked["option"],) if "option" in asked else ()
            low, high = asked.get("at-least", 0), asked.get("at-most")
            parts.append(Test(key, options, low, high, at=at))
        else:
            options = tuple(asked) if isinstance(asked, list) else (asked,)
            parts.append(Test(key, options, 1, at=at))
    return parts[0] if len(parts) == 1 else AllOf(tuple(parts))


_GROUPING: dict[str, Callable[[tuple[Condition, ...]], Condition]] = {
    "all": AllOf,
    "any": AnyOf,
    "none": NoneOf,
}


def _picks(value: Any) -> tuple[Pick, ...]:
    return value if isinstance(value, tuple) else picks_from(value)


def _rows(value: Any) -> Rows:
    return tuple(_cells(value))


def _cells(rows: Any, above: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Decimal]]:
    if isinstance(rows, Mapping):
        for key, inner in rows.items():
            yield from _cells(inner, (*above, key))
    else:
        yield above, Decimal(rows)


def _strict(kind: type) -> _Hook:
    def hook(value: Any) -> Any:
        if kind is Decimal and type(value) is int:
            return Decimal(value)
        if type(value) is not kind:
            raise TypeError(f"{value!r} is no {kind.__name__}")
        return value

    return hook


@lru_cache(maxsize=8)
class _ValueReader:
    """Makes values of checked data, each type in its own way, found when it is first met.

    Args:
        language: the one that a text in several languages is equal to.
    """

    def __init__(self, language: str) -> None:
        self.language = language
        self.hooks: dict[Any, _Hook] = {kind: _strict(kind) for kind in (int, bool, Decimal)}
        self.hooks |= {str: self._text, Pick: Pick.named, Rows: _rows}

    def hook(self, kind: Any) -> _Hook:
        """What makes a value of the type."""
        kind = bare(kind)
        if kind not in self.hooks:
            self.hooks[kind] = self._made(kind)
        return self.hooks[kind]

    def _made(self, kind: Any) -> _Hook:
        inner = get_args(kind)
        if Test in inner:
            return _condition
        if get_origin(kind) is tuple:
            if bare(inner[0]) is Pick:
                return _picks
            pair = get_args(bare(inner[0]))
            if pair and bare(pair[0]) is str:  # pairs of a name and something
                paired = self.hook(pair[1])
                return lambda value: tuple([(key, paired(one)) for key, one in value.items()])
            each = self.hook(inner[0])
            return lambda value: tuple(map(each, value))
        if attrs.has(kind):
            return self._record(kind)
        tagged = {kind_of(cls): self.hook(cls) for cls in inner}
        return lambda value: tagged[value["kind"]](value)

    def _text(self, value: Any) -> str:
        if type(value) is Placed:
            return InLanguages(dict(value), self.language)
        if type(value) not in (str, Text):
            raise TypeError(f"{value!r} is no str")
        return value  # type: ignore[no-any-return]

    def _record(self, cls: type[attrs.AttrsInstance]) -> _Hook:
        fields = {key_of(field.name): field for field in attrs.fields(cls)}
        placed = issubclass(cls, Written)
        known: dict[str, tuple[str, Any, _Hook]] = {}

        def hook(value: Placed) -> Any:
            made = {}
            for key, inner in value.items():
                if key == "kind":
                    continue
                if key not in known:
                    kind = fields[key].type
                    known[key] = fields[key].name, bare(kind), self.hook(kind)
                name, kind, structure = known[key]
                made[name] = inner if type(inner) is kind else structure(inner)
            if placed:
                made["at"] = value.at
            return cls(**made)

        return hook
