"""Quotes as PDF, shipped and made up, and their pages as a reader measures them."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from configurator import Quote
from configurator.report.quote import make_quote
from configurator.selection.resolved import Resolved
from tests.support.building import (
    catalogue,
    choice,
    option,
    selection,
)
from tests.support.made_papers import DAY, quandong, shipped_selection


def shipped_quote(name: str) -> Quote:
    """A shipped selection as a quote."""
    return make_quote(Resolved(quandong(), shipped_selection(name)), "Q-2041", DAY)


def _long_title(number: int, length: int, spaces: bool) -> str:
    words = f"Nr{number:03} " + "welded aluminium locker with gas struts and two keyed latches " * 3
    return (words if spaces else words.replace(" ", ""))[:length].strip()


@cache
def generated(lines: int, length: int, add_ons: int, spaces: bool = True) -> Quote:
    """A quote with so many lines in groups of seven, and so many suggested add-ons."""
    groups = [f"g{index}" for index in range((lines + 6) // 7)]
    choices = []
    for number in range(lines):
        title = _long_title(number, length, spaces)
        text = {"text": f"What Nr{number:03} is for."} if number % 3 == 0 else {}
        one = option(f"o{number}", Decimal(f"{number * 1234 + 1}.05"), title=title, mass=1, **text)
        choices.append({**choice(f"c{number}", [one]), "group": groups[number // 7]})
    extras = [
        option(
            f"x{number}",
            Decimal("49.95"),
            title=f"Extra {number:03} " + _long_title(number, length - 12, spaces),
            suggest={"c0": "o0"},
            because=f"Because of reason {number:03}, which is told in a sentence of its own.",
        )
        for number in range(add_ons)
    ]
    c = catalogue(
        choices,
        groups=[{"id": g, "title": f"Group {g} of the build"} for g in groups],
        add_ons=extras,
    )
    picks = {f"c{number}": f"o{number}" for number in range(lines)}
    return make_quote(Resolved(c, selection(picks)), "Q-1", DAY)
