"""What is available: for every option of every choice, given the picks so far.

In a choice of one that is decided, every other option is asked about with the present pick set
aside and all other picks kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from attrs import evolve, frozen

from configurator.catalogue.model import Choice
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.encoding import as_bits, variables
from configurator.engine.search import MOST_CROWDED, Search
from configurator.errors import SearchLimit
from configurator.selection.picks import Selection

__all__ = ["OptionState", "Options", "options"]

_HOPES = 8
"""How many options not met yet a proposal tries to have at most, besides the one asked for.

None of them is a unit: many units at once make a room that is hard to settle.
"""

_TRIED = 48
"""How many of them are tried for that, those tried least lately first."""

_MISSES = 3
"""How often an option is hoped for in vain before it waits until it is asked for."""

_PATIENCE = 12
"""How many crowded proposals are refused for one option, before the others have had a turn."""

_LEAST_PATIENCE = 3
"""How many crowded proposals are refused for an option once the others have used up the rest."""


@frozen
class OptionState:
    """Whether one option can still be had.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        state: ``picked``; ``open``; ``implied`` (every complete sound selection with the picks
            has it); ``instead`` (some complete sound selection has it and all picks but the one
            of its choice); ``ruled-out`` (none has it); or ``undecided``, where the search gave
            up.
        conflict: why it is ruled out, irreducible; None for the other states and where no reasons
            were asked for.
        gave_up: what the search says where it gave up on the option or on its reason.
    """

    choice: str
    option: str
    state: str
    conflict: Conflict | None = None
    gave_up: str = ""


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
) -> Options:
    """The state of every option of the choices, all of them by default.

    An option is open exactly when some complete sound selection holds the picks and it. One that
    is too hard to settle is undecided, which says nothing about it; the others are told all the
    same.

    Args:
        search: the catalogue's search.
        selection: the picks so far.
        choices: the choices asked about.
        reasons: whether to tell why options are ruled out, which takes longer than the states.

    Raises:
        SearchLimit: the search gave up on the picks themselves.
    """
    search.travel(selection)
    asked = tuple(search.catalogue.by_id.values()) if choices is None else choices
    picks = search.encoding.picks(selection)
    literals = list(picks.values())
    if search.sound(literals) is None:
        conflict = find_conflict(search, selection)
        return Options(tuple(_contradicted(asked, selection)), conflict)
    return Options(tuple(_states(search, selection, literals, asked, reasons)), None)


class _Hopes:
    """Options not met yet, which proposals try to have besides the one that is asked for.

    How many depends on how the proposals before fared.
    """

    def __init__(self, search: Search, unseen: Sequence[int]) -> None:
        self._search = search
        self._unseen = as_bits(unseen)
        self._missed = dict.fromkeys((v for v in unseen if not search.spare >> v & 1), 0)
        self._put = 0
        self._most = _HOPES // 4

    def start(self, asked: Sequence[int]) -> int:
        """A start for proposals with many of them, as bits."""
        waiting = [hope for hope, missed in self._missed.items() if missed < _MISSES][:_TRIED]
        for hope in waiting:
            self._missed[hope] = self._missed.pop(hope)
        near = self._search.near(asked, self._unseen)
        bits = self._search.starts.hoping(near, asked, waiting, self._most)
        self._put = bits & ~near
        return bits

    def heard(self, asked: int, found: int, refused: bool) -> None:
        """Learn what came of it: the bits found, and whether a proposal was refused on the way."""
        self._unseen &= ~(1 << asked | found)
        for met in (asked, *variables(found)):
            self._missed.pop(met, None)
        for hope in variables(self._put & ~found):
            if hope in self._missed:
                self._missed[hope] += 1
        self._put = 0
        self._most = self._most // 2 if refused else min(_HOPES, 2 * self._most + 1)


def _contradicted(choices: Iterable[Choice], selection: Selection) -> Iterator[OptionState]:
    for choice in choices:
        for option in choice.options:
            picked = selection.quantity(choice.id, option.id)
            yield OptionState(choice.id, option.id, "picked" if picked else "ruled-out")


def _states(
    search: Search,
    selection: Selection,
    literals: list[int],
    choices: Sequence[Choice],
    reasons: bool,
) -> Iterator[OptionState]:
    encoding = search.encoding
    before = search.counts.crowded

    def sound(asked: Sequence[int], hopes: _Hopes | None = None) -> int | None:
        left = MOST_CROWDED - (search.counts.crowded - before)
        patience = max(_LEAST_PATIENCE, min(_PATIENCE, left))
        start = None if hopes is None else hopes.start
        return search.sound(asked, start=start, patience=patience)

    some, every = search.seen(literals)
    false = {-literal for literal in search.at_once(literals)}
    unseen = [
        literal
        for choice in choices
        for option in choice.options
        if choice.pick == "several" or choice.id not in selection.chosen
        if not some >> (literal := encoding.levels[choice.id, option.id, 1]) & 1
        if literal not in false
    ]
    hopes = _Hopes(search, unseen)
    for choice in choices:
        if choice.pick != "several" and choice.id in selection.chosen:
            yield from _instead(search, selection, choice, sound, reasons)
            continue
        states: dict[str, str] = {}
        gave_up: dict[str, str] = {}
        for option_id in sorted(choice.by_id):
            literal = encoding.levels[choice.id, option_id, 1]
            if selection.quantity(choice.id, option_id):
                states[option_id] = "picked"
            elif literal in false:
                states[option_id] = "ruled-out"
            elif not some >> literal & 1:
                rounds = search.counts.rounds
                try:
                    found = sound([*literals, literal], hopes)
                except SearchLimit as limit:
                    states[option_id], gave_up[option_id] = "undecided", str(limit)
                    continue
                refused = search.counts.rounds > rounds
                hopes.heard(literal, found or 0, refused)
                states[option_id] = "ruled-out" if found is None else "open"
                if found is not None:
                    some, every = some | found, every & found
            else:
                states[option_id] = "open"
        still_open = [option for option, state in states.items() if state == "open"]
        for option_id in still_open:
            variable = encoding.levels[choice.id, option_id, 1]
            if choice.pick == "one":
                implied = len(still_open) == 1 and "undecided" not in states.values()
            elif not every >> variable & 1:
                implied = False
            else:
                try:
                    found = sound([*literals, -variable])
                except SearchLimit as limit:
                    gave_up[option_id] = str(limit)
                    continue
                implied = found is None
                if found is not None:
                    every &= found
            if implied:
                states[option_id] = "implied"
        for option in choice.options:
            state = states[option.id]
            told = OptionState(choice.id, option.id, state, None, gave_up.get(option.id, ""))
            yield _explained(search, selection, told) if reasons else told


def _instead(
    search: Search,
    selection: Selection,
    choice: Choice,
    sound: Callable[[Sequence[int]], int | None],
    reasons: bool,
) -> Iterator[OptionState]:
    """Each option of a decided choice, the present pick set aside."""
    aside = selection.without(choice.id)
    literals = list(search.encoding.picks(aside).values())
    some, _ = search.seen(literals)
    false = {-literal for literal in search.at_once(literals)}
    for option in choice.options:
        literal = search.encoding.levels[choice.id, option.id, 1]
        state, gave_up = "instead", ""
        if selection.quantity(choice.id, option.id):
            state = "picked"
        elif literal in false:
            state = "ruled-out"
        elif not some >> literal & 1:
            try:
                state = "ruled-out" if sound([*literals, literal]) is None else "instead"
            except SearchLimit as limit:
                state, gave_up = "undecided", str(limit)
        told = OptionState(choice.id, option.id, state, None, gave_up)
        yield _explained(search, aside, told, quick=True) if reasons else told


def _explained(
    search: Search, selection: Selection, told: OptionState, quick: bool = False
) -> OptionState:
    """The state with the reason for it, where it is ruled out.

    In a finished selection rooms are full, and there are hundreds of options: reasons that take
    long are left to whoever asks about one of them.
    """
    if told.state != "ruled-out":
        return told
    try:
        conflict = find_conflict(search, selection, (told.choice, told.option), quick=quick)
    except SearchLimit as limit:
        later = f"ask why {told.choice}={told.option}: the reason takes longer to find"
        return evolve(told, gave_up=later if quick else str(limit))
    return evolve(told, conflict=conflict)
