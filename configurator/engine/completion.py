"""The best way to complete a selection: the cheapest, the lightest or the roomiest package."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.fields import AS_PICK, Pick
from configurator.engine.availability import ExplainAnswer, explain
from configurator.engine.cheapest import Payable
from configurator.engine.decision import decide
from configurator.engine.optimum import QUESTION
from configurator.engine.search import Search
from configurator.errors import ConfiguratorError, SearchLimit
from configurator.machine.solvers import unsettled
from configurator.money import Money
from configurator.pricing.price import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import total_mass
from configurator.shapes.forms import form
from configurator.words import used

_PREFERENCES = ("price", "mass", "space")
"""What a selection can be finished for: cheapest, lightest, or most free volume."""


@AS_PICK
@frozen(repr=False, eq=False)
class PricedPick(Pick):
    """A pick with what it costs in the selection that holds it.

    Attributes:
        price: of all that were picked; None while it is open, and for what has no price of its own.
    """

    price: Money | None = None


@form("completion", hidden="price", also="currency total")
@frozen(repr=False)
class Completion:
    """The best complete selection that holds the picks.

    Attributes:
        prefer: ``price``, ``mass`` or ``space``.
        price: what it costs.
        mass: what it weighs empty, kg; None where the catalogue does not tell.
        added: what was chosen in addition to the picks.
        selection: the selection.
    """

    prefer: str
    price: Price
    mass: Decimal | None
    added: tuple[PricedPick, ...]
    selection: Selection

    @property
    def currency(self) -> str:
        """ISO 4217 code of the total."""
        return self.price.currency

    @property
    def total(self) -> Money:
        """What the whole costs, with tax."""
        return self.price.total


def complete(search: Search, selection: Selection, prefer: str = "price") -> Selection | None:
    """The best complete sound selection that holds the picks, or None where there is none.

    By ``price`` the least is to be paid for it, by ``mass`` it has the least empty mass, by
    ``space`` the most clear inside less the bodies of units, then the least is to be paid for it.

    Raises:
        SearchLimit: it stopped without an answer.
        ConfiguratorError: there is no such preference.
    """
    if prefer not in _PREFERENCES:
        known = ", ".join(_PREFERENCES)
        raise ConfiguratorError(f"{prefer!r} is none of {known}; give one of them")
    search.travel(selection)
    literals = list(search.encoding.picks(selection).values())
    with suppress(SearchLimit):  # the best may be found all the same
        if decide(search, literals) is None:
            return None
    with unsettled(QUESTION):
        found = _best(Payable(search, selection), prefer)
    if found is None:
        search.take(literals, None, None)
    return found


def _best(payable: Payable, prefer: str) -> Selection | None:
    """The best selection, by what is preferred."""
    optimum, search = payable.optimum, payable.search
    if prefer == "price":
        return payable.cheapest()
    if prefer == "mass":
        held = optimum.best(optimum.sum(optimum.mass_terms()))
        return None if held is None else payable.finished(held)
    bodies = optimum.sum(optimum.body_terms())
    spaces = [[*search.insides.sides(space.id).values()] for space in search.catalogue.spaces]
    volumes = [optimum.volume(sides) for sides in spaces if all(side.steps for side in sides)]
    return payable.cheapest(bodies - sum(volumes))


def completion(search: Search, build: Resolved, prefer: str) -> Completion | ExplainAnswer:
    """As :func:`complete`, with what it costs, weighs and adds; or why there is none."""
    finished = complete(search, build.selection, prefer)
    if finished is None:
        return explain(search, build, None)
    whole = build.having(finished)
    mass = total_mass(whole)
    weighs = None if mass is None else used(mass)
    costs = price(whole)
    more = with_prices(costs, added(build, finished))
    return Completion(prefer, costs, weighs, more, finished)


def with_prices(priced: Price, picks: Iterable[Pick]) -> tuple[PricedPick, ...]:
    """Picks with the price of their lines, or of their part of it."""
    lines = {(line.choice, line.option): line for line in priced.lines}
    found = []
    for pick in picks:
        line = lines.get(pick.key)
        cost = None if line is None else line.amount
        if line is not None and line.each is not None and pick.many < line.quantity:
            cost = line.each * pick.quantity if line.per == 1 else None
        found.append(
            PricedPick(pick.choice, pick.option, pick.quantity, pick.amount, cost, at=pick.at)
        )
    return tuple(found)


def added(build: Resolved, finished: Selection) -> tuple[Pick, ...]:
    """What the finished selection holds more of, and how many more, in the catalogue's order."""
    return tuple(
        Pick(choice.id, option.id, more, option.measured)
        for choice, option, quantity in build.having(finished).picks
        if (more := quantity - build.selection.quantity(choice.id, option.id)) > 0
    )
