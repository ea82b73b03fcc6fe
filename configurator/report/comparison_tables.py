"""A comparison as a report: who is who, where they differ, where the money goes, what remains."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from configurator.catalogue.model import VEHICLE
from configurator.fit.layout import Placement
from configurator.money import Money
from configurator.pricing.price import Price
from configurator.report.comparison import (
    DAYS,
    MASS,
    OPEN_SPACE,
    Compared,
    ComparedChoice,
    ComparedFigure,
    Comparison,
    left_of,
)
from configurator.report.model import (
    Block,
    Cell,
    Chart,
    ChartBar,
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    Value,
    with_unit,
)
from configurator.words import itemised, joined, letter, text

_SIDE_BY_SIDE = 3
"""With more columns than these, a terminal lists what they have answer by answer."""


def _letters(comparison: Comparison) -> list[str]:
    return [letter(index) for index in range(len(comparison.columns))]


def _compared_table(comparison: Comparison) -> Table:
    """What is compared: each with its letter, its total, and the difference to the first."""
    first = comparison.columns[0].price
    columns = (
        Column(text("No."), "number", name="name"),
        Column(text("Package")),
        Column(
            text("{currency} incl. {tax}", currency=first.currency, tax=first.tax_name),
            "figure",
            name="number",
        ),
        Column(text("Against A"), "figure", name="number"),
    )
    rows = []
    for index, column in enumerate(comparison.columns):
        stopped = text("cannot be quoted as it is; the reasons are below")
        title = Cell(column.title, below=(stopped,) if column.stops else ())
        total = Cell(_total(column.price), look="faint" if column.stops else "")
        against = _signed(column.difference) if index else None
        rows.append(Row((letter(index), title, total, against)))
    return Table(columns, (RowGroup(rows),))


def _total(price: Price) -> Value:
    if price.so_far:
        return text("so far {total:amount}", total=price.total)
    return text("from {total:amount}", total=price.total) if price.is_from else price.total


def _signed(change: Money | Decimal) -> str:
    return text("{change:signed}", change=change)


def differing_table(comparison: Comparison) -> Table:
    """The choices that differ, by group, with what each selection has in them."""
    heads = (Column(letter_, name="text") for letter_ in _letters(comparison))
    columns = (Column(text("Choice"), name="first"), *heads)
    bodies = (
        RowGroup((Row((row.title, *_answers(row))) for row in rows), group)
        for group, rows in comparison.differing
    )
    return Table(columns, tuple(bodies), apart=True, name="words")


def _answers(row: ComparedChoice) -> Iterator[Cell]:
    told = zip(row.has, row.amounts, row.differences, row.unpriced, strict=True)
    for index, (has, amount, difference, unpriced) in enumerate(told):
        if not has:
            change = (text("({change:signed})", change=difference),) if difference else ()
            yield Cell(text("none"), below=change)
        elif index and (has, amount) == (row.has[0], row.amounts[0]):
            yield Cell(text("as A"), look="faint")
        else:
            yield Cell(
                itemised(has), below=tuple(_cost(row, amount, unpriced, index and difference))
            )


def _cost(
    row: ComparedChoice, amount: Money | None, unpriced: str, difference: Money | int | None
) -> Iterator[str]:
    if amount is not None and not amount:
        told = text("included") if row.choice != VEHICLE else ""
    else:
        told = unpriced if amount is None else text("{amount:amount}", amount=amount)
    if difference:
        told = text("{told} ({change:signed})", told=told, change=difference)
    if told:
        yield told


def money_table(comparison: Comparison) -> Table:
    """Where the money of each selection goes, every part of its total; with the difference to A."""
    rows = [
        Row((title, *(_against(amount, amounts[0]) for amount in amounts)))
        for title, amounts in comparison.money
    ]
    first = comparison.columns[0].price
    stopped = text("cannot be quoted")
    totals = (
        Cell(
            _total(column.price),
            below=(_signed(column.difference),) if column.difference else (),
            note=stopped if column.stops else "",
        )
        for column in comparison.columns
    )
    rows.append(Row((text("Total including {tax}", tax=first.tax_name), *totals), "subtotal"))
    return _figures_table(first.currency, comparison, rows, digits=2)


def _against(amount: Money, first: Money) -> Cell:
    return Cell(amount, below=() if amount == first else (_signed(amount - first),))


def glance_table(comparison: Comparison) -> Table:
    """Whether each can be built, its price, mass, payload, open space and days, side by side."""
    columns = comparison.columns
    first = columns[0].price
    totals = (
        Cell(_total(column.price), look="faint" if column.stops else "strong") for column in columns
    )
    against = (_signed(c.difference) if index else None for index, c in enumerate(columns))
    why = text("cannot be quoted as it is; the reasons are below")
    total = text("Total including {tax}", tax=first.tax_name)
    built = (Cell(text("no"), note=why) if c.stops else text("yes") for c in columns)
    rows = [
        Row((text("Package"), *(column.title for column in columns))),
        Row((with_unit(total, first.currency), *totals)),
        Row((with_unit(text("Against A"), first.currency), *against)),
        Row((text("Can be built as it is"), *built)),
    ]
    glance = _glance(comparison)
    rows += [_figure(comparison, one) for one in comparison.figures if one.id in glance]
    return _figures_table(text("Figure"), comparison, rows)


def _glance(comparison: Comparison) -> set[str]:
    loads = {left_of(s.limit) for c in comparison.columns for s in c.limits if s.limit.of_mass}
    return {MASS, OPEN_SPACE, DAYS, *loads}


def _every_figure(comparison: Comparison) -> Table:
    """Mass, what remains of each limit, volume and power, with the difference to the first."""
    rows = [_figure(comparison, one) for one in comparison.figures]
    return _figures_table(text("Figure"), comparison, rows)


def differing_figures(comparison: Comparison) -> Table:
    """The figures that differ and are not on the first page."""
    glance = _glance(comparison)
    rest = [f for f in comparison.figures if f.id not in glance and len(set(f.values)) > 1]
    return _figures_table(text("Figure"), comparison, [_figure(comparison, one) for one in rest])


def _figure(comparison: Comparison, figure: ComparedFigure) -> Row:
    cells = (
        _not_counted(column, figure.id)
        if value is None
        else Cell(value, below=(_signed(difference),) if index and difference else ())
        for index, (column, value, difference) in enumerate(
            zip(comparison.columns, figure.values, figure.differences, strict=True)
        )
    )
    return Row((with_unit(figure.title, figure.unit), *cells))


def _not_counted(column: Compared, figure: str) -> Cell:
    """In place of a figure that a package does not have, with why where that is known."""
    if any(figure == left_of(state.limit) for state in column.limits if not state.used):
        return Cell(text("not used"))
    unplaced = figure == OPEN_SPACE and column.drawn.layout is None
    return Cell(text("not counted"), more=(text("no layout"),) if unplaced else ())


def places_table(comparison: Comparison) -> Table:
    """Units that all of them have and that do not stand in the same place in all."""
    layouts = [column.drawn.layout for column in comparison.columns]
    found = [{p.name: p for p in layout.placements} if layout else {} for layout in layouts]
    rows = []
    for name, placed in found[0].items():
        others = [units.get(name) for units in found]
        places = {(p.space, p.x, p.y, p.z) for p in others if p is not None}
        if None not in others and len(places) > 1:
            rows.append(Row((placed.title, *(_place(p) for p in others if p is not None))))
    heads = (Column(name, name="text") for name in _letters(comparison))
    return Table((Column(text("Unit"), name="first"), *heads), (RowGroup(rows),), name="words")


def _place(p: Placement) -> str:
    side = {"left": text("on the left"), "right": text("on the right")}.get(p.side, text("rear"))
    behind = text("{x} mm behind the front wall, {z} mm up", x=p.x, z=p.z)
    return joined((side, behind))


def _figures_table(
    head: str, comparison: Comparison, rows: Sequence[Row], digits: int | None = None
) -> Table:
    """A column of figures for each; their decimals are aligned where all are amounts."""
    heads = (Column(name, "figure", digits, "amount") for name in _letters(comparison))
    return Table((Column(head, name="first"), *heads), (RowGroup(rows),))


def money_chart(comparison: Comparison) -> Chart:
    """A bar for each group and each amount that some selection has in it."""
    return Chart(
        title=text(
            "Where the money goes, {currency}", currency=comparison.columns[0].price.currency
        ),
        groups=tuple((title, tuple(_bars(amounts))) for title, amounts in comparison.money),
        note=text("Bars are to one scale; hollow bars are taken off."),
    )


def _bars(amounts: Sequence[Money]) -> Iterator[ChartBar]:
    """A bar for each different amount, with the letters of the columns that have it."""
    found: dict[Money, list[str]] = {}
    for index, amount in enumerate(amounts):
        found.setdefault(amount, []).append(letter(index))
    for amount, letters in found.items():
        hollow = amount.amount < 0
        yield ChartBar(" ".join(letters), amount, Decimal(0), abs(amount.amount), hollow)


def _besides_told(comparison: Comparison) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What one has and the other lacks, under a heading each.

    Empty where each choice has one thing at most: then it is what the choices say already.
    """
    if not any(len(has) > 1 for row in comparison.choices if row.differs for has in row.has):
        return
    for name, besides in zip(_letters(comparison), comparison.besides, strict=True):
        if besides.has:
            yield text("{name} has, A lacks", name=name), besides.has
        if besides.lacks:
            yield text("A has, {name} lacks", name=name), besides.lacks


def _headed(heading: str, titles: Iterable[str]) -> Paragraph:
    return Paragraph(joined((heading, itemised(titles)), ": "))


def comparison_report(comparison: Comparison) -> Report:
    """Who is who, then differences, then where the money goes."""
    names = _letters(comparison)
    stops = (
        Paragraph(text("{name} cannot be quoted: {sentence}.", name=name, sentence=sentence))
        for name, column in zip(names, comparison.columns, strict=True)
        for sentence in column.stops
    )
    same = [row.title for row in comparison.choices if not row.differs]
    differing: tuple[Block, ...] = (Paragraph(text("The packages have the same picks.")),)
    heading = text("Where they differ")
    if comparison.differing and len(names) <= _SIDE_BY_SIDE:
        differing = (Paragraph(heading, "strong"), differing_table(comparison))
    elif comparison.differing:
        differing = (Paragraph(heading, "strong"), *_one_by_one(comparison))
    return (
        (_compared_table(comparison),),
        tuple(stops),
        (*differing, *((_headed(text("The same in all"), same),) if same else ())),
        tuple(_headed(heading, titles) for heading, titles in _besides_told(comparison)),
        (money_table(comparison),),
        (_every_figure(comparison),),
        (money_chart(comparison),),
    )


def _one_by_one(comparison: Comparison) -> Iterator[Block]:
    """Each choice that differs: its answers, who gives each, its cost, the difference to A."""
    for _, of_group in comparison.differing:
        for row in of_group:
            named = row.group == row.title
            yield Paragraph(row.title if named else f"{row.group}: {row.title}")
            first = row.amounts[0]
            rows = []
            for who, has, amount in row.answers:
                change = None
                if first is not None and amount is not None and 0 not in who:
                    change = _signed(amount - first)
                letters = "  " + " ".join(map(letter, who))
                shown = (row.unpriced[who[0]] if amount is None else amount) if has else None
                rows.append(Row((letters, itemised(has) if has else text("none"), shown, change)))
            columns = (Column(), Column(), Column(kind="figure"), Column(kind="figure"))
            yield Table(columns, (RowGroup(rows),), heads=False, wide=True)
