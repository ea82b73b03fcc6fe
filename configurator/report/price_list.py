"""What a price list changes, as a report for the shop's eyes."""

from __future__ import annotations

import re
from itertools import groupby

from configurator.errors import Location
from configurator.report.model import (
    Block,
    Cell,
    Column,
    Paragraph,
    Report,
    grouped_table,
    table_of,
)
from configurator.suppliers.amounts import COST, PRICE
from configurator.suppliers.update import PriceChange, PriceUpdate
from configurator.words import Text, joined, text

_MOST_UNKNOWN = 20
"""Codes without anything like them in the catalogue that are listed: suppliers have thousands."""


def price_list_report(update: PriceUpdate) -> Report:
    """What changes; what to look at; what is not in the list, or not in the catalogue."""
    sections = (
        (Paragraph(_head(update)),),
        _changes(update),
        _pointed_out(update),
        _refused(update),
        _near(update),
        _lacking(update),
        (Paragraph(_end(update), "strong"), Paragraph(text("For the shop's eyes only."), "faint")),
    )
    return tuple(filter(None, sections))


def _head(update: PriceUpdate) -> Text:
    rows = text("{n} row", "{n} rows", n=update.rows)
    return joined((*filter(None, (update.supplier, update.sheet)), rows))


def _changes(update: PriceUpdate) -> tuple[Block, ...]:
    """Old and new figures, what of each item together."""
    if not update.changes:
        return ()
    currency = update.changes[0].new.currency
    named = {COST: text("Cost"), PRICE: text("Price")}
    kinds = {change.sets for change in update.changes}
    alone = named[min(kinds)] if len(kinds) == 1 else None

    def item(change: PriceChange) -> str:
        return joined((change.code or change.item, change.title))

    def what(change: PriceChange) -> str:
        title = item(change) if alone else named[change.sets]
        return joined((title, change.part)) if change.part else title

    groups = [("", update.changes)]
    if not alone:
        found = (tuple(group) for _, group in groupby(update.changes, lambda c: c.item))
        groups = [(item(changes[0]), changes) for changes in found]
    table = grouped_table(
        groups,
        (Column(alone or text("Changes")), what),
        (Column(text("Old {currency}", currency=currency), "figure", 2), lambda c: c.old),
        (Column(text("New {currency}", currency=currency), "figure", 2), lambda c: c.new),
        (Column("%", "figure", 1), lambda c: Cell(c.percent, look="alarm" if c.large else "")),
        (
            Column(text("Margin, %"), "figure", 1),
            lambda c: Cell(c.margin, look="alarm" if c.thin else ""),
        ),
        (Column(text("Line")), lambda c: _line(c.at)),
    )
    return (table,)


def _pointed_out(update: PriceUpdate) -> tuple[Block, ...]:
    """What the map asks to have pointed out."""
    large = [change for change in update.changes if change.large]
    thin = {change.code or change.item: change.margin for change in update.changes if change.thin}
    found = []
    if large:
        names = joined(f"{one.code or one.item} ({one.percent}%)" for one in large)
        found.append(Paragraph(text("Larger than the map allows: {names}", names=names), "strong"))
    if thin:
        names = joined(f"{name} ({margin}%)" for name, margin in thin.items())
        found.append(
            Paragraph(text("Margin lower than the map asks: {names}", names=names), "strong")
        )
    return tuple(found)


def _line(at: Location) -> str:
    """The line, and which of the catalogue's files it is in."""
    name = re.split(r"[/\\]", at.path)[-1]
    return f"{name}:{at.line}"


def _refused(update: PriceUpdate) -> tuple[Block, ...]:
    found = []
    for one in update.refused:
        said = joined((one.cell, one.code, one.sentence), ": ")
        found += [Paragraph(said), Paragraph(one.hint, "faint", depth=1)]
    if not found:
        return ()
    head = text("Not used, and left as in the catalogue:")
    return (Paragraph(head, "strong"), *found)


def _near(update: PriceUpdate) -> tuple[Block, ...]:
    """Codes of the list that the catalogue does not have; those first that it nearly has."""
    if not update.unknown:
        return ()
    near = [one for one in update.unknown if one.near]
    others = [one for one in update.unknown if not one.near]
    listed = (*near, *others[: max(0, _MOST_UNKNOWN - len(near))])
    table = table_of(
        listed,
        (Column(text("Not in the catalogue")), lambda one: one.code),
        (Column(text("Cell")), lambda one: one.cell),
        (Column(text("Title")), lambda one: one.title),
        (Column(text("Near miss, not taken")), lambda one: ", ".join(one.near)),
    )
    more = len(update.unknown) - len(listed)
    if not more:
        return (table,)
    return (table, Paragraph(text("and {n} more code", "and {n} more codes", n=more), "faint"))


def _lacking(update: PriceUpdate) -> tuple[Block, ...]:
    if not update.lacking:
        return ()
    table = table_of(
        update.lacking,
        (Column(text("Not in the list")), lambda one: one.code or one.item),
        (Column(text("Title")), lambda one: one.title),
        (Column(text("Line")), lambda one: _line(one.at)),
    )
    return (table,)


def _end(update: PriceUpdate) -> Text:
    count = len(update.changes)
    if not count:
        return text(
            "Nothing changes: {n} figure is as it was.",
            "Nothing changes: {n} figures are as they were.",
            n=update.unchanged,
        )
    if update.written:
        return text("Written: {n} new figure.", "Written: {n} new figures.", n=count)
    if update.held:
        return text(
            "Nothing is written: {n} change is larger than the map allows. Check it, then write "
            "with --accept-large.",
            "Nothing is written: {n} changes are larger than the map allows. Check them, then "
            "write with --accept-large.",
            n=update.large,
        )
    return text(
        "Not written yet: {n} new figure. Write it with --write.",
        "Not written yet: {n} new figures. Write them with --write.",
        n=count,
    )
