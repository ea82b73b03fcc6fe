"""Conflicts and fixes in the trade's words: a separate step from finding them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue, Option, Pick
from configurator.engine.conflicts import Conflict
from configurator.engine.encoding import Fact, Held
from configurator.engine.fitting import Side
from configurator.engine.rating_words import rating_hint, rating_words
from configurator.engine.search import Search
from configurator.engine.ways_out import ChoiceChange, Fix
from configurator.fit.openings import cells_of, clear_openings, divider_of
from configurator.fit.units import UnitFit, badness, bases_of, ways_in
from configurator.fit.words import misfit_words
from configurator.forms import form
from configurator.rules import rule_words
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.totals import Interior
from configurator.words import plain, signed_amount

__all__ = ["Argument", "argument", "change_words", "fix_words", "one_line"]


@form()
@frozen
class Argument:
    """Why something cannot be had.

    Attributes:
        premises: what holds, a clause each: picks first, then rules, limits and fits.
        conclusion: what follows.
        hint: what a rule or limit that takes part advises, or empty.
    """

    premises: tuple[str, ...]
    conclusion: str
    hint: str = ""

    def __str__(self) -> str:
        """The whole argument as one sentence, and the hint."""
        told = ", and ".join(self.premises)
        start = f"Because {told}, {self.conclusion}." if told else f"{_capital(self.conclusion)}."
        return f"{start} {self.hint}".strip()


def argument(search: Search, conflict: Conflict, selection: Selection | None = None) -> Argument:
    """The conflict as a short argument.

    Args:
        search: the catalogue's search.
        conflict: what cannot hold.
        selection: what the conflict was found in; with it, an exceeded rating is told with all
            that is picked too.
    """
    catalogue = search.catalogue
    premises = [_pick_words(catalogue, pick) for pick in conflict.picks]
    premises += [_fact_words(search, conflict, fact, selection) for fact in _told(conflict)]
    hints = [hint for fact in conflict.facts if (hint := _hint(search, conflict, fact))]
    if conflict.wanted is None:
        conclusion = "so these picks cannot be had together"
    else:
        wanted = _pick_words(catalogue, conflict.wanted)
        conclusion = f"{'so ' if premises else ''}{wanted} cannot be had"
    return Argument(tuple(premises), conclusion, hints[0] if hints else "")


def one_line(search: Search, conflict: Conflict) -> str:
    """The shortest telling: what rules it out, without the conclusion."""
    catalogue = search.catalogue
    facts = [_fact_words(search, conflict, fact) for fact in _told(conflict)]
    picks = [_pick_words(catalogue, pick) for pick in conflict.picks]
    if facts and picks:
        return f"{'; '.join(facts)} (with {', '.join(picks)})"
    return "; ".join(facts) or (f"not beside {', '.join(picks)}" if picks else "never to be had")


def _told(conflict: Conflict) -> list[Fact]:
    """Facts that are told: with an axle rating, the fit of all units is part of its words."""
    axles = Fact("rating", "axles") in conflict.facts
    return [fact for fact in conflict.facts if not axles or fact.kind != "layout"]


def fix_words(catalogue: Catalogue, fix: Fix) -> str:
    """What the fix does, and what that does to the price."""
    changes = ", and ".join(change_words(catalogue, change) for change in fix.changes)
    return f"{_capital(changes)}: {signed_amount(fix.difference)} {fix.difference.currency}"


def change_words(catalogue: Catalogue, change: ChoiceChange) -> str:
    """What one change does to its choice."""
    choice = catalogue.by_id[change.choice]
    if choice.pick == "several":
        before, after = dict(change.before), dict(change.after)
        moves = []
        for option in choice.options:
            was, will = before.get(option.id, 0), after.get(option.id, 0)
            if was != will:
                moves.append(f"{option.title} {was} -> {will}")
        return f"{choice.title}: {', '.join(moves)}"
    titles = [
        choice.by_id[picks[0][0]].title if picks else "nothing"
        for picks in (change.before, change.after)
    ]
    return f"{choice.title}: {titles[0]} -> {titles[1]}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _pick_words(catalogue: Catalogue, pick: Pick) -> str:
    choice = catalogue.by_id[pick.choice]
    many = f"{pick.quantity} x " if pick.quantity > 1 else ""
    return f"{choice.title}: {many}{choice.by_id[pick.option].title}"


def _fact_words(
    search: Search, conflict: Conflict, fact: Fact, selection: Selection | None = None
) -> str:
    catalogue = search.catalogue
    if fact.kind == "rule":
        rule = next(rule for rule in catalogue.rules if rule.id == fact.subject)
        return f"{rule_words(catalogue, rule)} ({rule.because.rstrip('.')})"
    if fact.kind == "limit":
        return _limit_words(search, conflict, fact.subject)
    if fact.kind == "rating":
        return rating_words(search, conflict, fact.subject, selection)
    if fact.kind == "layout":
        return f"these units do not all go into the {catalogue.space_title(fact.subject)} together"
    return _fit_words(search, conflict, fact.subject)


def _hint(search: Search, conflict: Conflict, fact: Fact) -> str:
    catalogue = search.catalogue
    if fact.kind == "rating":
        return rating_hint(search, conflict, fact.subject)
    if fact.kind == "rule":
        return next(rule.hint for rule in catalogue.rules if rule.id == fact.subject)
    if fact.kind == "limit":
        return next(limit.hint for limit in catalogue.limits if limit.id == fact.subject)
    return ""


def _limit_words(search: Search, conflict: Conflict, limit_id: str) -> str:
    """The limit with its numbers: what these picks use at least, and what there can be at most."""
    theory = search.limits[limit_id]
    limit = theory.limit
    held = _held(conflict)
    over = theory.least_over(held)
    used = sum(
        (n * theory.shares[key].at_least(held) for key, n in held.items() if key in theory.shares),
        Decimal(0),
    )
    reason = limit.because.rstrip(".")
    if over > 0:
        return (
            f"{limit.title} is exceeded by at least {plain(over)} {limit.unit}, these picks alone "
            f"taking {plain(used)} {limit.unit} net ({reason})"
        )
    return f"{limit.title} would be exceeded with what has to go with it ({reason})"


def _held(conflict: Conflict) -> Held:
    picks = [*conflict.picks, *([conflict.wanted] if conflict.wanted else [])]
    return {(pick.choice, pick.option): pick.quantity for pick in picks}


def _fit_words(search: Search, conflict: Conflict, unit: str) -> str:
    """Why the unit does not fit even the largest inside that these picks leave it."""
    catalogue = search.catalogue
    choice_id, _, option_id = unit.partition("=")
    option = catalogue.option(choice_id, option_id)
    assert option.unit is not None
    space = catalogue.space_title(option.unit.space)
    fit = _best_fit(search, conflict, choice_id, option)
    if fit is None or fit.fits or fit.misfits[0].what in ("no-opening", "support"):
        return f"{option.title} fits no {space} that goes with it"
    words = misfit_words(fit, fit.misfits[0], space)
    return f"{option.title} does not fit the largest {space} left: {words}"


def _best_fit(search: Search, conflict: Conflict, choice_id: str, option: Option) -> UnitFit | None:
    """The unit in the best case: each inside size as large as these picks and facts let it be."""
    catalogue, encoding, unit = search.catalogue, search.encoding, option.unit
    assert unit is not None
    held = _held(conflict)
    literals = [encoding.at_least(*key, n) for key, n in sorted(held.items())]
    rest = frozenset(fact for fact in conflict.facts if fact.kind in ("rule", "limit"))
    sizes = [
        _largest(search, literals, rest, side) for side in search.fit.sides(unit.space).values()
    ]
    if not all(sizes):
        return None
    inside = Interior(*sizes)
    selection = encoding.selection(held)
    openings = clear_openings(Resolved(catalogue, selection), unit.space, inside)
    cells = cells_of(
        inside, openings, divider_of(Resolved(catalogue, selection), unit.space, inside)
    )
    bases = bases_of(Resolved(catalogue, selection), unit)
    ways = [
        (side, tuple(misfits))
        for side, misfits in ways_in(Resolved(catalogue, selection), option, cells, bases)
    ]
    side, misfits = min(ways, key=lambda way: (badness(way[1]), way[0]))
    return UnitFit(choice_id, option, inside, side, misfits)


def _largest(search: Search, literals: Sequence[int], facts: frozenset[Fact], side: Side) -> int:
    """The largest size of the side that goes with the literals and facts; 0 for none."""
    low, high = -1, len(side.steps)
    while low + 1 < high:
        middle = (low + high) // 2
        asked = [*literals, side.at_least(side.steps[middle])]
        if search.sound(asked, facts) is None:
            high = middle
        else:
            low = middle
    return side.steps[low] if low >= 0 else 0
