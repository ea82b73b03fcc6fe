"""Conflicts and fixes in the trade's words: a separate step from finding them."""

from __future__ import annotations

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.engine.conflicts import Conflict
from configurator.engine.constraint import Explanation
from configurator.engine.ways_out import ChoiceChange, Fix
from configurator.forms import form
from configurator.words import Text, joined, text


@form()
@frozen
class Argument:
    """Why something is not available.

    Attributes:
        premises: what holds, a clause each: picks first, then rules, limits and fits.
        conclusion: what follows.
        hint: what a rule or limit that takes part advises, or empty.
    """

    premises: tuple[str, ...]
    conclusion: str
    hint: str = ""

    @property
    def whole(self) -> Text:
        """The whole argument as one sentence, and the hint."""
        if self.premises:
            premises = joined(self.premises, text(", and "))
            known = {"premises": premises, "conclusion": self.conclusion}
            told = text("Because {premises}, {conclusion}.", **known)
        else:
            told = text("{conclusion:capital}.", conclusion=self.conclusion)
        return joined([told, self.hint], " ") if self.hint else told

    def __str__(self) -> str:
        """The whole argument in English."""
        return str(self.whole)


def argument(catalogue: Catalogue, conflict: Conflict, whole: bool = False) -> Argument:
    """The conflict as a short argument.

    Args:
        catalogue: what the picks are from.
        conflict: what cannot hold.
        whole: say what all that is picked comes to, too.
    """
    told = _told(conflict)
    premises: list[str] = [_pick_words(catalogue, pick) for pick in conflict.picks]
    premises += [
        joined([one.sentence, one.more], " ") if whole and one.more else one.sentence
        for one in told
    ]
    hints = [one.hint for one in conflict.numbers if one.hint]
    if conflict.wanted is None:
        conclusion = text("so these picks are not available together")
    else:
        wanted = _pick_words(catalogue, conflict.wanted)
        conclusion = text("{pick} is not available", pick=wanted)
        if premises:
            conclusion = text("so {pick} is not available", pick=wanted)
    return Argument(tuple(premises), conclusion, hints[0] if hints else "")


def one_line(catalogue: Catalogue, conflict: Conflict) -> Text:
    """The shortest telling: what rules it out, without the conclusion."""
    facts = [one.sentence for one in _told(conflict)]
    picks = [_pick_words(catalogue, pick) for pick in conflict.picks]
    said = joined(facts, "; ")
    if facts and picks:
        return text("{facts} (with {picks})", facts=said, picks=joined(picks))
    if picks:
        return text("not beside {picks}", picks=joined(picks))
    return said if facts else text("never available")


def _told(conflict: Conflict) -> list[Explanation]:
    """What is said: not what is part of another one's words."""
    within = {other for one in conflict.numbers for other in one.covers}
    pairs = zip(conflict.facts, conflict.numbers, strict=True)
    return [numbers for one, numbers in pairs if one not in within]


def fix_words(catalogue: Catalogue, fix: Fix) -> Text:
    """What the fix does, and what that does to the price."""
    return text(
        "{changes:capital}: {difference:signed} {currency}",
        changes=joined((change_words(catalogue, change) for change in fix.changes), text(", and ")),
        difference=fix.difference,
        currency=fix.difference.currency,
    )


def change_words(catalogue: Catalogue, change: ChoiceChange) -> Text:
    """What one change does to its choice."""
    choice = catalogue.by_id[change.choice]
    if choice.pick == "several":
        before, after = dict(change.before), dict(change.after)
        moves = []
        for option in choice.options:
            was, will = before.get(option.id, 0), after.get(option.id, 0)
            if was != will:
                moves.append(text("{title} {was} -> {now}", title=option.title, was=was, now=will))
        return text("{choice}: {moves}", choice=choice.title, moves=joined(moves))
    titles = [
        choice.by_id[picks[0][0]].title if picks else text("nothing")
        for picks in (change.before, change.after)
    ]
    old, new = titles
    return text("{choice}: {was} -> {now}", choice=choice.title, was=old, now=new)


def _pick_words(catalogue: Catalogue, pick: Pick) -> Text:
    choice = catalogue.by_id[pick.choice]
    title = choice.by_id[pick.option].title
    if pick.quantity > 1:
        title = text("{count} x {title}", count=pick.quantity, title=title)
    return text("{choice}: {option}", choice=choice.title, option=title)
