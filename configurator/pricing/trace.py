"""Where every figure of a price comes from: catalogue place, arithmetic, and what changed it."""

from __future__ import annotations

from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Part
from configurator.errors import Location
from configurator.forms import Row, form
from configurator.money import Money
from configurator.pricing.lines import Line, PricedPart
from configurator.pricing.whole import Price
from configurator.selection.resolved import Resolved
from configurator.words import plain

__all__ = ["TracedLine", "TracedPart", "trace"]


def _exact(money: Money) -> str:
    return f"{money.amount:f}"


@form()
@frozen
class LineChange(Row):
    """What a deal, an adjustment or rounding did to a line."""

    title: str
    amount: Money


@form(shown={"amount": _exact})
@frozen
class TracedPart:
    """One part of a price for one: where it stands, its arithmetic in words, what it comes to.

    What the shop pays and adds is not in the words: a trace may be shown to a customer.
    """

    at: Location
    words: str
    amount: Money


@form(inline="line", also="at")
@frozen
class TracedLine:
    """How one line came about.

    Attributes:
        line: the line; its ``at`` is where the catalogue has the option.
        group: title of its group.
        parts: what each is made of, exact; each is their sum, rounded half up.
        changes: title and amount of what deals, adjustments and rounding did to it.
        left: what is left of it after them, which is what its tax is worked out on.
        percent: its tax rate.
    """

    line: Line
    group: str
    parts: tuple[TracedPart, ...]
    changes: tuple[LineChange, ...]
    left: Money | None
    percent: Decimal

    @property
    def at(self) -> Location:
        """Where the catalogue has the option."""
        return self.line.at


def trace(build: Resolved, priced: Price) -> tuple[TracedLine, ...]:
    """The lines of the price of a selection, each with how it came about."""
    percents = dict(build.catalogue.tax.rates)
    traced = []
    for group in priced.groups:
        for line in group.lines:
            changes = tuple(
                LineChange(change.title, change.amount)
                for change in priced.changes
                if (change.choice, change.option) == line.key
            )
            left = line.amount
            for _, amount in changes:
                left = left + amount if left is not None else amount
            parts = tuple(_traced(build, line, part) for part in line.parts)
            percent = percents[line.rate]
            traced.append(TracedLine(line, group.title, parts, changes, left, percent))
    return tuple(traced)


def _traced(build: Resolved, line: Line, priced: PricedPart) -> TracedPart:
    part = priced.part
    words = _words(build, line, priced)
    if part.note and part.kind != "on-application":
        words = f"{part.note}: {words}"
    if part.first or part.until:
        words += f", counts {_span(part)}"
    return TracedPart(part.at, words, priced.amount)


def _words(build: Resolved, line: Line, priced: PricedPart) -> str:
    part = priced.part
    match part.kind:
        case "table":
            looked_up = (
                f"{build.catalogue.by_id[choice].title} {_picked(build, choice)}"
                for choice in part.by
            )
            return f"table by {', '.join(looked_up)}"
        case "measure":
            return f"{priced.size} {priced.unit} of {part.of} at {part.rate}"
        case "labour":
            hourly = dict(build.catalogue.labour)[part.trade]
            least = f", at least {part.minimum}" if part.minimum else ""
            return f"{part.hours} h {part.trade} at {hourly}{least}"
        case "breaks":
            return f"price each from {plain(priced.size or 1)} on"
        case "markup":
            return "supplier's price and the shop's markup"
        case "credit":
            choice, _, option = part.replaces.partition("=")
            share = "" if part.percent in (None, 100) else f"{part.percent} percent of "
            title = build.catalogue.option(choice, option).title
            return f"less {share}{title}, for {line.quantity}"
        case "on-application":
            return f"price on application, named by {priced.named_by or 'the shop'}"
        case _:
            return "amount"


def _picked(build: Resolved, choice: str) -> str:
    picked = build.selection.one(choice)
    return build.catalogue.option(choice, picked).title if picked else "open"


def _span(part: Part) -> str:
    first = f"from {part.first}" if part.first else ""
    until = f"until {part.until}" if part.until else ""
    return " ".join(filter(None, (first, until)))
