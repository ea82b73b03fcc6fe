"""What a schema cannot see in the work that options ask for: sizes and places that contradict.

Works on the raw tree like :mod:`configurator.catalogue.references`, which asks it; whatever has
the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import thing
from configurator.errors import Problem

__all__ = ["work_problems"]

_LONG = {"across": "width", "behind": "depth", "up": "height"}
"""The size of the body that each coordinate of a place stays within."""


def work_problems(tree: Tree, path: Path, option: Mapping[str, Any]) -> Iterator[Problem]:
    """What contradicts itself in the work of the option at the path."""
    listed = option.get("work")
    for index, work in enumerate(listed if isinstance(listed, list) else ()):
        if isinstance(work, dict):
            here = (*path, "work", index)
            yield from _hole(tree, here, work)
            yield from _count(tree, here, work)
            yield from _places(tree, here, work, option)


def _hole(tree: Tree, path: Path, work: Mapping[str, Any]) -> Iterator[Problem]:
    hole = work.get("hole")
    if not isinstance(hole, dict) or not hole:
        return
    given = [key for key in ("diameter", "width", "height") if key in hole]
    if given not in (["diameter"], ["width", "height"]):
        has = " and ".join(given) if len(given) < 3 else "all of diameter, width and height"
        only = "only " if len(given) == 1 else ""
        yield Problem(
            tree.at((*path, "hole")),
            f"a hole of {thing(tree, path)} has {only}{has}",
            "hole",
            "give its diameter, or its width and its height",
        )


def _count(tree: Tree, path: Path, work: Mapping[str, Any]) -> Iterator[Problem]:
    count, places = work.get("count"), work.get("places")
    there = len(places) if isinstance(places, list) else 0
    if "corners" in work:
        there = 4
        if "places" in work:
            yield Problem(
                tree.at((*path, "corners")),
                f"work of {thing(tree, path)} has both places and corners",
                "work-places",
                "give one of them",
            )
    if isinstance(count, int) and there and count != there:
        yield Problem(
            tree.at((*path, "count")),
            f"work of {thing(tree, path)} is done {count} times in {there} places",
            "work-count",
            "leave count out: it is as many as there are places",
        )


def _places(
    tree: Tree, path: Path, work: Mapping[str, Any], option: Mapping[str, Any]
) -> Iterator[Problem]:
    unit = option.get("unit")
    given = next((key for key in ("places", "corners") if key in work), "")
    if not given:
        return
    if "unit" not in option or (isinstance(unit, dict) and "works-from" not in unit):
        yield Problem(
            tree.at((*path, given)),
            f"work of {thing(tree, path)} has {given} on a unit, but no unit that works from a "
            "side",
            "work-places",
            "say in words, under where, in which place it is done",
        )
    body = unit.get("body") if isinstance(unit, dict) else None
    places = work.get("places")
    found = [((*path, "corners"), work.get("corners"))]
    if isinstance(places, list):
        found += [((*path, "places", index), place) for index, place in enumerate(places)]
    for here, place in found:
        for key, side in _LONG.items():
            at = place.get(key) if isinstance(place, dict) else None
            most = body.get(side) if isinstance(body, dict) else None
            if isinstance(at, int) and isinstance(most, int) and at > most:
                yield Problem(
                    tree.at((*here, key)),
                    f"{key} of {at} mm is outside {thing(tree, path)}, which has a {side} of "
                    f"{most} mm",
                    "work-places",
                    "count from the unit's own edge: across from the left of its working face, "
                    "behind it, and up from its underside",
                )
