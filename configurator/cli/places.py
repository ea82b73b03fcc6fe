"""Places of units as they are written on the command line, such as ``kitchen=left``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import click
from attrs import evolve

from configurator.catalogue.model import Catalogue
from configurator.errors import Location, Problem, SelectionError, near_miss
from configurator.selection.picks import Selection, Wish
from configurator.selection.resolved import Resolved

__all__ = ["placed", "placed_where_picked"]

_SIDES = ("left", "right", "rear")
_ENDS = ("front", "rear")
_AXES = ("x", "y", "z")
_MOST = 100_000
"""The furthest exact position, mm, as the selection's schema has it."""

_KINDS = {"side": "a side", "towards": "an end"}


def placed(build: Resolved, text: str) -> Selection:
    """The selection with the unit wished in that place, instead of wherever it was wished before.

    Written as ``UNIT=PLACE``: the unit is a choice (all that is picked in it) or ``CHOICE=OPTION``,
    the place any of a side, ``towards:front`` or ``:rear``, and ``x:``, ``y:`` and ``z:`` with mm.

    Raises:
        click.UsageError: the text is not written as a place.
        SelectionError: the unit is not picked.
    """
    unit, _, place = text.rpartition("=")
    choice, equals, option = unit.partition("=")
    if not choice or (equals and not option):
        raise _unplaced(text, "")
    values = _place(text, place)
    where = Location(f"--place {text}", 0, 0)
    picked = build.selection.chosen.get(choice, ())
    if not picked or option not in ("", *picked):
        placeable = [
            c
            for c in build.selection.chosen
            if c in build.catalogue.by_id and _has_units(build.catalogue, c)
        ]
        hint = near_miss(option, picked) if picked else near_miss(choice, placeable)
        known = ", ".join(picked or placeable) or "nothing that is placed"
        raise SelectionError(
            [Problem(where, f'"{unit}" is not picked', "not-picked", hint or f"picked: {known}")]
        )
    wishes = [Wish(choice, each, **values, at=where) for each in ([option] if option else picked)]
    about = {(wish.choice, wish.option) for wish in wishes}
    kept = (w for w in build.selection.wishes if (w.choice, w.option) not in about)
    return evolve(build.selection, wishes=(*kept, *wishes))


def placed_where_picked(
    catalogue: Catalogue, selections: Sequence[Selection], texts: Iterable[str]
) -> list[Selection]:
    """The selections with the units placed in each that picks them; one of them has to.

    Raises:
        click.UsageError: a text is not written as a place.
        SelectionError: no selection picks the unit.
    """
    changed_ones = list(selections)
    for text in texts:
        refused = []
        for index, selection in enumerate(changed_ones):
            try:
                changed_ones[index] = placed(Resolved(catalogue, selection), text)
            except SelectionError as error:
                refused.append(error)
        if len(refused) == len(changed_ones):
            raise refused[0]
    return changed_ones


def _has_units(catalogue: Catalogue, choice: str) -> bool:
    return any(option.unit is not None for option in catalogue.by_id[choice].options)


def _place(text: str, place: str) -> dict[str, Any]:
    """The place as fields of a wish.

    Raises:
        click.UsageError: it is not written as one, or says the same thing twice.
    """
    values: dict[str, Any] = {}
    for part in place.split(","):
        key, colon, value = (piece.strip() for piece in part.partition(":"))
        if not colon:
            key, value = "side", key
        if key in values:
            raise _unplaced(text, f"it says {key} twice")
        if key in _AXES:
            if not (value.isascii() and value.isdigit() and len(value) < 7):
                raise _unplaced(text, f"{key} must be a whole number of mm")
            if int(value) > _MOST:
                raise _unplaced(text, f"{key} may be {_MOST} mm at most")
            values[key] = int(value)
        elif key in ("side", "towards"):
            known = _SIDES if key == "side" else _ENDS
            if value not in known:
                hint = near_miss(value, known)
                raise _unplaced(text, f'"{value}" is not {_KINDS[key]}; {hint}'.rstrip("; "))
            values[key] = value
        else:
            hint = near_miss(key, ("towards", *_AXES))
            raise _unplaced(text, f'"{key}" is not known; {hint}'.rstrip("; "))
    return values


def _unplaced(text: str, why: str) -> click.UsageError:
    told = f"{why}{'' if why.endswith('?') else '.'} " if why else ""
    return click.UsageError(
        f"--place {text}: {told}Write it as UNIT=SIDE, such as kitchen=left; the side is left, "
        "right or rear. Besides the side, or instead: towards:front, towards:rear, and x:MM, y:MM "
        "or z:MM, with commas between them"
    )
