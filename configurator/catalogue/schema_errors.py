"""Schema errors in our own sentences, each with its place in the file."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from math import floor
from typing import Any

from attrs import evolve, frozen

from configurator.catalogue.plain_data import DAY, MOST_DECIMALS, MOST_DIGITS, Path, Tree
from configurator.errors import Location, Problem
from configurator.money import currencies, exponent
from configurator.shapes.schema import Schema
from configurator.words import Text, did_you_mean, joined, listed, near_miss, text

_RECORDS = {
    "vehicles": text("vehicle"),
    "choices": text("choice"),
    "options": text("option"),
    "rules": text("rule"),
    "limits": text("limit"),
    "cautions": text("caution"),
    "add-ons": text("add-on"),
    "package-deals": text("package deal"),
    "groups": text("group"),
    "spaces": text("space"),
    "places": text("place"),
}
_KINDS = {
    "number": text("a number"),
    "integer": text("a whole number"),
    "string": text("text"),
    "boolean": text("true or false"),
    "array": text("a list"),
    "object": text("a group of keys"),
}


_AMOUNT = r"[0-9]+(\.[0-9]+)?"


@frozen(eq=False, repr=False)
class _Said:
    """What is wrong and what to do, without the place."""

    sentence: str
    code: str
    hint: str = ""
    is_on_yaml: bool = False

    def at(self, place: Location) -> Problem:
        return Problem(place, self.sentence, self.code, self.hint, is_on_yaml=self.is_on_yaml)


def schema_problems(tree: Tree) -> Iterator[Problem]:
    """Everything in the tree that its schema refuses, one problem for each value or key.

    A value in ``tree.refused`` is passed over; what is refused here is added to it.
    """
    before = frozenset(tree.refused)
    for fault in tree.faults:
        path, word, asked, value = fault.path, fault.word, fault.asked, fault.value
        if tree.at(path) in before:
            continue
        if word == "keys":
            yield from _bad_keys(tree, path, asked, value)
            continue
        place = tree.key_at((*path, value)) if fault.is_key else tree.at(path)
        tree.refused.add(place)
        if fault.is_key:
            yield _text_wants(word, asked, value, "").at(place)
        else:
            name = called(tree, path)
            said = _wants(word, asked, value, name, tree.currency, tree.language)
            if word == "exclusiveMinimum" and path[0] == "picks":
                said = evolve(said, hint=text("to have none of it, leave it out"))
            elif (*path[-1:], asked) == ("budget", "object") and re.fullmatch(_AMOUNT, str(value)):
                hint = text("write {what}", what=f"budget: {{limit: {value}}}")
                said = evolve(said, hint=hint, is_on_yaml=False)
            yield said.at(place)


def _bad_keys(tree: Tree, path: Path, shape: Schema, group: Mapping[str, Any]) -> Iterator[Problem]:
    """Keys that are unknown, and keys that are missing and not just misspelled."""
    known, owner = shape.get("properties", {}), called(tree, path)
    open_ended = shape.get("additionalProperties", True) is not False
    unknown = [key for key in group if key not in known and not open_ended]
    absent = [key for key in known if key not in group]
    meant = {key: near_miss(key, absent) for key in unknown}
    missing = [
        key
        for key in shape.get("required", ())
        if key not in group and not any(f'"{key}"' in near for near in meant.values())
    ]
    if unknown:
        tree.refused.add(tree.at(path))
    if unknown and len(missing) > 1:
        others = {"keys": _listed(missing), "others": _listed(unknown)}
        sentence = text("{owner} has no {keys}, but has {others}", owner=owner, **others)
        hint = text("it may belong to the line above: check how far it is set in")
        hint = hint if path else text("check that this is the right file")
        yield Problem(tree.at(path), sentence, "misplaced", hint, is_on_yaml=bool(path))
        return
    for key, near in meant.items():
        sentence = text('{owner} has the unknown key "{key}"', owner=owner, key=shown(key))
        all_known = text("known here: {keys}", keys=", ".join(known))
        yield Problem(tree.key_at((*path, key)), sentence, "unknown-key", near or all_known)
    if missing:
        sentence = text("{owner} has no {keys}", owner=owner, keys=_listed(missing))
        yield _Said(sentence, "missing-key", to_add(missing), is_on_yaml=True).at(tree.at(path))


def to_add(missing: Sequence[str]) -> str:
    """The hint for keys that are missing: each written out, unless there are many."""
    if len(missing) > _MANY:
        return text('add them, each as in "{key}: ..."', key=missing[0])
    return text("add {keys}", keys=joined((f'"{key}: ..."' for key in missing), text(" and ")))


_MANY = 3


def _listed(keys: list[str]) -> Text:
    return listed(f'"{shown(key)}"' for key in keys)


def called(tree: Tree, path: Path) -> str:
    """What a sentence calls the value, such as ``height in body of option "f" of choice "g"``."""
    records = list(_records_on(tree, path))
    depth, kind, _ = records[-1] if records else (0, "", "")
    words: list[str] = []
    for step in path[depth:]:
        if isinstance(step, int):
            of = words[-1] if words else tree.called
            words[-1:] = [text("entry {number} of {list}", number=step + 1, list=of)]
        elif "rows" in words:
            words[words.index("rows") + 1 :] = [text('cell "{column}"', column=step)]
        else:
            words.append(step)
    if len(words) > 1 and words[0] == kind:
        del words[0]
    inner = joined(words[:-3:-1], text(" in "))
    return joined(filter(None, [inner, thing(tree, path)]), text(" of ")) or tree.called


def thing(tree: Tree, path: Path) -> Text:
    """What the value at the path belongs to, such as ``option "h850" of choice "height"``."""
    names = [name for _, _, name in _records_on(tree, path)]
    return joined(reversed(names), text(" of "))


def _records_on(tree: Tree, path: Path) -> Iterator[tuple[int, Text, Text]]:
    """The records on the way to the value, outermost first: depth, kind and name of each."""
    for depth in range(2, len(path) + 1):
        key, index = path[depth - 2], path[depth - 1]
        if not isinstance(index, int) or key not in _RECORDS:
            continue
        record = _value(tree.data, path[:depth])
        identity = record.get("id") if isinstance(record, Mapping) else None
        kind = _RECORDS[str(key)]
        if isinstance(identity, str) and identity:
            yield depth, kind, text('{kind} "{id}"', kind=kind, id=shown(identity))
        else:
            yield depth, kind, text("{kind} {number}", kind=kind, number=index + 1)


def shown(text: Any) -> str:
    """The text as a sentence may hold it: in one line, and not too long."""
    line = " ".join(str(text).split())
    return line if len(line) <= 60 else line[:57] + "..."


def _value(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def _wants(word: str, asked: Any, value: Any, name: str, currency: str, language: str) -> _Said:
    """What a keyword of the schema asks of a value."""
    if word == "type":
        kinds = [asked] if isinstance(asked, str) else list(asked)
        kinds = ["string"] if kinds == ["string", "object"] else kinds
        many = _too_many_digits(value, name) if {"number", "integer"} & {*kinds} else None
        return many or _mistyped(value, kinds, name)
    if word in _BOUNDS:
        bound = _BOUNDS[word](str(asked))
        return _Said(_must_be(name, str(value), bound), "out-of-range")
    if word == "format":
        return _format_wants(asked, name, value, currency, language)
    if word in ("minItems", "minProperties"):
        return _Said(text("{name} has nothing in it", name=name), "empty", _EMPTY_HINT)
    if word == "maxItems":
        sentence = text(
            "{name} has {count} entries; it may have at most {most}",
            name=name,
            count=len(value),
            most=asked,
        )
        hint = text("leave out {many}", many=len(value) - asked)
        return _Said(sentence, "too-many-entries", hint)
    if word == "uniqueItems":
        twice = next(entry for entry in value if value.count(entry) > 1)
        sentence = text('{name} has "{entry}" twice', name=name, entry=shown(twice))
        return _Said(sentence, "repeated-entry", text("keep one of the two"))
    return _text_wants(word, asked, value, name)


def _text_wants(word: str, asked: Any, value: Any, name: str) -> _Said:
    """What is asked of a text; the name is empty for a key."""
    given = f'"{shown(value)}"' if isinstance(value, str) else shown(value)
    if word == "pattern" and "\\S" in asked and not value.strip():
        return _Said(text("{name} is empty", name=name), "empty", _EMPTY_HINT)
    if word == "maxLength":
        sentence = text(
            "{name} has {count} characters; it may have at most {most}",
            name=name or given,
            count=len(value),
            most=asked,
        )
        return _Said(sentence, "too-long", text("shorten it by {count}", count=len(value) - asked))
    if word == "pattern" and asked.startswith("^[a-z0-9]"):
        hint = text("use lower-case letters, digits and single hyphens")
        return _Said(text("{value} is not a valid id", value=given), "bad-name", hint)
    if word == "pattern":
        wanted = next(words for start, words in _WRITTEN.items() if asked.startswith(start))
        return _Said(_must_be(name or text("the key"), given, wanted), "bad-text")
    if word == "const":
        sentence = text(
            "{name} is {value}; only {known} is known", name=name, value=given, known=str(asked)
        )
        return _Said(sentence, "unknown-word", text("write {what}", what=str(asked)))
    words = [str(one) for one in asked]
    sentence = _must_be(name, given, listed(words, alternatives=True))
    return _Said(sentence, "unknown-word", near_miss(str(value), words))


def _must_be(name: str, value: str, wanted: str) -> Text:
    return text("{name} is {value}; it must be {wanted}", name=name, value=value, wanted=wanted)


_WRITTEN = {
    "^https": text("a link that starts with https:// and names a site"),
    "^[^\\n]": text("one line"),
    "^#": text("a colour such as #1f4e5f"),
    "^[a-z]{2,3}": text("a language such as en-AU or de"),
    "^[A-Za-z0-9_-]": text("the name of a .png, .jpg or .svg file beside the catalogue"),
}
"""How a text must be written, by the start of its pattern in the schema."""

_BOUNDS: dict[str, Callable[[str], Text]] = {
    "minimum": lambda bound: text("at least {bound}", bound=bound),
    "exclusiveMinimum": lambda bound: text("more than {bound}", bound=bound),
    "maximum": lambda bound: text("at most {bound}", bound=bound),
    "exclusiveMaximum": lambda bound: text("less than {bound}", bound=bound),
}
_EMPTY_HINT = text("fill it in")


def _mistyped(value: Any, kinds: list[str], name: str) -> _Said:
    """That a value is of a wrong kind, and what to write instead where that can be told."""
    wanted = joined((words for kind, words in _KINDS.items() if kind in kinds), text(" or "))
    if value is None:
        sentence = text("{name} is empty; it must be {wanted}", name=name, wanted=wanted)
        return _Said(sentence, "wrong-type", _EMPTY_HINT)
    given: str
    if isinstance(value, str):
        given = text('the text "{value}"', value=shown(value))
    elif isinstance(value, Mapping):
        given = _KINDS["object"]
    else:
        given = _KINDS["array"] if isinstance(value, list) else str(value)
    sentence = _must_be(name, given, wanted)
    hint = _type_hint(value, kinds)
    if hint is not None or len(kinds) > 1:
        return _Said(sentence, "wrong-type", hint or "")
    on_yaml = _KIND_HINTS.get(kinds[0], "")
    return _Said(sentence, "wrong-type", on_yaml, is_on_yaml=bool(on_yaml))


def _type_hint(value: Any, kinds: list[str]) -> str | None:
    """What to write instead of the value; None where that depends on the kind alone."""
    if isinstance(value, str) and {"number", "integer"} & {*kinds}:
        return _number_hint(value)
    if isinstance(value, str) and "boolean" in kinds:
        word = _BOOLEANS.get(value.lower())
        return text("write {what}", what=word) if word else ""
    if isinstance(value, Decimal) and kinds == ["integer"]:
        whole = floor(value)
        if whole == value:
            return text("write {what}", what=str(whole))
        return text("write {what} or {other}", what=str(whole), other=str(whole + 1))
    return None


_KIND_HINTS = {
    "array": text('begin each entry with "- " in a line of its own'),
    "object": text('write "key: value" lines below it'),
    "string": text("write the text alone, in quotation marks if it holds brackets or braces"),
}
_BOOLEANS = dict.fromkeys(("yes", "on", "y", "true"), "true") | dict.fromkeys(
    ("no", "off", "n", "false"), "false"
)


def _too_many_digits(value: object, name: str) -> _Said | None:
    """What is said of a figure with more digits than are read; None of any other."""
    parts = (
        re.fullmatch(r"(-?(0|[1-9][0-9]*))(?:\.([0-9]+))?", value) if type(value) is str else None
    )
    if parts is None:
        return None
    told = {"name": name, "value": shown(value)}
    if len(parts[2]) > MOST_DIGITS:
        sentence = text(
            "{name} is {value}; a figure has at most {most} digits before the point",
            most=MOST_DIGITS,
            **told,
        )
        return _Said(sentence, "too-many-digits", text("check the figure"))
    if len((parts[3] or "").rstrip("0")) > MOST_DECIMALS:
        sentence = text(
            "{name} is {value}; a figure has at most {most} decimals", most=MOST_DECIMALS, **told
        )
        rounded = f"{parts[1]}.{parts[3][:MOST_DECIMALS]}"
        hint = text("round it, such as to {figure}", figure=rounded)
        return _Said(sentence, "too-many-digits", hint)
    return None


def _number_hint(value: str) -> Text:
    """What to write instead of a text that was meant for a number."""
    if re.fullmatch(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?", value):
        return text("write {figure} without quotation marks", figure=value)
    bare = value.strip().lstrip("$+").replace("_", "")
    if re.fullmatch(r"-?[0-9]{1,3}([, ][0-9]{3})+(\.[0-9]+)?", bare):
        bare = bare.replace(",", "").replace(" ", "")
    parts = re.fullmatch(r"(-?)0*([0-9]*)(?:\.([0-9]*))?", bare)
    if not parts or not (parts[2] or parts[3]):
        return text("write digits, with a point before decimals, and nothing else")
    figure = f"{parts[1]}{parts[2] or 0}{'.' + parts[3] if parts[3] else ''}"
    return text("write {what}", what=figure)


def _format_wants(asked: str, name: str, value: Any, currency: str, language: str) -> _Said:
    if asked == "money":
        digits = exponent(currency)
        decimals = text("{n} decimal", "{n} decimals", n=digits) if digits else text("no decimals")
        hint = text("round it to {decimals}", decimals=decimals)
        sentence = text(
            "{name} is {value}; {currency} has {decimals}",
            name=name,
            value=str(value),
            currency=currency,
            decimals=decimals,
        )
        whole = text("round it to a whole number")
        return _Said(sentence, "bad-money", hint if digits else whole)
    if asked == "languages":
        known = {"name": name, "language": language}
        sentence = text(
            "{name} is not given in {language}, the language of the catalogue's papers", **known
        )
        hint = text(
            'add "{language}: ...", or put a text with braces in quotation marks', language=language
        )
        return _Said(sentence, "no-text", hint, is_on_yaml=True)
    if asked == "date":
        if DAY.fullmatch(value):
            sentence = text('{name} is "{value}"; there is no such day', name=name, value=value)
            return _Said(sentence, "bad-date", text("check the month and the day"))
        wrong = text('{name} is "{value}"; it must be a day', name=name, value=shown(value))
        return _Said(wrong, "bad-date", text("write it as {form}", form="YYYY-MM-DD"))
    alike = [f'"{code}"' for code in sorted(currencies()) if code[:2] == value[:2].upper()]
    sentence = text(
        '{name} is "{value}"; it must be an ISO 4217 currency code such as AUD',
        name=name,
        value=shown(value),
    )
    return _Said(sentence, "bad-currency", did_you_mean(alike))
