"""What is available: for every option of every choice, given the picks so far.

In a decided choice of one, the other options are asked about with the present pick set aside and
all other picks kept: what is available instead of it. So are those of a choice of which none is
wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import cached_property

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice, Option
from configurator.engine.conflicts import Conflict, Unexplained, find_conflict
from configurator.engine.decision import decide, second_opinion
from configurator.engine.effort import Effort, of_states
from configurator.engine.needs import Needs
from configurator.engine.search import OfOwner, OutOfProposals, Search
from configurator.errors import SearchLimit
from configurator.money import Money
from configurator.pricing.lines import Line, OpenBy, as_told, option_price
from configurator.pricing.replacements import Replacing
from configurator.pricing.waiting import Waits
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import Text, text

MOST_CROWDED = 20
"""How many crowded proposals are refused for all options of a question, but for the least."""

_PATIENCE = 12
"""How many crowded proposals are refused for one option, before the others have had a turn."""

_LEAST_PATIENCE = 2
"""How many crowded proposals are refused for an option once the others have used up the rest.

The second may be proved; a quick question does without, and stops at the first.
"""

_MOST_EXPLAINED = 2
"""How many options get a reason that rests on crowded rooms, before the others do without.

A package of the demo that refuses all drawers takes 14 CPU s so, 21 where each gets one.
"""

_HOPES = 8
"""How many more options that were not met yet a proposal tries to have at most.

A step of a sale then takes 38 proposals where it takes 99 without, and 31 ms at the median for 57.
"""

_OPINIONS = 3
"""How many options the optimiser is asked about; each takes it about a second."""


@form(hidden="conflict open_by")
@frozen(repr=False)
class OptionAnswer:
    """Whether one option is available.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        title: what the option is called.
        state: ``picked``; ``open``; ``implied`` (every complete sound selection with the picks
            has it); ``instead`` (another option of a choice of one is picked, or none is wanted,
            and some complete sound selection has this one and all other picks); ``ruled-out``
            (none has it); or
            ``undecided``: not settled with so much effort, and it may be asked about again.
        price: what one of it costs, where it is picked, open or implied; None while that is open,
            and for other states. What costs nothing itself has no price before that of another
            choice, still to be made, that counts it in.
        difference: where it is available instead of the present pick, what that does to the
            total, tax as in the total; None for other states, and while it is not known.
        awaits: ids of the choices still to be made that the price or the difference depends on.
        unpriced: titles of what has no price yet, so that the price or the difference is not known.
        needs: ids of empty choices that need a pick with it instead, told where reasons are.
        reason: why it is ruled out, or what could not be settled, in one line; else empty.
        conflict: why it is ruled out; None for the other states, where the picks contradict each
            other, and where no reasons were asked for.
        open_by: what that price is open by, as in a line.
    """

    choice: str
    option: str
    title: str
    state: str
    price: Money | None = None
    difference: Money | None = None
    reason: str = ""
    conflict: Conflict | None = None
    awaits: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    open_by: OpenBy = ""


@form("options")
@frozen(repr=False)
class OptionsAnswer:
    """The state of every option asked about.

    Attributes:
        possible: whether the picks can be completed, as far as that is settled.
        conflict: why not; None where they can, and where the reason was not settled.
        options: choice by choice, in the catalogue's order.
    """

    possible: bool
    conflict: Conflict | None
    options: tuple[OptionAnswer, ...]

    @property
    def stopped(self) -> bool:
        """Whether the picks contradict each other."""
        return not self.possible


def named(pick: Pick | None) -> str:
    """A pick in data; empty for none."""
    return "" if pick is None else str(pick)


@form("explain", shown={"wanted": named, "instead_of": named})
@frozen(repr=False)
class ExplainAnswer:
    """Why an option is not available, or that it is.

    Attributes:
        wanted: the option asked about; None where the picks alone were.
        instead_of: what was set aside for the question, if anything: the pick of the same choice,
            or, without an option, that none of it is wanted.
        possible: whether a complete, sound selection has it.
        difference: what the option in place of that pick does to the total, where possible and
            known.
        conflict: why not, where it is not possible; None too where that takes longer to find.
        awaits: ids of the choices still to be made that the difference depends on.
        unpriced: titles of what has no price yet, so that the difference is not known.
        needs: ids of empty choices that need a pick with the option in place of that pick.
    """

    wanted: Pick | None
    instead_of: Pick | None
    possible: bool
    difference: Money | None
    conflict: Conflict | None
    awaits: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


def options(
    search: Search,
    selection: Selection,
    choices: Sequence[Choice] | None = None,
    reasons: bool = True,
    quick: bool = False,
) -> OptionsAnswer:
    """The state of every option of the choices, all of them by default.

    An option is open exactly when some complete sound selection holds the picks and it; in a
    decided choice of one it is available instead exactly when some holds it and the picks of all
    other choices. One that is too hard to settle is undecided, which says nothing about it; the
    others are answered all the same.

    Args:
        search: the catalogue's search.
        selection: the picks so far.
        choices: the choices asked about.
        reasons: whether to say why options are ruled out, which takes longer than the states.
        quick: leave undecided what depends on how crowded a room is and takes a proof.

    Raises:
        SearchLimit: a patient search stopped without an answer on the picks themselves.
    """
    asking = _Asking(search, selection, reasons, quick)
    conflict = None
    if not asking.sound:
        with suppress(SearchLimit):
            conflict = find_conflict(search, selection, quick=quick)
    asked = tuple(search.catalogue.by_id.values()) if choices is None else choices
    found = tuple(one for choice in asked for one in asking.answers(choice))
    return OptionsAnswer(asking.sound, conflict, found)


def one_by_one(
    search: Search,
    selection: Selection,
    choices: Sequence[Choice] | None = None,
    reasons: bool = True,
    quick: bool = False,
    pauses: bool = False,
) -> OfOwner[tuple[OptionAnswer, ...]]:
    """As :func:`options`: the states of one choice after the other, in the order asked for.

    It may be abandoned after any of them, and other selections may be asked about in between;
    with pauses, where nothing is given after each option, too.

    Raises:
        SearchLimit: a patient search stopped without an answer on the picks themselves.
        RuntimeError: another thread made the search; it may go on.
    """
    every = search.catalogue.by_id.values() if choices is None else choices
    return OfOwner(search, _in_turn(search, selection, every, reasons, quick, pauses))


def _in_turn(
    search: Search,
    selection: Selection,
    choices: Iterable[Choice],
    reasons: bool,
    quick: bool,
    pauses: bool,
) -> Generator[tuple[OptionAnswer, ...], None, None]:
    asking = _Asking(search, selection, reasons, quick)
    for choice in choices:
        search.travel(selection)
        for answered in asking.in_turn(choice):
            if answered is not None:
                yield answered
            elif pauses:
                yield ()
                search.travel(selection)


def explain(search: Search, build: Resolved, wanted: Pick | None) -> ExplainAnswer:
    """Why the option, or without one the picks alone, are not available.

    Another pick of the same choice of one is set aside first.

    Raises:
        SearchLimit: the search stopped without an answer.
    """
    selection, replaced, difference, waited = build.selection, None, None, Waits()
    needs: tuple[str, ...] = ()
    key, quantity = None, 1
    if wanted is not None:
        picked = selection.one(wanted.choice)
        aside = _set_aside(selection, search.catalogue.by_id[wanted.choice])
        if aside and picked != wanted.option:
            replaced = Pick(wanted.choice, picked or "")
            selection = selection.without(wanted.choice)
        key, quantity = (wanted.choice, wanted.option), wanted.quantity
    try:
        conflict = find_conflict(search, selection, key, quantity)
    except Unexplained:
        return ExplainAnswer(wanted, replaced, False, None, None)
    if replaced is not None and wanted is not None and conflict is None:
        difference, waited = Replacing(build, search.priced_by).change(wanted)
        needs = Needs(search, build.selection).of(wanted)
    return ExplainAnswer(
        wanted,
        replaced,
        conflict is None,
        None if waited else difference,
        conflict,
        waited.choices,
        waited.unpriced,
        needs,
    )


def _later(limit: SearchLimit) -> Text:
    """What is said where a question was not settled among many."""
    return text("not settled yet: {cause}; ask for this one alone", cause=limit.args[0])


def _set_aside(selection: Selection, choice: Choice) -> bool:
    """Whether the answer to the choice is set aside to ask about its other options."""
    return choice.id in selection.empty or (
        choice.pick != "several" and choice.id in selection.chosen
    )


class _Asking:
    """One selection, whose options are asked about; what one teaches helps with the others.

    Crowded proposals that may still be refused are shared fairly among the options.

    Attributes:
        effort: what may still be tried for all of them.
        sound: whether some complete sound selection holds the picks, as far as that is settled.
        unmet: variables of open options that no sound selection known has; whether proposals
            may still hope for it.
        most: how many of them the next one does.
        follows: literals that follow from the picks by reading clauses alone.
        explained: how many options got a reason that rests on crowded rooms.
        near: a sound selection with the picks, where one is known.
        unsettled: what the search said where it is not settled, which only a quick answer lets be.
    """

    def __init__(self, search: Search, selection: Selection, reasons: bool, quick: bool) -> None:
        self.search, self.selection, self.reasons, self.quick = search, selection, reasons, quick
        search.travel(selection)
        search.freed.clear()
        self.by_key = search.encoding.picks(selection)
        self.picks = list(self.by_key.values())
        self.unsettled: SearchLimit | None = None
        self.effort = of_states(quick)
        self.near: int | None = None
        try:
            self.near = decide(search, self.picks, quick=quick, effort=self.effort)
            self.sound = self.near is not None
        except SearchLimit as limit:
            if not quick:
                raise
            self.sound, self.unsettled = True, limit
        self.opinions, self.explained, self.most = _OPINIONS, 0, 2
        self.follows = search.at_once(self.picks)
        still_open = (
            search.encoding.levels[choice.id, option.id, 1]
            for choice in search.catalogue.by_id.values()
            if not _set_aside(selection, choice)
            for option in choice.options
        )
        unmet = [one for one in still_open if -one not in self.follows]
        self.unmet = dict.fromkeys(search.unmet(self.picks, unmet), True)

    def answers(self, choice: Choice) -> tuple[OptionAnswer, ...]:
        """Of each option of the choice, in the catalogue's order."""
        return next(one for one in self.in_turn(choice) if one is not None)

    def in_turn(self, choice: Choice) -> Iterator[tuple[OptionAnswer, ...] | None]:
        """The same, and nothing whenever one option more has been asked about."""
        instead = _set_aside(self.selection, choice)
        others = [v for (c, _), v in self.by_key.items() if c != choice.id] if instead else None
        settle = self._open if others is None else self._instead(choice, others)
        states: dict[str, str] = {}
        reasons: dict[str, str] = {}
        for option in sorted(choice.by_id):
            try:
                states[option] = (
                    "picked"
                    if self.selection.quantity(choice.id, option)
                    else settle(self.search.encoding.levels[choice.id, option, 1])
                )
            except SearchLimit as limit:
                states[option], reasons[option] = "undecided", _later(limit)
            yield None
        still_open = [option for option, state in states.items() if state == "open"]
        alone, settled = len(still_open) == 1, "undecided" not in states.values()
        without = [-self.search.encoding.levels[choice.id, option, 1] for option in still_open]
        unmet = without if choice.pick == "one" else self.search.unmet(self.picks, without)
        for option, literal in zip(still_open, without, strict=True):
            try:
                if choice.pick == "one" and alone and not settled:
                    reasons[option] = text("perhaps the only one left: not settled yet")
                elif alone if choice.pick == "one" else literal in unmet and self._implied(literal):
                    states[option] = "implied"
            except SearchLimit as limit:
                reasons[option] = _later(limit)
            yield None
        found = []
        for offered in choice.options:
            state, conflict = states[offered.id], None
            if state == "ruled-out" and self.reasons and (instead or self.sound):
                try:
                    rest = self.selection.without(choice.id) if instead else self.selection
                    conflict = self._reason(rest, (choice.id, offered.id), self.quick or instead)
                    reasons[offered.id] = "" if conflict is None else conflict.line
                except SearchLimit:
                    reasons[offered.id] = text("why takes longer to find; ask for this one alone")
            told = reasons.get(offered.id, "")
            answer = OptionAnswer(
                choice.id, offered.id, offered.title, state, reason=told, conflict=conflict
            )
            found.append(self._priced(answer, choice, offered))
            yield None
        yield tuple(found)

    def _reason(self, rest: Selection, key: tuple[str, str], quick: bool) -> Conflict | None:
        """Why the option is ruled out beside the picks."""
        quick = quick or self.explained >= _MOST_EXPLAINED
        crowded = self.search.counts.crowded
        try:
            return find_conflict(self.search, rest, key, quick=quick)
        finally:
            self.explained += not quick and self.search.counts.crowded > crowded

    def _priced(self, answer: OptionAnswer, choice: Choice, option: Option) -> OptionAnswer:
        """The answer with the price of one, or what it does to the total in place of a pick."""
        if answer.state == "instead":
            pick = self.search.catalogue.picked(choice.id, option.id)
            difference, waited = self.prices.change(pick)
            return evolve(
                answer,
                difference=None if waited else difference,
                awaits=waited.choices,
                unpriced=waited.unpriced,
                needs=self.needs.of(pick) if self.reasons else (),
            )
        if answer.state in ("picked", "open", "implied"):
            line = self._line(choice, option)
            return evolve(
                answer,
                price=line.amount,
                awaits=line.awaits,
                unpriced=(line.title,) if line.amount is None and not line.awaits else (),
                open_by=line.open_by,
            )
        return answer

    def _line(self, choice: Choice, option: Option) -> Line:
        """One of the option as it is priced once it is picked."""
        build = self.build
        if choice.id in self.search.priced_by:
            pick = self.search.catalogue.picked(choice.id, option.id)
            build = build.having(build.picking(pick).tidied())
        return as_told(build, option_price(build, choice, option))

    @cached_property
    def build(self) -> Resolved:
        """The selection, within which options are priced."""
        return Resolved(self.search.catalogue, self.selection)

    @cached_property
    def prices(self) -> Replacing:
        """Differences to the total of the selection."""
        return Replacing(self.build, self.search.priced_by)

    @cached_property
    def needs(self) -> Needs:
        """What the selection needs, and options in place of its picks."""
        return Needs(self.search, self.selection)

    def _instead(self, choice: Choice, others: list[int]) -> Callable[[int], str]:
        """The state of an option in place of the answer to its choice, with the other picks."""
        search = self.search
        levels = [search.encoding.levels[choice.id, option, 1] for option in choice.by_id]
        unmet = set(search.unmet(others, levels))
        follows = search.at_once(others) if unmet else frozenset()

        def state(literal: int) -> str:
            if literal not in unmet:
                return "instead"
            if -literal in follows or self._found([*others, literal]) is None:
                return "ruled-out"
            return "instead"

        return state

    def _open(self, literal: int) -> str:
        """The state of an option beside all of the picks."""
        if not self.sound or -literal in self.follows:
            return "ruled-out"
        if self.unsettled is not None:
            raise self.unsettled
        return "ruled-out" if literal in self.unmet and not self._met(literal) else "open"

    def _met(self, literal: int) -> bool:
        """Whether some sound selection with the picks has an option that was not met yet.

        The first proposal is to have others not met yet as well: twice as many as before, half as
        many after one that was refused.
        """
        self.unmet[literal] = False
        waiting = (one for one, hoped in self.unmet.items() if hoped)
        hopes = self.search.starts.hoped(literal, waiting, self.most)
        rounds = self.search.counts.rounds
        found = self._found([*self.picks, literal], hopes)
        refused = self.search.counts.rounds > rounds
        self.most = self.most // 2 if refused else min(_HOPES, 2 * self.most + 1)
        for hope in hopes:
            self.unmet[hope] = self.unmet.pop(hope)
        self.unmet = {v: hoped for v, hoped in self.unmet.items() if not (found or 0) >> v & 1}
        return found is not None

    def _implied(self, without: int) -> bool:
        """Whether no complete sound selection with the picks is without it."""
        return -without in self.follows or self._found([*self.picks, without]) is None

    def _found(self, asked: Sequence[int], hopes: Sequence[int] = ()) -> int | None:
        """As :func:`decide`, with its share of the patience; few ask the optimiser."""
        effort, crowded = self.effort, self.search.counts.crowded
        effort.refused, effort.whole = 0, True
        left = min(_PATIENCE, MOST_CROWDED - effort.crowded)
        patience = max(1 if self.quick else _LEAST_PATIENCE, left)
        try:
            with self.search.layouts.trying(effort):
                return self.search.sound(asked, None, patience, self.quick, hopes)
        except OutOfProposals:
            if self.quick or not self.opinions:
                raise
            self.opinions -= 1
            return second_opinion(self.search, asked)
        except SearchLimit:
            if self.near is None:
                raise
            # with as little changed as can be, the room is likely to be one that is known
            with self.search.layouts.trying(Effort(crowds=0)):
                return self.search.sound(asked, None, 0, True, near=self.near)
        finally:
            effort.crowded += self.search.counts.crowded - crowded
