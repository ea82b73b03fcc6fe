"""What a schema cannot see: names that point nowhere, and figures that contradict each other.

Works on the raw tree, so that these problems are reported together with those of the schema;
whatever has the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import islice, pairwise
from typing import Any

from configurator.catalogue.figure_references import figure_problems
from configurator.catalogue.look_references import look_problems
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.price_references import price_problems
from configurator.catalogue.reach_references import reach_problems
from configurator.catalogue.schema_errors import shown, thing
from configurator.catalogue.work_references import work_problems
from configurator.errors import Location, Problem, near_miss

__all__ = ["reference_problems"]

_PART_FIELDS = {
    "fixed": {"amount"},
    "table": {"by", "rows"},
    "measure": {"of", "rate"},
    "sheet": {"of", "thickness", "density"},
    "section": {"of", "width", "height", "thickness", "density"},
    "labour": {"hours", "trade"},
    "breaks": {"steps"},
    "markup": {"cost", "percent"},
    "credit": {"replaces"},
    "on-application": set(),
}
_PART_FIELDS_BESIDES = {
    "labour": {"minimum"},
    "credit": {"percent"},
    "section": {"lengths"},
}
_MEASURES = ("skin", "shell", "length", "width", "height", "volume")
_GROUPING = ("all", "any", "none")
_REQUIRED = ("vehicles", "choices", "options", "groups", "rates")
_SINGLE = ("one", "at-most-one")


def reference_problems(tree: Tree) -> Iterator[Problem]:
    """Every name that points nowhere and every contradiction that a plain look can see.

    A value in ``tree.refused`` is passed over. So is every name whose definition may be one of the
    things refused: it is asked about again when that is mended.
    """
    if isinstance(tree.data, dict):
        for problem in _Names(tree).problems():
            if problem.at not in tree.refused:
                yield problem


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _records(data: Any, *keys: str, path: Path = ()) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """The mappings in the list at ``keys[0]``, or in the lists below them, with their paths."""
    for index, record in enumerate(_list(_mapping(data).get(keys[0]))):
        here = (*path, keys[0], index)
        if isinstance(record, dict):
            if len(keys) > 1:
                yield from _records(record, *keys[1:], path=here)
            else:
                yield here, record


def _number(value: Any) -> Decimal | int | None:
    return value if isinstance(value, int | Decimal) and not isinstance(value, bool) else None


def _day(value: Any) -> date | None:
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None


class _Names:
    """The names a catalogue defines, and one method for each kind of thing that uses them.

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
        self.options: dict[str, dict[str, Mapping[str, Any]]] = {}
        self.known: dict[str, Iterable[str] | None] = {
            section: self._ids((), section) for section in ("groups", "spaces", "limits")
        }
        self.known["labour"] = self._keys((), "labour")
        self.known["rates"] = self._keys(("tax",), "rates")
        self._add_options(VEHICLE, (), "vehicles")
        self._add_options(ADD_ON, (), "add-ons")
        self._add_choices()

    def _add_choices(self) -> None:
        for path, choice in _records(self.data, "choices"):
            identity = choice.get("id")
            if isinstance(identity, str):
                self.pick.setdefault(identity, choice.get("pick"))
                self.at_most.setdefault(identity, self._figure(path, choice, "at-most"))
                repeated = identity in self.options
                self._add_options(identity, path, "options")
                if repeated:
                    self.known[_options(identity)] = None
        whole = self._ids((), "choices") is not None
        self.known["choices"] = self.options if whole else None

    def _add_options(self, choice: str, path: Path, key: str) -> None:
        options = _records(self._value(path), key)
        found = {str(o["id"]): o for _, o in options if isinstance(o.get("id"), str)}
        self.options.setdefault(choice, {}).update(found)
        self.known[_options(choice)] = self._ids(path, key)

    def _value(self, path: Path) -> Any:
        value = self.data
        for step in path:
            value = _mapping(value).get(step) if isinstance(step, str) else value[step]
        return value

    def _section(self, path: Path, key: str) -> Any:
        """What stands at the key; None when names that should stand there may not."""
        around = _mapping(self._value(path))
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
        ids = [_mapping(record).get("id") for record in _list(section)]
        known = [identity for identity in ids if isinstance(identity, str)]
        places = ((*path, key, index, "id") for index in range(len(ids)))
        right = len({*known}) == len(ids) and not self._refused(map(self.tree.at, places))
        return known if right else None

    def _keys(self, path: Path, key: str) -> list[str] | None:
        """The keys of the mapping at the key; None when one of them was refused."""
        section = self._section(path, key)
        if section is None:
            return None
        places = ((*path, key, name) for name in _mapping(section))
        return None if self._refused(map(self.tree.key_at, places)) else list(_mapping(section))

    def _figure(self, path: Path, record: Mapping[str, Any], key: str) -> Decimal | int | None:
        """The number at the key of a record, unless it was refused."""
        number = _number(record.get(key))
        return None if self._refused(map(self.tree.at, [(*path, key)])) else number

    def _refused(self, places: Iterable[Location]) -> bool:
        return bool(self.tree.refused) and not self.tree.refused.isdisjoint(places)

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
        yield from price_problems(self.tree)
        yield from figure_problems(self.tree)
        yield from look_problems(self.tree)
        yield from reach_problems(self.tree)

    def _say(self, path: Path, sentence: str, code: str, hint: str = "", **more: str) -> Problem:
        return Problem(self.tree.at(path), sentence, code, hint, **more)

    def _unknown(
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
        hint = near_miss(name, [*listed, *(_GROUPING if kin == "choices" and by_key else ())])
        if not hint:
            some = ", ".join(listed[:8]) + (", ..." if len(listed) > 8 else "")
            hint = f"known: {some}" if listed else f"there is no {kind} yet: add it"
        owner = thing(self.tree, path)
        sentence = f'{owner or "this"} names the unknown {kind} "{shown(name)}"{of}'
        place = self.tree.key_at(path) if by_key else self.tree.at(path)
        yield Problem(place, sentence, code, hint)

    def _unknown_choice(self, path: Path, name: Any, by_key: bool = True) -> Iterator[Problem]:
        yield from self._unknown(path, "choice", name, "unknown-choice", "choices", by_key)

    def _unknown_option(
        self, path: Path, choice: str, name: Any, by_key: bool = False
    ) -> Iterator[Problem]:
        if choice in self.options:
            kin, of = _options(choice), f' of choice "{choice}"'
            yield from self._unknown(path, "option", name, "unknown-option", kin, by_key, of)

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
        first, until = _day(valid.get("from")), _day(valid.get("until"))
        if first and until and first > until:
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
        right = all(0 < percent <= 100 for percent in known) and len(known) == len(payments)
        if known and right and sum(known) != 100:
            yield self._say(
                path,
                f"the payments come to {sum(known)} percent of the total, not 100",
                "payments-sum",
                "change a percent so that they add up to 100",
            )

    def _choices(self) -> Iterator[Problem]:
        for path, choice in _records(self.data, "choices"):
            group = choice.get("group")
            yield from self._unknown((*path, "group"), "group", group, "unknown-group", "groups")
            if choice.get("id") in (VEHICLE, ADD_ON, FREE_LINE, *_GROUPING):
                yield self._say(
                    (*path, "id"),
                    f'a choice may not be called "{choice["id"]}"',
                    "reserved-id",
                    "the word has a meaning of its own in conditions; take another",
                )
            if choice.get("pick") in _SINGLE:
                yield from self._more_than_one(path, choice)

    def _more_than_one(self, path: Path, choice: Mapping[str, Any]) -> Iterator[Problem]:
        """Quantities in a choice that takes a single option."""
        hint = 'leave it out, or write "pick: several" for the choice'
        if "at-most" in choice:
            yield self._say(
                (*path, "at-most"),
                f'{thing(self.tree, path)} takes one option, so "at-most" means nothing there',
                "at-most",
                hint,
            )
        for inner, option in _records(choice, "options", path=path):
            most = _number(option.get("most", 1))
            if most is not None and most > 1:
                yield self._say(
                    (*inner, "most"),
                    f'{thing(self.tree, inner)} has "most: {most}", but the choice takes one',
                    "most",
                    hint,
                )

    def _facets(self, path: Path, option: Mapping[str, Any]) -> Iterator[Problem]:
        for facet in ("price", "cost", "mass"):
            for inner, part in _records(option, facet, path=path):
                yield from self._part(inner, part, facet)
        tax = option.get("tax")
        yield from self._unknown((*path, "tax"), "tax rate", tax, "unknown-tax-rate", "rates")
        for facet in ("gives", "uses"):
            for limit in _mapping(option.get(facet)):
                at = (*path, facet, limit)
                yield from self._unknown(at, "limit", limit, "unknown-limit", "limits", True)
        for space in _mapping(option.get("space")):
            yield from self._unknown_space((*path, "space", space), space, by_key=True)
        for inner, opening in _records(option, "openings", path=path):
            yield from self._opening(inner, opening)
        yield from work_problems(self.tree, path, option)
        for inner, work in _records(option, "work", path=path):
            yield from self._units((*inner, "on"), work.get("on"), "is done on")
        unit = _mapping(option.get("unit"))
        yield from self._unknown_space((*path, "unit", "space"), unit.get("space"))
        for index, carrier in enumerate(_list(unit.get("stands-on"))):
            yield from self._carrier((*path, "unit", "stands-on", index), carrier)
        yield from self._preferred_side(path, unit)
        load = _mapping(option.get("power")).get("load")
        if isinstance(load, dict) and ("amps" in load) == ("watts" in load):
            given = "both amps and watts" if "amps" in load else "neither amps nor watts"
            yield self._say(
                (*path, "power", "load"),
                f"the load of {thing(self.tree, path)} has {given}",
                "load",
                "give one of the two",
            )

    def _unknown_space(self, path: Path, name: Any, by_key: bool = False) -> Iterator[Problem]:
        yield from self._unknown(path, "space", name, "unknown-space", "spaces", by_key)

    def _part(self, path: Path, part: Mapping[str, Any], facet: str) -> Iterator[Problem]:
        kind = part.get("kind")
        wanted = _PART_FIELDS.get(kind) if isinstance(kind, str) else None
        if wanted is None:
            return
        owner = thing(self.tree, path)
        missing = sorted(wanted - set(part))
        if missing:
            yield self._say(
                path,
                f"the {kind} {facet} of {owner} has no " + _quoted(missing, " and no "),
                "missing-key",
                "add " + " and ".join(f'"{key}: ..."' for key in missing),
            )
        every = set().union(*_PART_FIELDS.values(), *_PART_FIELDS_BESIDES.values())
        for key in sorted(
            (every & set(part)) - wanted - _PART_FIELDS_BESIDES.get(str(kind), set())
        ):
            yield Problem(
                self.tree.key_at((*path, key)),
                f'the {kind} {facet} of {owner} has "{key}", which means nothing there',
                "unknown-key",
                f"leave it out, or write the kind that has it: {_kind_with(key)}",
            )
        if kind == "table":
            yield from self._table(path, part, f"the {facet} table of {owner}")
        trade = part.get("trade")
        yield from self._unknown((*path, "trade"), "trade", trade, "unknown-trade", "labour")
        yield from self._measure((*path, "of"), part.get("of"))
        yield from self._replaced((*path, "replaces"), part.get("replaces"))

    def _replaced(self, path: Path, name: Any) -> Iterator[Problem]:
        """What a credit takes off must be there."""
        if isinstance(name, str):
            choice, equals, option = name.partition("=")
            yield from self._unknown_choice(path, choice, by_key=False)
            if equals or choice in self.options:
                yield from self._unknown_option(path, choice, option)

    def _measure(self, path: Path, name: Any) -> Iterator[Problem]:
        spaces, limits = self.known["spaces"], self.known["limits"]
        if spaces is None or limits is None:
            return
        self.known["measures"] = [f"{s}.{m}" for s in spaces for m in _MEASURES] + list(limits)
        yield from self._unknown(path, "measure", name, "unknown-measure", "measures")

    def _table(self, path: Path, part: Mapping[str, Any], name: str) -> Iterator[Problem]:
        by = _list(part.get("by"))
        for index, choice in enumerate(by):
            inner = (*path, "by", index)
            yield from self._unknown_choice(inner, choice, by_key=False)
            if isinstance(choice, str) and self.pick.get(choice) in ("at-most-one", "several"):
                yield self._say(
                    inner,
                    f'{name} looks up choice "{choice}", which need not have exactly one answer',
                    "table-by",
                    'look up choices with "pick: one"',
                )
        if by and all(isinstance(choice, str) for choice in by):
            rows = (*path, "rows")
            yield from self._rows(rows, part.get("rows"), by)
            yield from islice(self._depth(rows, part.get("rows"), by, name), 1)

    def _rows(self, path: Path, rows: Any, by: list[Any]) -> Iterator[Problem]:
        """Options that the rows name and nobody knows."""
        for key, value in _mapping(rows).items() if by else ():
            yield from self._unknown_option((*path, key), by[0], key, by_key=True)
            yield from self._rows((*path, key), value, by[1:])

    def _depth(self, path: Path, rows: Any, by: list[Any], name: str) -> Iterator[Problem]:
        """Cells that stand at the wrong level of the table."""
        if isinstance(rows, dict) and by:
            for key, value in rows.items():
                yield from self._depth((*path, key), value, by[1:], name)
        elif isinstance(rows, dict):
            yield self._say(
                path,
                f'{name} has more levels than "by" has choices',
                "table-depth",
                'take a level out, or name one more choice in "by"',
            )
        elif _number(rows) is not None and by:
            yield self._say(
                path,
                f'{name} has no level for choice "{by[0]}" here',
                "table-depth",
                f'write an amount for each option of "{by[0]}", or take it out of "by"',
            )

    def _opening(self, path: Path, opening: Mapping[str, Any]) -> Iterator[Problem]:
        yield from self._unknown_space((*path, "space"), opening.get("space"))
        along = ("front", "rear", "width")
        given = [key for key in along if key in opening]
        if len(given) != 2:
            has = "all of" if len(given) == 3 else "only" if given else "none of"
            which = given[0] if len(given) == 1 else "front, rear and width"
            yield self._say(
                path,
                f"an opening of {thing(self.tree, path)} has {has} {which}",
                "opening",
                "give exactly two of front, rear and width",
            )
        for index, name in enumerate(_list(opening.get("prefers"))):
            yield from self._units((*path, "prefers", index), name, "prefers")

    def _units(self, path: Path, name: Any, verb: str) -> Iterator[Problem]:
        """The choice, or the option of it, that is named must be there and bring a unit."""
        if not isinstance(name, str):
            return
        choice, _, option = name.partition("=")
        yield from self._unknown_choice(path, choice, by_key=False)
        if option:
            yield from self._unknown_option(path, choice, option)
        named = [o for i, o in self.options.get(choice, {}).items() if option in ("", i)]
        if named and self.known.get(_options(choice)) and not any("unit" in o for o in named):
            yield self._say(
                path,
                f'{thing(self.tree, path)} {verb} "{shown(name)}", which is nothing to place',
                "no-unit",
                "name a choice or an option that has a unit",
            )

    def _preferred_side(self, path: Path, unit: Mapping[str, Any]) -> Iterator[Problem]:
        side, sides = _mapping(unit.get("prefers")).get("side"), _list(unit.get("works-from"))
        here = (*path, "unit", "works-from")
        places = [(*here, index) for index in range(len(sides))]
        unread = self._refused(self.tree.at(place) for place in (here, *places))
        if isinstance(side, str) and side not in sides and not unread:
            told = " or ".join(map(str, sides)) or "no side"
            yield self._say(
                (*path, "unit", "prefers", "side"),
                f"the unit of {thing(self.tree, path)} prefers the {shown(side)}, but works from "
                f"{told}",
                "preferred-side",
                'prefer a side that its "works-from" names, or add this side there',
            )

    def _carrier(self, path: Path, carrier: Any) -> Iterator[Problem]:
        if not isinstance(carrier, str) or carrier == "floor":
            return
        choice, _, option = carrier.partition("=")
        yield from self._unknown_choice(path, choice, by_key=False)
        if option:
            yield from self._unknown_option(path, choice, option)
        named = [o for i, o in self.options.get(choice, {}).items() if option in ("", i)]
        units = [o.get("unit", {}) for o in named]
        read = self.known.get(_options(choice)) and all(isinstance(u, dict) for u in units)
        if units and read and not any("carries" in unit for unit in units):
            yield self._say(
                path,
                f'{thing(self.tree, path)} is to stand on "{shown(carrier)}", '
                "which carries nothing",
                "no-carrier",
                'give it "carries" in its unit, or name something else to stand on',
            )

    def _vehicle(self, path: Path, vehicle: Mapping[str, Any]) -> Iterator[Problem]:
        figures = _mapping(vehicle.get("vehicle"))
        kerb = _mapping(figures.get("kerb"))
        at = (*path, "vehicle", "kerb")
        front, rear = (self._figure(at, kerb, key) for key in ("front", "rear"))
        if front is None or rear is None:
            return
        for key, mass in (("gvm", front + rear), ("front-axle", front), ("rear-axle", rear)):
            rating = self._figure((*path, "vehicle"), figures, key)
            if rating is not None and rating < mass:
                on = "" if key == "gvm" else f" on the {key.replace('-', ' ')}"
                yield self._say(
                    (*path, "vehicle", key),
                    f"{key} of {thing(self.tree, path)} is {rating} kg, "
                    f"less than its kerb mass{on}, {mass} kg",
                    "rating-below-kerb",
                    "check both figures against the maker's",
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
                f"{thing(self.tree, path)} names itself in the condition that suggests it",
                "suggests-itself",
                "leave it out there: an add-on is suggested only while it is not picked",
            )

    def _rule(self, path: Path, rule: Mapping[str, Any]) -> Iterator[Problem]:
        for key in ("when", "needs", "rules-out"):
            yield from self._condition((*path, key), rule.get(key))
        owner = thing(self.tree, path)
        if "needs" not in rule and "rules-out" not in rule:
            yield self._say(
                path,
                f"{owner} has no consequence",
                "rule-without-consequence",
                'add "needs: ..." or "rules-out: ..."',
            )
        if "needs" in rule and "rules-out" in rule:
            yield self._say(
                path,
                f'{owner} has both "needs" and "rules-out"',
                "rule-with-two-consequences",
                "make two rules of it",
            )
        if not isinstance(rule.get("when"), Mapping):
            return
        if rule["when"] == rule.get("needs"):
            yield self._say(
                (*path, "needs"),
                f"{owner} needs just what it applies to, so it says nothing",
                "rule-on-itself",
                "name something else in needs, or leave the rule out",
            )
        if rule["when"] == rule.get("rules-out"):
            yield self._say(
                (*path, "rules-out"),
                f"{owner} rules out just what it applies to, so that can never be picked",
                "rule-on-itself",
                "name something else in rules-out, or take what it names out of the catalogue",
            )

    def _condition(self, path: Path, condition: Any) -> Iterator[Problem]:
        for key, value in _mapping(condition).items():
            inner = (*path, key)
            if key in _GROUPING:
                for index, part in enumerate(_list(value)):
                    yield from self._condition((*inner, index), part)
                continue
            yield from self._unknown_choice(inner, key)
            if key not in self.options:
                continue
            if isinstance(value, dict):
                yield from self._unknown_option((*inner, "option"), key, value.get("option"))
                yield from self._quantities(inner, value, key)
            else:
                listed = [((*inner, i), v) for i, v in enumerate(_list(value))] or [(inner, value)]
                for place, option in listed:
                    yield from self._unknown_option(place, key, option)

    def _quantities(self, path: Path, test: Mapping[str, Any], choice: str) -> Iterator[Problem]:
        low, high = (self._figure(path, test, key) for key in ("at-least", "at-most"))
        owner = thing(self.tree, path)
        if "at-least" not in test and "at-most" not in test:
            yield self._say(
                path,
                f'{owner} asks for no quantity of choice "{choice}"',
                "quantity",
                'add "at-least: ..." or "at-most: ..."',
            )
        if low is not None and high is not None and low > high:
            yield self._say(
                path,
                f"{owner} asks for at least {low} and at most {high}, which can never both hold",
                "quantity",
                "swap the two numbers",
            )
        elif low is not None and low > (most := self._most(choice, test.get("option"))):
            what = f'option "{test["option"]}" of ' if "option" in test else ""
            yield self._say(
                path,
                f'{owner} asks for at least {low} of {what}choice "{choice}", which can be had '
                f"{_times(most)} at most",
                "quantity",
                "ask for less, or allow more there",
                level="caution",
            )

    def _most(self, choice: str, option: Any) -> Decimal | float:
        """The largest quantity that can be picked; infinite where that could not be read."""
        if self.known[_options(choice)] is None:
            return float("inf")
        counted = [o for i, o in self.options[choice].items() if option in (None, i)]
        if self.pick[choice] in _SINGLE or not counted:
            return 1 if counted else float("inf")
        mosts = [_number(record.get("most", 1)) for record in counted]
        read = [most for most in mosts if most is not None and most > 0]
        together = sum(read) if len(read) == len(mosts) else float("inf")
        return min(together, self.at_most.get(choice) or float("inf"))

    def _picks(self, path: Path, picks: Any) -> Iterator[Problem]:
        for choice, value in _mapping(picks).items():
            inner = (*path, choice)
            yield from self._unknown_choice(inner, choice)
            if choice not in self.options:
                continue
            if isinstance(value, dict):
                named = [((*inner, option), option, True) for option in value]
            else:
                named = [((*inner, i), o, False) for i, o in enumerate(_list(value))]
                named = named or [(inner, value, False)]
            for place, option, by_key in named:
                yield from self._unknown_option(place, choice, option, by_key)
            yield from self._too_many(inner, choice, value)

    def _too_many(self, path: Path, choice: str, value: Any) -> Iterator[Problem]:
        """More options, or more of one, than the choice takes."""
        owner = thing(self.tree, path)
        if self.pick[choice] in _SINGLE and isinstance(value, list | dict) and len(value) > 1:
            yield self._say(
                path,
                f'{owner} picks {len(value)} options of choice "{choice}", which takes one',
                "too-many-picks",
                "keep one of them",
            )
            return
        for option, quantity in _mapping(value).items():
            count, most = _number(quantity), self._most(choice, option)
            if count is not None and count > most:
                yield self._say(
                    (*path, option),
                    f'{owner} picks {count} of option "{option}" of choice "{choice}", which can '
                    f"be had {_times(most)} at most",
                    "too-many-picks",
                    f"set its quantity to {most} or less",
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
                "sell them as one option, or leave one of the rules out",
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
                at = (*path, "unit", "stands-on")
                edges[f"{choice_id}={record.get('id')}", stands_on[0]] = at
        for names, path in _circles(edges):
            yield self._say(
                path,
                f"these can stand on nothing but each other: {names}",
                "cyclic-support",
                "let one of them stand on the floor too",
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
        elif isinstance(value, dict):
            yield key, [value.get("option")]
        else:
            yield key, value if isinstance(value, list) else [value]


def _options(choice: str) -> str:
    """Where the options of a choice are among the known names."""
    return f"options of {choice}"


def _quoted(words: Iterable[str], between: str) -> str:
    return between.join(f'"{word}"' for word in words)


def _times(number: Decimal | float) -> str:
    return "once" if number == 1 else f"{number} times"


def _kind_with(field: str) -> str:
    both = (_PART_FIELDS, _PART_FIELDS_BESIDES)
    return next(kind for table in both for kind, fields in table.items() if field in fields)


def _single(condition: Any) -> str | None:
    """``choice=option`` when the raw condition asks for just that."""
    tests = list(_mapping(condition).items())
    if len(tests) == 1 and isinstance(tests[0][1], str) and tests[0][0] not in _GROUPING:
        return f"{tests[0][0]}={tests[0][1]}"
    return None
