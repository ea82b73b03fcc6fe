"""No module of the package asks what another says by looking for words in its messages.

A message is for people: it is translated, and reworded. What a program asks of it stands in a value
beside it, such as a code, a kind or a flag.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from tests.support.source import MODULES, tree

ASKS = {"startswith", "endswith", "removeprefix", "removesuffix", "replace", "partition"}
ASKS |= {"rpartition", "split", "find", "index", "count"}
MESSAGES = {"sentence", "sentences", "problem", "hint", "reason", "remark", "message", "told"}
"""What messages are called."""


OTHERS = {
    "catalogue.nodes": "tells what the YAML reader has said in words of our own",
    "render.renderer": "looks for marks of HTML and SVG",
}
"""Modules that look for words in what others have written."""


def recognised(parsed: ast.AST) -> Iterator[ast.expr]:
    """Where a message is asked for words, or anything for words that are a piece of a message."""
    for node in ast.walk(parsed):
        held: ast.expr | None = None
        asked: list[ast.expr] = []
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in ASKS:
                held, asked = node.func.value, node.args[:1]
        elif isinstance(node, ast.Compare) and len(node.ops) == 1:
            if isinstance(node.ops[0], ast.In | ast.NotIn):
                held, asked = node.comparators[0], [node.left]
            elif isinstance(node.ops[0], ast.Eq | ast.NotEq):
                held, asked = node.left, node.comparators
        if held is None:
            continue
        about_words = any(_has_words(one) for one in asked)
        if about_words or (_is_message(held) and not _is_nothing(asked)):
            yield held


def _is_message(held: ast.expr) -> bool:
    """Whether it is a message by its name, or what an error says."""
    while isinstance(held, ast.Subscript):
        held = held.value
    if isinstance(held, ast.Call) and isinstance(held.func, ast.Name) and held.func.id == "str":
        return any(isinstance(one, ast.Name) and one.id == "error" for one in held.args)
    if not isinstance(held, ast.Attribute) or held.attr not in MESSAGES:
        return False
    column = isinstance(held.value, ast.Attribute) and held.value.attr == "c"
    return not column  # of a table


def _is_nothing(asked: list[ast.expr]) -> bool:
    """Whether only ends and spaces are asked for, as where sentences are joined."""
    texts = [one.value for one in asked if isinstance(one, ast.Constant)]
    return len(texts) == len(asked) and not any(re.search(r"\w", str(one)) for one in texts)


def _has_words(asked: ast.expr) -> bool:
    """Whether a text of two words or more is in it: names and codes have one."""
    return any(
        isinstance(one, ast.Constant)
        and isinstance(one.value, str)
        and re.search(r"[A-Za-z]{2,} +[A-Za-z]{2,}|[a-z]{3,} $", one.value)
        for one in ast.walk(asked)
    )


def test_whoever_may_look_is_there() -> None:
    assert {*OTHERS} <= {*MODULES}
    assert all([*recognised(tree(module))] for module in OTHERS)


@pytest.mark.parametrize("module", sorted({*MODULES} - {*OTHERS}))
def test_no_module_looks_for_words_in_a_message(module: str) -> None:
    found = [f"{module}:{one.lineno}: {ast.unparse(one)}" for one in recognised(tree(module))]
    assert found == []


@pytest.mark.parametrize(
    "line",
    [
        'sentence.replace("the file", "the body", 1)',
        '"the file" in sentence[:9]',
        "quoted.problem.startswith(name)",
        'line.line.startswith(("add-on=", "deal ", "adjustment "))',
        'str(error) == "nothing"',
        'problem.hint != "take it out"',
        'str(error).split(": ")[0] == "no such quote"',
    ],
)
def test_what_it_looks_for_is_found(line: str) -> None:
    assert [*recognised(ast.parse(line))]


@pytest.mark.parametrize(
    "line", ['finding.sentence.endswith(".")', 'finding.code == "limit"', 'kind in ("a", "b")']
)
def test_what_asks_of_values_is_let_be(line: str) -> None:
    assert not [*recognised(ast.parse(line))]
