"""One name stands for one thing: a reader who meets a class knows which it is."""

from __future__ import annotations

import ast
from collections import defaultdict

from tests.support.source import MODULES, tree


def test_no_two_classes_share_a_name() -> None:
    homes = defaultdict(list)
    for module in MODULES:
        for node in ast.walk(tree(module)):
            if isinstance(node, ast.ClassDef):
                homes[node.name.lstrip("_")].append(module)
    twice = {name: modules for name, modules in homes.items() if len(modules) > 1}
    assert not twice, "call each by the trade's word for what it is"


def test_no_module_is_longer_than_a_reader_takes_in() -> None:
    long = {name: n for name in MODULES if (n := len(text_of(name).splitlines())) > 500}
    assert not long, "it may be two ideas"


def text_of(module: str) -> str:
    return MODULES[module].read_text("utf-8")
