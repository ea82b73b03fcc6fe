"""The open quotes of a register, read in batches, however many there are."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa
from attrs import frozen

from configurator.answers.register import ISSUED
from configurator.register.database import Database
from configurator.register.rows import Row, name_of
from configurator.register.tables import PAPERS, QUOTES, REVISIONS
from configurator.requoting.quotes import OpenQuote

_AT_ONCE = 50
_PAPER = sa.and_(PAPERS.c.quote == QUOTES.c.id, PAPERS.c.revision == QUOTES.c.revision)
_REVISION = sa.and_(REVISIONS.c.quote == QUOTES.c.id, REVISIONS.c.revision == QUOTES.c.revision)


@frozen
class StandingQuotes:
    """The issued quotes that stand on a day, the oldest first; each time it reads them anew.

    Attributes:
        database: where they are kept.
        today: the day, an ISO date.
    """

    database: Database
    today: str

    def __len__(self) -> int:
        asked = sa.select(sa.func.count()).select_from(QUOTES).where(self._stand)
        with self.database.reading() as at:
            return int(at.execute(asked).scalar_one())

    def __iter__(self) -> Iterator[OpenQuote]:
        """Some at a time, so that neither memory nor a transaction grows with their number."""
        asked = (
            sa.select(
                *(QUOTES.c.id, QUOTES.c.number, QUOTES.c.revision),
                *(PAPERS.c.selection, PAPERS.c.answer, PAPERS.c.deleted),
                *(REVISIONS.c.selection_digest, REVISIONS.c.answer_digest),
            )
            .join_from(QUOTES, PAPERS, _PAPER)
            .join(REVISIONS, _REVISION)
            .where(self._stand)
            .order_by(QUOTES.c.id)
            .limit(_AT_ONCE)
        )
        last = 0
        while True:
            with self.database.reading() as at:
                rows = at.execute(asked.where(QUOTES.c.id > last)).mappings().all()
            if not rows:
                return
            yield from map(_open_quote, rows)
            last = rows[-1]["id"]

    @property
    def _stand(self) -> sa.ColumnElement[bool]:
        return sa.and_(QUOTES.c.status == ISSUED, QUOTES.c.valid_until >= self.today)


def _open_quote(row: Row) -> OpenQuote:
    name, revision = name_of(row), row["revision"]
    if row["deleted"]:
        said = "its content was deleted at the customer's request"
        return OpenQuote(name, revision=revision, problem=said)
    digests = (row["selection_digest"], row["answer_digest"])
    content = row["selection"].encode()
    return OpenQuote(name, content, row["answer"], revision, digests)
