"""For the shop's eyes: the order list, and what a package costs and earns.

The order list says what is bought from whom, and what is made or taken from stock; without cost it
goes to suppliers. No paper of a customer's imports this, and a test reads the imports to keep it
so. Costs are without tax.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from decimal import Decimal

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import FREE_LINE, VEHICLE, Catalogue, Option, Trade
from configurator.catalogue.parts import FixedPrice, Measured as MeasuredPart, Part
from configurator.money import Money
from configurator.pricing.margin import Margin, margin
from configurator.report.cuts import CutList
from configurator.report.model import (
    Block,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    Value,
    table_of,
)
from configurator.report.sheet_head import DONE, SheetHead, sizes
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, measure
from configurator.shapes.forms import Unpacked, form
from configurator.words import in_unit, itemised, joined, shown_unit, text


@form()
@frozen
class Measured(Unpacked):
    """How much of a part there is to be.

    Attributes:
        size: how much.
        unit: its unit.
    """

    size: Decimal
    unit: str


@form()
@frozen
class OrderRow:
    """One part.

    Attributes:
        code: the supplier's own part number, or empty.
        titles: as the catalogue has it; of one part under several titles, all of them.
        picks: ``choice=option`` of each option that asks for it.
        quantity: how many in all, or how much of what is sold by measure.
        unit: what that is measured in; empty for pieces.
        measures: how much of it there is to be, as number and unit, where it goes by measure.
        cost: of all; None when it is not asked for or nobody has said.
    """

    code: str
    titles: tuple[str, ...]
    picks: tuple[str, ...]
    quantity: int | Decimal
    unit: str
    measures: tuple[Measured, ...]
    cost: Money | None


@form(keys={"listed": "from-catalogue", "rows": "parts"})
@frozen
class OrderGroup:
    """Everything from one supplier.

    Attributes:
        supplier: its name; empty for what is made or taken from stock.
        listed: whether the catalogue has the parts; free lines are in a group of their own.
        rows: by part number, then title.
        cost: of the parts whose cost is known; None when it is not asked for.
        unknown: titles of those whose cost nobody has said; empty when it is not asked for.
    """

    supplier: str
    listed: bool
    rows: tuple[OrderRow, ...]
    cost: Money | None
    unknown: tuple[str, ...]

    @property
    def known(self) -> bool:
        """Whether the cost of any of its parts is known."""
        return any(row.cost is not None for row in self.rows)


@form()
@frozen
class StockRow:
    """Stock sheets or bars of one size that the cut list takes.

    Attributes:
        stock: title of the stock.
        count: how many.
        length: mm.
        width: mm; None for a bar.
    """

    stock: str
    count: int
    length: int
    width: int | None


@form("orders", also="unknown", inline="head")
@frozen
class OrderList:
    """Everything that is on an order list.

    Attributes:
        head: number, date, vehicle, customer.
        groups: by supplier, by name; then what is made or taken from stock, then free lines.
        stock: sheets and bars that the cut list takes, whole; empty where there is no cut list.
        bare: titles of what is picked and brings no part of its own, such as a size.
        with_cost: whether it says what the shop pays.
        cost: of everything with a known cost; None when it is not asked for.
        currency: of every cost.
    """

    head: SheetHead
    groups: tuple[OrderGroup, ...]
    stock: tuple[StockRow, ...]
    bare: tuple[str, ...]
    with_cost: bool
    cost: Money | None
    currency: str

    @property
    def unknown(self) -> tuple[str, ...]:
        """Titles of every part that :attr:`cost` does not count, because nobody has said it."""
        return tuple(title for group in self.groups for title in group.unknown)


def order_list(
    build: Resolved, head: SheetHead, cuts: CutList | None = None, with_cost: bool = False
) -> OrderList:
    """The order list of a job.

    Args:
        build: what is picked.
        head: that of ``sheet_head``.
        cuts: its cut list, whose sheets and bars are listed too.
        with_cost: whether it says what the shop pays.
    """
    costs = {line.line.key: line.cost for line in margin(build).lines} if with_cost else {}
    found: dict[tuple[bool, str], dict[tuple[str, str], OrderRow]] = {}
    bare = []
    for choice, option, quantity in build.picks:
        if choice.id == VEHICLE:
            continue
        trade = build.catalogue.trade_of(choice.id, option.id)
        if choice.id != FREE_LINE and not _is_part(option, trade):
            bare.append(option.title)
            continue
        pick = str(Pick(choice.id, option.id))
        row = OrderRow(
            code=trade.supplier_code,
            titles=(option.title,),
            picks=(pick,),
            quantity=quantity if option.measured is None else quantity * option.measured,
            unit="" if option.sold_by is None else option.sold_by.unit,
            measures=tuple(_measures(build, (*trade.cost, *option.price), quantity)),
            cost=costs.get((choice.id, option.id)),
        )
        rows = found.setdefault((choice.id != FREE_LINE, trade.supplier), {})
        same = (trade.supplier_code, row.unit) if trade.supplier_code else ("", pick)
        rows[same] = _together(rows[same], row) if same in rows else row
    groups = tuple(
        _group(build.catalogue, supplier, listed, found[listed, supplier].values(), with_cost)
        for listed, supplier in sorted(found, key=lambda key: (not key[0], not key[1], key[1]))
    )
    return OrderList(
        head=head,
        groups=groups,
        stock=() if cuts is None else tuple(_stock(cuts)),
        bare=tuple(bare),
        with_cost=with_cost,
        cost=_sum(build.catalogue, (group.cost for group in groups)) if with_cost else None,
        currency=build.catalogue.currency,
    )


def _stock(cuts: CutList) -> Iterator[StockRow]:
    """Whole sheets and bars, by size in the order of the cut list."""
    found: dict[tuple[str, int, int | None], int] = {}
    taken = [((one.stock, one.length, one.width), one.count) for one in cuts.sheets]
    for size, count in (*taken, *(((one.stock, one.length, None), one.count) for one in cuts.bars)):
        found[size] = found.get(size, 0) + count
    for (stock, length, width), count in found.items():
        yield StockRow(stock, count, length, width)


def _is_part(option: Option, trade: Trade) -> bool:
    """Whether it is something to be bought or made, rather than a size or a colour."""
    told = (trade.supplier, trade.cost, option.mass, option.unit, option.power, option.work)
    return any(told) or any(
        not isinstance(part, FixedPrice) or part.amount for part in option.price
    )


def _measures(build: Resolved, parts: Iterable[Part], quantity: int) -> Iterator[Measured]:
    """How much of it there is to be, each measure once; none that the picks do not tell."""
    for name in dict.fromkeys(p.of for p in parts if isinstance(p, MeasuredPart)):
        with suppress(MissingPicks):
            size, unit = measure(build, name)
            yield Measured(size * quantity, unit)


def _together(one: OrderRow, other: OrderRow) -> OrderRow:
    """The same part asked for twice, as one row; its cost is known when both are."""
    cost = None
    if one.cost is not None and other.cost is not None:
        cost = one.cost + other.cost
    return OrderRow(
        code=one.code,
        titles=tuple(sorted({*one.titles, *other.titles})),
        picks=tuple(sorted((*one.picks, *other.picks))),
        quantity=one.quantity + other.quantity,
        unit=one.unit,
        measures=(*one.measures, *other.measures),
        cost=cost,
    )


def _group(
    catalogue: Catalogue,
    supplier: str,
    listed: bool,
    rows: Iterable[OrderRow],
    with_cost: bool,
) -> OrderGroup:
    ordered = tuple(sorted(rows, key=lambda row: (row.code, row.titles, row.picks)))
    return OrderGroup(
        supplier=supplier,
        listed=listed,
        rows=ordered,
        cost=_sum(catalogue, (row.cost for row in ordered)) if with_cost else None,
        unknown=tuple(
            title for row in ordered if with_cost and row.cost is None for title in row.titles
        ),
    )


def _sum(catalogue: Catalogue, costs: Iterable[Money | None]) -> Money:
    return Money.total((cost for cost in costs if cost is not None), catalogue.currency)


SUPPLIED = text("With cost: for the shop's eyes only.")


def orders_table(orders: OrderList) -> Table:
    """What is ordered, by supplier."""
    cost = (Column(text("Cost, {currency}", currency=orders.currency), "figure", name="cost"),)
    columns = (
        DONE[0],
        Column(text("Supplier's code"), "number", name="code"),
        Column(text("Qty"), "count", name="qty big"),
        Column(text("Part")),
        Column(text("Measure"), "figure", name="measure"),
        *(cost if orders.with_cost else ()),
    )
    bodies = tuple(_ordered(orders, group) for group in orders.groups)
    return Table(columns, bodies, name="orders")


STOCK = text(
    "Whole sheets and bars that the cut list takes: the metal of the parts above, waste included. "
    "Do not order it twice."
)


def stock_order(orders: OrderList) -> Table:
    """Sheets and bars to be bought or taken from stock."""
    return table_of(
        orders.stock,
        DONE,
        (Column(text("Qty"), "count", name="qty big"), lambda one: one.count),
        (Column(text("Stock")), lambda one: one.stock),
        (
            Column(text("Size, mm"), "figure", name="measure"),
            lambda one: one.length if one.width is None else sizes(one.length, one.width),
        ),
        name="orders",
    )


def _ordered(orders: OrderList, group: OrderGroup) -> RowGroup:
    supplier: str = group.supplier or text("Not from the catalogue")
    if not group.supplier and group.listed:
        supplier = text("Make, or take from stock")
    rows = []
    for row in group.rows:
        size = joined(
            text("{n} {unit}", n=one.size, unit=shown_unit(one.unit)) for one in row.measures
        )
        many = in_unit(row.quantity, row.unit) if row.unit else row.quantity
        cells: tuple[Value, ...] = (None, row.code, many, joined(row.titles, " / "), size)
        rows.append(Row((*cells, *((_or_unknown(row.cost),) if orders.with_cost else ()))))
    if orders.with_cost:
        without = (text("without what is not known"),) if group.unknown and group.known else ()
        total = Cell(text("Total: {supplier}", supplier=supplier), below=without)
        known = _or_unknown(group.cost if group.known else None)
        rows.append(Row((None, None, None, total, None, known), "subtotal"))
    return RowGroup(rows, supplier)


def _or_unknown(cost: Money | None) -> Value:
    return text("not known") if cost is None else cost


def orders_sum(orders: OrderList) -> Table:
    """What everything costs that is known; the figure says itself what it lacks."""
    missing = orders.unknown
    title = text("Total, {currency} without tax", currency=orders.currency)
    lacks: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    if missing:
        title = text("Known costs, {currency} without tax", currency=orders.currency)
        lacks = (text("+ {n} cost not known", "+ {n} costs not known", n=len(missing)),)
        told = joined(missing, "; ")
        parts = (text("not counting parts of unknown cost: {parts}", parts=told),)
    columns = (Column(), Column(kind="figure", name="cost"))
    row = Row((Cell(title, below=parts), Cell(orders.cost, below=lacks)), "grand")
    return Table(columns, (RowGroup([row]),), heads=False, name="sums")


def orders_report(orders: OrderList) -> Report:
    """The order list for a terminal."""
    head = Paragraph(text("Order list {number}", number=orders.head.number), "strong")
    bare = text("Also picked, with nothing to order: {parts}", parts=joined(orders.bare, "; "))
    return (
        (head, Paragraph(SUPPLIED, "strong")) if orders.with_cost else (head,),
        (orders_table(orders),),
        (stock_order(orders), Paragraph(STOCK, "faint")) if orders.stock else (),
        (orders_sum(orders),) if orders.with_cost else (),
        (Paragraph(bare),) if orders.bare else (),
    )


def margin_report(found: Margin) -> Report:
    """Cost and margin by line and in total, without tax."""
    table = table_of(
        found.lines,
        (Column(kind="count"), lambda one: one.line.many),
        (Column(text("Line")), lambda one: one.line.title),
        (Column(text("Supplier")), lambda one: one.supplier),
        (
            Column(text("Sells for"), "figure"),
            lambda one: one.line.unpriced if one.net is None else one.net,
        ),
        (
            Column(text("Costs"), "figure"),
            lambda one: text("unknown") if one.cost is None else one.cost,
        ),
        (Column(text("Margin"), "figure"), lambda one: one.margin),
        (Column("%", "figure"), lambda one: one.percent),
    )
    sums = (1, text("Total, without tax"), None, found.net, found.cost, found.margin, found.percent)
    parts: list[Block] = [
        Paragraph(text("For the shop's eyes only"), "strong"),
        evolve(table, bodies=(*table.bodies, RowGroup([Row(sums, "grand")]))),
    ]
    if found.unknown:
        unknown = itemised(found.unknown)
        told = text("Not counted, because a cost or a price is missing: {unknown}", unknown=unknown)
        parts.append(Paragraph(told))
    return (tuple(parts),)
