"""Two or more selections side by side: what each has, and what that does to price and mass."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import ADD_ON, Catalogue, Choice
from configurator.check import check
from configurator.money import Money
from configurator.pricing import Price, option_price, price
from configurator.selection import Selection
from configurator.totals import LimitState, limit_states, total_mass

__all__ = ["Column", "ComparedChoice", "Comparison", "compare"]


@frozen
class Column:
    """One of the selections compared.

    Attributes:
        title: its name.
        price: its price.
        mass: kg of everything picked, empty; None while it hangs on an open choice.
        limits: how its limits stand.
        stops: sentences of what stops a quote of it.
    """

    title: str
    price: Price
    mass: Decimal | None
    limits: tuple[LimitState, ...]
    stops: tuple[str, ...]


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


@frozen
class Comparison:
    """Selections side by side.

    Attributes:
        columns: the selections, in the order given; the first is the one compared with.
        choices: every choice in which something is picked, those that differ first.
        groups: title of each group, and each selection's subtotal in it.
        deals: what package deals take off each selection.
        adjustments: what adjustments add to each selection.
    """

    columns: tuple[Column, ...]
    choices: tuple[ComparedChoice, ...]
    groups: tuple[tuple[str, tuple[Money, ...]], ...]
    deals: tuple[Money, ...]
    adjustments: tuple[Money, ...]

    @property
    def differences(self) -> tuple[Money, ...]:
        """Each selection's total less the first one's."""
        return tuple(column.price.total - self.columns[0].price.total for column in self.columns)


def compare(
    catalogue: Catalogue, selections: Sequence[Selection], titles: Sequence[str]
) -> Comparison:
    """Compare selections of one catalogue.

    Args:
        catalogue: the shop's catalogue.
        selections: two or more, complete or partial.
        titles: a name for each.

    Raises:
        SelectionError: one of them cannot be understood.
        ValueError: there are fewer than two, or not as many titles.
    """
    if len(selections) < 2 or len(titles) != len(selections):
        raise ValueError("compare at least two selections, with a title for each")
    columns = tuple(
        Column(
            title,
            price(catalogue, selection),
            total_mass(catalogue, selection),
            tuple(limit_states(catalogue, selection)),
            tuple(finding.sentence for finding in check(catalogue, selection).stops),
        )
        for title, selection in zip(titles, selections, strict=True)
    )
    rows = [
        _compared(catalogue, choice, selections)
        for choice in (*catalogue.choices, catalogue.add_ons)
        if any(choice.id in selection.chosen for selection in selections)
    ]
    rows.sort(key=lambda row: not row.differs)
    none = Money.zero(catalogue.currency)
    group_titles = {g.id: g.title for c in columns for g in c.price.groups}
    ordered = [*(g.id for g in catalogue.groups), ADD_ON]
    subtotals = [{g.id: g.subtotal for g in column.price.groups} for column in columns]
    return Comparison(
        columns=columns,
        choices=tuple(rows),
        groups=tuple(
            (group_titles[group], tuple(column.get(group, none) for column in subtotals))
            for group in ordered
            if group in group_titles
        ),
        deals=tuple(
            -Money.total((d.saving for d in c.price.deals), none.currency) for c in columns
        ),
        adjustments=tuple(
            Money.total((a.amount for a in c.price.adjustments), none.currency) for c in columns
        ),
    )


def _compared(
    catalogue: Catalogue, choice: Choice, selections: Sequence[Selection]
) -> ComparedChoice:
    groups = {group.id: group.title for group in catalogue.groups}
    has, amounts = [], []
    for selection in selections:
        lines = [
            option_price(catalogue, selection, choice, option, quantity)
            for option in choice.options
            if (quantity := selection.quantity(choice.id, option.id))
        ]
        has.append(tuple(f"{n.quantity} x {n.title}" if n.quantity > 1 else n.title for n in lines))
        known = [line.amount for line in lines if line.amount is not None]
        complete = len(known) == len(lines)
        amounts.append(Money.total(known, catalogue.currency) if complete else None)
    title = groups.get(choice.group, choice.title)
    return ComparedChoice(choice.id, choice.title, title, tuple(has), tuple(amounts))
