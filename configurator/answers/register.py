"""What a register answers with: quotes as they stand, what happened to them, what changed."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from attrs import field, frozen

from configurator.answers.data import to_data
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON
from configurator.errors import ConfiguratorError
from configurator.money import Money
from configurator.pricing.price import Price
from configurator.shapes.forms import form
from configurator.words import text

DRAFT, ISSUED, ACCEPTED = "draft", "issued", "accepted"
DECLINED, LAPSED, WITHDRAWN, REPLACED = "declined", "lapsed", "withdrawn", "replaced"

DELETED = "deleted"
"""What the trail calls it when a customer's data was deleted; the status stays."""

MOVES: Mapping[str, frozenset[str]] = {
    "": frozenset({DRAFT, ISSUED}),
    DRAFT: frozenset({ISSUED, WITHDRAWN}),
    ISSUED: frozenset({ISSUED, ACCEPTED, DECLINED, LAPSED, WITHDRAWN, REPLACED}),
    ACCEPTED: frozenset({ISSUED, WITHDRAWN, REPLACED}),
    DECLINED: frozenset({ISSUED, REPLACED}),
    LAPSED: frozenset({ISSUED, DECLINED, WITHDRAWN, REPLACED}),
    WITHDRAWN: frozenset(),
    REPLACED: frozenset(),
}
"""From which status a quote may go to which. A revision issues it anew."""

STATUSES = tuple(MOVES)[1:]


def require_status(status: str) -> None:
    """Raise unless quotes can have the status; empty is for any.

    Raises:
        ConfiguratorError: there is no such status.
    """
    if status not in ("", *STATUSES):
        known = {"status": status, "known": ", ".join(STATUSES)}
        raise ConfiguratorError(text('no quote is "{status}"; give one of {known}', **known))


@form(values={"status": STATUSES})
@frozen
class QuoteEntry:
    """A quote as it stands.

    Attributes:
        number: its number; of a draft ``draft-`` and a figure.
        status: one of ``draft issued accepted declined lapsed withdrawn replaced``.
        revision: the latest; 0 for a draft.
        seller: who issued the latest.
        customer: their name; empty once it was deleted on request, and so are
        phone: their telephone number,
        email: their e-mail address, and
        title: the name of the package.
        vehicle: the class of vehicle.
        total: with tax.
        issued: day on which the latest revision was issued, an ISO date.
        valid_until: last day on which it stands, an ISO date.
    """

    number: str
    status: str
    revision: int
    seller: str
    customer: str
    phone: str
    email: str
    title: str
    vehicle: str
    total: Money
    issued: str
    valid_until: str


@form("register-list")
@frozen
class QuoteList:
    """Quotes, the newest first.

    Attributes:
        quotes: as they stand.
    """

    quotes: tuple[QuoteEntry, ...]


LINE, DEAL, ADJUSTMENT, REST = "line", "deal", "adjustment", "rest"


@form(
    hidden="about",
    also="line",
    keys={"is_now": "now"},
    values={"kind": (LINE, DEAL, ADJUSTMENT, REST)},
)
@frozen
class ChangedLine:
    """A line of a quote that is not what it was.

    Attributes:
        kind: ``line``, ``deal`` or ``adjustment``; ``rest`` for what is in no line, which is tax
            that is added, and rounding.
        about: what is picked; of a deal its id, of an adjustment its title.
        title: its title.
        was: what it came to; None where it was not there.
        is_now: what it comes to; None where it is not there any more.
    """

    kind: str
    about: Pick | str
    title: str
    was: Money | None
    is_now: Money | None

    @property
    def line(self) -> str:
        """What is picked, as ``choice=option``; ``deal`` or ``adjustment`` and which; ``rest``."""
        return str(self.about) if self.kind == LINE else f"{self.kind} {self.about}".strip()

    @property
    def is_quoted(self) -> bool:
        """Whether it is a line that was quoted, and no add-on that may be taken up later."""
        return isinstance(self.about, Pick) and self.about.choice != ADD_ON

    @property
    def difference(self) -> Money:
        """What it makes of the total."""
        now, was = self.is_now, self.was
        if now is None or was is None:
            assert now is not None or was is not None
            return now if now is not None else -was  # type: ignore[operator]
        return now - was


@form()
@frozen
class KeptRevision:
    """One revision as it was issued.

    Attributes:
        revision: which, from 1; 0 for a draft.
        at: when, in UTC.
        seller: who issued it.
        day: day of issue.
        valid_until: last day on which it stands.
        catalogue: id of the catalogue.
        catalogue_digest: SHA-256 of its text.
        total: with tax.
        pdf_digest: SHA-256 of the PDF that the customer has; empty where there is none.
        deleted: whether its content was deleted on request.
        changed: what differs from the revision before.
    """

    revision: int
    at: str
    seller: str
    day: str
    valid_until: str
    catalogue: str
    catalogue_digest: str
    total: Money
    pdf_digest: str
    deleted: bool
    changed: tuple[ChangedLine, ...]


@form()
@frozen
class TrailStep:
    """Something that happened to a quote.

    Attributes:
        at: when, in UTC.
        seller: by whom.
        event: what: the status it went to, ``revised``, or ``deleted`` for its customer's data.
        before: its status before; empty where there was none.
        after: its status then.
        revision: of which revision.
        reason: why.
    """

    at: str
    seller: str
    event: str
    before: str
    after: str
    revision: int
    reason: str

    @property
    def why(self) -> str:
        """The reason, as people are told it: a quote that is issued has but its request's name."""
        return "" if self.event == ISSUED else self.reason


@form("register-quote", inline="entry")
@frozen
class QuoteRecord:
    """Everything that is kept of a quote but for its papers.

    Attributes:
        entry: as it stands.
        revisions: each as it was issued, the first one first.
        trail: everything that happened to it.
    """

    entry: QuoteEntry
    revisions: tuple[KeptRevision, ...]
    trail: tuple[TrailStep, ...]


@form(instead="answer")
@frozen
class KeptQuote:
    """The content of one revision.

    Attributes:
        number: of the quote.
        revision: which.
        selection: what was quoted, as the text of a selection file.
        answer: the quote itself, in the shape of its JSON.
        pdf: the very bytes that the customer has; empty for a draft.
        status: of the quote, on the day it was asked for.
        latest: the quote's latest revision.
        reopened: whether the customer had accepted the revision before, when this one was issued:
            the quote is open again. Told by the call that issues it alone.
    """

    number: str
    revision: int
    selection: str
    answer: Mapping[str, Any]
    pdf: bytes = field(repr=False)
    status: str
    latest: int
    reopened: bool = False

    @property
    def total(self) -> Money:
        """With tax, as quoted."""
        return total_of(self.answer)

    def priced(self, price: Price) -> ReopenedQuote:
        """What it was, and what the same comes to at another price."""
        changed = changed_lines(self.answer, to_data(price))
        return ReopenedQuote(
            self.number,
            self.revision,
            self.status,
            self.latest,
            self.total,
            price.total,
            changed,
        )


@form("register-open", keys={"is_now": "now"}, values={"status": STATUSES})
@frozen
class ReopenedQuote:
    """A quote opened again: what it was, and what the same comes to now.

    Attributes:
        number: of the quote.
        revision: which.
        status: of the quote, one of ``draft issued accepted declined lapsed withdrawn replaced``.
        latest: its latest revision.
        was: total with tax, as quoted.
        is_now: total with tax, at the prices that count now.
        changed: the lines that are not what they were.
    """

    number: str
    revision: int
    status: str
    latest: int
    was: Money
    is_now: Money
    changed: tuple[ChangedLine, ...]


@form()
@frozen
class Outcome:
    """How many quotes ended in the same way, and what they come to.

    Attributes:
        of: a month such as ``2026-08``, or a reason.
        issued: how many were issued first then, or 0 where that is not asked.
        won: how many were accepted.
        lost: how many were declined or lapsed.
        withdrawn: how many the shop withdrew, accepted before or not.
        won_total: what the accepted ones come to.
        lost_total: what the lost ones come to.
        withdrawn_total: what the withdrawn ones come to.
    """

    of: str
    issued: int
    won: int
    lost: int
    withdrawn: int
    won_total: Money
    lost_total: Money
    withdrawn_total: Money


@form("register-results")
@frozen
class QuoteResults:
    """What was won and lost.

    Attributes:
        currency: ISO 4217 code of every amount.
        months: by the month in which it was decided, or in which it was last valid.
        reasons: by the reason given.
    """

    currency: str
    months: tuple[Outcome, ...]
    reasons: tuple[Outcome, ...]


@form("register-check", also="is_whole", keys={"is_whole": "whole"})
@frozen
class RegisterCheck:
    """Whether a register is as it was written.

    Attributes:
        register: what it is called.
        wrong: the first thing that is not; nothing where all is.
    """

    register: str
    wrong: tuple[str, ...]

    @property
    def is_whole(self) -> bool:
        """Whether everything is as it was written."""
        return not self.wrong


_Lines: TypeAlias = dict[tuple[str, Pick | str], tuple[str, Money]]
"""What lines are called and come to, by kind and what they are about."""


def _lines_of(answer: Mapping[str, Any]) -> _Lines:
    """What each line of a quote or price in the shape of its JSON comes to, by what it is."""
    price = answer.get("price", answer)
    currency = price["currency"]
    found: _Lines = {}

    def add(kind: str, about: Pick | str, title: str, amount: str) -> None:
        key = kind, about
        number = Decimal(amount)
        before = found.get(key, (title, Money.zero(currency)))[1]
        found[key] = (title, before + Money(number, currency))

    for group in price["groups"]:
        for line in group["lines"]:
            amount = line.get("amount") or "0"
            add(LINE, Pick(line["choice"], line["option"]), line["title"], amount)
    for deal in price["package-deals"]:
        add(DEAL, deal["deal"], deal["title"], f"-{deal['saving']}")
    for adjustment in price["adjustments"]:
        add(ADJUSTMENT, adjustment["title"], adjustment["title"], adjustment["amount"])
    return found


def changed_lines(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[ChangedLine, ...]:
    """The lines that differ between two quotes or prices in the shape of their JSON.

    They add up to the difference of the totals.
    """
    was, now = _lines_of(before), _lines_of(after)
    changed = []
    for key in dict.fromkeys((*was, *now)):
        one, other = was.get(key), now.get(key)
        if (one and one[1]) != (other and other[1]):
            title = (other or one or ("",))[0]
            changed.append(ChangedLine(*key, title, one and one[1], other and other[1]))
    rests = [_rest(answer, lines) for answer, lines in ((before, was), (after, now))]
    if rests[0] != rests[1]:
        changed.append(ChangedLine(REST, "", text("Tax and rounding"), *rests))
    return tuple(changed)


def total_of(answer: Mapping[str, Any]) -> Money:
    """The total with tax of a quote or price in the shape of its JSON."""
    price = answer.get("price", answer)
    return Money(Decimal(price["total"]), price["currency"])


def _rest(answer: Mapping[str, Any], lines: _Lines) -> Money:
    total = total_of(answer)
    return total - Money.total((amount for _, amount in lines.values()), total.currency)
