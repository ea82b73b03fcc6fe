"""What would bring a build under its limit: single changes, and the least-regret set of them.

Changes are those of :mod:`configurator.selection.changes`. A change counts only where the selection
after it is as sound as before: whatever stops it then, stopped it already.

The least-regret set is the one with the fewest changes; among those, the one that gives up least
money, that is, which ends closest under the limit; ties go to the alphabet. It is found by trying
sets of one change, then two, and so on, with a bound on what the rest could still save; so it is
exact, or the search says that it gave up.

Whoever has a better way to sound alternatives hands in another :class:`Soundness`, or replaces
:func:`least_regret` by the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.model import Catalogue, tests_in
from configurator.checking.stopping import stopping
from configurator.errors import ConfiguratorError
from configurator.money import Money
from configurator.pricing.search import PriceSearch, TooManySets
from configurator.pricing.whole import price
from configurator.rules import broken_rules
from configurator.selection.changes import Change, applied, possible_changes
from configurator.selection.picks import Selection

__all__ = [
    "LeastRegret",
    "Saving",
    "SearchGivenUp",
    "Soundness",
    "as_sound_as",
    "least_regret",
    "single_savings",
]

Soundness: TypeAlias = Callable[[Selection], bool]
"""Whether a selection may stand."""

_Answer: TypeAlias = tuple[str, frozenset[tuple[str, int]]]

MOST_STEPS = 3_000_000
MOST_CHECKS = 3_000
"""How much is tried, and how many selections are checked, before the search gives up."""


class SearchGivenUp(ConfiguratorError):
    """There are too many sets of changes to try them all."""


@frozen
class Saving:
    """What one change saves.

    Attributes:
        change: the change.
        amount: what is to be paid before it less after it.
        to_pay: what is to be paid to the shop after it.
    """

    change: Change
    amount: Money
    to_pay: Money


@frozen
class LeastRegret:
    """The least-regret set of changes.

    Attributes:
        changes: in the alphabet's order.
        selection: the selection with them made.
        amount: what they save together.
        to_pay: what is to be paid to the shop after them.
    """

    changes: tuple[Change, ...]
    selection: Selection
    amount: Money
    to_pay: Money


def as_sound_as(catalogue: Catalogue, selection: Selection) -> Soundness:
    """Whether nothing stops a selection that does not stop this one already."""
    standing = stopping(catalogue, selection)
    cheap = frozenset(reason for reason in standing if reason[0] != "fit")

    def sound(other: Selection) -> bool:
        if not stopping(catalogue, other, with_fit=False, with_ratings=False) <= cheap:
            return False
        return stopping(catalogue, other) <= standing

    return sound


def single_savings(
    catalogue: Catalogue,
    selection: Selection,
    keep: Sequence[str] = (),
    sound: Soundness | None = None,
) -> tuple[Saving, ...]:
    """Every single change that saves money and stays sound, the largest saving first.

    A change to something whose price is open is left out: nobody knows what it saves.
    """
    sound = sound or as_sound_as(catalogue, selection)
    before = price(catalogue, selection)
    found = []
    for change in possible_changes(catalogue, selection, keep):
        after = applied(selection, [change])
        then = price(catalogue, after)
        if len(then.open) > len(before.open) or then.to_pay >= before.to_pay:
            continue
        if sound(after):
            found.append(Saving(change, before.to_pay - then.to_pay, then.to_pay))
    found.sort(key=lambda saving: (-saving.amount.amount, saving.change.key))
    return tuple(found)


def least_regret(
    catalogue: Catalogue,
    selection: Selection,
    enough: Callable[[Money], bool],
    keep: Sequence[str] = (),
    sound: Soundness | None = None,
) -> LeastRegret | None:
    """The least-regret set of changes after which what is to be paid is ``enough``.

    Args:
        catalogue: the shop's catalogue.
        selection: what is picked now.
        enough: whether so much to pay is little enough; what is true of an amount must be true of
            every smaller one.
        keep: choices, or ``choice=option``, that stay as they are.
        sound: whether a selection may stand; None for :func:`as_sound_as` this one.

    Returns:
        None when no set of changes does it; no changes when nothing needs to be saved.

    Raises:
        SearchGivenUp: there are too many sets to try them all.
    """
    before = price(catalogue, selection)
    if enough(before.to_pay):
        return LeastRegret((), selection, Money.zero(catalogue.currency), before.to_pay)
    changes = possible_changes(catalogue, selection, keep)
    search = PriceSearch(catalogue, selection, changes, MOST_STEPS)
    judge = _Judge(catalogue, selection, sound)
    size = 0
    try:
        if not search.could_reach(enough):
            return None
        for size in range(1, len({change.slot for change in changes}) + 1):
            for to_pay, chosen in search.closest(size, enough):
                after = applied(selection, chosen)
                if judge.may_stand(after):
                    return LeastRegret(chosen, after, before.to_pay - to_pay, to_pay)
    except TooManySets:
        raise SearchGivenUp(_given_up(max(size, 1))) from None
    return None


def _given_up(size: int) -> str:
    fewer = f"no set of fewer than {size} changes does it, and " if size > 1 else ""
    return (
        f"gave up looking for the least-regret set of changes: {fewer}there are too many sets of "
        f"{size} to try; keep more things as they are, or set a limit that is closer"
    )


class _Judge:
    """Asks for soundness, and remembers which rules forbid which answers.

    Whether a rule is broken hangs only on the choices that it asks about; so once it is, every
    selection with the same answers there is refused without asking again. With a soundness of
    somebody else's, nothing is known about rules and nothing is remembered.
    """

    def __init__(self, catalogue: Catalogue, selection: Selection, sound: Soundness | None) -> None:
        self.catalogue = catalogue
        self.sound = sound or as_sound_as(catalogue, selection)
        self.remembers = sound is None
        self.standing = {rule.id for rule in broken_rules(catalogue, selection)}
        self.checks = 0
        self.refused: set[frozenset[_Answer]] = set()

    def may_stand(self, selection: Selection) -> bool:
        """Whether the selection may stand.

        Raises:
            TooManySets: it has been asked too often.
        """
        answers = {
            choice: frozenset(
                (option, selection.quantity(choice, option))
                for option in selection.chosen.get(choice, ())
            )
            for choice in self.catalogue.by_id
        }
        held = set(answers.items())
        if any(refused <= held for refused in self.refused):
            return False
        self.checks += 1
        if self.checks > MOST_CHECKS:
            raise TooManySets
        if self.sound(selection):
            return True
        for rule in broken_rules(self.catalogue, selection) if self.remembers else ():
            if rule.id not in self.standing:
                parts = [part for part in (rule.when, rule.needs, rule.rules_out) if part]
                asked = {test.choice for part in parts for test in tests_in(part)}
                self.refused.add(frozenset((choice, answers[choice]) for choice in asked))
        return False
