"""What a finding lacks: options of which none is picked, and any of which may be what it takes.

Two findings that lack the same are one need, which is told once.
"""

from __future__ import annotations

from collections.abc import Callable

from configurator.catalogue.fields import AnyOf, Condition, Pick, Test
from configurator.catalogue.model import Catalogue, Limit, Option
from configurator.selection.resolved import Resolved


def lacked(build: Resolved, needed: Condition | None) -> frozenset[Pick]:
    """Any of which a rule needs, where that is all that it needs and none is picked."""
    tests = needed.conditions if isinstance(needed, AnyOf) else (needed,)
    found: list[Pick] = []
    for test in tests:
        if not isinstance(test, Test) or (test.at_least, test.at_most) != (1, None):
            return frozenset()
        options = test.options or tuple(build.catalogue.by_id[test.choice].by_id)
        found += (Pick(test.choice, option) for option in options)
    picked = any(build.selection.quantity(*pick.key) for pick in found)
    return frozenset() if picked else frozenset(found)


def givers(catalogue: Catalogue, limit: Limit) -> frozenset[Pick]:
    """The options that give something of a limit."""
    return _such(catalogue, lambda option: option.given(limit.id) > 0)


def batteries(catalogue: Catalogue) -> frozenset[Pick]:
    """The options that are a battery."""
    return _such(catalogue, lambda o: o.power is not None and o.power.battery is not None)


def _such(catalogue: Catalogue, is_such: Callable[[Option], bool]) -> frozenset[Pick]:
    choices = catalogue.by_id.values()
    return frozenset(Pick(c.id, o.id) for c in choices for o in c.options if is_such(o))
