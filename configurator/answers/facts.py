"""What a shop asks of one build: where everything sits, what it weighs, what power it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, TypeAlias

from attrs import evolve, frozen

from configurator.checking.check import Check, check
from configurator.checking.layout import would_fit
from configurator.checking.power import power_findings
from configurator.checking.ratings import rating_findings, with_overrides
from configurator.errors import ConfiguratorError, SearchLimit, cut
from configurator.findings import Finding, Saying, any_stops
from configurator.fit.layout import Layout, OpenBox, Placement, SpaceLayout
from configurator.layout.answers import lay_out
from configurator.mass.picture import mass_picture
from configurator.mass.states import MassPicture
from configurator.power.picture import PowerPicture, basis
from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_known
from configurator.shapes.forms import form
from configurator.words import joined, near_miss

if TYPE_CHECKING:
    from configurator.engine.search import Search

PictureName: TypeAlias = Literal["all", "vehicle", "corner", "left", "right", "above"]
"""Every view of every space with a key; the whole vehicle; the package from a corner above; or
every space from one side or from above."""

PICTURES: tuple[PictureName, ...] = ("all", "vehicle", "corner", "left", "right", "above")


@form("layout", hidden="build layout view")
@frozen(repr=False)
class LayoutAnswer:
    """Where everything sits, what is left open, and what there is to say.

    Attributes:
        fits: whether there is a layout; without one the lists of places are empty.
        placements: every unit in its place.
        spaces: every space with a unit.
        open_boxes: the largest clear box for each space and side.
        unknown_spaces: ids of spaces whose size the picks do not tell yet.
        would_fit_too: titles of units that would go in as well; null where that was not asked.
        findings: what there is to say.
        build: what was laid out, without what the shop pays.
        layout: the places, mm; None where the units do not go in together, or it is not proven.
        view: which picture a drawing of it shows.
    """

    fits: bool
    placements: tuple[Placement, ...]
    spaces: tuple[SpaceLayout, ...]
    open_boxes: tuple[OpenBox, ...]
    unknown_spaces: tuple[str, ...]
    would_fit_too: tuple[str, ...] | None
    findings: tuple[Finding, ...]
    build: Resolved
    layout: Layout | None
    view: PictureName = "all"

    @property
    def stopped(self) -> bool:
        """Whether something does not go in, or is not proven to."""
        return any(f.level == "stop" or f.code == "arrangement-not-proven" for f in self.findings)


@form("mass", inline="picture")
@frozen(repr=False)
class MassAnswer:
    """The mass picture, and what it has to say.

    Attributes:
        picture: the picture.
        findings: what it has to say.
    """

    picture: MassPicture
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a finding stops a quote."""
        return any_stops(self.findings)


@form("power", inline="picture")
@frozen(repr=False)
class PowerAnswer:
    """The power picture as people read it, and what it has to say.

    Attributes:
        picture: the picture.
        basis: what the figures count with.
        findings: what it has to say.
    """

    picture: PowerPicture
    basis: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a finding stops a quote."""
        return any_stops(self.findings)


_OF_MONEY = ("price", "approval")
"""Codes of findings on prices and discounts, which are not about what goes together."""

_CLASH = Saying("stop", "These picks do not go together, whatever is still chosen: {why}")
_UNEXPLAINED = Saying(
    "stop",
    "These picks do not go together, whatever is still chosen",
    "ask for an explanation of the picks: why takes longer to find",
)
_UNSETTLED = Saying(
    "note",
    "Whether these picks can be completed is not settled: {cause}",
    "leave out a pick, or ask for an explanation of the picks, which looks longer",
    may_come=True,
)


def checked(build: Resolved, engine: Callable[[], Search] | None) -> Check:
    """Every fact about the build; with an engine hints too, and whether more picks complete it.

    The engine is asked where the facts alone stop a quote without saying that it cannot be.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    found = check(build, hints=engine is not None)
    if engine is None or found.can_quote:
        return found
    if any(one.code not in _OF_MONEY for one in found.impossible):
        return found
    from configurator.engine.conflicts import Unexplained, find_conflict

    try:
        conflict = find_conflict(engine(), build.selection, quick=True)
    except Unexplained:
        clash = _UNEXPLAINED.finding("conflict", "picks", {})
    except SearchLimit as limit:
        unsettled = _UNSETTLED.finding("conflict", "picks", {"cause": limit.args[0]})
        return evolve(found, findings=(*found.findings, unsettled))
    else:
        if conflict is None:
            return found
        why = joined(conflict.premises, "; ")
        clash = _CLASH.finding("conflict", "picks", {"why": why}, hint=conflict.hint)
    return evolve(found, findings=(clash, *found.findings))


_ABOUT_PLACES = ("fit", "layout", "wish", "place", "arrangement-not-proven")
"""Codes of the findings that are about where things sit."""


def _picture_named(name: str) -> PictureName:
    """The name of a picture, as it was typed.

    Raises:
        ConfiguratorError: there is no such picture.
    """
    for known in PICTURES:
        if name == known:
            return known
    hint = near_miss(name, PICTURES)
    said = f"there is no view {cut(repr(name))}; views are {', '.join(PICTURES)}. {hint}"
    raise ConfiguratorError(said.strip())


def layout(build: Resolved, more: bool = False, view: str = "all") -> LayoutAnswer:
    """Where everything sits, or what does not go in together and what would fix it.

    Raises:
        ConfiguratorError: there is no such view.
        SelectionError: the selection cannot be understood.
    """
    picture = _picture_named(view)
    findings = tuple(f for f in check(build, hints=True).findings if f.code in _ABOUT_PLACES)
    found = _proven(build)
    laid = found or Layout(())
    return LayoutAnswer(
        fits=found is not None,
        placements=laid.placements,
        spaces=laid.spaces,
        open_boxes=laid.open_boxes,
        unknown_spaces=laid.unknown,
        would_fit_too=tuple(option.title for _, option in would_fit(build)) if more else None,
        findings=findings,
        build=Resolved(build.catalogue.for_customers(), build.selection),
        layout=found,
        view=picture,
    )


def mass(build: Resolved) -> MassAnswer | None:
    """Mass and axle loads against the ratings; None while no vehicle is picked.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    laid = _proven(build)
    picture = mass_picture(build, laid)
    if picture is None:
        return None
    return MassAnswer(picture, tuple(with_overrides(build, rating_findings(build, laid))))


def power(build: Resolved) -> PowerAnswer:
    """What is drawn a day, how long the battery lasts, and the size of every cable.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    laid = _proven(build)
    picture = power_picture(build, laid)
    return PowerAnswer(picture, basis(picture), power_findings(build, laid))


def _proven(build: Resolved) -> Layout | None:
    """Where the units sit, when that is proven."""
    try:
        laid = lay_out(build)
    except SearchLimit:
        return None
    return laid if isinstance(laid, Layout) else None
