"""The shipped catalogue and selections: complete, of a real shop's scale, and invented.

Counts are those of the project's design. Telephone numbers for fiction: Australian Communications
and Media Authority, "Phone numbers for use in TV shows, films and creative works" (from memory:
(08) 5550 xxxx and 7010 xxxx); names for examples: RFC 2606.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configurator import Catalogue
from configurator.catalogue.model import Limit, Rule
from configurator.catalogue.reading import open_catalogue, read_text, shipped
from configurator.checking.check import check
from configurator.checking.suggestions import suggestions
from configurator.pricing.price import price
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.paths import PACKAGE

FOLDER = shipped("catalogues")
CATALOGUES = sorted(FOLDER.glob("*.yaml"))
PARTS = sorted((FOLDER / "quandong").glob("*.yaml"))
SELECTIONS = sorted((FOLDER / "selections").glob("*.yaml"))
SCHEMAS = sorted((PACKAGE / "schemas").glob("*.json"))


@pytest.mark.parametrize("file", CATALOGUES, ids=lambda file: file.stem)
def test_nothing_is_wrong_with_a_shipped_catalogue(file: Path) -> None:
    catalogue, problems = open_catalogue(file)
    assert problems == ()
    assert catalogue is not None
    assert file.stem == catalogue.id


def test_the_shipped_catalogue_is_of_a_real_shops_scale(quandong: Catalogue) -> None:
    vehicles, *choices = quandong.choices
    assert len(vehicles.options) >= 8
    assert len(choices) >= 25
    assert sum(len(choice.options) for choice in choices) >= 150
    assert len(quandong.rules) >= 60
    assert len(quandong.add_ons.options) >= 40
    assert len(quandong.package_deals) >= 6


def test_every_unit_of_the_shipped_catalogue_has_complete_data(quandong: Catalogue) -> None:
    spaces = {space.id for space in quandong.spaces}
    units = [
        option for choice in quandong.by_id.values() for option in choice.options if option.unit
    ]
    assert len(units) >= 30
    for option in units:
        assert option.unit is not None
        assert option.mass, option.id
        assert option.price, option.id
        assert option.unit.space in spaces, option.id
        assert min(option.unit.body.width, option.unit.body.depth, option.unit.body.height) >= 20


def test_titles_are_short_enough_to_read_and_reasons_are_sentences(quandong: Catalogue) -> None:
    for choice in quandong.by_id.values():
        for option in choice.options:
            assert len(option.title) <= 80, option.title
            assert not option.title.endswith("."), option.title
            assert re.search(r"[.]$", option.text or "."), option.text
    records: tuple[Rule | Limit, ...] = (*quandong.rules, *quandong.limits)
    for record in records:
        assert record.because.endswith("."), record.id
    for add_on in quandong.add_ons.options:
        if add_on.suggest is not None:
            assert add_on.because.endswith("."), add_on.id


@pytest.mark.parametrize("file", [*CATALOGUES, *PARTS, *SELECTIONS], ids=lambda file: file.stem)
def test_numbers_and_addresses_can_be_nobodys(file: Path) -> None:
    text = read_text(file)
    for phone in re.findall(r"\(0\d\) ?\d{4} ?\d{4}|\b04\d\d ?\d{3} ?\d{3}\b", text):
        assert phone.startswith(("(08) 5550 ", "(08) 7010 ")), phone
    for host in re.findall(r"https?://([^\s/'\"]+)", text) + re.findall(r"\w@([\w.-]+)", text):
        assert host.endswith(("example.com", "example.org", "example.net")), host
    assert not re.search(r"\bABN\b|\bACN\b", text)


def test_three_selections_are_shipped() -> None:
    assert {"contractor", "touring", "wish"} <= {file.stem for file in SELECTIONS}


@pytest.mark.parametrize("file", SELECTIONS, ids=lambda file: file.stem)
def test_a_shipped_selection_is_complete_and_priced(file: Path, quandong: Catalogue) -> None:
    selection = read_selection(file)
    priced = price(Resolved(quandong, selection))
    assert priced.undecided == ()
    assert priced.open == ()
    assert priced.total.amount > 10_000
    assert selection.customer is not None
    assert suggestions(Resolved(quandong, selection))


def test_the_wish_does_not_fit_and_the_others_can_be_quoted(quandong: Catalogue) -> None:
    stops = {
        file.stem: {
            finding.code for finding in check(Resolved(quandong, read_selection(file))).stops
        }
        for file in SELECTIONS
    }
    assert stops["touring"] == set()
    assert stops["contractor"] == set()
    assert "fit" in stops["wish"]


@pytest.mark.parametrize("file", SCHEMAS, ids=lambda file: file.name.split(".")[0])
def test_every_schema_is_one_and_describes_each_field(file: Path) -> None:
    schema = json.loads(file.read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    for path, field in _fields(schema, ""):
        assert field.get("description") or "$ref" in field, path


def _fields(part: Any, path: str) -> list[tuple[str, dict[str, Any]]]:
    found = []
    if isinstance(part, dict):
        for name, field in part.get("properties", {}).items():
            if isinstance(field, dict):
                found.append((f"{path}/{name}", field))
        for key, inner in part.items():
            found += _fields(inner, f"{path}/{key}")
    elif isinstance(part, list):
        for index, inner in enumerate(part):
            found += _fields(inner, f"{path}/{index}")
    return found


@pytest.mark.parametrize("file", [*CATALOGUES, *PARTS, *SELECTIONS], ids=lambda file: file.stem)
def test_a_shipped_file_names_its_schema_for_editors(file: Path) -> None:
    first = read_text(file).splitlines()[0]
    found = re.fullmatch(r"# yaml-language-server: \$schema=(.+)", first)
    assert found
    if FOLDER.parent.joinpath("pyproject.toml").exists():
        assert (file.parent / found[1]).resolve().exists()
