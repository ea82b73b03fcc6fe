"""Everything there is to say about a selection, most serious first, in the trade's words.

Rules broken, limits exceeded or close, units that do not fit on their own, and what is still to
be chosen. Each finding has its numbers as data beside its sentence.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import chain

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option, Rule, tests_in
from configurator.checking.gaps import gap_findings, unit_fits, unpriced, unweighed
from configurator.checking.layout import Laid, laid_out, layout_findings
from configurator.checking.power import power_findings
from configurator.checking.ratings import rating_findings, with_overrides
from configurator.checking.stopping import stopping
from configurator.findings import LEVELS, Finding
from configurator.fit.layout import Layout
from configurator.fit.units import UnitFit, fit_unit, misfit_words
from configurator.forms import form
from configurator.mass.mounts import mount_findings
from configurator.mass.picture import CAUTION, mass_picture
from configurator.mass.states import MassPicture
from configurator.money import Money
from configurator.power.picture import PowerPicture
from configurator.power.summary import power_picture
from configurator.pricing.whole import price
from configurator.rules import broken_rules, holds, rule_words
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved, trial
from configurator.selection.validate import require_known
from configurator.totals import LimitState, MissingPicks, limit_states, undecided
from configurator.words import capital, in_unit, joined, shown_unit, text


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
    def can_quote(self) -> bool:
        """Whether nothing stops a quote."""
        return not self.stops

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that stop a quote; none when it can be issued."""
        return tuple(f for f in self.findings if f.level == "stop")

    @property
    def cautions(self) -> tuple[Finding, ...]:
        """The findings that be on a quote."""
        return tuple(f for f in self.findings if f.level == "caution")


def check(build: Resolved) -> Check:
    """Check a selection, complete or partial.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    limits = limit_states(build)
    fits, unfitted = unit_fits(build)
    laid = laid_out(build, fits)
    mass = mass_picture(build, laid.layout)
    power = power_picture(build, laid.layout)
    findings = [
        *_rules(build),
        *chain.from_iterable(map(_limit, limits)),
        *chain.from_iterable(_fit(build, fit) for fit in fits),
        *_layout_findings(build, laid),
        *_money(build),
        *_figures(build, laid.layout),
        *_undecided(build),
        *gap_findings(build.catalogue, (*unfitted, *unweighed(build), *unpriced(build))),
    ]
    findings = with_overrides(build, findings)
    findings.sort(key=lambda finding: LEVELS.index(finding.level))
    stated = tuple(state for state in limits if state.used or state.given)
    beside = tuple(_beside(build, mass))
    return Check(tuple(findings), stated, fits, laid.layout, mass, power, beside)


def _beside(build: Resolved, mass: MassPicture | None) -> Iterator[str]:
    if mass is not None:
        yield CAUTION
    yield from (c.text for c in build.catalogue.cautions if holds(build, c.when))


def _rules(build: Resolved) -> Iterator[Finding]:
    for rule in broken_rules(build):
        yield Finding(
            level="stop",
            code="rule",
            subject=rule.id,
            sentence=_rule_sentence(build, rule),
            reason=rule.because,
            hint=rule.hint,
            at=rule.at,
        )


def _rule_sentence(build: Resolved, rule: Rule) -> str:
    words = capital(rule_words(build.catalogue, rule, build))
    if rule.needs is None:
        return words
    asked = {test.choice for test in tests_in(rule.needs)}
    picked = [option.title for choice, option, _ in build.picks if choice.id in asked]
    if not picked:
        return words
    return text("{rule}; picked: {picked}", rule=words, picked=joined(picked))


def _limit(state: LimitState) -> Iterator[Finding]:
    limit, unit = state.limit, state.limit.unit
    if not state.used:
        return
    used, there, left = state.shown
    numbers = (("used", used), ("there", there), ("over", -left))
    shown = {"title": limit.title, "used": used, "there": there, "unit": shown_unit(unit)}
    if state.left + state.may_come < 0:
        largest = [text("{title} {n}", title=o.title, n=n) for o, n in state.users[:3]]
        yield Finding(
            level="stop",
            code="limit",
            subject=limit.id,
            sentence=text(
                "{title} is exceeded by {over}: {used} of {there} {unit} used",
                over=in_unit(-left, unit),
                **shown,
            ),
            reason=limit.because,
            hint=limit.hint or text("the most is used by {largest}", largest=joined(largest)),
            numbers=numbers,
            at=limit.at,
        )
    elif state.left >= 0 and state.used >= limit.caution_at * state.given:
        yield Finding(
            level="caution",
            code="limit",
            subject=limit.id,
            sentence=text(
                "{title} is close to its limit: {used} of {there} {unit} used, {left} remaining",
                left=in_unit(left, unit),
                **shown,
            ),
            reason=limit.because,
            hint=limit.hint,
            numbers=numbers,
            at=limit.at,
        )


def _figures(build: Resolved, layout: Layout | None) -> Iterator[Finding]:
    """Findings of the mass and power pictures, and on mounts.

    What a limit on mass says of the whole vehicle already is not said again.
    """
    masses = (state for state in limit_states(build) if state.limit.counts == "mass")
    said = {finding.level for state in masses for finding in _limit(state)}
    for finding in rating_findings(build, layout):
        if finding.subject != "gvm" or finding.level not in said:
            yield finding
    yield from power_findings(build, layout)
    yield from mount_findings(build, layout)


def _layout_findings(build: Resolved, laid: Laid) -> Iterator[Finding]:
    """What the layout has to say, with fixes that stop nothing new."""

    def sound(changed: Selection) -> bool:
        return stopping(trial(build, changed)) <= stopping(build)

    yield from layout_findings(build, laid, sound)


def _fit(build: Resolved, fit: UnitFit) -> Iterator[Finding]:
    if fit.fits:
        return
    unit = fit.option.unit
    assert unit is not None
    space = build.catalogue.space_title(unit.space)
    told = [misfit_words(fit, misfit, space) for misfit in fit.misfits]
    numbers = [
        (f"{misfit.what}-{name}", number)
        for misfit in fit.misfits
        for name, number in (("needs", misfit.needs), ("has", misfit.has))
        if misfit.what not in ("no-opening", "support")
    ]
    yield Finding(
        level="stop",
        code="fit",
        subject=str(fit.unit),
        sentence=text(
            "{title} does not fit: {told}", title=fit.option.title, told=joined(told, "; ")
        ),
        hint=joined(_advice(build, fit), "; "),
        numbers=tuple(numbers),
        at=fit.option.at,
    )


def _advice(build: Resolved, fit: UnitFit) -> Iterator[str]:
    """The lowest space that would take it and the largest other size that would, both proved."""
    unit = fit.option.unit
    assert unit is not None
    title = build.catalogue.space_title(unit.space)
    lowest = _lowest_space(build, fit.choice, fit.option)
    if lowest is None:
        yield text("no height of the {space} takes it with the other picks kept", space=title)
    else:
        choice, option, height = lowest
        yield text(
            "the lowest {space} that takes it is {choice} {option} ({height} mm inside)",
            space=title,
            choice=choice.title,
            option=option.title,
            height=height,
        )
    other = _largest_other(build, fit.choice, fit.option)
    if other is not None:
        yield text("the largest one that fits is {title}", title=other.title)


def _lowest_space(
    build: Resolved, unit_choice: str, option: Option
) -> tuple[Choice, Option, int] | None:
    """The lowest height of the unit's space that takes it and stops nothing new."""
    assert option.unit is not None
    takes = []
    for choice in build.catalogue.choices:
        for other in choice.options:
            part = dict(other.space).get(option.unit.space)
            if part is None or part.height is None or build.selection.quantity(choice.id, other.id):
                continue
            changed = _swapped(build, choice, other)
            fit = _fit_there(changed, unit_choice, option)
            if fit is not None:
                takes.append((fit.interior.height, other.title, choice, other, changed))
    takes.sort(key=lambda way: way[:2])
    for height, _, choice, other, changed in takes:
        if stopping(changed) <= stopping(build):
            return choice, other, height
    return None


def _largest_other(build: Resolved, choice_id: str, option: Option) -> Option | None:
    """The largest other unit of the choice that fits in its place and stops nothing new."""
    choice = build.catalogue.by_id[choice_id]
    bare = trial(build, build.selection.without(choice_id, option.id))
    for other in sorted((o for o in choice.options if o.unit), key=_size, reverse=True):
        if other.id == option.id or build.selection.quantity(choice_id, other.id):
            continue
        changed = _swapped(bare, choice, other)
        if _fit_there(changed, choice_id, other) and stopping(changed) <= stopping(build):
            return other
    return None


def _fit_there(build: Resolved, choice: str, option: Option) -> UnitFit | None:
    """How the unit fits; None where it does not, or where nobody can tell yet."""
    try:
        fit = fit_unit(build, choice, option)
    except MissingPicks:
        return None
    return fit if fit.fits else None


def _size(option: Option) -> tuple[Decimal, int, str]:
    assert option.unit is not None
    body = option.unit.body
    litres = option.unit.litres or Decimal(0)
    return litres, body.width * body.depth * body.height, option.id


def _swapped(build: Resolved, choice: Choice, option: Option) -> Resolved:
    return trial(build, build.picking(Pick(choice.id, option.id)))


def _money(build: Resolved) -> Iterator[Finding]:
    """A total or a payment below zero, and discounts that somebody has to approve."""
    priced = price(build)
    lines = Money.total((group.subtotal for group in priced.groups), priced.currency)
    if lines.amount < 0:
        total = (
            text("The prices of the lines bring the total below zero: {to}", to=priced.total),
            text("correct the prices of the lines"),
        )
    else:
        total = (
            text("The adjustments bring the total below zero: {to}", to=priced.total),
            text("make the discounts smaller"),
        )
    to_pay = (
        text("The trade-ins bring the amount to pay below zero: {to}", to=priced.to_pay),
        text("pay out the rest separately"),
    )
    for what, sum_of, (sentence, hint) in (
        ("total", priced.total, total),
        ("to-pay", priced.to_pay, to_pay),
    ):
        if sum_of.amount < 0:
            yield Finding(
                level="stop",
                code="price",
                subject=what,
                sentence=sentence,
                hint=hint,
                numbers=((what, sum_of.amount),),
            )
            break
    if priced.unapproved is not None:
        off, may = priced.unapproved
        yield Finding(
            level="stop",
            code="approval",
            subject="adjustments",
            sentence=text(
                "Discounts of {off} have no approver; up to {allowed:amount} needs none",
                off=off,
                allowed=may,
            ),
            reason=text("A larger discount is a decision, and it has to be known whose."),
            hint=text("name the approver in the adjustment, or make the discounts smaller"),
            numbers=(("discounts", off.amount), ("allowed", may.amount)),
        )


def _undecided(build: Resolved) -> Iterator[Finding]:
    for choice_id in undecided(build):
        choice = build.catalogue.by_id[choice_id]
        yield Finding(
            level="stop",
            code="undecided",
            subject=choice_id,
            sentence=text("{title}: still to be chosen", title=choice.title),
            hint=choice.text,
            at=choice.at,
        )
