"""Units that have to be reached, but state no side that they work from.

Works on the raw tree like :mod:`configurator.catalogue.references`, which asks it; whatever has
the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from configurator.catalogue.model import ADD_ON
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.errors import Problem

__all__ = ["reach_problems"]

_POWER = {
    "load": "a switch",
    "battery": "terminals and a fuse",
    "inverter": "a switch and sockets",
    "vehicle-charger": "a charger's display",
    "mains-charger": "a charger's display",
    "circuit": "a fuse",
}
"""What there is to reach on a unit with this part in the 12 V system."""


def reach_problems(tree: Tree) -> Iterator[Problem]:
    """Units that are operated or serviced, or that others' work is done on, and face no side.

    ``works-from: []`` says that nothing has to be reached, and is left alone.
    """
    options = list(_options(tree.data))
    mounted: dict[str, Path] = {}
    for path, _, option in options:
        for name in _mounted_on(option):
            mounted.setdefault(name, path)
    for path, choice, option in options:
        unit = option.get("unit")
        if not isinstance(unit, dict) or "works-from" in unit:
            continue
        what = list(_to_reach(unit, option))
        for name in (choice, f"{choice}={option.get('id')}"):
            if name in mounted:
                what.append(f"work of {thing(tree, mounted[name])} on it")
        if what:
            told = " and ".join([", ".join(what[:-1]), what[-1]] if len(what) > 1 else what)
            yield Problem(
                tree.at((*path, "unit")),
                f"the unit of {thing(tree, path)} has {told}, but states no side that it works "
                "from, so it may be placed out of reach",
                "works-from",
                'add "works-from" with the sides that its face may be at; "works-from: []" says '
                "that nothing has to be reached",
                level="caution",
            )


def _to_reach(unit: Mapping[str, Any], option: Mapping[str, Any]) -> Iterator[str]:
    """What somebody operates or services on the unit."""
    if "swing" in unit:
        yield "a door"
    if "travel" in unit:
        yield "a slide"
    power = option.get("power")
    parts = power if isinstance(power, dict) else {}
    yield from dict.fromkeys(what for key, what in _POWER.items() if key in parts)


def _mounted_on(option: Mapping[str, Any]) -> Iterator[str]:
    for work in _list(option.get("work")):
        name = work.get("on") if isinstance(work, dict) else None
        if isinstance(name, str):
            yield shown(name)


def _options(data: Any) -> Iterator[tuple[Path, str, Mapping[str, Any]]]:
    """Every option and add-on, with its path and the id of its choice."""
    whole = data if isinstance(data, dict) else {}
    for rank, group in enumerate(_list(whole.get("choices"))):
        if isinstance(group, dict):
            for index, record in enumerate(_list(group.get("options"))):
                if isinstance(record, dict):
                    yield ("choices", rank, "options", index), str(group.get("id")), record
    for index, record in enumerate(_list(whole.get("add-ons"))):
        if isinstance(record, dict):
            yield ("add-ons", index), ADD_ON, record


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
