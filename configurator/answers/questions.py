"""What a shop asks of one build: where everything sits, what it weighs, what power it needs."""

from __future__ import annotations

from configurator.answers.values import LayoutAnswer, MassAnswer, PowerAnswer
from configurator.checking.check import check
from configurator.checking.layout import would_fit
from configurator.checking.power import power_findings
from configurator.checking.ratings import rating_findings, with_overrides
from configurator.errors import SearchLimit
from configurator.fit.answers import lay_out
from configurator.fit.layout import Layout
from configurator.mass.picture import mass_picture
from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_known

_ABOUT_PLACES = ("fit", "layout", "wish", "place", "arrangement-not-proven")
"""Codes of the findings that are about where things sit."""


def layout(build: Resolved, more: bool = False) -> LayoutAnswer:
    """Where everything sits, or what does not go in together and what would fix it.

    Args:
        build: what is picked, from which catalogue.
        more: whether to try what else would fit too.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    findings = tuple(f for f in check(build, hints=True).findings if f.code in _ABOUT_PLACES)
    would = [option.title for _, option in would_fit(build)] if more else None
    return LayoutAnswer.of(build, _proven(build), findings, would)


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
    return PowerAnswer.of(power_picture(build, laid), power_findings(build, laid))


def _proven(build: Resolved) -> Layout | None:
    """Where the units sit, when that is proven."""
    try:
        laid = lay_out(build)
    except SearchLimit:
        return None
    return laid if isinstance(laid, Layout) else None
