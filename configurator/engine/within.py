"""The most of an ordered wish list that a budget allows."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

import attrs
from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.engine.availability import explain, named
from configurator.engine.cheapest import Payable
from configurator.engine.completion import PricedPick, added, complete, with_prices
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.search import Search
from configurator.errors import SearchLimit
from configurator.money import Money
from configurator.pricing.price import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form


@form(shown={"wish": str, "instead_of": named})
@frozen(repr=False)
class RefusedWish:
    """A wish that the budget, the catalogue or another pick does not allow.

    Attributes:
        wish: the pick wished for.
        state: ``too-dear`` (every sound package with it is over the budget), ``instead`` (another
            option of its choice is picked, and it is available in its place), ``ruled-out`` (no
            sound package has it, nor in place of that pick), or ``undecided``: it was not settled
            which of these, or whether the budget allows it.
        over: by how much the cheapest package with it is over the budget, where it is too dear;
            None where that was not settled.
        instead_of: the other option of its choice that is picked, or was granted before.
        difference: what it does to the total in place of that; None where a price is open.
        conflict: why no sound package has it; None where that reason was not settled.
        needs: ids of empty choices that need a pick with it in place of that.
    """

    wish: Pick
    state: str
    over: Money | None = None
    instead_of: Pick | None = None
    difference: Money | None = None
    conflict: Conflict | None = None
    needs: tuple[str, ...] = ()


@form("within", hidden="budget price", also="currency left")
@frozen(repr=False)
class WithinAnswer:
    """The most of an ordered wish list that a budget allows.

    Attributes:
        budget: the most that is to be paid, with tax.
        to_pay: what is to be paid; for the cheapest package with the picks alone where even they
            are over. None where nothing has them, or where that was not settled.
        settled: whether it is proved that no package with the picks and the wishes granted costs
            less, or that there is none.
        granted: wishes in it, in order.
        left_out: the others.
        added: what the selection holds in addition to the picks and the wishes granted.
        price: what the selection costs, line by line; None where there is none.
        selection: the cheapest complete selection with the wishes granted; None where not even
            the picks alone are available for the budget.
        conflict: why nothing has the picks, at any price; None where it was not settled.
    """

    budget: Money
    to_pay: Money | None
    settled: bool
    granted: tuple[PricedPick, ...]
    left_out: tuple[RefusedWish, ...]
    added: tuple[PricedPick, ...]
    price: Price | None
    selection: Selection | None
    conflict: Conflict | None = None

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.budget.currency

    @property
    def left(self) -> Money | None:
        """What is left of the budget; below zero where even the picks alone are over."""
        return None if self.to_pay is None else self.budget - self.to_pay

    @property
    def stopped(self) -> bool:
        """Whether not even the picks alone are within the budget."""
        return self.selection is None


@frozen
class _Asked:
    """What there is with some picks.

    Attributes:
        selection: the cheapest complete selection; where it is not settled which, one within the
            budget. None where there is none.
        to_pay: what is to be paid for it.
        settled: whether it is the cheapest, or there is none at any price; where not, none means
            none within the budget.
    """

    selection: Selection | None
    to_pay: Money | None
    settled: bool

    def within(self, budget: Money) -> bool:
        """Whether it is within the budget."""
        return self.to_pay is not None and self.to_pay <= budget


def within(
    search: Search, selection: Selection, budget: Money, wishes: Sequence[Pick]
) -> WithinAnswer:
    """The most of an ordered wish list that the budget allows: an earlier wish outweighs all later.

    The budget is for what is to be paid, with tax.

    Raises:
        SearchLimit: it stopped without an answer.
    """
    catalogue = search.catalogue
    best = _ask(search, selection, budget)
    if not best.within(budget):
        asked = (_refused(search, selection, wish, budget)[0] for wish in wishes)
        left = tuple(refused for refused in asked if refused is not None)
        none = best.to_pay is None and best.settled
        why = _why(search, selection) if none else None
        return WithinAnswer(budget, best.to_pay, best.settled, (), left, (), None, None, why)
    granted: list[Pick] = []
    left_out: list[RefusedWish] = []
    for wish in wishes:
        refused, found = _refused(search, selection, wish, budget)
        if refused is not None:
            left_out.append(refused)
        elif found is not None:
            selection, best = _wishing(selection, wish), found
            granted.append(wish)
    assert best.selection is not None
    more = added(Resolved(catalogue, selection), best.selection)
    whole = price(Resolved(catalogue, best.selection))
    return WithinAnswer(
        budget,
        best.to_pay,
        best.settled,
        with_prices(whole, granted),
        tuple(left_out),
        with_prices(whole, more),
        whole,
        best.selection,
    )


def _ask(search: Search, selection: Selection, budget: Money) -> _Asked:
    """What there is with the picks.

    Raises:
        SearchLimit: not even whether something is within the budget was settled.
    """
    try:
        found, settled = complete(search, selection), True
    except SearchLimit:
        found, settled = Payable(search, selection).any_within(budget), False
    to_pay = None if found is None else price(Resolved(search.catalogue, found)).to_pay
    return _Asked(found, to_pay, settled)


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


def _refused(
    search: Search, selection: Selection, wish: Pick, budget: Money
) -> tuple[RefusedWish | None, _Asked | None]:
    """Why the wish is left out, or what there is with it."""
    choice = search.catalogue.by_id[wish.choice]
    present = None if choice.pick == "several" else selection.one(wish.choice)
    if present not in (None, wish.option):
        return _instead(search, selection, wish, Pick(wish.choice, str(present))), None
    try:
        found = _ask(search, _wishing(selection, wish), budget)
    except SearchLimit:
        return RefusedWish(wish, "undecided"), None
    if found.within(budget):
        return None, found
    if found.to_pay is None and found.settled:
        key = wish.choice, wish.option
        why = _why(search, selection, key, max(wish.quantity, selection.quantity(*key)))
        return RefusedWish(wish, "ruled-out", conflict=why), None
    over = None if found.to_pay is None else found.to_pay - budget
    return RefusedWish(wish, "too-dear", over), None


def _instead(search: Search, selection: Selection, wish: Pick, present: Pick) -> RefusedWish:
    """What the wish does in place of the present pick of its choice."""
    try:
        found = explain(search, Resolved(search.catalogue, selection), wish)
    except SearchLimit:
        return RefusedWish(wish, "undecided", instead_of=present)
    if found.possible:
        return RefusedWish(wish, "instead", None, present, found.difference, needs=found.needs)
    return RefusedWish(wish, "ruled-out", instead_of=present, conflict=found.conflict)
