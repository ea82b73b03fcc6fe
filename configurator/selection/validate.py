"""What keeps a selection from being understood against its catalogue, before any rule is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Catalogue, Choice
from configurator.catalogue.parts import OnApplication
from configurator.catalogue.vehicles import RATINGS
from configurator.errors import NOWHERE, Location, Problem, SelectionError, near_miss
from configurator.money import exponent
from configurator.selection.picks import (
    ELSEWHERE,
    Adjustment,
    Budget,
    BudgetEntry,
    FreeLine,
    Override,
    Sale,
    Selection,
    Travel,
    Wish,
)
from configurator.selection.resolved import Resolved, once
from configurator.selection.values import require_fields, require_kind, value_problems

Say: TypeAlias = Callable[..., None]
Said: TypeAlias = tuple[Location, str, str, str, str]


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
    file = build.selection.source or "selection"
    problems: list[Problem] = []

    def say(at: Location, where: str, sentence: str, code: str, hint: str = "") -> None:
        place = at if at is not NOWHERE else Location(where, 0, 0)
        problems.append(Problem(place, sentence, code, hint))

    if build.selection.catalogue != build.catalogue.id:
        say(
            build.selection.at,
            file,
            f'the selection belongs to catalogue "{build.selection.catalogue}", '
            f'not "{build.catalogue.id}"',
            "other-catalogue",
            "name the right catalogue with --catalogue, or change the id in the selection",
        )
        return tuple(problems)
    choices = build.choices
    for pick in build.selection.picks:
        choice = choices.get(pick.choice)
        if choice is None:
            hint = near_miss(pick.choice, choices) or _some(choices)
            say(
                pick.at,
                f"pick {pick}",
                f'there is no choice "{pick.choice}"',
                "unknown-choice",
                hint,
            )
        elif pick.option not in choice.by_id:
            hint = near_miss(pick.option, choice.by_id) or _some(choice.by_id)
            say(
                pick.at,
                f"pick {pick}",
                f'{choice.title} has no option "{pick.option}"',
                "unknown-option",
                hint,
            )
        elif pick.quantity < 1:
            say(
                pick.at,
                f"pick {pick}",
                f"{pick.quantity} is no quantity",
                "quantity",
                "give 1 or more",
            )
    for choice_id, options in build.selection.chosen.items():
        choice = choices.get(choice_id)
        if choice is not None:
            at = next(p.at for p in reversed(build.selection.picks) if p.choice == choice_id)
            for sentence, code, hint in _too_many(choice, options, build.selection):
                say(at, f"pick {choice_id}", sentence, code, hint)
    for wish in build.selection.wishes:
        _wish(build, wish, say)
    for said in free_line_problems(build):
        say(*said)
    money_problems(build, say)
    for override in build.selection.overrides:
        _override(build.catalogue, override, say)
    _travel(build.catalogue, build.selection.travel, say)
    _revision_problems(build.selection, say)
    problems = problems or list(value_problems(build.selection))
    return tuple(sorted(set(problems), key=lambda p: (p.at, p.code, p.sentence)))


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
    problems = [
        Problem(Location(where, 0, 0), sentence, code, hint)
        for _, where, sentence, code, hint in _kept(build, keep, NOWHERE, "keep")
    ]
    if problems:
        raise SelectionError(problems)


def _some(known: Iterable[str]) -> str:
    names = list(known)
    return "known: " + ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")


def _too_many(
    choice: Choice, options: tuple[str, ...], selection: Selection
) -> Iterator[tuple[str, str, str]]:
    if choice.pick != "several" and len(options) > 1:
        yield (
            f"{choice.title} takes one option, but {' and '.join(options)} are picked",
            "too-many-picks",
            "keep one of them",
        )
    total = sum(selection.quantity(choice.id, option) for option in options)
    if choice.at_most is not None and total > choice.at_most:
        yield (
            f"{choice.title} takes {choice.at_most} at most, but {total} are picked",
            "too-many-picks",
            f"leave out {total - choice.at_most}",
        )
    for option_id in options:
        option, quantity = choice.by_id.get(option_id), selection.quantity(choice.id, option_id)
        if option is not None and quantity > option.most:
            yield (
                f"{option.title}: {quantity} are picked, but at most {option.most} can be",
                "too-many-picks",
                f"set its quantity to {option.most} or less",
            )


def _wish(build: Resolved, wish: Wish, say: Say) -> None:
    pick = Pick(wish.choice, wish.option)
    where = f"wish {pick}"
    if not build.selection.quantity(wish.choice, wish.option):
        say(
            wish.at,
            where,
            f'the wish is about "{pick}", which is not picked',
            "wish-not-picked",
            "pick it or leave the wish out",
        )
        return
    choice = build.catalogue.by_id.get(wish.choice)
    option = choice.by_id.get(wish.option) if choice else None
    if option is None:
        return
    if option.unit is None:
        say(
            wish.at,
            where,
            f"{option.title} is nothing to place",
            "wish-no-unit",
            "leave the wish out",
        )
    elif wish.side and wish.side not in option.unit.works_from:
        sides = " or ".join(option.unit.works_from) or "no side"
        say(
            wish.at,
            where,
            f"{option.title} works from {sides}, not {wish.side}",
            "wish-side",
            f"wish for {sides}" if option.unit.works_from else "leave the side out",
        )


def _override(catalogue: Catalogue, override: Override, say: Say) -> None:
    known = (*RATINGS, *(limit.id for limit in catalogue.limits if limit.counts == "mass"))
    if override.subject not in known:
        where = f"override of {override.subject}"
        hint = near_miss(override.subject, known) or _some(known)
        say(
            override.at,
            where,
            f'"{override.subject}" is no rating that can be overridden',
            "unknown-rating",
            hint,
        )


def _travel(catalogue: Catalogue, travel: Travel, say: Say) -> None:
    places = [place.id for place in catalogue.power.places]
    if travel.place and travel.place not in places:
        hint = near_miss(travel.place, places) or _some(places)
        say(travel.at, "travel", f'there is no place "{travel.place}"', "unknown-place", hint)


def money_problems(build: Resolved, say: Callable[..., None]) -> None:
    """Say everything wrong with the money side of a selection.

    Args:
        build: what is picked, from which catalogue.
        say: takes a place, what stands there, a sentence, a code and a hint.
    """
    for adjustment in build.selection.adjustments:
        for said in _adjustment(build, adjustment):
            say(*said)
    for said in (*_trade_ins(build), *_named(build)):
        say(*said)
    if build.selection.budget is not None:
        for said in _budget(build, build.selection.budget):
            say(*said)


def _decimals(catalogue: Catalogue, at: Location, where: str, amount: Decimal) -> Iterator[Said]:
    digits = exponent(catalogue.currency)
    places = amount.as_tuple().exponent
    if isinstance(places, int) and -places > digits:
        sentence = f"amount {amount} has more decimals than {catalogue.currency}: {digits}"
        hint = f"round it to {digits} decimals" if digits else "round it to a whole number"
        yield at, where, sentence, "bad-money", hint


def _adjustment(build: Resolved, adjustment: Adjustment) -> Iterator[Said]:
    at, where = adjustment.at, f'adjustment "{adjustment.title}"'
    if (adjustment.percent is None) == (adjustment.amount is None):
        yield at, where, f"{where} needs either a percent or an amount", "adjustment", ""
    elif adjustment.amount is not None:
        yield from _decimals(build.catalogue, at, where, adjustment.amount)
    if adjustment.group and adjustment.line:
        yield at, where, f"{where} is on a group and on a line at once", "adjustment", ""
    groups = [group.id for group in build.catalogue.groups] + [ADD_ON, FREE_LINE]
    if adjustment.group and adjustment.group not in groups:
        hint = near_miss(adjustment.group, groups) or _some(groups)
        yield at, where, f'there is no group "{adjustment.group}"', "unknown-group", hint
    if adjustment.line and not build.selection.quantity(*adjustment.line.key):
        sentence = f'{where} is on "{adjustment.line}", which is not picked'
        yield at, where, sentence, "adjustment-not-picked", "write the line as CHOICE=OPTION"


def _trade_ins(build: Resolved) -> Iterator[Said]:
    for trade_in in build.selection.trade_ins:
        where = f'trade-in "{trade_in.title}"'
        if trade_in.amount <= 0:
            sentence = f"{where} is {trade_in.amount}; it must be more than 0"
            yield trade_in.at, where, sentence, "out-of-range", "write what it takes off"
        yield from _decimals(build.catalogue, trade_in.at, where, trade_in.amount)


def _named(build: Resolved) -> Iterator[Said]:
    seen: set[Pick] = set()
    for named in build.selection.named_prices:
        where = f'named price of "{named.line}"'
        if not build.selection.quantity(*named.line.key):
            sentence = f'the price named is for "{named.line}", which is not picked'
            yield named.at, where, sentence, "price-not-picked", "write the line as CHOICE=OPTION"
            continue
        choice = build.catalogue.by_id.get(named.line.choice)
        option = choice.by_id.get(named.line.option) if choice else None
        if option and not any(isinstance(part, OnApplication) for part in option.price):
            sentence = f"{option.title} has a price in the catalogue"
            hint = "change it by an adjustment with a reason"
            yield named.at, where, sentence, "price-not-open", hint
        if named.line in seen:
            sentence = f'"{named.line}" has a second named price'
            yield named.at, where, sentence, "repeated-price", "keep one of them"
        seen.add(named.line)
        yield from _decimals(build.catalogue, named.at, where, named.amount)


def _budget(build: Resolved, budget: Budget) -> Iterator[Said]:
    entries: tuple[BudgetEntry | Sale, ...] = (*budget.entries, *budget.sales)
    for entry in entries:
        where = f'budget entry "{entry.title}"'
        if entry.amount < 0:
            sentence = f"{where} is {entry.amount}; it must be at least 0"
            hint = "what the customer sells stands in sales, above zero"
            yield entry.at, where, sentence, "out-of-range", hint
        yield from _decimals(build.catalogue, entry.at, where, entry.amount)
    for name, amount in (("", budget.limit), *budget.limits):
        where = f"budget limit {name}".strip()
        if amount is not None:
            yield from _decimals(build.catalogue, budget.at, where, amount)
    headings = [group.id for group in build.catalogue.groups] + [ADD_ON, FREE_LINE]
    headings += [entry.group or ELSEWHERE for entry in budget.entries]
    for name, _ in budget.limits:
        if name not in headings:
            hint = near_miss(name, headings) or _some(dict.fromkeys(headings))
            sentence = f'there is no group "{name}" to set a budget limit for'
            yield budget.at, f"budget limit {name}", sentence, "unknown-group", hint
    yield from _kept(build, budget.keep, budget.at, "budget keep")


def _kept(build: Resolved, keep: Iterable[Pick], at: Location, what: str) -> Iterator[Said]:
    for kept in keep:
        where = f'{what} "{kept}"'
        choice_id, option = kept.key
        choice = build.catalogue.by_id.get(choice_id)
        if choice is None:
            hint = near_miss(choice_id, build.catalogue.by_id) or _some(build.catalogue.by_id)
            yield at, where, f'there is no choice "{choice_id}"', "unknown-choice", hint
        elif choice_id != VEHICLE and not (
            build.selection.quantity(choice_id, option)
            if option
            else choice_id in build.selection.chosen
        ):
            sentence = f'"{kept}" is to be kept, but is not picked'
            picked = build.selection.chosen.get(choice_id, ())
            hint = f"picked: {', '.join(sorted(picked))}" if picked else "pick it, or leave it out"
            yield at, where, sentence, "keep-not-picked", hint


def free_line_problems(build: Resolved) -> Iterator[Said]:
    """Everything wrong with the free lines of a selection."""
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
        yield from _figures(build.catalogue, line)
        rates = [name for name, _ in build.catalogue.tax.rates]
        if line.tax and line.tax not in rates:
            hint = near_miss(line.tax, rates) or "known: " + ", ".join(rates)
            yield at, where, f'there is no tax rate "{line.tax}"', "unknown-tax-rate", hint
        groups = [group.id for group in build.catalogue.groups]
        if line.group and line.group not in groups:
            hint = near_miss(line.group, groups) or "known: " + ", ".join(groups)
            yield at, where, f'there is no group "{line.group}"', "unknown-group", hint


def _figures(catalogue: Catalogue, line: FreeLine) -> Iterator[Said]:
    at, where = line.at, f'free line "{line.title}"'
    if line.price < 0:
        sentence = f"{where} has the price {line.price}; it must be at least 0"
        hint = "write what is taken off as an adjustment, with its reason"
        yield at, where, sentence, "out-of-range", hint
    digits, places = exponent(catalogue.currency), line.price.as_tuple().exponent
    if isinstance(places, int) and -places > digits:
        sentence = f"price {line.price} has more decimals than {catalogue.currency}: {digits}"
        yield at, where, sentence, "bad-money", f"round it to {digits} decimals"
    if line.mass < 0:
        sentence = f"{where} has the mass {line.mass} kg; it must be at least 0"
        hint = "a free line cannot make the vehicle lighter: leave out the pick that goes"
        yield at, where, sentence, "out-of-range", hint
    grams = line.mass.as_tuple().exponent
    if isinstance(grams, int) and grams < -3:
        sentence = f"mass {line.mass} of {where} is finer than a gram"
        yield at, where, sentence, "out-of-range", "round it to 3 decimals"


def _revision_problems(selection: Selection, say: Callable[..., None]) -> None:
    """Say what is wrong with the history: numbers and days that do not rise, or go too far.

    Args:
        selection: what is wanted, with its revisions.
        say: takes a place, what stands there, a sentence, a code and a hint.
    """
    history = selection.revisions
    for before, after in pairwise(history):
        where = f"revision {after.revision}"
        if after.revision <= before.revision:
            sentence = f"revision {after.revision} is told after revision {before.revision}"
            say(after.at, where, sentence, "revision-order", "write each once, the first one first")
        elif after.date < before.date:
            sentence = (
                f"revision {after.revision} is of {after.date}, before revision "
                f"{before.revision} of {before.date}"
            )
            say(after.at, where, sentence, "revision-order", "give the days of issue")
    if not history:
        return
    last = max(history, key=lambda entry: entry.revision)
    where = f"revision {last.revision}"
    if selection.revision is None:
        sentence = "revisions are told, but not which revision this is"
        hint = f"write revision: {last.revision}"
        say(last.at, where, sentence, "revision-missing", hint)
    elif last.revision > selection.revision:
        sentence = f"this is revision {selection.revision}, but revision {last.revision} is told"
        hint = f"write revision: {last.revision}, or leave the entry out"
        say(last.at, where, sentence, "revision-missing", hint)
