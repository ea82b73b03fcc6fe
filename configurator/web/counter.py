"""What every answer of the page is made from: the shop, its register, the day, the language."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from attrs import field, frozen

from configurator.engine.availability import OptionAnswer
from configurator.errors import ConfiguratorError, DataError, QuoteRefused
from configurator.register.register import Register
from configurator.render.look import Look, look_of
from configurator.shop import Shop
from configurator.web.asked import Answer, Asked
from configurator.web.pages import page
from configurator.words import Text, joined

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""What a page may load, and from where."""

PDF = "application/pdf"
_MOST_SETTLED = 2_000
_MOST_LOOKS = 20


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
    settled: dict[tuple[str, str], tuple[OptionAnswer, ...]] = field(factory=dict, init=False)
    _looks: dict[str | None, Look] = field(factory=dict, init=False)

    def look(self, asked: Asked) -> Look:
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

    def page(self, asked: Asked, name: str, code: int = 200, **values: Any) -> Answer:
        """A whole page in the language asked for."""
        shop, language = self.shop.catalogue.shop, self.look(asked).language
        html = page(name, shop, language, asked=asked, **values)
        return Answer(html.encode(), code, headers={"Content-Security-Policy": POLICY})

    def settle(self, selection: str, choice: str, states: tuple[OptionAnswer, ...]) -> None:
        """Keep the states of a choice for when it is looked at."""
        while len(self.settled) >= _MOST_SETTLED:
            del self.settled[next(iter(self.settled))]
        self.settled[selection, choice] = states


def sentences_of(error: ConfiguratorError) -> tuple[str, ...]:
    """What is the matter, as it can be said in the language of the page."""
    if isinstance(error, QuoteRefused):
        return error.sentences
    if isinstance(error, DataError) and not any(problem.at.line for problem in error.problems):
        return tuple(
            joined((problem.sentence, problem.hint), "; ") if problem.hint else problem.sentence
            for problem in error.problems
        )
    (said,) = error.args if len(error.args) == 1 else (None,)
    return (said,) if isinstance(said, Text) else tuple(str(error).splitlines())


def accent(counter: Counter, _: Asked) -> Answer:
    """The shop's own colour, which the pages have in the places for one."""
    told = f":root {{ --accent: {counter.shop.catalogue.shop.accent}; }}\n"
    return Answer(told.encode(), kind="text/css; charset=utf-8")


def file(content: bytes, name: str, kind: str) -> Answer:
    """A file that the browser shows or keeps under its name."""
    from urllib.parse import quote

    disposition = f"inline; filename*=UTF-8''{quote(name)}"
    return Answer(content, kind=kind, headers={"Content-Disposition": disposition})


def redirect(address: str, **headers: str) -> Answer:
    """An answer that sends the browser to another address."""
    told: Mapping[str, str] = {"Location": address, **headers}
    return Answer(b"", 303, headers=told)
