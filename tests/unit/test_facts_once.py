"""What follows from a catalogue and a selection is worked out at most once for each of them.

The calls of one check and of one quote are counted as Python makes them, of every function whose
first argument is a resolved selection; two resolved selections that say the same count as one, so
that no hint tries the same change twice either.
"""

from __future__ import annotations

import datetime as dt
import sys
from collections import Counter
from collections.abc import Callable, Hashable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

import configurator
from configurator import Build, QuoteRefused, Shop
from configurator.catalogue.reading import shipped
from configurator.selection.resolved import Resolved

PACKAGE = str(Path(configurator.__file__).parent)
DAY = dt.date(2026, 11, 27)

QUESTIONS = {
    "as_told": "of one line",
    "breaks": "of one rule",
    "holds": "of one condition",
    "in_words": "of one condition",
    "known": "how once asks",
    "option_price": "of one line, from its facts",
    "part_total": "of one part, from its facts",
    "price": "checks its arguments, then asks for the fact",
    "rule_words": "of one rule",
    "table_cell": "of one part",
}
"""What is no fact: cheap questions that may be asked again, and what each is about."""

FACTS = {
    "broken_rules",
    "circuits",
    "clear_openings",
    "fit_unit",
    "lay_out",
    "limit_states",
    "mass_of",
    "mass_picture",
    "measure",
    "places_of",
    "power_picture",
    "priced",
    "rating_stops",
    "rooms_of",
    "space_sizes",
    "stopping",
    "undecided",
}
"""Facts that a check of the wish asks for, so that the count is known to see them."""


class Calls:
    """Calls of functions of a resolved selection, by function, selection, day and arguments."""

    def __init__(self) -> None:
        self.counted: Counter[tuple[Hashable, ...]] = Counter()
        self._kept: list[object] = []
        self._running: set[int] = set()

    def __call__(self, frame: FrameType, event: str, _: object) -> None:
        """Count a call; for :func:`sys.setprofile`."""
        code = frame.f_code
        if event != "call" or not code.co_filename.startswith(PACKAGE) or not code.co_argcount:
            return
        first, *others = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        build = frame.f_locals[first]
        public = not code.co_name.startswith(("_", "<")) and code.co_name not in QUESTIONS
        if first != "build" or not isinstance(build, Resolved) or not public:
            return
        if id(frame) in self._running:  # a generator goes on
            return
        self._kept.append(frame)
        self._running.add(id(frame))
        arguments = tuple(map(self._key, (frame.f_locals[name] for name in others)))
        key = code.co_filename, code.co_name, build.selection, build.catalogue.price_day
        self.counted[*key, arguments] += 1

    def _key(self, value: Any) -> Hashable:
        try:
            hash(value)
        except TypeError:
            self._kept.append(value)
            return id(value)
        return value  # type: ignore[no-any-return]


def counted(act: Callable[[], object]) -> Counter[tuple[Hashable, ...]]:
    """The calls that an act makes."""
    calls = Calls()
    sys.setprofile(calls)
    try:
        act()
    finally:
        sys.setprofile(None)
    return calls.counted


@pytest.fixture(scope="module")
def shop() -> Shop:
    return configurator.open_shop()


def build_of(shop: Shop, name: str) -> Build:
    return shop.build(shipped("catalogues") / "selections" / f"{name}.yaml")


def more_than_once(calls: Counter[tuple[Hashable, ...]]) -> list[tuple[str, int]]:
    """Names and numbers of calls of what was called again with the same arguments."""
    return sorted((f"{file}: {name}", n) for (file, name, *_), n in calls.items() if n > 1)


@pytest.mark.parametrize("name", ["touring", "contractor", "wish"])
def test_a_check_works_every_fact_out_once(name: str, shop: Shop) -> None:
    assert not more_than_once(counted(build_of(shop, name).check))
    build = build_of(shop, name)
    calls = counted(lambda: build.check(hints=True))
    assert not more_than_once(calls)
    if name == "wish":
        assert {str(key[1]) for key in calls} >= FACTS


@pytest.mark.parametrize("name", ["touring", "contractor", "wish"])
def test_a_quote_works_every_fact_out_once(name: str, shop: Shop) -> None:
    build = build_of(shop, name)

    def quote() -> None:
        try:
            build.quote("Q-1", DAY)
        except QuoteRefused:
            assert name == "wish"

    assert not more_than_once(counted(quote))


def test_a_comparison_takes_what_its_builds_know(shop: Shop) -> None:
    wish = build_of(shop, "wish")
    higher = wish.pick("canopy-height", "1000mm")
    for build in (wish, higher):
        build.check()
        build.price()
    again = {str(key[1]) for key in counted(lambda: wish.compare(higher))}
    assert not again & FACTS


@pytest.mark.parametrize("name", ["touring", "wish"])
def test_a_budget_works_every_fact_out_once(name: str, shop: Shop) -> None:
    build = build_of(shop, name)
    assert not more_than_once(counted(lambda: build.budget(savings=False)))


def test_sheets_work_every_fact_out_once(shop: Shop) -> None:
    build = build_of(shop, "touring")
    assert not more_than_once(counted(lambda: build.sheets("J-1", DAY)))


def test_what_is_known_of_a_resolved_selection_is_not_worked_out_again(shop: Shop) -> None:
    build = build_of(shop, "touring")
    build.check()
    again = {str(key[1]) for key in counted(build.check)}
    assert not again & FACTS
