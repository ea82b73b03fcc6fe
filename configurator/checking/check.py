"""Every finding about a selection, most serious first, in the trade's words.

Rules broken, limits exceeded or close, units that do not fit on their own, what is still to be
chosen, and what the catalogue does not say of the picks. Each finding has its numbers as data
beside its sentence.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import chain

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick, tests_in
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.checking.lacks import givers, lacked
from configurator.checking.layout import laid_out, layout_findings
from configurator.checking.others import other_findings
from configurator.checking.power import power_findings
from configurator.checking.ratings import rating_findings, with_overrides
from configurator.checking.stops import Gap, stopping, unit_fits, unpriced, unweighed
from configurator.findings import LEVELS, Finding, Saying
from configurator.fit.layout import Layout
from configurator.fit.units import (
    UnitFit,
    fit_unit,
    inside_so_far,
    may_yet_fit,
    misfit_words,
    never_fits,
)
from configurator.mass.mounts import mount_findings
from configurator.mass.picture import CAUTION, mass_picture
from configurator.mass.states import MassPicture
from configurator.money import Money
from configurator.power.picture import PowerPicture
from configurator.power.summary import power_picture
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved, once, trial
from configurator.selection.rules import breaks, broken_rules, holds, rule_words
from configurator.selection.totals import (
    Interior,
    LimitState,
    MissingPicks,
    limit_states,
    undecided,
)
from configurator.selection.validate import require_known
from configurator.shapes.forms import form
from configurator.words import capital, in_unit, itemised, joined, listed, shown_unit, text

_RULE = Saying("stop", "{rule}")
_RULE_PICKED = Saying("stop", "{rule}; picked: {picked}")
_EXCEEDED = Saying(
    "stop",
    "{title}: over the limit by {over}, {used} of {there} {unit} used",
    "the most is used by {largest}",
)
_LACKING = Saying(
    "note",
    "{title}: {so_far} used and {given} available so far; {over} more still to be chosen",
)
_CLOSE = Saying(
    "caution", "{title}: close to the limit, {used} of {there} {unit} used, {left} remaining"
)
_MISFIT = Saying("stop", "{title} does not fit: {told}")
_NEVER_FITS = Saying("stop", "{title} does not fit, whatever is still chosen: {told}")
_UNDECIDED = Saying("stop", "{title}: still to be chosen")
_BELOW_ZERO = {
    "lines": Saying(
        "stop",
        "The prices of the lines bring the total below zero, to {to}",
        "correct the prices of the lines",
    ),
    "total": Saying(
        "stop",
        "The adjustments bring the total below zero, to {to}",
        "make the discounts smaller",
    ),
    "to-pay": Saying(
        "stop",
        "The trade-ins bring the amount to pay below zero, to {to}",
        "pay out the rest separately",
    ),
}
_UNAPPROVED = Saying(
    "stop",
    "Discounts of {off} need an approver; up to {allowed} needs none",
    "name the approver in the adjustment, or make the discounts smaller",
    "Somebody has to answer for a larger discount.",
)
_GAPS = {
    "not-checked": Saying(
        "stop",
        (
            "{titles} has not been fitted: {missing} is not known",
            "{titles} have not been fitted: {missing} is not known",
        ),
    ),
    "not-weighed": Saying(
        "stop",
        (
            "{titles} is left out of the mass: {missing} is not known",
            "{titles} are left out of the mass: {missing} is not known",
        ),
    ),
    "not-priced": Saying(
        "caution",
        (
            "{titles} is left out of the price: {missing} is not known",
            "{titles} are left out of the price: {missing} is not known",
        ),
    ),
}
_PAST = Saying(
    "caution",
    "{what} is agreed for {day}, which has passed",
    "agree on a new day before it is built",
)
_MOST_NAMED = 4


@form(
    "check",
    hidden="layout mass power",
    also="can_quote",
    keys={"fits": "units", "beside": "cautions"},
)
@frozen(repr=False)
class Check:
    """The findings on one selection, and how its limits stand.

    Attributes:
        findings: most serious first.
        limits: every limit that has something given or used.
        fits: every unit whose space is determined.
        layout: where the units sit, when that is proven.
        mass: the mass picture with that layout; None while no vehicle is picked.
        power: the power picture with that layout.
        beside: what is next to the figures: that they are estimates, and the shop's own cautions
            on what is picked, such as gas and 230 V.
    """

    findings: tuple[Finding, ...]
    limits: tuple[LimitState, ...]
    fits: tuple[UnitFit, ...]
    layout: Layout | None
    mass: MassPicture | None
    power: PowerPicture
    beside: tuple[str, ...]

    @property
    def to_choose(self) -> tuple[Finding, ...]:
        """What is still to be chosen: one of each of these choices."""
        return tuple(f for f in self.findings if f.code == "undecided")

    @property
    def missing(self) -> tuple[Finding, ...]:
        """What is missing, and may still come with all picks kept."""
        return tuple(f for f in self.findings if f.may_come)

    @property
    def impossible(self) -> tuple[Finding, ...]:
        """What cannot be, whatever is picked in addition."""
        return tuple(f for f in self.stops if not f.may_come and f.code != "undecided")

    @property
    def can_quote(self) -> bool:
        """Whether nothing stops a quote."""
        return not self.stops

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that stop a quote; none when it can be issued."""
        return tuple(f for f in self.findings if f.level == "stop")

    @property
    def cautions(self) -> tuple[Finding, ...]:
        """The findings that a quote shows as cautions."""
        return tuple(f for f in self.findings if f.level == "caution")


@once
def check(build: Resolved, hints: bool = False) -> Check:
    """Check a selection, complete or partial; hints look for fixes too, and take much longer.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    limits = limit_states(build)
    fits = unit_fits(build)
    laid = laid_out(build, fits.told)
    mass = mass_picture(build, laid.layout)
    power = power_picture(build, laid.layout)
    findings = [
        *_rules(build),
        *chain.from_iterable(_limit(build, state) for state in limits),
        *(_misfit(build, fit, hints) for fit in fits.told if not fit.fits),
        *(_misfit(build, fit, hints, so_far=True) for fit in fits.never),
        *layout_findings(
            build, laid, hints and (lambda s: stopping(trial(build, s)) <= stopping(build))
        ),
        *_money(build),
        *_figures(build, laid.layout),
        *other_findings(build),
        *_undecided(build),
        *_past_dates(build),
        *_gaps(build.catalogue, (*fits.gaps, *unweighed(build), *unpriced(build))),
    ]
    findings = with_overrides(build, findings)
    findings.sort(key=_order)
    stated = tuple(state for state in limits if state.used or state.given)
    beside = tuple(_beside(build, mass))
    return Check(tuple(findings), stated, fits.told, laid.layout, mass, power, beside)


def _order(finding: Finding) -> tuple[int, bool, bool]:
    """Most serious first; of what stops a quote, what cannot be before what may still be picked."""
    level = LEVELS.index(finding.level)
    stops = finding.level == "stop"
    return level, stops and finding.code == "undecided", stops and finding.may_come


def _beside(build: Resolved, mass: MassPicture | None) -> Iterator[str]:
    if mass is not None:
        yield CAUTION
    yield from (c.text for c in build.catalogue.cautions if holds(build, c.when))


def _past_dates(build: Resolved) -> Iterator[Finding]:
    """Agreed days that are over on the day for which it is checked; of none where none is given."""
    for planned in build.selection.dates:
        last = planned.until or planned.day
        if last < build.catalogue.day:
            known = {"what": planned.what, "day": dt.date.fromisoformat(last)}
            yield _PAST.finding("date-past", planned.what, known)


def _rules(build: Resolved) -> Iterator[Finding]:
    for rule in broken_rules(build):
        known = {"rule": capital(rule_words(build.catalogue, rule, build))}
        asked = {test.choice for test in tests_in(rule.needs)} if rule.needs is not None else set()
        picked = [option.title for choice, option, _ in build.picks if choice.id in asked]
        saying = _RULE_PICKED if picked else _RULE
        known["picked"] = itemised(picked)
        yield saying.finding(
            "rule",
            rule.id,
            known,
            reason=rule.because,
            hint=rule.hint,
            may_come=not breaks(build, rule, growing=True),
            at=rule.at,
            lacks=lacked(build, rule.needs),
        )


def _limit(build: Resolved, state: LimitState) -> Iterator[Finding]:
    catalogue = build.catalogue
    limit, unit = state.limit, state.limit.unit
    close = state.users and state.left >= 0 and state.used >= limit.caution_at * state.given
    if not (state.exceeded or state.lacking or close):
        return
    used, there, left = state.shown
    known = {
        "title": limit.title,
        "used": used,
        "there": there,
        "unit": shown_unit(unit),
        "so_far": in_unit(used, unit),
        "given": in_unit(there, unit),
        "over": in_unit(-left, unit),
        "left": in_unit(left, unit),
        "largest": itemised(text("{title} {n}", title=o.title, n=n) for o, n in state.users[:3]),
    }
    saying = _LACKING if state.lacking else _EXCEEDED if state.exceeded else _CLOSE
    hint = limit.hint or ("" if state.users else text("choose a vehicle that carries more"))
    if state.lacking and (choices := _to_give(build, state)):
        hint = text("choose {choices}", choices=listed(choice.title for choice in choices))
    yield saying.finding(
        "limit",
        limit.id,
        known,
        (("used", used), ("there", there), ("over", -left)),
        level="stop" if state.exceeded else "",
        reason=limit.because,
        hint=hint,
        may_come=state.left < 0 <= state.left + state.may_come + state.may_add,
        at=limit.at,
        lacks=givers(catalogue, limit) if state.given <= 0 else frozenset(),
    )


def _to_give(build: Resolved, state: LimitState) -> list[Choice]:
    """The choices of one that are still open and may give what is lacking by themselves."""
    if state.left + state.may_come < 0:
        return []
    still_open = (build.catalogue.by_id[choice] for choice in undecided(build))
    return [one for one in still_open if any(o.given(state.limit.id) > 0 for o in one.options)]


def _figures(build: Resolved, layout: Layout | None) -> Iterator[Finding]:
    """Findings of the mass and power pictures, and on mounts.

    What a limit on mass says of the whole vehicle already is not said again.
    """
    masses = (state for state in limit_states(build) if state.limit.of_mass)
    said = {finding.level for state in masses for finding in _limit(build, state)}
    for finding in rating_findings(build, layout):
        if finding.subject != "gvm" or finding.level not in said:
            yield finding
    yield from power_findings(build, layout)
    yield from mount_findings(build, layout)


def _misfit(build: Resolved, fit: UnitFit, hints: bool, so_far: bool = False) -> Finding:
    unit, title = fit.option.unit, fit.option.title
    assert unit is not None
    told = [misfit_words(build.catalogue, fit, misfit) for misfit in fit.misfits]
    numbers = tuple(chain.from_iterable(misfit.numbers for misfit in fit.misfits))
    sized = any(misfit.what != "support" for misfit in fit.misfits)
    advice = _advice(build, fit, unit.space, so_far) if hints and sized else ()
    return (_NEVER_FITS if so_far else _MISFIT).finding(
        "fit",
        fit.unit,
        {"title": title, "told": joined(told, "; ")},
        numbers,
        hint=joined(advice, "; "),
        may_come=not so_far and may_yet_fit(build, fit),
        at=fit.option.at,
    )


def _advice(build: Resolved, misfit: UnitFit, space: str, so_far: bool) -> Iterator[str]:
    """The lowest space that would take it and the largest other size that would, both proved.

    So far, while the space is not determined, they are what is not ruled out.
    """
    unit_choice, unit = misfit.choice, misfit.option
    takes = []
    for choice in build.catalogue.choices:
        for other in choice.options:
            part = dict(other.space).get(space)
            if part is None or part.height is None or build.selection.quantity(choice.id, other.id):
                continue
            changed = trial(build, build.picking(Pick(choice.id, other.id)))
            inside = _room_there(changed, unit_choice, unit, so_far)
            if inside is not None:
                takes.append((inside.height, other.title, choice.title, changed))
    takes.sort(key=lambda way: way[:2])
    title = build.catalogue.space_title(space)
    for height, option, choice_title, changed in takes:
        if stopping(changed) <= stopping(build):
            known = {"space": title, "choice": choice_title, "option": option, "height": height}
            if so_far:
                yield text(
                    "the lowest {space} that may take it is {choice}: {option} ({height} mm inside "
                    "at most)",
                    **known,
                )
            else:
                yield text(
                    "the lowest {space} that takes it is {choice}: {option} ({height} mm inside)",
                    **known,
                )
            break
    else:
        yield text(
            "no height of the {space} is enough for it with the other picks kept", space=title
        )
    bare = trial(build, build.selection.without(unit_choice, unit.id))
    others = (o for o in build.catalogue.by_id[unit_choice].options if o.unit)
    for other in sorted(others, key=_size, reverse=True):
        if other.id == unit.id or build.selection.quantity(unit_choice, other.id):
            continue
        changed = trial(bare, bare.picking(Pick(unit_choice, other.id)))
        inside = _room_there(changed, unit_choice, other, so_far)
        if inside is not None and stopping(changed) <= stopping(build):
            if so_far:
                yield text("the largest one that may fit is {title}", title=other.title)
            else:
                yield text("the largest one that fits is {title}", title=other.title)
            break


def _room_there(build: Resolved, choice: str, option: Option, so_far: bool) -> Interior | None:
    """The inside that the unit fits; None where it does not, or where nobody can tell yet.

    So far, also the one that it may still fit.
    """
    try:
        fit = fit_unit(build, choice, option)
    except MissingPicks:
        assert option.unit is not None
        may = so_far and never_fits(build, choice, option) is None
        return inside_so_far(build, option.unit.space) if may else None
    return fit.interior if fit.fits else None


def _size(option: Option) -> tuple[Decimal, int, str]:
    assert option.unit is not None
    return option.unit.litres or Decimal(0), option.unit.body.volume, option.id


def _money(build: Resolved) -> Iterator[Finding]:
    """A total or a payment below zero, and discounts that somebody has to approve."""
    priced = price(build)
    lines = Money.total((group.subtotal for group in priced.groups), priced.currency)
    cause = "lines" if lines.amount < 0 else "total"
    for what, amount, saying in (
        ("total", priced.total, _BELOW_ZERO[cause]),
        ("to-pay", priced.to_pay, _BELOW_ZERO["to-pay"]),
    ):
        if amount.amount < 0:
            yield saying.finding("price", what, {"to": amount}, ((what, amount.amount),))
            break
    if priced.unapproved is not None:
        off, may = priced.unapproved
        numbers = (("discounts", off.amount), ("allowed", may.amount))
        known = {"off": off, "allowed": may}
        yield _UNAPPROVED.finding("approval", "adjustments", known, numbers)


def _undecided(build: Resolved) -> Iterator[Finding]:
    for name in undecided(build):
        choice = build.catalogue.by_id[name]
        known = {"title": choice.title}
        found = _UNDECIDED.finding("undecided", Pick(name), known, hint=choice.text, at=choice.at)
        yield evolve(found, title=choice.title)


def _gaps(catalogue: Catalogue, gaps: Iterable[Gap]) -> Iterator[Finding]:
    """What to say of the gaps; what is missing for good is said once for all that depend on it.

    A mass or a price that an open choice of one will tell is no finding.
    """
    lasting: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        if gap.lasting:
            lasting.setdefault((gap.code, gap.missing.what), []).append(gap)
            continue
        choices = [catalogue.by_id[choice] for choice in gap.missing.choices]
        if not gap.waits or gap.code == "not-checked":
            hint = text("choose {choices}", choices=listed(choice.title for choice in choices))
            yield _gap([gap], "note" if gap.waits else "", "", hint)
    for together in lasting.values():
        tellers = [catalogue.by_id[choice].title for choice in together[0].missing.told_by]
        hint = text("ask the shop to complete the catalogue")
        if tellers:
            hint = text(
                "choose another option of {choices}, or ask the shop to complete the catalogue",
                choices=listed(tellers, alternatives=True),
            )
        reason = text("Nothing that is picked or still open gives this figure.")
        yield _gap(together, "", reason, hint)


def _gap(gaps: list[Gap], level: str, reason: str, hint: str) -> Finding:
    first, count = gaps[0], len(gaps)
    titles = joined((gap.option.title for gap in gaps[:_MOST_NAMED]), "; ")
    if count > _MOST_NAMED:
        titles = text("{titles} and {n} more", titles=titles, n=count - _MOST_NAMED)
    return _GAPS[first.code].finding(
        first.code,
        first.pick,
        {"titles": titles, "missing": first.missing.what, "n": count},
        (("picks", count),) if count > 1 else (),
        level=level,
        reason=reason,
        hint=hint,
        may_come=not first.lasting,
        at=first.option.at,
    )
