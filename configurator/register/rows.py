"""What a register reads and writes row by row: a quote, a revision, a step of the trail."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

import attrs
import sqlalchemy as sa
from attrs import frozen

from configurator.answers.data import amount_text, selection_data, to_data, to_json
from configurator.answers.register import (
    DELETED,
    DRAFT,
    ISSUED,
    LAPSED,
    MOVES,
    STATUSES,
    KeptQuote,
    QuoteEntry,
)
from configurator.errors import ConfiguratorError, NoSuchQuote, RegisterError
from configurator.money import Money
from configurator.register.tables import CHAIN, PAPERS, QUOTES, REVISIONS, SERIES, TRAIL
from configurator.register.words import words_of
from configurator.report.quote import Quote
from configurator.selection.dates import Revision
from configurator.selection.picks import Customer
from configurator.selection.values import require_kind
from configurator.words import listed, text

Row: TypeAlias = Mapping[Any, Any]
"""A row by the names of its columns."""

DRAFT_NAME = "draft-"
_NOBODY = Customer("")


@frozen
class Writing:
    """A transaction that writes, and who writes when.

    Attributes:
        to: the transaction.
        seller: who.
        now: when.
    """

    to: sa.Connection
    seller: str
    now: dt.datetime

    def drawn(self, series: str) -> str:
        """The next number of a series."""
        following = SERIES.update().where(SERIES.c.prefix == series)
        last = self.to.execute(
            following.values(last=SERIES.c.last + 1).returning(SERIES.c.last)
        ).scalar()
        if last is None:
            self.to.execute(SERIES.insert().values(prefix=series, last=1))
        return f"{series}{last or 1}"

    def new(self) -> Row:
        """A quote that is not there yet; writers follow one another, so nobody takes its place."""
        highest = self.to.execute(sa.select(sa.func.max(QUOTES.c.id))).scalar()
        return {"id": (highest or 0) + 1, "status": "", "revision": 0}

    def row(self, number: str) -> Row:
        """The quote of that number; it lapses now where it stands no longer.

        Raises:
            RegisterError: there is none.
        """
        row = quote_row(self.to, number)
        today = self.now.date().isoformat()
        return self.lapsed(row) if status_on(row, today) != row["status"] else row

    def lapsed(self, row: Row) -> Row:
        """Let an issued quote lapse, and tell its row as it is then."""
        self._set(row["id"], status=LAPSED)
        told = attrs.evolve(self, seller="")
        told.tell(row, LAPSED, LAPSED, f"valid until {row['valid_until']}")
        return {**row, "status": LAPSED}

    def move(self, row: Row, status: str, reason: str) -> None:
        """Give a quote another status.

        Raises:
            RegisterError: it cannot go there.
        """
        require_move(row, status)
        self._set(row["id"], status=status)
        self.tell(row, status, status, reason)

    def keep(self, quote: Quote, row: Row, event: str, pdf: bytes, reason: str = "") -> KeptQuote:
        """Keep a revision, and make it what the quote is now.

        Args:
            quote: what it says.
            row: the quote as it was.
            event: what the trail calls it.
            pdf: of the paper; empty for a draft.
            reason: why.
        """
        status = DRAFT if event == DRAFT else ISSUED
        revision = 0 if event == DRAFT else row["revision"] + 1
        kept = KeptQuote(
            quote.number,
            revision,
            to_json(selection_data(quote.selection)),
            to_data(quote),
            pdf,
            status,
            revision,
        )
        answer = to_json(kept.answer)
        total = quote.price.total
        known = {
            "seller": self.seller,
            "currency": total.currency,
            "total": amount_text(total),
            "valid_until": quote.valid_until.isoformat(),
        }
        digests = {"selection": kept.selection.encode(), "answer": answer.encode(), "pdf": pdf}
        values = {
            **known,
            "quote": row["id"],
            "revision": revision,
            "at": _stamp(self.now),
            "day": quote.date.isoformat(),
            "catalogue": quote.catalogue,
            "catalogue_digest": quote.catalogue_digest,
            **{f"{name}_digest": content_digest(content) for name, content in digests.items()},
        }
        customer = quote.selection.customer or _NOBODY
        named = {
            "customer": customer.name,
            "phone": customer.phone,
            "email": customer.email,
            "title": quote.title,
            "vehicle": quote.vehicle,
        }
        entry = {
            **known,
            **named,
            "number": None if status == DRAFT else quote.number,
            "status": status,
            "revision": revision,
            "issued": values["day"],
            "words": words_of(quote.number, *named.values(), self.seller),
        }
        if row["status"]:
            self._set(row["id"], **entry)
        else:
            self.to.execute(QUOTES.insert().values(id=row["id"], **entry))
        self.to.execute(REVISIONS.insert().values(**values))
        content = {"selection": kept.selection, "answer": answer, "pdf": pdf, "deleted": False}
        self.to.execute(PAPERS.insert().values(quote=row["id"], revision=revision, **content))
        moved = {**row, "revision": revision}
        self.tell(moved, event, status, reason, row_digest(values, REVISIONS))
        return kept

    def history(self, row: Row) -> tuple[Revision, ...]:
        """The revisions of a quote so far, as the next one prints them.

        The first has no reason but the name of its request, which is nothing to a customer.
        """
        asked = (
            sa.select(REVISIONS.c.revision, REVISIONS.c.day, TRAIL.c.event, TRAIL.c.reason)
            .join(
                TRAIL,
                sa.and_(
                    TRAIL.c.quote == REVISIONS.c.quote,
                    TRAIL.c.revision == REVISIONS.c.revision,
                    TRAIL.c.content != "",
                ),
            )
            .where(REVISIONS.c.quote == row["id"], REVISIONS.c.revision > 0)
            .order_by(REVISIONS.c.revision)
        )
        return tuple(
            Revision(revision, day, "" if event == ISSUED else reason)
            for revision, day, event, reason in self.to.execute(asked)
        )

    def issued_for(self, reason: str) -> str:
        """The number of what was issued for a reason, by whomever; empty where there is nothing."""
        asked = (
            sa.select(QUOTES.c.number)
            .join(TRAIL, TRAIL.c.quote == QUOTES.c.id)
            .where(TRAIL.c.event == ISSUED, TRAIL.c.reason == reason)
        )
        return self.to.execute(asked).scalar() or ""

    def forget(self, row: Row, reason: str) -> None:
        """Delete the content of a quote's revisions, and who it was for."""
        of_it = sa.and_(PAPERS.c.quote == row["id"], PAPERS.c.deleted.is_(False))
        for paper in self.to.execute(sa.select(PAPERS).where(of_it)).mappings().all():
            selection = json.loads(paper["selection"])
            picks = {key: selection[key] for key in ("format", "catalogue", "picks")}
            said = f"The content was deleted at the customer's request on {self.now.date()}.\n"
            self.to.execute(
                PAPERS.update()
                .where(of_it, PAPERS.c.revision == paper["revision"])
                .values(selection=to_json(picks), answer="{}", pdf=said.encode(), deleted=True)
            )
        words = words_of(row["number"] or "", row["vehicle"], row["seller"])
        self._set(row["id"], customer="", phone="", email="", title="", words=words)
        if self.to.dialect.name == "sqlite":  # its index keeps words that nothing has any more
            self.to.exec_driver_sql("INSERT INTO quote_words(quote_words) VALUES ('rebuild')")
        self.tell(row, DELETED, row["status"], reason)

    def tell(self, row: Row, event: str, after: str, reason: str, content: str = "") -> None:
        """Add a step to the trail, for a quote as it was before."""
        chain = self.to.execute(sa.select(CHAIN)).mappings().first()
        if chain is None:
            raise RegisterError(text("the end of the trail is missing: see register check"))
        values = {
            "id": chain["rows"] + 1,
            "quote": row["id"],
            "at": _stamp(self.now),
            "seller": self.seller,
            "event": event,
            "before": row["status"],
            "after": after,
            "revision": row["revision"],
            "reason": reason,
            "content": content,
            "previous": chain["digest"],
        }
        values["digest"] = row_digest(values, TRAIL)
        self.to.execute(TRAIL.insert().values(**values))
        self.to.execute(CHAIN.update().values(rows=values["id"], digest=values["digest"]))

    def _set(self, where: int, **values: Any) -> None:
        self.to.execute(QUOTES.update().where(QUOTES.c.id == where).values(**values))


def require_move(row: Row, after: str) -> None:
    """Refuse a move that is not allowed.

    Raises:
        RegisterError: it is not, with those that are; or no such status is known.
    """
    before = row["status"]
    if before not in MOVES:
        raise _altered(row)
    if after not in MOVES[before]:
        named = _NAMED if before == DRAFT else _NAMED | {ISSUED: "revised"}
        ways = sorted(named[way] for way in MOVES[before] - {before, LAPSED})
        follow = text("nothing can follow")
        if ways:
            follow = text("it can be {ways}", ways=listed(map(text, ways), alternatives=True))
        known = {
            "number": name_of(row),
            "status": text("a draft") if before == DRAFT else text(before),
            "follow": follow,
        }
        told = text("quote {number} is {status} already: {follow}", **known)
        if before != after:
            told = text(
                "quote {number} is {status} and cannot be {other}: {follow}",
                **known,
                other=text(named[after]),
            )
        raise RegisterError(told)


_NAMED = {status: status for status in STATUSES}


def quote_row(at: sa.Connection, number: str) -> Row:
    """The quote of that number, or the draft of that name.

    Raises:
        RegisterError: there is none.
    """
    require_kind("number", number, str)
    draft = number.removeprefix(DRAFT_NAME)
    wanted = QUOTES.c.number == number
    if number.startswith(DRAFT_NAME) and draft.isascii() and draft.isdigit() and len(draft) < 9:
        wanted = sa.and_(QUOTES.c.number.is_(None), QUOTES.c.id == int(draft))
    row = None
    if number.isprintable():  # what is not has no form that every database can look for
        row = at.execute(sa.select(QUOTES).where(wanted)).mappings().first()
    if row is None:
        raise NoSuchQuote(
            text("there is no quote {number}: find it by its customer or title", number=number)
        )
    return row


def name_of(row: Row) -> str:
    """The number of a quote, or the name of a draft."""
    return str(row["number"] or draft_name(row["id"]))


def draft_name(where: int) -> str:
    """What a draft is called while it has no number."""
    return f"{DRAFT_NAME}{where}"


def status_on(row: Row, today: str) -> str:
    """The status of a quote on a day, an ISO date: what was valid until before it has lapsed."""
    lapsed = row["status"] == ISSUED and row["valid_until"] < today
    return LAPSED if lapsed else str(row["status"])


def entry_of(row: Row, today: str) -> QuoteEntry:
    """A quote as it stands on a day, an ISO date."""
    known = {
        field.name: row[field.name] for field in attrs.fields(QuoteEntry) if field.name != "total"
    }
    if row["status"] not in STATUSES:
        raise _altered(row)
    told = {"number": name_of(row), "status": status_on(row, today), "total": money_of(row)}
    return QuoteEntry(**known | told)


def money_of(row: Row) -> Money:
    """The total of a row of ``quotes`` or ``revisions``.

    Raises:
        RegisterError: it is none.
    """
    try:
        return Money(Decimal(row["total"]), row["currency"])
    except (ArithmeticError, ConfiguratorError):
        raise _altered(row) from None


def _altered(row: Row) -> RegisterError:
    where = name_of(row) if "number" in row else f"row {row['quote']}"
    told = text(
        "quote {number}: it is not what was written: see register check, and go back to a backup",
        number=where,
    )
    return RegisterError(told)


def altered_parts(paper: Row, revision: Row) -> Iterator[str]:
    """What is kept of a revision and is not what its digests say."""
    for name in ("selection", "answer", "pdf"):
        content = paper[name] if name == "pdf" else paper[name].encode()
        if content_digest(content) != revision[f"{name}_digest"]:
            yield name


def content_digest(content: bytes) -> str:
    """SHA-256 in hexadecimal digits; empty for nothing."""
    return hashlib.sha256(content).hexdigest() if content else ""


def row_digest(row: Row, table: sa.Table) -> str:
    """The digest of a row, but for the column that holds it."""
    held = [row[column.name] for column in table.columns if column.name != "digest"]
    return content_digest(json.dumps(held, ensure_ascii=False, separators=(",", ":")).encode())


def _stamp(now: dt.datetime) -> str:
    return now.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
