"""The inside sizes of spaces, by the answers that they depend on; and how far a reason reaches.

Each size is calculated by the same code that checks a selection, once for every way in which the
choices that it depends on can be answered.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from itertools import product

from configurator.catalogue.model import ADD_ON, Catalogue, Option
from configurator.catalogue.units import SpacePart
from configurator.engine.constraint import Held
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import Determiners, differing, held_where, states_in, states_of
from configurator.selection.resolved import Resolved
from configurator.totals import Interior, MissingPicks, inside_size

_SIDES = ("length", "width", "height")
_LOSSES = {"length": ("wall",), "width": ("wall",), "height": ("roof", "floor")}

Unit = tuple[str, str]
"""Ids of a choice and of an option with a unit."""


class Side:
    """One inside size of a space, by the answers that it depends on.

    Attributes:
        on: those choices.
        sizes: mm for each combination of their answers; None where it is not determined.
        steps: the sizes there are, rising.
    """

    def __init__(self, encoding: Encoding, space: str, side: str) -> None:
        self.encoding = encoding
        self.on = _determiners(encoding, space, lambda part: _shapes(part, side))
        self.sizes = {
            states: _inside(encoding, space, side, self.on, states)
            for states in product(*(states_of(encoding.catalogue.by_id[c], o) for c, o in self.on))
        }
        self.steps = sorted({size for size in self.sizes.values() if size is not None})
        self._literals: dict[tuple[int, bool], int] = {}
        parts = encoding.catalogue.space_parts
        self._brought_by = {
            choice
            for choice, _, name, part in parts
            if name == space and choice != ADD_ON and getattr(part, side) is not None
        }

    def unsized(self, held: Held) -> list[int] | None:
        """Why nothing that is held or still open brings the size; None where it may be known.

        Literals of which one holds wherever the answers that it depends on are others.
        """
        answered = {choice for choice, _ in held}
        by_id = self.encoding.catalogue.by_id
        may_come = {c for c in self._brought_by if by_id[c].pick == "several" or c not in answered}
        if may_come or self.at(held) is not None:
            return None
        return [*differing(self.encoding, self.on, states_in(held, self.on))]

    def at(self, held: Held) -> int | None:
        """The size where so much is held; None while it is not determined."""
        return self.sizes[states_in(held, self.on)]

    def above(self, size: int) -> list[int]:
        """A literal that is true only where the inside is larger than ``size``, if it ever is.

        Where the inside is not determined, it may be true: nothing is refused there.
        """
        if all(inside is not None and inside <= size for inside in self.sizes.values()):
            return []
        return [self._true_where(size, undetermined=True)]

    def at_least(self, size: int) -> int:
        """A literal that is true only where the inside is determined and at least ``size``."""
        return self._true_where(size - 1, undetermined=False)

    def largest(self, possible: Callable[[int], bool]) -> int:
        """The largest size of which the literal for at least as much is possible; 0 for none."""
        low, high = -1, len(self.steps)
        while low + 1 < high:
            middle = (low + high) // 2
            if possible(self.at_least(self.steps[middle])):
                low = middle
            else:
                high = middle
        return self.steps[low] if low >= 0 else 0

    def _true_where(self, size: int, undetermined: bool) -> int:
        key = size, undetermined
        if key not in self._literals:
            self._literals[key] = literal = self.encoding.new()
            for states, inside in self.sizes.items():
                if inside <= size if inside is not None else not undetermined:
                    self.encoding.clauses.append(
                        [-literal, *differing(self.encoding, self.on, states)]
                    )
        return self._literals[key]


class Insides:
    """The inside of every space.

    Attributes:
        units: every unit and the space that it goes into.
    """

    def __init__(self, encoding: Encoding) -> None:
        self.encoding, self.catalogue = encoding, encoding.catalogue
        self.units: dict[Unit, str] = {
            (choice.id, option.id): option.unit.space
            for choice in encoding.choices
            for option in choice.options
            if option.unit is not None
        }
        self._sides: dict[str, dict[str, Side]] = {}

    def sides(self, space: str) -> Mapping[str, Side]:
        """The inside length, width and height of a space, by the answers they depend on."""
        if space not in self._sides:
            self._sides[space] = {side: Side(self.encoding, space, side) for side in _SIDES}
        return self._sides[space]

    def at(self, space: str, held: Held) -> Interior | None:
        """The clear inside of the space, or None while it is not determined."""
        length, width, height = (side.at(held) for side in self.sides(space).values())
        if length is None or width is None or height is None:
            return None
        return Interior(length, width, height)


def opens(space: str, option: Option) -> bool:
    """Whether the option gives the space an opening, or divides it."""
    shape = dict(option.space).get(space)
    divides = shape is not None and bool(shape.divider)
    return divides or any(opening.space == space for opening in option.openings)


def widened(
    catalogue: Catalogue,
    on: Determiners,
    states: tuple[State, ...],
    fails: Callable[[tuple[State, ...]], bool],
    most: int,
    but: Container[str] = (),
) -> list[list[State]]:
    """For each choice, the answers with which all fails just so, whatever those of the others are.

    Args:
        catalogue: the shop's catalogue.
        on: the choices.
        states: the answers at hand.
        fails: whether it fails with these answers.
        most: how many combinations are tried for one choice.
        but: choices that stay as they are, beside those of which several options may be picked.
    """
    sets = [[state] for state in states]
    for index, (choice_id, options) in enumerate(on):
        choice = catalogue.by_id[choice_id]
        if choice.pick == "several" or choice_id in but:
            continue
        rest = list(product(*sets[:index], *sets[index + 1 :]))
        answers = [state for state in states_of(choice, options) if state not in sets[index]]
        if len(rest) * len(answers) <= most:
            sets[index] += [
                state
                for state in answers
                if all(fails((*r[:index], state, *r[index:])) for r in rest)
            ]
    return sets


def _shapes(part: SpacePart, side: str) -> bool:
    return getattr(part, side) is not None or any(getattr(part, loss) for loss in _LOSSES[side])


def _determiners(
    encoding: Encoding, space: str, matters: Callable[[SpacePart], bool]
) -> Determiners:
    found: dict[str, set[str]] = {}
    for choice in encoding.choices:
        for option in choice.options:
            part = dict(option.space).get(space)
            if part is not None and matters(part):
                found.setdefault(choice.id, set()).add(option.id)
    return listed(found)


def listed(found: Mapping[str, set[str]]) -> Determiners:
    """Choices and options in the order of their ids."""
    return tuple((choice, tuple(sorted(options))) for choice, options in sorted(found.items()))


def _inside(
    encoding: Encoding, space: str, side: str, on: Determiners, states: tuple[State, ...]
) -> int | None:
    """The inside size that those answers make, by the same code that checks a selection."""
    try:
        selection = encoding.selection(held_where(encoding.catalogue, on, states))
        return inside_size(Resolved(encoding.catalogue, selection), space, side)
    except MissingPicks:
        return None
