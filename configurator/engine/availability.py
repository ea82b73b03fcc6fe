"""What can still be had: for every option of every choice, given the picks so far."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import frozen

from configurator.catalogue.model import Choice
from configurator.engine.conflicts import Conflict, find_conflict
from configurator.engine.search import Search
from configurator.selection import Selection

__all__ = ["OptionState", "Options", "options"]


@frozen
class OptionState:
    """Whether one option can still be had.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        state: ``picked``; ``open``; ``implied`` (every complete sound selection with the picks
            has it); or ``ruled-out`` (none has it).
        conflict: why it is ruled out, irreducible; None for the other states, and where another
            option of the choice is picked.
    """

    choice: str
    option: str
    state: str
    conflict: Conflict | None = None


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
    search: Search, selection: Selection, choices: Sequence[Choice] | None = None
) -> Options:
    """The state of every option of the choices, all of them by default.

    An option is open exactly when some complete sound selection holds the picks and it.

    Raises:
        SearchLimit: the search gave up.
    """
    asked = tuple(search.catalogue.by_id.values()) if choices is None else choices
    picks = search.encoding.picks(selection)
    literals = list(picks.values())
    if search.sound(literals) is None:
        conflict = find_conflict(search, selection)
        return Options(tuple(_contradicted(asked, selection)), conflict)
    return Options(tuple(_states(search, selection, literals, asked)), None)


def _contradicted(choices: Iterable[Choice], selection: Selection) -> Iterator[OptionState]:
    for choice in choices:
        for option in choice.options:
            picked = selection.quantity(choice.id, option.id)
            yield OptionState(choice.id, option.id, "picked" if picked else "ruled-out")


def _states(
    search: Search, selection: Selection, literals: list[int], choices: Sequence[Choice]
) -> Iterator[OptionState]:
    encoding = search.encoding
    unseen = [
        encoding.levels[choice.id, option.id, 1]
        for choice in choices
        for option in choice.options
        if choice.pick == "several" or choice.id not in selection.chosen
    ]
    for choice in choices:
        taken = choice.pick != "several" and choice.id in selection.chosen
        states = {}
        for option in sorted(choice.options, key=lambda option: option.id):
            if selection.quantity(choice.id, option.id):
                states[option.id] = "picked"
            elif taken:
                states[option.id] = "ruled-out"
            else:
                literal = encoding.levels[choice.id, option.id, 1]
                unseen.remove(literal)
                found = search.sound([*literals, literal], hopes=unseen[:6])
                states[option.id] = "ruled-out" if found is None else "open"
        still_open = [option for option, state in states.items() if state == "open"]
        for option_id in still_open:
            if _implied(search, literals, choice, option_id, still_open):
                states[option_id] = "implied"
        for option in choice.options:
            state = states[option.id]
            conflict = None
            if state == "ruled-out" and not taken:
                conflict = find_conflict(search, selection, (choice.id, option.id))
            yield OptionState(choice.id, option.id, state, conflict)


def _implied(
    search: Search, literals: list[int], choice: Choice, option: str, still_open: list[str]
) -> bool:
    if choice.pick == "one":
        return len(still_open) == 1
    variable = search.encoding.levels[choice.id, option, 1]
    if search.without(literals, variable):
        return False
    return search.sound([*literals, -variable]) is None
