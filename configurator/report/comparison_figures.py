"""The figures that selections are compared by, besides what they cost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import TypeAlias

from attrs import frozen

from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved
from configurator.totals import MissingPicks, limit_states, space_sizes, total_mass
from configurator.words import shown, text, used

__all__ = ["FIGURES", "Figure", "FigureSource"]


@frozen
class Figure:
    """One figure of a selection, such as the payload left.

    Attributes:
        id: short name; the same figure of two selections has the same.
        title: what it is.
        unit: its unit.
        value: the figure as it is shown; None while it hangs on an open choice.
    """

    id: str
    title: str
    unit: str
    value: Decimal | None


FigureSource: TypeAlias = Callable[[Resolved], Iterator[Figure]]


def _mass(build: Resolved) -> Iterator[Figure]:
    mass = total_mass(build)
    yield Figure("mass", text("Mass of the package"), "kg", None if mass is None else used(mass))


def _limits_left(build: Resolved) -> Iterator[Figure]:
    for state in limit_states(build):
        if state.used:
            title = text("{limit} remaining", limit=state.limit.title)
            yield Figure(f"{state.limit.id}-left", title, state.limit.unit, state.shown[2])


def _free_volume(build: Resolved) -> Iterator[Figure]:
    """Inside of each space that units go into, less their bodies; whole litres, rounded down."""
    filled: dict[str, int] = {}
    for _, option, quantity in build.picks:
        if option.unit is not None:
            body = option.unit.body
            volume = body.width * body.depth * body.height * quantity
            filled[option.unit.space] = filled.get(option.unit.space, 0) + volume
    for space, taken in sorted(filled.items()):
        title = text("Free volume of the {space}", space=build.catalogue.space_title(space))
        try:
            inside = space_sizes(build, space).interior
        except MissingPicks:
            yield Figure(f"{space}-free", title, "L", None)
        else:
            free = inside.length * inside.width * inside.height - taken
            yield Figure(f"{space}-free", title, "L", Decimal(free // 10**6))


def _days_of_power(build: Resolved) -> Iterator[Figure]:
    """How long the batteries last without any charging, to a tenth of a day."""
    days = shown(power_picture(build, None)).days_alone
    if days is not None:
        yield Figure("days", text("Power without charging"), text("days"), days)


FIGURES: tuple[FigureSource, ...] = (_mass, _limits_left, _free_volume, _days_of_power)
"""Every figure, in the order in which they are shown."""
