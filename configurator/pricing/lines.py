"""One option as a priced line: its parts added up, each kind of part by its own rule.

Each is rounded half up to the currency's smallest unit, once, before it is multiplied by the
quantity. Parts that do not count on the catalogue's day are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import field, frozen

from configurator.catalogue.model import Catalogue, Choice, Option, Part
from configurator.errors import NOWHERE, Location
from configurator.forms import form
from configurator.money import Money, round_to
from configurator.selection.resolved import Resolved
from configurator.totals import MissingPicks, measure, table_cell

__all__ = ["Line", "PricedPart", "option_price"]


@form()
@frozen
class PricedPart:
    """A part of a price and what it comes to for one.

    Attributes:
        part: the part, with its place in the catalogue.
        amount: what it comes to; exact, not rounded.
        size: of a measure, how much of it; of breaks, the quantity that decided; else None.
        unit: of a measure, such as m2.
        named_by: of a price on application, who named it, or empty.
    """

    part: Part
    amount: Money
    size: Decimal | None = None
    unit: str = ""
    named_by: str = ""


@form(hidden="parts at", keys={"rate": "tax-rate"})
@frozen
class Line:
    """One priced option.

    Attributes:
        choice: id of its choice.
        option: id of the option.
        title: what the customer reads.
        text: a sentence more, or empty.
        quantity: how many.
        each: price of one, to the currency's smallest unit; None while it is open.
        amount: price of all; None while it is open.
        rate: name of its tax rate.
        why_open: why there is no price yet, as a sentence, or empty.
        notes: words about how the price came about.
        parts: what each is made of; empty while it is open.
        at: where the catalogue has the option.
    """

    choice: str
    option: str
    title: str
    text: str
    quantity: int
    each: Money | None
    amount: Money | None
    rate: str
    why_open: str = ""
    notes: tuple[str, ...] = ()
    parts: tuple[PricedPart, ...] = field(default=(), eq=False, repr=False)
    at: Location = field(default=NOWHERE, eq=False, repr=False)

    @property
    def key(self) -> tuple[str, str]:
        """Its choice and option."""
        return self.choice, self.option


class _Open(LookupError):
    """The price is open; the sentence says why."""


def option_price(build: Resolved, choice: Choice, option: Option, quantity: int = 1) -> Line:
    """The option as a line, priced as it would be within the selection."""
    parts: tuple[PricedPart, ...] = ()
    notes: tuple[str, ...] = ()
    why_open = ""
    each: Money | None = None
    try:
        parts = tuple(_parts(build, choice, option, quantity))
        each = Money.total((part.amount for part in parts), build.catalogue.currency).rounded()
        notes = tuple(note for part in parts if (note := _note(build.catalogue, part)))
    except MissingPicks as missing:
        titles = [build.catalogue.by_id[c].title for c in missing.choices]
        why_open = f"hangs on {' and '.join(titles)}" if titles else f"{missing} is not known"
    except _Open as reason:
        why_open = str(reason)
    return Line(
        choice=choice.id,
        option=option.id,
        title=option.title,
        text=option.text,
        quantity=quantity,
        each=each,
        amount=each * quantity if each is not None else None,
        rate=option.tax or build.catalogue.tax.rates[0][0],
        why_open=why_open,
        notes=notes,
        parts=parts,
        at=option.at,
    )


def _parts(build: Resolved, choice: Choice, option: Option, quantity: int) -> Iterator[PricedPart]:
    """What each is made of on the catalogue's day.

    Raises:
        MissingPicks: a part hangs on a choice that is still open.
        _Open: a part has no price.
    """
    day = build.catalogue.price_day
    parts = [part for part in option.price if part.counts_on(day)]
    if option.price and not parts:
        raise _Open(f"the catalogue has no price for {day}")
    named = False
    for part in parts:
        if part.kind != "on-application":
            yield _part(build, option, part, quantity)
        elif not named:
            named = True
            yield _named(build, choice, option, part)


def _named(build: Resolved, choice: Choice, option: Option, part: Part) -> PricedPart:
    """The price that the selection names for all of the option's parts on application."""
    for price in build.selection.named_prices:
        if price.line == f"{choice.id}={option.id}":
            return PricedPart(
                part, Money(price.amount, build.catalogue.currency), named_by=price.by
            )
    raise _Open(part.note or "price on application")


def _part(build: Resolved, option: Option, part: Part, quantity: int) -> PricedPart:
    currency = build.catalogue.currency
    match part.kind:
        case "table":
            return PricedPart(part, Money(table_cell(build, part), currency))
        case "measure":
            assert part.rate is not None
            size, unit = measure(build, part.of)
            return PricedPart(part, Money(part.rate, currency) * size, size, unit)
        case "labour":
            assert part.hours is not None
            hourly = Money(dict(build.catalogue.labour)[part.trade], currency)
            worked = hourly * part.hours
            if part.minimum is not None:
                worked = max(worked, Money(part.minimum, currency))
            return PricedPart(part, worked)
        case "breaks":
            reached = max(
                (step for step in part.steps if step.first <= quantity), key=lambda s: s.first
            )
            return PricedPart(part, Money(reached.each, currency), Decimal(reached.first))
        case "markup":
            assert part.amount is not None
            amount = Money(part.amount, currency)
            if build.catalogue.tax.included:
                rates = dict(build.catalogue.tax.rates)
                amount *= 1 + rates[option.tax or build.catalogue.tax.rates[0][0]] / 100
            return PricedPart(part, amount)
        case "credit":
            return _credit(build, part, quantity)
        case _:
            assert part.amount is not None
            return PricedPart(part, Money(part.amount, currency))


def _credit(build: Resolved, part: Part, quantity: int) -> PricedPart:
    """Less what the replaced option would cost here, in the same quantity."""
    choice_id, _, option_id = part.replaces.partition("=")
    choice = build.catalogue.by_id[choice_id]
    replaced = option_price(build, choice, choice.by_id[option_id], quantity)
    if replaced.each is None:
        raise _Open(f"{replaced.title}, which it replaces, {replaced.why_open}")
    percent = Decimal(100) if part.percent is None else part.percent
    return PricedPart(part, -(replaced.each * (percent / 100)))


def _note(catalogue: Catalogue, priced: PricedPart) -> str:
    """What the customer reads about the part: the catalogue's words, or plain arithmetic."""
    part = priced.part
    if part.note:
        return part.note if part.kind != "on-application" else ""
    if part.kind == "measure" and priced.size is not None:
        return f"{round_to(priced.size, 2)} {priced.unit} at {part.rate}"
    if part.kind == "labour":
        return f"{part.hours} h {part.trade}"
    if part.kind == "breaks" and priced.size != 1:
        return f"price for {priced.size} or more"
    if part.kind == "credit":
        choice, _, option = part.replaces.partition("=")
        share = "" if part.percent in (None, 100) else f"{part.percent} percent of "
        return f"less {share}{catalogue.option(choice, option).title}"
    return ""
