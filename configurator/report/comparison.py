"""Two or more selections side by side: what each has, and what that does to price and mass."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.model import ADD_ON, FREE_LINE, Catalogue, Choice
from configurator.catalogue.shop import Shop
from configurator.checking.check import check
from configurator.forms import Row, form
from configurator.money import Money
from configurator.power.summary import power_picture
from configurator.pricing.lines import option_price
from configurator.pricing.tax import TaxTotal
from configurator.pricing.whole import Price, price
from configurator.selection.picks import FREE_LINES, Selection, marked_title
from configurator.selection.resolved import Resolved
from configurator.totals import LimitState, MissingPicks, limit_states, space_sizes, total_mass
from configurator.words import shown, text, used


@frozen
class Figure:
    """One figure of a selection, such as the payload left.

    Attributes:
        id: short name; the same figure of two selections has the same.
        title: what it is.
        unit: its unit.
        value: the figure as it is shown; None while it depends on an open choice.
    """

    id: str
    title: str
    unit: str
    value: Decimal | None


FigureSource: TypeAlias = Callable[[Resolved], Iterator[Figure]]


def _mass(build: Resolved) -> Iterator[Figure]:
    mass = total_mass(build)
    yield Figure("mass", text("Mass of the package"), "kg", None if mass is None else used(mass))


def _limits_left(build: Resolved) -> Iterator[Figure]:
    for state in limit_states(build):
        if state.used:
            title = text("{limit} remaining", limit=state.limit.title)
            yield Figure(f"{state.limit.id}-left", title, state.limit.unit, state.shown[2])


def _free_volume(build: Resolved) -> Iterator[Figure]:
    """Inside of each space that units go into, less their bodies; whole litres, rounded down."""
    filled: dict[str, int] = {}
    for _, option, quantity in build.picks:
        if option.unit is not None:
            body = option.unit.body
            volume = body.width * body.depth * body.height * quantity
            filled[option.unit.space] = filled.get(option.unit.space, 0) + volume
    for space, taken in sorted(filled.items()):
        title = text("Free volume of the {space}", space=build.catalogue.space_title(space))
        try:
            inside = space_sizes(build, space).interior
        except MissingPicks:
            yield Figure(f"{space}-free", title, "L", None)
        else:
            free = inside.length * inside.width * inside.height - taken
            yield Figure(f"{space}-free", title, "L", Decimal(free // 10**6))


def _days_of_power(build: Resolved) -> Iterator[Figure]:
    """How long the batteries last without any charging, to a tenth of a day."""
    days = shown(power_picture(build, None)).days_alone
    if days is not None:
        yield Figure("days", text("Power without charging"), text("days"), days)


FIGURES: tuple[FigureSource, ...] = (_mass, _limits_left, _free_volume, _days_of_power)
"""Every figure, in the order in which they are shown."""


@form(
    hidden="selection price figures",
    also="tax total is_from",
    keys={"is_from": "from"},
    shown={"mass": used},
    inline="tax",
)
@frozen
class Compared:
    """One of the selections compared.

    Attributes:
        selection: what is compared.
        title: its name.
        price: its price.
        mass: kg of everything picked, empty; None while it depends on an open choice.
        limits: how its limits stand.
        figures: its figures.
        stops: sentences of what stops a quote of it.
    """

    selection: Selection
    title: str
    price: Price
    mass: Decimal | None
    limits: tuple[LimitState, ...]
    figures: tuple[Figure, ...]
    stops: tuple[str, ...]

    @property
    def tax(self) -> TaxTotal:
        """Amounts before tax, and tax."""
        return self.price.tax

    @property
    def total(self) -> Money:
        """The price with tax."""
        return self.price.total

    @property
    def is_from(self) -> bool:
        """Whether the total leaves something open."""
        return self.price.is_from


@form(inline="column")
@frozen
class PricedColumn:
    """A selection compared, and what it costs more than the first.

    Attributes:
        column: the selection.
        difference: its total less the first one's.
    """

    column: Compared
    difference: Money


@form()
@frozen
class ComparedGroup(Row):
    """A group of lines in each selection.

    Attributes:
        title: title of the group.
        amounts: its subtotal in each selection.
    """

    title: str
    amounts: tuple[Money, ...]


@form(also="differs differences")
@frozen
class ComparedChoice:
    """What each selection has in one choice.

    Attributes:
        choice: id of the choice.
        title: its title.
        group: title of its group.
        has: for each selection, titles of what is picked, with quantities.
        amounts: for each selection, what that costs; None while something in it is open.
    """

    choice: str
    title: str
    group: str
    has: tuple[tuple[str, ...], ...]
    amounts: tuple[Money | None, ...]

    @property
    def differs(self) -> bool:
        """Whether the selections differ here, in what they have or in what it costs."""
        return len(set(self.has)) > 1 or len(set(self.amounts)) > 1

    @property
    def differences(self) -> tuple[Money | None, ...]:
        """Each selection's amount less the first one's; None while one of the two is open."""
        first = self.amounts[0]
        return tuple(
            None if amount is None or first is None else amount - first for amount in self.amounts
        )

    @property
    def answers(self) -> tuple[tuple[tuple[int, ...], tuple[str, ...], Money | None], ...]:
        """The different answers: which selections give each, what it has, what it costs."""
        found: dict[tuple[tuple[str, ...], Money | None], list[int]] = {}
        for index, answer in enumerate(zip(self.has, self.amounts, strict=True)):
            found.setdefault(answer, []).append(index)
        return tuple((tuple(who), has, amount) for (has, amount), who in found.items())


@form(also="differences", keys={"id": "figure"})
@frozen
class ComparedFigure:
    """One figure of every selection.

    Attributes:
        id: short name of the figure.
        title: what it is.
        unit: its unit.
        values: the figure of each selection; None where one does not have it (yet).
    """

    id: str
    title: str
    unit: str
    values: tuple[Decimal | None, ...]

    @property
    def differences(self) -> tuple[Decimal | None, ...]:
        """Each selection's figure less the first one's; None while one of the two is missing."""
        first = self.values[0]
        return tuple(None if v is None or first is None else v - first for v in self.values)


@form()
@frozen
class Besides:
    """What a selection has that the first one lacks, and the other way about.

    Attributes:
        has: titles of what it has as well.
        lacks: titles of what it lacks.
    """

    has: tuple[str, ...]
    lacks: tuple[str, ...]


@form(
    "comparison",
    hidden="shop columns",
    also="currency priced_columns",
    keys={"priced_columns": "columns", "deals": "package-deals"},
)
@frozen
class Comparison:
    """Selections side by side.

    Attributes:
        shop: who compares them.
        columns: the selections, in the order given; the first is the one compared with.
        choices: every choice in which something is picked, those that differ first.
        groups: title of each group, and each selection's subtotal in it.
        deals: what package deals take off each selection.
        adjustments: what adjustments add to each selection.
        roundings: what rounding the package adds to each selection.
        figures: mass, what is left of each limit, free volume, days of power.
        besides: what each selection has and lacks against the first one.
    """

    shop: Shop
    columns: tuple[Compared, ...]
    choices: tuple[ComparedChoice, ...]
    groups: tuple[ComparedGroup, ...]
    deals: tuple[Money, ...]
    adjustments: tuple[Money, ...]
    roundings: tuple[Money, ...]
    figures: tuple[ComparedFigure, ...]
    besides: tuple[Besides, ...]

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.columns[0].price.currency

    @property
    def priced_columns(self) -> tuple[PricedColumn, ...]:
        """The selections with what each costs more than the first."""
        return tuple(map(PricedColumn, self.columns, self.differences))

    @property
    def differences(self) -> tuple[Money, ...]:
        """Each selection's total less the first one's."""
        return tuple(column.price.total - self.columns[0].price.total for column in self.columns)

    @property
    def differing(self) -> tuple[tuple[str, tuple[ComparedChoice, ...]], ...]:
        """The choices that differ by group, in the catalogue's order."""
        found: dict[str, list[ComparedChoice]] = {}
        for row in self.choices:
            if row.differs:
                found.setdefault(row.group, []).append(row)
        return tuple((group, tuple(rows)) for group, rows in found.items())

    @property
    def money(self) -> tuple[ComparedGroup, ...]:
        """Where the money of each selection goes; the parts add up to its total."""
        parts = [*self.groups]
        for title, amounts in (
            (text("Package deals"), self.deals),
            (text("Adjustments"), self.adjustments),
            (text("Rounding"), self.roundings),
        ):
            parts += [ComparedGroup(title, amounts)] if any(amounts) else []
        first = self.columns[0].price
        if not first.tax_included:
            taxes = tuple(column.price.tax.tax for column in self.columns)
            parts.append(ComparedGroup(first.tax_name, taxes))
        return tuple(parts)


_FREE = Choice(FREE_LINE, FREE_LINES, "", "several", ())
"""The row of free lines: each selection has its own."""


def compare(
    catalogue: Catalogue,
    selections: Sequence[Selection],
    titles: Sequence[str],
    more_figures: Sequence[FigureSource] = (),
) -> Comparison:
    """Compare selections of one catalogue.

    Args:
        catalogue: the shop's catalogue.
        selections: two or more, complete or partial.
        titles: a name for each.
        more_figures: what else to compare in addition to those that always are.

    Raises:
        SelectionError: one of them cannot be understood.
        ValueError: there are fewer than two, or not as many titles.
    """
    if len(selections) < 2 or len(titles) != len(selections):
        raise ValueError("compare at least two selections, with a title for each")
    columns = tuple(
        _column(Resolved(catalogue, selection), title, (*FIGURES, *more_figures))
        for title, selection in zip(titles, selections, strict=True)
    )
    places = {group.id: index for index, group in enumerate(catalogue.groups)}
    rows = [
        (places.get(choice.group, len(places)), _compared(catalogue, choice, selections))
        for choice in (*catalogue.choices, catalogue.add_ons, _FREE)
        if any(choice.id in selection.chosen for selection in selections)
    ]
    rows.sort(key=lambda row: (not row[1].differs, row[0]))
    none = Money.zero(catalogue.currency)
    group_titles = {g.id: g.title for c in columns for g in c.price.groups}
    ordered = [*(g.id for g in catalogue.groups), ADD_ON, FREE_LINE]
    subtotals = [{g.id: g.subtotal for g in column.price.groups} for column in columns]
    return Comparison(
        shop=catalogue.shop,
        columns=columns,
        choices=tuple(row for _, row in rows),
        groups=tuple(
            ComparedGroup(
                group_titles[group], tuple(column.get(group, none) for column in subtotals)
            )
            for group in ordered
            if group in group_titles
        ),
        deals=tuple(
            -Money.total((d.saving for d in c.price.deals), none.currency) for c in columns
        ),
        adjustments=tuple(
            Money.total((a.amount for a in c.price.adjustments), none.currency) for c in columns
        ),
        roundings=tuple(column.price.rounding for column in columns),
        figures=tuple(_figures(columns)),
        besides=tuple(_besides(catalogue, selections[0], other) for other in selections),
    )


def _column(build: Resolved, title: str, sources: Sequence[FigureSource]) -> Compared:
    return Compared(
        selection=build.selection,
        title=title,
        price=price(build),
        mass=total_mass(build),
        limits=limit_states(build),
        figures=tuple(figure for source in sources for figure in source(build)),
        stops=tuple(finding.sentence for finding in check(build).stops),
    )


def _figures(columns: Sequence[Compared]) -> Iterator[ComparedFigure]:
    """Every figure that some selection has, in the order in which they first come."""
    known = {figure.id: figure for column in columns for figure in column.figures}
    values = [{figure.id: figure.value for figure in column.figures} for column in columns]
    for identity, figure in known.items():
        row = tuple(of_column.get(identity) for of_column in values)
        yield ComparedFigure(identity, figure.title, figure.unit, row)


def _besides(catalogue: Catalogue, first: Selection, other: Selection) -> Besides:
    mine, theirs = (
        dict(_picked(Resolved(catalogue, other))),
        dict(_picked(Resolved(catalogue, first))),
    )
    return Besides(
        tuple(title for key, title in mine.items() if key not in theirs),
        tuple(title for key, title in theirs.items() if key not in mine),
    )


def _picked(build: Resolved) -> Iterator[tuple[tuple[str, str, int], str]]:
    for choice, option, quantity in build.picks:
        title = marked_title(choice.id, option)
        name = title if choice.id == FREE_LINE else option.id
        yield (choice.id, name, quantity), f"{quantity} x {title}" if quantity > 1 else title


def _compared(
    catalogue: Catalogue, choice: Choice, selections: Sequence[Selection]
) -> ComparedChoice:
    groups = {group.id: group.title for group in catalogue.groups}
    has, amounts = [], []
    for selection in selections:
        lines = [
            option_price(Resolved(catalogue, selection), choice, option, quantity)
            for option in Resolved(catalogue, selection).choices.get(choice.id, choice).options
            if (quantity := selection.quantity(choice.id, option.id))
        ]
        has.append(tuple(f"{n.quantity} x {n.title}" if n.quantity > 1 else n.title for n in lines))
        known = [line.amount for line in lines if line.amount is not None]
        complete = len(known) == len(lines)
        amounts.append(Money.total(known, catalogue.currency) if complete else None)
    title = groups.get(choice.group, choice.title)
    return ComparedChoice(choice.id, choice.title, title, tuple(has), tuple(amounts))
