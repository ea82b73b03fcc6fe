"""What constraints have against one selection as it is, complete or not: no solver is asked.

Compiling the shipped catalogue for that takes 1.4 ms.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import frozen

from configurator.catalogue.model import Choice, Option
from configurator.engine.constraint import LIMIT, RULE, Constraint, Explanation, Grounds, Kind
from configurator.engine.encoding import Encoding
from configurator.engine.figures import Figure, Insides, masses
from configurator.engine.layouts import Layouts
from configurator.engine.violation import ConstraintId, Violation
from configurator.errors import SearchLimit
from configurator.mass.demands import let_pass
from configurator.selection.resolved import Resolved
from configurator.words import text


@frozen
class Refusal:
    """A constraint that a selection breaks.

    Attributes:
        constraint: which one.
        told: what it says of the selection.
        may_come: whether more picks may still mend it, with all picks kept.
    """

    constraint: Constraint
    told: Explanation
    may_come: bool


class _NoSearch:
    """What constraints are made from, without a search."""

    def __init__(self, build: Resolved) -> None:
        self.catalogue = build.offering
        self.encoding = Encoding(self.catalogue)
        self.insides = Insides(self.encoding)
        self.layouts = Layouts(self.insides)

    def mass(self, choice: Choice, option: Option) -> Figure:
        """The mass of one of the option."""
        return masses(self.insides.answers, choice, option)


def refusals(build: Resolved, kinds: Iterable[Kind]) -> Iterator[Refusal]:
    """What constraints of those kinds have against the selection, in the order of their ids.

    What one of them does not settle counts as broken.
    """
    compiled, travel = _NoSearch(build), build.selection.travel
    passed = let_pass(build.catalogue, build.selection.overrides)
    there = (one.where(travel.people) for kind in kinds for one in kind(compiled))
    asked = sorted((one for one in there if one.override not in passed), key=lambda one: one.id)
    held = dict(build.selection.quantities)
    for one in asked:
        try:
            found = list(one.violations(held, one.rests_on | {one.id}))
        except SearchLimit as limit:
            told = text("{name} is not settled: {why}", name=one.name, why=limit.args[0])
            yield Refusal(one, Explanation(told), may_come=True)
        else:
            if found:
                may_come = all(_may_come(build, compiled.encoding, each) for each in found)
                yield Refusal(one, one.explain(_grounds(build, compiled.encoding, asked)), may_come)


def _may_come(build: Resolved, encoding: Encoding, violation: Violation) -> bool:
    """Whether more picks may make the violation's clause true; a condition, while any may come."""
    more = {choice.id for choice in build.catalogue.by_id.values() if build.takes_more(choice)}
    keys = ((literal, encoding.level_of.get(abs(literal))) for literal in violation.clause)
    if not more:
        return False
    return any(key is None or (literal > 0 and key[0] in more) for literal, key in keys)


def _grounds(build: Resolved, encoding: Encoding, asked: Iterable[Constraint]) -> Grounds:
    """The selection in place of a conflict: all of it takes part, and nothing else is possible."""
    held, ranks = dict(build.selection.quantities), {one.id: one.rank for one in asked}
    bits = encoding.bits(held)
    true = {level if bits >> level & 1 else -level for level in encoding.level_of}
    for clause in encoding.clauses * 2:  # a condition may be made of others that come after it
        unknown = [literal for literal in clause if -literal not in true]
        if len(unknown) == 1:
            true.add(unknown[0])

    def possible(literals: Sequence[int], _: frozenset[ConstraintId] | None) -> bool:
        return true.issuperset(literals)

    def up_to(rank: int) -> frozenset[ConstraintId]:
        return frozenset(one for one, its in ranks.items() if its <= rank)

    decided = build.selection.empty.union(choice for choice, _ in held)
    return Grounds(held, held, decided, frozenset(ranks), up_to(RULE), up_to(LIMIT), possible)
