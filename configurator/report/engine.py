"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress

from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.engine.availability import ExplainAnswer
from configurator.engine.completion import Completion, PricedPick
from configurator.engine.conflicts import Conflict
from configurator.engine.ways_out import Fixes
from configurator.engine.within import RefusedWish, WithinAnswer
from configurator.pricing.waiting import not_known
from configurator.report.model import (
    Block,
    Column,
    Command,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    command_about_any,
    to_fix,
)
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, free_litres
from configurator.words import Text, amount, in_unit, itemised, listed, text

_NOT_SETTLED = text("no package has it with these picks; the reason was not settled")

_REST = text("To choose the rest in the cheapest way:")


def needs_told(catalogue: Catalogue, needs: Sequence[str]) -> Text:
    """What more has to be picked with what is available instead."""
    titles = listed([catalogue.by_id[choice].title for choice in needs])
    return text("it also needs a pick from {choices}", choices=titles)


def contradiction_report(conflict: Conflict | None, command: Command = command_about_any) -> Report:
    """That the picks cannot be completed, and why, with the command that tells more."""
    if conflict is None:
        told = text("These picks cannot be completed. Why takes longer to find:")
        return ((Paragraph(told), Paragraph(command("explain"), depth=1)),)
    told = text("These picks cannot be completed.")
    return ((Paragraph(told), *_argument(conflict)), to_fix(command))


def _argument(conflict: Conflict) -> Iterator[Paragraph]:
    """Why, a premise on each line; what follows; and what would help."""
    for index, premise in enumerate(conflict.premises):
        if index:
            yield Paragraph(text("and {premise},", premise=premise))
        else:
            yield Paragraph(text("Because {premise},", premise=premise))
    end = "{conclusion}." if conflict.premises else "{conclusion:capital}."
    yield Paragraph(Text(end, "", {"conclusion": conflict.conclusion}))
    if conflict.doubt:
        yield Paragraph(conflict.doubt)
    if conflict.hint:
        yield Paragraph(text("hint: {hint}", hint=conflict.hint), depth=1)


def explanation_report(
    catalogue: Catalogue, found: ExplainAnswer, command: Command = command_about_any
) -> Report:
    """The argument, a premise on each line; or what the option would replace."""
    wanted = found.wanted
    if wanted is None:
        if found.possible:
            return ((Paragraph(text("These picks can be completed.")),),)
        if found.conflict is None:
            told = text("These picks cannot be completed; the reason was not settled.")
            return ((Paragraph(told), *to_fix(command)),)
        return contradiction_report(found.conflict, command)
    title = catalogue.option(wanted.choice, wanted.option).title
    if found.conflict is None and not found.possible:
        told = text("{title} is not available; the reason was not settled.", title=title)
        return ((Paragraph(told), *to_fix(command, str(wanted))),)
    if found.conflict is None:
        return ((Paragraph(available_told(catalogue, found)),),)
    return (tuple(_argument(found.conflict)),)


def available_told(catalogue: Catalogue, found: ExplainAnswer) -> Text:
    """That the option asked about is available; in place of a pick, what that does to the total."""
    wanted, present, by = found.wanted, found.instead_of, found.difference
    assert wanted is not None
    title = catalogue.option(wanted.choice, wanted.option).title
    if present is None:
        return text("{title} is available with these picks.", title=title)
    if present.option:
        other = catalogue.option(present.choice, present.option).title
        told = text("{title} is available instead of {present}", title=title, present=other)
    else:
        told = text("{title} is available; so far, the customer wants none of these", title=title)
    if by is not None:
        told = text("{told}: {by:change}", told=told, by=by)
    elif found.awaits or found.unpriced:
        why = not_known(catalogue, found.awaits, found.unpriced)
        told = text("{told}: {reason}", told=told, reason=why)
    if found.needs:
        told = text("{told}; {more}", told=told, more=needs_told(catalogue, found.needs))
    return told


def fixes_report(
    found: Fixes, before: int = 0, kept: Sequence[str] = (), follows: str = ""
) -> Report:
    """The fixes, best first.

    Args:
        found: the fixes.
        before: how many of them have been shown already.
        kept: titles of what had to be kept.
        follows: the command that says why there are none, or chooses the rest where nothing has to
            be fixed; empty for none.
    """
    blocks = [] if before else [*map(Paragraph, filter(None, [_fixing(found, kept)]))]
    if follows and (found.nothing_to_mend or not found.fixes):
        blocks.append(Paragraph(_REST if found.nothing_to_mend else text("To find out why:")))
        blocks.append(Paragraph(follows, depth=1))
    for index, fix in enumerate(found.fixes[before:], start=before + 1):
        told = text(
            "{index}. {n} change: {costs}",
            "{index}. {n} changes: {costs}",
            index=index,
            n=fix.count,
            costs=fix.costs,
        )
        blocks += [Paragraph(told), *(Paragraph(part, depth=1) for part in fix.parts)]
    if found.unsettled and not found.looking:
        blocks.append(Paragraph(text("There may be more: finding them takes longer.")))
    return (tuple(blocks),)


def _fixing(found: Fixes, kept: Sequence[str]) -> str:
    """What is said above the fixes, or in their place; empty for nothing."""
    if found.nothing_to_mend:
        return text("These picks go together: nothing needs fixing.")
    if not found.fixes and kept:
        return text("No change of picks fixes it and keeps {kept}.", kept=listed(kept))
    if not found.fixes:
        return text("No change of picks fixes it.")
    if found.go_together:
        return text(
            "These picks go together, but something is missing. Any one of these changes is enough:"
        )
    return ""


def completion_report(catalogue: Catalogue, found: Completion) -> Report:
    """What was added, and what the whole comes to."""
    known = {"total": found.total, "tax": found.price.tax_name, "mass": found.mass}
    told = text("The whole package: {total} including {tax}, {mass} kg empty.", **known)
    if found.mass is None:
        told = text("The whole package: {total} including {tax}.", **known)
    free = _free(catalogue, found) if found.prefer == "space" else ()
    if not found.added:
        return ((Paragraph(text("Nothing has to be added.")), Paragraph(told), *free),)
    return ((_added(catalogue, found), Paragraph(told), *free),)


def _free(catalogue: Catalogue, found: Completion) -> Iterator[Paragraph]:
    """How much of each space that the package has stays free."""
    build = Resolved(catalogue, found.selection)
    for space in catalogue.spaces:
        with suppress(MissingPicks):
            known = {"space": space.title, "free": in_unit(free_litres(build, space.id), "L")}
            yield Paragraph(text("Free volume of the {space}: {free}.", **known))


def _added(catalogue: Catalogue, found: Completion) -> Table:
    """What was added, by choice, with its price."""
    columns = (Column(text("Added")), Column(), Column(found.currency, "figure"))
    return Table(columns, (RowGroup(_lines(catalogue, found.added)),))


def _lines(catalogue: Catalogue, picks: Sequence[PricedPick]) -> Iterator[Row]:
    """Each pick under its choice, with its price."""
    for pick in picks:
        choice = catalogue.by_id[pick.choice]
        cost = "" if pick.price is None else amount(pick.price)
        yield Row((choice.title, choice.by_id[pick.option].times(pick.many), cost))


def within_report(
    catalogue: Catalogue, found: WithinAnswer, command: Command | None = command_about_any
) -> Report:
    """What the package costs and leaves of the budget; what was refused; what is in it.

    Without commands it says nothing of how to type what would help. Where the picks cannot be
    completed, no wish could be granted: why is told once, and how to ask for fixes.
    """
    blocks: list[Block] = [Paragraph(_against(found))]
    if found.conflict is not None:
        blocks += _argument(found.conflict)
    if found.to_pay is None and found.settled:
        return (tuple(blocks), to_fix(command)) if command else (tuple(blocks),)
    if found.price is not None:
        if not found.settled:
            blocks.append(Paragraph(text("Whether a cheaper package has them was not settled.")))
        if found.price.open:
            known = {"lines": itemised(found.price.open)}
            told = text("Not counted, since the price is on application: {lines}.", **known)
            blocks.append(Paragraph(told))
    reasons = dict[tuple[str, ...], Text]()
    for left in found.left_out:
        title = catalogue.option(*left.wish.key).times(left.wish.many)
        same = reasons.get(left.conflict.premises) if left.conflict else None
        if same:
            blocks.append(Paragraph(text("Left out: {title}: {reason}", title=title, reason=same)))
        elif left.conflict is None:
            why = _refused(catalogue, left)
            blocks.append(Paragraph(text("Left out: {title}: {reason}", title=title, reason=why)))
        else:
            same = text("for the same reason as {title}", title=title)
            reasons[left.conflict.premises] = same
            blocks.append(Paragraph(text("Left out: {title}.", title=title)))
            blocks += [evolve(one, depth=one.depth + 1) for one in _argument(left.conflict)]
        hint = _way_in(found, left, command)
        if hint:
            blocks.append(Paragraph(text("hint: {hint}", hint=hint), depth=1))
    if found.price is not None:
        groups = ((text("Granted"), found.granted), (text("Added"), found.added))
        bodies = [RowGroup(_lines(catalogue, picks), title) for title, picks in groups if picks]
        columns = (Column(), Column(), Column(found.currency, "figure"))
        blocks += [Table(columns, tuple(bodies))] if bodies else []
    return (tuple(blocks),)


def _against(found: WithinAnswer) -> Text:
    """How the package stands against the budget."""
    budget = found.budget
    if found.to_pay is None and not found.settled:
        return text(
            "{budget} does not cover the picks; what the cheapest package with them costs was not "
            "settled.",
            budget=budget,
        )
    if found.to_pay is None:
        return text("These picks cannot be completed at any price.")
    if found.selection is None:
        return text(
            "{budget} does not cover the picks: the cheapest package with them is {total}, "
            "{over} over.",
            budget=budget,
            total=found.to_pay,
            over=found.to_pay - budget,
        )
    if not found.granted and not found.left_out:
        known = {"total": found.to_pay, "budget": budget, "left": found.left}
        return text("{total} of {budget}, {left} left.", **known)
    return text(
        "{total} of {budget}, {left} left, with {granted} of {n} wish.",
        "{total} of {budget}, {left} left, with {granted} of {n} wishes.",
        total=found.to_pay,
        budget=budget,
        left=found.left,
        granted=len(found.granted),
        n=len(found.granted) + len(found.left_out),
    )


def _refused(catalogue: Catalogue, left: RefusedWish) -> Text:
    """Why a wish is left out, where no conflict says so."""
    other = left.instead_of
    present = "" if other is None else catalogue.option(*other.key).title
    by = left.difference
    match left.state:
        case "too-dear" if left.over is None:
            return text(
                "no package within the budget has it; whether one has it at a higher price was not "
                "settled"
            )
        case "too-dear":
            return text("{over} over the budget", over=left.over)
        case "undecided" if other is None:
            return text("whether the budget allows it was not settled")
        case "undecided":
            return text("whether it is available instead of {other} was not settled", other=present)
        case "instead":
            told = text("available instead of {present}", present=present)
            told = (
                told if by is None else text("{told}: {by:change} for that alone", told=told, by=by)
            )
            if not left.needs:
                return told
            return text("{told}; {more}", told=told, more=needs_told(catalogue, left.needs))
    return _NOT_SETTLED


def _way_in(found: WithinAnswer, left: RefusedWish, command: Command | None) -> Text | None:
    """How to ask for what is available instead of a pick, or of an earlier wish, or not settled."""
    early = left.instead_of and left.instead_of.key in {wish.key for wish in found.granted}
    if left.state == "instead" and early:
        return text("wish for it before that")
    if command is None:
        return None
    if left.state == "undecided" or (left.state == "too-dear" and left.over is None):
        asks = command("explain", left.wish.name)
        return text("to ask whether it is available at any price: {command}", command=asks)
    if left.state != "instead" or left.instead_of is None:
        return None
    return text("to have it for certain, pick it with --pick {wish}", wish=str(left.wish))
