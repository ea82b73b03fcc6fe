"""Catalogues and selections that are wrong, as folders, each with the text that says so.

A folder under ``cases/bad`` holds ``catalogue.yaml`` or ``catalogue.json``, with its parts if it
has any, and ``expected.txt``; or ``selection.yaml`` (or ``.pdf``) and ``expected.txt``, read
against ``cases/small.yaml`` unless a catalogue is there too. Adding a case is adding a folder; the
one called ``parts-of-a-text`` is read as a text that lies nowhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from configurator import Catalogue, Problem, SelectionError
from configurator.catalogue.names import Names
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import open_catalogue, parse_catalogue
from configurator.render.language import language
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.selection.validate import selection_problems
from configurator.shapes.shipped import linked, schema
from tests.support.paths import CASES
from tests.support.source import MODULES, codes

BAD = sorted(path for path in (CASES / "bad").iterdir() if path.is_dir())
BAD_SELECTIONS = [path for path in BAD if any(path.glob("selection.*"))]
BAD_CATALOGUES = [path for path in BAD if path not in BAD_SELECTIONS]
GOOD = [CASES / "small.yaml", *sorted((CASES / "good").iterdir())]
READERS = [module for module in MODULES if module.startswith(("catalogue.", "selection."))]


def name_of(path: Path) -> str:
    return path.stem


def text_of(problems: Iterable[Problem]) -> str:
    return "\n".join(map(str, problems)) + "\n"


def expected(case: Path) -> str:
    return (case / "expected.txt").read_text("utf-8")


def catalogue_of(case: Path) -> Path:
    """The catalogue of a case: its own, or else the small one that is shared."""
    return next(iter(sorted(case.glob("catalogue.*"))), CASES / "small.yaml")


def good(path: Path) -> Catalogue:
    catalogue, problems = parse_catalogue(path.read_text("utf-8"), path.name)
    assert catalogue is not None, text_of(problems)
    assert problems == ()
    return catalogue


@pytest.mark.parametrize("case", BAD_CATALOGUES, ids=name_of)
def test_a_bad_catalogue_is_told_so_in_these_words(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = catalogue_of(case)
    assert file.parent == case
    monkeypatch.chdir(case)
    if case.name == "parts-of-a-text":
        catalogue, problems = parse_catalogue(file.read_text("utf-8"), file.name)
    else:
        catalogue, problems = open_catalogue(file.name)
    assert text_of(problems) == expected(case)
    assert (catalogue is None) == any(problem.level == "error" for problem in problems)


def test_every_message_of_a_bad_catalogue_is_there_in_german(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    said: set[str] = set()
    for case in BAD_CATALOGUES:
        monkeypatch.chdir(case)
        _, problems = open_catalogue(catalogue_of(case).name)
        said |= {words for one in problems for words in (one.sentence, one.hint) if words}
    german = language("de")
    assert not [words for words in said if german.say(words) == words]


@pytest.mark.parametrize("case", BAD_SELECTIONS, ids=name_of)
def test_a_bad_selection_is_told_so_in_these_words(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    catalogue = good(catalogue_of(case))
    monkeypatch.chdir(case)
    (file,) = (path.name for path in case.glob("selection.*"))
    try:
        problems = selection_problems(Resolved(catalogue, read_selection(file)))
    except SelectionError as error:
        problems = error.problems
    assert text_of(problems) == expected(case)


@pytest.mark.parametrize("path", GOOD, ids=name_of)
def test_a_good_catalogue_loads_without_a_word(path: Path) -> None:
    assert good(path).choices


def test_there_are_at_least_forty_bad_catalogues_and_fifteen_bad_selections() -> None:
    assert len(BAD_CATALOGUES) >= 40
    assert len(BAD_SELECTIONS) >= 15


def test_every_code_that_the_readers_can_give_is_in_a_case() -> None:
    told = {code for case in BAD for code in re.findall(r" \(([a-z-]+)\)$", expected(case), re.M)}
    given = {code for module in READERS for code in codes(module)}
    names = Names(read_tree("{}", "", linked("catalogue"))).known
    given |= {f"unknown-{kind.replace(' ', '-')}" for kind in names if " of " not in kind}
    given.add("unknown-option")
    assert len(given) > 40
    assert given - told == set()


def test_every_key_of_the_format_is_in_the_catalogue_with_everything() -> None:
    written = (CASES / "good" / "everything.yaml").read_text("utf-8")
    shapes = [schema("catalogue"), *schema("catalogue")["$defs"].values()]
    keys = {key for shape in shapes for key in keys_in(shape)}
    assert len(keys) > 100
    assert {key for key in keys if not re.search(rf"\b{key}: ?", written)} == {"parts"}


def keys_in(shape: object) -> Iterator[str]:
    """The keys that a schema knows, at any depth."""
    if isinstance(shape, dict):
        properties = shape.get("properties", {})
        yield from properties
        for inner in (*properties.values(), shape.get("items"), shape.get("additionalProperties")):
            yield from keys_in(inner)
