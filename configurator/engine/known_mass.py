"""The constraint that the mass of what is picked can be told.

A table of masses may have no cell for what is picked, and what a mass is measured on may get no
size. Nobody can weigh such a package, and a check stops its quote.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option
from configurator.engine.constraint import ALONE, Compiled, Constraint, Explanation, Grounds
from configurator.engine.encoding import State
from configurator.engine.figures import states_in, widened
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.words import listed, text


class KnownMass(Constraint):
    """The mass of one option can be told, wherever it is picked."""

    rank = ALONE

    def __init__(self, search: Compiled, choice: Choice, option: Option) -> None:
        self.encoding, self.catalogue = search.encoding, search.catalogue
        self.key, self.option = (choice.id, option.id), option
        name = str(Pick(*self.key))
        self.id, self.at = ConstraintId("not-weighed", name), option.at
        self.name = text('the mass of "{option}"', option=name)
        self.figure = search.mass(choice, option)

    def _untold(self, states: tuple[State, ...]) -> bool:
        return self.figure.cases[states] is None

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The option, and what its mass depends on."""
        yield self.key[0], (self.key[1],)
        yield from self.figure.on

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """One for all answers with which its mass cannot be told either."""
        states = states_in(held, self.figure.on)
        if self.key not in held or not self._untold(states):
            return
        literals = [-self.encoding.at_least(*self.key)]
        every = len(self.figure.cases)
        sets = widened(self.catalogue, self.figure.on, states, self._untold, every)
        for (choice, options), alike in zip(self.figure.on, sets, strict=True):
            literals += self.encoding.not_among(choice, options, alike)
        yield Violation(self.id, tuple(dict.fromkeys(literals)))

    def explain(self, grounds: Grounds) -> Explanation:
        """That the catalogue does not tell it, and what it depends on."""
        asked = {choice for choice, _ in self.figure.on}
        picks = sorted(key for key in grounds.held if key[0] in asked)
        titles = listed(self.catalogue.option(*key).title for key in picks)
        told = text("the catalogue has no mass of {title}", title=self.option.title)
        if picks:
            told = text("{told} with {picks}", told=told, picks=titles)
        hint = text("Choose something else, or ask the shop to complete the catalogue.")
        return Explanation(told, hint, names=frozenset([self.key, *picks]))


def known_masses(search: Compiled) -> Iterator[KnownMass]:
    """One for each option whose mass some answers do not tell."""
    for choice in search.encoding.choices:
        for option in choice.options:
            if None in search.mass(choice, option).cases.values():
                yield KnownMass(search, choice, option)
