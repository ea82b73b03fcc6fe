"""Price lists and maps that are wrong, as folders, each with the text that says so.

A folder under ``cases/bad-lists`` holds a list, its ``map.yaml`` and ``expected.txt``; all are read
against ``cases/bad-lists/catalogue.yaml``. Adding a case is adding a folder.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from configurator import ConfiguratorError, PriceUpdate, Shop, open_shop
from tests.support.commands import TODAY
from tests.support.paths import CASES

FOLDER = CASES / "bad-lists"
BAD = sorted(path for path in FOLDER.iterdir() if path.is_dir())


@pytest.fixture(scope="module")
def bolts() -> Shop:
    return open_shop(FOLDER / "catalogue.yaml", TODAY)


def said(update: PriceUpdate) -> Iterator[str]:
    """Everything that is left out, and why."""
    for row in update.refused:
        yield f"{row.cell}: {row.code}: {row.sentence}\n    hint: {row.hint}"
    for one in update.unknown:
        yield f"{one.cell}: {one.code}: not in the catalogue; alike: {', '.join(one.near) or '-'}"
    yield f"changes: {len(update.changes)}"


@pytest.mark.parametrize("case", BAD, ids=lambda path: path.name)
def test_a_bad_list_is_told_so_in_these_words(
    case: Path, bolts: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(case)
    (file,) = (path.name for path in case.glob("list.*"))
    try:
        found = "\n".join(said(bolts.prices(file, "map.yaml")))
    except ConfiguratorError as error:
        found = str(error)
    if os.environ.get("UPDATE_GOLDEN") == "1":
        Path("expected.txt").write_text(found + "\n", "utf-8")
    assert found + "\n" == Path("expected.txt").read_text("utf-8")


def test_there_are_enough_of_them_and_most_name_a_cell() -> None:
    texts = [(case / "expected.txt").read_text("utf-8") for case in BAD]
    named = [text for text in texts if any(f"{c}{n}: " in text for c in "ABC" for n in range(50))]
    assert len(named) >= 20
