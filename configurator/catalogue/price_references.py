"""What a schema cannot see in prices: days that are not covered, breaks, taken_off in a circle.

Works on the raw tree like :mod:`configurator.catalogue.references`, which asks it; whatever has
the wrong shape is passed over here, because the schema has said so already.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any, TypeAlias

from configurator.catalogue.model import ADD_ON, VEHICLE
from configurator.catalogue.nodes import Path, Tree
from configurator.catalogue.schema_errors import thing
from configurator.errors import Location, Problem

__all__ = ["price_problems"]

Parts: TypeAlias = list[tuple[Path, Mapping[str, Any]]]
Days: TypeAlias = tuple[date, date]

_ADD_UP_APART = frozenset(("labour", "credit"))
"""Kinds of which several may count on one day without a doubt about what was meant."""


def price_problems(tree: Tree) -> Iterator[Problem]:
    """Prices that contradict themselves, each other, or the days on which they hold."""
    data = tree.data
    valid = _days(data.get("valid") if isinstance(data, dict) else None)
    taken_off: dict[str, dict[str, Path]] = {}
    yield from _labour(tree, data.get("labour") if isinstance(data, dict) else None)
    for name, path, option in _options(data):
        for facet in ("price", "cost"):
            parts = list(_records((*path, facet), option.get(facet)))
            for inner, part in parts:
                yield from _part(tree, inner, part, valid, name)
                if isinstance(part.get("replaces"), str):
                    taken_off.setdefault(name, {})[part["replaces"]] = (*inner, "replaces")
            if valid is not None and parts:
                yield from _covered(tree, (*path, facet), parts, valid, facet)
    yield from _circles(tree, taken_off)


def _labour(tree: Tree, rates: Any) -> Iterator[Problem]:
    for trade, rate in rates.items() if isinstance(rates, dict) else ():
        if isinstance(rate, int | Decimal) and rate < 0:
            yield Problem(
                tree.at(("labour", trade)),
                f"an hour of {trade} costs {rate}; it must be at least 0",
                "out-of-range",
                "take money off with a fixed part of the price below zero, or with an adjustment",
            )


def _options(data: Any) -> Iterator[tuple[str, Path, Mapping[str, Any]]]:
    """Every option as ``choice=option``, with where it stands."""
    if not isinstance(data, dict):
        return
    lists: list[tuple[str, Path, Any]] = [(VEHICLE, ("vehicles",), data.get("vehicles"))]
    lists += [(ADD_ON, ("add-ons",), data.get("add-ons"))]
    for path, choice in _records(("choices",), data.get("choices")):
        lists.append((str(choice.get("id")), (*path, "options"), choice.get("options")))
    for name, path, options in lists:
        for inner, option in _records(path, options):
            yield f"{name}={option.get('id')}", inner, option


def _records(path: Path, value: Any) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    for index, record in enumerate(value if isinstance(value, list) else ()):
        if isinstance(record, dict):
            yield (*path, index), record


def _days(value: Any) -> Days | None:
    first = _day(value.get("from")) if isinstance(value, dict) else None
    until = _day(value.get("until")) if isinstance(value, dict) else None
    return (first, until) if first and until and first <= until else None


def _day(value: Any) -> date | None:
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None


def _part(
    tree: Tree, path: Path, part: Mapping[str, Any], valid: Days | None, option: str
) -> Iterator[Problem]:
    owner = thing(tree, path)
    first, until = _day(part.get("from")), _day(part.get("until"))
    if first and until and first > until:
        yield Problem(
            tree.at((*path, "until")),
            f"a price of {owner} counts until {until}, before it counts from {first}",
            "never-valid",
            "swap the two days",
        )
    elif valid and first and first > valid[1]:
        yield Problem(
            tree.at(path),
            f"a price of {owner} from {first} on does not count yet: the catalogue holds until "
            f"{valid[1]}",
            "never-valid",
            "let the catalogue hold longer once that price is to count",
            level="caution",
        )
    elif valid and until and until < valid[0]:
        yield Problem(
            tree.at(path),
            f"a price of {owner} never counts: the catalogue holds from {valid[0]} to {valid[1]}",
            "never-valid",
            "change its days, or leave it out",
            level="caution",
        )
    if part.get("replaces") == option:
        yield Problem(
            tree.at((*path, "replaces")),
            f"{owner} takes its own price off",
            "cyclic-credit",
            "name the option that it replaces",
        )
    percent = part.get("percent")
    whole = part.get("kind") == "credit" and isinstance(percent, int | Decimal)
    if whole and Decimal(str(percent)) > 100:
        yield Problem(
            tree.at((*path, "percent")),
            f"{owner} takes {percent} percent of another price off; 100 is all of it",
            "out-of-range",
            "write 100 or less, or leave it out for all of it",
        )
    yield from _steps(tree, (*path, "steps"), part.get("steps"), owner)


def _steps(tree: Tree, path: Path, steps: Any, owner: str) -> Iterator[Problem]:
    found = list(_records(path, steps))
    starts = [(inner, int(s["from"])) for inner, s in found if type(s.get("from")) is int]
    if not starts or len(starts) < len(found):
        return
    if starts[0][1] != 1:
        yield Problem(
            tree.at((*starts[0][0], "from")),
            f"the first step of {owner} is from {starts[0][1]}, so fewer have no price",
            "breaks",
            "let the first step be from 1",
        )
    for (_, before), (inner, start) in pairwise(starts):
        if start <= before:
            yield Problem(
                tree.at((*inner, "from")),
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
        first, until = _day(part.get("from")), _day(part.get("until"))
        days = (max(first or valid[0], valid[0]), min(until or valid[1], valid[1]))
        if days[0] <= days[1]:
            spans.append((days, inner, str(part.get("kind"))))
    owner = thing(tree, path)
    for start, end in _gaps([days for days, _, _ in spans], valid):
        yield Problem(
            tree.at(path),
            f"{owner} has no {facet} from {start} to {end}",
            "uncovered-days",
            "let one of its parts count on those days, or write one that does",
        )
    for kind in sorted({kind for _, _, kind in spans} - _ADD_UP_APART):
        dated = sorted((days, inner) for days, inner, k in spans if k == kind and days != valid)
        for (days, _), (later, inner) in pairwise(dated):
            if later[0] <= days[1]:
                yield Problem(
                    tree.at(inner),
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


def _circles(tree: Tree, taken_off: Mapping[str, Mapping[str, Path]]) -> Iterator[Problem]:
    """Options whose prices take each other off."""
    graph = {one: sorted(other for other in off if other != one) for one, off in taken_off.items()}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        names: list[str] = error.args[1][:0:-1]
        turn = names.index(min(names))
        names = [*names[turn:], *names[: turn + 1]]
        place = taken_off[names[0]].get(names[1]) or taken_off[names[1]][names[0]]
        at: Location = tree.at(place)
        yield Problem(
            at,
            f"these take each other's price off in a circle: {' -> '.join(names)}",
            "cyclic-credit",
            "leave one of the credits out",
        )
