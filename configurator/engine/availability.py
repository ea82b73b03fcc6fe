"""What is available: for every option of every choice, given the picks so far.

In a decided choice of one, the other options are asked about with the present pick set aside and
all other picks kept: what is available instead of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.joint_fit import MOST_PROOFS
from configurator.engine.search import MOST_CROWDED, Search
from configurator.errors import SearchLimit
from configurator.forms import form
from configurator.money import Money
from configurator.pricing.whole import price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved

_PATIENCE = 12
"""How many crowded proposals are refused for one option, before the others have had a turn."""

_LEAST_PATIENCE = 3
"""How many crowded proposals are refused for an option once the others have used up the rest."""


@form()
@frozen
class OptionState:
    """Whether one option is available.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        state: ``picked``; ``open``; ``implied`` (every complete sound selection with the picks
            has it); ``instead`` (another option of a choice of one is picked, and some complete
            sound selection has this one and all other picks); ``ruled-out`` (none has it); or
            ``undecided``, where the search stopped without an answer.
        conflict: why it is ruled out, irreducible; None for the other states, where the picks
            contradict each other, and where no reasons were asked for.
        gave_up: what the search says where it stopped without an answer on the option or its
            reason.
        difference: where it is available instead, the total with it less the total without, of
            what is picked so far, as the catalogue's totals are.
    """

    choice: str
    option: str
    state: str
    conflict: Conflict | None = None
    gave_up: str = ""
    difference: Money | None = None


@form()
@frozen
class Options:
    """The state of every option asked about.

    Attributes:
        states: in the catalogue's order.
        conflict: why the picks themselves cannot be completed; None when they can.
    """

    states: tuple[OptionState, ...]
    conflict: Conflict | None


def options(
    search: Search,
    selection: Selection,
    choices: Sequence[Choice] | None = None,
    reasons: bool = True,
    quick: bool = False,
) -> Options:
    """The state of every option of the choices, all of them by default.

    An option is open exactly when some complete sound selection holds the picks and it; in a
    decided choice of one it is available instead exactly when some holds it and the picks of all
    other choices. One that is too hard to settle is undecided, which says nothing about it; the
    others are answered all the same, and it may be asked about again.

    Args:
        search: the catalogue's search.
        selection: the picks so far.
        choices: the choices asked about.
        reasons: whether to say why options are ruled out, which takes longer than the states.
        quick: leave undecided whatever depends on how crowded a room is and takes a proof.

    Raises:
        SearchLimit: the search stopped without an answer on the picks themselves.
    """
    search.travel(selection)
    literals = list(search.encoding.picks(selection).values())
    sound = search.sound(literals, quick=quick) is not None
    conflict = None if sound else find_conflict(search, selection, quick=quick)
    found = one_by_one(search, selection, choices, reasons, quick)
    return Options(tuple(state for some in found for state in some), conflict)


def one_by_one(
    search: Search,
    selection: Selection,
    choices: Sequence[Choice] | None = None,
    reasons: bool = True,
    quick: bool = False,
) -> Iterator[tuple[OptionState, ...]]:
    """As :func:`options`: the states of one choice after the other, in the order asked for.

    It may be abandoned after any of them, and other selections may be asked about in between.

    Raises:
        SearchLimit: the search stopped without an answer on the picks themselves.
    """
    asked = tuple(search.catalogue.by_id.values()) if choices is None else choices
    search.travel(selection)
    literals = list(search.encoding.picks(selection).values())
    patience = _Patience(search, quick)
    still_open: _StillOpen | None = None
    if search.sound(literals, quick=quick) is not None:
        still_open = _StillOpen(search, selection, literals, reasons, patience)
    for choice in asked:
        search.travel(selection)
        if _decided(choice, selection):
            yield tuple(_instead(search, selection, choice, reasons, patience))
        elif still_open is None:
            yield tuple(_contradicted(choice, selection))
        else:
            yield tuple(still_open.states(choice))


def _decided(choice: Choice, selection: Selection) -> bool:
    """Whether it is a choice of one in which something is picked."""
    return choice.pick != "several" and choice.id in selection.chosen


def price_of_change(build: Resolved, pick: Pick) -> Money:
    """The total with the pick, in place of another in a choice of one, less the total without."""
    changed = build.picking(pick).tidied()
    return price(build.having(changed)).total - price(build).total


def _contradicted(choice: Choice, selection: Selection) -> Iterator[OptionState]:
    for option in choice.options:
        picked = selection.quantity(choice.id, option.id)
        yield OptionState(choice.id, option.id, "picked" if picked else "ruled-out")


def _instead(
    search: Search, selection: Selection, choice: Choice, reasons: bool, patience: _Patience
) -> Iterator[OptionState]:
    """What is available instead of the pick in a choice of one, all other picks kept."""
    rest = selection.without(choice.id)
    literals = list(search.encoding.picks(rest).values())
    for option in choice.options:
        if selection.quantity(choice.id, option.id):
            yield OptionState(choice.id, option.id, "picked")
            continue
        try:
            found = patience.sound([*literals, search.encoding.levels[choice.id, option.id, 1]])
        except SearchLimit as limit:
            yield OptionState(choice.id, option.id, "undecided", gave_up=str(limit))
            continue
        if found is None:
            yield _refused(search, rest, choice.id, option.id, reasons)
            continue
        difference = price_of_change(
            Resolved(search.catalogue, selection), Pick(choice.id, option.id)
        )
        yield OptionState(choice.id, option.id, "instead", difference=difference)


def _refused(
    search: Search, rest: Selection, choice: str, option: str, reasons: bool
) -> OptionState:
    """An option that is not available instead, with the reason where that is quickly found."""
    if not reasons:
        return OptionState(choice, option, "ruled-out")
    try:
        conflict = find_conflict(search, rest, (choice, option), quick=True)
    except SearchLimit:
        told = f"the reason takes longer to find: ask for {Pick(choice, option)} alone"
        return OptionState(choice, option, "ruled-out", gave_up=told)
    return OptionState(choice, option, "ruled-out", conflict)


class _Patience:
    """Crowded proposals that may still be refused, shared fairly among the options asked about."""

    def __init__(self, search: Search, quick: bool) -> None:
        self._search, self.quick = search, quick
        self._before = search.counts.crowded
        search.layouts.proofs = MOST_PROOFS

    def sound(self, asked: Sequence[int]) -> int | None:
        """As :meth:`Search.sound`."""
        left = MOST_CROWDED - (self._search.counts.crowded - self._before)
        patience = max(_LEAST_PATIENCE, min(_PATIENCE, left))
        return self._search.sound(asked, patience=patience, quick=self.quick)


class _StillOpen:
    """The states of options that do not replace a pick; what one teaches helps with the others."""

    def __init__(
        self,
        search: Search,
        selection: Selection,
        literals: list[int],
        reasons: bool,
        patience: _Patience,
    ) -> None:
        self.search, self.selection, self.literals = search, selection, literals
        self.reasons, self.patience = reasons, patience
        self.some, self.every = search.seen(literals)
        self.false = {-literal for literal in search.at_once(literals)}

    def states(self, choice: Choice) -> Iterator[OptionState]:
        """Of each option of the choice, in the catalogue's order."""
        gave_up: dict[str, str] = {}
        states = {}
        for option in sorted(choice.by_id):
            try:
                states[option] = self._state(choice.id, option)
            except SearchLimit as limit:
                states[option], gave_up[option] = "undecided", str(limit)
        still_open = [option for option, state in states.items() if state == "open"]
        alone = len(still_open) == 1 and "undecided" not in states.values()
        for option in still_open:
            try:
                if alone if choice.pick == "one" else self._implied(choice.id, option):
                    states[option] = "implied"
            except SearchLimit as limit:
                gave_up[option] = str(limit)
        for option in (option.id for option in choice.options):
            conflict = None
            if self.reasons and states[option] == "ruled-out":
                try:
                    wanted = choice.id, option
                    conflict = find_conflict(
                        self.search, self.selection, wanted, quick=self.patience.quick
                    )
                except SearchLimit as limit:
                    gave_up[option] = str(limit)
            yield OptionState(choice.id, option, states[option], conflict, gave_up.get(option, ""))

    def _state(self, choice: str, option: str) -> str:
        literal = self.search.encoding.levels[choice, option, 1]
        if self.selection.quantity(choice, option):
            return "picked"
        if literal in self.false:
            return "ruled-out"
        if self.some >> literal & 1:
            return "open"
        found = self.patience.sound([*self.literals, literal])
        if found is None:
            return "ruled-out"
        self.some, self.every = self.some | found, self.every & found
        return "open"

    def _implied(self, choice: str, option: str) -> bool:
        """Whether every complete sound selection with the picks has it."""
        variable = self.search.encoding.levels[choice, option, 1]
        if not self.every >> variable & 1:
            return False
        found = self.patience.sound([*self.literals, -variable])
        self.every &= -1 if found is None else found
        return found is None
