"""Figures of an option that depend on other choices, as tables over the choices they depend on.

The price of a powder coat depends on the size of the canopy; so does the mass of its sheet. Each is
calculated by the same code that prices and weighs a selection, once for every way the choices it
depends on can be answered, so that a search needs no other arithmetic than adding up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import Credit, Measured, Part, Table
from configurator.catalogue.units import SpacePart
from configurator.engine.constraint import Held
from configurator.engine.encoding import Encoding, State
from configurator.errors import ConfiguratorError
from configurator.pricing.lines import option_price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import MissingPicks, mass_of

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
        least: the smallest of them.
    """

    on: Determiners
    cases: dict[tuple[State, ...], Decimal | None]
    least: Decimal

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


def determiners_of(catalogue: Catalogue, parts: Sequence[Part]) -> dict[str, tuple[str, ...]]:
    """The choices that the parts depend on, each with those of its options that matter."""
    found: dict[str, set[str]] = {}
    for part in parts:
        if isinstance(part, Table):
            for looked_up in part.by:
                found.setdefault(looked_up, set()).update(catalogue.by_id[looked_up].by_id)
        elif isinstance(part, Measured):
            space, dot, _ = part.of.partition(".")
            for choice in catalogue.by_id.values():
                for option in choice.options:
                    shape = dict(option.space).get(space) if dot else None
                    gives = not dot and part.of in dict(option.gives)
                    if gives or (shape is not None and _tells(shape, part.of)):
                        found.setdefault(choice.id, set()).add(option.id)
        elif isinstance(part, Credit):
            replaced = catalogue.option(*part.replaces.key)
            for choice_id, options in determiners_of(catalogue, replaced.price).items():
                found.setdefault(choice_id, set()).update(options)
    return {choice: tuple(sorted(options)) for choice, options in sorted(found.items())}


def _tells(shape: SpacePart, measured: str) -> bool:
    """Whether the option's word on a space changes what is measured of it."""
    if measured.endswith(".volume"):
        return True
    return any(size is not None for size in (shape.length, shape.width, shape.height))


def prices(catalogue: Catalogue, choice: Choice, option: Option, quantity: int = 1) -> Figure:
    """Price of this many, in the catalogue's currency; None where it is open.

    Raises:
        TooManyCases: it depends on too many combinations.
    """

    def all_of_them(selection: Selection) -> Decimal | None:
        amount = option_price(Resolved(catalogue, selection), choice, option, quantity).amount
        return None if amount is None else amount.amount

    return _figure(catalogue, choice, option, option.price, all_of_them)


def masses(catalogue: Catalogue, choice: Choice, option: Option) -> Figure:
    """Empty mass of one, kg; None where the picks do not tell it.

    Raises:
        TooManyCases: it depends on too many combinations.
    """

    def one(selection: Selection) -> Decimal | None:
        try:
            return mass_of(Resolved(catalogue, selection), option)
        except MissingPicks:
            return None

    return _figure(catalogue, choice, option, option.mass, one)


def _figure(
    catalogue: Catalogue,
    choice: Choice,
    option: Option,
    parts: Sequence[Part],
    one: Callable[[Selection], Decimal | None],
) -> Figure:
    hangs_on = determiners_of(catalogue, parts)
    states = [list(states_of(catalogue.by_id[c], options)) for c, options in hangs_on.items()]
    total = 1
    for answers in states:
        total *= len(answers)
    if total > _MOST_CASES:
        raise TooManyCases(
            f"a figure of {Pick(choice.id, option.id)} hangs on {total} combinations of "
            f"{', '.join(hangs_on)}; {_MOST_CASES} can be listed"
        )
    cases = {}
    for combination in product(*states):
        held = held_where(catalogue, tuple(hangs_on.items()), combination)
        picks = tuple(Pick(c, o, n) for (c, o), n in held.items())
        cases[combination] = one(Selection(catalogue.id, picks))
    known = [value for value in cases.values() if value is not None]
    return Figure(tuple(hangs_on.items()), cases, min(known, default=Decimal(0)))


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
