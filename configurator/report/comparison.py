"""Two or more selections side by side: what each has, and what that does to price and mass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import TypeAlias, TypeVar

from attrs import evolve, frozen

from configurator.catalogue.model import ADD_ON, FREE_LINE, Choice, Limit
from configurator.catalogue.shop import ShopDetails
from configurator.checking.check import check
from configurator.money import Money
from configurator.pricing.lines import option_price
from configurator.pricing.price import Price, price
from configurator.pricing.tax import TaxTotal
from configurator.report.layout import PictureSource, drawn_of
from configurator.selection.picks import FREE_LINES, Selection, marked_title
from configurator.selection.resolved import Resolved
from configurator.selection.totals import (
    LimitState,
    MissingPicks,
    free_litres,
    limit_states,
    total_mass,
)
from configurator.shapes.forms import Unpacked, form
from configurator.words import shown, text, used

D = TypeVar("D", Money, Decimal)


def _against_first(values: Sequence[D | None]) -> tuple[D | None, ...]:
    """Each value less the first; None where one of the two is missing."""
    first = values[0]
    return tuple(None if v is None or first is None else v - first for v in values)


_Figure: TypeAlias = tuple[str, tuple[str, str, Decimal | None]]
"""Short name of a figure, the same for every selection; then what it is, its unit, and its value as
it is shown, None while it depends on an open choice."""


MASS, OPEN_SPACE, DAYS = "mass", "open-space", "days"
"""Short names of figures that the first page of a comparison shows."""


def left_of(limit: Limit) -> str:
    """Short name of the figure of what is left of a limit."""
    return f"{limit.id}-left"


def _figures_of(build: Resolved) -> Iterator[_Figure]:
    """Every figure, in the order in which they are shown."""
    mass = total_mass(build)
    yield MASS, (text("Empty mass of the package"), "kg", None if mass is None else used(mass))
    for state in limit_states(build):
        if state.used:
            title = text("{limit} remaining", limit=state.limit.title)
            yield left_of(state.limit), (title, state.limit.unit, state.shown[2])
    yield from _free_volume(build)
    checked = check(build)
    layout = checked.layout
    if layout is not None and layout.open_boxes:
        largest = Decimal(max(box.litres for box in layout.open_boxes))
        yield OPEN_SPACE, (text("Largest open space"), "L", largest)
    days = shown(checked.power).days_alone  # how long without any charging
    if days is not None:
        yield DAYS, (text("Power without charging"), text("days"), days)


def _free_volume(build: Resolved) -> Iterator[_Figure]:
    """Of each space that units go into; whole litres."""
    for space in sorted({o.unit.space for _, o, _ in build.picks if o.unit is not None}):
        title = text("Free volume of the {space}", space=build.catalogue.space_title(space))
        free: Decimal | None = None
        with suppress(MissingPicks):
            free = Decimal(free_litres(build, space))
        yield f"{space}-free", (title, "L", free)


@form(
    hidden="selection price drawn",
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
        stops: sentences of what stops a quote of it.
        difference: its total less the first one's.
        drawn: what its pictures are drawn from.
    """

    selection: Selection
    title: str
    price: Price
    mass: Decimal | None
    limits: tuple[LimitState, ...]
    stops: tuple[str, ...]
    difference: Money
    drawn: PictureSource

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


@form()
@frozen
class ComparedGroup(Unpacked):
    """A group of lines in each selection.

    Attributes:
        title: title of the group.
        amounts: its subtotal in each selection.
    """

    title: str
    amounts: tuple[Money, ...]


@form(hidden="unpriced", also="differs differences")
@frozen
class ComparedChoice:
    """What each selection has in one choice.

    Attributes:
        choice: id of the choice.
        title: its title.
        group: title of its group.
        has: for each selection, titles of what is picked, with quantities.
        amounts: for each selection, what that costs; None while something in it is open.
        unpriced: for each selection, what stands in the place of an amount that is None.
    """

    choice: str
    title: str
    group: str
    has: tuple[tuple[str, ...], ...]
    amounts: tuple[Money | None, ...]
    unpriced: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether the selections differ here, in what they have or in what it costs."""
        return len(set(self.has)) > 1 or len(set(self.amounts)) > 1

    @property
    def differences(self) -> tuple[Money | None, ...]:
        """Each selection's amount less the first one's; None while one of the two is open."""
        return _against_first(self.amounts)

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
        return _against_first(self.values)


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
    hidden="shop",
    also="currency",
    keys={"deals": "package-deals"},
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

    shop: ShopDetails
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
    def differences(self) -> tuple[Money, ...]:
        """Each selection's total less the first one's."""
        return tuple(column.difference for column in self.columns)

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
        """Where the money of each selection goes; the parts add up to its total.

        A group that costs nothing in any of them is left out.
        """
        parts = [group for group in self.groups if any(group.amounts)]
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


def compare(builds: Sequence[Resolved], titles: Sequence[str]) -> Comparison:
    """Compare selections of one catalogue.

    Args:
        builds: two or more, complete or partial.
        titles: a name for each.

    Raises:
        SelectionError: one of them cannot be understood.
        ValueError: there are fewer than two, or not as many titles.
    """
    if len(builds) < 2 or len(titles) != len(builds):
        raise ValueError("compare at least two selections, with a title for each")
    catalogue = builds[0].catalogue
    first = price(builds[0]).total
    columns = tuple(map(_column, builds, titles, [first] * len(builds)))
    places = {group.id: index for index, group in enumerate(catalogue.groups)}
    rows = [
        (places.get(choice.group, len(places)), _compared(choice, builds))
        for choice in (*catalogue.choices, catalogue.add_ons, _FREE)
        if any(choice.id in build.selection.chosen for build in builds)
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
            ComparedGroup(group_titles[g], tuple(column.get(g, none) for column in subtotals))
            for g in ordered
            if g in group_titles
        ),
        deals=tuple(
            -Money.total((d.saving for d in c.price.deals), none.currency) for c in columns
        ),
        adjustments=tuple(
            Money.total((a.amount for a in c.price.adjustments), none.currency) for c in columns
        ),
        roundings=tuple(column.price.rounding for column in columns),
        figures=tuple(_figures(builds)),
        besides=tuple(_besides(builds[0], other) for other in builds),
    )


def _column(build: Resolved, title: str, first: Money) -> Compared:
    priced, checked = price(build), check(build)
    return Compared(
        selection=build.selection,
        title=title,
        price=priced,
        mass=total_mass(build),
        limits=limit_states(build),
        stops=tuple(finding.sentence for finding in checked.stops),
        difference=priced.total - first,
        drawn=drawn_of(build, checked.layout),
    )


def _figures(builds: Sequence[Resolved]) -> Iterator[ComparedFigure]:
    """Every figure that some selection has, in the order in which they first come."""
    found = [dict(_figures_of(build)) for build in builds]
    known = {name: figure for figures in found for name, figure in figures.items()}
    for name, (title, unit, _) in known.items():
        values = (figures[name][2] if name in figures else None for figures in found)
        yield ComparedFigure(name, title, unit, tuple(values))


def _besides(first: Resolved, other: Resolved) -> Besides:
    mine, theirs = dict(_picked(other)), dict(_picked(first))
    return Besides(
        tuple(title for key, title in mine.items() if key not in theirs),
        tuple(title for key, title in theirs.items() if key not in mine),
    )


def _picked(build: Resolved) -> Iterator[tuple[tuple[str, str, int | Decimal], str]]:
    for choice, option, quantity in build.picks:
        title = marked_title(choice.id, option)
        name = title if choice.id == FREE_LINE else option.id
        many = quantity if option.measured is None else quantity * option.measured
        yield (choice.id, name, many), evolve(option, title=title).times(many)


def _compared(choice: Choice, builds: Sequence[Resolved]) -> ComparedChoice:
    catalogue = builds[0].catalogue
    groups = {group.id: group.title for group in catalogue.groups}
    has, amounts, unpriced = [], [], []
    for build in builds:
        priced = [
            (option, option_price(build, choice, option, quantity))
            for option in build.choices.get(choice.id, choice).options
            if (quantity := build.selection.quantity(choice.id, option.id))
        ]
        lines = [line for _, line in priced]
        has.append(tuple(option.times(line.quantity) for option, line in priced))
        known = [line.amount for line in lines if line.amount is not None]
        complete = len(known) == len(lines)
        amounts.append(Money.total(known, catalogue.currency) if complete else None)
        unpriced.append(next((line.unpriced for line in lines if line.amount is None), ""))
    title = groups.get(choice.group, choice.title)
    return ComparedChoice(
        choice.id, choice.title, title, tuple(has), tuple(amounts), tuple(unpriced)
    )
