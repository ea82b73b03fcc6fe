"""Where the price of a change is not known yet, as literals, so that such a change comes last.

It says of every change at once what :mod:`configurator.pricing.waiting` says of one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from configurator.catalogue.model import Choice, Option
from configurator.engine.search import Search
from configurator.pricing.changes import most_times
from configurator.pricing.lines import Key
from configurator.pricing.price import lines_by_key
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved


class UnknownPrice:
    """The cases in which the price of a change of a selection is not known yet.

    Args:
        search: of the catalogue.
        selection: what is picked before the change.
        changed: for each answer that could change, the literal that says that it does; of a choice
            of one, under no option.
        still_open: ids of the choices that a change leaves open.
    """

    def __init__(
        self,
        search: Search,
        selection: Selection,
        changed: Mapping[Key, int],
        still_open: frozenset[str],
    ) -> None:
        self._search, self._encoding = search, search.encoding
        self._selection, self._changed, self._still_open = selection, changed, still_open
        lines = lines_by_key(Resolved(search.catalogue, selection))
        self._open = {key for key, line in lines.items() if line.amount is None}
        self._named = {price.line.key for price in selection.named_prices}
        self._answers: dict[str, list[int]] = {}
        for (choice, _), literal in changed.items():
            self._answers.setdefault(choice, []).append(literal)
        self._depends: dict[Key, list[str]] = {}
        for choice, keys in search.priced_by.items():
            for key in keys:
                self._depends.setdefault(key, []).append(choice)

    def cases(self) -> Iterator[tuple[int, ...]]:
        """Literals that are true together only where it is not known: every such case."""
        for choice in self._encoding.choices:
            for option in choice.options:
                if option.price:
                    yield from self._of_option(choice, option)
        yield from self._of_deals()

    def _of_option(self, choice: Choice, option: Option) -> Iterator[tuple[int, ...]]:
        """Where its price is open: still to be chosen, picked or not, or without one."""
        key = choice.id, option.id
        depends = self._depends.get(key, ())
        moved = [one for other in depends for one in self._answers.get(other, ())]
        if choice.id in self._still_open:
            if choice.pick == "one":
                yield from ((one,) for one in moved)
            return
        held = self._encoding.at_least(*key)
        if key in self._open or not self._still_open.isdisjoint(depends):
            self._open.add(key)
            own = key if choice.pick == "several" else (choice.id, "")
            there = bool(self._selection.quantity(*key))
            yield (self._changed[own] if there or own == key else held,)
            yield from ((held, one) for one in moved)
        elif key not in self._named:
            figure = self._search.price(choice, option, 1)
            if not figure.on and None in figure.cases.values():
                self._open.add(key)
            for states, value in figure.cases.items():
                if value is None:
                    yield (self._encoding.case(held, figure.on, states),)

    def _of_deals(self) -> Iterator[tuple[int, ...]]:
        """Where a deal begins or ends that has an open price in it."""
        for deal in self._search.catalogue.package_deals:
            keys = {pick.key: pick.quantity for pick in deal.picks}
            there = self._still_open.isdisjoint(choice for choice, _ in keys)
            if not there or self._open.isdisjoint(keys):
                continue
            for times in range(1, most_times(self._search.catalogue, deal) + 1):
                picked = [self._selection.quantity(*key) >= n * times for key, n in keys.items()]
                reached = [self._encoding.at_least(*key, n * times) for key, n in keys.items()]
                if all(picked):
                    yield from ((-one,) for one in reached)
                else:
                    yield tuple(reached)
