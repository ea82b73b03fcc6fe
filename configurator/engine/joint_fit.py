"""The constraint that all units of a space go in together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configurator.engine.constraint import TOGETHER, Compiled, Constraint, Explanation, Grounds
from configurator.engine.crowd import Crowd
from configurator.engine.effort import nearly_full
from configurator.engine.layouts import Key, Layouts
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.errors import SearchLimit
from configurator.fit.rooms import Room
from configurator.fit.search import GUESSES, searched
from configurator.words import Text, text


class JointFit(Constraint):
    """All units of one space go in together."""

    rank = TOGETHER

    def __init__(self, layouts: Layouts, space: str) -> None:
        self.layouts, self.space = layouts, space
        self.id = layout_of(space)
        self.name = text('the fit of all units in "{space}"', space=space)
        self.at = layouts.catalogue.choices[0].at
        self._reasons: dict[Key, Violation] = {}

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        return self.layouts.depends_on(self.space)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the units do not go in together.

        Raises:
            SearchLimit: that is not settled, or why not is not.
        """
        key, known = self.layouts.key(self.space, held), self.layouts.known
        if key is None:
            return
        if key not in known:
            room = self.layouts.room(self.space, held)
            crowd = None if room is None else self._refused_by_few(key, held, room)
            known[key] = self.layouts.arranged(room) if crowd is None else None
            if crowd is not None:
                self._reasons[key] = Violation(self.id, crowd.clause())
        if known[key] is None:
            reason = self._reasons.get(key)
            if reason is None:
                reason = Violation(self.id, self._crowd(key, held).clause())
                if self.layouts.patient:
                    self._reasons[key] = reason
            yield reason

    def _refused_by_few(self, key: Key, held: Held, room: Room) -> Crowd | None:
        """A hard room of which OR-Tools proves at once that nothing gets some of its units in."""
        asked = self.layouts.effort.few and self.layouts.patient
        if not asked or not isinstance(searched(room, GUESSES), Text):
            return None
        crowd = Crowd(self.layouts, held, room, key[1])
        return crowd if crowd.refused_by_few() else None

    def _crowd(self, key: Key, held: Held) -> Crowd:
        """The units that do not go in, and how far that holds."""
        effort = self.layouts.effort
        if effort.crowds <= 0:
            raise SearchLimit(nearly_full(self.layouts.catalogue, self.space))
        effort.crowds -= 1
        effort.refused += 1
        room = self.layouts.room(self.space, held)
        assert room is not None
        try:
            return Crowd(self.layouts, held, room, key[1]).lifted()
        except SearchLimit:
            effort.crowds -= 2
            raise

    def explain(self, grounds: Grounds) -> Explanation:  # noqa: ARG002 - the picks say it all
        """What the space is called."""
        title = self.layouts.catalogue.space_title(self.space)
        return Explanation(text("these units do not all fit in the {space} together", space=title))


def joint_fits(search: Compiled) -> Iterator[JointFit]:
    """One for each space."""
    for space in sorted(search.layouts.others):
        yield JointFit(search.layouts, space)


def layout_of(space: str) -> ConstraintId:
    """The id of that of the space."""
    return ConstraintId("layout", space)


def layouts_of(layouts: Layouts) -> frozenset[ConstraintId]:
    """The ids of all of them."""
    return frozenset(map(layout_of, layouts.others))
