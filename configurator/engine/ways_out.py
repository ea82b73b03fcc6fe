"""The best fixes for a selection."""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from functools import partial
from typing import Any

import attrs
from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Choice
from configurator.engine.change_words import change_words
from configurator.engine.decision import decide
from configurator.engine.effort import Effort
from configurator.engine.encoding import variables
from configurator.engine.optimum import QUESTION, Optimum
from configurator.engine.search import OfOwner, Search
from configurator.engine.unknown_price import UnknownPrice
from configurator.engine.violation import Held
from configurator.errors import SearchLimit
from configurator.machine.solvers import unsettled
from configurator.money import Money, exponent
from configurator.pricing.price import list_price, price
from configurator.pricing.waiting import not_known, waits_between
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import undecided
from configurator.shapes.forms import form
from configurator.words import joined, text

_PATIENCE, _SOON, _LONG = 12, 2, 60
"""Crowded proposals refused for the best fix; for one of one change where that is not settled; and
for the best again where there is none. A canopy too short for six of its units is so given fixes in
18 CPU s, where it got no answer after 4.
"""

_LOOKING = text("the next one is still being looked for")
"""Why there may be more fixes, while they are found one by one."""


def _counts(picks: tuple[tuple[str, int], ...]) -> dict[str, int]:
    return dict(picks)


@form(shown={"before": _counts, "after": _counts})
@frozen(repr=False)
class ChoiceChange:
    """What a fix does to one choice.

    Attributes:
        choice: id of the choice.
        before: quantities by option id.
        after: quantities by option id.
    """

    choice: str
    before: tuple[tuple[str, int], ...]
    after: tuple[tuple[str, int], ...]


@form(hidden="parts costs")
@frozen(repr=False)
class ProposedFix:
    """A change of picks that makes the conflicts go away, proved by solving again.

    Attributes:
        words: what it does, and what that does to the price.
        parts: what each change does.
        costs: what that does to the price.
        changes: choice by choice.
        count: how many picks change: choices of one, and single options of the others.
        difference: total with it less total without, of what is picked so far; None while that
            is not known.
        selection: the selection with it.
        awaits: ids of the choices still to be made that the difference depends on.
        unpriced: titles of what has no price yet, so that the difference is not known.
    """

    words: str
    parts: tuple[str, ...]
    costs: str
    changes: tuple[ChoiceChange, ...]
    count: int
    difference: Money | None
    selection: Selection
    awaits: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()


@form("fixes", hidden="nothing_to_mend")
@frozen(repr=False)
class Fixes:
    """The best few fixes for a conflict, or for what is missing, best first.

    Attributes:
        currency: of the differences.
        fixes: the fixes; empty where there are none, or nothing has to be changed.
        go_together: whether the picks, and the option asked for, go together: what the fixes are
            for is that something is missing.
        nothing_to_mend: whether they go together and nothing is missing.
        unsettled: why there may be more fixes; empty where there are not.
    """

    currency: str
    fixes: tuple[ProposedFix, ...]
    go_together: bool
    nothing_to_mend: bool
    unsettled: str = ""

    @property
    def stopped(self) -> bool:
        """Whether no change of picks puts it right."""
        return not (self.fixes or self.nothing_to_mend)

    @property
    def looking(self) -> bool:
        """Whether the next fix is still being looked for."""
        return self.unsettled == _LOOKING


def fixes(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    count: int = 3,
    keep: Collection[Pick] = (),
) -> Fixes:
    """The best few changes after which the picks, and the option wanted, are available.

    While choices of one are open, the customer is still choosing: they stay open, as do the other
    choices of which nothing is picked and on which no price depends, and count nothing. Everything
    else that would have to differ is a change; where nothing is open, so is whatever would have to
    be added. Each fix is the best of those left: the one with the fewest changes; of those, one of
    another kind than each fix before it, where there is one: it changes other picks, or leaves out
    what that one replaces; of those, one that keeps the vehicle; of those, one that adds no more
    pieces of an option than it takes; of those, the one with the price nearest to that of the picks
    (list prices after package deals); of those, the one fewest places away in the catalogue's
    order, as the next longer canopy is. One whose price is not known yet, for it depends on choices
    still open or the catalogue has none, comes after those of known price. Where a room is so
    crowded that prices are not settled with little effort, the number of changes alone is sure:
    another fix of as many may be nearer in price, or have a price that is known. No fix holds all
    the changes of one before it; what is added beside a change of picks, such as a colour, may be
    any of its choice for that. There is nothing to mend, and no fix, where the picks and the option
    wanted are available without a change.

    An option that is wanted takes the place of a pick of the same choice of one. Choices, or
    ``choice=option``, may have to be kept.

    Raises:
        SearchLimit: it stopped before the first.
    """
    *_, answer = one_by_one(search, selection, wanted, count, keep)
    return answer


def one_by_one(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    count: int = 3,
    keep: Collection[Pick] = (),
) -> OfOwner[Fixes]:
    """As :func:`fixes`: the answer so far, after each fix that is found; the last one is whole.

    It may be abandoned after any of them, and other selections may be asked about in between.

    Raises:
        SearchLimit: it stopped before the first.
        RuntimeError: another thread made the search; it may go on.
    """
    return OfOwner(search, _in_turn(search, selection, wanted, count, keep))


def _in_turn(
    search: Search,
    asked_of: Selection,
    wanted: tuple[str, str] | None,
    count: int,
    keep: Collection[Pick],
) -> Generator[Fixes, None, None]:
    search.travel(asked_of)
    selection = asked_of if wanted is None else asked_of.wanting(wanted[0])
    still_open = _still_open(search, selection, wanted and wanted[0])
    decided = [choice for choice in search.encoding.choices if choice.id not in still_open]
    asked = [] if wanted is None else [search.encoding.at_least(*wanted)]
    picked = search.encoding.picks(selection)
    asked += picked.values()
    changed = dict(_changes(search, selection, decided))
    free = {wanted, wanted and (wanted[0], "")}
    as_it_is = [-one for key, one in changed.items() if key not in free]
    before = dict(_answers(decided, selection))
    stay = [
        -one
        for (choice, option), one in changed.items()
        if any(kept.covers(choice, option or str(before[choice, ""])) for kept in keep)
    ]
    stay += [literal for (_, option), literal in picked.items() if not option]
    together = whole = False
    with suppress(SearchLimit):  # a fix may be found all the same
        together = decide(search, asked) is not None
        whole = together and decide(search, [*asked, *as_it_is]) is not None
    unknown = () if whole else tuple(UnknownPrice(search, selection, changed, still_open).cases())
    always = stay if wanted is None else [search.encoding.at_least(*wanted), *stay]
    single: dict[tuple[tuple[str, str], bool], list[int]] = {}
    for key in (wanted, *changed):
        if key is not None and (key == wanted or before[key]):
            alone = [*always, *(-one for k, one in changed.items() if k not in {key, *free})]
            for taken in (True,) if key == wanted else (True, False):
                single[key, taken] = [*alone, _taken(search, key, taken)]
    known: dict[tuple[tuple[str, str], bool], ProposedFix] = {}

    def soon() -> Iterator[ProposedFix]:
        for one, literals in single.items():
            if fix := known.get(one) or _soon(search, selection, ordered, literals):
                known[one] = fix
                yield fix

    ordered = sorted(decided, key=lambda one: one.id != (wanted and wanted[0]))
    answer = Fixes(search.catalogue.currency, (), together, whole, "" if whole else _LOOKING)
    while answer.looking:
        if found := answer.fixes:
            yield answer
        search.travel(asked_of)
        later = ""
        left = partial(_ranked, search, selection, wanted, decided, changed, found, stay)
        try:
            with search.layouts.trying(Effort(few=True)):
                fix = _next_fix(search, selection, ordered, left, unknown, soon, not found)
        except SearchLimit as limit:
            if not found:
                raise
            fix, later = None, str(limit)
        if fix is not None:
            moved = dict(_answers(decided, fix.selection))
            for key, taken in [*single]:
                done = key == wanted or moved[key] != before[key]
                if done and (taken or not moved[key]):  # to leave out what is replaced is another
                    del single[key, taken]
            found = (*found, fix)
            later = _LOOKING if len(found) < count else ""
        answer = attrs.evolve(answer, fixes=found, unsettled=later)
    yield answer


def _still_open(search: Search, selection: Selection, wanted: str | None) -> frozenset[str]:
    """Ids of the choices that a fix leaves open."""
    catalogue, settled = search.catalogue, {*selection.chosen, *selection.empty, wanted}
    still_open = {*undecided(Resolved(catalogue, selection))} - settled
    if still_open:
        still_open |= {*catalogue.by_id} - settled - {*search.priced_by}
    return frozenset(still_open)


def _changes(
    search: Search, selection: Selection, decided: Sequence[Choice]
) -> Iterator[tuple[tuple[str, str], int]]:
    """For each answer that could change, the literal that says that it does."""
    for key, now in _answers(decided, selection):
        if now != "" or key[0] in search.encoding.empty:
            yield key, _is_not(search, key, now)


@unsettled(QUESTION)
def _fewest(
    left: Callable[[], tuple[Optimum, Any, Any]], patience: int
) -> tuple[Optimum, Any, Held, int] | None:
    """Of the fixes left those with the fewest changes: their model, its objective, one, its rank.

    None where no fix is left.
    """
    optimum, rank, far = left()
    optimum.patience = patience
    held = optimum.smallest(rank)
    if held is None:
        return None
    best = optimum.solver.value(rank)
    optimum.model.add(rank <= best)
    return optimum, far, held, best


def _next_fix(
    search: Search,
    selection: Selection,
    ordered: Sequence[Choice],
    left: Callable[[], tuple[Optimum, Any, Any]],
    unknown: Sequence[tuple[int, ...]],
    soon: Callable[[], Iterator[ProposedFix]],
    first: bool,
) -> ProposedFix | None:
    """The best fix left; where that is not settled, one of one change, if one is soon found.

    Where the price alone is not, it is the nearest of these. The first fix is looked for longer.
    """
    try:
        fewest = _fewest(left, _PATIENCE)
    except SearchLimit:
        if alone := next(soon(), None):
            return alone
        if not first:
            raise
        fewest = _fewest(left, _LONG)
    if fewest is None:
        return None
    optimum, far, found, best = fewest
    nearest = False
    with suppress(SearchLimit), unsettled(QUESTION):
        found, nearest = optimum.best(far) or found, True
    fix = _fix(search, selection, found, ordered)
    if fix.count == 1 and not nearest:
        fix = min((fix, *soon()), key=_how_far)
    if fix.difference is None:
        optimum, rank, far = left()
        optimum.model.add(rank <= best)
        optimum.require([-optimum.any_of(unknown)])
        with suppress(SearchLimit), unsettled(QUESTION):
            held = optimum.best(far)
            return fix if held is None else _fix(search, selection, held, ordered)
    return fix


def _soon(
    search: Search, selection: Selection, ordered: Sequence[Choice], literals: Sequence[int]
) -> ProposedFix | None:
    """A fix with what is true where only one pick is changed, if one is soon found."""
    try:
        bits = search.sound(literals, None, _SOON)
    except SearchLimit:
        return None
    if bits is None:
        return None
    return _fix(search, selection, search.encoding.held(variables(bits)), ordered)


def _how_far(fix: ProposedFix) -> tuple[bool, Decimal]:
    """How far the price is from that of the picks; last where it is not known."""
    by = fix.difference
    return by is None, Decimal(0) if by is None else abs(by.amount)


def _ranked(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None,
    decided: Sequence[Choice],
    changed: Mapping[tuple[str, str], int],
    found: Sequence[ProposedFix],
    stay: Iterable[int],
) -> tuple[Optimum, Any, Any]:
    """The fixes that are left as a model: the fewest changes and another kind, then the price.

    Of equally many changes those that keep the vehicle, which the customer has; then those that add
    no more pieces than it takes, which come near the price for no other end; of those of the same
    price, or of one that is not known, the fewest steps.
    """
    encoding = search.encoding
    optimum = Optimum(search, [] if wanted is None else [encoding.at_least(*wanted)])
    optimum.patience = _PATIENCE
    before = dict(_answers(decided, selection))
    for literal in stay:
        optimum.require([literal])
    others = []
    for fix in found:
        after = dict(_answers(decided, fix.selection))
        moved = [key for key in before if after[key] != before[key]]
        # what is added beside a change of picks may be any of its choice: a colour is no other fix
        beside = any(before[key] for key in moved)
        optimum.require(
            _taken(search, key, False)
            if beside and not before[key]
            else _is_not(search, key, after[key])
            for key in moved
        )
        elsewhere = (-one if key in moved else one for key, one in changed.items())
        otherwise = (_taken(search, key, not after[key]) for key in moved)
        others.append(encoding.any_of([*elsewhere, *otherwise]))
    still_open = frozenset(search.catalogue.by_id) - {choice.id for choice in decided}
    prices = optimum.price_terms(skip=still_open)
    listed = list_price(Resolved(search.catalogue, selection)).amount
    cents = int(listed.scaleb(exponent(search.catalogue.currency)))
    far = optimum.distance(prices, cents)
    # of two with equally few changes, the one of another kind: one sum for both
    varied = encoding.all_of(others)
    padding = [
        (1, encoding.at_least(*key, more))
        for key, now in before.items()
        if isinstance(now, int)
        for more in range(now + 2, len(encoding.quantities[key]) + 1)
    ]
    steps = [*_steps(search, decided, before)]
    far = far * (1 + sum(weight for weight, _ in steps)) + optimum.sum(steps)
    most = 1 + len(padding)
    fewest = [(4 * most, literal) for literal in changed.values()]
    another = [(most, literal) for (choice, _), literal in changed.items() if choice == VEHICLE]
    return optimum, optimum.sum([*fewest, (-2 * most, varied), *another, *padding]), far


def _steps(
    search: Search, decided: Iterable[Choice], before: Mapping[tuple[str, str], str | int]
) -> Iterator[tuple[int, int]]:
    """By how many places in the catalogue's order another option of a choice of one is away."""
    for choice in decided:
        places = [option.id for option in choice.options]
        if (was := before.get((choice.id, ""))) in places:
            for place, option in enumerate(places):
                yield (
                    abs(place - places.index(str(was))),
                    search.encoding.levels[choice.id, option, 1],
                )


def _answers(
    choices: Sequence[Choice], selection: Selection
) -> Iterator[tuple[tuple[str, str], str | int]]:
    """What a fix could change: how many of each option of several; else the answer, if any."""
    for choice in choices:
        if choice.pick == "several":
            for option in sorted(choice.by_id):
                yield (choice.id, option), selection.quantity(choice.id, option)
        else:
            yield (choice.id, ""), selection.one(choice.id) or ""


def _is_not(search: Search, key: tuple[str, str], answer: str | int) -> int:
    """A literal that is true where it has another answer."""
    encoding, (choice, option) = search.encoding, key
    if isinstance(answer, int):
        return encoding.not_exactly(choice, option, answer)
    if answer:
        return -encoding.levels[choice, answer, 1]
    return -encoding.empty[choice]


def _taken(search: Search, key: tuple[str, str], taken: bool) -> int:
    """A literal that is true where it has some answer; or, if not taken, none."""
    encoding, (choice, option) = search.encoding, key
    if option:
        literal = encoding.at_least(choice, option)
    elif choice in encoding.empty:
        literal = -encoding.empty[choice]
    else:
        literal = encoding.true
    return literal if taken else -literal


def _fix(
    search: Search, selection: Selection, held: Held, decided: Sequence[Choice]
) -> ProposedFix:
    changes, count, picks = [], 0, []
    for choice in decided:
        before = tuple((o, selection.quantity(choice.id, o)) for o in sorted(choice.by_id))
        after = tuple((o, held.get((choice.id, o), 0)) for o in sorted(choice.by_id))
        picks += [search.catalogue.picked(choice.id, option, n) for option, n in after if n]
        if before != after:
            several = choice.pick == "several"
            pairs = zip(before, after, strict=True)
            count += sum(b != a for b, a in pairs) if several else 1
            was, now = (tuple(pair for pair in each if pair[1]) for each in (before, after))
            changes.append(ChoiceChange(choice.id, was, now))
    mended = attrs.evolve(selection, picks=tuple(picks)).tidied()
    catalogue = search.catalogue
    old, new = Resolved(catalogue, selection), Resolved(catalogue, mended)
    waited = waits_between(old, new, search.priced_by, [change.choice for change in changes])
    difference = None if waited else price(new).total - price(old).total
    parts = tuple(
        change_words(catalogue.by_id[change.choice], dict(change.before), dict(change.after))
        for change in changes
    )
    costs = text("{difference:change}", difference=difference)
    if difference is None:
        costs = not_known(catalogue, waited.choices, waited.unpriced)
    words = text("{changes:capital}: {costs}", changes=joined(parts, text(", and ")), costs=costs)
    more = waited.choices, waited.unpriced
    return ProposedFix(words, parts, costs, tuple(changes), count, difference, mended, *more)
