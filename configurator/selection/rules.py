"""Rules: what a condition says of a selection, and which rules a selection breaks.

While a choice of one has no pick, conditions on it are unknown rather than false, so a partial
selection breaks a rule only where no further pick could mend it by itself. Asked about what may
still come, so are conditions on what may still be picked of any other choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from configurator.catalogue.fields import AllOf, AnyOf, Condition, NoneOf, Test, tests_in
from configurator.catalogue.model import Catalogue, Rule
from configurator.selection.resolved import Resolved, once
from configurator.words import InLanguages, Text, joined, listed, of_choice, text

_JOINTS = (",", " and ", " or ", " und ", " oder ")
"""What may not stand bare in a title beside others: sentences are joined by it."""


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
    elif growing and build.takes_more(choice):
        several = choice.pick == "several"
        high = sum(choice.by_id[option].most for option in options) if several else 1
    if test.at_least <= low and (test.at_most is None or high <= test.at_most):
        return True
    if test.at_least > high or (test.at_most is not None and low > test.at_most):
        return False
    return None


def in_words(
    catalogue: Catalogue,
    condition: Condition,
    build: Resolved | None = None,
    said: str = "",
    within: type[Condition] | None = None,
) -> Text:
    """The condition as part of a sentence, such as ``Canopy height: 1000 mm or 1200 mm``.

    With a build, only those of the named options that it holds are reported. Of the choice whose
    id was said before, the options alone are told. What it is a part of says how its own parts
    are kept together: ``A and either B or C``, ``A and B together or C``.
    """
    if isinstance(condition, Test):
        return _test_in_words(catalogue, condition, build, said, within)
    told = _telling(condition, build)
    if len(told) == 1 and not isinstance(condition, NoneOf):
        return in_words(catalogue, told[0], build, said, within)
    parts = [in_words(catalogue, part, build, said, type(condition)) for part in told]
    if isinstance(condition, AllOf):
        every = listed(parts)
        return every if within is None else text("{conditions} together", conditions=every)
    if isinstance(condition, AnyOf):
        return _either(parts, within)
    if len(parts) > 1:
        return text("neither {conditions}", conditions=joined(parts, text(" nor ")))
    return text("not {condition}", condition=parts[0])


def rule_words(catalogue: Catalogue, rule: Rule, build: Resolved | None = None) -> Text:
    """What the rule asks, as a sentence without a full stop.

    With a build, of what it applies to only those options are reported that it holds.
    """
    said = rule.when.choice if isinstance(rule.when, Test) else ""
    asked, needed = _asked(rule)
    within, holding = (None, None) if needed else (NoneOf, build)
    ruled = in_words(catalogue, asked, holding, said, within)
    if rule.when is None and needed:
        return text("every package must have {condition}", condition=ruled)
    if rule.when is None:
        return text("no package can have {condition}", condition=ruled)
    when = _plain(rule.when)
    package = _package(catalogue, when, build)
    if package and needed:
        return text("{package} must have {condition}", package=package, condition=ruled)
    if package:
        return text("{package} cannot have {condition}", package=package, condition=ruled)
    known = {"when": in_words(catalogue, when, build), "condition": ruled}
    only = all(catalogue.by_id[t.choice].pick == "one" or not t.at_least for t in tests_in(asked))
    if isinstance(when, AllOf):
        if needed and only:
            return text("{when} together can only go with {condition}", **known)
        if needed:
            return text("{when} together must come with {condition}", **known)
        return text("{when} together cannot go with {condition}", **known)
    if needed and only:
        return text("{when} can only go with {condition}", **known)
    if needed:
        return text("{when} must come with {condition}", **known)
    return text("{when} cannot go with {condition}", **known)


def _asked(rule: Rule) -> tuple[Condition, bool]:
    """What the rule is about, without a "no" where that is all; whether it needs that."""
    needed = rule.needs is not None
    asked = rule.needs if rule.needs is not None else rule.rules_out
    assert asked is not None
    asked = _plain(asked)
    return (_opposite(asked), not needed) if _negative(asked) else (asked, needed)


def _plain(condition: Condition) -> Condition:
    """The same condition, denying no more than a test or several that none of them may hold."""
    if isinstance(condition, Test):
        return condition
    parts = tuple(map(_plain, condition.conditions))
    if not isinstance(condition, NoneOf):
        return parts[0] if len(parts) == 1 else attrs.evolve(condition, conditions=parts)
    if len(parts) == 1:
        return _opposite(parts[0])
    if any(map(_may_lack, parts)):
        return AllOf(tuple(map(_opposite, parts)))
    return NoneOf(parts)


def _opposite(condition: Condition) -> Condition:
    """What holds where the plain condition does not, plain too."""
    if isinstance(condition, NoneOf):
        return AnyOf(condition.conditions)
    if isinstance(condition, AnyOf):
        return _plain(NoneOf(condition.conditions))
    if isinstance(condition, AllOf):
        return AnyOf(tuple(map(_opposite, condition.conditions)))
    outside: list[Condition] = []
    if condition.at_least:
        outside.append(attrs.evolve(condition, at_least=0, at_most=condition.at_least - 1))
    if condition.at_most is not None:
        outside.append(attrs.evolve(condition, at_least=condition.at_most + 1, at_most=None))
    if not outside:
        return NoneOf((condition,))
    return outside[0] if len(outside) == 1 else AnyOf(tuple(outside))


def _negative(condition: Condition) -> bool:
    """Whether the plain condition asks for nothing but that something is not there."""
    if isinstance(condition, Test):
        return condition.at_most == 0
    return isinstance(condition, NoneOf) or all(map(_negative, condition.conditions))


def _package(catalogue: Catalogue, when: Condition, build: Resolved | None) -> Text | None:
    """What a rule applies to, where that is not something picked but a package."""
    if isinstance(when, Test) and when.at_most == 0:
        without = in_words(catalogue, _opposite(when), build, within=NoneOf)
        return text("a package without {condition}", condition=without)
    if _may_lack(when):
        return text("a package with {condition}", condition=in_words(catalogue, when, build))
    return None


def named_alone(condition: Condition | None) -> Iterator[tuple[str, str]]:
    """Choices and options of which the condition in words says that they have to be picked."""
    if isinstance(condition, AllOf):
        for part in condition.conditions:
            yield from named_alone(part)
        return
    if not isinstance(condition, Test) or len(condition.options) != 1:
        return
    if (condition.at_least, condition.at_most) == (1, None):
        yield condition.choice, condition.options[0]


def _may_lack(condition: Condition) -> bool:
    """Whether the condition, or a part of it, holds of something that is not picked."""
    if isinstance(condition, Test):
        return not condition.at_least
    return isinstance(condition, NoneOf) or any(map(_may_lack, condition.conditions))


def _either(parts: Sequence[str], within: type[Condition] | None) -> Text:
    """Alternatives in a sentence; beside what else has to hold, said to be alternatives."""
    any_of = listed(parts, alternatives=True)
    if within is AllOf and len(parts) > 1:
        return text("either {conditions}", conditions=any_of)
    return any_of


def _set_off(titles: Sequence[str]) -> Sequence[str]:
    """The titles, in quotation marks where the sentence could be taken for a part of one."""
    versions = (
        version
        for title in titles
        for version in (title.versions.values() if isinstance(title, InLanguages) else (title,))
    )
    if any(joint in version for version in versions for joint in _JOINTS):
        return [text('"{title}"', title=title) for title in titles]
    return titles


def _telling(condition: AllOf | AnyOf | NoneOf, build: Resolved | None) -> tuple[Condition, ...]:
    """The parts worth telling: of alternatives, those that hold."""
    if build is None or not isinstance(condition, AnyOf):
        return condition.conditions
    holding = tuple(p for p in condition.conditions if holds(build, p))
    return holding or condition.conditions


def _test_in_words(
    catalogue: Catalogue,
    test: Test,
    build: Resolved | None,
    said: str,
    within: type[Condition] | None,
) -> Text:
    choice = catalogue.by_id[test.choice]
    options = test.options
    if build is not None:
        options = tuple(o for o in options if build.selection.quantity(test.choice, o)) or options
    titles = [choice.by_id[option].title for option in options]
    named = joined(_set_off([choice.title]))
    if titles:
        named = _either(_set_off(titles), within)
        if test.choice != said:
            named = of_choice(choice.title, titles, named)
    if test.at_most == 0:
        return text("no {named}", named=named)
    if (test.at_least, test.at_most) == (1, None):
        return named
    if not test.at_least and test.at_most is None:
        return text("any number of {named}", named=named)
    known = {"named": named, "least": test.at_least, "most": test.at_most}
    if test.at_most is None:
        return text("{least} or more of {named}", **known)
    if not test.at_least:
        return text("at most {most} of {named}", **known)
    return text("at least {least} and at most {most} of {named}", **known)
