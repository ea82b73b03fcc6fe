"""What a customer wants so far: a value, and what can be wrong with it before any rule is asked.

A selection is changed by making another one (:meth:`Selection.picking`, :meth:`Selection.without`,
``attrs.evolve``). It may be partial everywhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import TypeAlias

import attrs
from attrs import field, frozen

from configurator.catalogue.model import FREE_LINE, Catalogue, Choice, Option, Pick
from configurator.catalogue.settings import RATINGS
from configurator.errors import NOWHERE, Location, Problem, SelectionError, near_miss
from configurator.selection.free_lines import FreeLine, free_line_problems, offered
from configurator.selection.money import (
    Adjustment,
    Budget,
    BudgetEntry,
    NamedPrice,
    Sale,
    TradeIn,
    money_problems,
)
from configurator.selection.revisions import Revision, revision_problems
from configurator.selection.values import require_fields, require_kind, value_problems

__all__ = [
    "Adjustment",
    "Budget",
    "BudgetEntry",
    "Customer",
    "FreeLine",
    "NamedPrice",
    "Override",
    "Revision",
    "Sale",
    "Selection",
    "TradeIn",
    "Travel",
    "Wish",
    "known_picks",
    "require_known",
    "selection_problems",
]

Say: TypeAlias = Callable[..., None]


@frozen
class Customer:
    """Who the quote is for."""

    name: str
    address: tuple[str, ...] = ()
    email: str = ""
    phone: str = ""
    vehicle: str = ""


@frozen
class Wish:
    """Where a unit is wanted: a side, an end, or an exact position in mm."""

    choice: str
    option: str
    side: str = ""
    towards: str = ""
    x: int | None = None
    y: int | None = None
    z: int | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Override:
    """A rating let pass by someone who answers for it; printed wherever the finding is.

    Attributes:
        subject: ``gvm``, ``front-axle``, ``rear-axle``, ``gcm``, ``tow-ball``,
            ``overhang``, or the id of a limit on mass.
        name: who decided it.
        reason: why.
    """

    subject: str
    name: str
    reason: str
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Travel:
    """How the vehicle will be used; whatever is None or empty is the catalogue's setting.

    Attributes:
        people: how many travel.
        tow_ball: download on the tow ball, kg.
        trailer: mass of the laden trailer, kg.
        place: id of the place whose sun counts.
        season: ``summer``, ``winter`` or ``year``.
        driving: hours driven a day.
    """

    people: int | None = None
    tow_ball: Decimal | None = None
    trailer: Decimal | None = None
    place: str = ""
    season: str = ""
    driving: Decimal | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen
class Selection:
    """Options picked per choice, with quantities; add-ons accepted; wishes and adjustments.

    Accepted add-ons are picks of the choice called add-on, free lines of the one called free-line:
    :meth:`adding` puts one in. The order of picks means nothing.
    ``at`` is where its catalogue is named. ``revision`` counts the issues of its quote, and
    ``revisions`` tell what changed in them.
    """

    catalogue: str
    picks: tuple[Pick, ...] = ()
    title: str = ""
    customer: Customer | None = None
    free_lines: tuple[FreeLine, ...] = ()
    wishes: tuple[Wish, ...] = ()
    adjustments: tuple[Adjustment, ...] = ()
    trade_ins: tuple[TradeIn, ...] = ()
    named_prices: tuple[NamedPrice, ...] = ()
    budget: Budget | None = None
    notes: tuple[str, ...] = ()
    travel: Travel = Travel()
    overrides: tuple[Override, ...] = ()
    revision: int | None = None
    revisions: tuple[Revision, ...] = ()
    source: str = field(default="", eq=False)
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)

    @cached_property
    def quantities(self) -> Mapping[tuple[str, str], int]:
        """Quantity of each picked ``(choice, option)``."""
        counted: Counter[tuple[str, str]] = Counter()
        for pick in self.picks:
            counted[pick.choice, pick.option] += pick.quantity
        return MappingProxyType(dict(counted))

    @cached_property
    def chosen(self) -> Mapping[str, tuple[str, ...]]:
        """The option ids picked in each choice."""
        found: dict[str, tuple[str, ...]] = {}
        for choice, option in self.quantities:
            found[choice] = (*found.get(choice, ()), option)
        return MappingProxyType(found)

    def quantity(self, choice: str, option: str) -> int:
        """How many of the option are picked."""
        return self.quantities.get((choice, option), 0)

    def one(self, choice: str) -> str | None:
        """The id picked in a choice of one, or None while nothing is."""
        return next(iter(self.chosen.get(choice, ())), None)

    def picking(self, catalogue: Catalogue, pick: Pick) -> Selection:
        """The selection with the pick added; in a choice of one it replaces what was picked.

        A choice that the catalogue does not know is kept for :func:`selection_problems` to refuse.
        """
        choice = offered(catalogue, self).get(pick.choice)
        several = choice is not None and choice.pick == "several"
        kept = [
            p
            for p in self.picks
            if p.choice != pick.choice or (several and p.option != pick.option)
        ]
        return attrs.evolve(self, picks=(*kept, pick))

    def adding(self, line: FreeLine, quantity: int = 1) -> Selection:
        """The selection with so many of a free line added."""
        pick = Pick(FREE_LINE, line.id, quantity, at=line.at)
        return attrs.evolve(self, picks=(*self.picks, pick), free_lines=(*self.free_lines, line))

    def without(self, choice: str, option: str = "") -> Selection:
        """The selection without the option, or without any pick in the choice."""
        kept = (p for p in self.picks if p.choice != choice or option not in ("", p.option))
        return attrs.evolve(self, picks=tuple(kept))

    def tidied(self) -> Selection:
        """The selection without whatever is about no pick any more.

        Those are free lines, wishes, adjustments and prices.
        """

        def held(line: str) -> bool:
            choice, equals, option = line.partition("=")
            return bool(self.quantity(choice, option)) if equals else choice in self.chosen

        budget = self.budget
        if budget is not None:
            budget = attrs.evolve(budget, keep=tuple(filter(held, budget.keep)))
        return attrs.evolve(
            self,
            free_lines=tuple(f for f in self.free_lines if self.quantity(FREE_LINE, f.id)),
            wishes=tuple(w for w in self.wishes if self.quantity(w.choice, w.option)),
            adjustments=tuple(a for a in self.adjustments if not a.line or held(a.line)),
            named_prices=tuple(n for n in self.named_prices if held(n.line)),
            budget=budget,
        )


def known_picks(catalogue: Catalogue, selection: Selection) -> Iterator[tuple[Choice, Option, int]]:
    """The picked options in the catalogue's order, free lines last, with choice and quantity."""
    chosen, quantities = selection.chosen, selection.quantities
    for choice in offered(catalogue, selection).values():
        if choice.id not in chosen:
            continue
        picked = [option for option in chosen[choice.id] if option in choice.by_id]
        for option in sorted(picked, key=choice.order.__getitem__):
            yield choice, choice.by_id[option], quantities[choice.id, option]


def selection_problems(catalogue: Catalogue, selection: Selection) -> tuple[Problem, ...]:
    """Everything that keeps the selection from being understood; empty when there is nothing.

    Names that point nowhere, more options or larger quantities than a choice takes, wishes and
    adjustments on what is not picked, amounts with too many decimals; and what a file with its
    values would be refused for.

    Raises:
        TypeError: an argument, or a field of the selection, is of a wrong type.
    """
    require_kind("catalogue", catalogue, Catalogue)
    require_fields("selection", selection, Selection)
    file = selection.source or "selection"
    problems: list[Problem] = []

    def say(at: Location, where: str, sentence: str, code: str, hint: str = "") -> None:
        place = at if at is not NOWHERE else Location(where, 0, 0)
        problems.append(Problem(place, sentence, code, hint))

    if selection.catalogue != catalogue.id:
        say(
            selection.at,
            file,
            f'the selection belongs to catalogue "{selection.catalogue}", not "{catalogue.id}"',
            "other-catalogue",
            "name the right catalogue with --catalogue, or change the id in the selection",
        )
        return tuple(problems)
    choices = offered(catalogue, selection)
    for pick in selection.picks:
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
    for choice_id, options in selection.chosen.items():
        choice = choices.get(choice_id)
        if choice is not None:
            at = next(p.at for p in reversed(selection.picks) if p.choice == choice_id)
            for sentence, code, hint in _too_many(choice, options, selection):
                say(at, f"pick {choice_id}", sentence, code, hint)
    for wish in selection.wishes:
        _wish(catalogue, selection, wish, say)
    for said in free_line_problems(catalogue, selection):
        say(*said)
    money_problems(catalogue, selection, say)
    for override in selection.overrides:
        _override(catalogue, override, say)
    _travel(catalogue, selection.travel, say)
    revision_problems(selection, say)
    problems = problems or list(value_problems(selection))
    return tuple(sorted(set(problems), key=lambda p: (p.at, p.code, p.sentence)))


def require_known(catalogue: Catalogue, selection: Selection) -> None:
    """Raise unless the selection can be understood.

    Raises:
        SelectionError: with every problem of :func:`selection_problems`.
    """
    problems = selection_problems(catalogue, selection)
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
                f"{option.title} can be had {option.most} times at most, but {quantity} are picked",
                "too-many-picks",
                f"set its quantity to {option.most} or less",
            )


def _wish(catalogue: Catalogue, selection: Selection, wish: Wish, say: Say) -> None:
    where = f"wish {wish.choice}={wish.option}"
    if not selection.quantity(wish.choice, wish.option):
        say(
            wish.at,
            where,
            f'the wish is about "{wish.choice}={wish.option}", which is not picked',
            "wish-not-picked",
            "pick it or leave the wish out",
        )
        return
    choice = catalogue.by_id.get(wish.choice)
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
