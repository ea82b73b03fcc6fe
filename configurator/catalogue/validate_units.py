"""Errors about units: what has to be reached but faces no side, and work without a place."""

from __future__ import annotations

from collections.abc import Iterator

from configurator.catalogue.fields import Pick
from configurator.catalogue.names import TreeValue, options
from configurator.catalogue.schema_errors import shown
from configurator.errors import Problem
from configurator.words import joined, listed, text

_MOVES = {"swing": text("a door"), "travel": text("a slide")}
_OPERATED = {
    "load": text("a switch"),
    "battery": text("terminals and a fuse"),
    "inverter": text("a switch and sockets"),
    "vehicle-charger": text("a charger's display"),
    "mains-charger": text("a charger's display"),
    "circuit": text("a fuse"),
}
"""What there is to reach on a unit with this part in the 12 V system."""

_SIZES = {"width": text("width"), "depth": text("depth"), "height": text("height")}
_WITHIN = {"across": "width", "behind": "depth", "up": "height"}
"""The size of the body that each coordinate of a place stays within."""


def out_of_reach(data: TreeValue) -> Iterator[Problem]:
    """Units that are operated or serviced, or that others' work is done on, and face no side.

    ``works-from: []`` says that nothing has to be reached, and is left alone.
    """
    known = list(options(data))
    mounted: dict[str, TreeValue] = {}
    for _, option in known:
        for work in option.records("work"):
            if work["on"].text:
                mounted.setdefault(shown(work["on"].text), option)
    for choice, option in known:
        unit, power = option["unit"], option["power"]
        if not isinstance(unit.value, dict) or "works-from" in unit:
            continue
        what = [told for key, told in _MOVES.items() if key in unit]
        what += dict.fromkeys(told for key, told in _OPERATED.items() if key in power)
        what += [
            text("work of {thing} on it", thing=mounted[name].thing)
            for name in (choice, str(Pick(choice, str(option["id"].value))))
            if name in mounted
        ]
        if what:
            sentence = text(
                "the unit of {thing} has {what}, but states no side that it works from, so it may "
                "be placed out of reach",
                thing=option.thing,
                what=listed(what),
            )
            hint = text(
                'add "works-from" with the sides that its face may be at; "works-from: []" says '
                "that nothing has to be reached"
            )
            yield unit.say(sentence, "works-from", hint, level="caution")


def work_problems(work: TreeValue, option: TreeValue) -> Iterator[Problem]:
    """What contradicts itself in one thing that the workshop does for an option."""
    hole = work["hole"]
    given = [key for key in ("diameter", "width", "height") if key in hole]
    if len(hole) and given not in (["diameter"], ["width", "height"]):
        keys = joined(given, text(" and "))
        sentence = text("a hole of {thing} has {keys}", thing=work.thing, keys=keys)
        if len(given) == 1:
            sentence = text("a hole of {thing} has only {keys}", thing=work.thing, keys=keys)
        elif len(given) == 3:
            sentence = text(
                "a hole of {thing} has all of diameter, width and height", thing=work.thing
            )
        hint = text("give its diameter, or its width and its height")
        yield hole.say(sentence, "hole", hint)
    if "corners" in work and "places" in work:
        sentence = text("work of {thing} has both places and corners", thing=work.thing)
        yield work["corners"].say(sentence, "work-places", text("give one of them"))
    there = 4 if "corners" in work else len(work["places"])
    count = work["count"].number
    if count is not None and there and count != there:
        known = {"thing": work.thing, "count": str(count), "there": there}
        sentence = text("work of {thing} is done {count} times in {there} places", **known)
        hint = text("leave count out: it is as many as there are places")
        yield work["count"].say(sentence, "work-count", hint)
    unit = option["unit"]
    where = next((key for key in ("places", "corners") if key in work), "")
    unread = "unit" in option and not isinstance(unit.value, dict)
    if where and "works-from" not in unit and not unread:
        sentence = text(
            "work of {thing} has {where} on a unit, but no unit that works from a side",
            thing=work.thing,
            where=where,
        )
        hint = text("say in words, under where, in which place it is done")
        yield work[where].say(sentence, "work-places", hint)
    for place in (work["corners"], *work["places"]):
        for key, size in _WITHIN.items():
            at, most = place[key].number, unit["body"][size].number
            if at is not None and most is not None and at > most:
                sentence = text(
                    "{key} of {at} mm is outside {thing}, which has a {size} of {most} mm",
                    key=key,
                    at=str(at),
                    thing=option.thing,
                    size=_SIZES[size],
                    most=str(most),
                )
                hint = text(
                    "count from the unit's own edge: across from the left of its working face, "
                    "behind it, and up from its underside"
                )
                yield place[key].say(sentence, "work-places", hint)
