"""Add-ons worth suggesting for a selection, each with its reason and its own price."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import reduce
from operator import add

from attrs import evolve, frozen

from configurator.catalogue.dependence import priced_by
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Option
from configurator.checking.stops import stopping
from configurator.engine import kinds
from configurator.mass.axles import AxleLoads, share
from configurator.mass.demands import let_pass
from configurator.mass.picture import mass_picture
from configurator.mass.states import LoadCase, MassPicture
from configurator.money import Money
from configurator.pricing.changes import DealChange, deal_changes
from configurator.pricing.lines import Key, Line, option_price
from configurator.pricing.price import lines_by_key, outcome, priced
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved, trial
from configurator.selection.rules import breaks, broken_rules, holds, tests_of
from configurator.selection.totals import LimitState, limit_states, mass_of
from configurator.selection.validate import require_known
from configurator.shapes.forms import form
from configurator.words import used


@form(also="option title price", hidden="line", keys={"cost": "added"}, shown={"mass": used})
@frozen(repr=False)
class Suggestion:
    """An add-on that is not in the package.

    Attributes:
        line: it and its price, as it would be within the package.
        because: why it is suggested.
        mass: kg it would add.
        difference: what it alone does to the total, tax as in the total: a package deal that it
            ends or completes, adjustments and rounding counted; None while its price is open.
        cost: the same with tax or without, as prices of lines are: the figure beside it.
        deals: package deals that it ends or completes.
    """

    line: Line
    because: str
    mass: Decimal
    difference: Money | None
    cost: Money | None
    deals: tuple[DealChange, ...]

    @property
    def option(self) -> str:
        """Id of the add-on."""
        return self.line.option

    @property
    def title(self) -> str:
        """What the customer reads."""
        return self.line.title

    @property
    def price(self) -> Money | None:
        """Price of one, or of so much as is usual; None while it is open."""
        return self.line.amount


def suggestions(build: Resolved) -> tuple[Suggestion, ...]:
    """The add-ons whose condition holds and which could be had, in the catalogue's order.

    One that is accepted already, or whose rules or limits the package would break, is left out.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    worth = [
        option
        for option in build.catalogue.add_ons.options
        if option.suggest is not None
        and not build.selection.quantity(ADD_ON, option.id)
        and holds(build, option.suggest)
    ]
    about_them = [
        rule
        for rule in build.catalogue.rules
        if any(test.choice == ADD_ON for test in tests_of(rule))
    ]
    easy = carried_with_ease(build, worth)
    # an add-on may change what other lines cost only where some price depends on add-ons
    known = {} if ADD_ON in priced_by(build.catalogue) else lines_by_key(build)
    found = []
    for option in worth:
        with_it = trial(build, build.picking(Pick(ADD_ON, option.id)))
        shapes = bool(option.unit or option.space or option.openings)
        if option.id in easy:
            broken = {rule for rule in about_them if breaks(with_it, rule)}
            goes = broken <= set(broken_rules(build))
        else:
            goes = stopping(with_it, shapes) <= stopping(build, shapes)
        if goes:
            found.append(_suggestion(build, with_it, option, known))
    return tuple(found)


def _suggestion(
    build: Resolved, with_it: Resolved, option: Option, known: Mapping[Key, Line]
) -> Suggestion:
    line = option_price(with_it, build.catalogue.add_ons, option)
    mass = mass_of(with_it, option)
    if line.amount is None:
        return Suggestion(line, option.because, mass, None, None, ())
    before = priced(build)
    tax, deals = outcome(with_it, known)
    difference, cost = tax.total - before.total, tax.before - before.tax.before
    if build.catalogue.tax.included:
        cost = difference
    changes = deal_changes(before.deals, deals)
    return Suggestion(line, option.because, mass, difference, cost, changes)


def carried_with_ease(build: Resolved, add_ons: Iterable[Option]) -> frozenset[str]:
    """Ids of those add-ons whose limits and ratings have room for one of each alone.

    What each of them uses and weighs is read off one selection with all of them, which is why only
    those are looked at that change nothing of each other: no unit, nothing that makes a space,
    gives of a limit or changes a rating. None of the ids named stops, for its limits or ratings, a
    selection that they did not stop already; of the rest nothing is said, nor of any where there
    are other kinds of constraints. The price of a shipped selection with its suggestions takes 8 ms
    for 36.
    """
    plain = [option for option in add_ons if _is_plain(option)]
    if kinds.MORE or not plain:
        return frozenset()
    picks = (*build.selection.picks, *(Pick(ADD_ON, option.id) for option in plain))
    together = trial(build, evolve(build.selection, picks=picks))
    passed = let_pass(build.catalogue, build.selection.overrides)
    easy = {option.id for option in plain}
    for limit in limit_states(together):
        if limit.limit.id not in passed:
            easy -= _beyond_limit(limit, plain)
    picture = mass_picture(together, None)
    if picture is not None:
        for state in picture.counted:
            easy -= _beyond_ratings(state, picture, passed, plain)
        if _trailer_too_heavy(picture, build.selection):
            easy.clear()
    return frozenset(easy)


def _is_plain(option: Option) -> bool:
    shapes = option.unit or option.space or option.openings or option.tray
    return not (shapes or option.gives or option.ratings or option.hitch)


def _beyond_limit(state: LimitState, plain: Collection[Option]) -> set[str]:
    """Those that use more of a limit than the picks without all of them leave."""
    amounts = {id(option): amount for option, amount in state.users}
    uses = {option.id: amounts.get(id(option), Decimal(0)) for option in plain}
    room = state.left + state.may_come + sum(uses.values())
    return {name for name, use in uses.items() if use and use > room}


def _beyond_ratings(
    state: LoadCase, picture: MassPicture, passed: frozenset[str], plain: Collection[Option]
) -> set[str]:
    """Those that weigh something, with which a rating would be exceeded or the front axle lift."""
    own: dict[str, AxleLoads] = {}
    names = {option.id for option in plain}
    for item in state.items:
        name = item.pick.option
        if item.pick.choice == ADD_ON and name in names:
            loads = share(item.mass, item.x, picture.wheelbase)
            own[name] = own[name] + loads if name in own else loads
    if not own:
        return set()
    every = reduce(add, own.values())
    found = set()
    for name, loads in own.items():
        rest = every - loads
        less = {"front-axle": rest.front, "rear-axle": rest.rear, "tow-ball": Fraction(0)}
        over = any(
            bar.load - less.get(bar.subject, rest.total) > bar.rating
            for bar in state.bars
            if bar.subject not in passed
        )
        if over or state.loads.front <= rest.front:
            found.add(name)
    return found


def _trailer_too_heavy(picture: MassPicture, selection: Selection) -> bool:
    trailer, asked = picture.trailer, selection.travel.trailer
    if trailer is None or trailer.heaviest is None or asked is None:
        return False
    return Fraction(asked) > trailer.heaviest
