"""Names in the raw tree of a catalogue, whatever its shape: where they are, and where they circle.

What has it reads as nothing here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any

from configurator.catalogue.cutting import CONSTANT, SPACE, TRAY
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, VEHICLE
from configurator.catalogue.plain_data import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.errors import Location, Problem
from configurator.words import near_miss, text

GROUPING = ("all", "any", "none")
"""Keys of a condition that are no choices."""

_KINDS = {
    "group": text("group"),
    "space": text("space"),
    "limit": text("limit"),
    "place": text("place"),
    "stock sheet": text("stock sheet"),
    "stock bar": text("stock bar"),
    "trade": text("trade"),
    "tax rate": text("tax rate"),
    "choice": text("choice"),
    "option": text("option"),
    "measure": text("measure"),
    "size": text("size"),
}
"""What a name may be the name of, as a sentence says it."""

_REQUIRED = ("vehicles", "choices", "options", "groups", "rates")


class TreeValue:
    """A value of the tree, or a key of it, and where it stands; its text says what it belongs to.

    Attributes:
        tree: what it is in.
        path: of the value; of a key, that of the value below it.
        value: itself; None where there is none.
        is_key: it is a key.
    """

    __slots__ = ("is_key", "path", "tree", "value")

    def __init__(self, tree: Tree, path: Path, value: Any, is_key: bool = False) -> None:
        self.tree, self.path, self.value, self.is_key = tree, path, value, is_key

    def __str__(self) -> str:
        return self.thing

    def __getitem__(self, key: str) -> TreeValue:
        """The value below the key; of None where there is none."""
        value = self.value.get(key) if isinstance(self.value, dict) else None
        return TreeValue(self.tree, (*self.path, key), value)

    def __contains__(self, key: str) -> bool:
        return isinstance(self.value, dict) and key in self.value

    def __iter__(self) -> Iterator[TreeValue]:
        """The entries of a list."""
        if isinstance(self.value, list):
            for index, entry in enumerate(self.value):
                yield TreeValue(self.tree, (*self.path, index), entry)

    def __len__(self) -> int:
        """How many entries a list, or keys a mapping, has."""
        return len(self.value) if isinstance(self.value, list | dict) else 0

    def items(self) -> Iterable[tuple[TreeValue, TreeValue]]:
        """The keys of a mapping with their values."""
        if not isinstance(self.value, dict):
            return ()
        tree, within = self.tree, self.path
        return [
            (
                TreeValue(tree, path := (*within, key), key, is_key=True),
                TreeValue(tree, path, value),
            )
            for key, value in self.value.items()
        ]

    def records(self, key: str) -> Iterable[TreeValue]:
        """The mappings in the list at the key."""
        return [one for one in self[key] if isinstance(one.value, dict)] if key in self else ()

    @property
    def at(self) -> Location:
        """Where it stands."""
        return self.tree.key_at(self.path) if self.is_key else self.tree.at(self.path)

    @property
    def refused(self) -> bool:
        """Whether it was found wrong before."""
        return bool(self.tree.refused) and self.at in self.tree.refused

    @property
    def thing(self) -> str:
        """What it belongs to, as a sentence says it: ``option "h850" of choice "height"``."""
        return thing(self.tree, self.path)

    @property
    def text(self) -> str:
        """The text that it is; empty where it is none."""
        return self.value if isinstance(self.value, str) else ""

    @property
    def number(self) -> Decimal | int | None:
        """The number that it is, unless it was refused."""
        value = self.value
        right = isinstance(value, int | Decimal) and not isinstance(value, bool)
        return value if right and not self.refused else None

    @property
    def day(self) -> date | None:
        """The day that it is."""
        try:
            return date.fromisoformat(self.text) if self.text else None
        except ValueError:
            return None

    def say(self, sentence: str, code: str, hint: str, level: str = "error") -> Problem:
        """What is wrong with it."""
        return Problem(self.at, sentence, code, hint, level)


def options(data: TreeValue) -> Iterator[tuple[str, TreeValue]]:
    """Every vehicle, add-on and option, with the id of its choice."""
    for choice, key in ((VEHICLE, "vehicles"), (ADD_ON, "add-ons")):
        for option in data.records(key):
            yield choice, option
    for group in data.records("choices"):
        for option in group.records("options"):
            yield str(group["id"].value), option


def _options_of(choice: str) -> str:
    """Where the options of a choice are among the known names."""
    return f"option of {choice}"


class Names:
    """The names a catalogue defines.

    Attributes:
        data: the whole catalogue.
        choices: the choices by their ids, without vehicles and add-ons.
        options: the options of each choice by their ids.
        known: the names of each kind that a name may point to; None where some of them could not
            be read. Those of the options of a choice are under :func:`_options_of`.
    """

    def __init__(self, tree: Tree) -> None:
        self.data = data = TreeValue(tree, (), tree.data)
        self.choices: dict[str, TreeValue] = {}
        self.options: dict[str, dict[str, TreeValue]] = {}
        self.known: dict[str, Iterable[str] | None] = {
            "group": _ids(data, "groups"),
            "space": _ids(data, "spaces"),
            "limit": _ids(data, "limits"),
            "place": _ids(data["power"], "places", repeated=True),
            "stock sheet": _ids(data["cutting"], "sheets"),
            "stock bar": _ids(data["cutting"], "bars"),
            "trade": _keys(data, "labour"),
            "tax rate": _keys(data["tax"], "rates"),
        }
        self._add_options(VEHICLE, data, "vehicles")
        self._add_options(ADD_ON, data, "add-ons")
        for choice in data.records("choices"):
            if isinstance(identity := choice["id"].value, str):
                self.choices.setdefault(identity, choice)
                repeated = identity in self.options
                self._add_options(identity, choice, "options")
                if repeated:
                    self.known[_options_of(identity)] = None
        self.known["choice"] = None if _ids(data, "choices") is None else self.options
        spaces, limits = self.known["space"], self.known["limit"]
        measured = ("skin", "shell", "length", "width", "height", "volume")
        self.known["measure"] = (
            None
            if spaces is None or limits is None
            else [*(f"{space}.{one}" for space in spaces for one in measured), *limits]
        )

        sizes = None if spaces is None else [f"{space}.{one}" for space in spaces for one in SPACE]
        self.known["size"] = None if sizes is None else [CONSTANT, *TRAY, *sizes]

    def _add_options(self, choice: str, around: TreeValue, key: str) -> None:
        found = {o["id"].value: o for o in around.records(key) if isinstance(o["id"].value, str)}
        self.options.setdefault(choice, {}).update(found)
        self.known[_options_of(choice)] = _ids(around, key)

    def pick(self, choice: str) -> Any:
        """How many options the choice takes."""
        usual = {VEHICLE: "one", ADD_ON: "several"}
        return usual.get(choice) or self.choices[choice]["pick"].value

    def takes_one(self, choice: str) -> bool:
        """Whether no more than one option of the choice can be picked."""
        return self.pick(choice) in ("one", "at-most-one")

    def most(self, choice: str, option: Any = None) -> Decimal | float:
        """The largest quantity of the option, or of all, that can be picked.

        It is infinite where that could not be read.
        """
        counted = [o for i, o in self.options[choice].items() if option in (None, i)]
        if self.known[_options_of(choice)] is None or not counted:
            return float("inf")
        if self.takes_one(choice):
            return 1
        read = [o["most"].number if "most" in o else 1 for o in counted]
        mosts = [most for most in read if most is not None and most > 0]
        together = sum(mosts) if len(mosts) == len(counted) else float("inf")
        at_most = self.choices[choice]["at-most"].number if choice in self.choices else None
        return min(together, at_most or float("inf"))

    def unknown(self, name: TreeValue, kind: str, choice: str = "") -> Iterable[Problem]:
        """A problem unless there is a thing of that name; other types are the schema's business.

        Args:
            name: where the name stands.
            kind: what it should be the name of, such as ``limit``.
            choice: id of the choice that an option is looked for in; an unknown one has none.
        """
        names = self.known.get(_options_of(choice) if choice else kind)
        if not isinstance(name.value, str) or names is None or name.value in names:
            return ()
        listed = list(names)
        more = GROUPING if kind == "choice" and name.is_key else ()
        hint = near_miss(name.value, [*listed, *more])
        if not hint and listed:
            some = ", ".join(listed[:8]) + (", ..." if len(listed) > 8 else "")
            hint = text("known: {names}", names=some)
        elif not hint:
            hint = text("there is no {kind} yet: add it", kind=_KINDS[kind])
        known = {
            "thing": name.thing or str(name.path[0]),
            "kind": _KINDS[kind],
            "name": shown(name.value),
            "choice": choice,
        }
        if choice:
            sentence = text(
                '{thing} names the unknown {kind} "{name}" of choice "{choice}"', **known
            )
        else:
            sentence = text('{thing} names the unknown {kind} "{name}"', **known)
        code = f"unknown-{kind.replace(' ', '-')}"
        return (name.say(sentence, code, hint),)

    def unknown_pick(self, name: TreeValue, whole: bool = False) -> Iterator[Problem]:
        """A problem unless there is the choice, or the option of a choice, that it names.

        Args:
            name: as ``CHOICE`` or ``CHOICE=OPTION``.
            whole: it has to be ``CHOICE=OPTION``.
        """
        pick = Pick.named(name.text)
        if isinstance(name.value, str):
            yield from self.unknown(TreeValue(name.tree, name.path, pick.choice), "choice")
            if pick.option or whole:
                option = TreeValue(name.tree, name.path, pick.option)
                yield from self.unknown(option, "option", pick.choice)

    def named(self, name: TreeValue) -> list[TreeValue]:
        """The options that ``CHOICE`` or ``CHOICE=OPTION`` names, where all could be read."""
        pick = Pick.named(name.text)
        if not self.known.get(_options_of(pick.choice)):
            return []
        return [o for i, o in self.options[pick.choice].items() if pick.option in ("", i)]


def _section(around: TreeValue, key: str) -> TreeValue | None:
    """What stands at the key; None when names that should stand there may not."""
    if not around.tree.whole:
        return None
    if key in around:
        return None if around[key].refused else around[key]
    return None if around.refused or key in _REQUIRED else around[key]


def _ids(around: TreeValue, key: str, repeated: bool = False) -> list[str] | None:
    """The ids of the records in the list at the key; None when one has none of its own.

    One that is repeated counts as none: it may have been meant for another, unless that is allowed.
    """
    section = _section(around, key)
    if section is None:
        return None
    ids = [entry["id"] for entry in section]
    known = [one.value for one in ids if isinstance(one.value, str)]
    every = known if repeated else {*known}
    right = len(every) == len(ids) and not any(one.refused for one in ids)
    return known if right else None


def _keys(around: TreeValue, key: str) -> list[str] | None:
    """The keys of the mapping at the key; None when one of them was refused."""
    section = _section(around, key)
    if section is None or any(name.refused for name, _ in section.items()):
        return None
    return [name.value for name, _ in section.items()]


def circle_problems(data: TreeValue) -> Iterator[Problem]:
    """Options that need each other, and units that can stand on nothing but each other."""
    yield from _cyclic_needs(data)
    yield from _cyclic_support(data)


def circles(edges: Mapping[tuple[str, str], TreeValue]) -> Iterator[tuple[str, TreeValue]]:
    """Circles in the graph, each told from its smallest name, with the place of its first edge.

    Breaking each circle found at its first edge leaves the others to be found; twenty are enough
    for one reading.
    """
    left = dict(sorted(edges.items(), key=lambda edge: edge[0]))
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


def _cyclic_needs(data: TreeValue) -> Iterator[Problem]:
    """Single options that, rule by rule, need each other: one thing sold as several."""
    edges: dict[tuple[str, str], TreeValue] = {}
    for rule in data.records("rules"):
        when, needs = _single(rule["when"].value), _single(rule["needs"].value)
        if when and needs and when != needs:
            edges.setdefault((when, needs), rule)
    for names, rule in circles(edges):
        sentence = text("these need each other in a circle: {names}", names=names)
        hint = text("sell them as one option, or leave one of the rules out")
        yield rule.say(sentence, "cyclic-needs", hint, level="caution")


def _cyclic_support(data: TreeValue) -> Iterator[Problem]:
    """Units that can stand on nothing but each other."""
    edges: dict[tuple[str, str], TreeValue] = {}
    for choice, option in options(data):
        carriers = option["unit"]["stands-on"]
        named = [Pick.named(carrier.text) for carrier in carriers]
        if len(named) == 1 and named[0].option:
            edges[str(Pick(choice, str(option["id"].value))), str(named[0])] = carriers
    for names, carriers in circles(edges):
        sentence = text("these only stand on each other: {names}", names=names)
        hint = text("let one of them stand on the floor too")
        yield carriers.say(sentence, "cyclic-support", hint)


def _single(condition: Any) -> str | None:
    """``choice=option`` when the raw condition asks for just that."""
    tests = list(condition.items()) if isinstance(condition, dict) else []
    if len(tests) == 1 and isinstance(tests[0][1], str) and tests[0][0] not in GROUPING:
        return str(Pick(*tests[0]))
    return None
