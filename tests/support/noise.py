"""A kind of constraint that the program does not have: what is picked may be only so loud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configurator.engine.constraint import LIMIT, Compiled, Constraint, Explanation, Grounds, Sums
from configurator.engine.violation import ConstraintId, Held, Violation

LOUDNESS = {("pump", "cheap"): 40, ("pump", "quiet"): 10, ("fan", "large"): 30, ("fan", "small"): 5}
"""Of each option, in a unit that adds up."""

MOST = 45


class Noise(Constraint):
    """Everything together is at most so loud."""

    rank = LIMIT
    lighter = True
    id, name = ConstraintId("noise", "night"), "the noise at night"

    def __init__(self, search: Compiled) -> None:
        self.encoding, self.at = search.encoding, search.catalogue.choices[0].at
        search.encoding.guard(self.id)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        for choice, option in LOUDNESS:
            yield choice, (option,)

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        if loudness(held) > MOST:
            loud = held.keys() & LOUDNESS.keys()
            yield Violation(self.id, tuple(-self.encoding.at_least(*key) for key in sorted(loud)))

    def linear(self, optimum: Sums) -> None:
        terms = [(loud, self.encoding.at_least(*key)) for key, loud in LOUDNESS.items()]
        optimum.at_most(terms, MOST)

    def explain(self, grounds: Grounds) -> Explanation:
        over = loudness(grounds.held) - MOST
        told = f"at {over + MOST} it would be {over} louder than allowed"
        return Explanation(told, "Choose something quieter.", numbers=(("over", over),))


def loudness(held: Held) -> int:
    """Of all that is held."""
    return sum(LOUDNESS.get(key, 0) * quantity for key, quantity in held.items())


def noises(search: Compiled) -> Iterator[Noise]:
    """The only one."""
    yield Noise(search)
