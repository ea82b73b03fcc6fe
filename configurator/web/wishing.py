"""The page that asks for wishes and a budget, and the package with the most of them."""

from __future__ import annotations

from typing import Any

from attrs import evolve

from configurator.budget.reading import budget_from
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import FREE_LINE, VEHICLE
from configurator.errors import ConfiguratorError
from configurator.report.engine import within_report
from configurator.report.model import Paragraph
from configurator.web.counter import Counter, sentences_of
from configurator.web.messages import Answer, PageRequest
from configurator.web.package import kept_of, key_of, shown
from configurator.web.parts import PageNote, notes_of
from configurator.web.state import FormState, written
from configurator.web.taps import WrongField, wishes_of
from configurator.web.views import groups_of
from configurator.words import text

WISHES = 8
"""How many wishes the page takes."""


def wish_page(
    counter: Counter, asked: PageRequest, *problems: str | PageNote, **wrong: str
) -> Answer:
    """The page that asks for the vehicle, the wishes in order, and the budget.

    Where something was the matter, it says what, and has in its fields what was typed; so it has
    where its address holds that.
    """
    if not asked.form:
        asked = evolve(asked, form=asked.query)
    groups = groups_of(counter.shop)
    vehicles = groups[VEHICLE][1][0].options
    offered = [
        (choice.title, [(str(Pick(choice.id, one.id)), one.title) for one in choice.options])
        for name, (_, choices) in groups.items()
        if name != VEHICLE
        for choice in choices
        if choice.id != FREE_LINE
    ]
    told: dict[str, Any] = {
        "vehicles": vehicles,
        "offered": offered,
        "count": WISHES,
        "problems": problems,
    }
    told |= {"key": key_of(asked), "wrong": wrong}
    return counter.page(asked, "wishes.html", 400 if problems else 200, **told)


def from_wishes(counter: Counter, asked: PageRequest) -> Answer:
    """The package with the most of the wishes, in their order, that the budget allows.

    Without a vehicle, or on a tap that only changes the language, the page that asks.
    """
    if "vehicle" not in asked.form or "tap" in asked.form:
        return wish_page(counter, asked)
    try:
        return _found(counter, asked)
    except WrongField as error:
        (told,) = sentences_of(error)
        return wish_page(counter, asked, told, **{error.field: error.beside})
    except ConfiguratorError as error:
        return wish_page(counter, asked, *sentences_of(error))


def _found(counter: Counter, asked: PageRequest) -> Answer:
    shop = counter.shop
    try:
        budget = budget_from(asked.field("budget"), shop.catalogue.currency)
    except ConfiguratorError as error:
        raise WrongField("budget", error.args[0]) from None
    build = shop.build().pick(VEHICLE, asked.field("vehicle"))
    found = build.within(budget, wishes_of(asked, WISHES))
    (told,) = within_report(shop.catalogue, found, None)
    against, *others = notes_of([block for block in told if isinstance(block, Paragraph)])
    if found.selection is None:
        return wish_page(counter, asked, against, *others)
    titles = [shop.catalogue.option(*wish.key).times(wish.many) for wish in found.granted]
    granted = [text("Granted: {wish}", wish=title) for title in titles]
    state = FormState(written(build.selection), kept=kept_of(asked), key=key_of(asked))
    state = state.changed(shop.build(found.selection))
    return shown(counter, asked, state, against, *granted, *others)
