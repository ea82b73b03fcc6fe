"""References, and what contradicts itself: the errors that a schema cannot see.

Works on the raw tree, so that these problems are reported together with those of the schema.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any, get_args

import attrs

from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE
from configurator.catalogue.names import GROUPING, Names, TreeValue, circle_problems, options
from configurator.catalogue.nodes import first_at
from configurator.catalogue.parts import Markup, MassParts, PriceParts
from configurator.catalogue.plain_data import Tree
from configurator.catalogue.schema_errors import shown, to_add
from configurator.catalogue.validate_figures import figure_problems
from configurator.catalogue.validate_units import out_of_reach, work_problems
from configurator.errors import Problem
from configurator.shapes.schema import bare, key_of, kind_of
from configurator.words import joined, text

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

_FACETS = {"price": text("price"), "cost": text("cost"), "mass": text("mass")}


def _no_piece(option: TreeValue) -> str:
    """Why there is no price for one piece of the option; empty where there is one."""
    if "sold-by" in option:
        return text("is sold by measure")
    kinds = [part["kind"].value for part in option.records("price")]
    return text("has a unit price") if "unit-price" in kinds else ""


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
        yield from out_of_reach(data)

    def _choice(self, choice: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(choice["group"], "group")
        if choice["id"].value in (VEHICLE, ADD_ON, FREE_LINE, *GROUPING):
            sentence = text('a choice may not be called "{id}"', id=choice["id"].value)
            hint = text("the word has a meaning of its own in conditions; take another")
            yield choice["id"].say(sentence, "reserved-id", hint)
        if choice["pick"].value not in ("one", "at-most-one"):
            return
        hint = text('leave it out, or write "pick: several" for the choice')
        if "at-most" in choice:
            sentence = text(
                '{thing} takes one option, so "at-most" means nothing there', thing=choice.thing
            )
            yield choice["at-most"].say(sentence, "at-most", hint)
        for option in choice.records("options"):
            most = option["most"].number
            if most is not None and most > 1:
                sentence = text(
                    '{thing} has "most: {most}", but the choice takes one',
                    thing=option.thing,
                    most=str(most),
                )
                yield option["most"].say(sentence, "most", hint)

    def _add_on(self, add_on: TreeValue) -> Iterator[Problem]:
        suggest = add_on["suggest"]
        yield from self._condition(suggest)
        if (ADD_ON, add_on["id"].value) in _tested(suggest):
            sentence = text(
                "{thing} names itself in the condition that suggests it", thing=add_on.thing
            )
            hint = text("leave it out there: an add-on is suggested only while it is not picked")
            yield suggest.say(sentence, "suggests-itself", hint)

    def _rule(self, rule: TreeValue) -> Iterator[Problem]:
        for key in ("when", "needs", "rules-out"):
            yield from self._condition(rule[key])
        if "needs" not in rule and "rules-out" not in rule:
            sentence = text("{thing} has no consequence", thing=rule.thing)
            hint = text('add "needs: ..." or "rules-out: ..."')
            yield rule.say(sentence, "rule-without-consequence", hint)
        if "needs" in rule and "rules-out" in rule:
            sentence = text('{thing} has both "needs" and "rules-out"', thing=rule.thing)
            yield rule.say(sentence, "rule-with-two-consequences", text("make two rules of it"))
        when = rule["when"].value
        if isinstance(when, dict) and when == rule["needs"].value:
            sentence = text(
                "{thing} needs exactly what it applies to, so it has no effect", thing=rule.thing
            )
            hint = text("name something else in needs, or leave the rule out")
            yield rule["needs"].say(sentence, "rule-on-itself", hint)
        if isinstance(when, dict) and when == rule["rules-out"].value:
            sentence = text(
                "{thing} rules out exactly what it applies to, so that can never be picked",
                thing=rule.thing,
            )
            hint = text(
                "name something else in rules-out, or take what it names out of the catalogue"
            )
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
        known = {"thing": test.thing, "choice": choice, "low": str(low), "high": str(high)}
        if "at-least" not in test and "at-most" not in test:
            sentence = text('{thing} asks for no quantity of choice "{choice}"', **known)
            yield test.say(sentence, "quantity", text('add "at-least: ..." or "at-most: ..."'))
        if low is not None and high is not None and low > high:
            sentence = text(
                "{thing} asks for at least {low} and at most {high}, which can never both hold",
                **known,
            )
            yield test.say(sentence, "quantity", text("swap the two numbers"))
        elif low is not None and low > (most := self.most(choice, test["option"].value)):
            known |= {"most": str(most), "option": test["option"].value}
            sentence = text(
                '{thing} asks for at least {low} of choice "{choice}", at most {most} of which '
                "can be picked",
                **known,
            )
            if "option" in test:
                sentence = text(
                    '{thing} asks for at least {low} of option "{option}" of choice "{choice}", '
                    "at most {most} of which can be picked",
                    **known,
                )
            hint = text("ask for less, or allow more there")
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
                    known = {"thing": answer.thing, "option": option.thing, "why": why}
                    sentence = text("{thing} has {option}, which {why}", **known)
                    hint = text(
                        "leave it out of the deal; what is in one has a price for one piece"
                    )
                    yield name.say(sentence, "deal-by-measure", hint)
            for _, quantity in answer.items():
                if quantity.number is not None and quantity.number % 1:
                    sentence = text(
                        "{thing} picks {count} of an option",
                        thing=answer.thing,
                        count=str(quantity.value),
                    )
                    yield quantity.say(sentence, "quantity", text("write a whole number"))

    def _too_many(self, answer: TreeValue, choice: str) -> Iterator[Problem]:
        """More options, or more of one, than the choice takes."""
        if self.takes_one(choice) and len(answer) > 1:
            sentence = text(
                '{thing} picks {count} options of choice "{choice}", which takes one',
                thing=answer.thing,
                count=len(answer),
                choice=choice,
            )
            yield answer.say(sentence, "too-many-picks", text("keep one of them"))
            return
        for option, quantity in answer.items():
            count, most = quantity.number, self.most(choice, option.value)
            if count is not None and count > most:
                sentence = text(
                    '{thing} picks {count} of option "{option}" of choice "{choice}", at most '
                    "{most} of which can be picked",
                    thing=answer.thing,
                    count=str(count),
                    option=option.value,
                    choice=choice,
                    most=str(most),
                )
                hint = text("set its quantity to {most} or less", most=str(most))
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
            yield from self._on_a_unit(work["on"])
            yield from work_problems(work, option)
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
            if "amps" in load:
                sentence = text("the load of {thing} has both amps and watts", thing=load.thing)
            else:
                sentence = text("the load of {thing} has neither amps nor watts", thing=load.thing)
            yield load.say(sentence, "load", text("give one of the two"))

    def _panel(self, panel: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(panel["stock"], "stock sheet")
        yield from self.unknown(panel["stock-of"], "choice")
        yield from self.unknown(panel["face"]["space"], "space")
        yield from self._formula(panel["length"])
        yield from self._formula(panel["width"])
        if ("stock" in panel) == ("stock-of" in panel):
            if "stock" in panel:
                sentence = text("a panel of {thing} has both stock and stock-of", thing=panel.thing)
            else:
                sentence = text(
                    "a panel of {thing} has neither stock nor stock-of", thing=panel.thing
                )
            yield panel.say(sentence, "panel-stock", text("give one of the two"))
        options = self.options.get(panel["stock-of"].text, {})
        if options and not any("cut-from" in option for option in options.values()):
            of = panel["stock-of"]
            sentence = text(
                'no option of choice "{choice}" says what panels are cut from', choice=of.text
            )
            yield of.say(sentence, "stock-of", text('give its options "cut-from: STOCK SHEET"'))

    def _formula(self, formula: TreeValue) -> Iterator[Problem]:
        for name, _ in formula.items():
            yield from self.unknown(name, "size")

    def _part(self, part: TreeValue, facet: str) -> Iterator[Problem]:
        kind = part["kind"].text
        if kind not in _PART_KEYS:
            return
        known = _PART_KEYS[kind]
        what = text(
            "the {kind} {facet} of {thing}", kind=kind, facet=_FACETS[facet], thing=part.thing
        )
        missing = sorted(key for key, must in known.items() if must and key not in part)
        if missing:
            lacks = joined((f'"{key}"' for key in missing), text(" and no "))
            sentence = text("{what} has no {keys}", what=what, keys=lacks)
            yield part.say(sentence, "missing-key", to_add(missing))
        for key, _ in part.items():
            others = [other for other, keys in _PART_KEYS.items() if key.value in keys]
            if others and kind not in others:
                sentence = text(
                    '{what} has "{key}", which means nothing there', what=what, key=key.value
                )
                hint = text("leave it out, or write the kind that has it: {kind}", kind=others[0])
                yield key.say(sentence, "unknown-key", hint)
        if kind == "table":
            yield from self._table(
                part, text("the {facet} table of {thing}", facet=_FACETS[facet], thing=part.thing)
            )
        yield from self.unknown(part["trade"], "trade")
        yield from self.unknown(part["of"], "measure")
        yield from self.unknown_pick(part["replaces"], whole=True)
        if part["replaces"].text:
            for option in self.named(part["replaces"]):
                if why := _no_piece(option):
                    sentence = text(
                        "{what} takes off {option}, which {why}",
                        what=what,
                        option=option.thing,
                        why=why,
                    )
                    hint = text("take a fixed amount off, as a part below zero")
                    yield part["replaces"].say(sentence, "credit-by-measure", hint)

    def _table(self, part: TreeValue, name: str) -> Iterator[Problem]:
        by, rows = list(part["by"]), part["rows"]
        for choice in by:
            yield from self.unknown(choice, "choice")
            if choice.text in self.options and self.pick(choice.text) in ("at-most-one", "several"):
                sentence = text(
                    '{name} looks up choice "{choice}", which need not have exactly one answer',
                    name=name,
                    choice=choice.text,
                )
                yield choice.say(sentence, "table-by", text('look up choices with "pick: one"'))
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
            sentence = text(
                "an opening of {thing} has none of front, rear and width", thing=opening.thing
            )
            if given:
                sentence = text(
                    "an opening of {thing} has all of front, rear and width", thing=opening.thing
                )
            if len(given) == 1:
                sentence = text(
                    "an opening of {thing} has only {key}", thing=opening.thing, key=given[0]
                )
            hint = text("give exactly two of front, rear and width")
            yield opening.say(sentence, "opening", hint)
        for name in opening["prefers"]:
            yield from self._on_a_unit(name, preferred=True)

    def _on_a_unit(self, name: TreeValue, preferred: bool = False) -> Iterator[Problem]:
        """The choice, or the option of it, that is named must be there and bring a unit."""
        yield from self.unknown_pick(name)
        named = self.named(name)
        if named and not any("unit" in option for option in named):
            known = {"thing": name.thing, "name": shown(name.value)}
            sentence = text('{thing} is done on "{name}", which is not something to place', **known)
            if preferred:
                sentence = text(
                    '{thing} prefers "{name}", which is not something to place', **known
                )
            hint = text("name a choice or an option that has a unit")
            yield name.say(sentence, "no-unit", hint)

    def _unit(self, unit: TreeValue) -> Iterator[Problem]:
        yield from self.unknown(unit["space"], "space")
        for carrier in unit["stands-on"]:
            if carrier.text == "floor":
                continue
            yield from self.unknown_pick(carrier)
            units = [option["unit"] for option in self.named(carrier)]
            read = all(isinstance(one.value, dict | None) for one in units)
            if units and read and not any("carries" in one for one in units):
                sentence = text(
                    '{thing} is to stand on "{name}", which carries nothing',
                    thing=unit.thing,
                    name=shown(carrier.value),
                )
                hint = text('give it "carries" in its unit, or name something else to stand on')
                yield carrier.say(sentence, "no-carrier", hint)
        side, sides = unit["prefers"]["side"], unit["works-from"]
        unread = sides.refused or any(one.refused for one in sides)
        known = [str(one.value) for one in sides]
        if side.text and side.text not in known and not unread:
            sentence = text(
                "the unit of {thing} prefers the {side}, but works from {known}",
                thing=unit.thing,
                side=shown(side.text),
                known=joined(known, text(" or ")) if known else text("no side"),
            )
            hint = text('prefer a side that its "works-from" names, or add this side there')
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
                    sentence = text(
                        "there is a second {thing}, first in {first}",
                        thing=identity.thing,
                        first=first,
                    )
                    hint = text("give one of them another id")
                    yield identity.say(sentence, "repeated-id", hint)


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
        sentence = text('{name} has more levels than "by" has choices', name=name)
        hint = text('take a level out, or name one more choice in "by"')
        yield rows.say(sentence, "table-depth", hint)
    elif rows.number is not None and by:
        sentence = text('{name} has no level for choice "{choice}" here', name=name, choice=by[0])
        hint = text(
            'write an amount for each option of "{choice}", or take it out of "by"', choice=by[0]
        )
        yield rows.say(sentence, "table-depth", hint)
