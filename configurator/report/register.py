"""What a register answers, as reports: lists of quotes, one quote, what was won and lost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence

from configurator.answers.register import (
    ChangedLine,
    KeptQuote,
    Outcome,
    QuoteList,
    QuoteRecord,
    QuoteResults,
    ReopenedQuote,
    TrailStep,
)
from configurator.money import Money
from configurator.report.model import (
    Block,
    Chart,
    ChartBar,
    Column,
    Paragraph,
    Report,
    Table,
    Told,
    figure_column,
    table_of,
)
from configurator.words import text

_STATUS = {
    "draft": text("draft"),
    "issued": text("issued"),
    "accepted": text("accepted"),
    "declined": text("declined"),
    "lapsed": text("lapsed"),
    "withdrawn": text("withdrawn"),
    "replaced": text("replaced"),
}
_EVENT = _STATUS | {
    "revised": text("revised"),
    "deleted": text("customer's data deleted"),
}


def entries_report(found: QuoteList, lapses_within: int | None = None) -> Report:
    """Quotes in a table, one line each; where there is none, within how many days was looked."""
    if not found.quotes and lapses_within is not None:
        told = text(
            "No quotes lapse within {n} day.",
            "No quotes lapse within {n} days.",
            n=lapses_within,
        )
        return ((Paragraph(told),),)
    if not found.quotes:
        return ((Paragraph(text("No quotes found.")),),)
    table = table_of(
        found.quotes,
        (Column(text("Quote")), lambda entry: entry.number),
        (Column(text("Status")), lambda entry: _STATUS[entry.status]),
        (Column(text("Customer")), lambda entry: entry.customer),
        (Column(text("Package")), lambda entry: entry.title or entry.vehicle),
        (Column(text("Until")), lambda entry: entry.valid_until),
        (figure_column(text("Total")), lambda entry: str(entry.total)),
    )
    return ((table,),)


def record_report(record: QuoteRecord, here: Callable[[dt.datetime], dt.datetime]) -> Report:
    """One quote: who it is for, its revisions with what changed, and its trail.

    Args:
        record: what is kept of it.
        here: a time as it is where it is read, with its offset.
    """
    entry = record.entry
    customer = ", ".join(filter(None, (entry.customer, entry.phone, entry.email)))
    status = text(
        "{number}: {status}, {total}, valid until {day}",
        number=_number(entry.number, entry.revision),
        status=_STATUS[entry.status],
        total=str(entry.total),
        day=entry.valid_until,
    )
    head: list[Block] = [Paragraph(status, "strong")]
    head += [Paragraph(said) for said in (entry.title, entry.vehicle, customer) if said]
    sections: list[tuple[Block, ...]] = [tuple(head)]
    for revision in record.revisions[1:]:
        if revision.changed:
            title = text("Changed in revision {revision}", revision=revision.revision)
            sections.append((Paragraph(title, "strong"), _changes(revision.changed)))
    trail = table_of(
        record.trail,
        (
            Column(text("When")),
            lambda step: here(dt.datetime.fromisoformat(step.at)).isoformat(" ", "minutes"),
        ),
        (Column(text("What")), _event),
        (Column(text("Who")), lambda step: step.seller),
        (Column(text("Why")), lambda step: step.why),
    )
    return (*sections, (trail,))


def reopened_report(reopened: ReopenedQuote) -> Report:
    """What a quote was and what it is now, with the lines that changed."""
    values = {"number": _number(reopened.number, reopened.revision), "was": str(reopened.was)}
    stands = tuple(Paragraph(said) for said in standing(reopened))
    if reopened.was == reopened.is_now:
        said = text("{number}: {was}, as quoted", **values)
        return ((Paragraph(said, "strong"), *stands),)
    said = text("{number}: was {was}, is {now}", **values, now=str(reopened.is_now))
    return ((Paragraph(said, "strong"), *stands, _changes(reopened.changed)),)


def standing(opened: KeptQuote | ReopenedQuote) -> Iterator[str]:
    """How a quote stands that is opened again, where it is not the latest one and open."""
    if opened.revision != opened.latest:
        yield text("{number} is at revision {n} by now", number=opened.number, n=opened.latest)
    if follow := _FOLLOWS.get(opened.status):
        status = _STATUS[opened.status]
        yield text(
            "{number} is {status}: {follow}", number=opened.number, status=status, follow=follow
        )


_AGAIN = text("a revision issues it again")
_ENDED = text("it cannot be revised; issue a new quote")
_FOLLOWS = {
    "accepted": text("the customer has to accept a revision again"),
    "declined": _AGAIN,
    "lapsed": _AGAIN,
    "withdrawn": _ENDED,
    "replaced": _ENDED,
}
"""What to think of before a quote of each status is changed and issued."""


def results_report(found: QuoteResults) -> Report:
    """What was won and lost, by month and by reason."""
    if not found.months:
        return ((Paragraph(text("no quotes were issued or decided in that time")),),)
    months = _outcomes(text("Month"), found.months, found.currency, issued=True)
    sections: list[tuple[Block, ...]] = [(months,)]
    if found.reasons:
        sections.append((_outcomes(text("Reason"), found.reasons, found.currency, issued=False),))
    return tuple(sections)


def results_chart(found: QuoteResults) -> Chart:
    """What was won and lost in each month, as bars to one scale."""
    groups = tuple(
        (
            _month(month.of),
            (
                _bar(text("won"), month.won_total, hollow=False),
                _bar(text("lost"), month.lost_total, hollow=True),
            ),
        )
        for month in found.months
    )
    return Chart(text("Quotes won and lost, by month, {currency}", currency=found.currency), groups)


def _bar(label: str, total: Money, *, hollow: bool) -> ChartBar:
    zero = Money.zero(total.currency).amount
    return ChartBar(label, total, zero, max(zero, total.amount), hollow)


def _number(number: str, revision: int) -> str:
    if revision > 1:
        return text("{number}, revision {revision}", number=number, revision=revision)
    return number


def _changes(changed: Iterable[ChangedLine]) -> Table:
    return table_of(
        changed,
        (Column(text("Line")), lambda line: line.title),
        (figure_column(text("Was")), lambda line: line.was),
        (figure_column(text("Now")), lambda line: line.is_now),
        (figure_column(text("Difference")), lambda line: line.difference),
    )


def _month(of: str) -> str:
    """A month such as ``2026-11`` in words."""
    return text("{month:month}", month=dt.date.fromisoformat(f"{of}-01"))


def _event(step: TrailStep) -> str:
    if step.event == "revised":
        return text("revision {revision}", revision=step.revision)
    return _EVENT[step.event]


def _outcomes(name: str, outcomes: Sequence[Outcome], currency: str, *, issued: bool) -> Table:
    named = _month if issued else lambda reason: _STATUS.get(reason, reason)
    columns: list[Told[Outcome]] = [(Column(name), lambda one: named(one.of))]
    columns += [(figure_column(text("Issued")), lambda one: one.issued)] if issued else []
    return table_of(
        outcomes,
        *columns,
        (figure_column(text("Won")), lambda one: one.won),
        (figure_column(text("Lost")), lambda one: one.lost),
        (figure_column(text("Withdrawn")), lambda one: one.withdrawn),
        (figure_column(text("Won, {currency}", currency=currency)), lambda one: one.won_total),
        (figure_column(text("Lost, {currency}", currency=currency)), lambda one: one.lost_total),
    )
