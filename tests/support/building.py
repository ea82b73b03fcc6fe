"""Tiny catalogues for tests: plain dicts with only what matters, read through the public door.

A test writes the choices it is about; the rest of a catalogue is filled in here. What comes out
has been read by ``parse_catalogue`` without a single problem. The file that is read is JSON, with
numbers written as typed: a Decimal keeps its digits, and no float is ever allowed in.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, TypeAlias

from configurator import Adjustment, Catalogue, Pick, Problem, Selection
from configurator.catalogue.reading import parse_catalogue
from configurator.errors import NOWHERE

Raw: TypeAlias = dict[str, Any]
Picks: TypeAlias = Mapping[str, str | Iterable[str] | Mapping[str, int] | Mapping[str, Decimal]]

VEHICLE_FIGURES: Raw = {
    "kerb": {"front": 1200, "rear": 1000},
    "wheelbase": 3200,
    "gvm": 3300,
    "front-axle": 1700,
    "rear-axle": 2300,
    "cab-back": 1900,
    "tray-front": 2000,
    "seats": [{"x": 1400, "count": 2}],
}
"""An invented vehicle: 1100 kg of payload."""


def vehicle(identity: str = "ute", **more: Any) -> Raw:
    """A vehicle with invented figures."""
    return {"id": identity, "title": identity.title(), "vehicle": VEHICLE_FIGURES, **_keys(more)}


def option(identity: str, price: Any = 0, **more: Any) -> Raw:
    """An option with a price and any facets; underscores in keys become hyphens."""
    return {"id": identity, "title": identity.title(), "price": price, **_keys(more)}


def choice(identity: str, options: Iterable[Raw], pick: str = "one", **more: Any) -> Raw:
    """A choice in the only group, one of one unless said otherwise."""
    return {
        "id": identity,
        "title": identity.title(),
        "group": "build",
        "pick": pick,
        "options": list(options),
        **_keys(more),
    }


def several(identity: str, options: Iterable[Raw], **more: Any) -> Raw:
    """A choice of several."""
    return choice(identity, options, "several", **more)


def rule(identity: str, **more: Any) -> Raw:
    """A rule with ``when``, ``needs`` or ``rules_out``."""
    return {"id": identity, "because": "The shop says so.", **_keys(more)}


def limit(identity: str, unit: str = "kg", **more: Any) -> Raw:
    """A limit."""
    return {
        "id": identity,
        "title": identity.title(),
        "unit": unit,
        "because": "There is no more.",
        **_keys(more),
    }


def tax(percent: Any = 10, prices: str = "include", **more: Any) -> Raw:
    """How tax is worked out: one rate, or several by name."""
    rates = percent if isinstance(percent, Mapping) else {"usual": percent}
    return {"name": "GST", "prices": prices, "rates": dict(rates), **_keys(more)}


def raw_catalogue(choices: Iterable[Raw] = (), **more: Any) -> Raw:
    """A whole catalogue as plain data: the choices given, and the least of everything else."""
    return {
        "format": 1,
        "id": "test",
        "title": "A test",
        "currency": "AUD",
        "valid": {"from": "2026-01-01", "until": "2026-12-31"},
        "shop": {"name": "Test Shop", "address": ["1 Nowhere Lane"], "kerb-side": "left"},
        "tax": tax(),
        "quote": {"valid-days": 30, "payments": [{"title": "In full", "percent": 100}]},
        "groups": [{"id": "build", "title": "The build"}],
        "vehicles": [vehicle()],
        "choices": list(choices) or [several("nothing", [option("nothing")])],
        **_keys(more),
    }


def catalogue(choices: Iterable[Raw] = (), **more: Any) -> Catalogue:
    """The catalogue of :func:`raw_catalogue`, read; nothing may be wrong with it."""
    return read(raw_catalogue(choices, **more))


def read(data: Raw | str, cautions: bool = False) -> Catalogue:
    """A catalogue from plain data or from YAML text; nothing may be wrong with it.

    With ``cautions``, something may be odd about it.
    """
    found, problems = parse_catalogue(data if isinstance(data, str) else written(data), "test")
    problems = tuple(p for p in problems if not (cautions and p.level == "caution"))
    assert not problems, "\n".join(map(str, problems))
    assert found is not None
    return found


def problems_of(data: Raw | str) -> tuple[Problem, ...]:
    """What is wrong with a catalogue."""
    return parse_catalogue(data if isinstance(data, str) else written(data), "test")[1]


def selection(
    picks: Picks, adjustments: Iterable[Adjustment] = (), vehicle: str | None = "ute"
) -> Selection:
    """A selection from picks by choice: an id, several ids, or quantities by id."""
    found = [] if vehicle is None or "vehicle" in picks else [Pick("vehicle", vehicle)]
    for choice_id, answer in picks.items():
        if isinstance(answer, str):
            found.append(Pick(choice_id, answer))
        elif isinstance(answer, Mapping):
            found += [Pick.counting(choice_id, o, n, NOWHERE) for o, n in answer.items()]
        else:
            found += [Pick(choice_id, name) for name in answer]
    return Selection("test", tuple(found), adjustments=tuple(adjustments))


def percent(number: str | int | Decimal, group: str = "", line: str = "") -> Adjustment:
    """An adjustment by so many percent, negative for a discount."""
    return Adjustment("Change", "A test.", Decimal(number), None, group, line)


def amount(number: str | int | Decimal, group: str = "", line: str = "") -> Adjustment:
    """An adjustment by an amount, negative for a discount."""
    return Adjustment("Change", "A test.", None, Decimal(number), group, line)


def written(value: Any) -> str:
    """Plain data as JSON text; numbers as their own digits."""
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case Decimal():
            return f"{value:f}"
        case str():
            return json.dumps(value)
        case Mapping():
            return "{" + ", ".join(f"{json.dumps(k)}: {written(v)}" for k, v in value.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(map(written, value)) + "]"
        case _:
            raise TypeError(f"{value!r} may not stand in a catalogue")


def _keys(more: Mapping[str, Any]) -> Raw:
    return {key.replace("_", "-"): value for key, value in more.items()}
