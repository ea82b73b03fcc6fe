"""What every answer of the page is made from: the shop, its register, the day, templates, words."""

from __future__ import annotations

import datetime as dt
import pickle
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote as quoted

import babel
import jinja2
from attrs import evolve, field, frozen

from configurator.engine.availability import OptionAnswer
from configurator.errors import ConfiguratorError, DataError, Problem
from configurator.findings import QuoteRefused
from configurator.register.register import Register
from configurator.render.language import Language, languages
from configurator.render.look import Look, look_of
from configurator.render.templates import template_environment, with_units
from configurator.shop import Shop
from configurator.web.messages import Answer, PageRequest
from configurator.web.state import Tap
from configurator.words import Text, joined, text

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""What a page may load, and from where."""

PDF = "application/pdf"
_MOST_SETTLED = 2_000
_MOST_LOOKS = 20


@frozen
class ChoiceStates:
    """The options of a choice, as far as they are settled.

    Attributes:
        states: of its options.
        final: what is undecided stays so, however often it is asked about among others.
    """

    states: tuple[OptionAnswer, ...]
    final: bool

    @property
    def left(self) -> tuple[OptionAnswer, ...]:
        """Those that are not settled."""
        return tuple(one for one in self.states if one.state == "undecided")

    def better_than(self, other: ChoiceStates | None) -> bool:
        """Whether there is something new in it."""
        return other is None or (self.final, -len(self.left)) > (other.final, -len(other.left))


@frozen(eq=False)
class Counter:
    """The shop at the counter.

    Attributes:
        shop: with the prices of today.
        register: opens the register of issued quotes.
        today: the day it is.
        language: of the page; None for the catalogue's.
        settled: the states of a choice's options, by selection and choice, the latest last.
    """

    shop: Shop
    register: Callable[[], Register]
    today: Callable[[], dt.date]
    language: str | None = None
    settled: dict[tuple[str, str], ChoiceStates] = field(factory=dict, init=False)
    _sharing: list[tuple[str, str]] = field(factory=list, init=False)
    _looks: dict[str | None, Look] = field(factory=dict, init=False)

    def look(self, asked: PageRequest) -> Look:
        """How pages and papers look, in the language asked for where it is known."""
        usual = self.language or self.shop.catalogue.shop.papers.language
        other = asked.language not in ("", usual.partition("-")[0])
        wanted = asked.language if other else self.language
        if wanted not in self._looks:
            if len(self._looks) >= _MOST_LOOKS:
                self._looks.clear()
            try:
                self._looks[wanted] = look_of(self.shop.catalogue.shop, None, wanted)
            except ConfiguratorError:
                self._looks[wanted] = look_of(self.shop.catalogue.shop)
        return self._looks[wanted]

    def speech(self, asked: PageRequest) -> Language:
        """The language of pages and papers."""
        return self.look(asked).language

    def filled(self, asked: PageRequest, name: str, **values: Any) -> str:
        """What the template of that name makes of the values, in the language asked for."""
        language = self.speech(asked)
        told = {"shop": self.shop.catalogue.shop, "language": language.tag, "asked": asked}
        template = _environment(language).get_template(name)
        return template.render(others=_others(language), **told, **values)

    def page(self, asked: PageRequest, name: str, code: int = 200, **values: Any) -> Answer:
        """A whole page in the language asked for."""
        html = self.filled(asked, name, **values)
        return Answer(html.encode(), code, headers={"Content-Security-Policy": _POLICY})

    def settle(
        self, selection: str, choice: str, states: tuple[OptionAnswer, ...], patient: bool
    ) -> None:
        """Keep the states of a choice for when it is looked at; patient ones are shared."""
        settled = ChoiceStates(states, patient)
        self._keep((selection, choice), evolve(settled, final=patient or not settled.left))
        if patient:
            self._sharing.append((selection, choice))

    def _keep(self, key: tuple[str, str], states: ChoiceStates) -> None:
        while len(self.settled) >= _MOST_SETTLED:
            del self.settled[next(iter(self.settled))]
        self.settled[key] = states

    def share(self, selection: str) -> None:
        """Let other workers know what is settled of a selection of which something is left."""
        self._sharing.extend(key for key in self.settled if key[0] == selection)

    def shared(self) -> bytes:
        """What others are to know since they were told last; empty where that is nothing."""
        told = {key: self.settled[key] for key in self._sharing if key in self.settled}
        self._sharing.clear()
        return pickle.dumps((self.shop.day, told)) if told else b""

    def learn(self, shared: bytes) -> None:
        """Keep what another worker has settled, with the prices of the same day."""
        day, told = pickle.loads(shared)
        for key, states in told.items() if day == self.shop.day else ():
            if states.better_than(self.settled.get(key)):
                self._keep(key, states)


@lru_cache(maxsize=8)
def _others(language: Language) -> tuple[tuple[str, str], ...]:
    """The other languages, each with its own name."""
    own = language.tag.partition("-")[0]
    names = {tag: babel.Locale.parse(tag).get_display_name(tag) or tag for tag in languages()}
    return tuple((tag, name) for tag, name in names.items() if tag != own)


@lru_cache(maxsize=8)
def _environment(language: Language) -> jinja2.Environment:
    papers = template_environment(language)
    assert papers.loader is not None
    own = jinja2.FileSystemLoader(Path(__file__).parent / "templates")
    loader = jinja2.ChoiceLoader([own, jinja2.PrefixLoader({"papers": papers.loader})])
    pages, said = papers.overlay(loader=loader), papers.filters["said"]
    pages.filters = {**papers.filters, "said": lambda value: with_units(said(value))}
    pages.globals = {**papers.globals, "to": Tap}
    return pages


def sentences_of(error: ConfiguratorError) -> tuple[str, ...]:
    """What is the matter, as it can be said in the language of the page."""
    if isinstance(error, QuoteRefused):
        return tuple(one.sentence for first, others in error.told for one in (first, *others))
    if isinstance(error, DataError):
        return tuple(_told(problem) for problem in error.problems)
    (said,) = error.args if len(error.args) == 1 else (None,)
    return (said,) if isinstance(said, Text) else tuple(str(error).splitlines())


def _told(problem: Problem) -> Text:
    """A problem in plain words, with its line where whoever reads it has the file."""
    told = joined((problem.sentence, problem.hint) if problem.hint else (problem.sentence,), "; ")
    at = problem.at
    if not at.line or at.file == OWN_SELECTION:
        return told
    return text("{file}, line {line}: {told}", file=at.file, line=str(at.line), told=told)


OWN_SELECTION = "selection"
"""What messages call the selection that a page has in work, which is in no file."""


def accent(counter: Counter, _: PageRequest) -> Answer:
    """The shop's own colour, which the pages have in the places for one."""
    told = f":root {{ --accent: {counter.shop.catalogue.shop.accent}; }}\n"
    return Answer(told.encode(), kind="text/css; charset=utf-8")


def file(content: bytes, name: str, kind: str) -> Answer:
    """A file that the browser shows or keeps under its name."""
    disposition = f"inline; filename*=UTF-8''{quoted(name)}"
    return Answer(content, kind=kind, headers={"Content-Disposition": disposition})


def redirect(address: str) -> Answer:
    """An answer that sends the browser to another address."""
    return Answer(b"", 303, headers={"Location": address})
