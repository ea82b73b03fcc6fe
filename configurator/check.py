"""Everything there is to say about a selection, most serious first, in the trade's words.

Rules broken, limits exceeded or close, units that do not fit on their own, and what is still to
be chosen. Each finding has its numbers as data beside its sentence.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import chain

from attrs import field, frozen

from configurator.catalogue.model import Catalogue, Choice, Option, Pick, Rule, tests_in
from configurator.errors import NOWHERE, Location
from configurator.fit import Misfit, UnitFit, fit_unit
from configurator.pricing import price, undecided
from configurator.rules import broken_rules, in_words
from configurator.selection import Selection, known_picks, require_known
from configurator.totals import LimitState, MissingPicks, limit_states
from configurator.words import plain

__all__ = ["Check", "Finding", "check", "stopping"]

_LEVELS = ("stop", "caution", "note")


@frozen
class Finding:
    """One thing that a check has to say.

    Attributes:
        level: ``stop`` (no quote), ``caution`` (printed on the quote) or ``note``.
        code: ``rule``, ``limit``, ``fit``, ``wish``, ``price``, ``undecided``,
            ``arrangement-not-proven`` or ``not-checked``.
        subject: what it is about: id of a rule or limit, or ``choice=option``.
        sentence: what is the matter, with its numbers.
        reason: why it matters, or empty.
        hint: what to do about it, or empty.
        numbers: the numbers by name; mm, kg or the limit's unit.
        at: where the catalogue says so.
    """

    level: str
    code: str
    subject: str
    sentence: str
    reason: str = ""
    hint: str = ""
    numbers: tuple[tuple[str, Decimal | int], ...] = ()
    at: Location = field(default=NOWHERE, eq=False, repr=False)


@frozen
class Check:
    """The findings on one selection, and how its limits stand.

    Attributes:
        findings: most serious first.
        limits: every limit that has something given or used.
        fits: every unit whose space is determined.
    """

    findings: tuple[Finding, ...]
    limits: tuple[LimitState, ...]
    fits: tuple[UnitFit, ...]

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that stop a quote; none when it can be issued."""
        return tuple(f for f in self.findings if f.level == "stop")

    @property
    def cautions(self) -> tuple[Finding, ...]:
        """The findings that stand on a quote."""
        return tuple(f for f in self.findings if f.level == "caution")


def check(catalogue: Catalogue, selection: Selection) -> Check:
    """Check a selection, complete or partial.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(catalogue, selection)
    limits = tuple(limit_states(catalogue, selection))
    fits, unchecked = _unit_fits(catalogue, selection)
    findings = [
        *_rules(catalogue, selection),
        *chain.from_iterable(map(_limit, limits)),
        *chain.from_iterable(_fit(catalogue, selection, fit) for fit in fits),
        *_wishes(catalogue, selection),
        *_below_zero(catalogue, selection),
        *_undecided(catalogue, selection),
        *unchecked,
        *_arrangement(fits),
    ]
    findings.sort(key=lambda finding: _LEVELS.index(finding.level))
    stated = tuple(state for state in limits if state.used or state.given)
    return Check(tuple(findings), stated, fits)


def _rules(catalogue: Catalogue, selection: Selection) -> Iterator[Finding]:
    for rule in broken_rules(catalogue, selection):
        yield Finding(
            level="stop",
            code="rule",
            subject=rule.id,
            sentence=_rule_sentence(catalogue, selection, rule),
            reason=rule.because,
            hint=rule.hint,
            at=rule.at,
        )


def _rule_sentence(catalogue: Catalogue, selection: Selection, rule: Rule) -> str:
    when = in_words(catalogue, rule.when, selection) if rule.when else "Every package"
    if rule.rules_out is not None:
        return f"{when} rules out {in_words(catalogue, rule.rules_out, selection)}"
    assert rule.needs is not None
    asked = {test.choice for test in tests_in(rule.needs)}
    picked = [
        option.title
        for choice, option, _ in known_picks(catalogue, selection)
        if choice.id in asked
    ]
    told = f"; picked: {', '.join(picked)}" if picked else ""
    return f"{when} needs {in_words(catalogue, rule.needs)}{told}"


def _limit(state: LimitState) -> Iterator[Finding]:
    limit, unit = state.limit, state.limit.unit
    if not state.used:
        return
    numbers = (("used", state.used), ("there", state.given), ("over", -state.left))
    counted = f"{plain(state.used)} of {plain(state.given)} {unit}"
    if state.left + state.may_come < 0:
        largest = ", ".join(f"{o.title} {plain(n)}" for o, n in state.users[:3])
        yield Finding(
            level="stop",
            code="limit",
            subject=limit.id,
            sentence=f"{limit.title} is exceeded by {plain(-state.left)} {unit}: {counted} used",
            reason=limit.because,
            hint=limit.hint or f"the most is used by {largest}",
            numbers=numbers,
            at=limit.at,
        )
    elif state.left >= 0 and state.used >= limit.caution_at * state.given:
        yield Finding(
            level="caution",
            code="limit",
            subject=limit.id,
            sentence=f"{limit.title} is close: {counted} used, {plain(state.left)} {unit} left",
            reason=limit.because,
            hint=limit.hint,
            numbers=numbers,
            at=limit.at,
        )


def _unit_fits(
    catalogue: Catalogue, selection: Selection
) -> tuple[tuple[UnitFit, ...], list[Finding]]:
    fits, unchecked = [], []
    for choice, option, _ in known_picks(catalogue, selection):
        if option.unit is None:
            continue
        try:
            fits.append(fit_unit(catalogue, selection, choice.id, option))
        except MissingPicks as missing:
            titles = " and ".join(catalogue.by_id[c].title for c in missing.choices)
            unchecked.append(
                Finding(
                    level="note",
                    code="not-checked",
                    subject=f"{choice.id}={option.id}",
                    sentence=f"{option.title} has not been fitted: {missing} is not known",
                    hint=f"choose {titles}" if titles else "",
                    at=option.at,
                )
            )
    return tuple(fits), unchecked


def _fit(catalogue: Catalogue, selection: Selection, fit: UnitFit) -> Iterator[Finding]:
    if fit.fits:
        return
    unit = fit.option.unit
    assert unit is not None
    space = catalogue.space_title(unit.space)
    told = [_misfit_words(fit, misfit, space) for misfit in fit.misfits]
    numbers = [
        (f"{misfit.what}-{name}", number)
        for misfit in fit.misfits
        for name, number in (("needs", misfit.needs), ("has", misfit.has))
        if misfit.what not in ("no-opening", "support")
    ]
    yield Finding(
        level="stop",
        code="fit",
        subject=f"{fit.choice}={fit.option.id}",
        sentence=f"{fit.option.title} does not fit: {'; '.join(told)}",
        hint="; ".join(_advice(catalogue, selection, fit)),
        numbers=tuple(numbers),
        at=fit.option.at,
    )


def _misfit_words(fit: UnitFit, misfit: Misfit, space: str) -> str:
    unit = fit.option.unit
    assert unit is not None
    short = f"{misfit.missing} mm short"
    match misfit.what:
        case "height":
            over = unit.clearance.top + unit.clearance.bottom
            parts = f"{unit.body.height} mm body"
            parts += f" and {over} mm clearance" if over else ""
            base = int(misfit.needs) - over - unit.body.height
            parts += f", standing {base} mm up" if base else ""
            return (
                f"it needs {misfit.needs} mm of height ({parts}), "
                f"the {space} has {misfit.has} mm inside: {short}"
            )
        case "length" | "width":
            return (
                f"it needs {misfit.needs} mm along the {misfit.what} of the {space} with its "
                f"clearances, {misfit.has} mm are there: {short}"
            )
        case "opening-height":
            return (
                f"its face reaches up to {misfit.needs} mm, the clear opening of the "
                f"{misfit.where} side to {misfit.has} mm: {short}"
            )
        case "opening-width":
            return (
                f"its face needs {misfit.needs} mm of clear opening width on the "
                f"{misfit.where} side, {misfit.has} mm are there: {short}"
            )
        case "sill":
            return (
                f"its face starts at {misfit.has} mm, below the sill of the {misfit.where} side "
                f"at {misfit.needs} mm: {short}"
            )
        case "no-opening":
            return f"there is no door on the {misfit.where or 'outside'} to reach it through"
        case "entry":
            return (
                f"it cannot be got in, straight or tilted: {misfit.needs} mm of it must pass "
                f"{misfit.has} mm of clear opening on the {misfit.where} side"
            )
        case "bed-mass":
            return (
                f"laden it weighs {misfit.needs} kg, {misfit.where} carries {misfit.has} kg: "
                f"{misfit.missing} kg too much"
            )
        case "bed-width" | "bed-depth":
            return (
                f"it needs {misfit.needs} mm of bed {misfit.what[4:]}, {misfit.where} has "
                f"{misfit.has} mm: {short}"
            )
        case _:
            return f"it needs something to stand on ({' or '.join(unit.stands_on)}), none is picked"


def _advice(catalogue: Catalogue, selection: Selection, fit: UnitFit) -> Iterator[str]:
    """The lowest space that would take it and the largest sibling that would fit, both proved."""
    unit = fit.option.unit
    assert unit is not None
    title = catalogue.space_title(unit.space)
    lowest = _lowest_space(catalogue, selection, fit.choice, fit.option)
    if lowest is None:
        yield f"no {title} height takes it with the other picks as they are"
    else:
        choice, option, height = lowest
        height_there = f"{choice.title} {option.title} ({height} mm inside)"
        yield f"the lowest {title} that takes it is {height_there}"
    sibling = _largest_sibling(catalogue, selection, fit.choice, fit.option)
    if sibling is not None:
        yield f"the largest sibling that fits is {sibling.title}"


def _lowest_space(
    catalogue: Catalogue, selection: Selection, unit_choice: str, option: Option
) -> tuple[Choice, Option, int] | None:
    """The lowest height of the unit's space that takes it and stops nothing new."""
    assert option.unit is not None
    found = []
    for choice in catalogue.choices:
        for other in choice.options:
            part = dict(other.space).get(option.unit.space)
            if part is None or part.height is None or selection.quantity(choice.id, other.id):
                continue
            swapped = _swapped(catalogue, selection, choice, other)
            fit = fit_unit(catalogue, swapped, unit_choice, option)
            if fit.fits and stopping(catalogue, swapped) <= stopping(catalogue, selection):
                found.append((choice, other, fit.interior.height))
    return min(found, key=lambda way: (way[2], way[1].title), default=None)


def _largest_sibling(
    catalogue: Catalogue, selection: Selection, choice_id: str, option: Option
) -> Option | None:
    """The largest other unit of the choice that fits in its place and stops nothing new."""
    choice = catalogue.by_id[choice_id]
    found = []
    for other in choice.options:
        if other.unit is None or other.id == option.id or selection.quantity(choice_id, other.id):
            continue
        swapped = _swapped(catalogue, selection.without(choice_id, option.id), choice, other)
        fits = fit_unit(catalogue, swapped, choice_id, other).fits
        if fits and stopping(catalogue, swapped) <= stopping(catalogue, selection):
            found.append(other)
    return max(found, key=_size, default=None)


def _size(option: Option) -> tuple[Decimal, int, str]:
    assert option.unit is not None
    body = option.unit.body
    litres = option.unit.litres or Decimal(0)
    return litres, body.width * body.depth * body.height, option.id


def _swapped(
    catalogue: Catalogue, selection: Selection, choice: Choice, option: Option
) -> Selection:
    return selection.picking(catalogue, Pick(choice.id, option.id))


def stopping(
    catalogue: Catalogue, selection: Selection, with_fit: bool = True
) -> frozenset[tuple[str, str]]:
    """What stops the selection among rules, limits and fit, by code and subject."""
    found = {("rule", rule.id) for rule in broken_rules(catalogue, selection)}
    found |= {
        ("limit", s.limit.id)
        for s in limit_states(catalogue, selection)
        if s.used and s.left + s.may_come < 0
    }
    if with_fit:
        fits, _ = _unit_fits(catalogue, selection)
        found |= {("fit", f"{f.choice}={f.option.id}") for f in fits if not f.fits}
    return frozenset(found)


def _wishes(catalogue: Catalogue, selection: Selection) -> Iterator[Finding]:
    for wish in selection.wishes:
        option = catalogue.option(wish.choice, wish.option)
        if not wish.side:
            continue
        try:
            anywhere = fit_unit(catalogue, selection, wish.choice, option)
            there = fit_unit(catalogue, selection, wish.choice, option, wish.side)
        except MissingPicks:
            continue
        if anywhere.fits and not there.fits:
            space = catalogue.space_title(option.unit.space) if option.unit else ""
            told = "; ".join(_misfit_words(there, misfit, space) for misfit in there.misfits)
            yield Finding(
                level="caution",
                code="wish",
                subject=f"{wish.choice}={wish.option}",
                sentence=f"{option.title} cannot work from the {wish.side} as wished: {told}",
                hint=f"it fits on the {anywhere.side} side",
                at=wish.at,
            )


def _below_zero(catalogue: Catalogue, selection: Selection) -> Iterator[Finding]:
    total = price(catalogue, selection).total
    if total.amount < 0:
        yield Finding(
            level="stop",
            code="price",
            subject="total",
            sentence=f"the adjustments bring the total below zero: {total.amount} {total.currency}",
            hint="make the discounts smaller",
            numbers=(("total", total.amount),),
        )


def _undecided(catalogue: Catalogue, selection: Selection) -> Iterator[Finding]:
    for choice_id in undecided(catalogue, selection):
        choice = catalogue.by_id[choice_id]
        yield Finding(
            level="stop",
            code="undecided",
            subject=choice_id,
            sentence=f"{choice.title} is still to be chosen",
            hint=choice.text,
            at=choice.at,
        )


def _arrangement(fits: tuple[UnitFit, ...]) -> Iterator[Finding]:
    if fits:
        yield Finding(
            level="caution",
            code="arrangement-not-proven",
            subject="layout",
            sentence=(
                "Each unit has been checked on its own; that all of them go in together has not "
                "been proven"
            ),
            hint="lay out the inside by hand before you promise it",
        )
