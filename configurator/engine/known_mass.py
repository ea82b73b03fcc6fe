"""The constraint that the mass of what is picked can be told.

A table of masses may have no cell for what is picked, and what a mass is measured on may get no
size. Where nothing that is still open could tell it, nobody can weigh the package, and a check
stops its quote.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option
from configurator.engine.constraint import ALONE, Compiled, Constraint, Explanation, Grounds
from configurator.engine.encoding import State
from configurator.engine.figures import held_where, listed, states_in, widened
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.selection.resolved import Resolved
from configurator.selection.totals import MissingPicks, mass_of
from configurator.words import listed as listed_words, text

_MOST_WIDENING = 300


class KnownMass(Constraint):
    """The mass of one option can be told, wherever it is picked."""

    rank = ALONE

    def __init__(self, search: Compiled, choice: Choice, option: Option) -> None:
        self.encoding, self.catalogue = search.encoding, search.catalogue
        self.key, self.option = (choice.id, option.id), option
        name = str(Pick(*self.key))
        self.id, self.at = ConstraintId("not-weighed", name), option.at
        self.name = text('the mass of "{option}"', option=name)
        # an answer that brings nothing differs from none, after which a size may still come
        self.on = listed(
            {
                choice: {
                    *(self.catalogue.by_id[choice].by_id if choice in self.encoding.empty else some)
                }
                for choice, some in determiners_of(self.catalogue, option.mass).items()
            }
        )
        self._untold = cache(self._never_told)

    def _never_told(self, states: tuple[State, ...]) -> bool:
        """Whether those answers do not tell the mass, and nothing that is open could."""
        held = held_where(self.catalogue, self.on, states)
        try:
            mass_of(Resolved(self.catalogue, self.encoding.selection(held)), self.option)
        except MissingPicks as missing:
            return not missing.choices
        return False

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """The option, and what its mass depends on."""
        yield self.key[0], (self.key[1],)
        yield from self.on

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """One for all answers with which its mass cannot be told either."""
        states = states_in(held, self.on)
        if self.key not in held or not self._untold(states):
            return
        literals = [-self.encoding.at_least(*self.key)]
        sets = widened(self.catalogue, self.on, states, self._untold, _MOST_WIDENING)
        for (choice, options), alike in zip(self.on, sets, strict=True):
            literals += self.encoding.not_among(choice, options, alike)
        yield Violation(self.id, tuple(dict.fromkeys(literals)))

    def explain(self, grounds: Grounds) -> Explanation:
        """That the catalogue does not tell it, and what it depends on."""
        by_id, asked = self.catalogue.by_id, [choice for choice, _ in self.on]
        picks = sorted(key for key in grounds.held if key[0] in asked)
        title, choices = self.option.title, listed_words(by_id[choice].title for choice in asked)
        told = text(
            "the catalogue has no mass of {title} for any {choices}", title=title, choices=choices
        )
        if picks:
            titles = listed_words(by_id[choice].by_id[option].title for choice, option in picks)
            told = text(
                "the catalogue has no mass of {title} with {picks}", title=title, picks=titles
            )
        hint = text("Choose something else, or ask the shop to complete the catalogue.")
        return Explanation(told, hint, names=frozenset([self.key, *picks]))


def known_masses(search: Compiled) -> Iterator[KnownMass]:
    """One for each option whose mass some answers do not tell."""
    for choice in search.encoding.choices:
        for option in choice.options:
            if None in search.mass(choice, option).cases.values():
                yield KnownMass(search, choice, option)
