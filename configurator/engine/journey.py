"""How the selections asked about travel, and which ratings they override.

Ratings depend on that in addition to the picks, so a search answers for one journey at a time.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import evolve, field, frozen

from configurator.mass.demands import let_pass
from configurator.selection.picks import Override, Selection, Travel
from configurator.selection.resolved import Resolved


@frozen
class Journey:
    """What ratings depend on in addition to the picks; None is the catalogue's setting.

    Attributes:
        people: how many travel.
        tow_ball: download on the tow ball, kg.
        trailer: mass of the laden trailer, kg.
        passed: subjects of ratings and limits that are overridden by name; they constrain nothing.
    """

    people: int | None = None
    tow_ball: Decimal | None = None
    trailer: Decimal | None = None
    passed: frozenset[str] = field(default=frozenset())

    @property
    def travel(self) -> Travel:
        """As a selection says it."""
        return Travel(people=self.people, tow_ball=self.tow_ball, trailer=self.trailer)

    def on(self, selection: Selection) -> Selection:
        """The selection with the journey made, and what it overrides."""
        passed = tuple(Override(subject, "", "") for subject in sorted(self.passed))
        return evolve(selection, travel=self.travel, overrides=passed)


def journey_of(build: Resolved) -> Journey:
    """The journey that a selection is for."""
    travel = build.selection.travel
    return Journey(
        travel.people,
        travel.tow_ball,
        travel.trailer,
        let_pass(build.catalogue, build.selection.overrides),
    )
