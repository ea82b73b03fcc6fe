"""What has to go with an option: choices still empty of which it makes a pick necessary."""

from __future__ import annotations

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice
from configurator.engine.search import Search
from configurator.selection.picks import Selection


class Needs:
    """What a selection needs in choices of which it has nothing, and what options add to that.

    By reading clauses alone: it knows what rules and units that carry others ask for, not what
    sums or a full room lead to.

    Args:
        search: of the catalogue.
        selection: the picks so far.
    """

    def __init__(self, search: Search, selection: Selection) -> None:
        self._search, self._selection = search, selection
        picks = [*search.encoding.picks(selection).values()]
        decided = {*selection.chosen, *selection.empty}
        self._free = {
            choice.id: none
            for choice in search.catalogue.by_id.values()
            if choice.pick != "one"
            and choice.id not in decided
            and not search.contradicted([*picks, *(none := self._none_of(choice))])
        }

    def _none_of(self, choice: Choice) -> list[int]:
        return [-self._search.encoding.levels[choice.id, one.id, 1] for one in choice.options]

    def of(self, wanted: Pick) -> tuple[str, ...]:
        """Ids of the choices that need a pick with the option in place of its choice's answer."""
        search = self._search
        rest = search.encoding.picks(self._selection.without(wanted.choice))
        there = [*rest.values(), search.encoding.at_least(*wanted.key)]
        return tuple(
            choice
            for choice, none in self._free.items()
            if choice != wanted.choice and search.contradicted([*there, *none])
        )
