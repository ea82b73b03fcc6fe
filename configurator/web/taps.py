"""What each button does to a package, and what is typed on the page and kept with a tap."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import partial
from typing import Any

import attrs

from configurator.build import Build
from configurator.catalogue.fields import MOST_MONEY, Pick
from configurator.catalogue.model import FREE_LINE
from configurator.errors import NOWHERE, ConfiguratorError, DataError
from configurator.render.language import language
from configurator.selection.picks import Adjustment, Customer, FreeLine, TradeIn
from configurator.shop import Shop
from configurator.web.counter import sentences_of
from configurator.web.messages import PageRequest
from configurator.web.state import SETTLE, FormState, Tap, unpacked_selection
from configurator.words import Text, capital, joined, text


class WrongField(ConfiguratorError):
    """What was typed into a field cannot be used.

    Attributes:
        field: its name in the form.
        beside: what is said beside the field, which does not name it again.
    """

    def __init__(self, field: str, told: str, what: str = "") -> None:
        self.field, self.beside = field, told
        super().__init__(capital(joined((what, told), ": ") if what else told))


_NUMBER = re.compile(r"-?(?=[.0-9]{1,13}$)[0-9]+(\.[0-9]+)?", re.ASCII)
_EITHER_WAY = re.compile(r"-?[1-9][0-9]{0,2}[.,][0-9]{3}", re.ASCII)
"""Thousands to some and thousandths to others."""


def _number(asked: PageRequest, name: str, what: Text) -> Decimal | None:
    """The number in a field, as it is written in the language of the page; None where it is empty.

    Where decimals follow a comma, a point before them is understood too, unless it may as well
    divide thousands.

    Raises:
        ConfiguratorError: it is not a number, or could be either of two.
    """
    typed = asked.field(name)
    if not typed:
        return None
    group, point = ",", "."
    if language(asked.language).signs[ord(".")] == ",":
        if _EITHER_WAY.fullmatch(typed):
            first = re.sub("[.,]", "", typed)
            second = re.sub("[.,]", ",", typed).rstrip("0") + ("0" if typed.endswith("000") else "")
            told = text(
                '"{typed}" could be thousands or decimals; write {first} or {second}',
                typed=typed,
                first=first,
                second=second,
            )
            raise WrongField(name, told, what)
        if "," in typed or typed.count(".") > 1:
            group, point = ".", ","
    written = re.sub(rf"(?<=[0-9])[{group}\s](?=[0-9]{{3}}(?![0-9]))", "", typed)
    written = written.replace(point, ".")
    if not _NUMBER.fullmatch(written):
        told = text(
            '"{typed}" is not a number; write digits, with a decimal point as in 3.5', typed=typed
        )
        raise WrongField(name, told, what)
    return Decimal(written)


def _within(asked: PageRequest, name: str, what: Text, most: int) -> Decimal | None:
    """The number from 0 to so much in a field; None where it is empty.

    Raises:
        WrongField: it is not.
    """
    number = _number(asked, name, what)
    if number is not None and not 0 <= number <= most:
        told = text("{number} is too much; write {most} or less", number=number, most=most)
        if number < 0:
            told = text("{many} is below zero; write 0 or more", many=number)
        raise WrongField(name, told, what)
    return number


_HEAVIEST = 100_000
"""The largest mass, kg, as in a selection."""


def _counted(build: Build, choice: str, option: str, asked: PageRequest) -> Build:
    """The package with as many of an option, or as much, as is typed beside it.

    Raises:
        ConfiguratorError: it is no number, or the option is not sold so.
    """
    name, what = f"n:{choice}:{option}", text("how many, or how much")
    _needed(asked, name, what)
    many = _number(asked, name, what) or Decimal(0)
    if many < 0:
        raise WrongField(name, text("{many} is below zero; write 0 or more", many=many), what)
    return _with_quantity(build, choice, option, many)


def _with_quantity(build: Build, choice: str, option: str, many: Decimal | int) -> Build:
    """The package with so many of an option, or so much; with none of it at 0."""
    if build.selection.quantity(choice, option):
        build = build.drop(choice, option)
    return build.pick(choice, option, many) if many else build


def _needed(asked: PageRequest, name: str, what: Text) -> str:
    if not asked.field(name):
        raise WrongField(name, text("fill in {what}", what=what))
    return asked.field(name)


def _money(asked: PageRequest, name: str, what: Text) -> Decimal:
    _needed(asked, name, what)
    return _within(asked, name, what, MOST_MONEY) or Decimal(0)


def _adjust(build: Build, asked: PageRequest) -> Build:
    for name in ("adjust-percent", "adjust-amount"):
        if asked.field(name).startswith("-"):
            told = text("write a discount or a surcharge without a minus sign")
            raise WrongField(name, told)
    percent = _within(asked, "adjust-percent", text("per cent"), 100)
    amount = _within(asked, "adjust-amount", text("amount"), MOST_MONEY)
    title = _needed(asked, "adjust-title", text("what the discount or surcharge is called"))
    if (percent is None) == (amount is None):
        raise WrongField("adjust-percent", text("write a percentage or an amount, one of the two"))
    sign = -1 if asked.field("adjust-kind") == "discount" else 1
    return build.adjust(
        Adjustment(
            title,
            _needed(asked, "adjust-reason", text("the reason for the discount or surcharge")),
            percent=None if percent is None else sign * percent,
            amount=None if amount is None else sign * amount,
            group=asked.field("adjust-group"),
            approver=asked.field("adjust-approver"),
        )
    )


def _approve(build: Build, asked: PageRequest) -> Build:
    """With an approver of every discount that has none."""
    name = _needed(asked, "approver", text("who approves it"))
    adjustments = (
        one
        if one.approver or (one.percent or one.amount or 0) > 0
        else attrs.evolve(one, approver=name)
        for one in build.selection.adjustments
    )
    return build.change(adjustments=tuple(adjustments))


def _trade_in(build: Build, asked: PageRequest) -> Build:
    title = _needed(asked, "trade-title", text("what is traded in"))
    value = _money(asked, "trade-amount", text("the value of the trade-in"))
    if not value:
        raise WrongField("trade-amount", text("write the value of the trade-in, above 0"))
    return build.trade_in(TradeIn(title, asked.field("trade-reason") or title, value))


def _line(build: Build, asked: PageRequest) -> Build:
    taken = {line.id for line in build.selection.free_lines}
    identity = next(str(n) for n in range(1, 1000) if str(n) not in taken)
    line = FreeLine(
        identity,
        _needed(asked, "line-title", text("what the other line is")),
        _money(asked, "line-price", text("the price of one")),
        _within(asked, "line-mass", text("the mass of one"), _HEAVIEST) or Decimal(0),
    )
    what = text("how many")
    many = _number(asked, "line-quantity", what)
    if many is not None and (many < 1 or many != int(many)):
        raise WrongField("line-quantity", text("write a whole number, 1 or more"), what)
    return build.add(line, 1 if many is None else int(many))


def _travel(build: Build, asked: PageRequest) -> Build:
    what = text("how many travel")
    people = _number(asked, "people", what)
    if people is not None and (people != int(people) or not 1 <= people <= 20):
        raise WrongField("people", text("write 1 to 20 people"), what)
    travel = attrs.evolve(
        build.selection.travel,
        people=None if people is None else int(people),
        tow_ball=_within(asked, "tow-ball", text("the download on the tow ball"), _HEAVIEST),
        trailer=_within(asked, "trailer", text("the mass of the trailer"), _HEAVIEST),
        driving=_within(asked, "driving", text("the hours driven a day"), 24),
        place=asked.field("place"),
        season=asked.field("season"),
    )
    return build.change(travel=travel)


_ENTERED: Mapping[str, Callable[[Build, PageRequest], Build]] = {
    "adjust": _adjust,
    "approve": _approve,
    "trade-in": _trade_in,
    "line": _line,
    "travel": _travel,
}
"""What each button keeps of what is typed beside it."""


def with_customer(build: Build, asked: PageRequest) -> Build:
    """The package for the customer, with the name and the notes, that the page has in its fields.

    A field that the page does not have leaves what is known.
    """
    selection = build.selection
    known = selection.customer or Customer("")
    told: dict[str, Any] = {
        field: asked.field(name) for field, name in _CUSTOMER.items() if name in asked.form
    }
    customer = attrs.evolve(known, **told)
    title = asked.field("title") if "title" in asked.form else selection.title
    notes = selection.notes
    if "notes" in asked.form:
        parts = asked.form["notes"].replace("\r\n", "\n").split("\n\n")
        notes = tuple(" ".join(part.split()) for part in parts if part.strip())
    kept = customer if customer.name else None
    if (kept, title, notes) == (selection.customer, selection.title, selection.notes):
        return build
    return build.change(customer=kept, title=title, notes=notes)


def without_details(build: Build) -> Build:
    """The package without whose it is, its name and the notes on the quote."""
    return build.change(customer=None, title="", notes=())


_CUSTOMER = {"name": "customer", "phone": "phone", "email": "email", "vehicle": "vehicle"}


def contact_kept(before: Build, after: Build) -> str:
    """A caution where the customer is another one with the telephone or e-mail of the last."""
    name = contact_of(before, after)
    return name and text(
        "telephone and e-mail are still those of {name}: change them, or empty them with one tap",
        name=name,
    )


def contact_of(before: Build, after: Build) -> str:
    """Whose telephone and e-mail another customer has; empty where it is the same or has others."""
    was, now = before.selection.customer, after.selection.customer
    if was is None or now is None or {*_words(was.name)} & {*_words(now.name)}:
        return ""
    same = (was.phone, was.email) == (now.phone, now.email)
    return was.name if same and (was.phone or was.email) else ""


def _words(name: str) -> list[str]:
    return name.casefold().split()


def _without_contact(build: Build) -> Build:
    """The package with the customer's name, and no telephone, e-mail and vehicle of theirs."""
    customer = build.selection.customer
    return build if customer is None else build.change(customer=Customer(customer.name))


def wishes_of(asked: PageRequest, most: int) -> list[Pick]:
    """The wishes in their order, each with how many; of one that is repeated, the first counts.

    Raises:
        ConfiguratorError: how many is no number above 0.
    """
    wishes: dict[tuple[str, str], Pick] = {}
    for rank in range(1, most + 1):
        if name := asked.field(f"wish-{rank}"):
            what = text("how many, or how much, of wish {rank}", rank=rank)
            many = _number(asked, f"many-{rank}", what)
            if many is not None and many <= 0:
                told = text("write a number above 0, or leave it empty")
                raise WrongField(f"many-{rank}", told, what)
            key = Pick.named(name).key
            wishes.setdefault(key, Pick.counting(*key, many or 1, NOWHERE))
    return [*wishes.values()]


_REMOVED = {"line": "free_lines", "adjustment": "adjustments", "trade-in": "trade_ins"}


def _removed(build: Build, what: str, index: str) -> Build:
    """The package without a discount, a trade-in or a free line.

    Raises:
        ConfiguratorError: there is none under the number.
    """
    name = _REMOVED.get(what, "")
    there = getattr(build.selection, name, ())
    at = int(index) if index.isascii() and index.isdigit() else len(there)
    if at >= len(there):
        raise ConfiguratorError(text("that is not on the page any more"))
    if what == "line":
        return build.drop(*Pick(FREE_LINE, there[at].id).key)
    return build.change(**{name: (*there[:at], *there[at + 1 :])})


def tapped(shop: Shop, state: FormState, asked: PageRequest) -> FormState:
    """The state after a tap.

    Raises:
        ConfiguratorError: there is no such button, choice or option.
    """
    tap = Tap.read(asked.field("tap"))
    what, choice, option = tap.what, tap.to, tap.which
    plain: dict[str, Callable[[], FormState]] = {
        "": lambda: _found(state, asked),
        SETTLE: lambda: state,
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
        return state.changed(shop.build(unpacked_selection(choice)))
    if what == "contact":
        return state.changed(_without_contact(state.build(shop)))
    if what in _ENTERED:
        return _entered(shop, state, asked, what)
    if what == "count":
        return state.changed(_counted(state.build(shop), choice, option, asked).tidied())
    if what not in _CHANGES:
        raise ConfiguratorError(text("the page has no such button"))
    build = state.build(shop)
    return state.changed(_CHANGES[what](build, choice, option).tidied())


def _entered(shop: Shop, state: FormState, asked: PageRequest, what: str) -> FormState:
    """The state with what is typed beside a button, which has a price.

    Raises:
        WrongField: it cannot be used.
    """
    try:
        after = state.changed(_ENTERED[what](state.build(shop), asked))
        after.build(shop).price()
    except DataError as error:
        raise WrongField(_MAIN_FIELDS[what], joined(sentences_of(error), "; ")) from None
    return after


_MAIN_FIELDS = {
    "adjust": "adjust-amount",
    "approve": "approver",
    "trade-in": "trade-amount",
    "line": "line-price",
    "travel": "people",
}
"""The field of each button beside which is said what only the whole package shows."""

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
    return _with_quantity(build, choice, option, many)


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
    "remove": _removed,
}
