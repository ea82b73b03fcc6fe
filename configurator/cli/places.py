"""Places of units as they are written on the command line, such as ``kitchen=left``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import click

from configurator.build import Build
from configurator.errors import Location, SelectionError, near_miss

_SIDES = ("left", "right", "rear")
_ENDS = ("front", "rear")
_AXES = ("x", "y", "z")
_MOST = 100_000
"""The furthest exact position, mm, as the selection's schema has it."""

_KINDS = {"side": "a side", "towards": "an end"}


def placed(build: Build, text: str) -> Build:
    """The build with the unit wished in that place, instead of wherever it was wished before.

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
    return build.place(choice, option, **_place(text, place), at=Location(f"--place {text}", 0, 0))


def placed_where_picked(builds: Sequence[Build], texts: Iterable[str]) -> list[Build]:
    """The builds with the units placed in each that picks them; one of them has to.

    Raises:
        click.UsageError: a text is not written as a place.
        SelectionError: no build picks the unit.
    """
    changed = list(builds)
    for text in texts:
        refused = []
        for index, build in enumerate(changed):
            try:
                changed[index] = placed(build, text)
            except SelectionError as error:
                refused.append(error)
        if len(refused) == len(changed):
            raise refused[0]
    return changed


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
                raise _unplaced(text, f"{key} must be a whole number of mm, 0 or more")
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
