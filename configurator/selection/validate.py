"""Errors that keep a selection from being understood against its catalogue."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Catalogue, Option
from configurator.catalogue.parts import OnApplication
from configurator.catalogue.vehicles import RATINGS
from configurator.errors import NOWHERE, Location, Problem, SelectionError, by_place, near_miss
from configurator.money import exponent
from configurator.selection.picks import ELSEWHERE, BudgetEntry, Sale, Selection
from configurator.selection.resolved import Resolved, once
from configurator.selection.values import require_fields, require_kind, value_problems
from configurator.words import shown_unit, text

Said: TypeAlias = tuple[Location, str, str, str, str]
"""A place, what is there, a sentence, a code and a hint."""


def selection_problems(build: Resolved) -> tuple[Problem, ...]:
    """Everything that keeps the selection from being understood; empty when there is nothing.

    Names that point nowhere, more options or larger quantities than a choice takes, wishes and
    adjustments on what is not picked, amounts with too many decimals; and what a file with its
    values would be refused for.

    Raises:
        TypeError: an argument, or a field of the selection, is of a wrong type.
    """
    require_kind("catalogue", build.catalogue, Catalogue)
    require_fields("selection", build.selection, Selection)
    if build.selection.catalogue != build.catalogue.id:
        return by_place(_problems(_other_catalogue(build)))
    parts = (
        _picks,
        _none,
        _wishes,
        _free_lines,
        _adjustments,
        _trade_ins,
        _named,
        _budget,
        _others,
        _dates,
    )
    problems = _problems(said for part in parts for said in part(build))
    return by_place([*problems] or value_problems(build.selection))


@once
def require_known(build: Resolved) -> None:
    """Raise unless the selection can be understood.

    Raises:
        SelectionError: with every problem of :func:`selection_problems`.
    """
    problems = selection_problems(build)
    if problems:
        raise SelectionError(problems)


def require_kept(build: Resolved, keep: Iterable[Pick]) -> None:
    """Raise unless what is to be kept, choices or ``choice=option``, is picked.

    Raises:
        SelectionError: with every problem.
    """
    problems = [*_problems(_kept(build, keep, NOWHERE, "keep"))]
    if problems:
        raise SelectionError(problems)


def _problems(found: Iterable[Said]) -> Iterator[Problem]:
    """The problems, each at its place, or at what is there where it stood in no file."""
    for at, where, sentence, code, hint in found:
        place = at if at is not NOWHERE else Location(where, 0, 0)
        yield Problem(place, sentence, code, hint)


def _other_catalogue(build: Resolved) -> Iterator[Said]:
    selection, wanted = build.selection, build.catalogue.id
    sentence = f'the selection belongs to catalogue "{selection.catalogue}", not "{wanted}"'
    hint = "name the right catalogue with --catalogue, or change the id in the selection"
    yield selection.at, selection.source or "selection", sentence, "other-catalogue", hint


def _unknown(
    at: Location, where: str, kind: str, name: str, known: Iterable[str]
) -> Iterator[Said]:
    """The name, unless it is known; where it may be left out, an empty one names nothing."""
    names = list(dict.fromkeys(known))
    if (name or kind == "choice") and name not in names:
        code = f"unknown-{kind.replace(' ', '-')}"
        yield at, where, f'there is no {kind} "{name}"', code, _instead(name, names)


def _instead(name: str, names: list[str]) -> str:
    some = "known: " + ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")
    return near_miss(name, names) or some


def _decimals(
    build: Resolved, at: Location, where: str, amount: Decimal | None, word: str = "amount"
) -> Iterator[Said]:
    digits, places = exponent(build.catalogue.currency), amount.as_tuple().exponent if amount else 0
    if isinstance(places, int) and -places > digits:
        sentence = f"{word} {amount} has more decimals than {build.catalogue.currency}: {digits}"
        hint = f"round it to {digits} decimals" if digits else "round it to a whole number"
        yield at, where, sentence, "bad-money", hint


def _option(build: Resolved, choice_id: str, option: str) -> Option | None:
    choice = build.choices.get(choice_id)
    return choice.by_id.get(option) if choice else None


def _picks(build: Resolved) -> Iterator[Said]:
    selection = build.selection
    for pick in selection.picks:
        at, where, choice = pick.at, f"pick {pick}", build.choices.get(pick.choice)
        if choice is None:
            sentence: str = text('there is no choice "{choice}"', choice=pick.choice)
            hint = _instead(pick.choice, [*build.choices])
            yield at, where, sentence, "unknown-choice", hint
        elif pick.option not in choice.by_id:
            known = {"choice": choice.title, "option": pick.option}
            sentence = text('{choice} has no option "{option}"', **known)
            yield at, where, sentence, "unknown-option", _instead(pick.option, [*choice.by_id])
        elif pick.quantity < 1:
            yield at, where, f"{pick.quantity} is not a quantity", "quantity", "give 1 or more"
        elif pick.amount is not None:
            yield from _amount(pick, choice.by_id[pick.option])
    for choice_id, options in selection.chosen.items():
        choice, where, code = build.choices.get(choice_id), f"pick {choice_id}", "too-many-picks"
        if choice is None:
            continue
        at = next(pick.at for pick in reversed(selection.picks) if pick.choice == choice_id)
        if choice.pick != "several" and len(options) > 1:
            sentence = f"{choice.title} takes one option, but {' and '.join(options)} are picked"
            yield at, where, sentence, code, "keep one of them"
        total = sum(selection.quantity(choice_id, option) for option in options)
        if choice.at_most is not None and total > choice.at_most:
            sentence = f"{choice.title} takes {choice.at_most} at most, but {total} are picked"
            yield at, where, sentence, code, f"leave out {total - choice.at_most}"
        for name in options:
            option, quantity = choice.by_id.get(name), selection.quantity(choice_id, name)
            if option is not None and quantity > option.most:
                values = {"option": option.title, "quantity": quantity, "most": option.most}
                sentence = text(
                    "{option}: {quantity} are picked, but at most {most} can be", **values
                )
                hint = text("set its quantity to {most} or less", **values)
                yield at, where, sentence, code, hint


def _amount(pick: Pick, option: Option) -> Iterator[Said]:
    """An amount in which the option is not sold."""
    at, where, amount, sold = pick.at, f"pick {pick}", Decimal(pick.many), option.sold_by
    if sold is None:
        sentence = f"{option.title} is sold by the piece, so {amount:f} is not a quantity"
        yield at, where, sentence, "quantity", "give a whole number"
    elif amount <= 0 or amount % Decimal("0.01"):
        values: dict[str, object] = {"option": option.title, "amount": str(amount)}
        sentence = text("{option}: {amount} is not an amount that can be sold", **values)
        yield at, where, sentence, "quantity", text("give more than 0, with two decimals at most")
    elif pick.choice != FREE_LINE and not sold.allows(amount):
        most = text("{n} {unit}" if sold.unit else "{n}", n=sold.most, unit=shown_unit(sold.unit))
        values = {"option": option.title, "step": sold.step, "least": sold.least, "most": most}
        sentence = text(
            "{option} is sold in steps of {step} from {least} to {most}, not as {amount}",
            **values,
            amount=f"{amount:f}",
        )
        hint = text("change {amount} to an amount that it is sold in", amount=f"{amount:f}")
        yield at, where, sentence, "quantity", hint


def _none(build: Resolved) -> Iterator[Said]:
    selection = build.selection
    for at, choice_id in ((one.at, one.choice) for one in selection.none):
        where, choice = f"none of {choice_id}", build.choices.get(choice_id)
        if choice is None:
            yield from _unknown(at, where, "choice", choice_id, build.choices)
        elif choice.pick == "one":
            sentence = f"{choice.title} takes one option; none of them is no answer"
            yield at, where, sentence, "none-of-one", f'leave "{choice_id}" out of none'
        elif choice_id in selection.chosen:
            sentence = f"{choice.title} is to have none, and has {selection.one(choice_id)}"
            yield at, where, sentence, "none-and-picked", "keep one of the two"


def _wishes(build: Resolved) -> Iterator[Said]:
    for wish in build.selection.wishes:
        pick, at = Pick(wish.choice, wish.option), wish.at
        where, option = f"wish {pick}", _option(build, wish.choice, wish.option)
        if not build.selection.quantity(wish.choice, wish.option):
            sentence = f'the wish is about "{pick}", which is not picked'
            yield at, where, sentence, "wish-not-picked", "pick it or leave the wish out"
        elif option is None:
            continue
        elif option.unit is None:
            sentence = f"{option.title} is not something to place"
            yield at, where, sentence, "wish-no-unit", "leave the wish out"
        elif wish.side and wish.side not in option.unit.works_from:
            sides = " or ".join(option.unit.works_from)
            sentence = f"{option.title} works from {sides or 'no side'}, not {wish.side}"
            hint = f"wish for {sides}" if sides else "leave the side out"
            yield at, where, sentence, "wish-side", hint


def _free_lines(build: Resolved) -> Iterator[Said]:
    seen: set[str] = set()
    for line in build.selection.free_lines:
        at, where = line.at, f'free line "{line.title}"'
        if line.id in seen:
            sentence = f'{where} has the id "{line.id}" of another free line'
            yield at, where, sentence, "repeated-id", "give each an id of its own"
        seen.add(line.id)
        if not build.selection.quantity(FREE_LINE, line.id):
            hint = f"pick {Pick(FREE_LINE, line.id)}, or leave the free line out"
            yield at, where, f"{where} has no quantity", "quantity", hint
        if line.price < 0:
            sentence = f"{where} has the price {line.price}; it must be at least 0"
            hint = "write what is taken off as an adjustment, with its reason"
            yield at, where, sentence, "out-of-range", hint
        if line.per is None:
            yield from _decimals(build, at, where, line.price, "price")
        if line.mass < 0:
            sentence = f"{where} has the mass {line.mass} kg; it must be at least 0"
            hint = "a free line cannot make the vehicle lighter: leave out the pick that goes"
            yield at, where, sentence, "out-of-range", hint
        grams = line.mass.as_tuple().exponent
        if isinstance(grams, int) and grams < -3:
            sentence = f"mass {line.mass} of {where} is finer than a gram"
            yield at, where, sentence, "out-of-range", "round it to 3 decimals"
        rates = (name for name, _ in build.catalogue.tax.rates)
        yield from _unknown(at, where, "tax rate", line.tax, rates)
        groups = (group.id for group in build.catalogue.groups)
        yield from _unknown(at, where, "group", line.group, groups)


def _adjustments(build: Resolved) -> Iterator[Said]:
    groups = [*(group.id for group in build.catalogue.groups), ADD_ON, FREE_LINE]
    for adjustment in build.selection.adjustments:
        at, where = adjustment.at, f'adjustment "{adjustment.title}"'
        if (adjustment.percent is None) == (adjustment.amount is None):
            yield at, where, f"{where} needs either a percent or an amount", "adjustment", ""
        else:
            yield from _decimals(build, at, where, adjustment.amount)
        if adjustment.group and adjustment.line:
            yield at, where, f"{where} is on a group and on a line at once", "adjustment", ""
        if adjustment.tax and adjustment.line:
            sentence = f"{where} is on a line and at a tax rate; the line has a rate of its own"
            yield at, where, sentence, "adjustment", "leave one of the two out"
        rates = (name for name, _ in build.catalogue.tax.rates)
        yield from _unknown(at, where, "tax rate", adjustment.tax, rates)
        yield from _unknown(at, where, "group", adjustment.group, groups)
        if adjustment.line and not build.selection.quantity(*adjustment.line.key):
            sentence = f'{where} is on "{adjustment.line}", which is not picked'
            yield at, where, sentence, "adjustment-not-picked", "write the line as CHOICE=OPTION"


def _trade_ins(build: Resolved) -> Iterator[Said]:
    for trade_in in build.selection.trade_ins:
        at, where = trade_in.at, f'trade-in "{trade_in.title}"'
        if trade_in.amount <= 0:
            sentence = f"{where} is {trade_in.amount}; it must be more than 0"
            yield at, where, sentence, "out-of-range", "write what it takes off"
        yield from _decimals(build, at, where, trade_in.amount)


def _named(build: Resolved) -> Iterator[Said]:
    seen: set[Pick] = set()
    for named in build.selection.named_prices:
        at, where = named.at, f'named price of "{named.line}"'
        if not build.selection.quantity(*named.line.key):
            sentence = f'the price named is for "{named.line}", which is not picked'
            yield at, where, sentence, "price-not-picked", "write the line as CHOICE=OPTION"
            continue
        option = _option(build, *named.line.key)
        if option and not any(isinstance(part, OnApplication) for part in option.price):
            hint = "change it by an adjustment with a reason"
            yield at, where, f"{option.title} has a price in the catalogue", "price-not-open", hint
        if named.line in seen:
            sentence = f'"{named.line}" has a second named price'
            yield at, where, sentence, "repeated-price", "keep one of them"
        seen.add(named.line)
        yield from _decimals(build, at, where, named.amount)


def _budget(build: Resolved) -> Iterator[Said]:
    budget = build.selection.budget
    if budget is None:
        return
    entries: tuple[BudgetEntry | Sale, ...] = (*budget.entries, *budget.sales)
    for entry in entries:
        at, where = entry.at, f'budget entry "{entry.title}"'
        if entry.amount < 0:
            sentence = f"{where} is {entry.amount}; it must be at least 0"
            hint = "what the customer sells goes in sales, above zero"
            yield at, where, sentence, "out-of-range", hint
        yield from _decimals(build, at, where, entry.amount)
    headings = [*(group.id for group in build.catalogue.groups), ADD_ON, FREE_LINE]
    headings += [entry.group or ELSEWHERE for entry in budget.entries]
    yield from _decimals(build, budget.at, "budget limit", budget.limit)
    for name, amount in budget.limits:
        where = f"budget limit {name}"
        yield from _decimals(build, budget.at, where, amount)
        if name not in headings:
            sentence = f'there is no group "{name}" to set a budget limit for'
            hint = _instead(name, [*dict.fromkeys(headings)])
            yield budget.at, where, sentence, "unknown-group", hint
    yield from _kept(build, budget.keep, budget.at, "budget keep")


def _kept(build: Resolved, keep: Iterable[Pick], at: Location, what: str) -> Iterator[Said]:
    selection = build.selection
    for kept in keep:
        at = at if kept.at is NOWHERE else kept.at
        where, picked = f'{what} "{kept}"', selection.chosen.get(kept.choice, ())
        there = selection.quantity(*kept.key) if kept.option else picked
        if kept.choice not in build.catalogue.by_id:
            sentence = f'there is no choice "{kept.choice}"'
            hint = _instead(kept.choice, [*build.catalogue.by_id])
            yield at, where, sentence, "unknown-choice", hint
        elif kept.choice != VEHICLE and not there:
            sentence = f'"{kept}" is to be kept, but is not picked'
            hint = f"picked: {', '.join(sorted(picked))}" if picked else "pick it, or leave it out"
            yield at, where, sentence, "keep-not-picked", hint


def _others(build: Resolved) -> Iterator[Said]:
    """Overrides, the place of travel, and a history whose numbers or days do not rise."""
    catalogue, selection = build.catalogue, build.selection
    ratings = [*RATINGS, *(limit.id for limit in catalogue.limits if limit.counts == "mass")]
    for override in selection.overrides:
        if override.subject not in ratings:
            sentence = f'"{override.subject}" is not a rating that can be overridden'
            hint = _instead(override.subject, ratings)
            yield override.at, f"override of {override.subject}", sentence, "unknown-rating", hint
    travel, places = selection.travel, (place.id for place in catalogue.power.places)
    yield from _unknown(travel.at, "travel", "place", travel.place, places)
    history = selection.revisions
    for before, after in pairwise(history):
        at, where, code = after.at, f"revision {after.revision}", "revision-order"
        if after.revision <= before.revision:
            sentence = f"{where} is listed after revision {before.revision}"
            yield at, where, sentence, code, "write each once, the first one first"
        elif after.date < before.date:
            earlier = f"before revision {before.revision} of {before.date}"
            yield (
                at,
                where,
                f"{where} is of {after.date}, {earlier}",
                code,
                "give the days of issue",
            )
    if not history:
        return
    last = max(history, key=lambda entry: entry.revision)
    at, where, code = last.at, f"revision {last.revision}", "revision-missing"
    if selection.revision is None:
        sentence = "revisions are listed, but not which one this is"
        yield at, where, sentence, code, f"write revision: {last.revision}"
    elif last.revision > selection.revision:
        sentence = f"this is revision {selection.revision}, but {where} is listed"
        yield at, where, sentence, code, f"write revision: {last.revision}, or leave the entry out"


def _dates(build: Resolved) -> Iterator[Said]:
    """Dates of payments that there are not, of nothing, of both, twice, or that end too early."""
    stages = [str(stage.title) for stage in build.catalogue.quote.payments]
    known = set[str]()
    for planned in build.selection.dates:
        at, where = planned.at, f"date {planned.day}"
        if bool(planned.title) == bool(planned.payment):
            hint = "give either title or payment"
            yield at, where, "a date is of one thing: something done, or a payment", "date", hint
        elif planned.payment and planned.payment not in stages:
            sentence = f'there is no payment "{planned.payment}"'
            yield at, where, sentence, "unknown-payment", _instead(planned.payment, stages)
        elif planned.what in known:
            sentence = f'"{planned.what}" has a date already'
            yield at, where, sentence, "date", "give each a title of its own"
        elif planned.until and planned.until < planned.day:
            sentence = f"it ends on {planned.until}, before it begins on {planned.day}"
            yield at, where, sentence, "date", "give the last day as until"
        known.add(planned.what)
