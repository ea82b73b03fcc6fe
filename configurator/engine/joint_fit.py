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
from configurator.words import Text, listed, several, text

_MOST_NAMED = 3
"""Units that are named where they do not all go in; of more, one fewer, with how many more."""


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

    def explain(self, grounds: Grounds) -> Explanation:
        """Which units do not all go in: the largest of the conflict, and how many more there are.

        What has to go with them is told apart, where rules and limits of the conflict ask for it.
        """
        catalogue, encoding = self.layouts.catalogue, self.layouts.encoding
        here = [key for key, space in self.layouts.insides.units.items() if space == self.space]
        bodies = {
            key: unit.body.volume
            for key in here
            if key in grounds.held and (unit := catalogue.option(*key).unit) is not None
        }
        held = sorted(bodies, key=lambda key: (-bodies[key], key))
        named = held if len(held) <= _MOST_NAMED else held[: _MOST_NAMED - 1]
        told = [several(grounds.held[key], catalogue.option(*key).title) for key in named]
        if more := len(held) - len(named):
            told.append(text("{n} more", n=more))
        picks = [encoding.at_least(*key, n) for key, n in sorted(grounds.held.items())]
        others = [-encoding.at_least(*key) for key in sorted(here) if key not in grounds.held]
        alone = grounds.possible([*picks, *others], grounds.stated)
        known = {"units": listed(told), "space": catalogue.space_title(self.space)}
        if not held:
            said = text("what has to go in the {space} does not all fit", **known)
        elif not alone:
            said = text(
                "{units}, and what has to go with them, do not all fit in the {space} together",
                **known,
            )
        elif sum(grounds.held[key] for key in held) == 1:
            said = text("there is no room for {units} in the {space}", **known)
        else:
            said = text("{units} do not all fit in the {space} together", **known)
        return Explanation(said, self._advice(grounds), names=frozenset(named))

    def _advice(self, grounds: Grounds) -> Text:
        """What would help: fewer units, or more of a size that a pick of the conflict decides."""
        catalogue, sized = self.layouts.catalogue, set[str]()
        for key in grounds.held:
            for space, part in catalogue.option(*key).space:
                if space == self.space:
                    sized |= {name for name in ("length", "height") if getattr(part, name)}
        known = {"space": catalogue.space_title(self.space)}
        match sorted(sized):
            case ["height", "length"]:
                return text("Leave out a unit, or choose a longer or taller {space}.", **known)
            case ["length"]:
                return text("Leave out a unit, or choose a longer {space}.", **known)
            case ["height"]:
                return text("Leave out a unit, or choose a taller {space}.", **known)
        return text("Leave out a unit.")


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
