"""Answers in JSON against the schema that documents them, and against the values in Python."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pytest
from jsonschema import Draft202012Validator

from configurator import (
    BatchAnswer,
    Build,
    Catalogue,
    PriceAnswer,
    QuoteRefused,
    Selection,
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
from tests.conftest import Run
from tests.support.answers import SCHEMA, SCHEMAS, valid
from tests.support.building import choice, option, raw_catalogue, several, written
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


ANSWERED: dict[str, Callable[[Build], Any]] = {
    "batch": lambda _: BatchAnswer(()),
    "check": lambda build: build.check(),
    "comparison": lambda build: build.compare(build),
    "budget": lambda build: build.budget(savings=False),
    "explain": lambda build: build.explain("canopy-height", "850mm"),
    "layout": lambda build: build.layout(),
    "margin": lambda build: build.margin(),
    "mass": lambda build: build.mass(),
    "options": lambda build: build.options("canopy-height"),
    "power": lambda build: build.power(),
    "price": lambda build: PriceAnswer(build.price(), build.suggestions()),
    "quote": lambda build: build.quote("Q-1", dt.date(2026, 8, 3)),
    "sheets": lambda build: build.sheets("J-1", dt.date(2026, 8, 3)),
    "trace": lambda build: TraceAnswer(build.price()),
}


@pytest.mark.parametrize("answer", ANSWERED)
def test_an_answer_in_python_has_its_shape_and_is_plain_data_too(answer: str) -> None:
    value = ANSWERED[answer](open_shop().build(SELECTIONS / "touring.yaml"))
    assert valid(to_json(value))["answer"] == answer
    assert attrs.asdict(value)


def test_a_kept_quote_is_written_as_the_quote_that_was_issued(tmp_path: Path) -> None:
    shop = open_shop()
    quote = shop.build(SELECTIONS / "touring.yaml").quote("draft", dt.date(2026, 8, 3))
    with shop.register(tmp_path / "register.sqlite") as register:
        kept = register.issue(quote, seller="Kim")
        assert valid(to_json(kept))["number"] == kept.number


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
