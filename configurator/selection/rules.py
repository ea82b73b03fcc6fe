"""Rules: what a condition says of a selection, and which rules a selection breaks.

While a choice of one has no pick, conditions on it are unknown rather than false, so a partial
selection breaks a rule only where no further pick could mend it by itself. Asked about what may
still come, so are conditions on what may still be picked of any other choice.
"""

from __future__ import annotations

from collections.abc import Iterator

from configurator.catalogue.fields import AllOf, AnyOf, Condition, NoneOf, Test, tests_in
from configurator.catalogue.model import Catalogue, Rule
from configurator.selection.resolved import Resolved, once
from configurator.words import Text, joined, of_choice, text


def holds(build: Resolved, condition: Condition | None, growing: bool = False) -> bool | None:
    """Whether the condition holds; None while that depends on a choice that is still open.

    Three-valued logic after Kleene; no condition at all holds.

    Args:
        build: what is picked.
        condition: the condition.
        growing: whether choices that may stay empty, or have more, are open too.
    """
    if condition is None:
        return True
    if isinstance(condition, Test):
        return _test(build, condition, growing)
    deciding = not isinstance(condition, AllOf)
    unknown = False
    for part in condition.conditions:
        found = holds(build, part, growing)
        if found is deciding:
            return not isinstance(condition, AllOf | NoneOf)
        unknown = unknown or found is None
    return None if unknown else isinstance(condition, AllOf | NoneOf)


@once
def broken_rules(build: Resolved) -> tuple[Rule, ...]:
    """The rules that the selection breaks, in the catalogue's order."""
    return tuple(rule for rule in build.catalogue.rules if breaks(build, rule))


def breaks(build: Resolved, rule: Rule, growing: bool = False) -> bool:
    """Whether the selection breaks the rule; growing: whatever is picked in addition."""
    if not holds(build, rule.when, growing):
        return False
    ruled_out = rule.rules_out is not None and holds(build, rule.rules_out, growing)
    return bool(ruled_out) or holds(build, rule.needs, growing) is False


def tests_of(rule: Rule) -> Iterator[Test]:
    """Every test in the conditions of the rule: what it asks about."""
    for condition in (rule.when, rule.needs, rule.rules_out):
        if condition is not None:
            yield from tests_in(condition)


def _test(build: Resolved, test: Test, growing: bool) -> bool | None:
    choice = build.catalogue.by_id[test.choice]
    picked = build.selection.chosen.get(test.choice, ())
    options = test.options or tuple(choice.by_id)
    low = high = sum(build.selection.quantity(test.choice, option) for option in options)
    if choice.pick == "one" and not picked:
        low, high = int(set(options) == set(choice.by_id)), 1
    elif growing and choice.pick == "several":
        high = sum(choice.by_id[option].most for option in options)
    elif growing and not picked:
        high = 1
    if test.at_least <= low and (test.at_most is None or high <= test.at_most):
        return True
    if test.at_least > high or (test.at_most is not None and low > test.at_most):
        return False
    return None


def in_words(
    catalogue: Catalogue, condition: Condition, build: Resolved | None = None, said: str = ""
) -> Text:
    """The condition as part of a sentence, such as ``Canopy height: 1000 mm or 1200 mm``.

    With a build, only those of the named options that it holds are reported. Of the choice whose
    id was said before, the options alone are told.
    """
    if isinstance(condition, Test):
        return _test_in_words(catalogue, condition, build, said)
    parts = [in_words(catalogue, part, build, said) for part in _telling(condition, build)]
    if isinstance(condition, AllOf):
        return joined(parts, text(" and "))
    if isinstance(condition, AnyOf):
        return joined(parts, text(" or "))
    if len(parts) > 1:
        return text("neither {conditions}", conditions=joined(parts, text(" nor ")))
    return text("not {condition}", condition=parts[0])


def rule_words(catalogue: Catalogue, rule: Rule, build: Resolved | None = None) -> Text:
    """What the rule asks, as a sentence without a full stop.

    With a build, of what it applies to only those options are reported that it holds.
    """
    when = in_words(catalogue, rule.when, build) if rule.when else text("every package")
    said = rule.when.choice if isinstance(rule.when, Test) else ""
    if rule.rules_out is not None:
        ruled = in_words(catalogue, rule.rules_out, build, said)
        return text("{when} rules out {condition}", when=when, condition=ruled)
    assert rule.needs is not None
    needed = in_words(catalogue, rule.needs, said=said)
    return text("{when} needs {condition}", when=when, condition=needed)


def _telling(condition: AllOf | AnyOf | NoneOf, build: Resolved | None) -> tuple[Condition, ...]:
    """The parts worth telling: of alternatives, those that hold."""
    if build is None or not isinstance(condition, AnyOf):
        return condition.conditions
    holding = tuple(p for p in condition.conditions if holds(build, p))
    return holding or condition.conditions


def _test_in_words(catalogue: Catalogue, test: Test, build: Resolved | None, said: str) -> Text:
    choice = catalogue.by_id[test.choice]
    options = test.options
    if build is not None:
        options = tuple(o for o in options if build.selection.quantity(test.choice, o)) or options
    titles = [choice.by_id[option].title for option in options]
    named = text("{choice}", choice=choice.title)
    if titles:
        named = joined(titles, text(" or "))
        if test.choice != said:
            named = of_choice(choice.title, titles, named)
    if test.at_most == 0 and titles:
        return text("no {named}", named=named)
    if test.at_most == 0:
        return text("no option of {choice}", choice=choice.title)
    if (test.at_least, test.at_most) == (1, None):
        return named if titles else text("an option of {choice}", choice=choice.title)
    if not test.at_least and test.at_most is None:
        return text("any number of {named}", named=named)
    known = {"named": named, "least": test.at_least, "most": test.at_most}
    if test.at_most is None:
        return text("at least {least} of {named}", **known)
    if not test.at_least:
        return text("at most {most} of {named}", **known)
    return text("at least {least} and at most {most} of {named}", **known)
