"""The dates of a quote as a calendar (RFC 5545): validity, payments, the build."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from decimal import Decimal
from hashlib import sha256
from typing import Any

from configurator.money import Money
from configurator.words import Speech, Text, text

_MAKER = "-//tray-canopy-configurator//quotes//EN"


def quote_calendar(quote: Mapping[str, Any], speech: Speech) -> bytes:
    """A quote in the shape of its JSON as a calendar file, the same for the same quote.

    Each revision has the same events, so that a calendar replaces those that it took in before.
    """
    from icalendar import Calendar, Event

    made = Calendar()
    made.add("prodid", _MAKER)
    made.add("version", "2.0")
    issued = dt.datetime.combine(_day(quote["date"]), dt.time(), dt.UTC)
    about = ", ".join(filter(None, (quote["title"], quote["vehicle"], quote["shop"]["name"])))
    for what, first, last, summary in _days(quote):
        event = Event()
        named = f"{quote['shop']['name']}/{quote['catalogue']}/{quote['number']}/{what}"
        event.add("uid", f"{sha256(named.encode()).hexdigest()[:32]}@tray-canopy-configurator")
        event.add("dtstamp", issued)
        event.add("sequence", quote["revision"] or 0)
        event.add("dtstart", first)
        event.add("dtend", last + dt.timedelta(days=1))  # the day after the last
        event.add("summary", summary.said(speech))
        event.add("description", about)
        event.add("transp", "TRANSPARENT")
        made.add_component(event)
    content: bytes = made.to_ical()
    return content


def _days(quote: Mapping[str, Any]) -> Iterator[tuple[str, dt.date, dt.date, Text]]:
    """A name, first and last day, and what is then: the quote's last day, then what is planned."""
    number, until = quote["number"], _day(quote["valid-until"])
    yield "valid", until, until, text("Quote {number}: last day to accept", number=number)
    due = {payment["title"]: payment["amount"] for payment in quote["price"]["payments"]}
    for planned in quote["selection"].get("dates", ()):
        what = planned.get("title") or planned["payment"]
        summary = text("Quote {number}: {title}", number=number, title=what)
        if "payment" in planned:
            summary = text(
                "Quote {number}: payment due, {title}, {amount}",
                number=number,
                title=what,
                amount=Money(Decimal(due[what]), quote["price"]["currency"]),
            )
        last = _day(planned.get("until", planned["day"]))
        yield f"planned {what}", _day(planned["day"]), last, summary


def _day(iso: str) -> dt.date:
    return dt.date.fromisoformat(iso)
