"""Every code of a problem or a finding that the package can give is met by some test.

A test meets a code that it names, or that stands in what a case or an agreed text expects.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tests.support.paths import CASES, GOLDEN, ROOT
from tests.support.source import MODULES, codes


@cache
def given() -> dict[str, set[str]]:
    """The codes of each module."""
    return {module: set(codes(module)) for module in MODULES}


def texts() -> Iterator[str]:
    """What tests write as text, and what cases and agreed texts expect."""
    for file in (ROOT / "tests").rglob("test_*.py"):
        if file != Path(__file__):
            for node in ast.walk(ast.parse(file.read_text("utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    yield node.value
    for file in (*CASES.rglob("expected.txt"), *GOLDEN.rglob("*.txt")):
        yield file.read_text("utf-8")


def met() -> set[str]:
    """Texts that are a code and nothing else, and what stands in brackets as codes do."""
    found = set()
    for text in texts():
        found |= {text, *re.findall(r"\(([a-z-]+)\)", text)}
    return found


def test_every_code_is_met_by_a_test() -> None:
    known = met()
    missing = {m: told - known for m, told in given().items() if told - known}
    assert not missing, "write a case for each"


def test_codes_are_seen_in_whatever_way_they_are_given() -> None:
    for folder, code in (
        ("catalogue", "wrong-type"),
        ("catalogue", "no-carrier"),
        ("selection", "wish-no-unit"),
        ("checking", "not-priced"),
        ("checking", "undecided"),
        ("checking", "rating"),
        ("engine", "rules-say-the-same"),
        ("render", "template-outside"),
        ("report", "no-prices"),
    ):
        inside = {one for m, told in given().items() if m.startswith(f"{folder}.") for one in told}
        assert code in inside, folder


def test_there_are_as_many_codes_as_there_were() -> None:
    assert len(set().union(*given().values())) > 120
