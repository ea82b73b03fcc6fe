"""The engine's answers in the trade's words, as values: what is available, why not, the ways on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice
from configurator.engine import availability, ways_out
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.search import Search
from configurator.engine.wording import Argument, argument, change_words, fix_words, one_line
from configurator.forms import as_texts, form
from configurator.money import Money
from configurator.pricing.whole import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import total_mass


def _named(pick: Pick | None) -> str:
    return "" if pick is None else str(pick)


@form(inline="conflict argument")
@frozen(repr=False)
class ToldConflict:
    """Picks, and rules, limits, fits or ratings, that cannot all hold, as a short argument too.

    Attributes:
        conflict: what takes part; drop any pick or constraint, and the rest can hold.
        argument: the same in words.
    """

    conflict: Conflict
    argument: Argument

    def __str__(self) -> str:
        """The whole argument as one sentence, and the hint."""
        return str(self.argument)


@form()
@frozen(repr=False)
class OptionAnswer:
    """Whether one option is available.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        title: what the option is called.
        state: ``picked``, ``open``, ``implied``, ``instead``, ``ruled-out`` or ``undecided``; see
            :class:`~configurator.engine.availability.OptionState`.
        difference: where it is available instead of the present pick, what that does to the
            total, tax as in the total; else None.
        reason: why it is ruled out, or what could not be settled, in one line; else empty.
    """

    choice: str
    option: str
    title: str
    state: str
    difference: Money | None
    reason: str


@form("options")
@frozen(repr=False)
class OptionsAnswer:
    """The state of every option asked about.

    Attributes:
        conflict: why the picks themselves cannot be completed; None when they can.
        options: choice by choice, in the catalogue's order.
    """

    conflict: ToldConflict | None
    options: tuple[OptionAnswer, ...]

    @property
    def stopped(self) -> bool:
        """Whether the picks contradict each other."""
        return self.conflict is not None


@form("explain", shown={"wanted": _named, "instead_of": _named})
@frozen(repr=False)
class ExplainAnswer:
    """Why an option is not available, or that it is.

    Attributes:
        wanted: the option asked about; None where the picks alone were.
        instead_of: the pick of the same choice that was set aside for the question, if any.
        possible: whether a complete, sound selection has it.
        difference: what the option in place of that pick does to the total, where possible.
        conflict: why not, where it is not possible.
    """

    wanted: Pick | None
    instead_of: Pick | None
    possible: bool
    difference: Money | None
    conflict: ToldConflict | None


@form(hidden="parts")
@frozen(repr=False)
class ProposedFix:
    """A change of picks that makes the conflicts go away, proved by solving again.

    Attributes:
        words: what it does, and what that does to the price.
        parts: what each change does.
        changes: choice by choice.
        count: how many picks change.
        difference: total with it less total without, of what is picked so far.
        selection: the selection with it.
    """

    words: str
    parts: tuple[str, ...]
    changes: tuple[ways_out.ChoiceChange, ...]
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


@form(shown={"wish": _named})
@frozen(repr=False)
class RefusedWish:
    """A wish that the budget or the catalogue does not allow.

    Attributes:
        wish: the pick wished for.
        over: by how much the cheapest package with it would exceed the budget; None where no
            sound package has it.
        conflict: why no sound package has it.
    """

    wish: Pick
    over: Money | None
    conflict: ToldConflict | None


@form(
    "within",
    hidden="budget price",
    also="currency",
    shown={"granted": as_texts},
)
@frozen(repr=False)
class WithinAnswer:
    """The most of an ordered wish list that a budget allows.

    Attributes:
        budget: the most that the package may come to, with tax.
        total: what the package comes to; of the picks alone where even they are over.
        granted: wishes in it, in order.
        left_out: the others.
        added: what the selection holds in addition to the picks and the wishes granted.
        price: what the selection costs, line by line; None where there is none.
        selection: the cheapest complete selection with the wishes granted; None where not even
            the picks alone are available for the budget.
    """

    budget: Money
    total: Money | None
    granted: tuple[Pick, ...]
    left_out: tuple[RefusedWish, ...]
    added: tuple[Pick, ...]
    price: Price | None
    selection: Selection | None

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.budget.currency

    @property
    def stopped(self) -> bool:
        """Whether not even the picks alone are within the budget."""
        return self.selection is None


def _told(search: Search, conflict: Conflict | None, whole: bool = False) -> ToldConflict | None:
    if conflict is None:
        return None
    return ToldConflict(conflict, argument(search.catalogue, conflict, whole))


def options(search: Search, build: Resolved, choices: Sequence[Choice]) -> OptionsAnswer:
    """The state of every option of the choices.

    Raises:
        SearchLimit: the search stopped without an answer on the picks themselves.
    """
    found = availability.options(search, build.selection, choices)
    return OptionsAnswer(
        _told(search, found.conflict, whole=True),
        tuple(
            OptionAnswer(
                state.choice,
                state.option,
                search.catalogue.option(state.choice, state.option).title,
                state.state,
                state.difference,
                state.gave_up
                or ("" if state.conflict is None else one_line(search.catalogue, state.conflict)),
            )
            for state in found.states
        ),
    )


def explain(search: Search, build: Resolved, wanted: Pick | None) -> ExplainAnswer:
    """Why the option, or without one the picks alone, are not available.

    Another pick of the same choice of one is set aside first.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    selection, replaced, difference = build.selection, None, None
    if wanted is None:
        conflict = find_conflict(search, selection)
    else:
        picked = selection.one(wanted.choice)
        several = search.catalogue.by_id[wanted.choice].pick == "several"
        if not several and picked not in (None, wanted.option):
            replaced = Pick(wanted.choice, str(picked))
            selection = selection.without(wanted.choice)
        key = (wanted.choice, wanted.option)
        conflict = find_conflict(search, selection, key, wanted.quantity)
        if replaced is not None and conflict is None:
            difference = availability.price_of_change(build, wanted)
    told = _told(search, conflict, whole=True)
    return ExplainAnswer(wanted, replaced, conflict is None, difference, told)


def fixes(
    search: Search, build: Resolved, wanted: Pick | None, count: int, keep: Collection[Pick] = ()
) -> Fixes:
    """The best few changes of picks after which everything, and the option wanted, is sound.

    What is to be kept, choices or ``choice=option``, does not change.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    key = None if wanted is None else (wanted.choice, wanted.option)
    found = ways_out.fixes(search, build.selection, key, count, keep)
    held = search.encoding.picks(build.selection)
    if key is not None:
        held = {**held, key: search.encoding.at_least(*key)}
    sound = not found and search.sound(list(held.values())) is not None
    return Fixes(
        build.catalogue.currency,
        tuple(
            ProposedFix(
                fix_words(search.catalogue, fix),
                tuple(change_words(search.catalogue, change) for change in fix.changes),
                fix.changes,
                fix.count,
                fix.difference,
                fix.selection,
            )
            for fix in found
        ),
        sound,
    )


def complete(search: Search, build: Resolved, prefer: str) -> Completion | None:
    """The best complete selection that holds the picks; None where there is none.

    Raises:
        SearchLimit: the search stopped without an answer.
        ValueError: there is no such preference.
    """
    finished = ways_out.complete(search, build.selection, prefer)
    if finished is None:
        return None
    whole = Resolved(search.catalogue, finished)
    added = ways_out.added(build, finished)
    return Completion(prefer, price(whole), total_mass(whole), added, finished)


def within(search: Search, build: Resolved, budget: Money, wishes: Sequence[Pick]) -> WithinAnswer:
    """The most of the wish list, the most important wish first, that the budget allows.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    found = ways_out.within(search, build.selection, budget, wishes)
    left_out = tuple(
        RefusedWish(
            left.wish,
            left.over,
            _told(search, left.conflict),
        )
        for left in found.left_out
    )
    whole = None if found.selection is None else Resolved(search.catalogue, found.selection)
    return WithinAnswer(
        budget,
        found.total,
        found.granted,
        left_out,
        found.added,
        None if whole is None else price(whole),
        found.selection,
    )
