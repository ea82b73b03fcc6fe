"""What stops a selection, as bare facts, for checks and for searches that compare many.

Among them is what the catalogue does not say of the picks: units not fitted, parts not weighed or
priced. While a choice of one is open such a gap may close by itself. Where nothing open could close
it, the catalogue lacks a size or the cell of a table: a fit or a mass that nobody knows stops a
quote.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option
from configurator.catalogue.parts import MeasuredPrice, PriceTable
from configurator.checking.others import other_findings
from configurator.checking.ratings import rating_stops
from configurator.errors import SearchLimit
from configurator.mass.demands import let_pass
from configurator.selection.resolved import Resolved, once
from configurator.selection.rules import broken_rules
from configurator.selection.totals import (
    MissingPicks,
    limit_states,
    mass_of,
    measure,
    table_cell,
    undecided,
)

if TYPE_CHECKING:
    from configurator.fit.units import UnitFit


@frozen(eq=False, repr=False)
class Gap:
    """A figure of one pick that cannot be told.

    Attributes:
        code: ``not-checked`` (its fit), ``not-weighed`` or ``not-priced``.
        choice: id of its choice.
        option: the option.
        missing: what is not known, and which open choices could tell it.
        waits: whether one of these has to be made.
    """

    code: str
    choice: str
    option: Option
    missing: MissingPicks
    waits: bool

    @property
    def pick(self) -> Pick:
        """The pick that it is about."""
        return Pick(self.choice, self.option.id)

    @property
    def lasting(self) -> bool:
        """Whether no choice that is still open could close it."""
        return not self.missing.choices

    @property
    def stops(self) -> bool:
        """Whether it stops a quote: what has to be chosen yet does so anyway."""
        return not self.waits and self.code != "not-priced"


def _gap(build: Resolved, code: str, choice: Choice, option: Option, missing: MissingPicks) -> Gap:
    waits = not set(undecided(build)).isdisjoint(missing.choices)
    return Gap(code, choice.id, option, missing, waits)


@frozen(eq=False, repr=False)
class UnitFits:
    """How the units that are picked fit on their own.

    Attributes:
        told: those whose space is determined.
        never: those that do not fit theirs, whatever makes the rest of it.
        gaps: those of which nothing can be told yet.
    """

    told: tuple[UnitFit, ...]
    never: tuple[UnitFit, ...]
    gaps: tuple[Gap, ...]

    @property
    def misfits(self) -> tuple[UnitFit, ...]:
        """Those that do not fit."""
        return (*(fit for fit in self.told if not fit.fits), *self.never)


@once
def unweighed(build: Resolved) -> tuple[Gap, ...]:
    """Picks whose mass cannot be told."""
    found = []
    for choice, option, _ in build.picks:
        try:
            mass_of(build, option)
        except MissingPicks as missing:
            found.append(_gap(build, "not-weighed", choice, option, missing))
    return tuple(found)


@once
def unit_fits(build: Resolved) -> UnitFits:
    """How every unit that is picked fits its space on its own, as far as that can be told."""
    from configurator.fit.units import fit_unit, never_fits

    fits, never, gaps = [], [], []
    for choice, option, _ in build.picks:
        if option.unit is not None:
            try:
                fits.append(fit_unit(build, choice.id, option))
            except MissingPicks as missing:
                misses = never_fits(build, choice.id, option)
                if misses is None:
                    gaps.append(_gap(build, "not-checked", choice, option, missing))
                else:
                    never.append(misses)
    return UnitFits(tuple(fits), tuple(never), tuple(gaps))


def unpriced(build: Resolved) -> Iterator[Gap]:
    """Picks whose price depends on a size or a table's cell that cannot be told."""
    for choice, option, _ in build.picks:
        try:
            for part in option.price:
                if not part.counts_on(build.catalogue.price_day):
                    continue
                if isinstance(part, PriceTable):
                    table_cell(build, part)
                elif isinstance(part, MeasuredPrice):
                    measure(build, part.of)
        except MissingPicks as missing:
            yield _gap(build, "not-priced", choice, option, missing)


@once
def stopping(
    build: Resolved, with_fit: bool = True, with_ratings: bool = True
) -> frozenset[tuple[str, str]]:
    """What stops the selection among rules, limits, masses, fit and ratings, by code and subject.

    Constraints of other kinds are among them, whatever is left out. That units of a space do not go
    in together is reported where each of them fits on its own; a space that the search cannot
    settle counts as one where they do not. All that can be wrong with axles has one subject,
    ``axles``; with fit, that is asked of every layout. What the selection overrides by name does
    not stop it.
    """
    passed = let_pass(build.catalogue, build.selection.overrides)
    exceeded = {state.limit.id for state in limit_states(build) if state.exceeded}
    found = {("rule", rule.id) for rule in broken_rules(build)}
    found |= {("limit", limit) for limit in exceeded - passed}
    found |= {(gap.code, str(gap.pick)) for gap in unweighed(build) if gap.stops}
    found |= {(finding.code, finding.subject) for finding in other_findings(build)}
    if with_fit:
        found |= _unfit(build)
    if with_ratings:
        found |= {("rating", subject) for subject in _overloads(build, with_fit)}
    return frozenset(found)


def _overloads(build: Resolved, laid_out: bool) -> frozenset[str]:
    """Subjects of ratings that are exceeded and not overridden."""
    found = rating_stops(build)
    if laid_out and "axles" not in found:
        from configurator.layout.answers import too_heavy

        with suppress(SearchLimit):
            return found | {"axles"} if too_heavy(build) else found
    return found


def _unfit(build: Resolved) -> set[tuple[str, str]]:
    """Units that do not fit on their own, or else spaces whose units do not go in together."""
    from configurator.checking.layout import unsettled

    fits = unit_fits(build)
    misfits = {("fit", str(fit.unit)) for fit in fits.misfits}
    misfits |= {(gap.code, str(gap.pick)) for gap in fits.gaps if gap.stops}
    return misfits or {("layout", space) for space in unsettled(build)}
