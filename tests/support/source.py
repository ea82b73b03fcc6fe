"""The package's own source: its modules, and what each imports."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tests.support.paths import PACKAGE


def name_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts if parts[-1] != "__init__" or len(parts) == 1 else parts[:-1])


MODULES = {name_of(path): path for path in sorted(PACKAGE.rglob("*.py"))}


@cache
def tree(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text("utf-8"))


def imports(module: str, types_too: bool = True) -> Iterator[str]:
    """What the module imports: our own modules by their short names, others by their first."""
    skipped = set() if types_too else set(_for_types_only(module))
    for node in ast.walk(tree(module)):
        if node in skipped:
            continue
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield _short(alias.name)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: write imports in full"
            assert node.module is not None
            for alias in node.names:
                inner = _short(f"{node.module}.{alias.name}")
                yield inner if inner in MODULES else _short(node.module)


def _for_types_only(module: str) -> Iterator[ast.AST]:
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            for inner in node.body:
                yield from ast.walk(inner)


def _short(name: str) -> str:
    if name == "configurator":
        return "__init__"
    return name.removeprefix("configurator.") if name.startswith("configurator.") else name
