"""References, and what contradicts itself: the errors that a schema cannot see.

Works on the raw tree, so that these problems are reported together with those of the schema.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any, get_args

import attrs

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE
from configurator.catalogue.names import GROUPING, Names, TreeValue, circle_problems, options
from configurator.catalogue.nodes import first_at
from configurator.catalogue.parts import Markup, MassParts, PriceParts
from configurator.catalogue.plain_data import Tree
from configurator.catalogue.schema_errors import shown, to_add
from configurator.catalogue.validate_figures import figure_problems
from configurator.errors import Problem
from configurator.shapes.schema import bare, key_of, kind_of
from configurator.words import listed

_PARTS = {
    str(kind_of(cls)): cls for kinds in (PriceParts, MassParts) for cls in get_args(bare(kinds))
} | {"markup": Markup}
_PART_KEYS = {
    kind: {
        key_of(one.name): one.default is attrs.NOTHING
        for one in attrs.fields(cls)
        if one.name not in ("at", "first", "until", "note")
    }
    for kind, cls in _PARTS.items()
}
"""The keys of each kind of part, and whether it must have them."""

_MOVES = {"swing": "a door", "travel": "a slide"}
_OPERATED = {
    "load": "a switch",
    "battery": "terminals and a fuse",
    "inverter": "a switch and sockets",
    "vehicle-charger": "a charger's display",
    "mains-charger": "a charger's display",
    "circuit": "a fuse",
}
"""What there is to reach on a unit with this part in the 12 V system."""

_WITHIN = {"across": "width", "behind": "depth", "up": "height"}
"""The size of the body that each coordinate of a place stays within."""


def _no_piece(option: TreeValue) -> str:
    """Why there is no price for one piece of the option; empty where there is one."""
    if "sold-by" in option:
        return "is sold by measure"
    kinds = [part["kind"].value for part in option.records("price")]
    return "has a unit price" if "unit-price" in kinds else ""


def reference_problems(tree: Tree) -> Iterator[Problem]:
    """Every name that points nowhere and every contradiction that a plain look can see.

    A value in ``tree.refused`` is passed over. So is every name whose definition may be one of the
    things refused: it is asked about again when that is mended.
    """
    if isinstance(tree.data, dict):
        for problem in (*_Whole(tree).problems(), *figure_problems(tree)):
            if problem.at not in tree.refused:
                yield problem


class _Whole(Names):
    """The names of a catalogue, and everything that is wrong with them and with what they name."""

    def problems(self) -> Iterator[Problem]:
        """All of them."""
        data = self.data
        yield from _repeated_ids(data)
        yield from self.unknown(data["power"]["place"], "place")
        for choice in data.records("choices"):
            yield from self._choice(choice)
        for _, option in options(data):
            yield from self._option(option)
        for add_on in data.records("add-ons"):
            yield from self._add_on(add_on)
        for rule in data.records("rules"):
            yield from self._rule(rule)
        for caution in data.records("cautions"):
            yield from self._condition(caution["when"])
        for deal in data.records("package-deals"):
            yield from self._picks(deal["picks"])
            yield from self._in_a_deal(deal["picks"])
        yield from circle_problems(data)
        yield from _out_of_reach(data)

    def _choice(self, choice: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(choice["group"], "group")
        if choice["id"].value in (VEHICLE, ADD_ON, FREE_LINE, *GROUPING):
            sentence = f'a choice may not be called "{choice["id"].value}"'
            hint = "the word has a meaning of its own in conditions; take another"
            yield choice["id"].say(sentence, "reserved-id", hint)
        if choice["pick"].value not in ("one", "at-most-one"):
            return
        hint = 'leave it out, or write "pick: several" for the choice'
        if "at-most" in choice:
            sentence = f'{choice} takes one option, so "at-most" means nothing there'
            yield choice["at-most"].say(sentence, "at-most", hint)
        for option in choice.records("options"):
            most = option["most"].number
            if most is not None and most > 1:
                sentence = f'{option} has "most: {most}", but the choice takes one'
                yield option["most"].say(sentence, "most", hint)

    def _add_on(self, add_on: TreeValue) -> Iterator[Problem]:
        suggest = add_on["suggest"]
        yield from self._condition(suggest)
        if (ADD_ON, add_on["id"].value) in _tested(suggest):
            sentence = f"{add_on} names itself in the condition that suggests it"
            hint = "leave it out there: an add-on is suggested only while it is not picked"
            yield suggest.say(sentence, "suggests-itself", hint)

    def _rule(self, rule: TreeValue) -> Iterator[Problem]:
        for key in ("when", "needs", "rules-out"):
            yield from self._condition(rule[key])
        if "needs" not in rule and "rules-out" not in rule:
            hint = 'add "needs: ..." or "rules-out: ..."'
            yield rule.say(f"{rule} has no consequence", "rule-without-consequence", hint)
        if "needs" in rule and "rules-out" in rule:
            sentence = f'{rule} has both "needs" and "rules-out"'
            yield rule.say(sentence, "rule-with-two-consequences", "make two rules of it")
        when = rule["when"].value
        if isinstance(when, dict) and when == rule["needs"].value:
            sentence = f"{rule} needs just what it applies to, so it says nothing"
            hint = "name something else in needs, or leave the rule out"
            yield rule["needs"].say(sentence, "rule-on-itself", hint)
        if isinstance(when, dict) and when == rule["rules-out"].value:
            sentence = f"{rule} rules out just what it applies to, so that can never be picked"
            hint = "name something else in rules-out, or take what it names out of the catalogue"
            yield rule["rules-out"].say(sentence, "rule-on-itself", hint)

    def _condition(self, condition: TreeValue) -> Iterator[Problem]:
        for key, asked in condition.items():
            if key.value in GROUPING:
                for part in asked:
                    yield from self._condition(part)
                continue
            yield from self.unknown(key, "choice")
            if key.value not in self.options:
                continue
            if isinstance(asked.value, dict):
                yield from self.unknown(asked["option"], "option", key.value)
                yield from self._quantities(asked, key.value)
            else:
                for option in list(asked) or [asked]:
                    yield from self.unknown(option, "option", key.value)

    def _quantities(self, test: TreeValue, choice: str) -> Iterator[Problem]:
        low, high = test["at-least"].number, test["at-most"].number
        if "at-least" not in test and "at-most" not in test:
            sentence = f'{test} asks for no quantity of choice "{choice}"'
            yield test.say(sentence, "quantity", 'add "at-least: ..." or "at-most: ..."')
        if low is not None and high is not None and low > high:
            asks = f"{test} asks for at least {low} and at most {high}"
            sentence = f"{asks}, which can never both hold"
            yield test.say(sentence, "quantity", "swap the two numbers")
        elif low is not None and low > (most := self.most(choice, test["option"].value)):
            of = f'option "{test["option"].value}" of ' if "option" in test else ""
            sentence = (
                f'{test} asks for at least {low} of {of}choice "{choice}", at most {most} of '
                "which can be picked"
            )
            hint = "ask for less, or allow more there"
            yield test.say(sentence, "quantity", hint, level="caution")

    def _picks(self, picks: TreeValue) -> Iterator[Problem]:
        for choice, answer in picks.items():
            yield from self.unknown(choice, "choice")
            if choice.value not in self.options:
                continue
            named = [name for name, _ in answer.items()] or list(answer)
            for option in named if isinstance(answer.value, dict) else named or [answer]:
                yield from self.unknown(option, "option", choice.value)
            yield from self._too_many(answer, choice.value)

    def _in_a_deal(self, picks: TreeValue) -> Iterator[Problem]:
        """What has no price for one piece, so that a set of it has none either."""
        for choice, answer in picks.items():
            listed = [name for name, _ in answer.items()] or list(answer) or [answer]
            for name in listed:
                option = self.options.get(choice.text, {}).get(name.text)
                if option is not None and (why := _no_piece(option)):
                    sentence = f"{answer} has {option}, which {why}"
                    hint = "leave it out of the deal; what is in one has a price for one piece"
                    yield name.say(sentence, "deal-by-measure", hint)
            for _, quantity in answer.items():
                if quantity.number is not None and quantity.number % 1:
                    sentence = f"{answer} picks {quantity.value} of an option"
                    yield quantity.say(sentence, "quantity", "write a whole number")

    def _too_many(self, answer: TreeValue, choice: str) -> Iterator[Problem]:
        """More options, or more of one, than the choice takes."""
        if self.takes_one(choice) and len(answer) > 1:
            sentence = f'{answer} picks {len(answer)} options of choice "{choice}", which takes one'
            yield answer.say(sentence, "too-many-picks", "keep one of them")
            return
        for option, quantity in answer.items():
            count, most = quantity.number, self.most(choice, option.value)
            if count is not None and count > most:
                picked = f'{answer} picks {count} of option "{option.value}"'
                sentence = f'{picked} of choice "{choice}", at most {most} of which can be picked'
                hint = f"set its quantity to {most} or less"
                yield quantity.say(sentence, "too-many-picks", hint)

    def _option(self, option: TreeValue) -> Iterator[Problem]:
        """What is wrong with what an option brings."""
        for facet in ("price", "cost", "mass"):
            for part in option.records(facet):
                yield from self._part(part, facet)
        yield from self.unknown(option["tax"], "tax rate")
        for facet, kind in (("gives", "limit"), ("uses", "limit"), ("space", "space")):
            for name, _ in option[facet].items() if facet in option else ():
                yield from self.unknown(name, kind)
        for opening in option.records("openings"):
            yield from self._opening(opening)
        for work in option.records("work"):
            yield from self._on_a_unit(work["on"], "is done on")
            yield from _work(work, option)
        yield from self.unknown(option["cut-from"], "stock sheet")
        for panel in option.records("panels"):
            yield from self._panel(panel)
        for extrusion in option.records("extrusions"):
            yield from self.unknown(extrusion["stock"], "stock bar")
            for formula in (extrusion["length"], extrusion["spaced"]["along"]):
                yield from self._formula(formula)
        if "unit" in option:
            yield from self._unit(option["unit"])
        load = option["power"]["load"]
        if isinstance(load.value, dict) and ("amps" in load) == ("watts" in load):
            given = "both amps and watts" if "amps" in load else "neither amps nor watts"
            yield load.say(f"the load of {load} has {given}", "load", "give one of the two")

    def _panel(self, panel: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(panel["stock"], "stock sheet")
        yield from self.unknown(panel["stock-of"], "choice")
        yield from self.unknown(panel["face"]["space"], "space")
        yield from self._formula(panel["length"])
        yield from self._formula(panel["width"])
        if ("stock" in panel) == ("stock-of" in panel):
            given = "both stock and stock-of" if "stock" in panel else "neither stock nor stock-of"
            sentence = f"a panel of {panel} has {given}"
            yield panel.say(sentence, "panel-stock", "give one of the two")
        options = self.options.get(panel["stock-of"].text, {})
        if options and not any("cut-from" in option for option in options.values()):
            of = panel["stock-of"]
            sentence = f'no option of choice "{of.text}" says what panels are cut from'
            yield of.say(sentence, "stock-of", 'give its options "cut-from: STOCK SHEET"')

    def _formula(self, formula: TreeValue) -> Iterator[Problem]:
        for name, _ in formula.items():
            yield from self.unknown(name, "size")

    def _part(self, part: TreeValue, facet: str) -> Iterator[Problem]:
        kind = part["kind"].text
        if kind not in _PART_KEYS:
            return
        known, what = _PART_KEYS[kind], f"the {kind} {facet} of"
        missing = sorted(key for key, must in known.items() if must and key not in part)
        if missing:
            lacks = " and no ".join(f'"{key}"' for key in missing)
            yield part.say(f"{what} {part} has no {lacks}", "missing-key", to_add(missing))
        for key, _ in part.items():
            others = [other for other, keys in _PART_KEYS.items() if key.value in keys]
            if others and kind not in others:
                sentence = f'{what} {part} has "{key.value}", which means nothing there'
                hint = f"leave it out, or write the kind that has it: {others[0]}"
                yield key.say(sentence, "unknown-key", hint)
        if kind == "table":
            yield from self._table(part, f"the {facet} table of {part}")
        yield from self.unknown(part["trade"], "trade")
        yield from self.unknown(part["of"], "measure")
        yield from self.unknown_pick(part["replaces"], whole=True)
        if part["replaces"].text:
            for option in self.named(part["replaces"]):
                if why := _no_piece(option):
                    sentence = f"{what} {part} takes off {option}, which {why}"
                    hint = "take a fixed amount off, as a part below zero"
                    yield part["replaces"].say(sentence, "credit-by-measure", hint)

    def _table(self, part: TreeValue, name: str) -> Iterator[Problem]:
        by, rows = list(part["by"]), part["rows"]
        for choice in by:
            yield from self.unknown(choice, "choice")
            if choice.text in self.options and self.pick(choice.text) in ("at-most-one", "several"):
                looks = f'{name} looks up choice "{choice.text}"'
                sentence = f"{looks}, which need not have exactly one answer"
                yield choice.say(sentence, "table-by", 'look up choices with "pick: one"')
        if by and all(isinstance(choice.value, str) for choice in by):
            levels = [choice.value for choice in by]
            yield from self._rows(rows, levels)
            yield from islice(_depth(rows, levels, name), 1)

    def _rows(self, rows: TreeValue, by: list[Any]) -> Iterator[Problem]:
        """Options that the rows name and nobody knows."""
        for key, value in rows.items() if by else ():
            yield from self.unknown(key, "option", by[0])
            yield from self._rows(value, by[1:])

    def _opening(self, opening: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(opening["space"], "space")
        given = [key for key in ("front", "rear", "width") if key in opening]
        if len(given) != 2:
            has = "all of" if len(given) == 3 else "only" if given else "none of"
            which = given[0] if len(given) == 1 else "front, rear and width"
            sentence = f"an opening of {opening} has {has} {which}"
            yield opening.say(sentence, "opening", "give exactly two of front, rear and width")
        for name in opening["prefers"]:
            yield from self._on_a_unit(name, "prefers")

    def _on_a_unit(self, name: TreeValue, verb: str) -> Iterator[Problem]:
        """The choice, or the option of it, that is named must be there and bring a unit."""
        yield from self.unknown_pick(name)
        named = self.named(name)
        if named and not any("unit" in option for option in named):
            sentence = f'{name} {verb} "{shown(name.value)}", which is not something to place'
            yield name.say(sentence, "no-unit", "name a choice or an option that has a unit")

    def _unit(self, unit: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(unit["space"], "space")
        for carrier in unit["stands-on"]:
            if carrier.text == "floor":
                continue
            yield from self.unknown_pick(carrier)
            units = [option["unit"] for option in self.named(carrier)]
            read = all(isinstance(one.value, dict | None) for one in units)
            if units and read and not any("carries" in one for one in units):
                sentence = f'{unit} is to stand on "{shown(carrier.value)}", which carries nothing'
                hint = 'give it "carries" in its unit, or name something else to stand on'
                yield carrier.say(sentence, "no-carrier", hint)
        side, sides = unit["prefers"]["side"], unit["works-from"]
        unread = sides.refused or any(one.refused for one in sides)
        known = [str(one.value) for one in sides]
        if side.text and side.text not in known and not unread:
            sentence = (
                f"the unit of {unit} prefers the {shown(side.text)}, but works from "
                f"{' or '.join(known) or 'no side'}"
            )
            hint = 'prefer a side that its "works-from" names, or add this side there'
            yield side.say(sentence, "preferred-side", hint)


def _repeated_ids(data: TreeValue) -> Iterator[Problem]:
    plain = ("vehicles", "choices", "rules", "limits", "cautions", "add-ons", "package-deals")
    lists = [list(data.records(key)) for key in (*plain, "groups", "spaces")]
    lists += [list(choice.records("options")) for choice in data.records("choices")]
    lists.append(list(data["power"].records("places")))
    for records in lists:
        met: dict[str, TreeValue] = {}
        for identity in (record["id"] for record in records):
            if isinstance(identity.value, str):
                before = met.setdefault(identity.value, identity)
                if before is not identity:
                    first = first_at(before.at, identity.at)
                    sentence = f"there is a second {identity}, first in {first}"
                    yield identity.say(sentence, "repeated-id", "give one of them another id")


def _tested(condition: TreeValue) -> Iterator[tuple[str, Any]]:
    """The choices and options that a condition asks about."""
    for key, asked in condition.items():
        if key.value in GROUPING:
            for part in asked:
                yield from _tested(part)
        elif isinstance(asked.value, dict):
            yield key.value, asked["option"].value
        else:
            for option in list(asked) or [asked]:
                yield key.value, option.value


def _depth(rows: TreeValue, by: list[Any], name: str) -> Iterator[Problem]:
    """Cells that stand at the wrong level of the table."""
    if isinstance(rows.value, dict) and by:
        for _, inner in rows.items():
            yield from _depth(inner, by[1:], name)
    elif isinstance(rows.value, dict):
        sentence = f'{name} has more levels than "by" has choices'
        hint = 'take a level out, or name one more choice in "by"'
        yield rows.say(sentence, "table-depth", hint)
    elif rows.number is not None and by:
        sentence = f'{name} has no level for choice "{by[0]}" here'
        hint = f'write an amount for each option of "{by[0]}", or take it out of "by"'
        yield rows.say(sentence, "table-depth", hint)


def _out_of_reach(data: TreeValue) -> Iterator[Problem]:
    """Units that are operated or serviced, or that others' work is done on, and face no side.

    ``works-from: []`` says that nothing has to be reached, and is left alone.
    """
    known = list(options(data))
    mounted: dict[str, TreeValue] = {}
    for _, option in known:
        for work in option.records("work"):
            if work["on"].text:
                mounted.setdefault(shown(work["on"].text), option)
    for choice, option in known:
        unit, power = option["unit"], option["power"]
        if not isinstance(unit.value, dict) or "works-from" in unit:
            continue
        what = [told for key, told in _MOVES.items() if key in unit]
        what += dict.fromkeys(told for key, told in _OPERATED.items() if key in power)
        what += [
            f"work of {mounted[name].thing} on it"
            for name in (choice, str(Pick(choice, str(option["id"].value))))
            if name in mounted
        ]
        if what:
            sentence = (
                f"the unit of {option} has {listed(what)}, but states no side that it works "
                "from, so it may be placed out of reach"
            )
            hint = (
                'add "works-from" with the sides that its face may be at; "works-from: []" says '
                "that nothing has to be reached"
            )
            yield unit.say(sentence, "works-from", hint, level="caution")


def _work(work: TreeValue, option: TreeValue) -> Iterator[Problem]:
    """What contradicts itself in one thing that the workshop does for an option."""
    hole = work["hole"]
    given = [key for key in ("diameter", "width", "height") if key in hole]
    if len(hole) and given not in (["diameter"], ["width", "height"]):
        has = " and ".join(given) if len(given) < 3 else "all of diameter, width and height"
        sentence = f"a hole of {work} has {'only ' if len(given) == 1 else ''}{has}"
        yield hole.say(sentence, "hole", "give its diameter, or its width and its height")
    if "corners" in work and "places" in work:
        sentence = f"work of {work} has both places and corners"
        yield work["corners"].say(sentence, "work-places", "give one of them")
    there = 4 if "corners" in work else len(work["places"])
    count = work["count"].number
    if count is not None and there and count != there:
        sentence = f"work of {work} is done {count} times in {there} places"
        hint = "leave count out: it is as many as there are places"
        yield work["count"].say(sentence, "work-count", hint)
    unit = option["unit"]
    where = next((key for key in ("places", "corners") if key in work), "")
    unread = "unit" in option and not isinstance(unit.value, dict)
    if where and "works-from" not in unit and not unread:
        sentence = f"work of {work} has {where} on a unit, but no unit that works from a side"
        hint = "say in words, under where, in which place it is done"
        yield work[where].say(sentence, "work-places", hint)
    for place in (work["corners"], *work["places"]):
        for key, size in _WITHIN.items():
            at, most = place[key].number, unit["body"][size].number
            if at is not None and most is not None and at > most:
                sentence = f"{key} of {at} mm is outside {option}, which has a {size} of {most} mm"
                hint = (
                    "count from the unit's own edge: across from the left of its working face, "
                    "behind it, and up from its underside"
                )
                yield place[key].say(sentence, "work-places", hint)
