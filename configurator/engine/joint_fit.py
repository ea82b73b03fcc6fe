"""The constraint that all units of a space go in together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configurator.engine.constraint import TOGETHER, Compiled, Constraint, Explanation, Grounds
from configurator.engine.layouts import Layouts
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.words import text


class JointFit(Constraint):
    """All units of one space go in together."""

    rank = TOGETHER

    def __init__(self, layouts: Layouts, space: str) -> None:
        self.layouts, self.space = layouts, space
        self.id = ConstraintId("layout", space)
        self.name = text('the fit of all units in "{space}"', space=space)
        self.at = layouts.catalogue.choices[0].at

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The units of the space, its inside, doors and divider, and what masses depend on."""
        return self.layouts.depends_on(self.space)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the units do not go in together."""
        return self.layouts.violations(self.id, self.space, held)

    def explain(self, grounds: Grounds) -> Explanation:  # noqa: ARG002 - the picks say it all
        """What the space is called."""
        title = self.layouts.catalogue.space_title(self.space)
        return Explanation(text("these units do not all fit in the {space} together", space=title))


def joint_fits(search: Compiled) -> Iterator[JointFit]:
    """One for each space."""
    for space in sorted(search.layouts.others):
        yield JointFit(search.layouts, space)


def layouts_of(layouts: Layouts) -> frozenset[ConstraintId]:
    """The ids of all of them."""
    return frozenset(ConstraintId("layout", space) for space in layouts.others)
