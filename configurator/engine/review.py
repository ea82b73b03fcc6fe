"""A deep look at a catalogue: what nobody can pick, and what has no effect.

Each finding is proved by the same search that answers a salesperson, so it takes longer than
reading the file. Nothing here keeps a catalogue from being used.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from math import prod

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Choice, Option
from configurator.catalogue.parts import Table
from configurator.engine.availability import options
from configurator.engine.conflicts import facts_against, find_conflict
from configurator.engine.constraint import LIMIT, Constraint
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.errors import Location, Problem, SearchLimit, by_place
from configurator.selection.picks import Selection

_MOST_CELLS = 20_000


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
        together = f": {names} cannot all hold" if fact else ": some choice has no option"
        yield _caution(
            at,
            f"no package is possible at all{together}",
            "no-package",
            "change or leave out one of them",
        )


def _named(search: Search, facts: Sequence[ConstraintId]) -> str:
    told = [search.constraints[fact].name for fact in facts]
    if len(told) < 2:
        return "".join(told)
    return f"{', '.join(told[:-1])} and {told[-1]}"


def _options(search: Search) -> Iterator[Problem]:
    """Options that nothing can select, and choices that leave no choice."""
    catalogue = search.catalogue
    for state in options(search, Selection(catalogue.id)).options:
        choice = catalogue.by_id[state.choice]
        option = choice.by_id[state.option]
        if state.conflict is not None:
            yield _caution(
                option.at,
                f'option "{option.id}" of choice "{choice.id}" is never available: '
                f"{state.conflict.line}",
                "never-selected",
                "change what rules it out, or leave the option out",
            )
        elif state.state == "implied" and choice.pick != "several" and len(choice.options) > 1:
            yield _caution(
                choice.at,
                f'choice "{choice.id}" has one possible answer: "{option.id}"',
                "one-answer",
                "change what rules out the others, or leave the choice out",
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
            told = _named(search, facts_against(search, when, others))
            yield _caution(
                one.at,
                f"rule {one.name} never applies: what it applies to is never available"
                + (f" ({told})" if told else ""),
                "rule-never-applies",
                "correct its condition, or leave the rule out",
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
                        f"rules {twin.name} and {one.name} say the same",
                        "rules-say-the-same",
                        "leave one of these two out",
                    )
                continue
            told = _named(search, against)
            because = (
                f"that {one.says} follows from {told}" if told else "it is true of every selection"
            )
            yield _caution(
                one.at,
                f"rule {one.name} never matters: {because}",
                "rule-never-matters",
                "leave the rule out, or correct it",
            )
        elif search.sound(when) is None and search.sound(when, active - {one.id}) is not None:
            yield _caution(
                one.at,
                f"rule {one.name} asks what can never be, so what it applies to is never available",
                "rule-contradicts",
                "write what it applies to as ruled out, or correct what it asks",
            )


def _deals(search: Search) -> Iterator[Problem]:
    catalogue = search.catalogue
    for deal in catalogue.package_deals:
        conflict = find_conflict(search, Selection(catalogue.id, deal.picks))
        if conflict is not None:
            yield _caution(
                deal.at,
                f'package deal "{deal.id}" is never available: {conflict.line}',
                "deal-not-sound",
                "change its picks, or what rules them out",
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
                f'add-on "{option.id}" is never suggested: nothing that it is suggested for '
                "can go with it",
                "never-suggested",
                "correct its condition, or leave the suggestion out",
            )


def _tables(search: Search) -> Iterator[Problem]:
    for choice in search.catalogue.by_id.values():
        for option in choice.options:
            for facet, parts in (("price", option.price), ("mass", option.mass)):
                for part in parts:
                    if isinstance(part, Table):
                        yield from _holes(search, choice, option, facet, part)


def _holes(
    search: Search, choice: Choice, option: Option, facet: str, part: Table
) -> Iterator[Problem]:
    catalogue = search.catalogue
    answers = [sorted(catalogue.by_id[name].by_id) for name in part.by]
    if prod(map(len, answers)) > _MOST_CELLS:
        named = Pick(choice.id, option.id)
        raise SearchLimit(f"the {facet} table of {named} is too large to look over")
    for names in product(*answers):
        if names in part.cells:
            continue
        picks = [Pick(by, name) for by, name in zip(part.by, names, strict=True)]
        literals = [search.encoding.at_least(pick.choice, pick.option) for pick in picks]
        if search.sound([search.encoding.at_least(choice.id, option.id), *literals]) is not None:
            told = " and ".join(f'"{pick}"' for pick in picks)
            yield _caution(
                part.at,
                f'the {facet} of option "{option.id}" of choice "{choice.id}" has no cell for '
                f"{told}, which is available with it",
                "table-hole",
                "add the cell, or a rule that keeps them apart",
            )
