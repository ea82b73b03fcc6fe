"""Complete selections by what is to be paid for them, to the cent.

The optimiser proposes by :mod:`configurator.engine.to_pay`. Where no sum decides what is to be
paid, each proposal is priced like any other selection; where the model said otherwise, it is told
so and asked again. So the answer is exact, or the search says that it stopped without one.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import attrs

from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import Search
from configurator.engine.to_pay import ToPay, with_named_prices
from configurator.engine.violation import Held
from configurator.errors import SearchLimit
from configurator.machine.solvers import unsettled
from configurator.money import Money
from configurator.pricing.price import price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.words import text

MOST_REFUSALS = 200
"""How many proposals are priced in vain before the search stops without an answer.

The cheapest packages of 60 seeded shops with several rates, deals and adjustments took at most 3.
"""

_MOST_WORK = 5.0
"""Deterministic time of CP-SAT for one solve where no sum decides what is to be paid.

The cheapest package of each of those 60 shops is found in at most 0.6 CPU seconds.
"""


class Payable:
    """The complete sound selections with the picks, as a model of what is to be paid for each.

    Attributes:
        optimum: the model.
    """

    @unsettled(QUESTION)
    def __init__(self, search: Search, selection: Selection) -> None:
        self.selection, self.build = selection, Resolved(search.catalogue, selection)
        self.search = search = _priced(search, self.build)
        search.travel(selection)
        self.encoding = search.encoding
        self.optimum = Optimum(search, self.encoding.picks(selection).values())
        self.to_pay = ToPay(self.build, self._most_lines())
        self.refusals = 0
        if not self.to_pay.exact:
            self.optimum.work = _MOST_WORK

    @cached_property
    def measure(self) -> Any:
        """What stands for what is to be paid."""
        return self.to_pay.measure(self.optimum)

    @unsettled(QUESTION)
    def cheapest(self, *before: Any) -> Selection | None:
        """The one with the least to pay, or None; objectives before it count more.

        Raises:
            SearchLimit: it stopped without an answer.
        """
        held = self.optimum.best(*before, self.measure, stands=self._stands)
        if held is not None:
            return self.finished(held)
        if self._may_be_sound():
            raise SearchLimit(text("what the cheapest package comes to was not settled"))
        return None

    def _may_be_sound(self) -> bool:
        """Whether the search, which knows no prices, finds a package, or stops before it knows."""
        try:
            return self.search.sound([*self.encoding.picks(self.selection).values()]) is not None
        except SearchLimit:
            return not self.to_pay.exact

    @unsettled(QUESTION)
    def any_within(self, budget: Money) -> Selection | None:
        """One for which no more than the budget is to be paid, or None, which is proved.

        Raises:
            SearchLimit: it stopped without an answer.
        """
        most = self.to_pay.most(lambda to_pay: to_pay <= budget)
        if most is None:
            return None
        self.optimum.model.add(self.measure <= most)
        held = self.optimum.smallest(0, lambda held: self._affordable(held, budget))
        return None if held is None else self.finished(held)

    def finished(self, held: Held) -> Selection:
        """The selection with the picks that are held."""
        picks = self.encoding.selection(held).picks
        return attrs.evolve(self.selection, picks=picks).tidied()

    def _most_lines(self) -> int:
        """How many priced lines a selection may have."""
        return sum(
            len(priced) if choice.pick == "several" else bool(priced)
            for choice in self.encoding.choices
            if (priced := [one for one in choice.options if one.price])
        )

    def _paid(self, held: Held) -> Money:
        return price(self.build.having(self.finished(held))).to_pay

    def _affordable(self, held: Held, budget: Money) -> bool:
        return self._paid(held) <= budget or self._stands(held)

    def _stands(self, held: Held) -> bool:
        """Whether as much is to be paid as the model says; where not, the model is told.

        Raises:
            SearchLimit: too many were refused.
        """
        if self.to_pay.exact:
            return True
        units = self.to_pay.units(self._paid(held))
        if int(self.optimum.solver.value(self.measure)) == units:
            return True
        known = self.optimum.model.add(self.measure == units)
        alike = self.optimum.alike(held, lambda *key: key in self._on_price)
        known.only_enforce_if(alike)
        self.refusals += 1
        if self.refusals > MOST_REFUSALS:
            raise SearchLimit(
                text(
                    "{n} packages that come close were priced without settling which is the "
                    "cheapest",
                    n=MOST_REFUSALS,
                )
            )
        return False

    @cached_property
    def _on_price(self) -> frozenset[tuple[str, str]]:
        """Whatever has to do with a price: options that have one, and those that one depends on."""
        found: set[tuple[str, str]] = set()
        for choice in self.encoding.choices:
            for option in choice.options:
                quantities = self.encoding.quantities[choice.id, option.id] if option.price else ()
                for quantity, _ in enumerate(quantities, 1):
                    found.add((choice.id, option.id))
                    for name, options in self.search.price(choice, option, quantity).on:
                        found.update((name, one) for one in options)
        return frozenset(found)


def _priced(search: Search, build: Resolved) -> Search:
    """The search of the catalogue with the prices that a selection names; the last is kept.

    A budget and six wishes take 2.6 CPU seconds for 4.4.
    """
    named = build.selection.named_prices
    if not named:
        return search
    if search.repriced is None or search.repriced[0] != named:
        search.repriced = named, Search(with_named_prices(build))
    return search.repriced[1]
