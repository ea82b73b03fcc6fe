"""What the page says of a package is what the command line says of it, on the same day.

Both read the same file: one that is shipped, or one that the page saved after taps anywhere on it.
"""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from collections.abc import Iterator
from inspect import unwrap
from pathlib import Path
from random import Random
from typing import Any

import pytest
from attrs import evolve
from starlette.testclient import TestClient

from configurator import Build, Fixes, Shop
from configurator.engine import ways_out
from configurator.web.app import counter_app
from configurator.web.counter import ChoiceStates, Counter
from configurator.web.state import FormState, written
from tests.support.commands import Run
from tests.support.counter import Here
from tests.support.paths import ROOT
from tests.support.programs import opened

CATALOGUES = ROOT / "catalogues"
DAY = dt.date(2026, 8, 3)
READY = ("touring", "contractor", "wish")
SEEDS, FINISHED = range(6), range(2)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return opened()


@pytest.fixture(scope="module")
def counter(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> Counter:
    address = str(tmp_path_factory.mktemp("register") / "r.sqlite")
    return Counter(shop, lambda: shop.register(address), lambda: DAY)


@pytest.fixture(scope="module")
def seat(counter: Counter) -> Iterator[TestClient]:
    own = {"sec-fetch-site": "same-origin"}
    with TestClient(counter_app(Here(counter), ["testserver"]), headers=own) as client:
        yield client


def state_of(page: str) -> str:
    found = re.search(r'name="state" value="([^"]+)"', page)
    assert found is not None, page[-900:]
    return found.group(1)


def tapped(shop: Shop, seat: TestClient, seed: int) -> bytes:
    """The file saved after taps anywhere on the page: after few of them it can be finished.

    After many, some of it does not go together.
    """
    chance = Random(seed)
    state = FormState(written(shop.build().selection)).packed()
    for choice in chance.sample(
        [*shop.catalogue.by_id.values()], 2 if seed in FINISHED else 12 + 2 * seed
    ):
        tap = f"pick:{choice.id}:{chance.choice(choice.options).id}"
        answer = seat.post("/package", data={"state": state, "tap": tap})
        if answer.status_code == 200:
            state = state_of(answer.text)
    if seed in FINISHED:
        state = state_of(seat.post("/finish", data={"state": state}).text)
    return seat.post("/paper/selection", data={"state": state}).content


def plain(text: str) -> str:
    """Words as a person reads them, without tags and with ordinary spaces."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def differing(
    seat: TestClient, run: Run, folder: Path, selection: bytes, quotable: bool
) -> list[str]:
    """What the page says otherwise than the command line of a file that can be quoted or cannot."""
    file, day = folder / "selection.yaml", f"--date={DAY}"
    file.write_bytes(selection)
    page = seat.post("/open", files={"file": ("selection.yaml", selection)}).text
    state = {"state": state_of(page)}
    priced = json.loads(run("price", str(file), day, "--json").out)
    checked = json.loads(run("check", str(file), "--json").out)
    told = []
    total = re.search(
        r"<strong>(?:From |So far )?AUD ([\d,.]+)</strong>", page.replace("\xa0", " ")
    )
    assert total is not None
    if total.group(1).replace(",", "") != priced["total"]:
        told.append(f"{total.group(1)}, not {priced['total']}")
    shown = re.findall(
        r'<div class="finding (\w+)"(?: id="stops")?><p>(.*?)</p>(.*?)</div>', page, re.S
    )
    said = [(level, plain(sentence).partition(": ")[2]) for level, sentence, _ in shown]
    also = [plain(one) for *_, more in shown for one in re.findall(r"<p>Also: (.*?)</p>", more)]
    findings = [one for one in checked["findings"] if one["code"] != "undecided"]
    wanted = [
        (one["level"], plain(f"{one['sentence']}. {one.get('reason') or ''}"))
        for one in findings
        if plain(f"{one['sentence']}.") not in also
    ]
    if len(also) + len(wanted) != len(findings):
        told.append(f"{also} of {len(findings)} findings")
    if said != wanted:
        told.append(f"{said}, not {wanted}")
    if not ("Ready to quote" in page) == checked["can-quote"] == quotable:
        told.append(f"can-quote is {checked['can-quote']}")
    paper, pdf = seat.post("/paper/quote", data=state), folder / "quote.pdf"
    quoted = run("quote", str(file), day, "-o", str(pdf))
    if (paper.status_code == 200) != (quoted.code == 0):
        told.append(f"the page's quote {paper.status_code}, the command's {quoted.code}")
    if quoted.code == 0 and paper.content != pdf.read_bytes():
        told.append("the quote's bytes")
    return told


@pytest.mark.parametrize("name", READY)
def test_a_ready_package_has_the_same_total_findings_and_pdf(
    seat: TestClient, run: Run, tmp_path: Path, name: str
) -> None:
    file = CATALOGUES / "selections" / f"{name}.yaml"
    assert differing(seat, run, tmp_path, file.read_bytes(), name != "wish") == []


def test_what_is_typed_comes_back_letter_by_letter(seat: TestClient) -> None:
    """Papers keep numbers and units on one line; in a field, that would change what was typed."""
    selection = written(opened().build().selection)
    typed = {
        "title": "Box, 60 L",
        "customer": "12-V-Paket",
        "notes": "20 kg drum, 5-kg-Flasche <3-B-x>",
        "tap": "",
    }
    for packed in (
        FormState(selection).packed(),
        FormState(selection, before=(selection,)).packed(),
    ):
        page = seat.post("/package", data={"state": packed, **typed}).text
        for words in ("12-V-Paket", "Box, 60 L", "20 kg drum, 5-kg-Flasche &lt;3-B-x&gt;"):
            assert words in page
        assert 'class="bound"' not in page


def test_tapped_packages_have_the_same_totals_findings_and_pdfs(
    shop: Shop, seat: TestClient, run: Run, tmp_path: Path
) -> None:
    found = {}
    for seed in SEEDS:
        selection = tapped(shop, seat, seed)
        if told := differing(seat, run, tmp_path, selection, seed in FINISHED):
            found[seed] = told
    assert found == {}


def test_the_page_says_too_that_there_may_be_more_fixes(
    seat: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    all_of_them = ways_out.one_by_one

    def some(*asked: Any, **how: Any) -> Iterator[Fixes]:
        *before, last = all_of_them(*asked, **how)
        yield from (*before, evolve(last, unsettled="which is best was not settled"))

    monkeypatch.setattr(ways_out, "one_by_one", some)
    monkeypatch.setattr(Build, "fixes_one_by_one", unwrap(Build.fixes_one_by_one))
    shop = opened()
    build = shop.build(CATALOGUES / "selections" / "wish.yaml")
    data = {"state": FormState(written(build.selection)).packed(), "tap": "why"}
    page = plain(seat.post("/package", data=data).text)
    assert "There may be more: finding them takes longer." in page


def test_an_option_whose_reason_is_settled_is_settled_in_its_row_too(
    counter: Counter, seat: TestClient, run: Run
) -> None:
    """It was left open, as one is in a crowded room, until somebody asked why."""
    file, asked = CATALOGUES / "selections" / "touring.yaml", ("kitchen", "induction-sink")
    opened_page = seat.post("/open", files={"file": ("s.yaml", file.read_bytes())}).text
    inside = {"state": state_of(opened_page), "tap": "look:inside"}
    state = state_of(seat.post("/package", data=inside).text)
    *_, (key, known) = [one for one in counter.settled.items() if one[0][1] == "kitchen"]
    left = tuple(
        evolve(one, state="undecided", difference=None) if one.option == asked[1] else one
        for one in known.states
    )
    counter.settled[key] = ChoiceStates(left, final=True)
    assert "could not be settled" in seat.post("/package", data={"state": state, "tap": ""}).text
    why = {"state": state, "tap": ":".join(("why", *asked))}
    pieces = seat.post("/package", data=why, headers={"hx-request": "true"}).text
    said = plain(run("explain", str(file), "=".join(asked)).out)
    assert " is available instead of " in said
    assert said in plain(pieces)
    row = pieces.split('id="p-c-kitchen"')[-1].split("</fieldset>")[0]
    assert "Slide-out kitchen, induction hob" in row
    assert "could not be settled" not in row
    assert "could not be settled" not in seat.post("/package", data={**inside, "tap": ""}).text


def test_what_a_trailer_leaves_of_the_payload_is_told_beside_it(
    seat: TestClient, run: Run, tmp_path: Path
) -> None:
    """What remains to the vehicle's rating with the download is what remains of the payload."""
    file, paper = CATALOGUES / "selections" / "contractor.yaml", tmp_path / "quote.html"
    states = {
        one["state"]: one for one in json.loads(run("mass", str(file), "--json").out)["states"]
    }
    loads = {one["rating"]: one for one in states["towing"]["bars"]}
    download, rest = loads["tow-ball"]["load"], loads["gvm"]["left"]
    assert float(loads["gvm"]["load"]) - float(states["full"]["total"]) == float(download) > 0
    said = f"Payload: with {download} kg on the tow ball, {rest} kg remain."
    assert said in run("check", str(file)).out
    assert said in plain(seat.post("/open", files={"file": ("s.yaml", file.read_bytes())}).text)
    told = rf"Payload remaining with {download} kg on the tow ball +{re.escape(rest)} kg"
    assert re.search(told, run("mass", str(file)).out)
    assert run("quote", str(file), f"--date={DAY}", "-o", str(paper)).code == 0
    row = rf"Payload with {download} kg on the tow ball, kg [\d,.]+ {re.escape(rest)} "
    assert re.search(row, plain(paper.read_text("utf-8")))
    assert "on the tow ball" not in run("check", str(file.with_name("touring.yaml"))).out
