"""A selection resolved against its catalogue, once; what follows from both is known by it.

Every fact about a package is a function of one :class:`Resolved`. :func:`once` has such a function
calculated at most once for each.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property, wraps
from typing import Any, Concatenate, ParamSpec, TypeAlias, TypeVar

import attrs
from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import FREE_LINE, Catalogue, Choice, Option
from configurator.selection.picks import Selection, free_choice
from configurator.shapes.forms import brief

Key: TypeAlias = tuple[str, str]
"""An option by its choice and its own id."""

_MOST_KEPT = 8
"""How many catalogues with amounts of their own are kept at most."""


def measuring(catalogue: Catalogue, amounts: Mapping[Key, Decimal]) -> Catalogue:
    """The catalogue with so much of what is sold by measure, and as usual of the rest.

    A selection says how much it picks, such as 3.5 m of hose. From then on that is how much there
    is each time the option is picked, so that rules and searches count it as one.

    What could stand instead is offered in the same amount, if it is sold so. The same amounts give
    the same catalogue, so that an engine for it can be kept.
    """
    measured = catalogue.measured_off
    then = {key: _amount(catalogue, key, amounts) for key in measured}
    if all(catalogue.option(*key).amount == amount for key, amount in then.items()):
        return catalogue
    kept, asked = catalogue.with_amounts, tuple(sorted(then.items(), key=str))
    if asked not in kept:
        *choices, add_ons = (
            evolve(
                choice,
                options=tuple(
                    evolve(o, amount=then[choice.id, o.id]) if (choice.id, o.id) in then else o
                    for o in choice.options
                ),
            )
            for choice in (*catalogue.choices, catalogue.add_ons)
        )
        if len(kept) >= _MOST_KEPT:
            kept.clear()
        kept[asked] = evolve(catalogue, choices=tuple(choices), add_ons=add_ons)
    return kept[asked]


def _amount(catalogue: Catalogue, key: Key, amounts: Mapping[Key, Decimal]) -> Decimal | None:
    """How much of it there is; None where as much as is usual."""
    choice, sold = catalogue.by_id[key[0]], catalogue.option(*key).sold_by
    beside = {o: a for (c, o), a in amounts.items() if c == choice.id and o in choice.by_id}
    if key[1] in beside or choice.pick == "several" or len(beside) != 1 or sold is None:
        return beside.get(key[1])
    ((other, amount),) = beside.items()
    theirs = choice.by_id[other].sold_by
    alike = theirs is not None and theirs.unit == sold.unit
    return amount if alike and sold.allows(amount) else None


P = ParamSpec("P")
T = TypeVar("T")


@frozen(eq=False)
class Resolved:
    """A catalogue and what is picked from it.

    Attributes:
        catalogue: the shop's catalogue, with the prices of one day.
        selection: what the customer wants so far; may be partial.
        facts: what :func:`once` has calculated, by function and arguments.
    """

    catalogue: Catalogue
    selection: Selection
    facts: dict[tuple[Any, ...], Any] = field(factory=dict, init=False, repr=False)

    __repr__ = brief

    def __attrs_post_init__(self) -> None:
        """What is sold by measure is one pick with its amount, in selection and catalogue."""
        measured = self.catalogue.measured_off.union(
            (FREE_LINE, line.id) for line in self.selection.free_lines if line.unit
        )
        if measured:
            selection = self.selection.measuring(measured)
            object.__setattr__(self, "selection", selection)
            object.__setattr__(self, "catalogue", measuring(self.catalogue, selection.amounts))

    def __reduce__(self) -> tuple[type, tuple[Catalogue, Selection]]:
        """What has been calculated is not pickled with it."""
        return Resolved, (self.catalogue, self.selection)

    @cached_property
    def choices(self) -> Mapping[str, Choice]:
        """Every choice that a pick can be of, free lines too, by its id."""
        free = free_choice(self.selection)
        if free is None or FREE_LINE in self.catalogue.by_id:
            return self.catalogue.by_id
        return {**self.catalogue.by_id, FREE_LINE: free}

    @cached_property
    def offering(self) -> Catalogue:
        """The catalogue with the free lines in it, for a search that goes over options."""
        free = free_choice(self.selection)
        if free is None or FREE_LINE in self.catalogue.by_id:
            return self.catalogue
        return attrs.evolve(self.catalogue, choices=(*self.catalogue.choices, free))

    def title_of(self, named: Pick) -> str:
        """What the customer reads of an option, or of a choice where no option is named."""
        choice = self.choices[named.choice]
        return choice.by_id[named.option].title if named.option else choice.title

    @cached_property
    def picks(self) -> tuple[tuple[Choice, Option, int], ...]:
        """The picked options in the catalogue's order, free lines last, with their quantities."""
        chosen, quantities = self.selection.chosen, self.selection.quantities
        found = []
        for choice in self.choices.values():
            if choice.id not in chosen:
                continue
            picked = [i for i in chosen[choice.id] if i in choice.by_id]
            for option in sorted(picked, key=choice.order.__getitem__):
                found.append((choice, choice.by_id[option], quantities[choice.id, option]))
        return tuple(found)

    def having(self, selection: Selection) -> Resolved:
        """Another selection from the same catalogue."""
        return self if selection is self.selection else Resolved(self.catalogue, selection)

    def on(self, day: date | None) -> Resolved:
        """The same selection with the prices of a day; None leaves them as they are."""
        return self if day is None else _on(self, day)

    def takes_more(self, choice: Choice) -> bool:
        """Whether more of the choice may still be picked with the picks kept."""
        if choice.id in self.selection.empty:
            return False
        return choice.pick == "several" or choice.id not in self.selection.chosen

    def picking(self, pick: Pick) -> Selection:
        """The selection with the pick added; in a choice of one it replaces what was picked.

        A choice that the catalogue does not know is kept, to be refused when names are looked up.
        """
        choice = self.choices.get(pick.choice)
        several = choice is not None and choice.pick == "several"
        gone = [
            n
            for n, one in enumerate(self.selection.picks)
            if one.choice == pick.choice and (not several or one.option == pick.option)
        ]
        kept = [one for n, one in enumerate(self.selection.picks) if n not in gone]
        place = gone[0] if gone else len(kept)
        picks = (*kept[:place], pick, *kept[place:])
        return attrs.evolve(self.selection.wanting(pick.choice), picks=picks)


@frozen
class _Failed:
    error: Exception


_UNKNOWN = object()


def once(
    fact: Callable[Concatenate[Resolved, P], T],
) -> Callable[Concatenate[Resolved, P], T]:
    """Work a fact out at most once for each :class:`Resolved` and each set of arguments.

    What it raises is kept, and raised again.
    """

    @wraps(fact)
    def known(build: Resolved, /, *given: P.args, **named: P.kwargs) -> T:
        key = (fact, given, tuple(named.items())) if named else (fact, given)
        found = build.facts.get(key, _UNKNOWN)
        if found is _UNKNOWN:
            try:
                found = fact(build, *given, **named)
            except Exception as error:
                found = _Failed(error)
            build.facts[key] = found
        if isinstance(found, _Failed):
            raise found.error.with_traceback(None)
        return found  # type: ignore[no-any-return]

    return known


@once
def trial(build: Resolved, selection: Selection) -> Resolved:
    """A changed selection that a hint tries, made once however many hints try it."""
    return build.having(selection)


@once
def _on(build: Resolved, day: date) -> Resolved:
    catalogue = build.catalogue.on(day)
    return build if catalogue is build.catalogue else Resolved(catalogue, build.selection)
