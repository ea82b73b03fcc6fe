"""All open quotes under the current catalogue, as a report: how many, why, and which."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from configurator.answers.register import ChangedLine
from configurator.answers.requote import RequoteAnswer, Requoted
from configurator.money import Money
from configurator.report.model import (
    Block,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    figure_column,
    grouped_table,
    table_of,
)
from configurator.words import text

_CAUSES = 20
"""The most causes of each kind that are listed."""

_LINES = 3
"""The most lines of one quote that are named."""

_IN_A_TERMINAL = 40
"""The most quotes that a terminal lists."""


def requote_report(answer: RequoteAnswer) -> Report:
    """The report as a terminal shows it."""
    if not answer.count:
        return ((Paragraph(text("no open quotes")),),)
    sections: list[tuple[Block, ...]] = [
        (Paragraph(requote_headline(answer), "strong"), outcomes_table(answer))
    ]
    sections += [(table,) for table in (causes_table(answer), quotes_table(answer, _IN_A_TERMINAL))]
    more = more_quotes(answer, _IN_A_TERMINAL)
    if more:
        sections.append((Paragraph(more),))
    return tuple(section for section in sections if not _is_bare(section[0]))


def _is_bare(block: Block) -> bool:
    return isinstance(block, Table) and not block.rows


def requote_headline(answer: RequoteAnswer, said: Callable[[dt.date], str] = str) -> str:
    """How many quotes, and the prices of which day count, as it is ``said``."""
    day = said(dt.date.fromisoformat(answer.day))
    if answer.from_folder:
        return text(
            "{n} file at the prices of {day}",
            "{n} files at the prices of {day}",
            n=answer.count,
            day=day,
        )
    return text(
        "{n} open quote at the prices of {day}",
        "{n} open quotes at the prices of {day}",
        n=answer.count,
        day=day,
    )


def outcomes_table(answer: RequoteAnswer) -> Table:
    """How many quotes became what."""
    changed = text("{was} before, {now} now", was=answer.was, now=answer.is_now)
    counts = (
        (text("as quoted"), answer.unchanged, ""),
        (text("at another price"), answer.changed, changed),
        (text("priced, with no price from before to compare"), answer.priced, ""),
        (text("stopped: could not be issued again"), answer.stopped, ""),
        (text("no longer possible: what was picked is gone"), answer.not_understood, ""),
        (text("of another catalogue, left out"), answer.of_another_catalogue, ""),
        (text("cannot be read"), answer.unreadable, ""),
    )
    rows = (
        Row((Cell(what, (said,) if said else ()), Cell(str(count))))
        for what, count, said in counts
        if count
    )
    return Table((Column(), Column(kind="figure", name="number")), (RowGroup(rows),), heads=False)


def causes_table(answer: RequoteAnswer) -> Table:
    """Why, what is in most quotes first."""
    stops = [cause for cause in answer.causes if cause.difference is None]
    prices = [cause for cause in answer.causes if cause.difference is not None]
    groups = (
        (text("What stops them"), stops[:_CAUSES]),
        (text("What costs more or less"), prices[:_CAUSES]),
    )
    return grouped_table(
        (group for group in groups if group[1]),
        (Column(text("Why")), lambda cause: cause.title),
        (
            figure_column(text("Files") if answer.from_folder else text("Quotes")),
            lambda cause: str(cause.quotes),
        ),
        (figure_column(text("Difference")), lambda cause: _signed(cause.difference)),
    )


def quotes_table(answer: RequoteAnswer, most: int) -> Table:
    """The quotes that are not what they were, the most serious first."""
    return table_of(
        answer.quotes[:most],
        (
            Column(text("File") if answer.from_folder else text("Quote")),
            lambda one: Cell(one.quote, below=(one.customer,) if one.customer else ()),
        ),
        (figure_column(text("Was")), lambda one: one.was),
        (figure_column(text("Now")), lambda one: one.is_now),
        (figure_column(text("Difference")), lambda one: _signed(one.difference)),
        (Column(text("Why"), name="why"), _why),
    )


def _why(one: Requoted) -> Cell:
    first, *more = reasons(one) or ("",)
    return Cell(first, below=tuple(more), look="" if one.goes else "alarm")


def _signed(amount: Money | None) -> str | None:
    return None if amount is None else text("{amount:signed}", amount=amount)


def more_quotes(answer: RequoteAnswer, most: int) -> str:
    """How many quotes that are not what they were are not listed; empty for none."""
    more = answer.count - answer.unchanged - min(most, len(answer.quotes))
    if not more:
        return ""
    if answer.from_folder:
        return text(
            "{n} more file is not listed here: a report as .csv or .json has all of them",
            "{n} more files are not listed here: a report as .csv or .json has all of them",
            n=more,
        )
    return text(
        "{n} more quote is not listed here: a report as .csv or .json has all of them",
        "{n} more quotes are not listed here: a report as .csv or .json has all of them",
        n=more,
    )


def reasons(one: Requoted) -> tuple[str, ...]:
    """Why a quote is not what it was: what keeps it from being read, stops it, or changed."""
    kept = tuple(problem.sentence for problem in one.problems)
    return (*kept, *(stop.sentence for stop in one.stops), *_lines(one.changed))


def _lines(changed: tuple[ChangedLine, ...]) -> Iterator[str]:
    largest = sorted(changed, key=lambda line: -abs(line.difference.amount))
    for line in largest[:_LINES]:
        yield text("{title}: {change:signed}", title=line.title, change=line.difference)
    if len(changed) > _LINES:
        n = len(changed) - _LINES
        yield text("{n} line more", "{n} lines more", n=n)
