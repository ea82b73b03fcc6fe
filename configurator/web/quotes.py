"""Answers about issued quotes: issue, find, show, open again, and what became of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from urllib.parse import quote as quoted

import attrs

from configurator.answers.register import (
    ACCEPTED,
    ISSUED,
    MOVES,
    STATUSES,
    KeptQuote,
    QuoteList,
    require_status,
)
from configurator.build import Build
from configurator.drawing.charts import results_svg
from configurator.errors import AlreadyIssued, ConfiguratorError, NoCustomer
from configurator.report.register import results_chart, results_report, standing
from configurator.shop import Shop
from configurator.web.counter import PDF, Counter, file, redirect
from configurator.web.messages import Answer, PageRequest
from configurator.web.package import shown, typed_state
from configurator.web.state import FormState, new_key, unpacked, written
from configurator.web.taps import contact_kept
from configurator.words import text

_MOVES = {
    "issued": ("accept", "decline", "withdraw"),
    "lapsed": ("decline", "withdraw"),
    "accepted": ("withdraw",),
    "draft": ("withdraw",),
}
"""What can be done with a quote of each status."""


def issue(counter: Counter, asked: PageRequest) -> Answer:
    """The package issued as a quote, or as the next revision of the one it was opened from."""
    before, state = unpacked(asked.field("state")), typed_state(counter, asked)
    build, reason = state.build(counter.shop), asked.field("reason")
    caution = contact_kept(before.build(counter.shop), build)
    if caution:
        told = text("Not issued yet: {caution}. Then issue it.", caution=caution)
        return shown(counter, asked, state, told)
    if state.number and not reason.strip():
        told = text("Not issued yet: fill in what changed. It is printed on the quote.")
        return shown(counter, asked, state, told, reason=text("fill in what changed"))
    if not asked.seller.strip():
        told = text("Not issued yet: fill in who sells. The register keeps it.")
        return shown(counter, asked, state, told, seller=text("fill in who sells"))
    if not (state.number or state.key):
        told = text(
            "Not issued yet: this page was opened before the program was brought up to date. Look "
            "the package over, then issue it."
        )
        return shown(counter, asked, attrs.evolve(state, key=new_key()), told)
    try:
        kept = issued(counter, build, state.number, asked.seller, reason, state.key)
    except NoCustomer:
        told = text("Not issued yet: fill in the customer's name. A quote is for somebody to sign.")
        return shown(counter, asked, state, told, customer=text("fill in the customer's name"))
    except AlreadyIssued as error:
        told = text(
            "Nothing was issued: {number} was issued from this page already, for another package, "
            "or it has changed since. To change {number}, look it up under Quotes, open its "
            "package again and issue the next revision. For a quote of its own, issue this "
            "package again.",
            number=error.number,
        )
        return shown(counter, asked, attrs.evolve(state, key=new_key()), told)
    return _to_quote(kept.number)


def issued(
    counter: Counter, build: Build, number: str, seller: str, reason: str, request: str = ""
) -> KeptQuote:
    """A build issued today as a quote, or as the next revision of the one of that number.

    Under the name of a request, which may be empty, nothing is issued twice.
    """
    quote = build.quote("DRAFT", counter.today())
    with counter.register() as register:
        if number:
            return register.revise(number, quote, seller=seller, reason=reason)
        return register.issue(quote, seller=seller, request=request)


def _to_quote(number: str) -> Answer:
    return redirect(f"/quotes/{quoted(number, safe='')}")


def quotes(counter: Counter, asked: PageRequest) -> Answer:
    """The quotes that are looked for."""
    words, status, lapses = asked.asks("words"), asked.asks("status"), asked.asks("lapses")
    found = found_quotes(counter, words, status, lapses)
    return counter.page(
        asked,
        "quotes.html",
        found=found.quotes,
        named=_named(counter.shop),
        words=words,
        status=status,
        lapses=lapses,
        statuses=STATUSES,
    )


def found_quotes(counter: Counter, words: str, status: str, lapses: str) -> QuoteList:
    """The quotes that have these words, are of this status, or lapse within so many days.

    Raises:
        ConfiguratorError: there is no such status, or no such number of days.
    """
    require_status(status)
    if lapses and not (lapses.isascii() and lapses.isdigit() and len(lapses) < 5):
        told = text('"{given}" is no whole number of days, such as 7', given=lapses)
        raise ConfiguratorError(told)
    with counter.register() as register:
        if words:
            found = register.find(words).quotes
            return QuoteList(tuple(one for one in found if status in ("", one.status)))
        within = int(lapses) if lapses else None
        return register.list(status=status, lapses_within=within, most=200)


def _named(shop: Shop) -> Mapping[str, str]:
    """What the shop sells, by its name in the language in which the register keeps it."""
    choices = shop.catalogue.by_id.values()
    return {str(option.title): option.title for one in choices for option in one.options}


def quote(counter: Counter, asked: PageRequest) -> Answer:
    """A quote with its revisions and what happened to it."""
    with counter.register() as register:
        record = register.show(asked.path["number"])
    moves = _MOVES.get(record.entry.status, ())
    times = [dt.datetime.fromisoformat(step.at).astimezone() for step in record.trail]
    named = _named(counter.shop)
    return counter.page(asked, "quote.html", record=record, moves=moves, times=times, named=named)


def kept_paper(counter: Counter, asked: PageRequest) -> Answer:
    """The PDF of a revision, as it was issued."""
    with counter.register() as register:
        kept = register.open(asked.path["number"], int(asked.path["revision"]))
    return file(kept.pdf, f"{kept.number}.pdf", PDF)


def reopen(counter: Counter, asked: PageRequest) -> Answer:
    """The package of a quote, to be changed and issued again, with what its price is now.

    Where the quote cannot be revised any more, the package is a new one.
    """
    number, shop = asked.path["number"], counter.shop
    with counter.register() as register:
        kept = register.open(number)
    build = shop.build(kept.selection.encode())
    revisable = kept.revision > 0 and ISSUED in MOVES[kept.status]
    if revisable:
        build = build.change(revision=kept.revision)
    else:
        build = build.change(revision=None, revisions=())
    again = kept.priced(build.price())
    language = counter.speech(asked)
    was, now = language.amount_with_currency(again.was), language.amount_with_currency(again.is_now)
    note = text("{number} costs what was quoted: {now}", number=number, now=now)
    if again.was != again.is_now:
        note = text(
            "{number} was quoted at {was}; it now costs {now}", number=number, was=was, now=now
        )
    accepted = kept.status == ACCEPTED
    state = FormState(written(build.selection), key=new_key())
    if revisable:
        state = FormState(written(build.selection), number=number, accepted=accepted)
    stands = (state.caution,) if accepted else tuple(standing(kept))
    return shown(counter, asked, state, note, *stands)


def move(counter: Counter, asked: PageRequest) -> Answer:
    """What became of a quote, kept."""
    number, what = asked.path["number"], asked.path["move"]
    if what not in ("accept", "decline", "withdraw"):
        raise ConfiguratorError(text("the page has no such button"))
    with counter.register() as register:
        getattr(register, what)(number, seller=asked.seller, reason=asked.field("reason"))
    return _to_quote(number)


def results(counter: Counter, asked: PageRequest) -> Answer:
    """What was won and lost."""
    with counter.register() as register:
        found = register.results(counter.shop.catalogue.currency)
    tables = [block for section in results_report(found) for block in section]
    picture = ""
    if found.months:
        colour = counter.shop.catalogue.shop.accent
        picture = results_svg(results_chart(found), counter.speech(asked), colour)
    return counter.page(asked, "results.html", tables=tables, picture=picture)
