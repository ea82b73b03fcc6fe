"""Schema errors in our own sentences, each with its place in the file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from math import floor
from typing import Any

from attrs import evolve, frozen

from configurator.catalogue.plain_data import DAY, MOST_DECIMALS, MOST_DIGITS, Path, Tree
from configurator.errors import Location, Problem, near_miss
from configurator.money import currencies, exponent
from configurator.shapes.schema import Schema
from configurator.words import Text, joined, listed, text

_RECORDS = {
    "vehicles": "vehicle",
    "choices": "choice",
    "options": "option",
    "rules": "rule",
    "limits": "limit",
    "cautions": "caution",
    "add-ons": "add-on",
    "package-deals": "package deal",
    "groups": "group",
    "spaces": "space",
    "places": "place",
}
_KINDS = {
    "number": "a number",
    "integer": "a whole number",
    "string": "text",
    "boolean": "true or false",
    "array": "a list",
    "object": "a group of keys",
}


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
                said = evolve(said, hint="to have none of it, leave it out")
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
        yield Problem(tree.at(path), sentence, "misplaced", hint)
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
    owner = thing(tree, path)
    words: list[str] = []
    for step in path[records[-1][0] if records else 0 :]:
        if isinstance(step, int):
            words[-1:] = [f"entry {step + 1} of {words[-1] if words else tree.called}"]
        elif "rows" in words:
            words[words.index("rows") + 1 :] = [f'cell "{step}"']
        else:
            words.append(step)
    if len(words) > 1 and owner.startswith(words[0] + " "):
        del words[0]
    inner = " in ".join(words[:-3:-1])
    return " of ".join(filter(None, [inner, owner])) or tree.called


def thing(tree: Tree, path: Path) -> str:
    """What the value at the path belongs to, such as ``option "h850" of choice "height"``."""
    return " of ".join(name for _, name in reversed(list(_records_on(tree, path))))


def _records_on(tree: Tree, path: Path) -> Iterator[tuple[int, str]]:
    """The records on the way to the value, outermost first, each with the depth it is at."""
    for depth in range(2, len(path) + 1):
        name, index = path[depth - 2], path[depth - 1]
        if not isinstance(index, int) or name not in _RECORDS:
            continue
        record = _value(tree.data, path[:depth])
        identity = record.get("id") if isinstance(record, Mapping) else None
        kind = _RECORDS[str(name)]
        named = isinstance(identity, str) and identity
        yield depth, f'{kind} "{shown(identity)}"' if named else f"{kind} {index + 1}"


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
        digits = _too_many_digits(value) if {"number", "integer"} & {*kinds} else None
        if digits is not None:
            return _Said(f"{name} is {shown(value)}; {digits[0]}", "too-many-digits", digits[1])
        hint = _type_hint(value, kinds)
        on_yaml = hint in _KIND_HINTS.values()
        return _Said(f"{name} {_mistyped(value, kinds)}", "wrong-type", hint, on_yaml)
    if word in _BOUNDS:
        return _Said(f"{name} is {value}; it must be {_BOUNDS[word]} {asked}", "out-of-range")
    if word == "format":
        return _format_wants(asked, name, value, currency, language)
    if word in ("minItems", "minProperties"):
        return _Said(f"{name} has nothing in it", "empty", _EMPTY_HINT)
    if word == "maxItems":
        sentence = f"{name} has {len(value)} entries; it may have at most {asked}"
        return _Said(sentence, "too-many-entries", f"leave out {len(value) - asked}")
    if word == "uniqueItems":
        twice = next(entry for entry in value if value.count(entry) > 1)
        return _Said(f'{name} has "{shown(twice)}" twice', "repeated-entry", "keep one of the two")
    return _text_wants(word, asked, value, name)


def _text_wants(word: str, asked: Any, value: Any, name: str) -> _Said:
    """What is asked of a text; the name is empty for a key."""
    text = f'"{shown(value)}"' if isinstance(value, str) else shown(value)
    if word == "pattern" and "\\S" in asked and not value.strip():
        return _Said(f"{name} is empty", "empty", _EMPTY_HINT)
    if word == "maxLength":
        sentence = f"{name or text} has {len(value)} characters; it may have at most {asked}"
        return _Said(sentence, "too-long", f"shorten it by {len(value) - asked}")
    if word == "pattern" and asked.startswith("^[a-z0-9]"):
        hint = "use lower-case letters, digits and single hyphens"
        return _Said(f"{text} is not a valid id", "bad-name", hint)
    if word == "pattern":
        wanted = next(words for start, words in _WRITTEN.items() if asked.startswith(start))
        return _Said(f"{name or 'the key'} is {text}; it must be {wanted}", "bad-text")
    if word == "const":
        return _Said(f"{name} is {text}; only {asked} is known", "unknown-word", f"write {asked}")
    words = [str(one) for one in asked]
    listed = " or ".join(filter(None, [", ".join(words[:-1]), words[-1]]))
    sentence = f"{name} is {text}; it must be {listed}"
    return _Said(sentence, "unknown-word", near_miss(str(value), words))


_WRITTEN = {
    "^https": "a link that starts with https:// and names a site",
    "^[^\\n]": "one line",
    "^#": "a colour such as #1f4e5f",
    "^[a-z]{2,3}": "a language such as en-AU or de",
    "^[A-Za-z0-9_-]": "the name of a .png, .jpg or .svg file beside the catalogue",
}
"""How a text must be written, by the start of its pattern in the schema."""

_BOUNDS = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}
_EMPTY_HINT = "fill it in"


def _mistyped(value: Any, kinds: list[str]) -> str:
    wanted = " or ".join(words for kind, words in _KINDS.items() if kind in kinds)
    if value is None:
        return f"is empty; it must be {wanted}"
    if isinstance(value, str):
        return f'is the text "{shown(value)}"; it must be {wanted}'
    if isinstance(value, Mapping):
        return f"is a group of keys; it must be {wanted}"
    if isinstance(value, list):
        return f"is a list; it must be {wanted}"
    return f"is {value}; it must be {wanted}"


def _type_hint(value: Any, kinds: list[str]) -> str:
    if value is None:
        return _EMPTY_HINT
    if isinstance(value, str) and {"number", "integer"} & {*kinds}:
        return _number_hint(value)
    if isinstance(value, str) and "boolean" in kinds:
        word = _BOOLEANS.get(value.lower())
        return f"write {word}" if word else ""
    if isinstance(value, Decimal) and kinds == ["integer"]:
        whole = floor(value)
        return f"write {whole}" if whole == value else f"write {whole} or {whole + 1}"
    return _KIND_HINTS.get(kinds[0], "") if len(kinds) == 1 else ""


_KIND_HINTS = {
    "array": 'begin each entry with "- " in a line of its own',
    "object": 'write "key: value" lines below it',
    "string": "write the text alone, in quotation marks if it holds brackets or braces",
}
_BOOLEANS = dict.fromkeys(("yes", "on", "y", "true"), "true") | dict.fromkeys(
    ("no", "off", "n", "false"), "false"
)


def _too_many_digits(value: object) -> tuple[str, str] | None:
    """What is said of a figure with more digits than are read, and what to do; None otherwise."""
    parts = (
        re.fullmatch(r"(-?(0|[1-9][0-9]*))(?:\.([0-9]+))?", value) if type(value) is str else None
    )
    if parts is None:
        return None
    if len(parts[2]) > MOST_DIGITS:
        return f"a figure has at most {MOST_DIGITS} digits before the point", "check the figure"
    if len((parts[3] or "").rstrip("0")) > MOST_DECIMALS:
        rounded = f"{parts[1]}.{parts[3][:MOST_DECIMALS]}"
        return f"a figure has at most {MOST_DECIMALS} decimals", f"round it, such as to {rounded}"
    return None


def _number_hint(value: str) -> str:
    """What to write instead of a text that was meant for a number."""
    if re.fullmatch(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?", value):
        return f"write {value} without quotation marks"
    bare = value.strip().lstrip("$+").replace("_", "")
    if re.fullmatch(r"-?[0-9]{1,3}([, ][0-9]{3})+(\.[0-9]+)?", bare):
        bare = bare.replace(",", "").replace(" ", "")
    parts = re.fullmatch(r"(-?)0*([0-9]*)(?:\.([0-9]*))?", bare)
    if not parts or not (parts[2] or parts[3]):
        return "write digits, with a point before decimals, and nothing else"
    return f"write {parts[1]}{parts[2] or 0}{'.' + parts[3] if parts[3] else ''}"


def _format_wants(asked: str, name: str, value: Any, currency: str, language: str) -> _Said:
    if asked == "money":
        digits = exponent(currency)
        decimals = f"{digits or 'no'} decimal{'' if digits == 1 else 's'}"
        hint = f"round it to {decimals}" if digits else "round it to a whole number"
        return _Said(f"{name} is {value}; {currency} has {decimals}", "bad-money", hint)
    if asked == "languages":
        sentence = f"{name} is not given in {language}, the language of the catalogue's papers"
        hint = f'add "{language}: ...", or put a text with braces in quotation marks'
        return _Said(sentence, "no-text", hint, is_on_yaml=True)
    if asked == "date":
        if DAY.fullmatch(value):
            return _Said(f'{name} is "{value}"; there is no such day', "bad-date", _DAY_HINT)
        sentence = f'{name} is "{shown(value)}"; it must be a day'
        return _Said(sentence, "bad-date", "write it as YYYY-MM-DD")
    alike = [code for code in sorted(currencies()) if code[:2] == value[:2].upper()]
    hint = "did you mean " + " or ".join(f'"{code}"' for code in alike) + "?" if alike else ""
    sentence = f'{name} is "{shown(value)}"; it must be an ISO 4217 currency code such as AUD'
    return _Said(sentence, "bad-currency", hint)


_DAY_HINT = "check the month and the day"
