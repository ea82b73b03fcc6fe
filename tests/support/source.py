"""The package's own source: its modules, what each imports, and the codes that it can give."""

from __future__ import annotations

import ast
import re
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


def imports(module: str) -> Iterator[str]:
    """What the module imports: our own modules by their short names, others by their first."""
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield _short(alias.name)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: write imports in full"
            assert node.module is not None
            for alias in node.names:
                inner = _short(f"{node.module}.{alias.name}")
                yield inner if inner in MODULES else _short(node.module)


def _short(name: str) -> str:
    if name == "configurator":
        return "__init__"
    return name.removeprefix("configurator.") if name.startswith("configurator.") else name


def codes(module: str) -> Iterator[str]:
    """The codes of problems and findings that are written out in a module.

    They stand where something takes a ``code``, as what a ``code`` is by default or made to be, and
    before the hint of what a reader yields. What ends in a hyphen is only the beginning of codes.
    """
    takers = _everywhere() | _takers(module)
    reads = module.startswith(("catalogue.", "selection."))
    given: list[ast.expr] = []
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.Call):
            name = str(getattr(node.func, "attr", None) or getattr(node.func, "id", ""))
            given += [part for n in takers.get(name, ()) for part in node.args[n : n + 1]]
            given += [keyword.value for keyword in node.keywords if keyword.arg == "code"]
        elif isinstance(node, ast.arguments):
            named = list(reversed(node.args)), list(reversed(node.defaults))
            pairs = [
                *zip(*named, strict=False),
                *zip(node.kwonlyargs, node.kw_defaults, strict=True),
            ]
            given += [value for argument, value in pairs if argument.arg == "code" and value]
        elif isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "code":
            given.append(node.value)
        elif reads and isinstance(node, ast.Yield) and isinstance(node.value, ast.Tuple):
            given += node.value.elts[-2:-1]
    for part in (inner for value in given for inner in ast.walk(value)):
        if isinstance(part, ast.Constant) and re.fullmatch(
            "(?!code$)[a-z-]{2,}[a-z]", str(part.value)
        ):
            yield str(part.value)


@cache
def _everywhere() -> dict[str, set[int]]:
    """What modules may call with a code, and as which of its arguments that is given."""
    found: dict[str, set[int]] = {}
    for module in MODULES:
        for name, places in _takers(module).items():
            if not name.startswith("_"):
                found.setdefault(name, set()).update(places)
    return found


@cache
def _takers(module: str) -> dict[str, set[int]]:
    """What a module defines, and as which of its arguments each takes a code, if at all."""
    found = {}
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.FunctionDef):
            names = [each.arg for each in node.args.args if each.arg not in ("self", "cls")]
        elif isinstance(node, ast.ClassDef):
            fields = [part.target for part in node.body if isinstance(part, ast.AnnAssign)]
            names = [field.id for field in fields if isinstance(field, ast.Name)]
        else:
            continue
        found[node.name] = {names.index("code")} if "code" in names else set()
    return found
