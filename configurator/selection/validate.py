"""Errors that keep a selection from being understood against its catalogue."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, Catalogue, Option
from configurator.catalogue.parts import OnApplication
from configurator.catalogue.vehicles import RATINGS
from configurator.errors import NOWHERE, Location, Problem, SelectionError, by_place
from configurator.money import exponent
from configurator.selection.picks import ELSEWHERE, BudgetEntry, Sale, Selection
from configurator.selection.resolved import Resolved, once
from configurator.selection.values import require_fields, require_kind, value_problems
from configurator.words import joined, near_miss, shown_unit, text

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
    sentence = text(
        'the selection belongs to catalogue "{other}", not "{wanted}"',
        other=selection.catalogue,
        wanted=wanted,
    )
    hint = text("name the right catalogue with --catalogue, or change the id in the selection")
    yield selection.at, selection.source or "selection", sentence, "other-catalogue", hint


def _unknown(
    at: Location, where: str, kind: str, name: str, known: Iterable[str]
) -> Iterator[Said]:
    """The name, unless it is known; where it may be left out, an empty one names nothing."""
    names = list(dict.fromkeys(known))
    if (name or kind == "choice") and name not in names:
        code = f"unknown-{kind.replace(' ', '-')}"
        yield at, where, _UNKNOWN[kind](name), code, _instead(name, names)


_UNKNOWN: Mapping[str, Callable[[str], str]] = {
    "choice": lambda name: text('there is no choice "{name}"', name=name),
    "tax rate": lambda name: text('there is no tax rate "{name}"', name=name),
    "group": lambda name: text('there is no group "{name}"', name=name),
    "place": lambda name: text('there is no place "{name}"', name=name),
}


def _instead(name: str, names: list[str]) -> str:
    known = text("known: {words}", words=", ".join(names[:8]) + (", ..." if names[8:] else ""))
    return near_miss(name, names) or known


def _unknown_pick(build: Resolved, at: Location, where: str, pick: Pick) -> Iterator[Said]:
    """What is said of an option that there is not."""
    choice, name = build.choices.get(pick.choice), pick.option
    if choice is None:
        return _unknown(at, where, "choice", pick.choice, build.choices)
    hint = _instead(name, [*choice.by_id])
    if name.casefold() == "none" and choice.pick != "one":
        known = {"choice": choice.id}
        hint = text("write none: [{choice}] beside picks, or give --none {choice}", **known)
    sentence = text('{choice} has no option "{option}"', choice=choice.title, option=name)
    if not name:
        sentence = text("no option of {choice} is named", choice=choice.title)
    return iter([(at, where, sentence, "unknown-option", hint)])


def _decimals(
    build: Resolved, at: Location, where: str, amount: Decimal | None, word: str = ""
) -> Iterator[Said]:
    currency, places = build.catalogue.currency, amount.as_tuple().exponent if amount else 0
    digits = exponent(currency)
    if isinstance(places, int) and -places > digits:
        known = {"amount": str(amount), "currency": currency, "digits": digits}
        sentence = text(
            "{what} {amount} has more decimals than {currency}: {digits}",
            what=word or text("amount"),
            **known,
        )
        hint = text("round it to {digits} decimals", **known)
        if not digits:
            hint = text("round it to a whole number")
        yield at, where, sentence, "bad-money", hint


def _option(build: Resolved, choice_id: str, option: str) -> Option | None:
    choice = build.choices.get(choice_id)
    return choice.by_id.get(option) if choice else None


def _absent(build: Resolved, pick: Pick) -> bool:
    """Whether it is not picked, and no option misspelt in its choice may be meant for it."""
    choice, picked = build.choices.get(pick.choice), build.selection.chosen.get(pick.choice, ())
    misspelt = choice is not None and any(option not in choice.by_id for option in picked)
    return not misspelt and not build.selection.quantity(*pick.key)


def _picks(build: Resolved) -> Iterator[Said]:
    selection = build.selection
    for pick in selection.picks:
        at, where, choice = pick.at, f"pick {pick}", build.choices.get(pick.choice)
        if choice is None or pick.option not in choice.by_id:
            yield from _unknown_pick(build, at, where, pick)
        elif pick.quantity < 1:
            sentence = text("{n} is not a quantity", n=pick.quantity)
            yield at, where, sentence, "quantity", text("give 1 or more")
        elif pick.amount is not None:
            yield from _amount(pick, choice.by_id[pick.option])
    for choice_id, options in selection.chosen.items():
        choice, where, code = build.choices.get(choice_id), f"pick {choice_id}", "too-many-picks"
        if choice is None:
            continue
        at = next(pick.at for pick in reversed(selection.picks) if pick.choice == choice_id)
        if choice.pick != "several" and len(options) > 1:
            sentence = text(
                "{choice} takes one option, but {options} are picked",
                choice=choice.title,
                options=joined(options, text(" and ")),
            )
            yield at, where, sentence, code, text("keep one of them")
        total = sum(selection.quantity(choice_id, option) for option in options)
        most = sum(min(selection.quantity(choice_id, one.id), one.most) for one in choice.options)
        if choice.at_most is not None and total > choice.at_most < most:
            sentence = text(
                "{choice} takes {most} at most, but {total} are picked",
                choice=choice.title,
                most=choice.at_most,
                total=total,
            )
            hint = text("leave out {many}", many=total - choice.at_most)
            yield at, where, sentence, code, hint
        for name in options:
            option, quantity = choice.by_id.get(name), selection.quantity(choice_id, name)
            if option is not None and quantity > option.most:
                values = {"option": option.title, "quantity": quantity, "most": option.most}
                sentence = text("{option}: {quantity} picked, at most {most} allowed", **values)
                hint = text("set its quantity to {most} or less", **values)
                yield at, where, sentence, code, hint


def _amount(pick: Pick, option: Option) -> Iterator[Said]:
    """An amount in which the option is not sold."""
    at, where, amount, sold = pick.at, f"pick {pick}", Decimal(pick.many), option.sold_by
    if sold is None:
        sentence = text(
            "{option} is sold by the piece, so {amount} is not a quantity",
            option=option.title,
            amount=f"{amount:f}",
        )
        yield at, where, sentence, "quantity", text("give a whole number")
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
            sentence = text(
                "{choice} takes exactly one option, so it cannot have none", choice=choice.title
            )
            hint = text('leave "{choice}" out of none', choice=choice_id)
            yield at, where, sentence, "none-of-one", hint
        elif choice_id in selection.chosen:
            sentence = text(
                "{choice} is to have none, and has {option}",
                choice=choice.title,
                option=selection.one(choice_id),
            )
            yield at, where, sentence, "none-and-picked", text("keep one of the two")


def _wishes(build: Resolved) -> Iterator[Said]:
    for wish in build.selection.wishes:
        pick, at = Pick(wish.choice, wish.option), wish.at
        where, option = f"wish {pick}", _option(build, wish.choice, wish.option)
        if _absent(build, pick):
            sentence = text('the wish is about "{pick}", which is not picked', pick=str(pick))
            yield at, where, sentence, "wish-not-picked", text("pick it or leave the wish out")
        elif option is None:
            continue
        elif option.unit is None:
            sentence = text("{option} is not something to place", option=option.title)
            yield at, where, sentence, "wish-no-unit", text("leave the wish out")
        elif wish.side and wish.side not in option.unit.works_from:
            sides = joined((text(one) for one in option.unit.works_from), text(" or "))
            sentence = text(
                "{option} works from {sides}, not {side}",
                option=option.title,
                sides=sides or text("no side"),
                side=text(wish.side),
            )
            hint = text("wish for {sides}", sides=sides) if sides else text("leave the side out")
            yield at, where, sentence, "wish-side", hint


def _free_lines(build: Resolved) -> Iterator[Said]:
    seen: set[str] = set()
    for line in build.selection.free_lines:
        at, where = line.at, text('free line "{title}"', title=line.title)
        if line.id in seen:
            sentence = text(
                '{where} has the id "{id}" of another free line', where=where, id=line.id
            )
            yield at, where, sentence, "repeated-id", text("give each an id of its own")
        seen.add(line.id)
        if not build.selection.quantity(FREE_LINE, line.id):
            pick = str(Pick(FREE_LINE, line.id))
            hint = text("pick {pick}, or leave the free line out", pick=pick)
            yield at, where, text("{where} has no quantity", where=where), "quantity", hint
        if line.price < 0:
            sentence = text(
                "{where} has the price {price}; it must be at least 0",
                where=where,
                price=str(line.price),
            )
            hint = text("write what is taken off as an adjustment, with its reason")
            yield at, where, sentence, "out-of-range", hint
        if line.per is None:
            yield from _decimals(build, at, where, line.price, text("price"))
        if line.mass < 0:
            sentence = text(
                "{where} has the mass {mass} kg; it must be at least 0",
                where=where,
                mass=str(line.mass),
            )
            hint = text("a free line cannot make the vehicle lighter: leave out the pick that goes")
            yield at, where, sentence, "out-of-range", hint
        grams = line.mass.as_tuple().exponent
        if isinstance(grams, int) and grams < -3:
            sentence = text(
                "mass {mass} of {where} is finer than a gram", mass=str(line.mass), where=where
            )
            hint = text("round it to {digits} decimals", digits=3)
            yield at, where, sentence, "out-of-range", hint
        rates = (name for name, _ in build.catalogue.tax.rates)
        yield from _unknown(at, where, "tax rate", line.tax, rates)
        groups = (group.id for group in build.catalogue.groups)
        yield from _unknown(at, where, "group", line.group, groups)


def _adjustments(build: Resolved) -> Iterator[Said]:
    groups = [*(group.id for group in build.catalogue.groups), ADD_ON, FREE_LINE]
    for adjustment in build.selection.adjustments:
        at, where = adjustment.at, text('adjustment "{title}"', title=adjustment.title)
        if (adjustment.percent is None) == (adjustment.amount is None):
            sentence = text("{where} needs either a percent or an amount", where=where)
            yield at, where, sentence, "adjustment", ""
        else:
            yield from _decimals(build, at, where, adjustment.amount)
        if adjustment.group and adjustment.line:
            sentence = text("{where} is on a group and on a line at once", where=where)
            yield at, where, sentence, "adjustment", ""
        if adjustment.tax and adjustment.line:
            sentence = text(
                "{where} is on a line and at a tax rate; the line has a rate of its own",
                where=where,
            )
            yield at, where, sentence, "adjustment", text("leave one of the two out")
        rates = (name for name, _ in build.catalogue.tax.rates)
        yield from _unknown(at, where, "tax rate", adjustment.tax, rates)
        yield from _unknown(at, where, "group", adjustment.group, groups)
        if adjustment.line and _absent(build, adjustment.line):
            line = str(adjustment.line)
            sentence = text('{where} is on "{line}", which is not picked', where=where, line=line)
            hint = text("write the line as CHOICE=OPTION")
            yield at, where, sentence, "adjustment-not-picked", hint


def _trade_ins(build: Resolved) -> Iterator[Said]:
    for trade_in in build.selection.trade_ins:
        at, where = trade_in.at, text('trade-in "{title}"', title=trade_in.title)
        if trade_in.amount <= 0:
            sentence = text(
                "{where} is {amount}; it must be more than 0",
                where=where,
                amount=str(trade_in.amount),
            )
            yield at, where, sentence, "out-of-range", text("write what it takes off")
        yield from _decimals(build, at, where, trade_in.amount)


def _named(build: Resolved) -> Iterator[Said]:
    seen: set[Pick] = set()
    for named in build.selection.named_prices:
        line = str(named.line)
        at, where = named.at, f'named price of "{line}"'
        if _absent(build, named.line):
            sentence = text('the price named is for "{line}", which is not picked', line=line)
            hint = text("write the line as CHOICE=OPTION")
            yield at, where, sentence, "price-not-picked", hint
            continue
        option = _option(build, *named.line.key)
        if option and not any(isinstance(part, OnApplication) for part in option.price):
            sentence = text("{option} has a price in the catalogue", option=option.title)
            hint = text("change it by an adjustment with a reason")
            yield at, where, sentence, "price-not-open", hint
        if named.line in seen:
            sentence = text('"{line}" has a second named price', line=line)
            yield at, where, sentence, "repeated-price", text("keep one of them")
        seen.add(named.line)
        yield from _decimals(build, at, where, named.amount)


def _budget(build: Resolved) -> Iterator[Said]:
    budget = build.selection.budget
    if budget is None:
        return
    entries: tuple[BudgetEntry | Sale, ...] = (*budget.entries, *budget.sales)
    for entry in entries:
        at, where = entry.at, text('budget entry "{title}"', title=entry.title)
        if entry.amount < 0:
            sentence = text(
                "{where} is {amount}; it must be at least 0", where=where, amount=str(entry.amount)
            )
            hint = text("what the customer sells goes in sales, above zero")
            yield at, where, sentence, "out-of-range", hint
        yield from _decimals(build, at, where, entry.amount)
    headings = [*(group.id for group in build.catalogue.groups), ADD_ON, FREE_LINE]
    headings += [entry.group or ELSEWHERE for entry in budget.entries]
    yield from _decimals(build, budget.at, "budget limit", budget.limit)
    for name, amount in budget.limits:
        limit = f"budget limit {name}"
        yield from _decimals(build, budget.at, limit, amount)
        if name not in headings:
            sentence = text('there is no group "{name}" to set a budget limit for', name=name)
            known = _instead(name, [*dict.fromkeys(headings)])
            yield budget.at, limit, sentence, "unknown-group", known
    yield from _kept(build, budget.keep, budget.at, "budget keep")


def _kept(build: Resolved, keep: Iterable[Pick], at: Location, what: str) -> Iterator[Said]:
    selection = build.selection
    for kept in keep:
        here = at if kept.at is NOWHERE else kept.at
        where, picked = f'{what} "{kept}"', selection.chosen.get(kept.choice, ())
        choice = build.choices.get(kept.choice)
        if choice is None or kept.option not in ("", *choice.by_id):
            yield from _unknown_pick(build, here, where, kept)
        elif not picked or (kept.option and _absent(build, kept)):
            sentence = text('"{pick}" is to be kept, but is not picked', pick=str(kept))
            hint = text("pick it, or leave it out")
            if picked:
                hint = text("picked: {options}", options=", ".join(sorted(picked)))
            yield here, where, sentence, "keep-not-picked", hint


def _others(build: Resolved) -> Iterator[Said]:
    """Overrides, the place of travel, and a history whose numbers or days do not rise."""
    catalogue, selection = build.catalogue, build.selection
    ratings = [*RATINGS, *(limit.id for limit in catalogue.limits if limit.of_mass)]
    for override in selection.overrides:
        if override.subject not in ratings:
            sentence = text(
                '"{rating}" is not a rating that can be overridden', rating=override.subject
            )
            hint = _instead(override.subject, ratings)
            yield override.at, f"override of {override.subject}", sentence, "unknown-rating", hint
    travel, places = selection.travel, (place.id for place in catalogue.power.places)
    yield from _unknown(travel.at, "travel", "place", travel.place, places)
    history = selection.revisions
    for before, after in pairwise(history):
        at, where, code = after.at, f"revision {after.revision}", "revision-order"
        if after.revision <= before.revision:
            sentence = text(
                "revision {n} is listed after revision {before}",
                n=after.revision,
                before=before.revision,
            )
            yield at, where, sentence, code, text("list each revision once, the oldest first")
        elif after.date < before.date:
            sentence = text(
                "revision {n} is dated {day}, before revision {before} of {earlier}",
                n=after.revision,
                day=after.date,
                before=before.revision,
                earlier=before.date,
            )
            yield at, where, sentence, code, text("give the days of issue")
    if not history:
        return
    last = max(history, key=lambda entry: entry.revision)
    at, where, code = last.at, f"revision {last.revision}", "revision-missing"
    if selection.revision is None:
        sentence = text("revisions are listed, but not which one this is")
        yield at, where, sentence, code, text("write revision: {n}", n=last.revision)
    elif last.revision > selection.revision:
        sentence = text(
            "this is revision {this}, but revision {n} is listed",
            this=selection.revision,
            n=last.revision,
        )
        hint = text("write revision: {n}, or leave the entry out", n=last.revision)
        yield at, where, sentence, code, hint


def _dates(build: Resolved) -> Iterator[Said]:
    """Dates of payments that there are not, of nothing, of both, twice, or that end too early."""
    stages = [str(stage.title) for stage in build.catalogue.quote.payments]
    known = set[str]()
    for planned in build.selection.dates:
        at, where = planned.at, f"date {planned.day}"
        if bool(planned.title) == bool(planned.payment):
            sentence = text("a date is of one thing: something done, or a payment")
            yield at, where, sentence, "date", text("give either title or payment")
        elif planned.payment and planned.payment not in stages:
            sentence = text('there is no payment "{name}"', name=planned.payment)
            yield at, where, sentence, "unknown-payment", _instead(planned.payment, stages)
        elif planned.what in known:
            sentence = text('"{what}" has a date already', what=planned.what)
            yield at, where, sentence, "date", text("give each a title of its own")
        elif planned.until and planned.until < planned.day:
            sentence = text(
                "it ends on {until}, before it begins on {day}",
                until=planned.until,
                day=planned.day,
            )
            yield at, where, sentence, "date", text("give the last day as until")
        known.add(planned.what)
