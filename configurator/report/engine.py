"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections.abc import Sequence

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.answers import (
    Completion,
    ExplainAnswer,
    Fixes,
    OptionsAnswer,
    ToldConflict,
    WithinAnswer,
)
from configurator.pricing.whole import Price
from configurator.report.model import Block, Body, Column, Paragraph, Report, Row, Table
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = [
    "completion_report",
    "contradiction_report",
    "explanation_report",
    "fixes_report",
    "states_report",
    "within_report",
]

_STATES = {"ruled-out": "not available", "instead": "available instead"}
"""States that a terminal does not show as they are."""


def states_report(catalogue: Catalogue, found: OptionsAnswer) -> Report:
    """The options by choice, each with its state; why where it is not available.

    Of what is available instead of a pick, what it would do to the total.
    """
    rows: dict[str, list[Row]] = {}
    for one in found.options:
        difference = "" if one.difference is None else signed_amount(one.difference)
        state = _STATES.get(one.state, one.state)
        row = Row((f"{one.title} ({one.option})", state, difference, one.reason))
        rows.setdefault(one.choice, []).append(row)
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
        told.append(Paragraph(str(conflict)))
    return (tuple(told),)


def explanation_report(catalogue: Catalogue, found: ExplainAnswer) -> Report:
    """The argument, a premise on each line; or what the option would replace."""
    if found.conflict is None:
        wanted, present = found.wanted, found.instead_of
        title = "" if wanted is None else catalogue.option(wanted.choice, wanted.option).title
        if present is None:
            return ((Paragraph(f"{title} is available with these picks."),),)
        by = found.difference
        more = "" if by is None else f": {signed_amount(by)} {by.currency}"
        other = catalogue.option(present.choice, present.option).title
        return ((Paragraph(f"{title} is available instead of {other}{more}"),),)
    said = found.conflict.argument
    lines = [
        Paragraph(f"{'and' if index else 'Because'} {premise},")
        for index, premise in enumerate(said.premises)
    ]
    start = said.conclusion[:1]
    lines.append(Paragraph(f"{start if said.premises else start.upper()}{said.conclusion[1:]}."))
    if said.hint:
        lines.append(Paragraph(f"hint: {said.hint}", depth=1))
    return (tuple(lines),)


def fixes_report(found: Fixes) -> Report:
    """The fixes, best first."""
    lines = []
    if found.nothing_to_mend:
        lines.append("There is nothing to mend.")
    elif not found.fixes:
        lines.append("No change of picks mends it.")
    for index, fix in enumerate(found.fixes, start=1):
        if len(fix.parts) == 1:
            lines.append(f"{index}. {fix.words}")
            continue
        difference = f"{signed_amount(fix.difference)} {fix.difference.currency}"
        lines.append(f"{index}. {len(fix.parts)} changes: {difference}")
        lines += (f"   {part}" for part in fix.parts)
    return (tuple(map(Paragraph, lines)),)


def completion_report(catalogue: Catalogue, found: Completion) -> Report:
    """What was added, and what the whole comes to."""
    weight = "" if found.mass is None else f", {plain(found.mass)} kg"
    total = amount_with_currency(found.total)
    told = f"The whole package: {total} including {found.price.tax_name}{weight}."
    return ((_added(catalogue, found.price, found.added), Paragraph(told)),)


def _added(catalogue: Catalogue, priced: Price, added: Sequence[Pick]) -> Table:
    """What was added, by choice, with its price."""
    lines = {(line.choice, line.option): line for line in priced.lines}
    rows = []
    for pick in added:
        choice = catalogue.by_id[pick.choice]
        line = lines.get((pick.choice, pick.option))
        cost = amount(line.amount) if line is not None else ""
        many = f"{pick.quantity} x " if pick.quantity > 1 else ""
        rows.append(Row((choice.title, f"{many}{choice.by_id[pick.option].title}", cost)))
    columns = (Column("added"), Column(), Column(priced.currency, "figure"))
    return Table(columns, (Body(rows),))


def within_report(catalogue: Catalogue, found: WithinAnswer) -> Report:
    """What the budget allows, what the rest would take, and what else was chosen."""
    budget = found.budget
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
        many = f"{wish.quantity} x " if wish.quantity > 1 else ""
        title = catalogue.option(wish.choice, wish.option).title
        lines.append(Paragraph(f"granted: {many}{title}"))
    for left in found.left_out:
        title = catalogue.option(left.wish.choice, left.wish.option).title
        if left.over is not None:
            lines.append(Paragraph(f"left out: {title}: {amount(left.over)} over"))
        elif left.conflict is not None:
            lines.append(Paragraph(f"left out: {title}: {left.conflict}"))
    if found.price is not None and found.added:
        lines.append(_added(catalogue, found.price, found.added))
    return (tuple(lines),)
