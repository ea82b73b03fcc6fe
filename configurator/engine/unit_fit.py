"""The constraint that a unit fits, on its own, the space that the other picks make.

What a unit's fit depends on are the choices that shape its space, open it or may carry it. A
violation is lifted along the inside of the space: with the same doors and carriers, a unit that
does not fit does not fit a smaller inside either, so it names the largest length, width and height
with which the unit still fails, not the picks that made them. Nor does it fit with fewer carriers,
so these are not named where it fails with all of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import product
from math import prod

from attrs import evolve

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.units import ON_FLOOR
from configurator.engine.constraint import ALONE, Compiled, Constraint, Explanation, Grounds
from configurator.engine.encoding import State
from configurator.engine.figures import (
    Determiners,
    Insides,
    Unit,
    held_where,
    listed,
    opens,
    states_in,
    widened,
)
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.fit.openings import Bay, cells_of, clear_openings, divider_of
from configurator.fit.units import (
    Base,
    UnitFit,
    badness,
    bases_of,
    misfit_words,
    ways_in,
)
from configurator.selection.resolved import Resolved
from configurator.selection.totals import Interior, MissingPicks, mass_of
from configurator.words import listed as listed_words, text

_ANY_SIZE = 10**6
_MOST_WIDENING = 300
"""Sets of answers beside which a unit is tried for one reason; no more are needed in the demo.

With 1, quick questions leave 0.97 % of the options of 369 steps of sales in place of 0.93, and 95
of 100 steps take 111 ms in place of 98.
"""

_MOST_STACKS = 500
"""Ways to stack carriers up to which it is asked whether a unit fits with the most of them all.

With 1, 0.97 % are left in place of 0.93.
"""


_MOST_EQUIPPED = 500
"""Doors and carriers together that are tried for the one that leaves a unit least short; each takes
about a millisecond."""


class UnitFitConstraint(Constraint):
    """One unit fits the space that the other picks make, wherever it is picked."""

    rank = ALONE

    def __init__(self, insides: Insides, key: Unit) -> None:
        self.insides, self.encoding, self.catalogue = insides, insides.encoding, insides.catalogue
        self.key, self.option = key, insides.catalogue.option(*key)
        unit, name = self.option.unit, str(Pick(*key))
        assert unit is not None
        self.unit = unit
        self.id, self.name = ConstraintId("fit", name), text('the fit of "{unit}"', unit=name)
        self.at = self.option.at
        self.on, self._carriers = self._decided_by()
        # reasons of two sales take 0.57 s for 0.68 with these
        self._fits = cache(self._stands_in)
        self._violation = cache(self._lifted)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The unit, the inside of its space, and what else decides its fit."""
        yield self.key[0], (self.key[1],)
        yield from self.on
        for side in self.insides.sides(self.unit.space).values():
            yield from side.on

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the unit is picked and does not fit."""
        if self.key not in held:
            return
        inside = self.insides.at(self.unit.space, held)
        if inside is None:
            yield self._unsized(held)
            return
        states = states_in(held, self.on)
        if not self._fits(inside, states):
            yield self._violation(inside, states)

    def _unsized(self, held: Held) -> Violation:
        """Where the space of the unit has no size: it waits for all that could bring one."""
        sides = self.insides.sides(self.unit.space).values()
        literals = next(some for side in sides if (some := side.unsized(held)) is not None)
        return Violation(self.id, (-self.encoding.at_least(*self.key), *literals))

    def explain(self, grounds: Grounds) -> Explanation:
        """How it misses fitting the largest inside that the picks of a conflict leave it.

        Where it fits that, what it needs for it, or how it misses the next smaller one.
        """
        space, best = self.catalogue.space_title(self.unit.space), self._best(grounds)
        known, names = {"title": self.option.title, "space": space}, frozenset([self.key])
        if best is None:
            told = text("{title} has no {space} of a known size to go into", **known)
            return Explanation(told, names=names)
        fit, tried = best
        if fit is not None and fit.fits and tried:
            told = text(
                "{title} fits only with a suitable pick from {choices}",
                choices=listed_words(tried),
                **known,
            )
            return Explanation(told, names=names)
        if fit is not None and fit.fits:
            fit = self._smaller(fit.interior, grounds.held)
            if fit is not None:
                first = fit.misfits[0]
                why = misfit_words(self.catalogue, fit, first)
                told = text("{title} does not fit a smaller {space}: {why}", why=why, **known)
                return Explanation(told, names=names, numbers=first.numbers)
        if fit is None:
            return Explanation(text("{title} does not fit every {space}", **known), names=names)
        first, size = fit.misfits[0], self.insides.sides(self.unit.space)
        if first.what == "support":
            told = text("{title} has nothing to stand on in the {space}", **known)
            return Explanation(told, names=names)
        what = "height" if first.what == "opening-height" else first.what
        on = size[what].on if what in size else self._sizing
        why = misfit_words(self.catalogue, fit, first)
        known |= {"why": why, "choices": listed_words(tried)}
        fixed = any(choice == fixing for fixing, _ in on for choice, _ in grounds.held)
        if fixed and tried:
            told = text(
                "{title} does not fit the {space}, whatever you pick from {choices}: {why}", **known
            )
        elif fixed:
            told = text("{title} does not fit the {space}: {why}", **known)
        elif tried:
            told = text(
                "{title} does not fit the largest {space} available, whatever you pick from "
                "{choices}: {why}",
                **known,
            )
        else:
            told = text("{title} does not fit the largest {space} available: {why}", **known)
        return Explanation(told, names=names, numbers=first.numbers)

    @property
    def _sizing(self) -> Determiners:
        """What decides any size of the inside."""
        return tuple(
            one for side in self.insides.sides(self.unit.space).values() for one in side.on
        )

    def _smaller(self, inside: Interior, held: Held) -> UnitFit | None:
        """The unit in the inside one of whose sizes is the largest with which it fails.

        Of its sizes it is the one that leaves it least short.
        """
        found = []
        for name, side in self.insides.sides(self.unit.space).items():
            for size in reversed([size for size in side.steps if size < getattr(inside, name)]):
                fit = self._in_best_way(evolve(inside, **{name: size}), held)
                if fit is not None and not fit.fits:
                    found.append(fit)
                    break
        return min(found, key=lambda fit: badness(fit.misfits), default=None)

    def _best(self, grounds: Grounds) -> tuple[UnitFit | None, tuple[str, ...]] | None:
        """The unit in the best case: each inside size as large as the picks and rules allow.

        All picks that were asked about, or those of the conflict where they break a rule too. None
        where the size is not determined; no unit where for one that is carried its mass is not.

        Second, where without more it cannot be reached or has nothing to stand on, the titles of
        the choices of doors and carriers that the conflict leaves open: it is with those with which
        least is short. No unit, too, where there are more of these than are tried.
        """
        held, by_id = grounds.held, self.catalogue.by_id
        empty = sorted(grounds.decided - {choice for choice, _ in grounds.every})
        none = [-self.encoding.at_least(c, o) for c in empty for o in sorted(by_id[c].by_id)]
        for picks in (grounds.every, held):
            literals = [self.encoding.at_least(*key, n) for key, n in sorted(picks.items())] + none
            if grounds.possible(literals, grounds.stated):
                break
        sizes = [
            side.largest(lambda more: grounds.possible([*literals, more], grounds.stated))
            for side in self.insides.sides(self.unit.space).values()
        ]
        if not all(sizes):
            return None
        inside = Interior(*sizes)
        best = self._in_best_way(inside, held)
        if best is None or best.fits or not best.misfits[0].hopeless:
            return best, ()
        decided = {choice for choice, _ in held}
        free = [
            [None, *((choice, option) for option in options)]
            for choice, options in self.on
            if choice not in decided
        ]
        if prod(map(len, free)) > _MOST_EQUIPPED:
            return None, ()
        for some in product(*free):
            more = {**held, **dict.fromkeys(filter(None, some), 1)}
            fit = self._in_best_way(inside, more)
            if fit is None or badness(fit.misfits) >= badness(best.misfits):
                continue
            there = [self.encoding.at_least(*key) for key in more.keys() - held.keys()]
            if grounds.possible([*literals, *sorted(there)], grounds.stated):
                best = fit
        return best, tuple(
            by_id[choice].title
            for choice, options in self.on
            if choice not in decided
            and any(self._equips(by_id[choice].by_id[option]) for option in options)
        )

    def _equips(self, option: Option) -> bool:
        """Whether it opens the space, or may carry the unit."""
        return bool(option.openings or (option.unit and option.unit.carries))

    def _in_best_way(self, inside: Interior, held: Held) -> UnitFit | None:
        """The unit in a space of this inside with what is held, the way that leaves least short."""
        build = Resolved(self.catalogue, self.encoding.selection(held))
        try:
            cells, bases = self._cells(build, inside), bases_of(build, self.unit)
            ways = [
                (side, tuple(misfits))
                for side, misfits in ways_in(build, self.option, cells, bases)
            ]
        except MissingPicks:
            return None
        side, misfits = min(ways, key=lambda way: (badness(way[1]), way[0]))
        return UnitFit(self.key[0], self.option, inside, side, misfits)

    def _decided_by(self) -> tuple[Determiners, frozenset[Unit]]:
        """What the fit depends on besides the inside: doors, divider, carriers, masses on them.

        Second, what of it only carries, in choices of which several options may be picked.
        """
        by_id = self.catalogue.by_id
        carriers: dict[str, set[str]] = {}
        waiting, seen = set(self.unit.stands_on) - {ON_FLOOR}, {ON_FLOOR}
        while waiting:
            name = waiting.pop()
            seen.add(name)
            for other in by_id[name.choice].options:
                if other.unit and other.unit.carries and name.option in ("", other.id):
                    carriers.setdefault(name.choice, set()).add(other.id)
                    waiting |= set(other.unit.stands_on) - seen
        others: dict[str, set[str]] = {}
        if carriers:
            for choice_id, options in determiners_of(self.catalogue, self.option.mass).items():
                others.setdefault(choice_id, set()).update(options)
        for choice in self.encoding.choices:
            for other in choice.options:
                if opens(self.unit.space, other):
                    others.setdefault(choice.id, set()).add(other.id)
        only_carry = frozenset(
            (choice_id, name)
            for choice_id, names in carriers.items()
            if by_id[choice_id].pick == "several"
            for name in names - others.get(choice_id, set())
        )
        for choice_id, names in carriers.items():
            others.setdefault(choice_id, set()).update(names)
        return listed(others), only_carry

    def _build(self, states: tuple[State, ...]) -> Resolved:
        held = held_where(self.catalogue, self.on, states)
        return Resolved(self.catalogue, self.encoding.selection(held))

    def _cells(self, build: Resolved, inside: Interior) -> tuple[Bay, ...]:
        openings = clear_openings(build, self.unit.space, inside)
        return cells_of(inside, openings, divider_of(build, self.unit.space, inside))

    def _stands(self, build: Resolved, cells: tuple[Bay, ...], bases: Sequence[Base]) -> bool:
        """Whether the unit fits in some way on one of the bases."""
        ways = ways_in(build, self.option, cells, bases)
        return any(next(misfits, None) is None for _, misfits in ways)

    def _weighed(self, build: Resolved) -> bool:
        """Whether it can be told what it weighs; else nobody can say that a bed is too weak."""
        try:
            mass_of(build, self.option)
        except MissingPicks:
            return False
        return True

    def _stands_in(self, inside: Interior, states: tuple[State, ...]) -> bool:
        build = self._build(states)
        cells = self._cells(build, inside)
        grounded = ON_FLOOR in self.unit.stands_on and self.unit.hangs_at is None
        if grounded and self._stands(build, cells, [Base(0)]):
            return True
        bases = bases_of(build, self.unit)
        if any(base.carrier for base in bases) and not self._weighed(build):
            return True
        return self._stands(build, cells, bases)

    def _lifted(self, inside: Interior, states: tuple[State, ...]) -> Violation:
        """Let each inside size grow as far as the unit still fails; then widen the rest.

        Where it fails with as much to stand on as may be picked, that is no part of the violation.
        The steps of three sales are refused 243 times; without widening 720, without growth 287.
        """
        sides = self.insides.sides(self.unit.space)
        literals = [-self.encoding.at_least(*self.key)]
        laden = self._laden(states)
        helped = laden is None or self._fits(inside, laden)
        if laden is not None and not helped:
            states = laden
        for name in ("width", "length", "height"):
            size = self._largest_failing(inside, states, name)
            inside = evolve(inside, **{name: size})
            literals += sides[name].above(size)
        sets = widened(
            self.catalogue, self.on, states, lambda at: not self._fits(inside, at), _MOST_WIDENING
        )
        for (choice_id, options), allowed in zip(self.on, sets, strict=True):
            named = [o for o in options if helped or (choice_id, o) not in self._carriers]
            literals += self.encoding.not_among(choice_id, named, allowed)
        return Violation(self.id, tuple(dict.fromkeys(literals)))

    def _laden(self, states: tuple[State, ...]) -> tuple[State, ...] | None:
        """Those answers with the most of all that only carries; None where it stacks too often."""
        found = []
        for (choice_id, options), state in zip(self.on, states, strict=True):
            held = dict(state)
            for option in options:
                if (choice_id, option) in self._carriers:
                    held[option] = self.catalogue.option(choice_id, option).most
            found.append(tuple((o, held[o]) for o in options if held.get(o)))
        stacks = prod(n + 1 for key in self._carriers for n in [self.catalogue.option(*key).most])
        return tuple(found) if stacks <= _MOST_STACKS else None

    def _largest_failing(self, inside: Interior, states: tuple[State, ...], name: str) -> int:
        """The largest size of the space with which, the rest being so, the unit still fails."""
        if not self._fits(evolve(inside, **{name: _ANY_SIZE}), states):
            return _ANY_SIZE
        steps = self.insides.sides(self.unit.space)[name].steps
        low, high = steps.index(getattr(inside, name)), len(steps)
        while low + 1 < high:
            middle = (low + high) // 2
            if self._fits(evolve(inside, **{name: steps[middle]}), states):
                high = middle
            else:
                low = middle
        return steps[low]


def unit_fits(search: Compiled) -> Iterator[UnitFitConstraint]:
    """One for each unit."""
    for unit in search.insides.units:
        yield UnitFitConstraint(search.insides, unit)
