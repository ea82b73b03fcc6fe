"""The page of a package of which not everything could be settled, asked as a browser asks it."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs
import pytest
from starlette.testclient import TestClient

from configurator import Build, SearchLimit
from configurator.engine.effort import nearly_full
from configurator.web.app import counter_app
from configurator.web.counter import Counter
from configurator.words import text
from tests.support.counter import Here
from tests.support.programs import opened

DAY = dt.date(2026, 8, 3)
OWN = {"sec-fetch-site": "same-origin"}
ADVICE = (
    "The canopy is nearly full. Leave out Low pull-out pantry, 540 high, or choose a larger canopy."
)


@pytest.fixture
def counter(tmp_path: Path) -> Iterator[TestClient]:
    shop = opened()
    made = Counter(shop, lambda: shop.register(str(tmp_path / "register.sqlite")), lambda: DAY)
    app = counter_app(Here(made), ["testserver"])
    with TestClient(app, headers=OWN, follow_redirects=True) as client:
        yield client


def full() -> Any:
    return nearly_full(opened().catalogue, "canopy")


def left_by(monkeypatch: pytest.MonkeyPatch, quick: set[str], patient: set[str] | None) -> None:
    """A search that leaves these options, or patiently the picks themselves where that is None."""
    asked = Build.one_by_one

    def one_by_one(self: Build, *choices: str, **how: Any) -> Iterator[Any]:
        if how["effort"] == "patient" and patient is None:
            raise SearchLimit(full())
        left = quick if how["effort"] == "quick" else patient or set()
        for states in asked(self, *choices, **how):
            yield tuple(
                attrs.evolve(one, state="undecided", reason=text("left: {cause}", cause=full()))
                if "all" in left or f"{one.choice}={one.option}" in left
                else one
                for one in states
            )

    monkeypatch.setattr(Build, "one_by_one", one_by_one)


def stated(page: str) -> str:
    found = re.search(r'name="state" value="([^"]+)"', page)
    assert found is not None
    return found.group(1)


def step(counter: TestClient, state: str, tap: str) -> str:
    """The page after a tap, without JavaScript."""
    answer = counter.post("/package", data={"state": state, "tap": tap})
    assert answer.status_code == 200
    return answer.text


def streamed(counter: TestClient, page: str, tap: str) -> list[str]:
    """The messages that a tap brings to a page that shows this."""
    seen = re.findall(r'name="seen" value="([^"]+)"', page)
    data = {"state": stated(page), "tap": tap, "seen": seen}
    answer = counter.post("/package", data=data, headers={"hx-request": "true"})
    return [one for one in answer.text.split("\n\n") if one.startswith("data:")]


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>|data: ", " ", page)).split())


def with_vehicle(counter: TestClient) -> str:
    page = step(counter, stated(counter.get("/").text), "pick:vehicle:mid-dual")
    page = step(counter, stated(page), "pick:pantry:pantry-540")
    return step(counter, stated(page), "look:inside")


def test_what_is_still_asked_about_is_counted_down_until_it_is_settled(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left = {"drawers=wide-150", "drawers=wide-220", "oven=oven-small"}
    left_by(monkeypatch, left, set())
    told = streamed(counter, page, "pick:lining:carpet")
    assert [found for one in told for found in re.findall(r"Still checking \d", one)] == [
        "Still checking 3",
        "Still checking 1",
    ]
    last = [one for one in told if 'id="p-total"' in one][-1]
    assert "checking" not in last
    assert 'id="p-c-oven"' in told[-1]
    assert "not settled yet" not in told[-1]


def test_what_stays_unsettled_says_why_and_what_to_do(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left = {"drawers=wide-150", "drawers=wide-220", "oven=oven-small"}
    left_by(monkeypatch, left, {"oven=oven-small"})
    told = streamed(counter, page, "pick:lining:carpet")
    last = words(told[-1])
    assert "1 option not settled" in last
    assert f"1 option could not be settled. {ADVICE}" in last
    assert "not settled yet" not in last
    whole = step(counter, stated(told[0]), "look:inside")
    assert words(whole).count("could not be settled") == 2
    assert ADVICE in words(whole)
    again = streamed(counter, whole, "look:inside")
    assert not any("checking" in one for one in again), "it is not asked about again"


def test_without_javascript_a_page_comes_soon_and_settles_the_rest_when_asked(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left_by(monkeypatch, {"drawers=wide-150"}, set())
    page = step(counter, stated(page), "pick:lining:carpet")
    assert "1 option is not settled yet. Keep checking" in words(page)
    told = words(step(counter, stated(page), "settle"))
    assert "settled" not in told
    assert "checking" not in told


def test_picks_that_are_not_known_to_go_together_are_doubted_until_they_are(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left_by(monkeypatch, {"all"}, set())
    told = [words(one) for one in streamed(counter, page, "pick:lining:carpet")]
    doubt = "It is not known yet whether these picks go together. Still checking …"
    assert sum(doubt in one for one in told) == 1
    after = told[[doubt in one for one in told].index(True) + 1 :]
    assert any("choices to make" in one for one in after), "the total is shown without the doubt"
    assert not any("Not known" in one for one in after)


def test_picks_that_could_not_be_settled_stay_in_doubt(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left_by(monkeypatch, {"all"}, None)
    told = streamed(counter, page, "pick:lining:carpet")
    doubt = f"It could not be settled whether these picks go together. {ADVICE}"
    assert doubt in words(told[-1])
    assert "Not known whether the picks go together" in words(" ".join(told))
    assert doubt in words(step(counter, stated(told[0]), "look:inside"))


def test_picks_that_no_package_has_are_refused_though_no_check_says_so(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = Build.one_by_one

    def one_by_one(self: Build, *choices: str, **how: Any) -> Iterator[Any]:
        for states in asked(self, *choices, **how):
            yield tuple(
                one if one.state == "picked" else attrs.evolve(one, state="ruled-out")
                for one in states
            )

    page = with_vehicle(counter)
    monkeypatch.setattr(Build, "one_by_one", one_by_one)
    told = words(step(counter, stated(page), "pick:lining:carpet"))
    assert "Does not go together What would help" in told
    assert "No package has all of these picks." in told


def test_without_javascript_no_doubt_is_left_that_a_tap_could_end(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = with_vehicle(counter)
    left_by(monkeypatch, {"all"}, None)
    page = step(counter, stated(page), "pick:lining:carpet")
    assert "not known yet whether these picks go together. Keep checking" in words(page)
    told = words(step(counter, stated(page), "settle"))
    assert f"It could not be settled whether these picks go together. {ADVICE}" in told
    assert "Keep checking" not in told


@pytest.mark.parametrize("found", ["limit", "no reason"])
def test_a_reason_that_is_not_settled_says_what_to_do(
    counter: TestClient, monkeypatch: pytest.MonkeyPatch, found: str
) -> None:
    page = with_vehicle(counter)

    def explain(*_: Any) -> Any:
        if found == "limit":
            raise SearchLimit(full())
        return attrs.evolve(known, possible=False, conflict=None)

    def fixes(*_: Any, **__: Any) -> Iterator[Any]:
        yield from ()
        raise SearchLimit(full())

    known = opened().build().pick("vehicle", "mid-dual").explain("oven", "oven-small")
    monkeypatch.setattr(Build, "explain", explain)
    monkeypatch.setattr(Build, "fixes_one_by_one", fixes)
    told = words(step(counter, stated(page), "why:oven:oven-small"))
    if found == "limit":
        assert f"It could not be settled whether this is available. {ADVICE}" in told
    else:
        reason = "It is not available with these picks. Why could not be settled. Leave out Low"
        assert f"{reason} pull-out pantry, 540 high, then tap Why? again." in told
    told = words(step(counter, stated(page), "ways:oven:oven-small"))
    assert f"It could not be settled whether changing a few picks fixes it. {ADVICE}" in told
    assert "Leave out Low pull-out pantry, 540 high Leave" not in told
    assert f"{ADVICE} Leave out Low pull-out pantry, 540 high" in told
    assert ".." not in told
