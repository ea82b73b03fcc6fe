"""What a schema cannot see in figures: prices and their days, masses, power, colours."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any, TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.names import (
    Raw,
    circles,
    day,
    entries,
    mapping,
    number,
    options,
    records,
    say,
)
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import shown, thing
from configurator.colours import LEAST_CONTRAST, PANEL, WHITE, contrast
from configurator.errors import Problem, near_miss

Parts: TypeAlias = list[tuple[Path, Raw]]
Days: TypeAlias = tuple[date, date]

_ADD_UP_APART = frozenset(("labour", "credit"))
"""Kinds of which several may count on one day without a doubt about what was meant."""


def price_problems(tree: Tree) -> Iterator[Problem]:
    """Prices that contradict themselves, each other, or the days on which they hold."""
    valid = _days(mapping(tree.data.get("valid")))
    taken_off: dict[tuple[str, str], Path] = {}
    yield from _labour(tree, mapping(tree.data.get("labour")))
    for choice, path, option in options(tree.data):
        name = str(Pick(choice, str(option.get("id"))))
        for facet in ("price", "cost"):
            parts = list(records(option, facet, path=path))
            for inner, part in parts:
                yield from _part(tree, inner, part, valid, name)
                if isinstance(part.get("replaces"), str) and part["replaces"] != name:
                    taken_off[name, part["replaces"]] = (*inner, "replaces")
            if valid is not None and parts:
                yield from _covered(tree, (*path, facet), parts, valid, facet)
    for names, path in circles(taken_off):
        yield say(
            tree,
            path,
            f"these take each other's price off in a circle: {names}",
            "cyclic-credit",
            "leave one of the credits out",
        )


def _labour(tree: Tree, rates: Raw) -> Iterator[Problem]:
    for trade, rate in rates.items():
        if isinstance(rate, int | Decimal) and rate < 0:
            yield say(
                tree,
                ("labour", trade),
                f"an hour of {trade} costs {rate}; it must be at least 0",
                "out-of-range",
                "take money off with a fixed part of the price below zero, or with an adjustment",
            )


def _days(valid: Raw) -> Days | None:
    first, until = day(valid.get("from")), day(valid.get("until"))
    return (first, until) if first and until and first <= until else None


def _part(tree: Tree, path: Path, part: Raw, valid: Days | None, option: str) -> Iterator[Problem]:
    owner = thing(tree, path)
    first, until = day(part.get("from")), day(part.get("until"))
    if first and until and first > until:
        yield say(
            tree,
            (*path, "until"),
            f"a price of {owner} counts until {until}, before it counts from {first}",
            "never-valid",
            "swap the two days",
        )
    elif valid and first and first > valid[1]:
        yield say(
            tree,
            path,
            f"a price of {owner} from {first} on does not count yet: the catalogue holds until "
            f"{valid[1]}",
            "never-valid",
            "let the catalogue hold longer once that price is to count",
            level="caution",
        )
    elif valid and until and until < valid[0]:
        yield say(
            tree,
            path,
            f"a price of {owner} never counts: the catalogue holds from {valid[0]} to {valid[1]}",
            "never-valid",
            "change its days, or leave it out",
            level="caution",
        )
    if part.get("replaces") == option:
        yield say(
            tree,
            (*path, "replaces"),
            f"{owner} takes its own price off",
            "cyclic-credit",
            "name the option that it replaces",
        )
    percent = part.get("percent")
    whole = part.get("kind") == "credit" and isinstance(percent, int | Decimal)
    if whole and Decimal(str(percent)) > 100:
        yield say(
            tree,
            (*path, "percent"),
            f"{owner} takes {percent} percent of another price off; 100 is all of it",
            "out-of-range",
            "write 100 or less, or leave it out for all of it",
        )
    yield from _steps(tree, (*path, "steps"), part.get("steps"), owner)


def _steps(tree: Tree, path: Path, steps: Any, owner: str) -> Iterator[Problem]:
    found = [((*path, n), mapping(step)) for n, step in enumerate(entries(steps))]
    starts = [(inner, int(s["from"])) for inner, s in found if type(s.get("from")) is int]
    if not starts or len(starts) < len(found):
        return
    if starts[0][1] != 1:
        yield say(
            tree,
            (*starts[0][0], "from"),
            f"the first step of {owner} is from {starts[0][1]}, so fewer have no price",
            "breaks",
            "let the first step be from 1",
        )
    for (_, before), (inner, start) in pairwise(starts):
        if start <= before:
            yield say(
                tree,
                (*inner, "from"),
                f"a step of {owner} from {start} follows one from {before}",
                "breaks",
                "put the steps in rising order, each once",
            )


def _covered(tree: Tree, path: Path, parts: Parts, valid: Days, facet: str) -> Iterator[Problem]:
    """Days on which nothing counts, and days on which a price and its successor both do.

    A part that counts on no day of the catalogue, such as one entered ahead for the next, neither
    covers a day nor leaves one uncovered.
    """
    spans: list[tuple[Days, Path, str]] = []
    for inner, part in parts:
        first, until = day(part.get("from")), day(part.get("until"))
        days = (max(first or valid[0], valid[0]), min(until or valid[1], valid[1]))
        if days[0] <= days[1]:
            spans.append((days, inner, str(part.get("kind"))))
    owner = thing(tree, path)
    for start, end in _gaps([days for days, _, _ in spans], valid):
        yield say(
            tree,
            path,
            f"{owner} has no {facet} from {start} to {end}",
            "uncovered-days",
            "let one of its parts count on those days, or write one that does",
        )
    for kind in sorted({kind for _, _, kind in spans} - _ADD_UP_APART):
        dated = sorted((days, inner) for days, inner, k in spans if k == kind and days != valid)
        for (days, _), (later, inner) in pairwise(dated):
            if later[0] <= days[1]:
                yield say(
                    tree,
                    inner,
                    f"two {kind} parts of the {facet} of {owner} both count from {later[0]} to "
                    f"{min(days[1], later[1])}",
                    "overlapping-days",
                    "end the first on the day before the second begins",
                    level="caution",
                )


def _gaps(spans: Iterable[Days], valid: Days) -> Iterator[Days]:
    """Days of ``valid`` in no span; counted by number, for there is no day before the first one."""
    covered, last = valid[0].toordinal() - 1, valid[1].toordinal()
    for first, until in sorted(spans):
        if first.toordinal() > covered + 1:
            yield date.fromordinal(covered + 1), date.fromordinal(min(first.toordinal() - 1, last))
        covered = max(covered, until.toordinal())
        if covered >= last:
            return
    yield date.fromordinal(covered + 1), valid[1]


def figure_problems(tree: Tree) -> Iterator[Problem]:
    """Figures for mass and power that contradict each other, and places that nobody knows."""
    data = mapping(tree.data)
    yield from _look(tree)
    yield from _power(tree, mapping(data.get("power")))
    kerbs = [k for _, v in records(data, "vehicles") if (k := _kerb(v))]
    for _, path, option in options(data):
        yield from _upgrade(tree, path, option, kerbs)
        for inner, part in records(option, "mass", path=path):
            yield from _section(tree, inner, part)


def _power(tree: Tree, power: Raw) -> Iterator[Problem]:
    places: dict[str, Path] = {}
    unread = False
    for path, place in records(power, "places", path=("power",)):
        unread = unread or tree.at((*path, "id")) in tree.refused or "id" not in place
        identity = place.get("id")
        if isinstance(identity, str) and identity in places:
            line = tree.at((*places[identity], "id")).line
            yield say(
                tree,
                (*path, "id"),
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
        yield say(
            tree,
            ("power", "place"),
            f'the power settings name the unknown place "{shown(wanted)}"',
            "unknown-place",
            hint or known,
        )
    volts, low = number(power.get("volts", 12)), number(power.get("low-volts"))
    if volts is not None and low is not None and low > volts:
        yield say(
            tree,
            ("power", "low-volts"),
            f"low-volts of {low} V is above the nominal {volts} V",
            "low-volts",
            "give the lowest potential at which the inverter still works",
        )


def _upgrade(
    tree: Tree, path: Path, option: Raw, kerbs: list[dict[str, Decimal | int]]
) -> Iterator[Problem]:
    """Ratings of an upgrade that not even the lightest vehicle keeps within, empty."""
    for key, rating in mapping(option.get("ratings")).items():
        rated = number(rating)
        empty = [kerb[key] for kerb in kerbs if key in kerb]
        if rated is not None and empty and rated < min(empty):
            yield say(
                tree,
                (*path, "ratings", key),
                f"{key} of {thing(tree, path)} is {rated} kg, less than the kerb mass of every "
                f"vehicle, {min(empty)} kg at the least",
                "rating-below-kerb",
                "check it against the upgrade's papers; it replaces the vehicle's own rating",
            )


def _section(tree: Tree, path: Path, part: Raw) -> Iterator[Problem]:
    """Walls so thick that they leave no hollow."""
    sizes = [number(part.get(key)) for key in ("width", "height", "thickness")]
    if part.get("kind") != "section" or any(size is None for size in sizes):
        return
    width, height, thickness = (Decimal(size) for size in sizes if size is not None)
    if 2 * thickness >= min(width, height):
        yield say(
            tree,
            (*path, "thickness"),
            f"a wall of {thickness} mm leaves no hollow in the {width} x {height} mm section of "
            f"{thing(tree, path)}",
            "section",
            "check the three sizes, in mm",
        )


def _kerb(vehicle: Raw) -> dict[str, Decimal | int]:
    """Kerb mass by the rating that it is under."""
    kerb = mapping(mapping(vehicle.get("vehicle")).get("kerb"))
    front, rear = number(kerb.get("front")), number(kerb.get("rear"))
    if front is None or rear is None:
        return {}
    whole = front + rear
    return {"gvm": whole, "gcm": whole, "front-axle": front, "rear-axle": rear}


def _look(tree: Tree) -> Iterator[Problem]:
    """An accent colour in which headings are hard to read."""
    shop = tree.data.get("shop") if isinstance(tree.data, dict) else None
    accent = shop.get("accent") if isinstance(shop, dict) else None
    if not isinstance(accent, str) or not re.fullmatch("#[0-9a-fA-F]{6}", accent):
        return
    on_white, on_panel = contrast(accent, WHITE), contrast(accent, PANEL)
    if on_panel < LEAST_CONTRAST:
        yield say(
            tree,
            ("shop", "accent"),
            f"headings in {accent} are hard to read: its contrast is {on_white:.1f} to white and "
            f"{on_panel:.1f} to a panel, and WCAG 2.2 AA asks for {LEAST_CONTRAST}",
            "accent-contrast",
            "take a darker colour",
            level="caution",
        )
