"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from textwrap import shorten

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.engine.availability import ExplainAnswer, OptionAnswer, OptionsAnswer
from configurator.engine.conflicts import Conflict
from configurator.engine.ways_out import Completion, Fixes
from configurator.engine.within import WithinAnswer
from configurator.pricing.lines import option_price
from configurator.pricing.price import Price
from configurator.report.model import Block, Column, Paragraph, Report, Row, RowGroup, Table
from configurator.selection.resolved import Resolved
from configurator.words import Text, amount, joined, signed_amount, text

_STATES = {"ruled-out": text("not available"), "instead": text("available instead")}
"""States that a terminal does not show as they are."""

_NOT_SETTLED = text("no package has it with these picks; the reason was not settled")

_MEND = text('"configurator fixes" lists the best ways to put this right.')

_SHORT = 72
"""Letters of a reason where everything was asked about."""


def states_report(build: Resolved, found: OptionsAnswer, whole: bool) -> Report:
    """The options by choice, each with its state and price; why where it is not available.

    Choices that have to be answered come first, then the others that are open, then what is picked.
    The price is that of one; of what is available instead of a pick, what it does to the total.

    Args:
        build: what is picked.
        found: the options.
        whole: in the catalogue's order, with everything that is not available, and reasons in full.
    """
    stopped = () if found.possible else contradiction_report(found.conflict)
    if stopped and not whole:
        return (*stopped, (Paragraph(_MEND),))
    catalogue, taken = build.offering, build.selection.chosen
    rows: dict[str, list[Row]] = {}
    hidden = Counter[str]()
    for one in found.options:
        reason = one.reason
        if not whole:
            if one.state == "ruled-out" and one.choice in taken:
                hidden[one.choice] += 1
                continue
            reason = shorten(reason, _SHORT, placeholder=" …")
        state = _STATES.get(one.state, one.state)
        title = f"{one.title} ({one.option})"
        rows.setdefault(one.choice, []).append(Row((title, state, _cost(build, one), reason)))
    for choice, count in hidden.items():
        told = text("{count} more not available", count=count)
        rows.setdefault(choice, []).append(Row((told, "", "", "")))

    def turn(choice: str) -> int:
        return 2 if choice in taken else int(catalogue.by_id[choice].pick != "one")

    bodies = (
        RowGroup(rows[choice], f"{catalogue.by_id[choice].title} ({choice})")
        for choice in (rows if whole else sorted(rows, key=turn))
    )
    heads = ("", "State", catalogue.currency, "Why not")
    table = Table(tuple(map(Column, heads)), tuple(bodies))
    blocks: list[Block] = [table]
    if not whole:
        blocks.append(Paragraph(text("Everything, with reasons in full: --all.")))
    return (*stopped, tuple(blocks))


def _cost(build: Resolved, one: OptionAnswer) -> str:
    """What one of it costs, or what it does to the total in place of a pick; empty for neither."""
    if one.difference is not None:
        return signed_amount(one.difference)
    if one.state not in ("open", "implied", "picked"):
        return ""
    choice = build.offering.by_id[one.choice]
    line = option_price(build, choice, choice.by_id[one.option])
    return "" if line.amount is None else amount(line.amount)


def contradiction_report(conflict: Conflict | None) -> Report:
    """That the picks cannot be completed, and why."""
    if conflict is None:
        return ((Paragraph(text("These picks cannot be completed. Why takes longer to find.")),),)
    told = text("These picks cannot be completed.")
    return ((Paragraph(told), Paragraph(conflict.whole)),)


def explanation_report(catalogue: Catalogue, found: ExplainAnswer) -> Report:
    """The argument, a premise on each line; or what the option would replace."""
    wanted, present = found.wanted, found.instead_of
    title = "" if wanted is None else catalogue.option(wanted.choice, wanted.option).title
    if found.conflict is None and not found.possible:
        told = text("{title} is not available. Why takes longer to find.", title=title)
        return ((Paragraph(told),),)
    if found.conflict is None:
        if present is None:
            return ((Paragraph(text("{title} is available with these picks.", title=title)),),)
        by = found.difference
        if present.option:
            other = catalogue.option(present.choice, present.option).title
            told = text("{title} is available instead of {present}", title=title, present=other)
        else:
            told = text("{title} is available, though none is wanted", title=title)
        if by is not None:
            told = text("{told}: {by:signed} {currency}", told=told, by=by, currency=by.currency)
        return ((Paragraph(told),),)
    said = found.conflict
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
    if said.doubt:
        lines.append(Paragraph(said.doubt))
    if said.hint:
        lines.append(Paragraph(text("hint: {hint}", hint=said.hint), depth=1))
    return (tuple(lines),)


def fixes_report(found: Fixes) -> Report:
    """The fixes, best first."""
    lines = []
    if found.nothing_to_mend:
        lines.append(text("These picks go together: nothing needs fixing."))
    elif not found.fixes:
        lines.append(text("No change of picks mends it."))
    for index, fix in enumerate(found.fixes, start=1):
        if len(fix.parts) == 1:
            lines.append(text("{n}. {fix}", n=index, fix=fix.words))
            continue
        lines.append(
            text(
                "{index}. {count} changes: {difference:signed} {currency}",
                index=index,
                count=len(fix.parts),
                difference=fix.difference,
                currency=fix.difference.currency,
            )
        )
        lines += (joined(["   ", part], "") for part in fix.parts)
    return (tuple(map(Paragraph, lines)),)


def completion_report(catalogue: Catalogue, found: Completion) -> Report:
    """What was added, and what the whole comes to."""
    known = {"total": found.total, "tax": found.price.tax_name, "mass": found.mass}
    told = text("The whole package: {total} including {tax}, {mass} kg.", **known)
    if found.mass is None:
        told = text("The whole package: {total} including {tax}.", **known)
    return ((_added(catalogue, found.price, found.added), Paragraph(told)),)


def _added(catalogue: Catalogue, priced: Price, added: Sequence[Pick]) -> Table:
    """What was added, by choice, with its price."""
    lines = {(line.choice, line.option): line for line in priced.lines}
    rows = []
    for pick in added:
        choice = catalogue.by_id[pick.choice]
        line = lines.get((pick.choice, pick.option))
        cost = amount(line.amount) if line is not None else ""
        rows.append(Row((choice.title, choice.by_id[pick.option].times(pick.many), cost)))
    columns = (Column(text("Added")), Column(), Column(priced.currency, "figure"))
    return Table(columns, (RowGroup(rows),))


def within_report(catalogue: Catalogue, found: WithinAnswer) -> Report:
    """What the budget allows, what the rest would take, and what else was chosen."""
    budget = found.budget
    if found.total is None:
        told = text("These picks cannot be completed at any price.")
        if found.conflict is not None:
            told = joined([told, found.conflict.whole], " ")
    elif found.selection is None:
        told = text(
            "Not even the picks alone are available for {budget}: the cheapest package is {total}, "
            "{over:amount} over.",
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
        granted = catalogue.option(wish.choice, wish.option).times(wish.many)
        lines.append(Paragraph(text("granted: {wish}", wish=granted)))
    for left in found.left_out:
        title = catalogue.option(left.wish.choice, left.wish.option).title
        if left.over is not None:
            told = text("left out: {title}: {over:amount} over", title=title, over=left.over)
            lines.append(Paragraph(told))
        else:
            reason = left.conflict.whole if left.conflict is not None else _NOT_SETTLED
            told = text("left out: {title}: {reason}", title=title, reason=reason)
            lines.append(Paragraph(told))
    if found.price is not None and found.added:
        lines.append(_added(catalogue, found.price, found.added))
    return (tuple(lines),)
