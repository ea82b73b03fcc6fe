"""What a change of picks does, in words."""

from __future__ import annotations

from collections.abc import Mapping

from configurator.catalogue.model import Choice
from configurator.words import Text, itemised, several, text


def change_words(choice: Choice, before: Mapping[str, int], after: Mapping[str, int]) -> Text:
    """What a change does to a choice, of which so many of each option were picked, and are then."""
    if choice.pick == "several":
        moves = []
        for option in choice.options:
            was, will = before.get(option.id, 0), after.get(option.id, 0)
            if was and will and was != will:
                known = {"title": option.title, "was": was, "now": will}
                moves.append(text("{now} × {title} instead of {was}", **known))
            elif was != will:
                moves.append(_moved(several(was or will, option.title), taken=bool(will)))
        return text("{choice}: {moves}", choice=choice.title, moves=itemised(moves))
    old, new = (choice.by_id[next(iter(picks))].title if picks else "" for picks in (before, after))
    move = text("{now} instead of {was}", was=old, now=new)
    if not (old and new):
        move = _moved(old or new, taken=bool(new))
    return text("{choice}: {moves}", choice=choice.title, moves=move)


def _moved(title: str, *, taken: bool) -> Text:
    return text("add {title}", title=title) if taken else text("leave out {title}", title=title)
