"""Conflicts and fixes in the trade's words: a separate step from finding them."""

from __future__ import annotations

from attrs import frozen

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.conflicts import Conflict
from configurator.engine.constraint import Explanation
from configurator.engine.ways_out import ChoiceChange, Fix
from configurator.forms import form
from configurator.words import signed_amount

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


def argument(catalogue: Catalogue, conflict: Conflict, whole: bool = False) -> Argument:
    """The conflict as a short argument.

    Args:
        catalogue: what the picks are from.
        conflict: what cannot hold.
        whole: tell what all that is picked comes to, too.
    """
    told = _told(conflict)
    premises = [_pick_words(catalogue, pick) for pick in conflict.picks]
    premises += [f"{one.sentence}{one.more if whole else ''}" for one in told]
    hints = [one.hint for one in conflict.numbers if one.hint]
    if conflict.wanted is None:
        conclusion = "so these picks cannot be had together"
    else:
        wanted = _pick_words(catalogue, conflict.wanted)
        conclusion = f"{'so ' if premises else ''}{wanted} cannot be had"
    return Argument(tuple(premises), conclusion, hints[0] if hints else "")


def one_line(catalogue: Catalogue, conflict: Conflict) -> str:
    """The shortest telling: what rules it out, without the conclusion."""
    facts = [one.sentence for one in _told(conflict)]
    picks = [_pick_words(catalogue, pick) for pick in conflict.picks]
    if facts and picks:
        return f"{'; '.join(facts)} (with {', '.join(picks)})"
    return "; ".join(facts) or (f"not beside {', '.join(picks)}" if picks else "never to be had")


def _told(conflict: Conflict) -> list[Explanation]:
    """What is told: not what is part of another one's words."""
    within = {other for one in conflict.numbers for other in one.covers}
    pairs = zip(conflict.facts, conflict.numbers, strict=True)
    return [numbers for one, numbers in pairs if one not in within]


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
