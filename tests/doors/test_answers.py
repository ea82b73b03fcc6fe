"""Answers in JSON against the schema that documents them, and against the values in Python."""

from __future__ import annotations

import datetime as dt
import inspect
import json
import shutil
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from itertools import chain
from pathlib import Path
from typing import Any, TypeAlias

import attrs
import pytest
from jsonschema import Draft202012Validator

import configurator
from configurator import (
    BatchAnswer,
    Build,
    Catalogue,
    OptionsAnswer,
    PriceAnswer,
    Problems,
    Quote,
    Quoted,
    QuoteRefused,
    Register,
    RequoteAnswer,
    Selection,
    Shop,
    TraceAnswer,
    open_shop,
    to_json,
)
from configurator.catalogue.reading import shipped
from configurator.pricing.price import price
from configurator.report.quote import make_quote
from configurator.schemas.answers import answers_schema
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import answers
from tests.support.answers import SCHEMA, SCHEMAS, valid
from tests.support.building import choice, option, raw_catalogue, several, written
from tests.support.commands import Run
from tests.support.paths import ROOT
from tests.support.shipped import shipped_in_one

SELECTIONS = shipped("catalogues") / "selections"
ANSWERS = {
    name: shape
    for name, shape in SCHEMA["$defs"].items()
    if "answer" in shape.get("properties", {})
}
OPEN_OBJECTS = {"selection"}
"""Parts that another schema describes."""


def test_an_answer_has_nothing_that_its_schema_does_not_describe() -> None:
    for name, shape in SCHEMA["$defs"].items():
        assert shape["description"], name
        if shape.get("type") == "object" and name not in OPEN_OBJECTS:
            assert shape["additionalProperties"] is False, name
            assert all(part["description"] for part in shape["properties"].values()), name


def test_every_answer_has_its_shape_under_its_name() -> None:
    assert answers_schema() == SCHEMA, "which also loads every class of answers"
    assert {*ANSWERS} == {*answers()}
    assert [part["$ref"] for part in SCHEMA["oneOf"]] == [f"#/$defs/{name}" for name in ANSWERS]
    for name, shape in ANSWERS.items():
        assert shape["properties"]["answer"]["const"] == name
        assert "answer" in shape["required"]


COMMANDS: tuple[tuple[str, str], ...] = (
    ("check {}", "check"),
    ("price {}", "price"),
    ("price {} --trace", "trace"),
    ("price {} --shop", "margin"),
    ("mass {}", "mass"),
    ("power {}", "power"),
    ("layout {}", "layout"),
    ("budget {} --no-savings", "budget"),
    ("options {} --choice canopy-height", "options"),
    ("explain {} canopy-height=850mm", "explain"),
    ("compare {} touring.yaml", "comparison"),
    ("quote {}", "quote refused"),
    ("sheets {}", "sheets refused"),
)


@pytest.mark.parametrize("name", ["touring", "contractor", "wish"])
@pytest.mark.parametrize(("command", "answer"), COMMANDS)
def test_answers_about_the_shipped_selections_have_their_shape(
    name: str, command: str, answer: str, run: Run
) -> None:
    told = valid(run(*command.format(f"{name}.yaml").split(), "--json"))
    assert told["answer"] in answer.split()


@pytest.mark.parametrize(
    ("command", "answer"),
    [
        ("fixes wish.yaml --count 1", "fixes"),
        ("budget touring.yaml --limit 40000", "budget"),
        ("complete --pick vehicle=mid-dual", "completion"),
        ("within --pick vehicle=mid-dual --budget 20000 --wish oven=oven-small", "within"),
        ("within --pick vehicle=mid-dual --budget 1", "within"),
        ("catalogue list", "choices"),
        ("catalogue check", "problems"),
    ],
)
def test_answers_to_other_questions_have_their_shape(command: str, answer: str, run: Run) -> None:
    assert valid(run(*command.split(), "--json"))["answer"] == answer


SHOP = open_shop(day=dt.date(2026, 8, 3))
LISTS = ROOT / "tests/cases/lists"


@cache
def touring() -> Build:
    return SHOP.build(SELECTIONS / "touring.yaml")


Asked: TypeAlias = Callable[[Register, Path], Any]

ANSWERED: dict[str, tuple[str, Asked]] = {
    "Shop.batch": ("batch", lambda _, to: BatchAnswer(tuple(batch_of_one(to)))),
    "Shop.check": ("problems", lambda _, __: Problems(SHOP.check())),
    "Shop.compare": ("comparison", lambda _, __: SHOP.compare(touring(), touring())),
    "Shop.list": ("choices", lambda _, __: SHOP.list("finish")),
    "Shop.prices": (
        "price-update",
        lambda _, __: SHOP.prices(LISTS / "cold-supply.csv", LISTS / "cold-supply.yaml"),
    ),
    "Shop.requote": ("requote", lambda _, to: requoted(to)),
    "Build.budget": ("budget", lambda _, __: touring().budget(savings=False)),
    "Build.check": ("check", lambda _, __: touring().check()),
    "Build.compare": ("comparison", lambda _, __: touring().compare(touring())),
    "Build.complete": ("completion", lambda _, __: touring().complete()),
    "Build.explain": ("explain", lambda _, __: touring().explain("canopy-height", "850mm")),
    "Build.fixes": ("fixes", lambda _, __: touring().fixes(count=1)),
    "Build.fixes_one_by_one": ("fixes", lambda _, __: next(touring().fixes_one_by_one(count=1))),
    "Build.layout": ("layout", lambda _, __: touring().layout()),
    "Build.margin": ("margin", lambda _, __: touring().margin()),
    "Build.mass": ("mass", lambda _, __: touring().mass()),
    "Build.one_by_one": (
        "options",
        lambda _, __: OptionsAnswer(True, None, (*chain(*touring().one_by_one("finish")),)),
    ),
    "Build.options": ("options", lambda _, __: touring().options("canopy-height")),
    "Build.power": ("power", lambda _, __: touring().power()),
    "Build.price": ("price", lambda _, __: PriceAnswer(touring().price(), ())),
    "Build.quote": ("quote", lambda _, __: touring().quote("Q-1", SHOP.day)),
    "Build.sheets": ("sheets", lambda _, __: touring().sheets("J-1", SHOP.day)),
    "Build.suggestions": (
        "price",
        lambda _, __: PriceAnswer(touring().price(), touring().suggestions()),
    ),
    "Build.within": ("within", lambda _, __: touring().within(100_000)),
    "Price.traced": ("trace", lambda _, __: TraceAnswer(touring().price())),
    "Register.check": ("register-check", lambda register, _: register.check()),
    "Register.find": ("register-list", lambda register, _: register.find("Q-1")),
    "Register.issue": ("quote", lambda register, _: register.issue(a_quote(), seller="Kim")),
    "Register.keep": ("quote", lambda register, _: register.keep(a_quote(), seller="Kim")),
    "Register.list": ("register-list", lambda register, _: register.list()),
    "Register.open": ("quote", lambda register, _: register.open("Q-1")),
    "Register.results": ("register-results", lambda register, _: register.results("AUD")),
    "Register.revise": (
        "quote",
        lambda register, _: register.revise("Q-1", a_quote(), seller="Kim", reason="as agreed"),
    ),
    "Register.show": ("register-quote", lambda register, _: register.show("Q-1")),
    "KeptQuote.priced": (
        "register-open",
        lambda register, _: register.open("Q-1").priced(touring().price()),
    ),
}
"""What the answer of each promised method is called in JSON, and how it is asked for.

Several values in a row are written by the promised value that holds them.
"""

NO_ANSWERS = {"None", "int", "str", "tuple[str, ...]", "Self", "Build", "Shop", "Register"}
"""What methods give that write something, count, or lead on to other methods."""


def a_quote() -> Quote:
    return touring().quote("draft", SHOP.day)


def one_selection(to: Path) -> Path:
    folder = to / "selections"
    folder.mkdir()
    shutil.copy(SELECTIONS / "touring.yaml", folder)
    return folder


def batch_of_one(to: Path) -> Iterator[Quoted]:
    return SHOP.batch(one_selection(to), to / "quotes", SHOP.day, processes=1)


def requoted(to: Path) -> RequoteAnswer:
    quotes = SHOP.requote(one_selection(to), processes=1)
    assert len(list(quotes)) == 1
    return quotes.answer


def test_every_promised_method_that_answers_is_asked() -> None:
    answering = {
        f"{kind.__name__}.{name}"
        for kind in (Shop, Build, Register)
        for name, method in inspect.getmembers(kind, inspect.isfunction)
        if not name.startswith("_")
        and inspect.signature(method).return_annotation not in NO_ANSWERS
    }
    assert {*ANSWERED} == answering | {"Price.traced", "KeptQuote.priced"}


@pytest.mark.parametrize("method", ANSWERED)
def test_the_answer_of_a_method_has_its_shape_and_is_plain_data_too(
    method: str, tmp_path: Path
) -> None:
    kind, ask = ANSWERED[method]
    opened = SHOP.register(tmp_path / "register.sqlite")
    with attrs.evolve(opened, paper=lambda _: b"") as register:
        register.issue(a_quote(), seller="Kim")
        value = ask(register, tmp_path)
    assert type(value).__name__ in configurator.__all__
    assert valid(to_json(value))["answer"] == kind
    assert attrs.asdict(value)


def test_answers_about_nearly_nothing_have_their_shape(run: Run) -> None:
    for command in ("check", "price"):
        answer = valid(run(command, "--pick", "lights=flood-rear", "--json"))
        assert answer["answer"] == command


def test_a_quote_has_its_shape_and_its_selection_that_of_a_selection_file(
    run: Run, tmp_path: Path
) -> None:
    shape = json.loads((SCHEMAS / "selection.schema.json").read_text("utf-8"))
    for name in ("touring", "contractor"):
        run("quote", f"{name}.yaml", "-o", "q.json", "--date", "2026-08-03")
        answer = valid((tmp_path / "q.json").read_text("utf-8"))
        Draft202012Validator(shape).validate(answer["selection"])


def test_problems_have_their_shape(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("format: 2\n")
    for arguments in (
        ["catalogue", "check", "bad.yaml"],
        ["check", "bad.yaml"],
        ["price", "touring.yaml", "--catalogue", "bad.yaml"],
        ["compare", "touring.yaml", "bad.yaml"],
        ["check", "--pick", "nothing=at-all"],
    ):
        ran = run(*arguments, "--json")
        answer = valid(ran)
        assert (ran.code, answer["answer"], bool(answer["problems"])) == (1, "problems", True)
    answer = valid(run("catalogue", "check", "--json"))
    assert answer["problems"] == []


def test_a_selection_with_everything_in_it_has_its_shape(run: Run, tmp_path: Path) -> None:
    raw = raw_catalogue(
        [
            choice("tray", [option("flat", 1200, mass=40)]),
            several("box", [option("open", [{"kind": "on-application", "note": "to measure"}])]),
        ],
        add_ons=[option("mat", 45, suggest={"tray": "flat"}, because="It protects.")],
    )
    (tmp_path / "c.json").write_text(written(raw))
    (tmp_path / "s.yaml").write_text(
        "format: 1\n"
        "catalogue: test\n"
        "customer: {name: A & <B>}\n"
        "picks: {vehicle: ute, tray: flat}\n"
        "adjustments: [{title: Less, reason: Show model, percent: -2.5}]\n"
        "notes: [A note]\n"
    )
    changes = ((), ("--pick", "box=open"), ("--pick", "add-on=mat"), ("--drop", "tray"))
    for change in changes:
        for command in ("check", "price"):
            valid(run(command, "s.yaml", *change, "--catalogue", "c.json", "--json"))
    run("quote", "s.yaml", "-o", "q.json", "--date", "2026-08-03", "--catalogue", "c.json")
    answer = valid((tmp_path / "q.json").read_text("utf-8"))
    assert answer["price"]["adjustments"] == [
        {"title": "Less", "reason": "Show model", "amount": "-30.00"}
    ]


def test_amounts_are_text_with_the_digits_of_the_decimal(
    run: Run, quandong: Catalogue, touring: Selection
) -> None:
    def refuse(text: str) -> None:
        raise AssertionError(f"{text} is a float")

    text = run("price", "touring.yaml", "--date", "2026-08-03", "--json").out
    answer = json.loads(text, parse_float=refuse)
    priced = price(Resolved(quandong, touring))
    lines = [line for group in answer["groups"] for line in group["lines"]]
    assert Decimal(answer["total"]) == priced.total.amount
    assert [line["amount"] for line in lines] == [
        None if line.amount is None else str(line.amount.amount) for line in priced.lines
    ]
    assert all(text is None or text.count(".") == 1 for line in lines for text in [line["each"]])


def test_a_catalogue_list_has_its_shape_and_every_option(run: Run, quandong: Catalogue) -> None:
    every = valid(run("catalogue", "list", "--json"))["choices"]
    assert {(c["choice"], o["option"]) for c in every for o in c["options"]} == {
        (c.id, o.id) for c in quandong.by_id.values() for o in c.options
    }
    (one,) = valid(run("catalogue", "list", "lights", "--json"))["choices"]
    assert one in every
    assert valid(run("catalogue", "list", "--catalogue", "wish.yaml", "--json"))["problems"]


def test_letters_beyond_ascii_stay_as_they_are(run: Run, tmp_path: Path) -> None:
    raw = raw_catalogue([choice("tray", [option("flat", 1, title="Čtyři Ωμέγα")])])
    (tmp_path / "c.json").write_text(written(raw))
    ran = run("price", "--pick", "tray=flat", "--catalogue", "c.json", "--json")
    assert "Čtyři Ωμέγα" in ran.out
    valid(ran)


def test_a_refusal_carries_its_findings_as_values(run: Run, quandong: Catalogue) -> None:
    wish = read_selection(SELECTIONS / "wish.yaml")
    with pytest.raises(QuoteRefused) as caught:
        make_quote(Resolved(quandong, wish), "Q-1", dt.date(2026, 8, 3))
    (finding,) = [found for found in caught.value.findings if found.code == "fit"]
    assert (finding.level, finding.subject) == ("stop", "upright-fridge=upright-130")
    assert dict(finding.numbers)["height-needs"] == 870
    assert finding.sentence in caught.value.sentences
    answer = valid(run("quote", "wish.yaml", "--json"))
    assert answer["stops"] == [found["sentence"] for found in answer["findings"]]
    assert answer["findings"][0]["numbers"]["height-needs"] == "870"


def test_no_answer_names_a_folder_of_the_machine(run: Run, tmp_path: Path) -> None:
    """A catalogue is read from where it lies; whoever gets the answer need not know where."""
    shop = tmp_path / "shop.yaml"
    shop.write_text(shipped_in_one(), "utf-8")
    for command in (("check",), ("price", "--trace"), ("layout",)):
        ran = run(*command, "wish.yaml", "--catalogue", str(shop), "--json")
        assert ".yaml:" in ran.out
        assert str(tmp_path) not in ran.out
