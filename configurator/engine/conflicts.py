"""Why something cannot be had: an irreducible conflict, as data first and as words after.

A conflict is a set of picks and facts that cannot all hold, and that can as soon as any one of
them is dropped. It is irreducible, not the smallest there may be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.model import Pick
from configurator.engine.encoding import Fact
from configurator.engine.search import Search
from configurator.selection.picks import Selection

__all__ = ["Conflict", "facts_against", "find_conflict"]

_Member: TypeAlias = tuple[str, str] | Fact
_Impossible: TypeAlias = Callable[[Sequence[_Member]], bool]


@frozen
class Conflict:
    """Picks and facts that cannot all hold; drop any one and the rest can.

    Attributes:
        wanted: the option asked for, which is one of them; None when only the picks were asked
            about.
        picks: other picks that take part.
        facts: rules, limits and fits that take part.
    """

    wanted: Pick | None
    picks: tuple[Pick, ...]
    facts: tuple[Fact, ...]


def find_conflict(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    quantity: int = 1,
) -> Conflict | None:
    """An irreducible conflict between the picks, the option wanted besides, and the facts.

    The same for the same catalogue and selection, whatever was asked before: which conflict is
    found hangs only on what can hold together, tried in a fixed order (U. Junker, "QuickXplain:
    Preferred Explanations and Relaxations for Over-Constrained Problems", AAAI 2004). Where the
    picks exclude each other without any fact, no fact is named.

    Args:
        search: the catalogue's search.
        selection: the picks.
        wanted: the option asked for, if any.
        quantity: how many of it.

    Returns:
        None when all of it can hold.

    Raises:
        SearchLimit: the search gave up.
    """
    search.travel(selection)
    encoding = search.encoding
    pick_literals = encoding.picks(selection)
    background = []
    if wanted is not None:
        background.append(encoding.at_least(*wanted, quantity))
        pick_literals.pop(wanted, None)
    facts = sorted(search.facts)
    members: list[_Member] = [*sorted(pick_literals), *facts]

    def impossible(some: Sequence[_Member]) -> bool:
        literals = [pick_literals[m] for m in some if not isinstance(m, Fact)]
        active = frozenset(m for m in some if isinstance(m, Fact))
        return search.sound([*background, *literals], active) is None

    if not impossible(members):
        return None
    picks_alone: list[_Member] = sorted(pick_literals)
    if impossible(picks_alone):
        members = picks_alone
    found = [] if impossible([]) else _quick_explain(impossible, [], members, changed=False)
    picks = [
        Pick(member[0], member[1], selection.quantity(*member))
        for member in found
        if not isinstance(member, Fact)
    ]
    needed = tuple(sorted(member for member in found if isinstance(member, Fact)))
    return Conflict(
        wanted=None if wanted is None else Pick(*wanted, quantity),
        picks=tuple(sorted(picks, key=lambda pick: (pick.choice, pick.option))),
        facts=needed,
    )


def facts_against(
    search: Search, literals: Sequence[int], facts: frozenset[Fact]
) -> tuple[Fact, ...]:
    """An irreducible set of those facts with which the literals cannot hold; they cannot with all.

    Raises:
        SearchLimit: the search gave up.
    """

    def impossible(some: Sequence[_Member]) -> bool:
        active = frozenset(member for member in some if isinstance(member, Fact))
        return search.sound(literals, active) is None

    if impossible([]):
        return ()
    found = _quick_explain(impossible, [], sorted(facts), changed=False)
    return tuple(sorted(member for member in found if isinstance(member, Fact)))


def _quick_explain(
    impossible: _Impossible,
    given: list[_Member],
    members: list[_Member],
    changed: bool,
) -> list[_Member]:
    """The part of ``members`` that, with ``given``, is impossible and irreducible."""
    if changed and impossible(given):
        return []
    if len(members) == 1:
        return members
    middle = len(members) // 2
    first, second = members[:middle], members[middle:]
    later = _quick_explain(impossible, [*given, *first], second, changed=bool(first))
    earlier = _quick_explain(impossible, [*given, *later], first, changed=bool(later))
    return [*earlier, *later]
