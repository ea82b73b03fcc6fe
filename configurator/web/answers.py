"""Every request answered by its name, piece by piece; an error becomes a page or a message."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from attrs import evolve

from configurator.errors import ConfiguratorError, NoSuchQuote, RegisterError
from configurator.findings import QuoteRefused
from configurator.web import api, package, quotes, wishing
from configurator.web.counter import Counter, accent, sentences_of
from configurator.web.guard import MOST_BYTES
from configurator.web.messages import EVENTS, Answer, AnswerPiece, PageRequest, Pieces, problem
from configurator.web.parts import message, part
from configurator.web.state import unpacked
from configurator.words import text


def _lost(counter: Counter, asked: PageRequest) -> Answer:
    """What is said where the process that was to answer has ended, again and again."""
    told = text("the page could not answer; nothing on it was lost: go back, and try again")
    if asked.path["what"] in _UNKNOWN:
        return problem(503, _UNKNOWN[asked.path["what"]], code="unavailable")
    if asked.path["what"] in ("issue", "move"):
        told = text("it is not known whether that was done: look it up under Quotes first")
    return _problem(counter, asked, 503, (told,))


def _refused(counter: Counter, asked: PageRequest) -> Answer:
    """What is said where the server has no such page, or does not take what was sent."""
    code = int(asked.path["code"])
    told = text("the page could not read what was sent; go back, and try again")
    if code == 404:
        told = text("there is no page {address}", address=asked.path["address"])
    elif code == 405:
        told = text("this page opens from the one before it, not by its address alone")
    elif code == 413:
        most = MOST_BYTES // 1_000_000
        told = text("the file is larger than {most} MB: choose a smaller one", most=most)
    return _problem(counter, asked, code, (told,))


_UNKNOWN = {
    "api": "the question could not be answered: ask again",
    "api-issue": "it is not known whether the quote was issued: look for it, or ask again with "
    "the same Idempotency-Key",
}

_IN_PIECES: dict[str, Callable[[Counter, PageRequest], Pieces]] = {
    "step": package.step,
    "reasons": package.reasons,
    "ways": package.ways,
    "settle": package.settle,
}


def answered(counter: Counter, asked: PageRequest) -> Pieces:
    """The answer to a request, or one that says in a sentence what is the matter."""
    asked = evolve(asked, language=counter.look(asked).language.tag)
    try:
        if asked.what in _IN_PIECES:
            yield from _IN_PIECES[asked.what](counter, asked)
        else:
            yield AnswerPiece(_WHOLE[asked.what](counter, asked))
    except ConfiguratorError as error:
        code = next((code for kind, code in _CODES.items() if isinstance(error, kind)), 400)
        yield AnswerPiece(_problem(counter, asked, code, sentences_of(error)))


_CODES: dict[type[ConfiguratorError], int] = {
    QuoteRefused: 422,
    NoSuchQuote: 404,
    RegisterError: 409,
}


def _problem(counter: Counter, asked: PageRequest, code: int, sentences: tuple[str, ...]) -> Answer:
    if not asked.streams:
        carried = _carried(counter, asked)
        return counter.page(asked, "problem.html", code, sentences=sentences, **carried)
    note = part("note", counter.filled(asked, "parts/note.html", problems=sentences).strip())
    return Answer(message(asked, [note]) or b": \n\n", kind=EVENTS)


def _carried(counter: Counter, asked: PageRequest) -> dict[str, Any]:
    """The state that the request carried, and whether its package can be gone back to.

    One that begins with a file or with wishes is not in work yet: others may be set aside.
    """
    told: dict[str, Any] = {"state": "", "back": False}
    packed = asked.field("state") or asked.asks("state")
    try:
        state = unpacked(packed)
        told["state"] = packed
        if asked.what != "lost":
            state.build(counter.shop).price()
    except ConfiguratorError:
        return told
    what = asked.path.get("what", asked.what)
    return {**told, "back": what not in ("start", "open", "from-wishes")}


def _sign_in(counter: Counter, asked: PageRequest) -> Answer:
    """The page on which a seller signs in; a step without a seller says so where it is."""
    if asked.streams:
        told = text("you are signed out: sign in in a second tab, then tap again; nothing is lost")
        return _problem(counter, asked, 401, (told,))
    return counter.page(asked, "sign-in.html", 401, wrong=bool(asked.field("wrong")))


_WHOLE: dict[str, Callable[[Counter, PageRequest], Answer]] = {
    "accent": accent,
    "start": package.start,
    "open": package.open_file,
    "finish": package.finish,
    "wish-page": wishing.wish_page,
    "from-wishes": wishing.from_wishes,
    "beside": package.side_by_side,
    "paper": package.paper,
    "issue": quotes.issue,
    "quotes": quotes.quotes,
    "quote": quotes.quote,
    "kept-paper": quotes.kept_paper,
    "reopen": quotes.reopen,
    "move": quotes.move,
    "results": quotes.results,
    "sign-in": _sign_in,
    "lost": _lost,
    "refused": _refused,
    "api": api.told,
    "api-issue": api.told,
}
