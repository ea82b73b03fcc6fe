"""What a schema cannot see in the figures for mass and power: places, upgrades, potentials.

Works on the raw tree like :mod:`configurator.catalogue.references`, which asks it; whatever has
the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.errors import Problem, near_miss

__all__ = ["figure_problems"]

Records: TypeAlias = Iterator[tuple[Path, Mapping[str, Any]]]


def figure_problems(tree: Tree) -> Iterator[Problem]:
    """Figures for mass and power that contradict each other, and places that nobody knows."""
    data = _mapping(tree.data)
    yield from _power(tree, _mapping(data.get("power")))
    kerbs = [k for _, v in _records(("vehicles",), data.get("vehicles")) if (k := _kerb(v))]
    for path, option in _options(data):
        yield from _upgrade(tree, path, option, kerbs)
        for inner, part in _records((*path, "mass"), option.get("mass")):
            yield from _section(tree, inner, part)


def _power(tree: Tree, power: Mapping[str, Any]) -> Iterator[Problem]:
    places: dict[str, Path] = {}
    unread = False
    for path, place in _records(("power", "places"), power.get("places")):
        unread = unread or tree.at((*path, "id")) in tree.refused or "id" not in place
        identity = place.get("id")
        if isinstance(identity, str) and identity in places:
            line = tree.at((*places[identity], "id")).line
            yield Problem(
                tree.at((*path, "id")),
                f'there is a second place "{shown(identity)}", first in line {line}',
                "repeated-id",
                "give one of them another id",
            )
        elif isinstance(identity, str):
            places[identity] = path
    wanted = power.get("place")
    if isinstance(wanted, str) and wanted not in places and not unread:
        hint = near_miss(wanted, places)
        known = f"known: {', '.join(places)}" if places else "there is no place yet: add one"
        yield Problem(
            tree.at(("power", "place")),
            f'the power settings name the unknown place "{shown(wanted)}"',
            "unknown-place",
            hint or known,
        )
    volts, low = _number(power.get("volts", 12)), _number(power.get("low-volts"))
    if volts is not None and low is not None and low > volts:
        yield Problem(
            tree.at(("power", "low-volts")),
            f"low-volts of {low} V is above the nominal {volts} V",
            "low-volts",
            "give the lowest potential at which the inverter still works",
        )


def _upgrade(
    tree: Tree, path: Path, option: Mapping[str, Any], kerbs: list[dict[str, Decimal | int]]
) -> Iterator[Problem]:
    """Ratings of an upgrade that not even the lightest vehicle keeps within, empty."""
    for key, rating in _mapping(option.get("ratings")).items():
        number = _number(rating)
        empty = [kerb[key] for kerb in kerbs if key in kerb]
        if number is not None and empty and number < min(empty):
            yield Problem(
                tree.at((*path, "ratings", key)),
                f"{key} of {thing(tree, path)} is {number} kg, less than the kerb mass of every "
                f"vehicle, {min(empty)} kg at the least",
                "rating-below-kerb",
                "check it against the upgrade's papers; it replaces the vehicle's own rating",
            )


def _section(tree: Tree, path: Path, part: Mapping[str, Any]) -> Iterator[Problem]:
    """Walls so thick that they leave no hollow."""
    sizes = [_number(part.get(key)) for key in ("width", "height", "thickness")]
    if part.get("kind") != "section" or any(size is None for size in sizes):
        return
    width, height, thickness = (Decimal(size) for size in sizes if size is not None)
    if 2 * thickness >= min(width, height):
        yield Problem(
            tree.at((*path, "thickness")),
            f"a wall of {thickness} mm leaves no hollow in the {width} x {height} mm section of "
            f"{thing(tree, path)}",
            "section",
            "check the three sizes, in mm",
        )


def _kerb(vehicle: Mapping[str, Any]) -> dict[str, Decimal | int]:
    """Kerb mass by the rating that it is under."""
    kerb = _mapping(_mapping(vehicle.get("vehicle")).get("kerb"))
    front, rear = _number(kerb.get("front")), _number(kerb.get("rear"))
    if front is None or rear is None:
        return {}
    whole = front + rear
    return {"gvm": whole, "gcm": whole, "front-axle": front, "rear-axle": rear}


def _options(data: Mapping[str, Any]) -> Records:
    for path, choice in _records(("choices",), data.get("choices")):
        yield from _records((*path, "options"), choice.get("options"))
    yield from _records(("add-ons",), data.get("add-ons"))


def _records(path: Path, listed: Any) -> Records:
    for index, record in enumerate(listed if isinstance(listed, list) else ()):
        if isinstance(record, Mapping):
            yield (*path, index), record


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _number(value: Any) -> Decimal | int | None:
    return value if isinstance(value, int | Decimal) and not isinstance(value, bool) else None
