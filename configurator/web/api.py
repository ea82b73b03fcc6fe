"""Answers for other programs: a question in JSON, its answer as the command says it with --json."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from attrs import evolve, field, frozen

from configurator.answers.data import selection_file_data, to_data, to_json
from configurator.answers.register import QuoteList
from configurator.answers.values import Refused
from configurator.build import Build
from configurator.catalogue.fields import Pick
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.schema_errors import schema_problems
from configurator.errors import (
    ConfiguratorError,
    DataError,
    FileError,
    Location,
    MissingLibrary,
    Problem,
    RegisterError,
    SearchLimit,
    SelectionError,
)
from configurator.findings import QuoteRefused
from configurator.render.look import Look, look_of
from configurator.selection.picks import Selection
from configurator.selection.reading import parse_selection
from configurator.shapes.shipped import schema_text
from configurator.shop import Shop
from configurator.web.bodies import NotJson, Pointers, joined_pointer, read_body
from configurator.web.counter import Counter
from configurator.web.messages import Answer, PageRequest, problem
from configurator.web.methods import (
    LOOKED_FOR,
    MEDIA,
    PLACED,
    Parameter,
    asked,
    checked_schema,
    parameters,
)
from configurator.web.openapi import document
from configurator.web.package import PAPER_POLICY
from configurator.web.quotes import found_quotes, issued
from configurator.web.taps import contact_of
from configurator.words import text

_INSIDE = {
    "Budget | None": "budget",
    "FreeLine": "free_lines",
    "Adjustment": "adjustments",
    "TradeIn": "trade_ins",
    "Override": "overrides",
}
"""The field of a selection that holds what a parameter of this type is."""

_MOST_PROBLEMS = 100

_HINTS = {"other-catalogue": text("send a selection of this catalogue, or change the id in it")}
"""Hints for programs, by the code of a problem of which the usual one names a command's option."""


def told(counter: Counter, question: PageRequest) -> Answer:
    """The answer to a program's question, or what is wrong, as problem details."""
    pointers = Pointers()
    try:
        return _told(counter, question, pointers)
    except NotJson as error:
        found = {"pointer": error.pointer, "sentence": str(error), "code": "not-json", "hint": ""}
        return problem(400, str(error), code="not-json", problems=[found])
    except _Unfit as error:
        return _wrong(400, error.problems, pointers)
    except DataError as error:
        return _wrong(422, error.problems, pointers)
    except QuoteRefused as error:
        data = to_data(Refused.by(error))
        del data["answer"]
        return problem(422, str(error), code="refused", **data)
    except RegisterError as error:
        return problem(409, str(error), code="register")
    except SearchLimit as error:
        return problem(422, str(error), code="not-settled")
    except (FileError, MissingLibrary) as error:
        return problem(503, str(error), code="unavailable")
    except (ConfiguratorError, ValueError) as error:
        return problem(422, str(error), code="not-possible")


class _Unfit(SelectionError):
    """The body has not the shape that is asked for."""


def _wrong(code: int, problems: Sequence[Problem], pointers: Pointers) -> Answer:
    listed = [
        {
            "pointer": pointers.to(one.at),
            "sentence": one.sentence,
            "code": one.code,
            "hint": "" if one.is_on_yaml else _HINTS.get(one.code, one.hint),
        }
        for one in problems[:_MOST_PROBLEMS]
    ]
    more = f", and {len(problems) - 1} more" if len(problems) > 1 else ""
    return problem(code, f"{listed[0]['sentence']}{more}", code="wrong", problems=listed)


def _told(counter: Counter, question: PageRequest, pointers: Pointers) -> Answer:
    name = question.path["question"]
    if name in DOCUMENTS:
        return Answer(DOCUMENTS[name]().encode(), kind=MEDIA["json"])
    if name == "catalogue":
        if question.query:
            raise ConfiguratorError("the catalogue is asked for without a query")
        return _json(for_programs(counter.shop, None).list())
    if name == "quotes":
        return _json(_found(counter, question.query))
    body = _QuestionBody(name, question.file or b"", pointers)
    day = body.day or (counter.today() if asked(name)[0].dated or name == "issue" else None)
    shop = for_programs(counter.shop, day)
    build = body.build(shop)
    if name == "selection":
        build.price()  # its names mean something
        return _json(selection_file_data(build.selection))
    if name == "issue":
        return _issued(counter, question, body.given, build)
    return _answer(counter, shop, build, body, day)


def _json(value: Any, code: int = 200, **headers: str) -> Answer:
    return Answer(to_json(value).encode(), code, MEDIA["json"], headers)


def _issued(
    counter: Counter, question: PageRequest, given: Mapping[str, Any], build: Build
) -> Answer:
    """A quote issued as on the page, under the name of the seller who has signed in."""
    seller = question.seller if question.sellers else given.get("seller", "")
    number, reason = given.get("number", ""), given.get("reason", "")
    request = question.field("request").strip('"')
    if len(request) > _LONGEST_KEY or not request.isprintable():
        told = f"an Idempotency-Key has at most {_LONGEST_KEY} letters, in one line"
        return problem(400, told, code="not-possible")
    if request:  # programs name requests as they like, and each seller's may choose the same
        request = f"{request} of {seller}"
    if number and not given.get("same-contact"):
        with counter.register() as register:
            before = counter.shop.build(register.open(number).selection.encode())
        if name := contact_of(before, build):
            told = f"telephone and e-mail are still those of {name}: change them, or send "
            return problem(409, told + "same-contact: true", code="contact")
    kept = issued(counter, build, number, seller=seller, reason=reason, request=request)
    return _json(kept.answer, 201)


_LONGEST_KEY = 150
"""With the longest name of a seller it is a reason in the trail."""


def _found(counter: Counter, query: Mapping[str, str]) -> QuoteList:
    """The quotes that a program looks for."""
    if unknown := set(query) - set(LOOKED_FOR):
        keys = ", ".join(LOOKED_FOR)
        known = {"keys": keys, "key": min(unknown)}
        raise ConfiguratorError(text("quotes are looked for by {keys}, not by {key}", **known))
    words, status, lapses = (query.get(key, "") for key in LOOKED_FOR)
    return found_quotes(counter, words, status, lapses)


def _answer(
    counter: Counter, shop: Shop, build: Build, body: _QuestionBody, day: dt.date | None
) -> Answer:
    question, _ = asked(body.name)
    several, named = body.arguments(shop)
    if question.dated:
        named["day"] = day
    answer = getattr(build, body.name)(*several, **named)
    if body.name == "quote" and not answer.is_draft:
        with counter.register() as register:
            register.require_free(answer.number, answer)
    answer = question.then(build, answer, body.given)
    kind = body.given.get("as", "json")

    def look() -> Look:
        given = body.given
        return look_of(shop.catalogue.shop, given.get("page"), given.get("language"))

    content = question.write(answer, body.given, kind, look)
    headers = {} if kind == "json" else {"Content-Security-Policy": PAPER_POLICY}
    return Answer(content, kind=MEDIA[kind], headers=headers)


@lru_cache(maxsize=4)
def for_programs(shop: Shop, day: dt.date | None) -> Shop:
    """The shop as programs may know it: nothing of what it pays, and to whom.

    Raises:
        SelectionError: the catalogue has no prices for that day.
    """
    catalogue = shop.catalogue if day is None else shop.catalogue.on(day)
    unpriced = "" if day is None else catalogue.unpriced_on(day)
    if unpriced:
        hint = "give a day on which they hold"
        at = Location("/day", 0, 0)
        raise SelectionError([Problem(at, unpriced, "day-without-prices", hint)])
    known = evolve(catalogue, trade=()) if catalogue.trade else catalogue
    return shop if known is shop.catalogue else Shop(known)


DOCUMENTS: Mapping[str, Callable[[], str]] = {
    "openapi.json": lambda: to_json(document()),
    "answers.schema.json": lambda: schema_text("answers"),
    "selection.schema.json": lambda: schema_text("selection"),
}
"""What describes the answers; each refers to the others by its name."""


@frozen
class _QuestionBody:
    """What was sent with a question.

    Attributes:
        name: of the question.
        content: as it was sent.
        pointers: are told the places of what is read.
        given: what was sent, once it has its shape.
    """

    name: str
    content: bytes
    pointers: Pointers
    given: Mapping[str, Any] = field(init=False)

    @given.default
    def _fit(self) -> Mapping[str, Any]:
        sent = read_body(self.content)
        text = to_json(sent)
        self.pointers.of("", text)
        tree = evolve(read_tree(text, "", checked_schema(self.name)), called="the body")
        problems = [*tree.problems, *schema_problems(tree)]
        known = {self.pointers.to(one.at) for one in problems}
        problems += [one for one in _no_texts(sent, tree.data, "") if one.at.path not in known]
        if problems:
            raise _Unfit(problems)
        data: dict[str, Any] = tree.data
        return data

    @property
    def day(self) -> dt.date | None:
        """The day asked for."""
        day = self.given.get("day")
        return None if day is None else dt.date.fromisoformat(day)

    def build(self, shop: Shop) -> Build:
        """The build of the selection sent, or of nothing yet, with the changes made."""
        build = shop.build()
        if "selection" in self.given:
            build = shop.build(self._selection(self.given["selection"], "/selection"))
        for number, change in enumerate(self.given.get("changes", ())):
            build = self._changed(build, change, f"/changes/{number}")
        return build

    def _changed(self, build: Build, change: Mapping[str, Any], at: str) -> Build:
        if len(change) > 1:
            sentence = "a change has one key, its name; send several one after the other"
            raise _Unfit([Problem(Location(at, 0, 0), sentence, "several-changes")])
        ((key, given),) = change.items()
        name, pointer = key.replace("-", "_"), f"{at}/{key}"
        told = {
            one.name: self._read(one, given[one.key], f"{pointer}/{one.key}")
            for one in parameters(getattr(Build, name))
            if one.key in given
        }
        if name in PLACED:
            told["at"] = Location(pointer, 0, 0)
        changed: Build = getattr(build, name)(**told)
        return changed

    def arguments(self, shop: Shop) -> tuple[tuple[Any, ...], dict[str, Any]]:
        """What the method is given: by place, and by name."""
        several: tuple[Any, ...] = ()
        named: dict[str, Any] = {}
        for one in asked(self.name)[1]:
            if one.key not in self.given:
                continue
            value = self._read(one, self.given[one.key], f"/{one.key}")
            if one.kind == "Build":
                several = tuple(shop.build(selection) for selection in value)
            elif one.several:
                several = tuple(value)
            else:
                named[one.name] = value
        return several, named

    def _read(self, one: Parameter, value: Any, pointer: str) -> Any:
        """A value of Python, from what was sent for a parameter."""
        if one.kind == "Build":
            return [self._selection(each, f"{pointer}/{n}") for n, each in enumerate(value)]
        if one.kind == "Iterable[Pick | str]":
            return [_pick(each, f"{pointer}/{n}") for n, each in enumerate(value)]
        if one.kind not in _INSIDE:
            return value
        name = _INSIDE[one.kind]
        key, many = name.replace("_", "-"), name.endswith("s")
        data = {"format": 1, "catalogue": "any", key: [value] if many else value}
        held = getattr(self._selection(data, pointer, f"/{key}/0" if many else f"/{key}"), name)
        return held[0] if many else held

    def _selection(self, data: Any, pointer: str, wrapped: str = "") -> Selection:
        text = to_json(data)
        self.pointers.of(pointer, text, wrapped)
        return parse_selection(text, pointer)


def _no_texts(sent: Any, read: Any, pointer: str) -> Iterator[Problem]:
    """What was read as text, as in a file, and was sent as something else."""
    if isinstance(sent, dict) and isinstance(read, dict):
        for key, held in sent.items():
            yield from _no_texts(held, read.get(key), joined_pointer(pointer, key))
    elif isinstance(sent, list) and isinstance(read, list):
        for number, held in enumerate(sent):
            yield from _no_texts(held, read[number], f"{pointer}/{number}")
    elif isinstance(read, str) and not isinstance(sent, str):
        sentence = f"{read} stands where a text is asked for"
        hint = "put it in quotation marks"
        yield Problem(Location(pointer, 0, 0), sentence, "wrong-type", hint)


def _pick(value: Any, pointer: str) -> Pick:
    text, many = (value, 1) if isinstance(value, str) else (value["pick"], value.get("quantity", 1))
    return Pick.counting(*Pick.named(text).key, many, Location(pointer, 0, 0))
