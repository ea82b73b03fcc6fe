"""The questions and changes that programs may ask for: methods of Build, and what they are given.

A question is its method's name in ``QUESTIONS``; its parameters, with their meaning, are those of
the method itself. What is written here by hand is only what Python does not say.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, TypeAlias, get_args

from attrs import field, frozen

from configurator.answers.facts import PICTURES
from configurator.build import Build, Effort
from configurator.build_changes import SIDES
from configurator.catalogue.fields import MOST_MONEY
from configurator.errors import ConfiguratorError
from configurator.render.look import Look
from configurator.render.writing import kinds_of
from configurator.shapes.schema import Schema
from configurator.shapes.shipped import linked
from configurator.words import text

SELECTION = "selection.schema.json"

LEFT_OUT = {
    "suggestions": "they are in the answer of price",
    "one_by_one": "options gives the same states at once",
    "fixes_one_by_one": "fixes gives the same at once",
    "margin": "what the shop pays is for its own eyes only",
    "change": "send the selection as it is to be",
    "save": "ask for the selection, and keep it",
}
"""Methods of Build that no program can ask for here, and why."""

CHANGES = (
    "pick",
    "drop",
    "without",
    "tidied",
    "place",
    "travel",
    "for_customer",
    "add",
    "adjust",
    "trade_in",
    "override",
)
"""Methods of Build that give a changed build."""


PLACED = ("pick", "drop", "place")
"""Those that are told where they were said."""


def _of(path: str) -> Schema:
    """A part of the schema of selections."""
    return {"$ref": f"{SELECTION}{path and '#'}{path}"}


_TEXT: Schema = {"type": "string", "maxLength": 200}
_PICK: Schema = {
    "type": ["string", "object"],
    "description": "A pick as CHOICE=OPTION, or with its quantity.",
    "maxLength": 130,
    "required": ["pick"],
    "properties": {
        "pick": {"type": "string", "maxLength": 130, "description": "CHOICE=OPTION."},
        "quantity": {"type": "number", "exclusiveMinimum": 0, "maximum": 100_000},
    },
    "additionalProperties": False,
}
_KINDS: Mapping[str, Schema] = {
    "bool": {"type": "boolean"},
    "int": {"type": "integer", "minimum": 1, "maximum": 20},
    "str": _TEXT,
    "Effort": {"type": "string", "enum": [*get_args(Effort)]},
    "int | Decimal": {"type": "number", "exclusiveMinimum": 0, "maximum": 100_000},
    "Decimal | int": {"type": "number", "exclusiveMinimum": 0, "maximum": MOST_MONEY},
    "Iterable[Pick | str]": {"type": "array", "items": _PICK, "maxItems": 100},
    "Sequence[str]": {"type": "array", "items": _TEXT, "maxItems": 8},
    "Build": {"type": "array", "items": _of(""), "minItems": 1, "maxItems": 7},
    "Budget | None": _of("/properties/budget"),
    "FreeLine": _of("/properties/free-lines/items"),
    "Adjustment": _of("/properties/adjustments/items"),
    "TradeIn": _of("/properties/trade-ins/items"),
    "Override": _of("/properties/overrides/items"),
}
"""The schema of each type of a parameter."""

_NAMED: Mapping[str, Schema] = {
    "view": {"type": "string", "enum": [*PICTURES]},
    "prefer": {"type": "string", "enum": ["price", "mass", "space"]},
    "side": {"type": "string", "enum": [*SIDES]},
    "towards": {"type": "string", "enum": ["front", "rear"]},
    **{name: _of(f"/$defs/wish/properties/{name}") for name in ("x", "y", "z")},
    "name": _of("/$defs/customer/properties/name"),
    **{
        name: _of(f"/$defs/travel/properties/{name.replace('_', '-')}")
        for name in ("people", "tow_ball", "trailer", "place", "season", "driving")
    },
}
"""The schema of a parameter whose type says too little, by its name."""

DAY: Schema = {
    "type": "string",
    "format": "date",
    "description": "The day whose prices count, and the day of issue of what is issued, "
    "YYYY-MM-DD. Default: today.",
}
_PAPER: Mapping[str, Schema] = {
    "page": {"type": "string", "enum": ["A4", "Letter"], "description": "The sheet of a paper."},
    "language": {**_TEXT, "description": "Of a paper, such as en-AU or de."},
}


@frozen
class Parameter:
    """What a method is given.

    Attributes:
        name: in Python.
        kind: its type, as the method has it.
        schema: what may be sent for it.
        needed: it has no default.
        several: it stands for any number of arguments.
    """

    name: str
    kind: str
    schema: Schema
    needed: bool
    several: bool

    @property
    def key(self) -> str:
        """The key under which it is sent."""
        return self.name.replace("_", "-")


@cache
def parameters(method: Callable[..., Any]) -> tuple[Parameter, ...]:
    """What a method of Build is given, but for a day, which every question has."""
    meanings, found = _meanings(method), []
    for one in [*inspect.signature(method).parameters.values()][1:]:
        if one.annotation in ("Location", "dt.date"):
            continue
        several = one.kind is inspect.Parameter.VAR_POSITIONAL
        said = _NAMED.get(one.name) or _KINDS[one.annotation]
        if several and one.annotation == "str":
            said = {"type": "array", "items": _TEXT, "maxItems": 1000}
        schema = {**said, "description": meanings.get(one.name, said.get("description", ""))}
        needed = one.default is one.empty and (not several or one.annotation == "Build")
        if isinstance(one.default, bool | int | str) and one.default != "":
            schema["default"] = one.default
        found.append(Parameter(one.name, one.annotation, schema, needed, several))
    return tuple(found)


def _meanings(method: Callable[..., Any]) -> dict[str, str]:
    """What the docstring says of each argument."""
    told = inspect.cleandoc(method.__doc__ or "").partition("Args:\n")[2]
    told = re.split(r"^\S", told, maxsplit=1, flags=re.MULTILINE)[0]
    found = re.findall(r"^    (\w+): (.*(?:\n {5,}.*)*)", told, re.MULTILINE)
    return {name: _plain(meaning) for name, meaning in found}


def _plain(meaning: str) -> str:
    text = re.sub(r"``|:(?:\w+:)?`[~.]?([^`]*)`", r"\1", " ".join(meaning.split()))
    return f"{text[0].upper()}{text[1:]}"


def meaning(method: object) -> str:
    """The first paragraph of a docstring."""
    told = (inspect.getdoc(method) or "").partition("\n\n")[0]
    return _plain(told)


Given: TypeAlias = Mapping[str, Any]


def _as_it_is(build: Build, answer: Any, given: Given) -> Any:
    del build, given
    return answer


def _written(answer: Any, given: Given, kind: str, look: Callable[[], Look]) -> bytes:
    del given
    kinds: Mapping[str, Callable[[], bytes]] = kinds_of(answer, look)
    return kinds[f".{kind}"]()


@frozen
class Question:
    """What a program may ask of a build.

    Attributes:
        answers: names of what it may be answered with, in the schema of answers.
        kinds: what it can be written as.
        then: makes of the method's answer what the command of that name says with ``--json``.
        write: writes the answer as one of the kinds.
        without: parameters of the method that nobody here may give.
        besides: more keys that may be sent, each with its schema.
        needed: those of them that must be.
        dated: its paper has a day of issue, on which the prices must hold.
    """

    answers: tuple[str, ...]
    kinds: tuple[str, ...] = ("json",)
    then: Callable[[Build, Any, Given], Any] = _as_it_is
    write: Callable[[Any, Given, str, Callable[[], Look]], bytes] = _written
    without: tuple[str, ...] = ()
    besides: Mapping[str, Schema] = field(factory=dict)
    needed: tuple[str, ...] = ()
    dated: bool = False


def _with_suggestions(build: Build, price: Any, _: Given) -> Any:
    from configurator.report.price import PriceAnswer

    return PriceAnswer(price, build.suggestions())


def _weighed(_: Build, mass: Any, __: Given) -> Any:
    if mass is None:
        raise ConfiguratorError(text("pick a vehicle: without one there are no axles to load"))
    return mass


def _drawn(answer: Any, given: Given, kind: str, look: Callable[[], Look]) -> bytes:
    if kind != "json" and answer.layout is None and answer.view != "vehicle":
        raise ConfiguratorError(text("there is no layout to draw: ask for it as json"))
    return _written(answer, given, kind, look)


def _sheet(made: Any, given: Given, kind: str, look: Callable[[], Look]) -> bytes:
    """One sheet, which knows neither cost nor supplier."""
    from configurator.answers.data import to_json
    from configurator.render.dxf import cuts_dxf
    from configurator.render.pdf import html_to_pdf
    from configurator.render.sheets import sheet_pages

    name = given["sheet"]
    sheet = getattr(made, name)
    if sheet is None:
        raise ConfiguratorError(text("there is no such sheet: nothing that is picked needs it"))
    if kind == "json":
        return to_json(sheet).encode()
    if kind == "dxf":
        if name != "cuts":
            raise ConfiguratorError(text("only the sheet cuts can be drawn as dxf"))
        return cuts_dxf(sheet, look().language)
    html = sheet_pages(made, look())[name]()
    return html_to_pdf(html) if kind == "pdf" else html.encode()


_PAPERS = ("json", "pdf", "html")
_SHEET: Schema = {
    "type": "string",
    "enum": ["job", "wiring", "cuts"],
    "description": "Which sheet; the order list names suppliers, and is on the command line only.",
}

QUESTIONS: Mapping[str, Question] = {
    "check": Question(("check",)),
    "price": Question(("price",), then=_with_suggestions),
    "options": Question(("options",)),
    "explain": Question(("explain",)),
    "fixes": Question(("fixes",)),
    "complete": Question(("completion", "explain")),
    "within": Question(("within",)),
    "layout": Question(("layout",), (*_PAPERS, "svg"), write=_drawn),
    "mass": Question(("mass",), ("json", "svg"), then=_weighed),
    "power": Question(("power",), ("json", "svg")),
    "budget": Question(("budget",), _PAPERS),
    "compare": Question(("comparison",), _PAPERS),
    "quote": Question(("quote",), (*_PAPERS, "xml", "ics"), dated=True),
    "sheets": Question(
        ("job", "wiring", "cuts"),
        (*_PAPERS, "dxf"),
        write=_sheet,
        without=("cost",),
        besides={"sheet": _SHEET},
        needed=("sheet",),
        dated=True,
    ),
}
"""By the name of the method."""

MEDIA = {
    "json": "application/json",
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "svg": "image/svg+xml",
    "xml": "application/xml",
    "ics": "text/calendar; charset=utf-8",
    "dxf": "image/vnd.dxf",
}
"""The media type of each kind of answer."""

_NUMBER: Schema = {
    **_TEXT,
    "description": "The quote of which this is the next revision. Default: it is a new quote.",
}
ISSUE = Question(
    ("quote",),
    besides={
        "seller": {
            **_TEXT,
            "description": "Who issues it; where sellers sign in, the one who has.",
        },
        "number": _NUMBER,
        "reason": {**_TEXT, "description": "Why it is revised."},
        "same-contact": {
            "type": "boolean",
            "description": "Another customer than in the last revision has the same telephone and "
            "e-mail, and that is right; without it, such a revision is refused.",
        },
    },
)
"""A quote that is issued, as on the page, and kept in the register."""

CHOSEN = Question(("selection",))
"""The selection itself, after the changes."""

LOOKED_FOR: Mapping[str, str] = {
    "words": "Words, or their beginnings, in number, customer, telephone, e-mail, title, vehicle.",
    "status": "The status that it has now.",
    "lapses": "Those issued that stand no longer than so many days from now.",
}
"""What quotes of the register are looked for by."""

NAMES = (*QUESTIONS, "selection", "issue", "catalogue", "quotes", "openapi.json")


def asked(name: str) -> tuple[Question, tuple[Parameter, ...]]:
    """A question, with what its method is given."""
    if name in ("selection", "issue"):
        return (CHOSEN if name == "selection" else ISSUE), ()
    question = QUESTIONS[name]
    given = parameters(getattr(Build, name))
    return question, tuple(one for one in given if one.name not in question.without)


def _change_schema() -> Schema:
    """One change: an object with one key, the change's name."""
    named = {}
    for name in CHANGES:
        method = getattr(Build, name)
        given = parameters(method)
        named[name.replace("_", "-")] = {
            "type": "object",
            "description": meaning(method),
            "required": [one.key for one in given if one.needed],
            "properties": {one.key: one.schema for one in given},
            "additionalProperties": False,
        }
    return {
        "type": "object",
        "description": "One change.",
        "properties": named,
        "additionalProperties": False,
        "minProperties": 1,
    }


@cache
def body_schema(name: str) -> Schema:
    """What may be sent with a question."""
    question, given = asked(name)
    properties: dict[str, Schema] = {
        "selection": {**_of(""), "description": "What is picked. Default: nothing yet."},
        "changes": {
            "type": "array",
            "description": "Changes of the selection, made in this order before the question.",
            "items": _change_schema(),
            "maxItems": 200,
        },
        **{one.key: one.schema for one in given},
        **question.besides,
    }
    if name != "issue":
        properties["day"] = DAY
    if len(question.kinds) > 1:
        told = "What the answer is written as."
        kinds = {"type": "string", "enum": [*question.kinds], "default": "json"}
        properties |= {"as": {**kinds, "description": told}, **_PAPER}
    return {
        "type": "object",
        "required": [*(one.key for one in given if one.needed), *question.needed],
        "properties": properties,
        "additionalProperties": False,
    }


@cache
def checked_schema(name: str) -> Schema:
    """The same with the schema of selections in it, to check a body against."""
    linked_in = _linked(body_schema(name))
    assert isinstance(linked_in, dict)
    return linked_in


def _linked(part: Any) -> Any:
    if isinstance(part, list):
        return [_linked(one) for one in part]
    if not isinstance(part, dict):
        return part
    if "$ref" not in part:
        return {key: _linked(one) for key, one in part.items()}
    found = linked("selection")
    for step in part["$ref"].partition("#")[2].split("/")[1:]:
        found = found[step]
    return {key: one for key, one in found.items() if not key.startswith("$")}
