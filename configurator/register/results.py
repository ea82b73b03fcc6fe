"""What was won and lost: by the month in which it was decided, and by the reason given."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

import sqlalchemy as sa

from configurator.answers.register import (
    ACCEPTED,
    DECLINED,
    ISSUED,
    LAPSED,
    WITHDRAWN,
    Outcome,
    QuoteResults,
)
from configurator.money import Money
from configurator.register.database import Database
from configurator.register.tables import QUOTES, TRAIL

_LOST = (DECLINED, LAPSED, WITHDRAWN)


def results(
    database: Database,
    currency: str,
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> QuoteResults:
    """What was won and lost.

    Args:
        database: the register's.
        currency: only quotes in it count.
        first: the first day that counts, None for all.
        last: the last one, None for all.
    """
    day = sa.func.substr(TRAIL.c.at, 1, 10)
    asked = (
        sa.select(TRAIL, QUOTES.c.total, QUOTES.c.status)
        .join(QUOTES, TRAIL.c.quote == QUOTES.c.id)
        .where(QUOTES.c.currency == currency, QUOTES.c.number.is_not(None))
        .order_by(TRAIL.c.id)
    )
    if first is not None:
        asked = asked.where(day >= first.isoformat())
    if last is not None:
        asked = asked.where(day <= last.isoformat())
    with database.reading() as at:
        rows = at.execute(asked).mappings().all()
    months: dict[str, list[tuple[str, Decimal]]] = defaultdict(list)
    reasons: dict[str, list[tuple[str, Decimal]]] = defaultdict(list)
    for row in rows:
        if row["event"] == ISSUED:
            months[row["at"][:7]].append((ISSUED, Decimal(0)))
    decided = {row["quote"]: row for row in rows if row["event"] in (ACCEPTED, *_LOST)}
    for row in decided.values():
        if row["status"] != row["event"]:
            continue  # issued anew since
        ended = (ACCEPTED if row["event"] == ACCEPTED else DECLINED, Decimal(row["total"]))
        months[row["at"][:7]].append(ended)
        reasons[row["reason"] if row["event"] != LAPSED else LAPSED].append(ended)
    by_count = sorted(reasons.items(), key=lambda pair: (-len(pair[1]), pair[0]))
    return QuoteResults(
        tuple(_outcome(*pair, currency) for pair in sorted(months.items())),
        tuple(_outcome(*pair, currency) for pair in by_count),
    )


def _outcome(of: str, ended: Sequence[tuple[str, Decimal]], currency: str) -> Outcome:
    def counted(way: str) -> int:
        return sum(ending == way for ending, _ in ended)

    def summed(way: str) -> Money:
        return Money.total((Money(t, currency) for ending, t in ended if ending == way), currency)

    return Outcome(
        of,
        issued=counted(ISSUED),
        won=counted(ACCEPTED),
        lost=counted(DECLINED),
        won_total=summed(ACCEPTED),
        lost_total=summed(DECLINED),
    )
