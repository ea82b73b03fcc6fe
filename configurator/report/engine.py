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
from configurator.words import (
    Text,
    amount,
    joined,
    signed_amount,
    text,
)

__all__ = [
    "completion_report",
    "contradiction_report",
    "fixes_report",
    "reason_for",
    "states_report",
    "why_report",
    "within_report",
]

_STATES = {"ruled-out": text("not available"), "instead": text("available instead")}
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
    told = [Paragraph(text("These picks cannot be completed."))]
    if conflict is not None:
        told.append(Paragraph(argument(search.catalogue, conflict, whole=True).whole))
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
        told = text("{title} is available with these picks.", title=option.title)
        return ((Paragraph(told),),)
    if conflict is None and replaced is not None:
        present = search.catalogue.option(replaced.choice, replaced.option)
        told = text(
            "{title} is available instead of {present}", title=option.title, present=present.title
        )
        if difference is not None:
            told = text(
                "{told}: {difference:signed} {currency}",
                told=told,
                difference=difference,
                currency=difference.currency,
            )
        return ((Paragraph(told),),)
    assert conflict is not None
    said = argument(search.catalogue, conflict, whole=True)
    lines = [
        Paragraph(
            text("and {premise},", premise=premise)
            if index
            else text("Because {premise},", premise=premise)
        )
        for index, premise in enumerate(said.premises)
    ]
    end = "{conclusion}." if said.premises else "{conclusion:capital}."
    lines.append(Paragraph(Text(end, "", {"conclusion": said.conclusion})))
    if said.hint:
        lines.append(Paragraph(text("hint: {hint}", hint=said.hint), depth=1))
    return (tuple(lines),)


def fixes_report(catalogue: Catalogue, found: Sequence[Fix], nothing_to_mend: bool) -> Report:
    """The fixes, best first."""
    lines = []
    if nothing_to_mend:
        lines.append(text("There is nothing to mend."))
    elif not found:
        lines.append(text("No change of picks mends it."))
    for index, fix in enumerate(found, start=1):
        if len(fix.changes) == 1:
            lines.append(text("{n}. {fix}", n=index, fix=fix_words(catalogue, fix)))
            continue
        lines.append(
            text(
                "{index}. {count} changes: {difference:signed} {currency}",
                index=index,
                count=len(fix.changes),
                difference=fix.difference,
                currency=fix.difference.currency,
            )
        )
        lines += (joined(["   ", change_words(catalogue, one)], "") for one in fix.changes)
    return (tuple(map(Paragraph, lines)),)


def completion_report(
    catalogue: Catalogue, priced: Price, added: Sequence[Pick], mass: Decimal | None
) -> Report:
    """What was added, and what the whole comes to."""
    known = {"total": priced.total, "tax": priced.tax_name, "mass": mass}
    told = text("The whole package: {total} including {tax}, {mass} kg.", **known)
    if mass is None:
        told = text("The whole package: {total} including {tax}.", **known)
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
    columns = (Column(text("added")), Column(), Column(priced.currency, "figure"))
    return Table(columns, (Body(rows),))


def within_report(search: Search, found: Within, budget: Money) -> Report:
    """What the budget allows, what the rest would take, and what else was chosen."""
    catalogue = search.catalogue
    if found.total is None:
        told = text("These picks cannot be completed at any price.")
    elif found.selection is None:
        told = text(
            "Not even the picks alone are available for {budget}: the cheapest package is "
            "{total}, {over:amount} over.",
            budget=budget,
            total=found.total,
            over=found.total - budget,
        )
    else:
        told = text(
            "{total} of {budget}, with {granted} of {n} wish.",
            "{total} of {budget}, with {granted} of {n} wishes.",
            total=found.total,
            budget=budget,
            granted=len(found.granted),
            n=len(found.granted) + len(found.left_out),
        )
    lines: list[Block] = [Paragraph(told)]
    for wish in found.granted:
        title = catalogue.option(wish.choice, wish.option).title
        granted = text("{count} x {title}", count=wish.quantity, title=title)
        wished = granted if wish.quantity > 1 else title
        lines.append(Paragraph(text("granted: {wish}", wish=wished)))
    for left in found.left_out:
        title = catalogue.option(left.wish.choice, left.wish.option).title
        if left.over is not None:
            told = text("left out: {title}: {over:amount} over", title=title, over=left.over)
            lines.append(Paragraph(told))
        elif left.conflict is not None:
            reason = argument(search.catalogue, left.conflict).whole
            told = text("left out: {title}: {reason}", title=title, reason=reason)
            lines.append(Paragraph(told))
    if found.selection is not None and found.added:
        priced = price(Resolved(catalogue, found.selection))
        lines.append(_added(catalogue, priced, found.added))
    return (tuple(lines),)
