"""A deep look at a catalogue: what nobody can pick, and what has no effect.

Each finding is proved by the same search that answers a salesperson, so it takes longer than
reading the file. Nothing here keeps a catalogue from being used.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product
from math import prod

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Choice, Option
from configurator.catalogue.parts import Table
from configurator.engine.availability import options
from configurator.engine.conflicts import facts_against, find_conflict
from configurator.engine.constraint import LIMIT, Constraint
from configurator.engine.known_mass import known_masses
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.errors import Location, Problem, SearchLimit, by_place
from configurator.selection.picks import Selection
from configurator.words import Text, joined, listed, text

_MOST_CELLS = 20_000

_HOLES: Mapping[str, Callable[..., Text]] = {
    "price": lambda **known: text(
        'the price of option "{option}" of choice "{choice}" has no cell for {picks}, which is '
        "available with it",
        **known,
    ),
    "mass": lambda **known: text(
        'the mass of option "{option}" of choice "{choice}" has no cell for {picks}, which is '
        "available with it",
        **known,
    ),
}

_TOO_LARGE: Mapping[str, Callable[..., Text]] = {
    "price": lambda **known: text("the price table of {named} is too large to look over", **known),
    "mass": lambda **known: text("the mass table of {named} is too large to look over", **known),
}


def review(search: Search) -> tuple[Problem, ...]:
    """Everything odd that only a search can find, in reading order; each of level caution.

    Options that nothing can select, choices with one possible answer, rules that never apply or
    never matter, package deals that are not sound, suggestions that can never appear, and holes in
    tables that a sound selection can reach. Where no package at all is available, only
    that is reported.

    Raises:
        SearchLimit: it stopped without an answer, which proves nothing.
    """
    search.travel(Selection(search.catalogue.id))
    if search.sound([]) is None:
        return by_place(_contradiction(search))
    return by_place(
        [
            *_options(search),
            *_stated(search),
            *_deals(search),
            *_suggestions(search),
            *_tables(search),
        ]
    )


def _caution(at: Location, sentence: str, code: str, hint: str) -> Problem:
    return Problem(at, sentence, code, hint, level="caution")


def _contradiction(search: Search) -> Iterator[Problem]:
    """No package is available: each rule or limit that takes part is reported where it stands."""
    conflict = find_conflict(search, Selection(search.catalogue.id))
    assert conflict is not None
    names = _named(search, conflict.facts)
    for fact in conflict.facts or (None,):
        at = search.constraints[fact].at if fact else search.catalogue.choices[0].at
        told = text("no package is possible at all: some choice has no option")
        if fact:
            told = text("no package is possible at all: {names} cannot all hold", names=names)
        yield _caution(at, told, "no-package", text("change or leave out one of them"))


def _named(search: Search, facts: Sequence[ConstraintId]) -> str:
    return listed(search.constraints[fact].name for fact in facts)


def _options(search: Search) -> Iterator[Problem]:
    """Options that nothing can select, and choices that leave no choice."""
    catalogue = search.catalogue
    for state in options(search, Selection(catalogue.id)).options:
        choice = catalogue.by_id[state.choice]
        option = choice.by_id[state.option]
        named = {"option": option.id, "choice": choice.id}
        if state.conflict is not None:
            yield _caution(
                option.at,
                text(
                    'option "{option}" of choice "{choice}" is never available: {why}',
                    why=state.conflict.line,
                    **named,
                ),
                "never-selected",
                text("change what rules it out, or leave the option out"),
            )
        elif state.state == "implied" and choice.pick != "several" and len(choice.options) > 1:
            yield _caution(
                choice.at,
                text('choice "{choice}" has one possible answer: "{option}"', **named),
                "one-answer",
                text("change what rules out the others, or leave the choice out"),
            )


def _says_the_same(
    search: Search, one: Constraint, against: Sequence[ConstraintId]
) -> Constraint | None:
    """The one constraint from which this one follows, if it follows from this one too."""
    other = search.constraints[against[0]] if len(against) == 1 else None
    if other is None or not other.broken:
        return None
    follows = search.sound([*other.applies, *other.broken], frozenset([one.id])) is None
    return other if follows else None


def _stated(search: Search) -> Iterator[Problem]:
    """What is stated as clauses and has no effect beside the rest of it and the limits.

    What the fit of units would refuse anyway is left alone: it is said in the shop's words.
    """
    active = search.active
    stated = frozenset(one.id for one in search.constraints.values() if one.rank <= LIMIT)
    for one in [one for one in search.constraints.values() if one.broken]:
        when, others = one.applies, stated - {one.id}
        if search.sound(when, others) is None:
            why = _named(search, facts_against(search, when, others))
            told = text(
                "rule {name} never applies: what it applies to is never available", name=one.name
            )
            if why:
                told = text("{told} ({why})", told=told, why=why)
            yield _caution(
                one.at,
                told,
                "rule-never-applies",
                text("correct its condition, or leave the rule out"),
            )
            continue
        broken = [*when, *one.broken]
        if search.sound(broken, others) is None:
            against = facts_against(search, broken, others)
            twin = _says_the_same(search, one, against)
            if twin is not None:
                if twin.at < one.at:
                    yield _caution(
                        one.at,
                        text("rules {twin} and {name} say the same", twin=twin.name, name=one.name),
                        "rules-say-the-same",
                        text("leave one of these two out"),
                    )
                continue
            why = _named(search, against)
            told = text("rule {name} never matters: it is true of every selection", name=one.name)
            if why:
                told = text(
                    "rule {name} never matters: that {says} follows from {why}",
                    name=one.name,
                    says=one.says,
                    why=why,
                )
            yield _caution(
                one.at, told, "rule-never-matters", text("leave the rule out, or correct it")
            )
        elif search.sound(when) is None and search.sound(when, active - {one.id}) is not None:
            yield _caution(
                one.at,
                text(
                    "rule {name} asks what can never be, so what it applies to is never available",
                    name=one.name,
                ),
                "rule-contradicts",
                text("write what it applies to as ruled out, or correct what it asks"),
            )


def _deals(search: Search) -> Iterator[Problem]:
    catalogue = search.catalogue
    for deal in catalogue.package_deals:
        conflict = find_conflict(search, Selection(catalogue.id, deal.picks))
        if conflict is not None:
            yield _caution(
                deal.at,
                text(
                    'package deal "{deal}" is never available: {why}',
                    deal=deal.id,
                    why=conflict.line,
                ),
                "deal-not-sound",
                text("change its picks, or what rules them out"),
            )


def _suggestions(search: Search) -> Iterator[Problem]:
    for option in search.catalogue.add_ons.options:
        if option.suggest is None:
            continue
        picked = search.encoding.at_least(ADD_ON, option.id)
        if search.sound([picked]) is None:
            continue  # it is reported already that it is never available
        if search.sound([picked, search.encoding.literal(option.suggest)]) is None:
            yield _caution(
                option.at,
                text(
                    'add-on "{add_on}" is never suggested: nothing that it is suggested for can go '
                    "with it",
                    add_on=option.id,
                ),
                "never-suggested",
                text("correct its condition, or leave the suggestion out"),
            )


def _tables(search: Search) -> Iterator[Problem]:
    weighed_or_not = search.active - {one.id for one in known_masses(search)}
    for choice in search.catalogue.by_id.values():
        for option in choice.options:
            for facet, parts in (("price", option.price), ("mass", option.mass)):
                for part in parts:
                    if isinstance(part, Table):
                        yield from _holes(search, choice, option, facet, part, weighed_or_not)


def _holes(
    search: Search,
    choice: Choice,
    option: Option,
    facet: str,
    part: Table,
    active: frozenset[ConstraintId],
) -> Iterator[Problem]:
    catalogue = search.catalogue
    answers = [sorted(catalogue.by_id[name].by_id) for name in part.by]
    if prod(map(len, answers)) > _MOST_CELLS:
        named = Pick(choice.id, option.id)
        raise SearchLimit(_TOO_LARGE[facet](named=str(named)))
    for names in product(*answers):
        if names in part.cells:
            continue
        picks = [Pick(by, name) for by, name in zip(part.by, names, strict=True)]
        literals = [search.encoding.at_least(pick.choice, pick.option) for pick in picks]
        literals.append(search.encoding.at_least(choice.id, option.id))
        if search.sound(literals, active) is not None:
            yield _caution(
                part.at,
                _HOLES[facet](
                    option=option.id,
                    choice=choice.id,
                    picks=joined([f'"{pick}"' for pick in picks], text(" and ")),
                ),
                "table-hole",
                text("add the cell, or a rule that keeps them apart"),
            )
