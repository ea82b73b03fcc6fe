"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections.abc import Sequence

from configurator.answers.engine import (
    Completion,
    Fixes,
    OptionsAnswer,
    ToldConflict,
    Why,
    WithinAnswer,
)
from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.wording import change_words
from configurator.money import Money
from configurator.pricing.whole import Price, price
from configurator.report.model import Block, Body, Column, Paragraph, Report, Row, Table
from configurator.selection.resolved import Resolved
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = [
    "completion_report",
    "contradiction_report",
    "fixes_report",
    "states_report",
    "why_report",
    "within_report",
]

_STATES = {"ruled-out": "not available", "instead": "available instead"}
"""States that a terminal does not show as they are."""


def states_report(catalogue: Catalogue, found: OptionsAnswer) -> Report:
    """The options by choice, each with its state; why where it is not available.

    Of what is available instead of a pick, what it would do to the total.
    """
    rows: dict[str, list[Row]] = {}
    for state in found.options:
        difference = "" if state.difference is None else signed_amount(state.difference)
        rows.setdefault(state.choice, []).append(
            Row(
                (
                    f"{state.title} ({state.option})",
                    _STATES.get(state.state, state.state),
                    difference,
                    state.reason,
                )
            )
        )
    bodies = (
        Body(of_choice, f"{catalogue.by_id[choice].title} ({choice})")
        for choice, of_choice in rows.items()
    )
    heads = ("", "state", catalogue.currency, "why not")
    table = Table(tuple(map(Column, heads)), tuple(bodies))
    if found.conflict is None:
        return ((table,),)
    return (*contradiction_report(found.conflict), (table,))


def contradiction_report(conflict: ToldConflict | None) -> Report:
    """That the picks cannot be completed, and why."""
    told = [Paragraph("These picks cannot be completed.")]
    if conflict is not None:
        told.append(Paragraph(str(conflict.argument)))
    return (tuple(told),)


def why_report(catalogue: Catalogue, why: Why) -> Report:
    """The argument, a premise on each line; or what the option would replace."""
    if why.conflict is None:
        assert why.pick is not None
        told = f"{_title(catalogue, why.pick)} is available"
        if why.replaced is None:
            return ((Paragraph(f"{told} with these picks."),),)
        change = why.difference
        more = "" if change is None else f": {signed_amount(change)} {change.currency}"
        return ((Paragraph(f"{told} instead of {_title(catalogue, why.replaced)}{more}"),),)
    said = why.conflict.argument
    lines = [
        Paragraph(f"{'and' if index else 'Because'} {premise},")
        for index, premise in enumerate(said.premises)
    ]
    start = said.conclusion[:1]
    lines.append(Paragraph(f"{start if said.premises else start.upper()}{said.conclusion[1:]}."))
    if said.hint:
        lines.append(Paragraph(f"hint: {said.hint}", depth=1))
    return (tuple(lines),)


def fixes_report(catalogue: Catalogue, found: Fixes, nothing_to_mend: bool) -> Report:
    """The fixes, best first."""
    lines = []
    if nothing_to_mend:
        lines.append("There is nothing to mend.")
    elif not found.fixes:
        lines.append("No change of picks mends it.")
    for index, told in enumerate(found.fixes, start=1):
        fix = told.fix
        if len(fix.changes) == 1:
            lines.append(f"{index}. {told.words}")
            continue
        difference = f"{signed_amount(fix.difference)} {fix.difference.currency}"
        lines.append(f"{index}. {len(fix.changes)} changes: {difference}")
        lines += (f"   {change_words(catalogue, change)}" for change in fix.changes)
    return (tuple(map(Paragraph, lines)),)


def completion_report(catalogue: Catalogue, found: Completion) -> Report:
    """What was added, and what the whole comes to."""
    weight = "" if found.mass is None else f", {plain(found.mass)} kg"
    total = amount_with_currency(found.total)
    told = f"The whole package: {total} including {found.price.tax_name}{weight}."
    return ((_added(catalogue, found.price, found.added), Paragraph(told)),)


def _title(catalogue: Catalogue, pick: Pick) -> str:
    many = f"{pick.quantity} x " if pick.quantity > 1 else ""
    return f"{many}{catalogue.option(pick.choice, pick.option).title}"


def _added(catalogue: Catalogue, priced: Price, added: Sequence[Pick]) -> Table:
    """What was added, by choice, with its price."""
    lines = {(line.choice, line.option): line for line in priced.lines}
    rows = []
    for pick in added:
        choice = catalogue.by_id[pick.choice]
        line = lines.get((pick.choice, pick.option))
        cost = amount(line.amount) if line is not None else ""
        rows.append(Row((choice.title, _title(catalogue, pick), cost)))
    columns = (Column("added"), Column(), Column(priced.currency, "figure"))
    return Table(columns, (Body(rows),))


def within_report(catalogue: Catalogue, found: WithinAnswer, budget: Money) -> Report:
    """What the budget allows, what the rest would take, and what else was chosen."""
    if found.total is None:
        told = "These picks cannot be completed at any price."
    elif found.selection is None:
        told = (
            f"Not even the picks alone can be had for {amount_with_currency(budget)}: the cheapest "
            f"package is {amount_with_currency(found.total)}, "
            f"{amount(found.total - budget)} over."
        )
    else:
        told = (
            f"{amount_with_currency(found.total)} of {amount_with_currency(budget)}, "
            f"with {len(found.granted)} of {len(found.granted) + len(found.left_out)} wishes."
        )
    lines: list[Block] = [Paragraph(told)]
    for wish in found.granted:
        lines.append(Paragraph(f"granted: {_title(catalogue, wish)}"))
    for left in found.left_out:
        title = catalogue.option(left.wish.choice, left.wish.option).title
        if left.over is not None:
            lines.append(Paragraph(f"left out: {title}: {amount(left.over)} over"))
        elif left.conflict is not None:
            lines.append(Paragraph(f"left out: {title}: {left.conflict.argument}"))
    if found.selection is not None and found.added:
        priced = price(Resolved(catalogue, found.selection))
        lines.append(_added(catalogue, priced, found.added))
    return (tuple(lines),)
