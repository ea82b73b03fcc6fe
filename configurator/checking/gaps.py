"""What the catalogue does not say of the picks: units not fitted, parts not weighed or priced.

While a choice of one is open such a gap may close by itself. Where nothing open could close it,
the catalogue lacks a size or the cell of a table: a fit or a mass that nobody knows stops a quote.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Option
from configurator.catalogue.parts import MeasuredPrice, PriceTable
from configurator.findings import Finding
from configurator.selection.resolved import Resolved, once
from configurator.totals import MissingPicks, mass_of, measure, table_cell
from configurator.words import joined, listed, text

if TYPE_CHECKING:
    from configurator.fit.units import UnitFit


@frozen
class Gap:
    """A figure of one pick that cannot be told.

    Attributes:
        code: ``not-checked`` (its fit), ``not-weighed`` or ``not-priced``.
        choice: id of its choice.
        option: the option.
        missing: what is not known, and which open choices could tell it.
    """

    code: str
    choice: str
    option: Option
    missing: MissingPicks

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
        """Whether it stops a quote."""
        return self.lasting and self.code != "not-priced"


_MOST_NAMED = 4


@once
def unweighed(build: Resolved) -> tuple[Gap, ...]:
    """Picks whose mass cannot be told."""
    found = []
    for choice, option, _ in build.picks:
        try:
            mass_of(build, option)
        except MissingPicks as missing:
            found.append(Gap("not-weighed", choice.id, option, missing))
    return tuple(found)


@once
def unit_fits(build: Resolved) -> tuple[tuple[UnitFit, ...], tuple[Gap, ...]]:
    """Every unit whose space is determined, and the units of which nothing can be told."""
    from configurator.fit.units import fit_unit

    fits, unfitted = [], []
    for choice, option, _ in build.picks:
        if option.unit is not None:
            try:
                fits.append(fit_unit(build, choice.id, option))
            except MissingPicks as missing:
                unfitted.append(Gap("not-checked", choice.id, option, missing))
    return tuple(fits), tuple(unfitted)


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
            yield Gap("not-priced", choice.id, option, missing)


def gap_findings(catalogue: Catalogue, gaps: Iterable[Gap]) -> Iterator[Finding]:
    """What to say of the gaps; what is missing for good is said once for all that depend on it.

    A mass or a price that an open choice of one will tell is no finding.
    """
    lasting: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        if gap.lasting:
            lasting.setdefault((gap.code, gap.missing.what), []).append(gap)
            continue
        choices = [catalogue.by_id[choice] for choice in gap.missing.choices]
        waits = any(choice.pick == "one" for choice in choices)
        if not waits or gap.code == "not-checked":
            hint = text("choose {choices}", choices=listed(choice.title for choice in choices))
            yield _finding([gap], "note" if waits else "caution", "", hint)
    for together in lasting.values():
        tellers = [catalogue.by_id[choice].title for choice in together[0].missing.told_by]
        if tellers:
            hint = text(
                "pick another option of {choices}, or let the shop complete the catalogue",
                choices=listed(tellers, alternatives=True),
            )
        else:
            hint = text("let the shop complete the catalogue")
        yield _finding(
            together,
            "stop" if together[0].stops else "caution",
            text("Nothing that is picked or still open gives this figure."),
            hint,
        )


def _finding(gaps: list[Gap], level: str, reason: str, hint: str) -> Finding:
    first = gaps[0]
    titles = [gap.option.title for gap in gaps]
    shown = joined(titles[:_MOST_NAMED], "; ")
    more = len(titles) - _MOST_NAMED
    named = text("{titles} and {n} more", titles=shown, n=more) if more > 0 else shown
    known = {"titles": named, "missing": first.missing.what, "n": len(titles)}
    match first.code:
        case "not-checked":
            sentence = text(
                "{titles} has not been fitted: {missing} is not known",
                "{titles} have not been fitted: {missing} is not known",
                **known,
            )
        case "not-weighed":
            sentence = text(
                "{titles} is left out of the mass: {missing} is not known",
                "{titles} are left out of the mass: {missing} is not known",
                **known,
            )
        case _:
            sentence = text(
                "{titles} is left out of the price: {missing} is not known",
                "{titles} are left out of the price: {missing} is not known",
                **known,
            )
    return Finding(
        level=level,
        code=first.code,
        subject=str(first.pick),
        sentence=sentence,
        reason=reason,
        hint=hint,
        numbers=(("picks", len(gaps)),) if len(gaps) > 1 else (),
        at=first.option.at,
    )
