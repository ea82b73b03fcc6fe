"""What stops a selection, as bare facts: for searches that compare many selections."""

from __future__ import annotations

from configurator.catalogue.model import Catalogue
from configurator.checking.ratings import rating_stops
from configurator.errors import SearchLimit
from configurator.fit.units import fit_unit
from configurator.mass.demands import let_pass
from configurator.rules import broken_rules
from configurator.selection.picks import Selection, known_picks
from configurator.totals import MissingPicks, limit_states

__all__ = ["stopping"]


def stopping(
    catalogue: Catalogue,
    selection: Selection,
    with_fit: bool = True,
    with_ratings: bool = True,
) -> frozenset[tuple[str, str]]:
    """What stops the selection among rules, limits, fit and ratings, by code and subject.

    That units of a space do not go in together is told where each of them fits on its own; a
    space that the search cannot settle counts as one where they do not. All that can be wrong
    with axles has one subject, ``axles``; with fit, that is asked of every layout. What the
    selection lets pass by name does not stop it.
    """
    found = {("rule", rule.id) for rule in broken_rules(catalogue, selection)}
    found |= {
        ("limit", s.limit.id)
        for s in limit_states(catalogue, selection)
        if s.used and s.left + s.may_come < 0
    }
    passed = let_pass(catalogue, selection.overrides)
    found = {(code, subject) for code, subject in found if code != "limit" or subject not in passed}
    if with_fit:
        found |= _unfit(catalogue, selection)
    if with_ratings:
        found |= {("rating", subject) for subject in _overloads(catalogue, selection, with_fit)}
    return frozenset(found)


def _overloads(catalogue: Catalogue, selection: Selection, laid_out: bool) -> frozenset[str]:
    """Subjects of ratings that are exceeded and not let pass."""
    found = rating_stops(catalogue, selection)
    if not laid_out or "axles" in found:
        return found
    from configurator.arrangement.answers import too_heavy

    try:
        return found | {"axles"} if too_heavy(catalogue, selection) else found
    except SearchLimit:
        return found


def _unfit(catalogue: Catalogue, selection: Selection) -> set[tuple[str, str]]:
    """Units that do not fit on their own, or else spaces whose units do not go in together."""
    misfits = set()
    for choice, option, _ in known_picks(catalogue, selection):
        if option.unit is None:
            continue
        try:
            fits = fit_unit(catalogue, selection, choice.id, option).fits
        except MissingPicks:
            continue
        if not fits:
            misfits.add(("fit", f"{choice.id}={option.id}"))
    if misfits:
        return misfits
    from configurator.checking.layout import unsettled

    return {("layout", space) for space in unsettled(catalogue, selection)}
