"""One figure, one rounding: what a terminal, a page and an answer show of the same is the same.

Every number that stands in a terminal's or a paper's statement of prices and masses is looked up
among the figures of the answer as JSON, digit by digit; none may differ in its last place.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, strategies as st

from configurator import Catalogue, Selection
from configurator.catalogue.reading import shipped
from configurator.mass.picture import mass_picture
from configurator.pricing.margin import margin
from configurator.pricing.price import price
from configurator.report.mass import mass_facts, mass_table
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import LimitState
from configurator.words import left, nearest, used
from tests.conftest import Run
from tests.support.building import catalogue, limit, option, selection as picked, several
from tests.support.pdfs import Pages

DAY = ("--date", "2026-08-03")
NAMES = ("touring", "contractor")
AMOUNT = re.compile(r"(?<![\d.,])-?\d{1,3}(?:,\d{3})*\.\d\d(?![\d.])")
NUMBER = re.compile(r"(?<![\w.,-])-?\d[\d,]*(?:\.\d+)?(?![\w.,]*\d)")


def figures(answer: Any) -> Iterator[Decimal]:
    """Every number of an answer, at any depth."""
    if isinstance(answer, dict):
        for value in answer.values():
            yield from figures(value)
    elif isinstance(answer, list):
        for value in answer:
            yield from figures(value)
    elif (isinstance(answer, int) and not isinstance(answer, bool)) or (
        isinstance(answer, str) and re.fullmatch(r"-?\d+(\.\d+)?", answer)
    ):
        yield Decimal(answer)


def text_of_pdf(file: Path) -> str:
    return "\n".join(Pages(file).lines)


def amounts(text: str) -> set[Decimal]:
    return {Decimal(found.replace(",", "")) for found in AMOUNT.findall(text)}


def numbers(text: str) -> set[Decimal]:
    return {Decimal(found.replace(",", "")) for found in NUMBER.findall(text)}


def between(text: str, start: str, end: str) -> str:
    return text[text.index(start) : text.index(end, text.index(start))]


def quoted(name: str, kind: str, run: Run) -> str:
    file = Path(f"{name}.{kind}")
    ran = run("quote", f"{name}.yaml", "-o", str(file), "--number", "Q-2041", *DAY)
    assert ran.code == 0, ran.err
    return text_of_pdf(file) if kind == "pdf" else file.read_text("utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_every_amount_of_a_price_is_one_of_the_answer(name: str, run: Run) -> None:
    file = f"{name}.yaml"
    answer = json.loads(run("price", file, "--json", *DAY).out)
    known = set(figures(answer)) | amounts(json.dumps([*notes(answer)]))
    known |= {-number for number in known}
    told = amounts(run("price", file, *DAY).out)
    assert len(told) > 20
    assert told <= known, told - known
    trace = json.loads(run("price", file, "--trace", "--json", *DAY).out)
    for key in ("before-tax", "tax", "total"):
        assert trace[key] == answer[key]
    quote = json.loads(quoted(name, "json", run))
    assert quote["price"] == {
        key: value for key, value in answer.items() if key not in ("answer", "suggestions")
    }
    paper = amounts(between(quoted(name, "pdf", run), "The package", "Acceptance"))
    assert len(paper) > 20
    besides = set(figures(quote["suggestions"]))
    assert paper <= known | besides, paper - known - besides


def notes(answer: Any) -> Iterator[str]:
    for group in answer["groups"]:
        for line in group["lines"]:
            yield from line["notes"]


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_of_mass_is_one_of_the_answer(name: str, run: Run) -> None:
    file = f"{name}.yaml"
    answer = json.loads(run("mass", file, "--json").out)
    known = set(figures(answer)) | numbers(answer["convention"]) | {Decimal(230)}
    terminal = run("mass", file).out
    table = between(terminal, "\nkg, estimated", "The place")
    told = numbers(table)
    assert len(told) > 15
    assert told <= known, told - known
    quote = json.loads(quoted(name, "json", run))
    for key in ("payload", "payload-used", "size", "added"):
        assert key in answer
    known |= numbers(" ".join(answer["upgrades"]))
    for sentence in (finding["sentence"] for finding in answer["findings"]):
        assert numbers(sentence) <= known, sentence
    known |= set(figures(quote["mass"]))
    paper = between(quoted(name, "pdf", run), "What it carries", "Battery")
    shown = numbers(paper)
    assert len(shown) > 9
    assert shown <= known, shown - known


@pytest.mark.parametrize("name", NAMES)
def test_what_is_left_of_the_payload_is_one_figure_wherever_it_stands(name: str, run: Run) -> None:
    file = f"{name}.yaml"
    mass = json.loads(run("mass", file, "--json").out)["payload-left"]
    quote = json.loads(quoted(name, "json", run))
    checked = json.loads(run("check", file, "--json").out)
    (payload,) = [one for one in checked["limits"] if one["limit"] == "payload"]
    assert payload["left"] == mass == quote["mass"]["payload-left"]
    assert payload in quote["limits"]
    assert Decimal(payload["used"]) + Decimal(payload["left"]) == Decimal(payload["there"])
    compared = json.loads(run("compare", file, "wish.yaml", "--json", *DAY).out)
    of = {figure["figure"]: figure["values"][0] for figure in compared["figures"]}
    assert of["payload-left"] == mass
    assert of["mass"] == compared["columns"][0]["mass"] == quote["added"]
    row = next(line for line in run("check", file).out.splitlines() if line.startswith("Payload"))
    assert row.split()[-3:] == [payload["used"], payload["there"], payload["left"]]
    paper = quoted(name, "pdf", run)
    assert f"about {quote['added']} kg empty" in " ".join(paper.split())
    whole = quote["mass"]
    row = f"Payload, kg {whole['payload-used']} {whole['payload']} {mass}"
    assert row in " ".join(paper.split())


@pytest.mark.parametrize("name", NAMES)
def test_amounts_without_tax_add_up_to_what_the_price_says(name: str, quandong: Catalogue) -> None:
    chosen = read_selection(shipped("catalogues") / "selections" / f"{name}.yaml")
    priced = price(Resolved(quandong, chosen))
    nets = [line.net for line in margin(Resolved(quandong, chosen)).lines]
    assert sum(net.amount for net in nets if net is not None) == priced.tax.before.amount


def test_many_small_amounts_without_tax_add_up_to_what_the_price_says() -> None:
    # by hand: seven times 0.08 are 0.56, 0.05 of it tax; each alone has 0.01 in it
    shop = catalogue([several("parts", [option(name, Decimal("0.08")) for name in "abcdefg"])])
    chosen = picked({"parts": list("abcdefg")})
    priced = price(Resolved(shop, chosen))
    nets = [
        line.net.amount for line in margin(Resolved(shop, chosen)).lines if line.net is not None
    ]
    assert priced.tax.before.amount == Decimal("0.51")
    assert sum(nets) == Decimal("0.51")


@given(
    st.fractions(-5000, 5000, max_denominator=10_000),
    st.integers(0, 5000),
    st.sampled_from([0, 1, 2]),
)
def test_what_is_used_and_what_is_left_add_up_and_neither_comforts(
    load: Fraction, rating: int, digits: int
) -> None:
    step = Fraction(1, 10**digits)
    assert used(load, digits) + left(rating - load, digits) == rating
    assert Fraction(used(load, digits)) - step < load <= Fraction(used(load, digits))
    assert used(-load, digits) == -left(load, digits)
    assert nearest(-load, digits) == -nearest(load, digits)
    assert abs(Fraction(nearest(load, digits)) - load) <= step / 2


def test_what_is_exceeded_by_the_least_is_shown_as_exceeded() -> None:
    (payload,) = catalogue(limits=[limit("payload", counts="mass")]).limits
    over = LimitState(payload, Decimal(100), Decimal("100.0001"))
    assert over.shown == (Decimal("100.1"), Decimal(100), Decimal("-0.1"))
    amps = evolve(payload, unit="A")
    assert LimitState(amps, Decimal(100), Decimal("100.0001")).shown[2] == Decimal("-0.01")


def test_in_the_table_of_masses_the_fullest_load_and_what_is_left_make_the_rating(
    quandong: Catalogue, touring: Selection
) -> None:
    picture = mass_picture(Resolved(quandong, touring), None)
    assert picture is not None
    facts = {row.cells[0].value: row.cells[1].value for row in mass_facts(picture).rows}
    (taken, payload), (rest,) = (
        [Decimal(number) for number in re.findall(r"[\d.]+", str(facts[title]))]
        for title in ("Payload used, travelling full", "Payload remaining")
    )
    assert taken + rest == payload
    for row in mass_table(picture).rows[:-1]:
        rating, *loads, remaining, _ = (cell.value for cell in row.cells[1:])
        assert isinstance(rating, Decimal)
        assert isinstance(remaining, Decimal)
        assert max(load for load in loads if isinstance(load, Decimal)) + remaining == rating


# Every number of every answer

EVERY = {
    "check": ("check", "touring.yaml"),
    "price": ("price", "touring.yaml", *DAY),
    "price --trace": ("price", "touring.yaml", "--trace", *DAY),
    "price --shop": ("price", "touring.yaml", "--shop", *DAY),
    "mass": ("mass", "touring.yaml", "--items"),
    "power": ("power", "touring.yaml"),
    "layout": ("layout", "touring.yaml"),
    "budget": ("budget", "touring.yaml", "--no-savings", *DAY),
    "compare": ("compare", "touring.yaml", "contractor.yaml", *DAY),
}


def words_of(answer: Any) -> Iterator[str]:
    """Every text of an answer, at any depth."""
    if isinstance(answer, dict | list):
        for value in answer.values() if isinstance(answer, dict) else answer:
            yield from words_of(value)
    elif isinstance(answer, str):
        yield answer


def known_from(answer: Any) -> set[Decimal]:
    """The numbers of an answer and what a table makes of them: no other rounding of any.

    A table may say a share in percent, what is taken off below zero, the difference of two
    columns, and the number of a unit.
    """
    known = set(figures(answer)) | numbers(" ".join(words_of(answer)))
    known |= {-number for number in known}
    known |= {100 * number for number in figures(answer) if 0 < number < 10}
    known |= {Decimal(rank) for rank in range(len(answer.get("placements", ())) + 1)}
    for row in (*answer.get("groups", ()), *answer.get("choices", ())):
        parts = [Decimal(text) for text in row.get("amounts", ()) if text is not None]
        known |= {part - parts[0] for part in parts[1:]}
    for name in ("package-deals", "adjustments", "roundings"):
        parts = [Decimal(text) for text in answer.get(name, ()) if isinstance(text, str)]
        known |= {part - parts[0] for part in parts[1:]}
    return known


@pytest.mark.parametrize("name", EVERY)
def test_every_number_of_a_terminal_is_one_of_the_answer(
    name: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "400")
    answer = json.loads(run(*EVERY[name], "--json").out)
    told = numbers(run(*EVERY[name]).out)
    assert len(told) > 20
    assert told <= known_from(answer), told - known_from(answer)


PAPERS = {
    "quote": ("quote", "touring.yaml", "--number", "Q-2041", *DAY),
    **{name: EVERY[name] for name in ("budget", "compare", "layout")},
}


@pytest.mark.parametrize("name", PAPERS)
def test_every_number_of_a_paper_s_tables_is_one_of_the_answer(name: str, run: Run) -> None:
    for kind in ("json", "html", "pdf"):
        assert run(*PAPERS[name], "-o", f"paper.{kind}").err == ""
    answer = json.loads(Path("paper.json").read_text("utf-8"))
    page = Path("paper.html").read_text("utf-8")
    tables = " ".join(re.findall(r"<table.*?</table>", page, re.DOTALL))
    told = numbers(unescape(re.sub(r"<[^>]*>", " ", tables)))
    assert len(told) > 20
    assert told <= known_from(answer), told - known_from(answer)
    printed = numbers(text_of_pdf(Path("paper.pdf")))
    assert told <= printed, told - printed


def test_what_the_quote_says_of_power_and_limits_is_what_their_own_answers_say(run: Run) -> None:
    quote = json.loads(quoted("touring", "json", run))
    power = json.loads(run("power", "touring.yaml", "--json").out)
    shared = {key: power[key] for key in quote["power"] if key not in ("answer", "findings")}
    assert {key: quote["power"][key] for key in shared} == shared
    checked = json.loads(run("check", "touring.yaml", "--json").out)
    assert quote["limits"] == checked["limits"]
