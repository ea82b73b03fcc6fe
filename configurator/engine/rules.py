"""Rules as constraints: clauses guarded by a variable of each rule's own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from configurator.catalogue.model import Rule
from configurator.engine.constraint import RULE, Compiled, Constraint, Explanation, Grounds
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.selection.rules import named_alone, rule_words, tests_of
from configurator.words import text


class RuleConstraint(Constraint):
    """One rule of the catalogue."""

    rank = RULE

    def __init__(self, search: Compiled, rule: Rule) -> None:
        self.catalogue, self.rule = search.catalogue, rule
        self.id, self.at = ConstraintId("rule", rule.id), rule.at
        self.name = text('"{title}"', title=rule.id)
        encoding = search.encoding
        guard = encoding.guard(self.id)
        self.applies = [] if rule.when is None else [encoding.literal(rule.when)]
        self.broken = []
        if rule.needs is not None:
            self.broken.append(-encoding.literal(rule.needs))
        if rule.rules_out is not None:
            self.broken.append(encoding.literal(rule.rules_out))
        for literal in self.broken:
            encoding.clauses.append([-guard, *(-when for when in self.applies), -literal])

    @property
    def says(self) -> str:
        """What it asks."""
        return rule_words(self.catalogue, self.rule)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """What its conditions ask about."""
        choices = {test.choice for test in tests_of(self.rule)}
        return ((choice, sorted(self.catalogue.by_id[choice].by_id)) for choice in sorted(choices))

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """None: its clauses say it to a search, and checks tell rules in words of their own."""
        return iter(())

    def explain(self, grounds: Grounds) -> Explanation:
        """What it says; its advice only where all that it asks about is decided.

        What is open may be picked as advised already, and that has not helped.
        """
        told = text("{rule} ({because:bare})", rule=self.says, because=self.rule.because)
        decided = all(test.choice in grounds.decided for test in tests_of(self.rule))
        named = {*named_alone(self.rule.when), *named_alone(self.rule.rules_out)}
        return Explanation(told, self.rule.hint if decided else "", names=frozenset(named))


def rules(search: Compiled) -> Iterator[RuleConstraint]:
    """The catalogue's, in the order of ids."""
    for rule in sorted(search.catalogue.rules, key=lambda rule: rule.id):
        yield RuleConstraint(search, rule)
