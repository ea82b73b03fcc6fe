"""The engine's answers as reports: options, reasons, fixes, completions, wishes within a budget."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.engine.availability import ExplainAnswer, OptionAnswer, OptionsAnswer
from configurator.engine.conflicts import Conflict
from configurator.engine.ways_out import Completion, Fixes, PricedPick
from configurator.engine.within import RefusedWish, WithinAnswer
from configurator.pricing.changes import deal_changes
from configurator.pricing.lines import UNPRICED
from configurator.pricing.price import priced
from configurator.pricing.waiting import not_known, waited_for
from configurator.report.model import (
    Block,
    Cell,
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
from configurator.words import Text, amount, joined, listed, signed_amount, text

_STATES = {"ruled-out": text("not available"), "instead": text("available instead")}
"""States that a terminal does not show as they are."""

_NOT_SETTLED = text("no package has it with these picks; the reason was not settled")

_SHORT = 140
"""Letters of the longest reason that is shown whole where everything was asked about."""


def states_report(
    build: Resolved, found: OptionsAnswer, whole: bool, command: Command = command_about_any
) -> Report:
    """The options by choice, each with its price; why where it is not available.

    What is open comes first: choices that have to be answered, then the others. Then what is
    decided, with what is available instead. The price is that of one; of what is available instead
    of a pick, what it does to the total.

    Args:
        build: what is picked.
        found: the options.
        whole: in the catalogue's order, with everything that is not available, and reasons in full.
        command: writes the commands that ask for more.
    """
    stopped = () if found.possible else contradiction_report(found.conflict)
    if stopped and not whole:
        return (*stopped, to_fix(command))
    by: dict[str, list[OptionAnswer]] = {}
    for one in found.options:
        by.setdefault(one.choice, []).append(one)
    alone = _alone(found, command)
    if whole:
        return (*stopped, (_states_in_full(build, by),), *alone)
    decided = {
        choice: some
        for choice, some in by.items()
        if choice in build.selection.empty
        or (build.offering.by_id[choice].pick != "several" and choice in build.selection.chosen)
    }
    still_open = {choice: some for choice, some in by.items() if choice not in decided}
    tables = [t for t in (_open_table(build, still_open), _decided_table(build, decided)) if t.rows]
    more = Paragraph(text("Everything, with reasons in full: --all."))
    return (*((table,) for table in tables), *alone, (more,))


def _alone(found: OptionsAnswer, command: Command) -> Report:
    """How to ask for one option of which the state or the reason was left; nothing for none."""
    for one in found.options:
        if one.state in ("undecided", "ruled-out") and one.reason and one.conflict is None:
            asks = command("explain", f"{one.choice}={one.option}")
            return ((Paragraph(text("To ask for one alone:")), Paragraph(asks, depth=1)),)
    return ()


def _states_in_full(build: Resolved, by: Mapping[str, Sequence[OptionAnswer]]) -> Table:
    """Every option with its state and price, and its reason below it, in the catalogue's order."""
    bodies = []
    for choice, some in by.items():
        rows = [
            Row(
                (
                    Cell(_named(one), below=((reason,) if reason else beside)),
                    _STATES.get(one.state, one.state),
                    _cost(one),
                )
            )
            for one, reason, beside in _told(build, some)
        ]
        bodies.append(RowGroup(rows, f"{build.offering.by_id[choice].title} ({choice})"))
    columns = (Column(), Column(text("State")), Column(build.offering.currency, "figure"))
    return Table(columns, tuple(bodies))


def _told(
    build: Resolved, some: Sequence[OptionAnswer]
) -> Iterator[tuple[OptionAnswer, str, tuple[Text, ...]]]:
    """Each of a choice's options with its reason, and what to say of its price.

    The same reason is shown once, and so is what the prices of several in turn wait for.
    """
    told: dict[str, OptionAnswer] = {}
    before: tuple[Text, ...] = ()
    for one in some:
        first = told.setdefault(one.reason, one)
        beside = _beside(build, one)
        again = beside == before and bool(one.awaits)
        before = beside or before
        reason = one.reason
        if reason and first is not one:
            reason = text("for the same reason as {title}", title=first.title)
        yield one, reason, () if again else beside


def _open_table(build: Resolved, by: Mapping[str, Sequence[OptionAnswer]]) -> Table:
    """The options of open choices, each with its price and what there is to say of it."""
    kinds = ("one", "at-most-one", "several")
    by_id = build.offering.by_id
    bodies = []
    for choice, some in sorted(by.items(), key=lambda one: kinds.index(by_id[one[0]].pick)):
        begun = any(one.state == "picked" for one in some)
        shown = [one for one in some if not begun or one.state != "ruled-out"]
        rows = [
            Row((_with_reason(one, reason, beside), _cost(one)))
            for one, reason, beside in _told(build, shown)
        ]
        if len(shown) < len(some):
            rows.append(Row((text("{n} more not available", n=len(some) - len(shown)), "")))
        bodies.append(RowGroup(rows, f"{by_id[choice].title} ({choice})"))
    columns = (Column(text("Open")), Column(build.offering.currency, "figure"))
    return Table(columns, tuple(bodies))


def _with_reason(one: OptionAnswer, reason: str, beside: tuple[Text, ...] = ()) -> Cell:
    """An option, and below it why it is not available, or what else there is to say of it.

    Of a long reason it is the first rule, limit or fit, whole.
    """
    said = {"picked": text("picked"), "implied": text("the only one left")}.get(one.state, "")
    title = joined([_named(one), said], ": ") if said else _named(one)
    if len(reason) > _SHORT and one.conflict is not None and reason == one.reason:
        reason = next((told.sentence for told in one.conflict.explanations), reason)
    if one.state == "ruled-out":
        reason = text("not available: {reason}", reason=reason) if reason else text("not available")
    return Cell(title, below=(reason,) if reason else beside)


def _decided_table(build: Resolved, by: Mapping[str, Sequence[OptionAnswer]]) -> Table:
    """What is picked in decided choices, and what is available instead, with the difference."""
    bodies, alone = [], []
    for choice, some in by.items():
        picked = joined([one.title for one in some if one.state == "picked"]) or text("none")
        told = joined([f"{build.offering.by_id[choice].title} ({choice})", picked], ": ")
        rows = [
            Row(
                (
                    Cell(text("or {option}", option=_named(one)), below=beside),
                    _cost(one),
                )
            )
            if one.state == "instead"
            else Row((_with_reason(one, reason), ""))
            for one, reason, beside in _told(build, some)
            if one.state in ("instead", "undecided")
        ]
        if rows:
            bodies.append(RowGroup(rows, told))
        else:
            alone.append(Row((told, "")))
    columns = (Column(text("Decided")), Column(build.offering.currency, "figure"))
    return Table(columns, (*bodies, *([RowGroup(alone)] if alone else [])))


def _named(one: OptionAnswer) -> str:
    return f"{one.title} ({one.option})"


def _beside(build: Resolved, one: OptionAnswer) -> tuple[Text, ...]:
    """What its price or difference waits for, or which package deals end or begin with it."""
    unpriced = () if one.open_by else one.unpriced  # its own price, as its row says already
    needs = (needs_told(build.catalogue, one.needs),) if one.needs else ()
    if one.awaits or unpriced:
        return (waited_for(build.catalogue, one.awaits, unpriced), *needs)
    return (*deals_told(build, one), *needs)


def needs_told(catalogue: Catalogue, needs: Sequence[str]) -> Text:
    """What more has to be picked with what is available instead."""
    titles = listed([catalogue.by_id[choice].title for choice in needs])
    return text("it also needs a pick from {choices}", choices=titles)


def _cost(one: OptionAnswer) -> str:
    """What one of it costs, or what it does to the total in place of a pick; empty for neither."""
    if one.difference is not None:
        return signed_amount(one.difference)
    if one.open_by:
        return UNPRICED[one.open_by]
    if one.awaits or one.unpriced:
        return text("not known yet")
    return "" if one.price is None else amount(one.price)


def deals_told(build: Resolved, one: OptionAnswer) -> tuple[Text, ...]:
    """Which package deals end or begin with what is available instead of a pick."""
    catalogue = build.catalogue
    dealt = {pick.choice for deal in catalogue.package_deals for pick in deal.picks}
    if one.difference is None or one.choice not in dealt:
        return ()
    other = build.having(build.picking(catalogue.picked(one.choice, one.option)).tidied())
    changes = deal_changes(priced(build).deals, priced(other).deals)
    return tuple(change.told for change in changes)


def contradiction_report(conflict: Conflict | None, command: Command = command_about_any) -> Report:
    """That the picks cannot be completed, and why, or how to ask for that."""
    if conflict is None:
        told = text("These picks cannot be completed. Why takes longer to find:")
        return ((Paragraph(told), Paragraph(command("explain"), depth=1)),)
    told = text("These picks cannot be completed.")
    return ((Paragraph(told), *_argument(conflict)),)


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
    wanted, present = found.wanted, found.instead_of
    if wanted is None:
        if found.possible:
            return ((Paragraph(text("These picks can be completed.")),),)
        if found.conflict is None:
            told = text("These picks cannot be completed; the reason was not settled.")
            return ((Paragraph(told), *to_fix(command)),)
        return (*contradiction_report(found.conflict), to_fix(command))
    title = catalogue.option(wanted.choice, wanted.option).title
    if found.conflict is None and not found.possible:
        told = text("{title} is not available; the reason was not settled.", title=title)
        return ((Paragraph(told), *to_fix(command, str(wanted))),)
    if found.conflict is None:
        if present is None:
            return ((Paragraph(text("{title} is available with these picks.", title=title)),),)
        by = found.difference
        if present.option:
            other = catalogue.option(present.choice, present.option).title
            told = text("{title} is available instead of {present}", title=title, present=other)
        else:
            told = text(
                "{title} is available; so far, the customer wants none of these", title=title
            )
        if by is not None:
            told = text("{told}: {by:change}", told=told, by=by)
        elif found.awaits or found.unpriced:
            why = not_known(catalogue, found.awaits, found.unpriced)
            told = text("{told}: {reason}", told=told, reason=why)
        if found.needs:
            told = text("{told}; {more}", told=told, more=needs_told(catalogue, found.needs))
        return ((Paragraph(told),),)
    return (tuple(_argument(found.conflict)),)


def fixes_report(found: Fixes, before: int = 0, kept: Sequence[str] = ()) -> Report:
    """The fixes, best first, after so many shown already; and titles of what had to be kept."""
    blocks = [] if before else [*map(Paragraph, filter(None, [_fixing(found, kept)]))]
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
    if not found.added:
        return ((Paragraph(text("Nothing has to be added.")), Paragraph(told)),)
    return ((_added(catalogue, found), Paragraph(told)),)


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


def within_report(catalogue: Catalogue, found: WithinAnswer) -> Report:
    """What the package costs and leaves of the budget; what was refused; what is in it."""
    blocks: list[Block] = [Paragraph(_against(found))]
    if found.conflict is not None:
        blocks += _argument(found.conflict)
    if found.price is not None:
        if not found.settled:
            blocks.append(Paragraph(text("Whether a cheaper package has them was not settled.")))
        if found.price.open:
            known = {"lines": joined(found.price.open, ", ")}
            told = text("Not counted, since the price is on application: {lines}.", **known)
            blocks.append(Paragraph(told))
    reasons = {found.conflict.premises: text("for the same reason")} if found.conflict else {}
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
        hint = _way_in(found, left)
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
            return text("no package within the budget has it; how far over was not settled")
        case "too-dear":
            return text("{over} over the budget", over=left.over)
        case "undecided" if other is None:
            return text("whether the budget allows it was not settled")
        case "undecided":
            return text("whether it is available instead of {other} was not settled", other=present)
        case "instead":
            told = text("available instead of {present}", present=present)
            told = told if by is None else text("{told}: {by:change}", told=told, by=by)
            if not left.needs:
                return told
            return text("{told}; {more}", told=told, more=needs_told(catalogue, left.needs))
    return _NOT_SETTLED


def _way_in(found: WithinAnswer, left: RefusedWish) -> Text | None:
    """How to ask for what is available instead of a pick, or of an earlier wish."""
    if left.state != "instead" or left.instead_of is None:
        return None
    if left.instead_of.key in {wish.key for wish in found.granted}:
        return text("wish for it before that")
    known = {"wish": str(left.wish), "choice": left.wish.choice}
    return text("pick it with --pick {wish}, or leave it open with --drop {choice}", **known)
