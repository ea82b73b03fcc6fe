"""Answers about a package: where it starts, a step of it, its papers.

A step answers with its facts first, then with the group that is looked at, one choice after the
other, and settles the other groups while the seller reads. It may be left after any of them.
"""

from __future__ import annotations

import datetime as dt
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import attrs

from configurator.answers.data import selection_yaml
from configurator.build import Build
from configurator.catalogue.model import Choice
from configurator.catalogue.reading import shipped
from configurator.engine.availability import OptionAnswer
from configurator.errors import ConfiguratorError, SearchLimit
from configurator.render.html import comparison_html
from configurator.render.look import Look
from configurator.render.sheets import write_sheets
from configurator.render.writing import paper_pdf
from configurator.selection.picks import Customer
from configurator.selection.resolved import Resolved
from configurator.web.asked import EVENTS, GROUP, REST, Answer, Asked, Piece, Pieces
from configurator.web.counter import PDF, Counter, file
from configurator.web.parts import Drawn, Part, message
from configurator.web.state import State, unpacked, written
from configurator.web.taps import tapped
from configurator.web.views import card_of, groups_of, package_view, reasons_of

_PAPER = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; "
    "frame-ancestors 'none'; base-uri 'none'"
)


def start(counter: Counter, asked: Asked) -> Answer:
    """The page on which a package begins."""
    shop = counter.shop
    empty = State(written(shop.build().selection))
    ready = []
    for selection in sorted((shipped("catalogues") / "selections").glob("*.yaml")):
        try:
            build = shop.build(selection)
            build.price()
        except ConfiguratorError:
            continue  # of another catalogue
        ready.append(
            (build.selection.title or selection.stem, State(written(build.selection)).packed())
        )
    remark = shop.remark
    return counter.page(asked, "start.html", empty=empty.packed(), ready=ready, remark=remark)


def step(counter: Counter, asked: Asked) -> Pieces:
    """A tap: what it changes and what follows, piece by piece where the page takes pieces."""
    before = unpacked(asked.field("state") or asked.asks("state"))
    tap = asked.field("tap")
    why = tap.removeprefix("why") if tap.startswith("why:") else ""
    after, problems = before, tuple[str, ...]()
    try:
        if not why:
            after = tapped(counter.shop, before, tap)
        if asked.field("customer"):
            after = _with_customer(counter, after, asked)
    except ConfiguratorError as error:
        if not asked.streams:
            raise
        after, problems = before, tuple(str(error).splitlines())
    if asked.streams:
        yield from _streamed(counter, asked, after, before, why, problems)
        return
    drawn = _drawn(counter, asked, after, before)
    for choice, states in _settling(counter, after, _group(drawn)):
        counter.settle(after.selection, choice.id, states)
        yield Piece(None, GROUP)
    *_, found = reasons_of(counter.shop, after, why) if why else (None,)
    yield Piece(_whole(drawn, reasons=found))


def reasons(counter: Counter, asked: Asked) -> Pieces:
    """Why an option is not available, for a page that has its facts already."""
    state = unpacked(asked.field("state"))
    drawn = _drawn(counter, asked, state, state)
    begun = False
    for found in reasons_of(counter.shop, state, asked.field("tap").removeprefix("why")):
        told = message(asked, [drawn.one("why", "why", reasons=found)])
        yield Piece(told if begun else Answer(told, kind=EVENTS))
        begun = True


def shown(counter: Counter, asked: Asked, state: State, note: str = "") -> Answer:
    """The whole page of a package."""
    drawn = _drawn(counter, asked, state, state)
    for choice, states in _settling(counter, state, _group(drawn)):
        counter.settle(state.selection, choice.id, states)
    return _whole(drawn, note=note)


def _with_customer(counter: Counter, state: State, asked: Asked) -> State:
    build = state.build(counter.shop)
    known = build.selection.customer or Customer(asked.field("customer"))
    customer = attrs.evolve(
        known,
        name=asked.field("customer"),
        phone=asked.field("phone"),
        email=asked.field("email"),
        vehicle=asked.field("vehicle"),
    )
    title = asked.field("title")
    return state.changed(build.change(customer=customer, title=title))


def _drawn(counter: Counter, asked: Asked, state: State, before: State) -> Drawn:
    language = counter.look(asked).language
    return Drawn(counter, asked, state, package_view(counter.shop, state, before, language))


def _group(drawn: Drawn) -> list[Choice]:
    """The choices of the group that is looked at."""
    here = next(group.id for group in drawn.view.groups if group.here)
    return groups_of(drawn.counter.shop)[here][1]


def _settling(
    counter: Counter, state: State, choices: Sequence[Choice]
) -> Iterator[tuple[Choice, tuple[OptionAnswer, ...]]]:
    """The choices with the states of their options, those that are known already first."""
    known = [choice for choice in choices if (state.selection, choice.id) in counter.settled]
    for choice in known:
        yield choice, counter.settled[state.selection, choice.id]
    unknown = [choice for choice in choices if choice not in known]
    if not unknown:
        return
    try:
        found = state.build(counter.shop).one_by_one(*(choice.id for choice in unknown))
        yield from zip(unknown, found, strict=False)
    except SearchLimit:
        return  # the others are not settled


def _cards(drawn: Drawn) -> list[Part]:
    """The choices of the group that is looked at, as far as they are settled."""
    counter, state = drawn.counter, drawn.state
    return [
        drawn.card(
            card_of(
                counter.shop, drawn.view, choice, counter.settled.get((state.selection, choice.id))
            )
        )
        for choice in _group(drawn)
    ]


def _whole(drawn: Drawn, note: str = "", reasons: object = None) -> Answer:
    parts = drawn.facts(note=note, reasons=reasons)
    choices = drawn.choices(_cards(drawn))
    counter = drawn.counter
    return counter.page(
        drawn.asked, "package.html", view=drawn.view, parts={**parts, "choices": choices}
    )


def _streamed(
    counter: Counter,
    asked: Asked,
    after: State,
    before: State,
    why: str,
    problems: tuple[str, ...],
) -> Pieces:
    drawn = _drawn(counter, asked, after, before)
    facts = drawn.facts(looking=bool(why), problems=problems)
    cards = _cards(drawn)
    choices = drawn.choices(cards)
    here = _group(drawn)
    known = {choice.id for choice in here if (after.selection, choice.id) in counter.settled}
    first = [*facts.values()]
    if choices.seen in asked.seen:
        first += [one for one, of in zip(cards, here, strict=True) if of.id in known]
    else:
        first.append(choices)
    yield Piece(Answer(message(asked, first) or b": \n\n", kind=EVENTS), GROUP)
    for choice, states in _settling(counter, after, [one for one in here if one.id not in known]):
        counter.settle(after.selection, choice.id, states)
        card = drawn.card(card_of(counter.shop, drawn.view, choice, states))
        yield Piece(message(asked, [card]) or None, GROUP)
    others = [choice for _, inside in groups_of(counter.shop).values() for choice in inside]
    for choice, states in _settling(counter, after, [one for one in others if one not in here]):
        counter.settle(after.selection, choice.id, states)
        yield Piece(None, REST)


def open_file(counter: Counter, asked: Asked) -> Answer:
    """The page of a package from a file or from a PDF of ours."""
    if asked.file is None:
        raise ConfiguratorError("choose a file first: a saved selection, or a PDF made here")
    build = counter.shop.build(asked.file)
    return shown(counter, asked, State(written(build.selection)), build.remark)


def paper(counter: Counter, asked: Asked) -> Answer:
    """A paper of the package."""
    kind, shop = asked.path["kind"], counter.shop
    state = unpacked(asked.field("state"))
    build, look = state.build(shop), counter.look(asked)
    day = counter.today()
    name = build.selection.title or "package"
    if kind == "quote":
        return file(paper_pdf(build.quote("DRAFT", day), look), f"{name}.pdf", PDF)
    if kind == "selection":
        resolved = Resolved(shop.catalogue, build.selection)
        return file(selection_yaml(resolved).encode(), f"{name}.yaml", "application/yaml")
    if kind == "comparison":
        kept = dict.fromkeys((*state.kept, state.selection))
        builds = [shop.build(one.encode()) for one in kept]
        if len(builds) < 2:
            raise ConfiguratorError("set another package aside first: there is one to compare")
        html = comparison_html(shop.compare(*builds), look)
        return Answer(html.encode(), headers={"Content-Security-Policy": _PAPER})
    if kind in ("job", "wiring"):  # the order list names suppliers: it is for the office
        return _sheet(build, kind, look, day)
    raise ConfiguratorError(f"there is no paper {kind!r}")


def _sheet(build: Build, kind: str, look: Look, day: dt.date) -> Answer:
    made = build.sheets("DRAFT", day)
    with tempfile.TemporaryDirectory() as folder:
        write_sheets(made, Path(folder), "pdf", look)
        path = Path(folder) / f"{kind}.pdf"
        if not path.exists():
            raise ConfiguratorError("nothing that is picked has to be wired")
        return file(path.read_bytes(), f"{kind}.pdf", PDF)
