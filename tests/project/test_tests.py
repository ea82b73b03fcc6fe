"""The tests' own house: what several of them need belongs in ``tests/support``."""

from __future__ import annotations

import ast

import pytest

from tests.support.paths import ROOT

FILES = {str(file.relative_to(ROOT)): file for file in sorted((ROOT / "tests").rglob("*.py"))}


def imported(source: str) -> set[str]:
    """The modules that a file imports, and names that may be modules."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found |= {f"{node.module or ''}.{alias.name}" for alias in node.names}
    return found


def out_of_tests(source: str) -> set[str]:
    """What is imported out of a file of tests, or out of their fixtures."""
    return {
        name
        for name in imported(source)
        if any(p.startswith("test_") or p == "conftest" for p in name.split("."))
    }


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_imported_out_of_a_file_of_tests(name: str) -> None:
    assert not out_of_tests(FILES[name].read_text("utf-8")), "belongs in tests/support"


def test_each_way_to_import_out_of_a_file_of_tests_is_seen() -> None:
    ways = (
        "import tests.unit.test_words",
        "from tests.unit import test_words",
        "from tests.unit.test_words import anything",
        "def late():\n    from .test_words import anything",
        "from tests.register.conftest import anything",
        "from . import conftest",
    )
    assert all(out_of_tests(way) for way in ways)
    assert not out_of_tests("from tests.support import building as test_building")
