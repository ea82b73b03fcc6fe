"""What was won and lost: by the month in which it was decided, and by the reason given."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from typing import TypeAlias

import sqlalchemy as sa

from configurator.answers.register import (
    ACCEPTED,
    DECLINED,
    DELETED,
    ISSUED,
    LAPSED,
    WITHDRAWN,
    Outcome,
    QuoteResults,
)
from configurator.money import Money
from configurator.register.database import Database
from configurator.register.rows import Row, money_of, status_on
from configurator.register.tables import QUOTES, TRAIL

_ENDS = {ACCEPTED: ACCEPTED, DECLINED: DECLINED, LAPSED: DECLINED, WITHDRAWN: WITHDRAWN}
"""What a quote of each status that ends it counts as."""

_Ending: TypeAlias = tuple[str, Money]
"""How a quote ended, and its total."""


def results(
    database: Database,
    currency: str,
    now: dt.datetime,
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> QuoteResults:
    """What was won and lost at a time, whose zone says which day it is.

    See :meth:`.reading.ReadRegister.results`.
    """
    currency = currency.upper()
    nothing = Money.zero(currency)
    asked = (
        sa.select(
            *(TRAIL.c[name] for name in ("quote", "at", "event", "reason")),
            *(QUOTES.c[name] for name in ("number", "status", "valid_until", "total", "currency")),
        )
        .join(QUOTES, TRAIL.c.quote == QUOTES.c.id)
        .where(QUOTES.c.currency == currency, QUOTES.c.number.is_not(None))
        .order_by(TRAIL.c.id)
    )
    with database.reading() as at:
        steps = at.execute(asked).mappings().all()
    months: dict[str, list[_Ending]] = defaultdict(list)
    reasons: dict[str, list[_Ending]] = defaultdict(list)

    def counts(day: dt.date) -> bool:
        return (first is None or first <= day) and (last is None or day <= last)

    for step in steps:
        day = _day_of(step, now)
        if step["event"] == ISSUED and counts(day):
            months[_month(day)].append((ISSUED, nothing))
    for step in {step["quote"]: step for step in steps if step["event"] != DELETED}.values():
        status = status_on(step, now.date().isoformat())
        if status not in _ENDS:
            continue
        lapsed = status == LAPSED
        day = dt.date.fromisoformat(step["valid_until"]) if lapsed else _day_of(step, now)
        if counts(day):
            ending = (_ENDS[status], money_of(step))
            months[_month(day)].append(ending)
            reasons[LAPSED if lapsed else step["reason"]].append(ending)
    by_count = sorted(reasons.items(), key=lambda pair: (-len(pair[1]), pair[0]))
    return QuoteResults(
        currency,
        tuple(_outcome(*pair, currency) for pair in sorted(months.items())),
        tuple(_outcome(*pair, currency) for pair in by_count),
    )


def _day_of(step: Row, now: dt.datetime) -> dt.date:
    """The day of a step of the trail, by the clock of the shop and not by UTC's."""
    at = dt.datetime.fromisoformat(step["at"])
    return at.astimezone(now.tzinfo).date()


def _month(day: dt.date) -> str:
    return day.isoformat()[:7]


def _outcome(of: str, endings: Sequence[_Ending], currency: str) -> Outcome:
    def counted(way: str) -> int:
        return sum(ended == way for ended, _ in endings)

    def summed(way: str) -> Money:
        return Money.total((total for ended, total in endings if ended == way), currency)

    return Outcome(
        of,
        issued=counted(ISSUED),
        won=counted(ACCEPTED),
        lost=counted(DECLINED),
        withdrawn=counted(WITHDRAWN),
        won_total=summed(ACCEPTED),
        lost_total=summed(DECLINED),
        withdrawn_total=summed(WITHDRAWN),
    )
