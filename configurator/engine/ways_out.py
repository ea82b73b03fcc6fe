"""The best fixes for a selection, and the best ways to complete it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal

import attrs
from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice
from configurator.engine.constraint import Held
from configurator.engine.optimum import Optimum
from configurator.engine.search import Search
from configurator.errors import SearchLimit
from configurator.forms import form
from configurator.money import Money, exponent
from configurator.pricing.whole import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import total_mass, undecided
from configurator.words import Text, joined, several, text

PREFERENCES = ("price", "mass", "space")
"""What a selection can be finished for: cheapest, lightest, or most free volume."""


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


@form(hidden="parts")
@frozen(repr=False)
class ProposedFix:
    """A change of picks that makes the conflicts go away, proved by solving again.

    Attributes:
        words: what it does, and what that does to the price.
        parts: what each change does.
        changes: choice by choice.
        count: how many picks change: choices of one, and single options of the others.
        difference: total with it less total without, of what is picked so far.
        selection: the selection with it.
    """

    words: str
    parts: tuple[str, ...]
    changes: tuple[ChoiceChange, ...]
    count: int
    difference: Money
    selection: Selection


@form("fixes", hidden="nothing_to_mend")
@frozen(repr=False)
class Fixes:
    """The best few fixes for a conflict, best first.

    Attributes:
        currency: of the differences.
        fixes: the fixes; empty where there are none, or nothing has to be mended.
        nothing_to_mend: whether the picks, and the option asked for, go together as they are.
    """

    currency: str
    fixes: tuple[ProposedFix, ...]
    nothing_to_mend: bool

    @property
    def stopped(self) -> bool:
        """Whether no change of picks mends it."""
        return not (self.fixes or self.nothing_to_mend)


@form("completion", hidden="price", also="currency total")
@frozen(repr=False)
class Completion:
    """The best complete selection that holds the picks.

    Attributes:
        prefer: ``price``, ``mass`` or ``space``.
        price: what it costs.
        mass: what it weighs empty, kg; None where the catalogue does not tell.
        added: what was chosen in addition to the picks.
        selection: the selection.
    """

    prefer: str
    price: Price
    mass: Decimal | None
    added: tuple[Pick, ...]
    selection: Selection

    @property
    def currency(self) -> str:
        """ISO 4217 code of the total."""
        return self.price.currency

    @property
    def total(self) -> Money:
        """What the whole costs, with tax."""
        return self.price.total


def complete(search: Search, selection: Selection, prefer: str = "price") -> Selection | None:
    """The best complete sound selection that holds the picks, or None where there is none.

    Args:
        search: the catalogue's search.
        selection: the picks so far.
        prefer: ``price`` (least list price after package deals), ``mass`` (least empty mass) or
            ``space`` (most clear inside less the bodies of units, then least price).

    Raises:
        SearchLimit: it stopped without an answer.
        ValueError: there is no such preference.
    """
    if prefer not in PREFERENCES:
        raise ValueError(f"{prefer!r} is none of {', '.join(PREFERENCES)}")
    held = _finish(search, selection, prefer)
    return None if held is None else _with(search, selection, held)


def completion(search: Search, build: Resolved, prefer: str) -> Completion | None:
    """As :func:`complete`, with what it costs, weighs and adds."""
    finished = complete(search, build.selection, prefer)
    if finished is None:
        return None
    whole = build.having(finished)
    return Completion(prefer, price(whole), total_mass(whole), added(build, finished), finished)


def added(build: Resolved, finished: Selection) -> tuple[Pick, ...]:
    """What the finished selection holds more of, in the catalogue's order, in its quantities."""
    return tuple(
        Pick(choice.id, option.id, quantity, option.measured)
        for choice, option, quantity in build.having(finished).picks
        if quantity > build.selection.quantity(choice.id, option.id)
    )


def _finish(search: Search, selection: Selection, prefer: str) -> Held | None:
    search.travel(selection)
    literals = list(search.encoding.picks(selection).values())
    try:
        if search.sound(literals) is None:
            return None
    except SearchLimit:
        pass  # the optimiser settles sums at which the search stopped
    optimum = Optimum(search)
    for literal in literals:
        optimum.require([literal])
    if prefer == "mass":
        return optimum.best(optimum.sum(optimum.mass_terms()))
    cost = optimum.sum(optimum.price_terms())
    if prefer == "price":
        return optimum.best(cost)
    bodies = optimum.sum(optimum.body_terms())
    spaces = [list(search.insides.sides(space.id).values()) for space in search.catalogue.spaces]
    volumes = [optimum.volume(sides) for sides in spaces if all(side.steps for side in sides)]
    return optimum.best(bodies - sum(volumes), cost)


def _with(search: Search, selection: Selection, held: Held) -> Selection:
    picks = search.encoding.selection(held).picks
    return attrs.evolve(selection, picks=picks).tidied()


def fixes(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    count: int = 3,
    keep: Collection[Pick] = (),
) -> tuple[ProposedFix, ...]:
    """The best few changes after which the picks, and the option wanted, are available.

    Choices of one that are still open stay open and count nothing; everything else that would
    have to differ is a change. Each fix is the best of those left: the one with the fewest
    changes; of those, one that changes other picks than each fix before it, where there is one;
    of those, the one with the price nearest to that of the picks (list prices after package
    deals). No fix holds all the changes of one before it. There is nothing to mend, and no fix,
    where the picks and the option wanted can be completed as they are.

    Args:
        search: the catalogue's search.
        selection: the picks.
        wanted: an option that is wanted too, in place of a pick of the same choice of one.
        count: how many at most.
        keep: choices, or ``choice=option``, that stay as they are.

    Raises:
        SearchLimit: it stopped without an answer.
    """
    search.travel(selection)
    encoding = search.encoding
    if wanted is not None:
        selection = selection.wanting(wanted[0])
    literals = list(encoding.picks(selection).values())
    if wanted is not None:
        literals.append(encoding.at_least(*wanted))
    if search.sound(literals) is not None:
        return ()
    still_open = frozenset(undecided(Resolved(search.catalogue, selection))) - {
        wanted and wanted[0]
    }
    found: list[ProposedFix] = []
    while len(found) < count:
        fix = _next_fix(search, selection, wanted, still_open, found, keep)
        if fix is None:
            break
        found.append(fix)
    return tuple(found)


def proposed(
    search: Search, build: Resolved, wanted: Pick | None, count: int, keep: Collection[Pick]
) -> Fixes:
    """As :func:`fixes`, and whether there is anything to mend."""
    key = None if wanted is None else (wanted.choice, wanted.option)
    found = fixes(search, build.selection, key, count, keep)
    held = search.encoding.picks(build.selection)
    if key is not None:
        held = {**held, key: search.encoding.at_least(*key)}
    sound = not found and search.sound(list(held.values())) is not None
    return Fixes(build.catalogue.currency, found, sound)


def _next_fix(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None,
    still_open: frozenset[str | None],
    found: Sequence[ProposedFix],
    keep: Collection[Pick],
) -> ProposedFix | None:
    encoding = search.encoding
    optimum = Optimum(search)
    if wanted is not None:
        optimum.require([encoding.at_least(*wanted)])
    decided = [choice for choice in encoding.choices if choice.id not in still_open]
    changed = {key: literal for c in decided for key, literal in _changed(search, selection, c)}
    for (choice, option), literal in changed.items():
        if any(kept.covers(choice, option or str(selection.one(choice))) for kept in keep):
            optimum.require([-literal])
    for fix in found:
        optimum.require(
            literal for change in fix.changes for literal in _differs_from(search, change)
        )
    prices = optimum.price_terms(skip=frozenset(c for c in still_open if c))
    far = optimum.distance(prices, _list_price(search, selection))
    # of two with equally few changes, the one that changes other things: one sum for both
    varied = encoding.all_of(_changes_others(search, fix, changed) for fix in found)
    fewest = [(2, literal) for literal in changed.values()]
    held = optimum.best(optimum.sum([*fewest, (-1, varied)]), far)
    return None if held is None else _fix(search, selection, held, decided)


def _list_price(search: Search, selection: Selection) -> int:
    """Lines less package deals of what is picked, in the currency's smallest unit."""
    priced = price(Resolved(search.catalogue, selection))
    listed = sum((line.amount.amount for line in priced.lines if line.amount), Decimal(0))
    saved = sum((deal.saving.amount for deal in priced.deals), Decimal(0))
    return int((listed - saved).scaleb(exponent(search.catalogue.currency)))


def _changed(
    search: Search, selection: Selection, choice: Choice
) -> Iterator[tuple[tuple[str, str], int]]:
    """Each thing about the choice that a fix could change, with a literal for that it does.

    A choice of several has one for each option, any other has one in all, under no option.
    """
    encoding = search.encoding
    if choice.pick == "several":
        for option in sorted(choice.by_id):
            quantity = selection.quantity(choice.id, option)
            yield (choice.id, option), encoding.not_exactly(choice.id, option, quantity)
    elif (picked := selection.one(choice.id)) is not None:
        yield (choice.id, ""), -encoding.levels[choice.id, picked, 1]
    elif choice.id in encoding.empty:
        yield (choice.id, ""), -encoding.empty[choice.id]


def _changes_others(
    search: Search, fix: ProposedFix, changed: Mapping[tuple[str, str], int]
) -> int:
    """A literal that is true where other things change than those that the fix changes."""
    same: set[tuple[str, str]] = set()
    for change in fix.changes:
        if search.catalogue.by_id[change.choice].pick == "several":
            moved = {option for option, _ in set(change.before) ^ set(change.after)}
            same |= {(change.choice, option) for option in moved}
        else:
            same.add((change.choice, ""))
    return search.encoding.any_of(
        -literal if key in same else literal for key, literal in changed.items()
    )


def _differs_from(search: Search, change: ChoiceChange) -> Iterator[int]:
    """Literals of which one is true where the change is not made in just that way."""
    encoding = search.encoding
    if search.catalogue.by_id[change.choice].pick != "several":
        after = change.after[0][0] if change.after else None
        empty = encoding.empty.get(change.choice)
        yield -encoding.levels[change.choice, after, 1] if after else -(empty or 0)
        return
    before, after_quantities = dict(change.before), dict(change.after)
    for option in sorted(before.keys() | after_quantities.keys()):
        quantity = after_quantities.get(option, 0)
        if quantity != before.get(option, 0):
            yield encoding.not_exactly(change.choice, option, quantity)


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
            changes.append(
                ChoiceChange(
                    choice.id,
                    tuple(pair for pair in before if pair[1]),
                    tuple(pair for pair in after if pair[1]),
                )
            )
    mended = attrs.evolve(selection, picks=tuple(picks)).tidied()
    catalogue = search.catalogue
    difference = (
        price(Resolved(catalogue, mended)).total - price(Resolved(catalogue, selection)).total
    )
    parts = tuple(_change_words(catalogue, change) for change in changes)
    words = text(
        "{changes:capital}: {difference:signed} {currency}",
        changes=joined(parts, text(", and ")),
        difference=difference,
        currency=difference.currency,
    )
    return ProposedFix(words, parts, tuple(changes), count, difference, mended)


def _change_words(catalogue: Catalogue, change: ChoiceChange) -> Text:
    """What one change does to its choice."""
    choice = catalogue.by_id[change.choice]
    if choice.pick == "several":
        before, after = dict(change.before), dict(change.after)
        moves = []
        for option in choice.options:
            was, will = before.get(option.id, 0), after.get(option.id, 0)
            if was and will and was != will:
                known = {"title": option.title, "was": was, "now": will}
                moves.append(text("{now} x {title} instead of {was}", **known))
            elif was != will:
                moves.append(_moved(several(was or will, option.title), taken=bool(will)))
        return text("{choice}: {moves}", choice=choice.title, moves=joined(moves))
    old, new = (
        choice.by_id[picks[0][0]].title if picks else "" for picks in (change.before, change.after)
    )
    move = text("{now} instead of {was}", was=old, now=new)
    if not (old and new):
        move = _moved(old or new, taken=bool(new))
    return text("{choice}: {moves}", choice=choice.title, moves=move)


def _moved(title: str, *, taken: bool) -> Text:
    return text("add {title}", title=title) if taken else text("leave out {title}", title=title)
