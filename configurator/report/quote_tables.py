"""What only a quote shows: the package in ten lines, and at a glance what it carries and lasts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from math import ceil

from attrs import evolve

from configurator.mass.states import MassPicture
from configurator.power.picture import PowerPicture
from configurator.pricing.lines import Line
from configurator.pricing.price import Price
from configurator.report.mass import LOADS
from configurator.report.model import Cell, Column, Row, RowGroup, Table, Value
from configurator.report.price import counted_title, customer_table, price_sums
from configurator.report.quote import Quote
from configurator.words import SOURCE, Speech, joined, left, shown, text, used

_LINES = 10
"""The most lines that say what the package is."""

_LETTERS = 64
"""Letters of what a line names beside the picture."""


_TALLEST, _NARROW = 50, 42
"""Lines of a column of the package that leave room on a page for the sums, and their letters."""


def in_brief(quote: Quote) -> Table:
    """The vehicle, each group by what costs most in it, and the mass: ten lines at most."""
    rows = [Row((text("Vehicle"), quote.vehicle))]
    worth = [group for group in quote.price.groups if any(_costs(line) for line in group.lines)]
    most = sorted(worth, key=lambda group: -group.subtotal.amount)[: _LINES - 2]
    rows += (Row((group.title, _named(group.lines))) for group in worth if group in most)
    if quote.added:
        both = {"mass": Decimal(quote.added), "full": used(quote.mass.added)}
        told = text("about {mass} kg empty, {full} kg loaded", **both)
        rows.append(Row((text("Added mass"), told)))
    return Table((Column(name="brief"), Column()), (RowGroup(rows),), heads=False, name="facts")


def package_columns(price: Price, speech: Speech = SOURCE) -> tuple[Table, ...]:
    """The package by group: two tables side by side, or one where it is too long for that.

    Only the one has room for what the catalogue says of each thing. Its sums are its last rows, so
    that no page parts them.

    Args:
        price: what is priced.
        speech: the language in which two tables are to be equally long.
    """
    narrow = customer_table(price, noted=False)
    tall = [sum((_lines_of(row, speech) for row in body.rows), 1.6) for body in narrow.bodies]
    half = min(range(len(tall) + 1), key=lambda n: max(sum(tall[:n]), sum(tall[n:])))
    if 0 < half < len(tall) and sum(tall[:half]) < _TALLEST > sum(tall[half:]):
        parts = narrow.bodies[:half], narrow.bodies[half:]
        return tuple(evolve(narrow, bodies=bodies) for bodies in parts)
    wide = customer_table(price, noted=True)
    return (evolve(wide, bodies=(*wide.bodies, *price_sums(price).bodies)),)


def _lines_of(row: Row, speech: Speech) -> float:
    """About how many lines of a narrow column a row takes."""
    cell = row.cells[0]
    letters: float = len(speech.written(cell.value))
    letters += sum(0.85 * len(speech.say(more)) for more in cell.more)
    return 0.2 + ceil(letters / _NARROW)


def _named(lines: Iterable[Line]) -> str:
    """The titles of lines, the most expensive first, as many as have room, and how many more."""
    ranked = sorted(lines, key=lambda x: -(x.amount.amount if x.amount else Decimal(0)))
    worth = [line for line in ranked if _costs(line)]
    named: list[str] = []
    for line in worth:
        title = counted_title(line)
        if named and sum(map(len, named)) + 2 * len(named) + len(title) > _LETTERS:
            break
        named.append(title)
    told, more = joined(named, "; "), len(worth) - len(named)
    return text("{titles}; and {n} more", titles=told, n=more) if more else told


def _costs(line: Line) -> bool:
    """Whether it costs anything, as far as is known."""
    return line.amount is None or bool(line.amount)


def standing_table(mass: MassPicture, power: PowerPicture) -> Table:
    """What is used, of how much, and what remains, each with its bar: loads and the battery."""
    columns = (
        Column(text("Estimated, fully loaded")),
        Column(text("Used"), "figure", 1, "of"),
        Column(text("Of"), "figure", 1, "of"),
        Column(text("Remaining"), "figure", 1, "of"),
        Column(text("Share used"), "share", name="bars"),
    )
    return Table(columns, (RowGroup((*_loads(mass), *_charge(power))),), name="standing")


def _loads(mass: MassPicture) -> Iterator[Row]:
    yield _standing(text("Payload, kg"), mass.payload_used, mass.payload)
    if mass.left_towing is not None and mass.trailer is not None:
        title = text(
            "Payload with {download} kg on the tow ball, kg", download=used(mass.trailer.download)
        )
        rest = Cell(left(mass.left_towing), look="alarm" if mass.left_towing < 0 else "")
        yield Row((title, None, left(mass.payload), rest, None))
    stated = mass.trailer is not None and mass.trailer.stated
    states = [s for s in mass.states if s.id != "towing" or stated]
    for subject, named in LOADS.items():
        bars = [bar for state in states for bar in state.bars if bar.subject == subject]
        if bars:
            bar = max(bars, key=lambda one: one.load)
            load = text("lifted") if bar.load < 0 else None
            title = text("{load}, kg", load=named)
            yield _standing(title, max(bar.load, Fraction(0)), bar.rating, load)
    if mass.trailer is not None and not stated:
        rated, most = mass.trailer.rated_download, mass.trailer.most_download
        title = text("Tow-ball download, in this layout, kg")
        yield Row((title, None, left(rated), left(most), None))


def _standing(title: str, load: Fraction, most: Fraction, said: Value = None) -> Row:
    rest = Cell(left(most - load), look="alarm" if load > most else "")
    share = used(100 * load / most, 0) if most else Decimal(0)
    return Row((title, used(load) if said is None else said, left(most), rest, share))


def _charge(exact: PowerPicture) -> Iterator[Row]:
    power = shown(exact)
    if power.days_alone is None or not exact.usable:
        return
    share = used(100 * Fraction(exact.daily) / Fraction(exact.usable), 0)
    days = text("{n} day", "{n} days", n=power.days_alone)
    used_up = text("{daily} Ah a day", daily=power.daily)
    usable = text("{usable} Ah", usable=power.usable)
    yield Row((text("Battery, without charging"), used_up, usable, days, share))


def facts_told(rows: Iterable[Row]) -> str:
    """Facts in a row, each with its figure."""
    told = (text("{fact}: {figure}", fact=r.cells[0].value, figure=r.cells[1].value) for r in rows)
    return text("{facts}.", facts=joined(told, "; "))


def dates_table(quote: Quote, said: Callable[[dt.date], str]) -> Table:
    """The days that are agreed, the first of them first, each as ``said`` writes it."""
    rows = []
    for planned in sorted(quote.selection.dates, key=lambda one: (one.day, one.until)):
        when = said(dt.date.fromisoformat(planned.day))
        if planned.until:
            last = said(dt.date.fromisoformat(planned.until))
            when = text("{first} to {last}", first=when, last=last)
        what = planned.title or text("Payment: {title}", title=planned.payment)
        rows.append(Row((what, when)))
    return Table(
        (Column(text("What")), Column(text("Date"))), (RowGroup(tuple(rows)),), name="lines"
    )
