"""Looking around in the raw tree of a catalogue, where anything may have the wrong shape.

What has it is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any, TypeAlias

from configurator.catalogue.model import ADD_ON, VEHICLE
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.errors import Location, Problem, near_miss

Raw: TypeAlias = Mapping[str, Any]

GROUPING = ("all", "any", "none")
"""Keys of a condition that are no choices."""

_REQUIRED = ("vehicles", "choices", "options", "groups", "rates")


def say(tree: Tree, path: Path, sentence: str, code: str, hint: str = "", **more: str) -> Problem:
    """What is wrong with the value at the path."""
    return Problem(tree.at(path), sentence, code, hint, **more)


def mapping(value: Any) -> Raw:
    """The value where it is a mapping; otherwise nothing."""
    return value if isinstance(value, dict) else {}


def entries(value: Any) -> list[Any]:
    """The value where it is a list; otherwise nothing."""
    return value if isinstance(value, list) else []


def number(value: Any) -> Decimal | int | None:
    """The value where it is a number."""
    return value if isinstance(value, int | Decimal) and not isinstance(value, bool) else None


def day(value: Any) -> date | None:
    """The value where it is a day."""
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None


def records(data: Any, *keys: str, path: Path = ()) -> Iterator[tuple[Path, Raw]]:
    """The mappings in the list at the first key, or in the lists below them, with their paths."""
    for index, record in enumerate(entries(mapping(data).get(keys[0]))):
        here = (*path, keys[0], index)
        if isinstance(record, dict):
            if len(keys) > 1:
                yield from records(record, *keys[1:], path=here)
            else:
                yield here, record


def options(data: Any) -> Iterator[tuple[str, Path, Raw]]:
    """Every vehicle, add-on and option, with the id of its choice and its path."""
    for choice, key in ((VEHICLE, "vehicles"), (ADD_ON, "add-ons")):
        for path, option in records(data, key):
            yield choice, path, option
    for place, group in records(data, "choices"):
        for path, option in records(group, "options", path=place):
            yield str(group.get("id")), path, option


def circles(edges: Mapping[tuple[str, str], Path]) -> Iterator[tuple[str, Path]]:
    """Circles in the graph, each told from its smallest name, with the place of its first edge.

    Breaking each circle found at its first edge leaves the others to be found; twenty are enough
    for one reading.
    """
    left = dict(sorted(edges.items()))
    for _ in range(20):
        graph: dict[str, list[str]] = {}
        for start, end in left:
            graph.setdefault(start, []).append(end)
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            circle: list[str] = error.args[1][:0:-1]
            turn = circle.index(min(circle))
            names = [*circle[turn:], *circle[: turn + 1]]
            steps = list(pairwise(names))
            if steps[0] not in left:
                names.reverse()
                steps = list(pairwise(names))
            yield " -> ".join(names), left.pop(steps[0])
        else:
            return


def options_of(choice: str) -> str:
    """Where the options of a choice are among the known names."""
    return f"options of {choice}"


class Names:
    """The names a catalogue defines.

    Attributes:
        pick: how many options each choice takes.
        at_most: the largest total quantity of a choice, where it has one.
        options: the options of each choice by their ids.
        known: the names of each kind that a name may point to; None where some of them could not
            be read. Options are there under the id of their choice.
    """

    def __init__(self, tree: Tree) -> None:
        self.tree, self.data = tree, tree.data
        self.pick: dict[str, Any] = {VEHICLE: "one", ADD_ON: "several"}
        self.at_most: dict[str, Decimal | int | None] = {}
        self.options: dict[str, dict[str, Raw]] = {}
        self.known: dict[str, Iterable[str] | None] = {
            section: self._ids((), section) for section in ("groups", "spaces", "limits")
        }
        self.known["labour"] = self._keys((), "labour")
        self.known["rates"] = self._keys(("tax",), "rates")
        self._add_options(VEHICLE, (), "vehicles")
        self._add_options(ADD_ON, (), "add-ons")
        self._add_choices()

    def _add_choices(self) -> None:
        for path, choice in records(self.data, "choices"):
            identity = choice.get("id")
            if isinstance(identity, str):
                self.pick.setdefault(identity, choice.get("pick"))
                self.at_most.setdefault(identity, self.figure(path, choice, "at-most"))
                repeated = identity in self.options
                self._add_options(identity, path, "options")
                if repeated:
                    self.known[options_of(identity)] = None
        whole = self._ids((), "choices") is not None
        self.known["choices"] = self.options if whole else None

    def _add_options(self, choice: str, path: Path, key: str) -> None:
        options = records(self._value(path), key)
        found = {str(o["id"]): o for _, o in options if isinstance(o.get("id"), str)}
        self.options.setdefault(choice, {}).update(found)
        self.known[options_of(choice)] = self._ids(path, key)

    def _value(self, path: Path) -> Any:
        value = self.data
        for step in path:
            value = mapping(value).get(step) if isinstance(step, str) else value[step]
        return value

    def _section(self, path: Path, key: str) -> Any:
        """What stands at the key; None when names that should stand there may not."""
        around = mapping(self._value(path))
        if not self.tree.whole:
            return None
        if key in around:
            return None if self.tree.at((*path, key)) in self.tree.refused else around[key]
        misspelled = self.tree.at(path) in self.tree.refused
        return None if misspelled or key in _REQUIRED else ()

    def _ids(self, path: Path, key: str) -> list[str] | None:
        """The ids of the records in the list at the key; None when one has none of its own."""
        section = self._section(path, key)
        if section is None:
            return None
        ids = [mapping(record).get("id") for record in entries(section)]
        known = [identity for identity in ids if isinstance(identity, str)]
        places = ((*path, key, index, "id") for index in range(len(ids)))
        right = len({*known}) == len(ids) and not self.refused(map(self.tree.at, places))
        return known if right else None

    def _keys(self, path: Path, key: str) -> list[str] | None:
        """The keys of the mapping at the key; None when one of them was refused."""
        section = self._section(path, key)
        if section is None:
            return None
        places = ((*path, key, name) for name in mapping(section))
        return None if self.refused(map(self.tree.key_at, places)) else list(mapping(section))

    def figure(self, path: Path, record: Raw, key: str) -> Decimal | int | None:
        """The number at the key of a record, unless it was refused."""
        found = number(record.get(key))
        return None if self.refused([self.tree.at((*path, key))]) else found

    def refused(self, places: Iterable[Location]) -> bool:
        """Whether something at one of the places was refused."""
        return bool(self.tree.refused) and not self.tree.refused.isdisjoint(places)

    def say(self, path: Path, sentence: str, code: str, hint: str = "", **more: str) -> Problem:
        """What is wrong with the value at the path."""
        return say(self.tree, path, sentence, code, hint, **more)

    def unknown(
        self,
        path: Path,
        kind: str,
        name: Any,
        code: str,
        kin: str,
        by_key: bool = False,
        of: str = "",
    ) -> Iterator[Problem]:
        """A problem unless the name is known; names of the wrong type are the schema's business.

        Args:
            path: where the name stands.
            kind: what it should be the name of.
            name: the name.
            code: code of the problem.
            kin: which of the known names it should be one of.
            by_key: it stands there as a key.
            of: what else the sentence calls it.
        """
        known = self.known[kin]
        if not isinstance(name, str) or known is None or name in known:
            return
        listed = list(known)
        hint = near_miss(name, [*listed, *(GROUPING if kin == "choices" and by_key else ())])
        if not hint:
            some = ", ".join(listed[:8]) + (", ..." if len(listed) > 8 else "")
            hint = f"known: {some}" if listed else f"there is no {kind} yet: add it"
        owner = thing(self.tree, path)
        sentence = f'{owner or "this"} names the unknown {kind} "{shown(name)}"{of}'
        place = self.tree.key_at(path) if by_key else self.tree.at(path)
        yield Problem(place, sentence, code, hint)

    def unknown_choice(self, path: Path, name: Any, by_key: bool = True) -> Iterator[Problem]:
        """A problem unless there is a choice of that name."""
        yield from self.unknown(path, "choice", name, "unknown-choice", "choices", by_key)

    def unknown_option(
        self, path: Path, choice: str, name: Any, by_key: bool = False
    ) -> Iterator[Problem]:
        """A problem unless the choice has an option of that name."""
        if choice in self.options:
            kin, of = options_of(choice), f' of choice "{choice}"'
            yield from self.unknown(path, "option", name, "unknown-option", kin, by_key, of)

    def unknown_space(self, path: Path, name: Any, by_key: bool = False) -> Iterator[Problem]:
        """A problem unless there is a space of that name."""
        yield from self.unknown(path, "space", name, "unknown-space", "spaces", by_key)
