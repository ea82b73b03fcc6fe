"""What a check finds as a report, and the lists of what a catalogue offers."""

from __future__ import annotations

from collections.abc import Iterable

from configurator.answers.values import Choices, OfferedChoice, OfferedOption
from configurator.catalogue.fields import Pick
from configurator.checking.check import Check
from configurator.report.model import (
    ALARM,
    FAINT,
    Block,
    Body,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    Table,
)
from configurator.totals import LimitState
from configurator.words import shown_unit, text


def check_report(checked: Check) -> Report:
    """The findings, then how the limits stand, then what is to be said of all such figures."""
    stops = len(checked.stops)
    told = "Nothing stops a quote."
    if stops:
        told = f"{stops} finding stops a quote" if stops == 1 else f"{stops} findings stop a quote"
    return (
        (Paragraph(told),),
        *((finding,) for finding in checked.findings),
        (limits_table(checked.limits),) if checked.limits else (),
        tuple(Paragraph(caution, FAINT) for caution in checked.beside),
    )


def limits_table(limits: Iterable[LimitState]) -> Table:
    """How limits stand: what is used of each, what is available, and what remains."""
    figures = (text("Used"), text("Available"), text("Remaining"))
    columns = (Column(text("Limit")), *(Column(title, "figure", 2, "of") for title in figures))
    return Table(columns, (Body(map(_limit, limits)),))


def _title(state: LimitState) -> str:
    limit = state.limit
    if limit.unit in limit.title.lower().split():
        return limit.title
    return text("{limit}, {unit}", limit=limit.title, unit=shown_unit(limit.unit))


def _limit(state: LimitState) -> Row:
    used, available, remaining = state.shown
    return Row(
        (_title(state), used, available, Cell(remaining, look=ALARM if remaining < 0 else ""))
    )


def choices_report(found: Choices) -> Report:
    """The choices with their ids."""
    columns = (Column("Id"), Column("Choice"), Column("Pick"), Column("Options", "figure"))
    rows = (
        Row((c.choice, c.title, c.pick.replace("-", " "), len(c.options))) for c in found.choices
    )
    return ((Table(columns, (Body(rows),)),),)


def options_report(found: Choices) -> Report:
    """The options of choices with their ids and prices."""

    def row(choice: OfferedChoice, option: OfferedOption) -> Row:
        title = f"{option.title}: {option.text}" if option.text else option.title
        price = "" if not option.priced else option.price_in_words
        return Row(
            (
                str(Pick(choice.choice, option.option)),
                title,
                text("open") if price is None else price,
            )
        )

    def table(choice: OfferedChoice) -> Block:
        columns = (Column("Pick as"), Column(choice.title), Column(found.currency, "figure"))
        return Table(columns, (Body(row(choice, option) for option in choice.options),))

    return (tuple(map(table, found.choices)),)
