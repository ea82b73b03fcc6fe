"""What a schema cannot see in options: what they name, and units that nobody can reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from configurator.catalogue.fields import Pick
from configurator.catalogue.names import (
    Names,
    Raw,
    entries,
    mapping,
    number,
    options,
    options_of,
    records,
    say,
)
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.errors import Problem

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
_LONG = {"across": "width", "behind": "depth", "up": "height"}
"""The size of the body that each coordinate of a place stays within."""

_POWER = {
    "load": "a switch",
    "battery": "terminals and a fuse",
    "inverter": "a switch and sockets",
    "vehicle-charger": "a charger's display",
    "mains-charger": "a charger's display",
    "circuit": "a fuse",
}
"""What there is to reach on a unit with this part in the 12 V system."""


class Facets(Names):
    """The names of a catalogue, and what is wrong with each option."""

    def facets(self, path: Path, option: Raw) -> Iterator[Problem]:
        """What is wrong with what the option brings."""
        for facet in ("price", "cost", "mass"):
            for inner, part in records(option, facet, path=path):
                yield from self._part(inner, part, facet)
        tax = option.get("tax")
        yield from self.unknown((*path, "tax"), "tax rate", tax, "unknown-tax-rate", "rates")
        for facet in ("gives", "uses"):
            for limit in mapping(option.get(facet)):
                at = (*path, facet, limit)
                yield from self.unknown(at, "limit", limit, "unknown-limit", "limits", True)
        for space in mapping(option.get("space")):
            yield from self.unknown_space((*path, "space", space), space, by_key=True)
        for inner, opening in records(option, "openings", path=path):
            yield from self._opening(inner, opening)
        yield from _work(self.tree, path, option)
        for inner, work in records(option, "work", path=path):
            yield from self._units((*inner, "on"), work.get("on"), "is done on")
        unit = mapping(option.get("unit"))
        yield from self.unknown_space((*path, "unit", "space"), unit.get("space"))
        for index, carrier in enumerate(entries(unit.get("stands-on"))):
            yield from self._carrier((*path, "unit", "stands-on", index), carrier)
        yield from self._preferred_side(path, unit)
        load = mapping(option.get("power")).get("load")
        if isinstance(load, dict) and ("amps" in load) == ("watts" in load):
            given = "both amps and watts" if "amps" in load else "neither amps nor watts"
            yield self.say(
                (*path, "power", "load"),
                f"the load of {thing(self.tree, path)} has {given}",
                "load",
                "give one of the two",
            )

    def _part(self, path: Path, part: Raw, facet: str) -> Iterator[Problem]:
        kind = part.get("kind")
        wanted = _PART_FIELDS.get(kind) if isinstance(kind, str) else None
        if wanted is None:
            return
        owner = thing(self.tree, path)
        missing = sorted(wanted - set(part))
        if missing:
            yield self.say(
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
        yield from self.unknown((*path, "trade"), "trade", trade, "unknown-trade", "labour")
        yield from self._measure((*path, "of"), part.get("of"))
        yield from self._replaced((*path, "replaces"), part.get("replaces"))

    def _replaced(self, path: Path, name: Any) -> Iterator[Problem]:
        """What a credit takes off must be there."""
        if isinstance(name, str):
            named = Pick.named(name)
            yield from self.unknown_choice(path, named.choice, by_key=False)
            if named.option or named.choice in self.options:
                yield from self.unknown_option(path, *named.key)

    def _measure(self, path: Path, name: Any) -> Iterator[Problem]:
        spaces, limits = self.known["spaces"], self.known["limits"]
        if spaces is None or limits is None:
            return
        self.known["measures"] = [f"{s}.{m}" for s in spaces for m in _MEASURES] + list(limits)
        yield from self.unknown(path, "measure", name, "unknown-measure", "measures")

    def _table(self, path: Path, part: Raw, name: str) -> Iterator[Problem]:
        by = entries(part.get("by"))
        for index, choice in enumerate(by):
            inner = (*path, "by", index)
            yield from self.unknown_choice(inner, choice, by_key=False)
            if isinstance(choice, str) and self.pick.get(choice) in ("at-most-one", "several"):
                yield self.say(
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
        for key, value in mapping(rows).items() if by else ():
            yield from self.unknown_option((*path, key), by[0], key, by_key=True)
            yield from self._rows((*path, key), value, by[1:])

    def _depth(self, path: Path, rows: Any, by: list[Any], name: str) -> Iterator[Problem]:
        """Cells that stand at the wrong level of the table."""
        if isinstance(rows, dict) and by:
            for key, value in rows.items():
                yield from self._depth((*path, key), value, by[1:], name)
        elif isinstance(rows, dict):
            yield self.say(
                path,
                f'{name} has more levels than "by" has choices',
                "table-depth",
                'take a level out, or name one more choice in "by"',
            )
        elif number(rows) is not None and by:
            yield self.say(
                path,
                f'{name} has no level for choice "{by[0]}" here',
                "table-depth",
                f'write an amount for each option of "{by[0]}", or take it out of "by"',
            )

    def _opening(self, path: Path, opening: Raw) -> Iterator[Problem]:
        yield from self.unknown_space((*path, "space"), opening.get("space"))
        along = ("front", "rear", "width")
        given = [key for key in along if key in opening]
        if len(given) != 2:
            has = "all of" if len(given) == 3 else "only" if given else "none of"
            which = given[0] if len(given) == 1 else "front, rear and width"
            yield self.say(
                path,
                f"an opening of {thing(self.tree, path)} has {has} {which}",
                "opening",
                "give exactly two of front, rear and width",
            )
        for index, name in enumerate(entries(opening.get("prefers"))):
            yield from self._units((*path, "prefers", index), name, "prefers")

    def _units(self, path: Path, name: Any, verb: str) -> Iterator[Problem]:
        """The choice, or the option of it, that is named must be there and bring a unit."""
        if not isinstance(name, str):
            return
        choice, option = Pick.named(name).key
        yield from self.unknown_choice(path, choice, by_key=False)
        if option:
            yield from self.unknown_option(path, choice, option)
        named = [o for i, o in self.options.get(choice, {}).items() if option in ("", i)]
        if named and self.known.get(options_of(choice)) and not any("unit" in o for o in named):
            yield self.say(
                path,
                f'{thing(self.tree, path)} {verb} "{shown(name)}", which is nothing to place',
                "no-unit",
                "name a choice or an option that has a unit",
            )

    def _preferred_side(self, path: Path, unit: Raw) -> Iterator[Problem]:
        side, sides = mapping(unit.get("prefers")).get("side"), entries(unit.get("works-from"))
        here = (*path, "unit", "works-from")
        places = [(*here, index) for index in range(len(sides))]
        unread = self.refused(self.tree.at(place) for place in (here, *places))
        if isinstance(side, str) and side not in sides and not unread:
            told = " or ".join(map(str, sides)) or "no side"
            yield self.say(
                (*path, "unit", "prefers", "side"),
                f"the unit of {thing(self.tree, path)} prefers the {shown(side)}, but works from "
                f"{told}",
                "preferred-side",
                'prefer a side that its "works-from" names, or add this side there',
            )

    def _carrier(self, path: Path, carrier: Any) -> Iterator[Problem]:
        if not isinstance(carrier, str) or carrier == "floor":
            return
        choice, option = Pick.named(carrier).key
        yield from self.unknown_choice(path, choice, by_key=False)
        if option:
            yield from self.unknown_option(path, choice, option)
        named = [o for i, o in self.options.get(choice, {}).items() if option in ("", i)]
        units = [o.get("unit", {}) for o in named]
        read = self.known.get(options_of(choice)) and all(isinstance(u, dict) for u in units)
        if units and read and not any("carries" in unit for unit in units):
            yield self.say(
                path,
                f'{thing(self.tree, path)} is to stand on "{shown(carrier)}", '
                "which carries nothing",
                "no-carrier",
                'give it "carries" in its unit, or name something else to stand on',
            )

    def vehicle_figures(self, path: Path, vehicle: Raw) -> Iterator[Problem]:
        """Ratings that not even the empty vehicle keeps within."""
        figures = mapping(vehicle.get("vehicle"))
        kerb = mapping(figures.get("kerb"))
        at = (*path, "vehicle", "kerb")
        front, rear = (self.figure(at, kerb, key) for key in ("front", "rear"))
        if front is None or rear is None:
            return
        for key, mass in (("gvm", front + rear), ("front-axle", front), ("rear-axle", rear)):
            rating = self.figure((*path, "vehicle"), figures, key)
            if rating is not None and rating < mass:
                on = "" if key == "gvm" else f" on the {key.replace('-', ' ')}"
                yield self.say(
                    (*path, "vehicle", key),
                    f"{key} of {thing(self.tree, path)} is {rating} kg, "
                    f"less than its kerb mass{on}, {mass} kg",
                    "rating-below-kerb",
                    "check both figures against the maker's",
                )


def _quoted(words: Iterable[str], between: str) -> str:
    return between.join(f'"{word}"' for word in words)


def _kind_with(field: str) -> str:
    both = (_PART_FIELDS, _PART_FIELDS_BESIDES)
    return next(kind for table in both for kind, fields in table.items() if field in fields)


def reach_problems(tree: Tree) -> Iterator[Problem]:
    """Units that are operated or serviced, or that others' work is done on, and face no side.

    ``works-from: []`` says that nothing has to be reached, and is left alone.
    """
    known = list(options(tree.data))
    mounted: dict[str, Path] = {}
    for _, path, option in known:
        for name in _mounted_on(option):
            mounted.setdefault(name, path)
    for choice, path, option in known:
        unit = option.get("unit")
        if not isinstance(unit, dict) or "works-from" in unit:
            continue
        what = list(_to_reach(unit, option))
        for name in (choice, f"{choice}={option.get('id')}"):
            if name in mounted:
                what.append(f"work of {thing(tree, mounted[name])} on it")
        if what:
            told = " and ".join([", ".join(what[:-1]), what[-1]] if len(what) > 1 else what)
            yield say(
                tree,
                (*path, "unit"),
                f"the unit of {thing(tree, path)} has {told}, but states no side that it works "
                "from, so it may be placed out of reach",
                "works-from",
                'add "works-from" with the sides that its face may be at; "works-from: []" says '
                "that nothing has to be reached",
                level="caution",
            )


def _to_reach(unit: Raw, option: Raw) -> Iterator[str]:
    """What somebody operates or services on the unit."""
    if "swing" in unit:
        yield "a door"
    if "travel" in unit:
        yield "a slide"
    power = option.get("power")
    parts = power if isinstance(power, dict) else {}
    yield from dict.fromkeys(what for key, what in _POWER.items() if key in parts)


def _mounted_on(option: Raw) -> Iterator[str]:
    for work in entries(option.get("work")):
        name = work.get("on") if isinstance(work, dict) else None
        if isinstance(name, str):
            yield shown(name)


def _work(tree: Tree, path: Path, option: Raw) -> Iterator[Problem]:
    """What contradicts itself in the work of the option at the path."""
    for here, work in records(option, "work", path=path):
        yield from _hole(tree, here, work)
        yield from _count(tree, here, work)
        yield from _places(tree, here, work, option)


def _hole(tree: Tree, path: Path, work: Raw) -> Iterator[Problem]:
    hole = work.get("hole")
    if not isinstance(hole, dict) or not hole:
        return
    given = [key for key in ("diameter", "width", "height") if key in hole]
    if given not in (["diameter"], ["width", "height"]):
        has = " and ".join(given) if len(given) < 3 else "all of diameter, width and height"
        only = "only " if len(given) == 1 else ""
        yield say(
            tree,
            (*path, "hole"),
            f"a hole of {thing(tree, path)} has {only}{has}",
            "hole",
            "give its diameter, or its width and its height",
        )


def _count(tree: Tree, path: Path, work: Raw) -> Iterator[Problem]:
    count, places = work.get("count"), work.get("places")
    there = len(places) if isinstance(places, list) else 0
    if "corners" in work:
        there = 4
        if "places" in work:
            yield say(
                tree,
                (*path, "corners"),
                f"work of {thing(tree, path)} has both places and corners",
                "work-places",
                "give one of them",
            )
    if isinstance(count, int) and there and count != there:
        yield say(
            tree,
            (*path, "count"),
            f"work of {thing(tree, path)} is done {count} times in {there} places",
            "work-count",
            "leave count out: it is as many as there are places",
        )


def _places(tree: Tree, path: Path, work: Raw, option: Raw) -> Iterator[Problem]:
    unit = option.get("unit")
    given = next((key for key in ("places", "corners") if key in work), "")
    if not given:
        return
    if "unit" not in option or (isinstance(unit, dict) and "works-from" not in unit):
        yield say(
            tree,
            (*path, given),
            f"work of {thing(tree, path)} has {given} on a unit, but no unit that works from a "
            "side",
            "work-places",
            "say in words, under where, in which place it is done",
        )
    body = unit.get("body") if isinstance(unit, dict) else None
    places = work.get("places")
    found = [((*path, "corners"), work.get("corners"))]
    if isinstance(places, list):
        found += [((*path, "places", index), place) for index, place in enumerate(places)]
    for here, place in found:
        for key, side in _LONG.items():
            at = place.get(key) if isinstance(place, dict) else None
            most = body.get(side) if isinstance(body, dict) else None
            if isinstance(at, int) and isinstance(most, int) and at > most:
                yield say(
                    tree,
                    (*here, key),
                    f"{key} of {at} mm is outside {thing(tree, path)}, which has a {side} of "
                    f"{most} mm",
                    "work-places",
                    "count from the unit's own edge: across from the left of its working face, "
                    "behind it, and up from its underside",
                )
