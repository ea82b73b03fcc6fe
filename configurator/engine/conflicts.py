"""Why something is not available: an irreducible conflict, as data first and as words after.

A conflict is a set of picks and facts that cannot all hold, and that can as soon as any one of
them is dropped. It is irreducible, not the smallest there may be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.engine.constraint import ALONE, LIMIT, RULE, ConstraintId, Explanation, Grounds
from configurator.engine.search import Search
from configurator.forms import form
from configurator.selection.picks import Selection

_Member: TypeAlias = tuple[str, str] | ConstraintId
_Refuted: TypeAlias = Callable[[Sequence[_Member]], frozenset[int] | None]
"""The literals that a refutation of the members rests on, or None where they can hold."""


@form(hidden="wanted numbers")
@frozen
class Conflict:
    """Picks and facts that cannot all hold; drop any one and the rest can.

    Attributes:
        wanted: the option asked for, which is one of them; None when only the picks were asked
            about.
        picks: other picks that take part.
        facts: rules, limits and fits that take part.
        numbers: what each of them has to say.
    """

    wanted: Pick | None
    picks: tuple[Pick, ...]
    facts: tuple[ConstraintId, ...]
    numbers: tuple[Explanation, ...]


def find_conflict(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    quantity: int = 1,
    quick: bool = False,
) -> Conflict | None:
    """An irreducible conflict between the picks, the option wanted as well, and the facts.

    The same for the same catalogue and selection, whatever was asked before: which conflict is
    found hangs only on what can hold together, tried in a fixed order (U. Junker, "QuickXplain:
    Preferred Explanations and Relaxations for Over-Constrained Problems", AAAI 2004). Rules, limits
    and units that do not fit on their own come before axle ratings and layouts, which are dear to
    ask about and harder to read: these are named only where the others are not enough. Where the
    picks exclude each other without any fact, no fact is named.

    Args:
        search: the catalogue's search.
        selection: the picks.
        wanted: the option asked for, if any.
        quantity: how many of it.
        quick: give up on reasons that rest on how crowded rooms are, which may take minutes.

    Returns:
        None when all of it can hold.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    search.travel(selection)
    encoding = search.encoding
    pick_literals = encoding.picks(selection)
    background = []
    if wanted is not None:
        background.append(encoding.at_least(*wanted, quantity))
        pick_literals.pop(wanted, None)
    members: list[_Member] = [*sorted(pick_literals), *sorted(search.active)]

    def refuted(some: Sequence[_Member]) -> frozenset[int] | None:
        literals = [pick_literals[m] for m in some if not isinstance(m, ConstraintId)]
        active = frozenset(m for m in some if isinstance(m, ConstraintId))
        found = search.sound([*background, *literals], active, quick=quick)
        return search.core if found is None else None

    literal_of = {
        m: encoding.guards[m] if isinstance(m, ConstraintId) else pick_literals[m] for m in members
    }
    found = _preferred(refuted, _up_to(search, members, ALONE), literal_of)
    if found is None:
        found = _preferred(refuted, members, literal_of)
    if found is None:
        return None
    named = sorted(member for member in found if not isinstance(member, ConstraintId))
    picks = tuple(Pick(*member, selection.quantity(*member)) for member in named)
    needed = tuple(sorted(member for member in found if isinstance(member, ConstraintId)))
    asked = None if wanted is None else Pick(*wanted, quantity)
    return Conflict(asked, picks, needed, _numbers(search, selection, (*picks, asked), needed))


def _up_to(search: Search, members: Iterable[_Member], rank: int) -> list[_Member]:
    """Picks, and constraints that are as cheap to ask about."""
    return [
        one
        for one in members
        if not isinstance(one, ConstraintId) or search.constraints[one].rank <= rank
    ]


def _numbers(
    search: Search,
    selection: Selection,
    picks: Iterable[Pick | None],
    members: Sequence[ConstraintId],
) -> tuple[Explanation, ...]:
    """What the members have to say, calculated while there is a search to ask."""
    held = {(pick.choice, pick.option): pick.quantity for pick in picks if pick is not None}

    def possible(literals: Sequence[int], active: frozenset[ConstraintId] | None) -> bool:
        return search.sound(literals, active) is not None

    def up_to(rank: int) -> frozenset[ConstraintId]:
        return frozenset(one for one in members if search.constraints[one].rank <= rank)

    every = dict(selection.quantities) | held
    grounds = Grounds(held, every, frozenset(members), up_to(RULE), up_to(LIMIT), possible)
    return tuple(search.constraints[one].explain(grounds) for one in members)


def facts_against(
    search: Search, literals: Sequence[int], facts: frozenset[ConstraintId]
) -> tuple[ConstraintId, ...]:
    """An irreducible set of those facts with which the literals cannot hold; they cannot with all.

    Raises:
        SearchLimit: the search stopped without an answer.
    """

    def refuted(some: Sequence[_Member]) -> frozenset[int] | None:
        active = frozenset(member for member in some if isinstance(member, ConstraintId))
        return search.core if search.sound(literals, active) is None else None

    literal_of: dict[_Member, int] = {fact: search.encoding.guards[fact] for fact in facts}
    found = _preferred(refuted, sorted(facts), literal_of)
    assert found is not None
    return tuple(sorted(member for member in found if isinstance(member, ConstraintId)))


def _preferred(
    refuted: _Refuted, members: Sequence[_Member], literal_of: Mapping[_Member, int]
) -> list[_Member] | None:
    """The irreducible part of the members that cannot hold together; None where all can.

    Of all irreducible parts it is the one whose last member comes first, then whose last but one
    does, and so on: the preferred conflict of the paper. What a refutation rests on says how many
    members from the end can be spared at once, so it changes how soon the part is found, not which.
    """
    core = refuted(members)
    if core is None:
        return None
    left = list(members)
    kept: list[_Member] = []
    while True:
        while left and literal_of[left[-1]] not in core:
            left.pop()
        if not left:
            return kept[::-1]
        last = left.pop()
        smaller = refuted([*left, *kept])
        if smaller is None:
            kept.append(last)
        else:
            core = smaller
