"""A package from a wish list, most important first, and a budget."""

from __future__ import annotations

import re
from decimal import Decimal

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import FREE_LINE, VEHICLE
from configurator.errors import ConfiguratorError
from configurator.report.engine import within_report
from configurator.report.model import Paragraph
from configurator.web.counter import Counter, sentences_of
from configurator.web.messages import Answer, PageRequest
from configurator.web.package import kept_of, shown
from configurator.web.state import FormState, written
from configurator.web.views import groups_of
from configurator.words import text

WISHES = 8
"""How many wishes the page takes."""


def wish_page(counter: Counter, asked: PageRequest, *problems: str) -> Answer:
    """The page that asks for the vehicle, the wishes in order, and the budget.

    Where something was the matter, it says what, and has in its fields what was typed.
    """
    groups = groups_of(counter.shop)
    vehicles = groups[VEHICLE][1][0].options
    offered = [
        (choice.title, [(str(Pick(choice.id, one.id)), one.title) for one in choice.options])
        for name, (_, choices) in groups.items()
        if name != VEHICLE
        for choice in choices
        if choice.id != FREE_LINE
    ]
    told = {"vehicles": vehicles, "offered": offered, "count": WISHES, "problems": problems}
    return counter.page(asked, "wishes.html", 400 if problems else 200, **told)


def from_wishes(counter: Counter, asked: PageRequest) -> Answer:
    """The package with the most of the wishes, in their order, that the budget allows.

    Without a vehicle, or on a tap that only changes the language, the page that asks.
    """
    if "vehicle" not in asked.form or "tap" in asked.form:
        return wish_page(counter, asked)
    try:
        return _found(counter, asked)
    except ConfiguratorError as error:
        return wish_page(counter, asked, *sentences_of(error))


def _found(counter: Counter, asked: PageRequest) -> Answer:
    shop, typed = counter.shop, asked.field("budget")
    written_budget = re.sub(r"(?<=[0-9])[,.\s](?=[0-9]{3}(?![0-9]))", "", typed)
    if not (written_budget.isascii() and written_budget.isdigit()) or len(written_budget) > 7:
        raise ConfiguratorError(text("write the budget as a whole number, at most 7 digits"))
    build = shop.build().pick(VEHICLE, asked.field("vehicle"))
    named = (asked.field(f"wish-{rank}") for rank in range(1, WISHES + 1))
    wishes = [Pick.named(name) for name in dict.fromkeys(named) if name]
    found = build.within(Decimal(written_budget), wishes)
    (told,) = within_report(shop.catalogue, found)
    notes = [block.words for block in told if isinstance(block, Paragraph)]
    state = FormState(written(build.selection), kept=kept_of(asked))
    if found.selection is not None:
        state = state.changed(shop.build(found.selection))
    return shown(counter, asked, state, *notes)
