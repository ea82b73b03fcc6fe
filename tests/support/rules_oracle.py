"""Rules by plain evaluation: only true and false, from a catalogue as plain data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeAlias

from tests.support.building import (
    Raw,
)

Counts: TypeAlias = Mapping[tuple[str, str], int]


def true(condition: Raw, counts: Counts) -> bool:
    """Whether the condition holds; what is not picked counts nothing."""
    return all(_true(key, asked, counts) for key, asked in condition.items())


def _true(key: str, asked: Any, counts: Counts) -> bool:
    if key == "all":
        return all(true(part, counts) for part in asked)
    if key == "any":
        return any(true(part, counts) for part in asked)
    if key == "none":
        return not any(true(part, counts) for part in asked)
    held = {option: n for (name, option), n in counts.items() if name == key}
    if isinstance(asked, str):
        return asked in held
    if isinstance(asked, list):
        return any(option in held for option in asked)
    total = held.get(asked["option"], 0) if "option" in asked else sum(held.values())
    return bool(asked.get("at-least", 0) <= total <= asked.get("at-most", math.inf))


def broken(written: Raw, counts: Counts) -> bool:
    """Whether the rule is broken."""
    if not true(written.get("when", {}), counts):
        return False
    if "needs" in written:
        return not true(written["needs"], counts)
    return true(written["rules-out"], counts)


def number(value: Any) -> Fraction:
    return Fraction(Decimal(value))
