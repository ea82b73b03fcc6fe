"""One option as a priced line: its parts added up, each kind of part by its own rule.

Each is rounded half up to the currency's smallest unit, once, before it is multiplied by the
quantity. A unit price may be finer, or be for a hundred: it keeps all its decimals, and is
multiplied first. Either way the line is rounded half up, once (EN 16931, BT-131, says so of a net
price and its base quantity). Parts that do not count on the catalogue's day are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal, TypeAlias

from attrs import evolve, field, frozen

from configurator.catalogue.dependence import price_determiners
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import (
    Breaks,
    Credit,
    FixedPrice,
    Labour,
    MarkedUp,
    MeasuredPrice,
    OnApplication,
    PricedParts,
    PricePart,
    PriceTable,
    UnitPrice,
)
from configurator.errors import NOWHERE, Location
from configurator.money import Money, exponent, round_to
from configurator.selection.resolved import Resolved, once
from configurator.selection.totals import MissingPicks, measure, table_cell, undecided
from configurator.shapes.forms import form
from configurator.words import in_unit, listed, plain, shown_unit, text

Key: TypeAlias = tuple[str, str]
"""A line by its choice and option."""


OpenBy: TypeAlias = Literal["", "application", "picks", "catalogue"]
"""What keeps a price open, if anything does."""

UNPRICED: dict[OpenBy, str] = {
    "application": text("price on application"),
    "picks": text("no price yet"),
    "catalogue": text("no price yet"),
    "": "",
}
"""What stands in the place of an amount that is open."""


def finest(money: Money) -> str:
    """An amount as text with every decimal it has, at least those of its currency."""
    return f"{money.amount:.{money.decimals}f}"


@form(hidden="note per by_area", shown={"amount": finest})
@frozen(repr=False)
class PricedPart:
    """A part of a price and what it comes to for one.

    What the shop pays and adds is not in the words: they may be shown to a customer.

    Attributes:
        at: where the catalogue has it.
        amount: what it comes to; exact, not rounded.
        words: its arithmetic.
        note: what a customer reads of it: the catalogue's words, plain arithmetic, or nothing.
        per: of a unit price, how many it is for; None where it is for one.
        by_area: whether the note is arithmetic with an area, which is the workshop's.
    """

    at: Location
    amount: Money
    words: str
    note: str = ""
    per: int | None = None
    by_area: bool = False


@form(hidden="parts at open_by", also="notes", keys={"rate": "tax-rate"}, shown={"each": finest})
@frozen(repr=False)
class Line:
    """One priced option.

    Attributes:
        choice: id of its choice.
        option: id of the option.
        title: what the customer reads.
        text: a sentence more, or empty.
        quantity: how many, or how much of what is sold by measure.
        each: price of one, to the currency's smallest unit, or finer where it is a unit price;
            None while it is open.
        amount: price of all; None while it is open.
        rate: name of its tax rate.
        unit: what it is measured in, such as m; empty for pieces.
        per: how many the price of one is really for, such as 100.
        why_open: why there is no price yet, as a sentence, or empty.
        open_by: what it is open by: priced on ``application``, ``picks`` still to be made, or what
            the ``catalogue`` does not say; empty where it has a price.
        awaits: ids of the choices still to be made that its price depends on.
        parts: what each is made of; empty while it is open.
        at: where the catalogue has the option.
    """

    choice: str
    option: str
    title: str
    text: str
    quantity: int | Decimal
    each: Money | None
    amount: Money | None
    rate: str
    unit: str = ""
    per: int = 1
    why_open: str = ""
    open_by: OpenBy = ""
    awaits: tuple[str, ...] = ()
    parts: tuple[PricedPart, ...] = field(default=(), eq=False, repr=False)
    at: Location = field(default=NOWHERE, eq=False, repr=False)

    @property
    def key(self) -> Key:
        """Its choice and option."""
        return self.choice, self.option

    @property
    def notes(self) -> tuple[str, ...]:
        """What a customer reads about how the price came about."""
        return tuple(part.note for part in self.parts if part.note)

    @property
    def notes_without_areas(self) -> tuple[str, ...]:
        """The same without arithmetic of areas."""
        return tuple(part.note for part in self.parts if part.note and not part.by_area)

    @property
    def finer(self) -> bool:
        """Whether its price is a unit price, which keeps all its decimals up to the line."""
        return any(part.per is not None for part in self.parts)

    @property
    def unpriced(self) -> str:
        """What stands in the place of its amount while that is open; empty where it is not."""
        return UNPRICED[self.open_by]

    @property
    def many(self) -> int | str:
        """The quantity, with its unit where it has one."""
        if isinstance(self.quantity, int):
            return self.quantity
        return in_unit(self.quantity, self.unit)


class _Open(LookupError):
    """The price is open: why, as a sentence, what by, and which choices it depends on."""

    def __init__(self, why: str, by: OpenBy, awaits: tuple[str, ...] = ()) -> None:
        super().__init__(why)
        self.why, self.by, self.awaits = why, by, awaits


def option_price(build: Resolved, choice: Choice, option: Option, quantity: int = 1) -> Line:
    """The option as a line, priced as it would be within the selection."""
    catalogue = build.catalogue
    parts: tuple[PricedPart, ...] = ()
    why_open = ""
    open_by: OpenBy = ""
    awaits: tuple[str, ...] = ()
    each: Money | None = None
    many: int | Decimal = quantity if option.sold_by is None else option.how_much * quantity
    amount, per = None, None
    try:
        parts = tuple(_parts(build, choice, option, many))
        each = Money.total((part.amount for part in parts), catalogue.currency)
        per = next((part.per for part in parts if part.per is not None), None)
        if per is None:
            each = each.rounded()
            amount = (each * many).rounded()
        else:
            exact = Fraction(each.amount) * Fraction(many) / per
            amount = Money(round_to(exact, exponent(each.currency)), each.currency)
    except MissingPicks as missing:
        open_by, awaits = "picks", missing.choices
        titles = [catalogue.by_id[c].title for c in awaits]
        if titles:
            why_open = text("depends on {choices}", choices=listed(titles))
        else:
            why_open = text("{missing} is not known", missing=missing.what)
    except _Open as reason:
        why_open, open_by, awaits = reason.why, reason.by, reason.awaits
    return Line(
        choice=choice.id,
        option=option.id,
        title=option.title,
        text=option.text,
        quantity=many,
        each=each,
        amount=amount,
        rate=_rate(build, option),
        unit="" if option.sold_by is None else option.sold_by.unit,
        per=per or 1,
        why_open=why_open,
        open_by=open_by,
        awaits=awaits,
        parts=parts,
        at=option.at,
    )


def as_told(build: Resolved, line: Line) -> Line:
    """The line; what costs nothing is not included while a choice is open that counts it in."""
    if line.amount is None or line.amount:
        return line
    choices = counted_elsewhere(build).get(line.key, ())
    return not_included(line, build.catalogue, choices) if choices else line


@once
def counted_elsewhere(build: Resolved) -> Mapping[Key, tuple[str, ...]]:
    """Picks that decide prices in choices still to be made, and in no line yet: in which choices.

    A height that costs nothing itself is included once the canopy is there whose price has it.
    """
    catalogue = build.catalogue
    still = {choice: catalogue.by_id[choice].options for choice in undecided(build)}
    if not still:
        return {}
    counted = {
        key for choice, option, _ in build.picks for key in _deciding(build, choice.id, option)
    }
    found: dict[Key, dict[str, None]] = {}
    for choice_id, options in still.items():
        for option in options:
            for key in _deciding(build, choice_id, option) - counted:
                found.setdefault(key, {})[choice_id] = None
    return {key: tuple(choices) for key, choices in found.items()}


def _deciding(build: Resolved, choice_id: str, option: Option) -> set[Key]:
    """Picks that the price of an option depends on."""
    return {
        (choice, picked)
        for choice, options in price_determiners(build.catalogue, choice_id, option).items()
        for picked in build.selection.chosen.get(choice, ())
        if picked in options
    }


def not_included(line: Line, catalogue: Catalogue, choices: tuple[str, ...]) -> Line:
    """The line of a pick whose price is counted in choices still to be made."""
    why = text("depends on {choices}", choices=listed([catalogue.by_id[c].title for c in choices]))
    return evolve(
        line, each=None, amount=None, why_open=why, open_by="picks", awaits=choices, parts=()
    )


def _parts(
    build: Resolved, choice: Choice, option: Option, quantity: int | Decimal
) -> Iterator[PricedPart]:
    """What each is made of on the catalogue's day.

    Raises:
        MissingPicks: a part depends on a choice that is still open.
        _Open: a part has no price.
    """
    day = build.catalogue.price_day
    parts = [part for part in option.price if part.counts_on(day)]
    if option.price and not parts:
        why = text("the catalogue has no price for {day}", day=date.fromisoformat(day))
        raise _Open(why, "catalogue")
    named = False
    for part in parts:
        span = f", counts {_span(part)}" if part.first or part.until else ""
        if not isinstance(part, OnApplication):
            amount, words, note = _priced(build, option, part, quantity)
            words = f"{part.note}: {words}" if part.note else words
            per = part.per if isinstance(part, UnitPrice) else None
            by_area = isinstance(part, MeasuredPrice) and _is_area(build, part) and not part.note
            yield PricedPart(part.at, amount, words + span, part.note or note, per, by_area)
        elif not named:
            named = True
            amount, words = _named(build, choice, option, part)
            yield PricedPart(part.at, amount, words + span)


def _is_area(build: Resolved, part: MeasuredPrice) -> bool:
    return measure(build, part.of)[1].endswith("2")


def _span(part: PricePart) -> str:
    first = f"from {part.first}" if part.first else ""
    until = f"until {part.until}" if part.until else ""
    return " ".join(filter(None, (first, until)))


def _named(
    build: Resolved, choice: Choice, option: Option, part: OnApplication
) -> tuple[Money, str]:
    """The price that the selection names for all of the option's parts on application."""
    for price in build.selection.named_prices:
        if price.line.key == (choice.id, option.id):
            words = f"price on application, named by {price.by or 'the shop'}"
            return Money(price.amount, build.catalogue.currency), words
    raise _Open(part.note or UNPRICED["application"], "application")


def _priced(
    build: Resolved, option: Option, part: PricedParts, quantity: int | Decimal
) -> tuple[Money, str, str]:
    """What a part comes to for one, its arithmetic, and what a customer reads of it."""
    catalogue = build.catalogue
    currency = catalogue.currency
    match part:
        case PriceTable():
            amount = Money(table_cell(build, part), currency)
            picked = (catalogue.option(c, str(build.selection.one(c))).title for c in part.by)
            named = zip((catalogue.by_id[c].title for c in part.by), picked, strict=True)
            return amount, f"table by {', '.join(map(' '.join, named))}", ""
        case MeasuredPrice():
            size, unit = measure(build, part.of)
            words = f"{size} {shown_unit(unit)} of {part.of} at {part.rate}"
            rate = Money(part.rate, currency)
            known = {"size": size, "unit": shown_unit(unit), "rate": rate}
            return rate * size, words, text("{size} {unit} at {rate:amount}", **known)
        case Labour():
            hourly = dict(catalogue.labour)[part.trade]
            worked = Money(hourly, currency) * part.hours
            least = ""
            if part.minimum is not None:
                worked = max(worked, Money(part.minimum, currency))
                least = f", at least {part.minimum}" if part.minimum else ""
            note = text("{hours} h {trade}", hours=part.hours, trade=part.trade)
            return worked, f"{note} at {hourly}{least}", note
        case Breaks():
            first, *more_steps = part.steps  # the first is for less than one as well
            steps = (first, *(step for step in more_steps if step.first <= quantity))
            reached = max(steps, key=lambda step: step.first)
            words = f"price each from {plain(reached.first)} on"
            more = text("price for {first} or more", first=reached.first)
            return Money(reached.each, currency), words, more if reached.first != 1 else ""
        case MarkedUp():
            amount = Money(part.amount, currency)
            if catalogue.tax.included:
                amount *= 1 + dict(catalogue.tax.rates)[_rate(build, option)] / 100
            return amount, "supplier's price and the shop's markup", ""
        case Credit():
            amount, less = _credit(build, part, quantity)
            return amount, f"{less}, for {quantity}", less
        case UnitPrice():
            amount = Money(part.price, currency)
            return amount, "unit price", _unit_price(amount, part.per, option)
        case FixedPrice():
            return Money(part.amount, currency), "amount", ""


def _unit_price(amount: Money, per: int, option: Option) -> str:
    """What a customer reads of a unit price, which the line alone does not tell."""
    unit = option.sold_by.unit if option.sold_by is not None else ""
    if per == 1 and not unit:
        return text("{each:finest} each", each=amount)
    return text("{each:finest} for {many}", each=amount, many=in_unit(per, unit))


def _rate(build: Resolved, option: Option) -> str:
    """Name of the option's tax rate."""
    return option.tax or build.catalogue.tax.rates[0][0]


def _credit(build: Resolved, part: Credit, quantity: int | Decimal) -> tuple[Money, str]:
    """Less what the replaced option would cost here, in the same quantity."""
    choice = build.catalogue.by_id[part.replaces.choice]
    replaced = option_price(build, choice, choice.by_id[part.replaces.option], int(quantity))
    if replaced.each is None:
        known = {"title": replaced.title, "why": replaced.why_open}
        why = text("{title}, which it replaces, {why}", **known)
        raise _Open(why, replaced.open_by, replaced.awaits)
    percent = Decimal(100) if part.percent is None else part.percent
    less = text("less {title}", title=replaced.title)
    if percent != 100:
        less = text("less {percent} per cent of {title}", percent=percent, title=replaced.title)
    return -(replaced.each * (percent / 100)), less
