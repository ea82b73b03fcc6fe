"""Figures that depend on other choices, as tables over the choices they depend on.

The price of a powder coat depends on the size of the canopy; so do the mass of its sheet and its
clear inside. Each is calculated by the same code that prices, weighs and measures a selection, once
for every way the choices it depends on can be answered, so that a search needs no other arithmetic
than adding up.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from decimal import Decimal
from itertools import product
from math import prod
from typing import TypeVar

from attrs import evolve, frozen

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import Part
from configurator.catalogue.units import SpacePart
from configurator.engine.encoding import Encoding, State
from configurator.engine.violation import Held
from configurator.errors import ConfiguratorError
from configurator.pricing.lines import option_price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import Interior, MissingPicks, inside_size, mass_of

T = TypeVar("T")

_SIDES = ("length", "width", "height")
_LOSSES = {"length": ("wall",), "width": ("wall",), "height": ("roof", "floor")}

Unit = tuple[str, str]
"""Ids of a choice and of an option with a unit."""

_MOST_CASES = 20_000


class TooManyCases(ConfiguratorError):
    """A figure depends on more combinations than can be listed."""


Determiners = tuple[tuple[str, tuple[str, ...]], ...]
"""Choices that something depends on, each with the options of it that matter."""


def states_in(held: Held, on: Determiners) -> tuple[State, ...]:
    """The answers to those choices where so much is held."""
    return tuple(
        tuple((o, held[choice, o]) for o in options if held.get((choice, o)))
        for choice, options in on
    )


def differing(encoding: Encoding, on: Determiners, states: Sequence[State]) -> Iterator[int]:
    """Literals of which one is true where one of those choices has another answer."""
    for (choice, options), state in zip(on, states, strict=True):
        yield from encoding.differs(choice, options, state)


def held_where(catalogue: Catalogue, on: Determiners, states: Sequence[State]) -> Held:
    """What is held where those choices have those answers.

    Where the answer is an option that does not matter, one such stands for all of them, so that a
    choice of one is answered.
    """
    held: Held = {}
    for (choice_id, options), state in zip(on, states, strict=True):
        held |= {(choice_id, option): quantity for option, quantity in state}
        if not state and catalogue.by_id[choice_id].pick == "one":
            other = min(catalogue.by_id[choice_id].by_id.keys() - set(options))
            held[choice_id, other] = 1
    return held


@frozen
class Figure:
    """A figure by the answers of the choices it depends on.

    Attributes:
        on: those choices, each with the options of it that matter; empty for a constant.
        cases: the figure for each combination of their answers; None where it has none.
    """

    on: Determiners
    cases: dict[tuple[State, ...], Decimal | None]

    @property
    def least(self) -> Decimal:
        """The smallest of them."""
        return min((n for n in self.cases.values() if n is not None), default=Decimal(0))

    def at(self, held: Held) -> Decimal | None:
        """The figure where so much is held."""
        return self.cases[states_in(held, self.on)]

    def where(self, fixed: Mapping[str, State]) -> list[Decimal | None]:
        """What it can be where those choices have those answers."""
        return [
            value
            for states, value in self.cases.items()
            if all(
                tuple(pair for pair in fixed[choice] if pair[0] in options) == state
                for (choice, options), state in zip(self.on, states, strict=True)
                if choice in fixed
            )
        ]


NO_FIGURE = Figure((), {(): None})
"""Is not known, whatever is picked."""


def states_of(choice: Choice, options: Sequence[str] | None = None) -> Iterator[State]:
    """Every answer a choice can have, restricted to some of its options."""
    known = sorted(choice.by_id if options is None else options)
    if choice.pick != "several":
        if choice.pick == "at-most-one" or len(known) < len(choice.by_id):
            yield ()
        for option in known:
            yield ((option, 1),)
        return
    ranges = [range(choice.by_id[option].most + 1) for option in known]
    for counts in product(*ranges):
        if choice.at_most is None or sum(counts) <= choice.at_most:
            yield tuple((o, n) for o, n in zip(known, counts, strict=True) if n)


class Answers:
    """Builds of a catalogue by the answers to some choices, each made once for all figures.

    What figures have in common, such as the sizes of spaces, is then calculated once for each:
    0.2 of 0.4 CPU seconds for all masses and prices of the shipped catalogue.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._builds: dict[Determiners, dict[tuple[State, ...], Resolved]] = {}

    def figures(
        self, on: Determiners, figure: Callable[[Resolved], T | None]
    ) -> dict[tuple[State, ...], T | None]:
        """The figure by every answer to those choices; None where the picks do not tell it."""
        if on not in self._builds:
            by_id = self.catalogue.by_id
            every = product(*(states_of(by_id[choice], options) for choice, options in on))
            self._builds[on] = {states: self._build(on, states) for states in every}
        found: dict[tuple[State, ...], T | None] = {}
        for states, build in self._builds[on].items():
            try:
                found[states] = figure(build)
            except MissingPicks:
                found[states] = None
        return found

    def _build(self, on: Determiners, states: Sequence[State]) -> Resolved:
        held = sorted(held_where(self.catalogue, on, states).items())
        picks = tuple(self.catalogue.picked(choice, option, n) for (choice, option), n in held)
        return Resolved(self.catalogue, Selection(self.catalogue.id, picks))


def _figure(
    answers: Answers,
    choice: Choice,
    option: Option,
    parts: Sequence[Part],
    figure: Callable[[Resolved], Decimal | None],
) -> Figure:
    catalogue = answers.catalogue
    on = tuple(determiners_of(catalogue, parts).items())
    total = prod(sum(1 for _ in states_of(catalogue.by_id[c], options)) for c, options in on)
    if total > _MOST_CASES:
        raise TooManyCases(
            f"a figure of {Pick(choice.id, option.id)} depends on {total} combinations of "
            f"{', '.join(c for c, _ in on)}; {_MOST_CASES} can be listed"
        )
    return _without_idle(Figure(on, answers.figures(on, figure)))


def _without_idle(figure: Figure) -> Figure:
    """The figure without the choices whose answers, as it turns out, change nothing.

    All options of seeded catalogues of 25 choices take 0.40 CPU s in place of 0.48.
    """
    for place in reversed(range(len(figure.on))):
        cases: dict[tuple[State, ...], Decimal | None] = {}
        for states, value in figure.cases.items():
            others = states[:place] + states[place + 1 :]
            if cases.setdefault(others, value) != value:
                break
        else:
            figure = Figure(figure.on[:place] + figure.on[place + 1 :], cases)
    return figure


def prices(answers: Answers, choice: Choice, option: Option, quantity: int = 1) -> Figure:
    """Price of this many, in the catalogue's currency; None where it is open.

    Raises:
        TooManyCases: it depends on too many combinations.
    """

    def all_of_them(build: Resolved) -> Decimal | None:
        amount = option_price(build, choice, option, quantity).amount
        return None if amount is None else amount.amount

    return _figure(answers, choice, option, option.price, all_of_them)


def masses(answers: Answers, choice: Choice, option: Option) -> Figure:
    """Empty mass of one, kg; None where the picks do not tell it.

    Raises:
        TooManyCases: it depends on too many combinations.
    """
    return _figure(answers, choice, option, option.mass, lambda build: mass_of(build, option))


def whole(value: Decimal | None, scale: int) -> int:
    """A number of the unit of which this many make one."""
    number = (value or Decimal(0)) * scale
    found = int(number)
    if found != number:
        raise ValueError(f"{value} is no whole number of 1/{scale}")
    return found


def scale_of(values: Iterable[Decimal | None]) -> int:
    """How often a unit goes into one in which all of the values are whole numbers."""
    digits = max((_decimals(value) for value in values if value), default=0)
    return int(10**digits)


def _decimals(value: Decimal) -> int:
    places = value.normalize().as_tuple().exponent
    return max(0, -places) if isinstance(places, int) else 0


class InsideSize:
    """One inside size of a space, by the answers that it depends on.

    Attributes:
        on: those choices.
        sizes: mm for each combination of their answers; None where it is not determined.
        steps: the sizes there are, rising.
    """

    def __init__(self, encoding: Encoding, answers: Answers, space: str, side: str) -> None:
        self.encoding = encoding
        found: dict[str, set[str]] = {}
        self._brought_by: list[Unit] = []
        for choice, option, name, part in encoding.catalogue.space_parts:
            brings = getattr(part, side) is not None
            if name == space and (brings or any(getattr(part, loss) for loss in _LOSSES[side])):
                found.setdefault(choice, set()).add(option)
            if name == space and brings:
                self._brought_by.append((choice, option))
        self.on = listed(found)
        self.sizes = answers.figures(self.on, lambda build: inside_size(build, space, side))
        self.steps = sorted({size for size in self.sizes.values() if size is not None})
        # the same literal, not one more variable for each question: quick steps 2.9 s for 5.5
        self._literals: dict[tuple[int, bool], int] = {}

    def unsized(self, held: Held) -> list[int] | None:
        """Literals of which one holds wherever something brings the size; None where it has one."""
        if self.at(held) is not None:
            return None
        return [self.encoding.at_least(*key) for key in self._brought_by]

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
        place = bisect_left(self.steps, True, key=lambda step: not possible(self.at_least(step)))
        return self.steps[place - 1] if place else 0

    def largest_left(self, follows: Set[int]) -> int:
        """The largest size that answers give which these literals, all true, leave open."""
        left = (
            inside
            for states, inside in self.sizes.items()
            if inside is not None and follows.isdisjoint(differing(self.encoding, self.on, states))
        )
        return max(left, default=0)

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
        answers: what figures of the catalogue are calculated from.
        units: every unit and the space that it goes into.
    """

    def __init__(self, encoding: Encoding) -> None:
        self.encoding, self.catalogue = encoding, encoding.catalogue
        self.answers = Answers(self.catalogue)
        self.units: dict[Unit, str] = {
            (choice.id, option.id): option.unit.space
            for choice in encoding.choices
            for option in choice.options
            if option.unit is not None
        }
        self._sides: dict[str, dict[str, InsideSize]] = {}

    def sides(self, space: str) -> Mapping[str, InsideSize]:
        """The inside length, width and height of a space, by the answers they depend on."""
        if space not in self._sides:
            self._sides[space] = {
                side: InsideSize(self.encoding, self.answers, space, side) for side in _SIDES
            }
        return self._sides[space]

    def at(self, space: str, held: Held) -> Interior | None:
        """The clear inside of the space, or None while it is not determined."""
        length, width, height = (side.at(held) for side in self.sides(space).values())
        if length is None or width is None or height is None:
            return None
        return Interior(length, width, height)


def only_divides(catalogue: Catalogue, option: Option) -> bool:
    """Whether all that the option does to any fit is to divide closed spaces."""
    return (
        option.unit is None
        and not option.openings
        and all(
            space in catalogue.closed_spaces
            and part.divider
            and evolve(part, divider=Decimal(0), divider_at=None) == SpacePart()
            for space, part in option.space
        )
    )


def carries(option: Option) -> bool:
    """Whether the option is a unit that others may stand on."""
    return option.unit is not None and option.unit.carries is not None


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
) -> list[list[State]]:
    """For each choice, the answers with which all fails just so, whatever those of the others are.

    At most so many combinations are tried for one choice; choices of several stay as they are.
    """
    sets = [[state] for state in states]
    for index, (choice_id, options) in enumerate(on):
        choice = catalogue.by_id[choice_id]
        if choice.pick == "several":
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


def listed(found: Mapping[str, set[str]]) -> Determiners:
    """Choices and options in the order of their ids."""
    return tuple((choice, tuple(sorted(options))) for choice, options in sorted(found.items()))
