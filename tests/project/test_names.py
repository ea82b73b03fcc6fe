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
