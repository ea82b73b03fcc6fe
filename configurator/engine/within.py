"""The most of an ordered wish list that a budget allows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress

import attrs
from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import added, complete
from configurator.errors import SearchLimit
from configurator.money import Money
from configurator.pricing.price import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form


@form(shown={"wish": str})
@frozen(repr=False)
class RefusedWish:
    """A wish that the budget or the catalogue does not allow.

    Attributes:
        wish: the pick wished for.
        over: by how much the cheapest package with it would exceed the budget; None where no
            sound package has it.
        conflict: why no sound package has it; None where that reason was not settled.
    """

    wish: Pick
    over: Money | None
    conflict: Conflict | None


def _all_named(picks: Iterable[Pick]) -> list[str]:
    return [str(pick) for pick in picks]


@form("within", hidden="budget price", also="currency", shown={"granted": _all_named})
@frozen(repr=False)
class WithinAnswer:
    """The most of an ordered wish list that a budget allows.

    Attributes:
        budget: the most that the package may come to, with tax.
        total: what the package comes to; of the picks alone where even they are over, or None
            where nothing has them.
        granted: wishes in it, in order.
        left_out: the others.
        added: what the selection holds in addition to the picks and the wishes granted.
        price: what the selection costs, line by line; None where there is none.
        selection: the cheapest complete selection with the wishes granted; None where not even
            the picks alone are available for the budget.
        conflict: why nothing has the picks, at any price; None where it was not settled.
    """

    budget: Money
    total: Money | None
    granted: tuple[Pick, ...]
    left_out: tuple[RefusedWish, ...]
    added: tuple[Pick, ...]
    price: Price | None
    selection: Selection | None
    conflict: Conflict | None = None

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.budget.currency

    @property
    def stopped(self) -> bool:
        """Whether not even the picks alone are within the budget."""
        return self.selection is None


def within(
    search: Search, selection: Selection, budget: Money, wishes: Sequence[Pick]
) -> WithinAnswer:
    """The most of an ordered wish list that the budget allows: an earlier wish outweighs all later.

    The budget is for the whole package, with tax.

    Raises:
        SearchLimit: it stopped without an answer.
    """
    catalogue = search.catalogue
    best, total = _finished(search, selection)
    if best is None or total is None or total > budget:
        costs = ((wish, _finished(search, _wishing(selection, wish))[1]) for wish in wishes)
        left = tuple(_left_out(search, selection, wish, budget, cost) for wish, cost in costs)
        why = _why(search, selection) if best is None else None
        return WithinAnswer(budget, total, (), left, (), None, None, why)
    granted: list[Pick] = []
    left_out: list[RefusedWish] = []
    for wish in wishes:
        tried = _wishing(selection, wish)
        finished, cost = _finished(search, tried)
        if finished is not None and cost is not None and cost <= budget:
            selection, best, total = tried, finished, cost
            granted.append(wish)
        else:
            left_out.append(_left_out(search, selection, wish, budget, cost))
    more = added(Resolved(catalogue, selection), best)
    whole = price(Resolved(catalogue, best))
    return WithinAnswer(budget, total, tuple(granted), tuple(left_out), more, whole, best)


def _finished(search: Search, selection: Selection) -> tuple[Selection | None, Money | None]:
    """The cheapest complete selection with the picks, and its total; None where there is none."""
    best = complete(search, selection)
    return best, None if best is None else price(Resolved(search.catalogue, best)).total


def _wishing(selection: Selection, wish: Pick) -> Selection:
    """The selection with at least as many of the option as wished for."""
    more = wish.quantity - selection.quantity(wish.choice, wish.option)
    if more <= 0:
        return selection
    extra = attrs.evolve(wish, quantity=more)
    return attrs.evolve(selection.wanting(wish.choice), picks=(*selection.picks, extra))


def _why(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    quantity: int = 1,
) -> Conflict | None:
    """Why nothing has them, which is proved; None where the reason was not settled."""
    with suppress(SearchLimit):
        return find_conflict(search, selection, wanted, quantity)
    return None


def _left_out(
    search: Search, selection: Selection, wish: Pick, budget: Money, cost: Money | None
) -> RefusedWish:
    """Why the wish is left out: what the cheapest package with it costs, or that there is none."""
    if cost is None:
        key = wish.choice, wish.option
        most = max(wish.quantity, selection.quantity(*key))
        return RefusedWish(wish, None, _why(search, selection, key, most))
    return RefusedWish(wish, cost - budget, None)
