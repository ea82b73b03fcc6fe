"""What a schema cannot see: names that point nowhere, and figures that contradict each other.

Works on the raw tree, so that these problems are reported together with those of the schema;
whatever has the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any

from configurator.catalogue.model import ADD_ON, VEHICLE
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.wrong import thing
from configurator.errors import Problem, near_miss

__all__ = ["reference_problems"]

_PART_FIELDS = {
    "fixed": {"amount"},
    "table": {"by", "rows"},
    "measure": {"of", "rate"},
    "labour": {"hours", "trade"},
    "on-application": set(),
}
_MEASURES = ("skin", "shell", "length", "width", "height", "volume")
_GROUPING = ("all", "any", "none")


def reference_problems(tree: Tree) -> Iterator[Problem]:
    """Every name that points nowhere and every contradiction that a plain look can see."""
    if isinstance(tree.data, Mapping):
        yield from _Names(tree).problems()


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _records(data: Any, *keys: str, path: Path = ()) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """The mappings in the list at ``keys[0]``, or in the lists below them, with their paths."""
    for index, record in enumerate(_list(_mapping(data).get(keys[0]))):
        here = (*path, keys[0], index)
        if isinstance(record, Mapping):
            if len(keys) > 1:
                yield from _records(record, *keys[1:], path=here)
            else:
                yield here, record


def _ids(data: Any, *keys: str) -> list[str]:
    return [str(r["id"]) for _, r in _records(data, *keys) if isinstance(r.get("id"), str)]


def _number(value: Any) -> Decimal | int | None:
    return value if isinstance(value, int | Decimal) and not isinstance(value, bool) else None


class _Names:
    """The names a catalogue defines, and one method for each kind of thing that uses them."""

    def __init__(self, tree: Tree) -> None:
        self.tree, self.data = tree, tree.data
        self.options: dict[str, dict[str, Mapping[str, Any]]] = {}
        self.pick: dict[str, Any] = {VEHICLE: "one", ADD_ON: "several"}
        self.options[VEHICLE] = self._by_id("vehicles")
        self.options[ADD_ON] = self._by_id("add-ons")
        for path, choice in _records(self.data, "choices"):
            identity = choice.get("id")
            if isinstance(identity, str) and identity not in self.options:
                self.pick[identity] = choice.get("pick")
                options = _records(choice, "options", path=path)
                self.options[identity] = {
                    str(o["id"]): o for _, o in options if isinstance(o.get("id"), str)
                }
        self.limits = _ids(self.data, "limits")
        self.spaces = _ids(self.data, "spaces")

    def _by_id(self, key: str) -> dict[str, Mapping[str, Any]]:
        return {
            str(r["id"]): r for _, r in _records(self.data, key) if isinstance(r.get("id"), str)
        }

    def problems(self) -> Iterator[Problem]:
        yield from self._repeated_ids()
        yield from self._header()
        yield from self._choices()
        for path, vehicle in _records(self.data, "vehicles"):
            yield from self._facets(path, vehicle)
            yield from self._vehicle(path, vehicle)
        for path, option in _records(self.data, "choices", "options"):
            yield from self._facets(path, option)
        for path, add_on in _records(self.data, "add-ons"):
            yield from self._facets(path, add_on)
            yield from self._add_on(path, add_on)
        for path, rule in _records(self.data, "rules"):
            yield from self._rule(path, rule)
        for path, caution in _records(self.data, "cautions"):
            yield from self._condition((*path, "when"), caution.get("when"))
        for path, deal in _records(self.data, "package-deals"):
            yield from self._picks((*path, "picks"), deal.get("picks"))
        yield from self._cyclic_needs()
        yield from self._cyclic_support()

    def _say(self, path: Path, sentence: str, code: str, hint: str = "", **more: str) -> Problem:
        return Problem(self.tree.at(path), sentence, code, hint, **more)

    def _unknown(
        self, path: Path, kind: str, name: Any, known: Any, by_key: bool = False
    ) -> Iterator[Problem]:
        """A problem unless the name is known; names of the wrong type are the schema's business."""
        if isinstance(name, str) and name not in known:
            place = self.tree.key_at(path) if by_key else self.tree.at(path)
            hint = near_miss(name, known)
            if not hint and known:
                hint = "known: " + ", ".join(list(known)[:8]) + (", ..." if len(known) > 8 else "")
            owner = thing(self.tree, path)
            sentence = f'{owner + " names" if owner else "this names"} the unknown {kind} "{name}"'
            yield Problem(place, sentence, f"unknown-{kind.rsplit(maxsplit=1)[-1]}", hint)

    def _repeated_ids(self) -> Iterator[Problem]:
        plain = ("vehicles", "choices", "rules", "limits", "cautions", "add-ons", "package-deals")
        lists = [list(_records(self.data, key)) for key in (*plain, "groups", "spaces")]
        lists += [list(_records(c, "options", path=p)) for p, c in _records(self.data, "choices")]
        for records in lists:
            first: dict[str, Path] = {}
            for path, record in records:
                identity = record.get("id")
                if not isinstance(identity, str):
                    continue
                if identity in first:
                    line = self.tree.at((*first[identity], "id")).line
                    yield self._say(
                        (*path, "id"),
                        f"there is a second {thing(self.tree, path)}, first in line {line}",
                        "repeated-id",
                        "give one of them another id",
                    )
                else:
                    first[identity] = path

    def _header(self) -> Iterator[Problem]:
        valid = _mapping(self.data.get("valid"))
        first, until = valid.get("from"), valid.get("until")
        if isinstance(first, str) and isinstance(until, str) and first > until:
            yield self._say(
                ("valid", "until"),
                f"valid until {until} is before valid from {first}",
                "never-valid",
                "swap the two days",
            )
        path: Path = ("quote", "payments")
        payments = _list(_mapping(self.data.get("quote")).get("payments"))
        percents = [_number(_mapping(p).get("percent")) for p in payments]
        known = [p for p in percents if p is not None]
        if known and len(known) == len(payments) and sum(known) != 100:
            yield self._say(
                path,
                f"the payments come to {sum(known)} percent of the total, not 100",
                "payments-sum",
                "change a percent so that they add up to 100",
            )

    def _choices(self) -> Iterator[Problem]:
        groups = _ids(self.data, "groups")
        for path, choice in _records(self.data, "choices"):
            yield from self._unknown((*path, "group"), "group", choice.get("group"), groups)
            if choice.get("id") in (VEHICLE, ADD_ON, *_GROUPING):
                yield self._say(
                    (*path, "id"),
                    f'a choice may not be called "{choice["id"]}"',
                    "reserved-id",
                    "the word has a meaning of its own in conditions; take another",
                )
            if choice.get("pick") != "several":
                if "at-most" in choice:
                    yield self._say(
                        (*path, "at-most"),
                        f'{thing(self.tree, path)} has "at-most" but is no choice of several',
                        "at-most",
                    )
                for inner, option in _records(choice, "options", path=path):
                    if option.get("most", 1) != 1:
                        yield self._say(
                            (*inner, "most"),
                            f"{thing(self.tree, inner)} may be picked {option['most']} times, "
                            f"but one at most is picked there",
                            "most",
                            "make the choice one of several, or leave most out",
                        )

    def _facets(self, path: Path, option: Mapping[str, Any]) -> Iterator[Problem]:
        for facet in ("price", "mass"):
            for inner, part in _records(option, facet, path=path):
                yield from self._part(inner, part, facet)
        rates = _mapping(_mapping(self.data.get("tax")).get("rates"))
        yield from self._unknown((*path, "tax"), "tax rate", option.get("tax"), rates)
        for facet in ("gives", "uses"):
            for limit in _mapping(option.get(facet)):
                yield from self._unknown((*path, facet, limit), "limit", limit, self.limits, True)
        for space in _mapping(option.get("space")):
            yield from self._unknown((*path, "space", space), "space", space, self.spaces, True)
        for inner, opening in _records(option, "openings", path=path):
            yield from self._opening(inner, opening)
        unit = _mapping(option.get("unit"))
        yield from self._unknown((*path, "unit", "space"), "space", unit.get("space"), self.spaces)
        for index, carrier in enumerate(_list(unit.get("stands-on"))):
            yield from self._carrier((*path, "unit", "stands-on", index), carrier)
        load = _mapping(_mapping(option.get("power")).get("load"))
        if load and ("amps" in load) == ("watts" in load):
            yield self._say(
                (*path, "power", "load"),
                f"the load of {thing(self.tree, path)} needs either amps or watts",
                "load",
            )

    def _part(self, path: Path, part: Mapping[str, Any], facet: str) -> Iterator[Problem]:
        kind = part.get("kind")
        wanted = _PART_FIELDS.get(kind) if isinstance(kind, str) else None
        if wanted is None:
            return
        owner = thing(self.tree, path)
        every = set().union(*_PART_FIELDS.values())
        for key in sorted(wanted - set(part)):
            yield self._say(
                path,
                f'the {kind} {facet} of {owner} has no "{key}"',
                "missing-key",
                f'add "{key}: ..."',
            )
        for key in sorted((every & set(part)) - wanted):
            yield Problem(
                self.tree.key_at((*path, key)),
                f'the {kind} {facet} of {owner} has "{key}", which means nothing there',
                "unknown-key",
            )
        by = _list(part.get("by"))
        for index, choice in enumerate(by):
            yield from self._unknown((*path, "by", index), "choice", choice, self.pick)
            if isinstance(choice, str) and self.pick.get(choice, "one") != "one":
                yield self._say(
                    (*path, "by", index),
                    f'the table looks up choice "{choice}", which need not have exactly one answer',
                    "table-by",
                    "look up choices with pick: one",
                )
        if "rows" in part:
            yield from self._rows((*path, "rows"), part["rows"], by)
        if "trade" in part:
            trades = _mapping(self.data.get("labour"))
            yield from self._unknown((*path, "trade"), "trade", part["trade"], trades)
        if isinstance(part.get("of"), str):
            measures = [f"{s}.{m}" for s in self.spaces for m in _MEASURES] + self.limits
            yield from self._unknown((*path, "of"), "measure", part["of"], measures)

    def _rows(self, path: Path, rows: Any, by: list[Any]) -> Iterator[Problem]:
        if not by:
            if isinstance(rows, Mapping):
                yield self._say(path, "the table has more levels than choices in by", "table-depth")
        elif isinstance(rows, Mapping):
            known = self.options.get(by[0], rows) if isinstance(by[0], str) else rows
            for key, value in rows.items():
                yield from self._unknown((*path, key), f"{by[0]} option", key, known, True)
                yield from self._rows((*path, key), value, by[1:])
        elif _number(rows) is not None:
            yield self._say(
                path,
                f'the table has no level for choice "{by[0]}" here',
                "table-depth",
                "write one level of option ids for each choice in by",
            )

    def _opening(self, path: Path, opening: Mapping[str, Any]) -> Iterator[Problem]:
        yield from self._unknown((*path, "space"), "space", opening.get("space"), self.spaces)
        given = sorted({"front", "rear", "width"} & set(opening))
        if len(given) != 2:
            yield self._say(
                path,
                f"an opening of {thing(self.tree, path)} gives {' and '.join(given) or 'nothing'} "
                "along the side",
                "opening",
                "give two of front, rear and width",
            )

    def _carrier(self, path: Path, carrier: Any) -> Iterator[Problem]:
        if not isinstance(carrier, str) or carrier == "floor":
            return
        choice, _, option = carrier.partition("=")
        yield from self._unknown(path, "choice", choice, self.pick)
        if choice not in self.options:
            return
        if option:
            yield from self._unknown(path, f"{choice} option", option, self.options[choice])
        carriers = [o for i, o in self.options[choice].items() if option in ("", i)]
        if carriers and not any("carries" in _mapping(o.get("unit")) for o in carriers):
            yield self._say(path, f'nothing in "{carrier}" carries anything', "no-carrier")

    def _vehicle(self, path: Path, vehicle: Mapping[str, Any]) -> Iterator[Problem]:
        figures = _mapping(vehicle.get("vehicle"))
        kerb = _mapping(figures.get("kerb"))
        front, rear = _number(kerb.get("front")), _number(kerb.get("rear"))
        if front is None or rear is None:
            return
        for key, mass in (("gvm", front + rear), ("front-axle", front), ("rear-axle", rear)):
            rating = _number(figures.get(key))
            if rating is not None and rating < mass:
                yield self._say(
                    (*path, "vehicle", key),
                    f"{key} {rating} kg of {thing(self.tree, path)} is below its kerb mass there, "
                    f"{mass} kg",
                    "rating-below-kerb",
                )

    def _add_on(self, path: Path, add_on: Mapping[str, Any]) -> Iterator[Problem]:
        yield from self._condition((*path, "suggest"), add_on.get("suggest"))
        identity = add_on.get("id")
        if any(
            choice == ADD_ON and identity in options
            for choice, options in _tests(add_on.get("suggest"))
        ):
            yield self._say(
                (*path, "suggest"),
                f"{thing(self.tree, path)} is suggested because of itself",
                "suggests-itself",
                "leave it out of its own condition",
            )

    def _rule(self, path: Path, rule: Mapping[str, Any]) -> Iterator[Problem]:
        for key in ("when", "needs", "rules-out"):
            yield from self._condition((*path, key), rule.get(key))
        if ("needs" in rule) == ("rules-out" in rule):
            yield self._say(
                path,
                f"{thing(self.tree, path)} must have either needs or rules-out",
                "rule-without-consequence" if "needs" not in rule else "rule-with-two-consequences",
            )
        for key in ("needs", "rules-out"):
            if key in rule and rule.get("when") == rule[key]:
                yield self._say(
                    (*path, key),
                    f"{thing(self.tree, path)} {key.replace('-', ' ')} what it applies to",
                    "rule-on-itself",
                )

    def _condition(self, path: Path, condition: Any) -> Iterator[Problem]:
        for key, value in _mapping(condition).items():
            inner = (*path, key)
            if key in _GROUPING:
                for index, part in enumerate(_list(value)):
                    yield from self._condition((*inner, index), part)
                continue
            yield from self._unknown(inner, "choice", key, self.options, True)
            known = self.options.get(key)
            if known is None:
                continue
            if isinstance(value, Mapping):
                yield from self._unknown(
                    (*inner, "option"), f"{key} option", value.get("option"), known
                )
                yield from self._quantities(inner, value)
            else:
                listed = [((*inner, i), v) for i, v in enumerate(_list(value))] or [(inner, value)]
                for place, option in listed:
                    yield from self._unknown(place, f"{key} option", option, known)

    def _quantities(self, path: Path, test: Mapping[str, Any]) -> Iterator[Problem]:
        low, high = _number(test.get("at-least")), _number(test.get("at-most"))
        if "at-least" not in test and "at-most" not in test:
            yield self._say(
                path, "this asks for no quantity", "quantity", "add at-least or at-most"
            )
        if low is not None and high is not None and low > high:
            yield self._say(
                path, f"at least {low} and at most {high} can never both hold", "quantity"
            )

    def _picks(self, path: Path, picks: Any) -> Iterator[Problem]:
        for choice, value in _mapping(picks).items():
            inner = (*path, choice)
            yield from self._unknown(inner, "choice", choice, self.options, True)
            known = self.options.get(choice)
            if known is None:
                continue
            if isinstance(value, Mapping):
                named = [((*inner, option), option, True) for option in value]
            else:
                named = [((*inner, i), o, False) for i, o in enumerate(_list(value))]
                named = named or [(inner, value, False)]
            for place, option, by_key in named:
                yield from self._unknown(place, f"{choice} option", option, known, by_key)
            if self.pick[choice] != "several" and len(named) > 1:
                yield self._say(
                    inner, f'"{choice}" takes one option, not {len(named)}', "too-many-picks"
                )

    def _cyclic_needs(self) -> Iterator[Problem]:
        """Single options that, rule by rule, need each other: one thing sold as several."""
        edges: dict[tuple[str, str], Path] = {}
        for path, rule in _records(self.data, "rules"):
            when, needs = _single(rule.get("when")), _single(rule.get("needs"))
            if when and needs and when != needs:
                edges.setdefault((when, needs), path)
        for names, path in _circles(edges):
            yield self._say(
                path,
                f"these need each other in a circle: {names}",
                "cyclic-needs",
                "sell them as one option, or break the circle",
                level="caution",
            )

    def _cyclic_support(self) -> Iterator[Problem]:
        """Units that can stand on nothing but each other."""
        edges: dict[tuple[str, str], Path] = {}
        records = [(VEHICLE, *r) for r in _records(self.data, "vehicles")]
        records += [(ADD_ON, *r) for r in _records(self.data, "add-ons")]
        for place, choice in _records(self.data, "choices"):
            records += [
                (str(choice.get("id")), *r) for r in _records(choice, "options", path=place)
            ]
        for choice_id, path, record in records:
            stands_on = _list(_mapping(record.get("unit")).get("stands-on"))
            if len(stands_on) == 1 and isinstance(stands_on[0], str) and "=" in stands_on[0]:
                edges[f"{choice_id}={record.get('id')}", stands_on[0]] = (
                    *path,
                    "unit",
                    "stands-on",
                )
        for names, path in _circles(edges):
            yield self._say(
                path, f"these can stand on nothing but each other: {names}", "cyclic-support"
            )


def _circles(edges: Mapping[tuple[str, str], Path]) -> Iterator[tuple[str, Path]]:
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


def _tests(condition: Any) -> Iterator[tuple[str, list[Any]]]:
    """The choices that a raw condition asks about, each with the options it names."""
    for key, value in _mapping(condition).items():
        if key in _GROUPING:
            for part in _list(value):
                yield from _tests(part)
        elif isinstance(value, Mapping):
            yield key, [value.get("option")]
        else:
            yield key, value if isinstance(value, list) else [value]


def _single(condition: Any) -> str | None:
    """``choice=option`` when the raw condition asks for just that."""
    tests = list(_mapping(condition).items())
    if len(tests) == 1 and isinstance(tests[0][1], str) and tests[0][0] not in _GROUPING:
        return f"{tests[0][0]}={tests[0][1]}"
    return None
