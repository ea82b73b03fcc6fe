"""What a schema cannot see: names that point nowhere, and figures that contradict each other.

Works on the raw tree, so that these problems are reported together with those of the schema.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE
from configurator.catalogue.names import (
    GROUPING,
    Raw,
    circles,
    day,
    entries,
    mapping,
    number,
    options,
    options_of,
    records,
)
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import thing
from configurator.catalogue.validate_figures import figure_problems, price_problems
from configurator.catalogue.validate_options import Facets, reach_problems
from configurator.errors import Problem

_SINGLE = ("one", "at-most-one")


def reference_problems(tree: Tree) -> Iterator[Problem]:
    """Every name that points nowhere and every contradiction that a plain look can see.

    A value in ``tree.refused`` is passed over. So is every name whose definition may be one of the
    things refused: it is asked about again when that is mended.
    """
    if isinstance(tree.data, dict):
        for problem in _Whole(tree).problems():
            if problem.at not in tree.refused:
                yield problem


class _Whole(Facets):
    """The names of a catalogue, and everything that is wrong with them and with what they name."""

    def problems(self) -> Iterator[Problem]:
        """All of them."""
        yield from self._repeated_ids()
        yield from self._header()
        yield from self._choices()
        for path, vehicle in records(self.data, "vehicles"):
            yield from self.facets(path, vehicle)
            yield from self.vehicle_figures(path, vehicle)
        for path, option in records(self.data, "choices", "options"):
            yield from self.facets(path, option)
        for path, add_on in records(self.data, "add-ons"):
            yield from self.facets(path, add_on)
            yield from self._add_on(path, add_on)
        for path, rule in records(self.data, "rules"):
            yield from self._rule(path, rule)
        for path, caution in records(self.data, "cautions"):
            yield from self._condition((*path, "when"), caution.get("when"))
        for path, deal in records(self.data, "package-deals"):
            yield from self._picks((*path, "picks"), deal.get("picks"))
        yield from self._cyclic_needs()
        yield from self._cyclic_support()
        yield from price_problems(self.tree)
        yield from figure_problems(self.tree)
        yield from reach_problems(self.tree)

    def _repeated_ids(self) -> Iterator[Problem]:
        plain = ("vehicles", "choices", "rules", "limits", "cautions", "add-ons", "package-deals")
        lists = [list(records(self.data, key)) for key in (*plain, "groups", "spaces")]
        lists += [list(records(c, "options", path=p)) for p, c in records(self.data, "choices")]
        for listed in lists:
            first: dict[str, Path] = {}
            for path, record in listed:
                identity = record.get("id")
                if not isinstance(identity, str):
                    continue
                if identity in first:
                    line = self.tree.at((*first[identity], "id")).line
                    yield self.say(
                        (*path, "id"),
                        f"there is a second {thing(self.tree, path)}, first in line {line}",
                        "repeated-id",
                        "give one of them another id",
                    )
                else:
                    first[identity] = path

    def _header(self) -> Iterator[Problem]:
        valid = mapping(self.data.get("valid"))
        first, until = day(valid.get("from")), day(valid.get("until"))
        if first and until and first > until:
            yield self.say(
                ("valid", "until"),
                f"valid until {until} is before valid from {first}",
                "never-valid",
                "swap the two days",
            )
        path: Path = ("quote", "payments")
        payments = entries(mapping(self.data.get("quote")).get("payments"))
        percents = [number(mapping(p).get("percent")) for p in payments]
        known = [p for p in percents if p is not None]
        right = all(0 < percent <= 100 for percent in known) and len(known) == len(payments)
        if known and right and sum(known) != 100:
            yield self.say(
                path,
                f"the payments come to {sum(known)} percent of the total, not 100",
                "payments-sum",
                "change a percent so that they add up to 100",
            )

    def _choices(self) -> Iterator[Problem]:
        for path, choice in records(self.data, "choices"):
            group = choice.get("group")
            yield from self.unknown((*path, "group"), "group", group, "unknown-group", "groups")
            if choice.get("id") in (VEHICLE, ADD_ON, FREE_LINE, *GROUPING):
                yield self.say(
                    (*path, "id"),
                    f'a choice may not be called "{choice["id"]}"',
                    "reserved-id",
                    "the word has a meaning of its own in conditions; take another",
                )
            if choice.get("pick") in _SINGLE:
                yield from self._more_than_one(path, choice)

    def _more_than_one(self, path: Path, choice: Raw) -> Iterator[Problem]:
        """Quantities in a choice that takes a single option."""
        hint = 'leave it out, or write "pick: several" for the choice'
        if "at-most" in choice:
            yield self.say(
                (*path, "at-most"),
                f'{thing(self.tree, path)} takes one option, so "at-most" means nothing there',
                "at-most",
                hint,
            )
        for inner, option in records(choice, "options", path=path):
            most = number(option.get("most", 1))
            if most is not None and most > 1:
                yield self.say(
                    (*inner, "most"),
                    f'{thing(self.tree, inner)} has "most: {most}", but the choice takes one',
                    "most",
                    hint,
                )

    def _add_on(self, path: Path, add_on: Raw) -> Iterator[Problem]:
        yield from self._condition((*path, "suggest"), add_on.get("suggest"))
        identity = add_on.get("id")
        if any(
            choice == ADD_ON and identity in options
            for choice, options in _tests(add_on.get("suggest"))
        ):
            yield self.say(
                (*path, "suggest"),
                f"{thing(self.tree, path)} names itself in the condition that suggests it",
                "suggests-itself",
                "leave it out there: an add-on is suggested only while it is not picked",
            )

    def _rule(self, path: Path, rule: Raw) -> Iterator[Problem]:
        for key in ("when", "needs", "rules-out"):
            yield from self._condition((*path, key), rule.get(key))
        owner = thing(self.tree, path)
        if "needs" not in rule and "rules-out" not in rule:
            yield self.say(
                path,
                f"{owner} has no consequence",
                "rule-without-consequence",
                'add "needs: ..." or "rules-out: ..."',
            )
        if "needs" in rule and "rules-out" in rule:
            yield self.say(
                path,
                f'{owner} has both "needs" and "rules-out"',
                "rule-with-two-consequences",
                "make two rules of it",
            )
        if not isinstance(rule.get("when"), dict):
            return
        if rule["when"] == rule.get("needs"):
            yield self.say(
                (*path, "needs"),
                f"{owner} needs just what it applies to, so it says nothing",
                "rule-on-itself",
                "name something else in needs, or leave the rule out",
            )
        if rule["when"] == rule.get("rules-out"):
            yield self.say(
                (*path, "rules-out"),
                f"{owner} rules out just what it applies to, so that can never be picked",
                "rule-on-itself",
                "name something else in rules-out, or take what it names out of the catalogue",
            )

    def _condition(self, path: Path, condition: Any) -> Iterator[Problem]:
        for key, value in mapping(condition).items():
            inner = (*path, key)
            if key in GROUPING:
                for index, part in enumerate(entries(value)):
                    yield from self._condition((*inner, index), part)
                continue
            yield from self.unknown_choice(inner, key)
            if key not in self.options:
                continue
            if isinstance(value, dict):
                yield from self.unknown_option((*inner, "option"), key, value.get("option"))
                yield from self._quantities(inner, value, key)
            else:
                named = [((*inner, i), v) for i, v in enumerate(entries(value))]
                for place, option in named or [(inner, value)]:
                    yield from self.unknown_option(place, key, option)

    def _quantities(self, path: Path, test: Raw, choice: str) -> Iterator[Problem]:
        low, high = (self.figure(path, test, key) for key in ("at-least", "at-most"))
        owner = thing(self.tree, path)
        if "at-least" not in test and "at-most" not in test:
            yield self.say(
                path,
                f'{owner} asks for no quantity of choice "{choice}"',
                "quantity",
                'add "at-least: ..." or "at-most: ..."',
            )
        if low is not None and high is not None and low > high:
            yield self.say(
                path,
                f"{owner} asks for at least {low} and at most {high}, which can never both hold",
                "quantity",
                "swap the two numbers",
            )
        elif low is not None and low > (most := self._most(choice, test.get("option"))):
            what = f'option "{test["option"]}" of ' if "option" in test else ""
            yield self.say(
                path,
                f'{owner} asks for at least {low} of {what}choice "{choice}", at most '
                f"{most} of which can be picked",
                "quantity",
                "ask for less, or allow more there",
                level="caution",
            )

    def _most(self, choice: str, option: Any) -> Decimal | float:
        """The largest quantity that can be picked; infinite where that could not be read."""
        if self.known[options_of(choice)] is None:
            return float("inf")
        counted = [o for i, o in self.options[choice].items() if option in (None, i)]
        if self.pick[choice] in _SINGLE or not counted:
            return 1 if counted else float("inf")
        mosts = [number(record.get("most", 1)) for record in counted]
        read = [most for most in mosts if most is not None and most > 0]
        together = sum(read) if len(read) == len(mosts) else float("inf")
        return min(together, self.at_most.get(choice) or float("inf"))

    def _picks(self, path: Path, picks: Any) -> Iterator[Problem]:
        for choice, value in mapping(picks).items():
            inner = (*path, choice)
            yield from self.unknown_choice(inner, choice)
            if choice not in self.options:
                continue
            if isinstance(value, dict):
                named = [((*inner, option), option, True) for option in value]
            else:
                named = [((*inner, i), o, False) for i, o in enumerate(entries(value))]
                named = named or [(inner, value, False)]
            for place, option, by_key in named:
                yield from self.unknown_option(place, choice, option, by_key)
            yield from self._too_many(inner, choice, value)

    def _too_many(self, path: Path, choice: str, value: Any) -> Iterator[Problem]:
        """More options, or more of one, than the choice takes."""
        owner = thing(self.tree, path)
        if self.pick[choice] in _SINGLE and isinstance(value, list | dict) and len(value) > 1:
            yield self.say(
                path,
                f'{owner} picks {len(value)} options of choice "{choice}", which takes one',
                "too-many-picks",
                "keep one of them",
            )
            return
        for option, quantity in mapping(value).items():
            count, most = number(quantity), self._most(choice, option)
            if count is not None and count > most:
                yield self.say(
                    (*path, option),
                    f'{owner} picks {count} of option "{option}" of choice "{choice}", at '
                    f"most {most} of which can be picked",
                    "too-many-picks",
                    f"set its quantity to {most} or less",
                )

    def _cyclic_needs(self) -> Iterator[Problem]:
        """Single options that, rule by rule, need each other: one thing sold as several."""
        edges: dict[tuple[str, str], Path] = {}
        for path, rule in records(self.data, "rules"):
            when, needs = _single(rule.get("when")), _single(rule.get("needs"))
            if when and needs and when != needs:
                edges.setdefault((when, needs), path)
        for names, path in circles(edges):
            yield self.say(
                path,
                f"these need each other in a circle: {names}",
                "cyclic-needs",
                "sell them as one option, or leave one of the rules out",
                level="caution",
            )

    def _cyclic_support(self) -> Iterator[Problem]:
        """Units that can stand on nothing but each other."""
        edges: dict[tuple[str, str], Path] = {}
        for choice, path, option in options(self.data):
            stands_on = entries(mapping(option.get("unit")).get("stands-on"))
            only = stands_on[0] if len(stands_on) == 1 else None
            if isinstance(only, str) and Pick.named(only).option:
                at = (*path, "unit", "stands-on")
                edges[str(Pick(choice, str(option.get("id")))), only] = at
        for names, path in circles(edges):
            yield self.say(
                path,
                f"these can stand on nothing but each other: {names}",
                "cyclic-support",
                "let one of them stand on the floor too",
            )


def _tests(condition: Any) -> Iterator[tuple[str, list[Any]]]:
    """The choices that a raw condition asks about, each with the options it names."""
    for key, value in mapping(condition).items():
        if key in GROUPING:
            for part in entries(value):
                yield from _tests(part)
        elif isinstance(value, dict):
            yield key, [value.get("option")]
        else:
            yield key, value if isinstance(value, list) else [value]


def _single(condition: Any) -> str | None:
    """``choice=option`` when the raw condition asks for just that."""
    tests = list(mapping(condition).items())
    if len(tests) == 1 and isinstance(tests[0][1], str) and tests[0][0] not in GROUPING:
        return str(Pick(*tests[0]))
    return None
