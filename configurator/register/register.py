"""The register: a quote is issued once, never changed, and found again with the paper it was.

Whatever writes does so in one transaction, with a step in the trail; each step carries the digest
of the step before.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import attrs
import sqlalchemy as sa
from attrs import frozen

from configurator.answers.data import to_data, to_json
from configurator.answers.register import (
    ACCEPTED,
    DECLINED,
    DRAFT,
    ISSUED,
    LAPSED,
    REPLACED,
    WITHDRAWN,
    KeptQuote,
    KeptRevision,
    QuoteEntry,
    QuoteList,
    QuoteRecord,
    QuoteResults,
    TrailStep,
    changed_lines,
)
from configurator.errors import ConfiguratorError, RegisterError
from configurator.register import keeping
from configurator.register.database import Database
from configurator.register.results import results
from configurator.register.rows import (
    DRAFT_NAME,
    Row,
    Writing,
    altered_parts,
    content_digest,
    draft_name,
    entry_of,
    money_of,
    quote_row,
    require_move,
)
from configurator.register.tables import PAPERS, QUOTES, REVISIONS, TRAIL
from configurator.register.words import having_words
from configurator.render.writing import write_as
from configurator.report.quote import Quote
from configurator.selection.picks import Revision
from configurator.selection.values import require_kind


@frozen(eq=False, repr=False)
class Register:
    """The quotes that a shop has issued. Close it, or use it in a ``with``.

    What writes keeps all of its work or nothing, and waits while another desk writes. Each method
    that writes raises :class:`FileError` where the register cannot be written, and
    :class:`ConfiguratorError` where seller or reason is empty; each that takes a number raises
    :class:`RegisterError` where there is no such quote.

    Attributes:
        database: where they are kept.
        paper: makes a quote's PDF.
        clock: tells the time, with its zone; its day is the one that it is here.
    """

    database: Database
    paper: Callable[[Quote], bytes]
    clock: Callable[[], dt.datetime]

    def __repr__(self) -> str:
        return f"Register({self.database.name!r})"

    def __enter__(self) -> Register:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the register's database.

        Example:
            >>> register.close()
        """
        self.database.close()

    def issue(
        self, quote: Quote, *, seller: str, series: str = "", draft: str = "", replaces: str = ""
    ) -> KeptQuote:
        """Give the quote the next number of its series, and keep it with its PDF.

        Number, quote, PDF and trail are kept together or not at all, and no number is skipped.

        Args:
            quote: with any number, which is not used.
            seller: who issues it.
            series: what stands before its number; the catalogue's by default.
            draft: the name of the draft that it comes from, if any.
            replaces: the number of the quote that it replaces, if any.

        Raises:
            ConfiguratorError: the series cannot be part of a number.
            RegisterError: what it comes from is no draft, or the other cannot be replaced any more.

        Example:
            >>> register.issue(taller.quote("DRAFT", shop.day), seller="Ann").number
            'Q-3'
        """
        require_kind("quote", quote, Quote)
        series = series or quote.shop.series
        if not re.fullmatch(SERIES_PATTERN, series) or series.startswith(DRAFT_NAME):
            raise ConfiguratorError(
                f"{series!r} cannot be a series: use 1 to 20 letters, digits and any of _ . / - "
                f"or a space, ending in a letter or a sign, and not beginning with {DRAFT_NAME}"
            )
        with self._writing(seller) as writing:
            number = writing.drawn(series)
            row = writing.new()
            if draft:
                row = writing.row(draft)
                if row["status"] != DRAFT:
                    raise RegisterError(f"quote {draft} is {row['status']}, and no draft")
            selection = attrs.evolve(quote.selection, revision=None, revisions=())
            quote = attrs.evolve(quote, number=number, selection=selection)
            kept = writing.keep(quote, row, ISSUED, self.paper(quote))
            if replaces:
                writing.move(writing.row(replaces), REPLACED, f"replaced by {number}")
        return kept

    def keep(self, quote: Quote, *, seller: str) -> KeptQuote:
        """Keep a draft, which has no number and no PDF yet.

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

        Args:
            number: of the quote.
            quote: what it says now.
            seller: who issues it.
            reason: what changed, as part of a sentence; it is printed on the quote.

        Raises:
            RegisterError: it is a draft, or cannot be revised any more.

        Example:
            >>> other = taller.quote("DRAFT", shop.day)
            >>> register.revise("Q-1", other, seller="Ann", reason="as agreed").revision
            2
        """
        require_kind("quote", quote, Quote)
        with self._writing(seller, reason) as writing:
            return self._revised(writing, number, quote, reason)

    def accept(self, number: str, *, seller: str, reason: str, quote: Quote | None = None) -> None:
        """Keep that the customer has accepted, as quoted or with add-ons taken up.

        Args:
            number: of the quote.
            seller: who took the acceptance.
            reason: how it was accepted, such as "signed at the counter".
            quote: with the add-ons that were taken up, which makes it a revision first.

        Raises:
            RegisterError: it cannot be accepted any more, or a line other than an add-on, a deal
                or an adjustment is not what was quoted.

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

        Example:
            >>> register.forget("Q-1", seller="Ann", reason="asked for by letter")
        """
        with self._writing(seller, reason) as writing:
            writing.forget(quote_row(writing.to, number), reason)
        self.database.settle()

    def lapse(self) -> int:
        """Write into the trail which issued quotes are valid no longer, and tell how many.

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

    def list(
        self,
        *,
        status: str = "",
        seller: str = "",
        lapses_within: int | None = None,
        most: int = 1000,
    ) -> tuple[QuoteEntry, ...]:
        """The quotes, the newest first.

        Args:
            status: only those of this status.
            seller: only those of this seller.
            lapses_within: only those issued that stand no longer than so many days from now, to be
                followed up; the next to lapse first.
            most: at most so many.

        Example:
            >>> [quote.number for quote in register.list(status="issued")]
            ['Q-2', 'Q-1']
        """
        today, until = self._today, QUOTES.c.valid_until
        stands = sa.and_(QUOTES.c.status == ISSUED, until >= today)
        over = sa.and_(QUOTES.c.status == ISSUED, until < today)
        asked = sa.select(QUOTES)
        if status:
            same = QUOTES.c.status == status
            asked = asked.where({ISSUED: stands, LAPSED: sa.or_(same, over)}.get(status, same))
        if seller:
            asked = asked.where(QUOTES.c.seller == seller if seller.isprintable() else sa.false())
        if lapses_within is not None:
            days = dt.timedelta(days=min(lapses_within, _FAR))
            last = (self.clock().date() + days).isoformat()
            asked = asked.where(stands, until <= last).order_by(until)
        return self._entries(asked.order_by(QUOTES.c.id.desc()).limit(most))

    def find(self, query: str, *, most: int = 50) -> tuple[QuoteEntry, ...]:
        """The quotes that have every word of the query, or words that begin with them.

        Words are looked for in number, customer, telephone, e-mail, title, vehicle and seller;
        case and accents do not matter.

        Args:
            query: some words.
            most: at most so many quotes.

        Example:
            >>> len(register.find("weekends fridge"))
            2
        """
        wanted = having_words(query, on_server=self.database.path is None)
        return self._entries(
            sa.select(QUOTES).where(wanted).order_by(QUOTES.c.id.desc()).limit(most)
        )

    def show(self, number: str) -> QuoteRecord:
        """Everything that is kept of a quote, and what each revision changed.

        Args:
            number: of the quote, or the name of a draft.

        Example:
            >>> register.show("Q-1").trail[0].event
            'issued'
        """
        with self.database.reading() as at:
            row = quote_row(at, number)
            kept = (
                sa.select(REVISIONS, PAPERS.c.answer, PAPERS.c.deleted)
                .join(PAPERS)
                .where(REVISIONS.c.quote == row["id"])
                .order_by(REVISIONS.c.revision)
            )
            steps = sa.select(TRAIL).where(TRAIL.c.quote == row["id"]).order_by(TRAIL.c.id)
            revisions = at.execute(kept).mappings().all()
            trail = tuple(
                TrailStep(*(step[field.name] for field in attrs.fields(TrailStep)))
                for step in at.execute(steps).mappings()
            )
        answers = [_answer_of(revision) for revision in revisions]
        names = [f.name for f in attrs.fields(KeptRevision) if f.name not in ("total", "changed")]
        return QuoteRecord(
            entry_of(row, self._today),
            tuple(
                KeptRevision(
                    **{name: revision[name] for name in names},
                    total=money_of(revision),
                    changed=changed_lines(before, answer) if before and answer else (),
                )
                for revision, before, answer in zip(
                    revisions, [{}, *answers], answers, strict=False
                )
            ),
            trail,
        )

    def open(self, number: str, revision: int | None = None) -> KeptQuote:
        """The content of a revision, the latest by default: its selection, its answer, its PDF.

        Args:
            number: of the quote, or the name of a draft.
            revision: which; None for the latest.

        Raises:
            RegisterError: there is no such revision, or its content was deleted.

        Example:
            >>> register.open("Q-1").priced(taller.price()).changed
            ()
        """
        with self.database.reading() as at:
            return self._kept(at, number, revision)

    def results(
        self, currency: str, *, first: dt.date | None = None, last: dt.date | None = None
    ) -> QuoteResults:
        """What was won and lost, by the month in which it was decided and by the reason given.

        Each quote counts once, as it is now: a quote that lapsed, in the month of its last day.

        Args:
            currency: only quotes in it count.
            first: the first day that counts, None for all.
            last: the last one, None for all.

        Example:
            >>> register.results("AUD").months[0].issued
            2
        """
        return results(self.database, currency, self.clock(), first, last)

    def check(self) -> tuple[str, ...]:
        """What in the register is not what was written: the first of it, or nothing.

        Example:
            >>> register.check()
            ()
        """
        return keeping.check(self.database)

    def export(self, path: Path | str) -> int:
        """Write the list of all quotes, and tell how many: .csv for a spreadsheet, or .json.

        Args:
            path: the file.

        Raises:
            ConfiguratorError: the name of the file asks for something else.
            FileError: it cannot be written.

        Example:
            >>> register.export("quotes.csv")
            2
        """
        found = self.list(most=_ALL)
        write_as(
            Path(path),
            {
                ".csv": lambda: keeping.as_csv(found).encode("utf-8-sig"),
                ".json": lambda: to_json(QuoteList(found)).encode(),
            },
        )
        return len(found)

    def backup(self, path: Path | str) -> None:
        """Copy the register, as it is at one moment, into a new file; others may go on writing.

        Args:
            path: the new file.

        Raises:
            FileError: the file is there already or cannot be written, or the copy does not fit.

        Example:
            >>> register.backup("copy.sqlite")
        """
        keeping.backup(self.database, Path(path))

    def move(self, address: str) -> str:
        """Move the register to another address without one, and tell how that is called.

        This one can still be read, and refuses whatever would write to it.

        Args:
            address: as for :meth:`Shop.register`.

        Raises:
            ConfiguratorError: the address is of another kind.
            RegisterError: there are quotes already.

        Example:
            >>> register.move("other.sqlite")
            'other.sqlite'
        """
        return keeping.move(self.database, address)

    @contextmanager
    def _writing(self, seller: str, reason: str | None = None) -> Iterator[Writing]:
        for what, said in (("seller", seller), ("reason", reason)):
            if said is not None and not said.strip():
                raise ConfiguratorError(f"the {what} is empty: the register keeps it")
            if said is not None and (len(said) > _LONGEST[what] or not said.isprintable()):
                raise ConfiguratorError(
                    f"the {what} must be one line of at most {_LONGEST[what]} letters"
                )
        with self.database.writing() as to:
            yield Writing(to, seller, self.clock())

    def _kept(self, at: sa.Connection, number: str, revision: int | None) -> KeptQuote:
        row = quote_row(at, number)
        which = row["revision"] if revision is None else revision
        asked = (
            sa.select(PAPERS, REVISIONS)
            .join(REVISIONS)
            .where(PAPERS.c.quote == row["id"], PAPERS.c.revision == which)
        )
        kept = at.execute(asked).mappings().first()
        if kept is None:
            raise RegisterError(f"quote {number} has no revision {which}")
        if kept["deleted"]:
            raise RegisterError(
                f"quote {number}: its content was deleted at the customer's request; its number "
                "and prices are kept"
            )
        for part in altered_parts(kept, kept):
            raise RegisterError(
                f"quote {number}, revision {which}: its {part} is not what was kept: see register "
                "check, and go back to a backup"
            )
        answer = json.loads(kept["answer"])
        return KeptQuote(number, which, kept["selection"], answer, kept["pdf"])

    def _require_quoted_prices(self, writing: Writing, number: str, quote: Quote) -> None:
        """Refuse add-ons that come with other prices than those that the customer has seen."""
        row = writing.row(number)
        if row["status"] != ACCEPTED:  # who has accepted may still take up more
            require_move(row, ACCEPTED)
        before = self._kept(writing.to, number, row["revision"]).answer
        added = ("add-on=", "deal ", "adjustment ")
        for line in changed_lines(before, to_data(quote)):
            if not line.line.startswith(added):
                was, now = line.was or "not quoted", line.is_now or "left out"
                raise RegisterError(
                    f"quote {number}: {line.title} was {was}, and is {now}: revise the quote and "
                    "have the customer accept that"
                )

    def _revised(self, writing: Writing, number: str, quote: Quote, reason: str) -> KeptQuote:
        row = writing.row(number)
        if row["status"] == DRAFT:
            raise RegisterError(f"{number} is a draft: issue it first")
        require_move(row, ISSUED)
        revision = row["revision"] + 1
        history = (*writing.history(row), Revision(revision, quote.date.isoformat(), reason))
        selection = attrs.evolve(quote.selection, revision=revision, revisions=history)
        quote = attrs.evolve(quote, number=row["number"], selection=selection)
        return writing.keep(quote, row, "revised", self.paper(quote), reason)

    def _entries(self, asked: sa.Select[Any]) -> tuple[QuoteEntry, ...]:
        with self.database.reading() as at:
            return tuple(entry_of(row, self._today) for row in at.execute(asked).mappings())

    @property
    def _today(self) -> str:
        return self.clock().date().isoformat()


def _answer_of(revision: Row) -> Any:
    """What a revision said; nothing where it was deleted or altered, which ``check`` tells."""
    whole = content_digest(revision["answer"].encode()) == revision["answer_digest"]
    return json.loads(revision["answer"]) if whole else {}


SERIES_PATTERN = r"(?=.{1,20}$)[A-Za-z0-9 _./-]*[A-Za-z_./-]"
"""What stands before a number. The first of a series Q1 would be called as the eleventh of Q."""

_ALL = 10_000_000
_FAR = 36_525  # days, beyond which no quote is valid
_LONGEST = {"seller": 120, "reason": 300}
