"""The register: a quote is issued once, never changed, and found again with the paper it was.

Whatever writes does so in one transaction, with a step in the trail; each step carries the digest
of the step before.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import attrs
import sqlalchemy as sa
from attrs import frozen

from configurator.answers.data import selection_data, to_data, to_json
from configurator.answers.register import (
    ACCEPTED,
    DECLINED,
    DRAFT,
    ISSUED,
    LAPSED,
    REPLACED,
    WITHDRAWN,
    KeptQuote,
    changed_lines,
)
from configurator.errors import AlreadyIssued, ConfiguratorError, NoCustomer, RegisterError
from configurator.register.reading import ReadRegister
from configurator.register.rows import (
    DRAFT_NAME,
    Writing,
    draft_name,
    quote_row,
    require_move,
)
from configurator.register.tables import QUOTES
from configurator.report.quote import Quote
from configurator.selection.dates import Revision
from configurator.selection.picks import Selection
from configurator.selection.values import require_kind
from configurator.words import text


@frozen(eq=False, repr=False)
class Register(ReadRegister):
    """The quotes that a shop has issued. Close it, or use it in a ``with``.

    What writes keeps all of its work or nothing, and waits while another desk writes.

    Attributes:
        database: where they are kept.
        paper: makes a quote's PDF.
        clock: tells the time, with its zone; its day is the one that it is here.
    """

    def issue(
        self,
        quote: Quote,
        *,
        seller: str,
        series: str = "",
        draft: str = "",
        replaces: str = "",
        request: str = "",
    ) -> KeptQuote:
        """Give the quote the next number of its series, and keep it with its PDF.

        Number, quote, PDF and trail are kept together or not at all, and no number is skipped.

        Args:
            quote: with any number, which is not used.
            seller: who issues it.
            series: what stands before its number; the catalogue's by default.
            draft: the name of the draft that it comes from, if any.
            replaces: the number of the quote that it replaces, if any.
            request: a name of this request that no other has, whoever sells: what was issued under
                it before is the answer, and nothing is issued twice. The trail keeps it.

        Raises:
            AlreadyIssued: the name was given to a request for another package, or what was issued
                for it is not as it was.
            ConfiguratorError: the series cannot be part of a number, or the seller is empty, or
                longer than a line.
            FileError: the register cannot be written.
            NoCustomer: it names no customer.
            NoSuchQuote: there is no such draft, or no quote to be replaced.
            RegisterError: what it comes from is no draft, or the other cannot be replaced any more.

        Example:
            >>> register.issue(taller.quote("DRAFT", shop.day), seller="Ann").number
            'Q-3'
        """
        require_kind("quote", quote, Quote)
        require_customer(quote.selection)
        series = series or quote.shop.series
        if not re.fullmatch(_SERIES_PATTERN, series) or series.startswith(DRAFT_NAME):
            raise ConfiguratorError(
                f"{series!r} cannot be a series: use 1 to 20 letters, digits and any of _ . / - "
                f"or a space, ending in a letter or a sign, and not beginning with {DRAFT_NAME}"
            )
        reason = f"request {request}" if request else ""
        with self._writing(seller, reason or None) as writing:
            if reason and (before := writing.issued_for(reason)):
                return self._same(writing, before, quote)
            number = writing.drawn(series)
            row = writing.new()
            if draft:
                row = writing.row(draft)
                if row["status"] != DRAFT:
                    status = text(row["status"])
                    told = text(
                        "quote {number} is {status}, not a draft", number=draft, status=status
                    )
                    raise RegisterError(told)
            selection = attrs.evolve(quote.selection, revision=None, revisions=())
            quote = attrs.evolve(quote, number=number, selection=selection)
            kept = writing.keep(quote, row, ISSUED, self.paper(quote), reason)
            if replaces:
                writing.move(writing.row(replaces), REPLACED, f"replaced by {number}")
        return kept

    def keep(self, quote: Quote, *, seller: str) -> KeptQuote:
        """Keep a draft, which has no number and no PDF yet.

        Args:
            quote: what it says.
            seller: who keeps it.

        Raises:
            ConfiguratorError: the seller is empty, or longer than a line.
            FileError: the register cannot be written.

        Example:
            >>> register.keep(taller.quote("DRAFT", shop.day), seller="Ann").number[:6]
            'draft-'
        """
        require_kind("quote", quote, Quote)
        with self._writing(seller) as writing:
            row = writing.new()
            quote = attrs.evolve(quote, number=draft_name(row["id"]))
            return writing.keep(quote, row, DRAFT, b"")

    def revise(self, number: str, quote: Quote, *, seller: str, reason: str) -> KeptQuote:
        """Issue a quote anew under its number: the next revision.

        One that the customer has accepted is open again, which the answer tells as ``reopened``.

        Args:
            number: of the quote.
            quote: what it says now; the ``revision`` of its selection, where it has one, is the
                one that it comes from.
            seller: who issues it.
            reason: what changed, as part of a sentence; it is printed on the quote.

        Raises:
            ConfiguratorError: seller or reason is empty, or longer than a line.
            FileError: the register cannot be written.
            NoCustomer: it names no customer.
            NoSuchQuote: there is none of that number.
            RegisterError: it is a draft, cannot be revised any more, somebody else has issued a
                revision since that one, or nothing has changed since the latest.

        Example:
            >>> other = taller.change(notes=("As agreed.",)).quote("DRAFT", shop.day)
            >>> register.revise("Q-1", other, seller="Ann", reason="as agreed").revision
            2
        """
        require_kind("quote", quote, Quote)
        require_customer(quote.selection)
        with self._writing(seller, reason) as writing:
            self._require_changed(writing, number, quote)
            return self._revised(writing, number, quote, reason)

    def accept(self, number: str, *, seller: str, reason: str, quote: Quote | None = None) -> None:
        """Keep that the customer has accepted, as quoted or with add-ons taken up.

        Args:
            number: of the quote.
            seller: who took the acceptance.
            reason: how it was accepted, such as "signed at the counter".
            quote: with the add-ons that were taken up, which makes it a revision first.

        Raises:
            ConfiguratorError: seller or reason is empty, or longer than a line.
            FileError: the register cannot be written.
            NoSuchQuote: there is none of that number.
            RegisterError: it cannot be accepted any more, it is accepted with these add-ons
                already, or a line other than an add-on, a deal or an adjustment is not what was
                quoted.

        Example:
            >>> register.accept("Q-1", seller="Ann", reason="signed at the counter")
            >>> register.show("Q-1").entry.status
            'accepted'
        """
        with self._writing(seller, reason) as writing:
            if quote is not None:
                self._require_quoted_prices(writing, number, quote)
                self._revised(writing, number, quote, reason)
            writing.move(writing.row(number), ACCEPTED, reason)

    def decline(self, number: str, *, seller: str, reason: str) -> None:
        """Keep that the customer has declined.

        Args:
            number: of the quote.
            seller: who keeps it.
            reason: why, in one line.

        Raises:
            ConfiguratorError: seller or reason is empty, or longer than a line.
            FileError: the register cannot be written.
            NoSuchQuote: there is none of that number.
            RegisterError: it cannot be declined any more.

        Example:
            >>> register.decline("Q-2", seller="Ann", reason="too dear")
        """
        with self._writing(seller, reason) as writing:
            writing.move(writing.row(number), DECLINED, reason)

    def withdraw(self, number: str, *, seller: str, reason: str) -> None:
        """Keep that the shop has withdrawn it.

        Args:
            number: of the quote.
            seller: who keeps it.
            reason: why, in one line.

        Raises:
            ConfiguratorError: seller or reason is empty, or longer than a line.
            FileError: the register cannot be written.
            NoSuchQuote: there is none of that number.
            RegisterError: it cannot be withdrawn any more.

        Example:
            >>> register.withdraw("Q-2", seller="Ann", reason="no longer made")
        """
        with self._writing(seller, reason) as writing:
            writing.move(writing.row(number), WITHDRAWN, reason)

    def forget(self, number: str, *, seller: str, reason: str) -> None:
        """Delete the customer's personal data from a quote; numbers, sums and trail are kept.

        Of the selection the picks are kept alone; the PDF is replaced by a line that says so.

        Args:
            number: of the quote.
            seller: who keeps it.
            reason: why, in one line.

        Raises:
            ConfiguratorError: seller or reason is empty, or longer than a line.
            NoSuchQuote: there is none of that number.
            FileError: the register cannot be written.

        Example:
            >>> register.forget("Q-1", seller="Ann", reason="asked for by letter")
        """
        with self._writing(seller, reason) as writing:
            writing.forget(quote_row(writing.to, number), reason)
        self.database.settle()

    def lapse(self) -> int:
        """Write into the trail which issued quotes are valid no longer, and tell how many.

        Raises:
            FileError: the register cannot be written.

        Example:
            >>> register.lapse()
            0
        """
        with self._writing("the register") as writing:
            over = sa.select(QUOTES).where(
                QUOTES.c.status == ISSUED, QUOTES.c.valid_until < self._today
            )
            rows = writing.to.execute(over.order_by(QUOTES.c.id)).mappings().all()
            for row in rows:
                writing.lapsed(row)
        return len(rows)

    @contextmanager
    def _writing(self, seller: str, reason: str | None = None) -> Iterator[Writing]:
        require_kind("seller", seller, str)
        for what, said in (("seller", seller), ("reason", reason)):
            if said is None:
                continue
            require_kind(what, said, str)
            if not said.strip():
                raise ConfiguratorError(_EMPTY[what])
            if len(said) > _LONGEST[what] or not said.isprintable():
                raise ConfiguratorError(
                    text(
                        "the {what} must be one line of at most {most} letters",
                        what=_WRITTEN[what],
                        most=_LONGEST[what],
                    )
                )
        with self.database.writing() as to:
            yield Writing(to, seller, self.clock())

    def _same(self, writing: Writing, number: str, quote: Quote) -> KeptQuote:
        """What was issued for a request before.

        Raises:
            AlreadyIssued: it was another one, or has changed since.
        """
        row = writing.row(number)
        if row["status"] not in (ISSUED, LAPSED) or row["revision"] != 1:
            told = text(
                "quote {number} was already issued for this request, and is {status} by now, with "
                "revision {revision}",
                number=number,
                status=text(row["status"]),
                revision=row["revision"],
            )
            raise AlreadyIssued(told, number)
        kept = self._kept(writing.to, number, 1)
        if not _quotes_alike(kept, quote):
            told = text(
                "quote {number} was already issued for this request, with another package",
                number=number,
            )
            raise AlreadyIssued(told, number)
        return kept

    def _require_quoted_prices(self, writing: Writing, number: str, quote: Quote) -> None:
        """Refuse add-ons that come with other prices than those that the customer has seen."""
        row = writing.row(number)
        if row["status"] != ACCEPTED:  # who has accepted may still take up more
            require_move(row, ACCEPTED)
        before = self._kept(writing.to, number, row["revision"]).answer
        changed = changed_lines(before, to_data(quote))
        if row["status"] == ACCEPTED and not changed:
            told = text("quote {number} is accepted already, with these add-ons", number=number)
            raise RegisterError(told)
        for line in changed:
            if line.is_quoted:
                was, now = line.was or text("not quoted"), line.is_now or text("left out")
                told = text(
                    "quote {number}: {line} was {was}, and is {now}: revise the quote and have "
                    "the customer accept that",
                    number=number, line=line.title, was=was, now=now,
                )  # fmt: skip
                raise RegisterError(told)

    def _require_changed(self, writing: Writing, number: str, quote: Quote) -> None:
        """Refuse a revision that would say what the latest says, while that one stands.

        Where that one cannot be read any more, such as after its data was deleted, nothing is
        known of it and the revision is taken.
        """
        row, comes_from = writing.row(number), quote.selection.revision
        if row["status"] not in (ISSUED, ACCEPTED) or comes_from not in (None, row["revision"]):
            return
        try:
            before = self._kept(writing.to, number, row["revision"])
        except RegisterError:
            return
        answer = to_data(quote)
        days = [[one[day] for day in ("date", "valid-until")] for one in (before.answer, answer)]
        if days[0] != days[1] or changed_lines(before.answer, answer):
            return
        if _quotes_alike(before, quote):
            told = text(
                "quote {number}: nothing has changed since revision {revision}",
                number=number,
                revision=row["revision"],
            )
            raise RegisterError(told)

    def _revised(self, writing: Writing, number: str, quote: Quote, reason: str) -> KeptQuote:
        row = writing.row(number)
        if row["status"] == DRAFT:
            raise RegisterError(text("{number} is a draft: issue it first", number=number))
        require_move(row, ISSUED)
        comes_from = quote.selection.revision
        if comes_from is not None and comes_from != row["revision"]:
            said = text(
                "quote {number}: {seller} issued revision {revision} on {day}, after revision "
                "{before} that this comes from: open it again and change that",
                number=number, seller=row["seller"], revision=row["revision"], day=row["issued"],
                before=comes_from,
            )  # fmt: skip
            raise RegisterError(said)
        revision = row["revision"] + 1
        history = (*writing.history(row), Revision(revision, quote.date.isoformat(), reason))
        selection = attrs.evolve(quote.selection, revision=revision, revisions=history)
        quote = attrs.evolve(quote, number=row["number"], selection=selection)
        kept = writing.keep(quote, row, "revised", self.paper(quote), reason)
        return attrs.evolve(kept, reopened=row["status"] == ACCEPTED)


def _quotes_alike(kept: KeptQuote, quote: Quote) -> bool:
    """Whether both have the same selection, whichever revision each is of."""

    def quoted(selection: str) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(selection)
        return {key: value for key, value in told.items() if key not in ("revision", "revisions")}

    return quoted(kept.selection) == quoted(to_json(selection_data(quote.selection)))


def require_customer(selection: Selection) -> None:
    """Refuse a quote of which nobody could say who signs it.

    Raises:
        NoCustomer: it names no customer.
    """
    customer = selection.customer
    if customer is None or not customer.name.strip():
        raise NoCustomer(
            text(
                "the quote names no customer: one that is issued is for somebody to sign; give "
                "--customer NAME, or customer: {{name: ...}} in the selection, or keep a draft "
                "with: configurator register keep SELECTION"
            )
        )


_SERIES_PATTERN = r"(?=.{1,20}$)[A-Za-z0-9 _./-]*[A-Za-z_./-]"
"""What stands before a number. The first of a series Q1 would be called as the eleventh of Q."""

_LONGEST = {"seller": 120, "reason": 300}

_EMPTY = {
    "seller": text("the seller is empty: the register keeps it"),
    "reason": text("the reason is empty: the register keeps it"),
}
_WRITTEN = {"seller": text("seller"), "reason": text("reason")}
