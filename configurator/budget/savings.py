"""What would bring a build under its limit: single changes, and the least-regret set of them.

Changes are those of :mod:`configurator.selection.changes`. A change counts only where the selection
after it is as sound as before: whatever stops it then, stopped it already.

The least-regret set is the one with the fewest changes; among those, the one that takes off least
money, that is, which ends closest under the limit; ties go to the alphabet. The optimiser proposes
sets in that order; each is priced and checked like any other selection, and what does not stand is
refused, until one does or it is proved that none is left. So the answer is exact, or the search
says that it stopped without an answer.

The optimiser respects rules, limits, fit and ratings by itself where the selection is complete.
Whoever has another way to sound alternatives hands in another :class:`Soundness`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from attrs import frozen

from configurator.budget.to_pay import ToPay
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import tests_in
from configurator.checking.stopping import stopping
from configurator.engine.constraint import AXLES, LIMIT, RULE
from configurator.engine.figures import TooManyCases
from configurator.errors import ConfiguratorError, SearchLimit
from configurator.forms import form
from configurator.money import Money
from configurator.pricing.whole import price
from configurator.rules import broken_rules
from configurator.selection.changes import Change, applied, possible_changes
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import undecided
from configurator.words import text

if TYPE_CHECKING:
    from configurator.budget.best_set import BestSet

Soundness: TypeAlias = Callable[[Selection], bool]
"""Whether a selection may stand."""

MOST_REFUSALS = 1_000
"""How many proposals are priced and checked in vain before the search stops without an answer."""


class SearchGivenUp(ConfiguratorError):
    """Which set of changes is best was not settled."""


@form(hidden="to_pay", inline="change", keys={"amount": "saves"})
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


@form(hidden="selection to_pay", keys={"amount": "saves"})
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


def as_sound_as(build: Resolved) -> Soundness:
    """Whether nothing stops a selection that does not stop this one already."""
    standing = stopping(build)
    cheap = frozenset(reason for reason in standing if reason[0] != "fit")

    def sound(other: Selection) -> bool:
        if not stopping(build.having(other), with_fit=False, with_ratings=False) <= cheap:
            return False
        return stopping(build.having(other)) <= standing

    return sound


def single_savings(
    build: Resolved,
    keep: Sequence[Pick] = (),
    sound: Soundness | None = None,
) -> tuple[Saving, ...]:
    """Every single change that saves money and stays sound, the largest saving first.

    A change to something whose price is open is left out: nobody knows what it saves.
    """
    sound = sound or as_sound_as(build)
    before = price(build)
    found = []
    for change in possible_changes(build, keep):
        after = applied(build.selection, [change])
        then = price(build.having(after))
        if len(then.open) > len(before.open) or then.to_pay >= before.to_pay:
            continue
        if sound(after):
            found.append(Saving(change, before.to_pay - then.to_pay, then.to_pay))
    found.sort(key=lambda saving: (-saving.amount.amount, saving.change.key))
    return tuple(found)


def least_regret(
    build: Resolved,
    enough: Callable[[Money], bool],
    keep: Sequence[Pick] = (),
    sound: Soundness | None = None,
) -> LeastRegret | None:
    """The least-regret set of changes after which what is to be paid is ``enough``.

    Args:
        build: what is picked, from which catalogue.
        enough: whether so much to pay is little enough; what is true of an amount must be true of
            every smaller one.
        keep: choices, or ``choice=option``, that stay as they are.
        sound: whether a selection may stand; None for :func:`as_sound_as` this one.

    Returns:
        None when no set of changes does it; no changes when nothing needs to be saved.

    Raises:
        SearchGivenUp: it could not be settled.
    """
    before = price(build)
    if enough(before.to_pay):
        return LeastRegret((), build.selection, Money.zero(build.catalogue.currency), before.to_pay)
    return _Asked(build, keep, sound).least_regret(enough)


def lowest(build: Resolved, keep: Sequence[Pick] = ()) -> LeastRegret | None:
    """The set of changes after which least is to be paid; of those, the one with fewest changes.

    Returns:
        None when no change saves anything.

    Raises:
        SearchGivenUp: it could not be settled.
    """
    return _Asked(build, keep, None).lowest()


class _Asked:
    """One question for a set of changes, and what is needed to answer it."""

    def __init__(
        self,
        build: Resolved,
        keep: Sequence[Pick],
        sound: Soundness | None,
    ) -> None:
        self.build = build
        self.before = price(build)
        self.changes = possible_changes(build, keep)
        self.standing = stopping(build)
        self.to_pay = ToPay(build)
        self.sound = sound
        self.judge = sound or as_sound_as(build)
        self.refusals = 0
        self.met: list[LeastRegret] = []

    def _ranks(self) -> Iterator[int]:
        """Up to which rank constraints are respected; lower where those are too hard to settle.

        The engine knows complete selections; where something is open, or soundness is somebody
        else's, every proposal is judged by itself.
        """
        if self.sound is None and not any(undecided(self.build)):
            if all(code in ("rule", "limit") for code, _ in self.standing):
                yield AXLES
            yield LIMIT
        yield RULE - 1

    def _settled(self, ask: Callable[[BestSet], LeastRegret | None]) -> LeastRegret | None:
        """The answer, asked with as many facts as can be settled.

        Raises:
            SearchGivenUp: it could not be settled at all.
        """
        from configurator.budget.best_set import BestSet

        why = ""
        for rank in self._ranks():
            try:
                sets = BestSet(
                    self.build,
                    self.changes,
                    self.to_pay,
                    rank,
                    self.standing,
                    len(self.before.open),
                )
                return ask(sets)
            except (SearchLimit, TooManyCases) as limit:
                why = why or limit.args[0]
        raise SearchGivenUp(
            text(
                "the search for the least-regret set of changes stopped without an answer: {why}",
                why=why,
            )
        )

    def least_regret(self, enough: Callable[[Money], bool]) -> LeastRegret | None:
        """The fewest changes after which it is enough, the most to pay, the first by alphabet.

        Raises:
            SearchGivenUp: it could not be settled.
        """
        most = self.to_pay.most(enough)
        if most is None:
            return None

        def ask(sets: BestSet) -> LeastRegret | None:
            best = self._proposed(sets, lambda f: enough(f.to_pay), "fewest", "most", high=most)
            if best is None:
                return None
            while not self.to_pay.exact:
                closer = self._proposed(
                    sets,
                    partial(_between, best.to_pay, enough),
                    "most",
                    low=self.to_pay.units(best.to_pay) + 1,
                    high=most,
                    size=len(best.changes),
                )
                if closer is None:
                    break
                best = closer
            return self._first(sets, best)

        return self._settled(ask)

    def lowest(self) -> LeastRegret | None:
        """The changes after which least is to be paid, of those the fewest, the first by alphabet.

        Raises:
            SearchGivenUp: it could not be settled.
        """

        def ask(sets: BestSet) -> LeastRegret | None:
            best = self._proposed(sets, lambda _: True, "least")
            while best is not None and not self.to_pay.exact:
                lower = self._proposed(
                    sets,
                    partial(_below, best.to_pay),
                    "least",
                    high=self.to_pay.units(best.to_pay) - 1,
                )
                if lower is None:
                    break
                best = lower
            if best is None or best.to_pay >= self.before.to_pay:
                return None
            alike = partial(_alike, best.to_pay)
            high = self.to_pay.most(partial(_at_most, best.to_pay))
            fewest = self._proposed(sets, alike, "fewest", high=high)
            assert fewest is not None
            return self._first(sets, fewest)

        return self._settled(ask)

    def _first(self, sets: BestSet, best: LeastRegret) -> LeastRegret:
        """Of the sets of as many changes with as much to pay, the first by alphabet."""
        found = self._proposed(
            sets,
            partial(_alike, best.to_pay),
            "alphabet",
            low=self.to_pay.least_alike(self.to_pay.measured(best.selection)),
            high=self.to_pay.most(partial(_at_most, best.to_pay)),
            size=len(best.changes),
        )
        assert found is not None
        return found

    def _proposed(
        self,
        sets: BestSet,
        good: Callable[[LeastRegret], bool],
        *wanted: str,
        low: int | None = None,
        high: int | None = None,
        size: int | None = None,
    ) -> LeastRegret | None:
        """The first proposal that may stand and is good once it is priced.

        Raises:
            SearchLimit: there were too many.
        """
        refused = [found.selection for found in self.met if not good(found)]
        while True:
            chosen = sets.ask(*wanted, low=low, high=high, size=size, refused=refused)
            if chosen is None:
                return None
            after = applied(self.build.selection, chosen)
            then = price(self.build.having(after))
            if not self._may_stand(sets, after):
                self._count()
                continue
            found = LeastRegret(chosen, after, self.before.to_pay - then.to_pay, then.to_pay)
            if len(then.open) <= len(self.before.open) and good(found):
                return found
            self._count()
            self.met.append(found)
            refused.append(after)

    def _count(self) -> None:
        self.refusals += 1
        if self.refusals > MOST_REFUSALS:
            raise SearchLimit(
                text(
                    "{n} sets that come close were priced and checked, and none of them settles "
                    "it; keep more picks as they are",
                    n=MOST_REFUSALS,
                )
            )

    def _may_stand(self, sets: BestSet, after: Selection) -> bool:
        """Whether the selection may stand; where not, nothing like it is proposed again.

        Whether a rule is broken depends only on the choices that it asks about, so every selection
        with the same answers there is refused with it.
        """
        if self.judge(after):
            return True
        broken = [] if self.sound else broken_rules(self.build.having(after))
        asked = [
            {
                test.choice
                for part in (r.when, r.needs, r.rules_out)
                if part
                for test in tests_in(part)
            }
            for r in broken
            if ("rule", r.id) not in self.standing
        ]
        sets.clauses += [sets.other_than(after, choices) for choices in asked or [set()]]
        return False


def _between(above: Money, enough: Callable[[Money], bool], found: LeastRegret) -> bool:
    return found.to_pay > above and enough(found.to_pay)


def _below(limit: Money, found: LeastRegret) -> bool:
    return found.to_pay < limit


def _alike(to_pay: Money, found: LeastRegret) -> bool:
    return found.to_pay == to_pay


def _at_most(limit: Money, to_pay: Money) -> bool:
    return to_pay <= limit
