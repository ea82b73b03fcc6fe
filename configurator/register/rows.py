"""What a register reads and writes row by row: one quote, one revision, one step of the trail."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, TypeAlias

import attrs
import sqlalchemy as sa

from configurator.answers.data import amount_text, to_json
from configurator.errors import ConfiguratorError
from configurator.money import Money
from configurator.register.tables import CHAIN, PAPERS, QUOTES, REVISIONS, SERIES, TRAIL
from configurator.register.values import ISSUED, LAPSED, MOVES, Entry, Kept
from configurator.report.quote import Quote

Row: TypeAlias = Mapping[Any, Any]
"""A row by the names of its columns."""

DRAFT_NAME = "draft-"
"""What stands before the name of a draft, which has no number."""


class RegisterError(ConfiguratorError):
    """The register has no such quote, or the quote cannot go where it was sent."""


def require_said(said: str, what: str) -> None:
    """Refuse a seller or reason that nobody can read.

    Raises:
        ConfiguratorError: it is empty, or longer than one line of 300 letters.
    """
    if not said.strip():
        raise ConfiguratorError(f"the {what} is empty: the register keeps it with the quote")
    if len(said) > 300 or not said.isprintable():
        raise ConfiguratorError(f"the {what} must be one line of at most 300 letters")


def require_move(number: str, before: str, after: str) -> None:
    """Refuse a move that is not allowed.

    Raises:
        RegisterError: it is not, with those that are.
    """
    if after not in MOVES[before]:
        ways = ", ".join(sorted(MOVES[before]))
        told = f"it can go to: {ways}" if ways else "nothing follows on that"
        raise RegisterError(f"quote {number} is {before} and cannot become {after}; {told}")


def drawn(to: sa.Connection, series: str) -> int:
    """The next number of the series."""
    drawn = to.execute(
        SERIES.update()
        .where(SERIES.c.prefix == series)
        .values(last=SERIES.c.last + 1)
        .returning(SERIES.c.last)
    ).scalar()
    if drawn is None:
        to.execute(SERIES.insert().values(prefix=series, last=1))
        return 1
    return int(drawn)


def next_id(to: sa.Connection, column: sa.Column[int]) -> int:
    """The next free number of a column; writers follow one another, so nobody else takes it."""
    return int(to.execute(sa.select(sa.func.coalesce(sa.func.max(column), 0))).scalar_one()) + 1


def quote_row(at: sa.Connection, number: str) -> Row:
    """The quote of that number, or the draft of that name.

    Raises:
        RegisterError: there is none.
    """
    draft = number.removeprefix(DRAFT_NAME)
    wanted = QUOTES.c.number == number
    if number.startswith(DRAFT_NAME) and draft.isascii() and draft.isdigit() and len(draft) < 9:
        wanted = sa.and_(QUOTES.c.number.is_(None), QUOTES.c.id == int(draft))
    row = at.execute(sa.select(QUOTES).where(wanted)).mappings().first()
    if row is None:
        raise RegisterError(f"there is no quote {number}: find it by a name or a word of it")
    return dict(row)


def keep_revision(
    to: sa.Connection, where: int, kept: Kept, quote: Quote, seller: str, now: dt.datetime
) -> str:
    """Keep a revision and its content, and tell the digest of what is kept for ever."""
    answer = to_json(kept.answer)
    values: dict[str, Any] = {
        "quote": where,
        "revision": kept.revision,
        "at": _stamp(now),
        "seller": seller,
        "day": quote.date.isoformat(),
        "valid_until": quote.valid_until.isoformat(),
        "catalogue": quote.catalogue,
        "catalogue_digest": quote.catalogue_digest,
        **total_of(quote),
        "selection_digest": digest(kept.selection.encode()),
        "answer_digest": digest(answer.encode()),
        "pdf_digest": digest(kept.pdf) if kept.pdf else "",
    }
    to.execute(REVISIONS.insert().values(**values))
    to.execute(
        PAPERS.insert().values(
            quote=where,
            revision=kept.revision,
            selection=kept.selection,
            answer=answer,
            pdf=kept.pdf,
            deleted=False,
        )
    )
    return row_digest(values, REVISIONS)


def tell(
    to: sa.Connection,
    where: int,
    now: dt.datetime,
    seller: str,
    event: str,
    moved: tuple[str, str],
    revision: int,
    reason: str,
    content: str,
) -> None:
    """Add a row to the trail."""
    chain = to.execute(sa.select(CHAIN)).mappings().one()
    values: dict[str, Any] = {
        "id": chain["rows"] + 1,
        "quote": where,
        "at": _stamp(now),
        "seller": seller,
        "event": event,
        "before": moved[0],
        "after": moved[1],
        "revision": revision,
        "reason": reason,
        "content": content,
        "previous": chain["digest"],
    }
    values["digest"] = row_digest(values, TRAIL)
    to.execute(TRAIL.insert().values(**values))
    to.execute(CHAIN.update().values(rows=values["id"], digest=values["digest"]))


def let_lapse(to: sa.Connection, row: Row, now: dt.datetime) -> Row:
    """Let an issued quote lapse, and tell its row as it is then."""
    to.execute(QUOTES.update().where(QUOTES.c.id == row["id"]).values(status=LAPSED))
    reason = f"valid until {row['valid_until']}"
    tell(to, row["id"], now, "", LAPSED, (row["status"], LAPSED), row["revision"], reason, "")
    return {**row, "status": LAPSED}


def _stamp(now: dt.datetime) -> str:
    return now.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def digest(content: bytes) -> str:
    """SHA-256, in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def row_digest(row: Row, table: sa.Table) -> str:
    """The digest of a row, but for the column that holds it."""
    held = [row[column.name] for column in table.columns if column.name != "digest"]
    return digest(json.dumps(held, ensure_ascii=False, separators=(",", ":")).encode())


def total_of(quote: Quote) -> dict[str, str]:
    """Currency and total of a quote, as they are kept."""
    total = quote.price.total
    return {"currency": total.currency, "total": amount_text(total)}


def money_of(row: Row) -> Money:
    """The total of a row."""
    return Money(Decimal(row["total"]), row["currency"])


def entry_of(row: Row, today: str) -> Entry:
    """A quote as it stands on a day, an ISO date: what was valid until before it has lapsed."""
    lapsed = row["status"] == ISSUED and row["valid_until"] < today
    known = {field.name: row[field.name] for field in attrs.fields(Entry) if field.name != "total"}
    number = row["number"] or f"{DRAFT_NAME}{row['id']}"
    status = LAPSED if lapsed else row["status"]
    return Entry(**known | {"number": number, "status": status, "total": money_of(row)})
