"""Open quotes priced and checked under the current catalogue, as values."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

from attrs import frozen

from configurator.answers.register import ChangedLine
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.catalogue.shop import ShopDetails
from configurator.errors import Problem
from configurator.findings import Finding
from configurator.money import Money
from configurator.shapes.forms import form

UNCHANGED, CHANGED, PRICED = "unchanged", "changed", "priced"
STOPPED, NOT_UNDERSTOOD, UNREADABLE = "stopped", "not-understood", "unreadable"
OF_ANOTHER = "of-another-catalogue"

_OUTCOMES = (NOT_UNDERSTOOD, UNREADABLE, STOPPED, OF_ANOTHER, CHANGED, PRICED, UNCHANGED)
"""What may become of a quote, the most serious first."""

PRICE = "price"
"""The kind of a cause that is a line of another price."""


@form(keys={"is_now": "now", "is_from": "from"}, values={"outcome": _OUTCOMES})
@frozen(repr=False)
class Requoted:
    """What became of one open quote under the catalogue as it is now.

    Attributes:
        quote: its number, or the name of its file.
        revision: which; 0 for a file.
        customer: their name, or empty.
        title: name of the package, or empty.
        outcome: ``unchanged``; ``changed`` in price; ``priced``, where what it was is not known;
            ``stopped`` by findings; ``not-understood``, as what was picked is gone;
            ``of-another-catalogue``, which is left out; or ``unreadable``.
        was: total with tax, as quoted; None where that is not known.
        is_now: total with tax, at the prices that count now; None where there is none.
        is_from: whether that leaves a price open.
        changed: the lines that are not what they were; they add up to the difference.
        stops: the findings that stop a quote.
        problems: what keeps it from being understood or read.
    """

    quote: str
    revision: int = 0
    customer: str = ""
    title: str = ""
    outcome: str = UNREADABLE
    was: Money | None = None
    is_now: Money | None = None
    is_from: bool = False
    changed: tuple[ChangedLine, ...] = ()
    stops: tuple[Finding, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def difference(self) -> Money | None:
        """What it comes to more now; None where one of both is not known."""
        return None if self.was is None or self.is_now is None else self.is_now - self.was

    @property
    def goes(self) -> bool:
        """Whether it could be issued again as it is."""
        return self.outcome in (UNCHANGED, CHANGED, PRICED)


@form()
@frozen(repr=False)
class Cause:
    """Why quotes are not what they were: one option, rule, limit or name.

    Attributes:
        kind: ``price`` for a line that costs something else, or the code of what stops it.
        subject: ``choice=option``, the id of a rule or limit, or what is not known any more.
        title: what people read.
        quotes: how many quotes it is in.
        difference: what it makes of their totals, all together; None where it stops them.
    """

    kind: str
    subject: str
    title: str
    quotes: int
    difference: Money | None


@form("requote", hidden="shop from_folder", keys={"is_now": "now"})
@frozen(repr=False)
class RequoteAnswer:
    """Every open quote under the catalogue as it is now.

    Attributes:
        day: whose prices count, an ISO date.
        catalogue: id of the catalogue.
        catalogue_digest: SHA-256 of its text.
        currency: ISO 4217 code of every amount.
        unchanged: how many quotes cost what they did and could be issued.
        changed: how many could be issued at another price.
        priced: how many could be issued, and nobody knows what they were.
        stopped: how many findings stop.
        not_understood: how many have picks that the catalogue does not know any more.
        of_another_catalogue: how many were quoted from another catalogue, and are left out.
        unreadable: how many cannot be read.
        was: total of the changed quotes, as quoted.
        is_now: total of the same at the prices that count now.
        causes: why, what is in most quotes first.
        quotes: each of them, in the order in which they were issued or of their files' names; on a
            paper only those that matter most, the most serious first.
        shop: whose quotes.
        left_out: how many of them are not listed.
        from_folder: they are files in a folder, selections among them.
    """

    day: str
    catalogue: str
    catalogue_digest: str
    currency: str
    unchanged: int
    changed: int
    priced: int
    stopped: int
    not_understood: int
    of_another_catalogue: int
    unreadable: int
    was: Money
    is_now: Money
    causes: tuple[Cause, ...]
    quotes: tuple[Requoted, ...]
    shop: ShopDetails
    left_out: int = 0
    from_folder: bool = False

    @property
    def count(self) -> int:
        """How many quotes there are."""
        goes = self.unchanged + self.changed + self.priced
        left_out = self.of_another_catalogue
        return goes + self.stopped + self.not_understood + left_out + self.unreadable

    @property
    def all_go(self) -> bool:
        """Whether each of them could be issued again, of those quoted from this catalogue."""
        return not (self.stopped or self.not_understood or self.unreadable)


class Tally:
    """Counts quotes one by one, and keeps only the few that are shown.

    Args:
        catalogue: as it is now.
        most: how many quotes are kept, the most serious of those that are not what they were.
        from_folder: whether they are files in a folder.
    """

    def __init__(self, catalogue: Catalogue, most: int, from_folder: bool = False) -> None:
        self._catalogue, self._most, self._from_folder = catalogue, most, from_folder
        self._outcomes, self._quotes = Counter[str](), Counter[tuple[str, str]]()
        self._titles: dict[tuple[str, str], str] = {}
        self._differences: dict[tuple[str, str], Money] = {}
        self._was = self._now = Money.zero(catalogue.currency)
        self._kept: list[tuple[tuple[int, Decimal, int], Requoted]] = []

    def add(self, one: Requoted) -> None:
        """Count one more quote."""
        self._outcomes[one.outcome] += 1
        if one.outcome == CHANGED and one.was is not None and one.is_now is not None:
            self._was, self._now = self._was + one.was, self._now + one.is_now
        causes = {}
        for line in one.changed if one.goes else ():
            causes[PRICE, line.line] = line.title
            before = self._differences.get((PRICE, line.line), Money.zero(self._was.currency))
            self._differences[PRICE, line.line] = before + line.difference
        for stop in one.stops:
            causes[stop.code, stop.subject] = self._title(stop)
        for problem in one.problems if one.outcome == NOT_UNDERSTOOD else ():
            causes[problem.code, problem.sentence] = problem.sentence
        self._quotes.update(causes.keys())
        self._titles = causes | self._titles
        if one.outcome != UNCHANGED:
            size = Decimal(0) if one.difference is None else -abs(one.difference.amount)
            place = (_OUTCOMES.index(one.outcome), size, self._outcomes.total())
            self._kept.append((place, one))
        if len(self._kept) > 2 * self._most:
            self._kept = self._shown()

    def _shown(self) -> list[tuple[tuple[int, Decimal, int], Requoted]]:
        return sorted(self._kept, key=lambda kept: kept[0])[: self._most]

    def _title(self, stop: Finding) -> str:
        """What the finding is about, whatever its figures are in this quote."""
        if stop.code == "limit":
            return next(li.title for li in self._catalogue.limits if li.id == stop.about)
        if isinstance(stop.about, Pick) and stop.about.option:
            return self._catalogue.option(*stop.about.key).title
        return stop.sentence

    def answer(self) -> RequoteAnswer:
        """What was counted, with the quotes that were kept."""
        causes = (
            Cause(*key, self._titles[key], count, self._differences.get(key))
            for key, count in self._quotes.items()
        )
        shown = tuple(one for _, one in self._shown())
        counts = self._outcomes
        return RequoteAnswer(
            day=self._catalogue.price_day,
            catalogue=self._catalogue.id,
            catalogue_digest=self._catalogue.digest,
            currency=self._catalogue.currency,
            unchanged=counts[UNCHANGED],
            changed=counts[CHANGED],
            priced=counts[PRICED],
            stopped=counts[STOPPED],
            not_understood=counts[NOT_UNDERSTOOD],
            of_another_catalogue=counts[OF_ANOTHER],
            unreadable=counts[UNREADABLE],
            was=self._was,
            is_now=self._now,
            causes=tuple(sorted(causes, key=lambda c: (-c.quotes, c.kind, c.subject))),
            quotes=shown,
            shop=self._catalogue.shop,
            left_out=counts.total() - len(shown),
            from_folder=self._from_folder,
        )
