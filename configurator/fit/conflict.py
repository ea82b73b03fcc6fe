"""A minimal set of units that cannot go in together.

A unit that is left out may still come in as something to stand on, with all of its body: where a
sill is above the floor, a unit may only be in reach on top of another one. So the units of a reason
cannot go in together in whatever company, as long as nothing else comes that could carry them.
"""

from __future__ import annotations

from collections.abc import Set
from contextlib import suppress

from attrs import evolve

from configurator.errors import SearchLimit
from configurator.fit.carriers import only
from configurator.fit.rooms import Room, sums
from configurator.fit.search import GUESSES, MOST_ITEMS, SHORT_WORK, arrange
from configurator.machine.solvers import not_together, unsettled
from configurator.words import text

_MOST_UNSETTLED = 5
"""Sets of units that are not settled before the rest is kept as it is."""

_FEW = 30


def least_unfit(
    room: Room,
    must: frozenset[int] = frozenset(),
    asked: Set[tuple[str, str]] = frozenset(),
    opinions: int = 0,
    guesses: int = GUESSES,
) -> tuple[tuple[int, ...], bool]:
    """Items that cannot go in together, and whether it is proven that none can be spared.

    The room itself does not fit. Where a sum alone refuses it, the search starts from the units
    that the sum takes. Units nobody asked for are let go first, and small ones before large ones. A
    set that is not settled counts as one that may fit, and after a few of those the rest is kept.

    Args:
        room: does not fit.
        must: items that stay in any case.
        asked: choice and option of units that were asked for.
        opinions: how many sets OR-Tools is asked about that the search does not settle.
        guesses: the search's budget for one set.
    """

    def ease(index: int) -> tuple[object, ...]:
        item = room.items[index]
        return item.name.key in asked, item.volume, item.kind, -item.number

    order = sorted(set(range(len(room.items))) - must, key=ease)
    kept = _by_sums(room, order) if not must else set(range(len(room.items)))
    order = [index for index in order if index in kept]
    step, unsettled = len(order), 0
    needed: set[str] = set()
    while step:
        for start in range(0, len(order), step):
            part = set(order[start : start + step]) & kept
            kinds = {room.items[index].kind for index in part}
            if not part or not kept - part or kinds & needed or len(kept - part) > MOST_ITEMS:
                continue
            rest = only(room, kept - part)
            ask = opinions > 0 and len(rest.items) <= _FEW
            unfit, asked_model = _unfit(rest, guesses, ask)
            opinions -= asked_model
            if unfit is None:
                unsettled += 1
                if unsettled == _MOST_UNSETTLED:
                    return tuple(sorted(kept)), False
            elif unfit:
                kept -= part
            elif len(part) == 1:
                needed |= kinds
        step //= 2
    return tuple(sorted(kept)), not unsettled


def unfit_whatever_carries(room: Room, work: float) -> tuple[int, ...] | None:
    """Items that cannot go in together, whatever else of the room comes in to carry them.

    They are the ones that a refutation rests on: not the fewest there may be, but it takes no
    longer than to refuse the room. None where all that have to go in can, or that is not settled
    within the work allowed.
    """
    from configurator.fit.model import SEED, RoomModel

    question = text("whether {n} units go in together", n=len(room.items))
    core, must = None, room.must_at
    with suppress(SearchLimit), unsettled(question):
        every = tuple(evolve(item, optional=True) for item in room.items)
        model = RoomModel(evolve(room, items=every), assumed=must)
        core = not_together(model.model, list(model.there.values()), question, work, SEED)
    if core is None:
        return None
    # of one kind a later one goes in only where the earlier ones do
    last = dict(sorted((room.items[must[at]].kind, must[at]) for at in core))
    return tuple(at for at in must if at <= last.get(room.items[at].kind, -1))


def _unfit(room: Room, guesses: int, ask: bool) -> tuple[bool | None, bool]:
    """Whether the room does not fit, None where that is not settled; and whether OR-Tools said."""
    from configurator.fit.model import arrange_hard

    try:
        return arrange(room, hard=False, guesses=guesses) is None, False
    except SearchLimit:
        pass
    try:
        return (arrange_hard(room, SHORT_WORK) is None) if ask else None, ask
    except SearchLimit:
        return None, ask


def _by_sums(room: Room, order: list[int]) -> set[int]:
    """The fewest units that some sum refuses, let go in this order; all where none does.

    Of 38 591 options of crowded sales a quick question leaves 506, and 536 without.
    """
    found = [set(range(len(room.items)))]
    for amounts, most in sums(room):
        over = sum(amounts.values()) - most
        if over <= 0:
            continue
        taken = set(amounts)
        for index in order:
            if index in taken and amounts[index] < over:
                over -= amounts[index]
                taken.discard(index)
        found.append(taken)
    return min(found, key=lambda taken: (len(taken), sorted(taken)))
