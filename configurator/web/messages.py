"""What passes between the server and the worker processes: questions, pieces of answers, the shop.

All are plain values, so that they can cross from one process to another.
"""

from __future__ import annotations

import pickle
from collections.abc import Generator, Mapping
from http import HTTPStatus
from typing import Any, TypeAlias

from attrs import evolve, field, frozen

from configurator.answers.data import to_json
from configurator.errors import shortened
from configurator.shop import Shop

API = "/api/v1/"
PROBLEM = "application/problem+json"
"""Where programs ask, and how they are told what is wrong (RFC 9457)."""

FACTS, GROUP, REST = 0, 1, 2
"""What the next piece is about, the most urgent first: the price, what is looked at, the rest."""

NO_STORE = {"Cache-Control": "no-store"}
HTML, EVENTS = "text/html; charset=utf-8", "text/event-stream"


@frozen
class PageRequest:
    """A request, read.

    Attributes:
        what: which answer is asked for.
        path: the parts of the address.
        query: what follows the address.
        form: the fields of the form.
        seen: the parts that the page has already, each with its digest.
        file: a file that was sent, or None.
        file_name: its name where it came from.
        language: asked for now or before, or empty.
        seller: who sells, or empty.
        streams: the answer may come in pieces.
        sellers: sellers have passwords here.
        remarks: what the shop has to know of its catalogue.
    """

    what: str
    path: Mapping[str, str] = field(factory=dict)
    query: Mapping[str, str] = field(factory=dict)
    form: Mapping[str, str] = field(factory=dict)
    seen: frozenset[str] = frozenset()
    file: bytes | None = None
    file_name: str = ""
    language: str = ""
    seller: str = ""
    streams: bool = False
    sellers: bool = False
    remarks: tuple[str, ...] = ()

    def field(self, name: str) -> str:
        """The text of a field; empty where there is none."""
        return self.form.get(name, "").strip()

    def asks(self, name: str) -> str:
        """What follows the address under a name; empty where nothing does."""
        return self.query.get(name, "")


@frozen
class Answer:
    """The answer to a request, or its beginning.

    Attributes:
        content: its bytes.
        code: its status.
        kind: its media type.
        headers: others that it has.
    """

    content: bytes
    code: int = 200
    kind: str = HTML
    headers: Mapping[str, str] = field(factory=dict)


def problem(status: int, detail: str, **more: Any) -> Answer:
    """The answer that says what is wrong, with members beyond those of the standard."""
    told = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": shortened(detail),
        **more,
    }
    headers = {"WWW-Authenticate": 'Basic realm="configurator", charset="UTF-8"'}
    return Answer(to_json(told).encode(), status, PROBLEM, headers if status == 401 else {})


@frozen
class AnswerPiece:
    """Some work done towards an answer.

    Attributes:
        of: the beginning, or more of it; None where there is nothing to show yet.
        next: what the next piece is about.
    """

    of: Answer | bytes | None
    next: int = FACTS


Pieces: TypeAlias = Generator[AnswerPiece, None, None]


READY, FAILED, SHARED = "ready", "failed", "shared"

LEFT = b": left "
"""Begins the end of a step's stream where a patient worker is to settle these choices: a comment,
which a browser passes over."""


@frozen
class Posting:
    """What a worker is started with.

    Attributes:
        catalogue: the shop's catalogue, pickled, without what the shop pays.
        register: address of the register.
        language: of the page.
        patient: it answers what may take long.
    """

    catalogue: bytes = field(repr=False)
    register: str | None = None
    language: str | None = None
    patient: bool = False


def for_sellers(shop: Shop) -> bytes:
    """The shop's catalogue as workers have it: nothing of what the shop pays, and to whom."""
    return pickle.dumps(evolve(shop.catalogue, trade=()))
