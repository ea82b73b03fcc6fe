"""The schemas of files are what their classes say; readers refuse what the schemas refuse."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import Annotated, Any

import pytest
from attrs import frozen
from jsonschema import Draft202012Validator, FormatChecker

from configurator import SelectionError
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import parse_catalogue
from configurator.schemas.__main__ import derived, written
from configurator.selection.reading import parse_selection
from configurator.shapes.schema import Schemas, asks, one_of, up_to
from configurator.shapes.shipped import linked
from tests.support.paths import PACKAGE, ROOT

FOLDER = PACKAGE / "schemas"
CATALOGUES = (ROOT / "tests/cases/small.yaml", ROOT / "tests/cases/good/everything.yaml")
SELECTIONS = (
    ROOT / "tests/cases/everything-selection.yaml",
    *sorted((ROOT / "catalogues/selections").glob("*.yaml")),
)


@pytest.mark.parametrize("name", ["answers", "catalogue", "selection", "supplier-map"])
def test_the_shipped_schemas_are_what_the_classes_say(name: str) -> None:
    shipped = (FOLDER / f"{name}.schema.json").read_text("utf-8")
    assert shipped == written(derived()[name]), "run python -m configurator.schemas"


@frozen
class Wheel:
    """A wheel.

    Only here.
    """

    size: Annotated[Decimal, "Across, mm.", asks(exclusiveMinimum=0)]
    side: Annotated[str, "Which side.", one_of("left", "right")] = "left"
    maker_s_name: Annotated[str, "Who made it.", up_to(9)] = ""


LEAVES = {str: {"type": "string"}, Decimal: {"type": "number"}}


def test_a_field_is_described_and_bounded_by_its_type() -> None:
    shape = Schemas(LEAVES).record(Wheel)
    assert shape == {
        "type": "object",
        "description": "A wheel.",
        "required": ["size"],
        "properties": {
            "size": {"type": "number", "description": "Across, mm.", "exclusiveMinimum": 0},
            "side": {"type": "string", "description": "Which side.", "enum": ["left", "right"]},
            "maker-s-name": {
                "type": "string",
                "description": "Who made it.",
                "maxLength": 9,
                "pattern": r"\S",
            },
        },
        "additionalProperties": False,
    }


def test_what_may_be_missing_is_null_where_everything_is_written() -> None:
    schemas = Schemas(LEAVES, nullable=True)
    assert schemas.of(tuple[Wheel | None, ...]) == {
        "type": "array",
        "items": {"oneOf": [{"$ref": "#/$defs/wheel"}, {"type": "null"}]},
    }
    assert schemas.of(Decimal | None) == {"type": ["number", "null"]}
    with pytest.raises(TypeError, match="bytes"):
        schemas.of(bytes)


WORDS: tuple[Any, ...] = (
    *("", " ", "x", "A b", "line\nline", "x" * 61, "x" * 130, "x" * 500),
    *("2026-02-30", "2026-11-01", "https://a.example", "left", "floor", "AUD"),
    *(None, True, False, 0, 1, -1, 2, 7, 1001, 100_001, 100_000_001),
    *(Decimal("0.5"), Decimal("1.005"), Decimal("-3.5"), [], {}, ["a", "a"], {"a": 1}),
)
KEYS = ("x", "A", "id", "kind", "amount", "note", "from", "percent", "rows", "option", "a b")


def spots(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in the data, as what it is in and its key or number there."""
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield value, key
            yield from spots(value[key])


def mutated(random: Random, value: Any) -> Any:
    """The data with one or two places changed, left out, renamed or doubled."""
    made = plain(value)
    for _ in range(random.choice((1, 1, 2))):
        inside, key = random.choice(list(spots(made)))
        how = random.random()
        if how < 0.6:
            inside[key] = random.choice(WORDS)
        elif how < 0.75:
            del inside[key]
        elif isinstance(inside, list):
            inside.append(random.choice(WORDS))
        else:
            inside[random.choice(KEYS)] = inside.pop(key)
    return made


def as_json(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)}: {as_json(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_json, value)) + "]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value)


def standard(name: str) -> Draft202012Validator:
    """The JSON Schema as any validator of its standard takes it, with the formats that it names."""
    formats = FormatChecker(formats=["date"])
    if name == "catalogue":  # the currency of a selection is its catalogue's
        formats.checks("money")(lambda v: not isinstance(v, Decimal) or -v.as_tuple().exponent <= 2)  # type: ignore[operator]
    formats.checks("currency")(lambda v: not isinstance(v, str) or v == "AUD")
    return Draft202012Validator(derived()[name], format_checker=formats)


@pytest.mark.parametrize(("name", "many"), [("catalogue", 320), ("selection", 700)])
def test_reader_and_schema_agree_on_mutated_files(name: str, many: int) -> None:
    random, validator = Random(4107), standard(name)
    files = CATALOGUES if name == "catalogue" else SELECTIONS
    known = [read_tree(file.read_text("utf-8"), "", linked(name)).data for file in files]
    refused = 0
    for _ in range(many):
        text = as_json(mutated(random, random.choice(known)))
        tree = read_tree(text, "f", linked(name))
        right = not tree.problems and validator.is_valid(plain(tree.data))
        refused += not right
        if name == "selection":
            assert reads(text) == right, text
        else:
            catalogue, problems = parse_catalogue(text, "f")
            assert catalogue is None or right, text
            assert catalogue is not None or problems
    assert many / 10 < refused < many * 0.9


def reads(text: str) -> bool:
    try:
        return parse_selection(text, "f") is not None
    except SelectionError:
        return False


def plain(value: Any) -> Any:
    """A copy of data, without the places that they were read with."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    return [plain(inner) for inner in value] if isinstance(value, list) else value
