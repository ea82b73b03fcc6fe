"""The register: a quote is issued once, never changed, and found again with the paper it was.

Whatever writes does so in one transaction, with a row of the trail; each row of the trail carries
the digest of the row before. The clock is asked by the caller.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Mapping
from typing import Any

import attrs
import sqlalchemy as sa
from attrs import frozen

from configurator.answers.data import selection_data, to_data, to_json
from configurator.errors import ConfiguratorError
from configurator.register.database import Database
from configurator.register.rows import (
    DRAFT_NAME,
    RegisterError,
    drawn,
    entry_of,
    keep_revision,
    let_lapse,
    money_of,
    next_id,
    quote_row,
    require_move,
    require_said,
    tell,
    total_of,
)
from configurator.register.tables import PAPERS, QUOTES, REVISIONS, TRAIL
from configurator.register.values import (
    ACCEPTED,
    DECLINED,
    DRAFT,
    ISSUED,
    LAPSED,
    REPLACED,
    WITHDRAWN,
    Entry,
    Kept,
    KeptRevision,
    Record,
    Step,
    changed_lines,
)
from configurator.register.words import asked_words, words_of
from configurator.report.quote import Quote
from configurator.selection.picks import Customer, Revision

_NOBODY = Customer("")


@frozen(eq=False)
class Register:
    """The quotes of a shop.

    Attributes:
        database: where they are kept.
        paper: makes a quote's PDF.
    """

    database: Database
    paper: Callable[[Quote], bytes]

    def issue(
        self,
        quote: Quote,
        *,
        seller: str,
        now: dt.datetime,
        series: str = "Q-",
        draft: str = "",
        replaces: str = "",
    ) -> Kept:
        """Give the quote the next number of its series, and keep it with its PDF.

        Number, quote, PDF and trail are kept together or not at all, and no number is skipped.

        Args:
            quote: with any number, which is not used.
            seller: who issues it.
            now: the time.
            series: what stands before its number.
            draft: the number of the draft that it comes from, if any.
            replaces: the number of the quote that it replaces, if any.

        Raises:
            ConfiguratorError: there is no seller, or the series cannot be part of a number.
            RegisterError: there is no such draft or quote, or it cannot be replaced any more.
            FileError: the register cannot be written; nothing was kept.
        """
        require_said(seller, "seller")
        if not series or len(series) > 20 or not series.isprintable():
            raise ConfiguratorError(
                f"{series!r} cannot stand before a number: give up to 20 letters, digits and signs"
            )
        with self.database.writing() as to:
            number = f"{series}{drawn(to, series)}"
            if draft:
                row = quote_row(to, draft)
                where, before, revision = row["id"], row["status"], 1
                require_move(draft, before, ISSUED)
            else:
                where, before, revision = next_id(to, QUOTES.c.id), "", 1
            quote = attrs.evolve(quote, number=number)
            kept = self._kept(quote, revision)
            self._put(to, where, quote, number, revision, seller, new=not draft)
            content = keep_revision(to, where, kept, quote, seller, now)
            tell(to, where, now, seller, ISSUED, (before, ISSUED), revision, "", content)
            if replaces:
                self._move(to, replaces, REPLACED, seller, f"replaced by {number}", now)
        return kept

    def keep(self, quote: Quote, *, seller: str, now: dt.datetime) -> Kept:
        """Keep a draft, which has no number and no PDF yet.

        Raises:
            ConfiguratorError: there is no seller.
            FileError: the register cannot be written; nothing was kept.
        """
        require_said(seller, "seller")
        with self.database.writing() as to:
            where = next_id(to, QUOTES.c.id)
            name = f"{DRAFT_NAME}{where}"
            quote = attrs.evolve(quote, number=name)
            kept = Kept(name, 0, to_json(selection_data(quote.selection)), to_data(quote), b"")
            self._put(to, where, quote, None, 0, seller, new=True)
            content = keep_revision(to, where, kept, quote, seller, now)
            tell(to, where, now, seller, DRAFT, ("", DRAFT), 0, "", content)
        return kept

    def revise(
        self, number: str, quote: Quote, *, seller: str, reason: str, now: dt.datetime
    ) -> Kept:
        """Issue a quote anew under its number: the next revision, with what changed.

        Args:
            number: of the quote.
            quote: what it says now.
            seller: who issues it.
            reason: what changed, as part of a sentence; it is printed on the quote.
            now: the time.

        Raises:
            ConfiguratorError: seller or reason is empty.
            RegisterError: there is no such quote, or it cannot be revised any more.
            FileError: the register cannot be written; nothing was kept.
        """
        require_said(seller, "seller")
        require_said(reason, "reason")
        with self.database.writing() as to:
            return self._revised(to, number, quote, seller, reason, now)

    def accept(
        self,
        number: str,
        *,
        seller: str,
        reason: str,
        now: dt.datetime,
        quote: Quote | None = None,
    ) -> None:
        """Keep that the customer has accepted, as quoted or with add-ons taken up.

        Args:
            number: of the quote.
            seller: who took the acceptance.
            reason: how it was accepted, such as "signed at the counter".
            now: the time.
            quote: with the add-ons that were taken up, which makes it a revision first.

        Raises:
            ConfiguratorError: seller or reason is empty.
            RegisterError: there is no such quote, or it cannot be accepted.
            FileError: the register cannot be written; nothing was kept.
        """
        require_said(seller, "seller")
        require_said(reason, "reason")
        with self.database.writing() as to:
            if quote is not None:
                self._revised(to, number, quote, seller, reason, now)
            self._move(to, number, ACCEPTED, seller, reason, now)

    def decline(self, number: str, *, seller: str, reason: str, now: dt.datetime) -> None:
        """Keep that the customer has declined; raises as :meth:`accept` does."""
        self._moved(number, DECLINED, seller, reason, now)

    def withdraw(self, number: str, *, seller: str, reason: str, now: dt.datetime) -> None:
        """Keep that the shop has withdrawn it; raises as :meth:`accept` does."""
        self._moved(number, WITHDRAWN, seller, reason, now)

    def lapse(self, *, now: dt.datetime) -> int:
        """Let every issued quote lapse that stands no longer, and tell how many did.

        Raises:
            FileError: the register cannot be written; nothing was kept.
        """
        day = now.date().isoformat()
        with self.database.writing() as to:
            over = sa.select(QUOTES).where(QUOTES.c.status == ISSUED, QUOTES.c.valid_until < day)
            rows = to.execute(over.order_by(QUOTES.c.id)).mappings().all()
            for row in rows:
                let_lapse(to, row, now)
        return len(rows)

    def list(
        self,
        *,
        day: dt.date,
        status: str = "",
        seller: str = "",
        lapses_within: int | None = None,
        most: int = 1000,
    ) -> tuple[Entry, ...]:
        """The quotes, the newest first.

        Args:
            day: the day it is: what was valid until before it has lapsed.
            status: only those of this status.
            seller: only those of this seller.
            lapses_within: only those issued that stand no longer than so many days from now, to be
                followed up; the next to lapse first.
            most: at most so many.
        """
        today = day.isoformat()
        asked, over = sa.select(QUOTES), QUOTES.c.valid_until < today
        if status == LAPSED:
            lapsed = sa.and_(QUOTES.c.status == ISSUED, over)
            asked = asked.where(sa.or_(QUOTES.c.status == LAPSED, lapsed))
        elif status == ISSUED:
            asked = asked.where(QUOTES.c.status == ISSUED, sa.not_(over))
        elif status:
            asked = asked.where(QUOTES.c.status == status)
        if seller:
            asked = asked.where(QUOTES.c.seller == seller)
        if lapses_within is not None:
            last = (day + dt.timedelta(days=lapses_within)).isoformat()
            until = QUOTES.c.valid_until
            asked = asked.where(QUOTES.c.status == ISSUED, until >= today, until <= last)
            asked = asked.order_by(until)
        return self._entries(asked.order_by(QUOTES.c.id.desc()).limit(most), today)

    def find(self, query: str, *, day: dt.date, most: int = 50) -> tuple[Entry, ...]:
        """The quotes that have every word of the query, or words that begin with them.

        Words are looked for in number, customer, telephone, e-mail, title, vehicle and seller;
        case and accents do not matter.
        """
        words = asked_words(query)
        if not words:
            return ()
        if self.database.path is None:
            wanted = sa.func.to_tsquery("simple", " & ".join(f"{word}:*" for word in words))
            matches = sa.func.to_tsvector("simple", QUOTES.c.words).op("@@")(wanted)
        else:
            told = " ".join(f'"{word}"*' for word in words)
            rows = sa.text("SELECT rowid FROM quote_words WHERE quote_words MATCH :told")
            ids = rows.bindparams(told=told).columns(sa.column("rowid", sa.Integer))
            matches = QUOTES.c.id.in_(ids)
        asked = sa.select(QUOTES).where(matches).order_by(QUOTES.c.id.desc()).limit(most)
        return self._entries(asked, day.isoformat())

    def show(self, number: str, *, day: dt.date) -> Record:
        """Everything that is kept of a quote, and what each revision changed.

        Raises:
            RegisterError: there is no such quote.
        """
        with self.database.reading() as at:
            row = quote_row(at, number)
            where = row["id"]
            kept = at.execute(
                sa.select(REVISIONS, PAPERS.c.answer, PAPERS.c.deleted)
                .join(PAPERS)
                .where(REVISIONS.c.quote == where)
                .order_by(REVISIONS.c.revision)
            ).mappings()
            revisions: list[KeptRevision] = []
            before: Mapping[str, Any] | None = None
            for one in kept:
                answer = json.loads(one["answer"])
                changed = changed_lines(before, answer) if before and "price" in answer else ()
                before = answer if "price" in answer else None
                same = {
                    f.name: one[f.name]
                    for f in attrs.fields(KeptRevision)
                    if f.name in one and f.name != "total"
                }
                revisions.append(KeptRevision(**same, total=money_of(one), changed=changed))
            told = sa.select(TRAIL).where(TRAIL.c.quote == where).order_by(TRAIL.c.id)
            trail = tuple(
                Step(*(step[field.name] for field in attrs.fields(Step)))
                for step in at.execute(told).mappings()
            )
        return Record(entry_of(row, day.isoformat()), tuple(revisions), trail)

    def open(self, number: str, revision: int | None = None) -> Kept:
        """The content of a revision, the latest by default: its selection, its answer, its PDF.

        Raises:
            RegisterError: there is no such quote or revision, or its content was deleted.
        """
        with self.database.reading() as at:
            row = quote_row(at, number)
            which = row["revision"] if revision is None else revision
            asked = sa.select(PAPERS).where(PAPERS.c.quote == row["id"], PAPERS.c.revision == which)
            paper = at.execute(asked).mappings().first()
        if paper is None:
            raise RegisterError(f"quote {number} has no revision {which}")
        if paper["deleted"]:
            raise RegisterError(
                f"quote {number}: its content was deleted on the customer's request; "
                "its number and sums are kept"
            )
        answer = json.loads(paper["answer"])
        return Kept(number, which, paper["selection"], answer, paper["pdf"])

    def forget(self, number: str, *, seller: str, reason: str, now: dt.datetime) -> None:
        """Delete the customer's personal data from a quote; numbers, sums and trail are kept.

        Selection and answer keep the picks and the prices alone; the PDF is replaced by a line of
        text that says so.

        Raises:
            ConfiguratorError: seller or reason is empty.
            RegisterError: there is no such quote.
            FileError: the register cannot be written; nothing was deleted.
        """
        require_said(seller, "seller")
        require_said(reason, "reason")
        with self.database.writing() as to:
            row = quote_row(to, number)
            where = row["id"]
            papers = to.execute(sa.select(PAPERS).where(PAPERS.c.quote == where)).mappings().all()
            for paper in papers:
                picks = {k: json.loads(paper["selection"])[k] for k in ("format", "catalogue")}
                picks["picks"] = json.loads(paper["selection"]).get("picks", {})
                said = f"The content of this quote was deleted on request on {now.date()}.\n"
                to.execute(
                    PAPERS.update()
                    .where(PAPERS.c.quote == where, PAPERS.c.revision == paper["revision"])
                    .values(selection=to_json(picks), answer="{}", pdf=said.encode(), deleted=True)
                )
            words = words_of(row["number"] or "", row["vehicle"], row["seller"])
            to.execute(
                QUOTES.update()
                .where(QUOTES.c.id == where)
                .values(customer="", phone="", email="", title="", words=words)
            )
            status = row["status"]
            tell(to, where, now, seller, "deleted", (status, status), row["revision"], reason, "")

    # what the questions above share

    def _kept(self, quote: Quote, revision: int) -> Kept:
        selection = to_json(selection_data(quote.selection))
        return Kept(quote.number, revision, selection, to_data(quote), self.paper(quote))

    def _revised(
        self,
        to: sa.Connection,
        number: str,
        quote: Quote,
        seller: str,
        reason: str,
        now: dt.datetime,
    ) -> Kept:
        row = quote_row(to, number)
        status = row["status"]
        if row["number"] is None:
            raise RegisterError(f"{number} is a draft: issue it first")
        require_move(number, status, ISSUED)
        revision = row["revision"] + 1
        told = list(quote.selection.revisions) or [Revision(1, row["issued"], "issued")]
        told = [one for one in told if one.revision < revision]
        told.append(Revision(revision, quote.date.isoformat(), reason))
        selection = attrs.evolve(quote.selection, revision=revision, revisions=tuple(told))
        quote = attrs.evolve(quote, number=row["number"], selection=selection)
        kept = self._kept(quote, revision)
        self._put(to, row["id"], quote, row["number"], revision, seller, new=False)
        content = keep_revision(to, row["id"], kept, quote, seller, now)
        tell(to, row["id"], now, seller, "revised", (status, ISSUED), revision, reason, content)
        return kept

    def _put(
        self,
        to: sa.Connection,
        where: int,
        quote: Quote,
        number: str | None,
        revision: int,
        seller: str,
        new: bool,
    ) -> None:
        customer = quote.selection.customer or _NOBODY
        named = (customer.name, customer.phone, customer.email, quote.title, quote.vehicle)
        values: dict[str, Any] = {
            "number": number,
            "status": DRAFT if number is None else ISSUED,
            "revision": revision,
            "seller": seller,
            **dict(zip(("customer", "phone", "email", "title", "vehicle"), named, strict=True)),
            **total_of(quote),
            "issued": quote.date.isoformat(),
            "valid_until": quote.valid_until.isoformat(),
            "words": words_of(number or f"{DRAFT_NAME}{where}", *named, seller),
        }
        if new:
            to.execute(QUOTES.insert().values(id=where, **values))
        else:
            to.execute(QUOTES.update().where(QUOTES.c.id == where).values(**values))

    def _moved(self, number: str, status: str, seller: str, reason: str, now: dt.datetime) -> None:
        require_said(seller, "seller")
        require_said(reason, "reason")
        with self.database.writing() as to:
            self._move(to, number, status, seller, reason, now)

    def _move(
        self,
        to: sa.Connection,
        number: str,
        status: str,
        seller: str,
        reason: str,
        now: dt.datetime,
    ) -> None:
        row: Mapping[str, Any] = quote_row(to, number)
        if row["status"] == ISSUED and row["valid_until"] < now.date().isoformat():
            row = let_lapse(to, row, now)
        before = row["status"]
        require_move(number, before, status)
        to.execute(QUOTES.update().where(QUOTES.c.id == row["id"]).values(status=status))
        tell(to, row["id"], now, seller, status, (before, status), row["revision"], reason, "")

    def _entries(self, asked: sa.Select[Any], today: str) -> tuple[Entry, ...]:
        with self.database.reading() as at:
            return tuple(entry_of(row, today) for row in at.execute(asked).mappings())
