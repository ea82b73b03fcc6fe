"""The page at the counter, asked as a browser without JavaScript asks it."""

from __future__ import annotations

import base64
import datetime as dt
import html
import json
import re
import signal
import subprocess
import sys
import time
import zlib
from collections.abc import Iterator
from decimal import Decimal
from multiprocessing import Pipe
from pathlib import Path
from typing import Any, NoReturn, cast

import attrs
import httpx2 as httpx
import pytest
from starlette.testclient import TestClient

from configurator import Build, Completion, Pick, Register, Shop, open_shop
from configurator.report.mass import LOADS
from configurator.web.app import counter_app
from configurator.web.counter import Counter
from configurator.web.guard import MOST_BYTES
from configurator.web.messages import Posting
from configurator.web.worker import read_again
from tests.support.building import choice, option, raw_catalogue, vehicle, written
from tests.support.counter import Here
from tests.support.paths import ROOT
from tests.support.programs import opened

DAY = dt.date(2026, 8, 3)
OWN = {"sec-fetch-site": "same-origin"}


@pytest.fixture(scope="module")
def shop() -> Shop:
    return opened()


@pytest.fixture
def browser(shop: Shop, tmp_path: Path) -> Iterator[TestClient]:
    def clock() -> dt.datetime:
        return dt.datetime.combine(DAY, dt.time(9), dt.UTC)

    def register() -> Register:
        opened = shop.register(str(tmp_path / "register.sqlite"))
        return attrs.evolve(opened, clock=clock)

    counter = Counter(shop, register, lambda: DAY)
    app = counter_app(Here(counter), ["testserver"])
    with TestClient(app, headers=OWN, follow_redirects=True) as client:
        yield client


class Page:
    """A page as a browser has it: its text, its form, its buttons."""

    def __init__(self, browser: TestClient, text: str) -> None:
        self.browser, self.text = browser, text
        found = re.search(r'name="state" value="([^"]+)"', text)
        self.state = found.group(1) if found else ""

    def tap(self, value: str, **fields: str) -> Page:
        data = {"state": self.state, "tap": value, **fields}
        answer = self.browser.post("/package", data=data)
        assert answer.status_code == 200, words(answer.text)
        return Page(self.browser, answer.text)

    def total(self) -> str:
        found = re.search(r"<strong>(?:From |So far )?([^<]+)</strong>", self.text)
        assert found is not None
        return html.unescape(found.group(1)).replace("\N{NO-BREAK SPACE}", " ")

    def state_of(self, choice: str, option: str) -> str:
        """What the page says of an option, by the button that is next to it."""
        for row in re.findall(r'<li class="is-([a-z-]+)">(.*?)</li>', self.text, re.DOTALL):
            if f":{choice}:{option}" in row[1]:
                return str(row[0])
        raise AssertionError(f"{choice}={option} is not on the page")


def words(text: str) -> str:
    """What a reader reads of a page."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def start(browser: TestClient, title: str) -> Page:
    """The page of a ready package."""
    text = browser.get("/").text
    pattern = rf'name="state" value="([^"]+)">\s*<button name="tap" value="">{re.escape(title)}'
    found = re.search(pattern, text)
    assert found is not None
    answer = browser.post("/package", data={"state": found.group(1), "tap": ""})
    return Page(browser, answer.text)


WISH = "Weekends, with the large fridge"
TRADE = "Trade, low canopy with drawers"
TOURING = "Touring, tall canopy with kitchen"


def test_a_package_that_does_not_go_together_is_not_offered_as_ready(browser: TestClient) -> None:
    first, *headings = re.split("<h2>", browser.get("/").text)
    ready, clashing = (words(one) for one in headings[:2])
    assert ready.startswith("Start with a ready-made package")
    assert TRADE in ready
    assert WISH not in ready
    assert clashing == f"Start with a package that does not go together yet {WISH}"
    assert WISH not in first


def test_a_sale_from_nothing_to_the_first_choices(browser: TestClient) -> None:
    page = Page(browser, browser.get("/").text).tap("")
    assert "choices to make" in words(page.text)
    page = page.tap("pick:vehicle:mid-dual").tap("look:tray")
    assert "Tray length" in words(page.text)
    page = page.tap("pick:tray-length:1800mm")
    assert page.total() == "AUD 4,490.00"
    assert "+4,490.00" in page.text


def test_the_total_is_the_command_line_s(browser: TestClient, shop: Shop) -> None:
    page = start(browser, TRADE)
    build = shop.build(ROOT / "catalogues" / "selections" / "contractor.yaml")
    assert page.total() == str(build.price().total)
    assert "Ready to quote" in words(page.text)


def test_where_the_picks_do_not_go_together_that_is_said_before_an_option_is_blamed(
    browser: TestClient,
) -> None:
    page = start(browser, WISH)
    told = words(page.tap("why:vehicle:mid-extra").text)
    reason = "These picks do not go together, with or without Mid-size extra-cab 4x4: Canopy height"
    assert reason in told
    assert "Change one of these picks first, then look at Mid-size extra-cab 4x4 again." in told
    assert "Mid-size extra-cab 4x4 is not available" not in told
    told = words(page.tap("why:canopy-height:1200mm").text)
    assert "with or without" not in told, "another height is another matter"


def test_a_wish_that_does_not_fit_says_why_and_is_mended_in_one_tap(browser: TestClient) -> None:
    page = start(browser, WISH)
    assert "Does not go together" in words(page.text)
    assert "56 mm short" in words(page.text)
    asked = page.tap("why:")
    fixes = re.findall(r'<button name="tap" value="(take:[^"]+)"[^>]*>([^<]+)</button>', asked.text)
    told = [html.unescape(words) for _, words in fixes]
    _, fixing, reason = words(asked.text).partition("Canopy height: Tall, 1000 mm instead of")
    assert fixing, "fixes stand above the reason"
    assert re.search(r'<details id="reasons" open>', asked.text), "a short one is not folded"
    assert "Upright fridge with freezer, 130 L does not fit the canopy" in reason
    assert "so these picks do not go together." in reason
    assert any("Canopy height" in one and "+815.00" in one for one in told)
    chosen = next(tap for tap, words in fixes if "Canopy height" in words)
    assert "Ready to quote" in words(asked.tap(chosen).text)


def test_a_long_reason_is_folded_to_its_first_three_premises(browser: TestClient) -> None:
    crowded = b"""
format: 1
catalogue: quandong
picks: {vehicle: mid-dual, canopy-length: 1200mm, upright-fridge: upright-110, kitchen: gas-sink,
  pantry: pantry-640, drawers: {wide-220: 2}, table: stow-large}
"""
    page = Page(browser, browser.post("/open", files={"file": ("a.yaml", crowded)}).text)
    asked = page.tap("why:")
    reason = asked.text.partition('<details id="reasons">')[2].partition("</details>")[0]
    assert reason.count("<li>") > 3
    assert "so these picks do not go together" in words(reason)
    fixes, folded, _ = asked.text.partition('<details id="reasons">')
    assert folded
    assert 'id="way-1"' in fixes
    told = page.tap("why:vehicle:mid-extra").text.partition('class="why"')[2]
    shown, _, more = told.partition("<details")
    assert shown.count("<li>") == 3
    folded, _, after = more.partition("</details>")
    assert f"{folded.count('<li>')} more reason" in words(folded)
    assert "so Vehicle: Mid-size extra-cab 4x4 is not available" in words(after)


def test_wishes_in_the_address_are_in_their_fields(browser: TestClient) -> None:
    told = browser.get("/wishes?vehicle=mid-single&budget=20000&wish-2=oven%3Doven-small").text
    assert '<option value="mid-single" selected>' in told
    assert 'name="budget" inputmode="decimal" size="9" value="20000"' in told
    assert re.search(r'name="wish-2">.*?<option value="oven=oven-small" selected>', told, re.S)


def test_a_caution_has_the_hint_that_a_check_has(browser: TestClient) -> None:
    page = start(browser, TOURING).tap("pick:headboard:mesh")
    hints = [words(one) for one in re.findall(r'<p class="hint">(.*?)</p>', page.text)]
    assert "Have it weighed as you travel before you rely on what is left." in hints


def test_what_stops_a_quote_stands_in_the_bar_that_stays_in_sight(browser: TestClient) -> None:
    bar = r'<p class="stopped"><a class="bad" href="#stops">([^<]+)</a>'
    (told,) = re.findall(bar, start(browser, WISH).text)
    assert "56 mm short" in words(told)
    assert not re.findall(bar, start(browser, TOURING).text)


def test_a_package_deal_that_an_option_would_end_stands_at_the_option(
    browser: TestClient, shop: Shop
) -> None:
    page = start(browser, TOURING).tap("look:power:inverter")
    rows = re.findall(r'<li class="is-instead">.*?</li>', page.text, flags=re.S)
    (row,) = (row for row in rows if "pick:inverter:inverter-600" in row)
    build = shop.build(ROOT / "catalogues" / "selections" / "touring.yaml")
    (deal,) = (deal for deal in build.price().deals if deal.title.startswith("12 V package"))
    told = f"without the package deal {deal.title}, which saves AUD {deal.saving.amount}"
    assert told in words(row)


def test_a_change_of_mind_is_one_tap_and_undone_by_another(browser: TestClient) -> None:
    page = start(browser, WISH).tap("look:canopy")
    assert page.state_of("canopy-height", "1000mm") == "instead"
    taller = page.tap("pick:canopy-height:1000mm")
    assert taller.total() == "AUD 28,335.00"
    assert "+815.00" in taller.text
    assert "Ready to quote" in words(taller.text)
    back = taller.tap("undo")
    assert back.total() == "AUD 27,520.00"
    assert back.tap("redo").total() == "AUD 28,335.00"


def test_an_option_that_is_not_available_says_why(browser: TestClient) -> None:
    page = start(browser, WISH).tap("pick:canopy-height:1000mm").tap("look:canopy")
    assert page.state_of("canopy-height", "1200mm") == "ruled-out"
    asked = page.tap("why:canopy-height:1200mm")
    assert "1200 mm" in words(asked.text)
    assert "What makes it available" not in words(asked.text)
    helped = asked.tap("ways:canopy-height:1200mm")
    fixes = helped.text.partition("What makes it available")[2]
    chosen, *_ = re.findall(r'<button name="tap" value="(take:[^"]+)"', fixes)
    assert helped.tap(chosen).state_of("canopy-height", "1200mm") == "picked"


def test_why_not_is_said_without_looking_for_fixes(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def looked_for(*_: object, **__: object) -> NoReturn:
        raise AssertionError("fixes are looked for")

    page = start(browser, WISH).tap("pick:canopy-height:1000mm").tap("look:canopy")
    monkeypatch.setattr(Build, "fixes_one_by_one", looked_for)
    asked = page.tap("why:canopy-height:1200mm")
    assert "Ways to make it go together" in words(asked.text)
    with pytest.raises(AssertionError, match="fixes are looked for"):
        asked.tap("ways:canopy-height:1200mm")


def test_what_is_still_to_be_added_is_said_and_added_in_one_tap(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("pick:upright-fridge:upright-45")
    assert "1 thing still to add or to change Finish the package What would" in words(page.text)
    done = words(browser.post("/finish", data={"state": page.state}).text)
    assert "Also chosen: " in done
    assert "Ready to quote" in done


def test_what_is_missing_is_added_beside_what_is_there(browser: TestClient) -> None:
    less = start(browser, TOURING).tap("less:battery:lfp-200")
    assert "Finish the package What would help" in words(less.text)
    finished = browser.post("/finish", data={"state": less.state}).text
    assert "Also chosen: Lithium iron phosphate battery, 200 Ah." in words(finished)


def test_what_is_missing_is_mended_by_changing_or_by_adding(browser: TestClient) -> None:
    less = start(browser, TOURING).tap("less:battery:lfp-200")
    assert "What would help" in words(less.text)
    asked = less.tap("why:")
    taps = dict(
        re.findall(r'<button name="tap" value="(take:[^"]+)"[^>]*>([^<]+)</button>', asked.text)
    )
    smaller = next(tap for tap, told in taps.items() if "1000 W inverter instead of" in words(told))
    second = next(tap for tap, told in taps.items() if "200 Ah instead of 1" in words(told))
    for tap in (smaller, second):
        assert "Ready to quote" in words(asked.tap(tap).text)
    assert asked.tap(second).total() == start(browser, TOURING).total()


def test_while_choices_are_open_what_is_missing_is_among_them(browser: TestClient) -> None:
    page = Page(browser, browser.get("/").text).tap("pick:vehicle:mid-dual")
    page = page.tap("pick:inverter:inverter-2000")
    assert "Stop:" in words(page.text)
    assert "choices to make" in words(page.text)
    assert "What would help" not in words(page.text)
    asked = words(page.tap("why:").text)
    assert "These picks go together; what is missing can still be chosen" in asked


def test_a_figure_and_its_unit_stay_together_on_a_card(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("look:inside")
    sizes = re.findall(r'<small class="figures">([^<]+)</small>', page.text)
    assert any("mm" in size for size in sizes)
    assert not any(re.search(r"[0-9] (mm|kg)", html.unescape(size)) for size in sizes)


def test_errors_of_the_catalogue_are_in_the_language_of_the_page(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "shop.yaml").write_text("a: 1\n  b: 2\n", "utf-8")
    ours, theirs = Pipe(duplex=False)
    read_again(theirs, str(tmp_path / "shop.yaml"), cast("Posting", None))
    monkeypatch.setattr(Here, "remarks", ours.recv())
    english = browser.get("/", params={"language": "en"}).text
    assert "shop.yaml:2:4: the line above has its value already" in english
    german = browser.get("/", params={"language": "de"}).text
    assert "shop.yaml:2:4: die Zeile darüber hat schon ihren Wert" in german


def test_quantities_go_up_and_down_and_end(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("look:inside")
    more = page.tap("more:drawers:wide-220")
    assert "<output>3</output>" in more.text
    fewer = more.tap("less:drawers:wide-220").tap("less:drawers:wide-220")
    assert "<output>1</output>" in fewer.text


def test_what_is_not_available_has_no_button_but_why(browser: TestClient) -> None:
    page = start(browser, TOURING).tap("less:battery:lfp-200").tap("look:power")
    assert page.state_of("battery", "agm-100") == "ruled-out"
    assert re.findall(r'value="(\w+):battery:agm-100"', page.text) == ["why"]
    assert re.findall(r'value="(\w+):battery:lfp-200"', page.text) == ["less", "more"]


def test_a_package_without_a_name_is_called_by_its_vehicle(browser: TestClient) -> None:
    page = Page(browser, browser.get("/").text).tap("")
    assert "<title>New package" in page.text
    assert "<title>Mid-size dual-cab 4x4" in page.tap("pick:vehicle:mid-dual").text
    assert f"<title>{WISH}" in start(browser, WISH).text


def test_hose_is_taken_and_changed_by_the_metre(tmp_path: Path) -> None:
    by_the_metre = {"unit": "m", "step": Decimal("0.5"), "least": 1, "most": 20}
    hose = option("thin", Decimal("8.45"), sold_by=by_the_metre)
    offered = raw_catalogue([choice("hose", [hose], "at-most-one")], vehicles=[vehicle()])
    shop = open_shop(written(offered), DAY)
    counter = Counter(shop, lambda: shop.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=OWN) as browser:
        page = Page(browser, browser.get("/").text).tap("pick:vehicle:ute").tap("look:build")
        page = page.tap("count:hose:thin", **{"n:hose:thin": "3.5"})
        assert (page.total(), page.state_of("hose", "thin")) == ("AUD 29.58", "picked")
        assert 'name="n:hose:thin" value="3.5"' in page.text
        page = page.tap("count:hose:thin", **{"n:hose:thin": "4"})
        assert page.total() == "AUD 33.80"
        for typed, said in (
            ("3,5", "write digits, with a decimal point as in 3.5"),
            ("3.7", "is sold in steps of 0.5 from 1 to 20 m, not as 3.7"),
            ("-2", "is below zero"),
        ):
            data = {"state": page.state, "tap": "count:hose:thin", "n:hose:thin": typed}
            refused = browser.post("/package", data=data)
            assert said in words(refused.text), typed
        page = page.tap("count:hose:thin", **{"n:hose:thin": "0"})
        assert page.state_of("hose", "thin") != "picked"


def test_what_costs_as_much_is_said_to(tmp_path: Path) -> None:
    offered = [option("red", Decimal(100)), option("blue", Decimal(100))]
    vehicles = [vehicle(), vehicle("other")]
    shop = open_shop(written(raw_catalogue([choice("colour", offered)], vehicles=vehicles)), DAY)
    counter = Counter(shop, lambda: shop.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=OWN) as browser:
        page = Page(browser, browser.get("/").text).tap("pick:vehicle:ute")
        prices = r'<span class="price">([^<]*)</span>'
        assert not any(re.findall(prices, page.text))
        page = page.tap("pick:colour:red").tap("look:build")
        assert re.findall(prices, page.text) == ["100.00", "same price"]
        german = browser.post("/package?language=de", data={"state": page.state, "tap": ""}).text
        assert re.findall(prices, german)[1] == "gleicher Preis"


def test_a_price_that_waits_for_another_choice_is_said_to(tmp_path: Path) -> None:
    """The body's price is looked up by the size: 460 is what a large size alone costs."""
    table = [{"kind": "table", "by": ["size"], "rows": {"small": 900, "large": 1000}}]
    sizes = [option("small", Decimal(100)), option("large", Decimal(460))]
    bodies = [option("box", table), option("crate", [{"kind": "on-application"}])]
    data = raw_catalogue([choice("size", sizes), choice("body", bodies)], vehicles=[vehicle()])
    shop = open_shop(written(data), DAY)
    counter = Counter(shop, lambda: shop.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=OWN) as browser:

        def prices(text: str) -> list[str]:
            return re.findall(r'<span class="price">([^<]*)</span>', text)[-4:]

        page = Page(browser, browser.get("/").text).tap("pick:vehicle:ute").tap("look:build")
        assert prices(page.text) == ["100.00", "460.00", "no price yet", "price on application"]
        page = page.tap("pick:size:small").tap("look:build")
        waiting = ["100.00", "price not known yet", "900.00", "price on application"]
        assert prices(page.text) == waiting
        whole = page.tap("pick:body:box").tap("look:build")
        assert prices(whole.text)[1] == "+460.00"
        german = browser.post("/package?language=de", data={"state": page.state, "tap": ""}).text
        assert prices(german)[1] == "Preis noch nicht bekannt"


def test_an_extra_says_why_it_has_no_price(tmp_path: Path) -> None:
    table = [{"kind": "table", "by": ["size"], "rows": {"small": 9, "large": 100}}]
    extras = [
        option("mat", table, because="It helps.", suggest={"vehicle": "ute"}),
        option(
            "crane", [{"kind": "on-application"}], because="It lifts.", suggest={"vehicle": "ute"}
        ),
    ]
    sizes = choice("size", [option("small"), option("large")])
    data = raw_catalogue([sizes], vehicles=[vehicle()], add_ons=extras)
    shop = open_shop(written(data), DAY)
    counter = Counter(shop, lambda: shop.register(str(tmp_path / "r.sqlite")), lambda: DAY)
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=OWN) as browser:

        def prices(page: Page) -> list[str]:
            extras = page.text.partition('class="extras"')[2].partition("</ul>")[0]
            return re.findall(r'<span class="price">([^<]*)', extras)

        page = Page(browser, browser.get("/").text).tap("pick:vehicle:ute")
        assert prices(page) == ["no price yet", "price on application"]
        assert prices(page.tap("pick:size:large")) == ["100.00", "price on application"]


def test_units_are_placed_where_they_are_wanted(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("place:power-cupboard=cupboard-small:left")
    sides = dict(re.findall(r'<section data-side="(\w+)"(.*?)</section>', page.text, re.DOTALL))
    assert 'data-unit="power-cupboard=cupboard-small"' in sides["left"]
    assert 'data-unit="power-cupboard=cupboard-small"' not in sides["right"] + sides["rear"]


def test_customer_and_title_are_kept_in_the_package(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("", customer="Ottilie <b>Brandgrove</b>", title="Farm")
    assert 'value="Ottilie &lt;b&gt;Brandgrove&lt;/b&gt;"' in page.text
    assert "<b>Brandgrove" not in page.text
    saved = browser.post("/paper/selection", data={"state": page.state})
    assert "Ottilie <b>Brandgrove</b>" in saved.text
    again = browser.post("/open", files={"file": ("farm.yaml", saved.content)})
    assert Page(browser, again.text).total() == page.total()


@pytest.mark.parametrize("kind", ["quote", "job", "wiring"])
def test_papers_are_made_from_the_page(browser: TestClient, kind: str) -> None:
    page = start(browser, TRADE)
    answer = browser.post(f"/paper/{kind}", data={"state": page.state})
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    if kind == "quote":
        opened = browser.post("/open", files={"file": ("quote.pdf", answer.content)})
        assert Page(browser, opened.text).total() == page.total()


def test_packages_set_aside_are_compared(browser: TestClient) -> None:
    page = start(browser, WISH)
    alone = browser.post("/paper/comparison", data={"state": page.state})
    assert (alone.status_code, "set another package aside" in alone.text) == (400, True)
    other = page.tap("keep").tap("pick:canopy-height:1000mm")
    paper = browser.post("/paper/comparison", data={"state": other.state})
    assert paper.headers["content-type"] == "application/pdf"
    beside = browser.post("/compare", data={"state": other.state})
    assert "+815.00" in words(beside.text)
    assert beside.text.count("<svg") == 3  # of what does not fit, the inside is not drawn
    assert re.findall("<h2>([^<]+)</h2>", beside.text) == [
        f"A: {WISH} (Canopy height: Standard, 850\N{NO-BREAK SPACE}mm)",
        f"B: {WISH} (Canopy height: Tall, 1000\N{NO-BREAK SPACE}mm)",
    ]
    nameless = browser.post("/compare", data={"state": other.tap("", title="").state}).text
    assert re.findall("<h2>([^<]+)</h2>", nameless) == [f"A: {WISH}", "B: Mid-size dual-cab 4x4"]
    first = re.findall(r'name="tap" value="(take:[^"]+)"', beside.text)[0]
    assert other.tap(first).total() == page.total()
    for height in ("850mm", "900mm", "700mm", "1200mm"):
        other = other.tap("keep").tap(f"pick:canopy-height:{height}")
    beside = browser.post("/compare", data={"state": other.state})
    assert beside.text.count('value="take:') == 4


def test_packages_of_which_nothing_is_picked_are_compared(browser: TestClient) -> None:
    begun = browser.post("/", data={"state": start(browser, WISH).state}).text
    bare = Page(browser, begun).tap("").tap("keep")
    other = bare.tap("trade-in", **{"trade-title": "Old canopy", "trade-amount": "500"})
    beside = browser.post("/compare", data={"state": other.state})
    assert beside.status_code == 200
    assert re.findall("<h2>([^<]+)</h2>", beside.text) == ["A: New package", "B: New package"]


def test_comparing_is_offered_where_there_is_something_to_compare(browser: TestClient) -> None:
    page = start(browser, WISH).tap("keep", title="Another name")
    assert "1 package set aside. Change something, or open another" in words(page.text)
    assert "/compare" not in page.text + page.tap("clear").text
    assert "/paper/comparison" not in page.text
    german = browser.post("/package?language=de", data={"state": page.state, "tap": ""}).text
    assert "Zum Vergleichen etwas ändern oder ein anderes Paket öffnen." in words(german)
    other = page.tap("pick:canopy-height:1000mm")
    assert 'formaction="/compare"' in other.text
    assert 'formaction="/paper/comparison"' in other.text


def test_packages_set_aside_go_along_to_a_new_package(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("keep")
    assert page.text.count('formaction="/" formmethod="post"') == 2
    begun = browser.post("/", data={"state": page.state}).text
    assert "1 package set aside" in words(begun)
    german = browser.post("/?language=de", data={"state": page.state}).text
    assert "1 Paket beiseitegelegt" in words(german)
    browser.get("/?language=en")
    pattern = rf'value="([^"]+)">\s*<button name="tap" value="">{re.escape(WISH)}'
    ready = re.search(pattern, begun)
    assert ready is not None
    other = Page(browser, browser.post("/package", data={"state": ready[1], "tap": ""}).text)
    beside = browser.post("/compare", data={"state": other.state}).text
    assert re.findall("<h2>([^<]+)</h2>", beside) == [f"A: {TRADE}", f"B: {WISH}"]
    assert 'formaction="/compare?language=de"' in beside
    assert Page(browser, beside).state == other.state
    empty = Page(browser, begun)
    saved = browser.post("/paper/selection", data={"state": page.state}).content
    asked = browser.post("/wishes", data={"state": empty.state}).text
    wish = {"state": Page(browser, asked).state, "vehicle": "mid-dual", "budget": "30000"}
    assert "Find the package" in browser.post("/wishes", data={**wish, "tap": ""}).text
    for told in (
        empty.tap("").text,
        browser.post("/open", files={"file": ("a.yaml", saved)}, data={"state": empty.state}).text,
        browser.post("/wishes", data=wish).text,
    ):
        assert "1 package set aside" in words(told)


def test_an_error_leads_back_to_the_package(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("keep").tap("pick:finish:two-pack")
    data = {"state": page.state, "tap": "fly:a"}
    error = Page(browser, browser.post("/package", data=data).text)
    first, second = re.findall(r"<button[^>]*>([^<]+)</button>", error.text.partition("<main")[2])
    assert (first, second) == ("Back to the package", "New package")
    assert error.state == page.state
    assert error.tap("").total() == page.total()
    assert 'formaction="/package?language=de"' in error.text
    german = browser.post("/package?language=de", data=data).text
    assert "Zurück zum Paket" in words(german)
    browser.get("/?language=en")
    begun = browser.post("/", data={"state": error.state}).text
    assert "1 package set aside" in words(begun)
    failed = browser.post("/open", data={"state": page.state}).text
    assert "Back to the package" not in failed
    assert page.state in failed
    lost = browser.get("/quotes/Q-9").text
    assert 'href="?language=de"' in lost
    assert "Back to the package" not in lost


def test_packages_with_the_same_picks_are_said_to_have_them(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("keep").tap("travel", people="2")
    beside = browser.post("/compare", data={"state": page.state}).text
    assert "The packages have the same picks." in words(beside)
    beside = browser.post("/compare?language=de", data={"state": page.state}).text
    assert "Die Pakete haben dieselbe Auswahl." in words(beside)


def test_an_empty_package_has_no_price_and_no_suggestions(browser: TestClient) -> None:
    page = Page(browser, browser.get("/").text).tap("")
    assert page.total() == "No price yet"
    assert "Suggested extras" not in page.text
    german = browser.post("/package?language=de", data={"state": page.state, "tap": ""}).text
    assert "<strong>Noch kein Preis</strong>" in german
    browser.get("/?language=en")
    picked = page.tap("pick:vehicle:mid-dual")
    assert "0.00" not in re.findall(r'<span class="price">([^<]*)</span>', picked.text)
    assert "same price" not in picked.text
    assert "Suggested extras" in picked.tap("pick:tray-length:1800mm").text
    inside = start(browser, TRADE).tap("look:inside").text
    assert "0.00" not in re.findall(r'<span class="price">([^<]*)</span>', inside)


def test_a_mass_with_what_is_inside_is_said_to_be(browser: TestClient) -> None:
    page = start(browser, TRADE)
    assert "mass fully loaded +54 kg" in words(
        page.tap("more:drawers:wide-220").text.replace("&nbsp;", " ")
    )
    german = {"state": page.state, "tap": "more:drawers:wide-220"}
    assert "Masse beladen +54" in words(browser.post("/package?language=de", data=german).text)


def test_options_are_looked_for_by_name(browser: TestClient) -> None:
    page = start(browser, WISH).tap("find", find="upright fridge")
    assert 'value="why:upright-fridge:' in page.text or 'value="pick:upright-fridge:' in page.text
    assert 'value="pick:canopy-height' not in page.text
    assert "Canopy height" in words(page.tap("look:canopy").text)
    assert "No option has these words in its name." in page.tap("find", find="xyz").text


def test_none_of_a_choice_is_settled_and_opened_again(browser: TestClient) -> None:
    page = start(browser, WISH).tap("find", find="upright fridge").tap("none:upright-fridge")
    assert "none wanted" in words(page.text)
    assert page.state_of("upright-fridge", "upright-45") in ("instead", "ruled-out")
    page = page.tap("open:upright-fridge")
    assert "none wanted" not in words(page.text)


def test_what_is_agreed_with_the_customer_is_priced_and_can_be_left_out(
    browser: TestClient,
) -> None:
    page = start(browser, TRADE)
    before = page.total()
    agreed = {"adjust-title": "Show price", "adjust-reason": "Show", "adjust-amount": "100"}
    page = page.tap("adjust", **agreed, **{"adjust-kind": "discount"})
    assert page.total() == "AUD 25,530.00"
    line = {"line-title": "Dog box", "line-price": "640", "line-mass": "21", "line-quantity": "1"}
    page = page.tap("line", **line)
    assert page.total() == "AUD 26,170.00"
    assert "mass +" in words(page.text)
    page = page.tap("trade-in", **{"trade-title": "Old tray", "trade-amount": "600"})
    assert "Old tray: 600" in words(page.text)
    for gone in ("adjustment", "line", "trade-in"):
        page = page.tap(f"remove:{gone}:0")
    assert page.total() == before
    for wrong, said in (
        ({"tap": "adjust", **agreed, "adjust-amount": "-100"}, "without a minus sign"),
        ({"tap": "line", **line, "line-quantity": "2.5"}, "a whole number, 1 or more"),
        ({"tap": "line", **line, "line-quantity": "0"}, "a whole number, 1 or more"),
    ):
        answer = browser.post("/package", data={"state": page.state, **wrong})
        assert (answer.status_code, said in answer.text) == (422, True)


def test_what_the_server_refuses_has_the_look_of_the_page(browser: TestClient) -> None:
    large = {"file": ("x.pdf", b"x" * (MOST_BYTES + 1))}
    for answer, code, said in (
        (browser.get("/nowhere/<b>"), 404, "there is no page /nowhere/<b>"),
        (browser.get("/static/nothing.css"), 404, "there is no page /static/nothing.css"),
        (browser.get("/issue"), 405, "this page opens from the one before it"),
        (browser.put("/quotes"), 405, "this page opens from the one before it"),
        (browser.post("/open", files=large), 413, "the file is larger than 8 MB"),
        (browser.post("/package", data={str(n): "x" for n in range(300)}), 400, "could not read"),
    ):
        assert (answer.status_code, said in words(answer.text)) == (code, True), answer.text
        assert '<a class="button" href="/">New package</a>' in answer.text
        assert 'href="/static/counter.css"' in answer.text
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert "<b>" not in answer.text
    assert browser.get("/issue").headers["allow"] == "POST"
    browser.get("/?language=de")
    assert "es gibt keine Seite /nirgends" in words(browser.get("/nirgends").text)


@pytest.mark.parametrize(
    ("tap", "field", "typed", "said"),
    [
        ("adjust", "adjust-percent", "500", "500 is too much; write 100 or less"),
        ("adjust", "adjust-percent", "-5", "without a minus sign"),
        ("adjust", "adjust-percent", "", "write a percentage or an amount, one of the two"),
        ("adjust", "adjust-reason", "", "fill in the reason for the discount or surcharge"),
        ("trade-in", "trade-amount", "0", "write the value of the trade-in, above 0"),
        ("trade-in", "trade-amount", "1.234", "round it to 2 decimals"),
        ("line", "line-price", "-640", "-640 is below zero; write 0 or more"),
        ("line", "line-mass", "much", '"much" is not a number'),
        ("travel", "people", "21", "write 1 to 20 people"),
        ("travel", "driving", "25", "25 is too much; write 24 or less"),
        ("travel", "tow-ball", "-1", "-1 is below zero; write 0 or more"),
    ],
)
def test_what_cannot_be_used_is_said_beside_its_field(
    tap: str, field: str, typed: str, said: str, browser: TestClient
) -> None:
    page = start(browser, TRADE)
    good = {
        "adjust-kind": "surcharge",
        "adjust-title": "Show price",
        "adjust-reason": "Show",
        "adjust-percent": "5",
        "trade-title": "Old tray",
        "trade-amount": "600",
        "line-title": "Dog box",
        "line-price": "640",
        "people": "2",
    }
    form = {"state": page.state, "tap": tap, **good, field: typed}
    refused = browser.post("/package", data=form)
    assert refused.status_code == 422
    beside = re.search(rf'<input name="{field}"[^>]*>(.*?)</label>', refused.text)
    assert beside is not None
    assert said in words(beside.group(1))
    assert f'aria-describedby="amiss-{field}"' in beside.group()
    told = words(refused.text)
    assert not re.search(r"selection:|error:|\(out-of-range\)|in entry", told)
    assert 'name="line-title" maxlength="80" value="Dog box"' in refused.text
    assert '<option value="surcharge" selected>' in refused.text
    again = Page(browser, refused.text)
    assert (again.state, again.total()) == (page.state, page.total())
    streamed = browser.post("/package", data=form, headers={"hx-request": "true"})
    assert said in words(streamed.text)
    assert f'id="amiss-{field}"' in streamed.text
    alerts = re.findall(r'role="alert"(?![^>]*hidden)', streamed.text)
    assert len(alerts) == 1, "a screen reader says it once"


@pytest.mark.parametrize(
    ("tap", "typed", "above"),
    [
        ("adjust", {"adjust-percent": "abc"}, 'Per cent: "abc" is not a number; write digits'),
        ("adjust", {"adjust-percent": "120"}, "Per cent: 120 is too much; write 100 or less"),
        ("adjust", {"adjust-amount": "1e9"}, 'Amount: "1e9" is not a number; write digits'),
        ("line", {"line-price": "-1"}, "The price of one: -1 is below zero; write 0 or more"),
        ("line", {"line-price": "1", "line-quantity": "0"}, "How many: write a whole number, 1 or"),
        ("travel", {"people": "x"}, 'How many travel: "x" is not a number; write digits'),
        ("travel", {"people": "21"}, "How many travel: write 1 to 20 people"),
    ],
)
def test_above_the_page_what_cannot_be_used_is_said_with_its_field(
    tap: str, typed: dict[str, str], above: str, browser: TestClient
) -> None:
    """Beside the field, its label says which it is."""
    page = start(browser, TRADE)
    form = {"state": page.state, "tap": tap, "line-title": "Dog box", **typed}
    refused = browser.post("/package", data=form).text
    note = re.search(r'<div role="alert">(.*?)</div>', refused, re.DOTALL)
    beside = re.search(r'<span class="amiss"[^>]*>(.*?)</span>', refused)
    assert note is not None
    assert beside is not None
    assert words(note.group(1)).startswith(above)
    assert words(note.group(1)) == f"{above.partition(': ')[0]}: {words(beside.group(1))}"


def test_a_trade_in_without_a_remark_is_named_once(browser: TestClient) -> None:
    page = start(browser, TRADE)
    bare = page.tap("trade-in", **{"trade-title": "Old tray", "trade-amount": "600"})
    assert "Less Old tray -600.00" in words(bare.text)
    told = page.tap(
        "trade-in", **{"trade-title": "Old tray", "trade-amount": "600", "trade-reason": "Worn"}
    )
    assert "Less Old tray Worn -600.00" in words(told.text)


def travel_fields(page: Page) -> dict[str, str]:
    """What stands in the fields of who travels, and what stood in them when they were made."""
    form = page.text.partition('id="d-travel"')[2].partition("</details>")[0]
    found = dict(re.findall(r'<input [^>]*?name="([a-z-]+)"[^>]*? value="([^"]*)"', form))
    for name, inside in re.findall(r'<select name="(\w+)">(.*?)</select>', form, re.DOTALL):
        picked = re.search(r'value="(\w+)" selected', inside)
        found[name] = picked.group(1) if picked else ""
    return {name: html.unescape(value) for name, value in found.items()}


def test_what_is_typed_of_who_travels_outlives_other_taps(browser: TestClient) -> None:
    page = start(browser, TRADE)
    usual = travel_fields(page)
    typed = {**usual, "people": "21", "tow-ball": "150", "season": "winter"}
    refused = browser.post("/package", data={"state": page.state, "tap": "travel", **typed})
    assert refused.status_code == 422
    other = Page(browser, refused.text).tap("less:lights:flood-rear", **typed)
    assert travel_fields(other) == typed
    asked = {"Hx-Request": "true"}
    form = {"state": other.state, "tap": "more:lights:flood-rear", **typed}
    assert 'value="21"' in browser.post("/package", data=form, headers=asked).text
    saved = other.tap("travel", **{**typed, "people": "2"})
    kept = travel_fields(saved)
    assert (kept["people"], kept["was-people"], kept["season"]) == ("2", "2", "winter")
    # what was not typed follows the package
    assert travel_fields(saved.tap("undo", **kept)) == usual
    assert travel_fields(saved.tap("less:lights:flood-rear", **usual)) == kept


def test_a_wrong_file_is_told_by_its_line_in_plain_words(browser: TestClient) -> None:
    wrong = b"catalogue: tray-and-canopy\npicks:\n  - vehicle=mid-dual\npeople: 99\n"
    answer = browser.post("/open", files={"file": ("ute.yaml", wrong)})
    assert answer.status_code == 400
    told = words(answer.text.partition("<main")[2])
    assert "ute.yaml, line 4: " in told
    assert not re.search(r"error:|ute.yaml:|\([a-z-]+\)", told)


def test_who_travels_counts(browser: TestClient, shop: Shop) -> None:
    page = start(browser, TRADE).tap("travel", people="2", **{"tow-ball": "150"}, season="winter")
    build = shop.build(ROOT / "catalogues" / "selections" / "contractor.yaml")
    known = build.travel(people=2, tow_ball=Decimal(150), season="winter").mass()
    assert known is not None
    saved = browser.post("/paper/selection", data={"state": page.state})
    again = shop.build(saved.content).mass()
    assert again is not None
    assert again == known
    answer = browser.post("/package", data={"state": page.state, "tap": "travel", "people": "-1"})
    assert (answer.status_code, "1 to 20 people" in answer.text) == (422, True)


def test_suggested_extras_are_told_with_their_reason_and_added(
    browser: TestClient, shop: Shop
) -> None:
    page = start(browser, TRADE)
    build = shop.build(ROOT / "catalogues" / "selections" / "contractor.yaml")
    first = build.suggestions()[0]
    assert str(first.because) in words(page.text)
    assert first.price is not None
    assert f'value="pick:add-on:{first.option}"' in page.text
    page = page.tap(f"pick:add-on:{first.option}")
    assert page.total() == str(build.pick("add-on", first.option).price().total)


def test_wishes_and_a_budget_make_a_package(browser: TestClient, shop: Shop) -> None:
    asked = browser.get("/wishes").text
    assert asked.count("<select") == 9
    wishes = {"wish-1": "upright-fridge=upright-130", "wish-2": "finish=two-pack"}
    form = {"vehicle": "mid-single", "budget": "30,000", **wishes}
    page = Page(browser, browser.post("/wishes", data=form).text)
    found = shop.build().pick("vehicle", "mid-single")
    known = found.within(30_000, [Pick.named(one) for one in wishes.values()])
    assert known.to_pay is not None
    assert page.total() == str(known.to_pay)
    told = words(page.text)
    for wish in known.granted:
        assert f"Granted: {shop.catalogue.option(*wish.key).title}" in told
    for left in known.left_out:
        assert f"Left out: {shop.catalogue.option(*left.wish.key).title}" in told
    two = {**wishes, "wish-2": "solar=panel-200", "many-2": "2"}
    page = Page(browser, browser.post("/wishes", data={**form, **two}).text)
    assert "Granted: 2 × 200 W panel, fixed" in words(page.text)
    for many in ("0", "-1", "two"):
        refused = browser.post("/wishes", data={**form, **two, "many-2": many})
        assert refused.status_code == 400
        assert f'name="many-2" value="{many}"' in refused.text
        assert "How many, or how much, of wish 2: " in words(refused.text)
    assert browser.post("/wishes", data={**form, **two, "many-2": "99"}).status_code == 400
    for budget in ("30 000", "$30,000", "30.000", "AUD 30,000.00"):
        again = Page(browser, browser.post("/wishes", data={**form, "budget": budget}).text)
        assert again.total() == str(known.to_pay), budget


def test_where_no_quote_lapses_soon_the_page_says_how_soon(browser: TestClient) -> None:
    assert "No quotes lapse within 7 days." in browser.get("/quotes?lapses=7").text


def test_what_was_granted_is_told_before_what_was_left_out(browser: TestClient) -> None:
    wishes = {"wish-1": "upright-fridge=upright-130", "wish-2": "finish=two-pack"}
    form = {"vehicle": "mid-single", "budget": "17,000", **wishes, "wish-3": "solar=panel-200"}
    told = words(browser.post("/wishes", data=form).text)
    assert told.index("Granted: ") < told.index("Left out: ")


def test_the_long_argument_against_a_wish_is_folded(browser: TestClient) -> None:
    wishes = ["vehicle=mid-dual", "canopy-length=1200mm", "solar=panel-200", "tray-length=2400mm"]
    wishes += ["upright-fridge=upright-110", "kitchen=gas-sink", "table=stow-large"]
    form = {f"wish-{n}": wish for n, wish in enumerate(wishes, start=1)}
    form |= {"vehicle": "mid-dual", "budget": "90000", "many-3": "2"}
    note = browser.post("/wishes", data=form).text.partition('id="p-note"')[2]
    note = note.partition('id="p-why"')[0]
    folded = re.findall(r"<details><summary>Left out: (.*?)\.</summary>(.*?)</details>", note)
    assert "Table that stows above a wide drawer" in words(" ".join(title for title, _ in folded))
    for _, argument in folded:
        assert argument.count("<li>") > 3
        assert argument.count("Because ") == 1
    told = words(note)
    assert "2 or more of Solar panels on the roof cannot go with Canopy length: 1200 mm" in told
    assert re.search(r"<p>Left out: 2400.mm tray. Because .* so .*</p>", note)
    assert "configurator " not in told
    assert "--pick" not in told


def test_a_budget_that_is_too_small_leaves_the_wishes_to_be_changed(browser: TestClient) -> None:
    form = {"vehicle": "mid-single", "budget": "500", "wish-1": "finish=two-pack"}
    poor = browser.post("/wishes", data=form)
    assert "does not cover the picks: the cheapest package with them is" in words(poor.text)
    assert 'name="budget" inputmode="decimal" size="9" value="500"' in poor.text
    assert re.findall(r'value="([^"]+)" selected', poor.text) == ["mid-single", "finish=two-pack"]


def test_a_package_is_finished_for_the_seller(browser: TestClient, shop: Shop) -> None:
    page = Page(browser, browser.get("/").text).tap("pick:vehicle:mid-dual")
    answer = browser.post("/finish", params={"prefer": "price"}, data={"state": page.state})
    known = shop.build().pick("vehicle", "mid-dual").complete("price")
    assert isinstance(known, Completion)
    finished = Page(browser, answer.text)
    assert finished.total() == str(known.total)
    chosen = words(finished.text).partition("Also chosen: ")[2]
    assert "; 2.0 mm plain sheet, 5052; " in chosen, "a comma does not part titles that have one"
    assert finished.tap("undo").total() == page.total()


def test_papers_are_pages_too(browser: TestClient) -> None:
    page = start(browser, TRADE)
    for kind in ("quote", "job"):
        answer = browser.post(f"/paper/{kind}", params={"as": "html"}, data={"state": page.state})
        assert "style-src 'unsafe-inline'" in answer.headers["content-security-policy"]
        assert "<h1" in answer.text


def test_a_quote_is_issued_found_revised_and_accepted(browser: TestClient) -> None:
    page = start(browser, TRADE).tap("", customer="Jorun Hallam")
    issued = browser.post("/issue", data={"state": page.state, "seller": "Ann"})
    assert issued.url.path == "/quotes/Q-1"
    assert "issued" in words(issued.text)
    kept = browser.get("/quotes/Q-1/paper/1")
    assert kept.content.startswith(b"%PDF")
    found = browser.get("/quotes", params={"words": "hallam"})
    assert "AUD 25,630.00" in words(found.text).replace("\N{NO-BREAK SPACE}", " ")
    assert "Q-1" in browser.get("/quotes", params={"lapses": "40"}).text
    assert "Q-1" not in browser.get("/quotes", params={"lapses": "7"}).text
    opened = Page(browser, browser.post("/quotes/Q-1/open").text)
    less = opened.tap("less:lights:flood-rear")
    data = {"state": less.state, "seller": "Bea", "reason": "without the rear light"}
    revised = browser.post("/issue", data=data)
    assert "revision 2" in words(revised.text)
    assert "25,440.00" in revised.text
    done = {"seller": "Ann", "reason": "signed at the counter"}
    accepted = browser.post("/quotes/Q-1/accept", data=done)
    assert "signed at the counter" in words(accepted.text)
    refused = browser.post("/quotes/Q-1/decline", data=done)
    assert refused.status_code == 409
    assert "quote Q-1 is accepted" in words(refused.text)
    assert "signed at the counter" in words(browser.get("/results").text)
    again = Page(browser, browser.post("/quotes/Q-1/open").text)
    assert words(again.text).count("has to accept it again") == 2
    assert words(again.tap("less:lights:flood-rear").text).count("has to accept it again") == 1
    assert "has to accept it again" not in opened.text


def test_what_no_quote_can_be_looked_for_by_is_refused(browser: TestClient) -> None:
    """As on the command line."""
    for looked_for, said in (
        ({"lapses": "soon"}, '"soon" is no whole number of days, such as 7'),
        ({"lapses": "-1"}, '"-1" is no whole number of days, such as 7'),
        ({"lapses": "7.5", "words": "hallam"}, '"7.5" is no whole number of days, such as 7'),
        ({"status": "lost"}, 'no quote is "lost"; give one of draft, issued'),
    ):
        refused = browser.get("/quotes", params=looked_for)
        assert (refused.status_code, said in words(refused.text)) == (400, True), refused.text


def test_a_form_that_is_sent_again_issues_nothing_again(browser: TestClient) -> None:
    """Twice by impatience, or by going back and sending it once more."""
    page = start(browser, TRADE)
    data = {"state": page.state, "seller": "Ann", "customer": "Jorun Hallam"}
    for _ in range(3):
        issued = browser.post("/issue", data=data)
        assert issued.url.path == "/quotes/Q-1"
    assert "Q-2" not in browser.get("/quotes").text
    assert "request" not in words(issued.text)

    other = Page(browser, browser.post("/issue", data={**data, "customer": "Runa Castle"}).text)
    assert "Nothing was issued: Q-1 was issued from this page already" in words(other.text)
    assert "Q-2" not in browser.get("/quotes").text
    # the page that says so is a form of its own
    issued = browser.post("/issue", data={"state": other.state, "seller": "Ann"})
    assert issued.url.path == "/quotes/Q-2"
    assert "Runa Castle" in words(issued.text)
    assert browser.post("/issue", data={"state": other.state}).url.path == "/quotes/Q-2"


def test_a_form_that_is_sent_again_by_another_seller_is_the_same(browser: TestClient) -> None:
    data = {"state": start(browser, TRADE).state, "customer": "Jorun Hallam"}
    for seller in ("Ann", "Bea", "ann "):
        issued = browser.post("/issue", data={**data, "seller": seller})
        assert issued.url.path == "/quotes/Q-1"
    assert len(re.findall(r"Q-\d", browser.get("/quotes").text)) == 2


@pytest.mark.parametrize("move", ["accept", "withdraw", "decline", "revise"])
def test_going_back_to_what_has_moved_on_issues_nothing_unasked(
    browser: TestClient, move: str
) -> None:
    data = {"state": start(browser, TRADE).state, "seller": "Ann", "customer": "Jorun Hallam"}
    assert browser.post("/issue", data=data).url.path == "/quotes/Q-1"
    done = {"seller": "Ann", "reason": "as agreed"}
    if move == "revise":
        opened = Page(browser, browser.post("/quotes/Q-1/open").text)
        state = opened.tap("less:lights:flood-rear").state
        moved = browser.post("/issue", data={"state": state, **done})
    else:
        moved = browser.post(f"/quotes/Q-1/{move}", data=done)
    assert moved.url.path == "/quotes/Q-1"
    shown = words(browser.get("/quotes/Q-1").text)
    back = browser.post("/issue", data=data)
    assert back.url.path == "/issue"
    assert "Nothing was issued: Q-1 was issued from this page already" in words(back.text)
    assert words(browser.get("/quotes/Q-1").text) == shown
    assert "Q-2" not in browser.get("/quotes").text
    again = browser.post("/issue", data={**data, "state": Page(browser, back.text).state})
    assert again.url.path == "/quotes/Q-2"


def test_a_quote_that_is_opened_again_says_how_it_stands(browser: TestClient) -> None:
    data = {"state": start(browser, TRADE).state, "seller": "Ann", "customer": "Jorun Hallam"}
    browser.post("/issue", data=data)
    assert "Q-1 is " not in words(browser.post("/quotes/Q-1/open").text)
    for move, said in (
        ("decline", "Q-1 is declined: a revision issues it again"),
        ("withdraw", "Q-1 is withdrawn: it cannot be revised; issue a new quote"),
    ):
        if move == "withdraw":
            opened = Page(browser, browser.post("/quotes/Q-1/open").text)
            again = {"state": opened.state, "seller": "Ann", "reason": "is back"}
            assert browser.post("/issue", data=again).url.path == "/quotes/Q-1"
        browser.post(f"/quotes/Q-1/{move}", data={"seller": "Ann", "reason": "y"})
        assert said in words(browser.post("/quotes/Q-1/open").text)


@pytest.mark.parametrize("ended", ["withdrawn", "replaced"])
def test_a_quote_that_cannot_be_revised_is_opened_as_a_new_one(
    browser: TestClient, shop: Shop, tmp_path: Path, ended: str
) -> None:
    data = {"state": start(browser, TRADE).state, "seller": "Ann", "customer": "Jorun Hallam"}
    browser.post("/issue", data=data)
    following = "Q-2"
    if ended == "withdrawn":
        browser.post("/quotes/Q-1/withdraw", data={"seller": "Ann", "reason": "no longer made"})
    else:
        with shop.register(str(tmp_path / "register.sqlite")) as register:
            again = register.open("Q-1").selection
            made = shop.build(again.encode()).quote("DRAFT", DAY)
            register.issue(made, seller="Ann", replaces="Q-1")
        following = "Q-3"
    opened = Page(browser, browser.post("/quotes/Q-1/open").text)
    assert f"Q-1 is {ended}: it cannot be revised; issue a new quote" in words(opened.text)
    assert "Issue the quote" in words(opened.text)
    assert "Issue the next revision" not in words(opened.text)
    for _ in range(2):
        issued = browser.post("/issue", data={"state": opened.state, "seller": "Ann"})
        assert issued.url.path == f"/quotes/{following}"
    assert ended in words(browser.get("/quotes/Q-1").text)


def test_what_a_revision_lacks_is_marked_at_its_field(browser: TestClient) -> None:
    data = {"state": start(browser, TRADE).state, "customer": "Jorun Hallam"}
    unsold = browser.post("/issue", data={**data, "seller": " "})
    assert unsold.status_code == 422
    assert re.search(r'name="seller"[^>]* aria-invalid="true"', unsold.text)
    assert "No quotes found." in browser.get("/quotes").text
    browser.post("/issue", data={**data, "seller": "Ann"})
    less = Page(browser, browser.post("/quotes/Q-1/open").text).tap("less:lights:flood-rear")
    for given, lacks in (
        ({"seller": "Ann"}, "reason"),
        ({"reason": "less", "seller": ""}, "seller"),
    ):
        browser.cookies.clear()  # it remembers who sold last
        refused = browser.post("/issue", data={"state": less.state, **given})
        assert refused.status_code == 422
        assert re.findall(r'name="(\w+)"[^>]* aria-invalid="true"', refused.text) == [lacks]
        assert "Not issued yet" in words(refused.text)
        assert not given.get("reason") or 'value="less"' in refused.text
    assert "revision 2" not in words(browser.get("/quotes/Q-1").text)


def with_key(packed: str, key: object) -> str:
    """A form's memory of a package, with another key, or without any."""
    state = json.loads(zlib.decompress(base64.urlsafe_b64decode(packed)))
    state["key"] = key
    if key is ...:
        del state["key"]
    return base64.urlsafe_b64encode(zlib.compress(json.dumps(state).encode())).decode()


@pytest.mark.parametrize("key", [..., ""])
def test_a_form_without_a_key_gets_one_before_it_issues(browser: TestClient, key: object) -> None:
    data = {"seller": "Ann", "customer": "Jorun Hallam"}
    old = with_key(start(browser, TRADE).state, key)
    for _ in range(2):
        asked = browser.post("/issue", data={**data, "state": old})
        assert "Not issued yet: this page was opened before" in words(asked.text)
    assert "No quotes found." in browser.get("/quotes").text
    state = Page(browser, asked.text).state
    for _ in range(2):
        issued = browser.post("/issue", data={**data, "state": state})
        assert issued.url.path == "/quotes/Q-1"


@pytest.mark.parametrize("key", [0, None, [], {}, False, True, 7, "xyz", "0" * 17, "A" * 16])
def test_what_is_no_key_is_refused(browser: TestClient, key: object) -> None:
    forged = with_key(start(browser, TRADE).state, key)
    data = {"state": forged, "seller": "Ann", "customer": "Jorun Hallam"}
    refused = browser.post("/issue", data=data)
    assert (refused.status_code, "cannot be read" in words(refused.text)) == (400, True)
    assert "No quotes found." in browser.get("/quotes").text


def test_what_the_shop_withdrew_is_not_counted_as_lost(browser: TestClient) -> None:
    data = {"state": start(browser, TRADE).state, "seller": "Ann", "customer": "Jorun Hallam"}
    browser.post("/issue", data=data)
    for move in ("accept", "withdraw"):
        browser.post(f"/quotes/Q-1/{move}", data={"seller": "Ann", "reason": "a mistake"})
    month = re.search(r"<tr>(?:(?!</tr>).)*August 2026.*?</tr>", browser.get("/results").text, re.S)
    assert month is not None
    assert words(month.group()).split()[2:6] == ["1", "0", "0", "1"]


@pytest.mark.parametrize("begun", ["ready", "a file", "wishes"])
def test_a_package_begun_once_more_from_one_form_is_the_same(
    browser: TestClient, begun: str
) -> None:
    """Going back reloads the first page of a package by sending again what began it."""
    if begun == "ready":
        states = re.findall(r'name="state" value="([^"]+)"', browser.get("/").text)
        # the shipped packages come after the empty one, Trade first
        asked_for = {"state": states[1], "tap": ""}
        pages = [Page(browser, browser.get("/package", params=asked_for).text) for _ in range(2)]
    else:
        file = (ROOT / "catalogues" / "selections" / "contractor.yaml").read_bytes()
        address, where = ("/open", "/") if begun == "a file" else ("/wishes", "/wishes")
        key = re.search(r'name="key" value="([^"]+)"', browser.get(where).text)
        assert key is not None
        data = {"key": key.group(1)}
        sent: dict[str, Any] = {"data": data, "files": {"file": ("a.yaml", file)}}
        if begun == "wishes":
            wish = {"vehicle": "mid-dual", "budget": "26000", "wish-1": "lights=flood-rear"}
            sent = {"data": {**data, **wish}}
        pages = [Page(browser, browser.post(address, **sent).text) for _ in range(2)]
    asked = {"seller": "Ann", "customer": "Jorun Hallam", "phone": "", "email": ""}
    for page in pages:
        issued = browser.post("/issue", data={"state": page.state, **asked})
        assert issued.url.path == "/quotes/Q-1", words(issued.text)
    assert "Q-2" not in browser.get("/quotes").text


def test_a_quote_without_a_customer_is_not_issued(browser: TestClient) -> None:
    page = start(browser, TRADE)
    refused = browser.post("/issue", data={"state": page.state, "seller": "Ann", "customer": " "})
    assert refused.status_code == 422
    assert "Not issued yet: fill in the customer" in words(refused.text)
    field = re.search(r"<label>Name <input([^>]*)>(.*?)</label>", refused.text)
    assert field is not None
    assert 'aria-invalid="true"' in field.group(1)
    assert words(field.group(2)) == "fill in the customer's name"
    assert "No quotes found." in browser.get("/quotes").text
    paper = browser.post("/paper/quote", params={"as": "html"}, data={"state": page.state})
    assert paper.status_code == 200, "a draft may do without"
    named = {"state": Page(browser, refused.text).state, "customer": "Jorun Hallam"}
    assert browser.post("/issue", data=named | {"seller": "Ann"}).url.path == "/quotes/Q-1"


def test_who_sells_is_remembered_as_it_was_written(browser: TestClient) -> None:
    page = start(browser, TRADE)
    name = "Ann Lée & Söhne; 100 %"
    data = {"state": page.state, "seller": name, "customer": "Jorun Hallam"}
    issued = browser.post("/issue", data=data)
    for text in (issued.text, start(browser, TRADE).text, start(browser, WISH).text):
        assert f'name="seller" value="{html.escape(name)}"' in text


def test_loads_have_the_labels_of_the_papers(browser: TestClient) -> None:
    page = start(browser, TRADE)
    labels = re.findall(r'<dt id="bar-\d+">([^<]+)</dt>', page.text)
    assert labels[0] == "Payload"
    assert set(labels[1:]) <= {str(label) for label in LOADS.values()}
    assert len(labels) > 3


def test_what_cannot_be_quoted_is_not_issued(browser: TestClient) -> None:
    page = start(browser, WISH)
    answer = browser.post("/issue", data={"state": page.state, "seller": "Ann"})
    assert answer.status_code == 422
    assert "56 mm short" in words(answer.text)
    assert words(answer.text).endswith("Back to the package New package Nothing was changed.")
    assert "No quotes found." in browser.get("/quotes").text


def test_papers_of_what_cannot_be_quoted_are_not_offered(browser: TestClient) -> None:
    def offered(page: Page) -> list[str]:
        return re.findall(
            r'formaction="(/(?:paper/(?!sel)|issue)[^"]*)"(?![^>]* disabled)', page.text
        )

    page = start(browser, WISH)
    assert offered(page) == []
    assert "can be made once the package is complete and goes together" in words(page.text)
    tall = page.tap("pick:canopy-height:1000mm")
    assert len(offered(tall)) == 7
    assert "once the package is complete" not in tall.text
    refused = browser.post("/paper/quote", data={"state": page.state})
    assert refused.status_code == 422
    assert "Close this tab" in words(refused.text)
    assert "Back button" not in words(refused.text)


def test_the_page_speaks_german(browser: TestClient) -> None:
    text = words(browser.get("/", params={"language": "de"}).text)
    assert "Mit dem Fahrzeug beginnen" in text
    page = start(browser, "Wochenenden, mit dem großen Kühlschrank")
    assert "Passt nicht zusammen" in words(page.text)
    for english in ("Pick it", "Undo", "still to be", "available", "Customer"):
        assert not re.search(rf"\b{english}\b", words(page.text)), english
    reasons = words(page.tap("why:canopy-height:1200mm").text)
    assert "(Auf einer mittelgroßen Klasse bringt ein Koffer von 1200 mm zu viel Masse" in reasons


def test_german_pages_take_a_comma_and_refuse_in_german(browser: TestClient) -> None:
    browser.get("/", params={"language": "de"})
    page = start(browser, "Handwerk").tap("travel", driving="1,5", **{"tow-ball": "1.234,5"})
    assert 'name="driving" inputmode="decimal" size="4" value="1,5"' in page.text
    assert 'value="1234,5"' in page.text
    agreed = {"adjust-title": "Messe", "adjust-reason": "Messe", "adjust-kind": "discount"}
    for typed, said in (
        ("1.500", "„1.500“ kann Tausender oder Nachkommastellen meinen; schreiben Sie 1500 oder"),
        ("1,500", "schreiben Sie 1500 oder 1,5"),
        ("1,5x", "„1,5x“ ist keine Zahl; schreiben Sie Ziffern, mit Dezimalkomma wie in 3,5"),
        ("", "Nachlass oder Aufschlag"),
    ):
        data = {"state": page.state, "tap": "adjust", **agreed, "adjust-amount": typed}
        if not typed:
            data["adjust-title"] = ""
        refused = browser.post("/package", data=data)
        assert (refused.status_code, said in words(refused.text)) == (422, True), typed
    less = page.tap("adjust", **agreed, **{"adjust-amount": "1.000,50"})
    assert less.total() == "24.630,00 AUD"  # 25 630 less 1 000.50, rounded to 5 dollars
    for tap, said in (
        ("fly:a", "keine solche Taste"),
        ("remove:line:7", "nicht mehr auf der Seite"),
    ):
        refused = browser.post("/package", data={"state": page.state, "tap": tap})
        assert said in words(refused.text)
    assert "es gibt kein Angebot Q-9" in words(browser.get("/quotes/Q-9").text)


def test_a_refused_wish_list_keeps_what_was_typed(browser: TestClient) -> None:
    form = {"vehicle": "mid-single", "budget": "much", "wish-2": "finish=two-pack"}
    refused = browser.post("/wishes", data=form)
    assert (refused.status_code, "write an amount such as 45000" in refused.text) == (400, True)
    assert 'name="budget" inputmode="decimal" size="9" value="much"' in refused.text
    assert re.findall(r'value="([^"]+)" selected', refused.text) == [
        "mid-single",
        "finish=two-pack",
    ]


def test_what_is_typed_of_the_customer_counts_without_a_tap_before(browser: TestClient) -> None:
    page = start(browser, TRADE)
    typed = {"customer": "Ottilie Brand", "phone": "5550 0199", "email": ""}
    issued = browser.post("/issue", data={"state": page.state, "seller": "Ann", **typed})
    assert "Ottilie Brand, 5550 0199" in words(issued.text)
    saved = browser.post("/paper/selection", data={"state": page.state, **typed})
    assert "Ottilie Brand" in saved.text


def test_another_customer_does_not_get_the_telephone_of_the_last(browser: TestClient) -> None:
    known = {"phone": "(08) 5550 0142", "email": "hallam@example.com"}
    page = start(browser, TRADE).tap("", customer="Jorun Hallam", **known)
    typed = {"customer": "Ottilie Brand", **known}
    asked = browser.post("/issue", data={"state": page.state, "seller": "Ann", **typed})
    assert "Not issued yet: telephone and e-mail are still those of Jorun" in words(asked.text)
    assert "No quotes found." in browser.get("/quotes").text
    emptied = Page(browser, asked.text).tap("contact", **typed)
    issued = browser.post("/issue", data={"state": emptied.state, "seller": "Ann"})
    assert "Ottilie Brand" in words(issued.text)
    assert known["phone"] not in issued.text


def test_the_language_is_one_tap_away_and_keeps_the_package(browser: TestClient) -> None:
    page = start(browser, TRADE)
    found = re.search(r'formaction="(/package\?language=de)"[^>]*>([^<]+)<', page.text)
    assert found is not None
    assert found.group(2) == "Deutsch"
    german = browser.post(found.group(1), data={"state": page.state, "tap": ""})
    assert Page(browser, german.text).total() == "25.630,00 AUD"
    lapsing = browser.get("/quotes", params={"lapses": "7"}).text
    assert 'href="?language=en&amp;lapses=7"' in lapsing


def test_nothing_that_the_shop_pays_is_on_a_page(browser: TestClient, shop: Shop) -> None:
    page = start(browser, TRADE)
    for tap in ("look:tray", "look:canopy", "look:inside", "look:power"):
        shown = page.tap(tap).text
        for trade in shop.catalogue.trade:
            if trade.supplier:
                assert trade.supplier not in shown


@pytest.mark.parametrize(
    ("headers", "code"),
    [
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "", "origin": "https://elsewhere.example"}, 403),
        ({"host": "elsewhere.example"}, 400),
    ],
)
def test_posts_of_other_sites_are_refused(
    browser: TestClient, headers: dict[str, str], code: int
) -> None:
    answer = browser.post("/package", data={"state": "", "tap": ""}, headers=headers)
    assert answer.status_code == code


def test_what_a_form_may_not_hold_is_refused(browser: TestClient) -> None:
    big = browser.post("/open", files={"file": ("x.pdf", b"x" * (MOST_BYTES + 1))})
    assert big.status_code == 413
    many = browser.post("/package", data={f"f{n}": "x" for n in range(10_001)})
    assert many.status_code == 400
    for state in ("", "xx", "eJw="):
        answer = browser.post("/package", data={"state": state, "tap": ""})
        assert answer.status_code == 400
        assert "cannot be read" in words(answer.text)
    page = start(browser, TRADE)
    for tap in ("pick:hight:850", "pick:finish:gold", "fly:a:b", "place:finish=raw:left"):
        answer = browser.post("/package", data={"state": page.state, "tap": tap})
        assert answer.status_code == 400, tap
        assert "Traceback" not in answer.text


def test_every_page_says_what_it_may_load(browser: TestClient) -> None:
    for path in ("/", "/quotes", "/results"):
        policy = browser.get(path).headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
    page = start(browser, WISH).text
    assert all('src="/static/' in tag for tag in re.findall("<script[^>]*>", page))
    assert not re.search(r"<script[^>]*>[^<]", page)
    assert not re.search(r" on[a-z]+=", page)
    assert " style=" not in page
    assert not re.search(r"(?:src|href)=\"https?:", page.replace("https://quandong", ""))


def test_the_command_serves_the_page_and_ends_at_a_signal(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "configurator", "serve", "--port", "0"]
    command += ["--register", str(tmp_path / "register.sqlite")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=tmp_path) as server:
        assert server.stdout is not None
        address = server.stdout.readline().split()[-1]
        assert address.startswith("http://127.0.0.1:")
        for _ in range(100):
            try:
                answer = httpx.get(address)
                break
            except httpx.TransportError:
                time.sleep(0.05)
        assert "Start with the vehicle" in answer.text
        server.send_signal(signal.SIGTERM)
        assert server.wait(60) in (0, -signal.SIGTERM, 143)


def test_a_port_that_is_taken_is_said_in_a_sentence(tmp_path: Path) -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        command = [sys.executable, "-m", "configurator", "serve", "--port", str(port)]
        ran = subprocess.run(
            command, check=False, capture_output=True, text=True, cwd=tmp_path, timeout=60
        )
    taken_port = f"port {port} of this machine is taken; give another one with --port\n"
    assert (ran.returncode, ran.stdout, ran.stderr) == (3, "", taken_port)


def streamed(page: Page, tap: str, state: str = "", **typed: str) -> list[str]:
    """The messages that a step sends to a page that shows what the page shows."""
    seen = re.findall(r'name="seen" value="([^"]+)"', page.text)
    data = {"state": state or page.state, "tap": tap, "seen": seen, **typed}
    answer = page.browser.post("/package", data=data, headers={"hx-request": "true"})
    assert answer.headers["content-type"] == "text/event-stream"
    events = [event for event in answer.text.split("\n\n") if event.startswith("data:")]
    return [event.replace("data: ", "") for event in events]


def parts_of(message: str) -> set[str]:
    return set(re.findall(r'<hx-partial id="p-([^"]+)">', message))


def test_a_step_sends_facts_first_and_only_what_changed(browser: TestClient) -> None:
    page = start(browser, WISH).tap("look:canopy")
    assert streamed(page, "") == []
    first, *rest = streamed(page, "pick:canopy-height:1000mm")
    assert {"state", "total", "findings"} <= parts_of(first)
    assert not parts_of(first) & {"groups", "choices", "note"}
    assert "28,335.00" in first
    *cards, last = [parts_of(message) for message in rest]
    assert all(part.startswith("c-") for parts in cards for part in parts)
    assert {"c-canopy-height"} in cards
    assert {"picture-0", "prices", "later"} <= last
    assert not last & {"agreed", "travel"}, "what shows the same is not sent again"
    looked = streamed(page, "look:tray")
    assert {"groups", "choices", "state"} <= parts_of(looked[0])


def test_paragraphs_of_notes_stay_apart_in_a_step(browser: TestClient) -> None:
    page = start(browser, WISH)
    sent = streamed(page, "", notes="Ready in May.\r\n\r\nCall first.", customer="Ottilie")
    assert ">Ready in May.\n\nCall first.</textarea>" in sent[0]


def test_reasons_and_problems_come_as_messages(browser: TestClient) -> None:
    page = start(browser, WISH)
    looking, reason, *found = streamed(page, "why:")
    assert (parts_of(looking), parts_of(reason)) == ({"why"}, {"why"})
    assert "so these picks do not go together" in reason
    assert "Looking for ways" in reason
    assert [parts_of(one) for one in found] == [{"ways"}] * 3
    assert "+815.00" in found[-1]
    assert [one.count("<button") for one in found] == [1, 2, 3]
    assert ["Looking for more" in one for one in found] == [True, True, False]
    first, reason, *_, last = streamed(page, "why:canopy-height:1200mm")
    assert "Looking for the reason" in first
    assert "Looking for ways" in reason
    assert (parts_of(reason), parts_of(last)) == ({"why"}, {"ways"})
    assert "What makes it available" in last
    (problem,) = streamed(page, "pick:finish:gold")
    assert parts_of(problem) == {"note"}
    assert "gold" in problem
    (lost,) = streamed(page, "", state="xx")
    assert "cannot be read" in lost
