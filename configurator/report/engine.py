"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options, OptionState
from configurator.engine.conflicts import Conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import Fix, Within
from configurator.engine.wording import argument, change_words, fix_words, one_line
from configurator.money import Money
from configurator.pricing.whole import Price, price
from configurator.report.model import Block, Body, Column, Paragraph, Report, Row, Table
from configurator.selection.resolved import Resolved
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = [
    "completion_report",
    "contradiction_report",
    "fixes_report",
    "reason_for",
    "states_report",
    "why_report",
    "within_report",
]

_STATES = {"ruled-out": "not available", "instead": "available instead"}
"""States that a terminal does not show as they are."""


def states_report(search: Search, found: Options) -> Report:
    """The options by choice, each with its state; why where it is not available.

    Of what is available instead of a pick, what it would do to the total.
    """
    rows: dict[str, list[Row]] = {}
    for state in found.states:
        difference = "" if state.difference is None else signed_amount(state.difference)
        option = search.catalogue.option(state.choice, state.option)
        rows.setdefault(state.choice, []).append(
            Row(
                (
                    f"{option.title} ({state.option})",
                    _STATES.get(state.state, state.state),
                    difference,
                    reason_for(search, state),
                )
            )
        )
    bodies = (
        Body(of_choice, f"{search.catalogue.by_id[choice].title} ({choice})")
        for choice, of_choice in rows.items()
    )
    heads = ("", "state", search.catalogue.currency, "why not")
    table = Table(tuple(map(Column, heads)), tuple(bodies))
    if found.conflict is None:
        return ((table,),)
    return (*contradiction_report(search, found.conflict), (table,))


def reason_for(search: Search, state: OptionState) -> str:
    """Why an option is ruled out, or what could not be settled about it, in one line."""
    if state.gave_up:
        return state.gave_up
    return "" if state.conflict is None else one_line(search.catalogue, state.conflict)


def contradiction_report(search: Search, conflict: Conflict | None) -> Report:
    """That the picks cannot be completed, and why."""
    told = [Paragraph("These picks cannot be completed.")]
    if conflict is not None:
        told.append(Paragraph(str(argument(search.catalogue, conflict, whole=True))))
    return (tuple(told),)


def why_report(
    search: Search,
    wanted: Pick,
    conflict: Conflict | None,
    replaced: Pick | None,
    difference: Money | None,
) -> Report:
    """The argument, a premise on each line; or what the option would replace."""
    option = search.catalogue.option(wanted.choice, wanted.option)
    if conflict is None and replaced is None:
        return ((Paragraph(f"{option.title} is available with these picks."),),)
    if conflict is None and replaced is not None:
        present = search.catalogue.option(replaced.choice, replaced.option)
        more = "" if difference is None else f": {signed_amount(difference)} {difference.currency}"
        told = f"{option.title} is available instead of {present.title}{more}"
        return ((Paragraph(told),),)
    assert conflict is not None
    said = argument(search.catalogue, conflict, whole=True)
    lines = [
        Paragraph(f"{'and' if index else 'Because'} {premise},")
        for index, premise in enumerate(said.premises)
    ]
    start = said.conclusion[:1]
    lines.append(Paragraph(f"{start if said.premises else start.upper()}{said.conclusion[1:]}."))
    if said.hint:
        lines.append(Paragraph(f"hint: {said.hint}", depth=1))
    return (tuple(lines),)


def fixes_report(catalogue: Catalogue, found: Sequence[Fix], nothing_to_mend: bool) -> Report:
    """The fixes, best first."""
    lines = []
    if nothing_to_mend:
        lines.append("There is nothing to mend.")
    elif not found:
        lines.append("No change of picks mends it.")
    for index, fix in enumerate(found, start=1):
        if len(fix.changes) == 1:
            lines.append(f"{index}. {fix_words(catalogue, fix)}")
            continue
        difference = f"{signed_amount(fix.difference)} {fix.difference.currency}"
        lines.append(f"{index}. {len(fix.changes)} changes: {difference}")
        lines += (f"   {change_words(catalogue, change)}" for change in fix.changes)
    return (tuple(map(Paragraph, lines)),)


def completion_report(
    catalogue: Catalogue, priced: Price, added: Sequence[Pick], mass: Decimal | None
) -> Report:
    """What was added, and what the whole comes to."""
    weight = "" if mass is None else f", {plain(mass)} kg"
    total = amount_with_currency(priced.total)
    told = f"The whole package: {total} including {priced.tax_name}{weight}."
    return ((_added(catalogue, priced, added), Paragraph(told)),)


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


def within_report(search: Search, found: Within, budget: Money) -> Report:
    """What the budget allows, what the rest would take, and what else was chosen."""
    catalogue = search.catalogue
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
            reason = argument(search.catalogue, left.conflict)
            lines.append(Paragraph(f"left out: {title}: {reason}"))
    if found.selection is not None and found.added:
        priced = price(Resolved(catalogue, found.selection))
        lines.append(_added(catalogue, priced, found.added))
    return (tuple(lines),)
