"""Answers about a package: how it starts, one step of it, its papers.

A step answers with its facts first, then with the group that is looked at, one choice after the
other, then with the pictures, and asks quickly about the other groups while the seller reads. It
may be left after any of them. What is left then is settled patiently by another worker, which the
next step ends. A whole page comes as soon as it has been asked about quickly; in a browser it asks
for the rest by itself.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from typing import Any

import attrs

from configurator.answers.data import selection_yaml
from configurator.build import Build
from configurator.catalogue.model import Choice
from configurator.catalogue.reading import shipped
from configurator.engine.availability import ExplainAnswer
from configurator.errors import ConfiguratorError
from configurator.render.html import paper_html
from configurator.render.look import Look
from configurator.render.pdf import html_to_pdf
from configurator.render.sheets import sheet_pages
from configurator.render.writing import paper_pdf
from configurator.report.comparison import Comparison
from configurator.report.comparison_tables import comparison_report
from configurator.report.model import Chart
from configurator.shop import Shop
from configurator.web.cards import card_of, found_in
from configurator.web.counter import PDF, Counter, file, sentences_of
from configurator.web.messages import (
    EVENTS,
    GROUP,
    LEFT,
    REST,
    Answer,
    AnswerPiece,
    PageRequest,
    Pieces,
)
from configurator.web.parts import UNSETTLED, PageNote, PagePart, PageParts, message
from configurator.web.reasons import Reasons, Ways, reasons_of, to_ask_for, ways_of
from configurator.web.settling import (
    Unsettled,
    doubted,
    in_doubt,
    left_over,
    settled_by_reason,
    settling,
    undecided,
    unsettled,
)
from configurator.web.state import (
    MOST_KEPT,
    SETTLE,
    FormState,
    Tap,
    is_key,
    new_key,
    tap_to,
    unpacked,
    written,
)
from configurator.web.taps import (
    WrongField,
    contact_kept,
    tapped,
    with_customer,
    without_details,
)
from configurator.web.views import (
    PackageView,
    different,
    title_of,
    whole_pictures,
)
from configurator.words import itemised, text

PAPER_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; "
    "frame-ancestors 'none'; base-uri 'none'"
)
"""What a paper may load: nothing."""


_SHIPPED = {
    "contractor": text("Trade, low canopy with drawers"),
    "touring": text("Touring, tall canopy with kitchen"),
    "wish": text("Weekends, with the large fridge"),
}
"""Shipped selections to begin with, each with its title, which the page says in its language.

Those that do not go together are offered apart from those that are ready.
"""


def kept_of(asked: PageRequest) -> tuple[str, ...]:
    """The packages set aside that the page asking has, and that a new package keeps."""
    return unpacked(asked.field("state")).kept if asked.field("state") else ()


def key_of(asked: PageRequest) -> str:
    """The key that a new package gets from the form it begins with, however often that is sent."""
    sent = asked.field("key")
    return sent if is_key(sent) else new_key()


def start(counter: Counter, asked: PageRequest) -> Answer:
    """The page on which a package begins."""
    shop, kept = counter.shop, kept_of(asked)
    empty = FormState(written(shop.build().selection), kept=kept, key=new_key())
    ready, clashing = list[tuple[str, str]](), list[tuple[str, str]]()
    for name, words in _SHIPPED.items():
        title = counter.speech(asked).say(words)
        try:
            build = shop.build(shipped("catalogues") / "selections" / f"{name}.yaml")
            build.price()
        except ConfiguratorError:
            continue  # of another catalogue
        anyone = written(build.change(customer=None, title=title).selection)
        state = FormState(anyone, kept=kept, key=new_key())
        among = clashing if PackageView(shop, state, state).clash else ready
        among.append((title, state.packed()))
    told: dict[str, Any] = {"empty": empty.packed(), "ready": ready, "clashing": clashing}
    told |= {"key": new_key(), "remark": shop.remark}
    return counter.page(asked, "start.html", kept=len(kept), **told)


def step(counter: Counter, asked: PageRequest) -> Pieces:
    """A tap: what it changes and what follows, piece by piece where the page takes pieces."""
    drawn, problems = _after(counter, asked)
    if asked.streams:
        yield from _streamed(drawn, problems)
        return
    if drawn.wrong:
        typed = typed_state(counter, asked)
        drawn = _drawn(counter, asked, typed, typed, drawn.wrong)
    for _ in _settled_whole(drawn):
        yield AnswerPiece(None, GROUP)
    yield AnswerPiece(_whole(drawn, problems=problems))


def _after(counter: Counter, asked: PageRequest) -> tuple[PageParts, tuple[str, ...]]:
    """The package after a tap, and what is the matter with it."""
    before = unpacked(asked.field("state") or asked.asks("state"))
    after, problems, wrong = before, tuple[str, ...](), {}
    try:
        after = before if _why(asked) else _stepped(counter, before, asked)
        after.build(counter.shop).price()
    except ConfiguratorError as error:
        after, problems = before, sentences_of(error)
        if isinstance(error, WrongField):
            wrong = {error.field: error.beside}
        elif not asked.streams:
            raise
    return _drawn(counter, asked, after, before, wrong), problems


def _why(asked: PageRequest) -> Tap | None:
    """The tap that asks why, or what would help."""
    tap = Tap.read(asked.field("tap"))
    return tap if tap.what in ("why", "ways") else None


def _stepped(counter: Counter, before: FormState, asked: PageRequest) -> FormState:
    """The state after the tap, with what is typed about the customer; undone by one tap back.

    Undoing a pick leaves what was typed with it.
    """
    shop, tap = counter.shop, Tap.read(asked.field("tap"))
    after = tapped(shop, before, asked)
    packages = [written(without_details(one.build(shop)).selection) for one in (before, after)]
    if tap.what == "contact" or (tap.what in ("undo", "redo") and packages[0] == packages[1]):
        return after
    told = with_customer(after.build(shop), asked)
    if after.selection == before.selection:
        return after.changed(told)
    return attrs.evolve(after, selection=written(told.selection))


def typed_state(counter: Counter, asked: PageRequest) -> FormState:
    """The package with what is typed about the customer, whether or not it was kept by a tap."""
    state = unpacked(asked.field("state"))
    return state.changed(with_customer(state.build(counter.shop), asked))


def reasons(counter: Counter, asked: PageRequest) -> Pieces:
    """Why an option is not available: for a page that has its facts already, or a whole page."""
    drawn, why = _asking(counter, asked)
    reason = reasons_of(drawn.view, why, doubted(counter, drawn.view))
    yield _with_reasons(drawn, reason, to_ask_for(reason, asked.streams))
    if asked.streams and why.which:
        choice = drawn.view.build.catalogue.by_id[why.to]
        if settled_by_reason(counter, drawn.view.state, choice):
            cards = _cards(drawn, [choice] if choice in _group(drawn) else [])
            yield AnswerPiece(message(_fresh(asked), [*cards, *_doubts(drawn, None)]))


def ways(counter: Counter, asked: PageRequest) -> Pieces:
    """The fixes, each as it is found; or a whole page with all of them below the reason."""
    drawn, why = _asking(counter, asked)
    begun, found = False, Ways()
    for found in ways_of(counter.shop, drawn.view.state, why):
        if asked.streams:
            told = message(asked, [drawn.one("ways", "ways", ways=found)])
            yield AnswerPiece(told if begun else Answer(told, kind=EVENTS))
            begun = True
        else:
            yield AnswerPiece(None)
    if not asked.streams:
        reason = reasons_of(drawn.view, why, doubted(counter, drawn.view))
        yield _with_reasons(drawn, reason, found)


def _asking(counter: Counter, asked: PageRequest) -> tuple[PageParts, Tap]:
    """A package, and the tap that asks about it."""
    state = unpacked(asked.field("state") or asked.asks("state"))
    return _drawn(counter, asked, state, state), Tap.read(asked.field("tap"))


def _with_reasons(drawn: PageParts, reasons: Reasons, ways: Ways) -> AnswerPiece:
    """The reason with what stands below it, or the whole page with both."""
    told = {"reasons": reasons, "ways": drawn.one("ways", "ways", ways=ways)}
    if drawn.asked.streams:
        return AnswerPiece(
            Answer(message(drawn.asked, [drawn.one("why", "why", **told)]), kind=EVENTS)
        )
    for _ in _settled_whole(drawn):
        pass  # known from now on
    return AnswerPiece(_whole(drawn, **told))


def shown(
    counter: Counter, asked: PageRequest, state: FormState, *notes: str | PageNote, **wrong: str
) -> Answer:
    """The whole page of a package, with what is wrong beside each field that it is in."""
    drawn = _drawn(counter, asked, state, state, wrong)
    for _ in _settled_whole(drawn):
        pass  # known from now on
    return _whole(drawn, notes=tuple(note for note in notes if note))


def _drawn(
    counter: Counter,
    asked: PageRequest,
    state: FormState,
    before: FormState,
    wrong: Mapping[str, str] = {},
) -> PageParts:
    return PageParts(counter, asked, PackageView(counter.shop, state, before), wrong)


def _group(drawn: PageParts) -> list[Choice]:
    """The choices of the group that is looked at, or those in which something is found."""
    groups = drawn.view.groups
    if words := drawn.view.state.words:
        every = [choice for _, inside in groups.values() for choice in inside]
        named = [one for one in every if found_in(words, one.title)]
        return named + [
            one
            for one in every
            if one not in named and any(found_in(words, option.title) for option in one.options)
        ]
    return groups[drawn.view.here][1]


def _every(drawn: PageParts) -> list[Choice]:
    return [choice for _, inside in drawn.view.groups.values() for choice in inside]


def _settled_whole(drawn: PageParts, patient: bool = False) -> Iterator[None]:
    """What a whole page shows is asked about: quickly, so that it comes soon, and then patiently.

    Everything is asked about where something is left of what it shows.
    """
    counter, view, here = drawn.counter, drawn.view, _group(drawn)
    for _ in settling(counter, view.state, here):
        yield
    if in_doubt(counter, view, here):
        for _ in settling(counter, view.state, _every(drawn)):
            yield
        for _ in settling(counter, view.state, _every(drawn) if patient else (), patient=True):
            yield
        counter.share(view.state.selection)


def _cards(drawn: PageParts, choices: Sequence[Choice]) -> list[PagePart]:
    """The choices, as far as they are settled."""
    settled, of = drawn.counter.settled, drawn.view.state.selection
    return [
        drawn.card(card_of(drawn.view, choice, settled.get((of, choice.id)))) for choice in choices
    ]


def _whole(drawn: PageParts, **told: Any) -> Answer:
    here = _group(drawn)
    told["unsettled"] = unsettled(drawn.counter, drawn.view, here)
    parts = drawn.facts(**told) | drawn.later()
    choices = drawn.choices(here, _cards(drawn, here))
    parts["choices"] = choices
    status = 422 if drawn.wrong else 200
    return drawn.counter.page(drawn.asked, "package.html", status, view=drawn.view, parts=parts)


def _streamed(drawn: PageParts, problems: tuple[str, ...]) -> Pieces:
    counter, asked = drawn.counter, drawn.asked
    after, before = drawn.view.state, drawn.view.before
    caution = contact_kept(before.build(counter.shop), after.build(counter.shop))
    problems = problems or ((caution,) if caution else ())
    why, asks = _why(asked), dict[str, Any]()
    if why and why.which:
        asks = {"looking": True, "undecided": undecided(counter, after, why)}
    elif why:
        asks = {"reasons": Reasons(text("What would help"))}
        asks["ways"] = drawn.one("ways", "ways", ways=Ways(looking=True))
    here, every = _group(drawn), _every(drawn)
    asks["unsettled"] = known = unsettled(counter, drawn.view, here)
    facts = drawn.facts(problems=problems, **asks)
    if asked.field("tap") == SETTLE and not problems:
        facts = {name: one for name, one in facts.items() if name not in ("note", "why")}
    settled = [one for one in here if (after.selection, one.id) in counter.settled]
    first = [*facts.values()]
    if drawn.choices(here, []).seen in asked.seen:
        first += _cards(drawn, settled)
    else:
        first.append(drawn.choices(here, _cards(drawn, here)))
    yield AnswerPiece(Answer(message(asked, first) or b": \n\n", kind=EVENTS), GROUP)
    new = [one for one in here if one not in settled]
    for card in _cards_as_settled(drawn, new):
        yield AnswerPiece(message(asked, card) or None, GROUP)
    yield AnswerPiece(message(asked, [*drawn.later().values()]) or None, REST)
    for _ in settling(counter, after, [one for one in every if one not in here]):
        yield AnswerPiece(None, REST)
    yield AnswerPiece(message(_fresh(asked), _doubts(drawn, known)) or None, REST)
    if left := left_over(counter, after, every):
        counter.share(after.selection)
        yield AnswerPiece(LEFT + ",".join(one.id for one in left).encode() + b"\n\n", REST)


def settle(counter: Counter, asked: PageRequest) -> Pieces:
    """What a step has left is settled patiently: what is looked at first; or a whole page with it.

    Nobody waits for the worker: whoever asks for something else ends it.
    """
    drawn, _ = _after(counter, asked)
    if not asked.streams:
        for _ in _settled_whole(drawn, patient=True):
            yield AnswerPiece(None)
        yield AnswerPiece(_whole(drawn))
        return
    yield AnswerPiece(Answer(b": \n\n", kind=EVENTS))
    here, every = _group(drawn), _every(drawn)
    for _ in settling(counter, drawn.view.state, every):
        yield AnswerPiece(None)
    # Another worker may have settled some of it meanwhile, of which the page knows nothing.
    named = asked.path.get("left", "").split(",")
    open_now = left_over(counter, drawn.view.state, every)
    since = [one for one in every if one.id in named and one not in open_now]
    if since:
        cards = _cards(drawn, [one for one in since if one in here])
        yield AnswerPiece(message(_fresh(asked), [*cards, *_doubts(drawn, None)]))
    known = unsettled(counter, drawn.view, here)
    for cards in chain(*(_cards_as_settled(drawn, some, patient=True) for some in (here, every))):
        yield AnswerPiece(message(_fresh(asked), [*cards, *_doubts(drawn, known)]) or None)
        known = unsettled(counter, drawn.view, here)


def _doubts(drawn: PageParts, known: Unsettled | None) -> list[PagePart]:
    """What says what is not settled, where the page does not say so already."""
    now = unsettled(drawn.counter, drawn.view, _group(drawn))
    return [drawn.one(name, name, unsettled=now) for name in UNSETTLED] if now != known else []


def _fresh(asked: PageRequest) -> PageRequest:
    """The request of a page of which nothing is known: a part may become what it was before."""
    return attrs.evolve(asked, seen=frozenset())


def _cards_as_settled(
    drawn: PageParts, choices: Sequence[Choice], patient: bool = False
) -> Iterator[list[PagePart]]:
    """The card of each choice as soon as it is settled; none after each option."""
    here = _group(drawn)
    for choice in settling(drawn.counter, drawn.view.state, choices, patient):
        yield _cards(drawn, [choice]) if choice in here else []


def open_file(counter: Counter, asked: PageRequest) -> Answer:
    """The page of a package from a file or from a PDF of ours."""
    if asked.file is None:
        raise ConfiguratorError(text("choose a file first: a saved selection, or a PDF made here"))
    build = counter.shop.build(asked.file, name=asked.file_name.replace("#", "-"))
    state = FormState(written(build.selection), kept=kept_of(asked), key=key_of(asked))
    return shown(counter, asked, state, build.remark)


def paper(counter: Counter, asked: PageRequest) -> Answer:
    """A paper of the package."""
    kind, shop = asked.path["kind"], counter.shop
    state = typed_state(counter, asked)
    build, look = state.build(shop), counter.look(asked)
    day = counter.today()
    name = build.selection.title or "package"
    page = asked.asks("as") == "html"
    if kind == "quote":
        quote = build.quote("DRAFT", day)
        if page:
            return _page(paper_html(quote, look))
        return file(paper_pdf(quote, look), f"{name}.pdf", PDF)
    if kind == "selection":
        return file(selection_yaml(build.selection).encode(), f"{name}.yaml", "application/yaml")
    if kind == "comparison":
        compared = _compared(shop, _compared_builds(shop, state))
        return file(paper_pdf(compared, look), "comparison.pdf", PDF)
    if kind in ("job", "wiring", "cuts"):  # the order list names suppliers: it is for the office
        return _sheet(build, kind, look, day, page)
    raise ConfiguratorError(text("there is no such paper"))


def _sheet(build: Build, kind: str, look: Look, day: dt.date, page: bool) -> Answer:
    pages = sheet_pages(build.sheets("DRAFT", day), look)
    if kind not in pages:
        raise ConfiguratorError(text("there is no such sheet: nothing that is picked needs it"))
    html = pages[kind]()
    return _page(html) if page else file(html_to_pdf(html), f"{kind}.pdf", PDF)


def _page(html: str) -> Answer:
    """A paper as a page, which may load nothing."""
    return Answer(html.encode(), headers={"Content-Security-Policy": PAPER_POLICY})


def _compared_builds(shop: Shop, state: FormState) -> list[Build]:
    """The packages set aside, and the one in work; of more than four, the latest.

    Raises:
        ConfiguratorError: there is none set aside.
    """
    told = different(shop, state)
    if len(told) < 2:
        raise ConfiguratorError(text("set another package aside first: there is one to compare"))
    return told[-MOST_KEPT:]


def _compared(shop: Shop, builds: Sequence[Build]) -> Comparison:
    """The packages compared, those of one name told apart by what they have."""
    names = [title_of(build) for build in builds]
    compared, titles = shop.compare(*builds, titles=names), [*names]
    for name in {name for name in names if names.count(name) > 1}:
        alike = [n for n, one in enumerate(names) if one == name]
        told = {row.title: [row.has[n] for n in alike] for row in compared.choices}
        choice, every = max(told.items(), key=lambda row: len({*row[1]}), default=("", [()]))
        if len({*every}) == 1:
            continue
        for n, has in zip(alike, every, strict=True):
            held = itemised(has) if has else text("none")
            titles[n] = text("{name} ({choice}: {has})", name=name, choice=choice, has=held)
    columns = zip(compared.columns, titles, strict=True)
    return attrs.evolve(
        compared, columns=tuple(attrs.evolve(column, title=title) for column, title in columns)
    )


def side_by_side(counter: Counter, asked: PageRequest) -> Answer:
    """The page of the packages set aside and the one in work: pictures, totals, what differs."""
    shop, state = counter.shop, typed_state(counter, asked)
    builds = _compared_builds(shop, state)
    compared = _compared(shop, builds)
    language = counter.speech(asked)
    columns = [
        (one, whole_pictures(build, language, f"p{n}-"), tap_to(build.selection))
        for n, (build, one) in enumerate(zip(builds, compared.columns, strict=True))
    ]
    _, *sections = comparison_report(compared)
    blocks = [block for section in sections for block in section if not isinstance(block, Chart)]
    return counter.page(asked, "beside.html", columns=columns, blocks=blocks, state=state.packed())


def finish(counter: Counter, asked: PageRequest) -> Answer:
    """The package with the choices made that were left."""
    state = typed_state(counter, asked)
    found = state.build(counter.shop).complete(asked.asks("prefer") or "price")
    if isinstance(found, ExplainAnswer):
        told = text("These picks cannot be completed: look at what would help first.")
        return shown(counter, asked, state, told)
    option = counter.shop.catalogue.option
    added = itemised([option(*pick.key).times(pick.many) for pick in found.added])
    told = text("Also chosen: {options}.", options=added)
    return shown(counter, asked, state.changed(counter.shop.build(found.selection)), told)
