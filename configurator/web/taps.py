"""What each button does to a package."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import attrs

from configurator.build import Build
from configurator.catalogue.fields import Pick
from configurator.errors import ConfiguratorError
from configurator.shop import Shop
from configurator.web.asked import PageRequest
from configurator.web.entered import ENTERED, counted, removed, with_quantity, without_contact
from configurator.web.state import FormState, unpacked_selection
from configurator.words import text


def tapped(shop: Shop, state: FormState, asked: PageRequest) -> FormState:
    """The state after a tap.

    The button says what it does, to which choice and option, with colons between.

    Raises:
        ConfiguratorError: there is no such button, choice or option.
    """
    what, _, rest = asked.field("tap").partition(":")
    choice, _, option = rest.partition(":")
    plain: dict[str, Callable[[], FormState]] = {
        "": lambda: _found(state, asked),
        "look": lambda: attrs.evolve(state, group=choice, words=""),
        "find": lambda: _found(state, asked),
        "undo": state.undone,
        "redo": state.redone,
        "keep": state.set_aside,
        "clear": lambda: attrs.evolve(state, kept=()),
    }
    if what in plain:
        return plain[what]()
    if what == "take":
        return state.changed(shop.build(unpacked_selection(rest)))
    if what == "contact":
        return state.changed(without_contact(state.build(shop)))
    if what in ENTERED:
        return state.changed(ENTERED[what](state.build(shop), asked))
    if what == "count":
        return state.changed(counted(state.build(shop), choice, option, asked).tidied())
    if what not in _CHANGES:
        raise ConfiguratorError(text("the page has no such button"))
    build = state.build(shop)
    return state.changed(_CHANGES[what](build, choice, option).tidied())


_MOST_WORDS = 60


def _found(state: FormState, asked: PageRequest) -> FormState:
    """With what is looked for; the page of a comparison has no field for it."""
    return (
        attrs.evolve(state, words=asked.field("find")[:_MOST_WORDS])
        if "find" in asked.form
        else state
    )


def _one_more(build: Build, choice: str, option: str, more: int = 1) -> Build:
    many = max(0, build.selection.quantity(choice, option) + more)
    return with_quantity(build, choice, option, many)


def _place(build: Build, unit: str, where: str) -> Build:
    choice, option = Pick.named(unit).key
    if where in ("front", "rear-end"):
        towards = "rear" if where == "rear-end" else "front"
        return build.place(choice, option, towards=towards)
    return build.place(choice, option, side=where)


_CHANGES: dict[str, Callable[[Build, str, str], Build]] = {
    "pick": Build.pick,
    "drop": Build.drop,
    "more": _one_more,
    "less": partial(_one_more, more=-1),
    "place": _place,
    "none": lambda build, choice, _: build.without(choice),
    "open": lambda build, choice, _: build.change(none=build.selection.wanting(choice).none),
    "remove": removed,
}
