"""A price as a report: lines by group, what is taken off or put on, tax, total and payments."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve, frozen

from configurator.catalogue.model import Catalogue
from configurator.checking.suggestions import Suggestion
from configurator.money import Money
from configurator.pricing.lines import Line, PricedPart
from configurator.pricing.price import Price, PriceGroup, TracedLine
from configurator.report.model import Block, Cell, Column, Paragraph, Report, Row, RowGroup, Table
from configurator.shapes.forms import form
from configurator.words import amount_with_currency, itemised, joined, several, text


@form("price", inline="price")
@frozen(repr=False)
class PriceAnswer:
    """A price, and the add-ons suggested with it.

    Attributes:
        price: the price.
        suggestions: add-ons that are not in it.
    """

    price: Price
    suggestions: tuple[Suggestion, ...]


@form("trace", also="currency day lines before_tax tax total", hidden="price")
@frozen(repr=False)
class TraceAnswer:
    """Where every figure of a price comes from.

    Attributes:
        price: the price.
    """

    price: Price

    @property
    def lines(self) -> tuple[TracedLine, ...]:
        """Every line."""
        return self.price.traced

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.price.currency

    @property
    def day(self) -> str:
        """The day whose prices these are."""
        return self.price.day

    @property
    def before_tax(self) -> Money:
        """The total without tax."""
        return self.price.tax.before

    @property
    def tax(self) -> Money:
        """The tax."""
        return self.price.tax.tax

    @property
    def total(self) -> Money:
        """The total with tax."""
        return self.price.total


_EXTRAS = text("Optional extras (not included in the total)")


def priced_in(price: Price) -> str:
    """What amounts of lines are in: the currency, with tax or without."""
    if price.tax_included:
        return text("{currency} incl. {tax}", currency=price.currency, tax=price.tax_name)
    return text("{currency} excl. {tax}", currency=price.currency, tax=price.tax_name)


def written_quote(file: str, number: str, price: Price) -> str:
    """What is said of a quote that has been written."""
    start = "from " if price.is_from else ""
    total = f"{start}{amount_with_currency(price.total)} including {price.tax_name}"
    return f"{file}: quote {number}, {total}"


def price_table(price: Price) -> Table:
    """The lines of a price by group, with what each group comes to."""
    columns = (Column(text("Item")), Column(text("Qty"), "count", name="few"), _money(price))
    return Table(columns, tuple(_group(price, group) for group in price.groups), name="lines")


def customer_table(price: Price, noted: bool) -> Table:
    """The same for a customer: what a group comes to beside its title, and no areas.

    What is simply included, with nothing more to say of it, shares a row.

    Args:
        price: what is priced.
        noted: with what the catalogue says of each thing.
    """
    bodies = [_brief(price, group, noted) for group in price.groups]
    return Table((Column(text("Item")), _money(price)), tuple(bodies), name="lines")


def _money(price: Price) -> Column:
    return Column(priced_in(price), "figure", name="number")


def _group(price: Price, group: PriceGroup) -> RowGroup:
    rows = [Row((_line(price, line), line.many, _amount(line))) for line in group.lines]
    total = text("Total, {group:inside}", group=group.title)
    return RowGroup(
        (*rows, Row((total, None, _subtotal(group, text("included"))), "subtotal")), group.title
    )


def _brief(price: Price, group: PriceGroup, noted: bool) -> RowGroup:
    bare = [line for line in group.lines if _simply_included(line, noted)]
    if len(bare) == len(group.lines):
        return RowGroup((Row((_titles(bare), text("included"))),), group.title)
    alone = [line for line in group.lines if len(bare) < 2 or line not in bare]
    rows = [Row((_customer_line(price, line, noted), _amount(line))) for line in alone]
    if len(bare) > 1:
        rows.append(Row((_titles(bare), text("included"))))
    return RowGroup(rows, group.title, _subtotal(group, group.subtotal))


def _titles(lines: Iterable[Line]) -> str:
    return joined((line.title for line in lines), "; ")


def _simply_included(line: Line, noted: bool) -> bool:
    free = line.amount is not None and not line.amount
    return free and line.quantity == 1 and not (line.notes or (noted and line.text))


def _amount(line: Line) -> Money | str:
    if line.amount is None:
        return line.unpriced
    return line.amount or text("included")


def suggested_title(suggestion: Suggestion) -> str:
    """An add-on, and the package deals in what it adds."""
    if not suggestion.deals:
        return suggestion.title
    deals = joined(deal.brief for deal in suggestion.deals)
    return text("{title} ({deals})", title=suggestion.title, deals=deals)


def suggested_cost(suggestion: Suggestion) -> Money | str:
    """What an add-on alone adds to the package, tax as in the lines."""
    if suggestion.cost is None:
        return suggestion.line.unpriced
    return suggestion.cost


def _subtotal(group: PriceGroup, nothing: Money | str) -> Money | str:
    """What a group comes to; ``nothing`` where that is no money and none is to come."""
    return group_amount(group, group.subtotal) or nothing


def group_amount(group: PriceGroup, amount: Money) -> Money | str:
    """An amount of a group, said to be open where a line of it has no price yet."""
    unpriced = next((line.unpriced for line in group.lines if line.amount is None), "")
    waiting = any(line.open_by == "picks" for line in group.lines)
    if unpriced and amount:
        if waiting:
            return text("so far {total:amount}", total=amount)
        return text("from {total:amount}", total=amount)
    return unpriced or amount


def counted_title(line: Line) -> str:
    """The title with how many, where that is not one."""
    if isinstance(line.quantity, int):
        return several(line.quantity, line.title)
    return text("{title}, {many}", title=line.title, many=line.many)


def _line(price: Price, line: Line) -> Cell:
    return Cell(line.title, more=tuple(_told(price, line, line.notes)), note=line.text)


def _customer_line(price: Price, line: Line, noted: bool) -> Cell:
    told = tuple(_told(price, line, line.notes_without_areas))
    return Cell(counted_title(line), more=told, note=line.text if noted else "")


def _told(price: Price, line: Line, notes: tuple[str, ...]) -> Iterator[str]:
    if line.amount is not None:
        yield from notes
    elif line.why_open != line.unpriced:
        yield line.why_open
    percent = price.own_percent(line)
    if percent is not None:
        yield text("{tax} at {percent} %", tax=price.tax_name, percent=percent)


def price_sums(price: Price) -> Table:
    """What is taken off or put on, tax, total, and what is to be paid."""
    bodies = (RowGroup(_sums(price)),)
    return Table((Column(), _money(price)), bodies, heads=False, name="lines sums")


def _sums(price: Price) -> Iterator[Row]:
    tax = price.tax_name
    for deal in price.deals:
        listed = text(
            "{text} Listed at {listed:amount}, together {price:amount}.",
            text=deal.text,
            listed=deal.listed,
            price=deal.price,
        )
        title = Cell(text("Package deal: {deal}", deal=deal.name), note=listed)
        yield Row((title, -deal.saving))
    for one in price.adjustments:
        yield Row((Cell(one.title, more=(one.reason,)), one.amount))
    if price.rounding:
        yield Row((text("Rounding"), price.rounding))
    if not price.tax_included:
        yield Row((text("Before {tax}", tax=tax), price.tax.before))
        yield Row((tax, price.tax.tax))
    values = {"tax": tax, "currency": price.currency}
    start = text("Total including {tax}, {currency}", **values)
    if price.so_far:
        start = text("So far, including {tax}, {currency}", **values)
    elif price.is_from:
        start = text("From, including {tax}, {currency}", **values)
    nothing = price.is_from and not price.total
    yield Row((start, text("no price yet") if nothing else price.total), "grand")
    if price.tax_included and not nothing:
        yield Row((text("of which {tax}", tax=tax), price.tax.tax))
    if len(price.tax.by_rate) > 1:
        for _, percent, before, part in price.tax.by_rate:
            on = {"tax": tax, "percent": percent, "amount": before}
            yield Row((text("{tax} at {percent} % on {amount:amount}", **on), part))
    for what, reason, taken in price.trade_ins:
        more = () if reason == what else (reason,)  # the page has its title where no more is said
        yield Row((Cell(text("Less {what}", what=what), more=more), -taken))
    if price.payable_rounding:
        yield Row((text("Rounding of what is to be paid"), price.payable_rounding))
    if price.trade_ins or price.payable_rounding:
        to_pay = text("To pay, from") if price.is_from else text("To pay")
        if price.so_far:
            to_pay = text("To pay, so far")
        yield Row((to_pay, price.to_pay), "subtotal")
    if price.cash is not None and price.cash != price.to_pay:
        yield Row((text("To pay where all of it is paid in cash"), price.cash))


def payments_table(price: Price) -> Table:
    """The stages of payment."""
    columns = (
        Column(text("Stage")),
        Column(text("Share"), "figure", name="few"),
        Column(price.currency, "figure", name="number"),
    )
    rows = (
        Row((title, text("{share} %", share=share), amount))
        for title, share, amount in price.payments
    )
    return Table(columns, (RowGroup(rows),), name="lines")


NOT_CHECKED = text(
    "Not checked: configurator check says whether it goes together and can be quoted."
)


def still_open(price: Price, catalogue: Catalogue) -> tuple[str, ...]:
    """What has no price yet, and what is still to be chosen."""
    said = [text("Still without a price: {title}", title=title) for title in price.open]
    if price.undecided:
        titles = itemised(catalogue.by_id[choice].title for choice in price.undecided)
        said.append(text("Still to be chosen: {titles}", titles=titles))
    return tuple(said)


def price_report(price: Price, suggested: Sequence[Suggestion], catalogue: Catalogue) -> Report:
    """The package by group, tax and total; what is still open; optional extras apart."""
    table = price_table(price)
    sums = (Row((row.cells[0], None, row.cells[1]), row.kind) for row in _sums(price))
    package: tuple[Block, ...] = (
        evolve(table, bodies=(*table.bodies, RowGroup(sums))),
        *map(Paragraph, still_open(price, catalogue)),
        Paragraph(NOT_CHECKED, "faint"),
    )
    if not suggested:
        return (package,)
    columns = (Column(_EXTRAS), Column(text("Why")), Column(priced_in(price), "figure"))
    rows = (Row((suggested_title(one), one.because, suggested_cost(one))) for one in suggested)
    return (package, (Table(columns, (RowGroup(rows),)),))


def trace_report(price: Price) -> Report:
    """Each line with its place in the catalogue, its arithmetic, and what changed it."""
    groups: dict[str, list[Block]] = {}
    for one in price.traced:
        parts = groups.setdefault(one.group, [Paragraph(one.group, "strong")])
        at = one.line.at
        place = f"{at.file}:{at.line}" if at.line else text("not in a file")
        parts.append(Paragraph(f"  {one.line.title}  [{place}]"))
        columns = (Column(kind="text"), Column(kind="text"), Column(kind="figure"))
        parts.append(Table(columns, (RowGroup(_steps(one)),), heads=False, wide=True))
    tax, sums = price.tax_name, [Row((text("Before {tax}", tax=price.tax_name), price.tax.before))]
    for name, percent, before, part in price.tax.by_rate:
        on = {"tax": tax, "name": name, "percent": percent, "amount": before}
        sums.append(Row((text("{tax} {name}, {percent} % on {amount:amount}", **on), part)))
    sums.append(Row((text("Total including {tax}", tax=tax), price.total), "grand"))
    heads = (Column(), Column(price.currency, "figure"))
    return (
        (Paragraph(text("Prices of {day}, {currency}", day=price.day, currency=price.currency)),),
        *(tuple(parts) for parts in groups.values()),
        (Table(heads, (RowGroup(sums),)),),
    )


def _steps(traced: TracedLine) -> Iterator[Row]:
    line = traced.line
    for part in traced.parts:
        yield Row((_line_of(part), part.words, _exact(part.amount)))
    if line.each is None or line.amount is None:
        yield Row((None, line.why_open, line.unpriced))
        return
    if line.quantity != 1 or line.per > 1 or len(traced.parts) > 1:
        yield Row((None, _times(line), line.amount))
    for title, change in traced.changes:
        yield Row((None, title, change))
    if traced.changes:
        taxed = text("remaining, taxed at {percent} %", percent=traced.percent)
        yield Row((None, taxed, traced.left))


def _times(line: Line) -> str:
    """How the line comes from the price of one."""
    many, each = line.many, line.each
    if line.per > 1:
        return text("{many} at {each:finest} for {n}", many=many, each=each, n=line.per)
    if line.quantity == 1:
        return text("together")
    return text("{many} × {each:finest}", many=many, each=each)


def _line_of(part: PricedPart) -> str:
    return text("    line {n}", n=part.at.line) if part.at.line else ""


def _exact(money: Money) -> str:
    """The amount with every decimal it has, at least those of its currency."""
    return f"{money.amount:,.{money.decimals}f}"
