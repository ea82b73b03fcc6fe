"""Fit as a theory: every unit fits, on its own, the space that the other picks make.

What a unit's fit hangs on are the choices that shape its space, open it or may carry it. A reason
against it is lifted along the inside of the space: with the same doors and carriers, a unit that
does not fit does not fit a smaller inside either, so the reason names the largest length, width
and height with which it still fails, not the picks that made them. Nor does it fit with fewer
carriers, so the reason names the most of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product
from math import prod
from typing import TYPE_CHECKING, TypeAlias

from attrs import evolve, frozen

from configurator.catalogue.model import ADD_ON, Option
from configurator.catalogue.units import SpacePart, Unit
from configurator.engine.constraint import (
    ALONE,
    Constraint,
    ConstraintId,
    Explanation,
    Grounds,
    Held,
    Violation,
)
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import (
    Determiners,
    determiners_of,
    held_where,
    states_in,
    states_of,
)
from configurator.fit.openings import Cell, cells_of, clear_openings, divider_of
from configurator.fit.units import Base, UnitFit, badness, bases_of, behind_frame, ways_in
from configurator.fit.words import misfit_words
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import Interior, MissingPicks, inside_size, mass_of
from configurator.words import text

if TYPE_CHECKING:
    from configurator.engine.search import Search

__all__ = ["FitTheory", "Side", "UnitFitConstraint", "listed", "unit_fits"]

_SIDES = ("length", "width", "height")
_LOSSES = {"length": ("wall",), "width": ("wall",), "height": ("roof", "floor")}
_ANY_SIZE = 10**6
_MOST_WIDENING = 300
_MOST_STACKS = 500

_Fits: TypeAlias = Callable[[tuple[str, str], Interior, tuple[State, ...]], bool]


class Side:
    """One inside size of a space, by the answers it hangs on.

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
        return _differs(self.encoding, self.on, states_in(held, self.on))

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
                        [-literal, *_differs(self.encoding, self.on, states)]
                    )
        return self._literals[key]


@frozen
class _Explained(Explanation):
    """How a unit misses fitting the largest inside that the picks of a conflict leave it.

    Attributes:
        option: the unit's option.
        space: what its space is called.
        fit: the unit there; None where nothing tells how large the inside may be.
    """

    option: Option
    space: str
    fit: UnitFit | None

    @property
    def sentence(self) -> str:
        fit, known = self.fit, {"title": self.option.title, "space": self.space}
        if fit is None or fit.fits or fit.misfits[0].what in ("no-opening", "support"):
            return text("{title} fits no {space} that goes with it", **known)
        words = misfit_words(fit, fit.misfits[0], self.space)
        return text("{title} does not fit the largest {space} available: {why}", why=words, **known)


class UnitFitConstraint(Constraint):
    """One unit fits the space that the other picks make, wherever it is picked."""

    rank = ALONE

    def __init__(self, fit: FitTheory, unit: tuple[str, str]) -> None:
        self.fit, self.unit = fit, unit
        self.option = fit.catalogue.option(*unit)
        name = f"{unit[0]}={unit[1]}"
        self.id, self.name, self.at = (
            ConstraintId("fit", name),
            f'the fit of "{name}"',
            self.option.at,
        )

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The unit, the inside of its space, and what else decides its fit."""
        return self.fit.depends_on(self.unit)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the unit is picked and does not fit."""
        if self.unit in held:
            yield from self.fit.violations(self.id, self.unit, held)

    def explain(self, grounds: Grounds) -> _Explained:
        """How it misses fitting the largest inside that is left."""
        assert self.option.unit is not None
        space = self.fit.catalogue.space_title(self.option.unit.space)
        return _Explained(self.option, space, self.fit.best(self.unit, grounds))


def unit_fits(search: Search) -> Iterator[UnitFitConstraint]:
    """One for each unit."""
    for unit in search.fit.units:
        yield UnitFitConstraint(search.fit, unit)


class FitTheory:
    """Every unit on its own fits its space. Answers are remembered by what they hang on."""

    def __init__(self, encoding: Encoding) -> None:
        self.encoding = encoding
        self.catalogue = encoding.catalogue
        self.units: dict[tuple[str, str], Determiners] = {}
        self._carriers: dict[tuple[str, str], frozenset[tuple[str, str]]] = {}
        for choice in encoding.choices:
            for option in choice.options:
                if option.unit is not None:
                    self.units[choice.id, option.id] = self._others(
                        (choice.id, option.id), option, option.unit
                    )
        self._sides: dict[str, dict[str, Side]] = {}
        self._fit: dict[tuple[tuple[str, str], Interior, tuple[State, ...]], bool] = {}
        self._any_height: dict[tuple[tuple[str, str], Interior, tuple[State, ...]], bool] = {}
        self._bases: dict[tuple[tuple[str, str], tuple[State, ...]], list[Base]] = {}
        self._reasons: dict[tuple[tuple[str, str], Interior, tuple[State, ...]], Violation] = {}

    def depends_on(self, unit: tuple[str, str]) -> Iterator[tuple[str, Sequence[str]]]:
        """The unit, the inside of its space, and what else decides its fit."""
        yield unit[0], (unit[1],)
        yield from self.units[unit]
        for side in self.sides(self._unit(unit).space).values():
            yield from side.on

    def violations(
        self, fact: ConstraintId, unit: tuple[str, str], held: Held
    ) -> Iterator[Violation]:
        """A lifted one if the unit does not fit."""
        inside = self.inside(unit, held)
        if inside is None:
            yield from self._unsized(fact, unit, held)
            return
        states = states_in(held, self.units[unit])
        if not self._fits(unit, inside, states):
            key = unit, inside, states
            if key not in self._reasons:
                self._reasons[key] = self._reason(fact, *key)
            yield self._reasons[key]

    def best(self, unit: tuple[str, str], grounds: Grounds) -> UnitFit | None:
        """The unit in the best case: each inside size as large as these picks and rules allow."""
        held, option, body = grounds.held, self.catalogue.option(*unit), self._unit(unit)
        literals = [self.encoding.at_least(*key, n) for key, n in sorted(held.items())]
        sizes = [
            side.largest(lambda more: grounds.possible([*literals, more], grounds.stated))
            for side in self.sides(body.space).values()
        ]
        if not all(sizes):
            return None
        inside, selection = Interior(*sizes), self.encoding.selection(held)
        build = Resolved(self.catalogue, selection)
        cells = self._cells(body, selection, inside)
        ways = [
            (side, tuple(misfits))
            for side, misfits in ways_in(build, option, cells, bases_of(build, body))
        ]
        side, misfits = min(ways, key=lambda way: (badness(way[1]), way[0]))
        return UnitFit(unit[0], option, inside, side, misfits)

    def _unsized(
        self, fact: ConstraintId, unit: tuple[str, str], held: Held
    ) -> Iterator[Violation]:
        """A reason where the space of the unit has no size, and nothing open could bring one."""
        for side in self.sides(self._unit(unit).space).values():
            literals = side.unsized(held)
            if literals is not None:
                yield Violation(fact, (-self.encoding.at_least(*unit), *literals))
                return

    def inside(self, unit: tuple[str, str], held: Held) -> Interior | None:
        """The clear inside of the unit's space, or None while it is not determined."""
        sizes = [side.at(held) for side in self.sides(self._unit(unit).space).values()]
        length, width, height = sizes
        if length is None or width is None or height is None:
            return None
        return Interior(length, width, height)

    def _unit(self, unit: tuple[str, str]) -> Unit:
        found = self.catalogue.option(*unit).unit
        assert found is not None
        return found

    def sides(self, space: str) -> Mapping[str, Side]:
        """The inside length, width and height of a space, by the answers they hang on."""
        if space not in self._sides:
            self._sides[space] = {side: Side(self.encoding, space, side) for side in _SIDES}
        return self._sides[space]

    def _others(self, unit_id: tuple[str, str], option: Option, unit: Unit) -> Determiners:
        """What the fit hangs on besides the inside: doors, divider, carriers, mass on a carrier."""
        carriers: dict[str, set[str]] = {}
        waiting, seen = set(unit.stands_on) - {"floor"}, {"floor"}
        while waiting:
            name = min(waiting)
            waiting.discard(name)
            seen.add(name)
            choice_id, _, only = name.partition("=")
            for other in self.catalogue.by_id[choice_id].options:
                if other.unit and other.unit.carries and only in ("", other.id):
                    carriers.setdefault(choice_id, set()).add(other.id)
                    waiting |= set(other.unit.stands_on) - seen
        others: dict[str, set[str]] = {}
        if carriers:
            for choice_id, options in determiners_of(self.catalogue, option.mass).items():
                others.setdefault(choice_id, set()).update(options)
        for choice in self.encoding.choices:
            for other in choice.options:
                shape = dict(other.space).get(unit.space)
                opens = any(opening.space == unit.space for opening in other.openings)
                if opens or (shape is not None and shape.divider):
                    others.setdefault(choice.id, set()).add(other.id)
        self._carriers[unit_id] = frozenset(
            (choice_id, name)
            for choice_id, names in carriers.items()
            if self.catalogue.by_id[choice_id].pick == "several"
            for name in names - others.get(choice_id, set())
        )
        for choice_id, names in carriers.items():
            others.setdefault(choice_id, set()).update(names)
        return listed(others)

    def _fits(self, unit: tuple[str, str], inside: Interior, states: tuple[State, ...]) -> bool:
        key = unit, inside, states
        if key not in self._fit:
            self._fit[key] = self._stands_in(unit, inside, states)
        return self._fit[key]

    def _stands_in(
        self, unit: tuple[str, str], inside: Interior, states: tuple[State, ...]
    ) -> bool:
        catalogue, option, body = self.catalogue, self.catalogue.option(*unit), self._unit(unit)
        selection = self.encoding.selection(held_where(catalogue, self.units[unit], states))
        cells = self._cells(body, selection, inside)
        grounded = "floor" in body.stands_on and body.hangs_at is None
        if grounded and _stands(Resolved(catalogue, selection), option, cells, [Base(0)]):
            return True
        if (unit, states) not in self._bases:
            self._bases[unit, states] = bases_of(Resolved(catalogue, selection), body)
        bases = self._bases[unit, states]
        if any(base.carrier for base in bases) and not _has_mass(
            Resolved(catalogue, selection), option
        ):
            return True
        return _stands(Resolved(catalogue, selection), option, cells, bases)

    def _at_any_height(
        self, unit: tuple[str, str], inside: Interior, states: tuple[State, ...]
    ) -> bool:
        """Whether the unit would fit with something under it of just the height it likes.

        Where it would not, what may carry it is no part of the reason. The lowest underside that
        pleases an opening is the floor or the height at which its sill is just cleared.
        """
        key = unit, inside, states
        if key not in self._any_height:
            catalogue, option, body = self.catalogue, self.catalogue.option(*unit), self._unit(unit)
            selection = self.encoding.selection(held_where(catalogue, self.units[unit], states))
            cells = self._cells(body, selection, inside)
            hidden = body.clearance.bottom + behind_frame(body).bottom
            heights = {0} | {max(0, o.sill - hidden) for cell in cells for o in cell.openings}
            if body.hangs_at is not None:
                heights = {body.hangs_at - body.clearance.bottom}
            bases = [Base(height) for height in sorted(heights)]
            self._any_height[key] = not _has_mass(
                Resolved(catalogue, selection), option
            ) or _stands(Resolved(catalogue, selection), option, cells, bases)
        return self._any_height[key]

    def _cells(self, body: Unit, selection: Selection, inside: Interior) -> tuple[Cell, ...]:
        openings = clear_openings(Resolved(self.catalogue, selection), body.space, inside)
        return cells_of(
            inside, openings, divider_of(Resolved(self.catalogue, selection), body.space, inside)
        )

    def _reason(
        self, fact: ConstraintId, unit: tuple[str, str], inside: Interior, states: tuple[State, ...]
    ) -> Violation:
        """Let each inside size grow as far as the unit still fails; then widen the rest."""
        sides = self.sides(self._unit(unit).space)
        literals = [-self.encoding.at_least(*unit)]
        carried = self._at_any_height(unit, inside, states)
        fits = self._fits if carried else self._at_any_height
        for name in ("width", "length", "height"):
            size = self._largest_failing(fits, unit, inside, states, name, sides[name].steps)
            inside = evolve(inside, **{name: size})
            literals += sides[name].above(size)
        others = self.units[unit]
        if carried:
            states = self._most_carriers(unit, inside, states)
        sets: list[list[State]] = [[state] for state in states]
        for index, (choice_id, options) in enumerate(others):
            choice = self.catalogue.by_id[choice_id]
            rest = list(product(*sets[:index], *sets[index + 1 :]))
            answers = [s for s in states_of(choice, options) if s not in sets[index]]
            if choice.pick == "several" or len(rest) * len(answers) > _MOST_WIDENING:
                continue
            for state in answers:
                if not any(fits(unit, inside, (*r[:index], state, *r[index:])) for r in rest):
                    sets[index].append(state)
        for (choice_id, options), allowed in zip(others, sets, strict=True):
            literals += self._outside(unit, choice_id, options, allowed, carried)
        return Violation(fact, tuple(dict.fromkeys(literals)))

    def _most_carriers(
        self, unit: tuple[str, str], inside: Interior, states: tuple[State, ...]
    ) -> tuple[State, ...]:
        """The most of what only carries that may be picked while the unit still fails."""
        for index, (choice_id, options) in enumerate(self.units[unit]):
            for option in options:
                if (choice_id, option) not in self._carriers[unit]:
                    continue
                counts = dict(states[index])
                counts[option] = self.catalogue.option(choice_id, option).most
                more = tuple((o, counts[o]) for o in options if counts.get(o))
                if prod(count + 1 for count in counts.values()) > _MOST_STACKS:
                    continue
                tried = (*states[:index], more, *states[index + 1 :])
                if not self._fits(unit, inside, tried):
                    states = tried
        return states

    def _largest_failing(
        self,
        fits: _Fits,
        unit: tuple[str, str],
        inside: Interior,
        states: tuple[State, ...],
        name: str,
        steps: Sequence[int],
    ) -> int:
        """The largest size of the space with which, the rest being so, the unit still fails."""
        if not fits(unit, evolve(inside, **{name: _ANY_SIZE}), states):
            return _ANY_SIZE
        low, high = steps.index(getattr(inside, name)), len(steps)
        while low + 1 < high:
            middle = (low + high) // 2
            if fits(unit, evolve(inside, **{name: steps[middle]}), states):
                high = middle
            else:
                low = middle
        return steps[low]

    def _outside(
        self,
        unit: tuple[str, str],
        choice_id: str,
        options: tuple[str, ...],
        allowed: list[State],
        carried: bool,
    ) -> list[int]:
        choice = self.catalogue.by_id[choice_id]
        if choice.pick == "several":
            held = dict(allowed[0])
            exact = [o for o in options if (choice_id, o) not in self._carriers[unit]]
            state = tuple((o, held[o]) for o in exact if o in held)
            more = [
                self.encoding.at_least(choice_id, option, held.get(option, 0) + 1)
                for option in options
                if carried and option not in exact
            ]
            several = [literal for literal in more if literal > 0]
            return several + (self.encoding.differs(choice_id, exact, state) if exact else [])
        return self.encoding.not_among(choice_id, options, allowed)


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


def _stands(
    build: Resolved,
    option: Option,
    cells: tuple[Cell, ...],
    bases: Sequence[Base],
) -> bool:
    """Whether the unit fits in some way on one of the bases."""
    ways = ways_in(build, option, cells, bases)
    return any(next(misfits, None) is None for _, misfits in ways)


def _has_mass(build: Resolved, option: Option) -> bool:
    """Whether it can be told what the unit weighs; else nobody can say that a bed is too weak."""
    try:
        mass_of(build, option)
    except MissingPicks:
        return False
    return True


def listed(found: Mapping[str, set[str]]) -> Determiners:
    """Choices and options in the order of their ids."""
    return tuple((choice, tuple(sorted(options))) for choice, options in sorted(found.items()))


def _differs(encoding: Encoding, on: Determiners, states: tuple[State, ...]) -> list[int]:
    return [
        literal
        for (choice, options), state in zip(on, states, strict=True)
        for literal in encoding.differs(choice, options, state)
    ]


def _inside(
    encoding: Encoding, space: str, side: str, on: Determiners, states: tuple[State, ...]
) -> int | None:
    """The inside size that those answers make, by the same code that checks a selection."""
    try:
        selection = encoding.selection(held_where(encoding.catalogue, on, states))
        return inside_size(Resolved(encoding.catalogue, selection), space, side)
    except MissingPicks:
        return None
