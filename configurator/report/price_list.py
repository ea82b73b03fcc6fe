"""What a price list changes, as a report for the shop's eyes."""

from __future__ import annotations

from configurator.report.model import (
    ALARM,
    FAINT,
    STRONG,
    Block,
    Body,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    Table,
)
from configurator.suppliers.amounts import COST
from configurator.suppliers.update import PriceChange, PriceUpdate
from configurator.words import Text, text

_MOST_UNKNOWN = 20
"""Codes without anything like them in the catalogue that are listed: suppliers have thousands."""


def price_list_report(update: PriceUpdate) -> Report:
    """What changes; what to look at; what is not in the list, or not in the catalogue."""
    sections = (
        (Paragraph(_head(update)),),
        _changes(update),
        _refused(update),
        _near(update),
        _lacking(update),
        (Paragraph(_end(update), STRONG), Paragraph(text("For the shop's eyes only."), FAINT)),
    )
    return tuple(filter(None, sections))


def _head(update: PriceUpdate) -> Text:
    rows = text("{n} row", "{n} rows", n=update.rows)
    if not update.supplier:
        return text("{sheet}: {rows}", sheet=update.sheet, rows=rows)
    return text(
        "{supplier}, {sheet}: {rows}", supplier=update.supplier, sheet=update.sheet, rows=rows
    )


def _changes(update: PriceUpdate) -> tuple[Block, ...]:
    if not update.changes:
        return ()
    currency = update.changes[0].new.currency
    columns = (
        Column(text("Changes")),
        Column(text("Code")),
        Column(text("Old {currency}", currency=currency), "figure", 2),
        Column(text("New {currency}", currency=currency), "figure", 2),
        Column(text("%"), "figure", 1),
        Column(text("Margin, %"), "figure", 1),
        Column(text("Line")),
    )
    files = {change.at.file for change in update.changes}
    margins = any(change.margin is not None for change in update.changes)
    shown = [column for column in columns if margins or column is not columns[5]]

    def row(change: PriceChange) -> Row:
        line = str(change.at.line) if len(files) == 1 else f"{change.at.file}:{change.at.line}"
        cells = [
            Cell(_named(change)),
            Cell(change.code),
            Cell(change.old),
            Cell(change.new),
            Cell(change.percent, look=ALARM if change.large else ""),
            Cell(change.margin, look=ALARM if change.thin else ""),
            Cell(line),
        ]
        return Row(tuple(c for c, of in zip(cells, columns, strict=True) if of in shown))

    return (Table(tuple(shown), (Body(map(row, update.changes)),)),)


def _named(change: PriceChange) -> Text:
    """The item, and which of its figures it is."""
    what = text("cost") if change.sets == COST else text("price")
    if change.part:
        return text("{item}, {what}, {part}", item=change.item, what=what, part=change.part)
    return text("{item}, {what}", item=change.item, what=what)


def _refused(update: PriceUpdate) -> tuple[Block, ...]:
    found = []
    for one in update.refused:
        said = text(
            "{cell}: {code}: {sentence}", cell=one.cell, code=one.code, sentence=one.sentence
        )
        found += [Paragraph(said), Paragraph(one.hint, FAINT, depth=1)]
    if not found:
        return ()
    head = text("Not used, and left as in the catalogue:")
    return (Paragraph(head, STRONG), *found)


def _near(update: PriceUpdate) -> tuple[Block, ...]:
    """Codes of the list that the catalogue does not have; those first that it nearly has."""
    if not update.unknown:
        return ()
    near = [one for one in update.unknown if one.near]
    others = [one for one in update.unknown if not one.near]
    listed = (*near, *others[: max(0, _MOST_UNKNOWN - len(near))])
    columns = (
        Column(text("Codes that the catalogue does not have")),
        Column(text("Cell")),
        Column(text("In the list")),
        Column(text("In the catalogue and not in the list")),
    )
    rows = (Row((one.code, one.cell, one.title, ", ".join(one.near))) for one in listed)
    table = Table(columns, (Body(rows),))
    more = len(update.unknown) - len(listed)
    if not more:
        return (table,)
    return (table, Paragraph(text("and {n} more code", "and {n} more codes", n=more), FAINT))


def _lacking(update: PriceUpdate) -> tuple[Block, ...]:
    if not update.lacking:
        return ()
    columns = (
        Column(text("Not in the list")),
        Column(text("Code")),
        Column(text("Title")),
        Column(text("Line")),
    )
    rows = (Row((one.item, one.code, one.title, str(one.at.line))) for one in update.lacking)
    return (Table(columns, (Body(rows),)),)


def _end(update: PriceUpdate) -> Text:
    count = len(update.changes)
    same = text("{n} figure is as it was", "{n} figures are as they were", n=update.unchanged)
    if not count:
        return text("Nothing changes: {same}.", same=same)
    changes = text("{n} figure changes", "{n} figures change", n=count)
    if update.written:
        changes = text("{n} figure changed", "{n} figures changed", n=count)
        return text("Written: {changes}; {same}.", changes=changes, same=same)
    if update.held:
        return text(
            "Nothing is written: {n} change is larger than the map lets pass. Check it, then write "
            "with --accept-large.",
            "Nothing is written: {n} changes are larger than the map lets pass. Check them, then "
            "write with --accept-large.",
            n=update.large,
        )
    return text(
        "Not written yet: {changes}; {same}. Write with --write.", changes=changes, same=same
    )
