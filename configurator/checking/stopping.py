"""What stops a selection, as bare facts: for searches that compare many selections."""

from __future__ import annotations

from configurator.catalogue.model import Catalogue
from configurator.fit.units import fit_unit
from configurator.rules import broken_rules
from configurator.selection.picks import Selection, known_picks
from configurator.totals import MissingPicks, limit_states

__all__ = ["stopping"]


def stopping(
    catalogue: Catalogue, selection: Selection, with_fit: bool = True
) -> frozenset[tuple[str, str]]:
    """What stops the selection among rules, limits and fit, by code and subject.

    That units of a space do not go in together is told where each of them fits on its own; a
    space that the search cannot settle counts as one where they do not.
    """
    found = {("rule", rule.id) for rule in broken_rules(catalogue, selection)}
    found |= {
        ("limit", s.limit.id)
        for s in limit_states(catalogue, selection)
        if s.used and s.left + s.may_come < 0
    }
    return frozenset(found | _unfit(catalogue, selection) if with_fit else found)


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
