"""The quote as a value: a numbered, dated statement of a selection and its price."""

from __future__ import annotations

import datetime as dt

from attrs import frozen

from configurator.answers.facts import MassAnswer, PowerAnswer
from configurator.catalogue.model import VEHICLE, Catalogue
from configurator.catalogue.shop import ShopDetails
from configurator.checking.check import check
from configurator.checking.suggestions import Suggestion, suggestions
from configurator.findings import Finding, QuoteRefused
from configurator.fit.layout import Layout
from configurator.mass.states import MassPicture
from configurator.power.picture import PowerPicture, basis
from configurator.pricing.price import Price, price
from configurator.report.extras import Extra, extras
from configurator.report.layout import PictureSource, drawn_of
from configurator.report.sheet_head import require_number
from configurator.selection.dates import Revision
from configurator.selection.picks import Customer, Selection
from configurator.selection.resolved import Resolved
from configurator.selection.rules import holds
from configurator.selection.totals import LimitState, total_mass
from configurator.selection.values import require_kind
from configurator.shapes.forms import form
from configurator.words import joined, plain, text, used


@form(
    "quote",
    hidden="mass power findings all_extras drawn",
    also="can_be_accepted is_draft revision history mass_answer power_answer",
    keys={
        "extras": "suggestions",
        "history": "revisions",
        "mass_answer": "mass",
        "power_answer": "power",
    },
)
@frozen(repr=False)
class Quote:
    """Everything that is on a quote; never changed once issued.

    Attributes:
        number: given by the caller.
        date: day of issue.
        valid_until: last day on which it stands.
        catalogue: id of the catalogue.
        catalogue_digest: of the catalogue's text, so that it can be told whether it has changed.
        title: name of the selection, or empty.
        shop: who quotes.
        customer: who it is for; None where nobody says.
        vehicle: title of the class of vehicle.
        price: the package by group, deals, adjustments, tax, total and payments.
        added: kg that the package adds to the vehicle, to 0.1 kg, as text.
        layout: where the units sit; None without units, or where it is not known.
        mass: loads against ratings.
        power: what is drawn, how long it lasts and what fills it again.
        limits: how the limits stand.
        extras: add-ons suggested as well, and what each would do; never in the total.
        findings: what the check cautions of.
        cautions: the findings in words, then the shop's cautions; each once.
        notes: notes of the selection.
        not_included: what the price does not include.
        terms: paragraphs.
        selection: what was quoted.
        drawn: what its pictures are drawn from, without what the shop pays.
        all_extras: whether the paper shows every extra, and not the first few only.
    """

    number: str
    date: dt.date
    valid_until: dt.date
    catalogue: str
    catalogue_digest: str
    title: str
    shop: ShopDetails
    customer: Customer | None
    vehicle: str
    price: Price
    added: str
    layout: Layout | None
    mass: MassPicture
    power: PowerPicture
    limits: tuple[LimitState, ...]
    extras: tuple[Extra, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    not_included: tuple[str, ...]
    terms: tuple[str, ...]
    selection: Selection
    drawn: PictureSource
    all_extras: bool = False

    @property
    def suggestions(self) -> tuple[Suggestion, ...]:
        """The add-ons suggested as well, in the catalogue's order."""
        return tuple(extra.suggestion for extra in self.extras)

    @property
    def shown_extras(self) -> tuple[Extra, ...]:
        """Those that the paper shows: the catalogue's order says what the shop recommends first."""
        return self.extras if self.all_extras else self.extras[:_MOST_EXTRAS]

    @property
    def revision(self) -> int | None:
        """Which revision of the quote this is; None where nobody counts."""
        return self.selection.revision

    @property
    def history(self) -> tuple[Revision, ...]:
        """What changed in this revision and before, the latest first."""
        told = tuple(reversed(self.selection.revisions))
        if self.revision is None or (told and told[0].revision == self.revision):
            return told
        return (Revision(self.revision, self.date.isoformat(), ""), *told)

    @property
    def mass_answer(self) -> MassAnswer:
        """Loads against ratings, with what the check cautions of them."""
        return MassAnswer(self.mass, self._cautioned("rating", "lifting", "seats"))

    @property
    def power_answer(self) -> PowerAnswer:
        """Power as people read it, with what the check cautions of it."""
        return PowerAnswer(self.power, basis(self.power), self._cautioned("power"))

    def _cautioned(self, *codes: str) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.code in codes)

    @property
    def can_be_accepted(self) -> bool:
        """Whether every price is known; with an open one there is nothing to agree to."""
        return not self.price.is_from

    @property
    def is_draft(self) -> bool:
        """Whether its number says that it is a draft: nobody signs one."""
        return self.number.casefold().startswith(DRAFT)


_MOST_EXTRAS = 8
"""The most extras that a quote shows unless all are asked for."""

DRAFT = "draft"
"""How the number of a quote begins that is not issued."""


def make_quote(build: Resolved, number: str, day: dt.date, all_extras: bool = False) -> Quote:
    """Quote a selection.

    Args:
        build: what is picked, from which catalogue.
        number: the quote's number, such as ``Q-2041``.
        day: day of issue.
        all_extras: show every extra that suits the package, and not the first few only.

    Raises:
        QuoteRefused: findings stop it, or the catalogue's prices do not hold on that day.
        SelectionError: the selection cannot be understood.
        ConfiguratorError: the number is empty, or cannot be on one line.
    """
    require_kind("catalogue", build.catalogue, Catalogue)
    require_kind("number", number, str)
    require_kind("day", day, dt.date)
    require_number(number, "a quote")
    build = build.on(day)
    checked = check(build, hints=True)
    stops = list(checked.stops)
    unpriced = build.catalogue.unpriced_on(day)
    if unpriced:
        stops.append(Finding("stop", "no-prices", build.catalogue.id, unpriced))
    if stops:
        raise QuoteRefused(stops)
    chosen = build.selection.one(VEHICLE)
    added = total_mass(build)
    mass, power, layout = checked.mass, checked.power, checked.layout
    assert mass is not None
    suggested = suggestions(build)
    return Quote(
        number=number,
        date=day,
        valid_until=dt.date.fromordinal(
            min(day.toordinal() + build.catalogue.quote.valid_days, dt.date.max.toordinal())
        ),
        catalogue=build.catalogue.id,
        catalogue_digest=build.catalogue.digest,
        title=build.selection.title,
        shop=build.catalogue.shop,
        customer=build.selection.customer,
        vehicle=build.catalogue.option(VEHICLE, str(chosen)).title,
        price=price(build),
        added="" if added is None else plain(used(added)),
        layout=layout if layout and layout.placements else None,
        mass=mass,
        power=power,
        limits=checked.limits,
        extras=extras(build, suggested, layout),
        findings=tuple(sorted(checked.cautions, key=_seriousness)),
        cautions=_cautions(build, checked.cautions),
        notes=build.selection.notes,
        not_included=build.catalogue.quote.not_included,
        terms=build.catalogue.quote.terms,
        selection=build.selection,
        drawn=drawn_of(build, layout),
        all_extras=all_extras,
    )


_GRAVE = ("rating", "lifting", "limit", "power", "mount", "arrangement-not-proven")
"""Codes of findings, the most serious first; those of any other code come last."""


def _seriousness(finding: Finding) -> tuple[bool, int]:
    """What is exceeded comes first: a caution says so only where somebody let it pass."""
    exceeded = dict(finding.numbers).get("over", 0) > 0
    grave = _GRAVE.index(finding.code) if finding.code in _GRAVE else len(_GRAVE)
    return not exceeded, grave


def _cautions(build: Resolved, findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """What each finding says, a reason only once; then the shop's cautions.

    That upgraded ratings are counted is next to the table of masses and is not said again.
    """
    said: list[str] = []
    reasons = set[str]()
    for finding in sorted(findings, key=_seriousness):
        if (finding.code, finding.subject) == ("rating", "upgrade"):
            continue
        reason = "" if finding.reason in reasons else finding.reason
        reasons.add(finding.reason)
        sentence = text("{sentence}.", sentence=finding.sentence)
        said.append(joined((sentence, reason), " ") if reason else sentence)
    said += [c.text for c in build.catalogue.cautions if holds(build, c.when)]
    return tuple(dict.fromkeys((*said, *build.catalogue.quote.cautions)))
