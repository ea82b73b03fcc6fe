"""What stops a selection, as bare facts: for searches that compare many selections."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from functools import reduce
from operator import add

from attrs import evolve

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Option
from configurator.checking.gaps import unit_fits, unweighed
from configurator.checking.ratings import rating_stops
from configurator.errors import SearchLimit
from configurator.mass.axles import AxleLoads, share
from configurator.mass.demands import let_pass
from configurator.mass.picture import mass_picture
from configurator.mass.states import MassPicture, State
from configurator.rules import broken_rules
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved, once, trial
from configurator.totals import LimitState, limit_states


@once
def stopping(
    build: Resolved, with_fit: bool = True, with_ratings: bool = True
) -> frozenset[tuple[str, str]]:
    """What stops the selection among rules, limits, masses, fit and ratings, by code and subject.

    That units of a space do not go in together is reported where each of them fits on its own; a
    space that the search cannot settle counts as one where they do not. All that can be wrong
    with axles has one subject, ``axles``; with fit, that is asked of every layout. What the
    selection overrides by name does not stop it.
    """
    passed = let_pass(build.catalogue, build.selection.overrides)
    exceeded = {state.limit.id for state in limit_states(build) if state.exceeded}
    found = {("rule", rule.id) for rule in broken_rules(build)}
    found |= {("limit", limit) for limit in exceeded - passed}
    found |= {(gap.code, str(gap.pick)) for gap in unweighed(build) if gap.stops}
    if with_fit:
        found |= _unfit(build)
    if with_ratings:
        found |= {("rating", subject) for subject in _overloads(build, with_fit)}
    return frozenset(found)


def _overloads(build: Resolved, laid_out: bool) -> frozenset[str]:
    """Subjects of ratings that are exceeded and not overridden."""
    found = rating_stops(build)
    if laid_out and "axles" not in found:
        from configurator.fit.answers import too_heavy

        with suppress(SearchLimit):
            return found | {"axles"} if too_heavy(build) else found
    return found


def _unfit(build: Resolved) -> set[tuple[str, str]]:
    """Units that do not fit on their own, or else spaces whose units do not go in together."""
    from configurator.checking.layout import unsettled

    fits, unfitted = unit_fits(build)
    misfits = {("fit", str(fit.unit)) for fit in fits if not fit.fits}
    misfits |= {(gap.code, str(gap.pick)) for gap in unfitted if gap.stops}
    return misfits or {("layout", space) for space in unsettled(build)}


def carried_with_ease(build: Resolved, add_ons: Iterable[Option]) -> frozenset[str]:
    """Ids of those add-ons whose limits and ratings have room for one of each alone.

    What each of them uses and weighs is read off one selection with all of them, which is why only
    those are looked at that change nothing of each other: no unit, nothing that makes a space,
    gives of a limit or changes a rating. None of the ids named stops, for its limits or ratings, a
    selection that they did not stop already; of the rest nothing is said.

    Args:
        build: what is picked, from which catalogue.
        add_ons: options of the choice of add-ons.
    """
    plain = [option for option in add_ons if _is_plain(option)]
    if not plain:
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
    state: State, picture: MassPicture, passed: frozenset[str], plain: Collection[Option]
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
