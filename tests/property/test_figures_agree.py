"""One figure, one rounding: what a terminal, a page and an answer show of the same is the same.

Every number that stands in a terminal's or a paper's statement of prices and masses is looked up
among the figures of the answer as JSON, digit by digit; none may differ in its last place.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
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
from tests.support.building import catalogue, limit, option, selection as picked, several
from tests.support.commands import Run
from tests.support.labels import ASIDE, SENTENCES, prepared
from tests.support.pdfs import Pages, squeezed
from tests.support.statements import Answer, Statement, figures, of_page, of_terminal

DAY = ("--date", "2026-08-03")
NAMES = ("touring", "contractor")
AMOUNT = re.compile(r"(?<![\d.,])-?\d{1,3}(?:,\d{3})*\.\d\d(?![\d.])")
PRICED = re.compile(r"(?<= )[+-]?\d{1,3}(?:,\d{3})*\.\d\d$")
NUMBER = re.compile(r"(?<![\w.,-])-?\d[\d,]*(?:\.\d+)?(?![\w.,]*\d)")


def every_number(answer: Any) -> Iterator[Decimal]:
    """Every number of an answer, at any depth."""
    if isinstance(answer, dict):
        for value in answer.values():
            yield from every_number(value)
    elif isinstance(answer, list):
        for value in answer:
            yield from every_number(value)
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
    known = set(every_number(answer)) | amounts(json.dumps([*notes(answer)]))
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
    besides = set(every_number(quote["suggestions"]))
    assert paper <= known | besides, paper - known - besides


@pytest.mark.parametrize(
    "asked",
    [
        "options touring.yaml --choice tray-style --choice finish --choice solar --all",
        "options contractor.yaml --choice upright-fridge --choice solar",
        "complete --pick vehicle=mid-dual",
        "complete --pick vehicle=mid-dual --prefer mass",
        "within --pick vehicle=mid-dual --budget 30000 --wish solar=panel-200:2",
    ],
)
def test_every_price_of_an_option_is_its_own_in_the_answer(asked: str, run: Run) -> None:
    """The amounts of the terminal's rows, in their order, are those of the answer's options."""
    answer = json.loads(run(*asked.split(), "--json").out)
    rows = [one for key in ("options", "granted", "added") for one in answer.get(key, ())]
    stated = [one.get("difference") or one["price"] for one in rows]
    lines = [line for line in run(*asked.split()).out.splitlines() if not line.startswith("AUD")]
    told = [found[-1] for line in lines if (found := PRICED.findall(line.rstrip()))]
    known = [Decimal(amount) for amount in stated if amount is not None]
    assert len(known) > 2
    assert [Decimal(amount.replace(",", "")) for amount in told] == known


def notes(answer: Any) -> Iterator[str]:
    for group in answer["groups"]:
        for line in group["lines"]:
            yield from line["notes"]


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_of_mass_is_one_of_the_answer(name: str, run: Run) -> None:
    file = f"{name}.yaml"
    answer = json.loads(run("mass", file, "--json").out)
    known = set(every_number(answer)) | numbers(answer["convention"]) | {Decimal(230)}
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
    known |= set(every_number(quote["mass"]))
    paper = between(quoted(name, "pdf", run), "Payload and power", "Battery")
    shown = numbers(paper)
    assert len(shown) > 9
    assert shown <= known, shown - known


def travelling(name: str, people: int | None) -> str:
    """A shipped selection for which so many people travel: its file, over the one it was."""
    file = Path(f"{name}.yaml")
    if people is not None:
        assert "\ntravel:" not in file.read_text("utf-8")
        with file.open("a", encoding="utf-8") as written:
            written.write(f"\ntravel: {{people: {people}}}\n")
    return str(file)


@pytest.mark.parametrize(
    ("name", "people"),
    [*((name, None) for name in NAMES), ("touring", 1), *(("contractor", n) for n in (1, 2, 3, 5))],
)
def test_what_is_left_of_the_payload_is_one_figure_wherever_it_stands(
    name: str, people: int | None, run: Run
) -> None:
    file = f"{name}.yaml"
    before = json.loads(run("mass", file, "--json").out)["payload-left"]
    travelling(name, people)
    mass = json.loads(run("mass", file, "--json").out)["payload-left"]
    # by hand: 75 kg a person and 45 kg of luggage, of two where nobody says
    assert Decimal(before) - Decimal(mass) == 120 * ((people or 2) - 2)
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
    said = run("mass", file).out
    assert re.findall(r"Payload remaining +(\S+) kg", said) == [mass]


@pytest.mark.parametrize("people", [3, 5])
def test_it_is_one_figure_for_more_people_than_there_are_seats_too(people: int, run: Run) -> None:
    file = travelling("touring", people)
    (payload,) = (
        one
        for one in json.loads(run("check", file, "--json").out)["limits"]
        if one["limit"] == "payload"
    )
    assert payload["left"] == json.loads(run("mass", file, "--json").out)["payload-left"]
    assert Decimal(payload["left"]) == 378 - 120 * (people - 2)


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
        for title in ("Payload used, fully loaded", "Payload remaining")
    )
    assert taken + rest == payload
    for row in mass_table(picture).rows[:-1]:
        rating, *loads, remaining, _ = (cell.value for cell in row.cells[1:])
        assert isinstance(rating, Decimal)
        assert isinstance(remaining, Decimal)
        assert max(load for load in loads if isinstance(load, Decimal)) + remaining == rating


# Every figure with its label

NAMES_OF = {"touring": "canopy-height=850mm", "contractor": "canopy-height=1000mm"}
FRIDGE = ("--pick", "vehicle=mid-dual", "--pick", "upright-fridge=upright-110")
WISHES = ("--wish", "solar=panel-200:2", "--wish", "oven=oven-small")


def commands(name: str) -> dict[str, tuple[str, ...]]:
    """Every command that answers about a selection."""
    file = f"{name}.yaml"
    return {
        "check": ("check", file),
        "price": ("price", file, *DAY),
        "price --trace": ("price", file, "--trace", *DAY),
        "price --shop": ("price", file, "--shop", *DAY),
        "mass": ("mass", file, "--items"),
        "power": ("power", file),
        "layout": ("layout", file),
        "budget": ("budget", file, "--no-savings", *DAY),
        "compare": ("compare", file, "wish.yaml", *DAY),
        "options": ("options", file, "--all"),
        "explain": ("explain", file, NAMES_OF[name]),
        "fixes": ("fixes", file, NAMES_OF[name]),
        "sheets": ("sheets", file, "--number", "J-7", "--cost", *DAY),
        "complete": ("complete", *FRIDGE),
        "within": ("within", "contractor.yaml", "--budget", "30000", *WISHES),
    }


COMMANDS = [
    (name, command)
    for name in NAMES
    for command in commands(name)
    if (name, command) != ("contractor", "complete")
]


def titles(catalogue: Catalogue) -> dict[str, str]:
    """What the catalogue says of its choices, options and package deals."""
    found = {choice.id: str(choice.title) for choice in catalogue.by_id.values()}
    for choice in catalogue.by_id.values():
        found |= {f"{choice.id}={one.id}": str(one.title) for one in choice.options}
    for deal in catalogue.package_deals:
        found[f"deal {deal.id}"] = str(deal.text)
    return found


def sources(name: str, command: str, run: Run) -> Any:
    """What a command says as JSON; with the price, where it shows what has one."""
    asked = commands(name)[command]
    answer = json.loads(run(*asked, "--json").out)
    if command == "options":
        price = json.loads(run("price", f"{name}.yaml", "--json", *DAY).out)
        return [answer, price, json.loads(run("catalogue", "list", *choices(answer), "--json").out)]
    if command == "check":
        return [answer, json.loads(run("mass", f"{name}.yaml", "--json").out)]
    if command in ("complete", "within"):
        run(*asked, "-o", "found.yaml")
        return [answer, json.loads(run("price", "found.yaml", "--json", *DAY).out)]
    return answer


def choices(answer: Any) -> list[str]:
    return [*dict.fromkeys(one["choice"] for one in answer["options"])]


def told(answer: Any, catalogue: Catalogue) -> Answer:
    return Answer(prepared(answer), SENTENCES, tuple(ASIDE), titles(catalogue))


@pytest.mark.parametrize(("name", "command"), COMMANDS)
def test_every_figure_of_a_terminal_is_the_answer_s_under_its_label(
    name: str, command: str, run: Run, quandong: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "1000")
    stated = of_terminal(run(*commands(name)[command]).out)
    answer = Answer(
        prepared(sources(name, command, run)), SENTENCES, tuple(ASIDE), titles(quandong)
    )
    kinds: dict[str, list[Statement]] = {}
    for one in stated:  # what is instead of a pick has a difference where others have a price
        kind = next((said for cell in one.cells for said in cell if said in STATES), "")
        kinds.setdefault(kind, []).append(one)
    for some in kinds.values():
        assert not (wrong := answer.unmatched(some)), "\n".join(wrong)
    assert sum(len(figures(one.words)) for one in stated) > (0 if command == "explain" else 2)


STATES = ("picked", "open", "available instead", "implied")

PAPERS = [
    (name, paper)
    for name in NAMES
    for paper in ("quote", "budget", "compare", "layout", "job", "wiring", "cuts", "orders")
]


def paper(name: str, kind: str, ending: str, run: Run) -> Path:
    """A paper as a file of that kind."""
    if kind in ("job", "wiring", "cuts", "orders"):
        run(*commands(name)["sheets"], "-o", "sheets", "--as", ending)
        return Path("sheets") / f"{kind}.{ending}"
    asked = commands(name).get(kind) or ("quote", f"{name}.yaml", "--number", "Q-2041", *DAY)
    file = Path(f"paper.{ending}")
    assert run(*asked, "-o", str(file)).code in (0, 1)
    return file


@pytest.mark.parametrize(("name", "kind"), PAPERS)
def test_every_figure_of_a_paper_is_the_answer_s_under_its_label(
    name: str, kind: str, run: Run, quandong: Catalogue
) -> None:
    stated = of_page(paper(name, kind, "html", run).read_text("utf-8"))
    answer = told(json.loads(paper(name, kind, "json", run).read_text("utf-8")), quandong)
    assert not (wrong := answer.unmatched(stated)), "\n".join(wrong)
    fewest = 20 if (name, kind) == ("contractor", "budget") else 21
    assert sum(len(figures(one.words)) for one in stated) >= fewest
    if name == "touring":
        printed = squeezed("".join(Pages(paper(name, kind, "pdf", run)).texts))
        for one in stated:
            for cell in one.cells:
                assert squeezed(" ".join(cell)) in printed, one.words


def test_a_label_says_one_figure_wherever_it_stands(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of one package: what has the same label under the same head has the same figures."""
    monkeypatch.setenv("COLUMNS", "1000")
    said: dict[tuple[str, str], dict[str, str]] = {}
    for command, asked in commands("touring").items():
        if command in ("check", "price", "mass", "power", "layout", "sheets"):
            _labels(of_terminal(run(*asked).out), command, said)
    for kind in ("quote", "layout", "job", "wiring", "orders"):
        file = paper("touring", kind, "html", run)
        _labels(of_page(file.read_text("utf-8")), f"{kind} on paper", said)
    several = {label: told for label, told in said.items() if len(told) > 1}
    assert len(several) > 100
    for label, told in several.items():
        assert len(set(told.values())) == 1, (label, told)


def _labels(
    stated: Iterable[Statement], where: str, said: dict[tuple[str, str], dict[str, str]]
) -> None:
    """Gather what stands under each label; not what names several rows, nor numbers of rows."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in stated:
        named = [cell[0] for cell in one.cells if cell and re.search(r"[^\W\d]{3}", cell[0])]
        label = named[0] if named else ""
        for cell, head in zip(one.cells, one.heads, strict=bool(one.heads)):
            if cell and re.fullmatch(r"[-+]?[\d,.]+", cell[0]) and head not in ("", "No."):
                found.setdefault((label, head), []).append(cell[0])
    for key, cells in found.items():
        if len(cells) == 1:
            said.setdefault(key, {})[where] = cells[0]


def test_a_figure_has_one_label() -> None:
    """No two sentences say the same figure of the same object, alone and in other words."""
    alone: dict[str, str] = {}
    for sentence in SENTENCES:
        label, tab, figure = sentence.partition("\t")
        if tab:
            assert figure not in alone, (label, alone[figure])
            alone[figure] = label


def test_what_the_quote_says_of_power_and_limits_is_what_their_own_answers_say(run: Run) -> None:
    quote = json.loads(quoted("touring", "json", run))
    power = json.loads(run("power", "touring.yaml", "--json").out)
    shared = {key: power[key] for key in quote["power"] if key not in ("answer", "findings")}
    assert {key: quote["power"][key] for key in shared} == shared
    checked = json.loads(run("check", "touring.yaml", "--json").out)
    assert quote["limits"] == checked["limits"]
