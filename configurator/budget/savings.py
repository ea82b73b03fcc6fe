"""What would bring a build under its limit: single changes, and the least-regret set of them.

Changes are those of :mod:`configurator.selection.changes`. A change counts only where the selection
after it is as sound as before: whatever stops it then, stopped it already.

The least-regret set is the one with the fewest changes; among those, the one that gives up least
money, that is, which ends closest under the limit; ties go to the alphabet. It is found by trying
sets of one change, then two, and so on, with a bound on what the rest could still save. Where that
takes too long, the engine is asked, which proves its answer or that there is none. So it is exact,
or the search says that it gave up.

The engine knows complete selections whose total hangs on the sum of their lines, and that nothing
stops which it could not let stand alone. Whoever has another way to sound alternatives hands in
another :class:`Soundness`; the engine is not asked then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeAlias

from attrs import frozen

from configurator.catalogue.model import Catalogue, tests_in
from configurator.checking.stopping import stopping
from configurator.engine.figures import TooManyCases
from configurator.errors import ConfiguratorError, SearchLimit
from configurator.money import Money
from configurator.pricing.search import PriceSearch, TooManySets
from configurator.pricing.whole import price, undecided
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
    "lowest",
    "single_savings",
]

if TYPE_CHECKING:
    from configurator.budget.best_set import BestSet

Soundness: TypeAlias = Callable[[Selection], bool]
"""Whether a selection may stand."""

_Answer: TypeAlias = tuple[str, frozenset[tuple[str, int]]]

MOST_STEPS = 3_000_000
MOST_CHECKS = 3_000
"""How much is tried, and how many selections are checked, before the search gives up."""

ENGINE_AFTER = 200_000
"""How much is tried before the engine is asked, where it can be."""

_FAR_BELOW = -(10**12)
"""Less than any sum of lines, in smallest units."""


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
    asked = _Asked(catalogue, selection, keep, sound)
    try:
        return asked.by_looking_through(enough)
    except TooManySets:
        return asked.of_the_engine(enough)


def lowest(
    catalogue: Catalogue, selection: Selection, keep: Sequence[str] = ()
) -> LeastRegret | None:
    """The set of changes after which least is to be paid; of those, the one with fewest changes.

    Returns:
        None when no change saves anything.

    Raises:
        SearchGivenUp: the engine cannot tell.
    """
    return _Asked(catalogue, selection, keep, None).lowest()


class _Asked:
    """One question for a set of changes, and what is needed to answer it."""

    def __init__(
        self,
        catalogue: Catalogue,
        selection: Selection,
        keep: Sequence[str],
        sound: Soundness | None,
    ) -> None:
        self.catalogue, self.selection = catalogue, selection
        self.before = price(catalogue, selection)
        self.changes = possible_changes(catalogue, selection, keep)
        self.standing = stopping(catalogue, selection)
        self.search = PriceSearch(catalogue, selection, self.changes, MOST_STEPS)
        self.refusal = self._refusal() if sound is None else "alternatives are sounded elsewhere"
        if not self.refusal:
            self.search.most_steps = min(MOST_STEPS, ENGINE_AFTER)
        self.judge = _Judge(catalogue, selection, sound)
        self.size = 1

    def _refusal(self) -> str:
        """Why the engine cannot be asked, as advice; empty where it can be."""
        if any(undecided(self.catalogue, self.selection)):
            return "decide what is still open"
        if any(code not in ("rule", "limit") for code, _ in self.standing):
            return "mend first what stops the selection"
        if not self.search.sum_decides:
            return "leave out adjustments on single groups or lines"
        return ""

    def by_looking_through(self, enough: Callable[[Money], bool]) -> LeastRegret | None:
        """Sets of one change, then two, and so on.

        Raises:
            TooManySets: there are too many.
        """
        if not self.search.could_reach(enough):
            return None
        for size in range(1, len({change.slot for change in self.changes}) + 1):
            self.size = size
            for to_pay, chosen in self.search.closest(size, enough):
                after = applied(self.selection, chosen)
                if self.judge.may_stand(after):
                    return LeastRegret(chosen, after, self.before.to_pay - to_pay, to_pay)
        return None

    def of_the_engine(self, enough: Callable[[Money], bool]) -> LeastRegret | None:
        """The same, proved by the engine.

        Raises:
            SearchGivenUp: the engine cannot be asked, or gave up.
        """
        most = self.search.limit(enough, _FAR_BELOW) if not self.refusal else None
        if most is None:
            raise SearchGivenUp(self._given_up())
        try:
            sets = self._sets()
            chosen = sets.least_regret(most)
            if chosen is None:
                return None
            units = self._units(chosen)
            low = self.search.same_to_pay(units, _FAR_BELOW)
            chosen = sets.first(len(chosen), low, most)
        except (SearchLimit, TooManyCases):
            raise SearchGivenUp(self._given_up()) from None
        found = self._proved(chosen)
        if not enough(found.to_pay):
            raise SearchGivenUp(self._given_up())
        return found

    def lowest(self) -> LeastRegret | None:
        """The changes after which least is to be paid.

        Raises:
            SearchGivenUp: the engine cannot be asked, or gave up.
        """
        if self.refusal:
            raise SearchGivenUp(self._given_up())
        try:
            sets = self._sets()
            chosen = sets.lowest()
            if not chosen:
                return None
            units = self._units(chosen)
            chosen = sets.first(len(chosen), units, units)
        except (SearchLimit, TooManyCases):
            raise SearchGivenUp(self._given_up()) from None
        return self._proved(chosen)

    def _sets(self) -> BestSet:
        from configurator.budget.best_set import BestSet

        return BestSet(
            self.catalogue, self.selection, self.changes, self.standing, self.search.open
        )

    def _units(self, chosen: Sequence[Change]) -> int:
        """What the lines come to after deals once the changes are made, in smallest units."""
        priced = price(self.catalogue, applied(self.selection, chosen))
        listed = sum(self.search.units(line.amount) for line in priced.lines)
        return listed - sum(self.search.units(deal.saving) for deal in priced.deals)

    def _proved(self, chosen: tuple[Change, ...] | None) -> LeastRegret:
        """What the engine proposes, priced and checked like any other selection.

        Raises:
            SearchGivenUp: it does not stand.
        """
        after = applied(self.selection, chosen or ())
        then = price(self.catalogue, after)
        if not chosen or len(then.open) > self.search.open or not self.judge.may_stand(after):
            raise SearchGivenUp(self._given_up())
        return LeastRegret(chosen, after, self.before.to_pay - then.to_pay, then.to_pay)

    def _given_up(self) -> str:
        fewer = f"no set of fewer than {self.size} changes does it, and " if self.size > 1 else ""
        advice = f"{self.refusal}, " if self.refusal else ""
        return (
            f"gave up looking for the least-regret set of changes: {fewer}there are too many sets "
            f"of {self.size} to try; {advice}keep more things as they are, or set a limit that is "
            "closer"
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
