"""What a shop asks of one build, each question with its whole answer as one value."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from attrs import evolve, frozen

from configurator.arrangement import lay_out
from configurator.catalogue.model import Choice
from configurator.checking.check import check
from configurator.checking.layout import would_fit
from configurator.checking.power import power_findings
from configurator.checking.ratings import rating_findings, with_overrides
from configurator.errors import SearchLimit
from configurator.findings import Finding
from configurator.fit.layout import Layout
from configurator.mass.states import MassPicture, mass_picture
from configurator.money import Money
from configurator.power.picture import PowerPicture
from configurator.power.summary import power_picture
from configurator.pricing.lines import option_price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_known

__all__ = [
    "ChoiceOffered",
    "LayoutAnswer",
    "MassAnswer",
    "OptionOffered",
    "PowerAnswer",
    "layout",
    "mass",
    "offered",
    "power",
    "travelling",
]

_ABOUT_PLACES = ("fit", "layout", "wish", "place", "arrangement-not-proven")
"""Codes of the findings that are about where things sit."""


def _stopped(findings: Iterable[Finding]) -> bool:
    return any(finding.level == "stop" for finding in findings)


@frozen
class LayoutAnswer:
    """Where everything sits.

    Attributes:
        build: what was laid out.
        layout: the places, mm; None where the units do not go in together, or it is not proven.
        findings: what there is to say about places.
        would_fit: titles of what else would fit, one at a time; None where that was not asked.
    """

    build: Resolved
    layout: Layout | None
    findings: tuple[Finding, ...]
    would_fit: tuple[str, ...] | None

    @property
    def stops(self) -> bool:
        """Whether something does not go in, or is not proven to."""
        return any(f.level == "stop" or f.code == "arrangement-not-proven" for f in self.findings)


@frozen
class MassAnswer:
    """Mass and axle loads against the ratings.

    Attributes:
        picture: delivered, full, and with a trailer, kg; None while no vehicle is picked.
        findings: what there is to say about ratings.
    """

    picture: MassPicture | None
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> bool:
        """Whether a finding stops a quote."""
        return _stopped(self.findings)


@frozen
class PowerAnswer:
    """What is drawn, stored and charged, and the size of every cable.

    Attributes:
        picture: energy in Ah at the battery's nominal voltage, currents in A, cables in mm2.
        findings: what there is to say about power.
    """

    picture: PowerPicture
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> bool:
        """Whether a finding stops a quote."""
        return _stopped(self.findings)


@frozen
class OptionOffered:
    """An option of the catalogue.

    Attributes:
        option: its id.
        title: what it is called.
        text: what it is.
        most: the largest quantity.
        priced: whether the catalogue gives it a price of its own.
        price: of one, by itself, tax as in the catalogue; None where other picks decide it.
    """

    option: str
    title: str
    text: str
    most: int
    priced: bool
    price: Money | None


@frozen
class ChoiceOffered:
    """A choice of the catalogue with its options.

    Attributes:
        choice: its id.
        title: what it is called.
        text: what it is.
        pick: ``one``, ``at-most-one`` or ``several``.
        at_most: largest total quantity of a choice of several; None for no bound.
        options: in the catalogue's order.
    """

    choice: str
    title: str
    text: str
    pick: str
    at_most: int | None
    options: tuple[OptionOffered, ...]


def layout(build: Resolved, more: bool = False) -> LayoutAnswer:
    """Where everything sits, or what does not go in together and what would help.

    Args:
        build: what is picked, from which catalogue.
        more: whether to try what else would fit too.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    findings = tuple(f for f in check(build).findings if f.code in _ABOUT_PLACES)
    would = tuple(option.title for _, option in would_fit(build)) if more else None
    return LayoutAnswer(build, _proven(build), findings, would)


def mass(build: Resolved) -> MassAnswer:
    """Mass and axle loads against the ratings.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    laid = _proven(build)
    findings = with_overrides(build, rating_findings(build, laid))
    return MassAnswer(mass_picture(build, laid), tuple(findings))


def power(build: Resolved) -> PowerAnswer:
    """What is drawn a day, how long the battery lasts, and the size of every cable.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    laid = _proven(build)
    return PowerAnswer(power_picture(build, laid), tuple(power_findings(build, laid)))


def travelling(
    selection: Selection,
    people: int | None = None,
    tow_ball: Decimal | None = None,
    trailer: Decimal | None = None,
    place: str | None = None,
    season: str | None = None,
    driving: Decimal | None = None,
) -> Selection:
    """The selection with what is said of its use; what is not said stays."""
    said: dict[str, Any] = {
        "people": people,
        "tow_ball": tow_ball,
        "trailer": trailer,
        "place": place,
        "season": season,
        "driving": driving,
    }
    given = {name: value for name, value in said.items() if value is not None}
    return evolve(selection, travel=evolve(selection.travel, **given))


def offered(build: Resolved, choices: Iterable[Choice]) -> tuple[ChoiceOffered, ...]:
    """The choices with their options, each priced by itself."""
    return tuple(
        ChoiceOffered(
            choice.id,
            choice.title,
            choice.text,
            choice.pick,
            choice.at_most,
            tuple(
                OptionOffered(
                    option.id,
                    option.title,
                    option.text,
                    option.most,
                    bool(option.price),
                    option_price(build, choice, option).each,
                )
                for option in choice.options
            ),
        )
        for choice in choices
    )


def _proven(build: Resolved) -> Layout | None:
    """Where the units sit, when that is proven."""
    try:
        laid = lay_out(build)
    except SearchLimit:
        return None
    return laid if isinstance(laid, Layout) else None
