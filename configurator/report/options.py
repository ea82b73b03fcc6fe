"""The options as a report: what is open and what is decided at a glance, or everything in full."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby

from configurator.catalogue.fields import tests_in
from configurator.catalogue.model import Catalogue, Choice, Rule
from configurator.engine.availability import OptionAnswer, OptionsAnswer
from configurator.pricing.changes import deal_changes
from configurator.pricing.lines import UNPRICED
from configurator.pricing.price import priced
from configurator.pricing.waiting import waited_for
from configurator.report.engine import contradiction_report, needs_told
from configurator.report.model import (
    Cell,
    Column,
    Command,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    command_about_any,
)
from configurator.selection.resolved import Resolved
from configurator.words import Text, amount, joined, several, signed_amount, text

_STATES = {"ruled-out": text("not available"), "instead": text("available instead")}
"""States that a terminal does not show as they are."""

_TO_CHOOSE, _IF_WANTED, _DECIDED = text("To choose"), text("If wanted"), text("Decided")
"""What the choices are, as the report puts them together."""

_STAR = "*"
"""Behind a difference in price to which a package deal contributes."""


def states_report(
    build: Resolved, found: OptionsAnswer, whole: bool, command: Command = command_about_any
) -> Report:
    """The options by choice: at a glance, or with their titles, states and reasons in full.

    At a glance, choices that have to be answered come first, then those that may be; last what is
    decided, with what is available instead. The price is that of one; of what is available instead
    of a pick, what it does to the total.

    Args:
        build: what is picked.
        found: the options.
        whole: in the catalogue's order, with everything that is not available, and reasons in full.
        command: writes the commands that ask for more.
    """
    stopped = () if found.possible else contradiction_report(found.conflict, command)
    if stopped and not whole:
        return stopped
    by: dict[str, list[OptionAnswer]] = {}
    for one in found.options:
        by.setdefault(one.choice, []).append(one)
    alone = _alone(found, command)
    if whole:
        return (*stopped, (_states_in_full(build, by),), *alone)
    groups: dict[str, list[Row]] = {title: [] for title in (_TO_CHOOSE, _IF_WANTED, _DECIDED)}
    for choice_id, some in by.items():
        choice = build.offering.by_id[choice_id]
        if choice_id in build.selection.empty or choice_id in build.selection.chosen:
            groups[_DECIDED].append(_decided(build, choice, some))
        elif choice.pick == "one":
            groups[_TO_CHOOSE].append(_to_choose(build.offering, choice, some))
        else:
            groups[_IF_WANTED].append(_if_wanted(build.offering, choice, some))
    columns = (Column(), Column(text("Prices in {currency}", currency=build.offering.currency)))
    bodies = [RowGroup(rows, title) for title, rows in groups.items() if rows]
    starred = any(
        _STAR in line for row in groups[_DECIDED] for cell in row.cells for line in cell.below
    )
    deals = (Paragraph(text("* This also changes a package deal.")),)
    more = (
        Paragraph(text("One choice with titles, states and reasons in full, or all of them:")),
        Paragraph(command("options", "--choice", "CHOICE"), depth=1),
        Paragraph(command("options", "--all"), depth=1),
    )
    return ((Table(columns, tuple(bodies)),), deals if starred else (), *alone, more)


def _titled(choice: Choice) -> str:
    return f"{choice.title} ({choice.id})"


def _to_choose(catalogue: Catalogue, choice: Choice, some: Sequence[OptionAnswer]) -> Row:
    """A choice that has to be answered: what there is, and why the rest is not available."""
    there = [one for one in some if one.state in ("open", "implied")]
    lines = [*([_with_costs(there)] if there else []), *_not_there(catalogue, some)]
    return Row((_titled(choice), Cell(lines[0], below=tuple(lines[1:]))))


def _if_wanted(catalogue: Catalogue, choice: Choice, some: Sequence[OptionAnswer]) -> Row:
    """A choice that may stay empty: how many options, and from which price; or why none."""
    there = [one for one in some if one.state in ("open", "implied")]
    left = sum(one.state == "undecided" for one in some)
    known = {"n": len(there), "all": len(some), "left": left}
    told = text("{n} of {all}", **known)
    if left:
        told = text("{n} of {all}, {left} not settled yet", **known)
    why = () if there else _not_there(catalogue, [one for one in some if one.state == "ruled-out"])
    return Row((_titled(choice), Cell(_from(told, there), below=tuple(why))))


def _from(told: Text, some: Sequence[OptionAnswer]) -> Text:
    """What is told of options, with the lowest price that is known, unless nothing has any."""
    known = (one for one in some if not (one.open_by or one.awaits or one.unpriced))
    prices = [one.price for one in known if one.price is not None]
    if not any(prices):
        return told
    return text("{told}, from {price:amount}", told=told, price=min(prices))


def _decided(build: Resolved, choice: Choice, some: Sequence[OptionAnswer]) -> Row:
    """A choice that has an answer: which, and what is available instead or as well."""
    having = build.selection.quantities
    titles = [
        several(having[choice.id, one.option], one.title) for one in some if one.state == "picked"
    ]
    picked = joined(titles, "; ") or text("none")
    below: list[str] = []
    if instead := [one for one in some if one.state == "instead"]:
        below.append(text("or {options}", options=_with_costs(instead, build)))
    if more := [one for one in some if one.state == "open"]:
        below.append(_from(text("{n} more", n=len(more)), more))
    left = [one for one in some if one.state == "undecided"]
    return Row((_titled(choice), Cell(picked, below=(*below, *_not_there(build.offering, left)))))


def _with_costs(there: Sequence[OptionAnswer], build: Resolved | None = None) -> Text:
    """Ids of options, those in turn that cost the same together, each with what it costs.

    Args:
        there: the options.
        build: what is picked, where they are available instead.
    """
    parts: list[str] = []
    free = build is None and not any(one.price is None or one.price for one in there)
    ends = {one.option for one in there if build is not None and deals_told(build, one)}
    for cost, some in groupby(there, lambda one: _cost(one) + _STAR * (one.option in ends)):
        ids = joined([_marked(one) for one in some])
        known = {"options": ids, "cost": cost}
        parts.append(ids if free or not cost else text("{options}\xa0{cost}", **known))
    return joined(parts, "; ")


def _marked(one: OptionAnswer) -> str:
    """The id of an option, and what else has to be known of it at a glance."""
    marks: list[str] = []
    if one.state == "implied":
        marks.append(text("the only one left"))
    if one.needs:
        marks.append(text("also needs {choices}", choices=joined(one.needs)))
    return joined([one.option, *([text("({marks})", marks=joined(marks))] if marks else [])], " ")


def _not_there(catalogue: Catalogue, some: Sequence[OptionAnswer]) -> Iterator[Text]:
    """What is not available or not settled, by reason; of each reason what comes first."""
    by: dict[tuple[str, str], list[str]] = {}
    for one in some:
        if one.state in ("ruled-out", "undecided"):
            by.setdefault((one.state, _brief(catalogue, one)), []).append(one.option)
    for (state, why), ids in by.items():
        known = {"options": joined(ids), "why": why}
        if state == "ruled-out":
            yield text("not available: {options}: {why}", **known)
        else:
            yield text("{options}: {why}", **known)


def _brief(catalogue: Catalogue, one: OptionAnswer) -> str:
    """What comes first of a reason: why a rule was made, what a limit or a fit says.

    A rule for one of the picks comes before what holds for any.
    """
    if one.conflict is not None:
        picks = {pick.key for pick in one.conflict.picks}
        ours = {("rule", rule.id) for rule in catalogue.rules if _applies_to(rule, picks)}
        told = zip(one.conflict.facts, one.conflict.explanations, strict=True)
        for _, said in sorted(told, key=lambda pair: (pair[0].kind, pair[0].subject) not in ours):
            values = said.sentence.values if isinstance(said.sentence, Text) else {}
            if "rule" in values:
                return text("{because:bare}", **values)
            return said.sentence
    cause = one.reason.values.get("cause") if isinstance(one.reason, Text) else None
    return text("not settled: {cause}", cause=cause) if cause else one.reason


def _applies_to(rule: Rule, picks: Collection[tuple[str, str]]) -> bool:
    """Whether it is made for one of these picks."""
    tests = () if rule.when is None else tests_in(rule.when)
    return any((test.choice, option) in picks for test in tests for option in test.options)


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
                    Cell(_named(one), below=(*((reason,) if reason else ()), *beside)),
                    _STATES.get(one.state, one.state),
                    _cost(one),
                )
            )
            for one, reason, beside in _told(build, some)
        ]
        bodies.append(RowGroup(rows, _titled(build.offering.by_id[choice])))
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
        first = one if one.state == "open" else told.setdefault(one.reason, one)
        beside = _beside(build, one)
        again = beside == before and bool(one.awaits)
        before = beside or before
        reason = _doubt(one) or one.reason
        if reason and first is not one:
            reason = text("for the same reason as {title}", title=first.title)
        yield one, reason, () if again else beside


def _doubt(one: OptionAnswer) -> str:
    """What was not settled of an option that is available; empty for others."""
    if one.state != "open" or not isinstance(one.reason, Text) or "cause" not in one.reason.values:
        return ""
    return text("perhaps part of every package: not settled yet")


def _named(one: OptionAnswer) -> str:
    return f"{one.title} ({one.option})"


def _beside(build: Resolved, one: OptionAnswer) -> tuple[Text, ...]:
    """What its price or difference waits for, or which package deals end or begin with it."""
    unpriced = () if one.open_by else one.unpriced  # its own price, as its row says already
    needs = (needs_told(build.catalogue, one.needs),) if one.needs else ()
    if one.awaits or unpriced:
        return (waited_for(build.catalogue, one.awaits, unpriced), *needs)
    return (*deals_told(build, one), *needs)


def _cost(one: OptionAnswer) -> str:
    """What one of it costs, or what it does to the total in place of a pick; empty for neither."""
    if one.difference is not None:
        return signed_amount(one.difference)
    if one.open_by:
        return UNPRICED[one.open_by]
    if one.awaits or one.unpriced:
        return text("no price yet")
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
